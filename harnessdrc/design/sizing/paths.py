"""The way of every node to a post of the battery by the fewest steps, as arrays."""

from __future__ import annotations

from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design.circuit import Circuit

__all__ = ["Paths"]

Floats = NDArray[np.float64]
Numbers = NDArray[np.intp]


class _Tree(NamedTuple):
    parent: Numbers
    part: Numbers
    levels: list[Numbers]


class Paths:
    """Trees of ways from both posts of the batteries.

    Of ways with the same number of steps the one of less resistance counts, so that the order of the rows does not.

    Parameters
    ----------
    circuit : Circuit
        A circuit that can be solved.
    ohm : ndarray, shape (parts,)
        Resistance of its parts, Ω.
    """

    def __init__(self, circuit: Circuit, ohm: Floats) -> None:
        self._circuit, self._ohm = circuit, ohm

    @cached_property
    def tree(self) -> _Tree:
        """For each node the next one toward the battery and the part between (-1 at a post), and nodes by steps."""
        ends, ohm = self._circuit.ends, self._ohm
        kept = np.flatnonzero(self._circuit.emf == 0.0)
        small = np.int32  # twice as many entries as parts: half the room
        start = np.concatenate((ends[kept, 0], ends[kept, 1]), dtype=small, casting="unsafe")
        order = np.argsort(start, kind="stable")
        beside = np.concatenate((ends[kept, 1], ends[kept, 0]), dtype=small, casting="unsafe")[order]
        through = np.concatenate((kept, kept), dtype=small, casting="unsafe")[order]
        nodes = len(self._circuit.nodes)
        first = np.searchsorted(start[order], np.arange(nodes + 1, dtype=small))
        del start, order
        parent, part = np.full(nodes, -1, dtype=np.intp), np.full(nodes, -1, dtype=np.intp)
        far_ohm = np.full(nodes, np.inf)
        front = np.unique(np.append(ends[self._circuit.emf != 0.0].ravel(), 0))
        far_ohm[front] = 0.0
        levels = []
        while front.size:
            count = first[front + 1] - first[front]
            at = np.repeat(first[front] - np.cumsum(count) + count, count) + np.arange(int(count.sum()))
            of, to, by = np.repeat(front, count), beside[at], through[at]
            new = np.isinf(far_ohm[to])
            of, to, by = of[new], to[new], by[new]
            whole = far_ohm[of] + ohm[by]
            chosen = np.lexsort((whole, to))
            chosen = chosen[np.flatnonzero(np.diff(to[chosen], prepend=-1))]
            front = to[chosen]
            parent[front], part[front], far_ohm[front] = of[chosen], by[chosen], whole[chosen]
            if front.size:
                levels.append(front)
        return _Tree(parent, part, levels)

    def summed(self, at_node: Floats) -> Floats:
        """Sum, for each part of the tree, of what is at the nodes behind it; 0 for parts that are not in it.

        Parameters
        ----------
        at_node : ndarray, shape (nodes,)

        Returns
        -------
        ndarray, shape (parts,)
        """
        tree, total = self.tree, at_node.copy()
        for level in reversed(tree.levels):
            np.add.at(total, tree.parent[level], total[level])
        found = np.zeros(len(self._circuit.parts))
        inner = np.flatnonzero(tree.part >= 0)
        found[tree.part[inner]] = total[inner]
        return found

    def longest_m(self, length_m: Floats) -> Floats:
        """Length of the longest way of a load that leads through each part, from the post to the load, m.

        Parameters
        ----------
        length_m : ndarray, shape (parts,)
            Length of every part; 0 for those that count for none.

        Returns
        -------
        ndarray, shape (parts,)
            For a part that no load's way leads through, from the post to its own far end.
        """
        tree = self.tree
        ways = np.zeros(len(tree.parent))
        for level in tree.levels:
            ways[level] = ways[tree.parent[level]] + length_m[tree.part[level]]
        deepest = np.full(len(ways), -np.inf)
        loads = self._circuit.port_nodes.ravel()
        deepest[loads] = ways[loads]
        for level in reversed(tree.levels):
            np.maximum.at(deepest, tree.parent[level], deepest[level])
        ends = self._circuit.ends
        own = np.minimum(ways[ends[:, 0]], ways[ends[:, 1]]) + length_m
        inner = np.flatnonzero(tree.part >= 0)
        own[tree.part[inner]] = np.maximum(ways[inner], deepest[inner])
        return own
