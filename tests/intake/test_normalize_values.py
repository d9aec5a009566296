"""Units, placeholders, dates, colours and conductors in the cells of a table."""

from __future__ import annotations

import datetime
import math
from typing import Any

import pytest
from make_grids import grid, only, read


def _column(heading: str, values: list[Any], role: str) -> tuple[list[Any], Any]:
    rows = [["Wire", "From", "To", heading]] + [[f"W{i}", "ECU", f"D{i}", v] for i, v in enumerate(values)]
    reading = read(grid(rows))
    return list(only(reading, "wires").frame[role]), reading


@pytest.mark.parametrize(
    ("heading", "values", "expected"),
    [
        ("Size (mm²)", [0.5, "0,75", "1x1.5"], ["0.5 mm²", "0.75 mm²", "1.5 mm²"]),
        ("Qmm", [1, 4, 6], ["1 mm²", "4 mm²", "6 mm²"]),
        ("CSA", [1, 4, 16], ["1 mm²", "4 mm²", "16 mm²"]),
        ("AWG", [18, "20", "2/0"], ["18 AWG", "20 AWG", "2/0 AWG"]),
        ("Gauge", [16, 4, 10], ["16 AWG", "4 AWG", "10 AWG"]),
        ("Gauge", [0.5, 0.75, 2.5], ["0.5 mm²", "0.75 mm²", "2.5 mm²"]),
        ("Size", [18, 20, 16], ["18 AWG", "20 AWG", "16 AWG"]),
        ("Size", [0.35, 0.5, 6], ["0.35 mm²", "0.5 mm²", "6 mm²"]),
        ("Size", ["0.75 mm²", 1], ["0.75 mm²", "1 mm²"]),
        ("Wire size", ["12 ga.", "#18", "AWG22"], ["12 AWG", "18 AWG", "22 AWG"]),
        ("Size (mm²)", [0.5, "18 AWG"], ["0.5 mm²", "18 AWG"]),
    ],
)
def test_sizes(heading: str, values: list[Any], expected: list[str]) -> None:
    sizes, reading = _column(heading, values, "size")
    assert [str(s) for s in sizes] == expected
    assert not reading.unreadable


@pytest.mark.parametrize("values", [[1, 4, 10], [16], [2, 6, 16], [0.5, 18, 20]])
def test_sizes_that_fit_both_systems_are_refused(values: list[Any]) -> None:
    sizes, reading = _column("Size", values, "size")
    assert sizes == [None] * len(values)
    assert [u.expected for u in reading.unreadable] == ["mm² or AWG in the heading or the cell"] * len(values)
    assert str(reading.unreadable[0].place) == "loom.xlsx Sheet1 D2"


def test_two_labels_are_not_converted() -> None:
    sizes, reading = _column("Size", ["16 AWG (1.5 mm²)", "0.5 mm²"], "size")
    assert (sizes[0].awg, sizes[0].csa_mm2, str(sizes[0].also)) == (16, None, "1.5 mm²")
    assert sizes[0].written == "16 AWG (1.5 mm²)"
    assert not reading.unreadable


def test_inferred_units_are_listed_once_with_their_count() -> None:
    _, reading = _column("Size", [0.5, 0.75, "1.5 mm²", 2.5], "size")
    units = [a for a in reading.assumptions if a.what == "unit"]
    assert [(a.subject, a.value, a.count) for a in units] == [("Size", "mm²", 3)]
    assert "0.5" in units[0].because


@pytest.mark.parametrize(
    ("heading", "values", "expected"),
    [
        ("Length (mm)", [850, "1,200", "1.5 m"], [0.85, 1.2, 1.5]),
        ("Length [m]", ["1,2", 0.85], [1.2, 0.85]),
        ("Length (in)", [18, 24], [0.4572, 0.6096]),
        ("Length", ["18”", "6'", "5'6\"", "2 ft"], [0.4572, 1.8288, 1.6764, 0.6096]),
        ("Length", [850, 1200, 300], [0.85, 1.2, 0.3]),
        ("Length", [0.85, 1.2, 3], [0.85, 1.2, 3.0]),
        ("Länge (cm)", [85, 120], [0.85, 1.2]),
        ("Length", ["18 in", 24], [0.4572, 0.6096]),
        ("Length", ["4 m", 600, 850], [4.0, 0.6, 0.85]),
        ("Length", ["4 m", 2, 3.5], [4.0, 2.0, 3.5]),
        ("Length", ["4 m", 60], [4.0, 60.0]),
        ("Length", ["600 mm", 1.2, 0.8], [0.6, 1.2, 0.8]),
        ("Length", ["600 mm", 12, 8], [0.6, 0.012, 0.008]),
    ],
)
def test_lengths(heading: str, values: list[Any], expected: list[float]) -> None:
    lengths, reading = _column(heading, values, "length_m")
    assert lengths == pytest.approx(expected)
    assert not reading.unreadable


@pytest.mark.parametrize(
    ("heading", "value", "role"),
    [
        ("Length (mm)", 0, "length_m"),
        ("Length (mm)", -5, "length_m"),
        ("Length (mm)", "long", "length_m"),
        ("Size (mm²)", 0, "size"),
        ("Size (mm²)", "-1", "size"),
        ("Size (mm²)", datetime.datetime(2026, 2, 1), "size"),
        ("Length (mm)", datetime.date(2026, 2, 1), "length_m"),
        ("Size (mm²)", math.nan, "size"),
        ("Length (mm)", math.inf, "length_m"),
        ("Current (A)", "lots", "current_a"),
        ("Colour", "see note 3", "colour"),
    ],
)
def test_values_that_cannot_be_understood(heading: str, value: Any, role: str) -> None:
    values, reading = _column(heading, [value], role)
    assert values == [None]
    (fault,) = reading.unreadable
    assert (fault.column, str(fault.place)) == (role, "loom.xlsx Sheet1 D2")
    assert fault.expected


def test_dates_in_a_pin_column() -> None:
    rows = [["Connector", "Pin", "Signal"], ["X1", datetime.datetime(2026, 2, 1), "A"], ["X1", 2, "B"]]
    reading = read(grid(rows))
    assert list(only(reading, "pins").frame["cavity"]) == ["2"]
    assert "a date" in reading.unreadable[0].expected


@pytest.mark.parametrize("text", ["?", "???", "tbd", "N/A", "TBC"])
def test_placeholders_are_not_given(text: str) -> None:
    for heading, role in (("Colour", "colour"), ("Size (mm²)", "size"), ("Length (mm)", "length_m")):
        values, reading = _column(heading, [text, None], role)
        assert values == [None, None]
        assert not reading.unreadable
        assert [(a.subject, a.count) for a in reading.assumptions if a.what == "placeholder"] == [(text, 1)]


def test_currents() -> None:
    values, _ = _column("Current", ["5A", "500 mA", "2,5 A", 3], "current_a")
    assert values == pytest.approx([5, 0.5, 2.5, 3])


def test_cores_joined_by_plus() -> None:
    rows = [
        ["Wire", "From", "To", "Colour"],
        ["W1", "ECU", "Lambda", "BK+BK+BN+BU+GNYE"],
        ["W2", "ECU", "Coil", "RDBU"],
    ]
    frame = only(read(grid(rows)), "wires").frame
    assert list(frame["colour"]) == ["BK", "BK", "BN", "BU", "GNYE", "RDBU"]
    assert list(frame["core"]) == ["BK", "BK", "BN", "BU", "GNYE", None]
    assert list(frame["wire"]) == ["W1"] * 5 + ["W2"]
    assert list(frame["row"]) == [2] * 5 + [3]
    assert list(frame["cores"]) == [1] * 6


def test_base_and_tracer_in_two_columns() -> None:
    frame = only(read("From|To|Colour|Tracer\nECU|Coil|white|green\nECU|Pump|RD|"), "wires").frame
    assert list(frame["colour"]) == ["WHGN", "RD"]


def test_single_letters_are_decided_by_the_column() -> None:
    british, reading = _column("Colour", ["U", "N", "B", "GW"], "colour")
    assert british == ["BU", "BN", "BK", "GNWH"]
    assert any(a.what == "colour" and "U blue" in a.because for a in reading.assumptions)
    assert _column("Colour", ["L", "Br", "B", "GW"], "colour")[0] == ["BU", "BN", "BK", "GNWH"]
    assert _column("Colour", ["sw", "br", "rt", "gr"], "colour")[0] == ["BK", "BN", "RD", "GY"]


def test_none_is_the_only_missing_value_and_dtype_is_object() -> None:
    reading = read("Wire|From|To|Colour|Size|Length\n1|ECU|Coil||0.5|\n2|ECU|Pump|RD||1.2 m")
    for table in reading.tables:
        assert set(map(str, table.frame.dtypes)) == {"object"}
        for column in table.frame:
            for value in table.frame[column]:
                assert value is None or value == value
    assert list(only(reading, "wires").frame["colour"]) == [None, "RD"]


def test_numbers_lose_their_decimal_point_and_names_their_double_blanks() -> None:
    rows = [["Wire", "From", "From pin", "To", "To pin"], [12.0, " Coil  1 ", 3.0, "ECU\n A", "4.0"]]
    record = next(only(read(grid(rows)), "wires").frame.itertuples())
    assert (record.wire, record.from_item, record.from_cavity, record.to_item, record.to_cavity) == (
        "12", "Coil 1", "3", "ECU A", "4",
    )  # fmt: skip


def test_component_figures() -> None:
    reading = read(
        "Component|Kind|Place|Current|Resistance|Capacitance|Earthed by its case\n"
        "Coil 1|coil|Head|7.5 A|0.6 ohm||no\nCap 1|capacitor|head||5 mΩ|2.2uF|yes\nPump|pump|Chassis|500 mA|||perhaps"
    )
    frame = only(reading, "components").frame
    assert list(frame["current_a"]) == [7.5, None, 0.5]
    assert list(frame["resistance_ohm"]) == [0.6, 0.005, None]
    assert frame["capacitance_f"][1] == pytest.approx(2.2e-6)
    assert list(frame["case_earthed"]) == [False, True, None]
    assert list(frame["place"]) == ["head", "head", "chassis"]
    assert [u.expected for u in reading.unreadable] == ["yes or no"]


def test_contact_size_is_no_wire_size() -> None:
    frame = only(read("Connector|Pin|Signal|Terminal\nX1|1|A|Size 16\nX1|2|B|Size 20"), "pins").frame
    assert list(frame["terminal"]) == ["Size 16", "Size 20"]


def test_formula_without_a_result_is_reported() -> None:
    rows = [["From", "To", "Length (mm)"], ["ECU", "Coil", None], ["ECU", "Pump", 500]]
    reading = read(grid(rows, formulas_without_value=("C2",)))
    assert [(str(u.place), u.column) for u in reading.unreadable] == [("loom.xlsx Sheet1 C2", "length_m")]


def test_ends_with_pins_in_one_cell() -> None:
    frame = only(read("From|To|Colour\nX1-01|INJ-1|RD\nX1-02|INJ-2|RD\nECU:12|Coil 1:A|BK"), "wires").frame
    assert list(frame["from_item"]) == ["X1", "X1", "ECU"]
    assert list(frame["from_cavity"]) == ["01", "02", "12"]
    assert list(frame["to_item"]) == ["INJ-1", "INJ-2", "Coil 1"]


def test_twist_groups_by_name_stay() -> None:
    frame = only(read("Wire|From|To|Twist\n1|A|B|T1\n2|A|C|T1\n3|A|D|"), "wires").frame
    assert list(frame["twist"]) == ["T1", "T1", None]


def test_twist_ticked_off_pairs_neighbours() -> None:
    reading = read("Wire|From|To|Twisted|Shielded\n1|A|B|yes|x\n2|A|C|yes|x\n3|A|D|no|\n4|A|E|yes|x\n5|A|F|yes|x")
    frame = only(reading, "wires").frame
    assert list(frame["twist"]) == ["Twisted 1", "Twisted 1", None, "Twisted 2", "Twisted 2"]
    assert list(frame["shield"]) == ["Shielded 1", "Shielded 1", None, "Shielded 2", "Shielded 2"]
    assert {a.what for a in reading.assumptions} >= {"twist", "shield"}


def test_twisted_with_another_wire() -> None:
    frame = only(read("Wire|From|To|Twisted with\nW1|A|B|W2\nW2|A|C|W1\nW3|A|D|\nW4|A|E|W5\nW5|A|F|"), "wires").frame
    assert list(frame["twist"]) == ["W1+W2", "W1+W2", None, "W4+W5", "W4+W5"]
