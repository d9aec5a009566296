"""Cells of .xls workbooks, written by a library and record by record where that library cannot."""

from __future__ import annotations

import datetime
import struct
from pathlib import Path

import pytest
import xlwt
from workbook_parts import biff8_stream, biff_record, put

from harnessdrc.errors import FileUnreadableError
from harnessdrc.intake.files import open_file
from harnessdrc.intake.formats.ole import CompoundDocument, DamagedContainerError, single_stream_document
from harnessdrc.intake.grid import Grid

DIMENSIONS, NUMBER, FORMULA, BOOLERR, OBJECT = 0x0200, 0x0203, 0x0006, 0x0205, 0x005D


def saved(book: xlwt.Workbook, folder: Path) -> tuple[Grid, ...]:
    path = folder / "loom.xls"
    book.save(str(path))
    opened = open_file(path)
    assert opened.kind == "xls"
    return opened.grids


def from_records(folder: Path, *records: bytes, extra: bytes = b"") -> Grid:
    stream = biff8_stream(*records, globals_extra=extra)
    (grid,) = open_file(put(folder, "loom.xls", single_stream_document("Workbook", stream))).grids
    return grid


def number(row: int, column: int, value: float) -> bytes:
    return biff_record(NUMBER, struct.pack("<HHHd", row, column, 0, value))


def test_values_at_their_places(tmp_path: Path) -> None:
    book = xlwt.Workbook()
    sheet = book.add_sheet("Loom")
    sheet.write(3, 2, "wire")
    sheet.write(3, 3, "  padded ")
    sheet.write(3, 4, "   ")
    sheet.write(3, 5, 12.0)
    sheet.write(3, 6, 0.35)
    sheet.write(3, 7, True)
    sheet.write(3, 8, datetime.datetime(2024, 5, 6), xlwt.easyxf(num_format_str="yyyy-mm-dd"))
    sheet.write(3, 9, "Zündung Ω 18”")
    sheet.write(3, 10, "A\nB")
    sheet.write(5, 1, "007")
    (grid,) = saved(book, tmp_path)
    assert grid.sheet == "Loom"
    assert grid.rows[:3] == [[], [], []]
    assert grid.rows[3] == [
        *(None, None, "wire", "  padded ", None, 12, 0.35, True),
        *(datetime.date(2024, 5, 6), "Zündung Ω 18”", "A\nB"),
    ]
    assert type(grid.rows[3][5]) is int and type(grid.rows[3][7]) is bool
    assert grid.rows[4:] == [[], [None, "007"]]


def test_merged_areas_and_hidden_sheets(tmp_path: Path) -> None:
    book = xlwt.Workbook()
    book.add_sheet("Shown").write_merge(4, 6, 1, 2, "X1")
    for name, visibility in (("Old", 1), ("Secret", 2)):
        sheet = book.add_sheet(name)
        sheet.write(0, 0, name)
        sheet.visibility = visibility
    grids = saved(book, tmp_path)
    assert [(grid.sheet, grid.hidden) for grid in grids] == [
        ("Shown", False),
        ("Old", True),
        ("Secret", True),
    ]
    assert grids[0].merged == ((5, 1, 7, 2),)
    assert [grid.rows[-1][-1] for grid in grids] == ["X1", "Old", "Secret"]


def test_formulas_a_library_left_without_result(tmp_path: Path) -> None:
    book = xlwt.Workbook()
    sheet = book.add_sheet("S")
    sheet.write(0, 0, 2)
    sheet.write(1, 2, xlwt.Formula("A1*2"))
    (grid,) = saved(book, tmp_path)
    assert grid.rows == [[2]] and grid.formulas_without_value == ("C2",)


def formula(row: int, column: int, result: bytes) -> bytes:
    return biff_record(FORMULA, struct.pack("<HHH", row, column, 0) + result + bytes(8))


def test_results_of_formulas(tmp_path: Path) -> None:
    empty_text = b"\x03\0\0\0\0\0\xff\xff"
    grid = from_records(
        tmp_path,
        formula(0, 0, struct.pack("<d", 2.5)),
        formula(0, 1, b"\x02\0\x17\0\0\0\xff\xff"),
        formula(0, 2, b"\x01\0\x01\0\0\0\xff\xff"),
        formula(0, 3, empty_text),
        number(0, 4, 7),
    )
    assert grid.rows == [[2.5, "#REF!", True, None, 7]]
    assert grid.formulas_without_value == ()  # one formula has a result, so the empty text is one as well


@pytest.mark.parametrize(
    ("code", "text"),
    [
        (0, "#NULL!"),
        (7, "#DIV/0!"),
        (15, "#VALUE!"),
        (23, "#REF!"),
        (29, "#NAME?"),
        (36, "#NUM!"),
        (42, "#N/A"),
    ],
)
def test_error_values_keep_their_text(tmp_path: Path, code: int, text: str) -> None:
    record = biff_record(BOOLERR, struct.pack("<HHHBB", 1, 2, 0, code, 1))
    grid = from_records(tmp_path, number(0, 0, 1), record)
    assert grid.rows == [[1], [None, None, text]]


@pytest.mark.parametrize(("kind", "drawn"), [(0x08, True), (0x06, True), (0x19, False), (0x14, False)])
def test_drawings_but_no_note_boxes(tmp_path: Path, kind: int, drawn: bool) -> None:
    record = biff_record(OBJECT, struct.pack("<HHHHH", 0x15, 0x12, kind, 1, 0) + bytes(12))
    assert from_records(tmp_path, number(0, 0, 1), record).drawings is drawn


@pytest.mark.parametrize(
    "declared", [(0, 0xFFFFFFFF, 0, 0xFFFF), (67, 9, 0, 4), (0, 9, 200, 4), (0, 0, 0, 0), (0, 65536, 0, 256)]
)
def test_a_lie_about_the_size_of_the_sheet_is_harmless(tmp_path: Path, declared: tuple[int, ...]) -> None:
    lie = biff_record(DIMENSIONS, struct.pack("<IIHHH", *declared, 0))
    assert from_records(tmp_path, lie, number(1, 1, 5)).rows == [[], [None, 5]]


def test_a_lie_about_the_count_of_texts_is_refused(tmp_path: Path) -> None:
    texts = biff_record(0x00FC, struct.pack("<II", 1, 0x7FFFFFFF))
    with pytest.raises(FileUnreadableError, match="more texts than fit"):
        from_records(tmp_path, number(0, 0, 1), extra=texts)


def test_a_cell_beyond_the_last_column(tmp_path: Path) -> None:
    with pytest.raises(FileUnreadableError, match="beyond column IV"):
        from_records(tmp_path, number(0, 0, 1), number(65535, 40000, 1))


def test_a_record_cut_short(tmp_path: Path) -> None:
    stream = biff8_stream(number(0, 0, 1))[:-10] + struct.pack("<HH", NUMBER, 5000)
    with pytest.raises(FileUnreadableError, match="cut short"):
        open_file(put(tmp_path, "loom.xls", single_stream_document("Workbook", stream.ljust(4500, b"\1"))))


@pytest.mark.parametrize("size", [0, 1, 4095, 4096, 4097, 700_000, 9_000_000])
def test_a_stream_survives_its_container(size: int) -> None:
    stream = bytes(i * 7 % 251 for i in range(1000)) * (size // 1000 + 1)
    data = single_stream_document("Workbook", stream[:size])
    document = CompoundDocument(data)
    assert document.names == {"Root Entry", "Workbook"}
    assert document.stream("Workbook")[:size] == stream[:size]
    assert len(document.stream("Workbook")) == max(size, 4096)


def test_a_container_that_bites_its_tail() -> None:
    data = bytearray(single_stream_document("Workbook", b"x" * 50_000))
    table = 4096
    (directory,) = struct.unpack_from("<I", data, 48)
    struct.pack_into("<I", data, table + 4 * directory, directory)
    with pytest.raises(DamagedContainerError, match="circle"):
        CompoundDocument(bytes(data))


def test_small_streams_of_other_writers(tmp_path: Path) -> None:
    """A stream below 4096 bytes stands in the mini stream, in pieces of 64 bytes."""
    stream = biff8_stream(number(0, 0, 1), number(4, 2, 0.5))
    minis = -(-len(stream) // 64)
    mini_sectors = -(-minis * 64 // 512)
    header = bytearray(512)
    header[:8] = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
    struct.pack_into("<HHHHH", header, 24, 0x3E, 3, 0xFFFE, 9, 6)
    struct.pack_into("<9I", header, 40, 0, 1, 1, 0, 4096, 2, 1, 0xFFFFFFFE, 0)
    struct.pack_into("<109I", header, 76, 0, *[0xFFFFFFFF] * 108)
    end, free = 0xFFFFFFFE, 0xFFFFFFFF
    fat = [0xFFFFFFFD, end, end, *range(4, 3 + mini_sectors), end]
    mini_fat = [*range(1, minis), end]

    def entry(name: str, kind: int, child: int, start: int, size: int) -> bytes:
        text = name.encode("utf-16-le")
        head = text.ljust(64, b"\0") + struct.pack("<HBBIII", len(text) + 2, kind, 1, free, free, child)
        return head + bytes(36) + struct.pack("<IQ", start, size)

    directory = entry("Root Entry", 5, 1, 3, minis * 64) + entry("Workbook", 2, free, 0, len(stream))
    data = bytes(header)
    data += struct.pack("<128I", *fat, *[free] * (128 - len(fat)))
    data += directory.ljust(512, b"\0")
    data += struct.pack("<128I", *mini_fat, *[free] * (128 - len(mini_fat)))
    data += stream.ljust(mini_sectors * 512, b"\0")
    assert CompoundDocument(data).stream("Workbook") == stream
    (grid,) = open_file(put(tmp_path, "loom.xls", data)).grids
    assert grid.rows == [[1], [], [], [], [None, None, 0.5]]
