"""Checks on trigger wiring: twisted with its own return, shield connected at one end."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from harnessdrc.checks.registry import Outcome, check
from harnessdrc.design import Contact, Design, Device
from harnessdrc.findings import Finding, Mark, Subject, Undecided
from harnessdrc.harness.elements import Wire
from harnessdrc.harness.names import fold
from harnessdrc.harness.roles import GROUND_ROLES, RETURN_ROLES

__all__ = ["shield", "twisted_pair"]

def _signals(design: Design) -> list[tuple[Device, Contact]]:
    """Trigger sensors with their signal contact, where a controller reads it."""
    found = []
    for device in design.devices.of_kind("reluctor sensor", "Hall sensor"):
        for contact in design.devices.with_role(device, "trigger signal +"):
            found.append((device, contact))
            break
    return found


def _listed(wires: list[Wire]) -> str:
    """Wires in a sentence: ``wire W1, W2 and W3``."""
    names = [wire.name for wire in wires]
    return "wire " + " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def _to_controller(design: Design, contact: Contact) -> list[Contact]:
    """Shortest copper way from a contact to a pin of a controller; empty when there is none."""
    net = design.net.net(contact)
    pins = [member for member in (net.contacts if net else ()) if design.devices.on_controller(member)]
    return min((design.net.path(contact, pin) for pin in pins), key=lambda way: (len(way), way), default=[])


def _return_wires(design: Design, device: Device) -> list[Wire]:
    """Wires that carry a sensor's own current back: those on the way from its return to the controller.

    Other sensors' wires on the same splice are not among them. A return that reaches no controller has
    only the wires at its own pin.
    """
    wires: list[Wire] = []
    for own in design.devices.with_role(device, *RETURN_ROLES):
        way = design.net.wires_along(_to_controller(design, own))
        wires += way or sorted(design.net.wires_at.get(own, []), key=lambda w: w.name)
    return wires


@check(
    "trigger.twisted_pair",
    counts="trigger sensors read by a controller",
    subjects=lambda design, limits: [d.subject for d, _ in _signals(design)],
    reads=("from_item", "to_item", "twist"),
    says={
        "loose": "Wire {wire}, the signal of {subject}, is not twisted with its return: the pair is a loop "
        "that picks up the ignition.",
        "partner": "Wire {wire}, the signal of {subject}, is twisted with {partner} and not with {own}: the loop "
        "between signal and return stays open.",
    },
    remedy={
        "loose": "Twist wire {wire} over its whole length with {own}; give both the same twist group.",
        "partner": "Twist wire {wire} with {own}; give both the same twist group.",
    },
)
def twisted_pair(design: Design, limits: None) -> Iterator[Outcome]:
    """The signal of a trigger sensor is not twisted with its own return.

    Why it matters: Signal and return enclose an area; the field of coil and plug leads induces a voltage
    in it that the controller counts as teeth. A twisted pair leaves next to no area, but only when the
    signal is twisted with the wire that carries its own current back.
    Reads: From, To, Signal and Twist group of the wire list.
    Decides: Follows the signal from the sensor to the controller; each wire on the way must share its
    twist group with a wire of the same sensor's return (trigger signal - or sensor ground).
    Stays silent when: every wire of the signal lies in such a group.
    Source: common practice, no source; twisting against magnetic pick-up: Klipec 1967 (from memory).
    """
    listed = "twist" in design.harness.columns
    groups = design.twist_groups
    for device, contact in _signals(design):
        way = _to_controller(design, contact)
        if not way:
            yield Undecided(
                device.subject,
                (f"a way from {design.label(contact)} to the controller",),
                design.devices.mark(contact),
            )
            continue
        signal = design.net.wires_along(way)
        returns = _return_wires(design, device)
        if not listed and not groups:
            yield Undecided(
                device.subject,
                ("the twist group of its wires (the list has no such column)",),
                tuple(Mark(w.place.of("wire", "from_item"), f"wire {w.name}") for w in signal),
            )
            continue
        own_text = f"its return, wire {returns[0].name}" if returns else "its return"
        names = {w.name for w in returns}
        for wire in signal:
            group = groups.get(fold(wire.twist), ()) if wire.twist else ()
            others = [w for w in group if w.name != wire.name]
            evidence = {"wire": wire.name, "own": own_text}
            if not others:
                yield Finding(
                    device.subject,
                    (Mark(wire.place.of("twist", "wire", "from_item"), f"signal of {device.name}"),),
                    evidence,
                    variant="loose",
                )
                break
            if not any(w.name in names for w in others):
                yield Finding(
                    device.subject,
                    (
                        Mark(wire.place.of("twist", "wire", "from_item"), f"signal of {device.name}"),
                        *tuple(Mark(w.place.of("twist", "wire"), "its partner") for w in others),
                    ),
                    evidence | {"partner": _listed(others)},
                    variant="partner",
                )
                break


def _earthed(design: Design, contact: Contact, drains: set[str]) -> bool:
    """Whether a contact reaches a ground without the drain wires themselves."""
    seen = {contact}
    front = [contact]
    while front:
        here = front.pop()
        role = design.role(here)
        if here in design.net.earths or role in GROUND_ROLES or role == "sensor ground":
            return True
        if design.devices.on_controller(here):
            return True
        for near, kind, via in design.net.neighbours(here):
            if kind == "wire" and via.name in drains:
                continue
            if kind in ("wire", "mate") and near not in seen:
                seen.add(near)
                front.append(near)
    return False


def _unknown_ends(design: Design, drains: Sequence[Wire]) -> list[Contact]:
    """Ends of drain wires in a housing of which it isn't said what it belongs to or mates with."""
    found: set[Contact] = set()
    for wire in drains:
        for contact in (wire.a, wire.b):
            item = design.harness.items[contact.item] if contact is not None else None
            if contact is not None and item is not None and item.kind in (None, "connector") and item.mate is None:
                found.add(contact)
    return sorted(found)


@check(
    "trigger.shield",
    counts="shields",
    subjects=lambda design, limits: [("shield", shield.name) for shield in design.shields],
    reads=("shield", "signal", "from_item", "to_item"),
    says={
        "both": "{subject} is earthed at both ends, {ends}: it is a ground wire and carries current beside the signal.",
        "nowhere": "The drain of {subject} is connected at neither end: the shield does nothing.",
    },
    remedy={
        "both": "Cut the drain back and insulate it at {far}; keep the end at {near}.",
        "nowhere": "Connect the drain of {subject} at the controller's end only.",
    },
)
def shield(design: Design, limits: None) -> Iterator[Outcome]:
    """A shield is connected at both ends, or at neither.

    Why it matters: A shield earthed at both ends joins two grounds and carries their current along the
    signal; one earthed nowhere floats and couples what it catches into the signal.
    Reads: Shield, Signal, Colour, From and To of the wire list.
    Decides: For the drain wires of each shield, counts the ends that reach an earth point, a ground or a
    controller's pin by another way than the drain itself: exactly one is right.
    Stays silent when: one end is connected and the other is open. Without a drain wire it is undecided, as
    it is where no end reaches a ground and one is in a housing of which it isn't known what it belongs to.
    Source: common practice, no source: shields of trigger pairs are connected at the controller's end.
    """
    for one in design.shields:
        name, inside, drains = one.name, one.inside, one.drains
        subject: Subject = ("shield", name)
        if not drains:
            yield Undecided(
                subject,
                (f"drain wire of shield {name} (where it is connected)",),
                tuple(Mark(w.place.of("shield"), f"in shield {name}") for w in inside),
            )
            continue
        names = {w.name for w in drains}
        earthed: list[tuple[Contact, Wire]] = []
        for wire in drains:
            for contact in (wire.a, wire.b):
                if contact is None or any(contact == c for c, _ in earthed):
                    continue
                if _earthed(design, contact, names):
                    earthed.append((contact, wire))
        earthed.sort(key=lambda e: e[0])
        if len(earthed) >= 2:
            controllers = [
                c for c, _ in earthed if design.devices.on_controller(c)
            ]
            near = controllers[0] if controllers else earthed[0][0]
            far, far_wire = next((c, w) for c, w in earthed if c != near)
            yield Finding(
                subject,
                (
                    Mark(far_wire.end_place(far), "second connection of the shield"),
                    *design.devices.mark(near, "first connection of the shield"),
                ),
                {
                    "ends": " and ".join(design.label(c) for c, _ in earthed),
                    "near": design.label(near),
                    "far": design.label(far),
                },
                variant="both",
            )
        elif not earthed and (unknown := _unknown_ends(design, drains)):
            yield Undecided(
                subject,
                tuple(f"what {design.label(contact)} connects to" for contact in unknown),
                tuple(mark for contact in unknown for mark in design.devices.mark(contact, f"drain of shield {name}")),
            )
        elif not earthed:
            yield Finding(
                subject,
                tuple(Mark(w.place.of("from_item"), f"drain of shield {name}") for w in drains),
                {},
                variant="nowhere",
            )
