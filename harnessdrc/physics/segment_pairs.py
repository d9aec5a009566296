"""Neumann's integral over pairs of straight segments that lie near each other, in closed form where there is one.

Parallel segments by the two-filament formula of Grover, skew ones by that of Campbell (1915; Grover 1946, chapter 7) in
the form of a primitive in both lengths, formulas from memory. Where lines are almost but not quite parallel, where the
closed form cancels, or where they touch, the shorter segment is halved until each half is at most half as long as it is
far away, and integrated by Gauss's rules of four to eight points; relative error some 10⁻⁹.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from harnessdrc.physics.polylines import segments_apart_m

__all__ = ["FAR", "GAUSS", "Segments", "dot", "near"]

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

FAR = 7.0  # distance over half length from which Gauss's rule of four points is exact to 1e-9
_RULES = ((FAR, 4), (3.0, 6), (2.0, 8))  # nearest distance over half length, points
GAUSS = {points: np.polynomial.legendre.leggauss(points) for _, points in _RULES}
_PARALLEL_SINE = 1e-10
_SKEW_SINE = 0.02  # below it the closed form of skew segments loses more than four digits
_PIECES_AT_ONCE = 1 << 13


@dataclass(frozen=True, slots=True)
class Segments:
    """Segments of several closed loops: where each begins, its unit vector, its length, whose it is."""

    begin: Array
    unit: Array
    length: Array
    loop: Indices

    def of(self, rows: Indices) -> Segments:
        return Segments(self.begin.take(rows, 0), self.unit.take(rows, 0), self.length[rows], self.loop[rows])


def near(a: Segments, b: Segments, least_m: float) -> Array:
    """Neumann's integral of each pair of segments, m, whatever their distance.

    The closed forms cancel for segments much shorter than their distance, which Gauss's rules are best at.
    """
    cosine = dot(a.unit, b.unit)
    normal = np.cross(a.unit, b.unit)
    sine = np.sqrt(dot(normal, normal))
    swap = b.length > a.length
    longer, shorter = _chosen(swap, b, a), _chosen(swap, a, b)
    half = 0.5 * shorter.length
    _, reach = _apart(shorter.begin + half[:, None] * shorter.unit, longer.begin, longer.unit, longer.length)
    close = reach < FAR * half
    parallel = close & (sine < _PARALLEL_SINE)
    skew = np.flatnonzero(close & (sine > _SKEW_SINE))
    one, other = a.of(skew), b.of(skew)
    clear = skew[segments_apart_m(one.begin, _end(one), other.begin, _end(other)) >= least_m]
    rest = ~parallel
    rest[clear] = False
    values = np.empty(len(cosine))
    values[parallel] = _parallel(a.of(np.flatnonzero(parallel)), b.of(np.flatnonzero(parallel)), least_m)
    values[clear] = _skew(a.of(clear), b.of(clear), cosine[clear], sine[clear], normal[clear])
    values[rest] = _halved(longer.of(np.flatnonzero(rest)), shorter.of(np.flatnonzero(rest)), least_m)
    return values * cosine


def _chosen(first: NDArray[np.bool_], a: Segments, b: Segments) -> Segments:
    """Segments of `a` where `first`, else of `b`."""
    column = first[:, None]
    return Segments(
        np.where(column, a.begin, b.begin),
        np.where(column, a.unit, b.unit),
        np.where(first, a.length, b.length),
        np.where(first, a.loop, b.loop),
    )


def _apart(points: Array, begin: Array, unit: Array, length: Array) -> tuple[Array, Array]:
    """Vectors to points from where segments begin, and their distances from the segments."""
    way = points - begin
    share = np.clip(dot(way, unit), 0.0, length)
    aside = way - share[:, None] * unit
    return way, np.asarray(np.sqrt(dot(aside, aside)), dtype=np.float64)


def _parallel(a: Segments, b: Segments, least_m: float) -> Array:
    """``∫∫ 1/max(r, least)`` of parallel or opposed segments, in closed form.

    With d the distance of the lines, the inner integral is ``ln((z + √(z² + d²)) / d)`` and the outer one the
    same times z less ``√(z² + d²)``; the formula of two equal filaments side by side is the case of ends that
    stand level. Within the least distance the integrand is constant.
    """
    way = b.begin - a.begin
    start = dot(way, a.unit)
    d = np.linalg.norm(way - start[:, None] * a.unit, axis=1)
    stop = start + b.length * np.sign(dot(a.unit, b.unit))
    core = np.sqrt(np.maximum(least_m**2 - d**2, 0.0))
    scale = core + np.maximum(d, least_m)

    def twice(z: Array) -> Array:
        z = np.abs(z)
        beyond = np.maximum(z, core)
        r = np.hypot(beyond, d)
        inside = np.minimum(z, core)
        return np.asarray(
            inside**2 / (2.0 * least_m)
            + core / least_m * (beyond - core)
            + beyond * np.log((beyond + r) / scale)
            - (r - np.hypot(core, d)),
            dtype=np.float64,
        )

    return np.abs(twice(stop) - twice(start) - twice(stop - a.length) + twice(start - a.length))


def _skew(a: Segments, b: Segments, cosine: Array, sine: Array, normal: Array) -> Array:
    """``∫∫ 1/r`` of segments at an angle, in closed form.

    With x and y along the two lines from the feet of their common perpendicular d, and ε the angle between them,

        x asinh((y - x cos ε) / √(d² + x² sin² ε)) + y asinh((x - y cos ε) / √(d² + y² sin² ε))
        - d / sin ε · atan((d² cos ε + x y sin² ε) / (d r sin ε))

    is a primitive in both of ``1/r``, r² = d² + x² + y² - 2 x y cos ε (Campbell 1915; Grover 1946, chapter 7, has
    the logarithms of opposite ends joined).
    """
    way = a.begin - b.begin
    along_a, along_b = dot(way, a.unit), dot(way, b.unit)
    square = sine**2
    x1 = (along_a - cosine * along_b) / square
    y1 = (cosine * along_a - along_b) / square
    d = np.abs(dot(way, normal)) / sine
    total = np.zeros(len(d))
    for x, at_x in ((x1, -1.0), (x1 + a.length, 1.0)):
        for y, at_y in ((y1, -1.0), (y1 + b.length, 1.0)):
            over_x, over_y = y - x * cosine, x - y * cosine
            near_x, near_y = np.hypot(d, x * sine), np.hypot(d, y * sine)
            r = np.hypot(over_x, near_x)
            value = x * _asinh(over_x, near_x, r) + y * _asinh(over_y, near_y, r)
            value -= d / sine * np.arctan2(d**2 * cosine + x * y * square, d * r * sine)
            total += at_x * at_y * value
    return total


def _asinh(opposite: Array, near: Array, r: Array) -> Array:
    """asinh(opposite / near) with r their hypotenuse; large but finite where near is zero."""
    return np.asarray(np.copysign(np.log((np.abs(opposite) + r + 1e-30) / (near + 1e-30)), opposite), dtype=np.float64)


def _halved(longer: Segments, shorter: Segments, least_m: float) -> Array:
    """``∫∫ 1/max(r, least)`` by halving the shorter segment of each pair, and Gauss's rules."""
    begin, unit, length, vector = longer.begin, longer.unit, longer.length, shorter.unit
    total = np.zeros(len(length))
    half = 0.5 * shorter.length
    todo = _batches(np.arange(len(half)), shorter.begin + half[:, None] * vector, half)
    while todo:
        pair, centre, half = todo.pop()
        way, reach = _apart(centre, begin.take(pair, 0), unit.take(pair, 0), length[pair])
        ratio = np.maximum(reach, least_m) / half
        above = math.inf
        for lowest, points in _RULES:
            some = np.flatnonzero((ratio >= lowest) & (ratio < above))
            above = lowest
            if len(some):
                which = pair[some]
                nodes, weights = GAUSS[points]
                middle, part = way.take(some, 0), half[some]
                along, ahead, reaching = unit.take(which, 0), part[:, None] * vector.take(which, 0), length[which]
                sums = np.zeros(len(some))
                for node, weight in zip(nodes.tolist(), weights.tolist(), strict=True):
                    sums += weight * _potential(middle + node * ahead, along, reaching, least_m)
                total += np.bincount(which, sums * part, len(total))
        split = np.flatnonzero(ratio < above)
        which, half = pair[split], 0.5 * half[split]
        step = half[:, None] * vector[which]
        sides = np.concatenate((centre[split] - step, centre[split] + step))
        todo += _batches(np.tile(which, 2), sides, np.tile(half, 2))
    return total


def _batches(pair: Indices, centre: Array, half: Array) -> list[tuple[Indices, Array, Array]]:
    """Pieces in batches; the last one is halved to its end before the others, which bounds how many wait."""
    starts = range(0, len(pair), _PIECES_AT_ONCE)
    cuts = [slice(k, k + _PIECES_AT_ONCE) for k in starts]
    return [(pair[cut], centre[cut], half[cut]) for cut in cuts]


def _potential(at: Array, unit: Array, length: Array, least_m: float) -> Array:
    """``∫ 1/max(r, least)`` over segments from the origin, at points `at`.

    Two logarithms from the foot of the perpendicular lose nothing beside the segment, where r1 + r2 - L cancels.
    """
    stop = dot(at, unit)
    aside = at - stop[:, None] * unit
    square = dot(aside, aside)
    core = np.sqrt(np.maximum(least_m**2 - square, 0.0))
    scale = core + np.sqrt(np.maximum(square, least_m**2))

    def once(z: Array) -> Array:
        size = np.abs(z)
        beyond = np.maximum(size, core)
        value = np.minimum(size, core) / least_m + np.log((beyond + np.sqrt(beyond**2 + square)) / scale)
        return np.asarray(np.copysign(value, z), dtype=np.float64)

    return np.asarray(once(length - stop) - once(-stop), dtype=np.float64)


def _end(segments: Segments) -> Array:
    return np.asarray(segments.begin + segments.length[:, None] * segments.unit, dtype=np.float64)


def dot(a: Array, b: Array) -> Array:
    return np.asarray(np.einsum("ij,ij->i", a, b), dtype=np.float64)
