"""Coordinates: columns for layers, heights so that lines run as straight as the order of the boxes lets them.

Every layer is a column as wide as its widest box. A line crosses a column level, in a place of its own, and slants only
between columns, so that it runs through no box.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from harnessdrc.design.diagram.layers import Layered

__all__ = ["Layout", "Placed", "isotonic", "placed"]

Point = tuple[float, float]

_PIN = 14.0
"""Distance of two lines at one box."""
_LEAST_H = 28.0
_BETWEEN = 16.0
"""Free height between two boxes."""
_BETWEEN_LINES = 12.0
"""Free height between two lines that pass."""
_MARGIN = 24.0
_LEAST_GAP, _MOST_GAP = 44.0, 120.0
_PASSES = 12
_ALL_BUT_LEVEL = 3.0
_STRAIGHT = 8.0
"""Weight of a piece between two dummies against one between two boxes: long lines first."""


class Placed(NamedTuple):
    """Upper left corner, width and height of a box."""

    x: float
    y: float
    w: float
    h: float


class Layout(NamedTuple):
    """Boxes and lines with their coordinates; lines run from the left to the right end of their arcs."""

    boxes: list[Placed]
    lines: list[list[Point]]
    width: float
    height: float


def placed(graph: Layered, order: Sequence[Sequence[int]], width: Sequence[float]) -> Layout:
    """Coordinates of a graph in layers.

    Parameters
    ----------
    graph : Layered
        What is drawn.
    order : sequence of sequence of int
        Vertices of each layer from the top to the bottom.
    width : sequence of float
        Width that the label of each box asks for.
    """
    count = len(graph.layer)
    place = [0] * count
    for vertices in order:
        for number, vertex in enumerate(vertices):
            place[vertex] = number
    left: list[list[int]] = [[] for _ in range(count)]
    right: list[list[int]] = [[] for _ in range(count)]
    for arc, (a, b) in enumerate(graph.arcs):
        right[a].append(arc)
        left[b].append(arc)
    for vertex in range(graph.boxes):
        left[vertex].sort(key=lambda arc: (place[graph.arcs[arc][0]], graph.line[arc]))
        right[vertex].sort(key=lambda arc: (place[graph.arcs[arc][1]], graph.line[arc]))
    start_off, end_off = [0.0] * len(graph.arcs), [0.0] * len(graph.arcs)
    height = [0.0] * count
    for vertex in range(graph.boxes):
        height[vertex] = max(_LEAST_H, _PIN * max(len(left[vertex]), len(right[vertex])) + 4.0)
        for arcs, off in ((left[vertex], end_off), (right[vertex], start_off)):
            for number, arc in enumerate(arcs):
                off[arc] = (number - (len(arcs) - 1) / 2) * _PIN
    middle = _heights(graph, order, height, left, right, start_off, end_off)
    columns, widest = _columns(graph, order, middle, start_off, end_off, width)
    boxes = [
        Placed(
            round(columns[graph.layer[vertex]] + (widest[graph.layer[vertex]] - width[vertex]) / 2, 1),
            round(middle[vertex] - height[vertex] / 2, 1), round(width[vertex], 1), round(height[vertex], 1),
        )
        for vertex in range(graph.boxes)
    ]  # fmt: skip
    lines = [_line(graph, arcs, boxes, middle, columns, widest, start_off, end_off) for arcs in graph.lines]
    right_side = max((x + w for x, w in zip(columns, widest, strict=True)), default=0.0)
    bottom = max((middle[vertex] + height[vertex] / 2 for vertex in range(count)), default=0.0)
    return Layout(boxes, lines, round(right_side + _MARGIN, 1), round(bottom + _MARGIN, 1))


def isotonic(wanted: Sequence[float], weight: Sequence[float]) -> list[float]:
    """Values that never fall and lie nearest to the wanted ones: least sum of weighted squares.

    Source: pool adjacent violators, M. Ayer and others, Annals of Mathematical Statistics 26 (1955) 641-647 (from
    memory).
    """
    pools: list[tuple[float, float, int]] = []
    for value, share in zip(wanted, weight, strict=True):
        mean, whole, members = value, share, 1
        while pools and pools[-1][0] > mean:
            other, part, more = pools.pop()
            mean = (mean * whole + other * part) / (whole + part)
            whole, members = whole + part, members + more
        pools.append((mean, whole, members))
    return [mean for mean, _, members in pools for _ in range(members)]


def _heights(
    graph: Layered,
    order: Sequence[Sequence[int]],
    height: Sequence[float],
    left: Sequence[Sequence[int]],
    right: Sequence[Sequence[int]],
    start_off: Sequence[float],
    end_off: Sequence[float],
) -> list[float]:
    """Middle of each vertex: by turns as its left and its right neighbours ask, in the end as both do."""
    dummy = [vertex >= graph.boxes for vertex in range(len(graph.layer))]
    middle = [0.0] * len(graph.layer)
    spread: list[list[float]] = []
    for vertices in order:
        at, steps = 0.0, []
        for number, vertex in enumerate(vertices):
            if number:
                above = vertices[number - 1]
                free = _BETWEEN_LINES if dummy[above] and dummy[vertex] else _BETWEEN
                at += (height[above] + height[vertex]) / 2 + free
            steps.append(at)
        spread.append(steps)
        for vertex, step in zip(vertices, steps, strict=True):
            middle[vertex] = step - at / 2
    for turn in range(_PASSES):
        last = turn >= _PASSES - 2
        sides = (True, True) if last else (turn % 2 == 0, turn % 2 == 1)
        numbers = range(len(order)) if turn % 2 == 0 else range(len(order) - 1, -1, -1)
        for number in numbers:
            wanted, weights = [], []
            for vertex, step in zip(order[number], spread[number], strict=True):
                whole = value = 0.0
                for arcs, asked, near in ((left[vertex], sides[0], 0), (right[vertex], sides[1], 1)):
                    for arc in arcs if asked else ():
                        other = graph.arcs[arc][near]
                        share = _STRAIGHT if dummy[vertex] and dummy[other] else 2.0 if dummy[other] else 1.0
                        shift = start_off[arc] - end_off[arc]
                        value += share * (middle[other] + (shift if near == 0 else -shift))
                        whole += share
                if not whole:
                    value, whole = middle[vertex] * 0.1, 0.1
                wanted.append(value / whole - step)
                weights.append(whole)
            for vertex, base, step in zip(order[number], isotonic(wanted, weights), spread[number], strict=True):
                middle[vertex] = base + step
    _straighten(graph, middle)
    top = min((middle[v] - height[v] / 2 for v in range(len(middle))), default=0.0)
    return [value - top + _MARGIN for value in middle]


def _straighten(graph: Layered, middle: list[float]) -> None:
    """Pieces of a line that are all but level are made so; what lies between lines has room enough."""
    for arcs in graph.lines:
        level: list[int] = []
        for vertex in [*(graph.arcs[arc][1] for arc in arcs[:-1]), -1]:
            if level and (vertex < 0 or abs(middle[vertex] - middle[level[0]]) > _ALL_BUT_LEVEL):
                mean = sum(middle[each] for each in level) / len(level)
                for each in level:
                    middle[each] = mean
                level = []
            level.append(vertex)


def _columns(
    graph: Layered,
    order: Sequence[Sequence[int]],
    middle: Sequence[float],
    start_off: Sequence[float],
    end_off: Sequence[float],
    width: Sequence[float],
) -> tuple[list[float], list[float]]:
    """Left side and width of each column; the steeper the lines between two, the wider the gap."""
    widest = [max((width[v] for v in vertices if v < graph.boxes), default=0.0) for vertices in order]
    steepest = [0.0] * len(order)
    for arc, (a, b) in enumerate(graph.arcs):
        rise = abs(middle[b] + end_off[arc] - middle[a] - start_off[arc])
        steepest[graph.layer[a]] = max(steepest[graph.layer[a]], rise)
    columns, at = [], _MARGIN
    for number, w in enumerate(widest):
        columns.append(round(at, 1))
        at += w + min(max(_LEAST_GAP, steepest[number] / 4), _MOST_GAP)
    return columns, widest


def _line(
    graph: Layered,
    arcs: Sequence[int],
    boxes: Sequence[Placed],
    middle: Sequence[float],
    columns: Sequence[float],
    widest: Sequence[float],
    start_off: Sequence[float],
    end_off: Sequence[float],
) -> list[Point]:
    points: list[Point] = []
    for arc in arcs:
        a, b = graph.arcs[arc]
        y, y_end = round(middle[a] + start_off[arc], 1), round(middle[b] + end_off[arc], 1)
        column, following = graph.layer[a], graph.layer[b]
        if a < graph.boxes:
            points.append((round(boxes[a].x + boxes[a].w, 1), y))
        points += [(round(columns[column] + widest[column], 1), y), (columns[following], y_end)]
        if b < graph.boxes:
            points.append((boxes[b].x, y_end))
    # Of points in one place, and of three that lie level, one is enough.
    kept: list[Point] = []
    for point in points:
        if kept and kept[-1] == point:
            continue
        if len(kept) > 1 and kept[-1][1] == kept[-2][1] == point[1]:
            kept[-1] = point
        else:
            kept.append(point)
    return kept
