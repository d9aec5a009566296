"""Sizes and fuses of whole lists, each the smallest that shows one thing: what a fuse holds, and what is not known."""

from __future__ import annotations

import pytest
from sized_lists import HEAD, found, fuse_of, loom, mm2_of, result_of, size_of, undecided

FUSED = (
    "W1,BATTERY,+,F1,in,{first},{ahead_m},Battery feed,TXL,BAY,\nW2,F1,out,LOAD,1,{size},{length_m},Load feed,TXL,{branch},\n"
    "W3,LOAD,2,STUD,,4,1,Ground,TXL,BAY,\n"
)
USUAL = {"first": "10", "ahead_m": "0.2", "size": "1.5", "length_m": "2", "branch": "BAY"}


def rows(**change: str) -> str:
    """A load behind a fuse."""
    return FUSED.format(**{**USUAL, **change})


@pytest.mark.parametrize(("load_a", "length_m"), [("12", "4"), ("8", "6"), ("15", "3")])
def test_the_sizes_needed_by_drop_satisfy_the_rule_of_drops(load_a: str, length_m: str) -> None:
    """A table that says 3 mm² will do must not stand beside a finding that 4 mm² drops too much."""

    def fitted(first: str, second: str, third: str, ground: str) -> str:
        return (
            f"W1,BATTERY,+,F1,in,{first},0.2,Feed,TXL,BAY,\nW2,F1,out,K1,30,{second},1,Feed,TXL,BAY,\n"
            f"W3,K1,87,FAN,1,{third},{length_m},Fan feed,TXL,BAY,\nW4,FAN,2,STUD,,{ground},1,Ground,TXL,BAY,\n"
        )

    parts = (f"FAN,fan,{load_a}\nK1,relay,\n", "F1,20,regular blade\n")
    before = loom(fitted("10", "4", "4", "4"), *parts)
    needed = [str(mm2_of(size_of(before, wire).needed_mm2)) for wire in ("W1", "W2", "W3", "W4")]
    assert not found(loom(fitted(*needed), *parts), "feed.voltage_drop")


def test_the_wire_ahead_of_a_fuse_carries_the_rating_of_that_fuse() -> None:
    """A fuse lets its rating flow for ever, through the wire that feeds it as well."""
    result = loom(rows(), "LOAD,lamp,2\n", "F1,30,regular blade\n")
    ahead, behind = size_of(result, "W1"), size_of(result, "W2")
    assert behind.governs in ("fuse", "short circuit")
    assert mm2_of(ahead.needed_mm2) >= mm2_of(behind.needed_mm2)


@pytest.mark.parametrize("signal", ["Fan output", "Lamp output"])
def test_the_output_of_a_controller_to_a_load_with_a_current_carries_something(signal: str) -> None:
    """12 A through 0.35 mm² of a low- or high-side output: found, or at least not told as 0 A for certain."""
    result = loom(
        "W1,BATTERY,+,F1,in,10,0.2,Feed,TXL,BAY,\nW2,F1,out,ECU,1,2.5,1,ECU supply,TXL,BAY,\n"
        f"W3,ECU,2,STUD,,2.5,1,Power ground,TXL,BAY,\nW4,ECU,3,FAN,1,0.35,2,{signal},TXL,BAY,\n"
        "W5,FAN,2,STUD,,1,1,Ground,TXL,BAY,\n",
        "ECU,controller,1\nFAN,fan,12\n",
        "F1,20,regular blade\n",
    )
    line = size_of(result, "W4")
    assert line.current_a != 0.0 or line.lacking


def test_a_fuse_ahead_of_a_power_distribution_is_not_certain_to_carry_nothing() -> None:
    result = loom(
        "W1,BATTERY,+,F1,in,10,0.2,Feed,TXL,BAY,\nW2,F1,out,PDM,1,4,1,PDM supply,TXL,BAY,\n"
        "W3,PDM,2,STUD,,1.5,1,Power ground,TXL,BAY,\nW4,PDM,3,FAN,1,2.5,2,Fan feed,TXL,BAY,\n"
        "W5,FAN,2,STUD,,2.5,1,Ground,TXL,BAY,\n",
        "PDM,power distribution,\nFAN,fan,28\n",
        "F1,30,regular blade\n",
    )
    assert found(result, "fuse.load") or undecided(result, "fuse.load")


def test_a_branch_that_is_known_bounds_a_wire_whose_other_branch_is_not() -> None:
    """17 A in 1 mm² among five wires of the bay are too much, wherever else the wire runs."""
    crowd = "".join(f"S{n},BOX,{n},PANEL,{n},0.5,1,Speed signal {n},TXL,BAY,\n" for n in range(4))
    apart = rows(size="1", length_m="1", branch="BAY") + crowd
    both = rows(size="1", length_m="1", branch='"BAY, ELSEWHERE"') + crowd
    loads = ("LOAD,fan,17\n", "F1,20,regular blade\n")
    assert [f.subject for f in found(loom(apart, *loads), "wire.current")] == [("wire", "W2")]
    assert [f.subject for f in found(loom(both, *loads), "wire.current")] == [("wire", "W2")]


def test_a_short_at_the_open_end_of_a_wire_goes_through_the_whole_of_it() -> None:
    """30 m of 0.35 mm² have 1.6 ohm and more: no more than 8 A, not what flows at the fuse."""
    result = loom(
        "W1,BATTERY,+,F1,in,10,0.2,Feed,TXL,BAY,\nW2,F1,out,open,,0.35,30,Spare feed,TXL,BAY,\n"
        "W3,BATTERY,-,STUD,,10,1,Ground,TXL,BAY,\n",
        "",
        "F1,30,regular blade\n",
    )
    line = fuse_of(result, "F1")
    assert line.fault_wire == "W2"
    assert line.fault_a is not None and line.fault_a < 12.0 / (30 * 54.4e-3)


def test_two_fuses_into_one_net_let_the_sum_of_their_ratings_flow() -> None:
    """Common practice, no source: each holds its own rating, so 40 A flow in the common wire for ever."""
    result = loom(
        "W1,BATTERY,+,F1,in,10,0.2,Feed,TXL,BAY,\nW2,BATTERY,+,F2,in,10,0.2,Feed,TXL,BAY,\n"
        "W3,F1,out,SPL 1,,4,1,Feed,TXL,BAY,\nW4,F2,out,SPL 1,,4,1,Feed,TXL,BAY,\n"
        "W5,SPL 1,,LOAD,1,4,1,Load feed,TXL,BAY,\nW6,LOAD,2,STUD,,4,1,Ground,TXL,BAY,\n",
        "LOAD,lamp,5\n",
        "F1,20,regular blade\nF2,20,regular blade\n",
    )
    needed = mm2_of(size_of(result, "W5").needed_mm2)
    single = loom(rows(), "LOAD,lamp,5\n", "F1,40,maxi blade\n")
    assert needed >= mm2_of(size_of(single, "W2").needed_mm2)


def test_the_fuse_that_is_proposed_for_a_wire_carries_its_load() -> None:
    """9 A are nine tenths of the 10 A that are proposed: the next run would ask for a larger one."""
    result = loom(rows(size="0.75", length_m="0.5"), "LOAD,fan,9\n", "F1,20,regular blade\n")
    [finding] = found(result, "fuse.protects_wire")
    assert "fuse of 10 A" not in finding.remedy
    assert found(loom(rows(size="0.75", length_m="0.5"), "LOAD,fan,9\n", "F1,10,regular blade\n"), "fuse.load")


def test_a_size_behind_a_fuse_without_a_rating_says_what_it_lacks() -> None:
    result = loom(rows(size="0.35"), "LOAD,lamp,1\n", "F1,,regular blade\n")
    assert "rating of F1" in size_of(result, "W2").lacking


def test_wires_that_carry_nothing_never_allow_more_in_a_full_bundle() -> None:
    """Twenty wires fully loaded, and the same among eighty more: 13 % more are allowed to each."""

    def allowed(quiet: int) -> float:
        loaded = "".join(f"W{n},BOX,{n},PANEL,{n},14 AWG,1,Something {n},TXL,BAY,24\n" for n in range(20))
        others = "".join(f"S{n},BOX,S{n},PANEL,S{n},14 AWG,1,Speed signal {n},TXL,BAY,\n" for n in range(quiet))
        return size_of(loom(loaded + others), "W0").allowed_a or 0.0

    assert allowed(80) <= allowed(0) * (1 + 1e-6)


def test_a_battery_of_another_voltage_does_not_have_its_faults_told_at_12_v() -> None:
    wires = rows()
    given = loom(wires, "LOAD,lamp,4\n", "F1,10,regular blade\n").sizing.fuses[0].fault_a
    told = result_of(
        wires=HEAD + wires,
        components="Component,Kind,Current (A),Voltage (V)\nLOAD,lamp,4,24\nBATTERY,battery,,24\n",
        fuses="Fuse,Rating (A),Family\nF1,10,regular blade\n",
        branches="Branch,From point,To point,Zone\nBAY,P1,P2,bay\n",
        earth_points="Earth point,Body\nSTUD,chassis\n",
        straps="Strap,From body,To body,Size (mm2),Length (m)\nG1,chassis,battery negative,25,0.5\n",
    ).sizing.fuses[0]
    assert told.fault_a is None or told.fault_a == pytest.approx(2 * (given or 0.0), rel=1e-6)


def test_a_battery_of_another_voltage_is_named_where_nothing_is_solved() -> None:
    told = result_of(
        wires=HEAD + rows(),
        components="Component,Kind,Current (A),Voltage (V)\nLOAD,lamp,4,24\nBATTERY,battery,,24\n",
        earth_points="Earth point,Body\nSTUD,chassis\n",
    )
    said = [what for each in undecided(told, "feed.voltage_drop") for what in each.missing]
    assert said and all("24" in what or "voltage" in what for what in said)


def test_a_branch_is_named_as_it_is_written() -> None:
    result = loom(rows(branch='"BAY, ELSEWHERE"'), "LOAD,lamp,4\n", "F1,10,regular blade\n")
    assert "zone of branch ELSEWHERE" in size_of(result, "W2").lacking


def test_a_component_with_a_current_and_no_kind_draws_it_or_is_asked_for() -> None:
    """9 A in the list, 0 A in every wire, fuse and contact, and nobody says so."""
    result = loom(rows(), "LOAD,,9\n", "F1,10,regular blade\n")
    line = fuse_of(result, "F1")
    told = found(result, "fuse.load") or undecided(result, "fuse.load")
    assert told or line.lacking or line.load_a == pytest.approx(9.0, rel=1e-3)


def test_a_longer_way_without_a_fuse_leaves_a_wire_unprotected() -> None:
    """The lamp hangs on a fuse, and past two switches on the battery itself."""
    result = loom(
        "W1,BATTERY,+,F1,in,10,0.2,Feed,TXL,BAY,\nW2,F1,out,LAMP,1,1,1,Lamp feed,TXL,BAY,\n"
        "W3,BATTERY,+,SW1,1,10,0.2,Feed,TXL,BAY,\nW4,SW1,2,SW2,1,1,0.2,Feed,TXL,BAY,\n"
        "W5,SW2,2,LAMP,1,0.35,1,Lamp feed,TXL,BAY,\nW6,LAMP,2,STUD,,2.5,1,Ground,TXL,BAY,\n",
        "LAMP,lamp,5\nSW1,switch,\nSW2,switch,\n",
        "F1,7.5,regular blade\n",
    )
    assert fuse_of(result, "F1").fault_wire != "W5"


def test_a_cable_behind_a_fuse_is_not_passed_over() -> None:
    """Three cores of 0.35 mm² behind 30 A: not clear."""
    result = result_of(
        wires="Wire,From,From cavity,To,To cavity,Size (mm2),Length (m),Signal,Insulation,Branch,Colour\n"
        "W1,BATTERY,+,F1,in,10,0.2,Feed,TXL,BAY,RD\nK1,F1,out,LAMP,1,0.35,5,Lamp feed,TXL,BAY,PWM\n"
        "W2,LAMP,2,STUD,,1,1,Ground,TXL,BAY,BK\n",
        components="Component,Kind,Current (A)\nLAMP,lamp,2\n",
        fuses="Fuse,Rating (A),Family\nF1,30,regular blade\n",
        branches="Branch,From point,To point,Zone\nBAY,P1,P2,bay\n",
        earth_points="Earth point,Body\nSTUD,chassis\n",
    )
    told = {f.subject for f in found(result, "fuse.protects_wire")}
    assert ("fuse", "F1") in told | {u.subject for u in undecided(result, "fuse.protects_wire")}


def test_a_fuse_is_not_told_as_tight_by_a_wire_that_a_further_fuse_holds() -> None:
    """30 A, 1.5 mm² that leads to 10 A alone: the rule is clear, and the summary must not say otherwise."""
    from harnessdrc.render.sizing import tight_by

    result = loom(
        "W1,BATTERY,+,F1,in,10,0.2,Feed,TXL,BAY,\nW2,F1,out,F2,in,1.5,0.5,Feed,TXL,BAY,\n"
        "W3,F2,out,LAMP,1,1,1,Lamp feed,TXL,BAY,\nW4,LAMP,2,STUD,,1,1,Ground,TXL,BAY,\n",
        "LAMP,lamp,6\n",
        "F1,30,regular blade\nF2,10,regular blade\n",
    )
    assert not found(result, "fuse.protects_wire")
    assert "wire" not in tight_by(fuse_of(result, "F1"))


def test_a_fuse_that_is_too_large_whatever_is_lacking_is_told_so_in_the_summary() -> None:
    """On hold by the rule; the summary of fuses must not call it not known in full."""
    from harnessdrc.render.sizing import surely_tight

    result = loom(rows(size="0.5", length_m="9", branch=""), "LOAD,lamp,1\n", "F1,30,regular blade\n")
    assert found(result, "fuse.protects_wire")
    assert surely_tight(fuse_of(result, "F1"))


@pytest.mark.parametrize(("rating", "told"), [("80", True), ("175", False)])
def test_the_output_of_an_alternator_carries_its_rating(rating: str, told: bool) -> None:
    """Common practice, no source: a flat battery takes all that the alternator gives, for as long as it is flat."""
    result = loom(
        "W1,BATTERY,+,F1,in,35,0.5,Charge feed,TXL,BAY,\nW2,F1,out,ALTERNATOR,B+,35,1,Charge feed,TXL,BAY,\n"
        "W3,BATTERY,-,STUD,,35,0.5,Ground,TXL,BAY,\n",
        "ALTERNATOR,alternator,120\n",
        f"F1,{rating},bolt-down 30 mm\n",
        straps="Strap,From body,To body,Size (mm2),Length (m)\nG1,chassis,engine,35,0.4\n",
    )
    assert bool(found(result, "fuse.load")) == told
    assert fuse_of(result, "F1").load_a == pytest.approx(120.0, rel=1e-3)
    assert size_of(result, "W2").current_a == pytest.approx(120.0, rel=1e-3)


def test_a_wire_that_no_fuse_holds_keeps_its_size() -> None:
    """A device straight on the battery beside a fuse: the common wire is held by nothing, the fuse's own by 10 A."""
    result = loom(
        "W1,BATTERY,+,SPL 1,,10,0.2,Feed,TXL,BAY,\nW2,SPL 1,,F1,in,10,0.2,Feed,TXL,BAY,\n"
        "W3,F1,out,LOAD,1,1.5,1,Load feed,TXL,BAY,\nW4,SPL 1,,LAMP,1,6,1,Lamp feed,TXL,BAY,\n"
        "W5,LOAD,2,STUD,,2.5,1,Ground,TXL,BAY,\nW6,LAMP,2,STUD,,2.5,1,Ground,TXL,BAY,\n",
        "LOAD,fan,4\nLAMP,lamp,2\n",
        "F1,10,regular blade\n",
    )
    for wire, size in (("W1", 10.0), ("W4", 6.0)):
        line = size_of(result, wire)
        assert (line.governs, mm2_of(line.needed_mm2), line.needed_awg) == ("no fuse", size, "")
    assert mm2_of(size_of(result, "W2").needed_mm2) < 10.0


def test_both_of_two_joined_fuses_are_told_the_wires_behind_them() -> None:
    """40 A flow in 0.5 mm² behind two fuses of 20 A: each is told, with the sum."""
    result = loom(
        "W1,BATTERY,+,F1,in,10,0.2,Feed,TXL,BAY,\nW2,BATTERY,+,F2,in,10,0.2,Feed,TXL,BAY,\n"
        "W3,F1,out,SPL 1,,6,1,Feed,TXL,BAY,\nW4,F2,out,SPL 1,,6,1,Feed,TXL,BAY,\n"
        "W5,SPL 1,,LOAD,1,0.5,1,Load feed,TXL,BAY,\nW6,LOAD,2,STUD,,4,1,Ground,TXL,BAY,\n",
        "LOAD,lamp,5\n",
        "F1,20,regular blade\nF2,20,regular blade\n",
    )
    one, other = fuse_of(result, "F1"), fuse_of(result, "F2")
    assert one.thinnest == other.thinnest == "W5 (0.5 mm²)"
    assert one.thinnest_held_a == other.thinnest_held_a == 40.0
    assert {f.subject for f in found(result, "fuse.protects_wire")} == {("fuse", "F1"), ("fuse", "F2")}


def test_lengths_that_were_assumed_are_named_though_the_fuse_clears() -> None:
    result = loom(rows(length_m=""), "LOAD,lamp,2\n", "F1,5,regular blade\n")
    assert "length of wire W2" in fuse_of(result, "F1").lacking


def test_an_insulation_without_a_short_time_figure_is_asked_for_that() -> None:
    """FLR9Y is rated 125 °C; what it stands in a short circuit is not in the table."""
    result = loom(rows(size="0.35").replace("TXL", "FLR9Y"), "LOAD,lamp,2\n", "F1,7.5,regular blade\n")
    assert "short-time temperature of FLR9Y" in size_of(result, "W2").fault_lacking
