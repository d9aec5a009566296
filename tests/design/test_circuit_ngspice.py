"""Every state of the samples and of made-up looms against a general circuit simulator.

The netlist is written here from the parts and ports alone: every part a resistance in series with an ammeter (a
source of 0 V), batteries a source in theirs, starter and heater resistances, everything else a source of current.
All circuits of a run are one netlist and share ground alone, so the simulator starts once for many.
"""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from engine_looms import SAMPLE_FILES, EngineLoom, sample
from text_lists import shipped_given

from harnessdrc.design import Design
from harnessdrc.design.analysis.settled import Settled
from harnessdrc.physics.operation import OperatingState

SPICE = shutil.which("ngspice")
pytestmark = pytest.mark.skipif(SPICE is None, reason="the circuit simulator ngspice is not installed")

SEEDS = range(12)


@dataclass(frozen=True)
class Case:
    """One settled circuit in one state."""

    name: str
    settled: Settled
    state: int
    figures: OperatingState
    average_a: np.ndarray

    def lines(self, tag: str) -> Iterable[str]:
        """Its part of the netlist, every name ending with the tag."""
        circuit, given = self.settled.circuit, shipped_given()
        number = {node: n for n, node in enumerate(circuit.nodes)}
        same = list(range(len(number)))

        def root(n: int) -> int:
            while same[n] != n:
                n = same[n]
            return n

        def node(n: int) -> str:
            return "0" if n == 0 else f"n{n}{tag}"

        for k, (part, ohm) in enumerate(zip(circuit.parts, self.settled.ohm.tolist(), strict=True)):
            a, b = number[part.a], number[part.b]
            if ohm == 0.0:
                if root(a) == root(b):
                    continue  # closes a ring of ideal parts: its current is not determined
                same[root(a)] = root(b)
                yield f"va{k}{tag} {node(a)} {node(b)} dc 0"
            else:
                emf = self.figures.battery_v if part.kind == "battery" else 0.0
                yield f"va{k}{tag} m{k}{tag} {node(a)} dc {emf!r}"
                yield f"r{k}{tag} m{k}{tag} {node(b)} {ohm!r}"
        for k, port in enumerate(circuit.ports):
            feed, back = node(number[port.feed]), node(number[port.back])
            amps = float(self.settled.average_a[k, self.state])
            listed = float(self.average_a[k])
            if port.kind == "starter":
                if self.figures.starter:
                    yield f"rp{k}{tag} {feed} {back} {given['starter_v'] / listed!r}"
            elif port.figures is not None and port.figures.model == "resistance":
                if listed > 0:
                    yield f"rp{k}{tag} {feed} {back} {given['heater_v'] / listed!r}"
            elif amps:
                yield f"ip{k}{tag} {feed} {back} dc {amps!r}"

    def compare(self, tag: str, found: dict[str, float]) -> int:
        """Hold potentials and currents against what the simulator found; how many currents were."""
        volts, amps = self.settled.volts[:, self.state], self.settled.amps[:, self.state]
        theirs = np.array([0.0, *(found[f"v(n{n}{tag})"] for n in range(1, len(volts)))])
        assert np.abs(volts - theirs).max() <= 1e-6 * np.abs(volts).max(), self.name
        watched = [k for k in range(len(amps)) if f"i(va{k}{tag})" in found and not np.isnan(amps[k])]
        current = np.array([found[f"i(va{k}{tag})"] for k in watched])
        # the ammeter of a part without a source stands the same way round as that of one with
        current *= [1.0 if self.settled.ohm[k] == 0 else -1.0 for k in watched]
        assert np.abs(amps[watched] - current).max() <= 1e-6 * np.abs(amps[watched]).max(), self.name
        return len(watched)


def simulated(cases: list[Case], folder: Path) -> dict[str, float]:
    """Potentials and currents of all cases by name, from one run of the simulator."""
    raw, netlist = folder / "values.raw", folder / "circuits.cir"
    lines = ["circuits"]
    for number, case in enumerate(cases):
        lines += case.lines(f"c{number}")
    lines += [
        ".options reltol=1e-12 abstol=1e-15 vntol=1e-15 gmin=1e-30", ".control", "set filetype=ascii", "op",
        f"write {raw}", "quit", ".endc", ".end",
    ]  # fmt: skip
    netlist.write_text("\n".join(lines) + "\n", encoding="ascii")
    ran = subprocess.run([str(SPICE), "-b", str(netlist)], capture_output=True, text=True, check=False, timeout=300)
    assert raw.exists(), ran.stdout + ran.stderr
    header, values = raw.read_text(encoding="ascii").split("Values:\n")
    names = [line.split()[1].lower() for line in header.split("\nVariables:")[1].splitlines() if line.strip()]
    figures = [float(line.split()[-1]) for line in values.splitlines() if line.strip()]
    assert len(names) == len(figures)
    return dict(zip(names, figures, strict=True))


def cases_of(name: str, design: Design) -> Iterable[Case]:
    """Every state of a design, joints as new and aged."""
    analysis = design.analysis
    for joints, offsets in (("new", analysis.new), ("aged", analysis.aged)):
        for n, state in enumerate(analysis.states):
            yield Case(f"{name}, {state.name}, {joints}", offsets.settled, n, state, analysis.currents.average[:, n])


def test_every_state_of_the_samples(tmp_path: Path) -> None:
    cases = [
        case for path in SAMPLE_FILES for case in cases_of(f"{path.parent.name} {path.stem}", sample(path))
    ]  # fmt: skip
    assert len(cases) == 4 * 6 * 2
    found = simulated(cases, tmp_path)
    assert sum(case.compare(f"c{number}", found) for number, case in enumerate(cases)) > 8000


def test_every_state_of_made_up_looms(tmp_path: Path) -> None:
    cases: list[Case] = []
    ideal = 0
    for seed in SEEDS:
        loom = EngineLoom(seed, lacking=0.1)
        design = loom.design({"device_inner_mohm": 0.0, "contact_mohm": 0.0} if seed % 3 == 0 else None)
        ideal += int((design.circuit.ohm() == 0).sum())
        cases += cases_of(f"loom {seed}", design)
    assert ideal > 20
    found = simulated(cases, tmp_path)
    assert sum(case.compare(f"c{number}", found) for number, case in enumerate(cases)) > 8000
    cranking = [case for case in cases if case.figures.starter]
    assert max(np.nanmax(np.abs(case.settled.amps[:, case.state])) for case in cranking) > 50
