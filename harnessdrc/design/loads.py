"""Loads: devices that draw current from the battery, where they are fed, where they return, how much they draw."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from harnessdrc.design.devices import DRIVER_ROLES, Device, Devices
from harnessdrc.design.figures import usual_figures
from harnessdrc.harness.connectivity import Connectivity
from harnessdrc.harness.elements import Contact
from harnessdrc.tables.model import Assumption

__all__ = ["FEED_ROLES", "Load", "Loads"]

FEED_ROLES = frozenset({"load feed", "switched feed", "battery feed", "fused feed", "ignition switch"})
_NOT_LOADS = frozenset(
    {"battery", "alternator", "starter", "switch", "isolator", "relay", "fuse", "capacitor", "diode", "resistor",
     "terminator", "spark plug", "distributor", "power distribution"}
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Load:
    """A device that draws current: where it is fed, where it returns, and how much.

    `listed_a` is its current as listed, `current_a` that or the usual one of its kind; None where there is none.
    """

    device: Device
    feeds: tuple[Contact, ...]
    returns: tuple[Contact, ...]
    body: str | None
    listed_a: float | None
    current_a: float | None
    driven: bool


@dataclass
class Loads:
    """Loads of a design; a current that is not listed is taken from the usual figures and noted."""

    net: Connectivity
    devices: Devices
    assumptions: list[Assumption] = field(default_factory=list)

    @cached_property
    def all(self) -> tuple[Load, ...]:
        """Every device that draws current from the battery, in the order of the list."""
        roles = self.devices.roles.of
        loads = []
        for device in self.devices.all:
            if device.kind in _NOT_LOADS or (device.kind is None and not device.item.current_a):
                continue  # what draws a listed current is a load, whatever its kind
            feeds = tuple(c for c in device.contacts if roles.get(c) in FEED_ROLES)
            if (device.kind or "").endswith(" sensor") and not any(roles.get(c) == "load feed" for c in feeds):
                continue
            if not feeds:
                continue
            grounds = tuple(
                c for c in device.contacts
                if roles.get(c) in ("power ground", "coil ground", "load return", "battery negative")
            )  # fmt: skip
            driven = tuple(c for c in device.contacts if roles.get(c) in DRIVER_ROLES)
            body = device.body if device.item.case_earthed else None
            if device.kind == "controller":
                driven = ()
            returns = grounds or driven
            listed_a = self._listed(device, feeds)
            current_a = self._usual(device) if listed_a is None else listed_a
            loads.append(Load(device, feeds, returns, body, listed_a, current_a, bool(driven and not grounds)))
        return tuple(loads)

    def _listed(self, device: Device, feeds: tuple[Contact, ...]) -> float | None:
        if device.item.current_a is not None:
            return device.item.current_a
        listed = [
            wire.current_a for contact in feeds for wire in self.net.wires_at[contact] if wire.current_a is not None
        ]
        return max(listed, default=None)

    def _usual(self, device: Device) -> float | None:
        figures = usual_figures().get(device.kind or "")
        if not figures:
            return None
        current = figures.current_a
        mark = self.devices.mark_device(device)
        self.assumptions.append(
            Assumption(
                "current",
                device.name,
                f"{current:g} A",
                f"usual for a {device.kind}: {figures.source}",
                mark[0].place if mark else None,
            )
        )
        return current

    @cached_property
    def unreturned(self) -> dict[str, Device]:
        """Loads with a feed and nothing that could be their return, by key."""
        return {load.device.key: load.device for load in self.all if not load.returns and load.body is None}
