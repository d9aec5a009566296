"""Every check held to its own cases: outcome, subject, sentence and cell, whatever the order of the rows."""

from __future__ import annotations

import dataclasses
import json
import math
import random
from collections.abc import Mapping, Sequence
from typing import Any

import pytest
from text_lists import read_rows, shipped_given, shipped_states

from harnessdrc.checks.cases import Case, cases_of
from harnessdrc.checks.registry import CHECKS, Check, Outcome, load_checks
from harnessdrc.design import Design, design_of
from harnessdrc.findings import Finding, Subject, Undecided
from harnessdrc.wording import message, quantity, remedy

FLOORS = frozenset({
    "surely_on_mv", "reserve_mohm", "least_mm2", "reduction_db", "margin_db", "bend_times", "lamp_times", "motor_times",
    "inductive_times", "resistive_times", "grip_percent",
    "inline_mm", "joining_mm", "apart_mm", "least_ohm",
})  # fmt: skip
"""Limits that a finding falls short of; all others are exceeded."""

CASES = [case for name in load_checks() for case in cases_of(name)]
every_case = pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case.check}-{case.name}")

_NAMES = (
    "From", "To", "Component", "Connector", "Mates with", "Earth point", "Fuse", "Splice", "Twist group", "Shield",
    "Branch", "From point", "To point", "Point",
)  # fmt: skip


def limits_of(check: Check, changed: Mapping[str, Any]) -> Any:
    """The check's own limits with those of a case in their place."""
    return check.limits(**changed) if check.limits else None


def design_for(case: Case, rows: Mapping[str, Sequence[Sequence[str]]] | None = None) -> Design:
    """Design of a case, or of its tables with other rows."""
    return design_of(read_rows(rows or case.rows()), {**shipped_given(), **case.given}, shipped_states())


def outcomes(case: Case, design: Design, **changed: Any) -> list[Outcome]:
    """All that the case's check says of a design."""
    check = CHECKS[case.check]
    return list(check.run(design, limits_of(check, {**case.limits, **changed})))


def looked_at(case: Case, design: Design) -> list[Subject]:
    """What the case's check looks at."""
    check = CHECKS[case.check]
    return list(check.subjects(design, limits_of(check, case.limits)))


def wide_open(case: Case) -> dict[str, float]:
    """Limits with which a silent case is found too; of a case for one limit that limit alone."""
    if case.expect == "finding":
        return {}
    names = [f.name for f in dataclasses.fields(CHECKS[case.check].limits or object) if f.type == "float"]
    meant = [name for name in names if case.name in (f"just_under_{name}", f"just_over_{name}")]
    return {name: 1e9 if name in FLOORS else 0.0 for name in meant or names}


def place_of(outcome: Outcome, number: int = 0) -> str:
    """Sheet and cell of one of its places."""
    place = outcome.marks[number].place
    return f"{place.sheet} {place.cell}"


def core(outcome: Outcome) -> tuple[Any, ...]:
    """What of an outcome may not depend on the order of the rows."""
    if isinstance(outcome, Undecided):
        return ("undecided", outcome.subject, outcome.missing)
    measured = None if outcome.measured is None else round(outcome.measured, 6)
    return ("finding", outcome.subject, outcome.variant, measured, outcome.follows_from)


def folded(outcome: Outcome) -> tuple[Any, ...]:
    """`core` with names in one spelling."""
    kind, subject, *rest = core(outcome)
    return (kind, (subject[0], " ".join(subject[1].casefold().split())), *([] if kind == "undecided" else rest[:2]))


def shuffled(rows: Mapping[str, list[list[str]]], seed: int) -> dict[str, list[list[str]]]:
    """The tables with their rows, headings aside, in another order."""
    rng = random.Random(seed)
    mixed = {}
    for form, (head, *body) in rows.items():
        rng.shuffle(body)
        mixed[form] = [head, *body]
    return mixed


@every_case
def test_the_check_says_what_its_case_expects(case: Case) -> None:
    design = design_for(case)
    said = [outcome for outcome in outcomes(case, design) if outcome.subject == case.subject]
    subjects = looked_at(case, design)
    if case.expect == "not_looked_at":
        assert not said
        assert case.subject not in subjects
        return
    assert case.subject in subjects, f"looked at {subjects}"
    if case.expect == "silent":
        assert not said, said
        return
    assert len(said) == 1, (said, outcomes(case, design))
    outcome = said[0]
    if case.expect == "undecided":
        assert isinstance(outcome, Undecided), outcome
        for words in case.missing:
            assert words in " ".join(outcome.missing)
        assert case.missing
    else:
        assert isinstance(outcome, Finding), outcome
        assert outcome.variant == case.variant
        assert outcome.marks
    if case.cells:
        assert place_of(outcome) == case.cells[0]
        others = {place_of(outcome, number) for number in range(len(outcome.marks))}
        assert set(case.cells) <= others


@pytest.mark.parametrize("case", [c for c in CASES if c.expect == "silent"], ids=lambda c: f"{c.check}-{c.name}")
def test_nothing_else_is_found_where_a_case_is_silent(case: Case) -> None:
    assert not [o for o in outcomes(case, design_for(case)) if isinstance(o, Finding)]


@every_case
@pytest.mark.parametrize("seed", range(4))
def test_the_order_of_rows_changes_nothing(case: Case, seed: int) -> None:
    rows = case.rows()
    expected = sorted(map(core, outcomes(case, design_for(case))), key=repr)
    mixed = design_for(case, shuffled(rows, seed))
    assert sorted(map(core, outcomes(case, mixed)), key=repr) == expected
    assert sorted(looked_at(case, mixed)) == sorted(looked_at(case, design_for(case)))


@every_case
def test_capitals_and_blanks_in_names_change_nothing(case: Case) -> None:
    """The first list that names an item keeps its spelling; all others write it their own way."""
    rows = {form: [list(row) for row in table] for form, table in case.rows().items()}
    for form, table in rows.items():
        for number, row in enumerate(table[1:]):
            for column, heading in enumerate(table[0]):
                if heading in _NAMES and row[column] and row[column] != "open":
                    other = row[column].swapcase() if (number + column) % 2 else row[column].title()
                    row[column] = f" {other.replace(' ', '  ')} "
        assert form in case.tables
    expected = sorted(map(folded, outcomes(case, design_for(case))), key=repr)
    assert sorted(map(folded, outcomes(case, design_for(case, rows))), key=repr) == expected


@every_case
def test_what_is_found_can_be_said(case: Case) -> None:
    check = CHECKS[case.check]
    for outcome in outcomes(case, design_for(case)):
        if isinstance(outcome, Undecided):
            assert outcome.missing
            assert all(text and "None" not in text and "{" not in text for text in outcome.missing)
            continue
        for text in (message(check, outcome), remedy(check, outcome)):
            assert text
            assert "None" not in text
            assert "{" not in text
            assert "  " not in text
            assert text.endswith((".", "?"))
            assert not text[0].islower() or text.startswith(outcome.subject[1])
        json.dumps(dict(outcome.evidence), allow_nan=False)
        if outcome.measured is not None and outcome.unit:
            assert outcome.limit is not None
            assert quantity(outcome.limit, outcome.unit) in message(check, outcome)


@pytest.mark.parametrize(
    "case", [c for c in CASES if c.measured is not None], ids=lambda case: f"{case.check}-{case.name}"
)
def test_what_is_measured_is_what_was_worked_out_by_hand(case: Case) -> None:
    found = [o for o in outcomes(case, design_for(case), **wide_open(case)) if o.subject == case.subject]
    assert len(found) == 1
    assert isinstance(found[0], Finding)
    assert found[0].measured is not None
    assert case.measured is not None
    assert math.isclose(found[0].measured, case.measured, abs_tol=0.002)


@pytest.mark.parametrize("case", [c for c in CASES if c.measured is not None], ids=lambda c: f"{c.check}-{c.name}")
def test_the_message_tells_measured_and_limit_apart(case: Case) -> None:
    check = CHECKS[case.check]
    for outcome in outcomes(case, design_for(case)):
        if isinstance(outcome, Finding) and outcome.unit and "{measured}" in check.says[outcome.variant]:
            measured, allowed = (
                message(dataclasses.replace(check, says={outcome.variant: words}), outcome)
                for words in ("{measured}", "{limit}")
            )
            assert measured in message(check, outcome)
            assert measured != allowed
