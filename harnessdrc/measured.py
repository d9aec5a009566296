"""Filled-in test sheets as plain numbers and names, for the renderers."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from harnessdrc.design import Design
from harnessdrc.findings import Mark
from harnessdrc.results import MeasuredLine, MeasuredOutcome, MeasuredSheetLine

if TYPE_CHECKING:
    from harnessdrc.design.testing.readings import Reading

__all__ = ["measured_outcome"]

_UNITS = {"continuity": ("mΩ", 1e3), "isolation": ("MΩ", 1e-6), "voltage": ("mV", 1e3)}


def measured_outcome(design: Design) -> MeasuredOutcome:
    """Everything that the test sheets say; an empty outcome for lists without any."""
    harness = design.harness
    if not harness.measured_sheets:
        return MeasuredOutcome()
    filled: dict[tuple[str, str], int] = {}
    for row in harness.measurements:
        if (row.resistance_ohm, row.isolation_ohm, row.voltage_v) != (None, None, None):
            key = (row.place.file, row.place.sheet)
            filled[key] = filled.get(key, 0) + 1
    sheets = tuple(
        MeasuredSheetLine(
            one.file, one.sheet, one.issue_mark,
            None if one.issue_mark is None else one.issue_mark == harness.issue_mark,
            one.rows, filled.get((one.file, one.sheet), 0), len(one.refused),
        )
        for one in harness.measured_sheets
    )  # fmt: skip
    testing = design.testing
    return MeasuredOutcome(
        sheets, tuple(_lines(testing.readings)), len(testing.unfit), len(testing.measured_ohms),
        tuple(_not_compared(design, sheets)),
    )  # fmt: skip


def _not_compared(design: Design, sheets: tuple[MeasuredSheetLine, ...]) -> Iterator[str]:
    """What the network does not know of the readings, and tests that no sheet has a row for."""
    testing = design.testing
    broken = sum(math.isinf(reading.value) for reading in testing.resistances)
    if broken:
        one = broken == 1
        yield (
            f"{broken:,} wire{'' if one else 's'} that {'is' if one else 'are'} open by the meter "
            f"stand{'s' if one else ''} in the network as if whole: no voltage here tells what a break does."
        )
    if not design.analysis.solved:
        yield "The network could not be solved: no voltage was held against it."
    rows = sum(sheet.rows for sheet in sheets)
    tests = len(testing.continuity) + len(testing.isolation) + len(testing.voltages)
    if all(sheet.fits for sheet in sheets) and rows < tests:
        has = "has" if tests - rows == 1 else "have"
        yield f"{tests - rows:,} of the {tests:,} tests of this list {has} no row on these sheets."


def _lines(readings: tuple[Reading, ...]) -> Iterator[MeasuredLine]:
    for reading in readings:
        unit, scale = _UNITS[reading.kind]
        expected, low, high, subject, state = _expected(reading)
        yield MeasuredLine(
            reading.measurement.test, reading.kind, subject, state,
            _scaled(expected, scale), _scaled(low, scale), _scaled(high, scale),
            reading.value * scale if math.isfinite(reading.value) else None, reading.measurement.above, unit,
            reading.verdict, Mark(reading.place, f"test {reading.measurement.test}"),
        )  # fmt: skip


def _scaled(value: float | None, scale: float) -> float | None:
    return None if value is None else value * scale


def _expected(reading: Reading) -> tuple[float | None, float | None, float | None, str, str]:
    """Expected value and what passes, in Ω or V, with the words for the subject and the state."""
    test: Any = reading.test
    if reading.kind == "continuity":
        subject = test.name if test.strap is not None else f"wire {test.name}"
        return test.expected_ohm, test.low_ohm, test.high_ohm, subject, ""
    if reading.kind == "isolation":
        return None, test.least_ohm, None, f"{test.a} and {test.b}", ""
    return test.expected_v, test.low_v, test.high_v, f"{test.red} against {test.black}", test.state
