"""The smallest size that each wire needs: for its heat, its drop, its fuse, a short circuit and its handling.

- Heat: its effective current where it lies, as `harnessdrc.design.sizing.heating` has it, usual values for what lacks.
- Drop: of all that is allowed on a way between a post of the battery and a load, what joints, fuses, relay contacts
  and switches drop with all loads on is taken off; the rest is shared out over the wires of the way by their lengths,
  and of the ways a wire lies in the one that leaves it least counts. Where nothing is left no size does. A wire outside
  the solved circuit has the whole limit. The current is the greatest average one over the states, and no less than with
  all loads on; that of cranking has its part of the whole limit. The conductor counts as no colder than the given one.
- Fuse: a fuse may carry its rating for ever, so the wire must, and so must the wire that feeds it. A wire without a
  fuse ahead of it that leads to anything but fuses is held by nothing: no smaller size than its own is told.
- Short circuit: a fault at its own far end leaves it below its short-time limit until its fuse has cleared
  (`harnessdrc.design.sizing.fault_sizes`). Where no size does, that is for the fuse, and asks for no size of the wire.
- Handling: not below the given least size of either system.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design.sizing.fault_sizes import fault_sizes
from harnessdrc.design.sizing.fed_fuses import fed_fuses
from harnessdrc.design.sizing.loads import rows_of_parts
from harnessdrc.design.sizing.paths import paths_of
from harnessdrc.design.sizing.protection import fuse_of_wire
from harnessdrc.physics.smallest_size import GOVERNS, smallest_size

if TYPE_CHECKING:
    from harnessdrc.design import Design

__all__ = ["NEEDED_GOVERNS", "NeededSizes", "System", "allowed_drop_v", "heat_sizes", "needed_sizes"]

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
System = Literal["awg", "mm2"]

NEEDED_GOVERNS = ("", "smallest", "smallest", "heating", "drop", "fuse", "short circuit", "no fuse")
"""What decides a size, by its number in `NeededSizes`: `GOVERNS` of `physics.smallest_size` in trade words."""
_FUSE = len(GOVERNS)
_SHORT = _FUSE + 1
_UNHELD = _SHORT + 1
_THICK_AWG = 8
"""From this gauge on a wire may be bolted."""
_THIN_A_PER_MM2 = 4.0
"""Below this a wire need not be as thick as it is (common practice, no source)."""


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
    fuse_fails : ndarray of bool
        Whether no standard size stands a short circuit at the far end until the fuse has cleared it.
    """

    system: System
    size: Singles
    governs: NDArray[np.int8]
    fuse_fails: NDArray[np.bool_]


def needed_sizes(design: Design, drop_v: float, clear_s: float = 5.0) -> tuple[NeededSizes, NeededSizes]:
    """Smallest gauge and smallest cross-section of every wire, in the order of the list.

    Parameters
    ----------
    design : Design
        The design.
    drop_v : float
        Drop allowed on the whole way of a load, on its feed or on its return, V.
    clear_s : float
        Time within which a fuse should clear a short circuit, s.
    """
    length_m = design.sizing.length_m.astype(np.float64)
    limits_v = allowed_drop_v(design, length_m, drop_v)
    fuses_a = _fuses_a(design)
    awg, mm2 = (_needed(design, system, length_m, limits_v, fuses_a, clear_s) for system in ("awg", "mm2"))
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


def _needed(
    design: Design, system: System, length_m: Floats, limits_v: Floats, fuses_a: Floats, clear_s: float
) -> NeededSizes:
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
        drop_current_a=_drop_a(design),
        drop_degc=design.given["conductor_degc"],
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
    fuse_fails = np.zeros(len(length_m), dtype=np.bool_)
    shorted = fault_sizes(design, system, size, clear_s)
    fuse_fails[shorted.wire] = np.isnan(shorted.size)
    asked = shorted.size.astype(np.float32)
    thicker = asked < size[shorted.wire] if system == "awg" else asked > size[shorted.wire]
    taken = shorted.wire[thicker]
    size[taken], governs[taken] = asked[thicker], _SHORT
    _keep_unheld(design, system, size, governs)
    return NeededSizes(system, size, governs, fuse_fails)


def _keep_unheld(design: Design, system: System, size: Singles, governs: NDArray[np.int8]) -> None:
    """Leave wires that no fuse holds the size they have; in the system that is not theirs none is told."""
    number_of = design.sizing.number
    unheld = np.array([number_of[name] for name in fed_fuses(design).unheld], dtype=np.intp)
    own, other = design.sizing.awg[unheld], design.sizing.csa_mm2[unheld]
    if system == "mm2":
        own, other = other, own
    thinner = size[unheld] > own if system == "awg" else size[unheld] < own
    size[unheld[thinner]], governs[unheld[thinner]] = own[thinner], _UNHELD
    foreign = unheld[~np.isnan(other)]
    size[foreign], governs[foreign] = np.nan, _UNHELD


def _drop_a(design: Design) -> Floats:
    """Current at which the drop of each wire is judged, A; NaN where none is known."""
    found = design.sizing.average_a.astype(np.float64)
    if design.analysis.solved:
        rows = rows_of_parts(design)
        found[rows] = np.maximum(found[rows], design.drops.part_currents_a[design.circuit.wire_parts])
    return found


def _fuses_a(design: Design) -> Floats:
    """Rating that holds the current of each wire, of the fuses ahead or behind; NaN for none or an unknown one."""
    rating_of = {**fed_fuses(design).held_a, **fuse_of_wire(design)}
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
    # as the rule of drops has it: with all loads on, the battery's own resistance left out
    amps = design.drops.part_currents_a
    fixed_ohm = design.analysis.new.settled.ohm.copy()
    fixed_ohm[parts] = [circuit.parts[number].joint_ohm for number in parts.tolist()]
    bolted_mm2 = design.given["bolted_from_mm2"]
    sizing = design.sizing
    thick = (sizing.csa_mm2[rows] >= bolted_mm2) | (sizing.awg[rows] <= _THICK_AWG)
    # a joint that is bolted for the thick wire it is on is crimped on the thinner one that would do
    for number in parts[thick & (amps[parts] < _THIN_A_PER_MM2 * bolted_mm2)].tolist():
        wire = circuit.parts[number].wire
        if wire is not None and wire.a is not None and wire.b is not None:
            fixed_ohm[number] = sum(circuit.joints.wire_end(wire, end, False)[0] for end in (wire.a, wire.b))
    fixed_v = np.where(circuit.emf == 0.0, fixed_ohm * amps, 0.0)
    ways = paths_of(design)
    loads_v, whole_v = (
        np.where(np.isinf(share), drop_v, share * known_m)
        for share in (ways.least_v_per_m(part_m, taken, drop_v)[parts] for taken in (fixed_v, np.zeros(len(fixed_v))))
    )
    # cranking goes through none of the joints of the loads: it has its part of the whole
    lasting = [number for number, state in enumerate(design.states) if not state.starter]
    average_a = np.abs(design.analysis.part_currents.average[parts][:, lasting])
    lasting_a = np.maximum(amps[parts], average_a.max(axis=1, initial=0.0))
    most_a = np.maximum(lasting_a, np.nan_to_num(sizing.average_a[rows].astype(np.float64)))
    brief = most_a > lasting_a * (1 + 1e-6)
    with np.errstate(divide="ignore", invalid="ignore"):
        allowed[rows] = np.where(brief, np.fmin(whole_v, loads_v * most_a / lasting_a), loads_v)
    return allowed
