"""Where something stands in the lists: file, sheet and cell.

A place is recorded when a cell is read and is never recomputed. Rows keep one shared mapping from
column name to sheet column, so that fifty thousand wires can each name the cell of every field
without fifty thousand copies of it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

__all__ = ["Place", "RowPlace", "cell_name", "column_letters"]


@cache
def column_letters(index: int) -> str:
    """Spreadsheet letters of a zero-based column: 0 → ``A``, 26 → ``AA``."""
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def cell_name(row: int, column: int) -> str:
    """Name of a cell from its one-based row and zero-based column: ``(12, 2)`` → ``C12``."""
    return f"{column_letters(column)}{row}"


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """One cell, or one row when `cell` is a row number alone, of one sheet of one file."""

    file: str
    sheet: str
    cell: str

    @property
    def list_name(self) -> str:
        """File and sheet; the file alone for delimited text, whose sheet has its name."""
        return self.file if self.file.startswith(f"{self.sheet}.") else f"{self.file} {self.sheet}".strip()

    def __str__(self) -> str:
        parts = [self.file]
        if self.sheet:
            parts.append(self.sheet)
        if self.cell:
            parts.append(self.cell if not self.cell.isdecimal() else f"row {self.cell}")
        return " ".join(parts)


@dataclass(frozen=True, slots=True)
class RowPlace:
    """The row an object was read from.

    Parameters
    ----------
    file, sheet : str
        Names as shown to the user.
    row : int
        One-based sheet row.
    cells : mapping of str to int
        Column name of the table form → zero-based sheet column; shared by all rows of the table.
    """

    file: str
    sheet: str
    row: int
    cells: Mapping[str, int]

    def of(self, *columns: str) -> Place:
        """Place of the first of `columns` that the table has, else of the row."""
        for column in columns:
            index = self.cells.get(column)
            if index is not None:
                return Place(self.file, self.sheet, cell_name(self.row, index))
        return Place(self.file, self.sheet, str(self.row))
