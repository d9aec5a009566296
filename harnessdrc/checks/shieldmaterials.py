"""Shields round the signals of trigger sensors: their material, and what it keeps off of a magnetic field."""

from __future__ import annotations

import math
from typing import NamedTuple

from harnessdrc.design import Design, TriggerPair
from harnessdrc.harness.elements import Wire
from harnessdrc.harness.names import fold
from harnessdrc.physics.shielding import shield_reduction_db
from harnessdrc.places import Place

__all__ = ["ShieldMaterials", "Shielded", "in_shields"]


class Shielded(NamedTuple):
    """A wire of a signal in a shield.

    Parameters
    ----------
    wire : Wire
        The wire.
    name : str
        The shield in a sentence: ``shield SH1``, or the wire where the shield has no word.
    material : str
        The best of the materials given for the shield; empty for none.
    db : float or None
        By how much that material weakens a magnetic field at the edge of primary switch-off, dB.
    place : Place
        Cell of the material, or where it would stand.
    """

    wire: Wire
    name: str
    material: str
    db: float | None
    place: Place


def in_shields(pair: TriggerPair) -> list[Wire]:
    """Wires of a pair's signal that lie in a shield, along the way to the controller."""
    return [wire for wire in pair.signal if wire.shield or wire.shield_material]


class ShieldMaterials:
    """What the shields of a design are made of.

    Parameters
    ----------
    design : Design
        Where the shields are from; its given value ``primary_off_us`` is how long primary switch-off takes.
    """

    def __init__(self, design: Design) -> None:
        self.hz = 1.0 / (math.pi * design.given["primary_off_us"] * 1e-6)
        """Highest frequency that counts in the edge of primary switch-off, 1 / (π rise), Hz."""
        self._wires: dict[str, tuple[Wire, ...]] = {
            fold(shield.name): (*shield.inside, *shield.drains) for shield in design.shields if shield.inside
        }

    def of(self, wire: Wire) -> Shielded:
        """The shield round a wire, by all the wires that lie in it and its drains."""
        others = self._wires.get(fold(wire.shield), ()) if wire.shield else ()
        said = [(self._db(w.shield_material), w) for w in (wire, *others) if w.shield_material]
        db, best = max(said, key=lambda each: each[0], default=(None, wire))
        place = best.place.of("shield_material", "shield", "wire", "from_item")
        name = f"shield {wire.shield}" if wire.shield else f"the shield of wire {wire.name}"
        return Shielded(wire, name, best.shield_material or "", db, place)

    def _db(self, material: str | None) -> float:
        return shield_reduction_db(material or "", self.hz)
