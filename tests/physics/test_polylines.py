"""Lengths, areas, distances and wire pairs against shapely, numpy and what geometry demands."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from harnessdrc.physics.polylines import (
    area_m2,
    bound_area_m2,
    bound_on_metal_m2,
    distance_m,
    helix_pair,
    length_m,
    ribbon,
    segments_apart_m,
    stretch,
    subdivided,
    vector_area_m2,
)

Points = np.ndarray
SQUARE = np.array([[0.0, 0, 0], [2, 0, 0], [2, 1, 0], [0, 1, 0]])


def points(least: int, most: int, size_m: float = 1.0) -> st.SearchStrategy[Points]:
    coordinates = st.floats(-size_m, size_m, allow_nan=False, width=32)
    return st.integers(least, most).flatmap(lambda count: arrays(np.float64, (count, 3), elements=coordinates))


def turning(seed: int) -> Points:
    q, r = np.linalg.qr(np.random.default_rng(seed).normal(size=(3, 3)))
    q = q * np.sign(np.diag(r))
    return q if np.linalg.det(q) > 0 else -q


def star(seed: int) -> Points:
    """A flat polygon of 3 to 40 corners that does not cross itself, hollows and all."""
    chance = np.random.default_rng(seed)
    count = int(chance.integers(3, 40))
    angle = 2 * math.pi * (np.arange(count) + chance.uniform(0, 0.9, count)) / count
    radius = chance.uniform(0.05, 1.0, count)
    return np.column_stack((radius * np.cos(angle), radius * np.sin(angle), np.zeros(count)))


# --- lengths and areas -------------------------------------------------------------------------------


def test_length() -> None:
    assert length_m(SQUARE) == 5.0
    assert length_m(SQUARE, closed=True) == 6.0
    assert length_m([[0, 0, 0], [3, 4, 12]]) == 13.0


@pytest.mark.parametrize("seed", range(40))
def test_area_and_length_of_flat_polygons(seed: int) -> None:
    """Against shapely in their plane, turned and shifted anywhere."""
    shapely = pytest.importorskip("shapely", reason="the geometry library shapely is not installed")
    flat = star(seed)
    polygon = shapely.Polygon(flat[:, :2])
    assert polygon.is_valid
    turn, shift = turning(seed), np.random.default_rng(seed).uniform(-50, 50, 3)
    moved = flat @ turn.T + shift
    assert area_m2(moved) == pytest.approx(polygon.area, rel=1e-10)
    assert length_m(moved, closed=True) == pytest.approx(polygon.length, rel=1e-10)
    sense = 1.0 if polygon.exterior.is_ccw else -1.0
    assert vector_area_m2(moved) == pytest.approx(sense * polygon.area * turn[:, 2], abs=1e-10)


@settings(max_examples=100, deadline=None)
@given(points(3, 10))
def test_vector_area_is_that_of_its_shadows(loop: Points) -> None:
    """Each component is the shoelace area of the loop's shadow, and reversing the loop reverses it."""
    for axis in range(3):
        x, y = loop[:, (axis + 1) % 3], loop[:, (axis + 2) % 3]
        shoelace = 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
        assert vector_area_m2(loop)[axis] == pytest.approx(shoelace, abs=1e-12)
    assert vector_area_m2(loop[::-1]) == pytest.approx(-vector_area_m2(loop), abs=1e-12)
    assert vector_area_m2(loop + 7.0) == pytest.approx(vector_area_m2(loop), abs=1e-12)
    assert area_m2(loop) == pytest.approx(float(np.hypot.reduce(vector_area_m2(loop))), abs=1e-12)


@settings(max_examples=200, deadline=None)
@given(points(3, 12))
def test_no_loop_exceeds_its_bound(loop: Points) -> None:
    assert area_m2(loop) <= bound_area_m2(length_m(loop, closed=True)) * (1 + 1e-12)


@settings(max_examples=200, deadline=None)
@given(points(2, 12))
def test_no_wire_closed_by_metal_exceeds_its_bound(line: Points) -> None:
    """The loop of a wire and the straight way between its ends, from the length of the wire alone."""
    assert area_m2(line) <= bound_on_metal_m2(length_m(line)) * (1 + 1e-12)


def test_circles_reach_the_bounds() -> None:
    angle = np.linspace(0, math.pi, 2001)
    half = np.column_stack((np.cos(angle), np.sin(angle), 0 * angle))
    assert area_m2(half) == pytest.approx(bound_on_metal_m2(length_m(half)), rel=1e-6)
    circle = np.vstack((half, -half[1:-1]))
    assert area_m2(circle) == pytest.approx(bound_area_m2(length_m(circle, closed=True)), rel=1e-6)
    assert bound_on_metal_m2(1.0) == pytest.approx(2 * bound_area_m2(1.0))


# --- parts of a line -----------------------------------------------------------------------------------


@settings(max_examples=100, deadline=None)
@given(points(2, 8), st.floats(0.05, 3.0), st.booleans())
def test_subdivided(line: Points, longest_m: float, closed: bool) -> None:
    fine = subdivided(line, longest_m, closed=closed)
    ends = np.vstack((fine, fine[:1])) if closed else fine
    assert np.linalg.norm(np.diff(ends, axis=0), axis=1).max() <= longest_m * (1 + 1e-8)
    assert length_m(fine, closed=closed) == pytest.approx(length_m(line, closed=closed), abs=1e-9)
    assert all((np.abs(fine - corner).max(axis=1) < 1e-12).any() for corner in line)
    if closed:
        assert vector_area_m2(fine) == pytest.approx(vector_area_m2(line), abs=1e-10)


def test_subdivided_evenly_and_no_more_than_needed() -> None:
    assert subdivided([[0, 0, 0], [1, 0, 0]], 0.4)[:, 0] == pytest.approx([0, 1 / 3, 2 / 3, 1])
    assert len(subdivided([[0, 0, 0], [0.3, 0, 0]], 0.1)) == 4
    assert len(subdivided(SQUARE, 1.0, closed=True)) == 6


@settings(max_examples=100, deadline=None)
@given(points(2, 8), st.floats(0, 1), st.floats(0, 1))
def test_stretch(line: Points, first: float, second: float) -> None:
    whole = length_m(line)
    start, end = sorted((first * whole, second * whole))
    assume(end - start > 1e-6)
    part = stretch(line, start, end)
    assert length_m(part) == pytest.approx(end - start, abs=1e-8)
    assert part[0] == pytest.approx(stretch(line, 0, start)[-1] if start > 1e-6 else part[0], abs=1e-8)
    assert distance_m(part[:1], line) < 1e-8
    assert distance_m(part[-1:], line) < 1e-8


def test_stretch_keeps_the_corners_between() -> None:
    assert stretch(SQUARE, 1.0, 3.5) == pytest.approx(np.array([[1, 0, 0], [2, 0, 0], [2, 1, 0], [1.5, 1, 0]]))
    assert stretch(SQUARE, 2.0, 3.0) == pytest.approx(SQUARE[1:3])
    assert stretch(SQUARE, 0.0, 5.0) == pytest.approx(SQUARE)
    assert stretch(SQUARE, 0.0, 5.0 * (1 + 1e-12)) == pytest.approx(SQUARE)


@pytest.mark.parametrize(("start", "end"), [(-0.1, 1), (1, 5.1), (3, 2), (2, 2), (math.nan, 1), (0, math.inf)])
def test_stretch_off_the_line(start: float, end: float) -> None:
    with pytest.raises(ValueError, match="no stretch"):
        stretch(SQUARE, start, end)


# --- distances -----------------------------------------------------------------------------------------


@settings(max_examples=60, deadline=None)
@given(points(1, 5), points(1, 5))
def test_distance_against_the_nearest_of_many_points(a: Points, b: Points) -> None:
    """No sampled pair of points is nearer, and the nearest sampled is no further than the sampling explains."""
    dense = [subdivided(line, 0.02) if len(line) > 1 else line for line in (a, b)]
    sampled = float(np.linalg.norm(dense[0][:, None] - dense[1][None], axis=2).min())
    found = distance_m(a, b)
    assert found <= sampled + 1e-12
    assert found >= sampled - 0.02
    assert distance_m(b, a) == pytest.approx(found, abs=1e-9)


@pytest.mark.parametrize("seed", range(20))
def test_distance_in_a_plane(seed: int) -> None:
    shapely = pytest.importorskip("shapely", reason="the geometry library shapely is not installed")
    a, b = star(seed), star(seed + 500) + np.array([1.2, 0.3, 0])
    expected = shapely.LineString(a[:, :2]).distance(shapely.LineString(b[:, :2]))
    turn = turning(seed)
    assert distance_m(a @ turn.T, b @ turn.T) == pytest.approx(expected, abs=1e-9)


def test_distance_of_lines_that_pass_touch_and_run_beside() -> None:
    line = [[0, 0, 0], [1, 0, 0]]
    assert distance_m(line, [[0.5, -1, 0.2], [0.5, 1, 0.2]]) == pytest.approx(0.2)
    assert distance_m(line, [[0.5, -1, 0], [0.5, 1, 0]]) == pytest.approx(0.0, abs=1e-12)
    assert distance_m(line, [[-5, 0.3, 0], [5, 0.3, 0]]) == pytest.approx(0.3)
    assert distance_m(line, [[3, 0, 0], [4, 0, 0]]) == pytest.approx(2.0)
    assert distance_m(line, [[4, 4, 0]]) == pytest.approx(5.0)
    assert distance_m(line, line) == 0.0


def test_distance_of_long_lines_in_blocks() -> None:
    """More pairs than are taken at once: the nearest stand in the last block."""
    count = 400
    a = np.column_stack((np.linspace(0, 40, count), np.sin(np.arange(count)), np.zeros(count)))
    b = a[::-1] + np.array([0, 0, 3.0])
    b[0] -= (0, 0, 2.5)
    whole = segments_apart_m(a[:-1, None], a[1:, None], b[None, :-1], b[None, 1:]).min()
    assert distance_m(a, b) == pytest.approx(float(whole), abs=1e-12)
    assert distance_m(a, b) < 0.6


# --- pairs of wires --------------------------------------------------------------------------------------


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("way", [(1, 0, 0), (0, -2, 0), (0, 0, 0.3), (1, 2, -3)])
def test_ribbon_on_a_straight_line(way: tuple[float, float, float], turned: bool) -> None:
    line = np.array([(0.1, 0.2, 0.3), np.add((0.1, 0.2, 0.3), way)])
    loop = ribbon(line, 2e-3, turned)
    assert loop.shape == (4, 3)
    assert area_m2(loop) == pytest.approx(2e-3 * length_m(line), rel=1e-12)
    assert vector_area_m2(loop) @ np.array(way) == pytest.approx(0, abs=1e-15)
    assert loop.mean(axis=0) == pytest.approx(line.mean(axis=0))
    assert vector_area_m2(loop) @ vector_area_m2(ribbon(line, 2e-3, not turned)) == pytest.approx(0, abs=1e-15)


def test_ribbon_goes_out_and_comes_back() -> None:
    loop = ribbon([[0, 0, 0], [1, 0, 0], [1, 1, 0]], 0.02)
    assert len(loop) == 6
    # one wire within the bend, one without, square corners a centimetre from the line
    assert sorted(map(tuple, np.round(loop, 12).tolist())) == sorted(
        [(0, 0.01, 0), (0.99, 0.01, 0), (0.99, 1, 0), (1.01, 1, 0), (1.01, -0.01, 0), (0, -0.01, 0)]
    )


def bending(seed: int, most: float) -> Points:
    """A flat line of edges of 50 to 200 mm with bends up to `most` either way, turned anyhow."""
    chance = np.random.default_rng(seed)
    heading = np.cumsum(chance.uniform(-most, most, 12)) * 0.4
    steps = chance.uniform(0.05, 0.2, 12)[:, None] * np.column_stack((np.cos(heading), np.sin(heading), 0 * heading))
    return np.vstack((np.zeros((1, 3)), np.cumsum(steps, axis=0)))


@pytest.mark.parametrize("seed", range(15))
def test_ribbon_on_a_flat_line(seed: int) -> None:
    """In its plane: area is spacing times length, and shapely finds no crossing; square to it: straight up."""
    shapely = pytest.importorskip("shapely", reason="the geometry library shapely is not installed")
    line = bending(seed, 1.2)
    loop = ribbon(line, 4e-3)
    assert loop[:, 2] == pytest.approx(np.zeros(len(loop)), abs=1e-12)
    assert area_m2(loop) == pytest.approx(4e-3 * length_m(line), rel=1e-9)
    strip = shapely.Polygon(loop[:, :2])
    assert strip.is_valid
    wide = shapely.LineString(line[:, :2]).buffer(2e-3, cap_style="flat", join_style="mitre")
    assert strip.symmetric_difference(wide).area < 1e-9
    upright = ribbon(line, 4e-3, turned=True)
    assert np.abs(upright[:, 2]) == pytest.approx(np.full(len(upright), 2e-3))
    assert length_m(upright, closed=True) == pytest.approx(2 * length_m(line) + 8e-3)
    turn = turning(seed)
    assert area_m2(ribbon(line @ turn.T + 3.0, 4e-3)) == pytest.approx(area_m2(loop), rel=1e-8)


@settings(max_examples=80, deadline=None)
@given(points(2, 10), st.booleans())
def test_wires_of_a_ribbon_keep_their_distance(line: Points, turned: bool) -> None:
    """In space too: the wires run along the line's edges, a spacing apart at the ends and no less at corners,
    where a mitre sticks out by no more than twice and a sharper bend is cut."""
    edges = np.linalg.norm(np.diff(line, axis=0), axis=1)
    assume(edges.min() > 0.01)
    loop = ribbon(line, 1e-3, turned)
    out, back = loop[: len(loop) // 2], loop[len(loop) // 2 :][::-1]
    apart = np.linalg.norm(out - back, axis=1)
    assert apart.min() >= 1e-3 * (1 - 1e-9)
    assert apart.max() <= 2e-3 * (1 + 1e-6)
    assert apart[[0, -1]] == pytest.approx([1e-3, 1e-3])
    assert 0.5 * (out + back)[[0, -1]] == pytest.approx(line[[0, -1]], abs=1e-12)
    tangents = np.diff(line, axis=0) / edges[:, None]
    if 1 + np.sum(tangents[1:] * tangents[:-1], axis=1).min(initial=1.0) > 0.51:  # no corner is cut
        assert len(out) == len(line)
        assert np.cross(np.diff(out, axis=0), tangents) == pytest.approx(np.zeros_like(tangents), abs=1e-9)


def test_ribbon_at_a_hairpin_and_right_back() -> None:
    hairpin = ribbon([[0, 0, 0], [1, 0, 0], [0, 0.2, 0]], 0.01)
    assert len(hairpin) == 8
    assert np.isfinite(hairpin).all()
    back = ribbon([[0, 0, 0], [1, 0, 0], [0, 0, 0]], 0.01)
    assert np.isfinite(back).all()
    assert np.abs(back[:, 0]).max() <= 1.0 + 1e-12
    assert np.linalg.norm(back[:, 1:], axis=1) == pytest.approx(np.full(len(back), 5e-3))


def test_points_said_twice_make_no_difference() -> None:
    line = bending(3, 1.0)
    assert ribbon(np.repeat(line, 2, axis=0), 2e-3) == pytest.approx(ribbon(line, 2e-3))
    assert helix_pair(np.repeat(line, 2, axis=0), 2e-3, 0.03) == pytest.approx(helix_pair(line, 2e-3, 0.03))


def test_helix_pair_on_a_straight_line() -> None:
    """Length, radius and turns of a true helix; its vector area over whole turns is that of its end alone."""
    loop = helix_pair([[0, 0, 0], [0, 0.6, 0]], 3e-3, 0.03, per_turn=64)
    out, back = loop[: len(loop) // 2], loop[len(loop) // 2 :][::-1]
    assert np.linalg.norm(out[:, (0, 2)], axis=1) == pytest.approx(np.full(len(out), 1.5e-3))
    assert np.linalg.norm(out - back, axis=1) == pytest.approx(np.full(len(out), 3e-3))
    assert out[:, 1] == pytest.approx(np.linspace(0, 0.6, 20 * 64 + 1))
    angle = np.unwrap(np.arctan2(out[:, 2], out[:, 0]))
    assert abs(angle[-1] - angle[0]) == pytest.approx(2 * math.pi * 20)
    per_turn_m = math.hypot(0.03, math.pi * 3e-3)
    assert length_m(out) == pytest.approx(20 * per_turn_m, rel=1e-4)
    aside = vector_area_m2(loop)[[0, 2]]
    assert np.linalg.norm(aside) < 1e-6 * 3e-3 * 0.6


def test_helix_pair_that_begins_a_quarter_on() -> None:
    first, second = (helix_pair([[0, 0, 0], [0.6, 0, 0]], 3e-3, 0.03, turned=turned) for turned in (False, True))
    assert (first[0] - [0, 0, 0]) @ second[0] == pytest.approx(0, abs=1e-12)
    assert np.linalg.norm(second[0]) == pytest.approx(1.5e-3)


@pytest.mark.parametrize("seed", range(5))
def test_helix_pair_round_bends(seed: int) -> None:
    line = bending(seed, 1.2) @ turning(seed).T
    loop = helix_pair(line, 2e-3, 0.025)
    out, back = loop[: len(loop) // 2], loop[len(loop) // 2 :][::-1]
    middle = 0.5 * (out + back)
    assert max(distance_m([point], line) for point in middle) < 1e-12
    assert all((np.linalg.norm(middle - corner, axis=1) < 1e-12).any() for corner in line)
    assert np.linalg.norm(out - back, axis=1) == pytest.approx(np.full(len(out), 2e-3))
    assert np.linalg.norm(np.diff(middle, axis=0), axis=1).max() <= 0.025 / 24 * (1 + 1e-9)


# --- input -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "call",
    [
        length_m,
        vector_area_m2,
        area_m2,
        lambda wrong: subdivided(wrong, 0.1),
        lambda wrong: stretch(wrong, 0, 0.1),
        lambda wrong: ribbon(wrong, 2e-3, False),
        lambda wrong: helix_pair(wrong, 2e-3, 0.03),
        lambda wrong: distance_m(wrong, SQUARE),
        lambda wrong: distance_m(SQUARE, wrong),
    ],
)
def test_wrong_points(call: Callable[[object], object]) -> None:
    for wrong, words in (
        ([[0.0, 0.0], [1.0, 0.0]], "rows of three"),
        ([[[0.0, 0.0, 0.0]]], "rows of three"),
        (np.empty((0, 3)), "too few"),
        ([[0.0, 0.0, 0.0], [1.0, 0.0, math.nan]], "not finite"),
        ([[0.0, 0.0, 0.0], [1.0, -math.inf, 0.0]], "not finite"),
    ):
        with pytest.raises(ValueError, match=words):
            call(wrong)


@pytest.mark.parametrize("wrong", [0.0, -1e-3, math.nan, math.inf])
def test_wrong_measures(wrong: float) -> None:
    for call in (
        lambda: ribbon(SQUARE, wrong),
        lambda: helix_pair(SQUARE, wrong, 0.03),
        lambda: helix_pair(SQUARE, 2e-3, wrong),
        lambda: subdivided(SQUARE, wrong),
        lambda: bound_area_m2(wrong or -1.0),
        lambda: bound_on_metal_m2(wrong or -1.0),
    ):
        with pytest.raises(ValueError, match=r" m is no "):
            call()
    assert bound_area_m2(0.0) == bound_on_metal_m2(0.0) == 0.0


def test_lines_without_length_and_coarse_helices() -> None:
    for call in (lambda line: ribbon(line, 2e-3), lambda line: helix_pair(line, 2e-3, 0.03)):
        with pytest.raises(ValueError, match="are one"):
            call(np.ones((3, 3)))
    with pytest.raises(ValueError, match="at least 4"):
        helix_pair(SQUARE, 2e-3, 0.03, per_turn=3)
