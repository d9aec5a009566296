"""How far a wire runs along the branches that it names, by the lengths of the branches.

`Routes` draws wires through space; here they are measured along the listed lengths, which need no coordinates. An end
is on the branches where it is the point of a branch, a splice listed at a distance in one, or where its coordinates
put it. Of an end that is nowhere, only the range is known: the way reaches the nearest end of every branch that the
wire names, and does not leave them.
"""

from __future__ import annotations

import heapq
from collections.abc import Mapping, Sequence
from itertools import product
from math import inf
from typing import NamedTuple

from harnessdrc.design.branches import branch_names
from harnessdrc.design.routes import Routes
from harnessdrc.harness.elements import Branch, Harness, Wire
from harnessdrc.harness.names import fold, natural_key

__all__ = ["WayLength", "WireLengths"]


class WayLength(NamedTuple):
    """Length of a wire's way, m: least and most that it can be; equal where both ends are on the branches.

    `placed` says whether they are. `lacking` names what would tell more; without a low nothing can be said at all.
    """

    low_m: float | None
    high_m: float | None
    placed: bool
    lacking: tuple[str, ...] = ()


class _On(NamedTuple):
    """Where an end is on the branches: ends of branches it can be reached from, and the way off them to the item."""

    nodes: tuple[tuple[str, float], ...]
    branch: str | None = None
    at_m: float = 0.0
    off_m: float = 0.0


class WireLengths:
    """Ways of wires along the branches of a harness.

    Parameters
    ----------
    harness : Harness
        The objects of the lists.
    routes : Routes
        Where things are.
    """

    def __init__(self, harness: Harness, routes: Routes) -> None:
        self.harness = harness
        self.routes = routes
        self._length_m: dict[str, float | None] = {}
        self._near: dict[str, list[tuple[str, str, float]]] = {}
        ends = ((branch.from_point, branch.to_point) for branch in harness.branches.values())
        self._points = {fold(point) for pair in ends for point in pair if point is not None}
        self._costs: dict[tuple[str, frozenset[str] | None], dict[str, float]] = {}
        # in the order of their names, so that nothing hangs on the order of the rows
        for branch in sorted(harness.branches.values(), key=lambda each: natural_key(each.key)):
            length_m = branch.length_m if branch.length_m is not None else routes.span_m(branch.key)
            self._length_m[branch.key] = length_m
            if length_m is None or branch.from_point is None or branch.to_point is None:
                continue
            start, end = fold(branch.from_point), fold(branch.to_point)
            self._near.setdefault(start, []).append((end, branch.key, length_m))
            self._near.setdefault(end, []).append((start, branch.key, length_m))
        for item in harness.items.values():  # what runs on beyond a connector begins where its other half is
            if item.mate and item.key in self._near and item.mate in self._near:
                self._near[item.key].append((item.mate, "", 0.0))
                self._near[item.mate].append((item.key, "", 0.0))

    def length_m(self, branch_key: str) -> float | None:
        """Length of a branch: as listed, else straight between its ends; None while neither is known."""
        return self._length_m.get(branch_key)

    def way(self, wire: Wire) -> WayLength | None:
        """Way of a wire; None for a wire that names no listed branch, or has an end that is not given."""
        if wire.a is None or wire.b is None or not self.harness.branches:
            return None
        names = branch_names(wire, self.harness)
        named = [self.harness.branches[name] for name in names if name in self.harness.branches]
        if not named:
            return None
        lacking = [f"branch {name} in the list of branches" for name in names if name not in self.harness.branches]
        for branch in named:
            if branch.from_point is None or branch.to_point is None:
                lacking.append(f"both ends of branch {branch.name}")
            elif self._length_m[branch.key] is None:
                lacking.append(f"length of branch {branch.name}")
        ends = [self._on(contact.item, named) for contact in (wire.a, wire.b)]
        if lacking:
            return WayLength(None, None, None not in ends, tuple(lacking))
        keys = frozenset(branch.key for branch in named)
        return self._way(wire, named, keys, ends)

    def _way(self, wire: Wire, named: Sequence[Branch], keys: frozenset[str], ends: Sequence[_On | None]) -> WayLength:
        known = [end for end in ends if end is not None]
        if len(known) == 2:
            whole_m = self._between(known[0], known[1], keys)
            if whole_m is not None:
                return WayLength(whole_m, whole_m, True)
            names = " and ".join(sorted((branch.name for branch in named), key=natural_key))
            return WayLength(None, None, True, (f"branches that join the ends of wire {wire.name} with {names}",))
        spans = [self._span(branch) for branch in named]
        if known:
            reach = [[self._between(known[0], end, keys) for end in span] for span in spans]
            near = [min((each for each in to if each is not None), default=None) for to in reach]
            near = [
                0.0 if branch.key == known[0].branch else at_m for branch, at_m in zip(named, near, strict=True)
            ]
            far = [each for to in reach for each in to]
        else:
            pairs = [(one, other) for one in spans for other in spans if one is not other]
            between = [[self._between(a, b, keys) for a, b in product(*pair)] for pair in pairs]
            near = [min((each for each in to if each is not None), default=None) for to in between]
            nodes = [end for span in spans for end in span]
            far = [self._between(a, b, keys) for a in nodes for b in nodes]
        lacking = tuple(
            f"where {self.harness.items[contact.item].name} is ({self.routes.lacks(contact.item)})"
            for contact, end in zip((wire.a, wire.b), ends, strict=True)
            if end is None and contact is not None
        )
        if None in near or None in far:
            return WayLength(None, None, False, lacking)
        low_m = max((each for each in near if each is not None), default=0.0)
        return WayLength(low_m, max(each for each in far if each is not None), False, lacking)

    # ------------------------------------------------------------------ ends
    def _span(self, branch: Branch) -> tuple[_On, _On]:
        return (
            _On(((fold(branch.from_point or ""), 0.0),)),
            _On(((fold(branch.to_point or ""), 0.0),)),
        )

    def on_branch(self, item_key: str) -> tuple[str, float] | None:
        """Branch that a splice is listed in, and how far it is from its start, m; None where that is not known."""
        item = self.harness.items.get(item_key)
        if item is None or item.details.branch is None or item.details.distance_m is None:
            return None
        key = fold(item.details.branch)
        whole_m = self._length_m.get(key)
        return None if whole_m is None else (key, min(max(item.details.distance_m, 0.0), whole_m))

    def joined_at(self, point: str) -> int:
        """How many branches end at a point, by its folded name."""
        return len({branch for _, branch, _ in self._near.get(point, ()) if branch})

    def toward(self, wire: Wire, splice_key: str) -> str | None:
        """Folded name of the end of its branch by which a wire leaves a splice; None where that is not known."""
        found = self.on_branch(splice_key)
        if found is None or wire.a is None or wire.b is None:
            return None
        here = self._at(found[0], found[1], 0.0)
        other = wire.b.item if wire.a.item == splice_key else wire.a.item
        names = branch_names(wire, self.harness)
        named = [self.harness.branches[name] for name in names if name in self.harness.branches]
        beyond = [branch for branch in named if branch.key != found[0] and self._length_m[branch.key] is not None]
        there = self._on(other, named)
        if here is None or (there is None and not beyond):
            return None
        if there is not None and there.branch == found[0]:
            if there.at_m == here.at_m:
                return None
            return here.nodes[0 if there.at_m < here.at_m else 1][0]
        targets = [there] if there is not None else list(self._span(beyond[0]))
        keys = frozenset(branch.key for branch in named)
        nearest: dict[str, float] = {}
        for node, away_m in here.nodes:
            reached = [self._between(_On(((node, 0.0),)), target, keys) for target in targets]
            nearest[node] = min((away_m + each for each in reached if each is not None), default=inf)
        least_m = min(nearest.values())
        nodes = [node for node, way_m in nearest.items() if way_m == least_m]
        return nodes[0] if least_m < inf and len(nodes) == 1 else None

    def _on(self, item_key: str, named: Sequence[Branch]) -> _On | None:
        own = {fold(point) for branch in named for point in (branch.from_point, branch.to_point) if point is not None}
        ends = [name for name in self.routes.names(item_key) if name in self._points]
        node = next((name for name in ends if name in own), ends[0] if ends else None)
        if node is not None:
            return _On(((node, 0.0),))
        found = self.on_branch(item_key)
        if found is not None:
            return self._at(found[0], found[1], 0.0)
        foot = self.routes.off_branches(item_key, named)
        if foot is None:
            return None
        branch_key, share, off_m = foot
        return self._at(branch_key, share * (self._length_m[branch_key] or 0.0), off_m)

    def _at(self, branch_key: str, at_m: float, off_m: float) -> _On | None:
        branch, whole_m = self.harness.branches[branch_key], self._length_m[branch_key]
        if whole_m is None or branch.from_point is None or branch.to_point is None:
            return None
        nodes = ((fold(branch.from_point), at_m), (fold(branch.to_point), whole_m - at_m))
        return _On(nodes, branch_key, at_m, off_m)

    # ------------------------------------------------------------------ ways
    def _between(self, one: _On, other: _On, keys: frozenset[str]) -> float | None:
        """Shortest way between two places, through the named branches alone where that is possible."""
        off_m = one.off_m + other.off_m
        if one.branch is not None and one.branch == other.branch:
            return abs(one.at_m - other.at_m) + off_m
        for through in (keys, None):
            best = inf
            for node, away_m in one.nodes:
                reached = self._from(node, through)
                for target, further_m in other.nodes:
                    best = min(best, away_m + reached.get(target, inf) + further_m)
            if best < inf:
                return best + off_m
        return None

    def _from(self, node: str, through: frozenset[str] | None) -> Mapping[str, float]:
        """Lengths of the ways from one branch end to the others, through some branches or all of them."""
        asked = node, through
        found = self._costs.get(asked)
        if found is None:
            found = self._costs[asked] = {}
            front = [(0.0, node)]
            while front:
                cost_m, here = heapq.heappop(front)
                if here in found:
                    continue
                found[here] = cost_m
                for near, branch, length_m in self._near.get(here, ()):
                    if near not in found and (through is None or not branch or branch in through):
                        heapq.heappush(front, (cost_m + length_m, near))
        return found
