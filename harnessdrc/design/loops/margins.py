"""Noise margin of trigger sensors over engine speed, and settings of the controller's input that leave it.

What one event induces goes with the pressure in the inlet, and that with speed and load; a reluctor's amplitude goes
with speed, a fixed level does not, and a ground offset takes from it. Speeds between operating states are worked out
on straight lines between them.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design.analysis import Analysis
from harnessdrc.design.loops.coupling import Coupling, Pickup
from harnessdrc.design.loops.pairs import PairRun
from harnessdrc.harness.names import natural_key
from harnessdrc.physics.discharge import Edge
from harnessdrc.physics.operation import OperatingState
from harnessdrc.physics.trigger_inputs import (
    FILTERS_S,
    FilterSettings,
    Pulse,
    fixed_level_settings,
    low_pass_share,
    margin_db,
    pulse_share,
    reluctor_settings,
    reluctor_v,
    tooth_hz,
)

__all__ = ["Margin", "Margins"]

Floats = NDArray[np.float64]

_SPEEDS_RPM = (100, 150, 200, 250, 300, 400, 500, 650, 800, 1000, 1500, 2000, 3000, 4000, 5000, 6000, 7000, 8000, 9000,
               10_000, 12_000, 15_000, 20_000, 25_000, 30_000)  # fmt: skip
_CAM = re.compile(r"(?<![a-z])(cam|camshaft|cmp|sync|phase)", re.IGNORECASE)
_MOST_LACKING = 12
"""So many data that are lacking are told for one sensor."""


@dataclass(frozen=True, slots=True)
class Margin:
    """Margin of one trigger pair.

    Parameters
    ----------
    run : PairRun
        The pair.
    pickups : tuple of Pickup
        What each loop induces in it, the strongest first.
    rpm : ndarray, shape (n,)
        Engine speeds, 1/min.
    signal_v, offset_v : ndarray, shape (n,)
        Amplitude, or distance of level and threshold; ground offset, V.
    noise_v, noise_low_v, noise_high_v : ndarray, shape (n,)
        Noise at the input behind its filter, with usual figures and its range, V.
    db, low_db, high_db : ndarray, shape (n,)
        20 log10 of what is left of the signal over the noise, and its range, dB.
    lacking : tuple of str
        Data without which it is not the whole of it, or not known at all; then the arrays are empty.
    """

    run: PairRun
    pickups: tuple[Pickup, ...]
    rpm: Floats
    signal_v: Floats
    offset_v: Floats
    noise_v: Floats
    noise_low_v: Floats
    noise_high_v: Floats
    db: Floats
    low_db: Floats
    high_db: Floats
    lacking: tuple[str, ...]

    @property
    def known(self) -> bool:
        """Whether there is a margin at all."""
        return bool(self.rpm.size)

    @property
    def worst(self) -> int:
        """Index of the least margin."""
        return int(np.argmin(self.db)) if self.rpm.size else 0


_NONE = np.zeros(0)


class Margins:
    """Margins of all trigger pairs.

    Parameters
    ----------
    coupling : Coupling
        What is induced.
    analysis : Analysis
        The solved circuit, for ground offsets.
    states : sequence of OperatingState
        Operating states.
    given : mapping of str to float
        Values taken as given.
    """

    def __init__(
        self, coupling: Coupling, analysis: Analysis, states: Sequence[OperatingState], given: Mapping[str, float]
    ) -> None:
        self.coupling, self.analysis, self.given = coupling, analysis, given
        self._running = [state for state in states if state.rpm > 0]

    @cached_property
    def all(self) -> tuple[Margin, ...]:
        """Margin of every pair of `Loops.pairs`."""
        pairs = zip(self.coupling.loops.pairs, self.coupling.pickups, strict=True)
        return tuple(self._margin(run, pickups) for run, pickups in pairs)

    # ------------------------------------------------------------------ over speed
    @cached_property
    def rpm(self) -> Floats:
        """Speeds from the slowest to the fastest operating state, 1/min."""
        own = {state.rpm for state in self._running}
        if not own:
            return _NONE
        between = {float(each) for each in _SPEEDS_RPM if min(own) < each < max(own)}
        return np.array(sorted(own | between))

    def _over_speed(self, values: Sequence[float]) -> Floats:
        """Values of the running states on straight lines between their speeds; of several at one speed the greatest."""
        at: dict[float, float] = {}
        for state, value in zip(self._running, values, strict=True):
            at[state.rpm] = max(value, at.get(state.rpm, 0.0))
        speeds = sorted(at)
        return np.interp(self.rpm, speeds, [at[speed] for speed in speeds])

    def _inlet_bar(self, boost_bar: float) -> Floats:
        return self._over_speed(
            [state.manifold_bar + (boost_bar if "full load" in state.names else 0.0) for state in self._running]
        )

    def _pressure(self, pickup: Pickup, edge: Edge) -> Floats:
        """What an edge is multiplied by over speed: the pressure in the inlet for a breakdown, else 1."""
        if edge.name != "breakdown":
            return np.ones_like(self.rpm)
        kept = self._inlets.get(pickup.boost_bar)
        if kept is None:
            kept = self._inlets[pickup.boost_bar] = self._inlet_bar(pickup.boost_bar)
        return kept

    @cached_property
    def _inlets(self) -> dict[float, Floats]:
        return {}

    @cached_property
    def _offsets(self) -> dict[str, Floats]:
        """Greatest ground offset of each sensor's level over speed, V, by the sensor's key."""
        analysis = self.analysis
        if not analysis.solved:
            return {}
        numbers = [n for n, state in enumerate(analysis.states) if state.rpm > 0]
        found: dict[str, Floats] = {}
        for number, victim in enumerate(analysis.victims):
            if victim.kind == "trigger level":
                high = np.maximum(np.abs(analysis.new.high_v[number]), np.abs(analysis.new.low_v[number]))
                offset = self._over_speed([float(high[n]) for n in numbers])
                found[victim.device.key] = np.maximum(offset, found.get(victim.device.key, 0.0))
        return found

    # ------------------------------------------------------------------ one pair
    def _margin(self, run: PairRun, pickups: tuple[Pickup, ...]) -> Margin:
        lacking = self._lacking(run)
        if not pickups or not self.rpm.size:
            if pickups:
                lacking = (*lacking, "operating states with the engine turning")
            nothing = (_NONE, _NONE, _NONE)
            return Margin(run, pickups, *nothing, *nothing, *nothing, lacking)
        usual, least, most = self._noise(run, pickups, self._filter_s(run))
        signals = [self._signal(run, which) for which in ("usual", "low", "high")]
        offset = self._offset(run)
        left = [np.maximum(signal - offset, 0.0) for signal in signals]
        return Margin(
            run, pickups, self.rpm, signals[0], offset, usual, least, most,
            margin_db(left[0], usual), margin_db(left[1], most), margin_db(left[2], least), lacking,
        )  # fmt: skip

    def _lacking(self, run: PairRun) -> tuple[str, ...]:
        """Data without which the pickup of a coil's spark is not counted; of very many only the first."""
        unplaced, placed, counted = self.coupling.unplaced, self.coupling.placed, self.coupling.beside(run)
        uncounted = len(unplaced) - len(counted & unplaced.keys())
        unseen = 0 if run.placed else len(placed) - len(counted & placed)
        lacking: dict[str, None] = {}
        if not run.placed and (uncounted or unseen):
            lacking.update(dict.fromkeys(run.lacking))
        if not run.together and not run.pair.returns and (unplaced or placed):
            lacking[f"the return of {run.pair.device.name}"] = None
        for key, missing in sorted(unplaced.items(), key=lambda one: (natural_key(one[0][0][1]), one[0])):
            if not uncounted or len(lacking) >= _MOST_LACKING:
                break
            if key not in counted:
                lacking.update(dict.fromkeys(missing))
                uncounted -= 1
        if uncounted:
            lacking[f"the same of {uncounted} more coil{'s' if uncounted > 1 else ''}"] = None
        return tuple(lacking)

    def _filter_s(self, run: PairRun) -> float:
        return run.pair.device.item.details.filter_s or 0.0

    def _strongest(
        self, run: PairRun, pickups: Sequence[Pickup]
    ) -> Iterator[tuple[float, Floats, tuple[float, float, float]]]:
        """Of changes of current alike in duration and pressure the most that a loop induces: usual, least, most, V."""
        alike: dict[tuple[float, str, float], tuple[Pickup, Edge, tuple[float, float, float]]] = {}
        for pickup in pickups:
            for edge in pickup.edges:
                volts = pickup.of(edge, run.material)
                key = edge.rise_s, edge.name, pickup.boost_bar
                if key in alike:
                    kept = alike[key][2]
                    volts = max(volts[0], kept[0]), max(volts[1], kept[1]), max(volts[2], kept[2])
                alike[key] = pickup, edge, volts
        for pickup, edge, volts in alike.values():
            yield edge.rise_s, self._pressure(pickup, edge), volts

    def _noise(self, run: PairRun, pickups: Sequence[Pickup], tau_s: float) -> tuple[Floats, Floats, Floats]:
        """Strongest noise behind the input's filter over speed: usual, least, most, V."""
        strongest = np.zeros((3, self.rpm.size))
        for rise_s, pressure, volts in self._strongest(run, pickups):
            share = float(pulse_share(rise_s, tau_s)) * pressure
            np.maximum(strongest, np.multiply.outer(volts, share), out=strongest)
        return strongest[0], strongest[1], strongest[2]

    def _offset(self, run: PairRun) -> Floats:
        return self._offsets.get(run.pair.device.key, np.zeros_like(self.rpm))

    def turns(self, run: PairRun) -> float:
        """Turns of the sensor's wheel for each of the engine: half a one on a camshaft."""
        texts = (run.pair.device.name, *(wire.signal or "" for wire in run.pair.signal))
        return 0.5 if any(_CAM.search(text) for text in texts) else 1.0

    def _levels(self, run: PairRun, which: str) -> tuple[Floats, Floats]:
        """Quiet level and top of the signal before the filter over speed, V."""
        listed_v = run.pair.device.item.details.output_v
        if run.pair.device.kind == "reluctor sensor":
            names = {"usual": "reluctor_v", "low": "reluctor_low_v", "high": "reluctor_high_v"}
            at_100_v = listed_v if listed_v is not None else self.given[names[which]]
            zero = np.zeros_like(self.rpm)
            return zero, reluctor_v(at_100_v, self.rpm * self.turns(run)) if at_100_v > 0.0 else zero
        high_v = listed_v if listed_v is not None else self.given["hall_high_v"]
        return np.full_like(self.rpm, self.given["hall_low_v"]), np.full_like(self.rpm, high_v)

    def _signal(self, run: PairRun, which: str) -> Floats:
        """Amplitude, or distance of threshold and the nearer level, behind the filter over speed, V."""
        item = run.pair.device.item
        low, high = self._levels(run, which)
        tau_s = self._filter_s(run)
        share = low_pass_share(self._teeth_hz(run), tau_s) if tau_s and item.details.teeth else np.ones_like(self.rpm)
        if run.pair.device.kind == "reluctor sensor":
            peak = high * share
            if item.details.threshold_v is None:
                return peak
            return np.maximum(np.minimum(item.details.threshold_v, peak - item.details.threshold_v), 0.0)
        listed_v = item.details.threshold_v
        threshold_v = listed_v if listed_v is not None else self.given["hall_threshold_v"]
        rests, half = (low + high) / 2, (high - low) / 2 * share
        return np.maximum(np.minimum(threshold_v - (rests - half), (rests + half) - threshold_v), 0.0)

    def _teeth_hz(self, run: PairRun) -> Floats:
        teeth = run.pair.device.item.details.teeth
        return tooth_hz(teeth, self.rpm, self.turns(run)) if teeth else np.zeros_like(self.rpm)

    def strongest(self, margin: Margin, at: int) -> Pickup:
        """What induces most at one of its speeds, behind the input's filter."""
        tau_s = self._filter_s(margin.run)

        def volts(pickup: Pickup) -> float:
            return max(
                pickup.of(edge, margin.run.material)[0]
                * float(pulse_share(edge.rise_s, tau_s) * self._pressure(pickup, edge)[at])
                for edge in pickup.edges
            )

        return max(margin.pickups, key=volts)

    # ------------------------------------------------------------------ settings
    def settings(self, margin: Margin, demanded_db: float) -> FilterSettings | None:
        """Threshold and shortest filter that leave a margin at every speed; None where there is no margin to leave.

        Without the number of teeth no filter but the listed one is tried, since what it takes off the signal is not
        known.
        """
        if not margin.known:
            return None
        run = margin.run
        low, high = self._levels(run, "usual")
        if not np.all(low < high):
            return None
        pulses = [
            Pulse(volts[0] * pressure, rise_s) for rise_s, pressure, volts in self._strongest(run, margin.pickups)
        ]
        ratio = max(1.0, 10 ** (demanded_db / 20))
        filters_s = FILTERS_S if run.pair.device.item.details.teeth else (self._filter_s(run),)
        if run.pair.device.kind == "reluctor sensor":
            return reluctor_settings(high, self._teeth_hz(run), pulses, ratio, filters_s)
        return fixed_level_settings(low, high, self._teeth_hz(run), pulses, ratio, margin.offset_v, filters_s)
