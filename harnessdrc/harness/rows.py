"""Rows of a normalized table as dictionaries."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from harnessdrc.tables.model import Table

__all__ = ["columns_there", "rows_of"]


def columns_there(table: Table, columns: Iterable[str]) -> tuple[str, ...]:
    """Those columns that the table has; few lists have any of the seldom ones."""
    return tuple(column for column in columns if column in table.frame)


def rows_of(table: Table) -> Iterator[dict[str, Any]]:
    """Rows of a table as dictionaries, without pandas' per-row cost."""
    names = list(table.frame.columns)
    for values in zip(*(table.frame[name].tolist() for name in names), strict=True):
        yield dict(zip(names, values, strict=True))
