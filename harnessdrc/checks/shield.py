"""Checks on shields: whether there is a drain, and what it ends on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from harnessdrc.checks.registry import Outcome, check
from harnessdrc.design import Contact, Design
from harnessdrc.findings import Finding, Mark, Subject, Undecided
from harnessdrc.harness.elements import Wire
from harnessdrc.harness.groups import Shield
from harnessdrc.harness.roles import GROUND_ROLES

__all__ = ["drain"]

_RIGHT = GROUND_ROLES | {"sensor ground", "shield drain", "spare"}
"""Roles that a drain may end on; a pin said to be spare is for cavity.unused_but_wired."""


def _needs_drain(shield: Shield) -> bool:
    """Whether a shield is connected by a drain wire: a conduit is by its clamps."""
    return bool(shield.drains) or all(wire.shield_material != "steel conduit" for wire in shield.inside)


def _subjects(design: Design, limits: None) -> list[Subject]:
    return [("shield", shield.name) for shield in design.shields if _needs_drain(shield)]


def _reached(design: Design, contact: Contact, drains: set[str]) -> list[Contact]:
    """What a contact is joined to by copper other than the drains, itself first."""
    seen, front = [contact], [contact]
    while front:
        here = front.pop()
        if here in design.net.earths:
            continue
        for near, kind, via in design.net.neighbours(here):
            if near not in seen and (kind == "mate" or (kind == "wire" and via.name not in drains)):
                seen.append(near)
                front.append(near)
    return seen


def _ends(drains: Sequence[Wire]) -> list[tuple[Contact, Wire]]:
    """Contacts of the drains, each once, in the order of their names."""
    found: dict[Contact, Wire] = {}
    for wire in drains:
        for contact in (wire.a, wire.b):
            if contact is not None:
                found.setdefault(contact, wire)
    return sorted(found.items(), key=lambda end: end[0])


def _wrong_end(design: Design, contact: Contact, drains: set[str]) -> tuple[Contact, str] | None:
    """The contact with a role of another kind that an end of a drain reaches; None where a right one is reached too."""
    reached = _reached(design, contact, drains)
    if any(each in design.net.earths or design.role(each) in _RIGHT for each in reached):
        return None
    roles = [(each, design.role(each)) for each in sorted(reached)]
    wrong = [(each, role) for each, role in roles if role is not None]
    return next((each for each in wrong if each[0] == contact), wrong[0] if wrong else None)


@check(
    "shield.drain",
    counts="shields that a drain wire connects",
    subjects=_subjects,
    reads=("shield", "shield_material", "signal", "role", "from_item", "to_item"),
    says={
        "": "{subject}, round {inside}, has no drain wire: nothing connects it.",
        "wrong": "The drain of {subject}, wire {wire}, ends on {end}, which has the role {role} and is no ground.",
    },
    remedy={
        "": "Add its drain to the list, from the shield to the controller's shield pin or ground, the other end open.",
        "wrong": "Put the drain on the controller's shield pin, its ground, or an earth point.",
    },
)
def drain(design: Design, limits: None) -> Iterator[Outcome]:
    """A shield has no drain wire, or one that ends on a signal or a feed.

    Why it matters: A shield that nothing connects only looks like one. On a signal it brings into it all that it keeps
    off the others; on a feed it is a fault to ground as soon as it touches metal.
    Reads: Shield, Shield material, Signal, Colour, From and To of the wire list; Role and Signal of the pin list.
    Decides: Each shield with wires in it has a drain. What the ends of the drain are joined to by other wires and mated
    connectors includes an earth point or a contact whose role is a ground, sensor ground or shield drain, or has no
    other known role.
    Stays silent when: it does; for a steel conduit, which its clamps connect. Which ends are connected, one or both,
    is for trigger.shield. A drain with both ends open or not given is undecided.
    Source: common practice, no source.
    """
    for shield in design.shields:
        if not _needs_drain(shield):
            continue
        subject: Subject = ("shield", shield.name)
        if not shield.drains:
            names = [wire.name for wire in shield.inside]
            told = ", ".join(names[:4]) + (f" and {len(names) - 4} more" if len(names) > 4 else "")
            yield Finding(
                subject,
                tuple(Mark(wire.place.of("shield"), f"in shield {shield.name}") for wire in shield.inside),
                {"inside": f"{'wire' if len(names) == 1 else 'wires'} {told}"},
            )
            continue
        drains = {wire.name for wire in shield.drains}
        ends = _ends(shield.drains)
        if not ends:
            marks = tuple(Mark(wire.place.of("from_item", "wire"), f"drain {wire.name}") for wire in shield.drains)
            yield Undecided(subject, (f"where the drain of shield {shield.name} is connected",), marks)
            continue
        for contact, wire in ends:
            wrong = _wrong_end(design, contact, drains)
            if wrong is not None:
                far, role = wrong
                yield Finding(
                    subject,
                    (
                        Mark(wire.end_place(contact), f"drain of shield {shield.name}"),
                        *(design.devices.mark(far, role) if far != contact else ()),
                    ),
                    {"wire": wire.name, "end": design.label(far), "role": role},
                    variant="wrong",
                )
                break
