"""What is open by the meter is out of the network, and what that does follows from the reading.

That a break leaves a load without its current and a sensor without its ground is Kirchhoff's law; which findings it
makes is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest
from measured_lists import GENERATOR, HEAD, continuity_rows, designed, isolation_rows, rows_of, voltage_rows
from text_lists import read_rows, shipped_given, shipped_ruleset, shipped_states

from harnessdrc.checks.registry import load_checks
from harnessdrc.design import Design, design_of
from harnessdrc.engine import run
from harnessdrc.results import ReportedFinding, Result


def ran(changed: Mapping[str, Any]) -> tuple[Design, Result]:
    """The generator set's list with readings as expected but for some."""
    rows = rows_of(GENERATOR)
    rows["Bench"] = [HEAD, *continuity_rows(designed(), changed)] if changed else [HEAD]
    reading = read_rows(rows)
    design = design_of(reading, shipped_given(), shipped_states())
    return design, run(design, shipped_ruleset(), load_checks(), reading)


def new(result: Result) -> list[ReportedFinding]:
    """Findings that the list itself does not have."""
    usual = {finding.thumbprint for finding in ran({})[1].findings}
    return [finding for finding in result.findings if finding.thumbprint not in usual]


def test_a_sensor_ground_that_is_open_says_what_it_does() -> None:
    design, result = ran({"W13": "OL"})
    found = {(f.rule, f.subject[1]): f for f in new(result)}
    assert set(found) == {
        ("measured-resistance", "W13"), ("sensor-return-home", "CLT SENSOR"), ("sensor-return-home", "MAP SENSOR"),
    }  # fmt: skip
    cause = found["measured-resistance", "W13"]
    assert cause.follows_from is None
    assert {f.follows_from for f in found.values() if f is not cause} == {cause.thumbprint}
    assert all(part.name != "W13" for part in design.circuit.parts if part.kind == "wire")
    assert any("1 wire that is open by the meter is no part of the network" in s for s in result.measured.not_compared)
    assert not any(rule.crashed for rule in result.rules)


@pytest.mark.parametrize(("wire", "value"), [("W7", "1.2k"), ("W6", "1.2 kΩ"), ("W22", "1.2k"), ("W7", "> 2 kΩ")])
def test_a_reading_that_leaves_nothing_of_the_supply_counts_as_open(wire: str, value: str) -> None:
    design, result = ran({wire: value})
    assert set(design.testing.broken) == {("wire", wire)}
    assert ("wire", wire) not in design.testing.measured_ohms
    (cause,) = [f for f in new(result) if f.rule == "measured-resistance"]
    assert "so it counts as open" in cause.message
    assert {f.follows_from for f in new(result) if f is not cause} <= {cause.thumbprint}
    absurd_mv = [f for f in result.findings if f.unit == "mV" and (f.measured or 0.0) > 14_000]
    assert absurd_mv == []
    assert not [f for f in result.findings if "slip of the unit" in f.message]


def test_a_starter_that_still_turns_has_a_bad_lead_and_no_break() -> None:
    assert designed(tests=continuity_rows(designed(), {"W22": 59})).testing.broken == {}  # 12 V / 205 A is 59 mohm


def test_a_bad_crimp_that_leaves_most_of_the_supply_is_no_break() -> None:
    design, result = ran({"W7": 60, "W8": 80})
    assert design.testing.broken == {}
    found = {(f.check, f.subject[1]): f for f in new(result)}
    drop, cause = found["ground.voltage_drop", "FAN"], found["measured.resistance", "W7"]
    assert drop.follows_from == cause.thumbprint
    assert found["measured.resistance", "W8"].follows_from is None


def test_what_the_list_has_itself_follows_from_no_reading() -> None:
    usual = {f.thumbprint: f.follows_from for f in ran({})[1].findings}
    broken = {f.thumbprint: f.follows_from for f in ran({"W13": "OL", "W7": 60})[1].findings}
    assert {key: broken[key] for key in usual if key in broken} == {k: v for k, v in usual.items() if k in broken}
    assert usual.keys() <= broken.keys()


def test_a_load_behind_a_break_in_its_feed_gets_nothing_in_its_place() -> None:
    design, result = ran({"W6": "OL"})
    assert [left.name for left in design.circuit.left_out if left.reason == "cut off"] == ["FAN"]
    assert "FAN" not in {port.name for port in design.circuit.ports}
    assert "FAN is fed through what is open by the meter: its current was left out." in result.network.not_solved
    assert not [line for line in design.circuit.assumptions if line.subject == "FAN"]


def test_a_strap_that_is_open_is_no_part_of_the_circuit() -> None:
    design, result = ran({"strap G2": "OL"})
    assert [part.name for part in design.circuit.parts if part.kind == "strap"] == ["G1"]
    assert any("1 strap that is open by the meter" in sentence for sentence in result.measured.not_compared)


def test_the_tests_stay_those_that_were_printed() -> None:
    plain, (broken, _) = designed(), ran({"W13": "OL", "W7": "OL"})
    assert [t.test for t in broken.testing.continuity] == [t.test for t in plain.testing.continuity]
    assert isolation_rows(broken) == isolation_rows(plain)
    assert [row[:5] for row in voltage_rows(broken)] == [row[:5] for row in voltage_rows(plain)]


@pytest.mark.parametrize("wire", [row[0] for row in rows_of(GENERATOR)["wires"][1:]])
def test_no_check_fails_whatever_wire_is_open(wire: str) -> None:
    _, result = ran({wire: "OL"})
    assert not [rule.crashed for rule in result.rules if rule.crashed]
    assert not [s for s in (*result.measured.not_compared, *result.network.not_solved) if "failed" in s]
    (cause,) = [f for f in new(result) if f.rule == "measured-resistance"]
    by_print = {finding.thumbprint: finding for finding in result.findings}
    for finding in new(result):
        while finding.follows_from is not None:
            finding = by_print[finding.follows_from]
        assert finding == cause
