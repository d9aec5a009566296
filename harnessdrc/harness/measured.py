"""Filled-in test sheets of a reading as measurements, and the sheets they stand on."""

from __future__ import annotations

from typing import Any

from harnessdrc.harness.elements import MeasuredSheet, Measurement
from harnessdrc.places import Place, RowPlace
from harnessdrc.tables.model import Reading, Table, Unreadable

__all__ = ["measurements_in"]


def measurements_in(reading: Reading) -> tuple[tuple[Measurement, ...], tuple[MeasuredSheet, ...]]:
    """Measurements in the order of their rows, and one sheet for each sheet with tests; both empty without any."""
    tables = reading.of("measurements")
    if not tables:
        return (), ()
    measurements: list[Measurement] = []
    sheets: dict[tuple[str, str], MeasuredSheet] = {}
    refused: dict[tuple[str, str], list[Unreadable]] = {}
    for cell in reading.unreadable:
        refused.setdefault((cell.place.file, cell.place.sheet), []).append(cell)
    for table in tables:
        names = list(table.frame.columns)
        for values in zip(*(table.frame[name].tolist() for name in names), strict=True):
            row = dict(zip(names, values, strict=True))
            place = RowPlace(table.file, table.sheet, row["row"], table.cells)
            measurements.append(
                Measurement(
                    row["test"], row.get("wire"), (row.get("between_a") or "", row.get("between_b") or ""),
                    row.get("state"), row.get("resistance_ohm"), row.get("isolation_ohm"), row.get("voltage_v"),
                    bool(row.get("above")), place,
                )
            )  # fmt: skip
            _count(sheets, table, row, place, refused)
    return tuple(measurements), tuple(sheets.values())


def _count(
    sheets: dict[tuple[str, str], MeasuredSheet],
    table: Table,
    row: dict[str, Any],
    place: RowPlace,
    refused: dict[tuple[str, str], list[Unreadable]],
) -> None:
    """Add a row to its sheet; of several marks on one sheet the first stands."""
    key = (table.file, table.sheet)
    earlier = sheets.get(key)
    mark = (row.get("issue_mark") or "").casefold() or None
    mark_place = None
    if mark is not None:
        cell = row.get("mark_cell")
        mark_place = Place(table.file, table.sheet, cell) if cell else place.of("issue_mark")
    if earlier is None:
        sheets[key] = MeasuredSheet(table.file, table.sheet, mark, mark_place, 1, tuple(refused.get(key, ())))
    elif earlier.issue_mark is None:
        sheets[key] = MeasuredSheet(*key, mark, mark_place, earlier.rows + 1, earlier.refused)
    else:
        sheets[key] = MeasuredSheet(*key, earlier.issue_mark, earlier.mark_place, earlier.rows + 1, earlier.refused)
