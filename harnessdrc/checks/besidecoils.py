"""How far a trigger pair runs in the same branches as wires of the coils, and how far it might where data is lacking.

A branch with both counts with its length, at most that of the shorter wire. Where a length or the branch of a wire is
not given, the least and the most that it can be are told apart. Coil wires are looked up by branch, so that the work
grows with the list and not with pairs times coils.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass, field

from harnessdrc.design import CoilWire, Design, TriggerPair
from harnessdrc.design.branches import branch_names
from harnessdrc.harness.elements import Wire

__all__ = ["Beside", "CoilBranches"]

_NAMED = 3
"""So many coil wires are named in one sentence; they are those that run beside the pair the longest."""


def _long_m(wire: Wire) -> float:
    """Length of a wire; without end where it is not given."""
    return math.inf if wire.length_m is None else wire.length_m


def _longest_first(one: CoilWire) -> tuple[float, int, str]:
    """Key that sorts the longest first, and of equal ones W2 before W10."""
    return (-_long_m(one.wire), len(one.wire.name), one.wire.name)


@dataclass(slots=True)
class Beside:
    """How far one side of a pair runs beside coil wires.

    Parameters
    ----------
    least_m, most_m : float
        Surely so far; at most so far, with what is not given; m.
    branches : dict of str to float
        Keys of the branches they share, with the metres that count.
    wires : list of Wire
        Wires of the pair in them.
    coils : list of CoilWire
        The coil wires that run beside it the longest.
    missing : dict of str to Wire or None
        What would decide it, in trade words, with the wire whose cell it would stand in.
    """

    least_m: float = 0.0
    most_m: float = 0.0
    branches: dict[str, float] = field(default_factory=dict)
    wires: list[Wire] = field(default_factory=list)
    coils: list[CoilWire] = field(default_factory=list)
    missing: dict[str, Wire | None] = field(default_factory=dict)


class CoilBranches:
    """Coil wires of a design by the branches they run in.

    Parameters
    ----------
    design : Design
        Where the wires are from.
    """

    def __init__(self, design: Design) -> None:
        self.harness = design.harness
        self.listed = "branch" in design.harness.columns or any(wire.branch for wire in design.harness.wires)
        self.longest = sorted(design.coil_wires, key=_longest_first)
        self.loose: list[CoilWire] = []
        self.of: dict[str, list[CoilWire]] = {}
        for one in self.longest:
            names = branch_names(one.wire, self.harness)
            for name in names:
                self.of.setdefault(name, []).append(one)
            if not names:
                self.loose.append(one)

    def name(self, key: str, wire: Wire) -> str:
        """A branch as the list of branches writes it, else as the cell of one of its wires does."""
        branch = self.harness.branches.get(key)
        if branch is not None:
            return branch.name
        written = re.search(re.escape(key), wire.branch or "", re.IGNORECASE)
        return written[0] if written else key

    def beside(self, pair: TriggerPair) -> Beside:
        """How far a pair runs beside coil wires: its signal or its return, whichever is longer."""
        sides = [self._side(pair.signal), self._side(pair.returns)]
        return max(sides, key=lambda side: (side.least_m, side.most_m))

    def _side(self, wires: Iterable[Wire]) -> Beside:
        side = Beside()
        for wire in {wire.name: wire for wire in wires}.values():
            self._add(side, wire)
        side.coils = sorted({one.wire.name: one for one in side.coils}.values(), key=_longest_first)[:_NAMED]
        return side

    def _add(self, side: Beside, wire: Wire) -> None:
        """Add one wire of the pair."""
        names = branch_names(wire, self.harness)
        least_m = most_m = 0.0
        for name in names:
            branch = self.harness.branches.get(name)
            branch_m = branch.length_m if branch and branch.length_m is not None else None
            among = self.of.get(name, [])
            reach_m = min(_long_m(wire), _long_m(among[0].wire)) if among else 0.0
            sure_m = 0.0 if branch_m is None else min(branch_m, reach_m)
            could_m = min(reach_m, math.inf if branch_m is None else branch_m)
            if branch_m is None and among:
                side.missing.setdefault(f"length of branch {self.name(name, wire)}", wire)
            if sure_m > 0:
                side.branches[name] = max(side.branches.get(name, 0.0), sure_m)
                side.wires.append(wire)
                side.coils += among[:_NAMED]
            if self.loose:
                stray_m = min(_long_m(wire), _long_m(self.loose[0].wire), math.inf if branch_m is None else branch_m)
                if stray_m > could_m:
                    could_m = stray_m
                    side.missing.setdefault(self._of_loose(self.loose), self.loose[0].wire)
            least_m, most_m = least_m + sure_m, most_m + could_m
        if not names and self.longest:
            most_m = min(_long_m(wire), _long_m(self.longest[0].wire))
            side.missing.setdefault(f"branch of wire {wire.name}", wire)
            if self.loose and len(self.loose) == len(self.longest):
                side.missing.setdefault(self._of_loose(self.loose), self.loose[0].wire)
        side.least_m += min(least_m, _long_m(wire))
        side.most_m += min(most_m, _long_m(wire))

    def _of_loose(self, loose: list[CoilWire]) -> str:
        """Coil wires without a branch as what is missing: the first few by name, and how many more."""
        names = [one.wire.name for one in loose[:_NAMED]]
        more = len(loose) - len(names)
        return f"branch of wire {', '.join(names)}" + (f" and {more} more of the coils" if more else " of the coils")
