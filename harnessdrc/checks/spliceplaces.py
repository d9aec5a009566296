"""Where splices lie: how far from terminations and bends, in what order along a branch, one after another in a run."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from harnessdrc.design import Design
from harnessdrc.findings import Subject
from harnessdrc.harness.elements import Contact, Wire
from harnessdrc.harness.names import fold, natural_key
from harnessdrc.places import Place

__all__ = ["Joint", "Run", "Termination", "inline_runs", "nearest_joint", "positions", "terminations"]


class Termination(NamedTuple):
    """Something that wires end on: how far a splice is from it, m, and the wire or end of a branch that gets there."""

    away_m: float
    contact: Contact
    wire: Wire | None

    def name(self, design: Design) -> str:
        """What it is called."""
        return design.label(self.contact)

    def place(self, design: Design, splice: str) -> Place | None:
        """Cell that says how far it is."""
        return self.wire.place.of("length_m") if self.wire is not None else design.harness.items[splice].place


class Joint(NamedTuple):
    """A point where branches join, with the bend of the splice's own branch there; m."""

    name: str
    away_m: float
    bend_m: float
    branch: str
    place: Place


class Run(NamedTuple):
    """Wires one after another with splices of two wires between them, and what it runs from and to."""

    wires: tuple[Wire, ...]
    splices: tuple[str, ...]
    ends: tuple[str, str]

    @property
    def subject(self) -> Subject:
        """Subject of findings about it."""
        return ("run of wires", ", ".join(wire.name for wire in self.wires))


def _branch_ends(design: Design, key: str) -> list[tuple[str, float]]:
    """Ends of the branch that a splice lies in, as named there, and how far it is from each, m."""
    found = design.wire_lengths.on_branch(key)
    if found is None:
        return []
    branch, whole_m = design.harness.branches[found[0]], design.wire_lengths.length_m(found[0]) or 0.0
    ends = ((branch.from_point, found[1]), (branch.to_point, whole_m - found[1]))
    return [(point, away_m) for point, away_m in ends if point is not None]


def terminations(design: Design, key: str) -> Iterator[Termination]:
    """What a splice's wires and branch end on, other than splices, with the known distances."""
    items = design.harness.items
    for wire in design.splices[key]:
        contact = wire.b if wire.a is not None and wire.a.item == key else wire.a
        if contact is not None and wire.length_m is not None and items[contact.item].kind != "splice":
            yield Termination(wire.length_m, contact, wire)
    for point, away_m in _branch_ends(design, key):
        item = items.get(fold(point))
        if item is not None and item.kind != "splice":
            yield Termination(away_m, Contact(item.key, ""), None)


def nearest_joint(design: Design, key: str) -> Joint | None:
    """The end of its branch, if others join there, that a splice is nearer to than the branch's bend radius."""
    found = design.wire_lengths.on_branch(key)
    branch = design.harness.branches[found[0]] if found else None
    if branch is None or branch.bend_m is None:
        return None
    near = [
        Joint(point, away_m, branch.bend_m, branch.name, branch.place.of("bend_m"))
        for point, away_m in _branch_ends(design, key)
        if away_m < branch.bend_m and design.wire_lengths.joined_at(fold(point)) > 1
    ]
    return min(near, key=lambda joint: (joint.away_m, natural_key(joint.name)), default=None)


def positions(design: Design) -> dict[str, list[tuple[float, str]]]:
    """Splices of every branch by their distance from its start, m, and their keys."""
    if not design.harness.branches:
        return {}
    placed: dict[str, list[tuple[float, str]]] = {}
    for key in design.splices:
        found = design.wire_lengths.on_branch(key)
        if found is not None:
            placed.setdefault(found[0], []).append((found[1], key))
    for each in placed.values():
        each.sort(key=lambda at: (at[0], natural_key(at[1])))
    return placed


def inline_runs(design: Design) -> list[Run]:
    """Every run of wires that has a splice of exactly two wires in it."""
    inline = {
        key: wires
        for key, wires in design.splices.items()
        if len(wires) == 2 and wires[0] is not wires[1] and all(wire.cores == 1 for wire in wires)
    }
    runs: list[Run] = []
    seen: set[str] = set()
    for start in inline:
        if start in seen:
            continue
        seen.add(start)
        splices, ends = [start], []
        wires: list[Wire] = []
        for first in inline[start]:
            here, wire = start, first
            while True:
                wires.append(wire)
                contact = wire.b if wire.a is not None and wire.a.item == here else wire.a
                if contact is None or contact.item not in inline or contact.item in seen:
                    ends.append("its open end" if contact is None else design.label(contact))
                    break
                here = contact.item
                seen.add(here)
                splices.append(here)
                one, other = inline[here]
                wire = other if one is wire else one
        ordered = sorted({each.name: each for each in wires}.values(), key=lambda each: natural_key(each.name))
        first_end, last_end = sorted(ends, key=natural_key)
        runs.append(Run(tuple(ordered), tuple(splices), (first_end, last_end)))
    return runs
