"""Concessions in the JSON of a run."""

from __future__ import annotations

from typing import Any

from harnessdrc.results import ConcessionLine, ConcessionOutcome

__all__ = ["concession_dict", "concessions_from"]


def concession_dict(line: ConcessionLine) -> dict[str, Any]:
    """One concession with what became of it."""
    place = line.mark.place
    return {
        "rule": line.rule, "kind": line.kind, "subject": line.subject, "reason": line.reason, "by": line.by,
        "until": line.until, "accepted": line.accepted, "unit": line.unit, "state": line.state,
        "covers": list(line.covers),
        "place": {"file": place.file, "sheet": place.sheet, "cell": place.cell, "label": line.mark.label},
    }  # fmt: skip


def concessions_from(outcome: ConcessionOutcome) -> dict[str, Any] | None:
    """Where the concessions stand and on which day they were looked at; None where none were given."""
    if not outcome.on:
        return None
    return {
        "on": outcome.on,
        "files": [{"file": source.file, "sha256": source.sha256} for source in outcome.files],
        "in_list": outcome.in_list,
    }
