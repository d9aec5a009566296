"""The boxes that notes are shown in: VML drawings, which spreadsheets still need for every note.

An existing drawing may hold other people's notes, buttons and tick boxes. It is not always well-formed
XML, so it is only ever added to, in front of its closing tag.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from .cellrefs import LAST_ROW
from .xmlbytes import MalformedPartError

__all__ = ["NoteBox", "ShapeIds", "new_drawing", "with_boxes", "with_taller_boxes"]

_PER_BLOCK = 1024
_SHAPE_ID = re.compile(rb"_x0000_s([0-9]+)")
_ID_MAP = re.compile(rb"""<[\w.-]*:?idmap\b[^>]*?\bdata\s*=\s*(["'])([0-9, ]*)\1""")
_OPENING = re.compile(rb"<(?:[\w.-]+:)?xml\b((?:[^>\"']|\"[^\"]*\"|'[^']*')*)>")
_CLOSING = re.compile(rb"</(?:[\w.-]+:)?xml\s*>")
_CLIENT_DATA = re.compile(
    rb"<(?:[\w.-]+:)?ClientData\b[^>]*\bObjectType\s*=\s*[\"']Note[\"'][^>]*>.*?</(?:[\w.-]+:)?ClientData\s*>",
    re.DOTALL,
)
_ROW = re.compile(rb"<(?:[\w.-]+:)?Row>\s*([0-9]+)\s*<")
_COLUMN = re.compile(rb"<(?:[\w.-]+:)?Column>\s*([0-9]+)\s*<")
_ANCHOR = re.compile(rb"<(?:[\w.-]+:)?Anchor>\s*([0-9]+(?:\s*,\s*[0-9]+){7})\s*<")
_SPACES = (
    b' xmlns:v="urn:schemas-microsoft-com:vml" xmlns:o="urn:schemas-microsoft-com:office:office"'
    b' xmlns:x="urn:schemas-microsoft-com:office:excel"'
)
_SHAPE_TYPE = (
    b'<v:shapetype%s id="_x0000_t202" coordsize="21600,21600" o:spt="202" path="m,l,21600r21600,l21600,xe">'
    b'<v:stroke joinstyle="miter"/><v:path gradientshapeok="t" o:connecttype="rect"/></v:shapetype>'
)
_SHAPE = (
    b'<v:shape%s id="_x0000_s%d" type="#_x0000_t202" style=\'position:absolute;margin-left:80pt;'
    b'margin-top:5pt;width:%dpt;height:%dpt;z-index:%d;visibility:hidden\' fillcolor="#fffbe6" '
    b'o:insetmode="auto"><v:fill color2="#fffbe6"/><v:shadow on="t" color="black" obscured="t"/>'
    b"<v:path o:connecttype=\"none\"/><v:textbox style='mso-direction-alt:auto'>"
    b"<div style='text-align:left'></div></v:textbox><x:ClientData ObjectType=\"Note\"><x:MoveWithCells/>"
    b"<x:SizeWithCells/><x:Anchor>%s</x:Anchor><x:AutoFill>False</x:AutoFill><x:Row>%d</x:Row>"
    b"<x:Column>%d</x:Column></x:ClientData></v:shape>"
)


@dataclass(frozen=True, slots=True)
class NoteBox:
    """Box of one note: its cell (row one-based), its corners in cells and pixels, its size."""

    row: int
    column: int
    anchor: tuple[int, int, int, int, int, int, int, int]
    width_px: int
    height_px: int


class ShapeIds:
    """Hands out blocks of shape numbers that no drawing of the package uses."""

    def __init__(self, drawings: Iterable[bytes]) -> None:
        highest = 0
        for drawing in drawings:
            for found in _ID_MAP.finditer(drawing):
                highest = max([highest, *(int(n) for n in found.group(2).split(b",") if n.strip())])
            for number in _SHAPE_ID.findall(drawing):
                highest = max(highest, int(number) // _PER_BLOCK)
        self._next = highest + 1

    def blocks(self, count: int) -> list[int]:
        """Blocks enough for `count` shapes."""
        needed = -(-count // (_PER_BLOCK - 1))
        first, self._next = self._next, self._next + needed
        return list(range(first, first + needed))


def _shapes(boxes: Sequence[NoteBox], blocks: Sequence[int], spaces: bytes) -> bytes:
    written = []
    for index, box in enumerate(boxes):
        block, rest = divmod(index, _PER_BLOCK - 1)
        anchor = ", ".join(map(str, box.anchor)).encode()
        size = (box.width_px * 3 // 4, box.height_px * 3 // 4)
        number = blocks[block] * _PER_BLOCK + 1 + rest
        written.append(_SHAPE % (spaces, number, *size, index + 1, anchor, box.row - 1, box.column))
    return b"".join(written)


def new_drawing(boxes: Sequence[NoteBox], ids: ShapeIds) -> bytes:
    """A drawing part with the boxes."""
    blocks = ids.blocks(len(boxes))
    mapped = ",".join(map(str, blocks)).encode()
    layout = b'<o:shapelayout v:ext="edit"><o:idmap v:ext="edit" data="%s"/></o:shapelayout>' % mapped
    return b"<xml%s>%s%s%s</xml>" % (_SPACES, layout, _SHAPE_TYPE % b"", _shapes(boxes, blocks, b""))


def with_taller_boxes(data: bytes, rows: Mapping[tuple[int, int], int]) -> bytes:
    """An existing drawing in which the boxes of some cells reach further down.

    Parameters
    ----------
    data : bytes
        The drawing.
    rows : mapping
        By row (one-based) and column of a cell: how many rows more its box takes.
    """

    def taller(found: re.Match[bytes]) -> bytes:
        block = found.group()
        row, column, anchor = _ROW.search(block), _COLUMN.search(block), _ANCHOR.search(block)
        if row is None or column is None or anchor is None:
            return block
        more = rows.get((int(row.group(1)) + 1, int(column.group(1))), 0)
        corners = [int(number) for number in anchor.group(1).split(b",")]
        if not more or len(corners) != 8:
            return block
        corners[6] = min(corners[6] + more, LAST_ROW - 1)
        written = ", ".join(map(str, corners)).encode()
        return block[: anchor.start(1)] + written + block[anchor.end(1) :]

    return _CLIENT_DATA.sub(taller, data) if rows else data


def with_boxes(data: bytes, boxes: Sequence[NoteBox], ids: ShapeIds) -> bytes:
    """An existing drawing with boxes added in front of its closing tag.

    Raises
    ------
    MalformedPartError
        If it has no closing tag.
    """
    root = _OPENING.search(data)
    closings = [found.start() for found in _CLOSING.finditer(data)]
    if root is None or not closings:
        raise MalformedPartError("its drawing of notes and controls has no end")
    close = closings[-1]
    if not boxes:
        return data
    blocks = ids.blocks(len(boxes))
    head = root.group(1)
    known = all(
        re.search(rb"""xmlns:%s\s*=\s*["']%s["']""" % (prefix, uri), head)
        for prefix, uri in (
            (b"v", b"urn:schemas-microsoft-com:vml"),
            (b"o", b"urn:schemas-microsoft-com:office:office"),
            (b"x", b"urn:schemas-microsoft-com:office:excel"),
        )
    )
    spaces = b"" if known else _SPACES
    new = b"" if b'"_x0000_t202"' in data or b"'_x0000_t202'" in data else _SHAPE_TYPE % spaces
    new += _shapes(boxes, blocks, spaces)
    mapped = _ID_MAP.search(data)
    if mapped is None:
        return data[:close] + new + data[close:]
    more = b",".join(b"%d" % block for block in blocks)
    listed = mapped.group(2).strip()
    listed = listed + b"," + more if listed else more
    return data[: mapped.start(2)] + listed + data[mapped.end(2) : close] + new + data[close:]
