"""Pieces of JSON text that are written by hand because there may be a million of them."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Iterator

from harnessdrc.findings import Mark

__all__ = ["DECIMALS", "json_lines", "json_number", "json_place", "json_quoted", "json_texts"]

DECIMALS = 6
"""Numbers are rounded to so many decimals: a microvolt, a microampere."""

_BLOCK = 4096

json_quoted = json.JSONEncoder(ensure_ascii=False).encode
"""A text in quotes."""


def json_number(value: float | None) -> str:
    """One number, rounded; ``null`` for none and for one that JSON does not have."""
    if value is None or not math.isfinite(value):
        return "null"
    return repr(round(float(value), DECIMALS) + 0.0)


def json_lines(entries: Iterable[str], indent: str, most: int = _BLOCK) -> Iterator[str]:
    """A list with one entry per line, in pieces.

    Parameters
    ----------
    entries : iterable of str
        The text of each.
    indent : str
        Blanks before the closing bracket; entries stand one further in.
    most : int
        Entries held at once.
    """
    head, joint = f"[\n{indent} ", f",\n{indent} "
    waiting: list[str] = []
    empty = True
    for entry in entries:
        waiting.append(entry)
        if len(waiting) == most:
            yield head + joint.join(waiting)
            head, empty = joint, False
            waiting.clear()
    if waiting:
        yield head + joint.join(waiting)
        empty = False
    yield "[]" if empty else f"\n{indent}]"


def json_texts(texts: Iterable[str]) -> str:
    """A list of texts on one line."""
    return f"[{', '.join(map(json_quoted, texts))}]"


def json_place(mark: Mark | None) -> str:
    """A place as an object, ``null`` for none."""
    if mark is None:
        return "null"
    place = mark.place
    return (
        f'{{"file": {json_quoted(place.file)}, "sheet": {json_quoted(place.sheet)}, '
        f'"cell": {json_quoted(place.cell)}, "label": {json_quoted(mark.label)}}}'
    )
