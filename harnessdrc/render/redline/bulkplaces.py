"""Places in bulk: text and link of thousands of cells that stand on a few sheets."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from harnessdrc.findings import Mark

from .celltext import xml_text
from .links import Links
from .xmlbytes import escape_attribute

__all__ = ["BulkPlaces"]


class BulkPlaces:
    """A column of places for rows written in bulk.

    Parameters
    ----------
    links : Links
        Where places are in the workbook.
    marks : sequence of Mark or None
        One per row.
    """

    def __init__(self, links: Links, marks: Sequence[Mark | None]) -> None:
        self._links = links
        self._marks = marks
        self._prefixes: dict[tuple[str, str], tuple[str, bytes]] = {}

    def texts(self) -> list[str]:
        """The places in words, fit for XML; empty where there is none."""
        return [self._text(mark) for mark in self._marks]

    def links(self, column: str, first: int, most: int) -> Iterator[bytes]:
        """Hyperlink elements of the cells of a column, from row `first` on, `most` of them at the most."""
        letters = column.encode()
        for row, mark in enumerate(self._marks, first):
            cell = mark.place.cell if mark is not None else ""
            if mark is None or not cell.isalnum():
                continue
            link = self._prefix(mark)[1]
            if not link:
                continue
            if most <= 0:
                return
            most -= 1
            yield b'<hyperlink ref="%s%d" location="%s%s"/>' % (
                letters, row, link, (f"A{cell}" if cell.isdecimal() else cell).encode()
            )  # fmt: skip

    def _text(self, mark: Mark | None) -> str:
        if mark is None:
            return ""
        cell = mark.place.cell
        return self._prefix(mark)[0] + (f"row {cell}" if cell.isdecimal() else cell)

    def _prefix(self, mark: Mark) -> tuple[str, bytes]:
        """Text and link of a place up to its cell, made once for each sheet and fit for XML."""
        key = (mark.place.file, mark.place.sheet)
        known = self._prefixes.get(key)
        if known is None:
            text, link = self._links.prefixes(*key)
            known = self._prefixes[key] = (xml_text(text), escape_attribute(link))
        return known
