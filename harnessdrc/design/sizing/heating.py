"""How hot every wire gets where it lies, and what it may carry there.

A wire may carry what heats it alone in air from the ambient of its branch to the temperature that its insulation
bears, times the factor of its bundle: `harnessdrc.physics.ampacity`. The bundle is as loaded as its effective currents
together are in the worst state, over what its wires could carry together alone (as AC 43.13-1B 11-68 has it), held to
20 to 100 %, the range of the curves. Of several branches the one counts in which the wire may carry least. What is
lacking is carried as a range: `allowed_low_a` with all of it at its worst, `allowed_high_a` with all of it at its best.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design.branches import branch_as_written, branch_names
from harnessdrc.design.sizing.bundles import Bundles, ambient_of, bundles_of
from harnessdrc.design.sizing.columns import WireColumns, is_size, rated_range, wire_columns
from harnessdrc.design.sizing.loads import AS_LISTED, NO_STATE, WireCurrents, wire_currents
from harnessdrc.harness.elements import Harness, Wire
from harnessdrc.physics.ampacity import wire_degc
from harnessdrc.physics.derating import altitude_factor, bundle_factor
from harnessdrc.physics.free_air import free_air_a

if TYPE_CHECKING:
    from harnessdrc.design import Design

__all__ = ["Sizing", "WireLoad", "sizing_of"]

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Numbers = NDArray[np.intp]

LEAST_LOADING, MOST_LOADING = 0.2, 1.0
"""Range of the curves for bundles."""
_NO_BRANCH = ("branch",)
_HOTTEST_DEGC = 1000.0
"""No more is told: copper melts at 1085 °C, and the curves end long before."""


class WireLoad(NamedTuple):
    """One wire of a `Sizing` as plain numbers; None where not known.

    Parameters
    ----------
    current_a : float or None
        Greatest effective current over the states, A: what heats it. Of cranking, which does not last, the steady
        current that would heat it as much.
    average_a, peak_a : float or None
        Greatest average current over the states, and greatest at any instant, A.
    state : str
        State of `current_a`; "as listed" for a current that only the list gives, empty where none is known.
    ambient_degc, rated_degc : float
        Ambient where it may carry least, and what its insulation bears, °C; usual values where data is lacking.
    bundle_wires, bundle_loading : int, float
        Wires of its bundle there, and how loaded that is, 0.2 to 1; usual values where data is lacking.
    allowed_low_a, allowed_a, allowed_high_a : float or None
        Steady current that heats it to its rated temperature, A: with all that is lacking at its worst, as usual, at
        its best. All equal where nothing is lacking.
    conductor_degc : float or None
        Its own temperature with `current_a`, °C, as usual.
    current_high_a : float or None
        `current_a` with loads on it whose current is not known drawing the most that they can, A.
    lacking : tuple of str
        Data that would make it certain, in trade words.
    """

    current_a: float | None
    average_a: float | None
    peak_a: float | None
    state: str
    ambient_degc: float
    rated_degc: float
    bundle_wires: int
    bundle_loading: float
    allowed_low_a: float | None
    allowed_a: float | None
    allowed_high_a: float | None
    conductor_degc: float | None
    current_high_a: float | None
    lacking: tuple[str, ...]


@dataclass
class Sizing:
    """Heating of all wires; every array has one entry for each of `harness.wires`, in their order, NaN if not known.

    Parameters as `WireLoad`; `state` is a number into `states`, or `NO_STATE`, `AS_LISTED`. `csa_mm2` or `awg` holds
    the label of its size, `length_m` its length. Cables of several cores have no size, current or allowed current of
    their own and count in their bundle with their cores.
    """

    harness: Harness
    given: Mapping[str, float]
    states: tuple[str, ...]
    csa_mm2: Singles
    awg: Singles
    length_m: Singles
    current_a: Singles
    average_a: Singles
    peak_a: Singles
    state: NDArray[np.int8]
    ambient_degc: Singles
    rated_degc: Singles
    bundle_wires: NDArray[np.int32]
    bundle_loading: Singles
    allowed_low_a: Singles
    allowed_a: Singles
    allowed_high_a: Singles
    conductor_degc: Singles
    current_high_a: Singles

    @cached_property
    def number(self) -> dict[str, int]:
        """Number of each wire in the arrays, by its name."""
        return {wire.name: number for number, wire in enumerate(self.harness.wires)}

    def of(self, name: str) -> WireLoad:
        """One wire by its name.

        Raises
        ------
        KeyError
            For a name that no wire has.
        """
        return self.at(self.number[name])

    def at(self, number: int) -> WireLoad:
        """One wire by its number."""
        return WireLoad(
            _known(self.current_a[number]), _known(self.average_a[number]), _known(self.peak_a[number]),
            self.state_name(number),
            float(self.ambient_degc[number]), float(self.rated_degc[number]),
            int(self.bundle_wires[number]), float(self.bundle_loading[number]),
            _known(self.allowed_low_a[number]), _known(self.allowed_a[number]), _known(self.allowed_high_a[number]),
            _known(self.conductor_degc[number]), _known(self.current_high_a[number]),
            self._lacks(number),
        )  # fmt: skip

    def state_name(self, number: int) -> str:
        """State of the current of a wire, by its number."""
        state = int(self.state[number])
        return "as listed" if state == AS_LISTED else "" if state == NO_STATE else self.states[state]

    def lacking(self, name: str) -> tuple[str, ...]:
        """Data that would make the figures of a wire certain, in trade words; errors as `of`."""
        return self._lacks(self.number[name])

    def _lacks(self, number: int) -> tuple[str, ...]:
        wire = self.harness.wires[number]
        if wire.cores != 1:
            return (f"cores of cable {wire.name}",)
        found = []
        if np.isnan(self.current_a[number]):
            found.append(f"current of wire {wire.name}")
        elif self.current_high_a[number] > self.current_a[number]:
            found.append(f"current of loads on wire {wire.name}")
        return (*found, *self.lacks_where_it_lies(wire))

    def lacks_where_it_lies(self, wire: Wire) -> tuple[str, ...]:
        """What of size, branch, zone and insulation of a single wire is not known, in trade words."""
        found: tuple[str, ...] = ()
        if wire.size is None:
            found = (f"size of wire {wire.name}",)
        elif not is_size(wire.size):
            found = (f"a size of wire {wire.name} that is made (it says {wire.size.written})",)
        zones = self._zones.get(wire.branch)
        if zones is None:
            zones = self._zones[wire.branch] = self._unknown_zones(wire)
        found += (f"branch of wire {wire.name}",) if zones == _NO_BRANCH else zones
        known = self._insulations.get(wire.insulation)
        if known is None:
            known = self._insulations[wire.insulation] = rated_range(wire.insulation, self.given).known
        if not known:
            text = f"which insulation '{wire.insulation}' is" if wire.insulation else f"insulation of wire {wire.name}"
            found = (*found, text)
        return found

    @cached_property
    def _zones(self) -> dict[str | None, tuple[str, ...]]:
        """What of the zones of its branches is lacking, by the text of a wire's cell."""
        return {}

    @cached_property
    def _insulations(self) -> dict[str | None, bool]:
        """Whether an insulation is known, by the text of a wire's cell."""
        return {}

    def _unknown_zones(self, wire: Wire) -> tuple[str, ...]:
        names = branch_names(wire, self.harness)
        if not names:
            return _NO_BRANCH
        found = []
        for name in names:
            branch = self.harness.branches.get(name)
            if not ambient_of(branch.zone if branch else None, self.given).known:
                written = branch.name if branch else branch_as_written(wire, name)
                found.append(f"zone of branch {written}")
        return tuple(found)


def _known(value: np.float32) -> float | None:
    return None if np.isnan(value) else float(value)


def sizing_of(design: Design) -> Sizing:
    """Heating of all wires of a design."""
    columns = wire_columns(design.harness, design.given)
    return _Heating(design, columns, bundles_of(design), wire_currents(design, columns)).made()


class _Side(NamedTuple):
    """One end of a range: sizes, rated temperatures, column of the ambient, bundle of a wire without a branch."""

    csa_mm2: Floats
    rated_degc: Floats
    ambient: int
    wires: float
    loading: float


class _Allowed(NamedTuple):
    """Allowed current of wires in their branches, and what it rests on."""

    amps: Floats
    rated: Floats
    ambient: Floats
    number: Floats
    loading: Floats


class _Heating:
    """The work of `sizing_of`: every wire with each of its branches, a wire without one with the given bundle."""

    def __init__(self, design: Design, columns: WireColumns, bundles: Bundles, currents: WireCurrents) -> None:
        self.design, self.given = design, design.given
        self.columns, self.bundles, self.currents = columns, bundles, currents
        count = len(design.harness.wires)
        placed = np.zeros(count, dtype=np.bool_)
        placed[bundles.wire] = True
        apart = np.flatnonzero(~placed)
        self.placed = placed
        # the bundle of wires without a branch stands behind the branches
        self.wire = np.concatenate((bundles.wire, apart))
        self.branch = np.concatenate((bundles.branch, np.full(len(apart), len(bundles.names), dtype=np.intp)))
        self.ambient = np.vstack((bundles.ambient, ambient_of(None, self.given)))
        self.count = np.append(bundles.wires, 0.0)

    def _side(self, which: str) -> _Side:
        given, columns = self.given, self.columns
        csa_mm2 = np.where(columns.sized, columns.csa_mm2, given[f"missing_size_{which}_mm2"])
        if which == "usual":
            wires, loading = given["bundle_usual_wires"], given["bundle_usual_loading"]
            return _Side(csa_mm2, columns.rated_degc, 1, wires, loading)
        if which == "low":
            wires, loading = given["bundle_most_wires"], given["bundle_usual_loading"]
            return _Side(csa_mm2, columns.rated_low_degc, 2, wires, loading)
        return _Side(csa_mm2, columns.rated_high_degc, 0, 1.0, LEAST_LOADING)

    def _loading(self) -> Floats:
        """How loaded each branch is in its worst state; the last entry is that of wires without a branch."""
        usual = self._side("usual")
        effective = self.currents.effective
        known = np.flatnonzero(self.columns.single[self.wire] & ~np.isnan(effective[self.wire, 0]))
        wire, branch = self.wire[known], self.branch[known]
        rated, ambient = self._degrees(usual, known)
        alone_a = free_air_a(rated - ambient, csa_mm2=usual.csa_mm2[wire], awg=self.columns.awg[wire])
        room_a = np.bincount(branch, alone_a, len(self.count))
        most_a = np.zeros(len(self.count))
        for state in range(effective.shape[1]):
            most_a = np.maximum(most_a, np.bincount(branch, effective[wire, state], len(self.count)))
        with np.errstate(divide="ignore", invalid="ignore"):
            loading = np.where(most_a > 0.0, most_a / room_a, LEAST_LOADING)
        return np.clip(loading, LEAST_LOADING, MOST_LOADING)

    def _degrees(self, side: _Side, pairs: Numbers) -> tuple[Floats, Floats]:
        """Rated and ambient temperature of wires in their branches, °C.

        Nobody lays a wire where it does not bear the ambient alone: what is lacking is never taken as so bad that
        less than the given rise is left. Where both are known they stand as they are.
        """
        wire, branch = self.wire[pairs], self.branch[pairs]
        rated, ambient = side.rated_degc[wire], self.ambient[branch, side.ambient]
        least_k = self.given["least_rise_k"]
        known = self.columns.rated_known[wire]
        in_zone = (self.ambient[:, 0] == self.ambient[:, 2])[branch]
        ambient = np.where(~in_zone & known, np.minimum(ambient, rated - least_k), ambient)
        return np.where(known, rated, np.maximum(rated, ambient + least_k)), ambient

    def _allowed(self, which: str, loading: Floats, pairs: Numbers) -> _Allowed:
        """Allowed current of wires in their branches."""
        side = self._side(which)
        wire, branch = self.wire[pairs], self.branch[pairs]
        apart = branch == len(self.count) - 1
        number = np.where(apart, side.wires, np.maximum(self.count[branch], 1.0))
        loaded = np.where(apart, side.loading, loading[branch])
        rated, ambient = self._degrees(side, pairs)
        alone_a = free_air_a(rated - ambient, csa_mm2=side.csa_mm2[wire], awg=self.columns.awg[wire])
        thin_air = altitude_factor(self.given["height_m"])
        return _Allowed(alone_a * bundle_factor(number, loaded) * thin_air, rated, ambient, number, loaded)

    def made(self) -> Sizing:
        """All of it."""
        design, columns, currents = self.design, self.columns, self.currents
        loading = self._loading()
        pairs = np.arange(len(self.wire))
        usual = self._allowed("usual", loading, pairs)
        # the branch in which each wire may carry least; of those that are alike the first
        least = np.lexsort((pairs, usual.amps, self.wire))
        least = least[np.flatnonzero(np.diff(self.wire[least], prepend=-1))]
        usual = _Allowed(*(values[least] for values in usual))
        cable = ~columns.single
        low_a, high_a = self._ends(loading)
        for values in (usual.amps, low_a, high_a):
            values[cable] = np.nan
        current = np.max(currents.effective, axis=1, initial=0.0).astype(np.float64)
        hot = wire_degc(
            current, usual.ambient, usual.number, usual.loading, csa_mm2=self._side("usual").csa_mm2, awg=columns.awg,
            height_m=design.given["height_m"],
        )  # fmt: skip
        return Sizing(
            design.harness, design.given, tuple(state.name for state in design.states),
            _single(columns.csa_mm2), _single(columns.awg), _single(columns.length_m),
            _single(current), currents.average, currents.peak, currents.state,
            _single(usual.ambient), _single(usual.rated), usual.number.astype(np.int32), _single(usual.loading),
            _single(np.minimum(low_a, usual.amps)), _single(usual.amps), _single(np.maximum(high_a, usual.amps)),
            _single(np.minimum(hot, _HOTTEST_DEGC)), _single(current + currents.unknown_a),
        )  # fmt: skip

    def _ends(self, loading: Floats) -> tuple[Floats, Floats]:
        """Allowed current of every wire with what is lacking at its worst and at its best; inf where nothing is.

        Every branch of a wire bounds it, at best as well: those that are known with what they allow.
        """
        lacks = self._lacking_pairs()
        count = len(self.columns.single)
        low_a, high_a = np.full(count, np.inf), np.zeros(count)
        if lacks.size:
            touched = np.zeros(count, dtype=np.bool_)
            touched[self.wire[lacks]] = True
            every = np.flatnonzero(touched[self.wire])
            high_a[touched] = np.inf
            np.minimum.at(low_a, self.wire[lacks], self._allowed("low", loading, lacks).amps)
            np.minimum.at(high_a, self.wire[every], self._allowed("high", loading, every).amps)
        return low_a, high_a

    def _lacking_pairs(self) -> Numbers:
        """Wires in branches for which something is lacking."""
        columns, ambient = self.columns, self.ambient
        certain = (columns.sized & columns.rated_known)[self.wire]
        certain &= (ambient[:, 0] == ambient[:, 2])[self.branch] & self.placed[self.wire]
        return np.flatnonzero(~certain)


def _single(values: Floats) -> Singles:
    return values.astype(np.float32)
