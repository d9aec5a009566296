"""Filled-in test sheets as plain numbers and names, for the renderers."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from typing import TYPE_CHECKING, Any, NamedTuple

from harnessdrc.design import Design
from harnessdrc.findings import Mark, Subject
from harnessdrc.results import MeasuredLine, MeasuredOutcome, MeasuredSheetLine

if TYPE_CHECKING:
    from harnessdrc.design.testing.readings import Reading

__all__ = ["Said", "consequences", "measured_outcome"]


class Said(NamedTuple):
    """What a rule says of a subject, without the wording and the numbers."""

    rule: str
    check: str
    subject: Subject
    variant: str

_MOST_FAILED = 8
"""Failed readings whose consequences are worked out one by one: each takes another run of rules."""

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


def consequences(
    design: Design, said_of: Callable[[Design, frozenset[str]], Iterable[Said]], said: Iterable[Said]
) -> dict[Said, tuple[str, Subject]]:
    """What rules say only because a resistance failed, with the finding that each follows from.

    A sentence that the list itself has, without any measurement, follows from none. One that is there with a single
    failed reading alone follows from that one. Where it takes several together, or where more have failed than
    `_MOST_FAILED`, it stands by itself.

    Parameters
    ----------
    design : Design
        With its measurements.
    said_of : callable
        ``said_of(design, rules)``: what rules of these names say of a design.
    said : iterable of Said
        What they say of this one.

    Returns
    -------
    dict
        Check and subject of the cause, for what has one.
    """
    failed = design.testing.failed if design.harness.measurements else ()
    said = [one for one in said if not one.check.startswith("measured.")]
    if not failed or not said:
        return {}
    new = set(said) - set(said_of(design.testing.as_listed, frozenset(one.rule for one in said)))
    causes: dict[Said, tuple[str, Subject]] = {}
    for reading in sorted(failed, key=_by_break(design))[:_MOST_FAILED]:
        rules = frozenset(one.rule for one in new if one not in causes)
        if not rules:
            break
        alone = set(said_of(design.testing.with_only((reading,)), rules))
        key = reading_key_of(reading)
        causes |= {one: ("measured.resistance", key) for one in new & alone if one not in causes}
    return causes


def reading_key_of(reading: Reading) -> Subject:
    """Subject of a reading of resistance."""
    from harnessdrc.design.testing.readings import reading_key

    return reading_key(reading)


def _by_break(design: Design) -> Callable[[Reading], tuple[object, ...]]:
    """Order of failed readings: breaks first, then by the number of their test."""
    broken = design.testing.broken
    return lambda reading: (reading_key_of(reading) not in broken, _natural(reading.measurement.test))


def _natural(text: str) -> tuple[int, str]:
    digits = "".join(filter(str.isdecimal, text))
    return int(digits or 0), text


def _not_compared(design: Design, sheets: tuple[MeasuredSheetLine, ...]) -> Iterator[str]:
    """What the network does not know of the readings, and tests that no sheet has a row for."""
    testing = design.testing
    for kind in ("wire", "strap"):
        broken = sum(key[0] == kind for key in testing.broken)
        if broken:
            one = broken == 1
            yield (
                f"{broken:,} {kind}{'' if one else 's'} that {'is' if one else 'are'} open by the meter "
                f"{'is' if one else 'are'} no part of the network: voltages, currents and findings here are those of "
                "the loom with the break in it."
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
