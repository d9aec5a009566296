"""How thick each branch is as a bundle, and the wires at the back of a connector with a boot; bends and copper.

Every wire whose cell names a branch lies in it over its whole length. A cable whose cores are not told apart counts as
so many wires, without its jacket; shields, sleeves, tape and boots are not counted. A size that is not given lies
between the given values for one; a size that the table of outer diameters does not have is at least its bare copper.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Collection, Mapping
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from harnessdrc.design.branches import branch_names
from harnessdrc.design.conductors import conductor_mm2
from harnessdrc.findings import Mark
from harnessdrc.harness.elements import Branch, Item, Wire
from harnessdrc.harness.names import fold, natural_key
from harnessdrc.physics.bundles import (
    awg_outer_diameter,
    bundle_diameter_mm,
    conductor_kg_per_m,
    least_bend_radius_mm,
    metric_outer_diameter,
)
from harnessdrc.units import Size

if TYPE_CHECKING:
    from harnessdrc.design import Design

__all__ = ["Boot", "Girth", "Pack", "PackLine", "Span", "booted", "boots", "bundle_lines", "packs"]

_TOLD_WIRES = 5
"""So many wires without a size are named, the others counted."""


class Span(NamedTuple):
    """A diameter in mm with the range that it lies in; `high` is infinite where nothing bounds it."""

    usual: float
    low: float
    high: float


class Girth(NamedTuple):
    """Wires laid together; fields as in `Pack`."""

    wires: int
    diameter: Span
    largest: Span
    largest_wire: str
    lacking: tuple[str, ...]
    doubts: tuple[str, ...]
    kg_per_m: float | None


class Boot(NamedTuple):
    """A boot with the wires that go through it.

    Parameters
    ----------
    item : Item
        The connector, or the component, at whose back it is.
    supplied_mm, shrunk_mm : float or None
        Its inner diameter there as supplied and as shrunk, mm, as listed.
    girth : Girth or None
        The wires on that item; None where the list has none.
    """

    item: Item
    supplied_mm: float | None
    shrunk_mm: float | None
    girth: Girth | None


class Pack(NamedTuple):
    """One branch with its wires.

    Parameters
    ----------
    key, name : str
        Folded and as written.
    branch : Branch or None
        Its row in the list of branches.
    wires : int
        Wires in it, cores of a cable counted.
    diameter : Span
        Outside all wires, mm.
    largest : Span
        Outer diameter of its largest wire, mm, and
    largest_wire : str
        the name of that wire.
    lacking : tuple of str
        Data that would make the diameters certain.
    doubts : tuple of str
        Why data sheets should confirm them.
    kg_per_m : float or None
        Copper over its length; None while a size is lacking.
    mark : Mark
        Its row, else the first cell that names it.
    """

    key: str
    name: str
    branch: Branch | None
    wires: int
    diameter: Span
    largest: Span
    largest_wire: str
    lacking: tuple[str, ...]
    doubts: tuple[str, ...]
    kg_per_m: float | None
    mark: Mark


class PackLine(NamedTuple):
    """One branch as a bundle, for the renderers; fields as in `harnessdrc.results.BundleLine`, without the ambient.

    `key` is the folded name of the branch, `zone` as listed. Without a size for every wire `diameter_mm` and `bend_mm`
    are those with the usual size for the others.
    """

    key: str
    branch: str
    wires: int
    diameter_mm: float | None
    bend_mm: float | None
    sleeve_mm: float | None
    copper_g: float | None
    zone: str | None
    lacking: tuple[str, ...]
    mark: Mark | None
    sleeve_shrunk_mm: float | None = None


class _Outer(NamedTuple):
    """Outer diameter of one wire, mm, its doubt, and its copper in kg/m."""

    span: Span
    doubt: str
    kg_per_m: float | None


def packs(design: Design, only: Collection[str] | None = None) -> dict[str, Pack]:
    """Branches with at least one wire in them, by folded name, in the order of the list and then of the wires.

    Parameters
    ----------
    design : Design
        The design.
    only : collection of str, optional
        Folded names of the branches to look at; without it all.
    """
    harness = design.harness
    names_of: dict[str, tuple[str, ...]] = {}
    members: dict[str, list[Wire]] = {
        key: [] for key in harness.branches if only is None or key in only
    }
    for wire in harness.wires:
        text = wire.branch
        if not text:
            continue
        names = names_of.get(text)
        if names is None:
            names = names_of[text] = branch_names(wire, harness)
        for name in names:
            if only is None or name in only:
                members.setdefault(name, []).append(wire)
    outers: dict[Size | None, _Outer] = {}
    return {key: _pack(design, key, wires, outers) for key, wires in members.items() if wires}


def booted(design: Design) -> list[Item]:
    """Connectors and components with a boot, by name."""
    found = [
        item for item in design.harness.items.values()
        if item.details.boot_m is not None or item.details.boot_shrunk_m is not None
    ]  # fmt: skip
    return sorted(found, key=lambda item: natural_key(item.name))


def boots(design: Design) -> list[Boot]:
    """Boots with the wires that go through them, by the name of what they are on.

    Those are the wires on the item itself; of a component whose connectors have names of their own, the wires on all of
    them. A wire with both ends there, a bridge, goes through with neither.
    """
    items = booted(design)
    if not items:
        return []
    keys = {item.key for item in items}
    of_item: dict[str, list[Wire]] = {}
    of_owner: dict[str, list[Wire]] = {}
    for contact, wires in design.net.wires_at.items():
        if contact.item in keys:
            of_item.setdefault(contact.item, []).extend(wires)
        owner = design.harness.items[contact.item].owner
        if owner in keys:
            of_owner.setdefault(owner, []).extend(wires)
    outers: dict[Size | None, _Outer] = {}
    found = []
    for item in items:
        ends = of_item.get(item.key) or of_owner.get(item.key, [])
        times = Counter(wire.name for wire in ends)
        wires = [wire for wire in ends if times[wire.name] == 1]
        details = item.details
        found.append(
            Boot(
                item, None if details.boot_m is None else details.boot_m * 1000.0,
                None if details.boot_shrunk_m is None else details.boot_shrunk_m * 1000.0,
                _girth(design, wires, outers) if wires else None,
            )
        )  # fmt: skip
    return found


def _girth(design: Design, wires: list[Wire], outers: dict[Size | None, _Outer]) -> Girth:
    spans: list[Span] = []
    largest, largest_wire = Span(0.0, 0.0, 0.0), ""
    unsized: list[str] = []
    lacking: dict[str, None] = {}
    doubts: dict[str, None] = {}
    kg_per_m: float | None = 0.0
    for wire in wires:
        outer = outers.get(wire.size)
        if outer is None:
            outer = outers[wire.size] = _outer(wire.size, design.given)
        span = outer.span
        spans += [span] * max(wire.cores, 1)
        if (span.usual, span.high) > (largest.usual, largest.high) or (
            span == largest and natural_key(wire.name) < natural_key(largest_wire)
        ):
            largest_wire = wire.name
            largest = span
        if wire.size is None:
            unsized.append(wire.name)
        elif span.high == math.inf:
            lacking[f"outer diameter of {wire.size}"] = None
        if outer.doubt:
            doubts[outer.doubt] = None
        if kg_per_m is not None:
            kg_per_m = None if outer.kg_per_m is None else kg_per_m + outer.kg_per_m * max(wire.cores, 1)
    unsized.sort(key=natural_key)
    told = [f"size of wire {name}" for name in unsized[:_TOLD_WIRES]]
    if len(unsized) > _TOLD_WIRES:
        told.append(f"size of {len(unsized) - _TOLD_WIRES} more wires")
    return Girth(
        len(spans),
        Span(
            _round_all([span.usual for span in spans]), _round_all([span.low for span in spans]),
            _round_all([span.high for span in spans]),
        ),
        Span(largest.usual, max(span.low for span in spans), max(span.high for span in spans)), largest_wire,
        (*told, *sorted(lacking)), tuple(sorted(doubts)), kg_per_m,
    )  # fmt: skip


def _pack(design: Design, key: str, wires: list[Wire], outers: dict[Size | None, _Outer]) -> Pack:
    branch = design.harness.branches.get(key)
    first = min(wires, key=lambda wire: (wire.place.file, wire.place.sheet, wire.place.row))
    written = first.branch if first.branch and fold(first.branch) == key else key
    place = branch.place.of("branch") if branch else first.place.of("branch", "wire")
    name = branch.name if branch else written
    return Pack(key, name, branch, *_girth(design, wires, outers), Mark(place, name))


def _round_all(diameters_mm: list[float]) -> float:
    """Diameter of a bundle; infinite where one of its wires is."""
    thick = tuple(sorted(diameters_mm, reverse=True))
    return math.inf if thick[0] == math.inf else _bundle_mm(thick)


@lru_cache(maxsize=1024)
def _bundle_mm(diameters_mm: tuple[float, ...]) -> float:
    """`bundle_diameter_mm`, once for branches of the same wires."""
    return bundle_diameter_mm(diameters_mm)


def _outer(size: Size | None, given: Mapping[str, float]) -> _Outer:
    """Outer diameter of a wire of a size, or of one whose size is not given."""
    if size is None:
        usual, low, high = (_of_metric(given[f"missing_size_{which}_mm2"]) for which in ("usual", "low", "high"))
        return _Outer(Span(usual, low, high), "", None)
    try:
        found = awg_outer_diameter(size.awg) if size.awg is not None else metric_outer_diameter(size.csa_mm2 or 0.0)
    except ValueError:
        found = None
    area_mm2 = conductor_mm2(size)
    kg_per_m = conductor_kg_per_m(area_mm2) if area_mm2 > 0.0 else None
    if found is None:
        return _Outer(Span(_bare_mm(area_mm2), _bare_mm(area_mm2), math.inf), "", kg_per_m)
    return _Outer(Span(found.mm, found.mm, found.mm), found.doubt, kg_per_m)


def _of_metric(csa_mm2: float) -> float:
    found = metric_outer_diameter(csa_mm2)
    return found.mm if found else _bare_mm(csa_mm2)


def _bare_mm(area_mm2: float) -> float:
    """Diameter of copper without insulation, mm; a hair where not even that is known."""
    return max(math.sqrt(4.0 * area_mm2 / math.pi), 0.01)


def bundle_lines(design: Design) -> tuple[PackLine, ...]:
    """Every branch with wires in it, as plain data for the results."""
    lines = []
    for pack in packs(design).values():
        branch = pack.branch
        length_m = branch.length_m if branch else None
        copper_g = None if pack.kg_per_m is None or length_m is None else pack.kg_per_m * length_m * 1000.0
        lacking = pack.lacking if length_m is not None else (*pack.lacking, f"length of branch {pack.name}")
        lines.append(
            PackLine(
                pack.key, pack.name, pack.wires, pack.diameter.usual, least_bend_radius_mm(pack.largest.usual),
                None if branch is None or branch.sleeve_m is None else branch.sleeve_m * 1000.0,
                copper_g, branch.zone if branch else None, lacking, pack.mark,
                None if branch is None or branch.sleeve_shrunk_m is None else branch.sleeve_shrunk_m * 1000.0,
            )
        )  # fmt: skip
    return tuple(lines)
