"""Two issues of a list held against each other: what changed in it, and in what the rules say of it."""

from __future__ import annotations

from pathlib import PurePath
from typing import NamedTuple

from harnessdrc.compare.numbers import offset_changes, size_totals, totals
from harnessdrc.compare.outcomes import Followed, finding_changes, undecided_changes
from harnessdrc.compare.renamed import Renamed, renamed_between
from harnessdrc.compare.things import thing_changes
from harnessdrc.compare.wires import Side, WirePairs, wire_changes, wire_pairs
from harnessdrc.comparison import Comparison, IssueAccount
from harnessdrc.design import Design
from harnessdrc.harness.elements import Harness
from harnessdrc.harness.names import fold
from harnessdrc.results import Result

__all__ = ["Issue", "compare_issues"]


class Issue(NamedTuple):
    """One issue of a list as read, and what the rules say of it."""

    design: Design
    result: Result


def compare_issues(old: Issue, new: Issue) -> Comparison:
    """Hold two issues of a list against each other.

    Parameters
    ----------
    old, new : Issue
        Both checked by the same rules with the same given values.

    Returns
    -------
    Comparison
        The same whatever the order of rows; with `old` and `new` exchanged, what was added is removed.
    """
    renamed = renamed_between(old.design.harness, new.design.harness)
    before = Side(old.design.harness, False, renamed)
    after = Side(new.design.harness, True, renamed)
    pairs = wire_pairs(before, after)
    columns, wires = wire_changes(before, after, pairs)
    things = thing_changes(before, after, _numbers(pairs))
    followed = Followed(pairs.names, _names(old, new, renamed))
    return Comparison(
        version=new.result.version,
        ruleset_name=new.result.ruleset_name,
        ruleset_issue=new.result.ruleset_issue,
        old=_account(old),
        new=_account(new),
        columns=tuple(columns),
        objects=(*wires, *things),
        findings=finding_changes(old.result, new.result, followed),
        undecided=undecided_changes(old.result, new.result, followed),
        states=tuple(state.name for state in new.result.network.states or old.result.network.states),
        offsets=offset_changes(old.result, new.result, followed),
        totals=totals((old.design.harness, old.result), (new.design.harness, new.result)),
        sizes=size_totals(old.design.harness, new.design.harness),
        remarks=tuple(_remarks(old.result, new.result)),
    )


def _numbers(pairs: WirePairs) -> dict[str, str]:
    """Folded number of a wire in the old issue → its number in the new one, where it has another."""
    return {
        fold(old.number): new.number
        for old, new in pairs.same
        if old.number is not None and new.number is not None and fold(old.number) != fold(new.number)
    }


def _names(old: Issue, new: Issue, renamed: Renamed) -> dict[str, str]:
    """Names of the old issue that are others in the new one, as people write them: items, branches, files."""
    before, after = old.design.harness, new.design.harness
    names = {before.items[key].name: after.items[other].name for key, other in renamed.items.items()}
    names |= {before.branches[key].name: after.branches[other].name for key, other in renamed.branches.items()}
    names |= _same_items(before, after)
    return names | _files(old.result, new.result)


def _same_items(before: Harness, after: Harness) -> dict[str, str]:
    """Items that are written otherwise in the new issue: ``ecu-a`` for ``ECU-A``."""
    return {
        item.name: after.items[key].name
        for key, item in before.items.items()
        if key in after.items and after.items[key].name != item.name
    }


def _files(old: Result, new: Result) -> dict[str, str]:
    """The one file of an issue that the other one has under another name."""
    before, after = ([source.file for source in result.sources] for result in (old, new))
    gone, come = [file for file in before if file not in after], [file for file in after if file not in before]
    if len(gone) != 1 or len(come) != 1:
        return {}
    # The name of a text is that of its sheet too.
    return {gone[0]: come[0], PurePath(gone[0]).stem: PurePath(come[0]).stem}


def _account(issue: Issue) -> IssueAccount:
    result = issue.result
    return IssueAccount(
        sources=result.sources,
        issue_mark=issue.design.harness.issue_mark,
        wires=result.read.wires,
        pins=result.read.pins,
        components=result.read.components,
        hold=result.count("hold"),
        query=result.count("query"),
        note=result.count("note"),
        accepted=sum(1 for finding in result.findings if finding.concession is not None),
        undecided=len(result.undecided),
        crashed=tuple(f"{rule.rule}: {rule.crashed}" for rule in result.rules if rule.crashed),
    )


def _remarks(old: Result, new: Result) -> list[str]:
    remarks = []
    if sorted(source.sha256 for source in old.sources) == sorted(source.sha256 for source in new.sources):
        remarks.append("Both issues are the same files, byte for byte.")
    for name, result in (("old", old), ("new", new)):
        remarks += [f"Of the {name} issue, not solved: {sentence}" for sentence in result.network.not_solved]
    return remarks
