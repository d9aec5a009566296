"""Each kind of part puts its own resistances into the circuit, from the figures of the list and the given values."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from harnessdrc.design.circuit.joints import JointBook
from harnessdrc.design.circuit.measured import as_measured
from harnessdrc.design.circuit.parts import Node, Part, PartKind, inner_node
from harnessdrc.design.conductors import conductor_mm2, copper_ohm
from harnessdrc.design.devices import DRIVER_ROLES, Device, Devices
from harnessdrc.design.feeds import Feeds
from harnessdrc.design.grounds import Grounds
from harnessdrc.design.loads import FEED_ROLES, Loads
from harnessdrc.harness.connectivity import Connectivity
from harnessdrc.harness.elements import Contact, Harness, Strap, Wire, rigid_body
from harnessdrc.units import Size

__all__ = ["BATTERY_NEGATIVE", "Stamps"]

BATTERY_NEGATIVE: Node = inner_node("body", "battery negative")
"""The battery's negative post: the node that every potential is held against."""


@dataclass
class Stamps:
    """Parts of a design."""

    harness: Harness
    net: Connectivity
    devices: Devices
    feeds: Feeds
    loads: Loads
    grounds: Grounds
    given: Mapping[str, float]
    measured: Mapping[tuple[str, str], float] = field(default_factory=dict)
    open_parts: list[Part] = field(default_factory=list)
    """Parts left out as open by the meter, once the parts were asked for."""

    @cached_property
    def joints(self) -> JointBook:
        """Resistances of joints, listed and given."""
        return JointBook(self.harness, self.given)

    def parts(self) -> list[Part]:
        """All parts, in the order of the list within each kind."""
        copper = [*self._wires(), *self._mates(), *self._elements()]
        parts = [*copper, *self._bodies(), *self._insides(), *self._batteries()]
        if not self.measured:
            return parts
        whole = [part for part in parts if not self._is_open(part)]
        self.open_parts = [part for part in parts if self._is_open(part)]
        return [as_measured(part, self.measured, self.harness, self.given) for part in whole]

    def _is_open(self, part: Part) -> bool:
        return math.isinf(self.measured.get((part.kind, part.name), 0.0))

    def _ohm(self, name: str) -> float:
        return self.given[name] / 1000.0

    # ------------------------------------------------------------------ copper
    def _wires(self) -> Iterator[Part]:
        """Wires, with the joints at both their ends."""
        joints = self.joints
        bolted_mm2 = self.given["bolted_from_mm2"]
        for wire in self.harness.wires:
            if wire.a is None or wire.b is None or wire.cores != 1:
                continue
            ohm, low_ohm, high_ohm = self._copper(wire.size, wire.length_m)
            bolted = conductor_mm2(wire.size) >= bolted_mm2
            joint_ohm, aged_ohm = joints.wire_end(wire, wire.a, bolted)
            other_ohm, other_aged_ohm = joints.wire_end(wire, wire.b, bolted)
            yield Part(
                "wire", wire.name, wire.a, wire.b, ohm, joint_ohm + other_ohm, aged_ohm + other_aged_ohm,
                low_ohm, high_ohm, wire, _lacking(wire) if low_ohm != high_ohm else (),
            )  # fmt: skip

    def _copper(self, size: Size | None, length_m: float | None) -> tuple[float, float, float]:
        """Resistance of a conductor, Ω: as far as known, at the least, at the most."""
        return copper_ohm(size, length_m, self.given)

    def _mates(self) -> Iterator[Part]:
        """Mated contacts of inline connectors."""
        for a, b, key in self.net.graph.edges(keys=True):
            if key[0] == "mate":
                new_ohm, aged_ohm = self.joints.contact(a, b)
                yield Part("mate", key[1], a, b, 0.0, new_ohm, aged_ohm, 0.0, 0.0)

    def _elements(self) -> Iterator[Part]:
        """Fuses, relay contacts and switches, all closed; none that feeds a short circuit."""
        for element in self.net.elements:
            if element.kind in ("diode", "resistor"):
                continue
            if {self.net.net_of.get(element.a), self.net.net_of.get(element.b)} & self.feeds.shorted.keys():
                continue
            kind: PartKind = "fuse" if element.kind == "fuse" else "relay" if element.kind == "relay" else "switch"
            inner_ohm, new_ohm, aged_ohm = self.joints.element(kind, element.item)
            yield Part(kind, element.item, element.a, element.b, inner_ohm, new_ohm, aged_ohm, inner_ohm, inner_ohm)

    # ------------------------------------------------------------------ bodies
    def _bodies(self) -> Iterator[Part]:
        """Earth points on their bodies, head and block on the engine, straps."""
        bodies = {d.body for d in self.devices.all if d.body and self.devices.on_case(d)}
        for earth in sorted(self.net.earths):
            body = self.devices.body(earth)
            if body:
                bodies.add(body)
                new_ohm, aged_ohm = self.joints.earth_point(earth, at_post=body == "battery negative")
                yield Part("earth", earth.item, earth, inner_node("body", body), 0.0, new_ohm, aged_ohm, 0.0, 0.0)
        for strap in self.grounds.listed_straps():
            bodies |= {strap.a, strap.b}
            yield self._strap(strap)
        for body in sorted(b for b in bodies if b != "engine" and rigid_body(b) == "engine"):
            ohm, aged_ohm = self._ohm("head_block_mohm"), self._ohm("head_block_aged_mohm")
            one, engine = inner_node("body", body), inner_node("body", "engine")
            yield Part("bodies", f"{body} and engine", one, engine, 0.0, ohm, aged_ohm, 0.0, 0.0)
        for body in self.grounds.given_straps:
            ohm, low_ohm, high_ohm = self._given_strap(body)
            aged_ohm = self.joints.strap_aged(None)[1]
            yield Part(
                "strap", f"{body} to battery negative (given)", inner_node("body", body), BATTERY_NEGATIVE,
                ohm, 0.0, aged_ohm, low_ohm, high_ohm, None, (f"strap from {body} to battery negative",),
            )  # fmt: skip

    def _given_strap(self, body: str) -> tuple[float, float, float]:
        which = "engine" if rigid_body(body) == "engine" else "chassis"
        ohm = self._ohm(f"strap_{which}_mohm")
        return ohm, ohm * self.given["strap_low_share"], ohm * self.given["strap_high_share"]

    def _strap(self, strap: Strap) -> Part:
        lacking: tuple[str, ...] = ()
        if strap.resistance_ohm is not None:
            ohm = low_ohm = high_ohm = strap.resistance_ohm
        elif strap.size is None or strap.length_m is None:
            body = strap.a if rigid_body(strap.a) == "engine" else strap.b
            ohm, low_ohm, high_ohm = self._given_strap(body)
            what = "size" if strap.size is None else "length"
            lacking = (f"{what} of strap {strap.name}",)
        else:
            ohm, low_ohm, high_ohm = self._copper(strap.size, strap.length_m)
        new_ohm, aged_ohm = self.joints.strap_aged(strap)
        return Part(
            "strap", strap.name, inner_node("body", strap.a), inner_node("body", strap.b), ohm, new_ohm, aged_ohm,
            low_ohm, high_ohm, None, lacking, strap.place,
        )  # fmt: skip

    # ------------------------------------------------------------------ inside devices
    def _insides(self) -> Iterator[Part]:
        """Pins of devices to what they join inside; a controller's drivers end on its grounds.

        A pin on a shorted net joins nothing: devices part their feeds inside, and its fuse has blown.
        """
        inner_ohm = self._ohm("device_inner_mohm")
        roles = self.devices.roles.of
        for device in self.devices.of_kind("controller"):
            signal = False
            for contact in device.contacts:
                if self.net.net_of.get(contact) in self.feeds.shorted:
                    continue
                role = roles.get(contact)
                if role in DRIVER_ROLES or role == "power ground":
                    yield _inside(device, contact, "ground of", inner_ohm)
                elif role == "high-side output" or role in FEED_ROLES:
                    yield _inside(device, contact, "feed of", inner_ohm)
                elif role in ("sensor ground", "shield drain"):
                    signal = True
                    yield _inside(device, contact, "sensor ground of", inner_ohm)
            if signal:
                ohm = self._ohm("controller_grounds_mohm")
                signal_ground, ground = inner_node("sensor ground of", device.key), inner_node("ground of", device.key)
                yield Part("inside", device.name, signal_ground, ground, ohm, 0.0, 0.0, ohm, ohm)
            if self.devices.on_case(device) and device.body:
                yield _to_case(device, inner_ohm)
        for load in self.loads.all:
            if load.device.kind == "controller":
                continue
            for contact in load.feeds:
                if self.net.net_of.get(contact) not in self.feeds.shorted:
                    yield _inside(load.device, contact, "feed of", inner_ohm)
            for contact in load.returns:
                yield _inside(load.device, contact, "ground of", inner_ohm)
            if load.body:
                yield _to_case(load.device, inner_ohm)

    def _batteries(self) -> Iterator[Part]:
        """Batteries behind their inner resistance; the negative posts are one node."""
        ohm = self._ohm("battery_inner_mohm")
        for battery in self.devices.of_kind("battery"):
            positive = [c for c in battery.contacts if self.devices.roles.of.get(c) == "battery feed"]
            post: Node = inner_node("post +", battery.key)
            for contact in positive:
                yield Part("inside", battery.name, contact, post, 0.0, 0.0, 0.0, 0.0, 0.0)
            if positive:
                yield Part("battery", battery.name, BATTERY_NEGATIVE, post, ohm, 0.0, 0.0, ohm, ohm)


def _lacking(wire: Wire) -> tuple[str, ...]:
    missing = (("size", wire.size), ("length", wire.length_m))
    return tuple(f"{what} of wire {wire.name}" for what, value in missing if value is None)


def _inside(device: Device, contact: Contact, side: str, ohm: float) -> Part:
    return Part("inside", device.name, contact, inner_node(side, device.key), ohm, 0.0, 0.0, ohm, ohm)


def _to_case(device: Device, ohm: float) -> Part:
    ground, case = inner_node("ground of", device.key), inner_node("body", device.body or "")
    return Part("inside", device.name, ground, case, ohm, 0.0, 0.0, ohm, ohm)
