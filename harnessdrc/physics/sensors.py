"""What a ground offset makes of a sensor's reading, and which offset makes a given error.

The offset `offset_v` is the potential of the sensor's ground end against the controller's sensor ground, in
volts: positive when the sensor's ground stands higher. All voltages are against the controller's sensor ground.

Temperature sensors are resistors that fall as they warm (NTC), fed through a pull-up in the controller from its
5 V supply. With R the sensor and Rp the pull-up the input is at ``V = (5 R + u Rp) / (R + Rp)``, by the node
equation ``(5 - V) / Rp = (V - u) / R``, and the controller takes ``R' = Rp V / (5 - V)`` for the sensor. A
positive offset reads cold. An input at or outside the rails, or a resistance that the sensor never has, is a
sensor fault and no temperature.

Ratiometric sensors (throttle, pressure) give a fraction k of their supply against their own ground; with the
controller's 5 V as supply, ``V = u + k (5 - u)``, which is ``u (1 - k)`` too much. Their span is 0.5 to 4.5 V.

Sources: circuit laws; beta equation ``R = R0 exp(B (1/T - 1/T0))`` as commonly published for thermistors. Resistance
tables stand in ``rulesets/tables``, with their source.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from dataclasses import dataclass
from functools import lru_cache
from typing import Protocol

from harnessdrc.physics.shipped_tables import shipped_rows

__all__ = [
    "NTC_TABLES",
    "PULLUP_OHM",
    "SPAN_V",
    "SUPPLY_V",
    "NtcBeta",
    "NtcCurve",
    "NtcTable",
    "ntc_error_k",
    "ntc_inferred_ohm",
    "ntc_input_v",
    "ntc_limits_v",
    "ntc_table",
    "ratiometric_error_percent",
    "ratiometric_limit_v",
]

SUPPLY_V = 5.0
"""Sensor supply of a controller, V (common practice, no source)."""
PULLUP_OHM = 1000.0
"""Usual pull-up of a temperature input, Ω; 1,000 to 3,300 are found (common practice, no source)."""
SPAN_V = 4.0
"""Span of a ratiometric sensor, 0.5 to 4.5 V (common practice, no source)."""
NTC_TABLES = ("ntc_2k5", "ntc_3k52")
"""Shipped resistance tables: 2,500 Ω and 3,520 Ω at 20 °C."""

_ZERO_K = 273.15


class NtcCurve(Protocol):
    """Resistance of a sensor over temperature, within the temperatures that it has one for."""

    @property
    def coldest_degc(self) -> float:
        """Lowest temperature of the curve, °C."""

    @property
    def hottest_degc(self) -> float:
        """Highest temperature of the curve, °C."""

    def ohm_at(self, t_degc: float) -> float:
        """Resistance, Ω, at a temperature within the curve."""

    def degc_at(self, ohm: float) -> float:
        """Temperature, °C, at a resistance within the curve; without bounds a straight continuation of it."""


@dataclass(frozen=True, slots=True)
class NtcBeta:
    """Sensor by its beta equation, ``R = R0 exp(B (1/T - 1/T0))``.

    Parameters
    ----------
    ref_ohm, ref_degc : float
        R0 and T0: one point of the sensor.
    beta_k : float
        B, K.
    coldest_degc, hottest_degc : float
        Temperatures that the equation is used between; a reading outside is a sensor fault.

    Raises
    ------
    ValueError
        For a resistance or B that is not above zero, and for temperatures that are none or not in order.
    """

    ref_ohm: float = 2500.0
    ref_degc: float = 20.0
    beta_k: float = 3531.0
    coldest_degc: float = -40.0
    hottest_degc: float = 150.0

    def __post_init__(self) -> None:
        for value, what in ((self.ref_ohm, "ref_ohm"), (self.beta_k, "beta_k")):
            _positive(value, what)
        if not -_ZERO_K < self.coldest_degc < self.hottest_degc < math.inf or not self.ref_degc > -_ZERO_K:
            raise ValueError("expected temperatures above -273.15 °C, coldest_degc below hottest_degc")

    def ohm_at(self, t_degc: float) -> float:
        """Resistance at `t_degc`, Ω."""
        return self.ref_ohm * math.exp(self.beta_k * (1.0 / (t_degc + _ZERO_K) - 1.0 / (self.ref_degc + _ZERO_K)))

    def degc_at(self, ohm: float) -> float:
        """Temperature at which the sensor has `ohm`, °C; inf where it never has."""
        inverse = 1.0 / (self.ref_degc + _ZERO_K) + math.log(ohm / self.ref_ohm) / self.beta_k
        return 1.0 / inverse - _ZERO_K if inverse > 0.0 else math.inf


@dataclass(frozen=True, slots=True)
class NtcTable:
    """Sensor by its table; between two rows log R runs straight over 1/T, as by the beta equation.

    Parameters
    ----------
    name : str
        Of the table.
    t_degc : tuple of float
        Temperatures, rising, °C; two at least.
    ohm : tuple of float
        Resistance at each, falling, Ω.

    Raises
    ------
    ValueError
        When the rows are not in this order.
    """

    name: str
    t_degc: tuple[float, ...]
    ohm: tuple[float, ...]

    def __post_init__(self) -> None:
        rising = all(a < b for a, b in zip(self.t_degc, self.t_degc[1:], strict=False))
        falling = all(a > b for a, b in zip(self.ohm, self.ohm[1:], strict=False))
        whole = len(self.t_degc) == len(self.ohm) >= 2
        if not (whole and rising and falling and self.t_degc[0] > -_ZERO_K and self.ohm[-1] > 0.0):
            raise ValueError(f"{self.name}: expected two rows or more, with rising temperature and falling resistance")

    @property
    def coldest_degc(self) -> float:
        """Temperature of the first row, °C."""
        return self.t_degc[0]

    @property
    def hottest_degc(self) -> float:
        """Temperature of the last row, °C."""
        return self.t_degc[-1]

    def ohm_at(self, t_degc: float) -> float:
        """Resistance at `t_degc`, Ω; beyond the table as by its last two rows."""
        row = min(max(bisect_left(self.t_degc, t_degc), 1), len(self.t_degc) - 1)
        return self._between(row).ohm_at(t_degc)

    def degc_at(self, ohm: float) -> float:
        """Temperature at which the sensor has `ohm`, °C; beyond the table as by its last two rows."""
        row = min(max(bisect_left(self.ohm, -ohm, key=lambda each: -each), 1), len(self.ohm) - 1)
        return self._between(row).degc_at(ohm)

    def _between(self, row: int) -> NtcBeta:
        return _through(self.t_degc[row - 1], self.ohm[row - 1], self.t_degc[row], self.ohm[row])


@lru_cache(maxsize=256)
def _through(cold_degc: float, cold_ohm: float, hot_degc: float, hot_ohm: float) -> NtcBeta:
    """The beta equation through two points."""
    beta_k = math.log(cold_ohm / hot_ohm) / (1.0 / (cold_degc + _ZERO_K) - 1.0 / (hot_degc + _ZERO_K))
    return NtcBeta(cold_ohm, cold_degc, beta_k)


@lru_cache(maxsize=8)
def ntc_table(name: str = "ntc_2k5") -> NtcTable:
    """A shipped resistance table.

    Parameters
    ----------
    name : str
        One of `NTC_TABLES`.

    Raises
    ------
    ValueError
        For another name.
    FileUnreadableError
        When the table is missing or damaged.
    """
    if name not in NTC_TABLES:
        raise ValueError(f"'{name}' is no table of a temperature sensor; known are {', '.join(NTC_TABLES)}")
    with shipped_rows(f"{name}.csv", "a temperature sensor") as rows:
        return NtcTable(name, tuple(float(row["t_degc"]) for row in rows), tuple(float(row["ohm"]) for row in rows))


def ntc_input_v(ohm: float, offset_v: float, pullup_ohm: float = PULLUP_OHM, supply_v: float = SUPPLY_V) -> float:
    """Voltage at the controller's temperature input, V: ``(supply R + u Rp) / (R + Rp)``.

    Parameters
    ----------
    ohm : float
        Resistance of the sensor, Ω.
    offset_v : float
        Sensor's ground end against the controller's sensor ground, V.
    pullup_ohm : float
        Resistor from the supply to the input, Ω.
    supply_v : float
        Sensor supply, V.

    Raises
    ------
    ValueError
        For a resistance or supply that is not above zero, or an offset that is no number.
    """
    for value, what in ((ohm, "ohm"), (pullup_ohm, "pullup_ohm"), (supply_v, "supply_v")):
        _positive(value, what)
    _finite(offset_v)
    return (supply_v * ohm + offset_v * pullup_ohm) / (ohm + pullup_ohm)


def ntc_inferred_ohm(input_v: float, pullup_ohm: float = PULLUP_OHM, supply_v: float = SUPPLY_V) -> float:
    """Resistance that a controller takes a temperature sensor to have, Ω: ``Rp V / (supply - V)``.

    0 for an input at or below ground, inf for one at or above the supply.
    """
    if input_v <= 0.0:
        return 0.0
    return pullup_ohm * input_v / (supply_v - input_v) if input_v < supply_v else math.inf


def ntc_error_k(
    offset_v: float, t_degc: float, curve: NtcCurve, pullup_ohm: float = PULLUP_OHM, supply_v: float = SUPPLY_V
) -> float:
    """Error of a temperature reading that a ground offset makes, K; positive reads hotter.

    Parameters
    ----------
    offset_v : float
        Sensor's ground end against the controller's sensor ground, V; positive reads cold.
    t_degc : float
        True temperature, °C.
    curve : NtcCurve
        `NtcTable` or `NtcBeta`.
    pullup_ohm, supply_v : float
        Of the controller's input, Ω and V.

    Returns
    -------
    float
        ``inf`` where the reading runs off at the hot end (input at ground, or less than the sensor's least
        resistance), ``-inf`` at the cold end: a sensor fault.

    Raises
    ------
    ValueError
        For a true temperature that the curve does not have, and as `ntc_input_v`.
    """
    _within(t_degc, curve)
    input_v = ntc_input_v(curve.ohm_at(t_degc), offset_v, pullup_ohm, supply_v)
    if offset_v == 0.0:
        return 0.0
    low_v, high_v = _readable_v(curve, pullup_ohm, supply_v)
    if input_v < low_v:
        return math.inf
    if input_v > high_v:
        return -math.inf
    return curve.degc_at(ntc_inferred_ohm(input_v, pullup_ohm, supply_v)) - t_degc


def ntc_limits_v(
    limit_k: float, t_degc: float, curve: NtcCurve, pullup_ohm: float = PULLUP_OHM, supply_v: float = SUPPLY_V
) -> tuple[float, float]:
    """Offsets between which a temperature reading stays within ``± limit_k``, V.

    The inverse of `ntc_error_k`: with R' the resistance at the temperature read, ``u = (V' (R + Rp) - supply R) / Rp``
    at ``V' = supply R' / (R' + Rp)``.

    Parameters
    ----------
    limit_k : float
        Greatest error either way, K.
    t_degc, curve, pullup_ohm, supply_v
        As `ntc_error_k`.

    Returns
    -------
    (float, float)
        The lower one, negative, reads `limit_k` too hot; the upper one, positive, reads that much too cold. Where
        the curve ends before, the offset that takes the reading to its end.

    Raises
    ------
    ValueError
        For a limit that is negative or no number, and as `ntc_error_k`.
    """
    if not (math.isfinite(limit_k) and limit_k >= 0.0):
        raise ValueError(f"{limit_k:g} K is no limit of an error: give zero or a positive number")
    _within(t_degc, curve)
    _positive(pullup_ohm, "pullup_ohm")
    _positive(supply_v, "supply_v")
    ohm = curve.ohm_at(t_degc)

    def offset_v(read_degc: float) -> float:
        read_ohm = curve.ohm_at(read_degc)
        # (V' (R + Rp) - supply R) / Rp with V' put in, in a form that is exactly 0 where nothing is read wrong.
        return supply_v * (read_ohm - ohm) / (read_ohm + pullup_ohm)

    return (
        offset_v(min(t_degc + limit_k, curve.hottest_degc)),
        offset_v(max(t_degc - limit_k, curve.coldest_degc)),
    )


def ratiometric_error_percent(offset_v: float, fraction: float, span_v: float = SPAN_V) -> float:
    """Error of a ratiometric reading that a ground offset makes, per cent of span: ``u (1 - k) / span × 100``.

    Parameters
    ----------
    offset_v : float
        Sensor's ground end against the controller's sensor ground, V.
    fraction : float
        k, the part of its supply that the sensor gives: 0.1 at the lower end of its span, 0.9 at the upper.
    span_v : float
        Span of the signal, V.

    Raises
    ------
    ValueError
        For a fraction outside 0 to 1, a span that is not above zero, or an offset that is no number.
    """
    _finite(offset_v)
    _positive(span_v, "span_v")
    return offset_v * (1.0 - _fraction(fraction)) / span_v * 100.0


def ratiometric_limit_v(limit_percent: float, fraction: float, span_v: float = SPAN_V) -> float:
    """Offset, either way, that makes an error of `limit_percent` of span, V; inf for a fraction of 1.

    The inverse of `ratiometric_error_percent`; parameters and errors as there, and for a negative limit.
    """
    if not (math.isfinite(limit_percent) and limit_percent >= 0.0):
        raise ValueError(f"{limit_percent:g} % is no limit of an error: give zero or a positive number")
    _positive(span_v, "span_v")
    rest = 1.0 - _fraction(fraction)
    return limit_percent / 100.0 * span_v / rest if rest > 0.0 else math.inf


def _readable_v(curve: NtcCurve, pullup_ohm: float, supply_v: float) -> tuple[float, float]:
    """Input voltages at the hot and at the cold end of a curve."""
    ends = (curve.ohm_at(curve.hottest_degc), curve.ohm_at(curve.coldest_degc))
    low_v, high_v = (supply_v * ohm / (ohm + pullup_ohm) for ohm in ends)
    return low_v * (1.0 - 1e-12), high_v * (1.0 + 1e-12)


def _within(t_degc: float, curve: NtcCurve) -> None:
    if not curve.coldest_degc <= t_degc <= curve.hottest_degc:
        span = f"{curve.coldest_degc:g} to {curve.hottest_degc:g} °C"
        raise ValueError(f"{t_degc:g} °C is outside what the sensor's curve has ({span})")


def _finite(offset_v: float) -> None:
    if not math.isfinite(offset_v):
        raise ValueError(f"{offset_v:g} V is no offset: give a number of volts")


def _positive(value: float, what: str) -> None:
    if not math.isfinite(value) or value <= 0.0:
        raise ValueError(f"{value:g} is no {what}: give a number above zero")


def _fraction(fraction: float) -> float:
    if not 0.0 <= fraction <= 1.0:
        raise ValueError(f"{fraction:g} is no part of a supply: give 0 to 1")
    return fraction
