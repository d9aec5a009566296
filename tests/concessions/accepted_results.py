"""Outcomes of rules, made by hand, for concessions to be laid to."""

from __future__ import annotations

from harnessdrc.findings import Grade, Mark, Subject, thumbprint
from harnessdrc.places import Place
from harnessdrc.results import (
    ReadSummary,
    ReportedFinding,
    ReportedUndecided,
    Result,
    RuleOutcome,
    SourceFile,
)


def finding(
    rule: str,
    subject: Subject,
    measured: float | None = None,
    limit: float | None = None,
    unit: str = "",
    *,
    grade: Grade = "hold",
    follows_from: str | None = None,
) -> ReportedFinding:
    """A finding of a rule whose check has its name."""
    check = f"some.{rule}"
    return ReportedFinding(
        rule=rule, check=check, grade=grade, subject=subject, message=f"{subject[1]} is not right.",
        remedy="Mend it.", measured=measured, limit=limit, unit=unit,
        marks=(Mark(Place("list.xlsx", "Wires", "B4"), ""),), evidence={}, follows_from=follows_from, concession=None,
        thumbprint=thumbprint(rule, check, subject),
    )  # fmt: skip


def undecided(rule: str, subject: Subject, grade: Grade = "hold") -> ReportedUndecided:
    """A subject that a rule could not decide."""
    marks = (Mark(Place("list.xlsx", "Wires", "H4"), ""),)
    return ReportedUndecided(rule, f"some.{rule}", grade, subject, (f"length of {' '.join(subject)}",), marks)


def outcome(rule: str, findings: int = 0, *, crashed: str | None = None, grade: Grade = "hold") -> RuleOutcome:
    """What a rule looked at."""
    return RuleOutcome(rule, f"some.{rule}", grade, 9, findings, 0, crashed, "for a reason", "common practice", "wires")


def result(*findings: ReportedFinding, rules: tuple[RuleOutcome, ...] = (), **more: object) -> Result:
    """An outcome with these findings; every rule among them has run."""
    ran = tuple(outcome(rule) for rule in dict.fromkeys(each.rule for each in findings))
    return Result(
        version="0", sources=(SourceFile("list.xlsx", "0" * 64),), ruleset_name="some", ruleset_issue="1", given=(),
        read=ReadSummary(9, 9, (), 9, 0, 3), rules=(*ran, *rules), findings=findings, undecided=more.pop("undecided", ()),
        assumptions=(), **more,
    )  # type: ignore[arg-type]  # fmt: skip
