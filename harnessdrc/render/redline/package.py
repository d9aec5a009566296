"""A workbook package that is marked and copied: what the redline doesn't change keeps its bytes.

Changed are the workbook part with its relationships and the content types (for the added sheets), the
styles (looks added at the end), the marked sheets (styles and links of marked cells; a conditional format
over those that have one, so that it cannot hide the mark), their notes and the drawings these are shown in,
and the one attribute that says whose tab is selected. All other parts, with their compressed data, are
copied as they stand.
"""

from __future__ import annotations

import posixpath
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import BinaryIO

from harnessdrc.findings import Grade

from .cellrefs import LAST_COLUMN, LAST_ROW
from .notes import NotesPart
from .noteshapes import NoteBox, ShapeIds, new_drawing, with_boxes, with_taller_boxes
from .opc import ContentTypes, Relationships, rels_name
from .page import LINKS_PER_SHEET, Page
from .plain import SheetRows, plain_parts
from .sheetpart import CellChange, SheetPart, clear_selected
from .stylesheet import Stylesheet
from .workbookpart import AddedSheet, WorkbookPart
from .xmlbytes import MalformedPartError, apply_edits, prepare
from .zipparts import MemoryParts, PackageWriter, ZipParts, part_key

__all__ = ["CellMark", "RedlinePackage", "SheetInfo"]

_SHEET_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"
_STYLES_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.styles+xml"
_NOTES_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.comments+xml"
_DRAWING_TYPE = "application/vnd.openxmlformats-officedocument.vmlDrawing"
_KEPT_OPEN_BYTES = 64 << 20
_NOTE_WIDTH_PX, _NOTE_LINE_PX, _NOTE_MOST_PX = 300, 15, 420
_NOTE_LINE_CHARACTERS = 44
SIGNATURE_REMARK = (
    "The source carried a digital signature. A marked-up copy is no longer what was signed, so this copy "
    "carries none; the source keeps its own."
)


@dataclass(frozen=True, slots=True)
class CellMark:
    """How one cell is marked: the grade its fill shows, the note on it, and where a click leads."""

    grade: Grade
    note: str
    location: str
    tip: str


@dataclass(frozen=True, slots=True)
class SheetInfo:
    """A sheet of the source: its name, its part, and whether it has cells that can be marked."""

    name: str
    part: str
    has_cells: bool
    hidden: bool


@dataclass(slots=True)
class _Plan:
    """What is to be written for one marked sheet."""

    marks: Mapping[tuple[int, int], CellMark]
    relationships: Relationships
    notes_part: str = ""
    notes: NotesPart | None = None
    drawing_part: str = ""
    drawing_id: str = ""
    boxes: list[NoteBox] = field(default_factory=list)
    taller: dict[tuple[int, int], int] = field(default_factory=dict)


class RedlinePackage:
    """A workbook to be marked up.

    Parameters
    ----------
    parts : ZipParts or MemoryParts
        Its parts.

    Raises
    ------
    MalformedPartError
        If it is not a workbook package.
    """

    def __init__(self, parts: ZipParts | MemoryParts) -> None:
        self._parts = parts
        self._types = ContentTypes(parts.read("[Content_Types].xml"))
        self._root_rels = Relationships("", self._read_or_none(rels_name("")))
        found = self._root_rels.of_kind("officeDocument")
        self._main = found[0].target if found else "xl/workbook.xml"
        self._workbook = WorkbookPart(parts.read(self._main))
        self._main_rels = Relationships(self._main, self._read_or_none(rels_name(self._main)))
        self.sheets = [self._info(one.name, one.relationship, one.hidden) for one in self._workbook.sheets]
        self._open: dict[int, SheetPart] = {}
        self._rows: dict[int, set[int]] = {}
        self._open_bytes = 0
        self._claimed: tuple[str, ...] = ()
        self.remarks: list[str] = []
        if any(part_key(name).startswith("_xmlsignatures/") for name in parts.names()):
            self.remarks.append(SIGNATURE_REMARK)

    @classmethod
    def of_file(cls, path: Path) -> RedlinePackage:
        """Package read from a file."""
        parts = ZipParts(path)
        try:
            return cls(parts)
        except BaseException:
            parts.close()
            raise

    @classmethod
    def of_rows(cls, sheets: Sequence[SheetRows]) -> RedlinePackage:
        """Package made of plain rows; its sheets stand in the order given."""
        return cls(plain_parts(sheets)[0])

    def close(self) -> None:
        """Let go of the source."""
        self._open.clear()
        self._parts.close()

    @property
    def suffix(self) -> str:
        """Ending that a file with this content must have: ``.xlsx``, ``.xlsm``, ``.xltx``, ``.xltm``."""
        kind = self._types.of(self._main).lower()
        if "macroenabled" in kind:
            return ".xltm" if "template" in kind else ".xlsm"
        return ".xltx" if "template" in kind else ".xlsx"

    def _read_or_none(self, name: str) -> bytes | None:
        return self._parts.read(name) if self._parts.has(name) else None

    def _info(self, name: str, relationship: str, hidden: bool) -> SheetInfo:
        found = self._main_rels.by_id(relationship)
        if found is None or found.external:
            return SheetInfo(name, "", False, hidden)
        cells = found.kind.rpartition("/")[2] == "worksheet" and self._parts.has(found.target)
        return SheetInfo(name, found.target, cells, hidden)

    def _sheet(self, index: int) -> SheetPart:
        """The sheet, found and indexed; kept only while not too much is held at once."""
        sheet = self._open.get(index)
        if sheet is None:
            data = self._parts.read(self.sheets[index].part)
            try:
                sheet = SheetPart(data, self._rows[index])
            except MalformedPartError as error:
                raise MalformedPartError(f"sheet '{self.sheets[index].name}': {error}") from error
            if not self._open or self._open_bytes + len(data) <= _KEPT_OPEN_BYTES:
                self._open[index] = sheet
                self._open_bytes += len(data)
        return sheet

    def resolve(
        self, index: int, cells: Iterable[tuple[int, int | None]]
    ) -> dict[tuple[int, int | None], tuple[int, int]]:
        """Cells to mark for places on a sheet.

        A place without a column is a row: its first cell with content. A place within merged cells is
        their top left one.
        """
        wanted = [(row, column) for row, column in cells if 1 <= row <= LAST_ROW]
        self._rows.setdefault(index, set()).update(row for row, _ in wanted)
        sheet = self._sheet(index)
        sheet.want(self._rows[index])
        found: dict[tuple[int, int | None], tuple[int, int]] = {}
        for row, column in wanted:
            at = sheet.first_filled(row) if column is None else min(column, LAST_COLUMN)
            found[row, column] = sheet.top_left(row, at)
        self._rows[index].update(row for row, _ in found.values())
        sheet.want(self._rows[index])
        return found

    # -- writing ---------------------------------------------------------------------------------------

    def write(
        self,
        out: BinaryIO,
        marks: Mapping[int, Mapping[tuple[int, int], CellMark]],
        pages: Sequence[Page],
    ) -> None:
        """Write the marked copy.

        Parameters
        ----------
        out : binary file
            Where to.
        marks : mapping
            By sheet index, then by row and column; cells as `resolve` gave them.
        pages : sequence of Page
            Sheets to add at the end; the first of them is the one in front.
        """
        changed: dict[str, Callable[[], Iterable[bytes | memoryview]]] = {}
        added: dict[str, Callable[[], Iterable[bytes | memoryview]]] = {}
        styles_name, styles = self._styles()
        plans = {index: self._plan(index, cells) for index, cells in marks.items() if cells}
        ids = ShapeIds(self._drawings() if plans else ())

        def put(name: str, pieces: Callable[[], Iterable[bytes | memoryview]]) -> None:
            (changed if self._parts.has(name) else added)[part_key(name)] = pieces
            names[part_key(name)] = name

        names: dict[str, str] = {}
        for index, plan in plans.items():
            put(self.sheets[index].part, lambda i=index, p=plan: self._marked(i, p, styles))  # type: ignore[misc]
            if plan.relationships.changed:
                put(rels_name(self.sheets[index].part), lambda p=plan: [p.relationships.xml()])  # type: ignore[misc]
            if plan.notes is not None:
                text = {place: mark.note for place, mark in plan.marks.items() if mark.note}
                put(plan.notes_part, lambda n=plan.notes, t=text: [n.add(t)])  # type: ignore[misc]
                if plan.drawing_part:
                    put(plan.drawing_part, lambda p=plan: [self._drawing(p, ids)])  # type: ignore[misc]
        for index, info in enumerate(self.sheets):
            if index not in plans and info.part and self._parts.has(info.part):
                self._unselect(info.part, put)
        self._add_pages(pages, styles, put)
        dropped = self._drop_signatures(put)
        put("[Content_Types].xml", lambda: [self._types.xml()])
        put(rels_name(self._main), lambda: [self._main_rels.xml()])

        writer = PackageWriter(out)
        for name in self._parts.names():
            key = part_key(name)
            if key in dropped or key == part_key(styles_name):
                continue
            if key in changed:
                writer.add(name, changed[key]())
            else:
                self._parts.copy(name, writer)
        for key, pieces in added.items():
            writer.add(names[key], pieces())
        writer.add(styles_name, [styles.xml()])  # last, when all looks are known
        writer.close()

    def _styles(self) -> tuple[str, Stylesheet]:
        found = [one.target for one in self._main_rels.of_kind("styles")]
        if found and self._parts.has(found[0]):
            return found[0], Stylesheet(self._parts.read(found[0]), self._workbook.namespace)
        name = found[0] if found else posixpath.join(posixpath.dirname(self._main), "styles.xml")
        if not found:
            self._main_rels.add(f"{self._workbook.relationships}/styles", name)
        self._types.add(name, _STYLES_TYPE)
        return name, Stylesheet(None, self._workbook.namespace)

    def _free(self, pattern: str, taken: Iterable[str] = ()) -> str:
        """A part name that is not in use: the pattern with the first number that is free."""
        used = {part_key(name) for name in taken}
        number = 1
        while self._parts.has(pattern.format(number)) or part_key(pattern.format(number)) in used:
            number += 1
        return pattern.format(number)

    def _drawings(self) -> Iterable[bytes]:
        for name in self._parts.names():
            if part_key(name).endswith(".vml") or self._types.of(name) == _DRAWING_TYPE:
                yield self._parts.read(name)

    def _plan(self, index: int, marks: Mapping[tuple[int, int], CellMark]) -> _Plan:
        part = self.sheets[index].part
        plan = _Plan(marks, Relationships(part, self._read_or_none(rels_name(part))))
        if not any(mark.note for mark in marks.values()):
            return plan
        base = self._workbook.relationships
        notes = plan.relationships.of_kind("comments")
        if notes:
            plan.notes_part = notes[0].target
        else:
            plan.notes_part = self._free("xl/comments{}.xml", self._claimed)
            plan.relationships.add(f"{base}/comments", plan.notes_part)
        self._types.add(plan.notes_part, _NOTES_TYPE)
        plan.notes = NotesPart(self._read_or_none(plan.notes_part), self._workbook.namespace)
        there = plan.notes.cells
        sheet = self._sheet(index)
        plan.boxes = [
            _box(sheet, row, column, mark.note)
            for (row, column), mark in sorted(marks.items(), key=lambda item: item[0])
            if mark.note and (row, column) not in there
        ]
        plan.taller = {
            place: -(-_note_px(marks[place].note) // sheet.row_px)
            for place in there
            if place in marks and marks[place].note
        }
        self._claimed += (plan.notes_part,)
        if plan.boxes or sheet.legacy_drawing:
            self._plan_drawing(plan, sheet.legacy_drawing)
        return plan

    def _plan_drawing(self, plan: _Plan, existing: str | None) -> None:
        drawing = plan.relationships.by_id(existing) if existing else None
        if drawing is not None:
            plan.drawing_part = drawing.target
        else:
            plan.drawing_part = self._free("xl/drawings/vmlDrawing{}.vml", self._claimed)
            kind = f"{self._workbook.relationships}/vmlDrawing"
            # a sheet may name a drawing that it has no relationship for: that id then gets its part
            name = plan.relationships.add(kind, plan.drawing_part, existing or "")
            plan.drawing_id = "" if existing else name
        self._types.add_default("vml", _DRAWING_TYPE, plan.drawing_part)
        self._claimed += (plan.drawing_part,)

    def _marked(self, index: int, plan: _Plan, styles: Stylesheet) -> Iterable[bytes | memoryview]:
        sheet = self._sheet(index)
        self._open.pop(index, None)  # its bytes go with the pieces
        restyle: dict[Grade, Callable[[int], int]] = {
            grade: (lambda base, grade=grade: styles.marked(base, grade))  # type: ignore[misc]
            for grade in {mark.grade for mark in plan.marks.values()}
        }
        overlay: dict[Grade, Callable[[], int]] = {
            grade: (lambda grade=grade: styles.overlay(grade))  # type: ignore[misc]
            for grade in restyle
        }
        changes = {
            place: CellChange(restyle[mark.grade], overlay[mark.grade], mark.location, mark.tip)
            for place, mark in plan.marks.items()
        }
        drawing = (plan.drawing_id, self._workbook.relationships) if plan.drawing_id else None
        return sheet.mark(changes, LINKS_PER_SHEET, drawing, unselect=True)

    def _drawing(self, plan: _Plan, ids: ShapeIds) -> bytes:
        old = self._read_or_none(plan.drawing_part)
        if old is None:
            return new_drawing(plan.boxes, ids)
        return with_boxes(with_taller_boxes(old, plan.taller), plan.boxes, ids)

    def _unselect(self, part: str, put: Callable[[str, Callable[[], Iterable[bytes | memoryview]]], None]) -> None:
        if not clear_selected(self._parts.read_head(part, b"sheetData")):
            return

        def pieces() -> Iterable[bytes | memoryview]:
            data, searched = prepare(self._parts.read(part))
            return apply_edits(data, clear_selected(searched))

        put(part, pieces)

    def _add_pages(
        self,
        pages: Sequence[Page],
        styles: Stylesheet,
        put: Callable[[str, Callable[[], Iterable[bytes | memoryview]]], None],
    ) -> None:
        folder = posixpath.dirname(self._main)
        pattern = posixpath.join(folder, "worksheets/sheet{}.xml")
        listed: list[AddedSheet] = []
        claimed: list[str] = []
        for number, page in enumerate(pages):
            name = self._free(pattern, claimed)
            claimed.append(name)
            relationship = self._main_rels.add(f"{self._workbook.relationships}/worksheet", name)
            self._types.add(name, _SHEET_TYPE)
            listed.append(AddedSheet(page.name, relationship, page.title_rows, page.filtered))
            put(name, lambda p=page, n=number: p.xml(styles, self._workbook.namespace, selected=n == 0))  # type: ignore[misc]
        new = self._workbook.with_sheets(listed, len(self.sheets))
        put(self._main, lambda: [new])

    def _drop_signatures(self, put: Callable[[str, Callable[[], Iterable[bytes | memoryview]]], None]) -> set[str]:
        dropped = {part_key(n) for n in self._parts.names() if part_key(n).startswith("_xmlsignatures/")}
        if dropped:
            for key in dropped:
                self._types.drop(key)
            for one in list(self._root_rels.all):
                if part_key(one.target) in dropped:
                    self._root_rels.drop(one.id)
            put(rels_name(""), lambda: [self._root_rels.xml()])
        return dropped


def _note_px(text: str) -> int:
    """Height of a note that shows all of its text, within reason."""
    lines = sum(1 + len(line) // _NOTE_LINE_CHARACTERS for line in text.split("\n"))
    return min(_NOTE_MOST_PX, lines * _NOTE_LINE_PX + 12)


def _box(sheet: SheetPart, row: int, column: int, text: str) -> NoteBox:
    """Box right of its cell, wide enough to read and as high as its text needs."""
    height = _note_px(text)
    left = min(column + 1, LAST_COLUMN)
    right, rest = left, _NOTE_WIDTH_PX + 12
    while right < LAST_COLUMN and rest > sheet.column_px(right) and right < left + 60:
        rest -= sheet.column_px(right)
        right += 1
    top = max(0, row - 2)
    bottom, below = top, height + 8
    while bottom < LAST_ROW - 1 and below > sheet.row_height_px(bottom + 1):
        below -= sheet.row_height_px(bottom + 1)
        bottom += 1
    anchor = (left, 12, top, 8, right, max(1, rest), bottom, max(1, below))
    return NoteBox(row, column, anchor, _NOTE_WIDTH_PX, height)
