"""Shared paths: parts in which currents of others shift the ground of a victim.

The offset of a victim is the sum over the parts between its ground and its reference of what each current drops there.
Where currents that are not the victim's own drop enough of it in one part, that part is a path they share.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from harnessdrc.design import Design
from harnessdrc.design.analysis.offsets import CHARGE

__all__ = ["Shares", "Sharing", "shares_of"]

_LEAST_OF_LIMIT = 0.1
"""A victim further from its limit than this is not harmed by anything it shares."""
_MOST_VICTIMS = 300
_LEAST_SHARE = 0.05
"""Sources whose part is less than this share of the greatest one are not named."""


class Sharing(NamedTuple):
    """What others make of one victim's offset in one part of the circuit.

    Parameters
    ----------
    victim : int
        Number of the victim.
    state : int
        State of its worst instant.
    part : int
        Part of the circuit.
    foreign_v, limit_v : float
        What falls there by currents that are not the victim's own, and the limit of the offset on that side, V.
    by : tuple of str
        Whose currents, the greatest part first.
    """

    victim: int
    state: int
    part: int
    foreign_v: float
    limit_v: float
    by: tuple[str, ...]

    @property
    def share_of_limit(self) -> float:
        """Part of the limit that falls there."""
        return abs(self.foreign_v / self.limit_v) if self.limit_v else float("inf")


class Shares(NamedTuple):
    """All of it, and the victims that could not be looked at because their currents spread over too many meshes."""

    found: tuple[Sharing, ...]
    not_told: tuple[int, ...]


def shares_of(design: Design, sides: Mapping[int, tuple[int, bool, float]]) -> Shares:
    """Parts in which currents of others shift victims that stand near enough to a limit.

    Parameters
    ----------
    design : Design
        A design whose circuit is solved.
    sides : mapping of int to (int, bool, float)
        For each victim to look at the state of its worst instant, whether the upper limit is meant, and that limit, V.
    """
    analysis = design.analysis
    offsets, circuit = analysis.new, design.circuit
    ends = {True: offsets.high_v, False: offsets.low_v}
    near = []
    for victim, (state, upward, limit_v) in sides.items():
        share = float(ends[upward][victim, state]) / limit_v if limit_v else float("inf")
        if share >= _LEAST_OF_LIMIT:
            near.append((-round(share, 6), analysis.victims[victim].subject, analysis.victims[victim].kind, victim))
    names = _names(design)
    found: list[Sharing] = []
    not_told = []
    for *_, victim in sorted(near)[:_MOST_VICTIMS]:
        state, upward, limit_v = sides[victim]
        ways = offsets.parts_by_way(victim, state, upward)
        if ways is None:
            not_told.append(victim)
            continue
        own = analysis.victims[victim].device.key
        foreign = np.array(
            [port < 0 or (d := circuit.ports[port].device) is None or d.key != own for port in ways.port.tolist()],
            dtype=np.bool_,
        )
        part, port, volts = ways.part[foreign], ways.port[foreign], ways.volts[foreign]
        if not len(part):
            continue
        order = np.argsort(part, kind="stable")
        borders = np.flatnonzero(np.diff(part[order], prepend=-1)).tolist()
        for start, end in zip(borders, [*borders[1:], len(order)], strict=True):
            rows = order[start:end]
            total = float(volts[rows].sum())
            by: dict[str, float] = {}
            for number, part_v in zip(port[rows].tolist(), volts[rows].tolist(), strict=True):
                name = CHARGE if number < 0 else names[number]
                by[name] = by.get(name, 0.0) + part_v
            found.append(Sharing(victim, state, int(part[rows[0]]), total, limit_v, _telling(by)))
    return Shares(tuple(found), tuple(not_told))


def _telling(by: Mapping[str, float]) -> tuple[str, ...]:
    """Names of what makes most, the greatest first; of equal ones the first by name."""
    ranked = sorted(by.items(), key=lambda each: (-round(abs(each[1]), 9), each[0]))
    least = _LEAST_SHARE * abs(ranked[0][1])
    return tuple(name for name, volts in ranked if volts and abs(volts) >= least)


def _names(design: Design) -> list[str]:
    """Name of each port; units that pulse in turn have one together, since any of them may be on: ``injectors``."""
    ports = design.circuit.ports
    members = Counter(port.group for port in ports)
    return [
        f"{port.figures.kind}s" if port.group and port.figures and members[port.group] > 1 else port.name
        for port in ports
    ]
