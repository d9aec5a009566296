"""Cell references as sheet parts write them; rows one-based, columns zero-based."""

from __future__ import annotations

import re
from functools import cache

from harnessdrc.places import cell_name, column_letters

__all__ = ["LAST_COLUMN", "LAST_ROW", "Ranges", "cell_name", "column_index", "column_letters", "parse_cell"]

LAST_ROW, LAST_COLUMN = 1_048_576, 16_383
_CELL = re.compile(r"\$?([A-Za-z]{1,3})\$?([0-9]{1,7})")
_TALL = 64


@cache
def column_index(letters: str) -> int:
    """Zero-based column from its letters: ``A`` → 0."""
    index = 0
    for letter in letters.upper():
        index = index * 26 + ord(letter) - 64
    return index - 1


def parse_cell(text: str) -> tuple[int, int] | None:
    """Row and column of ``C12``; None if it is no cell of a sheet."""
    found = _CELL.fullmatch(text.strip())
    if found is None:
        return None
    row, column = int(found.group(2)), column_index(found.group(1))
    return (row, column) if 1 <= row <= LAST_ROW and column <= LAST_COLUMN else None


class Ranges:
    """Cell ranges (``A1:B3``) that can be asked which of them holds a cell."""

    def __init__(self) -> None:
        self._by_row: dict[int, list[tuple[int, int, int, int]]] = {}
        self._tall: list[tuple[int, int, int, int]] = []

    def add(self, reference: str) -> None:
        """Add a range or a list of them, blank between; what is no range is passed over."""
        for part in reference.split():
            ends = [parse_cell(end) for end in part.split(":")]
            if not 1 <= len(ends) <= 2 or ends[0] is None or ends[-1] is None:
                continue
            (row_a, column_a), (row_b, column_b) = ends[0], ends[-1]
            box = (min(row_a, row_b), min(column_a, column_b), max(row_a, row_b), max(column_a, column_b))
            if box[2] - box[0] > _TALL:
                self._tall.append(box)
            else:
                for row in range(box[0], box[2] + 1):
                    self._by_row.setdefault(row, []).append(box)

    def find(self, row: int, column: int) -> tuple[int, int] | None:
        """Top left cell of the range that holds a cell; None if none does."""
        for box in (*self._by_row.get(row, ()), *self._tall):
            if box[0] <= row <= box[2] and box[1] <= column <= box[3]:
                return box[0], box[1]
        return None
