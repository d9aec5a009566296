"""Rows of plain figures in bulk: every row alike, written from whole columns instead of cell by cell."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from .cellrefs import column_letters
from .looks import Look
from .stylesheet import Stylesheet

__all__ = ["BulkColumn", "bulk_rows"]

_BLOCK = 1024
_ROW_PT = 15
_TEXT = (' t="inlineStr"><is><t xml:space="preserve">', "</t></is></c>")
_EMPTY = {"<v>nan</v>": "", "<v>inf</v>": "", "<v>-inf</v>": "", "".join(_TEXT): "/>"}
"""Contents of a cell that stays empty; no text of a list can hold them, as it would be escaped."""


@dataclass(frozen=True, slots=True)
class BulkColumn:
    """A column of a bulk of rows.

    Parameters
    ----------
    look : Look
        Of all its cells; text is not wrapped.
    values : ndarray or sequence of str
        Its numbers, one per row, or its texts, fit for XML already (`xml_text`). A number that is not finite
        leaves its cell empty.
    decimals : int
        Of numbers: more are cut off, as they cannot be meant and cost room.
    """

    look: Look
    values: NDArray[np.float64] | Sequence[str]
    decimals: int = 3

    @property
    def kind(self) -> Literal["number", "text"]:
        """What its cells hold."""
        return "number" if isinstance(self.values, np.ndarray) else "text"

    def texts(self, start: int, end: int) -> list[str]:
        """Contents of its cells from row `start` to before row `end`."""
        values = self.values[start:end]
        if isinstance(values, np.ndarray):
            with np.errstate(over="ignore", invalid="ignore"):
                return list(map(repr, (np.round(values, self.decimals) + 0.0).tolist()))
        return list(values)


def bulk_rows(columns: Sequence[BulkColumn], count: int, first: int, styles: Stylesheet) -> Iterator[bytes]:
    """Rows as elements, a thousand at a time.

    Parameters
    ----------
    columns : sequence of BulkColumn
        From column A on.
    count : int
        Number of rows.
    first : int
        Number of the first row.
    styles : Stylesheet
        For the looks.
    """
    pieces = [f'<row r="%s" ht="{_ROW_PT}">']
    for index, column in enumerate(columns):
        cell = f'<c r="{column_letters(index)}%s" s="{styles.look(column.look)}"'
        if column.kind == "number":
            pieces.append(f"{cell}><v>%s</v></c>")
        else:
            pieces.append(f"{cell}{_TEXT[0]}%s{_TEXT[1]}")
    template = "".join(pieces) + "</row>"
    for start in range(0, count, _BLOCK):
        end = min(start + _BLOCK, count)
        numbers = list(map(str, range(first + start, first + end)))
        filled: list[list[str]] = [numbers]
        for column in columns:
            filled += (numbers, column.texts(start, end))
        text = "".join(map(template.__mod__, zip(*filled, strict=True)))
        for contents, nothing in _EMPTY.items():
            text = text.replace(contents, nothing)
        yield text.encode("utf-8")
