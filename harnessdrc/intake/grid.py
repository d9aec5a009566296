"""A sheet as it stands in its file: cells at their true positions, before anything is read into them.

Every later place (file, sheet, cell) is counted from here, so a grid never drops leading rows or
columns: ``rows[i][j]`` is sheet row ``i + 1`` and zero-based column ``j``.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from math import isfinite
from pathlib import Path
from typing import Literal, TypeAlias

from harnessdrc.tables.model import Assumption

__all__ = ["Cell", "FileKind", "Grid", "OpenedFile", "number"]

Cell: TypeAlias = (
    str | int | float | bool | datetime.datetime | datetime.date | datetime.time | datetime.timedelta | None
)
"""What a cell can hold; ``None`` is empty, and so is text of nothing but white space."""

FileKind: TypeAlias = Literal["xlsx", "xlsm", "xls", "ods", "csv", "tsv"]
"""What a file is by its content, whatever its name says."""


_LARGEST_EXACT = 2.0**53


def number(value: float) -> int | float | str:
    """A spreadsheet's number as a cell: whole ones as `int` where exact, those that are no number as text."""
    if value.is_integer():
        return int(value) if -_LARGEST_EXACT < value < _LARGEST_EXACT else value
    return value if isfinite(value) else str(value)


@dataclass(frozen=True, slots=True)
class Grid:
    """One sheet of a workbook, or one delimited text file.

    Parameters
    ----------
    file : str
        Name shown to the user: the file's base name, with as many folders as tell it from its namesakes.
    sheet : str
        Name of the sheet; the file's stem for delimited text.
    rows : list of list of Cell
        ``rows[i][j]`` is sheet row ``i + 1``, zero-based column ``j``; rows may differ in length and end at
        their last cell that holds something. Whole numbers of a spreadsheet are `int`. Text is as written.
    merged : tuple of (int, int, int, int)
        Merged cells: top row, left column, bottom row, right column; rows one-based, columns zero-based,
        all inclusive.
    hidden : bool
        The sheet is hidden, or hidden so that only a macro can show it.
    formulas_without_value : tuple of str
        Names of cells with a formula whose result was never saved; such a cell reads as empty.
    drawings : bool
        The sheet carries pictures, shapes, text boxes or charts, which are not read.
    """

    file: str
    sheet: str
    rows: list[list[Cell]]
    merged: tuple[tuple[int, int, int, int], ...] = ()
    hidden: bool = False
    formulas_without_value: tuple[str, ...] = ()
    drawings: bool = False


@dataclass(frozen=True, slots=True)
class OpenedFile:
    """A file that was read: its sheets, its thumbprint, and what had to be assumed to read it.

    Parameters
    ----------
    path : Path
        As given.
    file : str
        Name shown to the user.
    kind : str
        By content: ``xlsx``, ``xlsm``, ``xls``, ``ods``, ``csv`` or ``tsv``.
    sha256 : str
        Of the bytes that were read, in hexadecimal.
    grids : tuple of Grid
        In the order of the sheets.
    notes : tuple of Assumption
        Encoding and separator taken, a name that does not fit the content, a file given twice.
    """

    path: Path
    file: str
    kind: FileKind
    sha256: str
    grids: tuple[Grid, ...]
    notes: tuple[Assumption, ...] = ()
