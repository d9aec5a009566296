"""What a suppression capacitor at a two-terminal ignition coil does to the way the discharge takes home.

The high-voltage current of such a coil leaves the low end of its secondary by the coil's feed. Without a
capacitor it goes the long way: feed, fuse, battery, strap, head. A capacitor C from the coil's positive terminal
to the head opens a short way beside it, of inductance Ls (its loop and its own) and resistance Rs; the long way
has Ll and Rl. The long way's share of the current is that of a current divider,

    share = |Zc / (Zc + Zl)|,    Zc = Rs + j (ω Ls - 1 / (ω C)),    Zl = Rl + j ω Ll

It is one at low frequency, rises to about Q at the resonance of C with both ways in series, and falls above it
towards ``Ls / (Ls + Ll)``. So the capacitor takes the breakdown off the long way, rings at the resonance when the
resistances are low, and does nothing to the arc, which lasts a millisecond.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["Resonance", "high_frequency_share", "long_way_share", "resonance"]


@dataclass(frozen=True, slots=True)
class Resonance:
    """Where a capacitor rings with the inductance of both ways.

    Parameters
    ----------
    f_hz : float
        Undamped frequency, ``1 / (2π √(C (Ls + Ll)))``, Hz.
    q : float
        Quality, ``√((Ls + Ll) / C) / (Rs + Rl)``; infinite without resistance. It rings where it exceeds 0.5.
    """

    f_hz: float
    q: float


def long_way_share(
    f_hz: ArrayLike, c_f: float, short_h: float, long_h: float, short_ohm: float, long_ohm: float
) -> NDArray[np.float64]:
    """Share of the current that takes the long way, at each frequency; more than one near the resonance.

    Parameters
    ----------
    f_hz : array_like
        Frequencies, Hz; at zero the share is one.
    c_f : float
        Capacitor, F; zero where there is none, and the share is one.
    short_h, long_h : float
        Inductance of the way through the capacitor, its own counted, and of the long way, H.
    short_ohm, long_ohm : float
        Their resistances, Ω.

    Returns
    -------
    ndarray
        Of the shape of `f_hz`; infinite at the very resonance of ways without resistance.

    Raises
    ------
    ValueError
        For a value that is negative or not finite.
    """
    hertz = np.asarray(f_hz, dtype=np.float64)
    if not np.isfinite(hertz).all() or (hertz < 0).any():
        raise ValueError("a frequency is negative or not finite: give hertz, zero or above")
    _inductances(short_h, long_h)
    _not_negative(c_f, "F", "capacitor")
    _not_negative(short_ohm, "Ω", "resistance")
    _not_negative(long_ohm, "Ω", "resistance")
    omega = 2.0 * math.pi * hertz
    # both impedances times jωC, so that no frequency and no lack of a capacitor divides by zero
    short = 1.0 - omega**2 * (c_f * short_h) + 1j * omega * (c_f * short_ohm)
    both = short - omega**2 * (c_f * long_h) + 1j * omega * (c_f * long_ohm)
    with np.errstate(divide="ignore"):
        return np.asarray(np.abs(short) / np.abs(both), dtype=np.float64)


def resonance(c_f: float, short_h: float, long_h: float, short_ohm: float, long_ohm: float) -> Resonance:
    """Where the capacitor rings with both ways in series.

    Parameters are those of `long_way_share`.

    Raises
    ------
    ValueError
        For a value that is negative or not finite; without a capacitor, or without inductance.
    """
    _inductances(short_h, long_h)
    _not_negative(short_ohm, "Ω", "resistance")
    _not_negative(long_ohm, "Ω", "resistance")
    _not_negative(c_f, "F", "capacitor")
    if c_f == 0.0:
        raise ValueError("without a capacitor nothing rings: give one above zero")
    henry, ohm = short_h + long_h, short_ohm + long_ohm
    q = math.sqrt(henry / c_f) / ohm if ohm else math.inf
    return Resonance(1.0 / (2.0 * math.pi * math.sqrt(c_f * henry)), q)


def high_frequency_share(short_h: float, long_h: float) -> float:
    """Share of the long way far above the resonance: ``Ls / (Ls + Ll)``.

    Raises
    ------
    ValueError
        For an inductance that is negative or not finite, or where both are zero.
    """
    _inductances(short_h, long_h)
    return short_h / (short_h + long_h)


def _inductances(short_h: float, long_h: float) -> None:
    _not_negative(short_h, "H", "inductance")
    _not_negative(long_h, "H", "inductance")
    if short_h + long_h == 0.0:
        raise ValueError("two ways without inductance are no loops: give one above zero")


def _not_negative(value: float, unit: str, what: str) -> None:
    if not math.isfinite(value) or value < 0:
        raise ValueError(f"{value:g} {unit} is no {what}: give zero or a positive number")
