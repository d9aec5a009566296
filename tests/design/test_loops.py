"""Loops of coils, injectors and trigger pairs: their ways, lengths and areas, against hand and library computation."""

from __future__ import annotations

import itertools
import math
import random

import numpy as np
import pytest
from shapely.geometry import Polygon
from text_lists import design_from

from harnessdrc.checks.registry import CHECKS, load_checks
from harnessdrc.design import Design
from harnessdrc.design.loops import Loop
from harnessdrc.findings import Finding, Undecided

load_checks()

HEAD = "Wire,From,From cavity,To,To cavity,Signal,Length (mm),Size (mm2),Branch,Twist group\n"
POINTS = "Point,X (mm),Y (mm),Z (mm)\n"
PARTS = "Component,Kind,Place,Fires,Plug lead (mm),Capacitance (uF),Earthed by its case\n"


def loom(
    wires: str, components: str = "", points: str = "", earths: str = "HEAD STUD,head\n", given: float | None = None,
    **tables: str,
) -> Design:
    """Design of rows."""
    if points:
        tables["points"] = POINTS + points
    return design_from(
        {} if given is None else {"coil_on_plug_mm": given}, wires=HEAD + wires, components=PARTS + components,
        earth_points="Earth point,Body\n" + earths, **tables,
    )  # fmt: skip


def spark(design: Design, number: int = 0) -> Loop:
    """One high-voltage loop."""
    return design.loops.high_voltage[number].loop


def words(loop: Loop) -> str:
    """Its way spelled out."""
    return " - ".join(loop.way)


COIL = "COIL 1,coil,head,PLUG 1,,,\nPLUG 1,spark plug,head,,,,\n"
OWN = "W1,COIL 1,4,HEAD STUD,,High-voltage return,800,1,,\nW2,ECU,2,COIL 1,2,Coil 1 input,900,0.5,,\n"
AT = "COIL 1,0,0,150\nPLUG 1,0,0,0\nHEAD STUD,600,0,0\n"


# ---------------------------------------------------------------------- ways of the spark current
def test_a_ground_of_its_own_at_the_head() -> None:
    loop = spark(loom(OWN, COIL))
    assert words(loop) == "COIL 1 - plug lead - PLUG 1 - head - HEAD STUD - wire W1 - COIL 1"
    assert loop.at_home
    assert loop.shape.length_m == pytest.approx(0.8 + 0.15)  # the body of a coil on its plug is taken as 150 mm
    assert loop.best_area_m2 == pytest.approx(0.15 * 0.03)


def test_lengths_alone_give_the_bound_of_a_loop_closed_by_metal() -> None:
    shape = spark(loom(OWN, COIL)).shape
    assert shape.bound
    assert shape.area_m2 == pytest.approx((0.8 + 0.15) ** 2 / (2 * math.pi))  # Dido
    assert shape.lacking == ("x, y, z of COIL 1", "x, y, z of PLUG 1", "x, y, z of HEAD STUD")


def test_points_give_the_area_that_shapely_has() -> None:
    loop = spark(loom(OWN, COIL, AT))
    assert loop.shape.points_m is not None
    assert not loop.shape.bound
    assert Polygon(loop.shape.points_m[:, [0, 2]]).area == pytest.approx(loop.shape.area_m2, rel=1e-12)
    assert loop.shape.area_m2 == pytest.approx(0.5 * 0.6 * 0.15)
    assert loop.area_ratio == pytest.approx(10.0)


@pytest.mark.parametrize("row", ["W1,COIL 1,4,HEAD STUD,,", "W1,HEAD STUD,,COIL 1,4,"])
def test_wires_may_stand_in_either_direction_and_bend(row: str) -> None:
    """Return through two branches with a bend: area of the polygon drawn by hand."""
    wires = f'{row}High-voltage return,800,1,"B1, B2",\nW2,ECU,2,COIL 1,2,Coil 1 input,900,0.5,,\n'
    loop = spark(loom(wires, COIL, AT + "J,600,0,150\n",
                      branches="Branch,From point,To point\nB1,COIL 1,J\nB2,J,HEAD STUD\n"))  # fmt: skip
    assert loop.shape.points_m is not None
    corners = {tuple(np.round(p * 1000, 6).tolist()) for p in loop.shape.points_m}
    assert corners == {(0, 0, 150), (0, 0, 0), (600, 0, 0), (600, 0, 150)}
    assert loop.shape.area_m2 == pytest.approx(0.6 * 0.15)
    assert loop.shape.length_m == pytest.approx(1.5)


def test_vector_area_against_the_sum_of_triangles() -> None:
    """A loop in space, fanned into triangles about its first corner by numpy."""
    points = AT.replace("HEAD STUD,600,0,0", "HEAD STUD,500,220,40") + "J,100,400,300\n"
    wires = 'W1,COIL 1,4,HEAD STUD,,High-voltage return,800,1,"B1, B2",\nW2,ECU,2,COIL 1,2,Coil 1 input,900,0.5,,\n'
    loop = spark(loom(wires, COIL, points, branches="Branch,From point,To point\nB1,COIL 1,J\nB2,J,HEAD STUD\n"))
    p = loop.shape.points_m
    assert p is not None
    assert len(p) == 4
    fan = sum(np.cross(p[n] - p[0], p[n + 1] - p[0]) / 2 for n in range(1, len(p) - 1))
    assert loop.shape.area_m2 == pytest.approx(float(np.linalg.norm(fan)), rel=1e-12)


def test_a_return_at_the_block_runs_through_the_joint_and_is_still_at_home() -> None:
    loop = spark(loom(OWN, COIL, earths="HEAD STUD,block\n"))
    assert "head – block" in loop.way
    assert loop.at_home


@pytest.mark.parametrize(
    ("body", "expected"),
    [
        ("chassis", "COIL 1 - plug lead - PLUG 1 - head - strap ENGINE - strap CHASSIS - chassis - HEAD STUD - wire W1 - COIL 1"),
        ("battery negative", "COIL 1 - plug lead - PLUG 1 - head - strap ENGINE - HEAD STUD - wire W1 - COIL 1"),
    ],
)  # fmt: skip
def test_a_return_elsewhere_runs_through_straps(body: str, expected: str) -> None:
    straps = "Strap,From body,To body,Length (mm)\nENGINE,engine,battery negative,400\nCHASSIS,battery negative,chassis,300\n"
    loop = spark(loom(OWN, COIL, AT, earths=f"HEAD STUD,{body}\n", straps=straps))
    assert words(loop) == expected
    assert not loop.at_home
    assert any("is bolted (list it as a wire between two earth points)" in each for each in loop.shape.lacking)


def test_straps_that_are_wires_of_the_list_have_their_places() -> None:
    """Coil on plug, earthed at the chassis: the loop runs over a strap from the block, drawn with all its corners."""
    wires = OWN + "G1,CHASSIS STUD,,BLOCK STUD,,Strap,400,16,,\n"
    design = loom(wires, COIL, AT + "BLOCK STUD,600,0,-200\nCHASSIS STUD,900,0,-200\n",
                  earths="HEAD STUD,chassis\nBLOCK STUD,block\nCHASSIS STUD,chassis\n")  # fmt: skip
    loop = spark(design)
    assert not loop.at_home
    assert loop.shape.points_m is not None
    expected = [(0, 150), (0, 0), (600, -200), (900, -200), (600, 0)]
    assert loop.shape.area_m2 == pytest.approx(Polygon(expected).area / 1e6)


@pytest.mark.parametrize("seed", range(3))
def test_of_two_straps_side_by_side_the_shorter_is_taken_in_any_order(seed: int) -> None:
    rows = [*OWN.splitlines(), "G1,CHASSIS STUD,,BLOCK STUD,,Strap,700,16,,", "G2,BLOCK STUD,,CHASSIS STUD,,Strap,400,16,,"]
    random.Random(seed).shuffle(rows)
    loop = spark(loom("\n".join(rows), COIL, earths="HEAD STUD,chassis\nBLOCK STUD,block\nCHASSIS STUD,chassis\n"))
    assert "strap G2" in loop.way


def test_a_return_whose_body_is_not_known_is_not_closed() -> None:
    loop = spark(loom(OWN.replace("HEAD STUD", "STUD 7"), COIL, earths="STUD 7,\n"))
    assert loop.steps == ()
    assert loop.shape.lacking == ("body of earth point STUD 7",)


def test_a_case_on_the_head_closes_it() -> None:
    design = loom("W1,FUSE 1,2,COIL 1,1,Coil feed,400,1,,\nW2,COIL 1,2,ECU,3,Coil 1 primary -,400,1,,\n",
                  "COIL 1,coil,head,PLUG 1,,,yes\nPLUG 1,spark plug,head,,,,\n", AT)  # fmt: skip
    assert design.loops.coils[0].style == "case"
    assert words(spark(design)) == "COIL 1 - plug lead - PLUG 1 - head - COIL 1"
    assert spark(design).at_home


TWO = (
    "F1,BATTERY,+,FUSE 1,1,Battery feed,500,2.5,,\nF2,FUSE 1,2,COIL 1,1,Coil feed,1000,1.5,,\n"
    "P1,COIL 1,2,ECU,3,Coil 1 primary -,800,1,,\nG1,ECU,1,HEAD STUD,,Power ground,500,1.5,,\n"
)
TWO_PARTS = "COIL 1,coil,,PLUG 1,400,,\nPLUG 1,spark plug,head,,,,\nCAP 1,capacitor,,,,{farad},\n"
CAP = "C1,CAP 1,1,COIL 1,1,Coil feed,100,1,,\nC2,CAP 1,2,HEAD STUD,,Capacitor ground,50,1,,\n"


def test_two_terminals_without_a_capacitor_go_round_through_fuse_and_battery() -> None:
    design = loom(TWO, TWO_PARTS.replace("CAP 1,capacitor,,,,{farad},\n", ""))
    loop = spark(design)
    assert design.loops.coils[0].style == "two terminals"
    assert not loop.at_home
    for part in ("BATTERY", "wire F1", "FUSE 1", "wire F2"):
        assert part in " ".join(loop.way)
    assert loop.way.index("wire F1") < loop.way.index("wire F2")
    assert loop.notes == ("no capacitor from the coil's positive to the engine closes it",)


@pytest.mark.parametrize(("farad", "rings"), [("1", True), ("", False), ("0", False)])
def test_a_capacitor_closes_it_at_the_engine(farad: str, rings: bool) -> None:
    straps = "Strap,From body,To body,Length (mm)\nENGINE,engine,battery negative,400\n"
    loop = spark(loom(TWO + CAP, TWO_PARTS.format(farad=farad), straps=straps))
    assert loop.at_home
    assert words(loop) == (
        "COIL 1 - plug lead - PLUG 1 - head - HEAD STUD - wire C2 - CAP 1 - wire C1 - COIL 1"
    )
    assert loop.shape.length_m == pytest.approx(0.4 + 0.05 + 0.1)
    assert any("rings" in note for note in loop.notes) is rings


def test_the_ring_of_capacitor_and_long_way_by_hand() -> None:
    """1 µF with 0.15 m and 1.9 m of 1 µH/m: f = 1 / (2π √(LC))."""
    straps = "Strap,From body,To body,Length (mm)\nENGINE,engine,battery negative,400\n"
    loop = spark(loom(TWO + CAP, TWO_PARTS.format(farad="1"), straps=straps))
    khz = 1 / (2 * math.pi * math.sqrt(1e-6 * (0.15 + 1.9) * 1e-6)) / 1000
    [note] = [note for note in loop.notes if "rings" in note]
    assert f"{khz:.0f} kHz" in note


def test_no_battery_and_no_feed_is_said() -> None:
    design = loom("F2,FUSE 1,2,COIL 1,1,Coil feed,1000,1.5,,\nP1,COIL 1,2,ECU,3,Coil 1 primary -,800,1,,\n",
                  TWO_PARTS.replace("CAP 1,capacitor,,,,{farad},\n", ""))  # fmt: skip
    assert spark(design).shape.lacking == ("a feed of COIL 1 1 from the battery",)
    assert design.loops.primary[0].steps == ()


def test_a_wasted_spark_returns_through_the_head_to_the_second_plug() -> None:
    parts = "COIL 1,coil,head,PLUG 1 + PLUG 4,,,\nPLUG 1,spark plug,head,,300,,\nPLUG 4,spark plug,head,,500,,\n"
    points = "COIL 1,200,0,200\nPLUG 1,0,0,0\nPLUG 4,400,0,0\n"
    design = loom(OWN, parts, points)
    loop = spark(design)
    assert words(loop) == "PLUG 1 - plug lead - COIL 1 - plug lead - PLUG 4 - head - PLUG 1"
    assert loop.at_home
    assert loop.shape.area_m2 == pytest.approx(0.5 * 0.4 * 0.2)
    assert loop.best_area_m2 == pytest.approx((0.3 + 0.5) * 0.03)


def test_two_plugs_on_one_primary_are_a_wasted_spark_and_on_two_are_not() -> None:
    parts = "COIL 1,coil,head,\"PLUG 1, PLUG 4\",,,\n"
    assert loom(OWN, parts).loops.coils[0].style == "wasted spark"
    twin = loom(OWN + "W3,ECU,5,COIL 1,5,Coil 2 input,900,0.5,,\n", parts)
    assert [each.spark.plugs for each in twin.loops.high_voltage] == [("plug 1",), ("plug 4",)]
    assert twin.loops.coils[0].style == "separate ground"


def test_a_distributor_stands_between_coil_and_plugs() -> None:
    parts = (
        "COIL 1,coil,block,DIST,350,,\nDIST,distributor,block,\"PLUG 1, PLUG 2\",,,\n"
        "PLUG 1,spark plug,head,,400,,\nPLUG 2,spark plug,head,,600,,\n"
    )
    design = loom(OWN, parts)
    assert [words(each.loop) for each in design.loops.high_voltage] == [
        f"COIL 1 - plug lead - DIST - plug lead - PLUG {n} - head - HEAD STUD - wire W1 - COIL 1" for n in (1, 2)
    ]
    assert [each.loop.shape.length_m for each in design.loops.high_voltage] == pytest.approx([1.55, 1.75])
    [worst] = design.loops.worst_high_voltage
    assert worst.spark.plugs == ("plug 2",)


@pytest.mark.parametrize("lead", ["L1,COIL 1,HT,PLUG 1,,HT lead", "L1,PLUG 1,,COIL 1,HT,HT lead"])
def test_plug_leads_that_are_wires_run_their_branch(lead: str) -> None:
    """Listed in either direction, the lead's bend counts in the area and the lead is one of the loop's wires."""
    points = "COIL 1,0,0,300\nPLUG 1,400,0,0\nHEAD STUD,0,0,0\nJ,400,0,300\n"
    design = loom(OWN + f'{lead},500,,"HT1, HT2",\n', "COIL 1,coil,block,,,,\nPLUG 1,spark plug,head,,,,\n", points,
                  branches="Branch,From point,To point\nHT1,COIL 1,J\nHT2,J,PLUG 1\n")  # fmt: skip
    loop = spark(design)
    assert "wire L1" in loop.way
    assert [wire.name for wire in loop.wires] == ["L1", "W1"]
    assert loop.shape.area_m2 == pytest.approx(0.4 * 0.3)
    assert loop.leads_m[0].shape == (3, 3)
    assert loop.best_area_m2 == pytest.approx(0.5 * 0.03)


def test_a_coil_drawn_at_its_plug_has_a_bound_and_says_why() -> None:
    loop = spark(loom(OWN, COIL, AT.replace("0,0,150", "0,0,0")))
    assert loop.shape.bound
    assert loop.shape.lacking == ("x, y, z of COIL 1 that differ from those of PLUG 1",)
    assert loop.shape.area_m2 == pytest.approx((0.15 + 0.8 + 0.6) ** 2 / (4 * math.pi))


def test_one_point_that_is_lacking_leaves_the_bound() -> None:
    loop = spark(loom(OWN, COIL, AT.replace("HEAD STUD,600,0,0\n", "")))
    assert loop.shape.bound
    assert loop.shape.lacking == ("x, y, z of HEAD STUD",)


# ---------------------------------------------------------------------- primary, injectors
ENGINE = (
    "F1,BATTERY,+,FUSE 1,1,Battery feed,500,2.5,,\nF2,FUSE 1,2,COIL 1,1,Coil feed,1000,1.5,,\n"
    "W2,ECU,2,COIL 1,2,Coil 1 input,900,0.5,,\nW3,COIL 1,3,HEAD STUD,,Coil ground,300,1.5,,\n"
    "I1,FUSE 1,2,INJ 1,1,Injector feed,700,0.75,,\nI2,INJ 1,2,ECU,20,Injector 1,800,0.75,,\n"
    "G1,ECU,1,HEAD STUD,,Power ground,600,1.5,,\nG2,HEAD STUD,,BATTERY,-,Strap,400,16,,\n"
)


def test_primary_and_injector_run_from_battery_to_battery() -> None:
    design = loom(ENGINE)
    [primary], [injector] = design.loops.primary, design.loops.injectors
    assert words(primary) == "BATTERY - wire F1 - FUSE 1 - wire F2 - COIL 1 - wire W3 - HEAD STUD - strap G2 - BATTERY"
    assert words(injector) == (
        "BATTERY - wire F1 - FUSE 1 - wire I1 - INJ 1 - wire I2 - ECU - wire G1 - HEAD STUD - strap G2 - BATTERY"
    )
    assert primary.shape.length_m == pytest.approx(0.5 + 1.0 + 0.3 + 0.4)
    assert injector.shape.length_m == pytest.approx(0.5 + 0.7 + 0.8 + 0.6 + 0.4)


def test_the_primary_loop_in_place_has_the_area_of_its_corners() -> None:
    points = "BATTERY,0,0,0\nFUSE 1,0,300,0\nCOIL 1,800,300,0\nHEAD STUD,800,0,0\nECU,0,400,0\nINJ 1,500,500,0\n"
    primary = loom(ENGINE, points=points).loops.primary[0]
    assert primary.shape.area_m2 == pytest.approx(0.8 * 0.3)


# ---------------------------------------------------------------------- trigger pairs
PAIR = "T1,CRANK VR,1,ECU,10,Crank +,900,0.5,{b1},{tw}\nT2,{two},Crank -,900,0.5,{b2},{tw}\n"
RING = "ECU,0,0,0\nCRANK VR,800,0,0\nA,800,300,0\nB,0,300,0\n"
RING_BRANCHES = "Branch,From point,To point\nSTRAIGHT,ECU,CRANK VR\nUP,CRANK VR,A\nOVER,A,B\nDOWN,B,ECU\n"


@pytest.mark.parametrize("two", ["CRANK VR,2,ECU,11", "ECU,11,CRANK VR,2"])
def test_signal_and_return_on_different_ways_enclose_what_lies_between(two: str) -> None:
    design = loom(PAIR.format(b1="STRAIGHT", b2='"UP, OVER, DOWN"', tw="", two=two), points=RING, branches=RING_BRANCHES)
    [run], [loop] = design.loops.pairs, design.loops.pair_loops
    assert not run.together
    assert loop.shape.area_m2 == pytest.approx(0.8 * 0.3)
    assert words(loop) == "CRANK VR - wire T1 - ECU - wire T2 - CRANK VR"


@pytest.mark.parametrize(("branch", "tw", "spacing_mm"), [("STRAIGHT", "", 10), ("", "", 10), ("STRAIGHT", "P1", 2)])
def test_a_pair_side_by_side_is_as_wide_as_its_wires_are_apart(branch: str, tw: str, spacing_mm: float) -> None:
    """Also where no branch is named: two wires drawn on one line do not enclose nothing."""
    design = loom(PAIR.format(b1=branch, b2=branch, tw=tw, two="CRANK VR,2,ECU,11"), points=RING, branches=RING_BRANCHES)
    [run], [loop] = design.loops.pairs, design.loops.pair_loops
    assert run.together
    assert run.twisted is bool(tw)
    assert loop.shape.area_m2 == pytest.approx(0.9 * spacing_mm / 1000)


def test_a_pair_of_unlike_ways_without_points_has_the_bound_of_its_length() -> None:
    [loop] = loom(PAIR.format(b1="STRAIGHT", b2='"UP, OVER"', tw="", two="CRANK VR,2,ECU,11")).loops.pair_loops
    assert loop.shape.bound
    assert loop.shape.area_m2 == pytest.approx(1.8**2 / (4 * math.pi))


def test_a_sensor_with_one_wire_has_no_loop_that_is_known() -> None:
    design = loom("T1,CRANK VR,1,ECU,10,Crank +,900,0.5,STRAIGHT,\n", points=RING, branches=RING_BRANCHES)
    [loop] = design.loops.pair_loops
    assert loop.shape.area_m2 is None
    assert "the return of CRANK VR" in loop.shape.lacking


@pytest.mark.parametrize("flip", list(itertools.product((False, True), repeat=4)))
def test_a_sensor_through_a_bulkhead_is_drawn_from_end_to_end(flip: tuple[bool, ...]) -> None:
    """Four wires in either direction, signal and return on different ways up to the bulkhead."""
    rows = [
        ("CRANK VR,1", "BULKHEAD P,1", "Crank +", "STRAIGHT"), ("BULKHEAD S,1", "ECU,10", "Crank +", "REST"),
        ("CRANK VR,2", "BULKHEAD P,2", "Crank -", "UP > OVER > DOWN"), ("BULKHEAD S,2", "ECU,11", "Crank -", "REST"),
    ]  # fmt: skip
    wires = "".join(
        f"T{n},{','.join((b, a) if turn else (a, b))},{signal},900,0.5,{branch},\n"
        for n, ((a, b, signal, branch), turn) in enumerate(zip(rows, flip, strict=True))
    )
    points = RING.replace("ECU,", "BULKHEAD P,") + "ECU,-500,0,0\n"
    branches = RING_BRANCHES.replace(",ECU", ",BULKHEAD P") + "REST,BULKHEAD P,ECU\n"
    design = loom(wires, "BULKHEAD P,connector,,,,,\n", points, branches=branches,
                  mates="Component,Kind,Mates with\nBULKHEAD S,connector,BULKHEAD P\n")  # fmt: skip
    [run] = design.loops.pairs
    assert run.line_m is not None
    assert run.back_m is not None
    assert np.allclose(run.line_m[[0, -1]] * 1000, [[800, 0, 0], [-500, 0, 0]])
    assert np.allclose(run.back_m[[0, -1]] * 1000, [[-500, 0, 0], [800, 0, 0]])
    assert design.loops.pair_loops[0].shape.area_m2 == pytest.approx(0.8 * 0.3)


# ---------------------------------------------------------------------- shared returns and rows
def test_of_several_shared_wires_each_coil_is_told_its_own() -> None:
    wires = (
        "W1,COIL 1,4,SPLICE 1,,High-voltage return,300,1,,\nW2,SPLICE 1,,HEAD STUD,,High-voltage return,300,1,,\n"
        "W3,ECU,1,SPLICE 1,,Power ground,300,1,,\nW4,ECU,2,COIL 1,2,Coil 1 input,300,1,,\n"
        "W5,COIL 2,4,HEAD STUD,,High-voltage return,300,1,,\nW6,ECU,3,COIL 2,2,Coil 2 input,300,1,,\n"
    )
    design = loom(wires)
    shared = [design.loops.shared_return(coil) for coil in design.loops.coils]
    assert [each.wire.name if each else None for each in shared] == ["W2", None]
    assert shared[0] is not None
    assert [device.name for device in shared[0].devices] == ["ECU"]


@pytest.mark.parametrize("seed", range(3))
def test_the_order_of_rows_changes_no_loop(seed: int) -> None:
    rng = random.Random(seed)
    rows, parts = ENGINE.splitlines() + PAIR.format(b1="", b2="", tw="", two="CRANK VR,2,ECU,11").splitlines(), COIL.splitlines()
    points = (AT + "ECU,-300,100,0\nCRANK VR,700,100,0\nBATTERY,0,900,0\nFUSE 1,0,700,0\nINJ 1,300,60,100\n").splitlines()

    def said() -> list[tuple[object, ...]]:
        design = loom("\n".join(rows), "\n".join(parts), "\n".join(points))
        loops = [*(each.loop for each in design.loops.high_voltage), *design.loops.primary, *design.loops.injectors]
        return sorted((*x.subject, x.what, x.way, round(x.shape.area_m2 or 0, 12)) for x in (*loops, *design.loops.pair_loops))

    before = said()
    for each in (rows, parts, points):
        rng.shuffle(each)
    assert said() == before
    assert len(before) == 4


def test_loop_area_names_what_is_lacking() -> None:
    """Every undecided outcome names something."""
    check = CHECKS["ignition.loop_area"]
    assert check.limits is not None
    for points in ("", AT, AT.replace("0,0,150", "0,0,0"), "COIL 1,0,0,0\nPLUG 1,0,0,0\nHEAD STUD,0,0,0\n"):
        for outcome in check.run(loom(OWN, COIL, points), check.limits()):
            assert isinstance(outcome, Finding) or (isinstance(outcome, Undecided) and outcome.missing)
