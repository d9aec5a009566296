"""Points and branches of a harness, from their tables."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from harnessdrc.harness.assumed import Assumed
from harnessdrc.harness.elements import Branch, Point
from harnessdrc.harness.names import fold
from harnessdrc.places import RowPlace
from harnessdrc.tables.model import Reading, Table

__all__ = ["branches_in", "points_in"]


def _rows(table: Table) -> Iterator[tuple[dict[str, Any], RowPlace]]:
    for row in table.frame.to_dict("records"):
        yield row, RowPlace(table.file, table.sheet, row["row"], table.cells)


def branches_in(reading: Reading) -> tuple[dict[str, Branch], tuple[tuple[Branch, Branch], ...]]:
    """Branches by their folded name, of a name that stands twice its first row; and rows that differ with it."""
    branches: dict[str, Branch] = {}
    repeated: list[tuple[Branch, Branch]] = []
    for table in reading.of("branches"):
        for row, place in _rows(table):
            key = fold(row["branch"])
            branch = Branch(
                key, row["branch"], row["from_point"], row["to_point"], row["length_m"], row["zone"], place,
                row.get("sleeve_m"), row.get("bend_m"), row.get("sleeve_shrunk_m"),
            )  # fmt: skip
            first = branches.setdefault(key, branch)
            if _said(first) != _said(branch):
                repeated.append((first, branch))
    return branches, tuple(repeated)


def _said(branch: Branch) -> tuple[object, ...]:
    """What a row says of a branch, whichever of its ends stands first."""
    ends = sorted(fold(point or "") for point in (branch.from_point, branch.to_point))
    return (*ends, branch.length_m, fold(branch.zone or ""))


def points_in(reading: Reading, assumed: Assumed) -> tuple[dict[str, Point], tuple[tuple[Point, Point], ...]]:
    """Points by their folded name, of a name that stands twice its first row; and those of other coordinates with it.

    A table without a column Z is a flat drawing: all its points lie at z = 0, which is listed.
    """
    points: dict[str, Point] = {}
    repeated: list[tuple[Point, Point]] = []
    for table in reading.of("points"):
        flat = "z_m" not in table.cells
        for row, place in _rows(table):
            key = fold(row["point"])
            x_m, y_m, z_m = row["x_m"], row["y_m"], row["z_m"]
            if flat and (x_m is not None or y_m is not None):
                z_m = 0.0
                assumed.add("coordinates", "z of all points", "0", "there is no column Z", place.of("x_m", "point"))
            point = Point(key, row["point"], x_m, y_m, z_m, place)
            first = points.setdefault(key, point)
            if (first.x_m, first.y_m, first.z_m) != (x_m, y_m, z_m):
                repeated.append((first, point))
    return points, tuple(repeated)
