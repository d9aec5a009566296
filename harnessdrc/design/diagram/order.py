"""Order of boxes in their layers so that few lines cross: sweeps over medians, then exchanges of neighbours.

Crossings are counted as in a sort: lines between two layers, taken in the order of their left ends, cross as often as
their right ends are out of order.

Source: layered drawing after K. Sugiyama, S. Tagawa and M. Toda, IEEE Transactions on Systems, Man and Cybernetics
11 (1981) 109-125 (from memory); medians after P. Eades and N. C. Wormald, Algorithmica 11 (1994) 379-403 (from memory).
"""

from __future__ import annotations

from bisect import bisect_right, insort
from collections.abc import Sequence

from harnessdrc.design.diagram.layers import Layered

__all__ = ["crossings_of", "first_order", "ordered"]

Order = list[list[int]]

_SWEEPS = 12
_PATIENCE = 4
_EXCHANGED = 1500
"""Up to so many arcs neighbours are exchanged as long as that helps; beyond, a few times."""


def crossings_of(graph: Layered, order: Sequence[Sequence[int]]) -> int:
    """How often arcs cross with this order of the layers."""
    place = _places(graph, order)
    between: dict[int, list[tuple[int, int]]] = {}
    for a, b in graph.arcs:
        between.setdefault(graph.layer[a], []).append((place[a], place[b]))
    return sum(map(_out_of_order, between.values()))


def _out_of_order(ends: list[tuple[int, int]]) -> int:
    met: list[int] = []
    count = 0
    for _, right in sorted(ends):
        count += len(met) - bisect_right(met, right)
        insort(met, right)
    return count


def _places(graph: Layered, order: Sequence[Sequence[int]]) -> list[int]:
    place = [0] * len(graph.layer)
    for vertices in order:
        for number, vertex in enumerate(vertices):
            place[vertex] = number
    return place


def first_order(graph: Layered) -> Order:
    """Boxes in the order of their numbers, dummies in that of their lines."""
    order: Order = [[] for _ in range(max(graph.layer, default=-1) + 1)]
    for vertex, layer in enumerate(graph.layer):
        order[layer].append(vertex)
    return order


def ordered(graph: Layered) -> Order:
    """Vertices of each layer from the top to the bottom.

    The same for the same graph; never with more crossings than `first_order`.
    """
    left, right = _neighbours(graph)
    best, least = first_order(graph), -1
    starts = [best, _walked(graph, left, right)]
    if len(graph.arcs) <= _EXCHANGED:
        starts.append(_walked(graph, right, left))
    for start in starts:
        order = _swept(graph, start, left, right)
        _exchange(graph, order, left, right)
        count = crossings_of(graph, order)
        if least < 0 or count < least:
            best, least = [list(vertices) for vertices in order], count
        if not least:
            break
    return best


def _neighbours(graph: Layered) -> tuple[list[list[int]], list[list[int]]]:
    left: list[list[int]] = [[] for _ in graph.layer]
    right: list[list[int]] = [[] for _ in graph.layer]
    for a, b in graph.arcs:
        right[a].append(b)
        left[b].append(a)
    return left, right


def _walked(graph: Layered, back: list[list[int]], ahead: list[list[int]]) -> Order:
    """Order in which a walk in depth meets the vertices, so that what hangs together starts side by side."""
    order: Order = [[] for _ in range(max(graph.layer, default=-1) + 1)]
    met = [False] * len(graph.layer)
    for start in sorted(range(len(graph.layer)), key=lambda v: (bool(back[v]), v)):
        walk = [start]
        while walk:
            vertex = walk.pop()
            if not met[vertex]:
                met[vertex] = True
                order[graph.layer[vertex]].append(vertex)
                walk += [near for near in reversed(ahead[vertex]) if not met[near]]
    return order


def _swept(graph: Layered, start: Order, left: list[list[int]], right: list[list[int]]) -> Order:
    """The best order that sweeps to and fro find."""
    order = [list(vertices) for vertices in start]
    place = _places(graph, order)
    best, least, idle = [list(vertices) for vertices in order], crossings_of(graph, order), 0
    for sweep in range(_SWEEPS):
        if not least or idle >= _PATIENCE:
            break
        rightward = sweep % 2 == 0
        for number in range(1, len(order)) if rightward else range(len(order) - 2, -1, -1):
            _by_medians(order[number], left if rightward else right, place, latest_first=sweep % 4 > 1)
        count = crossings_of(graph, order)
        if count < least:
            best, least, idle = [list(vertices) for vertices in order], count, 0
        else:
            idle += 1
    return best


def _by_medians(vertices: list[int], near: list[list[int]], place: list[int], *, latest_first: bool) -> None:
    """Sort a layer by the medians of what its vertices lead to; those that lead to nothing keep their places."""
    held = {number: vertex for number, vertex in enumerate(vertices) if not near[vertex]}
    moving = [vertex for vertex in vertices if near[vertex]]
    if latest_first:  # of equal medians the lower one comes first, so that ties are broken both ways
        moving.reverse()
    moving.sort(key=lambda vertex: _median(sorted([place[other] for other in near[vertex]])))
    following = iter(moving)
    vertices[:] = [held[number] if number in held else next(following) for number in range(len(vertices))]
    for number, vertex in enumerate(vertices):
        place[vertex] = number


def _median(places: list[int]) -> float:
    """Median, of an even number weighted towards the side where the places lie closer together."""
    count, middle = len(places), len(places) // 2
    if count % 2:
        return places[middle]
    if count == 2:
        return (places[0] + places[1]) / 2
    before, behind = places[middle - 1] - places[0], places[-1] - places[middle]
    if before + behind == 0:
        return (places[middle - 1] + places[middle]) / 2
    return (places[middle - 1] * behind + places[middle] * before) / (before + behind)


def _exchange(graph: Layered, order: Order, left: list[list[int]], right: list[list[int]]) -> None:
    """Exchange neighbours as long as lines cross less often so."""
    place = _places(graph, order)
    rounds = 30 if len(graph.arcs) <= _EXCHANGED else 3
    for _ in range(rounds):
        better = False
        for vertices in order:
            for number in range(len(vertices) - 1):
                a, b = vertices[number], vertices[number + 1]
                pairs = [
                    ([place[v] for v in near[a]], [place[v] for v in near[b]])
                    for near in (left, right)
                    if near[a] and near[b]
                ]
                now = sum(_crossing(one, other) for one, other in pairs if max(one) > min(other))
                if now and now > sum(_crossing(other, one) for one, other in pairs):
                    vertices[number], vertices[number + 1] = b, a
                    place[a], place[b] = number + 1, number
                    better = True
        if not better:
            return


def _crossing(upper: list[int], lower: list[int]) -> int:
    """Crossings of the lines of two neighbours, the upper one's ends and the lower one's."""
    lower = sorted(lower)
    count, at = 0, 0
    for place in sorted(upper):
        while at < len(lower) and lower[at] < place:
            at += 1
        count += at
    return count
