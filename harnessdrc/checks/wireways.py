"""Lengths of wires against their ways along the branches that they name."""

from __future__ import annotations

from collections.abc import Iterator

from harnessdrc.checks.registry import Outcome
from harnessdrc.design import Design
from harnessdrc.design.branches import branches_of
from harnessdrc.design.wirelengths import WayLength
from harnessdrc.findings import Finding, Mark, Subject, Undecided
from harnessdrc.harness.elements import Wire

__all__ = ["laid_wires", "too_long_wires", "too_short_wires"]


def laid_wires(design: Design) -> list[tuple[Wire, WayLength]]:
    """Wires with a length and their ways: those whose ends are on the branches, or that are too short in any case."""
    if not design.harness.branches:
        return []
    found = []
    for wire in design.harness.wires:
        way = design.wire_lengths.way(wire) if wire.length_m is not None and wire.branch else None
        if way is not None and (way.placed or (way.low_m or 0.0) > (wire.length_m or 0.0)):
            found.append((wire, way))
    return found


def _text(value_m: float) -> str:
    return f"{value_m:.4g} m" if value_m >= 20 else f"{round(value_m * 1000):d} mm"


def _evidence(design: Design, wire: Wire, way: WayLength) -> dict[str, str]:
    ends = [design.label(contact) for contact in (wire.a, wire.b) if contact is not None]
    names = [design.harness.branches[key].name for key in branches_of(wire, design.harness)]
    at_least = "" if way.placed else "at least "
    return {
        "length": _text(wire.length_m or 0.0), "way": at_least + _text(way.low_m or 0.0), "ends": " to ".join(ends),
        "branches": ", ".join(names),
    }  # fmt: skip


def _marks(design: Design, wire: Wire) -> tuple[Mark, ...]:
    branches = [design.harness.branches[key] for key in branches_of(wire, design.harness)]
    return (
        Mark(wire.place.of("length_m"), f"length of wire {wire.name}"),
        *(Mark(branch.place.of("length_m", "branch"), f"branch {branch.name}") for branch in branches),
    )


def _undecided(design: Design, wire: Wire, way: WayLength) -> Undecided:
    return Undecided(("wire", wire.name), way.lacking, _marks(design, wire))


def _cause(design: Design, wire: Wire) -> tuple[str, Subject] | None:
    """The branch whose length can't be right by its coordinates, where one is more than twice its straight span."""
    worst: tuple[float, str] | None = None
    for key in branches_of(wire, design.harness):
        branch = design.harness.branches[key]
        span_m = design.routes.span_m(key)
        if branch.length_m is not None and span_m:
            worst = max(worst or (2.0, ""), (branch.length_m / span_m, branch.name))
    return ("branch.length", ("branch", worst[1])) if worst is not None and worst[1] else None


def too_short_wires(design: Design, short_percent: float) -> Iterator[Outcome]:
    """Wires that do not reach, see ``wire.too_short``."""
    for wire, way in laid_wires(design):
        if way.low_m is None:
            yield _undecided(design, wire, way)
        elif way.low_m > 0.0:
            lacking = round(100.0 * (1.0 - (wire.length_m or 0.0) / way.low_m), 6)
            if lacking > short_percent:
                yield Finding(
                    ("wire", wire.name), _marks(design, wire), _evidence(design, wire, way),
                    lacking, short_percent, "percent", follows_from=_cause(design, wire),
                )  # fmt: skip


def too_long_wires(design: Design, spare_m: float) -> Iterator[Outcome]:
    """Wires with much to spare, see ``wire.too_long``."""
    for wire, way in laid_wires(design):
        if not way.placed:
            continue
        if way.high_m is None:
            yield _undecided(design, wire, way)
            continue
        over_m = round((wire.length_m or 0.0) - way.high_m, 6)
        if over_m > spare_m:
            yield Finding(
                ("wire", wire.name), _marks(design, wire), _evidence(design, wire, way), over_m, spare_m, "m"
            )
