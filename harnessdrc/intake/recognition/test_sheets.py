"""Test sheets filled in at the bench: found by their own headings, before any list is looked for.

A test sheet has a column of test numbers and one of readings with their unit, ``Measured (mΩ)``. Beside them stand
wires, ends, sizes and lengths, which would make a wire list of it; so it is looked for first.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from harnessdrc.intake.grid import Grid
from harnessdrc.intake.meter import meter_unit
from harnessdrc.intake.recognition.headings import key_of
from harnessdrc.intake.recognition.regions import Region, Rows, text_of
from harnessdrc.places import cell_name
from harnessdrc.tables.issues import ISSUE_WORDS

__all__ = ["regions_of_tests"]

_LOOKED_AT = 60
"""Rows from the top within which the first headings stand."""

_READING = re.compile(
    r"^(?:measured|measured value|reading)\s*[,:]?\s*(?:in\s+)?[(\[]?\s*(?P<unit>\S[^()\[\]]*?)\s*[)\]]?$", re.I
)
_BEGINNINGS = frozenset(("measure", "reading"))
_COLUMNS: dict[str, str] = {
    "test": "test", "test no": "test", "no of test": "test",
    "wire": "wire", "wire no": "wire",
    "between": "between_a", "first probe": "between_a", "red lead": "between_a", "red": "between_a",
    "from": "between_a",
    "and": "between_b", "second probe": "between_b", "black lead": "between_b", "black": "between_b",
    "to": "between_b",
    "state": "state", "operating state": "state",
    "issue of the list": "issue_mark",
    "note": "note", "notes": "note", "remark": "note", "remarks": "note",
}  # fmt: skip
_MARK = re.compile(rf"{ISSUE_WORDS}\s*[:=]?\s*(?P<mark>[0-9a-f]{{6,64}})?\b", re.I)
_BARE_MARK = re.compile(r"^[0-9a-f]{6,64}$", re.I)


def _reading(text: str) -> tuple[str, str] | None:
    """Column and unit of a heading over readings, else None."""
    match = _READING.match(text)
    unit = meter_unit(match["unit"]) if match else None
    if match is None or unit is None:
        return None
    quantity, scale = unit
    column = "voltage_v" if quantity == "voltage" else "resistance_ohm" if scale <= 1.0 else "isolation_ohm"
    return column, match["unit"]


def _heading(row: Sequence[Any]) -> tuple[dict[str, int], dict[str, str], dict[str, str], dict[int, str]] | None:
    """Columns, headings, units and columns not used of a row of a test sheet's headings; None for any other row."""
    # Nearly every row of every list ends here: none of its cells begins like a heading over readings.
    if not any(value.__class__ is str and value.lstrip()[:7].lower() in _BEGINNINGS for value in row):
        return None
    columns: dict[str, int] = {}
    headings: dict[str, str] = {}
    units: dict[str, str] = {}
    others: dict[int, str] = {}
    for at, value in enumerate(row):
        text = text_of(value) if isinstance(value, str) else None
        if not text:
            continue
        reading = _reading(text)
        role = reading[0] if reading else _COLUMNS.get(key_of(text), "")
        if not role or role in columns:
            others[at] = text
            continue
        columns[role], headings[role] = at, text
        if reading:
            units[role] = reading[1]
    return (columns, headings, units, others) if "test" in columns and units else None


def regions_of_tests(grid: Grid, rows: Rows) -> tuple[Region, ...]:
    """Tables of tests on a sheet, each from its headings to the next ones; none for any other sheet.

    Parameters
    ----------
    grid : Grid
        The sheet.
    rows : Rows
        Its rows from `padded_rows`.
    """
    if not any(_heading(row) for row in rows[:_LOOKED_AT]):
        return ()
    heads = [(number, head) for number, row in enumerate(rows, 1) if (head := _heading(row))]
    regions = []
    for index, (number, (columns, headings, units, others)) in enumerate(heads):
        last = heads[index + 1][0] - 1 if index + 1 < len(heads) else len(rows)
        names = {} if "issue_mark" in columns else _issue(rows, number)
        aside = {
            r: "no test of its own"
            for r in range(number + 1, last + 1)
            if rows[r - 1].count(None) != len(rows[r - 1]) and not _is_test(rows[r - 1], columns)
        }
        regions.append(
            Region(
                grid.file, grid.sheet, "measurements", "rows", (number,), number + 1, last, columns, headings, units,
                names=names, leave_out=aside, not_used=others,
            )
        )  # fmt: skip
    return tuple(regions)


def _is_test(row: Sequence[Any], columns: Mapping[str, int]) -> bool:
    """Whether a row has a test's number with anything beside it; a number column alone holds a banner."""
    return row[columns["test"]] is not None and any(
        row[at] is not None for name, at in columns.items() if name not in ("test", "note")
    )


def _issue(rows: Rows, heading_row: int) -> dict[str, str]:
    """Mark of the list that stands nearest above the headings, with its cell."""
    for number in range(heading_row - 1, 0, -1):
        row = rows[number - 1]
        for at, value in enumerate(row):
            found = _MARK.search(value) if isinstance(value, str) else None
            if found is None:
                continue
            if found["mark"]:
                return {"issue_mark": found["mark"].lower(), "mark_cell": cell_name(number, at)}
            for beside in range(at + 1, len(row)):
                text = text_of(row[beside])
                if text:
                    shown = {"issue_mark": text.lower(), "mark_cell": cell_name(number, beside)}
                    return shown if _BARE_MARK.match(text) else {}
    return {}
