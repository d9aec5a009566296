"""The connectivity graph: what meets what, through which wire, joint or device.

Nodes are `Contact`s; edges carry what makes them in ``via``:

========  ==========================================================================
kind      what it is
========  ==========================================================================
wire      a `Wire` between two contacts
mate      the same cavity of two mated connector halves
element   a fuse, a closed relay contact, a closed switch: conducts, but parts two nets
inner     pins of one device that are one conductor inside (a controller's grounds)
========  ==========================================================================

A *net* is copper that is one piece through wires, splices and mated connectors. Earth points and the
battery's negative terminal are borders of nets, not members: two devices on one stud do not become one
net, and a net knows the earth points it reaches. A wire between two earth points is a strap.
"""

from __future__ import annotations

import itertools
from collections.abc import Collection, Iterator
from dataclasses import dataclass, field
from typing import Any

import networkx as nx

from harnessdrc.harness.elements import Contact, Harness, Wire
from harnessdrc.harness.names import natural_key
from harnessdrc.harness.roles import Roles

__all__ = ["Connectivity", "Element", "Net", "connect"]


@dataclass(frozen=True, slots=True)
class Element:
    """A device that conducts between two of its contacts."""

    item: str
    kind: str
    a: Contact
    b: Contact


@dataclass(frozen=True, slots=True)
class Net:
    """Copper in one piece.

    Parameters
    ----------
    number : int
        Its index.
    contacts : tuple of Contact
        Members, sorted, so that nothing said of a net hangs on the order of the rows.
    earths : tuple of (Contact, Wire)
        Earth points it reaches, each with the wire that gets there.
    """

    number: int
    contacts: tuple[Contact, ...]
    earths: tuple[tuple[Contact, Wire], ...] = ()


@dataclass
class Connectivity:
    """Graph, nets and borders of a harness."""

    harness: Harness
    graph: nx.MultiGraph
    nets: tuple[Net, ...]
    net_of: dict[Contact, int]
    earths: frozenset[Contact]
    straps: tuple[Wire, ...]
    elements: tuple[Element, ...]
    wires_at: dict[Contact, list[Wire]] = field(default_factory=dict)

    def net(self, contact: Contact) -> Net | None:
        """Net a contact lies in; None for an earth point or a contact without a wire."""
        number = self.net_of.get(contact)
        return None if number is None else self.nets[number]

    def path(self, start: Contact, end: Contact, avoid: frozenset[Contact] = frozenset()) -> list[Contact]:
        """Shortest copper path, through no earth point but its ends.

        Parameters
        ----------
        start, end : Contact
            Its ends.
        avoid : frozenset of Contact
            Contacts it must not pass.

        Returns
        -------
        list of Contact
            Empty when there is none.
        """
        closed = (self.earths | avoid) - {start, end}
        seen: dict[Contact, Contact | None] = {start: None}
        front = [start]
        while front:
            following: list[Contact] = []
            for contact in front:
                if contact == end:
                    path: list[Contact] = []
                    step: Contact | None = contact
                    while step is not None:
                        path.append(step)
                        step = seen[step]
                    return path[::-1]
                if contact in closed or (contact in self.earths and contact != start):
                    continue
                nears = {near for near, kind, _ in self.neighbours(contact) if kind in ("wire", "mate")}
                for near in sorted(nears - seen.keys()):  # of ways as short the same one in any order of rows
                    seen[near] = contact
                    following.append(near)
            front = following
        return []

    def neighbours(self, contact: Contact) -> Iterator[tuple[Contact, str, Any]]:
        """Neighbours of a contact with the kind of edge and what makes it."""
        if contact not in self.graph:
            return
        for near, edges in self.graph.adj[contact].items():
            for key, data in edges.items():
                yield near, key[0], data["via"]

    def wires_along(self, path: list[Contact]) -> list[Wire]:
        """Wires of a path, one per step that has one."""
        wires: list[Wire] = []
        for one, other in itertools.pairwise(path):
            edges = self.graph[one][other]
            names = [key for key in edges if key[0] == "wire"]
            if names:
                wires.append(edges[min(names)]["via"])
        return wires


def _elements(harness: Harness, by_item: dict[str, list[Contact]], roles: Roles) -> list[Element]:
    elements: list[Element] = []
    for key, contacts in by_item.items():
        item = harness.items[key]
        if item.kind == "relay":
            named = {c.cavity.casefold(): c for c in contacts}
            elements += [
                Element(key, "relay", named["30"], named[end])
                for end in ("87", "87a", "87b")
                if "30" in named and end in named
            ]
        elif item.kind in ("fuse", "switch", "isolator", "diode", "resistor") and len(contacts) == 2:
            kind = "switch" if item.kind == "isolator" else item.kind
            elements.append(Element(key, kind, contacts[0], contacts[1]))
        elif item.kind in ("switch", "isolator") and len(contacts) > 2:
            commons = [c for c in contacts if roles.of.get(c) == "battery feed"]
            if len(commons) == 1:
                elements += [Element(key, "switch", commons[0], c) for c in contacts if c != commons[0]]
    return elements


def connect(harness: Harness, roles: Roles, broken: Collection[str] = ()) -> Connectivity:
    """Build the connectivity graph of a harness; wires of the names in `broken` have their ends and join nothing."""
    graph = nx.MultiGraph()
    items = harness.items
    by_item: dict[str, list[Contact]] = {}
    wires_at: dict[Contact, list[Wire]] = {}
    earths: set[Contact] = set()

    def meet(contact: Contact) -> None:
        if contact in wires_at:
            return
        wires_at[contact] = []
        by_item.setdefault(contact.item, []).append(contact)
        item = items[contact.item]
        if item.kind == "earth point" or (item.kind == "battery" and roles.of.get(contact) == "battery negative"):
            earths.add(contact)

    edges: list[tuple[Contact, Contact, tuple[str, str], dict[str, Any]]] = []
    joined: list[Wire] = []
    for wire in harness.wires:
        for contact in (wire.a, wire.b):
            if contact is not None:
                meet(contact)
                wires_at[contact].append(wire)
        if wire.a is not None and wire.b is not None and wire.cores == 1 and wire.name not in broken:
            edges.append((wire.a, wire.b, ("wire", wire.name), {"via": wire}))
            joined.append(wire)
    for wires in wires_at.values():
        if len(wires) > 1:
            wires.sort(key=lambda wire: natural_key(wire.name))
    for key, contacts in list(by_item.items()):
        mate = items[key].mate
        if mate and mate in by_item and (key < mate or items[mate].mate != key):
            theirs = {c.cavity: c for c in by_item[mate]}
            edges += [
                (c, theirs[c.cavity], ("mate", key), {"via": items[key]})
                for c in contacts
                if c.cavity in theirs and not c.cavity.startswith("?")
            ]
    elements = _elements(harness, by_item, roles)
    edges += [(e.a, e.b, ("element", e.item), {"via": e}) for e in elements]
    for key, contacts in by_item.items():
        if items[key].kind == "controller":
            grounds = [c for c in contacts if roles.of.get(c) == "power ground"]
            edges += [(grounds[0], c, ("inner", key), {"via": items[key]}) for c in grounds[1:]]
    graph.add_nodes_from(wires_at)
    graph.add_edges_from(edges)

    # Nets by union over wires and mates; earth points stay outside.
    parent: dict[Contact, Contact] = {c: c for c in wires_at if c not in earths}

    def root(contact: Contact) -> Contact:
        while parent[contact] is not contact:
            parent[contact] = parent[parent[contact]]
            contact = parent[contact]
        return contact

    straps: list[Wire] = []
    to_earth: list[tuple[Contact, Contact, Wire]] = []
    for a, b, link, data in edges:
        if link[0] not in ("wire", "mate"):
            continue
        at_earth = (a in earths, b in earths)
        if at_earth == (True, True):
            straps.append(data["via"])
        elif at_earth == (True, False):
            to_earth.append((b, a, data["via"]))
        elif at_earth == (False, True):
            to_earth.append((a, b, data["via"]))
        else:
            one, other = root(a), root(b)
            if one is not other:
                parent[other] = one
    members: dict[Contact, list[Contact]] = {}
    for contact in parent:
        members.setdefault(root(contact), []).append(contact)
    reached: dict[Contact, list[tuple[Contact, Wire]]] = {}
    for contact, earth, wire in to_earth:
        reached.setdefault(root(contact), []).append((earth, wire))
    nets = tuple(
        Net(number, tuple(sorted(contacts)), tuple(sorted(reached.get(first, ()), key=lambda e: (e[0], e[1].name))))
        for number, (first, contacts) in enumerate(members.items())
    )
    return Connectivity(
        harness,
        graph,
        nets,
        {contact: net.number for net in nets for contact in net.contacts},
        frozenset(earths),
        tuple(straps),
        tuple(elements),
        wires_at,
    )
