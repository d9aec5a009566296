"""Changes for sensor grounds and shields: back to the controller, and nowhere else."""

from __future__ import annotations

from collections.abc import Iterator

from harnessdrc.advice.asked import Asked, moved, star_moved, taken_away
from harnessdrc.advice.edits import Change, CutBack, MoveEnd, SpliceIn
from harnessdrc.design import Contact, Design, Device
from harnessdrc.harness.elements import rigid_body
from harnessdrc.harness.names import fold
from harnessdrc.harness.roles import GROUND_ROLES, RETURN_ROLES

__all__ = ["body_grounded", "return_home", "second_path", "shield"]


def _readers(design: Design, device: Device) -> list[str]:
    """Keys of the controllers that read a sensor, then those of all others."""
    devices = design.devices
    reading = []
    for contact in device.contacts:
        net = design.net.net(contact)
        if net is None or design.role(contact) in RETURN_ROLES:
            continue
        for member in net.contacts:
            owner = devices.owner(member)
            if owner is not None and owner.kind == "controller":
                reading.append(owner.key)
    return [*reading, *sorted(d.key for d in devices.of_kind("controller"))]


def return_home(asked: Asked) -> Iterator[Change]:
    """A sensor's return to a sensor ground of the controller."""
    design, device = asked.design, asked.device
    if device is None:
        return
    returns = design.devices.with_role(device, *RETURN_ROLES)
    ends = asked.homes.ends(returns)
    own = [
        (wire.name, other)
        for wire, contact, other in asked.homes.own_ends(device, RETURN_ROLES)
        if design.net.net(contact) is not None
    ]
    homes = asked.homes.sensor_homes(_readers(design, device))
    for home in homes:
        if ends:
            yield moved(ends, home)
        yield Change(tuple(MoveEnd(name, other, home) for name, other in own if other != home))
    # Every sensor ground has its wire and there is no splice yet: one goes into that wire.
    for home in homes:
        for wire in design.net.wires_at.get(home, ())[:1]:
            splice = Contact(f"new splice in wire {fold(wire.name)}", "")
            for moves in (moved(ends, splice).edits, tuple(MoveEnd(name, other, splice) for name, other in own)):
                if moves and wire.other(home) is not None and wire.name not in {edit.wire for edit in moves}:
                    yield Change((SpliceIn(wire.name, splice), *moves))


def second_path(asked: Asked) -> Iterator[Change]:
    design = asked.design
    pin = asked.homes.sensor_ground_pins.get(asked.finding.subject[1])
    net = design.net.net(pin) if pin is not None else None
    if net is None:
        return
    ends = asked.homes.ends([net.contacts[0]])
    if ends:
        yield taken_away(ends)
        return
    grounds = [c for c in net.contacts if design.role(c) in GROUND_ROLES]
    moves = [
        (wire.name, other)
        for contact in grounds
        for wire in design.net.wires_at.get(contact, ())
        if (other := wire.other(contact)) is not None and other not in grounds
    ]
    for home in asked.homes.homes:
        yield Change(tuple(MoveEnd(name, other, home) for name, other in moves))


def body_grounded(asked: Asked) -> Iterator[Change]:
    device = asked.device
    if device is None:
        return
    if not device.item.case_earthed:
        yield from return_home(asked)
    ends = asked.homes.ends(asked.design.devices.with_role(device, *RETURN_ROLES))
    body = asked.design.devices.rigid(ends[0].earth) if ends else rigid_body(device.body)
    yield from star_moved(asked, (body,))


def shield(asked: Asked) -> Iterator[Change]:
    if asked.finding.evidence.get("far") is None:
        return
    design = asked.design
    near = asked.finding.evidence.get("near")
    for one in design.shields:
        if one.name != asked.finding.subject[1]:
            continue
        far = [
            CutBack(wire.name, contact)
            for wire in one.drains
            for contact in (wire.a, wire.b)
            if contact is not None and design.label(contact) != near
        ]
        # Where the drain goes through splices only its outermost ends are grounds.
        yield from (Change((edit,)) for edit in far if not asked.homes.is_splice(edit.contact))
        yield Change(tuple(edit for edit in far if not asked.homes.is_splice(edit.contact)))
