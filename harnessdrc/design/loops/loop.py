"""A loop as steps one after the other, and what its steps say of its length, shape and area.

With every corner in place the loop is a closed polyline, whose area is that of its vector area. With lengths alone
there is only a bound: no loop of a given length has more area than the circle, ``area ≤ perimeter² / 4π``. Where one
straight way through metal of unknown length closes the loop, the bound is that of the loop and its mirror image.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design.routes import Routes
from harnessdrc.findings import Mark, Subject
from harnessdrc.harness.elements import Harness, Wire
from harnessdrc.physics.polylines import area_m2, bound_area_m2, bound_on_metal_m2, length_m

__all__ = ["Loop", "Shape", "Step", "StepKind", "shape_of", "spelled", "turned"]

Floats = NDArray[np.float64]

_SAME_M = 1e-6
StepKind = Literal["wire", "lead", "metal", "strap", "inside"]


class Step(NamedTuple):
    """One part of a loop.

    Parameters
    ----------
    kind : str
        ``wire``; ``lead`` for a plug lead or the body of a coil on its plug; ``metal`` for a way through a body;
        ``strap``; ``inside`` for a way through a component, which has no length worth counting.
    name : str
        As people write it.
    start, end : str or None
        Folded names of the items it lies between, in the direction of the loop.
    length_m : float or None
        None where it is not known.
    lacking : str
        What is lacking then, in trade words.
    wire : Wire or None
        The wire it is.
    """

    kind: StepKind
    name: str
    start: str | None
    end: str | None
    length_m: float | None
    lacking: str = ""
    wire: Wire | None = None


class Shape(NamedTuple):
    """What is known of a loop's shape.

    Parameters
    ----------
    length_m : float or None
        Round the loop, m; without a way through metal whose length is not known.
    points_m : ndarray, shape (n, 3), or None
        Corners of the closed polyline.
    area_m2 : float or None
        Computed or bound, m².
    bound : bool
        Whether the area is a bound.
    lacking : tuple of str
        Data without which length or area is not known; of a bound, what would make it an area.
    notes : tuple of str
        Assumptions that went into it.
    """

    length_m: float | None
    points_m: Floats | None
    area_m2: float | None
    bound: bool
    lacking: tuple[str, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Loop:
    """A loop of one component.

    Parameters
    ----------
    subject : tuple of (str, str)
        The coil, injector or sensor.
    what : str
        ``high-voltage return``, ``primary``, ``injector`` or ``trigger pair``.
    steps : tuple of Step
        All the way round; empty where it does not close.
    way : tuple of str
        The same spelled out.
    shape : Shape
        Its length and area.
    best_area_m2 : float or None
        Area with the best feasible layout, m².
    leads_m : tuple of ndarray
        Of a high-voltage loop: its plug leads as polylines, where their ends are in place.
    notes : tuple of str
        What else is to be said.
    mark : tuple of Mark
        Where it stands in the list.
    at_home : bool
        Of a high-voltage loop: it closes through the head without straps, fuses or battery.
    """

    subject: Subject
    what: str
    steps: tuple[Step, ...]
    way: tuple[str, ...]
    shape: Shape
    best_area_m2: float | None = None
    leads_m: tuple[Floats, ...] = ()
    notes: tuple[str, ...] = ()
    mark: tuple[Mark, ...] = ()
    at_home: bool = True

    @property
    def wires(self) -> tuple[Wire, ...]:
        """Its wires in order."""
        return tuple(step.wire for step in self.steps if step.wire is not None)

    @property
    def area_ratio(self) -> float | None:
        """Its area, or the bound of it, over that of the best feasible layout."""
        if self.shape.area_m2 is None or not self.best_area_m2:
            return None
        return self.shape.area_m2 / self.best_area_m2


def spelled(steps: Sequence[Step], harness: Harness) -> tuple[str, ...]:
    """Steps as people write them, with the items between them."""
    words: list[str] = []
    inside = ""

    def add(text: str | None) -> None:
        if text and (not words or words[-1] != text) and not (words[-1:] == [inside] and inside.endswith(f" {text}")):
            words.append(text)

    def name(key: str | None) -> str | None:
        item = harness.items.get(key) if key is not None else None
        return harness.items[item.owner].name if item is not None and item.owner in harness.items else None

    for step in steps:
        if step.kind == "inside":
            if words and step.name.endswith(f" {words[-1]}"):  # fuse F1, not F1 – fuse F1 – F1
                words.pop()
            add(step.name)
            inside = step.name
            continue
        add(name(step.start))
        add(step.name)
        add(name(step.end))
    return tuple(words)


def turned(steps: Sequence[Step]) -> list[Step]:
    """The same steps in the other direction."""
    return [step._replace(start=step.end, end=step.start) for step in reversed(steps)]


def shape_of(steps: Sequence[Step], routes: Routes, across_m: Mapping[str, float]) -> Shape:
    """Length and area of a loop.

    Parameters
    ----------
    steps : sequence of Step
        All the way round.
    routes : Routes
        Where things are.
    across_m : mapping of str to float
        Body → length that a way through it is taken to have where neither its ends are in place nor only one such
        way is in the loop, m; ``""`` for all other bodies.
    """
    points, unplaced = _corners(steps, routes) if routes.known else (None, _unplaced(steps, routes))
    lacking = [step.lacking for step in steps if step.length_m is None and step.kind != "metal"]
    if points is not None:
        return Shape(_length(steps, points), points, area_m2(points), False, ())
    if lacking:
        return Shape(None, None, None, False, tuple(dict.fromkeys(lacking)))
    known_m = math.fsum(step.length_m for step in steps if step.length_m is not None)
    open_metal = [step for step in steps if step.kind == "metal" and step.length_m is None]
    if not open_metal:
        return Shape(known_m, None, bound_area_m2(known_m), True, unplaced)
    if len(open_metal) == 1:
        return Shape(known_m, None, bound_on_metal_m2(known_m), True, unplaced)
    notes = []
    for step in open_metal:
        across = across_m.get(step.name, across_m[""])
        known_m += across
        notes.append(f"the way through the {step.name} is taken as {across:g} m")
    return Shape(known_m, None, bound_area_m2(known_m), True, unplaced, tuple(dict.fromkeys(notes)))


def _length(steps: Sequence[Step], points: Floats) -> float:
    """Round the loop: as cut where all is listed, never less than the way it runs."""
    run_m = length_m(points, closed=True)
    listed = [step.length_m for step in steps if step.kind != "metal"]
    if any(each is None for each in listed):
        return run_m
    return max(run_m, math.fsum(each for each in listed if each is not None))


def _unplaced(steps: Sequence[Step], routes: Routes) -> tuple[str, ...]:
    """What would say where the parts of a loop are."""
    keys = dict.fromkeys(key for step in steps for key in (step.start, step.end) if key is not None)
    unplaced = {routes.lacks(key): None for key in keys if routes.at(key) is None}
    unplaced.update((_where(step), None) for step in steps if step.kind == "strap" and step.start is None)
    return tuple(unplaced)


def _where(step: Step) -> str:
    """What would say where a strap is that the list has without its ends."""
    return f"where {step.name.removesuffix(' (given)')} is bolted (list it as a wire between two earth points)"


def _apart(step: Step, routes: Routes) -> str:
    """What is lacking of two ends that are drawn at one place."""
    items = routes.harness.items
    names = [items[key].name if key in items else key for key in (step.start or "", step.end or "")]
    return f"x, y, z of {names[0]} that differ from those of {names[1]}"


def _listed_forward(step: Step, routes: Routes) -> bool:
    """Whether the loop runs through a wire from its first end to its second; ends may go by their component's name."""
    wire, items = step.wire, routes.harness.items
    if wire is None or wire.a is None or wire.b is None:
        return True
    for key, forward in ((step.start, True), (step.end, False)):
        for names in ([end.item for end in (wire.a, wire.b)], [items[end.item].owner for end in (wire.a, wire.b)]):
            if key is not None and names[0] != names[1] and key in names:
                return (names[0] == key) is forward
    return True


def _corners(steps: Sequence[Step], routes: Routes) -> tuple[Floats | None, tuple[str, ...]]:
    """Corners of the closed polyline, or None with what is lacking."""
    lacking: dict[str, None] = {}
    corners: list[Floats] = []
    for step in steps:
        if step.kind == "inside":
            continue
        if step.wire is not None:
            line = routes.line(step.wire)
            if line.points_m is None:
                lacking.update(dict.fromkeys(line.lacking))
                continue
            corners += list(line.points_m if _listed_forward(step, routes) else line.points_m[::-1])
            continue
        if step.kind == "strap":
            lacking[_where(step)] = None
            continue
        ends = [place for key in (step.start, step.end) if key is not None and (place := routes.at(key)) is not None]
        if step.kind == "lead" and len(ends) == 2 and float(np.linalg.norm(ends[0] - ends[1])) <= _SAME_M:
            lacking[_apart(step, routes)] = None  # a coil drawn where its plug is says nothing of its height
        for key in (step.start, step.end):
            if key is None:
                if step.kind != "metal":  # metal runs from the part before it to the one after it, as it lies
                    lacking[step.lacking or f"x, y, z of the ends of {step.name}"] = None
                continue
            place = routes.at(key)
            if place is None:
                lacking[routes.lacks(key)] = None
            else:
                corners.append(place)
    if lacking:
        return None, tuple(lacking)
    kept: list[Floats] = []
    for place in corners:
        if not kept or float(np.linalg.norm(place - kept[-1])) > _SAME_M:
            kept.append(place)
    while len(kept) > 1 and float(np.linalg.norm(kept[0] - kept[-1])) <= _SAME_M:
        kept.pop()
    return (np.array(kept), ()) if len(kept) >= 2 else (None, _unplaced(steps, routes))
