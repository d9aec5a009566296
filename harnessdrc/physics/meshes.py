"""Solves the meshes of a network: what is left when series and parallel branches have been taken out.

A loom is nearly a tree, so its meshes are few. A dense inverse serves, and only where there are more than
`DENSE_BELOW` nodes a sparse factorization, which costs the import of scipy once.

The drop over each branch is an unknown of its own: the current balance that a solution leaves over is solved
again, and its drops are added to the drops, not to the potentials.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from harnessdrc.physics.reduction import add_rows
from harnessdrc.physics.stars import inverse
from harnessdrc.physics.zero_ohm import join_tree

__all__ = ["DENSE_BELOW", "UNIT_TOLERANCE", "Meshes"]

Floats = NDArray[np.float64]
Numbers = NDArray[np.intp]

DENSE_BELOW = 1500
"""Nodes of the meshes; under it numpy's inverse is quicker than importing scipy."""

UNIT_TOLERANCE = 1e-9
"""Current left over at a node when 1 A flows, A."""

_UNSHARED = 1 << 18  # multiplications
_PIECES = 64
_EXACT = 1e-10  # part of a conductance that rounding may make up without refinement
_BLOCK = 256  # right-hand sides solved together, so that they stay in the processor's cache


class Meshes:
    """Network without dangling or series branches, made ready to be solved.

    Parameters
    ----------
    size : int
        Unknown nodes; node `size` is the reference.
    first, second : ndarray of int, shape (branches,)
        Ends of the branches; at most one branch between two nodes.
    siemens : ndarray, shape (branches,)
        Conductances, S.

    Raises
    ------
    numpy.linalg.LinAlgError, RuntimeError
        When the conductances cannot be factorized in double precision.
    """

    __slots__ = ("_inverse", "_potentials", "first", "second", "siemens", "size")

    def __init__(self, size: int, first: Numbers, second: Numbers, siemens: Floats) -> None:
        self.size, self.first, self.second, self.siemens = size, first, second, siemens
        self._inverse: Floats | None = None
        self._potentials: Callable[[Floats], Floats]
        if size < DENSE_BELOW:
            self._inverse = inverse(size, first, second, siemens)
            self._potentials = self._product
        else:
            self._potentials = _factors(size, first, second, siemens)

    def solve(self, current_a: Floats, *, checked: bool = False) -> tuple[Floats, Floats]:
        """Potentials and branch currents.

        Parameters
        ----------
        current_a : ndarray, shape (size, columns)
            Current into each unknown node, A.
        checked : bool
            Whether the balance of what is given out is tested, against 1 A.

        Returns
        -------
        volts : ndarray, shape (size + 1, columns)
            Potential of every node, that of the reference 0, V.
        amps : ndarray, shape (branches, columns)
            Current from the first to the second node of every branch, A.

        Raises
        ------
        ArithmeticError
            Where the conductances lie too far apart for the currents to balance, if `checked`.
        """
        columns = current_a.shape[1]
        volts = np.zeros((self.size + 1, columns))
        amps = np.zeros((len(self.siemens), columns))
        if not self.size:
            return volts, amps
        siemens = self.siemens[:, None]
        rest_a = current_a
        for again in (True, False):
            change_v = np.zeros((self.size + 1, columns))
            change_v[:-1] = self._potentials(rest_a)
            volts += change_v
            amps += siemens * (change_v.take(self.first, 0) - change_v.take(self.second, 0))
            if again or checked:
                rest_a = current_a - self._out_of_nodes(amps)
        if checked and not np.abs(rest_a).max(initial=0.0) <= UNIT_TOLERANCE:
            raise ArithmeticError("the currents of the meshes do not balance")
        return volts, amps

    def _product(self, current_a: Floats) -> Floats:
        """The inverse times columns, in pieces that the linear algebra library does not share out to threads."""
        whole = self._inverse
        assert whole is not None
        step = _UNSHARED // max(1, self.size * current_a.shape[1])
        if step * _PIECES < self.size or step >= self.size:
            return np.asarray(whole @ current_a, dtype=np.float64)
        pieces = [whole[row : row + step] @ current_a for row in range(0, self.size, step)]
        return np.concatenate(pieces)

    def beside_siemens(self) -> Floats:
        """Conductance that the other branches show between the ends of each branch, S; 0 for a bridge.

        One ampere is brought in at one end of the branch and taken out at the other. What the others carry of
        it over the drop is their conductance: the currents of the others at one end are added up, so that
        nothing is lost where the branch itself carries nearly all.
        """
        count = len(self.siemens)
        beside = np.zeros(count)
        if not count:
            return beside
        ends = list(zip(self.first.tolist(), self.second.tolist(), strict=True))
        looped = np.flatnonzero(~join_tree(self.size + 1, ends).determined)
        degree = np.bincount(np.concatenate((self.first, self.second)), minlength=self.size + 1)
        watched = np.where(degree[self.second] < degree[self.first], self.second, self.first)
        if self._inverse is not None:
            looped = self._from_inverse(looped, watched, beside)
        for begin in range(0, len(looped), _BLOCK):
            some = looped[begin : begin + _BLOCK]
            column, near, sign = self._near(watched[some])
            unit = np.zeros((self.size + 1, len(some)))
            columns = np.arange(len(some))
            unit[self.first[some], columns] = 1.0
            unit[self.second[some], columns] = -1.0
            amps = self.solve(unit[:-1], checked=True)[1][near, column]
            own = near == some[column]
            others_a = np.abs(np.bincount(column[~own], (sign * amps)[~own], len(some)))
            beside[some] = others_a * self.siemens[some] / np.bincount(column[own], amps[own], len(some))
        return beside

    def _from_inverse(self, looped: Numbers, watched: Numbers, beside: Floats) -> Numbers:
        """Fill in where the inverse, which holds the solutions, is exact enough as it is; the branches left."""
        column, near, sign = self._near(watched[looped])
        padded = np.zeros((self.size + 1, self.size + 1))
        padded[:-1, :-1] = self._inverse
        from_node, to_node = self.first[looped], self.second[looped]
        a, b, i, j = self.first[near], self.second[near], from_node[column], to_node[column]
        drop_v = (padded[a, i] - padded[b, i]) - (padded[a, j] - padded[b, j])
        own = near == looped[column]
        others = np.flatnonzero(~own)
        amps = sign[others] * drop_v[others] * self.siemens[near[others]]
        others_a = np.abs(np.bincount(column[others], amps, len(looped)))
        own_v = np.bincount(column[own], drop_v[own], len(looped))
        # rounding of the potentials, seen as current in the neighbours
        size_v = padded[from_node, from_node] + padded[to_node, to_node]
        doubt_a = size_v * np.bincount(column[others], self.siemens[near[others]], len(looped))
        doubt_a *= 16 * np.finfo(float).eps
        with np.errstate(divide="ignore", invalid="ignore"):
            beside[looped] = others_a / own_v
        sure = (doubt_a <= _EXACT * others_a) & (size_v * 16 * np.finfo(float).eps <= _EXACT * own_v)
        return looped[~sure]

    def _near(self, nodes: Numbers) -> tuple[Numbers, Numbers, Floats]:
        """Branches at each node: the number of the node in `nodes`, the branch, and +1 where it leads away."""
        out = np.concatenate((self.first, self.second))
        order = np.argsort(out, kind="stable")
        begins = np.searchsorted(out[order], nodes)
        counts = np.searchsorted(out[order], nodes, side="right") - begins
        step = np.arange(int(counts.sum())) - np.repeat(np.cumsum(counts) - counts, counts)
        half = order[np.repeat(begins, counts) + step]
        away = half < len(self.siemens)
        branch = np.where(away, half, half - len(self.siemens))
        return np.repeat(np.arange(len(nodes)), counts), branch, np.where(away, 1.0, -1.0)

    def _out_of_nodes(self, amps: Floats) -> Floats:
        """Sum of the branch currents that leave each unknown node, shape (size, columns)."""
        both = np.concatenate((amps, -amps))
        return add_rows(np.concatenate((self.first, self.second)), both, self.size + 1)[:-1]


def _factors(size: int, first: Numbers, second: Numbers, siemens: Floats) -> Callable[[Floats], Floats]:
    from scipy.sparse import csc_matrix
    from scipy.sparse.linalg import splu

    rows = np.concatenate((first, second, first, second))
    columns = np.concatenate((first, second, second, first))
    terms = np.concatenate((siemens, siemens, -siemens, -siemens))
    kept = (rows < size) & (columns < size)  # the row and column of the reference are left out
    sparse = csc_matrix((terms[kept], (rows[kept], columns[kept])), shape=(size, size))
    factors = splu(sparse, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})

    def in_blocks(current_a: Floats) -> Floats:
        blocks = [current_a[:, k : k + _BLOCK] for k in range(0, current_a.shape[1], _BLOCK)]
        return np.hstack([factors.solve(block) for block in blocks])

    return in_blocks
