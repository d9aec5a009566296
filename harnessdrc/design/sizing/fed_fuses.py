"""What holds the current of copper that has no fuse ahead of it: the fuses that it feeds.

A fuse lets its rating flow for ever, through the wire that feeds it as well. A wire that leads to fuses alone carries
no more for long than all of them together; one that leads to anything else, or to nothing, is held by nothing. The
cable of a starter is sized by its drop, as the trade does it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from harnessdrc.design.sizing.protection import protection_of
from harnessdrc.design.sizing.unfused import unfused_ways
from harnessdrc.harness.elements import Contact

if TYPE_CHECKING:
    from harnessdrc.design import Design

__all__ = ["FedFuses", "fed_fuses", "unrated_fuses"]

_KEPT = "fed fuses"


class FedFuses(NamedTuple):
    """Wires without a fuse ahead of them.

    Parameters
    ----------
    held_a : dict of str to float
        Those that lead to fuses alone, by name: sum of the ratings of these, A.
    unheld : tuple of str
        Those that anything else hangs on.
    unrated : dict of str to tuple of str
        Those that lead to fuses without a rating, with the names of these.
    """

    held_a: dict[str, float]
    unheld: tuple[str, ...]
    unrated: dict[str, tuple[str, ...]]


def unrated_fuses(design: Design) -> dict[str, tuple[str, ...]]:
    """Wires that a fuse without a rating stands ahead of or behind, by name, with the names of these fuses."""
    protection, found = protection_of(design), dict(fed_fuses(design).unrated)
    unrated = {fuse.item.key: fuse.item.name for fuse in protection.fuses if fuse.rating_a is None}
    if unrated:
        net_of, ahead = design.net.net_of, protection.ahead
        for wire in design.harness.wires:
            key = next((ahead.get(net_of[end]) for end in (wire.a, wire.b) if end in net_of), None)
            if key in unrated:
                found[wire.name] = (unrated[key],)
    return found


class _Hangs(NamedTuple):
    """What hangs on a contact of unfused copper: sum of ratings, A, whether anything is not held, fuses not rated."""

    amps: float = 0.0
    unheld: bool = False
    unrated: tuple[str, ...] = ()

    def with_(self, other: _Hangs) -> _Hangs:
        return _Hangs(self.amps + other.amps, self.unheld or other.unheld, self.unrated + other.unrated)


def fed_fuses(design: Design) -> FedFuses:
    """Wires without a fuse ahead, worked out once and kept with the design."""
    kept: dict[str, Any] = design.analysis.kept
    if _KEPT not in kept:
        kept[_KEPT] = _find(design)
    found: FedFuses = kept[_KEPT]
    return found


def _find(design: Design) -> FedFuses:
    protection, steps = protection_of(design), unfused_ways(design)
    inlets = {fuse.inlet: fuse for fuse in protection.fuses if not fuse.output}
    passing = {end for element in design.net.elements if element.kind != "fuse" for end in (element.a, element.b)}
    hangs: dict[Contact, _Hangs] = {}
    leads: set[Contact] = {before[0] for before in steps.values() if before is not None}
    ways = set()
    held: dict[str, float] = {}
    unheld: list[str] = []
    unrated: dict[str, tuple[str, ...]] = {}
    # the farthest first: what hangs on a contact is whole before it is handed on toward the battery
    for contact in reversed(steps):
        here = hangs.get(contact, _Hangs())
        fuse = inlets.get(contact)
        if fuse is not None:
            rated = fuse.rating_a is not None
            here = here.with_(_Hangs(fuse.rating_a or 0.0, False, () if rated else (fuse.item.name,)))
        else:
            owner = design.devices.owner(contact)
            open_end = owner is None and contact not in leads and contact not in passing
            device = owner is not None and contact not in passing and owner.kind not in ("battery", "starter")
            here = here._replace(unheld=here.unheld or open_end or device)
        before = steps[contact]
        if before is None:
            continue
        near, wire = before
        hangs[near] = hangs.get(near, _Hangs()).with_(here)
        if wire is None:
            continue
        ways.add(wire.name)
        if here.unheld:
            unheld.append(wire.name)
        elif not here.amps and not here.unrated:
            continue  # the starter's cable, which its drop decides on, or the way to another battery
        elif here.unrated:
            unrated[wire.name] = here.unrated
        else:
            held[wire.name] = here.amps
    # wires beside the ways: they share their current with others, or end open
    unheld += [
        wire.name for contact in steps for wire in design.net.wires_at[contact]
        if wire.name not in ways and wire.cores == 1
    ]  # fmt: skip
    return FedFuses(held, tuple(dict.fromkeys(unheld)), unrated)
