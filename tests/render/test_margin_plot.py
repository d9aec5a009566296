"""The picture of margins: what is drawn, that it is the same each time, and that it touches nothing global."""

from __future__ import annotations

import math
import subprocess
import sys
import time
import warnings
from dataclasses import replace
from xml.etree import ElementTree

import pytest
from induction_made import EXTREME, USUAL, hall, many, trigger

from harnessdrc.render.plots.margin import MOST_SENSORS, margin_svg
from harnessdrc.results import TriggerLine

SVG = "{http://www.w3.org/2000/svg}"


def texts(svg: str) -> list[str]:
    return ["".join(element.itertext()) for element in ElementTree.fromstring(svg).iter(f"{SVG}text")]


def test_it_says_what_it_shows() -> None:
    said = texts(margin_svg(USUAL.triggers, "loom.xlsx"))
    assert said[0] == "loom.xlsx" or "loom.xlsx" in said
    for text in (
        "CRANK SENSOR", "CAM SENSOR", "engine speed, 1/min", "margin, dB", "limit 20 dB", "usual figures",
        "range of what is found", "worst: 14 dB (4.8 to 23) at 60 1/min", "worst: 46 dB (29 to 58) at 7,000 1/min",
        "Margin of trigger signals over induced noise, against engine speed: an estimate with its range.",
        "The oscilloscope at the controller's pins decides, cranking first.",
    ):  # fmt: skip
        assert text in said, text
    assert any(text.startswith("reluctor sensor, twisted, lay 30 mm") for text in said)
    assert {"100", "1,000", "5,000"} <= set(said)


def test_it_is_told_in_black_and_white() -> None:
    svg = margin_svg((trigger(),), "x")
    assert svg.count("stroke-dasharray: 7.2,3.6") >= 1  # the limit, 6 and 3 widths of 1.2
    assert "stroke-dasharray: 0.8,1.32" in svg  # the ends of the range
    assert "<image" not in svg


def test_the_same_input_gives_the_same_bytes_whatever_the_settings_of_the_user() -> None:
    import matplotlib

    first = margin_svg(USUAL.triggers, "loom.xlsx")
    before = dict(matplotlib.rcParams)
    with matplotlib.rc_context({"font.size": 30, "axes.grid": False, "svg.fonttype": "path", "lines.linewidth": 9, "text.usetex": False}):
        assert margin_svg(USUAL.triggers, "loom.xlsx") == first
    assert dict(matplotlib.rcParams) == before
    script = (
        "import sys; sys.path.insert(0, sys.argv[1]); from induction_made import USUAL\n"
        "from harnessdrc.render.plots.margin import margin_svg\n"
        "assert 'matplotlib' not in sys.modules\n"
        "sys.stdout.buffer.write(margin_svg(USUAL.triggers, 'loom.xlsx').encode())\n"
        "assert 'matplotlib.pyplot' not in sys.modules"
    )
    done = subprocess.run([sys.executable, "-c", script, str(__file__).rpartition("test_margin_plot")[0]], capture_output=True, check=True, timeout=120)
    assert done.stdout.decode() == first
    assert done.stderr == b""
    assert "dc:date" not in first


def test_names_from_a_list_are_text_and_nothing_else() -> None:
    odd = replace(trigger("<b>&$\\frac{1}{0}$ _x\x1b\ufffe\ud800 日本"), sensor="_leading", pair="$broken {")
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        svg = margin_svg((odd,), "$\\bad <title> & \x00")
    svg.encode("utf-8")
    said = texts(svg)
    assert "<b>&$\\frac{1}{0}$ _x␛\ufffd\ufffd 日本" in said
    assert "$\\bad <title> & ␀" in said
    assert "_leading, $broken {" in said
    long = margin_svg((replace(trigger("N" * 500), pair="p" * 500),), "t" * 500)
    assert max(map(len, texts(long))) <= 150


def test_of_many_sensors_those_with_the_least_margin_are_shown_and_that_is_said() -> None:
    said = texts(margin_svg(many(4, 30).triggers, "x"))
    named = [text for text in said if text.startswith("SENSOR")]
    assert named == [f"SENSOR{n}" for n in range(29, 29 - MOST_SENSORS, -1)]
    assert any(text.endswith("8 of 30 sensors, those with the least margin.") for text in said)
    assert not any("sensors, those" in text for text in texts(margin_svg(many(4, 8).triggers, "x")))


def test_figures_without_end_are_drawn_at_the_edge() -> None:
    said = texts(margin_svg(EXTREME.triggers, "x"))
    assert "worst: nothing left of the signal at 200 1/min" in said
    assert "all inf" not in said
    svg = margin_svg((replace(trigger(), low_db=(-math.inf,) * 5, high_db=(math.inf,) * 5, limit_db=math.inf),), "x")
    assert "nan" not in svg
    assert "inf" not in svg


@pytest.mark.parametrize(
    "rpm", [(250.0,), (0.0, 3000.0), (-10.0, 0.0, 10.0), (6000.0, 7000.0), (250.0, 250.0), (7000.0, 60.0, 850.0), (1.0, 1e9), (math.inf, 60.0)]
)
def test_any_speeds_can_be_drawn(rpm: tuple[float, ...]) -> None:
    number = len(rpm)
    line = replace(hall(), rpm=rpm, margin_db=(25.0,) * number, low_db=(20.0,) * number, high_db=(30.0,) * number, worst=0, noise_mv=(1.0,) * number)
    assert "CAM SENSOR" in texts(margin_svg((line,), "x"))


def test_without_a_limit_none_is_drawn() -> None:
    assert not any(text.startswith("limit ") for text in texts(margin_svg((trigger(limit=None),), "x")))


@pytest.mark.parametrize("triggers", [(), EXTREME.triggers[1:], (TriggerLine(("component", "A"), "", ""),)])
def test_nothing_to_draw_is_an_error(triggers: tuple[TriggerLine, ...]) -> None:
    with pytest.raises(ValueError, match="none of the trigger sensors"):
        margin_svg(triggers, "x")


def test_eight_panels_are_drawn_quickly() -> None:
    margin_svg(USUAL.triggers, "the library is loaded")
    triggers = many(4, 500).triggers
    start = time.perf_counter()
    margin_svg(triggers, "x")
    assert time.perf_counter() - start < 3
