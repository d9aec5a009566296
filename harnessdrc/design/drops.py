"""Voltage drop of every load, feed and return, from a network of resistances solved as a whole.

Every load draws its steady current at once. Feed and return are solved together: the battery's two
terminals are held at zero, each load takes its current out of its feed and brings it into its return, so
that a shared wire carries the sum of what flows through it and a loop shares by resistance. Wires are
copper at the given conductor temperature; contacts, studs, fuses and relay contacts have given values.

A wire without size or length counts as nothing in the network: drops that run through it are lower bounds
and are marked so.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from harnessdrc.design.devices import Devices
from harnessdrc.design.feeds import Feeds
from harnessdrc.design.loads import Load, Loads
from harnessdrc.design.resistances import Branch, Node, Resistances
from harnessdrc.harness.elements import Harness, Wire
from harnessdrc.physics.network import Unsolvable, solve

__all__ = ["Drops", "LoadDrop", "WireDrop"]

_Volts = dict[Node, float]
_Amps = dict[str, tuple[float, float]]
_Toward = dict[Node, tuple[Node, Wire | None]]


@dataclass(frozen=True, slots=True)
class WireDrop:
    """Current and drop of one wire with all loads on."""

    wire: Wire
    current_a: float
    drop_v: float


@dataclass(frozen=True, slots=True)
class LoadDrop:
    """Drop of one side of a load.

    Parameters
    ----------
    load : Load
        The load.
    drop_v : float
        Between the battery's terminal and the load's contacts, V; a lower bound if `lacking`.
    wires : tuple of WireDrop
        Wires on the way, the one with the greatest drop first.
    lacking : tuple of str
        Data that would complete it.
    lacking_wires : tuple of Wire
        Wires of the way without size or length.
    """

    load: Load
    drop_v: float
    wires: tuple[WireDrop, ...]
    lacking: tuple[str, ...] = ()
    lacking_wires: tuple[Wire, ...] = ()


@dataclass
class Drops:
    """The network of a design solved with all loads on."""

    harness: Harness
    devices: Devices
    feeds: Feeds
    loads: Loads
    resistances: Resistances

    @cached_property
    def _branches(self) -> list[Branch]:
        return self.resistances.branches()

    @cached_property
    def _references(self) -> list[Node]:
        negative = [
            c
            for b in self.devices.of_kind("battery")
            for c in b.contacts
            if self.devices.roles.of.get(c) == "battery negative"
        ]
        return [*self.feeds.sources, *negative, ("body", "battery negative")]

    @cached_property
    def _solved(self) -> tuple[_Volts, _Amps, _Toward]:
        """Volts of nodes, ``(A, V)`` of wires by name, and for each node the next one toward the battery."""
        beside: dict[Node, list[tuple[Node, int]]] = {}
        for number, (a, b, _, _) in enumerate(self._branches):
            beside.setdefault(a, []).append((b, number))
            beside.setdefault(b, []).append((a, number))
        toward: dict[Node, tuple[Node, Wire | None]] = {}
        front = list(dict.fromkeys(self._references))
        seen = set(front)
        live: set[int] = set()
        while front:
            following = []
            for node in front:
                for near, number in beside.get(node, ()):
                    live.add(number)
                    if near not in seen:
                        seen.add(near)
                        toward[near] = (node, self._branches[number][3])
                        following.append(near)
            front = following
        injections: dict[Node, float] = {}
        for load in self.loads.all:
            if load.current_a is None:
                continue
            feed, back = ("feed of", load.device.key), ("ground of", load.device.key)
            if feed in seen and back in seen:
                injections[feed] = injections.get(feed, 0.0) - load.current_a
                injections[back] = injections.get(back, 0.0) + load.current_a
        keep = self._carrying(injections, live)
        nodes: dict[Node, int] = {}
        branches = []
        for number in keep:
            a, b, ohm, _ = self._branches[number]
            branches.append((nodes.setdefault(a, len(nodes)), nodes.setdefault(b, len(nodes)), ohm))
        references = [nodes[n] for n in dict.fromkeys(self._references) if n in nodes]
        if not branches or not references:
            return {}, {}, toward
        solution = solve(
            [" ".join(n) for n in nodes], branches,
            {nodes[n]: amps for n, amps in injections.items() if n in nodes}, references,
        )  # fmt: skip
        if isinstance(solution, Unsolvable):
            raise ArithmeticError("; ".join(solution.reasons))
        volts = {node: float(solution.volts[index]) for node, index in nodes.items()}
        amps = {}
        for number, current in zip(keep, solution.branch_amps, strict=True):
            a, b, _, wire = self._branches[number]
            if wire is not None and current is not None:
                amps[wire.name] = (float(current), volts[a] - volts[b])
        return volts, amps, toward

    def _carrying(self, injections: Mapping[Node, float], live: set[int]) -> list[int]:
        """Edges left when dead ends are taken away: nothing flows in a branch that leads nowhere."""
        degree: dict[Node, int] = {}
        at: dict[Node, list[int]] = {}
        for number in live:
            for node in self._branches[number][:2]:
                degree[node] = degree.get(node, 0) + 1
                at.setdefault(node, []).append(number)
        held = set(self._references) | {n for n, amps in injections.items() if amps}
        alive = set(live)
        ends = [node for node, count in degree.items() if count == 1 and node not in held]
        while ends:
            node = ends.pop()
            for number in at[node]:
                if number in alive:
                    alive.discard(number)
                    a, b = self._branches[number][:2]
                    other = b if a == node else a
                    degree[other] -= 1
                    if degree[other] == 1 and other not in held:
                        ends.append(other)
        return sorted(alive)

    @cached_property
    def wires(self) -> tuple[WireDrop, ...]:
        """Current and drop of every wire that carries current, in the order of the list."""
        _, amps, _ = self._solved
        return tuple(
            WireDrop(wire, abs(amps[wire.name][0]), abs(amps[wire.name][1]))
            for wire in self.harness.wires
            if wire.name in amps
        )

    def _way(self, node: Node) -> list[Wire]:
        """Wires from a node to the battery, by the fewest steps."""
        toward = self._solved[2]
        wires = []
        while node in toward:
            node, wire = toward[node]
            if wire is not None:
                wires.append(wire)
        return wires

    @cached_property
    def _unknown_currents(self) -> dict[str, list[str]]:
        """Wire → names of the loads on it whose current is not known."""
        found: dict[str, list[str]] = {}
        for load in self.loads.all:
            if load.current_a is None:
                for side in ("feed of", "ground of"):
                    for wire in self._way((side, load.device.key)):
                        found.setdefault(wire.name, []).append(load.device.name)
        return found

    def _side(self, load: Load, node: Node) -> LoadDrop | None:
        volts, amps, toward = self._solved
        if node not in toward:
            return None
        wires = self._way(node)
        way = [WireDrop(w, *map(abs, amps.get(w.name, (0.0, 0.0)))) for w in wires]
        lacking = [w for w in wires if w.size is None or w.length_m is None]
        missing = [
            f"{what} of wire {wire.name}"
            for wire in lacking
            for what, value in (("size", wire.size), ("length", wire.length_m))
            if value is None
        ]
        unknown = {name for w in wires for name in self._unknown_currents.get(w.name, ())}
        missing += [f"current of {name}" for name in sorted(unknown)]
        return LoadDrop(
            load, abs(volts.get(node, 0.0)), tuple(sorted(way, key=lambda w: -w.drop_v)),
            tuple(missing), tuple(lacking),
        )  # fmt: skip

    def way_to_source(self, load: Load) -> list[Wire]:
        """Wires from a load's feed to the battery's positive terminal; empty when there is no way."""
        return self._way(("feed of", load.device.key))

    def way_home(self, load: Load) -> list[Wire]:
        """Wires from a load's return to the battery's negative terminal, straps between bodies left out."""
        return self._way(("ground of", load.device.key))

    def feed(self, load: Load) -> LoadDrop | None:
        """Drop from the battery's positive terminal to a load; None when it is not reached."""
        return self._side(load, ("feed of", load.device.key))

    def back(self, load: Load) -> LoadDrop | None:
        """Drop from a load's return to the battery's negative terminal; None when it is not reached."""
        return self._side(load, ("ground of", load.device.key))
