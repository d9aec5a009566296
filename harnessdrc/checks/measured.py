"""Checks on what was measured: filled-in test sheets against what the list lets expect."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from harnessdrc.checks.offsets import lacking_words
from harnessdrc.checks.registry import Outcome, check
from harnessdrc.design import Design
from harnessdrc.findings import Finding, Mark, Subject, Undecided, figures
from harnessdrc.harness.elements import MeasuredSheet, Measurement

if TYPE_CHECKING:
    from harnessdrc.design.testing.readings import Reading

__all__ = ["isolation", "resistance", "sheet", "voltage"]


def _three(value: float) -> str:
    """A number to three figures, plainly."""
    return figures(value)


def _ohms(value: float) -> str:
    """A resistance with the unit it is read by: ``1.2 kΩ``, ``4.7 Ω``, ``300 mΩ``."""
    for unit, scale in (("MΩ", 1e6), ("kΩ", 1e3), ("Ω", 1.0)):
        if value >= scale:
            return f"{_three(value / scale)} {unit}"
    return f"{_three(value * 1000)} mΩ"


def _mark(reading: Reading) -> Mark:
    return Mark(reading.place, f"test {reading.measurement.test}")


# ---------------------------------------------------------------------- resistance
def _resistances(design: Design) -> tuple[Reading, ...]:
    return design.testing.resistances if design.harness.measurements else ()


def _wire_subject(reading: Reading) -> Subject:
    test: Any = reading.test
    return ("strap", test.strap.name) if test.strap is not None else ("wire", test.name)


@check(
    "measured.resistance",
    counts="wires and straps measured from end to end",
    subjects=lambda design, limits: [_wire_subject(r) for r in _resistances(design) if r.verdict != "unit"],
    reads=("test", "wire", "resistance_ohm"),
    says={
        "": "{subject} measures {measured} where {expected} mΩ is expected (limit {limit}).",
        "low": "{subject} measures {measured} where {expected} mΩ is expected (lower limit {limit}).",
        "open": "{subject} is open: the meter shows an overload where {expected} is expected.",
        "break": "{subject} measures {measured} ({shown}) where {expected} mΩ is expected (limit {limit}): "
        "with its {amps} A in it nothing "
        "would be left of the battery's {supply} V, so it counts as open.",
    },
    remedy={
        "": "Wiggle both ends while measuring, look at the crimps, and make the bad one again; else check size and "
        "length against the list.",
        "low": "Check that nothing else joins the two ends, and size and length against the list; a shorter or thicker "
        "wire is a change of the list.",
        "open": "Find the break: the crimps first, then the cavities at both ends; it may stand in another one.",
        "break": "Find the break: the crimps first, then the cavities at both ends; it may stand in another one.",
    },
)
def resistance(design: Design, limits: None) -> Iterator[Outcome]:
    """A wire measures more or less than its copper and new joints can have.

    Why it matters: A crimp that is bad when new gets worse; a wire that measures less is not the one in the list.
    Reads: Test, Wire, Between, And, Measured (mΩ) of the test sheets; size and length of the wire list.
    Decides: The reading against 1.7241e-8 ohm m x length / nominal area as the least, and against the table's maximum
    (ISO 6722; ASTM B258 for gauges) with new joints as the most, both widened by cut length, temperature of the bench
    and the meter's error (given values test_* and meter_*). An overload is a break, and so is a reading across which
    the current of all loads would drop all of the battery's voltage; what is broken is no part of the network.
    Stays silent when: nothing was measured; the reading is a thousand times too small, which is a slip of the unit.
    Source: ISO 6722 and ASTM B258 for the copper, from memory; tolerances common practice, no source.
    """
    from harnessdrc.design.testing.readings import reading_key

    for reading in _resistances(design):
        test: Any = reading.test
        if reading.verdict in ("pass", "unit"):
            continue
        subject, mark = _wire_subject(reading), _mark(reading)
        if reading.verdict == "undecided":
            missing = test.lacking or ("a reading in place of a bound",)
            yield Undecided(subject, missing, (mark, *((test.mark,) if test.mark else ())))
            continue
        marks = (mark, *((test.mark,) if test.mark else ()))
        expected = "a closed way" if test.expected_ohm is None else f"{_three(test.expected_ohm * 1000)} mΩ"
        evidence = {"test": reading.measurement.test, "expected": expected.removesuffix(" mΩ")}
        if math.isinf(reading.value):
            yield Finding(subject, marks, {**evidence, "expected": expected}, variant="open")
            continue
        low, broken = reading.value < test.low_ohm, design.testing.broken.get(reading_key(reading))
        if broken is not None and broken.amps is not None and broken.supply_v is not None:
            evidence |= {"shown": _ohms(reading.value), "amps": _three(broken.amps), "supply": _three(broken.supply_v)}
            measured, limit = (round(ohm * 1000, 6) for ohm in (reading.value, test.high_ohm))
            yield Finding(subject, marks, evidence, measured, limit, "mohm", "break")
            continue
        yield Finding(
            subject, marks, evidence, measured=round(reading.value * 1000, 6),
            limit=round((test.low_ohm if low else test.high_ohm) * 1000, 6), unit="mohm", variant="low" if low else "",
        )  # fmt: skip


# ---------------------------------------------------------------------- isolation
def _isolations(design: Design) -> tuple[Reading, ...]:
    return design.testing.isolations if design.harness.measurements else ()


def _pair_subject(reading: Reading) -> Subject:
    test: Any = reading.test
    return ("pair", f"{test.a} and {test.b}")


@check(
    "measured.isolation",
    counts="pairs of nets measured for isolation",
    subjects=lambda design, limits: [_pair_subject(r) for r in _isolations(design)],
    reads=("test", "isolation_ohm"),
    says={
        "": "{subject} ({nets}) shows {measured} with everything unplugged (lower limit {limit}).",
    },
    remedy={
        "": "Make sure that every device is unplugged and every fuse out; then part the loom at its connectors to find "
        "where the two touch, and look for a nick, a whisker of strand, or damp.",
    },
)
def isolation(design: Design, limits: None) -> Iterator[Outcome]:
    """Two nets that must not touch are not isolated from each other.

    Why it matters: A whisker or a nicked insulation is a short circuit that waits for the engine to shake.
    Reads: Test, Between, And, Measured (MΩ) of the test sheets.
    Decides: The reading is less than the given value isolation_least_ohm, 10 MΩ as shipped.
    Stays silent when: the meter shows more, also as a bound above it, or an overload.
    Source: common practice, no source.
    """
    for reading in _isolations(design):
        test: Any = reading.test
        if reading.verdict == "pass":
            continue
        marks = (_mark(reading), *((test.mark,) if test.mark else ()))
        least = test.least_ohm / 1e6
        if reading.verdict == "undecided":
            missing = (f"a reading with a range of {least:g} MΩ or more",)
            yield Undecided(_pair_subject(reading), missing, marks)
            continue
        yield Finding(
            _pair_subject(reading), marks, {"nets": f"{test.a_net}, {test.b_net}", "why": test.why},
            measured=round(reading.value / 1e6, 9), limit=least, unit="MΩ",
        )  # fmt: skip


# ---------------------------------------------------------------------- voltage
def _voltages(design: Design) -> tuple[Reading, ...]:
    return design.testing.read_voltages if design.harness.measurements else ()


def _voltage_subject(reading: Reading) -> Subject:
    test: Any = reading.test
    return ("voltage", f"{test.red} against {test.black}, {test.state}")


def _unsolved(design: Design) -> list[Measurement]:
    """Filled-in rows with a voltage while nothing can be solved that they could be held against."""
    rows = [row for row in design.harness.measurements if row.voltage_v is not None]
    return rows if rows and not design.analysis.solved else []


def _row_subject(row: Measurement) -> Subject:
    places = " against ".join(filter(None, row.between)) or row.test
    return ("voltage", f"{places}, {row.state}" if row.state else places)


def _voltage_subjects(design: Design) -> list[Subject]:
    unsolved = [_row_subject(row) for row in _unsolved(design)]
    return unsolved or [_voltage_subject(r) for r in _voltages(design) if r.verdict != "unit"]


@check(
    "measured.voltage",
    counts="ground offsets and drops measured",
    subjects=lambda design, limits: _voltage_subjects(design),
    reads=("test", "state", "voltage_v"),
    says={
        "": "{subject}: the {what} of {device} measures {measured} where {expected} mV is expected (limit {limit}, "
        "{from}).",
        "low": "{subject}: the {what} of {device} measures {measured} where {expected} mV is expected (lower limit "
        "{limit}, {from}).",
    },
    remedy={
        "": "Measure along the way from lead to lead while the state lasts: the joint that the most falls across is "
        "the one to make again.",
        "low": "Measure along the way from lead to lead while the state lasts: the joint that the most falls across is "
        "the one to make again.",
    },
)
def voltage(design: Design, limits: None) -> Iterator[Outcome]:
    """A ground offset or a drop measures more than the rules allow.

    Why it matters: What the network predicts for new joints is not what stands in the car.
    Reads: Test, Between, And, State, Measured (mV) of the test sheets; all lists that the network is solved from.
    Decides: The reading against the harmless range of the input or reading concerned, and against what the rules on
    voltage drop allow in a feed, in a return, and to the starter.
    Stays silent when: the reading lies within; it is a thousand times too small, which is a slip of the unit.
    Source: those of the rules it takes its range from; a meter shows the average, not the worst instant.
    """
    for row in _unsolved(design):
        mark = Mark(row.place.of("voltage_v", "test"), f"test {row.test}")
        yield Undecided(_row_subject(row), lacking_words(design), (mark,))
    for reading in _voltages(design):
        test: Any = reading.test
        if reading.verdict != "fail":
            continue
        low = test.low_v is not None and reading.value < test.low_v
        marks = (_mark(reading), *((test.mark,) if test.mark else ()))
        yield Finding(
            _voltage_subject(reading), marks,
            {
                "what": test.what, "device": test.subject, "state": test.state, "from": test.limit_from,
                "expected": _three(test.expected_v * 1000),
            },
            measured=round(reading.value * 1000, 6), limit=round((test.low_v if low else test.high_v) * 1000, 6),
            unit="mV", variant="low" if low else "",
        )  # fmt: skip


# ---------------------------------------------------------------------- the sheets
def _sheet_subject(one: MeasuredSheet) -> Subject:
    return ("test sheet", one.sheet)


def _test_subject(row: Measurement) -> Subject:
    return ("test", row.test)


def _slips(design: Design) -> list[Reading]:
    return [r for r in design.testing.readings if r.verdict == "unit"] if design.harness.measurements else []


def _sheet_subjects(design: Design, limits: None) -> list[Subject]:
    sheets = design.harness.measured_sheets
    found = [_sheet_subject(one) for one in sheets]
    found += [_test_subject(row) for row in design.harness.measurements]
    return found + [("cell", f"{cell.place.sheet} {cell.place.cell}") for one in sheets for cell in one.refused]


@check(
    "measured.sheet",
    counts="test sheets, their rows, and cells that hold no reading",
    subjects=_sheet_subjects,
    reads=("test", "issue_mark"),
    says={
        "issue": "{subject} was printed for issue {mark} of the list; this one is {own}.",
        "wire": "{subject} is of {said}, which is no wire of this list.",
        "ends": "{subject} measures wire {wire} between {said}; in this list it runs from {a} to {b}.",
        "places": "{subject} is between {said}, where this list has nothing to measure.",
        "state": "{subject} says {said} for its state, and this list has nothing to measure there in that state.",
        "twice": "{subject} measures {said} once more; the reading of the lower number counts.",
        "unit": "{subject} shows {shown} for {said} where {expected} is expected: it looks like a slip of the unit.",
        "refused": "{subject} holds '{text}', which is no reading: expected {expected}.",
    },
    remedy={
        "issue": "Print the test sheets of this issue and carry over what still holds; rows that fit are used so far.",
        "wire": "Measure again by the test sheets of this issue, or correct the wire's name; the reading is not used.",
        "ends": "Measure again between the ends of this list; the reading is not used.",
        "places": "Measure again by the test sheets of this issue; the reading is not used.",
        "state": "Write the state as it is printed on the test sheet; the reading is not used.",
        "twice": "Leave one reading, or give the second a sheet of its own.",
        "unit": "Write the unit into the cell, as in 0.4 Ω or 0.3 V; the reading is not used.",
        "refused": "Correct the cell; it counts as not measured.",
    },
)
def sheet(design: Design, limits: None) -> Iterator[Outcome]:
    """A test sheet, or a row of it, does not belong to this list, or its reading cannot be one.

    Why it matters: Readings of another issue prove nothing of this one; a slip of the unit hides a bad joint.
    Reads: Issue of the list, Test, Wire, Between, And, State and the readings of the test sheets.
    Decides: The mark on the sheet is that of this list; every filled-in row names a wire with its ends, a pair of
    places or a voltage with its state that this list has, once; every reading is of the quantity of its column and not
    a thousand times too small.
    Stays silent when: a sheet names no issue and all its rows fit; a row is not filled in.
    Source: common practice, no source.
    """
    harness = design.harness
    for one in harness.measured_sheets:
        if one.issue_mark is not None and one.mark_place is not None and one.issue_mark != harness.issue_mark:
            yield Finding(
                _sheet_subject(one), (Mark(one.mark_place, "issue of the list"),),
                {"mark": one.issue_mark, "own": harness.issue_mark or "not known"}, variant="issue",
            )  # fmt: skip
        for cell in one.refused:
            yield Finding(
                ("cell", f"{cell.place.sheet} {cell.place.cell}"), (Mark(cell.place, "no reading"),),
                {"text": cell.text, "expected": cell.expected}, variant="refused",
            )  # fmt: skip
    if harness.measurements:
        yield from _rows(design)


def _rows(design: Design) -> Iterator[Finding]:
    ends = {test.name: (test.a, test.b) for test in design.testing.continuity} if design.testing.unfit else {}
    folded = {name.casefold(): name for name in ends}
    own = design.harness.issue_mark
    others = {
        (one.file, one.sheet): ("measured.sheet", _sheet_subject(one))
        for one in design.harness.measured_sheets
        if one.issue_mark is not None and one.mark_place is not None and one.issue_mark != own
    }
    for row, why, place, said in design.testing.unfit:
        evidence: dict[str, Any] = {"said": said}
        if why == "ends":
            name = folded.get((row.wire or "").casefold(), row.wire or row.test)
            a, b = ends.get(name, ("", ""))
            evidence |= {"wire": name, "a": a or "an open end", "b": b or "an open end"}
        yield Finding(
            _test_subject(row), (Mark(place, f"test {row.test}"),), evidence, variant=why,
            follows_from=others.get((row.place.file, row.place.sheet)),
        )  # fmt: skip
    for reading in _slips(design):
        yield _slip(reading)


def _slip(reading: Reading) -> Finding:
    from harnessdrc.design.testing.readings import said_of

    test: Any = reading.test
    if reading.kind == "voltage":
        shown, expected = f"{_three(reading.value * 1000)} mV", f"{_three(test.expected_v * 1000)} mV"
    else:
        shown, expected = f"{_three(reading.value * 1000)} mΩ", f"{_three(test.expected_ohm * 1000)} mΩ"
    return Finding(
        _test_subject(reading.measurement), (_mark(reading),),
        {"shown": shown, "said": said_of(test), "expected": expected}, variant="unit",
    )  # fmt: skip
