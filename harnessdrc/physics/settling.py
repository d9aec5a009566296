"""Refines currents and potentials of a network until they balance, and tests that they do.

The current of each branch is an unknown of its own, so that the drop over 0.1 mΩ keeps its figures at 12 V:
the currents left over at the nodes are solved again, and the currents that answer them are added.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.physics.elimination import Elimination
from harnessdrc.physics.reduction import row_sums

__all__ = ["BALANCE_TOLERANCE", "POWER_TOLERANCE", "Settled", "settle"]

Floats = NDArray[np.float64]
Numbers = NDArray[np.intp]

BALANCE_TOLERANCE = 1e-9
"""Current left over at a node, over the currents that meet there."""

POWER_TOLERANCE = 1e-9
"""Power of the sources less the heat of the resistances, over the power of the sources."""

_DEAD_SHARE = 1e-12  # where nothing flows, what is left over is measured against the largest current
_IDLE_SHARE = 1e-9  # of what a source would drive through its own resistance: counts as nothing where none flows
_PASSES = 40
_ROUNDING = 1e-13


class Settled(NamedTuple):
    """States of a network, and what was found wrong with them.

    Parameters
    ----------
    volts : ndarray, shape (unknowns + 1, states)
        Potentials, the last of them that of the reference, V.
    amps : ndarray, shape (branches, states)
        Currents from the first to the second node of each branch, A.
    unbalanced : tuple of (state, node)
        States in which currents do not balance, and the node where they do so least.
    powerless : tuple of (state, W, W)
        States in which power does not balance, the power of the sources and that of the resistances.
    """

    volts: Floats
    amps: Floats
    unbalanced: tuple[tuple[int, int], ...]
    powerless: tuple[tuple[int, float, float], ...]


def settle(
    elimination: Elimination | None,
    ends: tuple[Numbers, Numbers],
    ohm: Floats,
    emf_v: Floats,
    source_a: Floats,
    fixed_a: Floats,
) -> Settled:
    """Solve all states at once.

    Parameters
    ----------
    elimination : Elimination or None
        The network made ready; ``None`` where that was not possible, so that nothing balances.
    ends : tuple of two ndarrays of int, shape (branches,)
        Unknowns at either end of each branch.
    ohm : ndarray, shape (branches,)
        Resistances, neither 0 nor infinite, Ω.
    emf_v : ndarray, shape (branches, states)
        Sources in the branches, V.
    source_a, fixed_a : ndarray, shape (unknowns + 1, states)
        Currents brought in at each unknown, and the sum of their sizes, A.

    Returns
    -------
    Settled
        With whatever does not balance.
    """
    size, states = len(source_a) - 1, source_a.shape[1]
    at_first, at_second = (row_sums(nodes, states, size + 1) for nodes in ends)
    driven = bool(emf_v.any())
    volts = np.zeros((size + 1, states))
    amps = emf_v / ohm[:, None] if driven else np.zeros((len(ohm), states))
    rest_a = source_a - (at_first(amps) - at_second(amps)) if driven else source_a
    idle_a = _IDLE_SHARE * np.abs(amps).max(axis=0, initial=0.0) + np.finfo(float).tiny
    before, worst, off = np.full(states, np.inf), np.full(states, np.inf), np.abs(rest_a)
    for _ in range(_PASSES):
        if elimination is not None:
            change_v, change_a = elimination.solve(rest_a[:size])
            volts += change_v
            amps += change_a
        rest_a = source_a - at_first(amps)
        rest_a += at_second(amps)
        size_a = np.abs(amps)
        largest_a = size_a.max(axis=0, initial=0.0)
        left_a = np.abs(rest_a[:size])
        before = worst
        # against less than what meets at any node: mostly that is enough
        worst = left_a.max(axis=0, initial=0.0) / np.maximum(_DEAD_SHARE / BALANCE_TOLERANCE * largest_a, idle_a)
        if (worst <= _ROUNDING * 10).all():
            break
        meeting_a = fixed_a + at_first(size_a) + at_second(size_a)
        least_a = _DEAD_SHARE / BALANCE_TOLERANCE * meeting_a.max(axis=0, initial=0.0)
        off = left_a / np.maximum(meeting_a[:size], np.maximum(least_a, idle_a))
        worst = off.max(axis=0, initial=0.0)
        settled = (worst <= BALANCE_TOLERANCE) & (worst > before / 4)
        if (settled | (worst <= _ROUNDING) | ~(worst < before)).all():
            break
    unbalanced = tuple(
        (state, int(np.argmax(off[:, state]))) for state in np.flatnonzero(~(worst <= BALANCE_TOLERANCE)).tolist()
    )
    powerless = () if unbalanced else _powerless(volts, amps, ohm, emf_v if driven else None, source_a, fixed_a)
    return Settled(volts, amps, unbalanced, powerless)


def _powerless(
    volts: Floats, amps: Floats, ohm: Floats, emf_v: Floats | None, source_a: Floats, fixed_a: Floats
) -> tuple[tuple[int, float, float], ...]:
    """States in which the sources give something else than the resistances take."""
    given_w = np.einsum("ns,ns->s", volts, source_a)
    taken_w = np.einsum("bs,bs->s", amps, amps * ohm[:, None])
    size_w = np.einsum("ns,ns->s", np.abs(volts), fixed_a)
    if emf_v is not None:
        driven_w = emf_v * amps
        given_w = given_w + driven_w.sum(axis=0)
        size_w = size_w + np.abs(driven_w).sum(axis=0)
        size_w += _IDLE_SHARE * (emf_v * emf_v / ohm[:, None]).max(axis=0, initial=0.0)
    wrong = ~(np.abs(given_w - taken_w) <= POWER_TOLERANCE * size_w)
    return tuple((state, float(given_w[state]), float(taken_w[state])) for state in np.flatnonzero(wrong).tolist())
