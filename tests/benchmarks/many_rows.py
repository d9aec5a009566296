"""200,000 rows through ``check``, as csv and as xlsx: every row accounted for, in less than 2 GiB.

Usage: python tests/benchmarks/many_rows.py [ROWS]
"""

from __future__ import annotations

import csv
import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

MOST_GIB = 2.0


def rows(count: int) -> Iterator[tuple[object, ...]]:
    """Wires of looms of 100 wires each, as many as asked for."""
    from make_list import block

    made, number = 0, 0
    while made < count:
        number += 1
        for line in block(number):
            if made == count:
                return
            made += 1
            yield (f"W{made}", *line)


def check(path: Path, count: int) -> tuple[float, float]:
    """Wall seconds and peak GiB of one run; leaves with a sentence where something is amiss."""
    outcome = path.with_suffix(".json")
    command = [sys.executable, "-m", "harnessdrc", "check", str(path), "--json", str(outcome)]
    start = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    seconds, gib = time.perf_counter() - start, usage.ru_maxrss / 1024**2
    if process.returncode not in (0, 1):
        raise SystemExit(f"{path.name}: exit code {process.returncode}")
    read = json.loads(outcome.read_text(encoding="utf-8"))["read"]
    if (read["rows_seen"], read["rows_used"], read["wires"]) != (count + 1, count, count):
        raise SystemExit(f"{path.name}: not every row is accounted for")
    if not path.with_suffix(".redline.xlsx").is_file():
        raise SystemExit(f"{path.name}: no redline")
    if gib > MOST_GIB:
        raise SystemExit(f"{path.name}: {gib:.2f} GiB, more than {MOST_GIB}")
    return seconds, gib


def main(count: int) -> None:
    """Print a line per kind of file."""
    from make_list import HEADINGS, write

    with tempfile.TemporaryDirectory() as folder:
        text, book = Path(folder) / "text.csv", Path(folder) / "book.xlsx"
        with text.open("w", newline="", encoding="utf-8") as file:
            writer = csv.writer(file)
            writer.writerow(HEADINGS)
            writer.writerows(rows(count))
        write(book, count)
        for path in (text, book):
            seconds, gib = check(path, count)
            print(f"{path.suffix[1:]:5} {count} rows: {seconds:.1f} s, {gib:.2f} GiB")


if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parent))
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200_000)
