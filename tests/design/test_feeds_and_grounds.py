"""What feeds a net, which earth points a device reaches, and how a loop is spelled out."""

from __future__ import annotations

from text_lists import design_from

from harnessdrc.design import Contact, Design

HEAD = "Wire,From,From cavity,To,To cavity,Signal\n"
FEED = HEAD + (
    "W1,BATTERY,+,FUSE 1,1,Battery feed\nW2,FUSE 1,2,MAIN RELAY,30,Fused feed\nW3,MAIN RELAY,87,FUSE 2,1,Relay out\n"
    "W4,FUSE 2,2,FUEL PUMP,1,Pump feed\nW5,KEY SWITCH,2,MAIN RELAY,86,Switched 12V\n"
    "W6,BATTERY,+,KEY SWITCH,1,Battery feed\n"
)


def number(design: Design, item: str, cavity: str) -> int:
    """Number of the net of a contact."""
    return design.net.net_of[Contact(item, cavity)]


def names(design: Design, item: str, cavity: str) -> list[str]:
    """Supplies of the net of a contact."""
    return [name for name, _ in design.feeds.supplies(number(design, item, cavity))]


def test_the_level_of_a_net_counts_fuses_and_contacts_from_the_battery() -> None:
    design = design_from(wires=FEED)
    level = design.feeds.level
    assert level[number(design, "battery", "+")] == 0
    assert level[number(design, "main relay", "30")] == 1
    assert level[number(design, "main relay", "87")] == 2
    assert level[number(design, "fuel pump", "1")] == 3
    assert level[number(design, "main relay", "86")] == 1


def test_each_net_of_a_chain_has_one_supply() -> None:
    design = design_from(wires=FEED)
    assert names(design, "battery", "+") == ["BATTERY +"]
    assert names(design, "main relay", "30") == ["FUSE 1"]
    assert names(design, "main relay", "87") == ["MAIN RELAY 87"]
    assert names(design, "fuel pump", "1") == ["FUSE 2"]
    assert names(design, "main relay", "86") == ["KEY SWITCH 2"]


def test_two_fuses_on_one_net_are_two_supplies_and_parallel_contacts_behind_one_fuse_are_one() -> None:
    two = design_from(wires=FEED + "W7,BATTERY,+,FUSE 3,1,Battery feed\nW8,FUSE 3,2,FUEL PUMP,1,Pump feed\n")
    # A ring of fuses and contacts is met once, where its two ways from the battery are of one length.
    doubled = [names(two, *c) for c in (("main relay", "30"), ("main relay", "87"), ("fuel pump", "1"))]
    assert [found for found in doubled if len(found) > 1] == [["FUSE 2", "MAIN RELAY 87"]]
    side = design_from(
        wires=HEAD + "W1,BATTERY,+,FUSE 1,1,Battery feed\nW2,FUSE 1,2,RELAY 1,30,Fused feed\n"
        "W3,FUSE 1,2,RELAY 2,30,Fused feed\n"
        "W4,RELAY 1,87,FAN,1,Fan feed\nW5,RELAY 2,87,FAN,1,Fan feed\n"
    )
    assert names(side, "fan", "1") == ["RELAY 1 87"]


def test_two_terminals_of_one_relay_feed_two_nets_with_two_names() -> None:
    design = design_from(
        wires=HEAD + "W1,BATTERY,+,MAIN RELAY,30,Battery feed\nW2,MAIN RELAY,87,FAN,1,Fan feed\n"
        "W3,MAIN RELAY,87a,LAMP,1,Lamp feed\n"
    )
    assert names(design, "fan", "1") == ["MAIN RELAY 87"]
    assert names(design, "lamp", "1") == ["MAIN RELAY 87a"]


def test_a_dead_net_has_no_supply() -> None:
    design = design_from(wires=HEAD + "W1,FUSE 9,2,FAN,1,Fan feed\nW2,BATTERY,+,STARTER,30,Battery feed\n")
    assert number(design, "fan", "1") not in design.feeds.level
    assert names(design, "fan", "1") == []


def test_a_sensor_supply_is_a_supply_of_the_controllers_pin() -> None:
    design = design_from(wires=HEAD + "W1,ECU,B1,TPS,1,Sensor 5V\nW2,ECU,B2,MAP SENSOR,1,Sensor 5V\n")
    short = design_from(wires=HEAD + "W1,BATTERY,+,F3,1,Battery feed\nW2,F3,2,FAN,1,Fan feed\n")
    assert names(short, "fan", "1") == ["fuse F3"]
    assert names(design, "tps", "1") == ["sensor supply ECU B1"]
    assert names(design, "map sensor", "1") == ["sensor supply ECU B2"]


# --- grounds ------------------------------------------------------------------------------------

EARTHS = "Earth point,Body\nHead stud,head\nBlock stud,block\nChassis stud,chassis\n"


def test_earth_points_reached_over_splices_each_once_with_the_wire_that_gets_there() -> None:
    design = design_from(
        wires=HEAD + "W1,ECU,A1,SPLICE 1,,Power ground\nW2,ECU,A2,SPLICE 1,,Power ground\n"
        "W3,SPLICE 1,,Head stud,,Power ground\n"
        "W4,ECU,A3,Chassis stud,,Power ground\n",
        earth_points=EARTHS,
    )
    controller = design.devices.controller
    assert controller is not None
    reached = design.grounds.reached(design.devices.with_role(controller, "power ground"))
    assert [(design.label(r.earth), r.wire.name) for r in reached] == [("Chassis stud", "W4"), ("Head stud", "W3")]
    assert design.grounds.star == reached


def test_a_loop_is_spelled_out_wire_by_wire_over_the_straps_of_the_list() -> None:
    design = design_from(
        wires=HEAD + "W1,ECU,A1,Block stud,,Power ground\nW2,ECU,A2,SPLICE 1,,Power ground\n"
        "W3,SPLICE 1,,Chassis stud,,Power ground\n",
        earth_points=EARTHS,
        straps="Strap,From body,To body,Resistance (mohm)\nS1,block,battery negative,1\n"
        "S2,chassis,battery negative,1\n",
    )
    controller = design.devices.controller
    assert controller is not None
    block, chassis = design.grounds.reached(design.devices.with_role(controller, "power ground"))
    spelled = design.grounds.loop(block, chassis)
    steps = ["ECU A1", "wire W1", "Block stud", "engine", "strap S1", "battery negative", "strap S2", "chassis",
             "Chassis stud", "wire W3", "SPLICE 1", "wire W2", "ECU A2"]  # fmt: skip
    places = [spelled.find(step) for step in steps]
    assert -1 not in places, (spelled, steps)
    assert spelled.count("strap ") == 2
    assert spelled.count("wire ") == 3
    assert spelled.index("ECU A1") < spelled.index("strap S1") < spelled.index("strap S2") < spelled.index("ECU A2")


def test_straps_the_list_leaves_out_are_given_and_said_to_be() -> None:
    wires = HEAD + "W1,ECU,A1,Block stud,,Power ground\nW2,FAN,2,Chassis stud,,Fan ground\n"
    design = design_from(wires=wires, earth_points=EARTHS)
    assert design.grounds.given_straps == ["engine", "chassis"]
    assert "(given)" in design.grounds.strap_way("engine", "chassis")
    listed = design_from(
        wires=wires,
        earth_points=EARTHS,
        straps="Strap,From body,To body,Resistance (mohm)\nS1,block,chassis,1\nS2,chassis,battery negative,1\n",
    )
    assert listed.grounds.given_straps == []
    assert listed.grounds.strap_way("engine", "chassis") == "engine – strap S1 – chassis"


def test_a_wire_between_two_studs_is_a_strap_of_the_way() -> None:
    design = design_from(
        wires=HEAD + "W1,ECU,A1,Block stud,,Power ground\nW2,Block stud,,Chassis stud,,Engine strap\n"
        "W3,Chassis stud,,BATTERY,-,"
        "Battery negative\nW4,BATTERY,+,STARTER,30,Battery feed\n",
        earth_points=EARTHS,
    )
    assert design.grounds.given_straps == []
    way = design.grounds.strap_way("engine", "battery negative")
    assert way == "engine – strap W2 – chassis – strap W3 – battery negative"


def test_bodies_without_a_way_between_them_are_said_to_have_none() -> None:
    design = design_from(
        wires=HEAD + "W1,ECU,A1,Block stud,,Power ground\nW2,FAN,2,Chassis stud,,Fan ground\n",
        earth_points=EARTHS,
        straps="Strap,From body,To body,Resistance (mohm)\nS1,block,battery negative,1\nS2,chassis,hull,1\n",
    )
    assert design.grounds.strap_way("engine", "chassis") == "engine – (no strap known) – chassis"


def test_a_way_over_mated_halves_says_so() -> None:
    design = design_from(
        wires=HEAD + "W1,TPS,3,X1P,6,Sensor ground\nW2,X1S,6,Head stud,,Sensor ground\n",
        components="Component,Kind,Mates with\nX1P,connector,X1S\nX1S,connector,X1P\n",
        earth_points=EARTHS,
    )
    way = design.grounds.way(Contact("tps", "3"), Contact("head stud", ""))
    assert way == "TPS 3 – wire W1 – X1P 6 – mated to – X1S 6 – wire W2 – Head stud"


def test_the_controller_with_the_most_pins_is_the_engine_controller() -> None:
    design = design_from(
        wires=HEAD + "W1,WIDEBAND CONTROLLER,1,Chassis stud,,Power ground\nW2,ECU,A1,Head stud,,Power ground\n"
        "W3,ECU,B5,TPS,2,TPS signal\n",
        earth_points=EARTHS,
    )
    assert design.devices.controller is not None
    assert design.devices.controller.name == "ECU"
    assert [design.label(r.earth) for r in design.grounds.star] == ["Head stud"]
