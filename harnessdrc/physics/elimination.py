"""Solves a network that has been taken apart: currents up to the meshes, potentials and currents down again.

Each call goes through the rounds of `harnessdrc.physics.reduction` once, for any number of columns at a time.
On the way up an end hands its current to its neighbour, and a node between two branches hands it to both
sides in the ratio of their conductances. On the way down the current of a branch is told to those that it
stands in for: parallel ones share it by conductance; two in series carry it both, less and more what the node
between them sends to either side. Nothing is subtracted but currents that really oppose.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from harnessdrc.physics.meshes import Meshes
from harnessdrc.physics.reduction import Reduction, add_rows, reduce_network

__all__ = ["Elimination", "factorize"]

Floats = NDArray[np.float64]
Numbers = NDArray[np.intp]


_KEPT_CELLS = 1_000_000  # nodes times columns of unit currents that are kept for the potentials


class Elimination:
    """A network taken apart and its meshes made ready; see `factorize`.

    All arrays with a row per node are in the order of `Reduction.place` unless said otherwise.
    """

    __slots__ = ("_last", "_upward", "branches", "meshes", "reduction")

    def __init__(self, reduction: Reduction, branches: int) -> None:
        self.reduction = reduction
        self.branches = branches
        self.meshes = Meshes(
            reduction.size - reduction.meshes,
            reduction.core_first,
            reduction.core_second,
            reduction.siemens[reduction.core],
        )
        self._last: tuple[tuple[Numbers, Numbers], tuple[Floats, Floats, Floats]] | None = None
        self._upward = [
            np.unique(np.concatenate((done.end_to, done.left, done.right)), return_inverse=True)
            for done in reduction.rounds
        ]

    def solve(self, current_a: Floats) -> tuple[Floats, Floats]:
        """Potentials of the nodes and currents of the branches.

        Parameters
        ----------
        current_a : ndarray, shape (size, columns)
            Current into each unknown node by its number in the network, A.

        Returns
        -------
        volts : ndarray, shape (size + 1, columns)
            By the number of the node in the network; the last is the reference, V.
        amps : ndarray, shape (branches, columns)
            From the first to the second node of every branch, A.
        """
        arrived_a = np.zeros((self.reduction.size + 1, current_a.shape[1]))
        arrived_a[self.reduction.place[:-1]] = current_a
        self.up(arrived_a)
        volts, core_a = self.meshes.solve(arrived_a[self.reduction.meshes : -1])
        return self.volts_down(arrived_a, volts), self.amps_down(arrived_a, core_a)

    def unit_volts(self, first: Numbers, second: Numbers) -> Floats:
        """Potentials when 1 A goes in at `first` and out at `second`, a column for each pair.

        Parameters
        ----------
        first, second : ndarray of int, shape (columns,)
            Nodes by their numbers in the network; the reference may be one of them.

        Returns
        -------
        ndarray, shape (size + 1, columns)
            By the number of the node in the network, for 1 A, Ω.

        Raises
        ------
        ArithmeticError
            Where the currents of the meshes do not balance.
        """
        arrived_a, core_v, _ = self._units(first, second)
        return self.volts_down(arrived_a, core_v)

    def unit_amps(self, first: Numbers, second: Numbers) -> Floats:
        """The branch currents of the same, shape (branches, columns)."""
        arrived_a, _, core_a = self._units(first, second)
        return self.amps_down(arrived_a, core_a)

    def _units(self, first: Numbers, second: Numbers) -> tuple[Floats, Floats, Floats]:
        """What arrives at the nodes, and potentials and currents of the meshes, for 1 A.

        Potentials and currents are asked for one after the other, so those of the last pairs are kept.
        """
        if self._last is not None:
            known, found = self._last
            if np.array_equal(known[0], first) and np.array_equal(known[1], second):
                return found
        column = np.arange(len(first))
        arrived_a = np.zeros((self.reduction.size + 1, len(first)))
        arrived_a[self.reduction.place[first], column] += 1.0
        arrived_a[self.reduction.place[second], column] -= 1.0
        self.up(arrived_a)
        found = (arrived_a, *self.meshes.solve(arrived_a[self.reduction.meshes : -1], checked=True))
        self._last = ((first, second), found) if arrived_a.size <= _KEPT_CELLS else None
        return found

    def up(self, arrived_a: Floats) -> None:
        """Hand currents up to the meshes; each row becomes what arrived at its node, in place.

        Parameters
        ----------
        arrived_a : ndarray, shape (size + 1, columns)
            Current brought into each node, A.
        """
        for done, (targets, target) in zip(self.reduction.rounds, self._upward, strict=True):
            if not len(targets):
                continue
            between = arrived_a[done.between]
            handed = np.concatenate(
                (arrived_a[done.ends], between * done.left_share[:, None], between * done.right_share[:, None])
            )
            arrived_a[targets] += add_rows(target, handed, len(targets))

    def volts_down(self, arrived_a: Floats, core_v: Floats) -> Floats:
        """Potentials of all nodes by their numbers in the network, V.

        Parameters
        ----------
        arrived_a : ndarray, shape (size + 1, columns)
            What `up` made, A.
        core_v : ndarray, shape (nodes of the meshes and the reference, columns)
            Their potentials, V.
        """
        siemens = self.reduction.siemens
        volts = np.empty_like(arrived_a)
        volts[self.reduction.meshes :] = core_v
        for done in reversed(self.reduction.rounds):
            volts[done.ends] = volts.take(done.end_to, 0) + arrived_a[done.ends] / siemens[done.end_branch, None]
            between = arrived_a[done.between] / done.both_siemens[:, None]
            between += done.left_share[:, None] * volts.take(done.left, 0)
            between += done.right_share[:, None] * volts.take(done.right, 0)
            volts[done.between] = between
        return volts.take(self.reduction.place, 0)

    def amps_down(self, arrived_a: Floats, core_a: Floats) -> Floats:
        """Currents of all branches from their first to their second node, A, shape (branches, columns).

        Parameters
        ----------
        arrived_a : ndarray, shape (size + 1, columns)
            What `up` made, A.
        core_a : ndarray, shape (branches of the meshes, columns)
            Their currents, A.
        """
        amps = np.zeros((len(self.reduction.siemens), arrived_a.shape[1]))
        amps[self.reduction.core] = core_a
        for done in reversed(self.reduction.rounds):
            amps[done.end_branch] = arrived_a[done.ends] * done.end_sign[:, None]
            through, between = amps[done.series], arrived_a[done.between]
            amps[done.left_branch] = (through - between * done.left_share[:, None]) * done.left_sign[:, None]
            amps[done.right_branch] = (through + between * done.right_share[:, None]) * done.right_sign[:, None]
            if len(done.child):
                amps[done.child] = amps.take(done.parent, 0) * done.share[:, None]
        return amps[: self.branches]

    def beside_siemens(self) -> Floats:
        """Conductance that the other branches show between the ends of each branch, S.

        Returns
        -------
        ndarray, shape (branches,)
            0 for a bridge, ``inf`` for a branch from a node to itself.
        """
        siemens = self.reduction.siemens
        beside = np.full(len(siemens), np.inf)
        beside[self.reduction.core] = self.meshes.beside_siemens()
        for done in reversed(self.reduction.rounds):
            beside[done.end_branch] = 0.0
            around, left, right = beside[done.series], siemens[done.left_branch], siemens[done.right_branch]
            beside[done.left_branch] = around * (right / (around + right))
            beside[done.right_branch] = around * (left / (around + left))
            if len(done.child):
                beside[done.child] = beside[done.parent] + _others(done.parent, siemens[done.child])
        return beside[: self.branches]


def factorize(size: int, first: Numbers, second: Numbers, siemens: Floats) -> Elimination:
    """Make ready to find potentials of nodes 0 to ``size - 1`` against node `size`, and branch currents.

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
    Elimination
        Ready to be solved.

    Raises
    ------
    numpy.linalg.LinAlgError, RuntimeError
        When the meshes cannot be factorized in double precision.
    """
    return Elimination(reduce_network(size, first, second, siemens), len(siemens))


def _others(parent: Numbers, siemens: Floats) -> Floats:
    """Of parallel branches side by side, the sum of all but each one, added up without subtracting."""
    begins = np.flatnonzero(np.append(True, parent[1:] != parent[:-1]))
    counts = np.diff(np.append(begins, len(parent)))
    others = np.empty(len(parent))
    for count in np.unique(counts).tolist():
        at = begins[counts == count][:, None] + np.arange(count)
        table = siemens[at]
        before, after = np.zeros_like(table), np.zeros_like(table)
        before[:, 1:] = np.cumsum(table[:, :-1], axis=1)
        after[:, :-1] = np.cumsum(table[:, :0:-1], axis=1)[:, ::-1]
        others[at] = before + after
    return others
