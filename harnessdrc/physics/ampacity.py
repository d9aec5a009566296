"""Current that wires may carry for their heat where they lie, and the temperature that a current brings them to.

The current that heats one wire in free air (`harnessdrc.physics.free_air`), times a factor of its bundle and one of the
height (`harnessdrc.physics.derating`). All functions take numbers or arrays that broadcast. What is not known is NaN
and makes the result NaN; what cannot be (a size of 0, a loading of 130 %) is a ValueError. Still air, no sun, no hot
part in sight of the wire.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from harnessdrc.physics.derating import altitude_factor, bundle_factor
from harnessdrc.physics.free_air import curve, free_air_a, rise_at
from harnessdrc.physics.number_arrays import Floats, degrees, log, numbers, plain

__all__ = ["AC_43_13_POWER", "USUAL_POWER", "allowed_a", "conductor_degc", "wire_degc"]

USUAL_POWER = 1.0 / 0.466
"""Power of the current by which the rise goes, for wires of any size: the mean slope of the curves is 0.466, read."""
AC_43_13_POWER = 0.5
"""The same as AC 43.13-1B 11-66d prints it, ``sqrt(I2/Imax)``: from memory. Hotter than the curves below the allowed
current, which the circular calls conservative, and cooler than they above it: never for an overload."""


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
    rise_k = degrees(rated_degc) - degrees(ambient_degc)
    alone_a = free_air_a(rise_k, csa_mm2=csa_mm2, awg=awg)
    return plain(alone_a * bundle_factor(wires, loading) * altitude_factor(height_m))


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
    amps = np.abs(numbers(current_a, "current in A"))
    most = numbers(allowed_a, "allowed current in A", least=0.0)
    cold, hot = degrees(ambient_degc), degrees(rated_degc)
    exponent = numbers(power, "power", least=0.0, above=True)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        warm = cold + (hot - cold) * (amps / most) ** exponent
    nothing = 0.0 * (most + hot)  # NaN where either is not known
    warm = np.where((most == 0.0) | (hot <= cold), np.inf + nothing, warm)
    return plain(np.where(amps == 0.0, cold + nothing, warm))


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
    log_amps, slope = curve(csa_mm2, awg)
    load_a = np.abs(numbers(current_a, "current in A")) / (bundle_factor(wires, loading) * altitude_factor(height_m))
    return plain(degrees(ambient_degc) + rise_at(log(load_a), log_amps, slope))
