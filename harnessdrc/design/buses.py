"""CAN buses: the two wires of each, what stands on them, where they are terminated, how far it is from one to another.

A line of a bus is all copper that its contacts are on: wires, splices, mated connectors, and on through a device of
which two contacts have the same signal, as where a bus is led in and out. Which of the two lines is the high one is
told by the contact that gives the bus its name, a controller's if there is one, so that a pair that changes places
further on is still one bus.
"""

from __future__ import annotations

import heapq
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import inf
from operator import itemgetter
from typing import Any, NamedTuple

from harnessdrc.design.devices import Device, Devices
from harnessdrc.harness.connectivity import Connectivity
from harnessdrc.harness.elements import Contact, Harness, Wire
from harnessdrc.harness.names import fold, natural_key
from harnessdrc.harness.roles import Roles

__all__ = ["Bus", "BusLine", "Terminator", "Trunk", "buses_of"]

HIGH, LOW = "CAN high", "CAN low"
_SIDES = re.compile(r"(?:(?<=\d)|\b|(?<=can)|(?<=_))(?:high|low|hi|lo|h|l|in|out|thru|through)\b|[+\-_]")


class Terminator(NamedTuple):
    """A resistance between the two wires of a bus, Ω; None where the list does not say how much."""

    device: Device
    ohm: float | None


@dataclass(frozen=True, slots=True)
class BusLine:
    """One of the two wires of a bus.

    Parameters
    ----------
    contacts : frozenset of Contact
        All that it joins.
    wires : tuple of Wire
        W2 before W10.
    at : mapping of str to tuple of Contact
        Keys of the devices on it with their contacts.
    links : mapping of Contact to tuple of (Contact, Wire or None)
        What is next to what, by a wire or without one: a mated connector, a device that leads the bus through.
    """

    contacts: frozenset[Contact]
    wires: tuple[Wire, ...]
    at: Mapping[str, tuple[Contact, ...]]
    links: Mapping[Contact, tuple[tuple[Contact, Wire | None], ...]]

    def distances(self, starts: Iterable[Contact]) -> tuple[dict[Contact, float], dict[Contact, Contact]]:
        """Length of the shortest way from the nearest of `starts` to each contact, m, and the one before each.

        Wires without a length are passed over.
        """
        cost: dict[Contact, float] = {}
        before: dict[Contact, Contact] = {}
        front: list[tuple[float, Contact, Contact]] = [(0.0, start, start) for start in starts]
        heapq.heapify(front)
        while front:
            here_m, here, came = heapq.heappop(front)
            if here in cost:
                continue
            cost[here], before[here] = here_m, came
            for near, wire in self.links.get(here, ()):
                length_m = 0.0 if wire is None else wire.length_m
                if near not in cost and length_m is not None:
                    heapq.heappush(front, (here_m + length_m, near, here))
        return cost, before


class Trunk(NamedTuple):
    """A bus from end to end: the two devices, the way between them, and each other device's own way off it, m.

    `beyond` are the devices that hang on further out than a terminator does, with that terminator.
    """

    ends: tuple[Device, Device]
    length_m: float
    stubs_m: Mapping[str, float]
    beyond: Mapping[str, Device]


@dataclass(frozen=True, slots=True)
class Bus:
    """A CAN bus.

    Parameters
    ----------
    name : str
        Contact of its high wire that it is called by.
    high, low : BusLine or None
        Its wires; None for one that the list does not have.
    devices : tuple of Device
        All that is on either wire, in the order of their names.
    terminators : tuple of Terminator
        Those between its wires that the list tells of.
    terminators_told : bool
        Whether the list says of anything on the bus that it holds a terminator, or that it does not.
    """

    name: str
    contact: Contact
    high: BusLine | None
    low: BusLine | None
    devices: tuple[Device, ...]
    terminators: tuple[Terminator, ...]
    terminators_told: bool

    @property
    def subject(self) -> tuple[str, str]:
        """Subject of findings about it."""
        return ("bus", self.name)

    @property
    def lines(self) -> tuple[BusLine, ...]:
        """Those of its wires that there are."""
        return tuple(line for line in (self.high, self.low) if line is not None)

    @property
    def rates_kbit_s(self) -> dict[str, float]:
        """Bit rates that devices on it are listed with, by their names."""
        rates = ((device.name, device.item.details.bit_rate_kbit_s) for device in self.devices)
        return {name: rate for name, rate in rates if rate is not None}

    @property
    def without_length(self) -> tuple[Wire, ...]:
        """Wires that lack their length, on the line that lacks the fewest; none where one line has them all."""
        lacking = [tuple(wire for wire in line.wires if wire.length_m is None) for line in self.lines]
        return min(lacking, key=len, default=())

    def trunk(self) -> Trunk | None:
        """Its way from end to end: between its two terminators, else between the devices furthest apart.

        Where both lines have all their lengths the longer figure counts. None while lengths are lacking, or with
        fewer than two devices on a line.
        """
        found = [_trunk(line, self) for line in self.lines if all(wire.length_m is not None for wire in line.wires)]
        known = [each for each in found if each is not None]
        if not known:
            return None
        longest = max(known, key=lambda each: each.length_m)
        stubs_m: dict[str, float] = {}
        beyond: dict[str, Device] = {}
        for each in known:
            for key, stub_m in each.stubs_m.items():
                stubs_m[key] = max(stub_m, stubs_m.get(key, 0.0))
            beyond.update(each.beyond)
        return Trunk(longest.ends, longest.length_m, stubs_m, beyond)


def _trunk(line: BusLine, bus: Bus) -> Trunk | None:
    there = [device for device in bus.devices if device.key in line.at]
    if len(there) < 2:
        return None
    terminated = [each.device for each in bus.terminators if each.device.key in line.at]
    if len(terminated) == 2:
        first, last = terminated
    else:
        first, last = _furthest(line, there)
    cost, before = line.distances(line.at[first.key])
    end = min(line.at[last.key], key=lambda contact: (cost.get(contact, inf), contact))
    if end not in cost:
        return None
    way = [end]
    while before[way[-1]] != way[-1]:
        way.append(before[way[-1]])
    whole_m = cost[end]
    off, came = line.distances(way)
    stubs_m: dict[str, float] = {}
    beyond: dict[str, Device] = {}
    for device in there:
        if device.key in (first.key, last.key):
            continue
        contact = min(line.at[device.key], key=lambda each: (off.get(each, inf), each))
        if contact not in off:
            continue
        stub_m = stubs_m[device.key] = off[contact]
        here = contact
        while came[here] != here:
            here = came[here]
        end_device, to_end_m = min(((first, cost[here]), (last, whole_m - cost[here])), key=itemgetter(1))
        if len(terminated) == 2 and to_end_m < stub_m:
            beyond[device.key] = end_device
    return Trunk((first, last), whole_m, stubs_m, beyond)


def _furthest(line: BusLine, there: Sequence[Device]) -> tuple[Device, Device]:
    """The two devices furthest apart; exact on a line without rings."""

    def far_from(device: Device) -> Device:
        cost, _ = line.distances(line.at[device.key])
        others = [each for each in there if each is not device]
        return max(others, key=lambda each: max(cost.get(contact, 0.0) for contact in line.at[each.key]))

    one = far_from(there[0])
    other = far_from(one)
    return (one, other) if natural_key(one.name) <= natural_key(other.name) else (other, one)


# --- finding them -----------------------------------------------------------------------------------


def _plain(text: str) -> str:
    """A signal without what tells high from low and in from out: ``CAN1 H in`` → ``can1``."""
    return " ".join(_SIDES.sub(" ", fold(text)).split())


class _Finder:
    def __init__(self, harness: Harness, roles: Roles, net: Connectivity, devices: Devices) -> None:
        self.harness, self.roles, self.net, self.devices = harness, roles, net, devices
        self.contacts = [contact for contact, role in roles.of.items() if role in (HIGH, LOW)]
        told = set(self.contacts)
        self.text: dict[Contact, str] = {}
        if told:
            for pin in harness.pins:
                if pin.contact in told and pin.signal:
                    text = _plain(pin.signal)
                    self.text[pin.contact] = min(text, self.text.get(pin.contact, text))
            for contact in told - self.text.keys():
                signals = [wire.signal for wire in net.wires_at.get(contact, ()) if wire.signal]
                self.text[contact] = _plain(min(signals)) if signals else ""

    def nets(self) -> list[list[int]]:
        """Numbers of the nets of each line: those that a device leads on together."""
        together: dict[int, set[int]] = {}
        for contact in self.contacts:
            number = self.net.net_of.get(contact)
            if number is not None:
                together.setdefault(number, {number})
        led_on: dict[tuple[str, str, str], set[int]] = {}
        for contact in self.contacts:
            device, number = self.devices.owner(contact), self.net.net_of.get(contact)
            if device is not None and number is not None:
                led_on.setdefault((device.key, self.roles.of[contact], self.text[contact]), set()).add(number)
        for numbers in led_on.values():
            if len(numbers) > 1:
                all_of = set().union(*(together[number] for number in numbers))
                for number in all_of:
                    together[number] = all_of
        return [sorted(numbers) for numbers in {min(each): each for each in together.values()}.values()]

    def line(self, numbers: Sequence[int]) -> BusLine:
        contacts = [contact for number in numbers for contact in self.net.nets[number].contacts]
        inside = set(contacts)
        wires: dict[str, Wire] = {}
        at: dict[str, list[Contact]] = {}
        links: dict[Contact, list[tuple[Contact, Wire | None]]] = {}
        for contact in contacts:
            device = self.devices.owner(contact)
            if device is not None:
                at.setdefault(device.key, []).append(contact)
            for near, kind, via in self.net.neighbours(contact):
                if kind == "wire" and near in inside:
                    links.setdefault(contact, []).append((near, via))
                    wires[via.name] = via
                elif kind == "mate" and near in inside:
                    links.setdefault(contact, []).append((near, None))
        if len(numbers) > 1:
            for own in at.values():
                for contact in own:
                    links.setdefault(contact, []).extend((other, None) for other in own if other != contact)
        return BusLine(
            frozenset(inside),
            tuple(sorted(wires.values(), key=lambda wire: natural_key(wire.name))),
            {key: tuple(sorted(own)) for key, own in at.items()},
            {contact: tuple(near) for contact, near in links.items()},
        )

    def first(self, line: BusLine) -> Contact:
        """Contact that a line is known by: of a controller, of another device, else of a connector."""

        def order(contact: Contact) -> tuple[bool, bool, Any, str]:
            device = self.devices.owner(contact)
            kind = device.kind if device is not None else None
            label = self.harness.label(contact)
            return (kind != "controller", device is None or kind == "terminator", natural_key(label), label)

        return min((contact for contact in self.contacts if contact in line.contacts), key=order)

    def bus(self, high: BusLine | None, low: BusLine | None) -> Bus:
        lines = [line for line in (high, low) if line is not None]
        contact = self.first(lines[0])
        keys = dict.fromkeys(key for line in lines for key in line.at)
        devices = sorted((self.devices.by_key[key] for key in keys), key=lambda each: natural_key(each.name))
        found: list[Terminator] = []
        told = False
        for device in devices:
            inside_ohm = device.item.details.terminator_ohm
            own = device.kind == "terminator" or (
                device.kind == "resistor" and high is not None and low is not None
                and device.key in high.at and device.key in low.at
            )  # fmt: skip
            told = told or own or inside_ohm is not None
            if inside_ohm:
                found.append(Terminator(device, inside_ohm))
            elif own and inside_ohm is None:
                found.append(Terminator(device, device.item.resistance_ohm))
        return Bus(self.harness.label(contact), contact, high, low, tuple(devices), tuple(found), told)

    def find(self) -> tuple[Bus, ...]:
        lines: dict[str, list[BusLine]] = {HIGH: [], LOW: []}
        for numbers in self.nets():
            line = self.line(numbers)
            lines[self.roles.of[self.first(line)]].append(line)
        for of_role in lines.values():
            of_role.sort(key=lambda line: natural_key(self.harness.label(self.first(line))))
        words = {
            id(line): {self.text[contact] for contact in self.contacts if contact in line.contacts}
            for of_role in lines.values()
            for line in of_role
        }
        pairs: list[tuple[int, int, int, int]] = []
        for i, high in enumerate(lines[HIGH]):
            for j, low in enumerate(lines[LOW]):
                shared = len(high.at.keys() & low.at.keys())
                if shared:
                    pairs.append((-shared, -len(words[id(high)] & words[id(low)]), i, j))
        of_high: dict[int, int] = {}
        for _, _, i, j in sorted(pairs):
            if i not in of_high and j not in of_high.values():
                of_high[i] = j
        buses = [self.bus(high, lines[LOW][of_high[i]] if i in of_high else None) for i, high in enumerate(lines[HIGH])]
        alone = set(range(len(lines[LOW]))) - set(of_high.values())
        buses += [self.bus(None, lines[LOW][j]) for j in sorted(alone)]
        return tuple(buses)


def buses_of(harness: Harness, roles: Roles, net: Connectivity, devices: Devices) -> tuple[Bus, ...]:
    """Every CAN bus of a harness, by the names of their contacts."""
    finder = _Finder(harness, roles, net, devices)
    return finder.find() if finder.contacts else ()
