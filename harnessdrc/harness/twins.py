"""One wire on two rows (the same number again, or the row of its other end), and several on one row."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from harnessdrc.harness.elements import Fitted, Wire

__all__ = ["merged", "one_row_per_end", "same_ends", "seen_from_the_other_end"]


def same_ends(one: Wire, other: Wire) -> bool:
    """Whether two rows give the same ends, in either order; devices alone where cavities are not named."""
    if None in (one.a, one.b, other.a, other.b):
        return False
    if any(c is not None and c.cavity.startswith("?") for c in (one.a, one.b, other.a, other.b)):
        return {c.item for c in (one.a, one.b) if c} == {c.item for c in (other.a, other.b) if c}
    return {one.a, one.b} == {other.a, other.b}


def seen_from_the_other_end(one: Wire, other: Wire) -> bool:
    """Whether a row without a number is the one above, written from its other end.

    Both cavities must be named, the row must be a later one, and what both rows say of the wire must agree.
    """
    if other.also or one.also or any(c is None or not c.cavity or c.cavity.startswith("?") for c in (one.a, one.b)):
        return False
    return all(
        a is None or b is None or a == b
        for a, b in ((one.colour, other.colour), (one.size, other.size), (one.length_m, other.length_m))
    )


def merged(wire: Wire, again: Wire) -> Wire:
    """A wire with the row of its other end's sheet added; what one row lacks the other gives."""
    lacking = {
        name: getattr(again, name)
        for name in (
            "colour", "colour_written", "size", "length_m", "signal", "twist", "shield", "current_a",
            "branch", "insulation", "option", "note", "lay_m", "untwisted_m", "shield_material",
        )
        if getattr(wire, name) is None
    }  # fmt: skip
    if again.fitted != wire.fitted:
        lacking["fitted"] = _fitted(wire, again)
    return replace(wire, **lacking, also=(*wire.also, again.place))


def _fitted(wire: Wire, again: Wire) -> Fitted:
    """Terminals and seals of a wire, what its row lacks from the other one, which may be written the other way."""
    there = again.fitted
    elsewhere = again.a is not None and wire.a is not None and again.a.item != wire.a.item
    if elsewhere or (again.a != wire.a and again.a == wire.b):
        there = Fitted(there.b_terminal, there.b_seal, there.a_terminal, there.a_seal)
    return Fitted(*(own if own is not None else other for own, other in zip(wire.fitted, there, strict=True)))


def one_row_per_end(row: dict[str, Any]) -> Iterable[dict[str, Any]]:
    """The row itself, and one more for each further end that its cells name: ``C3:1,C6:1``."""
    further = [(side, row.get(f"{side}_more")) for side in ("from", "to")]
    if not any(text for _, text in further):
        return (row,)
    rows = [row]
    for side, text in further:
        for line in text.split("\n") if text else ():
            item, _, cavity = line.partition("\t")
            rows.append({**row, f"{side}_item": item or None, f"{side}_cavity": cavity or None})
    return rows
