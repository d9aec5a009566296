"""What the loops of ignition and injectors induce in the trigger pairs.

Where loop and pair are in place, by Neumann's integral over both polylines; the pair counts in the worse of all
directions its two wires may lie in. Where only branches are given, for the length that both run in one branch, as a
long wire beside a narrow rectangle. A twisted pair keeps of its twisted run what its lay leaves of it, and the whole of
its untwisted ends. Two wires of one branch are taken to be some distance apart, since their places in it are not known:
where a loop goes out and back in a branch of the pair, both on one drawn line, it counts as two wires side by side. A
high-voltage loop that is drawn as closing next to nothing counts as its best layout.

Lists may have thousands of loops in one branch: those that share one are found by the branch, and of loops with the
same change of current no more than a few, the strongest, are told for one pair.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from heapq import nsmallest
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design.branches import branch_names
from harnessdrc.design.figures import figures_for, instant_on_a
from harnessdrc.design.loops.influences import spark_influences
from harnessdrc.design.loops.loop import Loop
from harnessdrc.design.loops.loops import Loops
from harnessdrc.design.loops.pairs import PairRun
from harnessdrc.findings import Subject
from harnessdrc.harness.names import natural_key
from harnessdrc.physics.discharge import DischargeEdges, Edge, discharge_edges
from harnessdrc.physics.inductance import mutual_h, wire_and_rectangle_h
from harnessdrc.physics.operation import OperatingState
from harnessdrc.physics.polylines import distance_m, length_m, ribbon, segments_apart_m, stretch, vector_area_m2
from harnessdrc.physics.shielding import counted_db, shield_reduction_db
from harnessdrc.physics.twisting import twist_reduction

__all__ = ["Coupling", "Pickup"]

Floats = NDArray[np.float64]
LoopKey = tuple[Subject, str]
"""Whose loop, and which: ``high-voltage return``, ``primary`` or ``injector``."""

_FAR_M = 3.0
"""A loop whose nearest corner is further from a pair than this is not counted."""
_MOST_WIRES = 2_000
"""In longer lists without points only the high-voltage loops are counted."""
_MOST_LOOPS = 64
"""Of very many loops so many, the nearest, are worked out for one pair."""
_MOST_BESIDE = 12
"""Of loops with the same change of current in the branches of a pair so many, those that run with it longest."""
_NOTHING_SHARE = 0.01
"""A loop with so little of its best layout's area is drawn as lines that lie in one another."""
_LEAST_M = 1e-6
"""A pair that is no longer runs nowhere."""


class Pickup(NamedTuple):
    """What one loop induces in one pair.

    Parameters
    ----------
    loop : Loop
        The loop.
    mutual_h, low_h, high_h : float
        Mutual inductance of loop and pair as twisted, and its range, H.
    best_h : float or None
        The same with the best feasible layout of the loop, H.
    distance_m : float or None
        Least distance of both, m.
    edges : tuple of Edge
        Changes of current in it, those of the breakdown at 1 bar and with the coil's influences.
    boost_bar : float
        Boost of the engine, bar.
    """

    loop: Loop
    mutual_h: float
    low_h: float
    high_h: float
    best_h: float | None
    distance_m: float | None
    edges: tuple[Edge, ...]
    boost_bar: float

    def volts(self, material: str | None) -> tuple[Edge, float, float, float]:
        """The edge that induces most behind a shield, with the usual voltage and its range, V."""
        return max(
            ((edge, *self.of(edge, material)) for edge in self.edges), key=lambda each: each[1]
        )

    def of(self, edge: Edge, material: str | None) -> tuple[float, float, float]:
        """What one edge induces behind a shield: usual, least, most, V."""
        usual, best = (0.0, 0.0) if material is None else (
            counted_db(material), shield_reduction_db(material, edge.corner_hz)
        )  # fmt: skip
        return (
            self.mutual_h * edge.a_per_s * 10 ** (-usual / 20),
            self.low_h * edge.low_a_per_s * 10 ** (-max(usual, best) / 20),
            self.high_h * edge.high_a_per_s,
        )


class _Source(NamedTuple):
    """A loop with the changes of its current."""

    loop: Loop
    edges: tuple[Edge, ...]
    boost_bar: float


class Coupling:
    """Coupling of all loops into all trigger pairs.

    Parameters
    ----------
    loops : Loops
        Loops of the design.
    states : sequence of OperatingState
        Operating states.
    given : mapping of str to float
        Values taken as given.
    """

    def __init__(self, loops: Loops, states: Sequence[OperatingState], given: Mapping[str, float]) -> None:
        self.loops, self.states, self.given = loops, states, given

    # ------------------------------------------------------------------ what induces
    @cached_property
    def _sources(self) -> tuple[_Source, ...]:
        """Every loop with the changes of its current, in the order of their names."""
        return tuple(sorted(self._made_sources(), key=lambda s: (s.loop.what, natural_key(s.loop.subject[1]))))

    def _made_sources(self) -> Iterator[_Source]:
        for each in self.loops.high_voltage:
            edges = self._edges(0.0, 0.0)
            usual_gap_m = self.given["plug_gap_mm"] / 1000
            sparks = spark_influences(self.loops.ways.harness, each.coil, each.spark, usual_gap_m)
            factor = max(spark.unboosted for spark in sparks)
            boost_bar = max(spark.boost_bar for spark in sparks)
            yield _Source(each.loop, (edges.breakdown.times(factor), edges.arc), boost_bar)
        if len(self.loops.ways.harness.wires) > _MOST_WIRES and not self.loops.ways.routes.known:
            return
        for coil, loop in zip(self.loops.coils, self._primaries, strict=True):
            if loop is not None:
                peak_a = self._peak_a("coil", coil.coil.item.current_a)
                yield _Source(loop, (self._edges(peak_a, 0.0).primary_off,), 0.0)
        injectors = {device.subject: device for device in self.loops.devices.of_kind("injector")}
        for loop in self.loops.injectors:
            peak_a = self._peak_a("injector", injectors[loop.subject].item.current_a)
            yield _Source(loop, (self._edges(0.0, peak_a).injector_off,), 0.0)

    def _edges(self, coil_peak_a: float, injector_a: float) -> DischargeEdges:
        kept = self._kept_edges.get((coil_peak_a, injector_a))
        if kept is None:
            kept = self._kept_edges[coil_peak_a, injector_a] = discharge_edges(self.given, coil_peak_a, injector_a)
        return kept

    @cached_property
    def _kept_edges(self) -> dict[tuple[float, float], DischargeEdges]:
        return {}

    @cached_property
    def _primaries(self) -> tuple[Loop | None, ...]:
        by_subject = {loop.subject: loop for loop in self.loops.primary}
        return tuple(by_subject.get(coil.coil.subject) for coil in self.loops.coils)

    def _peak_a(self, kind: str, listed_a: float | None) -> float:
        """Current of a coil at the end of dwell, of an injector while it is on, in the worst state, A."""
        asked = kind, listed_a
        if asked not in self._kept_peaks:
            figures = figures_for(kind)
            peaks = [] if figures is None else [instant_on_a(figures, state, listed_a) for state in self.states]
            self._kept_peaks[asked] = max(peaks, default=0.0)
        return self._kept_peaks[asked]

    @cached_property
    def _kept_peaks(self) -> dict[tuple[str, float | None], float]:
        return {}

    @cached_property
    def placed(self) -> frozenset[LoopKey]:
        """High-voltage loops, the worst of each coil, that are in place."""
        worst = (each.loop for each in self.loops.worst_high_voltage if each.loop.shape.points_m is not None)
        return frozenset((loop.subject, loop.what) for loop in worst)

    @cached_property
    def unplaced(self) -> dict[LoopKey, tuple[str, ...]]:
        """High-voltage loops, the worst of each coil, that are not in place → what is lacking.

        Those that close through straps or battery are not among them: that is a fault of its own.
        """
        worst = (each.loop for each in self.loops.worst_high_voltage if each.loop.shape.points_m is None)
        away = (loop for loop in worst if loop.at_home or not loop.steps)
        return {(loop.subject, loop.what): loop.shape.lacking for loop in away}

    @cached_property
    def _in_branch(self) -> dict[str, list[tuple[int, float | None]]]:
        """Branch → numbers of the loops with wires in it, and how long those are in all where any length is known."""
        found: dict[str, list[tuple[int, float | None]]] = {}
        parted: dict[str, tuple[str, ...]] = {}
        for number, source in enumerate(self._sources):
            own: dict[str, float | None] = {}
            for wire in source.loop.wires:
                if not wire.branch:
                    continue
                if wire.branch not in parted:
                    parted[wire.branch] = branch_names(wire, self.loops.ways.harness)
                for name in parted[wire.branch]:
                    before = own.setdefault(name, None)
                    if wire.length_m is not None:
                        own[name] = (before or 0.0) + wire.length_m
            for name, wires_m in own.items():
                found.setdefault(name, []).append((number, wires_m))
        return found

    def _along(self, run: PairRun) -> dict[int, float]:
        """Numbers of loops → how far they run in the branches of a pair, m."""
        along: dict[int, float] = {}
        for name, far_m in run.branches.items() if run.together else ():
            if not far_m:
                continue
            for number, wires_m in self._in_branch.get(name, ()):
                along_m = far_m if wires_m is None or wires_m > far_m else wires_m
                along[number] = along[number] + along_m if number in along else along_m
        return along

    def _unplaced_along(self, run: PairRun) -> dict[int, float]:
        """The same of the loops that are not in place with a pair."""
        along = self._along(run)
        if run.line_m is not None:
            for number in self._boxes[0]:
                along.pop(number, None)
        return along

    def beside(self, run: PairRun) -> frozenset[LoopKey]:
        """Loops not in place that are counted over the length they run in the branches of a pair."""
        return frozenset([self._keys[number] for number in self._unplaced_along(run)])

    @cached_property
    def _keys(self) -> list[LoopKey]:
        """Of every loop whose it is, and which."""
        return [(source.loop.subject, source.loop.what) for source in self._sources]

    @cached_property
    def _alike(self) -> list[int]:
        """Of every loop a number that it has in common with those of the same changes of current."""
        numbers: dict[tuple[tuple[Edge, ...], float], int] = {}
        return [numbers.setdefault((source.edges, source.boost_bar), len(numbers)) for source in self._sources]

    # ------------------------------------------------------------------ pickups
    @cached_property
    def pickups(self) -> tuple[tuple[Pickup, ...], ...]:
        """For every pair of `Loops.pairs` what each loop induces in it, the strongest first."""
        return tuple(self._of(run) for run in self.loops.pairs)

    def _of(self, run: PairRun) -> tuple[Pickup, ...]:
        found = [*self._in_place(run, self._near(run)), *self._in_branches(run)]
        found.sort(key=lambda p: (-p.volts(run.material)[1], p.loop.what, natural_key(p.loop.subject[1])))
        return tuple(found)

    # ------------------------------------------------------------------ in place
    @cached_property
    def _boxes(self) -> tuple[list[int], Floats, Floats]:
        """Numbers of the loops in place, and the least and greatest coordinates of each, shape (n, 3), m."""
        numbers = [n for n, source in enumerate(self._sources) if source.loop.shape.points_m is not None]
        shapes = [points for n in numbers if (points := self._sources[n].loop.shape.points_m) is not None]
        least, most = [each.min(axis=0) for each in shapes], [each.max(axis=0) for each in shapes]
        return numbers, np.array(least).reshape(-1, 3), np.array(most).reshape(-1, 3)

    def _near(self, run: PairRun) -> list[int]:
        """Numbers of the loops in place that are near to a pair in place, the nearest first."""
        line = run.line_m
        numbers, least, most = self._boxes
        if line is None or not numbers:
            return []
        away_m = np.linalg.norm(np.maximum(0.0, np.maximum(least - line.max(0), line.min(0) - most)), axis=1)
        near = sorted((float(away), number) for away, number in zip(away_m, numbers, strict=True) if away < _FAR_M)
        return [number for _, number in near[:_MOST_LOOPS]]

    def _in_place(self, run: PairRun, numbers: Sequence[int]) -> list[Pickup]:
        line = run.line_m
        if line is None or not numbers or (run.back_m is None and (not run.together or length_m(line) < _LEAST_M)):
            return []
        sources = [self._sources[number] for number in numbers]
        shapes = [points for source in sources if (points := source.loop.shape.points_m) is not None]
        # nearest as they stand; moved apart afterwards where they would lie in one another
        apart = [distance_m(np.concatenate([points, points[:1]]), line) for points in shapes]
        near = sorted((m, n) for n, m in enumerate(apart) if m < self._beside_m)
        line = _moved(line, [shapes[n] for _, n in near], self._beside_m)
        victims = _Victims(run, line, self.given)
        ribbons = [self._best_ribbons(number) for number in numbers]
        whole = [*shapes, *(loop for own in ribbons if own is not None for loop in own)]
        mutual = victims.joined(np.abs(mutual_h(whole, victims.loops)))
        along = self._along(run)
        found, begin = [], len(shapes)
        for number, source in enumerate(sources):
            own, best_h = ribbons[number], None
            if own is not None:
                both = mutual[0, begin : begin + len(own)]
                best_h = float(np.hypot(both[0::2].sum(), both[1::2].sum()))
                begin += len(own)
            usual, low, high = mutual[:, number].tolist()
            area_m2, best_m2 = source.loop.shape.area_m2, source.loop.best_area_m2
            if best_h and best_m2 and (area_m2 or 0.0) < _NOTHING_SHARE * best_m2:
                usual, low, high = max(usual, best_h), max(low, best_h), max(high, best_h)
            if numbers[number] in along:
                beside = self._beside_h(run, along[numbers[number]], self.given["loose_spacing_mm"] / 1000)
                usual, low, high = usual + beside[0], low + beside[1], high + beside[2]
            found.append(
                Pickup(source.loop, usual, low, high, best_h, apart[number], source.edges, source.boost_bar)
            )  # fmt: skip
        return found

    @property
    def _beside_m(self) -> float:
        return self.given["branch_spacing_mm"] / 1000

    def _best_ribbons(self, number: int) -> list[Floats] | None:
        """A loop with its return led along its plug leads, each in one direction and then in that square to it."""
        if number not in self._kept_ribbons:
            loop = self._sources[number].loop
            leads = [line for line in loop.leads_m if length_m(line) > _LEAST_M]
            beside_m = self.given["return_beside_lead_mm"] / 1000
            self._kept_ribbons[number] = (
                [ribbon(line, beside_m, turned) for line in leads for turned in (False, True)]
                if leads and loop.best_area_m2 is not None
                else None
            )
        return self._kept_ribbons[number]

    @cached_property
    def _kept_ribbons(self) -> dict[int, list[Floats] | None]:
        return {}

    # ------------------------------------------------------------------ in one branch
    def _in_branches(self, run: PairRun) -> list[Pickup]:
        """Pickup over the length that pair and loops run in the same branches."""
        alike: dict[int, list[tuple[float, int]]] = {}
        for number, along_m in self._unplaced_along(run).items():
            alike.setdefault(self._alike[number], []).append((-along_m, number))
        mutual: dict[float, tuple[float, float, float]] = {}
        found = []
        for group in alike.values():
            for minus_m, number in nsmallest(_MOST_BESIDE, group):
                source = self._sources[number]
                if minus_m not in mutual:
                    mutual[minus_m] = self._beside_h(run, -minus_m)
                usual, low, high = mutual[minus_m]
                found.append(Pickup(source.loop, usual, low, high, None, None, source.edges, source.boost_bar))
        return found

    def _beside_h(self, run: PairRun, along_m: float, back_m: float | None = None) -> tuple[float, float, float]:
        """Mutual inductance of a pair with a wire that runs beside it for some length: usual, least, most, H.

        With the way back of its current `back_m` from it, on the far side.
        """
        whole = _wire_beside_h(along_m, run.spacing_m(self.given), self._beside_m, back_m)
        if not run.twisted:
            return whole, whole, whole
        twist = twist_reduction(run.lay_m or self.given["lay_mm"] / 1000)
        end_m = run.untwisted_m if run.untwisted_m is not None else self.given["untwisted_end_mm"] / 1000
        ends_m = min(along_m, 2 * end_m)
        ends = _wire_beside_h(ends_m, self.given["loose_spacing_mm"] / 1000, self._beside_m, back_m)
        run_share = (along_m - ends_m) / along_m
        usual, low, high = (
            whole * run_share * 10 ** (-db / 20) + ends for db in (twist.db, twist.high_db, twist.low_db)
        )
        return usual, low, high


def _wire_beside_h(along_m: float, spacing_m: float, beside_m: float, back_m: float | None = None) -> float:
    """A long wire beside two wires some distance away, H; less what its way back takes off, where that is near."""
    if not along_m > 0.0:
        return 0.0
    half = min(spacing_m, beside_m) / 2
    there_h = wire_and_rectangle_h(along_m, beside_m - half, beside_m + half)
    if back_m is None:
        return there_h
    return there_h - wire_and_rectangle_h(along_m, beside_m + back_m - half, beside_m + back_m + half)


def _moved(line: Floats, near: Sequence[Floats], beside_m: float) -> Floats:
    """A line moved aside by the distance of two wires in a branch, to where it is furthest from the loops it lies in.

    The directions to choose from are square to the line, and turn with the drawing.
    """
    if not near:
        return line
    begins = np.concatenate(near)
    ends = np.concatenate([np.roll(points, -1, axis=0) for points in near])
    best, best_m = line, -1.0
    first, second = _square_to(line, near[0])
    for number in range(8):
        angle = number * np.pi / 4
        there = line + beside_m * (np.cos(angle) * first + np.sin(angle) * second)
        away_m = float(segments_apart_m(there[:-1, None], there[1:, None], begins[None], ends[None]).min())
        if away_m > best_m + 1e-9:
            best, best_m = there, away_m
    return best


def _square_to(line: Floats, loop: Floats) -> tuple[Floats, Floats]:
    """Two directions square to a line as a whole and to one another, the first by the axis of a loop near it."""
    chords = [line[-1] - line[0], *np.diff(line, axis=0)]
    along = next((chord for chord in chords if float(np.linalg.norm(chord)) > _LEAST_M), np.array([1.0, 0.0, 0.0]))
    along = along / np.linalg.norm(along)
    for vector in (vector_area_m2(loop), loop.mean(axis=0) - line.mean(axis=0), *np.eye(3)):
        square = vector - (vector @ along) * along
        size = float(np.linalg.norm(square))
        if size > 1e-6 * float(np.linalg.norm(vector)) and size > 1e-9:
            first = square / size
            return first, np.cross(along, first)
    raise AssertionError("one of three axes is not along the line")


class _Victims:
    """A pair as closed loops: its run and its untwisted ends, each in two directions; or signal and return apart."""

    def __init__(self, run: PairRun, line: Floats, given: Mapping[str, float]) -> None:
        if not run.together and run.back_m is not None:
            self.loops = [np.concatenate([line, run.back_m])]
            self._weights = np.ones((3, 1))
            self._directions = 1
            return
        spacing_m, loose_m = run.spacing_m(given), given["loose_spacing_mm"] / 1000
        whole_m = length_m(line)
        end_m = run.untwisted_m if run.untwisted_m is not None else given["untwisted_end_mm"] / 1000
        parts: list[tuple[Floats, float]] = []
        if whole_m > 2 * end_m and (run.twisted or spacing_m < loose_m):
            # at their ends the two are parted, twisted or in one cable
            left = [1.0] * 3
            if run.twisted:
                twist = twist_reduction(run.lay_m or given["lay_mm"] / 1000)
                left = [10 ** (-db / 20) for db in (twist.db, twist.high_db, twist.low_db)]
            parts.append((stretch(line, end_m, whole_m - end_m), spacing_m))
            weights = [left]
            if end_m > 0.0:
                parts += [(stretch(line, 0.0, end_m), loose_m), (stretch(line, whole_m - end_m, whole_m), loose_m)]
                weights += [[1.0] * 3] * 2
        else:
            parts.append((line, loose_m if run.twisted else spacing_m))
            weights = [[1.0] * 3]
        self.loops = [ribbon(points, apart_m, turned) for points, apart_m in parts for turned in (False, True)]
        self._weights = np.array(weights).T
        self._directions = 2

    def joined(self, mutual: Floats) -> Floats:
        """Mutual inductances per source, usual, least and most: shape (3, sources)."""
        if self._directions == 1:
            return np.repeat(mutual[:, 0][None, :], 3, axis=0)
        both = np.hypot(mutual[:, 0::2], mutual[:, 1::2])
        return np.asarray(self._weights @ both.T)
