"""Lists far larger than a loom: every row accounted for, in memory that grows with the list and no faster.

40,000 rows here stand in for the 200,000 that ``tests/benchmarks/many_rows.py`` checks.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
import xlsxwriter
from cli_helpers import HEADINGS

ROWS = 40_000
MOST_MIB = 2048 * ROWS / 200_000 + 250
"""A fifth of 2 GiB, and what the libraries take by themselves."""


def rows() -> list[tuple[str, ...]]:
    """One cavity in a thousand is used twice, one wire in a thousand has no colour."""
    made: list[tuple[str, ...]] = []
    for n in range(ROWS):
        cavity = n % 50 + 1 if n % 1000 else 2
        colour = "" if n % 1000 == 500 else "BU"
        made.append((f"W{n}", f"A{n // 50}", str(cavity), f"B{n // 50}", str(n % 50 + 1), colour, "0.5"))
    return made


def write(path: Path) -> None:
    if path.suffix == ".csv":
        path.write_text("".join(",".join(row) + "\n" for row in (HEADINGS, *rows())), encoding="utf-8")
        return
    with xlsxwriter.Workbook(str(path), {"constant_memory": True}) as book:
        sheet = book.add_worksheet("Wire list")
        for number, row in enumerate((HEADINGS, *rows())):
            sheet.write_row(number, 0, row)


MEASURED = """
import resource, subprocess, sys
code = subprocess.call(sys.argv[2:])
with open(sys.argv[1], "w") as out:
    out.write(str(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss))
sys.exit(code)
"""
"""Runs a command from a small process: what a process has taken counts what the one that started it had taken."""


@pytest.mark.skipif(os.name == "nt", reason="this system does not tell what a process took")
@pytest.mark.parametrize("name", ["loom.csv", "loom.xlsx"])
def test_forty_thousand_rows(name: str, tmp_path: Path) -> None:
    write(tmp_path / name)
    summary = tmp_path / "summary.txt"
    with summary.open("wb") as out:
        code = subprocess.call(
            [sys.executable, "-c", MEASURED, str(tmp_path / "taken.txt"),
             sys.executable, "-m", "harnessdrc", "check", str(tmp_path / name), "--json", str(tmp_path / "o.json")],
            stdout=out, stderr=subprocess.STDOUT,
        )  # fmt: skip
    assert code == 1, summary.read_text("utf-8")[-2000:]
    assert int((tmp_path / "taken.txt").read_text()) / 1024 < MOST_MIB
    outcome = json.loads((tmp_path / "o.json").read_text("utf-8"))
    assert outcome["read"]["rows_seen"] == ROWS + 1
    assert outcome["read"]["rows_used"] == outcome["read"]["wires"] == ROWS
    found = {rule["rule"]: rule["findings"] for rule in outcome["rules"]}
    assert found["one-wire-per-cavity"] == ROWS // 1000
    assert found["colour-given"] == ROWS // 1000
    assert (tmp_path / "loom.redline.xlsx").is_file()
    lines = summary.read_text("utf-8").splitlines()
    assert len(lines) < 100, "the summary stays one that a person reads"
    assert lines[-1].startswith("40,000 wires, ")
