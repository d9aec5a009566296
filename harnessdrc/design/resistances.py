"""The network of resistances that a design makes; each kind of part stamps its own branches."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from harnessdrc.design.conductors import conductor_mm2, wire_ohm
from harnessdrc.design.devices import DRIVER_ROLES, Devices
from harnessdrc.design.grounds import Grounds
from harnessdrc.design.loads import FEED_ROLES, Loads
from harnessdrc.harness.connectivity import Connectivity
from harnessdrc.harness.elements import COMMON_KINDS, Harness, Wire, rigid_body

__all__ = ["Branch", "Node", "Resistances"]

Node = tuple[str, ...]
"""A contact, or ``("body", name)``, ``("feed of", device)``, ``("ground of", device)``."""

Branch = tuple[Node, Node, float, Wire | None]
"""Two nodes, the resistance between them in Ω, and the wire it is, if it is one."""


@dataclass
class Resistances:
    """Branches of a design, from the figures of the list and the given values."""

    harness: Harness
    net: Connectivity
    devices: Devices
    loads: Loads
    grounds: Grounds
    given: Mapping[str, float]

    def branches(self) -> list[Branch]:
        """All branches, in the order of the list within each kind of part."""
        return [*self._copper(), *self._elements(), *self._bodies(), *self._insides()]

    def _ohm(self, name: str) -> float:
        return self.given[name] / 1000.0

    def _copper(self) -> Iterator[Branch]:
        """Wires with the joints at their ends, and mated contacts."""
        t_degc = self.given["conductor_degc"]
        contact_ohm, stud_ohm = self._ohm("contact_mohm"), self._ohm("stud_mohm")
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
            yield wire.a, wire.b, ohm, wire
        for a, b, key in self.net.graph.edges(keys=True):
            if key[0] == "mate":
                yield a, b, contact_ohm, None

    def _elements(self) -> Iterator[Branch]:
        """Fuses, relay contacts and switches, all closed."""
        for element in self.net.elements:
            if element.kind in ("diode", "resistor"):
                continue
            ohm = self._fuse_ohm(element.item) if element.kind == "fuse" else self._ohm("relay_mohm")
            yield element.a, element.b, ohm, None

    def _fuse_ohm(self, item: str) -> float:
        rating_a = self.harness.items[item].rating_a
        return self._ohm("fuse_drop_mv") / rating_a if rating_a else self._ohm("fuse_mohm")

    def _bodies(self) -> Iterator[Branch]:
        """Earth points on their bodies, head and block on the engine, straps."""
        bodies = {d.body for d in self.devices.all if d.body and d.item.case_earthed}
        for earth in sorted(self.net.earths):
            body = self.devices.body(earth)
            if body:
                bodies.add(body)
                yield earth, ("body", body), self.harness.items[earth.item].resistance_ohm or 0.0, None
        for strap in self.grounds.listed_straps():
            bodies |= {strap.a, strap.b}
            ohm = strap.resistance_ohm
            if ohm is None:
                ohm = wire_ohm(strap.size, strap.length_m, self.given["conductor_degc"])
            if ohm is None:
                at_engine = "engine" in map(rigid_body, (strap.a, strap.b))
                ohm = self._ohm("strap_engine_mohm" if at_engine else "strap_chassis_mohm")
            yield ("body", strap.a), ("body", strap.b), ohm, None
        for body in sorted(b for b in bodies if b != "engine" and rigid_body(b) == "engine"):
            yield ("body", body), ("body", "engine"), self._ohm("head_block_mohm"), None
        for body in self.grounds.given_straps:
            name = "strap_engine_mohm" if body == "engine" else "strap_chassis_mohm"
            yield ("body", body), ("body", "battery negative"), self._ohm(name), None

    def _insides(self) -> Iterator[Branch]:
        """Pins of devices to what they join inside; a controller's drivers end on its grounds."""
        inner = self._ohm("device_inner_mohm")
        roles = self.devices.roles.of
        for device in self.devices.of_kind("controller"):
            for contact in device.contacts:
                role = roles.get(contact)
                if role in DRIVER_ROLES or role == "power ground":
                    yield contact, ("ground of", device.key), inner, None
                elif role == "high-side output" or role in FEED_ROLES:
                    yield contact, ("feed of", device.key), inner, None
        for load in self.loads.all:
            if load.device.kind == "controller":
                continue
            for contact in load.feeds:
                yield contact, ("feed of", load.device.key), inner, None
            for contact in load.returns:
                yield contact, ("ground of", load.device.key), inner, None
            if load.body:
                yield ("ground of", load.device.key), ("body", load.body), inner, None
