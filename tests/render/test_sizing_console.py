"""Wire sizes and fuses on the terminal, and the words they share with other renderers."""

from __future__ import annotations

import io
import math
import time

import pytest
from induction_made import USUAL as INDUCTION
from rich.console import Console
from sizing_made import CLEAN, EXTREME, USUAL, bundle, fuse, many, result, wire

from harnessdrc.render.console import print_result
from harnessdrc.render.console_sizing import print_sizing
from harnessdrc.render.sizing import (
    ampere_text,
    area_mm2,
    bundle_standing,
    comparable,
    copper_text,
    fuse_known,
    fuse_load,
    has_sizing,
    lacking_of,
    needed_of,
    needs_size_text,
    never_clears,
    order_of_need,
    percent_text,
    standing_of_size,
    surely_tight,
    tight_by,
)
from harnessdrc.results import SizingOutcome


def printed(outcome: SizingOutcome, width: int = 120, terminal: bool = False) -> list[str]:
    stream = io.StringIO()
    console = Console(
        file=stream, width=width, force_terminal=terminal, color_system=None, soft_wrap=not terminal, highlight=False,
        markup=False, emoji=False,
    )  # fmt: skip
    print_sizing(console, outcome)
    return [line.rstrip() for line in stream.getvalue().splitlines()]


# --- the sections ------------------------------------------------------------------------------------


def test_nothing_is_printed_for_an_empty_outcome() -> None:
    assert printed(SizingOutcome()) == []
    assert not has_sizing(SizingOutcome())


def test_a_usual_loom_is_told_in_about_ten_lines() -> None:
    lines = printed(USUAL)
    assert lines[:12] == [
        "WIRE SIZES: 29 wires (3 too small, 1 may be too small, 23 could be smaller, 1 not known)",
        " W3 and W4 (0.5 mm²): 9.1 A (full load), 7.4 A allowed among 12 wires at 85 °C, 118 of 105 °C; needs 0.75 mm² by heating",
        " W5 (20 AWG): 5 A (full load), 8 A allowed among 12 wires at 85 °C, 96 of 105 °C, 610 mV; needs 18 AWG by drop",
        " W6 (0.5 mm²): 7.6 A (full load), at least 7 A allowed among 12 wires at 85 °C, 109 of 105 °C; needs 0.75 mm² by heating at worst",
        " to decide on it: insulation of wire W6",
        " W7: not known; needs size of wire W7",
        " 2.1 kg of copper; 1.6 kg with the smallest sizes that do (wires with size, length and needed size known)",
        "FUSES: 5 fuses (1 loaded over 80 % of rating, 2 rated above a wire, 2 slow on a fault, 1 not known in full)",
        " F3 (15 A, blade, blue): rated above the 11 A that W7 (0.75 mm²) may carry; a fault at the end of W22 (31 A) may take "
        "9 s to open it, that wire bears it 4.1 s",
        " F4 (30 A, blade, blue): rated above the 17 A that W7 (0.75 mm²) may carry; a fault at the end of W22 (33 A) may never open it",
        " F2 (15 A, blade, blue): carries 13.2 A (full load), 88 % of its rating",
        " F5: not known in full; needs family of fuse F5",
    ]
    assert "measure on the bench" in lines[12]
    assert len(lines) == 14
    assert not any("safe" in line for line in lines)


def test_where_all_is_well_it_takes_six_lines() -> None:
    lines = printed(CLEAN)
    assert lines[:5] == [
        "WIRE SIZES: 2 wires (0 too small, 0 could be smaller, 0 not known)",
        " the least to spare: W1 (0.5 mm²): 4 A (full load), 7.4 A allowed among 12 wires at 85 °C, 96 of 105 °C: 85 % to spare",
        " 18 g of copper; no less with the smallest sizes that do",
        "FUSES: 2 fuses",
        " the most loaded: F1, 9 A of 15 A (full load), 60 %",
    ]
    assert len(lines) == 7


def test_the_sections_stand_between_the_triggers_and_the_files() -> None:
    stream = io.StringIO()
    print_result(result(USUAL, induction=INDUCTION), Console(file=stream, width=200, soft_wrap=True, highlight=False, markup=False), ["x.redline.xlsx"])
    lines = stream.getvalue().splitlines()
    order = [next(at for at, line in enumerate(lines) if line.startswith(head)) for head in ("TRIGGER", "WIRE SIZES", "FUSES", "Written")]
    assert order == sorted(order)
    assert lines[order[1] - 1] == ""


def test_many_wires_and_fuses_are_summed_up() -> None:
    small = [wire(f"A{n}", amps=5.0 + n, mm2="4 mm²") for n in range(9)]
    lines = printed(SizingOutcome(tuple(small), tuple(fuse(f"F{n}", allowed=9.0) for n in range(9))))
    assert lines[1].startswith(" A8 (0.5 mm²): 13 A")
    assert " 4 more that are too small (sheet Wire sizes)" in lines
    assert " 5 more: F4 … F8 (sheet Wire sizes)" in lines
    assert len(printed(many())) < 18


def test_of_those_that_may_be_too_small_few_are_told_and_what_they_need_once() -> None:
    doubtful = [wire(f"A{n}", amps=5.0 + n, mm2="4 mm²", lacking=("zone of branch HEAD",)) for n in range(9)]
    lines = printed(SizingOutcome(tuple(doubtful)))
    assert [line.split(" ")[1] for line in lines[1:4]] == ["A8", "A7", "A6"]
    assert lines[4] == " 6 more that may be too small (sheet Wire sizes)"
    assert lines[5] == " to decide on these: zone of branch HEAD"
    small = [wire(f"B{n}", amps=5.0 + n, mm2="4 mm²") for n in range(5)]
    lines = printed(SizingOutcome((*doubtful, *small)))
    assert lines[6] == " 9 that may be too small (sheet Wire sizes)"


def test_a_drop_parts_wires_only_where_it_decides() -> None:
    pair = [wire(f"A{n}", mm2="4 mm²", governs="heating", drop=100.0 * n) for n in (1, 2)]
    assert printed(SizingOutcome(tuple(pair)))[1].startswith(" A1 and A2 (")
    pair = [one._replace(governs="drop") for one in pair]
    assert printed(SizingOutcome(tuple(pair)))[1].startswith(" A1 (")


def test_a_wire_no_standard_size_does_for_and_one_without_margin() -> None:
    lines = printed(SizingOutcome((wire("W1", amps=900.0, mm2="", awg=""), wire("W2", amps=8.0, allowed=7.0))))
    assert lines[1].endswith("; no standard size does")
    assert lines[2].endswith("; over what it may carry")


def test_what_is_lacking_leaves_a_fuse_undecided() -> None:
    lines = printed(SizingOutcome((), (fuse("F1", allowed=9.0, lacking=("zone of W7",)), fuse("F2"))))
    assert lines[0] == "FUSES: 2 fuses (1 not known in full)"
    assert lines[1] == " the most loaded: F1, 9 A of 15 A (full load), 60 %"
    assert lines[2] == " F1: not known in full; needs zone of W7"


def test_what_is_certain_is_told_whatever_is_lacking() -> None:
    tight = next(line for line in USUAL.fuses if line.fuse == "F3")
    line = tight._replace(lacking=("insulation of wire W7",), certain=("wire",))
    told = [text for text in printed(SizingOutcome(fuses=(line,))) if text.startswith(" F3 (")]
    assert told == [" F3 (15 A, blade, blue): rated above the 11 A that W7 (0.75 mm²) may carry"]


def test_sentences_on_what_was_left_out() -> None:
    lines = printed(SizingOutcome(not_worked_out=("One.", "Two.", "Three.")))
    assert lines == ["WIRE SIZES", " One.", " Two.", " … and 1 more (sheet Wire sizes)", ""]


def test_hard_names_and_numbers_do_no_harm() -> None:
    text = "\n".join(printed(EXTREME))
    assert "\x1b" not in text
    assert '<W & "1">' in text
    assert all(len(line) <= 60 for line in printed(USUAL, 60, terminal=True))


def test_fifty_thousand_wires_take_no_second() -> None:
    outcome = many()
    start = time.process_time()
    printed(outcome)
    assert time.process_time() - start < 1


def test_thousands_of_wires_too_small_take_no_second() -> None:
    outcome = SizingOutcome(tuple(wire(f"W{n}", amps=8.0 + n, mm2="4 mm²") for n in range(20_000)))
    start = time.process_time()
    printed(outcome)
    assert time.process_time() - start < 1


# --- words and standings -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "system", "area"),
    [
        ("0.75 mm²", "mm2", 0.75), ("0,75", "mm2", 0.75), ("1x0.35mm2", "mm2", 0.35), ("25 MM2", "mm2", 25.0),
        ("36 AWG", "awg", math.pi / 4 * 0.127**2), ("AWG 18", "awg", 0.8230), ("#20", "awg", 0.5176), ("4/0 AWG", "awg", 107.2),
        ("0000 AWG", "awg", 107.2), ("0 AWG", "awg", 53.48), ("12 ga.", "awg", 3.309),
    ],
)  # fmt: skip
def test_sizes_as_people_write_them(text: str, system: str, area: float) -> None:
    found = area_mm2(text)
    assert found is not None
    assert found[0] == system
    assert found[1] == pytest.approx(area, rel=1e-3)


@pytest.mark.parametrize("text", ["", "0 mm²", "size 16", "99 AWG", "<0.5>", "1e9 mm²", "18 AWG / 0.75 mm²"])
def test_what_is_no_size(text: str) -> None:
    assert area_mm2(text) is None


def test_needed_and_listed_are_compared_in_one_system_only() -> None:
    assert comparable(wire("W", "20 AWG", mm2="9 mm²", awg="20 AWG")) == pytest.approx((0.5176, 0.5176), rel=1e-3)
    assert comparable(wire("W", "0.5 mm²", mm2="0.75 mm²", awg="40 AWG")) == (0.5, 0.75)
    assert comparable(wire("W", "0.5 mm²", mm2="", awg="20 AWG")) is None
    assert needed_of(wire("W", "20 AWG", mm2="9 mm²", awg="18 AWG")) == "18 AWG"
    assert needed_of(wire("W", "", mm2="0.5 mm²", awg="20 AWG")) == "0.5 mm² or 20 AWG"


@pytest.mark.parametrize(
    ("line", "standing"),
    [
        (wire("W", mm2="0.75 mm²"), "small"),
        (wire("W", mm2="0.75 mm²", lacking=("zone",)), "perhaps"),
        (wire("W", amps=8.0), "small"),
        (wire("W"), "fits"),
        (wire("W", mm2="0.35 mm²"), "spare"),
        (wire("W", mm2="0.35 mm²", lacking=("zone",)), "spare"),
        (wire("W", mm2=""), "small"),
        (wire("W", mm2="", lacking=("zone",)), "unknown"),
        (wire("W", mm2="", lacking=("zone",), amps=8.0), "perhaps"),
        (wire("W", amps=None, mm2=""), "unknown"),
        (wire("W", "", mm2="0.5 mm²"), "unknown"),
    ],
)
def test_standing(line: object, standing: str) -> None:
    assert standing_of_size(line) == standing  # type: ignore[arg-type]


def test_those_too_small_come_first_then_the_least_margin() -> None:
    wires = [wire("A", amps=1.0), wire("B", amps=None), wire("C", mm2="1 mm²", lacking=("x",)), wire("D", amps=5.0), wire("E", mm2="1 mm²"), wire("F", amps=9.0)]
    assert [wires[at].wire for at in order_of_need(wires)] == ["F", "E", "C", "D", "A", "B"]


def test_reasons() -> None:
    assert needs_size_text(wire("W", mm2="1 mm²", governs="fuse")) == "needs 1 mm² by its fuse"
    assert needs_size_text(wire("W", mm2="1 mm²", governs="short circuit")) == "needs 1 mm² by a short circuit"
    assert needs_size_text(wire("W", mm2="0.35 mm²", governs="smallest")) == "0.35 mm² would do"
    assert needs_size_text(wire("W", mm2="", awg="", lacking=("zone",))) == ""
    assert lacking_of("W1", ("length of wire W1", "zone of W1", "size of wire W11")) == "length; zone; size of wire W11"


def test_fuses_at_their_limits() -> None:
    assert tight_by(fuse("F", load=12.0)) == ()
    assert tight_by(fuse("F", load=12.01)) == ("load",)
    assert tight_by(fuse("F", allowed=15.0)) == ()
    assert tight_by(fuse("F", allowed=14.9)) == ("wire",)
    assert tight_by(fuse("F", clears=5.0, bears=5.0)) == ()
    assert tight_by(fuse("F", clears=5.01, bears=99.0)) == ("fault",)
    assert tight_by(fuse("F", clears=0.5, bears=0.4)) == ("fault",)
    assert fuse_load(fuse("F", rating=0.0)) is None
    assert fuse_load(fuse("F", load=None)) is None
    assert surely_tight(fuse("F", load=13.0, lacking=("x",)))
    assert not surely_tight(fuse("F", allowed=9.0, lacking=("x",)))
    assert not fuse_known(fuse("F", allowed=9.0, lacking=("x",)))
    assert fuse_known(fuse("F", lacking=("x",)))


def test_a_time_that_is_not_known_is_no_fuse_that_never_opens() -> None:
    assert never_clears(fuse("F", clears=math.inf))
    assert not never_clears(fuse("F", fault=22.6, clears=None))
    assert not fuse_known(fuse("F", fault=22.6, clears=None))
    assert not never_clears(fuse("F", fault=20.0, clears=9.0))


def test_bundles_and_numbers() -> None:
    assert [bundle_standing(bundle("B", sleeve=mm)) for mm in (11.0, 12.0, 14.0, None, 0.0)] == ["does not fit", "tight", "", "", ""]
    assert (ampere_text(0.023), ampere_text(9.14), ampere_text(123.4), ampere_text(None)) == ("0.023 A", "9.1 A", "123 A", "not known")
    assert (copper_text(640.4), copper_text(2140.0), copper_text(994.0), copper_text(math.nan)) == ("640 g", "2.1 kg", "990 g", "not known")
    assert (percent_text(0.634), percent_text(None), percent_text(math.inf)) == ("63 %", "not known", "many times")
