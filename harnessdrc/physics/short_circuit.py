"""What a short circuit does to a copper conductor while no heat has time to leave it.

All the heat stays in the copper, so its temperature goes with the integral of the squared current alone:
``I² t = k² S²`` with ``k = 226 √(ln((234.5 + tf) / (234.5 + ti)))`` in A s^½/mm², from ti to tf in °C (formula and
constants of IEC 60949 and IEC 60364-5-54, read on a page that quotes them). It holds to `ADIABATIC_TO_S`; from about
one second on, a thin wire in free air gives off heat that the formula does not count, so its temperature is then an
upper and its time a lower figure. Which temperature an insulation stands for so short a time is a matter of
`harnessdrc.physics.insulation`.

A worked value that goes round for Onderdonk's equation (2,581 circular mils, 5 s, 25 °C: 178 A) has the sign of the
ambient temperature wrong, 234 - t in place of 234 + t; it is 169 A, and this formula gives 168.5 A.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

__all__ = [
    "ADIABATIC_TO_S",
    "COPPER_K",
    "COPPER_MELTS_DEGC",
    "COPPER_RECIPROCAL_DEGC",
    "SOLDERED_JOINT_DEGC",
    "adiabatic_k",
    "current_for_time_a",
    "heated_degc",
    "heated_each_degc",
    "least_csa_mm2",
    "time_to_limit_s",
    "times_to_limit_s",
    "withstand_a2s",
    "withstands_a2s",
]

COPPER_K = 226.0
"""Constant of copper, A s^½/mm² (read): ``√(c (234.5 + 20) / ρ20)`` with its heat per volume and resistivity."""
COPPER_RECIPROCAL_DEGC = 234.5
"""Reciprocal of copper's temperature coefficient at 0 °C, °C (read)."""
ADIABATIC_TO_S = 5.0
"""Longest short circuit that the formula is meant for, s (read); thin wires lose heat well before."""
COPPER_MELTS_DEGC = 1083.0
"""Melting point of copper, °C."""
SOLDERED_JOINT_DEGC = 160.0
"""Most that a soft-soldered joint stands in a short circuit, °C (IEC 60724, from memory), whatever the insulation."""


def adiabatic_k(start_degc: float, limit_degc: float) -> float:
    """k of copper between two temperatures, A s^½/mm².

    Parameters
    ----------
    start_degc, limit_degc : float
        Conductor temperature when the fault begins, and the one it may reach, °C.

    Raises
    ------
    ValueError
        For temperatures that are no numbers or at or below -234.5 °C, and for a limit that is not above the start.
    """
    _temperature(start_degc)
    _temperature(limit_degc)
    if limit_degc <= start_degc:
        raise ValueError(f"a limit of {limit_degc:g} °C is not above {start_degc:g} °C, where the fault begins")
    return COPPER_K * math.sqrt(math.log((COPPER_RECIPROCAL_DEGC + limit_degc) / (COPPER_RECIPROCAL_DEGC + start_degc)))


def withstand_a2s(csa_mm2: float, start_degc: float, limit_degc: float) -> float:
    """Integral of the squared current that brings a conductor to its limit, A²s: ``k² S²``.

    Parameters
    ----------
    csa_mm2 : float
        Metal area, mm².
    start_degc, limit_degc : float
        As `adiabatic_k`, whose errors it has as well.

    Raises
    ------
    ValueError
        For an area that is not above zero.
    """
    return (adiabatic_k(start_degc, limit_degc) * _above_zero(csa_mm2, "cross-section", "mm²")) ** 2


def time_to_limit_s(current_a: float, csa_mm2: float, start_degc: float, limit_degc: float) -> float:
    """Time after which a short-circuit current has brought a conductor to its limit, s; inf without current.

    Above `ADIABATIC_TO_S` it is a lower bound only: the conductor gives off heat meanwhile. Errors as
    `withstand_a2s`, and ValueError for a current that is not a number.
    """
    if not math.isfinite(current_a):
        raise ValueError(f"{current_a:g} A is no current: give a number of amperes")
    withstand = withstand_a2s(csa_mm2, start_degc, limit_degc)
    return withstand / current_a**2 if current_a**2 > 0.0 else math.inf


def current_for_time_a(time_s: float, csa_mm2: float, start_degc: float, limit_degc: float) -> float:
    """Current that brings a conductor to its limit in a given time, A; errors as `withstand_a2s`.

    Raises
    ------
    ValueError
        For a time that is not above zero.
    """
    return math.sqrt(withstand_a2s(csa_mm2, start_degc, limit_degc) / _above_zero(time_s, "time", "s"))


def least_csa_mm2(i2t_a2s: float, start_degc: float, limit_degc: float) -> float:
    """Smallest area that a given integral of squared current leaves within its limit, mm²; errors as `adiabatic_k`.

    Raises
    ------
    ValueError
        For an integral that is negative or not a number.
    """
    return math.sqrt(_integral(i2t_a2s)) / adiabatic_k(start_degc, limit_degc)


def heated_degc(i2t_a2s: float, csa_mm2: float, start_degc: float) -> float:
    """Temperature of a conductor after a short circuit, °C: the formula turned round.

    Above `COPPER_MELTS_DEGC` the figure only says that the copper has melted; inf where it is beyond all numbers.

    Parameters
    ----------
    i2t_a2s : float
        Integral of the squared current, from 0, A²s.
    csa_mm2 : float
        Metal area, mm².
    start_degc : float
        Conductor temperature when the fault begins, °C.

    Raises
    ------
    ValueError
        For numbers outside these bounds.
    """
    _temperature(start_degc)
    exponent = _integral(i2t_a2s) / (COPPER_K * _above_zero(csa_mm2, "cross-section", "mm²")) ** 2
    if exponent > 700.0:  # exp() of more is no number any longer
        return math.inf
    return (COPPER_RECIPROCAL_DEGC + start_degc) * math.exp(exponent) - COPPER_RECIPROCAL_DEGC


def withstands_a2s(csa_mm2: ArrayLike, start_degc: ArrayLike, limit_degc: ArrayLike) -> NDArray[np.float64]:
    """`withstand_a2s` for many conductors at once, A²s.

    Parameters
    ----------
    csa_mm2, start_degc, limit_degc : array_like of float
        Of shapes that go together; nan where a figure is unknown.

    Returns
    -------
    numpy.ndarray of float64
        Of their common shape; nan where a figure is nan or outside the bounds of `withstand_a2s`, so that one wire
        that cannot be judged does not stop the others.
    """
    import numpy as np

    csa = np.asarray(csa_mm2, dtype=np.float64)
    start, limit = _kelvin_like(start_degc), _kelvin_like(limit_degc)
    with np.errstate(invalid="ignore", divide="ignore"):
        area = np.where(csa > 0.0, csa, np.nan)
        return np.asarray((COPPER_K * area) ** 2 * np.log(np.where(limit > start, limit / start, np.nan)))


def times_to_limit_s(
    current_a: ArrayLike, csa_mm2: ArrayLike, start_degc: ArrayLike, limit_degc: ArrayLike
) -> NDArray[np.float64]:
    """`time_to_limit_s` for many conductors at once, s; inf without current. Shapes and nan as `withstands_a2s`."""
    import numpy as np

    squared = np.square(np.asarray(current_a, dtype=np.float64))
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(withstands_a2s(csa_mm2, start_degc, limit_degc) / squared)


def heated_each_degc(i2t_a2s: ArrayLike, csa_mm2: ArrayLike, start_degc: ArrayLike) -> NDArray[np.float64]:
    """`heated_degc` for many conductors at once, °C; shapes and nan as `withstands_a2s`."""
    import numpy as np

    i2t, csa = np.asarray(i2t_a2s, dtype=np.float64), np.asarray(csa_mm2, dtype=np.float64)
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        exponent = np.where((i2t >= 0.0) & (csa > 0.0), i2t, np.nan) / (COPPER_K * csa) ** 2
        return np.asarray(_kelvin_like(start_degc) * np.exp(exponent) - COPPER_RECIPROCAL_DEGC)


def _kelvin_like(t_degc: ArrayLike) -> NDArray[np.float64]:
    """Temperatures counted from where copper's resistance would be none; nan at or below it."""
    import numpy as np

    counted = np.asarray(t_degc, dtype=np.float64) + COPPER_RECIPROCAL_DEGC
    with np.errstate(invalid="ignore"):
        return np.asarray(np.where(counted > 0.0, counted, np.nan))


def _temperature(t_degc: float) -> None:
    if not (math.isfinite(t_degc) and t_degc > -COPPER_RECIPROCAL_DEGC):
        raise ValueError(
            f"{t_degc:g} °C is no temperature of a copper conductor: give one above -{COPPER_RECIPROCAL_DEGC:g} °C"
        )


def _above_zero(value: float, what: str, unit: str) -> float:
    if not (math.isfinite(value) and value > 0.0):
        raise ValueError(f"{value:g} {unit} is no {what}: give a number above zero")
    return value


def _integral(i2t_a2s: float) -> float:
    if not (math.isfinite(i2t_a2s) and i2t_a2s >= 0.0):
        raise ValueError(f"{i2t_a2s:g} A²s is no integral of a squared current: give zero or a positive number")
    return i2t_a2s
