"""Tables of a sheet, found by their headings wherever they stand.

`recognize` turns one grid into regions: which rows and columns make a table, of which form, under which
headings, and which rows inside it are not data. Nothing is read from the cells yet; that is `normalize`.
A region says everything the reading depends on, so that it can be written to a mapping file, edited, and
given back.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from harnessdrc.intake.grid import Grid
from harnessdrc.intake.recognition.headings import Heading
from harnessdrc.tables.model import Assumption

__all__ = [
    "ARROW",
    "LAYOUTS",
    "ONE_TERMINAL",
    "PIN_LIKE",
    "Layout",
    "Recognized",
    "Region",
    "Rows",
    "Sample",
    "is_blank",
    "is_pin_like",
    "padded_rows",
    "span_of",
    "text_of",
]

Rows = Sequence[Sequence[Any]]
"""Rows of a sheet, all of one width, blank text as ``None``, merged data cells filled in."""

LAYOUTS = ("rows", "pins and destinations", "pins", "nets", "device columns")
"""Ways of saying from and to: a row per wire; a row per pin with its destination; a row per pin; nets with
the pins that belong to each; a column per device."""


@dataclass(frozen=True, slots=True)
class Region:
    """How one table of a sheet is understood.

    Parameters
    ----------
    file, sheet : str
        Where it stands.
    form : str
        Form of `harnessdrc.tables.columns.FORMS`.
    layout : str
        One of `LAYOUTS`; ``rows`` for every form but pins.
    heading_rows : tuple of int
        One-based rows of the headings, empty where there are none.
    first_row, last_row : int
        One-based first and last row below the headings.
    columns : mapping of str to int
        Role → zero-based sheet column. Roles are the columns of the forms and ``from_connector``,
        ``to_connector``, ``from_code``, ``to_code``, ``tracer``.
    headings : mapping of str to str
        Role → heading as written.
    units : mapping of str to str
        Role → unit the heading names.
    soft_units : mapping of str to str
        Role → unit the heading only hints at (``Gauge``).
    names : mapping of str to str
        Role → value for all rows where no column gives it: the connector of a pin list.
    devices : mapping of str to int
        For a column per device: device → column.
    fill : frozenset of str
        Roles whose empty cells take the value above.
    leave_out : mapping of int to str
        Row → why it is not data.
    not_used : mapping of int to str
        Column → heading of a column that is not read.
    codes : mapping of str to str
        Location code → what the legend says it stands for.
    """

    file: str
    sheet: str
    form: str
    layout: str
    heading_rows: tuple[int, ...]
    first_row: int
    last_row: int
    columns: Mapping[str, int]
    headings: Mapping[str, str] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    soft_units: Mapping[str, str] = field(default_factory=dict)
    names: Mapping[str, str] = field(default_factory=dict)
    devices: Mapping[str, int] = field(default_factory=dict)
    fill: frozenset[str] = frozenset()
    leave_out: Mapping[int, str] = field(default_factory=dict)
    not_used: Mapping[int, str] = field(default_factory=dict)
    codes: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Recognized:
    """What `recognize` found on one sheet.

    Parameters
    ----------
    grid : Grid
        The sheet.
    rows : Rows
        Its rows, ready to read.
    regions : tuple of Region
        In the order found.
    reasons : mapping of int to str
        Row outside of every region → why it is not data.
    assumptions : tuple of Assumption
        What had to be assumed about headings, ends and connectors.
    unknown : tuple of str
        Headings met that are not known, for the error when nothing is recognized.
    """

    grid: Grid
    rows: Rows
    regions: tuple[Region, ...]
    reasons: Mapping[int, str]
    assumptions: tuple[Assumption, ...] = ()
    unknown: tuple[str, ...] = ()


_INVISIBLE = str.maketrans("", "", "\u200b\u200c\u200d\u2060\ufeff")


def is_blank(text: str) -> bool:
    """Whether a text has nothing to see in it."""
    return not text or text.isspace() or not text.translate(_INVISIBLE).strip()


def padded_rows(grid: Grid) -> list[list[Any]]:
    """Rows of one width, with blank text as ``None`` and vertically merged cells filled in.

    A row that holds nothing else stays empty under a merged cell. A cell merged across columns keeps its
    value in the first of them, as the others are no values of their own column.
    """
    width = max(map(len, grid.rows), default=0)
    blank = {
        v for v in set().union(*grid.rows) if v.__class__ is str and (not v.strip() or not v.isascii()) and is_blank(v)
    }
    rows: list[list[Any]] = []
    for row in grid.rows:
        if blank and not blank.isdisjoint(row):
            row = [None if isinstance(v, str) and v in blank else v for v in row]
        rows.append(row if len(row) == width else [*row, *[None] * (width - len(row))])
    empty = {i for i, row in enumerate(rows) if row.count(None) == width} if grid.merged else set()
    for top, left, bottom, _right in grid.merged:
        if bottom <= top or left >= width or top > len(rows):
            continue
        value = rows[top - 1][left]
        if value is None:
            continue
        for r in range(top, min(bottom, len(rows))):
            if rows[r][left] is None and r not in empty:
                rows[r] = [*rows[r][:left], value, *rows[r][left + 1 :]]
    return rows


def text_of(value: Any) -> str | None:
    """Text of a cell: white space collapsed, whole numbers without a decimal point, empty as ``None``."""
    if value is None:
        return None
    if isinstance(value, str):
        text = value if value.isascii() else value.translate(_INVISIBLE)
        text = " ".join(text.split())
        return (value if text == value else text) or None  # the text of the cell itself, where nothing changes
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else f"{value:.10g}"
    return str(value)


def span_of(region: Region) -> tuple[int, int]:
    """First and last sheet column of a region."""
    columns = [*region.columns.values(), *region.devices.values(), *region.not_used]
    return (min(columns), max(columns)) if columns else (0, 0)


Sample = Callable[[int], list[str]]
"""Texts of the first few hundred filled cells below the heading of a sheet column."""

ARROW = re.compile(r"^(?P<one>\S.*?)\s*(?:<?[-–—=]{1,2}>|→|↔|⇒|➔|⟶|»)\s*(?P<other>\S.*)$")
"""Both ends of a wire in one cell: ``ECU 12 -> TPS 3``."""

ONE_TERMINAL = re.compile(r"^(?:pin|terminal|term\.?|contact|klemme|borne)\s*#?\d{1,3}[a-z]?$", re.I)
"""Heading over what leads to one terminal of each device, ``Terminal 86``; no column of pins."""

PIN_LIKE = re.compile(
    r"^(?:[A-Za-z]{0,2}\d{1,3}[A-Za-z]?|[A-HJ-NPR-Z]{1,2}|[a-hj-z]|\d{1,3}[-./]\d{1,2}|[A-Za-z]\d{1,2}-[A-Za-z]?\d{1,3})$"
)


def is_pin_like(text: str) -> bool:
    """Whether a text could be a pin: ``12``, ``A4``, ``D00 (Rx0)``, ``D02 Int 0``."""
    return bool(PIN_LIKE.match(text) or (" " in text and re.match(r"^[A-Z]{1,2}\d{1,3}[ (]", text)))


@dataclass(slots=True)
class Layout:
    """Columns of one table, before its rows are looked at."""

    form: str
    layout: str = "rows"
    columns: dict[str, int] = field(default_factory=dict)
    headings: dict[str, str] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    soft_units: dict[str, str] = field(default_factory=dict)
    names: dict[str, str] = field(default_factory=dict)
    devices: dict[str, int] = field(default_factory=dict)
    not_used: dict[int, str] = field(default_factory=dict)
    decided: list[tuple[str, str, str, int]] = field(default_factory=list)
    """What was decided: subject, value, because, column."""

    def take(self, role: str, column: int, heading: Heading) -> None:
        """Give a role to a column."""
        self.columns[role] = column
        self.headings[role] = heading.written
        if heading.unit:
            (self.soft_units if heading.soft else self.units)[role] = heading.unit
