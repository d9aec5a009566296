"""What meters show and people write, as readings; and what is none."""

from __future__ import annotations

import datetime
import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from text_lists import read_rows

from harnessdrc.harness.build import build_harness
from harnessdrc.intake.meter import Quantity, meter_unit, read_meter
from harnessdrc.units import NotUnderstoodError


@pytest.mark.parametrize(
    ("text", "unit", "ohm"),
    [
        ("12.5", "mΩ", 0.0125), ("12,5", "mΩ", 0.0125), ("0.4 Ω", "mΩ", 0.4), ("0.4 ohm", "mΩ", 0.4), ("400 mΩ", "Ω", 0.4),
        ("12.5m\u2126", "mΩ", 0.0125), ("850 µΩ", "mΩ", 0.00085), ("850 \u03bcΩ", "mΩ", 0.00085), ("0.4R", "mΩ", 0.4),
        ("500", "MΩ", 5e8), ("500 kΩ", "MΩ", 5e5), ("2 MΩ", "mΩ", 2e6), ("2 mΩ", "MΩ", 2e-3), ("1.2 GΩ", "MΩ", 1.2e9),
        ("2M", "MΩ", 2e6), ("1e3", "mΩ", 1.0), ("0", "mΩ", 0.0), (".5", "mΩ", 0.0005), ("+3", "mΩ", 0.003),
    ],
)  # fmt: skip
def test_resistances(text: str, unit: str, ohm: float) -> None:
    shown = read_meter(text, "resistance", unit)
    assert shown.value == pytest.approx(ohm, rel=1e-12)
    assert not shown.above


@pytest.mark.parametrize("text", ["OL", "ol", "O.L", "0L", "0.L", ".OL", "overload", "OVER", "∞", "open", "Over load"])
def test_an_overload_is_more_than_the_meter_shows(text: str) -> None:
    shown = read_meter(text, "resistance", "MΩ")
    assert math.isinf(shown.value)
    assert shown.above


@pytest.mark.parametrize(
    ("text", "ohm", "above"),
    [("> 500", 5e8, True), (">500", 5e8, True), ("≥ 500 MΩ", 5e8, True), ("over 200", 2e8, True), ("> 2 GΩ", 2e9, True),
     ("< 1", 1e6, False), ("below 0,1", 1e5, False)],
)  # fmt: skip
def test_bounds(text: str, ohm: float, above: bool) -> None:
    shown = read_meter(text, "resistance", "MΩ")
    assert shown.value == pytest.approx(ohm)
    assert shown.above is above


@pytest.mark.parametrize(
    ("text", "volts"), [("-12.5", -0.0125), ("\u22123", -0.003), ("1.2 V", 1.2), ("-0.35V", -0.35), ("900 µV", 9e-4), ("0", 0.0)]
)
def test_voltages(text: str, volts: float) -> None:
    assert read_meter(text, "voltage", "mV").value == pytest.approx(volts)


@pytest.mark.parametrize(
    ("text", "quantity", "unit", "words"),
    [
        ("12 mV", "resistance", "mΩ", "is a voltage and belongs in another column"),
        ("0.4 Ω", "voltage", "mV", "is a resistance and belongs in another column"),
        ("ok", "resistance", "mΩ", "a number such as 12.5"), ("✓", "resistance", "MΩ", "a number"),
        ("pass", "voltage", "mV", "a number"), ("-4", "resistance", "mΩ", "not negative"),
        ("OL", "voltage", "mV", "a number"), ("> 20", "voltage", "mV", "choose a larger range"),
        ("12 furlongs", "resistance", "mΩ", "the unit 'furlongs' is not known"), ("1.2.3", "resistance", "mΩ", "a"),
        ("12 A", "voltage", "mV", "the unit 'A' is not known"),
    ],
)  # fmt: skip
def test_what_is_no_reading_is_refused_and_told(text: str, quantity: Quantity, unit: str, words: str) -> None:
    with pytest.raises(NotUnderstoodError) as refused:
        read_meter(text, quantity, unit)
    assert words in refused.value.expected


def test_a_capital_makes_a_thousand_million() -> None:
    milli, mega = meter_unit("mΩ"), meter_unit("MΩ")
    assert milli is not None
    assert mega is not None
    assert mega[1] / milli[1] == pytest.approx(1e9)
    assert meter_unit("mohm") == milli
    assert meter_unit("Mohm") == mega
    assert meter_unit("parsec") is None


@given(st.floats(0, 1e6, allow_subnormal=False), st.sampled_from(["µΩ", "mΩ", "Ω", "kΩ", "MΩ"]))
def test_a_number_comes_back_with_its_unit(value: float, unit: str) -> None:
    named = meter_unit(unit)
    assert named is not None
    assert read_meter(f"{value:.6f}", "resistance", unit).value == pytest.approx(float(f"{value:.6f}") * named[1])


@given(st.text(max_size=12), st.sampled_from(["resistance", "voltage"]))
def test_no_text_makes_it_fall_over(text: str, quantity: Quantity) -> None:
    try:
        shown = read_meter(text, quantity, "mΩ" if quantity == "resistance" else "mV")
    except NotUnderstoodError as refused:
        assert refused.expected
    else:
        assert not math.isnan(shown.value)
        assert quantity == "voltage" or shown.value >= 0


# --- sheets -------------------------------------------------------------------------------------

PRINTED = [
    ["hill climb: continuity"],
    ["Issue of the list: 3f9a01bc22ee"],
    [],
    ["Test", "Wire", "Between", "And", "Size", "Length (mm)", "Leads", "Expected (mΩ)", "Passes to (mΩ)", "Measured (mΩ)", "Verdict", "Note"],
    ["C1", "W1", "ECU-A 1", "STUD1", "2.5 mm²", 850, "four", 8.4, 12, 8.5, None, None],
    ["C2", "W2", "ECU-A 2", "TPS 1", "0.5 mm²", 850, "two", 35.5, 60, None, None, "not reached"],
    ["Grounds of the engine"],
    ["C3", "W3", "ECU-A 3", "STUD1", "2.5 mm²", 850, "four", 8.4, 12, "OL", None, None],
]  # fmt: skip
WIRES = [["Wire", "From", "From cavity", "To", "To cavity", "Size (mm²)"], ["W1", "ECU-A", "1", "STUD1", "", 2.5]]


def harness_of(**sheets: list[list[Any]]) -> Any:
    """Harness of sheets."""
    return build_harness(read_rows(sheets))


def test_a_printed_sheet_is_no_wire_list() -> None:
    reading = read_rows({"Test continuity": PRINTED, "Wires": WIRES})
    assert [table.form for table in reading.tables] == ["measurements", "wires"]
    assert len(reading.of("wires")[0].frame) == 1
    assert reading.rows_seen == reading.rows_used + len(reading.set_aside) == 9
    aside = {row.row: row.reason for row in reading.set_aside if row.sheet == "Test continuity"}
    assert set(aside) == {1, 2, 4, 7}
    assert aside[4] == "headings of the measurements"
    assert aside[7] == "no test of its own"


def test_rows_of_a_printed_sheet() -> None:
    harness = harness_of(**{"Test continuity": PRINTED, "Wires": WIRES})
    first, second, third = harness.measurements
    assert (first.test, first.wire, first.between, first.resistance_ohm) == ("C1", "W1", ("ECU-A 1", "STUD1"), 0.0085)
    assert first.place.of("resistance_ohm").cell == "J5"
    assert (second.resistance_ohm, second.above) == (None, False)
    assert (third.resistance_ohm, third.above) == (math.inf, True)
    [sheet] = harness.measured_sheets
    assert (sheet.issue_mark, sheet.rows) == ("3f9a01bc22ee", 3)
    assert sheet.mark_place.cell == "A2"


def test_the_mark_may_stand_in_the_cell_beside_its_words() -> None:
    rows = [["Issue of the list", None, "3F9A01BC22EE"], ["Test", "Wire", "Measured (mΩ)"], ["C1", "W1", 5]]
    [sheet] = harness_of(Tests=rows, Wires=WIRES).measured_sheets
    assert sheet.issue_mark == "3f9a01bc22ee"
    assert sheet.mark_place.cell == "C1"


@pytest.mark.parametrize("heading", ["Measured (mΩ)", "measured [mOhm]", "Measured mΩ", "Measured in mΩ", "Reading (mΩ)"])
def test_ways_of_heading_a_column_of_readings(heading: str) -> None:
    rows = [["Test", "Wire", heading], ["C1", "W1", 5]]
    assert harness_of(Tests=rows, Wires=WIRES).measurements[0].resistance_ohm == pytest.approx(0.005)


def test_several_tables_on_one_sheet_each_with_its_own_unit() -> None:
    rows = [
        ["Test", "Wire", "Between", "And", "Measured (Ω)"], ["C1", "W1", "a", "b", 0.4],
        [],
        ["Test", "Between", "And", "Measured (MΩ)"], ["I1", "a", "b", "> 500"],
        ["Test", "State", "Red lead", "Black lead", "Measured (mV)"], ["V1", "cranking", "a", "b", -12],
    ]  # fmt: skip
    continuity, isolation, voltage = harness_of(Tests=rows, Wires=WIRES).measurements
    assert continuity.resistance_ohm == pytest.approx(0.4)
    assert (isolation.isolation_ohm, isolation.above, isolation.between) == (5e8, True, ("a", "b"))
    assert (voltage.voltage_v, voltage.state, voltage.between) == (-0.012, "cranking", ("a", "b"))


def test_cells_that_hold_no_reading_are_listed_with_their_place_and_count_as_not_measured() -> None:
    rows = [["Test", "Wire", "Measured (mΩ)"], ["C1", "W1", "12 mV"], ["C2", "W2", datetime.date(2024, 5, 1)], ["C3", "W3", "ok"]]
    harness = harness_of(Tests=rows, Wires=WIRES)
    [sheet] = harness.measured_sheets
    assert sorted(cell.place.cell for cell in sheet.refused) == ["C2", "C3", "C4"]
    assert all(row.resistance_ohm is None for row in harness.measurements)
    assert not harness.unreadable  # the check on test sheets tells of them, no other


def test_a_wire_list_with_columns_for_tests_stays_a_wire_list() -> None:
    rows = [["Wire", "From", "To", "Colour", "Test", "Measured"], ["W1", "ECU", "TPS", "RD", "ok", "5"]]
    reading = read_rows({"Wires": rows})
    assert [table.form for table in reading.tables] == ["wires"]
