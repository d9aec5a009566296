"""Changes for power grounds: misplaced ends, loops, grounds without a way home, the spark's way home."""

from __future__ import annotations

from collections.abc import Iterator

from harnessdrc.advice.asked import MOST_ENDS, Asked, moved, star_moved, taken_away
from harnessdrc.advice.edits import AddWire, Change, MoveEnd
from harnessdrc.advice.homes import POWER_GROUNDS, EarthEnd
from harnessdrc.design import Contact, Device
from harnessdrc.harness.elements import COMMON_KINDS, Wire, rigid_body
from harnessdrc.harness.names import natural_key
from harnessdrc.harness.roles import RETURN_ROLES

__all__ = ["high_voltage_return", "no_return", "one_point", "two_paths"]


def _still_grounded(asked: Asked, device: Device, away: list[EarthEnd]) -> bool:
    """Whether every power ground of a device keeps a way to an earth point when these wires are gone.

    The grounds of a controller are one conductor inside; those of other devices are not known to be.
    """
    gone = {end.wire for end in away}
    contacts = asked.design.devices.with_role(device, *POWER_GROUNDS)
    kept = [any(end.wire not in gone for end in asked.homes.ends([contact])) for contact in contacts]
    return any(kept) if device.kind == "controller" else all(kept)


def one_point(asked: Asked) -> Iterator[Change]:
    design, device = asked.design, asked.device
    if device is None:
        return
    points = {r.earth for r in design.grounds.star}
    ends = asked.homes.ground_ends(device)
    away = [end for end in ends if end.earth not in points]
    for home in asked.homes.homes:
        yield moved(away, home)
    if len(away) < len(ends) and _still_grounded(asked, device, away):
        yield taken_away(away)
    yield from _own_wires_home(asked, device)
    if away and all(asked.design.harness.items[end.earth.item].kind in COMMON_KINDS for end in away):
        for ends in asked.homes.star_ends:
            if len(ends) <= MOST_ENDS:
                yield moved(ends, away[0].earth)
    yield from star_moved(asked)


def _own_wires_home(asked: Asked, device: Device) -> Iterator[Change]:
    """The far ends of a device's own ground wires to an earth point, where the wire that gets there is shared."""
    edits = [
        (wire.name, other)
        for wire, _, other in asked.homes.own_ends(device, POWER_GROUNDS)
        if other not in asked.design.net.earths
    ]
    for home in asked.homes.homes:
        yield Change(tuple(MoveEnd(name, other, home) for name, other in edits))


def two_paths(asked: Asked) -> Iterator[Change]:
    design, device = asked.design, asked.device
    if device is None:
        return
    devices = design.devices
    ends = asked.homes.ground_ends(device)
    case = rigid_body(device.body) if device.item.case_earthed else None
    star = {r.earth for r in design.grounds.star} if device is not devices.controller else set()
    # As the check ranks them: the one to keep first.
    ends.sort(key=lambda e: (devices.rigid(e.earth) is None, bool(star) and e.earth not in star,
                             devices.rigid(e.earth) != "engine", e))  # fmt: skip
    if case is not None:
        away = [end for end in ends if devices.rigid(end.earth) != case]
        for home in asked.homes.on_body(case)[:2]:
            yield moved(away, home)
        yield taken_away(away)
        return
    for kept in dict.fromkeys(end.earth for end in ends):
        body = devices.rigid(kept)
        away = [end for end in ends if devices.rigid(end.earth) != body]
        shared = {end.wire for end in away if _in_one_net(asked, end, body)}
        taken = taken_away(away) if _still_grounded(asked, device, away) else None
        # A second wire from a splice or bus bar that has its way home is too much; a pin's own wire is not.
        if taken and len(shared) == len({end.wire for end in away}):
            yield taken
        if design.harness.items[kept.item].kind in COMMON_KINDS:
            yield moved(away, kept)
        if taken:
            yield taken
    yield from star_moved(asked)


def _in_one_net(asked: Asked, end: EarthEnd, body: str | None) -> bool:
    """Whether the copper an end hangs on, a splice or bus bar, reaches this body by another wire too."""
    wire = asked.homes.wire(end.wire)
    start = wire.other(end.earth) if wire else None
    if start is None or asked.design.harness.items[start.item].kind not in COMMON_KINDS:
        return False
    return any(asked.design.devices.rigid(other.earth) == body for other in asked.homes.ends([start]))


def no_return(asked: Asked) -> Iterator[Change]:
    design, device = asked.design, asked.device
    if device is None:
        return
    homes = asked.homes.homes or asked.homes.earth_points[:2]
    grounds = [
        c for c in design.devices.with_role(device, *POWER_GROUNDS)
        if (net := design.net.net(c)) is None or not net.earths
    ]  # fmt: skip
    # A wire that ends on something nothing else is on: its end belongs elsewhere.
    for contact in grounds:
        for wire in design.net.wires_at.get(contact, ()):
            other = wire.other(contact)
            if other is not None and len(design.net.wires_at.get(other, ())) == 1:
                yield from (Change((MoveEnd(wire.name, other, home),)) for home in homes)
    own = [(wire.name, other) for c in grounds for wire in design.net.wires_at.get(c, ())
           if (other := wire.other(c)) is not None and other not in grounds]  # fmt: skip
    # On a splice with other devices' grounds it is the splice that lacks a wire.
    if not any(_joint(asked, c) and _others_on(asked, device, c) for c in grounds):
        yield from (Change(tuple(MoveEnd(name, other, home) for name, other in own)) for home in homes)
    like = _feed_wire(asked, device)
    if like is None:
        return
    starts = grounds or asked.homes.unwired_grounds(device) or [Contact(device.key, "?ground")]
    # Several grounds on one splice that leads nowhere need one wire.
    starts = list(dict.fromkeys(_joint(asked, start) or start for start in starts))
    for home in homes:
        yield Change(
            tuple(
                AddWire(f"{device.name} ground {n}" if n > 1 else f"{device.name} ground", start, home, like.size,
                        like.length_m, like.name, "Power ground")
                for n, start in enumerate(starts, 1)
            )
        )  # fmt: skip


def _others_on(asked: Asked, device: Device, contact: Contact) -> bool:
    """Whether a contact's copper holds power grounds of other devices."""
    net = asked.design.net.net(contact)
    return net is not None and any(
        c not in device.contacts and asked.design.role(c) in POWER_GROUNDS for c in net.contacts
    )


def _joint(asked: Asked, contact: Contact) -> Contact | None:
    """The splice or post of grounds, first by name, that a contact hangs on."""
    net = asked.design.net.net(contact)
    if net is None or any(asked.design.role(c) in RETURN_ROLES for c in net.contacts):
        return None
    return next((c for c in net.contacts if asked.homes.is_splice(c)), None)


def _feed_wire(asked: Asked, device: Device) -> Wire | None:
    """The wire that feeds a device: an added ground carries the same current and is taken as thick and as long.

    Size and length must be known where the list has such columns at all.
    """
    columns = asked.design.harness.columns
    at = asked.design.net.wires_at
    feeds = [c for load in asked.design.loads.all if load.device.key == device.key for c in load.feeds]
    for contacts in (feeds, device.contacts):
        known = [
            wire
            for contact in contacts
            for wire in at.get(contact, ())
            if (wire.size is not None or "size" not in columns)
            and (wire.length_m is not None or "length_m" not in columns)
        ]
        if known:
            return max(known, key=lambda w: (w.length_m or 0.0, natural_key(w.name)))
    return None


def high_voltage_return(asked: Asked) -> Iterator[Change]:
    design, device = asked.design, asked.device
    if device is None:
        return
    devices = design.devices
    roles: tuple[str, ...] = ("coil high-voltage return",)
    if not devices.with_role(device, *roles):
        roles = ("coil ground", "power ground")
    ends = asked.homes.ends(devices.with_role(device, *roles))
    away = [end for end in ends if devices.body(end.earth) != "head"]
    heads = asked.homes.on_head[:3]
    for home in heads:
        yield moved(away, home)
    own = asked.homes.own_ends(device, roles)
    for home in heads:
        yield Change(tuple(MoveEnd(wire.name, other, home) for wire, _, other in own if other != home))
