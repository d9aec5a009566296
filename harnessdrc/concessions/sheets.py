"""Concessions of a sheet: rows below the headings Rule, Subject, Reason, By, Until."""

from __future__ import annotations

from collections.abc import Sequence

from harnessdrc.concessions.model import NEEDED
from harnessdrc.concessions.records import Record, Records
from harnessdrc.intake.grid import Grid
from harnessdrc.intake.recognition.concession_sheets import CONCESSION_HEADINGS, ConcessionTable, concession_tables
from harnessdrc.intake.recognition.regions import Rows, padded_rows, text_of
from harnessdrc.places import Place, cell_name
from harnessdrc.rulesets.faults import nearest, quoted

__all__ = ["take_sheets"]


def take_sheets(records: Records, grids: Sequence[Grid], *, surely: bool) -> int:
    """Add the concessions of all sheets that hold any.

    Parameters
    ----------
    records : Records
        Takes concessions and faults.
    grids : sequence of Grid
        Sheets of a workbook, or a delimited text.
    surely : bool
        As in `concession_tables`: whether a sheet with less than the needed headings is one of concessions.

    Returns
    -------
    int
        Number of tables found.
    """
    count = 0
    for grid in grids:
        rows = padded_rows(grid)
        for table in concession_tables(rows, surely=surely):
            _take(records, grid, rows, table)
            count += 1
    return count


def _take(records: Records, grid: Grid, rows: Rows, table: ConcessionTable) -> None:
    def at(row: int, column: int) -> Place:
        return Place(grid.file, grid.sheet, cell_name(row, column))

    for column, text in table.twice:
        records.fault(
            at(table.heading_row, column),
            f"the heading {quoted(text)} stands twice in its meaning; keep one of the columns",
        )
    lacking = {name: CONCESSION_HEADINGS[name] for name in CONCESSION_HEADINGS if name not in table.columns}
    excused = set()
    for column, text in table.others:
        meant = nearest(text, lacking.values())
        if meant is not None:
            records.fault(
                at(table.heading_row, column), f"the heading {quoted(text)} is not known; did you mean {quoted(meant)}?"
            )
            excused |= {name for name, heading in lacking.items() if heading == meant}
    for name in NEEDED:
        if name in lacking and name not in excused:
            place = Place(grid.file, grid.sheet, str(table.heading_row))
            records.fault(place, f"there is no column '{lacking[name]}'; add it")
            excused.add(name)
    headings = {
        name: text_of(rows[table.heading_row - 1][table.columns[name]]) or "" if name in table.columns else heading
        for name, heading in CONCESSION_HEADINGS.items()
    }
    for number in range(table.heading_row + 1, table.last_row + 1):
        row = rows[number - 1]
        values = {name: row[column] for name, column in table.columns.items() if row[column] is not None}
        if values:
            cells = {name: at(number, column) for name, column in table.columns.items()}
            place = Place(grid.file, grid.sheet, str(number))
            records.take(Record(values, place, cells, headings, table.unit), frozenset(excused))
