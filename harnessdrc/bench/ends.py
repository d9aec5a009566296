"""What stands where a wire ends: its place as people write it, terminal, seal and strip length."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cached_property
from typing import NamedTuple

from harnessdrc.harness.elements import COMMON_KINDS, Contact, Harness, Part, Pin, Wire
from harnessdrc.harness.names import fold
from harnessdrc.harness.parts import fitted_at, no_part
from harnessdrc.harness.roles import pins_by_contact
from harnessdrc.papers import EndLine
from harnessdrc.units import NotUnderstoodError, parse_length

__all__ = ["End", "Ends", "has_cavity", "joined"]

_BARE = re.compile(r"^(?P<length>\S.*?)\s*(?:bare|stripped|strip)$|^(?:bare|stripped)(?:\s+(?P<after>\S.*))?$", re.I)
"""A terminal that is none: the end is stripped, with its strip length in the cell: ``0.5" bare``."""


class End(NamedTuple):
    """One end of a wire.

    Parameters
    ----------
    wire : Wire
        The wire.
    contact : Contact or None
        Where it ends; None where it is open or not given.
    open : bool
        Whether the list says that it is left open.
    terminal, seal : str
        As listed; empty where none is named, and where the list says that there is none.
    bare : bool
        Whether the list says that no terminal is fitted: stripped, tinned, soldered.
    strip_m : float or None
        Strip length as its cell has it, or by the parts table, m.
    """

    wire: Wire
    contact: Contact | None
    open: bool
    terminal: str
    seal: str
    bare: bool
    strip_m: float | None


def has_cavity(contact: Contact) -> bool:
    """Whether a contact is a cavity with a name."""
    return bool(contact.cavity) and not contact.cavity.startswith("?")


def joined(texts: list[str]) -> str:
    """Texts beside each other: ``0.5 mm² + 1 mm²``; empty ones count as a dash where there are others."""
    return " + ".join(text or "–" for text in texts) if any(texts) else ""


class Ends:
    """Ends of all wires of a harness.

    Parameters
    ----------
    harness : Harness
        The objects of the lists.
    """

    def __init__(self, harness: Harness) -> None:
        self.harness = harness

    @cached_property
    def all(self) -> tuple[tuple[End, End], ...]:
        """Both ends of each wire, in the order of `Harness.wires`."""
        return tuple((self._end(wire, "a"), self._end(wire, "b")) for wire in self.harness.wires)

    @cached_property
    def at(self) -> dict[Contact, list[End]]:
        """Ends by contact; each of the two ends of a wire that comes back to its own contact."""
        found: dict[Contact, list[End]] = {}
        for end in self.each():
            if end.contact is not None:
                found.setdefault(end.contact, []).append(end)
        return found

    @cached_property
    def pins(self) -> dict[Contact, list[Pin]]:
        """Lines of the pin lists by contact."""
        return pins_by_contact(self.harness)

    @cached_property
    def terminals_named(self) -> bool:
        """Whether the list names any terminal: then one that is not named is a gap."""
        return any(end.terminal or end.bare for end in self.each())

    def each(self) -> Iterator[End]:
        """Every end."""
        for pair in self.all:
            yield from pair

    def part(self, name: str | None) -> Part | None:
        """Part of the parts table by its name; None for one that is not there."""
        return self.harness.parts.get(fold(name)) if name and self.harness.parts else None

    def label(self, contact: Contact | None, is_open: bool) -> str:
        """Where an end goes, as people write it: ``ECU-A 12``, ``open``, or empty where it is not given."""
        if contact is None:
            return "open" if is_open else ""
        return self.harness.label(contact)

    def where(self, end: End) -> str:
        """As `label`."""
        return self.label(end.contact, end.open)

    def far(self, end: End) -> str:
        """Where the other end of its wire goes."""
        wire = end.wire
        if end.contact == wire.a:
            return self.label(wire.b, wire.b_open)
        return self.label(wire.a, wire.a_open)

    def line(self, end: End) -> EndLine:
        """The end as the cut list has it."""
        terminal = "bare" if end.bare else end.terminal
        return EndLine(self.where(end), terminal, end.seal, None if end.strip_m is None else end.strip_m * 1000)

    def common(self, contact: Contact) -> bool:
        """Whether a contact is one piece of metal for all wires on it: splice, earth point, bus bar."""
        item = self.harness.items.get(contact.item)
        return item is not None and item.kind in COMMON_KINDS and not has_cavity(contact)

    def splice(self, contact: Contact | None) -> bool:
        """Whether a contact is a splice, whose crimp is a part of its own."""
        item = self.harness.items.get(contact.item) if contact is not None else None
        return item is not None and item.kind == "splice"

    @cached_property
    def bolted(self) -> frozenset[str]:
        """Keys of the splices on which every wire has a terminal of its own: a stud, which wants no crimp besides."""
        found: dict[str, bool] = {}
        for contact, at in self.at.items():
            if self.splice(contact):
                found[contact.item] = found.get(contact.item, True) and all(end.terminal for end in at)
        return frozenset(key for key, whole in found.items() if whole)

    def _end(self, wire: Wire, side: str) -> End:
        first = side == "a"
        contact, is_open = (wire.a, wire.a_open) if first else (wire.b, wire.b_open)
        written = wire.fitted[0] if first else wire.fitted[2]
        if contact is None:
            terminal, seal = wire.fitted[:2] if first else wire.fitted[2:]
        else:
            terminal, seal, _ = fitted_at(self.harness, wire, contact)
            if written is None and terminal is None and self.harness.pins:
                written = next((pin.terminal for pin in self.pins.get(contact, ()) if pin.terminal), None)
        bare = _BARE.match(terminal) if terminal else None
        if bare is not None:
            return End(wire, contact, is_open, "", seal or "", True, _length_m(bare["length"] or bare["after"]))
        if written is not None and no_part(written):
            return End(wire, contact, is_open, "", seal or "", True, None)
        part = self.part(terminal)
        if part is None and contact is not None and self.splice(contact):
            part = self.part(self.harness.items[contact.item].details.part)
        return End(wire, contact, is_open, terminal or "", seal or "", False, part.strip_m if part else None)


def _length_m(text: str | None) -> float | None:
    """Length of a cell, m; None where it says none."""
    try:
        return parse_length(text) if text else None
    except NotUnderstoodError:
        return None
