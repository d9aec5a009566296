"""Voltage drop of every load, feed and return, from the circuit solved as a whole with all loads on.

Every load draws its steady current at once, engine at rest: the state that can be measured on the bench, and one
in which no wire carries less than in any other. A shared wire carries the sum of what flows through it, a loop
shares by resistance. What is lacking is carried as a range: the circuit is solved with it at its least and at its
most.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design.circuit import BATTERY_NEGATIVE, Circuit, Node, Part
from harnessdrc.design.circuit.parts import inner_node
from harnessdrc.design.loads import Load, Loads
from harnessdrc.harness.elements import Harness, Wire
from harnessdrc.harness.names import natural_key
from harnessdrc.physics.network import Solutions, Unsolvable, prepare

__all__ = ["Drops", "LoadDrop", "WireDrop"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class WireDrop:
    """Current and drop of one wire with all loads on."""

    wire: Wire
    current_a: float
    drop_v: float


@dataclass(frozen=True, slots=True)
class LoadDrop:
    """Drop of one side of a load.

    Parameters
    ----------
    load : Load
        The load.
    drop_v : float
        Between the battery's terminal and the load's contacts, V, with what is lacking at its usual value.
    low_v, high_v : float
        Range over what is lacking, V; both `drop_v` where nothing is.
    wires : tuple of WireDrop
        Wires on the way, the one with the greatest drop first.
    lacking : tuple of str
        Data that would complete it.
    unknown : tuple of str
        Loads whose current flows on the way and is not known.
    lacking_wires : tuple of Wire
        Wires of the way without size or length.
    """

    load: Load
    drop_v: float
    low_v: float
    high_v: float
    wires: tuple[WireDrop, ...]
    lacking: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    lacking_wires: tuple[Wire, ...] = ()


@dataclass
class Drops:
    """The circuit of a design solved with all loads on."""

    harness: Harness
    loads: Loads
    circuit: Circuit
    given: Mapping[str, float]

    @cached_property
    def _currents(self) -> Floats:
        """Current of every port with what is not known at nothing, and at the most, A, shape (ports, 2)."""
        steady = {load.device.key: load.current_a for load in self.loads.all}
        amps = np.zeros((len(self.circuit.ports), 2))
        for number, port in enumerate(self.circuit.ports):
            if port.kind == "sensor":
                amps[number] = port.listed_a or 0.0
            elif port.kind == "load" and port.device is not None:
                known_a = steady[port.device.key]
                amps[number] = (0.0, self.given["unknown_current_high_a"]) if known_a is None else known_a
        return amps

    def _solved(self, ohm: Floats, amps: Floats) -> Solutions:
        network = prepare(len(self.circuit.nodes), np.column_stack((self.circuit.ends, ohm)), [0])
        if isinstance(network, Unsolvable):
            raise ArithmeticError("; ".join(network.reasons))
        solved = network.solve_many(self.circuit.injected(amps[:, None]))
        if isinstance(solved, Unsolvable):
            raise ArithmeticError("; ".join(solved.reasons))
        return solved

    @cached_property
    def _usual(self) -> tuple[Floats, Floats]:
        """Potential of every node, V, and current of every part, A, with what is lacking at its usual value."""
        solved = self._solved(self.circuit.ohm(), self._currents[:, 0])
        return solved.volts[:, 0], solved.amps[:, 0]

    @cached_property
    def _ends(self) -> tuple[Floats, Floats]:
        """Potentials with what is lacking at its least, and at its most, V."""
        parts = self.circuit.parts
        if not len(self.circuit.uncertain_parts) and (self._currents[:, 0] == self._currents[:, 1]).all():
            return self._usual[0], self._usual[0]
        ends = []
        for column, ohm in enumerate(([p.low_ohm for p in parts], [p.high_ohm for p in parts])):
            joints = [p.joint_ohm for p in parts]
            ends.append(self._solved(np.array(ohm) + np.array(joints), self._currents[:, column]).volts[:, 0])
        return ends[0], ends[1]

    @cached_property
    def _toward(self) -> dict[Node, tuple[Node, Part]]:
        """For each node the next one toward the battery by the fewest steps, and the part in between."""
        beside: dict[Node, list[tuple[Node, Part]]] = {}
        for part in self.circuit.parts:
            if part.kind != "battery":
                beside.setdefault(part.a, []).append((part.b, part))
                beside.setdefault(part.b, []).append((part.a, part))
        front: list[Node] = [BATTERY_NEGATIVE, *(p.b for p in self.circuit.parts if p.kind == "battery")]
        seen = set(front)
        toward: dict[Node, tuple[Node, Part]] = {}
        while front:
            reached: dict[Node, tuple[Node, Part]] = {}
            for node in front:
                for near, part in beside.get(node, ()):
                    if near in seen:
                        continue
                    other = reached.get(near)
                    # Of ways as short, always the same one, whatever the order of the rows.
                    if other is None or (part.name, node) < (other[1].name, other[0]):
                        reached[near] = (node, part)
            seen.update(reached)
            toward |= reached
            front = list(reached)
        return toward

    @cached_property
    def _number_of(self) -> dict[str, int]:
        """Number of the part that a wire is, by its name."""
        return {part.name: number for number, part in enumerate(self.circuit.parts) if part.wire is not None}

    @cached_property
    def _of_part(self) -> tuple[list[float], list[float]]:
        """Current, A, and drop, V, of every part, without sign."""
        volts, amps = self._usual
        first, second = self.circuit.ends.T
        return np.abs(amps).tolist(), np.abs(volts[first] - volts[second]).tolist()

    @cached_property
    def part_currents_a(self) -> Floats:
        """Current of every part with all loads on, without sign, A, shape (parts,); what is not known at nothing."""
        return np.abs(self._usual[1])

    def _wire_drop(self, wire: Wire) -> WireDrop:
        amps, volts = self._of_part
        number = self._number_of[wire.name]
        return WireDrop(wire, amps[number], volts[number])

    @cached_property
    def wires(self) -> tuple[WireDrop, ...]:
        """Current and drop of every wire that carries current, in the order of the list."""
        if self.circuit.fault is not None:
            return ()
        found = (self._wire_drop(wire) for wire in self.harness.wires if wire.name in self._number_of)
        return tuple(drop for drop in found if drop.current_a > 0.0)

    def _parts_on_the_way(self, node: Node) -> list[Part]:
        """Parts from a node to the battery, by the fewest steps."""
        parts = []
        while node in self._toward:
            node, part = self._toward[node]
            parts.append(part)
        return parts

    def _way(self, node: Node) -> list[Wire]:
        """Wires from a node to the battery, by the fewest steps."""
        return [part.wire for part in self._parts_on_the_way(node) if part.wire is not None]

    @cached_property
    def _unknown_currents(self) -> dict[str, list[str]]:
        """Wire → names of the loads on it whose current is not known."""
        found: dict[str, list[str]] = {}
        for load in self.loads.all:
            if load.current_a is None:
                for side in ("feed of", "ground of"):
                    for wire in self._way(inner_node(side, load.device.key)):
                        found.setdefault(wire.name, []).append(load.device.name)
        return found

    def _reached(self, node: Node) -> bool:
        return self.circuit.fault is None and node in self._toward

    def _side(self, load: Load, node: Node) -> LoadDrop | None:
        if not self._reached(node):
            return None
        at = self.circuit.node_number[node]
        end = node
        while end in self._toward:
            end = self._toward[end][0]
        post = self.circuit.node_number[end]
        drops = sorted(abs(float(volts[at] - volts[post])) for volts in (self._usual[0], *self._ends))
        parts = self._parts_on_the_way(node)
        wires = [part.wire for part in parts if part.wire is not None]
        way = [self._wire_drop(wire) for wire in wires]
        way.sort(key=lambda drop: (-round(drop.drop_v, 9), natural_key(drop.wire.name)))
        lacking = [w for w in wires if w.size is None or w.length_m is None]
        missing = [what for part in parts for what in part.lacking]
        unknown = sorted({name for w in wires for name in self._unknown_currents.get(w.name, ())})
        missing += [f"current of {name}" for name in unknown]
        usual_v = abs(float(self._usual[0][at] - self._usual[0][post]))
        return LoadDrop(load, usual_v, drops[0], drops[-1], tuple(way), tuple(missing), tuple(unknown), tuple(lacking))

    def feed(self, load: Load) -> LoadDrop | None:
        """Drop from the battery's positive terminal to a load; None when it is not reached."""
        return self._side(load, inner_node("feed of", load.device.key))

    def returns(self, load: Load) -> bool:
        """Whether a load's return reaches the battery's negative terminal."""
        return self._reached(inner_node("ground of", load.device.key))

    def back(self, load: Load) -> LoadDrop | None:
        """Drop from a load's return to the battery's negative terminal; None when it is not reached."""
        return self._side(load, inner_node("ground of", load.device.key))
