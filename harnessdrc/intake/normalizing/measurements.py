"""Frame of a filled-in test sheet: one row per test, with what the meter showed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from harnessdrc.intake.meter import Quantity, Shown, read_meter
from harnessdrc.intake.normalizing.frames import frame_of, table_of
from harnessdrc.intake.normalizing.values import Columns
from harnessdrc.tables.model import Table

__all__ = ["measurements_table"]

_READINGS: tuple[tuple[str, Quantity, str], ...] = (
    ("resistance_ohm", "resistance", "mΩ"), ("isolation_ohm", "resistance", "MΩ"), ("voltage_v", "voltage", "mV"),
)  # fmt: skip
"""Column, what is measured, and its usual unit."""


def measurements_table(columns: Columns) -> Table:
    """Table of the tests in a region; a reading that cannot be one is listed as not understood, with its cell."""
    values: dict[str, Sequence[Any]] = {
        "row": columns.data,
        "test": columns.texts("test", names=True),
        "mark_cell": columns.texts("mark_cell"),
    }
    for name in ("wire", "between_a", "between_b", "state", "issue_mark", "note"):
        values[name] = columns.texts(name, placeholders=name != "note")
    above = [False] * len(columns)
    for name, quantity, usual in _READINGS:
        shown = _shown(columns, name, quantity, columns.region.units.get(name, usual))
        values[name] = [None if reading is None else reading.value for reading in shown]
        above = [one or (reading is not None and reading.above) for one, reading in zip(above, shown, strict=True)]
    values["above"] = above
    frame = frame_of("measurements", values)
    if frame["test"].isna().any():
        frame = frame[frame["test"].notna()].reset_index(drop=True)
    return table_of(columns, "measurements", frame)


def _shown(columns: Columns, name: str, quantity: Quantity, unit: str) -> list[Shown | None]:
    if name not in columns.region.columns:
        return [None] * len(columns)
    texts = columns.figures_as_written(name)
    return columns.parsed(name, lambda text: read_meter(text, quantity, unit), texts)
