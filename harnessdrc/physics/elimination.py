"""Solves the conductance equations of a network that is nearly a tree, as a loom is.

Nodes with one or two branches are taken out first, many at a time, as series resistances are by hand: a node
on the end of a branch hands its current to its neighbour; a node between two branches of conductance g and h
leaves one branch gh/(g + h) and hands its current to both sides in the ratio g : h. Nothing is ever
subtracted, so 0.1 mΩ beside a megohm costs no figures. What is left, the meshes of the network, is small: a
dense inverse serves, and only where there are hundreds of meshes a sparse factorization.

Taking a node out this way is Gaussian elimination in the order of least degree; keeping sums of positive
terms in place of differences is the algorithm of Grassmann, Taksar and Heyman.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

__all__ = ["factorize"]

Floats = NDArray[np.float64]
Nodes = NDArray[np.intp]
Solver = Callable[[Floats], Floats]

_DENSE_BELOW = 400  # nodes of the meshes; under it numpy is quicker than importing scipy


class _Round(NamedTuple):
    """Nodes taken out together, none beside another."""

    end: Nodes
    """Nodes with one branch, to `end_to`, of conductance `end_siemens`."""
    end_to: Nodes
    end_siemens: Floats
    between: Nodes
    """Nodes with two branches, the shares of whose current go to `left` and `right`."""
    left: Nodes
    right: Nodes
    left_share: Floats
    right_share: Floats
    both_siemens: Floats


def factorize(size: int, first: Nodes, second: Nodes, siemens: Floats) -> Solver:
    """Make ready to find the potentials of nodes 0 to ``size - 1`` against node `size`.

    Parameters
    ----------
    size : int
        Unknown nodes; node `size` is the reference at 0 V.
    first, second : ndarray of int, shape (branches,)
        Ends of the branches; every node must be led to the reference.
    siemens : ndarray, shape (branches,)
        Conductances, S.

    Returns
    -------
    callable
        From the current into each unknown node, A, to its potential, V; both of shape (size,).

    Raises
    ------
    numpy.linalg.LinAlgError, RuntimeError
        When the meshes cannot be factorized in double precision.
    """
    rounds: list[_Round] = []
    first, second, siemens = _one_branch_per_pair(size + 1, first, second, siemens)
    # scattered ranks, so that along a chain about every third node is the highest of its neighbours
    rank = (np.arange(size + 1, dtype=np.uint64) * np.uint64(2654435761)) % np.uint64(2**32)
    while True:
        degree = np.bincount(first, minlength=size + 1) + np.bincount(second, minlength=size + 1)
        chosen = (degree == 1) | (degree == 2)
        chosen[size] = False
        side_by_side = chosen[first] & chosen[second]
        a, b = first[side_by_side], second[side_by_side]
        chosen[np.where(rank[a] < rank[b], a, b)] = False
        if not chosen.any():
            break
        touched = chosen[first] | chosen[second]
        taken, added = _take_out(chosen, degree, first[touched], second[touched], siemens[touched])
        rounds.append(taken)
        kept = ~touched
        first, second, siemens = _one_branch_per_pair(
            size + 1,
            np.concatenate((first[kept], added[0])),
            np.concatenate((second[kept], added[1])),
            np.concatenate((siemens[kept], added[2])),
        )
    core = np.unique(np.concatenate((first, second)))
    core = core[core < size]
    number = np.full(size + 1, len(core), dtype=np.intp)
    number[core] = np.arange(len(core))
    core_solver = _meshes(len(core), number[first], number[second], siemens)

    def solver(current_a: Floats) -> Floats:
        amps = np.append(current_a, 0.0)
        for taken in rounds:
            np.add.at(amps, taken.end_to, amps[taken.end])
            between = amps[taken.between]
            np.add.at(amps, taken.left, between * taken.left_share)
            np.add.at(amps, taken.right, between * taken.right_share)
        volts = np.zeros(size + 1)
        volts[core] = core_solver(amps[core])
        for taken in reversed(rounds):
            volts[taken.end] = volts[taken.end_to] + amps[taken.end] / taken.end_siemens
            volts[taken.between] = (
                amps[taken.between] / taken.both_siemens
                + taken.left_share * volts[taken.left]
                + taken.right_share * volts[taken.right]
            )
        return volts[:size]

    return solver


def _take_out(
    chosen: NDArray[np.bool_], degree: Nodes, first: Nodes, second: Nodes, siemens: Floats
) -> tuple[_Round, tuple[Nodes, Nodes, Floats]]:
    """Take the chosen nodes out of the branches that touch them; the branches that stand in for them."""
    outer = chosen[second]
    node, other = np.where(outer, second, first), np.where(outer, first, second)
    order = np.argsort(node, kind="stable")
    node, other, siemens = node[order], other[order], siemens[order]
    single = degree[node] == 1
    double = np.flatnonzero(~single)
    one, two = double[::2], double[1::2]
    both = siemens[one] + siemens[two]
    taken = _Round(
        node[single],
        other[single],
        siemens[single],
        node[one],
        other[one],
        other[two],
        siemens[one] / both,
        siemens[two] / both,
        both,
    )
    return taken, (other[one], other[two], siemens[one] * taken.right_share)


def _one_branch_per_pair(
    count: int, first: Nodes, second: Nodes, siemens: Floats
) -> tuple[Nodes, Nodes, Floats]:
    """Add up parallel branches and leave out those from a node to itself."""
    low, high = np.minimum(first, second), np.maximum(first, second)
    apart = low != high
    pair, place = np.unique(low[apart] * count + high[apart], return_inverse=True)
    total: Floats = np.bincount(place, siemens[apart], len(pair)).astype(np.float64)
    return pair // count, pair % count, total


def _meshes(size: int, first: Nodes, second: Nodes, siemens: Floats) -> Solver:
    """Solver of the stamped conductance matrix, the row and column of the reference left out."""
    if size == 0:
        return np.array
    rows = np.concatenate((first, second, first, second))
    columns = np.concatenate((first, second, second, first))
    stamps = np.concatenate((siemens, siemens, -siemens, -siemens))
    kept = (rows < size) & (columns < size)
    rows, columns, stamps = rows[kept], columns[kept], stamps[kept]
    if size < _DENSE_BELOW:
        matrix = np.bincount(rows * size + columns, stamps, size * size).reshape(size, size)
        inverse: Any = np.linalg.inv(matrix)
        return inverse.__matmul__  # type: ignore[no-any-return]
    from scipy.sparse import csc_matrix
    from scipy.sparse.linalg import splu

    sparse = csc_matrix((stamps, (rows, columns)), shape=(size, size))
    factors = splu(sparse, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
    return factors.solve  # type: ignore[no-any-return]
