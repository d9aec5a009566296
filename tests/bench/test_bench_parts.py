"""The parts list: pieces, packs, places; cable by the reel."""

from __future__ import annotations

import pytest
from bench_lists import designed

from harnessdrc.bench.cutting import cut_lines
from harnessdrc.bench.partslist import cable_lines, part_lines
from harnessdrc.bench.splices import splice_sheets
from harnessdrc.papers import CableLine, PartLine

WIRES = "Wire,From,From cavity,To,To cavity,Colour,Size (mm²),Length (mm),Insulation,From terminal,To terminal,From seal,To seal\n"


def parts(**tables: str) -> dict[str, PartLine]:
    design, ends = designed(**tables)
    lines = part_lines(design, ends, splice_sheets(design, ends))
    assert len({line.part for line in lines}) == len(lines)
    return {line.part: line for line in lines}


def cables(given: dict[str, float] | None = None, **tables: str) -> tuple[CableLine, ...]:
    design, ends = designed(given, **tables)
    return cable_lines(design, ends, cut_lines(design, ends))


def test_two_wires_in_one_crimp_take_one_terminal_and_one_seal() -> None:
    text = WIRES + "W1,ECU,1,X1,1,RD,0.5,300,,T-1,T-2,SL-1,\nW2,ECU,1,X1,2,RD,0.5,300,,T-1,T-2,SL-1,\n"
    found = parts(wires=text)
    assert (found["T-1"].pieces, found["T-1"].where, found["T-1"].kind) == (1, ("ECU",), "terminal")
    assert (found["T-2"].pieces, found["T-2"].where) == (2, ("X1 2",))
    assert (found["SL-1"].pieces, found["SL-1"].kind, found["SL-1"].listed) == (1, "seal", False)


def test_each_wire_on_a_stud_takes_a_ring() -> None:
    text = WIRES + "W1,ECU,1,Head stud,,BK,1,300,,T-1,R-6,,\nW2,ECU,2,Head stud,,BK,1,300,,T-1,R-6,,\nW3,ECU,3,Head stud,,BK,1,300,,T-1,r-6,,\n"
    found = parts(wires=text)
    assert (found["R-6"].pieces, found["R-6"].where, found["R-6"].kind) == (3, ("Head stud 3",), "ring terminal")


def test_rings_on_a_stud_of_a_machine_are_one_for_each_wire() -> None:
    text = WIRES + "W1,BATTERY,+,Starter,B,RD,25,300,,LG-25,LG-25,,\nW2,BATTERY,+,ALTERNATOR,B,RD,16,300,,LG-25,T-9,,\n"
    found = parts(wires=text)
    assert (found["LG-25"].pieces, found["LG-25"].where) == (3, ("BATTERY 2", "Starter"))
    table = "Part,Kind,Family,Smallest wire (mm²),Largest wire (mm²),Strip length (mm)\nR-6,ring terminal,,0.5,6,6\n"
    shared = WIRES + "W1,ECU,1,X1,1,RD,1,300,,R-6,,,\nW2,ECU,1,X1,2,RD,1,300,,R-6,,,\n"
    assert parts(wires=shared, parts=table)["R-6"].pieces == 2


def test_both_halves_of_a_connector_take_their_own_terminals() -> None:
    text = WIRES + "W1,ECU,1,X1P,1,RD,0.5,300,,,T-1,,\nW2,X1S,1,Lamp,1,RD,0.5,300,,T-1,,,\n"
    assert parts(wires=text)["T-1"].where == ("X1P", "X1S")


def test_plugs_are_those_of_cavities_without_a_wire() -> None:
    pins = "Connector,Cavity,Signal,Terminal,Seal\nECU,1,Lamp,T-1,SL-1\nECU,2,N/C,,CP-1\nECU,3,N/C,,CP-1\nECU,4,N/C,T-1,none\n"
    found = parts(wires=WIRES + "W1,ECU,1,X1,1,RD,0.5,300,,,,,\n", pins=pins)
    assert (found["CP-1"].pieces, found["CP-1"].kind) == (2, "cavity plug")
    assert found["T-1"].pieces == found["SL-1"].pieces == 1
    assert "none" not in found


def test_the_parts_table_gives_name_kind_family_and_packs() -> None:
    table = "Part,Kind,Family,Strip length (mm),Pack\nT-1,terminal,P2.5 sealed,4,2\nHD-4,connector,P2.5 sealed,,\n"
    text = WIRES + "".join(f"W{n},ECU,{n},X1,{n},RD,0.5,300,,t-1,,,\n" for n in range(1, 6))
    components = "Component,Kind,Part\nECU,controller,HD-4\nX1,connector,HD-4\n"
    found = parts(wires=text, parts=table, components=components)
    assert found["T-1"] == PartLine("T-1", "terminal", "P2.5 sealed", 5, 3, ("ECU 5",), True)
    assert found["HD-4"] == PartLine("HD-4", "connector", "P2.5 sealed", 2, None, ("ECU", "X1"), True)


def test_splices_take_the_part_that_is_named_or_one_that_is_not() -> None:
    text = WIRES + "W1,ECU,1,SP1,,RD,0.5,300,,,,,\nW2,SP1,,X1,1,RD,0.5,300,,,,,\nW3,ECU,2,SP2,,RD,0.5,300,,,,,\nW4,SP2,,X1,2,RD,0.5,300,,,,,\n"
    found = parts(wires=text, splices="Splice,Part\nSP1,SC-1\nSP2,\n")
    assert (found["SC-1"].pieces, found["SC-1"].kind, found["SC-1"].where) == (1, "splice", ("SP1",))
    assert (found["not named"].pieces, found["not named"].where) == (1, ("SP2",))


def test_a_splice_crimp_named_on_every_wire_is_one_piece_and_rings_are_one_each() -> None:
    text = WIRES + "W1,ECU,1,SP1,,RD,0.5,300,,,SC-1,,\nW2,SP1,,X1,1,RD,0.5,300,,SC-1,,,\nW3,ECU,2,SP2,,RD,6,300,,,ring M6,,\nW4,SP2,,X1,2,RD,6,300,,ring M6,,,\n"
    found = parts(wires=text, parts="Part,Kind,Family,Strip length (mm),Pack\nSC-1,splice,S,6,100\n")
    assert (found["SC-1"].pieces, found["ring M6"].pieces, found["ring M6"].kind) == (1, 2, "ring terminal")
    assert "not named" not in found  # each wire on these has its own terminal: no crimp besides


def test_stripped_and_soldered_ends_take_no_part() -> None:
    text = WIRES + 'W1,ECU,1,X1,1,RD,0.5,300,,"0.5"" bare",soldered,,\n'
    assert parts(wires=text) == {}


def test_fuses_straps_and_sleeves_come_from_their_own_lists() -> None:
    found = parts(
        wires=WIRES + "W1,F1,out,X1,1,RD,0.5,300,,,,,\n",
        fuses="Fuse,Rating (A),Family\nF1,10,mini blade\nF2,10,mini blade\nF3,15,\n",
        straps="Strap,From body,To body,Size (mm²),Length (mm)\nG1,engine,battery negative,25,400\n",
        branches="Branch,From point,To point,Length (mm),Sleeve (mm)\nMAIN,P1,P2,900,12\n",
    )
    assert (found["10 A"].pieces, found["10 A"].where, found["15 A"].pieces) == (2, ("F1", "F2"), 1)
    assert (found["G1"].kind, found["G1"].where) == ("strap", ("engine – battery negative",))
    assert (found["12 mm inside"].kind, found["12 mm inside"].where) == ("sleeve", ("MAIN 900 mm",))


def test_cable_is_counted_by_size_colour_and_insulation() -> None:
    text = WIRES + "W1,ECU,1,X1,1,RD,0.5,980,FLR,,,,\nW2,ECU,2,X1,2,RD,0.5,480,FLR,,,,\nW3,ECU,3,X1,3,BK,0.5,980,FLR,,,,\nW4,ECU,4,X1,4,RD,0.5,,FLR,,,,\nW5,ECU,5,X1,5,RD,0.5,980,TXL,,,,\n"
    found = {(line.colour, line.insulation): line for line in cables(wires=text)}
    assert len(found) == 3
    red = found["RD", "FLR"]
    assert (red.size, red.wires, red.unknown, red.reels) == ("0.5 mm²", 3, 1, 1)
    assert red.length_m == pytest.approx(1.5)  # 980 and 480 mm with 10 mm at each end
    assert red.copper_g == pytest.approx(1.5 * 0.5 * 8.89 * 1.02)  # density read, lay factor of ASTM B8 from memory


@pytest.mark.parametrize(("reel_m", "pack", "reels"), [(10.0, "", 3), (100.0, "", 1), (100.0, "4", 7)])
def test_reels_are_those_of_the_parts_table_or_the_given_ones(reel_m: float, pack: str, reels: int) -> None:
    text = WIRES + "".join(f"W{n},ECU,{n},X1,{n},RD,0.5,2480,FLR-A,,,,\n" for n in range(1, 11))  # 25 m
    (line,) = cables({"reel_m": reel_m}, wires=text, parts=f"Part,Kind,Family,Smallest insulation (mm),Largest insulation (mm),Pack\nFLR-A,cable,,1.6,1.6,{pack}\n")
    assert line.reels == reels


def test_a_cable_of_the_parts_table_is_found_by_family_and_size_and_gives_reel_and_diameter() -> None:
    text = WIRES + "W1,ECU,1,X1,1,RD,20 AWG,9980,GXL,,,,\nW2,ECU,2,X1,2,RD,18 AWG,9980,GXL,,,,\n"
    head = "Part,Kind,Family,Smallest wire,Largest wire,Smallest insulation (mm),Largest insulation (mm),Pack\n"
    rows = "GXL 20,cable,GXL,20 AWG,20 AWG,{0},{0},5\nGXL 18,cable,GXL,18 AWG,18 AWG,2.6,2.6,20\n"
    thick, other = sorted(cables(wires=text, parts=head + rows.format("2.4")), key=lambda line: line.size)[::-1]
    thin = next(line for line in cables(wires=text, parts=head + rows.format("2.0")) if line.size == "20 AWG")
    assert (thick.size, thick.reels, other.reels) == ("20 AWG", 2, 1)
    # 10 m of a ring between 2.4 and 2.0 mm at 1.35 g/cm³
    assert (thick.cable_g or 0) - (thin.cable_g or 0) == pytest.approx(3.14159265 / 4 * (2.4**2 - 2.0**2) * 1.35 * 10)
