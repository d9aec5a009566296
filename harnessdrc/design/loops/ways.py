"""Ways of currents as steps: through copper, through bodies and straps, and from the battery through fuses."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from heapq import heappop, heappush
from itertools import pairwise

from harnessdrc.design.devices import Device, Devices
from harnessdrc.design.feeds import Feeds
from harnessdrc.design.grounds import Grounds
from harnessdrc.design.loops.loop import Step
from harnessdrc.design.routes import Routes
from harnessdrc.harness.connectivity import Connectivity
from harnessdrc.harness.elements import Contact, Harness, Wire, rigid_body
from harnessdrc.harness.names import fold, natural_key

__all__ = ["Ways"]

_UNKNOWN_M = 1.5
"""A wire without a length, where the shorter of two ways is looked for."""


class Ways:
    """Ways through a design.

    Parameters
    ----------
    harness, net, devices, feeds, grounds, routes
        Of the design.
    """

    def __init__(
        self, harness: Harness, net: Connectivity, devices: Devices, feeds: Feeds, grounds: Grounds, routes: Routes
    ) -> None:
        self.harness, self.net, self.devices = harness, net, devices
        self.feeds, self.grounds, self.routes = feeds, grounds, routes

    # ------------------------------------------------------------------ copper
    def wire_step(self, wire: Wire, start: Contact) -> Step:
        """A wire in the direction that leaves `start`."""
        step = self._wire_steps.get((wire.name, start))
        if step is None:
            end = wire.other(start)
            step = self._wire_steps[wire.name, start] = Step(
                "wire", f"wire {wire.name}", start.item, end.item if end is not None else None, wire.length_m,
                f"length of wire {wire.name}" if wire.length_m is None else "", wire,
            )  # fmt: skip
        return step

    @cached_property
    def _wire_steps(self) -> dict[tuple[str, Contact], Step]:
        return {}

    def copper(self, path: Sequence[Contact]) -> list[Step]:
        """Steps of a copper path, the joints and mated connectors left out."""
        steps = []
        for one, other in pairwise(path):
            wires = self.net.wires_along([one, other])
            if wires:
                steps.append(self.wire_step(wires[0], one))
        return steps

    def between(self, start: Contact, end: Contact) -> list[Step]:
        """Steps of the shortest copper way between two contacts; empty where there is none."""
        graph = self.net.graph
        if start in graph and any(kind == "wire" for kind, _ in graph.adj[start].get(end, ())):
            return self.copper((start, end))  # as a rule one wire, which need not be looked for
        return self.copper(self.net.path(start, end))

    # ------------------------------------------------------------------ ground
    def to_earths(self, contacts: Sequence[Contact]) -> list[tuple[Contact, list[Step]]]:
        """Earth points that contacts reach, each with the way there, those on the engine first, the shortest first."""
        found = []
        for reached in self.grounds.reached(list(contacts)):
            steps = self.between(reached.start, reached.earth)
            known_m = sum(_UNKNOWN_M if step.length_m is None else step.length_m for step in steps)
            found.append((self.devices.rigid(reached.earth) != "engine", known_m, reached.earth, steps))
        found.sort(key=lambda each: each[:3])
        return [(earth, steps) for _, _, earth, steps in found]

    def metal(self, body: str, start: str | None, end: str | None) -> Step:
        """Way through a body between two items, straight where both are in place."""
        length_m = None
        if start is not None and end is not None:
            one, other = self.routes.at(start), self.routes.at(end)
            if one is not None and other is not None:
                length_m = float(sum((one - other) ** 2) ** 0.5)
        return Step("metal", body, start, end, length_m, f"way through the {body}")

    def straps(self, start: str, end: str) -> list[Step] | None:
        """Straps and the bodies between them from one body to another; None where no straps join them."""
        edges = self.grounds.strap_edges(start, end)
        if edges is None:
            return None
        straps: list[Step] = []
        before = start
        for name, length_m, body in edges:
            found = self._strap_wires.get(frozenset((before, body)))
            if found is None:
                straps.append(Step("strap", name, None, None, length_m, f"length of {name}"))
            else:
                wire, there = found
                near, far = (wire.b, wire.a) if there == before else (wire.a, wire.b)
                name = f"strap {wire.name}"
                straps.append(
                    Step("strap", name, near.item if near else None, far.item if far else None, wire.length_m,
                         f"length of {name}", wire)
                )  # fmt: skip
            before = body
        steps: list[Step] = []
        for number, strap in enumerate(straps):
            steps.append(strap)
            body = edges[number][2]
            onward = straps[number + 1].start if number < len(edges) - 1 else None
            bolted_together = strap.end is not None and strap.end == onward
            if number < len(edges) - 1 and body != "battery negative" and not bolted_together:
                steps.append(self.metal(body, strap.end, onward))
        return steps

    @cached_property
    def _strap_wires(self) -> dict[frozenset[str], tuple[Wire, str]]:
        """Two bodies → the shortest strap between them that is a wire of the list, and the body at its second end."""
        found: dict[frozenset[str], tuple[Wire, str]] = {}
        known = [wire for wire in self.net.straps if wire.a is not None and wire.b is not None]
        known.sort(key=lambda w: (w.length_m is None, w.length_m or 0.0, natural_key(w.name)))
        for wire in known:
            one, other = (self.devices.rigid(end) if end is not None else None for end in (wire.a, wire.b))
            if one is not None and other is not None and one != other:
                found.setdefault(frozenset((one, other)), (wire, other))
        return found

    def across(self, first: tuple[str, str | None], last: tuple[str, str | None]) -> list[Step] | None:
        """Way through bodies and straps; None where no straps join them.

        Parameters
        ----------
        first, last : tuple of str and (str or None)
            Body with the folded name of the item on it that the way begins or ends at.
        """
        (body, start), (far, end) = first, last
        straps = self.straps(rigid_body(body) or body, rigid_body(far) or far)
        if straps is None:
            return None
        if not straps:
            return [self.metal(body, start, end)]
        # a strap bolted to the very stud needs no metal to get there
        steps = []
        if body != "battery negative" and (start is None or start != straps[0].start):
            steps.append(self.metal(body, start, straps[0].start))
        steps += straps
        if far != "battery negative" and (end is None or end != straps[-1].end):
            steps.append(self.metal(far, straps[-1].end, end))
        return steps

    def home(self, contacts: Sequence[Contact]) -> list[Step] | None:
        """Way from grounds of a device to the battery's negative post; None where there is none."""
        asked = tuple(contacts)
        if asked not in self._homes:
            self._homes[asked] = self._home(asked)
        return self._homes[asked]

    @cached_property
    def _homes(self) -> dict[tuple[Contact, ...], list[Step] | None]:
        return {}

    def _home(self, contacts: Sequence[Contact]) -> list[Step] | None:
        for earth, steps in self.to_earths(contacts):
            body = self.devices.body(earth)
            if body is None:
                continue
            if body == "battery negative":
                return steps
            further = self.across((body, earth.item), ("battery negative", None))
            if further is not None:
                return [*steps, *further]
        return None

    def case_home(self, device: Device) -> list[Step] | None:
        """The same from the body that the case of a device is bolted to."""
        return None if device.body is None else self.across((device.body, device.key), ("battery negative", None))

    # ------------------------------------------------------------------ feeds
    @cached_property
    def _fed_by(self) -> dict[Contact, tuple[Contact, str, object] | None]:
        """Contact → the one before it on its shortest way from a battery's positive terminal."""
        front = [(0.0, contact) for contact in sorted(self.feeds.sources)]
        reached: dict[Contact, tuple[Contact, str, object] | None] = {contact: None for _, contact in front}
        away: dict[Contact, tuple[float, str]] = {contact: (0.0, "") for _, contact in front}
        done: set[Contact] = set()
        while front:
            here_m, here = heappop(front)
            if here in done:
                continue
            done.add(here)
            if here in self.net.earths:
                continue
            for near, kind, via in self.net.neighbours(here):
                if near in done or kind not in ("wire", "mate", "element"):
                    continue
                step_m = 0.0
                if isinstance(via, Wire):
                    step_m = _UNKNOWN_M if via.length_m is None else via.length_m
                elif kind == "element" and getattr(via, "kind", "") in ("diode", "resistor"):
                    continue
                # of ways as long the one by the first name, whatever the order of the rows
                there = here_m + step_m, via.name if isinstance(via, Wire) else ""
                if near not in away or there < away[near]:
                    away[near] = there
                    reached[near] = (here, kind, via)
                    heappush(front, (there[0], near))
        return reached

    def feed(self, contact: Contact) -> list[Step] | None:
        """Way from a battery's positive terminal to a contact, fuses and relays told; None where it is not fed."""
        if contact not in self._fed_by:
            return None
        steps: list[Step] = []
        here = contact
        while (before := self._fed_by[here]) is not None:
            one, kind, via = before
            if isinstance(via, Wire):
                steps.append(self.wire_step(via, one))
            elif kind == "element":
                item = self.harness.items[here.item]
                kind_and_name = item.name if (item.kind or "") in fold(item.name) else f"{item.kind} {item.name}"
                steps.append(Step("inside", kind_and_name, one.item, here.item, 0.0))
            here = one
        battery = self.harness.items[here.item]
        steps.append(Step("inside", battery.name, None, here.item, 0.0))
        return steps[::-1]

    # ------------------------------------------------------------------ capacitors
    def capacitors_on(self, contact: Contact) -> list[tuple[Device, Contact, list[Contact]]]:
        """Capacitors on the net of a contact: device, its contact there, its others."""
        number = self.net.net_of.get(contact)
        found = []
        for device in self._capacitors.get(number, ()) if number is not None else ():
            here = [c for c in device.contacts if self.net.net_of.get(c) == number]
            found.append((device, here[0], [c for c in device.contacts if c not in here]))
        return found

    @cached_property
    def _capacitors(self) -> dict[int, list[Device]]:
        """Number of a net → capacitors on it, by their names."""
        found: dict[int, list[Device]] = {}
        for device in sorted(self.devices.of_kind("capacitor"), key=lambda each: natural_key(each.name)):
            for number in dict.fromkeys(map(self.net.net_of.get, device.contacts)):
                if number is not None:
                    found.setdefault(number, []).append(device)
        return found
