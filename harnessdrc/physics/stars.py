"""Inverse of the conductance matrix of meshes, by turning stars into polygons first.

A node of the meshes with a few branches g_1 ... g_d is the centre of a star. It is taken out, and between the
tips i and j of the star stands ``g_i g_j / (g_1 + ... + g_d)`` in its place. Many stars that do not touch each
other are turned in one round. Only positive terms are added up, so no figures are lost, and what is left for
a dense inverse is a third of the nodes and a twentieth of the work. The potentials of a centre are the mean
of those of its tips, weighted with the branches.

Kept small on purpose: a linear algebra library shares out large products among threads that wait for each
other by spinning, which on a busy machine costs a hundred times the product.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.physics.reduction import Standing, make_one_per_pair

__all__ = ["inverse"]

Floats = NDArray[np.float64]
Numbers = NDArray[np.intp]

_FEW_ENOUGH = 80  # nodes that are left to the dense inverse at once
_LARGEST_STAR = 6  # tips; larger stars leave more branches than they are worth,
_SMALL, _LARGEST_OF_SMALL = 256, 16  # unless so few nodes are left that a small inverse is reached


class _Turned(NamedTuple):
    """Stars turned in one round."""

    centre: Numbers
    tips: Numbers
    """Shape (centres, largest star); the reference stands where there are fewer tips."""
    share: Floats
    total_siemens: Floats


def inverse(size: int, first: Numbers, second: Numbers, siemens: Floats) -> Floats:
    """Potentials of every node for 1 A into every node.

    Parameters
    ----------
    size : int
        Unknown nodes; node `size` is the reference at 0 V.
    first, second : ndarray of int, shape (branches,)
        Ends of the branches; at most one branch between two nodes, none from a node to itself.
    siemens : ndarray, shape (branches,)
        Conductances, S.

    Returns
    -------
    ndarray, shape (size, size)
        Potential of the node of the row for a current into that of the column, Ω.

    Raises
    ------
    numpy.linalg.LinAlgError
        When it cannot be inverted in double precision.
    """
    now = Standing(np.arange(len(first)), first, second, siemens)
    rank = (np.arange(size + 1, dtype=np.uint64) * np.uint64(2654435761)) % np.uint64(2**32)
    left = np.ones(size + 1, dtype=np.bool_)
    left[size] = False
    turned: list[_Turned] = []
    while (nodes := np.count_nonzero(left)) > _FEW_ENOUGH:
        degree = np.bincount(np.concatenate((now.first, now.second)), minlength=size + 1)
        limit = min(int(degree[left].min()) + 1, _LARGEST_STAR if nodes > _SMALL else _LARGEST_OF_SMALL)
        chosen = left & (degree <= limit)
        # of neighbours the one with fewer branches is turned
        order = degree.astype(np.uint64) * np.uint64(2**32) + rank
        beside = np.flatnonzero(chosen[now.first] & chosen[now.second])
        a, b = now.first[beside], now.second[beside]
        chosen[np.where(order[a] < order[b], b, a)] = False
        if not chosen.any():
            break
        done, now = _turn(chosen, degree, now, size)
        left[done.centre] = False
        turned.append(done)
        _, now = make_one_per_pair(size + 1, now, 0)
    return _filled_in(size, np.flatnonzero(left), now, turned)


def _turn(chosen: NDArray[np.bool_], degree: Numbers, now: Standing, reference: int) -> tuple[_Turned, Standing]:
    touched = chosen[now.first] | chosen[now.second]
    at = np.flatnonzero(touched)
    away = chosen[now.first[at]]
    node = np.where(away, now.first[at], now.second[at])
    order = np.argsort(node, kind="stable")
    tip = np.where(away, now.second[at], now.first[at])[order]
    centre = np.flatnonzero(chosen)
    counts = degree[centre]
    row = np.repeat(np.arange(len(centre)), counts)
    column = np.arange(len(tip)) - np.repeat(np.cumsum(counts) - counts, counts)
    widest = int(counts.max())
    tips = np.full((len(centre), widest), reference, dtype=np.intp)
    leg = np.zeros((len(centre), widest))
    tips[row, column] = tip
    leg[row, column] = now.siemens[at][order]
    total = leg.sum(axis=1)
    share = leg / total[:, None]
    one, two = np.triu_indices(widest, 1)
    between = (share[:, one] * leg[:, two]).ravel()
    real = np.flatnonzero((two < counts[:, None]).ravel())
    kept = np.flatnonzero(~touched)
    return _Turned(centre, tips, share, total), Standing(
        np.zeros(len(kept) + len(real), dtype=np.intp),
        np.concatenate((now.first[kept], tips[:, one].ravel()[real])),
        np.concatenate((now.second[kept], tips[:, two].ravel()[real])),
        np.concatenate((now.siemens[kept], between[real])),
    )


def _filled_in(size: int, left: Numbers, now: Standing, turned: list[_Turned]) -> Floats:
    """Invert what is left, and fill in the centres in the reverse order of their turning."""
    number = np.full(size + 1, len(left), dtype=np.intp)
    number[left] = np.arange(len(left))
    first, second = number[now.first], number[now.second]
    count = len(left) + 1
    matrix = np.zeros((count, count))
    matrix[first, second] = matrix[second, first] = -now.siemens
    np.fill_diagonal(matrix, np.bincount(np.concatenate((first, second)), np.tile(now.siemens, 2), count))
    # worked on in the order of filling in, so that what is known stands in one block
    order = np.concatenate((left, *(done.centre for done in reversed(turned))))
    place = np.empty(size + 1, dtype=np.intp)
    place[order] = np.arange(1, size + 1)
    place[size] = 0  # the reference comes first, with no potential
    full = np.zeros((size + 1, size + 1))
    full[1:count, 1:count] = np.linalg.inv(matrix[:-1, :-1])
    known = count
    for done in reversed(turned):
        new = slice(known, known + len(done.centre))
        tips = place[done.tips]
        mean = full[:known, :known].take(tips[:, 0], 0) * done.share[:, :1]
        for tip in range(1, tips.shape[1]):
            mean += full[:known, :known].take(tips[:, tip], 0) * done.share[:, tip, None]
        full[new, :known] = mean
        full[:known, new] = mean.T
        full[new, new] = sum(
            full[:known, new].take(tips[:, tip], 0) * done.share[:, tip, None] for tip in range(tips.shape[1])
        )
        diagonal = np.arange(new.start, new.stop)
        full[diagonal, diagonal] += 1.0 / done.total_siemens
        known = new.stop
    back = place[:-1]
    return np.asarray(full.take(back, 0).take(back, 1), dtype=np.float64)
