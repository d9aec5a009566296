"""Checks on coils: where the high-voltage current returns and what closes its loop, their inputs, their noise."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from harnessdrc.checks.offsets import Judged, copper_cause, judge, tell, unsolved, victim_subjects
from harnessdrc.checks.registry import Outcome, check, limit
from harnessdrc.checks.sparknoise import SparkNoise
from harnessdrc.design import Contact, Design, Device
from harnessdrc.design.analysis.limits import OffsetLimits
from harnessdrc.design.loops import CoilSet, HighVoltage
from harnessdrc.design.loops.coils import positive, return_contacts, two_terminal
from harnessdrc.findings import Finding, Mark, Subject, Undecided
from harnessdrc.harness.elements import rigid_body
from harnessdrc.physics.discharge import Influence

__all__ = ["capacitor", "high_voltage_return", "input_offset", "loop_area", "noise_source", "shared_return"]


@dataclass(frozen=True, slots=True)
class ReturnLimits:
    """Where the return may end."""

    bodies: tuple[str, ...] = limit(("head",), "", "bodies at which the high-voltage return may end")


def _way_back(design: Design, body: str) -> str:
    """Way of the spark current from the plug's seat to the body at which a coil's return ends."""
    rigid = rigid_body(body) or ""
    return "the joint of head and block" if rigid == "engine" else design.grounds.strap_way("engine", rigid)


def _wasted(design: Design) -> set[str]:
    """Keys of coils that fire two plugs at once."""
    return {each.coil.key for each in design.loops.coils if each.style == "wasted spark"}


def _earthed_coils(design: Design) -> list[Device]:
    """Coils with a ground, those left out whose spark goes from plug to plug through the head."""
    wasted = _wasted(design)
    return [
        coil
        for coil in design.devices.of_kind("coil")
        if coil.key not in wasted and (return_contacts(design.devices, coil) or coil.item.case_earthed)
    ]


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
    Stays silent when: it ends at the head. A two-terminal coil is looked at by ignition.capacitor; a coil that fires
    two plugs at once returns its spark through the head whatever its wires do.
    Source: common practice, no source.
    """
    for coil in _earthed_coils(design):
        contacts = return_contacts(design.devices, coil)
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


def _two_terminal(design: Design) -> list[Device]:
    """Coils without a ground: a feed and a switched side (one per output for a twin coil)."""
    return [coil for coil in design.devices.of_kind("coil") if two_terminal(design.devices, coil)]


@check(
    "ignition.capacitor",
    counts="two-terminal coils",
    subjects=lambda design, limits: [coil.subject for coil in _two_terminal(design)],
    reads=("from_item", "to_item"),
    says={
        "": "{subject} has two terminals, and there is no capacitor from {contact}, its positive, to the "
        "engine: its high-voltage current returns through the feed, the fuses, the battery and the straps.",
        "wasted": "{subject} has two terminals, and there is no capacitor from {contact}, its positive, to the engine: "
        "its spark runs from plug to plug, but what its windings pass on to the primary returns through the feed, the "
        "fuses, the battery and the straps.",
        "elsewhere": "The capacitor {capacitor} on the positive of {subject} is earthed at {earth} on the "
        "{body}, not on the engine: the high-voltage current returns through the straps.",
    },
    remedy={
        "": "Fit a suppression capacitor between {contact} and the engine, close to the coil.",
        "wasted": "Fit a suppression capacitor between {contact} and the engine, close to the coil.",
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
    wasted = _wasted(design)
    for coil in _two_terminal(design):
        plus = positive(design.devices, coil)
        if plus is None:
            yield Undecided(
                coil.subject,
                (f"which pin of {coil.name} is its positive (signal or role)",),
                design.devices.mark_device(coil),
            )
            continue
        best: Finding | Undecided | None = Finding(
            coil.subject,
            design.devices.mark(plus, "positive of the coil"),
            {"contact": _terminal_of(design, plus)},
            variant="wasted" if coil.key in wasted else "",
        )
        for device, _, others in design.loops.ways.capacitors_on(plus):
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
                design.devices.mark_device(device) + design.devices.mark(plus, "positive of the coil"),
                {
                    "contact": _terminal_of(design, plus),
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


@dataclass(frozen=True, slots=True)
class NoiseLimits:
    """How much noisier than usual a spark may be."""

    edge_times: float = limit(3.0, "times", "rise of the current at breakdown, as a multiple of the usual one")


_CAUSE = {"plain plug": "plug", "solid lead": "lead", "gap": "gap", "boost": "boost"}
_NOISE = "{subject} makes {measured} the usual noise at {plug} (limit {limit}): {influences}. "


def _influence(each: Influence) -> str:
    """An influence with its factor: ``gap (1.1 mm instead of 0.8 mm) 1.38 times``."""
    said = each.what
    if each.what == "gap" and each.found_si is not None and each.usual_si is not None:
        said = f"gap ({each.found_si * 1000:.3g} mm instead of {each.usual_si * 1000:.3g} mm)"
    elif each.what == "boost":
        said = f"boost ({each.found_si or 0.0:.3g} bar)"
    return f"{said} {each.factor:.3g} times"


@check(
    "ignition.noise_source",
    counts="coils whose plugs, leads, gap or boost are told",
    subjects=lambda design, limits: [coil.subject for coil in SparkNoise(design).coils],
    reads=("fires", "plug_type", "lead_type", "gap_m", "boost_bar"),
    limits=NoiseLimits,
    says={
        "plug": _NOISE + "Most of it is the plug's: {effect}.",
        "lead": _NOISE + "Most of it is the lead's: {effect}.",
        "gap": _NOISE + "Most of it is the gap's: {effect}.",
        "boost": _NOISE + "Most of it is the boost's: {effect}.",
    },
    remedy={
        "plug": "Fit resistor plugs at {plug}, or say how the trigger wiring is to stand the noise.",
        "lead": "Fit suppressed leads at {plug}, or say how the trigger wiring is to stand the noise.",
        "gap": "Close the gap at {plug} as far as the engine runs well with it, or say how the trigger wiring is to "
        "stand the noise.",
        "boost": "With this boost use resistor plugs, suppressed leads and as small a gap as the engine runs well "
        "with at {plug}, and keep trigger pairs twisted, shielded and apart from the coils.",
    },
)
def noise_source(design: Design, limits: NoiseLimits) -> Iterator[Outcome]:
    """Plugs, leads, gap or boost make the sparks of a coil noisier than usual.

    Why it matters: When the gap breaks down, what is charged beside it empties in nanoseconds. Resistance in plug and
    lead limits that current, the voltage that the gap needs drives it. Trigger wires pick up its edge, so that a loom
    that was quiet counts wrong teeth after a change of plugs or boost.
    Reads: Plug type, Lead type, Gap and Boost of the component list, of the plug, else of the distributor, else of
    the coil; what a coil fires from Fires, else from the plug leads among the wires.
    Decides: In times the usual edge of the current at breakdown, of the coil's noisiest plug: 10 for a solid lead,
    3.2 for a plain plug (30 for both), gap / plug_gap_mm, 1 + boost in bar, multiplied; it must not exceed
    edge_times.
    Stays silent when: the product is within it. These columns are optional: what is not given is taken as usual, a
    resistor plug, a suppressed lead, the usual gap, no boost; a coil with none of them given is not looked at.
    Source: common practice, no source, for plugs and leads; gap and pressure by Paschen's law (from memory).
    """
    sparks = SparkNoise(design)
    for coil in sparks.coils:
        spark = sparks.worst(coil)
        if spark.factor <= limits.edge_times:
            continue
        main = spark.influences[0][0]
        marks = tuple(Mark(place, _influence(each)) for each, place in spark.influences if place is not None)
        yield Finding(
            coil.subject,
            marks or design.devices.mark_device(coil),
            {
                "plug": spark.plug or "its plugs",
                "influences": ", ".join(_influence(each) for each, _ in spark.influences),
                "effect": main.effect,
                "factors": {each.what: round(each.factor, 6) for each, _ in spark.influences},
            },
            measured=round(spark.factor, 6),
            limit=limits.edge_times,
            unit="times",
            variant=_CAUSE[main.what],
        )


def _with_return_wires(design: Design) -> list[CoilSet]:
    """Coils whose spark current comes back through a wire to an earth point."""
    return [each for each in design.loops.coils if each.style in ("separate ground", "shared ground")]


@check(
    "ignition.shared_return",
    counts="coils with a return wire of their own",
    subjects=lambda design, limits: [each.coil.subject for each in _with_return_wires(design)],
    reads=("from_item", "to_item"),
    says={
        "": "Wire {wire} brings the spark current of {subject} to {earth} and carries the current of {others} too: "
        "each spark shifts the ground of {others}.",
    },
    remedy={"": "Take {subject} to {earth} by a wire of its own."},
)
def shared_return(design: Design, limits: None) -> Iterator[Outcome]:
    """The spark current of a coil shares its way to the earth point with other currents.

    Why it matters: The edges of the spark are amperes in nanoseconds; over a hand's breadth of wire, some tenth of a
    microhenry, they make volts. A controller, sensor or load on the same wire has them in its ground.
    Reads: From and To of the wire list, the roles of the coil's pins.
    Decides: Follows the copper from the coil's high-voltage return, for a coil with one shared ground from that, to its
    earth points. The last wire must carry nothing but coils and igniters: nothing else may hang on its other side.
    Stays silent when: only coils share the wire, or every user has a ring of its own on the stud. What ends at no earth
    point is told by ignition.high_voltage_return.
    Source: common practice, no source; about 1 µH for each metre of wire.
    """
    for each in _with_return_wires(design):
        shared = design.loops.shared_return(each)
        if shared is None:
            continue
        names = [device.name for device in shared.devices]
        told = names if len(names) < 4 else [*names[:3], f"{len(names) - 3} more"]
        yield Finding(
            each.coil.subject,
            (
                Mark(shared.wire.end_place(shared.earth), f"shared by {each.coil.name} and others"),
                *design.devices.mark(each.returns[0], "spark current comes in here"),
                *(m for device in shared.devices[:3] for m in design.devices.mark_device(device, "its current too")),
            ),
            {
                "wire": shared.wire.name,
                "earth": design.label(shared.earth),
                "others": " and ".join([", ".join(told[:-1]), told[-1]] if len(told) > 1 else told),
            },
        )


@dataclass(frozen=True, slots=True)
class LoopAreaLimits:
    """How much larger than need be the loop of a spark may be."""

    area_times: float = limit(5.0, "times", "area of the high-voltage loop over that of the best feasible layout")


def _closed_at_home(design: Design) -> list[HighVoltage]:
    """Sparks, the worst of each coil, whose current comes back without straps and battery, as far as is known."""
    return [
        each
        for each in design.loops.worst_high_voltage
        if each.coil.style != "no return known" and (each.loop.at_home or not each.loop.steps)
    ]


@check(
    "ignition.loop_area",
    counts="coils whose spark returns at the engine",
    subjects=lambda design, limits: [each.coil.coil.subject for each in _closed_at_home(design) if each.loop.steps],
    reads=("from_item", "to_item", "length_m", "branch"),
    limits=LoopAreaLimits,
    says={
        "": "The high-voltage loop of {subject} encloses {area_cm2} cm², {measured} what the best layout would "
        "(limit {limit}): {way}.",
    },
    remedy={
        "": "Bring the return of {subject} to the head beside its plug, along the plug lead: {best_cm2} cm² is enough.",
    },
)
def loop_area(design: Design, limits: LoopAreaLimits) -> Iterator[Outcome]:
    """The loop that a coil's spark current runs round is larger than it need be.

    Why it matters: What the spark induces in trigger wires goes with the loop that its current runs round. The way out
    is given by the plug; the way back is the builder's choice.
    Reads: Points and branches, From, To, Length and Branch of the wire list, what each coil fires and its plug leads.
    Decides: With points, the vector area of the closed polyline from the coil over plug lead, plug seat, head and
    return wires; it must not be more than area_times that of the best layout: the return led along the plug lead,
    as far from it as return_beside_lead_mm. With lengths alone, the greatest area that a loop of this length can have
    (perimeter²/4π; closed by one way through metal length²/2π): clear where even that is within the limit.
    Stays silent when: the loop is within the limit. One that closes through straps, fuses or battery is told by
    ignition.high_voltage_return and ignition.capacitor. Without points, and with the bound over the limit, it is
    undecided.
    Source: isoperimetric inequality; the ratio common practice, no source.
    """
    for each in _closed_at_home(design):
        loop = each.loop
        if not loop.steps:
            continue
        shape, ratio = loop.shape, loop.area_ratio
        marks = loop.mark or design.devices.mark_device(each.coil.coil)
        if ratio is None:
            missing = shape.lacking or tuple(
                step.lacking for step in loop.steps if step.kind == "lead" and step.length_m is None
            )
            yield Undecided(loop.subject, missing, marks)
        elif ratio <= limits.area_times:
            continue
        elif shape.bound:
            yield Undecided(loop.subject, shape.lacking, marks, 0.0, round(ratio, 6), limits.area_times, "times")
        else:
            wires = (Mark(wire.place.of("wire", "from_item"), "part of the loop") for wire in loop.wires)
            yield Finding(
                loop.subject,
                (*marks, *wires),
                {
                    "area_cm2": f"{(shape.area_m2 or 0.0) * 1e4:.3g}",
                    "best_cm2": f"{(loop.best_area_m2 or 0.0) * 1e4:.3g}",
                    "way": " – ".join(loop.way),
                },
                measured=round(ratio, 6),
                limit=limits.area_times,
                unit="times",
            )
