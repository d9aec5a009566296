"""Currents and drops of all wires: on average, and the greatest at any instant."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design.analysis.currents import PortCurrents
from harnessdrc.design.analysis.settled import Settled

__all__ = ["PartCurrents", "part_currents"]

Floats = NDArray[np.float64]
Numbers = NDArray[np.intp]

_BLOCK = 128
"""Ports whose ways are held at once, and as many more as end a group."""


class PartCurrents(NamedTuple):
    """Currents of all parts, A, each of shape (parts, states).

    Parameters
    ----------
    average : ndarray
        From the first node to the second; nan in a loop of parts without resistance.
    peak : ndarray
        Greatest amount at any instant, without sign.
    """

    average: Floats
    peak: Floats


def part_currents(settled: Settled, currents: PortCurrents) -> PartCurrents:
    """Currents of all parts of a solved circuit.

    At the worst instant of a part as many units of each group are on as can overlap, and every port at its inrush
    that can be: those that add most to it, to one side or the other.
    """
    high, low = settled.steady_amps.copy(), settled.steady_amps.copy()
    ports = np.flatnonzero(settled.on_a.any(axis=1))
    # A port by itself is a group of one.
    groups = len(currents.at_once)
    group = np.where(currents.group[ports] >= 0, currents.group[ports], groups + np.arange(len(ports)))
    order = np.argsort(group, kind="stable")
    ports, group = ports[order], group[order]
    borders = np.flatnonzero(np.diff(group, prepend=-1, append=-2))
    start = 0
    for end in borders.tolist():
        if end - start >= _BLOCK or end == len(ports):
            if end > start:
                _add_pulses(settled, currents, ports[start:end], group[start:end], high, low)
            start = end
    return PartCurrents(settled.amps, np.maximum.reduce((np.abs(high), np.abs(low), np.abs(settled.amps))))


def _add_pulses(
    settled: Settled, currents: PortCurrents, ports: Numbers, group: Numbers, high: Floats, low: Floats
) -> None:
    """Add what some whole groups of ports make of every part."""
    feed, back = settled.circuit.port_nodes[ports].T
    ways = settled.network.unit_currents(back, feed)
    port, of_group, part = ports[ways.pair], group[ways.pair], ways.branch
    weight = ways.amps * settled.on_a.max(axis=1)[port]
    pulsing = currents.group[port] >= 0
    touched, among = np.unique(part, return_inverse=True)
    for total, sign in ((high, 1.0), (low, -1.0)):
        side = np.flatnonzero(weight * sign > 0)
        # Units of one group draw in one proportion in every state, so one order of them serves for all.
        side = side[np.lexsort((-np.abs(weight[side]), of_group[side], part[side]))]
        code = part[side] * (int(group.max()) + 1) + of_group[side]
        rank = np.arange(len(side)) - np.searchsorted(code, code)
        for state in range(total.shape[1]):
            room = np.ones(len(side), dtype=np.intp)
            if len(currents.at_once):
                room = np.where(pulsing[side], currents.at_once[currents.group[port[side]], state], 1)
            taken = side[rank < room]
            amps = ways.amps[taken] * settled.on_a[port[taken], state]
            total[touched, state] += np.bincount(among[taken], amps, len(touched))
