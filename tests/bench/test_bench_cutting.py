"""The cut list: lengths, order, twisting, leads of several cores, what is lacking."""

from __future__ import annotations

import math

import numpy as np
import pytest
from bench_lists import cut_of, designed

from harnessdrc.bench.cutting import cut_lines
from harnessdrc.bench.twisting import helix_factor, helix_mm
from harnessdrc.papers import CutLine

HEAD = "Wire,From,From cavity,To,To cavity,Colour,Size (mm²),Length (mm),Twist group,Lay (mm),Untwisted end (mm)\n"


def cut(text: str, given: dict[str, float] | None = None, **tables: str) -> tuple[CutLine, ...]:
    return cut_lines(*designed(given, wires=text, **tables))


def helix_length_mm(axes_mm: float, lay_mm: float, turns: int = 7, steps: int = 200_000) -> float:
    """Length of a helix, strung out as a polyline: nothing of the formula in it."""
    at = np.linspace(0.0, 2.0 * math.pi * turns, steps)
    radius = axes_mm / 2.0
    line = np.stack((radius * np.cos(at), radius * np.sin(at), lay_mm * at / (2.0 * math.pi)), axis=1)
    return float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum())


@pytest.mark.parametrize(("axes_mm", "lay_mm"), [(1.7, 25.0), (2.4, 40.0), (5.0, 12.0), (0.0, 30.0)])
def test_a_twisted_wire_is_as_long_as_the_helix_it_lies_in(axes_mm: float, lay_mm: float) -> None:
    assert helix_length_mm(axes_mm, lay_mm) / (7 * lay_mm) == pytest.approx(helix_factor(axes_mm, lay_mm), rel=1e-8)


@pytest.mark.parametrize("number", [2, 3, 4])
def test_wires_of_a_twist_stand_round_a_circle_and_touch(number: int) -> None:
    # Elementary geometry: the middles of n equal circles that touch in a ring are a regular polygon of side d.
    axes_mm = helix_mm([1.6] * number)
    middles = [
        (axes_mm / 2 * math.cos(2 * math.pi * k / number), axes_mm / 2 * math.sin(2 * math.pi * k / number))
        for k in range(number)
    ]
    assert math.dist(middles[0], middles[1]) == pytest.approx(1.6)


def test_a_wire_by_itself_takes_up_nothing() -> None:
    assert helix_factor(helix_mm([1.6]), 30.0) == 1.0


def test_unlike_wires_lie_as_far_apart_as_their_radii_say() -> None:
    assert helix_mm([1.6, 2.4]) == pytest.approx(2.0)


@pytest.mark.parametrize(("axes_mm", "lay_mm"), [(1.0, 0.0), (1.0, -3.0), (-1.0, 3.0)])
def test_no_twist_without_a_lay(axes_mm: float, lay_mm: float) -> None:
    with pytest.raises(ValueError, match="give a lay above zero"):
        helix_factor(axes_mm, lay_mm)


def test_length_to_cut_is_the_listed_one_with_both_ends() -> None:
    line = cut_of(cut(HEAD + "W1,ECU,1,X1,1,RD,0.5,850,,,\n", {"cut_allowance_mm": 12.0}), "W1")
    assert (line.length_mm, line.allowance_mm, line.cut_mm) == (850.0, 24.0, 874.0)


def test_length_to_cut_is_rounded_up_and_never_for_a_binary_fraction() -> None:
    text = "Wire,From,From cavity,To,To cavity,Colour,Size (mm²),Length (in)\nW1,ECU,1,X1,1,RD,0.5,1\nW2,ECU,2,X1,2,RD,0.5,50\n"
    lines = cut(text, {"cut_allowance_mm": 0.0})
    assert cut_of(lines, "W1").cut_mm == 26.0  # 25.4 mm
    assert cut_of(lines, "W2").cut_mm == 1270.0  # 50 in are 1270 mm, 1269.9999999999998 of them in binary


def test_twisting_takes_up_its_share_of_what_is_twisted() -> None:
    text = HEAD + "W1,ECU,1,CRK,1,WH,0.5,1300,T1,25,30\nW2,ECU,2,CRK,2,BN,0.5,1300,T1,25,30\n"
    line = cut_of(cut(text), "W1")
    # 0.5 mm² thin wall: 1.7 mm over the insulation (read, thinwall_cable_read.csv); 1300 - 2 × 30 mm are twisted.
    takes_mm = 1240.0 * (math.sqrt(1 + (math.pi * 1.7 / 25.0) ** 2) - 1)
    assert line.allowance_mm == pytest.approx(20.0 + takes_mm)
    assert line.cut_mm == math.ceil(1320.0 + takes_mm)
    assert line.work == ("twist T1 with W2, lay 25 mm, leave 30 mm untwisted",)


def test_a_lay_that_is_not_listed_is_the_usual_one_and_says_so() -> None:
    text = HEAD + "W1,ECU,1,CRK,1,WH,0.5,1300,T1,,\nW2,ECU,2,CRK,2,BN,0.5,1300,T1,,\n"
    line = cut_of(cut(text, {"lay_mm": 33.0, "untwisted_end_mm": 15.0}), "W2")
    assert line.work == ("twist T1 with W1, lay 33 mm (usual, not listed), leave at most 15 mm untwisted",)
    assert line.allowance_mm == pytest.approx(20.0 + 1270.0 * (math.hypot(1, math.pi * 1.7 / 33.0) - 1))


def test_a_wire_shorter_than_its_untwisted_ends_takes_up_nothing() -> None:
    text = HEAD + "W1,ECU,1,CRK,1,WH,0.5,50,T1,25,30\nW2,ECU,2,CRK,2,BN,0.5,50,T1,25,30\n"
    assert cut_of(cut(text), "W1").allowance_mm == 20.0


def test_a_twist_of_one_says_that_the_other_is_missing() -> None:
    line = cut_of(cut(HEAD + "W1,ECU,1,CRK,1,WH,0.5,500,T1,25,30\n"), "W1")
    assert line.work == ("twist group T1: no other wire is in it",)
    assert line.allowance_mm == 20.0


def test_cutting_goes_by_cable_the_longest_first() -> None:
    text = HEAD + (
        "W1,ECU,1,X1,1,RD,1,400,,,\nW2,ECU,2,X1,2,BK,0.5,300,,,\nW3,ECU,3,X1,3,RD,1,900,,,\nW4,ECU,4,X1,4,RD,0.5,500,,,\n"
        "W10,ECU,5,X1,5,BK,0.5,300,,,\nW5,ECU,6,X1,6,BK,0.5,800,,,\nW6,ECU,7,X1,7,BK,0.5,,,,\nW7,ECU,8,X1,8,BK,18 AWG,700,,,\n"
        "W8,ECU,9,X1,9,BK,,700,,,\n"
    )
    lines = cut(text)
    assert [line.wire for line in lines] == ["W5", "W2", "W10", "W6", "W4", "W3", "W1", "W7", "W8"]
    assert [line.order for line in lines] == list(range(1, 10))


def test_both_cores_of_a_lead_stand_together_and_are_cut_once() -> None:
    text = "ID,From,To,Color,Gauge,Length\n1,P1,P2,R+B,18 AWG,500 mm\n2,P1,P2,R,18 AWG,900 mm\n3,P1,P2,R+B,18 AWG,700 mm\n"
    lines = cut(text)
    assert [line.wire for line in lines] == ["2", "3 BK", "3 RD", "1 BK", "1 RD"]
    assert {(line.size, line.colour) for line in lines[1:]} == {("2 × 18 AWG", "BK + RD")}
    assert lines[1].work == ("core BK of one lead with 3 RD, cut once",)
    assert (lines[1].swatch, lines[2].swatch) == (("#1c1c1c",), ("#cc1f1f",))


def test_shields_and_their_drains_are_told() -> None:
    text = "Wire,From,From cavity,To,To cavity,Colour,Size (mm²),Length (mm),Signal,Shield,Shield material\n" + (
        "W1,ECU,1,CRK,1,WH,0.5,900,Crank +,SH1,copper braid\nW2,ECU,2,CRK,2,BN,0.5,900,Crank -,SH1,copper braid\n"
        "W3,ECU,3,CRK,3,bare,0.5,900,Shield drain,SH1,\n"
    )
    lines = cut(text)
    assert cut_of(lines, "W1").work == ("in shield SH1 (copper braid) with W2, drain W3",)
    assert cut_of(lines, "W3").work == ("drain of shield SH1 (copper braid)",)


def test_what_is_lacking_stands_on_the_line() -> None:
    text = "Wire,From,From cavity,To,To cavity,Colour,Size (mm²),Length (mm),From terminal,To terminal\n" + (
        "W1,ECU,1,X1,1,,,,T-1,\nW2,ECU,2,,,RD,0.5,300,T-1,\nW3,ECU,3,open,,RD,0.5,300,T-1,\nW4,ECU,4,SP1,,RD,0.5,300,T-1,\n"
        "W5,SP1,,X1,5,RD,0.5,300,,T-1\nW6,ECU,6,X1,6,RD,0.5,300,T-1,none\n"
    )
    lines = cut(text)
    assert cut_of(lines, "W1").lacking == ("length", "size", "colour", "terminal at X1 1")
    assert (cut_of(lines, "W1").cut_mm, cut_of(lines, "W1").length_mm) == (None, None)
    assert cut_of(lines, "W2").lacking == ("where one end goes",)
    assert cut_of(lines, "W3").lacking == () and cut_of(lines, "W3").b.where == "open"
    assert cut_of(lines, "W4").lacking == () and cut_of(lines, "W5").lacking == ()  # a splice has a crimp of its own
    assert cut_of(lines, "W6").lacking == () and cut_of(lines, "W6").b.terminal == "bare"


def test_a_list_without_terminals_lacks_none() -> None:
    assert cut_of(cut(HEAD + "W1,ECU,1,X1,1,RD,0.5,850,,,\n"), "W1").lacking == ()


def test_strip_length_comes_from_the_parts_table_or_from_the_cell() -> None:
    wires = "Wire,From,From cavity,To,To cavity,Colour,Size (mm²),Length (mm),From terminal,To terminal\n" + (
        'W1,ECU,1,X1,1,RD,0.5,300,T-1,"0.5"" bare"\nW2,ECU,2,X1,2,RD,0.5,300,T-2,stripped 6 mm\n'
    )
    parts = "Part,Kind,Smallest wire (mm²),Largest wire (mm²),Strip length (mm)\nT-1,terminal,0.35,0.75,4.5\nT-2,terminal,1,2.5,\n"
    lines = cut(wires, parts=parts)
    assert cut_of(lines, "W1").a.strip_mm == pytest.approx(4.5)
    assert cut_of(lines, "W1").b.strip_mm == pytest.approx(12.7)
    assert cut_of(lines, "W2").a.strip_mm is None
    assert (cut_of(lines, "W2").b.terminal, cut_of(lines, "W2").b.strip_mm) == ("bare", pytest.approx(6.0))


def test_the_pin_list_tells_terminal_and_seal_where_the_wire_list_does_not() -> None:
    pins = "Connector,Cavity,Signal,Terminal,Seal\nECU,1,Lamp,T-1,SL-1\n"
    line = cut_of(cut(HEAD + "W1,ECU,1,X1,1,RD,0.5,850,,,\n", pins=pins), "W1")
    assert (line.a.terminal, line.a.seal) == ("T-1", "SL-1")
