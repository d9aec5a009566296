"""What must be known of an .xls before its cells are read, and what the cell reader does not tell.

The binary workbook stream is a run of records: two bytes of kind, two of length, then the content
([MS-XLS] 2.1.4). Walking over their heads tells where cells stand, which hold error values, whether a
password is needed, and whether anything is drawn, at about 0.4 s per million records.
"""

from __future__ import annotations

import struct

from harnessdrc.intake.formats import limits
from harnessdrc.intake.formats.ole import CompoundDocument, DamagedContainerError, single_stream_document
from harnessdrc.intake.formats.package import damaged, password_protected, too_large
from harnessdrc.intake.formats.xlsx_scan import SheetFacts, WorkbookFacts, far_cell
from harnessdrc.places import cell_name

__all__ = ["scan_xls", "workbook_stream_name"]

_BOF, _EOF, _BOUNDSHEET, _FILEPASS, _OBJECT = 0x0809, 0x000A, 0x0085, 0x002F, 0x005D
_FORMULA, _BOOLERR, _MULRK, _DIMENSIONS, _SHARED_TEXTS = 0x0006, 0x0205, 0x00BD, 0x0200, 0x00FC
_CELLS = frozenset({_FORMULA, _BOOLERR, _MULRK, 0x0203, 0x0204, 0x027E, 0x00FD, 0x00D6})
_ERRORS = {
    0x00: "#NULL!",
    0x07: "#DIV/0!",
    0x0F: "#VALUE!",
    0x17: "#REF!",
    0x1D: "#NAME?",
    0x24: "#NUM!",
    0x2A: "#N/A",
}
_MAX_COLUMNS = 256
_NOTE_BOX, _DROP_DOWN_ARROW = 0x19, 0x14
_RESULT_IS_ERROR, _RESULT_IS_EMPTY_TEXT = 2, 3


def workbook_stream_name(document: CompoundDocument) -> str | None:
    """Name of the stream with the cells, if the document is a workbook."""
    return next((name for name in ("Workbook", "WORKBOOK", "Book", "BOOK") if name in document.names), None)


def scan_xls(document: CompoundDocument, file: str) -> tuple[WorkbookFacts, bytes]:
    """Check an .xls and gather what the cell reader does not tell.

    Returns
    -------
    WorkbookFacts
        Per sheet.
    bytes
        The same workbook stream, alone in a fresh container, with the sizes that sheets declare set to
        those they have: the cell reader sets memory aside for whatever is declared.

    Raises
    ------
    FileUnreadableError
        If the workbook is damaged, needs a password, or reaches further than fits into memory.
    """
    stream_name = workbook_stream_name(document) or "Workbook"
    try:
        stream = document.stream(stream_name)
    except DamagedContainerError as fault:
        raise damaged(file, "its workbook stream is cut short") from fault
    patched = bytearray(stream)
    walks = [(name, _walk_sheet(stream, start, file, name, patched)) for name, start in _bound_sheets(stream, file)]
    formulas = sum(walk.formulas for _, walk in walks)
    # An empty text is also what IF(...; "") saves, so results count as never calculated only where no
    # formula of the workbook has one and the file lacks the summary that spreadsheet programs write.
    blank = sum(len(walk.blank_results) for _, walk in walks)
    never_calculated = blank == formulas and "\x05SummaryInformation" not in document.names
    sheets = tuple(
        (
            name,
            SheetFacts(
                cells=walk.cells,
                errors=tuple(walk.errors),
                formulas_without_value=tuple(walk.blank_results) if never_calculated else (),
                drawings=walk.drawings,
            ),
        )
        for name, walk in walks
    )
    facts = WorkbookFacts(sheets, macros="_VBA_PROJECT_CUR" in document.names)
    try:
        return facts, single_stream_document(stream_name, patched)
    except DamagedContainerError as fault:
        raise too_large(file, "its workbook stream does not fit into memory") from fault


def _bound_sheets(stream: bytes, file: str) -> list[tuple[str, int]]:
    """Name and offset of each sheet, from the records that open the stream."""
    found: list[tuple[str, int]] = []
    at, end, biff8 = 0, len(stream), True
    while at + 4 <= end:
        kind, length = struct.unpack_from("<HH", stream, at)
        body = stream[at + 4 : at + 4 + length]
        if len(body) < length:
            raise damaged(file, "its workbook stream is cut short")
        if at == 0:
            if kind != _BOF or length < 4:
                raise damaged(file, "its workbook stream does not begin as one")
            biff8 = body[0:2] == b"\x00\x06"
        if kind == _FILEPASS:
            raise password_protected(file)
        if kind == _EOF:
            break
        if kind == _SHARED_TEXTS and length >= 8:
            (texts,) = struct.unpack_from("<I", body, 4)
            if texts > end // 3:  # the shortest text takes three bytes
                raise damaged(file, "it says it has more texts than fit into it")
        if kind == _BOUNDSHEET and length >= 8:
            (start,) = struct.unpack_from("<I", body)
            found.append((_sheet_name(body, biff8), start))
        at += 4 + length
    if not found:
        raise damaged(file, "the records that list its sheets are missing")
    return found


def _sheet_name(body: bytes, biff8: bool) -> str:
    count = body[6]
    if not biff8:
        return body[7 : 7 + count].decode("cp1252", "replace")
    if body[7] & 1:
        return body[8 : 8 + 2 * count].decode("utf-16-le", "replace")
    return body[8 : 8 + count].decode("latin-1")


class _Walk:
    __slots__ = ("blank_results", "cells", "drawings", "errors", "formulas")

    def __init__(self) -> None:
        self.cells = self.formulas = 0
        self.errors: list[tuple[int, int, str]] = []
        self.blank_results: list[str] = []
        self.drawings = False


def _walk_sheet(stream: bytes, start: int, file: str, sheet: str, patched: bytearray) -> _Walk:
    walk = _Walk()
    heads = struct.Struct("<HHHH")
    at, end, depth = start, len(stream), 0
    top, bottom, left, right = 1 << 16, -1, 1 << 16, -1
    declared: list[tuple[int, int]] = []
    while at <= end - 8:
        kind, length, row, column = heads.unpack_from(stream, at)
        if at + 4 + length > end:
            raise damaged(file, "its workbook stream is cut short", sheet=sheet)
        if kind in _CELLS and depth <= 1:
            walk.cells += 1
            top, bottom, left, right = min(top, row), max(bottom, row), min(left, column), max(right, column)
            if kind == _FORMULA and length >= 20:
                _take_formula(walk, stream, at + 4, row, column)
            elif kind == _BOOLERR and length >= 8 and stream[at + 11]:
                walk.errors.append((row + 1, column, _ERRORS.get(stream[at + 10], "#VALUE!")))
            elif kind == _MULRK and length >= 12:
                (final,) = struct.unpack_from("<H", stream, at + 4 + length - 2)
                walk.cells += max(0, final - column)
                right = max(right, final)
        elif kind == _DIMENSIONS:
            declared.append((at + 4, length))
        elif kind == _BOF:
            depth += 1
        elif kind == _EOF:
            depth -= 1
            if depth <= 0:
                break
        elif kind == _OBJECT and length >= 6 and depth == 1:
            (what,) = struct.unpack_from("<H", stream, at + 8)
            walk.drawings = walk.drawings or what not in (_NOTE_BOX, _DROP_DOWN_ARROW)
        at += 4 + length
    if right >= _MAX_COLUMNS:
        raise damaged(file, "a cell stands beyond column IV, the last such a sheet has", sheet=sheet)
    for at, length in declared:
        area = (top, bottom + 1, left, right + 1) if right >= 0 else (0, 0, 0, 0)
        if length >= 14:
            struct.pack_into("<IIHH", patched, at, *area)
        elif length >= 10:
            struct.pack_into("<HHHH", patched, at, area[0], min(area[1], 0xFFFF), area[2], area[3])
    if right >= 0 and (bottom - top + 1) * (right + 1) > limits.MAX_BOX_CELLS:
        raise far_cell(file, sheet, bottom + 1, right)
    return walk


def _take_formula(walk: _Walk, stream: bytes, body: int, row: int, column: int) -> None:
    walk.formulas += 1
    if stream[body + 12 : body + 14] != b"\xff\xff":
        return
    result = stream[body + 6]
    if result == _RESULT_IS_ERROR:
        walk.errors.append((row + 1, column, _ERRORS.get(stream[body + 8], "#VALUE!")))
    elif result == _RESULT_IS_EMPTY_TEXT:
        walk.blank_results.append(cell_name(row + 1, column))
