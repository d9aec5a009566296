"""Voltage drop of every load, feed and return, from a network of resistances solved as a whole.

Every load draws its steady current at once. Feed and return are solved together: the battery's two
terminals are held at zero, each load takes its current out of its feed and brings it into its return, so
that a shared wire carries the sum of what flows through it and a loop shares by resistance. Wires are
copper at the given conductor temperature; contacts, studs, fuses and relay contacts have given values.

A wire without size or length counts as nothing in the network: drops that run through it are lower bounds
and are marked so.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache, cached_property
from typing import Any

from harnessdrc.datafiles import rulesets_folder
from harnessdrc.design.devices import DRIVER_ROLES, Device, Devices
from harnessdrc.design.feeds import Feeds
from harnessdrc.design.grounds import Grounds
from harnessdrc.harness.connectivity import Connectivity
from harnessdrc.harness.elements import COMMON_KINDS, Contact, Harness, Wire, rigid_body
from harnessdrc.physics.conductor import awg_area_mm2, awg_conductor, metric_conductor
from harnessdrc.physics.network import Unsolvable, solve
from harnessdrc.tables.model import Assumption
from harnessdrc.units import Size

__all__ = ["Drops", "Load", "LoadDrop", "WireDrop", "wire_ohm"]

_FEED_ROLES = frozenset({"load feed", "switched feed", "battery feed", "fused feed", "ignition switch"})
_NOT_LOADS = frozenset(
    {"battery", "alternator", "starter", "switch", "relay", "fuse", "capacitor", "diode", "resistor",
     "terminator", "spark plug", "power distribution"}
)  # fmt: skip

_Node = tuple[str, ...]
_Volts = dict[_Node, float]
_Amps = dict[str, tuple[float, float]]
_Toward = dict[_Node, tuple[_Node, Wire | None]]


@dataclass(frozen=True, slots=True)
class Load:
    """A device that draws current: where it is fed, where it returns, and how much.

    `current_a` is None when neither the list nor the kind gives one.
    """

    device: Device
    feeds: tuple[Contact, ...]
    returns: tuple[Contact, ...]
    body: str | None
    current_a: float | None
    driven: bool


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


def wire_ohm(size: Size | None, length_m: float | None, t_degc: float) -> float | None:
    """Resistance of a wire in Ω, by ISO 6722 (metric) or ASTM B258 (AWG); None without its data."""
    if size is None or length_m is None:
        return None
    if size.awg is not None:
        return awg_conductor(size.awg).ohm_per_m(t_degc) * length_m
    if size.csa_mm2 is not None:
        return metric_conductor(size.csa_mm2).ohm_per_m(t_degc) * length_m
    return None


def conductor_mm2(size: Size | None) -> float:
    """Area of a conductor for comparing sizes, mm²; 0 when it is not given."""
    if size is None:
        return 0.0
    return awg_area_mm2(size.awg) if size.awg is not None else size.csa_mm2 or 0.0


@cache
def usual_figures() -> Mapping[str, Mapping[str, Any]]:
    """Usual figures per kind of component, from ``components.toml``."""
    with (rulesets_folder() / "components.toml").open("rb") as file:
        return tomllib.load(file)


@dataclass
class Drops:
    """Loads of a design, and the network solved with all of them on."""

    harness: Harness
    net: Connectivity
    devices: Devices
    feeds: Feeds
    grounds: Grounds
    given: Mapping[str, float]
    assumptions: list[Assumption] = field(default_factory=list)

    # ------------------------------------------------------------------ loads
    @cached_property
    def loads(self) -> tuple[Load, ...]:
        """Every device that draws current from the battery, in the order of the list."""
        roles = self.devices.roles.of
        loads = []
        for device in self.devices.all:
            if device.kind in _NOT_LOADS or device.kind is None:
                continue
            feeds = tuple(c for c in device.contacts if roles.get(c) in _FEED_ROLES)
            if device.kind.endswith(" sensor") and not any(roles.get(c) == "load feed" for c in feeds):
                continue
            if not feeds:
                continue
            grounds = tuple(
                c for c in device.contacts
                if roles.get(c) in ("power ground", "coil ground", "load return", "battery negative")
            )  # fmt: skip
            driven = tuple(c for c in device.contacts if roles.get(c) in DRIVER_ROLES)
            body = device.body if device.item.case_earthed else None
            if device.kind == "controller":
                driven = ()
            returns = grounds or driven
            loads.append(Load(device, feeds, returns, body, self._current(device, feeds), bool(driven and not grounds)))
        return tuple(loads)

    def _current(self, device: Device, feeds: tuple[Contact, ...]) -> float | None:
        if device.item.current_a is not None:
            return device.item.current_a
        listed = [
            wire.current_a for contact in feeds for wire in self.net.wires_at[contact] if wire.current_a is not None
        ]
        if listed:
            return max(listed)
        figures = usual_figures().get(device.kind or "")
        if not figures:
            return None
        current = float(figures["current_a"])
        mark = self.devices.mark_device(device)
        self.assumptions.append(
            Assumption(
                "current",
                device.name,
                f"{current:g} A",
                f"usual for a {device.kind}: {figures['source']}",
                mark[0].place if mark else None,
            )
        )
        return current

    @cached_property
    def unreturned(self) -> dict[str, Device]:
        """Loads with a feed and nothing that could be their return, by key."""
        return {load.device.key: load.device for load in self.loads if not load.returns and load.body is None}

    # ------------------------------------------------------------------ network
    def _mohm(self, name: str) -> float:
        return self.given[name] / 1000.0

    def _fuse_ohm(self, item: str) -> float:
        rating_a = self.harness.items[item].rating_a
        return self._mohm("fuse_drop_mv") / rating_a if rating_a else self._mohm("fuse_mohm")

    @cached_property
    def _edges(self) -> list[tuple[_Node, _Node, float, Wire | None]]:
        """Edges of the network: copper, elements, joints to bodies, straps, insides of devices."""
        t_degc = self.given["conductor_degc"]
        contact_ohm, stud_ohm = self._mohm("contact_mohm"), self._mohm("stud_mohm")
        edges: list[tuple[_Node, _Node, float, Wire | None]] = []
        for wire in self.harness.wires:
            if wire.a is None or wire.b is None or wire.cores != 1:
                continue
            ohm = wire_ohm(wire.size, wire.length_m, t_degc) or 0.0
            bolted = conductor_mm2(wire.size) >= self.given["bolted_from_mm2"]
            for end in (wire.a, wire.b):
                kind = self.harness.items[end.item].kind
                if kind == "earth point" or bolted:
                    ohm += stud_ohm
                elif kind not in COMMON_KINDS:
                    ohm += contact_ohm
            edges.append((wire.a, wire.b, ohm, wire))
        for a, b, key in self.net.graph.edges(keys=True):
            if key[0] == "mate":
                edges.append((a, b, contact_ohm, None))
        for element in self.net.elements:
            if element.kind in ("diode", "resistor"):
                continue
            ohm = self._fuse_ohm(element.item) if element.kind == "fuse" else self._mohm("relay_mohm")
            edges.append((element.a, element.b, ohm, None))
        for earth in self.net.earths:
            body = self.devices.body(earth)
            if body:
                edges.append((earth, ("body", body), 0.0, None))
        bodies = {node[1] for edge in edges for node in edge[:2] if node[0] == "body"}
        bodies |= {d.body for d in self.devices.all if d.body and d.item.case_earthed}
        rigid = {b for b in bodies if rigid_body(b) == "engine"} | {"engine"}
        for body in sorted(rigid - {"engine"}):
            edges.append((("body", body), ("body", "engine"), self._mohm("head_block_mohm"), None))
        for strap in self.grounds.listed_straps():
            strap_ohm = strap.resistance_ohm
            if strap_ohm is None:
                strap_ohm = wire_ohm(strap.size, strap.length_m, t_degc)
            if strap_ohm is None:
                at_engine = "engine" in map(rigid_body, (strap.a, strap.b))
                strap_ohm = self._mohm("strap_engine_mohm" if at_engine else "strap_chassis_mohm")
            edges.append((("body", strap.a), ("body", strap.b), strap_ohm, None))
            for body in (strap.a, strap.b):
                if rigid_body(body) == "engine" and body != "engine" and body not in rigid:
                    edges.append((("body", body), ("body", "engine"), self._mohm("head_block_mohm"), None))
                    rigid.add(body)
        for body in self.grounds.given_straps:
            name = "strap_engine_mohm" if body == "engine" else "strap_chassis_mohm"
            edges.append((("body", body), ("body", "battery negative"), self._mohm(name), None))
        inner = self._mohm("device_inner_mohm")
        roles = self.devices.roles.of
        for device in self.devices.of_kind("controller"):
            for contact in device.contacts:
                if roles.get(contact) in DRIVER_ROLES or roles.get(contact) == "power ground":
                    edges.append((contact, ("ground of", device.key), inner, None))
                elif roles.get(contact) == "high-side output" or roles.get(contact) in _FEED_ROLES:
                    edges.append((contact, ("feed of", device.key), inner, None))
        for load in self.loads:
            if load.device.kind == "controller":
                continue
            edges += [(c, ("feed of", load.device.key), inner, None) for c in load.feeds]
            edges += [(c, ("ground of", load.device.key), inner, None) for c in load.returns]
            if load.body:
                edges.append((("ground of", load.device.key), ("body", load.body), inner, None))
        return edges

    @cached_property
    def _references(self) -> list[_Node]:
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
        beside: dict[_Node, list[tuple[_Node, int]]] = {}
        for number, (a, b, _, _) in enumerate(self._edges):
            beside.setdefault(a, []).append((b, number))
            beside.setdefault(b, []).append((a, number))
        toward: dict[_Node, tuple[_Node, Wire | None]] = {}
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
                        toward[near] = (node, self._edges[number][3])
                        following.append(near)
            front = following
        injections: dict[_Node, float] = {}
        for load in self.loads:
            if load.current_a is None:
                continue
            feed, back = ("feed of", load.device.key), ("ground of", load.device.key)
            if feed in seen and back in seen:
                injections[feed] = injections.get(feed, 0.0) - load.current_a
                injections[back] = injections.get(back, 0.0) + load.current_a
        keep = self._carrying(injections, live)
        nodes: dict[_Node, int] = {}
        branches = []
        for number in keep:
            a, b, ohm, _ = self._edges[number]
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
            a, b, _, wire = self._edges[number]
            if wire is not None and current is not None:
                amps[wire.name] = (float(current), volts[a] - volts[b])
        return volts, amps, toward

    def _carrying(self, injections: Mapping[_Node, float], live: set[int]) -> list[int]:
        """Edges left when dead ends are taken away: nothing flows in a branch that leads nowhere."""
        degree: dict[_Node, int] = {}
        at: dict[_Node, list[int]] = {}
        for number in live:
            for node in self._edges[number][:2]:
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
                    a, b = self._edges[number][:2]
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

    def _way(self, node: _Node) -> list[Wire]:
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
        for load in self.loads:
            if load.current_a is None:
                for side in ("feed of", "ground of"):
                    for wire in self._way((side, load.device.key)):
                        found.setdefault(wire.name, []).append(load.device.name)
        return found

    def _side(self, load: Load, node: _Node) -> LoadDrop | None:
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
