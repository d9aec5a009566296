"""Wires that carry the current of ignition coils: the primary current and that of the spark.

Counted from each coil to where its current comes from or goes to: over splices and mated connectors as far as the
next fuse, relay, switch, controller or earth point. The logic wires that only tell a coil when to fire are not
among them.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from harnessdrc.design.devices import Device, Devices
from harnessdrc.harness.connectivity import Connectivity
from harnessdrc.harness.elements import Contact, Harness, Wire
from harnessdrc.harness.roles import GROUND_ROLES

__all__ = ["CoilWire", "coil_wires"]

_FEEDS = frozenset({"load feed", "switched feed", "fused feed", "battery feed"})
_COIL = _FEEDS | GROUND_ROLES | {"coil primary -"}
_IGNITER = GROUND_ROLES | {"coil primary -"}
_ENDS = frozenset(
    {"fuse", "relay", "switch", "isolator", "battery", "controller", "igniter", "power distribution", "alternator",
     "starter", "diode", "resistor"}
)  # fmt: skip
"""Kinds at which the wire of a coil ends; beyond them other loads share the feed."""


class CoilWire(NamedTuple):
    """A wire and the name of the coil, igniter, distributor or plug whose current it carries."""

    wire: Wire
    device: str


def _carrying(devices: Devices, device: Device) -> list[Contact]:
    """Contacts of a coil or igniter that carry its primary or its spark current."""
    roles = devices.roles.of
    if device.kind == "igniter":
        return [c for c in device.contacts if roles.get(c) in _IGNITER]
    # What drives a coil of two terminals is no logic signal: it is the primary itself.
    driven = len(device.contacts) <= 2 and not devices.with_role(device, "coil primary -")
    return [c for c in device.contacts if roles.get(c) in _COIL or (driven and roles.get(c) == "coil input")]


def _kind(harness: Harness, contact: Contact) -> str | None:
    item = harness.items[contact.item]
    return harness.items[item.owner].kind if item.owner in harness.items else item.kind


def _towards_ends(harness: Harness, net: Connectivity, number: int) -> dict[Contact, Contact]:
    """Of every contact of a net the next one on the shortest way to an end of it."""
    copper = net.nets[number]
    front = sorted({earth for earth, _ in copper.earths} | {c for c in copper.contacts if _kind(harness, c) in _ENDS})
    towards: dict[Contact, Contact] = {}
    seen = set(front)
    while front:
        following = []
        for contact in front:
            nears = {near for near, kind, _ in net.neighbours(contact) if kind in ("wire", "mate")}
            for near in sorted(nears - seen):
                if net.net_of.get(near) == number:
                    seen.add(near)
                    towards[near] = contact
                    following.append(near)
        front = following
    return towards


def _between(net: Connectivity, one: Contact, other: Contact) -> Iterator[Wire]:
    """Wires from one contact straight to another."""
    for key, data in net.graph[one][other].items():
        if key[0] == "wire":
            yield data["via"]


def coil_wires(harness: Harness, devices: Devices, net: Connectivity) -> tuple[CoilWire, ...]:
    """Wires of primary currents and sparks, in any order of rows the same; linear in the list."""
    found: dict[str, CoilWire] = {}
    starts: dict[int, list[tuple[Contact, Device]]] = {}
    for device in sorted(devices.of_kind("coil", "igniter"), key=lambda d: d.key):
        for contact in _carrying(devices, device):
            for wire in net.wires_at.get(contact, ()):
                found.setdefault(wire.name, CoilWire(wire, device.name))
            number = net.net_of.get(contact)
            if number is not None:
                starts.setdefault(number, []).append((contact, device))
    for number, contacts in starts.items():
        copper = net.nets[number]
        if len(copper.contacts) + len(copper.earths) <= 2:
            continue  # one wire, which is at the coil itself
        towards = _towards_ends(harness, net, number)
        walked: set[Contact] = set()
        for contact, device in sorted(contacts, key=lambda start: start[0]):
            here = contact
            while here in towards and here not in walked:
                walked.add(here)
                for wire in _between(net, here, towards[here]):
                    found.setdefault(wire.name, CoilWire(wire, device.name))
                here = towards[here]
    high = {device.key: device for device in devices.of_kind("spark plug", "distributor")}
    if high:
        for wire in harness.wires:
            ends = [harness.items[c.item].owner for c in (wire.a, wire.b) if c is not None]
            own = [high[key] for key in ends if key in high]
            kinds = {devices.by_key[key].kind for key in ends if key in devices.by_key}
            if own and ("spark plug" in kinds or {"coil", "distributor"} <= kinds):
                found.setdefault(wire.name, CoilWire(wire, own[0].name))
    return tuple(sorted(found.values(), key=lambda one: (len(one.wire.name), one.wire.name)))
