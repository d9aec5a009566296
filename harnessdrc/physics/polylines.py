"""Lengths, areas, distances and pairs of wires along lines in space, as arrays of points in metres.

A polyline is an array of shape (n, 3). A closed loop does not repeat its first point. The area of a loop that
is not flat is the length of its vector area ``0.5 Σ p_i × p_(i+1)``, which is what a uniform field couples with.
Where only lengths are known, the area has a bound: among all closed curves of a perimeter the circle has the
greatest area (isoperimetric inequality; it holds in space too, as the flat shadow of a curve is no longer than
the curve), and among all curves of a length that are closed by one straight line the half circle (Dido's
problem; mirror the curve at that line).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "area_m2",
    "bound_area_m2",
    "bound_on_metal_m2",
    "checked",
    "distance_m",
    "helix_pair",
    "length_m",
    "ribbon",
    "segments_apart_m",
    "stretch",
    "subdivided",
    "vector_area_m2",
]

Points = NDArray[np.float64]

_MITRE_LEAST = 0.5  # 1 + cos of the bend; below it (bends above 120°) a mitre would stick out by more than twice
_PAIRS_AT_ONCE = 20_000


def checked(points: ArrayLike, least: int = 2) -> Points:
    """The points as an array of shape (n, 3).

    Parameters
    ----------
    points : array_like, shape (n, 3)
        Metres.
    least : int
        How many there must be.

    Raises
    ------
    ValueError
        For another shape, too few points, or a coordinate that is not finite.
    """
    array = np.asarray(points, dtype=np.float64)
    if array.ndim != 2 or array.shape[1] != 3:
        raise ValueError(f"points of shape {array.shape} are no polyline: give rows of three coordinates")
    if len(array) < least:
        raise ValueError(f"{len(array)} points are too few: give at least {least}")
    if not np.isfinite(array).all():
        raise ValueError("a coordinate of the polyline is not finite: give metres")
    return array


def _not_negative(value: float, what: str, *, zero: bool = True) -> None:
    if not math.isfinite(value) or value < 0 or (value == 0 and not zero):
        raise ValueError(f"{value:g} m is no {what}: give {'zero or ' if zero else ''}a positive number")


def _edges(points: Points, closed: bool) -> Points:
    return np.diff(points, axis=0, append=points[:1]) if closed else np.diff(points, axis=0)


def length_m(points: ArrayLike, *, closed: bool = False) -> float:
    """Length of a polyline, m; with the way from its last point to its first when it is `closed`.

    Raises
    ------
    ValueError
        As `checked`.
    """
    return float(np.linalg.norm(_edges(checked(points), closed), axis=1).sum())


def vector_area_m2(loop: ArrayLike) -> Points:
    """Vector area of a closed loop, m², shape (3,): ``0.5 Σ p_i × p_(i+1)``, right-handed about its sense.

    It does not depend on the surface that is spanned, nor on where the origin is.

    Raises
    ------
    ValueError
        As `checked`.
    """
    points = checked(loop)
    points = points - points.mean(axis=0)  # keeps figures small, so that little cancels for a loop far away
    return np.asarray(0.5 * np.cross(points, np.roll(points, -1, axis=0)).sum(axis=0), dtype=np.float64)


def area_m2(loop: ArrayLike) -> float:
    """Length of the vector area of a closed loop, m²: its area, where it is flat and does not cross itself."""
    return float(np.linalg.norm(vector_area_m2(loop)))


def bound_area_m2(perimeter_m: float) -> float:
    """Greatest area that a closed loop of this perimeter can have, m²: ``P² / 4π``.

    Raises
    ------
    ValueError
        For a perimeter that is negative or not finite.
    """
    _not_negative(perimeter_m, "perimeter")
    return perimeter_m**2 / (4.0 * math.pi)


def bound_on_metal_m2(length_m: float) -> float:
    """Greatest area between a wire and the straight way through metal that joins its ends, m²: ``L² / 2π``.

    Raises
    ------
    ValueError
        For a length that is negative or not finite.
    """
    _not_negative(length_m, "length")
    return length_m**2 / (2.0 * math.pi)


def subdivided(points: ArrayLike, longest_m: float, *, closed: bool = False) -> Points:
    """The same line with points added, evenly along each edge, so that no edge is longer than `longest_m`.

    Raises
    ------
    ValueError
        As `checked`; for a longest edge that is not a positive number.
    """
    line = checked(points)
    _not_negative(longest_m, "longest edge", zero=False)
    edges = _edges(line, closed)
    # a hair is allowed, or rounding would cut an edge of exactly that length in two
    parts = np.maximum(np.ceil(np.linalg.norm(edges, axis=1) / longest_m - 1e-9), 1).astype(np.intp)
    edge = np.repeat(np.arange(len(edges)), parts)
    within = np.arange(len(edge)) - np.repeat(np.cumsum(parts) - parts, parts)
    added = line[edge] + (within / parts[edge])[:, None] * edges[edge]
    return added if closed else np.vstack((added, line[-1:]))


def stretch(points: ArrayLike, start_m: float, end_m: float) -> Points:
    """Part of an open polyline between two distances along it, with the corners between them.

    Parameters
    ----------
    points : array_like, shape (n, 3)
        Metres.
    start_m, end_m : float
        From its first point; the end may exceed the length by rounding (1 part in 10⁹) and no more.

    Raises
    ------
    ValueError
        As `checked`; where the start is not before the end, or either lies outside the polyline.
    """
    line = checked(points)
    along = np.concatenate(([0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))))
    slack = 1e-9 * along[-1]
    if not (-slack <= start_m < end_m <= along[-1] + slack):
        raise ValueError(
            f"{start_m:g} m to {end_m:g} m is no stretch of a polyline of {along[-1]:g} m: give two rising "
            "distances on it"
        )
    between = line[(along > start_m + slack) & (along < end_m - slack)]
    ends = np.column_stack([np.interp((start_m, end_m), along, line[:, axis]) for axis in range(3)])
    return np.vstack((ends[:1], between, ends[1:]))


def _bare(points: ArrayLike) -> tuple[Points, Points, Points]:
    """Points without repeats, unit tangents and lengths of the edges between them."""
    line = checked(points)
    line = line[np.concatenate(([True], np.linalg.norm(np.diff(line, axis=0), axis=1) > 0.0))]
    if len(line) < 2:
        raise ValueError("all points of the polyline are one: give a line with a length")
    edges = np.diff(line, axis=0)
    lengths = np.linalg.norm(edges, axis=1)
    return line, edges / lengths[:, None], lengths


def _frame(tangents: Points) -> tuple[Points, Points]:
    """Two unit normals of each edge, carried from edge to edge by the least turn (parallel transport).

    The first lies in the plane of the sharpest bend, so that on a flat line it stays in the plane of the line and
    the second square to it. A straight line takes the axis it is least along.
    """
    turns = np.cross(tangents[:-1], tangents[1:])
    sines = np.linalg.norm(turns, axis=1)
    sharpest = int(np.argmax(sines)) if len(sines) else 0
    begin = 0
    if len(sines) and sines[sharpest] > 1e-9:
        begin = sharpest
        second = turns[sharpest] / sines[sharpest]
    else:
        axis = np.zeros(3)
        axis[int(np.argmin(np.abs(tangents[0])))] = 1.0
        second = np.cross(tangents[0], axis)
        second /= np.linalg.norm(second)
    ways = tangents.tolist()
    ahead, behind = [second.tolist()], [second.tolist()]
    for k in range(begin + 1, len(ways)):
        ahead.append(_carried(ahead[-1], ways[k - 1], ways[k]))
    for k in range(begin - 1, -1, -1):
        behind.append(_carried(behind[-1], ways[k + 1], ways[k]))
    seconds = np.array(behind[:0:-1] + ahead)
    return np.cross(seconds, tangents), seconds


def _carried(normal: list[float], old: list[float], new: list[float]) -> list[float]:
    """A normal of one edge turned with the least turn that brings its tangent on to the next one's.

    Rodrigues' rotation of a vector square to the old tangent comes to ``n - (n·new) / (1 + old·new) (old + new)``.
    A line that turns right back keeps the normal as it is. Plain numbers: arrays of three are slow.
    """
    opening = 1.0 + sum(p * q for p, q in zip(old, new, strict=True))
    if opening < 1e-9:
        return normal
    share = sum(p * q for p, q in zip(normal, new, strict=True)) / opening
    turned = [n - share * (p + q) for n, p, q in zip(normal, old, new, strict=True)]
    # rounding must not tilt it over many edges
    tilt = sum(p * q for p, q in zip(turned, new, strict=True))
    turned = [n - tilt * q for n, q in zip(turned, new, strict=True)]
    size = math.hypot(*turned)
    return [n / size for n in turned]


def ribbon(points: ArrayLike, spacing_m: float, turned: bool = False) -> Points:
    """Closed loop of two wires side by side along an open polyline, as an untwisted pair runs.

    The wires run at plus and minus half the spacing from the line, out along the one and back along the other. On
    a flat line they lie in its plane, or square to it when `turned`. Corners are mitred; bends sharper than 120°
    get a straight cut. The wires cross where the line is finer than its bends allow: an edge shorter than
    half the spacing times the tangents of half the bends at its ends. Area and coupling stay defined, with the
    crossed part counted against the rest.

    Parameters
    ----------
    points : array_like, shape (n, 3)
        Centre line, m; repeated points are dropped.
    spacing_m : float
        Between the axes of the two wires, m.
    turned : bool
        The second of the two planes, square to the first.

    Returns
    -------
    ndarray, shape (2n, 3) or more
        Its area is ``spacing × length`` on a straight line, and on a flat line in its own plane.

    Raises
    ------
    ValueError
        As `checked`; for a line without length, or a spacing that is not a positive number.
    """
    line, tangents, _ = _bare(points)
    _not_negative(spacing_m, "spacing", zero=False)
    normals = _frame(tangents)[1 if turned else 0]
    corner, offsets = _corners(normals, tangents)
    centre = np.vstack((line[:1], line[1:-1][corner], line[-1:]))
    aside = 0.5 * spacing_m * np.vstack((normals[:1], offsets, normals[-1:]))
    return np.vstack((centre + aside, (centre - aside)[::-1]))


def _corners(normals: Points, tangents: Points) -> tuple[NDArray[np.intp], Points]:
    """Number of the corner and offset of each point of a wire beside the corners, for a distance of one.

    A mitre lies where the lines on both sides meet: the part of the normal along the axis of the bend stays, and
    the part in its plane is drawn out along the bisector. A bend too sharp for one gets both normals.
    """
    old, new, before, after = tangents[:-1], tangents[1:], normals[:-1], normals[1:]
    turn = np.cross(old, new)
    sine = np.linalg.norm(turn, axis=1)
    opening = 1.0 + _dot(old, new)
    axis = turn / np.maximum(sine, 1e-300)[:, None]
    drawn = np.cross(axis, old + new) * (_dot(np.cross(axis, old), before) / np.maximum(opening, 1e-9))[:, None]
    mitred = axis * _dot(axis, before)[:, None] + drawn
    mitred = np.where((sine < 1e-9)[:, None], after, mitred)  # straight on: no axis, and no need of one
    cut = opening < _MITRE_LEAST
    corner = np.repeat(np.arange(len(old)), np.where(cut, 2, 1))
    again = np.concatenate(([False], corner[1:] == corner[:-1])) if len(corner) else np.zeros(0, dtype=np.bool_)
    sharp = np.where(again[:, None], after[corner], before[corner])
    return corner, np.where(cut[corner][:, None], sharp, mitred[corner])


def helix_pair(
    points: ArrayLike, spacing_m: float, lay_m: float, per_turn: int = 24, *, turned: bool = False
) -> Points:
    """Closed loop of a twisted pair along an open polyline: two true helices, half a turn apart.

    Parameters
    ----------
    points : array_like, shape (n, 3)
        Axis of the pair, m; repeated points are dropped.
    spacing_m : float
        Between the axes of the two wires, m: twice the radius of the helices.
    lay_m : float
        Length of the axis for one full turn, m.
    per_turn : int
        Points of each wire for one turn, 4 at least.
    turned : bool
        Begins a quarter of a turn further on; with both, the worst way in which the pair may lie is known.

    Returns
    -------
    ndarray, shape (2k, 3)
        Out along the one wire and back along the other; the corners of the axis are among its points.

    Raises
    ------
    ValueError
        As `checked`; for a spacing or lay that is not a positive number, or fewer than 4 points for a turn.
    """
    line, tangents, lengths = _bare(points)
    _not_negative(spacing_m, "spacing", zero=False)
    _not_negative(lay_m, "lay", zero=False)
    if per_turn < 4:
        raise ValueError(f"{per_turn} points do not make a turn of a helix: give at least 4")
    first, second = _frame(tangents)
    parts = np.maximum(np.ceil(lengths * per_turn / lay_m - 1e-9), 1).astype(np.intp)
    edge = np.repeat(np.arange(len(parts)), parts)
    begins = np.concatenate(([0.0], np.cumsum(lengths)))
    share = (np.arange(len(edge)) - np.repeat(np.cumsum(parts) - parts, parts)) / parts[edge]
    centre = np.vstack((line[edge] + (share * lengths[edge])[:, None] * tangents[edge], line[-1:]))
    along = np.concatenate((begins[edge] + share * lengths[edge], begins[-1:]))
    edge = np.concatenate((edge, edge[-1:]))
    angle = (2.0 * math.pi * (along / lay_m + (0.25 if turned else 0.0)))[:, None]
    aside = 0.5 * spacing_m * (np.cos(angle) * first[edge] + np.sin(angle) * second[edge])
    return np.vstack((centre + aside, (centre - aside)[::-1]))


def distance_m(a: ArrayLike, b: ArrayLike) -> float:
    """Least distance between two open polylines, m; either may be a single point.

    Raises
    ------
    ValueError
        As `checked`.
    """
    first, second = checked(a, 1), checked(b, 1)
    # a single point is an edge without length
    a0, a1 = (first[:-1], first[1:]) if len(first) > 1 else (first, first)
    b0, b1 = (second[:-1], second[1:]) if len(second) > 1 else (second, second)
    first_half, second_half = (0.5 * np.linalg.norm(stop - start, axis=1) for start, stop in ((a0, a1), (b0, b1)))
    first_mid, second_mid = 0.5 * (a0 + a1), 0.5 * (b0 + b1)
    rows = max(1, _PAIRS_AT_ONCE // len(b0))
    least = math.inf
    for begin in range(0, len(a0), rows):
        some = slice(begin, begin + rows)
        mids = np.linalg.norm(first_mid[some, None] - second_mid[None], axis=2)
        # middles are points of the segments, and no segment reaches further from its own than half its length
        least = min(least, float(mids.min()))
        i, j = np.nonzero(mids - first_half[some, None] - second_half[None] < least)
        if len(i):
            i += begin
            least = min(least, float(segments_apart_m(a0[i], a1[i], b0[j], b1[j]).min()))
    return least


def segments_apart_m(a0: Points, a1: Points, b0: Points, b1: Points) -> Points:
    """Least distance of straight segments a0–a1 and b0–b1, m, for arrays of shape (..., 3) that broadcast.

    It is that of an end to the other segment, unless the common perpendicular of the two lines meets both.
    """
    along_a, along_b, gap = a1 - a0, b1 - b0, a0 - b0
    aa, bb, ab = _dot(along_a, along_a), _dot(along_b, along_b), _dot(along_a, along_b)
    ag, bg = _dot(along_a, gap), _dot(along_b, gap)
    normal = np.cross(along_a, along_b)
    square = _dot(normal, normal)
    with np.errstate(divide="ignore", invalid="ignore"):
        s = (ab * bg - ag * bb) / square
        t = (aa * bg - ab * ag) / square
        apart = np.abs(_dot(gap, normal)) / np.sqrt(square)
    # of nearly parallel lines the perpendicular is lost in rounding, and an end is as near
    met = (s > 0.0) & (s < 1.0) & (t > 0.0) & (t < 1.0) & (square > 1e-20 * aa * bb)
    ends = np.minimum(
        np.minimum(_to_segment(a0, b0, along_b, bb), _to_segment(a1, b0, along_b, bb)),
        np.minimum(_to_segment(b0, a0, along_a, aa), _to_segment(b1, a0, along_a, aa)),
    )
    return np.asarray(np.where(met, np.minimum(apart, ends), ends), dtype=np.float64)


def _dot(a: Points, b: Points) -> Points:
    return np.asarray(np.einsum("...i,...i->...", a, b), dtype=np.float64)


def _to_segment(point: Points, begin: Points, along: Points, square: Points) -> Points:
    """Distance of points from segments given by their begin, vector and its square."""
    from_begin = point - begin
    share = np.clip(_dot(from_begin, along) / np.maximum(square, 1e-300), 0.0, 1.0)
    return np.asarray(np.linalg.norm(from_begin - share[..., None] * along, axis=-1), dtype=np.float64)
