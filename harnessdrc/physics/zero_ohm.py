"""Joins without resistance: which nodes they make one, and what current each carries.

A join of 0 Ω is merged, never replaced by a tiny resistance. Once the rest of the network is solved, the
current in a join follows from the balance on one side of it, wherever cutting the join would part the
merged nodes. In a loop of such joins the split is not determined by Ohm's law, and no figure is given.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

__all__ = ["join_currents", "merge"]

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


def join_currents(
    node_count: int, joins: Sequence[Join], inflow_a: NDArray[np.float64]
) -> list[float | None]:
    """Current in each join from the current that arrives at each node by other ways.

    Parameters
    ----------
    node_count : int
        Nodes are 0 to ``node_count - 1``.
    joins : sequence of (int, int)
        Joins; a pair may stand more than once.
    inflow_a : ndarray, shape (node_count,)
        Current that arrives at each node other than through a join, A. Over each set of joined nodes it
        adds to zero, as the solved network makes it; for an earth it may be given as anything when
        the earth is the lowest-numbered node of its set.

    Returns
    -------
    list of float or None
        Current from the first to the second node of each join, A; ``None`` where it lies in a loop of joins.
    """
    ends: dict[int, list[tuple[int, int]]] = {}
    for number, (i, j) in enumerate(joins):
        ends.setdefault(i, []).append((number, j))
        ends.setdefault(j, []).append((number, i))
    current_a: list[float | None] = [None] * len(joins)
    order = [0] * node_count  # when the walk came to a node, from 1
    lowest = [0] * node_count  # earliest node that its part of the tree reaches by a spare join
    arriving = inflow_a.tolist()  # gathers what its part of the tree takes in
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
                if lowest[node] > order[before]:  # only this join leads here
                    current_a[by] = arriving[node] if joins[by][0] == node else -arriving[node]
                arriving[before] += arriving[node]
    return current_a
