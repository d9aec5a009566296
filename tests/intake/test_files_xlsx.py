"""Cells of .xlsx workbooks: every kind of value, at its true place, in every way files are written."""

from __future__ import annotations

import datetime
import io
import math
import tempfile
from pathlib import Path

import openpyxl
import pytest
import xlsxwriter
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
from openpyxl.cell.rich_text import CellRichText, TextBlock
from openpyxl.cell.text import InlineFont
from openpyxl.styles import PatternFill
from workbook_parts import MAIN, put, rows_xml, xlsx, xlsx_parts, zipped

from harnessdrc.errors import FileUnreadableError
from harnessdrc.intake.files import open_file
from harnessdrc.intake.grid import Grid, OpenedFile


def saved(book: openpyxl.Workbook, folder: Path, name: str = "loom.xlsx") -> OpenedFile:
    path = folder / name
    book.save(path)
    return open_file(path)


def only(opened: OpenedFile) -> Grid:
    (grid,) = opened.grids
    return grid


def at(grid: Grid, cell: str) -> object:
    row, column = openpyxl.utils.cell.coordinate_to_tuple(cell)
    return grid.rows[row - 1][column - 1]


def test_positions_are_those_of_the_sheet(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active["C4"] = "wire"
    book.active["E4"] = "size"
    book.active["B9"] = "W1"
    book.active["AB2"] = "far right"
    grid = only(saved(book, tmp_path))
    assert len(grid.rows) == 9
    assert grid.rows[0] == [] and grid.rows[4] == []
    assert grid.rows[1] == [None] * 27 + ["far right"]
    assert grid.rows[3] == [None, None, "wire", None, "size"]
    assert grid.rows[8] == [None, "W1"]


VALUES = {
    "text": ("ECU", "ECU"),
    "padded text": ("  ECU ", "  ECU "),
    "white space": ("  \t ", None),
    "hard space": ("\u00a0", None),
    "empty text": ("", None),
    "line break": ("A\nB", "A\nB"),
    "number as text": ("007", "007"),
    "whole": (12, 12),
    "whole float": (12.0, 12),
    "negative whole": (-3.0, -3),
    "fraction": (0.35, 0.35),
    "beyond exact": (1e300, 1e300),
    "true": (True, True),
    "false": (False, False),
    "moment": (datetime.datetime(2024, 5, 6, 7, 8, 9), datetime.datetime(2024, 5, 6, 7, 8, 9)),
    "day": (datetime.date(2024, 5, 6), datetime.date(2024, 5, 6)),
    "time": (datetime.time(7, 8), datetime.time(7, 8)),
    "duration": (datetime.timedelta(hours=30), datetime.timedelta(hours=30)),
    "error": ("#REF!", "#REF!"),
    "accents": ("Zündung Ω mm²", "Zündung Ω mm²"),
    "decomposed accents": ("Zu\u0308ndung", "Zu\u0308ndung"),
    "inch mark": ("18”", "18”"),
    "markup": ('<a> & "b"', '<a> & "b"'),
    "beyond the first plane": ("⚡🔌", "⚡🔌"),
}


@pytest.mark.parametrize("name", VALUES)
def test_values(tmp_path: Path, name: str) -> None:
    written, expected = VALUES[name]
    book = openpyxl.Workbook()
    book.active["A1"] = "keep"
    book.active["B2"] = written
    book.active["C2"] = "keep"
    value = at(only(saved(book, tmp_path)), "B2")
    assert value == expected and type(value) is type(expected)


def test_every_error_value_keeps_its_text(tmp_path: Path) -> None:
    errors = ["#REF!", "#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#VALUE!"]
    book = xlsxwriter.Workbook(tmp_path / "loom.xlsx")
    sheet = book.add_worksheet()
    for row, error in enumerate(errors):
        sheet.write_formula(row, 2, "=1/0", None, error)
    book.close()
    grid = only(open_file(tmp_path / "loom.xlsx"))
    assert grid.rows == [[None, None, error] for error in errors]
    assert grid.formulas_without_value == ()


def test_rich_text_phonetic_runs_and_shared_strings(tmp_path: Path) -> None:
    sheet = rows_xml('<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="s"><v>1</v></c></row>')
    shared = (
        '<si><r><t>coil</t></r><r><t xml:space="preserve"> feed</t></r>'
        '<rPh sb="0" eb="1"><t>KOIRU</t></rPh></si>'
        "<si><t>a&amp;b&#10;c</t></si>"
    )
    grid = only(open_file(put(tmp_path, "loom.xlsx", xlsx(sheet, shared=shared))))
    assert grid.rows == [["coil feed", "a&b\nc"]]
    book = openpyxl.Workbook(write_only=False)
    book.active["A1"] = CellRichText("sensor ", TextBlock(InlineFont(b=True), "ground"))
    assert at(only(saved(book, tmp_path)), "A1") == "sensor ground"


def test_cells_and_rows_without_addresses(tmp_path: Path) -> None:
    sheet = rows_xml(
        '<row><c t="inlineStr"><is><t>wire</t></is></c><c><v>1</v></c></row>',
        '<row><c/><c t="e"><v>#N/A</v></c><c><f>B1</f></c></row>',
    )
    grid = only(open_file(put(tmp_path, "loom.xlsx", xlsx(sheet))))
    assert grid.rows == [["wire", 1], [None, "#N/A"]]
    assert grid.formulas_without_value == ("C2",)


@pytest.mark.parametrize("form", ["plain", "prefixed", "single quotes", "other order", "new lines", "pretty"])
def test_the_same_cells_however_the_xml_is_written(tmp_path: Path, form: str) -> None:
    sheet = rows_xml(
        '<row r="2"><c r="B2" t="e"><v>#REF!</v></c><c r="C2"><f>B2+1</f></c>'
        '<c r="D2" t="str"><f>""</f><v></v></c><c r="E2"><f>1+1</f><v>2</v></c></row>'
    )
    whole = f'<?xml version="1.0"?><worksheet xmlns="{MAIN}">{sheet}</worksheet>'
    if form == "prefixed":
        for tag in ("worksheet", "sheetData", "row", "c", "v", "f"):
            whole = whole.replace(f"<{tag} ", f"<x:{tag} ").replace(f"<{tag}>", f"<x:{tag}>")
            whole = whole.replace(f"</{tag}>", f"</x:{tag}>")
        whole = whole.replace("xmlns=", "xmlns:x=")
    elif form == "single quotes":
        whole = whole.replace('"', "'").replace("''", '""')
    elif form == "other order":
        whole = whole.replace('<c r="B2" t="e">', '<c t="e" r="B2">')
    elif form == "new lines":
        whole = whole.replace("<c r", "<c\nr")
    elif form == "pretty":
        whole = whole.replace("><", ">\n  <")
    grid = only(open_file(put(tmp_path, "loom.xlsx", zipped(xlsx_parts(whole)))))
    assert grid.rows[1][:2] == [None, "#REF!"] and grid.rows[1][4] == 2
    assert grid.formulas_without_value == ("C2",)


def test_formulas_without_saved_results_are_named(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(["wire", "length", "total"])
    for row in range(2, 40):
        sheet.append([f"W{row}", 1.5, f"=B{row}*2"])
    grid = only(saved(book, tmp_path))
    assert grid.formulas_without_value == tuple(f"C{row}" for row in range(2, 40))
    assert all(row[2:] == [] for row in grid.rows[1:])


def test_saved_results_of_formulas_are_read(tmp_path: Path) -> None:
    book = xlsxwriter.Workbook(tmp_path / "loom.xlsx")
    sheet = book.add_worksheet()
    sheet.write_formula("A1", '="W"&1', None, "W1")
    sheet.write_formula("B1", "=IF(2>1,2.5,0)", None, 2.5)
    sheet.write_formula("C1", "=TRUE", None, True)
    sheet.write_array_formula("D1:D2", "{=ROW(A1:A2)}", None, 1)
    book.close()
    grid = only(open_file(tmp_path / "loom.xlsx"))
    assert grid.rows[0] == ["W1", 2.5, True, 1]
    assert grid.formulas_without_value == ()


def test_shared_formulas(tmp_path: Path) -> None:
    sheet = rows_xml(
        '<row r="1"><c r="A1"><f t="shared" ref="A1:A3" si="0">B1*2</f><v>4</v></c></row>',
        '<row r="2"><c r="A2"><f t="shared" si="0"/><v>6</v></c></row>',
        '<row r="3"><c r="A3"><f t="shared" si="0"/></c></row>',
    )
    grid = only(open_file(put(tmp_path, "loom.xlsx", xlsx(sheet))))
    assert grid.rows == [[4], [6]] and grid.formulas_without_value == ("A3",)


@pytest.mark.parametrize("value", ["NaN", "inf", "-inf", "1e999"])
def test_numbers_that_are_none_are_text(tmp_path: Path, value: str) -> None:
    sheet = rows_xml(f'<row r="1"><c r="A1"><v>{value}</v></c><c r="B1"><v>1</v></c></row>')
    found = only(open_file(put(tmp_path, "loom.xlsx", xlsx(sheet)))).rows[0][0]
    assert isinstance(found, str)


def test_merged_areas(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active["B3"] = "Engine loom"
    book.active.merge_cells("B3:D3")
    book.active["A5"] = "X1"
    book.active.merge_cells("A5:A9")
    assert set(only(saved(book, tmp_path)).merged) == {(3, 1, 3, 3), (5, 0, 9, 0)}


def test_hidden_and_very_hidden_sheets_are_read_and_flagged(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    for name, state in (("shown", "visible"), ("old", "hidden"), ("secret", "veryHidden")):
        sheet = book.create_sheet(name)
        sheet["A1"] = name
        sheet.sheet_state = state
    del book["Sheet"]
    grids = saved(book, tmp_path).grids
    assert [(grid.sheet, grid.hidden) for grid in grids] == [
        ("shown", False),
        ("old", True),
        ("secret", True),
    ]
    assert [grid.rows for grid in grids] == [[["shown"]], [["old"]], [["secret"]]]


def test_sheet_names_are_unescaped(tmp_path: Path) -> None:
    names = ("Fuses &amp; relays", "Ω &lt;1&gt;", "a&#39;b")
    sheets = [rows_xml(f'<row r="1"><c r="A1"><v>{i}</v></c><c r="B1" t="e"><v>#N/A</v></c></row>') for i in (1, 2, 3)]
    grids = open_file(put(tmp_path, "loom.xlsx", xlsx(*sheets, names=names))).grids
    assert [grid.sheet for grid in grids] == ["Fuses & relays", "Ω <1>", "a'b"]
    assert [grid.rows for grid in grids] == [[[i, "#N/A"]] for i in (1, 2, 3)]


def test_pictures_charts_and_chart_sheets_flag_drawings(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active["A1"] = 1
    chart = openpyxl.chart.LineChart()
    book.active.add_chart(chart)
    book.create_sheet("plain")["A1"] = "x"
    book.create_chartsheet("chart")
    commented = book.create_sheet("commented")
    commented["A1"] = "x"
    commented["A1"].comment = openpyxl.comments.Comment("a note", "builder")
    flags = {grid.sheet: grid.drawings for grid in saved(book, tmp_path).grids}
    assert flags == {"Sheet": True, "plain": False, "chart": True, "commented": False}


def test_styled_empty_cells_do_not_count(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active["A1"] = "wire"
    book.active["XFD1048576"].fill = PatternFill("solid", fgColor="FF0000")
    assert only(saved(book, tmp_path)).rows == [["wire"]]


def test_parts_named_in_other_case_or_with_backslashes(tmp_path: Path) -> None:
    sheet = rows_xml('<row r="1"><c r="A1"><v>1</v></c></row>')
    parts = {name.replace("worksheets", "Worksheets"): part for name, part in xlsx_parts(sheet).items()}
    assert only(open_file(put(tmp_path, "loom.xlsx", zipped(parts)))).rows == [[1]]


def test_dates_counted_from_1904(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.epoch = openpyxl.utils.datetime.CALENDAR_MAC_1904
    book.active["A1"] = datetime.date(2024, 5, 6)
    assert at(only(saved(book, tmp_path)), "A1") == datetime.date(2024, 5, 6)


def test_units_in_number_formats_are_no_dates(tmp_path: Path) -> None:
    buffer = io.BytesIO()
    book = xlsxwriter.Workbook(buffer)
    sheet = book.add_worksheet()
    for row, form in enumerate(('0.0 "mm²"', '0.0 "m"', '0.0 "days"', "0.0\\m", "[Red]0.0", "0.0_d", '0.0 "h"')):
        sheet.write_number(row, 0, 1.5, book.add_format({"num_format": form}))
    book.close()
    rows = only(open_file(put(tmp_path, "loom.xlsx", buffer.getvalue()))).rows
    assert rows == [[1.5]] * 7


@pytest.mark.parametrize("address", ["A0", "A1048577", "XFE1", "ZZZZZZZZ99999999999", "AAAA1"])
def test_cells_outside_any_sheet_are_refused(tmp_path: Path, address: str) -> None:
    sheet = rows_xml(f'<row r="1"><c r="{address}"><v>1</v></c></row>')
    with pytest.raises(FileUnreadableError, match="damaged"):
        open_file(put(tmp_path, "loom.xlsx", xlsx(sheet)))


CELL_TEXT = (
    st.text(max_size=12)
    .map(lambda text: ILLEGAL_CHARACTERS_RE.sub("", text))
    .filter(
        lambda text: (
            not text.startswith("=")
            and "\r" not in text
            and "_x" not in text
            and not any(0xD800 <= ord(c) <= 0xDFFF or ord(c) in (0xFFFE, 0xFFFF) for c in text)
            and text not in openpyxl.cell.cell.ERROR_CODES
        )
    )
)
CELL = st.one_of(
    st.none(),
    CELL_TEXT,
    st.integers(-(2**40), 2**40),
    st.floats(allow_nan=False, allow_infinity=False, width=32),
    st.booleans(),
    st.datetimes(datetime.datetime(1950, 1, 1), datetime.datetime(2100, 1, 1)).map(
        lambda moment: moment.replace(microsecond=0, minute=moment.minute | 1)
    ),
)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(CELL, max_size=6), min_size=1, max_size=6), st.integers(0, 3), st.integers(0, 30))
def test_what_another_library_writes_is_read_back(rows: list[list[object]], down: int, right: int) -> None:
    book = openpyxl.Workbook()
    book.active.cell(1, 1, "corner")
    for i, row in enumerate(rows):
        for j, value in enumerate(row):
            if value is not None:
                book.active.cell(2 + down + i, 2 + right + j, value)
    with tempfile.TemporaryDirectory() as folder:
        grid = only(saved(book, Path(folder)))
    for i, row in enumerate(rows):
        for j, value in enumerate(row):
            line = grid.rows[1 + down + i] if 1 + down + i < len(grid.rows) else []
            found = line[1 + right + j] if 1 + right + j < len(line) else None
            if isinstance(value, str) and not value.strip():
                assert found is None
            elif isinstance(value, float):
                assert isinstance(found, int | float) and math.isclose(found, value, rel_tol=1e-12)
            else:
                assert found == value and type(found) is type(value)
