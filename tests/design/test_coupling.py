"""What loops induce in trigger pairs: against an independent field library, and under shift, turn and order of rows."""

from __future__ import annotations

import math
import random
from collections.abc import Callable

import magpylib
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from text_lists import design_from

from harnessdrc.design import Design
from harnessdrc.design.loops import Pickup
from harnessdrc.physics.polylines import ribbon
from harnessdrc.physics.twisting import twist_reduction

Floats = np.ndarray
PLACES = {
    "COIL 1": (0.0, 80.0, 150.0), "PLUG 1": (0.0, 80.0, 0.0), "HEAD STUD": (500.0, 110.0, 20.0),
    "ECU": (-100.0, 0.0, 0.0), "J1": (350.0, 0.0, 0.0), "CRANK VR": (600.0, -250.0, 60.0),
}  # fmt: skip


def loom(
    places: dict[str, tuple[float, float, float]] = PLACES, pair: str = ',,,', shuffled: int | None = None,
    unit: str = "mm", more: str = "", parts: str = "", given: dict[str, float] | None = None,
) -> Design:
    """A coil on its plug with its return at a stud, and a crank sensor whose pair bends once; `pair` is twist, lay, end."""
    rows = [
        f'W1,CRANK VR,1,ECU,10,Crank +,,"B1, B2",{pair}', f'W2,CRANK VR,2,ECU,11,Crank -,,"B1, B2",{pair}',
        "W3,COIL 1,4,HEAD STUD,,High-voltage return,700,,,,,", "W4,ECU,2,COIL 1,2,Coil 1 input,900,,,,,",
        *more.splitlines(),
    ]  # fmt: skip
    points = [f"{name},{x:.12f},{y:.12f},{z:.12f}" for name, (x, y, z) in places.items()]
    branches = ["B1,ECU,J1,", "B2,J1,CRANK VR,"]
    if shuffled is not None:
        for each in (rows, points, branches):
            random.Random(shuffled).shuffle(each)
    return design_from(
        given,
        wires="Wire,From,From cavity,To,To cavity,Signal,Length (mm),Branch,Twist group,Lay (mm),Untwisted end (mm),Shield\n"
        + "\n".join(rows),
        components="Component,Kind,Place,Fires\nCOIL 1,coil,head,PLUG 1\nPLUG 1,spark plug,head,\n"
        f"CRANK VR,reluctor sensor,block,\n{parts}",
        earth_points="Earth point,Body\nHEAD STUD,head\n",
        branches="Branch,From point,To point,Length (mm)\n" + "\n".join(branches),
        points=f"Point,X ({unit}),Y ({unit}),Z ({unit})\n" + "\n".join(points),
    )  # fmt: skip


def pickup(design: Design) -> Pickup:
    """What the coil's high-voltage loop induces in the crank sensor's pair."""
    [found] = [p for p in design.coupling.pickups[0] if p.loop.what == "high-voltage return"]
    return found


def in_metres(*names: str) -> Floats:
    """Places in m."""
    return np.array([PLACES[name] for name in names]) / 1000


def flux_h(loop: Floats, victim: Floats, points: int = 12) -> float:
    """Flux of 1 A in a closed loop through a ribbon, by magpylib's field and Gauss's rule over its strips.

    A ribbon's corners are its one wire out and its other wire back; each strip between two pairs of corners is a
    quadrilateral, bilinear in two coordinates.
    """
    wire = magpylib.current.Polyline(current=1.0, vertices=np.vstack((loop, loop[:1])))
    half = len(victim) // 2
    out, back = victim[:half], victim[half:][::-1]
    nodes, weights = np.polynomial.legendre.leggauss(points)
    nodes, weights = (nodes + 1) / 2, weights / 2
    total = 0.0
    for n in range(half - 1):
        pieces = 24
        for k in range(pieces):
            u = (k + nodes) / pieces
            for v, weight_v in zip(*np.polynomial.legendre.leggauss(6), strict=True):
                v, weight_v = (v + 1) / 2, weight_v / 2
                one = out[n] + u[:, None] * (out[n + 1] - out[n])
                other = back[n] + u[:, None] * (back[n + 1] - back[n])
                at = one + v * (other - one)
                along = (1 - v) * (out[n + 1] - out[n]) + v * (back[n + 1] - back[n])
                normal = np.cross(along, other - one)
                field = wire.getB(at)
                total += float(np.sum(weights * np.einsum("ij,ij->i", field, normal)) * weight_v / pieces)
    return abs(total)


COIL_LOOP = in_metres("COIL 1", "PLUG 1", "HEAD STUD")
PAIR_LINE = in_metres("CRANK VR", "J1", "ECU")


@pytest.fixture(scope="module")
def loose_by_library() -> float:
    """The loose pair, 10 mm apart, in the worse of all directions, by magpylib."""
    return math.hypot(*(flux_h(COIL_LOOP, ribbon(PAIR_LINE, 0.010, turned)) for turned in (False, True)))


def test_a_loose_pair_against_the_field_library(loose_by_library: float) -> None:
    assert pickup(loom()).mutual_h == pytest.approx(loose_by_library, rel=1e-3)


def test_a_twisted_pair_keeps_its_lay_and_its_ends_against_the_field_library() -> None:
    """Twisted run 2 mm wide less what the lay takes off, and two ends of 50 mm that are 10 mm wide."""
    ends, line = 0.05, PAIR_LINE
    first, last = (line[1] - line[0]) / np.linalg.norm(line[1] - line[0]), (line[2] - line[1]) / np.linalg.norm(line[2] - line[1])
    run = np.array([line[0] + ends * first, line[1], line[2] - ends * last])
    parts = [(run, 0.002), (np.array([line[0], run[0]]), 0.010), (np.array([run[2], line[2]]), 0.010)]
    flux = [math.hypot(*(flux_h(COIL_LOOP, ribbon(p, s, turned)) for turned in (False, True))) for p, s in parts]
    twist = twist_reduction(0.05)
    found = pickup(loom(pair="T1,50,50,"))
    for db, mutual in ((twist.db, found.mutual_h), (twist.high_db, found.low_h), (twist.low_db, found.high_h)):
        assert mutual == pytest.approx(flux[0] * 10 ** (-db / 20) + flux[1] + flux[2], rel=1e-3)


def test_the_best_layout_against_the_field_library() -> None:
    """The plug lead with its return 30 mm beside it, in the worse direction of it and of the pair."""
    victims = [ribbon(PAIR_LINE, 0.010, turned) for turned in (False, True)]
    lead = in_metres("COIL 1", "PLUG 1")
    both = [math.hypot(*(flux_h(ribbon(lead, 0.030, turned), v) for v in victims)) for turned in (False, True)]
    assert pickup(loom()).best_h == pytest.approx(math.hypot(*both), rel=1e-3)


def test_signal_and_return_apart_against_the_field_library() -> None:
    """The pair as a loop with a return straight across: a triangle, taken as a ribbon of two strips."""
    wires = "W1,CRANK VR,1,ECU,10,Crank +,,\"B1, B2\"\nW2,CRANK VR,2,ECU,11,Crank -,,B9\nW3,COIL 1,4,HEAD STUD,,High-voltage return,700,\nW4,ECU,2,COIL 1,2,Coil 1 input,900,\n"
    design = design_from(
        wires="Wire,From,From cavity,To,To cavity,Signal,Length (mm),Branch\n" + wires,
        components="Component,Kind,Place,Fires\nCOIL 1,coil,head,PLUG 1\nPLUG 1,spark plug,head,\nCRANK VR,reluctor sensor,block,\n",
        earth_points="Earth point,Body\nHEAD STUD,head\n",
        branches="Branch,From point,To point\nB1,ECU,J1\nB2,J1,CRANK VR\nB9,ECU,CRANK VR\n",
        points="Point,X (mm),Y (mm),Z (mm)\n" + "\n".join(f"{n},{x},{y},{z}" for n, (x, y, z) in PLACES.items()),
    )  # fmt: skip
    a, b, c = PAIR_LINE
    strip = np.array([a, b, c, c, (a + c) / 2, a])  # signal out, return back, in two strips
    assert pickup(design).mutual_h == pytest.approx(flux_h(COIL_LOOP, strip, 24), rel=1e-3)
    run = design.loops.pairs[0]
    assert not run.together


# ---------------------------------------------------------------------- invariance
def turned_about(axis: tuple[float, float, float], degrees: float) -> Floats:
    """Matrix of a turn."""
    x, y, z = np.array(axis) / np.linalg.norm(axis)
    k = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    angle = math.radians(degrees)
    return np.eye(3) + math.sin(angle) * k + (1 - math.cos(angle)) * k @ k


def placed(move: Callable[[Floats], Floats]) -> dict[str, tuple[float, float, float]]:
    """All places moved."""
    return {name: tuple(move(np.array(xyz)).tolist()) for name, xyz in PLACES.items()}  # type: ignore[misc]


def figures(design: Design) -> list[float]:
    """Ratio of areas, ratio of couplings, and both couplings."""
    found = pickup(design)
    assert found.best_h
    assert found.loop.area_ratio is not None
    return [found.loop.area_ratio, found.mutual_h / found.best_h, found.mutual_h, found.best_h]


AS_IT_IS = figures(loom())


@pytest.mark.parametrize(
    "move",
    [
        lambda p: p + np.array((1234.5, -678.9, 250.0)),
        lambda p: turned_about((1, 0, 0), 90) @ p,
        lambda p: turned_about((0, 1, 0), 90) @ p,
        lambda p: turned_about((0, 0, 1), 90) @ p,
        lambda p: turned_about((1, -2, 0.5), 37) @ p + [10.0, 20.0, 30.0],
    ],
    ids=["shift", "x", "y", "z", "general"],
)
def test_shift_and_turn_change_nothing(move: Callable[[Floats], Floats]) -> None:
    """All but the coupling of the best layout, whose straight lead is led along in two directions of the drawing."""
    found = figures(loom(placed(move)))
    assert found[0] == pytest.approx(AS_IT_IS[0], rel=1e-6)
    assert found[2] == pytest.approx(AS_IT_IS[2], rel=1e-6)
    assert found[1] == pytest.approx(AS_IT_IS[1], rel=2e-2)
    assert found[3] == pytest.approx(AS_IT_IS[3], rel=2e-2)


@pytest.mark.parametrize("seed", range(4))
def test_the_order_of_rows_changes_nothing(seed: int) -> None:
    assert figures(loom(shuffled=seed)) == pytest.approx(AS_IT_IS, rel=1e-12)


def test_units_of_the_coordinates_change_nothing() -> None:
    inches = {name: (x / 25.4, y / 25.4, z / 25.4) for name, (x, y, z) in PLACES.items()}
    assert figures(loom(inches, unit="in")) == pytest.approx(AS_IT_IS, rel=1e-9)


@settings(max_examples=15, deadline=None)
@given(st.tuples(*[st.floats(-1000, 1000)] * 3), st.floats(-180, 180), st.tuples(*[st.floats(-5000, 5000)] * 3))
def test_any_shift_and_turn_leaves_what_is_induced(
    axis: tuple[float, float, float], degrees: float, shift: tuple[float, float, float]
) -> None:
    turn = turned_about(axis if np.linalg.norm(axis) > 1e-3 else (0, 0, 1), degrees)
    found = figures(loom(placed(lambda p: turn @ p + shift)))
    assert [found[0], found[2]] == pytest.approx([AS_IT_IS[0], AS_IT_IS[2]], rel=1e-5)


@pytest.mark.parametrize("turn", [np.eye(3), turned_about((0, 0, 1), 90), turned_about((1, 2, 3), 77)])
def test_a_pair_that_lies_in_the_loop_is_moved_aside_the_same_way_in_any_drawing(turn: Floats) -> None:
    """The return of the coil runs along the pair itself, which is then 30 mm beside it."""
    through = {**PLACES, "COIL 1": (-100.0, 0.0, 150.0), "PLUG 1": (-100.0, 0.0, 0.0), "HEAD STUD": (300.0, 0.0, 0.0)}
    straight = pickup(loom(through)).mutual_h
    moved = {name: tuple((turn @ np.array(xyz)).tolist()) for name, xyz in through.items()}
    found = pickup(loom(moved))
    assert found.distance_m == pytest.approx(0.0, abs=1e-9)
    assert found.mutual_h == pytest.approx(straight, rel=1e-5)
    assert 1e-9 < found.mutual_h < 1e-6


# ---------------------------------------------------------------------- branches alone, and odd drawings
HEAD = "Wire,From,From cavity,To,To cavity,Signal,Length (mm),Branch,Twist group,Lay (mm),Untwisted end (mm)\n"
BESIDE = (
    "W1,CRANK VR,1,ECU,10,Crank +,900,{pair}\nW2,CRANK VR,2,ECU,11,Crank -,900,{pair}\n"
    "W3,COIL 1,4,HEAD STUD,,High-voltage return,{length},{coil},,,\nW4,ECU,2,COIL 1,2,Coil 1 input,900,,,,\n"
)


def beside(pair: str = "B1,,,", coil: str = "B1", length: str = "600", given: dict[str, float] | None = None) -> Design:
    """No points: pair and return share branches."""
    return design_from(
        given, wires=HEAD + BESIDE.format(pair=pair, coil=coil, length=length),
        components="Component,Kind,Place\nCOIL 1,coil,head\nCRANK VR,reluctor sensor,block\n",
        earth_points="Earth point,Body\nHEAD STUD,head\n",
        branches="Branch,From point,To point,Length (mm)\nB1,ECU,J1,500\nB2,J1,CRANK VR,400\n",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("pair", "coil", "length", "along_m"),
    [
        ("B1,,,", "B1", "600", 0.5), ("B1,,,", "B1", "300", 0.3), ("B1,,,", "B1", "", 0.5),
        ('"B1, B2",,,', '"B2, B1"', "2000", 0.9), ('"B1, B2",,,', "B2", "2000", 0.4),
    ],
)  # fmt: skip
def test_in_one_branch_a_wire_is_beside_a_narrow_rectangle(pair: str, coil: str, length: str, along_m: float) -> None:
    """10 mm wide, its middle 30 mm away: 2e-7 l ln(35/25)."""
    assert pickup(beside(pair, coil, length)).mutual_h == pytest.approx(2e-7 * along_m * math.log(35 / 25), rel=1e-12)


@pytest.mark.parametrize(("end", "end_m"), [("", 0.04), ("0", 0.0), ("100", 0.1), ("2000", 0.25)])
def test_in_one_branch_a_twisted_pair_keeps_its_ends(end: str, end_m: float) -> None:
    """The run 2 mm wide less 43 to 37 dB for 30 to 50 mm, the ends 10 mm wide; never longer than the run."""
    found = pickup(beside(f"B1,T1,40,{end}"))
    twist = twist_reduction(0.04)
    for db, mutual in ((twist.db, found.mutual_h), (twist.high_db, found.low_h), (twist.low_db, found.high_h)):
        run = 2e-7 * (0.5 - 2 * end_m) * math.log(31 / 29) * 10 ** (-db / 20)
        assert mutual == pytest.approx(run + 2e-7 * 2 * end_m * math.log(35 / 25), rel=1e-9)


def test_in_other_branches_nothing_is_counted_and_the_coil_is_told() -> None:
    [margin] = beside(coil="B2").margins.all
    assert margin.pickups == ()
    assert "x, y, z of COIL 1" in margin.lacking


def test_loops_without_number_are_bounded_and_the_strongest_is_among_them() -> None:
    """Sixty coils in one branch: a dozen are kept, among them the one that runs along the pair for longest."""
    coils = "".join(
        f"C{n},COIL {n},4,HEAD STUD,,High-voltage return,{300 + (n * 7) % 61},B1,,,\n"
        f"D{n},ECU,{20 + n},COIL {n},2,Coil {n} input,900,,,,\n"
        for n in range(1, 61)
    )
    pair = "W1,CRANK VR,1,ECU,10,Crank +,900,B1,,,\nW2,CRANK VR,2,ECU,11,Crank -,900,B1,,,\n"
    design = design_from(wires=HEAD + pair + coils, components="Component,Kind,Place\nCRANK VR,reluctor sensor,block\n",
                         earth_points="Earth point,Body\nHEAD STUD,head\n",
                         branches="Branch,From point,To point,Length (mm)\nB1,ECU,CRANK VR,500\n")  # fmt: skip
    [found] = design.coupling.pickups
    lengths = [each.loop.wires[0].length_m for each in found]
    assert len(found) == 12
    assert lengths == sorted(((300 + (n * 7) % 61) / 1000 for n in range(1, 61)), reverse=True)[:12]
    assert design.margins.all[0].lacking == ()


def test_a_loop_that_goes_out_and_back_in_the_pairs_branch_counts_as_two_wires() -> None:
    """An injector fed and switched through the branch of the pair: two wires 10 mm apart, 30 mm beside it."""
    more = (
        'I1,BATTERY,+,INJ 1,1,Injector feed,,"B1, B2",,,,\nI2,INJ 1,2,ECU,20,Injector 1,,"B1, B2",,,,\n'
        "G1,ECU,1,BATTERY,-,Power ground,100,,,,,"
    )
    places = {**PLACES, "INJ 1": PLACES["CRANK VR"], "BATTERY": PLACES["ECU"]}
    design = loom(places, more=more)
    [found] = [p for p in design.coupling.pickups[0] if p.loop.what == "injector"]
    line_m = float(np.linalg.norm(np.diff(PAIR_LINE, axis=0), axis=1).sum())
    assert found.loop.shape.area_m2 == pytest.approx(0.0, abs=1e-12)
    assert set(design.loops.pairs[0].branches) == {"b1", "b2"}
    assert found.mutual_h == pytest.approx(2e-7 * line_m * (math.log(35 / 25) - math.log(45 / 35)), rel=1e-6)


@pytest.mark.parametrize("stud", [(0.0, 80.0, 0.0), (0.0, 80.0, 0.001)])
def test_a_return_drawn_along_the_lead_counts_as_the_best_layout(stud: tuple[float, float, float]) -> None:
    found = pickup(loom({**PLACES, "HEAD STUD": stud}))
    assert found.best_h
    assert found.mutual_h == pytest.approx(found.best_h)


@settings(max_examples=25, deadline=None)
@given(st.dictionaries(st.sampled_from(sorted(PLACES)), st.tuples(*[st.sampled_from((0.0, 1e-9, 30.0, 300.0))] * 3)))
def test_no_drawing_gives_anything_but_numbers(changed: dict[str, tuple[float, float, float]]) -> None:
    """Places in one another, on one line, in a plane."""
    for pair in (",,,", "T1,40,40,", "T1,40,0,"):
        design = loom({**PLACES, **changed}, pair)
        for each in design.coupling.pickups[0]:
            assert all(math.isfinite(h) and h >= 0.0 for h in (each.mutual_h, each.low_h, each.high_h, each.best_h or 0.0))
        for margin in design.margins.all:
            assert not np.isnan(margin.db).any()
            assert margin.known or margin.lacking
