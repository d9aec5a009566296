"""A short circuit to metal at the far end of a wire: its current, the time its fuse takes, the time the wire stands.

The current is the battery's voltage (given ``fault_v`` for one of 12 V, in proportion for others) over the loop of
`harnessdrc.design.sizing.fault_loops`; a fuse opens by the longest time of its family. What is lacking is carried as a
range: the fault is judged with all of it at its worst and at its best.

The wire begins at the temperature its insulation is rated for, and may reach what that stands in a short circuit
(`harnessdrc.physics.insulation`), all heat staying in the copper. Where the insulation is not known, rated and short
time temperature lie between 125 and 175 °C (overload of ISO 6722 classes, 50 K above the rated temperature: from
memory) at worst and 85 and 250 °C (cross-linked, IEC 60949) at best.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design.conductors import conductor_mm2
from harnessdrc.design.sizing.clearing import Verdict
from harnessdrc.design.sizing.fault_loops import FaultLoops
from harnessdrc.harness.elements import Wire
from harnessdrc.harness.names import natural_key
from harnessdrc.physics.fuse_times import clearing_time_s, let_through_a2s, sure_to_open_a
from harnessdrc.physics.insulation import read_insulation
from harnessdrc.physics.short_circuit import adiabatic_k, withstand_a2s

if TYPE_CHECKING:
    from harnessdrc.design import Design

__all__ = ["Faults", "WorstFault", "faults_of", "short_time_degc"]

Floats = NDArray[np.float64]

_KEPT = "faults"
_OVERLOAD_K = 50.0
_UNKNOWN_AT_WORST_DEGC = (125.0, 175.0)
_UNKNOWN_AT_BEST_DEGC = (85.0, 250.0)
_SHORT_TIME_DEGC = 250.0


class _Stands(NamedTuple):
    """What a wire stands, A²s, as usual, at worst and at best, with the data that is lacking."""

    usual: float
    low: float
    high: float
    lacking: tuple[str, ...]


class ShortTime(NamedTuple):
    """Temperatures of a wire in a short circuit, °C: those it begins at and may reach, at worst and at best.

    Both are the same where the words of its insulation decide on both.
    """

    worst: tuple[float, float]
    best: tuple[float, float]


class WorstFault(NamedTuple):
    """The fault behind a fuse that it is least sure to clear.

    Parameters
    ----------
    verdict : str
        ``clears`` for certain; ``may not open`` (the current is below what opens it for sure), ``too slow``, or
        ``wire first`` (the wire is at its limit before) for certain; ``not known`` while data is lacking.
    wire : Wire
        The wire at whose far end it is.
    current_a : float
        Its current, A, as usual.
    clears_s, withstands_s : float or None
        Longest time of the fuse at that current, None where it need not open or its family has no limits; time until
        the wire is at its limit, s.
    opens_a : float or None
        Current that opens the fuse for sure, A.
    lacking : tuple of str
        Data without which it is not certain.
    """

    verdict: Verdict | Literal["not known"]
    wire: Wire
    current_a: float
    clears_s: float | None
    withstands_s: float | None
    opens_a: float | None
    lacking: tuple[str, ...]


def short_time_degc(text: str | None) -> ShortTime:
    """Temperatures in a short circuit of the insulation that a cell names.

    Raises
    ------
    FileUnreadableError
        When the shipped table is missing or damaged.
    """
    insulation = read_insulation(text).insulation if text else None
    if insulation is None:
        return ShortTime(_UNKNOWN_AT_WORST_DEGC, _UNKNOWN_AT_BEST_DEGC)
    rated = insulation.rated_degc
    if insulation.short_time_degc is not None:
        return ShortTime(*[(rated, insulation.short_time_degc)] * 2)
    return ShortTime((rated, rated + _OVERLOAD_K), (rated, max(_SHORT_TIME_DEGC, rated + _OVERLOAD_K)))


class Faults:
    """Faults to metal at the far ends of the wires of a design.

    Parameters
    ----------
    design : Design
        The design.
    """

    def __init__(self, design: Design) -> None:
        self.design = design
        self.given: Mapping[str, float] = design.given
        self.loops = FaultLoops(design)
        self._stood: dict[tuple[object, str], tuple[float, float, float, bool, bool]] = {}

    # ------------------------------------------------------------------ wires
    @property
    def fault_v(self) -> float:
        """Voltage of the battery in a fault, V: the given one, in proportion for a battery of another voltage."""
        return self.given["fault_v"] * self.design.circuit.battery_v / 12.0

    @cached_property
    def current_a(self) -> Floats:
        """Current of the fault at the far end of each wire of the list, A, as usual; NaN where no feed reaches it."""
        return np.asarray(self.fault_v / self.loops.ohm[:, 0])

    def own_data(self, wire: Wire) -> tuple[str, ...]:
        """What lacks of a wire itself so that its own fault cannot be told."""
        if wire.cores != 1:
            return (f"cores of cable {wire.name}",)
        lacking = [] if wire.a is not None or wire.b is not None else [f"both ends of wire {wire.name}"]
        if not conductor_mm2(wire.size):
            lacking.append(f"size of wire {wire.name}")
        if wire.length_m is None:
            lacking.append(f"length of wire {wire.name}")
        return tuple(lacking)

    def k2(self) -> Floats:
        """k² of each wire of the list, A²s/mm⁴, with what its insulation lacks at its worst."""
        codes: dict[str | None, int] = {}
        code = np.array([codes.setdefault(w.insulation, len(codes)) for w in self.design.harness.wires], dtype=np.intp)
        each = [adiabatic_k(*short_time_degc(text).worst) ** 2 for text in codes]
        return np.array(each, dtype=np.float64)[code]

    def stands(self, wire: Wire) -> _Stands:
        """What a wire stands, A²s; the given sizes stand in for one that lacks."""
        key = (wire.size, wire.insulation or "")
        if key not in self._stood:
            self._stood[key] = self._withstand(wire)
        usual, low, high, sized, insulated = self._stood[key]
        lacking = () if sized else (f"size of wire {wire.name}",)
        if not insulated:
            lacking = (*lacking, _insulation_lacks(wire))
        return _Stands(usual, low, high, lacking)

    def _withstand(self, wire: Wire) -> tuple[float, float, float, bool, bool]:
        area = conductor_mm2(wire.size)
        areas = (area,) * 3 if area else tuple(self.given[f"missing_size_{k}_mm2"] for k in ("usual", "low", "high"))
        worst, best = short_time_degc(wire.insulation)
        low, high = withstand_a2s(areas[1], *worst), withstand_a2s(areas[2], *best)
        return withstand_a2s(areas[0], *worst), low, high, bool(area), worst == best

    # ------------------------------------------------------------------ the worst of a fuse
    def worst(
        self, numbers: Sequence[int], families: Sequence[str], rating_a: float, clear_s: float
    ) -> WorstFault | None:
        """The fault behind a fuse that it is least sure to clear.

        Parameters
        ----------
        numbers : sequence of int
            The wires it protects, by their numbers in the list.
        families : sequence of str
            Families that it may be; empty where that is not known.
        rating_a : float
            Its rating, A.
        clear_s : float
            Time within which it should open, s.

        Returns
        -------
        WorstFault or None
            None where the battery's feed reaches none of the wires.
        """
        wires, ohm = self.design.harness.wires, self.loops.ohm
        of_kind: dict[tuple[object, str], list[int]] = {}
        for number in numbers:
            if not math.isnan(ohm[number, 0]):
                wire = wires[number]
                of_kind.setdefault((wire.size, wire.insulation or ""), []).append(number)
        # of wires of one size and insulation the one that is farthest off counts, as usual, at best and at worst
        farthest = [self._farthest(alike, column) for alike in of_kind.values() for column in range(3)]
        judged = [self._judged(number, families, rating_a, clear_s) for number in dict.fromkeys(farthest)]
        if not judged:
            return None
        worst = max(judged, key=_how_bad)
        if worst.verdict != "not known":
            return worst
        unknown = [each for each in judged if each.verdict == "not known"]
        unknown.sort(key=lambda each: natural_key(each.wire.name))
        return worst._replace(lacking=tuple(dict.fromkeys(what for each in unknown for what in each.lacking)))

    def _farthest(self, numbers: Sequence[int], column: int) -> int:
        ohm = self.loops.ohm[numbers, column]
        most = [numbers[at] for at in np.flatnonzero(ohm == ohm.max()).tolist()]
        return max(most, key=lambda number: natural_key(self.design.harness.wires[number].name))

    def _judged(self, number: int, families: Sequence[str], rating_a: float, clear_s: float) -> WorstFault:
        wire = self.design.harness.wires[number]
        ohms = self.loops.of(number)
        fault_v, stands = self.fault_v, self.stands(wire)
        current_a = fault_v / ohms.usual
        lacking = tuple(dict.fromkeys((*ohms.lacking, *stands.lacking)))
        if not families:
            return WorstFault("not known", wire, current_a, None, stands.usual / current_a**2, None, ())
        at_worst = [_verdict(f, rating_a, fault_v / ohms.high, stands.low, clear_s) for f in families]
        at_best = [_verdict(f, rating_a, fault_v / ohms.low, stands.high, clear_s) for f in families]
        # beyond the last point of the table the energy counts, which rises no more
        let = [let_through_a2s(family, rating_a, current_a) for family in families]
        longest_s = None if None in let else max(each for each in let if each is not None) / current_a**2
        opens_a = max(filter(None, (sure_to_open_a(family, rating_a) for family in families)), default=None)
        verdict: Verdict | Literal["not known"]
        if all(each == "clears" for each in at_worst):
            verdict = "clears"  # whatever is lacking: that is told with the figures
        elif any(each == "clears" for each in at_best):
            verdict = "not known"
        else:
            usual = [_verdict(f, rating_a, current_a, stands.usual, clear_s) for f in families]
            verdict = next(each for each in (*usual, *at_best) if each != "clears")
        return WorstFault(verdict, wire, current_a, longest_s, stands.usual / current_a**2, opens_a, lacking)


def _insulation_lacks(wire: Wire) -> str:
    """What is not known of the insulation of a wire in a short circuit."""
    known = read_insulation(wire.insulation).insulation if wire.insulation else None
    return f"insulation of wire {wire.name}" if known is None else f"short-time temperature of {wire.insulation}"


def _verdict(family: str, rating_a: float, current_a: float, stands_a2s: float, clear_s: float) -> Verdict:
    longest_s = clearing_time_s(family, rating_a, current_a)[1]
    if longest_s is None:
        return "may not open"
    if longest_s > clear_s:
        return "too slow"
    let_through = let_through_a2s(family, rating_a, current_a)
    return "wire first" if let_through is not None and let_through > stands_a2s else "clears"


def _how_bad(fault: WorstFault) -> tuple[int, float, float, tuple[tuple[int, int, str], ...]]:
    """Findings before what is not known, the slowest first, the nearest to the wire's limit first."""
    order = {"clears": 0, "not known": 1, "wire first": 2, "too slow": 3, "may not open": 4}
    slow = math.inf if fault.clears_s is None else fault.clears_s
    near = slow / fault.withstands_s if fault.withstands_s else 0.0
    return order[fault.verdict], slow, near if math.isfinite(near) else -fault.current_a, natural_key(fault.wire.name)


def faults_of(design: Design) -> Faults:
    """Faults of a design, worked out once and kept with it."""
    kept: dict[str, Any] = design.analysis.kept
    if _KEPT not in kept:
        kept[_KEPT] = Faults(design)
    found: Faults = kept[_KEPT]
    return found
