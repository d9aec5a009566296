"""Checks on the lines of the wire list: ends, numbers, colour, size."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from harnessdrc.checks.hotwires import hot_wires, loaded_wires
from harnessdrc.checks.registry import Outcome, check, limit
from harnessdrc.checks.wirelabels import insulation_subjects, insulations, size_subjects, two_sizes
from harnessdrc.design import Design
from harnessdrc.design.conductors import conductor_mm2
from harnessdrc.findings import Finding, Mark, Subject, Undecided
from harnessdrc.harness.elements import Wire

__all__ = [
    "colour_missing", "current", "duplicate_number", "implausible", "insulation", "one_end", "size_label",
    "size_missing",
]  # fmt: skip


def _wires(design: Design, limits: None) -> list[Subject]:
    return [subject for subject, _, _ in _lacks_column(design, "to_item")] + [
        ("wire", wire.name) for wire in design.harness.wires
    ]


@check(
    "wire.one_end",
    counts="wires, and wire lists without a column for the other end",
    subjects=_wires,
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
    one_sided = _lists_without(design, "to_item")
    joined = {  # lists whose wires find their other end by number at another connector
        (place.file, place.sheet)
        for w in design.harness.wires
        if w.b is not None and (w.place.file, w.place.sheet) in one_sided
        for place in (w.place, *w.also)
    }
    for subject, mark, count in _lacks_column(design, "to_item"):
        if (mark.place.file, mark.place.sheet) not in joined:
            yield Undecided(subject, (f"where its {count} wires end (the list has no such column)",), (mark,))
    for wire in design.harness.wires:
        ends = [wire.a, wire.b]
        given = [e for e in ends if e is not None]
        missing = [
            side
            for side, end, is_open in (("from", wire.a, wire.a_open), ("to", wire.b, wire.b_open))
            if end is None and not is_open
        ]
        subject = ("wire", wire.name)
        if missing and (wire.place.file, wire.place.sheet) in one_sided:
            if (wire.place.file, wire.place.sheet) in joined:
                need = f"other end of wire {wire.name} (its number stands at no other connector)"
                yield Undecided(subject, (need,), (Mark(wire.place.of("wire", "from_cavity"), "one end only"),))
            continue
        if missing:
            side = missing[0]
            marks = (Mark(wire.place.of(f"{side}_item"), "end missing"),)
            if given:
                yield Finding(subject, marks, {"end": design.label(given[0])})
            else:
                yield Finding(subject, marks, {}, variant="none")
        elif wire.a is not None and wire.a == wire.b and not wire.a.cavity.startswith("?"):
            yield Finding(
                subject,
                (Mark(wire.place.of("to_item"), "same as the other end"),),
                {"end": design.label(wire.a)},
                variant="loop",
            )


def _numbers(design: Design, limits: None) -> list[Subject]:
    numbers = {wire.number for wire in design.harness.wires if wire.number}
    return [("wire number", number) for number in sorted(numbers)]


def _ends(design: Design, wire: Wire) -> str:
    return " – ".join(design.label(c) if c is not None else "?" for c in (wire.a, wire.b))


def _one_net(design: Design, one: Wire, other: Wire) -> bool:
    nets = [{design.net.net_of.get(c) for c in (w.a, w.b) if c is not None} - {None} for w in (one, other)]
    earths = [{c for c in (w.a, w.b) if c in design.net.earths} for w in (one, other)]
    return bool(nets[0] & nets[1]) or (not nets[0] and not nets[1] and bool(earths[0] & earths[1]))


@check(
    "wire.duplicate_number",
    counts="wire numbers",
    subjects=_numbers,
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
    by_number: dict[str, dict[str, Wire]] = {}
    for first, second in design.harness.repeated:
        if not _one_net(design, first, second):
            lines = by_number.setdefault(first.number or "", {})
            lines[first.name], lines[second.name] = first, second
    for number, lines in by_number.items():
        wires = sorted(lines.values(), key=lambda w: (w.place.file, w.place.sheet, w.place.row))
        marks = [Mark(w.place.of("wire", "from_item"), _ends(design, w)) for w in wires]
        yield Finding(
            ("wire number", number),
            tuple(marks),
            {
                "number": number,
                "count": len(wires),
                "ends": " and ".join(sorted(_ends(design, w) for w in wires)),
            },
        )


def _lacks_column(design: Design, column: str) -> list[tuple[Subject, Mark, int]]:
    """Wire lists that have no such column at all."""
    return [
        (("wire list", place.list_name), Mark(place, "wire list"), count)
        for place, columns, count in design.harness.wire_tables
        if column not in columns
    ]


def _lists_without(design: Design, column: str) -> set[tuple[str, str]]:
    return {(mark.place.file, mark.place.sheet) for _, mark, _ in _lacks_column(design, column)}


def _single(design: Design, column: str) -> list[Wire]:
    """Wires of the lists that have the column; a cable of several cores has no colour or size of its own."""
    tables = _lists_without(design, column)
    return [w for w in design.harness.wires if w.cores == 1 and (w.place.file, w.place.sheet) not in tables]


def _missing(design: Design, column: str) -> Iterator[Outcome]:
    """One finding per wire without the value; one per list where the whole column is absent."""
    for subject, mark, count in _lacks_column(design, column):
        yield Finding(subject, (mark,), {"count": count}, variant="column")
    unread = {cell.place: cell.text for cell in design.harness.unreadable}
    for wire in _single(design, column):
        if getattr(wire, column) is not None:
            continue
        subject = ("wire", wire.name)
        place = wire.place.of(column)
        written = wire.colour_written if column == "colour" else unread.get(place)
        if written:
            yield Undecided(subject, (f"which {column} '{written}' is",), (Mark(place, "not understood"),))
        else:
            yield Finding(subject, (Mark(wire.place.of(column), f"{column} missing"),))


def _wires_and_lists(design: Design, column: str) -> list[Subject]:
    lists = [subject for subject, _, _ in _lacks_column(design, column)]
    return [*lists, *(("wire", w.name) for w in _single(design, column))]


@check(
    "wire.colour_missing",
    counts="wires, and wire lists without the column",
    subjects=lambda design, limits: _wires_and_lists(design, "colour"),
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
    yield from _missing(design, "colour")


@check(
    "wire.size_missing",
    counts="wires, and wire lists without the column",
    subjects=lambda design, limits: _wires_and_lists(design, "size"),
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
    yield from _missing(design, "size")


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
