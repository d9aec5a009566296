"""Reading the shipped tables of figures, with one sentence for whatever is wrong with one."""

from __future__ import annotations

import csv
import math
from collections.abc import Callable, Mapping
from typing import TypeVar

from harnessdrc.datafiles import rulesets_folder
from harnessdrc.errors import FileUnreadableError

__all__ = ["number_or_none", "positive_number", "read_table", "word_list"]

_Row = TypeVar("_Row")


def read_table(name: str, what: str, read_row: Callable[[Mapping[str, str]], _Row]) -> tuple[_Row, ...]:
    """Rows of a table under ``rulesets/tables``, each turned into an object.

    Parameters
    ----------
    name : str
        File name, as ``fuse_times.csv``.
    what : str
        What the table holds, for the error: "limits of fuses".
    read_row : callable
        Turns the cells of one row, by heading, into an object; faults as ValueError or KeyError.

    Raises
    ------
    FileUnreadableError
        When the table is missing, damaged or empty, and when a row names no source.
    """
    path = rulesets_folder() / "tables" / name
    try:
        with path.open(encoding="utf-8", newline="") as file:
            cells = [{key: value.strip() for key, value in row.items()} for row in csv.DictReader(file)]
        if not cells:
            raise ValueError("it has no rows")
        if not all(row["source"] for row in cells):
            raise ValueError("a row names no source")
        return tuple(read_row(row) for row in cells)
    except (OSError, ValueError, KeyError, TypeError, AttributeError, csv.Error) as error:
        raise FileUnreadableError(
            f"the shipped table of {what} cannot be used ({error}).", file=str(path), remedy="Install harnessdrc again."
        ) from error


def positive_number(cell: str) -> float:
    """Number of a cell that must hold one above zero.

    Raises
    ------
    ValueError
        For anything else.
    """
    value = float(cell)
    if not (math.isfinite(value) and value > 0.0):
        raise ValueError(f"expected a number above zero instead of '{cell}'")
    return value


def number_or_none(cell: str) -> float | None:
    """Number above zero of a cell, or None where it is empty; errors as `positive_number`."""
    return positive_number(cell) if cell else None


def word_list(cell: str) -> tuple[str, ...]:
    """Words of a cell, parted by semicolons."""
    return tuple(part for each in cell.split(";") if (part := each.strip()))
