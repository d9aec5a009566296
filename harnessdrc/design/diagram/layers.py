"""Layers of a drawing from left to right, and the dummies that lead long lines through the layers between.

Zones follow each other; within them a box stands one layer behind whatever leads to it (longest way), and then as near
to what it leads to as shortens its lines.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["Layered", "layered", "without_rings"]

Arc = tuple[int, int]

_PASSES = 2


@dataclass(frozen=True, slots=True)
class Layered:
    """A graph in layers, every arc of which leads from one layer to the next.

    Parameters
    ----------
    layer : list of int
        Layer of each vertex: the boxes first, then the dummies.
    boxes : int
        How many of the vertices are boxes.
    arcs : list of (int, int)
        Vertices of each piece of a line, the one to the left first.
    line : list of int
        Line of each arc.
    lines : list of list of int
        Arcs of each line, from the left to the right.
    turned : list of bool
        Lines that run from right to left.
    """

    layer: list[int]
    boxes: int
    arcs: list[Arc]
    line: list[int]
    lines: list[list[int]]
    turned: list[bool]


def without_rings(count: int, arcs: Sequence[Arc]) -> list[bool]:
    """Arcs to be turned round so that no ring is left: those that lead back on a walk in depth.

    Parameters
    ----------
    count : int
        Vertices are 0 to ``count - 1``; the walk starts with the lowest that no arc leads to.
    arcs : sequence of (int, int)
        From and to.
    """
    out: list[list[tuple[int, int]]] = [[] for _ in range(count)]
    led = [0] * count
    for number, (a, b) in enumerate(arcs):
        out[a].append((b, number))
        led[b] += 1
    turned = [False] * len(arcs)
    state = [0] * count  # 0 not met, 1 on the walk, 2 done
    for start in sorted(range(count), key=lambda v: (led[v] > 0, v)):
        if state[start]:
            continue
        state[start] = 1
        walk = [(start, iter(out[start]))]
        while walk:
            vertex, following = walk[-1]
            for near, number in following:
                if state[near] == 1:
                    turned[number] = True
                elif not state[near]:
                    state[near] = 1
                    walk.append((near, iter(out[near])))
                    break
            else:
                state[vertex] = 2
                walk.pop()
    return turned


def layered(zone: Sequence[int], arcs: Sequence[Arc]) -> Layered:
    """Put boxes into layers.

    Parameters
    ----------
    zone : sequence of int
        Zone of each box; a zone lies wholly to the right of every lower one.
    arcs : sequence of (int, int)
        Boxes of each line; none leads to a lower zone or to its own box.
    """
    count = len(zone)
    turned = without_rings(count, arcs)
    led = [(b, a) if back else (a, b) for (a, b), back in zip(arcs, turned, strict=True)]
    before: list[list[int]] = [[] for _ in range(count)]
    behind: list[list[int]] = [[] for _ in range(count)]
    for a, b in led:
        before[b].append(a)
        behind[a].append(b)
    order = _in_order(zone, before, behind)
    layer = [0] * count
    floor = {}
    reached, last_zone = -1, None
    for vertex in order:
        if zone[vertex] != last_zone:
            last_zone = zone[vertex]
            floor[last_zone] = reached + 1
        layer[vertex] = max([floor[zone[vertex]], *(layer[a] + 1 for a in before[vertex])])
        reached = max(reached, layer[vertex])
    ceiling = {z: min((floor[other] - 1 for other in floor if other > z), default=reached) for z in floor}
    for _ in range(_PASSES):
        for vertex in reversed(order):
            _pull(vertex, layer, before, behind, floor[zone[vertex]], ceiling[zone[vertex]])
        for vertex in order:
            _pull(vertex, layer, before, behind, floor[zone[vertex]], ceiling[zone[vertex]])
    # A layer that was emptied so is none.
    used = {number: place for place, number in enumerate(sorted(set(layer)))}
    return _with_dummies([used[number] for number in layer], led, turned)


def _in_order(zone: Sequence[int], before: list[list[int]], behind: list[list[int]]) -> list[int]:
    """Vertices so that each stands behind all that lead to it, zone by zone."""
    waiting = [len(each) for each in before]
    rank: list[int] = [0] * len(zone)
    front = [vertex for vertex, number in enumerate(waiting) if not number]
    while front:
        following: list[int] = []
        for vertex in front:
            for near in behind[vertex]:
                waiting[near] -= 1
                rank[near] = max(rank[near], rank[vertex] + 1)
                if not waiting[near]:
                    following.append(near)
        front = following
    return sorted(range(len(zone)), key=lambda vertex: (zone[vertex], rank[vertex], vertex))


def _pull(
    vertex: int, layer: list[int], before: list[list[int]], behind: list[list[int]], floor: int, ceiling: int
) -> None:
    """Move a box to where its lines are shortest; of layers as good the leftmost behind what leads to it."""
    low = max([floor, *(layer[a] + 1 for a in before[vertex])])
    high = min([ceiling, *(layer[b] - 1 for b in behind[vertex])])
    layer[vertex] = high if len(behind[vertex]) > len(before[vertex]) else low


def _with_dummies(layer: list[int], led: list[Arc], turned: list[bool]) -> Layered:
    layers, arcs, line = list(layer), list[Arc](), list[int]()
    lines: list[list[int]] = []
    for number, (a, b) in enumerate(led):
        lines.append([])
        previous = a
        for between in range(layer[a] + 1, layer[b] + 1):
            if between < layer[b]:
                near = len(layers)
                layers.append(between)
            else:
                near = b
            lines[number].append(len(arcs))
            arcs.append((previous, near))
            line.append(number)
            previous = near
    return Layered(layers, len(layer), arcs, line, lines, turned)
