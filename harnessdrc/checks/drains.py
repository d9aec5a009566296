"""Where the drain of a shield is connected."""

from __future__ import annotations

from collections.abc import Sequence

from harnessdrc.design import Contact, Design
from harnessdrc.harness.elements import Wire
from harnessdrc.harness.roles import GROUND_ROLES

__all__ = ["is_earthed", "unknown_ends"]


def is_earthed(design: Design, contact: Contact, drains: set[str]) -> bool:
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


def unknown_ends(design: Design, drains: Sequence[Wire]) -> list[Contact]:
    """Ends of drain wires in a housing of which it isn't said what it belongs to or mates with."""
    found: set[Contact] = set()
    for wire in drains:
        for contact in (wire.a, wire.b):
            item = design.harness.items[contact.item] if contact is not None else None
            if contact is not None and item is not None and item.kind in (None, "connector") and item.mate is None:
                found.add(contact)
    return sorted(found)
