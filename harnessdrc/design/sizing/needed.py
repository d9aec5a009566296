"""The smallest size that each wire needs: for its heat, its drop, its fuse and its handling.

- Heat: its effective current where it lies, as `harnessdrc.design.sizing.heating` has it, usual values for what lacks.
- Drop: all that is allowed on a way between a post of the battery and a load is shared out over the wires of the way by
  their lengths, so that a wire may take the part of the limit that its length is of the longest way it lies in. Joints
  are not counted. A wire outside the solved circuit has the whole limit. The current is the greatest average one over
  the states, cranking with all of it.
- Fuse: a fuse may carry its rating for ever, so the wire must.
- Handling: not below the given least size of either system.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design.sizing.loads import rows_of_parts
from harnessdrc.design.sizing.paths import Paths
from harnessdrc.physics.ampacity import GOVERNS, smallest_size

if TYPE_CHECKING:
    from harnessdrc.design import Design

__all__ = ["NEEDED_GOVERNS", "NeededSizes", "System", "allowed_drop_v", "heat_sizes", "needed_sizes"]

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
System = Literal["awg", "mm2"]

NEEDED_GOVERNS = ("", "smallest", "smallest", "heating", "drop", "fuse")
"""What decides a size, by its number in `NeededSizes`: `GOVERNS` of `harnessdrc.physics.ampacity` in trade words."""
_FUSE = len(GOVERNS)


class NeededSizes(NamedTuple):
    """Smallest sizes of all wires in one system.

    Parameters
    ----------
    system : {"awg", "mm2"}
        Unit of `size`.
    size : ndarray
        NaN where none is enough or data is lacking.
    governs : ndarray of int
        Number into `NEEDED_GOVERNS`.
    """

    system: System
    size: Singles
    governs: NDArray[np.int8]


def needed_sizes(design: Design, drop_v: float) -> tuple[NeededSizes, NeededSizes]:
    """Smallest gauge and smallest cross-section of every wire, in the order of the list.

    Parameters
    ----------
    design : Design
        The design.
    drop_v : float
        Drop allowed on the whole way of a load, on its feed or on its return, V.
    """
    length_m = design.sizing.length_m.astype(np.float64)
    limits_v = allowed_drop_v(design, length_m, drop_v)
    fuses_a = _fuses_a(design)
    awg, mm2 = (_needed(design, system, length_m, limits_v, fuses_a) for system in ("awg", "mm2"))
    return awg, mm2


def heat_sizes(design: Design, system: System, numbers: NDArray[np.intp], current_a: Floats) -> Floats:
    """Smallest size that carries a current where a wire lies, for its heat alone; NaN where none does.

    Parameters
    ----------
    numbers : ndarray of int
        Wires, by their numbers in the list.
    current_a : ndarray
        Current of each of them, A.
    """
    sizing = design.sizing
    return smallest_size(
        system,
        current_a,
        sizing.ambient_degc[numbers],
        sizing.rated_degc[numbers],
        sizing.bundle_wires[numbers],
        sizing.bundle_loading[numbers],
        0.0,
        np.inf,
        height_m=design.given["height_m"],
        floor=design.given[f"least_{system}"],
    ).size


def _needed(design: Design, system: System, length_m: Floats, limits_v: Floats, fuses_a: Floats) -> NeededSizes:
    sizing = design.sizing
    found = smallest_size(
        system,
        sizing.current_a,
        sizing.ambient_degc,
        sizing.rated_degc,
        sizing.bundle_wires,
        sizing.bundle_loading,
        length_m,
        limits_v,
        drop_current_a=sizing.average_a,
        height_m=design.given["height_m"],
        floor=design.given[f"least_{system}"],
    )
    size, governs = found.size.astype(np.float32), np.zeros(len(length_m), dtype=np.int8)
    for number, name in enumerate(GOVERNS):
        governs[found.governs == name] = number
    fused = np.flatnonzero(~np.isnan(fuses_a))
    if fused.size:
        fuse_size = heat_sizes(design, system, fused, fuses_a[fused]).astype(np.float32)
        known = governs[fused] != 0
        thicker = fuse_size < size[fused] if system == "awg" else fuse_size > size[fused]
        taken = fused[known & (thicker | np.isnan(fuse_size))]
        size[taken] = fuse_size[known & (thicker | np.isnan(fuse_size))]
        governs[taken] = _FUSE
    return NeededSizes(system, size, governs)


def _fuses_a(design: Design) -> Floats:
    """Rating of the fuse that protects each wire, NaN for none or an unknown one."""
    from harnessdrc.design.sizing.protection import fuse_of_wire

    rating_of = fuse_of_wire(design)
    return np.array([rating_of.get(wire.name, np.nan) for wire in design.harness.wires], dtype=np.float64)


def allowed_drop_v(design: Design, length_m: Floats, drop_v: float) -> Floats:
    """What each wire may drop, V: its part of the longest way it lies in times what is allowed on the whole.

    Parameters
    ----------
    length_m : ndarray, shape (wires,)
        Length of each wire; for one without, the given usual length stands in the ways of the others.
    drop_v : float
        As `needed_sizes`.
    """
    allowed = np.full(len(length_m), drop_v)
    if not design.analysis.solved:
        return allowed
    circuit = design.circuit
    parts = circuit.wire_parts
    rows = rows_of_parts(design)
    known_m = np.where(np.isnan(length_m), design.given["missing_length_usual_m"], length_m)[rows]
    part_m = np.zeros(len(circuit.parts))
    part_m[parts] = known_m
    way_m = Paths(circuit, design.analysis.new.settled.ohm).longest_m(part_m)[parts]
    share = np.where(way_m > 0.0, known_m / np.where(way_m > 0.0, way_m, 1.0), 1.0)
    allowed[rows] = drop_v * share
    return allowed
