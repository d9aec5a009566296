"""What is missing in the papers, for their first page: one sentence each, with names and cells."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from harnessdrc.bench.connectors import pins_without_wire
from harnessdrc.bench.cutting import lacks_terminal
from harnessdrc.bench.ends import Ends, has_cavity
from harnessdrc.bench.partslist import NOT_NAMED
from harnessdrc.harness.names import fold, natural_key
from harnessdrc.papers import ConnectorSheet, CutLine, PartLine, SpliceSheet
from harnessdrc.places import Place
from harnessdrc.results import Result

if TYPE_CHECKING:
    from harnessdrc.design import Design

__all__ = ["gaps"]

_MOST = 8
"""Names that one sentence tells."""
_FROM_LISTS = ("fuse", "strap", "sleeve")

Named = tuple[str, Place | None]


def gaps(
    design: Design,
    result: Result,
    ends: Ends,
    cut: Sequence[CutLine],
    sheets: Sequence[ConnectorSheet],
    splices: Sequence[SpliceSheet],
    parts: Sequence[PartLine],
) -> tuple[str, ...]:
    """What is missing, the wires first; empty when nothing is.

    Parameters
    ----------
    design : Design
        The design.
    result : Result
        What the rules say of it.
    ends : Ends
        Ends of its wires.
    cut, sheets, splices, parts
        Its papers as far as they are made.
    """
    return tuple(
        filter(
            None,
            (
                *_of_wires(design, ends, cut),
                *_of_connectors(sheets, ends),
                *_of_splices(splices),
                *_of_parts(ends, parts),
                *_of_lists(design, result),
            ),
        )
    )


def _told(found: Iterable[Named]) -> tuple[int, str]:
    """How many, and the first of them in natural order with their cells."""
    names = sorted(dict.fromkeys(found), key=lambda named: (natural_key(named[0]), named[0]))
    told = [f"{name} ({_cell(place)})" if place else name for name, place in names[:_MOST]]
    more = f" and {len(names) - _MOST:,} more" if len(names) > _MOST else ""
    return len(names), ", ".join(told) + more


def _cell(place: Place) -> str:
    return f"{place.list_name} {'row ' if place.cell.isdecimal() else ''}{place.cell}"


def _sentence(found: Iterable[Named], one: str, many: str, what: str) -> str:
    """``3 wires without length, not to be cut yet: W1 (list.xlsx Wires H2), …``; empty for none."""
    count, names = _told(found)
    return f"{count:,} {one if count == 1 else many} {what}: {names}." if count else ""


def _of_wires(design: Design, ends: Ends, cut: Sequence[CutLine]) -> Iterator[str]:
    wires = {wire.name: wire for wire in design.harness.wires}

    def lacking(what: str, column: str) -> list[Named]:
        return [(line.wire, wires[line.wire].place.of(column, "wire")) for line in cut if what in line.lacking]

    yield _sentence(
        lacking("length", "length_m"), "wire", "wires", "without length, not to be cut yet and in no total"
    )
    yield _sentence(lacking("size", "size"), "wire", "wires", "without size, not to be cut yet and in no weight")
    yield _sentence(lacking("colour", "colour"), "wire", "wires", "without colour")
    nowhere = lacking("where one end goes", "to_item")
    yield _sentence(nowhere, "wire", "wires", "of which the list does not say where one end goes")
    without = (
        (f"{end.wire.name} at {ends.where(end)}", end.wire.end_place(end.contact))
        for end in ends.each()
        if end.contact is not None and lacks_terminal(end, ends)
    )
    yield _sentence(without, "end", "ends", "without a terminal in a list that names terminals")
    cables = ((wire.name, wire.place.of("colour", "wire")) for wire in wires.values() if wire.cores > 1)
    yield _sentence(cables, "lead", "leads", "of several cores of which the list does not tell which goes where")
    again = ((again.name, again.place.of("wire")) for _, again in design.harness.repeated)
    yield _sentence(again, "wire", "wires", "whose number names another wire too, so that their labels look alike")
    unsealed = (
        (f"{end.wire.name} at {ends.where(end)}", end.wire.end_place(end.contact))
        for end in ends.each()
        if end.contact is not None and not end.seal and has_cavity(end.contact) and _sealed(end.contact.item, ends)
    )
    yield _sentence(unsealed, "end", "ends", "without a seal in a sealed connector")


def _sealed(item: str, ends: Ends) -> bool:
    part = ends.part(ends.harness.items[item].details.part)
    return part is not None and part.sealed is True


def _of_connectors(sheets: Sequence[ConnectorSheet], ends: Ends) -> Iterator[str]:
    unknown = [sheet for sheet in sheets if not sheet.complete]
    yield _sentence(
        ((sheet.name, None) for sheet in unknown), "connector", "connectors",
        "whose cavities are not all known (neither a pin list beside the wires nor the parts table says how many there "
        "are, or a cavity has no name)",
    )  # fmt: skip
    bare = (
        (f"{ends.harness.label(pin.contact)}: {pin.wire}", pin.place.of("wire"))
        for contact in ends.pins
        for pin in pins_without_wire(contact, ends)
    )
    yield _sentence(bare, "cavity", "cavities", "with a wire by the pin list that the wire list does not bring there")
    items = ends.harness.items
    open_ones = (
        (f"{sheet.name} {line.cavity}", line.mark.place if line.mark else None)
        for sheet in sheets
        for line in sheet.cavities
        if line.state == "empty" and sheet.part and fold(sheet.name) in items and _sealed(fold(sheet.name), ends)
    )
    yield _sentence(open_ones, "cavity", "cavities", "without wire and without plug in a sealed connector")


def _of_splices(splices: Sequence[SpliceSheet]) -> Iterator[str]:
    without = ((sheet.name, sheet.mark.place if sheet.mark else None) for sheet in splices if not sheet.wires)
    yield _sentence(without, "splice", "splices", "that no wire goes to")
    where = {"branch", "distance from the start of the branch"}
    if any(sheet.branch or sheet.distance_mm is not None for sheet in splices):
        somewhere = ((s.name, s.mark.place if s.mark else None) for s in splices if where & set(s.lacking))
        yield _sentence(somewhere, "splice", "splices", "whose place in the loom the list does not tell")
    no_part = ((s.name, s.mark.place if s.mark else None) for s in splices if "part" in s.lacking)
    yield _sentence(no_part, "splice", "splices", "without a part in a list that names parts of splices")


def _of_parts(ends: Ends, parts: Sequence[PartLine]) -> Iterator[str]:
    bought = [line for line in parts if line.kind not in _FROM_LISTS]
    named = [line for line in bought if line.part != NOT_NAMED]
    if not ends.harness.parts:
        if named:
            count = f"{len(named):,} {'parts are' if len(named) > 1 else 'part is'}"
            yield (
                f"There is no parts table, and {count} named: strip lengths, families and packs are not in these "
                "papers."
            )
        return
    unlisted = ((line.part, None) for line in named if not line.listed)
    yield _sentence(unlisted, "part", "parts", "that the parts table does not have")
    crimps = {fold(line.part) for line in named if line.kind in ("terminal", "ring terminal")}
    no_strip = (
        (part.name, part.place.of("strip_m", "part"))
        for key in crimps
        if (part := ends.harness.parts.get(key)) is not None and part.strip_m is None
    )
    yield _sentence(no_strip, "terminal", "terminals", "without a strip length in the parts table")


def _of_lists(design: Design, result: Result) -> Iterator[str]:
    unclear = ((cell.column, cell.place) for cell in design.harness.unreadable)
    yield _sentence(unclear, "cell", "cells", "not understood, and left out")
    slips = (
        (found.message.rstrip("."), found.marks[0].place)
        for found in result.findings
        if found.check == "wire.implausible" and found.marks
    )
    yield _sentence(slips, "size or length", "sizes and lengths", "that no loom has, in these papers as listed")
    for rule in result.rules:
        if rule.crashed:
            yield f"Rule {rule.rule} failed to run: what it would find is not known."
