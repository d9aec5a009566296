"""Lists as other people write them, built by code, and what reading and checking make of them."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import openpyxl
import xlwt
from text_lists import shipped_given, shipped_ruleset, shipped_states

from harnessdrc.api import open_and_read
from harnessdrc.checks.registry import load_checks
from harnessdrc.design import Design, design_of
from harnessdrc.engine import run
from harnessdrc.harness.elements import Contact, Wire
from harnessdrc.intake.grid import OpenedFile
from harnessdrc.results import Result
from harnessdrc.tables.model import Reading

Cell = str | int | float | None


def cells(text: str) -> list[list[Cell]]:
    """Rows of a text with ``|`` between the cells, padding off.

    A number is a number, ``'12`` is the text 12, an empty cell is empty; the first line is row 1.
    """
    return [[_cell(part) for part in line.split("|")] for line in text.strip("\n").split("\n")]


def _cell(text: str) -> Cell:
    text = text.strip()
    if not text:
        return None
    if text.startswith("'") and len(text) > 1 and not text.startswith("''"):
        return text[1:]
    if text[0] == "0" and text[1:2].isdigit():
        return text  # 001 is a name
    try:
        return int(text) if text.lstrip("-").isdigit() else float(text)
    except ValueError:
        return text


CLOSE_TO_BATTERY = "fuse-close-to-battery"
LIKE_COLOURS = "neighbours-unlike"
"""Lists as people write them seldom have their first fuse within a hand of the battery; reading is what is tried."""


@dataclass(frozen=True)
class Sheet:
    """One sheet: its rows, where they start, and what is merged or hidden."""

    rows: str | Sequence[Sequence[Cell]]
    merged: tuple[str, ...] = ()
    at: str = "A1"
    hidden: bool = False

    def grid(self) -> list[list[Cell]]:
        return cells(self.rows) if isinstance(self.rows, str) else [list(row) for row in self.rows]


def write_xlsx(path: Path, sheets: Mapping[str, Sheet | str]) -> Path:
    """A workbook with these sheets."""
    book = openpyxl.Workbook()
    book.remove(book.worksheets[0])
    for name, given in sheets.items():
        sheet = given if isinstance(given, Sheet) else Sheet(given)
        page = book.create_sheet(name)
        first = page[sheet.at]
        for i, row in enumerate(sheet.grid()):
            for j, value in enumerate(row):
                if value is not None:
                    page.cell(first.row + i, first.column + j, value)
        for area in sheet.merged:
            page.merge_cells(area)
        if sheet.hidden:
            page.sheet_state = "hidden"
    book.save(path)
    return path


def write_xls(path: Path, sheets: Mapping[str, str]) -> Path:
    """An old binary workbook with these sheets."""
    book = xlwt.Workbook()
    for name, text in sheets.items():
        page = book.add_sheet(name)
        for i, row in enumerate(cells(text)):
            for j, value in enumerate(row):
                if value is not None:
                    page.write(i, j, value)
    book.save(str(path))
    return path


def write_ods(path: Path, sheets: Mapping[str, str]) -> Path:
    """An OpenDocument workbook with these sheets."""
    from odf.opendocument import OpenDocumentSpreadsheet
    from odf.table import Table, TableCell, TableRow
    from odf.text import P

    book = OpenDocumentSpreadsheet()
    for name, text in sheets.items():
        page = Table(name=name)
        for row in cells(text):
            line = TableRow()
            for value in row:
                if isinstance(value, (int, float)):
                    cell = TableCell(valuetype="float", value=str(value))
                    cell.addElement(P(text=str(value)))
                elif value is None:
                    cell = TableCell()
                else:
                    cell = TableCell(valuetype="string")
                    cell.addElement(P(text=value))
                line.addElement(cell)
            page.addElement(line)
        page.addElement(TableRow(numberrowsrepeated="50000"))
        book.spreadsheet.addElement(page)
    book.save(str(path))
    return path


def write_csv(path: Path, text: str, *, separator: str = ",", encoding: str = "utf-8", end: str = "\r\n") -> Path:
    """A text file with any separator and encoding; cells are written as they stand."""
    stream = io.StringIO()
    writer = csv.writer(stream, delimiter=separator, lineterminator=end)
    for line in text.strip("\n").split("\n"):
        writer.writerow([part.strip() for part in line.split("|")])
    path.write_bytes(stream.getvalue().encode(encoding))
    return path


@dataclass(frozen=True)
class Tried:
    """A list after reading and checking."""

    opened: list[OpenedFile]
    reading: Reading
    design: Design
    result: Result

    @property
    def wires(self) -> tuple[Wire, ...]:
        return self.design.harness.wires

    def contact(self, contact: Contact | None) -> str:
        """An end as its author would say it: ``ECU 12``; a made-up cavity is left out."""
        if contact is None:
            return "-"
        name = self.design.harness.items[contact.item].name
        return name if not contact.cavity or contact.cavity.startswith("?") else f"{name} {contact.cavity}"

    def ends(self) -> list[str]:
        """All wires as ``ECU 12 > TPS 3``."""
        return [f"{self.contact(w.a)} > {self.contact(w.b)}" for w in self.wires]

    def wire(self, number: str) -> Wire:
        (found,) = [w for w in self.wires if w.number == number or w.name == number]
        return found

    def role_at(self, number: str) -> str | None:
        """Role of the first end of a wire."""
        first = self.wire(number).a
        return self.design.roles.of.get(first) if first is not None else None

    def aside(self, sheet: str | None = None) -> dict[int, str]:
        """Rows set aside with the reason."""
        return {s.row: s.reason for s in self.reading.set_aside if sheet is None or s.sheet == sheet}

    def kind(self, name: str) -> str | None:
        (found,) = [i for i in self.design.harness.items.values() if i.name == name]
        return found.kind

    def unused_pins(self) -> list[str]:
        return [self.contact(p.contact) for p in self.design.harness.pins if p.unused]

    def found(self, rule: str = "") -> list[str]:
        """Findings as ``rule: message``, of one rule or of all but those about how far a fuse is from its source and
        about like colours side by side, which are as their authors have them."""
        left_out = (CLOSE_TO_BATTERY, LIKE_COLOURS)
        kept = [f for f in self.result.findings if f.rule == rule or (not rule and f.rule not in left_out)]
        return [f"{f.rule}: {f.message}" for f in kept]

    def listing_faults(self) -> list[str]:
        """Findings but those about colours and sizes that the author never gave."""
        return [f for f in self.found() if not f.startswith(("colour-given", "size-given"))]


def tried(*paths: Path) -> Tried:
    """Read and check lists, holding that every row is accounted for and no check crashes."""
    opened, reading = open_and_read(paths)
    design = design_of(reading, shipped_given(), shipped_states())
    result = run(design, shipped_ruleset(), load_checks(), reading)
    assert [(r.rule, r.crashed) for r in result.rules if r.crashed] == []
    filled = sum(sum(1 for row in g.rows if any(_holds(v) for v in row)) for f in opened for g in f.grids)
    assert reading.rows_seen == filled
    assert reading.rows_used + len(reading.set_aside) == reading.rows_seen
    return Tried(opened, reading, design, result)


def _holds(value: Any) -> bool:
    return value is not None and (not isinstance(value, str) or bool(value.strip()))
