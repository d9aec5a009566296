"""Content types and relationships of a package (ECMA-376 part 2), edited by insertion."""

from __future__ import annotations

import posixpath
from dataclasses import dataclass
from urllib.parse import unquote

from .xmlbytes import (
    Edit,
    apply_edits,
    attribute,
    children,
    escape_attribute,
    insertion_at_end,
    prepare,
    root_element,
)
from .zipparts import part_key

__all__ = ["ContentTypes", "Relationship", "Relationships", "rels_name", "same_kind"]

_EMPTY_RELS = (
    b'<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
    b'<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"></Relationships>'
)


def rels_name(part: str) -> str:
    """Name of the part that holds the relationships of `part`; of the package for an empty name."""
    folder, name = posixpath.split(part)
    return posixpath.join(folder, "_rels", f"{name}.rels")


def same_kind(kind: str, last: str) -> bool:
    """Whether a relationship type ends in `last`, in the transitional or the strict vocabulary."""
    return kind.rpartition("/")[2] == last


@dataclass(frozen=True, slots=True)
class Relationship:
    """One relationship; `target` is the full name of a part, or as written when it is external."""

    id: str
    kind: str
    target: str
    external: bool


class Relationships:
    """Relationships of one part.

    Parameters
    ----------
    part : str
        The part they belong to; empty for the package.
    data : bytes or None
        The relationships part; None where there is none yet.
    """

    def __init__(self, part: str, data: bytes | None) -> None:
        self.part = part
        self._data, searched = prepare(_EMPTY_RELS if data is None else data)
        root = root_element(searched)
        self._edits: list[Edit] = []
        self._root = root
        self._prefix = root.name.rpartition(b":")[0] + b":" if b":" in root.name else b""
        self._spans: dict[str, tuple[int, int]] = {}
        self.all: list[Relationship] = []
        self._added: list[bytes] = []
        for child in children(searched, root.inner_start, root.inner_end):
            name = attribute(child.attributes, b"Id") or ""
            target = attribute(child.attributes, b"Target") or ""
            external = (attribute(child.attributes, b"TargetMode") or "").lower() == "external"
            self._spans[name] = (child.start, child.end)
            kind = attribute(child.attributes, b"Type") or ""
            self.all.append(Relationship(name, kind, target if external else self._full(target), external))

    def _full(self, target: str) -> str:
        target = unquote(target.replace("\\", "/")).partition("#")[0]
        if target.startswith("/"):
            return posixpath.normpath(target).lstrip("/")
        return posixpath.normpath(posixpath.join(posixpath.dirname(self.part), target)).lstrip("/")

    @property
    def changed(self) -> bool:
        """Whether anything was added or dropped."""
        return bool(self._edits or self._added)

    def of_kind(self, last: str) -> list[Relationship]:
        """Relationships to parts of one kind, by the last word of its type."""
        return [one for one in self.all if same_kind(one.kind, last) and not one.external]

    def by_id(self, name: str) -> Relationship | None:
        """Relationship by its id."""
        return next((one for one in self.all if one.id == name), None)

    def add(self, kind: str, target: str, name: str = "") -> str:
        """Add a relationship to a part, by its full name; gives its id, a free one unless `name` is given."""
        if not name:
            taken = {one.id.lower() for one in self.all}
            number = len(self.all) + 1
            while f"rid{number}" in taken:
                number += 1
            name = f"rId{number}"
        self.all.append(Relationship(name, kind, target, False))
        self._added.append(
            b"<%sRelationship Id=\"%s\" Type=\"%s\" Target=\"/%s\"/>"
            % (self._prefix, name.encode(), escape_attribute(kind), escape_attribute(target))
        )  # fmt: skip
        return name

    def drop(self, name: str) -> None:
        """Take a relationship out."""
        start, end = self._spans.pop(name)
        self._edits.append((start, end, b""))
        self.all = [one for one in self.all if one.id != name]

    def xml(self) -> bytes:
        """The part with its changes."""
        edits = [*self._edits]
        if self._added:
            edits.append(insertion_at_end(self._root, b"".join(self._added)))
        return b"".join(apply_edits(self._data, edits))


class ContentTypes:
    """The part ``[Content_Types].xml``."""

    def __init__(self, data: bytes) -> None:
        self._data, searched = prepare(data)
        self._root = root_element(searched)
        name = self._root.name
        self._prefix = name.rpartition(b":")[0] + b":" if b":" in name else b""
        self._edits: list[Edit] = []
        self._added: list[bytes] = []
        self._defaults: dict[str, str] = {}
        self._overrides: dict[str, tuple[str, int, int]] = {}
        for child in children(searched, self._root.inner_start, self._root.inner_end):
            kind = attribute(child.attributes, b"ContentType") or ""
            extension = attribute(child.attributes, b"Extension")
            part = attribute(child.attributes, b"PartName")
            if part is not None:
                self._overrides[part_key(part)] = (kind, child.start, child.end)
            elif extension is not None:
                self._defaults[extension.lower()] = kind

    def of(self, part: str) -> str:
        """Content type of a part; empty if it has none."""
        found = self._overrides.get(part_key(part))
        return found[0] if found else self._defaults.get(posixpath.splitext(part)[1][1:].lower(), "")

    def add(self, part: str, kind: str) -> None:
        """Declare a part, unless it is declared so already."""
        if self.of(part) == kind:
            return
        self._overrides[part_key(part)] = (kind, -1, -1)
        self._added.append(
            b'<%sOverride PartName="/%s" ContentType="%s"/>'
            % (self._prefix, escape_attribute(part), escape_attribute(kind))
        )

    def add_default(self, extension: str, kind: str, part: str) -> None:
        """Declare a file extension; only `part` where the extension already means something else."""
        if extension not in self._defaults:
            self._defaults[extension] = kind
            self._added.append(
                b'<%sDefault Extension="%s" ContentType="%s"/>'
                % (self._prefix, extension.encode(), escape_attribute(kind))
            )
        else:
            self.add(part, kind)

    def drop(self, part: str) -> None:
        """Take out the declaration of a part."""
        found = self._overrides.pop(part_key(part), None)
        if found and found[1] >= 0:
            self._edits.append((found[1], found[2], b""))

    def xml(self) -> bytes:
        """The part with its changes."""
        edits = [*self._edits]
        if self._added:
            edits.append(insertion_at_end(self._root, b"".join(self._added)))
        return b"".join(apply_edits(self._data, edits))
