"""Everything that is computed from the circuit, each once, on first use."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design.analysis.currents import PortCurrents, port_currents
from harnessdrc.design.analysis.limits import OffsetLimits
from harnessdrc.design.analysis.offsets import Offsets
from harnessdrc.design.analysis.ranges import Range, Ranges
from harnessdrc.design.analysis.reserves import Reserve, Side, weakest
from harnessdrc.design.analysis.settled import Settled, settle
from harnessdrc.design.analysis.victims import Victim, find_victims
from harnessdrc.design.analysis.wires import PartCurrents, part_currents
from harnessdrc.design.circuit import Circuit, LeftOut, Part
from harnessdrc.design.devices import Devices
from harnessdrc.harness.connectivity import Connectivity
from harnessdrc.harness.roles import Roles
from harnessdrc.physics.network import Unsolvable
from harnessdrc.physics.operation import OperatingState

__all__ = ["Analysis", "Worst"]

Floats = NDArray[np.float64]

_OPEN_OHM = 1e9
_SOLVE_TURNS = 40
_ALIKE_V = 1e-9
_ROOM_V = 1e-6
_NEAR = 1e-4
"""A rise is found to this part of itself, or when the offset is this near to its limit."""


class Worst(NamedTuple):
    """The worst instant of one victim: nearest to its limit, or furthest over it.

    Parameters
    ----------
    victim, state : int
        Their numbers.
    upward : bool
        Whether the upper limit is meant.
    offset_v, limit_v : float
        The offset and the limit on that side, V.
    """

    victim: int
    state: int
    upward: bool
    offset_v: float
    limit_v: float

    @property
    def share_of_limit(self) -> float:
        """The offset over its limit: above 1 it is crossed; negative on the harmless side."""
        if self.limit_v:
            return self.offset_v / self.limit_v
        return float("inf") if self.over else 0.0

    @property
    def over(self) -> bool:
        """Whether the limit is crossed."""
        return self.offset_v > self.limit_v if self.upward else self.offset_v < self.limit_v


class Analysis:
    """The circuit of a design, solved.

    Parameters
    ----------
    circuit : Circuit
        The circuit.
    devices, net, roles
        Of the design.
    states : sequence of OperatingState
        Operating states, in the order of the ruleset.
    given : mapping of str to float
        Values taken as given.
    """

    def __init__(
        self,
        circuit: Circuit,
        devices: Devices,
        net: Connectivity,
        roles: Roles,
        states: Sequence[OperatingState],
        given: Mapping[str, float],
    ) -> None:
        self.circuit, self.devices, self.net, self.roles = circuit, devices, net, roles
        self.states, self.given = tuple(states), given
        self.kept: dict[str, Any] = {}
        """What checks work out from it once and keep with it, so that it goes when the design goes."""

    # ------------------------------------------------------------------ what is solved
    @property
    def solved(self) -> bool:
        """Whether there is anything solved at all."""
        return bool(self.states) and self.circuit.fault is None

    @property
    def left_out(self) -> tuple[LeftOut, ...]:
        """What could not be solved, and why."""
        return self.circuit.left_out

    @cached_property
    def currents(self) -> PortCurrents:
        """Currents of all ports in all states."""
        return port_currents(self.circuit.ports, self.states)

    def _settle(self, ohm: Floats, state: int | None = None) -> Settled:
        """The circuit with these resistances in every state, or in one."""
        currents = self.currents if state is None else self.currents.of_state(state)
        states = self.states if state is None else self.states[state : state + 1]
        settled = settle(self.circuit, ohm, currents, states, self.given)
        if isinstance(settled, Unsolvable):
            raise ArithmeticError("; ".join(settled.reasons))
        return settled

    @cached_property
    def all_victims(self) -> tuple[Victim, ...]:
        """Inputs and readings that are held against the controller's ground, solved or not."""
        return find_victims(self.devices, self.net, self.roles, self.circuit)

    @cached_property
    def victims(self) -> tuple[Victim, ...]:
        """Those of them whose grounds are part of the solved circuit."""
        if not self.solved:
            return ()
        number = self.circuit.node_number
        return tuple(v for v in self.all_victims if v.ground in number and v.reference in number)

    @cached_property
    def new(self) -> Offsets:
        """Offsets with joints as new."""
        return Offsets(self._settle(self.circuit.ohm()), self.currents, self.victims)

    @cached_property
    def aged(self) -> Offsets:
        """Offsets with joints aged."""
        offsets = Offsets(self._settle(self.circuit.ohm(aged=True)), self.currents, self.victims)
        offsets.let_go()
        return offsets

    @cached_property
    def part_currents(self) -> PartCurrents:
        """Currents of all parts, joints as new."""
        return part_currents(self.new.settled, self.currents)

    # ------------------------------------------------------------------ against limits
    def worst(self, victim: int, limits: OffsetLimits, *, aged: bool = False) -> Worst:
        """The worst instant of a victim over all states."""
        offsets = self.aged if aged else self.new
        low_limit_v, high_limit_v = limits.of(self.victims[victim].kind, self.given)
        found = []
        for limit_v, values, upward in (
            (low_limit_v, offsets.low_v[victim], False),
            (high_limit_v, offsets.high_v[victim], True),
        ):
            if limit_v is not None:
                of_states = values.tolist()
                extreme_v = max(of_states) if upward else min(of_states)
                # Of states that are alike the first stands, whatever the last digits say.
                state = next(n for n, value in enumerate(of_states) if abs(value - extreme_v) <= _ALIKE_V)
                found.append(Worst(victim, state, upward, of_states[state], limit_v))
        return max(found, key=lambda worst: (worst.share_of_limit, abs(worst.offset_v)))

    @cached_property
    def ranges(self) -> Ranges:
        """Ranges over what is uncertain, joints as new."""
        return Ranges(self.circuit, self.currents, self.states, self.given, self.new)

    def range_of(self, worst: Worst) -> Range:
        """Range of a worst instant over what is uncertain, joints as new."""
        return self.ranges.of(worst.victim, worst.state, worst.upward)

    def ranges_of(self, worsts: Sequence[Worst]) -> list[Range]:
        """Ranges of several worst instants, solved together where that does."""
        return self.ranges.of_many([(worst.victim, worst.state, worst.upward) for worst in worsts])

    # ------------------------------------------------------------------ joints
    def reserves(self, limits: OffsetLimits, most: int = 3) -> dict[int, list[Reserve]]:
        """The weakest joints of every victim, joints as new, the least reserve first."""
        sides: list[Side] = []
        for number, victim in enumerate(self.victims):
            both = zip((False, True), limits.of(victim.kind, self.given), strict=True)
            sides += [(number, upward, limit) for upward, limit in both if limit is not None]
        found: dict[int, list[Reserve]] = {}
        for side, reserves in zip(sides, weakest(self.new, sides, most), strict=True):
            found.setdefault(side[0], []).extend(reserves)
        return {
            number: sorted(reserves, key=lambda r: (r.rise_ohm, r.part))[:most] for number, reserves in found.items()
        }

    def resolved_rise_ohm(self, reserve: Reserve, limit_v: float) -> float:
        """The same reserve found by solving the whole circuit again and again, machines included, Ω.

        ``inf`` where not even the open joint crosses the limit.
        """
        sign = 1.0 if reserve.upward else -1.0

        def room_v(rise_ohm: float) -> float:
            return sign * (limit_v - self._with_rise(reserve, rise_ohm))

        as_built = self.new.high_v if reserve.upward else self.new.low_v
        low, low_room = 0.0, sign * (limit_v - float(as_built[reserve.victim, reserve.state]))
        if low_room <= 0:
            return 0.0
        high = reserve.rise_ohm if 0 < reserve.rise_ohm < _OPEN_OHM else 1e-3
        high_room = room_v(high)
        while high_room > _ROOM_V:
            if high >= _OPEN_OHM:
                return float("inf")
            # As far again as what is left asks for, and a little more, so that it is crossed.
            further = high + 1.1 * (high - low) * high_room / max(low_room - high_room, 1e-12)
            low, low_room, high = high, high_room, min(max(further, 1.05 * high), 8 * high, _OPEN_OHM)
            high_room = room_v(high)
        if abs(high_room) <= _ROOM_V:
            return high
        for _ in range(_SOLVE_TURNS):
            # Regula falsi with a nudge (Illinois), safe because the offset moves one way only.
            middle = (low * high_room - high * low_room) / (high_room - low_room)
            room = room_v(middle)
            if abs(room) <= _ROOM_V or high - low <= _NEAR * high:
                return middle
            if room > 0:
                low, low_room, high_room = middle, room, high_room / 2
            else:
                high, high_room, low_room = middle, room, low_room / 2
        return middle

    def _with_rise(self, reserve: Reserve, rise_ohm: float) -> float:
        """Worst instant of the reserve's victim and state with the joint risen, V."""
        ohm = self.circuit.ohm()
        ohm[reserve.part] += rise_ohm
        settled = self._settle(ohm, reserve.state)
        offsets = Offsets(settled, self.currents.of_state(reserve.state), [self.victims[reserve.victim]])
        return float((offsets.high_v if reserve.upward else offsets.low_v)[0, 0])

    def with_open(self, part: Part) -> Settled | None:
        """The circuit with one part loose; None where something then hangs on nothing."""
        ohm = self.circuit.ohm()
        ohm[self.circuit.parts.index(part)] = _OPEN_OHM
        try:
            return self._settle(ohm)
        except ArithmeticError:
            return None
