"""Runs the rules of a ruleset over a design and gathers what they say.

A check that fails is an outcome of its own: the others run on, and the run is not clean.
"""

from __future__ import annotations

import hashlib
import math
import re
import traceback
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from harnessdrc import __version__
from harnessdrc.checks.registry import Check
from harnessdrc.design import Design
from harnessdrc.findings import GRADES, Finding, Mark, Subject, Undecided
from harnessdrc.harness.names import natural_key
from harnessdrc.places import Place
from harnessdrc.results import (
    AssumptionLine,
    GivenValue,
    ReadSummary,
    ReportedFinding,
    ReportedUndecided,
    Result,
    RuleOutcome,
    SetAsideLine,
    SourceFile,
)
from harnessdrc.rulesets import Rule, Ruleset
from harnessdrc.tables.model import Reading
from harnessdrc.wording import message, remedy

__all__ = ["given_numbers", "run", "thumbprint"]

Progress = Callable[[str, int, int], None]


def thumbprint(rule: str, check: str, subject: Subject) -> str:
    """Identity of a finding across issues of a list: no row, no wording in it."""
    text = "\x1f".join((rule, check, *subject))
    return hashlib.sha256(text.encode()).hexdigest()[:16]


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
class _Worded:
    """A finding of a rule with its sentences and its thumbprint."""

    finding: Finding
    message: str
    remedy: str
    thumbprint: str


def _run_rule(
    rule: Rule, check: Check, design: Design
) -> tuple[int, list[_Worded], list[Undecided], str | None]:
    findings: list[_Worded] = []
    undecided: list[Undecided] = []
    looked_at = 0
    try:
        looked_at = sum(1 for s in dict.fromkeys(check.subjects(design, rule.limits)) if rule.scope.takes(s))
        for outcome in check.run(design, rule.limits):
            if not rule.scope.takes(outcome.subject):
                continue
            if isinstance(outcome, Finding):
                mark = thumbprint(rule.name, rule.check, outcome.subject)
                findings.append(_Worded(outcome, message(check, outcome), remedy(check, outcome), mark))
            else:
                undecided.append(outcome)
    except Exception as error:
        return looked_at, findings, undecided, _crash_sentence(error)
    return looked_at, findings, undecided, None


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
    rules: list[RuleOutcome] = []
    found: list[tuple[int, Rule, _Worded]] = []
    open_questions: list[tuple[int, Rule, Undecided]] = []
    for number, rule in enumerate(ruleset.rules):
        if progress:
            progress(rule.name, number, len(ruleset.rules))
        check = checks[rule.check]
        looked_at, findings, undecided, crashed = _run_rule(rule, check, design)
        found += [(number, rule, f) for f in findings]
        open_questions += [(number, rule, u) for u in undecided]
        rules.append(
            RuleOutcome(
                rule.name, rule.check, rule.grade, looked_at, len(findings), len(undecided), crashed,
                rule.reason, rule.source, check.counts,
            )
        )  # fmt: skip
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
        findings=tuple(_reported(rule, worded, prints) for _, rule, worded in found),
        undecided=tuple(
            ReportedUndecided(rule.name, rule.check, rule.grade, u.subject, u.missing, u.marks)
            for _, rule, u in open_questions
        ),
        assumptions=_assumption_lines(reading, design),
        network=_network(design),
        rules_off=tuple(ruleset.rules_off),
    )


def _reported(rule: Rule, worded: _Worded, prints: Mapping[tuple[str, str, Subject], str]) -> ReportedFinding:
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


def _cause(prints: Mapping[tuple[str, str, Subject], str], rule: Rule, worded: _Worded) -> str | None:
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


def _network(design: Design) -> dict[str, Any]:
    """Currents and drops with all loads on, in the shape of the JSON contract."""
    try:
        wires = design.drops.wires
    except Exception:  # the voltage-drop rules report the same failure as a crash of theirs
        return {"states": []}
    if not wires:
        return {"states": []}
    return {
        "states": [
            {
                "name": "all loads on",
                "nodes": [],
                "wires": [
                    {
                        "wire": w.wire.name,
                        "amps": round(w.current_a, 6),
                        "drop_mv": round(w.drop_v * 1000, 6),
                        "degc": design.given["conductor_degc"],
                    }
                    for w in wires
                ],
                "offsets": [],
            }
        ]
    }
