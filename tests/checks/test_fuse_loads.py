"""What fuses carry by listed currents, where the solved circuit has none; sums by hand."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from text_lists import design_from, shipped_given, shipped_states

from harnessdrc.checks.fuse import FuseLoadLimits, in_ground, load
from harnessdrc.checks.ground import no_return
from harnessdrc.design import Design, design_of
from harnessdrc.design.sizing.fuse_currents import FuseCurrent, FuseCurrents
from harnessdrc.design.sizing.protection import protection_of
from harnessdrc.findings import Finding, Undecided

REAL = Path(__file__).parents[2] / ".." / "shared" / "real_wirelists"
HEAD = "Wire,From,From cavity,To,To cavity,Size (mm2),Length (m),Current (A),Signal\n"
SUPPLY = "W1,BATTERY,+,FUSE 1,in,6,0.2,,Battery feed\n"
LAMP = "W90,SPLICE 1,,LAMP,1,1,1,,Lamp feed\nW91,LAMP,2,Chassis stud,,1,1,,Lamp ground\n"
LOADS = "Component,Kind,Current (A)\nLAMP,lamp,0.5\n"
FUSES = "Fuse,Rating (A),Family\nFUSE 1,10,regular blade\nFUSE 2,5,mini blade\n"
EARTHS = "Earth point,Body\nChassis stud,chassis\n"


def loom(*wires: str, loads: str = LOADS) -> Design:
    return design_from(
        wires=HEAD + SUPPLY + "\n".join(wires) + "\n" + LAMP, components=loads, fuses=FUSES, earth_points=EARTHS
    )


def carried(design: Design, name: str = "FUSE 1") -> FuseCurrent:
    (fuse,) = [each for each in protection_of(design).fuses if each.item.name == name]
    return FuseCurrents(design).of(fuse)


def test_a_listed_current_is_added_to_what_is_solved() -> None:
    design = loom("W2,FUSE 1,out,SPLICE 1,,2.5,1,,Feed", "W3,SPLICE 1,,SOCKET,4,2.5,2,6,Socket feed")
    found = carried(design)
    assert found.current_a == pytest.approx(6.5)
    assert (found.listed_a, found.listed_for, found.unknown) == (6.0, ("W3",), ())
    assert found.state


def test_of_wires_one_behind_the_other_the_first_counts() -> None:
    design = loom(
        "W2,FUSE 1,out,SPLICE 1,,2.5,1,,Feed", "W3,SPLICE 1,,SPLICE 2,,2.5,2,6,Socket feed",
        "W4,SPLICE 2,,SOCKET,1,1,2,4,Socket feed", "W5,SPLICE 2,,SOCKET,2,1,2,4,Socket feed",
    )  # fmt: skip
    assert carried(design).listed_for == ("W3",)
    assert carried(design).current_a == pytest.approx(6.5)


def test_a_wire_with_a_solved_current_keeps_it() -> None:
    """The lamp draws 0.5 A by the component list; the 4 A that its wire lists are another check's."""
    design = loom("W2,FUSE 1,out,SPLICE 1,,2.5,1,4,Feed")
    assert carried(design).current_a == pytest.approx(0.5, rel=1e-3)
    assert carried(design).listed_for == ()


def test_through_a_further_fuse_a_relay_and_a_connector() -> None:
    design = loom(
        "W2,FUSE 1,out,SPLICE 1,,2.5,1,,Feed", "W3,SPLICE 1,,FUSE 2,in,2.5,1,,Feed",
        "W4,FUSE 2,out,RELAY 1,30,1,1,,Feed", "W5,RELAY 1,87,PLUG,1,1,1,,Feed", "W6,JACK,1,SOCKET,1,1,1,3,Feed",
        loads=LOADS.replace("Current (A)", "Current (A),Mates with").replace("0.5", "0.5,")
        + "PLUG,connector,,JACK\nJACK,connector,,PLUG\nRELAY 1,relay,,\n",
    )  # fmt: skip
    assert carried(design, "FUSE 2").current_a == pytest.approx(3.0)
    assert carried(design).current_a == pytest.approx(3.5)
    assert carried(design).listed_for == carried(design, "FUSE 2").listed_for == ("W6",)


def test_nothing_of_the_supply_side_counts() -> None:
    design = loom(
        "W2,FUSE 1,out,SPLICE 1,,2.5,1,,Feed", "W7,BATTERY,+,WINCH SOCKET,1,6,1,60,Battery feed",
        "W3,SPLICE 1,,SOCKET,1,1,1,3,Feed",
    )  # fmt: skip
    assert carried(design).listed_for == ("W3",)


def test_a_ring_of_wires_counts_each_once() -> None:
    design = loom(
        "W2,FUSE 1,out,SPLICE 1,,2.5,1,,Feed", "W3,SPLICE 1,,SPLICE 2,,1,1,,Feed", "W4,SPLICE 1,,SPLICE 2,,1,1,,Feed",
        "W5,SPLICE 2,,SOCKET,1,1,1,3,Feed",
    )  # fmt: skip
    assert carried(design).current_a == pytest.approx(3.5)


def test_unknown_loads_stay_unknown_unless_a_listed_wire_leads_to_them() -> None:
    loads = LOADS + "MAT,load,\nHORN,load,\n"
    mats = ("W3,SPLICE 1,,SPLICE 2,,1,1,3,Feed", "W4,SPLICE 2,,MAT,1,1,1,,Feed", "W5,MAT,2,Chassis stud,,1,1,,Ground",
            "W6,SPLICE 1,,HORN,1,1,1,,Feed", "W7,HORN,2,Chassis stud,,1,1,,Ground")  # fmt: skip
    open_ = carried(loom("W2,FUSE 1,out,SPLICE 1,,2.5,1,,Feed", *mats, loads=loads))
    assert (open_.unknown, open_.listed_for) == (("HORN",), ("W3",))
    ahead = carried(loom("W2,FUSE 1,out,SPLICE 1,,2.5,1,9,Feed", *mats, loads=loads))
    assert (ahead.current_a, ahead.unknown, ahead.listed_for) == (9.0, (), ("W2",))


@settings(max_examples=25, deadline=None)
@given(amps=st.lists(st.floats(0.1, 9.0), min_size=1, max_size=6), seed=st.randoms(use_true_random=False))
def test_the_sum_does_not_hang_on_the_order_of_rows(amps: list[float], seed: object) -> None:
    legs = [f"W{n},SPLICE 1,,SOCKET,{n},1,1,{a:.3f},Feed" for n, a in enumerate(amps, 10)]
    rows = ["W2,FUSE 1,out,SPLICE 1,,2.5,1,,Feed", *legs]
    seed.shuffle(rows)  # type: ignore[attr-defined]
    found = carried(loom(*rows))
    assert found.current_a == pytest.approx(0.5 + sum(round(a, 3) for a in amps))
    outcomes = [each for each in load(loom(*rows), FuseLoadLimits()) if each.subject == ("fuse", "FUSE 1")]
    over = 0.5 + sum(round(a, 3) for a in amps) > 8.0
    assert [isinstance(each, Finding) for each in outcomes] == ([True] if over else [])


def test_fuses_in_ground_legs_of_a_real_list() -> None:
    """No wire of that list leads on from its three fuses in grounds: that is what is asked, not their inside."""
    name = REAL / "trike_wiring" / "Wiring_C2PCB.xls"
    if not name.is_file():
        pytest.skip("the real wiring lists are not beside this checkout")
    from harnessdrc.api import open_and_read

    design = design_of(open_and_read([name])[1], shipped_given(), shipped_states())
    fused = {each.subject[1] for each in in_ground(design, None)}
    asked = [each for each in no_return(design, None) if isinstance(each, Undecided)]
    missing = {what for each in asked for what in each.missing}
    assert {what.removeprefix("wire on the other side of ") for what in missing if "other side" in what} <= fused
    assert "wire on the other side of Fuse tab brake" in missing
    assert not any("Fuse" in what and "inside" in what for what in missing)
