"""Reports of samples and of harmful texts, for the tests of the page."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

from harnessdrc.api import diagram_of_design, judge, load_rules, open_and_read, wiring_of_design
from harnessdrc.design import design_of
from harnessdrc.diagram import Diagram
from harnessdrc.engine import given_numbers
from harnessdrc.places import Place
from harnessdrc.render.report.html import report_html
from harnessdrc.results import Result
from harnessdrc.wiring import Wiring

__all__ = ["CLEAN", "FAULTY", "made_from", "page_of", "spoiled"]

_SAMPLES = Path(__file__).parents[2] / "sample_wirelists"
FAULTY = _SAMPLES / "faulty" / "hill_climb_single_seater.xlsx"
CLEAN = _SAMPLES / "clean" / "rescue_boat_v8.xlsx"
_KEPT = {"kind", "grade", "zone", "side", "verdict", "state", "governs", "on_fault", "thumbprint", "follows_from", "size",
         "needed_awg", "needed_mm2", "family", "unit", "error_unit", "clears", "findings"}  # fmt: skip
"""Fields that hold words of our own, or that rows hang together by."""


@cache
def made_from(path: Path) -> tuple[Result, Diagram, Wiring]:
    """A sample, checked and drawn."""
    checks, rules = load_rules("engine-loom")
    _, reading = open_and_read([path])
    design = design_of(reading, given_numbers(rules), rules.states)
    result = judge(design, rules, checks, reading)
    return result, diagram_of_design(design, result), wiring_of_design(design)


@cache
def page_of(path: Path) -> str:
    """The page of a sample."""
    return report_html(*made_from(path), path.name)


def spoiled(value: Any, text: str, name: str = "") -> Any:
    """The same with `text` behind every text that may come from a list."""
    if isinstance(value, str):
        return value if name in _KEPT or not value else f"{value} {text}"
    if isinstance(value, Place):
        return Place(value.file, f"{value.sheet} {text}", value.cell)
    if is_dataclass(value) and not isinstance(value, type):
        return replace(value, **{f.name: spoiled(getattr(value, f.name), text, f.name) for f in fields(value) if f.init})
    if isinstance(value, tuple):
        if hasattr(value, "_fields"):
            return type(value)(*(spoiled(one, text, key) for key, one in zip(value._fields, value, strict=True)))
        return tuple(spoiled(one, text, name) for one in value)
    return value
