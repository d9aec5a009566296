"""Concessions laid to what the rules find: what they accept, and what is to be said of themselves."""

from __future__ import annotations

import datetime
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from harnessdrc.concessions.model import Concession, ConcessionList, folded, same_unit
from harnessdrc.concessions.records import where
from harnessdrc.errors import ConcessionError
from harnessdrc.findings import Mark, figures, thumbprint, unit_sign
from harnessdrc.results import ConcessionLine, ConcessionOutcome, ReportedFinding, Result, RuleOutcome
from harnessdrc.rulesets.faults import nearest, quoted

__all__ = ["RULES", "WORSE_BY", "apply_concessions"]

WORSE_BY = 0.005
"""Part of the accepted value by which a measured one may lie beyond it before that counts as worse."""

RULES: dict[str, str] = {
    "concession.expired": "What was accepted until a day is not accepted after it",
    "concession.unused": "A concession that accepts nothing is mistyped or no longer needed",
    "concession.worsened": "What was accepted at one value is not accepted at a worse one",
}
"""Rules that every run with concessions has, with their reason; all are for the engineer to answer."""


@dataclass(slots=True)
class _Use:
    """What became of one concession."""

    concession: Concession
    fitting: list[ReportedFinding] = field(default_factory=list)
    unfit: list[ReportedFinding] = field(default_factory=list)
    covers: list[str] = field(default_factory=list)
    state: str = "unused"


def apply_concessions(result: Result, concessions: ConcessionList, on: datetime.date) -> Result:
    """The result with accepted findings marked, and findings about the concessions themselves.

    Parameters
    ----------
    result : Result
        Outcome of the rules.
    concessions : ConcessionList
        What is accepted.
    on : datetime.date
        The day for which it is asked.

    Returns
    -------
    Result
        Each finding is accepted on its own; what follows from an accepted one stays open.

    Raises
    ------
    ConcessionError
        With every concession that does not fit what it is to accept: a finding that is measured without an accepted
        value, another unit, a name that several kinds of subject have.
    """
    if not concessions.files and not concessions.in_list:
        return result
    uses = [_Use(each) for each in concessions.concessions]
    _match(result, uses)
    faults = _faults(uses)
    if faults:
        files = dict.fromkeys(use.concession.place.file for use in uses)
        raise ConcessionError(", ".join(files), faults)
    texts: dict[int, str] = {}
    own: list[ReportedFinding] = []
    names = Counter(use.concession.name for use in uses)
    crashed = {folded(rule.rule) for rule in result.rules if rule.crashed}
    for use in uses:
        name = use.concession.name
        if names[name] > 1:
            name += f" in {unit_sign(use.concession.unit) or 'pieces'}"
        own += _judged(use, name, on, result, crashed, texts)
    own.sort(key=lambda finding: finding.rule)
    findings = tuple(
        replace(finding, concession=texts[id(finding)]) if id(finding) in texts else finding
        for finding in result.findings
    )
    counts = Counter(finding.rule for finding in own)
    rules = tuple(
        RuleOutcome(rule, rule, "query", len(uses), counts[rule], 0, None, reason, "common practice", "concessions")
        for rule, reason in RULES.items()
    )
    lines = tuple(_line(use) for use in uses)
    return replace(
        result,
        findings=(*findings, *own),
        rules=(*result.rules, *rules),
        concessions=ConcessionOutcome(lines, concessions.files, concessions.in_list, on.isoformat()),
    )


# --- which concession is for which finding -----------------------------------------------------------


def _match(result: Result, uses: Sequence[_Use]) -> None:
    """Give each concession the findings of its rule and subject."""
    by_name: dict[tuple[str, str], list[_Use]] = defaultdict(list)
    for use in uses:
        by_name[folded(use.concession.rule), folded(use.concession.subject)].append(use)
    if not by_name:
        return
    wanted = {rule for rule, _ in by_name}
    for finding in result.findings:
        rule = folded(finding.rule)
        if rule not in wanted:
            continue
        kind, name = folded(finding.subject[0]), folded(finding.subject[1])
        for spelling in dict.fromkeys((name, f"{kind} {name}", f"{kind}:{name}")):
            for use in by_name.get((rule, spelling), ()):
                if use.concession.takes(finding.rule, finding.subject):
                    (use.fitting if _fits(use.concession, finding) else use.unfit).append(finding)


def _fits(concession: Concession, finding: ReportedFinding) -> bool:
    """Whether both are measured in one quantity, or neither is measured."""
    if concession.accepted is None or finding.measured is None:
        return concession.accepted is None and finding.measured is None
    return same_unit(concession.accepted, concession.unit, finding.unit) is not None


def _faults(uses: Sequence[_Use]) -> list[str]:
    """Sentences on concessions that do not fit what they are to accept."""
    faults: list[str] = []
    taken: dict[int, Concession] = {}
    for use in uses:
        concession = use.concession
        kinds = sorted({finding.subject[0] for finding in (*use.fitting, *use.unfit)})
        if len(kinds) > 1:
            at = where(concession.at("subject"))
            faults.append(
                f"{at}: several kinds of subject are called {quoted(concession.subject)} ({', '.join(kinds)}); "
                f"say under "
                "'kind' which one is meant."
            )
            continue
        for finding in use.fitting:
            first = taken.setdefault(id(finding), concession)
            if first is not concession:
                faults.append(
                    f"{where(concession.at('subject'))}: this accepts the same finding as the concession at "
                    f"{first.place}; "
                    "leave one of the two out."
                )
        if not use.fitting and use.unfit:
            sentence = _misfit(concession, use.unfit[0])
            if sentence:
                faults.append(sentence)
    return list(dict.fromkeys(faults))


def _misfit(concession: Concession, finding: ReportedFinding) -> str:
    if finding.measured is None:
        return ""  # told as a finding: what was accepted at a value cannot be held against it any more
    measured = _quantity(finding.measured, finding.unit)
    example = f"for example {measured}, as measured now"
    subject = " ".join(finding.subject)
    if concession.accepted is None:
        at = where(concession.at("accepted", "subject"))
        return (
            f"{at}: what {quoted(finding.rule)} finds about {subject} is measured, so that the value that is "
            f"accepted is "
            f"needed; give it, {example}."
        )
    wanted = f"in {unit_sign(finding.unit)}" if finding.unit else "without a unit"
    told = quoted(unit_sign(concession.unit)) if concession.unit else "no unit"
    at = where(concession.at("unit", "accepted"))
    return f"{at}: expected the value that is accepted for {subject} {wanted}, found {told}; {example}."


# --- what a concession does ---------------------------------------------------------------------------


def _judged(
    use: _Use, name: str, on: datetime.date, result: Result, crashed: set[str], texts: dict[int, str]
) -> Iterator[ReportedFinding]:
    """Accept what a concession accepts; yields what is to be said of it."""
    concession = use.concession
    concerned = use.fitting or use.unfit
    if not concerned:
        if folded(concession.rule) in crashed:
            use.state = "not known"
            return
        yield _unused(concession, name, result)
        return
    if on > concession.until:
        use.state = "expired"
        yield _expired(concession, name, concerned[0])
        return
    use.state = "in force"
    for finding in use.fitting:
        if _worse(concession, finding):
            use.state = "worsened"
            yield _worsened(concession, name, finding)
        else:
            texts[id(finding)] = _text(concession)
            use.covers.append(finding.thumbprint)
    if not use.fitting:
        use.state = "worsened"
        yield _not_measured(concession, name, use.unfit[0])


def _worse(concession: Concession, finding: ReportedFinding) -> bool:
    """Whether a value lies beyond the accepted one, on the side of the limit where it is worse."""
    if concession.accepted is None or finding.measured is None:
        return False
    accepted = same_unit(concession.accepted, concession.unit, finding.unit)
    assert accepted is not None  # it fits
    leeway = WORSE_BY * abs(accepted)
    limit = finding.limit
    side = 0.0 if limit is None else finding.measured - limit or accepted - limit
    if side > 0.0:
        return not finding.measured <= accepted + leeway
    if side < 0.0:
        return not finding.measured >= accepted - leeway
    return not abs(finding.measured - accepted) <= leeway  # it is not known which way is worse


def _text(concession: Concession) -> str:
    upto = f" at {_quantity(concession.accepted, concession.unit)}" if concession.accepted is not None else ""
    return f"by {concession.by} until {concession.until.isoformat()}{upto}: {concession.reason}"


def _quantity(value: float, unit: str) -> str:
    return f"{figures(value, 4)} {unit_sign(unit)}".rstrip()


def _line(use: _Use) -> ConcessionLine:
    one = use.concession
    return ConcessionLine(
        one.rule, one.kind, one.subject, one.reason, one.by, one.until.isoformat(), one.accepted, one.unit,
        use.state, tuple(dict.fromkeys(use.covers)), Mark(one.at("subject"), "concession"),
    )  # fmt: skip


# --- findings about concessions -----------------------------------------------------------------------


def _said(concession: Concession, finding: ReportedFinding | None = None) -> str:
    subject = " ".join(finding.subject) if finding else f"{concession.kind} {concession.subject}".strip()
    return f"The concession of {concession.by} for {subject} under the rule {concession.rule}"


def _expired(concession: Concession, name: str, finding: ReportedFinding) -> ReportedFinding:
    message = f"{_said(concession, finding)} ran out on {concession.until.isoformat()}; what it accepted is open again."
    remedy = "Mend what it accepted, or have it given anew with a later day."
    return _finding("concession.expired", concession, name, message, remedy, ("until",), finding)


def _worsened(concession: Concession, name: str, finding: ReportedFinding) -> ReportedFinding:
    assert concession.accepted is not None and finding.measured is not None
    accepted = same_unit(concession.accepted, concession.unit, finding.unit)
    assert accepted is not None
    limit = f" (limit {_quantity(finding.limit, finding.unit)})" if finding.limit is not None else ""
    message = (
        f"{_said(concession, finding)} accepted {_quantity(accepted, finding.unit)}; now it is "
        f"{_quantity(finding.measured, finding.unit)}{limit}, which is worse, and the finding is open again."
    )
    remedy = "Mend what has grown worse, or have the value of now accepted."
    made = _finding("concession.worsened", concession, name, message, remedy, ("accepted",), finding)
    return replace(made, measured=finding.measured, limit=accepted, unit=finding.unit)


def _not_measured(concession: Concession, name: str, finding: ReportedFinding) -> ReportedFinding:
    assert concession.accepted is not None
    message = (
        f"{_said(concession, finding)} accepted {_quantity(concession.accepted, concession.unit)}; now the rule finds "
        "something that is not measured, to which that value says nothing, and the finding is open."
    )
    remedy = "Mend the finding, or have it accepted as it is now, without a value."
    return _finding("concession.worsened", concession, name, message, remedy, ("accepted",), finding)


def _unused(concession: Concession, name: str, result: Result) -> ReportedFinding:
    why, remedy, field_name = _why_unused(concession, result)
    message = f"{_said(concession)} accepts nothing: {why}."
    return _finding("concession.unused", concession, name, message, remedy, (field_name,), None)


def _why_unused(concession: Concession, result: Result) -> tuple[str, str, str]:
    """Why a concession accepts nothing, what to do about it, and the field at fault."""
    rules = {folded(rule.rule): rule.rule for rule in result.rules}
    rule = rules.get(folded(concession.rule))
    if rule is None:
        off = next((off for off, _ in result.rules_off if folded(off) == folded(concession.rule)), None)
        if off is not None:
            return f"the ruleset has the rule {off} switched off", "Take the concession out.", "rule"
        close = nearest(concession.rule, rules.values())
        hint = f"; the nearest is {quoted(close)}" if close else ""
        return (
            f"the ruleset has no rule of this name{hint}",
            "Mend the name of the rule, or take the concession out.",
            "rule",
        )
    undecided = any(concession.takes(each.rule, each.subject) for each in result.undecided)
    if undecided:
        return (
            "the rule cannot decide this subject, and what is not known cannot be accepted",
            "Give the data that is lacking, or take the concession out.",
            "subject",
        )
    names = {finding.subject[1] for finding in result.findings if finding.rule == rule}
    kinds = {finding.subject[0] for finding in result.findings if finding.rule == rule}
    if concession.kind and kinds and folded(concession.kind) not in {folded(kind) for kind in kinds}:
        listed = ", ".join(sorted(kinds))
        return f"the rule finds nothing about a {concession.kind}, but about: {listed}", "Mend the kind.", "kind"
    close = nearest(concession.subject, names)
    hint = f"; the nearest name it does find something about is {quoted(close)}" if close else ""
    return f"the rule finds nothing about it{hint}", "Mend the name, or take the concession out.", "subject"


def _finding(
    rule: str,
    concession: Concession,
    name: str,
    message: str,
    remedy: str,
    fields: tuple[str, ...],
    about: ReportedFinding | None,
) -> ReportedFinding:
    subject = ("concession", name)
    marks = [Mark(concession.at(*fields), "concession")]
    if about is not None and about.marks:
        marks.append(Mark(about.marks[0].place, "what it accepted"))
    return ReportedFinding(
        rule=rule, check=rule, grade="query", subject=subject, message=message, remedy=remedy, measured=None,
        limit=None,
        unit="", marks=tuple(marks),
        evidence={
            "rule": concession.rule, "subject": concession.subject, "by": concession.by,
            "until": concession.until.isoformat(), "accepted": concession.accepted, "unit": concession.unit,
            "about": about.thumbprint if about is not None else None,
        },
        follows_from=None, concession=None, thumbprint=thumbprint(rule, rule, subject),
    )  # fmt: skip
