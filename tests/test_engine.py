"""The engine: crashes kept apart, scopes, causes, order, thumbprints, and JSON that holds to its schema."""

from __future__ import annotations

import json
import random
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from text_lists import read_rows, read_text, shipped_given, shipped_ruleset, shipped_states

from harnessdrc.api import check_lists
from harnessdrc.checks.registry import CHECKS, Check, Outcome
from harnessdrc.design import Design, design_of
from harnessdrc.engine import given_numbers, run, thumbprint
from harnessdrc.findings import GRADES, Finding, Mark, Undecided
from harnessdrc.places import Place
from harnessdrc.render.findings_json import schema, to_dict, to_json
from harnessdrc.results import Result
from harnessdrc.rulesets import Rule, Ruleset, Scope

SAMPLES = Path(__file__).parent.parent / "sample_wirelists"

WIRES = [
    ["Wire", "From", "From cavity", "To", "To cavity", "Colour", "Size (mm2)", "Length (m)", "Signal"],
    ["W1", "ECU", "A1", "Head stud", "", "BK", "2.5", "0.6", "Power ground"],
    ["W2", "ECU", "A2", "Chassis stud", "", "BK", "2.5", "0.6", "Power ground 2"],
    ["W3", "COIL 1", "3", "Chassis stud", "", "BK", "1.5", "0.6", "Coil 1 ground"],
    ["W4", "COIL 2", "3", "Hull bond", "", "BK", "1.5", "0.6", "Coil 2 ground"],
    ["W5", "CLT SENSOR", "1", "ECU", "B4", "", "0.5", "0.9", "CLT signal"],
    ["W6", "CLT SENSOR", "2", "Head stud", "", "BK", "", "0.9", "CLT return"],
    ["W7", "TPS", "3", "ECU", "B9", "BK", "0.5", "0.9", "Sensor ground"],
    ["W8", "BATTERY", "+", "FUSE 1", "1", "RD", "4", "0.5", "Battery feed"],
    ["W9", "FUSE 1", "2", "FUEL PUMP", "1", "RD", "0.5", "4", "Pump feed"],
    ["W10", "FUEL PUMP", "2", "Chassis stud", "", "BK", "1.5", "0.6", "Pump ground"],
    ["W11", "FUEL PUMP", "2", "", "", "BK", "1.5", "0.6", "Pump ground"],
]
EARTHS = [["Earth point", "Body"], ["Head stud", "head"], ["Chassis stud", "chassis"], ["Hull bond", "hull"]]


def result_of(
    ruleset: Ruleset | None = None,
    checks: Mapping[str, Check] | None = None,
    wires: list[list[str]] | None = None,
    **options: Any,
) -> Result:
    """Run the shipped rules, or others, over the list above or another one."""
    ruleset = ruleset or shipped_ruleset()
    reading = read_rows({"wires": wires or WIRES, "earth_points": EARTHS})
    return run(design_of(reading, given_numbers(ruleset), ruleset.states), ruleset, checks or CHECKS, reading, **options)


def only(*names: str) -> Ruleset:
    """The shipped ruleset with some of its rules."""
    ruleset = shipped_ruleset()
    return replace(ruleset, rules=tuple(rule for rule in ruleset.rules if rule.name in names))


def core(result: Result) -> set[tuple[Any, ...]]:
    """What may not depend on the order of the rows."""
    return {(f.rule, f.subject, f.message, f.measured, f.follows_from, f.thumbprint) for f in result.findings}


# --- a check of the test's own ------------------------------------------------------------------


@dataclass(frozen=True)
class MostLimits:
    """Its limits."""

    most: int = 0


def made_check(run_check: Any, subjects: Any = None, says: Mapping[str, str] | None = None) -> Check:
    """A check that is registered nowhere."""
    return Check(
        "made.up", run_check, "wires",
        subjects or (lambda design, limits: [("wire", w.name) for w in design.harness.wires]),
        ("wire",), None, dict(says or {"": "{subject} is odd."}), {"": "Look at {subject}."},
    )  # fmt: skip


def with_made(check: Check, grade: str = "hold") -> tuple[Ruleset, dict[str, Check]]:
    """Shipped rules with the made-up check among them."""
    ruleset = shipped_ruleset()
    rule = Rule("made", "made.up", grade, None, Scope(), "It is made up.", "none")  # type: ignore[arg-type]
    half = len(ruleset.rules) // 2
    rules = (*ruleset.rules[:half], rule, *ruleset.rules[half:])
    return replace(ruleset, rules=rules), {**CHECKS, "made.up": check}


def failing_at_once(design: Design, limits: Any) -> Iterator[Outcome]:
    raise KeyError("no such thing")
    yield


def failing_later(design: Design, limits: Any) -> Iterator[Outcome]:
    yield Finding(("wire", "W1"), (Mark(Place("case", "wires", "A2"), "x"),))
    raise ZeroDivisionError("division by zero")


def failing_sentence(design: Design, limits: Any) -> Iterator[Outcome]:
    yield Finding(("wire", "W1"), ())


def failing_subjects(design: Design, limits: Any) -> list[Any]:
    raise RuntimeError("no subjects")


@pytest.mark.parametrize(
    ("check", "words", "findings"),
    [
        (made_check(failing_at_once), "KeyError: 'no such thing' (in failing_at_once", 0),
        (made_check(failing_later), "ZeroDivisionError", 1),
        (made_check(failing_sentence, says={"": "{subject} has {what}."}), "KeyError", 0),
        (made_check(failing_later, failing_subjects), "RuntimeError: no subjects", 0),
    ],
    ids=["at once", "later", "in the sentence", "in the subjects"],
)
def test_a_crash_is_an_outcome_of_its_own_and_the_others_run_on(check: Check, words: str, findings: int) -> None:
    plain = result_of()
    result = result_of(*with_made(check))
    crashed = [rule for rule in result.rules if rule.crashed]
    assert [rule.rule for rule in crashed] == ["made"]
    assert words in (crashed[0].crashed or "")
    assert "line " in (crashed[0].crashed or "")
    assert crashed[0].findings == findings
    others = [rule for rule in result.rules if rule.rule != "made"]
    assert others == list(plain.rules)
    assert {f.thumbprint for f in plain.findings} <= {f.thumbprint for f in result.findings}
    jsonschema.validate(to_dict(result), schema())


def test_evidence_becomes_plain_json_whatever_a_check_puts_there() -> None:
    odd = {"set": {"b", "a"}, "place": Place("f", "s", "A1"), "nan": float("nan"), "deep": [({"x": (1, 2.5)},)]}

    def strange(design: Design, limits: Any) -> Iterator[Outcome]:
        yield Finding(("wire", "W1"), (), odd)

    result = result_of(*with_made(made_check(strange)))
    [finding] = [f for f in result.findings if f.rule == "made"]
    assert finding.evidence == {
        "set": ["a", "b"], "place": "f s A1", "nan": "nan", "deep": [[{"x": [1, 2.5]}]],
    }  # fmt: skip
    jsonschema.validate(json.loads(to_json(result)), schema())


# --- counts and scopes --------------------------------------------------------------------------


def test_each_rule_says_how_much_it_looked_at() -> None:
    result = result_of()
    rules = {rule.rule: rule for rule in result.rules}
    assert rules["two-ends"].looked_at == 11
    assert rules["one-earth-point"].looked_at == 3
    assert rules["coil-capacitor"].looked_at == 0
    for name, rule in rules.items():
        assert rule.findings == sum(f.rule == name for f in result.findings)
        assert rule.undecided == sum(u.rule == name for u in result.undecided)
        assert rule.findings + rule.undecided <= rule.looked_at
        assert rule.reason
        assert rule.source
        assert rule.counts_what


def test_a_scope_filters_what_is_looked_at_and_what_is_found() -> None:
    everything = result_of(only("one-earth-point"))
    assert {f.subject[1] for f in everything.findings} == {"COIL 2"}
    rule = only("one-earth-point").rules[0]
    for scope, looked, found in (
        (Scope(only=("component:COIL *",)), 2, {"COIL 2"}),
        (Scope(except_=("component:coil 2",)), 2, set()),
        (Scope(only=("wire:*",)), 0, set()),
    ):
        result = result_of(replace(only("one-earth-point"), rules=(replace(rule, scope=scope),)))
        assert result.rules[0].looked_at == looked
        assert {f.subject[1] for f in result.findings} == found


def test_subjects_named_twice_count_once() -> None:
    def none(design: Design, limits: Any) -> Iterator[Outcome]:
        yield from ()

    result = result_of(*with_made(made_check(none, lambda design, limits: [("wire", "W1")] * 5)))
    assert next(rule for rule in result.rules if rule.rule == "made").looked_at == 1


def test_progress_is_told_before_each_rule() -> None:
    told: list[tuple[str, int, int]] = []
    result_of(progress=lambda name, number, total: told.append((name, number, total)))
    names = [rule.name for rule in shipped_ruleset().rules]
    assert told == [(name, number, len(names)) for number, name in enumerate(names)]


# --- thumbprints --------------------------------------------------------------------------------


def test_a_thumbprint_is_of_rule_check_and_subject_alone() -> None:
    mark = thumbprint("a", "b.c", ("wire", "W1"))
    assert len(mark) == 16
    assert mark == thumbprint("a", "b.c", ("wire", "W1"))
    others = [("a2", "b.c", ("wire", "W1")), ("a", "b.d", ("wire", "W1")), ("a", "b.c", ("net", "W1")),
              ("a", "b.c", ("wire", "W2")), ("ab", ".c", ("wire", "W1"))]  # fmt: skip
    assert len({mark, *(thumbprint(*other) for other in others)}) == 6


def test_thumbprints_stay_the_same_over_processes() -> None:
    """Written down once: a concession given today must be found again in a year."""
    assert thumbprint("one-earth-point", "ground.one_point", ("component", "COIL 1")) == "221d1e042a03c3a9"


@pytest.mark.parametrize("seed", range(5))
def test_rows_in_another_order_change_no_finding(seed: int) -> None:
    head, *rows = WIRES
    random.Random(seed).shuffle(rows)
    assert core(result_of(wires=[head, *rows])) == core(result_of())


def test_rows_put_in_and_columns_moved_change_no_thumbprint() -> None:
    wide = [[row[0], "", *row[1:]] for row in WIRES]
    wide[0][1] = "Remark"
    more = ["W99", "", "DASH", "1", "ECU", "C9", "GN", "0.5", "1", ""]
    shifted = [["Loom of the hill-climb car"], [], *wide[:4], more, *wide[4:]]
    before = {f.thumbprint for f in result_of().findings}
    after = {f.thumbprint for f in result_of(wires=shifted).findings}
    assert before <= after


def test_wording_and_grade_change_no_thumbprint() -> None:
    check = CHECKS["ground.one_point"]
    other = replace(check, says={"": "Look: {subject}."}, remedy={"": "Mend {subject}."})
    ruleset = only("one-earth-point")
    softer = replace(ruleset, rules=tuple(replace(rule, grade="note") for rule in ruleset.rules))
    one, two = result_of(ruleset), result_of(softer, {**CHECKS, check.name: other})
    assert [f.thumbprint for f in one.findings] == [f.thumbprint for f in two.findings] != []
    assert [f.message for f in one.findings] != [f.message for f in two.findings]


# --- causes -------------------------------------------------------------------------------------


def test_what_follows_from_a_cause_names_the_thumbprint_of_the_cause() -> None:
    wires = [
        WIRES[0],
        ["W1", "ECU", "A1", "SPLICE 1", "", "BK", "2.5", "0.6", "Power ground"],
        ["W2", "COIL 1", "3", "SPLICE 1", "", "BK", "2.5", "0.6", "Coil 1 ground"],
        ["W3", "COIL 2", "3", "SPLICE 1", "", "BK", "2.5", "0.6", "Coil 2 ground"],
        ["W4", "SPLICE 1", "", "Head stud", "", "BK", "2.5", "0.6", "Power ground"],
        ["W5", "SPLICE 1", "", "Chassis stud", "", "BK", "2.5", "0.6", "Power ground"],
    ]
    result = result_of(only("no-earth-loop"), wires=wires)
    cause = next(f for f in result.findings if f.subject[1] == "ECU")
    assert cause.follows_from is None
    assert {f.subject[1]: f.follows_from for f in result.findings if f is not cause} == {
        "COIL 1": cause.thumbprint, "COIL 2": cause.thumbprint,
    }  # fmt: skip


def chained(design: Design, limits: Any) -> Iterator[Outcome]:
    for name, cause in (("W1", None), ("W2", "W1"), ("W3", "W3"), ("W4", "W77")):
        yield Finding(("wire", name), (), {}, follows_from=("made.up", ("wire", cause)) if cause else None)


def test_a_cause_is_looked_for_in_the_same_rule_and_never_is_the_finding_itself() -> None:
    ruleset, checks = with_made(made_check(chained))
    rule = next(rule for rule in ruleset.rules if rule.name == "made")
    twice = replace(ruleset, rules=(rule, replace(rule, name="again")))
    result = result_of(twice, checks)
    for name in ("made", "again"):
        causes = {f.subject[1]: f.follows_from for f in result.findings if f.rule == name}
        assert causes == {"W1": None, "W2": thumbprint(name, "made.up", ("wire", "W1")), "W3": None, "W4": None}


# --- order, JSON, bytes -------------------------------------------------------------------------


def test_findings_stand_by_grade_then_rule_then_place() -> None:
    result = result_of()
    order = [rule.name for rule in shipped_ruleset().rules]
    keys = [(GRADES.index(f.grade), order.index(f.rule)) for f in result.findings]
    assert keys == sorted(keys)
    assert len(set(keys)) > 3

    def rows(design: Design, limits: Any) -> Iterator[Outcome]:
        for cell in ("B10", "A9", "AA9", "B9", "A10"):
            yield Finding(("wire", cell), (Mark(Place("case", "wires", cell), ""),))
        yield Finding(("wire", "W10"), ())
        yield Finding(("wire", "W9"), ())

    made = [f.subject[1] for f in result_of(*with_made(made_check(rows))).findings if f.rule == "made"]
    assert made == ["W9", "W10", "A9", "B9", "AA9", "A10", "B10"]


def test_what_is_undecided_stands_in_natural_order() -> None:
    def asking(design: Design, limits: Any) -> Iterator[Outcome]:
        for name in ("W10", "W2", "w1"):
            yield Undecided(("wire", name), ("its colour",))

    result = result_of(*with_made(made_check(asking)))
    assert [u.subject[1] for u in result.undecided if u.rule == "made"] == ["w1", "W2", "W10"]


def test_the_same_input_gives_the_same_bytes() -> None:
    assert to_json(result_of()) == to_json(result_of())
    for word in ("2026", "elapsed", "seconds"):
        assert word not in to_json(result_of())


def test_hash_seeds_change_no_byte(tmp_path: Path) -> None:
    import os
    import subprocess
    import sys

    texts = set()
    for seed in ("1", "77"):
        out = tmp_path / f"{seed}.json"
        done = subprocess.run(
            [sys.executable, "-m", "harnessdrc", "check", str(SAMPLES / "faulty" / "hill_climb_single_seater.xlsx"),
             "--json", str(out), "--out", str(tmp_path / seed)],
            env={**os.environ, "PYTHONHASHSEED": seed}, capture_output=True, text=True, timeout=120, check=False,
        )  # fmt: skip
        assert done.returncode == 1, done.stderr
        texts.add(out.read_bytes())
    assert len(texts) == 1


@pytest.mark.parametrize("name", ["clean/hill_climb_single_seater.xlsx", "clean/rescue_boat_v8.xlsx",
                                  "faulty/hill_climb_single_seater.xlsx", "faulty/rescue_boat_v8.xlsx"])  # fmt: skip
def test_the_json_of_the_samples_holds_to_its_schema(name: str) -> None:
    result = check_lists([SAMPLES / name])
    whole = json.loads(to_json(result))
    jsonschema.Draft202012Validator.check_schema(schema())
    jsonschema.validate(whole, schema())
    assert whole["counts"]["undecided"] == len(whole["undecided"])
    assert sum(whole["counts"][grade] for grade in GRADES) == len(whole["findings"])
    marks = [f["thumbprint"] for f in whole["findings"]]
    assert len(set(marks)) == len(marks), "two findings with one thumbprint"
    assert {f["follows_from"] for f in whole["findings"]} - {None} <= set(marks)
    read = whole["read"]
    assert read["rows_seen"] == read["rows_used"] + len(read["rows_set_aside"])
    assert not [rule for rule in whole["rules"] if rule["crashed"]]


def test_the_schema_refuses_what_is_not_in_the_contract() -> None:
    whole = to_dict(result_of())
    for spoil in (
        lambda w: w.pop("counts"),
        lambda w: w["findings"][0].pop("thumbprint"),
        lambda w: w["findings"][0].update(grade="fatal"),
        lambda w: w["inputs"][0].update(sha256="0"),
        lambda w: w["rules"][0].update(looked_at="many"),
    ):
        spoiled = json.loads(json.dumps(whole))
        spoil(spoiled)
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(spoiled, schema())


def test_given_values_and_assumptions_are_told() -> None:
    result = result_of()
    assert {g.name: g.value for g in result.given} == shipped_given()
    assert {line.what for line in result.assumptions} >= {"role", "kind", "current"}
    text = "Wire,From,From cavity,To,To cavity,Size (mm2)\nW1,ECU,1,TPS,2,thick\nW2,ECU,2,TPS,3,0.5\n"
    reading = read_text({"wires": text})
    told = run(design_of(reading, shipped_given(), shipped_states()), shipped_ruleset(), CHECKS, reading).assumptions
    odd = [(line.subject, line.mark.place.cell) for line in told if line.what == "not understood" and line.mark]
    assert odd == [("thick", "F2")]


def test_the_network_tells_every_wire_that_carries_current() -> None:
    network = result_of().network
    assert set(network.wires) >= {"W8", "W9", "W10"}
    full_load = [state.name for state in network.states].index("full load")
    assert network.average_a[full_load][network.wires.index("W9")] == pytest.approx(10.0)
    assert network.conductor_degc == shipped_given()["conductor_degc"]


def test_a_network_that_cannot_be_solved_crashes_its_rules_and_nothing_else(monkeypatch: pytest.MonkeyPatch) -> None:
    from harnessdrc.design import drops

    def unsolvable(*args: Any, **kwargs: Any) -> Any:
        return drops.Unsolvable(("it does not balance",))

    monkeypatch.setattr(drops, "prepare", unsolvable)
    result = result_of()
    crashed = {rule.rule for rule in result.rules if rule.crashed}
    assert crashed == {"feed-drop", "return-drop"}
    assert any(rule.findings for rule in result.rules)
