"""The workbook part: sheets are added after those there are, whose numbers keep their meaning."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from .celltext import cell_text
from .stylesheet import MAIN_NAMESPACE
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
    set_attribute,
)

__all__ = ["AddedSheet", "ListedSheet", "WorkbookPart"]

_TRANSITIONAL = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_STRICT = "http://purl.oclc.org/ooxml/officeDocument/relationships"
_ORDER = (
    b"fileVersion", b"fileSharing", b"workbookPr", b"workbookProtection", b"bookViews", b"sheets",
    b"functionGroups", b"externalReferences", b"definedNames", b"calcPr", b"oleSize",
    b"customWorkbookViews", b"pivotCaches", b"smartTagPr", b"smartTagTypes", b"webPublishing",
    b"fileRecoveryPr", b"webPublishObjects", b"extLst",
)  # fmt: skip
_RANK = {name: rank for rank, name in enumerate(_ORDER)}


@dataclass(frozen=True, slots=True)
class ListedSheet:
    """A sheet as the workbook lists it."""

    name: str
    relationship: str
    hidden: bool


@dataclass(frozen=True, slots=True)
class AddedSheet:
    """A sheet to add: its name, the id of its relationship, and its repeated rows and filtered range."""

    name: str
    relationship: str
    title_rows: tuple[int, int] | None
    filtered: str


class WorkbookPart:
    """The part that lists the sheets of a workbook."""

    def __init__(self, data: bytes) -> None:
        self._data, searched = prepare(data)
        self._searched = searched
        self._root = root_element(searched)
        if local_name(self._root.name) != b"workbook":
            raise MalformedPartError("its main part is not a workbook")
        prefix = self._root.name.rpartition(b":")[0]
        self._prefix = prefix + b":" if prefix else b""
        spaces = namespaces(self._root.attributes)
        self.namespace = spaces.get(prefix, MAIN_NAMESPACE)
        self.strict = self.namespace.startswith("http://purl.oclc.org/")
        self.relationships = _STRICT if self.strict else _TRANSITIONAL
        self._r = next((name for name, uri in spaces.items() if name and uri == self.relationships), None)
        self._parts = list(children(searched, self._root.inner_start, self._root.inner_end))
        self._named = {local_name(part.name): part for part in reversed(self._parts)}
        if b"sheets" not in self._named:
            raise MalformedPartError("it lists no sheets")
        self.sheets: list[ListedSheet] = []
        self._highest_id = 0
        place = self._named[b"sheets"]
        for sheet in children(searched, place.inner_start, place.inner_end):
            found = {**spaces, **namespaces(sheet.attributes)}
            relationship = next(
                (
                    attribute(sheet.attributes, name + b":id") or ""
                    for name, uri in found.items()
                    if uri.endswith("/relationships") and attribute(sheet.attributes, name + b":id")
                ),
                "",
            )
            self._highest_id = max(self._highest_id, int(attribute(sheet.attributes, b"sheetId") or 0))
            state = attribute(sheet.attributes, b"state") or "visible"
            self.sheets.append(
                ListedSheet(attribute(sheet.attributes, b"name") or "", relationship, state != "visible")
            )

    def with_sheets(self, added: Sequence[AddedSheet], active: int) -> bytes:
        """The part with sheets added at the end, and the sheet number `active` the one in front."""
        edits: list[Edit] = []
        entries = []
        for number, sheet in enumerate(added, self._highest_id + 1):
            prefix = self._r or b"r"
            declared = b"" if self._r else b' xmlns:r="%s"' % escape_attribute(self.relationships)
            entries.append(
                b'<%ssheet%s name="%s" sheetId="%d" %s:id="%s"/>'
                % (
                    self._prefix,
                    declared,
                    escape_attribute(sheet.name),
                    number,
                    prefix,
                    sheet.relationship.encode(),
                )
            )
        edits.append(insertion_at_end(self._named[b"sheets"], b"".join(entries)))
        edits.append(self._in_front(active))
        names = self._defined_names(added)
        if names:
            place = self._named.get(b"definedNames")
            if place is not None:
                edits.append(insertion_at_end(place, names))
            else:
                at = self._place_for(b"definedNames")
                tag = self._prefix + b"definedNames"
                edits.append((at, at, b"<%s>%s</%s>" % (tag, names, tag)))
        return b"".join(apply_edits(self._data, edits))

    def _in_front(self, active: int) -> Edit:
        views = self._named.get(b"bookViews")
        view: Element | None = None
        if views is not None:
            view = next(children(self._searched, views.inner_start, views.inner_end), None)
        new = b'<%sworkbookView activeTab="%d"/>' % (self._prefix, active)
        if views is None:
            at = self._place_for(b"bookViews")
            tag = self._prefix + b"bookViews"
            return (at, at, b"<%s>%s</%s>" % (tag, new, tag))
        if view is None:
            return insertion_at_end(views, new)
        attributes = set_attribute(view.attributes, b"activeTab", b"%d" % active)
        start = view.start + 1 + len(view.name)
        return (start, start + len(view.attributes), attributes)

    def _defined_names(self, added: Sequence[AddedSheet]) -> bytes:
        names = []
        for index, sheet in enumerate(added, len(self.sheets)):
            quoted = "'" + sheet.name.replace("'", "''") + "'"
            if sheet.filtered:
                first, _, last = sheet.filtered.partition(":")
                area = f"{quoted}!{_fixed(first)}:{_fixed(last)}"
                names.append(("_xlnm._FilterDatabase", index, ' hidden="1"', area))
            if sheet.title_rows:
                area = f"{quoted}!${sheet.title_rows[0]}:${sheet.title_rows[1]}"
                names.append(("_xlnm.Print_Titles", index, "", area))
        return b"".join(
            b'<%sdefinedName name="%s" localSheetId="%d"%s>%s</%sdefinedName>'
            % (
                self._prefix,
                name.encode(),
                index,
                hidden.encode(),
                escape_attribute(cell_text(area)),
                self._prefix,
            )
            for name, index, hidden, area in names
        )

    def _place_for(self, name: bytes) -> int:
        at = self._root.inner_start
        for part in self._parts:
            rank = _RANK.get(local_name(part.name))
            if rank is not None and rank < _RANK[name]:
                at = max(at, part.end)
        return at


def _fixed(cell: str) -> str:
    letters = cell.rstrip("0123456789")
    return f"${letters}${cell[len(letters) :]}"
