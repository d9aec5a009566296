"""The first view of the ground diagram as a still picture, for readers without scripts and for the printer."""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Sequence
from typing import NamedTuple

from markupsafe import Markup

from harnessdrc.diagram import Diagram, DiagramEdge, DiagramView
from harnessdrc.render.induction import figure_text
from harnessdrc.render.lines import visible

__all__ = ["Sheet", "drawn_view", "edge_words", "flags_text", "sheet_of", "strips_of", "value_text"]

GAP = 104.0
"""Room between two columns, so that a line's figures stand on it."""
_LETTER = 7.4
"""Width of a letter of a box's name, units."""
_STRIP = 1.5
"""Width of a printed part of the diagram over its height: A4 on its side, without margins and a line of text."""
_LEAST_STRIP, _MOST_STRIP = 900.0, 1700.0


class Sheet(NamedTuple):
    """A view with room for figures between its columns: boxes as (node, x, y, w, h), lines as (edge, points)."""

    nodes: tuple[tuple[int, float, float, float, float], ...]
    edges: tuple[tuple[int, tuple[tuple[float, float], ...]], ...]
    labels: tuple[tuple[float, float, str], ...]
    width: float
    height: float


def sheet_of(diagram: Diagram, view: DiagramView) -> Sheet:
    """Spread the columns of a view, and find where the figures of each line stand.

    Lines slant only between columns, so that no line runs through a box after either.
    """
    columns: dict[int, tuple[float, float]] = {}
    for node in view.nodes:
        left, right = columns.get(node.layer, (math.inf, -math.inf))
        columns[node.layer] = min(left, node.x), max(right, node.x + node.w)
    knots = [(0.0, 0.0)]
    for left, right in sorted(columns.values()):
        before, at = knots[-1]
        gap = left - before
        inner = left if len(knots) == 1 else at + max(gap, GAP)
        knots += [(left, inner), (right, inner + right - left)]
    tops = [node.y for node in view.nodes] or [0.0]
    lift = 46.0 - min(0.0, *(tops or [0.0]))
    nodes = tuple(
        (n.node, round(_spread(knots, n.x), 1), round(n.y + lift, 1), n.w, n.h) for n in view.nodes
    )  # fmt: skip
    edges = tuple(
        (e.edge, tuple((round(_spread(knots, x), 1), round(y + lift, 1)) for x, y in e.points)) for e in view.edges
    )
    labels = _labels(diagram, nodes, edges)
    return Sheet(nodes, edges, labels, round(_spread(knots, view.width), 1), round(view.height + lift + 30, 1))


def _spread(knots: Sequence[tuple[float, float]], x: float) -> float:
    for (x0, y0), (x1, y1) in itertools.pairwise(knots):
        if x <= x1:
            return y0 + (x - x0) * ((y1 - y0) / (x1 - x0) if x1 > x0 else 0.0)
    last_x, last_y = knots[-1]
    return last_y + x - last_x


class _Room:
    """Places taken by figures already, in squares, so that few need be looked at."""

    _SQUARE = 120.0

    def __init__(self) -> None:
        self._taken: dict[tuple[int, int], list[tuple[float, float, float, float]]] = {}

    def _squares(self, box: tuple[float, float, float, float]) -> list[tuple[int, int]]:
        x0, y0, x1, y1 = (int(value // self._SQUARE) for value in box)
        return [(x, y) for x in range(x0, x1 + 1) for y in range(y0, y1 + 1)]

    def overlap(self, box: tuple[float, float, float, float]) -> float:
        """Area in common with what is taken."""
        x0, y0, x1, y1 = box
        others = {other for square in self._squares(box) for other in self._taken.get(square, ())}
        return sum(
            max(0.0, min(x1, b[2]) - max(x0, b[0])) * max(0.0, min(y1, b[3]) - max(y0, b[1])) for b in sorted(others)
        )

    def take(self, box: tuple[float, float, float, float]) -> None:
        """Nothing else should stand there."""
        for square in self._squares(box):
            self._taken.setdefault(square, []).append(box)


def _labels(
    diagram: Diagram,
    nodes: Sequence[tuple[int, float, float, float, float]],
    edges: Sequence[tuple[int, tuple[tuple[float, float], ...]]],
) -> tuple[tuple[float, float, str], ...]:
    """Where the figures of each line stand, and on which side of that: where they cover the least of others.

    What stands out is placed first. A line has room on its level pieces and at its ends, first where fewer lines
    end.
    """
    room = _Room()
    for _, x, y, w, h in nodes:
        room.take((x, y, x + w, y + h))
    many = Counter(end for number, _ in edges for end in (diagram.edges[number].a, diagram.edges[number].b))
    found: dict[int, tuple[float, float, str]] = {}
    for at in sorted(range(len(edges)), key=lambda one: (not flags_text(diagram.edges[edges[one][0]]), one)):
        number, points = edges[at]
        edge = diagram.edges[number]
        flags = flags_text(edge)
        wide = max(6.0 * len(edge_words(edge)), 62.0, 9.6 * len(flags))
        tall = (-13.0, 32.0 if flags else 13.0)
        best: tuple[float, float, float, str] | None = None
        for x, y, anchor in _candidates(edge, points, many):
            left = x if anchor == "start" else x - wide
            covered = room.overlap((left, y + tall[0], left + wide, y + tall[1]))
            if best is None or covered < best[0] - 1e-6:
                best = covered, x, y, anchor
            if covered < 1e-6:
                break
        assert best is not None
        _, x, y, anchor = best
        left = x if anchor == "start" else x - wide
        room.take((left, y + tall[0], left + wide, y + tall[1]))
        found[at] = round(x, 1), round(y, 1), anchor
    return tuple(found[at] for at in range(len(edges)))


def _candidates(
    edge: DiagramEdge, points: Sequence[tuple[float, float]], many: Counter[int]
) -> list[tuple[float, float, str]]:
    level = sorted(
        (-abs(x1 - x0), min(x0, x1), y0) for (x0, y0), (x1, y1) in itertools.pairwise(points) if abs(y0 - y1) < 2.0
    )
    places = [(x + 4, y, "start") for length, x, y in level if length <= -90.0]
    left, right = points[0], points[-1]
    fewer_left = many[edge.a] < many[edge.b]
    if left[0] > right[0]:
        left, right, fewer_left = right, left, not fewer_left
    ends = [(left[0] + 4, left[1], "start"), (right[0] - 4, right[1], "end")]
    places += ends if fewer_left else ends[::-1]
    for length, x, y in level:
        places += [(x + part * -length, y, "start") for part in (0.35, 0.7) if length <= -150.0]
        places += [(x, y, "start")] if length > -90.0 else []
    return places


def value_text(edge: DiagramEdge, state: int) -> str:
    """Current and drop of a line in one state: ``1.2 A, 34 mV``; an arrow where it flows against the way home.

    What has no resistance of its own has no drop.
    """
    if state >= len(edge.average_a):
        return ""
    amps = edge.average_a[state]
    text = f"{'← ' if amps < -5e-4 else ''}{_figure(abs(amps))} A"
    return f"{text}  {_figure(abs(edge.drop_mv[state]))} mV" if state < len(edge.drop_mv) else text


def _figure(value: float) -> str:
    if value < 0.0005:
        return "0"
    return figure_text(value, 3)


def edge_words(edge: DiagramEdge) -> str:
    """Name and resistance of a line: ``W301  2.7 mΩ``."""
    name = edge.wire if edge.wire is not None else edge.name
    name = _short(visible(name), 14)
    return name if edge.resistance_mohm is None else f"{name}  {_figure(edge.resistance_mohm)} mΩ"


def flags_text(edge: DiagramEdge) -> str:
    """What stands out about a line: ``LOOP 1, SHARED``; empty for nothing."""
    loops = f"LOOP {' + '.join(str(number + 1) for number in edge.loops)}" if edge.loops else ""
    return ", ".join(filter(None, (loops, "SHARED" if edge.shared_by else "")))


def _short(text: str, most: int) -> str:
    return text if len(text) <= most else text[: most - 1] + "…"


def width_of(amps: float) -> float:
    """Width of a line by its current, units: thin for a signal's, thick for a starter's."""
    return round(min(1.4 + 1.1 * math.log10(1 + abs(amps) * 4), 4.6), 2)


def drawn_view(diagram: Diagram, sheet: Sheet, state: int) -> Markup:
    """The boxes and lines of a view as SVG elements; the script draws the others in the same way."""
    parts: list[Markup] = []
    for (number, points), (x, y, anchor) in zip(sheet.edges, sheet.labels, strict=True):
        edge = diagram.edges[number]
        kinds = " ".join(
            filter(None, ("e", "hard" if edge.loops else "", "shared" if edge.shared_by else "",
                          "dim" if edge.kind in ("case", "given feed", "battery") else ""))
        )  # fmt: skip
        path = "M" + "L".join(f"{px:g} {py:g}" for px, py in points)
        flags = flags_text(edge)
        wide = width_of(edge.average_a[state]) if edge.average_a else 1.4
        parts.append(Markup(
            '<g class="{}" data-e="{}"><title>{}</title><path class="hit" d="{}"/><path class="l" d="{}" '
            'stroke-width="{}"/>{}<text class="en" x="{:g}" y="{:g}" text-anchor="{}">{}</text>'
            '<text class="ev" x="{:g}" y="{:g}" text-anchor="{}">{}</text>{}</g>'
        ).format(
            kinds, number, visible(edge.name)[:200], path, path, wide,
            Markup('<path class="in" d="{}"/>').format(path) if edge.shared_by else "",
            x, y - 4, anchor, edge_words(edge), x, y + 11, anchor, value_text(edge, state),
            Markup('<text class="fl" x="{:g}" y="{:g}" text-anchor="{}">{}</text>').format(x, y + 29, anchor, flags)
            if flags else "",
        ))  # fmt: skip
    for number, x, y, w, h in sheet.nodes:
        node = diagram.nodes[number]
        kinds = f"n z-{node.zone}" + (" bad" if node.findings else "")
        name = _short(visible(node.label), max(4, int((w - 8) / _LETTER)))
        parts.append(Markup(
            '<g class="{}" data-n="{}"><title>{}</title><rect x="{:g}" y="{:g}" width="{:g}" height="{:g}" rx="{}"/>'
            '<text x="{:g}" y="{:g}" text-anchor="middle">{}</text></g>'
        ).format(
            kinds, number, f"{visible(node.label)[:200]}, {visible(node.kind)}", x, y, w, h,
            {"device": 3, "ground": 9, "earth": 9}.get(node.zone, 0), x + w / 2, y + h / 2 + 4.5, name,
        ))  # fmt: skip
    return Markup("").join(parts)


def strips_of(sheet: Sheet) -> list[tuple[float, float, float, float]]:
    """Parts of a wide view for the printer, left to right, each as (x, y, width, height) in units."""
    wide = min(max(sheet.height * _STRIP, _LEAST_STRIP), _MOST_STRIP)
    count = max(1, math.ceil(sheet.width / wide))
    each = sheet.width / count
    return [(round(at * each, 1), 0.0, round(each, 1), sheet.height) for at in range(count)] if count > 1 else []
