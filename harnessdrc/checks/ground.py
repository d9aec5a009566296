"""Checks on power grounds: one earth point, no loop, a way home, and no drop beyond the limit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from harnessdrc.checks.drops import load_drops, load_subjects
from harnessdrc.checks.groundwires import Carried, carried, controllers, ground_wires
from harnessdrc.checks.jointreserves import VICTIM_KINDS, Short, short_reserves
from harnessdrc.checks.offsets import copper_cause, judge, lacking_words, tell, unsolved, victim_subjects
from harnessdrc.checks.registry import Outcome, check, limit
from harnessdrc.design import Design, Device, Reached
from harnessdrc.design.analysis.limits import OffsetLimits, reading_error
from harnessdrc.findings import Finding, Mark, Subject, Undecided, figures
from harnessdrc.harness.elements import Contact, rigid_body

__all__ = ["cranking_current", "joint_reserve", "no_return", "offset", "one_point", "two_paths", "voltage_drop"]

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


_INSIDE_UNKNOWN = frozenset(
    {None, "power distribution", "connector", "controller", "switch", "isolator", "relay", "diode"}
)


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
    Decides: Follows the copper from each power ground, through fuses too where no battery feeds them; it must reach
    an earth point or the battery's negative terminal, or a pin whose device may switch it to ground. A load with a
    feed must have a return: a ground, a pin that a controller switches, or its case.
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
            if net is None or device.item.case_earthed:
                continue
            joined = [net] if net.number in design.feeds.level else design.grounds.over_fuses(net)
            if any(each.earths for each in joined):
                continue
            through, members = [], [member for each in joined for member in each.contacts]
            for member in members:
                owner = design.devices.owner(member)
                item = design.harness.items[member.item]
                kind = owner.kind if owner else item.kind
                if kind == "controller" and design.role(member) in _POWER:
                    continue  # another ground in search of its way home
                if item.owner != device.key and (
                    kind in _INSIDE_UNKNOWN or (kind == "fuse" and item.key not in design.grounds.wired_fuses)
                ):
                    through.append(member)
            loose = [
                w for m in members for w in design.net.wires_at[m]
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
                beyond = design.harness.items[through[0].item]
                what = f"what {design.label(through[0])} connects to inside"
                if beyond.kind == "fuse":
                    what = f"wire on the other side of {beyond.name}"
                yield Undecided(
                    device.subject,
                    (what,),
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
        "range": "The return of {subject} drops between {low_mv} and {high_mv} mV with {current} A in it, whatever "
        "the data is that is lacking (limit {limit}); most of it in wire {wire} ({size}).",
    },
    remedy={"": "{advice}", "range": "{advice}"},
)
def voltage_drop(design: Design, limits: ReturnDropLimits) -> Iterator[Outcome]:
    """The return of a load drops more than the limit.

    Why it matters: What the return drops lifts the load's ground against the battery and the controller, and
    is lost at the load.
    Reads: Size and Length of the wire list, Current of wires and components, straps.
    Decides: Solves the circuit of all feeds and returns with every load on at its steady current, engine at rest:
    V = I R, R = r(size, conductor_degc) length, r by ISO 6722 maxima or ASTM B258; contacts, studs and
    straps at the given values. In mV from the load's return to the battery's negative terminal. What is lacking is
    carried as a range.
    Stays silent when: the drop is at or below the limit over the whole range of what is lacking.
    Source: AC 43.13-1B table 11-6 allows 0.5 V at 14 V for continuous loads; applied here to feed and return
    each.
    """
    yield from load_drops(design, limits.drop_mv, side="return")


@dataclass(frozen=True, slots=True)
class OffsetOfGroundLimits:
    """How far the grounds of controllers and bus nodes may stand apart."""

    ground_mv: float = limit(1000.0, "mV", "offset of another controller's ground to either side")
    bus_mv: float = limit(2000.0, "mV", "offset of a bus node's ground to either side")
    joints: Literal["new", "aged"] = limit("new", "", "joints as new or aged")


_NODES = ("controller ground", "bus node")


@check(
    "ground.offset",
    counts="other controllers and bus nodes",
    subjects=lambda design, limits: victim_subjects(design, *_NODES),
    reads=("from_item", "to_item", "size", "length_m", "current_a"),
    limits=OffsetOfGroundLimits,
    says={
        "controller": "The ground of {subject} lies {measured} {side} that of {controller} at {state} (limit {limit}, "
        "{joints}), and signals run between the two: {shares_text}. Most of it is dropped in {joint_text}.",
        "bus": "The ground of {subject} lies {measured} {side} that of {controller} at {state} (limit {limit}, "
        "{joints}), and both are on one bus: {shares_text}. Most of it is dropped in {joint_text}.",
    },
    remedy={"controller": "{advice}", "bus": "{advice}"},
)
def offset(design: Design, limits: OffsetOfGroundLimits) -> Iterator[Outcome]:
    """The ground of another controller or of a bus node lies too far from the engine controller's.

    Why it matters: Inputs between the two are read against different grounds; beyond the range that a bus
    transceiver bears its messages are lost, and the current finds its way through the signal wires.
    Reads: From, To, Size and Length of the wire list, Current of wires and components, earth points, straps, joints.
    Decides: Solves the network of all feeds and returns in every operating state and takes the worst instant of
    the ground inside the device less that inside the engine controller (the controller with the most wires), in
    mV, to either side. Where lengths, sizes, straps or currents are lacking it is a finding only if the whole range
    is over. With joints "aged" only what is within the limits as new is told.
    Stays silent when: the offset stays within its limit in all states.
    Source: ISO 16750-2 4.8, ground offset 1.0 V (from memory); ISO 11898-2, common mode from -2 V (from memory).
    """
    held = OffsetLimits(ground_mv=limits.ground_mv, bus_mv=limits.bus_mv)
    aged = limits.joints == "aged"
    yield from unsolved(design, *_NODES)
    judged = list(judge(design, _NODES, held, aged=aged))
    told, causes = tell(design, [j for j in judged if j.verdict == "over"], aged=aged)
    for each in told:
        on_bus = each.judged.victim.kind == "bus node"
        cause = causes.get(each.subject)
        yield Finding(
            each.subject,
            each.marks,
            each.evidence,
            measured=round(abs(each.judged.worst.offset_v) * 1000, 3),
            limit=limits.bus_mv if on_bus else limits.ground_mv,
            unit="mV",
            variant="bus" if on_bus else "controller",
            follows_from=("ground.offset", cause) if cause else copper_cause(design, each.judged.victim),
        )
    for one in judged:
        if one.verdict == "open" and one.range is not None:
            low_mv, high_mv = one.range.low_v * 1000, one.range.high_v * 1000
            allowed = limits.bus_mv if one.victim.kind == "bus node" else limits.ground_mv
            limit_mv = allowed if one.worst.upward else -allowed
            yield Undecided(
                one.victim.subject, one.lacking, one.victim.mark, round(low_mv, 3), round(high_mv, 3), limit_mv, "mV"
            )


@dataclass(frozen=True, slots=True)
class CrankingLimits:
    """What a ground wire of a controller may carry while the starter turns."""

    current_a: float = limit(8.0, "A", "current in one ground wire of a controller")
    strap: Literal["fitted", "loose"] = limit("fitted", "", "straps of the engine as built, or each loose in turn")


@check(
    "ground.cranking_current",
    counts="controllers with a power ground",
    subjects=lambda design, limits: [device.subject for device in controllers(design)],
    reads=("from_item", "to_item", "size", "length_m", "current_a"),
    limits=CrankingLimits,
    says={
        "fitted": "Wire {wire}, a ground of {subject}, carries {measured} at {state} (limit {limit}): the starter's "
        "current comes home through it as well as through the straps. In its ground wires: {wires_text}.",
        "loose": "Wire {wire}, a ground of {subject}, carries {measured} at {state} (limit {limit}) once {strap} is "
        "loose, {built} A as built: the starter's current then comes home through it. In its ground wires: "
        "{wires_text}.",
    },
    remedy={
        "fitted": "Keep one earth point for {subject}, so that its ground wires are no way home for the starter.",
        "loose": "Keep one earth point for {subject}, or fit a second strap beside {strap}.",
    },
)
def cranking_current(design: Design, limits: CrankingLimits) -> Iterator[Outcome]:
    """The ground wires of a controller carry part of the starter's current.

    Why it matters: Where a controller is earthed at the engine and at the battery, its ground wires and the tracks on
    its board lie beside the strap. They carry the starter's current in the ratio of the resistances, and nearly all
    of it once the strap is loose: contacts and tracks burn.
    Reads: From, To, Size and Length of the wire list, earth points, straps, joints, starter and battery.
    Decides: Solves the network of all feeds and returns in the operating states with the starter on; the average
    current in each wire on a power ground of a controller, in A. With strap "loose" every strap between the engine
    and another body is taken away in turn, the starter's current solved anew, and the worst told; only what is within
    the limit as built. As built, where sizes, lengths, straps or the starter's current are lacking, it is a finding
    only if the whole range is over.
    Stays silent when: no ground wire carries more than the limit.
    Source: common practice, no source: small terminals bear 3 to 8 A, large ones 10 to 20 A. Network by Ohm's and
    Kirchhoff's laws; copper by ISO 6722 maxima or ASTM B258.
    """
    loose = limits.strap == "loose"
    known: set[str] = set()
    for each in carried(design, loose=loose, above_a=limits.current_a):
        known.add(each.device.key)
        if loose and max(each.built_a) > limits.current_a:
            continue
        if (each.most_a if loose else each.low_a) > limits.current_a:
            yield _cranking_finding(each, limits.current_a)
        elif not loose and each.high_a > limits.current_a:
            ends = round(each.low_a, 4), round(each.high_a, 4)
            mark = design.devices.mark_device(each.device)
            yield Undecided(each.device.subject, each.lacking, mark, *ends, limits.current_a, "A")
    words = lacking_words(design)
    if not words and not any(state.starter for state in design.states):
        words = ("an operating state with the starter on",)
    for device in controllers(design):
        if device.key not in known:
            wire = ground_wires(design, device)[0]
            missing = words or (f"a way from wire {wire.name} to the battery's negative post",)
            yield Undecided(device.subject, missing, design.devices.mark_device(device))


def _cranking_finding(each: Carried, limit_a: float) -> Finding:
    wire = each.wires[each.worst]
    order = sorted(range(len(each.wires)), key=lambda n: (n != each.worst, -each.loose_a[n]))
    marks = tuple(Mark(each.wires[n].place.of("wire", "from_item"), f"{figures(each.loose_a[n])} A") for n in order)
    return Finding(
        each.device.subject,
        marks,
        {
            "wire": wire.name,
            "state": each.state,
            "strap": each.strap or "none",
            "built": figures(each.built_a[each.worst]),
            "wires_text": ", ".join(
                f"{w.name} {figures(amps)} A" for w, amps in zip(each.wires, each.loose_a, strict=True)
            ),
            "wires": [
                {"wire": w.name, "built_a": round(built, 4), "loose_a": round(amps, 4)}
                for w, built, amps in zip(each.wires, each.built_a, each.loose_a, strict=True)
            ],
        },
        measured=round(each.most_a, 4),
        limit=limit_a,
        unit="A",
        variant="loose" if each.strap else "fitted",
        follows_from=("ground.two_paths", each.device.subject),
    )


@dataclass(frozen=True, slots=True)
class ReserveLimits:
    """How much a joint must be able to rise."""

    reserve_mohm: float = limit(10.0, "mohm", "rise of one joint that must do no harm")


@check(
    "ground.joint_reserve",
    counts="inputs, readings and bus nodes held against the controller's ground",
    subjects=lambda design, limits: victim_subjects(design, *VICTIM_KINDS),
    reads=("from_item", "to_item", "size", "length_m", "current_a"),
    limits=ReserveLimits,
    says={
        "": "One joint that corrodes by {measured} (limit {limit}) is enough for {subject} to {harm} at {state}: "
        "{joint}.",
    },
    remedy={"": "Fit a second strap or wire beside {part}, or earth {device} and {controller} at one point."},
)
def joint_reserve(design: Design, limits: ReserveLimits) -> Iterator[Outcome]:
    """A small rise of one joint's resistance brings an input or a reading over its limit.

    Why it matters: A ring on a stud or the end of a strap that corrodes reaches 1 to 100 mohm. Where a few of them
    are enough for a coil to fire by itself, a loom that is right on the bench fails in its second winter.
    Reads: From, To, Size and Length of the wire list, Current of wires and components, earth points, straps, joints.
    Decides: For every coil input, reading, controller and bus node that is within its limit as built (coil input
    700 mV off and 2500 mV on, 2 K, 1 per cent of span, 500 mV at a trigger, 1 V and 2 V between grounds): by how
    much the joints of one part of its way may rise, in mohm, until the limit is crossed in some operating state.
    Found in closed form, loads held; the least is solved again with the machines (in very long lists it stands).
    Stays silent when: every joint has more reserve than the limit, or the subject is over its limit as built.
    Source: common practice, no source; rank-one update of a network (Sherman and Morrison 1950).
    """
    yield from unsolved(design, *VICTIM_KINDS)
    for short in short_reserves(design, OffsetLimits(), limits.reserve_mohm / 1000):
        circuit = design.analysis.circuit
        yield Finding(
            short.victim.subject,
            short.marks(design),
            {
                "harm": _harm(design, short),
                "state": design.states[short.reserve.state].name,
                "joint": short.joint(design),
                "part": circuit.part_name(short.part),
                "device": short.victim.device.name,
                "controller": short.victim.controller.name,
                "offset_mv": round(short.offset_v * 1000, 3),
                "limit_mv": round(short.limit_v * 1000, 3),
            },
            measured=round(short.rise_ohm * 1000, 4),
            limit=limits.reserve_mohm,
            unit="mohm",
            follows_from=("ground.joint_reserve", short.cause) if short.cause else copper_cause(design, short.victim),
        )


def _harm(design: Design, short: Short) -> str:
    """What happens to a victim whose limit is crossed."""
    kind = short.victim.kind
    if kind == "coil input, off":
        return "fire by itself"
    if kind == "coil input, on":
        return "miss its spark"
    error, unit = reading_error(kind, short.limit_v, design.given)
    if error is not None:
        more = ("hotter" if error > 0 else "colder") if unit == "K" else ("more" if error > 0 else "less")
        return f"read {figures(abs(error))} {unit} {more}"
    side = "above" if short.reserve.upward else "below"
    return f"stand {figures(abs(short.limit_v))} V {side} {short.victim.controller.name}"
