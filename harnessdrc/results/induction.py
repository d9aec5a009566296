"""Loops, what they induce, and the noise margins of trigger sensors."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from harnessdrc.findings import Mark, Subject

__all__ = ["InductionOutcome", "LoopLine", "PickupLine", "SettingLine", "TriggerLine"]


class LoopLine(NamedTuple):
    """One loop that a current closes.

    Parameters
    ----------
    subject : tuple of (str, str)
        The coil, injector or trigger sensor it belongs to.
    what : str
        ``high-voltage return``, ``primary``, ``injector`` or ``trigger pair``.
    way : tuple of str
        The loop spelled out: components, wires, bodies and straps in order.
    length_m : float or None
        Round the loop, m; None where lengths are lacking.
    area_cm2 : float or None
        Its area, cm²: of the closed polyline, or the greatest that a loop of this length can have.
    bound : bool
        Whether `area_cm2` is such a bound and no computed area.
    best_area_cm2 : float or None
        Area with the best feasible layout of the same parts, cm²; None for a loop that has none to be held against.
    area_ratio : float or None
        `area_cm2` over `best_area_cm2`.
    lacking : tuple of str
        Data without which length or area is not known, in trade words.
    notes : tuple of str
        What else is to be said of it: a capacitor that closes it, where it rings.
    mark : Mark or None
        Where it stands in the list.
    """

    subject: Subject
    what: str
    way: tuple[str, ...]
    length_m: float | None
    area_cm2: float | None
    bound: bool
    best_area_cm2: float | None
    area_ratio: float | None
    lacking: tuple[str, ...]
    notes: tuple[str, ...]
    mark: Mark | None


class PickupLine(NamedTuple):
    """What one loop induces in one trigger pair.

    Parameters
    ----------
    loop : tuple of (str, str)
        Subject of the loop.
    what : str
        Which loop of it: as in `LoopLine`.
    edge : str
        The change of current that induces most: ``breakdown``, ``arc``, ``primary switch-off`` or
        ``injector switch-off``.
    mutual_nh : float
        Mutual inductance of loop and pair as twisted, worst orientation, nH.
    best_mutual_nh : float or None
        The same with the best feasible layout of the loop, nH.
    mv, low_mv, high_mv : float
        Induced voltage before the input's filter, behind twist and shield, at a manifold pressure of 1 bar: usual
        figures and the range of what is found, mV.
    distance_m : float or None
        Least distance of loop and pair, m.
    """

    loop: Subject
    what: str
    edge: str
    mutual_nh: float
    best_mutual_nh: float | None
    mv: float
    low_mv: float
    high_mv: float
    distance_m: float | None


class SettingLine(NamedTuple):
    """Threshold of a trigger input that leaves the margin at one speed, with one filter; None where none does."""

    rpm: float
    filter_us: float
    lowest_v: float | None
    highest_v: float | None


@dataclass(frozen=True, slots=True)
class TriggerLine:
    """Noise margin of one trigger sensor over engine speed.

    Parameters
    ----------
    subject : tuple of (str, str)
        The sensor.
    sensor : str
        ``reluctor sensor`` or ``Hall sensor``.
    pair : str
        How its wires run: ``twisted, lay 30 mm, 40 mm untwisted at each end; shield of steel braid``.
    rpm : tuple of float
        Engine speeds, 1/min.
    signal_mv, offset_mv : tuple of float
        At each speed, mV: amplitude, or distance of level and threshold; ground offset that takes from it.
    noise_mv, noise_low_mv, noise_high_mv : tuple of float
        At each speed, mV: what is induced, with usual figures and its range.
    margin_db, low_db, high_db : tuple of float
        20 log10 of what is left of the signal over the noise, with usual figures and at the ends of the range, dB.
    worst : int
        Index of the least margin.
    limit_db : float or None
        As the rules have it.
    settings : tuple of SettingLine
        Threshold and filter of the controller's input that leave margin, one line per speed.
    pickups : tuple of PickupLine
        What each loop induces, the strongest first.
    lacking : tuple of str
        Data without which there is no margin.
    mark : Mark or None
        Where it stands in the list.
    """

    subject: Subject
    sensor: str
    pair: str
    rpm: tuple[float, ...] = ()
    signal_mv: tuple[float, ...] = ()
    offset_mv: tuple[float, ...] = ()
    noise_mv: tuple[float, ...] = ()
    noise_low_mv: tuple[float, ...] = ()
    noise_high_mv: tuple[float, ...] = ()
    margin_db: tuple[float, ...] = ()
    low_db: tuple[float, ...] = ()
    high_db: tuple[float, ...] = ()
    worst: int = 0
    limit_db: float | None = None
    settings: tuple[SettingLine, ...] = ()
    pickups: tuple[PickupLine, ...] = ()
    lacking: tuple[str, ...] = ()
    mark: Mark | None = None


@dataclass(frozen=True, slots=True)
class InductionOutcome:
    """Loops of the ignition, the injectors and the triggers, and what they induce.

    Parameters
    ----------
    loops : tuple of LoopLine
        High-voltage returns first, each kind with the largest ratio or length first.
    triggers : tuple of TriggerLine
        The least margin first; those that could not be worked out last.
    not_worked_out : tuple of str
        What was left out of these figures, one sentence each.
    """

    loops: tuple[LoopLine, ...] = ()
    triggers: tuple[TriggerLine, ...] = ()
    not_worked_out: tuple[str, ...] = ()
