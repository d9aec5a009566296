"""Checks on fuses: their load, the wires behind them, a short circuit at the far end, colour and family."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from harnessdrc.checks.fusebreaking import beyond_breaking
from harnessdrc.checks.fuselists import fuses_with, unclear_families, wrong_colours
from harnessdrc.checks.fusewires import USUAL_FAMILIES, amps, guarding, no_limits, not_cleared, too_large
from harnessdrc.checks.registry import Outcome, check, limit
from harnessdrc.design import Contact, Design
from harnessdrc.design.sizing.breaking import prospective_faults
from harnessdrc.design.sizing.fuse_currents import FuseCurrent, FuseCurrents
from harnessdrc.design.sizing.protection import Fuse, protection_of
from harnessdrc.findings import Finding, Mark, Undecided, beyond
from harnessdrc.harness.names import natural_key
from harnessdrc.physics.fuses import standard_ratings

__all__ = ["blows", "breaking_capacity", "colour", "family", "in_ground", "load", "protects_wire"]

_TOLD_WIRES = 5
"""So many wires are named in a sentence, the others counted."""
_MOST_MARKS = 20
"""So many cells of one kind are marked."""


def _rating_lacks(fuse: Fuse) -> Undecided:
    return Undecided(fuse.subject, (f"rating of {fuse.item.name}",), fuse.mark("rating_a", "no rating"))


# ---------------------------------------------------------------------- load
@dataclass(frozen=True, slots=True)
class FuseLoadLimits:
    """How much a fuse may carry for hours."""

    load_percent: float = limit(80.0, "percent", "part of its rating that a fuse may carry for hours")


def _loaded(design: Design, limits: FuseLoadLimits) -> list[Fuse]:
    return [f for f in protection_of(design).fuses if not f.output] if design.analysis.solved else []


@check(
    "fuse.load",
    counts="fuses fed by the battery",
    subjects=lambda design, limits: [fuse.subject for fuse in _loaded(design, limits)],
    reads=("rating_a", "current_a"),
    limits=FuseLoadLimits,
    says={
        "": "{subject} carries {load} for hours ({state}), {measured} of its {rating} (limit {limit}).",
        "listed": "{subject} carries {load} for hours, {listed} of it as listed for {wires}: {measured} of its "
        "{rating} (limit {limit}).",
    },
    remedy={"": "{advice}", "listed": "{advice}"},
)
def load(design: Design, limits: FuseLoadLimits) -> Iterator[Outcome]:
    """A fuse carries more for hours than it should.

    Why it matters: A fuse that is worked near its rating gets hot, ages and opens one day without a fault; in a hot
    engine bay sooner.
    Reads: Rating of the fuses, Current of wires and components.
    Decides: Solves the circuit of all feeds and returns in every operating state; the greatest average current in A
    through the fuse, over its rating, in per cent. States in which the starter turns last for seconds and do not count.
    Where the circuit has no current for what is behind a wire and the wire lists one, that counts; of wires one behind
    the other the nearest to the fuse.
    Stays silent when: the load is at or below the limit and the current of every load behind the fuse is known, as
    listed or as usual for its kind, or as listed for a wire ahead of it. A fuse that no battery of the list feeds is
    not looked at.
    Source: common practice of fuse makers, 75 to 80 % of the rating at room temperature; no source.
    """
    currents = FuseCurrents(design)
    for fuse in _loaded(design, limits):
        carried = currents.of(fuse)
        if fuse.rating_a is None:
            yield _rating_lacks(fuse)
            continue
        if carried.current_a is None:
            continue
        percent = 100.0 * carried.current_a / fuse.rating_a
        if beyond(percent, limits.load_percent):
            yield _overloaded(design, fuse, carried, percent, limits)
        elif carried.unknown:
            most_a = carried.current_a + len(carried.unknown) * design.given["unknown_current_high_a"]
            yield Undecided(
                fuse.subject, tuple(f"current of {name}" for name in carried.unknown), fuse.mark("rating_a"),
                percent, 100.0 * most_a / fuse.rating_a, limits.load_percent, "percent",
            )  # fmt: skip


def _overloaded(
    design: Design, fuse: Fuse, carried: FuseCurrent, percent: float, limits: FuseLoadLimits
) -> Finding:
    current_a, rating_a = carried.current_a or 0.0, fuse.rating_a or 0.0
    needed_a = 100.0 * current_a / max(limits.load_percent, 1e-9)
    larger = sorted(r for name in fuse.families or USUAL_FAMILIES for r in standard_ratings(name) if r >= needed_a)
    thin = protection_of(design).thinnest(fuse)
    advice = "Part its loads over two fuses."
    if larger and thin is not None and larger[0] <= thin[1].low_a:
        advice = f"A fuse of {larger[0]:g} A carries it, and the wires behind it bear that."
    elif larger:
        bigger = f"one of {larger[0]:g} A would carry them, but needs thicker wires behind it"
        advice = f"Part its loads over two fuses; {bigger}."
    wires = carried.listed_for
    return Finding(
        fuse.subject,
        (*(fuse.mark("rating_a", "loaded too much") or design.devices.mark(fuse.inlet, fuse.item.name)),
         *_listing(design, wires)),
        {
            "load": amps(current_a), "state": carried.state, "rating": f"{rating_a:g} A", "advice": advice,
            "listed": amps(carried.listed_a), "wires": _wires_text(wires),
        },
        measured=percent, limit=limits.load_percent, unit="percent", variant="listed" if wires else "",
    )  # fmt: skip


def _wires_text(names: tuple[str, ...]) -> str:
    """Wires in a sentence: ``wire W2``, ``wires W2, W5 and 12 more``."""
    told = [*names[:_TOLD_WIRES], *([f"{len(names) - _TOLD_WIRES} more"] if len(names) > _TOLD_WIRES else [])]
    return f"wire {told[0]}" if len(told) == 1 else f"wires {', '.join(told[:-1])} and {told[-1]}" if told else ""


def _listing(design: Design, names: tuple[str, ...]) -> tuple[Mark, ...]:
    """Cells of the currents that wires list."""
    if not names:
        return ()
    by_name = {wire.name: wire for wire in design.harness.wires}
    return tuple(Mark(by_name[name].place.of("current_a", "wire"), "current as listed") for name in names[:_MOST_MARKS])


# ---------------------------------------------------------------------- wires
def _without_two_ends(design: Design) -> dict[str, list[Contact]]:
    """Fuses with wires in more than two of their cavities, by name: nobody can say between which of them it lies."""
    return {name: contacts for name, contacts in protection_of(design).wired.items() if len(contacts) > 2}


@check(
    "fuse.protects_wire",
    counts="fuses and protected outputs with wires behind them",
    subjects=lambda design, limits: [
        *(fuse.subject for fuse in guarding(design, limits)),
        *(("fuse", name) for name in _without_two_ends(design)),
    ],
    reads=("rating_a", "size", "insulation", "branch", "zone"),
    says={
        "": "{subject} lets {measured} flow in {wires}, first of all wire {wire} ({size}) (limit {limit}; {where}).",
    },
    remedy={"": "{advice}"},
)
def protects_wire(design: Design, limits: None) -> Iterator[Outcome]:
    """A fuse is rated above what the thinnest wire behind it may carry.

    Why it matters: A wire overloaded below the rating of its fuse burns first, and takes the wires beside it along.
    Reads: Rating of the fuses, Size, Insulation and Branch of the wire list, Zone of the branches.
    Decides: For every wire from the fuse to the next one or to a device: the steady current in A that heats it to the
    temperature its insulation is rated for, with its bundle and its ambient; the least of them must not be below the
    rating of the fuse. A name that ends in a current, as PD board 30AMP, makes an output protected by that rating.
    What is lacking is carried as a range. A fuse with wires in more than two cavities parts nothing: it is asked which
    two are its ends.
    Stays silent when: the rating is at or below what every wire bears over the whole range of what is lacking. A wire
    that leads to a further fuse alone is held by the smaller of the two. Wires behind a load are not held to it: the
    load holds the current of a fault there.
    Source: heating by the curves of MIL-W-5088 and AC 43.13-1B (digitised). For comparison AC 43.13-1B table 11-3
    (read), which is for 57 °C and 15 or more wires of which a fifth is loaded, has as largest fuse 5 A for 22 and
    20 AWG, 10 A for 18 and 16, 15 A for 14, 20 A for 12, 30 A for 10, 50 A for 8, 70 A for 6 and 4, 100 A for 2.
    """
    protection = protection_of(design)
    for name, contacts in _without_two_ends(design).items():
        cavities = sorted((contact.cavity for contact in contacts), key=natural_key)
        ends = f"which two of {', '.join(cavities[:-1])} and {cavities[-1]} are the ends of {name}"
        yield Undecided(("fuse", name), (ends,), design.devices.mark(contacts[0], name))
    for fuse in guarding(design, limits):
        if fuse.rating_a is None:
            yield _rating_lacks(fuse)
            continue
        both = protection.thinnest(fuse)
        cores = _cores(design, fuse)
        if both is None:
            yield from cores
            continue
        certain, doubtful = both
        if certain.held_a > certain.high_a:
            yield too_large(design, fuse, certain)
        elif doubtful.held_a > doubtful.low_a:
            wires = design.harness.wires
            sizing, numbers = design.sizing, protection.wires_behind[fuse.item.key]
            thin = [
                wires[n].name for n in numbers
                if sizing.allowed_low_a[n] < protection.held_a(wires[n], fuse)
            ]  # fmt: skip
            missing = dict.fromkeys(what for name in sorted(thin, key=natural_key) for what in sizing.lacking(name))
            mark = Mark(doubtful.wire.place.of("size", "wire"), "bears least while data is lacking")
            yield Undecided(
                fuse.subject, tuple(missing) or (f"data of wire {doubtful.wire.name}",), (mark, *fuse.mark()),
                doubtful.low_a, doubtful.high_a, doubtful.held_a, "A",
            )  # fmt: skip
        else:
            yield from cores


def _cores(design: Design, fuse: Fuse) -> Iterator[Undecided]:
    """Undecided while the cores of a cable behind a fuse are not told apart."""
    names = protection_of(design).cables_behind.get(fuse.item.key, ())
    if names:
        by_name = {wire.name: wire for wire in design.harness.wires}
        marks = tuple(Mark(by_name[name].place.of("size", "wire"), "cores not told apart") for name in names)
        yield Undecided(fuse.subject, tuple(f"cores of cable {name}" for name in names), marks)


# ---------------------------------------------------------------------- short circuit
@dataclass(frozen=True, slots=True)
class BlowsLimits:
    """How soon a fuse must clear a short circuit."""

    clear_s: float = limit(5.0, "s", "longest time that a fuse may take to clear a short circuit")


def _blowing(design: Design, limits: BlowsLimits) -> list[Fuse]:
    return [fuse for fuse in guarding(design, limits) if not fuse.output]


@check(
    "fuse.blows",
    counts="fuses with wires behind them",
    subjects=lambda design, limits: [fuse.subject for fuse in _blowing(design, limits)],
    reads=("rating_a", "family", "size", "length_m", "insulation"),
    limits=BlowsLimits,
    says={
        "": "{subject} ({family}, {rating}) may take {measured} to clear a short circuit at the far end of wire {wire} "
        "({size}), where no more than {fault} flow (limit {limit}).",
        "never": "A short circuit at the far end of wire {wire} ({size}) draws {measured}; {subject} ({family}, "
        "{rating}) is sure to open no sooner than at its limit of {limit}.",
        "burns": "A short circuit of {fault} at the far end of wire {wire} ({size}) has the wire at its limit after "
        "{limit}; {subject} ({family}, {rating}) may take {measured} to clear it.",
    },
    remedy={
        "": "Fit a smaller fuse, or make the way to wire {wire} thicker or shorter.",
        "never": "Fit a smaller fuse, or make the way to wire {wire} thicker or shorter.",
        "burns": "Fit a smaller fuse, or make wire {wire} thicker.",
    },
)
def blows(design: Design, limits: BlowsLimits) -> Iterator[Outcome]:
    """A short circuit at the far end of a wire does not open its fuse in time.

    Why it matters: A long thin wire holds down the current of its own short circuit; a fuse that waits too long, or for
    ever, leaves the wire to burn.
    Reads: Rating and Family of the fuses, Size, Length and Insulation of the wire list, the straps.
    Decides: I = U / R with the given voltage of the battery, its inner resistance, the feed of least resistance to the
    wire's far end, and the way home from the body with the most resistance. The longest time in s of the fuse's family
    at that current must be within the limit, and what it lets through, I² t in A²s, at or below what the
    wire stands: k² S², k = 226 √(ln((234.5 + tf) / (234.5 + ti))), from its rated to its short-time temperature. What
    is lacking is carried as a range.
    Stays silent when: the fuse clears in time at the far end of every wire it protects, over the whole range of what is
    lacking. Wires behind a load are not held to it.
    Source: ISO 8820-3 limits of fuses (110 % and 135 % of blades read, the others from memory), IEC 60949 for the wire
    (read on a page that quotes it); 5 s is how long that formula holds.
    """
    protection = protection_of(design)
    for fuse in _blowing(design, limits):
        if fuse.rating_a is None:
            yield _rating_lacks(fuse)
            continue
        fault = protection.worst_fault(fuse, limits.clear_s)
        if fault is None or fault.verdict == "clears":
            yield from _cores(design, fuse)
            continue
        if fault.verdict == "not known":
            missing = fault.lacking
            if not fuse.families:
                missing = (f"family of {fuse.item.name}{no_limits(fuse)}", *missing)
            yield Undecided(fuse.subject, missing or (f"data of wire {fault.wire.name}",), fuse.mark("family"))
            continue
        yield not_cleared(design, fuse, fault, limits.clear_s)


@check(
    "fuse.breaking_capacity",
    counts="fuses fed by the battery whose family has a breaking capacity, or is not known",
    subjects=lambda design, limits: [each.fuse.subject for each in prospective_faults(design)],
    reads=("family", "size", "length_m"),
    says={
        "": "A short circuit right behind {subject} ({family}) may draw {measured}, through {feed_mohm} mΩ of battery "
        "and feed and {home_mohm} mΩ of way home; the fuse is sure to break no more than {limit}.",
    },
    remedy={
        "": "Fit a fuse there whose maker says that it breaks {current}, such as a bolted one; or feed this one from "
        "further on, through a longer wire that a fuse protects.",
    },
)
def breaking_capacity(design: Design, limits: None) -> Iterator[Outcome]:
    """A short circuit right behind a fuse draws more than the fuse can break.

    Why it matters: Above its breaking capacity a fuse may burst, or its arc goes on burning across the open element and
    carries the current of the fault on: to the wire, and to what lies beside the fuse.
    Reads: Family of the fuses, Size and Length of the wires up to them, the straps.
    Decides: I = U / R in A, prospective, that is with the fuse itself left out: the given voltage of the battery, its
    inner resistance, the feed of least resistance up to the fuse, and the way home from the metal that has the least.
    It must not be above the breaking capacity of the fuse's family. What is lacking is carried as a range. A larger
    battery, or one with its alternator charging, gives more: set battery_inner_mohm and fault_v.
    Stays silent when: the current is at or below it over the whole range of what is lacking; of a family that has no
    figure in the table nothing is said. Where the family is not known, it is asked for once the current is above the
    least figure of any.
    Source: ISO 8820-3 (breaking capacity of blade fuses, 1000 A, read); prospective current as in IEC 60269-1 (from
    memory).
    """
    yield from beyond_breaking(design)


# ---------------------------------------------------------------------- what the list says of a fuse
@check(
    "fuse.colour",
    counts="fuses with a colour",
    subjects=lambda design, limits: [("fuse", item.name) for item in fuses_with(design, "colour")],
    reads=("colour", "rating_a", "family"),
    says={"": "{subject} is listed as {listed}; at {rating} a {family} fuse is {right}."},
    remedy={"": "Correct the rating or the colour: the colour is what is looked at when a fuse is replaced."},
)
def colour(design: Design, limits: None) -> Iterator[Outcome]:
    """The colour of a fuse is not that of its rating.

    Why it matters: Fuses are picked and replaced by their colour; one of the wrong rating protects nothing or blows.
    Reads: Colour, Rating and Family of the fuses.
    Decides: The listed colour must be among the names that the standard's colour of the rating goes by, in the family;
    where the family is not known, in one of those that are made in this rating.
    Stays silent when: the colour is right, or no colours of the family or rating are published.
    Source: ISO 8820-3, DIN 72581-3, SAE J1284 and J1888: black, grey, pink, red and blue read in a data sheet, the
    others from memory.
    """
    yield from wrong_colours(design)


@check(
    "fuse.family",
    counts="fuses with a family",
    subjects=lambda design, limits: [("fuse", item.name) for item in fuses_with(design, "family")],
    reads=("family", "rating_a"),
    says={
        "": "{subject} is of the family '{text}', which is not known.",
        "several": "{subject} is of the family '{text}', which may be {candidates}.",
    },
    remedy={
        "": "Write regular blade, mini blade, maxi blade, bolt-down 30 mm or bolt-down 51 mm, or another family that "
        "the guide of the template names.",
        "several": "Write which of them it is: they open at different times.",
    },
)
def family(design: Design, limits: None) -> Iterator[Outcome]:
    """The family of a fuse is not understood, or may be several.

    Why it matters: How soon a fuse opens depends on its build; without it nothing is known of a short circuit.
    Reads: Family and Rating of the fuses.
    Decides: The longest words of a family that stand in the cell; where they may mean several families, those that are
    made in the listed rating.
    Stays silent when: one family is meant, or the cell is empty: then the computations that need it ask for it.
    Source: ISO 8820-3 and 8820-5, SAE J1284, J2077 and J1888, DIN 72581; words of the trade, from memory.
    """
    yield from unclear_families(design)


# ---------------------------------------------------------------------- fuses in grounds
def _ground_beside(design: Design, contacts: list[Contact]) -> Contact | None:
    """Ground on a side of a fuse that no battery feeds."""
    nets = [net for contact in contacts if (net := design.net.net(contact)) is not None]
    if any(net.number in design.feeds.level for net in nets):
        return None
    for net in nets:
        joined = design.feeds.ground_on(net)
        if joined is not None:
            return joined[0]
    return None


@check(
    "fuse.in_ground",
    counts="fuses with a wire",
    subjects=lambda design, limits: [("fuse", name) for name in protection_of(design).wired],
    reads=("from_item", "to_item", "signal"),
    says={"": "{subject} lies in a ground: no battery feeds it, and {ground} is on it."},
    remedy={"": "Put the fuse into the feed, close to the battery, and lead the ground through."},
)
def in_ground(design: Design, limits: None) -> Iterator[Outcome]:
    """A fuse lies in a ground instead of a feed.

    Why it matters: A feed that chafes through on metal goes past such a fuse; and when it does open, the device looks
    for another way home, through signals and shields.
    Reads: From, To and Signal of the wire list, the earth points, the roles of pins.
    Decides: Copper from no battery's positive terminal, over fuses, relay contacts and switches, reaches either side,
    and an earth point, a battery's negative or a ground of a device is on one of them.
    Stays silent when: the battery feeds the fuse, or no ground is on it.
    Source: common practice, no source.
    """
    for name, contacts in protection_of(design).wired.items():
        ground = _ground_beside(design, contacts)
        if ground is not None:
            yield Finding(("fuse", name), design.devices.mark(contacts[0], name), {"ground": design.label(ground)})
