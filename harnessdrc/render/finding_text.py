"""Findings in words, and which of them stands with which: for the terminal and the report."""

from __future__ import annotations

from collections.abc import Mapping

from harnessdrc.findings import figures, unit_sign
from harnessdrc.results import ReportedFinding

__all__ = ["root_of", "with_figures"]


def with_figures(finding: ReportedFinding) -> str:
    """The sentence with what was measured and the limit, where it does not say them itself."""
    text = finding.message
    if finding.measured is None or not finding.unit or "limit" in text:
        return text
    measured = f"{figures(finding.measured, 4)} {unit_sign(finding.unit)}"
    told = [measured] if measured not in text else []
    if finding.limit is not None:
        told.append(f"limit {finding.limit:g} {unit_sign(finding.unit)}")
    return f"{text.removesuffix('.')} ({', '.join(told)})." if told else text


def root_of(thumbprint: str, causes: Mapping[str, str | None]) -> str:
    """The first cause of a finding among those reported: itself where its cause is not, or they go round."""
    seen = {thumbprint}
    at = thumbprint
    while (cause := causes[at]) in causes and cause is not None:
        if cause in seen:
            return thumbprint
        seen.add(cause)
        at = cause
    return at
