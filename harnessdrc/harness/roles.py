"""The role of every contact: what the pin is for, and what decided that.

In order: the role column; the signal in the pin list; the terminal's own marking on relays, batteries,
fuses, starters and alternators; the name itself where an end is named without a cavity; the signal of
the wire. What was inferred is listed once per distinct text.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from harnessdrc.harness.elements import COMMON_KINDS, Contact, Harness, Pin, Wire
from harnessdrc.harness.names import natural_key
from harnessdrc.harness.vocabulary import Guess, guess_role
from harnessdrc.places import Place
from harnessdrc.tables.model import Assumption

__all__ = ["GROUND_ROLES", "RETURN_ROLES", "Roles", "find_roles", "pin_role", "pins_by_contact"]

GROUND_ROLES = frozenset({"power ground", "coil ground", "coil high-voltage return", "load return", "battery negative"})
"""Roles that end on an earth point."""

RETURN_ROLES = ("sensor ground", "trigger signal -")
"""Roles by which the current of a sensor goes back to the controller."""

_NO_GROUND = frozenset({None, "connector", "fuse", "relay", "switch", "isolator", "battery", *COMMON_KINDS})
"""Kinds of which a pin on an earth point is not for that reason the ground of the device."""

_MARKED = frozenset({"relay", "battery", "alternator", "starter", "fuse", "capacitor"})


@dataclass(frozen=True, slots=True)
class Roles:
    """Roles of contacts.

    Parameters
    ----------
    of : dict of Contact to str
        Role; a contact whose role is not known is absent.
    from_wire, from_pin : dict of Contact to str
        What the wire's signal and what the pin list say on their own, to hold against each other.
    assumptions : tuple of Assumption
        One per distinct inference.
    """

    of: dict[Contact, str]
    from_wire: dict[Contact, tuple[str, Wire]]
    from_pin: dict[Contact, str]
    assumptions: tuple[Assumption, ...]


def _told(role: str, wire: Wire) -> tuple[str, str, tuple[object, ...]]:
    """What a wire says of its cavity, in an order that does not hang on the rows."""
    return role, wire.signal or "", natural_key(wire.name)


def pins_by_contact(harness: Harness) -> dict[Contact, list[Pin]]:
    """Lines of the pin lists by contact; of several for one contact the first by their words, in any order of rows."""
    found: dict[Contact, list[Pin]] = {}
    for pin in harness.pins:
        found.setdefault(pin.contact, []).append(pin)
    for lines in found.values():
        if len(lines) > 1:
            lines.sort(key=lambda p: (p.unused, p.signal or "", p.role or "", p.wire or "", p.terminal or ""))
    return found


def pin_role(pin: Pin, kind: str | None) -> tuple[str | None, Guess | None]:
    """Role that a line of a pin list gives its contact, with the guess where it was inferred from the signal."""
    if pin.unused:
        return "spare", None
    if pin.role:
        return pin.role, None
    guess = guess_role(pin.signal, kind, own_pin=True) if pin.signal else None
    return (guess.value, guess) if guess else (None, None)


def _by_earth_point(harness: Harness, of: dict[Contact, str], note: Callable[[str, Guess, Place], None]) -> None:
    """Roles of contacts that nothing is said about and that a wire takes straight to an earth point.

    A pin of a device that is wired to a body is its ground, whatever the list leaves out. Drains are not
    taken for grounds, nor the second such pin of a coil, which may be its high-voltage return.
    """
    items = harness.items
    earthed: dict[str, dict[Contact, Wire]] = {}
    for wire in harness.wires:
        if wire.colour == "bare" or wire.signal:
            continue
        for contact, other in ((wire.a, wire.b), (wire.b, wire.a)):
            if contact is None or other is None or items[other.item].kind != "earth point":
                continue
            item = items[contact.item]
            if item.kind not in _NO_GROUND and contact not in of:
                earthed.setdefault(item.owner, {}).setdefault(contact, wire)
    for contacts in earthed.values():
        for contact, wire in contacts.items():
            kind = items[contact.item].kind
            if kind == "coil" and len(contacts) > 1:
                continue
            guess = guess_role("ground", kind)
            if guess is not None:
                of[contact] = guess.value
                other = wire.b if wire.a == contact else wire.a
                name = items[other.item].name if other is not None else ""
                note(harness.label(contact), Guess(guess.value, f"to {name}"), wire.end_place(contact))


def find_roles(harness: Harness) -> Roles:
    """Find the role of every contact of a harness."""
    said: dict[tuple[str, str, str], tuple[Place, int]] = {}
    of: dict[Contact, str] = {}
    from_pin: dict[Contact, str] = {}
    from_wire: dict[Contact, tuple[str, Wire]] = {}

    def note(text: str, guess: Guess, place: Place) -> None:
        key = (text, guess.value, guess.words)
        first, count = said.get(key, (place, 0))
        said[key] = (first, count + 1)

    items = harness.items
    for lines in pins_by_contact(harness).values():
        for pin in lines:
            role, guess = pin_role(pin, items[pin.contact.item].kind)
            if role:
                from_pin[pin.contact] = role
                if guess:
                    note(pin.signal or "", guess, pin.place.of("signal"))
                break
    of.update(from_pin)
    for wire in harness.wires:
        for contact in (wire.a, wire.b):
            if contact is None:
                continue
            item = items[contact.item]
            if item.kind in COMMON_KINDS:
                continue
            if contact not in from_pin:
                marking = harness.cavity_names.get(contact, contact.cavity)
                guess = None
                if item.kind in _MARKED and marking:
                    guess = guess_role(marking, item.kind, own_pin=True)
                elif not contact.cavity:
                    guess = guess_role(item.name, item.kind)
                if guess:
                    if contact not in of:
                        of[contact] = guess.value
                        # One line for the marking "in" of all fuses, not one for each fuse.
                        text = f"{item.kind} {marking}" if item.kind in _MARKED and marking else item.name
                        note(text, guess, wire.end_place(contact))
                    continue
            if wire.signal:
                guess = guess_role(wire.signal, item.kind)
                # Of several wires that say different things the first by name, whatever the order of the rows.
                if guess and (contact not in from_wire or _told(guess.value, wire) < _told(*from_wire[contact])):
                    from_wire[contact] = (guess.value, wire)
    for contact, (role, wire) in from_wire.items():
        if contact not in of:
            of[contact] = role
            said_by = guess_role(wire.signal or "", items[contact.item].kind)
            if said_by:
                note(wire.signal or "", said_by, wire.place.of("signal"))
    _by_earth_point(harness, of, note)
    return Roles(
        of,
        from_wire,
        from_pin,
        tuple(
            Assumption("role", text, role, f"the words '{words}'", place, count)
            for (text, role, words), (place, count) in said.items()
        ),
    )
