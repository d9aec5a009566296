"""Places in few words: sheets named once, neighbouring cells as a range."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from itertools import groupby
from pathlib import PurePath

from harnessdrc.places import Place

__all__ = ["cells_text", "sheet_text"]

_CELL = re.compile(r"([A-Z]*)([0-9]+)")
_TEXT_ENDINGS = frozenset({".csv", ".tsv", ".tab", ".txt", ".asc", ".dat", ".prn"})


def sheet_text(file: str, sheet: str, one_file: bool) -> str:
    """Where a cell stands, without what goes without saying.

    The file is left out when it is the only one, the sheet when it is that of a delimited text, which has no
    name of its own.
    """
    path = PurePath(file)
    own = sheet if not (path.suffix.lower() in _TEXT_ENDINGS and path.stem == sheet) else ""
    return own if one_file else f"{file} {own}".strip()


def cells_text(places: Iterable[Place], one_file: bool, most: int = 0) -> str:
    """Places as ``Wire list D30–D33, F7; Pin list A2``, each once, in the order given.

    Parameters
    ----------
    places : iterable of Place
        Cells or rows.
    one_file : bool
        Whether all lists are one file, which need not be named then.
    most : int
        At most so many cells and ranges, the others counted; 0 for all.
    """
    runs: list[tuple[str, str, int, int]] = []
    counts: list[int] = []
    for place in dict.fromkeys(places):
        where = sheet_text(place.file, place.sheet, one_file)
        match = _CELL.fullmatch(place.cell)
        letters, row = (match[1], int(match[2])) if match else (place.cell, 0)
        if runs and runs[-1][:2] == (where, letters) and row == runs[-1][3] + 1:
            runs[-1] = (*runs[-1][:3], row)
            counts[-1] += 1
        else:
            runs.append((where, letters, row, row))
            counts.append(1)
    shown = runs[:most] if most else runs
    parts = [
        f"{where} {_cells([run[1:] for run in group])}".strip()
        for where, group in ((where, list(group)) for where, group in groupby(shown, key=lambda run: run[0]))
    ]
    others = sum(counts[len(shown) :])
    return "; ".join(parts) + (f" and {others:,} more in the redline" if others else "")


def _cells(runs: Sequence[tuple[str, int, int]]) -> str:
    """Cells and rows of one sheet: ``D7–D9, F2``, ``rows 3–35, 37``."""
    texts: list[str] = []
    for letters, group in groupby(runs, key=lambda run: run[0]):
        spans = [(first, last) for _, first, last in group]
        if letters:
            texts += [f"{letters}{a or ''}" if a == b else f"{letters}{a}–{letters}{b}" for a, b in spans]
            continue
        rows = ", ".join(f"{a}" if a == b else f"{a}–{b}" for a, b in spans if a)
        if rows:
            texts.append(f"row {rows}" if rows.isdecimal() else f"rows {rows}")
    return ", ".join(texts)
