"""Which nets are live, and through which fuses, relays and switches.

From the battery's positive terminal outward over fuses, relay contacts and switches: the level of a net
is the number of such elements between it and the battery. A net fed by two elements that are both live
without it has two supplies.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from harnessdrc.design.devices import Devices
from harnessdrc.harness.connectivity import Connectivity, Element, Net
from harnessdrc.harness.elements import Contact, Wire
from harnessdrc.harness.roles import GROUND_ROLES, Roles

__all__ = ["Feeds"]


def _named(kind: str, name: str) -> str:
    """A supply in a sentence: ``fuse F3``, but ``Fuse 3`` where the name says what it is."""
    return name if kind in name.casefold().split() else f"{kind} {name}"


@dataclass
class Feeds:
    """Live nets of a design."""

    net: Connectivity
    roles: Roles
    devices: Devices

    @cached_property
    def sources(self) -> list[Contact]:
        """Positive terminals of batteries."""
        return [
            contact
            for battery in self.devices.of_kind("battery")
            for contact in battery.contacts
            if self.roles.of.get(contact) == "battery feed"
        ]

    @cached_property
    def _beside(self) -> dict[int, list[tuple[Element, int]]]:
        beside: dict[int, list[tuple[Element, int]]] = {}
        for element in self.net.elements:
            if element.kind in ("diode", "resistor"):
                continue
            a, b = self.net.net_of.get(element.a), self.net.net_of.get(element.b)
            if a is None or b is None or a == b:
                continue
            beside.setdefault(a, []).append((element, b))
            beside.setdefault(b, []).append((element, a))
        return beside

    @cached_property
    def level(self) -> dict[int, int]:
        """Net → number of elements between it and the battery, for live nets only."""
        level: dict[int, int] = {}
        front = []
        for contact in self.sources:
            number = self.net.net_of.get(contact)
            if number is not None and number not in level:
                level[number] = 0
                front.append(number)
        while front:
            following = []
            for number in front:
                for _, other in self._beside.get(number, ()):
                    if other not in level:
                        level[other] = level[number] + 1
                        following.append(other)
            front = following
        return level

    @cached_property
    def in_series(self) -> dict[int, Contact]:
        """Nets that join the positive terminal of one battery to the negative one of the next: number → the latter.

        Two batteries of 12 V make 24 V so. Where that negative terminal is joined to an earth point or to any other
        terminal as well, or the batteries close a ring, it is a short circuit and none of these.
        """
        if len({contact.item for contact in self.sources}) < 2:
            return {}
        kinds, beside = self.net.harness.items, self._beside
        tied = {end for strap in self.net.straps for end in (strap.a, strap.b)}
        for net in self.net.nets:
            if len({earth for earth, _ in net.earths}) > 1:
                tied |= {earth for earth, _ in net.earths}
        lower_of: dict[str, set[str]] = {}
        found: dict[int, tuple[Contact, str]] = {}
        reached: dict[str, set[int]] = {}
        for source in self.sources:
            number = self.net.net_of.get(source)
            front = [] if number is None else [number]
            nets = reached.setdefault(source.item, set())
            while front:
                here = front.pop()
                if here not in nets:
                    nets.add(here)
                    front += [other for _, other in beside.get(here, ())]
        for lower, numbers in reached.items():
            for number in sorted(numbers):
                upper = {earth for earth, _ in self.net.nets[number].earths}
                if len(upper) != 1:
                    continue
                [negative] = upper
                key = negative.item
                if kinds[key].kind != "battery" or key == lower or negative in tied or number in reached.get(key, ()):
                    continue
                found[number] = negative, key
                lower_of.setdefault(key, set()).add(lower)

        def in_ring(key: str) -> bool:
            front, seen = list(lower_of.get(key, ())), set[str]()
            while front:
                here = front.pop()
                if here == key:
                    return True
                if here not in seen:
                    seen.add(here)
                    front += lower_of.get(here, ())
            return False

        return {number: negative for number, (negative, key) in found.items() if not in_ring(key)}

    def ground_on(self, net: Net) -> tuple[Contact, Wire | None] | None:
        """Earth point that copper joins to a net, with the wire that gets there, or a ground of a device on it.

        The negative terminal of the next battery of a series is none.
        """
        if net.earths and net.number not in self.in_series:
            return net.earths[0]
        grounds = sorted(
            contact
            for contact in net.contacts
            if (role := self.roles.of.get(contact)) in GROUND_ROLES or role in ("sensor ground", "shield drain")
        )
        return (grounds[0], None) if grounds else None

    @cached_property
    def shorted(self) -> dict[int, Contact]:
        """Live nets that copper joins to ground, each with the ground."""
        found: dict[int, Contact] = {}
        for number in self.level:
            ground = self.ground_on(self.net.nets[number])
            if ground is not None:
                found[number] = ground[0]
        return found

    def feeders(self, number: int) -> list[tuple[Element, Contact]]:
        """Elements that feed a net, each with its contact in that net.

        Fuses in parallel are two supplies; relay contacts and switches in parallel behind one fuse are one.
        """
        own = self.level.get(number)
        if own is None:
            return []
        found: dict[str, tuple[Element, Contact]] = {}
        for element, other in self._beside.get(number, ()):
            # A net as near to the battery as this one is live without it.
            if self.level.get(other, own + 1) <= own:
                inside = element.a if self.net.net_of.get(element.a) == number else element.b
                key = element.item if element.kind == "fuse" else f"net {other}"
                # Of several the first by name, whatever the order of the rows.
                if key not in found or (element.item, inside) < (found[key][0].item, found[key][1]):
                    found[key] = (element, inside)
        return list(found.values())

    def supplies(self, number: int) -> list[tuple[str, Contact]]:
        """Everything that makes a net live: ``(what, contact)``, by name.

        A fuse feeds one net, so its name is enough; of anything else the terminal is named too, since
        two terminals of one relay or controller feed two nets.
        """
        label = self.net.harness.label
        supplies: list[tuple[str, Contact]] = []
        seen: set[str] = set()
        for contact in sorted(self.net.nets[number].contacts):
            device = self.devices.owner(contact)
            role = self.roles.of.get(contact)
            if device is None or device.key in seen:
                continue
            if device.kind == "battery" and role == "battery feed":
                supplies.append((_named("battery", label(contact)), contact))
                seen.add(device.key)
            elif device.kind == "controller" and role == "sensor supply":
                supplies.append((f"sensor supply {label(contact)}", contact))
                seen.add(device.key)
        for element, inside in self.feeders(number):
            name = self.net.harness.items[element.item].name if element.kind == "fuse" else label(inside)
            supplies.append((_named(element.kind, name), inside))
        return sorted(supplies)
