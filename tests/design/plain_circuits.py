"""The circuit of a design solved once more, with nothing of the product but its parts and ports: dense, one matrix.

Parts without resistance make their nodes one; every other part is a conductance; batteries are sources in theirs.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from harnessdrc.design.analysis.currents import PortCurrents
from harnessdrc.design.analysis.victims import Victim
from harnessdrc.design.circuit import Circuit
from harnessdrc.physics.operation import OperatingState


class PlainCircuit:
    """Parts with these resistances, Ω, ready for any currents at the ports.

    `lines` are machines that draw ``(V - E) / R``: number of the port, E and R, stamped like any other part.
    """

    def __init__(self, circuit: Circuit, ohm: np.ndarray, lines: Sequence[tuple[int, float, float]] = ()) -> None:
        self.circuit, self.lines = circuit, lines
        self.ohm = np.array([*ohm, *(r for _, _, r in lines)], dtype=float)
        self.number = {node: n for n, node in enumerate(circuit.nodes)}
        joined = [(part.a, part.b) for part in circuit.parts]
        joined += [(circuit.ports[port].feed, circuit.ports[port].back) for port, _, _ in lines]
        self.first = np.array([self.number[a] for a, _ in joined])
        self.second = np.array([self.number[b] for _, b in joined])
        self.battery = np.array([part.kind == "battery" for part in circuit.parts] + [False] * len(lines))
        self.against_v = np.array([0.0] * len(circuit.parts) + [e for _, e, _ in lines])
        self.feed = np.array([self.number[port.feed] for port in circuit.ports])
        self.back = np.array([self.number[port.back] for port in circuit.ports])
        self.same = self._merged()
        kept = sorted(set(self.same) - {self.same[0]})
        self.row = np.full(len(self.same), -1)
        for n, group in enumerate(kept):
            self.row[np.array(self.same) == group] = n
        size = len(kept)
        matrix = np.zeros((size + 1, size + 1))
        for a, b, r in zip(self.row[self.first], self.row[self.second], self.ohm, strict=True):
            if r > 0 and a != b:
                matrix[[a, b], [a, b]] += 1 / r
                matrix[[a, b], [b, a]] -= 1 / r
        self.inverse = np.linalg.inv(matrix[:size, :size]) if size else np.zeros((0, 0))

    def _merged(self) -> list[int]:
        same = list(range(len(self.number)))

        def root(n: int) -> int:
            while same[n] != n:
                n = same[n]
            return n

        for a, b, r in zip(self.first.tolist(), self.second.tolist(), self.ohm.tolist(), strict=True):
            if r == 0.0:
                one, other = sorted((root(a), root(b)))
                same[other] = one
        return [root(n) for n in range(len(same))]

    def volts(self, amps: np.ndarray, emf_v: float) -> np.ndarray:
        """Potential of every node with these currents of the ports, A, and this voltage of every battery, V."""
        into = np.zeros(len(self.inverse) + 1)
        np.add.at(into, self.row[self.back], amps)
        np.add.at(into, self.row[self.feed], -np.asarray(amps))
        driven = (np.where(self.battery, emf_v, 0.0) - self.against_v) / np.where(self.ohm > 0, self.ohm, np.inf)
        np.add.at(into, self.row[self.second], driven)
        np.add.at(into, self.row[self.first], -driven)
        found = np.append(self.inverse @ into[:-1], 0.0)
        return found[self.row]

    def amps(self, volts: np.ndarray, emf_v: float) -> np.ndarray:
        """Current of every part that has a resistance; nan of the others."""
        drop = volts[self.first] - volts[self.second] + np.where(self.battery, emf_v, 0.0) - self.against_v
        return np.where(self.ohm > 0, drop / np.where(self.ohm > 0, self.ohm, 1.0), np.nan)

    def per_amp_v(self, victim: Victim) -> np.ndarray:
        """Offset of a victim for one ampere of each port alone, every source off, Ω."""
        ground, reference = (self.row[self.number[node]] for node in (victim.ground, victim.reference))
        full = np.pad(self.inverse, ((0, 1), (0, 1)))
        held = full[ground] - full[reference]
        return held[self.row[self.back]] - held[self.row[self.feed]]

    def offset_v(self, victim: Victim, amps: np.ndarray, emf_v: float) -> float:
        """Potential of a victim's ground less that of its reference, V."""
        volts = self.volts(amps, emf_v)
        return float(volts[self.number[victim.ground]] - volts[self.number[victim.reference]])


def instants(
    currents: PortCurrents, state: int, victim: Victim | None, steady_a: np.ndarray, on_a: np.ndarray
) -> Iterable[np.ndarray]:
    """Currents of the ports at every instant that can be: all choices of so many units of each group at once.

    Every port at inrush or not; a victim's own coil at nothing, or driven and then one of those that are on.
    """
    off = None if victim is None else victim.own
    driven = None if victim is None else victim.own_on
    choices: list[list[tuple[int, ...]]] = []
    for group, at_once in enumerate(currents.at_once[:, state].tolist()):
        units = [int(n) for n in np.flatnonzero(currents.group == group) if n not in (off, driven)]
        room = at_once - (driven is not None and currents.group[driven] == group)
        choices.append([chosen for k in range(max(room, 0) + 1) for chosen in itertools.combinations(units, k)])
    for port in np.flatnonzero((currents.group < 0) & (on_a > 0)).tolist():
        if port not in (off, driven):
            choices.append([(), (port,)])
    for chosen in itertools.product(*choices):
        amps = steady_a.copy()
        for port in itertools.chain(*chosen):
            amps[port] += on_a[port]
        if driven is not None:
            amps[driven] += on_a[driven]
        if off is not None:
            amps[off] = 0.0
        yield amps


def plain_average_a(
    circuit: Circuit, ohm: np.ndarray, average: np.ndarray, state: OperatingState, given: Mapping[str, float]
) -> tuple[np.ndarray, np.ndarray]:
    """Currents of all ports in one state with the machines in balance, and which electronics have too little.

    Found by solving again and again: what a machine does follows from the voltages of the solution before.
    `average` are the currents that the lists and the usual figures give, shape (ports,).
    """
    ports = circuit.ports
    amps = average.copy()
    resistance: dict[int, float] = {}
    for n, port in enumerate(ports):
        if port.kind == "starter":
            amps[n] = 0.0
            if state.starter and average[n] > 0:
                resistance[n] = given["starter_v"] / average[n]
        elif port.figures is not None and port.figures.model == "resistance" and average[n] > 0:
            resistance[n] = given["heater_v"] / average[n]
    machines = [n for n, port in enumerate(ports) if port.kind == "alternator"]
    weak: set[int] = set()
    regulated: set[int] = set()
    off: set[int] = set()
    for n in machines:
        amps[n] = 0.0
    for _ in range(400):
        before, regimes = amps.copy(), (set(weak), set(regulated), set(off))
        if state.alternator and machines:
            wanted = (state.charge_a + sum(amps[n] for n in range(len(ports)) if n not in machines)) / len(machines)
            for n in machines:
                if n not in regulated and n not in off:
                    amps[n] = -(min(wanted, average[n]) if average[n] > 0 else wanted)
        lines = [(n, 0.0, r) for n, r in resistance.items()]
        lines += [(n, 0.0, ports[n].figures.min_v / average[n]) for n in sorted(weak)]  # type: ignore[union-attr]
        lines += [(n, given["alternator_v"], given["alternator_inner_mohm"] / 1000) for n in sorted(regulated)]
        on_lines = [n for n, _, _ in lines]
        plain = PlainCircuit(circuit, ohm, lines)
        fixed = amps.copy()
        fixed[on_lines] = 0.0
        volts = plain.volts(fixed, state.battery_v)
        amps[on_lines] = plain.amps(volts, state.battery_v)[len(circuit.parts) :]
        over_port = volts[plain.feed] - volts[plain.back]
        for n, port in enumerate(ports):
            figures = port.figures
            fading = figures is not None and figures.model == "electronics" and average[n] > 0
            if fading and figures is not None and over_port[n] < figures.min_v:
                weak.add(n)
            if port.kind == "alternator" and state.alternator:
                if n in regulated and amps[n] > 0:
                    regulated.discard(n)
                    off.add(n)
                    amps[n] = 0.0
                elif n not in regulated and n not in off and over_port[n] > given["alternator_v"]:
                    regulated.add(n)
        if regimes == (weak, regulated, off) and np.abs(amps - before).max() < 1e-11:
            break
    return amps, np.array([n in weak for n in range(len(ports))])
