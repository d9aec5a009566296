"""Ranges of offsets over the data that is lacking or only usual: lengths, sizes, straps, currents.

An offset moves one way only with any single resistance (see `harnessdrc.physics.reserves`) and is a sum over the
currents. So its extremes lie where every uncertain value stands at one of its ends. Which end follows from the
signs of its slope and its share; the circuit is solved again with the resistances there, the signs are looked at
anew, and so on until none turns.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design.analysis.currents import PortCurrents
from harnessdrc.design.analysis.offsets import Offsets
from harnessdrc.design.analysis.settled import Settled, settle
from harnessdrc.design.circuit import Circuit
from harnessdrc.physics.network import Unsolvable
from harnessdrc.physics.operation import OperatingState
from harnessdrc.physics.reserves import offset_with_rise_v

__all__ = ["Range", "Ranges"]

Floats = NDArray[np.float64]

Wanted = tuple[int, int, bool]
"""A victim, a state, and whether its highest (else its lowest) offset is meant."""

_TURNS = 4
_TELLING_SHARE = 0.02
"""What moves an offset by less than this part of its range is not named as lacking."""
_LEAST_V = 1e-6


class Range(NamedTuple):
    """Where an offset can lie, V, and the data that would narrow it, the most telling first."""

    low_v: float
    high_v: float
    lacking: tuple[str, ...]

    @property
    def certain(self) -> bool:
        """Whether nothing of it is uncertain."""
        return self.high_v - self.low_v < 2 * _LEAST_V


@dataclass
class Ranges:
    """Ranges of the worst instants of victims.

    Parameters
    ----------
    circuit : Circuit
        With its uncertain parts.
    currents : PortCurrents
        With the ranges of currents.
    states : sequence of OperatingState
        States.
    given : mapping of str to float
        Values taken as given.
    offsets : Offsets
        Of the circuit as far as it is known.
    """

    circuit: Circuit
    currents: PortCurrents
    states: Sequence[OperatingState]
    given: Mapping[str, float]
    offsets: Offsets

    def __post_init__(self) -> None:
        self._solved: dict[tuple[int, bytes], Offsets | None] = {}

    def of(self, victim: int, state: int, upward: bool) -> Range:
        """Range of the highest (else the lowest) offset of one victim in one state."""
        return self.of_many([(victim, state, upward)])[0]

    def of_many(self, wanted: Sequence[Wanted]) -> list[Range]:
        """Ranges of several worst instants, each of a victim, a state and a side; solved together where that does."""
        low, high = self._extremes(wanted, rising=False), self._extremes(wanted, rising=True)
        found = []
        for (low_v, falling), (high_v, rising) in zip(low, high, strict=True):
            moves = {name: max(falling.get(name, 0.0), rising.get(name, 0.0)) for name in {**falling, **rising}}
            span = max(high_v - low_v, _LEAST_V)
            named = sorted((n for n in moves if moves[n] > _TELLING_SHARE * span), key=lambda n: (-moves[n], n))
            found.append(Range(low_v, high_v, tuple(named)))
        return found

    def _extremes(self, wanted: Sequence[Wanted], *, rising: bool) -> list[tuple[float, dict[str, float]]]:
        """The greatest (`rising`) or least value of each, and what each uncertain value moves it by."""
        sign = 1.0 if rising else -1.0
        parts = self.circuit.uncertain_parts
        offsets = [self.offsets] * len(wanted)
        corners = [np.zeros(len(parts), dtype=np.int8)] * len(wanted)
        effects: list[dict[str, float]] = [{} for _ in wanted]
        turning = list(range(len(wanted)))
        for turn in range(_TURNS):
            asked: dict[int, NDArray[np.int8]] = {}
            for number in turning:
                victim, state, upward = wanted[number]
                moved = self._moves(offsets[number], victim, state, upward, parts)
                telling = np.abs(moved).max(axis=0) > _LEAST_V if len(parts) else np.zeros(0, dtype=np.bool_)
                # towards the end that moves the offset the way asked for
                corner = np.where(moved[1] * sign > moved[0] * sign, 1, -1).astype(np.int8) * telling
                if turn == 0:
                    for at in np.flatnonzero(telling):
                        for name in self.circuit.parts[parts[at]].lacking:
                            effects[number][name] = max(
                                effects[number].get(name, 0.0), float(np.abs(moved[:, at]).max())
                            )
                if not (corner == corners[number]).all():
                    asked[number] = corner
            turning = []
            for number, solved in self._together(asked, wanted, parts).items():
                if solved is not None:
                    offsets[number], corners[number] = solved, asked[number]
                    turning.append(number)
        found = []
        for number, (victim, state, upward) in enumerate(wanted):
            end = offsets[number]
            at_state = 0 if end is not self.offsets else state
            value = float((end.high_v if upward else end.low_v)[victim, at_state])
            change, by_current = self._currents(end, victim, at_state, upward, sign)
            found.append((value + change, {**effects[number], **by_current}))
        return found

    def _together(
        self, asked: Mapping[int, NDArray[np.int8]], wanted: Sequence[Wanted], parts: NDArray[np.intp]
    ) -> dict[int, Offsets | None]:
        """Offsets at the corners asked for, those of one state that do not contradict each other solved as one.

        A corner says nothing of the parts that its victim does not depend on, so that they may stand where another
        victim wants them.
        """
        merged: dict[int, list[tuple[NDArray[np.int8], list[int]]]] = {}
        for number, corner in asked.items():
            said = np.flatnonzero(corner)
            groups = merged.setdefault(wanted[number][1], [])
            for whole, members in groups:
                if (whole[said] * corner[said] >= 0).all():
                    whole[said] = corner[said]
                    members.append(number)
                    break
            else:
                groups.append((corner.copy(), [number]))
        return {
            number: offsets
            for state, groups in merged.items()
            for whole, members in groups
            for offsets in (self._at(state, parts, whole),)
            for number in members
        }

    def _moves(self, offsets: Offsets, victim: int, state: int, upward: bool, parts: NDArray[np.intp]) -> Floats:
        """What each uncertain part alone does to the offset at its low and at its high end, V, shape (2, parts)."""
        settled = offsets.settled
        at_state = 0 if offsets is not self.offsets else state
        moves = np.zeros((2, len(parts)))
        if not len(parts):
            return moves
        worked = offsets.worked([victim])
        units, shared, port = worked.units, worked.shared, worked.transfers.port
        unit_a = np.zeros(len(settled.ohm))
        unit_a[units.branch] = units.amps
        if not unit_a[parts].any():
            return moves
        off, on = offsets.roles([victim], worked.transfers)
        extra_a = np.where(on, settled.on_a[port, at_state], 0.0) - np.where(off, settled.steady_a[port, at_state], 0.0)
        entry, amps = offsets.extra_a([victim], worked, np.array([upward]))
        extra_a[entry] += amps[:, at_state]
        flowing_a = settled.steady_amps[:, at_state].copy()
        np.add.at(flowing_a, units.branch[shared.entry], extra_a[shared.transfer] * shared.port_a)
        slope = np.nan_to_num(flowing_a[parts]) * unit_a[parts]
        loop_ohm = settled.ohm[parts] + settled.network.beside_ohm()[parts]
        low, high = self._room_ohm
        base = settled.ohm[parts] - self.offsets.settled.ohm[parts]
        loop_ohm = np.where(np.isnan(loop_ohm), np.inf, loop_ohm)
        moves[0] = offset_with_rise_v(0.0, slope, loop_ohm, low - base)
        moves[1] = offset_with_rise_v(0.0, slope, loop_ohm, high - base)
        return moves

    @cached_property
    def _room_ohm(self) -> tuple[Floats, Floats]:
        """How far each uncertain part may fall and rise, Ω."""
        parts = [self.circuit.parts[number] for number in self.circuit.uncertain_parts]
        return np.array([p.low_ohm - p.ohm for p in parts]), np.array([p.high_ohm - p.ohm for p in parts])

    def _at(self, state: int, parts: NDArray[np.intp], corner: NDArray[np.int8]) -> Offsets | None:
        """Offsets with the uncertain parts at their ends, in one state."""
        key = state, corner.tobytes()
        if key not in self._solved:
            ohm = self.offsets.settled.ohm.copy()
            for at, end in zip(parts.tolist(), corner.tolist(), strict=True):
                part = self.circuit.parts[at]
                ohm[at] += (part.high_ohm if end > 0 else part.low_ohm if end < 0 else part.ohm) - part.ohm
            currents = self.currents.of_state(state)
            settled: Settled | Unsolvable = settle(self.circuit, ohm, currents, [self.states[state]], self.given)
            self._solved[key] = (
                None if isinstance(settled, Unsolvable) else Offsets(settled, currents, self.offsets.victims)
            )
        return self._solved[key]

    def _currents(
        self, offsets: Offsets, victim: int, state: int, upward: bool, sign: float
    ) -> tuple[float, dict[str, float]]:
        """What the ranges of the currents add to an extreme, V, and what each of them moves."""
        parts = offsets.parts(victim, state, upward)
        ends = np.vstack((parts.port_v * (self.currents.low - 1.0), parts.port_v * (self.currents.high - 1.0)))
        unknown = np.flatnonzero(self.currents.unknown)
        if len(unknown):
            transfers = offsets.worked([victim], steady=True).transfers
            ohm = np.zeros(len(parts.port_v))
            ohm[transfers.port] = transfers.ohm
            # The alternator gives what it draws, or has no more to give.
            machines = np.flatnonzero(self.circuit.alternators & (offsets.settled.average_a[:, state] < 0))
            fed_ohm = float(ohm[machines].mean()) if len(machines) else 0.0
            most_a = self.given["unknown_current_high_a"]
            ends[:, unknown] = ohm[unknown] * most_a, (ohm[unknown] - fed_ohm) * most_a
        change = float((sign * np.maximum((ends * sign).max(axis=0), 0.0)).sum())
        moved = np.abs(ends).max(axis=0)
        names = self.circuit.ports
        return change, {f"current of {names[n].name}": float(moved[n]) for n in np.flatnonzero(moved > _LEAST_V)}

