"""Splice sheets: every splice with its wires, grouped by the side they leave to."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from typing import TYPE_CHECKING

from harnessdrc.bench.connectors import main_wire_key
from harnessdrc.bench.cutting import colour_text, size_text, swatch_of
from harnessdrc.bench.ends import End, Ends
from harnessdrc.design.conductors import conductor_mm2
from harnessdrc.findings import Mark
from harnessdrc.harness.elements import Branch, Item, Wire
from harnessdrc.harness.names import fold, natural_key
from harnessdrc.papers import SpliceSheet, SpliceWire

if TYPE_CHECKING:
    from harnessdrc.design import Design

__all__ = ["splice_sheets"]


def splice_sheets(design: Design, ends: Ends) -> tuple[SpliceSheet, ...]:
    """A sheet for each splice, in natural order; those that no wire goes to are there too.

    Parameters
    ----------
    design : Design
        The design.
    ends : Ends
        Ends of its wires.
    """
    harness = design.harness
    at: dict[str, list[End]] = {key: [] for key, item in harness.items.items() if item.kind == "splice"}
    for contact, found in ends.at.items():
        if contact.item in at:
            at[contact.item] += found
    part_named = any(harness.items[key].details.part for key in at)
    sheets = [_sheet(design, harness.items[key], found, ends, part_named) for key, found in at.items()]
    return tuple(sorted(sheets, key=lambda sheet: (natural_key(sheet.name), sheet.name)))


def _side(design: Design, wire: Wire, item: Item, branch: Branch | None) -> str:
    """Point of the splice's branch that a wire leaves it towards, as listed; empty where that is not known."""
    node = design.wire_lengths.toward(wire, item.key) if branch is not None else None
    points = (branch.from_point, branch.to_point) if branch is not None and node is not None else ()
    return next((point for point in points if point and fold(point) == node), "")


def _sheet(design: Design, item: Item, found: Sequence[End], ends: Ends, part_named: bool) -> SpliceSheet:
    harness = design.harness
    details = item.details
    branch = harness.branches.get(fold(details.branch)) if details.branch else None
    made = []
    for end in sorted(found, key=main_wire_key):
        wire = end.wire
        area_mm2 = conductor_mm2(wire.size) * wire.cores or None
        side = _side(design, wire, item, branch)
        made.append(
            SpliceWire(
                wire.name, size_text(wire), area_mm2, colour_text(wire), swatch_of(wire.colour), ends.far(end), side
            )
        )
    start = (branch.from_point if branch is not None else None) or ""
    # Sides in the order of the branch: those towards its start first, unknown ones last.
    made.sort(key=lambda wire: (not wire.side, wire.side != start))
    wires = [wire for _, side in groupby(made, key=lambda wire: wire.side) for wire in side]
    areas = [wire.area_mm2 for wire in wires]
    known = [area for area in areas if area is not None]
    lacking = [f"size of wire {wire.wire}" for wire in wires if wire.area_mm2 is None]
    if harness.branches:
        lacking += ["branch"] if not details.branch else []
        lacking += ["distance from the start of the branch"] if details.distance_m is None else []
    if part_named and not details.part and item.key not in ends.bolted:
        lacking.append("part")
    if not wires:
        lacking.append("wires")
    return SpliceSheet(
        item.name, details.part or "", details.branch or "",
        None if details.distance_m is None else details.distance_m * 1000.0, start, tuple(wires),
        sum(known) if wires and len(known) == len(areas) else None, tuple(lacking),
        Mark(item.place, f"splice {item.name}") if item.place is not None else None,
    )  # fmt: skip
