"""The JSON of a run: one stable shape, the same bytes for the same input."""

from __future__ import annotations

import json
import math
import re
from importlib.resources import files
from typing import Any

from harnessdrc.findings import GRADES, Mark
from harnessdrc.results import Result

__all__ = ["schema", "to_dict", "to_json"]


def schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of the output."""
    text = files("harnessdrc.render").joinpath("findings.schema.json").read_text("utf-8")
    loaded: dict[str, Any] = json.loads(text)
    return loaded


def _place(mark: Mark) -> dict[str, str]:
    place = mark.place
    return {"file": place.file, "sheet": place.sheet, "cell": place.cell, "label": mark.label}


def to_dict(result: Result) -> dict[str, Any]:
    """Outcome of a run as the JSON contract has it."""
    counts: dict[str, int] = {grade: result.count(grade) for grade in GRADES}
    counts["undecided"] = len(result.undecided)
    counts["accepted"] = sum(1 for f in result.findings if f.concession is not None)
    return {
        "harnessdrc": result.version,
        "inputs": [{"file": s.file, "sha256": s.sha256} for s in result.sources],
        "ruleset": {"name": result.ruleset_name, "issue": result.ruleset_issue},
        "given": {g.name: {"value": g.value, "unit": g.unit, "from": g.origin} for g in result.given},
        "read": {
            "rows_seen": result.read.rows_seen,
            "rows_used": result.read.rows_used,
            "rows_set_aside": [
                {"file": r.file, "sheet": r.sheet, "row": r.row, "reason": r.reason}
                for r in result.read.set_aside
            ],
            "wires": result.read.wires,
            "pins": result.read.pins,
            "components": result.read.components,
        },
        "counts": counts,
        "rules": [
            {
                "rule": r.rule, "check": r.check, "grade": r.grade, "looked_at": r.looked_at,
                "findings": r.findings, "undecided": r.undecided, "crashed": r.crashed,
            }
            for r in result.rules
        ],
        "findings": [
            {
                "rule": f.rule, "check": f.check, "grade": f.grade, "subject": list(f.subject),
                "message": f.message, "remedy": f.remedy, "measured": f.measured, "limit": f.limit,
                "unit": f.unit, "places": [_place(m) for m in f.marks], "evidence": dict(f.evidence),
                "follows_from": f.follows_from, "concession": f.concession, "thumbprint": f.thumbprint,
            }
            for f in result.findings
        ],
        "undecided": [
            {
                "rule": u.rule, "subject": list(u.subject), "missing": list(u.missing),
                "places": [_place(m) for m in u.marks],
            }
            for u in result.undecided
        ],
        "network": dict(result.network),
    }  # fmt: skip


def to_json(result: Result) -> str:
    """Outcome of a run as JSON text with a line end; it can always be encoded as UTF-8.

    A number that JSON does not have (infinite, not a number) is written as null, half a character from a
    damaged list as U+FFFD.
    """
    outcome = to_dict(result)
    try:
        text = json.dumps(outcome, ensure_ascii=False, indent=1, allow_nan=False)
    except ValueError:
        text = json.dumps(_finite(outcome), ensure_ascii=False, indent=1, allow_nan=False)
    return _HALVES.sub("\ufffd", text) + "\n"


_HALVES = re.compile("[\ud800-\udfff]")


def _finite(value: Any) -> Any:
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, dict):
        return {key: _finite(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_finite(item) for item in value]
    return value
