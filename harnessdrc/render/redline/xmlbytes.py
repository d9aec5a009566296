"""Finding one's way in the bytes of an XML part without parsing it into a tree.

A redline changes a few attributes and adds a few elements; every other byte of a part must stay as it
is. So parts are never parsed and written again: elements are found by their offsets, and edits are cut
in between. Comments, CDATA sections and processing instructions are blanked out (same length) in the
copy that is searched, so that nothing inside them can be taken for an element. A part with a DOCTYPE is
refused, hence no entity can be expanded.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

__all__ = [
    "Edit",
    "Element",
    "MalformedPartError",
    "apply_edits",
    "attribute",
    "children",
    "escape_attribute",
    "insertion_at_end",
    "local_name",
    "namespaces",
    "prepare",
    "root_element",
    "set_attribute",
    "tag_pattern",
    "unescape",
]

ATTRIBUTES = rb"(?:\s+[^\s=>/\"']+\s*=\s*(?:\"[^\"]*\"|'[^']*'))*"
_ANY_TAG = re.compile(rb"<(/?)([^\s<>/!?=\"']+)(" + ATTRIBUTES + rb")\s*(/?)>")
_OPAQUE = re.compile(rb"<!--.*?-->|<!\[CDATA\[.*?\]\]>|<\?.*?\?>", re.DOTALL)
_DECLARATION = re.compile(rb"\s*<\?xml\b[^>]*\?>")
_ENCODING = re.compile(rb"""\bencoding\s*=\s*["']([A-Za-z0-9._-]+)["']""")
_ATTRIBUTE = re.compile(rb"\s([^\s=>/\"']+)\s*=\s*(?:\"([^\"]*)\"|'([^']*)')")
_REFERENCE = re.compile(r"&(#x[0-9A-Fa-f]+|#[0-9]+|amp|lt|gt|quot|apos);")
_NAMED = {"amp": "&", "lt": "<", "gt": ">", "quot": '"', "apos": "'"}

Edit = tuple[int, int, bytes]
"""Start, end and replacement of one cut; start equals end for an insertion."""


class MalformedPartError(ValueError):
    """A part whose XML cannot be edited; the message says why, without naming the file."""


@dataclass(frozen=True, slots=True)
class Element:
    """Offsets of an element: the whole of it, and what lies between its tags.

    Parameters
    ----------
    name : bytes
        As written, with its prefix.
    start, end : int
        The whole element, tags included.
    inner_start, inner_end : int
        Its content; both equal `end` for an empty-element tag.
    attributes : bytes
        The attributes as written, with the blank before them.
    """

    name: bytes
    start: int
    inner_start: int
    inner_end: int
    end: int
    attributes: bytes

    @property
    def empty_tag(self) -> bool:
        """Whether it is written ``<name/>``."""
        return self.inner_end == self.end


def prepare(data: bytes) -> tuple[bytes, bytes]:
    """UTF-8 bytes of a part, and the same with comments, CDATA and instructions blanked for searching.

    Raises
    ------
    MalformedPartError
        For a document type declaration, an unknown encoding, or text that is not what it claims.
    """
    data = _to_utf8(data)
    head = _DECLARATION.match(data)
    rest_from = head.end() if head else 0
    searched = data  # the declaration alone is in no search's way
    if data.find(b"<!", rest_from) >= 0 or data.find(b"<?", rest_from) >= 0:
        searched = _OPAQUE.sub(lambda found: b" " * len(found.group()), data)
    if searched.find(b"<!") >= 0:
        raise MalformedPartError("it holds a document type declaration, which a workbook never needs")
    return data, searched


def _to_utf8(data: bytes) -> bytes:
    """Re-encode the rare part that is not UTF-8, and set its declaration right."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        encoding = "utf-16"
    elif data[:4] == b"<\x00?\x00":
        encoding = "utf-16-le"
    elif data[:4] == b"\x00<\x00?":
        encoding = "utf-16-be"
    else:
        data = data[3:] if data.startswith(b"\xef\xbb\xbf") else data
        head = _DECLARATION.match(data)
        named = _ENCODING.search(head.group()) if head else None
        encoding = named.group(1).decode("ascii").lower() if named else "utf-8"
        if encoding in ("utf-8", "utf8", "us-ascii", "ascii"):
            return data
    try:
        text = data.decode(encoding)
    except (LookupError, UnicodeDecodeError) as error:
        raise MalformedPartError(f"its text is not {encoding} as it says") from error
    text = re.sub(r"^\s*<\?xml\b[^>]*\?>", '<?xml version="1.0" encoding="UTF-8"?>', text, count=1)
    return text.encode("utf-8")


def local_name(name: bytes) -> bytes:
    """Name without its prefix."""
    return name.rpartition(b":")[2]


def tag_pattern(name: bytes) -> re.Pattern[bytes]:
    """Pattern of an opening or empty tag of exactly `name`; group 1 attributes, group 2 ``/`` if empty."""
    return re.compile(b"<" + re.escape(name) + rb"(?=[\s/>])(" + ATTRIBUTES + rb")\s*(/?)>")


def attribute(attributes: bytes, name: bytes) -> str | None:
    """Value of an attribute, entities resolved; None if it is not there."""
    for found in _ATTRIBUTE.finditer(attributes):
        if found.group(1) == name:
            value = found.group(2) if found.group(2) is not None else found.group(3)
            return unescape(value.decode("utf-8", "replace"))
    return None


def set_attribute(attributes: bytes, name: bytes, value: bytes) -> bytes:
    """Attributes with one of them set; the others keep their bytes."""
    for found in _ATTRIBUTE.finditer(attributes):
        if found.group(1) == name:
            group = 2 if found.group(2) is not None else 3
            return attributes[: found.start(group)] + value + attributes[found.end(group) :]
    return b" " + name + b'="' + value + b'"' + attributes


def namespaces(attributes: bytes) -> dict[bytes, str]:
    """Prefixes declared in a tag: prefix (empty for the default) to address."""
    found: dict[bytes, str] = {}
    for match in _ATTRIBUTE.finditer(attributes):
        name = match.group(1)
        if name == b"xmlns" or name.startswith(b"xmlns:"):
            value = match.group(2) if match.group(2) is not None else match.group(3)
            found[name[6:]] = unescape(value.decode("utf-8", "replace"))
    return found


def root_element(searched: bytes) -> Element:
    """Root element of a part.

    Raises
    ------
    MalformedPartError
        If there is none, or it is not closed.
    """
    first = _ANY_TAG.search(searched)
    if first is None or first.group(1):
        raise MalformedPartError("it holds no XML element")
    name, end = first.group(2), first.end()
    if first.group(4):
        return Element(name, first.start(), end, end, end, first.group(3))
    close = searched.rfind(b"</" + name)
    if close < end:
        raise MalformedPartError("its root element is not closed")
    return Element(name, first.start(), end, close, searched.index(b">", close) + 1, first.group(3))


def children(searched: bytes, start: int, end: int) -> Iterator[Element]:
    """Elements directly between two offsets, in order.

    Raises
    ------
    MalformedPartError
        If tags do not pair up.
    """
    depth = 0
    opened: re.Match[bytes] | None = None
    for tag in _ANY_TAG.finditer(searched, start, end):
        if tag.group(1):
            depth -= 1
            if depth < 0 or opened is None:
                raise MalformedPartError("its tags do not pair up")
            if depth == 0:
                if tag.group(2) != opened.group(2):
                    raise MalformedPartError("its tags do not pair up")
                yield Element(opened.group(2), opened.start(), opened.end(), tag.start(), tag.end(), opened.group(3))
        elif tag.group(4):
            if depth == 0:
                yield Element(tag.group(2), tag.start(), tag.end(), tag.end(), tag.end(), tag.group(3))
        else:
            if depth == 0:
                opened = tag
            depth += 1
    if depth:
        raise MalformedPartError("an element is not closed")


def apply_edits(data: bytes, edits: Sequence[Edit]) -> Iterator[memoryview | bytes]:
    """Pieces of `data` with the cuts made; insertions at one offset keep the order given.

    The pieces are views on `data`, so that a large part is never copied as a whole.
    """
    view = memoryview(data)
    at = 0
    for start, end, new in sorted(edits, key=lambda edit: (edit[0], edit[1])):
        if start < at:
            raise MalformedPartError("two changes meet at one place")
        if start > at:
            yield view[at:start]
        if new:
            yield new
        at = end
    if at < len(data):
        yield view[at:]


def insertion_at_end(element: Element, new: bytes) -> Edit:
    """Edit that puts `new` last inside an element, opening it where it is written ``<name/>``."""
    if not element.empty_tag:
        return (element.inner_end, element.inner_end, new)
    return (
        element.start,
        element.end,
        b"<" + element.name + element.attributes + b">" + new + b"</" + element.name + b">",
    )


def escape_attribute(text: str) -> bytes:
    """Text made fit for a double-quoted attribute."""
    text = text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;").replace('"', "&quot;")
    return text.replace("\n", "&#10;").replace("\t", "&#9;").encode("utf-8", "replace")


def unescape(text: str) -> str:
    """Text with the five named and the numbered character references resolved."""
    if "&" not in text:
        return text
    return _REFERENCE.sub(lambda found: _resolve(found.group(1)), text)


def _resolve(name: str) -> str:
    if name.startswith("#"):
        code = int(name[2:], 16) if name[1] == "x" else int(name[1:])
        return chr(code) if code < 0x110000 and not 0xD800 <= code < 0xE000 else "\ufffd"
    return _NAMED[name]
