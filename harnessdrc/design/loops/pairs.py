"""How the pair of a trigger sensor runs: twisted or loose, its lay, its shield, its shape in space."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design.branches import branch_names
from harnessdrc.design.loops.loop import Loop, Shape, spelled, turned
from harnessdrc.design.loops.ways import Ways
from harnessdrc.design.triggers import TriggerPair
from harnessdrc.harness.elements import Contact, Wire
from harnessdrc.harness.groups import Shield
from harnessdrc.physics.polylines import area_m2, bound_area_m2, distance_m, length_m

__all__ = ["PairRun", "pair_runs"]

Floats = NDArray[np.float64]

_SAME_M = 1e-6
_SAME_SHARE = 1e-3
"""Of its length: a way back no further than this from the way there is drawn as one line with it."""


@dataclass(frozen=True, slots=True)
class PairRun:
    """A trigger pair with everything that decides what it picks up.

    Parameters
    ----------
    pair : TriggerPair
        The sensor and its wires.
    twisted : bool
        Every wire of the signal is twisted with one of its return.
    together : bool
        Signal and return run side by side: twisted, in one shield, in the same branches, or on the same line.
    lay_m, untwisted_m : float or None
        The longest lay and the longest untwisted end that is listed, m.
    shield, material : str or None
        Shield it lies in, and what that is made of.
    length_m : float or None
        Of the signal as cut, m.
    line_m : ndarray, shape (n, 3), or None
        Way of the signal from the sensor to the controller.
    back_m : ndarray, shape (n, 3), or None
        Way of the return, controller to sensor, where it does not run beside the signal.
    branches : mapping of str to float or None
        Branches the signal runs in → how far, m.
    lacking : tuple of str
        Data without which its way is not known.
    one_cable : bool
        Signal and return lie in one shield.
    """

    pair: TriggerPair
    twisted: bool
    together: bool
    lay_m: float | None
    untwisted_m: float | None
    shield: str | None
    material: str | None
    length_m: float | None
    line_m: Floats | None
    back_m: Floats | None
    branches: Mapping[str, float | None]
    lacking: tuple[str, ...]
    one_cable: bool = False

    @property
    def placed(self) -> bool:
        """Whether its way is known, there and back."""
        return self.line_m is not None and (self.together or self.back_m is not None)

    def spacing_m(self, given: Mapping[str, float]) -> float:
        """Distance of its two wires: of a twisted pair or a cable, or of two wires in a bundle."""
        return given["pair_spacing_mm" if self.twisted or self.one_cable else "loose_spacing_mm"] / 1000

    def loop(self, ways: Ways, given: Mapping[str, float]) -> Loop:
        """The pair as a loop; its area before any twisting."""
        device = self.pair.device
        steps = [ways.wire_step(wire, start) for wire, start in _from_sensor(self.pair)]
        steps += [
            step for chain in _returns(self.pair, ways) for step in turned([ways.wire_step(*each) for each in chain])
        ]
        known = [step.length_m for step in steps]
        lacking = tuple(step.lacking for step in steps if step.length_m is None)
        whole_m = None if lacking else sum(each for each in known if each is not None)
        notes: tuple[str, ...] = ()
        area: float | None = None
        bound = False
        points: Floats | None = None
        if self.line_m is not None and self.back_m is not None:
            points = np.concatenate([self.line_m, self.back_m])
            area = area_m2(points)
        elif self.together and self.length_m is not None:
            spacing_m = self.spacing_m(given)
            area = self.length_m * spacing_m
            notes = (f"two wires {spacing_m * 1000:g} mm apart" + (", before twisting" if self.twisted else ""),)
        elif not self.pair.returns:
            lacking = (*lacking, f"the return of {device.name}")
        elif whole_m is not None:
            area, bound = bound_area_m2(whole_m), True
        shape = Shape(whole_m, points, area, bound, lacking or self.lacking if area is None or bound else ())
        return Loop(
            device.subject, "trigger pair", tuple(steps), spelled(steps, ways.harness), shape, notes=notes,
            mark=ways.devices.mark(self.pair.contact),
        )  # fmt: skip


def _from_sensor(pair: TriggerPair) -> list[tuple[Wire, Contact]]:
    """Wires of the signal with the contact each is entered at."""
    found = []
    for one, other in pairwise(pair.way):
        for wire in pair.signal:
            if {wire.a, wire.b} == {one, other}:
                found.append((wire, one))
                break
    return found


def _returns(pair: TriggerPair, ways: Ways) -> list[list[tuple[Wire, Contact]]]:
    """Ways of the sensor's own current back, each as wires with the contact they are entered at from the sensor."""
    items = ways.harness.items
    chains: list[list[tuple[Wire, Contact]]] = []
    for wire in pair.returns:
        ends = [end for end in (wire.a, wire.b) if end is not None]
        own = [end for end in ends if items[end.item].owner == pair.device.key]
        if own or not chains:
            chains.append([(wire, own[0] if own else ends[0])] if ends else [])
            continue
        last = chains[-1][-1] if chains[-1] else None
        reached = last[0].other(last[1]) if last is not None else None
        # the next wire begins at the same terminal, or at the mated one of another connector
        mated = () if reached is None or reached in ends else ways.net.graph.adj[reached]
        chains[-1].append((wire, next((end for end in ends if end == reached or end in mated), ends[0])))
    return [chain for chain in chains if chain]


def pair_runs(pairs: Sequence[TriggerPair], shields: Sequence[Shield], ways: Ways) -> tuple[PairRun, ...]:
    """How every trigger pair runs, in the order of the pairs; those that no controller reads are left out."""
    in_shield: dict[str, Shield] = {}
    for shield in shields:
        for wire in shield.inside:
            in_shield.setdefault(wire.name, shield)
    return tuple(_run(pair, in_shield, ways) for pair in pairs if pair.way)


def _run(pair: TriggerPair, in_shield: Mapping[str, Shield], ways: Ways) -> PairRun:
    partners = [pair.partners(wire) for wire in pair.signal]
    twisted = bool(pair.signal) and all(partners)
    twins = [wire for group in partners for wire in group]
    shields = {wire.name: in_shield.get(wire.name) for wire in (*pair.signal, *pair.returns)}
    own = [shields[wire.name] for wire in pair.signal]
    shield = own[0] if own and all(each is not None for each in own) else None
    one_cable = shield is not None and any(shields[wire.name] is shield for wire in pair.returns)
    branches = _branches(pair.signal, ways)
    same = set(branches) == set(_branches(pair.returns, ways)) and bool(pair.returns)
    line, lacking = _line(_from_sensor(pair), ways)
    if line is not None and length_m(line) < _SAME_M:
        sensor, controller = (ways.harness.items[contact.item].name for contact in (pair.way[0], pair.way[-1]))
        line, lacking = None, [f"x, y, z of {sensor} that differ from those of {controller}"]
    together = twisted or one_cable or (same and bool(branches))
    back: Floats | None = None
    if not together and line is not None and pair.returns:
        back, more = _back(pair, ways)
        lacking += more
        # drawn on one and the same line they run side by side, as far as is known
        together = back is not None and _coincide(line, back)
        back = None if together else back
    lays = [wire.lay_m for wire in (*pair.signal, *twins) if wire.lay_m is not None]
    ends_m = [wire.untwisted_m for wire in (*pair.signal, *twins) if wire.untwisted_m is not None]
    lengths = [wire.length_m for wire in pair.signal]
    length = None if any(each is None for each in lengths) else sum(each for each in lengths if each is not None)
    if length is None and line is not None:
        length = length_m(line)
    return PairRun(
        pair, twisted, together, max(lays, default=None), max(ends_m, default=None),
        shield.name if shield is not None else None, _material(shield), length, line, back, branches,
        tuple(dict.fromkeys(lacking)), one_cable,
    )  # fmt: skip


def _material(shield: Shield | None) -> str | None:
    """What a shield is made of, as any of its wires has it."""
    if shield is None:
        return None
    said = [w.shield_material for w in (*shield.inside, *shield.drains) if w.shield_material]
    return said[0] if said else None


def _branches(wires: Sequence[Wire], ways: Ways) -> dict[str, float | None]:
    """Branches that wires run in, with how far: as the branch, at most as the wire; None where neither is known."""
    found: dict[str, float | None] = {}
    for wire in wires:
        for name in branch_names(wire, ways.harness):
            branch = ways.harness.branches.get(name)
            branch_m = branch.length_m if branch else None
            if branch_m is None:
                branch_m = ways.routes.span_m(name)
            known = [each for each in (branch_m, wire.length_m) if each is not None]
            if known or name not in found:
                found[name] = max(min(known), found.get(name) or 0.0) if known else None
    return found


def _line(chain: Sequence[tuple[Wire, Contact]], ways: Ways) -> tuple[Floats | None, list[str]]:
    """Ways of wires one after the other, each from the contact it is entered at; or what is lacking."""
    pieces: list[Floats] = []
    lacking: list[str] = []
    for wire, start in chain:
        if not ways.routes.known:
            lacking += [ways.routes.lacks(c.item) for c in (wire.a, wire.b) if c is not None]
            continue
        line = ways.routes.line(wire)
        if line.points_m is None:
            lacking += line.lacking
        else:
            pieces.append(line.points_m if start == wire.a else line.points_m[::-1])
    if lacking or not pieces:
        return None, lacking
    return np.concatenate(pieces), []


def _back(pair: TriggerPair, ways: Ways) -> tuple[Floats | None, list[str]]:
    """Way of the return from the controller to the sensor, the shortest of several; or what is lacking."""
    drawn = [_line(chain, ways) for chain in _returns(pair, ways)]
    lines = [line for line, _ in drawn if line is not None]
    if not lines:
        return None, [each for _, lacking in drawn for each in lacking]
    return min(lines, key=length_m)[::-1], []


def _coincide(line: Floats, back: Floats) -> bool:
    """Whether a line and its way back lie in one another."""
    longest_m = max(length_m(line), length_m(back))
    far_m = max(
        distance_m(point[None, :], other) for one, other in ((line, back), (back, line)) for point in one
    )
    return far_m <= _SAME_SHARE * longest_m
