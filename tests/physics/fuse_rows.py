"""Rows of the reference figures on fuses, by the family of ours that they are of."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path

import pytest

SHARED = Path(__file__).parent.parent.parent / ".." / "shared" / "reference"
needs_shared = pytest.mark.skipif(
    not SHARED.exists(), reason="the folder with the reference figures is not beside the checkout"
)
TIMED = ("regular blade", "mini blade", "maxi blade", "bolt-down 30 mm", "bolt-down 51 mm")
OF_REFERENCE = {"C/F": TIMED[:2], "E high": TIMED[2:3], "bolt-down strip 30": TIMED[3:4], "bolt-down strip 51": TIMED[4:]}


def reference_rows(name: str) -> Iterator[tuple[str, dict[str, str]]]:
    with (SHARED / name).open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            first = row.get("type") or row["family"]
            for start, families in {**OF_REFERENCE, "blade regular": TIMED[:2], "blade maxi": TIMED[2:3]}.items():
                if first.startswith(start):
                    yield from ((family, row) for family in families)
