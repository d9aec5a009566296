"""The cut list: every wire once, by cable, the longest first."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from harnessdrc.bench.ends import End, Ends
from harnessdrc.bench.twisting import TwistGroup, twist_group
from harnessdrc.findings import Mark
from harnessdrc.harness.elements import Wire
from harnessdrc.harness.names import fold, natural_key
from harnessdrc.papers import CutLine
from harnessdrc.tables.colours import colour_rgb

if TYPE_CHECKING:
    from harnessdrc.design import Design

__all__ = ["CableKey", "Leads", "cable_key", "colour_text", "cut_lines", "lacks_terminal", "leads_of", "size_text",
           "swatch_of"]  # fmt: skip

CableKey = tuple[str, str, str]
"""Size, insulation and colour of a cable, as they are told: one kind of cable on the reel."""

_MM = 1e-6
"""Below this, mm, a length is not rounded up to a whole millimetre more: it is the noise of binary fractions."""


def size_text(wire: Wire) -> str:
    """Size of a wire: ``0.5 mm²``, ``16 AWG (1.5 mm²)``, ``3 × 20 AWG`` of a cable whose cores are not told apart."""
    if wire.size is None:
        return f"{wire.cores} cores" if wire.cores > 1 else ""
    also = f" ({wire.size.also})" if wire.size.also is not None else ""
    return f"{f'{wire.cores} × ' if wire.cores > 1 else ''}{wire.size}{also}"


def colour_text(wire: Wire) -> str:
    """Colour of a wire: IEC 60757 letters, else what stands in its cell."""
    return wire.colour or wire.colour_written or ""


def swatch_of(colour: str | None) -> tuple[str, ...]:
    """Colour of a code as ``#rrggbb``, base first; empty where it is not known."""
    try:
        return colour_rgb(colour) if colour else ()
    except KeyError:
        return ()


Leads = Mapping[str, tuple[Wire, ...]]
"""Of each wire that is a core of a lead, by its name: all cores of the lead, in natural order."""


def leads_of(wires: Sequence[Wire]) -> Leads:
    """Leads of several cores that stand on one row: ``R+B`` is a red and a black wire, cut as one piece."""
    found: dict[tuple[str, str, str, int], list[Wire]] = {}
    for wire in wires:
        if wire.core is not None:
            place = wire.place
            found.setdefault((fold(wire.number or ""), place.file, place.sheet, place.row), []).append(wire)
    return {
        wire.name: tuple(sorted(cores, key=lambda core: (natural_key(core.name), core.name)))
        for cores in found.values()
        if len(cores) > 1
        for wire in cores
    }


def cable_key(wire: Wire, leads: Leads) -> CableKey:
    """The cable a wire is cut from; a core's is its lead: ``2 × 18 AWG``, ``BK + RD``."""
    cores = leads.get(wire.name, (wire,))
    sizes = list(dict.fromkeys(size_text(core) for core in cores))
    size = " + ".join(sizes)
    if len(cores) > 1:
        size = f"{len(cores)} × {size}" if len(sizes) == 1 and size else size or f"{len(cores)} cores"
    return size, (wire.insulation or "").strip(), " + ".join(colour_text(core) or "–" for core in cores) * (
        any(map(colour_text, cores))
    )  # fmt: skip


def _cable_order(wire: Wire, leads: Leads) -> tuple[object, ...]:
    """Order of cables: metric sizes, then gauges, each from thin to thick, unknown ones last; insulation, colour."""
    size = wire.size
    if size is None:
        thickness: tuple[int, float] = (2, 0.0)
    elif size.awg is not None:
        thickness = (1, -size.awg)
    else:
        thickness = (0, size.csa_mm2 or 0.0)
    text, insulation, colour = cable_key(wire, leads)
    cores = len(leads.get(wire.name, (wire,))) if wire.cores == 1 else wire.cores
    return *thickness, cores, text, natural_key(insulation), insulation, not wire.colour, colour


def cut_lines(design: Design, ends: Ends) -> tuple[CutLine, ...]:
    """The cut list of a design.

    Length to cut: as listed, ``cut_allowance_mm`` for trimming at each end, and what twisting takes up
    (`harnessdrc.bench.twisting`), rounded up to the next millimetre. Every core of a lead stands on a line of its own,
    one below the other, with the others named.

    Parameters
    ----------
    design : Design
        The design.
    ends : Ends
        Ends of its wires.
    """
    parts = design.harness.parts
    groups = {key: twist_group(wires, design.given, parts) for key, wires in design.twist_groups.items()}
    shielding = _shield_work(design)
    leads = leads_of(design.harness.wires)

    def place(pair: tuple[End, End]) -> tuple[object, ...]:
        wire = pair[0].wire
        first = leads.get(wire.name, (wire,))[0]
        return (
            _cable_order(first, leads), first.length_m is None, -(first.length_m or 0.0), natural_key(first.name),
            first.name, natural_key(wire.name), wire.name,
        )  # fmt: skip

    made = sorted(ends.all, key=place)
    lines = []
    for order, (a, b) in enumerate(made, 1):
        wire = a.wire
        group = groups.get(fold(wire.twist)) if wire.twist else None
        work = [group.work(wire)] if group is not None else []
        work += shielding.get(wire.name, [])
        work += _core_work(wire, leads)
        cable = cable_key(wire, leads)
        lines.append(_line(order, a, b, ends, cable, group, work, design.given["cut_allowance_mm"]))
    return tuple(lines)


def _line(
    order: int, a: End, b: End, ends: Ends, cable: CableKey, group: TwistGroup | None, work: Sequence[str],
    each_end_mm: float,
) -> CutLine:  # fmt: skip
    wire = a.wire
    length_mm = None if wire.length_m is None else wire.length_m * 1000.0
    allowance_mm = 2.0 * each_end_mm
    if group is not None and length_mm is not None and len(group.wires) > 1:
        allowance_mm += group.takes_mm(length_mm)
    size, insulation, colour = cable
    return CutLine(
        order, wire.name, size, colour, swatch_of(wire.colour), insulation, length_mm, allowance_mm,
        None if length_mm is None else float(math.ceil(length_mm + allowance_mm - _MM)),
        ends.line(a), ends.line(b), tuple(work), wire.branch or "", wire.option or "", wire.note or "",
        _lacking(a, b, ends), Mark(wire.place.of("wire", "from_item"), f"wire {wire.name}"),
    )  # fmt: skip


def _lacking(a: End, b: End, ends: Ends) -> tuple[str, ...]:
    """Data without which a wire cannot be cut and finished."""
    wire = a.wire
    lacking = [
        what
        for what, known in (
            ("length", wire.length_m is not None), ("size", wire.size is not None),
            ("colour", bool(wire.colour) or wire.cores > 1),
        )
        if not known
    ]  # fmt: skip
    for end in (a, b):
        if end.contact is None and not end.open:
            lacking.append("where one end goes")
        elif lacks_terminal(end, ends):
            lacking.append(f"terminal at {ends.where(end)}")
    return tuple(dict.fromkeys(lacking))


def lacks_terminal(end: End, ends: Ends) -> bool:
    """Whether an end has no terminal in a list that names terminals; a splice has a crimp of its own."""
    if end.contact is None or end.terminal or end.bare or ends.splice(end.contact):
        return False
    return ends.terminals_named


def _shield_work(design: Design) -> dict[str, list[str]]:
    """What shields ask of each wire, by its name."""
    work: dict[str, list[str]] = {}
    for shield in design.shields:
        materials = sorted({w.shield_material for w in (*shield.inside, *shield.drains) if w.shield_material})
        of = f" ({', '.join(materials)})" if materials else ""
        for wire in shield.inside:
            others = ", ".join(other.name for other in shield.inside if other is not wire)
            with_them = f" with {others}" if others else ""
            drain = f", drain {', '.join(w.name for w in shield.drains)}" if shield.drains else ""
            work.setdefault(wire.name, []).append(f"in shield {shield.name}{of}{with_them}{drain}")
        for wire in shield.drains:
            work.setdefault(wire.name, []).append(f"drain of shield {shield.name}{of}")
    return work


def _core_work(wire: Wire, leads: Leads) -> list[str]:
    """What is said of a wire that is a core of a lead, or a lead of cores."""
    if wire.cores > 1:
        return [f"one lead of {wire.cores} cores, cut as one; the list does not tell its cores apart"]
    others = ", ".join(core.name for core in leads.get(wire.name, ()) if core is not wire)
    return [f"core {wire.core} of one lead with {others}, cut once"] if others else []
