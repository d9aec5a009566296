"""What reading a list gives: normalized tables, and an account of every row.

A `Table` keeps its rows as a DataFrame of objects (``None`` is the only missing value) whose columns
are those of `harnessdrc.tables.columns`; a `Reading` is all tables of all files together with the rows
set aside, the assumptions made and the cells that could not be understood.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from harnessdrc.places import Place

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Assumption", "Reading", "SetAside", "SourceName", "Table", "Unreadable"]


@dataclass(frozen=True, slots=True)
class SourceName:
    """A file as given: the name shown to the user, and the SHA-256 of its bytes."""

    file: str
    sha256: str


@dataclass(frozen=True, slots=True)
class SetAside:
    """A row that was not used, and why."""

    file: str
    sheet: str
    row: int
    reason: str


@dataclass(frozen=True, slots=True)
class Assumption:
    """Something read into the list that it does not say outright.

    Parameters
    ----------
    what : str
        ``unit``, ``role``, ``kind``, ``colour``, ``heading``, ``end`` ...
    subject : str
        The text or object it is about: ``CLT return``.
    value : str
        What was taken: ``sensor ground``.
    because : str
        The words or the rule that decided it.
    place : Place, optional
        The first cell it applies to.
    count : int
        How many cells it applies to.
    """

    what: str
    subject: str
    value: str
    because: str
    place: Place | None
    count: int = 1


@dataclass(frozen=True, slots=True)
class Unreadable:
    """A cell with a value that could not be understood; the value is treated as not given."""

    place: Place
    column: str
    text: str
    expected: str


@dataclass(frozen=True, slots=True)
class Table:
    """One table found on one sheet.

    Parameters
    ----------
    form : str
        Name of the form in `harnessdrc.tables.columns.FORMS`: ``wires``, ``pins`` ...
    file, sheet : str
        Where it stands.
    heading_row : int or None
        One-based sheet row of the headings; None for a table that has none.
    cells : mapping of str to int
        Column name → zero-based sheet column of the cell that gave it.
    headings : mapping of str to str
        Column name → the heading as written.
    frame : pandas.DataFrame
        Normalized values, dtype object, one row per object, with the one-based sheet row in ``row``.
    """

    form: str
    file: str
    sheet: str
    heading_row: int | None
    cells: Mapping[str, int]
    headings: Mapping[str, str]
    frame: pd.DataFrame


@dataclass(frozen=True, slots=True)
class Reading:
    """Everything read from the files given, and an account of every non-empty row."""

    sources: tuple[SourceName, ...]
    tables: tuple[Table, ...]
    set_aside: tuple[SetAside, ...] = ()
    assumptions: tuple[Assumption, ...] = ()
    unreadable: tuple[Unreadable, ...] = ()
    rows_seen: int = 0
    rows_used: int = 0
    notes: tuple[str, ...] = field(default=())

    def of(self, form: str) -> list[Table]:
        """Tables of one form, in the order found."""
        return [table for table in self.tables if table.form == form]
