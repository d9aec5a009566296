"""A short circuit to metal at the far end of a wire: its current, the time its fuse takes, the time the wire stands.

The current is the battery's voltage (given ``fault_v``) over the battery's inner resistance, the way of least
resistance from its positive post to the far end of the wire, and the way home from the body with the most resistance
to the negative post: which body a wire chafes through on is not known. Wires count at the given temperature of
conductors, joints as new, and copper does not heat up meanwhile; a fuse opens by the longest time of its family. What
is lacking is carried as a range: the fault is judged with all of it at its worst and at its best.

The wire begins at the temperature its insulation is rated for, and may reach what that stands in a short circuit
(`harnessdrc.physics.insulation`), all heat staying in the copper. Where the insulation is not known, rated and short
time temperature lie between 125 and 175 °C (overload of ISO 6722 classes, 50 K above the rated temperature: from
memory) at worst and 85 and 250 °C (cross-linked, IEC 60949) at best.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from heapq import heappop, heappush
from typing import TYPE_CHECKING, Literal, NamedTuple

from harnessdrc.design.circuit import BATTERY_NEGATIVE, Node, Part
from harnessdrc.design.conductors import conductor_mm2
from harnessdrc.harness.elements import Wire
from harnessdrc.harness.names import natural_key
from harnessdrc.physics.fuses import clearing_time_s, let_through_a2s, sure_to_open_a
from harnessdrc.physics.insulation import read_insulation
from harnessdrc.physics.short_circuit import withstand_a2s

if TYPE_CHECKING:
    from harnessdrc.design import Design

__all__ = ["Faults", "Ohms", "Verdict", "WorstFault"]

Verdict = Literal["clears", "may not open", "too slow", "wire first", "not known"]

_COPPER = frozenset({"wire", "mate", "fuse", "relay", "switch"})
_OVERLOAD_K = 50.0
_UNKNOWN_AT_WORST_DEGC = (125.0, 175.0)
_UNKNOWN_AT_BEST_DEGC = (85.0, 250.0)
_SHORT_TIME_DEGC = 250.0


class Ohms(NamedTuple):
    """Resistance of a way, Ω: as far as known, at the least and at the most, with the data that is lacking."""

    usual: float
    low: float
    high: float
    lacking: tuple[str, ...] = ()

    def after(self, part: Part) -> Ohms:
        """The way with one part more."""
        joint = part.joint_ohm
        lacking = (*self.lacking, *part.lacking) if part.lacking else self.lacking
        return Ohms(
            self.usual + part.ohm + joint, self.low + part.low_ohm + joint, self.high + part.high_ohm + joint, lacking
        )


class _Stands(NamedTuple):
    """What a wire stands, A²s, as usual, at worst and at best, with the data that is lacking."""

    usual: float
    low: float
    high: float
    lacking: tuple[str, ...]


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

    verdict: Verdict
    wire: Wire
    current_a: float
    clears_s: float | None
    withstands_s: float | None
    opens_a: float | None
    lacking: tuple[str, ...]


class Faults:
    """Faults to metal along the feeds of a design.

    Parameters
    ----------
    design : Design
        The design.
    """

    def __init__(self, design: Design) -> None:
        self.design = design
        self.given: Mapping[str, float] = design.given

    # ------------------------------------------------------------------ ways
    @cached_property
    def _feeds(self) -> dict[Node, Ohms]:
        """Contact → resistance of the way from the battery's EMF to it."""
        live, net_of = self.design.feeds.level, self.design.net.net_of
        starts = {}
        beside: dict[Node, list[tuple[Node, Part]]] = {}
        for part in self.design.circuit.parts:
            if part.kind in _COPPER:
                if net_of.get(part.a) in live and net_of.get(part.b) in live:  # type: ignore[call-overload]
                    beside.setdefault(part.a, []).append((part.b, part))
                    beside.setdefault(part.b, []).append((part.a, part))
            elif part.kind == "inside" and part.b[0] == "post +":
                beside.setdefault(part.b, []).append((part.a, part))
            elif part.kind == "battery":
                starts[part.b] = Ohms(0.0, 0.0, 0.0).after(part)
        return _nearest(starts, beside)

    @cached_property
    def home(self) -> Ohms:
        """Way home from the body with the most resistance to the battery's negative post."""
        earths = self.design.net.earths
        beside: dict[Node, list[tuple[Node, Part]]] = {}

        def metal(node: Node) -> bool:
            return (node[0] == "body" and len(node) == 3) or node in earths

        for part in self.design.circuit.parts:
            if part.kind in ("strap", "bodies", "earth", "wire") and metal(part.a) and metal(part.b):
                beside.setdefault(part.a, []).append((part.b, part))
                beside.setdefault(part.b, []).append((part.a, part))
        reached = _nearest({BATTERY_NEGATIVE: Ohms(0.0, 0.0, 0.0)}, beside)
        bodies = [(ohms, node) for node, ohms in reached.items() if metal(node) and node[0] == "body"]
        if len(bodies) > 1:
            return max(bodies, key=lambda each: (each[0].usual, each[1]))[0]
        ohm = self.given["strap_chassis_mohm"] / 1000
        low, high = self.given["strap_low_share"], self.given["strap_high_share"]
        return Ohms(ohm, ohm * low, ohm * high, ("strap from the chassis to battery negative",))

    def way(self, wire: Wire) -> Ohms | None:
        """Loop of a fault at the far end of a wire; None where the battery's feed does not reach it."""
        ends = [ohms for end in (wire.a, wire.b) if end is not None and (ohms := self._feeds.get(end)) is not None]
        if not ends:
            return None
        feed, home = max(ends), self.home
        return Ohms(
            feed.usual + home.usual, feed.low + home.low, feed.high + home.high,
            (*feed.lacking, *home.lacking),
        )  # fmt: skip

    # ------------------------------------------------------------------ wires
    @cached_property
    def _stood(self) -> dict[tuple[object, str], tuple[float, float, float, bool, bool]]:
        return {}

    def _stands(self, wire: Wire) -> _Stands:
        key = (wire.size, wire.insulation or "")
        if key not in self._stood:
            self._stood[key] = self._withstand(wire)
        usual, low, high, sized, insulated = self._stood[key]
        lacking = () if sized else (f"size of wire {wire.name}",)
        if not insulated:
            lacking = (*lacking, f"insulation of wire {wire.name}")
        return _Stands(usual, low, high, lacking)

    def _withstand(self, wire: Wire) -> tuple[float, float, float, bool, bool]:
        area = conductor_mm2(wire.size)
        areas = (area,) * 3 if area else tuple(self.given[f"missing_size_{k}_mm2"] for k in ("usual", "low", "high"))
        worst, best = _UNKNOWN_AT_WORST_DEGC, _UNKNOWN_AT_BEST_DEGC
        insulation = read_insulation(wire.insulation).insulation if wire.insulation else None
        if insulation is not None:
            rated = insulation.rated_degc
            if insulation.short_time_degc is not None:
                worst = best = (rated, insulation.short_time_degc)
            else:
                worst = (rated, rated + _OVERLOAD_K)
                best = (rated, max(_SHORT_TIME_DEGC, rated + _OVERLOAD_K))
        low, high = withstand_a2s(areas[1], *worst), withstand_a2s(areas[2], *best)
        return withstand_a2s(areas[0], *worst), low, high, bool(area), worst == best

    # ------------------------------------------------------------------ the worst of a fuse
    def worst(
        self, wires: Iterable[Wire], families: Sequence[str], rating_a: float, clear_s: float
    ) -> WorstFault | None:
        """The fault behind a fuse that it is least sure to clear.

        Parameters
        ----------
        wires : iterable of Wire
            The wires it protects.
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
        farthest: dict[tuple[object, str], dict[str, tuple[Ohms, Wire]]] = {}
        for wire in wires:
            ohms = self.way(wire)
            if ohms is None:
                continue
            # of wires of one size and insulation the one that is farthest off counts, at worst and at best
            of_kind = farthest.setdefault((wire.size, wire.insulation or ""), {})
            for name, ohm in (("usual", ohms.usual), ("high", ohms.high), ("low", ohms.low)):
                before = of_kind.get(name)
                far = (ohm, natural_key(wire.name))
                if before is None or far > (getattr(before[0], name), natural_key(before[1].name)):
                    of_kind[name] = (ohms, wire)
        judged = [
            self._judged(ohms, wire, families, rating_a, clear_s)
            for of_kind in farthest.values()
            for ohms, wire in {wire.name: (ohms, wire) for ohms, wire in of_kind.values()}.values()
        ]
        if not judged:
            return None
        worst = max(judged, key=_how_bad)
        if worst.verdict != "not known":
            return worst
        unknown = [each for each in judged if each.verdict == "not known"]
        unknown.sort(key=lambda each: natural_key(each.wire.name))
        return worst._replace(lacking=tuple(dict.fromkeys(what for each in unknown for what in each.lacking)))

    def _judged(self, ohms: Ohms, wire: Wire, families: Sequence[str], rating_a: float, clear_s: float) -> WorstFault:
        fault_v, stands = self.given["fault_v"], self._stands(wire)
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
        verdict: Verdict
        if all(each == "clears" for each in at_worst):
            verdict, lacking = "clears", ()
        elif any(each == "clears" for each in at_best):
            verdict = "not known"
        else:
            usual = [_verdict(f, rating_a, current_a, stands.usual, clear_s) for f in families]
            verdict = next(each for each in (*usual, *at_best) if each != "clears")
        return WorstFault(verdict, wire, current_a, longest_s, stands.usual / current_a**2, opens_a, lacking)


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


def _nearest(starts: Mapping[Node, Ohms], beside: Mapping[Node, Sequence[tuple[Node, Part]]]) -> dict[Node, Ohms]:
    """Ways of least resistance from the starts."""
    best: dict[Node, Ohms] = dict(starts)
    front = [(ohms.usual, node) for node, ohms in starts.items()]
    front.sort()
    done: set[Node] = set()
    while front:
        _, here = heappop(front)
        if here in done:
            continue
        done.add(here)
        ohms = best[here]
        for near, part in beside.get(here, ()):
            if near in done:
                continue
            there = ohms.after(part)
            if near not in best or there.usual < best[near].usual:
                best[near] = there
                heappush(front, (there.usual, near))
    return best
