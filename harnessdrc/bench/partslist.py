"""What to buy: parts by the piece, cable by the reel, and what the wire weighs."""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

from harnessdrc.bench.connectors import is_housing
from harnessdrc.bench.cutting import CableKey, Leads, cable_key, leads_of, swatch_of
from harnessdrc.bench.ends import Ends
from harnessdrc.bench.weights import weight
from harnessdrc.design.crimpfits import outer_of
from harnessdrc.harness.elements import Part, Wire
from harnessdrc.harness.names import fold, natural_key
from harnessdrc.harness.parts import no_part
from harnessdrc.papers import CableLine, ConnectorSheet, CutLine, PartLine, SpliceSheet, Totals

if TYPE_CHECKING:
    from harnessdrc.design import Design

__all__ = ["NOT_NAMED", "cable_lines", "part_lines", "totals"]

NOT_NAMED = "not named"
"""Name of a part that is needed and that the list does not name: a splice without its crimp."""
_KINDS = ("connector", "terminal", "ring terminal", "seal", "cavity plug", "splice", "boot", "sleeve", "fuse", "strap")
_RING = re.compile(r"\bring\b", re.I)
STUDS = frozenset({"battery", "starter", "alternator", "power distribution"})
"""Kinds on whose studs several rings lie on each other, each with a wire of its own."""
_MOST_PLACES = 400
"""Places that one line tells."""


class _Use(NamedTuple):
    """One piece: what it is called, its kind where the parts table has none, where it goes."""

    name: str
    kind: str
    where: str


def part_lines(design: Design, ends: Ends, splices: Sequence[SpliceSheet]) -> tuple[PartLine, ...]:
    """Parts to buy, by kind and name.

    A terminal counts once for each cavity that wires go to, however many they are, and once for each wire on a stud,
    bus bar or splice; rings are one for each wire anywhere. A crimp that is a splice by the parts table counts once for
    all its wires, a seal as a terminal, a cavity plug for each cavity without a wire whose line in the pin list names
    one. Connectors and splices count by the parts that the lists name for them. Fuses, straps and sleeves come from
    lists of their own. What the wire list calls bare, soldered or none is no part.

    Parameters
    ----------
    design : Design
        The design.
    ends : Ends
        Ends of its wires.
    splices : sequence of SpliceSheet
        Its splices.
    """
    uses: dict[str, list[_Use]] = {}
    for use in (*_fitted(ends), *_plugs(ends), *_bought_whole(design, ends, splices)):
        uses.setdefault(fold(use.name), []).append(use)
    lines = [_line(key, found, ends.harness.parts.get(key)) for key, found in uses.items()]
    lines += _from_own_lists(design)
    return tuple(sorted(lines, key=_order))


def _order(line: PartLine) -> tuple[object, ...]:
    return _KINDS.index(line.kind) if line.kind in _KINDS else len(_KINDS), line.kind, natural_key(line.part), line.part


def _fitted(ends: Ends) -> Iterator[_Use]:
    """Terminals and seals of all wires."""
    for contact, at in ends.at.items():
        item = ends.harness.items[contact.item]
        apart = ends.common(contact) or item.kind in STUDS
        kind = "ring terminal" if ends.common(contact) and item.kind != "splice" else "terminal"
        for what, names in ((kind, [end.terminal for end in at]), ("seal", [end.seal for end in at])):
            each = sorted(name for name in names if name)
            once = {fold(name): name for name in reversed(each)}
            for key, name in once.items():
                part = ends.part(name)
                ring = bool(_RING.search(name)) if part is None else part.kind == "ring terminal"
                crimp = item.kind == "splice" and part is not None and part.kind == "splice"
                pieces = sum(fold(other) == key for other in each) if (apart or ring) and not crimp else 1
                yield from [_Use(name, "ring terminal" if ring else what, item.name)] * pieces
    for end in ends.each():
        if end.contact is None:
            where = ends.where(end) or NOT_NAMED
            yield from (_Use(name, what, where) for name, what in ((end.terminal, "terminal"), (end.seal, "seal"))
                        if name)  # fmt: skip


def _plugs(ends: Ends) -> Iterator[_Use]:
    for contact, pins in ends.pins.items():
        if contact in ends.at:
            continue
        names = {fold(pin.seal): pin.seal for pin in pins if pin.seal and not no_part(pin.seal)}
        for name in names.values():
            yield _Use(name, "cavity plug", ends.harness.items[contact.item].name)


def _bought_whole(design: Design, ends: Ends, splices: Sequence[SpliceSheet]) -> Iterator[_Use]:
    """Connectors and other parts of components, and splices."""
    for item in design.harness.items.values():
        if item.details.part and item.kind != "splice":
            yield _Use(item.details.part, "connector", item.name)
    for splice in splices:
        if not splice.part and fold(splice.name) in ends.bolted:
            continue
        yield _Use(splice.part or NOT_NAMED, "splice", splice.name)


def _line(key: str, uses: Sequence[_Use], part: Part | None) -> PartLine:
    kinds = Counter(use.kind for use in uses)
    kind = (part.kind if part is not None else None) or min(kinds, key=lambda name: (-kinds[name], name))
    name = part.name if part is not None else min(use.name for use in uses)
    packs = math.ceil(len(uses) / part.pack) if part is not None and part.pack else None
    return PartLine(
        name, kind, (part.family if part is not None else None) or "", len(uses), packs,
        _places(use.where for use in uses), part is not None,
    )  # fmt: skip


def _places(names: Iterable[str]) -> tuple[str, ...]:
    """Where pieces go, with how many: ``ECU-A 34``."""
    counts = Counter(names)
    told = sorted(counts, key=lambda name: (natural_key(name), name))
    more = [f"and {len(told) - _MOST_PLACES:,} more places"] if len(told) > _MOST_PLACES else []
    return (*(f"{name} {counts[name]}" if counts[name] > 1 else name for name in told[:_MOST_PLACES]), *more)


def _from_own_lists(design: Design) -> Iterator[PartLine]:
    harness = design.harness
    fuses: dict[tuple[str, str], list[str]] = {}
    for item in harness.items.values():
        if item.kind == "fuse" and item.listed and item.rating_a is not None:
            fuses.setdefault((f"{item.rating_a:g} A", item.details.family or ""), []).append(item.name)
    for (rating, family), names in fuses.items():
        yield PartLine(rating, "fuse", family, len(names), None, _places(names), True)
    for strap in harness.straps:
        about = ", ".join(
            filter(None, (str(strap.size or ""), f"{strap.length_m * 1000:g} mm" if strap.length_m else ""))
        )
        yield PartLine(strap.name, "strap", about, 1, None, (f"{strap.a or '?'} – {strap.b or '?'}",), True)
    sleeves: dict[float, list[str]] = {}
    for branch in harness.branches.values():
        if branch.sleeve_m:
            length = f" {branch.length_m * 1000:g} mm" if branch.length_m else ""
            sleeves.setdefault(branch.sleeve_m, []).append(f"{branch.name}{length}")
    for inner_m, where in sleeves.items():
        yield PartLine(f"{inner_m * 1000:g} mm inside", "sleeve", "", len(where), None, _places(where), True)


def cable_lines(design: Design, ends: Ends, cut: Sequence[CutLine]) -> tuple[CableLine, ...]:
    """Cable to have on the reel, in the order of the cut list: lengths and masses as cut, allowances included.

    Reels are of the length that the parts table gives for a cable of this name in the insulation column, else of
    ``reel_m``.

    Parameters
    ----------
    design : Design
        The design.
    ends : Ends
        Ends of its wires.
    cut : sequence of CutLine
        Its cut list.
    """
    wires = {wire.name: wire for wire in design.harness.wires}
    leads = leads_of(design.harness.wires)
    cables: dict[CableKey, list[tuple[Wire, CutLine]]] = {}
    for line in cut:
        wire = wires[line.wire]
        cables.setdefault(cable_key(wire, leads), []).append((wire, line))
    made = []
    for (size, insulation, colour), of in cables.items():
        first = of[0][0]
        cores = leads.get(first.name, (first,))
        length_m = math.fsum(line.cut_mm for wire, line in of if line.cut_mm and _cut_here(wire, leads)) / 1000.0
        mass = _mass_g_per_m(first, leads, design)
        made.append(
            CableLine(
                size, colour, insulation, tuple(shade for core in cores for shade in swatch_of(core.colour)), len(of),
                length_m, sum(line.cut_mm is None for _, line in of), _reels(first, length_m, design, ends),
                mass[0] * length_m if mass else None, mass[1] * length_m if mass else None,
            )
        )  # fmt: skip
    return tuple(made)


def _cut_here(wire: Wire, leads: Leads) -> bool:
    """Whether the length of a wire counts: all cores of a lead are one piece, counted with the first."""
    return leads.get(wire.name, (wire,))[0] is wire


def _mass_g_per_m(wire: Wire, leads: Leads, design: Design) -> tuple[float, float] | None:
    """Mass of a metre of a wire, or of the lead that it is the first core of: copper, and with insulation, g."""
    copper = cable = 0.0
    for core in leads.get(wire.name, (wire,)):
        outer = outer_of(core, design.harness.parts)
        over_mm = None if outer is None else outer.usual_m * 1000.0
        found = weight(core.size, design.given["insulation_g_cm3"], over_mm) if core.size is not None else None
        if found is None:
            return None
        copper += found.copper_g_per_m * core.cores
        cable += found.cable_g_per_m * core.cores
    return copper, cable


def _reels(wire: Wire, length_m: float, design: Design, ends: Ends) -> int | None:
    outer = outer_of(wire, design.harness.parts)
    part = ends.part(outer.source if outer is not None else None) or ends.part(wire.insulation)
    reel_m = (part.pack if part is not None and part.kind == "cable" else None) or design.given["reel_m"]
    return math.ceil(length_m / reel_m) if length_m else None


def totals(
    design: Design, cut: Sequence[CutLine], sheets: Sequence[ConnectorSheet], splices: Sequence[SpliceSheet]
) -> Totals:
    """Sums over the loom, as cut; wires without length or size are counted as unknown and are in no sum.

    A lead of several cores counts its length once.

    Parameters
    ----------
    design : Design
        The design.
    cut : sequence of CutLine
        Its cut list.
    sheets, splices : sequence of ConnectorSheet, sequence of SpliceSheet
        Its connectors and splices.
    """
    wires = {wire.name: wire for wire in design.harness.wires}
    leads = leads_of(design.harness.wires)
    known: list[tuple[float, tuple[float, float]]] = []
    unknown = 0
    for line in cut:
        wire = wires[line.wire]
        mass = _mass_g_per_m(wire, leads, design)
        if line.cut_mm is None or mass is None:
            unknown += 1
        elif _cut_here(wire, leads):
            known.append((line.cut_mm / 1000.0, mass))
    return Totals(
        len(cut), unknown, math.fsum(length_m for length_m, _ in known),
        math.fsum(length_m * copper for length_m, (copper, _) in known) / 1000.0,
        math.fsum(length_m * cable for length_m, (_, cable) in known) / 1000.0,
        sum(map(is_housing, sheets)), len(splices),
    )  # fmt: skip
