"""Whether a fuse clears a short circuit before its wire is harmed, for many faults at once.

The times are those of `harnessdrc.physics.fuse_times`, the same as its functions for one current give. A fuse that may
be of several families clears what all of them clear, and the slowest of them counts.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.physics.fuse_times import fuse_limits

__all__ = ["VERDICTS", "Clearing", "Verdict", "clearing"]

Floats = NDArray[np.float64]
Verdict = Literal["clears", "wire first", "too slow", "may not open"]

VERDICTS: tuple[Verdict, ...] = ("clears", "wire first", "too slow", "may not open")
"""From the best to the worst: it clears in time; the wire may be at its limit before; it may take longer than it
should; it need not open at all."""

_ALIKE = 1.0 + 1e-9


class Clearing(NamedTuple):
    """What a fuse does at some currents; arrays of their shape.

    Parameters
    ----------
    longest_s : ndarray
        Time after which it has opened for sure at the steady current, s; inf where it need not open.
    let_a2s : ndarray
        Most that it lets through until then, A²s.
    verdict : ndarray of int
        Number into `VERDICTS`.
    """

    longest_s: Floats
    let_a2s: Floats
    verdict: NDArray[np.int8]


def clearing(
    families: Sequence[str], rating_a: float, current_a: Floats, stands_a2s: Floats, clear_s: float
) -> Clearing:
    """Judge faults behind one fuse.

    Parameters
    ----------
    families : sequence of str
        Families that it may be, one at least, each with limits.
    rating_a : float
        Its rating, A, above zero.
    current_a : ndarray
        Current of each fault, A, above zero.
    stands_a2s : ndarray
        What the wire of each stands, A²s.
    clear_s : float
        Time within which it should open, s.

    Raises
    ------
    ValueError
        For an unknown family or one without limits.
    FileUnreadableError
        When the shipped table is missing or damaged.
    """
    longest_s, let_a2s = np.zeros(current_a.shape), np.zeros(current_a.shape)
    for family in families:
        limits = [(each.multiple, each.longest_s) for each in fuse_limits(family) if each.longest_s is not None]
        if not limits:
            raise ValueError(f"no limits of {family} are at hand: leave it out")
        at, times_s = np.log(np.array(limits, dtype=np.float64)).T
        multiple = np.log(current_a / rating_a)
        seconds = np.where(multiple < at[0] - 1e-12, np.inf, np.exp(np.interp(multiple, at, times_s)))
        # beyond the last point the energy that melts the element rises no more
        through = np.minimum(current_a, limits[-1][0] * rating_a) ** 2 * seconds
        longest_s, let_a2s = np.maximum(longest_s, seconds), np.maximum(let_a2s, through)
    verdict = np.select(
        [np.isinf(longest_s), longest_s > clear_s * _ALIKE, let_a2s > stands_a2s * _ALIKE], [3, 2, 1], default=0
    )
    return Clearing(longest_s, let_a2s, verdict.astype(np.int8))
