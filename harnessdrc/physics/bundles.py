"""How thick a bundle of wires is, how tightly it may be bent, and what its copper weighs.

Diameter: the rule of the trade ``D = 1.2 √(Σ d²)`` (read on calculator pages, no standard behind it). It falls below
what geometry allows for 2 to 6 equal wires and again, by less than half a per cent, for 9 and 10, so it is never taken
below the closest packing of the wires. Outer diameters: ``rulesets/tables/outer_diameters.csv``, thin-wall metric
cable and medium-wall American cable; each row says read or from memory.

Bend radii: 10 times the outer diameter of the largest wire in a bundle, 3 times where it is supported at a terminal
(AC 43.13-1B, from memory); a cable with several conductors at least 6 times its own diameter, 10 times for long
service (NASA workmanship book 4, section 4.03, read). Copper: 8.89 g/cm³ (read).
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from harnessdrc.physics.conductor import AWG_LAY_FACTOR, awg_area_mm2
from harnessdrc.physics.shipped_tables import positive_number, read_table

__all__ = [
    "BEND_BUNDLE",
    "BEND_BUNDLE_AT_TERMINAL",
    "BEND_CABLE",
    "BEND_CABLE_LONG_SERVICE",
    "COPPER_KG_PER_M_MM2",
    "LOOSE_PACK",
    "OuterDiameter",
    "awg_outer_diameter",
    "bundle_diameter_mm",
    "closest_pack_mm",
    "conductor_kg_per_m",
    "equal_pack_ratio",
    "least_bend_radius_mm",
    "metric_outer_diameter",
]

LOOSE_PACK = 1.2
"""Diameter of a bundle over the root of the sum of its wires' squared diameters."""
COPPER_KG_PER_M_MM2 = 8.89e-3
"""Copper of 1 mm² and 1 m, kg: 8.89 g/cm³ at 20 °C."""
BEND_BUNDLE = 10.0
"""Least bend radius of a bundle over the outer diameter of its largest wire."""
BEND_BUNDLE_AT_TERMINAL = 3.0
"""The same where the bundle is supported at a terminal."""
BEND_CABLE = 6.0
"""Least bend radius of a cable of several conductors over its own outer diameter."""
BEND_CABLE_LONG_SERVICE = 10.0
"""The same for long service."""

_PACKS = (
    1.0, 2.0, 1.0 + 2.0 / math.sqrt(3.0), 1.0 + math.sqrt(2.0), 1.0 + math.sqrt(2.0 + 2.0 / math.sqrt(5.0)), 3.0, 3.0,
    1.0 + 1.0 / math.sin(math.pi / 7.0), 1.0 + math.sqrt(4.0 + 2.0 * math.sqrt(2.0)), 3.813025,
    1.0 + 1.0 / math.sin(math.pi / 9.0), 4.029601, 2.0 + math.sqrt(5.0),
)  # fmt: skip
"""Diameter round 1 to 13 equal circles, proven least; those of 10 and 12 rounded down (found again numerically)."""
_PACK_19 = 1.0 + math.sqrt(2.0) + math.sqrt(6.0)
"""Round 19, proven least."""
_DENSEST = math.pi / math.sqrt(12.0)
"""Part of the area that equal circles cover at most."""
_NOMINAL_TOLERANCE = 1e-3
_BEYOND = 0.05
"""By how much an area may lie outside the table and still be judged by its last two rows (26 AWG against 0.13 mm²)."""


@dataclass(frozen=True, slots=True)
class OuterDiameter:
    """Outer diameter of an insulated wire.

    Parameters
    ----------
    mm : float
        Over the insulation, mm.
    kind : str
        "maximum", "nominal", or "between sizes" for one that the table does not have.
    doubt : str
        Why the cable's data sheet should confirm it; empty when there is no reason.
    source : str
        Publication, and whether it was read or is from memory.
    """

    mm: float
    kind: str
    doubt: str
    source: str


def equal_pack_ratio(wires: int) -> float:
    """Least diameter of a circle round equal circles, over the diameter of one of them.

    Proven for 1 to 13 and 19. For others a lower bound: the better of the nearest smaller proven number and
    ``√(N / 0.9069)``, since equal circles cover no more than 90.69 % of any circle.

    Parameters
    ----------
    wires : int
        1 or more.

    Raises
    ------
    ValueError
        For less than one.
    """
    if wires < 1:
        raise ValueError(f"{wires} is no number of wires in a bundle: give 1 or more")
    if wires <= len(_PACKS):
        return _PACKS[wires - 1]
    proven = _PACK_19 if wires >= 19 else _PACKS[-1]
    return proven if wires == 19 else max(proven, math.sqrt(wires / _DENSEST))


def closest_pack_mm(outer_diameters_mm: Iterable[float]) -> float:
    """Diameter that no bundle of these wires can be below, mm.

    Exact for up to three wires and for 4 to 13 and 19 equal ones. Otherwise a lower bound, the largest of: the three
    thickest wires touching each other; for each k, k circles as thick as the k-th thickest wire; the sum of all areas.

    Parameters
    ----------
    outer_diameters_mm : iterable of float
        One for each wire, mm, in any order.

    Raises
    ------
    ValueError
        For no wires, and for a diameter that is not above zero.
    """
    thick = sorted(outer_diameters_mm, reverse=True)
    if not thick:
        raise ValueError("a bundle without wires has no diameter: give one wire or more")
    if not (math.isfinite(thick[0]) and all(each > 0.0 for each in thick)):  # nan is not above zero either
        raise ValueError("a wire's outer diameter has to be a number above zero, in mm")
    equal = max(equal_pack_ratio(at) * each for at, each in enumerate(thick, start=1))
    return max(equal, _round_three(*thick[:3]), math.sqrt(math.fsum(each * each for each in thick)))


def bundle_diameter_mm(outer_diameters_mm: Iterable[float]) -> float:
    """Diameter of a bundle as it is laid by hand, without sleeve or tape, mm.

    ``1.2 √(Σ d²)``, no less than `closest_pack_mm`; a single wire has its own diameter. Parameters and errors as there.
    """
    wires = list(outer_diameters_mm)
    least = closest_pack_mm(wires)
    return least if len(wires) == 1 else max(least, LOOSE_PACK * math.sqrt(math.fsum(each * each for each in wires)))


def least_bend_radius_mm(outer_diameter_mm: float, rule: float = BEND_BUNDLE) -> float:
    """Least radius to bend to, mm.

    Parameters
    ----------
    outer_diameter_mm : float
        Of the largest wire of a bundle, or of a cable as a whole, mm.
    rule : float
        Radius over diameter: `BEND_BUNDLE`, `BEND_BUNDLE_AT_TERMINAL`, `BEND_CABLE`, `BEND_CABLE_LONG_SERVICE`, or
        what a data sheet says.

    Raises
    ------
    ValueError
        For numbers that are not above zero.
    """
    return _above_zero(outer_diameter_mm, "outer diameter in mm") * _above_zero(rule, "bend rule")


def conductor_kg_per_m(metal_mm2: float, lay_factor: float = AWG_LAY_FACTOR) -> float:
    """Weight of the copper of a wire, kg/m.

    Parameters
    ----------
    metal_mm2 : float
        Metal area, mm².
    lay_factor : float
        Length of a strand over length of the wire: 1.02 for concentric strands (ASTM B8, from memory), 1 for solid.

    Raises
    ------
    ValueError
        For an area that is not above zero, or a lay factor below 1.
    """
    if not (math.isfinite(lay_factor) and lay_factor >= 1.0):
        raise ValueError(f"{lay_factor:g} is no lay factor: strands are at least as long as their conductor")
    return COPPER_KG_PER_M_MM2 * lay_factor * _above_zero(metal_mm2, "cross-section in mm²")


@lru_cache(maxsize=1024)
def metric_outer_diameter(csa_mm2: float) -> OuterDiameter | None:
    """Outer diameter of thin-wall road-vehicle cable of a nominal cross-section.

    The largest that the table allows for the size; between two sizes straight over the root of the area, with a doubt.

    Parameters
    ----------
    csa_mm2 : float
        Nominal cross-section, mm². A tabulated size is meant when it agrees to 0.1 %.

    Returns
    -------
    OuterDiameter or None
        None outside the table (0.13 to 120 mm²) by more than 5 %.

    Raises
    ------
    ValueError
        For a cross-section that is not above zero.
    FileUnreadableError
        When the shipped table is missing or damaged.
    """
    _above_zero(csa_mm2, "cross-section in mm²")
    for size, _, found in _table()["metric"]:
        if abs(size - csa_mm2) <= _NOMINAL_TOLERANCE * size:
            return found
    return _by_area(csa_mm2, f"{csa_mm2:g} mm²")


@lru_cache(maxsize=128)
def awg_outer_diameter(awg: int) -> OuterDiameter | None:
    """Outer diameter of a gauged wire.

    That of medium-wall cable (GXL, 20 to 8) where the table has the gauge. For others its copper is laid between the
    sizes of metric thin-wall cable, with a doubt: the area is compared, no label is turned into another.

    Parameters
    ----------
    awg : int
        Gauge number; 0 is 1/0, -3 is 4/0.

    Returns
    -------
    OuterDiameter or None
        None for gauges whose copper is outside the table of metric cable: 27 and up.

    Raises
    ------
    ValueError
        For a gauge outside 4/0 to 40.
    FileUnreadableError
        When the shipped table is missing or damaged.
    """
    area_mm2 = awg_area_mm2(awg)
    listed = next((found for size, _, found in _table()["awg"] if size == awg), None)
    return listed or _by_area(area_mm2, f"a gauge of {area_mm2:.3g} mm²")


def _by_area(area_mm2: float, what: str) -> OuterDiameter | None:
    """Between the sizes of metric thin-wall cable, straight over the root of the area: over the diameter of copper."""
    rows = _table()["metric"]
    areas = [metal for _, metal, _ in rows]
    if not areas[0] * (1.0 - _BEYOND) <= area_mm2 <= areas[-1] * (1.0 + _BEYOND):
        return None
    above = min(max(bisect_left(areas, area_mm2), 1), len(rows) - 1)
    lower, upper = rows[above - 1], rows[above]
    part = (math.sqrt(area_mm2) - math.sqrt(lower[1])) / (math.sqrt(upper[1]) - math.sqrt(lower[1]))
    doubt = f"no figure for {what}: laid between thin-wall cable of {lower[0]:g} and {upper[0]:g} mm² by its copper"
    mm = lower[2].mm + part * (upper[2].mm - lower[2].mm)
    return replace(lower[2] if part < 0.5 else upper[2], mm=mm, kind="between sizes", doubt=doubt)


@lru_cache(maxsize=1)
def _table() -> dict[str, list[tuple[float, float, OuterDiameter]]]:
    """By system: size as labelled, metal area in mm², diameter; rising by area."""
    table: dict[str, list[tuple[float, float, OuterDiameter]]] = {"metric": [], "awg": []}
    for system, row in read_table("outer_diameters.csv", "outer diameters", _read):
        table[system].append(row)
    return {system: sorted(rows, key=lambda row: row[1]) for system, rows in table.items()}


def _read(row: Mapping[str, str]) -> tuple[str, tuple[float, float, OuterDiameter]]:
    system = row["system"]
    if system not in ("metric", "awg"):
        raise ValueError(f"expected metric or awg instead of '{system}'")
    found = OuterDiameter(positive_number(row["outer_diameter_mm"]), row["kind"], row["doubt"], row["source"])
    return system, (float(row["size"]), positive_number(row["metal_mm2"]), found)


def _round_three(first: float, second: float = 0.0, third: float = 0.0) -> float:
    """Least circle round the three thickest, falling order: Descartes' circle theorem for the outer circle.

    The third adds nothing while it fits into the gap beside the two others in the circle that they span.
    """
    if second == 0.0 or third == 0.0 or 1.0 / third >= 1.0 / first + 1.0 / second - 1.0 / (first + second):
        return first + second
    a, b, c = 1.0 / first, 1.0 / second, 1.0 / third
    return 1.0 / (2.0 * math.sqrt(a * b + b * c + c * a) - a - b - c)


def _above_zero(value: float, what: str) -> float:
    if not (math.isfinite(value) and value > 0.0):
        raise ValueError(f"{value:g} is no {what}: give a number above zero")
    return value
