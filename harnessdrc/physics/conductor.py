"""Resistance of copper conductors, from their size as labelled and their temperature.

Metric road-vehicle cable takes the maximum of ISO 6722 for its nominal cross-section; a cross-section
that the table does not have is taken as copper of that area, lengthened by the lay of its strands.
American gauges take the diameter of ASTM B258. One system is never converted into the other: a gauge
sold under a metric trade label may have a fifth less copper than the label says. Limits for building
wire (IEC 60228) are wider than those of road-vehicle cable and are not used here.

Gauged road-vehicle cable to SAE J1128 is commonly stranded with some 7 % less copper than ASTM B258
gives its gauge (sizes 16 to 8); these functions do not add that.
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from harnessdrc.datafiles import rulesets_folder
from harnessdrc.errors import FileUnreadableError

__all__ = [
    "AWG_LAY_FACTOR",
    "COPPER_OHM_M",
    "COPPER_PER_K",
    "METRIC_LAY_FACTOR",
    "Conductor",
    "ConductorSource",
    "awg_area_mm2",
    "awg_conductor",
    "awg_diameter_mm",
    "awg_ohm_per_m",
    "copper_ohm_per_m",
    "metric_cable_ohm_per_m",
    "metric_conductor",
    "metric_sizes_mm2",
    "temperature_factor",
    "voltage_drop_v",
]

COPPER_OHM_M = 1.7241e-8
"""Resistivity of annealed copper at 20 °C, Ω·m: the International Annealed Copper Standard, 1/58 Ω·mm²/m
(read in notes that quote NBS Handbook 100)."""

COPPER_PER_K = 0.00393
"""Temperature coefficient of resistance of annealed copper at 20 °C, 1/K (IEC 60028, from memory; AC 43.13-1B
p. 11-22, read, uses 254.5/(234.5 + t), which is 0.003929)."""

AWG_LAY_FACTOR = 1.02
"""Length of a strand over length of the conductor, concentric stranding (ASTM B8, from memory)."""

METRIC_LAY_FACTOR = 1.08
"""The same for fine-stranded cable of a size that ISO 6722 does not tabulate: the upper end of 1.05 to 1.08,
read for IEC 60228 classes 5 and 6; the tabulated sizes stand at 1.03 to 1.14, half of them below 1.08."""

_TABLE = "iso6722_copper.csv"
_NOMINAL_TOLERANCE = 1e-3
_COLDEST_DEGC = 20.0 - 1.0 / COPPER_PER_K


@dataclass(frozen=True, slots=True)
class ConductorSource:
    """Where a resistance comes from, so that a finding can cite it.

    Parameters
    ----------
    method : {"iso6722", "resistivity", "astm_b258"}
        Table row, copper of the stated area, or gauge formula.
    basis : str
        The table or formula in words, for a report.
    source : str
        Publication, and whether it was read or is from memory.
    doubt : str
        Why the figure should be confirmed with the cable's data sheet; empty when there is no reason.
    """

    method: Literal["iso6722", "resistivity", "astm_b258"]
    basis: str
    source: str
    doubt: str = ""


@dataclass(frozen=True, slots=True)
class Conductor:
    """A copper conductor: its resistance, its area and where both come from.

    Parameters
    ----------
    ohm_per_m_20degc : float
        Resistance per metre at 20 °C, Ω/m.
    area_mm2 : float
        Nominal cross-section (metric) or area of the solid gauge (AWG), mm².
    source : ConductorSource
        Table or formula.
    """

    ohm_per_m_20degc: float
    area_mm2: float
    source: ConductorSource

    def ohm_per_m(self, t_degc: float = 20.0) -> float:
        """Resistance per metre at `t_degc`, Ω/m."""
        return self.ohm_per_m_20degc * temperature_factor(t_degc)


@lru_cache(maxsize=1024)
def temperature_factor(t_degc: float) -> float:
    """Resistance of copper at `t_degc` over that at 20 °C: ``1 + 0.00393 (t - 20)``.

    Raises
    ------
    ValueError
        For a temperature that is not a number, or at or below -234 °C, where the line reaches zero.
    """
    if not math.isfinite(t_degc) or t_degc <= _COLDEST_DEGC:
        raise ValueError(
            f"{t_degc:g} °C is no temperature of a copper conductor: give one above {_COLDEST_DEGC:.0f} °C"
        )
    return 1.0 + COPPER_PER_K * (t_degc - 20.0)


def copper_ohm_per_m(area_mm2: float, lay_factor: float = 1.0, t_degc: float = 20.0) -> float:
    """Resistance of a copper conductor from its metal area, Ω/m.

    ``1.7241e-8 Ω·m × lay factor / area × temperature factor``.

    Parameters
    ----------
    area_mm2 : float
        Metal area square to the strands, mm².
    lay_factor : float
        Length of a strand over length of the conductor, 1 for a solid wire.
    t_degc : float
        Conductor temperature, °C.

    Raises
    ------
    ValueError
        For an area that is not a positive number, or a lay factor below 1.
    """
    _positive(area_mm2, "cross-section", "mm²")
    if not math.isfinite(lay_factor) or lay_factor < 1.0:
        raise ValueError(f"{lay_factor:g} is no lay factor: strands are at least as long as their conductor")
    return COPPER_OHM_M * lay_factor / (area_mm2 * 1e-6) * temperature_factor(t_degc)


def metric_sizes_mm2() -> tuple[float, ...]:
    """Nominal cross-sections that the shipped ISO 6722 table has, ascending, mm²."""
    return tuple(_iso6722())


@lru_cache(maxsize=1024)
def metric_conductor(csa_mm2: float) -> Conductor:
    """Plain copper road-vehicle cable of a nominal cross-section.

    Parameters
    ----------
    csa_mm2 : float
        Nominal cross-section, mm². A tabulated size is meant when it agrees to 0.1 %.

    Returns
    -------
    Conductor
        With the ISO 6722 maximum for a tabulated size, else ``1.7241e-8 × 1.08 / area``.

    Raises
    ------
    ValueError
        For a cross-section that is not a positive number.
    FileUnreadableError
        When the shipped table is missing or damaged.
    """
    _positive(csa_mm2, "cross-section", "mm²")
    table = _iso6722()
    nominal = min(table, key=lambda size_mm2: abs(size_mm2 - csa_mm2))
    if abs(nominal - csa_mm2) <= _NOMINAL_TOLERANCE * nominal:
        return table[nominal]
    return Conductor(
        copper_ohm_per_m(csa_mm2, METRIC_LAY_FACTOR),
        csa_mm2,
        ConductorSource(
            "resistivity",
            f"{csa_mm2:g} mm² is not tabulated: copper of that area, 0.017241 Ω·mm²/m, lay factor "
            f"{METRIC_LAY_FACTOR:g}",
            "International Annealed Copper Standard; lay factor read for IEC 60228 classes 5 and 6",
        ),
    )


def metric_cable_ohm_per_m(csa_mm2: float, t_degc: float = 20.0) -> float:
    """Resistance of plain copper road-vehicle cable, Ω/m; see `metric_conductor`."""
    return metric_conductor(csa_mm2).ohm_per_m(t_degc)


def awg_diameter_mm(awg: int) -> float:
    """Diameter of a solid gauge by ASTM B258, mm: ``0.127 × 92^((36 - n)/39)``.

    Parameters
    ----------
    awg : int
        Gauge number; 0 is 1/0, -1 is 2/0, -2 is 3/0, -3 is 4/0.

    Raises
    ------
    ValueError
        For a gauge outside 4/0 to 40, or one that is no whole number.
    """
    if awg != awg or awg != int(awg) or not -3 <= awg <= 40:
        raise ValueError(
            f"{awg} is no gauge between 4/0 and 40: give a whole number, with 0 for 1/0 and -3 for 4/0"
        )
    return float(0.127 * 92.0 ** ((36 - awg) / 39))


def awg_area_mm2(awg: int) -> float:
    """Area of a solid gauge by ASTM B258, mm²; errors as `awg_diameter_mm`."""
    return math.pi / 4.0 * awg_diameter_mm(awg) ** 2


@lru_cache(maxsize=128)
def awg_conductor(awg: int, stranded: bool = True) -> Conductor:
    """Plain copper conductor of an American gauge; errors as `awg_diameter_mm`.

    Parameters
    ----------
    awg : int
        Gauge number; 0 is 1/0, -3 is 4/0.
    stranded : bool
        Adds the lay factor 1.02 of concentric stranding.
    """
    area_mm2 = awg_area_mm2(awg)
    lay = f"stranded, lay factor {AWG_LAY_FACTOR:g}" if stranded else "solid"
    return Conductor(
        copper_ohm_per_m(area_mm2, AWG_LAY_FACTOR if stranded else 1.0),
        area_mm2,
        ConductorSource(
            "astm_b258",
            f"gauge diameter 0.127 mm × 92^((36 - n)/39), copper 0.017241 Ω·mm²/m, {lay}",
            "ASTM B258 and B8, from memory, checked against wire tables that were read",
        ),
    )


def awg_ohm_per_m(awg: int, t_degc: float = 20.0, stranded: bool = True) -> float:
    """Resistance of a plain copper gauge, Ω/m; see `awg_conductor`."""
    return awg_conductor(awg, stranded).ohm_per_m(t_degc)


def voltage_drop_v(ohm_per_m: float, length_m: float, current_a: float) -> float:
    """Voltage lost along a conductor, V, with the sign of the current.

    Raises
    ------
    ValueError
        For a resistance or length that is negative or not a number, or a current that is not a number.
    """
    for value, what in ((ohm_per_m, "resistance per metre"), (length_m, "length")):
        if not math.isfinite(value) or value < 0:
            raise ValueError(f"{value:g} is no {what}: give zero or a positive number")
    if not math.isfinite(current_a):
        raise ValueError(f"{current_a:g} is no current: give a number of amperes")
    return ohm_per_m * length_m * current_a


def _positive(value: float, what: str, unit: str) -> None:
    if not math.isfinite(value) or value <= 0:
        raise ValueError(f"{value:g} {unit} is no {what}: give a number above zero")


@lru_cache(maxsize=1)
def _iso6722() -> dict[float, Conductor]:
    """Rows of the shipped table by nominal cross-section, ascending."""
    path = rulesets_folder() / "tables" / _TABLE
    table: dict[float, Conductor] = {}
    try:
        with path.open(encoding="utf-8", newline="") as file:
            for row in csv.DictReader(file):
                csa_mm2 = float(row["csa_mm2"])
                table[csa_mm2] = Conductor(
                    float(row["max_plain_mohm_per_m"]) * 1e-3,
                    csa_mm2,
                    ConductorSource(
                        "iso6722",
                        f"ISO 6722 maximum for {csa_mm2:g} mm² plain copper",
                        row["source"],
                        row["doubt"],
                    ),
                )
    except (OSError, ValueError, KeyError, TypeError, csv.Error) as error:
        raise FileUnreadableError(
            f"the shipped table of conductor resistances cannot be read ({error}).",
            file=str(path),
            remedy="Install harnessdrc again.",
        ) from error
    if not table:
        raise FileUnreadableError(
            "the shipped table of conductor resistances is empty.",
            file=str(path),
            remedy="Install harnessdrc again.",
        )
    return dict(sorted(table.items()))
