"""Resistance and area of a conductor from its label."""

from __future__ import annotations

from collections.abc import Mapping

from harnessdrc.physics.conductor import Conductor, awg_conductor, metric_conductor
from harnessdrc.units import Size

__all__ = ["conductor_mm2", "conductor_source", "copper_ohm", "wire_ohm"]


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


def copper_ohm(
    size: Size | None, length_m: float | None, given: Mapping[str, float]
) -> tuple[float, float, float]:
    """Resistance of a conductor at the given temperature, Ω: as usual, at the least, at the most.

    All equal where size and length are known; the given values for a lacking one stand in.
    """
    t_degc = given["conductor_degc"]
    if (ohm := wire_ohm(size, length_m, t_degc)) is not None:
        return ohm, ohm, ohm
    found = []
    for which, at in (("usual", "usual"), ("high", "low"), ("low", "high")):
        of_size = size or Size("", "mm2", csa_mm2=given[f"missing_size_{which}_mm2"])
        metres = given[f"missing_length_{at}_m"] if length_m is None else length_m
        found.append(wire_ohm(of_size, metres, t_degc) or 0.0)
    return found[0], found[1], found[2]


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
