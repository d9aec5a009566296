"""Many states, unit currents and what lies beside each branch: against dense algebra and the laws of networks."""

from __future__ import annotations

import itertools
import math
import random
import subprocess
import sys
import time

import networkx as nx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from random_networks import Driven, by_the_book, dense, loom, networks, ready, states

from harnessdrc.physics import meshes, unit_paths
from harnessdrc.physics.network import Branch, Network, Solution, Unsolvable

Net = tuple[int, list[Branch]]
LOOMS = [loom(random.Random(seed)) for seed in range(60)]


def table(network: Network, first: object, second: object) -> np.ndarray:
    """Unit currents as a full table, pairs by branches."""
    found = network.unit_currents(first, second)  # type: ignore[arg-type]
    full = np.zeros((len(first), len(network.ohm)))  # type: ignore[arg-type]
    full[found.pair, found.branch] = found.amps
    order = found.pair * len(network.ohm) + found.branch
    assert (np.diff(order) > 0).all(), "sorted by pair, then branch, each once"
    assert (np.abs(found.amps) >= unit_paths.LEAST_SHARE).all()
    return full


@pytest.fixture(params=["entries", "columns"])
def way(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """Unit currents by the few entries of large networks, and by the whole columns of small ones."""
    monkeypatch.setattr(unit_paths, "_DENSE_CELLS", 0 if request.param == "entries" else 10**9)
    return str(request.param)


# Many states


@pytest.mark.parametrize("case", LOOMS)
def test_states_as_the_book_has_them(case: Driven) -> None:
    network = ready(case.count, case.branches, emf_v=case.emf_v)
    factors = np.array([1.0, 0.0, -2.0, 0.5])
    injected = case.injected_a[:, None] * np.array([1.0, 1.0, 0.0, 3.0])
    found = states(network, injected, emf_scale=factors)
    outright = states(network, injected, emf_v_many=case.emf_v[:, None] * factors)
    assert np.array_equal(found.volts, outright.volts) and np.array_equal(found.amps, outright.amps)
    for state, factor in enumerate(factors):
        volts, amps = by_the_book(Driven(case.count, case.branches, injected[:, state], case.emf_v * factor))
        assert found.volts[:, state] == pytest.approx(volts, rel=1e-7, abs=1e-8 * np.abs(volts).max() + 1e-12)
        assert found.amps[:, state] == pytest.approx(amps, rel=1e-7, abs=1e-8 * np.abs(amps).max() + 1e-12)
        # what the reference takes is what is left of what is brought in
        assert found.reference_amps[0, state] == pytest.approx(injected[:, state].sum(), abs=1e-9)


@pytest.mark.parametrize("case", LOOMS[:20])
def test_each_state_as_if_it_were_solved_alone(case: Driven) -> None:
    network = ready(case.count, case.branches, emf_v=case.emf_v)
    found = states(network, case.injected_a[:, None] * [1.0, 0.25])
    alone = network.solve(case.injected_a)
    assert isinstance(alone, Solution)
    size = np.abs(alone.volts).max() + 1e-12
    assert found.volts[:, 0] == pytest.approx(alone.volts, rel=1e-9, abs=1e-11 * size)
    amps = np.array(alone.branch_amps, dtype=float)
    assert found.amps[:, 0] == pytest.approx(amps, rel=1e-9, abs=1e-11 * (np.abs(amps).max() + 1))
    assert found.reference_amps[0, 0] == pytest.approx(alone.reference_amps[0], abs=1e-9)


@pytest.mark.parametrize("case", LOOMS)
def test_power_and_currents_balance_in_every_state(case: Driven) -> None:
    network = ready(case.count, case.branches, emf_v=case.emf_v)
    found = states(network, case.injected_a[:, None] * [1.0, -0.3])
    ohm = np.array([r for _, _, r in case.branches])
    brought_w = case.injected_a[:, None] * [1.0, -0.3] * found.volts
    driven_w = case.emf_v[:, None] * found.amps
    heat_w = (ohm[:, None] * found.amps**2).sum(axis=0)
    size_w = np.abs(brought_w).sum(axis=0) + np.abs(driven_w).sum(axis=0)
    assert (np.abs(brought_w.sum(axis=0) + driven_w.sum(axis=0) - heat_w) <= 1e-9 * size_w).all()
    left_a, meeting_a = case.injected_a[:, None] * [1.0, -0.3], np.abs(case.injected_a[:, None] * [1.0, -0.3])
    for (i, j, _), amps in zip(case.branches, found.amps, strict=True):
        left_a[i] -= amps
        left_a[j] += amps
        meeting_a[[i, j]] += np.abs(amps)
    left_a[0] -= found.reference_amps[0]
    assert (np.abs(left_a) <= 2e-9 * (meeting_a + 1e-3 * meeting_a.max(axis=0))).all()


def test_a_loop_of_solid_joins_is_undetermined_in_every_state() -> None:
    branches = [(0, 1, 0.0), (1, 2, 0.0), (2, 0, 0.0), (2, 3, 0.0), (3, 4, 1.0)]
    found = states(ready(5, branches), np.array([[0, 0, 0, 0, 2.0], [0, 0, 0, 1.0, 0]]).T)
    assert np.isnan(found.amps[:3]).all()
    assert found.amps[3:].tolist() == [[-2.0, -1.0], [-2.0, 0.0]]
    assert found.reference_amps.tolist() == [[2.0, 1.0]]
    joined = states(ready(3, [(0, 2, 0.0), (0, 1, 1.0)], [0, 2]), np.array([[0, 4.0, 0]]).T)
    assert np.isnan(joined.reference_amps).all()


def test_states_that_cannot_be_solved_are_named() -> None:
    names = ["earth", "block", "head", "gearbox", "bracket"]
    far = [*((i, j, 1e-4) for i, j in itertools.combinations(range(1, 5), 2)), *((i, 0, 1e20) for i in range(1, 5))]
    found = ready(names, far).solve_many(np.array([[0, 0, 0, 0, 0], [0, 1, -0.5, 0, 0]]).T)
    assert isinstance(found, Unsolvable) and len(found.reasons) == 1
    assert found.reasons[0].startswith("state 2 of 2: the currents at ")
    assert "1e+20 Ω lie too far apart" in found.reasons[0]
    for call in (
        lambda n: n.unit_currents([1], [0]), lambda n: n.unit_volts([1], [0]), lambda n: n.beside_ohm(),
    ):  # fmt: skip
        with pytest.raises(ArithmeticError, match=r"do not balance.*1e\+20 Ω"):
            call(ready(names, far))


def test_power_that_does_not_balance_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("harnessdrc.physics.settling.POWER_TOLERANCE", -1.0)
    found = ready(2, [(0, 1, 2.0)]).solve_many([[0.0, 0.0], [3.0, 1.0]])
    assert isinstance(found, Unsolvable)
    assert found.reasons[0].startswith("state 1 of 2: the sources give 18 W and the resistances take 18 W")


def test_a_source_without_resistance_in_one_state_is_named() -> None:
    network = ready(["negative", "positive", "lamp"], [(0, 1, 0.0), (1, 2, 1.0)], branch_names=["battery", "W1"])
    found = network.solve_many(np.zeros((3, 2)), emf_v_many=[[0.0, 12.6], [0.0, 0.0]])
    assert isinstance(found, Unsolvable)
    assert found.reasons == ("battery is a source of 12.6 V without inner resistance",)


@pytest.mark.parametrize(
    ("call", "text"),
    [
        (lambda n: n.solve_many([0.0, 0.0]), "a column for each state"),
        (lambda n: n.solve_many(np.zeros((3, 2))), "for 2 nodes"),
        (lambda n: n.solve_many(np.full((2, 1), np.nan)), "as numbers"),
        (lambda n: n.solve_many(np.zeros((2, 3)), emf_scale=[1.0]), "each of the 3 states"),
        (lambda n: n.solve_many(np.zeros((2, 1)), emf_v_many=[[1.0, 2.0]]), "1 branches and 1 states"),
        (lambda n: n.solve_many(np.zeros((2, 1)), emf_scale=[1.0], emf_v_many=[[1.0]]), "give either"),
        (lambda n: n.unit_currents([0], [2]), "at node 2, but there are nodes 0 to 1"),
        (lambda n: n.unit_volts([-1], [0]), "at node -1"),
        (lambda n: n.unit_volts([0.5], [0]), "at node 0.5"),
        (lambda n: n.unit_currents([0, 1], [0]), "as many nodes"),
    ],
)
def test_arguments_that_cannot_be_used(call, text: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ValueError, match=text):
        call(ready(2, [(0, 1, 1.0)]))


def test_no_state_no_pair_no_branch() -> None:
    network = ready(2, [(0, 1, 1.0)])
    assert states(network, np.empty((2, 0))).amps.shape == (1, 0)
    assert network.unit_currents([], []).amps.shape == (0,)
    assert network.unit_volts([], []).shape == (2, 0)
    assert ready(1, []).beside_ohm().shape == (0,)
    assert ready(1, []).unit_volts([0], [0]).tolist() == [[0.0]]


# Unit currents and potentials


@pytest.mark.parametrize("case", LOOMS)
def test_unit_currents_and_potentials_against_dense_algebra(case: Driven, way: str) -> None:
    branches = [(i, j, ohm or 0.01) for i, j, ohm in case.branches]
    network = ready(case.count, branches)
    first, second = np.array(list(itertools.product(range(case.count), repeat=2))[:120]).T
    inverse = dense(case.count, branches)
    volts = inverse[:, first] - inverse[:, second]
    found = network.unit_volts(first, second)
    assert found == pytest.approx(volts, rel=1e-7, abs=1e-8 * np.abs(volts).max())
    i, j, ohm = np.array(branches).T
    # over 0.1 mΩ the dense potentials, rounded at 1e-16 of up to some kΩ, leave 1e-9 A
    amps = (volts[i.astype(int)] - volts[j.astype(int)]) / ohm[:, None]
    assert table(network, first, second) == pytest.approx(amps.T, abs=1e-7)
    exact = states(network, np.eye(case.count)[:, first] - np.eye(case.count)[:, second])
    assert table(network, first, second) == pytest.approx(exact.amps.T, abs=1e-12)
    assert found == pytest.approx(exact.volts, abs=1e-10 * np.abs(volts).max())


@pytest.mark.parametrize("case", LOOMS)
def test_unit_currents_with_solid_joins_merged(case: Driven, way: str) -> None:
    """Joins carry what balance says, and are left out; the others are as in the solved state."""
    network = ready(case.count, case.branches, emf_v=case.emf_v)  # the sources are off
    first, second = np.array([(k, case.count - 1 - k) for k in range(case.count)]).T
    unit = np.eye(case.count)[:, first] - np.eye(case.count)[:, second]
    expected = states(network, unit, emf_scale=np.zeros(case.count))
    amps = expected.amps.T.copy()
    amps[:, network.ohm == 0.0] = 0.0
    assert table(network, first, second) == pytest.approx(amps, abs=1e-12)
    found = network.unit_volts(first, second)
    assert found == pytest.approx(expected.volts, abs=1e-10 * np.abs(expected.volts).max() + 1e-15)


@given(networks(), st.data())
def test_shares_add_up_to_the_offset(net: Net, data: st.DataObject) -> None:
    """By reciprocity: the parts of all loads, each I x (u at its return - u at its feed), make the offset."""
    count, branches = net
    network = ready(count, branches)
    node = st.integers(0, count - 1)
    loads = data.draw(st.lists(st.tuples(node, node, st.floats(0.01, 50)), min_size=1, max_size=8))
    first, second = data.draw(node), data.draw(node)
    injected = np.zeros((count, 1))
    for feed, back, amps in loads:
        injected[feed] -= amps
        injected[back] += amps
    volts = states(network, injected).volts[:, 0]
    unit = network.unit_volts([first], [second])[:, 0]
    parts = [amps * (unit[back] - unit[feed]) for feed, back, amps in loads]
    size = sum(map(abs, parts)) + np.abs(volts).max()
    assert sum(parts) == pytest.approx(volts[first] - volts[second], rel=1e-9, abs=1e-9 * size)


@given(networks(), st.data())
def test_unit_potentials_are_reciprocal(net: Net, data: st.DataObject) -> None:
    count, branches = net
    node = st.integers(0, count - 1)
    a, b, c, d = (data.draw(node) for _ in range(4))
    there, back = ready(count, branches).unit_volts([a, c], [b, d]).T
    size = max(np.abs(there).max(), np.abs(back).max())
    assert there[c] - there[d] == pytest.approx(back[a] - back[b], rel=1e-9, abs=1e-11 * size)


def test_only_the_branches_between_are_given() -> None:
    """A comb of 1,000 teeth: the current from tooth to tooth passes the two teeth and the back between."""
    back = [(k, k + 1, 0.001) for k in range(1000)]
    teeth = [(k, 1001 + k, 0.01) for k in range(1001)]
    found = ready(2002, back + teeth).unit_currents([1001 + 10], [1001 + 14])
    assert found.branch.tolist() == [10, 11, 12, 13, 1000 + 10, 1000 + 14]
    assert found.amps == pytest.approx([1, 1, 1, 1, -1, 1], rel=1e-12)


def test_currents_that_meet_again_in_ladders_are_few() -> None:
    """A thousand diamonds in a row: each splits the current in two, which must not double the work."""
    branches: list[Branch] = []
    for k in range(1000):
        a, left, right, b = 3 * k, 3 * k + 1, 3 * k + 2, 3 * k + 3
        branches += [(a, left, 1.0), (a, right, 2.0), (left, b, 1.0), (right, b, 2.0)]
    found = ready(3001, branches).unit_currents([3000] * 20, [0] * 20)
    assert len(found.branch) == 20 * 4000
    assert found.amps[:4] == pytest.approx([-2 / 3, -1 / 3, -2 / 3, -1 / 3], rel=1e-12)


def blocks(count: int) -> tuple[int, list[Branch], list[tuple[int, int]]]:
    """Looms of 100 wires that hang together through three bodies alone, as the lists of the speed test have it."""
    branches: list[Branch] = [(1, 0, 1e-3), (2, 1, 5e-4)]
    pairs, node = [], 3
    for block in range(count):
        hub = node
        branches += [(hub, body, 0.01 + 1e-5 * block + 2e-3 * body) for body in range(3)]
        for wire in range(97):
            branches.append((hub if wire < 20 else node + wire - 17, node + wire + 1, 0.005 + 1e-5 * wire))
        pairs += [(hub + 60 + k, hub + 80 - k) for k in range(19)]
        node += 98
    return node, branches, pairs


def test_thousands_of_pairs_inside_their_blocks_are_quick() -> None:
    """50,000 wires, 9,500 pairs: each pair's current stays in its block, and so must the work."""
    count, branches, pairs = blocks(500)
    network = ready(count, branches)
    first, second = np.array(pairs).T
    began = time.process_time()
    found = network.unit_currents(first, second)
    assert time.process_time() - began < 3.0  # far from 0.2 s only if columns were whole
    per_block = np.unique((found.branch - 2) // 100 - (found.pair // 19))
    assert per_block.tolist() == [0]
    some = np.array([0, 4000, 9499])
    unit = np.zeros((count, len(some)))
    unit[first[some], np.arange(len(some))] = 1.0
    unit[second[some], np.arange(len(some))] -= 1.0
    exact = states(network, unit)
    for column, pair in enumerate(some):
        full = np.zeros(len(branches))
        full[found.branch[found.pair == pair]] = found.amps[found.pair == pair]
        assert full == pytest.approx(exact.amps[:, column], abs=1e-11)


# What lies beside a branch


def seen_ohm(network: Network) -> np.ndarray:
    """Resistance seen at the ends of each branch, itself included, from what lies beside it."""
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(1.0 / (1.0 / network.ohm + 1.0 / network.beside_ohm()))


@given(networks())
def test_fosters_sum(net: Net) -> None:
    """Resistance seen at each branch over its own, summed over a connected network: nodes less one."""
    count, branches = net
    network = ready(count, branches)
    assert (seen_ohm(network) / network.ohm).sum() == pytest.approx(count - 1, rel=1e-12)


@pytest.mark.parametrize("dense_below", [10, 10_000])
def test_fosters_sum_of_a_large_network(dense_below: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(meshes, "DENSE_BELOW", dense_below)
    chance = random.Random(8)
    branches = [(chance.randrange(max(0, k - 30), k), k, 10 ** chance.uniform(-4, 1)) for k in range(1, 3000)]
    branches += [(*chance.sample(range(3000), 2), 10 ** chance.uniform(-4, 1)) for _ in range(90)]
    network = ready(3000, branches)
    assert (seen_ohm(network) / network.ohm).sum() == pytest.approx(2999, rel=1e-12)


@given(networks(ohm=st.floats(-1, 1).map(lambda power: 10.0**power)))
@settings(max_examples=60, deadline=None)
def test_beside_each_branch_as_networkx_has_it(net: Net) -> None:
    count, branches = net
    network = ready(count, branches)
    for k, ((i, j, _), beside) in enumerate(zip(branches, network.beside_ohm().tolist(), strict=True)):
        if i == j:
            assert beside == 0.0
            continue
        graph = nx.MultiGraph()
        graph.add_nodes_from(range(count))
        graph.add_edges_from((a, b, {"ohm": r}) for m, (a, b, r) in enumerate(branches) if m != k and a != b)
        if not nx.has_path(graph, i, j):
            assert beside == math.inf
            continue
        part = graph.subgraph(nx.node_connected_component(graph, i))
        expected = nx.resistance_distance(part, i, j, weight="ohm", invert_weight=True)
        assert beside == pytest.approx(expected, rel=1e-7)


@given(networks(largest=9))
@settings(max_examples=150)
def test_beside_each_branch_as_the_network_without_it_has_it(net: Net) -> None:
    """Over seven decades of resistance, against the solver itself with the branch left out."""
    count, branches = net
    beside = ready(count, branches).beside_ohm()
    for k, (i, j, _) in enumerate(branches):
        # 1 GΩ in its place holds what would float: seen are both side by side
        rest = ready(count, [(a, b, 1e9 if m == k else ohm) for m, (a, b, ohm) in enumerate(branches)])
        seen = 0.0 if beside[k] == 0.0 else 1 / (1 / beside[k] + 1e-9)
        assert seen == pytest.approx(rest.resistance_between_ohm(i, j), rel=1e-7)


def test_beside_joins_gaps_and_straps() -> None:
    branches = [(0, 1, 0.0), (1, 2, 2.0), (0, 2, 3.0), (2, 3, 1.0), (2, 2, 5.0), (0, 3, math.inf), (0, 1, 4.0)]
    beside = ready(4, branches).beside_ohm()
    assert math.isnan(beside[0])
    assert beside[1:].tolist() == pytest.approx([3.0, 2.0, math.inf, 0.0, 2.2, 0.0])


def test_beside_a_strap_far_more_is_still_known() -> None:
    """0.1 mΩ straps in a ring of four meshes closed through 10 kΩ: no figure is lost beside the straps."""
    branches = [(0, 1, 1e-4), (1, 2, 1e4), (2, 0, 1e4), (1, 3, 1e4), (2, 3, 1e4), (3, 0, 1e4)]
    # beside branch 0: from 1 to 0 through a Wheatstone bridge in balance, 2 x 1e4 twice in parallel
    assert ready(4, branches).beside_ohm()[0] == pytest.approx(1e4, rel=1e-12)


@given(networks(ohm=st.floats(-2, 2).map(lambda power: 10.0**power)), st.data())
def test_another_branch_never_raises_what_lies_beside(net: Net, data: st.DataObject) -> None:
    count, branches = net
    node = st.integers(0, count - 1)
    added = (data.draw(node), data.draw(node), data.draw(st.floats(0.01, 100)))
    before, after = ready(count, branches).beside_ohm(), ready(count, [*branches, added]).beside_ohm()
    assert (after[:-1] <= before * (1 + 1e-9)).all()


@given(networks(), st.randoms(use_true_random=False), st.data())
def test_numbering_does_not_matter(net: Net, shuffle: random.Random, data: st.DataObject) -> None:
    count, branches = net
    new, order = list(range(count)), list(range(len(branches)))
    shuffle.shuffle(new)
    shuffle.shuffle(order)
    moved = ready(count, [(new[branches[k][0]], new[branches[k][1]], branches[k][2]) for k in order], [new[0]])
    plain = ready(count, branches)
    assert moved.beside_ohm() == pytest.approx(plain.beside_ohm()[order], rel=1e-9)
    a, b = data.draw(st.integers(0, count - 1)), data.draw(st.integers(0, count - 1))
    assert table(moved, [new[a]], [new[b]])[0] == pytest.approx(table(plain, [a], [b])[0][order], abs=1e-11)
    volts = plain.unit_volts([a], [b])
    assert moved.unit_volts([new[a]], [new[b]])[new] == pytest.approx(volts, rel=1e-9, abs=1e-11 * np.abs(volts).max())


def test_given_out_once_and_not_to_be_changed() -> None:
    network = ready(2, [(0, 1, 1.0), (0, 1, 2.0)])
    assert network.beside_ohm() is network.beside_ohm()
    with pytest.raises(ValueError, match="read-only"):
        network.beside_ohm()[0] = 1.0


def test_no_scipy_for_looms_of_thousands_of_wires() -> None:
    code = (
        "import sys, numpy as np; from harnessdrc.physics.network import prepare; "
        "n = prepare(5000, [(k // 2, k, 0.01) for k in range(1, 5000)] + [(k, 2 * k + 3, 0.02) for k in range(90)]); "
        "n.solve_many(np.ones((5000, 2))); n.unit_currents([4000], [7]); n.unit_volts([4000], [7]); n.beside_ohm(); "
        "sys.exit(any(name.split('.')[0] in ('scipy', 'networkx', 'pandas') for name in sys.modules))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
