"""What a fuse may have to break: the prospective current of a short circuit to metal right behind it.

Prospective is the current that flows with the fuse left out, its own resistance not counted (IEC 60269-1, from memory):
the battery's voltage over the battery's inside, the feed of least resistance up to the fuse's inlet, and the way home
from the metal that has the least resistance to the negative post, since a fault next to a fuse may be to any. Joints
count as new, wires at the given temperature, and the arc of the fault is not counted.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from harnessdrc.design.circuit import BATTERY_NEGATIVE
from harnessdrc.design.sizing.fault_loops import FaultLoops, Ohms
from harnessdrc.design.sizing.faults import faults_of
from harnessdrc.design.sizing.protection import Fuse, possible_families, protection_of
from harnessdrc.physics.fuses import fuse_families, fuse_family

if TYPE_CHECKING:
    from harnessdrc.design import Design

__all__ = ["Prospective", "breakable", "capacities_a", "prospective_faults"]

_KEPT = "prospective faults"


class Prospective(NamedTuple):
    """The fault right behind a fuse.

    Parameters
    ----------
    fuse : Fuse
        The fuse.
    usual_a, low_a, high_a : float
        Prospective current, A: as far as known, and with what is lacking at its most and at its least resistance.
    feed_ohm, home_ohm : float
        Resistance as far as known from the battery's EMF to the fuse, and from the metal to the negative post, Ω.
    lacking : tuple of str
        Data without which it is not certain.
    """

    fuse: Fuse
    usual_a: float
    low_a: float
    high_a: float
    feed_ohm: float
    home_ohm: float
    lacking: tuple[str, ...]


def capacities_a(fuse: Fuse) -> tuple[float, ...]:
    """Breaking capacities of the families that a fuse may be, rising, A; empty where none has a figure."""
    names = possible_families(fuse.reading, fuse.rating_a)
    found = {fuse_family(name).breaking_capacity_a for name in names}
    return tuple(sorted(figure for figure in found if figure is not None))


def _least_known_a() -> float:
    """Least breaking capacity of the families that have a figure, A."""
    return min(f.breaking_capacity_a for f in fuse_families().values() if f.breaking_capacity_a is not None)


def breakable(fuse: Fuse) -> tuple[float, ...]:
    """What a fault behind a fuse is held against, rising, A: as `capacities_a`; the least of any without a family.

    Empty for a fuse of a known family without a figure.
    """
    if possible_families(fuse.reading, fuse.rating_a):
        return capacities_a(fuse)
    return (_least_known_a(),)


def _nearest_metal(loops: FaultLoops) -> Ohms:
    """Way home from the body with the least resistance to the negative post, that post itself left out."""
    # The feeds and ways home of all wires are worked out in one place, and kept there.
    found = loops._homes
    if found is None:
        return loops.home
    ways, _ = found
    circuit = loops.design.circuit
    bodies = [
        n for n, node in enumerate(circuit.nodes)
        if len(node) == 3 and node[0] == "body" and node != BATTERY_NEGATIVE and np.isfinite(ways.ohm[n, 0])
    ]  # fmt: skip
    if not bodies:
        return loops.home
    nearest = min(bodies, key=lambda n: (float(ways.ohm[n, 0]), circuit.nodes[n]))
    usual, low, high = ways.ohm[nearest].tolist()
    return Ohms(usual, low, high, ways.lacking(nearest, circuit.parts))


def prospective_faults(design: Design) -> tuple[Prospective, ...]:
    """The fault right behind every fuse of the list whose inlet the battery feeds, and that may be held to a figure.

    Worked out once and kept with the design.
    """
    kept: dict[str, Any] = design.analysis.kept
    if _KEPT not in kept:
        kept[_KEPT] = tuple(_found(design))
    found: tuple[Prospective, ...] = kept[_KEPT]
    return found


def _found(design: Design) -> Iterator[Prospective]:
    fuses = [fuse for fuse in protection_of(design).fuses if not fuse.output and breakable(fuse)]
    if not fuses:
        return
    faults = faults_of(design)
    loops, circuit = faults.loops, design.circuit
    home, feeds = _nearest_metal(loops), loops._feeds
    for fuse in fuses:
        node = circuit.node_number.get(fuse.inlet)
        if node is None or not np.isfinite(feeds.ohm[node, 0]):
            continue
        usual, low, high = feeds.ohm[node].tolist()
        volts = faults.fault_v
        yield Prospective(
            fuse, volts / (usual + home.usual), volts / (high + home.high), volts / (low + home.low), usual, home.usual,
            tuple(dict.fromkeys((*feeds.lacking(node, circuit.parts), *home.lacking))),
        )  # fmt: skip
