"""Currents of all ports in every operating state: on average, and of one unit at its worst instant."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design.circuit import Port
from harnessdrc.design.figures import average_a, instant_on_a, overlap
from harnessdrc.physics.operation import OperatingState

__all__ = ["PortCurrents", "port_currents"]

Floats = NDArray[np.float64]
Numbers = NDArray[np.intp]


class PortCurrents(NamedTuple):
    """Currents of the ports, A.

    Parameters
    ----------
    average : ndarray, shape (ports, states)
        Average current; of machines (starter, alternator) the figure that their own model starts from.
    instant : ndarray, shape (ports, states)
        Current of one unit while it is on, or at inrush.
    group : ndarray of int, shape (ports,)
        Number of the group of units that pulse in turn; -1 for a steady port.
    at_once : ndarray of int, shape (groups, states)
        How many units of a group are on at one instant at the most.
    low, high : ndarray, shape (ports,)
        Currents lie between these shares of the above; both 1 for a listed one.
    unknown : ndarray of bool, shape (ports,)
        Ports whose current neither the list nor their kind gives: taken as nothing.
    """

    average: Floats
    instant: Floats
    group: Numbers
    at_once: NDArray[np.intp]
    low: Floats
    high: Floats
    unknown: NDArray[np.bool_]

    def of_state(self, state: int) -> PortCurrents:
        """The same in one state alone."""
        at = slice(state, state + 1)
        return self._replace(average=self.average[:, at], instant=self.instant[:, at], at_once=self.at_once[:, at])


def port_currents(ports: Sequence[Port], states: Sequence[OperatingState]) -> PortCurrents:
    """Currents of `ports` in `states`, from what is listed or usual for their kind."""
    shape = len(ports), len(states)
    average, instant = np.zeros(shape), np.zeros(shape)
    group = np.full(len(ports), -1, dtype=np.intp)
    names: dict[str, int] = {}
    units: list[list[int]] = []
    low, high = np.ones(len(ports)), np.ones(len(ports))
    rows: dict[tuple[object, float | None], tuple[list[float], list[float]]] = {}
    for number, port in enumerate(ports):
        figures = port.figures
        if figures is None:
            average[number] = instant[number] = port.listed_a or 0.0
            continue
        key = figures.kind, port.listed_a
        if key not in rows:
            rows[key] = (
                [average_a(figures, state, port.listed_a) for state in states],
                [instant_on_a(figures, state, port.listed_a) for state in states],
            )
        average[number], instant[number] = rows[key]
        if port.listed_a is None:
            low[number], high[number] = figures.low_a / figures.current_a, figures.high_a / figures.current_a
        if port.group:
            at = names.setdefault(port.group, len(units))
            if at == len(units):
                units.append([])
            units[at].append(number)
            group[number] = at
    at_once = np.zeros((len(units), len(states)), dtype=np.intp)
    for at, members in enumerate(units):
        figures = ports[members[0]].figures
        if figures is not None:
            at_once[at] = [overlap(figures, state, len(members)) for state in states]
    return PortCurrents(
        average, instant, group, at_once, low, high, np.array([not port.known for port in ports], dtype=np.bool_)
    )
