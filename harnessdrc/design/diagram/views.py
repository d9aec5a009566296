"""Views: the whole of a small loom, parts of a large one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from harnessdrc.design.diagram.drawing import Drawing
from harnessdrc.design.diagram.layers import layered
from harnessdrc.design.diagram.order import crossings_of, first_order, ordered
from harnessdrc.design.diagram.places import Placed, placed

__all__ = ["MOST_BOXES", "Choice", "View", "around_controller", "around_earth", "bodies_of", "laid_out", "ways_of"]

MOST_BOXES = 250
"""More boxes than this are not drawn in one view where parts can stand for it."""

_MOST_WAYS = 8
"""Of more ways home than this that are as short the first one stands for all."""
_LETTER = 7.0
_PAD = 20.0
_LEAST_W, _MOST_W = 64.0, 190.0
_ROUND = 26.0
"""How far outside the drawing a battery's own line runs, and how far beyond the next one."""


class Choice(NamedTuple):
    """What a view shows: its title, kind and subject, and the boxes."""

    title: str
    kind: str
    subject: str
    boxes: frozenset[int]


class View(NamedTuple):
    """A choice laid out: places of its boxes with their layers, points of its links, size and crossings."""

    choice: Choice
    boxes: tuple[tuple[int, int, Placed], ...]
    links: tuple[tuple[int, tuple[tuple[float, float], ...]], ...]
    width: float
    height: float
    crossings: int
    crossings_before: int


def laid_out(drawing: Drawing, choice: Choice) -> View:
    """Lay out the boxes of a choice with every link between two of them."""
    members = sorted(choice.boxes)
    place = {box: number for number, box in enumerate(members)}
    numbers = sorted({n for box in members for n in drawing.links_at[box] if drawing.links[n].a in place
                      and drawing.links[n].b in place})  # fmt: skip
    drawn = [n for n in numbers if drawing.links[n].kind != "battery"]
    batteries = [n for n in numbers if drawing.links[n].kind == "battery"]
    zone = [drawing.zone[box] for box in members]
    arcs, turned = [], []
    for number in drawn:
        a, b = place[drawing.links[number].a], place[drawing.links[number].b]
        turned.append(zone[a] > zone[b])
        arcs.append((b, a) if turned[-1] else (a, b))
    graph = layered(zone, arcs)
    order = ordered(graph)
    width = [_width(drawing.boxes.all[box].label) for box in members]
    layout = placed(graph, order, width)
    lines = []
    for number, points, one, other in zip(drawn, layout.lines, turned, graph.turned, strict=True):
        lines.append((number, tuple(reversed(points) if one != other else points)))
    below = layout.height
    shift = _ROUND * len(batteries)
    for rank, number in enumerate(batteries):
        start, end = (layout.boxes[place[box]] for box in (drawing.links[number].a, drawing.links[number].b))
        out = _ROUND * (rank + 1)
        right, left, bottom = layout.width + out - _ROUND / 2, _ROUND / 2 - out, below + out - _ROUND / 2
        points = _around(layout.boxes, start, right, start.y + start.h / 2, after=True)
        points += [(right, bottom), (left, bottom)]
        points += _around(layout.boxes, end, left, end.y + end.h / 2, after=False)[::-1]
        lines.append((number, tuple(points)))
    lines.sort()
    # What runs round on the left moves all the rest to the right.
    return View(
        choice,
        tuple(
            (box, graph.layer[n], at._replace(x=round(at.x + shift, 1)))
            for n, (box, at) in enumerate(zip(members, layout.boxes, strict=True))
        ),
        tuple((n, tuple((round(x + shift, 1), round(y, 1)) for x, y in points)) for n, points in lines),
        round(layout.width + 2 * shift, 1),
        round(below + shift, 1),
        crossings_of(graph, order),
        crossings_of(graph, first_order(graph)),
    )


def _around(
    boxes: Sequence[Placed], box: Placed, side: float, y: float, *, after: bool
) -> list[tuple[float, float]]:
    """From a box straight to one side; where others stand in the way, under them first."""
    start = box.x + box.w if after else box.x
    low, high = min(start, side), max(start, side)
    if not any(o is not box and o.x < high and o.x + o.w > low and o.y <= y <= o.y + o.h for o in boxes):
        return [(start, y), (side, y)]
    # In the free strip beside its column there are only lines.
    bottom = max(o.y + o.h for o in boxes) + _ROUND / 4
    column = [o for o in boxes if o.x < box.x + box.w and o.x + o.w > box.x]
    strip = max(o.x + o.w for o in column) + 6.0 if after else min(o.x for o in column) - 6.0
    return [(start, y), (strip, y), (strip, bottom), (side, bottom)]


def _width(label: str) -> float:
    return min(max(_LETTER * len(label) + _PAD, _LEAST_W), _MOST_W)


# ---------------------------------------------------------------------- what to show
def ways_of(drawing: Drawing, boxes: Iterable[int], *, feeds: bool = True) -> frozenset[int]:
    """Some boxes with all boxes on their shortest ways from the positive post and to the negative one."""
    found = set(boxes)
    sides = (drawing.from_feed, drawing.to_ground) if feeds else (drawing.to_ground,)
    for far in sides:
        front = [node for box in found for node in drawing.nodes_of[box]]
        seen = set(front)
        while front:
            node = front.pop()
            nearer = [near for near, part in drawing.beside[node] if far[near] == far[node] - drawing.steps[part]]
            for near in nearer if len(nearer) <= _MOST_WAYS else nearer[:1]:
                if near not in seen:
                    seen.add(near)
                    front.append(near)
        found |= {drawing.boxes.of_node[node] for node in seen}
    for box in list(found):
        homes, supplies = drawing.outside.get(box, ((), ()))
        found.update((*homes, *supplies) if feeds else homes)
    # A case leads to a body, and from there home; a stud is shown with its body, wherever its current goes.
    role = [box.role for box in drawing.boxes.all]
    for box in list(found):
        if role[box] == "earth point":
            found.update(near for near in drawing.boxes_beside[box] if role[near] == "body")
    bodies = [box for box in found if role[box] == "body"]
    return frozenset(found) if not feeds or not bodies else frozenset(found | ways_of(drawing, bodies, feeds=False))


def around_controller(drawing: Drawing, controller: int) -> frozenset[int]:
    """A controller with what it drives and reads and all their ways."""
    found, front = {controller}, [controller]
    found.update(drawing.signalled.get(drawing.boxes.all[controller].key[1], ()))
    while front:
        for near in drawing.boxes_beside[front.pop()]:
            box = drawing.boxes.all[near]
            if near in found or drawing.zone[near] != 1:
                continue
            found.add(near)
            if box.role == "through":
                front.append(near)
    return ways_of(drawing, found)


def around_earth(drawing: Drawing, earth: int) -> frozenset[int]:
    """An earth point with every device whose ground comes home over it; their feeds too where that stays readable."""
    far, found = drawing.to_ground, {earth}
    front = list(drawing.nodes_of[earth])
    seen = set(front)
    while front:
        node = front.pop()
        for near, part in drawing.beside[node]:
            if far[near] == far[node] + drawing.steps[part] and near not in seen:
                seen.add(near)
                box = drawing.boxes.of_node[near]
                found.add(box)
                if drawing.boxes.all[box].role not in ("device", "body"):
                    front.append(near)
    whole = ways_of(drawing, found)
    return whole if len(whole) <= MOST_BOXES else ways_of(drawing, found, feeds=False)


def bodies_of(drawing: Drawing) -> frozenset[int]:
    """Batteries, bodies, earth points and the machines on them."""
    roles = ("battery", "body", "earth point")
    kinds = ("starter", "alternator")
    return frozenset(
        number
        for number, box in enumerate(drawing.boxes.all)
        if drawing.shown[number] and (box.role in roles or box.kind in kinds)
    )

