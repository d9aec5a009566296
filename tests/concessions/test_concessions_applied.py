"""What concessions accept, and what is said of those that are expired, unused or no longer enough."""

from __future__ import annotations

import datetime
import random

import pytest
from accepted_results import finding, outcome, result, undecided
from hypothesis import given
from hypothesis import strategies as st

from harnessdrc.concessions import Concession, ConcessionList, apply_concessions
from harnessdrc.concessions.applying import RULES
from harnessdrc.errors import ConcessionError
from harnessdrc.places import Place
from harnessdrc.results import Result, SourceFile

DAY = datetime.date(2026, 11, 25)
LATER = datetime.date(2027, 3, 31)


def concession(
    rule: str, subject: str, accepted: float | None = None, unit: str = "", *, kind: str = "", until: datetime.date = LATER,
    line: int = 2,
) -> Concession:  # fmt: skip
    place = Place("accepted.toml", "", str(line))
    return Concession(rule, subject, kind, "agreed with the customer", "K. Ostrander", until, accepted, unit, place)


def applied(checked: Result, *concessions: Concession, on: datetime.date = DAY) -> Result:
    return apply_concessions(checked, ConcessionList(concessions, (SourceFile("accepted.toml", "1" * 64),)), on)


def said(checked: Result) -> list[str]:
    return [each.rule for each in checked.findings if each.rule in RULES]


def test_a_finding_is_accepted_with_by_whom_until_when_and_why() -> None:
    made = applied(result(finding("two-ends", ("wire", "W142"))), concession("two-ends", "W142"))
    [one] = made.findings
    assert one.concession == "by K. Ostrander until 2027-03-31: agreed with the customer"
    assert made.count("hold") == 0
    assert made.concessions.on == "2026-11-25"
    [line] = made.concessions.lines
    assert (line.state, line.covers) == ("in force", (one.thumbprint,))
    counts = {rule.rule: (rule.looked_at, rule.findings, rule.grade) for rule in made.rules if rule.rule in RULES}
    assert counts == dict.fromkeys(RULES, (1, 0, "query"))


def test_without_concessions_nothing_changes() -> None:
    checked = result(finding("two-ends", ("wire", "W142")))
    assert apply_concessions(checked, ConcessionList(), DAY) is checked


@pytest.mark.parametrize("name", ["W142", "w142", " W142 ", "wire W142", "wire:W142", "Wire  w142"])
def test_the_subject_may_be_written_as_the_outputs_have_it(name: str) -> None:
    assert applied(result(finding("two-ends", ("wire", "W142"))), concession("Two-Ends", name)).count("hold") == 0


@pytest.mark.parametrize(
    "other",
    [concession("two-ends", "W14"), concession("two-end", "W142"), concession("two-ends", "W142", kind="strap"),
     concession("two-ends", "strap W142")],
    ids=["another subject", "another rule", "another kind", "another kind before the name"],
)  # fmt: skip
def test_another_rule_subject_or_kind_is_not_accepted_and_the_concession_unused(other: Concession) -> None:
    made = applied(result(finding("two-ends", ("wire", "W142"))), other)
    assert made.count("hold") == 1
    assert said(made) == ["concession.unused"]


def test_a_consequence_is_accepted_on_its_own() -> None:
    cause = finding("earth", ("component", "ECU"))
    checked = result(cause, finding("offset", ("component", "CLT"), follows_from=cause.thumbprint))
    made = applied(checked, concession("earth", "ECU"))
    assert [each.concession is None for each in made.findings] == [False, True]
    assert made.count("hold") == 1


# Leeway of 0.5 per cent, on the side of the limit: as the form of concessions in README says it.
@pytest.mark.parametrize(
    ("measured", "limit", "accepted", "worse"),
    [
        (720.0, 500.0, 720.0, False), (723.6, 500.0, 720.0, False), (723.7, 500.0, 720.0, True),
        (600.0, 500.0, 720.0, False),
        (1.6, 10.0, 1.6, False), (1.592, 10.0, 1.6, False), (1.591, 10.0, 1.6, True), (3.0, 10.0, 1.6, False),
        (-120.0, -100.0, -110.0, True), (-105.0, -100.0, -110.0, False),
        (float("nan"), 500.0, 720.0, True), (float("inf"), 500.0, 720.0, True),
        (5.0, None, 5.0, False), (5.1, None, 5.0, True), (4.9, None, 5.0, True),
        (2.0, 2.0, 3.0, False), (2.0, 2.0, 1.0, False),
    ],
)  # fmt: skip
def test_worse_is_beyond_the_accepted_value_on_the_side_of_the_limit(
    measured: float, limit: float | None, accepted: float, worse: bool
) -> None:
    checked = result(finding("drop", ("wire", "W1"), measured, limit, "mV"))
    made = applied(checked, concession("drop", "W1", accepted, "mV"))
    assert (made.findings[0].concession is None) is worse
    assert said(made) == ["concession.worsened"] * worse
    assert made.concessions.lines[0].state == ("worsened" if worse else "in force")


def test_a_worsened_one_tells_both_values_in_the_unit_of_the_finding() -> None:
    checked = result(finding("drop", ("wire", "W1"), 812.0, 500.0, "mV"))
    one = applied(checked, concession("drop", "W1", 0.7, "V")).findings[1]
    assert (one.measured, one.limit, one.unit, one.grade) == (812.0, pytest.approx(700.0), "mV", "query")
    assert "accepted 700 mV; now it is 812 mV (limit 500 mV), which is worse" in one.message
    assert [str(mark.place) for mark in one.marks] == ["accepted.toml row 2", "list.xlsx Wires B4"]


@given(st.floats(0.01, 1e6), st.floats(0.01, 1e6), st.floats(0.01, 1e6))
def test_what_is_accepted_stays_so_when_it_gets_better(measured: float, better: float, limit: float) -> None:
    """A value between the accepted one and the limit is never worse."""
    between = min(max(better, min(measured, limit)), max(measured, limit))
    if between == limit:
        return
    made = applied(result(finding("drop", ("wire", "W1"), between, limit, "A")), concession("drop", "W1", measured, "A"))
    assert made.count("hold") == 0


def test_the_last_day_still_counts_and_the_next_does_not() -> None:
    checked = result(finding("two-ends", ("wire", "W142")))
    assert applied(checked, concession("two-ends", "W142"), on=LATER).count("hold") == 0
    made = applied(checked, concession("two-ends", "W142"), on=LATER + datetime.timedelta(days=1))
    assert made.count("hold") == 1
    assert said(made) == ["concession.expired"]
    assert "ran out on 2027-03-31" in made.findings[1].message
    assert made.concessions.lines[0].state == "expired"


@pytest.mark.parametrize(
    ("made", "words"),
    [
        (concession("two-end", "W142"), "the nearest is 'two-ends'"),
        (concession("two-ends", "W124"), "the nearest name it does find something about is 'W142'"),
        (concession("two-ends", "W142", kind="fuse"), "the rule finds nothing about a fuse, but about: wire"),
        (concession("blind", "W1"), "the rule finds nothing about it."),
        (concession("quiet", "W1"), "has the rule quiet switched off"),
        (concession("lengths", "W9"), "what is not known cannot be accepted"),
    ],
)
def test_an_unused_one_says_why(made: Concession, words: str) -> None:
    checked = result(
        finding("two-ends", ("wire", "W142")), rules=(outcome("blind"), outcome("lengths")),
        undecided=(undecided("lengths", ("wire", "W9")),), rules_off=(("quiet", "for a reason"),),
    )  # fmt: skip
    done = applied(checked, made)
    assert said(done) == ["concession.unused"]
    assert words in done.findings[-1].message


def test_where_the_rule_failed_to_run_nothing_is_said_of_a_concession() -> None:
    made = applied(result(rules=(outcome("drop", crashed="it broke"),)), concession("drop", "W1", 3.0, "A"))
    assert said(made) == []
    assert made.concessions.lines[0].state == "not known"


@pytest.mark.parametrize(
    ("made", "words"),
    [
        ((concession("drop", "W1"),), "the value that is accepted is needed; give it, for example 812 mV"),
        ((concession("drop", "W1", 9.0, "A"),), "expected the value that is accepted for wire W1 in mV, found 'A'"),
        ((concession("drop", "W1", 900.0),), "in mV, found no unit"),
        ((concession("drop", "W1", 900.0, "mV"), concession("drop", "wire W1", 950.0, "mV", line=9)), "accepts the same finding as"),
        ((concession("ends", "X1"),), "several kinds of subject are called 'X1' (connector, wire)"),
    ],
)  # fmt: skip
def test_a_concession_that_cannot_fit_is_a_fault_of_its_file(made: tuple[Concession, ...], words: str) -> None:
    checked = result(
        finding("drop", ("wire", "W1"), 812.0, 500.0, "mV"), finding("ends", ("wire", "X1")),
        finding("ends", ("connector", "X1")),
    )  # fmt: skip
    with pytest.raises(ConcessionError) as caught:
        applied(checked, *made)
    [fault] = caught.value.faults
    assert words in fault
    assert fault.startswith("line ")


def test_a_value_accepted_where_nothing_is_measured_any_more_is_told_and_accepts_nothing() -> None:
    made = applied(result(finding("drop", ("wire", "W1"))), concession("drop", "W1", 3.0, "A"))
    assert made.count("hold") == 1
    assert said(made) == ["concession.worsened"]


def test_two_quantities_of_one_subject_take_a_concession_each() -> None:
    checked = result(finding("drop", ("wire", "W1"), 812.0, 500.0, "mV"), finding("drop", ("wire", "W1"), 9.0, 8.0, "A"))
    first = applied(checked, concession("drop", "W1", 9.0, "A"))
    assert first.count("hold") == 1
    both = applied(checked, concession("drop", "W1", 9.0, "A"), concession("drop", "W1", 0.9, "V"))
    assert both.count("hold") == 0
    assert said(both) == []


@given(st.randoms(use_true_random=False), st.integers(0, 6), st.integers(0, 6))
def test_in_any_order_each_finding_is_accepted_just_where_a_concession_names_it(
    chance: random.Random, findings: int, concessions: int
) -> None:
    found = [finding(f"rule-{chance.randint(0, 2)}", ("wire", f"W{n}")) for n in range(findings)]
    pairs = {(f"rule-{chance.randint(0, 2)}", f"W{chance.randint(0, 7)}") for _ in range(concessions)}
    made = [concession(rule, name, line=n) for n, (rule, name) in enumerate(sorted(pairs), 1)]
    chance.shuffle(made)
    rules = tuple(outcome(f"rule-{n}") for n in range(3))
    done = applied(result(*found, rules=rules), *made)
    for one in done.findings[: len(found)]:
        assert (one.concession is not None) == ((one.rule, one.subject[1]) in pairs)
    named = {(one.rule, one.subject[1]) for one in found}
    assert len(said(done)) == len(pairs - named)
    assert len({one.thumbprint for one in done.findings}) == len(done.findings)
