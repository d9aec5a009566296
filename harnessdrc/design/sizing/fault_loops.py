"""Loops of short circuits to metal, as arrays: the battery, the feed to the far end of each wire, the way home.

The feed is the way of least resistance from the battery's EMF to the end of the wire that is farther off, the way home
that from the body with the most resistance to the negative post: which body a wire chafes through on is not known.
Wires count at the given temperature of conductors, joints as new, and copper does not heat up meanwhile. What is
lacking is carried as a range.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design.circuit import BATTERY_NEGATIVE, Node, Part
from harnessdrc.design.conductors import copper_ohm
from harnessdrc.design.sizing.loads import rows_of_parts

if TYPE_CHECKING:
    from harnessdrc.design import Design

__all__ = ["FaultLoops", "Ohms"]

Floats = NDArray[np.float64]
Numbers = NDArray[np.intp]

_COPPER = frozenset({"wire", "mate", "fuse", "relay", "switch"})
_HOME = frozenset({"strap", "bodies", "earth", "wire"})
_USUAL = 0


class Ohms(NamedTuple):
    """Resistance of a way, Ω: as far as known, at the least and at the most, with the data that is lacking."""

    usual: float
    low: float
    high: float
    lacking: tuple[str, ...] = ()


class _Ways(NamedTuple):
    """Ways of least resistance from some nodes: resistance of each node's, Ω, and the part and node before it."""

    ohm: Floats
    part: Numbers
    before: Numbers

    def lacking(self, node: int, parts: tuple[Part, ...]) -> tuple[str, ...]:
        """What the way to a node lacks, from its start on."""
        found: list[tuple[str, ...]] = []
        while self.part[node] >= 0:
            found.append(parts[self.part[node]].lacking)
            node = int(self.before[node])
        return tuple(what for each in reversed(found) for what in each)


class FaultLoops:
    """Loops of faults at the far end of every wire of a design.

    Parameters
    ----------
    design : Design
        The design.
    """

    def __init__(self, design: Design) -> None:
        self.design = design

    @cached_property
    def _feeds(self) -> _Ways:
        """Ways from the battery's EMF to every node of live copper."""
        circuit, net = self.design.circuit, self.design.net
        number, parts, ends = circuit.node_number, circuit.parts, circuit.ends
        batteries = np.flatnonzero(circuit.emf).tolist()
        live = np.zeros(len(circuit.nodes), dtype=np.bool_)
        for level in self.design.feeds.level:
            for contact in net.nets[level].contacts:
                at = number.get(contact)
                if at is not None:
                    live[at] = True
        starts = {int(ends[n, 1]): _ohms(parts[n]) for n in batteries}
        live[list(starts)] = True
        inner = [
            n for n in np.flatnonzero(live[ends].all(axis=1)).tolist()
            if parts[n].kind in _COPPER or (parts[n].kind == "inside" and parts[n].b[0] == "post +")
        ]  # fmt: skip
        return _least_ways(len(live), ends, parts, inner, starts)

    @cached_property
    def _homes(self) -> tuple[_Ways, int] | None:
        """Ways from the negative post to all bodies and earth points, and the body that is farthest off."""
        circuit, earths = self.design.circuit, self.design.net.earths
        number, parts, ends, nodes = circuit.node_number, circuit.parts, circuit.ends, circuit.nodes
        bodies = [n for n, node in enumerate(nodes) if len(node) == 3 and node[0] == "body"]
        metal = np.zeros(len(nodes), dtype=np.bool_)
        metal[[*bodies, *(number[earth] for earth in earths if earth in number)]] = True
        inner = [n for n in np.flatnonzero(metal[ends].all(axis=1)).tolist() if parts[n].kind in _HOME]
        ways = _least_ways(len(nodes), ends, parts, inner, {number[BATTERY_NEGATIVE]: (0.0, 0.0, 0.0)})
        reached = [n for n in bodies if np.isfinite(ways.ohm[n, _USUAL])]
        if len(reached) < 2:
            return None

        def far(node: int) -> tuple[float, Node]:
            return float(ways.ohm[node, _USUAL]), nodes[node]

        return ways, max(reached, key=far)

    @cached_property
    def home(self) -> Ohms:
        """Way home from the body with the most resistance to the battery's negative post."""
        found = self._homes
        if found is not None:
            ways, body = found
            usual, low, high = ways.ohm[body].tolist()
            return Ohms(usual, low, high, ways.lacking(body, self.design.circuit.parts))
        given = self.design.given
        ohm = given["strap_chassis_mohm"] / 1000
        low, high = ohm * given["strap_low_share"], ohm * given["strap_high_share"]
        return Ohms(ohm, low, high, ("strap from the chassis to battery negative",))

    @cached_property
    def _far_nodes(self) -> Numbers:
        """Node at the far end of each wire of the list; -1 where the battery's feed does not reach it."""
        circuit, wires = self.design.circuit, self.design.harness.wires
        ohm = self._feeds.ohm
        far = np.full(len(wires), -1, dtype=np.intp)
        rows, ends = rows_of_parts(self.design), circuit.ends[circuit.wire_parts]
        feeds = np.where(np.isinf(ohm), -np.inf, ohm)
        one, other = feeds[ends[:, 0]], feeds[ends[:, 1]]
        farther = np.where(_greater(one, other), ends[:, 0], ends[:, 1])
        far[rows] = np.where(np.isfinite(feeds[farther, _USUAL]), farther, -1)
        # of a wire with one end, that one counts
        number = circuit.node_number
        for row, wire in enumerate(wires):
            if (wire.a is None) != (wire.b is None):
                node = number.get(wire.a or wire.b)  # type: ignore[arg-type]
                if node is not None and np.isfinite(ohm[node, _USUAL]):
                    far[row] = node
        return far

    @cached_property
    def ohm(self) -> Floats:
        """Loop of each wire of the list, Ω, shape (wires, 3): usual, least, most; NaN where no feed reaches it."""
        home = self.home
        found = np.full((len(self._far_nodes), 3), np.nan)
        reached = np.flatnonzero(self._far_nodes >= 0)
        found[reached] = self._feeds.ohm[self._far_nodes[reached]] + (home.usual, home.low, home.high)
        for row, copper in self._open.items():
            found[row] += copper
        return found

    @cached_property
    def _open(self) -> dict[int, tuple[float, float, float]]:
        """Copper of each wire that the feed reaches at its only end, Ω as in `ohm`: the fault is at the open one."""
        wires, far, given = self.design.harness.wires, self._far_nodes, self.design.given
        return {
            row: copper_ohm(wire.size, wire.length_m, given)
            for row, wire in enumerate(wires)
            if (wire.a is None) != (wire.b is None) and far[row] >= 0 and wire.cores == 1
        }

    @cached_property
    def on_way(self) -> NDArray[np.bool_]:
        """Whether the way to the far end of each wire of the list leads through the wire itself."""
        rows = rows_of_parts(self.design)
        far = self._far_nodes[rows]
        found = np.zeros(len(self._far_nodes), dtype=np.bool_)
        found[rows] = (far >= 0) & (self._feeds.part[far] == self.design.circuit.wire_parts)
        found[list(self._open)] = True
        return found

    @cached_property
    def own_ohm(self) -> Floats:
        """Copper of each wire of the list, Ω; NaN where that is not known for certain or no feed reaches the wire."""
        circuit = self.design.circuit
        found = np.full(len(self._far_nodes), np.nan)
        rows = rows_of_parts(self.design)
        live = np.flatnonzero(self._far_nodes[rows] >= 0)
        for row, number in zip(rows[live].tolist(), circuit.wire_parts[live].tolist(), strict=True):
            part = circuit.parts[number]
            if not part.uncertain:
                found[row] = part.ohm
        for row, (usual, low, high) in self._open.items():
            if low == high:
                found[row] = usual
        return found

    def of(self, number: int) -> Ohms:
        """Loop of one wire by its number."""
        usual, low, high = self.ohm[number].tolist()
        return Ohms(usual, low, high, self.lacking(number))

    def lacking(self, number: int) -> tuple[str, ...]:
        """What the loop of a wire lacks, each once; nothing for a wire that no feed reaches."""
        node = int(self._far_nodes[number])
        if node < 0:
            return ()
        feed = self._feeds.lacking(node, self.design.circuit.parts)
        own: tuple[str, ...] = ()
        if number in self._open:
            wire = self.design.harness.wires[number]
            own = (f"size of wire {wire.name}",) if wire.size is None else ()
            own += (f"length of wire {wire.name}",) if wire.length_m is None else ()
        return tuple(dict.fromkeys((*feed, *own, *self.home.lacking)))


def _ohms(part: Part) -> tuple[float, float, float]:
    joint = part.joint_ohm
    return part.ohm + joint, part.low_ohm + joint, part.high_ohm + joint


def _greater(one: Floats, other: Floats) -> NDArray[np.bool_]:
    """Whether the first of two rows of usual, least and most is the greater one, in this order."""
    different = one != other
    column = np.argmax(different, axis=1)
    every = np.arange(len(one))
    return np.asarray(one[every, column] > other[every, column])


def _least_ways(
    count: int, ends: Numbers, parts: tuple[Part, ...], inner: list[int], starts: dict[int, tuple[float, float, float]]
) -> _Ways:
    """Ways of least resistance from the starts over some of the parts.

    All nodes that came nearer in one round pass it on in the next one. Of ways with the same resistance the one of
    fewer parts counts, then that over the first part by name, so that the order of the rows does not.
    """
    ways = _Ways(np.full((count, 3), np.inf), np.full(count, -1, dtype=np.intp), np.full(count, -1, dtype=np.intp))
    for node, start in starts.items():
        ways.ohm[node] = start
    if not inner:
        return ways
    ohm = np.array([_ohms(parts[n]) for n in inner], dtype=np.float64)
    rank = np.zeros(len(inner), dtype=np.intp)
    if not np.array_equal(ohm[:, 1], ohm[:, 2]):
        rank[sorted(range(len(inner)), key=lambda at: parts[inner[at]].name)] = np.arange(len(inner))
    number = np.array(inner, dtype=np.intp)
    nodes, own = np.unique(ends[number], return_inverse=True)
    own = own.reshape(-1, 2)
    of = np.concatenate((own[:, 0], own[:, 1]))
    order = np.argsort(of, kind="stable")
    beside = np.concatenate((own[:, 1], own[:, 0]))[order]
    through = np.tile(np.arange(len(inner)), 2)[order]
    first = np.searchsorted(of[order], np.arange(len(nodes) + 1))
    best = ways.ohm[nodes]
    front = np.flatnonzero(np.isfinite(best[:, _USUAL]))
    while front.size:
        steps = first[front + 1] - first[front]
        at = np.repeat(first[front] - np.cumsum(steps) + steps, steps) + np.arange(int(steps.sum()))
        here, to, by = np.repeat(front, steps), beside[at], through[at]
        there = best[here] + ohm[by]
        nearer = np.flatnonzero(there[:, _USUAL] < best[to, _USUAL])
        here, to, by, there = here[nearer], to[nearer], by[nearer], there[nearer]
        chosen = np.lexsort((rank[by], there[:, 2], there[:, 1], there[:, 0], to))
        chosen = chosen[np.flatnonzero(np.diff(to[chosen], prepend=-1))]
        front = to[chosen]
        best[front] = there[chosen]
        ways.part[nodes[front]] = number[by[chosen]]
        ways.before[nodes[front]] = nodes[here[chosen]]
    ways.ohm[nodes] = best
    return ways
