"""Which of several changes made at once may have made a trouble."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from harnessdrc.advice.edits import AddWire, Change, CutBack, MoveEnd
from harnessdrc.advice.proving import Trouble
from harnessdrc.design import Contact, Design
from harnessdrc.harness.elements import Wire, rigid_body

__all__ = ["Reach", "blamed", "reaches_of"]


@dataclass(frozen=True, slots=True)
class Reach:
    """What a change touches: wires, devices on their nets, names of the contacts there, bodies it leads current to."""

    wires: frozenset[str]
    devices: frozenset[str]
    labels: frozenset[str]
    bodies: frozenset[str]


def reaches_of(design: Design, changes: Iterable[Change]) -> dict[Change, Reach]:
    """What each change touches in the design without it."""
    changes = list(changes)
    named = {name for change in changes for name in change.names}
    wires = {wire.name: wire for wire in design.harness.wires if wire.name in named}
    return {change: _reach(design, change, wires) for change in changes}


def _reach(design: Design, change: Change, wires: Mapping[str, Wire]) -> Reach:
    contacts: set[Contact] = set()
    bodies: set[str] = set()
    for edit in change.edits:
        match edit:
            case MoveEnd() | AddWire():
                contacts |= {edit.start, edit.end}
                if edit.end in design.net.earths and (body := design.devices.rigid(edit.end)):
                    bodies.add(body)
            case CutBack():
                contacts.add(edit.contact)
    contacts |= {c for name in change.names if (w := wires.get(name)) for c in (w.a, w.b) if c is not None}
    members = {m for c in contacts if (net := design.net.net(c)) is not None for m in net.contacts} | contacts
    owners = {design.harness.items[c.item].owner for c in members if c.item in design.harness.items}
    return Reach(
        change.names,
        frozenset(design.devices.by_key[key].name for key in owners if key in design.devices.by_key),
        frozenset(design.label(c) for c in members),
        frozenset(bodies),
    )


def _bodies_of(design: Design, name: str) -> set[str]:
    """Bodies that the current of a component goes to."""
    device = next((d for d in design.devices.all if d.name == name), None)
    if device is None:
        return set()
    found = {design.devices.rigid(r.earth) for r in design.grounds.reached(list(device.contacts))}
    if device.item.case_earthed:
        found.add(rigid_body(device.body))
    return {body for body in found if body}


def blamed(design: Design, reaches: Mapping[Change, Reach], troubles: Sequence[Trouble]) -> set[Change]:
    """Changes that may have made one of the troubles; all of them where a trouble cannot be told to be of some.

    Parameters
    ----------
    design : Design
        The design without the changes.
    reaches : mapping of Change to Reach
        The changes made at once.
    troubles : sequence of Trouble
        What spoke against them.
    """
    found: set[Change] = set()
    for trouble in troubles:
        kind, name = trouble.key[2]
        own = {
            change
            for change, reach in reaches.items()
            if (kind == "wire" and name in reach.wires)
            or (kind == "component" and name in reach.devices)
            or any(label == name or f" {label} " in f" {name} " for label in reach.labels)
        }
        if trouble.what == "worse":
            bodies = _bodies_of(design, name)
            own |= {change for change, reach in reaches.items() if reach.bodies & bodies}
        found |= own or set(reaches)
        if len(found) == len(reaches):
            break
    return found
