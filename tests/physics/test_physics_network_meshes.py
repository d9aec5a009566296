"""Inverse of meshes by turning stars into polygons, and meshes solved by it or by sparse factors."""

from __future__ import annotations

import random

import networkx as nx
import numpy as np
import pytest
from random_networks import ready

from harnessdrc.physics import meshes
from harnessdrc.physics.meshes import Meshes
from harnessdrc.physics.stars import inverse

Graph = tuple[int, np.ndarray, np.ndarray, np.ndarray]


def graph(kind: str, seed: int = 3) -> Graph:
    """Connected meshes without parallel branches; the last node is the reference."""
    chance = random.Random(seed)
    made = {
        "cubic": lambda: nx.random_regular_graph(3, 300, seed=seed),
        "grid": lambda: nx.convert_node_labels_to_integers(nx.grid_2d_graph(18, 18)),
        "wheel": lambda: nx.wheel_graph(201),
        "complete": lambda: nx.complete_graph(101),
        "blocks on three bodies": lambda: nx.complete_bipartite_graph(3, 400),
        "few": lambda: nx.complete_graph(5),
    }[kind]()
    ends = np.array([(i, j) if chance.random() < 0.5 else (j, i) for i, j in made.edges])
    siemens = np.array([10 ** chance.uniform(-1, 3) for _ in ends])
    return made.number_of_nodes() - 1, ends[:, 0], ends[:, 1], siemens


def stamped(size: int, first: np.ndarray, second: np.ndarray, siemens: np.ndarray) -> np.ndarray:
    matrix = np.zeros((size + 1, size + 1))
    for i, j, s in zip(first, second, siemens, strict=True):
        matrix[i, i] += s
        matrix[j, j] += s
        matrix[i, j] -= s
        matrix[j, i] -= s
    return matrix[:-1, :-1]


KINDS = ["cubic", "grid", "wheel", "complete", "blocks on three bodies", "few"]


@pytest.mark.parametrize("kind", KINDS)
def test_inverse_is_that_of_the_stamped_matrix(kind: str) -> None:
    size, first, second, siemens = graph(kind)
    found = inverse(size, first, second, siemens)
    assert found == pytest.approx(np.linalg.inv(stamped(size, first, second, siemens)), rel=1e-9)
    assert (found > 0.0).all()


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("dense_below", [0, 10_000])
def test_meshes_balance_and_agree(kind: str, dense_below: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(meshes, "DENSE_BELOW", dense_below)
    size, first, second, siemens = graph(kind)
    mesh = Meshes(size, first, second, siemens)
    current_a = np.random.default_rng(2).normal(size=(size, 300))
    volts, amps = mesh.solve(current_a)
    expected = np.linalg.solve(stamped(size, first, second, siemens), current_a)
    assert volts[:-1] == pytest.approx(expected, rel=1e-9, abs=1e-10 * np.abs(expected).max())
    assert not volts[-1].any()
    rest_a = np.vstack((current_a, np.zeros(300)))
    np.subtract.at(rest_a, first, amps)
    np.add.at(rest_a, second, amps)
    assert np.abs(rest_a[:-1]).max() < 1e-11
    # what lies beside a branch: the resistance seen, less the branch itself
    seen = mesh.beside_siemens() + siemens
    padded = np.zeros((size + 1, size + 1))
    padded[:-1, :-1] = np.linalg.inv(stamped(size, first, second, siemens))
    ohm = padded[first, first] + padded[second, second] - 2 * padded[first, second]
    assert seen == pytest.approx(1 / ohm, rel=1e-9)
    assert (siemens / seen).sum() == pytest.approx(size, rel=1e-12)


def test_a_bridge_between_meshes_has_nothing_beside_it() -> None:
    """Two complete graphs of four joined by one branch, one of 0.1 mΩ: exactly nothing, not a rounding."""
    ends = [(i, j) for i in range(4) for j in range(i)] + [(i, j) for i in range(4, 8) for j in range(4, i)]
    ends.append((0, 4))
    first, second = np.array(ends).T
    beside = Meshes(7, first, second, np.array([1.0] * 12 + [1e4])).beside_siemens()
    assert beside[-1] == 0.0
    assert beside[:-1] == pytest.approx([1.0] * 12, rel=1e-12)


@pytest.mark.parametrize("reference", range(5))
def test_what_lies_beside_a_strap_is_known_wherever_the_reference_lies(reference: int) -> None:
    """0.1 mΩ between bodies that 10 kΩ join otherwise, 1 MΩ from the reference: 1e-8 A of 1 A is still known."""
    branches = [(1, 2, 1e-4), (1, 3, 1e4), (1, 4, 2e4), (2, 3, 3e4), (2, 4, 1e4), (3, 4, 5e4)]
    branches += [(0, 1, 1e6), (0, 3, 2e6), (0, 4, 1e6)]
    found = ready(5, branches, [reference]).beside_ohm()
    # the strap taken away, nothing is far apart
    graph = nx.Graph()
    graph.add_edges_from((i, j, {"ohm": ohm}) for i, j, ohm in branches[1:])
    expected = nx.resistance_distance(graph, 1, 2, weight="ohm", invert_weight=True)
    assert found[0] == pytest.approx(expected, rel=1e-7)
    assert found == pytest.approx(ready(5, branches, [1]).beside_ohm(), rel=1e-7)
