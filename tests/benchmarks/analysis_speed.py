"""Time of the whole analysis of a wire list's circuit against one operating point in a circuit simulator.

Lists are made by ``make_list.py``. The analysis: the circuit is made from the design; every operating state is
solved, on average and at the worst instant, with joints as new and as aged; offsets of all victims in every state,
the parts of each at its worst instant in every state, the reserve of every joint for every victim, and the
currents of every wire. The floor: ``ngspice -b`` as a process, one operating point of one state of the same circuit
(its parts as resistances, its ports as sources of current), with all potentials printed. Medians over several runs,
taken in turns; nothing is kept from one run to the next but the harness and its nets.

    python tests/benchmarks/analysis_speed.py [wires ...]
"""

from __future__ import annotations

import gc
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterable
from pathlib import Path

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent)]

from make_list import write  # noqa: E402
from text_lists import shipped_given, shipped_states  # noqa: E402

from harnessdrc.api import open_and_read  # noqa: E402
from harnessdrc.design import Design, design_of  # noqa: E402
from harnessdrc.design.analysis import Analysis  # noqa: E402
from harnessdrc.design.analysis.limits import OffsetLimits  # noqa: E402
from harnessdrc.design.circuit import Circuit  # noqa: E402

RUNS = {300: 31, 5_000: 9}
STEPS = ("circuit", "settled, new", "settled, aged", "offsets, new", "offsets, aged", "reserves", "shares", "currents")


def fresh(design: Design) -> Analysis:
    """The analysis of a design with nothing computed yet; the harness, its nets and loads are there."""
    circuit = Circuit(
        design.harness, design.net, design.devices, design.feeds, design.loads, design.grounds, design.given
    )
    return Analysis(circuit, design.devices, design.net, design.roles, design.states, design.given)


def whole(analysis: Analysis) -> dict[str, float]:
    """Compute everything; seconds of each step."""
    limits, spent = OffsetLimits(), dict.fromkeys(STEPS, 0.0)
    last = time.perf_counter()

    def done(step: str) -> None:
        nonlocal last
        now = time.perf_counter()
        spent[step] += now - last
        last = now

    circuit = analysis.circuit
    assert circuit.fault is None, circuit.fault
    assert len(circuit.parts) and len(circuit.ports) and len(circuit.port_nodes) and len(circuit.ends)
    assert len(analysis.victims), "no victims"
    done("circuit")
    new = analysis.new
    done("settled, new")
    aged = analysis.aged
    done("settled, aged")
    assert new.low_v.shape == (len(analysis.victims), len(analysis.states))
    done("offsets, new")
    assert aged.low_v.shape == new.low_v.shape
    done("offsets, aged")
    assert analysis.reserves(limits, 3)
    done("reserves")
    every = [
        (victim, state, bool(abs(new.high_v[victim, state]) > abs(new.low_v[victim, state])))
        for victim in range(len(analysis.victims))
        for state in range(len(analysis.states))
    ]
    for start in range(0, len(every), 6_000):
        assert new.parts_of(every[start : start + 6_000])
    done("shares")
    assert analysis.part_currents.peak.size
    done("currents")
    return spent


def deck(analysis: Analysis) -> Iterable[str]:
    """Netlist of one state, everything but the battery held at the current it has."""
    circuit, settled, state = analysis.circuit, analysis.new.settled, len(analysis.states) - 2
    yield "circuit"
    for k, ((a, b), ohm) in enumerate(zip(circuit.ends.tolist(), settled.ohm.tolist(), strict=True)):
        if ohm == 0.0:
            yield f"V{k} {a} {b} 0"
        elif circuit.emf[k]:
            yield f"V{k} m{k} {a} {float(settled.emf_v[state])!r}"
            yield f"R{k} m{k} {b} {ohm!r}"
        else:
            yield f"R{k} {a} {b} {ohm!r}"
    for k, ((feed, back), amps) in enumerate(
        zip(circuit.port_nodes.tolist(), settled.average_a[:, state].tolist(), strict=True)
    ):
        if amps:
            yield f"I{k} {feed} {back} {amps!r}"
    yield from (".op", ".end", "")


def ms(times: list[float]) -> float:
    """Median of seconds in ms."""
    return statistics.median(times) * 1e3


def compare(wires: int) -> None:
    """Print the times of both for a list of so many wires."""
    spice = shutil.which("ngspice")
    with tempfile.TemporaryDirectory() as folder:
        path, netlist = Path(folder) / "list.xlsx", Path(folder) / "circuit.cir"
        write(path, wires)
        _, reading = open_and_read([path])
        design = design_of(reading, shipped_given(), shipped_states())
        analysis = design.analysis
        whole(analysis)
        netlist.write_text("\n".join(deck(analysis)), encoding="ascii")
        ours: list[dict[str, float]] = []
        theirs: list[float] = []
        for _ in range(RUNS.get(wires, 3)):
            again = fresh(design)
            gc.collect()
            ours.append(whole(again))
            if spice is not None:
                begun = time.perf_counter()
                ran = subprocess.run([spice, "-b", str(netlist)], capture_output=True, text=True, check=False)
                theirs.append(time.perf_counter() - begun)
                assert "Node" in ran.stdout and "rror" not in ran.stderr, ran.stderr
    circuit = analysis.circuit
    print(
        f"{wires} wires: {len(circuit.parts)} parts, {len(circuit.ports)} ports, {len(analysis.victims)} victims, "
        f"{len(analysis.states)} states"
    )
    for step in STEPS:
        print(f"  {step:14} {ms([run[step] for run in ours]):9.2f} ms")
    total = [sum(run.values()) for run in ours]
    print(f"  {'whole':14} {ms(total):9.2f} ms   fastest {min(total) * 1e3:.2f}")
    if not theirs:
        print("  ngspice is not installed, so there is no floor to compare with")
        return
    print(f"  {'ngspice':14} {ms(theirs):9.2f} ms   fastest {min(theirs) * 1e3:.2f}   ratio {ms(total) / ms(theirs):.2f}")


if __name__ == "__main__":
    for number in [int(text) for text in sys.argv[1:]] or [300, 5_000]:
        compare(number)
