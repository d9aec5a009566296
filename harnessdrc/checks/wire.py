"""Checks on the lines of the wire list: ends, numbers, colour, size."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from harnessdrc.checks.registry import Outcome, check, limit
from harnessdrc.design import Design
from harnessdrc.design.conductors import conductor_mm2
from harnessdrc.findings import Finding, Mark, Subject, Undecided
from harnessdrc.harness.elements import Wire

__all__ = ["colour_missing", "duplicate_number", "implausible", "one_end", "size_missing"]


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
