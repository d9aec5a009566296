"""Time and peak memory of ``check`` with redline and JSON, as ratios to the floor, in one run.

The floor is a bare script that imports pandas, networkx and openpyxl, loads the same workbook and saves
it. Both run in turn as whole processes; the figures are the operating system's own of each process. Bytecode is
kept as Python does by default, and as the libraries come with it.

Usage: python tests/benchmarks/check_speed.py [WIRES ...]
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).parent
BOUNDS = {300: 1.6, 5_000: 1.5, 50_000: 1.5}


def measure(command: list[str]) -> tuple[float, float]:
    """Wall seconds and peak MiB of one command."""
    start = time.perf_counter()
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=environment)
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode not in (0, 1):
        raise SystemExit(f"{' '.join(command)} left with exit code {process.returncode}")
    return time.perf_counter() - start, usage.ru_maxrss / 1024


def main(sizes: list[int]) -> None:
    """Print a line per size, and one for ``--help``."""
    sys.path.insert(0, str(HERE))
    from make_list import write

    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder)
        print("  wires  check s  floor s  ratio  check MiB  floor MiB  ratio  bound")
        per_wire = []
        for wires in sizes:
            path = out / f"list{wires}.xlsx"
            write(path, wires)
            check = [
                sys.executable, "-m", "harnessdrc", "check", str(path), "--out", str(out / "out"),
                "--json", str(out / "out.json"),
            ]  # fmt: skip
            floor = [sys.executable, str(HERE / "floor.py"), str(path), str(out / "saved.xlsx")]
            runs = 3 if wires >= 20_000 else 7
            measure(floor)
            measure(check)
            pairs = [(measure(check), measure(floor)) for _ in range(runs)]
            check_s, floor_s = (statistics.median(p[i][0] for p in pairs) for i in (0, 1))
            check_mib, floor_mib = (statistics.median(p[i][1] for p in pairs) for i in (0, 1))
            ratio_s = statistics.median(a[0] / b[0] for a, b in pairs)
            ratio_mib = statistics.median(a[1] / b[1] for a, b in pairs)
            print(
                f"{wires:7d} {check_s:8.2f} {floor_s:8.2f} {ratio_s:6.2f} {check_mib:10.0f} {floor_mib:10.0f} "
                f"{ratio_mib:6.2f}  {BOUNDS.get(wires, 1.5)}"
            )
            per_wire.append((wires, check_s))
        if len(per_wire) > 1:
            (small, fast), (large, slow) = per_wire[-2:]
            print(f"{large} against {small} wires: {slow / fast:.1f} times the time, {large / small:.0f} the wires")
        usage = [sys.executable, "-m", "harnessdrc", "--help"]
        bare = [sys.executable, "-c", "pass"]
        help_runs = [(measure(usage)[0], measure(bare)[0]) for _ in range(15)]
        ratio = statistics.median(a / b for a, b in help_runs)
        print(f"--help against a bare interpreter: {ratio:.1f} times, bound 5")


if __name__ == "__main__":
    main([int(text) for text in sys.argv[1:]] or [300, 5_000, 50_000])
