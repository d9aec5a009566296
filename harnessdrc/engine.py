"""Runs the rules of a ruleset over a design and gathers what they say.

A check that fails is an outcome of its own: the others run on, and the run is not clean.
"""

from __future__ import annotations

import math
import re
import traceback
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from harnessdrc import __version__
from harnessdrc.checks.registry import Check
from harnessdrc.design import Design
from harnessdrc.design.analysis.limits import OffsetLimits
from harnessdrc.design.testing.allowed import Allowed
from harnessdrc.findings import GRADES, Finding, Mark, Subject, Undecided, thumbprint
from harnessdrc.harness.names import natural_key
from harnessdrc.induced import induction_outcome
from harnessdrc.measured import Said, consequences, measured_outcome
from harnessdrc.places import Place
from harnessdrc.results import (
    AssumptionLine,
    GivenValue,
    InductionOutcome,
    MeasuredOutcome,
    NetworkOutcome,
    ReadSummary,
    ReportedFinding,
    ReportedUndecided,
    Result,
    RuleOutcome,
    SetAsideLine,
    SizingOutcome,
    SourceFile,
)
from harnessdrc.rulesets import Rule, Ruleset
from harnessdrc.sized import sizing_outcome
from harnessdrc.solved import network_outcome
from harnessdrc.tables.model import Reading
from harnessdrc.wording import message, remedy

__all__ = ["RuleRun", "Worded", "findings_of", "given_numbers", "run", "thumbprint"]

Progress = Callable[[str, int, int], None]

_MANY_WIRES = 10_000
"""In longer lists what nothing asks for any more is let go."""


def _cell_key(cell: str) -> tuple[int, int, str]:
    match = re.match(r"([A-Z]*)(\d*)", cell)
    letters, row = match.groups() if match else ("", "")
    return (int(row or 0), len(letters), letters)


def _place_key(place: Place) -> tuple[str, str, tuple[int, int, str]]:
    return (place.file, place.sheet, _cell_key(place.cell))


def _plain(value: Any) -> Any:
    """Evidence in JSON types, whatever a check of somebody else's put there."""
    if isinstance(value, bool | str) or value is None:
        return value
    if isinstance(value, int | float):
        return value if math.isfinite(value) else str(value)
    if isinstance(value, Mapping):
        return {str(k): _plain(v) for k, v in value.items()}
    if isinstance(value, list | tuple | set | frozenset):
        items = sorted(value, key=str) if isinstance(value, set | frozenset) else value
        return [_plain(v) for v in items]
    return str(value)


def given_numbers(ruleset: Ruleset) -> dict[str, float]:
    """Given values of a ruleset as numbers, by name."""
    return {
        name: float(given.value) for name, given in ruleset.given.items() if not isinstance(given.value, str)
    }


def _crash_sentence(error: BaseException) -> str:
    last = traceback.extract_tb(error.__traceback__)[-1]
    return f"{type(error).__name__}: {error} (in {last.name}, line {last.lineno})"


@dataclass(frozen=True, slots=True)
class Worded:
    """A finding of a rule with its sentences and its thumbprint."""

    finding: Finding
    message: str
    remedy: str
    thumbprint: str


@dataclass(frozen=True, slots=True)
class RuleRun:
    """What one rule says about a design; `crashed` holds the reason when its check failed."""

    rule: Rule
    check: Check
    looked_at: int
    findings: list[Worded]
    undecided: list[Undecided]
    crashed: str | None


def findings_of(design: Design, rules: Iterable[Rule], checks: Mapping[str, Check]) -> Iterator[RuleRun]:
    """Run rules over a design, one after the other as they are asked for.

    Parameters
    ----------
    design : Design
        What the checks look at.
    rules : iterable of Rule
        Rules in the order to run them.
    checks : mapping of str to Check
        Loaded checks by name.

    Yields
    ------
    RuleRun
        One for each rule, whatever its check does.
    """
    for rule in rules:
        yield _run_rule(rule, checks[rule.check], design)


def _run_rule(rule: Rule, check: Check, design: Design) -> RuleRun:
    findings: list[Worded] = []
    undecided: list[Undecided] = []
    looked_at = 0
    try:
        looked_at = sum(1 for s in dict.fromkeys(check.subjects(design, rule.limits)) if rule.scope.takes(s))
        for outcome in check.run(design, rule.limits):
            if not rule.scope.takes(outcome.subject):
                continue
            if isinstance(outcome, Finding):
                mark = thumbprint(rule.name, rule.check, outcome.subject)
                findings.append(Worded(outcome, message(check, outcome), remedy(check, outcome), mark))
            else:
                undecided.append(outcome)
    except Exception as error:
        return RuleRun(rule, check, looked_at, findings, undecided, _crash_sentence(error))
    return RuleRun(rule, check, looked_at, findings, undecided, None)


def run(
    design: Design,
    ruleset: Ruleset,
    checks: Mapping[str, Check],
    reading: Reading,
    progress: Progress | None = None,
) -> Result:
    """Run every rule of a ruleset.

    Parameters
    ----------
    design : Design
        What the checks look at.
    ruleset : Ruleset
        Rules with their grades, limits and scopes.
    checks : mapping of str to Check
        Loaded checks by name.
    reading : Reading
        The account of the rows, passed on to the renderers.
    progress : callable, optional
        Called as ``progress(rule, number, total)`` before each rule.

    Returns
    -------
    Result
        Findings ordered by grade, then by rule, then by place.
    """
    design.allowed = allowed_by(ruleset.rules)
    rules: list[RuleOutcome] = []
    found: list[tuple[int, Rule, Worded]] = []
    open_questions: list[tuple[int, Rule, Undecided]] = []
    for number, rule in enumerate(ruleset.rules):
        if progress:
            progress(rule.name, number, len(ruleset.rules))
        said = _run_rule(rule, checks[rule.check], design)
        found += [(number, rule, f) for f in said.findings]
        open_questions += [(number, rule, u) for u in said.undecided]
        rules.append(
            RuleOutcome(
                rule.name, rule.check, rule.grade, said.looked_at, len(said.findings), len(said.undecided),
                said.crashed, rule.reason, rule.source, said.check.counts,
            )
        )  # fmt: skip
    induction, sizing, measured = _induction(design, ruleset), _sizing(design, ruleset), _measured(design)
    found = _with_causes(design, ruleset, checks, found)
    assumptions = _assumption_lines(reading, design)
    if len(design.harness.wires) > _MANY_WIRES:
        design.let_go()
    # A cause is looked for among the findings of the same rule first: two rules may share a check.
    prints: dict[tuple[str, str, Subject], str] = {}
    for _, rule, worded in found:
        for of_rule in (rule.name, ""):
            prints.setdefault((of_rule, rule.check, worded.finding.subject), worded.thumbprint)
    found.sort(
        key=lambda f: (
            GRADES.index(f[1].grade),
            f[0],
            _place_key(f[2].finding.marks[0].place) if f[2].finding.marks else ("", "", (0, 0, "")),
            natural_key(f[2].finding.subject[1]),
        )
    )
    open_questions.sort(key=lambda u: (GRADES.index(u[1].grade), u[0], natural_key(u[2].subject[1])))
    findings = tuple(_reported(rule, worded, prints) for _, rule, worded in found)
    undecided = tuple(
        ReportedUndecided(
            rule.name, rule.check, rule.grade, u.subject, u.missing, u.marks, u.low, u.high, u.limit, u.unit
        )
        for _, rule, u in open_questions
    )
    del found, open_questions, prints  # the network needs the most room of all
    return Result(
        version=__version__,
        sources=tuple(SourceFile(s.file, s.sha256) for s in reading.sources),
        ruleset_name=ruleset.name,
        ruleset_issue=ruleset.issue,
        given=tuple(
            GivenValue(name, given.value, given.unit, given.source) for name, given in ruleset.given.items()
        ),
        read=ReadSummary(
            reading.rows_seen,
            reading.rows_used,
            tuple(SetAsideLine(r.file, r.sheet, r.row, r.reason) for r in reading.set_aside),
            len(design.harness.wires),
            len({pin.contact for pin in design.harness.pins}),
            len(design.devices.all),
        ),
        rules=tuple(rules),
        findings=findings,
        undecided=undecided,
        assumptions=assumptions,
        network=_network(design, ruleset),
        induction=induction,
        sizing=sizing,
        measured=measured,
        rules_off=tuple(ruleset.rules_off),
    )


Found = list[tuple[int, Rule, Worded]]


def _with_causes(design: Design, ruleset: Ruleset, checks: Mapping[str, Check], found: Found) -> Found:
    """Findings, those that only a failed reading makes as following from it."""
    if not design.harness.measurements:
        return found

    def said_of(one: Design, names: frozenset[str]) -> Iterator[Said]:
        for ran in findings_of(one, [rule for rule in ruleset.rules if rule.name in names], checks):
            yield from (_said(ran.rule, worded) for worded in ran.findings)

    try:
        causes = consequences(design, said_of, [_said(rule, worded) for _, rule, worded in found])
    except Exception:  # the rule on measured resistances reports its own crash
        return found
    return [(at, rule, _following(worded, causes.get(_said(rule, worded)))) for at, rule, worded in found]


def _said(rule: Rule, worded: Worded) -> Said:
    return Said(rule.name, rule.check, worded.finding.subject, worded.finding.variant)


def _following(worded: Worded, cause: tuple[str, Subject] | None) -> Worded:
    if cause is None or worded.finding.follows_from is not None:
        return worded
    return replace(worded, finding=replace(worded.finding, follows_from=cause))


def _reported(rule: Rule, worded: Worded, prints: Mapping[tuple[str, str, Subject], str]) -> ReportedFinding:
    finding = worded.finding
    return ReportedFinding(
        rule=rule.name,
        check=rule.check,
        grade=rule.grade,
        subject=finding.subject,
        message=worded.message,
        remedy=worded.remedy,
        measured=finding.measured,
        limit=finding.limit,
        unit=finding.unit,
        marks=finding.marks,
        evidence=_plain(finding.evidence),
        follows_from=_cause(prints, rule, worded),
        concession=None,
        thumbprint=worded.thumbprint,
    )


def _cause(prints: Mapping[tuple[str, str, Subject], str], rule: Rule, worded: Worded) -> str | None:
    """Thumbprint of the finding that this one follows from, where that was found too."""
    if worded.finding.follows_from is None:
        return None
    check, subject = worded.finding.follows_from
    cause = prints.get((rule.name, check, subject)) or prints.get(("", check, subject))
    return None if cause == worded.thumbprint else cause


def _assumption_lines(reading: Reading, design: Design) -> tuple[AssumptionLine, ...]:
    lines = [
        AssumptionLine(
            a.what, a.subject, a.value, a.because, Mark(a.place, a.what) if a.place else None, a.count
        )
        for a in (*reading.assumptions, *design.assumptions)
    ]
    lines += [
        AssumptionLine(
            "not understood",
            u.text,
            "not given",
            f"expected {u.expected}",
            Mark(u.place, "not understood"),
            1,
        )
        for u in reading.unreadable
    ]
    return tuple(lines)


def offset_limits(rules: Iterable[Rule]) -> OffsetLimits:
    """What the rules allow an offset to be with joints as new; the usual limits where no rule says."""
    said: dict[str, float] = {}
    for rule in rules:
        if getattr(rule.limits, "joints", "new") == "new":
            for own, name in _OFFSET_LIMITS.get(rule.check, {}).items():
                said.setdefault(name, getattr(rule.limits, own))
    return OffsetLimits(**said)


_OFFSET_LIMITS: Mapping[str, Mapping[str, str]] = {
    "ignition.input_offset": {"on_mv": "coil_on_mv", "surely_on_mv": "coil_surely_on_mv"},
    "sensor.reading_error": {
        "temperature_k": "temperature_k", "ratiometric_percent": "ratiometric_percent", "trigger_mv": "trigger_mv",
    },
    "ground.offset": {"ground_mv": "ground_mv", "bus_mv": "bus_mv"},
}  # fmt: skip
"""Limit of a check → what it bounds."""


def _network(design: Design, ruleset: Ruleset) -> NetworkOutcome:
    """What the solved circuit says, or why there is nothing; the rules that need it report their own crash."""
    try:
        return network_outcome(design, offset_limits(ruleset.rules))
    except Exception as error:
        return NetworkOutcome(not_solved=(f"Solving the circuit failed: {_crash_sentence(error)}.",))


def allowed_by(rules: Iterable[Rule]) -> Allowed:
    """What the rules allow measured voltages to be; the usual limits where no rule says."""
    rules = tuple(rules)
    said: dict[str, float] = {}
    for rule in rules:
        own, name = _DROP_LIMITS.get(rule.check, ("", ""))
        if own:
            said.setdefault(name, getattr(rule.limits, own))
    return Allowed(offset_limits(rules), **said)


_DROP_LIMITS: Mapping[str, tuple[str, str]] = {
    "feed.voltage_drop": ("drop_mv", "feed_mv"), "ground.voltage_drop": ("drop_mv", "return_mv"),
    "feed.cranking_drop": ("drop_mv", "cranking_mv"),
}  # fmt: skip
"""Check → its limit and what that bounds."""


def _measured(design: Design) -> MeasuredOutcome:
    """What the test sheets say; the rules that need them report their own crash."""
    try:
        return measured_outcome(design)
    except Exception as error:
        return MeasuredOutcome(not_compared=(f"Reading the test sheets failed: {_crash_sentence(error)}.",))


def _induction(design: Design, ruleset: Ruleset) -> InductionOutcome:
    """Loops and margins, or why there are none; the rules that need them report their own crash."""
    limits_db = [rule.limits.margin_db for rule in ruleset.rules if rule.check == "trigger.margin"]
    try:
        return induction_outcome(design, limits_db[0] if limits_db else None)
    except Exception as error:
        return InductionOutcome(not_worked_out=(f"Working out the loops failed: {_crash_sentence(error)}.",))


def _sizing(design: Design, ruleset: Ruleset) -> SizingOutcome:
    """Sizes, fuses and bundles, or why there are none; the rules that need them report their own crash."""
    limits: dict[str, float] = {}
    for rule in ruleset.rules:
        own, name = _SIZING_LIMITS.get(rule.check, ("", ""))
        if own:
            limits.setdefault(name, getattr(rule.limits, own))
    try:
        return sizing_outcome(design, **limits)
    except Exception as error:
        return SizingOutcome(not_worked_out=(f"Working out the sizes failed: {_crash_sentence(error)}.",))


_SIZING_LIMITS: Mapping[str, tuple[str, str]] = {
    "feed.voltage_drop": ("drop_mv", "drop_mv"),
    "wire.current": ("load_percent", "load_percent"),
    "fuse.load": ("load_percent", "fuse_load_percent"),
    "fuse.blows": ("clear_s", "clear_s"),
    "bundle.sleeve": ("fill_percent", "fill_percent"),
}
"""Check → its limit that sizes are worked out by, and what `sizing_outcome` calls it."""
