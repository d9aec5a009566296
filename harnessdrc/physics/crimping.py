"""Sizes for crimps: how much copper a label may stand for, and the size that several wires in one crimp make.

Several wires in one contact: "add circular mil areas, use the next larger size" (NASA-STD-8739.4, pages 53 and 69 to
71, read). What holds for circular mils holds for square millimetres: both are areas.

A metric label stands for less copper than it says: the resistances that ISO 6722 allows make 0.87 to 1.02 of the
nominal area (1.7241e-8 ohm m over the table's maxima; computed). A gauge is a diameter, and ASTM B258 keeps its area
within some two per cent (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from harnessdrc.physics.conductor import awg_area_mm2, metric_sizes_mm2

__all__ = ["AWG_COPPER", "METRIC_COPPER", "copper_range_mm2", "joined_awg", "joined_mm2"]

METRIC_COPPER = (0.87, 1.05)
"""Least and most copper of a metric cable, as a part of its nominal area."""
AWG_COPPER = (0.98, 1.02)
"""Least and most copper of a gauge, as a part of its area by ASTM B258."""

_DOUBTFUL_MM2 = frozenset({5.0, 20.0, 30.0})
"""Sizes of the table that the trade hardly has."""
_TRADE_AWG = (*range(40, 0, -2), 1, 0, -1, -2, -3)
"""Gauges that wire and contacts are sold in, rising by area; 0 is 1/0, -3 is 4/0."""
_SAME = 1e-6
"""A sum that is a size but for rounding is that size."""


def copper_range_mm2(csa_mm2: float | None, awg: int | None) -> tuple[float, float]:
    """Least and most copper that a label stands for, mm².

    Parameters
    ----------
    csa_mm2 : float or None
        Nominal cross-section of a metric label, mm².
    awg : int or None
        Gauge number of an American one; 0 is 1/0. One of the two is given.

    Raises
    ------
    ValueError
        For no label, an area that is not above zero, or a gauge outside 4/0 to 40.
    """
    if awg is not None:
        area = awg_area_mm2(awg)
        return area * AWG_COPPER[0], area * AWG_COPPER[1]
    if csa_mm2 is None or not (math.isfinite(csa_mm2) and csa_mm2 > 0.0):
        raise ValueError("a label has a cross-section above zero in mm², or a gauge")
    return csa_mm2 * METRIC_COPPER[0], csa_mm2 * METRIC_COPPER[1]


def joined_mm2(areas_mm2: Iterable[float]) -> float | None:
    """Metric size that wires in one crimp make together: the smallest standard size that has the sum of their areas.

    Parameters
    ----------
    areas_mm2 : iterable of float
        One for each wire, mm²: nominal ones, or the areas of gauges.

    Returns
    -------
    float or None
        Standard size, mm²; None for more than the largest.
    """
    total = math.fsum(areas_mm2)
    sizes = (size for size in sorted(metric_sizes_mm2()) if size not in _DOUBTFUL_MM2)
    return next((size for size in sizes if size >= total * (1.0 - _SAME)), None)


def joined_awg(areas_mm2: Iterable[float]) -> int | None:
    """Gauge that wires in one crimp make together: the smallest that has the sum of their areas; as `joined_mm2`.

    Two of 20 AWG have 2 x 1022 circular mils; 18 AWG has 1620, so the next larger one is 16 AWG with 2583.
    """
    total = math.fsum(areas_mm2)
    return next((awg for awg in _TRADE_AWG if awg_area_mm2(awg) >= total * (1.0 - _SAME)), None)
