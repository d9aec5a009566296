"""Checks on sensor grounds: back to the controller, and nowhere else; and what is read wrong because of them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from harnessdrc.checks.foreigncurrents import Foreign, foreign_currents
from harnessdrc.checks.offsets import Judged, copper_cause, judge, lacking_words, tell, unsolved, victim_subjects
from harnessdrc.checks.registry import Outcome, check, limit
from harnessdrc.design import Contact, Design, Device, Net
from harnessdrc.design.analysis import Victim
from harnessdrc.design.analysis.limits import OffsetLimits
from harnessdrc.design.analysis.limits import reading_error as error_of_reading
from harnessdrc.findings import Finding, Mark, Subject, Undecided
from harnessdrc.harness.elements import rigid_body
from harnessdrc.harness.roles import GROUND_ROLES, RETURN_ROLES

__all__ = ["body_grounded", "reading_error", "return_elsewhere", "return_second_path", "shared_return"]

_SIGNALS = frozenset({"analogue signal", "temperature signal", "trigger signal +", "digital signal"})


def _read_by_controller(design: Design, device: Device) -> bool:
    """Whether a sensor's signal goes to a controller; a gauge's sender is another matter."""
    for contact in device.contacts:
        net = design.net.net(contact)
        if net is None or design.role(contact) in RETURN_ROLES:
            continue
        if any(design.devices.on_controller(member) for member in net.contacts):
            return True
    return False


def _sensors(design: Design, limits: None) -> list[Device]:
    return [d for d in design.devices.sensors if d.contacts and _read_by_controller(design, d)]


def _with_return(design: Design, limits: None) -> list[Device]:
    return [d for d in _sensors(design, limits) if design.devices.with_role(d, *RETURN_ROLES)]


def _earth_mark(design: Design, net: Net) -> tuple[Mark, ...]:
    earth, wire = net.earths[0]
    return (Mark(wire.end_place(earth), f"earth point {design.label(earth)}"),)


@check(
    "sensor.return_elsewhere",
    counts="sensors with a return wire",
    subjects=lambda design, limits: [d.subject for d in _with_return(design, limits)],
    reads=("from_item", "to_item", "signal"),
    says={
        "earth": "{contact}, the return of {subject}, goes to the earth point {earth} and not to a sensor "
        "ground of the controller: every offset between the two is read as signal.",
        "power": "{contact}, the return of {subject}, goes to {other}, a power ground: the drop of the "
        "currents there is read as signal.",
        "nowhere": "{contact}, the return of {subject}, reaches no sensor ground of the controller.",
    },
    remedy={
        "earth": "Take the return of {subject} to {home}.",
        "power": "Take the return of {subject} to {home}.",
        "nowhere": "Take the return of {subject} to {home}.",
    },
)
def return_elsewhere(design: Design, limits: None) -> Iterator[Outcome]:
    """The return of a sensor does not go to the controller's sensor ground.

    Why it matters: A sensor returned to the engine or to a power ground is read together with the drop
    between that place and the controller; the reading shifts with injector duty, charging and cranking.
    Reads: From, To and Signal of the wire list, the roles of pins.
    Decides: Follows the copper from each return of a sensor that a controller reads; the net must have a
    sensor ground (or a negative trigger input) of a controller in it.
    Stays silent when: such a pin is reached. A second way out is another check's.
    Source: common practice, no source; AC 43.13-1B 11-186f on signal grounds in power returns.
    """
    homes = design.devices.controller_contacts(*RETURN_ROLES)
    home_names = sorted(design.label(c) for c in design.devices.controller_contacts("sensor ground")) or sorted(
        design.label(c) for c in homes
    )
    for device in _with_return(design, limits):
        for contact in design.devices.with_role(device, *RETURN_ROLES):
            net = design.net.net(contact)
            members = set(net.contacts) if net else set()
            if members & homes:
                continue
            if not homes:
                yield Undecided(
                    device.subject,
                    ("which pins of the controller are its sensor grounds (signal or role)",),
                    design.devices.mark(contact),
                )
                break
            home = " or ".join(home_names[:2])
            evidence = {"contact": design.label(contact), "home": home}
            marks = design.devices.mark(contact, f"return of {device.name}")
            power = sorted(c for c in members if c not in device.contacts and design.role(c) in GROUND_ROLES)
            unknown = sorted(c for c in members if design.devices.on_controller(c) and design.role(c) is None)
            if net and net.earths:
                evidence["earth"] = design.label(net.earths[0][0])
                evidence["way"] = design.grounds.way(contact, net.earths[0][0])
                yield Finding(device.subject, _earth_mark(design, net) + marks, evidence, variant="earth")
            elif power:
                evidence["other"] = design.label(power[0])
                yield Finding(device.subject, marks + design.devices.mark(power[0]), evidence, variant="power")
            elif unknown:
                yield Undecided(
                    device.subject,
                    (f"role of {design.label(unknown[0])}",),
                    design.devices.mark(unknown[0]),
                )
            else:
                yield Finding(device.subject, marks, evidence, variant="nowhere")
            break


def _ground_nets(design: Design, limits: None) -> list[tuple[Subject, Net, Contact]]:
    """Nets with a sensor ground of a controller, each named by its first such pin."""
    nets: dict[int, Contact] = {}
    for contact in sorted(design.devices.controller_contacts("sensor ground")):
        number = design.net.net_of.get(contact)
        if number is not None:
            nets.setdefault(number, contact)
    return [
        (("net", f"sensor ground {design.label(pin)}"), design.net.nets[number], pin) for number, pin in nets.items()
    ]


@check(
    "sensor.return_second_path",
    counts="sensor-ground nets of controllers",
    subjects=lambda design, limits: [subject for subject, _, _ in _ground_nets(design, limits)],
    reads=("from_item", "to_item", "signal"),
    says={
        "earth": "{subject} is also earthed at {earth}: {way}. Power current then flows in the sensor ground "
        "and through the controller's board.",
        "power": "{subject} also carries the ground of {other}: {way}. Its current drops volts that every "
        "sensor on this ground reads.",
    },
    remedy={
        "earth": "Take wire {wire} away: the sensor ground has one way out, the controller's pin.",
        "power": "Take {other} off the sensor ground (wire {wire}) and to the power ground.",
    },
)
def return_second_path(design: Design, limits: None) -> Iterator[Outcome]:
    """The controller's sensor ground has a second way out, to a body, the engine or a power ground.

    Why it matters: Starter, charging and load currents then share the sensor-ground wires and the track
    on the controller's board that joins the grounds; readings shift, and the track can burn out.
    Reads: From, To and Signal of the wire list, the roles of pins, the earth points.
    Decides: Looks at every member of each net that holds a sensor ground of a controller: an earth point,
    or a power ground of any device, is a finding, with the way to it.
    Stays silent when: only sensors, splices, connectors and sensor grounds are on the net.
    Source: common practice, no source; AC 43.13-1B 11-186f on signal grounds in power returns.
    """
    for subject, net, pin in _ground_nets(design, limits):
        if net.earths:
            earth, wire = net.earths[0]
            yield Finding(
                subject,
                (
                    Mark(wire.end_place(earth), "second way out"),
                    *design.devices.mark(pin, "sensor ground of the controller"),
                ),
                {
                    "earth": design.label(earth),
                    "wire": wire.name,
                    "way": design.grounds.way(pin, earth),
                },
                variant="earth",
            )
            continue
        others = sorted(c for c in net.contacts if design.role(c) in GROUND_ROLES)
        if others:
            other = others[0]
            path = design.net.path(pin, other)
            wires = design.net.wires_along(path)
            yield Finding(
                subject,
                design.devices.mark(other, f"power ground {design.label(other)}")
                + design.devices.mark(pin, "sensor ground of the controller"),
                {
                    "other": design.label(other),
                    "wire": wires[-1].name if wires else "",
                    "way": design.grounds.way(pin, other),
                },
                variant="power",
            )


def _body_grounded(design: Design, limits: None) -> list[tuple[Device, str | None, tuple[Mark, ...]]]:
    """Sensors earthed by their case or returned to an earth point, with that body."""
    found: list[tuple[Device, str | None, tuple[Mark, ...]]] = []
    for device in _sensors(design, limits):
        returns = design.devices.with_role(device, *RETURN_ROLES)
        if device.item.case_earthed:
            found.append((device, rigid_body(device.body), design.devices.mark_device(device)))
            continue
        for contact in returns:
            net = design.net.net(contact)
            if net and net.earths:
                found.append((device, design.devices.rigid(net.earths[0][0]), design.devices.mark(contact)))
                break
        else:
            signals = [c for c in device.contacts if design.role(c) in _SIGNALS]
            if len(device.contacts) == 1 and signals and device.kind in (
                "temperature sensor", "pressure sensor", "knock sensor",
            ):  # fmt: skip
                found.append((device, rigid_body(device.body), design.devices.mark_device(device)))
    return found


@check(
    "sensor.body_grounded",
    counts="sensors earthed by their body",
    subjects=lambda design, limits: [d.subject for d, _, _ in _body_grounded(design, limits)],
    reads=("from_item", "to_item"),
    says={
        "": "{subject} is earthed on the {body}, but the controller's earth point is {star}: whatever the "
        "straps between the two drop is added to its reading.",
    },
    remedy={
        "": "Earth the controller on the {body}, or fit a sensor with its own return wire to the "
        "controller's sensor ground.",
    },
)
def body_grounded(design: Design, limits: None) -> Iterator[Outcome]:
    """A sensor is earthed by its body while the controller's earth point stands elsewhere.

    Why it matters: A sensor that uses the engine as its return forces the star point to the engine; with
    the controller earthed at the battery or chassis, charging lifts and cranking drops its reading.
    Reads: From and To of the wire list, Place and Earthed by its case of the component list.
    Decides: For every sensor that a controller reads and that is earthed by its case, by its single wire or
    by a return to an earth point: its body and the body of the controller's earth point must be the same
    (head, block and engine are one).
    Stays silent when: both stand on the same body.
    Source: common practice, no source.
    """
    star = design.grounds.star
    bodies = {design.devices.rigid(r.earth) for r in star}
    for device, body, marks in _body_grounded(design, limits):
        if body is None:
            yield Undecided(device.subject, (f"place of {device.name} (what it is bolted to)",), marks)
        elif not star or None in bodies:
            yield Undecided(
                device.subject,
                ("the controller's earth point and its body",),
                marks,
            )
        elif body not in bodies:
            first = star[0]
            yield Finding(
                device.subject,
                (*marks, Mark(first.wire.end_place(first.earth), "earth point of the controller")),
                {
                    "body": body,
                    "star": f"{design.label(first.earth)} ({design.devices.body(first.earth)})",
                },
            )


@dataclass(frozen=True, slots=True)
class ReadingLimits:
    """How wrong a reading may be."""

    temperature_k: float = limit(2.0, "K", "error of a temperature that is harmless")
    ratiometric_percent: float = limit(1.0, "percent", "error of a pressure or position, per cent of its span")
    trigger_mv: float = limit(500.0, "mV", "offset of a Hall sensor's ground to either side")
    joints: Literal["new", "aged"] = limit("new", "", "joints as new or aged")


_READINGS = ("temperature reading", "ratiometric reading", "trigger level")


def _home_advice(design: Design, victim: Victim, otherwise: str) -> str:
    """What to do about a reading: its return to the controller first, if it does not go there."""
    name, controller = victim.device.name, victim.controller
    grounds = design.devices.with_role(controller, *RETURN_ROLES)
    home = min(map(design.label, grounds), default=f"the sensor ground of {controller.name}")
    if not isinstance(victim.ground, Contact):
        return f"Fit a sensor with a return wire of its own to {home}, or earth {controller.name} beside {name}."
    net = design.net.net(victim.ground)
    if net is None or not set(net.contacts) & set(grounds):
        return f"Take the return of {name} to {home}."
    return otherwise


def _limit_of(limits: ReadingLimits, judged: Judged, fault: bool) -> tuple[float, str, str]:
    """Limit, unit and sentence of a reading."""
    kind = judged.victim.kind
    if kind == "trigger level":
        return limits.trigger_mv, "mV", "trigger"
    if fault:
        return round(abs(judged.worst.limit_v) * 1000, 3), "mV", "fault"
    if kind == "temperature reading":
        return limits.temperature_k, "K", "temperature"
    return limits.ratiometric_percent, "percent", "ratiometric"


def _size_of_error(design: Design, judged: Judged, offset_v: float) -> float:
    """Size of the error that an offset makes, in the unit of its limit; inf for a sensor fault."""
    error, _ = error_of_reading(judged.victim.kind, offset_v, design.given)
    return abs(offset_v) * 1000 if error is None else abs(error)


@check(
    "sensor.reading_error",
    counts="sensors read against the controller's ground",
    subjects=lambda design, limits: victim_subjects(design, *_READINGS),
    reads=("from_item", "to_item", "size", "length_m", "current_a"),
    limits=ReadingLimits,
    says={
        "temperature": "{subject} reads {measured} too {wrong} at {state} (limit {limit}, {joints}), because its "
        "ground lies {size_mv} mV {side} that of {controller}: {shares_text}. Most of it is dropped in {joint_text}.",
        "ratiometric": "{subject} reads {measured} of its span too {wrong} at {state} (limit {limit}, {joints}), "
        "because its ground lies {size_mv} mV {side} that of {controller}: {shares_text}. Most of it is dropped in "
        "{joint_text}.",
        "fault": "{subject} reads as a sensor fault at {state}: its ground lies {measured} {side} that of "
        "{controller} (limit {limit} for {allowed} K, {joints}): {shares_text}. Most of it is dropped in {joint_text}.",
        "trigger": "The level of {subject} lies {measured} {side} what {controller} expects at {state} (limit {limit}, "
        "{joints}): {shares_text}. Most of it is dropped in {joint_text}.",
    },
    remedy={"temperature": "{advice}", "ratiometric": "{advice}", "fault": "{advice}", "trigger": "{advice}"},
)
def reading_error(design: Design, limits: ReadingLimits) -> Iterator[Outcome]:
    """A sensor reads wrong because its ground lies above or below the controller's sensor ground.

    Why it matters: The controller takes the offset for a part of the signal: mixture, ignition and fan follow a
    temperature or a pressure that is not there, and a trigger level moves towards its threshold.
    Reads: From, To, Size and Length of the wire list, Current of wires and components, earth points, straps, joints.
    Decides: Solves the network of all feeds and returns in every operating state and takes the worst instant u of
    the sensor's ground less the controller's sensor ground, V. Temperature: V = (5 R + u Rp) / (R + Rp) at ntc_degc,
    turned back through the sensor's table, in K. Ratiometric: u (1 - k) / 4 V, in per cent of span, at
    ratiometric_fraction. Hall sensor: u in mV. Where lengths, sizes, straps or currents are lacking it is a finding
    only if the whole range is over. With joints "aged" only what is within the limits as new is told.
    Stays silent when: the error stays within its limit in all states. Reluctor and knock sensors give a difference
    and are not looked at, nor is a sensor whose ground is not known.
    Source: common practice, no source for the limits; table of the temperature sensor from memory; circuit laws.
    """
    held = OffsetLimits(
        temperature_k=limits.temperature_k,
        ratiometric_percent=limits.ratiometric_percent,
        trigger_mv=limits.trigger_mv,
    )
    aged = limits.joints == "aged"
    yield from unsolved(design, *_READINGS)
    judged = list(judge(design, _READINGS, held, aged=aged))
    told, causes = tell(design, [j for j in judged if j.verdict == "over"], aged=aged)
    for each in told:
        victim, worst = each.judged.victim, each.judged.worst
        size = _size_of_error(design, each.judged, worst.offset_v)
        allowed, unit, variant = _limit_of(limits, each.judged, math.isinf(size))
        high = ("hot", "cold") if victim.kind == "temperature reading" else ("low", "high")
        evidence = {
            **each.evidence,
            "advice": _home_advice(design, victim, each.evidence["advice"]),
            "wrong": high[worst.offset_v > 0],
            "allowed": f"{limits.temperature_k:g}",
        }
        cause = causes.get(each.subject)
        yield Finding(
            each.subject,
            each.marks,
            evidence,
            measured=round(abs(worst.offset_v) * 1000 if variant == "fault" else size, 4),
            limit=allowed,
            unit=unit,
            variant=variant,
            follows_from=copper_cause(design, victim) or (("sensor.reading_error", cause) if cause else None),
        )
    for one in judged:
        if one.verdict != "open" or one.range is None:
            continue
        sizes = [_size_of_error(design, one, volts) for volts in (one.range.low_v, one.range.high_v)]
        fault = any(map(math.isinf, sizes))
        allowed, unit, _ = _limit_of(limits, one, fault)
        ends = [one.range.low_v * 1000, one.range.high_v * 1000] if fault else sizes
        if not fault and one.range.low_v < 0 < one.range.high_v:
            ends.append(0.0)
        yield Undecided(
            one.victim.subject, one.lacking, one.victim.mark, round(min(ends), 4), round(max(ends), 4), allowed, unit
        )


@dataclass(frozen=True, slots=True)
class SharedReturnLimits:
    """What a sensor ground may carry beside its sensors."""

    power_ma: float = limit(50.0, "mA", "current in a sensor-ground wire that is not its sensors' own")


@check(
    "sensor.shared_return",
    counts="sensor-ground nets of controllers",
    subjects=lambda design, limits: [subject for subject, _, _ in _ground_nets(design, limits)],
    reads=("from_item", "to_item", "signal", "current_a"),
    limits=SharedReturnLimits,
    says={
        "earth": "Wire {wire} of the {subject_text} carries {measured} at {state} that is not its sensors' own (limit "
        "{limit}): {loads_text}. The sensor ground is also earthed at {earth}, and lies beside the power grounds.",
        "load": "Wire {wire} of the {subject_text} carries {measured} at {state} that is not its sensors' own (limit "
        "{limit}): {loads_text}.",
    },
    remedy={
        "earth": "Part the sensor ground from {earth}: its one way out is the controller's pin.",
        "load": "Give {first_load} a return of its own to the power ground.",
    },
)
def shared_return(design: Design, limits: SharedReturnLimits) -> Iterator[Outcome]:
    """Power current flows in the sensor-ground wires of a controller.

    Why it matters: What it drops there is read as signal by every sensor on that wire, and the track that joins
    sensor ground and power ground on the controller's board is not made for amperes.
    Reads: From, To and Signal of the wire list, Size and Length, Current of wires and components, earth points.
    Decides: Solves the network of all feeds and returns in every operating state. In mA, for every wire on a net that
    holds a sensor ground of a controller: the average or the greatest current at any instant, less what the sensors
    themselves draw in it. Whose current it is follows by superposition. What a list does not give of a loop's sizes
    and lengths is taken as usual.
    Stays silent when: no wire of the net carries more than the limit beside its sensors' own current.
    Source: common practice, no source: a return for signals is worth a look from 50 mA.
    """
    nets = _ground_nets(design, None)
    words = lacking_words(design)
    if words:
        for subject, _, pin in nets:
            yield Undecided(subject, words, design.devices.mark(pin))
        return
    found = foreign_currents(design, {net.number: net for _, net, _ in nets}, limits.power_ma / 1000)
    unknown = {
        number: port.name
        for port, lacking in zip(design.circuit.ports, design.analysis.currents.unknown.tolist(), strict=True)
        if lacking and port.device is not None
        for contact in port.device.contacts
        if (number := design.net.net_of.get(contact)) is not None and design.role(contact) in _RETURNS
    }
    for subject, net, pin in nets:
        foreign = found.get(net.number)
        if foreign is not None:
            yield _shared_finding(design, subject, net, pin, foreign, limits.power_ma)
        elif net.number in unknown:
            yield Undecided(subject, (f"current of {unknown[net.number]}",), design.devices.mark(pin))


_RETURNS = GROUND_ROLES | set(RETURN_ROLES)


def _shared_finding(
    design: Design, subject: Subject, net: Net, pin: Contact, foreign: Foreign, limit_ma: float
) -> Finding:
    place = foreign.wire.place.of("wire", "from_item")
    carried = Mark(place, f"{foreign.whole_a * 1000:.0f} mA")
    marks = (carried, *design.devices.mark(pin, "sensor ground of the controller"))
    explained = bool(net.earths) or any(design.role(c) in GROUND_ROLES for c in net.contacts)
    return Finding(
        subject,
        marks,
        {
            "subject_text": subject[1],
            "wire": foreign.wire.name,
            "state": foreign.state,
            "loads": [{"source": name, "ma": round(amps * 1000, 3)} for name, amps in foreign.sources],
            "loads_text": ", ".join(f"{name} {amps * 1000:+.0f} mA" for name, amps in foreign.sources)
            or "no load by itself",
            "first_load": foreign.sources[0][0] if foreign.sources else "what leads it there",
            "earth": design.label(net.earths[0][0]) if net.earths else "no earth point",
        },
        measured=round(foreign.amps * 1000, 3),
        limit=limit_ma,
        unit="mA",
        variant="earth" if net.earths else "load",
        follows_from=("sensor.return_second_path", subject) if explained else None,
    )
