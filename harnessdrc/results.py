"""Plain outcome of a run of the rules, as every renderer receives it.

Nothing here computes; the engine fills these in and the console, the redline, the report and the JSON
read them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from harnessdrc.findings import Grade, Mark, Subject

__all__ = [
    "AssumptionLine",
    "GivenValue",
    "ReadSummary",
    "ReportedFinding",
    "ReportedUndecided",
    "Result",
    "RuleOutcome",
    "SetAsideLine",
    "SourceFile",
]


@dataclass(frozen=True, slots=True)
class SourceFile:
    """An input file: the name shown to the user and the SHA-256 of its bytes."""

    file: str
    sha256: str


@dataclass(frozen=True, slots=True)
class GivenValue:
    """A value the analysis takes as given, its unit and where it came from."""

    name: str
    value: float | str
    unit: str
    origin: str


@dataclass(frozen=True, slots=True)
class SetAsideLine:
    """A row of the input that was not used, and why."""

    file: str
    sheet: str
    row: int
    reason: str


@dataclass(frozen=True, slots=True)
class AssumptionLine:
    """Something inferred: what, about which text, the value taken, the words that decided it."""

    what: str
    subject: str
    value: str
    because: str
    mark: Mark | None
    count: int


@dataclass(frozen=True, slots=True)
class ReadSummary:
    """Account of the rows, and how many objects they gave."""

    rows_seen: int
    rows_used: int
    set_aside: tuple[SetAsideLine, ...]
    wires: int
    pins: int
    components: int


@dataclass(frozen=True, slots=True)
class ReportedFinding:
    """A finding as reported: graded, worded, and with a thumbprint that survives edits elsewhere."""

    rule: str
    check: str
    grade: Grade
    subject: Subject
    message: str
    remedy: str
    measured: float | None
    limit: float | None
    unit: str
    marks: tuple[Mark, ...]
    evidence: Mapping[str, Any]
    follows_from: str | None
    concession: str | None
    thumbprint: str


@dataclass(frozen=True, slots=True)
class ReportedUndecided:
    """A subject a rule could not decide, and the data that would decide it."""

    rule: str
    check: str
    grade: Grade
    subject: Subject
    missing: tuple[str, ...]
    marks: tuple[Mark, ...]


@dataclass(frozen=True, slots=True)
class RuleOutcome:
    """What one rule looked at and found; `crashed` holds the reason when its check failed."""

    rule: str
    check: str
    grade: Grade
    looked_at: int
    findings: int
    undecided: int
    crashed: str | None
    reason: str
    source: str
    counts_what: str


@dataclass(frozen=True, slots=True)
class Result:
    """Outcome of one run."""

    version: str
    sources: tuple[SourceFile, ...]
    ruleset_name: str
    ruleset_issue: str
    given: tuple[GivenValue, ...]
    read: ReadSummary
    rules: tuple[RuleOutcome, ...]
    findings: tuple[ReportedFinding, ...]
    undecided: tuple[ReportedUndecided, ...]
    assumptions: tuple[AssumptionLine, ...]
    network: Mapping[str, Any] = field(default_factory=lambda: {"states": []})
    rules_off: tuple[tuple[str, str], ...] = ()
    """Rules switched off by the ruleset, with the reason it gives."""

    def count(self, grade: Grade) -> int:
        """Number of open findings of one grade (those under a concession not counted)."""
        return sum(1 for f in self.findings if f.grade == grade and f.concession is None)
