"""What two issues of a list differ in, as JSON: one stable shape, the same bytes for the same input."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterable
from importlib.resources import files
from typing import Any

from harnessdrc.comparison import Comparison, FindingChange, IssueAccount, ObjectChange, OffsetChange, UndecidedChange
from harnessdrc.findings import Mark
from harnessdrc.places import Place
from harnessdrc.render.json_text import DECIMALS
from harnessdrc.results import OffsetLine, ReportedFinding

__all__ = ["compare_schema", "comparison_json", "comparison_to_dict"]

_HALVES = re.compile("[\ud800-\udfff]")


def compare_schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of the output."""
    loaded: dict[str, Any] = json.loads(files("harnessdrc.render").joinpath("compare.schema.json").read_text("utf-8"))
    return loaded


def comparison_json(comparison: Comparison) -> str:
    """A comparison as JSON text with a line end; it can always be encoded as UTF-8."""
    text = json.dumps(comparison_to_dict(comparison), ensure_ascii=False, indent=1, allow_nan=False)
    return _HALVES.sub("\ufffd", text) + "\n"


def comparison_to_dict(comparison: Comparison) -> dict[str, Any]:
    """A comparison in JSON types; numbers are rounded to a microvolt, a micrometre and so on."""
    return {
        "harnessdrc": comparison.version,
        "ruleset": {"name": comparison.ruleset_name, "issue": comparison.ruleset_issue},
        "differs": comparison.differs,
        "old": _account(comparison.old),
        "new": _account(comparison.new),
        "columns": [
            {"edit": c.edit, "column": c.column, "filled": c.filled, "place": _place(c.place)}
            for c in comparison.columns
        ],
        "changes": [_object(change) for change in comparison.objects],
        "findings": [_finding(change) for change in comparison.findings],
        "undecided": [_undecided(change) for change in comparison.undecided],
        "states": list(comparison.states),
        "offsets": [_offset(change, comparison.states) for change in comparison.offsets],
        "totals": [
            {
                "what": t.what, "unit": t.unit, "before": _number(t.before), "after": _number(t.after),
                "unknown_before": t.unknown_before, "unknown_after": t.unknown_after,
            }
            for t in comparison.totals
        ],
        "sizes": [
            {
                "size": s.size, "wires_before": s.wires_before, "wires_after": s.wires_after,
                "before_m": _number(s.before_m), "after_m": _number(s.after_m),
            }
            for s in comparison.sizes
        ],
        "remarks": list(comparison.remarks),
    }  # fmt: skip


def _number(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else round(float(value), DECIMALS) + 0.0


def _numbers(values: Iterable[float]) -> list[float | None]:
    return [_number(value) for value in values]


def _place(place: Place | None) -> dict[str, str] | None:
    return None if place is None else {"file": place.file, "sheet": place.sheet, "cell": place.cell}


def _places(marks: Iterable[Mark]) -> list[dict[str, str]]:
    return [
        {"file": m.place.file, "sheet": m.place.sheet, "cell": m.place.cell, "label": m.label} for m in marks
    ]


def _account(issue: IssueAccount) -> dict[str, Any]:
    return {
        "inputs": [{"file": s.file, "sha256": s.sha256} for s in issue.sources],
        "issue_mark": issue.issue_mark,
        "wires": issue.wires, "pins": issue.pins, "components": issue.components,
        "counts": {
            "hold": issue.hold, "query": issue.query, "note": issue.note, "accepted": issue.accepted,
            "undecided": issue.undecided,
        },
        "crashed": list(issue.crashed),
    }  # fmt: skip


def _object(change: ObjectChange) -> dict[str, Any]:
    return {
        "kind": change.kind, "edit": change.edit, "edits": list(change.edits),
        "old_name": change.old_name, "new_name": change.new_name,
        "old_place": _place(change.old_place), "new_place": _place(change.new_place),
        "fields": [
            {
                "edit": f.edit, "column": f.column, "before": f.before, "after": f.after,
                "old_place": _place(f.old_place), "new_place": _place(f.new_place),
            }
            for f in change.fields
        ],
    }  # fmt: skip


def _finding(change: FindingChange) -> dict[str, Any]:
    finding = change.finding
    return {
        "trend": change.trend, "rule": finding.rule, "check": finding.check, "grade": finding.grade,
        "before": _told(change.before), "after": _told(change.after),
    }  # fmt: skip


def _told(finding: ReportedFinding | None) -> dict[str, Any] | None:
    if finding is None:
        return None
    return {
        "subject": list(finding.subject), "message": finding.message, "measured": _number(finding.measured),
        "limit": _number(finding.limit), "unit": finding.unit, "concession": finding.concession,
        "thumbprint": finding.thumbprint, "places": _places(finding.marks),
    }  # fmt: skip


def _undecided(change: UndecidedChange) -> dict[str, Any]:
    told = change.undecided
    return {
        "trend": change.trend, "rule": told.rule, "grade": told.grade, "subject": list(told.subject),
        "missing": list(told.missing), "places": _places(told.marks),
    }  # fmt: skip


def _offset(change: OffsetChange, states: tuple[str, ...]) -> dict[str, Any]:
    return {
        "victim": list(change.line.victim), "what": change.line.what,
        "before": _line(change.before, change.share_before, states),
        "after": _line(change.after, change.share_after, states),
    }  # fmt: skip


def _line(line: OffsetLine | None, share: float | None, states: tuple[str, ...]) -> dict[str, Any] | None:
    if line is None:
        return None
    weakest = line.reserves[0] if line.reserves else None
    return {
        "victim": list(line.victim), "reference": line.reference,
        "low_limit_mv": _number(line.low_limit_mv), "high_limit_mv": _number(line.high_limit_mv),
        "average_mv": _numbers(line.average_mv), "peak_mv": _numbers(line.peak_mv),
        "aged_average_mv": _numbers(line.aged_average_mv), "aged_peak_mv": _numbers(line.aged_peak_mv),
        "worst_state": states[line.worst] if line.worst < len(states) else None,
        "share_of_limit": _number(share),
        "weakest_joint": None if weakest is None else {
            "joint": weakest.joint, "wire": weakest.wire, "mohm": _number(weakest.mohm), "state": weakest.state,
        },
    }  # fmt: skip
