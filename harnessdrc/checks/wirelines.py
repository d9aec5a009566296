"""Lines of the wire list by themselves: both ends given, one number for one wire, values that are missing."""

from __future__ import annotations

from collections.abc import Iterator

from harnessdrc.checks.registry import Outcome
from harnessdrc.design import Design
from harnessdrc.findings import Finding, Mark, Subject, Undecided
from harnessdrc.harness.elements import Wire

__all__ = ["missing_values", "numbered_twice", "numbers_listed", "one_ended", "wires_and_lists"]


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


def missing_values(design: Design, column: str) -> Iterator[Outcome]:
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


def wires_and_lists(design: Design, column: str, *, every: bool = False) -> list[Subject]:
    """Wire lists without a column, and the wires of the others that are one conductor; or `every` wire."""
    lists = [subject for subject, _, _ in _lacks_column(design, column)]
    return [*lists, *(("wire", w.name) for w in (design.harness.wires if every else _single(design, column)))]


def one_ended(design: Design) -> Iterator[Outcome]:
    """Wires with one end or none, and those that end where they begin."""
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


def numbers_listed(design: Design) -> list[Subject]:
    """Numbers of the wires."""
    numbers = {wire.number for wire in design.harness.wires if wire.number}
    return [("wire number", number) for number in sorted(numbers)]


def _ends(design: Design, wire: Wire) -> str:
    return " – ".join(design.label(c) if c is not None else "?" for c in (wire.a, wire.b))


def _one_net(design: Design, one: Wire, other: Wire) -> bool:
    nets = [{design.net.net_of.get(c) for c in (w.a, w.b) if c is not None} - {None} for w in (one, other)]
    earths = [{c for c in (w.a, w.b) if c in design.net.earths} for w in (one, other)]
    return bool(nets[0] & nets[1]) or (not nets[0] and not nets[1] and bool(earths[0] & earths[1]))


def numbered_twice(design: Design) -> Iterator[Outcome]:
    """Numbers that stand on different wires."""
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
