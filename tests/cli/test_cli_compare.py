"""``compare``: its outputs, its exit codes, what it says, what it never writes over."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import openpyxl
import pytest
from cli_helpers import CLEAN, FAULTY, HEADINGS, SAMPLES, assert_refused, contents, csv_list, process, ran, workbook

from harnessdrc.api import compare_lists
from harnessdrc.render.compare_json import compare_schema


@pytest.fixture
def issues(tmp_path: Path) -> tuple[Path, Path]:
    """A list without a fault, and its next issue with one."""
    return workbook(tmp_path / "loom_a.xlsx"), workbook(tmp_path / "loom_b.xlsx", FAULTY)


def test_two_issues_that_differ_leave_with_1(issues: tuple[Path, Path], capsys: pytest.CaptureFixture[str]) -> None:
    result = ran(capsys, "compare", *issues)
    assert (result.code, result.err) == (1, "")
    assert "W4  added" in result.out and "new Wire list A5" in result.out
    assert "Cavity ECU 3 holds 2 wires" in result.out
    assert result.out.splitlines()[-1].startswith("1 wire and 0 other objects differ; findings: 1 new")
    assert (issues[1].parent / "loom_b.comparison.xlsx").is_file()


def test_the_same_list_in_another_order_leaves_with_0(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    old, new = workbook(tmp_path / "a.xlsx"), csv_list(tmp_path / "b.csv", CLEAN[::-1])
    result = ran(capsys, "compare", old, new)
    assert (result.code, result.err) == (0, "")
    assert result.out.splitlines()[-1] == "No difference: the same list, and the rules say the same of it."


def test_a_list_that_cannot_be_used_leaves_with_2_and_writes_nothing(
    issues: tuple[Path, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = contents(tmp_path)
    assert_refused(ran(capsys, "compare", issues[0], tmp_path / "missing.xlsx", "--out", tmp_path / "out"), "missing.xlsx")
    assert contents(tmp_path) == before


def test_the_json_fits_its_schema_and_says_what_changed(issues: tuple[Path, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "out" / "c.json"
    assert ran(capsys, "compare", *issues, "--out", target.parent, "--json", target).code == 1
    told = json.loads(target.read_text(encoding="utf-8"))
    jsonschema.validate(told, compare_schema())
    assert told["differs"] and [(c["kind"], c["edit"], c["new_name"]) for c in told["changes"]] == [("wire", "added", "W4")]
    assert told["old"]["inputs"][0]["file"] == "loom_a.xlsx"
    assert [f["trend"] for f in told["findings"] if f["rule"] == "one-wire-per-cavity"] == ["new"]


def test_json_to_standard_output_stands_alone(issues: tuple[Path, Path], capsys: pytest.CaptureFixture[str]) -> None:
    result = ran(capsys, "compare", *issues, "--json", "-")
    assert result.code == 1 and json.loads(result.out)["differs"]
    assert "W4  added" in result.err


@pytest.mark.parametrize("name", ["hill_climb_single_seater", "rescue_boat_v8"])
def test_whole_samples_give_the_same_bytes_each_time(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lists = (SAMPLES / "clean" / f"{name}.xlsx", SAMPLES / "faulty" / f"{name}.xlsx")
    for out in ("one", "two"):
        assert ran(capsys, "compare", *lists, "--out", tmp_path / out, "--json", tmp_path / out / "c.json").code == 1
    assert contents(tmp_path / "one") == contents(tmp_path / "two")
    told = json.loads((tmp_path / "one" / "c.json").read_text(encoding="utf-8"))
    jsonschema.validate(told, compare_schema())
    book = openpyxl.load_workbook(tmp_path / "one" / f"{name}.comparison.xlsx")
    assert book.sheetnames == ["Comparison", "Wires", "Other changes", "Findings", "Offsets", "Sizes"]
    rows = sum(1 for row in book["Wires"].iter_rows(min_row=4, values_only=True) if row[0] == "wire")
    assert rows == sum(max(len(c["fields"]), 1) for c in told["changes"] if c["kind"] == "wire")


def test_a_folder_is_one_issue_and_what_was_written_into_it_is_left_out(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name, rows in (("old", CLEAN), ("new", FAULTY)):
        folder = tmp_path / name
        folder.mkdir()
        csv_list(folder / "wires.csv", rows)
        (folder / "pins.csv").write_text("Connector,Cavity,Signal\nECU,1,Lamp\n", encoding="utf-8")
        (folder / "notes.md").write_text("not a list", encoding="utf-8")
        workbook(folder / "wires.redline.xlsx", FAULTY)
        workbook(folder / "~$wires.xlsx")
    result = ran(capsys, "compare", tmp_path / "old", tmp_path / "new")
    assert result.code == 1 and "1 wire and 0 other objects differ" in result.out
    assert (tmp_path / "wires.comparison.xlsx").is_file(), "beside the folder, not in it"


def test_a_folder_without_a_list_is_refused(issues: tuple[Path, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "empty").mkdir()
    assert_refused(ran(capsys, "compare", issues[0], tmp_path / "empty"), "holds no list", ".xlsx")


@pytest.mark.parametrize("which", [0, 1])
def test_lists_are_never_written_over(which: int, issues: tuple[Path, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = contents(tmp_path)
    assert_refused(ran(capsys, "compare", *issues, "--json", issues[which]), "never written to")
    trap = list(issues)
    trap[which] = workbook(tmp_path / "loom_b.comparison.xlsx")
    assert ran(capsys, "compare", *trap, "--json", tmp_path / "x.comparison.xlsx").code == 2
    trap[which].unlink()
    assert contents(tmp_path) == before


def test_an_issue_that_bears_the_name_of_the_output_is_kept(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    new = csv_list(tmp_path / "loom.csv", FAULTY)
    old = workbook(tmp_path / "loom.comparison.xlsx")
    before = contents(tmp_path)
    assert_refused(ran(capsys, "compare", old, new), "loom.comparison.xlsx", "never written to", "--out")
    assert contents(tmp_path) == before


def test_texts_of_the_lists_are_never_formulas(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    evil = ("=HYPERLINK(\"x\")", "ECU", "9", "Dash plug", "9", "BU", "0.5")
    ran(capsys, "compare", csv_list(tmp_path / "a.csv"), csv_list(tmp_path / "b.csv", (*CLEAN, evil), HEADINGS))
    book = openpyxl.load_workbook(tmp_path / "b.comparison.xlsx")
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row if cell.value is not None]
    assert any("HYPERLINK" in str(cell.value) for cell in cells)
    assert all(cell.data_type != "f" for cell in cells)


def test_a_pipe_gets_plain_text(issues: tuple[Path, Path]) -> None:
    done = process("compare", *issues)
    assert done.returncode == 1 and b"\x1b" not in done.stdout
    text = done.stdout.decode()
    assert "on hold 0 → 1" in text and " safe" not in text


def test_the_issues_are_told_apart_by_their_marks(issues: tuple[Path, Path], capsys: pytest.CaptureFixture[str]) -> None:
    first = ran(capsys, "compare", *issues).out.splitlines()[0]
    marks = [part.split(")")[0] for part in first.split("(issue ")[1:]]
    assert len(set(marks)) == 2 and all(len(mark) == 12 for mark in marks)


def test_given_values_and_ruleset_count_for_both(issues: tuple[Path, Path], capsys: pytest.CaptureFixture[str]) -> None:
    assert ran(capsys, "compare", *issues, "--given", "no_such_value=3").code == 2
    assert ran(capsys, "compare", *issues, "--ruleset", "no-such-rules").code == 2


def test_each_issue_may_have_its_own_mapping(issues: tuple[Path, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    maps = [tmp_path / f"{name}.toml" for name in ("old", "new")]
    for source, target in zip(issues, maps, strict=True):
        assert ran(capsys, "read", source, "--write-mapping", target).code == 0
    assert ran(capsys, "compare", *issues, "--mapping", maps[1]).code == 2, "it names a file that the old issue has not"
    told = ran(capsys, "compare", *issues, "--mapping", maps[1], "--old-mapping", maps[0])
    assert told.code == 1 and "1 wire and 0 other objects differ" in told.out


def test_from_python_the_same_comparison(issues: tuple[Path, Path]) -> None:
    comparison = compare_lists([issues[0]], [issues[1]])
    assert [(change.edit, change.name) for change in comparison.objects] == [("added", "W4")]


def test_concessions_count_for_both_issues(issues: tuple[Path, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    accepted = tmp_path / "accepted.toml"
    accepted.write_text(
        '[[concession]]\nrule = "one-wire-per-cavity"\nsubject = "ECU 3"\nreason = "both lamps on one contact"\n'
        'by = "the reviewer"\nuntil = 2027-03-31\naccepted = 2\n', encoding="utf-8",
    )  # fmt: skip
    asked = ("compare", *issues, "--concessions", accepted, "--json", "-", "--on")
    told = json.loads(ran(capsys, *asked, "2027-01-15").out)
    jsonschema.validate(told, compare_schema())
    assert (told["new"]["counts"]["hold"], told["new"]["counts"]["accepted"]) == (0, 1)
    (found,) = [f for f in told["findings"] if f["rule"] == "one-wire-per-cavity"]
    assert not [f for f in told["findings"] if f["check"].startswith("concession.")]
    assert found["trend"] == "new" and "the reviewer" in found["after"]["concession"]
    assert json.loads(ran(capsys, *asked, "2027-04-01").out)["new"]["counts"]["hold"] == 1, "it has expired"
    assert_refused(ran(capsys, *asked, "soon"), "--on soon", "2027-03-31")
