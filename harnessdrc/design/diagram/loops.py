"""Loops: grounds with two ways home, sensor grounds with a second way out, nets with two supplies.

Straps that join the bodies, and two wires to one body, are no loops of the loom: what counts is copper that reaches two
bodies, so that it lies beside the straps between them, and a sensor ground that leads power current past its pin.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import Literal, NamedTuple

from harnessdrc.design.circuit.parts import Node
from harnessdrc.design.diagram.drawing import UNREACHED, Drawing
from harnessdrc.harness.elements import Contact, rigid_body
from harnessdrc.harness.names import natural_key

__all__ = ["FoundLoop", "loops_of"]


class FoundLoop(NamedTuple):
    """A loop.

    Parameters
    ----------
    kind : str
        ``two bodies``, ``sensor ground`` or ``two supplies``.
    label : str
        What it is about.
    parts : tuple of int
        Parts of the circuit round it, in order.
    """

    kind: Literal["two bodies", "sensor ground", "two supplies"]
    label: str
    parts: tuple[int, ...]


def loops_of(drawing: Drawing) -> tuple[FoundLoop, ...]:
    """All loops, each once, in the order of their labels."""
    finder = _Finder(drawing)
    found: dict[frozenset[int], FoundLoop] = {}
    for loop in (*finder.second_ways(), *finder.two_bodies(), *finder.two_supplies()):
        found.setdefault(frozenset(loop.parts), loop)
    return tuple(sorted(found.values(), key=lambda loop: (natural_key(loop.label), loop.kind, loop.parts)))


class _Finder:
    def __init__(self, drawing: Drawing) -> None:
        self.drawing, self.design = drawing, drawing.design
        self.circuit = drawing.design.circuit
        self.number = self.circuit.node_number
        self.home = drawing.to_ground
        self.border = [self._is_border(node) for node in self.circuit.nodes]

    def _is_border(self, node: Node) -> bool:
        """Earth points and bodies: what lies between them is straps, what leads to them is the loom."""
        return node in self.design.net.earths if isinstance(node, Contact) else node[0] == "body"

    def _body(self, node: int) -> str | None:
        """Body of an earth point, or itself, with head, block and engine as one."""
        name = self.circuit.nodes[node]
        if isinstance(name, Contact):
            return self.design.devices.rigid(name)
        return rigid_body(name[1])

    def _way(
        self, start: int, end: int, may_pass: Callable[[int], bool], without: frozenset[int] = frozenset()
    ) -> list[int] | None:
        """Parts of the shortest way between two nodes; None where there is none."""
        seen: dict[int, tuple[int, int] | None] = {start: None}
        front = [start]
        while front and end not in seen:
            following = []
            for node in front:
                for near, part in self.drawing.beside[node]:
                    if near not in seen and part not in without and (near == end or may_pass(near)):
                        seen[near] = node, part
                        following.append(near)
            front = following
        if end not in seen:
            return None
        way = []
        step = seen[end]
        while step is not None:
            way.append(step[1])
            step = seen[step[0]]
        return way[::-1]

    # ------------------------------------------------------------------ copper on two bodies
    def two_bodies(self) -> list[FoundLoop]:
        """Copper that reaches more than one body."""
        found = []
        seen: set[int] = set()
        for start in range(len(self.circuit.nodes)):
            if start in seen or self.border[start] or self.home[start] == UNREACHED:
                continue
            piece, front = {start}, [start]
            borders: dict[int, None] = {}
            while front:
                for near, _ in self.drawing.beside[front.pop()]:
                    if self.border[near]:
                        borders[near] = None
                    elif near not in piece:
                        piece.add(near)
                        front.append(near)
            seen |= piece
            found += self._round(piece, list(borders))
        return found

    def _round(self, piece: set[int], borders: list[int]) -> list[FoundLoop]:
        """Loops of one piece of copper: from the body it belongs to over each further one."""
        by_body: dict[str, list[int]] = {}
        for node in borders:
            body = self._body(node)
            if body is not None:
                by_body.setdefault(body, []).append(node)
        if len(by_body) < 2:
            return []
        star = {self.design.devices.rigid(reached.earth) for reached in self.design.grounds.star}
        first, *others = sorted(by_body, key=lambda body: (body not in star, body != "engine", body))
        loops = []
        for body in others:
            ways = [
                (len(way), self._named(one), self._named(other), way, one, other)
                for one in by_body[first]
                for other in by_body[body]
                if (way := self._way(one, other, piece.__contains__)) is not None
            ]
            if not ways:
                continue
            _, _, _, way, one, other = min(ways, key=lambda each: each[:3])
            back = self._way(other, one, self.border.__getitem__) or []
            loops.append(FoundLoop("two bodies", f"{self._whose(way)}: {first} and {body}", (*way, *back)))
        return loops

    def _named(self, node: int) -> tuple[object, ...]:
        return natural_key(self.circuit.node_name(self.circuit.nodes[node]))

    def _whose(self, way: list[int]) -> str:
        """Device that a way leads through, or else what it is joined at."""
        devices = [self.circuit.parts[part].name for part in way if self.circuit.parts[part].kind == "inside"]
        if devices:
            return devices[0]
        ends = self.circuit.ends[way].tolist()
        shared = [set(one) & set(other) for one, other in pairwise(ends)]
        nodes = [node for both in shared for node in both if not self.border[node]]
        owners = [self.design.devices.owner(c) for node in nodes if isinstance(c := self.circuit.nodes[node], Contact)]
        named = [owner.name for owner in owners if owner is not None]
        if named:
            return named[0]
        return self.circuit.node_name(self.circuit.nodes[nodes[0]]) if nodes else self.circuit.part_name(
            self.circuit.parts[way[0]]
        )

    # ------------------------------------------------------------------ sensor grounds
    def second_ways(self) -> list[FoundLoop]:
        """Sensor grounds that reach their controller's power ground by another way than inside it, pin by pin."""
        found: dict[tuple[int, int | None], FoundLoop] = {}
        for link, part in enumerate(self.circuit.parts):
            if part.kind != "inside" or part.a[0] != "sensor ground of" or part.b[0] != "ground of":
                continue
            inner, ground = self.number[part.a], self.number[part.b]
            for pin, through in self.drawing.beside[inner]:
                if through == link:
                    continue
                way = self._way(pin, ground, lambda node, inner=inner: node != inner)  # type: ignore[misc]
                if way is None:
                    continue
                # Pins on one net have one way between them: the first by name stands for all.
                contact = self.circuit.nodes[pin]
                net = self.design.net.net_of.get(contact) if isinstance(contact, Contact) else None
                label = f"{part.name}: second way from {self.circuit.node_name(contact)}"
                found.setdefault((link, net), FoundLoop("sensor ground", label, (through, *way, link)))
        return list(found.values())

    # ------------------------------------------------------------------ supplies
    def two_supplies(self) -> list[FoundLoop]:
        """Live nets that two fuses, switches or supplies feed, each past the other."""
        feeds, found = self.design.feeds, []
        supply = self.design.devices.controller_contacts("sensor supply")
        net_of = self.design.net.net_of
        numbers = {*feeds.level, *(net_of[contact] for contact in supply if contact in net_of)}
        for net in sorted(numbers):
            supplies = [
                (name, self.number[contact]) for name, contact in feeds.supplies(net) if contact in self.number
            ]
            if len(supplies) < 2 or net in feeds.shorted:
                continue
            members = {self.number[contact] for contact in self.design.net.nets[net].contacts if contact in self.number}
            (first, one), (second, other) = supplies[:2]
            way = self._way(one, other, members.__contains__)
            if way is None:
                continue
            back = self._way(other, one, lambda node: True, frozenset(way)) or []
            found.append(FoundLoop("two supplies", f"{first} and {second}", (*way, *back)))
        return found
