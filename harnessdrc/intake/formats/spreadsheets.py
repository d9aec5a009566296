"""Workbooks (.xlsx, .xlsm, .xls, .ods) to grids.

Cells of .xlsx and .xls are read by calamine, after a scan has made sure that it cannot be led to ask
for more memory than there is: it ends the whole process when it does. What it leaves out (error values,
formulas that were never calculated, drawings) is filled in from that scan.
"""

from __future__ import annotations

import contextlib
import io
import os
import sys
import threading
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, cast

from harnessdrc.errors import HarnessdrcError
from harnessdrc.intake.formats import limits
from harnessdrc.intake.formats.ole import CompoundDocument
from harnessdrc.intake.formats.package import Package, damaged, password_protected, printable, too_large
from harnessdrc.intake.formats.xlsx_scan import SheetFacts, WorkbookFacts, scan_xlsx
from harnessdrc.intake.grid import Cell, FileKind, Grid, number

if TYPE_CHECKING:
    from python_calamine import CalamineSheet, CalamineWorkbook

__all__ = ["read_workbook"]

_STDERR_LOCK = threading.Lock()


def read_workbook(
    data: bytes, container: Package | CompoundDocument, is_ods: bool, file: str
) -> tuple[FileKind, list[Grid]]:
    """Kind of a workbook, and its sheets in their order.

    Parameters
    ----------
    data : bytes
        The whole file.
    container : Package or CompoundDocument
        Its container, checked.
    is_ods : bool
        The package is an OpenDocument spreadsheet.
    file : str
        Name shown to the user.

    Raises
    ------
    FileUnreadableError
        If the workbook is damaged, needs a password, or is too large.
    """
    if isinstance(container, CompoundDocument):
        from harnessdrc.intake.formats.xls_scan import scan_xls

        facts, clean = scan_xls(container, file)
        return "xls", _read(clean, facts, file)
    if is_ods:
        from harnessdrc.intake.formats.ods import read_ods

        return "ods", read_ods(container)
    facts = scan_xlsx(container)
    return ("xlsm" if facts.macros else "xlsx"), _read(data, facts, file)


def _read(data: bytes, facts: WorkbookFacts, file: str) -> list[Grid]:
    from python_calamine import CalamineWorkbook, SheetTypeEnum, SheetVisibleEnum

    grids: list[Grid] = []
    area = 0
    with _reading(file):
        workbook: CalamineWorkbook = CalamineWorkbook.from_object(io.BytesIO(data))
        metadata = list(workbook.sheets_metadata)
    for index, sheet_data in enumerate(metadata):
        name = sheet_data.name
        known = _facts_of(facts, index, name, len(metadata), file)
        rows: list[list[Cell]] = []
        merged: tuple[tuple[int, int, int, int], ...] = ()
        if sheet_data.typ == SheetTypeEnum.WorkSheet:
            with _reading(file, name):
                sheet = workbook.get_sheet_by_index(index)
                area += sheet.height * sheet.width
                if area > 2 * limits.MAX_BOX_CELLS:
                    raise too_large(file, f"its sheets have more than {2 * limits.MAX_BOX_CELLS:,} cells")
                rows = _rows(sheet)
                merged = tuple(
                    (top + 1, left, bottom + 1, right)
                    for (top, left), (bottom, right) in sheet.merged_cell_ranges or ()
                )
            _put_errors(rows, known)
        grids.append(
            Grid(
                file=file,
                sheet=name,
                rows=rows,
                merged=merged,
                hidden=sheet_data.visible != SheetVisibleEnum.Visible,
                formulas_without_value=known.formulas_without_value,
                drawings=known.drawings or sheet_data.typ == SheetTypeEnum.ChartSheet,
            )
        )
    return grids


def _facts_of(facts: WorkbookFacts, index: int, name: str, count: int, file: str) -> SheetFacts:
    """Facts of a sheet: by its place among the sheets, else by its name."""
    if count == len(facts.sheets):
        return facts.sheets[index][1]
    for known_name, known in facts.sheets:
        if known_name == name:
            return known
    raise damaged(file, "it names a sheet that is not there", sheet=name)


def _rows(sheet: CalamineSheet) -> list[list[Cell]]:
    """Cells at their true positions, equal texts kept once."""
    if sheet.end is None:
        return []
    height, width = sheet.end[0] + 1, sheet.end[1] + 1
    rows: list[list[Cell]] = []
    known: dict[str, str | None] = {"": None}
    # One row at a time takes a third less memory than to_python().
    for raw in cast("Iterator[list[Any]]", sheet.iter_rows()):
        row: list[Cell] = []
        for value in raw:
            kind = type(value)
            if kind is str:
                try:
                    row.append(known[value])
                except KeyError:
                    text = known[value] = value if value.strip() else None
                    row.append(text)
            elif kind is float:
                row.append(number(value))
            else:
                row.append(value)
        while row and row[-1] is None:
            row.pop()
        if row and len(raw) < width:  # columns left of the first filled one are not given
            row[:0] = [None] * (width - len(raw))
        rows.append(row)
    # Rows above the first filled one are given, though nothing promises it.
    rows[:0] = [[] for _ in range(height - len(rows))]
    while rows and not rows[-1]:
        rows.pop()
    return rows


def _put_errors(rows: list[list[Cell]], known: SheetFacts) -> None:
    """Put ``#REF!`` and its kin, which the cell reader gives as empty, where they stand."""
    for row_number, column, text in known.errors:
        if not (0 < row_number <= limits.MAX_ROWS and 0 <= column < limits.MAX_COLUMNS):
            continue
        rows.extend([] for _ in range(row_number - len(rows)))
        row = rows[row_number - 1]
        row.extend([None] * (column + 1 - len(row)))
        if row[column] is None:
            row[column] = text or "#VALUE!"


@contextlib.contextmanager
def _reading(file: str, sheet: str = "") -> Iterator[None]:
    """Turn whatever the cell reader raises into a sentence, and keep what it prints off the screen."""
    import python_calamine as calamine

    try:
        with _quiet_stderr():
            yield
    except HarnessdrcError:
        raise
    except calamine.PasswordError as fault:
        raise password_protected(file) from fault
    except MemoryError as fault:
        raise too_large(file, "it does not fit into memory", sheet=sheet) from fault
    except (KeyboardInterrupt, SystemExit, GeneratorExit):
        raise
    except BaseException as fault:  # a panic of the reader derives from BaseException
        raise damaged(file, _detail(fault), sheet=sheet) from fault


def _detail(fault: BaseException) -> str:
    text = printable(" ".join(str(fault).split())).rstrip(".")
    if not text or text.startswith("Cannot detect") or type(fault).__name__ == "PanicException":
        return "its cells contradict its format"
    return f"the reader says '{text[:120]}'"


@contextlib.contextmanager
def _quiet_stderr() -> Iterator[None]:
    """Send what native code writes to file descriptor 2 nowhere, and put the descriptor back."""
    with _STDERR_LOCK:
        try:
            if sys.stderr is not None:
                sys.stderr.flush()
            kept = os.dup(2)
        except (OSError, ValueError):
            yield
            return
        try:
            nowhere = os.open(os.devnull, os.O_WRONLY)
            try:
                os.dup2(nowhere, 2)
            finally:
                os.close(nowhere)
            yield
        finally:
            os.dup2(kept, 2)
            os.close(kept)
