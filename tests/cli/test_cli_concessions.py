"""``check --concessions``: what is accepted is seen in every output and holds nothing up."""

from __future__ import annotations

import datetime
import json
from collections.abc import Sequence
from pathlib import Path

import jsonschema
import openpyxl
import pytest
from cli_helpers import CLEAN, FAULTY, HEADINGS, assert_refused, contents, csv_list, ran

import harnessdrc
from harnessdrc.intake.recognition.concession_sheets import OWN_FAULTS
from harnessdrc.render.findings_json import schema

CONCESSIONS = """
[[concession]]
rule = "one-wire-per-cavity"
subject = "ECU 3"
reason = "a double crimp agreed with the customer"
by = "K. Ostrander"
until = 2027-03-31
accepted = 2
"""
SHEET = (
    ("Rule", "Subject", "Reason", "By", "Until", "Accepted value", "Unit"),
    ("one-wire-per-cavity", "cavity ECU 3", "a double crimp", "K. Ostrander", datetime.date(2027, 3, 31), 2, None),
)
ON = ("--on", "2026-11-25")


HELD = tuple(tuple(text.replace("ECU", "Engine plug") for text in row) for row in FAULTY)
"""The same fault between plugs alone."""


def accepted(folder: Path, text: str = CONCESSIONS) -> Path:
    path = folder / "accepted.toml"
    path.write_text(text, encoding="utf-8")
    return path


def with_sheet(folder: Path, name: str = "loom.xlsx", rows: Sequence[Sequence[str]] = FAULTY) -> Path:
    """A faulty list that accepts its own fault."""
    book = openpyxl.Workbook()
    page = book.worksheets[0]
    page.title = "Wire list"
    for row in (HEADINGS, *rows):
        page.append(list(row))
    plug = rows[0][1]
    page = book.create_sheet("Accepted")
    for row in (("Agreed for the season",), *SHEET):
        page.append([cell.replace("ECU", plug) if isinstance(cell, str) else cell for cell in row])
    path = folder / name
    book.save(path)
    return path


def test_the_sample_is_on_hold_without_a_concession(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run = ran(capsys, "check", csv_list(tmp_path / "loom.csv", FAULTY))
    assert run.code == 1
    assert "ACCEPTED" not in run.out


def test_an_accepted_hold_is_not_open_and_stays_visible_in_every_output(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    loom = csv_list(tmp_path / "loom.csv", FAULTY)
    out = tmp_path / "out.json"
    run = ran(capsys, "check", loom, "--concessions", accepted(tmp_path), *ON, "--json", out)
    assert run.code == 0, run
    assert "ACCEPTED: 1" in run.out
    assert "on hold but for the concession by K. Ostrander until 2027-03-31 at 2: a double crimp agreed" in run.out
    assert "ON HOLD" not in run.out
    assert run.out.splitlines()[-1].endswith("1 accepted by concession")
    made = json.loads(out.read_text("utf-8"))
    jsonschema.validate(made, schema())
    assert (made["counts"]["hold"], made["counts"]["accepted"]) == (0, 1)
    [one] = [each for each in made["findings"] if each["concession"]]
    assert one["rule"] == "one-wire-per-cavity"
    [line] = made["concessions"]
    assert (line["state"], line["covers"], line["accepted"]) == ("in force", [one["thumbprint"]], 2.0)
    assert made["concessions_from"]["on"] == "2026-11-25"
    assert [file["file"] for file in made["concessions_from"]["files"]] == ["accepted.toml"]
    book = openpyxl.load_workbook(tmp_path / "loom.redline.xlsx")
    cells = [str(cell.value) for row in book["Findings"].iter_rows() for cell in row if cell.value]
    assert "ACCEPTED" in cells
    assert any("Accepted (HOLD otherwise) by K. Ostrander until 2027-03-31" in text for text in cells)
    covered = [str(cell.value) for row in book["Coverage"].iter_rows() for cell in row if cell.value]
    assert "In force: accepts 1 finding." in covered
    notes = [cell.comment.text for row in book.worksheets[0].iter_rows() for cell in row if cell.comment]
    notes += [cell.comment.text for sheet in book for row in sheet.iter_rows() for cell in row if cell.comment]
    assert any(text.startswith("ACCEPTED") or "ACCEPTED · finding" in text for text in notes)


def test_the_same_input_on_the_same_day_gives_the_same_bytes(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    loom, file = csv_list(tmp_path / "loom.csv", FAULTY), accepted(tmp_path)
    for folder in ("a", "b"):
        ran(capsys, "check", loom, "--concessions", file, *ON, "--out", tmp_path / folder, "--json", tmp_path / folder / "x.json")
    assert contents(tmp_path / "a") == contents(tmp_path / "b")
    assert len(contents(tmp_path / "a")) == 2


def test_without_concessions_no_day_stands_in_the_outputs(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "out.json"
    ran(capsys, "check", csv_list(tmp_path / "loom.csv", FAULTY), "--json", out)
    made = json.loads(out.read_text("utf-8"))
    jsonschema.validate(made, schema())
    assert (made["concessions"], made["concessions_from"]) == ([], None)
    assert not [rule for rule in made["rules"] if rule["rule"].startswith("concession.")]


@pytest.mark.parametrize(
    ("text", "rule", "code"),
    [
        (CONCESSIONS.replace("2027-03-31", "2026-11-24"), "concession.expired", 1),
        (CONCESSIONS.replace("accepted = 2", "accepted = 1.9"), "concession.worsened", 1),
        (CONCESSIONS.replace("ECU 3", "ECU 33"), "concession.unused", 1),
        (CONCESSIONS, "", 0),
    ],
)
def test_a_concession_that_does_not_hold_is_a_query(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str, rule: str, code: int
) -> None:
    loom = csv_list(tmp_path / "loom.csv", FAULTY)
    run = ran(capsys, "check", loom, "--concessions", accepted(tmp_path, text), *ON, "--json", "-")
    made = json.loads(run.out)
    jsonschema.validate(made, schema())
    assert run.code == code
    assert [each["rule"] for each in made["findings"] if each["rule"].startswith("concession.")] == [rule] * bool(rule)
    assert ("accepted.toml" in run.err) is bool(rule), "the file is named where its lines are"


def test_a_list_cannot_accept_its_own_faults_unless_told_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    loom, out = with_sheet(tmp_path), tmp_path / "out.json"
    run = ran(capsys, "check", loom, "--json", out)
    made = json.loads(out.read_text("utf-8"))
    assert (run.code, made["counts"]["hold"], made["counts"]["accepted"]) == (1, 1, 0)
    aside = [row for row in made["read"]["rows_set_aside"] if row["sheet"] == "Accepted"]
    assert [(row["row"], row["reason"]) for row in aside][-1] == (3, OWN_FAULTS)
    assert "the list cannot accept its own faults" in ran(capsys, "read", loom, "--all").out
    run = ran(capsys, "check", loom, "--json", out, "--concessions-in-list", *ON)
    made = json.loads(out.read_text("utf-8"))
    jsonschema.validate(made, schema())
    assert (run.code, made["counts"]["hold"], made["counts"]["accepted"]) == (0, 0, 1)
    assert made["concessions_from"] == {"on": "2026-11-25", "files": [], "in_list": True}
    read = made["read"]
    assert read["rows_used"] + len(read["rows_set_aside"]) == read["rows_seen"]
    assert not [row for row in read["rows_set_aside"] if row["reason"] == OWN_FAULTS]
    assert made["concessions"][0]["place"]["cell"] == "B3"


def test_the_list_is_not_taken_as_a_file_of_concessions(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    loom = with_sheet(tmp_path)
    assert_refused(ran(capsys, "check", loom, "--concessions", loom, *ON), "cannot accept its own faults", "--concessions-in-list")


def test_a_workbook_of_concessions_will_do(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "other").mkdir()
    kept = with_sheet(tmp_path / "other", "loom.csv.xlsx")
    run = ran(capsys, "check", csv_list(tmp_path / "loom.csv", FAULTY), "--concessions", kept, *ON)
    assert run.code == 0


def test_a_fault_of_the_file_ends_the_run_before_anything_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    loom, file = csv_list(tmp_path / "loom.csv", FAULTY), accepted(tmp_path, CONCESSIONS.replace("accepted = 2\n", ""))
    before = contents(tmp_path)
    run = ran(capsys, "check", loom, "--concessions", file, *ON, "--json", tmp_path / "out.json")
    assert run.code == 2
    assert "line 4: what 'one-wire-per-cavity' finds about cavity ECU 3 is measured" in run.err
    assert "for example 2" in run.err
    assert contents(tmp_path) == before


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--on", "2026-11-25"), ("--on", "--concessions")),
        (("--concessions", ""), ("--concessions: expected a name",)),
        (("--concessions", "none.toml", "--on", "soon"), ("--on soon: expected a date",)),
    ],
)
def test_options_that_cannot_be_used_are_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], words: tuple[str, ...]
) -> None:
    assert_refused(ran(capsys, "check", csv_list(tmp_path / "loom.csv", CLEAN), *arguments), *words)


def test_the_file_of_concessions_is_never_written_to(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    loom, file = csv_list(tmp_path / "loom.csv", FAULTY), accepted(tmp_path)
    assert_refused(ran(capsys, "check", loom, "--concessions", file, *ON, "--json", file), "--json", "never written to")


def test_from_python(tmp_path: Path) -> None:
    loom = csv_list(tmp_path / "loom.csv", FAULTY)
    day = datetime.date(2026, 11, 25)
    assert harnessdrc.check_lists([loom], concessions=accepted(tmp_path), on=day).count("hold") == 0
    assert harnessdrc.check_lists([with_sheet(tmp_path)], concessions_in_list=True, on=day).count("hold") == 0
    assert harnessdrc.check_lists([loom]).count("hold") == 1
