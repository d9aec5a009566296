"""A worksheet part: where its rows, cells and other elements stand.

Only rows that are asked for are looked into. Rows and cells may leave out their ``r``; they then follow
the one before.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from .cellrefs import Ranges, parse_cell
from .xmlbytes import (
    Element,
    MalformedPartError,
    attribute,
    children,
    local_name,
    namespaces,
    prepare,
    root_element,
    tag_pattern,
)

__all__ = ["CONTENT", "Row", "SheetLayout"]

_ORDER = (
    b"sheetPr", b"dimension", b"sheetViews", b"sheetFormatPr", b"cols", b"sheetData", b"sheetCalcPr",
    b"sheetProtection", b"protectedRanges", b"scenarios", b"autoFilter", b"sortState", b"dataConsolidate",
    b"customSheetViews", b"mergeCells", b"phoneticPr", b"conditionalFormatting", b"dataValidations",
    b"hyperlinks", b"printOptions", b"pageMargins", b"pageSetup", b"headerFooter", b"rowBreaks",
    b"colBreaks", b"customProperties", b"cellWatches", b"ignoredErrors", b"smartTags", b"drawing",
    b"legacyDrawing", b"legacyDrawingHF", b"drawingHF", b"picture", b"oleObjects", b"controls",
    b"webPublishItems", b"tableParts", b"extLst",
)  # fmt: skip
"""Order of the elements of CT_Worksheet."""

_RANK = {name: rank for rank, name in enumerate(_ORDER)}
_ROW_NUMBER = re.compile(rb"""\sr\s*=\s*["']\s*([0-9]+)""")
CONTENT = re.compile(rb"<(?:[^\s<>/:]+:)?[vt](?:\s[^>]*)?>[^<]")
_FORMULA = re.compile(rb"<(?:[^\s<>/:]+:)?f[\s>]")
_DEFAULT_WIDTH_PX, _DEFAULT_HEIGHT_PX = 64, 20


@dataclass(slots=True)
class Row:
    """Offsets of one row: its tag, and its content (equal for an empty tag)."""

    start: int
    inner: int
    inner_end: int
    end: int
    attributes: bytes
    empty: bool


class SheetLayout:
    """Where things stand in a worksheet.

    Parameters
    ----------
    data : bytes
        The part.
    rows : iterable of int
        One-based rows that will be asked about or marked.
    """

    def __init__(self, data: bytes, rows: Iterable[int]) -> None:
        self._data, self._searched = prepare(data)
        searched = self._searched
        self._root = root_element(searched)
        prefix = self._root.name.rpartition(b":")[0]
        self.prefix = prefix + b":" if prefix else b""
        if local_name(self._root.name) != b"worksheet":
            raise MalformedPartError("it is not a worksheet")
        self._namespaces = namespaces(self._root.attributes)
        self._sheet_data = self._find_sheet_data()
        body = self._sheet_data
        head = children(searched, self._root.inner_start, body.start)
        tail = children(searched, body.end, self._root.inner_end)
        self._parts = [*head, body, *tail]
        self._named = {local_name(part.name): part for part in reversed(self._parts)}
        self._cell = tag_pattern(self.prefix + b"c")
        self._rows: dict[int, Row] = {}
        self._gaps: dict[int, int] = {}
        self._wanted = set(rows)
        self._index_rows(self._wanted)
        self._merged = Ranges()
        self._collect(b"mergeCells", b"mergeCell", self._merged)
        self._widths, self._column_styles = self._read_columns()
        self._row_height = self._read_row_height()

    def _find_sheet_data(self) -> Element:
        name = self.prefix + b"sheetData"
        first = tag_pattern(name).search(self._searched, self._root.inner_start)
        if first is None:
            raise MalformedPartError("it has no sheet data")
        if first.group(2):
            return Element(name, first.start(), first.end(), first.end(), first.end(), first.group(1))
        close = self._searched.rfind(b"</" + name, first.end())
        if close < 0:
            raise MalformedPartError("its sheet data is not closed")
        end = self._searched.index(b">", close) + 1
        return Element(name, first.start(), first.end(), close, end, first.group(1))

    def _index_rows(self, wanted: set[int]) -> None:
        body, searched = self._sheet_data, self._searched
        close = b"</" + self.prefix + b"row"
        missing = sorted(wanted)
        number = 0
        highest = 0
        for tag in tag_pattern(self.prefix + b"row").finditer(searched, body.inner_start, body.inner_end):
            attributes = tag.group(1)
            found = _ROW_NUMBER.search(attributes)
            number = int(found.group(1)) if found else number + 1
            if number > highest:
                # rows that are wanted but not there go in front of the first that lies below them
                while missing and missing[0] < number:
                    gap = missing.pop(0)
                    if gap not in self._rows:
                        self._gaps[gap] = tag.start()
                highest = number
            if number in wanted:
                if missing and missing[0] == number:
                    missing.pop(0)
                self._gaps.pop(number, None)
                if tag.group(2):
                    row = Row(tag.start(), tag.end(), tag.end(), tag.end(), attributes, True)
                else:
                    at = searched.find(close, tag.end(), body.inner_end)
                    if at < 0:
                        raise MalformedPartError("a row is not closed")
                    end = searched.index(b">", at) + 1
                    row = Row(tag.start(), tag.end(), at, end, attributes, False)
                self._rows.setdefault(number, row)
        for gap in missing:
            if gap not in self._rows:
                self._gaps[gap] = body.inner_end

    def _collect(self, outer: bytes, inner: bytes, ranges: Ranges) -> int:
        count = 0
        part = self._named.get(outer)
        if part is not None:
            pattern = tag_pattern(self.prefix + inner)
            for found in pattern.finditer(self._searched, part.inner_start, part.inner_end):
                ranges.add(attribute(found.group(1), b"ref") or "")
                count += 1
        return count

    def _read_columns(self) -> tuple[list[tuple[int, int, int]], list[tuple[int, int, int]]]:
        widths: list[tuple[int, int, int]] = []
        styles: list[tuple[int, int, int]] = []
        part = self._named.get(b"cols")
        if part is not None:
            for column in children(self._searched, part.inner_start, part.inner_end):
                first = int(attribute(column.attributes, b"min") or 1) - 1
                last = int(attribute(column.attributes, b"max") or first + 1) - 1
                width = attribute(column.attributes, b"width")
                hidden = attribute(column.attributes, b"hidden") in ("1", "true")
                if width is not None or hidden:
                    px = 0 if hidden else round(float(width or 9) * 7 + 5)
                    widths.append((first, last, px))
                style = attribute(column.attributes, b"style")
                if style:
                    styles.append((first, last, int(style)))
        return widths, styles

    def _read_row_height(self) -> int:
        part = self._named.get(b"sheetFormatPr")
        height = attribute(part.attributes, b"defaultRowHeight") if part else None
        return max(8, round(float(height) * 4 / 3)) if height else _DEFAULT_HEIGHT_PX

    def want(self, rows: Iterable[int]) -> None:
        """Find further rows that are to be marked."""
        more = set(rows) - self._wanted
        if more:
            self._wanted |= more
            self._index_rows(more)

    def top_left(self, row: int, column: int) -> tuple[int, int]:
        """The cell itself, or the top left one where it is merged with others."""
        return self._merged.find(row, column) or (row, column)

    def first_filled(self, row: int) -> int:
        """Column of the first cell of a row that holds something; 0 if none does."""
        found = self._rows.get(row)
        if found is not None and not found.empty:
            for column, tag in self._cells(found):
                if tag.group(2):
                    continue
                end = self._searched.find(b"</" + self.prefix + b"c>", tag.end(), found.inner_end)
                content = self._searched[tag.end() : end if end >= 0 else found.inner_end]
                if CONTENT.search(content) or _FORMULA.search(content):
                    return column
        return 0

    def _cells(self, row: Row) -> Iterator[tuple[int, re.Match[bytes]]]:
        column = -1
        for tag in self._cell.finditer(self._searched, row.inner, row.inner_end):
            reference = attribute(tag.group(1), b"r")
            place = parse_cell(reference) if reference else None
            column = place[1] if place else column + 1
            yield column, tag

    def column_px(self, column: int) -> int:
        """Width of a column in pixels, for the size of a note."""
        for first, last, px in self._widths:
            if first <= column <= last:
                return px
        return _DEFAULT_WIDTH_PX

    @property
    def row_px(self) -> int:
        """Height in pixels of a row that sets none of its own."""
        return self._row_height

    def row_height_px(self, row: int) -> int:
        """Height of a row in pixels, as far as the row was asked for."""
        found = self._rows.get(row)
        height = attribute(found.attributes, b"ht") if found else None
        return max(1, round(float(height) * 4 / 3)) if height else self._row_height

    @property
    def legacy_drawing(self) -> str | None:
        """Relationship id of the drawing with notes and controls; None if there is none."""
        part = self._named.get(b"legacyDrawing")
        if part is None:
            return None
        for name, _ in self._relationship_prefixes():
            found = attribute(part.attributes, name + b":id")
            if found:
                return found
        for name in namespaces(part.attributes):
            found = attribute(part.attributes, name + b":id")
            if found:
                return found
        return None

    def _relationship_prefixes(self) -> list[tuple[bytes, str]]:
        return [(name, uri) for name, uri in self._namespaces.items() if uri.endswith("/relationships")]

    def _place_for(self, name: bytes) -> int:
        """Offset right after the last element that must come before `name`."""
        at = self._root.inner_start
        for part in self._parts:
            rank = self._rank(part)
            if rank is not None and rank < _RANK[name]:
                at = max(at, part.end)
        return at

    def _rank(self, part: Element) -> int | None:
        rank = _RANK.get(local_name(part.name))
        if rank is None and local_name(part.name) == b"AlternateContent":
            for choice in children(self._searched, part.inner_start, part.inner_end):
                for inner in children(self._searched, choice.inner_start, choice.inner_end):
                    rank = _RANK.get(local_name(inner.name))
                    if rank is not None:
                        return rank
        return rank
