"""Places in few words: sheets named once, neighbouring cells as a range."""

from __future__ import annotations

import re
from collections.abc import Iterable
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
    text, before = "", ""
    for where, letters, first, last in shown:
        cells = _range(letters, first, last)
        if not text or where != before:
            text += ("; " if text else "") + f"{where} {cells}".strip()
        else:
            text += f", {cells}"
        before = where
    others = sum(counts[len(shown) :])
    return f"{text} and {others:,} more in the redline" if others else text


def _range(letters: str, first: int, last: int) -> str:
    if not first:
        return letters
    if not letters:
        return f"row {first}" if first == last else f"rows {first}–{last}"
    return f"{letters}{first}" if first == last else f"{letters}{first}–{letters}{last}"
