"""Fuses: which wires each one stands ahead of, what it carries, and what of it stands in the results.

From the battery outward every live net has the last fuse on its way, or none. A wire is protected by the fuse ahead of
its net; wires without copper to the battery (behind a load, behind an output of a controller) have none, since the
load holds the current of a fault there. Where relay contacts bring a net its current by several fuses the largest
counts, and none where one of the ways has no fuse.

A protected output of a power distribution whose name ends in its rating (``PD board 30AMP``) counts as a fuse.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from harnessdrc.design.sizing.faults import Faults, WorstFault
from harnessdrc.findings import Mark
from harnessdrc.harness.elements import Contact, Item, Wire
from harnessdrc.harness.names import natural_key
from harnessdrc.physics.fuses import FuseReading, fuse_colour, fuse_families, fuse_limits, read_family, standard_ratings
from harnessdrc.places import Place
from harnessdrc.tables.model import Assumption

if TYPE_CHECKING:
    from harnessdrc.design import Design

__all__ = [
    "Fuse", "FuseFacts", "FuseLoad", "Protection", "ThinnestWire", "colour_of",
    "fuse_lines", "fuse_of_wire", "possible_families", "protection_of",
]  # fmt: skip

_KEPT = "protection"
_DEAD = 1 << 30
_IN_NAME = re.compile(r"(?<![0-9.,])([0-9]{1,3}(?:\.[0-9])?) ?amps?$")
"""Rating at the end of a folded name: ``pd board 30amp``."""


class FuseLoad(NamedTuple):
    """What a fuse carries for hours.

    Parameters
    ----------
    current_a : float or None
        Greatest average over the states that last, A; None where the circuit was not solved.
    state : str
        That state.
    unknown : tuple of str
        Loads behind it whose current is not known and was taken as nothing.
    """

    current_a: float | None
    state: str
    unknown: tuple[str, ...]


class ThinnestWire(NamedTuple):
    """The wire behind a fuse that bears least of what its fuses let it carry.

    Parameters
    ----------
    wire : Wire
        The wire.
    held_a : float
        Rating that holds its current, A: of the fuse ahead, or of a smaller one that it alone leads to.
    low_a, allowed_a, high_a : float
        What it may carry, A: with all that is lacking at its worst, as usual, and at its best.
    """

    wire: Wire
    held_a: float
    low_a: float
    allowed_a: float
    high_a: float


@dataclass(frozen=True, slots=True)
class Fuse:
    """A fuse, or an output protected by its rating, with the battery ahead of it.

    Parameters
    ----------
    item : Item
        As listed.
    rating_a : float or None
        A; None where it is not listed.
    reading : FuseReading
        Family as its text is understood.
    ahead, behind : int or None
        Net that feeds it; net that it feeds. None ahead of an output, whose box is not gone into.
    inlet, outlet : Contact
        Its contacts there.
    output : bool
        Whether it is a protected output and not a fuse of the list.
    """

    item: Item
    rating_a: float | None
    reading: FuseReading
    ahead: int | None
    behind: int
    inlet: Contact
    outlet: Contact
    output: bool = False

    @property
    def subject(self) -> tuple[str, str]:
        """Subject of findings about it."""
        return ("component" if self.output else "fuse", self.item.name)

    @property
    def families(self) -> tuple[str, ...]:
        """Families with limits that it may be; empty where its text does not say or a family has none."""
        made = possible_families(self.reading, self.rating_a)
        return made if self.rating_a is not None and all(fuse_limits(name) for name in made) else ()

    @property
    def family(self) -> str:
        """Its family; empty where that is not known."""
        made = possible_families(self.reading, self.rating_a)
        return made[0] if len(made) == 1 else ""

    def cell(self, column: str) -> Place | None:
        """Cell of one of its columns in the list of fuses; its name's place where it is not listed there."""
        row = self.item.details.row
        return row.of(column, "fuse", "component") if row else self.item.place

    def mark(self, column: str = "rating_a", label: str = "") -> tuple[Mark, ...]:
        """Mark on that cell."""
        place = self.cell(column)
        return (Mark(place, label or self.item.name),) if place else ()


class FuseFacts(NamedTuple):
    """One fuse as plain data; as `harnessdrc.results.FuseLine`."""

    fuse: str
    family: str
    colour: str
    rating_a: float | None
    load_a: float | None
    state: str
    thinnest: str
    thinnest_allowed_a: float | None
    fault_a: float | None
    fault_wire: str
    clears_s: float | None
    withstands_s: float | None
    lacking: tuple[str, ...]
    mark: Mark | None


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
    def ahead(self) -> dict[int, str | None]:
        """Live net → key of the last fuse on its way from the battery, None where there is none."""
        level, items = self.design.feeds.level, self.design.harness.items
        found: dict[int, str | None] = {}

        def rank(key: str | None) -> tuple[bool, bool, float, Any]:
            """Those that protect less last."""
            rating_a = self._rating_a(key) if key is not None else None
            return key is None, rating_a is None, rating_a or 0.0, natural_key(items[key].name) if key else ()

        for number in sorted(level, key=lambda each: (level[each], each)):
            if level[number] == 0:
                found[number] = None
            elif number in self.outputs:
                found[number] = self.outputs[number][0].item
            else:
                ways = [
                    item if kind == "fuse" else found[other]
                    for kind, other, item in self._between.get(number, ())
                    if level.get(other) == level[number] - 1
                ]
                found[number] = max(ways, key=rank)
        return self._behind_outputs(found)

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
        level, net_of, items = self.design.feeds.level, self.design.net.net_of, self.design.harness.items
        shorted = self.design.feeds.shorted
        found = []
        for element in self.design.net.elements:
            if element.kind != "fuse":
                continue
            one, other, inlet, outlet = net_of.get(element.a), net_of.get(element.b), element.a, element.b
            if one is None or other is None or one == other or level.get(one) == level.get(other):
                continue
            if level.get(one, _DEAD) > level.get(other, _DEAD):
                one, other, inlet, outlet = other, one, outlet, inlet
            if one in shorted or other in shorted:
                continue  # told as a short circuit
            item = items[element.item]
            found.append(Fuse(item, self._rating_a(item.key), _reading(item), one, other, inlet, outlet))
        found.sort(key=lambda fuse: natural_key(fuse.item.name))
        outputs = [
            Fuse(items[c.item], rating_a, _reading(items[c.item]), None, number, c, c, output=True)
            for number, (c, rating_a) in self.outputs.items()
        ]
        outputs.sort(key=lambda fuse: (natural_key(fuse.item.name), fuse.outlet))
        seen: set[str] = set()
        for fuse in outputs:
            if fuse.item.key not in seen:
                seen.add(fuse.item.key)
                found.append(fuse)
        return tuple(found)

    @cached_property
    def by_key(self) -> dict[str, Fuse]:
        """Fuses by the key of their items."""
        return {fuse.item.key: fuse for fuse in self.fuses}

    @cached_property
    def wires_behind(self) -> dict[str, list[int]]:
        """Key of a fuse with a rating → numbers of the wires it protects in `harness.wires`."""
        fuse_of_net = {
            number: key
            for number, key in self.ahead.items()
            if key in self.by_key and self.by_key[key].rating_a is not None
        }
        found: dict[str, list[int]] = {}
        if not fuse_of_net:
            return found
        net_of, shorted = self.design.net.net_of, self.design.feeds.shorted
        for number, wire in enumerate(self.design.harness.wires):
            if wire.cores != 1:
                continue
            for end in (wire.a, wire.b):
                net = net_of.get(end) if end is not None else None
                if net is not None:
                    key = fuse_of_net.get(net)
                    if key is not None and net not in shorted:
                        found.setdefault(key, []).append(number)
                    break
        return found

    # ------------------------------------------------------------------ what a fuse carries
    @cached_property
    def _parts(self) -> dict[str, int]:
        """Item of a fuse → number of its part in the circuit."""
        return {part.name: number for number, part in enumerate(self.design.circuit.parts) if part.kind == "fuse"}

    @cached_property
    def _unknown(self) -> dict[str, list[str]]:
        """Key of a fuse → loads behind it, however many further fuses lie between, whose current is not known."""
        found: dict[str, list[str]] = {}
        for load in self.design.loads.all:
            if load.current_a is not None:
                continue
            keys: set[str] = set()
            for contact in load.feeds:
                net = self.design.net.net_of.get(contact)
                while net is not None:
                    key = self.ahead.get(net)
                    if key is None or key in keys:
                        break
                    keys.add(key)
                    net = self.by_key[key].ahead if key in self.by_key else None
            for key in keys:
                found.setdefault(key, []).append(load.device.name)
        return {key: sorted(names, key=natural_key) for key, names in found.items()}

    def load(self, fuse: Fuse) -> FuseLoad:
        """What a fuse carries for hours: the greatest average over the states in which the starter does not turn."""
        analysis = self.design.analysis
        number = self._parts.get(fuse.item.key) if analysis.solved else None
        unknown = tuple(self._unknown.get(fuse.item.key, ()))
        if number is None:
            return FuseLoad(None, "", unknown)
        every = range(len(analysis.states))
        lasting = [n for n in every if not analysis.states[n].starter] or list(every)
        amps = np.abs(analysis.part_currents.average[number, lasting])
        if np.isnan(amps).all():
            return FuseLoad(None, "", unknown)
        greatest_a = float(np.nanmax(amps))
        # of states that are alike the first stands, whatever the last digits say
        worst = lasting[int(np.flatnonzero(amps >= greatest_a * (1 - 1e-9))[0])]
        return FuseLoad(greatest_a, analysis.states[worst].name, unknown)

    # ------------------------------------------------------------------ what it protects
    @cached_property
    def _inlets(self) -> dict[Contact, float]:
        """Inlets of fuses with one wire on them, with the rating, A: that wire carries no more for long."""
        at = self.design.net.wires_at
        return {f.inlet: f.rating_a for f in self.fuses if not f.output and f.rating_a and len(at[f.inlet]) == 1}

    def held_a(self, wire: Wire, rating_a: float) -> float:
        """Rating that holds the current of a wire behind a fuse, A.

        Overload may be held at either end of a wire: one that leads to nothing but a further fuse carries no more than
        that lets through. A short circuit on it is for the fuse ahead alone.
        """
        ends = [self._inlets[end] for end in (wire.a, wire.b) if end is not None and end in self._inlets]
        return min([rating_a, *ends])

    def thinnest(self, fuse: Fuse) -> tuple[ThinnestWire, ThinnestWire] | None:
        """Wires that bear least of what their fuses let them carry: with all that is lacking at its best, at its worst.

        Returns
        -------
        tuple of ThinnestWire or None
            Both the same wire where nothing is lacking; None where no wire behind it can be judged.
        """
        if fuse.item.key not in self._thinnest:
            self._thinnest[fuse.item.key] = self._find_thinnest(fuse)
        return self._thinnest[fuse.item.key]

    @cached_property
    def _thinnest(self) -> dict[str, tuple[ThinnestWire, ThinnestWire] | None]:
        return {}

    def _find_thinnest(self, fuse: Fuse) -> tuple[ThinnestWire, ThinnestWire] | None:
        numbers = self.wires_behind.get(fuse.item.key)
        if not numbers or fuse.rating_a is None:
            return None
        sizing, wires = self.design.sizing, self.design.harness.wires
        held = np.array([self.held_a(wires[n], fuse.rating_a) for n in numbers])
        low, usual, high = (
            values[numbers].astype(float) for values in (sizing.allowed_low_a, sizing.allowed_a, sizing.allowed_high_a)
        )
        if np.isnan(high).all():
            return None
        found = []
        for values in (high, low):
            share = np.nan_to_num(held / np.maximum(values, 1e-9), nan=0.0)
            alike = np.flatnonzero(share >= share.max() * (1 - 1e-6)).tolist()
            at = min(alike, key=lambda n: natural_key(wires[numbers[n]].name))
            found.append(
                ThinnestWire(wires[numbers[at]], float(held[at]), float(low[at]), float(usual[at]), float(high[at]))
            )
        return found[0], found[1]

    def worst_fault(self, fuse: Fuse, clear_s: float) -> WorstFault | None:
        """The fault behind a fuse that it is least sure to clear; None where it protects no wire, or for an output."""
        if clear_s not in self._worst_faults:
            self._worst_faults[clear_s] = self._find_worst_faults(clear_s)
        return self._worst_faults[clear_s].get(fuse.item.key)

    @cached_property
    def _worst_faults(self) -> dict[float, dict[str, WorstFault]]:
        return {}

    def _find_worst_faults(self, clear_s: float) -> dict[str, WorstFault]:
        """For all fuses at once: what is known of the ways is let go afterwards."""
        faults, wires = Faults(self.design), self.design.harness.wires
        found = {}
        for fuse in self.fuses:
            numbers = self.wires_behind.get(fuse.item.key)
            if numbers and fuse.rating_a is not None and not fuse.output:
                worst = faults.worst([wires[n] for n in numbers], fuse.families, fuse.rating_a, clear_s)
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


def _reading(item: Item) -> FuseReading:
    return read_family(item.details.family) if item.details.family else FuseReading(None)


@lru_cache(maxsize=4096)
def possible_families(reading: FuseReading, rating_a: float | None) -> tuple[str, ...]:
    """Families that a fuse may be: of several that its text may mean those that are made in its rating."""
    if reading.family:
        return (reading.family,)
    return tuple(n for n in reading.candidates if rating_a in standard_ratings(n)) or reading.candidates


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
        rating_a = protection.by_key[key].rating_a
        if rating_a is not None:
            found |= {wires[number].name: protection.held_a(wires[number], rating_a) for number in numbers}
    return found


def colour_of(fuse: Fuse) -> str:
    """Colour that a fuse of its rating has by the standard, where all families that it may be agree."""
    return "" if fuse.rating_a is None else _colour(fuse.reading, fuse.rating_a)


@lru_cache(maxsize=4096)
def _colour(reading: FuseReading, rating_a: float) -> str:
    names = possible_families(reading, rating_a) or tuple(fuse_families())
    found = {known.colour for name in names if (known := fuse_colour(name, rating_a)) is not None}
    return found.pop() if len(found) == 1 else ""


def _clears_s(fault: WorstFault | None) -> float | None:
    """Longest time a fuse takes, s: inf where it may never open, None where that is not known."""
    if fault is None:
        return None
    return math.inf if fault.verdict == "may not open" and fault.clears_s is None else fault.clears_s


def fuse_lines(design: Design, clear_s: float = 5.0) -> tuple[FuseFacts, ...]:
    """Every fuse of a design as plain data, by name.

    Parameters
    ----------
    design : Design
        The design.
    clear_s : float
        Time within which a fuse should clear a fault, s, as the rule has it.
    """
    protection = protection_of(design)
    lines = []
    for fuse in protection.fuses:
        load = protection.load(fuse)
        lacking = [f"current of {name}" for name in load.unknown]
        if fuse.rating_a is None:
            lacking.append(f"rating of {fuse.item.name}")
        if not fuse.family and not fuse.output:
            lacking.append(f"family of {fuse.item.name}")
        thinnest = protection.thinnest(fuse)
        thin = thinnest[1] if thinnest else None
        if thin is not None and thin.high_a > thin.low_a:
            lacking += design.sizing.lacking(thin.wire.name)
        fault = protection.worst_fault(fuse, clear_s)
        if fault is not None:
            lacking += fault.lacking
        mark = fuse.mark()
        size = thin.wire.size if thin is not None else None
        lines.append(
            FuseFacts(
                fuse.item.name,
                fuse.family,
                colour_of(fuse),
                fuse.rating_a,
                load.current_a,
                load.state,
                " ".join(filter(None, (thin.wire.name, f"({size})" if size else ""))) if thin is not None else "",
                thin.low_a if thin is not None else None,
                fault.current_a if fault is not None else None,
                fault.wire.name if fault is not None else "",
                _clears_s(fault),
                fault.withstands_s if fault is not None else None,
                tuple(dict.fromkeys(lacking)),
                mark[0] if mark else None,
            )
        )
    return tuple(lines)
