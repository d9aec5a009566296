"""Any list, however odd, gives a result or a clear refusal: no exception, no crashed rule, no lost row."""

from __future__ import annotations

import os
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from harnessdrc import HarnessdrcError
from harnessdrc.api import load_rules
from harnessdrc.design import design_of
from harnessdrc.engine import given_numbers, run
from harnessdrc.intake.grid import Grid, OpenedFile
from harnessdrc.intake.reading import read_lists
from harnessdrc.render.findings_json import to_json

EXAMPLES = int(os.environ.get("HARNESSDRC_EXAMPLES", "150"))

HEADINGS = (
    "Wire", "Wire No", "From", "To", "From cavity", "To cavity", "Pin", "Connector", "Signal", "Colour", "Color",
    "Size", "AWG", "mm2", "Length", "Length (mm)", "Note", "Component", "Kind", "Place", "Earth point", "Body",
    "Fuse", "Rating", "Strap", "From body", "To body", "Splice", "Twist", "Shield", "Current", "Destination",
    "Function", "Resistance", "Mates with", "Role", "Case earthed", "Branch", "From point", "To point", "Joint", "ECU",
)  # fmt: skip
VALUES = (
    "ECU", "ECU-A", "ECU:12", "COIL 1", "INJ2", "F3", "SP1", "Head stud", "Chassis", "Battery", "Battery -", "+", "-",
    "12", "A1", "1-4", "in", "out", "30", "87", "GND", "Sensor ground", "5V", "12V", "Coil 1", "CLT", "Crank +", "N/C",
    "spare", "open", "RD", "B", "R+B", "w/org", "???", "0.75", "18 AWG", "16", "1/0", "0", "-3", "99999", "AWG 60",
    "600", "18”", "6'", "1,5 m", "5 A", "mΩ", "T1", "SH1", "yes", "coil", "controller", "engine", "head", "ditto", '"',
    "same as above", "=1+1", "\u202e", "²", "(??)", "*", "Motor,C3:A3,C6:A3", "x" * 300,
)  # fmt: skip

cells = st.one_of(
    st.none(), st.sampled_from(VALUES), st.integers(-5, 200), st.floats(-10, 1e6, allow_nan=False),
    st.text(max_size=12), st.booleans(),
)  # fmt: skip


@st.composite
def sheets(draw: st.DrawFn) -> Grid:
    width = draw(st.integers(1, 9))
    rows: list[list[object]] = []
    for _ in range(draw(st.integers(1, 3))):
        rows.extend(draw(st.lists(st.lists(cells, max_size=width), max_size=2)))
        rows.append(draw(st.lists(st.sampled_from(HEADINGS), min_size=1, max_size=width, unique=True)))
        rows.extend(draw(st.lists(st.lists(cells, min_size=width, max_size=width), max_size=8)))
    clean = [[None if c == "" or (isinstance(c, str) and not c.strip()) else c for c in row] for row in rows]
    name = f"Sheet {draw(st.integers(1, 3))}"
    return Grid("loom.xlsx", name, clean, (), False, (), False)  # type: ignore[arg-type]


@settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.lists(sheets(), min_size=1, max_size=3, unique_by=lambda grid: grid.sheet))
def test_any_list_is_read_and_checked_or_refused(grids: list[Grid]) -> None:
    checks, rules = load_rules("engine-loom")
    opened = [OpenedFile(Path("loom.xlsx"), "loom.xlsx", "xlsx", "0" * 64, tuple(grids), ())]
    try:
        reading = read_lists(opened)
    except HarnessdrcError:
        return
    filled = {(g.sheet, r) for g in grids for r, row in enumerate(g.rows, 1) if any(c is not None for c in row)}
    assert reading.rows_seen == len(filled)
    assert reading.rows_used + len(reading.set_aside) == reading.rows_seen
    result = run(design_of(reading, given_numbers(rules), rules.states), rules, checks, reading)
    assert [(r.rule, r.crashed) for r in result.rules if r.crashed] == []
    to_json(result)
