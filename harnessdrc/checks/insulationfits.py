"""What terminals and seals have in common: the wire over its insulation against the range of a part."""

from __future__ import annotations

from collections.abc import Iterator

from harnessdrc.checks.registry import Outcome
from harnessdrc.design import Design
from harnessdrc.design.crimpfits import shown_range, upside_down
from harnessdrc.findings import Finding, Mark, Subject, Undecided, figures
from harnessdrc.harness.elements import Part, Wire

__all__ = ["fits", "shown_mm"]


def shown_mm(value_m: float | None) -> str | None:
    """A length for the eye, mm."""
    return None if value_m is None else figures(value_m * 1e3)


def fits(design: Design, subject: Subject, wire: Wire, part: Part, what: str, mark: Mark) -> Iterator[Outcome]:
    """Hold the outer diameter of a wire against the range of insulation that a part takes.

    Parameters
    ----------
    design : Design
        The design.
    subject : tuple of (str, str)
        Subject of the outcome.
    wire : Wire
        The wire.
    part : Part
        Terminal or seal.
    what : str
        ``terminal`` or ``seal``: name of the evidence that holds the part's name.
    mark : Mark
        The cell that names the part.

    Yields
    ------
    Finding or Undecided
        At most one: a finding where the wire is surely outside, undecided where it may be.
    """
    outer = design.fitting.outer(wire)
    if outer is None:
        what_lacks = "size" if wire.size is None else "outer diameter of the cable"
        missing = f"{what_lacks} of wire {wire.name}"
        yield Undecided(subject, (missing,), (Mark(wire.place.of("size", "wire"), f"wire {wire.name}"),))
        return
    wrong = upside_down(part)
    if wrong is not None and wrong[0] == "insulation":
        cell = Mark(part.place.of("insulation_min_m", "part"), part.name)
        yield Undecided(subject, (f"range of insulation of {part.name}",), (cell,))
        return
    least_m = 0.0 if part.insulation_min_m is None else part.insulation_min_m * (1.0 - 1e-9)
    most_m = float("inf") if part.insulation_max_m is None else part.insulation_max_m * (1.0 + 1e-9)
    if least_m <= outer.low_m and outer.high_m <= most_m:
        return
    limit_m = part.insulation_max_m if outer.high_m > most_m else part.insulation_min_m
    if outer.low_m > most_m or outer.high_m < least_m:
        low, high = shown_mm(outer.low_m), shown_mm(outer.high_m)
        yield Finding(
            subject,
            (
                mark,
                Mark(wire.place.of("insulation", "size", "wire"), f"wire {wire.name}"),
                Mark(part.place.of("insulation_max_m", "part"), "in the parts table"),
            ),
            {
                what: part.name,
                "diameter": f"{low} mm" if low == high else f"{low} to {high} mm",
                "range": shown_range(shown_mm(part.insulation_min_m), shown_mm(part.insulation_max_m), " mm"),
                "by": outer.source,
            },
            measured=(outer.low_m if outer.low_m > most_m else outer.high_m) * 1e3,
            limit=None if limit_m is None else limit_m * 1e3,
            unit="mm",
            variant="" if outer.low_m > most_m else "thin",
        )
        return
    yield Undecided(
        subject,
        (f"outer diameter of the cable of wire {wire.name}",),
        (Mark(wire.place.of("insulation", "size", "wire"), f"wire {wire.name}"),),
        low=outer.low_m * 1e3, high=outer.high_m * 1e3, limit=None if limit_m is None else limit_m * 1e3, unit="mm",
    )  # fmt: skip
