"""An added sheet: its cells as plain values with a look, written as sheet XML.

Text is always an inline string, so that nothing from a list can become a formula; links lead to places
within the workbook only.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import NamedTuple, Protocol

from .cellrefs import cell_name, column_letters
from .celltext import xml_text
from .looks import Look
from .stylesheet import Stylesheet
from .xmlbytes import escape_attribute

__all__ = ["LINKS_PER_SHEET", "Page", "PageCell", "RowBlock", "sheet_reference"]

_LEAST_ROW_PT, _MOST_ROW_PT = 15.0, 400.0
LINKS_PER_SHEET = 65_530
"""Hyperlinks that spreadsheets take per sheet."""


def sheet_reference(sheet: str, cell: str) -> str:
    """Where a link to a cell leads: ``'Wire list'!C12``."""
    return "'" + sheet.replace("'", "''") + "'!" + cell


class PageCell(NamedTuple):
    """A cell of a page: a value, its look, and the place in the workbook it leads to.

    A page of undecided subjects may have half a million of them, and a tuple is made three times as fast
    as a frozen dataclass.
    """

    value: str | int | float | None
    look: Look
    link: str = ""
    tip: str = ""


class RowBlock(Protocol):
    """Rows of a page that are written in bulk, too many to be made of cells."""

    @property
    def count(self) -> int:
        """Number of rows."""

    def rows(self, first: int, styles: Stylesheet) -> Iterator[bytes]:
        """The rows as elements, in pieces; `first` is the number of the first of them."""

    def links(self, first: int, most: int) -> Iterator[bytes]:
        """Hyperlink elements of the rows, `most` of them at the most."""


@dataclass(slots=True)
class Page:
    """An added sheet.

    Parameters
    ----------
    name : str
        Of the sheet, as it stands on its tab.
    widths : list of float
        Of the columns, in characters.
    tab_colour : str
        RRGGBB.
    footer : str
        Said at the foot of every printed page.
    heading_row : int
        One-based row of the headings: frozen above, repeated in print. 0 for none.
    repeated_row : int, optional
        Row that is repeated in print instead, on the pages after it; 0 for none.
    filtered_to : int
        Last row of the range with filter buttons; 0 for none.
    done_column : int or None
        Zero-based column whose cells offer a drop-down of open and ticked boxes.
    blank : Look, optional
        Look of the cells without a value below the headings.
    frozen_columns : int
        Columns that stay in view when the sheet is moved sideways.
    """

    name: str
    widths: list[float]
    tab_colour: str
    footer: str
    heading_row: int = 0
    repeated_row: int | None = None
    filtered_to: int = 0
    done_column: int | None = None
    blank: Look | None = None
    frozen_columns: int = 0
    done_rows: list[int] = field(default_factory=list)
    _rows: list[tuple[list[PageCell | None], float] | RowBlock] = field(default_factory=list)
    _merges: list[str] = field(default_factory=list)
    _breaks: list[int] = field(default_factory=list)
    _count: int = 0

    @property
    def next_row(self) -> int:
        """One-based number of the row that is added next."""
        return self._count + 1

    def add(self, cells: list[PageCell | None], height_pt: float = 0) -> int:
        """Add a row; gives its number. A height of 0 lets the row fit its text."""
        self._rows.append((cells, height_pt))
        self._count += 1
        return self._count

    def add_block(self, block: RowBlock) -> int:
        """Add rows in bulk; gives the number of the first one."""
        first = self.next_row
        self._rows.append(block)
        self._count += block.count
        return first

    def across(self, value: str, look: Look, height_pt: float = 0) -> int:
        """Add a row with one text across all columns."""
        cells: list[PageCell | None] = [PageCell(value, look)]
        cells += [PageCell(None, look)] * (len(self.widths) - 1)
        row = self.add(cells, height_pt or self._height_of(value, look))
        self._merges.append(f"A{row}:{cell_name(row, len(self.widths) - 1)}")
        return row

    def merge(self, row: int, first: int, last: int) -> None:
        """Make one cell of those of a row from zero-based column `first` to `last`; its text is not fitted."""
        if last > first:
            self._merges.append(f"{cell_name(row, first)}:{cell_name(row, last)}")

    def break_before(self, row: int) -> None:
        """Start a new page with a row when printed."""
        if row > 1:
            self._breaks.append(row - 1)

    def _height_of(self, text: str, look: Look) -> float:
        """Height for merged text, which no spreadsheet fits by itself."""
        return round(look.lines(text, sum(self.widths)) * look.line_pt + 6, 1)

    @property
    def _last_row(self) -> int:
        return max(1, self._count)

    @property
    def title_rows(self) -> tuple[int, int] | None:
        """Rows repeated on every printed page."""
        row = self.heading_row if self.repeated_row is None else self.repeated_row
        return (row, row) if row else None

    @property
    def filtered(self) -> str:
        """Range with filter buttons; empty for none."""
        if not self.heading_row or self.filtered_to <= self.heading_row:
            return ""
        return f"A{self.heading_row}:{cell_name(self.filtered_to, len(self.widths) - 1)}"

    def xml(self, styles: Stylesheet, namespace: str, selected: bool) -> Iterator[bytes]:
        """The sheet part, in pieces."""
        last = cell_name(self._last_row, max(0, len(self.widths) - 1))
        yield (
            '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
            f'<worksheet xmlns="{namespace}"><sheetPr><tabColor rgb="FF{self.tab_colour}"/>'
            f'<pageSetUpPr fitToPage="1"/></sheetPr><dimension ref="A1:{last}"/>'
            f'{self._view(selected)}<sheetFormatPr defaultRowHeight="15"/><cols>'
        ).encode()
        for number, width in enumerate(self.widths, 1):
            yield b'<col min="%d" max="%d" width="%.2f" customWidth="1"/>' % (number, number, width)
        yield b"</cols><sheetData>"
        links: list[bytes] = []
        writer = _RowWriter(self.widths, styles, links)
        blank = styles.look(self.blank) if self.blank else -1
        number = 1
        for entry in self._rows:
            if not isinstance(entry, tuple):
                yield from entry.rows(number, styles)
                links.extend(entry.links(number, LINKS_PER_SHEET - len(links)))
                number += entry.count
                continue
            cells, height = entry
            below = bool(self.heading_row) and number > self.heading_row
            yield writer.row(number, cells, height, blank if below else -1)
            number += 1
        yield b"</sheetData>"
        yield self._tail(links).encode()

    def _view(self, selected: bool) -> str:
        chosen = ' tabSelected="1"' if selected else ""
        if not self.heading_row:
            return f'<sheetViews><sheetView{chosen} workbookViewId="0"/></sheetViews>'
        below = cell_name(self.heading_row + 1, self.frozen_columns)
        sideways = f'xSplit="{self.frozen_columns}" ' if self.frozen_columns else ""
        pane = "bottomRight" if sideways else "bottomLeft"
        return (
            f'<sheetViews><sheetView{chosen} workbookViewId="0"><pane {sideways}ySplit="{self.heading_row}" '
            f'topLeftCell="{below}" activePane="{pane}" state="frozen"/>'
            f'<selection pane="{pane}" activeCell="{below}" sqref="{below}"/></sheetView></sheetViews>'
        )

    def _tail(self, links: list[bytes]) -> str:
        parts = []
        if self.filtered:
            parts.append(f'<autoFilter ref="{self.filtered}"/>')
        if self._merges:
            merged = "".join(f'<mergeCell ref="{one}"/>' for one in self._merges)
            parts.append(f'<mergeCells count="{len(self._merges)}">{merged}</mergeCells>')
        if self.done_column is not None and self.done_rows:
            letters = column_letters(self.done_column)
            area = f"{letters}{min(self.done_rows)}:{letters}{max(self.done_rows)}"
            parts.append(
                '<dataValidations count="1"><dataValidation type="list" allowBlank="1" '
                f'showErrorMessage="0" sqref="{area}"><formula1>"☐,☑"</formula1></dataValidation>'
                "</dataValidations>"
            )
        if links:
            parts.append("<hyperlinks>" + b"".join(links).decode() + "</hyperlinks>")
        said = escape_attribute("&L" + _footer(self.footer) + "&RPage &P of &N").decode()
        parts.append(
            '<pageMargins left="0.4" right="0.4" top="0.5" bottom="0.6" header="0.3" footer="0.3"/>'
            '<pageSetup paperSize="9" orientation="landscape" fitToWidth="1" fitToHeight="0"/>'
            f"<headerFooter><oddFooter>{said}</oddFooter></headerFooter>"
        )
        if self._breaks:
            count = len(self._breaks)
            breaks = "".join(f'<brk id="{row}" max="16383" man="1"/>' for row in self._breaks)
            parts.append(f'<rowBreaks count="{count}" manualBreakCount="{count}">{breaks}</rowBreaks>')
        whole = f"A1:{cell_name(self._last_row, max(0, len(self.widths) - 1))}"
        parts.append(f'<ignoredErrors><ignoredError sqref="{whole}" numberStoredAsText="1"/></ignoredErrors>')
        return "".join(parts) + "</worksheet>"


class _RowWriter:
    """Writes rows of one page; what depends on look and column alone is worked out once."""

    def __init__(self, widths: list[float], styles: Stylesheet, links: list[bytes]) -> None:
        self._widths = widths
        self._letters = [column_letters(column) for column in range(len(widths))]
        self._styles = styles
        self._links = links
        self._known: dict[tuple[int, int], tuple[int, float]] = {}

    def _look(self, look: Look, column: int) -> tuple[int, float]:
        # by identity, as hashing a look costs more than writing a cell; the page keeps its looks alive
        room = look.room(self._widths[column]) if look.wrap else math.inf
        known = self._known[id(look), column] = (self._styles.look(look), room)
        return known

    def row(self, number: int, cells: list[PageCell | None], height: float, blank: int) -> bytes:
        """One row; `blank` is the style of cells without a value, -1 for none."""
        written = []
        fitted = _LEAST_ROW_PT
        count = len(cells)
        for column, letters in enumerate(self._letters):
            cell = cells[column] if column < count else None
            if cell is None:
                if blank >= 0:
                    written.append(f'<c r="{letters}{number}" s="{blank}"/>')
                continue
            value, look, link, tip = cell
            style, room = self._known.get((id(look), column)) or self._look(look, column)
            if isinstance(value, str):
                if value and (len(value) > room or "\n" in value):
                    lines = look.lines(value, self._widths[column]) if look.wrap else 1
                    fitted = max(fitted, lines * look.line_pt + 4)
                written.append(
                    f'<c r="{letters}{number}" s="{style}" t="inlineStr"><is><t xml:space="preserve">'
                    f"{xml_text(value)}</t></is></c>"
                    if value
                    else f'<c r="{letters}{number}" s="{style}"/>'
                )
            elif value is None:
                written.append(f'<c r="{letters}{number}" s="{style}"/>')
            else:
                written.append(f'<c r="{letters}{number}" s="{style}"><v>{value!r}</v></c>')
            if link and len(self._links) < LINKS_PER_SHEET:
                self._links.append(
                    b'<hyperlink ref="%s%d" location="%s" tooltip="%s"/>'
                    % (letters.encode(), number, escape_attribute(link), escape_attribute(tip or "Show it"))
                )
        # fitted rows go without customHeight, so that a program that fits them itself may still do so
        size = f' ht="{height:g}" customHeight="1"' if height else f' ht="{min(fitted, _MOST_ROW_PT):.1f}"'
        return f'<row r="{number}"{size}>{"".join(written)}</row>'.encode()


def _footer(text: str) -> str:
    """Text for a page's foot: the sign that starts a code doubled, and short enough for the 255 allowed."""
    return text[:180].replace("&", "&&")
