"""Where things are and which way wires run: against coordinates worked out by hand."""

from __future__ import annotations

import itertools
import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from text_lists import design_from

from harnessdrc.design import Design

HEAD = "Wire,From,From cavity,To,To cavity,Signal,Length (mm),Branch\n"
# a trunk from the controller along x, with a leg up to the sensor at its end and one half way down to the coil
POINTS = "Point,X (mm),Y (mm),Z (mm)\nECU,0,0,0\nJ1,600,0,0\nJ2,1000,0,0\nSENSOR,1000,300,0\nCOIL 1,600,0,-200\n"
BRANCHES = "Branch,From point,To point,Length (mm)\nTRUNK,ECU,J1,600\nREAR,J1,J2,400\nLEG,J2,SENSOR,300\nDROP,COIL 1,J1,200\n"


def loom(wires: str, points: str = POINTS, branches: str = BRANCHES, **tables: str) -> Design:
    """Design with the trunk."""
    return design_from(wires=HEAD + wires, points=points, branches=branches, **tables)


def way_mm(design: Design, wire: str) -> list[list[float]] | tuple[str, ...]:
    """Corners of a wire's way in mm, or what is lacking."""
    line = design.routes.line(next(each for each in design.harness.wires if each.name == wire))
    return line.lacking if line.points_m is None else np.round(line.points_m * 1000, 6).tolist()


THERE = [[0, 0, 0], [600, 0, 0], [1000, 0, 0], [1000, 300, 0]]


@pytest.mark.parametrize(
    ("ends", "cell", "expected"),
    [
        ("ECU,1,SENSOR,1", '"TRUNK, REAR, LEG"', THERE),
        ("ECU,1,SENSOR,1", "TRUNK > REAR > LEG", THERE),
        ("ECU,1,SENSOR,1", '"LEG; TRUNK; REAR"', THERE),
        ("SENSOR,1,ECU,1", '"TRUNK, REAR, LEG"', THERE[::-1]),
        ("ECU,1,SENSOR,1", "TRUNK", THERE),  # the branches between are not named, and found
        ("ECU,1,SENSOR,1", "", [THERE[0], THERE[-1]]),
        ("ECU,1,COIL 1,1", '"TRUNK, DROP"', [[0, 0, 0], [600, 0, 0], [600, 0, -200]]),
        ("COIL 1,1,ECU,1", "DROP + TRUNK", [[600, 0, -200], [600, 0, 0], [0, 0, 0]]),
    ],
)
def test_a_wire_runs_through_its_branches_in_either_direction(
    ends: str, cell: str, expected: list[list[float]]
) -> None:
    assert way_mm(loom(f"W1,{ends},Crank +,900,{cell}\n"), "W1") == expected


def test_a_trunk_is_left_where_the_end_is_nearest() -> None:
    design = loom("W1,ECU,2,INJ 1,1,Injector 1,900,TRUNK\nW2,INJ 1,2,INJ 2,1,Link,200,TRUNK\n",
                  POINTS + "INJ 1,250,80,0\nINJ 2,400,-50,0\n")  # fmt: skip
    assert way_mm(design, "W1") == [[0, 0, 0], [250, 0, 0], [250, 80, 0]]
    assert way_mm(design, "W2") == [[250, 80, 0], [250, 0, 0], [400, 0, 0], [400, -50, 0]]


def test_what_lies_beyond_the_end_of_a_trunk_leaves_it_at_its_end() -> None:
    design = loom("W1,ECU,2,INJ 1,1,Injector 1,900,REAR\n", POINTS + "INJ 1,1200,50,0\n")
    assert way_mm(design, "W1") == [[0, 0, 0], [600, 0, 0], [1000, 0, 0], [1200, 50, 0]]


def test_the_branches_that_a_wire_names_are_taken_and_not_a_shorter_way() -> None:
    branches = BRANCHES + "SHORT,ECU,SENSOR,1044\n"
    wires = 'W1,ECU,1,SENSOR,1,Crank +,900,"TRUNK, REAR, LEG"\nW2,ECU,2,SENSOR,2,Crank -,900,SHORT\n'
    design = loom(wires, branches=branches)
    assert way_mm(design, "W1") == THERE
    assert way_mm(design, "W2") == [THERE[0], THERE[-1]]


def test_a_wire_whose_branch_lies_off_its_way_is_not_drawn() -> None:
    branches = BRANCHES + "SHORT,ECU,SENSOR,1044\nELSEWHERE,P1,P2,100\n"
    design = loom("W1,ECU,1,SENSOR,1,Crank +,900,ELSEWHERE\n", POINTS + "P1,0,5000,0\nP2,0,5100,0\n", branches)
    assert way_mm(design, "W1") == ("branches that join the ends of wire W1 with ELSEWHERE",)


def test_both_halves_of_a_bulkhead_are_where_either_is() -> None:
    design = loom(
        'W1,ECU,1,BULKHEAD P,1,Crank +,600,TRUNK\nW2,BULKHEAD S,1,SENSOR,1,Crank +,700,"REAR, LEG"\n',
        POINTS.replace("J1", "BULKHEAD P"), BRANCHES.replace("J1", "BULKHEAD P"),
        components="Component,Kind,Mates with\nBULKHEAD P,connector,BULKHEAD S\n",
    )  # fmt: skip
    assert way_mm(design, "W1") == THERE[:2]
    assert way_mm(design, "W2") == THERE[1:]


@pytest.mark.parametrize("named", ["ECU", "ECU-B"])
def test_a_connector_is_where_its_component_is_and_the_other_way_round(named: str) -> None:
    design = loom("W1,ECU-B,1,SENSOR,1,Crank +,900,\nW2,ECU-A,1,SENSOR,2,Crank -,900,\n", POINTS.replace("ECU", named),
                  BRANCHES.replace("ECU", named), components="Component,Kind\nECU,controller\n")  # fmt: skip
    assert way_mm(design, "W1") == [THERE[0], THERE[-1]]
    assert np.array_equal(design.routes.at("ecu"), [0, 0, 0])


def test_a_splice_lies_along_its_branch() -> None:
    design = loom("W1,ECU,1,SPLICE 1,,Feed,300,TRUNK\nW2,SPLICE 1,,SENSOR,1,Feed,900,\"TRUNK, REAR, LEG\"\n",
                  splices="Splice,Branch,Distance (mm)\nSPLICE 1,TRUNK,150\n")  # fmt: skip
    assert way_mm(design, "W1") == [[0, 0, 0], [150, 0, 0]]
    assert way_mm(design, "W2") == [[150, 0, 0], *THERE[1:]]


def test_a_splice_in_a_branch_that_ends_at_it_is_nowhere() -> None:
    design = loom("W1,ECU,1,SPLICE 1,,Feed,300,B9\n", branches="Branch,From point,To point\nB9,SPLICE 1,ECU\n",
                  splices="Splice,Branch,Distance (mm)\nSPLICE 1,B9,150\n")  # fmt: skip
    assert design.routes.at("splice 1") is None
    assert way_mm(design, "W1") == ("x, y, z of SPLICE 1",)


def test_what_is_lacking_is_named() -> None:
    design = loom("W1,ECU,1,LAMP,1,Lamp,900,\nW2,ECU,2,SENSOR,1,Crank +,900,\"TRUNK, NOWHERE\"\nW3,ECU,3,COIL 1,1,Coil,9,OPEN\n",
                  branches=BRANCHES + "NOWHERE,J1,J9,100\nOPEN,J1,,100\n")  # fmt: skip
    assert way_mm(design, "W1") == ("x, y, z of LAMP",)
    assert way_mm(design, "W2") == ("x, y, z of j9",)
    assert way_mm(design, "W3") == ("both ends of branch OPEN",)


def test_things_at_one_place_make_a_line_without_length() -> None:
    design = loom("W1,ECU,1,LAMP,1,Lamp,900,TRUNK\n", POINTS + "LAMP,0,0,0\n")
    assert way_mm(design, "W1") == [[0, 0, 0], [0, 0, 0]]


def test_points_in_inches_are_the_same_points() -> None:
    rows = [row.split(",") for row in POINTS.splitlines()[1:]]
    inches = "".join(f"{name},{','.join(f'{float(each) / 25.4:.12f}' for each in xyz)}\n" for name, *xyz in rows)
    wires = 'W1,ECU,1,SENSOR,1,Crank +,900,"TRUNK, REAR, LEG"\n'
    in_mm = loom(wires).routes.line(loom(wires).harness.wires[0]).points_m
    in_inch = loom(wires, "Point,X (in),Y (in),Z (in)\n" + inches).routes.line(loom(wires).harness.wires[0]).points_m
    assert in_mm is not None and in_inch is not None
    assert np.allclose(in_mm, in_inch, rtol=0, atol=1e-9)


@pytest.mark.parametrize("seed", range(4))
def test_the_order_of_rows_changes_no_way(seed: int) -> None:
    """A ring of two ways as long, by which a wire that names neither may get to the branch that it names."""
    branches = ["N1,A,N,", "N2,N,B,", "S1,A,S,", "S2,S,B,", "OUT,B,END,"]
    points = ["A,0,0,0", "N,500,500,0", "S,500,-500,0", "B,1000,0,0", "END,1500,0,0", "ECU,0,0,0", "LAMP,1500,0,0"]
    expected = None
    for number in range(2):
        if number:
            random.Random(seed).shuffle(branches)
            random.Random(seed + 1).shuffle(points)
        design = loom("W1,ECU,1,LAMP,1,Lamp,900,OUT\nW2,A,1,LAMP,2,Lamp,900,OUT\n",
                      "Point,X (mm),Y (mm),Z (mm)\n" + "\n".join(points),
                      "Branch,From point,To point,Length (mm)\n" + "\n".join(branches))  # fmt: skip
        found = [way_mm(design, "W1"), way_mm(design, "W2")]
        expected = expected or found
        assert found == expected
    assert expected[1] == [[0, 0, 0], [500, 500, 0], [1000, 0, 0], [1500, 0, 0]]


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.tuples(*[st.integers(-2000, 2000)] * 3), min_size=2, max_size=6),
    st.randoms(use_true_random=False),
)
def test_a_chain_of_branches_is_walked_from_end_to_end(places: list[tuple[int, int, int]], rng: random.Random) -> None:
    names = [f"N{n}" for n in range(len(places))]
    ends = {0: "ECU", len(places) - 1: "SENSOR"}
    names = [ends.get(n, name) for n, name in enumerate(names)]
    rows = [f"B{n},{one},{other}," for n, (one, other) in enumerate(itertools.pairwise(names))]
    cell = " > ".join(f"B{n}" for n in range(len(rows)))
    rng.shuffle(rows)
    points = "".join(f"{name},{x},{y},{z}\n" for name, (x, y, z) in zip(names, places, strict=True))
    design = loom(f"W1,SENSOR,1,ECU,1,Crank +,900,{cell}\n", "Point,X (mm),Y (mm),Z (mm)\n" + points,
                  "Branch,From point,To point,Length (mm)\n" + "\n".join(rows))  # fmt: skip
    kept = [places[-1]] + [p for p, after in zip(places[-2::-1], places[:0:-1], strict=True) if p != after]
    expected = [list(map(float, p)) for p in (kept if len(kept) > 1 else kept * 2)]
    assert way_mm(design, "W1") == expected
