"""Fuses that a short circuit right behind them asks to break more than they can."""

from __future__ import annotations

from collections.abc import Iterator

from harnessdrc.checks.fusewires import amps
from harnessdrc.design import Design
from harnessdrc.design.sizing.breaking import Prospective, breakable, prospective_faults
from harnessdrc.design.sizing.protection import possible_families
from harnessdrc.findings import Finding, Undecided, beyond, figures
from harnessdrc.physics.fuses import fuse_family

__all__ = ["beyond_breaking"]


def beyond_breaking(design: Design) -> Iterator[Finding | Undecided]:
    """Fuses with a prospective fault above what their family is sure to interrupt."""
    for fault in prospective_faults(design):
        fuse, capacities = fault.fuse, breakable(fault.fuse)
        least_a, most_a = capacities[0], capacities[-1]
        if not beyond(fault.high_a, least_a):
            continue
        names = possible_families(fuse.reading, fuse.rating_a)
        figured = bool(names) and all(fuse_family(name).breaking_capacity_a is not None for name in names)
        if figured and beyond(fault.low_a, most_a):
            yield _found(fault, names, most_a)
            continue
        missing = fault.lacking
        if not figured or least_a < most_a:
            missing = (f"family of {fuse.item.name}", *missing)
        yield Undecided(
            fuse.subject, missing, fuse.mark("family"), round(fault.low_a, 6), round(fault.high_a, 6), least_a, "A"
        )


def _found(fault: Prospective, names: tuple[str, ...], capacity_a: float) -> Finding:
    fuse = fault.fuse
    return Finding(
        fuse.subject,
        fuse.mark("family", "cannot break it"),
        {
            "family": " or ".join(names), "feed_mohm": figures(1000.0 * fault.feed_ohm),
            "home_mohm": figures(1000.0 * fault.home_ohm), "current": amps(fault.usual_a),
        },
        measured=round(fault.usual_a, 6), limit=capacity_a, unit="A",
    )  # fmt: skip
