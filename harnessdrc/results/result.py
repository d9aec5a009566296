"""The whole outcome of one run."""

from __future__ import annotations

from dataclasses import dataclass, field

from harnessdrc.findings import Grade
from harnessdrc.results.concessions import ConcessionOutcome
from harnessdrc.results.induction import InductionOutcome
from harnessdrc.results.measuring import MeasuredOutcome
from harnessdrc.results.network import NetworkOutcome
from harnessdrc.results.reading import AssumptionLine, GivenValue, ReadSummary, SourceFile
from harnessdrc.results.reports import ReportedFinding, ReportedUndecided, RuleOutcome
from harnessdrc.results.sizing import SizingOutcome

__all__ = ["Result"]


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
    network: NetworkOutcome = field(default_factory=NetworkOutcome)
    induction: InductionOutcome = field(default_factory=InductionOutcome)
    sizing: SizingOutcome = field(default_factory=SizingOutcome)
    measured: MeasuredOutcome = field(default_factory=MeasuredOutcome)
    rules_off: tuple[tuple[str, str], ...] = ()
    """Rules switched off by the ruleset, with the reason it gives."""
    concessions: ConcessionOutcome = field(default_factory=ConcessionOutcome)

    def count(self, grade: Grade) -> int:
        """Number of open findings of one grade (those under a concession not counted)."""
        return sum(1 for f in self.findings if f.grade == grade and f.concession is None)
