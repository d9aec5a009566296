"""Wires of like colour in neighbouring cavities: two that are easily put into each other's place."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import NamedTuple

from harnessdrc.design import Contact, Design
from harnessdrc.harness.elements import Wire

__all__ = ["LikePair", "like_pairs", "neighbours", "usual_colour"]

_NUMBERED_OTHERWISE = frozenset({
    "relay", "battery", "alternator", "starter", "fuse", "switch", "isolator", "capacitor", "earth point", "splice",
    "post",
})  # fmt: skip
"""Kinds whose terminals are told apart by their marks or places, not by a row of cavities."""


class LikePair(NamedTuple):
    """Two neighbouring cavities with wires of one colour."""

    colour: str
    first: Contact
    second: Contact
    wires: tuple[Wire, Wire]


def neighbours(design: Design) -> Iterator[tuple[Contact, Wire, Contact, Wire]]:
    """Neighbouring cavities with one coloured wire in each, the one with the lower number first."""
    kept: dict[str, bool] = {}
    items, wires_at = design.harness.items, design.net.wires_at
    for contact, wires in wires_at.items():
        item, cavity = contact
        here = kept.get(item)
        if here is None:
            here = kept[item] = items[item].kind not in _NUMBERED_OTHERWISE
        if not here or len(wires) != 1 or not (cavity.isascii() and cavity.isdecimal()) or not _told(wires[0]):
            continue
        beside = Contact(item, str(int(cavity) + 1))
        others = wires_at.get(beside)
        if others is not None and len(others) == 1 and _told(others[0]):
            yield contact, wires[0], beside, others[0]


def _told(wire: Wire) -> bool:
    return wire.colour is not None and wire.colour != "bare"


def _one_net(design: Design, one: Contact, other: Contact) -> bool:
    """Whether two contacts may change places: they are on one net, or on two that end on one earth point."""
    first, second = design.net.net(one), design.net.net(other)
    if first is None or second is None or first is second:
        return True
    return not {earth for earth, _ in first.earths}.isdisjoint(earth for earth, _ in second.earths)


def usual_colour(design: Design) -> str | None:
    """The colour of more than half of the wires of a list: these are told apart by their numbers."""
    counts = Counter(wire.colour for wire in design.harness.wires)
    colour, count = max(counts.items(), key=lambda each: each[1], default=(None, 0))
    return colour if count * 2 > len(design.harness.wires) else None


def like_pairs(design: Design) -> dict[str, list[LikePair]]:
    """Connectors, by key, with the pairs of neighbouring cavities whose wires have one colour and are not on one net.

    The usual colour of the list is left out.
    """
    found: dict[str, list[LikePair]] = {}
    alike = [each for each in neighbours(design) if each[1].colour == each[3].colour and each[1] is not each[3]]
    usual = usual_colour(design) if alike else None
    for first, wire, second, other in alike:
        if wire.colour is not None and wire.colour != usual and not _one_net(design, first, second):
            found.setdefault(first.item, []).append(LikePair(wire.colour, first, second, (wire, other)))
    for pairs in found.values():
        pairs.sort(key=lambda pair: int(pair.first.cavity))
    return found
