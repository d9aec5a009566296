"""``check --measured``: filled-in test sheets on the command line."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import openpyxl
import pytest
from cli_helpers import SAMPLES, csv_list, ran

from harnessdrc.api import open_and_read, shop_papers
from harnessdrc.render.findings_json import schema
from harnessdrc.tables.issues import issue_mark

CLEAN = SAMPLES / "clean" / "hill_climb_single_seater.xlsx"
WIRES = (
    ("W1", "ECU", "1", "Dash plug", "1", "BU", "1", "2", "Lamp"),
    ("W2", "ECU", "2", "Head stud", "", "BK", "2.5", "1", "Power ground"),
)
HEADINGS = ("Wire", "From", "From cavity", "To", "To cavity", "Colour", "Size (mm²)", "Length (m)", "Signal")


def loom(folder: Path) -> Path:
    """A list of two wires: 41 mΩ and 9.7 mΩ."""
    return csv_list(folder / "loom.csv", WIRES, HEADINGS)


def filled(path: Path, *rows: tuple[object, ...], mark: str = "", sheet: str = "Test continuity") -> Path:
    """A workbook with a test sheet of continuity, beside one that would be a wire list."""
    book = openpyxl.Workbook()
    page = book.worksheets[0]
    page.title = "Cut list"
    for row in (("Wire", "From", "To", "Colour"), ("W99", "X", "Y", "RD")):
        page.append(row)
    tests = book.create_sheet(sheet)
    if mark:
        tests.append((f"Issue of the list: {mark}",))
    for row in (("Test", "Wire", "Between", "And", "Measured (mΩ)"), *rows):
        tests.append(row)
    book.save(path)
    return path


def test_a_failed_wire_is_on_hold_with_its_cell(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    tests = filled(tmp_path / "tests.xlsx", ("C1", "W1", "ECU 1", "Dash plug 1", 95), ("C2", "W2", "ECU 2", "Head stud", 9.7))
    run = ran(capsys, "check", loom(tmp_path), "--measured", tests, "--json", tmp_path / "out.json", "--out", tmp_path)
    assert run.code == 1
    assert "MEASURED: 2 of 2 tests filled in (1 passed, 1 failed)" in run.out
    assert "C1 wire W1: 95 mΩ, expected 41" in run.out
    whole = json.loads((tmp_path / "out.json").read_text("utf-8"))
    jsonschema.validate(whole, schema())
    [finding] = [f for f in whole["findings"] if f["check"].startswith("measured.")]
    assert (finding["check"], finding["subject"], finding["measured"]) == ("measured.resistance", ["wire", "W1"], 95)
    assert finding["places"][0] == {"file": "tests.xlsx", "sheet": "Test continuity", "cell": "E2", "label": "test C1"}
    assert whole["measured"]["failed"] == 1
    assert [line["verdict"] for line in whole["measured"]["readings"]] == ["fail", "pass"]
    assert whole["read"]["wires"] == 2, "the cut list beside the test sheet is not read"
    assert [one["file"] for one in whole["inputs"]] == ["loom.csv"]


def test_sound_values_are_told_and_hold_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    tests = filled(tmp_path / "tests.xlsx", ("C1", "W1", None, None, "0.041 Ω"), ("C2", "W2", None, None, None))
    run = ran(capsys, "check", loom(tmp_path), "--measured", tests, "--out", tmp_path)
    assert run.code == 0, run.out
    assert "MEASURED: 1 of 2 tests filled in (1 passed, 0 failed)" in run.out
    assert "solved with 1 measured resistance in place" in run.out


def test_the_redline_has_a_sheet_of_all_readings(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rows = (("C1", "W1", None, None, "OL"), ("C2", "W2", None, None, 9.7))
    ran(capsys, "check", loom(tmp_path), "--measured", filled(tmp_path / "tests.xlsx", *rows), "--out", tmp_path)
    book = openpyxl.load_workbook(tmp_path / "loom.redline.xlsx")
    cells = [[cell.value for cell in row] for row in book["Measured"].iter_rows()]
    [head] = [row for row in cells if row[0] == "Test"]
    body = [dict(zip(head, row, strict=True)) for row in cells[cells.index(head) + 1 :]]
    assert [(row["Test"], row["Of"], row["Verdict"]) for row in body] == [
        ("C1", "wire W1", "FAILED"), ("C2", "wire W2", "passed"),
    ]  # fmt: skip
    assert body[0]["Measured"] == "overload"
    assert body[1]["Measured"] == 9.7
    assert body[1]["Cell"].endswith("E3")
    ran(capsys, "check", loom(tmp_path), "--out", tmp_path / "plain")
    assert "Measured" not in openpyxl.load_workbook(tmp_path / "plain" / "loom.redline.xlsx").sheetnames


def test_without_the_option_nothing_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run = ran(capsys, "check", loom(tmp_path), "--out", tmp_path, "--json", tmp_path / "out.json")
    assert "MEASURED" not in run.out
    measured = json.loads((tmp_path / "out.json").read_text("utf-8"))["measured"]
    assert measured == {
        "sheets": [], "readings": [], "passed": 0, "failed": 0, "not_used": 0, "in_the_network": 0, "not_compared": [],
    }  # fmt: skip


def test_the_mark_of_the_issue_is_compared(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    own = loom(tmp_path)
    _, reading = open_and_read([own])
    mark = issue_mark(source.sha256 for source in reading.sources)
    assert len(mark) == 12
    good = filled(tmp_path / "good.xlsx", ("C1", "W1", None, None, 41), mark=mark)
    old = filled(tmp_path / "old.xlsx", ("C1", "W1", None, None, 41), mark="0123456789ab")
    assert "another issue" not in ran(capsys, "check", own, "--measured", good, "--out", tmp_path).out
    run = ran(capsys, "check", own, "--measured", old, "--out", tmp_path)
    assert "was printed for issue 0123456789ab of the list" in run.out
    assert f"this one is {mark}" in run.out
    assert run.code == 0


def test_tests_without_a_row_and_breaks_are_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    own = loom(tmp_path)
    _, reading = open_and_read([own])
    mark = issue_mark(source.sha256 for source in reading.sources)
    whole = filled(tmp_path / "whole.xlsx", ("C1", "W1", None, None, 41), ("C2", "W2", None, None, None), mark=mark)
    part = filled(tmp_path / "part.xlsx", ("C1", "W1", None, None, "OL"), mark=mark)
    tests = len(shop_papers([own])[0].isolation) + 2
    told = " ".join(ran(capsys, "check", own, "--measured", part, "--out", tmp_path).out.split())
    assert f"{tests - 1} of the {tests} tests of this list " in told
    assert "1 wire that is open by the meter is no part of the network" in told
    told = " ".join(ran(capsys, "check", own, "--measured", whole, "--out", tmp_path).out.split())
    assert "open by the meter" not in told


def test_a_number_alone_counts_only_on_a_sheet_of_this_issue(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    own = loom(tmp_path)
    _, reading = open_and_read([own])
    mark = issue_mark(source.sha256 for source in reading.sources)
    row = ("C1", None, None, None, 95)
    assert ran(capsys, "check", own, "--measured", filled(tmp_path / "a.xlsx", row, mark=mark), "--out", tmp_path).code == 1
    run = ran(capsys, "check", own, "--measured", filled(tmp_path / "b.xlsx", row), "--out", tmp_path)
    assert run.code == 0
    assert "Not used: 1 row that fits no test" in run.out


@pytest.mark.parametrize("value", ["ok", "12 mV", "≈"])
def test_what_is_no_reading_is_asked_about_with_its_cell(value: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    tests = filled(tmp_path / "tests.xlsx", ("C1", "W1", None, None, value))
    run = ran(capsys, "check", loom(tmp_path), "--measured", tests, "--out", tmp_path)
    assert run.code == 0
    assert "measured-sheet" in run.out
    assert f"'{value}', which is no reading" in run.out
    assert "E2" in run.out
    assert "Traceback" not in run.err


def test_a_file_without_a_test_sheet_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    other = csv_list(tmp_path / "other.csv")
    run = ran(capsys, "check", loom(tmp_path), "--measured", other, "--out", tmp_path)
    assert run.code == 2
    assert "other.csv: there is no test sheet in this file" in run.err
    assert "harnessdrc shop" in run.err
    assert not list(tmp_path.glob("*.redline.xlsx"))


def test_headings_without_a_row_a_missing_file_and_the_list_itself_are_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    own = loom(tmp_path)
    empty = filled(tmp_path / "empty.xlsx")
    for given, words in ((empty, "no rows below them"), (tmp_path / "none.xlsx", "none.xlsx"), (own, "one of the lists"), ("", "--measured")):
        run = ran(capsys, "check", own, "--measured", given, "--out", tmp_path)
        assert run.code == 2, given
        assert words in run.err
        assert "Traceback" not in run.err


def test_the_test_sheets_are_never_written_to(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    tests = filled(tmp_path / "tests.xlsx", ("C1", "W1", None, None, 95))
    before = tests.read_bytes()
    run = ran(capsys, "check", loom(tmp_path), "--measured", tests, "--json", tests, "--out", tmp_path)
    assert run.code == 2
    assert tests.read_bytes() == before


def test_a_file_of_the_same_name_is_told_apart(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "bench"
    folder.mkdir()
    tests = folder / "loom.csv"
    tests.write_text("Test,Wire,Measured (mΩ)\nC1,W1,95\n", encoding="utf-8")
    run = ran(capsys, "check", loom(tmp_path), "--measured", tests, "--out", tmp_path, "--json", tmp_path / "out.json")
    assert run.code == 1
    [finding] = [f for f in json.loads((tmp_path / "out.json").read_text("utf-8"))["findings"] if f["check"] == "measured.resistance"]
    assert finding["places"][0]["file"] == "bench/loom.csv"


def test_papers_of_a_sample_go_out_and_come_back(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert ran(capsys, "shop", CLEAN, "--out", tmp_path).code in (0, 1)
    printed = tmp_path / f"{CLEAN.stem}.papers.xlsx"
    run = ran(capsys, "check", CLEAN, "--measured", printed, "--out", tmp_path, "--json", tmp_path / "out.json")
    measured = json.loads((tmp_path / "out.json").read_text("utf-8"))["measured"]
    assert run.code in (0, 1)
    assert len(measured["sheets"]) == 3
    assert all(sheet["fits"] and not sheet["filled"] and not sheet["refused"] for sheet in measured["sheets"])
    assert measured["readings"] == []
    assert "MEASURED: 0 of" in run.out


@pytest.mark.parametrize("verb", ["check", "read", "shop"])
def test_papers_are_no_list(verb: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    papers = filled(tmp_path / "loom.papers.xlsx", ("C1", "W1", None, None, 41))
    run = ran(capsys, verb, papers)
    assert run.code == 2
    assert "these are papers made from a list" in " ".join((run.out + run.err).split())
