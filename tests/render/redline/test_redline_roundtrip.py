"""Values read from a redline are those of its source, whatever is in the cells and whatever is marked."""

from __future__ import annotations

import datetime as dt
import tempfile
from pathlib import Path

import openpyxl
import pytest
import python_calamine
import xlsxwriter
from hypothesis import given, settings
from hypothesis import strategies as st
from redline_helpers import mark_file, simple_mark

from harnessdrc.places import cell_name
from harnessdrc.render.redline.celltext import CELL_CHARACTERS, cell_text, cut, xml_text
from harnessdrc.render.redline.package import RedlinePackage
from harnessdrc.render.redline.plain import SheetRows, unique_sheet_name

TEXT = st.text(
    alphabet=st.characters(exclude_categories=("Cs", "Cc"), exclude_characters="￾￿"), min_size=1, max_size=12
)
VALUE = st.one_of(
    TEXT,
    st.sampled_from(["=1+1", "+cmd|' /C calc'!A0", "_x0041_", "_x005F_x0041_", " padded ", "a\nb", "-2", "@x"]),
    st.integers(-(10**9), 10**9),
    st.floats(-1e9, 1e9, allow_nan=False).map(lambda x: round(x, 6)),
    st.booleans(),
    st.datetimes(dt.datetime(1950, 1, 1), dt.datetime(2090, 1, 1)).map(lambda d: d.replace(microsecond=0)),
)
PLACE = st.tuples(st.integers(1, 40), st.integers(0, 9))
CELLS = st.dictionaries(PLACE, VALUE, max_size=30)
MARKS = st.dictionaries(PLACE, st.sampled_from(["hold", "query", "note"]), max_size=25)


def values(path: Path, sheet: str) -> tuple[list[object], list[list[object]]]:
    book = openpyxl.load_workbook(path)
    by_cell = {cell.coordinate: cell.value for row in book[sheet].iter_rows() for cell in row}
    kept = sorted((name, repr(value)) for name, value in by_cell.items() if value is not None)
    read = python_calamine.CalamineWorkbook.from_path(str(path))
    return [*kept], read.get_sheet_by_name(sheet).to_python()


def trimmed(rows: list[list[object]]) -> dict[tuple[int, int], object]:
    return {(row, column): value for row, line in enumerate(rows) for column, value in enumerate(line) if value != ""}


@settings(max_examples=60, deadline=None)
@given(cells=CELLS, marks=MARKS, keep_empty=st.booleans())
def test_package_round_trip(
    cells: dict[tuple[int, int], object], marks: dict[tuple[int, int], str], keep_empty: bool
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        source, target = Path(folder) / "a.xlsx", Path(folder) / "b.xlsx"
        book = xlsxwriter.Workbook(source, {"strings_to_formulas": False, "strings_to_urls": False})
        sheet = book.add_worksheet("List")
        date = book.add_format({"num_format": "yyyy-mm-dd hh:mm:ss"})
        for (row, column), value in cells.items():
            if isinstance(value, dt.datetime):
                sheet.write_datetime(row - 1, column, value, date)
            elif isinstance(value, str):
                sheet.write_string(row - 1, column, value)
            else:
                sheet.write(row - 1, column, value)
        if keep_empty:
            sheet.write_blank(45, 3, None, date)
        book.close()
        named = {cell_name(*place): simple_mark(grade) for place, grade in marks.items()}  # type: ignore[arg-type]
        mark_file(source, target, {"List": named})
        before, after = values(source, "List"), values(target, "List")
        assert before[0] == after[0]
        assert trimmed(before[1]) == trimmed(after[1])
        shown = openpyxl.load_workbook(target)["List"]
        for name in named:
            assert shown[name].fill.patternType in ("solid", "lightUp", "gray0625")
            if shown[name].value is None:  # a link on an empty cell would read as a value
                assert shown[name].hyperlink is None
            else:
                assert shown[name].hyperlink.location == "'Findings'!A3"
            assert shown[name].comment.text == "HOLD\nwhat was found"
        marked = {cell.coordinate for row in shown.iter_rows() for cell in row if cell.fill.patternType}
        assert marked == set(named)


@settings(max_examples=60, deadline=None)
@given(rows=st.lists(st.lists(st.one_of(st.none(), VALUE), max_size=8), max_size=20), marks=MARKS)
def test_plain_rows_round_trip(rows: list[list[object]], marks: dict[tuple[int, int], str]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        target = Path(folder) / "b.xlsx"
        package = RedlinePackage.of_rows([SheetRows("List", rows)])  # type: ignore[arg-type]
        places = package.resolve(0, marks)
        cells = {places[place]: simple_mark(grade) for place, grade in marks.items()}  # type: ignore[arg-type]
        with target.open("wb") as out:
            package.write(out, {0: cells}, [])
        read = python_calamine.CalamineWorkbook.from_path(str(target)).get_sheet_by_name("List")
        got = trimmed(read.to_python(skip_empty_area=False))
        shown = openpyxl.load_workbook(target)["List"]
        for row, line in enumerate(rows):
            for column, value in enumerate(line):
                if value is None:
                    assert (row, column) not in got
                    continue
                if isinstance(value, str):
                    assert shown.cell(row + 1, column + 1).data_type != "f"
                    if "_x" not in value:  # the readers differ in how they resolve such escapes
                        assert got[row, column] == value
                elif isinstance(value, bool):
                    assert got[row, column] is value
                elif isinstance(value, dt.datetime) and value.time() == dt.time(0):
                    assert got[row, column] == value.date()  # as this reader gives midnight
                else:
                    assert got[row, column] == value


@given(st.text(max_size=60))
def test_any_text_becomes_well_formed(text: str) -> None:
    from xml.etree import ElementTree

    read = ElementTree.fromstring(f"<t>{xml_text(text)}</t>".encode()).text or ""
    assert read == cell_text(text)


@pytest.mark.parametrize("letters", ["x", "€", "𝄞", "x𝄞", "xx𝄞€"])
def test_long_text_is_cut_with_a_mark(letters: str) -> None:
    short = cut(letters * 40_000)
    assert CELL_CHARACTERS - 2 <= len(short.encode("utf-16-le")) // 2 <= CELL_CHARACTERS
    assert short.endswith("longer than a cell holds]")
    assert cut("x" * CELL_CHARACTERS) == "x" * CELL_CHARACTERS
    assert cut("x" * (CELL_CHARACTERS + 1)) != "x" * (CELL_CHARACTERS + 1)


@given(st.lists(st.text(max_size=40), max_size=12))
def test_sheet_names_are_allowed_and_differ(names: list[str]) -> None:
    taken: list[str] = []
    for name in names:
        taken.append(unique_sheet_name(name, taken))
    assert len({name.lower() for name in taken}) == len(taken)
    for name in taken:
        assert 1 <= len(name) <= 31
        assert not set(name) & set("[]:*?/\\")
        assert not name.startswith("'") and not name.endswith("'")


def test_plain_values_keep_their_kind(tmp_path: Path) -> None:
    rows = [
        ["text", 5, 2.5, True, dt.date(2024, 2, 29), dt.datetime(2024, 2, 29, 13, 45, 30)],
        [dt.time(6, 30), dt.timedelta(hours=30), float("nan"), float("inf"), 12345678901234567890, dt.date(1899, 1, 1)],
        [dt.timedelta(days=-1), "00012", "", None, "1e5", "TRUE"],
    ]
    package = RedlinePackage.of_rows([SheetRows("List", rows)])
    with (tmp_path / "a.xlsx").open("wb") as out:
        package.write(out, {}, [])
    sheet = openpyxl.load_workbook(tmp_path / "a.xlsx")["List"]
    read = [[cell.value for cell in row] for row in sheet.iter_rows()]
    assert read[0] == ["text", 5, 2.5, True, dt.datetime(2024, 2, 29), dt.datetime(2024, 2, 29, 13, 45, 30)]
    assert sheet["E1"].number_format == "yyyy-mm-dd"
    assert read[1][0] == dt.time(6, 30)
    assert read[1][1] == dt.timedelta(hours=30)
    assert read[1][2:] == [None, "inf", "12345678901234567890", "1899-01-01"]
    assert read[2] == ["-1 day, 0:00:00", "00012", None, None, "1e5", "TRUE"]
