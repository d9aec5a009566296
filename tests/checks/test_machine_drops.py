"""Drops to starters and from alternators against the closed form of one loop, and ranges against what is filled in."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from text_lists import design_from

from harnessdrc.checks.registry import CHECKS, load_checks
from harnessdrc.findings import Finding, Undecided

load_checks()
HEAD = "Wire,From,From cavity,To,To cavity,Size (mm2),Length (m),Signal\n"
STRAP = "Strap,From body,To body,Size (mm2),Length (m),Resistance (mohm)\n"
OHM_PER_M = {16: 1.16e-3, 25: 0.743e-3, 35: 0.527e-3, 50: 0.368e-3}
HOT = 1.25545


def told(**lists: Any) -> list[Finding | Undecided]:
    """What the check says with limits of nothing."""
    check = CHECKS["feed.cranking_drop"]
    assert check.limits is not None
    given_values = lists.pop("given_values", None)
    return list(check.run(design_from(given_values, **lists), check.limits(drop_mv=1e-6, charge_mv=1e-6)))


def cranked(size: str, length: str, current: str = "200", strap: str = "G1,engine,battery negative,,,0.5") -> Any:
    """A starter on one cable and one strap."""
    (said,) = told(
        wires=HEAD + f"W1,BATTERY,+,STARTER,30,{size},{length},Starter cable\n",
        components=f"Component,Kind,Place,Current (A)\nSTARTER,starter,engine,{current}\n",
        straps=STRAP + (strap + "\n" if strap else "G9,head,block,,,0.1\n"),
    )
    return said


@settings(max_examples=30, deadline=None)
@given(st.sampled_from(sorted(OHM_PER_M)), st.floats(0.3, 8.0), st.floats(80.0, 400.0))
def test_a_starter_in_one_loop(size: int, length_m: float, current_a: float) -> None:
    length = round(length_m, 3)
    current = round(current_a, 1)
    way_ohm = OHM_PER_M[size] * HOT * length + 2 * 0.1e-3 + 0.5e-3
    amps = 12.6 / (0.010 + way_ohm + 10.0 / current)
    said = cranked(str(size), str(length), str(current))
    assert said.variant == ""
    assert said.measured == pytest.approx(amps * way_ohm * 1000, rel=1e-4)
    assert said.evidence["back_mv"] == pytest.approx(amps * 0.5, abs=0.6)


@settings(max_examples=20, deadline=None)
@given(st.sampled_from(sorted(OHM_PER_M)), st.floats(0.3, 3.0), st.floats(120.0, 350.0))
def test_what_is_filled_in_lies_within_the_range(size: int, length_m: float, current_a: float) -> None:
    length, current = str(round(length_m, 3)), str(round(current_a, 1))
    certain = cranked(str(size), length, current).measured
    for lacking in (
        cranked(str(size), "", current), cranked(str(size), length, ""), cranked(str(size), "", ""),
        cranked(str(size), length, current, "G1,engine,battery negative,,,"),
    ):  # fmt: skip
        assert lacking.evidence["low_mv"] - 1 <= certain <= lacking.evidence["high_mv"] + 1
        assert lacking.variant == "range"
        assert lacking.evidence["lacking"]


def test_a_second_strap_shares_the_return() -> None:
    one = cranked("35", "1")
    two = cranked("35", "1", strap="G1,engine,battery negative,,,0.5\nG2,engine,battery negative,,,0.5")
    assert two.evidence["back_mv"] == pytest.approx(one.evidence["back_mv"] / 2, abs=2)


def test_a_machine_whose_cable_ends_nowhere_is_open() -> None:
    said = told(
        wires=HEAD + "W1,BATTERY,+,FAN,1,6,1,Fan feed\nW2,FAN,2,Chassis stud,,6,1,Fan ground\n"
        "W3,STARTER,30,BUS POST,,25,1,Starter cable\n",
        components="Component,Kind,Place,Current (A)\nSTARTER,starter,engine,200\nFAN,fan,chassis,10\n",
        earth_points="Earth point,Body\nChassis stud,chassis\n",
    )
    assert [each.subject for each in said] == [("component", "STARTER")]
    assert isinstance(said[0], Undecided)
    assert said[0].missing == ("a closed way between STARTER 30 and the battery",)


def test_nothing_solved_names_why() -> None:
    said = told(
        wires=HEAD + "W1,BATTERY 24V,+,STARTER,30,25,1,Starter cable\n",
        components="Component,Kind,Place,Current (A),Voltage (V)\nBATTERY 24V,battery,,,24\nSTARTER,starter,engine,200,\n",
    )
    assert [(type(each), each.subject) for each in said] == [(Undecided, ("component", "STARTER"))]
    assert isinstance(said[0], Undecided)
    assert "12 V" in said[0].missing[0]
