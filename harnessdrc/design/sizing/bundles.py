"""Branches as bundles: how many wires lie in each, how hot it is round it.

The zone of a branch decides its ambient temperature. Zones are found by their words (``rulesets/tables/zones.csv``);
where a cell names several, the hottest of them counts.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design.branches import branch_names
from harnessdrc.harness.elements import Wire
from harnessdrc.physics.shipped_tables import read_table, word_list
from harnessdrc.physics.trade_words import WordBook

if TYPE_CHECKING:
    from harnessdrc.design import Design

__all__ = ["ZONES", "Ambient", "Bundles", "ambient_of", "bundles_of", "zones_of"]

ZONES = ("head", "bay", "chassis", "cabin")
"""Zones, each with a given value ``ambient_…_degc``."""


class Ambient(NamedTuple):
    """Ambient temperature of a branch, °C: least, usual and most that it may be; all equal where it is known."""

    low_degc: float
    usual_degc: float
    high_degc: float

    @property
    def known(self) -> bool:
        """Whether the zone is known."""
        return self.low_degc == self.high_degc


class Bundles(NamedTuple):
    """Branches of a loom and the wires in them.

    Parameters
    ----------
    names : tuple of str
        Folded names of the branches that wires run in, in the order of the wires.
    wires : ndarray of int, shape (branches,)
        Wires in each; a cable counts with its cores.
    ambient : ndarray, shape (branches, 3)
        As `Ambient`.
    wire, branch : ndarray of int, shape (pairs,)
        Every wire with every branch it runs in: numbers of both, sorted by wire.
    """

    names: tuple[str, ...]
    wires: NDArray[np.int64]
    ambient: NDArray[np.float64]
    wire: NDArray[np.intp]
    branch: NDArray[np.intp]


@lru_cache(maxsize=1)
def _book() -> WordBook[str]:
    def row(cells: Mapping[str, str]) -> tuple[str, tuple[str, ...]]:
        if cells["zone"] not in ZONES:
            raise ValueError(f"'{cells['zone']}' is no zone")
        return cells["zone"], word_list(cells["words"])

    return WordBook(dict(read_table("zones.csv", "words for zones", row)))


@lru_cache(maxsize=1024)
def zones_of(text: str) -> tuple[str, ...]:
    """Zones that a cell names, each once.

    Raises
    ------
    FileUnreadableError
        When the shipped table is missing or damaged.
    """
    return tuple(dict.fromkeys(each.meaning for each in _book().find(text)))


def ambient_of(zone: str | None, given: Mapping[str, float]) -> Ambient:
    """Ambient temperature of a branch by its zone; as in the bay, from the coolest to the hottest, if not known."""
    found = [given[f"ambient_{name}_degc"] for name in (zones_of(zone) if zone else ())]
    if found:
        return Ambient(*[max(found)] * 3)
    every = [given[f"ambient_{name}_degc"] for name in ZONES]
    return Ambient(min(every), given["ambient_bay_degc"], max(every))


def bundles_of(design: Design) -> Bundles:
    """Branches of a design with the wires in them."""
    harness = design.harness
    codes: dict[str | None, int] = {}
    code = np.array([codes.setdefault(wire.branch, len(codes)) for wire in harness.wires], dtype=np.intp)
    first: dict[str | None, Wire] = {}
    if len(codes) > 0:
        seen = np.unique(code, return_index=True)[1]
        first = {text: harness.wires[at] for text, at in zip(codes, seen.tolist(), strict=True)}
    numbers: dict[str, int] = {}
    # the branches that each text names, one text behind the other
    named = [[numbers.setdefault(name, len(numbers)) for name in branch_names(first[text], harness)] for text in codes]
    each = np.array([len(one) for one in named], dtype=np.intp)
    every = np.array([branch for one in named for branch in one], dtype=np.intp)
    start = np.cumsum(each) - each
    many = each[code]
    wire_of = np.repeat(np.arange(len(code)), many)
    within = np.arange(len(wire_of)) - np.repeat(np.cumsum(many) - many, many)
    branch_of = every[np.repeat(start[code], many) + within]
    cores = np.array([wire.cores for wire in harness.wires], dtype=np.int64)
    count = np.bincount(branch_of, cores[wire_of], len(numbers)).astype(np.int64)
    listed = (harness.branches.get(name) for name in numbers)
    ambient = [ambient_of(branch.zone if branch else None, design.given) for branch in listed]
    return Bundles(tuple(numbers), count, np.array(ambient, dtype=np.float64).reshape(-1, 3), wire_of, branch_of)
