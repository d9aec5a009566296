"""Whether a conductor or an insulated wire lies in the range that a part takes.

Sizes of one system are compared as labelled. Those of two systems are compared by their copper, and only where what
the two labels may stand for leaves no doubt: a label is never turned into another.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Literal, NamedTuple

from harnessdrc.harness.elements import Part, Wire
from harnessdrc.harness.names import fold
from harnessdrc.physics.bundles import awg_outer_diameter, metric_outer_diameter
from harnessdrc.physics.conductor import awg_area_mm2
from harnessdrc.physics.crimping import copper_range_mm2, joined_awg, joined_mm2
from harnessdrc.units import Size

__all__ = ["Outer", "Verdict", "compare", "in_range", "joined", "mixed", "outer_of", "shown_range", "upside_down"]

Verdict = Literal["in", "below", "above", "unclear"]

_OF_MAXIMUM = (0.80, 1.0)
"""Diameter of a cable over the most that its standard allows; common practice, no source."""
_OF_NOMINAL = (0.5, 1.25)
"""Thin-wall to thick-wall cable of a gauge over the medium-wall diameter of the table: aircraft cable of 20 AWG is
1.27 mm over its insulation (0.050 in, AS22759/32, from memory) where medium wall is 2.4 mm; else common practice."""


class Outer(NamedTuple):
    """Outer diameter of a wire in m: the likeliest, the least and the most; `source` says from where."""

    usual_m: float
    low_m: float
    high_m: float
    source: str


def compare(one: Size, other: Size) -> Verdict:
    """Where a size lies against another: ``below``, ``in`` (the same), ``above`` or ``unclear``."""
    if one.awg is not None and other.awg is not None:
        return "in" if one.awg == other.awg else "below" if one.awg > other.awg else "above"
    if one.csa_mm2 is not None and other.csa_mm2 is not None:
        if abs(one.csa_mm2 - other.csa_mm2) <= 1e-6 * other.csa_mm2:
            return "in"
        return "below" if one.csa_mm2 < other.csa_mm2 else "above"
    try:
        low, high = copper_range_mm2(one.csa_mm2, one.awg)
        least, most = copper_range_mm2(other.csa_mm2, other.awg)
    except ValueError:
        return "unclear"
    return "below" if high < least else "above" if low > most else "unclear"


def in_range(size: Size, part: Part) -> Verdict:
    """Where a conductor lies against the sizes that a part takes; a cell with two labels is both of them."""
    verdicts = {_one_in_range(each, part) for each in (size, size.also) if each is not None}
    return verdicts.pop() if len(verdicts) == 1 else "unclear"


def _one_in_range(size: Size, part: Part) -> Verdict:
    low = compare(size, part.size_min) if part.size_min is not None else "above"
    high = compare(size, part.size_max) if part.size_max is not None else "below"
    if low == "below":
        return "below"
    if high == "above":
        return "above"
    return "unclear" if "unclear" in (low, high) else "in"


def mixed(part: Part) -> bool:
    """Whether a part's sizes are of two systems."""
    return part.size_min is not None and part.size_max is not None and part.size_min.system != part.size_max.system


def upside_down(part: Part) -> tuple[str, str, str] | None:
    """Columns and what they say of the first range of a part that begins above its end; None where none does."""
    if part.size_min is not None and part.size_max is not None and compare(part.size_min, part.size_max) == "above":
        return "size", str(part.size_min), str(part.size_max)
    for name, low_m, high_m in (
        ("insulation", part.insulation_min_m, part.insulation_max_m),
        ("bore", part.bore_min_m, part.bore_max_m),
    ):
        if low_m is not None and high_m is not None and low_m > high_m:
            return name, f"{low_m * 1e3:g} mm", f"{high_m * 1e3:g} mm"
    return None


def shown_range(low: object, high: object, unit: str = "") -> str:
    """A range for the eye: ``0.35 mm² to 0.5 mm²``, ``no less than 20 AWG``."""
    if low is None or high is None:
        return f"{f'no more than {high}' if low is None else f'no less than {low}'}{unit}"
    return f"{low}{unit}" if str(low) == str(high) else f"{low} to {high}{unit}"


def joined(sizes: Iterable[Size], part: Part) -> Size | None:
    """Size that several wires in one crimp make together, in their own system or, mixed, in that of the part.

    Areas are added and the next standard size up is taken. None for more than the largest size.
    """
    wires = list(sizes)
    systems = {size.system for size in wires}
    wanted = systems.pop() if len(systems) == 1 else (part.size_max or part.size_min or wires[0]).system
    areas = [awg_area_mm2(size.awg) if size.awg is not None else size.csa_mm2 or 0.0 for size in wires]
    if wanted == "awg":
        awg = joined_awg(areas)
        return None if awg is None else Size("", "awg", awg=awg)
    csa_mm2 = joined_mm2(areas)
    return None if csa_mm2 is None else Size("", "mm2", csa_mm2=csa_mm2)


def outer_of(wire: Wire, parts: Mapping[str, Part]) -> Outer | None:
    """Outer diameter of a wire: that of its cable in the parts table, else of usual cable of its size.

    A cable is the wire's where its name or family is what the wire list has under insulation (a name may go on with
    the size: ``FLR2X-B 0.5``), and its sizes, where given, take in the wire's.

    Returns
    -------
    Outer or None
        None without a size, for a cell with two labels, and for a size that no table has.
    """
    cable = _cable_of(wire, parts) if wire.insulation else None
    if cable is not None:
        low_m = cable.insulation_min_m or cable.insulation_max_m
        high_m = cable.insulation_max_m or cable.insulation_min_m
        if low_m is not None and high_m is not None:
            return Outer((low_m + high_m) / 2.0, low_m, high_m, cable.name)
    size = wire.size
    if size is None or size.also is not None or wire.cores > 1:
        return None
    try:
        found = (
            awg_outer_diameter(size.awg) if size.awg is not None
            else metric_outer_diameter(size.csa_mm2) if size.csa_mm2 is not None
            else None
        )  # fmt: skip
    except ValueError:
        return None
    if found is None:
        return None
    least, most = _OF_MAXIMUM if found.kind == "maximum" else _OF_NOMINAL
    return Outer(found.mm * 1e-3, found.mm * least * 1e-3, found.mm * most * 1e-3, found.source)


def _cable_of(wire: Wire, parts: Mapping[str, Part]) -> Part | None:
    """The cable of a wire; where several would do, the first by name."""
    said = fold(wire.insulation or "")
    fits = [
        part
        for part in parts.values()
        if part.kind == "cable" and _named_so(part, said) and _of_size(part, wire.size, exact=part.key == said)
    ]
    return min(fits, key=lambda part: (part.key != said, part.key), default=None)


def _named_so(part: Part, said: str) -> bool:
    family = fold(part.family) if part.family else None
    return part.key == said or family == said or (part.key.startswith(said) and part.key[len(said) :][:1] in " -_/")


def _of_size(part: Part, size: Size | None, *, exact: bool) -> bool:
    if part.size_min is None and part.size_max is None:
        return exact
    if size is None or size.also is not None:
        return False
    sizes = [each for each in (part.size_min, part.size_max) if each is not None]
    return all(each.system == size.system for each in sizes) and in_range(size, part) == "in"
