"""Takes a network apart into series and parallel branches, and keeps the record of it.

As by hand: parallel branches are added up into one; a node on the end of a single branch is taken out with
it; a node between two branches of conductance g and h leaves one branch gh/(g + h) in their place. This goes
on in rounds, many nodes at a time, until nodes of three and more branches are left, the meshes. Sums of
positive terms alone occur, so 0.1 mΩ beside a megohm costs no figures.

The record is a forest. Its leaves are the branches of the network, and every branch that stands in for
others knows them. Currents brought in from outside go up it to the meshes, currents in the branches come
down it, and so does what the rest of the network is to each branch.

Sources of the method: elimination in the order of least degree; sums of positive terms in place of
differences as by Grassmann, Taksar and Heyman (Operations Research 33, 1985).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

__all__ = ["Reduction", "Round", "Standing", "add_rows", "make_one_per_pair", "reduce_network", "row_sums"]

Floats = NDArray[np.float64]
Numbers = NDArray[np.intp]


class Round(NamedTuple):
    """One round: parallel branches made one, then nodes taken out, none of them beside another.

    Nodes carry the numbers of the reduction (`Reduction.place`): those taken out in one round stand together.
    """

    child: Numbers
    """Parallel branches, those of one sum side by side."""
    parent: Numbers
    """The branch that stands in for each of them."""
    share: Floats
    """Part of the current of `parent` that each carries, negative where they point apart."""
    ends: slice
    """Nodes with one branch."""
    end_to: Numbers
    """The node at its other end."""
    end_branch: Numbers
    end_sign: Floats
    """+1 where the branch points away from the end."""
    between: slice
    """Nodes with two branches, to `left` and to `right`."""
    left: Numbers
    right: Numbers
    left_branch: Numbers
    right_branch: Numbers
    left_sign: Floats
    """+1 where the branch points from `left` to the node."""
    right_sign: Floats
    """+1 where the branch points from the node to `right`."""
    left_share: Floats
    """Part of the node's own current that goes to `left`."""
    right_share: Floats
    both_siemens: Floats
    series: slice
    """The branches from `left` to `right` that stand in for the two."""


class Reduction(NamedTuple):
    """Record of a network taken apart.

    Parameters
    ----------
    size : int
        Unknown nodes of the network; node `size` is the reference, before and after renumbering.
    place : ndarray of int, shape (size + 1,)
        New number of each node: in the order in which they were taken out, then those of the meshes, then
        the reference.
    meshes : int
        New number of the first node of the meshes.
    rounds : tuple of Round
        In the order in which they were done.
    siemens : ndarray
        Conductance of the branches of the network, then of those that stand in for others, S.
    core : ndarray of int
        Branches left, those of the meshes.
    core_first, core_second : ndarray of int
        Their ends, counted from 0 at node `meshes`.
    """

    size: int
    place: Numbers
    meshes: int
    rounds: tuple[Round, ...]
    siemens: Floats
    core: Numbers
    core_first: Numbers
    core_second: Numbers


def add_rows(target: Numbers, rows: Floats, count: int) -> Floats:
    """Sum of the rows that have the same target, shape (count, columns)."""
    return row_sums(target, rows.shape[1], count)(rows)


def row_sums(target: Numbers, columns: int, count: int) -> Callable[[Floats], Floats]:
    """`add_rows` for the same targets many times over."""
    if columns == 1:
        return lambda rows: np.bincount(target, rows[:, 0], count).astype(np.float64, copy=False)[:, None]
    cells = ((target * columns)[:, None] + np.arange(columns)).ravel()

    def sums(rows: Floats) -> Floats:
        total = np.bincount(cells, rows.ravel(), count * columns)
        return total.astype(np.float64, copy=False).reshape(count, columns)

    return sums


def reduce_network(size: int, first: Numbers, second: Numbers, siemens: Floats) -> Reduction:
    """Take a network apart.

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
    Reduction
        The record.
    """
    apart = np.flatnonzero(first != second)
    now = Standing(apart, first[apart], second[apart], siemens[apart])
    # scattered ranks, so that along a chain about every third node is the highest of its neighbours
    rank = (np.arange(size + 1, dtype=np.uint64) * np.uint64(2654435761)) % np.uint64(2**32)
    known, made = [siemens], len(siemens)
    place, taken_out = np.full(size + 1, -1, dtype=np.intp), 0
    rounds: list[Round] = []
    while True:
        parallel, now = make_one_per_pair(size + 1, now, made)
        known.append(now.siemens[len(now.siemens) - parallel.made :])
        made += parallel.made
        degree = np.bincount(np.concatenate((now.first, now.second)), minlength=size + 1)
        chosen = (degree == 1) | (degree == 2)
        chosen[size] = False
        side_by_side = np.flatnonzero(chosen[now.first] & chosen[now.second])
        a, b = now.first[side_by_side], now.second[side_by_side]
        chosen[np.where(rank[a] < rank[b], a, b)] = False
        done, now = _take_out(chosen, degree, now, parallel, made, taken_out, place)
        series = now.siemens[len(now.siemens) - (done.series.stop - done.series.start) :]
        known.append(series)
        made += len(series)
        if done.between.stop == taken_out:
            if len(done.child):
                rounds.append(done)
            break
        taken_out = done.between.stop
        rounds.append(done)
    core_nodes = np.flatnonzero(place[:size] < 0)
    place[core_nodes] = taken_out + np.arange(len(core_nodes))
    place[size] = size
    return Reduction(
        size,
        place,
        taken_out,
        _renumbered(rounds, place),
        np.concatenate(known),
        now.number,
        place[now.first] - taken_out,
        place[now.second] - taken_out,
    )


class Standing(NamedTuple):
    """Branches that stand at present."""

    number: Numbers
    first: Numbers
    second: Numbers
    siemens: Floats


class _Parallel(NamedTuple):
    child: Numbers
    parent: Numbers
    share: Floats
    made: int


_NONE = np.empty(0, dtype=np.intp)
_NO_PARALLEL = _Parallel(_NONE, _NONE, np.empty(0), 0)


def make_one_per_pair(count: int, now: Standing, made: int) -> tuple[_Parallel, Standing]:
    """Add up parallel branches; the sums, numbered from `made`, stand last."""
    key = np.minimum(now.first, now.second) * count + np.maximum(now.first, now.second)
    order = np.argsort(key, kind="stable")
    pair = key[order]
    like_next = pair[1:] == pair[:-1]
    if not like_next.any():
        return _NO_PARALLEL, now
    doubled = np.zeros(len(pair), dtype=np.bool_)
    doubled[1:] = like_next
    doubled[:-1] |= like_next
    at = np.flatnonzero(doubled)
    among, pair = order[at], pair[at]
    begins = np.ones(len(at), dtype=np.bool_)
    begins[1:] = pair[1:] != pair[:-1]
    group = np.cumsum(begins) - 1
    low = pair[begins] // count
    high = pair[begins] % count
    total = np.bincount(group, now.siemens[among])
    share = now.siemens[among] / total[group]
    share[now.first[among] != low[group]] *= -1.0
    single = np.ones(len(now.number), dtype=np.bool_)
    single[among] = False
    numbers = made + np.arange(len(total))
    return _Parallel(now.number[among], numbers[group], share, len(total)), Standing(
        np.concatenate((now.number[single], numbers)),
        np.concatenate((now.first[single], low)),
        np.concatenate((now.second[single], high)),
        np.concatenate((now.siemens[single], total)),
    )


def _take_out(
    chosen: NDArray[np.bool_],
    degree: Numbers,
    now: Standing,
    parallel: _Parallel,
    made: int,
    taken_out: int,
    place: Numbers,
) -> tuple[Round, Standing]:
    """Take the chosen nodes out and note their new numbers; what stands in for their branches stands last."""
    touched = chosen[now.first] | chosen[now.second]
    at = np.flatnonzero(touched)
    away = chosen[now.first[at]]
    node = np.where(away, now.first[at], now.second[at])
    order = np.argsort(node, kind="stable")
    at, node, away = at[order], node[order], away[order]
    other = np.where(away, now.second[at], now.first[at])
    sign = np.where(away, 1.0, -1.0)
    branch, siemens = now.number[at], now.siemens[at]
    single = degree[node] == 1
    double = np.flatnonzero(~single)
    single = np.flatnonzero(single)
    one, two = double[::2], double[1::2]
    ends = slice(taken_out, taken_out + len(single))
    between = slice(ends.stop, ends.stop + len(one))
    place[node[single]] = np.arange(ends.start, ends.stop)
    place[node[one]] = np.arange(between.start, between.stop)
    both = siemens[one] + siemens[two]
    done = Round(
        parallel.child,
        parallel.parent,
        parallel.share,
        ends,
        other[single],
        branch[single],
        sign[single],
        between,
        other[one],
        other[two],
        branch[one],
        branch[two],
        -sign[one],
        sign[two],
        siemens[one] / both,
        siemens[two] / both,
        both,
        slice(made, made + len(one)),
    )
    kept = np.flatnonzero(~touched)
    return done, Standing(
        np.concatenate((now.number[kept], np.arange(made, made + len(one)))),
        np.concatenate((now.first[kept], done.left)),
        np.concatenate((now.second[kept], done.right)),
        np.concatenate((now.siemens[kept], siemens[one] * done.right_share)),
    )


def _renumbered(rounds: list[Round], place: Numbers) -> tuple[Round, ...]:
    """The same rounds, the neighbours by their new numbers; noted in place, since nothing else knows them."""
    for done in rounds:
        for neighbours in (done.end_to, done.left, done.right):
            neighbours[:] = place[neighbours]
    return tuple(rounds)
