"""Random networks against a general circuit simulator: potentials, branch currents, and a worked reserve.

All in a few netlists whose networks share node 0 alone, so that the simulator starts few times. Both sides
are in double precision; the simulator's direct solution has no refinement.
"""

from __future__ import annotations

import random
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from random_networks import Driven, loom, ready, states

from harnessdrc.physics.reserves import rise_to_limit_ohm

SPICE = shutil.which("ngspice")
pytestmark = pytest.mark.skipif(SPICE is None, reason="the circuit simulator ngspice is not installed")


def simulated(cases: list[Driven], folder: Path) -> list[tuple[np.ndarray, np.ndarray]]:
    """Potentials and branch currents of each network, from one run of the simulator."""
    lines, watched = ["networks"], []
    for case, net in enumerate(cases):

        def node(number: int, case: int = case) -> str:
            return "0" if number == 0 else f"n{case}_{number}"

        for k, ((i, j, ohm), emf) in enumerate(zip(net.branches, net.emf_v.tolist(), strict=True)):
            name, inner = f"{case}_{k}", f"m{case}_{k}"
            if i == j:  # a loop on itself: its current is that of its source
                lines.append(f"V{name} {inner} 0 DC {emf!r}")
                lines.append(f"R{name} {inner} 0 {ohm!r}")
            elif ohm == 0.0:
                lines.append(f"V{name} {node(i)} {node(j)} DC 0")
            elif emf:
                lines.append(f"V{name} {inner} {node(i)} DC {emf!r}")
                lines.append(f"R{name} {inner} {node(j)} {ohm!r}")
            else:
                lines.append(f"R{name} {node(i)} {node(j)} {ohm!r}")
            watched.append(f"i(v{name})" if ohm == 0.0 else f"@r{name}[i]")
        lines += [
            f"I{case}_{k} 0 {node(k)} DC {amps!r}" for k, amps in enumerate(net.injected_a.tolist()) if amps and k
        ]
        watched += [f"v(n{case}_{k})" for k in range(1, net.count)]
    out = folder / "values.txt"
    lines += [
        ".options reltol=1e-12 abstol=1e-15 vntol=1e-15 gmin=1e-30 numdgt=15",
        ".control",
        "set numdgt=15",
        "op",
        *(f"print {what} >> {out}" for what in watched),
        "quit",
        ".endc",
        ".end",
    ]
    netlist = folder / "networks.cir"
    netlist.write_text("\n".join(lines) + "\n", encoding="ascii")
    assert SPICE is not None
    command = [SPICE, "-b", str(netlist)]
    ran = subprocess.run(command, capture_output=True, text=True, check=False, timeout=120)
    assert out.exists(), ran.stderr
    printed = [line.rsplit("=", 1) for line in out.read_text().splitlines() if "=" in line]
    assert [name.strip() for name, _ in printed] == watched, ran.stderr
    values = iter(float(value) for _, value in printed)
    found = []
    for net in cases:
        amps = np.array([next(values) for _ in net.branches])
        found.append((np.array([0.0, *(next(values) for _ in range(1, net.count))]), amps))
    return found


@pytest.mark.parametrize("batch", range(3))
def test_random_networks(batch: int, tmp_path: Path) -> None:
    """Eighty at a time: trees with loops, parallel branches, solid joins and sources, 0.1 mΩ to 1 kΩ."""
    cases = [loom(random.Random(1000 * batch + seed), 24) for seed in range(80)]
    some = {"joins": 0, "sources": 0, "loops": 0}
    for net, (volts, amps) in zip(cases, simulated(cases, tmp_path), strict=True):
        found = states(ready(net.count, net.branches, emf_v=net.emf_v), net.injected_a[:, None])
        size_v, size_a = np.abs(found.volts).max(), np.abs(found.amps).max()
        assert found.volts[:, 0] == pytest.approx(volts, rel=0, abs=1e-6 * size_v + 1e-15)
        assert found.amps[:, 0] == pytest.approx(amps, rel=0, abs=1e-6 * size_a + 1e-10)
        some["joins"] += sum(ohm == 0.0 for _, _, ohm in net.branches)
        some["sources"] += int(np.count_nonzero(net.emf_v))
        some["loops"] += len(net.branches) - net.count + 1
    assert min(some.values()) > 50


def test_joints_risen_to_their_limit(tmp_path: Path) -> None:
    """Each joint that can bring an offset to its limit is raised by what the closed form says, and simulated."""
    chance, cases, limits = random.Random(9), [], []
    for seed in range(100):
        net = loom(random.Random(seed + 5000), 16)
        network = ready(net.count, net.branches, emf_v=net.emf_v)
        found = states(network, net.injected_a[:, None])
        victim = chance.randrange(1, net.count)
        offset = found.volts[victim, 0]
        limit = abs(offset) * 1.2 + 0.1
        unit = network.unit_currents([victim], [0])
        loop = (network.ohm + network.beside_ohm())[unit.branch]
        rises = rise_to_limit_ohm(offset, found.amps[unit.branch, 0] * unit.amps, loop, limit)
        for joint, rise in zip(unit.branch.tolist(), rises.tolist(), strict=True):
            if rise < 1e4:
                branches = list(net.branches)
                i, j, ohm = branches[joint]
                branches[joint] = (i, j, ohm + rise)
                cases.append(Driven(net.count, branches, net.injected_a, net.emf_v))
                limits.append((victim, limit))
    assert len(cases) > 100
    for (victim, limit), (volts, _) in zip(limits, simulated(cases, tmp_path), strict=True):
        assert abs(volts[victim]) == pytest.approx(limit, rel=1e-6, abs=1e-7 * np.abs(volts).max())
