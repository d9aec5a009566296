"""Signal of a trigger sensor against induced noise over engine speed, and settings of the input that leave margin.

A reluctor gives a voltage in proportion to speed, a Hall or optical sensor two fixed levels. What one event of the
ignition induces does not depend on speed but through the pressure in the inlet. So a reluctor fails while cranking;
a fixed level keeps its margin per event, and meets more events per second the faster the engine turns.

A controller's input compares with a threshold, mostly behind a low-pass of one resistor and one capacitor with the
time constant τ. A pulse of the duration t leaves ``1 - exp(-t / τ)`` of itself behind it, a tooth signal of the
frequency f ``1 / √(1 + (2π f τ)²)``. For the square wave of a fixed-level sensor the latter is the share of its
fundamental about the middle of the two levels, which is less than what the square wave itself has left
(``tanh(1 / (4 f τ))``), so it errs to the side of caution. Thresholds that adapt to the signal, and what a
differential input takes off a noise that is common to both wires, are not in here.

All functions take numbers or arrays over engine speed and broadcast them; voltages are peak values in V. Sources:
circuit laws; no publication needed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "FILTERS_S",
    "FilterSettings",
    "Pulse",
    "Window",
    "fixed_level_settings",
    "low_pass_share",
    "margin_db",
    "pulse_share",
    "reluctor_rpm",
    "reluctor_settings",
    "reluctor_v",
    "remaining_noise_v",
    "threshold_window",
    "tooth_hz",
]

Floats = NDArray[np.float64]

FILTERS_S = (0.0, 1e-6, 2e-6, 5e-6, 10e-6, 20e-6, 50e-6, 100e-6)
"""Time constants of an input to try, s, the shortest first."""


class Pulse(NamedTuple):
    """One kind of noise pulse at the input.

    Parameters
    ----------
    volts : array_like
        Peak before the filter, from 0, V; a number, or one per engine speed.
    duration_s : float
        Its duration, above zero, s: the rise time of the edge that induces it.
    """

    volts: ArrayLike
    duration_s: float


@dataclass(frozen=True, slots=True, eq=False)
class Window:
    """Thresholds that leave what is demanded: between two voltages, one pair per engine speed.

    Parameters
    ----------
    lowest_v, highest_v : ndarray
        Same shape, V. Where the lowest is not below the highest there is no such threshold.
    """

    lowest_v: Floats
    highest_v: Floats

    @property
    def open(self) -> NDArray[np.bool_]:
        """Where there is such a threshold."""
        return self.lowest_v < self.highest_v


@dataclass(frozen=True, slots=True)
class FilterSettings:
    """The filter chosen, and the thresholds that leave margin with it.

    Parameters
    ----------
    filter_s : float
        Time constant, s; 0 for none.
    lowest_v, highest_v : tuple of (float or None)
        One each per engine speed, V; both None where no threshold leaves what is demanded.
    """

    filter_s: float
    lowest_v: tuple[float | None, ...]
    highest_v: tuple[float | None, ...]

    @property
    def everywhere(self) -> bool:
        """Whether there is a threshold at every speed; each speed may ask for one of its own."""
        return None not in self.lowest_v

    @property
    def common(self) -> tuple[float, float] | None:
        """Thresholds that do for every speed at once, V; None where there are none, or no speeds."""
        lowest = [each for each in self.lowest_v if each is not None]
        highest = [each for each in self.highest_v if each is not None]
        if not lowest or not self.everywhere or max(lowest) >= min(highest):
            return None
        return max(lowest), min(highest)


def reluctor_v(v_per_100rpm: float, rpm: ArrayLike) -> Floats:
    """Peak voltage of a reluctor, V: in proportion to the speed of its wheel.

    Parameters
    ----------
    v_per_100rpm : float
        Peak at 100 rpm of its wheel, V.
    rpm : array_like
        Speed of its wheel, from 0, 1/min.

    Raises
    ------
    ValueError
        For a sensitivity that is not above zero or a speed that is negative.
    """
    _positive(v_per_100rpm, "V at 100 rpm")
    return _from_zero(rpm, "1/min", "speed") * (v_per_100rpm / 100.0)


def reluctor_rpm(v_per_100rpm: float, noise_v: ArrayLike, ratio: float) -> Floats:
    """Speed from which a reluctor's peak is `ratio` times the noise, 1/min: ``ratio × noise / k``.

    Parameters
    ----------
    v_per_100rpm : float
        Peak at 100 rpm of its wheel, V.
    noise_v : array_like
        Noise, from 0, V.
    ratio : float
        Signal over noise, above zero; 10 for 20 dB.

    Raises
    ------
    ValueError
        For numbers outside these bounds.
    """
    _positive(v_per_100rpm, "V at 100 rpm")
    _positive(ratio, "ratio of signal to noise")
    return _from_zero(noise_v, "V", "noise") * (100.0 * ratio / v_per_100rpm)


def tooth_hz(teeth: float, rpm: ArrayLike, turns_per_engine_turn: float = 1.0) -> Floats:
    """Frequency at which teeth pass a sensor, Hz: ``teeth × rpm / 60``.

    Parameters
    ----------
    teeth : float
        Of the wheel, missing ones counted: the signal is as fast as if they were there.
    rpm : array_like
        Engine speed, from 0, 1/min.
    turns_per_engine_turn : float
        Of the wheel: 1 on the crankshaft, 0.5 on a camshaft.

    Raises
    ------
    ValueError
        For numbers outside these bounds.
    """
    _positive(teeth, "number of teeth")
    _positive(turns_per_engine_turn, "number of turns")
    return _from_zero(rpm, "1/min", "speed") * (teeth * turns_per_engine_turn / 60.0)


def low_pass_share(f_hz: ArrayLike, tau_s: float) -> Floats:
    """Part of a sine that a low-pass leaves: ``1 / √(1 + (2π f τ)²)``.

    Parameters
    ----------
    f_hz : array_like
        Frequency, from 0, Hz.
    tau_s : float
        Time constant, from 0 (no filter), s.

    Raises
    ------
    ValueError
        For negative numbers.
    """
    _time_constant(tau_s)
    return _plain(1.0 / np.hypot(1.0, _from_zero(f_hz, "Hz", "frequency") * (2.0 * math.pi * tau_s)))


def pulse_share(duration_s: ArrayLike, tau_s: float) -> Floats:
    """Part of a rectangular pulse that a low-pass leaves: ``1 - exp(-t / τ)``; all of it without filter.

    Parameters
    ----------
    duration_s : array_like
        Duration of the pulse, from 0, s.
    tau_s : float
        Time constant, from 0 (no filter), s.

    Raises
    ------
    ValueError
        For negative numbers.
    """
    _time_constant(tau_s)
    duration = _from_zero(duration_s, "s", "duration of a pulse")
    if tau_s == 0.0:
        return _plain(np.where(duration > 0.0, 1.0, 0.0))
    # a pulse so long, or a filter so short, that the quotient leaves the numbers there are: all of it
    with np.errstate(over="ignore"):
        return _plain(-np.expm1(-duration / tau_s))


def margin_db(signal_v: ArrayLike, noise_v: ArrayLike) -> Floats:
    """Signal over noise, dB: ``20 log10 (signal / noise)``.

    Parameters
    ----------
    signal_v : array_like
        What is left of the signal, V. Nothing or less leaves no margin at all: ``-inf``.
    noise_v : array_like
        Noise, from 0, V; without noise ``inf``, as long as there is a signal.

    Raises
    ------
    ValueError
        For a negative noise, and for a signal that is no number.
    """
    noise = _from_zero(noise_v, "V", "noise")
    signal = np.asarray(signal_v, dtype=np.float64)
    if not np.all(np.isfinite(signal)):
        raise ValueError("expected a signal in V, found what is no number")
    signal, noise = np.broadcast_arrays(signal, noise)
    left = signal > 0.0
    with np.errstate(divide="ignore"):
        return _plain(np.where(left, 20.0 * (np.log10(np.where(left, signal, 1.0)) - np.log10(noise)), -math.inf))


def threshold_window(
    low_v: ArrayLike, high_v: ArrayLike, noise_v: ArrayLike, offset_v: ArrayLike = 0.0, ratio: float = 1.0
) -> Window:
    """Thresholds that keep `ratio` times the noise from both levels: ``low + |u| + s n < T < high - |u| - s n``.

    A reluctor's quiet level is 0 and its high level the amplitude; its input takes the difference of two wires, so no
    offset moves it: ``s n < T < amplitude - s n``.

    Parameters
    ----------
    low_v, high_v : array_like
        Quiet level and top of the signal, behind the filter, V. The top may lie below: no threshold then.
    noise_v : array_like
        Noise behind the filter, from 0, V.
    offset_v : array_like
        Ground offset of the sensor, either sign, V: it may stand for now and be gone in the next state, so its size
        is taken from both sides.
    ratio : float
        Times the noise that must be left on either side, 1 or more; 1 is the bare window.

    Raises
    ------
    ValueError
        For numbers outside these bounds.
    """
    if not (math.isfinite(ratio) and ratio >= 1.0):
        raise ValueError(f"{ratio:g} is no ratio of signal to noise for a threshold: give 1 or more")
    low, high, offset = (np.asarray(each, dtype=np.float64) for each in (low_v, high_v, offset_v))
    for level, what in ((low, "low level"), (high, "high level"), (offset, "offset")):
        if not np.all(np.isfinite(level)):
            raise ValueError(f"expected numbers of volts for the {what}")
    kept = ratio * _from_zero(noise_v, "V", "noise") + np.abs(offset)
    lowest, highest = np.broadcast_arrays(low + kept, high - kept)
    return Window(_plain(lowest), _plain(highest))


def remaining_noise_v(pulses: Sequence[Pulse], tau_s: float) -> Floats:
    """The strongest of several kinds of pulse behind a filter, V; their events do not come together. 0 without any.

    Raises
    ------
    ValueError
        For negative voltages, durations that are not above zero, and a negative time constant.
    """
    _time_constant(tau_s)
    strongest: Floats = np.zeros(())
    for pulse in pulses:
        _positive(pulse.duration_s, "duration of a pulse in s")
        left = _from_zero(pulse.volts, "V", "noise") * pulse_share(pulse.duration_s, tau_s)
        strongest = np.maximum(strongest, left)
    return _plain(strongest)


def reluctor_settings(
    amplitude_v: ArrayLike,
    f_hz: ArrayLike,
    pulses: Sequence[Pulse],
    ratio: float,
    filters_s: Sequence[float] = FILTERS_S,
) -> FilterSettings:
    """Filter and thresholds for a reluctor: the shortest filter with which there is a threshold at every speed.

    A threshold keeps `ratio` times the noise that is left behind the filter from 0 and from the amplitude that is
    left. Where no filter gives one at every speed, the one that does at most speeds, the shortest of several.

    Parameters
    ----------
    amplitude_v : array_like
        Peak before the filter, one per engine speed, V: `reluctor_v`.
    f_hz : array_like
        Frequency of the teeth, one per engine speed, Hz: `tooth_hz`.
    pulses : sequence of Pulse
        Noise before the filter.
    ratio : float
        Signal over noise that is demanded, 1 or more; 10 for 20 dB.
    filters_s : sequence of float
        Time constants to try, s. One alone tells the thresholds with the filter that is there.

    Raises
    ------
    ValueError
        For no filter at all, for arrays that are not of one length, and as `low_pass_share`, `remaining_noise_v`
        and `threshold_window`.
    """
    amplitude = _from_zero(amplitude_v, "V", "amplitude")
    zero = np.zeros_like(amplitude)
    return _settings(zero, amplitude, zero, f_hz, pulses, ratio, 0.0, filters_s)


def fixed_level_settings(
    low_v: ArrayLike,
    high_v: ArrayLike,
    f_hz: ArrayLike,
    pulses: Sequence[Pulse],
    ratio: float,
    offset_v: ArrayLike = 0.0,
    filters_s: Sequence[float] = FILTERS_S,
) -> FilterSettings:
    """Filter and thresholds for a Hall or optical sensor; chosen as `reluctor_settings` does.

    A filter draws both levels towards the middle between them. A threshold keeps `ratio` times the noise and the
    whole ground offset from either.

    Parameters
    ----------
    low_v, high_v : array_like
        Levels before the filter, the low one below the high one, V.
    f_hz, pulses, ratio, filters_s
        As `reluctor_settings`.
    offset_v : array_like
        Ground offset of the sensor, either sign, V.

    Raises
    ------
    ValueError
        For levels that are not in order, and as `reluctor_settings`.
    """
    low, high = np.asarray(low_v, dtype=np.float64), np.asarray(high_v, dtype=np.float64)
    if not np.all(low < high):
        raise ValueError("expected a low level below the high level of the sensor")
    return _settings(low, high, (low + high) / 2.0, f_hz, pulses, ratio, offset_v, filters_s)


def _settings(
    low: Floats,
    high: Floats,
    rests: Floats,
    f_hz: ArrayLike,
    pulses: Sequence[Pulse],
    ratio: float,
    offset_v: ArrayLike,
    filters_s: Sequence[float],
) -> FilterSettings:
    """As `reluctor_settings`; `rests` is the level about which the signal swings."""
    if not filters_s:
        raise ValueError("expected at least one time constant to try")
    for tau_s in filters_s:
        _time_constant(tau_s)
    most, chosen = -1, (0.0, Window(low, low))
    for tau_s in sorted(filters_s):
        share = low_pass_share(f_hz, tau_s)
        noise = remaining_noise_v(pulses, tau_s)
        window = threshold_window(rests + (low - rests) * share, rests + (high - rests) * share, noise, offset_v, ratio)
        speeds = int(np.count_nonzero(window.open))
        if speeds > most:
            most, chosen = speeds, (tau_s, window)
        if speeds == window.lowest_v.size:
            break
    tau_s, window = chosen
    known = np.atleast_1d(window.open).tolist()

    def where_open(volts: Floats) -> tuple[float | None, ...]:
        return tuple(each if there else None for each, there in zip(np.atleast_1d(volts).tolist(), known, strict=True))

    return FilterSettings(tau_s, where_open(window.lowest_v), where_open(window.highest_v))


def _plain(values: ArrayLike) -> Floats:
    return np.asarray(values, dtype=np.float64)


def _from_zero(values: ArrayLike, unit: str, what: str) -> Floats:
    array = np.asarray(values, dtype=np.float64)
    wrong = ~(np.isfinite(array) & (array >= 0.0))
    if wrong.any():
        first = float(array[wrong].flat[0])
        raise ValueError(f"{first:g} {unit} is no {what}: give zero or a positive number")
    return array


def _positive(value: float, what: str) -> None:
    if not (math.isfinite(value) and value > 0.0):
        raise ValueError(f"{value:g} is no {what}: give a number above zero")


def _time_constant(tau_s: float) -> None:
    if not (math.isfinite(tau_s) and tau_s >= 0.0):
        raise ValueError(f"{tau_s:g} s is no time constant: give zero or a positive number")
