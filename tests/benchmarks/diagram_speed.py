"""Time of the ground diagram beyond the check, with crossings before and after the sweeps.

Bounds: 0.2 s at 300 wires, 3 s at 5,000; 50,000 wires take no more time per wire than 5,000 do.

Usage: python tests/benchmarks/diagram_speed.py [WIRES ...]
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).parent
BOUNDS = {300: 0.2, 5_000: 3.0}


def main(sizes: list[int]) -> None:
    """Print a line per size."""
    sys.path.insert(0, str(HERE))
    from make_list import write

    from harnessdrc.api import load_rules, open_and_read
    from harnessdrc.design import design_of
    from harnessdrc.drawn import diagram_of
    from harnessdrc.engine import given_numbers, run

    checks, rules = load_rules("engine-loom")
    print("  wires  boxes  lines  views  seconds  bound   crossings before  after")
    with tempfile.TemporaryDirectory() as folder:
        for wires in sizes:
            path = Path(folder) / f"list{wires}.xlsx"
            write(path, wires)
            _, reading = open_and_read([path])
            design = design_of(reading, given_numbers(rules), rules.states)
            result = run(design, rules, checks, reading)
            times = []
            for _ in range(1 if wires > 5_000 else 5):
                start = time.perf_counter()
                diagram = diagram_of(design, result)
                times.append(time.perf_counter() - start)
            before, after = (sum(counts) for counts in zip(*(
                (view.crossings_before, view.crossings) for view in diagram.views
            ), strict=True))  # fmt: skip
            print(
                f"{wires:7d} {len(diagram.nodes):6d} {len(diagram.edges):6d} {len(diagram.views):6d} "
                f"{statistics.median(times):8.3f} {BOUNDS.get(wires, ''):>6} {before:18d} {after:6d}"
            )


if __name__ == "__main__":
    main([int(text) for text in sys.argv[1:]] or [300, 5_000, 50_000])
