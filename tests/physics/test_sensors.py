"""What a ground offset makes of temperature and ratiometric readings."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdrc.physics.sensors import (
    NTC_TABLES,
    NtcBeta,
    NtcCurve,
    NtcTable,
    ntc_error_k,
    ntc_inferred_ohm,
    ntc_input_v,
    ntc_limits_v,
    ntc_table,
    ratiometric_error_percent,
    ratiometric_limit_v,
)

TABLES = Path(__file__).parents[2] / "rulesets" / "tables"
REFERENCE = Path(__file__).parents[2].parent / "shared" / "reference"
CURVES: dict[str, NtcCurve] = {"beta": NtcBeta(), **{name: ntc_table(name) for name in NTC_TABLES}}

curves = st.sampled_from(sorted(CURVES)).map(CURVES.__getitem__)
pullups = st.floats(300.0, 5000.0)


def test_ntc_worked_by_hand() -> None:
    """T2: 250 Ω behind 1 kΩ, offset 0.1 V; B = 3531 K, 2500 Ω at 20 °C."""
    curve = NtcBeta(2500.0, 20.0, 3531.0)
    assert ntc_input_v(250.0, 0.0, 1000.0) == pytest.approx(1.000, rel=1e-12)
    assert ntc_input_v(250.0, 0.1, 1000.0) == pytest.approx(1.080, rel=1e-12)
    assert ntc_inferred_ohm(1.080, 1000.0) == pytest.approx(275.510, abs=5e-4)
    true_degc = curve.degc_at(250.0)
    assert true_degc == pytest.approx(89.2848, abs=5e-5)
    assert curve.degc_at(ntc_inferred_ohm(1.080, 1000.0)) == pytest.approx(85.7058, abs=5e-5)
    assert ntc_error_k(0.1, true_degc, curve, 1000.0) == pytest.approx(-3.5790, abs=5e-5)


def test_ntc_slope_at_90_degc() -> None:
    """dV/dT = -21.2 mV/K and a transfer of 0.803 at 245 Ω: 38 K per volt, 2 K at 53 mV."""
    curve = NtcBeta(2500.0, 20.0, 3531.0)
    t_degc = curve.degc_at(245.0)
    volts = [ntc_input_v(curve.ohm_at(t_degc + step), 0.0) for step in (-0.01, 0.01)]
    assert (volts[1] - volts[0]) / 0.02 == pytest.approx(-21.2e-3, abs=0.1e-3)
    assert ntc_input_v(245.0, 1.0) - ntc_input_v(245.0, 0.0) == pytest.approx(0.803, abs=5e-4)
    assert ntc_error_k(0.001, t_degc, curve) * 1000.0 == pytest.approx(-38.0, abs=0.5)
    low_v, high_v = ntc_limits_v(2.0, t_degc, curve)
    assert (-low_v + high_v) / 2.0 == pytest.approx(0.053, abs=5e-4)


def test_beta_equation_from_80_to_20_degc() -> None:
    """2500 Ω at 20 °C and 323 Ω at 80 °C make B = 3531 K."""
    assert math.log(2500.0 / 323.0) / (1.0 / 293.15 - 1.0 / 353.15) == pytest.approx(3531.0, abs=0.5)
    assert NtcBeta().ohm_at(80.0) == pytest.approx(323.0, abs=0.1)


@pytest.mark.parametrize("name", NTC_TABLES)
def test_rows_of_a_table_are_met_exactly(name: str) -> None:
    with (TABLES / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    curve = ntc_table(name)
    assert len(rows) == len(curve.t_degc) >= 19
    for row in rows:
        assert row["source"].strip()
        assert curve.ohm_at(float(row["t_degc"])) == pytest.approx(float(row["ohm"]), rel=1e-12)
        assert curve.degc_at(float(row["ohm"])) == pytest.approx(float(row["t_degc"]), abs=1e-9)


@pytest.mark.parametrize("name", NTC_TABLES)
def test_tables_are_those_of_the_reference(name: str) -> None:
    file = REFERENCE / f"{name}.csv"
    if not file.is_file():
        pytest.skip("the reference tables are not beside this checkout")
    with file.open(encoding="utf-8", newline="") as opened:
        rows = [(float(row["t_C"]), float(row["ohm"])) for row in csv.DictReader(opened)]
    assert list(zip(ntc_table(name).t_degc, ntc_table(name).ohm, strict=True)) == rows


def test_published_rows_between_rows_of_a_coarser_table() -> None:
    """The 3.52 kΩ table's rows at -15, -5, 5 and 15 °C, from those 10 K apart: log R over 1/T is the right way between.

    Their own rounding and the sensor's change of B leave half a kelvin; straight lines over T would miss by 1 to 2.
    """
    rows = dict(zip(ntc_table("ntc_3k52").t_degc, ntc_table("ntc_3k52").ohm, strict=True))
    coarse = [t for t in sorted(rows) if t % 10 == 0]
    table = NtcTable("every 10 K", tuple(coarse), tuple(rows[t] for t in coarse))
    for t_degc in (-15.0, -5.0, 5.0, 15.0, 25.0, 35.0, 45.0):
        assert table.degc_at(rows[t_degc]) == pytest.approx(t_degc, abs=0.5)
        straight = (rows[t_degc - 5.0] + rows[t_degc + 5.0]) / 2.0
        assert abs(table.ohm_at(t_degc) - rows[t_degc]) < 0.5 * abs(straight - rows[t_degc])


@given(curve=curves, share=st.floats(0.0, 1.0))
def test_a_curve_and_its_inverse(curve: NtcCurve, share: float) -> None:
    t_degc = curve.coldest_degc + share * (curve.hottest_degc - curve.coldest_degc)
    assert curve.degc_at(curve.ohm_at(t_degc)) == pytest.approx(t_degc, abs=1e-8)


@given(curve=curves, share=st.floats(0.0, 1.0), offset_v=st.floats(-6.0, 6.0), pullup_ohm=pullups)
def test_a_positive_offset_reads_cold(curve: NtcCurve, share: float, offset_v: float, pullup_ohm: float) -> None:
    t_degc = curve.coldest_degc + share * (curve.hottest_degc - curve.coldest_degc)
    error_k = ntc_error_k(offset_v, t_degc, curve, pullup_ohm)
    assert not math.isnan(error_k)
    if abs(offset_v) > 1e-9:
        assert error_k < 1e-6 if offset_v > 0 else error_k > -1e-6
    if math.isfinite(error_k):
        assert curve.coldest_degc - 1e-6 <= t_degc + error_k <= curve.hottest_degc + 1e-6


@given(curve=curves, share=st.floats(0.05, 0.95), limit_k=st.floats(0.01, 30.0), pullup_ohm=pullups)
def test_the_limits_of_an_offset_make_the_error(curve: NtcCurve, share: float, limit_k: float, pullup_ohm: float) -> None:
    t_degc = curve.coldest_degc + share * (curve.hottest_degc - curve.coldest_degc)
    low_v, high_v = ntc_limits_v(limit_k, t_degc, curve, pullup_ohm)
    assert low_v < 0.0 < high_v
    hot_k, cold_k = min(limit_k, curve.hottest_degc - t_degc), min(limit_k, t_degc - curve.coldest_degc)
    assert ntc_error_k(low_v, t_degc, curve, pullup_ohm) == pytest.approx(hot_k, abs=1e-6)
    assert ntc_error_k(high_v, t_degc, curve, pullup_ohm) == pytest.approx(-cold_k, abs=1e-6)
    assert abs(ntc_error_k(low_v * 1.01, t_degc, curve, pullup_ohm)) > hot_k
    assert abs(ntc_error_k(high_v * 1.01, t_degc, curve, pullup_ohm)) > cold_k


@pytest.mark.parametrize("curve", CURVES.values(), ids=CURVES)
def test_a_reading_that_runs_off_is_a_fault_at_its_end(curve: NtcCurve) -> None:
    assert ntc_error_k(-1.5, 90.0, curve) == math.inf  # input below ground
    assert ntc_error_k(-1.2, 90.0, curve) == math.inf
    assert ntc_error_k(6.0, 90.0, curve) == -math.inf  # above the supply
    assert ntc_error_k(4.99, 90.0, curve) == -math.inf  # colder than the sensor's curve goes
    assert ntc_error_k(0.0, 90.0, curve) == 0.0
    hot_v, cold_v = ntc_limits_v(1000.0, 90.0, curve)
    assert ntc_error_k(hot_v - 1e-6, 90.0, curve) == math.inf
    assert ntc_error_k(hot_v + 1e-6, 90.0, curve) == pytest.approx(curve.hottest_degc - 90.0, abs=1e-3)
    assert ntc_error_k(cold_v + 1e-6, 90.0, curve) == -math.inf
    # At the cold end a kelvin is little: the last 1e-6 V are worth some hundredths.
    assert ntc_error_k(cold_v - 1e-6, 90.0, curve) == pytest.approx(curve.coldest_degc - 90.0, abs=0.05)


def test_inputs_at_the_rails() -> None:
    assert ntc_inferred_ohm(0.0) == 0.0 and ntc_inferred_ohm(-1.0) == 0.0
    assert ntc_inferred_ohm(5.0) == math.inf and ntc_inferred_ohm(7.0) == math.inf
    assert ntc_inferred_ohm(2.5, 1800.0) == pytest.approx(1800.0)
    assert ntc_inferred_ohm(2.5, 1800.0, 3.3) == pytest.approx(5625.0)
    assert NtcBeta().degc_at(1e-9) == math.inf


@pytest.mark.parametrize(("fraction", "mv", "percent"), [(0.5, 50.0, 1.25), (0.1, 90.0, 2.25)])
def test_ratiometric_worked_by_hand(fraction: float, mv: float, percent: float) -> None:
    """T3: offset 0.1 V. The reading rises from 5 k to u + k (5 - u)."""
    assert (0.1 + fraction * (5.0 - 0.1) - 5.0 * fraction) * 1000.0 == pytest.approx(mv, rel=1e-9)
    assert ratiometric_error_percent(0.1, fraction) == pytest.approx(percent, rel=1e-12)
    assert ratiometric_error_percent(-0.1, fraction) == pytest.approx(-percent, rel=1e-12)


def test_50_mv_on_a_signal_at_its_ground() -> None:
    """Nothing of the sensor's own voltage takes from it: 50 mV are 1.25 % of the 4 V span."""
    assert ratiometric_error_percent(0.05, 0.0) == pytest.approx(1.25, rel=1e-12)


@given(limit=st.floats(0.0, 100.0), fraction=st.floats(0.0, 0.99))
def test_the_limit_of_a_ratiometric_offset_makes_the_error(limit: float, fraction: float) -> None:
    offset_v = ratiometric_limit_v(limit, fraction)
    assert ratiometric_error_percent(offset_v, fraction) == pytest.approx(limit, rel=1e-9, abs=1e-12)


def test_a_sensor_at_its_supply_is_not_moved_by_its_ground() -> None:
    assert ratiometric_error_percent(1.0, 1.0) == 0.0
    assert ratiometric_limit_v(1.0, 1.0) == math.inf


@pytest.mark.parametrize(
    "call",
    [
        lambda: ntc_error_k(0.1, -41.0, ntc_table()),
        lambda: ntc_error_k(0.1, math.nan, ntc_table()),
        lambda: ntc_error_k(math.nan, 20.0, ntc_table()),
        lambda: ntc_error_k(0.1, 20.0, ntc_table(), 0.0),
        lambda: ntc_error_k(0.1, 20.0, ntc_table(), 1000.0, -5.0),
        lambda: ntc_input_v(-1.0, 0.0),
        lambda: ntc_limits_v(-1.0, 20.0, ntc_table()),
        lambda: ntc_limits_v(1.0, 200.0, ntc_table()),
        lambda: ntc_limits_v(1.0, 20.0, ntc_table(), math.inf),
        lambda: ntc_table("ntc_2k6"),
        lambda: NtcBeta(0.0),
        lambda: NtcBeta(2500.0, 20.0, -1.0),
        lambda: NtcBeta(coldest_degc=20.0, hottest_degc=20.0),
        lambda: NtcTable("one row", (20.0,), (2500.0,)),
        lambda: NtcTable("rising", (20.0, 30.0), (2500.0, 2600.0)),
        lambda: NtcTable("turned round", (30.0, 20.0), (1700.0, 2500.0)),
        lambda: NtcTable("unequal", (20.0, 30.0, 40.0), (2500.0, 1700.0)),
        lambda: ratiometric_error_percent(0.1, 1.1),
        lambda: ratiometric_error_percent(math.inf, 0.5),
        lambda: ratiometric_error_percent(0.1, 0.5, 0.0),
        lambda: ratiometric_limit_v(-1.0, 0.5),
    ],
)
def test_numbers_that_are_none_are_refused(call: object) -> None:
    with pytest.raises(ValueError, match=r"\w"):
        call()  # type: ignore[operator]
