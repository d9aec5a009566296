"""Time to size 50,000 wires in one call, against a loop that calls the same function for one wire at a time.

Wires of all sorts: 0.05 to 150 A, alone and in bundles of 40, engine bay and cabin, five classes of insulation,
0.1 to 8 m, drops of 0.1 to 0.5 V. Both systems of sizes. The answers of the loop are compared with those of the
one call. Medians over several runs of the one call; the loop runs once.

    python tests/benchmarks/ampacity_speed.py [wires]
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from harnessdrc.physics.ampacity import allowed_a
from harnessdrc.physics.smallest_size import GOVERNS, smallest_size

WIRES, RUNS = 50_000, 9
Floats = NDArray[np.float64]


def made(wires: int, seed: int = 1) -> list[Floats]:
    """Current, ambient, rated temperature, wires in the bundle, loading, length and allowed drop of each wire."""
    chance = np.random.default_rng(seed)
    return [
        10 ** chance.uniform(np.log10(0.05), np.log10(150.0), wires),
        chance.choice([25.0, 60.0, 85.0, 105.0], wires),
        chance.choice([105.0, 125.0, 150.0, 175.0, 200.0], wires),
        chance.integers(1, 41, wires).astype(np.float64),
        chance.uniform(0.1, 1.0, wires),
        chance.uniform(0.1, 8.0, wires),
        chance.choice([0.1, 0.3, 0.5], wires),
    ]


def spent_s(work: Callable[[], object], runs: int = RUNS) -> float:
    """Median time of a call without arguments, s."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def compare(system: Literal["awg", "mm2"], wires: list[Floats]) -> None:
    """Prints both times and their ratio."""
    at_once = smallest_size(system, *wires)
    once_s = spent_s(lambda: smallest_size(system, *wires))
    rows = [tuple(row) for row in np.column_stack(wires).tolist()]
    start = time.perf_counter()
    one_by_one = [smallest_size(system, *row) for row in rows]
    loop_s = time.perf_counter() - start
    np.testing.assert_array_equal(at_once.size, [float(each.size) for each in one_by_one])
    np.testing.assert_array_equal(at_once.governs, [str(each.governs) for each in one_by_one])
    kinds = ", ".join(f"{name} {np.count_nonzero(at_once.governs == name):,}" for name in GOVERNS)
    print(
        f"smallest size, {system:>3}: one call {once_s * 1e3:8.1f} ms   loop {loop_s:7.2f} s"
        f"   {loop_s / once_s:6.0f} times   ({kinds}; none {np.isnan(at_once.size).sum():,})"
    )


def main() -> None:
    """Sizes the wires in both systems and prints the times."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else WIRES
    wires = made(count)
    print(f"{count:,} wires")
    areas = np.random.default_rng(2).choice([0.5, 0.75, 1.0, 2.5, 6.0], count)
    _, ambient, rated, bundled, loading, *_ = wires
    alone_s = spent_s(lambda: allowed_a(ambient, rated, bundled, loading, csa_mm2=areas))
    print(f"allowed current     : one call {alone_s * 1e3:8.1f} ms")
    compare("awg", wires)
    compare("mm2", wires)


if __name__ == "__main__":
    main()
