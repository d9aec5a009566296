"""The network solver against worked cases, networkx, a circuit simulator, and the laws of every network."""

from __future__ import annotations

import math
import random
import shutil
import subprocess
import sys
from pathlib import Path

import networkx as nx
import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from harnessdrc.physics import meshes
from harnessdrc.physics.network import Branch, Network, Solution, Unsolvable, prepare, solve

Net = tuple[int, list[Branch]]


def solved(*args: object, **kwargs: object) -> Solution:
    found = solve(*args, **kwargs)  # type: ignore[arg-type]
    assert isinstance(found, Solution), found
    return found


def ready(*args: object, **kwargs: object) -> Network:
    found = prepare(*args, **kwargs)  # type: ignore[arg-type]
    assert isinstance(found, Network), found
    return found


def balance(count: int, branches: list[Branch], injected: np.ndarray, found: Solution) -> None:
    """Kirchhoff's current law at every node, worked out here once more from what is given out."""
    left_a, meeting_a = injected.astype(float).copy(), np.abs(injected).astype(float)
    for (i, j, _), amps in zip(branches, found.branch_amps, strict=True):
        assert amps is not None
        left_a[i] -= amps
        left_a[j] += amps
        meeting_a[i] += abs(amps)
        meeting_a[j] += abs(amps)
    for node, amps in found.reference_amps.items():
        assert amps is not None
        left_a[node] -= amps
        meeting_a[node] += abs(amps)
    allowed_a = 2e-9 * meeting_a + 1e-11 * meeting_a.max(initial=0.0)
    assert (np.abs(left_a) <= allowed_a).all(), (left_a, meeting_a)


ohms = st.floats(-4, 1).map(lambda power: 10.0**power)


@st.composite
def networks(draw: st.DrawFn, *, largest: int = 14) -> Net:
    """Connected network of 0.1 mΩ to 10 Ω: a tree and further branches, some parallel, some self-looped."""
    count = draw(st.integers(2, largest))
    branches = [(draw(st.integers(0, k - 1)), k, draw(ohms)) for k in range(1, count)]
    node = st.integers(0, count - 1)
    branches += draw(st.lists(st.tuples(node, node, ohms), max_size=count))
    return count, branches


@st.composite
def driven(draw: st.DrawFn) -> tuple[int, list[Branch], np.ndarray]:
    count, branches = draw(networks())
    amps = st.floats(-200, 200).filter(lambda a: a == 0 or abs(a) > 1e-3)
    return count, branches, np.array(draw(st.lists(amps, min_size=count, max_size=count)))


# Worked cases


def test_controller_earthed_at_engine_and_battery() -> None:
    """200 A into the block; strap 1 mΩ to the battery, the controller's two earth legs 25 mΩ each.

    Worked by hand: 200/51 A in the legs, the rest in the strap, half the strap's drop at the controller.
    """
    names = ["battery negative", "block", "controller"]
    found = solved(names, [(1, 0, 1e-3), (1, 2, 25e-3), (2, 0, 25e-3)], {1: 200.0}, [0])
    assert found.branch_amps[1] == pytest.approx(3.92157, abs=5e-6)
    assert found.branch_amps[1] == pytest.approx(200 / 51, rel=1e-12)
    assert found.branch_amps[0] == pytest.approx(196.078, abs=5e-4)
    assert found.volts[2] * 1e3 == pytest.approx(98.0392, abs=5e-5)
    assert found.reference_amps == {0: pytest.approx(200.0, rel=1e-12)}


def test_controller_with_its_strap_open() -> None:
    found = solved(3, [(1, 0, math.inf), (1, 2, 25e-3), (2, 0, 25e-3)], {1: 200.0})
    assert found.branch_amps[0] == 0.0
    assert found.branch_amps[2] == pytest.approx(200.0)
    assert found.volts[2] == pytest.approx(5.0)


def test_battery_behind_its_inner_resistance() -> None:
    """12.6 V behind 10 mΩ on 90 mΩ: 126 A, and 11.34 V at the post."""
    found = solved(2, [(0, 1, 0.010), (1, 0, 0.090)], {}, emf_v=[12.6, 0.0])
    assert found.branch_amps == (pytest.approx(126.0), pytest.approx(126.0))
    assert found.volts[1] == pytest.approx(11.34)
    assert found.reference_amps[0] == pytest.approx(0.0, abs=1e-9)


def test_wheatstone_bridge_out_of_balance() -> None:
    """1, 2, 3 and 4 Ω with 5 Ω across, 1 A through: the two middle equations written out by hand."""
    branches = [(1, 2, 1.0), (1, 3, 2.0), (2, 0, 3.0), (3, 0, 4.0), (2, 3, 5.0)]
    found = solved(4, branches, {1: 1.0})
    # nodal equations at left and right for v_top = 1: (1+1/3+1/5) l - r/5 = 1; -l/5 + (1/2+1/4+1/5) r = 1/2
    left, right = np.linalg.solve([[23 / 15, -0.2], [-0.2, 0.95]], [1.0, 0.5])
    top = found.volts[1]
    assert found.volts[2] / top == pytest.approx(left)
    assert found.volts[3] / top == pytest.approx(right)
    assert top == pytest.approx(1 / ((1 - left) / 1 + (1 - right) / 2))


def test_series_and_parallel() -> None:
    wires = ready(3, [(0, 1, 2.0), (0, 1, 2.0), (1, 2, 3.0), (2, 2, 7.0)])
    assert wires.resistance_between_ohm(0, 2) == pytest.approx(4.0)
    assert wires.resistance_between_ohm(2, 0) == pytest.approx(4.0)
    assert wires.resistance_between_ohm(1, 1) == 0.0
    found = wires.solve([0.0, 0.0, 1.0])
    assert isinstance(found, Solution)
    assert found.branch_amps == pytest.approx((-0.5, -0.5, -1.0, 0.0))


def test_a_source_looped_on_itself_drives_its_own_current_only() -> None:
    found = solved(2, [(0, 1, 1.0), (1, 1, 2.0)], {1: 1.0}, emf_v=[0.0, 6.0])
    assert found.volts[1] == pytest.approx(1.0)
    assert found.branch_amps[1] == pytest.approx(3.0)


def test_nothing_but_the_reference() -> None:
    found = solved(1, [], {0: 3.0})
    assert found.volts.tolist() == [0.0] and found.branch_amps == ()
    assert found.reference_amps == {0: 3.0}


# Joins without resistance


def test_current_in_a_tree_of_solid_joins() -> None:
    """A splice of four wires: each joint carries its wire's current."""
    branches = [(0, 1, 0.0), (1, 2, 0.0), (1, 3, 0.0), (2, 4, 2.0), (3, 5, 1.0)]
    found = solved(6, branches, {4: 2.0, 5: 3.0, 2: 0.5})
    assert found.branch_amps == pytest.approx((-5.5, -2.5, -3.0, -2.0, -3.0))
    assert found.volts == pytest.approx([0, 0, 0, 0, 4, 3])
    assert found.reference_amps == {0: pytest.approx(5.5)}
    assert found.undetermined == ()


def test_loop_of_solid_joins_is_named_and_the_rest_is_still_told() -> None:
    names = ["star", "a", "b", "c", "load"]
    branches = [(0, 1, 0.0), (1, 2, 0.0), (2, 0, 0.0), (2, 3, 0.0), (3, 4, 1.0)]
    found = solved(names, branches, {4: 2.0})
    assert found.branch_amps == (None, None, None, pytest.approx(-2.0), pytest.approx(-2.0))
    assert found.undetermined == (0, 1, 2)
    assert found.undetermined_names == ("star to a", "a to b", "b to star")
    assert found.volts[4] == pytest.approx(2.0)
    named = solved(names, branches, {4: 2.0}, branch_names=["J1", "J2", "J3", "J4", "W1"])
    assert named.undetermined_names == ("J1", "J2", "J3")


def test_doubled_join_and_join_on_itself_are_loops() -> None:
    found = solved(3, [(0, 1, 0.0), (0, 1, 0.0), (1, 2, 1.0), (2, 2, 0.0)], {2: 1.0})
    assert found.branch_amps == (None, None, pytest.approx(-1.0), None)
    assert found.undetermined == (0, 1, 3)


def test_two_references() -> None:
    apart = solved(3, [(0, 1, 1.0), (1, 2, 3.0)], {1: 4.0}, [0, 2])
    assert apart.reference_amps == {0: pytest.approx(3.0), 2: pytest.approx(1.0)}
    joined = solved(3, [(0, 2, 0.0), (0, 1, 1.0)], {1: 4.0}, [0, 2])
    assert joined.reference_amps == {0: None, 2: None}
    assert joined.branch_amps == (None, pytest.approx(-4.0))
    assert joined.undetermined_names == ("node 0 to node 2",)


@given(driven(), st.data())
def test_solid_joins_are_the_limit_of_small_resistances(
    case: tuple[int, list[Branch], np.ndarray], data: st.DataObject
) -> None:
    count, branches, injected = case
    solid = data.draw(st.sets(st.sampled_from(range(count - 1)), max_size=count - 1))
    tree = branches[: count - 1]  # a tree has no loop of joins
    exact = solved(count, [(i, j, 0.0 if k in solid else r) for k, (i, j, r) in enumerate(tree)], injected)
    near = solved(count, [(i, j, 1e-9 if k in solid else r) for k, (i, j, r) in enumerate(tree)], injected)
    largest = np.abs(injected).sum() + 1e-30
    assert exact.branch_amps == pytest.approx(near.branch_amps, rel=1e-6, abs=1e-9 * largest)
    assert exact.volts == pytest.approx(near.volts, rel=1e-5, abs=count * 2e-9 * largest)
    balance(count, tree, injected, exact)


# What cannot be solved


def test_floating_parts_are_named() -> None:
    names = ["battery negative", "block", "sensor shield", "coil 1", "coil 2"]
    found = solve(names, [(0, 1, 0.01), (3, 4, 0.0)], {3: 1.0})
    assert isinstance(found, Unsolvable)
    assert found.floating == ((2,), (3, 4))
    assert found.reasons == (
        "sensor shield has no way to the reference",
        "coil 1, coil 2 have no way to the reference",
    )


def test_an_open_branch_is_no_way() -> None:
    found = solve(["battery negative", "block"], [(0, 1, math.inf)], {1: 1.0})
    assert isinstance(found, Unsolvable) and found.floating == ((1,),)


def test_many_floating_nodes_are_counted() -> None:
    found = prepare(2001, [(k, k + 1, 1.0) for k in range(1, 2000)])
    assert isinstance(found, Unsolvable)
    assert found.reasons[0].endswith("node 8 and 1992 more have no way to the reference")
    assert found.floating == (tuple(range(1, 2001)),)


def test_no_reference_at_all() -> None:
    found = solve(2, [(0, 1, 1.0)], {}, [])
    assert isinstance(found, Unsolvable) and "no node is given as the reference" in found.reasons[0]


def test_a_source_without_inner_resistance_is_named() -> None:
    found = solve(["negative", "positive"], [(0, 1, 0.0)], {}, emf_v=[12.6], branch_names=["battery"])
    assert isinstance(found, Unsolvable)
    assert found.reasons == ("battery is a source of 12.6 V without inner resistance",)


def meshed(ohm: float) -> list[Branch]:
    """Four bodies strapped crosswise with 0.1 mΩ, each held to earth, node 0, through `ohm`."""
    bodies = range(1, 5)
    return [
        *((i, j, 1e-4) for i in bodies for j in bodies if i < j),
        *((i, 0, ohm) for i in bodies),
    ]


@pytest.mark.parametrize("ohm", [1e15, 1e20, 1e300])
def test_meshes_too_far_apart_are_told_and_never_called_singular(ohm: float) -> None:
    """Meshes of straps held to earth through insulation alone: beyond double precision."""
    names = ["earth", "block", "head", "gearbox", "bracket"]
    found = solve(names, meshed(ohm), {1: 1.0, 2: -0.5})
    assert isinstance(found, Unsolvable)
    told = found.reasons[0]
    assert "the currents at " in told and "do not balance" in told and f"{ohm:g} Ω" in told
    assert any(name in told for name in names[1:])
    assert "singular" not in told
    with pytest.raises(ArithmeticError, match="do not balance"):
        ready(names, meshed(ohm)).resistance_between_ohm(0, 2)


def test_meshes_beside_a_gigohm_are_no_trouble() -> None:
    found = solved(5, meshed(1e9), {1: 1.0, 2: -0.5})
    balance(5, meshed(1e9), np.array([0, 1.0, -0.5, 0, 0]), found)
    assert found.volts[1:] == pytest.approx([0.5 * 1e9 / 4] * 4)
    # between 1 and 2 a complete graph of four has half the resistance of one strap
    assert ready(5, meshed(1e9)).resistance_between_ohm(1, 2) == pytest.approx(0.5e-4)


@pytest.mark.parametrize("ohm", [1.0, 1e9, 1e15])
def test_a_tree_keeps_its_figures_whatever_its_resistances(ohm: float) -> None:
    found = solved(4, [(0, 1, ohm), (1, 2, 1e-4), (2, 3, 1e-9)], {1: 1.0, 3: -0.5})
    assert found.branch_amps == pytest.approx((-0.5, 0.5, 0.5), rel=1e-12)
    assert found.volts[1] == pytest.approx(0.5 * ohm, rel=1e-12)


def test_a_meter_of_a_gigohm_beside_a_strap_is_no_trouble() -> None:
    found = solved(3, [(0, 1, 1e9), (1, 2, 1e-4)], {1: 1.0, 2: -1.0 + 1e-9})
    assert found.branch_amps == pytest.approx((-1e-9, 1.0 - 1e-9), rel=1e-6)


@pytest.mark.parametrize(
    ("call", "text"),
    [
        (lambda: prepare(2, [(0, 2, 1.0)]), "branch 0 joins nodes 0 and 2, but there are nodes 0 to 1"),
        (lambda: prepare(2, [(0, -1, 1.0)]), "nodes 0 to 1"),
        (lambda: prepare(2, [(0, 0.5, 1.0)]), "nodes 0 to 1"),
        (lambda: prepare(["a", "b"], [(0, 1, -1.0)]), "from a to b has -1 Ω"),
        (lambda: prepare(2, [(0, 1, math.nan)]), "has nan Ω"),
        (lambda: prepare(2, [(0, 1, 1e-320)]), "0 for a solid join"),
        (lambda: prepare(2, [(0, 1)]), "two node numbers and a resistance"),
        (lambda: prepare(2, [(0, 1, 1.0)], [7]), "reference node 7"),
        (lambda: prepare(2, [(0, 1, 1.0)], emf_v=[1.0, 2.0]), "one source voltage for each"),
        (lambda: prepare(2, [(0, 1, 1.0)], branch_names=[]), "0 branch names are given for 1 branches"),
        (lambda: solve(2, [(0, 1, 1.0)], {5: 1.0}), "goes in at node 5"),
        (lambda: solve(2, [(0, 1, 1.0)], [1.0]), "one injected current for each of the 2 nodes"),
        (lambda: solve(2, [(0, 1, 1.0)], {1: math.nan}), "as a number"),
    ],
)
def test_arguments_that_cannot_be_used(call, text: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ValueError, match=text):
        call()


# Laws


@given(driven())
def test_currents_balance_and_obey_ohm(case: tuple[int, list[Branch], np.ndarray]) -> None:
    count, branches, injected = case
    found = solved(count, branches, injected)
    balance(count, branches, injected, found)
    largest = np.abs(found.volts).max() + 1e-30
    for (i, j, ohm), amps in zip(branches, found.branch_amps, strict=True):
        assert amps is not None
        assert amps * ohm == pytest.approx(found.volts[i] - found.volts[j], rel=1e-9, abs=1e-12 * largest)


@given(driven(), driven(), st.floats(-5, 5))
def test_superposition_and_scaling(
    case: tuple[int, list[Branch], np.ndarray],
    other: tuple[int, list[Branch], np.ndarray],
    factor: float,
) -> None:
    count, branches, one = case
    two = np.resize(other[2], count)
    wires = ready(count, branches)
    found = [wires.solve(state) for state in (one, two, one + factor * two)]
    assert all(isinstance(state, Solution) for state in found)
    v1, v2, both = (state.volts for state in found)  # type: ignore[union-attr]
    size = np.abs(v1).max() + abs(factor) * np.abs(v2).max() + 1e-30
    assert np.abs(v1 + factor * v2 - both).max() <= 1e-11 * size
    # all resistances times k: voltages times k, currents as they were
    scaled = solved(count, [(i, j, 3.0 * r) for i, j, r in branches], one)
    assert scaled.volts == pytest.approx(3.0 * v1, rel=1e-9, abs=1e-11 * size)


@given(networks(), st.data())
def test_another_parallel_branch_never_raises_a_resistance(net: Net, data: st.DataObject) -> None:
    """Rayleigh's law, and the rule of two resistances in parallel at the ends of the new one."""
    count, branches = net
    node = st.integers(0, count - 1)
    i, j, added = data.draw(node), data.draw(node), data.draw(ohms)
    p, q = data.draw(node), data.draw(node)
    before, after = ready(count, branches), ready(count, [*branches, (i, j, added)])
    assert after.resistance_between_ohm(p, q) <= before.resistance_between_ohm(p, q) * (1 + 1e-9) + 1e-15
    assume(i != j)
    alone = before.resistance_between_ohm(i, j)
    assert after.resistance_between_ohm(i, j) == pytest.approx(alone * added / (alone + added), rel=1e-9)


@given(driven(), st.randoms(use_true_random=False))
def test_numbering_of_the_nodes_and_order_of_the_branches_do_not_matter(
    case: tuple[int, list[Branch], np.ndarray], shuffle: random.Random
) -> None:
    count, branches, injected = case
    new = list(range(count))
    shuffle.shuffle(new)
    order = list(range(len(branches)))
    shuffle.shuffle(order)
    moved = np.empty(count)
    moved[new] = injected
    before = solved(count, branches, injected)
    renumbered = [(new[branches[k][0]], new[branches[k][1]], branches[k][2]) for k in order]
    after = solved(count, renumbered, moved, [new[0]])
    size = np.abs(before.volts).max() + 1e-30
    assert after.volts[new] == pytest.approx(before.volts, rel=1e-9, abs=1e-11 * size)
    amps = [before.branch_amps[k] for k in order]
    assert after.branch_amps == pytest.approx(amps, rel=1e-8, abs=1e-10 * (np.abs(injected).sum() + 1e-30))


@given(networks())
def test_fosters_sum(net: Net) -> None:
    """Resistance seen at each branch over its own, summed over a connected network: nodes less one."""
    count, branches = net
    wires = ready(count, branches)
    total = sum(wires.resistance_between_ohm(i, j) / ohm for i, j, ohm in branches)
    assert total == pytest.approx(count - 1, rel=1e-9)


@given(driven(), st.data())
def test_reciprocity(case: tuple[int, list[Branch], np.ndarray], data: st.DataObject) -> None:
    count, branches, _ = case
    i, j = data.draw(st.integers(0, count - 1)), data.draw(st.integers(0, count - 1))
    wires = ready(count, branches)
    there, back = wires.solve({i: 1.0}), wires.solve({j: 1.0})
    assert isinstance(there, Solution) and isinstance(back, Solution)
    assert there.volts[j] == pytest.approx(back.volts[i], rel=1e-9, abs=1e-12)


# Other programs


@given(networks())
@settings(max_examples=60, deadline=None)
def test_resistance_between_two_nodes_as_networkx_has_it(net: Net) -> None:
    count, branches = net
    graph = nx.MultiGraph()
    graph.add_nodes_from(range(count))
    graph.add_edges_from((i, j, {"ohm": ohm}) for i, j, ohm in branches if i != j)
    wires = ready(count, branches)
    expected = nx.resistance_distance(graph, 0, count - 1, weight="ohm", invert_weight=True)
    # networkx takes a pseudo-inverse, so its own error grows with the spread of the resistances
    assert wires.resistance_between_ohm(0, count - 1) == pytest.approx(expected, rel=1e-6)


def large(count: int, seed: int) -> tuple[list[Branch], np.ndarray]:
    """Tree-like network of wires, joints and straps with 3 % of loops, as a loom is."""
    chance = random.Random(seed)
    branches = [(chance.randrange(max(0, k - 30), k), k, 10 ** chance.uniform(-4, 1)) for k in range(1, count)]
    branches += [
        (chance.randrange(count), chance.randrange(count), 10 ** chance.uniform(-4, 1)) for _ in range(count * 3 // 100)
    ]
    return branches, np.array([chance.gauss(0, 5) for _ in range(count)])


def by_the_book(count: int, branches: list[Branch], injected: np.ndarray) -> np.ndarray:
    """Conductance matrix stamped branch by branch and solved whole, nothing taken out before."""
    matrix = np.zeros((count, count))
    for i, j, ohm in branches:
        matrix[i, i] += 1 / ohm
        matrix[j, j] += 1 / ohm
        matrix[i, j] -= 1 / ohm
        matrix[j, i] -= 1 / ohm
    return np.concatenate(([0.0], np.linalg.solve(matrix[1:, 1:], injected[1:])))


@pytest.mark.parametrize("seed", range(6))
def test_taking_out_node_by_node_changes_nothing(seed: int) -> None:
    branches, injected = large(150, seed)
    branches += large(150, seed + 100)[0][149 : 149 + 30 * seed]  # more and more meshes
    found = solved(150, branches, injected)
    expected = by_the_book(150, branches, injected)
    assert found.volts == pytest.approx(expected, rel=1e-8, abs=1e-9 * np.abs(expected).max())


def grid(side: int) -> list[Branch]:
    chance = random.Random(5)
    across = [(k, k + 1) for k in range(side * side) if (k + 1) % side]
    down = [(k, k + side) for k in range(side * (side - 1))]
    return [(i, j, 10 ** chance.uniform(-3, 1)) for i, j in across + down]


def test_sparse_and_dense_solvers_agree(monkeypatch: pytest.MonkeyPatch) -> None:
    branches, injected = grid(30), np.random.default_rng(4).normal(size=900)
    monkeypatch.setattr(meshes, "DENSE_BELOW", 10)
    sparse = solved(900, branches, injected)
    balance(900, branches, injected, sparse)
    monkeypatch.setattr(meshes, "DENSE_BELOW", 10_000)
    dense = solved(900, branches, injected)
    size = np.abs(dense.volts).max()
    assert sparse.volts == pytest.approx(dense.volts, rel=1e-9, abs=1e-12 * size)
    assert sparse.branch_amps == pytest.approx(dense.branch_amps, rel=1e-8, abs=1e-9)


@pytest.mark.parametrize("order", [1, -1, 7919])
def test_a_long_chain_is_taken_out_in_a_few_rounds(order: int) -> None:
    """20,000 wires end to end, numbered along, against and across: (k ohm of them) x 1 A."""
    count = 20_001
    place = [(k * order) % count for k in range(count)]
    branches = [(place[k], place[k + 1], 0.001) for k in range(count - 1)]
    found = solved(count, branches, {place[-1]: 1.0}, [place[0]])
    assert found.volts[place] == pytest.approx(np.arange(count) * 0.001, rel=1e-9)
    assert found.branch_amps == pytest.approx([-1.0] * (count - 1), rel=1e-10)


def test_five_thousand_nodes_with_joins_balance() -> None:
    branches, injected = large(5000, 3)
    tree = [(i, j, 0.0 if k % 5 == 0 else ohm) for k, (i, j, ohm) in enumerate(branches[:4999])]
    mixed = tree + branches[4999:]
    found = solved(5000, mixed, injected)
    balance(5000, mixed, injected, found)


def test_micro_ohm_straps_beside_ten_ohms_keep_their_figures() -> None:
    """A chain of 1 µΩ straps at 12 V: the current is known to the last figures, not to the 1e-16 of 12 V."""
    count = 60
    branches: list[Branch] = [(0, 1, 10.0), *((k, k + 1, 1e-6) for k in range(1, count - 1))]
    found = solved(count, branches, {count - 1: 1.2})
    assert found.branch_amps == pytest.approx([-1.2] * (count - 1), rel=1e-12)


def test_a_loom_of_thousands_of_wires_needs_no_scipy() -> None:
    code = (
        "import sys; from harnessdrc.physics.network import solve, Solution; "
        "wires = [(k // 2, k, 0.01) for k in range(1, 5000)] + [(k, 2 * k + 3, 0.02) for k in range(90)]; "
        "assert isinstance(solve(5000, wires, {4999: 1.0, 7: 0.5}), Solution); "
        "sys.exit(any(name.split('.')[0] in ('scipy', 'networkx', 'pandas') for name in sys.modules))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


SPICE = shutil.which("ngspice")


@pytest.mark.skipif(SPICE is None, reason="the circuit simulator ngspice is not installed")
def test_fifty_networks_against_a_circuit_simulator(tmp_path: Path) -> None:
    """All fifty in one netlist that shares node 0, so that the simulator starts once.

    Double precision on both sides; ngspice prints 12 figures and its direct solve has no refinement.
    """
    chance = random.Random(20)
    lines, watched, expected = ["fifty networks"], [], []
    for case in range(50):
        count = chance.randint(3, 25)
        branches = [(chance.randrange(k), k, 10 ** chance.uniform(-3, 1)) for k in range(1, count)]
        branches += [
            (*chance.sample(range(count), 2), 10 ** chance.uniform(-3, 1)) for _ in range(chance.randint(1, count))
        ]
        injected = [chance.uniform(-50, 50) if chance.random() < 0.4 else 0.0 for _ in range(count)]
        emf_v = [12.6 if k == 0 else 0.0 for k in range(len(branches))]
        expected.append(solved(count, branches, injected, emf_v=emf_v))

        def node(number: int, case: int = case) -> str:
            return "0" if number == 0 else f"n{case}_{number}"

        for k, (i, j, ohm) in enumerate(branches):
            if emf_v[k]:
                lines.append(f"V{case}_{k} m{case}_{k} {node(i)} DC {emf_v[k]}")
                lines.append(f"R{case}_{k} m{case}_{k} {node(j)} {ohm!r}")
            else:
                lines.append(f"R{case}_{k} {node(i)} {node(j)} {ohm!r}")
        lines += [f"I{case}_{k} 0 {node(k)} DC {amps!r}" for k, amps in enumerate(injected) if amps and k]
        watched += [(case, k) for k in range(1, count)]
    out = tmp_path / "volts.txt"
    lines += [
        ".options reltol=1e-9 abstol=1e-15 vntol=1e-12 gmin=1e-30",
        ".control",
        "set numdgt=12",
        "op",
        *(f"print v(n{case}_{k}) >> {out}" for case, k in watched),
        "quit",
        ".endc",
        ".end",
    ]
    netlist = tmp_path / "networks.cir"
    netlist.write_text("\n".join(lines) + "\n", encoding="ascii")
    assert SPICE is not None
    command = [SPICE, "-b", str(netlist)]
    ran = subprocess.run(command, capture_output=True, text=True, check=False, timeout=120)
    assert out.exists(), ran.stderr
    printed = [float(line.rsplit("=", 1)[1]) for line in out.read_text().splitlines() if "=" in line]
    assert len(printed) == len(watched) > 300
    for (case, k), volts in zip(watched, printed, strict=True):
        size = np.abs(expected[case].volts).max()
        assert expected[case].volts[k] == pytest.approx(volts, rel=1e-7, abs=1e-8 * size), (case, k)
