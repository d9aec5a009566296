"""What is published or known in the trade of splices, cut lengths, shields and CAN buses, held to small lists.

Each fact names its source beside it and whether that was read or is from memory.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from text_lists import design_from, shipped_ruleset

from harnessdrc.checks.registry import load_checks
from harnessdrc.design import Design
from harnessdrc.findings import Finding, Undecided

CHECKS = load_checks()
LIMITS = {rule.check: rule.limits for rule in shipped_ruleset().rules}
_FEW = settings(max_examples=60, deadline=None)


def said(name: str, design: Design) -> list[Finding | Undecided]:
    """All that a check says with the limits of the shipped ruleset."""
    check = CHECKS[name]
    return list(check.run(design, LIMITS[name]))


def found(name: str, design: Design) -> list[Finding]:
    """Its findings."""
    return [outcome for outcome in said(name, design) if isinstance(outcome, Finding)]


# --- CAN --------------------------------------------------------------------------------------------

HEAD = "Wire,From,From cavity,To,To cavity,Colour,Length (m),Signal,Twist group\n"
Hop = tuple[str, str, float]


def bus(hops: list[Hop], *, ohm: dict[str, float] | None = None, rate: float | None = None) -> Design:
    """A bus of stretches between devices and splices (names with SP), with its pins 1 and 2."""
    rows = []
    for number, (one, other, length_m) in enumerate(hops):
        for side, pin, colour in (("high", "1", "YE"), ("low", "2", "GN")):
            ends = [f"{name}{side[0]}," if name.startswith("SP") else f"{name},{pin}" for name in (one, other)]
            rows.append(f"{side}{number},{ends[0]},{ends[1]},{colour},{length_m},CAN {side},T{number}")
    devices = dict.fromkeys(name for one, other, _ in hops for name in (one, other) if not name.startswith("SP"))
    listed = "".join(f"{name},display,{(ohm or {}).get(name, '')},{rate or ''}\n" for name in devices)
    return design_from(
        wires=HEAD + "\n".join(rows) + "\n",
        components="Component,Kind,Terminator (Ω),Bit rate (kbit/s)\n" + listed,
    )


ENDS = {"D0": 120.0, "D3": 120.0}
LINE = [("D0", "SP1", 5.0), ("SP1", "D1", 0.2), ("SP1", "SP2", 10.0), ("SP2", "D2", 0.25), ("SP2", "D3", 5.0)]


def test_two_terminators_of_120_ohm_make_60() -> None:
    """60 Ω seen between the wires (read: manualarchiveguide.com, citing ISO 11898-2)."""
    assert not said("bus.terminators", bus(LINE, ohm=ENDS))
    three = found("bus.terminators", bus(LINE, ohm={**ENDS, "D1": 120.0}))
    assert [f.evidence["seen"] for f in three] == ["40 Ω"]
    one = found("bus.terminators", bus(LINE, ohm={"D0": 120.0}))
    assert [f.evidence["seen"] for f in one] == ["120 Ω"]


@pytest.mark.parametrize(("ohm", "right"), [(100.0, False), (108.0, True), (120.0, True), (132.0, True), (150.0, False)])
def test_a_terminator_has_108_to_132_ohm(ohm: float, right: bool) -> None:
    """Tolerance 108 to 132 Ω (read: manualarchiveguide.com, citing ISO 11898-2)."""
    assert (not said("bus.terminators", bus(LINE, ohm={"D0": 120.0, "D3": ohm}))) is right


@pytest.mark.parametrize(("rate", "length_m"), [(1000, 40), (500, 100), (250, 250), (125, 500)])
def test_the_length_of_a_bus_goes_with_its_bit_rate(rate: int, length_m: float) -> None:
    """1 Mbit/s 40 m (read: easymanua.ls controller manual p. 284), 500k 100 m, 250k 250 m, 125k 500 m (read)."""
    ends = {"D0": 120.0, "D1": 120.0}
    assert not found("bus.length", bus([("D0", "D1", float(length_m))], ohm=ends, rate=rate))
    assert found("bus.length", bus([("D0", "D1", length_m * 1.001)], ohm=ends, rate=rate))


@pytest.mark.parametrize(("rate", "stub_m"), [(1000, 0.3), (500, 0.3), (250, 1.0)])
def test_the_stub_goes_with_the_standard_of_its_bit_rate(rate: int, stub_m: float) -> None:
    """ISO 11898 at 1 Mbit/s 0.3 m, J2284-3 at 500 kbit/s 0.3 m, J1939-11 at 250 kbit/s 1 m (all read)."""
    for length_m, right in ((stub_m, True), (stub_m * 1.01, False)):
        hops = [("D0", "SP1", 5.0), ("SP1", "D1", length_m), ("SP1", "D3", 5.0)]
        assert (not found("bus.stub", bus(hops, ohm=ENDS, rate=rate))) is right


def test_j1939_colours_are_yellow_for_high_and_green_for_low() -> None:
    """CAN_H yellow, CAN_L green (read: tnlab.org on J1939-11)."""
    assert not said("bus.polarity", bus(LINE, ohm=ENDS))
    swapped = "Wire,From,From cavity,To,To cavity,Colour,Signal\nW1,ECU,1,DASH,1,GN,CAN high\nW2,ECU,2,DASH,2,YE,CAN low\n"
    assert [f.variant for f in found("bus.polarity", design_from(wires=swapped))] == ["colour"]


lengths = st.floats(0.05, 30.0).map(lambda m: round(m, 3))


@_FEW
@given(st.lists(lengths, min_size=2, max_size=6), st.lists(lengths, min_size=1, max_size=5))
def test_trunk_and_stubs_are_what_they_were_built_of(trunk: list[float], stubs: list[float]) -> None:
    """Between two terminators the bus is the sum of its stretches, and each stub as long as it was made."""
    stubs = stubs[: len(trunk) - 1]
    joints = [f"SP{number}" for number in range(1, len(trunk))]
    nodes = ["D0", *joints, "D99"]
    hops: list[Hop] = [(one, other, m) for one, other, m in zip(nodes, nodes[1:], trunk, strict=False)]
    hops += [(joint, f"D{number}", m) for number, (joint, m) in enumerate(zip(joints, stubs, strict=False), 1)]
    [made] = bus(hops, ohm={"D0": 120.0, "D99": 120.0}).buses
    way = made.trunk()
    assert way is not None
    assert math.isclose(way.length_m, sum(trunk), rel_tol=1e-9)
    assert {key: round(m, 9) for key, m in way.stubs_m.items()} == {f"d{n}": m for n, m in enumerate(stubs, 1)}


@_FEW
@given(st.lists(lengths, min_size=1, max_size=6), st.randoms(use_true_random=False))
def test_without_terminators_the_bus_runs_between_the_devices_furthest_apart(arms: list[float], rng: object) -> None:
    """On a star of two and more arms that is the sum of the two longest."""
    arms = [*arms, 1.0]
    [made] = bus([("SP1", f"D{number}", m) for number, m in enumerate(arms)]).buses
    way = made.trunk()
    assert way is not None
    longest, second = sorted(arms, reverse=True)[:2]
    assert math.isclose(way.length_m, longest + second, rel_tol=1e-9)


# --- splices ----------------------------------------------------------------------------------------


def spliced(wires: int, away_mm: float) -> Design:
    """A splice of some wires, `away_mm` from a connector by the length of one of them."""
    rows = "".join(f"W{n},SP1,,SENSOR {n},1,900\n" for n in range(2, wires + 1))
    return design_from(wires=f"Wire,From,From cavity,To,To cavity,Length (mm)\nW1,ECU,1,SP1,,{away_mm}\n{rows}")


def test_a_mended_wire_keeps_12_inches_from_a_termination_a_branching_splice_need_not() -> None:
    """AC 43.13-1B: not within 12 in of a termination, save where several wires are joined to one (from memory)."""
    assert [f.variant for f in found("splice.near_end", spliced(2, 12 * 25.4 - 10))] == ["inline"]
    assert not found("splice.near_end", spliced(2, 12 * 25.4))
    assert not found("splice.near_end", spliced(4, 12 * 25.4 - 10))


def test_one_ordinary_splice_per_wire_segment() -> None:
    """AC 43.13-1B: not more than one per segment between two connectors (from memory)."""
    one = "Wire,From,From cavity,To,To cavity\nW1,ECU,1,SP1,\nW2,SP1,,CLT,1\n"
    two = "Wire,From,From cavity,To,To cavity\nW1,ECU,1,SP1,\nW2,SP1,,SP2,\nW3,SP2,,CLT,1\n"
    assert not found("splice.per_wire", design_from(wires=one))
    assert len(found("splice.per_wire", design_from(wires=two))) == 1


@_FEW
@given(st.integers(2, 8), st.permutations(range(1, 9)))
def test_a_run_is_one_however_its_pieces_are_listed(pieces: int, order: list[int]) -> None:
    """Pieces of a wire in any order of rows, either end first, make one run with all its splices."""
    rows = []
    for number in range(1, pieces + 1):
        ends = ("ECU,1" if number == 1 else f"SP{number - 1},", "CLT,1" if number == pieces else f"SP{number},")
        one, other = ends if order[number - 1] % 2 else ends[::-1]
        rows.append((order[number - 1], f"W{number},{one},{other}"))
    text = "Wire,From,From cavity,To,To cavity\n" + "\n".join(row for _, row in sorted(rows)) + "\n"
    outcomes = found("splice.per_wire", design_from(wires=text))
    assert [f.evidence["count"] for f in outcomes] == ([pieces - 1] if pieces > 2 else [])


@_FEW
@given(st.lists(st.sampled_from([0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0]), min_size=2, max_size=8))
def test_areas_in_one_crimp_are_added(sizes: list[float]) -> None:
    """Several wires in one contact: add their areas, NASA-STD-8739.4 (read); metric labels are their areas."""
    rows = "".join(f"W{n},ECU,{n},SP1,,{size}\n" for n, size in enumerate(sizes, 1))
    design = design_from(
        wires="Wire,From,From cavity,To,To cavity,Size (mm²)\n" + rows,
        splices="Splice,Part\nSP1,C\n",
        parts="Part,Kind,Smallest wire (mm²),Largest wire (mm²)\nC,splice,1.5,6\n",
    )
    variants = [f.variant for f in found("splice.crimp", design)]
    whole = sum(sizes)
    assert variants == (["small"] if whole < 1.5 / 1.01 else [""] if whole > 6 * 1.01 else [])


# --- cut lengths ------------------------------------------------------------------------------------


@_FEW
@given(st.lists(st.integers(50, 2000), min_size=1, max_size=6), st.integers(-300, 300))
def test_a_wire_reaches_where_it_is_as_long_as_its_branches_together(spans: list[int], spare_mm: int) -> None:
    """Geometry: along a chain of branches the way is the sum of their lengths, whatever order the cell names them in."""
    whole = sum(spans)
    length_mm = max(10, whole + spare_mm)
    points = ["ECU", *(f"P{n}" for n in range(1, len(spans))), "CLT"]
    branches = "".join(
        f"B{n},{one},{other},{m}\n" for n, (one, other, m) in enumerate(zip(points, points[1:], spans, strict=False))
    )
    names = " > ".join(f"B{n}" for n in reversed(range(len(spans))))
    design = design_from(
        wires=f"Wire,From,From cavity,To,To cavity,Length (mm),Branch\nW1,ECU,1,CLT,1,{length_mm},{names}\n",
        branches="Branch,From point,To point,Length (mm)\n" + branches,
    )
    short = 100 * (1 - length_mm / whole)
    assert bool(found("wire.too_short", design)) is (round(short, 6) > 2.0)
    [wire] = design.harness.wires
    way = design.wire_lengths.way(wire)
    assert way is not None
    assert way.placed
    assert math.isclose((way.low_m or 0.0) * 1000, whole, rel_tol=1e-9)


@_FEW
@given(st.integers(0, 900), st.integers(0, 900))
def test_two_splices_of_one_branch_are_as_far_apart_as_their_distances(one_mm: int, other_mm: int) -> None:
    """Geometry."""
    design = design_from(
        wires="Wire,From,From cavity,To,To cavity,Length (mm),Branch\nW1,SP1,,SP2,,500,B1\nW2,ECU,1,SP1,,900,B1\n"
        "W3,ECU,2,SP1,,900,B1\nW4,SP2,,CLT,1,900,B1\nW5,SP2,,CLT,2,900,B1\n",
        branches="Branch,From point,To point,Length (mm)\nB1,ECU,CLT,900\n",
        splices=f"Splice,Branch,Distance (mm)\nSP1,B1,{one_mm}\nSP2,B1,{other_mm}\n",
    )
    way = design.wire_lengths.way(next(wire for wire in design.harness.wires if wire.name == "W1"))
    assert way is not None
    assert way.low_m is not None
    assert math.isclose(way.low_m * 1000, abs(one_mm - other_mm), abs_tol=1e-6)
    near = found("splice.stagger", design)
    assert bool(near) is (abs(one_mm - other_mm) < 25)
