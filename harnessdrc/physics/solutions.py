"""What the solver of a network gives out: states solved, unit currents, or why there is none."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

__all__ = ["Solution", "Solutions", "UnitCurrents", "Unsolvable"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Unsolvable:
    """Why a network has no single solution, in words and by name.

    Parameters
    ----------
    reasons : tuple of str
        One sentence each.
    floating : tuple of tuple of int
        Nodes of each part that no branch leads from to a reference.
    """

    reasons: tuple[str, ...]
    floating: tuple[tuple[int, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class Solution:
    """Voltages and currents of one state.

    Parameters
    ----------
    volts : ndarray, shape (nodes,)
        Potential of each node against the references, V.
    branch_amps : tuple of float or None
        Current from the first to the second node of each branch, A; ``None`` where the branch lies in a loop
        of joins without resistance, whose split is not determined.
    reference_amps : mapping of int to (float or None)
        Current that leaves the network into each reference node, A; ``None`` where references are joined
        without resistance, so that only their sum is determined.
    undetermined : tuple of int
        Branches whose current is ``None``.
    undetermined_names : tuple of str
        The same branches, by name.
    """

    volts: Floats
    branch_amps: tuple[float | None, ...]
    reference_amps: Mapping[int, float | None]
    undetermined: tuple[int, ...] = ()
    undetermined_names: tuple[str, ...] = ()


class Solutions(NamedTuple):
    """Voltages and currents of several states on the same resistances.

    Parameters
    ----------
    volts : ndarray, shape (nodes, states)
        Potential of each node against the references, V.
    amps : ndarray, shape (branches, states)
        Current from the first to the second node of each branch, A; nan where the branch lies in a loop of
        joins without resistance, whose split is not determined.
    reference_amps : ndarray, shape (references, states)
        Current that leaves the network into each reference node, in the order of `Network.references`, A;
        nan where references are joined without resistance.
    """

    volts: Floats
    amps: Floats
    reference_amps: Floats


class UnitCurrents(NamedTuple):
    """Branch currents of 1 A through the network, for many pairs of nodes; only those that flow.

    Parameters
    ----------
    pair : ndarray of int, shape (entries,)
        Number of the pair, in the order asked for; sorted.
    branch : ndarray of int, shape (entries,)
        Branch; sorted within each pair.
    amps : ndarray, shape (entries,)
        Current from the first to the second node of the branch for 1 A brought in at the first node of the
        pair and taken out at its second, every source off, A.
    """

    pair: NDArray[np.intp]
    branch: NDArray[np.intp]
    amps: Floats
