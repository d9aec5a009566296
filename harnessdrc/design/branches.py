"""Which branches of the loom a wire runs in: the words of its Branch cell."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

from harnessdrc.harness.elements import Harness, Wire
from harnessdrc.harness.names import fold

__all__ = ["branch_as_written", "branch_names", "branches_of"]

_SIGNS = (
    re.compile(r"[,;|\n]"),
    re.compile(r"<?[-=\u2010-\u2015\u2212]+>|>|[\u2190-\u2194\u21d2\u27f6\u279c]"),
    re.compile(r"[/+&]"),
)
"""What parts two branches, the plainest first: commas, arrows of every kind, slashes and plus signs."""


def _parted(text: str, listed: Mapping[str, Any], level: int = 0) -> Iterator[str]:
    """Folded names in a text; what is the name of a branch as it stands is not parted further."""
    name = fold(text)
    if not name:
        return
    if name in listed or level == len(_SIGNS):
        yield name
        return
    for part in _SIGNS[level].split(text):
        yield from _parted(part, listed, level + 1)


def branch_names(wire: Wire, harness: Harness) -> tuple[str, ...]:
    """Folded names of the branches that a wire's cell names, in their order, each once.

    A cell may name several, parted by a comma, a semicolon, an arrow, a slash or a plus. A branch whose own name has
    such a sign in it is known by the list of branches and stays whole. Branches without a line of their own in that
    list are among them.
    """
    return tuple(dict.fromkeys(_parted(wire.branch, harness.branches))) if wire.branch else ()


def branch_as_written(wire: Wire, name: str) -> str:
    """A branch as a wire's cell spells it, by its folded name; the folded name where no part of the cell is it."""
    parts = [wire.branch or ""]
    for signs in (None, *_SIGNS):
        if signs is not None:
            parts = [piece for part in parts for piece in signs.split(part)]
        for part in parts:
            if fold(part) == name:
                return part.strip()
    return name


def branches_of(wire: Wire, harness: Harness) -> tuple[str, ...]:
    """Keys, into `Harness.branches`, of the branches a wire runs in; those without a line of their own are left out."""
    return tuple(name for name in branch_names(wire, harness) if name in harness.branches)
