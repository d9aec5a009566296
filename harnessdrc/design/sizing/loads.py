"""What heats every wire: its effective current in each operating state.

The circuit gives the average current of each wire. What pulses heats more than its average: of a current that is on or
off the mean square is ``peak² × duty``, of one that rises in a ramp ``peak² × duty / 3``. With the average of one unit
that is ``peak × average`` and ``2/3 × peak × average``. The units of a wire are taken as independent of each other:
the square of its effective current is the square of its average plus the variances of the units, each times the square
of the share of it that flows there. Units that take turns are less than that, so it is held to the greatest current
at an instant (source: definitions of mean and effective value).

Cranking does not last until a wire is as hot as its current makes it. A state in which the starter turns counts with
``√(1 - exp(-t / T))`` of its current, with the given longest cranking t and the time constant T of the wire.

The output of an alternator with a listed rating carries that rating in one state that lasts: a flat battery takes it.

A wire outside the solved circuit carries its listed current; the signal wires among them carry next to nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design.sizing.columns import WireColumns, time_constant_s
from harnessdrc.design.sizing.paths import Paths, paths_of
from harnessdrc.harness.elements import Contact
from harnessdrc.harness.vocabulary import is_sensor

if TYPE_CHECKING:
    from harnessdrc.design import Design

__all__ = ["AS_LISTED", "NO_STATE", "WireCurrents", "charging_a", "rows_of_parts", "wire_currents"]

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Numbers = NDArray[np.intp]

NO_STATE, AS_LISTED = -1, -2
"""In place of the number of a state: no current is known; the list alone gives it."""

_KEPT = "rows of wires"
_SIGNALS = frozenset(
    {
        "sensor supply", "sensor ground", "analogue signal", "temperature signal", "trigger signal +",
        "trigger signal -", "coil input", "CAN high", "CAN low", "shield drain", "digital signal", "spare",
    }
)  # fmt: skip
"""Roles of wires that carry milliamperes at the most."""
_ELSEWHERE = frozenset({"battery", "alternator", "starter", "controller"})
"""Kinds whose listed current flows in no signal wire."""
_RAMP = 2.0 / 3.0
_PORTS_AT_ONCE = 128
_EXACT = 4_000_000
"""Pulsing units times parts up to which their shares are worked out by resistance; beyond, by the fewest steps."""
_NEXT_TO_NOTHING_A = 1e-3


class WireCurrents(NamedTuple):
    """Currents of all wires, A; NaN where not known.

    Parameters
    ----------
    effective : ndarray, shape (wires, states)
        What heats them in each state; a wire that only the list knows has its listed current in every state.
    average, peak : ndarray, shape (wires,)
        Greatest over the states: the average, without regard to time, and that at an instant.
    state : ndarray of int, shape (wires,)
        State of the greatest effective current, or `NO_STATE`, `AS_LISTED`.
    unknown_a : ndarray, shape (wires,)
        What loads whose current is not known may add at the most.
    """

    effective: Singles
    average: Singles
    peak: Singles
    state: NDArray[np.int8]
    unknown_a: Singles


def wire_currents(design: Design, columns: WireColumns) -> WireCurrents:
    """Currents of all wires of a design."""
    wires = design.harness.wires
    states = max(len(design.states), 1)
    effective = np.full((len(wires), states), np.nan, dtype=np.float32)
    average, peak = (np.full(len(wires), np.nan, dtype=np.float32) for _ in range(2))
    unknown_a = np.zeros(len(wires), dtype=np.float32)
    if design.analysis.solved:
        circuit = design.circuit
        parts = circuit.wire_parts
        rows = rows_of_parts(design)
        found = design.analysis.part_currents
        variance, unknown_a[rows] = _spread_over(design, parts)
        lasting = _lasting(design, columns, rows)
        average[rows], peak[rows] = 0.0, 0.0
        for number, operating in enumerate(design.states):
            average_a, peak_a = np.abs(found.average[parts, number]), found.peak[parts, number]
            heats = np.maximum(average_a, np.minimum(np.sqrt(average_a**2 + variance[:, number]), peak_a))
            effective[rows, number] = heats * lasting if operating.starter else heats
            average[rows], peak[rows] = np.maximum(average[rows], average_a), np.maximum(peak[rows], peak_a)
        charged_a, charging = charging_a(design)
        if charging >= 0:
            charged = charged_a[parts]
            average[rows], peak[rows] = np.maximum(average[rows], charged), np.maximum(peak[rows], charged)
            effective[rows, charging] = np.maximum(effective[rows, charging], charged)
    effective[~columns.single] = np.nan
    state = _states(effective)
    listed = np.array([np.nan if wire.current_a is None else abs(wire.current_a) for wire in wires], dtype=np.float32)
    carries = np.nan_to_num(np.max(effective, axis=1, initial=0.0)) > _NEXT_TO_NOTHING_A
    taken = columns.single & ~np.isnan(listed) & ~carries
    for values in (average, peak):
        values[taken] = listed[taken]
    effective[taken] = listed[taken, None]
    state[taken] = AS_LISTED
    _signals(design, effective, average, peak)
    return WireCurrents(effective, average, peak, state, unknown_a)


def charging_a(design: Design) -> tuple[Floats, int]:
    """Rating of the listed alternators in every part between their outputs and the battery, and its state.

    The battery of the figures takes less than a flat one may: the output has to carry what the alternator gives.

    Returns
    -------
    ndarray, shape (parts,)
        A; 0 for all other parts.
    int
        Number of the state that lasts in which they give most; -1 where no alternator lists its rating.
    """
    circuit, settled = design.circuit, design.analysis.new.settled
    found = np.zeros(len(circuit.parts))
    posts = circuit.ends[circuit.emf != 0.0, 1]
    ports = [
        number for number, port in enumerate(circuit.ports)
        if port.kind == "alternator" and port.device is not None and port.listed_a
        and len(posts) and circuit.port_nodes[number, 0] != posts[0]
    ]  # fmt: skip
    lasting = [number for number, state in enumerate(design.states) if not state.starter]
    if not ports or not lasting:
        return found, -1
    for port in ports:
        units = settled.network.unit_currents(circuit.port_nodes[[port], 0], posts[:1])
        carried = np.abs(units.amps) * (circuit.ports[port].listed_a or 0.0)
        found += np.bincount(units.branch, carried, len(found))
    # the battery itself takes what it takes
    found[circuit.emf != 0.0] = 0.0
    given_a = np.abs(settled.steady_a[ports][:, lasting]).sum(axis=0)
    return found, lasting[int(np.argmax(given_a >= given_a.max() * (1 - 1e-9)))]


def rows_of_parts(design: Design) -> Numbers:
    """Number in the list of each wire that is a part of the circuit, in the order of `Circuit.wire_parts`.

    Worked out once and kept with the design: both have the order of the list.
    """
    kept: dict[str, Any] = design.analysis.kept
    if _KEPT not in kept:
        parts, wires = design.circuit.parts, design.harness.wires
        rows, row = [], 0
        for number in design.circuit.wire_parts.tolist():
            wire = parts[number].wire
            while wires[row] is not wire:
                row += 1
            rows.append(row)
        kept[_KEPT] = np.array(rows, dtype=np.intp)
    found: Numbers = kept[_KEPT]
    return found


def _states(effective: Singles) -> NDArray[np.int8]:
    """State of the greatest current of each wire; of states that are alike the first."""
    known = ~np.isnan(effective).any(axis=1)
    state = np.full(len(effective), NO_STATE, dtype=np.int8)
    most = effective[known].max(axis=1, keepdims=True, initial=0.0)
    state[known] = np.argmax(effective[known] >= most * np.float32(1.0 - 1e-6), axis=1)
    state[known] = np.where(most[:, 0] > _NEXT_TO_NOTHING_A, state[known], NO_STATE)
    return state


def _signals(design: Design, *currents: Singles) -> None:
    """Put nothing where a signal wire has no current of its own."""
    of, wires = design.roles.of, design.harness.wires
    unknown = np.flatnonzero(np.isnan(currents[0][:, 0]))
    drawing = _drawing(design)
    signal = [
        wire.cores == 1
        and ((wire.a is not None and of.get(wire.a) in _SIGNALS) or (wire.b is not None and of.get(wire.b) in _SIGNALS))
        and not (wire.a in drawing or wire.b in drawing)
        for wire in (wires[number] for number in unknown.tolist())
    ]
    rows = unknown[np.array(signal, dtype=np.bool_)]
    for values in currents:
        values[rows] = 0.0


def _drawing(design: Design) -> set[Contact | None]:
    """Contacts of devices with a listed current that comes in by none of their feeds: by a wire named as a signal."""
    loads = {load.device.key for load in design.loads.all}
    return {
        contact
        for device in design.devices.all
        if device.item.current_a and device.key not in loads and device.kind not in _ELSEWHERE
        and not is_sensor(device.kind)
        for contact in device.contacts
    }  # fmt: skip


def _lasting(design: Design, columns: WireColumns, rows: Numbers) -> Floats:
    """Share of the current of each wire while the starter turns that counts for its heat; 1 where its size lacks."""
    constant_s = time_constant_s(columns.csa_mm2[rows], columns.awg[rows])
    share = np.sqrt(-np.expm1(-design.given["cranking_s"] / constant_s))
    return np.where(np.isnan(share), 1.0, share)


def _spread_over(design: Design, parts: Numbers) -> tuple[Singles, Singles]:
    """Variance of the current of some parts in each state, A²; what unknown loads may add to them, A."""
    analysis = design.analysis
    currents = analysis.currents
    pulsing = np.flatnonzero(currents.group >= 0)
    form = np.array([_RAMP if _ramps(design, port) else 1.0 for port in pulsing.tolist()])[:, None]
    mean, on = currents.average[pulsing], currents.instant[pulsing]
    variance = np.maximum(form * on * mean - mean**2, 0.0)
    unknown = np.flatnonzero(currents.unknown)
    most = np.full((len(unknown), 1), design.given["unknown_current_high_a"])
    paths = paths_of(design)
    return (
        _on_parts(design, paths, parts, pulsing, variance, 2),
        _on_parts(design, paths, parts, unknown, most, 1)[:, 0],
    )


def _ramps(design: Design, port: int) -> bool:
    figures = design.circuit.ports[port].figures
    return figures is not None and figures.model == "ramp"


def _on_parts(design: Design, paths: Paths, parts: Numbers, ports: Numbers, values: Floats, power: int) -> Singles:
    """Sum over ports of their values times a power of the share of their current, for some parts, (parts, columns)."""
    circuit = design.circuit
    found = np.zeros((len(parts), values.shape[1]), dtype=np.float32)
    if not len(ports):
        return found
    feed, back = circuit.port_nodes[ports].T
    if len(ports) * len(circuit.parts) > _EXACT:
        for column in range(values.shape[1]):
            at_node = np.zeros(len(circuit.nodes))
            at_node += np.bincount(feed, values[:, column], len(circuit.nodes))
            at_node += np.bincount(back, values[:, column], len(circuit.nodes))
            found[:, column] = paths.summed(at_node)[parts]
        return found
    network = design.analysis.new.settled.network
    total = np.zeros((len(circuit.parts), values.shape[1]))
    for first in range(0, len(ports), _PORTS_AT_ONCE):
        some = slice(first, first + _PORTS_AT_ONCE)
        units = network.unit_currents(back[some], feed[some])
        share = np.abs(units.amps) ** power
        for column in range(values.shape[1]):
            total[:, column] += np.bincount(units.branch, share * values[units.pair + first, column], len(total))
    found[:] = total[parts]
    return found
