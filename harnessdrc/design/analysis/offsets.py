"""Offsets of victims' grounds against the controller's: on average, at the worst instant, and whose part is what.

Every load is held at the current it has in the solved state, so that an offset is a sum of parts, one for each
source (superposition). What the alternator drives is told as what it feeds: each load's share of it goes to
that load, the rest is charge. At the worst instant of the units that pulse in turn as many are on as can overlap,
and every port is at its inrush that can be: those that shift this victim most, to either side.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design.analysis.currents import PortCurrents
from harnessdrc.design.analysis.settled import Settled
from harnessdrc.design.analysis.transfers import (
    Shared,
    Transfers,
    Ways,
    potentials_of_ports,
    summed,
    transfers_of,
    ways_of_ports,
)
from harnessdrc.design.analysis.victims import Victim
from harnessdrc.physics.network import UnitCurrents

__all__ = ["BATTERY", "CHARGE", "Offsets", "Parts", "PartsByWay", "Worked"]

Floats = NDArray[np.float64]
Numbers = NDArray[np.intp]

CHARGE = "charge"
BATTERY = "battery"

_WIDE = 64
"""A victim whose unit current flows in more parts than this spreads over many meshes."""
_LONG = 20_000
"""Parts of a circuit from which on the parts of an offset are not told by where they fall."""
_TERMS_AT_ONCE = 100_000
"""Parts that victims and ports share which are worked out at once."""


class Parts(NamedTuple):
    """What each source makes of one offset at its worst instant.

    Parameters
    ----------
    port_v : ndarray, shape (ports,)
        Part of each port, V; that of an alternator is 0, its current being told as what it feeds.
    charge_v, battery_v : float
        Part of the charging current, and of the batteries' own voltage where grounds close a loop through them, V.
    """

    port_v: Floats
    charge_v: float
    battery_v: float

    @property
    def total_v(self) -> float:
        """Sum of all parts: the offset, V."""
        return float(self.port_v.sum()) + self.charge_v + self.battery_v


class PartsByWay(NamedTuple):
    """The parts of one offset told by where they fall: which current makes how much in which part of the circuit.

    Parameters
    ----------
    part : ndarray of int, shape (entries,)
        Part of the circuit.
    port : ndarray of int, shape (entries,)
        Port; -1 for the charging current.
    volts : ndarray, shape (entries,)
        What this current makes of the offset there, V. All entries add up to it, batteries' own voltage left out.
    """

    part: Numbers
    port: Numbers
    volts: Floats


class Worked(NamedTuple):
    """Some victims with what their offsets are made of.

    Parameters
    ----------
    units : UnitCurrents
        Of their pairs of grounds; ``pair`` is the number within these victims.
    transfers : Transfers
        Offset per ampere of each port.
    shared : Shared
        Parts that victims and ports share, of victims that are not wide.
    steady_v : ndarray, shape (victims, states)
        Offsets without anything that pulses, a driven coil on and one that is off left out, V.
    """

    units: UnitCurrents
    transfers: Transfers
    shared: Shared
    steady_v: Floats


@dataclass
class Offsets:
    """Offsets of victims in one solved circuit.

    Parameters
    ----------
    settled : Settled
        The circuit with its joints as new or aged.
    currents : PortCurrents
        Currents of its ports, with the groups that pulse.
    victims : sequence of Victim
        Whose grounds are held against the controller's.
    """

    settled: Settled
    currents: PortCurrents
    victims: Sequence[Victim]

    # ------------------------------------------------------------------ what depends on what
    @cached_property
    def pairs(self) -> tuple[Numbers, Numbers]:
        """Node of each victim's ground and of its reference."""
        number = self.settled.circuit.node_number
        ground = np.array([number[v.ground] for v in self.victims], dtype=np.intp)
        reference = np.array([number[v.reference] for v in self.victims], dtype=np.intp)
        return ground, reference

    def blocks(self, victims: Sequence[int]) -> Iterator[slice]:
        """Slices of `victims`, each as many as are worked out at once."""
        start = self._ways.start
        terms = np.bincount(self.units.pair, (start[1:] - start[:-1])[self.units.branch], len(self.victims))
        weight = np.where(self.wide, len(self.settled.circuit.ports), terms)[np.asarray(victims, dtype=np.intp)]
        block = np.cumsum(weight) // _TERMS_AT_ONCE
        borders = np.flatnonzero(np.diff(block, prepend=-1, append=-1))
        yield from (slice(one, other) for one, other in pairwise(borders.tolist()))

    @cached_property
    def own(self) -> tuple[Numbers, Numbers]:
        """Own port of each victim taken as off, and as on; -1 where there is none."""
        off = np.array([-1 if v.own is None else v.own for v in self.victims], dtype=np.intp)
        on = np.array([-1 if v.own_on is None else v.own_on for v in self.victims], dtype=np.intp)
        return off, on

    @cached_property
    def units(self) -> UnitCurrents:
        """Parts that each victim's offset depends on."""
        return self.settled.network.unit_currents(*self.pairs)

    @cached_property
    def _ways(self) -> Ways:
        """Ways of what draws more at one instant than at another."""
        return self._ways_of(np.flatnonzero(self._on_scale))

    @cached_property
    def _all_ways(self) -> Ways:
        return self._ways_of(np.arange(len(self.settled.circuit.ports)))

    def _ways_of(self, ports: Numbers) -> Ways:
        circuit = self.settled.circuit
        wanted = np.zeros(len(circuit.parts), dtype=np.bool_)
        wanted[self.units.branch[~self.wide[self.units.pair]]] = True
        return ways_of_ports(self.settled.network, circuit, ports, wanted)

    @cached_property
    def wide(self) -> NDArray[np.bool_]:
        """Victims whose unit current spreads over many meshes, shape (victims,)."""
        return np.bincount(self.units.pair, minlength=len(self.victims)) > _WIDE

    def units_of(self, victims: Sequence[int]) -> UnitCurrents:
        """Unit currents of some victims; ``pair`` is the number within them."""
        chosen = np.asarray(victims, dtype=np.intp)
        first = np.searchsorted(self.units.pair, chosen)
        count = np.searchsorted(self.units.pair, chosen, side="right") - first
        pair = np.repeat(np.arange(len(chosen)), count)
        at = np.repeat(first - np.cumsum(count) + count, count) + np.arange(len(pair))
        return UnitCurrents(pair, self.units.branch[at], self.units.amps[at])

    def worked(self, victims: Sequence[int], *, steady: bool = False) -> Worked:
        """Some victims with what their offsets are made of: what pulses, and with `steady` every port."""
        settled = self.settled
        units = self.units_of(victims)
        ground, reference = (nodes[list(victims)] for nodes in self.pairs)
        transfers, shared = self._transfers(np.asarray(victims, dtype=np.intp), units, ground, reference, steady)
        steady_v = settled.steady_volts[ground] - settled.steady_volts[reference]
        off, on = self.roles(victims, transfers)
        # What a coil itself draws hides the fault while it is off.
        for own, amps in ((off, -settled.steady_a), (on, settled.on_a)):
            volts = amps[transfers.port[own]] * transfers.ohm[own][:, None]
            steady_v += summed(transfers.victim[own], volts, len(victims))
        return Worked(units, transfers, shared, steady_v)

    def _transfers(
        self, victims: Numbers, units: UnitCurrents, ground: Numbers, reference: Numbers, steady: bool
    ) -> tuple[Transfers, Shared]:
        """Transfers of some victims, each by the way that suits it."""
        settled = self.settled
        # In a very long list the ways of all ports cost more than the potentials of the few victims that are told.
        wide = self.wide[victims] | (steady and len(settled.circuit.parts) > _LONG)
        kept = np.flatnonzero(~wide[units.pair])
        narrow = UnitCurrents(units.pair[kept], units.branch[kept], units.amps[kept])
        ways = self._all_ways if steady and not wide.all() else self._ways
        few, shared = transfers_of(narrow, settled.ohm, ways, len(victims), len(settled.circuit.ports))
        if not wide.any():
            return few, shared
        wanted = np.arange(len(settled.circuit.ports)) if steady else np.flatnonzero(self._on_scale)
        many = potentials_of_ports(settled.network, settled.circuit, ground[wide], reference[wide], wanted)
        victim = np.concatenate((few.victim, np.flatnonzero(wide)[many.victim]))
        port, ohm = np.concatenate((few.port, many.port)), np.concatenate((few.ohm, many.ohm))
        order = np.lexsort((port, victim))
        place = np.empty(len(order), dtype=np.intp)
        place[order] = np.arange(len(order))
        return (
            Transfers(victim[order], port[order], ohm[order]),
            Shared(kept[shared.entry], place[shared.transfer], shared.port_a),
        )

    def roles(self, victims: Sequence[int], transfers: Transfers) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
        """Entries of the transfers that are a victim's own port, taken as off and as on."""
        off, on = (own[list(victims)] for own in self.own)
        return transfers.port == off[transfers.victim], transfers.port == on[transfers.victim]

    def extra_a(self, victims: Sequence[int], worked: Worked, upward: NDArray[np.bool_]) -> tuple[Numbers, Floats]:
        """What ports draw beyond their steady current at the worst instant of each victim.

        Parameters
        ----------
        victims : sequence of int
            Their numbers.
        worked : Worked
            The same victims.
        upward : ndarray of bool, shape (victims,)
            Whether the worst is the highest or the lowest offset.

        Returns
        -------
        tuple of ndarray
            Entries of the transfers, ascending, and their currents, A, shape (those, states). A driven coil is
            not among them.
        """
        settled, transfers = self.settled, worked.transfers
        off, on = self.roles(victims, transfers)
        harm = np.where(off | on, 0.0, self._on_scale[transfers.port] * transfers.ohm)
        entry = np.flatnonzero(np.where(upward[transfers.victim], harm, -harm) > 0)
        victim, port = transfers.victim[entry], transfers.port[entry]
        on_a = settled.on_a[port]
        if not len(self.currents.at_once):
            return entry, on_a
        group = self.currents.group[port]
        # Units of one group draw in one proportion in every state, so one order of them serves for all.
        order = np.lexsort((port, -np.abs(harm[entry]), group, victim))
        code = victim[order] * (len(self.currents.at_once) + 1) + group[order] + 1
        rank = np.empty(len(order), dtype=np.intp)
        rank[order] = np.arange(len(order)) - np.searchsorted(code, code)
        # A driven coil takes one place of those that overlap.
        driven = np.zeros((len(worked.steady_v), len(self.currents.at_once)), dtype=np.intp)
        own = np.flatnonzero(on & (self.currents.group[transfers.port] >= 0))
        driven[transfers.victim[own], self.currents.group[transfers.port[own]]] = 1
        rank += driven[victim, group]
        alone = (group < 0)[:, None]
        return entry, np.where(alone | (rank[:, None] < self.currents.at_once[group]), on_a, 0.0)

    @cached_property
    def _on_scale(self) -> Floats:
        """Greatest of each port's currents beyond its steady one in any state, A."""
        return np.asarray(self.settled.on_a.max(axis=1, initial=0.0), dtype=np.float64)

    def let_go(self) -> None:
        """Forget, once the offsets are worked out, what they were worked out from."""
        _ = self._solved
        for name in ("units", "_ways", "wide"):
            self.__dict__.pop(name, None)

    # ------------------------------------------------------------------ offsets
    @cached_property
    def _solved(self) -> tuple[Floats, Floats, Floats]:
        """Average, lowest and highest offset of every victim, V, each of shape (victims, states)."""
        count, states = len(self.victims), len(self.settled.emf_v)
        average, low, high = (np.zeros((count, states)) for _ in range(3))
        for rows in self.blocks(range(count)):
            average[rows], low[rows], high[rows] = self._of_block(range(rows.start, rows.stop))
        return average, low, high

    def _of_block(self, block: range) -> tuple[Floats, Floats, Floats]:
        settled = self.settled
        worked = self.worked(block)
        transfers = worked.transfers
        ground, reference = (nodes[block.start : block.stop] for nodes in self.pairs)
        average = settled.volts[ground] - settled.volts[reference]
        off, _ = self.roles(block, transfers)
        own_v = settled.average_a[transfers.port[off]] * transfers.ohm[off][:, None]
        average -= summed(transfers.victim[off], own_v, len(block))
        ends = []
        for upward in (False, True):
            entry, amps = self.extra_a(block, worked, np.full(len(block), upward))
            volts = amps * transfers.ohm[entry][:, None]
            ends.append(worked.steady_v + summed(transfers.victim[entry], volts, len(block)))
        return average, ends[0], ends[1]

    @property
    def average_v(self) -> Floats:
        """Average offset, V, shape (victims, states)."""
        return self._solved[0]

    @property
    def low_v(self) -> Floats:
        """Lowest offset at any instant, V, shape (victims, states)."""
        return self._solved[1]

    @property
    def high_v(self) -> Floats:
        """Highest offset at any instant, V, shape (victims, states)."""
        return self._solved[2]

    # ------------------------------------------------------------------ parts
    def parts(self, victim: int, state: int, upward: bool) -> Parts:
        """Parts of the worst instant of one victim; they add up to it."""
        return self.parts_of([(victim, state, upward)])[0]

    def parts_of(self, wanted: Sequence[tuple[int, int, bool]]) -> list[Parts]:
        """Parts of several worst instants, each of a victim, a state and a side."""
        found: list[Parts] = []
        for rows in self.blocks([victim for victim, _, _ in wanted]):
            found += self._parts_of(wanted[rows])
        return found

    def _parts_of(self, wanted: Sequence[tuple[int, int, bool]]) -> list[Parts]:
        settled = self.settled
        victims = list(dict.fromkeys(victim for victim, _, _ in wanted))
        place = {victim: number for number, victim in enumerate(victims)}
        worked = self.worked(victims, steady=True)
        transfers = worked.transfers
        off, on = self.roles(victims, transfers)
        both = {upward for _, _, upward in wanted}
        sides = {upward: self.extra_a(victims, worked, np.full(len(victims), upward)) for upward in both}
        first = np.searchsorted(transfers.victim, np.arange(len(victims) + 1))
        per_volt = self._battery_share(worked.units, len(victims))
        found = []
        for victim, state, upward in wanted:
            number = place[victim]
            rows = slice(first[number], first[number + 1])
            port = transfers.port[rows]
            amps = settled.steady_a[port, state] + np.where(on[rows], settled.on_a[port, state], 0.0)
            entry, extra_a = sides[upward]
            mine = slice(*np.searchsorted(entry, (rows.start, rows.stop)))
            amps[entry[mine] - rows.start] += extra_a[mine, state]
            port_v = np.zeros(len(settled.circuit.ports))
            port_v[port] = np.where(off[rows], 0.0, amps) * transfers.ohm[rows]
            found.append(self._told(port_v, state, float(per_volt[number])))
        return found

    def parts_by_way(self, victim: int, state: int, upward: bool) -> PartsByWay | None:
        """Parts of the worst instant of one victim, part of the circuit by part; None for a wide victim."""
        settled = self.settled
        if self.wide[victim] or len(settled.circuit.parts) > _LONG:
            return None
        worked = self.worked([victim], steady=True)
        transfers, shared, units = worked.transfers, worked.shared, worked.units
        off, on = self.roles([victim], transfers)
        amps = settled.steady_a[transfers.port, state] + np.where(on, settled.on_a[transfers.port, state], 0.0)
        entry, extra_a = self.extra_a([victim], worked, np.array([upward]))
        amps[entry] += extra_a[:, state]
        amps = np.where(off, 0.0, amps)
        weight = settled.ohm[units.branch] * units.amps
        volts = weight[shared.entry] * shared.port_a * amps[shared.transfer]
        part, port = units.branch[shared.entry], transfers.port[shared.transfer]
        machine = self.settled.circuit.alternators[port]
        if not machine.any():
            return PartsByWay(part, port, volts)
        # What the alternator drives is told as what it feeds, in every part alike.
        across = np.bincount(part[machine], volts[machine], len(settled.ohm))
        fed_parts = np.flatnonzero(across)
        if not len(fed_parts):
            return PartsByWay(part[~machine], port[~machine], volts[~machine])
        told, fed_share, charge_share = self._fed(state)
        loads = np.flatnonzero(told)
        return PartsByWay(
            np.concatenate((part[~machine], np.repeat(fed_parts, len(loads)), fed_parts)),
            np.concatenate((port[~machine], np.tile(loads, len(fed_parts)), np.full(len(fed_parts), -1))),
            np.concatenate(
                (
                    volts[~machine],
                    (across[fed_parts, None] * told[loads] * fed_share).ravel(),
                    across[fed_parts] * charge_share,
                )
            ),
        )

    def _fed(self, state: int) -> tuple[Floats, float, float]:
        """Current of each port that the alternator feeds, A, and what shares of the alternator's current go to one
        ampere of them and to the charge."""
        average_a, machines = self.settled.average_a[:, state], self.settled.circuit.alternators
        given_a = -float(average_a[machines].sum())
        drawn = np.where(machines, 0.0, average_a)
        drawn_a = float(drawn.sum())
        # A weak alternator feeds all loads in part, and nothing is left for the battery.
        fed = min(1.0, given_a / drawn_a) if drawn_a > 0 else 0.0
        return drawn, fed / given_a, (given_a - drawn_a * fed) / given_a

    def _battery_share(self, units: UnitCurrents, count: int) -> Floats:
        """Offset of each victim for one volt of all batteries."""
        batteries = self.settled.circuit.emf[units.branch]
        return np.asarray(-np.bincount(units.pair, units.amps * batteries, count), dtype=np.float64)

    def _told(self, port_v: Floats, state: int, per_volt: float) -> Parts:
        """Parts with the current of alternators told as what it feeds."""
        settled, machines = self.settled, self.settled.circuit.alternators
        by_alternator_v = float(port_v[machines].sum())
        charge_v = 0.0
        if by_alternator_v:
            drawn, fed_share, charge_share = self._fed(state)
            port_v = np.where(machines, 0.0, port_v + by_alternator_v * drawn * fed_share)
            charge_v = by_alternator_v * charge_share
        return Parts(port_v, charge_v, per_volt * float(settled.emf_v[state]))
