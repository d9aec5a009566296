"""The ground diagram as plain names and numbers, for the report."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design import Design
from harnessdrc.design.diagram.boxes import Box
from harnessdrc.design.diagram.drawing import ZONES, Drawing, Link, drawing_of
from harnessdrc.design.diagram.loops import FoundLoop, loops_of
from harnessdrc.design.diagram.shared import Sharing, shares_of
from harnessdrc.design.diagram.views import View, laid_out
from harnessdrc.diagram import (
    Diagram,
    DiagramEdge,
    DiagramLoop,
    DiagramNode,
    DiagramPart,
    DiagramView,
    PathEffect,
    PlacedNode,
    RoutedEdge,
)
from harnessdrc.drawn.choices import choices_of
from harnessdrc.drawn.named import Named
from harnessdrc.findings import Mark
from harnessdrc.results import OffsetLine, Result

__all__ = ["diagram_of"]

Floats = NDArray[np.float64]

_SHARED_SHARE_OF_LIMIT = 0.1
"""A path is shared where currents of others use up a tenth of a victim's limit in it alone. Common practice, no source;
in a sound loom it is a few hundredths."""
_MOST_EFFECTS = 5


def diagram_of(design: Design, result: Result) -> Diagram:
    """The ground diagram of a checked list.

    Parameters
    ----------
    design : Design
        What was checked.
    result : Result
        What the rules said of it, with the solved network.

    Returns
    -------
    Diagram
        Without boxes where nothing could be solved; `left_out` says why.
    """
    if not design.analysis.solved:
        why = result.network.not_solved or ("There is no operating state to solve the circuit in.",)
        return Diagram(left_out=why)
    return _Maker(design, result).made()


class _Numbers(NamedTuple):
    """Average current, greatest amount at an instant, average drop per state."""

    average_a: tuple[float, ...]
    peak_a: tuple[float, ...]
    drop_mv: tuple[float, ...]


class _Maker:
    def __init__(self, design: Design, result: Result) -> None:
        self.design, self.result = design, result
        self.drawing: Drawing = drawing_of(design)
        self.named = Named(design, result.findings)
        self.circuit, self.settled = design.circuit, design.analysis.new.settled
        shown = self.drawing.shown
        self.boxes = [number for number in range(len(shown)) if shown[number]]
        self.id_of = {box: number for number, box in enumerate(self.boxes)}

    def made(self) -> Diagram:
        links = self.drawing.links
        nodes = tuple(self._node(box) for box in self.boxes)
        found_loops = [(loop, *self._round(loop)) for loop in loops_of(self.drawing)]
        loops = tuple(
            DiagramLoop(
                number, loop.kind, loop.label, edges, boxes,
                _first({part: share for part in loop.parts if (share := self._effects_by_part.get(part))}),
                tuple(dict.fromkeys(t for edge in edges if links[edge].kind == "wire"
                                    for t in self._findings_of(links[edge]))),
            )
            for number, (loop, edges, boxes) in enumerate(found_loops)
        )  # fmt: skip
        in_loops: dict[int, list[int]] = {}
        for loop in loops:
            for edge in loop.edges:
                in_loops.setdefault(edge, []).append(loop.id)
        edges = tuple(replace(self._edge(n, link), loops=tuple(in_loops.get(n, ()))) for n, link in enumerate(links))
        choices, untold = choices_of(self.drawing, self.boxes, self.result.findings, nodes, edges, loops)
        views = tuple(self._view(laid_out(self.drawing, choice)) for choice in choices)
        left_out = (*self.result.network.not_solved, *self._signals_left_out(), *self._not_told(), *untold)
        return Diagram(tuple(s.name for s in self.design.analysis.states), nodes, edges, loops, views, left_out)

    # ------------------------------------------------------------------ numbers
    @cached_property
    def _part_numbers(self) -> tuple[Floats, Floats, Floats]:
        """Average and greatest current, A, and average drop, mV, of every part in every state."""
        currents = self.design.analysis.part_currents
        first, second = self.circuit.ends.T
        across = (self.settled.volts[first] - self.settled.volts[second]) * 1000
        average = np.where(np.isnan(currents.average), 0.0, currents.average)
        drop = np.where(np.isnan(currents.average), across, average * self.settled.ohm[:, None] * 1000)
        return average, np.nan_to_num(currents.peak), drop

    def _numbers_of_part(self, part: int, sign: int = 1) -> _Numbers:
        average, peak, drop = self._part_numbers
        # Adding 0.0 takes the sign off a nought.
        return _Numbers(
            tuple((average[part] * sign + 0.0).tolist()), tuple(peak[part].tolist()),
            tuple((drop[part] * sign + 0.0).tolist()),
        )  # fmt: skip

    def _numbers_of_port(self, port: int) -> _Numbers:
        average = self.settled.average_a[port]
        peak = np.maximum(np.abs(average), np.abs(self.settled.steady_a[port] + self.settled.on_a[port]))
        return _Numbers(tuple(average.tolist()), tuple(peak.tolist()), ())

    @cached_property
    def _brought(self) -> dict[int, Floats]:
        found: dict[int, Floats] = {}
        nothing = np.zeros(len(self.design.analysis.states))
        for port, source, own in self.drawing.brought:
            amps = self.settled.average_a[port]
            found[source] = found.get(source, nothing) - amps
            found[own] = found.get(own, nothing) + amps
        return found

    # ------------------------------------------------------------------ boxes
    def _node(self, number: int) -> DiagramNode:
        box = self.drawing.boxes.all[number]
        states = len(self.design.analysis.states)
        parts = tuple(
            DiagramPart(
                self.circuit.part_name(self.circuit.parts[part]), float(self.settled.ohm[part]) * 1000,
                *self._numbers_of_part(part),
            )
            for part in self.drawing.inside[number]
            if self._telling(part, box)
        )  # fmt: skip
        brought = self._brought.get(number)
        mark = self._mark_of_box(box)
        return DiagramNode(
            self.id_of[number], box.label, box.kind, ZONES[self.drawing.zone[number]], box.body, self._note(box), mark,
            parts, (0.0,) * states if brought is None else tuple((brought + 0.0).tolist()), self.named.of_box(box),
        )  # fmt: skip

    def _telling(self, number: int, box: Box) -> bool:
        """Whether a part inside a box is worth a line: all that current passes through, and a controller's own link."""
        part = self.circuit.parts[number]
        return part.kind != "inside" or (part.a[0], part.b[0]) == ("sensor ground of", "ground of")

    def _note(self, box: Box) -> str:
        item = self.design.harness.items.get(box.contact.item) if box.contact else None
        if box.kind == "fuse" and item is not None and item.rating_a is not None:
            return f"{item.rating_a:g} A"
        if box.role in ("device", "through") and box.device is not None:
            return box.kind
        return f"on {box.body}" if box.role == "earth point" and box.body else ""

    def _mark_of_box(self, box: Box) -> Mark | None:
        marks: tuple[Mark, ...] = ()
        if box.device is not None:
            marks = self.design.devices.mark_device(box.device)
        elif box.contact is not None:
            item = self.design.harness.items.get(box.contact.item)
            if item is not None and item.place is not None:
                return Mark(item.place, box.label)
            marks = self.design.devices.mark(box.contact)
        return marks[0] if marks else None

    # ------------------------------------------------------------------ edges
    def _edge(self, number: int, link: Link) -> DiagramEdge:
        part = self.circuit.parts[link.part] if link.part >= 0 else None
        if part is None:
            port = self.circuit.ports[link.port]
            name = f"case of {port.name}" if link.kind == "case" else f"feed of {port.name} (given)"
            mark, wire, ohm = None, None, None
            numbers = self._numbers_of_port(link.port)
        else:
            name, wire, ohm = self._name_of(link), part.wire, float(self.settled.ohm[link.part]) * 1000
            place = wire.place.of("wire", "from_item") if wire else part.place
            mark = Mark(place, name) if place else None
            numbers = self._numbers_of_part(link.part, link.sign)
        told = self._effects_by_part.get(link.part, ())
        return DiagramEdge(
            number, name, link.kind, link.side, self.id_of[link.a], self.id_of[link.b], self.drawing.pin(link.a_node),
            self.drawing.pin(link.b_node), wire.name if wire else None, mark, ohm, *numbers,
            shared_by=_users(told), effects=told[:_MOST_EFFECTS], findings=self._findings_of(link),
        )  # fmt: skip

    def _name_of(self, link: Link) -> str:
        part = self.circuit.parts[link.part]
        name = self.circuit.part_name(part)
        if link.kind == "ring":
            return f"rings on {name}"
        return f"{name} to {part.b[1]}" if part.kind == "inside" and part.b[0] == "body" else name

    def _findings_of(self, link: Link) -> tuple[str, ...]:
        return self.named.of_part(self.circuit.parts[link.part]) if link.part >= 0 else ()

    # ------------------------------------------------------------------ shared paths
    @cached_property
    def _sides(self) -> dict[int, tuple[int, bool, float]]:
        """For each victim told of in the result its worst state, the side and its limit, V."""
        lines: dict[tuple[object, str], OffsetLine] = {(o.victim, o.what): o for o in self.result.network.offsets}
        found = {}
        for number, victim in enumerate(self.design.analysis.victims):
            line = lines.get((victim.subject, victim.kind))
            if line is None:
                continue
            ends = [(False, line.low_limit_mv), (True, line.high_limit_mv)]
            peak = line.peak_mv[line.worst]
            shares = [
                (peak / limit if limit else abs(peak), upward, limit) for upward, limit in ends if limit is not None
            ]
            if shares:
                _, upward, limit_mv = max(shares)
                found[number] = line.worst, upward, limit_mv / 1000
        return found

    @cached_property
    def _shares(self) -> tuple[tuple[Sharing, ...], tuple[int, ...]]:
        shares = shares_of(self.design, self._sides)
        return shares.found, shares.not_told

    @cached_property
    def _effects_by_part(self) -> dict[int, tuple[PathEffect, ...]]:
        """Effects of each part that is a shared path, the worst first."""
        found: dict[int, list[PathEffect]] = {}
        for sharing in self._shares[0]:
            if sharing.share_of_limit >= _SHARED_SHARE_OF_LIMIT:
                victim = self.design.analysis.victims[sharing.victim]
                found.setdefault(sharing.part, []).append(
                    PathEffect(
                        victim.subject, victim.kind, self.design.analysis.states[sharing.state].name,
                        sharing.foreign_v * 1000, sharing.limit_v * 1000, sharing.by,
                    )
                )  # fmt: skip
        return {part: _worst_first(effects) for part, effects in found.items()}

    # ------------------------------------------------------------------ loops
    def _round(self, loop: FoundLoop) -> tuple[tuple[int, ...], tuple[int, ...]]:
        """Edges and nodes that a loop runs through."""
        edges, boxes = [], []
        for part in loop.parts:
            one, other = self.circuit.ends[part].tolist()
            boxes += [self.id_of[self.drawing.boxes.of_node[node]] for node in (one, other)]
            if part in self._link_of_part:
                edges.append(self._link_of_part[part])
        return tuple(dict.fromkeys(edges)), tuple(dict.fromkeys(boxes))

    @cached_property
    def _link_of_part(self) -> dict[int, int]:
        return {link.part: number for number, link in enumerate(self.drawing.links) if link.part >= 0}

    # ------------------------------------------------------------------ views
    def _view(self, view: View) -> DiagramView:
        return DiagramView(
            view.choice.title, view.choice.kind, view.choice.subject,
            tuple(PlacedNode(self.id_of[box], layer, *at) for box, layer, at in view.boxes),
            tuple(RoutedEdge(link, points) for link, points in view.links),
            view.width, view.height, view.crossings, view.crossings_before,
        )  # fmt: skip

    # ------------------------------------------------------------------ what is not in it
    def _signals_left_out(self) -> list[str]:
        count = sum(
            not kept and part.wire is not None
            for kept, part in zip(self.drawing.kept, self.circuit.parts, strict=True)
        )
        count += len(self.design.harness.wires) - len(self.circuit.wire_parts)
        if not count:
            return []
        return [f"{count} wire{'s' if count > 1 else ''} of signals or without a way to the battery "
                f"{'are' if count > 1 else 'is'} not drawn."]  # fmt: skip

    def _not_told(self) -> list[str]:
        victims = [self.design.analysis.victims[number].device.name for number in self._shares[1]]
        if not victims:
            return []
        shown = ", ".join(list(dict.fromkeys(victims))[:8])
        return [f"Which paths shift {shown} was not worked out: the currents spread over too many meshes."]


def _worst_first(effects: Iterable[PathEffect]) -> tuple[PathEffect, ...]:
    return tuple(sorted(effects, key=lambda e: (-round(e.share_of_limit, 6), e.victim, e.what)))


def _first(by_part: Mapping[int, tuple[PathEffect, ...]]) -> tuple[PathEffect, ...]:
    """What all parts together make of each victim that any of them shifts, the worst first."""
    whole: dict[tuple[object, ...], PathEffect] = {}
    for effects in by_part.values():
        for effect in effects:
            key = effect.victim, effect.what
            known = whole.get(key)
            whole[key] = effect if known is None else known._replace(
                mv=known.mv + effect.mv, by=tuple(dict.fromkeys((*known.by, *effect.by)))
            )
    return _worst_first(whole.values())[:_MOST_EFFECTS]


def _users(effects: Sequence[PathEffect]) -> tuple[str, ...]:
    """Devices whose currents meet in a path: the victims, then those that shift them."""
    return tuple(dict.fromkeys([*(e.victim[1] for e in effects), *(name for e in effects for name in e.by)]))

