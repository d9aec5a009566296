"""Proposals for findings on grounds: the smallest change that clears each, tried before it is offered.

On lists of ordinary size every change is tried alone. Where there are many causes, or the list is long,
the first changes of all causes are made together and proved in one run; those that fail drop out, and
what is left is proved once more.
"""

from __future__ import annotations

import gc
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace

from harnessdrc.advice.blame import blamed, reaches_of
from harnessdrc.advice.candidates import candidates, is_about_grounds
from harnessdrc.advice.edits import AddWire, Change, CutBack, Edit, MoveEnd
from harnessdrc.advice.homes import Homes
from harnessdrc.advice.proving import Baseline, Key, Measures
from harnessdrc.advice.trials import Proved, Trials, contradicts
from harnessdrc.checks.registry import Check
from harnessdrc.design import Design
from harnessdrc.harness.names import natural_key
from harnessdrc.results import Proposal, ReportedFinding, Result
from harnessdrc.rulesets import Ruleset

__all__ = ["Proved", "propose", "proved_changes"]

_ALONE_CAUSES, _ALONE_WIRES = 16, 1000
"""Up to so many causes on lists of up to so many wires each change is tried alone."""


def _key(finding: ReportedFinding) -> Key:
    return (finding.rule, finding.check, finding.subject)


def propose(design: Design, ruleset: Ruleset, checks: Mapping[str, Check], result: Result) -> Result:
    """Propose the smallest change of the list for every finding on grounds that one clears.

    Parameters
    ----------
    design : Design
        The list that was checked.
    ruleset : Ruleset
        The rules that were run.
    checks : mapping of str to Check
        Loaded checks by name.
    result : Result
        Their outcome.

    Returns
    -------
    Result
        The same, with `ReportedFinding.proposal` filled in where a change holds. A change is offered only when
        the rules, run over the changed list, no longer find what it is for, find nothing new, leave nothing new
        undecided, and give no value that is worse by more than a hundredth of its limit (unless a load gets its
        way home: its current is felt by others).
    """
    taken = proved_changes(design, ruleset, checks, result)
    return _with_proposals(design, result, taken, Measures(ruleset, checks)) if taken else result


def proved_changes(
    design: Design, ruleset: Ruleset, checks: Mapping[str, Check], result: Result
) -> dict[Key, Proved]:
    """The change that `propose` offers for each finding, with its edits and the changed design.

    Parameters
    ----------
    design, ruleset, checks, result
        As for `propose`.

    Returns
    -------
    dict of (rule, check, subject) to Proved
        Findings that no change clears are absent.
    """
    every = {_key(finding): finding for finding in result.findings if is_about_grounds(finding.check)}
    causes_of = {finding.thumbprint for finding in every.values()}
    # What follows from another finding shares the proposal of that one or goes without.
    asked = {key: finding for key, finding in every.items() if finding.follows_from not in causes_of}
    if not asked:
        return {}
    with _collector_paused():
        homes = Homes(design)
        # By rule and name: the findings themselves stand in the order of the rows.
        number = {rule.name: index for index, rule in enumerate(ruleset.rules)}
        order = sorted(asked, key=lambda key: (number[key[0]], natural_key(key[2][1]), key[2]))
        ways = {key: found for key in order if (found := candidates(homes, asked[key]))}
        trials = Trials(design, Baseline(ruleset, checks, result))
        causes = {found[0] for found in ways.values()}
        if len(design.harness.wires) <= _ALONE_WIRES and len(causes) <= _ALONE_CAUSES:
            taken = _each_alone(trials, ways)
        else:
            taken = _all_together(trials, ways)
            if len(design.harness.wires) <= _ALONE_WIRES:
                left = [key for key in ways if key not in taken]
                taken |= _each_alone(trials, {key: ways[key] for key in left[:_ALONE_CAUSES]})
        shared = sorted(taken.values(), key=lambda one: one.change.cost)
        for key in every.keys() - taken.keys():
            _take(taken, key, (one for one in shared if key in one.gone))
        return taken


@contextmanager
def _collector_paused() -> Iterator[None]:
    """Whole designs are built and kept to the end: walking over them again and again is half the time."""
    paused = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if paused:
            gc.enable()


def _each_alone(trials: Trials, ways: Mapping[Key, Sequence[Change]]) -> dict[Key, Proved]:
    """For each finding the cheapest change that holds, by itself or else beside the changes for other findings."""
    taken: dict[Key, Proved] = {}
    first = {key: [c for c in changes if c.cost == changes[0].cost] for key, changes in ways.items()}
    for key, changes in first.items():
        _take(taken, key, (trials.found(change, key) for change in changes))
    for _ in range(2):  # what one finding needs may itself have needed another
        for key, changes in first.items():
            _take(taken, key, (trials.beside(change, key, taken, ways) for change in changes))
    for key, known in ways.items():
        further = [change for change in known if change not in first[key]]
        tries = (
            trials.found(c, key) or _shared(taken, key, c.cost) or trials.beside(c, key, taken, ways) for c in further
        )
        _take(taken, key, tries)
    for key, known in ways.items():
        if key not in taken:
            _take(taken, key, [trials.beside_all(known[0], key, taken)])
    # What is needed anyway stands for both where it is cheaper, and then where it needs the same wires and more.
    for key, one in taken.items():
        taken[key] = min(
            (other for other in taken.values() if key in other.gone and other.change.cost < one.change.cost),
            key=lambda other: other.change.cost, default=one,
        )  # fmt: skip
    for key, one in taken.items():
        taken[key] = min(
            (other for other in taken.values() if key in other.gone and one.change.names < other.change.names),
            key=lambda other: other.change.cost, default=one,
        )  # fmt: skip
    return _of_one_mind(trials, ways, taken)


def _shared(taken: Mapping[Key, Proved], key: Key, cost: float) -> Proved | None:
    """A change for another finding that takes this one away too and costs no more."""
    found = [one for one in taken.values() if key in one.gone and one.change.cost <= cost]
    return min(found, key=lambda one: one.change.cost, default=None)


def _take(taken: dict[Key, Proved], key: Key, tries: Iterable[Proved | None]) -> None:
    """Take the first try that holds, if nothing is taken yet."""
    if key not in taken and (found := next((one for one in tries if one is not None), None)) is not None:
        taken[key] = found


def _of_one_mind(
    trials: Trials, ways: Mapping[Key, Sequence[Change]], taken: Mapping[Key, Proved]
) -> dict[Key, Proved]:
    """Proposals that tell no wire to go to two places: of two that would, the later one gives way."""
    kept: dict[Key, Proved] = {}
    for key, one in taken.items():
        now = [other.change for other in kept.values()]
        if contradicts(one.change, now):
            further = (trials.alone(change, key) for change in ways[key] if not contradicts(change, now))
            found = next((other for other in kept.values() if key in other.gone), None) or next(
                (other for other in further if other is not None), None
            )
            if found is None:
                continue
            one = found
        kept[key] = one
    return kept


def _all_together(trials: Trials, ways: Mapping[Key, Sequence[Change]]) -> dict[Key, Proved]:
    """The first change of every finding, proved in one run or, less those that fail, in a second."""
    wanted: dict[Change, list[Key]] = {}
    by_wire: dict[str, Change] = {}
    for key, changes in ways.items():
        change = changes[0]
        if change not in wanted:
            others = {by_wire[name] for name in change.names if name in by_wire}
            if others:
                # Two changes of one wire cannot be made at once; the first may well be enough for both.
                if len(others) == 1:
                    wanted[others.pop()].append(key)
                continue
            by_wire |= dict.fromkeys(change.names, change)
        wanted.setdefault(change, []).append(key)
    chosen = _applicable(trials.design, list(wanted))
    for _ in range(2):
        if not chosen:
            return {}
        proof, gone, troubles = trials.together(chosen, (wanted[change][0] for change in chosen))
        kept = [change for change in chosen if wanted[change][0] in gone]
        if proof is not None and len(kept) == len(chosen):
            return {
                key: replace(
                    proof, change=change, gone=gone.intersection(keys), others=tuple(c for c in chosen if c != change)
                )
                for change, keys in wanted.items()
                if change in set(chosen)
                for key in keys
                if key in gone
            }
        bad = blamed(trials.design, reaches_of(trials.design, chosen), troubles) if troubles else set()
        chosen = [change for change in kept if change not in bad]
        if len(trials.design.harness.wires) > _ALONE_WIRES:
            gc.collect()  # a second design of a long list should not stand beside the first
    return {}


def _applicable(design: Design, changes: list[Change]) -> list[Change]:
    """Changes whose wires and ends are there, so that one that does not fit holds up no other."""
    named = {name for change in changes for name in change.names}
    wires = {wire.name: wire for wire in design.harness.wires if wire.name in named}

    def fits(edit: Edit) -> bool:
        wire = wires.get(edit.wire)
        match edit:
            case AddWire():
                return wire is None
            case MoveEnd():
                return wire is not None and edit.start in (wire.a, wire.b)
            case CutBack():
                return wire is not None and edit.contact in (wire.a, wire.b)
            case _:
                return wire is not None

    return [change for change in changes if all(fits(edit) for edit in change.edits)]


def _with_proposals(design: Design, result: Result, taken: Mapping[Key, Proved], measures: Measures) -> Result:
    prints: dict[Key, list[str]] = {}
    for finding in result.findings:
        prints.setdefault(_key(finding), []).append(finding.thumbprint)
    sentences: dict[Change, str] = {}
    findings: list[ReportedFinding] = []
    for finding in result.findings:
        found = taken.get(_key(finding))
        if found is None:
            findings.append(finding)
            continue
        if found.change not in sentences:
            sentences[found.change] = found.change.sentence(design)
        clears = dict.fromkeys(p for key in sorted(found.gone) for p in prints[key])
        findings.append(
            replace(
                finding,
                proposal=Proposal(
                    change=sentences[found.change],
                    wires=found.change.wires,
                    before=finding.measured,
                    after=measures.of(found.design, finding),
                    unit=finding.unit,
                    together=len(found.others),
                    clears=tuple(clears),
                ),
            )
        )
    return replace(result, findings=tuple(findings))
