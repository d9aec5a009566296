"""Rows of filled-in test sheets put to the tests they belong to, and what each reading says.

A row belongs to a wire by its name, to a pair of nets by the two places in either order, to a voltage by its leads and
its state; numbers of tests say nothing in another issue of the list. A row that names none of these belongs to the
test of its number where its sheet was printed for this issue.

A reading a thousand times too small, which would pass with the next larger unit (ohm written into a column of
milliohm), is taken for a slip of the unit: it neither fails nor counts. One that is too large fails, whatever it is.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable, Mapping
from dataclasses import dataclass
from typing import Literal, NamedTuple

from harnessdrc.design.testing.continuity import ContinuityTest
from harnessdrc.design.testing.isolation import IsolationTest
from harnessdrc.design.testing.voltages import VoltageTest
from harnessdrc.harness.elements import Harness, Measurement
from harnessdrc.harness.names import fold, natural_key
from harnessdrc.places import Place

__all__ = [
    "Reading", "Unfit", "Verdict", "measured_ohms", "read_continuity", "read_isolation", "read_voltages", "reading_key",
]  # fmt: skip

Verdict = Literal["pass", "fail", "unit", "undecided"]
AnyTest = ContinuityTest | IsolationTest | VoltageTest

_COLUMN = {"continuity": "resistance_ohm", "isolation": "isolation_ohm", "voltage": "voltage_v"}
_STRAP = "strap "
_THOUSAND = 1000.0
_TELLING_V = 5e-3
"""An expected voltage below this tells nothing of a reading's unit."""


@dataclass(frozen=True, slots=True)
class Reading:
    """A reading with its test.

    Parameters
    ----------
    measurement : Measurement
        The row.
    kind : {"continuity", "isolation", "voltage"}
        What was measured.
    test : ContinuityTest, IsolationTest or VoltageTest
        What was to be measured.
    value : float
        In Ω or V; infinite where the meter showed an overload.
    verdict : {"pass", "fail", "unit", "undecided"}
        ``unit``: it is a thousand times too small, and would pass with the next larger unit.
    """

    measurement: Measurement
    kind: Literal["continuity", "isolation", "voltage"]
    test: AnyTest
    value: float
    verdict: Verdict

    @property
    def word(self) -> str:
        """Its verdict on paper: ``pass`` or ``fail``; empty while it cannot be told."""
        return self.verdict if self.verdict in ("pass", "fail") else ""

    @property
    def place(self) -> Place:
        """Cell of the reading."""
        return self.measurement.place.of(_COLUMN[self.kind], "test")


class Unfit(NamedTuple):
    """A filled-in row that belongs to no test, with the reason, the cell that shows it, and what it says."""

    measurement: Measurement
    why: Literal["wire", "ends", "places", "state", "twice"]
    place: Place
    said: str


def _same(one: Iterable[str], other: Iterable[str]) -> bool:
    return sorted(map(fold, one)) == sorted(map(fold, other))


def _in_order(harness: Harness) -> list[Measurement]:
    """Rows by the number of their test, whatever the order they stand in: of two for one wire the first counts."""

    def key(row: Measurement) -> tuple[object, ...]:
        return natural_key(row.test), row.resistance_ohm or 0.0, row.isolation_ohm or 0.0, row.voltage_v or 0.0

    return sorted(harness.measurements, key=key)


def _by_number(harness: Harness, measurement: Measurement) -> bool:
    """Whether the number of a row may be trusted: its sheet names this issue of the list."""
    for sheet in harness.measured_sheets:
        if (sheet.file, sheet.sheet) == (measurement.place.file, measurement.place.sheet):
            return sheet.issue_mark is not None and sheet.issue_mark == harness.issue_mark
    return False


def _tests_named(tests: Iterable[AnyTest]) -> dict[str, AnyTest]:
    return {fold(test.test): test for test in tests}


# ------------------------------------------------------------------ continuity
def read_continuity(
    harness: Harness, tests: Mapping[str, ContinuityTest]
) -> tuple[tuple[Reading, ...], tuple[Unfit, ...]]:
    """Readings of continuity, and the filled-in rows that fit no wire.

    Parameters
    ----------
    harness : Harness
        With its measurements.
    tests : mapping of str to ContinuityTest
        By the name of the wire or strap.
    """
    folded = {fold(name): test for name, test in tests.items()}
    numbered = _tests_named(tests.values())
    readings: dict[str, Reading] = {}
    unfit: list[Unfit] = []
    for row in _in_order(harness):
        value = row.resistance_ohm
        if value is None:
            continue
        place = row.place.of("resistance_ohm", "test")
        test: AnyTest | None
        if row.wire is not None:
            test = folded.get(fold(row.wire))
        else:
            test = numbered.get(fold(row.test)) if _by_number(harness, row) else None
        if not isinstance(test, ContinuityTest):
            unfit.append(Unfit(row, "wire", row.place.of("wire", "test"), row.wire or row.test))
        elif any(row.between) and not _same(filter(None, row.between), filter(None, (test.a, test.b))):
            unfit.append(Unfit(row, "ends", row.place.of("between_a", "wire"), " and ".join(filter(None, row.between))))
        elif test.name in readings:
            unfit.append(Unfit(row, "twice", place, test.name))
        else:
            readings[test.name] = Reading(row, "continuity", test, value, _resistance(test, value, row.above))
    return tuple(readings.values()), tuple(unfit)


def _resistance(test: ContinuityTest, value: float, above: bool) -> Verdict:
    low, high = test.low_ohm, test.high_ohm
    if math.isinf(value):
        return "fail"
    if low is None or high is None:
        return "undecided"
    if above:
        return "fail" if value >= high else "undecided"
    if low <= value <= high:
        return "pass"
    return "unit" if low <= value * _THOUSAND <= high else "fail"


def measured_ohms(readings: Iterable[Reading]) -> dict[tuple[str, str], float]:
    """Resistances that the circuit takes in place of its own, Ω, by ``("wire", name)`` or ``("strap", name)``.

    Bounds and slips of the unit are none.
    """
    found: dict[tuple[str, str], float] = {}
    for reading in readings:
        test = reading.test
        if isinstance(test, ContinuityTest) and reading.verdict != "unit" and not reading.measurement.above:
            found[reading_key(reading)] = reading.value
    return found


def reading_key(reading: Reading) -> tuple[str, str]:
    """``("wire", name)`` or ``("strap", name)`` of a reading of continuity."""
    test = reading.test
    if isinstance(test, ContinuityTest) and test.strap is not None:
        return "strap", test.strap.name
    return "wire", test.name if isinstance(test, ContinuityTest) else test.test


# ------------------------------------------------------------------ isolation
def read_isolation(
    harness: Harness, tests: Iterable[IsolationTest], net_at: Mapping[str, int]
) -> tuple[tuple[Reading, ...], tuple[Unfit, ...]]:
    """Readings of isolation, and the filled-in rows whose two places are no pair of the tests.

    Parameters
    ----------
    harness : Harness
        With its measurements.
    tests : iterable of IsolationTest
        The tests.
    net_at : mapping of str to int
        Net at every place, by its folded name: two nets are the same pair wherever the probes went.
    """
    tests = tuple(tests)
    pairs: dict[Hashable, AnyTest] = {test.nets: test for test in tests}

    def key(row: Measurement) -> Hashable:
        return frozenset(net_at.get(fold(place), place) for place in row.between)

    return _paired(harness, "isolation", pairs, _tests_named(tests), key)


def _isolated(test: AnyTest, value: float, above: bool) -> Verdict:
    least = test.least_ohm if isinstance(test, IsolationTest) else 0.0
    if value >= least:
        return "pass"
    return "undecided" if above else "fail"


# ------------------------------------------------------------------ voltages
def read_voltages(harness: Harness, tests: Iterable[VoltageTest]) -> tuple[tuple[Reading, ...], tuple[Unfit, ...]]:
    """Readings of voltages, and the filled-in rows whose leads or state are in no test."""
    tests = tuple(tests)
    pairs: dict[Hashable, AnyTest] = {(fold(t.red), fold(t.black), fold(t.state)): t for t in tests}

    def key(row: Measurement) -> Hashable:
        red, black = row.between
        return fold(red), fold(black), fold(row.state or "")

    return _paired(harness, "voltage", pairs, _tests_named(tests), key)


def _voltage(test: AnyTest, value: float) -> Verdict:
    assert isinstance(test, VoltageTest)
    expected = abs(test.expected_v)
    if expected >= _TELLING_V and 0.5 <= value * _THOUSAND / test.expected_v <= 2.0:
        return "unit"
    low, high = test.low_v, test.high_v
    passes = (low is None or value >= low) and (high is None or value <= high)
    return "pass" if passes else "fail"


# ------------------------------------------------------------------ both
def _paired(
    harness: Harness,
    kind: Literal["isolation", "voltage"],
    known: Mapping[Hashable, AnyTest],
    numbered: Mapping[str, AnyTest],
    key: Callable[[Measurement], Hashable],
) -> tuple[tuple[Reading, ...], tuple[Unfit, ...]]:
    readings: dict[str, Reading] = {}
    unfit: list[Unfit] = []
    leads = {frozenset((fold(t.red), fold(t.black))) for t in known.values() if isinstance(t, VoltageTest)}
    for row in _in_order(harness):
        value = row.isolation_ohm if kind == "isolation" else row.voltage_v
        if value is None:
            continue
        test: AnyTest | None
        if any(row.between):
            test = known.get(key(row))
        else:
            test = numbered.get(fold(row.test)) if _by_number(harness, row) else None
        if test is None:
            said = " and ".join(filter(None, row.between)) or row.test
            state = kind == "voltage" and frozenset(map(fold, row.between)) in leads
            place = row.place.of("state" if state else "between_a", "test")
            said = (row.state or "no state") if state else said
            unfit.append(Unfit(row, "state" if state else "places", place, said))
        elif test.test in readings:
            unfit.append(Unfit(row, "twice", row.place.of(_COLUMN[kind], "test"), said_of(test)))
        else:
            verdict = _isolated(test, value, row.above) if kind == "isolation" else _voltage(test, value)
            readings[test.test] = Reading(row, kind, test, value, verdict)
    return tuple(readings.values()), tuple(unfit)


def said_of(test: AnyTest) -> str:
    """A test as people call it: ``wire W12``, ``ECU-A 12 and STUD1``, ``ECU-A 12 against STUD1, cranking``."""
    if isinstance(test, ContinuityTest):
        return test.name if test.strap is not None else f"wire {test.name}"
    if isinstance(test, IsolationTest):
        return f"{test.a} and {test.b}"
    return f"{test.red} against {test.black}, {test.state}"
