"""Current that wires may carry for their heat, alone and in bundles, and the smallest size that carries it.

The current that heats one wire in free air by dT is ``I = b dT^m``. In a bundle and at height it is multiplied by a
factor of each. What the figures rest on (``rulesets/tables``, a source in every row):

- ``free_air_current.csv``, sizes 26 to 10: figure 3 of MIL-W-5088, digitised by a third party, read. The law meets
  the digitised points to 3 % (size 10 at 60 K), mostly to 2 %. Sizes 8 to 4/0: the source has no curve; fitted
  to the three columns of AC 43.13-1B table 11-9, read, of which the bundle and the height are taken out again, the
  latter with a factor from memory. Test-equipment manuals that quote MIL-W-5088B agree to 7 % for 8 to 2, but give
  sizes 22 to 16 far less (22: 5 A against 10.8 A for 55 K); they contradict the curves and are not used.
- A gauge between two rows (11, 9, 7 ...) is interpolated over its number; one finer than 26 is extrapolated.
- A metric cross-section is interpolated: logarithm of the current, and m, over the logarithm of the conductor area
  of those wires (0.616 mm² for size 20, as table 11-9 has it, not the 0.519 mm² of the solid gauge, which would
  allow metric cable a tenth more). Below 0.154 and above 106.9 mm² it is extrapolated. Neither system is converted
  into the other: a gauge takes its own row. Gauged road-vehicle cable of less copper (SAE J1128) is not told apart.
- ``bundle_derating.csv``: 1 to 19 wires, read; 35 wires at 20 %, from memory; the rest as `bundle_factor` says.
- ``altitude_derating.csv``: 20,000 ft read, the others from memory.

All functions take numbers or arrays that broadcast. What is not known is NaN and makes the result NaN; what
cannot be (a size of 0, a loading of 130 %) is a ValueError. Still air, no sun, no hot part in sight of the wire.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from harnessdrc.physics.conductor import COPPER_PER_K, awg_conductor, metric_conductor, metric_sizes_mm2
from harnessdrc.physics.shipped_tables import shipped_rows

__all__ = [
    "AC_43_13_POWER",
    "GOVERNS",
    "STANDARD_AWG",
    "USUAL_POWER",
    "CurveSource",
    "SmallestSizes",
    "allowed_a",
    "altitude_factor",
    "bundle_factor",
    "conductor_degc",
    "free_air_a",
    "free_air_source",
    "rise_power",
    "smallest_size",
    "wire_degc",
]

Floats = NDArray[np.float64]

USUAL_POWER = 1.0 / 0.466
"""Power of the current by which the rise goes, for wires of any size: the mean slope of the curves is 0.466, read."""
AC_43_13_POWER = 0.5
"""The same as AC 43.13-1B 11-66d prints it, ``sqrt(I2/Imax)``: from memory. Hotter than the curves below the allowed
current, which the circular calls conservative, and cooler than they above it: never for an overload."""
STANDARD_AWG = (26, 24, 22, 20, 18, 16, 14, 12, 10, 8, 6, 4, 2, 0, -1, -2, -3)
"""Gauges that are commonly sold, from thin to thick; 0 is 1/0, -3 is 4/0."""
GOVERNS = ("unknown", "smallest", "floor", "heating", "drop")
"""What decides a size: a figure that is missing; none, the smallest size will do; the given least size; or a limit."""

_AT_K = 60.0  # the curves are kept as the current for this rise, within what was digitised
_STEEPEST = -0.5  # of a bundle over its wires: heat that has to pass through the bundle to get out
_RULE_FROM = 12  # wires, from which the curves are straight in logarithms
_ALIKE = 1.0 + 1e-9
_HOTTEST_K = 1e6  # as good as molten; keeps what follows finite
_COLDEST_DEGC = 20.0 - 1.0 / COPPER_PER_K


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


@dataclass(frozen=True, slots=True)
class SmallestSizes:
    """Smallest standard sizes of many wires; every array has the shape of the wires.

    Parameters
    ----------
    system : {"awg", "mm2"}
        Unit of the sizes: gauge number (0 is 1/0, -3 is 4/0) or mm².
    size : ndarray
        The size that satisfies all; NaN where no size does or a figure is missing.
    governs : ndarray of str
        One of `GOVERNS`. Where heating and drop both ask for this size, heating.
    heating_size, drop_size : ndarray
        What each limit alone asks for; NaN where no size is enough.
    allowed_a, conductor_degc, drop_v : ndarray
        At `size`: allowed current, A; conductor temperature at the wire's current, °C; voltage drop, V.
    """

    system: Literal["awg", "mm2"]
    size: Floats
    governs: NDArray[np.str_]
    heating_size: Floats
    drop_size: Floats
    allowed_a: Floats
    conductor_degc: Floats
    drop_v: Floats


# --- one wire in free air -------------------------------------------------------------------------


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
    log_amps, slope = _curve(csa_mm2, awg)
    return _amps(_numbers(rise_k, "rise in K"), log_amps, slope)


def rise_power(*, csa_mm2: ArrayLike | None = None, awg: ArrayLike | None = None) -> Floats:
    """Power of the current by which a wire's rise goes, ``1/m``, for `conductor_degc`; as `free_air_a`."""
    return _plain(1.0 / _curve(csa_mm2, awg)[1])


@lru_cache(maxsize=512)
def free_air_source(*, csa_mm2: float | None = None, awg: int | None = None) -> CurveSource:
    """Where the curve of one size comes from; arguments and errors as `free_air_a`."""
    _curve(csa_mm2, awg)
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


# --- bundle and height ----------------------------------------------------------------------------


def bundle_factor(wires: ArrayLike, loading: ArrayLike) -> Floats:
    """What a wire in a bundle may carry over what it may carry alone; 1 at most.

    Straight in logarithms between the digitised counts and loadings. Below 20 % the curve of 20 % holds. Beyond 19
    wires the 20 % curve runs through 0.52 at 35 wires (from memory) and on with that slope, -0.30; the others go on
    with their slope from 12 to 19 wires, -0.36 (40 %) to -0.49 (100 %). These are ours; they lie between the -1/4 of
    a bundle whose surface is in the way of the heat and the -1/2 of one whose inside is.

    Parameters
    ----------
    wires : array_like
        Wires in the bundle, loaded or not; 1 is a wire alone.
    loading : array_like
        Share of the bundle's capacity in use, 0 to 1: current of all wires over what they could carry together, or
        with like wires the share that is loaded (7 of 35 are 0.2).

    Raises
    ------
    ValueError
        For fewer wires than 1 or a loading outside 0 to 1.
    FileUnreadableError
        When the shipped table is missing or damaged.
    """
    log_wires, log_loading, log_factor = _bundles()
    x = np.log(_numbers(wires, "number of wires in a bundle", least=1.0))
    y = np.log(np.maximum(_numbers(loading, "loading of a bundle", least=0.0, most=1.0), np.exp(log_loading[0])))
    row, along = _between(x, log_wires)
    column, across = _between(y, log_loading)
    fewer = log_factor[row, column] * (1.0 - across) + log_factor[row, column + 1] * across
    more = log_factor[row + 1, column] * (1.0 - across) + log_factor[row + 1, column + 1] * across
    return _plain(np.minimum(np.exp(fewer + (more - fewer) * along), 1.0))


def altitude_factor(height_m: ArrayLike) -> Floats:
    """What a wire may carry at a height over what it may carry at sea level, straight between the rows; 1 below it.

    Raises
    ------
    ValueError
        Above 30,480 m, where the table ends.
    FileUnreadableError
        When the shipped table is missing or damaged.
    """
    rows_m, factors = _altitudes()
    return _plain(np.interp(_numbers(height_m, "height in m", most=rows_m[-1]), rows_m, factors))


# --- wires as they lie ----------------------------------------------------------------------------


def allowed_a(
    ambient_degc: ArrayLike,
    rated_degc: ArrayLike,
    wires: ArrayLike,
    loading: ArrayLike,
    *,
    csa_mm2: ArrayLike | None = None,
    awg: ArrayLike | None = None,
    height_m: ArrayLike = 0.0,
) -> Floats:
    """Steady current that brings a wire to its rated temperature, A: free air, times bundle, times altitude.

    0 where the ambient is at the rated temperature or above it. Arguments and errors as `free_air_a`,
    `bundle_factor` and `altitude_factor`; temperatures in °C.
    """
    rise_k = _degrees(rated_degc) - _degrees(ambient_degc)
    alone_a = free_air_a(rise_k, csa_mm2=csa_mm2, awg=awg)
    return _plain(alone_a * bundle_factor(wires, loading) * altitude_factor(height_m))


def conductor_degc(
    current_a: ArrayLike,
    allowed_a: ArrayLike,
    ambient_degc: ArrayLike,
    rated_degc: ArrayLike,
    power: ArrayLike = USUAL_POWER,
) -> Floats:
    """Conductor temperature from the allowed current, °C: ``T1 + (TR - T1) (I/Imax)^power``.

    With `rise_power` of the size this is the free-air law itself, with the default its mean; these are what this
    package judges by. `AC_43_13_POWER` gives the estimate of the circular.

    Parameters
    ----------
    current_a, allowed_a : array_like
        Steady (root mean square) current in either direction, and the result of `allowed_a`, A.
    ambient_degc, rated_degc : array_like
        °C.
    power : array_like
        Power of the current, above 0.

    Returns
    -------
    ndarray
        °C; inf for a current where none is allowed or the ambient is at the rated temperature: `wire_degc`.

    Raises
    ------
    ValueError
        For an allowed current below 0, or a power that is not above 0.
    """
    amps = np.abs(_numbers(current_a, "current in A"))
    most = _numbers(allowed_a, "allowed current in A", least=0.0)
    cold, hot = _degrees(ambient_degc), _degrees(rated_degc)
    exponent = _numbers(power, "power", least=0.0, above=True)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        warm = cold + (hot - cold) * (amps / most) ** exponent
    nothing = 0.0 * (most + hot)  # NaN where either is not known
    warm = np.where((most == 0.0) | (hot <= cold), np.inf + nothing, warm)
    return _plain(np.where(amps == 0.0, cold + nothing, warm))


def wire_degc(
    current_a: ArrayLike,
    ambient_degc: ArrayLike,
    wires: ArrayLike,
    loading: ArrayLike,
    *,
    csa_mm2: ArrayLike | None = None,
    awg: ArrayLike | None = None,
    height_m: ArrayLike = 0.0,
) -> Floats:
    """Conductor temperature at a steady current, °C: what `conductor_degc` says, with no rated temperature.

    Arguments and errors as `allowed_a`; `current_a` in A, either direction.
    """
    log_amps, slope = _curve(csa_mm2, awg)
    load_a = np.abs(_numbers(current_a, "current in A")) / (bundle_factor(wires, loading) * altitude_factor(height_m))
    return _plain(_degrees(ambient_degc) + _rise_k(_log(load_a), log_amps, slope))


# --- the smallest size ----------------------------------------------------------------------------


def smallest_size(
    system: Literal["awg", "mm2"],
    current_a: ArrayLike,
    ambient_degc: ArrayLike,
    rated_degc: ArrayLike,
    wires: ArrayLike,
    loading: ArrayLike,
    length_m: ArrayLike,
    allowed_drop_v: ArrayLike,
    *,
    drop_current_a: ArrayLike | None = None,
    height_m: ArrayLike = 0.0,
    floor: ArrayLike | None = None,
    sizes: Sequence[float] | None = None,
) -> SmallestSizes:
    """Smallest standard size of each wire that stays within its temperature and its voltage drop.

    Each size is tried on all wires that no smaller one satisfied. The drop is that of the conductor at the
    temperature which its own current gives it, with the resistance of `harnessdrc.physics.conductor`. Number and
    loading of the bundle are taken as given, also where a new size would change them.

    Parameters
    ----------
    system : {"awg", "mm2"}
        Which sizes to choose from; neither is converted into the other.
    current_a : array_like
        Steady (root mean square) current that heats the wire, A, either direction.
    ambient_degc, rated_degc : array_like
        Ambient of the branch and rated temperature of the insulation, °C.
    wires, loading : array_like
        Bundle, as `bundle_factor`.
    length_m : array_like
        Length of conductor over which the drop is counted, m.
    allowed_drop_v : array_like
        V; inf where there is no limit.
    drop_current_a : array_like, optional
        Current at which the drop is judged, A, where it is not the steady one.
    height_m : array_like
        Height above sea level, m.
    floor : array_like, optional
        Least size for other reasons (handling, terminal), in the unit of `system`; NaN for none.
    sizes : sequence of float, optional
        Sizes kept in stock; as usual `STANDARD_AWG`, or all of ISO 6722 that the shipped table has.

    Returns
    -------
    SmallestSizes
        For the wires as the arrays broadcast.

    Raises
    ------
    ValueError
        For another system, no sizes, a negative length or drop, and as `free_air_a` and `bundle_factor`.
    FileUnreadableError
        When a shipped table is missing or damaged.
    """
    tried = _sizes(system, sizes)
    made = awg_conductor if system == "awg" else metric_conductor
    ohm_per_m = np.array([made(int(size) if system == "awg" else size).ohm_per_m_20degc for size in tried])
    log_amps, slope = _curve(*((None, tried) if system == "awg" else (tried, None)))
    derating = bundle_factor(wires, loading) * altitude_factor(height_m)
    length = _numbers(length_m, "length in m", least=0.0)
    dropping = _numbers(current_a if drop_current_a is None else drop_current_a, "current in A")
    given = np.broadcast_arrays(
        _log(np.abs(_numbers(current_a, "current in A")) / derating),
        derating,
        _degrees(ambient_degc),
        _degrees(rated_degc),
        np.abs(dropping) * length,
        _numbers(allowed_drop_v, "allowed drop in V", least=0.0, finite=False),
        _numbers(np.nan if floor is None else floor, "least size"),
    )
    shape = given[0].shape
    log_load, derating, ambient, rated, amp_m, drop_limit, least = (np.ravel(each) for each in given)
    room_k = rated - ambient
    known = ~np.isnan(log_load + room_k + amp_m + drop_limit)

    def drop_v(which: NDArray[np.intp], rise_k: Floats, at: NDArray[np.intp] | int) -> Floats:
        factor = 1.0 + COPPER_PER_K * (ambient[which] + rise_k - 20.0)
        return np.asarray(amp_m[which] * ohm_per_m[at] * factor)

    count = len(tried)
    for_heat, for_drop = np.full(log_load.shape, count), np.full(log_load.shape, count)
    todo = np.flatnonzero(known)
    for column in range(count):
        rise_k = _rise_k(log_load[todo], log_amps[column], slope[column])
        cool = rise_k <= room_k[todo] * _ALIKE
        enough = drop_v(todo, rise_k, column) <= drop_limit[todo] * _ALIKE
        for_heat[todo[cool]] = np.minimum(for_heat[todo[cool]], column)
        for_drop[todo[enough]] = np.minimum(for_drop[todo[enough]], column)
        todo = todo[~(cool & enough)]
        if not todo.size:
            break
    # a thinner wire has the higher gauge number; a metric size is met to 0.1 %, as a conductor is
    place = np.searchsorted(-tried, -least) if system == "awg" else np.searchsorted(tried, least * (1.0 - 1e-3))
    for_floor = np.where(np.isnan(least), 0, place)
    index = np.maximum(np.maximum(for_heat, for_drop), for_floor)

    why = np.select([~known, index == 0, for_heat == index, for_drop == index], [0, 1, 3, 4], default=2)
    at = np.where(known & (index < count), index, count)
    every = np.arange(at.size)
    log_amps, slope, ohm_per_m, named = (np.append(each, np.nan) for each in (log_amps, slope, ohm_per_m, tried))
    rise_k = _rise_k(log_load, log_amps[at], slope[at])
    for_heat, for_drop = (np.where(known, each, count) for each in (for_heat, for_drop))
    return SmallestSizes(
        system,
        named[at].reshape(shape),
        np.array(GOVERNS)[why].reshape(shape),
        named[for_heat].reshape(shape),
        named[for_drop].reshape(shape),
        (derating * _amps(room_k, log_amps[at], slope[at])).reshape(shape),
        (ambient + rise_k).reshape(shape),
        drop_v(every, rise_k, at).reshape(shape),
    )


def _sizes(system: str, sizes: Sequence[float] | None) -> Floats:
    """Sizes to try, from thin to thick."""
    if system not in ("awg", "mm2"):
        raise ValueError(f"'{system}' is no system of sizes: give awg or mm2")
    usual: Sequence[float] = STANDARD_AWG if system == "awg" else metric_sizes_mm2()
    found = np.unique(_numbers(list(usual if sizes is None else sizes), "size"))
    if not found.size or np.isnan(found).any():
        raise ValueError("there are no sizes to choose from: give one at least, and each as a number")
    return found[::-1] if system == "awg" else found


# --- the law, and checking of arguments -----------------------------------------------------------


def _amps(rise_k: Floats, log_amps: Floats, slope: Floats) -> Floats:
    return _plain(np.exp(log_amps + slope * _log(np.maximum(rise_k, 0.0) / _AT_K)))


def _rise_k(log_load: Floats, log_amps: Floats, slope: Floats) -> Floats:
    with np.errstate(over="ignore"):
        return _plain(np.minimum(_AT_K * np.exp((log_load - log_amps) / slope), _HOTTEST_K))


def _log(values: Floats) -> Floats:
    """Logarithm, -inf at 0 without a word."""
    with np.errstate(divide="ignore"):
        return np.asarray(np.log(values))


def _plain(values: Floats) -> Floats:
    """A number for numbers, an array for arrays."""
    plain: Floats = np.asarray(values)[()]
    return plain


def _degrees(values: ArrayLike) -> Floats:
    return _numbers(values, "temperature in °C", least=_COLDEST_DEGC, above=True)


def _numbers(
    values: ArrayLike,
    what: str,
    least: float = -np.inf,
    most: float = np.inf,
    *,
    above: bool = False,
    finite: bool = True,
) -> Floats:
    """Values as an array; a ValueError names the first that is out of bounds. NaN is let through."""
    array = np.asarray(values, dtype=np.float64)
    wrong = (array <= least) & (array > -np.inf) if above else array < least
    wrong = wrong | (array > most) | (np.isinf(array) if finite else array == -np.inf)
    if wrong.any():
        bounds = [f"{'above' if above else 'of at least'} {least:.4g}"] if least > -np.inf else []
        bounds += [f"of at most {most:.6g}"] if most < np.inf else []
        raise ValueError(
            f"{array[wrong].flat[0]:g} is no {what}: give a number {' and '.join(bounds) or 'that is finite'}"
        )
    return array


def _between(at: Floats, grid: Floats) -> tuple[NDArray[np.intp], Floats]:
    """Row before, and how far on to the next in parts of the step; above 1 beyond the last."""
    row = np.clip(np.searchsorted(grid, at, side="right") - 1, 0, len(grid) - 2)
    return row, (at - grid[row]) / (grid[row + 1] - grid[row])


def _curve(csa_mm2: ArrayLike | None, awg: ArrayLike | None) -> tuple[Floats, Floats]:
    """Logarithm of the current for 60 K, and slope m, of each wire."""
    if csa_mm2 is None and awg is None:
        raise ValueError("a wire has no size: give its cross-section in mm² or its gauge")
    curves = _curves()
    metric = gauged = None
    if csa_mm2 is not None:
        area = _numbers(csa_mm2, "cross-section in mm²", least=0.0, above=True)
        metric = _on(np.log(area), curves.log_mm2, curves)
    if awg is not None:
        gauge = _numbers(awg, "gauge between 4/0 and 40", least=-3.0, most=40.0)
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


# --- the shipped tables ---------------------------------------------------------------------------


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
        gauge, area_mm2, coefficient, slope = _numbers_of(
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


@lru_cache(maxsize=1)
def _bundles() -> tuple[Floats, Floats, Floats]:
    """Logarithms of the counts, of the loadings and of the factors, those of the last row that are missing filled."""
    columns = tuple(f"loading_{percent}" for percent in (20, 40, 60, 80, 100))
    with shipped_rows("bundle_derating.csv", "bundle deratings") as rows:
        numbers = _numbers_of(rows, ("wires", *columns))
        wires, factors = np.log(numbers[:, 0]), np.log(numbers[:, 1:])
        fitted = (numbers[:-1, 0] >= _RULE_FROM).nonzero()[0]
        steps, falls = wires[fitted] - wires[-2], factors[fitted] - factors[-2]
        slopes = np.maximum(steps @ falls / (steps @ steps), _STEEPEST)
        filled = np.where(np.isnan(factors[-1]), factors[-2] + slopes * (wires[-1] - wires[-2]), factors[-1])
        factors = np.vstack((factors[:-1], filled))
        falling = (np.diff(factors, axis=0) < 0.0).all() and (np.diff(factors[1:], axis=1) < 0.0).all()
        if not ((np.diff(wires) > 0.0).all() and wires[0] == 0.0 and (factors[0] == 0.0).all() and falling):
            raise ValueError("expected 1 for one wire, then factors that fall with wires and with loading")
        return wires, np.log(np.array([0.2, 0.4, 0.6, 0.8, 1.0])), factors


@lru_cache(maxsize=1)
def _altitudes() -> tuple[Floats, Floats]:
    with shipped_rows("altitude_derating.csv", "altitude deratings") as rows:
        height_m, factor = _numbers_of(rows, ("height_m", "factor")).T
        ordered = (np.diff(height_m) > 0.0).all() and (np.diff(factor) < 0.0).all()
        if not (ordered and factor[0] == 1.0 and factor[-1] > 0.0):
            raise ValueError("expected rising heights and factors that fall from 1")
        return height_m, factor


def _numbers_of(rows: Sequence[Mapping[str, str]], columns: tuple[str, ...]) -> Floats:
    """Numbers of the named columns, NaN for an empty cell."""
    if len(rows) < 3:
        raise ValueError("expected three rows or more, each with its source")
    return np.array([[float(row[column] or "nan") for column in columns] for row in rows])
