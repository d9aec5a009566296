"""Order and numbers of findings: by grade, and what follows from a cause listed under it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from harnessdrc.findings import GRADES
from harnessdrc.results import ReportedFinding

__all__ = ["NumberedFinding", "numbered"]


@dataclass(frozen=True, slots=True)
class NumberedFinding:
    """A finding with its number (``3``, or ``3.1`` for what follows from 3) and how deep it is indented."""

    finding: ReportedFinding
    number: str
    depth: int


def numbered(findings: Sequence[ReportedFinding]) -> list[NumberedFinding]:
    """Findings in the order a person should see to them.

    Hold comes before query and query before note; within a grade the order given stays. A consequence
    stands under its cause, whatever its own grade. Those under a concession come last.
    """
    still_open = [one for one in findings if one.concession is None]
    accepted = [one for one in findings if one.concession is not None]
    ordered = [*_grouped(still_open), *accepted]
    result: list[NumberedFinding] = []
    counters = [0]
    for entry in ordered:
        finding, depth = entry if isinstance(entry, tuple) else (entry, 0)
        counters = [*counters[: depth + 1], *([0] * (depth + 1 - len(counters)))]
        counters[depth] += 1
        result.append(NumberedFinding(finding, ".".join(map(str, counters)), depth))
    return result


def _grouped(findings: Sequence[ReportedFinding]) -> list[tuple[ReportedFinding, int]]:
    by_print = {one.thumbprint: index for index, one in reversed(list(enumerate(findings)))}
    follows: dict[int, list[int]] = {}
    roots: list[int] = []
    for index, one in enumerate(findings):
        cause = by_print.get(one.follows_from) if one.follows_from else None
        if cause is None or cause == index:
            roots.append(index)
        else:
            follows.setdefault(cause, []).append(index)
    seen: set[int] = set()

    def family(root: int) -> Iterator[tuple[ReportedFinding, int]]:
        waiting = [(root, 0)]
        while waiting:
            index, depth = waiting.pop()
            if index in seen:
                continue
            seen.add(index)
            yield findings[index], depth
            waiting.extend((child, depth + 1) for child in reversed(follows.get(index, [])))

    rank = {grade: place for place, grade in enumerate(GRADES)}
    ordered = [pair for root in sorted(roots, key=lambda i: rank[findings[i].grade]) for pair in family(root)]
    for index in range(len(findings)):  # causes that name each other in a ring have no root
        ordered.extend(family(index))
    return ordered
