"""Reading the shipped tables of figures, with one sentence for whatever is wrong with one."""

from __future__ import annotations

import csv
import math
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from typing import TypeVar

from harnessdrc.datafiles import rulesets_folder
from harnessdrc.errors import FileUnreadableError

__all__ = ["number_or_none", "positive_number", "read_table", "shipped_rows", "word_list"]

_Row = TypeVar("_Row")


@contextmanager
def shipped_rows(name: str, what: str) -> Iterator[list[dict[str, str]]]:
    """Rows of a table under ``rulesets/tables`` by heading, for a block that makes something of them.

    Parameters
    ----------
    name : str
        File name, as ``fuse_times.csv``.
    what : str
        What the table holds, for the error: "limits of fuses".

    Raises
    ------
    FileUnreadableError
        When the table is missing, damaged or empty, when a row names no source, and for what the block cannot use:
        faults as ValueError, KeyError, TypeError or AttributeError.
    """
    path = rulesets_folder() / "tables" / name
    try:
        with path.open(encoding="utf-8", newline="") as file:
            rows = [{key: value.strip() for key, value in row.items()} for row in csv.DictReader(file)]
        if not rows:
            raise ValueError("it has no rows")
        if not all(row["source"] for row in rows):
            raise ValueError("a row names no source")
        yield rows
    except (OSError, ValueError, KeyError, TypeError, AttributeError, csv.Error) as error:
        raise FileUnreadableError(
            f"the shipped table of {what} cannot be used ({error}).", file=str(path), remedy="Install harnessdrc again."
        ) from error


def read_table(name: str, what: str, read_row: Callable[[Mapping[str, str]], _Row]) -> tuple[_Row, ...]:
    """Rows of a table, each turned into an object by `read_row`; the rest as `shipped_rows`."""
    with shipped_rows(name, what) as rows:
        return tuple(read_row(row) for row in rows)


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
