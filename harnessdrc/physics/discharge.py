"""How fast currents of ignition and injection change, and what makes the spark's breakdown stronger.

A spark has two parts. When the gap breaks down, what is charged beside it (plug, lead, coil) empties through it in
nanoseconds: the capacitive part, limited by the resistance of plug and lead. Then the coil empties through the arc in
milliseconds: the inductive part, of little current. The coil's primary and the injectors are switched off besides.
What is induced in a loop is its mutual inductance times the rate of change.

Breakdown voltage goes with gas density times gap, so at a given temperature with pressure times gap (Paschen's law,
from memory; above its minimum, which at plug gaps lies far below the pressures of an engine). Charge, and with it the
current of the capacitive part, goes with that voltage; its rise time does not. Pressure at the plug goes with the
absolute pressure in the inlet, as compression and timing are the engine's own.

All usual figures are common practice without source; their wide ranges are part of them. Rates come from given
values, see `harnessdrc.design.given`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import NamedTuple

__all__ = [
    "ARC_RISE_S",
    "BREAKDOWN_RISE_S",
    "GIVEN_NAMES",
    "PLAIN_PLUG_FACTOR",
    "SOLID_LEAD_FACTOR",
    "UNSUPPRESSED_FACTOR",
    "DischargeEdges",
    "Edge",
    "Influence",
    "breakdown_factor",
    "discharge_edges",
    "stronger",
]

BREAKDOWN_RISE_S = 50e-9
"""Rise of the current at breakdown, s; 2 to 200 ns are found (common practice, no source)."""
ARC_RISE_S = 10e-6
"""Rise of the arc's current, s (common practice, no source)."""
PLAIN_PLUG_FACTOR = 3.2
"""Breakdown current of a plug without resistor over that of one with it, the lead suppressed (common practice)."""
SOLID_LEAD_FACTOR = 10.0
"""The same of a lead of solid metal over a suppressed one, the plug with its resistor (common practice)."""
UNSUPPRESSED_FACTOR = 30.0
"""Both together: without any resistance 10 to 100 times are found (common practice, no source)."""
GIVEN_NAMES = (
    "breakdown_a_per_us",
    "breakdown_low_a_per_us",
    "breakdown_high_a_per_us",
    "arc_a_per_us",
    "primary_off_us",
    "injector_off_us",
    "edge_low_share",
    "edge_high_share",
)
"""Given values that `discharge_edges` reads."""


@dataclass(frozen=True, slots=True)
class Edge:
    """A change of current.

    Parameters
    ----------
    name : str
        ``breakdown``, ``arc``, ``primary switch-off`` or ``injector switch-off``.
    a_per_s, low_a_per_s, high_a_per_s : float
        Usual rate of change and the range of what is found, A/s, from 0.
    rise_s : float
        How long it lasts, s: as long as the pulse that it induces.

    Raises
    ------
    ValueError
        For rates that are not in order, negative or no numbers, and for a duration that is not above zero.
    """

    name: str
    a_per_s: float
    low_a_per_s: float
    high_a_per_s: float
    rise_s: float

    def __post_init__(self) -> None:
        if not 0.0 <= self.low_a_per_s <= self.a_per_s <= self.high_a_per_s < math.inf:
            told = f"{self.low_a_per_s:g}, {self.a_per_s:g} and {self.high_a_per_s:g} A/s"
            raise ValueError(f"{told} are no range of the {self.name}: give the low, usual and high rate in order")
        _positive(self.rise_s, f"duration of the {self.name}", "s")

    @property
    def corner_hz(self) -> float:
        """Highest frequency that counts in it, ``1 / (π rise)``, Hz."""
        return 1.0 / (math.pi * self.rise_s)

    def times(self, factor: float) -> Edge:
        """The same with all rates `factor` times as high; as long as before.

        Raises
        ------
        ValueError
            For a factor that is negative or no number.
        """
        _from_zero(factor, "factor", "")
        return replace(
            self,
            a_per_s=self.a_per_s * factor,
            low_a_per_s=self.low_a_per_s * factor,
            high_a_per_s=self.high_a_per_s * factor,
        )


class DischargeEdges(NamedTuple):
    """The four edges of ignition and injection.

    Parameters
    ----------
    breakdown, arc : Edge
        In the high-voltage loop: capacitive and inductive part of the spark.
    primary_off : Edge
        In the primary loop.
    injector_off : Edge
        In the injector's loop.
    """

    breakdown: Edge
    arc: Edge
    primary_off: Edge
    injector_off: Edge


def discharge_edges(
    given: Mapping[str, float], coil_peak_a: float, injector_a: float, manifold_bar: float = 1.0
) -> DischargeEdges:
    """The four edges, from values taken as given.

    Parameters
    ----------
    given : mapping of str to float
        With every one of `GIVEN_NAMES`: rates in A/µs at 1 bar, durations in µs. A usual breakdown that lies outside
        its own range, measured on an engine perhaps, widens the range.
    coil_peak_a : float
        Primary current at the end of dwell, A.
    injector_a : float
        Current of an injector while on, A.
    manifold_bar : float
        Absolute pressure in the inlet, bar. It scales the breakdown and nothing else.

    Raises
    ------
    ValueError
        For a given value that is lacking or senseless, for currents that are negative, for a pressure that is
        not above zero.
    """
    missing = [name for name in GIVEN_NAMES if name not in given]
    if missing:
        raise ValueError(f"expected the given values {', '.join(missing)}")
    _from_zero(coil_peak_a, "peak current", "A")
    _from_zero(injector_a, "current of an injector", "A")
    _positive(manifold_bar, "pressure in the inlet", "bar")
    low, high = given["edge_low_share"], given["edge_high_share"]
    if not 0.0 <= low <= 1.0 <= high < math.inf:
        raise ValueError(f"edge_low_share {low:g} and edge_high_share {high:g}: give 0 to 1, and 1 or more")

    def edge(name: str, a_per_s: float, rise_s: float) -> Edge:
        return Edge(name, a_per_s, a_per_s * low, a_per_s * high, rise_s)

    def off(name: str, amps: float, key: str) -> Edge:
        _positive(given[key], key, "µs")
        rise_s = given[key] / 1e6
        return edge(name, amps / rise_s, rise_s)

    usual = given["breakdown_a_per_us"]
    lowest, highest = min(given["breakdown_low_a_per_us"], usual), max(given["breakdown_high_a_per_us"], usual)
    at_one_bar = Edge("breakdown", usual * 1e6, lowest * 1e6, highest * 1e6, BREAKDOWN_RISE_S)
    return DischargeEdges(
        at_one_bar.times(manifold_bar),
        edge("arc", given["arc_a_per_us"] * 1e6, ARC_RISE_S),
        off("primary switch-off", coil_peak_a, "primary_off_us"),
        off("injector switch-off", injector_a, "injector_off_us"),
    )


@dataclass(frozen=True, slots=True)
class Influence:
    """Something of plug, lead or engine that makes the breakdown stronger or weaker than usual.

    Parameters
    ----------
    what : str
        ``solid lead``, ``plain plug``, ``gap`` or ``boost``.
    factor : float
        How many times the usual rate of change at breakdown. Factors of one coil multiply.
    effect : str
        Why, as the end of a sentence: ``no resistance in the lead limits the current of the breakdown``.
    usual : str
        What is usual in its place: ``suppressed lead``, ``resistor plug``, ``usual gap``, ``no boost``.
    found_si, usual_si : float or None
        Gap in m or pressure in bar, as found and as usual; None where there is no number to it.
    source : str
        Whose word the factor is.
    """

    what: str
    factor: float
    effect: str
    usual: str
    found_si: float | None = None
    usual_si: float | None = None
    source: str = "common practice, no source"

    @property
    def adverse(self) -> bool:
        """Whether it makes more noise."""
        return self.factor > 1.0


_PASCHEN = "Paschen's law, from memory; usual value common practice, no source"


def stronger(
    plain_plug: bool = False,
    solid_lead: bool = False,
    gap_m: float | None = None,
    boost_bar: float | None = None,
    usual_gap_m: float = 0.8e-3,
) -> tuple[Influence, ...]:
    """What makes the breakdown of one plug stronger or weaker than usual.

    Solid lead 10 times; plain plug 3.2 times, 3 times beside a solid lead, so that both together make 30; the gap as
    its ratio to the usual one; boost ``1 + boost`` times, as its absolute pressure. A gap that is the usual one and a
    boost of nothing are no influences.

    Parameters
    ----------
    plain_plug, solid_lead : bool
        Whether plug and lead are without resistance.
    gap_m : float or None
        Spark gap, m; None where it is not known, which counts as usual.
    boost_bar : float or None
        Pressure in the inlet above that outside, bar. Acts in the operating states that the boost is there in.
    usual_gap_m : float
        Gap that the usual rate of change goes with, m.

    Returns
    -------
    tuple of Influence
        In this order: solid lead, plain plug, gap, boost; empty when all is as usual.

    Raises
    ------
    ValueError
        For gaps that are not above zero and a boost that is negative.
    """
    _positive(usual_gap_m, "usual gap", "m")
    found: list[Influence] = []
    if solid_lead:
        effect = "no resistance in the lead limits the current of the breakdown"
        found.append(Influence("solid lead", SOLID_LEAD_FACTOR, effect, "suppressed lead"))
    if plain_plug:
        factor = UNSUPPRESSED_FACTOR / SOLID_LEAD_FACTOR if solid_lead else PLAIN_PLUG_FACTOR
        effect = "no resistor in the plug limits the current of the breakdown"
        found.append(Influence("plain plug", factor, effect, "resistor plug"))
    if gap_m is not None:
        _positive(gap_m, "gap", "m")
        if not math.isclose(gap_m, usual_gap_m, rel_tol=1e-9):
            effect = "the breakdown voltage goes with the gap"
            found.append(Influence("gap", gap_m / usual_gap_m, effect, "usual gap", gap_m, usual_gap_m, _PASCHEN))
    if boost_bar is not None:
        _from_zero(boost_bar, "boost", "bar")
        if boost_bar > 0.0:
            effect = "the breakdown voltage goes with the pressure at the plug"
            found.append(Influence("boost", 1.0 + boost_bar, effect, "no boost", boost_bar, 0.0, _PASCHEN))
    return tuple(found)


def breakdown_factor(influences: Iterable[Influence]) -> float:
    """Product of the factors; 1 where there are none. For `Edge.times` of the breakdown."""
    return math.prod(each.factor for each in influences)


def _positive(value: float, what: str, unit: str) -> None:
    if not (math.isfinite(value) and value > 0.0):
        raise ValueError(f"{value:g} {unit} is no {what}: give a number above zero")


def _from_zero(value: float, what: str, unit: str) -> None:
    if not (math.isfinite(value) and value >= 0.0):
        raise ValueError(f"{value:g} {unit} is no {what}: give zero or a positive number".replace("  ", " "))
