"""Plain outcome of a run of the rules, as every renderer receives it.

Nothing here computes; the engine fills these in and the console, the redline, the report and the JSON
read them.
"""

from __future__ import annotations

from harnessdrc.results.concessions import ConcessionLine, ConcessionOutcome
from harnessdrc.results.induction import InductionOutcome, LoopLine, PickupLine, SettingLine, TriggerLine
from harnessdrc.results.measuring import MeasuredLine, MeasuredOutcome, MeasuredSheetLine
from harnessdrc.results.network import NetworkOutcome, OffsetLine, ReserveLine, ShareLine, StarLine, StateLine
from harnessdrc.results.reading import AssumptionLine, GivenValue, ReadSummary, SetAsideLine, SourceFile
from harnessdrc.results.reports import Proposal, ReportedFinding, ReportedUndecided, RuleOutcome
from harnessdrc.results.result import Result
from harnessdrc.results.sizing import BundleLine, FuseLine, SizeLine, SizingLimits, SizingOutcome

__all__ = [
    "AssumptionLine",
    "BundleLine",
    "ConcessionLine",
    "ConcessionOutcome",
    "FuseLine",
    "GivenValue",
    "InductionOutcome",
    "LoopLine",
    "MeasuredLine",
    "MeasuredOutcome",
    "MeasuredSheetLine",
    "NetworkOutcome",
    "OffsetLine",
    "PickupLine",
    "Proposal",
    "ReadSummary",
    "ReportedFinding",
    "ReportedUndecided",
    "ReserveLine",
    "Result",
    "RuleOutcome",
    "SetAsideLine",
    "SettingLine",
    "ShareLine",
    "SizeLine",
    "SizingLimits",
    "SizingOutcome",
    "SourceFile",
    "StarLine",
    "StateLine",
    "TriggerLine",
]
