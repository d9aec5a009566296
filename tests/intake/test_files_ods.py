"""Cells of .ods workbooks, written by a library and by hand where that library cannot."""

from __future__ import annotations

import datetime
import tempfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import Table, TableCell, TableRow
from odf.text import P
from workbook_parts import ods, ods_parts, put, text_cell, zipped

from harnessdrc.errors import FileUnreadableError, NothingToReadError
from harnessdrc.intake.files import open_file
from harnessdrc.intake.formats import limits
from harnessdrc.intake.grid import Grid


def sheet(*rows: str, name: str = "S", inside: str = "") -> str:
    body = "".join(row if row.startswith("<") else f"<table:table-row>{row}</table:table-row>" for row in rows)
    return f'<table:table table:name="{name}">{inside}{body}</table:table>'


def row(*cells: str, attributes: str = "") -> str:
    return f"<table:table-row {attributes}>{''.join(cells)}</table:table-row>"


def read(folder: Path, *tables: str, styles: str = "") -> tuple[Grid, ...]:
    return open_file(put(folder, "loom.ods", ods("".join(tables), styles))).grids


def cell(attributes: str, *paragraphs: str) -> str:
    texts = "".join(f"<text:p>{text}</text:p>" for text in paragraphs)
    return f"<table:table-cell {attributes}>{texts}</table:table-cell>"


VALUES = {
    "text": (cell('office:value-type="string"', "ECU"), "ECU"),
    "text held in an attribute": (cell('office:value-type="string" office:string-value="ECU"'), "ECU"),
    "paragraphs": (cell('office:value-type="string"', "A", "B"), "A\nB"),
    "line break": (cell('office:value-type="string"', "A<text:line-break/>B"), "A\nB"),
    "tab": (cell('office:value-type="string"', "A<text:tab/>B"), "A\tB"),
    "spaces": (cell('office:value-type="string"', 'A <text:s text:c="2"/>B'), "A   B"),
    "span": (cell('office:value-type="string"', "coil <text:span>feed</text:span> 1"), "coil feed 1"),
    "link": (cell('office:value-type="string"', "see <text:a>X1</text:a>"), "see X1"),
    "folded white space": (cell('office:value-type="string"', "A\n     B"), "A B"),
    "white space": (cell('office:value-type="string"', '<text:s text:c="3"/>'), None),
    "whole": (cell('office:value-type="float" office:value="12"', "12"), 12),
    "whole float": (cell('office:value-type="float" office:value="12.0"', "12"), 12),
    "fraction": (cell('office:value-type="float" office:value="0.35"', "0,35"), 0.35),
    "share": (cell('office:value-type="percentage" office:value="0.05"', "5 %"), 0.05),
    "money": (cell('office:value-type="currency" office:value="3.5"', "3.50"), 3.5),
    "true": (cell('office:value-type="boolean" office:boolean-value="true"', "TRUE"), True),
    "false": (cell('office:value-type="boolean" office:boolean-value="false"', "FALSE"), False),
    "day": (cell('office:value-type="date" office:date-value="2024-05-06"', "x"), datetime.date(2024, 5, 6)),
    "moment": (
        cell('office:value-type="date" office:date-value="2024-05-06T07:08:09"', "x"),
        datetime.datetime(2024, 5, 6, 7, 8, 9),
    ),
    "time": (cell('office:value-type="time" office:time-value="PT07H08M09S"', "x"), datetime.time(7, 8, 9)),
    "duration": (
        cell('office:value-type="time" office:time-value="PT30H00M00.5S"', "x"),
        datetime.timedelta(hours=30, microseconds=500_000),
    ),
    "error": (
        cell('office:value-type="string" office:string-value="" calcext:value-type="error"', "#REF!"),
        "#REF!",
    ),
    "error of a number": (
        cell('office:value-type="float" office:value="0" calcext:value-type="error"', "Err:502"),
        "Err:502",
    ),
    "a number that is none": (cell('office:value-type="float" office:value="nan"', "NaN"), "NaN"),
    "a day that is none": (cell('office:value-type="date" office:date-value="2024-99-06"', "6 May"), "6 May"),
    "note": (
        cell('office:value-type="string"', "W1").replace(
            "<text:p>", "<office:annotation><text:p>check this</text:p></office:annotation><text:p>"
        ),
        "W1",
    ),
}


@pytest.mark.parametrize("name", VALUES)
def test_values(tmp_path: Path, name: str) -> None:
    written, expected = VALUES[name]
    (grid,) = read(tmp_path, sheet(row(text_cell("a"), written, text_cell("b"))))
    ((_, value, last),) = grid.rows
    assert value == expected and type(value) is type(expected) and last == "b"


def test_positions_with_repeated_empty_cells_and_rows(tmp_path: Path) -> None:
    (grid,) = read(
        tmp_path,
        sheet(
            row("<table:table-cell/>", attributes='table:number-rows-repeated="3"'),
            row('<table:table-cell table:number-columns-repeated="2"/>', text_cell("wire")),
            row(
                text_cell("W", 'table:number-columns-repeated="3"'),
                attributes='table:number-rows-repeated="2"',
            ),
        ),
    )
    assert grid.rows == [[], [], [], [None, None, "wire"], ["W", "W", "W"], ["W", "W", "W"]]
    assert grid.rows[4] is not grid.rows[5]


def test_empty_rows_and_columns_to_the_end_of_the_sheet_cost_nothing(tmp_path: Path) -> None:
    (grid,) = read(
        tmp_path,
        sheet(
            row(text_cell("wire"), '<table:table-cell table:number-columns-repeated="16383"/>'),
            row(
                '<table:table-cell table:style-name="ce1" table:number-columns-repeated="16384"/>',
                attributes='table:number-rows-repeated="1048575"',
            ),
        ),
    )
    assert grid.rows == [["wire"]]


def test_groups_and_heading_rows_are_rows(tmp_path: Path) -> None:
    inner = row(text_cell("wire"))
    (grid,) = read(
        tmp_path,
        sheet(
            f"<table:table-header-rows>{inner}</table:table-header-rows>",
            f"<table:table-row-group>{row(text_cell('W1'))}</table:table-row-group>",
            f"<table:table-rows>{row(text_cell('W2'))}</table:table-rows>",
        ),
    )
    assert grid.rows == [["wire"], ["W1"], ["W2"]]


def test_merged_areas_and_covered_cells(tmp_path: Path) -> None:
    (grid,) = read(
        tmp_path,
        sheet(
            row("<table:table-cell/>"),
            row(
                "<table:table-cell/>",
                text_cell("X1", 'table:number-columns-spanned="2" table:number-rows-spanned="3"'),
                "<table:covered-table-cell/>",
                text_cell("after"),
            ),
        ),
    )
    assert grid.merged == ((2, 1, 4, 2),)
    assert grid.rows[1] == [None, "X1", None, "after"]


def test_hidden_sheets_drawings_and_formulas_without_value(tmp_path: Path) -> None:
    style = (
        '<style:style style:name="ta2" style:family="table">'
        '<style:table-properties table:display="false"/></style:style>'
    )
    shapes = (
        "<table:shapes><draw:frame><draw:text-box><text:p>face</text:p></draw:text-box></draw:frame></table:shapes>"
    )
    hidden = sheet(row(text_cell("old")), name="Old").replace("<table:table ", '<table:table table:style-name="ta2" ')
    first, second = read(
        tmp_path,
        sheet(row(text_cell("a"), '<table:table-cell table:formula="of:=1+1"/>'), name="A", inside=shapes),
        hidden,
        styles=style,
    )
    assert (first.hidden, first.drawings, first.formulas_without_value) == (False, True, ("B1",))
    assert (second.hidden, second.drawings, second.formulas_without_value) == (True, False, ())
    assert first.rows == [["a"]]


def test_an_empty_text_as_result_is_no_missing_result(tmp_path: Path) -> None:
    """Programs save it as no value at all; another formula with a value tells that they calculated."""
    empty = '<table:table-cell table:formula="of:=IF(1&gt;2;1;&quot;&quot;)"/>'
    number = '<table:table-cell table:formula="of:=1+1" office:value-type="float" office:value="2"/>'
    (grid,) = read(tmp_path, sheet(row(empty, number)))
    assert grid.rows == [[None, 2]] and grid.formulas_without_value == ()


def test_a_drawing_inside_a_cell_is_no_text(tmp_path: Path) -> None:
    frame = "<draw:frame><draw:text-box><text:p>face</text:p></draw:text-box></draw:frame>"
    (grid,) = read(tmp_path, sheet(row(text_cell("W1").replace("<text:p>", frame + "<text:p>"))))
    assert grid.rows == [["W1"]] and grid.drawings


def test_a_table_inside_a_cell_is_its_text_and_saved_copies_of_other_files_are_left_out(
    tmp_path: Path,
) -> None:
    inner = sheet(row(text_cell("inner")), name="inner")
    copy = sheet(row(text_cell("copy")), name="'file:///other.ods'#$S", inside="<table:table-source/>")
    grids = read(tmp_path, sheet(row(f"<table:table-cell>{inner}</table:table-cell>", text_cell("W1"))), copy)
    assert [(grid.sheet, grid.rows) for grid in grids] == [("S", [["inner", "W1"]])]


def test_drawings_only(tmp_path: Path) -> None:
    with pytest.raises(NothingToReadError, match="'S' holds only drawings"):
        read(tmp_path, sheet(inside="<table:shapes><draw:frame/></table:shapes>"))


@pytest.mark.parametrize(
    "body",
    [
        row(text_cell("W1"), attributes='table:number-rows-repeated="2000000"'),
        row('<table:table-cell table:number-columns-repeated="20000"/>', text_cell("W1")),
        row(text_cell("W1", 'table:number-columns-repeated="99999999"')),
        row("<table:table-cell/>", attributes='table:number-rows-repeated="1048576"') + row(text_cell("W1")),
    ],
)
def test_cells_outside_any_sheet(tmp_path: Path, body: str) -> None:
    with pytest.raises(FileUnreadableError, match=r"which no sheet has|the last a sheet has"):
        read(tmp_path, sheet(body))


def test_filled_cells_repeated_without_end_are_added_up_before_anything_is_made_of_them(
    tmp_path: Path,
) -> None:
    assert limits.MAX_CELLS < 16_384 * 1_048_576
    with pytest.raises(FileUnreadableError, match="reach out to row 1,048,576 with 16,384 columns"):
        read(
            tmp_path,
            sheet(
                row(
                    text_cell("W1", 'table:number-columns-repeated="16384"'),
                    attributes='table:number-rows-repeated="1048576"',
                )
            ),
        )


def test_senseless_repeat_counts_count_as_one(tmp_path: Path) -> None:
    (grid,) = read(
        tmp_path,
        sheet(
            row(
                text_cell("a", 'table:number-columns-repeated="-5"'),
                text_cell("b", 'table:number-columns-repeated="x"'),
                attributes='table:number-rows-repeated="0"',
            )
        ),
    )
    assert grid.rows == [["a", "b"]]


def test_a_declared_entity_is_refused_and_a_plain_doctype_is_not(tmp_path: Path) -> None:
    body = sheet(row(text_cell("&x;")))
    head = '<!DOCTYPE d [<!ENTITY x "W1">]>'
    with pytest.raises(FileUnreadableError, match="declares XML entities"):
        open_file(put(tmp_path, "loom.ods", zipped(ods_parts(body, head=head))))
    plain = zipped(ods_parts(sheet(row(text_cell("W1"))), head="<!DOCTYPE office:document-content>"))
    assert open_file(put(tmp_path, "loom.ods", plain)).grids[0].rows == [["W1"]]


TEXT = st.text(
    alphabet=st.characters(blacklist_categories=("Cs", "Cc"), blacklist_characters="\ufffe\uffff"),
    max_size=10,
).map(lambda text: " ".join(text.split(" ")).strip())


@settings(max_examples=40, deadline=None)
@given(st.lists(st.lists(st.one_of(st.none(), TEXT, st.integers(-(10**9), 10**9)), max_size=5), max_size=5))
def test_what_another_library_writes_is_read_back(rows: list[list[object]]) -> None:
    document = OpenDocumentSpreadsheet()
    table = Table(name="S")
    document.spreadsheet.addElement(table)
    for values in [["corner"], *rows]:
        line = TableRow()
        table.addElement(line)
        for value in values:
            if value is None:
                line.addElement(TableCell())
            elif isinstance(value, int):
                line.addElement(TableCell(valuetype="float", value=str(value)))
            else:
                written = TableCell(valuetype="string")
                written.addElement(P(text=value))
                line.addElement(written)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "loom.ods"
        document.save(str(path))
        (grid,) = open_file(path).grids
    for i, values in enumerate(rows, 1):
        for j, value in enumerate(values):
            line = grid.rows[i] if i < len(grid.rows) else []
            found = line[j] if j < len(line) else None
            expected = " ".join(value.split(" ")) if isinstance(value, str) and value.strip() else value
            assert found == (expected if expected != "" else None) or (
                isinstance(value, str) and isinstance(found, str) and found.split() == value.split()
            )
