"""The smallest standard size that stays within its temperature and its voltage drop, for many wires at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from harnessdrc.physics.conductor import COPPER_PER_K, awg_conductor, metric_conductor, metric_sizes_mm2
from harnessdrc.physics.derating import altitude_factor, bundle_factor
from harnessdrc.physics.free_air import amps_at, curve, rise_at
from harnessdrc.physics.number_arrays import Floats, degrees, log, numbers

__all__ = ["GOVERNS", "STANDARD_AWG", "SmallestSizes", "smallest_size"]

STANDARD_AWG = (26, 24, 22, 20, 18, 16, 14, 12, 10, 8, 6, 4, 2, 0, -1, -2, -3)
"""Gauges that are commonly sold, from thin to thick; 0 is 1/0, -3 is 4/0."""
GOVERNS = ("unknown", "smallest", "floor", "heating", "drop")
"""What decides a size: a figure that is missing; none, the smallest size will do; the given least size; or a limit."""

_ALIKE = 1.0 + 1e-9


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
    drop_degc: float = -np.inf,
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
    drop_degc : float
        Temperature of the conductor below which its drop is not counted, °C.
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
    log_amps, slope = curve(*((None, tried) if system == "awg" else (tried, None)))
    derating = bundle_factor(wires, loading) * altitude_factor(height_m)
    length = numbers(length_m, "length in m", least=0.0)
    dropping = numbers(current_a if drop_current_a is None else drop_current_a, "current in A")
    given = np.broadcast_arrays(
        log(np.abs(numbers(current_a, "current in A")) / derating),
        derating,
        degrees(ambient_degc),
        degrees(rated_degc),
        np.abs(dropping) * length,
        numbers(allowed_drop_v, "allowed drop in V", least=0.0, finite=False),
        numbers(np.nan if floor is None else floor, "least size"),
    )
    shape = given[0].shape
    log_load, derating, ambient, rated, amp_m, drop_limit, least = (np.ravel(each) for each in given)
    room_k = rated - ambient
    known = ~np.isnan(log_load + room_k + amp_m + drop_limit)

    def drop_v(which: NDArray[np.intp], rise_k: Floats, at: NDArray[np.intp] | int) -> Floats:
        factor = 1.0 + COPPER_PER_K * (np.maximum(ambient[which] + rise_k, drop_degc) - 20.0)
        return np.asarray(amp_m[which] * ohm_per_m[at] * factor)

    count = len(tried)
    for_heat, for_drop = np.full(log_load.shape, count), np.full(log_load.shape, count)
    todo = np.flatnonzero(known)
    for column in range(count):
        rise_k = rise_at(log_load[todo], log_amps[column], slope[column])
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
    rise_k = rise_at(log_load, log_amps[at], slope[at])
    for_heat, for_drop = (np.where(known, each, count) for each in (for_heat, for_drop))
    return SmallestSizes(
        system,
        named[at].reshape(shape),
        np.array(GOVERNS)[why].reshape(shape),
        named[for_heat].reshape(shape),
        named[for_drop].reshape(shape),
        (derating * amps_at(room_k, log_amps[at], slope[at])).reshape(shape),
        (ambient + rise_k).reshape(shape),
        drop_v(every, rise_k, at).reshape(shape),
    )


def _sizes(system: str, sizes: Sequence[float] | None) -> Floats:
    """Sizes to try, from thin to thick."""
    if system not in ("awg", "mm2"):
        raise ValueError(f"'{system}' is no system of sizes: give awg or mm2")
    usual: Sequence[float] = STANDARD_AWG if system == "awg" else metric_sizes_mm2()
    found = np.unique(numbers(list(usual if sizes is None else sizes), "size"))
    if not found.size or np.isnan(found).any():
        raise ValueError("there are no sizes to choose from: give one at least, and each as a number")
    return found[::-1] if system == "awg" else found
