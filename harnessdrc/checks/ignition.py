"""Checks on coils: where the high-voltage current returns, what closes its loop, and what their inputs see."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from harnessdrc.checks.offsets import Judged, copper_cause, judge, tell, unsolved, victim_subjects
from harnessdrc.checks.registry import Outcome, check, limit
from harnessdrc.design import Contact, Design, Device
from harnessdrc.design.analysis.limits import OffsetLimits
from harnessdrc.findings import Finding, Mark, Subject, Undecided
from harnessdrc.harness.elements import rigid_body

__all__ = ["capacitor", "high_voltage_return", "input_offset"]


@dataclass(frozen=True, slots=True)
class ReturnLimits:
    """Where the return may end."""

    bodies: tuple[str, ...] = limit(("head",), "", "bodies at which the high-voltage return may end")


def _return_contacts(design: Design, coil: Device) -> list[Contact]:
    own = design.devices.with_role(coil, "coil high-voltage return")
    return own or design.devices.with_role(coil, "coil ground", "power ground")


def _way_back(design: Design, body: str) -> str:
    """Way of the spark current from the plug's seat to the body at which a coil's return ends."""
    rigid = rigid_body(body) or ""
    return "the joint of head and block" if rigid == "engine" else design.grounds.strap_way("engine", rigid)


def _earthed_coils(design: Design) -> list[Device]:
    return [coil for coil in design.devices.of_kind("coil") if _return_contacts(design, coil) or coil.item.case_earthed]


@check(
    "ignition.high_voltage_return",
    counts="coils with a ground of their own",
    subjects=lambda design, limits: [coil.subject for coil in _earthed_coils(design)],
    reads=("from_item", "to_item"),
    limits=ReturnLimits,
    says={
        "": "The high-voltage return of {subject}, {contact}, ends at {earth} on the {body}: the spark "
        "current runs from the plug through {way_back} before it is back at the coil.",
        "open": "The high-voltage return of {subject}, {contact}, reaches no earth point.",
        "case": "The high-voltage return of {subject}, its case, is on the {body}: the spark current runs from "
        "the plug through {way_back} before it is back at the coil.",
    },
    remedy={
        "": "Take wire {wire} to an earth point on the cylinder head, beside the plugs.",
        "open": "Take {contact} to an earth point on the cylinder head, beside the plugs.",
        "case": "Bolt {subject} to the cylinder head, or fit a short strap from its case to the head.",
    },
)
def high_voltage_return(design: Design, limits: ReturnLimits) -> Iterator[Outcome]:
    """The high-voltage current of a coil does not return at the cylinder head.

    Why it matters: The spark current starts at the plug's seat in the head. If the coil's return is
    elsewhere, amperes with nanosecond edges run through straps and looms; the loop is large and trigger
    wires pick it up.
    Reads: From and To of the wire list, the roles of the coil's pins, the bodies of the earth points.
    Decides: Follows the copper from the coil's high-voltage return (for a coil with one shared ground, from
    that) to its earth points; all must stand on one of the bodies allowed.
    Stays silent when: it ends at the head. A two-terminal coil is looked at by ignition.capacitor.
    Source: common practice, no source.
    """
    for coil in _earthed_coils(design):
        contacts = _return_contacts(design, coil)
        if not contacts:
            if coil.body in limits.bodies:
                continue
            if coil.body is None or coil.body == "engine":
                yield Undecided(
                    coil.subject, (f"place of {coil.name}: head or block",), design.devices.mark_device(coil)
                )
                continue
            yield Finding(
                coil.subject,
                design.devices.mark_device(coil),
                {"body": coil.body, "way_back": _way_back(design, coil.body)},
                variant="case",
            )
            continue
        reached = design.grounds.reached(contacts)
        if not reached:
            yield Finding(
                coil.subject,
                design.devices.mark(contacts[0], "high-voltage return"),
                {"contact": design.label(contacts[0])},
                variant="open",
                follows_from=("ground.no_return", coil.subject),
            )
            continue
        bodies = [design.devices.body(r.earth) for r in reached]
        vague = [
            r
            for r, body in zip(reached, bodies, strict=True)
            if body is None or (body == "engine" and "engine" not in limits.bodies)
        ]
        far = [r for r, body in zip(reached, bodies, strict=True) if body not in limits.bodies and r not in vague]
        if far:
            first = far[0]
            body = bodies[reached.index(first)] or ""
            yield Finding(
                coil.subject,
                (
                    Mark(first.wire.end_place(first.earth), "end of the high-voltage return"),
                    *design.devices.mark(first.start, "high-voltage return"),
                ),
                {
                    "contact": design.label(first.start),
                    "earth": design.label(first.earth),
                    "body": body,
                    "wire": first.wire.name,
                    "way_back": _way_back(design, body),
                },
            )
        elif vague:
            yield Undecided(
                coil.subject,
                (f"body of earth point {design.label(vague[0].earth)}: head or block",),
                (
                    *design.devices.mark(vague[0].start),
                    Mark(vague[0].wire.end_place(vague[0].earth), design.label(vague[0].earth)),
                ),
            )


def _terminal_of(design: Design, contact: Contact) -> str:
    """Positive terminal in a sentence, of a coil whose terminals are not named too."""
    return design.label(contact) if contact.cavity and not contact.cavity.startswith("?") else "the + terminal"


def _positive(design: Design, coil: Device) -> Contact | None:
    found = design.devices.with_role(coil, "load feed", "switched feed", "fused feed", "battery feed")
    return found[0] if found else None


def _two_terminal(design: Design) -> list[Device]:
    """Coils without a ground: a feed and a switched side (one per output for a twin coil)."""
    return [
        coil
        for coil in design.devices.of_kind("coil")
        if coil.contacts
        and not _return_contacts(design, coil)
        and not coil.item.case_earthed
        and design.devices.with_role(coil, "coil primary -", "coil input")
        and not (design.devices.with_role(coil, "coil input") and len(coil.contacts) > 2)
    ]


@check(
    "ignition.capacitor",
    counts="two-terminal coils",
    subjects=lambda design, limits: [coil.subject for coil in _two_terminal(design)],
    reads=("from_item", "to_item"),
    says={
        "": "{subject} has two terminals, and there is no capacitor from {contact}, its positive, to the "
        "engine: its high-voltage current returns through the feed, the fuses, the battery and the straps.",
        "elsewhere": "The capacitor {capacitor} on the positive of {subject} is earthed at {earth} on the "
        "{body}, not on the engine: the high-voltage current returns through the straps.",
    },
    remedy={
        "": "Fit a suppression capacitor between {contact} and the engine, close to the coil.",
        "elsewhere": "Earth {capacitor} on the engine, close to the coil.",
    },
)
def capacitor(design: Design, limits: None) -> Iterator[Outcome]:
    """A two-terminal coil has no suppression capacitor from its positive to the engine.

    Why it matters: The secondary of a two-terminal coil ends on its primary. Without a capacitor its
    spark current has only the feed to return by, along the loom, the fuses, the battery and the straps.
    Reads: From and To of the wire list, the component list (kind capacitor).
    Decides: A capacitor must stand on the net of the coil's positive terminal, and its other side must
    reach an earth point on the engine (head, block or engine) or be earthed there by its case.
    Stays silent when: such a capacitor is there, or the coil has a ground of its own.
    Source: common practice, no source.
    """
    capacitors = design.devices.of_kind("capacitor")
    for coil in _two_terminal(design):
        positive = _positive(design, coil)
        if positive is None:
            yield Undecided(
                coil.subject,
                (f"which pin of {coil.name} is its positive (signal or role)",),
                design.devices.mark_device(coil),
            )
            continue
        net = design.net.net(positive)
        members = set(net.contacts) if net else {positive}
        best: Finding | Undecided | None = Finding(
            coil.subject,
            design.devices.mark(positive, "positive of the coil"),
            {"contact": _terminal_of(design, positive)},
        )
        for device in capacitors:
            if not members & set(device.contacts):
                continue
            others = [c for c in device.contacts if c not in members]
            reached = design.grounds.reached(others)
            bodies = [design.devices.rigid(r.earth) for r in reached]
            if device.item.case_earthed or (not others and device.body):
                bodies.append(rigid_body(device.body))
            if "engine" in bodies:
                best = None
                break
            if None in bodies or not bodies:
                best = Undecided(
                    coil.subject,
                    (f"where {device.name} is earthed",),
                    design.devices.mark_device(device),
                )
                continue
            if isinstance(best, Undecided):
                continue
            best = Finding(
                coil.subject,
                design.devices.mark_device(device) + design.devices.mark(positive, "positive of the coil"),
                {
                    "contact": _terminal_of(design, positive),
                    "capacitor": device.name,
                    "earth": design.label(reached[0].earth) if reached else "its case",
                    "body": bodies[0],
                },
                variant="elsewhere",
            )
        if best is not None:
            yield best


@dataclass(frozen=True, slots=True)
class InputLimits:
    """What the input of a coil or an igniter makes of its voltage."""

    on_mv: float = limit(700.0, "mV", "voltage at the input above which a coil may switch on")
    surely_on_mv: float = limit(2500.0, "mV", "voltage at the input from which a coil switches on for certain")
    joints: Literal["new", "aged"] = limit("new", "", "joints as new or aged")


_OFF, _ON = "coil input, off", "coil input, on"


def _input_mv(design: Design, kind: str, offset_v: float) -> float:
    """Voltage at a coil's input against its own ground, mV."""
    output_mv = design.given["output_low_mv" if kind == _OFF else "output_high_mv"]
    return output_mv - offset_v * 1000


@check(
    "ignition.input_offset",
    counts="coils and igniters driven by a controller",
    subjects=lambda design, limits: victim_subjects(design, _OFF, _ON),
    reads=("from_item", "to_item", "size", "length_m", "current_a"),
    limits=InputLimits,
    says={
        "fires": "{subject} may fire by itself at {state}: with the controller's output off {measured} stand at its "
        "input (limit {limit}, {joints}), because its ground lies {size_mv} mV {side} that of {controller}: "
        "{shares_text}. Most of it is dropped in {joint_text}.",
        "weak": "{subject} is not sure to switch on at {state}: with the controller's output on only {measured} stand "
        "at its input (limit {limit}, {joints}), because its ground lies {size_mv} mV {side} that of {controller}: "
        "{shares_text}. Most of it is dropped in {joint_text}.",
    },
    remedy={"fires": "{advice}", "weak": "{advice}"},
)
def input_offset(design: Design, limits: InputLimits) -> Iterator[Outcome]:
    """An offset of grounds switches a coil or igniter on by itself, or keeps it from switching on.

    Why it matters: The coil holds its input against its own ground, the controller drives it against the
    controller's. With the coil's ground low the input looks high while it is off: the coil charges and sparks at
    any moment, into an open inlet. With it high the drive gets too low and the spark stays out. Charging lifts the
    battery's negative above the engine and does the first, cranking does the second.
    Reads: From, To, Size and Length of the wire list, Current of wires and components, earth points, straps, joints.
    Decides: Solves the network of all feeds and returns in every operating state and takes the worst instant of the
    pulsing loads. In mV at the input: output_low_mv - offset must stay at or below on_mv, with the coil's own
    current off; output_high_mv - offset at or above surely_on_mv, with it on; offset = coil's ground less
    controller's. Where lengths, sizes, straps or currents are lacking it is a finding only if the whole range is over.
    With joints "aged" only what is within the limits as new is told.
    Stays silent when: both stay within their limits in all states, or the coil has no input or no ground of its own.
    Source: common practice, no source: coils switch on between 0.6 and 1.5 V, logic inputs for certain at 2.0 to
    2.5 V. Network by Ohm's and Kirchhoff's laws; copper by ISO 6722 maxima or ASTM B258.
    """
    held = OffsetLimits(coil_on_mv=limits.on_mv, coil_surely_on_mv=limits.surely_on_mv)
    aged = limits.joints == "aged"
    yield from unsolved(design, _OFF, _ON)
    over: dict[Subject, Judged] = {}
    open_: dict[Subject, Judged] = {}
    for judged in judge(design, (_OFF, _ON), held, aged=aged):
        # A coil that does both is told to fire by itself: that is looked at first, and does more harm.
        if judged.verdict == "over":
            over.setdefault(judged.victim.subject, judged)
        elif judged.verdict == "open":
            open_.setdefault(judged.victim.subject, judged)
    told, causes = tell(design, list(over.values()), aged=aged)
    for each in told:
        fires = each.judged.victim.kind == _OFF
        cause = causes.get(each.subject)
        yield Finding(
            each.subject,
            each.marks,
            each.evidence,
            measured=round(_input_mv(design, each.judged.victim.kind, each.judged.worst.offset_v), 3),
            limit=limits.on_mv if fires else limits.surely_on_mv,
            unit="mV",
            variant="fires" if fires else "weak",
            follows_from=("ignition.input_offset", cause) if cause else copper_cause(design, each.judged.victim),
        )
    for subject, judged in open_.items():
        if subject in over or judged.range is None:
            continue
        ends = [_input_mv(design, judged.victim.kind, volts) for volts in (judged.range.low_v, judged.range.high_v)]
        yield Undecided(
            subject,
            judged.lacking,
            judged.victim.mark,
            round(min(ends), 3),
            round(max(ends), 3),
            limits.on_mv if judged.victim.kind == _OFF else limits.surely_on_mv,
            "mV",
        )
