"""What twisting takes up of the length of a wire, and what is said of it on the cut list.

A wire twisted with others runs along a helix. Unrolled, one turn is the hypotenuse over the lay and the circumference
of the circle that its axis goes round: ``sqrt(1 + (π D / lay)²)`` metres of wire for each metre of the twisted lead
(geometry). D is the distance of the axes for a pair, 1.155 of it for three wires; for any number of wires it is the
closest circle round all of them less one diameter, which for two, three, four and seven equal wires is exact. What is
left untwisted at the ends takes up nothing.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from harnessdrc.design.crimpfits import outer_of
from harnessdrc.harness.elements import Part, Wire
from harnessdrc.physics.bundles import closest_pack_mm

__all__ = ["TwistGroup", "helix_factor", "helix_mm", "twist_group"]


def helix_mm(outer_diameters_mm: Sequence[float]) -> float:
    """Diameter of the circle that the axes of twisted wires go round, mm; 0 for a wire by itself.

    Parameters
    ----------
    outer_diameters_mm : sequence of float
        Of each wire, mm.

    Raises
    ------
    ValueError
        For no wire, and for a diameter that is not above zero.
    """
    return closest_pack_mm(outer_diameters_mm) - math.fsum(outer_diameters_mm) / len(outer_diameters_mm)


def helix_factor(axes_mm: float, lay_mm: float) -> float:
    """Length of a twisted wire over that of its lead: ``sqrt(1 + (π D / lay)²)``.

    Parameters
    ----------
    axes_mm : float
        Diameter of the circle that its axis goes round, mm: the distance of the axes of a pair.
    lay_mm : float
        Length of one full turn, mm.

    Raises
    ------
    ValueError
        For a lay that is not above zero, or a diameter below zero.
    """
    if not (lay_mm > 0.0 and axes_mm >= 0.0):
        raise ValueError(f"{axes_mm:g} mm at a lay of {lay_mm:g} mm is no twist: give a lay above zero")
    return math.hypot(1.0, math.pi * axes_mm / lay_mm)


class TwistGroup(NamedTuple):
    """Wires twisted together.

    Parameters
    ----------
    name : str
        As listed.
    wires : tuple of Wire
        In natural order.
    lay_mm : float
        As listed; the shortest where its wires differ; the given one where none is listed.
    lay_listed : bool
        Whether it is listed.
    untwisted_mm : float
        At each end: as listed, else the given one.
    untwisted_listed : bool
        Whether it is listed.
    factor : float
        Length of wire over length of lead.
    """

    name: str
    wires: tuple[Wire, ...]
    lay_mm: float
    lay_listed: bool
    untwisted_mm: float
    untwisted_listed: bool
    factor: float

    def takes_mm(self, length_mm: float) -> float:
        """What twisting takes up of a wire in a lead of `length_mm`, mm."""
        return max(0.0, length_mm - 2.0 * self.untwisted_mm) * (self.factor - 1.0)

    def work(self, wire: Wire) -> str:
        """What to do with one of its wires."""
        others = [other.name for other in self.wires if other is not wire]
        if not others:
            return f"twist group {self.name}: no other wire is in it"
        lay = f"lay {self.lay_mm:g} mm" + ("" if self.lay_listed else " (usual, not listed)")
        leave = f"leave {'' if self.untwisted_listed else 'at most '}{self.untwisted_mm:g} mm untwisted"
        return f"twist {self.name} with {', '.join(others)}, {lay}, {leave}"


def twist_group(wires: Sequence[Wire], given: Mapping[str, float], parts: Mapping[str, Part]) -> TwistGroup:
    """Twist of the wires of one group.

    Parameters
    ----------
    wires : sequence of Wire
        All with the same word in their twist column, in natural order; at least one.
    given : mapping of str to float
        ``lay_mm``, ``untwisted_end_mm`` and ``pair_spacing_mm`` stand in for what is not listed.
    parts : mapping of str to Part
        The parts table, whose cables have their outer diameters.
    """
    lays_mm = [wire.lay_m * 1000.0 for wire in wires if wire.lay_m]
    left_mm = [wire.untwisted_m * 1000.0 for wire in wires if wire.untwisted_m is not None]
    outers = [outer_of(wire, parts) for wire in wires]
    outers_mm = [given["pair_spacing_mm"] if outer is None else outer.usual_m * 1000.0 for outer in outers]
    lay_mm = min(lays_mm, default=given["lay_mm"])
    return TwistGroup(
        min(wire.twist or "" for wire in wires), tuple(wires), lay_mm, bool(lays_mm),
        min(left_mm, default=given["untwisted_end_mm"]), bool(left_mm), helix_factor(helix_mm(outers_mm), lay_mm),
    )  # fmt: skip
