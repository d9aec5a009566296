"""Proposals and ranges in words: for every renderer."""

from __future__ import annotations

from harnessdrc.findings import figures, unit_sign
from harnessdrc.render.offsets import range_text
from harnessdrc.results import Proposal, ReportedUndecided

__all__ = ["effect_text", "measured_range_text"]


def effect_text(proposal: Proposal) -> str:
    """What the change does, and how that is known, without a full stop.

    Parameters
    ----------
    proposal : Proposal
        The change.

    Returns
    -------
    str
        ``476 → 69 mV, proved by solving again together with 2 other changes``.
    """
    parts = []
    if proposal.before is not None and proposal.after is not None:
        parts.append(f"{_figure(proposal.before)} → {_figure(proposal.after)} {unit_sign(proposal.unit)}".rstrip())
    proof = "proved by solving again"
    if proposal.together:
        proof += f" together with {proposal.together} other change{'s' if proposal.together > 1 else ''}"
    parts.append(proof)
    others = len(proposal.clears) - 1
    if others > 0:
        parts.append(f"clears {others} more finding{'s' if others > 1 else ''}")
    return ", ".join(parts)


def _figure(value: float) -> str:
    """Three digits, and no decimals where there are that many before the point."""
    return f"{value:,.0f}" if abs(value) >= 100 else figures(value)


def measured_range_text(undecided: ReportedUndecided) -> str:
    """What the data at hand allows: ``between 120 and 810 mV, limit 500 mV``; empty where it was not computed."""
    text = range_text(undecided.low, undecided.high, unit_sign(undecided.unit))
    if text and undecided.limit is not None:
        text += f", limit {undecided.limit:g}{f' {unit_sign(undecided.unit)}' if undecided.unit else ''}"
    return text
