"""Checks on supplies: their drop, two on one net, one short to ground, copper ahead of the fuses."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from harnessdrc.checks.drops import load_drops, load_subjects
from harnessdrc.checks.machinedrops import machine_drops, machine_subjects
from harnessdrc.checks.registry import Outcome, check, limit
from harnessdrc.checks.supplyloops import consequences
from harnessdrc.design import Contact, Design, Net
from harnessdrc.design.sizing.unfused import unfused_feeds
from harnessdrc.findings import Finding, Mark, Subject, Undecided
from harnessdrc.harness.names import natural_key

__all__ = ["cranking_drop", "shorted_to_ground", "two_supplies", "unfused_length", "voltage_drop"]


@dataclass(frozen=True, slots=True)
class FeedDropLimits:
    """How much may be dropped."""

    drop_mv: float = limit(500.0, "mV", "drop allowed between the battery's positive terminal and a load")


@check(
    "feed.voltage_drop",
    counts="loads with a feed",
    subjects=load_subjects,
    reads=("size", "length_m", "current_a"),
    limits=FeedDropLimits,
    says={
        "": "The feed of {subject} drops {measured} with {current} A in it (limit {limit}); most of it, "
        "{worst_mv} mV, in wire {wire} ({size}, {length_m} m, {wire_a} A).",
        "range": "The feed of {subject} drops between {low_mv} and {high_mv} mV with {current} A in it, whatever "
        "the data is that is lacking (limit {limit}); most of it in wire {wire} ({size}).",
    },
    remedy={"": "{advice}", "range": "{advice}"},
)
def voltage_drop(design: Design, limits: FeedDropLimits) -> Iterator[Outcome]:
    """The feed of a load drops more than the limit.

    Why it matters: Pumps lose pressure, coils energy and injectors opening time with every volt lost in
    the feed.
    Reads: Size and Length of the wire list, Current of wires and components.
    Decides: Solves the circuit of all feeds and returns with every load on at its steady current, engine at rest:
    V = I R, R = r(size, conductor_degc) length, r by ISO 6722 maxima or ASTM B258; contacts, fuses and
    relay contacts at the given values. In mV from the battery's positive terminal to the load. What is lacking is
    carried as a range.
    Stays silent when: the drop is at or below the limit over the whole range of what is lacking.
    Source: AC 43.13-1B table 11-6: 0.5 V at 14 V for continuous loads (limit from memory, seen in tables
    11-7 and 11-8).
    """
    yield from load_drops(design, limits.drop_mv, side="feed")


def _supplied_nets(design: Design) -> list[tuple[Subject, Net, list[tuple[str, Contact]]]]:
    """Nets with at least one supply, each named by the first contact that supplies it."""
    found: list[tuple[Subject, Net, list[tuple[str, Contact]]]] = []
    numbers = dict.fromkeys(design.feeds.level)
    for contact in design.devices.controller_contacts("sensor supply"):
        number = design.net.net_of.get(contact)
        if number is not None:
            numbers.setdefault(number)
    for number in sorted(numbers):
        supplies = design.feeds.supplies(number)
        if supplies:
            found.append((("net", f"fed by {supplies[0][0]}"), design.net.nets[number], supplies))
    return found


@check(
    "feed.two_supplies",
    counts="nets with a supply",
    subjects=lambda design, limits: [subject for subject, _, _ in _supplied_nets(design)],
    reads=("from_item", "to_item", "signal"),
    says={
        "": "One net has {count} supplies, {supplies}: each feeds past the other's fuse or switch.",
    },
    remedy={"": "Part the net between {first} and {second}; the way that joins them is {way}."},
)
def two_supplies(design: Design, limits: None) -> Iterator[Outcome]:
    """One net is fed by two supplies.

    Why it matters: Two fuses in parallel no longer protect the wire; a battery feed on a 5 V supply
    destroys the controller and every sensor on it; a load goes on running when its switch is off.
    Reads: From, To and Signal of the wire list, fuses, relays, switches and the battery.
    Decides: From the battery outward over fuses, relay contacts and switches: a net that two of them make
    live independently, or that holds a battery and a sensor supply, or two batteries. A second net that has two only
    since current comes back to it through the first one follows from that.
    Stays silent when: each net has one supply; diodes are taken to part supplies.
    Source: common practice, no source.
    """
    twice = [(subject, net.number, supplies) for subject, net, supplies in _supplied_nets(design) if len(supplies) > 1]
    follows = consequences(design, twice)
    for subject, number, supplies in twice:
        (first, one), (second, other) = supplies[0], supplies[1]
        joining = design.net.wires_along(design.net.path(one, other))
        marks: tuple[Mark, ...] = ()
        if len(joining) > 2:
            # Between two splices: the likeliest wire to be wrong.
            middle = joining[len(joining) // 2]
            marks = (Mark(middle.place.of("wire", "from_item"), "joins the two"),)
        marks += design.devices.mark(other, second) + design.devices.mark(one, first)
        for name, contact in supplies[2:]:
            marks += design.devices.mark(contact, name)
        yield Finding(
            subject,
            marks,
            {
                "count": len(supplies),
                "supplies": ", ".join(name for name, _ in supplies[:-1]) + f" and {supplies[-1][0]}",
                "first": first,
                "second": second,
                "way": design.grounds.way(one, other),
            },
            follows_from=("feed.two_supplies", follows[number]) if number in follows else None,
        )


@check(
    "feed.shorted_to_ground",
    counts="nets with a supply",
    subjects=lambda design, limits: [subject for subject, _, _ in _supplied_nets(design)],
    reads=("from_item", "to_item", "signal"),
    says={"": "The net fed by {supply} is joined to {ground}: {way}. It is a short circuit."},
    remedy={"": "Take away the wrong connection; look first at wire {wire}."},
)
def shorted_to_ground(design: Design, limits: None) -> Iterator[Outcome]:
    """A supply is joined to ground by copper.

    Why it matters: At best a fuse blows; a feed ahead of the fuses burns the loom.
    Reads: From, To and Signal of the wire list, the roles of pins, the earth points.
    Decides: A net with a supply (battery, fuse, relay contact, switch, sensor supply) must not reach an
    earth point or hold a ground of any device.
    Stays silent when: no ground is on the net. Case-earthed devices are not on it.
    Source: common practice, no source.
    """
    for subject, net, supplies in _supplied_nets(design):
        supply, start = supplies[0]
        joined = design.feeds.ground_on(net)
        if joined is None:
            continue
        ground, wire = joined
        if wire is not None:
            yield Finding(
                subject,
                (
                    Mark(wire.end_place(ground), f"earth point {design.label(ground)}"),
                    *design.devices.mark(start, supply),
                ),
                {
                    "supply": supply,
                    "ground": design.label(ground),
                    "wire": wire.name,
                    "way": design.grounds.way(start, ground),
                },
            )
        else:
            wires = design.net.wires_along(design.net.path(start, ground))
            yield Finding(
                subject,
                design.devices.mark(ground, f"ground {design.label(ground)}") + design.devices.mark(start, supply),
                {
                    "supply": supply,
                    "ground": f"{design.label(ground)} ({design.role(ground)})",
                    "wire": wires[-1].name if wires else "",
                    "way": design.grounds.way(start, ground),
                },
            )


@dataclass(frozen=True, slots=True)
class UnfusedLimits:
    """How far from the battery the first fuse may be."""

    unfused_m: float = limit(0.3, "m", "wire allowed between the battery, or the starter's cable, and the first fuse")


@check(
    "feed.unfused_length",
    counts="fuses and devices that the battery feeds without a fuse",
    subjects=lambda design, limits: [each.subject for each in unfused_feeds(design)],
    reads=("from_item", "to_item", "length_m"),
    limits=UnfusedLimits,
    says={
        "": "Ahead of {subject} lie {measured} of wire without a fuse (limit {limit}): {way}.",
        "device": "{subject} is fed through {measured} of wire without any fuse (limit {limit}): {way}.",
    },
    remedy={
        "": "Move {subject} to within {limit} of the battery or of the stud that the starter's cable ends on, or put a "
        "fuse there.",
        "device": "Put a fuse within {limit} of the battery, or of the stud that the starter's cable ends on.",
    },
)
def unfused_length(design: Design, limits: UnfusedLimits) -> Iterator[Outcome]:
    """The first fuse of a feed is too far from the battery.

    Why it matters: A wire that chafes through ahead of every fuse burns until the battery is empty.
    Reads: From, To and Length of the wire list, fuses, relays, switches and the battery.
    Decides: From the positive terminals of batteries over wires, mated connectors, relay contacts and switches: length
    in m of the shortest way to each fuse, and to each device that is reached without one. The wires between battery and
    starter do not count; no fuse of usual size lets the starter turn.
    Stays silent when: the way is as long as the limit or shorter. A device behind a fuse is not looked at.
    Source: common practice, as close to the battery as can be; rules for boats ask for 0.18 m, and up to 1 m in a
    sheath (ABYC E-11, from memory, not read).
    """
    for each in unfused_feeds(design):
        if each.known_m > limits.unfused_m:
            longest = sorted(each.wires, key=lambda w: (-(w.length_m or 0.0), natural_key(w.name)))
            marks: tuple[Mark, ...] = (Mark(longest[0].place.of("length_m", "wire"), "ahead of every fuse"),)
            marks += design.devices.mark(each.contact)
            way = ", ".join(f"wire {wire.name}" for wire in each.wires)
            variant = "" if each.subject[0] == "fuse" else "device"
            yield Finding(each.subject, marks, {"way": way}, each.known_m, limits.unfused_m, "m", variant)
        elif each.lacking:
            marks = tuple(Mark(wire.place.of("length_m", "wire"), "no length") for wire in each.lacking)
            missing = tuple(f"length of wire {wire.name}" for wire in each.lacking)
            yield Undecided(each.subject, missing, marks, each.known_m, None, limits.unfused_m, "m")


@dataclass(frozen=True, slots=True)
class CrankingDropLimits:
    """How much may be dropped between the battery and its machines."""

    drop_mv: float = limit(1000.0, "mV", "drop allowed to the starter while it cranks, feed and return together")
    charge_mv: float = limit(500.0, "mV", "drop allowed between the alternator's output and the battery's positive")


@check(
    "feed.cranking_drop",
    counts="starters and alternators with their main terminal wired",
    subjects=lambda design, limits: machine_subjects(design),
    reads=("size", "length_m", "current_a", "resistance_ohm"),
    limits=CrankingDropLimits,
    says={
        "": "{subject} loses {measured} between battery and terminals in {state} with {current_a} A (limit {limit}): "
        "{feed_mv} mV in its feed, {back_mv} mV in its return; most of it, {worst_mv} mV, in {worst}.",
        "range": "{subject} loses {low_mv} to {high_mv} mV between battery and terminals in {state}, whatever the "
        "data is that is lacking (limit {limit}); most of it in {worst}.",
        "charge": "The charge cable of {subject} drops {measured} in {state} with {current_a} A (limit {limit}); most "
        "of it, {worst_mv} mV, in {worst}.",
        "charge_range": "The charge cable of {subject} drops {low_mv} to {high_mv} mV in {state}, whatever the data "
        "is that is lacking (limit {limit}); most of it in {worst}.",
    },
    remedy={
        "": "Make {worst} larger or shorter; see to the joints on the way.",
        "range": "Make {worst} larger or shorter; see to the joints on the way.",
        "charge": "Make {worst} larger or shorter; see to the joints on the way.",
        "charge_range": "Make {worst} larger or shorter; see to the joints on the way.",
    },
)
def cranking_drop(design: Design, limits: CrankingDropLimits) -> Iterator[Outcome]:
    """Starter or charge cables drop more than the limit.

    Why it matters: Every tenth of a volt lost on the way is missing at a starter on a cold morning, and the controller
    loses its supply with it; what the charge cable drops, the battery never gets.
    Reads: Size and Length of the wire list, Current of the component list, Resistance of straps and joints.
    Decides: Solves the circuit while cranking, the starter as a resistance: the voltage over the battery's terminals
    less that over the starter's, straps and bodies included, in mV, at most drop_mv. While the alternator charges, the
    greatest difference over all states between its output and the battery's positive terminal, at most charge_mv.
    What is lacking is carried as a range: sizes, lengths, straps, a starter's current that is not listed.
    Stays silent when: the drop is at or below the limit over the whole range. A machine whose main terminal has no
    wire in the list is not looked at.
    Source: AC 43.13-1B table 11-6: 1 V intermittent and 0.5 V continuous at 14 V (from memory, seen in tables 11-7
    and 11-8).
    """
    yield from machine_drops(design, limits.drop_mv, limits.charge_mv)
