"""Sheets written as rows, for the tests of this folder."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from harnessdrc.intake.grid import Grid, OpenedFile
from harnessdrc.intake.mapping import Mapping
from harnessdrc.intake.reading import read_lists
from harnessdrc.tables.model import Reading, Table

LISTS = Path(__file__).parent.parent.parent.parent / "shared" / "real_wirelists"


def grid(rows: Sequence[Sequence[Any]] | str, *, file: str = "loom.xlsx", sheet: str = "Sheet1", **more: Any) -> Grid:
    """Sheet from rows, or from text with one row per line and cells between bars."""
    if isinstance(rows, str):
        rows = [[_cell(c) for c in line.split("|")] for line in rows.strip("\n").split("\n")]
    return Grid(file, sheet, [list(row) for row in rows], **more)


def _cell(text: str) -> Any:
    text = text.strip()
    return int(text) if text.isdigit() and (text == "0" or text[0] != "0") else text or None


def opened(*grids: Grid) -> list[OpenedFile]:
    """Files that hold the given sheets, in order."""
    files: dict[str, list[Grid]] = {}
    for g in grids:
        files.setdefault(g.file, []).append(g)
    return [OpenedFile(Path(f), f, "xlsx", "0" * 64, tuple(gs)) for f, gs in files.items()]


def read(*sheets: Grid | str, mapping: Mapping | None = None) -> Reading:
    """Reading of sheets; its account of rows is checked every time."""
    grids = [grid(s, sheet=f"Sheet{i + 1}") if isinstance(s, str) else s for i, s in enumerate(sheets)]
    reading = read_lists(opened(*grids), mapping)
    check_account(reading, grids)
    return reading


def check_account(reading: Reading, grids: Iterable[Grid]) -> None:
    """Every row that holds something is used or set aside, once."""
    filled = {
        (g.file, g.sheet, i + 1)
        for g in grids
        for i, row in enumerate(g.rows)
        if any(v is not None and str(v).strip() for v in row)
    }
    aside = [(s.file, s.sheet, s.row) for s in reading.set_aside]
    assert len(aside) == len(set(aside))
    assert set(aside) <= filled
    assert reading.rows_seen == len(filled)
    assert reading.rows_seen == reading.rows_used + len(aside)
    assert all(s.reason for s in reading.set_aside)
    used = {(t.file, t.sheet, r) for t in reading.tables for r in t.frame["row"]}
    assert used == filled - set(aside)


def only(reading: Reading, form: str) -> Table:
    """The one table of a form."""
    tables = reading.of(form)
    assert len(tables) == 1, [(t.form, len(t.frame)) for t in reading.tables]
    return tables[0]


def ends(table: Table) -> list[tuple[Any, ...]]:
    """Ends of every wire."""
    columns = ["from_item", "from_cavity", "to_item", "to_cavity"]
    return list(table.frame[columns].itertuples(index=False, name=None))


def pins(table: Table) -> list[tuple[Any, ...]]:
    """Connector, cavity and signal of every pin."""
    return list(table.frame[["connector", "cavity", "signal"]].itertuples(index=False, name=None))


def reasons(reading: Reading) -> dict[int, str]:
    """Rows set aside with their reasons, of a reading of one sheet."""
    return {s.row: s.reason for s in reading.set_aside}
