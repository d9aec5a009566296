"""Joints that need rise only a little until an input or a reading goes over its limit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from harnessdrc.checks.offsets import judge
from harnessdrc.design import Design
from harnessdrc.design.analysis import Victim
from harnessdrc.design.analysis.limits import OffsetLimits
from harnessdrc.design.analysis.reserves import Reserve, Side, weakest
from harnessdrc.design.circuit import Part
from harnessdrc.findings import Mark, Subject
from harnessdrc.harness.names import natural_key

__all__ = ["VICTIM_KINDS", "Short", "short_reserves"]

VICTIM_KINDS = (
    "coil input, off", "coil input, on", "temperature reading", "ratiometric reading", "trigger level",
    "controller ground", "bus node",
)  # fmt: skip

_SOLVED_NODES = 200_000
"""Nodes that may be solved again in all; beyond it the closed form, loads held, stands."""
_SOLVES_EACH = 8


@dataclass(frozen=True, slots=True)
class Short:
    """A victim whose weakest joint has too little reserve.

    Parameters
    ----------
    victim : Victim
        The victim.
    reserve : Reserve
        The joint, state and side.
    part : Part
        Part of the circuit that the joint lies in.
    rise_ohm : float
        Rise of its resistance until the limit is crossed, Ω.
    limit_v, offset_v : float
        Limit of the offset on that side and the offset as built, V.
    cause : tuple of (str, str) or None
        Subject of the victim with the least reserve at the same joint.
    """

    victim: Victim
    reserve: Reserve
    part: Part
    rise_ohm: float
    limit_v: float
    offset_v: float
    cause: Subject | None = None

    def marks(self, design: Design) -> tuple[Mark, ...]:
        """The victim's cell, then those of the joint."""
        marked = [mark.place for mark in self.victim.mark]
        joints = design.analysis.circuit.joints.names_of(self.part)
        return self.victim.mark + tuple(
            Mark(place, name) for name, place in joints if place is not None and place not in marked
        )

    def joint(self, design: Design) -> str:
        """The joint as people call it; of a wire or a strap those at both its ends."""
        names = list(dict.fromkeys(name for name, _ in design.analysis.circuit.joints.names_of(self.part)))
        return " or ".join(names) or design.analysis.circuit.part_name(self.part)


def short_reserves(design: Design, limits: OffsetLimits, reserve_ohm: float) -> list[Short]:
    """Every component with a joint of less reserve, its least one, in the order of the list."""
    analysis = design.analysis
    if not analysis.victims:
        return []
    sides = list(_sides(design, limits, reserve_ohm))
    circuit, offsets = analysis.circuit, analysis.new
    least: dict[Subject, tuple[Reserve, float]] = {}
    for side, reserves in zip(sides, weakest(offsets, sides, 3), strict=True):
        if not reserves or not reserves[0].rise_ohm < reserve_ohm:
            continue
        # Of joints that have the same reserve the first by name, whatever the order of the rows.
        same = [r for r in reserves if r.rise_ohm <= reserves[0].rise_ohm * (1 + 1e-9)]
        first = min(same, key=lambda r: natural_key(circuit.part_name(circuit.parts[r.part])))
        subject = analysis.victims[side[0]].subject
        if subject not in least or first.rise_ohm < least[subject][0].rise_ohm:
            least[subject] = first, side[2]
    solve_again = len(circuit.nodes) * len(least) * _SOLVES_EACH <= _SOLVED_NODES
    found = []
    for reserve, limit_v in least.values():
        rise_ohm = analysis.resolved_rise_ohm(reserve, limit_v) if solve_again else reserve.rise_ohm
        if rise_ohm < reserve_ohm:
            volts = (offsets.high_v if reserve.upward else offsets.low_v)[reserve.victim, reserve.state]
            victim, part = analysis.victims[reserve.victim], circuit.parts[reserve.part]
            found.append(Short(victim, reserve, part, rise_ohm, limit_v, float(volts)))
    return _with_causes(found)


def _sides(design: Design, limits: OffsetLimits, reserve_ohm: float) -> Iterator[Side]:
    """Sides of victims within their limits that a joint may bring over with less than this rise.

    A rise d adds at most d times the current in the joint to the offset, so that only joints with a current of at
    least the room that is left over d come into question.
    """
    analysis = design.analysis
    offsets, peak_a = analysis.new, np.nan_to_num(analysis.part_currents.peak)
    units = offsets.units
    jointed = analysis.circuit.jointed
    most_v = np.zeros((len(analysis.victims), len(analysis.states)))
    per_a = np.abs(units.amps) * jointed[units.branch] * reserve_ohm
    if len(per_a):
        starts = np.flatnonzero(np.diff(units.pair, prepend=-1))
        for state in range(len(analysis.states)):
            most_v[units.pair[starts], state] = np.maximum.reduceat(per_a * peak_a[units.branch, state], starts)
    lowest_v = (offsets.low_v - most_v).min(axis=1).tolist()
    highest_v = (offsets.high_v + most_v).max(axis=1).tolist()
    for judged in judge(design, VICTIM_KINDS, limits):
        if judged.verdict != "within":
            continue
        number = judged.number
        low_limit_v, high_limit_v = limits.of(judged.victim.kind, analysis.given)
        if low_limit_v is not None and lowest_v[number] < low_limit_v:
            yield number, False, low_limit_v
        if high_limit_v is not None and highest_v[number] > high_limit_v:
            yield number, True, high_limit_v


def _with_causes(found: list[Short]) -> list[Short]:
    """The least of each joint is the cause of the others."""
    first: dict[int, Short] = {}
    for each in sorted(found, key=lambda s: (round(s.rise_ohm, 9), s.victim.subject)):
        first.setdefault(each.reserve.part, each)
    return [
        each
        if first[each.reserve.part] is each
        else Short(
            each.victim, each.reserve, each.part, each.rise_ohm, each.limit_v, each.offset_v,
            first[each.reserve.part].victim.subject,
        )
        for each in found
    ]  # fmt: skip
