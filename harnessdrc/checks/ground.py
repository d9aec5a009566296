"""Checks on power grounds: one earth point, no loop, a way home, and no drop beyond the limit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from harnessdrc.checks.drops import load_drops, load_subjects
from harnessdrc.checks.registry import Outcome, check, limit
from harnessdrc.design import Design, Device, Reached
from harnessdrc.findings import Finding, Mark, Subject, Undecided
from harnessdrc.harness.elements import Contact, rigid_body

__all__ = ["no_return", "one_point", "two_paths", "voltage_drop"]

_POWER = ("power ground", "coil ground", "load return")


@dataclass(frozen=True, slots=True)
class OnePointLimits:
    """Who has to share the earth point, and what counts as the same one."""

    users: tuple[str, ...] = limit(
        ("controller", "coil", "igniter"), "", "kinds of component that share the controller's earth point"
    )
    same_body_counts: bool = limit(True, "", "whether another stud on the same body counts as the same earth point")


def _power_grounds(design: Design, device: Device) -> list[Contact]:
    return design.devices.with_role(device, *_POWER)


def _users(design: Design, limits: OnePointLimits) -> list[Device]:
    return [
        device
        for device in design.devices.of_kind(*limits.users)
        if _power_grounds(design, device)
        or (
            device.kind == "controller"
            and (device.item.listed or device is design.devices.controller)
            and device.key not in design.loads.unreturned
        )
    ]


def _earth_text(design: Design, reached: Reached) -> str:
    body = design.devices.body(reached.earth)
    return f"{design.label(reached.earth)} ({body or 'body not given'})"


def _earth_marks(design: Design, reached: Reached, label: str) -> tuple[Mark, ...]:
    wire = reached.wire
    return (Mark(wire.end_place(reached.earth), label),)


@check(
    "ground.one_point",
    counts="controllers, coils and igniters with a power ground",
    subjects=lambda design, limits: [d.subject for d in _users(design, limits)],
    reads=("from_item", "to_item"),
    limits=OnePointLimits,
    says={
        "": "{subject} is earthed at {earth}, but the controller's earth point is {star}. Every current in "
        "the way between the two shifts its ground against the controller's.",
    },
    remedy={"": "Take wire {wire} to {home} instead of {earth_name}."},
)
def one_point(design: Design, limits: OnePointLimits) -> Iterator[Outcome]:
    """A controller, coil or igniter is earthed away from the controller's earth point.

    Why it matters: Charging, cranking and load currents drop volts in straps and bodies. Between two earth
    points that drop stands as an offset at every input between the two devices: coils switch on by
    themselves, signals read wrong.
    Reads: From and To of the wire list, the roles of pins, the earth points and their bodies.
    Decides: Follows the copper from every power ground of the device to the earth points it reaches, and
    compares them with those of the engine controller (the controller with the most wires). With
    same_body_counts, two studs on one body (head, block and engine are one) are the same point.
    Stays silent when: the device reaches the controller's earth point, or has no power ground of its own.
    Source: common practice, no source; the rule of a single-point signal ground is AC 43.13-1B 11-186f.
    """
    controller = design.devices.controller
    star = design.grounds.star
    for device in _users(design, limits):
        contacts = _power_grounds(design, device)
        if not contacts:
            yield Undecided(
                device.subject,
                (f"which pins of {device.name} are its power grounds (signal or role)",),
                design.devices.mark_device(device),
            )
            continue
        reached = design.grounds.reached(contacts)
        if not reached:
            yield Undecided(
                device.subject,
                (f"a way from {design.label(contacts[0])} to an earth point",),
                design.devices.mark(contacts[0]),
            )
            continue
        if device is controller:
            continue
        if not star:
            yield Undecided(
                device.subject,
                ("the controller's earth point",),
                design.devices.mark(contacts[0]),
            )
            continue
        points = {r.earth for r in star}
        bodies = {design.devices.rigid(r.earth) for r in star}
        away = [
            r
            for r in reached
            if r.earth not in points and not (limits.same_body_counts and design.devices.rigid(r.earth) in bodies)
        ]
        if not away:
            continue
        first = away[0]
        # Two points may be one only where both bodies are known.
        unknown = [r for r in (*away, *star) if design.devices.rigid(r.earth) is None]
        if limits.same_body_counts and unknown:
            yield Undecided(
                device.subject,
                (f"body of earth point {design.label(unknown[0].earth)}",),
                _earth_marks(design, unknown[0], "body not given"),
            )
            continue
        yield Finding(
            device.subject,
            _earth_marks(design, first, f"earth point of {device.name}")
            + _earth_marks(design, star[0], "earth point of the controller"),
            {
                "earth": _earth_text(design, first),
                "earth_name": design.label(first.earth),
                "star": " and ".join(_earth_text(design, r) for r in star),
                "home": design.label(design.grounds.home[0].earth),
                "wire": first.wire.name,
                "way": design.grounds.way(first.start, first.earth),
            },
            follows_from=("ground.two_paths", device.subject) if len(away) < len(reached) else None,
        )


@dataclass(frozen=True, slots=True)
class TwoPathsLimits:
    """Which kinds are left out."""

    leave_out: tuple[str, ...] = limit(
        ("battery", "alternator", "starter"),
        "",
        "kinds that are earthed by their case and may have a wire too",
    )


def _grounded(design: Design, limits: TwoPathsLimits) -> list[Device]:
    return [
        device
        for device in design.devices.all
        if device.kind not in limits.leave_out and _power_grounds(design, device)
    ]


def _rank(design: Design, device: Device, reached: Reached) -> tuple[bool, bool, bool, Contact]:
    body = design.devices.rigid(reached.earth)
    star = {r.earth for r in design.grounds.star} if device is not design.devices.controller else set()
    return (body is None, bool(star) and reached.earth not in star, body != "engine", reached.earth)


@check(
    "ground.two_paths",
    counts="devices with a power ground",
    subjects=lambda design, limits: [d.subject for d in _grounded(design, limits)],
    reads=("from_item", "to_item"),
    limits=TwoPathsLimits,
    says={
        "": "{subject} is earthed at {first} and at {second}. Its ground wires lie in a loop with the straps "
        "and carry part of the starter and charging current: {loop}.",
        "junction": "{subject} is earthed through {junction}, which is joined to {first} and to {second}. The wires "
        "between lie in a loop with the straps and carry part of the starter and charging current: {loop}.",
    },
    remedy={
        "": "Keep one earth point: take away wire {wire}, or move its end at {second_name} to {first_name}.",
        "junction": "Keep one way from {junction}: take away wire {wire}, or move its end at {second_name} to "
        "{first_name}.",
    },
)
def two_paths(design: Design, limits: TwoPathsLimits) -> Iterator[Outcome]:
    """One device is earthed at two bodies, so that its ground closes a loop with the straps.

    Why it matters: The loop's wires share the cranking and charging current with the straps in the ratio of
    the resistances; when a strap corrodes or works loose, most of it flows in the controller's ground wires.
    Reads: From and To of the wire list, the roles of pins, the bodies of the earth points, the straps.
    Decides: Collects the earth points that all power grounds of the device reach through copper; two that
    stand on different bodies (head, block and engine are one) are a finding, with the loop spelled out.
    Devices earthed through one splice or bus bar that is joined to both are one finding.
    Stays silent when: all its earth points stand on one body, or the kind is left out by the limit.
    Source: common practice, no source.
    """
    causes: dict[frozenset[Contact], Subject] = {}
    devices = sorted(_grounded(design, limits), key=lambda d: (d is not design.devices.controller, d.name))
    for device in devices:
        reached = design.grounds.reached(_power_grounds(design, device))
        case = rigid_body(device.body) if device.item.case_earthed else None
        junction: Contact | None = None
        # The one to keep stands first: the controller's earth point for the others, one on the engine for itself.
        reached.sort(key=lambda r: _rank(design, device, r))
        bodies = [design.devices.rigid(r.earth) for r in reached]
        if len(reached) + (case is not None) < 2:
            continue
        different = {*bodies, case} - {None}
        if len(different) < 2 and None in bodies:
            unknown = reached[bodies.index(None)]
            yield Undecided(
                device.subject,
                (f"body of earth point {design.label(unknown.earth)}",),
                _earth_marks(design, unknown, "body not given"),
            )
            continue
        if len(different) < 2:
            continue
        first = reached[0]
        first_name = design.label(first.earth)
        key = frozenset(r.earth for r in reached)
        if case is not None and all(body != case for body in bodies):
            second_text = f"its case on the {device.body}"
            # The case stays where it is: it is the wire that can be moved.
            first_name, second_name = f"the {device.body}", first_name
            loop = design.grounds.case_loop(first, case)
            marks = _earth_marks(design, first, "first earth point") + design.devices.mark_device(device)
            wire = first.wire.name
        else:
            second = next(r for r, body in zip(reached, bodies, strict=True) if body != bodies[0])
            second_text, second_name = _earth_text(design, second), design.label(second.earth)
            # Where both ways go through one splice or bus bar, the device's own wire is not in the loop.
            junction = design.grounds.junction(first, second)
            if junction is not None:
                first, second = replace(first, start=junction), replace(second, start=junction)
            loop = design.grounds.loop(first, second)
            marks = _earth_marks(design, second, "second earth point") + _earth_marks(
                design, first, "first earth point"
            )
            wire = second.wire.name
        cause = causes.get(key)
        causes.setdefault(key, device.subject)
        yield Finding(
            device.subject,
            marks,
            {
                "first": _earth_text(design, first),
                "first_name": first_name,
                "second": second_text,
                "second_name": second_name,
                "wire": wire,
                "loop": loop,
                "junction": design.label(junction) if junction else "",
            },
            variant="junction" if junction else "",
            follows_from=("ground.two_paths", cause) if cause else None,
        )


_INSIDE_UNKNOWN = frozenset({None, "power distribution", "connector", "controller", "switch", "relay", "diode"})


def _grounded_all(design: Design, limits: None) -> list[Device]:
    grounded = [d for d in design.devices.all if _power_grounds(design, d) and d.kind != "battery"]
    keys = {d.key for d in grounded}
    return [*grounded, *(d for key, d in design.loads.unreturned.items() if key not in keys)]


@check(
    "ground.no_return",
    counts="devices with a power ground, and loads",
    subjects=lambda design, limits: [d.subject for d in _grounded_all(design, limits)],
    reads=("from_item", "to_item"),
    says={
        "": "{contact}, the ground of {subject}, reaches no earth point: its current has no way home.",
        "none": "{subject} has a feed and no ground at all: its current has no way home.",
    },
    remedy={
        "": "Add the missing wire from {contact} to {star}.",
        "none": "Add the wire from the ground pin of {subject} to {star}.",
    },
)
def no_return(design: Design, limits: None) -> Iterator[Outcome]:
    """A ground of a device reaches no earth point.

    Why it matters: The current then finds another way home, through sensor grounds, shields or signal
    wires, or the device does not work.
    Reads: From and To of the wire list, the roles of pins.
    Decides: Follows the copper from each power ground; the net must reach an earth point or the battery's
    negative terminal, or a pin whose device may switch it to ground. A load with a feed must have a return:
    a ground, a pin that a controller switches, or its case.
    Stays silent when: an earth point is reached, or the device is earthed by its case.
    Source: common practice, no source.
    """
    star = design.grounds.home
    home = design.label(star[0].earth) if star else "the earth point of the controller"
    for device in design.loads.unreturned.values():
        unknown = [c for c in device.contacts if design.role(c) is None]
        if unknown or not device.item.listed:
            # A device known from the wire list alone may have its ground under another name.
            what = f"role of {design.label(unknown[0])}" if unknown else f"which pin of {device.name} is its return"
            yield Undecided(device.subject, (what,), design.devices.mark((unknown or device.contacts)[0]))
        else:
            yield Finding(device.subject, design.devices.mark_device(device), {"star": home}, variant="none")
    for device in _grounded_all(design, limits):
        for contact in _power_grounds(design, device):
            net = design.net.net(contact)
            if net is None or net.earths or device.item.case_earthed:
                continue
            through = []
            for member in net.contacts:
                owner = design.devices.owner(member)
                item = design.harness.items[member.item]
                kind = owner.kind if owner else item.kind
                if kind == "controller" and design.role(member) in _POWER:
                    continue  # another ground in search of its way home
                if item.owner != device.key and (kind in _INSIDE_UNKNOWN or kind == "fuse"):
                    through.append(member)
            loose = [
                w for m in net.contacts for w in design.net.wires_at[m]
                if (w.a is None and not w.a_open) or (w.b is None and not w.b_open)
            ]  # fmt: skip
            if loose:
                yield Undecided(
                    device.subject,
                    (f"other end of wire {loose[0].name}",),
                    (Mark(loose[0].place.of("to_item", "from_item"), "end missing"),),
                )
                break
            if through:
                if all(design.harness.items[m.item].kind == "controller" for m in through):
                    continue  # switched or returned by a controller: looked at with that pin
                yield Undecided(
                    device.subject,
                    (f"what {design.label(through[0])} connects to inside",),
                    design.devices.mark(contact) + design.devices.mark(through[0]),
                )
                break
            met = any(design.harness.items[m.item].kind == "controller" for m in net.contacts)
            if device.kind is None and (met or not design.net.earths):
                # A device that nothing is known of may itself be what leads home the grounds it meets.
                yield Undecided(
                    device.subject,
                    (f"what {design.label(contact)} connects to inside",),
                    design.devices.mark(contact),
                )
                break
            if not device.item.listed and not contact.cavity:
                # An end known by its name alone may go on from there under another name.
                what = f"where {design.label(contact)} is connected"
                yield Undecided(device.subject, (what,), design.devices.mark(contact))
                break
            yield Finding(
                device.subject,
                design.devices.mark(contact, f"ground of {device.name}"),
                {"contact": design.label(contact), "star": home},
            )
            break


@dataclass(frozen=True, slots=True)
class ReturnDropLimits:
    """How much may be dropped."""

    drop_mv: float = limit(500.0, "mV", "drop allowed between a load's return and the battery's negative terminal")


@check(
    "ground.voltage_drop",
    counts="loads with a return",
    subjects=load_subjects,
    reads=("size", "length_m", "current_a"),
    limits=ReturnDropLimits,
    says={
        "": "The return of {subject} drops {measured} with {current} A in it (limit {limit}); most of it, "
        "{worst_mv} mV, in wire {wire} ({size}, {length_m} m, {wire_a} A).",
    },
    remedy={"": "{advice}"},
)
def voltage_drop(design: Design, limits: ReturnDropLimits) -> Iterator[Outcome]:
    """The return of a load drops more than the limit.

    Why it matters: What the return drops lifts the load's ground against the battery and the controller, and
    is lost at the load.
    Reads: Size and Length of the wire list, Current of wires and components, straps.
    Decides: Solves the network of all feeds and returns with every load on at its steady current:
    V = I R, R = r(size, conductor_degc) length, r by ISO 6722 maxima or ASTM B258; contacts, studs and
    straps at the given values. In mV from the load's return to the battery's negative terminal.
    Stays silent when: the drop is at or below the limit and nothing on the way is missing.
    Source: AC 43.13-1B table 11-6 allows 0.5 V at 14 V for continuous loads; applied here to feed and return
    each.
    """
    yield from load_drops(design, limits.drop_mv, side="return")
