"""Which cells a result marks: their grade, their note and their way to the Findings sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from harnessdrc.findings import GRADES, Grade
from harnessdrc.places import Place

from .links import Cell, Links
from .looks import GRADE_WORDS
from .ordering import NumberedFinding
from .package import CellMark
from .page import sheet_reference

__all__ = ["MOST_NOTES", "MarkedCells", "collect"]

MOST_NOTES = 4_000
"""Cells that get a note; each is a drawing that the spreadsheet must keep, so a list full of them is slow."""

_ENTRIES_PER_NOTE = 6
_LONGEST_TEXT = 900


@dataclass(slots=True)
class _Said:
    """What is said of one cell: by which findings (as numbered), and at which of their marks."""

    grade: Grade
    finding: int
    entries: list[tuple[int, int]] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class MarkedCells:
    """Marks of a workbook before their rows on the Findings sheet are known."""

    cells: dict[Cell, _Said]
    noted: frozenset[Cell]

    def marks(
        self, findings: Sequence[NumberedFinding], rows: Sequence[int], page: str, links: Links
    ) -> dict[int, dict[tuple[int, int], CellMark]]:
        """Marks by sheet index and cell.

        Parameters
        ----------
        findings : sequence of NumberedFinding
            As collected.
        rows : sequence of int
            Row of each on the Findings sheet.
        page : str
            Name of that sheet.
        links : Links
            Where places are.
        """
        marks: dict[int, dict[tuple[int, int], CellMark]] = {}
        for cell, said in self.cells.items():
            note = _note(said, findings, page, links) if cell in self.noted else ""
            number = findings[said.finding].number
            mark = CellMark(
                said.grade,
                note,
                sheet_reference(page, f"A{rows[said.finding]}"),
                f"Finding {number}: show it on the sheet {page}",
            )
            marks.setdefault(cell[0], {})[cell[1], cell[2]] = mark
        return marks


def collect(findings: Sequence[NumberedFinding], links: Links) -> MarkedCells:
    """Cells that the findings mark; the highest grade decides the fill and where a click leads."""
    rank = {grade: place for place, grade in enumerate(GRADES)}
    cells: dict[Cell, _Said] = {}
    for index, one in enumerate(findings):
        # what was accepted is no longer held against the list
        grade: Grade = one.finding.grade if one.finding.concession is None else "note"
        for position, mark in enumerate(one.finding.marks):
            cell = links.cell(mark.place)
            if cell is None:
                continue
            said = cells.get(cell)
            if said is None:
                said = cells[cell] = _Said(grade, index)
            elif rank[grade] < rank[said.grade]:
                said.grade, said.finding = grade, index
            if all(known != index for known, _ in said.entries):
                said.entries.append((index, position))
    noted = sorted(cells, key=lambda cell: (rank[cells[cell].grade], cells[cell].finding))[:MOST_NOTES]
    return MarkedCells(cells, frozenset(noted))


def _note(said: _Said, findings: Sequence[NumberedFinding], page: str, links: Links) -> str:
    rank = {grade: place for place, grade in enumerate(GRADES)}
    entries = sorted(said.entries, key=lambda entry: (rank[findings[entry[0]].finding.grade], entry))
    texts = [_entry(findings[index], position, links) for index, position in entries[:_ENTRIES_PER_NOTE]]
    rest = len(entries) - len(texts)
    if rest:
        texts.append(f"And {rest} more: see the sheet {page}.")
    return "\n\n".join(texts)


def _entry(one: NumberedFinding, position: int, links: Links) -> str:
    finding = one.finding
    head = f"{GRADE_WORDS[finding.grade]} · finding {one.number}"
    if finding.concession is not None:
        head = f"ACCEPTED · finding {one.number} ({GRADE_WORDS[finding.grade]} but for the concession)"
    if position:
        main: Place = finding.marks[0].place
        label = finding.marks[position].label or "also concerned"
        return f"{head}\nThis cell: {label}.\n{_short(finding.message)}\nMain place: {links.text(main)}"
    lines = [head, _short(finding.message)]
    if finding.concession is not None:
        lines.append(f"Accepted {_short(finding.concession)}")
    elif finding.remedy:
        lines.append(f"To do: {_short(finding.remedy)}")
    lines.append(f"Rule: {finding.rule}")
    return "\n".join(lines)


def _short(text: str) -> str:
    return text if len(text) <= _LONGEST_TEXT else text[: _LONGEST_TEXT - 2].rstrip() + " …"
