"""Checks on branches as bundles: whether they go through their sleeves, and how tightly they are bent."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from harnessdrc.checks.registry import Outcome, check, limit
from harnessdrc.design import Design
from harnessdrc.design.sizing.packs import Pack, packs
from harnessdrc.findings import Finding, Mark, Subject, Undecided
from harnessdrc.harness.elements import Branch

__all__ = ["bend", "sleeve"]

_Column = Literal["sleeve_m", "bend_m"]


def _branches(design: Design, column: _Column) -> list[Branch]:
    return [branch for branch in design.harness.branches.values() if getattr(branch, column) is not None]


def _subjects(design: Design, column: _Column) -> list[Subject]:
    return [("branch", branch.name) for branch in _branches(design, column)]


def _packed(design: Design, column: _Column) -> Iterator[tuple[Branch, Mark, Pack | None]]:
    """Branches with a value in a column, its cell, and their wires."""
    branches = _branches(design, column)
    if branches:
        found = packs(design, {branch.key for branch in branches})
        for branch in branches:
            yield branch, Mark(branch.place.of(column, "branch"), f"branch {branch.name}"), found.get(branch.key)


def _without_wires(branch: Branch, mark: Mark) -> Undecided:
    missing = f"wires that run in branch {branch.name} (no cell Branch of a wire names it)"
    return Undecided(("branch", branch.name), (missing,), (mark,))


def _known(value: float) -> float | None:
    return round(value, 3) if math.isfinite(value) else None


def _mm(value: float) -> str:
    return f"{value:.3g}"


@dataclass(frozen=True, slots=True)
class SleeveLimits:
    """How much of a sleeve a bundle may fill."""

    fill_percent: float = limit(90.0, "percent", "diameter of the bundle over the inner diameter of its sleeve")


@check(
    "bundle.sleeve",
    counts="branches with a sleeve",
    subjects=lambda design, limits: _subjects(design, "sleeve_m"),
    reads=("branch", "size", "sleeve_m"),
    limits=SleeveLimits,
    says={
        "": "{subject} with its {wires} wires is about {diameter_mm} mm thick and its sleeve {sleeve_mm} mm wide "
        "inside: {measured} of it (limit {limit}).",
        "range": "{subject} with its {wires} wires is at least {diameter_mm} mm thick, whatever the data is that is "
        "lacking, and its sleeve {sleeve_mm} mm wide inside: {measured} of it (limit {limit}).",
    },
    remedy={
        "": "Take a sleeve of at least {least_mm} mm inside, or part the branch.",
        "range": "Take a sleeve of at least {least_mm} mm inside, or part the branch.",
    },
)
def sleeve(design: Design, limits: SleeveLimits) -> Iterator[Outcome]:
    """A bundle does not go through its sleeve.

    Why it matters: Sleeve, conduit or boot is bought and cut before the bundle is laid; one that is too narrow is
    found out when the terminals are on, and wires pulled in by force are stretched and chafed.
    Reads: Branch and Size of the wire list, Sleeve of the list of branches.
    Decides: The diameter of the bundle, 1.2 sqrt(sum of d^2) over the outer diameters d of its wires and no less than
    their closest packing, in mm, over the inner diameter of the sleeve; at most fill_percent. Outer diameters of
    thin-wall metric and medium-wall gauged cable; shields, jackets and tape come on top. A size that is not given is
    carried as a range.
    Stays silent when: it fits over the whole range, or no sleeve is given.
    Source: rule for the diameter read on calculator pages, no standard behind it; closest packings of equal circles
    proven; room of a tenth is common practice, no source.
    """
    for branch, mark, pack in _packed(design, "sleeve_m"):
        if pack is None:
            yield _without_wires(branch, mark)
            continue
        sleeve_mm = (branch.sleeve_m or 0.0) * 1000.0
        usual, low, high = (each / sleeve_mm * 100.0 for each in pack.diameter)
        if low > limits.fill_percent:
            ranged = bool(pack.lacking)
            shown_mm = pack.diameter.low if ranged else pack.diameter.usual
            yield Finding(
                ("branch", branch.name),
                (mark,),
                {
                    "wires": pack.wires, "diameter_mm": _mm(shown_mm), "sleeve_mm": _mm(sleeve_mm),
                    "least_mm": f"{math.ceil(shown_mm / max(limits.fill_percent, 1e-6) * 1000.0) / 10.0:.1f}",
                    "doubts": list(pack.doubts), "lacking": list(pack.lacking),
                },
                measured=round(low if ranged else usual, 3), limit=limits.fill_percent, unit="percent",
                variant="range" if ranged else "",
            )  # fmt: skip
        elif high > limits.fill_percent:
            yield _open(branch, mark, pack, (low, high), limits.fill_percent, "percent")


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
        if high < limits.bend_times:
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
        elif low < limits.bend_times:
            yield _open(branch, mark, pack, (low, high), limits.bend_times, "times")


def _open(
    branch: Branch, mark: Mark, pack: Pack, ends: tuple[float, float], limit_value: float, unit: str
) -> Undecided:
    """A question that data decides: sizes, or the outer diameter of a size that the table does not have."""
    return Undecided(
        ("branch", branch.name), pack.lacking, (mark,), low=_known(ends[0]), high=_known(ends[1]), limit=limit_value,
        unit=unit,
    )  # fmt: skip
