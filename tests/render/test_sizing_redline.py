"""The sheet Wire sizes, as read back."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import openpyxl
import pytest
import xlsxwriter
from induction_made import USUAL as INDUCTION
from network_made import network, offset
from openpyxl.worksheet.worksheet import Worksheet
from sizing_made import CLEAN, EXTREME, USUAL, bundle, fuse, many, result, wire

from harnessdrc.render.redline import RedlineSource, SheetRows, write_redline
from harnessdrc.results import SizingOutcome

NAME = "Wire sizes"


@pytest.fixture
def source(tmp_path: Path) -> RedlineSource:
    book = xlsxwriter.Workbook(tmp_path / "loom.xlsx")
    sheet = book.add_worksheet("Wire list")
    for row in range(12):
        sheet.write_row(row, 0, [f"W{row}", "ECU", "COIL1"])
    book.close()
    return RedlineSource("loom.xlsx", tmp_path / "loom.xlsx", None)


def book(source: RedlineSource, outcome: SizingOutcome, **more: Any) -> openpyxl.Workbook:
    folder = source.path.parent / "out"
    folder.mkdir(exist_ok=True)
    [path] = write_redline(result(outcome, file=source.file, **more), [source], folder)
    return openpyxl.load_workbook(path)


def sheet(source: RedlineSource, outcome: SizingOutcome) -> Worksheet:
    page = book(source, outcome)[NAME]
    assert isinstance(page, Worksheet)
    return page


def rows(page: Worksheet) -> list[list[Any]]:
    return [list(row) for row in page.iter_rows(values_only=True)]


def below(page: Worksheet, section: str) -> list[list[Any]]:
    """Rows below the headings of a section, up to the next one."""
    every = rows(page)
    first = next(at for at, row in enumerate(every) if str(row[0]).startswith(section))
    found = []
    for row in every[first + 2 :]:
        if all(value is None for value in row[1:]):
            break
        found.append(row)
    return found


def test_the_sheet_is_added_only_where_there_is_something(source: RedlineSource) -> None:
    assert book(source, SizingOutcome()).sheetnames == ["Wire list", "Findings", "Assumptions", "Coverage"]
    assert book(source, SizingOutcome(not_worked_out=("No wire.",))).sheetnames[2] == NAME
    names = book(source, USUAL, network=network([offset("COIL1", 476.0)]), induction=INDUCTION).sheetnames
    assert names[1:] == ["Findings", "Ground offsets", "Loops and triggers", "Currents", NAME, "Assumptions", "Coverage"]


def test_a_list_with_a_sheet_of_this_name_keeps_its_own(tmp_path: Path) -> None:
    (tmp_path / "loom.csv").write_text("x")
    source = RedlineSource("loom.csv", tmp_path / "loom.csv", [SheetRows(NAME, [["own"]])])
    made = book(source, USUAL)
    assert made[NAME]["A1"].value == "own"
    assert f"{NAME} (redline)" in made.sheetnames


def test_all_wires_with_those_too_small_first(source: RedlineSource) -> None:
    page = sheet(source, USUAL)
    assert page["A2"].value == (
        "29 wires: 3 too small, 1 may be too small, 23 could be smaller, 1 not known. "
        "2.1 kg of copper; 1.6 kg with the smallest sizes that do."
    )
    assert "measure on the bench" in str(page["A3"].value)
    assert "safe" not in str(page["A3"].value)
    assert [row[0] for row in rows(page)[4:33]] == ["W3", "W4", "W5", "W6", "W1", "W2", *(f"W{n}" for n in range(7, 30))]
    assert rows(page)[4] == [
        "W3", "0.5 mm²", 9.1, 13.65, "full load", 7.4, -0.187, "too small", "0.75 mm²", "18 AWG", "heating", 118, 105, 85, 12,
        0.4, 120, 9, 13.4, None, None, None, None, None, "Wire list A4", None,
    ]  # fmt: skip
    assert rows(page)[7][7] == "may be too small"
    assert rows(page)[7][25] == "insulation"
    w7 = rows(page)[10]
    assert w7[:8] == ["W7", None, 3, 4.5, "full load", None, None, "not known"]
    assert w7[25] == "size"
    assert rows(page)[11][6] is None  # 450 times what it carries
    assert page["Y5"].hyperlink is not None
    assert page["Y5"].hyperlink.location == "'Wire list'!A4"
    assert page.auto_filter.ref == "A4:Z33"
    assert page.freeze_panes == "B5"


def test_verdicts_are_told_apart_without_colour(source: RedlineSource) -> None:
    page = sheet(source, USUAL)
    looks = [(page.cell(row, 8).fill.patternType, page.cell(row, 8).border.left.style, page.cell(row, 8).font.bold) for row in (5, 8, 9)]
    assert looks == [("solid", "medium", True), ("lightUp", "medium", True), (None, "thin", False)]


def test_fuses_with_those_that_leave_a_wire_uncovered_first(source: RedlineSource) -> None:
    page = sheet(source, USUAL)
    found = below(page, "FUSES (5, 3 of them tight)")
    assert [row[0] for row in found] == ["F3", "F4", "F2", "F1", "F5"]
    assert found[0] == [
        "F3", 15, 9, 0.6, "full load", 11, 31, "wire, fault", "W22", 9, "W7 (0.75 mm²)", 4.1, "slow", "blade", None, None,
        "blue", None, None, None, None, None, None, None, None, None,
    ]  # fmt: skip
    assert found[1][6:13] == [33, "wire, fault", "W22", None, "W7 (0.75 mm²)", None, "may not open"]
    assert found[2][3] == 0.88
    assert found[3][7] is None
    assert found[3][24] == "Wire list A4"
    assert found[4][25] == "family"
    at = next(row[0].row for row in page.iter_rows() if row[0].value == "F3")
    assert [page.cell(row, 8).fill.patternType for row in (at, at + 1, at + 2, at + 3)] == ["solid", "solid", "lightUp", None]


def test_what_is_not_certain_of_a_fuse_is_hatched(source: RedlineSource) -> None:
    page = sheet(source, SizingOutcome((), (fuse("F1", allowed=9.0, lacking=("zone of W7",)),)))
    at = next(row[0].row for row in page.iter_rows() if row[0].value == "F1")
    assert page.cell(at, 8).value == "wire"
    assert page.cell(at, 8).fill.patternType == "lightUp"


def test_bundles_against_their_sleeves(source: RedlineSource) -> None:
    found = below(sheet(source, USUAL), "BUNDLES (4)")
    assert [(row[0], row[7]) for row in found] == [("BOOT", "does not fit"), ("HEAD", "tight"), ("TRUNK", None), ("TAIL", None)]
    assert found[2][:9] == ["TRUNK", 24, 11.8, 14, 0.843, 118, 85, None, 210]
    assert found[3][2:6] == [None] * 4
    assert found[3][25] == "size of wire W7"


def test_print_set_up(source: RedlineSource) -> None:
    page = sheet(source, CLEAN)
    assert page.page_setup.orientation == "landscape"
    assert str(page.page_setup.paperSize) == "9"
    assert page.page_setup.fitToHeight == 0
    assert not page.print_title_rows  # all wires stand on the first page
    long = sheet(source, many(300, 5, 5))
    assert long.print_title_rows == "$4:$4"
    fuses = next(row[0].row for row in long.iter_rows() if str(row[0].value).startswith("FUSES"))
    assert long.auto_filter.ref == "A4:Z304"
    assert fuses == 305


def test_a_table_that_does_not_fit_starts_a_page(source: RedlineSource) -> None:
    page = sheet(source, SizingOutcome(tuple(wire(f"W{n}") for n in range(35)), tuple(fuse(f"F{n}") for n in range(12)), (bundle("B"),)))
    breaks = {row.id + 1 for row in page.row_breaks.brk}
    assert {str(page.cell(row, 1).value).split(" ")[0] for row in breaks} == {"FUSES"}


def test_hard_names_and_numbers_do_no_harm(source: RedlineSource) -> None:
    page = sheet(source, EXTREME)
    every = rows(page)
    names = [row[0] for row in every]
    assert '<W & "1">' in names
    at = names.index("=1+1") + 1
    assert page.cell(at, 1).data_type in ("s", "inlineStr")
    assert "One thing <was> left out." in names


def test_without_wires_the_sheet_says_so(source: RedlineSource) -> None:
    page = sheet(source, SizingOutcome((), (fuse("F1"),)))
    assert page["A5"].value == "None that could be worked out."
    assert page.auto_filter.ref is None


def test_fifty_thousand_wires_take_little_time(source: RedlineSource) -> None:
    folder = source.path.parent / "out"
    folder.mkdir()
    outcome = result(many(50_000, 0, 0))
    start = time.process_time()
    [path] = write_redline(outcome, [source], folder)
    assert time.process_time() - start < 1.5
    page = openpyxl.load_workbook(path, read_only=True)[NAME]
    assert sum(1 for _ in page.iter_rows()) == 50_004


def test_the_sheet_is_the_same_each_time(source: RedlineSource) -> None:
    folder = source.path.parent / "out"
    folder.mkdir()
    [path] = write_redline(result(USUAL), [source], folder)
    first = path.read_bytes()
    write_redline(result(USUAL), [source], folder)
    assert path.read_bytes() == first
