"""Voltages to measure: from the network, at places that a lead reaches, in states in which the car stands still."""

from __future__ import annotations

import numpy as np
import pytest
from measured_lists import GENERATOR, continuity_rows, designed, voltage_rows
from text_lists import read_rows, shipped_ruleset

from harnessdrc.bench.voltages import voltage_lines
from harnessdrc.checks.registry import load_checks
from harnessdrc.design import Design
from harnessdrc.engine import allowed_by, run
from harnessdrc.papers import VoltageLine


def line_of(lines: tuple[VoltageLine, ...], what: str, red: str, black: str) -> VoltageLine:
    """The line between two places; fails unless there is one."""
    (line,) = [line for line in lines if (line.what, line.red, line.black) == (what, red, black)]
    return line


def node_v(design: Design, name: str, state: str) -> float:
    """Potential of a node by its name, from the solved circuit."""
    circuit = design.circuit
    [node] = [n for n, each in enumerate(circuit.nodes) if circuit.node_name(each) == name]
    [number] = [n for n, each in enumerate(design.analysis.states) if each.name == state]
    return float(design.analysis.new.settled.volts[node, number])


def test_every_voltage_is_that_of_the_network_between_its_two_places() -> None:
    design = designed()
    names = {"battery negative post": "battery negative"}
    lines = voltage_lines(design)
    assert {line.what for line in lines} == {"ground offset", "feed drop", "return drop", "cranking drop"}
    for line in lines:
        red, black = (
            names.get(place, place.removeprefix("bare metal of the ")) for place in (line.red, line.black)
        )
        expected_mv = (node_v(design, red, line.state) - node_v(design, black, line.state)) * 1000
        assert line.expected_mv == pytest.approx(expected_mv, abs=1e-6)


def test_a_return_by_hand() -> None:
    """11 A of a fan over 0.7 m of 2.5 mm² (7.6 mΩ/m at 20 °C, ISO 6722 from memory) with its two joints and the strap."""
    fan = {
        "wires": "Wire,From,From cavity,To,To cavity,Size (mm2),Length (m),Signal\nW1,BATTERY,+,HEATER,1,4,1,Heater feed\nW2,HEATER,2,Chassis stud,,2.5,0.7,Heater ground\n",
        "components": "Component,Kind,Place,Current (A)\nHEATER,load,chassis,11\n",
        "straps": "Strap,From body,To body,Size (mm2),Length (m)\nG1,chassis,battery negative,25,0.4\n",
    }  # fmt: skip
    line = line_of(voltage_lines(designed(fan)), "return drop", "HEATER 2", "battery negative post")
    warm = 1 + 0.00393 * (85 - 20)
    copper_ohm = (0.7 * 7.6e-3 + 0.4 * 0.743e-3) * warm
    joints_ohm = 2e-3 + 0.1e-3  # a contact and a ring, given values; the strap's rings are in its resistance
    assert line.expected_mv == pytest.approx(11 * (copper_ohm + joints_ohm) * 1000, rel=1e-3)
    assert (line.low_mv, line.high_mv) == (None, 500.0)


def test_only_states_in_which_the_car_stands_still() -> None:
    assert {line.state for line in voltage_lines(designed())} <= {"key on", "cranking", "idle", "fan cut-in"}
    assert voltage_lines(designed(given={"test_rpm": 0.0}))
    assert {line.state for line in voltage_lines(designed(given={"test_rpm": 0.0}))} == {"key on"}
    assert "full load" in {line.state for line in voltage_lines(designed(given={"test_rpm": 9000.0}))}


def test_places_can_be_reached_and_no_test_stands_twice() -> None:
    design = designed()
    labels = {design.label(contact) for contact in design.net.wires_at}
    lines = voltage_lines(design)
    for line in lines:
        for place in (line.red, line.black):
            assert place in labels or place.startswith(("bare metal of the ", "battery negative", "case of ")), place
        assert line.red != line.black
    assert len({(line.red, line.black, line.state) for line in lines}) == len(lines)
    assert [line.test for line in lines] == [f"V{n}" for n in range(1, len(lines) + 1)]


def test_limits_are_those_of_the_rules() -> None:
    ruleset = shipped_ruleset()
    allowed = allowed_by(ruleset.rules)
    assert (allowed.feed_mv, allowed.return_mv, allowed.cranking_mv) == (500.0, 500.0, 1000.0)
    design = designed()
    run(design, ruleset, load_checks(), read_rows({"wires": [r.split(",") for r in GENERATOR["wires"].splitlines()]}))
    assert design.allowed == allowed
    lines = voltage_lines(design)
    feed = line_of(lines, "feed drop", "BATTERY +", "FAN 1")
    assert (feed.low_mv, feed.high_mv) == (None, 500.0)
    for line in lines:
        if line.what == "ground offset" and line.red == "COIL 1 3":
            # off: at most 0.7 V over the output's low level; on: at least 2.5 V under its high level (given values)
            assert line.low_mv is not None
            assert line.low_mv == pytest.approx(design.given["output_low_mv"] - 700)
            assert line.high_mv == pytest.approx(design.given["output_high_mv"] - 2500)


def test_a_ruleset_of_ones_own_says_what_passes() -> None:
    import dataclasses

    rules = tuple(
        dataclasses.replace(rule, limits=dataclasses.replace(rule.limits, drop_mv=120.0)) if rule.check == "feed.voltage_drop" else rule
        for rule in shipped_ruleset().rules
    )  # fmt: skip
    design = designed()
    design.allowed = allowed_by(rules)
    assert line_of(voltage_lines(design), "feed drop", "BATTERY +", "FAN 1").high_mv == 120.0


def test_what_is_behind_a_driver_is_not_asked_for() -> None:
    wires = GENERATOR["wires"] + "W30,SPLICE 1,,INJ 1,1,0.75,1,Injector feed,\nW31,ECU,14,INJ 1,2,0.75,1,Injector 1,\n"
    lines = voltage_lines(designed({**GENERATOR, "wires": wires}))
    assert [line.black for line in lines if line.what == "feed drop" and line.black.startswith("INJ")] == ["INJ 1 1"]
    assert not [line for line in lines if line.what == "return drop" and line.red.startswith("INJ")]


def test_measured_joints_move_what_is_expected() -> None:
    plain = line_of(voltage_lines(designed()), "return drop", "FAN 2", "battery negative post")
    rows = [["C7", "W7", "FAN 2", "Chassis stud", None, 27.0, None, None]]
    worse = line_of(voltage_lines(designed(tests=rows)), "return drop", "FAN 2", "battery negative post")
    amps = np.abs(designed(tests=rows).analysis.new.settled.amps).max()
    assert worse.expected_mv > plain.expected_mv + 100
    assert worse.expected_mv - plain.expected_mv < 27.0 * amps


def test_nothing_is_asked_for_where_nothing_is_solved() -> None:
    assert voltage_lines(designed({"wires": "Wire,From,From cavity,To,To cavity\nW1,X1,1,X2,1\n"})) == ()


def test_a_bad_joint_leaves_the_printed_rows_where_they_are() -> None:
    """Which state is the worst may change with a measured joint; the sheet was printed before. Common practice."""
    plain = designed()
    printed = plain.testing.voltages
    rows = [*continuity_rows(plain, {"W8": 350.0, "W9": 350.0, "W21": 600.0}), *voltage_rows(plain)]
    again = designed(tests=rows)
    alone = designed(joints={"W8 ECU 2": 350.0, "W9 ECU 3": 350.0, "W21 DASH 2": 600.0}).testing.voltages
    assert [(t.red, t.black, t.state) for t in alone] != [(t.red, t.black, t.state) for t in printed]
    assert [(t.test, t.red, t.black, t.state) for t in again.testing.voltages] == [
        (t.test, t.red, t.black, t.state) for t in printed
    ]
    assert not again.testing.unfit
    assert len(again.testing.read_voltages) == len(printed)
    shifted = [a.expected_v - b.expected_v for a, b in zip(again.testing.voltages, printed, strict=True)]
    assert max(map(abs, shifted)) > 1e-3  # expected is what the measured network gives


def test_a_row_can_be_asked_for_again_although_nothing_falls_across_it_any_more() -> None:
    plain = designed()
    rows = [*continuity_rows(plain, {"W7": 0.001}), *voltage_rows(plain)]
    assert not designed(tests=rows).testing.unfit
