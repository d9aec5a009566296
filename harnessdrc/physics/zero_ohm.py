"""Joins without resistance: which nodes they make one, and what current each carries.

A join of 0 Ω is merged, never replaced by a tiny resistance. Once the rest of the network is solved, the
current in a join follows from the balance on one side of it, wherever cutting the join would part the
merged nodes. In a loop of such joins the split is not determined by Ohm's law, and no figure is given.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["JoinTree", "join_tree", "merge"]

Join = tuple[int, int]


def merge(node_count: int, first: NDArray[np.intp], second: NDArray[np.intp]) -> NDArray[np.intp]:
    """Number the groups of nodes that joins make one.

    Parameters
    ----------
    node_count : int
        Nodes are 0 to ``node_count - 1``.
    first, second : ndarray of int, shape (joins,)
        Nodes held at one potential.

    Returns
    -------
    ndarray of int, shape (node_count,)
        Group of each node; groups are numbered from 0 in the order of their lowest node.
    """
    lowest = np.arange(node_count, dtype=np.intp)
    while (unequal := lowest[first] != lowest[second]).any():
        first, second = first[unequal], second[unequal]
        a, b = lowest[first], lowest[second]
        np.minimum.at(lowest, np.maximum(a, b), np.minimum(a, b))
        # every node follows its group down to the lowest node of it
        while (further := lowest[lowest] != lowest).any():
            lowest[further] = lowest[lowest[further]]
    _, groups = np.unique(lowest, return_inverse=True)
    return groups.astype(np.intp, copy=False)


@dataclass(frozen=True, slots=True)
class JoinTree:
    """The order in which currents in joins follow from each other; made by `join_tree`.

    Parameters
    ----------
    determined : ndarray of bool, shape (joins,)
        Joins that lie in no loop of joins: their current is determined.
    levels : tuple of (nodes, before, join, sign)
        From the outermost: nodes, the node that each is joined to on the way to the lowest node of its set,
        the number of the join and +1 where it points away from the outer node.
    """

    determined: NDArray[np.bool_]
    levels: tuple[tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.intp], NDArray[np.float64]], ...]

    def currents(self, inflow_a: NDArray[np.float64]) -> NDArray[np.float64]:
        """Current in each join from the current that arrives at each node by other ways.

        Parameters
        ----------
        inflow_a : ndarray, shape (nodes, columns)
            Current that arrives at each node other than through a join, A. Over each set of joined nodes it
            adds to zero, as the solved network makes it; for an earth it may be given as anything when
            the earth is the lowest-numbered node of its set.

        Returns
        -------
        ndarray, shape (joins, columns)
            Current from the first to the second node of each join, A; nan where it lies in a loop of joins.
        """
        arriving = inflow_a.copy()  # gathers what the part of the tree beyond each node takes in
        amps = np.full((len(self.determined), inflow_a.shape[1]), np.nan)
        for nodes, before, join, sign in self.levels:
            amps[join] = arriving[nodes] * sign[:, None]
            np.add.at(arriving, before, arriving[nodes])
        amps[~self.determined] = np.nan
        return amps


def join_tree(node_count: int, joins: Sequence[Join]) -> JoinTree:
    """Walk over joins once, to find which lie in loops and in which order the others determine each other.

    Parameters
    ----------
    node_count : int
        Nodes are 0 to ``node_count - 1``.
    joins : sequence of (int, int)
        Joins; a pair may stand more than once.

    Returns
    -------
    JoinTree
        For any number of states.
    """
    ends: dict[int, list[tuple[int, int]]] = {}
    for number, (i, j) in enumerate(joins):
        ends.setdefault(i, []).append((number, j))
        ends.setdefault(j, []).append((number, i))
    determined = np.zeros(len(joins), dtype=np.bool_)
    order = [0] * node_count  # when the walk came to a node, from 1
    lowest = [0] * node_count  # earliest node that its part of the tree reaches by a spare join
    levels: list[list[tuple[int, int, int, float]]] = []
    clock = 0
    for start in sorted(ends):
        if order[start]:
            continue
        clock += 1
        order[start] = lowest[start] = clock
        walk = [(start, -1, iter(ends[start]))]
        while walk:
            node, by, onward = walk[-1]
            for number, other in onward:
                if number == by:
                    continue
                if order[other]:
                    lowest[node] = min(lowest[node], order[other])
                    continue
                clock += 1
                order[other] = lowest[other] = clock
                walk.append((other, number, iter(ends[other])))
                break
            else:
                walk.pop()
                if not walk:
                    continue
                before = walk[-1][0]
                lowest[before] = min(lowest[before], lowest[node])
                determined[by] = lowest[node] > order[before]  # only this join leads here
                while len(levels) < len(walk):
                    levels.append([])
                levels[len(walk) - 1].append((node, before, by, 1.0 if joins[by][0] == node else -1.0))
    return JoinTree(
        determined,
        tuple(
            (
                np.array([entry[0] for entry in level], dtype=np.intp),
                np.array([entry[1] for entry in level], dtype=np.intp),
                np.array([entry[2] for entry in level], dtype=np.intp),
                np.array([entry[3] for entry in level]),
            )
            for level in reversed(levels)
        ),
    )
