"""The ground diagram as plain data: boxes, what joins them with its currents, shared paths, loops, and where all is.

Numbers stand once, with nodes and edges; a view says which of them it shows and where. A small loom has one view, of
the whole; a large one has parts of the whole, one for each controller, earth point and finding. Coordinates are in
plain units, x to the right and y down; a line of text is 14 units high.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

from harnessdrc.findings import Mark, Subject

__all__ = [
    "Diagram",
    "DiagramEdge",
    "DiagramLoop",
    "DiagramNode",
    "DiagramPart",
    "DiagramView",
    "PathEffect",
    "PlacedNode",
    "RoutedEdge",
]


class PathEffect(NamedTuple):
    """What currents of others make of the offset of one victim in one path.

    Parameters
    ----------
    victim : tuple of (str, str)
        Its subject.
    what : str
        What is harmed: ``coil input, off``, ``temperature reading``.
    state : str
        Operating state in which the victim stands nearest to its limit.
    mv, limit_mv : float
        What falls in this path by currents that are not the victim's own, and the limit of the whole offset, mV.
    by : tuple of str
        Whose currents, the greatest part first; units that pulse in turn together: ``injectors``.
    """

    victim: Subject
    what: str
    state: str
    mv: float
    limit_mv: float
    by: tuple[str, ...]

    @property
    def share_of_limit(self) -> float:
        """Part of the limit that this path alone takes up; infinite where no offset is harmless."""
        return abs(self.mv / self.limit_mv) if self.limit_mv else float("inf")


class DiagramPart(NamedTuple):
    """Something with a resistance inside a box: a fuse, a contact, a joint of two connectors.

    Parameters
    ----------
    name : str
        As people call it.
    resistance_mohm : float
        Joints as new, mΩ.
    average_a, peak_a, drop_mv : tuple of float
        One value per state: average current and greatest amount at an instant, A; average drop, mV.
    """

    name: str
    resistance_mohm: float
    average_a: tuple[float, ...]
    peak_a: tuple[float, ...]
    drop_mv: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class DiagramNode:
    """A box.

    Parameters
    ----------
    id : int
        Its place in `Diagram.nodes`.
    label : str
        Name as people write it.
    kind : str
        Kind of component, or ``battery +``, ``body``, ``earth point``, ``splice``, ``connector``.
    zone : str
        ``feed``, ``device``, ``ground``, ``earth`` or ``body``: where from left to right it belongs.
    body : str or None
        What it is bolted to.
    note : str
        What else is to be said of it in a few words; may be empty.
    mark : Mark or None
        Its cell.
    parts : tuple of DiagramPart
        What lies inside it in the way of the current.
    brought_a : tuple of float
        Per state, current that comes into it over no edge, A: the supply of a sensor, which is a signal's matter. Those
        of all nodes add up to nothing.
    findings : tuple of str
        Thumbprints of findings that name it.
    """

    id: int
    label: str
    kind: str
    zone: str
    body: str | None
    note: str
    mark: Mark | None
    parts: tuple[DiagramPart, ...]
    brought_a: tuple[float, ...]
    findings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class DiagramEdge:
    """What joins two boxes.

    Parameters
    ----------
    id : int
        Its place in `Diagram.edges`.
    name : str
        As people call it: ``wire W12``, ``strap G1``, ``ring on STUD1``.
    kind : str
        ``wire``, ``strap``, ``ring`` (an earth point on its body), ``bodies`` (bolted together), ``joint`` (any other),
        ``case`` (a device on its body), ``given feed`` (the list has none) or ``battery`` (from its negative post
        through the battery).
    side : str
        ``feed`` or ``ground``; ``battery`` for the battery.
    a, b : int
        Its nodes; currents count from `a` to `b`, which is the way home from left to right.
    a_pin, b_pin : str
        Cavities there; empty where there is none.
    wire : str or None
        Name of the wire that it is.
    mark : Mark or None
        Its cell.
    resistance_mohm : float or None
        With its joints as new, mΩ; None for what has none of its own.
    average_a, peak_a, drop_mv : tuple of float
        One value per state: average current from `a` to `b` and greatest amount at an instant, A; average drop, mV.
    shared_by : tuple of str
        Devices whose ground current it carries, those that are shifted first, then those that shift them, named as in
        `PathEffect.by`; empty where none is shifted by more than a tenth of its limit.
    effects : tuple of PathEffect
        What it makes of which offset, the worst first; empty where it is not shared.
    loops : tuple of int
        Loops that it is part of, by their place in `Diagram.loops`.
    findings : tuple of str
        Thumbprints of findings that name it.
    """

    id: int
    name: str
    kind: str
    side: str
    a: int
    b: int
    a_pin: str
    b_pin: str
    wire: str | None
    mark: Mark | None
    resistance_mohm: float | None
    average_a: tuple[float, ...]
    peak_a: tuple[float, ...]
    drop_mv: tuple[float, ...]
    shared_by: tuple[str, ...] = ()
    effects: tuple[PathEffect, ...] = ()
    loops: tuple[int, ...] = ()
    findings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class DiagramLoop:
    """Two ways home, or two supplies of one net.

    Parameters
    ----------
    id : int
        Its place in `Diagram.loops`.
    kind : str
        ``two bodies`` (a ground that reaches two bodies), ``sensor ground`` (a second way out of a sensor ground) or
        ``two supplies``.
    label : str
        ``ECU: head and chassis``.
    edges, nodes : tuple of int
        What it runs through, in their order round it.
    effects : tuple of PathEffect
        What falls along it of which offset, the worst first.
    findings : tuple of str
        Thumbprints of findings that name one of its wires.
    """

    id: int
    kind: str
    label: str
    edges: tuple[int, ...]
    nodes: tuple[int, ...]
    effects: tuple[PathEffect, ...] = ()
    findings: tuple[str, ...] = ()


class PlacedNode(NamedTuple):
    """Where a box is drawn: its layer from the left, its upper left corner, width and height."""

    node: int
    layer: int
    x: float
    y: float
    w: float
    h: float


class RoutedEdge(NamedTuple):
    """The line of an edge from its node `a` to its node `b`."""

    edge: int
    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class DiagramView:
    """Some of the diagram, laid out.

    Parameters
    ----------
    title : str
        What it shows.
    kind : str
        ``whole``, ``bodies``, ``controller``, ``earth point`` or ``finding``.
    subject : str
        Name of the controller or earth point, thumbprint of the finding; empty otherwise.
    nodes, edges
        What it shows, where.
    width, height : float
        Of the sheet.
    crossings : int
        How often lines cross.
    crossings_before : int
        How often they would with boxes in the order of their names.
    """

    title: str
    kind: str
    subject: str
    nodes: tuple[PlacedNode, ...]
    edges: tuple[RoutedEdge, ...]
    width: float
    height: float
    crossings: int
    crossings_before: int


@dataclass(frozen=True, slots=True)
class Diagram:
    """Battery, feeds, devices and every ground home, solved and drawn.

    Parameters
    ----------
    states : tuple of str
        Operating states, in the order of all numbers.
    nodes, edges, loops
        What there is; each stands once, its `id` is its place.
    views : tuple of DiagramView
        The whole first, if it is small enough to be read.
    left_out : tuple of str
        What is not in the diagram and why, one sentence each.
    """

    states: tuple[str, ...] = ()
    nodes: tuple[DiagramNode, ...] = ()
    edges: tuple[DiagramEdge, ...] = ()
    loops: tuple[DiagramLoop, ...] = ()
    views: tuple[DiagramView, ...] = field(default=())
    left_out: tuple[str, ...] = ()
