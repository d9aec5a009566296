"""Currents of many unit injections at once, as the few entries that are not zero.

One ampere brought in at a sensor's ground and taken out at the controller's touches the branches between the
two and no others, whatever the size of the loom. So the way up to the meshes and down again is gone with
entries (where, column, amperes) in place of whole columns, round by round; entries that meet are added up, and
what cancels goes no further. The cost is that of the paths.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from harnessdrc.physics.elimination import Elimination
from harnessdrc.physics.reduction import Reduction

__all__ = ["LEAST_SHARE", "Entries", "unit_amps"]

Floats = NDArray[np.float64]
Numbers = NDArray[np.intp]
Entries = tuple[Numbers, Numbers, Floats]
"""Row (node or branch), column and current of each entry."""

LEAST_SHARE = 1e-13
"""Part of a unit current below which a branch is taken to carry nothing."""

_CANCELLED = 1e-14  # what rounding leaves of currents that cancel
_DENSE_CELLS = 100_000  # branches times columns; up to it whole columns are quicker than entries
_COLUMNS = 64  # of the meshes, solved together: few enough that the products are not shared out to threads
_NOTHING: Entries = (np.empty(0, dtype=np.intp), np.empty(0, dtype=np.intp), np.empty(0))


def unit_amps(elimination: Elimination, first: Numbers, second: Numbers) -> Entries:
    """Branch currents of 1 A from `first` to `second`, one column for each pair.

    Parameters
    ----------
    elimination : Elimination
        The network.
    first, second : ndarray of int, shape (columns,)
        Nodes by their numbers in the network; the reference may be one of them.

    Returns
    -------
    branch, column, amps : ndarray
        Entries of at least `LEAST_SHARE`, sorted by column, then branch.

    Raises
    ------
    ArithmeticError
        Where the currents of the meshes do not balance.
    """
    reduction, columns = elimination.reduction, len(first)
    if elimination.branches * columns <= _DENSE_CELLS:
        return _in_whole_columns(elimination, first, second)
    place, column = reduction.place, np.arange(columns)
    entries = (
        np.concatenate((place[first], place[second])),
        np.concatenate((column, column)),
        np.repeat([1.0, -1.0], columns),
    )
    arrived, core = _up(reduction, entries, columns)
    number, column, amps = _down(elimination, arrived, _through_meshes(elimination, core), columns)
    # once more, now by column and then branch
    column, number, amps = _added_up((column, number, amps), elimination.branches, LEAST_SHARE)
    return number, column, amps


def _in_whole_columns(elimination: Elimination, first: Numbers, second: Numbers) -> Entries:
    """The same where there is little to leave out."""
    amps = elimination.unit_amps(first, second)
    carries = np.abs(amps) >= LEAST_SHARE
    cell = np.flatnonzero(np.ascontiguousarray(carries.T))
    column = np.repeat(np.arange(len(first)), np.count_nonzero(carries, axis=0))
    number = cell - column * elimination.branches
    return number, column, amps.ravel().take(number * len(first) + column)


def _up(reduction: Reduction, entries: Entries, columns: int) -> tuple[list[Entries], Entries]:
    """What arrives at the nodes of each round, and at the meshes."""
    arrived: list[Entries] = []
    for done in reduction.rounds:
        here = entries[0] < done.between.stop
        node, column, amps = _added_up(_some(entries, here), columns, _CANCELLED)
        arrived.append((node, column, amps))
        # nodes are sorted, and the ends have the lower numbers
        parted = int(np.searchsorted(node, done.ends.stop))
        at, over = node[:parted] - done.ends.start, node[parted:] - done.between.start
        column_over, amps_over = column[parted:], amps[parted:]
        entries = _joined(
            _some(entries, ~here),
            (done.end_to[at], column[:parted], amps[:parted]),
            (done.left[over], column_over, amps_over * done.left_share[over]),
            (done.right[over], column_over, amps_over * done.right_share[over]),
        )
    return arrived, _added_up(_some(entries, entries[0] < reduction.size), columns, _CANCELLED)


def _through_meshes(elimination: Elimination, core: Entries) -> Entries:
    """Currents of the branches of the meshes."""
    node, column, amps = core
    if not len(node):
        return _NOTHING
    found: list[Entries] = []
    wanted, dense = np.unique(column, return_inverse=True)
    for begin in range(0, len(wanted), _COLUMNS):
        some = wanted[begin : begin + _COLUMNS]
        here = (dense >= begin) & (dense < begin + _COLUMNS)
        current_a = np.zeros((elimination.meshes.size, len(some)))
        current_a[node[here] - elimination.reduction.meshes, dense[here] - begin] = amps[here]
        carried = elimination.meshes.solve(current_a, checked=True)[1]
        branch, which = np.nonzero(np.abs(carried) >= _CANCELLED)
        found.append((elimination.reduction.core[branch], some[which], carried[branch, which]))
    return _joined(*found)


def _down(elimination: Elimination, arrived: list[Entries], core: Entries, columns: int) -> Entries:
    """Currents of the branches of the network, an entry or several for each."""
    leaves = elimination.branches
    finished, pending = [_some(core, core[0] < leaves)], _some(core, core[0] >= leaves)
    for done, (node, column, amps) in zip(reversed(elimination.reduction.rounds), reversed(arrived), strict=True):
        parted = int(np.searchsorted(node, done.ends.stop))
        at, over = node[:parted] - done.ends.start, node[parted:] - done.between.start
        column_over, amps_over = column[parted:], amps[parted:]
        here = pending[0] >= done.series.start
        series, column_in, amps_in = _added_up(_some(pending, here), columns, _CANCELLED)
        inside = series - done.series.start
        told = _joined(
            _some(pending, ~here),
            (done.end_branch[at], column[:parted], amps[:parted] * done.end_sign[at]),
            (done.left_branch[inside], column_in, amps_in * done.left_sign[inside]),
            (done.right_branch[inside], column_in, amps_in * done.right_sign[inside]),
            (done.left_branch[over], column_over, -amps_over * (done.left_share * done.left_sign)[over]),
            (done.right_branch[over], column_over, amps_over * (done.right_share * done.right_sign)[over]),
        )
        leaf = told[0] < leaves
        finished.append(_some(told, leaf))
        pending = _some(told, ~leaf)
        if len(done.child):
            sums = int(done.parent[0])
            here = pending[0] >= sums
            parallel, column, amps = _added_up(_some(pending, here), columns, _CANCELLED)
            begins = np.searchsorted(done.parent, parallel)
            counts = np.searchsorted(done.parent, parallel, side="right") - begins
            step = np.arange(int(counts.sum())) - np.repeat(np.cumsum(counts) - counts, counts)
            at = np.repeat(begins, counts) + step
            told = (done.child[at], np.repeat(column, counts), np.repeat(amps, counts) * done.share[at])
            leaf = told[0] < leaves
            finished.append(_some(told, leaf))
            pending = _joined(_some(pending, ~here), _some(told, ~leaf))
    return _joined(*finished)


def _added_up(entries: Entries, columns: int, least: float) -> Entries:
    """One entry for each row and column, sorted so; those below `least` left out."""
    row, column, amps = entries
    if not len(row):
        return entries
    cell = row * columns + column
    order = np.argsort(cell, kind="stable")
    cell = cell[order]
    begins = np.flatnonzero(np.append(True, cell[1:] != cell[:-1]))
    total = np.add.reduceat(amps[order], begins)
    kept = np.abs(total) >= least
    row, column = np.divmod(cell[begins[kept]], columns)
    return row, column, total[kept]


def _some(entries: Entries, chosen: NDArray[np.bool_]) -> Entries:
    return entries[0][chosen], entries[1][chosen], entries[2][chosen]


def _joined(*parts: Entries) -> Entries:
    return (
        np.concatenate([part[0] for part in parts]),
        np.concatenate([part[1] for part in parts]),
        np.concatenate([part[2] for part in parts]),
    )
