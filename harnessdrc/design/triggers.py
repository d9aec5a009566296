"""Trigger sensors and their pairs: the wires of the signal on its way to the controller and those of its return."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from harnessdrc.design.devices import Device, Devices
from harnessdrc.harness.connectivity import Connectivity
from harnessdrc.harness.elements import Contact, Wire
from harnessdrc.harness.names import fold
from harnessdrc.harness.roles import RETURN_ROLES

__all__ = ["TRIGGER_KINDS", "TriggerPair", "return_wires", "trigger_pairs", "trigger_signals", "way_to_controller"]

TRIGGER_KINDS = ("reluctor sensor", "Hall sensor")
"""Kinds of sensor whose edges a controller times."""


@dataclass(frozen=True, slots=True)
class TriggerPair:
    """A trigger sensor with the wires of its signal and of its return.

    Parameters
    ----------
    device : Device
        The sensor.
    contact : Contact
        Its signal.
    way : tuple of Contact
        From the signal to the controller's pin; empty where copper leads to no controller.
    signal, returns : tuple of Wire
        Wires of that way, in its order; wires by which the sensor's own current goes back.
    """

    device: Device
    contact: Contact
    way: tuple[Contact, ...]
    signal: tuple[Wire, ...]
    returns: tuple[Wire, ...]

    def partners(self, wire: Wire) -> tuple[Wire, ...]:
        """Wires of its own return that one of its signal's wires is twisted with."""
        if not wire.twist:
            return ()
        group = fold(wire.twist)
        return tuple(w for w in self.returns if w.twist and fold(w.twist) == group and w.name != wire.name)


def trigger_signals(devices: Devices) -> list[tuple[Device, Contact]]:
    """Trigger sensors with their signal contact."""
    found = []
    for device in devices.of_kind(*TRIGGER_KINDS):
        contact = next(iter(devices.with_role(device, "trigger signal +")), None)
        if contact is not None:
            found.append((device, contact))
    return found


def way_to_controller(devices: Devices, net: Connectivity, contact: Contact) -> list[Contact]:
    """Shortest copper way from a contact to a pin of a controller; empty when there is none."""
    copper = net.net(contact)
    pins = [member for member in (copper.contacts if copper else ()) if devices.on_controller(member)]
    return min((net.path(contact, pin) for pin in pins), key=lambda way: (len(way), way), default=[])


def return_wires(devices: Devices, net: Connectivity, device: Device) -> list[Wire]:
    """Wires that carry a sensor's own current back: those on the way from its return to the controller.

    Other sensors' wires on the same splice are not among them. A return that reaches no controller has
    only the wires at its own pin.
    """
    wires: list[Wire] = []
    for own in devices.with_role(device, *RETURN_ROLES):
        way = net.wires_along(way_to_controller(devices, net, own))
        wires += way or sorted(net.wires_at.get(own, []), key=lambda w: w.name)
    return wires


def trigger_pairs(devices: Devices, net: Connectivity) -> Sequence[TriggerPair]:
    """Every trigger sensor's pair, in the order of the devices."""
    pairs = []
    for device, contact in trigger_signals(devices):
        way = way_to_controller(devices, net, contact)
        pairs.append(
            TriggerPair(
                device, contact, tuple(way), tuple(net.wires_along(way)), tuple(return_wires(devices, net, device))
            )
        )
    return tuple(pairs)
