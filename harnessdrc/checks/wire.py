"""Checks on the lines of the wire list: ends, numbers, colour, size."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from harnessdrc.checks.hotwires import hot_wires, loaded_wires
from harnessdrc.checks.registry import Outcome, check, limit
from harnessdrc.checks.wirelabels import insulation_subjects, insulations, size_subjects, two_sizes
from harnessdrc.checks.wirelines import (
    missing_values,
    numbered_twice,
    numbers_listed,
    one_ended,
    wires_and_lists,
)
from harnessdrc.checks.wireways import laid_wires, too_long_wires, too_short_wires
from harnessdrc.design import Design
from harnessdrc.design.conductors import conductor_mm2
from harnessdrc.findings import Finding, Mark

__all__ = [
    "colour_missing", "current", "duplicate_number", "implausible", "insulation", "one_end", "size_label",
    "size_missing", "too_long", "too_short",
]  # fmt: skip


@check(
    "wire.one_end",
    counts="wires, and wire lists without a column for the other end",
    subjects=lambda design, limits: wires_and_lists(design, "to_item", every=True),
    reads=("from_item", "to_item"),
    says={
        "": "{subject} has only one end, {end}.",
        "none": "{subject} has no end at all.",
        "loop": "{subject} begins and ends at {end}.",
    },
    remedy={
        "": "Fill in where the other end goes, or write 'open' for an end that is cut back and insulated.",
        "none": "Fill in both ends, or take the line out.",
        "loop": "Correct one of the ends.",
    },
)
def one_end(design: Design, limits: None) -> Iterator[Outcome]:
    """A wire has only one end.

    Why it matters: It cannot be cut to length or pinned; whatever it should connect is missing.
    Reads: From and To of the wire list.
    Decides: Both ends must be filled in and differ; an end written as open counts as an end.
    Stays silent when: both ends are there, or one is said to be left open.
    Source: common practice, no source.
    """
    yield from one_ended(design)


@check(
    "wire.duplicate_number",
    counts="wire numbers",
    subjects=lambda design, limits: numbers_listed(design),
    reads=("wire", "from_item", "to_item"),
    says={
        "": "The number {number} stands on {count} different wires: {ends}.",
    },
    remedy={"": "Give each of them a number of its own."},
)
def duplicate_number(design: Design, limits: None) -> Iterator[Outcome]:
    """One wire number stands on two different wires.

    Why it matters: The labels on the bench no longer say which wire is which, and a later change reaches
    the wrong one.
    Reads: Wire, From and To of the wire list.
    Decides: Two lines with one number and different ends are a finding. Lines with the same ends, in either
    order, are one wire listed on both ends' sheets.
    Stays silent when: the two are joined copper, since one number on both sides of a splice or a bulkhead
    connector is a usual way to number.
    Source: common practice, no source.
    """
    yield from numbered_twice(design)


@check(
    "wire.colour_missing",
    counts="wires, and wire lists without the column",
    subjects=lambda design, limits: wires_and_lists(design, "colour"),
    reads=("colour",),
    says={
        "": "{subject} has no colour.",
        "column": "The {subject} has no column for colours ({count} wires).",
    },
    remedy={"": "Fill in the colour.", "column": "Add a column Colour."},
)
def colour_missing(design: Design, limits: None) -> Iterator[Outcome]:
    """A wire has no colour.

    Why it matters: It cannot be picked from the rack, and not be found again in the loom.
    Reads: Colour of the wire list.
    Decides: Every wire must have a colour; a list without such a column is one finding.
    Stays silent when: a colour is given, in IEC 60757 letters or in words.
    Source: IEC 60757 for the letters; that a wire has one is common practice, no source.
    """
    yield from missing_values(design, "colour")


@check(
    "wire.size_missing",
    counts="wires, and wire lists without the column",
    subjects=lambda design, limits: wires_and_lists(design, "size"),
    reads=("size",),
    says={
        "": "{subject} has no size.",
        "column": "The {subject} has no column for sizes ({count} wires).",
    },
    remedy={
        "": "Fill in the size in mm² or AWG.",
        "column": "Add a column Size in mm² or AWG; without it no voltage drop can be computed.",
    },
)
def size_missing(design: Design, limits: None) -> Iterator[Outcome]:
    """A wire has no size.

    Why it matters: It cannot be cut from the right reel, and nothing can be said of its voltage drop.
    Reads: Size of the wire list.
    Decides: Every wire must have a size; a list without such a column is one finding. A size that is
    ambiguous (neither mm² nor AWG can be told) counts as missing.
    Stays silent when: a size is given.
    Source: common practice, no source.
    """
    yield from missing_values(design, "size")


@dataclass(frozen=True, slots=True)
class ImplausibleLimits:
    """Sizes and lengths that are found in looms of vehicles and boats."""

    least_mm2: float = limit(0.05, "mm2", "smallest conductor that is found in a loom")
    most_mm2: float = limit(150.0, "mm2", "largest conductor that is found in a loom")
    most_m: float = limit(60.0, "m", "longest wire that is found in a loom")


@check(
    "wire.implausible",
    counts="wires with a size or a length",
    subjects=lambda design, limits: [
        ("wire", w.name) for w in design.harness.wires if w.size is not None or w.length_m is not None
    ],
    reads=("size", "length_m"),
    limits=ImplausibleLimits,
    says={
        "thin": "{subject} has a conductor of {measured} (limit {limit}): no such wire is made for looms.",
        "thick": "{subject} has a conductor of {measured} (limit {limit}): no such wire is made for looms.",
        "long": "{subject} is {measured} long (limit {limit}).",
    },
    remedy={
        "thin": "Correct the size or its unit: mm² or AWG.",
        "thick": "Correct the size or its unit: mm² or AWG.",
        "long": "Correct the length or its unit.",
    },
)
def implausible(design: Design, limits: ImplausibleLimits) -> Iterator[Outcome]:
    """A size or a length is one that no loom has.

    Why it matters: A slipped decimal point or unit goes through every drop, offset and cut length.
    Reads: Size and Length of the wire list.
    Decides: The area of the conductor in mm² (of a gauge by ASTM B258) must lie between the limits, and the length in m
    must not be above its limit.
    Stays silent when: both are within, or not given. Zero and less than zero are no size and no length at all.
    Source: common practice, no source.
    """
    for wire in design.harness.wires:
        area_mm2 = conductor_mm2(wire.size)
        if area_mm2 and not limits.least_mm2 <= area_mm2 <= limits.most_mm2:
            thin = area_mm2 < limits.least_mm2
            bound, variant = (limits.least_mm2, "thin") if thin else (limits.most_mm2, "thick")
            mark = Mark(wire.place.of("size", "wire"), f"wire {wire.name}")
            yield Finding(("wire", wire.name), (mark,), {}, area_mm2, bound, "mm2", variant)
        elif wire.length_m is not None and wire.length_m > limits.most_m:
            mark = Mark(wire.place.of("length_m", "wire"), f"wire {wire.name}")
            yield Finding(("wire", wire.name), (mark,), {}, wire.length_m, limits.most_m, "m", "long")


@check(
    "wire.insulation",
    counts="kinds of insulation in the wire lists",
    subjects=lambda design, limits: insulation_subjects(design),
    reads=("insulation",),
    says={
        "": "The insulation '{text}' of {wires} is none that is known: what temperature it bears is left open.",
        "ambiguous": "The insulation '{text}' of {wires} may be {may_be}: what temperature it bears is left open.",
    },
    remedy={
        "": "Write the cable type or its temperature class, such as FLRY, TXL, class B or 105 °C.",
        "ambiguous": "Write the cable type or its temperature class, such as FLRY, TXL, class B or 105 °C.",
    },
)
def insulation(design: Design, limits: None) -> Iterator[Outcome]:
    """The words for an insulation leave open what temperature it bears.

    Why it matters: How much current a wire may carry in a hot bundle, and how long it stands a short circuit, hang on
    the temperature of its insulation: between the common kinds that is a factor of two.
    Reads: Insulation of the wire list, each distinct text once.
    Decides: A text must name a temperature class, a published cable type, or a temperature that a published class has.
    A material or a wall alone stands for several classes, as do words that contradict each other.
    Stays silent when: one class follows, or the cell is empty, in which case the range of usual insulations is taken.
    Source: temperature classes of ISO 6722, types of SAE J1128 and J1127, DIN 72551, MIL-W-22759 and others, each row
    of rulesets/tables/insulation_classes.csv with what was read and what is from memory.
    """
    yield from insulations(design)


@check(
    "wire.size_label",
    counts="wires and straps with a size",
    subjects=lambda design, limits: size_subjects(design),
    reads=("size",),
    says={
        "": "{subject} is listed as '{text}', which are two wires: {size} has {size_mm2} mm² of copper and carries "
        "about {size_a} A, {other} would have {other_mm2} mm², {more} % more, and carry {other_a} A (each alone in "
        "free air, 40 K warmer). {size} is used here.",
    },
    remedy={"": "Write the one that is on the reel, {size} or {other}."},
)
def size_label(design: Design, limits: None) -> Iterator[Outcome]:
    """One cell gives two sizes that are not the same wire.

    Why it matters: A gauge is often sold under a metric size that has up to a quarter more copper. Whoever cuts the
    wire takes one, whoever worked out the drop and the fuse meant the other.
    Reads: Size of the wire list and of the straps.
    Decides: A cell with a gauge and a cross-section names one wire only where the cross-section is that of the gauge
    by ASTM B258 within 2 %; else it is a finding. No label is turned into the other: for everything that is computed
    the one with the less copper is taken.
    Stays silent when: the cell gives one size, or the gauge with its own area. A cell that gives the size of a
    contact, or zero, is not understood and told of as such.
    Source: ASTM B258 for gauges; cable sheets that list 16 AWG as 1.5 mm² (read), where SAE J1128 has at least
    1.12 mm² (from memory); currents by the curves of MIL-W-5088 figure 3 (read, digitised).
    """
    yield from two_sizes(design)


@dataclass(frozen=True, slots=True)
class CurrentLimits:
    """How much of the current that heats it to its rated temperature a wire may carry."""

    load_percent: float = limit(100.0, "percent", "current over what heats the wire to its rated temperature")


@check(
    "wire.current",
    counts="wires whose current is known",
    subjects=lambda design, limits: loaded_wires(design),
    reads=("size", "branch", "insulation", "zone", "current_a"),
    limits=CurrentLimits,
    says={
        "": "{subject} ({size}) carries {current} {when}, {measured} of the {allowed} that it may carry where it lies "
        "(limit {limit}): at {ambient} {bundle} its conductor comes to {conductor}, its insulation bears {rated}.",
        "ambient": "{subject} (insulation {insulation}) lies in branch {branch} at {measured}; its insulation bears no "
        "more than {limit}, without any current.",
    },
    remedy={
        "": "{advice}",
        "ambient": "Take an insulation that bears more, or lead it through a cooler place; or correct the zone of the "
        "branch.",
    },
)
def current(design: Design, limits: CurrentLimits) -> Iterator[Outcome]:
    """A wire carries more than its insulation bears in its bundle and its place.

    Why it matters: The conductor gets hotter than the insulation bears; it grows hard, cracks and lets go, first in the
    middle of the thickest bundle.
    Reads: Size, Branch, Insulation and Current of the wire list; Zone of the branches; currents of the loads.
    Decides: The greatest effective current over the operating states, from the solved circuit with what pulses counted
    by its effective value and cranking by the time it lasts, must not be above load_percent of the allowed current:
    that which heats the wire in free air from the ambient of its branch's zone to its rated temperature,
    I = b dT^m by its size, times the factor of its bundle by number and loading. What is lacking is carried as a range:
    a finding is over with all of it at its best, and undecided is what is over only with it at its worst. A zone as
    hot as the insulation bears is a finding without any current.
    Stays silent when: the current is within, or not known (what the solved circuit left out it says itself).
    Source: MIL-W-5088 figure 3 as digitised (read) for free air, bundle curves as digitised (read), AC 43.13-1B table
    11-9 (read) for 8 AWG and larger; ambients of zones: common practice, no source.
    """
    yield from hot_wires(design, limits.load_percent)


@dataclass(frozen=True, slots=True)
class TooShortLimits:
    """By how much a wire may be listed shorter than its way."""

    short_percent: float = limit(2.0, "percent", "what is lacking of the way along the branches")


@check(
    "wire.too_short",
    counts="wires with a length whose way along listed branches is known",
    subjects=lambda design, limits: [("wire", wire.name) for wire, _ in laid_wires(design)],
    reads=("length_m", "branch", "from_point", "to_point", "distance_m", "x_m", "y_m", "z_m"),
    limits=TooShortLimits,
    says={
        "": "{subject} is listed with {length}, and its way from {ends} along {branches} is {way}: {measured} are "
        "lacking (limit {limit}).",
    },
    remedy={"": "Cut it to {way} and what its ends take; or correct its branches, or their lengths."},
)
def too_short(design: Design, limits: TooShortLimits) -> Iterator[Outcome]:
    """A wire is listed shorter than its way along its branches.

    Why it matters: It is cut to the length of the list and does not reach; a splice is put in where none should be, or
    the bundle is pulled out of its place.
    Reads: Length and Branch of the wire list; points and Length of the branches, Distance of the splices, coordinates.
    Decides: 100 (1 - length / way) per cent is at most short_percent. The way is the shortest along the branches that
    the wire names, by their listed lengths, else straight between their ends, from one end of the wire to the other:
    the point of a branch, a splice in one, or the nearest place of the branches and straight on from there to where the
    end is by its coordinates. Of an end that is nowhere the least is taken that reaches all its branches, and only a
    wire shorter than that is looked at.
    Stays silent when: the wire is long enough; when it names no branch that is listed, or an end is open.
    Source: geometry; the limit is common practice, no source.
    """
    yield from too_short_wires(design, limits.short_percent)


@dataclass(frozen=True, slots=True)
class TooLongLimits:
    """By how much a wire may be listed longer than its way."""

    spare_m: float = limit(1.0, "m", "what the length has over the way along the branches")


@check(
    "wire.too_long",
    counts="wires with a length whose way along listed branches is known",
    subjects=lambda design, limits: [("wire", wire.name) for wire, way in laid_wires(design) if way.placed],
    reads=("length_m", "branch", "from_point", "to_point", "distance_m", "x_m", "y_m", "z_m"),
    limits=TooLongLimits,
    says={
        "": "{subject} is listed with {length}, {measured} more than its way of {way} from {ends} along {branches} "
        "(limit {limit}).",
    },
    remedy={"": "Cut it to its way and what its ends take; or name the branches that it does run in."},
)
def too_long(design: Design, limits: TooLongLimits) -> Iterator[Outcome]:
    """A wire is listed much longer than its way along its branches.

    Why it matters: What is over is folded into the bundle, where it chafes, adds resistance and, in a loop of ignition
    or trigger, area; or the wire takes another way than the list says, and all that is worked out for it is wrong.
    Reads: Length and Branch of the wire list; points and Length of the branches, Distance of the splices, coordinates.
    Decides: In m, the listed length may be up to spare_m more than the way along its branches, which is found as in
    wire.too_short.
    Stays silent when: it is within; when the wire names no branch that is listed, or an end is nowhere on them.
    Source: geometry; the limit is common practice, no source.
    """
    yield from too_long_wires(design, limits.spare_m)
