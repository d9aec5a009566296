"""Ports: where currents leave and enter the circuit: loads, sensors, starter, alternator."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal, NamedTuple

from harnessdrc.design.circuit.parts import Node, inner_node
from harnessdrc.design.devices import Device, Devices
from harnessdrc.design.figures import KindFigures, figures_for
from harnessdrc.design.loads import Load, Loads
from harnessdrc.harness.elements import Contact
from harnessdrc.harness.names import fold
from harnessdrc.harness.roles import RETURN_ROLES

__all__ = ["Port", "Ports"]

PortKind = Literal["load", "sensor", "starter", "alternator"]

_MAIN_TERMINALS = frozenset({"b", "b+", "30", "+", "bat", "batt", "bat+", "main"})


class Port(NamedTuple):
    """A current taken out of one node and brought into another.

    Parameters
    ----------
    kind : str
        What it is; an alternator's current is negative: it enters at `feed`.
    name : str
        Source of shares as people call it.
    feed, back : tuple of str
        Node it takes its current from, node it brings it into.
    figures : KindFigures or None
        Usual figures of its kind.
    listed_a : float or None
        Current as listed, A.
    group : str
        Units with one word here pulse in turn; empty for a steady one.
    device : Device or None
        The device; None where a given one stands in.
    """

    kind: PortKind
    name: str
    feed: Node
    back: Node
    figures: KindFigures | None
    listed_a: float | None
    group: str = ""
    device: Device | None = None

    @property
    def known(self) -> bool:
        """Whether its current is listed or usual for its kind."""
        return self.listed_a is not None or self.figures is not None


@dataclass
class Ports:
    """Ports of a design."""

    devices: Devices
    loads: Loads
    given: Mapping[str, float]

    def all(self) -> Iterator[Port]:
        """Loads in the order of the list, then sensors, starter and alternator."""
        for load in self.loads.all:
            yield self._load(load)
        yield from self._sensors()
        yield from self._machines("starter")
        yield from self._machines("alternator")

    def _load(self, load: Load) -> Port:
        device = load.device
        figures = figures_for(device.kind or "", load.listed_a)
        pulsed = figures is not None and figures.model in ("pulsed", "ramp")
        back: Node = inner_node("ground of", device.key)
        if device.kind == "controller" and not load.returns and load.body:
            back = inner_node("body", load.body)
        group = f"{device.kind} of {self._driver(device)}" if pulsed else ""
        return Port("load", device.name, inner_node("feed of", device.key), back, figures, load.listed_a, group, device)

    def _driver(self, device: Device) -> str:
        """Controller that a pulsed load is worked by: those of one controller pulse in turn."""
        controllers = filter(None, map(self.devices.controller_on, device.contacts))
        return next((controller.key for controller in controllers), "")

    def _sensors(self) -> Iterator[Port]:
        """Sensors with a return wire: supply or pull-up current out of the controller and back to it."""
        loads = {load.device.key for load in self.loads.all}
        usual_a = self.given["sensor_ma"] / 1000
        for device in self.devices.sensors:
            if device.key in loads or device.kind in ("reluctor sensor", "knock sensor"):
                continue
            for contact in self.devices.with_role(device, *RETURN_ROLES):
                controller = self.devices.controller_on(contact)
                if controller is not None:
                    current_a = usual_a if device.item.current_a is None else device.item.current_a
                    yield Port("sensor", device.name, inner_node("feed of", controller.key), contact, None, current_a,
                               device=device)  # fmt: skip
                    break

    def _machines(self, kind: Literal["starter", "alternator"]) -> Iterator[Port]:
        """Starters or alternators, between their main terminal and their case; a given one where none is listed."""
        machines = self.devices.of_kind(kind)
        figures = figures_for(kind)
        batteries = (battery for battery in self.devices.of_kind("battery") if battery.contacts)
        post: Node | None = next((inner_node("post +", battery.key) for battery in batteries), None)
        for machine in machines:
            feed: Node | None = self._main_terminal(machine) or post
            grounds = self.devices.grounds(machine)
            back: Node = grounds[0] if grounds else inner_node("body", machine.body or "engine")
            if feed is not None:
                listed_a = machine.item.current_a
                yield Port(kind, machine.name, feed, back, figures, listed_a, device=machine)
        if not machines and post is not None:
            yield Port(kind, kind, post, inner_node("body", "engine"), figures, None)

    def _main_terminal(self, machine: Device) -> Contact | None:
        named = [c for c in machine.contacts if fold(c.cavity) in _MAIN_TERMINALS]
        fed = [c for c in machine.contacts if self.devices.roles.of.get(c) == "battery feed"]
        return next(iter([*named, *fed]), None)

