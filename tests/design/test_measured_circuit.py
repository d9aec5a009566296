"""A measured resistance in the circuit: what is laid to joints, what to copper, and what heat does to it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from text_lists import design_from

from harnessdrc.design.circuit.measured import as_measured
from harnessdrc.design.circuit.parts import Part, inner_node
from harnessdrc.harness.elements import Harness

GIVEN = {"test_degc": 20.0, "conductor_degc": 85.0}
WARMER = 1 + 0.00393 * 65
"""Copper at 85 °C over that at 20 °C: 0.393 % per kelvin (IEC 60028, from memory)."""

WIRES = "Wire,From,From cavity,To,To cavity,Size (mm2),Length (m),Signal\nW1,BATTERY,+,FAN,1,2.5,1,Fan feed\nW2,FAN,2,Chassis stud,,2.5,1,Fan ground\n"


def harness() -> Harness:
    """Harness of a small list, without a strap."""
    return design_from(wires=WIRES).harness


def part(copper_ohm: float = 0.010, joint_ohm: float = 0.004, aged_ohm: float = 0.040, lacking: bool = False) -> Part:
    """A wire with its copper at 20 °C."""
    ohm = copper_ohm * WARMER
    low, high = (0.5 * ohm, 2 * ohm) if lacking else (ohm, ohm)
    words = ("length of wire W1",) if lacking else ()
    return Part("wire", "W1", inner_node("body", "a"), inner_node("body", "b"), ohm, joint_ohm, aged_ohm, low, high, None, words)


def measured(ohm: float, of: Part) -> Part:
    """The part with a measured resistance."""
    return as_measured(of, {("wire", "W1"): ohm}, harness(), GIVEN)


def test_what_is_above_the_expected_is_laid_to_the_joints_and_does_not_grow_with_heat() -> None:
    made = measured(0.034, part())
    assert made.ohm == pytest.approx(0.010 * WARMER)
    assert made.joint_ohm == pytest.approx(0.024)
    assert made.aged_joint_ohm == pytest.approx(0.040)


def test_what_is_below_is_laid_to_the_copper() -> None:
    made = measured(0.012, part())
    assert made.joint_ohm == pytest.approx(0.004)
    assert made.ohm == pytest.approx(0.008 * WARMER)


def test_less_than_the_joints_alone_leaves_no_copper() -> None:
    made = measured(0.003, part())
    assert (made.ohm, made.joint_ohm) == (0.0, pytest.approx(0.003))


def test_a_wire_without_a_length_becomes_certain() -> None:
    made = measured(0.030, part(lacking=True))
    assert not made.uncertain
    assert made.lacking == ()
    assert made.ohm == pytest.approx(0.026 * WARMER)
    assert made.low_ohm == made.high_ohm == made.ohm


def test_a_worn_joint_is_not_better_when_aged() -> None:
    made = measured(0.500, part())
    assert made.aged_joint_ohm == made.joint_ohm == pytest.approx(0.490)


def test_other_parts_stay_as_they_are() -> None:
    other = part()._replace(name="W2")
    assert measured(0.030, other) is other
    fuse = part()._replace(kind="fuse")
    assert measured(0.030, fuse) is fuse


@given(st.floats(0.0, 1.0), st.floats(1e-4, 0.2), st.floats(0.0, 0.02), st.floats(0.0, 0.1), st.booleans())
def test_on_the_bench_it_is_always_what_was_measured(ohm: float, copper: float, joint: float, aged: float, lacking: bool) -> None:
    made = measured(ohm, part(copper, joint, max(joint, aged), lacking))
    assert made.ohm / WARMER + made.joint_ohm == pytest.approx(ohm, abs=1e-12)
    assert made.ohm >= 0.0
    assert 0.0 <= made.joint_ohm <= made.aged_joint_ohm


@given(st.floats(0.0, 0.5), st.floats(0.0, 0.5))
def test_more_measured_is_never_less_in_the_circuit(one: float, other: float) -> None:
    low, high = sorted((one, other))
    less, more = measured(low, part()), measured(high, part())
    assert less.ohm + less.joint_ohm <= more.ohm + more.joint_ohm + 1e-15


def test_a_strap_listed_by_its_resistance_is_not_taken_to_another_temperature() -> None:
    straps = "Strap,From body,To body,Resistance (mOhm)\nG1,chassis,battery negative,2\n"
    tests = "Test,Wire,Measured (mΩ)\nC3,strap G1,5\n"
    design = design_from(wires=WIRES, straps=straps, tests=tests)
    [strap] = [p for p in design.circuit.parts if p.kind == "strap" and p.name == "G1"]
    assert strap.ohm == pytest.approx(0.002)
    assert strap.joint_ohm == pytest.approx(0.003)


def test_readings_that_are_bounds_or_slips_of_the_unit_are_not_solved_with() -> None:
    tests = "Test,Wire,Measured (mΩ)\nC1,W1,OL\nC2,W2,0.0097\n"
    design = design_from(wires=WIRES, tests=tests)
    assert [reading.verdict for reading in design.testing.resistances] == ["fail", "unit"]
    assert design.testing.measured_ohms == {}
    usual = {p.name: p.ohm for p in design_from(wires=WIRES).circuit.parts if p.kind == "wire"}
    assert {p.name: p.ohm for p in design.circuit.parts if p.kind == "wire"} == {"W2": usual["W2"]}  # W1 is open
