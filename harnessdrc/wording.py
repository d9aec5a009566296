"""The one place that writes text: findings as sentences, from the check's templates and the evidence."""

from __future__ import annotations

from harnessdrc.checks.registry import Check
from harnessdrc.findings import Finding, Subject, figures, unit_sign

__all__ = ["message", "quantity", "remedy", "subject_text"]

_PLAIN = frozenset({"component", "net"})


def subject_text(subject: Subject) -> str:
    """A subject within a sentence: ``wire W12``, ``cavity ECU-A 5``, ``ECU``, ``Crank shield``."""
    kind, name = subject
    said = f" {kind} " in f" {name.casefold()} "
    return name if kind in _PLAIN or said else f"{kind} {name}"


def quantity(value: float | None, unit: str) -> str:
    """A value with its unit, to three figures: ``812 mV``."""
    if value is None:
        return "not known"
    text = figures(value)
    unit = unit_sign(unit)
    return f"{text} {unit}" if unit else text


def _apart(measured: float | None, limit: float | None, unit: str) -> tuple[str, str]:
    """Measured value and limit as texts, with as many figures as it takes to tell them apart."""
    texts = quantity(measured, unit), quantity(limit, unit)
    if measured is None or limit is None or measured == limit or texts[0] != texts[1]:
        return texts
    sign = unit_sign(unit)
    for digits in range(1, 7):
        near = f"{measured:.{digits}f}", f"{limit:.{digits}f}"
        if near[0] != near[1]:
            return f"{near[0]} {sign}".strip(), f"{near[1]} {sign}".strip()
    return texts


def _fill(template: str, finding: Finding) -> str:
    measured, limit = _apart(finding.measured, finding.limit, finding.unit)
    text = template.format_map(
        {
            **finding.evidence,
            "subject": subject_text(finding.subject),
            "measured": measured,
            "limit": limit,
        }
    ).strip()
    kind = finding.subject[0]
    # A sentence that begins with a plain word begins with a capital; a name keeps its own spelling.
    if text.startswith(kind) or text.startswith("its ") or (kind == "net" and text[:1].islower()):
        text = text[0].upper() + text[1:]
    return text


def message(check: Check, finding: Finding) -> str:
    """What was found, as one sentence."""
    return _fill(check.says[finding.variant], finding)


def remedy(check: Check, finding: Finding) -> str:
    """What to do about it."""
    return _fill(check.remedy[finding.variant], finding)
