"""What the contacts of relays and switches carry, and to what kinds of load."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from harnessdrc.design import Contact, Design
from harnessdrc.design.devices import Device
from harnessdrc.harness.connectivity import Element
from harnessdrc.harness.names import natural_key

__all__ = ["Carried", "ContactLoads", "load_class", "rated"]

_CLASSES: Mapping[str, str] = {
    "lamp": "lamp",
    "fan": "motor", "fuel pump": "motor", "water pump": "motor", "starter": "motor", "stepper": "motor",
    "solenoid": "inductive", "injector": "inductive", "coil": "inductive", "igniter": "inductive", "relay": "inductive",
    "heater": "resistive", "controller": "resistive", "display": "resistive", "logger": "resistive",
    "resistor": "resistive", "terminator": "resistive", "capacitor": "resistive", "power distribution": "resistive",
}  # fmt: skip
"""Kind of component to what its current does to a contact."""
_NO_CURRENT_A = 1e-9


def load_class(kind: str | None) -> str | None:
    """What a load of a kind is to a contact: ``lamp``, ``motor``, ``inductive``, ``resistive``; None where unknown."""
    if kind is not None and kind.endswith(" sensor"):
        return "resistive"
    return _CLASSES.get(kind or "")


def rated(design: Design) -> list[Device]:
    """Relays and switches whose contact has a rating."""
    return [
        device for device in design.devices.of_kind("relay", "switch", "isolator")
        if device.item.details.contact_a is not None
    ]


class Carried(NamedTuple):
    """What one contact carries in one operating state.

    Parameters
    ----------
    state : str
        The state; empty for a current that a wire lists.
    current_a : float
        A.
    shares : mapping of str to float
        Class of load, ``""`` for one that is not known, to its part of the current; they add up to 1.
    loads : tuple of (str, float)
        Loads behind it with their currents, A, the greatest first.
    """

    state: str
    current_a: float
    shares: Mapping[str, float]
    loads: tuple[tuple[str, float], ...]


@dataclass
class ContactLoads:
    """Contacts of a design.

    Parameters
    ----------
    design : Design
        The design; its circuit has to be solved.
    """

    design: Design

    @cached_property
    def _elements(self) -> dict[str, list[Element]]:
        found: dict[str, list[Element]] = {}
        for element in self.design.net.elements:
            if element.kind in ("relay", "switch"):
                found.setdefault(element.item, []).append(element)
        return found

    def elements(self, device: Device) -> list[Element]:
        """Contacts of a relay or switch: from its common terminal to each other."""
        return sorted(self._elements.get(device.key, ()), key=lambda e: (natural_key(e.b.cavity), e.b, e.a))

    @cached_property
    def _part_of(self) -> dict[tuple[str, frozenset[object]], int]:
        return {
            (part.name, frozenset((part.a, part.b))): number
            for number, part in enumerate(self.design.circuit.parts)
            if part.kind in ("relay", "switch")
        }

    @cached_property
    def _beside(self) -> dict[int, list[int]]:
        """Nets next to each net over fuses, contacts and switches."""
        net_of = self.design.net.net_of
        found: dict[int, list[int]] = {}
        for element in self.design.net.elements:
            if element.kind not in ("diode", "resistor") and element.a in net_of and element.b in net_of:
                found.setdefault(net_of[element.a], []).append(net_of[element.b])
                found.setdefault(net_of[element.b], []).append(net_of[element.a])
        return found

    @cached_property
    def _ports_on(self) -> tuple[dict[int, list[int]], dict[int, list[int]]]:
        """Numbers of the load ports fed from each net, and of those that return into it."""
        net_of = self.design.net.net_of
        number_of = {
            port.device.key: number
            for number, port in enumerate(self.design.circuit.ports)
            if port.kind == "load" and port.device is not None
        }
        fed: dict[int, list[int]] = {}
        back: dict[int, list[int]] = {}
        for load in self.design.loads.all:
            number = number_of.get(load.device.key)
            if number is None:
                continue
            for contacts, found in ((load.feeds, fed), (load.returns, back)):
                for net in dict.fromkeys(net_of[contact] for contact in contacts if contact in net_of):
                    found.setdefault(net, []).append(number)
        return fed, back

    def output(self, element: Element) -> Contact:
        """Terminal of a contact that lies further from the battery."""
        level, net_of = self.design.feeds.level, self.design.net.net_of
        far = len(level) + 1
        levels = [level.get(net_of.get(contact, -1), far) for contact in (element.a, element.b)]
        return element.a if levels[0] > levels[1] else element.b

    def nets_behind(self, element: Element) -> list[int]:
        """Nets that get their current through a contact, or might: from its output away from the battery."""
        level = self.design.feeds.level
        start = self.design.net.net_of.get(self.output(element))
        if start is None:
            return []
        found = {start: None}
        front = [start]
        while front:
            front = [
                other
                for net in front
                for other in self._beside.get(net, ())
                if other not in found and level.get(other, 0) > level.get(net, 0)
            ]
            front = list(dict.fromkeys(front))
            found.update(dict.fromkeys(front))
        return list(found)

    def ports_behind(self, element: Element) -> list[int]:
        """Loads whose current flows through a contact; of one in the return of loads those that return into it."""
        fed, back = self._ports_on
        level, net_of = self.design.feeds.level, self.design.net.net_of
        if not {net_of.get(element.a), net_of.get(element.b)} & level.keys():
            nets = [net for net in (net_of.get(element.a), net_of.get(element.b)) if net is not None]
            return list(dict.fromkeys(number for net in nets for number in back.get(net, ())))
        return list(dict.fromkeys(number for net in self.nets_behind(element) for number in fed.get(net, ())))

    def uncounted(self, element: Element) -> list[str]:
        """What else hangs behind a contact that the circuit has no current for, in trade words."""
        found = []
        for net in self.nets_behind(element):
            for contact in self.design.net.nets[net].contacts:
                owner = self.design.devices.owner(contact)
                if owner is not None and owner.kind == "starter" and self.design.role(contact) != "battery feed":
                    found.append(f"current of {owner.name} at {self.design.label(contact)}")
        return sorted(dict.fromkeys(found))

    def unknown(self, element: Element) -> list[str]:
        """Currents of loads behind a contact that neither the list nor their kind gives, in trade words."""
        ports = self.design.circuit.ports
        names = [ports[n].name for n in self.ports_behind(element) if not ports[n].known]
        return [f"current of {name}" for name in sorted(names, key=natural_key)]

    def listed_a(self, element: Element) -> float | None:
        """Current that the wires on the output of a contact list, A."""
        wires = self.design.net.wires_at.get(self.output(element), ())
        return max((wire.current_a for wire in wires if wire.current_a is not None), default=None)

    def reached(self, element: Element) -> bool:
        """Whether a contact is part of the solved circuit."""
        return (element.item, frozenset((element.a, element.b))) in self._part_of

    def shorted(self, element: Element) -> bool:
        """Whether a contact feeds a short circuit, or hangs on one: nothing is solved for it."""
        net_of = self.design.net.net_of
        return not {net_of.get(element.a), net_of.get(element.b)}.isdisjoint(self.design.feeds.shorted)

    def carried(self, element: Element) -> list[Carried]:
        """What a contact carries in each state, but for those the starter turns through it; what its wire lists."""
        design = self.design
        settled, ports = design.analysis.new.settled, design.circuit.ports
        number = self._part_of[element.item, frozenset((element.a, element.b))]
        behind = self.ports_behind(element)
        average_a = np.abs(np.nan_to_num(design.analysis.part_currents.average[number]))
        found = []
        for state, current_a in enumerate(average_a.tolist()):
            amps = [(n, abs(float(settled.average_a[n, state]))) for n in behind]
            if any(ports[n].kind == "starter" and drawn_a > _NO_CURRENT_A for n, drawn_a in amps):
                continue  # a battery switch carries the starter for seconds, and does not switch it
            found.append(Carried(design.analysis.states[state].name, current_a, *self._by_class(amps)))
        listed_a = self.listed_a(element)
        if listed_a is not None and listed_a > max(average_a, default=0.0):
            rated_a = [(n, abs(ports[n].listed_a or 0.0)) for n in behind]
            shares, loads = self._by_class(rated_a)
            found.append(Carried("", listed_a, {"inductive": 1.0} if self.uncounted(element) else shares, loads))
        return found

    def _by_class(self, amps: list[tuple[int, float]]) -> tuple[dict[str, float], tuple[tuple[str, float], ...]]:
        """Shares by class of load, and the loads; of loads without a current each counts alike."""
        ports = self.design.circuit.ports
        total = sum(current_a for _, current_a in amps)
        shares: dict[str, float] = {}
        for number, current_a in amps:
            device = ports[number].device
            of_class = load_class(device.kind if device else None) or ""
            share = current_a / total if total > _NO_CURRENT_A else 1.0 / len(amps)
            shares[of_class] = shares.get(of_class, 0.0) + share
        loads = [(ports[number].name, current_a) for number, current_a in amps if current_a > _NO_CURRENT_A]
        loads.sort(key=lambda load: (-round(load[1], 6), natural_key(load[0])))
        return shares or {"resistive": 1.0}, tuple(loads)

    def unknown_kinds(self, element: Element) -> list[str]:
        """Loads behind a contact of which it is not known what they are to it, in trade words."""
        ports = self.design.circuit.ports
        devices = [ports[number].device for number in self.ports_behind(element)]
        names = [device.name for device in devices if device is not None and load_class(device.kind) is None]
        return [f"kind of {name}" for name in sorted(names, key=natural_key)]
