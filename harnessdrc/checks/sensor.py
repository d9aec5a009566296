"""Checks on sensor grounds: back to the controller, and nowhere else."""

from __future__ import annotations

from collections.abc import Iterator

from harnessdrc.checks.registry import Outcome, check
from harnessdrc.design import Contact, Design, Device, Net
from harnessdrc.findings import Finding, Mark, Subject, Undecided
from harnessdrc.harness.elements import rigid_body
from harnessdrc.harness.roles import GROUND_ROLES, RETURN_ROLES

__all__ = ["body_grounded", "return_elsewhere", "return_second_path"]

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
