"""Where grounds go: the earth points of each device, the star point, the way of a loop."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise, takewhile

import networkx as nx

from harnessdrc.design.devices import Devices
from harnessdrc.harness.connectivity import Connectivity, Net
from harnessdrc.harness.elements import Contact, Harness, Strap, Wire, rigid_body

__all__ = ["Grounds", "Reached"]


@dataclass(frozen=True, slots=True)
class Reached:
    """An earth point that a contact reaches through copper, and the wire that gets there."""

    start: Contact
    earth: Contact
    wire: Wire


@dataclass
class Grounds:
    """Ground paths of a design."""

    harness: Harness
    net: Connectivity
    devices: Devices

    def reached(self, contacts: list[Contact]) -> list[Reached]:
        """Earth points that any of these contacts reach, each once."""
        found: dict[Contact, Reached] = {}
        for contact in contacts:
            net = self.net.net(contact)
            for earth, wire in net.earths if net else ():
                found.setdefault(earth, Reached(contact, earth, wire))
        return sorted(found.values(), key=lambda r: r.earth)

    def over_fuses(self, net: Net) -> list[Net]:
        """A net with those that fuses join to it, however many lie one behind the other: a fuse conducts.

        Parameters
        ----------
        net : Net
            A net of a ground, which no battery feeds.
        """
        found, front = {net.number: net}, [net.number]
        while front:
            for other in self._beside_fuses.get(front.pop(), ()):
                if other not in found:
                    found[other] = self.net.nets[other]
                    front.append(other)
        return [found[number] for number in sorted(found)]

    @cached_property
    def wired_fuses(self) -> frozenset[str]:
        """Keys of fuses with a wire on both sides."""
        return frozenset(element.item for element in self.net.elements if element.kind == "fuse")

    @cached_property
    def _beside_fuses(self) -> dict[int, list[int]]:
        """Net → nets on the other side of its fuses."""
        net_of = self.net.net_of
        found: dict[int, list[int]] = {}
        for element in self.net.elements:
            one, other = net_of.get(element.a), net_of.get(element.b)
            if element.kind == "fuse" and one is not None and other is not None:
                found.setdefault(one, []).append(other)
                found.setdefault(other, []).append(one)
        return found

    @cached_property
    def star(self) -> list[Reached]:
        """Earth points of the controller's power grounds: the star point, when it is one."""
        controller = self.devices.controller
        return self.reached(self.devices.with_role(controller, "power ground")) if controller else []

    @cached_property
    def home(self) -> list[Reached]:
        """The star point, one on the engine first: where a misplaced ground belongs."""
        return sorted(self.star, key=lambda r: (self.devices.rigid(r.earth) != "engine", r.earth))

    @cached_property
    def bodies(self) -> nx.Graph:
        """Bodies and the straps between them; the given straps stand in where the list has none."""
        graph = nx.Graph()
        straps = list(self.harness.straps)
        for strap in straps:
            if strap.a and strap.b:
                graph.add_edge(rigid_body(strap.a), rigid_body(strap.b), name=f"strap {strap.name}")
        for wire in self.net.straps:
            a, b = (self.devices.rigid(c) for c in (wire.a, wire.b) if c is not None)
            if a and b and a != b:
                graph.add_edge(a, b, name=f"strap {wire.name}")
        for body in self.given_straps:
            graph.add_edge(body, "battery negative", name=f"strap {body} to battery negative (given)")
        return graph

    @cached_property
    def given_straps(self) -> list[str]:
        """Bodies whose strap to the battery the list leaves out, so that the given one stands in."""
        listed: set[str | None] = set()
        for strap in self.harness.straps:
            listed |= {rigid_body(strap.a), rigid_body(strap.b)}
        for wire in self.net.straps:
            listed |= {self.devices.rigid(c) for c in (wire.a, wire.b) if c is not None}
        used = {self.devices.rigid(earth) for earth in self.net.earths}
        used |= {rigid_body(d.body) for d in self.devices.all if self.devices.on_case(d)}
        return [b for b in ("engine", "chassis", "hull") if b in used and b not in listed]

    def listed_straps(self) -> list[Strap]:
        """Straps of the list with both bodies known."""
        return [s for s in self.harness.straps if s.a and s.b]

    def way(self, start: Contact, end: Contact) -> str:
        """Copper path from one contact to another, spelled out."""
        return " – ".join(self._steps(start, end))

    def _steps(self, start: Contact, end: Contact) -> list[str]:
        path = self.net.path(start, end)
        if not path:
            return [self.harness.label(start), self.harness.label(end)]
        steps = [self.harness.label(path[0])]
        for one, other in pairwise(path):
            wires = self.net.wires_along([one, other])
            steps += [f"wire {wires[0].name}" if wires else "mated to", self.harness.label(other)]
        return steps

    def _strap_steps(self, a: str, b: str) -> list[str]:
        """Straps and bodies between two bodies, the two themselves left out."""
        if a == b:
            return []
        if a in self.bodies and b in self.bodies and nx.has_path(self.bodies, a, b):
            path = nx.shortest_path(self.bodies, a, b)
            steps: list[str] = []
            for one, other in pairwise(path):
                steps += [self.bodies[one][other]["name"], other]
            return steps[:-1]
        return ["(no strap known)"]

    @cached_property
    def _straps_with_lengths(self) -> nx.Graph:
        """Bodies and the straps between them with their lengths."""
        graph = nx.Graph()
        for strap in self.listed_straps():
            a, b = rigid_body(strap.a), rigid_body(strap.b)
            graph.add_edge(a, b, name=f"strap {strap.name}", length_m=strap.length_m)
        for wire in self.net.straps:
            ends = [self.devices.rigid(end) for end in (wire.a, wire.b) if end is not None]
            if len(set(ends)) == 2 and None not in ends:
                graph.add_edge(*ends, name=f"strap {wire.name}", length_m=wire.length_m)
        for body in self.given_straps:
            graph.add_edge(body, "battery negative", name=f"strap {body} to battery negative (given)", length_m=None)
        return graph

    def strap_edges(self, a: str, b: str) -> list[tuple[str, float | None, str]] | None:
        """Straps on the way from one body to another: name, length in m where listed, body reached.

        Returns
        -------
        list of tuple or None
            Empty for one and the same body; None where no straps join the two.
        """
        graph = self._straps_with_lengths
        if a == b:
            return []
        if a not in graph or b not in graph or not nx.has_path(graph, a, b):
            return None
        way = nx.shortest_path(graph, a, b)
        return [(graph[one][other]["name"], graph[one][other]["length_m"], other) for one, other in pairwise(way)]

    def strap_way(self, a: str, b: str) -> str:
        """Way from one body to another through straps, or that none is known."""
        return " – ".join([a, *self._strap_steps(a, b), b])

    def loop(self, first: Reached, second: Reached) -> str:
        """Loop through two earth points of one device, spelled out from pin to pin."""
        a, b = (self.devices.rigid(r.earth) or "body not given" for r in (first, second))
        there, back = self._steps(first.start, first.earth), self._steps(second.start, second.earth)[::-1]
        return " – ".join([*there[:-1], f"{there[-1]} ({a})", *self._strap_steps(a, b), f"{back[0]} ({b})", *back[1:]])

    def junction(self, first: Reached, second: Reached) -> Contact | None:
        """Last contact that both ways have in common; None where they part at the device itself."""
        one, other = self.net.path(first.start, first.earth), self.net.path(second.start, second.earth)
        if not one or not other or one[0] != other[0]:
            return None
        shared = [a for a, _ in takewhile(lambda step: step[0] == step[1], zip(one, other, strict=False))]
        return shared[-1] if len(shared) > 1 else None

    def case_loop(self, reached: Reached, case: str) -> str:
        """Loop through one earth point and the case of the device, spelled out."""
        body = self.devices.rigid(reached.earth) or "body not given"
        there = self._steps(reached.start, reached.earth)
        straps = self._strap_steps(body, case)
        return " – ".join([*there[:-1], f"{there[-1]} ({body})", *straps, f"its case on the {case}"])
