"""Fuses: where they stand, and which wires each of them stands ahead of.

From the battery outward every live net has the last fuse on its way, or none. A wire is protected by the fuse ahead of
its net; wires without copper to the battery (behind a load, behind an output of a controller) have none, since the
load holds the current of a fault there. Fuses that copper joins behind them let the sum of their ratings flow. Where
relay contacts bring a net its current by several fuses the largest counts, and none where any way has no fuse, however
many contacts lie in it.

A protected output of a power distribution whose name ends in its rating (``PD board 30AMP``) counts as a fuse.
"""

from __future__ import annotations

import re
from collections import deque
from functools import cached_property
from typing import TYPE_CHECKING, Any

from harnessdrc.design.sizing.faults import WorstFault, faults_of
from harnessdrc.design.sizing.fuse_duty import FuseDuty, FuseLoad, ThinnestWire
from harnessdrc.design.sizing.fuse_items import Fuse, family_text, possible_families
from harnessdrc.harness.elements import Contact, Wire
from harnessdrc.harness.names import natural_key
from harnessdrc.tables.model import Assumption

if TYPE_CHECKING:
    from harnessdrc.design import Design

__all__ = ["Fuse", "FuseLoad", "Protection", "ThinnestWire", "fuse_of_wire", "possible_families", "protection_of"]

_KEPT = "protection"
_DEAD = 1 << 30
_IN_NAME = re.compile(r"(?<![0-9.,])([0-9]{1,3}(?:\.[0-9])?) ?amps?$")
"""Rating at the end of a folded name: ``pd board 30amp``."""


class Protection:
    """Fuses of a design and what they stand ahead of.

    Parameters
    ----------
    design : Design
        The design.
    """

    def __init__(self, design: Design) -> None:
        self.design = design

    # ------------------------------------------------------------------ where fuses stand
    @cached_property
    def _nearness(self) -> dict[int, tuple[int, int]]:
        """Live net → fuses between it and the battery at the least, and elements of any kind."""
        level = self.design.feeds.level
        fuses = {net: 0 for net, steps in level.items() if steps == 0}
        front = deque(sorted(fuses))
        while front:
            net = front.popleft()
            for kind, other, _ in self._between.get(net, ()):
                passed = fuses[net] + (kind == "fuse")
                if other in level and passed < fuses.get(other, _DEAD):
                    fuses[other] = passed
                    (front.append if kind == "fuse" else front.appendleft)(other)
        return {net: (fuses.get(net, _DEAD), steps) for net, steps in level.items()}

    @cached_property
    def _between(self) -> dict[int, list[tuple[str, int, str]]]:
        """Net → fuses, closed contacts and switches to the nets beside it: kind, net and item."""
        net_of = self.design.net.net_of
        beside: dict[int, list[tuple[str, int, str]]] = {}
        for element in self.design.net.elements:
            if element.kind in ("diode", "resistor"):
                continue
            a, b = net_of.get(element.a), net_of.get(element.b)
            if a is not None and b is not None and a != b:
                beside.setdefault(a, []).append((element.kind, b, element.item))
                beside.setdefault(b, []).append((element.kind, a, element.item))
        return beside

    def _output_rating(self, key: str) -> float | None:
        """Rating that the name of a protected output ends in."""
        item = self.design.harness.items[key]
        owner = self.design.harness.items.get(item.owner, item)
        if "power distribution" not in (item.kind, owner.kind):
            return None
        found = _IN_NAME.search(key)
        return float(found[1]) if found and float(found[1]) > 0 else None

    @cached_property
    def outputs(self) -> dict[int, tuple[Contact, float]]:
        """Net → protected output of a power distribution that feeds it, with its rating, A."""
        rated: dict[str, float | None] = {}
        found: dict[int, tuple[Contact, float]] = {}
        if not any(item.kind == "power distribution" for item in self.design.harness.items.values()):
            return found
        for contact, number in self.design.net.net_of.items():
            if contact.item not in rated:
                rated[contact.item] = self._output_rating(contact.item)
            rating_a = rated[contact.item]
            # it feeds no ground, and no net that a battery stands on
            if rating_a is None or self.design.feeds.level.get(number) == 0 or self.design.net.nets[number].earths:
                continue
            if number not in found or (-rating_a, contact) < (-found[number][1], found[number][0]):
                found[number] = (contact, rating_a)
        return found

    @property
    def assumptions(self) -> tuple[Assumption, ...]:
        """Outputs that were taken for protected by the rating in their names."""
        harness, lines = self.design.harness, {}
        for contact, rating_a in self.outputs.values():
            item = harness.items[contact.item]
            because = "its name ends in a current"
            lines[item.key] = Assumption("protection", item.name, f"a fuse of {rating_a:g} A", because, item.place)
        return tuple(lines[key] for key in sorted(lines))

    @cached_property
    def joined(self) -> dict[int, tuple[str, ...]]:
        """Net → keys of the fuses whose outlets copper joins in it, by name: together they let the sum flow."""
        found: dict[int, list[str]] = {}
        for fuse in self.fuses:
            if not fuse.output:
                found.setdefault(fuse.behind, []).append(fuse.item.key)
        return {net: tuple(dict.fromkeys(keys)) for net, keys in found.items()}

    def joined_a(self, fuse: Fuse) -> float:
        """Sum of the ratings of a fuse and of those that copper joins behind it, as far as they are known, A."""
        keys = (fuse.item.key,) if fuse.output else self.joined.get(fuse.behind, ())
        return sum(self.by_key[key].rating_a or 0.0 for key in keys)

    @cached_property
    def ahead(self) -> dict[int, str | None]:
        """Live net → key of the fuse ahead of it, None where there is none; of fuses that copper joins the first.

        From the battery and from the outlets of fuses outward over contacts: what protects least comes first and
        stands, by whatever way it gets there.
        """
        level, items = self.design.feeds.level, self.design.harness.items

        def rank(keys: tuple[str, ...]) -> tuple[bool, float, Any]:
            """Those that protect less last."""
            ratings = [self._rating_a(key) for key in keys]
            return None in ratings, sum(each or 0.0 for each in ratings), natural_key(items[keys[0]].name)

        found: dict[int, str | None] = {}
        self._spread([net for net, steps in level.items() if steps == 0], None, found)
        for net, (contact, _) in self.outputs.items():
            if net in level and net not in found:
                found[net] = contact.item
        for net, keys in sorted(self.joined.items(), key=lambda each: rank(each[1]), reverse=True):
            self._spread([net], keys[0], found)
        # what is reached only by both throws of one relay, which are never closed at once
        for net in sorted(level, key=lambda each: (level[each], each)):
            if net not in found:
                ways = [
                    item if kind == "fuse" else found[other]
                    for kind, other, item in self._between.get(net, ())
                    if level.get(other) == level[net] - 1
                ]
                found[net] = None if None in ways else max(ways, key=lambda key: rank((key,)) if key else ())
        return self._behind_outputs(found)

    def _spread(self, start: list[int], key: str | None, found: dict[int, str | None]) -> None:
        """Enter a fuse, or none, for the nets that contacts join to some others and that none is entered for yet."""
        front = [(net, "") for net in start if net not in found]
        found.update((net, key) for net, _ in front)
        while front:
            net, by = front.pop()
            for kind, other, item in self._between.get(net, ()):
                # what comes in by one throw of a relay does not leave by the other one
                if kind != "fuse" and other not in found and item != by and other not in self.outputs:
                    found[other] = key
                    front.append((other, item))

    def _behind_outputs(self, found: dict[int, str | None]) -> dict[int, str | None]:
        """The same with the nets that protected outputs feed, whose box the battery's feed ends at."""
        front = [number for number in self.outputs if number not in found]
        for number in front:
            found[number] = self.outputs[number][0].item
        while front:
            following = []
            for number in sorted(front):
                for kind, other, item in self._between.get(number, ()):
                    if other not in found and self.design.feeds.ground_on(self.design.net.nets[other]) is None:
                        found[other] = item if kind == "fuse" else found[number]
                        following.append(other)
            front = following
        return found

    def _rating_a(self, key: str) -> float | None:
        listed_a = self.design.harness.items[key].rating_a
        if listed_a is not None:
            return listed_a if listed_a > 0 else None
        return self._output_rating(key)

    @cached_property
    def fuses(self) -> tuple[Fuse, ...]:
        """Every fuse with the battery on one side and its load on the other, then protected outputs, by name."""
        near, net_of, items = self._nearness, self.design.net.net_of, self.design.harness.items
        shorted, nowhere = self.design.feeds.shorted, (_DEAD, _DEAD)
        found = []
        for element in self.design.net.elements:
            if element.kind != "fuse":
                continue
            one, other, inlet, outlet = net_of.get(element.a), net_of.get(element.b), element.a, element.b
            if one is None or other is None or one == other or near.get(one) == near.get(other):
                continue
            if near.get(one, nowhere) > near.get(other, nowhere):
                one, other, inlet, outlet = other, one, outlet, inlet
            if one in shorted or other in shorted:
                continue  # told as a short circuit
            item = items[element.item]
            found.append(Fuse(item, self._rating_a(item.key), family_text(item), one, other, inlet, outlet))
        found.sort(key=lambda fuse: natural_key(fuse.item.name))
        outputs = [
            Fuse(items[c.item], rating_a, family_text(items[c.item]), None, number, c, c, output=True)
            for number, (c, rating_a) in self.outputs.items()
        ]
        outputs.sort(key=lambda fuse: (natural_key(fuse.item.name), fuse.outlet))
        seen: set[str] = set()
        for fuse in outputs:
            if fuse.item.key not in seen:
                seen.add(fuse.item.key)
                found.append(fuse)
        return tuple(found)

    def families(self, fuse: Fuse) -> tuple[str, ...]:
        """Families that a fuse and those joined to it may be; empty where that of any is not known."""
        every = [self.by_key[key].families for key in self.joined.get(fuse.behind, ())] or [fuse.families]
        return tuple(dict.fromkeys(name for each in every for name in each)) if all(every) else ()

    @cached_property
    def by_key(self) -> dict[str, Fuse]:
        """Fuses by the key of their items."""
        return {fuse.item.key: fuse for fuse in self.fuses}

    @cached_property
    def wires_behind(self) -> dict[str, list[int]]:
        """Key of a fuse with a rating → numbers of the wires it protects in `harness.wires`, alone or with others."""
        return self._behind[0]

    @cached_property
    def cables_behind(self) -> dict[str, list[str]]:
        """The same for cables whose cores are not told apart: their names, by name."""
        return {key: sorted(names, key=natural_key) for key, names in self._behind[1].items()}

    @cached_property
    def _behind(self) -> tuple[dict[str, list[int]], dict[str, list[str]]]:
        fuses_of_net: dict[int, tuple[str, ...]] = {}
        for net, key in self.ahead.items():
            if key in self.by_key and net not in self.design.feeds.shorted:
                fuse = self.by_key[key]
                keys = (key,) if fuse.output else self.joined.get(fuse.behind, (key,))
                fuses_of_net[net] = tuple(each for each in keys if self.by_key[each].rating_a is not None)
        wires: dict[str, list[int]] = {}
        cables: dict[str, list[str]] = {}
        if not fuses_of_net:
            return wires, cables
        net_of = self.design.net.net_of
        for number, wire in enumerate(self.design.harness.wires):
            if wire.cores != 1:
                ends = [net_of.get(end) for end in (wire.a, wire.b) if end is not None]
                for key in dict.fromkeys(k for each in ends if each is not None for k in fuses_of_net.get(each, ())):
                    cables.setdefault(key, []).append(wire.name)
                continue
            for end in (wire.a, wire.b):
                own = net_of.get(end) if end is not None else None
                if own is not None:
                    for key in fuses_of_net.get(own, ()):
                        wires.setdefault(key, []).append(number)
                    break
        return wires, cables

    # ------------------------------------------------------------------ what it protects
    @cached_property
    def _inlets(self) -> dict[Contact, float]:
        """Inlets of fuses with one wire on them, with the rating, A: that wire carries no more for long."""
        at = self.design.net.wires_at
        return {f.inlet: f.rating_a for f in self.fuses if not f.output and f.rating_a and len(at[f.inlet]) == 1}

    def held_a(self, wire: Wire, fuse: Fuse) -> float:
        """Rating that holds the current of a wire behind a fuse, and behind those that copper joins to it, A.

        Overload may be held at either end of a wire: one that leads to nothing but a further fuse carries no more than
        that lets through. A short circuit on it is for the fuse ahead alone.
        """
        ends = [self._inlets[end] for end in (wire.a, wire.b) if end is not None and end in self._inlets]
        return min([self.joined_a(fuse), *ends])

    # ------------------------------------------------------------------ loads, wires and faults
    @cached_property
    def _duty(self) -> FuseDuty:
        return FuseDuty(self)

    def load(self, fuse: Fuse) -> FuseLoad:
        """What a fuse carries for hours, as `FuseDuty.load`."""
        return self._duty.load(fuse)

    def thinnest(self, fuse: Fuse) -> tuple[ThinnestWire, ThinnestWire] | None:
        """Wires that bear least of what their fuses let them carry, as `FuseDuty.thinnest`."""
        return self._duty.thinnest(fuse)

    def worst_fault(self, fuse: Fuse, clear_s: float) -> WorstFault | None:
        """The fault behind a fuse that it is least sure to clear; None where it protects no wire, or for an output."""
        if clear_s not in self._worst_faults:
            self._worst_faults[clear_s] = self._find_worst_faults(clear_s)
        return self._worst_faults[clear_s].get(fuse.item.key)

    @cached_property
    def _worst_faults(self) -> dict[float, dict[str, WorstFault]]:
        return {}

    def _find_worst_faults(self, clear_s: float) -> dict[str, WorstFault]:
        faults = faults_of(self.design)
        found = {}
        for fuse in self.fuses:
            numbers = self.wires_behind.get(fuse.item.key)
            if numbers and fuse.rating_a is not None and not fuse.output:
                worst = faults.worst(numbers, self.families(fuse), self.joined_a(fuse), clear_s)
                if worst is not None:
                    found[fuse.item.key] = worst
        return found

    @cached_property
    def wired(self) -> dict[str, list[Contact]]:
        """Contacts with a wire of every fuse, whether or not the list leads on from it, by the fuse's name."""
        items = self.design.harness.items
        fuses = {key for key, item in items.items() if item.kind == "fuse"}
        found: dict[str, list[Contact]] = {}
        if fuses:
            for contact in self.design.net.wires_at:
                if contact.item in fuses:
                    found.setdefault(items[contact.item].name, []).append(contact)
        return {name: sorted(found[name]) for name in sorted(found, key=natural_key)}


def protection_of(design: Design) -> Protection:
    """Fuses of a design, worked out once and kept with it."""
    kept: dict[str, Any] = design.analysis.kept
    if _KEPT not in kept:
        kept[_KEPT] = Protection(design)
    found: Protection = kept[_KEPT]
    return found


def fuse_of_wire(design: Design) -> dict[str, float]:
    """Rating that holds the current of each wire, A, by the wire's name.

    That of the fuse ahead, or of a smaller one that the wire alone leads to; wires without a fuse, or whose fuse has no
    rating, are left out.
    """
    protection, wires = protection_of(design), design.harness.wires
    found: dict[str, float] = {}
    for key, numbers in protection.wires_behind.items():
        fuse = protection.by_key[key]
        found |= {wires[number].name: protection.held_a(wires[number], fuse) for number in numbers}
    return found
