"""Ignition loops and trigger margins on the terminal, and the words they share with other renderers."""

from __future__ import annotations

import io
import math
import time
from dataclasses import replace

import pytest
from induction_made import EXTREME, RPM, USUAL, hall, loop, many, pickup, result, trigger
from rich.console import Console

from harnessdrc.render.console import print_result
from harnessdrc.render.console_induction import print_induction
from harnessdrc.render.induction import (
    area_text,
    db_text,
    drawable,
    figure_text,
    folded,
    lacking_text,
    margin_text,
    order_of_margin,
    pickup_ratio,
    setting_at_worst,
    settings_text,
    standing_of,
    times_text,
    way_text,
    window_text,
    worst_of,
)
from harnessdrc.results import InductionOutcome, SettingLine


def printed(outcome: InductionOutcome, width: int = 120, terminal: bool = False) -> list[str]:
    stream = io.StringIO()
    console = Console(
        file=stream, width=width, force_terminal=terminal, color_system=None, soft_wrap=not terminal, highlight=False,
        markup=False, emoji=False,
    )  # fmt: skip
    print_induction(console, outcome)
    return [line.rstrip() for line in stream.getvalue().splitlines()]


# --- the sections ------------------------------------------------------------------------------------


def test_nothing_is_printed_for_an_empty_outcome() -> None:
    assert printed(InductionOutcome()) == []


def test_a_usual_loom_is_told_in_about_a_dozen_lines() -> None:
    lines = printed(USUAL)
    assert lines[0] == "IGNITION LOOPS: 4 high-voltage returns  (length round the loop, its area, and that against the best layout)"
    assert lines[1] == " COIL1 … COIL4: 1.92 m, at most 2,930 cm², up to 24 times the best layout"
    assert lines[2].startswith("    way of COIL1: COIL1 HV → plug lead 1 → PLUG1 → engine block → strap G1 →")
    assert lines[2].endswith("→ COIL1 C; no capacitor closes it")
    assert lines[3] == " 4 primary loops: 0.56 to 0.74 m, at most 320 cm², up to 3.6 times the best layout (COIL4)"
    assert lines[4] == " 4 injector loops: 1.10 m, 90 cm², up to 1.1 times the best layout (INJ1)"
    assert lines[5] == " 2 trigger pairs: 1.60 m, 6.4 cm², as good as the best layout; 1 of them needs length of wire W77"
    assert lines[6] == " At most: no loop of its length has more."
    assert lines[8] == "TRIGGER MARGIN  (signal over what is induced, at the worst speed; range in brackets)"
    assert lines[9] == (
        " CRANK SENSOR, reluctor sensor: 14 dB (4.8 to 23) at 60 1/min, limit 20 dB: below it; noise 61 mV (estimate), "
        "mostly COIL1's high-voltage return at breakdown (54 mV, 9 to 320), 18 times the best layout"
    )
    assert lines[10] == "    a threshold of 0.13 to 0.24 V with no filter leaves margin at 60 1/min and every other speed"
    assert lines[11].startswith(" CAM SENSOR, Hall sensor: 46 dB (29 to 58) at 7,000 1/min, limit 20 dB: above it; noise 12 mV (estimate)")
    assert "The ratio against the best layout is firm; millivolts and decibels are an estimate with its range" in lines[13]
    assert "the oscilloscope on the bench decides; look at the controller's pins, cranking first, for a spike" in lines[13]
    assert lines[13].endswith("at the moment of each spark, and for teeth missing or added.")
    assert len(lines) <= 16
    assert not any("safe" in line for line in lines)


def test_the_sections_stand_between_the_network_and_the_files() -> None:
    stream = io.StringIO()
    console = Console(file=stream, width=200, soft_wrap=True, highlight=False, markup=False)
    print_result(result(USUAL), console, ["x.redline.xlsx"], ["Not written: x."])
    lines = stream.getvalue().splitlines()
    order = [next(at for at, line in enumerate(lines) if line.startswith(head)) for head in ("IGNITION", "TRIGGER", "Written", "Not written")]
    assert order == sorted(order)
    assert lines[order[0] - 1] == ""


def test_coils_that_differ_have_lines_of_their_own_and_many_are_summed_up() -> None:
    coils = tuple(loop(f"C{n}", length_m=9.0 - n, area=5000.0 - 500 * n) for n in range(7))
    lines = printed(InductionOutcome(coils))
    assert [line.split(":")[0] for line in lines[1:6]] == [" C0", "    way of C0", " C1", " C2", " C3"]
    assert lines[6] == " 3 more: 3.00 to 5.00 m, at most 3,000 cm², up to 25 times the best layout (C4) (sheet Loops and triggers)"
    assert "look at" not in lines[-2]
    pair = printed(InductionOutcome((loop("C1", length_m=2.0), loop("C2", length_m=1.95))))
    assert pair[1].startswith(" C1 and C2: up to 2.00 m")


def test_a_computed_area_is_no_bound() -> None:
    lines = printed(InductionOutcome((loop("C1", area=210.0, bound=False),)))
    assert lines[1] == " C1: 1.92 m, 210 cm², 1.7 times the best layout"
    assert not any(line.startswith(" At most") for line in lines)


def test_what_is_lacking_is_named_once() -> None:
    lacking = [f"length of wire W{n}" for n in (1, 2, 3)]
    lines = printed(InductionOutcome((loop("C1", length_m=None, area=None, best=None, lacking=lacking),)))
    assert lines[1] == " C1: length not known; needs length of wire W1 … wire W3"
    unknown = replace(trigger("A"), rpm=(), margin_db=(), low_db=(), high_db=(), signal_mv=(), noise_mv=(), offset_mv=(), lacking=("output of A",))
    lines = printed(InductionOutcome((), (unknown, replace(unknown, subject=("component", "B")))))
    assert lines[1] == " A and B: no margin worked out; needs output of A"


def test_many_sensors_are_summed_up() -> None:
    lines = printed(many(sensors=30))
    assert " 26 more sensors, 26 of them below the limit (sheet Loops and triggers)" in lines
    assert len(lines) < 30


def test_hard_names_and_numbers_do_no_harm() -> None:
    text = "\n".join(printed(EXTREME))
    assert "\x1b" not in text
    assert "nan" not in text.replace("all nan", "")
    assert '<COIL & "1"> and $x^2$ �' in text
    assert "nothing left of the signal at 200 1/min" in text
    assert "all inf, reluctor sensor: nothing induced" in text
    assert "… and 2 more (sheet Loops and triggers)" in text
    text.encode("utf-8")


def test_lines_wrap_on_a_terminal() -> None:
    assert max(map(len, printed(USUAL, width=80, terminal=True))) <= 80


def test_thousands_of_loops_are_told_at_once() -> None:
    outcome = many()
    start = time.perf_counter()
    lines = printed(outcome)
    assert time.perf_counter() - start < 1
    assert len(lines) < 30


# --- the words ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.0, "0"), (61.2, "61"), (0.0542, "0.054"), (9.96, "10"), (9.0, "9"), (1520.0, "1,500"), (0.996, "1"), (-3.26, "-3.3"),
     (math.nan, "not known"), (math.inf, "no end"), (-math.inf, "-no end"), (1e-300, "1.0e-300"), (1e300, "1.0e+300")],
)  # fmt: skip
def test_an_estimate_has_two_digits(value: float, text: str) -> None:
    assert figure_text(value) == text


@pytest.mark.parametrize(
    ("db", "text"), [(23.6, "24"), (9.46, "9.5"), (7.0, "7"), (-0.01, "0"), (-12.4, "-12"), (math.inf, "no end"), (1e300, "1.0e+300")]
)
def test_decibels(db: float, text: str) -> None:
    assert db_text(db) == text


def test_ratios_areas_and_ways() -> None:
    assert times_text(None) == times_text(math.nan) == ""
    assert times_text(1.04) == "as good as the best layout"
    assert times_text(2.0, bound=True) == "up to 2 times the best layout"
    assert times_text(math.inf) == "the best layout closes next to none"
    assert area_text(loop("C", area=6.4, bound=False)) == "6.4 cm²"
    assert area_text(loop("C", area=None)) == area_text(loop("C", area=math.inf)) == ""
    way = [f"W{n}" for n in range(20)]
    assert way_text(way).count("→") == 19
    assert way_text(way, shortened=True) == "W0 → W1 → W2 → W3 → W4 → W5 → … 10 more … → W16 → W17 → W18 → W19"
    assert way_text(way[:11], shortened=True) == way_text(way[:11])
    assert pickup_ratio(pickup(mutual=3.0, best=0.5)) == 6
    assert pickup_ratio(pickup(best=None)) is None
    assert pickup_ratio(pickup(mutual=1.0, best=0.0)) == math.inf


def test_the_same_data_of_several_things_is_told_once() -> None:
    lacking = ["x, y, z of BAT", "x, y, z of ISO", "plugs that COIL1 fires", "plugs that COIL2 fires", "x, y, z of BAT", "lay of CKP"]
    assert folded(lacking) == ["x, y, z of BAT and ISO", "plugs that COIL1 fires and 1 alike", "lay of CKP"]
    assert folded([]) == []
    assert lacking_text(lacking[:2]) == "x, y, z of BAT; x, y, z of ISO"
    assert lacking_text([f"length of wire W{n}" for n in range(40)]) == "length of wire W0 … wire W39"


@pytest.mark.parametrize(
    ("low", "high", "text"),
    [(0.121, 0.449, "0.13 to 0.44 V"), (None, 1.0, ""), (1.0, None, ""), (1.0, 0.5, ""), (math.nan, 1.0, ""), (0.12, 0.12, "0.12 V"),
     (0.1221, 0.1239, "0.123 V"), (0.12, math.inf, "from 0.12 V"), (-math.inf, 2.0, "up to 2 V"), (math.inf, math.inf, ""), (0.0, 28.04, "0 to 28 V"),
     (-0.449, 0.449, "-0.44 to 0.44 V"), (1234.5678, 1234.56785, "1234.57 V")],
)  # fmt: skip
def test_a_window_is_rounded_into_itself(low: float | None, high: float | None, text: str) -> None:
    assert window_text(low, high) == text


def test_the_setting_at_the_worst_speed_is_that_with_the_weakest_filter_that_serves() -> None:
    def settings(*lines: SettingLine) -> str:
        return settings_text(trigger(settings=lines))

    bad, good = SettingLine(60.0, 0.0, None, None), SettingLine(60.0, 5.0, 0.1, 0.4)
    assert settings(good, bad, SettingLine(60.0, 20.0, 0.1, 0.4)) == "a threshold of 0.1 to 0.4 V with a filter of 5 µs leaves margin at 60 1/min"
    assert settings(bad, bad._replace(filter_us=20.0)) == "no threshold leaves margin at 60 1/min with a filter of 20 µs"
    assert settings(SettingLine(200.0, 0.0, 0.1, 0.4)) == ""
    assert settings(good, SettingLine(200.0, 5.0, 0.5, 0.9)).endswith("; no single one does at every speed")
    assert settings(good, SettingLine(200.0, 5.0, None, None)).endswith("; no single one does at every speed")
    assert settings(good, SettingLine(200.0, 5.0, 0.2, 0.9)).endswith("leaves margin at 60 1/min, 0.2 to 0.4 V at every speed")
    assert settings(good, SettingLine(200.0, 9.0, 0.2, 0.9)).endswith("leaves margin at 60 1/min")
    assert setting_at_worst(replace(trigger(), margin_db=(), rpm=())) is None


def test_the_worst_speed_and_how_it_stands() -> None:
    line = trigger()
    assert worst_of(line) == 0
    assert worst_of(replace(line, worst=99, margin_db=(math.nan, 9.0, 3.0, 4.0, math.inf))) == 2
    assert worst_of(replace(line, margin_db=(math.nan,) * 5)) is None
    assert worst_of(hall()) == len(RPM) - 1
    assert standing_of(line) == "below"
    assert standing_of(replace(line, limit_db=10.0)) == "within"
    assert standing_of(replace(line, limit_db=1.0)) == standing_of(replace(line, limit_db=None)) == ""
    assert margin_text(replace(line, low_db=(math.nan,) * 5)) == "14 dB"
    assert [one.subject[1] for one in order_of_margin((hall(), line, replace(line, margin_db=())))] == ["CAM SENSOR", "CRANK SENSOR"][::-1]
    assert drawable(line)
    assert not drawable(replace(line, margin_db=(math.inf,) * 5))
    assert not drawable(replace(line, rpm=(math.nan,) * 5))
