"""Fuses: what they stand ahead of, what they carry, and the short circuits behind them, worked out by hand."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from text_lists import design_from, shipped_given, shipped_states

from harnessdrc.design import Design, design_of
from harnessdrc.design.sizing.fuse_lines import fuse_lines
from harnessdrc.design.sizing.protection import fuse_of_wire, protection_of
from harnessdrc.design.sizing.unfused import unfused_feeds
from harnessdrc.physics.ampacity import allowed_a

REAL = Path(__file__).parents[2] / ".." / "shared" / "real_wirelists"

EARTHS = "Earth point,Body\nChassis stud,chassis\n"
STRAPS = "Strap,From body,To body,Size (mm2),Length (m)\nCHASSIS,chassis,battery negative,25,1\n"
TREE = """Wire,From,From cavity,To,To cavity,Size (mm2),Length (m),Insulation,Signal
W1,BATTERY,+,FUSE 1,in,6,0.2,TXL,Battery feed
W2,FUSE 1,out,RELAY 1,30,6,0.5,TXL,Fused feed
W3,RELAY 1,87,SPLICE 1,,6,0.5,TXL,Fused feed
W4,SPLICE 1,,FUSE 2,in,1,0.2,TXL,Fused feed
W5,FUSE 2,out,HEATER MAT,1,1,2,TXL,Mat feed
W6,SPLICE 1,,FUSE 3,in,1,0.2,TXL,Fused feed
W7,SPLICE 1,,HORN,1,2.5,1,TXL,Horn feed
W8,FUSE 3,out,BEACON,1,1,2,TXL,Beacon feed
W9,HEATER MAT,2,Chassis stud,,1,1,TXL,Mat ground
W10,HORN,2,Chassis stud,,2.5,1,TXL,Horn ground
W11,BEACON,2,Chassis stud,,1,1,TXL,Beacon ground
"""
TREE_LOADS = "Component,Kind,Current (A)\nHEATER MAT,load,3\nHORN,load,4\nBEACON,load,2\n"
TREE_FUSES = "Fuse,Rating (A),Family\nFUSE 1,25,regular blade\nFUSE 2,5,mini blade\nFUSE 3,,mini blade\n"


def tree(fuses: str = TREE_FUSES, **changed: str) -> Design:
    """A fuse, a relay, and two further fuses and a horn behind it."""
    tables = {"wires": TREE, "components": TREE_LOADS, "fuses": fuses, "earth_points": EARTHS, "straps": STRAPS}
    return design_from(**{**tables, **changed})


def far_end(length_m: float, rating_a: float, family: str = "regular blade", size: str = "1.5") -> Design:
    """A lamp at the end of a long wire."""
    return design_from(
        wires=f"""Wire,From,From cavity,To,To cavity,Size (mm2),Length (m),Signal,Insulation
W1,BATTERY,+,FUSE 3,1,6,0.2,Battery feed,TXL
W2,FUSE 3,2,MARKER LAMP,1,{size},{length_m},Lamp feed,TXL
W3,MARKER LAMP,2,Chassis stud,,2.5,1,Lamp ground,TXL
""",
        components="Component,Kind,Current (A)\nMARKER LAMP,lamp,1\n",
        fuses=f"Fuse,Rating (A),Family\nFUSE 3,{rating_a},{family}\n",
        earth_points=EARTHS,
        straps=STRAPS,
    )


def test_each_wire_has_the_last_fuse_on_its_way() -> None:
    held = fuse_of_wire(tree())
    # W4 leads to the fuse of 5 A alone; W6 to one without a rating; W1 has none ahead, grounds and W8 none at all.
    assert held == {"W2": 25.0, "W3": 25.0, "W4": 5.0, "W5": 5.0, "W6": 25.0, "W7": 25.0}


def test_of_two_supplies_through_contacts_the_larger_counts_and_none_where_one_has_no_fuse() -> None:
    wires = """Wire,From,From cavity,To,To cavity
W1,BATTERY,+,FUSE 1,in
W2,BATTERY,+,FUSE 2,in
W3,FUSE 1,out,SWITCH 1,1
W4,FUSE 2,out,SWITCH 2,1
W5,SWITCH 1,2,HORN,1
W6,SWITCH 2,2,HORN,1
"""
    fuses = "Fuse,Rating (A)\nFUSE 1,5\nFUSE 2,15\n"
    assert fuse_of_wire(design_from(wires=wires, fuses=fuses))["W5"] == 15.0
    # with a third contact straight from FUSE 2's inlet net the horn's wires are as far from the battery, and bare
    bare = wires + "W7,BATTERY,+,SWITCH 3,1\nW8,SWITCH 3,2,SPLICE 1,\nW9,SPLICE 1,,HORN,1\n"
    assert "W5" not in fuse_of_wire(design_from(wires=bare, fuses=fuses))


def test_a_fuse_carries_what_all_loads_behind_it_draw() -> None:
    protection = protection_of(tree())
    loads = {fuse.item.name: protection.load(fuse).current_a for fuse in protection.fuses}
    assert loads == pytest.approx({"FUSE 1": 9.0, "FUSE 2": 3.0, "FUSE 3": 2.0}, rel=1e-6)


def test_a_load_that_is_not_known_stands_in_the_way_of_every_fuse_ahead_of_it() -> None:
    protection = protection_of(
        tree(components="Component,Kind,Current (A)\nHEATER MAT,load,\nHORN,load,4\nBEACON,load,2\n")
    )
    unknown = {fuse.item.name: protection.load(fuse).unknown for fuse in protection.fuses}
    assert unknown == {"FUSE 1": ("HEATER MAT",), "FUSE 2": ("HEATER MAT",), "FUSE 3": ()}


def test_what_flows_while_the_starter_turns_is_no_lasting_load() -> None:
    protection = protection_of(tree())
    starting = {state.name for state in protection.design.analysis.states if state.starter}
    assert starting
    assert not starting & {protection.load(fuse).state for fuse in protection.fuses}


def test_the_fault_current_of_a_loop_worked_out_by_hand() -> None:
    protection = protection_of(far_end(11.3, 30))
    fault = protection.worst_fault(protection.fuses[0], 5.0)
    assert fault is not None
    # battery 10, 0.2 m of 6 mm2 at 85 °C 3.94211 mohm/m, two rings 0.1, fuse 110 mV / 30 A, 11.3 m of 1.5 mm2 at
    # 15.94422 mohm/m, two contacts 2, strap of 25 mm2 0.743 x 1.25545
    ohm = 0.010 + 0.2 * 3.94211e-3 + 0.2e-3 + 0.110 / 30 + 11.3 * 15.94422e-3 + 4e-3 + 0.743e-3 * 1.25545
    assert fault.current_a == pytest.approx(12.0 / ohm, rel=1e-5)
    assert fault.wire.name == "W2"
    # between 200 % (5 s) and 350 % (0.5 s), straight over the logarithms
    assert fault.clears_s == pytest.approx(5.0 * (12.0 / ohm / 60.0) ** -(1.0 / 0.243038), rel=1e-4)
    # TXL: 125 to 250 °C, k² = 226² ln(484.5 / 359.5)
    assert fault.withstands_s == pytest.approx(226.0**2 * 0.298383 * 1.5**2 / fault.current_a**2, rel=0.03)
    assert fault.verdict == "clears"


ORDER = {"clears": 0, "too slow": 1, "may not open": 2}


@settings(max_examples=15, deadline=None)
@given(st.lists(st.floats(1.0, 40.0), min_size=2, max_size=2, unique=True).map(sorted))
def test_a_longer_wire_never_helps(lengths_m: list[float]) -> None:
    found = []
    for length_m in lengths_m:
        protection = protection_of(far_end(round(length_m, 3), 20))
        fault = protection.worst_fault(protection.fuses[0], 5.0)
        assert fault is not None
        found.append((fault.current_a, ORDER[fault.verdict], fault.clears_s or float("inf")))
    assert found[0][0] >= found[1][0]
    assert found[0][1] <= found[1][1]
    assert found[0][2] <= found[1][2]


@pytest.mark.parametrize(("smaller", "larger"), [(5, 10), (10, 20), (20, 40)])
def test_a_larger_fuse_never_clears_sooner(smaller: int, larger: int) -> None:
    times = []
    for rating_a in (smaller, larger):
        protection = protection_of(far_end(6.0, rating_a))
        fault = protection.worst_fault(protection.fuses[0], 5.0)
        assert fault is not None
        times.append(fault.clears_s or float("inf"))
    assert times[0] <= times[1]


def test_lines_tell_every_fuse_with_what_is_lacking() -> None:
    lines = {line.fuse: line for line in fuse_lines(tree())}
    assert list(lines) == ["FUSE 1", "FUSE 2", "FUSE 3"]
    assert (lines["FUSE 1"].family, lines["FUSE 1"].colour, lines["FUSE 2"].colour) == ("regular blade", "clear", "tan")
    assert lines["FUSE 3"].lacking[0] == "rating of FUSE 3"
    assert lines["FUSE 3"].thinnest == ""
    assert lines["FUSE 2"].thinnest.startswith("W5")
    assert lines["FUSE 1"].mark is not None
    assert lines["FUSE 1"].mark.place.cell == "B2"
    first = lines["FUSE 1"]
    assert first.clears_s is not None
    assert first.withstands_s is not None
    assert first.clears_s < first.withstands_s


def test_the_cable_of_the_starter_does_not_count_ahead_of_a_fuse() -> None:
    wires = """Wire,From,From cavity,To,To cavity,Size (mm2),Length (m)
W1,BATTERY,+,ISOLATOR SWITCH,1,35,0.6
W2,ISOLATOR SWITCH,2,SPLICE 1,,35,0.5
W3,SPLICE 1,,STARTER,30,35,0.8
W4,SPLICE 1,,FUSE 1,in,4,0.15
"""
    with_starter = unfused_feeds(design_from(wires=wires, components="Component,Kind\nSTARTER,starter\n"))
    assert [(each.subject, round(each.known_m, 6)) for each in with_starter] == [(("fuse", "FUSE 1"), 0.15)]
    without = unfused_feeds(design_from(wires=wires.replace("W3,SPLICE 1,,STARTER,30,35,0.8\n", "")))
    assert [(each.subject, round(each.known_m, 6)) for each in without] == [(("fuse", "FUSE 1"), 1.25)]


TABLE_11_3 = {22: 5, 20: 5, 18: 10, 16: 10, 14: 15, 12: 20, 10: 30}
"""AC 43.13-1B table 11-3 (read): AWG and the largest fuse, A; 57 °C, 15 or more wires of which a fifth is loaded."""


@pytest.mark.parametrize(("awg", "fuse_a"), TABLE_11_3.items())
def test_wires_bear_the_fuses_that_aviation_allows_them(awg: int, fuse_a: float) -> None:
    bears_a = float(allowed_a(awg=awg, ambient_degc=57.0, rated_degc=105.0, wires=15, loading=0.2))
    assert fuse_a <= bears_a <= 4 * fuse_a


# --- lists that others wrote --------------------------------------------------------------------


def real(name: str) -> Design:
    """A real list; the test is skipped where these are absent."""
    from harnessdrc.api import open_and_read

    if not (REAL / name).is_file():
        pytest.skip("the real wiring lists are not beside this checkout")
    _, reading = open_and_read([REAL / name])
    return design_of(reading, shipped_given(), shipped_states())


def test_thin_wires_on_protected_outputs_of_a_real_list() -> None:
    from harnessdrc.checks.fuse import protects_wire
    from harnessdrc.findings import Finding

    design = real("robot_cut_list/wiring.xlsx")
    found = [each for each in protects_wire(design, None) if isinstance(each, Finding)]
    assert [each.subject for each in found] == [("component", "PD board 30AMP")]
    # IDs 38, 39, 42 and 46 stand in rows 39, 40, 43 and 47
    assert {mark.place.cell[1:] for mark in found[0].marks if mark.place.cell[0] == "E"} == {"39", "40", "43", "47"}
    assert {line.subject for line in protection_of(design).assumptions} >= {"PD board 30AMP"}


def test_fuses_in_grounds_of_a_real_list() -> None:
    from harnessdrc.checks.fuse import in_ground

    found = list(in_ground(real("trike_wiring/Wiring_C2PCB.xls"), None))
    assert sorted(int(each.marks[0].place.cell[1:]) for each in found) == [8, 9, 23]
