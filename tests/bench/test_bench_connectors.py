"""Connector and splice sheets, labels."""

from __future__ import annotations

import pytest
from bench_lists import cavity_of, designed, sheet_of

from harnessdrc.bench.connectors import connector_sheets, is_housing
from harnessdrc.bench.labels import label_lines
from harnessdrc.bench.splices import splice_sheets
from harnessdrc.papers import ConnectorSheet, LabelLine, SpliceSheet

WIRES = "Wire,From,From cavity,To,To cavity,Colour,Size (mm²),Length (mm),Signal,From terminal,To terminal\n"


def sheets(**tables: str) -> tuple[ConnectorSheet, ...]:
    return connector_sheets(*designed(**tables))


def splices(**tables: str) -> tuple[SpliceSheet, ...]:
    return splice_sheets(*designed(**tables))


def test_a_cavity_tells_its_wire_and_where_it_goes() -> None:
    found = sheets(wires=WIRES + "W1,ECU,12,X1,3,WHGN,0.5,300,Lamp,T-1,T-2\n")
    line = cavity_of(sheet_of(found, "ECU"), "12")
    assert (line.wires, line.size, line.colour, line.signal) == (("W1",), "0.5 mm²", "WHGN", "Lamp")
    assert (line.terminal, line.to, line.state) == ("T-1", "X1 3", "wired")
    assert line.swatches == (("#f7f7f4", "#1f8f3a"),)
    assert line.mark is not None and line.mark.place.cell == "C2"
    assert cavity_of(sheet_of(found, "X1"), "3").terminal == "T-2"


def test_two_wires_in_one_cavity_stand_on_one_line() -> None:
    text = WIRES + "W10,ECU,1,X1,1,RD,0.5,300,Feed,T-1,\nW2,ECU,1,X1,2,BK,1,300,Feed,T-1,\n"
    line = cavity_of(sheet_of(sheets(wires=text), "ECU"), "1")
    assert line.wires == ("W2", "W10")
    assert (line.size, line.colour, line.terminal, line.to) == ("1 mm² + 0.5 mm²", "BK + RD", "T-1", "X1 2 + X1 1")


def test_cavities_stand_in_natural_order_whatever_the_rows() -> None:
    rows = [f"W{n},ECU,{cavity},X1,{n},RD,0.5,300,,,\n" for n, cavity in enumerate(("10", "A1", "2", "a1", "1"), 1)]
    one = sheet_of(sheets(wires=WIRES + "".join(rows)), "ECU")
    other = sheet_of(sheets(wires=WIRES + "".join(rows[::-1])), "ECU")
    assert [line.cavity for line in one.cavities] == ["A1", "a1", "1", "2", "10"]
    assert [line.cavity for line in other.cavities] == ["A1", "a1", "1", "2", "10"]


def test_a_pin_list_tells_plugs_and_empty_cavities() -> None:
    pins = "Connector,Cavity,Component,Signal,Terminal,Seal\nECU-A,1,ECU,Lamp,T-1,SL-1\nECU-A,2,ECU,N/C,,CP-1\nECU-A,3,ECU,N/C,,\n"
    text = WIRES + "W1,ECU-A,1,X1,1,RD,0.5,300,,,\nW2,ECU-A,9,X1,2,RD,0.5,300,,,\n"
    sheet = sheet_of(sheets(wires=text, pins=pins), "ECU-A")
    assert (sheet.component, sheet.kind, sheet.complete) == ("ECU", "controller", True)
    assert [(line.cavity, line.state) for line in sheet.cavities] == [
        ("1", "wired"), ("2", "plug"), ("3", "empty"), ("9", "wired, not in the pin list"),
    ]  # fmt: skip
    assert cavity_of(sheet, "2").seal == "CP-1"
    assert (cavity_of(sheet, "1").terminal, cavity_of(sheet, "1").seal) == ("T-1", "SL-1")


def test_what_the_pin_list_calls_none_is_no_plug_and_its_wire_that_is_nowhere_is_lacking() -> None:
    pins = "Connector,Cavity,Component,Signal,Wire,Terminal,Seal\nECU-A,1,ECU,Lamp,W1,T-1,\nECU-A,2,ECU,N/C,,,none\nECU-A,3,ECU,Fan,W7,,\n"
    sheet = sheet_of(sheets(wires=WIRES + "W1,ECU-A,1,X1,1,RD,0.5,300,,,\n", pins=pins), "ECU-A")
    assert [line.state for line in sheet.cavities] == ["wired", "empty", "empty"]
    assert (sheet.complete, sheet.lacking) == (True, ("wire W7 of cavity 3",))


CONNECTORS = "Part,Kind,Cavities,Sealed\nHD-4,connector,4,yes\n"
COMPONENTS = "Component,Kind,Mates with,Part,Strain relief\nX1P,connector,X1S,HD-4,clamp\nX1S,connector,X1P,,\n"


def test_the_number_of_cavities_adds_those_that_no_list_names() -> None:
    text = WIRES + "W1,ECU,1,X1P,2,RD,0.5,300,,,\n"
    sheet = sheet_of(sheets(wires=text, components=COMPONENTS, parts=CONNECTORS), "X1P")
    assert [(line.cavity, line.state) for line in sheet.cavities] == [
        ("1", "empty"), ("2", "wired"), ("3", "empty"), ("4", "empty"),
    ]  # fmt: skip
    assert (sheet.part, sheet.mate, sheet.strain_relief, sheet.complete) == ("HD-4", "X1S", "clamp", True)


@pytest.mark.parametrize(
    ("cavity", "lacking"),
    [("A", "names of 3 of its 4 cavities"), ("7", "names of 3 of its 4 cavities")],
)
def test_cavities_that_cannot_be_numbered_are_lacking(cavity: str, lacking: str) -> None:
    text = WIRES + f"W1,ECU,1,X1P,{cavity},RD,0.5,300,,,\n"
    sheet = sheet_of(sheets(wires=text, components=COMPONENTS, parts=CONNECTORS), "X1P")
    assert [line.cavity for line in sheet.cavities] == [cavity]
    assert (sheet.complete, sheet.lacking) == (False, (lacking,))


def test_more_cavities_than_the_part_has_are_told() -> None:
    text = WIRES + "".join(f"W{n},ECU,{n},X1P,{n},RD,0.5,300,,,\n" for n in range(1, 6))
    sheet = sheet_of(sheets(wires=text, components=COMPONENTS, parts=CONNECTORS), "X1P")
    assert sheet.lacking == ("5 cavities are listed, and 4 by the parts table",)


def test_without_pin_list_and_parts_table_nobody_knows_whether_there_are_more() -> None:
    sheet = sheet_of(sheets(wires=WIRES + "W1,ECU,1,X1,1,RD,0.5,300,,,\n"), "X1")
    assert (sheet.complete, sheet.lacking) == (False, ("whether it has more cavities than these",))


def test_studs_and_blades_have_no_more_cavities_and_earth_points_come_last() -> None:
    text = WIRES + "W1,F1,out,RELAY K1,30,RD,0.5,300,,,\nW2,Head stud,,ZZ,1,BK,1,300,,ring M6,\nW3,Head stud,,ZZ,2,BK,1,300,,ring M6,\n"
    found = sheets(wires=text)
    assert sheet_of(found, "F1").complete and sheet_of(found, "RELAY K1").complete
    stud = found[-1]
    assert (stud.name, stud.kind, is_housing(stud)) == ("Head stud", "earth point", False)
    assert [(line.wires, line.terminal) for line in stud.cavities] == [(("W2", "W3"), "ring M6 + ring M6")]
    assert is_housing(sheet_of(found, "ZZ"))


def test_a_wire_without_a_cavity_is_there_and_asked_for() -> None:
    text = WIRES + "W1,ECU,1,X1,,RD,0.5,300,,,\nW2,ECU,2,X1,4,RD,0.5,300,,,\n"
    sheet = sheet_of(sheets(wires=text), "X1")
    assert [(line.cavity, line.wires) for line in sheet.cavities] == [("4", ("W2",)), ("", ("W1",))]
    assert "cavity of wire W1" in sheet.lacking


BRANCHES = "Branch,From point,To point,Length (mm)\nMAIN,P1,P2,900\nENG,P2,P3,400\nDASH,P1,P4,400\n"
SPLICED = "Wire,From,From cavity,To,To cavity,Colour,Size (mm²),Length (mm),Branch\n" + (
    "W1,ECU,1,SP1,,RD,2.5,300,MAIN\nW2,SP1,,INJ1,1,RD,1,300,\"MAIN, ENG\"\nW3,SP1,,DASH1,1,RD,18 AWG,300,\"DASH, MAIN\"\n"
    "W4,SP1,,SP2,,RD,1,300,MAIN\nW5,SP2,,X9,1,RD,1,300,MAIN\n"
)
POSITIONS = "Splice,Branch,Distance (mm)\nSP1,MAIN,350\nSP2,MAIN,700\n"


def test_wires_of_a_splice_are_parted_by_the_side_they_leave_to() -> None:
    one, other = splices(wires=SPLICED, branches=BRANCHES, splices=POSITIONS)
    assert (one.name, one.branch, one.distance_mm, one.start) == ("SP1", "MAIN", 350.0, "P1")
    assert [(wire.wire, wire.side) for wire in one.wires] == [("W3", "P1"), ("W2", "P2"), ("W4", "P2"), ("W1", "")]
    assert [(wire.wire, wire.side, wire.to) for wire in other.wires] == [("W4", "P1", "SP1"), ("W5", "", "X9 1")]
    # 18 AWG is 0.823 mm² of solid copper: ASTM B258, awg_copper.csv.
    assert one.area_mm2 == pytest.approx(2.5 + 1 + 0.82305 + 1, abs=1e-4)
    assert one.lacking == ()


def test_a_splice_says_what_is_not_known_of_it() -> None:
    wires = "Wire,From,From cavity,To,To cavity,Colour,Size (mm²),Length (mm)\nW1,ECU,1,SP1,,RD,,300\nW2,SP1,,INJ1,1,RD,1,300\n"
    one, other = splices(wires=wires, branches=BRANCHES, splices="Splice,Branch,Distance (mm),Part\nSP1,,,\nSP9,MAIN,100,SC-1\n")
    assert one.area_mm2 is None
    assert one.lacking == ("size of wire W1", "branch", "distance from the start of the branch", "part")
    assert (other.wires, other.lacking) == ((), ("wires",))


def test_a_stud_with_rings_wants_no_crimp_besides() -> None:
    head = "Wire,From,From cavity,To,To cavity,Colour,Size (mm²),Length (mm),From terminal,To terminal\n"
    rows = "W1,ECU,1,SP1,,RD,6,300,T-1,ring M6\nW2,SP1,,X1,1,RD,6,300,{},T-1\nW3,ECU,2,SP2,,RD,1,300,T-1,\nW4,SP2,,X1,2,RD,1,300,,T-1\n"
    listed = "Splice,Part,Note\nSP1,,stud\nSP2,SC-1,crimp\n"
    assert splices(wires=head + rows.format("ring M6"), splices=listed)[0].lacking == ()
    assert splices(wires=head + rows.format(""), splices=listed)[0].lacking == ("part",)


def labels(**tables: str) -> tuple[LabelLine, ...]:
    design, ends = designed(**tables)
    return label_lines(ends, connector_sheets(design, ends))


def test_a_wire_has_two_labels_with_one_code_and_a_connector_one() -> None:
    found = labels(wires=WIRES + "W2,ECU,12,X1,3,WHGN,0.5,300,Lamp,,\nW1,ECU,1,Head stud,,BK,1,300,Ground,,\n")
    assert [label.subject for label in found] == [
        ("wire", "W1"), ("wire", "W1"), ("wire", "W2"), ("wire", "W2"), ("connector", "ECU"), ("connector", "X1"),
    ]  # fmt: skip
    assert found[2].code == found[3].code == "W2 | ECU 12 | X1 3"
    assert [label.where for label in found[2:4]] == ["ECU 12", "X1 3"]
    assert found[3].lines == ("W2", "X1 3", "to ECU 12", "Lamp", "0.5 mm², WHGN")


def test_no_two_wires_share_a_code() -> None:
    text = WIRES + "W1,ECU,1,X1,1,RD,0.5,300,,,\nW1,ECU,2,X1,2,RD,0.5,300,,,\n,ECU,3,X1,3,RD,0.5,300,,,\n,ECU,3,X1,3,RD,0.5,300,,,\n"
    found = [label for label in labels(wires=text) if label.subject[0] == "wire"]
    assert len({label.code for label in found}) == len({label.subject for label in found}) == len(found) / 2 == 4
