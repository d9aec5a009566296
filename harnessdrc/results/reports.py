"""What the rules say: findings, what is undecided, each rule with its counts, proposals."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

from harnessdrc.findings import Grade, Mark, Subject

__all__ = ["Proposal", "ReportedFinding", "ReportedUndecided", "RuleOutcome"]


class Proposal(NamedTuple):
    """The smallest change of the list that clears a finding, proved by solving again.

    Parameters
    ----------
    change : str
        The change as one sentence: ``Move the end of wire W12 at CHASSIS STUD to HEAD STUD.``
    wires : tuple of str
        Wires it touches.
    before, after : float or None
        The finding's measured value without and with the change, in `unit`; None for one that is not measured.
    unit : str
        Unit of both.
    together : int
        Number of further proposals it was proved together with; 0 when it was tried alone.
    clears : tuple of str
        Thumbprints of all findings that it takes away.
    """

    change: str
    wires: tuple[str, ...]
    before: float | None
    after: float | None
    unit: str
    together: int = 0
    clears: tuple[str, ...] = ()


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
    proposal: Proposal | None = None


@dataclass(frozen=True, slots=True)
class ReportedUndecided:
    """A subject a rule could not decide, and the data that would decide it.

    `low`, `high` and `limit` in `unit` tell the range the value has while the data is lacking, where it was computed.
    """

    rule: str
    check: str
    grade: Grade
    subject: Subject
    missing: tuple[str, ...]
    marks: tuple[Mark, ...]
    low: float | None = None
    high: float | None = None
    limit: float | None = None
    unit: str = ""


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
