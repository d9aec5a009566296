"""The comparison on the terminal, in the workbook and as JSON: what is told, what is counted, what is made harmless."""

from __future__ import annotations

import dataclasses
import io
import json

import jsonschema
import openpyxl
import pytest
from rich.console import Console

from harnessdrc.comparison import (
    ColumnChange,
    Comparison,
    FieldChange,
    FindingChange,
    IssueAccount,
    ObjectChange,
    OffsetChange,
    SizeTotal,
    Total,
)
from harnessdrc.findings import Mark
from harnessdrc.places import Place
from harnessdrc.render.compare_json import compare_schema, comparison_json
from harnessdrc.render.compare_workbook import comparison_workbook
from harnessdrc.render.console_compare import compare_summary, edit_counts, print_comparison
from harnessdrc.results import OffsetLine, ReportedFinding, ReserveLine, SourceFile


def account(file: str, **counts: int) -> IssueAccount:
    known = {"hold": 0, "query": 0, "note": 0, "accepted": 0, "undecided": 0} | counts
    return IssueAccount((SourceFile(file, "a" * 64),), "3f9a01bc22ee", 3, 0, 0, **known, crashed=())


NOTHING = Comparison("0", "engine-loom", "1", account("a.xlsx"), account("b.xlsx"))


def at(cell: str, file: str = "a.xlsx") -> Place:
    return Place(file, "Wires", cell)


def wire(name: str, *fields: FieldChange) -> ObjectChange:
    return ObjectChange("wire", "changed", name, name, at("A2"), at("A3", "b.xlsx"), fields)


RESIZED = FieldChange("resized", "Size", "0.5 mm²", "0.75 mm²", at("G2"), at("G3", "b.xlsx"))
MOVED = FieldChange("moved", "To", "STUD1", None, at("D2"), at("D3", "b.xlsx"))


def finding(measured: float | None, concession: str | None = None) -> ReportedFinding:
    marks = (Mark(at("G2"), "size"),)
    return ReportedFinding("wire-current", "wire.current", "hold", ("wire", "W1"), "Wire W1 carries too much.", "", measured, 100.0, "%", marks, {}, None, concession, "0" * 16)


def offset(peak_mv: float) -> OffsetLine:
    reserve = ReserveLine("ring of W1 on STUD1", "W1", 12.34, "idle", None)
    return OffsetLine(("component", "CLT"), "temperature reading", "ECU", -50.0, 50.0, (1.0,), (peak_mv,), (2.0,), (9.0,), (), (reserve,), 0)


FULL = dataclasses.replace(
    NOTHING,
    objects=(wire("W1", RESIZED, MOVED), ObjectChange("fuse", "added", None, "F9", None, at("A9", "b.xlsx"), (FieldChange("added", "Rating", None, "10 A", None, at("B9", "b.xlsx")),))),
    columns=(ColumnChange("added", "Length", 12, at("H1", "b.xlsx")),),
    findings=(FindingChange("worse", finding(110.0), finding(164.0)), FindingChange("same", finding(None), finding(None, "until 2027-01-01, A. Fitter"))),
    states=("idle",),
    offsets=(OffsetChange(offset(10.0), offset(60.0), 0.2, 1.2), OffsetChange(None, offset(1.0), None, 0.02)),
    totals=(Total("length", "m", 2.5, 1.75, 0, 1),),
    sizes=(SizeTotal("0.5 mm²", 3, 2, 2.5, 1.75),),
    remarks=("A remark.",),
)  # fmt: skip


def printed(comparison: Comparison, *outputs: str, width: int = 400) -> str:
    out = io.StringIO()
    print_comparison(comparison, Console(file=out, width=width, soft_wrap=True, color_system=None), outputs)
    return out.getvalue()


def test_the_console_tells_each_change_with_its_cells_in_both_issues() -> None:
    text = printed(FULL, "b.comparison.xlsx")
    assert " W1  moved, resized: Size 0.5 mm² → 0.75 mm²; To STUD1 → not given  [Wires G2, D2 → Wires G3, D3]" in text
    assert " fuse F9  added: Rating 10 A  [new Wires A9]" in text
    assert "Only the new issue has the column 'Length' (filled in for 12 wires)." in text
    assert "110 % → 164 %" in text and "(0 new, 1 worse, 0 gone, 0 better, 1 as before)" in text
    assert "CLT  temperature reading: 10 mV (idle, 20 % of the limit) → 60 mV (idle, 120 % of the limit); weakest joint ring of W1 on STUD1 +12.3 mΩ" in text
    assert "not there → 1 mV" in text
    assert "length 2.50 → 1.75 m (not known of 0 → 1 wire)" in text
    assert "A remark." in text and "Written: b.comparison.xlsx" in text
    assert text.splitlines()[-1] == compare_summary(FULL)


def test_what_is_too_much_for_a_terminal_is_counted() -> None:
    many = dataclasses.replace(NOTHING, objects=tuple(wire(f"W{n}", RESIZED) for n in range(55)), findings=(FindingChange("new", None, finding(2)),) * 23)
    text = printed(many)
    assert text.count("resized: Size") == 40 and "… and 15 more in the workbook" in text
    assert "… and 3 more in the workbook" in text
    assert "WIRES: 55  (55 resized)" in text


def test_counts_by_what_happened() -> None:
    assert edit_counts(FULL) == "1 moved, 1 resized"
    assert FULL.count("added", "fuse") == 1 and FULL.count("added") == 0


def test_no_difference_is_said_and_nothing_else() -> None:
    lines = printed(NOTHING).split("\n")
    assert lines[0].startswith("a.xlsx (issue 3f9a01bc22ee) → b.xlsx")
    assert [line for line in lines[1:] if line] == ["No difference: the same list, and the rules say the same of it."]


@pytest.mark.parametrize(
    ("part", "differs"),
    [
        ({"objects": FULL.objects}, True), ({"columns": FULL.columns}, True),
        ({"findings": FULL.findings[:1]}, True), ({"findings": FULL.findings[1:]}, False),
        ({"remarks": ("x",)}, False),
    ],
)  # fmt: skip
def test_what_counts_as_a_difference(part: dict[str, object], differs: bool) -> None:
    assert dataclasses.replace(NOTHING, **part).differs is differs  # type: ignore[arg-type]


def test_a_rule_that_failed_is_told_with_its_issue() -> None:
    crashed = dataclasses.replace(NOTHING, new=NOTHING.new._replace(crashed=("two-ends: ZeroDivisionError",)))
    assert crashed.crashed and not NOTHING.crashed
    assert "On the new issue rule two-ends: ZeroDivisionError" in printed(crashed)


def test_json_fits_its_schema_also_with_what_json_lacks() -> None:
    hostile = dataclasses.replace(
        FULL, remarks=("half \ud800 character",), findings=(FindingChange("new", None, finding(float("inf"))),),
        totals=(Total("length", "m", 1.0, 2.0, 0, 0),),
    )  # fmt: skip
    for comparison in (NOTHING, FULL, hostile):
        text = comparison_json(comparison)
        text.encode("utf-8")
        jsonschema.validate(json.loads(text), compare_schema())
    told = json.loads(comparison_json(hostile))
    assert told["findings"][0]["after"]["measured"] is None and told["remarks"] == ["half \ufffd character"]
    after = json.loads(comparison_json(FULL))["offsets"][0]["after"]
    assert (after["weakest_joint"]["mohm"], after["share_of_limit"], after["worst_state"]) == (12.34, 1.2, "idle")


def test_the_schema_refuses_what_is_not_in_it() -> None:
    told = json.loads(comparison_json(FULL))
    told["changes"][0]["edit"] = "painted"
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(told, compare_schema())


def test_the_workbook_has_every_field_and_no_formula() -> None:
    evil = wire("=1+1", FieldChange("changed", "Note", None, "=cmd|x\x1b[31m", at("A1"), at("B1", "b.xlsx")))
    comparison = dataclasses.replace(FULL, objects=(*FULL.objects, evil))
    book = openpyxl.load_workbook(io.BytesIO(comparison_workbook(comparison)))
    assert book.sheetnames == ["Comparison", "Wires", "Other changes", "Findings", "Offsets", "Sizes"]
    rows = list(book["Wires"].iter_rows(min_row=4, values_only=True))
    assert [(row[0], row[2], row[3], row[4], row[5], row[6], row[7], row[8]) for row in rows[:2]] == [
        ("wire", "W1", "resized", "Size", "0.5 mm²", "0.75 mm²", "Wires G2", "Wires G3"),
        ("wire", "W1", "moved", "To", "STUD1", None, "Wires D2", "Wires D3"),
    ]
    assert all(cell.data_type != "f" for sheet in book for line in sheet.iter_rows() for cell in line)
    found = [row for row in book["Findings"].iter_rows(values_only=True) if row[0] == "worse"]
    assert found[0][5:8] == (110, 164, 100)
    offsets = [row for row in book["Offsets"].iter_rows(values_only=True) if row[0] == "CLT"]
    assert offsets[0][5:7] == (10, 60) and offsets[0][10:12] == (0.2, 1.2)


def test_the_workbook_is_the_same_each_time() -> None:
    assert comparison_workbook(FULL) == comparison_workbook(FULL)
    assert openpyxl.load_workbook(io.BytesIO(comparison_workbook(NOTHING))).sheetnames == ["Comparison"]


def test_nothing_says_that_a_loom_is_safe() -> None:
    for text in (printed(FULL), printed(NOTHING), comparison_json(FULL)):
        assert "safe" not in text
