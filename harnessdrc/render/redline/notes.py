"""Notes of a sheet: the comments part. Notes that are there keep their text; ours is added under it."""

from __future__ import annotations

from collections.abc import Mapping

from .cellrefs import cell_name, parse_cell
from .celltext import xml_text
from .xmlbytes import (
    Edit,
    Element,
    apply_edits,
    attribute,
    children,
    insertion_at_end,
    local_name,
    prepare,
    root_element,
    set_attribute,
)

__all__ = ["AUTHOR", "NotesPart"]

AUTHOR = "harnessdrc"
_FONT = '<@rPr>{bold}<@sz val="9"/><@color indexed="81"/><@rFont val="Tahoma"/><@family val="2"/></@rPr>'


class NotesPart:
    """The comments part of a sheet.

    Parameters
    ----------
    data : bytes or None
        The part; None where the sheet has no notes yet.
    namespace : str
        Main namespace of the workbook, for a part that must be made.
    """

    def __init__(self, data: bytes | None, namespace: str) -> None:
        if data is None:
            data = (
                b'<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n<comments xmlns="%s">'
                b"<authors></authors><commentList></commentList></comments>" % namespace.encode()
            )
        self._data, self._searched = prepare(data)
        root = root_element(self._searched)
        prefix = root.name.rpartition(b":")[0]
        self._prefix = prefix + b":" if prefix else b""
        self._root = root
        self._authors: Element | None = None
        self._list: Element | None = None
        for child in children(self._searched, root.inner_start, root.inner_end):
            if local_name(child.name) == b"authors":
                self._authors = child
            elif local_name(child.name) == b"commentList":
                self._list = child
        self._there: dict[tuple[int, int], Element] = {}
        if self._list is not None:
            for note in children(self._searched, self._list.inner_start, self._list.inner_end):
                place = parse_cell(attribute(note.attributes, b"ref") or "")
                if place is not None:
                    self._there.setdefault(place, note)

    @property
    def cells(self) -> set[tuple[int, int]]:
        """Cells that have a note already, as row and column."""
        return set(self._there)

    def add(self, notes: Mapping[tuple[int, int], str]) -> bytes:
        """The part with notes added; the first line of each is bold."""
        edits: list[Edit] = []
        new: list[bytes] = []
        count = 0
        if self._authors is not None:
            count = sum(1 for _ in children(self._searched, self._authors.inner_start, self._authors.inner_end))
        for (row, column), text in sorted(notes.items()):
            there = self._there.get((row, column))
            if there is not None:
                edits.append(self._extended(there, text))
            else:
                new.append(
                    b'<@comment ref="%s" authorId="%d"><@text>%s</@text></@comment>'
                    % (cell_name(row, column).encode(), count, _runs(text))
                )
        if new:
            author = f"<@author>{AUTHOR}</@author>".encode()
            block = b"".join(new)
            if self._authors is not None:
                edits.append(insertion_at_end(self._authors, self._named(author)))
                at = self._authors.end
            else:
                at = self._root.inner_start
                edits.append((at, at, self._named(b"<@authors>" + author + b"</@authors>")))
            if self._list is not None:
                edits.append(insertion_at_end(self._list, self._named(block)))
            else:
                edits.append((at, at, self._named(b"<@commentList>" + block + b"</@commentList>")))
        return b"".join(apply_edits(self._data, edits))

    def _named(self, xml: bytes) -> bytes:
        return xml.replace(b"<@", b"<" + self._prefix).replace(b"</@", b"</" + self._prefix)

    def _extended(self, note: Element, text: str) -> Edit:
        """Put `text` under what a note says, in the way that note is written."""
        body = next(
            (
                child
                for child in children(self._searched, note.inner_start, note.inner_end)
                if local_name(child.name) == b"text"
            ),
            None,
        )
        if body is None:
            return insertion_at_end(note, self._named(b"<@text>" + _runs(text) + b"</@text>"))
        parts = list(children(self._searched, body.inner_start, body.inner_end))
        runs = [part for part in parts if local_name(part.name) == b"r"]
        plain = [part for part in parts if local_name(part.name) == b"t"]
        if plain and not runs:
            old = plain[0]
            said = self._data[old.inner_start : old.inner_end]
            attributes = old.attributes
            if attribute(attributes, b"xml:space") is None:
                attributes = set_attribute(attributes, b"xml:space", b"preserve")
            whole = said + b"\n\n" + xml_text(text).encode("utf-8")
            tag = old.name
            return (old.start, old.end, b"<%s%s>%s</%s>" % (tag, attributes, whole, tag))
        if runs:
            at = runs[-1].end
            return (at, at, self._named(_runs("\n\n" + text, lead=2)))
        return insertion_at_end(body, self._named(_runs(text)))


def _runs(text: str, lead: int = 0) -> bytes:
    """Text as two runs: the first line bold, the rest plain; `lead` line ends go before the first line."""
    first, line_end, rest = text[lead:].partition("\n")
    head = _FONT.format(bold="<@b/>")
    body = _FONT.format(bold="")
    escaped = xml_text(text[:lead] + first + line_end)
    runs = f'<@r>{head}<@t xml:space="preserve">{escaped}</@t></@r>'
    if rest:
        runs += f'<@r>{body}<@t xml:space="preserve">{xml_text(rest)}</@t></@r>'
    return runs.encode("utf-8")
