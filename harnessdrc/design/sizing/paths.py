"""The way of every node to a post of the battery by the fewest steps, as arrays."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design.circuit import Circuit

if TYPE_CHECKING:
    from harnessdrc.design import Design

__all__ = ["Paths", "paths_of"]

_KEPT = "paths"

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

    def least_v_per_m(self, length_m: Floats, fixed_v: Floats, limit_v: float) -> Floats:
        """What is left of a limit for each metre of the ways of loads that lead through each part, V/m.

        Parameters
        ----------
        length_m : ndarray, shape (parts,)
            Length of every part; 0 for those that count for none.
        fixed_v : ndarray, shape (parts,)
            Drop of every part that its size does not change, V: taken off the limit first.
        limit_v : float
            Drop allowed on the whole way of a load, V.

        Returns
        -------
        ndarray, shape (parts,)
            The least over the loads, 0 where nothing is left, inf where a way has no length; for a part that no load's
            way leads through, that of the way from the post to its own far end.
        """
        tree = self.tree
        ways, fixed = np.zeros(len(tree.parent)), np.zeros(len(tree.parent))
        for level in tree.levels:
            ways[level] = ways[tree.parent[level]] + length_m[tree.part[level]]
            fixed[level] = fixed[tree.parent[level]] + fixed_v[tree.part[level]]
        least = np.full(len(ways), np.inf)
        loads = self._circuit.port_nodes.ravel()
        least[loads] = _each_metre(limit_v - fixed[loads], ways[loads])
        behind = np.zeros(len(ways), dtype=np.bool_)
        behind[loads] = True
        for level in reversed(tree.levels):
            np.minimum.at(least, tree.parent[level], least[level])
            np.logical_or.at(behind, tree.parent[level], behind[level])
        first, second = self._circuit.ends.T
        own = _each_metre(
            limit_v - np.minimum(fixed[first], fixed[second]) - fixed_v,
            np.minimum(ways[first], ways[second]) + length_m,
        )
        inner = np.flatnonzero((tree.part >= 0) & behind)
        own[tree.part[inner]] = least[inner]
        return own


def _each_metre(volts: Floats, metres: Floats) -> Floats:
    """Volts for each metre, none below 0, inf without a length."""
    return np.where(metres > 0.0, np.maximum(volts, 0.0) / np.where(metres > 0.0, metres, 1.0), np.inf)


def paths_of(design: Design) -> Paths:
    """Ways in the solved circuit of a design with its joints as new, worked out once and kept with it."""
    kept: dict[str, Any] = design.analysis.kept
    if _KEPT not in kept:
        kept[_KEPT] = Paths(design.circuit, design.analysis.new.settled.ohm)
    found: Paths = kept[_KEPT]
    return found
