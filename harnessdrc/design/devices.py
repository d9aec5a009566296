"""Devices: components with all the contacts of all their connectors."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from harnessdrc.findings import Mark
from harnessdrc.harness.connectivity import Connectivity
from harnessdrc.harness.elements import Contact, Harness, Item, rigid_body
from harnessdrc.harness.roles import GROUND_ROLES, Roles
from harnessdrc.harness.vocabulary import guess_body, is_sensor
from harnessdrc.places import Place

__all__ = ["DRIVER_ROLES", "NOT_DEVICES", "Device", "Devices"]

NOT_DEVICES = frozenset({"splice", "earth point", "post", "connector", "fuse"})
"""Kinds that are part of the loom, not something it serves."""

DRIVER_ROLES = frozenset({"injector drive", "low-side output", "coil primary -"})
"""Roles through which a load returns into a controller."""


@dataclass(frozen=True, slots=True)
class Device:
    """A component and its wired contacts, in the order of the list."""

    key: str
    name: str
    kind: str | None
    body: str | None
    item: Item
    contacts: tuple[Contact, ...]

    @property
    def subject(self) -> tuple[str, str]:
        """Subject of findings about it."""
        return ("component", self.name)


@dataclass
class Devices:
    """All devices, their contacts by role, and where to point for each."""

    harness: Harness
    roles: Roles
    net: Connectivity

    @cached_property
    def all(self) -> tuple[Device, ...]:
        """Every device with a wire or a line in the component list, in the order of the list."""
        contacts: dict[str, list[Contact]] = {}
        for contact in self.net.wires_at:
            contacts.setdefault(self.harness.items[contact.item].owner, []).append(contact)
        devices = []
        keys = list(dict.fromkeys([*contacts, *(k for k, item in self.harness.items.items() if item.listed)]))
        for key in keys:
            item = self.harness.items.get(key)
            if item is None or item.kind in NOT_DEVICES or item.owner != key:
                continue
            devices.append(
                Device(key, item.name, self._kind(item, contacts.get(key, [])), item.body, item,
                       tuple(sorted(contacts.get(key, ()))))
            )  # fmt: skip
        return tuple(devices)

    def _kind(self, item: Item, contacts: list[Contact]) -> str | None:
        """A trigger sensor of unknown kind is a Hall sensor when it has a supply, else a reluctor."""
        if item.kind != "trigger sensor":
            return item.kind
        supplied = any(self.roles.of.get(c) in ("sensor supply", "load feed") for c in contacts)
        return "Hall sensor" if supplied or len(contacts) > 2 else "reluctor sensor"

    @cached_property
    def by_key(self) -> dict[str, Device]:
        """Devices by key."""
        return {device.key: device for device in self.all}

    def of_kind(self, *kinds: str) -> list[Device]:
        """Devices of any of these kinds."""
        return [device for device in self.all if device.kind in kinds]

    @cached_property
    def sensors(self) -> list[Device]:
        """Devices that are sensors."""
        return [device for device in self.all if is_sensor(device.kind)]

    def owner(self, contact: Contact) -> Device | None:
        """Device a contact belongs to."""
        item = self.harness.items.get(contact.item)
        return self.by_key.get(item.owner) if item else None

    def with_role(self, device: Device, *roles: str) -> list[Contact]:
        """Contacts of a device with any of these roles."""
        return [c for c in device.contacts if self.roles.of.get(c) in roles]

    def grounds(self, device: Device) -> list[Contact]:
        """Contacts of a device whose current goes to an earth point."""
        return [c for c in device.contacts if self.roles.of.get(c) in GROUND_ROLES]

    @cached_property
    def controller(self) -> Device | None:
        """The engine controller: the controller with the most contacts."""
        controllers = self.of_kind("controller")
        return max(controllers, key=lambda d: (len(d.contacts), d.name), default=None)

    def controller_on(self, contact: Contact) -> Device | None:
        """Controller that copper joins a contact to."""
        net = self.net.net(contact)
        owners = (self.owner(member) for member in (net.contacts if net else ()))
        return next((owner for owner in owners if owner is not None and owner.kind == "controller"), None)

    def on_controller(self, contact: Contact) -> bool:
        """Whether a contact is a pin of a controller."""
        owner = self.owner(contact)
        return owner is not None and owner.kind == "controller"

    def controller_contacts(self, *roles: str) -> set[Contact]:
        """Contacts of all controllers with these roles."""
        return {c for d in self.of_kind("controller") for c in d.contacts if self.roles.of.get(c) in roles}

    # ------------------------------------------------------------------ bodies and places
    def on_case(self, device: Device) -> bool:
        """Whether the body of a device is its return: as listed, else so for starters and alternators."""
        flag = device.item.case_earthed
        return device.kind in ("starter", "alternator") and not self.grounds(device) if flag is None else flag

    def body(self, earth: Contact) -> str | None:
        """Body an earth point stands on; ``battery negative`` for the battery's own terminal."""
        item = self.harness.items[earth.item]
        if item.kind == "battery":
            return "battery negative"
        if item.body:
            return item.body
        guess = guess_body(item.name)
        return guess.value if guess else None

    def rigid(self, earth: Contact) -> str | None:
        """Body of an earth point with head, block and engine taken as one."""
        return rigid_body(self.body(earth))

    def place(self, contact: Contact) -> Place | None:
        """Cell that names a contact: in the wire list, else in the pin list."""
        for wire in self.net.wires_at.get(contact, ()):
            return wire.end_place(contact)
        for pin in self.harness.pins:
            if pin.contact == contact:
                return pin.place.of("cavity")
        item = self.harness.items.get(contact.item)
        return item.place if item else None

    def mark(self, contact: Contact, label: str = "") -> tuple[Mark, ...]:
        """Mark on the cell of a contact; empty when it stands nowhere."""
        place = self.place(contact)
        return (Mark(place, label or self.harness.label(contact)),) if place else ()

    def mark_device(self, device: Device, label: str = "") -> tuple[Mark, ...]:
        """Mark on a device: its line in the component list, else its first contact."""
        if device.item.place:
            return (Mark(device.item.place, label or device.name),)
        return self.mark(device.contacts[0], label or device.name) if device.contacts else ()
