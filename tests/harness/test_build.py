"""From tables to objects: one wire from two sheets, wires from pin lists, owners, kinds, bodies, places."""

from __future__ import annotations

import pytest
from text_lists import design_from, read_rows, shipped_given

from harnessdrc.design import Design, design_of
from harnessdrc.harness.elements import Contact, rigid_body

HEAD = "Wire,From,From cavity,To,To cavity,Colour,Size (mm2),Signal\n"


def said(design: Design, what: str) -> dict[str, str]:
    """Assumptions of one sort: subject → value."""
    return {a.subject: a.value for a in design.assumptions if a.what == what}


def test_a_wire_on_both_ends_sheets_is_one_and_each_row_gives_what_the_other_lacks() -> None:
    design = design_from(
        wires=HEAD + "W1,ECU,A1,TPS,2,BU,,TPS signal\nW2,ECU,A2,TPS,3,BK,0.5,Sensor ground\nW1,TPS,2,ECU,A1,,0.5,\n"
        "W3,ECU,A3,TPS,1,RD,0.5,5V\n"
    )
    assert [wire.name for wire in design.harness.wires] == ["W1", "W2", "W3"]
    wire = design.harness.wires[0]
    assert (wire.colour, str(wire.size), wire.signal) == ("BU", "0.5 mm²", "TPS signal")
    assert [place.row for place in (wire.place, *wire.also)] == [2, 4]
    assert design.harness.repeated == ()


def test_a_number_with_other_ends_is_a_second_wire() -> None:
    design = design_from(
        wires=HEAD + "W1,ECU,A1,TPS,2,BU,0.5,TPS signal\nW1,ECU,A2,FAN,3,BK,0.5,Fan drive\nW2,ECU,A3,FAN,4,BK,0.5,\n"
    )
    assert [wire.name for wire in design.harness.wires] == ["W1", "W1 (2)", "W2"]
    assert [(a.name, b.name) for a, b in design.harness.repeated] == [("W1", "W1 (2)")]


def test_wires_without_numbers_are_named_by_their_ends() -> None:
    design = design_from(
        wires="From,From cavity,To,To cavity,Colour,Size (mm2)\nECU,A1,TPS,2,BU,0.5\nECU,A2,TPS,3,BK,0.5\n"
        "ECU,A2,TPS,3,BK,0.5\n"
    )
    assert [w.name for w in design.harness.wires] == ["ECU A1 – TPS 2", "ECU A2 – TPS 3", "ECU A2 – TPS 3 (2)"]


def test_pin_lists_alone_give_the_wires_whose_number_stands_at_two_pins() -> None:
    design = design_from(
        pins="Connector,Cavity,Signal,Wire\nECU,A1,TPS,W1\nECU,A2,Sensor ground,W2\nECU,A3,Spare,\nTPS,2,Signal,W1\n"
        "TPS,3,Ground,W2\n"
    )
    ends = {w.name: {design.label(c) for c in (w.a, w.b) if c} for w in design.harness.wires}
    assert ends == {"W1": {"ECU A1", "TPS 2"}, "W2": {"ECU A2", "TPS 3"}}
    assert design.role(Contact("ecu", "A2")) == "sensor ground"
    assert design.role(Contact("ecu", "A3")) == "spare"


@pytest.mark.parametrize(
    ("names", "owner"),
    [(("ECU-A", "ECU-B"), "ECU"), (("ECU A", "ECU B"), "ECU"), (("ECU plug A", "ECU plug B"), "ECU")],
)
def test_connectors_of_one_controller_are_one_device(names: tuple[str, str], owner: str) -> None:
    design = design_from(
        wires=HEAD
        + f"W1,{names[0]},1,Head stud,,BK,2.5,Power ground\nW2,{names[1]},1,TPS,2,BU,0.5,TPS signal\n"
        + f"W3,{names[1]},2,TPS,3,BK,0.5,Sensor ground\n"
    )
    [controller] = design.devices.of_kind("controller")
    assert controller.name == owner
    assert [design.label(c) for c in controller.contacts] == [f"{names[0]} 1", f"{names[1]} 1", f"{names[1]} 2"]
    assert said(design, "owner")


def test_two_controllers_stay_two() -> None:
    design = design_from(
        wires=HEAD + "W1,ECU,1,Head stud,,BK,2.5,Power ground\nW2,GEARBOX CONTROLLER,1,Head stud,,BK,2.5,Power ground\n"
        "W3,ECU,2,TPS,2,BU,0.5,TPS signal\n"
    )
    assert {d.name for d in design.devices.of_kind("controller")} == {"ECU", "GEARBOX CONTROLLER"}
    assert design.devices.controller is not None
    assert design.devices.controller.name == "ECU"


def test_the_component_column_of_the_pin_list_says_whose_connector_it_is() -> None:
    design = design_from(
        wires=HEAD + "W1,X7,1,ECU,B5,BU,0.5,TPS signal\nW2,X7,2,ECU,B9,BK,0.5,Sensor ground\n",
        pins="Connector,Cavity,Component,Signal\nX7,1,TPS,Signal\nX7,2,TPS,Ground\n",
    )
    [sensor] = design.devices.sensors
    assert (sensor.name, sensor.kind) == ("TPS", "position sensor")
    assert design.role(Contact("x7", "2")) == "sensor ground"


def test_the_kind_column_overrides_the_name() -> None:
    design = design_from(
        wires=HEAD + "W1,FAN SENSOR,1,ECU,B5,BU,0.5,Signal\n",
        components="Component,Kind,Place\nFAN SENSOR,temperature sensor,head\n",
    )
    [sensor] = design.devices.sensors
    assert (sensor.kind, sensor.body) == ("temperature sensor", "head")
    assert "FAN SENSOR" not in said(design, "kind")
    assert said(design, "kind")["ECU"] == "controller"


def test_bodies_of_earth_points_are_read_and_else_inferred_and_said() -> None:
    design = design_from(
        wires=HEAD + "W1,ECU,1,G1,,BK,2.5,Power ground\nW2,FAN,2,Chassis stud,,BK,2.5,Fan ground\n",
        earth_points="Earth point,Body\nG1,block\n",
    )
    bodies = {design.label(e): design.devices.body(e) for e in design.net.earths}
    assert bodies == {"G1": "block", "Chassis stud": "chassis"}
    assert said(design, "body") == {"Chassis stud": "chassis"}
    assert [rigid_body(b) for b in ("head", "block", "engine", "chassis", None)] == ["engine"] * 3 + ["chassis", None]


def test_a_reluctor_and_a_hall_sensor_are_told_apart_by_their_supply() -> None:
    design = design_from(
        wires=HEAD + "W1,CRANK SENSOR,1,ECU,C1,BU,0.5,Crank +\nW2,CRANK SENSOR,2,ECU,C2,BK,0.5,Crank -\n"
        "W3,CAM SENSOR,1,ECU,C3,RD,0.5,"
        "Sensor 5V\nW4,CAM SENSOR,2,ECU,C4,BU,0.5,Cam signal\nW5,CAM SENSOR,3,ECU,B9,BK,0.5,Sensor ground\n"
    )
    kinds = {d.name: d.kind for d in design.devices.sensors}
    assert kinds == {"CRANK SENSOR": "reluctor sensor", "CAM SENSOR": "Hall sensor"}


def test_every_field_knows_its_cell() -> None:
    design = design_from(wires="\n\n" + HEAD + "W1,ECU,A1,TPS,2,BU,0.5,TPS signal\n")
    wire = design.harness.wires[0]
    cells = [wire.place.of(c).cell for c in ("wire", "from_item", "to_cavity", "colour", "size", "signal")]
    assert cells == ["A4", "B4", "E4", "F4", "G4", "H4"]
    assert wire.place.of("twist").cell == "4"
    assert str(wire.place.of("twist", "wire")) == "case wires A4"


def test_columns_that_are_missing_are_told_from_cells_that_are_empty() -> None:
    design = design_from(wires="Wire,From,From cavity,To,To cavity,Colour\nW1,ECU,A1,TPS,2,\nW2,ECU,A2,TPS,3,BK\n")
    assert "colour" in design.harness.columns
    assert "size" not in design.harness.columns
    [(place, columns, count)] = design.harness.wire_tables
    assert (place.cell, count) == ("A1", 2)
    assert "length_m" not in columns


def test_wires_on_common_metal_have_no_cavity() -> None:
    design = design_from(wires=HEAD + "W1,SPLICE 1,1,TPS,2,BU,0.5,5V\nW2,SPLICE 1,2,MAP,2,BU,0.5,5V\n")
    assert Contact("splice 1", "") in design.net.wires_at
    assert len(design.net.nets) == 1


def test_ends_without_a_cavity_do_not_meet_by_accident() -> None:
    """Two wires on a box whose cavities the list does not give are not one net."""
    design = design_of(
        read_rows({"wires": [["Wire", "From", "From cavity", "To", "To cavity"], ["W1", "BOX", "", "FAN", "1"],
                             ["W2", "BOX", "", "LAMP", "1"], ["W3", "ECU", "A1", "FAN", "2"]]}),
        shipped_given(),
    )  # fmt: skip
    assert len(design.net.nets) == 3
    assert "?" not in " ".join(design.label(c) for c in design.net.wires_at)


def test_a_role_column_overrides_the_signal() -> None:
    design = design_from(
        wires=HEAD + "W1,ECU,A1,TPS,3,BK,0.5,Ground\n",
        pins="Connector,Cavity,Signal,Role\nECU,A1,Ground 3,sensor ground\nECU,A2,Ground 1,Power Ground\n",
    )
    assert design.role(Contact("ecu", "A1")) == "sensor ground"
    assert design.role(Contact("ecu", "A2")) == "power ground"
    assert "Ground 3" not in said(design, "role")


def test_what_a_signal_was_taken_for_is_said_with_the_words_that_decided() -> None:
    design = design_from(wires=HEAD + "W1,ECU,A1,TPS,3,BK,0.5,TPS return\nW2,ECU,A2,MAP,3,BK,0.5,TPS return\n")
    [role] = [a for a in design.assumptions if a.what == "role"]
    assert (role.subject, role.value, role.count) == ("TPS return", "sensor ground", 4)
    assert "tps return" in role.because
    assert role.place is not None
    assert role.place.cell == "H2"


def test_straps_are_read_between_bodies_and_earth_points() -> None:
    design = design_from(
        wires=HEAD + "W1,ECU,A1,G1,,BK,2.5,Power ground\n",
        earth_points="Earth point,Body\nG1,block\n",
        straps="Strap,From body,To body,Size (mm2),Length (m),Resistance (mohm)\nS1,G1,battery negative,25,0.8,\n"
        "S2,chassis,block,,,2\n",
    )
    assert [(s.name, s.a, s.b) for s in design.harness.straps] == [
        ("S1", "block", "battery negative"), ("S2", "chassis", "block"),
    ]  # fmt: skip
    assert design.harness.straps[1].resistance_ohm == pytest.approx(0.002)
