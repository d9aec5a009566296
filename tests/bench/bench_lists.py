"""Papers of lists written as CSV text, for the tests of the bench."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

from text_lists import read_text, shipped_given, shipped_ruleset, shipped_states

from harnessdrc.bench.assembling import make_papers
from harnessdrc.bench.ends import Ends
from harnessdrc.checks.registry import load_checks
from harnessdrc.design import Design, design_of
from harnessdrc.engine import run
from harnessdrc.papers import CavityLine, ConnectorSheet, CutLine, Papers
from harnessdrc.results import Result

REPOSITORY = Path(__file__).parents[2]
SAMPLES = REPOSITORY / "sample_wirelists"
REAL = REPOSITORY.parent / "shared" / "real_wirelists"
SAMPLE_FILES = sorted(SAMPLES.glob("*/*.xlsx"))


def designed(given: Mapping[str, float] | None = None, **tables: str) -> tuple[Design, Ends]:
    """Design of CSV texts, with its ends."""
    design = design_of(read_text(tables), {**shipped_given(), **(given or {})}, shipped_states())
    return design, Ends(design.harness)


def outcome(reading_tables: Mapping[str, str], given: Mapping[str, float] | None = None) -> tuple[Design, Result]:
    """Design of CSV texts, and an outcome without any rule."""
    reading = read_text(reading_tables)
    rules = replace(shipped_ruleset(), rules=())
    design = design_of(reading, {**shipped_given(), **(given or {})}, shipped_states())
    return design, run(design, rules, load_checks(), reading)


def papers_of_text(given: Mapping[str, float] | None = None, **tables: str) -> Papers:
    """Papers of CSV texts."""
    design, result = outcome(tables, given)
    return make_papers(design, result, name="case")


def cut_of(papers: Iterable[CutLine], wire: str) -> CutLine:
    """Line of one wire; fails unless there is exactly one."""
    (line,) = [line for line in papers if line.wire == wire]
    return line


def sheet_of(sheets: Iterable[ConnectorSheet], name: str) -> ConnectorSheet:
    """Sheet of one connector; fails unless there is exactly one."""
    (sheet,) = [sheet for sheet in sheets if sheet.name == name]
    return sheet


def cavity_of(sheet: ConnectorSheet, cavity: str) -> CavityLine:
    """Line of one cavity; fails unless there is exactly one."""
    (line,) = [line for line in sheet.cavities if line.cavity == cavity]
    return line


def without_places(papers: Papers) -> dict[str, Any]:
    """All that papers say but where in the lists it stands."""
    said: dict[str, Any] = {field.name: _bare(getattr(papers, field.name)) for field in fields(papers)}
    said["incomplete"] = [re.sub(r" \([^)]* (?:[A-Z]+|row )\d+\)", "", sentence) for sentence in papers.incomplete]
    # Continuity is numbered down the list, wire by wire.
    said["continuity"] = sorted(({**line, "test": ""} for line in said["continuity"]), key=lambda line: str(line["wire"]))
    return said


def _bare(value: Any) -> Any:
    if isinstance(value, tuple) and hasattr(value, "_fields"):
        pairs = zip(value._fields, value, strict=True)
        return {name: _bare(each) for name, each in pairs if name != "mark"}
    if isinstance(value, tuple):
        return [_bare(each) for each in value]
    return value
