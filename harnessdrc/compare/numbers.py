"""Offsets of two issues, and what their wires add up to."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable

from harnessdrc.compare.outcomes import Followed
from harnessdrc.comparison import OffsetChange, SizeTotal, Total
from harnessdrc.findings import Subject
from harnessdrc.harness.elements import Harness, Wire
from harnessdrc.harness.names import natural_key
from harnessdrc.results import OffsetLine, Result

__all__ = ["offset_changes", "share_of_limit", "size_totals", "totals"]


def share_of_limit(line: OffsetLine) -> float | None:
    """The worst offset of a victim over the limit on its side, joints as new; None where that side has none."""
    worst_mv = line.peak_mv[line.worst] if line.peak_mv else 0.0
    limit_mv = line.high_limit_mv if worst_mv >= 0 else line.low_limit_mv
    return None if not limit_mv else worst_mv / limit_mv


def offset_changes(old: Result, new: Result, followed: Followed) -> tuple[OffsetChange, ...]:
    """Offset of every victim in both issues.

    Parameters
    ----------
    old, new : Result
        Outcome of each issue, solved in the same states.
    followed : Followed
        Names of victims.

    Returns
    -------
    tuple of OffsetChange
        The greatest change in parts of the limit first; one that only one issue has counts as all of its offset.
    """
    waiting: dict[tuple[Subject, str], list[OffsetLine]] = defaultdict(list)
    for line in sorted(new.network.offsets, key=lambda line: line.reference, reverse=True):
        waiting[line.victim, line.what].append(line)
    pairs: list[tuple[OffsetLine | None, OffsetLine | None]] = []
    for line in sorted(old.network.offsets, key=lambda line: line.reference):
        named = (waiting.get((subject, line.what)) for subject in followed.candidates(line.victim))
        there = next(filter(None, named), None)
        pairs.append((line, there.pop() if there else None))
    pairs += [(None, line) for lines in waiting.values() for line in lines]
    changes = [
        OffsetChange(before, after, *(None if line is None else share_of_limit(line) for line in (before, after)))
        for before, after in pairs
    ]
    changes.sort(key=lambda change: (-_size_of(change), natural_key(change.line.victim[1]), change.line.what))
    return tuple(changes)


def _size_of(change: OffsetChange) -> float:
    """Change in parts of the limit, rounded so that the last bits of a sum do not decide an order."""
    return round(abs((change.share_after or 0.0) - (change.share_before or 0.0)), 9)


def totals(old: tuple[Harness, Result], new: tuple[Harness, Result]) -> tuple[Total, ...]:
    """Wires, their length and their copper in both issues."""
    lengths = [_sum(wire.length_m for wire in harness.wires) for harness, _ in (old, new)]
    coppers = [_sum(line.copper_g for line in result.sizing.wires) for _, result in (old, new)]
    return (
        Total("wires", "", float(len(old[0].wires)), float(len(new[0].wires)), 0, 0),
        Total("length", "m", lengths[0][0], lengths[1][0], lengths[0][1], lengths[1][1]),
        Total("copper", "g", coppers[0][0], coppers[1][0], coppers[0][1], coppers[1][1]),
    )


def _sum(values: Iterable[float | None]) -> tuple[float, int]:
    """Sum of what is known, the same in any order, and how many are not."""
    told = list(values)
    return math.fsum(value for value in told if value is not None), sum(value is None for value in told)


def size_totals(old: Harness, new: Harness) -> tuple[SizeTotal, ...]:
    """Wires and length by size, of the sizes that differ."""
    before, after = _by_size(old), _by_size(new)
    made = []
    for size in sorted(before.keys() | after.keys(), key=natural_key):
        was, now = before.get(size, []), after.get(size, [])
        before_m, after_m = (_sum(wire.length_m for wire in wires)[0] for wires in (was, now))
        if len(was) != len(now) or not math.isclose(before_m, after_m, rel_tol=1e-9, abs_tol=1e-9):
            made.append(SizeTotal(size, len(was), len(now), before_m, after_m))
    return tuple(made)


def _by_size(harness: Harness) -> dict[str, list[Wire]]:
    found: dict[str, list[Wire]] = defaultdict(list)
    for wire in harness.wires:
        found["not given" if wire.size is None else str(wire.size)].append(wire)
    return found
