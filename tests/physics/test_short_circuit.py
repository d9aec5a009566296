"""Adiabatic heating against published k values and worked examples."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdrc.physics import short_circuit as sc
from harnessdrc.physics.conductor import COPPER_OHM_M

SHARED = Path(__file__).parent.parent.parent / ".." / "shared" / "reference" / "worked_examples.csv"

PUBLISHED_K = [
    # id, from, to, printed k, tolerance
    ("K1", 70.0, 160.0, 115.0, 1e-3),
    ("K2", 90.0, 250.0, 143.0, 1e-3),
    ("K3", 85.0, 220.0, 134.0, 2e-3),
    ("K4", 60.0, 200.0, 141.0, 3e-3),
    ("K5", 90.0, 160.0, 100.0, 3e-3),
]
"""IEC 60949 / IEC 60364-5-54, read on a page that quotes them; the tolerance covers their rounding."""


@pytest.mark.parametrize(("name", "start", "limit", "k", "tolerance"), PUBLISHED_K)
def test_published_k(name: str, start: float, limit: float, k: float, tolerance: float) -> None:
    assert sc.adiabatic_k(start, limit) == pytest.approx(k, rel=tolerance), name


@pytest.mark.skipif(not SHARED.exists(), reason="the folder with the reference figures is not beside the checkout")
def test_the_published_k_are_those_of_the_reference() -> None:
    with SHARED.open(encoding="utf-8", newline="") as file:
        rows = {row["id"]: row for row in csv.DictReader(file)}
    for name, start, limit, k, _ in PUBLISHED_K:
        assert f"{start:g}->{limit:g} C" in rows[name]["inputs"]
        assert rows[name]["published_answer"].startswith(f"k={k:g}")


def test_building_wire_of_2_5_mm2_at_150_a() -> None:
    """With the rounded k of 115: 3.674 s; from 70 to 160 °C with k unrounded the same within its rounding."""
    printed_s = (115.0 * 2.5 / 150.0) ** 2
    assert printed_s == pytest.approx(3.674, abs=5e-4)
    assert sc.time_to_limit_s(150.0, 2.5, 70.0, 160.0) == pytest.approx(3.674, rel=2e-3)


def test_1_mm2_from_105_to_160_degc() -> None:
    assert sc.adiabatic_k(105.0, 160.0) == pytest.approx(87.6, abs=0.05)
    assert sc.time_to_limit_s(100.0, 1.0, 105.0, 160.0) == pytest.approx(0.767, abs=1e-3)


def test_1_mm2_from_85_to_160_degc() -> None:
    assert sc.withstand_a2s(1.0, 85.0, 160.0) == pytest.approx(10769.98, abs=0.01)
    assert sc.time_to_limit_s(100.0, 1.0, 85.0, 160.0) == pytest.approx(1.07700, abs=1e-5)


def test_against_the_heat_balance_integrated_step_by_step() -> None:
    """ρ(T) I² / S² = c dT/dt with other constants (c = 3.45e6 J/m³K, α = 0.00393 /K): 1.0738 s."""
    t_degc, time_s, step_s = 85.0, 0.0, 1e-5
    while t_degc < 160.0:
        rise = [0.0, 0.0]
        for half, at in enumerate((0.0, 0.5)):
            here = t_degc + at * step_s * rise[0]
            rise[half] = COPPER_OHM_M * (1.0 + 0.00393 * (here - 20.0)) * (100.0 / 1e-6) ** 2 / 3.45e6
        t_degc, time_s = t_degc + rise[1] * step_s, time_s + step_s
    assert time_s == pytest.approx(1.0738, abs=1e-4)
    assert sc.time_to_limit_s(100.0, 1.0, 85.0, 160.0) == pytest.approx(time_s, rel=4e-3)


def test_until_copper_melts() -> None:
    assert sc.withstand_a2s(1.0, 25.0, sc.COPPER_MELTS_DEGC) == pytest.approx(82985.0, abs=1.0)


def test_onderdonk_with_the_right_sign() -> None:
    """2,581 circular mils, 5 s, from 25 °C: 168.5 A; the textbook form gives 168.9 A, and 178 A is a wrong sign."""
    area_mm2 = 2581.0 * math.pi / 4.0 * 0.0254**2
    current_a = sc.current_for_time_a(5.0, area_mm2, 25.0, sc.COPPER_MELTS_DEGC)
    assert current_a == pytest.approx(168.5, abs=0.1)
    rise = sc.COPPER_MELTS_DEGC - 25.0
    assert 2581.0 * math.sqrt(math.log10(1.0 + rise / (234.0 + 25.0)) / (33.0 * 5.0)) == pytest.approx(168.9, abs=0.1)
    assert not math.isclose(current_a, 178.0, rel_tol=0.05)


def test_joints_are_soldered_at_their_own_limit() -> None:
    assert sc.SOLDERED_JOINT_DEGC == 160.0 and sc.ADIABATIC_TO_S == 5.0


starts = st.floats(-40.0, 200.0)
areas = st.floats(0.05, 200.0)
rises = st.floats(1.0, 800.0)


@given(area=areas, start=starts, rise=rises)
def test_heating_and_withstand_are_each_other_turned_round(area: float, start: float, rise: float) -> None:
    i2t = sc.withstand_a2s(area, start, start + rise)
    assert sc.heated_degc(i2t, area, start) == pytest.approx(start + rise, abs=1e-6)
    assert sc.least_csa_mm2(i2t, start, start + rise) == pytest.approx(area, rel=1e-9)
    assert sc.current_for_time_a(
        sc.time_to_limit_s(50.0, area, start, start + rise), area, start, start + rise
    ) == pytest.approx(50.0, rel=1e-9)


@given(area=areas, more=st.floats(1.01, 10.0), start=starts, rise=rises, current=st.floats(1.0, 5000.0))
def test_more_copper_colder_start_less_current_never_reach_the_limit_sooner(
    area: float, more: float, start: float, rise: float, current: float
) -> None:
    limit = start + rise
    time_s = sc.time_to_limit_s(current, area, start, limit)
    assert sc.time_to_limit_s(current, area * more, start, limit) > time_s
    assert sc.time_to_limit_s(current * more, area, start, limit) < time_s
    assert sc.time_to_limit_s(current, area, start - 1.0, limit) > time_s
    assert sc.time_to_limit_s(current, area, start, limit + 1.0) > time_s


@given(
    rows=st.lists(st.tuples(st.floats(0.0, 3000.0), areas, starts, rises), min_size=1, max_size=20),
)
def test_many_at_once_as_one_by_one(rows: list[tuple[float, float, float, float]]) -> None:
    current, area, start, rise = np.array(rows).T
    limit = start + rise
    each = [sc.withstand_a2s(s, ti, tf) for s, ti, tf in zip(area, start, limit, strict=True)]
    assert sc.withstands_a2s(area, start, limit) == pytest.approx(each, rel=1e-9)
    times = [sc.time_to_limit_s(*row) for row in zip(current, area, start, limit, strict=True)]
    assert sc.times_to_limit_s(current, area, start, limit) == pytest.approx(times, rel=1e-9)
    heated = [sc.heated_degc(i * i, s, ti) for i, s, ti in zip(current, area, start, strict=True)]
    assert sc.heated_each_degc(current**2, area, start) == pytest.approx(heated, rel=1e-9)


def test_of_many_what_cannot_be_judged_is_no_number_and_stops_nothing() -> None:
    wrong = ([0.0, -1.0, math.nan, 1.0, 1.0, 1.0], [85.0, 85.0, 85.0, 170.0, -300.0, 85.0], 160.0)
    found = sc.withstands_a2s(*wrong)
    assert np.isnan(found[:5]).all()
    assert found[5] == pytest.approx(10769.98, abs=0.01)
    assert np.isnan(sc.heated_each_degc([-1.0, 1.0, 1.0], [1.0, 0.0, 1.0], [20.0, 20.0, -300.0])).all()


def test_no_current_never_and_too_much_beyond_numbers() -> None:
    assert sc.time_to_limit_s(0.0, 1.0, 85.0, 160.0) == math.inf
    assert sc.times_to_limit_s(0.0, 1.0, 85.0, 160.0) == math.inf
    assert sc.heated_degc(0.0, 1.0, 85.0) == pytest.approx(85.0)
    assert sc.heated_degc(1e12, 0.1, 85.0) == sc.heated_each_degc(1e12, 0.1, 85.0) == math.inf


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: sc.adiabatic_k(160.0, 160.0), "not above"),
        (lambda: sc.adiabatic_k(-240.0, 160.0), "temperature"),
        (lambda: sc.adiabatic_k(20.0, math.inf), "temperature"),
        (lambda: sc.withstand_a2s(0.0, 85.0, 160.0), "cross-section"),
        (lambda: sc.withstand_a2s(math.nan, 85.0, 160.0), "cross-section"),
        (lambda: sc.time_to_limit_s(math.inf, 1.0, 85.0, 160.0), "current"),
        (lambda: sc.current_for_time_a(0.0, 1.0, 85.0, 160.0), "time"),
        (lambda: sc.heated_degc(-1.0, 1.0, 85.0), "integral"),
        (lambda: sc.least_csa_mm2(math.inf, 85.0, 160.0), "integral"),
        (lambda: sc.heated_degc(1.0, -1.0, 85.0), "cross-section"),
        (lambda: sc.heated_degc(1.0, 1.0, math.nan), "temperature"),
    ],
)
def test_what_is_no_figure_of_a_wire_is_refused(call: object, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        call()  # type: ignore[operator]
