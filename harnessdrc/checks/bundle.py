"""Checks on wires as bundles: whether they go through their sleeves and boots and fill them, and how they are bent."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from harnessdrc.checks.registry import Outcome, check, limit
from harnessdrc.design import Design
from harnessdrc.design.sizing.packs import Boot, Girth, Pack, Span, booted, boots, packs
from harnessdrc.findings import Finding, Mark, Subject, Undecided, beyond, figures
from harnessdrc.harness.elements import Branch

__all__ = ["bend", "boot", "sleeve"]

_Column = Literal["sleeve_m", "sleeve_shrunk_m", "bend_m"]


def _branches(design: Design, *columns: _Column) -> list[Branch]:
    return [
        branch for branch in design.harness.branches.values()
        if any(getattr(branch, column) is not None for column in columns)
    ]  # fmt: skip


def _subjects(design: Design, *columns: _Column) -> list[Subject]:
    return [("branch", branch.name) for branch in _branches(design, *columns)]


def _packed(design: Design, *columns: _Column) -> Iterator[tuple[Branch, Mark, Pack | None]]:
    """Branches with a value in one of some columns, its cell, and their wires."""
    branches = _branches(design, *columns)
    if branches:
        found = packs(design, {branch.key for branch in branches})
        for branch in branches:
            first = next(column for column in columns if getattr(branch, column) is not None)
            yield branch, _cell(branch, first), found.get(branch.key)


def _cell(branch: Branch, column: _Column) -> Mark:
    return Mark(branch.place.of(column, "branch"), f"branch {branch.name}")


def _without_wires(branch: Branch, mark: Mark) -> Undecided:
    missing = f"wires that run in branch {branch.name} (no cell Branch of a wire names it)"
    return Undecided(("branch", branch.name), (missing,), (mark,))


def _known(value: float) -> float | None:
    return round(value, 3) if math.isfinite(value) else None


def _mm(value: float) -> str:
    return figures(value)


@dataclass(frozen=True, slots=True)
class SleeveLimits:
    """How much of a sleeve a bundle may fill, and has to fill once it has shrunk."""

    fill_percent: float = limit(90.0, "percent", "diameter of the bundle over the inner diameter of its sleeve")
    grip_percent: float = limit(110.0, "percent", "least diameter of the bundle over that of its sleeve once shrunk")


@check(
    "bundle.sleeve",
    counts="branches with a sleeve",
    subjects=lambda design, limits: _subjects(design, "sleeve_m", "sleeve_shrunk_m"),
    reads=("branch", "size", "sleeve_m", "sleeve_shrunk_m"),
    limits=SleeveLimits,
    says={
        "": "{subject} with its {wires} wires is about {diameter_mm} mm thick and its sleeve {sleeve_mm} mm wide "
        "inside: {measured} of it (limit {limit}).",
        "range": "{subject} with its {wires} wires is at least {diameter_mm} mm thick, whatever the data is that is "
        "lacking, and its sleeve {sleeve_mm} mm wide inside: {measured} of it (limit {limit}).",
        "loose": "{subject} with its {wires} wires is {diameter_mm} mm thick at the most, and its sleeve shrinks to "
        "{sleeve_mm} mm: {measured} of that (limit {limit}).",
    },
    remedy={
        "": "Take a sleeve of at least {least_mm} mm inside, or part the branch.",
        "range": "Take a sleeve of at least {least_mm} mm inside, or part the branch.",
        "loose": "Take a sleeve that shrinks to {most_mm} mm or less, by a higher ratio or a smaller size.",
    },
)
def sleeve(design: Design, limits: SleeveLimits) -> Iterator[Outcome]:
    """A bundle does not go through its sleeve, or the sleeve does not grip it.

    Why it matters: Sleeve or conduit is bought and cut before the bundle is laid; one that is too narrow is found out
    when the terminals are on, and wires pulled in by force are stretched and chafed. One that has shrunk as far as it
    can and is still loose chafes them and holds no water back.
    Reads: Branch and Size of the wire list, Sleeve and Sleeve shrunk of the list of branches.
    Decides: The diameter of the bundle, 1.2 sqrt(sum of d^2) over the outer diameters d of its wires and no less than
    their closest packing, in mm, over the inner diameter of the sleeve; at most fill_percent, and over its diameter
    shrunk freely at least grip_percent. Outer diameters of thin-wall metric and medium-wall gauged cable; shields,
    jackets and tape come on top. A size that is not given is carried as a range.
    Stays silent when: it fits over the whole range, or no sleeve is given.
    Source: rule for the diameter read on calculator pages, no standard behind it; closest packings of equal circles
    proven; room of a tenth, and a tenth for the grip, are common practice, no source.
    """
    for branch, mark, pack in _packed(design, "sleeve_m", "sleeve_shrunk_m"):
        if pack is None:
            yield _without_wires(branch, mark)
            continue
        filled = _shares(pack.diameter, _in_mm(branch.sleeve_m))
        gripped = _shares(pack.diameter, _in_mm(branch.sleeve_shrunk_m))
        if filled is not None and filled.low > limits.fill_percent:
            yield _sleeve_misfit(branch, pack, "range" if pack.lacking else "", filled, limits.fill_percent)
        elif gripped is not None and gripped.high < limits.grip_percent:
            yield _sleeve_misfit(branch, pack, "loose", gripped, limits.grip_percent)
        elif filled is not None and filled.high > limits.fill_percent:
            yield _open(branch, mark, pack, filled[1:], limits.fill_percent, "percent")
        elif gripped is not None and gripped.low < limits.grip_percent:
            yield _open(branch, _cell(branch, "sleeve_shrunk_m"), pack, gripped[1:], limits.grip_percent, "percent")


def _in_mm(length_m: float | None) -> float | None:
    return None if length_m is None else length_m * 1000.0


def _shares(across: Span, of_mm: float | None) -> Span | None:
    """Diameters over an inner diameter, in per cent; None where that is not given."""
    return None if of_mm is None else Span(*(each / of_mm * 100.0 for each in across))


_AT: dict[str, Literal["usual", "low", "high"]] = {"": "usual", "range": "low", "loose": "high"}
"""Which end of the range of a diameter each sentence tells."""


def _asked(across_mm: float, bound: float, variant: str) -> str:
    """Inner diameter to take instead, mm, rounded to the side that fits."""
    tenths = across_mm / max(bound, 1e-6) * 1000.0
    return f"{(math.floor if variant == 'loose' else math.ceil)(tenths) / 10.0:.1f}"


def _sleeve_misfit(branch: Branch, pack: Pack, variant: str, share: Span, bound: float) -> Finding:
    """A bundle that does not go through its sleeve, or that it does not grip; `share` of that, in per cent."""
    loose = variant == "loose"
    across_mm: float = getattr(pack.diameter, _AT[variant])
    inner_m = branch.sleeve_shrunk_m if loose else branch.sleeve_m
    return Finding(
        ("branch", branch.name),
        (_cell(branch, "sleeve_shrunk_m" if loose else "sleeve_m"),),
        {
            "wires": pack.wires, "diameter_mm": _mm(across_mm), "sleeve_mm": _mm(_in_mm(inner_m) or 0.0),
            "most_mm" if loose else "least_mm": _asked(across_mm, bound, variant),
            "doubts": list(pack.doubts), "lacking": list(pack.lacking),
        },
        measured=round(getattr(share, _AT[variant]), 3), limit=bound, unit="percent", variant=variant,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class BootLimits:
    """How much of a boot the wires may fill, and have to fill once it has shrunk."""

    fill_percent: float = limit(90.0, "percent", "diameter of the wires over that of the boot as supplied")
    grip_percent: float = limit(110.0, "percent", "least diameter of the wires over that of the boot once shrunk")


@check(
    "bundle.boot",
    counts="connectors with a boot",
    subjects=lambda design, limits: [("component", item.name) for item in booted(design)],
    reads=("from_item", "to_item", "size", "boot_m", "boot_shrunk_m"),
    limits=BootLimits,
    says={
        "": "The {wires} wires at the back of {subject} are about {across_mm} mm thick together and its boot "
        "{boot_mm} mm wide as supplied: {measured} of it (limit {limit}).",
        "range": "The {wires} wires at the back of {subject} are at least {across_mm} mm thick together, whatever the "
        "data is that is lacking, and its boot {boot_mm} mm wide as supplied: {measured} of it (limit {limit}).",
        "loose": "The {wires} wires at the back of {subject} are {across_mm} mm thick together at the most, and its "
        "boot shrinks to {boot_mm} mm: {measured} of that (limit {limit}), so that it does not grip them.",
    },
    remedy={
        "": "Take a boot of at least {asked_mm} mm at the wires, or lead some of them past it.",
        "range": "Take a boot of at least {asked_mm} mm at the wires, or lead some of them past it.",
        "loose": "Take a boot that shrinks to {asked_mm} mm or less, or build the wires up with sleeve.",
    },
)
def boot(design: Design, limits: BootLimits) -> Iterator[Outcome]:
    """The wires of a connector do not go through its boot, or the boot does not grip them.

    Why it matters: A boot is slid on before the terminals are crimped; one that is too narrow costs the whole connector
    once more. One that does not shrink down to the wires gives them no relief from strain, and water creeps in.
    Reads: From, To and Size of the wire list, Boot and Boot shrunk of the component list.
    Decides: The diameter of all wires that end on the connector, 1.2 sqrt(sum of d^2) over their outer diameters d and
    no less than their closest packing, in mm; over the boot's inner diameter at the wires as supplied at most
    fill_percent, and over the same once it has shrunk freely at least grip_percent. A wire with both ends there is left
    out; shields, jackets and tape come on top. A size that is not given is carried as a range.
    Stays silent when: they fit over the whole range, or no boot is given.
    Source: rule for the diameter read on calculator pages, no standard behind it; a tenth of room and a tenth for the
    grip are common practice, no source.
    """
    for each in boots(design):
        column = "boot_m" if each.supplied_mm is not None else "boot_shrunk_m"
        if each.girth is None:
            missing = f"wires at the back of {each.item.name} (no wire of the list ends there)"
            yield Undecided(("component", each.item.name), (missing,), _boot_mark(each, column))
            continue
        across, lacking = each.girth.diameter, each.girth.lacking
        filled = _shares(across, each.supplied_mm)
        gripped = _shares(across, each.shrunk_mm)
        if filled is not None and filled.low > limits.fill_percent:
            yield _boot_misfit(each, each.girth, "range" if lacking else "", filled, limits.fill_percent)
        elif gripped is not None and gripped.high < limits.grip_percent:
            yield _boot_misfit(each, each.girth, "loose", gripped, limits.grip_percent)
        else:
            which, share, bound = "boot_shrunk_m", gripped, limits.grip_percent
            if filled is not None and filled.high > limits.fill_percent:
                which, share, bound = "boot_m", filled, limits.fill_percent
            elif gripped is None or gripped.low >= limits.grip_percent:
                continue
            if share is not None:
                yield Undecided(
                    ("component", each.item.name), lacking, _boot_mark(each, which),
                    low=_known(share.low), high=_known(share.high), limit=bound, unit="percent",
                )  # fmt: skip


def _boot_misfit(each: Boot, girth: Girth, variant: str, share: Span, bound: float) -> Finding:
    """Wires that do not go through a boot, or that it does not grip; `share` of its inner diameter, in per cent."""
    loose = variant == "loose"
    across_mm: float = getattr(girth.diameter, _AT[variant])
    return Finding(
        ("component", each.item.name),
        _boot_mark(each, "boot_shrunk_m" if loose else "boot_m"),
        {
            "wires": girth.wires, "across_mm": _mm(across_mm),
            "boot_mm": _mm((each.shrunk_mm if loose else each.supplied_mm) or 0.0),
            "asked_mm": _asked(across_mm, bound, variant),
            "doubts": list(girth.doubts), "lacking": list(girth.lacking),
        },
        measured=round(getattr(share, _AT[variant]), 3), limit=bound, unit="percent", variant=variant,
    )  # fmt: skip


def _boot_mark(each: Boot, column: str) -> tuple[Mark, ...]:
    place = each.item.cell(column)
    return (Mark(place, f"boot of {each.item.name}"),) if place else ()


@dataclass(frozen=True, slots=True)
class BendLimits:
    """How tightly a bundle may be bent."""

    bend_times: float = limit(10.0, "times", "least bend radius over the outer diameter of the largest wire")


@check(
    "bundle.bend",
    counts="branches with a bend radius",
    subjects=lambda design, limits: _subjects(design, "bend_m"),
    reads=("branch", "size", "bend_m"),
    limits=BendLimits,
    says={
        "": "{subject} is bent to {bend_mm} mm, {measured} the {outer_mm} mm of its largest wire {wire} "
        "(limit {limit}: {least_mm} mm).",
        "range": "{subject} is bent to {bend_mm} mm, {measured} its largest wire at the most, whatever the data is "
        "that is lacking: that is at least {outer_mm} mm thick (limit {limit}: {least_mm} mm).",
    },
    remedy={
        "": "Bend it no tighter than {least_mm} mm, or lead wire {wire} another way.",
        "range": "Bend it no tighter than {least_mm} mm.",
    },
)
def bend(design: Design, limits: BendLimits) -> Iterator[Outcome]:
    """A bundle is bent more tightly than its largest wire bears.

    Why it matters: The outer strands are stretched and the insulation thins where it lies on the inner ones; with
    heat and vibration it cracks there.
    Reads: Branch and Size of the wire list, Bend radius of the list of branches.
    Decides: The bend radius over the outer diameter of the largest wire of the branch, both in mm; at least
    bend_times. Outer diameters of thin-wall metric and medium-wall gauged cable. A size that is not given is carried
    as a range.
    Stays silent when: the radius is large enough over the whole range, or none is given. What a supported end at a
    terminal may have (3 times), and a cable of several conductors by its own diameter (6 times, 10 for long service),
    is not looked at.
    Source: AC 43.13-1B: 10 times the outer diameter of the largest wire (from memory).
    """
    for branch, mark, pack in _packed(design, "bend_m"):
        if pack is None:
            yield _without_wires(branch, mark)
            continue
        bend_mm = (branch.bend_m or 0.0) * 1000.0
        largest = pack.largest
        usual, low, high = (bend_mm / each for each in (largest.usual, largest.high, largest.low))
        if beyond(limits.bend_times, high):
            ranged = largest.low != largest.high
            outer_mm = largest.low if ranged else largest.usual
            yield Finding(
                ("branch", branch.name),
                (mark,),
                {
                    "bend_mm": _mm(bend_mm), "outer_mm": _mm(outer_mm), "wire": pack.largest_wire,
                    "least_mm": _mm(outer_mm * limits.bend_times), "doubts": list(pack.doubts),
                    "lacking": list(pack.lacking),
                },
                measured=round(high if ranged else usual, 3), limit=limits.bend_times, unit="times",
                variant="range" if ranged else "",
            )  # fmt: skip
        elif beyond(limits.bend_times, low):
            yield _open(branch, mark, pack, (low, high), limits.bend_times, "times")


def _open(
    branch: Branch, mark: Mark, pack: Pack, ends: tuple[float, ...], limit_value: float, unit: str
) -> Undecided:
    """A question that data decides: sizes, or the outer diameter of a size that the table does not have."""
    return Undecided(
        ("branch", branch.name), pack.lacking, (mark,), low=_known(ends[0]), high=_known(ends[1]), limit=limit_value,
        unit=unit,
    )  # fmt: skip
