"""Checks on wires that are twisted together."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from harnessdrc.checks.registry import Outcome, check, limit
from harnessdrc.design import Design
from harnessdrc.findings import Finding, Mark, Subject, Undecided
from harnessdrc.harness.elements import Wire
from harnessdrc.harness.names import natural_key

__all__ = ["unequal_length"]


@dataclass(frozen=True, slots=True)
class UnequalLengthLimits:
    """How unlike in length the wires of one twisted group may be."""

    differ_mm: float = limit(50.0, "mm", "longest less shortest wire between the same two places")


def _groups(design: Design) -> list[tuple[Subject, list[tuple[Wire, ...]]]]:
    """Twist groups with lengths, each parted into wires that run between the same two places.

    A splice counts as no place of its own, since the two wires of a pair are spliced apart. A drain that is cut back is
    left out.
    """
    items = design.harness.items
    found: list[tuple[Subject, list[tuple[Wire, ...]]]] = []
    for wires in design.twist_groups.values():
        runs: dict[tuple[str, ...], list[Wire]] = {}
        for wire in wires:
            if wire.a is None or wire.b is None or wire.colour == "bare":
                continue
            ends = (items[contact.item] for contact in (wire.a, wire.b))
            places = sorted("" if item.kind == "splice" else item.owner for item in ends)
            runs.setdefault(tuple(places), []).append(wire)
        pairs = [tuple(run) for run in runs.values() if len(run) > 1 and any(w.length_m is not None for w in run)]
        if pairs:
            found.append((("twist group", wires[0].twist or ""), pairs))
    return found


@check(
    "twist.unequal_length",
    counts="twist groups with lengths",
    subjects=lambda design, limits: [subject for subject, _ in _groups(design)],
    reads=("twist", "length_m", "from_item", "to_item"),
    limits=UnequalLengthLimits,
    says={
        "": "In {subject} {long} is {long_mm} mm long and {short} {short_mm} mm: {measured} more for the same way "
        "(limit {limit}).",
    },
    remedy={"": "Cut them to one length, and twist them up to their terminals."},
)
def unequal_length(design: Design, limits: UnequalLengthLimits) -> Iterator[Outcome]:
    """The wires of a twisted pair differ in length.

    Why it matters: What one of them has over lies beside the twist as a loop, at the end where it is untwisted, and
    picks up there what the twist keeps off; or one figure is a slip and that wire does not reach.
    Reads: Twist group, Length, From and To of the wire list.
    Decides: In mm, the longest less the shortest of the wires of one twist group that run between the same two
    components is at most differ_mm; ends on splices are taken as one place. A length that is lacking beside others is
    undecided.
    Stays silent when: they are as long as each other. Drains and wires cut back at one end are not held against them.
    Source: at most 50 mm untwisted at a connector (from memory), which is what an unequal length leaves.
    """
    for subject, runs in _groups(design):
        lacking = sorted(
            {w.name: w for run in runs for w in run if w.length_m is None}.values(), key=lambda w: natural_key(w.name)
        )
        spans = [
            (max(lengths) - min(lengths), run)
            for run in runs
            if len(lengths := [w.length_m for w in run if w.length_m is not None]) > 1
        ]
        over_m, run = max(spans, key=lambda span: span[0], default=(0.0, ()))
        over_mm = round(over_m * 1000.0, 6)
        if over_mm > limits.differ_mm:
            known = [wire for wire in run if wire.length_m is not None]
            long = max(known, key=lambda wire: wire.length_m or 0.0)
            short = min(known, key=lambda wire: wire.length_m or 0.0)
            yield Finding(
                subject,
                tuple(Mark(wire.place.of("length_m", "wire"), f"wire {wire.name}") for wire in (long, short)),
                {"long": f"wire {long.name}", "long_mm": f"{(long.length_m or 0.0) * 1000:.0f}",
                 "short": f"wire {short.name}", "short_mm": f"{(short.length_m or 0.0) * 1000:.0f}"},
                over_mm, limits.differ_mm, "mm",
            )  # fmt: skip
        elif lacking:
            yield Undecided(
                subject,
                tuple(f"length of wire {wire.name}" for wire in lacking),
                tuple(Mark(wire.place.of("length_m", "wire"), f"wire {wire.name}") for wire in lacking),
            )
