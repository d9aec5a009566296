"""Joints sheet: names, values as new and aged, and what names nothing."""

from __future__ import annotations

import pytest
from text_lists import design_from, shipped_given

from harnessdrc.design import Design
from harnessdrc.design.circuit import Part

TABLES = {
    "wires": "Wire,From,From cavity,To,To cavity,Size (mm2),Length (m),Signal\n"
    "W1,Battery,+,Fuse 1,1,2.5,0.5,Battery feed\nW2,Fuse 1,2,FAN,1,2.5,1,Fan feed\n"
    "W3,FAN,2,Splice 1,,2.5,1,Fan ground\nW4,Splice 1,,STUD1,,2.5,1,Fan ground\n"
    "W12,Splice 1,,STUD1,,1.5,1,Fan ground\n",
    "components": "Component,Kind,Current (A)\nFAN,fan,6\n",
    "earth_points": "Earth point,Body\nSTUD1,engine\n",
    "fuses": "Fuse,Rating (A)\nFuse 1,20\n",
    "straps": "Strap,From body,To body,Resistance (mohm)\nS1,engine,battery negative,0.5\n",
}


def with_joints(*rows: str, head: str = "Joint,Resistance (mohm),Aged resistance (mohm)") -> Design:
    return design_from(**TABLES, joints="\n".join([head, *rows]) + "\n")


def part_of(design: Design, kind: str, name: str) -> Part:
    [part] = [p for p in design.circuit.parts if (p.kind, p.name) == (kind, name) or
              (p.kind == kind and kind not in ("wire", "strap") and design.harness.items[p.name].name == name)]  # fmt: skip
    return part


def left(design: Design) -> list[tuple[str, str]]:
    return [(item.reason, item.name) for item in design.circuit.left_out]


@pytest.mark.parametrize(
    ("name", "kind", "part"),
    [
        ("FAN 1", "wire", "W2"), ("contact FAN 1", "wire", "W2"), ("FAN:1", "wire", "W2"), ("fan 2", "wire", "W3"),
        ("STUD1", "earth", "STUD1"), ("Fuse 1", "fuse", "Fuse 1"), ("holder of fuse 1", "fuse", "Fuse 1"),
        ("S1", "strap", "S1"), ("strap S1", "strap", "S1"), ("ring of W12 on STUD1", "wire", "W12"),
        ("W4 STUD1", "wire", "W4"), ("STUD1 W4", "wire", "W4"), ("ring of wire W4 on STUD1", "wire", "W4"),
    ],
)  # fmt: skip
def test_a_joint_is_found_by_its_name(name: str, kind: str, part: str) -> None:
    plain, design = design_from(**TABLES), with_joints(f"{name},7,33")
    assert left(design) == []
    before, after = part_of(plain, kind, part), part_of(design, kind, part)
    given = shipped_given()
    ends = {"wire": 1, "earth": 1, "fuse": 1, "strap": 1}[kind]
    assert ends == 1
    usual = {
        "earth": (0.0, given["stud_aged_mohm"] - given["stud_mohm"]),
        "fuse": (0.0, given["fuse_holder_aged_mohm"]),
        "strap": (0.0, 2 * (given["stud_aged_mohm"] - given["stud_mohm"])),
    }.get(kind, (given["stud_mohm"], given["stud_aged_mohm"]) if "STUD1" in name else
          (given["contact_mohm"], given["contact_aged_mohm"]))  # fmt: skip
    assert after.joint_ohm - before.joint_ohm == pytest.approx((7 - usual[0]) / 1000)
    assert after.aged_joint_ohm - before.aged_joint_ohm == pytest.approx((33 - usual[1]) / 1000)
    others = [p for p in design.circuit.parts if p.name != after.name]
    same = [p for p in plain.circuit.parts if p.name != after.name]
    assert [(p.name, p.joint_ohm, p.aged_joint_ohm) for p in others] == [
        (p.name, p.joint_ohm, p.aged_joint_ohm) for p in same
    ]


@pytest.mark.parametrize(("kind", "given_as"), [("isolator", "isolator"), ("battery switch", "isolator"), ("switch", "relay")])
def test_an_isolator_has_a_contact_of_its_own(kind: str, given_as: str) -> None:
    wires = TABLES["wires"].replace("W1,Battery,+,Fuse 1,1,2.5,0.5,Battery feed\n",
        "W0,Battery,+,ISO,1,25,0.5,Battery feed\nW1,ISO,2,Fuse 1,1,25,0.5,Battery feed\n")  # fmt: skip
    tables = {**TABLES, "wires": wires, "components": TABLES["components"] + f"ISO,{kind},\n"}
    design, given = design_from(**tables), shipped_given()
    part = part_of(design, "switch", "ISO")
    assert part.joint_ohm == pytest.approx(given[f"{given_as}_mohm"] / 1000)
    assert part.aged_joint_ohm == pytest.approx(given[f"{given_as}_aged_mohm"] / 1000)
    assert design.circuit.part_name(part) == f"{'isolator' if given_as == 'isolator' else 'switch'} ISO"
    listed = part_of(design_from(**tables, joints="Joint,Resistance (mohm),Aged resistance (mohm)\nISO,0.2,0.5\n"), "switch", "ISO")
    assert (listed.joint_ohm, listed.aged_joint_ohm) == pytest.approx((0.0002, 0.0005))


def test_a_splice_has_one_joint_at_each_wire_on_it() -> None:
    plain, design = design_from(**TABLES), with_joints("Splice 1,2,6")
    assert left(design) == []
    given = shipped_given()
    for name in ("W3", "W4", "W12"):
        before, after = part_of(plain, "wire", name), part_of(design, "wire", name)
        assert after.joint_ohm - before.joint_ohm == pytest.approx((2 - given["splice_mohm"]) / 1000)
        assert after.aged_joint_ohm - before.aged_joint_ohm == pytest.approx((6 - given["splice_aged_mohm"]) / 1000)


def test_an_aged_joint_is_never_better_than_the_new_one() -> None:
    design = with_joints("FAN 1,25,")
    plain = design_from(**TABLES)
    rise = part_of(design, "wire", "W2").joint_ohm - part_of(plain, "wire", "W2").joint_ohm
    aged = part_of(design, "wire", "W2").aged_joint_ohm - part_of(plain, "wire", "W2").aged_joint_ohm
    assert rise == pytest.approx(0.025 - shipped_given()["contact_mohm"] / 1000)
    assert aged == pytest.approx(0.025 - shipped_given()["contact_aged_mohm"] / 1000)


def test_what_names_nothing_is_told() -> None:
    design = with_joints("Nowhere 5,7,33", "FAN 1,7,33", "FAN 9,1,2")
    assert left(design) == [("joint not known", "Nowhere 5"), ("joint not known", "FAN 9")]


def test_values_reach_the_solution() -> None:
    """6 A through 7 and 33 mohm instead of 2 and 10 at one contact."""
    plain, design = design_from(**TABLES), with_joints("FAN 1,7,33")
    for joints, more_v in (("new", 0.005 * 6), ("aged", 0.023 * 6)):
        drops = []
        for each in (plain, design):
            settled = getattr(each.analysis, joints).settled
            number = each.circuit.node_number
            state = [s.name for s in each.analysis.states].index("full load")
            [port] = [n for n, p in enumerate(each.circuit.ports) if p.name == "FAN"]
            feed = each.circuit.port_nodes[port][0]
            post = next(n for node, n in number.items() if node[0] == "post +")
            drops.append(settled.volts[post, state] - settled.volts[feed, state])
        assert drops[1] - drops[0] == pytest.approx(more_v, rel=1e-6)


@pytest.mark.parametrize("value", ["-5", "rusty", "-0.1 mohm"])
def test_a_joint_that_cannot_be_is_a_cell_not_understood(value: str) -> None:
    design = with_joints(f"FAN 1,{value},33")
    plain = design_from(**TABLES)
    assert part_of(design, "wire", "W2").joint_ohm == pytest.approx(part_of(plain, "wire", "W2").joint_ohm)
    assert all(p.ohm + p.joint_ohm >= 0 and p.aged_joint_ohm >= 0 for p in design.circuit.parts)


def test_a_joint_of_nothing_is_taken_and_solved() -> None:
    design = with_joints("FAN 1,0,0", "STUD1,0,0", "S1,0,0")
    assert left(design) == []
    assert design.analysis.solved
    assert (design.circuit.ohm() >= 0).all()
    assert abs(design.analysis.new.settled.volts).max() < 20


def test_every_part_that_has_joints_names_them() -> None:
    design = with_joints("FAN 1,7,33")
    circuit = design.circuit
    for part, jointed in zip(circuit.parts, circuit.jointed.tolist(), strict=True):
        names = circuit.joints.names_of(part)
        assert bool(names) == jointed, part
        assert all(name.strip() for name, _ in names)
        assert circuit.part_name(part)
    assert all(circuit.node_name(node) for node in circuit.nodes)
