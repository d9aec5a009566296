"""The circuit of a design, numbered and ready to be solved, with what had to be left out of it and why."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design.circuit.joints import JointBook
from harnessdrc.design.circuit.parts import Node, Part, inner_node
from harnessdrc.design.circuit.ports import Port, Ports
from harnessdrc.design.circuit.stamps import BATTERY_NEGATIVE, Stamps
from harnessdrc.design.devices import Device, Devices
from harnessdrc.design.feeds import Feeds
from harnessdrc.design.grounds import Grounds
from harnessdrc.design.loads import Loads
from harnessdrc.harness.connectivity import Connectivity
from harnessdrc.harness.elements import Contact, Harness
from harnessdrc.physics.zero_ohm import merge
from harnessdrc.places import Place
from harnessdrc.tables.model import Assumption

__all__ = ["Circuit", "LeftOut"]

Floats = NDArray[np.float64]
Numbers = NDArray[np.intp]

GIVEN_BATTERY: Node = inner_node("post +", "")
"""Positive post of the battery that stands in where the list has none."""

_VOLTS_IN_NAME = re.compile(r"(?<![\d.])(\d{1,3}(?:\.\d)?)\s?v(?:olt)?s?\b")
_TWELVE_VOLTS = (9.0, 16.0)
_LEAST_JOINT_OHM = 1e-10
"""A joint counts as no less: 0.02 µV at 200 A, and the currents in ideal joints stay determined."""


class LeftOut(NamedTuple):
    """Something that could not be solved: why, what it is called, and where it stands.

    `reason` is one of ``no battery negative``, ``in series``, ``another voltage``, ``battery shorted``,
    ``net shorted``, ``no way home``, ``no feed``, ``cut off``, ``no current``, ``joint not known``.
    """

    reason: str
    name: str
    detail: str = ""
    place: Place | None = None

    @property
    def whole(self) -> bool:
        """Whether nothing at all can be solved for it."""
        return self.reason in ("no battery negative", "in series", "another voltage", "battery shorted")


@dataclass
class Circuit:
    """Circuit of a design.

    Parameters
    ----------
    harness, net, devices, feeds, loads, grounds
        Of the design.
    given : mapping of str to float
        Values taken as given.
    measured : mapping of (str, str) to float
        Resistances measured from end to end at the temperature of the test, Ω, by ``("wire", name)`` or
        ``("strap", name)``; infinite for what is open and so is no part of the circuit.
    """

    harness: Harness
    net: Connectivity
    devices: Devices
    feeds: Feeds
    loads: Loads
    grounds: Grounds
    given: Mapping[str, float]
    measured: Mapping[tuple[str, str], float] = field(default_factory=dict)

    @cached_property
    def _stamps(self) -> Stamps:
        return Stamps(
            self.harness, self.net, self.devices, self.feeds, self.loads, self.grounds, self.given, self.measured
        )

    @property
    def joints(self) -> JointBook:
        """Resistances and names of joints."""
        return self._stamps.joints

    # ------------------------------------------------------------------ what cannot be solved
    @cached_property
    def fault(self) -> LeftOut | None:
        """Why nothing can be solved at all; None where it can."""
        for battery in self.devices.of_kind("battery"):
            volts = self._volts_of(battery)
            if volts is not None and not _TWELVE_VOLTS[0] <= volts <= _TWELVE_VOLTS[1]:
                return LeftOut("another voltage", battery.name, f"{volts:g}", battery.item.place)
        for contact in self.feeds.sources:
            number = self.net.net_of.get(contact)
            if number is None or self.feeds.level.get(number) != 0 or number not in self.feeds.shorted:
                continue
            ground = self.harness.label(self.feeds.shorted[number])
            return LeftOut("battery shorted", self.harness.label(contact), ground, self.devices.place(contact))
        for number, negative in sorted(self.feeds.in_series.items()):
            feeding = self.feeds.supplies(number)[0][1]
            return LeftOut(
                "in series", self.harness.label(feeding), self.harness.label(negative), self.devices.place(feeding)
            )
        if not self._reached_any:
            return LeftOut("no battery negative", "")
        return None

    @cached_property
    def battery_v(self) -> float:
        """Nominal voltage of the batteries, V: 12, or as listed; of unlike ones the least; of a series the sum."""
        volts = [self._volts_of(battery) or 12.0 for battery in self.devices.of_kind("battery") if battery.contacts]
        nominal = [12.0 if _TWELVE_VOLTS[0] <= each <= _TWELVE_VOLTS[1] else each for each in volts]
        if not nominal:
            return 12.0
        return sum(nominal) if self.feeds.in_series else min(nominal)

    def _volts_of(self, battery: Device) -> float | None:
        if battery.item.voltage_v is not None:
            return battery.item.voltage_v
        named = _VOLTS_IN_NAME.search(battery.name.casefold())
        return float(named[1]) if named else None

    @cached_property
    def left_out(self) -> tuple[LeftOut, ...]:
        """Everything that was left out, by name; what stops the whole first."""
        if self.fault is not None:
            return (self.fault,)
        found = []
        for number in sorted(self.feeds.shorted):
            supplies = self.feeds.supplies(number)
            if supplies:
                ground = self.harness.label(self.feeds.shorted[number])
                found.append(LeftOut("net shorted", supplies[0][0], ground, self.devices.place(supplies[0][1])))
        for port, reason in self._dropped:
            mark = self.devices.mark_device(port.device) if port.device else ()
            found.append(LeftOut(reason, port.name, place=mark[0].place if mark else None))
        for port in self.ports:
            if not port.known:
                mark = self.devices.mark_device(port.device) if port.device else ()
                found.append(LeftOut("no current", port.name, place=mark[0].place if mark else None))
        found += [LeftOut("joint not known", joint.name, place=joint.place) for joint in self.joints.unused]
        return tuple(found)

    # ------------------------------------------------------------------ parts and nodes
    @cached_property
    def _all_parts(self) -> list[Part]:
        parts = self._stamps.parts()
        if not any(part.kind == "battery" for part in parts):
            ohm = self.given["battery_inner_mohm"] / 1000
            parts.append(Part("battery", "given", BATTERY_NEGATIVE, GIVEN_BATTERY, ohm, 0.0, 0.0, ohm, ohm))
        return parts

    @cached_property
    def _numbered(self) -> tuple[dict[Node, int], Numbers, NDArray[np.bool_]]:
        """Number of every node, ends of every part, and which nodes hang together with the reference."""
        number: dict[Node, int] = {BATTERY_NEGATIVE: 0}
        ends = np.array(
            [
                (number.setdefault(part.a, len(number)), number.setdefault(part.b, len(number)))
                for part in self._all_parts
            ],
            dtype=np.intp,
        ).reshape(-1, 2)
        group = merge(len(number), ends[:, 0], ends[:, 1])
        return number, ends, group == group[0]

    @property
    def _reached_any(self) -> bool:
        """Whether anything but the battery itself hangs on the battery's negative post."""
        return any(
            BATTERY_NEGATIVE in (part.a, part.b) and part.kind not in ("battery", "inside") for part in self._all_parts
        )

    @cached_property
    def parts(self) -> tuple[Part, ...]:
        """Parts that hang together with the battery's negative post."""
        _, ends, reached = self._numbered
        return tuple(part for part, kept in zip(self._all_parts, reached[ends[:, 0]].tolist(), strict=True) if kept)

    @cached_property
    def nodes(self) -> tuple[Node, ...]:
        """Their nodes; the first is the reference."""
        number, _, reached = self._numbered
        return tuple(node for node, kept in zip(number, reached.tolist(), strict=True) if kept)

    @cached_property
    def node_number(self) -> dict[Node, int]:
        """Number of each node in `nodes`."""
        return {node: number for number, node in enumerate(self.nodes)}

    @cached_property
    def ends(self) -> Numbers:
        """Nodes of each part, shape (parts, 2)."""
        _, ends, reached = self._numbered
        kept = reached[ends[:, 0]]
        renumbered = np.cumsum(reached) - 1
        return np.asarray(renumbered[ends[kept]], dtype=np.intp)

    @cached_property
    def emf(self) -> Floats:
        """1 where a part is a battery, shape (parts,): times its voltage the source in it."""
        return np.array([float(part.kind == "battery") for part in self.parts])

    @cached_property
    def wire_parts(self) -> Numbers:
        """Numbers of the parts that are wires, in the order of the list."""
        return np.array([n for n, part in enumerate(self.parts) if part.wire is not None], dtype=np.intp)

    @cached_property
    def jointed(self) -> NDArray[np.bool_]:
        """Parts that have a joint, shape (parts,)."""
        return np.array([part.kind not in ("inside", "battery") for part in self.parts], dtype=np.bool_)

    @cached_property
    def uncertain_parts(self) -> Numbers:
        """Numbers of the parts whose resistance is uncertain."""
        return np.array([n for n, part in enumerate(self.parts) if part.uncertain], dtype=np.intp)

    def ohm(self, *, aged: bool = False) -> Floats:
        """Resistance of each part with its joints as new or aged, Ω, shape (parts,).

        A part with joints has never none at all: how far a joint may rise follows from the current in it.
        """
        if aged:
            ohm = np.array([part.ohm + part.aged_joint_ohm for part in self.parts])
        else:
            ohm = np.array([part.ohm + part.joint_ohm for part in self.parts])
        ohm[(ohm == 0.0) & self.jointed] = _LEAST_JOINT_OHM
        return ohm

    # ------------------------------------------------------------------ ports
    @cached_property
    def _sorted_ports(self) -> tuple[list[Port], list[tuple[Port, str]], list[Port]]:
        """Ports that take part, those left out with the reason, and those whose feed stands in."""
        taking, dropped, stand_in = [], [], []
        post = next((part.b for part in self.parts if part.kind == "battery"), GIVEN_BATTERY)
        for port in Ports(self.devices, self.loads, self.given).all():
            if port.back not in self.node_number:
                if port.kind == "load" and not self._in_unreturned(port):
                    dropped.append((port, "no way home"))
                continue
            if port.feed in self._cut_off:
                dropped.append((port, "cut off"))
                continue
            if port.feed not in self.node_number:
                if port.kind == "load" and self._fed_by_a_short(port):
                    dropped.append((port, "no feed"))
                    continue
                port = Port(port.kind, port.name, post, port.back, port.figures, port.listed_a, port.group, port.device)
                stand_in.append(port)
            taking.append(port)
        return taking, dropped, stand_in

    @cached_property
    def _cut_off(self) -> frozenset[Node]:
        """Nodes that would hang together with the battery but for what is open by the meter."""
        number, ends, reached = self._numbered
        if not self._stamps.open_parts:
            return frozenset()
        number = dict(number)
        more = np.array(
            [[number.setdefault(node, len(number)) for node in (p.a, p.b)] for p in self._stamps.open_parts],
            dtype=np.intp,
        )
        whole = np.concatenate((ends, more))
        group = merge(len(number), whole[:, 0], whole[:, 1])
        still = np.zeros(len(number), dtype=np.bool_)
        still[: len(reached)] = reached
        lost = (group == group[0]) & ~still
        return frozenset(node for node, at in number.items() if lost[at])

    def _in_unreturned(self, port: Port) -> bool:
        return port.device is not None and port.device.key in self.loads.unreturned

    def _fed_by_a_short(self, port: Port) -> bool:
        if port.device is None:
            return False
        nets = {self.net.net_of.get(contact) for contact in port.device.contacts}
        return bool(nets & self._behind_shorts)

    @cached_property
    def _behind_shorts(self) -> set[int]:
        """Nets that get their current through a shorted net only."""
        nets, reached = self.net.nets, self.node_number
        return {
            number
            for number in self.feeds.level
            if number in self.feeds.shorted or not any(contact in reached for contact in nets[number].contacts)
        }

    @property
    def ports(self) -> list[Port]:
        """Ports that take part."""
        return self._sorted_ports[0]

    @property
    def _dropped(self) -> list[tuple[Port, str]]:
        return self._sorted_ports[1]

    @cached_property
    def assumptions(self) -> tuple[Assumption, ...]:
        """What stood in for parts that the list does not have."""
        if self.fault is not None:
            return ()
        lines = []
        for port in self._sorted_ports[2]:
            mark = self.devices.mark_device(port.device) if port.device else ()
            if port.kind == "load":
                because = "its feed reaches no battery in the list"
                place = mark[0].place if mark else None
                lines.append(Assumption("feed", port.name, "straight from the battery", because, place))
        for port in self.ports:
            if port.kind not in ("starter", "alternator"):
                continue
            usual = ""
            if port.listed_a is None and port.figures is not None:
                article = "an" if port.kind == "alternator" else "a"
                usual = f"{port.figures.current_a:g} A is usual for {article} {port.kind}: {port.figures.source}"
            if port.device is None:
                because = "; ".join(filter(None, (f"the list has no {port.kind}", usual)))
                lines.append(Assumption(port.kind, port.kind, "the given one", because, None))
            elif usual and port.figures is not None:
                mark = self.devices.mark_device(port.device)
                value = f"{port.figures.current_a:g} A"
                lines.append(Assumption("current", port.name, value, usual, mark[0].place if mark else None))
        if any(part.name == "given" for part in self.parts if part.kind == "battery"):
            lines.append(Assumption("battery", "battery", "the given one", "the list has no battery", None))
        return tuple(lines)

    @cached_property
    def port_nodes(self) -> Numbers:
        """Feed and return node of each port, shape (ports, 2)."""
        number = self.node_number
        return np.array([(number[p.feed], number[p.back]) for p in self.ports], dtype=np.intp).reshape(-1, 2)

    @cached_property
    def alternators(self) -> NDArray[np.bool_]:
        """Ports that are alternators, shape (ports,)."""
        return np.array([port.kind == "alternator" for port in self.ports], dtype=np.bool_)

    def injected(self, port_a: Floats) -> Floats:
        """Current brought into each node by the ports, out of their feed and into their return, A.

        Parameters
        ----------
        port_a : ndarray, shape (ports, states)
            Current of every port.

        Returns
        -------
        ndarray, shape (nodes, states)
        """
        injected = np.zeros((len(self.nodes), port_a.shape[1]))
        np.add.at(injected, self.port_nodes[:, 0], -port_a)
        np.add.at(injected, self.port_nodes[:, 1], port_a)
        return injected

    # ------------------------------------------------------------------ names
    def node_name(self, node: Node) -> str:
        """Node as people write it."""
        if isinstance(node, Contact):
            return self.harness.label(node)
        kind, key, _ = node
        if kind == "body":
            return key
        item = self.harness.items.get(key)
        name = item.name if item else key
        said: dict[str, str] = {
            "feed of": f"feed inside {name}", "ground of": f"ground inside {name}",
            "sensor ground of": f"sensor ground inside {name}", "post +": f"positive post of {name}".strip(),
        }  # fmt: skip
        return said[kind]

    def part_name(self, part: Part) -> str:
        """Part as people call it: ``wire 52``, ``strap G1``."""
        names: dict[str, Any] = {
            "wire": lambda: f"wire {part.name}",
            "strap": lambda: f"strap {part.name}",
            "battery": lambda: f"battery {part.name}".strip(),
            "bodies": lambda: f"joint of {part.name}",
            "inside": lambda: f"inside {part.name}",
        }
        if part.kind in names:
            return str(names[part.kind]())
        item = self.harness.items[part.name]
        kind = "isolator" if part.kind == "switch" and item.kind == "isolator" else part.kind
        return f"{kind} {item.name}" if kind in ("fuse", "relay", "switch", "isolator") else item.name
