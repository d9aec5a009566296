"""Sheets of concessions: found by their own headings, before any list is looked for.

A concession has a rule, a subject, a reason, and by whom or until when it is given. A list of wires has none of these
together, and neither has a sheet of the redline.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from harnessdrc.intake.recognition.headings import key_of
from harnessdrc.intake.recognition.regions import Rows, text_of

__all__ = ["CONCESSION_HEADINGS", "OWN_FAULTS", "ConcessionTable", "concession_tables", "rows_of_concessions"]

CONCESSION_HEADINGS: dict[str, str] = {
    "rule": "Rule", "subject": "Subject", "kind": "Kind", "reason": "Reason", "by": "By", "until": "Until",
    "accepted": "Accepted value", "unit": "Unit",
}  # fmt: skip
"""Field of a concession → its recommended heading."""

OWN_FAULTS = (
    "a concession within the list: the list cannot accept its own faults; give --concessions-in-list where it is to "
    "count"
)
"""Why such a row of a list is set aside."""

_SPELLINGS: dict[str, str] = {
    "rule": "rule", "rule name": "rule", "name of rule": "rule",
    "subject": "subject", "object": "subject",
    "kind": "kind", "kind of subject": "kind", "subject kind": "kind",
    "reason": "reason", "because": "reason", "why": "reason", "justification": "reason",
    "by": "by", "by whom": "by", "accepted by": "by", "granted by": "by", "approved by": "by", "given by": "by",
    "until": "until", "until when": "until", "valid until": "until", "expires": "until", "expiry": "until",
    "expiry date": "until", "valid to": "until",
    "accepted value": "accepted", "accepted": "accepted", "value accepted": "accepted", "measured value "
    "accepted": "accepted",
    "accepted measured value": "accepted",
    "unit": "unit",
}  # fmt: skip
_ACCEPTED_IN = (
    r"^\s*(?:measured\s+)?(?:value\s+)?accepted(?:\s+value)?\s*[(\[]\s*(?:in\s+)?([^()\[\]]+?)\s*[)\]]\s*$"
)
"""Not compiled before the first sheet with a heading over rules, which few lists have."""
_LOOKED_AT = 60
"""Rows from the top within which the headings stand."""


@dataclass(frozen=True, slots=True)
class ConcessionTable:
    """Where the concessions of a sheet stand.

    Parameters
    ----------
    heading_row : int
        One-based row of the headings.
    last_row : int
        Last row before the next headings, or of the sheet.
    columns : dict of str to int
        Field → zero-based column.
    unit : str
        Unit that the heading over the accepted values names; empty where it names none.
    others : tuple of (int, str)
        Columns that are none of these, with their headings.
    twice : tuple of (int, str)
        Columns whose heading means a field that another column has already.
    """

    heading_row: int
    last_row: int
    columns: dict[str, int]
    unit: str
    others: tuple[tuple[int, str], ...]
    twice: tuple[tuple[int, str], ...]


def concession_tables(rows: Rows, *, surely: bool = True) -> list[ConcessionTable]:
    """Tables of concessions of a sheet.

    Parameters
    ----------
    rows : Rows
        Its rows from `padded_rows`.
    surely : bool
        Whether a reason and by whom or until when must stand beside rule and subject, so that no other sheet is taken
        for one of concessions; otherwise rule and subject will do, and what is lacking can be told.

    Returns
    -------
    list of ConcessionTable
        In the order of the sheet.
    """
    heads = [(number, head) for number, row in enumerate(rows[:_LOOKED_AT], 1) if (head := _heading(row, surely))]
    if not heads:
        return []
    heads += [
        (number, head)
        for number, row in enumerate(rows[_LOOKED_AT:], _LOOKED_AT + 1)
        if (head := _heading(row, surely))
    ]
    ends = [number - 1 for number, _ in heads[1:]] + [len(rows)]
    return [ConcessionTable(number, end, *head) for (number, head), end in zip(heads, ends, strict=True)]


def rows_of_concessions(rows: Rows) -> dict[int, str]:
    """One-based row of a sheet of concessions → why it is set aside; empty for every other sheet."""
    tables = concession_tables(rows)
    reasons: dict[int, str] = {}
    if not tables:
        return reasons
    heads = {table.heading_row for table in tables}
    for number, row in enumerate(rows, 1):
        if row.count(None) == len(row):
            continue
        if number in heads:
            reasons[number] = "headings of the concessions"
        elif number < tables[0].heading_row:
            reasons[number] = "above the headings of the concessions"
        else:
            reasons[number] = OWN_FAULTS
    return reasons


_Head = tuple[dict[str, int], str, tuple[tuple[int, str], ...], tuple[tuple[int, str], ...]]


def _heading(row: Sequence[Any], surely: bool) -> _Head | None:
    """Columns, unit, other and doubled columns of a row of headings; None for any other row."""
    # Nearly every row of every list ends here: none of its cells begins like the heading over rules.
    if not any(value.__class__ is str and "rule" in value[:24].lower() for value in row):
        return None
    columns: dict[str, int] = {}
    unit = ""
    others: list[tuple[int, str]] = []
    twice: list[tuple[int, str]] = []
    for at, value in enumerate(row):
        text = text_of(value) if isinstance(value, str) else None
        if not text:
            continue
        named = re.match(_ACCEPTED_IN, text, re.I)
        field = "accepted" if named else _SPELLINGS.get(key_of(text))
        if field is None:
            others.append((at, text))
        elif field in columns:
            twice.append((at, text))
        else:
            columns[field] = at
            unit = named[1] if named else unit
    if not {"rule", "subject"} <= columns.keys():
        return None
    if surely and not ("reason" in columns and columns.keys() & {"by", "until"}):
        return None
    return columns, unit, tuple(others), tuple(twice)
