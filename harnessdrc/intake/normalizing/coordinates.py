"""Coordinates of points: one unit for all axes that name none."""

from __future__ import annotations

from harnessdrc.intake.normalizing.values import Columns, Texts
from harnessdrc.units import LENGTH_UNITS, NotUnderstoodError, UnitMissingError, parse_coordinate

__all__ = ["read_coordinates"]

_AXES = ("x_m", "y_m", "z_m")
_LONGEST_M = 20.0  # no axis of a loom is longer, so that larger numbers are millimetres


def read_coordinates(columns: Columns) -> dict[str, list[float | None]]:
    """Coordinates of every data row in metres, by column.

    The unit stands in the cell or the heading. An axis whose heading names none has that of the other headings,
    else that of the other cells, else the one that the largest number of all axes allows; which is listed.
    A list without an axis has no values for it.
    """
    axes = [axis for axis in _AXES if axis in columns.region.columns]
    texts = {axis: columns.texts(axis, placeholders=True) for axis in axes}
    headed = {axis: columns.region.units.get(axis) or columns.region.soft_units.get(axis) or "" for axis in axes}
    headed = {axis: unit if unit in LENGTH_UNITS else "" for axis, unit in headed.items()}
    _note_several(columns, headed)
    common = _common_unit(columns, texts, headed)

    def read(axis: str) -> list[float | None]:
        unit = headed[axis] or common
        return columns.parsed(axis, lambda text: parse_coordinate(text, unit), texts[axis])

    return {axis: read(axis) for axis in axes}


def _note_several(columns: Columns, headed: dict[str, str]) -> None:
    """List headings of different units: they are obeyed, and most often a slip."""
    named = {axis: unit for axis, unit in headed.items() if unit}
    if len(set(named.values())) > 1:
        axis, value = next(iter(named)), ", ".join(f"{columns.heading(a)} in {unit}" for a, unit in named.items())
        columns.assume("unit", "coordinates", value, "the headings name different units", columns.place(axis))


def _common_unit(columns: Columns, texts: dict[str, Texts], headed: dict[str, str]) -> str | None:
    """Unit of the plain numbers under headings that name none."""
    bare: dict[str, list[int]] = {}
    largest = 0.0
    written: set[str] = set()
    for axis, column in texts.items():
        values: dict[str, float] = {}
        for text in {t for t in column if t is not None}:
            try:
                parse_coordinate(text)
                written.add(_unit_written(text))
            except UnitMissingError as missing:
                values[text] = missing.value
            except NotUnderstoodError:
                continue
        if values and not headed[axis]:
            bare[axis] = [i for i, text in enumerate(column) if text in values]
            largest = max(largest, *(abs(value) for value in values.values()))
    if not bare:
        return None
    units = {unit for unit in headed.values() if unit} or written - {""}
    if len(units) == 1:
        unit = units.pop()
        because = "the other headings say so" if any(headed.values()) else "the other cells say so"
    elif units:
        return None
    elif largest > _LONGEST_M:
        unit, because = "mm", f"the largest number, {largest:g}, is too large for metres"
    else:
        unit, because = "m", f"the largest number, {largest:g}, is too small for millimetres"
    axis = next(iter(bare))
    shown = ", ".join(columns.heading(a) for a in bare)
    columns.assume("unit", shown, unit, because, columns.place(axis, bare[axis][0]), sum(map(len, bare.values())))
    return unit


def _unit_written(text: str) -> str:
    """Unit a coordinate is written with, as a key of `LENGTH_UNITS`; empty for a plain number."""
    tail = text.strip().lstrip("0123456789.,+- \u2212\u2013").strip().lower()
    scale = LENGTH_UNITS.get(tail.replace("\u201d", '"').replace("\u2033", '"'))
    return next((unit for unit in ("mm", "cm", "m", "in", "ft") if LENGTH_UNITS[unit] == scale), "")
