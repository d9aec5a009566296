"""A worksheet part: where its rows and cells stand, and the cuts that mark some of them.

Only rows with a mark are looked into. Rows and cells may leave out their ``r``; they then follow the one
before. All else of the part keeps its bytes.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass

from .cellrefs import Ranges, cell_name, column_letters, parse_cell
from .xmlbytes import (
    Edit,
    Element,
    MalformedPartError,
    apply_edits,
    attribute,
    children,
    escape_attribute,
    insertion_at_end,
    local_name,
    namespaces,
    prepare,
    root_element,
    tag_pattern,
)

__all__ = ["CellChange", "SheetPart", "clear_selected"]

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
_STYLE = re.compile(rb"""(\ss\s*=\s*["'])([^"']*)""")
_SELECTED = re.compile(rb"""(\stabSelected\s*=\s*["'])(?:1|true)(?=["'])""")
_FIRST_VIEW = re.compile(rb"""\sworkbookViewId\s*=\s*["']\s*0*\s*["']""")
_SPANS = re.compile(rb"""(\sspans\s*=\s*["'])\s*([0-9]+):([0-9]+)\s*(?=["'])""")
_CONTENT = re.compile(rb"<(?:[^\s<>/:]+:)?[vt](?:\s[^>]*)?>[^<]")
_FORMULA = re.compile(rb"<(?:[^\s<>/:]+:)?f[\s>]")
_DEFAULT_WIDTH_PX, _DEFAULT_HEIGHT_PX = 64, 20


@dataclass(frozen=True, slots=True)
class CellChange:
    """What becomes of one cell: how its style changes, and where a click on it leads."""

    restyle: Callable[[int], int]
    location: str
    tip: str


@dataclass(slots=True)
class _Row:
    """Offsets of one row: its tag, and its content (equal for an empty tag)."""

    start: int
    inner: int
    inner_end: int
    end: int
    attributes: bytes
    empty: bool


class SheetPart:
    """A worksheet to be marked.

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
        self._rows: dict[int, _Row] = {}
        self._gaps: dict[int, int] = {}
        self._wanted = set(rows)
        self._index_rows(self._wanted)
        self._linkable: set[tuple[int, int]] = set()
        self._merged = Ranges()
        self._collect(b"mergeCells", b"mergeCell", self._merged)
        self._widths, self._column_styles = self._read_columns()
        self._row_height = self._read_row_height()

    # -- finding ---------------------------------------------------------------------------------------

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
                    row = _Row(tag.start(), tag.end(), tag.end(), tag.end(), attributes, True)
                else:
                    at = searched.find(close, tag.end(), body.inner_end)
                    if at < 0:
                        raise MalformedPartError("a row is not closed")
                    end = searched.index(b">", at) + 1
                    row = _Row(tag.start(), tag.end(), at, end, attributes, False)
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

    # -- asking ----------------------------------------------------------------------------------------

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
                if _CONTENT.search(content) or _FORMULA.search(content):
                    return column
        return 0

    def _cells(self, row: _Row) -> Iterator[tuple[int, re.Match[bytes]]]:
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

    # -- changing --------------------------------------------------------------------------------------

    def mark(
        self,
        changes: Mapping[tuple[int, int], CellChange],
        most_links: int,
        drawing: tuple[str, str] | None,
        unselect: bool,
    ) -> Iterator[memoryview | bytes]:
        """The part with cells marked, in pieces.

        Parameters
        ----------
        changes : mapping
            By row and column.
        most_links : int
            How many hyperlinks the sheet may hold in all.
        drawing : tuple of (str, str), optional
            Relationship id and relationships namespace of a legacy drawing to add.
        unselect : bool
            Whether the sheet's tab is no longer to be the selected one.
        """
        edits: list[Edit] = []
        by_row: dict[int, list[int]] = {}
        for row, column in sorted(changes):
            by_row.setdefault(row, []).append(column)
        for row, columns in by_row.items():
            styles = {column: changes[row, column].restyle for column in columns}
            if row in self._rows:
                edits.extend(self._row_edits(row, styles))
            else:
                edits.append(self._new_row(row, styles))
        if self._sheet_data.empty_tag and by_row:
            new = b"".join(edit[2] for edit in edits)
            edits = [insertion_at_end(self._sheet_data, new)]
        edits.extend(self._link_edits(changes, most_links))
        if drawing is not None:
            edits.append(self._drawing_edit(*drawing))
        if unselect:
            edits.extend(clear_selected(self._searched[: self._sheet_data.start]))
        return apply_edits(self._data, edits)

    def _row_edits(self, number: int, styles: Mapping[int, Callable[[int], int]]) -> Iterator[Edit]:
        row = self._rows[number]
        if row.empty:
            cells = b"".join(self._new_cell(number, column, styles, row.attributes) for column in styles)
            tag = b"<" + self.prefix + b"row" + _spanning(row.attributes, styles) + b">"
            yield row.start, row.end, tag + cells + b"</" + self.prefix + b"row>"
            return
        missing = []
        for column, restyle in styles.items():
            at = self._find_cell(row, cell_name(number, column).encode())
            if at is None:
                missing.append(column)
            else:
                self._note_content(number, column, at, row)
                yield self._restyled(at, restyle)
        if missing:
            yield from self._fill_gaps(number, row, missing, styles)

    def _find_cell(self, row: _Row, name: bytes) -> re.Match[bytes] | None:
        """The tag of a cell that states its reference, found without looking at its neighbours."""
        needle = b'r="' + name + b'"'
        at = self._searched.find(needle, row.inner, row.inner_end)
        while at >= 0:
            start = max(self._searched.rfind(b"<", row.inner, at), row.inner)
            tag = self._cell.match(self._searched, start, row.inner_end)
            if tag is not None and tag.end() > at and self._searched[at - 1 : at].isspace():
                return tag
            at = self._searched.find(needle, at + 1, row.inner_end)
        return None

    def _note_content(self, number: int, column: int, tag: re.Match[bytes], row: _Row) -> None:
        """Remember a cell that holds a value.

        Only such cells get a link: cell libraries that read a link on an empty cell give its address as
        the cell's value, and a list read back from the redline must have the values it had.
        """
        if not tag.group(2):
            end = self._searched.find(b"</" + self.prefix + b"c>", tag.end(), row.inner_end)
            end = end if end >= 0 else row.inner_end
            hidden = self._data[tag.end() : end] != self._searched[tag.end() : end]  # text in CDATA
            if hidden or _CONTENT.search(self._searched, tag.end(), end):
                self._linkable.add((number, column))

    def _restyled(self, tag: re.Match[bytes], restyle: Callable[[int], int]) -> Edit:
        attributes = tag.group(1)
        found = _STYLE.search(attributes)
        if found is None:
            at = tag.start(1)
            return at, at, b' s="%d"' % restyle(0)
        base = int(found.group(2)) if found.group(2).strip().isdigit() else 0
        return tag.start(1) + found.start(2), tag.start(1) + found.end(2), b"%d" % restyle(base)

    def _fill_gaps(
        self, number: int, row: _Row, missing: list[int], styles: Mapping[int, Callable[[int], int]]
    ) -> Iterator[Edit]:
        cells = list(self._cells(row))
        known = dict(cells)
        created = False
        # a cell without a reference directly follows its neighbour, so no gap is ever in front of one
        for column in sorted(missing):
            if column in known:  # it is there, but says so in another way than r="C12"
                self._note_content(number, column, known[column], row)
                yield self._restyled(known[column], styles[column])
                continue
            created = True
            after = next((tag.start() for other, tag in cells if other > column), None)
            if after is None:
                after = self._end_of_cell(cells[-1][1], row) if cells else row.inner
            yield after, after, self._new_cell(number, column, styles, row.attributes)
        if created:
            spanned = _spanning(row.attributes, styles)
            if spanned != row.attributes:
                at = row.start + 1 + len(self.prefix) + 3
                yield at, at + len(row.attributes), spanned

    def _end_of_cell(self, tag: re.Match[bytes], row: _Row) -> int:
        if tag.group(2):
            return tag.end()
        close = self._searched.find(b"</" + self.prefix + b"c", tag.end(), row.inner_end)
        if close < 0:
            raise MalformedPartError("a cell is not closed")
        return self._searched.index(b">", close) + 1

    def _new_cell(
        self, number: int, column: int, styles: Mapping[int, Callable[[int], int]], row_attributes: bytes
    ) -> bytes:
        base = 0
        if attribute(row_attributes, b"customFormat") in ("1", "true"):
            base = int(attribute(row_attributes, b"s") or 0)
        else:
            base = next((s for first, last, s in self._column_styles if first <= column <= last), 0)
        name = column_letters(column).encode() + b"%d" % number
        return b'<%sc r="%s" s="%d"/>' % (self.prefix, name, styles[column](base))

    def _new_row(self, number: int, styles: Mapping[int, Callable[[int], int]]) -> Edit:
        cells = b"".join(self._new_cell(number, column, styles, b"") for column in sorted(styles))
        at = self._gaps[number]
        return at, at, b'<%srow r="%d">%s</%srow>' % (self.prefix, number, cells, self.prefix)

    def _link_edits(self, changes: Mapping[tuple[int, int], CellChange], most: int) -> list[Edit]:
        taken = Ranges()
        have = self._collect(b"hyperlinks", b"hyperlink", taken)
        links: list[bytes] = []
        for (row, column), change in sorted(changes.items(), key=lambda item: item[0]):
            if have + len(links) >= most:
                break
            if change.location and (row, column) in self._linkable and taken.find(row, column) is None:
                links.append(
                    b'<%shyperlink ref="%s" location="%s" tooltip="%s"/>'
                    % (
                        self.prefix,
                        cell_name(row, column).encode(),
                        escape_attribute(change.location),
                        escape_attribute(change.tip[:255]),
                    )
                )
        if not links:
            return []
        part = self._named.get(b"hyperlinks")
        if part is not None:
            return [insertion_at_end(part, b"".join(links))]
        at = self._place_for(b"hyperlinks")
        name = self.prefix + b"hyperlinks"
        return [(at, at, b"<%s>%s</%s>" % (name, b"".join(links), name))]

    def _drawing_edit(self, name: str, namespace: str) -> Edit:
        at = self._place_for(b"legacyDrawing")
        prefix = next((known for known, uri in self._relationship_prefixes() if uri == namespace), None)
        declared = b"" if prefix else b' xmlns:r="%s"' % escape_attribute(namespace)
        return (
            at,
            at,
            b'<%slegacyDrawing%s %s:id="%s"/>' % (self.prefix, declared, prefix or b"r", name.encode()),
        )

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


def _spanning(attributes: bytes, columns: Iterable[int]) -> bytes:
    """Row attributes whose ``spans`` takes in the columns."""
    found = _SPANS.search(attributes)
    if found is None:
        return attributes
    wide = [column + 1 for column in columns]
    first, last = min(int(found.group(2)), *wide), max(int(found.group(3)), *wide)
    return attributes[: found.end(1)] + b"%d:%d" % (first, last) + attributes[found.end() :]


def clear_selected(head: bytes) -> list[Edit]:
    """Edits that take the selection from a sheet's tab in the first window.

    Two selected tabs would open as a group, in which whatever is typed lands on both sheets.
    """
    edits: list[Edit] = []
    for view in re.finditer(rb"<(?:[^\s<>/:]+:)?sheetView(?=\s)((?:[^>\"']|\"[^\"]*\"|'[^']*')*)>", head):
        found = _SELECTED.search(view.group(1))
        if found and _FIRST_VIEW.search(view.group(1)):
            at = view.start(1) + found.end(1)
            edits.append((at, view.start(1) + found.end(), b"0"))
    return edits
