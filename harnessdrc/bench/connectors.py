"""Connector sheets: every cavity once, and every earth point with all that is bolted to it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from harnessdrc.bench.cutting import colour_text, size_text, swatch_of
from harnessdrc.bench.ends import End, Ends, has_cavity, joined
from harnessdrc.findings import Mark
from harnessdrc.harness.elements import Contact, Item, Pin
from harnessdrc.harness.names import natural_key
from harnessdrc.harness.parts import no_part
from harnessdrc.papers import CavityLine, ConnectorSheet

if TYPE_CHECKING:
    from harnessdrc.design import Design

__all__ = ["OWN_TERMINALS", "connector_sheets", "is_housing", "main_wire_key", "pins_without_wire"]

OWN_TERMINALS = frozenset({
    "earth point", "post", "battery", "alternator", "starter", "fuse", "relay", "switch", "isolator", "capacitor",
    "resistor", "diode", "terminator", "spark plug", "power distribution",
})  # fmt: skip
"""Kinds with studs, blades or sockets of their own: whether they have more of them is no question of a housing."""


_SIGNS = frozenset("+-−")
"""Terminals that are marked so are all that a pump or fan has."""


def main_wire_key(end: End) -> tuple[object, ...]:
    """Order of wires in one place."""
    return natural_key(end.wire.name), end.wire.name


def connector_sheets(design: Design, ends: Ends) -> tuple[ConnectorSheet, ...]:
    """A sheet for each connector, cavity by cavity; those of earth points and bus bars come last.

    Cavities stand in natural order, those without a name after them. Where the parts table gives their number and all
    that are known are numbered within it, the others are there too, as empty.

    Parameters
    ----------
    design : Design
        The design.
    ends : Ends
        Ends of its wires.
    """
    harness = design.harness
    contacts: dict[str, set[Contact]] = {}
    for contact in (*ends.at, *ends.pins):
        item = harness.items.get(contact.item)
        if item is not None and item.kind != "splice":
            contacts.setdefault(contact.item, set()).add(contact)
    for key, item in harness.items.items():
        if item.details.part is not None and item.kind != "splice":
            contacts.setdefault(key, set())
    sheets = [_sheet(harness.items[key], found, ends) for key, found in contacts.items()]
    return tuple(sorted(sheets, key=lambda s: (s.kind in ("earth point", "post"), natural_key(s.name), s.name)))


def is_housing(sheet: ConnectorSheet) -> bool:
    """Whether a sheet is that of a housing with cavities rather than of studs, blades or a bus bar."""
    return sheet.kind not in OWN_TERMINALS and any(line.cavity for line in sheet.cavities)


def _sheet(item: Item, contacts: Iterable[Contact], ends: Ends) -> ConnectorSheet:
    harness = ends.harness
    owner = harness.items.get(item.owner)
    kind = item.kind or (owner.kind if owner is not None else None) or ""
    mate = harness.items.get(item.mate) if item.mate else None
    ordered = sorted(contacts, key=_cavity_key)
    lines = [_line(contact, ends) for contact in ordered]
    unnamed = [end.wire.name for contact in ordered if contact.cavity.startswith("?") for end in ends.at[contact]]
    cavities, complete, lacking = _rest(item, kind, lines, unnamed, ends)
    bare = [pin for contact in ordered for pin in pins_without_wire(contact, ends)]
    lacking += tuple(dict.fromkeys(f"wire {pin.wire} of cavity {pin.cavity}" for pin in bare))
    return ConnectorSheet(
        item.name,
        owner.name if owner is not None and owner.key != item.key else "",
        item.details.part or "",
        mate.name if mate is not None else item.mate or "",
        item.details.strain_relief or "",
        kind,
        tuple(cavities),
        complete,
        lacking,
    )


def pins_without_wire(contact: Contact, ends: Ends) -> list[Pin]:
    """Lines of the pin list that name a wire for a cavity that no wire of the list goes to."""
    return [] if contact in ends.at else [pin for pin in ends.pins.get(contact, ()) if pin.wire and not pin.unused]


def _cavity_key(contact: Contact) -> tuple[object, ...]:
    return not has_cavity(contact), natural_key(contact.cavity), contact.cavity


def _line(contact: Contact, ends: Ends) -> CavityLine:
    at = sorted(ends.at.get(contact, ()), key=main_wire_key)
    pins = ends.pins.get(contact, [])
    label = ends.harness.cavity_names.get(contact, contact.cavity) if has_cavity(contact) else ""
    if at:
        row = at[0].wire
        mark = Mark(row.end_place(contact), f"wire {row.name}")
    else:
        mark = Mark(pins[0].place.of("cavity"), f"cavity {label}")
    return CavityLine(
        label,
        tuple(end.wire.name for end in at),
        joined([size_text(end.wire) for end in at]),
        joined([colour_text(end.wire) for end in at]),
        tuple(swatch_of(end.wire.colour) for end in at),
        _signal(pins, at),
        _fitted([end.terminal or ("bare" if end.bare else "") for end in at], contact, ends),
        _fitted([end.seal for end in at], contact, ends) if at else _plug(pins),
        joined([ends.far(end) for end in at]),
        _state(at, pins, contact, ends),
        mark,
    )


def _signal(pins: Sequence[Pin], at: Sequence[End]) -> str:
    """Signal of the pin list, else of the wires."""
    listed = [pin.signal for pin in pins if pin.signal]
    return " / ".join(dict.fromkeys(listed or [end.wire.signal for end in at if end.wire.signal]))


def _fitted(names: list[str], contact: Contact, ends: Ends) -> str:
    """Parts of the wires in one place: one crimp for all in a cavity, one for each wire on a stud."""
    return joined(names) if ends.common(contact) else " + ".join(dict.fromkeys(filter(None, names)))


def _plug(pins: Sequence[Pin]) -> str:
    return " / ".join(dict.fromkeys(pin.seal for pin in pins if pin.seal and not no_part(pin.seal)))


def _state(at: Sequence[End], pins: Sequence[Pin], contact: Contact, ends: Ends) -> str:
    if at:
        listed = pins or contact.item not in ends.harness.pin_connectors
        return "wired" if listed else "wired, not in the pin list"
    return "plug" if _plug(pins) else "empty"


def _rest(
    item: Item, kind: str, lines: list[CavityLine], unnamed: Sequence[str], ends: Ends
) -> tuple[list[CavityLine], bool, tuple[str, ...]]:
    """All cavities as far as they are known, whether that is all, and what is not known."""
    part = ends.part(item.details.part)
    known = [line for line in lines if line.cavity]
    blades = bool(known) and all(line.cavity in _SIGNS for line in known)
    lacking = [f"cavity of wire {name}" for name in sorted(unnamed, key=natural_key)]
    if kind in OWN_TERMINALS or (blades and part is None):
        return lines, kind in OWN_TERMINALS or not lacking, () if kind in OWN_TERMINALS else tuple(lacking)
    if not known and part is None:  # one terminal, or cavities that the list does not name at all
        return lines, not lacking, tuple(lacking)
    count = part.cavities if part is not None else None
    numbers = {int(line.cavity) for line in known if line.cavity.isascii() and line.cavity.isdecimal()}
    if count is not None and len(known) > count:
        lacking.append(f"{len(known)} cavities are listed, and {count} by the parts table")
    elif count is not None and len(known) < count:
        if len(numbers) == len(known) and numbers <= set(range(1, count + 1)):
            empty = [_empty(str(number)) for number in range(1, count + 1) if number not in numbers]
            lines = sorted((*known, *empty), key=lambda line: int(line.cavity)) + lines[len(known) :]
        else:
            lacking.append(f"names of {count - len(known)} of its {count} cavities")
    elif count is None and item.key not in ends.harness.pin_connectors:
        lacking.append("whether it has more cavities than these")
    return lines, not lacking, tuple(lacking)


def _empty(cavity: str) -> CavityLine:
    return CavityLine(cavity, (), "", "", (), "", "", "", "", "empty", None)
