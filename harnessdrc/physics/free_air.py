"""Current that heats one wire in free air: ``I = b dT^m``, by size.

What the figures rest on (``rulesets/tables/free_air_current.csv``, a source in every row):

- Sizes 26 to 10: figure 3 of MIL-W-5088, digitised by a third party, read. The law meets the digitised points to 3 %
  (size 10 at 60 K), mostly to 2 %. Sizes 8 to 4/0: the source has no curve; fitted to the three columns of
  AC 43.13-1B table 11-9, read, of which the bundle and the height are taken out again, the latter with a factor from
  memory. Test-equipment manuals that quote MIL-W-5088B agree to 7 % for 8 to 2, but give sizes 22 to 16 far less
  (22: 5 A against 10.8 A for 55 K); they contradict the curves and are not used.
- A gauge between two rows (11, 9, 7 ...) is interpolated over its number; one finer than 26 is extrapolated.
- A metric cross-section is interpolated: logarithm of the current, and m, over the logarithm of the conductor area
  of those wires (0.616 mm² for size 20, as table 11-9 has it, not the 0.519 mm² of the solid gauge, which would
  allow metric cable a tenth more). Below 0.154 and above 106.9 mm² it is extrapolated. Neither system is converted
  into the other: a gauge takes its own row. Gauged road-vehicle cable of less copper (SAE J1128) is not told apart.

Still air, no sun, no hot part in sight of the wire. All functions take numbers or arrays that broadcast; what is not
known is NaN and makes the result NaN.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from harnessdrc.physics.number_arrays import Floats, log, numbers, plain, table_numbers
from harnessdrc.physics.shipped_tables import shipped_rows

__all__ = ["CurveSource", "amps_at", "curve", "free_air_a", "free_air_source", "rise_at", "rise_power"]

_AT_K = 60.0  # the curves are kept as the current for this rise, within what was digitised
_HOTTEST_K = 1e6  # as good as molten; keeps what follows finite


@dataclass(frozen=True, slots=True)
class CurveSource:
    """Where a current in free air comes from, so that a finding can cite it.

    Parameters
    ----------
    origin : {"read", "fitted", "interpolated", "extrapolated"}
        Curve of that size, curve fitted to a table, between two sizes, or beyond the last one.
    source : str
        Publication, and whether it was read or is from memory.
    doubt : str
        Why the figure is less sure than a curve that was read; empty when it is one.
    """

    origin: Literal["read", "fitted", "interpolated", "extrapolated"]
    source: str
    doubt: str = ""


def free_air_a(rise_k: ArrayLike, *, csa_mm2: ArrayLike | None = None, awg: ArrayLike | None = None) -> Floats:
    """Current that heats one wire in free air by `rise_k`, A; 0 for a rise of 0 or less.

    Parameters
    ----------
    rise_k : array_like
        Conductor temperature less ambient, K. The curves were digitised from 30 to 250 K; the law goes on.
    csa_mm2, awg : array_like, optional
        Nominal cross-section, mm², or gauge number (0 is 1/0, -3 is 4/0). Of lists with both kinds give both, with
        NaN in the one that a wire does not have.

    Raises
    ------
    ValueError
        For a cross-section of 0 or less, a gauge outside 4/0 to 40 or not whole, both or neither of the two.
    FileUnreadableError
        When the shipped table is missing or damaged.
    """
    log_amps, slope = curve(csa_mm2, awg)
    return amps_at(numbers(rise_k, "rise in K"), log_amps, slope)


def rise_power(*, csa_mm2: ArrayLike | None = None, awg: ArrayLike | None = None) -> Floats:
    """Power of the current by which a wire's rise goes, ``1/m``, for `conductor_degc`; as `free_air_a`."""
    return plain(1.0 / curve(csa_mm2, awg)[1])


@lru_cache(maxsize=512)
def free_air_source(*, csa_mm2: float | None = None, awg: int | None = None) -> CurveSource:
    """Where the curve of one size comes from; arguments and errors as `free_air_a`."""
    curve(csa_mm2, awg)
    curves = _curves()
    if awg is not None:
        finer = -awg < curves.minus_gauge[0]
        row = int(np.searchsorted(curves.minus_gauge, -awg))
        if curves.minus_gauge[row] == -awg:
            origin, source = curves.origin[row], curves.source[row]
            if origin == "read":
                return CurveSource("read", source)
            return CurveSource("fitted", source, "the source has no curve for this size; fitted to a table")
        beyond, what = finer, f"AWG {awg}"
    else:
        assert csa_mm2 is not None
        at = np.log(csa_mm2)
        row = int(np.searchsorted(curves.log_mm2, at))
        beyond, what = row in (0, len(curves.log_mm2)) and at not in curves.log_mm2, f"{csa_mm2:g} mm²"
    row = min(max(row, 1), len(curves.source) - 1)
    source = "; ".join(dict.fromkeys((curves.source[row - 1], curves.source[row])))
    if beyond:
        return CurveSource("extrapolated", source, f"no curve reaches to {what}; confirm with the cable's data sheet")
    return CurveSource("interpolated", source, f"{what} is interpolated between curves of gauged wires")


# --- the law ----------------------------------------------------------------------------------------


def amps_at(rise_k: Floats, log_amps: Floats, slope: Floats) -> Floats:
    """Current for a rise in K, A, on a `curve`; 0 for a rise of 0 or less."""
    return plain(np.exp(log_amps + slope * log(np.maximum(rise_k, 0.0) / _AT_K)))


def rise_at(log_load: Floats, log_amps: Floats, slope: Floats) -> Floats:
    """Rise in K on a `curve` at the current of this logarithm; a million where it would be more."""
    with np.errstate(over="ignore"):
        return plain(np.minimum(_AT_K * np.exp((log_load - log_amps) / slope), _HOTTEST_K))


def curve(csa_mm2: ArrayLike | None, awg: ArrayLike | None) -> tuple[Floats, Floats]:
    """Logarithm of the current for 60 K, and slope m, of each wire; arguments and errors as `free_air_a`."""
    if csa_mm2 is None and awg is None:
        raise ValueError("a wire has no size: give its cross-section in mm² or its gauge")
    curves = _curves()
    metric = gauged = None
    if csa_mm2 is not None:
        area = numbers(csa_mm2, "cross-section in mm²", least=0.0, above=True)
        metric = _on(np.log(area), curves.log_mm2, curves)
    if awg is not None:
        gauge = numbers(awg, "gauge between 4/0 and 40", least=-3.0, most=40.0)
        parts = gauge[(gauge != np.floor(gauge)) & ~np.isnan(gauge)]
        if parts.size:
            raise ValueError(f"{parts.flat[0]:g} is no gauge: give a whole number, with 0 for 1/0 and -3 for 4/0")
        gauged = _on(-gauge, curves.minus_gauge, curves)
    if metric is None or gauged is None:
        only = metric or gauged
        assert only is not None
        return only
    if np.any(~np.isnan(area) & ~np.isnan(gauge)):
        raise ValueError("a wire has a cross-section and a gauge: give the one on its label, and NaN for the other")
    return np.where(np.isnan(area), gauged[0], metric[0]), np.where(np.isnan(area), gauged[1], metric[1])


def _on(at: Floats, grid: Floats, curves: _Curves) -> tuple[Floats, Floats]:
    """Between the rows straight; beyond the ends the current goes on with its slope and m stays as it is."""
    first = (curves.log_amps[1] - curves.log_amps[0]) / (grid[1] - grid[0])
    last = (curves.log_amps[-1] - curves.log_amps[-2]) / (grid[-1] - grid[-2])
    beyond = first * np.minimum(at - grid[0], 0.0) + last * np.maximum(at - grid[-1], 0.0)
    return np.interp(at, grid, curves.log_amps) + beyond, np.asarray(np.interp(at, grid, curves.slope))


# --- the shipped table ------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Curves:
    """Rows from thin to thick."""

    minus_gauge: Floats
    log_mm2: Floats
    log_amps: Floats
    """Of the current for a rise of 60 K."""
    slope: Floats
    origin: tuple[str, ...]
    source: tuple[str, ...]


@lru_cache(maxsize=1)
def _curves() -> _Curves:
    with shipped_rows("free_air_current.csv", "currents in free air") as rows:
        gauge, area_mm2, coefficient, slope = table_numbers(
            rows, ("number", "conductor_mm2", "coefficient_b", "exponent_m")
        ).T
        log_amps = np.log(coefficient) + slope * np.log(_AT_K)
        rising = all((np.diff(each) > 0.0).all() for each in (-gauge, area_mm2, log_amps))
        if not (rising and area_mm2[0] > 0.0 and (slope > 0.0).all()):
            raise ValueError("expected sizes from thin to thick, and currents that rise with them")
        return _Curves(
            -gauge, np.log(area_mm2), log_amps, slope,
            tuple(row["origin"] for row in rows), tuple(row["source"] for row in rows),
        )  # fmt: skip
