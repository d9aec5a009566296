"""Mutual inductance of closed loops in space, and closed forms for wires, pairs and rectangles.

Neumann's integral ``M = μ0/4π ∮∮ dl·dl' / r`` over two closed polylines is a sum over pairs of straight segments.
One of its two integrals is always taken in closed form, the potential of a straight segment of length L at
distances r1 and r2 from its ends, ``ln((r1 + r2 + L) / (r1 + r2 - L))``. The other is taken

* for pairs that lie further apart than some seven times half the victim's segment, by Gauss's rule of four
  points, for all pairs at once; its relative error is below 0.006 (half length / distance)⁸, some 10⁻⁹;
* for nearer pairs in closed form too where there is one: see `harnessdrc.physics.segment_pairs`.

Filaments have no thickness, and the integral grows without end where two of them meet. So ``1/r`` is held at
``1/least_m`` for points nearer than `least_m`, about the radius of a wire. This changes nothing for loops that keep
that distance, keeps reciprocity, and gives loops that share a wire the low-frequency inductance of a wire of that
radius, to 1 % or so. Quasi-static, in air: no ferrous metal and no image currents; a head that carries the return is
drawn by the caller as a wire at twice the height.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from harnessdrc.physics.polylines import checked
from harnessdrc.physics.segment_pairs import FAR, GAUSS, Segments, dot, near

__all__ = [
    "LEAST_M",
    "MU0_H_PER_M",
    "mutual_h",
    "parallel_filaments_h",
    "rectangle_h",
    "straight_wire_h",
    "wire_and_rectangle_h",
]

MU0_H_PER_M = 4e-7 * math.pi
"""Magnetic constant, H/m: the value of the SI up to 2019; today's differs by 1.3 parts in 10¹⁰."""

LEAST_M = 0.5e-3
"""Points nearer than this count as this far apart, m: radius of a wire of 0.75 mm²."""

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

_CELLS = 1 << 16  # pairs taken at once: arrays of half a megabyte, which stay in the processor's cache
_NEAR_AT_ONCE = 1 << 14

_NODES4, _WEIGHTS4 = GAUSS[4]


def mutual_h(
    loops: Sequence[ArrayLike], victims: Sequence[ArrayLike], *, least_m: float = LEAST_M
) -> NDArray[np.float64]:
    """Mutual inductance of every loop with every victim, H, with its sign.

    It is positive where a current around the loop, in the order of its points, sends its flux through the victim
    in the right-handed sense of the victim's order.

    Parameters
    ----------
    loops, victims : sequences of array_like, shape (n, 3)
        Closed polylines, m; the first point is not repeated. Edges without length are dropped.
    least_m : float
        Points nearer than this count as this far apart, m; see the head of this module.

    Returns
    -------
    ndarray, shape (len(loops), len(victims))

    Raises
    ------
    ValueError
        For a loop of another shape, of fewer than two points or with a coordinate that is not finite; for a
        least distance that is not a positive number.
    """
    if not math.isfinite(least_m) or least_m <= 0:
        raise ValueError(f"{least_m:g} m is no least distance: give a number above zero")
    total = np.zeros((len(loops), len(victims)))
    inner, outer = _joined(loops), _joined(victims)
    outer = outer.of(np.flatnonzero(outer.length))
    waiting: list[tuple[Indices, Indices]] = []
    count = 0
    columns = min(max(len(outer.length), 1), _CELLS // 16)
    rows = max(min(_CELLS // columns, len(inner.length)), 1)
    room = np.empty((5, (rows + 1) * columns))  # made once: fresh memory costs as much as the sums
    for left in range(0, len(outer.length), columns):
        right = outer.of(np.arange(left, min(left + columns, len(outer.length))))
        for top in range(0, max(len(inner.length) - 1, 0), rows):
            here = slice(top, min(top + rows, len(inner.length) - 1))
            i, j = _far(inner, here, right, room, total)
            waiting.append((i + top, j + left))
            count += len(i)
            if count >= _NEAR_AT_ONCE:
                _add_near(inner, outer, waiting, least_m, total)
                waiting, count = [], 0
    _add_near(inner, outer, waiting, least_m, total)
    return np.asarray(total * (MU0_H_PER_M / (4.0 * math.pi)), dtype=np.float64)


def _joined(loops: Sequence[ArrayLike]) -> Segments:
    """All loops one after another, each with its first point again at its end.

    So that each row and the next one are the ends of a segment, and distances need be found once per point; the
    rows between one loop and the next, and edges without length, have length zero and carry nothing.
    """
    if not len(loops):
        return Segments(np.empty((0, 3)), np.empty((0, 3)), np.empty(0), np.empty(0, dtype=np.intp))
    closed = [np.vstack((points, points[:1])) for points in map(checked, loops)]
    points = np.vstack(closed)
    edges = np.diff(points, axis=0, append=points[-1:])
    edges[np.cumsum([len(loop) for loop in closed]) - 1] = 0.0
    length = np.linalg.norm(edges, axis=1)
    unit = edges / np.where(length > 0.0, length, 1.0)[:, None]
    return Segments(points, unit, length, np.repeat(np.arange(len(closed)), [len(loop) for loop in closed]))


def _far(inner: Segments, rows: slice, outer: Segments, room: Array, total: Array) -> tuple[Indices, Indices]:
    """Add the pairs that are far enough apart for the rule of four points; return the others.

    `rows` of `inner` are taken against all of `outer`, in the arrays of `room`. Distances are found as
    ``|p|² + |q|² - 2 p·q`` about the centre of the victims' segments, one product of matrices.
    """
    half = 0.5 * outer.length
    centre = outer.begin + half[:, None] * outer.unit
    origin = 0.5 * (centre.min(axis=0) + centre.max(axis=0))
    ends = inner.begin[rows.start : rows.stop + 1] - origin
    left = np.column_stack((ends, dot(ends, ends), np.ones(len(ends))))
    length = inner.length[rows, None]
    shape = (len(ends), len(half))
    reach, ways, sums, first, second = room[:, : shape[0] * shape[1]].reshape(5, *shape)
    ways, spare = ways[1:], reach[1:]
    near = np.zeros(0, dtype=np.bool_)
    with np.errstate(divide="ignore", invalid="ignore"):  # of pairs that are near, which are left out below
        for outermost, top, bottom in ((True, sums[1:], first[1:]), (False, second[1:], ways)):
            node, weight = (_NODES4[0], _WEIGHTS4[0]) if outermost else (_NODES4[1], _WEIGHTS4[1])
            # equal weights: the logarithm of the product serves both points of a pair of nodes
            for side in (1.0, -1.0):
                points = centre - origin + (side * node * half)[:, None] * outer.unit
                np.matmul(left, np.vstack((-2.0 * points.T, np.ones(len(points)), dot(points, points))), out=reach)
                np.sqrt(np.maximum(reach, 0.0, out=reach), out=reach)
                if side > 0:
                    np.add(reach[:-1], reach[1:], out=top)
                    np.subtract(top, length, out=bottom)
                    top += length
                    continue
                both = ways if outermost else first[1:]
                np.add(reach[:-1], reach[1:], out=both)
                np.add(both, length, out=spare)
                top *= spare
                both -= length
                if not outermost:
                    # r1 + r2 - L is at most twice a node's distance from the segment, and that differs from the
                    # centre's by no more than the node's offset
                    np.minimum(bottom, both, out=spare)
                    near = spare < 2.0 * (FAR + abs(node)) * half
                bottom *= both
            top /= bottom
            np.log(top, out=top)
            top *= weight
        result = sums[1:]
        result += second[1:]
        result *= np.matmul(inner.unit[rows], (outer.unit * half[:, None]).T, out=spare)
    near |= length == 0.0
    np.copyto(result, 0.0, where=near)
    lines, of_line = _runs(inner.loop[rows])
    groups, of_group = _runs(outer.loop)
    parts = np.add.reduceat(np.add.reduceat(result, groups, axis=1), lines, axis=0)
    total[np.ix_(of_line, of_group)] += parts
    near &= length > 0.0
    i, j = np.nonzero(near)
    return i, j


def _runs(numbers: Indices) -> tuple[Indices, Indices]:
    """Where each run of equal numbers begins, and its number."""
    begins = np.concatenate(([0], np.flatnonzero(np.diff(numbers)) + 1))
    return begins, numbers[begins]


def _add_near(
    inner: Segments, outer: Segments, waiting: list[tuple[Indices, Indices]], least_m: float, total: Array
) -> None:
    """Add the pairs that are near each other, some thousands at a time."""
    if not waiting:
        return
    first = np.concatenate([rows for rows, _ in waiting])
    second = np.concatenate([columns for _, columns in waiting])
    for begin in range(0, len(first), _NEAR_AT_ONCE):
        a, b = inner.of(first[begin : begin + _NEAR_AT_ONCE]), outer.of(second[begin : begin + _NEAR_AT_ONCE])
        values = near(a, b, least_m)
        cells = a.loop * total.shape[1] + b.loop
        total += np.bincount(cells, values, total.size).reshape(total.shape)


def parallel_filaments_h(length_m: float, distance_m: float) -> float:
    """Mutual inductance of two equal straight filaments side by side, H.

    ``μ0/2π l [ln(l/d + √(1 + l²/d²)) - √(1 + d²/l²) + d/l]`` (Rosa 1908, Grover 1946; from memory).

    Raises
    ------
    ValueError
        For a length or distance that is not a positive number.
    """
    _positive(length_m, "length")
    _positive(distance_m, "distance")
    ratio = distance_m / length_m
    return 2e-7 * length_m * (math.asinh(1.0 / ratio) - math.hypot(1.0, ratio) + ratio)


def wire_and_rectangle_h(length_m: float, near_m: float, far_m: float) -> float:
    """Mutual inductance of an endless straight wire and a rectangle in one plane with it, H.

    ``μ0 l/2π ln(far/near)`` with the sides of length l parallel to the wire.

    Parameters
    ----------
    length_m : float
        Of the sides parallel to the wire, m.
    near_m, far_m : float
        Their distances from the wire, m.

    Raises
    ------
    ValueError
        For a length that is not a positive number, or a far side nearer than the near one.
    """
    for value, what in ((length_m, "length"), (near_m, "distance"), (far_m, "distance")):
        _positive(value, what)
    if far_m < near_m:
        raise ValueError(f"{far_m:g} m is no far side of a rectangle whose near side is {near_m:g} m away")
    return 2e-7 * length_m * math.log(far_m / near_m)


def rectangle_h(a_m: float, b_m: float, radius_m: float, *, low_frequency: bool = False) -> float:
    """Self-inductance of a rectangle of round wire, H.

    ``μ0/π [a ln(2a/r) + b ln(2b/r) - a ln((a+D)/b) - b ln((b+D)/a) + 2D - 2(a+b)]``, D its diagonal, for a wire
    much thinner than the sides, with the current on its surface (Rosa 1908; from memory, checked against his
    example).

    Parameters
    ----------
    a_m, b_m : float
        Sides, between the axes of the wire, m.
    radius_m : float
        Of the wire, m.
    low_frequency : bool
        Adds the flux in the wire of a current that fills it evenly, ``μ0/8π`` for each metre.

    Raises
    ------
    ValueError
        For a side or radius that is not a positive number, or a radius that is half a side or more.
    """
    for value, what in ((a_m, "side"), (b_m, "side"), (radius_m, "radius")):
        _positive(value, what)
    if radius_m >= 0.5 * min(a_m, b_m):
        raise ValueError(f"a wire of radius {radius_m:g} m leaves no rectangle of {a_m:g} m by {b_m:g} m open")
    diagonal = math.hypot(a_m, b_m)
    sides = a_m * math.log(2.0 * a_m / radius_m) + b_m * math.log(2.0 * b_m / radius_m)
    corners = a_m * math.log((a_m + diagonal) / b_m) + b_m * math.log((b_m + diagonal) / a_m)
    inside = 1.75 if low_frequency else 2.0
    return 4e-7 * (sides - corners + 2.0 * diagonal - inside * (a_m + b_m))


def straight_wire_h(length_m: float, radius_m: float, *, low_frequency: bool = False) -> float:
    """Partial self-inductance of a straight round wire much longer than thick, H.

    ``μ0/2π l [ln(2l/r) - 1]`` with the current on its surface, ``- 3/4`` where it fills the wire (Rosa 1908; from
    memory). Below ten radii of length it is 5 % and more low.

    Parameters
    ----------
    length_m, radius_m : float
        Of the wire, m.
    low_frequency : bool
        A current that fills the wire evenly.

    Raises
    ------
    ValueError
        For a length or radius that is not a positive number, or a radius that is half the length or more.
    """
    _positive(length_m, "length")
    _positive(radius_m, "radius")
    if radius_m >= 0.5 * length_m:
        raise ValueError(f"a wire of radius {radius_m:g} m and length {length_m:g} m is no straight thin wire")
    return 2e-7 * length_m * (math.log(2.0 * length_m / radius_m) - (0.75 if low_frequency else 1.0))


def _positive(value: float, what: str) -> None:
    if not math.isfinite(value) or value <= 0:
        raise ValueError(f"{value:g} m is no {what}: give a number above zero")
