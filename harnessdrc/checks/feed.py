"""Checks on supplies: their drop, two on one net, one short to ground."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from harnessdrc.checks.drops import load_drops, load_subjects
from harnessdrc.checks.registry import Outcome, check, limit
from harnessdrc.design import Contact, Design, Net
from harnessdrc.findings import Finding, Mark, Subject

__all__ = ["shorted_to_ground", "two_supplies", "voltage_drop"]


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
    live independently, or that holds a battery and a sensor supply, or two batteries.
    Stays silent when: each net has one supply; diodes are taken to part supplies.
    Source: common practice, no source.
    """
    for subject, _, supplies in _supplied_nets(design):
        if len(supplies) < 2:
            continue
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
