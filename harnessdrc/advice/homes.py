"""Where the ends of grounds and sensor returns could go instead."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from harnessdrc.design import Contact, Design, Device
from harnessdrc.harness.elements import COMMON_KINDS, Wire
from harnessdrc.harness.names import natural_key
from harnessdrc.harness.roles import RETURN_ROLES

__all__ = ["POWER_GROUNDS", "STAR_KINDS", "EarthEnd", "Homes"]

POWER_GROUNDS = ("power ground", "coil ground", "load return")
"""Roles of a device's pins that carry its current to an earth point."""

STAR_KINDS = ("controller", "coil", "igniter")
"""Kinds that share the star point."""


@dataclass(frozen=True, slots=True, order=True)
class EarthEnd:
    """End of a wire on an earth point."""

    earth: Contact
    wire: str


@dataclass
class Homes:
    """Places of one design that an end may be moved to, each list worked out once."""

    design: Design

    @cached_property
    def earth_points(self) -> tuple[Contact, ...]:
        """Earth points of the list on a known body: on the head, elsewhere on the engine, then the others."""
        bodies = self.design.devices
        found = [Contact(key, "") for key, item in self.design.harness.items.items() if item.kind == "earth point"]
        known = [(bodies.body(contact), contact) for contact in found]
        ranked = sorted(
            (bodies.rigid(contact) != "engine", body != "head", natural_key(self.design.label(contact)), contact)
            for body, contact in known
            if body
        )
        return tuple(contact for *_, contact in ranked)

    @cached_property
    def on_engine(self) -> tuple[Contact, ...]:
        """Earth points of the list on the engine, those on the head first."""
        return tuple(c for c in self.earth_points if self.design.devices.rigid(c) == "engine")

    @cached_property
    def star(self) -> tuple[Contact, ...]:
        """Earth points of the controller, one on the engine first; a terminal of the battery is none to move to."""
        common = self.design.harness.items
        return tuple(r.earth for r in self.design.grounds.home if common[r.earth.item].kind in COMMON_KINDS)

    @cached_property
    def homes(self) -> tuple[Contact, ...]:
        """Earth points a misplaced ground may go to, the controller's own first, then two more on the engine."""
        further = [earth for earth in self.on_engine if earth not in self.star][:2]
        return (*self.star[:2], *further)

    @cached_property
    def on_head(self) -> tuple[Contact, ...]:
        """Earth points on the head, the controller's own first."""
        heads = [c for c in self.on_engine if self.design.devices.body(c) == "head"]
        return tuple(sorted(heads, key=lambda c: c not in self.star))

    def on_body(self, rigid: str | None) -> tuple[Contact, ...]:
        """Earth points on one body, head, block and engine taken as one."""
        return tuple(c for c in self.earth_points if self.design.devices.rigid(c) == rigid)

    # ------------------------------------------------------------------ what stands there now
    @cached_property
    def by_name(self) -> dict[str, Device]:
        """Devices by the name that findings have as their subject."""
        return {device.name: device for device in self.design.devices.all}

    @cached_property
    def _wires(self) -> dict[str, Wire]:
        return {wire.name: wire for wire in self.design.harness.wires}

    def wire(self, name: str) -> Wire | None:
        """Wire of a name."""
        return self._wires.get(name)

    def is_splice(self, contact: Contact) -> bool:
        """Whether a contact is a joint of wires and no earth point."""
        return self.design.harness.items[contact.item].kind in ("splice", "post")

    def ends(self, contacts: Iterable[Contact]) -> list[EarthEnd]:
        """Every end on an earth point that these contacts reach through copper."""
        net = self.design.net
        numbers = dict.fromkeys(net.net_of[c] for c in contacts if c in net.net_of)
        return sorted({EarthEnd(earth, wire.name) for n in numbers for earth, wire in net.nets[n].earths})

    def ground_ends(self, device: Device) -> list[EarthEnd]:
        """Ends on earth points of a device's power grounds."""
        return self.ends(self.design.devices.with_role(device, *POWER_GROUNDS))

    def own_ends(self, device: Device, roles: tuple[str, ...]) -> list[tuple[Wire, Contact, Contact]]:
        """Wires at a device's pins of some roles: the wire, its end at the device and its other end."""
        found = []
        for contact in self.design.devices.with_role(device, *roles):
            for wire in self.design.net.wires_at.get(contact, ()):
                other = wire.other(contact)
                if other is not None:
                    found.append((wire, contact, other))
        return found

    @cached_property
    def _unwired(self) -> dict[str, list[Contact]]:
        found: dict[str, list[Contact]] = {}
        for contact, role in self.design.roles.of.items():
            item = self.design.harness.items.get(contact.item)
            if item is not None and role in POWER_GROUNDS and contact not in self.design.net.wires_at:
                found.setdefault(item.owner, []).append(contact)
        return found

    def unwired_grounds(self, device: Device) -> list[Contact]:
        """Pins that the pin list says are power grounds of a device and that no wire goes to; one is enough."""
        return sorted(self._unwired.get(device.key, ()))[:1]

    @cached_property
    def star_ends(self) -> tuple[list[EarthEnd], list[EarthEnd], list[EarthEnd]]:
        """Ends of the controller's power grounds; with all controllers, coils and igniters; with sensor returns too.

        A sensor returned to the controller's earth point should not be, but while it is it belongs to it.
        """
        devices = self.design.devices
        controller = devices.controller
        own = self.ground_ends(controller) if controller else []
        every = self.ends(c for d in devices.of_kind(*STAR_KINDS) for c in devices.with_role(d, *POWER_GROUNDS))
        points = {end.earth for end in every}
        returns = self.ends(c for d in devices.sensors for c in devices.with_role(d, *RETURN_ROLES))
        return own, every, sorted({*every, *(end for end in returns if end.earth in points)})

    # ------------------------------------------------------------------ sensor grounds
    @cached_property
    def sensor_ground_pins(self) -> dict[str, Contact]:
        """Sensor-ground pins of controllers by the name that findings have as their subject."""
        pins = self.design.devices.controller_contacts("sensor ground")
        return {f"sensor ground {self.design.label(pin)}": pin for pin in pins}

    @cached_property
    def _sensor_grounds(self) -> dict[str, tuple[list[Contact], list[Contact], list[Contact]]]:
        """Controller → splices on its sensor grounds, sensor-ground pins without a wire, those with one."""
        design = self.design
        found: dict[str, tuple[list[Contact], list[Contact], list[Contact]]] = {}
        wired = design.net.wires_at
        for controller in design.devices.of_kind("controller"):
            found[controller.key] = ([], [], [])
        for contact, role in design.roles.of.items():
            item = design.harness.items.get(contact.item)
            if role != "sensor ground" or item is None or item.owner not in found:
                continue
            splices, empty, full = found[item.owner]
            if contact not in wired:
                empty.append(contact)
                continue
            full.append(contact)
            net = design.net.net(contact)
            splices += [
                c for c in (net.contacts if net else ())
                if not c.cavity and design.harness.items[c.item].kind in COMMON_KINDS and c not in splices
            ]  # fmt: skip
        for lists in found.values():
            for contacts in lists:
                contacts.sort(key=lambda c: (self._leaves(c), natural_key(design.label(c))))
        return found

    def _leaves(self, contact: Contact) -> bool:
        """Whether the copper a contact is part of reaches an earth point, as a sensor ground should not."""
        net = self.design.net.net(contact)
        return net is not None and bool(net.earths)

    def sensor_homes(self, readers: Iterable[str]) -> list[Contact]:
        """Contacts a sensor's return may go to, best first.

        Splices of sensor grounds of the controllers that read the sensor come first, then sensor-ground pins
        without a wire, then those with one.
        """
        groups = [self._sensor_grounds[key] for key in dict.fromkeys(readers) if key in self._sensor_grounds]
        return [contact for rank in range(3) for group in groups for contact in group[rank][:2]]
