"""What is drawn: boxes, the links between them, and which way each of them leads from the battery's + to its -."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from heapq import heappop, heappush
from typing import Literal, NamedTuple

import numpy as np

from harnessdrc.design import Design
from harnessdrc.design.circuit.parts import Node
from harnessdrc.design.diagram.boxes import Boxes, boxes_of
from harnessdrc.harness.elements import Contact
from harnessdrc.harness.names import natural_key

__all__ = ["UNREACHED", "ZONES", "Drawing", "Link", "drawing_of"]

LinkKind = Literal["wire", "strap", "ring", "bodies", "joint", "case", "given feed", "battery"]
Side = Literal["feed", "ground", "battery"]

ZONES = ("feed", "device", "ground", "earth", "body")
"""From left to right."""

_NOTHING_A = 1e-9
THROUGH_DEVICE = 10_000
UNREACHED = 1 << 30
"""Way to or from a post that there is none to."""


class Link(NamedTuple):
    """What joins two boxes: a part of the circuit, or the current of a port that enters or leaves elsewhere.

    Parameters
    ----------
    kind, side : str
        What it is, and on which side of the devices.
    a, b : int
        Boxes; currents count from `a` to `b`.
    a_node, b_node : int
        Nodes of the circuit there; -1 for the end of a port at its own device.
    part, port : int
        Number of the part or port; -1 for the other.
    sign : int
        -1 where the part itself counts its current from `b` to `a`.
    """

    kind: LinkKind
    side: Side
    a: int
    b: int
    a_node: int
    b_node: int
    part: int
    port: int
    sign: int


@dataclass
class Drawing:
    """Boxes and links of a solved circuit.

    Parameters
    ----------
    design : Design
        The design.
    boxes : Boxes
        Its boxes.
    kept : sequence of bool
        Parts that are drawn; the others are signals.
    """

    design: Design
    boxes: Boxes
    kept: Sequence[bool]

    # ------------------------------------------------------------------ the circuit as a graph
    @cached_property
    def beside(self) -> list[list[tuple[int, int]]]:
        """For each node of the circuit its neighbours, each with the part that leads there; no battery."""
        circuit = self.design.circuit
        found: list[list[tuple[int, int]]] = [[] for _ in circuit.nodes]
        for number, (one, other) in enumerate(circuit.ends.tolist()):
            if self.kept[number] and circuit.parts[number].kind != "battery" and one != other:
                found[one].append((other, number))
                found[other].append((one, number))
        for near in found:
            near.sort(key=lambda each: (self.part_order[each[1]], each[0]))
        return found

    @cached_property
    def part_order(self) -> list[int]:
        """Rank of each part by its name, whatever the order of rows."""
        circuit = self.design.circuit
        key = [
            (natural_key(circuit.part_name(part)), part.kind, *sorted(map(str, (part.a, part.b))))
            for part in circuit.parts
        ]
        rank = [0] * len(key)
        for place, number in enumerate(sorted(range(len(key)), key=key.__getitem__)):
            rank[number] = place
        return rank

    @cached_property
    def steps(self) -> list[int]:
        """How far each part leads: 1, or `THROUGH_DEVICE` for the inside of a device, which only counts as a way where
        there is no other."""
        return [
            THROUGH_DEVICE if part.kind == "inside" and part.b[0] != "post +" else 1
            for part in self.design.circuit.parts
        ]

    def _far(self, starts: Iterable[int]) -> list[int]:
        """Steps from each node of the circuit to the nearest of `starts`."""
        far = [UNREACHED] * len(self.design.circuit.nodes)
        front = [(0, node) for node in starts]
        for _, node in front:
            far[node] = 0
        while front:
            steps, node = heappop(front)
            if steps > far[node]:
                continue
            for near, part in self.beside[node]:
                there = steps + self.steps[part]
                if there < far[near]:
                    far[near] = there
                    heappush(front, (there, near))
        return far

    @cached_property
    def from_feed(self) -> list[int]:
        """Steps from a positive post to each node."""
        nodes = self.design.circuit.nodes
        return self._far(n for n, node in enumerate(nodes) if len(node) == 3 and node[0] == "post +")

    @cached_property
    def to_ground(self) -> list[int]:
        """Steps from each node to the negative post."""
        return self._far([0])

    # ------------------------------------------------------------------ zones
    @cached_property
    def nodes_of(self) -> list[list[int]]:
        """Nodes of the circuit in each box."""
        found: list[list[int]] = [[] for _ in self.boxes.all]
        for node, box in enumerate(self.boxes.of_node):
            found[box].append(node)
        return found

    @cached_property
    def zone(self) -> list[int]:
        """Zone of each box, as its place in `ZONES`."""
        feed, ground = self.from_feed, self.to_ground
        zones = []
        for box, nodes in zip(self.boxes.all, self.nodes_of, strict=True):
            if box.role in ("body", "earth point", "device"):
                zones.append({"body": 4, "earth point": 3, "device": 1}[box.role])
                continue
            nearest = min((feed[node] for node in nodes), default=UNREACHED)
            if nearest < UNREACHED:
                zones.append(0 if nearest < THROUGH_DEVICE else 1)
            else:
                # What leads into a device, as the drive of an injector, lies among the devices.
                nearest = min((ground[node] for node in nodes), default=UNREACHED)
                zones.append(2 if nearest < THROUGH_DEVICE else 1)
        return zones

    # ------------------------------------------------------------------ links
    @cached_property
    def links(self) -> tuple[Link, ...]:
        """Links in the order of their names, each from the feed towards the ground."""
        circuit = self.design.circuit
        found: list[tuple[tuple[object, ...], Link]] = []
        for number, (one, other) in enumerate(circuit.ends.tolist()):
            a, b = self.boxes.of_node[one], self.boxes.of_node[other]
            if a == b or not self.kept[number]:
                continue
            part = circuit.parts[number]
            if part.kind == "battery":
                link = Link("battery", "battery", a, b, one, other, number, -1, 1)
            else:
                link = self._led(Link(self._kind(number), self._side(one), a, b, one, other, number, -1, 1))
            found.append(((0, self.part_order[number]), link))
        names = [natural_key(port.name) for port in circuit.ports]
        for number, (feed, back) in enumerate(circuit.port_nodes.tolist()):
            own = self.boxes.of_port[number]
            source, sink = self.boxes.of_node[feed], self.boxes.of_node[back]
            if own != source and circuit.ports[number].kind != "sensor":
                found.append(((1, names[number]), Link("given feed", "feed", source, own, feed, -1, -1, number, 1)))
            if own != sink:
                found.append(((2, names[number]), Link("case", "ground", own, sink, -1, back, -1, number, 1)))
        return tuple(link for _, link in sorted(found, key=lambda one: one[0]))

    def _side(self, node: int) -> Side:
        return "ground" if self.to_ground[node] < UNREACHED else "feed"

    def _kind(self, number: int) -> LinkKind:
        kind = self.design.circuit.parts[number].kind
        if kind == "wire" or kind == "strap" or kind == "bodies":
            return kind
        return "ring" if kind == "earth" else "joint"

    def _led(self, link: Link) -> Link:
        """The link turned so that it leads from left to right: by zone, else by the way to or from the battery."""
        one, other = self.zone[link.a], self.zone[link.b]
        far = self.to_ground if link.side == "ground" else self.from_feed
        ahead = far[link.b_node] - far[link.a_node]
        if link.side == "ground":
            ahead = -ahead
        order = (other - one, ahead, link.b - link.a)
        if order >= (0, 0, 0):
            return link
        return link._replace(a=link.b, b=link.a, a_node=link.b_node, b_node=link.a_node, sign=-1)

    @cached_property
    def links_at(self) -> list[list[int]]:
        """Links of each box."""
        found: list[list[int]] = [[] for _ in self.boxes.all]
        for number, link in enumerate(self.links):
            found[link.a].append(number)
            found[link.b].append(number)
        return found

    @cached_property
    def outside(self) -> dict[int, tuple[list[int], list[int]]]:
        """Boxes that the current of a device goes to by its case, and that it is given to come from."""
        found: dict[int, tuple[list[int], list[int]]] = {}
        for link in self.links:
            if link.kind == "case":
                found.setdefault(link.a, ([], []))[0].append(link.b)
            elif link.kind == "given feed":
                found.setdefault(link.b, ([], []))[1].append(link.a)
        return found

    @cached_property
    def boxes_beside(self) -> list[list[int]]:
        """For each box those that a link joins it to, batteries left out."""
        found: list[list[int]] = [[] for _ in self.boxes.all]
        for link in self.links:
            if link.kind != "battery":
                found[link.a].append(link.b)
                found[link.b].append(link.a)
        return found

    @cached_property
    def inside(self) -> list[list[int]]:
        """Parts within each box."""
        found: list[list[int]] = [[] for _ in self.boxes.all]
        for number, (one, other) in enumerate(self.design.circuit.ends.tolist()):
            if self.kept[number] and self.boxes.of_node[one] == self.boxes.of_node[other]:
                found[self.boxes.of_node[one]].append(number)
        for parts in found:
            parts.sort(key=self.part_order.__getitem__)
        return found

    @cached_property
    def brought(self) -> list[tuple[int, int, int]]:
        """Ports whose current comes from another box over no link: port, box it leaves, box it enters."""
        found = []
        for number, (feed, _) in enumerate(self.design.circuit.port_nodes.tolist()):
            own, source = self.boxes.of_port[number], self.boxes.of_node[feed]
            if own != source and self.design.circuit.ports[number].kind == "sensor":
                found.append((number, source, own))
        return found

    @cached_property
    def shown(self) -> list[bool]:
        """Boxes that anything leads to; what only signals lead to is not drawn."""
        found = [False] * len(self.boxes.all)
        for link in self.links:
            found[link.a] = found[link.b] = True
        return found

    @cached_property
    def signalled(self) -> dict[str, list[int]]:
        """For each controller the boxes of devices that any copper joins to it, a signal too."""
        found: dict[str, list[int]] = {}
        devices = self.design.devices
        for number, box in enumerate(self.boxes.all):
            if box.role == "device" and box.device is not None and self.shown[number]:
                joined = (devices.controller_on(contact) for contact in box.device.contacts)
                for key in {controller.key for controller in joined if controller is not None}:
                    found.setdefault(key, []).append(number)
        return found

    def pin(self, node: int) -> str:
        """Cavity of a node of the circuit as people write it; empty where it has none."""
        if node < 0:
            return ""
        contact: Node = self.design.circuit.nodes[node]
        if not isinstance(contact, Contact) or contact.cavity.startswith("?"):
            return ""
        return self.design.harness.cavity_names.get(contact, contact.cavity)


def drawing_of(design: Design) -> Drawing:
    """Drawing of a design whose circuit is solved.

    Every part of the circuit stands in it, as a link or inside a box, but for signals: nets that no current flows in
    and that no feed or ground has a pin on.
    """
    return Drawing(design, boxes_of(design), _kept(design))


def _kept(design: Design) -> list[bool]:
    circuit, roles = design.circuit, design.roles.of
    peak_a = np.nan_to_num(design.analysis.part_currents.peak).max(axis=1, initial=0.0)
    idle: list[bool] = (peak_a <= _NOTHING_A).tolist()
    net_of = design.net.net_of
    signal: dict[int, bool] = {}  # by net
    for net in design.net.nets:
        named = [role for contact in net.contacts if (role := roles.get(contact))]
        signal[net.number] = not net.earths and bool(named) and all(
            role.endswith(" signal") or role.startswith("CAN ") for role in named
        )
    for number, part in enumerate(circuit.parts):
        if not idle[number]:
            for node in (part.a, part.b):
                if isinstance(node, Contact) and node in net_of:
                    signal[net_of[node]] = False
    kept = []
    for number, part in enumerate(circuit.parts):
        nets = {net_of[node] for node in (part.a, part.b) if isinstance(node, Contact) and node in net_of}
        kept.append(not idle[number] or not any(signal[net] for net in nets))
    return kept
