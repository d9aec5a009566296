"""What one ampere of each port makes of each offset.

By Tellegen's theorem the offset that a port makes is the sum over the parts of ``R × u × f``, with u the current of the
part for one ampere through the victim's pair of grounds and f that for one ampere of the port. Both flow on few
parts of a loom, so only those are multiplied that share a part.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design.circuit import Circuit
from harnessdrc.physics.network import Network, UnitCurrents

__all__ = ["Shared", "Transfers", "Ways", "potentials_of_ports", "summed", "transfers_of", "ways_of_ports"]

Floats = NDArray[np.float64]
Numbers = NDArray[np.intp]

_PORTS_AT_ONCE = 128
_VICTIMS_AT_ONCE = 16
_NOTHING_OHM = 1e-13
_SPARSE_BELOW = 16
_SMALL = 200_000


class Ways(NamedTuple):
    """Parts that the current of each port flows through, sorted by part.

    Parameters
    ----------
    start : ndarray of int, shape (parts + 1,)
        Entries of part n are ``start[n]`` to ``start[n + 1]``.
    port : ndarray of int, shape (entries,)
        Port.
    amps : ndarray, shape (entries,)
        Current of the part, from its first node to its second, for one ampere of the port, A.
    """

    start: Numbers
    port: Numbers
    amps: Floats


def ways_of_ports(network: Network, circuit: Circuit, ports: Numbers, wanted: NDArray[np.bool_]) -> Ways:
    """Ways of some ports, on the `wanted` parts only."""
    feed, back = circuit.port_nodes[ports].T
    found: list[tuple[Numbers, Numbers, Floats]] = []
    for first in range(0, len(feed), _PORTS_AT_ONCE):
        some = slice(first, first + _PORTS_AT_ONCE)
        units = network.unit_currents(back[some], feed[some])
        kept = wanted[units.branch]
        found.append((units.branch[kept], ports[units.pair[kept] + first], units.amps[kept]))
    part, port, amps = (
        (np.concatenate(column) for column in zip(*found, strict=True))
        if found
        else (np.zeros(0, dtype=np.intp), np.zeros(0, dtype=np.intp), np.zeros(0))
    )
    order = np.lexsort((port, part))
    start = np.searchsorted(part[order], np.arange(len(circuit.parts) + 1))
    return Ways(start, port[order], amps[order])


def potentials_of_ports(
    network: Network, circuit: Circuit, ground: Numbers, reference: Numbers, wanted: Numbers
) -> Transfers:
    """Transfers of victims whose unit current spreads over many meshes, for the `wanted` ports, from the potentials."""
    feed, back = circuit.port_nodes[wanted].T
    found: list[tuple[Numbers, Numbers, Floats]] = []
    for first in range(0, len(ground), _VICTIMS_AT_ONCE):
        some = slice(first, first + _VICTIMS_AT_ONCE)
        volts = network.unit_volts(ground[some], reference[some])
        ohm = (volts[back] - volts[feed]).T
        victim, port = np.nonzero(np.abs(ohm) > _NOTHING_OHM)
        found.append((victim + first, wanted[port], ohm[victim, port]))
    if not found:
        return Transfers(np.zeros(0, dtype=np.intp), np.zeros(0, dtype=np.intp), np.zeros(0))
    victim, port, ohm = (np.concatenate(column) for column in zip(*found, strict=True))
    return Transfers(victim, port, ohm)


class Shared(NamedTuple):
    """Every part that a victim and a port share.

    Parameters
    ----------
    entry : ndarray of int, shape (shared,)
        Entry of the victims' unit currents.
    transfer : ndarray of int, shape (shared,)
        Entry of the transfers it adds to.
    port_a : ndarray, shape (shared,)
        Current of the part for one ampere of the port, A.
    """

    entry: Numbers
    transfer: Numbers
    port_a: Floats


class Transfers(NamedTuple):
    """Offset per ampere, sorted by victim, then port.

    Parameters
    ----------
    victim, port : ndarray of int, shape (entries,)
        Their numbers; a pair that is not here has no part in common.
    ohm : ndarray, shape (entries,)
        Offset of the victim for one ampere of the port, Ω.
    """

    victim: Numbers
    port: Numbers
    ohm: Floats


def summed(number: Numbers, values: Floats, count: int) -> Floats:
    """Rows of `values` added up by their number, shape (count, columns)."""
    if not len(number):
        return np.zeros((count, values.shape[1]))
    return np.column_stack([np.bincount(number, values[:, column], count) for column in range(values.shape[1])])


def transfers_of(
    units: UnitCurrents, ohm: Floats, ways: Ways, victims: int, ports: int
) -> tuple[Transfers, Shared]:
    """Transfers of the victims whose unit currents are given.

    Parameters
    ----------
    units : UnitCurrents
        Of the pairs of grounds of the victims, ``pair`` being the number of the victim.
    ohm : ndarray, shape (parts,)
        Resistance of the parts, Ω.
    ways : Ways
        Of all ports, on every part that `units` has.
    victims, ports : int
        How many there are.
    """
    first, count = ways.start[units.branch], ways.start[units.branch + 1] - ways.start[units.branch]
    entry = np.repeat(np.arange(len(count)), count)
    ahead = np.repeat(np.cumsum(count) - count, count)
    way = np.repeat(first, count) + np.arange(len(entry)) - ahead
    port, port_a = ways.port[way], ways.amps[way]
    code = units.pair[entry] * ports + port
    if victims * ports > _SPARSE_BELOW * len(code) + _SMALL:
        place, transfer = np.unique(code, return_inverse=True)
    else:  # the same without sorting
        met = np.zeros(victims * ports, dtype=np.bool_)
        met[code] = True
        place = np.flatnonzero(met)
        transfer = (np.cumsum(met) - 1)[code]
    weight = ohm[units.branch] * units.amps
    found = np.bincount(transfer, weight[entry] * port_a, len(place)).astype(np.float64)
    return Transfers(place // max(ports, 1), place % max(ports, 1), found), Shared(entry, transfer, port_a)
