"""What every check owes: a page, limits with unit and meaning, sources, cases, sentences that can be filled in."""

from __future__ import annotations

import dataclasses
import inspect
import json
import string
from collections import Counter
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from test_cases import FLOORS, core, design_for, limits_of, outcomes
from text_lists import read_rows, shipped_given, shipped_ruleset, shipped_states

from harnessdrc.checks.cases import Case, Cases, cases_folder, cases_of, load_cases
from harnessdrc.checks.registry import CHECKS, HEADINGS, Check, Outcome, load_checks, page
from harnessdrc.design import Design, design_of
from harnessdrc.errors import NothingToReadError
from harnessdrc.findings import Finding, Undecided
from harnessdrc.rulesets import shipped_rulesets
from harnessdrc.tables.columns import FORMS
from harnessdrc.wording import message, remedy, subject_text

SHIPPED = [check for name, check in load_checks().items() if check.run.__module__.startswith("harnessdrc.checks.")]
every_check = pytest.mark.parametrize("check", SHIPPED, ids=lambda check: check.name)

_COLUMNS = {column.name for form in FORMS.values() for column in form.columns}
_UNITS = {"", "mV", "V", "mA", "A", "K", "degC", "mm", "m", "mm2", "mohm", "ohm", "uF", "%", "percent", "dB", "times", "s"}


def fields_of(template: str) -> set[str]:
    """Names that a sentence wants filled in."""
    return {name for _, name, _, _ in string.Formatter().parse(template) if name}


def limit_fields(check: Check) -> tuple[dataclasses.Field[Any], ...]:
    """Fields of its limits."""
    return dataclasses.fields(check.limits) if check.limits else ()


def cases_for(check: Check) -> Cases:
    """Its cases; the test fails when it has none."""
    cases = load_cases(check.name)
    assert cases is not None, f"harnessdrc/checks/cases/{check.name}.toml is missing"
    return cases


# --- the page -----------------------------------------------------------------------------------


@every_check
def test_the_page_has_every_heading_with_something_under_it(check: Check) -> None:
    text = page(check)
    assert list(text) == ["", *HEADINGS]
    assert text[""].endswith(".")
    assert len(text[""]) <= 110
    for heading in HEADINGS:
        assert text[heading].rstrip().endswith("."), heading
        assert len(text[heading].split()) >= 3, heading


@every_check
def test_it_is_found_by_its_name(check: Check) -> None:
    module, function = check.name.split(".")
    assert check.run.__module__ == f"harnessdrc.checks.{module}"
    assert check.run.__name__ == function
    assert CHECKS[check.name] is check


@every_check
def test_the_columns_it_reads_are_columns_of_the_lists(check: Check) -> None:
    assert check.reads
    assert set(check.reads) <= _COLUMNS
    assert check.counts


@every_check
def test_limits_are_frozen_and_say_unit_and_meaning(check: Check) -> None:
    if check.limits is None:
        assert "limits" not in page(check)["Decides"].casefold().split()
        return
    assert check.limits.__dataclass_params__.frozen
    assert check.limits.__doc__
    check.limits()  # every limit has a default
    for field in limit_fields(check):
        assert field.metadata.get("unit") in _UNITS, field.name
        assert len(field.metadata.get("meaning", "").split()) >= 3, field.name
        if field.type == "float":
            assert field.metadata["unit"], f"{field.name} is a number and needs its unit"
            assert field.name.endswith(f"_{field.metadata['unit'].casefold()}")


@every_check
def test_a_shipped_ruleset_uses_it_with_reason_and_source(check: Check) -> None:
    rules = [rule for name in shipped_rulesets() for rule in shipped_ruleset(name).rules if rule.check == check.name]
    assert rules, f"no shipped ruleset uses {check.name}"
    for rule in rules:
        assert rule.reason.endswith(".")
        assert rule.source


# --- the cases ----------------------------------------------------------------------------------


def test_every_file_of_cases_belongs_to_a_check() -> None:
    assert {path.stem for path in cases_folder().glob("*")} == {check.name for check in SHIPPED}


@every_check
def test_each_of_its_sentences_is_found_by_a_case(check: Check) -> None:
    found = {case.variant for case in cases_for(check).cases if case.expect == "finding"}
    assert found == set(check.says)
    firsts = [case for case in cases_for(check).cases if case.name == "finds"]
    assert len(firsts) == 1
    assert firsts[0].cells, "the case 'finds' says its cell"


@every_check
def test_it_has_a_near_miss_that_stays_silent(check: Check) -> None:
    case = cases_for(check).named("near_miss")
    assert case is not None
    assert case.expect == "silent"


@every_check
def test_it_has_an_undecided_case_or_says_why_not(check: Check) -> None:
    cases = cases_for(check)
    undecided = cases.named("undecided")
    if cases.never_undecided:
        assert undecided is None
        assert "Undecided(" not in inspect.getsource(check.run)
    else:
        assert undecided is not None
        assert undecided.expect == "undecided"
        assert undecided.missing


@every_check
def test_every_limit_is_shown_from_both_sides(check: Check) -> None:
    cases = cases_for(check)
    for field in limit_fields(check):
        if field.type == "float":
            under, over = cases.named(f"just_under_{field.name}"), cases.named(f"just_over_{field.name}")
            assert under is not None
            assert over is not None
            expected = ("finding", "silent") if field.name in FLOORS else ("silent", "finding")
            assert (under.expect, over.expect) == expected
            assert under.measured is not None
            assert over.measured is not None
            limit = getattr(limits_of(check, over.limits), field.name)
            assert limit * 0.99 < under.measured < limit < over.measured < limit * 1.01
        else:
            pair = [case for case in cases.cases if case.of_limit == field.name]
            assert len(pair) == 2, field.name
            assert pair[0].tables == pair[1].tables
            assert pair[0].subject == pair[1].subject
            assert limits_of(check, pair[0].limits) != limits_of(check, pair[1].limits)
            assert (pair[0].expect == "finding") != (pair[1].expect == "finding")


@every_check
def test_cases_are_written_with_the_recommended_headings(check: Check) -> None:
    for case in cases_for(check).cases:
        assert case.about.endswith(".")
        for form, rows in case.rows().items():
            known = {column.heading.split(" (")[0] for column in FORMS[form].columns}
            if form == "pins":  # a list by connectors may give its wires' colours and sizes
                known |= {column.heading for column in FORMS["wires"].columns}
            assert {heading.split(" (")[0] for heading in rows[0]} <= known, (case.name, rows[0])
            assert len({len(row) for row in rows}) == 1, (case.name, form)


def test_a_faulty_file_of_cases_is_told_of(tmp_path: Any) -> None:
    good = 'check = "a.b"\n[[case]]\nname = "x"\nabout = "y"\nexpect = "silent"\nsubject = "wire:W1"\n'
    faults = {
        "no TOML": "check = ",
        "expected check": good.replace("a.b", "a.c") + "[case.tables]\n",
        "whim not known": good + 'whim = 1\n[case.tables]\nwires = ""\n',
        "'about' is missing": good.replace('about = "y"\n', "") + "[case.tables]\n",
        "expect is": good.replace("silent", "clear") + "[case.tables]\n",
        "subject is": good.replace("wire:W1", "W1") + "[case.tables]\n",
        "either its own tables or tables_of": good,
        "no earlier case": good + 'tables_of = "z"\n',
        "stands twice": good + "[case.tables]\n" + good.split("\n", 1)[1] + "[case.tables]\n",
    }
    for number, (words, text) in enumerate(faults.items()):
        folder = tmp_path / str(number)
        folder.mkdir()
        (folder / "a.b.toml").write_text(text, encoding="utf-8")
        with pytest.raises(ValueError, match=words if words != "no TOML" else "TOML"):
            load_cases("a.b", folder)
    assert load_cases("a.none", tmp_path) is None
    assert cases_of("a.none") == ()


# --- the sentences ------------------------------------------------------------------------------


@every_check
def test_sentences_are_filled_in_from_the_evidence_alone(check: Check) -> None:
    assert set(check.says) == set(check.remedy)
    for case in cases_for(check).cases:
        for outcome in outcomes(case, design_for(case)):
            if not isinstance(outcome, Finding):
                continue
            wanted = fields_of(check.says[outcome.variant]) | fields_of(check.remedy[outcome.variant])
            given_by = set(outcome.evidence) | {"subject", "measured", "limit"}
            assert wanted <= given_by, (case.name, wanted - given_by)
            empty = [key for key in wanted & set(outcome.evidence) if outcome.evidence[key] in (None, "")]
            assert set(empty) <= {"instead"}, (case.name, empty)
            if "measured" in wanted:
                assert outcome.measured is not None
                assert outcome.limit is not None


@pytest.mark.parametrize(
    ("measured", "limit", "unit", "words"),
    [
        (812.3, 500.0, "mV", "812 mV of 500 mV"), (500.4, 500.0, "mV", "500.4 mV of 500.0 mV"),
        (500.0004, 500.0, "mV", "500.0004 mV of 500.0000 mV"), (2.0, 1.0, "", "2 of 1"),
        (20.04, 20.0, "A", "20.04 A of 20.00 A"),
        (105.2, 105.0, "degC", "105.2 °C of 105.0 °C"), (500.0, 500.0, "mV", "500 mV of 500 mV"),
        (None, 500.0, "mV", "not known of 500 mV"),
    ],
)  # fmt: skip
def test_measured_and_limit_are_told_apart(measured: float | None, limit: float, unit: str, words: str) -> None:
    check = dataclasses.replace(CHECKS["feed.voltage_drop"], says={"": "{measured} of {limit}"})
    assert message(check, Finding(("component", "FAN"), (), {}, measured, limit, unit)) == words


@pytest.mark.parametrize(
    ("subject", "text"),
    [
        (("wire", "W12"), "wire W12"), (("component", "ECU"), "ECU"), (("cavity", "ECU-A 5"), "cavity ECU-A 5"),
        (("shield", "SH1"), "shield SH1"), (("shield", "Crank shield"), "Crank shield"),
        (("net", "fed by F3"), "fed by F3"), (("wire", "Firewire 3"), "wire Firewire 3"),
    ],
)  # fmt: skip
def test_a_subject_is_named_by_its_kind_once(subject: tuple[str, str], text: str) -> None:
    assert subject_text(subject) == text


# --- no check ever falls over -------------------------------------------------------------------


def run_all(design: Design, *, lowest: bool = False) -> list[tuple[str, Outcome]]:
    """All that all checks say, with each subject looked at and each sentence filled in."""
    said: list[tuple[str, Outcome]] = []
    for check in SHIPPED:
        numbers = {f.name: 0.0 for f in limit_fields(check) if f.type == "float"} if lowest else {}
        limits = limits_of(check, numbers)
        subjects = set(check.subjects(design, limits))
        for outcome in check.run(design, limits):
            assert outcome.subject in subjects, (check.name, outcome.subject)
            if isinstance(outcome, Finding):
                assert "{" not in message(check, outcome) + remedy(check, outcome)
                assert "None" not in message(check, outcome) + remedy(check, outcome)
                json.dumps(dict(outcome.evidence), allow_nan=False)
            else:
                assert isinstance(outcome, Undecided)
                assert outcome.missing
            said.append((check.name, outcome))
    return said


def empty_reading(form: str | None = None) -> Any:
    """A reading without a table, or with a table without rows."""
    import pandas as pd

    from harnessdrc.tables.model import Reading, Table

    tables: tuple[Table, ...] = ()
    if form is not None:
        names = ["row", *(column.name for column in FORMS[form].columns)]
        cells = {name: number for number, name in enumerate(names[1:])}
        tables = (Table(form, "case", form, 1, cells, {}, pd.DataFrame(columns=names, dtype=object)),)
    return Reading((), tables)


@pytest.mark.parametrize("form", [None, *FORMS])
def test_a_design_of_nothing_is_clear(form: str | None) -> None:
    said = run_all(design_of(empty_reading(form), shipped_given(), shipped_states()))
    assert not said


def test_a_pin_list_alone_or_any_other_list_alone_can_be_checked() -> None:
    full = {
        form: [[column.heading for column in FORMS[form].columns], ["1" for _ in FORMS[form].columns]] for form in FORMS
    }
    looked = 0
    for form, rows in full.items():
        try:
            reading = read_rows({form: rows})
        except NothingToReadError:
            continue
        run_all(design_of(reading, shipped_given(), shipped_states()))
        looked += 1
    assert looked >= 3
    pins = [["Connector", "Cavity", "Signal"], ["ECU", "1", "Power ground"], ["ECU", "2", "N/C"], ["TPS", "1", "5V"]]
    assert not [o for _, o in run_all(design_of(read_rows({"pins": pins}), shipped_given(), shipped_states()))]


ITEMS = (
    "ECU", "ECU-A", "ECU-B", "BATTERY", "ALTERNATOR", "STARTER", "COIL 1", "COIL 2", "INJ 1", "FUEL PUMP", "FAN",
    "CLT SENSOR", "TPS", "CRANK SENSOR", "CAM HALL", "MAIN RELAY", "FUSE 1", "FUSE 2", "KEY SWITCH", "DIODE 1",
    "CAPACITOR 1", "SPLICE 1", "SPLICE 2", "Head stud", "Chassis stud", "Ground point 7", "BULKHEAD P", "BULKHEAD S",
    "POWER POST", "DASH", "Box 9", "open", "",
)  # fmt: skip
CAVITIES = ("1", "2", "3", "+", "-", "30", "85", "86", "87", "87a", "A", "a", "")
SIGNALS = (
    "Power ground", "Sensor ground", "Sensor 5V", "CLT signal", "Crank +", "Crank -", "Cam signal", "Coil 1 ground",
    "Coil 1 HV return", "Coil 1 drive", "Coil feed", "Pump feed", "Pump ground", "Injector 1", "Battery feed",
    "Fused feed", "Switched 12V", "Crank shield", "CAN H", "TPS signal", "N/C", "GND", "12V", "",
)  # fmt: skip
HEAD = ["Wire", "From", "From cavity", "To", "To cavity", "Colour", "Size (mm2)", "Length (m)", "Signal", "Twist group",
        "Shield", "Current (A)", "Note"]  # fmt: skip
wire_rows = st.lists(
    st.tuples(
        st.sampled_from(["W1", "W2", "W3", "W4", "W5", "W6", "W7", ""]),
        st.sampled_from(ITEMS),
        st.sampled_from(CAVITIES),
        st.sampled_from(ITEMS),
        st.sampled_from(CAVITIES),
        st.sampled_from(["BK", "RD/WH", "puce", ""]),
        st.sampled_from(["0.5", "1.5", "25", "?", ""]),
        st.sampled_from(["0.3", "2", "12.5", ""]),
        st.sampled_from(SIGNALS),
        st.sampled_from(["T1", "T2", "", ""]),
        st.sampled_from(["S1", "", ""]),
        st.sampled_from(["0.5", "12", "", ""]),
        st.sampled_from(["", "double crimp"]),
    ).map(list),
    min_size=1,
    max_size=14,
)
component_rows = st.lists(
    st.tuples(
        st.sampled_from([item for item in ITEMS if item not in ("", "open")]),
        st.sampled_from(["", "controller", "coil", "temperature sensor", "Hall sensor", "load", "capacitor", "thing"]),
        st.sampled_from(["", "head", "block", "chassis", "bay", "hull", "boot floor"]),
        st.sampled_from(["", "2.5", "0"]),
        st.sampled_from(["", "yes", "no"]),
        st.sampled_from(["", "BULKHEAD S", "BULKHEAD P", "ECU"]),
    ).map(list),
    max_size=5,
    unique_by=lambda row: row[0],
)
_SLOW = settings(max_examples=120, deadline=None, suppress_health_check=list(HealthCheck))


def tables_of(wires: list[list[str]], components: list[list[str]]) -> dict[str, list[list[str]]]:
    """Sheets of a made-up list."""
    tables = {"wires": [HEAD, *wires]}
    if components:
        tables["components"] = [
            ["Component", "Kind", "Place", "Current (A)", "Earthed by its case", "Mates with"], *components,
        ]  # fmt: skip
    return tables


@_SLOW
@given(wire_rows, component_rows)
def test_no_made_up_list_makes_a_check_fall_over(wires: list[list[str]], components: list[list[str]]) -> None:
    try:
        reading = read_rows(tables_of(wires, components))
    except NothingToReadError:
        return
    run_all(design_of(reading, shipped_given(), shipped_states()))
    run_all(design_of(reading, shipped_given(), shipped_states()), lowest=True)


def filled(rows: list[list[str]]) -> list[list[str]]:
    """Rows whose names are each given once, so that nothing hangs on which row comes first."""
    seen: set[str] = set()
    kept = []
    for number, row in enumerate(rows):
        # A name of its own for each wire, both ends given, and no list order in the reading of it.
        row = [f"W{number + 1}", row[1] or "Box 9", row[2], row[3] or "Box 8", *row[4:]]
        if row[0] not in seen:
            seen.add(row[0])
            kept.append(row)
    return kept


def all_said(design: Design) -> Counter[str]:
    """Every outcome with its sentences."""
    said: Counter[str] = Counter()
    for name, outcome in run_all(design):
        check = CHECKS[name]
        text = (message(check, outcome), remedy(check, outcome)) if isinstance(outcome, Finding) else ()
        said[repr((name, core(outcome), text))] += 1
    return said


@_SLOW
@given(wire_rows, component_rows, st.randoms(use_true_random=False))
def test_made_up_lists_give_the_same_in_any_order(
    wires: list[list[str]], components: list[list[str]], rng: Any
) -> None:
    wires = filled(wires)
    mixed, others = list(wires), list(components)
    rng.shuffle(mixed)
    rng.shuffle(others)
    first = design_of(read_rows(tables_of(wires, components)), shipped_given(), shipped_states())
    second = design_of(read_rows(tables_of(mixed, others)), shipped_given(), shipped_states())
    assert all_said(first) == all_said(second)


pin_rows = st.lists(
    st.tuples(
        st.sampled_from(["ECU", "ECU-A", "TPS", "BULKHEAD P", "X7"]),
        st.sampled_from([cavity for cavity in CAVITIES if cavity not in ("", "-")]),
        st.sampled_from([signal for signal in SIGNALS if signal]),
        st.sampled_from(["", "power ground", "sensor ground", "spare", "wibble"]),
    ).map(list),
    min_size=1,
    max_size=8,
)


@_SLOW
@given(wire_rows, pin_rows, st.randoms(use_true_random=False))
def test_made_up_pin_lists_give_the_same_in_any_order(wires: list[list[str]], pins: list[list[str]], rng: Any) -> None:
    wires = filled(wires)
    mixed, others = list(wires), list(pins)
    rng.shuffle(mixed)
    rng.shuffle(others)
    heads = ["Connector", "Cavity", "Signal", "Role"]
    first = design_of(read_rows({"wires": [HEAD, *wires], "pins": [heads, *pins]}), shipped_given(), shipped_states())
    second = design_of(read_rows({"wires": [HEAD, *mixed], "pins": [heads, *others]}), shipped_given(), shipped_states())
    assert all_said(first) == all_said(second)


@_SLOW
@given(wire_rows, component_rows)
def test_items_with_other_names_are_judged_the_same(wires: list[list[str]], components: list[list[str]]) -> None:
    """Every item gets "LH" before its name, everywhere.

    That keeps them in their order, by which what has no name of its own is called after one of several. So "open" has
    no cavity here: with one it is an item, else an end left open, whose word stays as it is.
    """

    def other(name: str) -> str:
        return f"LH {name}" if name not in ("", "open") else name

    wires = [
        [row[0], row[1], "" if row[1] == "open" else row[2], row[3], "" if row[3] == "open" else row[4], *row[5:]]
        for row in filled(wires)
    ]
    renamed = [[row[0], other(row[1]), row[2], other(row[3]), *row[4:]] for row in wires]
    parts = [[other(row[0]), *row[1:5], other(row[5])] for row in components]
    first = all_said(design_of(read_rows(tables_of(wires, components)), shipped_given(), shipped_states()))
    second = all_said(design_of(read_rows(tables_of(renamed, parts)), shipped_given(), shipped_states()))
    assert Counter({key.replace("LH ", ""): count for key, count in second.items()}) == first


def test_every_outcome_of_every_case_is_of_a_subject_that_is_looked_at() -> None:
    case: Case
    for check in SHIPPED:
        for case in cases_of(check.name):
            run_all(design_for(case))


def test_a_list_of_delimited_text_is_named_once(tmp_path: Any) -> None:
    """Its sheet has the file's own name, which is not said twice."""
    from harnessdrc.api import check_lists

    path = tmp_path / "Loom of the boat.csv"
    path.write_text("Wire,From,From cavity,To,To cavity,Colour\nW1,ECU,A1,TPS,2,BU\nW2,ECU,A2,TPS,3,BK\n", "utf-8")
    [finding] = [f for f in check_lists([path]).findings if f.check == "wire.size_missing"]
    assert finding.subject == ("wire list", "Loom of the boat.csv")
    assert finding.message == "The wire list Loom of the boat.csv has no column for sizes (2 wires)."
