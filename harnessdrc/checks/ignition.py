"""Checks on coils: where the high-voltage current returns, and what closes its loop."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from harnessdrc.checks.registry import Outcome, check, limit
from harnessdrc.design import Contact, Design, Device
from harnessdrc.findings import Finding, Mark, Undecided
from harnessdrc.harness.elements import rigid_body

__all__ = ["capacitor", "high_voltage_return"]


@dataclass(frozen=True, slots=True)
class ReturnLimits:
    """Where the return may end."""

    bodies: tuple[str, ...] = limit(("head",), "", "bodies at which the high-voltage return may end")


def _return_contacts(design: Design, coil: Device) -> list[Contact]:
    own = design.devices.with_role(coil, "coil high-voltage return")
    return own or design.devices.with_role(coil, "coil ground", "power ground")


def _way_back(design: Design, body: str) -> str:
    """Way of the spark current from the plug's seat to the body at which a coil's return ends."""
    rigid = rigid_body(body) or ""
    return "the joint of head and block" if rigid == "engine" else design.grounds.strap_way("engine", rigid)


def _earthed_coils(design: Design) -> list[Device]:
    return [coil for coil in design.devices.of_kind("coil") if _return_contacts(design, coil) or coil.item.case_earthed]


@check(
    "ignition.high_voltage_return",
    counts="coils with a ground of their own",
    subjects=lambda design, limits: [coil.subject for coil in _earthed_coils(design)],
    reads=("from_item", "to_item"),
    limits=ReturnLimits,
    says={
        "": "The high-voltage return of {subject}, {contact}, ends at {earth} on the {body}: the spark "
        "current runs from the plug through {way_back} before it is back at the coil.",
        "open": "The high-voltage return of {subject}, {contact}, reaches no earth point.",
        "case": "The high-voltage return of {subject}, its case, is on the {body}: the spark current runs from "
        "the plug through {way_back} before it is back at the coil.",
    },
    remedy={
        "": "Take wire {wire} to an earth point on the cylinder head, beside the plugs.",
        "open": "Take {contact} to an earth point on the cylinder head, beside the plugs.",
        "case": "Bolt {subject} to the cylinder head, or fit a short strap from its case to the head.",
    },
)
def high_voltage_return(design: Design, limits: ReturnLimits) -> Iterator[Outcome]:
    """The high-voltage current of a coil does not return at the cylinder head.

    Why it matters: The spark current starts at the plug's seat in the head. If the coil's return is
    elsewhere, amperes with nanosecond edges run through straps and looms; the loop is large and trigger
    wires pick it up.
    Reads: From and To of the wire list, the roles of the coil's pins, the bodies of the earth points.
    Decides: Follows the copper from the coil's high-voltage return (for a coil with one shared ground, from
    that) to its earth points; all must stand on one of the bodies allowed.
    Stays silent when: it ends at the head. A two-terminal coil is looked at by ignition.capacitor.
    Source: common practice, no source.
    """
    for coil in _earthed_coils(design):
        contacts = _return_contacts(design, coil)
        if not contacts:
            if coil.body in limits.bodies:
                continue
            if coil.body is None or coil.body == "engine":
                yield Undecided(
                    coil.subject, (f"place of {coil.name}: head or block",), design.devices.mark_device(coil)
                )
                continue
            yield Finding(
                coil.subject,
                design.devices.mark_device(coil),
                {"body": coil.body, "way_back": _way_back(design, coil.body)},
                variant="case",
            )
            continue
        reached = design.grounds.reached(contacts)
        if not reached:
            yield Finding(
                coil.subject,
                design.devices.mark(contacts[0], "high-voltage return"),
                {"contact": design.label(contacts[0])},
                variant="open",
                follows_from=("ground.no_return", coil.subject),
            )
            continue
        bodies = [design.devices.body(r.earth) for r in reached]
        vague = [
            r
            for r, body in zip(reached, bodies, strict=True)
            if body is None or (body == "engine" and "engine" not in limits.bodies)
        ]
        far = [r for r, body in zip(reached, bodies, strict=True) if body not in limits.bodies and r not in vague]
        if far:
            first = far[0]
            body = bodies[reached.index(first)] or ""
            yield Finding(
                coil.subject,
                (
                    Mark(first.wire.end_place(first.earth), "end of the high-voltage return"),
                    *design.devices.mark(first.start, "high-voltage return"),
                ),
                {
                    "contact": design.label(first.start),
                    "earth": design.label(first.earth),
                    "body": body,
                    "wire": first.wire.name,
                    "way_back": _way_back(design, body),
                },
            )
        elif vague:
            yield Undecided(
                coil.subject,
                (f"body of earth point {design.label(vague[0].earth)}: head or block",),
                (
                    *design.devices.mark(vague[0].start),
                    Mark(vague[0].wire.end_place(vague[0].earth), design.label(vague[0].earth)),
                ),
            )


def _terminal_of(design: Design, contact: Contact) -> str:
    """Positive terminal in a sentence, of a coil whose terminals are not named too."""
    return design.label(contact) if contact.cavity and not contact.cavity.startswith("?") else "the + terminal"


def _positive(design: Design, coil: Device) -> Contact | None:
    found = design.devices.with_role(coil, "load feed", "switched feed", "fused feed", "battery feed")
    return found[0] if found else None


def _two_terminal(design: Design) -> list[Device]:
    """Coils without a ground: a feed and a switched side (one per output for a twin coil)."""
    return [
        coil
        for coil in design.devices.of_kind("coil")
        if coil.contacts
        and not _return_contacts(design, coil)
        and not coil.item.case_earthed
        and design.devices.with_role(coil, "coil primary -", "coil input")
        and not (design.devices.with_role(coil, "coil input") and len(coil.contacts) > 2)
    ]


@check(
    "ignition.capacitor",
    counts="two-terminal coils",
    subjects=lambda design, limits: [coil.subject for coil in _two_terminal(design)],
    reads=("from_item", "to_item"),
    says={
        "": "{subject} has two terminals, and there is no capacitor from {contact}, its positive, to the "
        "engine: its high-voltage current returns through the feed, the fuses, the battery and the straps.",
        "elsewhere": "The capacitor {capacitor} on the positive of {subject} is earthed at {earth} on the "
        "{body}, not on the engine: the high-voltage current returns through the straps.",
    },
    remedy={
        "": "Fit a suppression capacitor between {contact} and the engine, close to the coil.",
        "elsewhere": "Earth {capacitor} on the engine, close to the coil.",
    },
)
def capacitor(design: Design, limits: None) -> Iterator[Outcome]:
    """A two-terminal coil has no suppression capacitor from its positive to the engine.

    Why it matters: The secondary of a two-terminal coil ends on its primary. Without a capacitor its
    spark current has only the feed to return by, along the loom, the fuses, the battery and the straps.
    Reads: From and To of the wire list, the component list (kind capacitor).
    Decides: A capacitor must stand on the net of the coil's positive terminal, and its other side must
    reach an earth point on the engine (head, block or engine) or be earthed there by its case.
    Stays silent when: such a capacitor is there, or the coil has a ground of its own.
    Source: common practice, no source.
    """
    capacitors = design.devices.of_kind("capacitor")
    for coil in _two_terminal(design):
        positive = _positive(design, coil)
        if positive is None:
            yield Undecided(
                coil.subject,
                (f"which pin of {coil.name} is its positive (signal or role)",),
                design.devices.mark_device(coil),
            )
            continue
        net = design.net.net(positive)
        members = set(net.contacts) if net else {positive}
        best: Finding | Undecided | None = Finding(
            coil.subject,
            design.devices.mark(positive, "positive of the coil"),
            {"contact": _terminal_of(design, positive)},
        )
        for device in capacitors:
            if not members & set(device.contacts):
                continue
            others = [c for c in device.contacts if c not in members]
            reached = design.grounds.reached(others)
            bodies = [design.devices.rigid(r.earth) for r in reached]
            if device.item.case_earthed or (not others and device.body):
                bodies.append(rigid_body(device.body))
            if "engine" in bodies:
                best = None
                break
            if None in bodies or not bodies:
                best = Undecided(
                    coil.subject,
                    (f"where {device.name} is earthed",),
                    design.devices.mark_device(device),
                )
                continue
            if isinstance(best, Undecided):
                continue
            best = Finding(
                coil.subject,
                design.devices.mark_device(device) + design.devices.mark(positive, "positive of the coil"),
                {
                    "contact": _terminal_of(design, positive),
                    "capacitor": device.name,
                    "earth": design.label(reached[0].earth) if reached else "its case",
                    "body": bodies[0],
                },
                variant="elsewhere",
            )
        if best is not None:
            yield best
