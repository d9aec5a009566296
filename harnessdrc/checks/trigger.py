"""Checks on trigger wiring: twisted with its own return and closely, shielded so that it helps, away from the coils."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from harnessdrc.checks.besidecoils import CoilBranches
from harnessdrc.checks.drains import is_earthed, unknown_ends
from harnessdrc.checks.registry import Outcome, check, limit
from harnessdrc.checks.shieldmaterials import ShieldMaterials, in_shields
from harnessdrc.design import Contact, Design, TriggerPair
from harnessdrc.design.loops import PairRun
from harnessdrc.findings import Finding, Mark, Subject, Undecided
from harnessdrc.harness.elements import Wire
from harnessdrc.harness.names import fold

__all__ = ["beside_coils", "lay", "margin", "shield", "shield_material", "twisted_pair"]


def _and(names: Sequence[str]) -> str:
    """Names in a sentence: ``W1, W2 and W3``."""
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def _listed(wires: Sequence[Wire]) -> str:
    """Wires in a sentence: ``wire W1``, ``wires W1, W2 and W3``."""
    return ("wire " if len(wires) == 1 else "wires ") + _and([wire.name for wire in wires])


@check(
    "trigger.twisted_pair",
    counts="trigger sensors read by a controller",
    subjects=lambda design, limits: [pair.device.subject for pair in design.trigger_pairs],
    reads=("from_item", "to_item", "twist"),
    says={
        "loose": "Wire {wire}, the signal of {subject}, is not twisted with its return: the pair is a loop "
        "that picks up the ignition.",
        "partner": "Wire {wire}, the signal of {subject}, is twisted with {partner} and not with {own}: the loop "
        "between signal and return stays open.",
    },
    remedy={
        "loose": "Twist wire {wire} over its whole length with {own}; give both the same twist group.",
        "partner": "Twist wire {wire} with {own}; give both the same twist group.",
    },
)
def twisted_pair(design: Design, limits: None) -> Iterator[Outcome]:
    """The signal of a trigger sensor is not twisted with its own return.

    Why it matters: Signal and return enclose an area; the field of coil and plug leads induces a voltage
    in it that the controller counts as teeth. A twisted pair leaves next to no area, but only when the
    signal is twisted with the wire that carries its own current back.
    Reads: From, To, Signal and Twist group of the wire list.
    Decides: Follows the signal from the sensor to the controller; each wire on the way must share its
    twist group with a wire of the same sensor's return (trigger signal - or sensor ground).
    Stays silent when: every wire of the signal lies in such a group.
    Source: common practice, no source; twisting against magnetic pick-up: Klipec 1967 (from memory).
    """
    listed = "twist" in design.harness.columns
    groups = design.twist_groups
    for pair in design.trigger_pairs:
        device, contact = pair.device, pair.contact
        if not pair.way:
            yield Undecided(
                device.subject,
                (f"a way from {design.label(contact)} to the controller",),
                design.devices.mark(contact),
            )
            continue
        signal, returns = pair.signal, pair.returns
        if not listed and not groups:
            yield Undecided(
                device.subject,
                ("the twist group of its wires (the list has no such column)",),
                tuple(Mark(w.place.of("wire", "from_item"), f"wire {w.name}") for w in signal),
            )
            continue
        own_text = f"its return, wire {returns[0].name}" if returns else "its return"
        names = {w.name for w in returns}
        for wire in signal:
            group = groups.get(fold(wire.twist), ()) if wire.twist else ()
            others = [w for w in group if w.name != wire.name]
            evidence = {"wire": wire.name, "own": own_text}
            if not others:
                yield Finding(
                    device.subject,
                    (Mark(wire.place.of("twist", "wire", "from_item"), f"signal of {device.name}"),),
                    evidence,
                    variant="loose",
                )
                break
            if not any(w.name in names for w in others):
                yield Finding(
                    device.subject,
                    (
                        Mark(wire.place.of("twist", "wire", "from_item"), f"signal of {device.name}"),
                        *tuple(Mark(w.place.of("twist", "wire"), "its partner") for w in others),
                    ),
                    evidence | {"partner": _listed(others)},
                    variant="partner",
                )
                break


@dataclass(frozen=True, slots=True)
class LayLimits:
    """How closely a trigger pair has to be twisted."""

    lay_mm: float = limit(40.0, "mm", "greatest length of one full turn of the pair")
    untwisted_mm: float = limit(50.0, "mm", "greatest length left untwisted at a connector")


def _twisted(pair: TriggerPair) -> dict[str, tuple[Wire, ...]]:
    """Twist groups in which a signal lies with its own return, each with its wires, along the way of the signal."""
    groups: dict[str, tuple[Wire, ...]] = {}
    for wire in pair.signal:
        partners = pair.partners(wire)
        if partners:
            groups.setdefault(fold(wire.twist or ""), (wire, *partners))
    return groups


@check(
    "trigger.lay",
    counts="trigger sensors with a twisted pair",
    subjects=lambda design, limits: [pair.device.subject for pair in design.trigger_pairs if _twisted(pair)],
    reads=("twist", "lay_m", "untwisted_m", "from_item", "to_item"),
    limits=LayLimits,
    says={
        "": "The pair of {subject}, {wires}, has a lay of {measured} (limit {limit}): the longer the turns, the less "
        "they cancel what the coils induce in it.",
        "untwisted": "The pair of {subject}, {wires}, is left untwisted for {measured} at one end (limit {limit}): "
        "that open end picks up more than all of the twisted length.",
        "both": "The pair of {subject}, {wires}, has a lay of {measured} (limit {limit}) and is left untwisted for "
        "{untwisted_mm:g} mm at one end (limit {untwisted_limit_mm:g} mm): both let the coils' field in.",
    },
    remedy={
        "": "Twist {wires} with a lay of {limit} or less.",
        "untwisted": "Carry the twist of {wires} up to the terminals; leave {limit} at most.",
        "both": "Twist {wires} with a lay of {limit} or less, up to {untwisted_limit_mm:g} mm from the terminals.",
    },
)
def lay(design: Design, limits: LayLimits) -> Iterator[Outcome]:
    """A trigger pair is twisted too loosely, or left untwisted at an end.

    Why it matters: Each half turn takes up the field with the other sign than the one before. Long turns lie in
    different fields and cancel less; a length that is not twisted at all cancels nothing, and a few centimetres of
    it undo what the rest gains.
    Reads: Twist group, Lay and Untwisted end of the wire list.
    Decides: In mm: the greatest lay of the twist groups in which the signal lies with its own return, along the
    signal's way to the controller, against lay_mm; the greatest untwisted end of their wires against untwisted_mm.
    A group that has no lay is undecided.
    Stays silent when: both are within their limits; an untwisted end that is not given is taken as short. What
    isn't twisted with its return is told by trigger.twisted_pair and not looked at here.
    Source: one twist per 40 mm, as an engine-controller manual asks for bus pairs (read); 10 turns per foot, 30 mm,
    for AWG 20 and 22 (from memory); Klipec 1967: 43 dB at 25 mm, 23 dB at 100 mm (from memory).
    """
    for pair in design.trigger_pairs:
        groups = _twisted(pair)
        if not groups:
            continue
        # A lay belongs to the group: one of its wires may say it for all.
        wires = {key: (*own, *design.twist_groups.get(key, ())) for key, own in groups.items()}
        lays = {key: max((w.lay_m for w in of if w.lay_m is not None), default=None) for key, of in wires.items()}
        known = [key for key in groups if lays[key] is not None]
        longest = max(known, key=lambda key: lays[key] or 0.0, default=None)
        lay_mm = round((lays[longest] or 0.0) * 1000, 6) if longest is not None else 0.0
        ends = [w for own in groups.values() for w in own if w.untwisted_m is not None]
        loosest = max(ends, key=lambda w: w.untwisted_m or 0.0, default=None)
        open_mm = round((loosest.untwisted_m or 0.0) * 1000, 6) if loosest is not None else 0.0
        marks: list[Mark] = []
        if longest is not None and lay_mm > limits.lay_mm:
            wire = next(w for w in wires[longest] if w.lay_m == lays[longest])
            marks.append(Mark(wire.place.of("lay_m"), f"lay of twist group {wire.twist}"))
        if loosest is not None and open_mm > limits.untwisted_mm:
            marks.append(Mark(loosest.place.of("untwisted_m"), f"untwisted end of wire {loosest.name}"))
        if marks:
            long, loose = lay_mm > limits.lay_mm, open_mm > limits.untwisted_mm
            group = longest if long and longest is not None else fold(loosest.twist or "") if loosest else ""
            yield Finding(
                pair.device.subject,
                tuple(marks),
                {"wires": _listed(groups[group])}
                | ({"untwisted_mm": open_mm, "untwisted_limit_mm": limits.untwisted_mm} if long and loose else {}),
                measured=lay_mm if long else open_mm,
                limit=limits.lay_mm if long else limits.untwisted_mm,
                unit="mm",
                variant="both" if long and loose else "" if long else "untwisted",
            )
        elif len(known) < len(groups):
            unsaid = [own[0] for key, own in groups.items() if key not in known]
            yield Undecided(
                pair.device.subject,
                tuple(f"lay of twist group {w.twist}" for w in unsaid),
                tuple(Mark(w.place.of("lay_m", "twist", "wire"), f"twist group {w.twist}") for w in unsaid),
            )


@check(
    "trigger.shield",
    counts="shields",
    subjects=lambda design, limits: [("shield", shield.name) for shield in design.shields],
    reads=("shield", "signal", "from_item", "to_item"),
    says={
        "both": "{subject} is earthed at both ends, {ends}: it is a ground wire and carries current beside the signal.",
        "nowhere": "The drain of {subject} is connected at neither end: the shield does nothing.",
    },
    remedy={
        "both": "Cut the drain back and insulate it at {far}; keep the end at {near}.",
        "nowhere": "Connect the drain of {subject} at the controller's end only.",
    },
)
def shield(design: Design, limits: None) -> Iterator[Outcome]:
    """A shield is connected at both ends, or at neither.

    Why it matters: A shield earthed at both ends joins two grounds and carries their current along the
    signal; one earthed nowhere floats and couples what it catches into the signal.
    Reads: Shield, Signal, Colour, From and To of the wire list.
    Decides: For the drain wires of each shield, counts the ends that reach an earth point, a ground or a
    controller's pin by another way than the drain itself: exactly one is right.
    Stays silent when: one end is connected and the other is open. Without a drain wire it is undecided, as
    it is where no end reaches a ground and one is in a housing of which it isn't known what it belongs to.
    Source: common practice, no source: shields of trigger pairs are connected at the controller's end.
    """
    for one in design.shields:
        name, inside, drains = one.name, one.inside, one.drains
        subject: Subject = ("shield", name)
        if not drains:
            yield Undecided(
                subject,
                (f"drain wire of shield {name} (where it is connected)",),
                tuple(Mark(w.place.of("shield"), f"in shield {name}") for w in inside),
            )
            continue
        names = {w.name for w in drains}
        earthed: list[tuple[Contact, Wire]] = []
        for wire in drains:
            for contact in (wire.a, wire.b):
                if contact is None or any(contact == c for c, _ in earthed):
                    continue
                if is_earthed(design, contact, names):
                    earthed.append((contact, wire))
        earthed.sort(key=lambda e: e[0])
        if len(earthed) >= 2:
            controllers = [
                c for c, _ in earthed if design.devices.on_controller(c)
            ]
            near = controllers[0] if controllers else earthed[0][0]
            far, far_wire = next((c, w) for c, w in earthed if c != near)
            yield Finding(
                subject,
                (
                    Mark(far_wire.end_place(far), "second connection of the shield"),
                    *design.devices.mark(near, "first connection of the shield"),
                ),
                {
                    "ends": " and ".join(design.label(c) for c, _ in earthed),
                    "near": design.label(near),
                    "far": design.label(far),
                },
                variant="both",
            )
        elif not earthed and (unknown := unknown_ends(design, drains)):
            yield Undecided(
                subject,
                tuple(f"what {design.label(contact)} connects to" for contact in unknown),
                tuple(mark for contact in unknown for mark in design.devices.mark(contact, f"drain of shield {name}")),
            )
        elif not earthed:
            yield Finding(
                subject,
                tuple(Mark(w.place.of("from_item"), f"drain of shield {name}") for w in drains),
                {},
                variant="nowhere",
            )


@dataclass(frozen=True, slots=True)
class MaterialLimits:
    """How much of the coils' magnetic field a shield has to keep off."""

    reduction_db: float = limit(10.0, "dB", "least reduction of the magnetic field at the edge of primary switch-off")


@check(
    "trigger.shield_material",
    counts="trigger sensors with a shielded signal",
    subjects=lambda design, limits: [pair.device.subject for pair in design.trigger_pairs if in_shields(pair)],
    reads=("shield", "shield_material", "twist", "from_item", "to_item"),
    limits=MaterialLimits,
    says={
        "": "The shield of {subject} is {material}: it takes {measured} off the coils' magnetic field at {khz:g} kHz "
        "(limit {limit}), and wire {wire} in it is not twisted with its return.",
    },
    remedy={
        "": "Twist wire {wire} over its whole length with its return, or put the pair into steel braid or conduit; "
        "copper and aluminium keep off electric fields only.",
    },
)
def shield_material(design: Design, limits: MaterialLimits) -> Iterator[Outcome]:
    """A trigger pair relies on a shield of copper or aluminium against the magnetic field of the coils.

    Why it matters: What coils and plug leads induce in a pair comes through their magnetic field. Copper and
    aluminium weaken it by eddy currents only, next to nothing below some 100 kHz; steel leads it round the pair, and
    twisting cancels it. The shield looks like protection and is none.
    Reads: Shield, Shield material and Twist group of the wire list.
    Decides: In dB, the reduction of a tube of the shield's material at the edge of primary switch-off, of frequency
    1 / (pi rise time), primary_off_us. It must reach reduction_db where a wire of the signal in the shield is not
    twisted with its own return. Of several materials named for one shield the best counts.
    Stays silent when: the wires in the shield are twisted with their return, or its material, such as steel, is
    enough. A shield that only its drain tells of, with no wire said to lie in it, is not looked at.
    Source: skin effect, thin tube in a transverse field and static magnetic tube, worked out; that copper and
    aluminium do little against magnetic pick-up is common practice.
    """
    twist_known = "twist" in design.harness.columns or bool(design.twist_groups)
    materials = ShieldMaterials(design)
    for pair in design.trigger_pairs:
        loose = [materials.of(wire) for wire in in_shields(pair) if not pair.partners(wire)]
        if not loose:
            continue
        weak = [one for one in loose if one.db is not None and one.db < limits.reduction_db]
        unsaid = [one for one in loose if one.db is None]
        worst = min(weak, key=lambda one: one.db or 0.0, default=None)
        if worst is not None and twist_known:
            yield Finding(
                pair.device.subject,
                (
                    Mark(worst.place, f"material of {worst.name}"),
                    Mark(worst.wire.place.of("twist", "wire", "from_item"), f"signal of {pair.device.name}"),
                ),
                {"material": worst.material, "khz": round(materials.hz / 1000, 1), "wire": worst.wire.name},
                measured=round(worst.db or 0.0, 3),
                limit=limits.reduction_db,
                unit="dB",
            )
        elif unsaid or weak:
            missing = [f"material of {one.name}" for one in unsaid]
            if not twist_known:
                missing.append("the twist group of its wires (the list has no such column)")
            yield Undecided(
                pair.device.subject,
                tuple(dict.fromkeys(missing)),
                tuple(Mark(one.place, f"wire {one.wire.name}") for one in (*unsaid, *weak)),
            )


@dataclass(frozen=True, slots=True)
class BesideLimits:
    """How far a trigger pair may run with the wires of coils."""

    beside_m: float = limit(0.3, "m", "length in the same branches as wires of the coils")


def _read_pairs(design: Design) -> list[TriggerPair]:
    return [pair for pair in design.trigger_pairs if pair.way]


@check(
    "trigger.beside_coils",
    counts="trigger sensors read by a controller",
    subjects=lambda design, limits: [pair.device.subject for pair in _read_pairs(design)],
    reads=("branch", "length_m", "from_item", "to_item"),
    limits=BesideLimits,
    says={
        "": "The pair of {subject}, {wires}, runs for {measured} in {branches} beside wires of the coils (limit "
        "{limit}), among them {coil_wires}: over all that way their field cuts the pair.",
    },
    remedy={
        "": "Take the pair of {subject} through another branch than {coil_wires}; where they have to meet, let them "
        "cross at right angles.",
    },
)
def beside_coils(design: Design, limits: BesideLimits) -> Iterator[Outcome]:
    """A trigger pair runs in one branch with wires that carry the current of coils, or with plug leads.

    Why it matters: What a coil's wire induces in a pair grows with the length they run together and falls with their
    distance; in one branch that is next to nothing, and twist and shield have to make up for it.
    Reads: Branch and Length of the wire list, Length of the branches, From, To and Signal of the wires.
    Decides: In m, added up over the branches that a wire of the pair shares with wires of a coil's feed, ground,
    primary or high-voltage return or with a plug lead: the length of the branch, at most that of the shorter wire
    where it is given. The signal or the return, whichever is longer, must not exceed beside_m. A coil's feed counts
    from its fuse, relay or switch on, the logic wire of its input does not.
    Stays silent when: they share no branch, or not for as long. Where the length of a shared branch or the branch of
    a wire is not given, it is undecided if the lengths that are given would allow the limit to be exceeded; so are
    all sensors of a list without branches that has coils.
    Source: common practice, no source; mutual inductance of parallel wires grows with their length.
    """
    pairs = _read_pairs(design)
    if not pairs:
        return
    coils = CoilBranches(design)
    for pair in pairs:
        side = coils.beside(pair)
        if side.least_m > limits.beside_m:
            first = side.wires[0]
            yield Finding(
                pair.device.subject,
                (
                    Mark(first.place.of("branch"), f"wire {first.name} of {pair.device.name}"),
                    *(Mark(one.wire.place.of("branch"), f"current of {one.device}") for one in side.coils),
                ),
                {
                    "wires": _listed(list({w.name: w for w in side.wires}.values())),
                    "branches": ("branch " if len(side.branches) == 1 else "branches ")
                    + _and([coils.name(key, first) for key in side.branches]),
                    "coil_wires": _listed([one.wire for one in side.coils]),
                },
                measured=round(side.least_m, 6),
                limit=limits.beside_m,
                unit="m",
            )
        elif side.most_m > limits.beside_m:
            missing = side.missing if coils.listed else {"the branch of its wires (the list has no such column)": None}
            wires = [wire for wire in missing.values() if wire is not None] or list(pair.signal[:1])
            yield Undecided(
                pair.device.subject,
                tuple(missing),
                tuple(Mark(w.place.of("branch", "wire", "from_item"), f"wire {w.name}") for w in wires),
                *((side.least_m, side.most_m, limits.beside_m, "m") if math.isfinite(side.most_m) else ()),
            )


@dataclass(frozen=True, slots=True)
class MarginLimits:
    """How far the signal must stand above the noise."""

    margin_db: float = limit(20.0, "dB", "signal over noise at every engine speed, from cranking on")


_FAR_FROM_BEST = 3.0
"""A loop that induces this many times what its best layout would is what to change first."""


@check(
    "trigger.margin",
    counts="trigger sensors read by a controller",
    subjects=lambda design, limits: [run.pair.device.subject for run in design.loops.pairs],
    reads=("from_item", "to_item", "length_m", "branch", "twist", "shield"),
    limits=MarginLimits,
    says={
        "loop": "{subject} has a margin of {measured} at {rpm} rpm (limit {limit}): against {signal} of signal the "
        "{edge} of {loop} induces about {noise} ({noise_range}, an estimate), {times} times what its best layout "
        "would.",
        "pair": "{subject} has a margin of {measured} at {rpm} rpm (limit {limit}): against {signal} of signal the "
        "{edge} of {loop} induces about {noise} ({noise_range}, an estimate) in a pair that runs {pair}.",
    },
    remedy={
        "loop": "Make the {what} loop of {loop_name} as small as it can be: its return along the plug lead, at the "
        "head beside the plug. Look at the pins of the controller with an oscilloscope, cranking first.",
        "pair": "Twist signal and return of {subject} right up to the connectors and lead them away from {loop_name}. "
        "Look at the pins of the controller with an oscilloscope, cranking first.",
    },
)
def margin(design: Design, limits: MarginLimits) -> Iterator[Outcome]:
    """The signal of a trigger sensor does not stand far enough above what the ignition induces.

    Why it matters: A spike that passes the threshold is a tooth too many, one that takes from a tooth is a tooth too
    few: the controller loses its position and fires at the wrong time.
    Reads: Points, branches, From, To, Length, Branch, Twist group, Lay and Shield of the wire list; plugs, leads, gaps,
    boost, teeth, output, threshold and filter of the component list.
    Decides: Mutual inductance of each coil's high-voltage and primary loop and each injector's loop with the pair
    (Neumann's integral over both polylines; without points over the length in common branches), times the change of
    current at breakdown, arc and switch-off; a twisted pair keeps what its lay leaves and its untwisted ends. Signal: a
    reluctor's amplitude, which grows with speed, or the distance of level and threshold less the ground offset.
    20·log10(signal/noise), with usual figures, must be margin_db or more at every speed from the slowest to the fastest
    operating state. The breakdown goes with the pressure in the inlet.
    Stays silent when: the margin is kept at every speed. Where a coil that may matter is not in place it is undecided,
    unless the others alone are too much.
    Source: Neumann's formula; twist: Klipec 1967, from memory; rates of change common practice, no source. The ratio of
    two layouts is firm, millivolts are an estimate with its range; the bench decides.
    """
    for each in design.margins.all:
        device = each.run.pair.device
        signal = f"signal of {device.name}"
        marks = tuple(Mark(wire.place.of("branch", "wire", "from_item"), signal) for wire in each.run.pair.signal)
        if not each.known:
            if each.lacking:
                yield Undecided(device.subject, each.lacking, marks)
            continue
        worst = each.worst
        worst_db = float(each.db[worst])
        if worst_db >= limits.margin_db:
            if each.lacking:
                yield Undecided(device.subject, each.lacking, marks)
            continue
        pickup = design.margins.strongest(each, worst)
        edge = pickup.volts(each.run.material)[0]
        times = pickup.mutual_h / pickup.best_h if pickup.best_h else 0.0
        noise_v, low_v, high_v = (float(a[worst]) for a in (each.noise_v, each.noise_low_v, each.noise_high_v))
        yield Finding(
            device.subject,
            (*marks, *(Mark(m.place, f"{pickup.loop.what} of {pickup.loop.subject[1]}") for m in pickup.loop.mark)),
            {
                "rpm": f"{each.rpm[worst]:.0f}",
                "signal": _millivolts(float(each.signal_v[worst] - each.offset_v[worst])),
                "noise": _millivolts(noise_v),
                "noise_range": f"{_millivolts(low_v)} to {_millivolts(high_v)}",
                "edge": edge.name,
                "loop": f"{pickup.loop.subject[1]}'s {pickup.loop.what} loop",
                "loop_name": pickup.loop.subject[1],
                "what": pickup.loop.what,
                "pair": _runs(each.run),
                "times": f"{times:.2g}",
            },
            measured=round(worst_db, 3),
            limit=limits.margin_db,
            unit="dB",
            variant="loop" if times > _FAR_FROM_BEST else "pair",
        )


def _millivolts(volts: float) -> str:
    if volts >= 1.0:
        return f"{volts:.3g} V"
    return f"{volts * 1000:.0f} mV" if volts >= 0.01 else f"{volts * 1000:.2g} mV"


def _runs(run: PairRun) -> str:
    if run.twisted:
        return "twisted"
    return "side by side, not twisted" if run.together else "apart, signal and return on different ways"
