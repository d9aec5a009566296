"""Headings that are known only beside the others of their list.

``Gap``, ``Output`` or ``X`` say nothing by themselves, and stand as values in the rows of many lists. Beside the
headings of a component list, or beside each other, they name a column.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

from harnessdrc.intake.recognition.form import PARTS_HALLMARKS, form_of
from harnessdrc.intake.recognition.head_cells import HeadCell, HeadRow
from harnessdrc.intake.recognition.headings import heading_unit, match_heading, vocabulary
from harnessdrc.intake.recognition.regions import Rows, text_of

__all__ = ["in_context", "points_under_a_title"]

_TABLE_OF_FORM = {
    "wires": "wires", "pins": "wires", "components": "components", "branches": "branches", "splices": "splices",
}  # fmt: skip
_SAYS_PARTS = PARTS_HALLMARKS | {"family"}
_NO_PARTS = frozenset(("wire", "colour", "signal", "connector", "component", "current", "length", "rating", "net"))
"""Meanings of headings that a parts table does not have."""
_SAYS_IGNITION = frozenset(("fires", "lead_m", "lead_type", "plug_type"))
_NAMES = ("item", "component", "connector")
_WEAK_NAMES = ("number", "signal")  # "No", "Name"
_BESIDE_POINTS = frozenset(("note", "number", "zone", "place", "none", "signal", "type", "body", "option"))
"""Meanings that headings beside a point and its coordinates may have."""


def in_context(cells: list[HeadCell]) -> list[HeadCell]:
    """Headings of one row, those that are known only beside others with the column they name there."""
    within = vocabulary().within_keys
    if all(cell.heading.key not in within for cell in cells):
        return cells
    out = _settled(cells)
    runs = _runs(out)
    return [cell for run in runs for cell in _settled(run)] if len(runs) > 1 else out


def _runs(cells: Sequence[HeadCell]) -> list[list[HeadCell]]:
    """Headings parted where a column between them has none."""
    out: list[list[HeadCell]] = []
    for cell in cells:
        if out and cell.column == out[-1][-1].column + 1:
            out[-1].append(cell)
        else:
            out.append([cell])
    return out


def _settled(cells: list[HeadCell]) -> list[HeadCell]:
    tables = vocabulary().within
    point = _name_of_points(cells, tables["points"])
    if point is not None:
        columns = {key: column for key, column in tables["points"].items() if column != "point"}
        return [_as(cell, "point") if cell is point else cell for cell in _renamed(cells, columns)]
    if _says_parts(cells, tables["parts"]):
        return _renamed(cells, tables["parts"])
    form = form_of(cells)
    if form is None and _says_components(cells, tables["components"]):
        form = "components"
    table = _TABLE_OF_FORM.get(form or "")
    if not table:
        return cells
    columns = tables[table]
    if table == "components" and not _named_beside_part(cells, columns):
        columns = {key: column for key, column in columns.items() if column != "part"}  # the part is the component
    return _renamed(cells, columns)


def _renamed(cells: Sequence[HeadCell], columns: Mapping[str, str]) -> list[HeadCell]:
    taken: set[str] = set()
    out: list[HeadCell] = []
    for cell in cells:
        column = columns.get(cell.heading.key)
        if column is not None and column not in taken:
            taken.add(column)
            cell = _as(cell, column)
        out.append(cell)
    return out


def _named_beside_part(cells: Sequence[HeadCell], columns: Mapping[str, str]) -> bool:
    """Whether a heading beside that of the part names the component of each row."""
    others = (cell.heading for cell in cells if columns.get(cell.heading.key) != "part")
    return any(other.may_be("component") and not other.side for other in others)


def _as(cell: HeadCell, column: str) -> HeadCell:
    return replace(cell, heading=replace(cell.heading, concepts=(column,), side="", qualifier="", soft=False))


def _says_components(cells: Sequence[HeadCell], columns: Mapping[str, str]) -> bool:
    """Whether a list of components has no more than what is known within one: ``Component``, ``Fires``."""
    named = any(cell.heading.may_be("component") and not cell.heading.side for cell in cells)
    known = {columns[cell.heading.key] for cell in cells if cell.heading.key in columns}
    return named and (len(known) >= 2 or not known.isdisjoint(_SAYS_IGNITION))


def _says_parts(cells: Sequence[HeadCell], columns: Mapping[str, str]) -> bool:
    """Whether headings make a parts table: a column of part names, and one that only parts have."""
    known = {columns[cell.heading.key] for cell in cells if cell.heading.key in columns}
    others = [cell.heading for cell in cells if cell.heading.key not in columns]
    with_kind = any(other.may_be("kind") for other in others)
    if "part" not in known or len(known & _SAYS_PARTS) + with_kind < 2 or not known & PARTS_HALLMARKS:
        return False
    return not any(other.side or (other.concepts[:1] and other.concepts[0] in _NO_PARTS) for other in others)


def _name_of_points(cells: Sequence[HeadCell], columns: Mapping[str, str]) -> HeadCell | None:
    """The heading that names the points of a list of coordinates; None where the headings make no such list."""
    axes = {columns[cell.heading.key] for cell in cells if cell.heading.key in columns} - {"point"}
    if not axes >= {"x_m", "y_m"}:
        return None
    others = [cell for cell in cells if columns.get(cell.heading.key, "point") == "point"]
    if any(cell.heading.side for cell in others):
        return None
    ranked = [
        *(cell for cell in others if cell.heading.key in columns),
        *(cell for name in _NAMES for cell in others if cell.heading.may_be(name)),
        *(cell for name in _WEAK_NAMES for cell in others if cell.heading.may_be(name)),
    ]
    if not ranked:
        return None
    beside = (cell.heading.concepts[:1] for cell in others if cell is not ranked[0])
    return ranked[0] if all(not first or first[0] in _BESIDE_POINTS for first in beside) else None


def points_under_a_title(rows: Rows, i: int) -> HeadRow | None:
    """Headings of two rows over points: "Point" and "Coordinates (mm)" over "X", "Y" and "Z"."""
    axes = {j: match_heading(v) for j, v in enumerate(rows[i + 1]) if isinstance(v, str)}
    columns = vocabulary().within["points"]
    if not {columns.get(heading.key) for heading in axes.values()} >= {"x_m", "y_m"}:
        return None
    cells: list[HeadCell] = []
    unit = ""
    for j, value in enumerate(rows[i]):
        text = text_of(value)
        if j not in axes:
            if text is not None:
                cells.append(HeadCell(j, i + 1, match_heading(text)))
            continue
        unit = (heading_unit(_in_brackets(text)) if text else "") or unit
        own = axes[j]
        cells.append(HeadCell(j, i + 2, own if own.unit or not unit else replace(own, unit=unit)))
    settled = in_context(cells)
    names = {concept for cell in settled for concept in cell.heading.concepts[:1]}
    return HeadRow((i + 1, i + 2), tuple(settled)) if names >= {"point", "x_m", "y_m"} else None


def _in_brackets(text: str) -> str:
    """Text in the last brackets of another, else its last word: ``mm`` of "Coordinates (mm)"."""
    words = re.split(r"[\s(\[,]+", text.strip(" )]"))
    return words[-1]
