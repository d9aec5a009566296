"""What the rules say of two issues: findings new, carried over and gone, and subjects not decided.

A finding is the same when rule, check and subject are; a subject that has another name in the new issue is followed.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import TypeVar

from harnessdrc.comparison import FindingChange, Trend, UndecidedChange
from harnessdrc.findings import Subject
from harnessdrc.results import ReportedFinding, ReportedUndecided, Result

__all__ = ["Followed", "finding_changes", "trend_of", "undecided_changes"]

_SAME_PART = 0.005
"""Measured values that differ by less than this part of their limit are the same."""

_SPACE = re.compile(r"\s")

_UNUSED = "concession.unused"

_ORDER: tuple[Trend, ...] = ("new", "worse", "gone", "better", "same")

Told = TypeVar("Told", ReportedFinding, ReportedUndecided)
_Key = tuple[str, str, Subject]


class Followed:
    """Subjects of the old issue under the names of the new one.

    Parameters
    ----------
    wires : mapping of str to str
        Name of every wire that both issues have, in the old one → in the new one.
    names : mapping of str to str
        Names of items, branches and files that are others in the new issue.
    """

    def __init__(self, wires: Mapping[str, str], names: Mapping[str, str]) -> None:
        self._wires = wires
        self._changed = {old: new for old, new in {**wires, **names}.items() if old != new}
        self._names = {old: new for old, new in names.items() if old != new}
        several = sorted((name for name in self._changed if _SPACE.search(name)), key=lambda name: (-len(name), name))
        # Names of several words are few; all others are looked up word by word, in the same pass.
        whole = "".join(rf"(?<![^\s,;(]){re.escape(name)}(?![^\s,;)])|" for name in several)
        self._word = re.compile(rf"{whole}[^\s,;()]+")

    def candidates(self, subject: Subject) -> tuple[Subject, ...]:
        """What a subject of the old issue may be called in the new one, the likeliest first."""
        kind, name = subject
        if kind == "wire":
            return ((kind, self._wires.get(name, name)),)
        if name in self._names:
            return ((kind, self._names[name]),)
        replaced = self._word.sub(lambda match: self._changed.get(match[0], match[0]), name) if self._changed else name
        return (subject,) if replaced == name else (subject, (kind, replaced))


def _paired(
    old: Sequence[Told], new: Sequence[Told], followed: Followed
) -> tuple[list[tuple[Told, Told]], list[Told], list[Told]]:
    """The same in both, those only in the old issue, those only in the new one."""
    waiting: dict[_Key, list[Told]] = {}
    for each in sorted(new, key=_told_order, reverse=True):
        waiting.setdefault((each.rule, each.check, each.subject), []).append(each)
    pairs: list[tuple[Told, Told]] = []
    left = sorted(old, key=_told_order)
    for at in (0, 1):
        rest: list[Told] = []
        for each in left:
            candidates = followed.candidates(each.subject)
            subject = candidates[at] if at < len(candidates) else None
            there = waiting.get((each.rule, each.check, subject)) if subject is not None else None
            if there:
                pairs.append((each, there.pop()))
            else:
                rest.append(each)
        left = rest
    gone, come = set(map(id, left)), {id(each) for several in waiting.values() for each in several}
    return pairs, [each for each in old if id(each) in gone], [each for each in new if id(each) in come]


def _told_order(told: ReportedFinding | ReportedUndecided) -> tuple[str, ...]:
    """Order of several that a rule says of one subject, whatever the order of rows."""
    if isinstance(told, ReportedFinding):
        return (told.rule, *told.subject, told.unit, told.message)
    return (told.rule, *told.subject, told.unit, *told.missing)


def trend_of(before: ReportedFinding, after: ReportedFinding) -> Trend:
    """Whether a finding got worse, better, or neither by more than half a per cent of its limit."""
    if before.measured is None or after.measured is None or before.unit != after.unit:
        return "same"
    was, now = _beyond(before), _beyond(after)
    if abs(now - was) <= _SAME_PART * (1.0 if before.limit and after.limit else abs(was)):
        return "same"
    return "worse" if now > was else "better"


def _beyond(finding: ReportedFinding) -> float:
    """How far a value lies beyond its limit, on whichever side: in parts of it, in its unit where there is none."""
    assert finding.measured is not None
    if not finding.limit:
        return abs(finding.measured)
    return abs(finding.measured - finding.limit) / abs(finding.limit)


def finding_changes(old: Result, new: Result, followed: Followed) -> tuple[FindingChange, ...]:
    """Every finding of both issues, by what became of it.

    Parameters
    ----------
    old, new : Result
        Outcome of the same rules on each issue.
    followed : Followed
        Names of subjects.
    """
    pairs, gone, come = _paired(old.findings, new.findings, followed)
    place = {id(finding): at for at, finding in enumerate((*new.findings, *old.findings))}
    changes = [FindingChange(trend_of(before, after), before, after) for before, after in pairs]
    # A concession given for what is new has nothing to accept in the old issue: no news of the list.
    changes += [FindingChange("gone", finding, None) for finding in gone if finding.check != _UNUSED]
    changes += [FindingChange("new", None, finding) for finding in come]
    changes.sort(key=lambda change: (_ORDER.index(change.trend), place[id(change.finding)]))
    return tuple(changes)


def undecided_changes(old: Result, new: Result, followed: Followed) -> tuple[UndecidedChange, ...]:
    """Subjects that only one issue leaves undecided, new ones first."""
    _, gone, come = _paired(old.undecided, new.undecided, followed)
    return (*_changes("new", come), *_changes("gone", gone))


def _changes(trend: Trend, undecided: Iterable[ReportedUndecided]) -> Iterable[UndecidedChange]:
    return (UndecidedChange(trend, each) for each in undecided)
