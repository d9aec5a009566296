"""Cells that name several destinations of one wire or pin."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Sequence
from typing import TypeVar

from harnessdrc.intake.normalizing.ends import split_ends
from harnessdrc.intake.recognition.regions import is_pin_like

__all__ = ["SEPARATED", "lead_from", "several_ends"]

_T = TypeVar("_T")

SEPARATED = re.compile(r"[,;&+\n]|\s(?:and|und|et)\s")
"""Whether a text may name several ends at all."""

_PARTS = re.compile(r"\s*[,;&+\n]\s*|\s+and\s+|\s+und\s+|\s+et\s+")


def several_ends(texts: Iterable[str], known: Collection[str]) -> dict[str, tuple[str, ...]]:
    """Ends of those texts that name several.

    A text is taken apart where one of its parts is written with its pin (``C3:1,C6:1``) and the others are
    ends too, or where every part is met by itself as an end elsewhere in the list. ``Sensor, oil temp`` and
    ``Relay: 1B, 2B`` stay one name.

    Parameters
    ----------
    texts : iterable of str
        Distinct ends of a table.
    known : collection of str
        Names met as ends, with their pins off.

    Returns
    -------
    dict
        Text → its ends, each as it would stand in a cell of its own.
    """
    out: dict[str, tuple[str, ...]] = {}
    for text in texts:
        parts = [part for part in _PARTS.split(text) if part]
        if len(parts) < 2:
            continue
        pinned = split_ends(part for part in parts if ":" in part)
        if len(pinned) == 1 and all(is_pin_like(part) for part in parts[1:]):
            continue  # "Relay: 1B, 2B": one wire that bridges two terminals
        if pinned:
            ends = _with_items(parts, pinned)
            if ends:
                out[text] = tuple(ends)
        elif all(part in known for part in parts):
            out[text] = tuple(parts)
    return out


def _with_items(parts: Sequence[str], pinned: dict[str, tuple[str, str]]) -> list[str]:
    """Parts as ends, a bare pin as one more pin of the item before it; empty where one is neither."""
    out: list[str] = []
    item = ""
    for part in parts:
        if part in pinned:
            item = pinned[part][0]
            out.append(part)
        elif is_pin_like(part) and item:
            out.append(f"{item}:{part}")
        elif sum(c.isalpha() for c in part) >= 2 and ":" not in part:
            out.append(part)
        else:
            return []
    return out


def lead_from(pins: Sequence[object], ends: Sequence[_T]) -> list[tuple[_T, Sequence[_T]]]:
    """Where the wire of each pin of a row leads, and its further ends.

    One to one where there are as many ends as pins, else every pin to all of them.
    """
    if len(pins) == len(ends):
        return [(end, ()) for end in ends]
    return [(ends[0], ends[1:]) for _ in pins]
