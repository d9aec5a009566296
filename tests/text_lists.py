"""Lists written as CSV text in a test, read the way the command line reads a workbook."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path

from harnessdrc.checks.registry import load_checks
from harnessdrc.design import GIVEN, Design, design_of
from harnessdrc.engine import given_numbers
from harnessdrc.intake.grid import Cell, Grid, OpenedFile
from harnessdrc.intake.reading import read_lists
from harnessdrc.physics.operation import OperatingState
from harnessdrc.rulesets import Ruleset, load_ruleset
from harnessdrc.tables.model import Reading

FILE = "case"


@cache
def shipped_ruleset(name: str = "engine-loom") -> Ruleset:
    """A shipped ruleset with all checks loaded."""
    known = {given: form.unit for given, form in GIVEN.items()}
    return load_ruleset(name, checks=load_checks(), known_given=known)


def shipped_given() -> dict[str, float]:
    """Given values of the shipped ruleset."""
    return given_numbers(shipped_ruleset())


def shipped_states() -> tuple[OperatingState, ...]:
    """Operating states of the shipped ruleset."""
    return shipped_ruleset().states


def grid_of(sheet: str, rows: Sequence[Sequence[Cell]]) -> Grid:
    """Sheet of a workbook with these rows, the first one being row 1."""
    return Grid(FILE, sheet, [[cell if cell != "" else None for cell in row] for row in rows])


def read_rows(tables: Mapping[str, Sequence[Sequence[Cell]]]) -> Reading:
    """Read one workbook with a sheet for each table."""
    grids = tuple(grid_of(sheet, rows) for sheet, rows in tables.items())
    return read_lists([OpenedFile(Path(FILE), FILE, "xlsx", "0" * 64, grids)])


def read_text(tables: Mapping[str, str]) -> Reading:
    """Read one workbook with a sheet for each CSV text."""
    return read_rows({sheet: list(csv.reader(io.StringIO(text))) for sheet, text in tables.items()})


def design_from(given: Mapping[str, float] | None = None, **tables: str) -> Design:
    """Design of CSV texts: ``design_from(wires="Wire,From,To...")``."""
    return design_of(read_text(tables), {**shipped_given(), **(given or {})}, shipped_states())
