"""Changes for the spark's loop and what it induces: the return beside its plug, alone on its wire, pairs twisted."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from harnessdrc.advice.asked import Asked, moved
from harnessdrc.advice.edits import Change, Edit, MoveEnd, Twist
from harnessdrc.design import Contact, Device
from harnessdrc.harness.elements import Wire
from harnessdrc.harness.names import natural_key

__all__ = ["loop_area", "margin", "shared_return", "twisted_pair"]

_HEADS = 3
_RETURN = ("coil high-voltage return",)
_SHARED = ("coil ground", "power ground")


def _return_roles(asked: Asked, coil: Device) -> tuple[str, ...]:
    """Roles by which the spark current of a coil comes back."""
    return _RETURN if asked.design.devices.with_role(coil, *_RETURN) else _SHARED


def _heads(asked: Asked, coil: Device) -> list[Contact]:
    """Earth points on the head, those nearest to the coil's plugs first where places are known."""
    routes = asked.design.routes
    own = next((each for each in asked.design.loops.coils if each.coil.key == coil.key), None)
    seats = [place for key in (own.plugs if own else ()) if (place := routes.at(key)) is not None]

    def away_m(contact: Contact) -> float:
        place = routes.at(contact.item)
        if place is None or not seats:
            return float("inf")
        return min(float(np.linalg.norm(place - seat)) for seat in seats)

    heads = asked.homes.on_head
    return sorted(heads, key=lambda c: (away_m(c), natural_key(asked.design.label(c))))[:_HEADS]


def _returns_moved(asked: Asked, coil: Device) -> Iterator[Change]:
    """The return of a coil to earth points near its plug: the wire on the earth point, else the coil's own."""
    roles = _return_roles(asked, coil)
    ends = asked.homes.ends(asked.design.devices.with_role(coil, *roles))
    own = asked.homes.own_ends(coil, roles)
    for home in _heads(asked, coil):
        yield Change(tuple(MoveEnd(wire.name, other, home) for wire, _, other in own if other != home))
        if len(ends) == 1:
            yield moved(ends, home)


def loop_area(asked: Asked) -> Iterator[Change]:
    """A smaller loop: the return to an earth point nearer to the plug."""
    if asked.device is not None:
        yield from _returns_moved(asked, asked.device)


def shared_return(asked: Asked) -> Iterator[Change]:
    """The coil's own wire past the joint that it shares, to the same earth point or another on the head."""
    coil = asked.device
    if coil is None:
        return
    roles = _return_roles(asked, coil)
    own = asked.homes.own_ends(coil, roles)
    reached = [end.earth for end in asked.homes.ends(asked.design.devices.with_role(coil, *roles))]
    for home in dict.fromkeys([*reached, *_heads(asked, coil)]):
        yield Change(tuple(MoveEnd(wire.name, other, home) for wire, _, other in own if other != home))


def twisted_pair(asked: Asked) -> Iterator[Change]:
    """Signal and return of a trigger sensor twisted together, each stretch between two connectors by itself."""
    lay_m = asked.design.given["lay_mm"] / 1000
    for pair in asked.design.trigger_pairs:
        if pair.device != asked.device or not pair.returns:
            continue
        edits: dict[str, Edit] = {}
        for number, signal in enumerate(pair.signal, 1):
            beside = [wire for wire in pair.returns if _items(wire) == _items(signal)]
            if not beside:  # the return takes a splice on its way: all of it lies beside this stretch
                beside = [wire for wire in pair.returns if wire.name not in edits]
            for wire in (signal, *beside):
                edits.setdefault(wire.name, Twist(wire.name, f"pair {number} of {pair.device.name}", lay_m))
        yield Change(tuple(edits.values()))


def _items(wire: Wire) -> frozenset[str]:
    return frozenset(contact.item for contact in (wire.a, wire.b) if contact is not None)


def margin(asked: Asked) -> Iterator[Change]:
    """A pair that is twisted, or a smaller loop of the coil that induces most."""
    design = asked.design
    for each in design.margins.all:
        if each.run.pair.device != asked.device or not each.known:
            continue
        if not each.run.twisted:
            yield from twisted_pair(asked)
        loudest = design.margins.strongest(each, each.worst).loop.subject
        coil = asked.homes.by_name.get(loudest[1])
        if coil is not None and coil.kind == "coil":
            yield from _returns_moved(asked, coil)
