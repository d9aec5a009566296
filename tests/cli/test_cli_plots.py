"""``harnessdrc check --plots``: the picture beside the redline, whole or not at all."""

from __future__ import annotations

import io
import json
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from cli_helpers import CLEAN, csv_list, ran, workbook

import harnessdrc.cli.check as check_verb
from harnessdrc.results import InductionOutcome, SizeLine, SizingOutcome, TriggerLine

CRANK = TriggerLine(
    ("component", "CRANK SENSOR"), "reluctor sensor", "twisted, lay 30 mm", (60.0, 600.0, 6000.0), (300.0, 3e3, 3e4),
    (0.0,) * 3, (60.0,) * 3, (10.0,) * 3, (360.0,) * 3, (14.0, 34.0, 54.0), (5.0, 25.0, 45.0), (23.0, 43.0, 63.0), 0, 20.0,
)  # fmt: skip


SMALL = SizeLine(
    "W12", "0.5 mm²", 9.1, 12.0, "full load", 7.4, 85.0, 105.0, 12, 0.4, 118.0, 120.0, "18 AWG", "0.75 mm²", "heating", -0.19,
    9.0, 13.4, (), None,
)  # fmt: skip


def _with(monkeypatch: pytest.MonkeyPatch, **parts: Any) -> None:
    """Every list has these parts, and no other picture to draw."""
    real = check_verb.judge
    empty = {"induction": InductionOutcome(), "sizing": SizingOutcome()}
    monkeypatch.setattr(check_verb, "judge", lambda *arguments: replace(real(*arguments), **{**empty, **parts}))


@pytest.fixture
def without_pictures(monkeypatch: pytest.MonkeyPatch) -> None:
    """No list has anything to draw."""
    _with(monkeypatch)


@pytest.fixture
def with_sizes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every list has a wire that is too small."""
    _with(monkeypatch, sizing=SizingOutcome((SMALL,)))


@pytest.fixture
def with_margin(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every list has a trigger sensor with a margin."""
    _with(monkeypatch, induction=InductionOutcome((), (CRANK,)))


@pytest.mark.usefixtures("with_margin")
def test_the_picture_stands_beside_the_redline(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book = workbook(tmp_path / "loom <&> 1.xlsx")
    done = ran(capsys, "check", book, "--plots")
    picture = tmp_path / "loom <&> 1.margin.svg"
    assert done.code == 0, done.err
    assert f"Written: {picture}" in done.out
    root = ElementTree.fromstring(picture.read_bytes())
    said = ["".join(element.itertext()) for element in root.iter("{http://www.w3.org/2000/svg}text")]
    assert {"loom <&> 1.xlsx", "CRANK SENSOR"} <= set(said)
    first = picture.read_bytes()
    ran(capsys, "check", book, "--plots")
    assert picture.read_bytes() == first
    assert sorted(path.name for path in tmp_path.iterdir()) == ["loom <&> 1.margin.svg", "loom <&> 1.redline.xlsx", book.name]


@pytest.mark.usefixtures("with_margin")
def test_it_goes_where_the_outputs_go_and_beside_json(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    one, other = csv_list(tmp_path / "wires.csv"), csv_list(tmp_path / "more.csv", CLEAN[:1])
    done = ran(capsys, "check", one, other, "--out", tmp_path / "out", "--plots", "--json", "-")
    assert json.loads(done.out)["induction"]["triggers"][0]["worst_rpm"] == 60
    assert (tmp_path / "out" / "wires.margin.svg").is_file()
    assert "wires.csv + more.csv" in (tmp_path / "out" / "wires.margin.svg").read_text("utf-8")


@pytest.mark.usefixtures("with_margin")
def test_without_the_option_nothing_is_drawn(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    done = ran(capsys, "check", workbook(tmp_path / "loom.xlsx"))
    assert not list(tmp_path.glob("*.svg"))
    assert "Not written" not in done.out
    assert "CRANK SENSOR, reluctor sensor: 14 dB (5 to 23) at 60 1/min, limit 20 dB: below it" in done.out


@pytest.mark.usefixtures("without_pictures")
def test_without_a_margin_it_says_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book = workbook(tmp_path / "loom.xlsx")
    done = ran(capsys, "check", book, "--plots")
    assert "Not written: loom.margin.svg, as there is no margin of a trigger sensor to draw." in done.out
    assert not (tmp_path / "loom.margin.svg").exists()
    (tmp_path / "loom.margin.svg").write_text("old")
    done = ran(capsys, "check", book, "--plots")
    assert "to draw; the file of this name is of an earlier run." in done.out
    assert (tmp_path / "loom.margin.svg").read_text() == "old"


@pytest.mark.usefixtures("with_margin")
def test_a_picture_that_cannot_be_written_leaves_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book = workbook(tmp_path / "loom.xlsx")
    (tmp_path / "loom.margin.svg").mkdir()
    done = ran(capsys, "check", book, "--plots")
    assert done.code == 2
    assert "loom.margin.svg: this file could not be written because a folder has this name" in done.err
    assert not (tmp_path / "loom.redline.xlsx").exists()


@pytest.mark.usefixtures("with_sizes")
def test_the_picture_of_wire_sizes_stands_beside_the_redline(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book = workbook(tmp_path / "loom <&> 1.xlsx")
    done = ran(capsys, "check", book, "--plots")
    picture = tmp_path / "loom <&> 1.sizes.svg"
    assert f"Written: {picture}" in done.out
    assert "Not written: loom <&> 1.margin.svg" in done.out
    root = ElementTree.fromstring(picture.read_bytes())
    said = ["".join(element.itertext()) for element in root.iter("{http://www.w3.org/2000/svg}text")]
    assert {"loom <&> 1.xlsx", "W12", "needs 0.75 mm² by heating"} <= set(said)
    first = picture.read_bytes()
    ran(capsys, "check", book, "--plots")
    assert picture.read_bytes() == first
    assert "W12 (0.5 mm²): 9.1 A (full load), 7.4 A allowed" in done.out


@pytest.mark.usefixtures("without_pictures")
def test_without_sizes_it_says_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book = workbook(tmp_path / "loom.xlsx")
    why = "as there is no wire with its size and the one it needs known to draw"
    assert f"Not written: loom.sizes.svg, {why}." in ran(capsys, "check", book, "--plots").out
    (tmp_path / "loom.sizes.svg").write_text("old")
    assert f"{why}; the file of this name is of an earlier run." in ran(capsys, "check", book, "--plots").out


@pytest.mark.parametrize("name", ["loom.Margin.svg", "loom.sizes.SVG"])
def test_json_never_takes_the_name_of_a_picture(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    done = ran(capsys, "check", workbook(tmp_path / "loom.xlsx"), "--json", tmp_path / name)
    assert done.code == 2
    assert "this is the name of a plot; give another one." in done.err


@pytest.mark.usefixtures("with_margin")
def test_drawing_says_nothing_on_the_terminal(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "stderr", io.StringIO())
    ran(capsys, "check", workbook(tmp_path / "回路.xlsx"), "--plots")
    assert (tmp_path / "回路.margin.svg").is_file()
    assert sys.stderr.getvalue() == ""
