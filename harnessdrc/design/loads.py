"""Loads: devices that draw current from the battery, where they are fed, where they return, how much they draw."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache, cached_property
from typing import Any

from harnessdrc.datafiles import rulesets_folder
from harnessdrc.design.devices import DRIVER_ROLES, Device, Devices
from harnessdrc.harness.connectivity import Connectivity
from harnessdrc.harness.elements import Contact
from harnessdrc.tables.model import Assumption

__all__ = ["FEED_ROLES", "Load", "Loads", "usual_figures"]

FEED_ROLES = frozenset({"load feed", "switched feed", "battery feed", "fused feed", "ignition switch"})
_NOT_LOADS = frozenset(
    {"battery", "alternator", "starter", "switch", "relay", "fuse", "capacitor", "diode", "resistor",
     "terminator", "spark plug", "power distribution"}
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Load:
    """A device that draws current: where it is fed, where it returns, and how much.

    `current_a` is None when neither the list nor the kind gives one.
    """

    device: Device
    feeds: tuple[Contact, ...]
    returns: tuple[Contact, ...]
    body: str | None
    current_a: float | None
    driven: bool


@cache
def usual_figures() -> Mapping[str, Mapping[str, Any]]:
    """Usual figures per kind of component, from ``components.toml``."""
    with (rulesets_folder() / "components.toml").open("rb") as file:
        return tomllib.load(file)


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
            if device.kind in _NOT_LOADS or device.kind is None:
                continue
            feeds = tuple(c for c in device.contacts if roles.get(c) in FEED_ROLES)
            if device.kind.endswith(" sensor") and not any(roles.get(c) == "load feed" for c in feeds):
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
            loads.append(Load(device, feeds, returns, body, self._current(device, feeds), bool(driven and not grounds)))
        return tuple(loads)

    def _current(self, device: Device, feeds: tuple[Contact, ...]) -> float | None:
        if device.item.current_a is not None:
            return device.item.current_a
        listed = [
            wire.current_a for contact in feeds for wire in self.net.wires_at[contact] if wire.current_a is not None
        ]
        if listed:
            return max(listed)
        figures = usual_figures().get(device.kind or "")
        if not figures:
            return None
        current = float(figures["current_a"])
        mark = self.devices.mark_device(device)
        self.assumptions.append(
            Assumption(
                "current",
                device.name,
                f"{current:g} A",
                f"usual for a {device.kind}: {figures['source']}",
                mark[0].place if mark else None,
            )
        )
        return current

    @cached_property
    def unreturned(self) -> dict[str, Device]:
        """Loads with a feed and nothing that could be their return, by key."""
        return {load.device.key: load.device for load in self.all if not load.returns and load.body is None}
