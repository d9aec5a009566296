"""Resistance and area of a conductor from its label."""

from __future__ import annotations

from harnessdrc.physics.conductor import Conductor, awg_conductor, metric_conductor
from harnessdrc.units import Size

__all__ = ["conductor_mm2", "conductor_source", "wire_ohm"]


def _conductor(size: Size) -> Conductor | None:
    try:
        if size.awg is not None:
            return awg_conductor(size.awg)
        if size.csa_mm2 is not None:
            return metric_conductor(size.csa_mm2)
    except ValueError:
        return None
    return None


def wire_ohm(size: Size | None, length_m: float | None, t_degc: float) -> float | None:
    """Resistance of a wire in Ω, by ISO 6722 (metric) or ASTM B258 (AWG).

    None without its size or length, or for a size that no table or formula covers.
    """
    conductor = _conductor(size) if size is not None and length_m is not None else None
    return conductor.ohm_per_m(t_degc) * length_m if conductor and length_m is not None else None


def conductor_source(size: Size | None) -> str:
    """Table or formula that the resistance of a size comes from, with its doubt; empty without one."""
    conductor = _conductor(size) if size is not None else None
    if conductor is None:
        return ""
    source = conductor.source
    return "; ".join(filter(None, (source.basis, source.source, source.doubt)))


def conductor_mm2(size: Size | None) -> float:
    """Area of a conductor for comparing sizes, mm²; 0 when it is not given or out of range."""
    conductor = _conductor(size) if size is not None else None
    return conductor.area_mm2 if conductor else 0.0
