"""Where things are and which way wires run, from the points and branches of the lists.

A point is anything that the list of points names: an end of a branch, a connector, a component, an earth point, a
splice. Branches are straight between their ends. A wire runs from its one end to its other through the branches that
it names, leaving and joining them where its ends are nearest; one that names none runs straight. Other branches are
taken only to get to those that it names.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from itertools import pairwise
from typing import NamedTuple

import networkx as nx
import numpy as np
from numpy.typing import NDArray

from harnessdrc.design.branches import branches_of
from harnessdrc.harness.elements import Branch, Harness, Wire
from harnessdrc.harness.names import fold, natural_key

__all__ = ["Line", "Routes"]

Floats = NDArray[np.float64]

_SAME_M = 1e-6
_NAMED_SHARE = 1e-6
"""A branch that a wire names counts as so much of its length where a way to it has to be looked for."""


class Line(NamedTuple):
    """Way of a wire, shape (n, 3), m; None with what is lacking."""

    points_m: Floats | None
    lacking: tuple[str, ...] = ()


class _Foot(NamedTuple):
    """Where an end joins the branches: a place, and the branch ends it can be reached from with their distances."""

    place: Floats
    nodes: tuple[tuple[str, float], ...]
    branch: str | None


class _Reached(NamedTuple):
    """From one branch end to the others: what the way costs, and the branch ends it leads through."""

    cost: dict[str, float]
    ways: dict[str, list[str]]


class Routes:
    """Places of items and ways of wires.

    Parameters
    ----------
    harness : Harness
        The objects of the lists.
    """

    def __init__(self, harness: Harness) -> None:
        self.harness = harness
        self._lines: dict[str, Line] = {}
        self._reached: dict[tuple[str, frozenset[str], bool], _Reached] = {}
        self._asked: set[str] = set()
        self._lacks: dict[str, str] = {}

    @property
    def known(self) -> bool:
        """Whether the lists have any point."""
        return bool(self.harness.points)

    # ------------------------------------------------------------------ places
    def at(self, key: str) -> Floats | None:
        """Place of an item or point by its folded name, m.

        A connector may also stand where its component, its mate or the mate's component is, a component where its
        connector is.
        """
        if not self.known:
            return None
        for name in self._names(key):
            point = self.harness.points.get(name)
            if point is not None and point.xyz_m is not None:
                return np.array(point.xyz_m)
        item = self.harness.items.get(key)
        if item is None or item.details.branch is None or item.details.distance_m is None or key in self._asked:
            return None
        self._asked.add(key)  # a splice may lie in a branch that ends at it
        try:
            return self._along(item.details.branch, item.details.distance_m)
        finally:
            self._asked.discard(key)

    def lacks(self, key: str) -> str:
        """What would say where an item is, in trade words."""
        if key not in self._lacks:
            item = self.harness.items.get(key)
            point = self.harness.points.get(key)
            name = item.name if item is not None else point.name if point is not None else key
            self._lacks[key] = f"x, y, z of {name}"
        return self._lacks[key]

    def names(self, key: str) -> tuple[str, ...]:
        """Folded names by which a point may stand for an item, its own first; see `at`."""
        return tuple(self._names(key))

    def off_branches(self, key: str, named: Sequence[Branch]) -> tuple[str, float, float] | None:
        """Where an item that is in place joins the nearest of some branches, and how far it is from there.

        Returns
        -------
        (str, float, float) or None
            Key of the branch, how far along it as a share of its length, and the straight way on to the item, m;
            None while item or branches lack their places.
        """
        place = self.at(key)
        placed = [branch for branch in named if self._ends(branch) is not None]
        if place is None or not placed:
            return None
        foot = self._nearest_foot(place, placed)
        (_, from_start_m), (_, from_end_m) = foot.nodes
        whole_m = from_start_m + from_end_m
        away_m = float(np.linalg.norm(place - foot.place))
        return foot.branch or placed[0].key, from_start_m / whole_m if whole_m else 0.0, away_m

    def _names(self, key: str) -> Iterator[str]:
        yield key
        item = self.harness.items.get(key)
        if item is None:
            return
        if item.owner != key:
            yield item.owner
        for mated in (item.mate, self._mated.get(key)):
            mate = self.harness.items.get(mated) if mated else None
            if mate is not None:
                yield mate.key
                if mate.owner not in (mate.key, key, item.owner):
                    yield mate.owner
        if key in self._connectors:
            yield self._connectors[key]

    @cached_property
    def _mated(self) -> dict[str, str]:
        """Connector → the one whose line says that they mate."""
        items = sorted(self.harness.items.values(), key=lambda item: natural_key(item.key), reverse=True)
        return {item.mate: item.key for item in items if item.mate}

    @cached_property
    def _connectors(self) -> dict[str, str]:
        """Component → the first of its connectors that is a point, for components that are none."""
        found: dict[str, str] = {}
        for name in sorted(self.harness.points, key=natural_key):
            item = self.harness.items.get(name)
            if item is not None and item.owner != name:
                found.setdefault(item.owner, name)
        return found

    def _along(self, branch_key: str, distance_m: float) -> Floats | None:
        """Place at a distance from the start of a branch."""
        branch = self.harness.branches.get(fold(branch_key))
        ends = self._ends(branch) if branch else None
        if ends is None or branch is None:
            return None
        start, end = ends
        straight_m = float(np.linalg.norm(end - start))
        whole_m = branch.length_m or straight_m
        return start + (end - start) * (min(1.0, max(0.0, distance_m / whole_m)) if whole_m else 0.0)

    def span_m(self, branch_key: str) -> float | None:
        """Straight length of a branch whose ends are in place, m."""
        branch = self.harness.branches.get(branch_key) if self.known else None
        ends = self._ends(branch) if branch is not None else None
        return None if ends is None else float(np.linalg.norm(ends[1] - ends[0]))

    def _ends(self, branch: Branch) -> tuple[Floats, Floats] | None:
        if branch.from_point is None or branch.to_point is None:
            return None
        start, end = self.at(fold(branch.from_point)), self.at(fold(branch.to_point))
        return None if start is None or end is None else (start, end)

    # ------------------------------------------------------------------ ways
    @cached_property
    def _graph(self) -> nx.MultiGraph:
        """Branches with both ends in place, between the folded names of their points."""
        graph = nx.MultiGraph()
        # in the order of their names, so that of two ways as long the same one is taken in any order of rows
        for branch in sorted(self.harness.branches.values(), key=lambda each: natural_key(each.key)):
            ends = self._ends(branch)
            if ends is not None and branch.from_point is not None and branch.to_point is not None:
                span_m = float(np.linalg.norm(ends[1] - ends[0]))
                graph.add_edge(fold(branch.from_point), fold(branch.to_point), branch.key, m=span_m)
        return graph

    def _from(self, node: str, named: frozenset[str], only: bool) -> _Reached:
        """Costs and ways from one branch end to all others: through the named branches only, or as much as can be."""
        asked = node, named, only
        if asked not in self._reached:

            def cost(_one: str, _other: str, edges: Mapping[str, Mapping[str, float]]) -> float | None:
                own = [edges[key]["m"] for key in edges if key in named]
                if only:
                    return min(own, default=None)
                return min([m * _NAMED_SHARE for m in own] + [each["m"] for each in edges.values()])

            self._reached[asked] = _Reached(*nx.single_source_dijkstra(self._graph, node, weight=cost))
        return self._reached[asked]

    def line(self, wire: Wire) -> Line:
        """Way of a wire from its first end to its second."""
        found = self._lines.get(wire.name)
        if found is None:
            found = self._lines[wire.name] = self._line(wire)
        return found

    def _line(self, wire: Wire) -> Line:
        if wire.a is None or wire.b is None:
            return Line(None, (f"both ends of wire {wire.name}",))
        start, end = self.at(wire.a.item), self.at(wire.b.item)
        lacking = [self.lacks(c.item) for c, place in ((wire.a, start), (wire.b, end)) if place is None]
        if start is None or end is None:
            return Line(None, tuple(lacking))
        named = [self.harness.branches[key] for key in branches_of(wire, self.harness)]
        for branch in named:
            if self._ends(branch) is None:
                lacking += [
                    self.lacks(fold(point)) if point else f"both ends of branch {branch.name}"
                    for point in (branch.from_point, branch.to_point)
                    if point is None or self.at(fold(point)) is None
                ]
        if lacking:
            return Line(None, tuple(dict.fromkeys(lacking)))
        if not named:
            return Line(_joined([start, end]))
        feet = [self._foot(contact.item, place, named) for contact, place in ((wire.a, start), (wire.b, end))]
        keys = frozenset(branch.key for branch in named)
        between = self._between(feet[0], feet[1], keys, only=True) or self._between(feet[0], feet[1], keys, only=False)
        if between is None:
            names = " and ".join(branch.name for branch in named)
            return Line(None, (f"branches that join the ends of wire {wire.name} with {names}",))
        return Line(_joined([start, *between, end]))

    def _foot(self, key: str, place: Floats, named: Sequence[Branch]) -> _Foot:
        """Where an item joins the branches: at the branch end of its name, else at the nearest place of those named."""
        ends = [name for name in self._names(key) if name in self._graph]
        own = {fold(point) for branch in named for point in (branch.from_point, branch.to_point) if point is not None}
        node = next((name for name in ends if name in own), ends[0] if ends else None)
        if node is not None:
            return _Foot(place, ((node, 0.0),), None)
        return self._nearest_foot(place, named)

    def _nearest_foot(self, place: Floats, named: Sequence[Branch]) -> _Foot:
        """Nearest place on any of some branches."""
        best: tuple[float, _Foot] | None = None
        for branch in named:
            span_ends = self._ends(branch)
            if span_ends is None or branch.from_point is None or branch.to_point is None:
                continue
            start, end = span_ends
            span = end - start
            length2 = float(span @ span)
            share = min(1.0, max(0.0, float((place - start) @ span) / length2)) if length2 else 0.0
            foot = start + share * span
            away_m, span_m = float(np.linalg.norm(place - foot)), length2**0.5
            if best is None or away_m < best[0] - _SAME_M:
                nodes = ((fold(branch.from_point), share * span_m), (fold(branch.to_point), (1 - share) * span_m))
                best = away_m, _Foot(foot, nodes, branch.key)
        assert best is not None  # there is a named branch, and its ends are in place
        return best[1]

    def _between(self, one: _Foot, other: _Foot, named: frozenset[str], *, only: bool) -> list[Floats] | None:
        """Corners from one foot to the other, both included; None where no branches join them by way of the named."""
        if one.branch is not None and one.branch == other.branch:
            return [one.place, other.place]
        share = 1.0 if only else _NAMED_SHARE
        best: tuple[float, list[str]] | None = None
        for node, away_m in one.nodes:
            reached = self._from(node, named, only)
            for target, further_m in other.nodes:
                if target in reached.cost:
                    whole = (away_m + further_m) * share + reached.cost[target]
                    if best is None or whole < best[0] - _SAME_M * share:
                        best = whole, reached.ways[target]
        if best is None or not (one.branch or other.branch or self._passes(best[1], named)):
            return None
        corners = [place for node in best[1] if (place := self.at(node)) is not None]
        return [one.place, *corners, other.place]

    def _passes(self, nodes: Sequence[str], named: frozenset[str]) -> bool:
        """Whether a way goes through any of the named branches, or nowhere at all."""
        return len(nodes) == 1 or any(key in named for one, other in pairwise(nodes) for key in self._graph[one][other])


def _joined(places: Sequence[Floats]) -> Floats:
    """Places as one line, without those that repeat the one before."""
    kept = [places[0]]
    for place in places[1:]:
        if float(np.linalg.norm(place - kept[-1])) > _SAME_M:
            kept.append(place)
    if len(kept) == 1:
        kept.append(kept[0])
    return np.array(kept)
