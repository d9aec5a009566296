"""Time and peak memory of ``shop``, as ratios to the floor of the check, in one run.

The floor is that of ``check_speed.py``: a bare script that imports pandas, networkx and openpyxl, loads the same
workbook and saves it. Both run in turn as whole processes. The bound is 3 at 300 wires; 5,000 wires take no more time
per wire than 300 do.

Usage: python tests/benchmarks/papers_speed.py [WIRES ...]
"""

from __future__ import annotations

import statistics
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).parent
BOUNDS = {300: 3.0}


def main(sizes: list[int]) -> None:
    """Print a line per size."""
    sys.path.insert(0, str(HERE))
    from check_speed import measure
    from make_list import write

    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder)
        print("  wires   shop s  floor s  ratio   shop MiB  floor MiB  xlsx MB  html MB  bound")
        per_wire = []
        for wires in sizes:
            path = out / f"list{wires}.xlsx"
            write(path, wires)
            shop = [sys.executable, "-m", "harnessdrc", "shop", str(path), "--out", str(out / "out")]
            floor = [sys.executable, str(HERE / "floor.py"), str(path), str(out / "saved.xlsx")]
            measure(floor)
            measure(shop)
            pairs = [(measure(shop), measure(floor)) for _ in range(3 if wires >= 5_000 else 7)]
            shop_s, floor_s = (statistics.median(pair[i][0] for pair in pairs) for i in (0, 1))
            shop_mib, floor_mib = (statistics.median(pair[i][1] for pair in pairs) for i in (0, 1))
            ratio = statistics.median(one[0] / other[0] for one, other in pairs)
            written = [(out / "out" / f"list{wires}.papers.{ending}").stat().st_size / 1e6 for ending in ("xlsx", "html")]
            print(
                f"{wires:7d} {shop_s:8.2f} {floor_s:8.2f} {ratio:6.2f} {shop_mib:10.0f} {floor_mib:10.0f} "
                f"{written[0]:8.1f} {written[1]:8.1f}  {BOUNDS.get(wires, '')}"
            )
            per_wire.append((wires, shop_s))
        if len(per_wire) > 1:
            (small, fast), (large, slow) = per_wire[-2:]
            print(f"{large} against {small} wires: {slow / fast:.1f} times the time, {large / small:.0f} the wires")


if __name__ == "__main__":
    main([int(text) for text in sys.argv[1:]] or [300, 5_000])
