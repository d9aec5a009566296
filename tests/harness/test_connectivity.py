"""Nets, borders, elements and ways of small lists, worked out by eye."""

from __future__ import annotations

import random

import networkx as nx
from text_lists import design_from

from harnessdrc.design import Design
from harnessdrc.harness.elements import Contact

HEAD = "Wire,From,From cavity,To,To cavity,Signal\n"


def of(design: Design, label: str) -> Contact:
    """Contact by its label."""
    return next(c for c in design.net.wires_at if design.label(c).casefold() == label.casefold())


def net_labels(design: Design, label: str) -> set[str]:
    """Labels of everything on the net of a contact."""
    net = design.net.net(of(design, label))
    assert net is not None
    return {design.label(c) for c in net.contacts}


def test_a_splice_joins_and_a_fuse_parts() -> None:
    design = design_from(
        wires=HEAD
        + "W1,BATTERY,+,FUSE 1,1,Battery feed\nW2,FUSE 1,2,SPLICE 1,,Fused feed\nW3,SPLICE 1,,FAN,1,Fan feed\n"
        "W4,SPLICE 1,,FUEL PUMP,1,Pump feed\n"
    )
    assert net_labels(design, "FAN 1") == {"FUSE 1 2", "SPLICE 1", "FAN 1", "FUEL PUMP 1"}
    assert net_labels(design, "BATTERY +") == {"BATTERY +", "FUSE 1 1"}
    [fuse] = design.net.elements
    assert fuse.kind == "fuse"
    assert {design.label(fuse.a), design.label(fuse.b)} == {"FUSE 1 1", "FUSE 1 2"}


def test_an_earth_point_is_a_border_and_no_member() -> None:
    """Two devices on one stud are two nets that both reach it."""
    design = design_from(
        wires=HEAD + "W1,ECU,A1,Head stud,,Power ground\nW2,COIL 1,3,Head stud,,Coil 1 ground\n",
        earth_points="Earth point,Body\nHead stud,head\n",
    )
    one, other = design.net.net(of(design, "ECU A1")), design.net.net(of(design, "COIL 1 3"))
    assert one is not None
    assert other is not None
    assert one.number != other.number
    assert [design.label(e) for e, _ in one.earths] == [design.label(e) for e, _ in other.earths] == ["Head stud"]
    assert design.net.net(of(design, "Head stud")) is None
    assert design.net.earths == {of(design, "Head stud")}


def test_a_wire_between_earth_points_is_a_strap() -> None:
    design = design_from(
        wires=HEAD + "W1,Block stud,,Chassis stud,,Strap\nW2,ECU,A1,Block stud,,Power ground\n"
        "W3,BATTERY,-,Chassis stud,,Battery negative\nW4,BATTERY,+,STARTER,30,Battery feed\n",
        earth_points="Earth point,Body\nBlock stud,block\nChassis stud,chassis\n",
    )
    assert {wire.name for wire in design.net.straps} == {"W1", "W3"}
    assert len(design.net.nets) == 2


def test_mated_halves_are_one_conductor_cavity_by_cavity() -> None:
    design = design_from(
        wires=HEAD + "W1,TPS,2,X1P,5,TPS signal\nW2,X1S,05,ECU,B5,TPS signal\nW3,TPS,3,X1P,6,Sensor ground\n"
        "W4,X1S,7,ECU,B9,Sensor ground\n",
        components="Component,Kind,Mates with\nX1P,connector,X1S\nX1S,connector,X1P\n",
    )
    assert net_labels(design, "TPS 2") == {"TPS 2", "X1P 5", "X1S 05", "ECU B5"}
    assert net_labels(design, "TPS 3") == {"TPS 3", "X1P 6"}
    way = design.net.path(of(design, "TPS 2"), of(design, "ECU B5"))
    assert [design.label(c) for c in way] == ["TPS 2", "X1P 5", "X1S 05", "ECU B5"]
    assert [w.name for w in design.net.wires_along(way)] == ["W1", "W2"]


def test_mates_may_be_said_on_one_half_only() -> None:
    design = design_from(
        wires=HEAD + "W1,TPS,2,X1P,5,TPS signal\nW2,X1S,5,ECU,B5,TPS signal\n",
        components="Component,Kind,Mates with\nX1P,connector,X1S\nX1S,connector,\n",
    )
    assert net_labels(design, "TPS 2") == {"TPS 2", "X1P 5", "X1S 5", "ECU B5"}


def test_a_relay_conducts_between_its_contacts_and_not_through_its_coil() -> None:
    design = design_from(
        wires=HEAD + "W1,FUSE 1,2,MAIN RELAY,30,Fused feed\nW2,MAIN RELAY,87,FAN,1,Fan feed\nW3,MAIN RELAY,87a,LAMP,1,"
        "Lamp feed\nW4,MAIN RELAY,85,ECU,A2,Relay drive\nW5,KEY SWITCH,2,MAIN RELAY,86,Switched 12V\n"
    )
    ends = {frozenset((design.label(e.a), design.label(e.b))) for e in design.net.elements if e.kind == "relay"}
    assert ends == {frozenset(("MAIN RELAY 30", "MAIN RELAY 87")), frozenset(("MAIN RELAY 30", "MAIN RELAY 87a"))}


def test_a_way_leads_through_no_earth_point() -> None:
    design = design_from(
        wires=HEAD + "W1,ECU,A1,Head stud,,Power ground\nW2,COIL 1,3,Head stud,,Coil 1 ground\n",
        earth_points="Earth point,Body\nHead stud,head\n",
    )
    assert design.net.path(of(design, "ECU A1"), of(design, "COIL 1 3")) == []
    assert len(design.net.path(of(design, "ECU A1"), of(design, "Head stud"))) == 2


def test_a_cable_with_cores_not_told_apart_joins_nothing() -> None:
    design = design_from(
        wires="Wire,From,From cavity,To,To cavity,Colour\n1,SPLICE 1,,SPLICE 2,,PWM\n2,SPLICE 1,,SPLICE 3,,RD\n"
    )
    cable, wire = design.harness.wires
    assert (cable.cores, wire.cores) == (3, 1)
    assert design.net.path(Contact("splice 1", ""), Contact("splice 2", "")) == []
    assert len(design.net.path(Contact("splice 1", ""), Contact("splice 3", ""))) == 2


def test_nets_of_random_lists_are_the_connected_parts_of_their_wires() -> None:
    """Against networkx on the plain pairs of ends, splices and all."""
    for seed in range(20):
        rng = random.Random(seed)
        points = [f"BOX {n}|{c}" for n in range(1, 9) for c in range(1, 5)] + [f"SPLICE {n}|" for n in range(1, 7)]
        rows, plain = [], nx.Graph()
        for number in range(rng.randint(5, 40)):
            a, b = rng.sample(points, 2)
            rows.append(f"W{number},{a.replace('|', ',')},{b.replace('|', ',')},")
            plain.add_edge(a, b)
        design = design_from(wires=HEAD + "\n".join(rows) + "\n")
        items = design.harness.items
        mine = {frozenset(f"{items[c.item].name}|{c.cavity}" for c in net.contacts) for net in design.net.nets}
        assert mine == {frozenset(part) for part in nx.connected_components(plain)}
        a, b = rng.sample(sorted(plain), 2)
        ends = [Contact(p.split("|")[0].casefold(), p.split("|")[1]) for p in (a, b)]
        way = design.net.path(*ends)
        if nx.has_path(plain, a, b):
            assert len(way) == nx.shortest_path_length(plain, a, b) + 1
        else:
            assert way == []


def test_members_of_a_net_and_wires_at_a_contact_stand_in_one_order_whatever_the_rows() -> None:
    rows = [
        "W10,SPLICE 1,,ECU,B9,Sensor ground",
        "W9,SPLICE 1,,TPS,3,Sensor ground",
        "W2,CLT SENSOR,2,SPLICE 1,,CLT return",
    ]
    for order in (rows, rows[::-1]):
        design = design_from(wires=HEAD + "\n".join(order) + "\n")
        [net] = design.net.nets
        assert net.contacts == tuple(sorted(net.contacts))
        assert [w.name for w in design.net.wires_at[Contact("splice 1", "")]] == ["W2", "W9", "W10"]
