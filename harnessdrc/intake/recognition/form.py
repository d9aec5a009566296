"""Which form a set of headings makes, by its words alone."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from harnessdrc.intake.recognition.head_cells import HeadCell
from harnessdrc.tables.columns import SELDOM

__all__ = ["PARTS_HALLMARKS", "form_of"]

PARTS_HALLMARKS = frozenset(
    ("sex", "size_min", "size_max", "insulation_min_m", "insulation_max_m", "bore_m", "bore_min_m", "bore_max_m",
     "strip_m", "sealed", "cavities")
)  # fmt: skip
"""Columns that a parts table alone has."""

_TERMINAL_OR_PIN = frozenset(("terminal", "terminals", "contact", "contacts"))
_WIREY = frozenset(("wire", "colour", "size", "length"))


def _first(cells: Sequence[HeadCell]) -> list[tuple[str, str]]:
    return [(c.heading.side, c.heading.concepts[0]) for c in cells if c.heading.concepts]


def form_of(cells: Sequence[HeadCell]) -> str | None:
    """Form that a set of headings makes by its words alone, or None."""
    seen = _first(cells)
    may = {concept for c in cells for concept in c.heading.concepts if not c.heading.side}
    sides = {side for side, _ in seen if side}
    if "x_m" in may and "y_m" in may and "point" in may:
        return "points"
    if "part" in may and may & PARTS_HALLMARKS:
        return "parts"
    lead = next((c.heading.concepts[0] for c in cells if c.heading.concepts), "")
    first = {concept for side, concept in seen if not side}
    ends = Counter(concept for side, concept in seen if not side and concept in ("cavity", "connector", "item"))
    doubtful = sum(1 for c in cells if not c.heading.side and c.heading.key in _TERMINAL_OR_PIN)
    if ends["cavity"] > doubtful:
        ends["cavity"] -= doubtful
    if sides == {"from", "to"}:
        if "strap" in may:
            return "straps"
        if lead == "branch" and not (first & {"wire", "colour", "size", "cavity", "signal"}):
            return "branches"
        return "wires"
    named_pins = {c.heading.qualifier for c in cells if c.heading.may_be("cavity") and c.heading.qualifier}
    if len(named_pins) >= 3 and not first & {"connector", "item"}:
        return "device columns"
    if ends["connector"] >= 2 or ends["item"] >= 2 or (ends["cavity"] >= 2 and len(named_pins) >= 2):
        return "wires"
    if ends["cavity"] >= 2 and first & _WIREY and not sides:
        return "wires"
    if "joint" in may and "resistance" in may and not (first & {"cavity", "wire"}):
        return "joints"
    if "fuse" in first and "rating" in may and "cavity" not in first:
        return "fuses"
    if "earth_point" in first and may & {"body", "place", "resistance"} and not (first & {"cavity", "wire"}):
        return "earth_points"
    if lead == "splice" and not sides and "cavity" not in first:
        return "splices"
    if "cavity" in first and (len(seen) >= 2):
        return "pins"
    if "component" in may and not sides:
        figures = {"kind", "resistance", "capacitance", "case_earthed", "mate", "place", *SELDOM["components"]}
        if (may - {"component"}) & figures or ({"current"} & first and lead in ("item", "component")):
            return "components"
    if ("net" in first or "signal" in first) and len(seen) < len(cells):
        return "device columns"
    if "connector" in first and ("signal" in first or "wire" in first):
        return "pins"
    return None
