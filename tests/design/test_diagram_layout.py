"""The layout of the ground diagram on graphs of its own: layers, crossings, coordinates.

Outside sources: the number of crossings is held against all orders there are (brute force) and against a count of pairs;
straightness against the least squares of scipy.
"""

from __future__ import annotations

import itertools
import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdrc.design.diagram.layers import Layered, layered, without_rings
from harnessdrc.design.diagram.order import crossings_of, first_order, ordered
from harnessdrc.design.diagram.places import isotonic, placed

Arcs = list[tuple[int, int]]


def random_graph(seed: int, most: int = 12) -> tuple[list[int], Arcs]:
    """Zones of some boxes and lines between them, none to a lower zone."""
    rng = random.Random(seed)
    zone = sorted(rng.randrange(4) for _ in range(rng.randint(3, most)))
    arcs = []
    for _ in range(rng.randint(2, 2 * len(zone))):
        a, b = rng.sample(range(len(zone)), 2)
        arcs.append((a, b) if zone[a] <= zone[b] else (b, a))
    return zone, arcs


def random_layers(seed: int) -> Layered:
    """Three or four layers of two to five boxes, each with a line or two to the next layer."""
    rng = random.Random(seed)
    sizes = [rng.randint(2, 5) for _ in range(rng.randint(3, 4))]
    zone = [number for number, size in enumerate(sizes) for _ in range(size)]
    starts = [sum(sizes[:number]) for number in range(len(sizes))]
    arcs = {
        (starts[number] + rng.randrange(size), starts[number + 1] + rng.randrange(sizes[number + 1]))
        for number, size in enumerate(sizes[:-1])
        for _ in range(2 * size)
    }
    return layered(zone, sorted(arcs))


def pairs_that_cross(graph: Layered, order: list[list[int]]) -> int:
    """The same by looking at every pair of arcs."""
    place = {vertex: n for vertices in order for n, vertex in enumerate(vertices)}
    return sum(
        graph.layer[a] == graph.layer[c] and (place[a] - place[c]) * (place[b] - place[d]) < 0
        for (a, b), (c, d) in itertools.combinations(graph.arcs, 2)
    )


def fewest(graph: Layered) -> int:
    """The fewest crossings of all orders, layer by layer: between two layers only their own orders matter."""
    layers = first_order(graph)
    arcs: dict[int, Arcs] = {}
    for a, b in graph.arcs:
        arcs.setdefault(graph.layer[a], []).append((a, b))
    best = dict.fromkeys(itertools.permutations(layers[0]), 0)
    for number in range(len(layers) - 1):
        following = {}
        for right in itertools.permutations(layers[number + 1]):
            at = {vertex: n for n, vertex in enumerate(right)}
            found = []
            for left, before in best.items():
                place = {vertex: n for n, vertex in enumerate(left)}
                ends = [(place[a], at[b]) for a, b in arcs.get(number, [])]
                found.append(before + sum((p - r) * (q - s) < 0 for (p, q), (r, s) in itertools.combinations(ends, 2)))
            following[right] = min(found)
        best = following
    return min(best.values())


# ---------------------------------------------------------------------- layers
@pytest.mark.parametrize("seed", range(60))
def test_lines_lead_from_layer_to_layer_and_zones_follow_each_other(seed: int) -> None:
    zone, arcs = random_graph(seed)
    graph = layered(zone, arcs)
    assert all(graph.layer[b] == graph.layer[a] + 1 for a, b in graph.arcs)
    for (a, b), turned, pieces in zip(arcs, graph.turned, graph.lines, strict=True):
        way = [graph.arcs[pieces[0]][0], *(graph.arcs[piece][1] for piece in pieces)]
        assert (way[-1], way[0]) == (a, b) if turned else (way[0], way[-1]) == (a, b)
        assert all(vertex >= graph.boxes for vertex in way[1:-1])
        assert all(graph.arcs[one][1] == graph.arcs[other][0] for one, other in itertools.pairwise(pieces))
    for one, other in itertools.combinations(range(len(zone)), 2):
        if zone[one] < zone[other]:
            assert graph.layer[one] < graph.layer[other]
    assert sorted(set(graph.layer)) == list(range(max(graph.layer) + 1))


def test_a_ring_is_opened_at_one_line_only() -> None:
    assert sum(without_rings(4, [(0, 1), (1, 2), (2, 3), (3, 1)])) == 1
    assert without_rings(3, [(0, 1), (1, 2), (0, 2)]) == [False, False, False]


def test_a_chain_stands_as_near_to_its_end_as_its_lines_ask() -> None:
    """Two boxes lead to one in the last layer: the one without a line from the left stands right beside it."""
    graph = layered([0, 0, 0, 0], [(0, 1), (1, 2), (3, 2)])
    assert graph.layer[:4] == [0, 1, 2, 1]


# ---------------------------------------------------------------------- crossings
@pytest.mark.parametrize("seed", range(40))
def test_crossings_are_counted_as_pairs_of_lines_that_cross(seed: int) -> None:
    graph = layered(*random_graph(seed, 20))
    order = first_order(graph)
    random.Random(seed).shuffle(order[0])
    assert crossings_of(graph, order) == pairs_that_cross(graph, order)


@given(st.integers(0, 10**6))
@settings(max_examples=150, deadline=None)
def test_sweeps_never_make_it_worse_and_keep_every_vertex(seed: int) -> None:
    graph = layered(*random_graph(seed, 30))
    order = ordered(graph)
    assert [sorted(vertices) for vertices in order] == [sorted(vertices) for vertices in first_order(graph)]
    assert crossings_of(graph, order) <= crossings_of(graph, first_order(graph))


def test_small_graphs_come_near_to_the_fewest_crossings_there_can_be() -> None:
    """Against brute force over all orders."""
    found = least = before = best = 0
    for seed in range(100):
        graph = random_layers(seed)
        ours, fewest_there_are = crossings_of(graph, ordered(graph)), fewest(graph)
        assert ours >= fewest_there_are
        best += ours == fewest_there_are
        found, least = found + ours, least + fewest_there_are
        before += crossings_of(graph, first_order(graph))
    assert least > 100
    assert best >= 90
    assert found <= 1.05 * least
    assert found < 0.5 * before


def test_a_drawing_without_crossings_is_found_for_a_tree() -> None:
    """A tree has one whatever the order it is given in."""
    for seed in range(20):
        rng = random.Random(seed)
        names = list(range(40))
        rng.shuffle(names)
        arcs = [(names[(n - 1) // 3], names[n]) for n in range(1, 40)]
        graph = layered([0] * 40, arcs)
        assert crossings_of(graph, ordered(graph)) == 0


# ---------------------------------------------------------------------- coordinates
@given(st.lists(st.tuples(st.floats(-100, 100), st.floats(0.1, 10)), min_size=1, max_size=9))
@settings(max_examples=80, deadline=None)
def test_isotonic_values_are_those_of_least_squares(pairs: list[tuple[float, float]]) -> None:
    """Against a general solver of least squares with bounds: values as a first one and steps that are not negative."""
    from scipy.optimize import lsq_linear

    wanted, weight = (np.array(column) for column in zip(*pairs, strict=True))
    found = np.array(isotonic(wanted.tolist(), weight.tolist()))
    assert (np.diff(found) >= -1e-9).all()
    steps = np.tril(np.ones((len(wanted), len(wanted)))) * np.sqrt(weight)[:, None]
    low = np.array([-np.inf, *[0.0] * (len(wanted) - 1)])
    best = lsq_linear(steps, wanted * np.sqrt(weight), bounds=(low, np.inf), tol=1e-12)
    ours = float(((found - wanted) ** 2 * weight).sum())
    assert ours <= 2 * best.cost + 1e-4


@pytest.mark.parametrize("seed", range(40))
def test_boxes_lie_apart_and_no_line_runs_through_one(seed: int) -> None:
    zone, arcs = random_graph(seed, 25)
    rng = random.Random(seed)
    graph = layered(zone, arcs)
    layout = placed(graph, ordered(graph), [rng.uniform(60, 190) for _ in zone])
    for one, other in itertools.combinations(layout.boxes, 2):
        assert one.x + one.w <= other.x or other.x + other.w <= one.x or one.y + one.h < other.y or other.y + other.h < one.y
    for (a, b), points in zip(arcs, layout.lines, strict=True):
        for number, box in enumerate(layout.boxes):
            assert number in (a, b) or not any(
                runs_through(one, other, box) for one, other in itertools.pairwise(points)
            )
        assert all(one[0] < other[0] for one, other in itertools.pairwise(points))
    for box in layout.boxes:
        assert min(box.x, box.y) >= 0 and box.x + box.w <= layout.width and box.y + box.h <= layout.height


def runs_through(one: tuple[float, float], other: tuple[float, float], box: tuple[float, float, float, float]) -> bool:
    """Whether a straight piece meets the inside of a box: clipped side by side (Liang and Barsky)."""
    x, y, w, h = box
    low, high = 0.0, 1.0
    for start, step, least, most in (
        (one[0], other[0] - one[0], x + 0.2, x + w - 0.2), (one[1], other[1] - one[1], y + 0.2, y + h - 0.2)
    ):  # fmt: skip
        if step == 0:
            if not least < start < most:
                return False
            continue
        ends = sorted(((least - start) / step, (most - start) / step))
        low, high = max(low, ends[0]), min(high, ends[1])
    return low < high


def test_the_test_of_lines_through_boxes_can_fail() -> None:
    assert runs_through((0, 0), (10, 10), (4, 4, 2, 2))
    assert not runs_through((0, 0), (10, 0), (4, 4, 2, 2))


def test_a_line_over_many_layers_is_straight_where_nothing_is_in_its_way() -> None:
    chain = [(n, n + 1) for n in range(6)]
    graph = layered(list(range(7)), [*chain, (0, 6)])
    layout = placed(graph, ordered(graph), [80.0] * 7)
    levels = {round(y, 1) for _, y in layout.lines[-1][1:-1]}
    assert len(levels) == 1

