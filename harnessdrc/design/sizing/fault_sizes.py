"""The smallest standard size of each wire that stands a short circuit at its own far end until its fuse has cleared it.

A thicker wire stands more and lets more current flow, so that its fuse opens sooner: the own resistance is that of each
size tried, all else of the loop stays. Where no size does, the rest of the loop holds the current down or the fuse is
too large or too slow: then it is the fuse that has to change.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design.sizing.clearing import clearing
from harnessdrc.design.sizing.faults import faults_of
from harnessdrc.design.sizing.protection import protection_of
from harnessdrc.physics.conductor import awg_conductor, metric_conductor, metric_sizes_mm2
from harnessdrc.physics.smallest_size import STANDARD_AWG

if TYPE_CHECKING:
    from harnessdrc.design import Design

__all__ = ["FaultSizes", "fault_sizes"]

Floats = NDArray[np.float64]
Numbers = NDArray[np.intp]
_ALIKE = 1.0 - 1e-3
"""A metric size is met to 0.1 %, as a conductor is."""


class FaultSizes(NamedTuple):
    """Sizes by short circuits alone, of the wires behind fuses whose rating and limits are known.

    Parameters
    ----------
    wire : ndarray of int
        Numbers of these wires in the list.
    size : ndarray
        Smallest standard size from the given least one on that stands the fault; NaN where none does.
    """

    wire: Numbers
    size: Floats


def fault_sizes(
    design: Design, system: Literal["awg", "mm2"], least: NDArray[np.floating], clear_s: float
) -> FaultSizes:
    """Smallest sizes that stand a fault at the far end of each wire, of wires whose own copper is known.

    Parameters
    ----------
    design : Design
        The design.
    system : {"awg", "mm2"}
        Which sizes to choose from.
    least : ndarray, shape (wires,)
        Size that each wire of the list needs for other reasons; NaN for none.
    clear_s : float
        Time within which a fuse should clear a fault, s.
    """
    protection, faults = protection_of(design), faults_of(design)
    # fuses of one kind together
    behind: dict[tuple[tuple[str, ...], float], list[int]] = {}
    for fuse in protection.fuses:
        if fuse.families and fuse.rating_a is not None and not fuse.output:
            of_kind = behind.setdefault((protection.families(fuse), protection.joined_a(fuse)), [])
            of_kind += protection.wires_behind.get(fuse.item.key, ())
    if not any(numbers for (families, _), numbers in behind.items() if families):
        return FaultSizes(np.empty(0, dtype=np.intp), np.empty(0))
    k2, length_m = faults.k2(), design.sizing.length_m.astype(np.float64)
    # of a wire that two ways feed, the far end may be nearer by the other one: its own copper does not count then
    ohm, own_ohm, counts = faults.loops.ohm[:, 0], faults.loops.own_ohm, faults.loops.on_way
    tried, ohm_per_m, area_mm2 = _tried(system, design.given["conductor_degc"])
    sign = -1.0 if system == "awg" else 1.0
    found: list[tuple[Numbers, Floats]] = []
    for (families, rating_a), numbers in behind.items():
        if not families:
            continue
        wires = np.unique(np.array(numbers, dtype=np.intp))  # joined fuses stand ahead of the same ones
        wires = wires[~np.isnan(ohm[wires] + own_ohm[wires] + length_m[wires])]
        counted_m = np.where(counts[wires], length_m[wires], 0.0)
        rest_ohm = ohm[wires] - np.where(counts[wires], own_ohm[wires], 0.0)
        given = sign * least[wires] * (_ALIKE if system == "mm2" else 1.0)
        start = np.where(np.isnan(given), 0, np.searchsorted(sign * tried, given))
        size, todo = np.full(len(wires), np.nan), np.arange(len(wires))
        for column in range(len(tried)):
            here = todo[start[todo] <= column]
            if not here.size:
                continue
            current_a = faults.fault_v / (rest_ohm[here] + ohm_per_m[column] * counted_m[here])
            stands_a2s = k2[wires[here]] * area_mm2[column] ** 2
            judgement = clearing(families, rating_a, current_a, stands_a2s, clear_s)
            size[here[judgement.verdict == 0]] = tried[column]
            todo = todo[np.isnan(size[todo])]
            if not todo.size:
                break
        found.append((wires, size))
    return FaultSizes(np.concatenate([one for one, _ in found]), np.concatenate([other for _, other in found]))


def _tried(system: str, t_degc: float) -> tuple[Floats, Floats, Floats]:
    """Standard sizes from thin to thick, their resistance at a temperature in Ω/m and their area in mm²."""
    awg = system == "awg"
    sizes = STANDARD_AWG if awg else metric_sizes_mm2()
    made = [awg_conductor(int(size)) if awg else metric_conductor(size) for size in sizes]
    ohm_per_m, area_mm2 = np.array([(each.ohm_per_m(t_degc), each.area_mm2) for each in made], dtype=np.float64).T
    return np.array(sizes, dtype=np.float64), ohm_per_m, area_mm2
