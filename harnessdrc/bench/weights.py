"""What a metre of insulated wire weighs.

Copper: metal area × 8.89 g/cm³ × lay factor (`harnessdrc.physics.bundles`); the metal of a metric size is its nominal
cross-section, of a gauge that of ASTM B258. Insulation is an estimate: the ring between the conductor, whose strands
fill `FILL` of their circle, and the outer diameter, times the density of the insulation. With 1.35 g/cm³ (plasticised
PVC, common practice) this lies within some 7 % of thin-wall data sheets from 0.35 to 6 mm² (from memory); cross-linked
and fluoropolymer insulations differ by up to half of the insulation's share.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import NamedTuple

from harnessdrc.design.conductors import conductor_mm2
from harnessdrc.physics.bundles import awg_outer_diameter, conductor_kg_per_m, metric_outer_diameter
from harnessdrc.units import Size

__all__ = ["FILL", "Weight", "outer_mm", "weight"]

FILL = 0.65
"""Part of the circle round a stranded conductor that is metal: 7 round strands fill 0.78, finely bunched ones less
(common practice)."""
_WALL_MM = 0.25
"""Insulation of a size that no table of outer diameters has."""


class Weight(NamedTuple):
    """Mass of a metre: its copper, and all of it as estimated, g/m."""

    copper_g_per_m: float
    cable_g_per_m: float


def conductor_circle_mm(area_mm2: float) -> float:
    """Diameter of the circle round a stranded conductor of a metal area, mm."""
    return math.sqrt(4.0 * area_mm2 / (math.pi * FILL))


@lru_cache(maxsize=1024)
def outer_mm(size: Size) -> float | None:
    """Outer diameter of a wire by its size, mm; None for a size that is none."""
    area_mm2 = conductor_mm2(size)
    if not area_mm2:
        return None
    found = awg_outer_diameter(size.awg) if size.awg is not None else metric_outer_diameter(area_mm2)
    return found.mm if found is not None else conductor_circle_mm(area_mm2) + 2.0 * _WALL_MM


@lru_cache(maxsize=1024)
def weight(size: Size, insulation_g_cm3: float, over_mm: float | None = None) -> Weight | None:
    """Mass of a metre of wire.

    Parameters
    ----------
    size : Size
        As labelled.
    insulation_g_cm3 : float
        Density of the insulation, g/cm³.
    over_mm : float, optional
        Outer diameter by the parts table, mm; without one that of usual cable of its size.

    Returns
    -------
    Weight or None
        None for a size that no table or formula covers.
    """
    area_mm2, outer = conductor_mm2(size), over_mm or outer_mm(size)
    if not area_mm2 or outer is None:
        return None
    copper_g = conductor_kg_per_m(area_mm2) * 1000.0
    ring_mm2 = max(0.0, math.pi / 4.0 * (outer**2 - conductor_circle_mm(area_mm2) ** 2))
    return Weight(copper_g, copper_g + ring_mm2 * insulation_g_cm3)
