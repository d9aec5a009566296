"""How far a shield round a pair of wires reduces what a magnetic field induces in them.

A shield of copper or aluminium reduces a magnetic field only by the currents that the field drives in it: little
at low frequency, and at high frequency as much as seams and the holes of a braid let it. Connected at one end it is a
shield against electric fields only, so for the usual figure nothing of it is counted. Connected at both ends its own
loop with ground carries a current that cancels the flux from some five times a cut-off frequency on, but then it is
a ground wire and carries the currents of the ground network as well. Steel draws the field into itself: that works
down to steady fields.

Every tube here is thin against its radius and lies across the field; saturation is left out. All of it holds
for runs much shorter than a tenth of the wavelength, and for magnetic fields only: what a plug lead couples in by
its electric field is another matter.

Sources: skin depth, thin tube in a field across it, ``|1 + jωμ₀σ a t / 2|``, and ``1 + μr t / (2 a)`` for a steady
field: field theory, common textbooks, from memory. Materials: ``rulesets/tables/shield_materials.csv``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

from harnessdrc.physics.shipped_tables import shipped_rows

__all__ = [
    "ALUMINIUM",
    "COPPER",
    "MILD_STEEL",
    "MU_0_H_PER_M",
    "SHIELD_NAMES",
    "Metal",
    "ShieldMaterial",
    "counted_db",
    "magnetic_tube_db",
    "quasi_static_below_hz",
    "shield_cutoff_hz",
    "shield_inductance_h_per_m",
    "shield_material",
    "shield_materials",
    "shield_reduction_db",
    "skin_depth_m",
    "tube_reduction_db",
]

MU_0_H_PER_M = 4e-7 * math.pi
"""Permeability of space, H/m."""
LIGHT_M_PER_S = 299_792_458.0
"""Speed of light, m/s."""
SHIELD_NAMES = ("copper braid", "aluminium foil", "steel braid", "steel conduit")
"""Materials that the shipped table has."""


def _positive(value: float, what: str, unit: str) -> None:
    if not (math.isfinite(value) and value > 0.0):
        raise ValueError(f"{value:g} {unit} is no {what}: give a number above zero")


@dataclass(frozen=True, slots=True)
class Metal:
    """A metal as a magnetic field meets it.

    Parameters
    ----------
    conductivity_s_per_m : float
        S/m, above zero.
    relative_permeability : float
        μr, 1 or more.

    Raises
    ------
    ValueError
        For numbers outside these bounds.
    """

    conductivity_s_per_m: float
    relative_permeability: float = 1.0

    def __post_init__(self) -> None:
        _positive(self.conductivity_s_per_m, "conductivity", "S/m")
        if not (math.isfinite(self.relative_permeability) and self.relative_permeability >= 1.0):
            raise ValueError(f"{self.relative_permeability:g} is no relative permeability: give 1 or more")

    @property
    def magnetic(self) -> bool:
        """Whether it draws a steady field into itself."""
        return self.relative_permeability > 1.0


COPPER = Metal(5.8e7)
"""Copper at 20 °C (the International Annealed Copper Standard)."""
ALUMINIUM = Metal(3.5e7)
"""Aluminium as used for foil (from memory)."""
MILD_STEEL = Metal(6e6, 200.0)
"""Mild steel in a weak field; its permeability is 100 to 1,000 (from memory)."""


@dataclass(frozen=True, slots=True)
class ShieldMaterial:
    """A shield as looms have it.

    Parameters
    ----------
    name : str
        One of `SHIELD_NAMES`.
    metal : Metal
        Taken as a closed tube: a braid conducts less than its metal.
    radius_m, wall_m : float
        Mean radius and thickness of the tube, m.
    most_db : float
        Most that is believed of it at any frequency, dB: holes, seams, open ends.
    source : str
        Whose word these figures are.

    Raises
    ------
    ValueError
        For numbers that are not above zero, and for a wall that is not thin: more than half of the radius.
    """

    name: str
    metal: Metal
    radius_m: float
    wall_m: float
    most_db: float
    source: str

    def __post_init__(self) -> None:
        _tube(self.radius_m, self.wall_m)
        _positive(self.most_db, "greatest reduction", "dB")


def skin_depth_m(f_hz: float, metal: Metal) -> float:
    """Depth at which a field in a metal has fallen to 1/e, m: ``√(1 / (π f μ σ))``.

    Raises
    ------
    ValueError
        For a frequency that is not above zero.
    """
    _positive(f_hz, "frequency", "Hz")
    permeability = MU_0_H_PER_M * metal.relative_permeability
    return math.sqrt(1.0 / (math.pi * f_hz * permeability * metal.conductivity_s_per_m))


def tube_reduction_db(f_hz: float, metal: Metal, radius_m: float, wall_m: float) -> float:
    """Reduction of an alternating field across a closed thin tube by the currents in it, dB.

    ``20 log10 |1 + j ω μ₀ σ a t / 2|``, without what a magnetic metal does besides (`magnetic_tube_db`). Where the
    wall is thicker than the skin depth a closed tube does better than this.

    Parameters
    ----------
    f_hz : float
        Frequency, from 0, Hz.
    metal : Metal
        Of the tube.
    radius_m, wall_m : float
        Mean radius a and thickness t, m.

    Raises
    ------
    ValueError
        For a negative frequency, and for a tube that is none or not thin (wall above half of the radius).
    """
    return 20.0 * math.log10(math.hypot(1.0, _eddy(f_hz, metal, radius_m, wall_m)))


def magnetic_tube_db(metal: Metal, radius_m: float, wall_m: float) -> float:
    """Reduction of a steady field across a thin tube of magnetic metal, dB: ``20 log10 (1 + μr t / (2 a))``.

    0 for a metal that is not magnetic. Saturation and seams are left out. Parameters and errors as
    `tube_reduction_db`.
    """
    return 20.0 * math.log10(1.0 + _drawn(metal, radius_m, wall_m))


def shield_reduction_db(material: str, f_hz: float) -> float:
    """Best that a shield of a loom does against a magnetic field, dB.

    The closed thin tube, ``20 log10 |1 + μr t / (2 a) + j ω μ₀ σ a t / 2|`` with the second term for magnetic metals
    only, and no more than `ShieldMaterial.most_db`: for braids and foils 20 dB, since holes and seams let the field in
    where the formula would go on rising. For the best case; `counted_db` is what to count on.

    Parameters
    ----------
    material : str
        One of `SHIELD_NAMES`.
    f_hz : float
        Frequency, from 0, Hz; of an edge `harnessdrc.physics.discharge.Edge.corner_hz`.

    Raises
    ------
    ValueError
        For another material or a negative frequency.
    FileUnreadableError
        When the shipped table is missing or damaged.
    """
    tube = shield_material(material)
    drawn = _drawn(tube.metal, tube.radius_m, tube.wall_m)
    eddy = _eddy(f_hz, tube.metal, tube.radius_m, tube.wall_m)
    return min(20.0 * math.log10(math.hypot(1.0 + drawn, eddy)), tube.most_db)


def counted_db(material: str) -> float:
    """What to count on from a shield of a loom against a magnetic field at any frequency, dB.

    0 for copper and aluminium: connected at one end, as a sensor's shield is, they are a shield against electric
    fields only. For steel the figure for a steady field, and no more than `ShieldMaterial.most_db`.

    Parameters and errors as `shield_reduction_db`.
    """
    tube = shield_material(material)
    return min(magnetic_tube_db(tube.metal, tube.radius_m, tube.wall_m), tube.most_db)


def shield_inductance_h_per_m(radius_m: float, height_m: float) -> float:
    """Inductance of a shield with the metal it runs over, H/m: ``μ₀ / 2π × ln(2 h / a)``.

    Parameters
    ----------
    radius_m : float
        Of the shield, m.
    height_m : float
        Of its middle above the metal, m; several times the radius for the formula to hold.

    Raises
    ------
    ValueError
        For numbers that are not above zero, and for a shield that would dip into the metal.
    """
    _positive(radius_m, "radius", "m")
    _positive(height_m, "height", "m")
    if height_m < radius_m:
        raise ValueError(f"{height_m:g} m is no height of a shield of {radius_m:g} m radius: give its radius or more")
    return MU_0_H_PER_M / (2.0 * math.pi) * math.log(2.0 * height_m / radius_m)


def shield_cutoff_hz(ohm_per_m: float, h_per_m: float) -> float:
    """Frequency where resistance and reactance of a shield are equal, Hz: ``R / (2π L)``.

    A shield connected at both ends cancels magnetic flux from about five times this frequency on.

    Raises
    ------
    ValueError
        For numbers that are not above zero.
    """
    _positive(ohm_per_m, "resistance per metre", "Ω/m")
    _positive(h_per_m, "inductance per metre", "H/m")
    return ohm_per_m / (2.0 * math.pi * h_per_m)


def quasi_static_below_hz(run_m: float) -> float:
    """Frequency at which a run is a tenth of the wavelength, Hz; these formulas hold well below it.

    Raises
    ------
    ValueError
        For a run that is not above zero.
    """
    _positive(run_m, "run", "m")
    return LIGHT_M_PER_S / (10.0 * run_m)


def shield_material(name: str) -> ShieldMaterial:
    """The shipped figures of a material.

    Raises
    ------
    ValueError
        For a name that the table does not have.
    FileUnreadableError
        When the table is missing or damaged.
    """
    found = shield_materials().get(name)
    if found is None:
        raise ValueError(f"'{name}' is no material of a shield; known are {', '.join(shield_materials())}")
    return found


@lru_cache(maxsize=1)
def shield_materials() -> Mapping[str, ShieldMaterial]:
    """The shipped table by name.

    Raises
    ------
    FileUnreadableError
        When it is missing or damaged.
    """
    with shipped_rows("shield_materials.csv", "shields") as cells:
        rows = [_read(row) for row in cells]
        if tuple(row.name for row in rows) != SHIELD_NAMES:
            raise ValueError(f"expected the materials {', '.join(SHIELD_NAMES)}")
    return MappingProxyType({row.name: row for row in rows})


def _read(row: Mapping[str, str]) -> ShieldMaterial:
    metal = Metal(float(row["conductivity_s_per_m"]), float(row["relative_permeability"]))
    radius_m, wall_m = float(row["radius_mm"]) / 1000.0, float(row["wall_mm"]) / 1000.0
    return ShieldMaterial(row["material"], metal, radius_m, wall_m, float(row["most_db"]), row["source"])


def _eddy(f_hz: float, metal: Metal, radius_m: float, wall_m: float) -> float:
    """ω μ₀ σ a t / 2."""
    if not (math.isfinite(f_hz) and f_hz >= 0.0):
        raise ValueError(f"{f_hz:g} Hz is no frequency: give zero or a positive number")
    _tube(radius_m, wall_m)
    return 2.0 * math.pi * f_hz * MU_0_H_PER_M * metal.conductivity_s_per_m * radius_m * wall_m / 2.0


def _drawn(metal: Metal, radius_m: float, wall_m: float) -> float:
    """μr t / (2 a); nothing for a metal that is not magnetic, of which the thin-tube formula would leave t / (2 a)."""
    _tube(radius_m, wall_m)
    return metal.relative_permeability * wall_m / (2.0 * radius_m) if metal.magnetic else 0.0


def _tube(radius_m: float, wall_m: float) -> None:
    _positive(radius_m, "radius", "m")
    _positive(wall_m, "wall", "m")
    if wall_m > radius_m / 2.0:
        raise ValueError(f"{wall_m:g} m is no wall of a thin tube of {radius_m:g} m radius: give half of it at most")
