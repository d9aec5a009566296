"""Coils as they fire: which plugs, over which leads, and where the spark current comes back to the coil."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, NamedTuple

from harnessdrc.design.devices import Device, Devices
from harnessdrc.harness.connectivity import Connectivity
from harnessdrc.harness.elements import Contact, Harness, Wire
from harnessdrc.harness.names import natural_key

__all__ = ["CoilSet", "Leg", "Spark", "Style", "coil_sets", "return_contacts", "two_terminal"]

Style = Literal["separate ground", "shared ground", "case", "two terminals", "wasted spark", "no return known"]

_FIRED = ("spark plug", "distributor")
_FEEDS = ("load feed", "switched feed", "fused feed", "battery feed")


class Leg(NamedTuple):
    """Plug lead between two items, as its folded names; its length as listed, m, and the wire where it is one."""

    start: str
    end: str
    length_m: float | None
    wire: Wire | None = None


class Spark(NamedTuple):
    """One spark: the legs from the coil to the plug, or from plug to plug for a wasted spark.

    `plugs` are folded names; empty where the list does not say what the coil fires.
    """

    plugs: tuple[str, ...]
    legs: tuple[Leg, ...]


@dataclass(frozen=True, slots=True)
class CoilSet:
    """A coil with what it fires.

    Parameters
    ----------
    coil : Device
        The coil.
    style : str
        How its secondary is closed: by a ground of its own, a ground shared with the primary, its case, the primary's
        positive (two terminals), or the second plug (wasted spark).
    returns : tuple of Contact
        Contacts by which the spark current comes back; empty for a case and for a wasted spark.
    sparks : tuple of Spark
        One for each plug, or pair of plugs; a single one without plugs where they are not given.
    """

    coil: Device
    style: Style
    returns: tuple[Contact, ...]
    sparks: tuple[Spark, ...]

    @property
    def plugs(self) -> tuple[str, ...]:
        """Folded names of all plugs it fires."""
        return tuple(dict.fromkeys(plug for spark in self.sparks for plug in spark.plugs))


def return_contacts(devices: Devices, coil: Device) -> list[Contact]:
    """Contacts of a coil by which its spark current comes back: a return of its own, else its ground."""
    own = devices.with_role(coil, "coil high-voltage return")
    return own or devices.with_role(coil, "coil ground", "power ground")


def two_terminal(devices: Devices, coil: Device) -> bool:
    """Whether a coil has no ground: a feed and a switched side (one per output for a twin coil)."""
    inputs = devices.with_role(coil, "coil input")
    return bool(
        coil.contacts
        and not return_contacts(devices, coil)
        and not coil.item.case_earthed
        and (inputs or devices.with_role(coil, "coil primary -"))
        and not (inputs and len(coil.contacts) > 2)
    )


def positive(devices: Devices, coil: Device) -> Contact | None:
    """Positive terminal of a coil."""
    found = devices.with_role(coil, *_FEEDS)
    return found[0] if found else None


def coil_sets(harness: Harness, devices: Devices, net: Connectivity) -> tuple[CoilSet, ...]:
    """Every coil that is wired, in the order of the list."""
    finder = _Finder(harness, devices, net)
    return tuple(finder.coil_set(coil) for coil in devices.of_kind("coil") if coil.contacts)


class _Finder:
    def __init__(self, harness: Harness, devices: Devices, net: Connectivity) -> None:
        self.harness, self.devices, self.net = harness, devices, net
        self.leads: dict[frozenset[str], Wire] = {}
        """Plug leads that the list has as wires, by the components at their ends."""
        for device in devices.of_kind(*_FIRED):
            for contact in device.contacts:
                for wire in net.wires_at[contact]:
                    other = wire.other(contact)
                    if other is not None and (owner := harness.items[other.item].owner) != device.key:
                        self.leads.setdefault(frozenset((device.key, owner)), wire)

    def coil_set(self, coil: Device) -> CoilSet:
        sparks = self._sparks(coil)
        if any(len(spark.plugs) == 2 for spark in sparks):
            return CoilSet(coil, "wasted spark", (), sparks)
        own = self.devices.with_role(coil, "coil high-voltage return")
        ground = return_contacts(self.devices, coil)
        if own:
            return CoilSet(coil, "separate ground", tuple(own), sparks)
        if ground:
            return CoilSet(coil, "shared ground", tuple(ground), sparks)
        if coil.item.case_earthed:
            return CoilSet(coil, "case", (), sparks)
        plus = positive(self.devices, coil)
        if two_terminal(self.devices, coil) and plus is not None:
            return CoilSet(coil, "two terminals", (plus,), sparks)
        return CoilSet(coil, "no return known", (), sparks)

    def _sparks(self, coil: Device) -> tuple[Spark, ...]:
        outputs = coil.item.details.fires or tuple((name,) for name in self._wired_to(coil.key))
        primaries = len(self.devices.with_role(coil, "coil input", "coil primary -"))
        alone = all(len(output) == 1 for output in outputs)
        if len(outputs) == 2 and primaries <= 1 and alone and not self._distributors(outputs):
            outputs = ((outputs[0][0], outputs[1][0]),)  # two plugs on one primary fire together
        sparks: list[Spark] = []
        for output in outputs:
            if len(output) == 2 and not self._distributors((output,)):
                sparks.append(Spark(output, (self._leg(output[0], coil.key), self._leg(coil.key, output[1]))))
                continue
            for name in output:
                first = self._leg(coil.key, name)
                if not self._distributors(((name,),)):
                    sparks.append(Spark((name,), (first,)))
                    continue
                outputs_of = self.harness.items[name].details.fires
                fired = [plug for group in outputs_of for plug in group] or self._wired_to(name)
                sparks += [Spark((plug,), (first, self._leg(name, plug))) for plug in fired if plug != coil.key]
                if not fired:
                    sparks.append(Spark((), (first,)))
        return tuple(sparks) or (Spark((), ()),)

    def _distributors(self, outputs: tuple[tuple[str, ...], ...]) -> bool:
        """Whether one of these is a distributor."""
        items = (self.harness.items.get(name) for output in outputs for name in output)
        return any(item is not None and item.kind == "distributor" for item in items)

    def _wired_to(self, key: str) -> list[str]:
        """Plugs and distributors that wires of the list lead to from a coil or distributor."""
        names = {name for ends in self.leads if key in ends for name in ends - {key}}
        return sorted((n for n in names if self.harness.items[n].kind in _FIRED), key=natural_key)

    def _leg(self, start: str, end: str) -> Leg:
        """Plug lead between two items, as long as its wire, else as the plug's row has it, else as the coil's."""
        wire = self.leads.get(frozenset((start, end)))
        length_m = wire.length_m if wire is not None else None
        ends = [item for key in (end, start) if (item := self.harness.items.get(key)) is not None]
        for item in sorted(ends, key=lambda each: each.kind != "spark plug"):
            if length_m is None:
                length_m = item.details.lead_m
        return Leg(start, end, length_m, wire)
