"""Resistance and area of a conductor from its label."""

from __future__ import annotations

from harnessdrc.physics.conductor import awg_area_mm2, awg_conductor, metric_conductor
from harnessdrc.units import Size

__all__ = ["conductor_mm2", "wire_ohm"]


def wire_ohm(size: Size | None, length_m: float | None, t_degc: float) -> float | None:
    """Resistance of a wire in Ω, by ISO 6722 (metric) or ASTM B258 (AWG).

    None without its size or length, or for a size that no table or formula covers.
    """
    if size is None or length_m is None:
        return None
    try:
        if size.awg is not None:
            return awg_conductor(size.awg).ohm_per_m(t_degc) * length_m
        if size.csa_mm2 is not None:
            return metric_conductor(size.csa_mm2).ohm_per_m(t_degc) * length_m
    except ValueError:
        return None
    return None


def conductor_mm2(size: Size | None) -> float:
    """Area of a conductor for comparing sizes, mm²; 0 when it is not given or out of range."""
    if size is None:
        return 0.0
    try:
        return awg_area_mm2(size.awg) if size.awg is not None else size.csa_mm2 or 0.0
    except ValueError:
        return 0.0
