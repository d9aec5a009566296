"""Victims: inputs and readings that are held against the controller's ground."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal, NamedTuple

from harnessdrc.design.circuit import Circuit, Node
from harnessdrc.design.circuit.parts import inner_node
from harnessdrc.design.devices import Device, Devices
from harnessdrc.findings import Mark, Subject
from harnessdrc.harness.connectivity import Connectivity
from harnessdrc.harness.elements import Contact
from harnessdrc.harness.roles import GROUND_ROLES, RETURN_ROLES, Roles

__all__ = ["Victim", "VictimKind", "find_victims"]

VictimKind = Literal[
    "coil input, off", "coil input, on", "temperature reading", "ratiometric reading", "trigger level",
    "controller ground", "bus node",
]  # fmt: skip

_SINGLE_WIRE = ("temperature sensor", "pressure sensor", "position sensor")


class Victim(NamedTuple):
    """Something that an offset of grounds harms.

    Parameters
    ----------
    kind : str
        What is harmed, and in which way.
    device : Device
        Whose input or reading it is.
    ground, reference : tuple of str
        Nodes of its ground and of the controller's; the offset is the first less the second.
    controller : Device
        The controller it is held against.
    own : int or None
        Port that is taken as not drawing: a coil that is off.
    own_on : int or None
        Port that is taken as on: a coil that is driven.
    mark : tuple of Mark
        Its cell.
    """

    kind: VictimKind
    device: Device
    ground: Node
    reference: Node
    controller: Device
    own: int | None
    own_on: int | None
    mark: tuple[Mark, ...]

    @property
    def subject(self) -> Subject:
        """Subject of findings about it."""
        return self.device.subject


def find_victims(devices: Devices, net: Connectivity, roles: Roles, circuit: Circuit) -> tuple[Victim, ...]:
    """All victims of a design in the order of the list, whether or not their grounds are part of the circuit."""
    return tuple(_Finder(devices, net, roles, circuit).all())


class _Finder:
    def __init__(self, devices: Devices, net: Connectivity, roles: Roles, circuit: Circuit) -> None:
        self.devices, self.net, self.roles, self.circuit = devices, net, roles, circuit
        self.main = devices.controller
        ports = circuit.ports if circuit.fault is None else []
        self.port_of = {port.device.key: n for n, port in enumerate(ports) if port.device is not None}

    def all(self) -> Iterator[Victim]:
        for device in self.devices.all:
            if device.kind in ("coil", "igniter"):
                yield from self._coil(device)
            elif device.kind is not None and device.kind.endswith(" sensor"):
                yield from self._sensor(device)
            elif device is not self.main:
                yield from self._on_the_bus(device)

    def _made(
        self, kind: VictimKind, device: Device, ground: Node, reference: Node, controller: Device,
        own: int | None = None, own_on: int | None = None,
    ) -> Iterator[Victim]:  # fmt: skip
        if ground != reference:
            mark = self.devices.mark_device(device)
            if isinstance(ground, Contact):
                mark = self.devices.mark(ground) or mark
            yield Victim(kind, device, ground, reference, controller, own, own_on, mark)

    def _coil(self, device: Device) -> Iterator[Victim]:
        inputs = self.devices.with_role(device, "coil input")
        grounds = [c for c in device.contacts if self.roles.of.get(c) in ("coil ground", "power ground", "load return")]
        if not inputs or not (grounds or self.devices.on_case(device)):
            return
        controller = next(filter(None, map(self.devices.controller_on, inputs)), None)
        if controller is None:
            return
        ground, reference = inner_node("ground of", device.key), inner_node("ground of", controller.key)
        port = self.port_of.get(device.key)
        yield from self._made("coil input, off", device, ground, reference, controller, own=port)
        yield from self._made("coil input, on", device, ground, reference, controller, own_on=port)

    def _sensor(self, device: Device) -> Iterator[Victim]:
        signals = [
            (contact, role)
            for contact in device.contacts
            if (role := self.roles.of.get(contact))
            in ("temperature signal", "analogue signal", "trigger signal +", "digital signal")
        ]
        for contact, role in signals:
            controller = self.devices.controller_on(contact)
            if controller is None:
                continue
            kind = _reading(device, role)
            ground = self._sensor_ground(device, contact)
            if kind is not None and ground is not None:
                reference = inner_node("sensor ground of", controller.key)
                if reference not in self.circuit.node_number:
                    reference = inner_node("ground of", controller.key)
                yield from self._made(kind, device, ground, reference, controller)
            return

    def _sensor_ground(self, device: Device, signal: Contact) -> Node | None:
        returns = self.devices.with_role(device, *RETURN_ROLES)
        others = [c for c in device.contacts if self.roles.of.get(c) in GROUND_ROLES]
        if returns or others:
            return (returns or others)[0]
        single = len(device.contacts) == 1 and device.kind in _SINGLE_WIRE
        if device.body and (single or self.devices.on_case(device)):
            return inner_node("body", device.body)
        return None

    def _on_the_bus(self, device: Device) -> Iterator[Victim]:
        """Other controllers, and whatever shares a bus with the main one."""
        if self.main is None or device.kind is None:
            return
        grounds = self.devices.grounds(device)
        if not grounds and not self.devices.on_case(device):
            return
        bus = [c for c in device.contacts if self.roles.of.get(c) in ("CAN high", "CAN low")]
        on_bus = any(self._shares_bus(contact) for contact in bus)
        wired = device.kind == "controller" and (on_bus or self._shares_signal(device))
        if not on_bus and not wired:
            return
        kind: VictimKind = "bus node" if on_bus else "controller ground"
        ground, reference = inner_node("ground of", device.key), inner_node("ground of", self.main.key)
        yield from self._made(kind, device, ground, reference, self.main)

    def _shares_bus(self, contact: Contact) -> bool:
        net = self.net.net(contact)
        role = self.roles.of.get(contact)
        return any(
            self.roles.of.get(member) == role and self.devices.owner(member) is self.main
            for member in (net.contacts if net else ())
        )

    def _shares_signal(self, device: Device) -> bool:
        """Whether a wire that is no supply runs between the device and the main controller."""
        for contact in device.contacts:
            role = self.roles.of.get(contact)
            if role in GROUND_ROLES or (role or "").endswith(" feed"):
                continue
            net = self.net.net(contact)
            if any(self.devices.owner(member) is self.main for member in (net.contacts if net else ())):
                return True
        return False


def _reading(device: Device, role: str) -> VictimKind | None:
    if role == "temperature signal" or device.kind == "temperature sensor":
        return "temperature reading"
    if device.kind in ("pressure sensor", "position sensor"):
        return "ratiometric reading"
    if device.kind == "Hall sensor":
        return "trigger level"
    return None
