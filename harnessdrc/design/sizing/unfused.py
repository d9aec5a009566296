"""Copper that is live without a fuse ahead of it, up to the first fuse or the first device on it."""

from __future__ import annotations

from collections.abc import Container
from heapq import heappop, heappush
from typing import TYPE_CHECKING, Any, NamedTuple

from harnessdrc.design.conductors import conductor_mm2
from harnessdrc.design.devices import Device
from harnessdrc.design.sizing.protection import protection_of
from harnessdrc.findings import Subject
from harnessdrc.harness.connectivity import Element
from harnessdrc.harness.elements import Contact, Wire
from harnessdrc.harness.names import natural_key

if TYPE_CHECKING:
    from harnessdrc.design import Design

__all__ = ["Unfused", "unfused_feeds", "unfused_ways"]


_KEPT = "unfused feeds"


class Unfused(NamedTuple):
    """The way from a battery to a fuse, or to a device that has none.

    Parameters
    ----------
    subject : tuple of (str, str)
        The fuse or device.
    contact : Contact
        Its contact there.
    known_m : float
        Length of its wires as far as listed, those of the starter's cable left out, m.
    wires : tuple of Wire
        These wires from the battery on.
    lacking : tuple of Wire
        Those of them without a length.
    """

    subject: Subject
    contact: Contact
    known_m: float
    wires: tuple[Wire, ...]
    lacking: tuple[Wire, ...]


_Steps = dict[Contact, tuple[Contact, Wire | None] | None]


def unfused_feeds(design: Design) -> list[Unfused]:
    """Ways ahead of the first fuse: the longest of each fuse or device, by name; worked out once and kept."""
    kept: dict[str, Any] = design.analysis.kept
    if _KEPT not in kept:
        kept[_KEPT] = _find(design)
    found: list[Unfused] = kept[_KEPT]
    return found


def unfused_ways(design: Design) -> _Steps:
    """Contacts of copper without a fuse ahead, each with the one before it on its shortest way from a battery.

    Each stands behind the one before it.
    """
    bare = _bare(design)
    steps = _ways(design, bare, frozenset()) if bare else {}
    ordered: _Steps = {}
    for contact in steps:
        way: list[Contact] = []
        here: Contact | None = contact
        while here is not None and here not in ordered:
            way.append(here)
            before = steps[here]
            here = before[0] if before is not None else None
        ordered.update((each, steps[each]) for each in reversed(way))
    return ordered


def _bare(design: Design) -> set[int]:
    return {number for number, key in protection_of(design).ahead.items() if key is None}


def _find(design: Design) -> list[Unfused]:
    bare = _bare(design)
    if not bare:
        return []
    steps = _ways(design, bare, frozenset())
    steps = _ways(design, bare, {wire.name for wire in _starter_cable(design, bare, steps)})
    cable = {wire.name for wire in _starter_cable(design, bare, steps)}
    inside = {end for element in design.net.elements if element.kind != "fuse" for end in (element.a, element.b)}
    found: dict[Subject, Unfused] = {}
    for contact in steps:
        subject = None if contact in inside else _subject(design, contact)
        if subject is None:
            continue
        wires = tuple(wire for wire in _wires(steps, contact) if wire.name not in cable)
        each = Unfused(
            subject, contact, round(sum(wire.length_m or 0.0 for wire in wires), 9), wires,
            tuple(wire for wire in wires if wire.length_m is None),
        )  # fmt: skip
        before = found.get(subject)
        if before is None or (each.known_m, len(each.lacking), contact) > (
            before.known_m, len(before.lacking), before.contact,
        ):  # fmt: skip
            found[subject] = each
    return sorted(found.values(), key=lambda each: (each.subject[0], natural_key(each.subject[1])))


def _subject(design: Design, contact: Contact) -> Subject | None:
    """Fuse or device at the end of unfused copper; None for what passes it on, and for the starter."""
    item = design.harness.items[contact.item]
    if item.kind == "fuse":
        return ("fuse", item.name)
    device = design.devices.owner(contact)
    return None if device is None or device.kind in ("battery", "starter") else device.subject


def _ways(design: Design, bare: Container[int], cable: Container[str]) -> _Steps:
    """Contact of unfused copper → the one before it on its shortest way from a battery, and the wire in between."""
    net_of, net = design.net.net_of, design.net
    front = [(0.0, 0, contact) for contact in sorted(design.feeds.sources) if net_of.get(contact) in bare]
    best: dict[Contact, tuple[float, int, Contact, str]] = {contact: (0.0, 0, contact, "") for _, _, contact in front}
    steps: _Steps = {contact: None for _, _, contact in front}
    done: set[Contact] = set()
    while front:
        here_m, passed, here = heappop(front)
        if here in done:
            continue
        done.add(here)
        for near, kind, via in net.neighbours(here):
            if near in done or net_of.get(near) not in bare or kind not in ("wire", "mate", "element"):
                continue
            if isinstance(via, Element) and via.kind in ("fuse", "diode", "resistor"):
                continue
            wire = via if isinstance(via, Wire) else None
            step_m = 0.0 if wire is None or wire.name in cable else wire.length_m or 0.0
            # of ways as long the same one in any order of rows
            there = here_m + step_m, passed + 1, here, "" if wire is None else wire.name
            if near not in best or there < best[near]:
                best[near], steps[near] = there, (here, wire)
                heappush(front, (there[0], there[1], near))
    return steps


def _wires(steps: _Steps, contact: Contact) -> list[Wire]:
    """Wires of the way to a contact, from the battery on."""
    wires: list[Wire] = []
    here = contact
    while (before := steps[here]) is not None:
        here, wire = before
        if wire is not None:
            wires.append(wire)
    return wires[::-1]


def _starter_cable(design: Design, bare: Container[int], steps: _Steps) -> list[Wire]:
    """Wires from the battery to the main terminal of every starter: the thickest of its unfused ones."""

    def thickness(contact: Contact) -> tuple[float, Contact]:
        return max((conductor_mm2(w.size) for w in design.net.wires_at.get(contact, ())), default=0.0), contact

    def main(starter: Device) -> Contact | None:
        return max((c for c in starter.contacts if c in steps), key=thickness, default=None)

    mains = filter(None, map(main, design.devices.of_kind("starter")))
    return [wire for contact in mains for wire in _wires(steps, contact)]
