"""Regions turned into normalized tables, with an account of every row."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from harnessdrc.intake.normalizing.frames import plain_frame
from harnessdrc.intake.normalizing.measurements import measurements_table
from harnessdrc.intake.normalizing.pins import (
    pins_table,
    read_pins,
    wires_of_devices,
    wires_of_nets,
    wires_of_pins,
)
from harnessdrc.intake.normalizing.values import Columns
from harnessdrc.intake.normalizing.wires import wires_table
from harnessdrc.intake.recognition.regions import Region, Rows, span_of
from harnessdrc.tables.model import Assumption, Table, Unreadable

__all__ = ["Normalized", "data_rows", "normalize"]


@dataclass(frozen=True, slots=True)
class Normalized:
    """What one region gives.

    Parameters
    ----------
    tables : tuple of Table
        The table, or pins and wires from the same rows.
    one_ended : Table or None
        Wires of a pin list that doesn't say where they go; used only where no other list has wires.
    used : frozenset of int
        Sheet rows that are in a table.
    set_aside : mapping of int to str
        Sheet rows of the region that are in none, with the reason.
    assumptions : tuple of Assumption
        What was read into the list.
    one_ended_assumptions : tuple of Assumption
        Those that hold only where `one_ended` is used.
    unreadable : tuple of Unreadable
        Cells that could not be understood.
    """

    tables: tuple[Table, ...]
    one_ended: Table | None
    used: frozenset[int]
    set_aside: Mapping[int, str]
    assumptions: tuple[Assumption, ...]
    one_ended_assumptions: tuple[Assumption, ...]
    unreadable: tuple[Unreadable, ...]


_NOTHING_IN_IT = {"wires": "reserved, no wire", "pins": "no pin with its connector"}
_NO_NAME = "without the name that tells it from the others"


def data_rows(region: Region, rows: Rows) -> list[int]:
    """One-based rows of a region that are data: not empty between its columns and not left out."""
    left, right = span_of(region)
    width = right - left + 1
    last = min(region.last_row, len(rows))
    return [
        r
        for r in range(region.first_row, last + 1)
        if r not in region.leave_out and rows[r - 1][left : right + 1].count(None) != width
    ]


def normalize(region: Region, rows: Rows) -> Normalized:
    """Tables of one region.

    Parameters
    ----------
    region : Region
        How the table is understood.
    rows : Rows
        Rows of its sheet, from `padded_rows`.
    """
    data = data_rows(region, rows)
    columns = Columns(region, rows, data)
    aside: dict[int, str] = dict(region.leave_out)
    tables: list[Table] = []
    one_ended: Table | None = None
    extra: tuple[Assumption, ...] = ()
    if not data:
        pass
    elif region.form == "wires":
        table, reserved = wires_table(columns)
        aside.update(reserved)
        tables.append(table)
    elif region.form == "measurements":
        tables.append(measurements_table(columns))
    elif region.layout == "device columns":
        tables += wires_of_devices(columns)
    elif region.form == "pins":
        pins = read_pins(columns)
        table, unused = pins_table(columns, pins)
        tables.append(table)
        if region.layout == "pins and destinations":
            tables.append(wires_of_pins(columns, pins, unused, destinations=True))
        elif region.layout == "nets":
            wires = wires_of_nets(columns, pins, unused)
            tables += [wires] if wires is not None else []
        elif {"wire", "colour", "size"} & set(region.columns):
            before = len(columns.assumptions)
            one_ended = wires_of_pins(columns, pins, unused, destinations=False)
            extra = tuple(columns.assumptions[before:])
            del columns.assumptions[before:]
    else:
        tables.append(plain_frame(columns))
    tables = [table for table in tables if len(table.frame)]
    used = frozenset(r for table in tables for r in table.frame["row"])
    for r in data:
        if r not in used and r not in aside:
            aside[r] = _NOTHING_IN_IT.get(region.form, _NO_NAME)
    return Normalized(
        tuple(tables), one_ended if one_ended is not None and len(one_ended.frame) else None, used, aside,
        tuple(columns.assumptions), extra, tuple(columns.unreadable),
    )  # fmt: skip
