"""The picture of wire sizes: what is drawn, that it is the same each time, and that it touches nothing global."""

from __future__ import annotations

import math
import subprocess
import sys
import time
import warnings
from pathlib import Path
from xml.etree import ElementTree

import pytest
from sizing_made import CLEAN, EXTREME, USUAL, many, wire

from harnessdrc.render.plots.sizes import MOST_WIRES, has_sizes, sizes_svg
from harnessdrc.results import SizeLine

SVG = "{http://www.w3.org/2000/svg}"


def texts(svg: str) -> list[str]:
    return ["".join(element.itertext()) for element in ElementTree.fromstring(svg).iter(f"{SVG}text")]


def test_it_says_what_it_shows() -> None:
    said = texts(sizes_svg(USUAL.wires, "loom.xlsx"))
    for text in (
        "loom.xlsx", "as listed", "needed", "too small", "may be too small", "could be smaller", "conductor area, mm²",
        "W3", "0.5 mm²", "needs 0.75 mm² by heating", "20 AWG", "needs 18 AWG by drop", "needs 0.75 mm² by heating, at worst",
        "85 % to spare", "1.5 mm² would do; 118 % to spare",
        "AWG sizes are drawn at their area by ASTM B258. Measure on the bench.",
    ):  # fmt: skip
        assert text in said, text
    assert any(text.endswith("28 of 29 wires, those with sizes known.") for text in said)
    assert "W7" not in said
    assert {"0.35", "0.5", "0.75", "2.5"} <= set(said)
    assert not any("safe" in text for text in said)


def test_it_is_told_in_black_and_white() -> None:
    svg = sizes_svg(USUAL.wires, "x")
    assert "<image" not in svg
    colours = {part[:7] for part in svg.split("#")[1:] for part in ["#" + part[:6]]} & {"#174e7c", "#ff0000"}
    assert not colours
    assert "stroke-width: 3.2" in svg  # too small: a solid bar
    assert svg.count("stroke-dasharray") >= 24  # may be, and could be smaller


def test_the_worst_stand_on_top_and_are_bold() -> None:
    root = ElementTree.fromstring(sizes_svg(USUAL.wires, "x"))
    found = {"".join(one.itertext()): one.get("style") or "" for one in root.iter(f"{SVG}text")}
    assert "bold" in found["W3"] or "700" in found["W3"]
    assert "bold" not in found["W2"]
    said = list(found)
    assert said.index("W3") < said.index("W6") < said.index("W2") < said.index("W1") < said.index("W29")


def test_the_same_input_gives_the_same_bytes_whatever_the_settings_of_the_user() -> None:
    import matplotlib

    first = sizes_svg(USUAL.wires, "loom.xlsx")
    before = dict(matplotlib.rcParams)
    with matplotlib.rc_context({"font.size": 30, "svg.fonttype": "path", "lines.linewidth": 9}):
        assert sizes_svg(USUAL.wires, "loom.xlsx") == first
    assert dict(matplotlib.rcParams) == before
    script = (
        "import sys; sys.path.insert(0, sys.argv[1]); from sizing_made import USUAL\n"
        "from harnessdrc.render.plots.sizes import sizes_svg\n"
        "assert 'matplotlib' not in sys.modules\n"
        "sys.stdout.buffer.write(sizes_svg(USUAL.wires, 'loom.xlsx').encode())\n"
        "assert 'matplotlib.pyplot' not in sys.modules"
    )
    done = subprocess.run([sys.executable, "-c", script, str(Path(__file__).parent)], capture_output=True, check=True, timeout=120)
    assert done.stdout.decode() == first
    assert done.stderr == b""
    assert "dc:date" not in first


def test_of_many_wires_those_with_the_least_margin_are_shown_and_that_is_said() -> None:
    wires = [wire(f"N{n}", amps=1.0 + n / 100, mm2="0.35 mm²") for n in range(200)]
    said = texts(sizes_svg(wires, "x"))
    assert [text for text in said if text.startswith("N")] == [f"N{n}" for n in range(199, 199 - MOST_WIRES, -1)]
    assert any(text.endswith(" 60 of 200 wires: those too small, then those with the least margin.") for text in said)
    assert not any(" of " in text and "wires" in text for text in texts(sizes_svg(wires[:MOST_WIRES], "x")))


def test_a_wire_no_standard_size_does_for() -> None:
    said = texts(sizes_svg([wire("W1", amps=900.0, mm2="", awg="")], "x"))
    assert "no standard size does" in said


def test_names_from_a_list_are_text_and_nothing_else() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        svg = sizes_svg([wire("<b>&$\\frac{1}{0}$"), wire("_x\x1b\ufffe\ud800 日本"), wire("M" * 300)], "$\\bad <title> & \x00")
    svg.encode("utf-8")
    said = texts(svg)
    assert "<b>&$\\frac{1}{0}$" in said
    assert "_x␛\ufffd\ufffd 日本" in said
    assert "$\\bad <title> & ␀" in said
    assert "M" * 12 + "…" in said


def test_hard_numbers_are_drawn_or_left_out() -> None:
    svg = sizes_svg(EXTREME.wires, "x")
    assert "nan" not in svg
    assert "inf" not in svg
    sizes_svg([wire("W", "0.000001 mm²", mm2="900000 mm²")], "x")
    sizes_svg([wire("W", amps=math.inf, allowed=math.nan)], "x")


@pytest.mark.parametrize("lines", [(), USUAL.wires[6:7], EXTREME.wires[-1:]])
def test_nothing_to_draw_is_an_error(lines: tuple[SizeLine, ...]) -> None:
    assert not has_sizes(lines)
    with pytest.raises(ValueError, match="there is no wire"):
        sizes_svg(lines, "x")


def test_fifty_thousand_wires_are_drawn_quickly() -> None:
    sizes_svg(CLEAN.wires, "the library is loaded")
    wires = many().wires
    start = time.process_time()
    sizes_svg(wires, "x")
    assert time.process_time() - start < 2
