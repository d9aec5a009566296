"""The circuit solved in every operating state, with the machines that do not draw a fixed current.

A starter and a heater are resistances. Electronics draw a constant current down to their lowest voltage and fade
to nothing below it. An alternator gives the charge and all loads, at most its rating, as long as it stays under
its regulated voltage. Each of them is a line ``I = (V - E) / R`` between its terminals; with the responses of the
rest of the circuit to one ampere at each of them their currents follow from a small set of equations, without
another factorization. Then every one is held as the current it has, so that superposition is exact.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design.analysis.currents import PortCurrents
from harnessdrc.design.circuit import Circuit
from harnessdrc.physics.network import Network, Unsolvable, prepare
from harnessdrc.physics.operation import OperatingState

__all__ = ["Settled", "currents_of", "settle"]

Floats = NDArray[np.float64]

_PASSES = 12
_NODES_AT_ONCE = 120_000
"""Nodes times states that are solved at once."""


class Settled(NamedTuple):
    """A circuit solved for one set of resistances.

    Parameters
    ----------
    circuit : Circuit
        What was solved.
    network : Network
        Its network with these resistances, ready for more.
    ohm : ndarray, shape (parts,)
        Resistance of every part, Ω.
    average_a : ndarray, shape (ports, states)
        Current of every port on average, A; of an alternator negative.
    steady_a : ndarray, shape (ports, states)
        The same with those that pulse at nothing.
    on_a : ndarray, shape (ports, states)
        What a port draws beyond `steady_a` at an instant: a pulsing unit while it is on, a steady one at inrush, A.
    volts, steady_volts : ndarray, shape (nodes, states)
        Potentials against the battery's negative post with `average_a` and with `steady_a`, V.
    amps, steady_amps : ndarray, shape (parts, states)
        Current from the first to the second node of every part, A.
    emf_v : ndarray, shape (states,)
        Voltage of the battery behind its inner resistance, V.
    low_supply : ndarray of bool, shape (ports, states)
        Electronics whose supply lies below what they work with.
    """

    circuit: Circuit
    network: Network
    ohm: Floats
    average_a: Floats
    steady_a: Floats
    on_a: Floats
    volts: Floats
    steady_volts: Floats
    amps: Floats
    steady_amps: Floats
    emf_v: Floats
    low_supply: NDArray[np.bool_]


def settle(
    circuit: Circuit,
    ohm: Floats,
    currents: PortCurrents,
    states: Sequence[OperatingState],
    given: Mapping[str, float],
) -> Settled | Unsolvable:
    """Solve a circuit in every state.

    Parameters
    ----------
    circuit : Circuit
        Parts and ports.
    ohm : ndarray, shape (parts,)
        Resistance of every part, Ω.
    currents : PortCurrents
        Of the ports in these states.
    states : sequence of OperatingState
        States.
    given : mapping of str to float
        Values taken as given.
    """
    branches = np.column_stack((circuit.ends, ohm))
    names = [" ".join(node).strip() for node in circuit.nodes]
    network = prepare(names, branches, [0], emf_v=circuit.emf)
    if isinstance(network, Unsolvable):
        return network
    emf_v = np.array([state.battery_v for state in states])
    machines = _Machines(circuit, network, currents, states, given, emf_v)
    average_a, low_supply = machines.settle()
    if isinstance(average_a, Unsolvable):
        return average_a
    pulsing = (currents.group >= 0)[:, None]
    steady_a = np.where(pulsing, 0.0, average_a)
    constant = (machines.starters | machines.alternators | machines.resisting)[:, None] | low_supply
    on_a = np.where(constant, 0.0, np.maximum(currents.instant - steady_a, 0.0))
    both = currents_of(network, circuit, np.hstack((average_a, steady_a)), np.tile(emf_v, 2))
    if isinstance(both, Unsolvable):
        return both
    volts, amps = both
    count = len(states)
    return Settled(
        circuit, network, ohm, average_a, steady_a, on_a,
        volts[:, :count], volts[:, count:], amps[:, :count], amps[:, count:],
        emf_v, low_supply,
    )  # fmt: skip


def currents_of(
    network: Network, circuit: Circuit, port_a: Floats, emf_v: Floats
) -> tuple[Floats, Floats] | Unsolvable:
    """Potentials and currents for the currents of all ports in several states.

    In a large circuit few states are solved at once: what is held meanwhile is many times the result.
    """
    states = port_a.shape[1]
    at_once = max(1, _NODES_AT_ONCE // len(circuit.nodes))
    volts, amps = np.empty((len(circuit.nodes), states)), np.empty((len(circuit.parts), states))
    for start in range(0, states, at_once):
        some = slice(start, start + at_once)
        solved = network.solve_many(circuit.injected(port_a[:, some]), emf_scale=emf_v[some])
        if isinstance(solved, Unsolvable):
            return solved
        volts[:, some], amps[:, some] = solved.volts, solved.amps
    return volts, amps


class _Machines:
    """Ports that do not draw a fixed current, brought into balance with the rest."""

    def __init__(
        self,
        circuit: Circuit,
        network: Network,
        currents: PortCurrents,
        states: Sequence[OperatingState],
        given: Mapping[str, float],
        emf_v: Floats,
    ) -> None:
        self.circuit, self.network, self.currents, self.states = circuit, network, currents, states
        self.given, self.emf_v = given, emf_v
        ports = circuit.ports
        models = [port.figures.model if port.figures else "steady" for port in ports]
        self.starters = np.array([p.kind == "starter" for p in ports], dtype=np.bool_)
        self.alternators = circuit.alternators
        self.resisting = np.array([m == "resistance" for m in models], dtype=np.bool_) & ~self.starters
        self.electronics = np.array([m == "electronics" for m in models], dtype=np.bool_)
        self.least_v = np.array([p.figures.min_v if p.figures else 0.0 for p in ports])
        # 1 where a port gives way along a line, with its E and R
        shape = len(ports), len(states)
        self.lines = np.zeros(shape, dtype=np.bool_)
        self.line_v, self.line_ohm = np.zeros(shape), np.ones(shape)
        self.responses: dict[int, Floats] = {}

    def _line(self, port: int, state: int, volts: float, ohm: float) -> None:
        self.lines[port, state] = True
        self.line_v[port, state], self.line_ohm[port, state] = volts, ohm

    def settle(self) -> tuple[Floats | Unsolvable, NDArray[np.bool_]]:
        """Current of every port on average, and whose supply is too low."""
        amps = self.currents.average.copy()
        for state, each in enumerate(self.states):
            for port in np.flatnonzero(self.starters).tolist():
                figure_a = self.currents.average[port, state]
                if each.starter and figure_a > 0:
                    self._line(port, state, 0.0, self.given["starter_v"] / figure_a)
                amps[port, state] = 0.0
            for port in np.flatnonzero(self.resisting).tolist():
                if amps[port, state] > 0:
                    self._line(port, state, 0.0, self.given["heater_v"] / amps[port, state])
        low = np.zeros(amps.shape, dtype=np.bool_)
        first, second = self.circuit.port_nodes[:, 0], self.circuit.port_nodes[:, 1]
        for _ in range(_PASSES):
            self._share_out(amps)
            free = np.where(self.lines, 0.0, amps)
            solved = currents_of(self.network, self.circuit, free, self.emf_v)
            if isinstance(solved, Unsolvable):
                return solved, low
            volts = solved[0][first] - solved[0][second]
            before = amps.copy()
            for state in np.flatnonzero(self.lines.any(axis=0)).tolist():
                self._balance(state, amps, volts)
            changed = self._regimes(amps, volts, low)
            if not changed and np.allclose(amps, before, rtol=1e-12, atol=1e-12):
                break
        return amps, low

    def _share_out(self, amps: Floats) -> None:
        """Alternators give the charge and all loads between them, at most their rating."""
        count = int(self.alternators.sum())
        if not count:
            return
        for state, each in enumerate(self.states):
            if not each.alternator:
                amps[self.alternators, state] = 0.0
                continue
            wanted = (each.charge_a + amps[~self.alternators, state].sum()) / count
            rated = self.currents.average[self.alternators, state]
            open_ = ~self.lines[self.alternators, state]
            amps[self.alternators, state] = np.where(
                open_, -np.minimum(wanted, np.where(rated > 0, rated, wanted)), amps[self.alternators, state]
            )

    def _response(self, port: int) -> Floats:
        """Voltage over every port per ampere that this one draws, with the sign turned, Ω."""
        if port not in self.responses:
            first, second = self.circuit.port_nodes[:, 0], self.circuit.port_nodes[:, 1]
            volts = self.network.unit_volts(first[[port]], second[[port]])[:, 0]
            self.responses[port] = volts[first] - volts[second]
        return self.responses[port]

    def _balance(self, state: int, amps: Floats, volts: Floats) -> None:
        """Currents of the ports on lines: ``(Z + R) I = V - E``, V being the voltages without them."""
        lines = np.flatnonzero(self.lines[:, state])
        z = np.array([self._response(int(port))[lines] for port in lines]).T
        free_v = volts[lines, state]
        found = np.linalg.solve(
            z + np.diag(self.line_ohm[lines, state]), free_v - self.line_v[lines, state]
        )
        amps[lines, state] = found
        for port, current_a in zip(lines.tolist(), found.tolist(), strict=True):
            volts[:, state] -= self._response(port) * current_a

    def _regimes(self, amps: Floats, volts: Floats, low: NDArray[np.bool_]) -> bool:
        """Electronics that lose their supply, alternators that reach their voltage; whether any changed."""
        changed = False
        for port in np.flatnonzero(self.electronics).tolist():
            weak = (volts[port] < self.least_v[port]) & ~self.lines[port] & (amps[port] > 0)
            for state in np.flatnonzero(weak).tolist():
                self._line(port, state, 0.0, self.least_v[port] / amps[port, state])
                low[port, state] = changed = True
        ceiling_v = self.given["alternator_v"]
        inner_ohm = self.given["alternator_inner_mohm"] / 1000
        for port in np.flatnonzero(self.alternators).tolist():
            for state in np.flatnonzero(self.lines[port]).tolist():
                if amps[port, state] > 0:  # it gives, and never takes
                    self.lines[port, state], amps[port, state], changed = False, 0.0, True
            over = (volts[port] > ceiling_v + 1e-9) & (amps[port] < 0) & ~self.lines[port]
            for state in np.flatnonzero(over).tolist():
                self._line(port, state, ceiling_v, inner_ohm)
                changed = True
        return changed
