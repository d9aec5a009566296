"""The cuts that mark cells of a worksheet: their style, a link on each, and the drawing of their notes.

All else of the part keeps its bytes.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass

from .cellrefs import Ranges, cell_name, column_letters
from .sheetlayout import CONTENT, Row, SheetLayout
from .xmlbytes import (
    Edit,
    MalformedPartError,
    apply_edits,
    attribute,
    escape_attribute,
    insertion_at_end,
    local_name,
)

__all__ = ["CellChange", "SheetPart", "clear_selected"]

_STYLE = re.compile(rb"""(\ss\s*=\s*["'])([^"']*)""")
_SELECTED = re.compile(rb"""(\stabSelected\s*=\s*["'])(?:1|true)(?=["'])""")
_FIRST_VIEW = re.compile(rb"""\sworkbookViewId\s*=\s*["']\s*0*\s*["']""")
_SPANS = re.compile(rb"""(\sspans\s*=\s*["'])\s*([0-9]+):([0-9]+)\s*(?=["'])""")


_PRIORITY = re.compile(
    rb"<(?:[^\s<>/:]+:)?cfRule\b(?:\s+[^\s=>/\"']+\s*=\s*(?:\"[^\"]*\"|'[^']*'))*?"
    rb"\s+priority\s*=\s*[\"']\s*([0-9]+)"
)
_EXTENDED_AREA = re.compile(
    rb"(?:</(?:[^\s<>/:]+:)?cfRule|<(?:[^\s<>/:]+:)?cfRule\b[^<>]*/)\s*>\s*<(?:[^\s<>/:]+:)?sqref>([^<]*)</"
)
_CELLS_PER_FORMAT = 500


@dataclass(frozen=True, slots=True)
class CellChange:
    """What becomes of one cell: how its style changes, and where a click on it leads.

    Parameters
    ----------
    restyle : callable
        Index of the marked look from that of the present one.
    overlay : callable
        Index of the conditional look to lay over the conditional formats of the source.
    location, tip : str
        Where a click leads, and what is said of it.
    """

    restyle: Callable[[int], int]
    overlay: Callable[[], int]
    location: str
    tip: str


class SheetPart(SheetLayout):
    """A worksheet to be marked.

    Parameters
    ----------
    data : bytes
        The part.
    rows : iterable of int
        One-based rows that will be asked about or marked.
    """

    def __init__(self, data: bytes, rows: Iterable[int]) -> None:
        super().__init__(data, rows)
        self._linkable: set[tuple[int, int]] = set()

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
        edits.extend(self._overlay_edits(changes))
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

    def _find_cell(self, row: Row, name: bytes) -> re.Match[bytes] | None:
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

    def _note_content(self, number: int, column: int, tag: re.Match[bytes], row: Row) -> None:
        """Remember a cell that holds a value.

        Only such cells get a link: cell libraries that read a link on an empty cell give its address as
        the cell's value, and a list read back from the redline must have the values it had.
        """
        if not tag.group(2):
            end = self._searched.find(b"</" + self.prefix + b"c>", tag.end(), row.inner_end)
            end = end if end >= 0 else row.inner_end
            hidden = self._data[tag.end() : end] != self._searched[tag.end() : end]  # text in CDATA
            if hidden or CONTENT.search(self._searched, tag.end(), end):
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
        self, number: int, row: Row, missing: list[int], styles: Mapping[int, Callable[[int], int]]
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

    def _end_of_cell(self, tag: re.Match[bytes], row: Row) -> int:
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

    def _overlay_edits(self, changes: Mapping[tuple[int, int], CellChange]) -> Iterator[Edit]:
        """Let marks show on cells whose conditional format would hide their fill.

        Each such cell gets a conditional format of its own before all others, whose order among
        themselves stays: their priorities all move by as many as are added.
        """
        formatted = self._formatted()
        by_look: dict[int, list[str]] = {}
        for (row, column), change in sorted(changes.items(), key=lambda item: item[0]):
            if formatted.find(row, column) is not None:
                by_look.setdefault(change.overlay(), []).append(cell_name(row, column))
        pieces = []
        for look, cells in by_look.items():
            for start in range(0, len(cells), _CELLS_PER_FORMAT):
                pieces.append((look, " ".join(cells[start : start + _CELLS_PER_FORMAT])))
        if not pieces:
            return
        at = self._place_for(b"conditionalFormatting")
        x = self.prefix
        new = b"".join(
            b'<%sconditionalFormatting sqref="%s"><%scfRule type="expression" dxfId="%d" priority="%d">'
            b"<%sformula>TRUE</%sformula></%scfRule></%sconditionalFormatting>"
            % (x, area.encode(), x, look, priority, x, x, x, x)
            for priority, (look, area) in enumerate(pieces, 1)
        )
        yield at, at, new
        for rule in _PRIORITY.finditer(self._searched, self._sheet_data.end):
            number = int(rule.group(1)) + len(pieces)
            yield rule.start(1), rule.end(1), b"%d" % number

    def _formatted(self) -> Ranges:
        """Ranges under conditional formats, those of the extension list included."""
        ranges = Ranges()
        for part in self._parts:
            if local_name(part.name) == b"conditionalFormatting":
                ranges.add(attribute(part.attributes, b"sqref") or "")
        tail = self._searched[self._sheet_data.end :]
        for found in _EXTENDED_AREA.finditer(tail):
            ranges.add(found.group(1).decode("utf-8", "replace"))
        return ranges

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
