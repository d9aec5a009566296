"""The weakest joints of each victim: by how much each may rise until the victim's limit is crossed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design.analysis.offsets import Offsets, Worked
from harnessdrc.design.analysis.transfers import summed
from harnessdrc.physics.network import UnitCurrents, Unsolvable
from harnessdrc.physics.reserves import rise_to_limit_ohm

__all__ = ["Reserve", "Side", "weakest"]

Floats = NDArray[np.float64]
Numbers = NDArray[np.intp]

_SOLVED_NODES = 10_000

Side = tuple[int, bool, float]
"""A victim, whether its highest (else its lowest) offset is meant, and the limit on that side, V."""

_SOLVED_AT_ONCE = 100_000
"""Nodes times states of wide victims that are solved at once."""


class Reserve(NamedTuple):
    """How far the joints of one part may rise.

    Parameters
    ----------
    victim, state, part : int
        Their numbers.
    upward : bool
        Which limit is crossed: the highest offset or the lowest.
    rise_ohm : float
        Rise at which it is crossed, all loads held at their currents, Ω; 0 where it is crossed as built.
    """

    victim: int
    state: int
    part: int
    upward: bool
    rise_ohm: float


def weakest(offsets: Offsets, sides: Sequence[Side], most: int) -> list[list[Reserve]]:
    """The `most` parts with the least reserve for each of `sides`, the least first.

    The rise is worked out for the worst instant of every state; the least counts.
    """
    found: list[list[Reserve]] = []
    for rows in offsets.blocks([victim for victim, _, _ in sides]):
        found += _of_block(offsets, sides[rows], most)
    return found


def _of_block(offsets: Offsets, sides: Sequence[Side], most: int) -> list[list[Reserve]]:
    settled = offsets.settled
    victims = [victim for victim, _, _ in sides]
    rows = np.array(victims, dtype=np.intp)
    upward = np.array([side[1] for side in sides], dtype=np.bool_)
    sign = np.where(upward, 1.0, -1.0)
    limit_v = np.array([limit for _, _, limit in sides]) * sign
    worked = offsets.worked(victims)
    units, shared = worked.units, worked.shared
    # Every side in every state has an instant of its own, and with it currents of its own in the parts.
    off, on = offsets.roles(victims, worked.transfers)
    port = worked.transfers.port
    extra_a = np.where(on[:, None], settled.on_a[port], 0.0) - np.where(off[:, None], settled.steady_a[port], 0.0)
    entry, amps = offsets.extra_a(victims, worked, upward)
    extra_a[entry] += amps
    flowing_a = settled.steady_amps[units.branch]
    flowing_a = flowing_a + summed(shared.entry, extra_a[shared.transfer] * shared.port_a[:, None], len(flowing_a))
    wide = offsets.wide[rows]
    rises = _Rises(offsets, rows, sign, limit_v, units)
    rise = rises.of(flowing_a)
    if wide.any():
        rise = _of_wide(offsets, worked, extra_a, wide, rises, rise)
    pair, part = rises.pair, rises.part
    # Of states that are alike the first stands, whatever the last digits say.
    alike = rise <= rise.min(axis=1, initial=np.inf)[:, None] * (1.0 + 1e-9)
    worst = alike.argmax(axis=1) if len(rise) else np.zeros(0, dtype=np.intp)
    least = rise[np.arange(len(rise)), worst]
    order = np.lexsort((part, least, pair))
    order = order[np.isfinite(least[order])]
    result: list[list[Reserve]] = [[] for _ in sides]
    for entry in order.tolist():
        row = result[int(pair[entry])]
        if len(row) < most:
            side = sides[int(pair[entry])]
            row.append(Reserve(side[0], int(worst[entry]), int(part[entry]), side[1], float(least[entry])))
    return result


class _Rises:
    """Rise of every part with a joint until a limit is crossed, for currents that are still to be given."""

    def __init__(self, offsets: Offsets, rows: Numbers, sign: Floats, limit_v: Floats, units: UnitCurrents) -> None:
        settled = offsets.settled
        self.kept = np.flatnonzero(settled.circuit.jointed[units.branch])
        self.pair, self.part, self.unit_a = (column[self.kept] for column in (units.pair, units.branch, units.amps))
        self.sign = sign
        value = np.where(sign[:, None] > 0, offsets.high_v[rows], offsets.low_v[rows])
        # What stands far out on the other side is not over this limit, but has all the more room to it.
        self.room_v = np.maximum(limit_v[:, None] - value * sign[:, None], 0.0)
        self.loop_ohm = (settled.ohm + settled.network.beside_ohm())[self.part]

    def of(self, flowing_a: Floats) -> Floats:
        """Rise, Ω, shape (kept, states), with these currents in the parts of all unit currents, A."""
        return self.of_entries(flowing_a[self.kept], slice(None))

    def of_entries(self, flowing_a: Floats, entries: slice) -> Floats:
        """The same of some of those kept, with the currents in their parts, A, shape (entries, states)."""
        pair = self.pair[entries]
        slope = flowing_a * (self.unit_a[entries] * self.sign[pair])[:, None]
        rise = rise_to_limit_ohm(0.0, slope, self.loop_ohm[entries, None], self.room_v[pair])
        return np.where(slope > 0, rise, np.inf)


def _of_wide(
    offsets: Offsets,
    worked: Worked,
    extra_a: Floats,
    wide: NDArray[np.bool_],
    rises: _Rises,
    rise: Floats,
) -> Floats:
    """The same of wide victims, by solving the worst instant of every state.

    In a circuit of very many nodes the average currents stand in for those of the instant.
    """
    settled = offsets.settled
    numbers = np.arange(len(wide) + 1)
    first = np.searchsorted(worked.transfers.victim, numbers)
    entries = np.searchsorted(rises.pair, numbers)
    if len(settled.circuit.nodes) > _SOLVED_NODES:
        on_average = rises.of(settled.amps[worked.units.branch])
        return np.where(wide[rises.pair][:, None], on_average, rise)
    states = settled.steady_a.shape[1]
    every = np.flatnonzero(wide & (entries[1:] > entries[:-1]))
    at_once = max(1, _SOLVED_AT_ONCE // (len(settled.circuit.nodes) * states))
    for start in range(0, len(every), at_once):
        some = every[start : start + at_once].tolist()
        amps = np.tile(settled.steady_a, len(some))
        for at, victim in enumerate(some):
            rows = slice(first[victim], first[victim + 1])
            amps[worked.transfers.port[rows], at * states : (at + 1) * states] += extra_a[rows]
        solved = settled.network.solve_many(settled.circuit.injected(amps), emf_scale=np.tile(settled.emf_v, len(some)))
        if isinstance(solved, Unsolvable):
            raise ArithmeticError("; ".join(solved.reasons))
        for at, victim in enumerate(some):
            mine = slice(entries[victim], entries[victim + 1])
            flowing_a = solved.amps[rises.part[mine], at * states : (at + 1) * states]
            rise[mine] = rises.of_entries(flowing_a, mine)
    return rise
