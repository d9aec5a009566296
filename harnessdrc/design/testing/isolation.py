"""Isolation: pairs of nets that must not touch, with everything unplugged, every fuse out and all rings joined.

Joined are the rings by their studs and straps in the car, or by a clip on the bench: together they are power ground.

Of n nets there are n (n - 1) / 2 pairs; nobody measures them all. Measured are those that do touch in practice: the
pairs of the trade (sensor ground against power ground, shield against ground and against what lies in it, bus and
trigger wires against each other, supplies against each other), cavities beside each other in a connector, and every
net against power ground. Each pair stands once, under the first of these reasons that it has. Their number grows with
the number of cavities, not with its square.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from harnessdrc.design.devices import Device, Devices
from harnessdrc.design.grounds import Grounds
from harnessdrc.design.loads import FEED_ROLES
from harnessdrc.design.testing.places import place_name
from harnessdrc.design.triggers import TriggerPair
from harnessdrc.findings import Mark
from harnessdrc.harness.connectivity import Connectivity, Net
from harnessdrc.harness.elements import COMMON_KINDS, Contact, Harness, Wire
from harnessdrc.harness.groups import Shield
from harnessdrc.harness.names import fold, natural_key
from harnessdrc.harness.roles import RETURN_ROLES, Roles

__all__ = ["Isolation", "IsolationTest"]

_GROUND = -1
"""Stands for power ground among the numbers of nets."""
_SUPPLIES = frozenset({*FEED_ROLES, "sensor supply"})
_NOT_BESIDE = frozenset({"relay", "fuse", "battery", "starter", "alternator", *COMMON_KINDS})
"""Kinds whose terminals do not lie in the order of their numbers, or are far apart."""
_CAVITY = re.compile(r"^(?P<before>[^\d]*)(?P<number>\d+)(?P<after>[^\d]*)$")
_POWER_GROUND = "power ground"


class _Pair(NamedTuple):
    one: int
    other: int
    why: str
    a: Contact | None = None
    b: Contact | None = None


@dataclass(frozen=True, slots=True)
class IsolationTest:
    """Two nets that must not touch.

    Parameters
    ----------
    test : str
        ``I1`` onward.
    a, b : str
        Where the probes go.
    a_net, b_net : str
        What the two are.
    why : str
        Why these two.
    least_ohm : float
        What passes, Ω.
    mark : Mark or None
        Cell of the first place.
    nets : frozenset of int
        Numbers of the two nets; power ground is -1.
    """

    test: str
    a: str
    b: str
    a_net: str
    b_net: str
    why: str
    least_ohm: float
    mark: Mark | None
    nets: frozenset[int]


@dataclass
class Isolation:
    """Tests of isolation of a design.

    Parameters
    ----------
    harness, net, roles, devices, grounds, shields, trigger_pairs
        Of the design.
    given : mapping of str to float
        Values taken as given.
    """

    harness: Harness
    net: Connectivity
    roles: Roles
    devices: Devices
    grounds: Grounds
    shields: tuple[Shield, ...]
    trigger_pairs: tuple[TriggerPair, ...]
    given: Mapping[str, float]

    def _name(self, contact: Contact) -> str:
        return place_name(self.harness, contact)

    @cached_property
    def tests(self) -> tuple[IsolationTest, ...]:
        """Every test, the pairs of the trade first."""
        found: dict[frozenset[int], _Pair] = {}
        for pair in (*self._trade(), *self._beside(), *self._against_ground()):
            if pair.one != pair.other and self._apart(pair.one) and self._apart(pair.other):
                found.setdefault(frozenset((pair.one, pair.other)), pair)
        return tuple(self._test(number, pair) for number, pair in enumerate(found.values(), 1))

    @cached_property
    def net_at(self) -> dict[str, int]:
        """Number of the net at every place with a wire, by its folded name; power ground is -1."""
        numbers = ((fold(self._name(contact)), self._number(contact)) for contact in self.net.wires_at)
        return {name: number for name, number in numbers if number is not None}

    # ------------------------------------------------------------------ nets
    @cached_property
    def _wired(self) -> dict[int, Contact]:
        """Nets with a wire, each with the contact that its probe goes to, in the order of those contacts' names."""
        label = self._name
        places: dict[int, Contact] = {}
        for net in self.net.nets:
            if any(self.net.wires_at.get(contact) for contact in net.contacts):
                places[net.number] = min(net.contacts, key=lambda c: (self._reach(c), natural_key(label(c)), c))
        return dict(sorted(places.items(), key=lambda item: (natural_key(label(item[1])), item[1])))

    def _reach(self, contact: Contact) -> int:
        """How well a probe reaches a contact: a controller's plug best, a splice under its sleeve not at all."""
        kind = self.harness.items[contact.item].kind
        return 0 if kind == "controller" else 3 if kind in COMMON_KINDS else 2 if kind in ("fuse", "relay") else 1

    def _apart(self, number: int) -> bool:
        """Whether a net is one that can be told from power ground: wired, and not bolted to a body itself."""
        return number == _GROUND or (number in self._wired and not self.net.nets[number].earths)

    @cached_property
    def _ground(self) -> Contact | None:
        """The place that stands for power ground: the star point, else the first earth point by name."""
        if self.grounds.home:
            return self.grounds.home[0].earth
        return min(self.net.earths, key=lambda c: (natural_key(self._name(c)), c), default=None)

    def _number(self, contact: Contact | None) -> int | None:
        """Net of a contact; power ground for one that is bolted to a body."""
        if contact is None:
            return None
        number = self.net.net_of.get(contact)
        if number is None:
            return _GROUND if contact in self.net.earths else None
        return _GROUND if self.net.nets[number].earths else number

    def _of_wire(self, wire: Wire) -> int | None:
        return self._number(wire.a if wire.a is not None else wire.b)

    # ------------------------------------------------------------------ pairs
    def _trade(self) -> Iterator[_Pair]:
        """Pairs that touch in practice, by what they are."""
        yield from self._returns_and_shields()
        for device in self._named(self.devices.all):
            highs, lows = self.devices.with_role(device, "CAN high"), self.devices.with_role(device, "CAN low")
            for high, low in zip(highs, lows, strict=False):
                yield from self._pair(self._number(high), self._number(low), "CAN high and CAN low", high, low)
        for pair in sorted(self.trigger_pairs, key=lambda p: (natural_key(p.device.name), p.device.key)):
            backs = self.devices.with_role(pair.device, *RETURN_ROLES)
            for back in backs[:1]:
                why = f"signal and return of {pair.device.name}, unplugged"
                yield from self._pair(self._number(pair.contact), self._number(back), why, pair.contact, back)
        yield from self._supplies()

    def _named(self, devices: Iterable[Device]) -> list[Device]:
        """Devices by name, controllers first, so that nothing hangs on the order of the rows."""
        return sorted(devices, key=lambda d: (d.kind != "controller", natural_key(d.name), d.key))

    def _pair(
        self, one: int | None, other: int | None, why: str, a: Contact | None = None, b: Contact | None = None
    ) -> Iterator[_Pair]:
        if one is not None and other is not None:
            yield _Pair(one, other, why, a, b)

    def _returns_and_shields(self) -> Iterator[_Pair]:
        if self._ground is not None:
            for number in self._wired:
                roles = {self.roles.of.get(contact) for contact in self.net.nets[number].contacts}
                if "sensor ground" in roles:
                    yield _Pair(number, _GROUND, "sensor ground and power ground")
                elif "shield drain" in roles:
                    yield _Pair(number, _GROUND, "shield and ground")
        for shield in sorted(self.shields, key=lambda s: (natural_key(s.name), s.name)):
            drain = next((n for wire in shield.drains if (n := self._of_wire(wire)) is not None), None)
            if drain is None:
                continue
            if drain != _GROUND and self._ground is not None:
                yield _Pair(drain, _GROUND, "shield and ground")
            for wire in shield.inside:
                yield from self._pair(drain, self._of_wire(wire), f"shield {shield.name} and wire {wire.name} in it")
        for device in self._named(self.devices.of_kind("controller")):
            drains, grounds = (self.devices.with_role(device, role)[:1] for role in ("shield drain", "sensor ground"))
            for drain_at, ground_at in zip(drains, grounds, strict=False):
                yield from self._pair(
                    self._number(ground_at), self._number(drain_at), "sensor ground and shield", ground_at, drain_at
                )

    def _supplies(self) -> Iterator[_Pair]:
        """Supplies in a chain: those of each controller, its sensor supplies first, then all of the loom."""
        label = self._name
        for device in self._named(self.devices.of_kind("controller")):
            own = [c for c in device.contacts if self.roles.of.get(c) in _SUPPLIES]
            own.sort(key=lambda c: (self.roles.of.get(c) != "sensor supply", natural_key(label(c)), c))
            own = [c for c in own if self._number(c) != _GROUND]  # a supply on ground is another check's matter
            for one, other in itertools.pairwise(own):
                yield from self._pair(self._number(one), self._number(other), "two supplies", one, other)
        fed = [
            number for number in self._wired
            if self._apart(number)
            and any(self.roles.of.get(contact) in _SUPPLIES for contact in self.net.nets[number].contacts)
        ]  # fmt: skip
        for first, second in itertools.pairwise(fed):
            yield _Pair(first, second, "two supplies")

    def _beside(self) -> Iterator[_Pair]:
        """Cavities beside each other in one connector: the next number, or the next letter of a grid."""
        by_item: dict[str, dict[tuple[str, int, str], Contact]] = {}
        for contact, wires in self.net.wires_at.items():
            item = self.harness.items[contact.item]
            match = None if contact.cavity.startswith("?") else _CAVITY.match(contact.cavity)
            letter = len(contact.cavity) == 1 and contact.cavity.isalpha()
            if wires and item.kind not in _NOT_BESIDE and (match or letter):
                key = (match["before"], int(match["number"]), match["after"]) if match else (contact.cavity, -1, "")
                by_item.setdefault(contact.item, {})[key] = contact
        for item_key in sorted(by_item, key=lambda key: (natural_key(self.harness.items[key].name), key)):
            contacts = by_item[item_key]
            name = self.harness.items[item_key].name
            for before, number, after in sorted(contacts, key=lambda k: (natural_key(k[0]), k[1], k[2])):
                here = contacts[before, number, after]
                nexts = [(before, number + 1, after)] if number >= 0 else []
                if len(before) == 1 and before.isalpha():
                    nexts.append((chr(ord(before) + 1), number, after))
                for key in nexts:
                    near = contacts.get(key)
                    if near is not None:
                        yield from self._pair(
                            self._number(here), self._number(near), f"beside each other in {name}", here, near
                        )

    def _against_ground(self) -> Iterator[_Pair]:
        if self._ground is not None:
            for number in self._wired:
                yield _Pair(number, _GROUND, "every net and power ground")

    # ------------------------------------------------------------------ words
    def _test(self, number: int, pair: _Pair) -> IsolationTest:
        a, b = self._probe(pair.one, pair.a), self._probe(pair.other, pair.b)
        mark = self.devices.mark(a) if a is not None else ()
        return IsolationTest(
            f"I{number}", self._name(a) if a else "", self._name(b) if b else "",
            self._net_name(pair.one), self._net_name(pair.other), pair.why, self.given["isolation_least_ohm"],
            mark[0] if mark else None, frozenset((pair.one, pair.other)),
        )  # fmt: skip

    def _probe(self, number: int, wanted: Contact | None) -> Contact | None:
        if wanted is not None:
            return wanted
        return self._ground if number == _GROUND else self._wired[number]

    def _net_name(self, number: int) -> str:
        """A net by what its wires carry, else by the role of a pin on it."""
        if number == _GROUND:
            return _POWER_GROUND
        net: Net = self.net.nets[number]
        wires = {wire.name: wire for contact in net.contacts for wire in self.net.wires_at.get(contact, ())}
        signals = [wires[name].signal for name in sorted(wires, key=natural_key)]
        roles = sorted({role for contact in net.contacts if (role := self.roles.of.get(contact))})
        said = next((signal for signal in signals if signal), roles[0] if roles else "")
        return said or f"wire {min(wires, key=natural_key)}"
