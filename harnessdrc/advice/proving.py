"""Whether a change does what it should: the rules are run again over the changed list.

A change holds when the finding is gone and still looked at, nothing new is found or undecided (but for want of
data that few lists have, and but for lengths, terminals and seals, which the change itself brings), no rule crashes,
and no value that remains is worse by more than a hundredth of its limit.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Literal

from harnessdrc.advice.edits import Edit, MoveEnd, Resize, Twist, applied
from harnessdrc.checks.registry import Check
from harnessdrc.design import Design
from harnessdrc.engine import RuleRun, findings_of
from harnessdrc.findings import Finding, Subject
from harnessdrc.results import ReportedFinding, Result
from harnessdrc.rulesets import Rule, Ruleset

__all__ = ["Baseline", "Key", "Measures", "Said", "Trouble", "edited", "said_again", "worse"]

Key = tuple[str, str, Subject]
"""Rule, check and subject: what a finding is known by in both designs."""

_RIGHT_WHEN_GONE = frozenset({"sensor.body_grounded"})
"""Checks whose subjects are the very things that are wrong: what is put right is no longer looked at."""

_CASE_WILL_DO = frozenset({"ground.two_paths"})
"""Checks that look at a device's ground wires, of which one that is earthed by its case needs none."""

_LASTING = frozenset({"component", "net", "shield"})
"""Kinds of subject that a change puts right without making them another one, unlike a joint or a wire."""

_NEED_MORE = frozenset(
    {"contact.rating", "feed.cranking_drop", "fuse.blows", "fuse.protects_wire", "ignition.loop_area", "trigger.margin",
     "wire.current"}
)  # fmt: skip
"""Checks that are undecided wherever a list lacks what few have: coordinates, branches, insulation, families of fuses.
What comes to be looked at only through a change is then no worse for it."""

_MADE_ANEW = frozenset(
    {"cavity.like_colours", "seal.insulation", "seal.missing", "seal.no_plug", "splice.near_end", "terminal.insulation",
     "terminal.two_wires", "terminal.wire_size", "twist.unequal_length", "wire.too_long", "wire.too_short"}
)  # fmt: skip
"""Checks of what is cut and crimped: a wire that a change moves or thickens gets its length and its terminals anew."""

_COSTLY = {
    "ground.offset": 1,
    "ground.cranking_current": 1,
    "ignition.input_offset": 1,
    "sensor.reading_error": 1,
    "sensor.shared_return": 1,
    "ground.joint_reserve": 2,
    "trigger.margin": 2,
}
"""Checks that solve the whole network or integrate over every loop: asked after those that follow the copper."""

_SHARE_OF_LIMIT = 0.01
"""A remaining value may be worse by this part of its limit.

Every change of the grounds shifts the current of every strap, and with it every drop by microvolts.
"""


def edited(design: Design, edits: Sequence[Edit]) -> Design:
    """The design of the changed list, with the same given values and states.

    Raises
    ------
    NotApplicableError
        For edits that do not fit the list.
    """
    made = Design(applied(design.harness, edits), design.given, design.states)
    made.allowed = design.allowed
    earths = {key for key, item in design.harness.items.items() if item.kind == "earth point"}
    if all(
        isinstance(edit, Resize | Twist)
        or (isinstance(edit, MoveEnd) and edit.start.item in earths and edit.end.item in earths)
        for edit in edits
    ):
        # No pin gets or loses a wire and no signal goes elsewhere: every role stays what it is.
        made.__dict__["roles"] = design.roles
    return made


@dataclass(frozen=True, slots=True)
class Trouble:
    """What speaks against a change."""

    key: Key
    what: Literal["new", "undecided", "worse", "crashed", "unseen"]


@dataclass(frozen=True, slots=True)
class Said:
    """One rule over the changed list, against what it said before."""

    rule: Rule
    gone: frozenset[Key]
    troubles: tuple[Trouble, ...]


class Baseline:
    """What the rules said of the list as it is.

    Parameters
    ----------
    ruleset : Ruleset
        Its rules.
    checks : mapping of str to Check
        Loaded checks by name.
    result : Result
        Outcome of these rules.
    """

    def __init__(self, ruleset: Ruleset, checks: Mapping[str, Check], result: Result) -> None:
        self.ruleset = ruleset
        self.checks = checks
        self.found: dict[str, Counter[Key]] = {rule.name: Counter() for rule in ruleset.rules}
        self.open: dict[str, Counter[Key]] = {rule.name: Counter() for rule in ruleset.rules}
        self.beyond: dict[Key, float] = {}
        for finding in result.findings:
            key = (finding.rule, finding.check, finding.subject)
            self.found[finding.rule][key] += 1
            if (far := worse(finding.measured, finding.limit)) is not None:
                self.beyond[key] = max(far, self.beyond.get(key, far))
        for undecided in result.undecided:
            self.open[undecided.rule][(undecided.rule, undecided.check, undecided.subject)] += 1
        self.over = {(finding.check, finding.subject) for finding in result.findings}
        self.crashed = {rule.rule for rule in result.rules if rule.crashed}


def worse(measured: float | None, limit: float | None) -> float | None:
    """How bad a value is, in its unit: it grows with the distance beyond the limit, on whichever side that lies."""
    if measured is None:
        return None
    return -measured if limit is not None and measured < limit else measured


def _compared(base: Baseline, design: Design, run: RuleRun) -> Said:
    rule = run.rule
    if run.crashed:
        key = (rule.name, rule.check, ("rule", rule.name))
        return Said(rule, frozenset(), () if rule.name in base.crashed else (Trouble(key, "crashed"),))
    before, after = base.found[rule.name], Counter[Key]()
    troubles: list[Trouble] = []
    for worded in run.findings:
        found = worded.finding
        key = (rule.name, rule.check, found.subject)
        after[key] += 1
        far, was = worse(found.measured, found.limit), base.beyond.get(key)
        if after[key] > before[key]:
            if rule.check not in _MADE_ANEW:
                troubles.append(Trouble(key, "new"))
        elif far is not None and was is not None and far - was > _SHARE_OF_LIMIT * abs(found.limit or was):
            troubles.append(Trouble(key, "worse"))
    undecided = Counter((rule.name, rule.check, u.subject) for u in run.undecided)
    troubles += [
        Trouble(key, "undecided")
        for key in undecided
        if undecided[key] > base.open[rule.name][key]
        and key[1:] not in base.over  # over for certain was no better
        and rule.check not in _NEED_MORE | _MADE_ANEW
    ]
    gone = frozenset(before.keys() - after.keys() - undecided.keys())
    if gone and rule.check not in _RIGHT_WHEN_GONE:
        seen = set(base.checks[rule.check].subjects(design, rule.limits))
        if rule.check in _CASE_WILL_DO:
            seen |= {device.subject for device in design.devices.all if device.item.case_earthed}
        troubles += [Trouble(key, "unseen") for key in gone if key[2][0] in _LASTING and key[2] not in seen]
    return Said(rule, gone, tuple(troubles))


def said_again(base: Baseline, design: Design, first: Iterable[str] = ()) -> Iterator[Said]:
    """Run the rules over a changed design, as they are asked for.

    Parameters
    ----------
    base : Baseline
        What they said before.
    design : Design
        The changed one.
    first : iterable of str
        Rules to run before the others: where these say no, the others need not be asked.

    Yields
    ------
    Said
        One for each rule of the ruleset.
    """
    early = frozenset(first)
    rules = sorted(base.ruleset.rules, key=lambda rule: (_COSTLY.get(rule.check, 0), rule.name not in early))
    for run in findings_of(design, rules, base.checks):
        yield _compared(base, design, run)


# ---------------------------------------------------------------------- the value afterwards
_FAR = 1e9


class Measures:
    """Values that rules measure on a changed design, whether or not they are over a limit.

    A rule's own check is run with all its limits a thousand million times as strict, so that it tells the value of
    every subject; their ratios stay, so that it is the same side and state that is told.
    """

    def __init__(self, ruleset: Ruleset, checks: Mapping[str, Check]) -> None:
        self._rules = {rule.name: rule for rule in ruleset.rules}
        self._checks = checks
        self._told: dict[tuple[int, str, bool], tuple[Design, dict[tuple[Subject, str], float]]] = {}

    def of(self, design: Design, finding: ReportedFinding) -> float | None:
        """Value on `design` of what a finding measured, in its unit; None where it cannot be had."""
        if finding.measured is None or finding.limit is None or finding.rule not in self._rules:
            return None
        above = finding.measured > finding.limit
        key = (id(design), finding.rule, above)
        if key not in self._told:
            self._told[key] = design, self._run(design, self._rules[finding.rule], above)
        return self._told[key][1].get((finding.subject, finding.unit))

    def _run(self, design: Design, rule: Rule, above: bool) -> dict[tuple[Subject, str], float]:
        check = self._checks[rule.check]
        scale = 1 / _FAR if above else _FAR
        strict = {
            field.name: value * scale
            for field in (fields(rule.limits) if is_dataclass(rule.limits) else ())
            if isinstance(value := getattr(rule.limits, field.name), float)
        }
        told: dict[tuple[Subject, str], float] = {}
        try:
            for outcome in check.run(design, replace(rule.limits, **strict) if strict else rule.limits):
                if isinstance(outcome, Finding) and outcome.measured is not None:
                    told.setdefault((outcome.subject, outcome.unit), outcome.measured)
        except Exception:  # a value that cannot be had is not told; the proof itself stands without it
            return {}
        return told
