"""What heating needs to know of every wire, as arrays: its size, its insulation, its length."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.harness.elements import Harness
from harnessdrc.physics.conductor import AWG_LAY_FACTOR, COPPER_OHM_M, COPPER_PER_K, awg_area_mm2
from harnessdrc.physics.free_air import free_air_a
from harnessdrc.physics.insulation import read_insulation
from harnessdrc.units import Size

__all__ = ["Insulations", "WireColumns", "is_size", "rated_range", "time_constant_s", "wire_columns"]

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

COPPER_J_PER_M3_K = 3.45e6
"""Heat that copper takes up: 8890 kg/m3 times 388 J/(kg K) (handbook figure, from memory)."""
_WARM_DEGC = 105.0
_AT_K = 60.0
_THICKEST_AWG, _THINNEST_AWG = -3, 40


class Insulations(NamedTuple):
    """Rated temperature of an insulation, °C: least, usual and most that it may be, and whether it is known."""

    low_degc: float
    usual_degc: float
    high_degc: float
    known: bool


class WireColumns(NamedTuple):
    """One entry for each wire of the list, in its order.

    Parameters
    ----------
    csa_mm2, awg : ndarray
        The label of its size in one of the two, NaN in the other; NaN in both where it is not known or impossible.
    length_m : ndarray
        NaN where not given.
    single : ndarray of bool
        One conductor, not a cable whose cores are not told apart.
    cores : ndarray of int
        Conductors it counts as in a bundle.
    rated_low_degc, rated_degc, rated_high_degc : ndarray
        What its insulation bears, all equal where that is known.
    rated_known : ndarray of bool
    """

    csa_mm2: Floats
    awg: Floats
    length_m: Floats
    single: Flags
    cores: NDArray[np.int32]
    rated_low_degc: Floats
    rated_degc: Floats
    rated_high_degc: Floats
    rated_known: Flags

    @property
    def sized(self) -> Flags:
        """Wires whose size is known."""
        return ~(np.isnan(self.csa_mm2) & np.isnan(self.awg))


def rated_range(text: str | None, given: Mapping[str, float]) -> Insulations:
    """Rated temperature of the insulation that a cell names.

    Where its words stand for several classes the range is that of these classes; where they are not understood or
    lacking it is that of the given values.
    """
    usual_degc = given["insulation_usual_degc"]
    if text:
        reading = read_insulation(text)
        if reading.insulation is not None:
            rated_degc = reading.insulation.rated_degc
            return Insulations(rated_degc, rated_degc, rated_degc, True)
        each = [_rated(name) for name in reading.candidates]
        rated = [degc for degc in each if degc is not None]
        if rated:
            low, high = min(rated), max(rated)
            return Insulations(low, min(max(usual_degc, low), high), high, low == high)
    return Insulations(given["insulation_low_degc"], usual_degc, given["insulation_high_degc"], False)


@lru_cache(maxsize=256)
def _rated(name: str) -> float | None:
    insulation = read_insulation(name).insulation
    return insulation.rated_degc if insulation is not None else None


def is_size(size: Size) -> bool:
    """Whether there can be a wire of this size: the currents of gauges beyond 4/0 and 40 are not known."""
    if size.awg is not None:
        return _THICKEST_AWG <= size.awg <= _THINNEST_AWG
    return size.csa_mm2 is not None and size.csa_mm2 > 0.0


def _label(size: Size | None) -> tuple[float, float]:
    """Cross-section and gauge of a size, NaN for what its label does not say."""
    if size is None or not is_size(size):
        return np.nan, np.nan
    return (np.nan, float(size.awg)) if size.awg is not None else (float(size.csa_mm2 or np.nan), np.nan)


def _labels(harness: Harness) -> Floats:
    """Labels of all wires, shape (wires, 2): sizes of one spelling are one object and are read once."""
    numbers: dict[int, int] = {}
    distinct: list[Size | None] = []
    code = []
    for wire in harness.wires:
        size = wire.size
        number = numbers.setdefault(id(size), len(distinct))
        if number == len(distinct):
            distinct.append(size)
        code.append(number)
    return np.array([_label(size) for size in distinct], dtype=np.float64).reshape(-1, 2)[code]


def wire_columns(harness: Harness, given: Mapping[str, float]) -> WireColumns:
    """Sizes, lengths and insulations of all wires."""
    wires = harness.wires
    labels = _labels(harness)
    codes: dict[str | None, int] = {}
    code = np.array([codes.setdefault(wire.insulation, len(codes)) for wire in wires], dtype=np.intp)
    ranges = np.array([rated_range(text, given) for text in codes], dtype=np.float64).reshape(-1, 4)[code]
    cores = np.array([wire.cores for wire in wires], dtype=np.int32)
    labels[cores != 1] = np.nan
    return WireColumns(
        labels[:, 0], labels[:, 1],
        np.array([np.nan if wire.length_m is None else wire.length_m for wire in wires], dtype=np.float64),
        cores == 1, cores,
        ranges[:, 0], ranges[:, 1], ranges[:, 2], ranges[:, 3] > 0.0,
    )  # fmt: skip


def time_constant_s(csa_mm2: Floats, awg: Floats) -> Floats:
    """Time in which a wire in free air gets 63 % as warm as a steady current makes it, s.

    Heat that its copper takes up for 60 K over the heat that the current for 60 K makes in it:
    ``c A 60 K / (I60² R)``. Insulation and bundle take up more, so that in truth it is longer.
    """
    gauges: dict[float, float] = {}
    for gauge in np.unique(awg[~np.isnan(awg)]).tolist():
        gauges[gauge] = awg_area_mm2(int(gauge))
    area_m2 = csa_mm2 * 1e-6
    for gauge, area_mm2 in gauges.items():
        area_m2[awg == gauge] = area_mm2 * 1e-6
    current_a = free_air_a(_AT_K, csa_mm2=csa_mm2, awg=awg)
    warm_ohm_m = COPPER_OHM_M * AWG_LAY_FACTOR * (1.0 + COPPER_PER_K * (_WARM_DEGC - 20.0))
    return np.asarray(COPPER_J_PER_M3_K * area_m2**2 * _AT_K / (current_a**2 * warm_ohm_m))
