"""Time of the whole numerical analysis of a ground network against one operating point in a circuit simulator.

The network is a tree of wires, joints and straps, 0.1 mΩ to 10 Ω, with 3 % of further branches that close
loops. The analysis: made ready with joints as new and as aged; six states, each on average and at the worst
instant, on both; currents and potentials of a unit current for 50 victims on both; what lies beside every
branch on both; and for each victim the rise to its limit of every branch that it depends on, in every state.
The floor: ``ngspice -b`` as a process, one operating point of one state of the same network, once with every
potential printed, as the analysis gives them too, and once with a single one. Medians over several runs, taken
in turns. The last network is a deep tree, 300 wires from the root to its tips.

    python tests/benchmarks/network_speed.py [wires ...]
"""

from __future__ import annotations

import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from harnessdrc.physics.network import Network, Solutions, UnitCurrents, prepare
from harnessdrc.physics.reserves import rise_to_limit_ohm

STATES, VICTIMS, LIMIT_V, RUNS = 12, 50, 0.3, 11
CHUNK = 2048
DEEP_REACH = 30


@dataclass(frozen=True, slots=True)
class Case:
    """A network and what is asked of it."""

    branches: NDArray[np.float64]
    aged: NDArray[np.float64]
    injections_a: NDArray[np.float64]
    first: NDArray[np.intp]
    second: NDArray[np.intp]


def made(wires: int, reach: int, seed: int = 1) -> Case:
    """Tree of this many wires and 3 % more; one node in four draws a current.

    Each wire leads to one of the nodes at most `reach` before: all of them make a bushy tree, as a loom is;
    a few make a long one.
    """
    chance = np.random.default_rng(seed)
    node = np.arange(1, wires + 1)
    before = chance.integers(np.maximum(0, node - reach), node)
    loops = chance.integers(0, wires + 1, (wires * 3 // 100, 2))
    ends = np.concatenate((np.column_stack((before, node)), loops))
    ohm = 10 ** chance.uniform(-4, 1, len(ends))
    joint = chance.random(len(ends)) < 0.4
    injected = chance.normal(0, 2, (wires + 1, STATES)) * (chance.random((wires + 1, 1)) < 0.25)
    victims = chance.choice(wires + 1, (2, VICTIMS), replace=False)
    return Case(
        np.column_stack((ends, ohm)),
        np.column_stack((ends, np.where(joint, ohm * 3, ohm))),
        injected,
        victims[0],
        victims[1],
    )


def analysis(case: Case, spent: dict[str, float]) -> int:
    """The whole numerical analysis; how many rises were worked out."""

    rises, count = 0, len(case.injections_a)
    names = [f"node {number}" for number in range(count)]
    for branches in (case.branches, case.aged):
        clock = Clock(spent)
        network = prepare(names, branches)
        assert isinstance(network, Network), network
        clock.spent_on("prepare")
        states = network.solve_many(case.injections_a)
        assert isinstance(states, Solutions), states
        clock.spent_on("solve_many")
        unit = network.unit_currents(case.first, case.second)
        clock.spent_on("unit_currents")
        volts = network.unit_volts(case.first, case.second)
        assert volts.shape == (count, VICTIMS)
        clock.spent_on("unit_volts")
        beside = network.beside_ohm()
        clock.spent_on("beside_ohm")
        rises += reserves(case, network, states, unit, beside)
        clock.spent_on("rise_to_limit")
    return rises


class Clock:
    """Adds the time since it was last asked to a part's."""

    def __init__(self, spent: dict[str, float]) -> None:
        self.spent, self.last = spent, time.perf_counter()

    def spent_on(self, part: str) -> None:
        now = time.perf_counter()
        self.spent[part] = self.spent.get(part, 0.0) + now - self.last
        self.last = now


def reserves(case: Case, network: Network, states: Solutions, unit: UnitCurrents, beside: NDArray[np.float64]) -> int:
    """Rise to the limit of every branch that a victim depends on, in every state; how many were worked out.

    States stand in rows and entries in columns, some thousands at a time, so that numpy's inner loops are long
    and what they work on stays in the processor's cache.
    """
    offset_v = np.ascontiguousarray((states.volts[case.first] - states.volts[case.second]).T)
    amps = np.ascontiguousarray(states.amps.T)
    loop_ohm = network.ohm + beside
    rises = 0
    for begin in range(0, len(unit.pair), CHUNK):
        some = slice(begin, begin + CHUNK)
        branch = unit.branch[some]
        slope = amps.take(branch, 1) * unit.amps[some]
        found = rise_to_limit_ohm(offset_v.take(unit.pair[some], 1), slope, loop_ohm[branch], LIMIT_V)
        rises += found.size
    return rises


def deck(case: Case, *, all_printed: bool) -> str:
    """Netlist of the first state as built; all potentials are printed, as is usual, or a single one."""
    lines = ["network"]
    for number, (i, j, ohm) in enumerate(case.branches.tolist()):
        lines.append(f"R{number} {int(i)} {int(j)} {ohm!r}")
    for node, amps in enumerate(case.injections_a[:, 0].tolist()):
        if amps and node:
            lines.append(f"I{node} 0 {node} {amps!r}")
    last = len(case.injections_a) - 1
    lines += [".op"] if all_printed else [".control", "op", f"print v({last})", "quit", ".endc"]
    return "\n".join([*lines, ".end", ""])


def median_ms(times: list[float]) -> float:
    """Median of seconds, the first of them not counted, in ms."""
    return statistics.median(times[1:]) * 1e3


def compare(wires: int, reach: int) -> None:
    """Print the times of both in turn, for one network."""
    case = made(wires, reach)
    spice = shutil.which("ngspice")
    ours: list[float] = []
    theirs: dict[str, list[float]] = {"all printed": [], "one printed": []}
    parts: list[dict[str, float]] = []
    rises = 0
    with tempfile.TemporaryDirectory() as folder:
        netlists = {what: Path(folder) / f"{what.replace(' ', '_')}.cir" for what in theirs}
        for what, path in netlists.items():
            path.write_text(deck(case, all_printed=what == "all printed"), encoding="ascii")
        for _ in range(RUNS + 1):
            spent: dict[str, float] = {}
            begun = time.perf_counter()
            rises = analysis(case, spent)
            ours.append(time.perf_counter() - begun)
            parts.append(spent)
            for what, path in netlists.items() if spice is not None else ():
                begun = time.perf_counter()
                done = subprocess.run([str(spice), "-b", str(path)], capture_output=True, text=True, check=False)
                theirs[what].append(time.perf_counter() - begun)
                assert f"{wires}" in done.stdout and "rror" not in done.stderr, done.stderr
    print(f"{wires} wires, each to one of {reach} nodes before, {len(case.branches)} branches, {rises} rises")
    for name in parts[0]:
        print(f"  {name:24} {median_ms([spent[name] for spent in parts]):8.2f} ms")
    print(f"  {'analysis':24} {median_ms(ours):8.2f} ms")
    if spice is None:
        print("  ngspice is not installed, so there is no floor to compare with")
    for what, times in theirs.items() if spice is not None else ():
        ratio = median_ms(ours) / median_ms(times)
        print(f"  {'ngspice, ' + what:24} {median_ms(times):8.2f} ms   ratio {ratio:.2f}")


if __name__ == "__main__":
    for number in [int(text) for text in sys.argv[1:]] or [300, 5_000, 20_000]:
        compare(number, number)
    compare(5_000, DEEP_REACH)
