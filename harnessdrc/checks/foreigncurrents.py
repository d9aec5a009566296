"""Current in the sensor-ground wires of a controller that is not the sensors' own, and whose it is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from harnessdrc.checks.offsets import CHARGE_AND_LOADS
from harnessdrc.design import Design, Net
from harnessdrc.design.analysis.offsets import BATTERY
from harnessdrc.design.analysis.settled import currents_of
from harnessdrc.harness.elements import Wire
from harnessdrc.harness.names import natural_key
from harnessdrc.physics.network import Unsolvable

__all__ = ["Foreign", "foreign_currents", "wires_of"]

Floats = NDArray[np.float64]

_TOLD = 6
_ALIKE_A = 1e-9


@dataclass(frozen=True, slots=True)
class Foreign:
    """The wire of a net that carries most of what is not its sensors' own.

    Parameters
    ----------
    wire : Wire
        The wire.
    state : str
        Operating state.
    amps : float
        What it carries beside the sensors' own current, A.
    whole_a : float
        What it carries in all at that instant, A.
    sources : tuple of (str, float)
        Whose current it is, on average in that state, the greatest first, A.
    """

    wire: Wire
    state: str
    amps: float
    whole_a: float
    sources: tuple[tuple[str, float], ...]


def wires_of(design: Design, net: Net) -> list[Wire]:
    """Wires of a net with both ends, those to its earth points too, by name."""
    wires = {id(wire): wire for contact in net.contacts for wire in design.net.wires_at[contact]}
    return sorted(
        (w for w in wires.values() if w.a is not None and w.b is not None), key=lambda wire: natural_key(wire.name)
    )


def foreign_currents(design: Design, nets: Mapping[int, Net], above_a: float) -> dict[int, Foreign]:
    """The worst wire of every net that has one with more foreign current than `above_a`, by the net's number."""
    analysis = design.analysis
    circuit = analysis.circuit
    part_of = {id(part.wire): number for number, part in enumerate(circuit.parts) if part.wire is not None}
    found = [(number, wire) for number, net in nets.items() for wire in wires_of(design, net) if id(wire) in part_of]
    if not found:
        return {}
    parts = np.array([part_of[id(wire)] for _, wire in found], dtype=np.intp)
    settled = analysis.new.settled
    average_a = np.nan_to_num(settled.amps[parts])
    peak_a = np.nan_to_num(analysis.part_currents.peak[parts])
    # what the sensors draw themselves, in each of these parts
    sensors = np.array([port.kind == "sensor" for port in circuit.ports], dtype=np.bool_)
    drawn = np.where(sensors[:, None], settled.average_a, 0.0)
    alone = currents_of(settled.network, circuit, drawn, np.zeros(len(analysis.states)))
    if isinstance(alone, Unsolvable):
        raise ArithmeticError("; ".join(alone.reasons))
    own = np.nan_to_num(alone[1][parts])
    foreign = np.maximum(np.abs(average_a - own), peak_a - np.abs(own))
    worst: dict[int, tuple[float, int, int]] = {}
    for at, (number, _) in enumerate(found):
        amps = float(foreign[at].max())
        # Of states that are alike the first stands, whatever the last digits say.
        state = int(np.flatnonzero(foreign[at] >= amps - _ALIKE_A)[0])
        # Of wires that carry the same the first by name stands.
        if amps > above_a and amps > worst.get(number, (0.0, 0, 0))[0] + _ALIKE_A:
            worst[number] = amps, at, state
    rows = [at for _, at, _ in worst.values()]
    sources = _sources(design, parts[rows], [state for _, _, state in worst.values()])
    return {
        number: Foreign(found[at][1], analysis.states[state].name, amps, float(peak_a[at, state]), told)
        for (number, (amps, at, state)), told in zip(worst.items(), sources, strict=True)
    }


def _sources(design: Design, parts: NDArray[np.intp], states: Sequence[int]) -> list[tuple[tuple[str, float], ...]]:
    """Whose current flows in each of some parts, each in one state: one ampere of every port, times its current.

    By reciprocity the current of a part for one ampere of a port is what one ampere between the part's ends makes
    between the port's, over the part's resistance.
    """
    analysis = design.analysis
    settled, circuit = analysis.new.settled, analysis.circuit
    found = []
    feed, back = circuit.port_nodes.T
    for part, state in zip(parts.tolist(), states, strict=True):
        first, second = circuit.ends[[part]].T
        volts = settled.network.unit_volts(first, second)[:, 0]
        share = (volts[back] - volts[feed]) / max(float(settled.ohm[part]), 1e-12)
        on_a = np.where(analysis.currents.group >= 0, 0.0, settled.on_a[:, state])
        amps = share * (settled.average_a[:, state] + on_a)
        named: dict[str, float] = {}
        for port, value in zip(circuit.ports, amps.tolist(), strict=True):
            if port.kind != "sensor":
                name = CHARGE_AND_LOADS if port.kind == "alternator" else port.name
                named[name] = named.get(name, 0.0) + value
        batteries = np.flatnonzero(circuit.emf)
        plus, minus = circuit.ends[batteries].T[1], circuit.ends[batteries].T[0]
        per_volt = float(((volts[plus] - volts[minus]) / settled.ohm[batteries]).sum())
        named[BATTERY] = per_volt * float(settled.emf_v[state]) / max(float(settled.ohm[part]), 1e-12)
        lines = [(name, round(value, 6)) for name, value in named.items()]
        lines.sort(key=lambda line: (-abs(line[1]), line[0]))
        least = 0.01 * abs(lines[0][1]) if lines else 0.0
        found.append(tuple(line for line in lines[:_TOLD] if abs(line[1]) >= least and line[1]))
    return found
