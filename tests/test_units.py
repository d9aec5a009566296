"""Quantities as people write them."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdrc.units import (
    NotUnderstoodError,
    Size,
    UnitMissingError,
    is_placeholder,
    parse_bit_rate,
    parse_capacitance,
    parse_coordinate,
    parse_current,
    parse_length,
    parse_number,
    parse_pressure,
    parse_resistance,
    parse_size,
    parse_teeth,
    parse_temperature,
    parse_time,
    parse_voltage,
    size_sets,
)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("12", 12),
        ("0.75", 0.75),
        ("0,75", 0.75),
        ("1,2", 1.2),
        ("1,200", 1200),
        ("1.200,5", 1200.5),
        ("1,200.5", 1200.5),
        ("1.234.567", 1234567),
        ("1 200", 1200),
        ("-3", -3),
        ("−3", -3),
        (".5", 0.5),
        ("1e3", 1000),
        ("0,750", 0.75),
    ],
)
def test_numbers(text: str, value: float) -> None:
    assert parse_number(text) == pytest.approx(value)


def test_a_comma_that_is_not_grouping() -> None:
    assert parse_number("1,200", grouped=False) == 1.2


@pytest.mark.parametrize("text", ["", "abc", "1.2.3", "nan", "inf", "1e999", "--1", "12a"])
def test_no_numbers(text: str) -> None:
    with pytest.raises(NotUnderstoodError):
        parse_number(text)


@pytest.mark.parametrize(
    ("text", "csa"),
    [
        ("0.75 mm²", 0.75),
        ("0.75mm2", 0.75),
        ("0,75 mm^2", 0.75),
        ("1x0.75 mm²", 0.75),
        ("2.5 sqmm", 2.5),
        ("1.5 qmm", 1.5),
        ("10 mm²", 10),
        ("0.5mm", 0.5),
        ("1,5 mmq", 1.5),
        ("0.35 sq mm", 0.35),
    ],
)
def test_metric_sizes(text: str, csa: float) -> None:
    size = parse_size(text)
    assert (size.system, size.csa_mm2, size.awg, size.written) == ("mm2", csa, None, text)


@pytest.mark.parametrize(
    ("text", "awg", "shown"),
    [
        ("18 AWG", 18, "18 AWG"),
        ("18AWG", 18, "18 AWG"),
        ("AWG18", 18, "18 AWG"),
        ("AWG 18", 18, "18 AWG"),
        ("#18", 18, "18 AWG"),
        ("12 ga.", 12, "12 AWG"),
        ("12 gauge", 12, "12 AWG"),
        ("2/0 AWG", -1, "2/0 AWG"),
        ("4/0", -3, "4/0 AWG"),
        ("000", -2, "3/0 AWG"),
        ("1/0", 0, "1/0 AWG"),
        ("00 AWG", -1, "2/0 AWG"),
        ("6 ga", 6, "6 AWG"),
    ],
)
def test_gauges(text: str, awg: int, shown: str) -> None:
    size = parse_size(text)
    assert (size.system, size.awg, size.csa_mm2) == ("awg", awg, None)
    assert str(size) == shown


@pytest.mark.parametrize("text", ["18", "0.75", "1x0.5", "16"])
def test_a_plain_number_needs_a_system(text: str) -> None:
    with pytest.raises(UnitMissingError):
        parse_size(text)


@pytest.mark.parametrize("text", ["0", "-0.5 mm²", "0 mm²", "Size 16", "45 AWG", "5/0", "abc", "", "1/2", "0.5 V"])
def test_no_sizes(text: str) -> None:
    with pytest.raises(NotUnderstoodError):
        parse_size(text, "mm2" if text == "0" else None)


@pytest.mark.parametrize(
    ("text", "taken", "other"),
    [
        # ASTM B258: 16 AWG 1.309 mm², 18 AWG 0.823, 20 AWG 0.518, 12 AWG 3.309, 4 AWG 21.15.
        ("16 AWG (1.5 mm²)", "16 AWG", "1.5 mm²"), ("1.5 mm² / 16 AWG", "16 AWG", "1.5 mm²"),
        ("18AWG=1.0mm2", "18 AWG", "1 mm²"), ("20 AWG [0.5 mm²]", "0.5 mm²", "20 AWG"),
        ("12 AWG (3 mm²)", "3 mm²", "12 AWG"), ("4 AWG | 25 mm²", "4 AWG", "25 mm²"),
    ],
)  # fmt: skip
def test_of_two_labels_the_one_with_less_copper_is_taken_and_the_other_kept(text: str, taken: str, other: str) -> None:
    size = parse_size(text)
    assert (str(size), str(size.also)) == (taken, other)
    assert size.written == text
    assert size.also is not None
    assert size.also.also is None


@pytest.mark.parametrize(("text", "awg"), [("18 AWG (0.82 mm²)", 18), ("1.31 mm² / 16 AWG", 16), ("20 AWG (0.52 mm²)", 20)])
def test_a_gauge_with_its_own_area_is_one_label(text: str, awg: int) -> None:
    size = parse_size(text)
    assert (size.awg, size.csa_mm2, size.also, size.written) == (awg, None, None, text)


@pytest.mark.parametrize("text", ["Size 16", "size 20", "Contact 16", "Pin size 12", "SZ 22", "contact size #16"])
def test_the_size_of_a_contact_is_told_as_such(text: str) -> None:
    for system in ("mm2", "awg", None):
        with pytest.raises(NotUnderstoodError, match="not the size of the contact"):
            parse_size(text, system)


@pytest.mark.parametrize(("text", "system"), [("0", "mm2"), ("0 mm²", None), ("0.0", "awg"), ("0,00 mm2", "awg")])
def test_a_size_of_nothing_is_none(text: str, system: str | None) -> None:
    with pytest.raises(NotUnderstoodError):
        parse_size(text, system)


def test_a_fraction_is_no_gauge() -> None:
    with pytest.raises(NotUnderstoodError, match="whole AWG number"):
        parse_size("0.75", "awg")


@pytest.mark.parametrize(
    ("values", "system"),
    [
        ({0.35, 0.5, 0.75}, "mm2"),
        ({0.5, 1, 2.5, 6}, "mm2"),
        ({50, 70}, "mm2"),
        ({14, 16, 18, 20, 22}, "awg"),
        ({16, 18}, "awg"),
        ({1, 2, 4, 6, 10, 16}, None),
        ({16}, None),
        ({10}, None),
        ({0.5, 18}, None),
        (set(), None),
        ({1, 18}, None),
    ],
)
def test_what_a_set_of_numbers_says(values: set[float], system: str | None) -> None:
    assert size_sets(values)[0] == system


@pytest.mark.parametrize(
    ("text", "unit", "metres"),
    [
        ("850 mm", None, 0.85),
        ("850mm", None, 0.85),
        ("85 cm", None, 0.85),
        ("0.85 m", None, 0.85),
        ("1,2 m", None, 1.2),
        ("1,200 mm", None, 1.2),
        ("1.200 m", None, 1.2),
        ("18”", None, 0.4572),
        ('18"', None, 0.4572),
        ("18″", None, 0.4572),
        ("18 in", None, 0.4572),
        ("18 inches", None, 0.4572),
        ("6'", None, 1.8288),
        ("6 ft", None, 1.8288),
        ("6’", None, 1.8288),
        ("5'6\"", None, 1.6764),
        ("5' 6”", None, 1.6764),
        ("5 ft 6 in", None, 1.6764),
        ('1 1/2"', None, 0.0381),
        ("850", "mm", 0.85),
        ("1,2", "m", 1.2),
        ("1,200", "mm", 1.2),
        ("18", "in", 0.4572),
        ("2 m", "mm", 2.0),
    ],
)
def test_lengths(text: str, unit: str | None, metres: float) -> None:
    """The inch is 25.4 mm and the foot 304.8 mm exactly (international yard and pound agreement, 1959)."""
    assert parse_length(text, unit) == pytest.approx(metres, abs=1e-9)


@pytest.mark.parametrize("text", ["0 mm", "-5 mm", "long", "5 kg", "", "0'", "nan mm"])
def test_no_lengths(text: str) -> None:
    with pytest.raises(NotUnderstoodError):
        parse_length(text)


@pytest.mark.parametrize(
    ("parse", "text", "value"),
    [
        (parse_current, "5A", 5),
        (parse_current, "500 mA", 0.5),
        (parse_current, "2,5 A", 2.5),
        (parse_current, "10", 10),
        (parse_resistance, "0.6 ohm", 0.6),
        (parse_resistance, "5 mΩ", 0.005),
        (parse_resistance, "5 mohm", 0.005),
        (parse_resistance, "12 milliohm", 0.012),
        (parse_resistance, "2.2kΩ", 2200),
        (parse_resistance, "2.2 k", 2200),
        (parse_resistance, "14.5Ω", 14.5),
        (parse_capacitance, "2.2uF", 2.2e-6),
        (parse_capacitance, "0,47 µF", 0.47e-6),
        (parse_capacitance, "100 nF", 1e-7),
        (parse_voltage, "12 V", 12),
        (parse_voltage, "500mV", 0.5),
        (parse_temperature, "105 °C", 105),
        (parse_temperature, "221 F", 105),
        (parse_temperature, "378.15 K", 105),
    ],
)
def test_electrical_figures(parse: Callable[[str], float], text: str, value: float) -> None:
    assert parse(text) == pytest.approx(value)


@pytest.mark.parametrize(
    ("parse", "text"),
    [
        (parse_current, "5 V"),
        (parse_current, "lots"),
        (parse_resistance, "-1 ohm"),
        (parse_resistance, "1 F"),
        (parse_capacitance, "0"),
        (parse_capacitance, "5 A"),
        (parse_voltage, "x"),
        (parse_temperature, "warm"),
    ],
)
def test_no_figures(parse: Callable[[str], float], text: str) -> None:
    with pytest.raises(NotUnderstoodError) as caught:
        parse(text)
    assert caught.value.expected


def test_the_unit_of_the_heading_stands_in() -> None:
    assert parse_resistance("5", "mohm") == pytest.approx(0.005)
    assert parse_current("500", "mA") == 0.5
    assert parse_capacitance("2.2", "uF") == pytest.approx(2.2e-6)


@pytest.mark.parametrize("text", ["?", "???", "N/A", "tbd", "-", "TBC", "unknown"])
def test_placeholders(text: str) -> None:
    assert is_placeholder(text)


@pytest.mark.parametrize("text", ["", "0", "RD", "none given here", "N/C"])
def test_no_placeholders(text: str) -> None:
    assert not is_placeholder(text)


@given(st.floats(0.05, 500, allow_nan=False).map(lambda v: round(v, 2)))
def test_a_metric_label_reads_back(value: float) -> None:
    size = parse_size(str(Size("", "mm2", csa_mm2=value)))
    assert size.csa_mm2 is not None
    assert math.isclose(size.csa_mm2, float(f"{value:g}"))


@given(st.integers(-3, 40))
def test_a_gauge_label_reads_back(awg: int) -> None:
    assert parse_size(str(Size("", "awg", awg=awg))).awg == awg


@given(st.text(max_size=20), st.sampled_from([None, "mm2", "awg"]))
def test_any_text_is_read_or_refused(text: str, system: str | None) -> None:
    for parse in (lambda t: parse_size(t, system), parse_length, parse_current, parse_resistance, parse_capacitance):
        try:
            value = parse(text)
        except NotUnderstoodError:
            continue
        assert isinstance(value, Size) or math.isfinite(value)


def test_zero_is_a_length_only_where_it_may_be() -> None:
    assert parse_length("0", "mm", zero=True) == 0
    assert parse_length("0 mm", zero=True) == 0
    with pytest.raises(NotUnderstoodError, match="above zero"):
        parse_length("0", "mm")
    with pytest.raises(NotUnderstoodError, match="not negative"):
        parse_length("-1", "mm", zero=True)


# --- coordinates, pressures, times, teeth -----------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "unit", "metres"),
    [
        ("-120", "mm", -0.12), ("0", "mm", 0.0), ("+35,5", "mm", 0.0355), ("\u221240 mm", None, -0.04), ("– 4.5 cm", None, -0.045),
        ("-1.2 m", "mm", -1.2), ("1,200", "mm", 1.2), ("-0,35 m", None, -0.35), ('-4"', None, -0.1016), ("-1'6\"", None, -0.4572),
        ("-3/4 in", None, -0.01905), ("1e2", "mm", 0.1), ("0", None, 0.0), ("-0", None, 0.0),
    ],
)  # fmt: skip
def test_coordinates(text: str, unit: str | None, metres: float) -> None:
    value = parse_coordinate(text, unit)
    assert value == pytest.approx(metres)
    assert math.copysign(1, value) == (1 if metres >= 0 else -1)  # never minus zero


@pytest.mark.parametrize("text", ["", "-", "--5", "+-5", "5-", "left", "12 A", "1/0 in", "-nan", "inf", "12 mm2"])
def test_no_coordinates(text: str) -> None:
    with pytest.raises(NotUnderstoodError, match="coordinate"):
        parse_coordinate(text, "mm")


def test_a_coordinate_without_a_unit_keeps_its_sign_for_whoever_decides() -> None:
    with pytest.raises(UnitMissingError) as caught:
        parse_coordinate("-120")
    assert caught.value.value == -120


@given(st.floats(-50, 50, allow_nan=False), st.sampled_from(["mm", "cm", "m", "in", "ft"]))
def test_a_coordinate_written_with_its_unit_comes_back(metres: float, unit: str) -> None:
    scale = {"mm": 0.001, "cm": 0.01, "m": 1.0, "in": 0.0254, "ft": 0.3048}[unit]
    assert parse_coordinate(f"{metres / scale:.9f} {unit}") == pytest.approx(metres, abs=1e-8)


@pytest.mark.parametrize(
    ("text", "unit", "bar"),
    [("0.8 bar", None, 0.8), ("0,8", "bar", 0.8), ("80 kPa", None, 0.8), ("800 mbar", None, 0.8), ("800 hPa", None, 0.8),
     ("10 psi", None, 0.689475729), ("12", "psi", 0.827370875), ("0", None, 0.0), ("0.08 MPa", None, 0.8)],
)  # fmt: skip
def test_pressures(text: str, unit: str | None, bar: float) -> None:
    assert parse_pressure(text, unit) == pytest.approx(bar)


@pytest.mark.parametrize(
    ("text", "unit", "seconds"),
    [("20 µs", None, 20e-6), ("20 us", None, 20e-6), ("20 \u03bcs", None, 20e-6), ("0,1 ms", None, 1e-4), ("15", "us", 15e-6),
     ("0.02", "ms", 20e-6), ("0", None, 0.0), ("500 ns", None, 5e-7), ("1 s", "us", 1.0)],
)  # fmt: skip
def test_times(text: str, unit: str | None, seconds: float) -> None:
    assert parse_time(text, unit) == pytest.approx(seconds)


@pytest.mark.parametrize("parse", [parse_pressure, parse_time])
@pytest.mark.parametrize("text", ["-1 bar", "-20 us", "some", "5 V", ""])
def test_no_pressures_and_times(parse: Callable[[str], float], text: str) -> None:
    with pytest.raises(NotUnderstoodError):
        parse(text)


@pytest.mark.parametrize(("parse", "word"), [(parse_pressure, "bar"), (parse_time, "ms")])
def test_a_plain_number_is_no_pressure_and_no_time(parse: Callable[[str], float], word: str) -> None:
    with pytest.raises(UnitMissingError, match=f"{word}.*unit in the heading or the cell"):
        parse("12")


@pytest.mark.parametrize(
    ("text", "count"),
    [("36-1", 36), ("60-2", 60), ("12", 12), ("36 - 1", 36), ("60\u22122", 60), ("36-2-2-2", 36), ("24 teeth", 24), ("4T", 4), ("1", 1)],
)  # fmt: skip
def test_teeth(text: str, count: float) -> None:
    assert parse_teeth(text) == count


@pytest.mark.parametrize("text", ["", "0", "1-1", "36-40", "24+1", "12.5", "many", "-36", "36-", "2026-01-12", "1e3"])
def test_no_teeth(text: str) -> None:
    with pytest.raises(NotUnderstoodError, match="teeth"):
        parse_teeth(text)


@pytest.mark.parametrize(
    ("text", "kbit_s"),
    [
        ("250", 250), ("500k", 500), ("500 kbit/s", 500), ("1 Mbit/s", 1000), ("1M", 1000), ("0,5 Mbps", 500),
        ("250000", 250), ("500000 bit/s", 500), ("1000000 baud", 1000), ("33.3", 33.3), ("5 Mbit/s", 5000),
    ],
)  # fmt: skip
def test_bit_rates(text: str, kbit_s: float) -> None:
    assert parse_bit_rate(text) == pytest.approx(kbit_s)


@pytest.mark.parametrize("text", ["", "fast", "1", "0", "-250", "250 V", "3 bit/s", "90 Mbit/s", "250/500"])
def test_no_bit_rates(text: str) -> None:
    with pytest.raises(NotUnderstoodError, match="bit rate"):
        parse_bit_rate(text)
