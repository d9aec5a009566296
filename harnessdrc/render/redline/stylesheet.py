"""The styles part: looks are added at its end, so that every index the source uses keeps its meaning."""

from __future__ import annotations

import re

from harnessdrc.findings import Grade

from .looks import MARK_FILLS, Fill, Look
from .xmlbytes import (
    Edit,
    Element,
    apply_edits,
    attribute,
    children,
    local_name,
    prepare,
    root_element,
    set_attribute,
)

__all__ = ["MAIN_NAMESPACE", "Stylesheet"]

MAIN_NAMESPACE = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"

_ORDER = (
    b"numFmts", b"fonts", b"fills", b"borders", b"cellStyleXfs", b"cellXfs", b"cellStyles", b"dxfs",
    b"tableStyles", b"colors", b"extLst",
)  # fmt: skip
_COUNTED = {b"numFmts", b"fonts", b"fills", b"borders", b"cellStyleXfs", b"cellXfs", b"dxfs"}
_FIRST_FREE_FORMAT = 164
_LIGHT = 0.6
_LIGHT_INDEXED = {"1", "9", "26", "27", "41", "42", "43"}
_LIGHT_THEME = {"0", "2"}
_DARKENED = -0.4
_DARK_COLOUR = b'<@color rgb="FF1F2A33"/>'
_PLAIN_XF = b'<@xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/>'


class Stylesheet:
    """Styles of a workbook, with additions.

    Parameters
    ----------
    data : bytes or None
        The styles part; None where the workbook has none.
    namespace : str
        Main namespace of the workbook, for a part that must be made.
    """

    def __init__(self, data: bytes | None, namespace: str = MAIN_NAMESPACE) -> None:
        if data is None:
            data = (
                b'<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
                b'<styleSheet xmlns="%s"><cellStyles count="1"><cellStyle name="Normal" xfId="0" '
                b'builtinId="0"/></cellStyles></styleSheet>' % namespace.encode()
            )
        self._data, searched = prepare(data)
        self._root = root_element(searched)
        prefix = self._root.name.rpartition(b":")[0]
        self._prefix = prefix + b":" if prefix else b""
        self._places: dict[bytes, Element] = {}
        self._found: dict[bytes, list[Element]] = {}
        self._added: dict[bytes, list[bytes]] = {}
        self._known: dict[tuple[bytes, bytes], int] = {}
        for child in children(searched, self._root.inner_start, self._root.inner_end):
            name = local_name(child.name)
            if name in _ORDER and name not in self._places:
                self._places[name] = child
                if name in _COUNTED:
                    self._found[name] = list(children(searched, child.inner_start, child.inner_end))
        self._complete()
        self._marked: dict[tuple[int, Grade], int] = {}
        self._looks: dict[Look, int] = {}
        self._formats: dict[str, int] = {}

    def _complete(self) -> None:
        """Add what every stylesheet must start with, where the source leaves it out."""
        if not self._count(b"fonts"):
            self._add(b"fonts", Look(size_pt=11, colour="000000").font_xml())
        for pattern in (b"none", b"gray125")[self._count(b"fills") :]:
            self._add(b"fills", b'<@fill><@patternFill patternType="%s"/></@fill>' % pattern)
        if not self._count(b"borders"):
            self._add(b"borders", Look().border_xml())
        if not self._count(b"cellStyleXfs"):
            self._add(b"cellStyleXfs", b'<@xf numFmtId="0" fontId="0" fillId="0" borderId="0"/>')
        if not self._count(b"cellXfs"):
            self._add(b"cellXfs", _PLAIN_XF)

    def _count(self, name: bytes) -> int:
        return len(self._found.get(name, ())) + len(self._added.get(name, ()))

    def _add(self, name: bytes, xml: bytes) -> int:
        known = self._known.get((name, xml))
        if known is None:
            known = self._count(name)
            self._added.setdefault(name, []).append(xml)
            self._known[name, xml] = known
        return known

    def _xml(self, name: bytes, index: int) -> bytes:
        found = self._found.get(name, [])
        if 0 <= index < len(found):
            return self._data[found[index].start : found[index].end]
        added = self._added.get(name, [])
        if 0 <= index - len(found) < len(added):
            return added[index - len(found)]
        return b""

    def look(self, look: Look) -> int:
        """Index of a look of our own."""
        index = self._looks.get(look)
        if index is None:
            fill = self._add(b"fills", look.fill.xml()) if look.fill else 0
            index = self._looks[look] = self._add(
                b"cellXfs",
                b'<@xf numFmtId="%d" fontId="%d" fillId="%d" borderId="%d" xfId="0" applyNumberFormat="1" '
                b'applyFont="1" applyFill="1" applyBorder="1" applyAlignment="1">%s</@xf>'
                % (
                    self._format(look.number_format),
                    self._add(b"fonts", look.font_xml()),
                    fill,
                    self._add(b"borders", look.border_xml()),
                    look.alignment_xml(),
                ),
            )
        return index

    def plain(self, number_format: str = "", bold: bool = False) -> int:
        """Index of the plain look with a number format, for copies of lists."""
        font = self._add(b"fonts", Look(size_pt=11, bold=True, colour="000000").font_xml()) if bold else 0
        return self._add(
            b"cellXfs",
            b'<@xf numFmtId="%d" fontId="%d" fillId="0" borderId="0" xfId="0" applyNumberFormat="1" '
            b'applyFont="1"/>' % (self._format(number_format), font),
        )

    def _format(self, code: str) -> int:
        if not code:
            return 0
        if code not in self._formats:
            used = [int(attribute(one.attributes, b"numFmtId") or 0) for one in self._found.get(b"numFmts", [])]
            number = max([_FIRST_FREE_FORMAT - 1, *used]) + 1 + len(self._formats)
            quoted = code.replace("&", "&amp;").replace("<", "&lt;").replace('"', "&quot;")
            self._add(b"numFmts", f'<@numFmt numFmtId="{number}" formatCode="{quoted}"/>'.encode())
            self._formats[code] = number
        return self._formats[code]

    def marked(self, base: int, grade: Grade) -> int:
        """Index of the look `base` with the fill of a grade; all else of it stays.

        A font too light to be read on the fill (white headings on a dark ground) is made dark.
        """
        index = self._marked.get((base, grade))
        if index is None:
            xf = self._xml(b"cellXfs", base) or self._xml(b"cellXfs", 0)
            index = self._marked[base, grade] = self._add(b"cellXfs", self._filled(xf, MARK_FILLS[grade]))
        return index

    def overlay(self, grade: Grade) -> int:
        """Index of a conditional look with the fill of a grade and dark letters."""
        fill = MARK_FILLS[grade]
        ink = fill.ink if fill.pattern != "solid" else fill.ground
        return self._add(
            b"dxfs",
            b"<@dxf><@font>%s</@font>" % _DARK_COLOUR
            + f'<@fill><@patternFill patternType="{fill.pattern}"><@fgColor rgb="FF{ink}"/>'
            f'<@bgColor rgb="FF{fill.ground}"/></@patternFill></@fill></@dxf>'.encode(),
        )

    def _filled(self, xf: bytes, fill: Fill) -> bytes:
        head = re.match(rb"<([^\s/>]+)((?:[^>\"']|\"[^\"]*\"|'[^']*')*?)(\s*/?>)", xf, re.DOTALL)
        if head is None:
            return self._filled(_PLAIN_XF, fill)
        attributes = head.group(2)
        number = self._add(b"fills", fill.xml())
        attributes = set_attribute(attributes, b"fillId", b"%d" % number)
        attributes = set_attribute(attributes, b"applyFill", b"1")
        font = self._readable(int(attribute(attributes, b"fontId") or 0))
        if font is not None:
            attributes = set_attribute(attributes, b"fontId", b"%d" % font)
            attributes = set_attribute(attributes, b"applyFont", b"1")
        return b"<" + head.group(1) + attributes + head.group(3) + xf[head.end() :]

    def _readable(self, font: int) -> int | None:
        """Index of a dark copy of a font that is too light; None if it is dark enough."""
        xml = self._xml(b"fonts", font)
        found = re.search(rb"<(?:[^\s<>/:]+:|@)?color((?:\s+[^\s=>/]+\s*=\s*(?:\"[^\"]*\"|'[^']*'))*)\s*/>", xml)
        if found is None or not _is_light(found.group(1)):
            return None
        return self._add(b"fonts", xml[: found.start()] + _DARK_COLOUR + xml[found.end() :])

    def xml(self) -> bytes:
        """The part with what was added."""
        edits: list[Edit] = []
        missing: dict[int, list[tuple[int, bytes]]] = {}
        for name, items in self._added.items():
            new = b"".join(items).replace(b"<@", b"<" + self._prefix)
            new = new.replace(b"</@", b"</" + self._prefix)
            count = b"%d" % self._count(name)
            place = self._places.get(name)
            if place is None:
                tag = self._prefix + name
                block = b'<%s count="%s">%s</%s>' % (tag, count, new, tag)
                missing.setdefault(self._after(name), []).append((_ORDER.index(name), block))
                continue
            opening = b"<" + place.name + set_attribute(place.attributes, b"count", count) + b">"
            if place.empty_tag:
                edits.append((place.start, place.end, opening + new + b"</" + place.name + b">"))
            else:
                edits.append((place.start, place.inner_start, opening))
                edits.append((place.inner_end, place.inner_end, new))
        for offset, blocks in missing.items():
            whole = b"".join(block for _, block in sorted(blocks))
            if self._root.empty_tag:
                opening = b"<" + self._root.name + self._root.attributes + b">"
                whole = opening + whole + b"</" + self._root.name + b">"
                edits.append((self._root.start, self._root.end, whole))
            else:
                edits.append((offset, offset, whole))
        return b"".join(apply_edits(self._data, edits))

    def _after(self, name: bytes) -> int:
        rank = _ORDER.index(name)
        return max(
            (place.end for known, place in self._places.items() if _ORDER.index(known) < rank),
            default=self._root.inner_start,
        )


def _is_light(colour: bytes) -> bool:
    rgb = attribute(colour, b"rgb")
    if rgb and re.fullmatch("[0-9A-Fa-f]{6}|[0-9A-Fa-f]{8}", rgb):
        red, green, blue = (int(rgb[-6:][at : at + 2], 16) / 255 for at in (0, 2, 4))
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue > _LIGHT
    if (attribute(colour, b"theme") or "") in _LIGHT_THEME:
        return _number(attribute(colour, b"tint")) > _DARKENED
    return (attribute(colour, b"indexed") or "") in _LIGHT_INDEXED


def _number(text: str | None) -> float:
    try:
        return float(text or 0)
    except ValueError:
        return 0.0
