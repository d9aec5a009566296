"""Random networks for the tests of the solver, and modified nodal analysis written out once more."""

from __future__ import annotations

import random
from dataclasses import dataclass

import numpy as np
from hypothesis import strategies as st

from harnessdrc.physics.network import Branch, Network, Solutions, prepare


@dataclass(frozen=True, slots=True)
class Driven:
    """A network with what drives it."""

    count: int
    branches: list[Branch]
    injected_a: np.ndarray
    emf_v: np.ndarray


def ready(*args: object, **kwargs: object) -> Network:
    found = prepare(*args, **kwargs)  # type: ignore[arg-type]
    assert isinstance(found, Network), found
    return found


def states(network: Network, injected_a: object, **kwargs: object) -> Solutions:
    found = network.solve_many(injected_a, **kwargs)  # type: ignore[arg-type]
    assert isinstance(found, Solutions), found
    return found


def loom(chance: random.Random, largest: int = 30) -> Driven:
    """Tree with loops and parallel branches, 0.1 mΩ to 1 kΩ; some solid joins, some branches with a source."""
    count = chance.randint(2, largest)

    def ohm() -> float:
        return 10 ** chance.uniform(-4, 3)

    # solid joins stand in the tree alone, so that every current is determined
    branches: list[Branch] = [
        (chance.randrange(max(0, k - 6), k), k, 0.0 if chance.random() < 0.15 else ohm()) for k in range(1, count)
    ]
    for _ in range(chance.randint(0, count // 2)):
        branches.append((chance.randrange(count), chance.randrange(count), ohm()))
    for _ in range(chance.randint(0, 3)):
        i, j, _ = chance.choice(branches)
        branches.append((j, i, ohm()))
    injected = np.array([chance.uniform(-50, 50) if chance.random() < 0.4 else 0.0 for _ in range(count)])
    emf = np.array([chance.uniform(-15, 15) if r and chance.random() < 0.15 else 0.0 for _, _, r in branches])
    return Driven(count, branches, injected, emf)


def by_the_book(case: Driven) -> tuple[np.ndarray, np.ndarray]:
    """Modified nodal analysis: the current of every branch an unknown beside the potentials, node 0 at 0 V."""
    count, branches = case.count, len(case.branches)
    matrix = np.zeros((count + branches, count + branches))
    known = np.concatenate((case.injected_a, case.emf_v)).astype(float)
    for k, (i, j, ohm) in enumerate(case.branches):
        matrix[i, count + k] += 1  # Kirchhoff's current law at either end
        matrix[j, count + k] -= 1
        matrix[count + k, i] -= 1  # R i - v_i + v_j = E
        matrix[count + k, j] += 1
        matrix[count + k, count + k] = ohm
    matrix[0] = 0
    matrix[0, 0], known[0] = 1, 0
    found = np.linalg.solve(matrix, known)
    return found[:count], found[count:]


def dense(count: int, branches: list[Branch]) -> np.ndarray:
    """Inverse of the stamped conductance matrix, node 0 at 0 V; nothing is taken out before."""
    matrix = np.zeros((count, count))
    for i, j, ohm in branches:
        for a, b, sign in ((i, i, 1), (j, j, 1), (i, j, -1), (j, i, -1)):
            matrix[a, b] += sign / ohm
    inverse = np.zeros((count, count))
    inverse[1:, 1:] = np.linalg.inv(matrix[1:, 1:])
    return inverse


ohms = st.floats(-4, 3).map(lambda power: 10.0**power)
near_ohms = st.floats(-2, 1).map(lambda power: 10.0**power)


@st.composite
def networks(draw: st.DrawFn, *, largest: int = 14, ohm: st.SearchStrategy[float] = ohms) -> tuple[int, list[Branch]]:
    """Connected network: a tree and further branches, some parallel, some from a node to itself."""
    count = draw(st.integers(2, largest))
    branches = [(draw(st.integers(0, k - 1)), k, draw(ohm)) for k in range(1, count)]
    node = st.integers(0, count - 1)
    branches += draw(st.lists(st.tuples(node, node, ohm), max_size=2 * count))
    return count, branches
