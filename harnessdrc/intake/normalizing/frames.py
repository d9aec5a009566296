"""Frames of the forms whose rows are one object each, and the building of every frame."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd

from harnessdrc.intake.normalizing.coordinates import read_coordinates
from harnessdrc.intake.normalizing.fixed_words import FIXED_WORDS, read_fires, read_words
from harnessdrc.intake.normalizing.pieces import parse_count, parse_pack
from harnessdrc.intake.normalizing.values import Columns
from harnessdrc.tables.columns import FORMS, SELDOM
from harnessdrc.tables.model import Table
from harnessdrc.units import parse_bit_rate, parse_teeth

__all__ = ["EXTRA_COLUMNS", "FRAME_COLUMNS", "frame_of", "plain_frame", "table_of"]

EXTRA_COLUMNS: dict[str, tuple[str, ...]] = {
    "wires": ("from_open", "to_open", "colour_written", "core", "cores", "from_more", "to_more"),
    "pins": ("unused",),
    "measurements": ("above", "mark_cell"),
}
"""Columns that normalization adds to those of the form. ``from_more`` and ``to_more`` hold the further ends of
a cell that names several, one to a line, item and cavity parted by a tab. ``above`` says that a reading is only a
bound, ``mark_cell`` where the mark of the list stands that the tests were printed for."""

FRAME_COLUMNS: dict[str, tuple[str, ...]] = {
    name: ("row", *(c.name for c in form.columns), *EXTRA_COLUMNS.get(name, ())) for name, form in FORMS.items()
}
"""Columns of the frame of each form, in order; ``row`` is the one-based sheet row."""


def frame_of(form: str, values: Mapping[str, Sequence[Any]]) -> pd.DataFrame:
    """Frame of a form from its columns; a column that is not given is ``None`` throughout.

    Every column has dtype object, so that ``None`` stays ``None`` and nothing is turned into text or NaN.
    Those that few lists have (`SELDOM`) are there only where they are given.
    """
    count = len(values["row"])
    names = [name for name in FRAME_COLUMNS[form] if name in values or name not in SELDOM[form]]
    block = np.empty((count, len(names)), dtype=object)
    for j, name in enumerate(names):
        given = values.get(name)
        if given is not None:
            block[:, j] = _object_array(given)
    return pd.DataFrame(block, columns=pd.Index(names, dtype=object), dtype=object, copy=False)


def _object_array(values: Sequence[Any]) -> np.ndarray[Any, np.dtype[Any]]:
    out = np.empty(len(values), dtype=object)
    out[:] = values
    return out


def table_of(columns: Columns, form: str, frame: pd.DataFrame, roles: Mapping[str, str] | None = None) -> Table:
    """Table of a frame, with the sheet column of every value it can name.

    Parameters
    ----------
    columns : Columns
        The region the frame was read from.
    form : str
        Form of the table.
    frame : DataFrame
        From `frame_of`.
    roles : mapping of str to str, optional
        Column of the form → role of the region that gave it, where the two differ.
    """
    region = columns.region
    cells: dict[str, int] = {}
    headings: dict[str, str] = {}
    for name in FRAME_COLUMNS[form]:
        role = (roles or {}).get(name, name)
        if role in region.columns:
            cells[name] = region.columns[role]
            headings[name] = region.headings.get(role, "")
    if "colour" in cells:
        cells["colour_written"] = cells["colour"]
    heading_row = region.heading_rows[-1] if region.heading_rows else None
    return Table(form, region.file, region.sheet, heading_row, cells, headings, frame)


def plain_frame(columns: Columns) -> Table:
    """Table of a form whose rows are one object each: components, fuses, earth points, straps ..."""
    form = columns.region.form
    values: dict[str, Sequence[Any]] = {"row": columns.data}
    if form == "points":
        values |= read_coordinates(columns)
    for column in FORMS[form].columns:
        name = column.name
        if name not in columns.region.columns or name in values:
            continue
        if column.value == "size":
            values[name] = columns.sizes(name)
        elif column.value == "length":
            values[name] = columns.lengths(name)
        elif column.value in ("current", "resistance", "capacitance", "voltage", "pressure", "time"):
            values[name] = columns.figures(name, column.value)
        elif column.value == "teeth":
            values[name] = columns.counts(name, parse_teeth)
        elif column.value == "bit_rate":
            values[name] = columns.counts(name, parse_bit_rate)
        elif column.value in ("count", "pack"):
            values[name] = columns.counts(name, parse_count if column.value == "count" else parse_pack)
        elif column.value == "fires":
            values[name] = read_fires(columns, name)
        elif column.value in FIXED_WORDS:
            values[name] = read_words(columns, name, column.value)
        elif column.value == "flag":
            values[name] = columns.flags(name)
        elif column.value == "body":
            values[name] = columns.lowered(name)
        else:
            values[name] = columns.texts(name, names=column.value in ("name", "cavity"), placeholders=not column.needed)
    frame = frame_of(form, values)
    # What is known by name is nothing without it: its row is set aside. A strap is told by its bodies, a branch without
    # an end is for the checks.
    names = [c for c in FORMS[form].columns if c.needed and c.value == "name"]
    for column in () if form in ("straps", "joints") else names[:1] if form == "branches" else names:
        if frame[column.name].isna().any():
            frame = frame[frame[column.name].notna()].reset_index(drop=True)
    return table_of(columns, form, frame)
