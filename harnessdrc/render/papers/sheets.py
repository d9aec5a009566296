"""Sheets of the papers' workbook: looks, set-up for A4, tables and texts."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from xlsxwriter.format import Format
from xlsxwriter.workbook import Workbook
from xlsxwriter.worksheet import Worksheet

from harnessdrc.papers import Papers
from harnessdrc.render.lines import visible
from harnessdrc.render.redline.celltext import cut

__all__ = ["TICK", "Column", "Looks", "Page", "patches", "plain"]

TICK = "☐"


@dataclass(frozen=True, slots=True)
class Column:
    """Heading, width in characters, and the look of its cells: ``text``, ``bold``, ``big``, ``write``, ``tick``, or
    a number's format."""

    heading: str
    width: float
    look: str = "text"


class Looks:
    """Formats of a workbook, each made once."""

    def __init__(self, book: Workbook) -> None:
        self._book = book
        self._made: dict[tuple[tuple[str, Any], ...], Format] = {}
        self._cells: dict[tuple[str, str], Format] = {}

    def of(self, **properties: Any) -> Format:
        key = tuple(sorted(properties.items()))
        found = self._made.get(key)
        if found is None:
            found = self._made[key] = self._book.add_format({"font_name": "Arial", "font_size": 11} | properties)
        return found

    def cell(self, look: str, fill: str = "") -> Format:
        """Look of a cell in a table."""
        found = self._cells.get((look, fill))
        if found is None:
            found = self._cells[look, fill] = self._cell(look, fill)
        return found

    def _cell(self, look: str, fill: str) -> Format:
        ruled: dict[str, Any] = {"border": 1, "valign": "vcenter"}
        if fill:
            return self.of(**ruled, bg_color=fill)
        if look == "text":
            return self.of(**ruled, text_wrap=True, indent=1)
        if look == "bold":
            return self.of(**ruled, bold=True, font_size=12, text_wrap=True)
        if look == "big":
            return self.of(**ruled, bold=True, font_size=14, align="right", indent=1)
        if look == "write":
            return self.of(valign="vcenter", border=2, align="right", font_size=12)
        if look == "tick":
            return self.of(**ruled, align="center", font_size=16)
        return self.of(**ruled, num_format=look, align="right", indent=1)


class Page:
    """One sheet: a title, the issue of the list, then tables."""

    def __init__(
        self, book: Workbook, looks: Looks, papers: Papers, title: str, widths: Sequence[float], *, wide: bool = False
    ) -> None:
        self.sheet: Worksheet = book.add_worksheet(title)
        self.looks = looks
        self.row = 0
        sheet = self.sheet
        sheet.set_paper(9)
        if wide:
            sheet.set_landscape()
        sheet.fit_to_pages(1, 0)
        sheet.set_margins(left=0.45, right=0.45, top=0.5, bottom=0.7)
        # an ampersand starts an order to the printer
        name = visible(papers.name).replace("&", "&&")[:120]
        sheet.set_footer(f"&L&9{name}, issue {papers.issue_mark}&R&9{title}, page &P of &N")
        sheet.hide_gridlines(2)
        for number, width in enumerate(widths):
            sheet.set_column(number, number, width)
        self.say(f"{title}: {papers.name}", bold=True, font_size=18)
        self.say(f"Issue of the list: {papers.issue_mark}")

    def say(self, text: str, **look: Any) -> None:
        """One line of text below what stands so far."""
        self.sheet.write_string(self.row, 0, plain(text), self.looks.of(**look))
        self.row += 1

    def paragraph(self, text: str, columns: int, lines: int = 1, **look: Any) -> None:
        """A text over the width of the table, wrapped."""
        shape = self.looks.of(text_wrap=True, valign="top", **look)
        self.sheet.merge_range(self.row, 0, self.row, columns - 1, plain(text), shape)
        self.sheet.set_row(self.row, 15 * lines)
        self.row += 1

    def head(self, columns: Sequence[Column], *, repeat: bool = False) -> None:
        """Headings of a table, repeated on each printed page where asked for."""
        shape = self.looks.of(bold=True, font_size=9, border=1, bg_color="#E4E4E4", text_wrap=True, valign="vcenter")
        self.sheet.set_row(self.row, 27)
        for number, column in enumerate(columns):
            self.sheet.write_string(self.row, number, column.heading, shape)
        if repeat:
            self.sheet.repeat_rows(self.row)
            self.sheet.freeze_panes(self.row + 1, 0)
        self.row += 1

    def line(
        self,
        columns: Sequence[Column],
        values: Iterable[Any],
        fills: Sequence[tuple[int, str]] = (),
        height: float | None = None,
    ) -> None:
        """One row of a table; None leaves a cell empty."""
        filled = dict(fills)
        values = list(values)
        lines = max(map(_lines, columns, values))
        if height is not None or lines > 1:
            self.sheet.set_row(self.row, max(height or 0.0, 3.0 + 14.5 * lines))
        for number, (column, value) in enumerate(zip(columns, values, strict=True)):
            shape = self.looks.cell(column.look, filled.get(number, ""))
            if value is None or value == "":
                self.sheet.write_blank(self.row, number, None, shape)
            elif isinstance(value, str):
                self.sheet.write_string(self.row, number, plain(value), shape)
            else:
                self.sheet.write_number(self.row, number, value, shape)
        self.row += 1


def _lines(column: Column, value: Any) -> int:
    """Lines that a text wraps into: spreadsheets do not work out a row's height when they open a file."""
    if not isinstance(value, str) or column.look not in ("text", "bold"):
        return 1
    room = column.width * (0.85 if column.look == "bold" else 1.0)
    return -(-len(value) // max(1, int(room)))


def plain(text: str) -> str:
    """A text of the list as a cell may hold it."""
    return cut(visible(text))


def patches(swatch: Sequence[str], column: int) -> tuple[tuple[int, str], ...]:
    """Two cells side by side in the colour of a wire: base and tracer."""
    return ((column, swatch[0]), (column + 1, swatch[-1])) if swatch else ()
