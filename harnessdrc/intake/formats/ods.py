"""Sheets of an OpenDocument spreadsheet (.ods), read straight from its XML.

The general cell reader loses line breaks and tabs inside a cell, merged areas and error values of this
format, so it is read here, in one pass of a streaming parser. A repeat count on empty cells and rows
(programs write one up to the last row a sheet can have) costs nothing; a repeat count on filled cells
is added up before anything is made of it.
"""

from __future__ import annotations

import dataclasses
import datetime
import re
from math import isfinite
from xml.parsers import expat

from harnessdrc.intake.formats import limits
from harnessdrc.intake.formats.package import Package, damaged, password_protected, too_large
from harnessdrc.intake.grid import Cell, Grid, number
from harnessdrc.places import cell_name

__all__ = ["read_ods"]

_TABLE = "urn:oasis:names:tc:opendocument:xmlns:table:1.0 "
_OFFICE = "urn:oasis:names:tc:opendocument:xmlns:office:1.0 "
_TEXT = "urn:oasis:names:tc:opendocument:xmlns:text:1.0 "
_STYLE = "urn:oasis:names:tc:opendocument:xmlns:style:1.0 "
_DRAW = "urn:oasis:names:tc:opendocument:xmlns:drawing:1.0 "
_CALC = "urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0 "
_CELLS = frozenset({_TABLE + "table-cell", _TABLE + "covered-table-cell"})
_SKIPPED = frozenset({_OFFICE + "annotation", _TEXT + "ruby-text", _TEXT + "note"})
_BLANKS = re.compile("[ \t\r\n]+")
_DURATION = re.compile(r"(-?)P(?:(\d{1,9})D)?(?:T(?:(\d{1,9})H)?(?:(\d{1,9})M)?(?:(\d{1,9})(?:[.,](\d{1,18}))?S)?)?")
_DAY = datetime.timedelta(days=1)


def read_ods(package: Package) -> list[Grid]:
    """Sheets in their order.

    Raises
    ------
    FileUnreadableError
        If the file needs a password, is damaged, or says it has more cells than are allowed.
    """
    if "META-INF/manifest.xml" in package and b"encryption-data" in package.read("META-INF/manifest.xml"):
        raise password_protected(package.file)
    reader = _Reader(package.file)
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    parser.StartElementHandler = reader.start
    parser.EndElementHandler = reader.end
    parser.CharacterDataHandler = reader.data
    try:
        for piece in package.pieces("content.xml", b"<"):
            package.refuse_declarations("content.xml", piece, doctype=False)
            parser.Parse(piece, False)
        parser.Parse(b"", True)
    except (expat.ExpatError, ValueError, OverflowError) as fault:
        raise damaged(package.file, "its part 'content.xml' is not well formed") from fault
    if reader.calculated:
        # An empty text as result is saved as no value at all; so where one formula has a value, all have.
        return [dataclasses.replace(grid, formulas_without_value=()) for grid in reader.grids]
    return reader.grids


class _Reader:
    """Handlers of a streaming XML parser that build the grids."""

    def __init__(self, file: str) -> None:
        self.grids: list[Grid] = []
        self.calculated = False
        self._file = file
        self._hidden_styles: set[str] = set()
        self._style = ""
        self._skip_depth = 0
        self._cells = self._area = 0
        self._known: dict[str, str | None] = {}
        self._table_depth = 0
        self._paragraphs: list[str] | None = None
        self._text: list[str] | None = None
        self._cell: dict[str, str] | None = None

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        """An element opens."""
        if self._skip_depth:
            self._skip_depth += 1
        elif tag in _CELLS:
            if self._table_depth == 1:
                if not self._in_row:
                    raise ValueError("a cell outside a row")
                self._cell = attributes
                self._paragraphs = []
        elif tag == _TEXT + "p":
            if self._cell is not None:
                self._text = []
        elif tag == _TABLE + "table-row":
            if self._table_depth == 1:
                self._start_row(attributes)
        elif tag == _TABLE + "table":
            self._start_table(attributes)
        elif self._table_depth:
            self._start_inside_table(tag, attributes)
        elif tag == _STYLE + "style":
            self._style = attributes.get(_STYLE + "name", "")
        elif tag == _STYLE + "table-properties" and attributes.get(_TABLE + "display") == "false":
            self._hidden_styles.add(self._style)

    def _start_inside_table(self, tag: str, attributes: dict[str, str]) -> None:
        if tag in _SKIPPED:
            self._skip_depth = 1
        elif tag.startswith(_DRAW) or tag == _TABLE + "shapes":
            self._drawings = True
            self._skip_depth = 1
        elif tag == _TABLE + "table-source":
            self._linked = True
        elif self._text is None:
            return
        elif tag == _TEXT + "s":
            self._text.append(" " * min(_count(attributes.get(_TEXT + "c")), limits.MAX_FIELD_CHARACTERS))
        elif tag == _TEXT + "tab":
            self._text.append("\t")
        elif tag == _TEXT + "line-break":
            self._text.append("\n")

    def data(self, text: str) -> None:
        """Characters between tags."""
        if self._text is not None and not self._skip_depth:
            self._text.append(_BLANKS.sub(" ", text))

    def end(self, tag: str) -> None:
        """An element closes."""
        if self._skip_depth:
            self._skip_depth -= 1
        elif tag == _TEXT + "p":
            if self._text is not None and self._paragraphs is not None:
                self._paragraphs.append("".join(self._text))
                self._text = None
        elif tag in _CELLS:
            if self._table_depth == 1 and self._cell is not None:
                self._end_cell(self._cell)
                self._cell = self._paragraphs = None
        elif tag == _TABLE + "table-row":
            if self._table_depth == 1:
                self._end_row()
        elif tag == _TABLE + "table":
            self._end_table()

    def _start_table(self, attributes: dict[str, str]) -> None:
        self._table_depth += 1
        if self._table_depth > 1:
            return
        if len(self.grids) >= limits.MAX_SHEETS:
            raise too_large(self._file, f"it has more than {limits.MAX_SHEETS:,} sheets")
        self._sheet = attributes.get(_TABLE + "name", "")
        self._hidden = attributes.get(_TABLE + "style-name", "") in self._hidden_styles
        self._in_row = False
        self._rows: list[list[Cell]] = []
        self._empty_rows = 0
        self._merged: list[tuple[int, int, int, int]] = []
        self._without_value: list[str] = []
        self._drawings = self._linked = False

    def _end_table(self) -> None:
        self._table_depth -= 1
        if self._table_depth or (self._linked and self._sheet.startswith("'file:")):
            return  # a table inside a cell, or the saved copy of another file's cells
        self.grids.append(
            Grid(
                file=self._file,
                sheet=self._sheet,
                rows=self._rows,
                merged=tuple(self._merged),
                hidden=self._hidden,
                formulas_without_value=tuple(self._without_value),
                drawings=self._drawings,
            )
        )

    def _start_row(self, attributes: dict[str, str]) -> None:
        if self._in_row:
            raise ValueError("a row inside a row")
        self._in_row = True
        self._row: list[Cell] = []
        self._column = 0
        self._row_cells = 0
        self._row_repeat = _count(attributes.get(_TABLE + "number-rows-repeated"))

    def _end_row(self) -> None:
        row, repeat = self._row, self._row_repeat
        self._in_row = False
        if not row:
            self._empty_rows += repeat
            return
        number = len(self._rows) + self._empty_rows + repeat
        if number > limits.MAX_ROWS:
            raise damaged(self._file, f"a cell stands in row {number:,}, which no sheet has", sheet=self._sheet)
        self._cells += self._row_cells * repeat
        self._area += len(row) * repeat
        if self._cells > limits.MAX_CELLS or self._area > limits.MAX_BOX_CELLS:
            raise too_large(
                self._file,
                f"its filled cells reach out to row {number:,} with {len(row):,} columns",
                sheet=self._sheet,
                cell=cell_name(number, len(row) - 1),
                remedy="Delete the cells far out that do not belong to the list and save.",
            )
        self._rows.extend([] for _ in range(self._empty_rows))
        self._empty_rows = 0
        self._rows.append(row)
        self._rows.extend(list(row) for _ in range(repeat - 1))

    def _end_cell(self, attributes: dict[str, str]) -> None:
        repeat = _count(attributes.get(_TABLE + "number-columns-repeated"))
        value = self._value(attributes) if self._paragraphs or attributes else None
        if _TABLE + "formula" in attributes and _OFFICE + "value-type" in attributes:
            self.calculated = True
        row_number = len(self._rows) + self._empty_rows + 1
        if _TABLE + "number-columns-spanned" in attributes or _TABLE + "number-rows-spanned" in attributes:
            wide = _count(attributes.get(_TABLE + "number-columns-spanned"))
            high = _count(attributes.get(_TABLE + "number-rows-spanned"))
            if wide > 1 or high > 1:
                self._merged.append((row_number, self._column, row_number + high - 1, self._column + wide - 1))
        if value is None:
            if _TABLE + "formula" in attributes and _OFFICE + "value-type" not in attributes:
                self._without_value.append(cell_name(row_number, self._column))
            self._column += repeat
            return
        if self._column + repeat > limits.MAX_COLUMNS:
            raise damaged(self._file, "a cell stands beyond column XFD, the last a sheet has", sheet=self._sheet)
        self._row.extend([None] * (self._column - len(self._row)))
        self._row.extend([value] * repeat)
        self._column += repeat
        self._row_cells += repeat

    def _value(self, attributes: dict[str, str]) -> Cell:
        kind = attributes.get(_OFFICE + "value-type")
        if attributes.get(_CALC + "value-type") != "error":
            if kind in ("float", "percentage", "currency"):
                value = float(attributes.get(_OFFICE + "value", "nan"))
                if isfinite(value):
                    return number(value)
            elif kind == "boolean":
                return attributes.get(_OFFICE + "boolean-value") == "true"
            elif kind == "date":
                moment = _moment(attributes.get(_OFFICE + "date-value", ""))
                if moment is not None:
                    return moment
            elif kind == "time":
                duration = _duration(attributes.get(_OFFICE + "time-value", ""))
                if duration is not None:
                    return duration
        text = attributes.get(_OFFICE + "string-value") or "\n".join(self._paragraphs or ())
        try:
            return self._known[text]
        except KeyError:
            kept = self._known[text] = text if text.strip() else None
            return kept


def _count(text: str | None) -> int:
    """A repeat or span count; absent or senseless counts as one."""
    return max(1, int(text)) if text and text.isdecimal() and len(text) < 12 else 1


def _moment(text: str) -> datetime.date | datetime.datetime | None:
    try:
        if "T" in text:
            return datetime.datetime.fromisoformat(text)
        return datetime.date.fromisoformat(text)
    except ValueError:
        return None


def _duration(text: str) -> datetime.time | datetime.timedelta | None:
    match = _DURATION.fullmatch(text)
    if match is None:
        return None
    sign, days, hours, minutes, seconds, fraction = match.groups()
    try:
        span = datetime.timedelta(
            days=int(days or 0),
            hours=int(hours or 0),
            minutes=int(minutes or 0),
            seconds=int(seconds or 0),
            microseconds=int(((fraction or "") + "000000")[:6]),
        )
    except OverflowError:
        return None
    if sign:
        return -span
    return (datetime.datetime.min + span).time() if span < _DAY else span
