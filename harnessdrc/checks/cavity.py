"""Checks on cavities: one wire each, and pin list and wire list telling the same."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from harnessdrc.checks.cavitycolours import like_pairs, neighbours
from harnessdrc.checks.registry import Outcome, check, limit
from harnessdrc.design import Contact, Design
from harnessdrc.design.conductors import conductor_mm2
from harnessdrc.findings import Finding, Mark
from harnessdrc.harness.elements import Pin, Wire
from harnessdrc.harness.names import fold, natural_key
from harnessdrc.harness.roles import pin_role, pins_by_contact
from harnessdrc.tables.colours import split_code

__all__ = ["like_colours", "lists_disagree", "not_in_pin_list", "unused_but_wired", "used_twice"]

_STUDS = frozenset({"battery", "starter", "alternator", "power distribution"})


@dataclass(frozen=True, slots=True)
class UsedTwiceLimits:
    """What makes a second wire in a cavity intended."""

    said_so: tuple[str, ...] = limit(
        ("double crimp", "twin crimp", "two in one crimp", "both in one crimp", "same crimp", "shared crimp"),
        "",
        "words in the notes of both wires that say the crimp is meant to hold both",
    )
    studs: tuple[str, ...] = limit(
        tuple(sorted(_STUDS)), "", "kinds whose terminals take several ring terminals"
    )


def _cavities(design: Design) -> list[Contact]:
    """Named cavities with a wire, common metal left out."""
    return [c for c in design.net.wires_at if c.cavity and not c.cavity.startswith("?")]


def _by_name(wires: list[Wire]) -> list[Wire]:
    """Wires in the order of their names, W2 before W10."""
    return sorted(wires, key=lambda wire: natural_key(wire.name))


def _side(wire: Wire, contact: Contact) -> Mark:
    return Mark(wire.end_place(contact), f"wire {wire.name}")


@check(
    "cavity.used_twice",
    counts="cavities with a wire",
    subjects=lambda design, limits: [("cavity", design.label(c)) for c in _cavities(design)],
    reads=("from_cavity", "to_cavity"),
    limits=UsedTwiceLimits,
    says={"": "{subject} holds {count} wires: {wires}."},
    remedy={
        "": "Join them in a splice and take one wire to the cavity, or write 'double crimp' in the notes of "
        "all of them if the terminal is meant to hold both."
    },
)
def used_twice(design: Design, limits: UsedTwiceLimits) -> Iterator[Outcome]:
    """A cavity is used by two wires.

    Why it matters: A terminal is made for one wire; usually one of the two has a wrong cavity.
    Reads: From cavity, To cavity, Size and Note of the wire list.
    Decides: More than one wire at a named cavity of an item that is not a splice, post or earth point.
    Stays silent when: the notes of all of them say that the crimp holds both; the item has studs, or one of
    the wires is of a size that ends in a bolted ring (bolted_from_mm2); or the list is one of pins with
    their destinations, where one connection may stand on several rows.
    Source: common practice, no source.
    """
    for contact in _cavities(design):
        wires = sorted({w.name for w in design.net.wires_at[contact]}, key=natural_key)
        if len(wires) < 2:
            continue
        owner = design.devices.owner(contact)
        if owner is not None and owner.kind in limits.studs:
            continue
        held = {w.name: w for w in design.net.wires_at[contact]}
        if any(conductor_mm2(w.size) >= design.given["bolted_from_mm2"] for w in held.values()):
            continue
        if all((w.place.file, w.place.sheet) in design.harness.pin_wires for w in held.values()):
            continue
        if all(
            w.note and any(fold(words) in fold(w.note) for words in limits.said_so) for w in held.values()
        ):
            continue
        marks = [_side(held[name], contact) for name in wires]
        yield Finding(
            ("cavity", design.label(contact)),
            (marks[-1], *marks[:-1]),
            {"count": len(wires), "wires": ", ".join(wires)},
            measured=float(len(wires)),
            limit=1.0,
        )


def _listed_connectors(design: Design) -> dict[str, set[Contact]]:
    listed: dict[str, set[Contact]] = {}
    for pin in design.harness.pins:
        listed.setdefault(pin.contact.item, set()).add(pin.contact)
    return listed


def _wired_at_listed(design: Design) -> list[Contact]:
    connectors = design.harness.pin_connectors
    return [c for c in _cavities(design) if c.item in connectors]


@check(
    "cavity.not_in_pin_list",
    counts="wired cavities of connectors that have a pin list",
    subjects=lambda design, limits: [("cavity", design.label(c)) for c in _wired_at_listed(design)],
    reads=("from_cavity", "to_cavity", "connector", "cavity"),
    says={"": "The pin list of {connector} does not have {subject}, where the wire list puts {wires}."},
    remedy={"": "Correct the cavity in the wire list, or add it to the pin list."},
)
def not_in_pin_list(design: Design, limits: None) -> Iterator[Outcome]:
    """A wire goes to a cavity that the connector's pin list does not have.

    Why it matters: The cavity does not exist, or the pin list is of another connector.
    Reads: From cavity and To cavity of the wire list, Connector and Cavity of the pin list.
    Decides: Every wired cavity of a connector that the pin list covers must be in it.
    Stays silent when: the connector is not in the pin list at all.
    Source: common practice, no source.
    """
    listed = _listed_connectors(design)
    for contact in _wired_at_listed(design):
        if contact not in listed[contact.item]:
            wires = _by_name(design.net.wires_at[contact])
            yield Finding(
                ("cavity", design.label(contact)),
                tuple(_side(w, contact) for w in wires),
                {
                    "wires": ", ".join(f"wire {w.name}" for w in wires),
                    "connector": design.harness.items[contact.item].name,
                },
            )


def _used_pins(design: Design) -> list[Pin]:
    return [p for p in design.harness.pins if p.unused]


@check(
    "cavity.unused_but_wired",
    counts="pins listed as not used",
    subjects=lambda design, limits: [
        ("cavity", design.label(c)) for c in dict.fromkeys(p.contact for p in _used_pins(design))
    ],
    reads=("cavity", "signal"),
    says={"": "{subject} is listed as not used ('{signal}'), but the wire list puts {wires} in it."},
    remedy={"": "Correct the cavity of {wires}, or give the pin its signal in the pin list."},
)
def unused_but_wired(design: Design, limits: None) -> Iterator[Outcome]:
    """A pin that is listed as not used has a wire.

    Why it matters: Either the wire sits one cavity beside its own, or the pin list is out of date.
    Reads: Cavity and Signal of the pin list, From cavity and To cavity of the wire list.
    Decides: A pin marked N/C, spare, reserved or not used must have no wire.
    Stays silent when: no wire goes to it; a pin with a blank signal is not one that is not used.
    Source: common practice, no source.
    """
    seen: set[Contact] = set()
    for pin in _used_pins(design):
        wires = _by_name(design.net.wires_at.get(pin.contact, []))
        if not wires or pin.contact in seen:
            continue
        seen.add(pin.contact)
        yield Finding(
            ("cavity", design.label(pin.contact)),
            (
                *(_side(w, pin.contact) for w in wires),
                Mark(pin.place.of("signal", "cavity"), "listed as not used"),
            ),
            {"signal": pin.signal or "N/C", "wires": ", ".join(f"wire {w.name}" for w in wires)},
        )


_SAME = (
    frozenset(
        {"battery feed", "switched feed", "fused feed", "load feed", "ignition switch", "starter feed"}
    ),
    frozenset({"power ground", "coil ground", "load return", "battery negative"}),
    frozenset({"analogue signal", "temperature signal", "digital signal"}),
    frozenset({"low-side output", "injector drive", "coil primary -"}),
    frozenset({"trigger signal +", "digital signal"}),
    frozenset({"sensor ground", "trigger signal -"}),
)


def _agree(one: str, other: str) -> bool:
    return one == other or any(one in group and other in group for group in _SAME)


_ANYTHING = frozenset({"spare", "relay coil", "relay contact"})
"""Roles that say what a pin is, not what it carries."""


def _comparable(design: Design) -> list[tuple[Contact, list[Pin]]]:
    """Cavities of which both lists say something, or the pin list more than one thing, with their lines there."""
    roles = design.roles
    return [
        (contact, pins)
        for contact, pins in pins_by_contact(design.harness).items()
        if pins[0].wire
        or len(pins) > 1
        or (contact in roles.from_wire and roles.from_pin.get(contact, "spare") not in _ANYTHING)
    ]


def _two_meanings(design: Design, pins: list[Pin]) -> tuple[tuple[Pin, str], tuple[Pin, str]] | None:
    """Two lines of the pin list that say different things of one cavity, with the roles they give it."""
    said = [
        (pin, role)
        for pin in pins
        if (role := pin_role(pin, design.harness.items[pin.contact.item].kind)[0]) is not None
    ]
    for number, (one, role) in enumerate(said):
        for other, another in said[number + 1 :]:
            if not _agree(role, another) and not _words(one.signal) & _words(other.signal):
                return (one, role), (other, another)
    return None


def _words(text: str | None) -> set[str]:
    return {w for w in fold(text or "").replace("-", " ").replace("_", " ").split() if len(w) > 1}


@check(
    "cavity.lists_disagree",
    counts="cavities that both lists, or two lines of the pin list, say something of",
    subjects=lambda design, limits: [("cavity", design.label(c)) for c, _ in _comparable(design)],
    reads=("signal", "cavity", "role", "wire"),
    says={
        "": "{subject} is '{pin_signal}' ({pin_role}) in the pin list, but wire {wire} there carries "
        "'{wire_signal}' ({wire_role}).",
        "number": "The pin list puts wire {pin_wire} in {subject}, the wire list wire {wire}.",
        "empty": "The pin list puts wire {pin_wire} in {subject}, the wire list has no wire there{instead}.",
        "pins": "{subject} stands in the pin list as '{one}' ({one_role}) and as '{other}' ({other_role}).",
    },
    remedy={
        "": "Find out which list is right; correct the wire's cavity or the pin's signal.",
        "number": "Find out which list is right and correct the other.",
        "empty": "Find out which list is right and correct the other.",
        "pins": "Find out which line is right and take the other out.",
    },
)
def lists_disagree(design: Design, limits: None) -> Iterator[Outcome]:
    """Pin list and wire list disagree on what a cavity is.

    Why it matters: One of the two is wrong, and the loom will be built to one and tested to the other.
    Reads: Signal, Role and Wire of the pin list, Wire and Signal of the wire list.
    Decides: Compares the role that the pin list gives the cavity with the role that the wire's signal
    suggests there; roles that can stand for one another (a fused and a switched feed) agree. A wire
    number in the pin list must be the wire that the wire list puts there, and two lines of the pin list
    must agree in the same way.
    Stays silent when: the roles agree, the names share a word, or one of them suggests no role.
    Source: common practice, no source.
    """
    roles = design.roles
    by_number: dict[str, list[Wire]] = {}
    for wire in design.harness.wires:
        if wire.number:
            by_number.setdefault(fold(wire.number), []).append(wire)
    for contact, pins in _comparable(design):
        subject, pin = ("cavity", design.label(contact)), pins[0]
        if two := _two_meanings(design, pins):
            (one, one_role), (other, other_role) = two
            yield Finding(
                subject,
                tuple(Mark(pin.place.of("signal", "cavity"), "pin list") for pin in (other, one)),
                {
                    "one": one.signal or one.role,
                    "one_role": one_role,
                    "other": other.signal or other.role or "N/C",
                    "other_role": other_role,
                },
                variant="pins",
            )
            continue
        wires = _by_name(design.net.wires_at.get(contact, []))
        numbers = {fold(w.number) for w in wires if w.number}
        if pin.wire and not wires:
            elsewhere = by_number.get(fold(pin.wire), [])
            ends = [
                design.label(c) for w in elsewhere for c in (w.a, w.b) if c and c.item == contact.item
            ]
            yield Finding(
                subject,
                (
                    Mark(pin.place.of("wire"), f"wire {pin.wire}"),
                    *(Mark(w.place.of("wire"), f"wire {w.name}") for w in elsewhere),
                ),
                {"pin_wire": pin.wire, "instead": f"; it has it in {ends[0]}" if ends else ""},
                variant="empty",
            )
            continue
        if pin.wire and numbers and fold(pin.wire) not in numbers:
            yield Finding(
                subject,
                (Mark(pin.place.of("wire"), f"wire {pin.wire}"), _side(wires[0], contact)),
                {"pin_wire": pin.wire, "wire": wires[0].name},
                variant="number",
            )
            continue
        if contact not in roles.from_wire or roles.from_pin.get(contact, "spare") in _ANYTHING:
            continue
        role, wire = roles.from_wire[contact]
        if _agree(roles.from_pin[contact], role) or (_words(pin.signal) & _words(wire.signal)):
            continue
        yield Finding(
            subject,
            (
                Mark(wire.place.of("signal"), f"wire {wire.name}"),
                Mark(pin.place.of("signal", "cavity"), "pin list"),
            ),
            {
                "pin_signal": pin.signal or pin.role,
                "pin_role": roles.from_pin[contact],
                "wire": wire.name,
                "wire_signal": wire.signal,
                "wire_role": role,
            },
        )


_TOLD_PAIRS = 3


@check(
    "cavity.like_colours",
    counts="connectors with coloured wires in neighbouring cavities",
    subjects=lambda design, limits: [
        ("connector", design.harness.items[key].name)
        for key in dict.fromkeys(contact.item for contact, _, _, _ in neighbours(design))
    ],
    reads=("from_item", "from_cavity", "to_item", "to_cavity", "colour"),
    says={"": "{subject} has wires of one colour in neighbouring cavities that are not on one net: {pairs}."},
    remedy={"": "Give one of each pair another colour or tracer; else mark both, and test each to its far end."},
)
def like_colours(design: Design, limits: None) -> Iterator[Outcome]:
    """Two wires of one colour are in neighbouring cavities.

    Why it matters: They are put into each other's place, and whoever looks at the connector sees nothing wrong.
    Reads: Colour, From, To and their cavities in the wire list.
    Decides: Cavities with following numbers, one wire in each, both of the same colour and tracer, must be on one net
    or on two that end on the same earth point. Only the number tells what is beside what: rows of a connector may lie
    otherwise.
    Stays silent when: colours differ, or one colour is on more than half of all wires of the list, which are then told
    apart by their numbers. Relays, switches, fuses and posts, whose terminals are not numbered in a row, are not looked
    at, nor are bare drains.
    Source: common practice, no source.
    """
    for key, pairs in like_pairs(design).items():
        names = design.harness.cavity_names
        told = [
            f"{'/'.join(split_code(pair.colour))} in {names.get(pair.first, pair.first.cavity)} and "
            f"{names.get(pair.second, pair.second.cavity)}"
            for pair in pairs[:_TOLD_PAIRS]
        ]
        if len(pairs) > _TOLD_PAIRS:
            told.append(f"{len(pairs) - _TOLD_PAIRS} more")
        marks = tuple(
            Mark(wire.end_place(contact), f"{design.label(contact)}, wire {wire.name}")
            for pair in pairs[:_TOLD_PAIRS]
            for contact, wire in zip((pair.first, pair.second), pair.wires, strict=True)
        )
        yield Finding(("connector", design.harness.items[key].name), marks, {"pairs": ", ".join(told)})
