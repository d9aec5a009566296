"""The part of the way between two grounds that drops most: a strap, a wire, a body's joint."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design import Design
from harnessdrc.design.analysis import Analysis, Victim
from harnessdrc.design.analysis.offsets import Offsets
from harnessdrc.design.circuit import Part
from harnessdrc.findings import Mark, figures
from harnessdrc.harness.names import natural_key
from harnessdrc.physics.network import Unsolvable

__all__ = ["WayPart", "between_bodies", "part_marks", "part_text", "weightiest"]

Floats = NDArray[np.float64]

_BLOCK = 32
"""Instants that are solved at once."""


@dataclass(frozen=True, slots=True)
class WayPart:
    """One part of the way of an offset.

    Parameters
    ----------
    number : int
        Of the part in the circuit.
    part : Part
        The part.
    name, text : str
        As people call it, alone and with its resistance.
    ohm : float
        Its resistance with its joints, Ω.
    volts : float
        Its part of the offset, V.
    amps : float
        Current in it at that instant, A.
    """

    number: int
    part: Part
    name: str
    text: str
    ohm: float
    volts: float
    amps: float

    def marks(self, others: Sequence[Mark]) -> tuple[Mark, ...]:
        """Its cell, unless it is marked already."""
        marked = [other.place for other in others]
        return tuple(mark for mark in part_marks(self.part, self.name) if mark.place not in marked)

    def advice(self, victim: Victim, design: Design) -> str:
        """What to do about it."""
        if between_bodies(design, self.part):
            return (
                f"Earth {victim.device.name} and {victim.controller.name} at one point, so that {self.name} does not "
                "lie between them."
            )
        if self.part.kind == "inside":
            return f"Take the grounds of {victim.device.name} and {victim.controller.name} to one earth point."
        return (
            f"Make {self.name} larger or shorter, or give {victim.device.name} and {victim.controller.name} ways of "
            "their own to one earth point."
            if self.part.wire is not None
            else f"Take {self.name} out of the way between {victim.device.name} and {victim.controller.name}."
        )


def between_bodies(design: Design, part: Part) -> bool:
    """Whether a part joins bodies or belongs to the battery cable, rather than to a wire of one device."""
    return part.kind in ("strap", "bodies", "earth", "battery") or any(part.wire is wire for wire in design.net.straps)


def part_marks(part: Part, label: str) -> tuple[Mark, ...]:
    """Mark on the cell of a part, where it has one."""
    if part.wire is not None:
        return (Mark(part.wire.place.of("size", "wire"), label),)
    return (Mark(part.place, label),) if part.place is not None else ()


def part_text(name: str, ohm: float, amps: float) -> str:
    """A part with what it has and carries: ``strap G1 (40 mΩ, 14.7 A)``."""
    return f"{name} ({figures(ohm * 1000)} mΩ, {figures(abs(amps))} A)"


def weightiest(analysis: Analysis, offsets: Offsets, wanted: Sequence[tuple[int, int, bool]]) -> list[WayPart]:
    """The part that makes most of each of some worst instants, each of a victim, a state and a side.

    One ampere brought in at the victim's ground and taken out at the controller's runs along the way of the offset.
    Its share in a part, times what the part drops, is the part's volts; all together they are the offset.
    """
    found: list[WayPart] = []
    for start in range(0, len(wanted), _BLOCK):
        found += _of_block(analysis, offsets, wanted[start : start + _BLOCK])
    return found


def _instant_a(offsets: Offsets, wanted: Sequence[tuple[int, int, bool]]) -> Floats:
    """Current of every port at each of some worst instants, A, shape (ports, instants)."""
    settled = offsets.settled
    victims = [victim for victim, _, _ in wanted]
    state = np.array([number for _, number, _ in wanted], dtype=np.intp)
    worked = offsets.worked(victims)
    off, on = offsets.roles(victims, worked.transfers)
    column, port = worked.transfers.victim, worked.transfers.port
    amps = settled.steady_a[:, state].copy()
    amps[port[off], column[off]] = 0.0
    amps[port[on], column[on]] += settled.on_a[port[on], state[column[on]]]
    entry, extra_a = offsets.extra_a(victims, worked, np.array([upward for _, _, upward in wanted], dtype=np.bool_))
    amps[port[entry], column[entry]] += extra_a[np.arange(len(entry)), state[column[entry]]]
    return amps


def _of_block(analysis: Analysis, offsets: Offsets, wanted: Sequence[tuple[int, int, bool]]) -> list[WayPart]:
    settled = offsets.settled
    circuit = settled.circuit
    amps = _instant_a(offsets, wanted)
    emf_v = settled.emf_v[[state for _, state, _ in wanted]]
    solved = settled.network.solve_many(circuit.injected(amps), emf_scale=emf_v)
    if isinstance(solved, Unsolvable):
        raise ArithmeticError("; ".join(solved.reasons))
    units = offsets.units_of([victim for victim, _, _ in wanted])
    flowing_a = np.nan_to_num(solved.amps[units.branch, units.pair])
    volts = flowing_a * units.amps * settled.ohm[units.branch]
    found = []
    for column, (_, _, upward) in enumerate(wanted):
        own = np.flatnonzero(units.pair == column)
        signed = volts[own] if upward else -volts[own]
        # Of parts that make the same the first by name, whatever the order of the rows.
        most = own[signed >= signed.max() - 1e-9]
        best = min(most, key=lambda entry: natural_key(circuit.part_name(circuit.parts[int(units.branch[entry])])))
        number = int(units.branch[best])
        part = circuit.parts[number]
        name, ohm, current_a = circuit.part_name(part), float(settled.ohm[number]), float(flowing_a[best])
        found.append(WayPart(number, part, name, part_text(name, ohm, current_a), ohm, float(volts[best]), current_a))
    return found
