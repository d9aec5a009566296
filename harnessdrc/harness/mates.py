"""Which connector halves belong together, where the list says so by their names alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from harnessdrc.harness.assumed import Assumed
from harnessdrc.harness.elements import Item, Wire
from harnessdrc.places import Place

__all__ = ["find_mates", "halves_of"]

_HALVES = ((" plug", " socket"), (" male", " female"), (" pins", " sockets"), ("p", "s"), ("m", "f"))
"""Endings of the two halves of one connector."""


def halves_of(key: str) -> set[str]:
    """Names that the other half of a connector may have: ``x10s`` of ``x10p``."""
    return {
        key.removesuffix(end) + other
        for one, two in _HALVES
        for end, other in ((one, two), (two, one))
        if key.endswith(end) and len(key) > len(end)
    }


def find_mates(items: dict[str, Item], wires: Sequence[Wire], assumed: Assumed) -> None:
    """Mate connector halves by their names alone: ``X10P`` and ``X10S``; `items` is changed in place."""
    cavities: dict[str, set[str]] = {}
    places: dict[str, Place] = {}
    for wire in wires:
        for contact in (wire.a, wire.b):
            if contact is not None and contact.cavity and not contact.cavity.startswith("?"):
                cavities.setdefault(contact.item, set()).add(contact.cavity)
                places.setdefault(contact.item, wire.end_place(contact))
    mated = {item.mate for item in items.values()} | {k for k, i in items.items() if i.mate}
    for key in cavities:
        for one, other in _HALVES:
            stem = key.removesuffix(one)
            twin = stem + other
            if stem == key or not stem or twin not in cavities or {key, twin} & mated:
                continue
            if len(one) == 1 and not stem[-1].isdecimal():
                continue
            halves = (items[key], items[twin])
            if any(i.kind not in (None, "connector") for i in halves):
                continue
            if cavities[key] & cavities[twin]:
                items[key] = replace(halves[0], mate=twin, kind="connector")
                items[twin] = replace(halves[1], mate=key, kind="connector")
                assumed.add(
                    "mate", halves[0].name, halves[1].name, "their names are halves of one connector",
                    places[key],
                )  # fmt: skip
