"""Signal and noise at trigger inputs over engine speed, and which settings leave margin."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdrc.physics.trigger_inputs import (
    FILTERS_S,
    Pulse,
    fixed_level_settings,
    low_pass_share,
    margin_db,
    pulse_share,
    reluctor_rpm,
    reluctor_settings,
    reluctor_v,
    remaining_noise_v,
    threshold_window,
    tooth_hz,
)

RPM = np.array([60.0, 200.0, 1000.0, 3000.0, 7000.0])
BREAKDOWN_V_PER_NH = 0.020
"""Breakdown of 20 A/µs."""
PARALLEL_V, SPACED_V = 3.05 * BREAKDOWN_V_PER_NH, 15.3 * BREAKDOWN_V_PER_NH
"""Worked case: 3.05 nH and 15.3 nH of mutual inductance."""


# Worked figures


def test_reluctor_beside_a_high_voltage_loop() -> None:
    """61 mV on an untwisted pair: 13.8 dB at 60 rpm, 24.3 at 200, 47.8 at 3000; 20 dB at 122 rpm."""
    assert pytest.approx(0.061) == PARALLEL_V
    found = margin_db(reluctor_v(0.5, [60.0, 200.0, 3000.0]), PARALLEL_V)
    assert found.tolist() == pytest.approx([13.8, 24.3, 47.8], abs=0.05)
    assert float(reluctor_rpm(0.5, PARALLEL_V, 10.0)) == pytest.approx(122.0, abs=0.5)


def test_reluctor_with_its_wires_apart() -> None:
    """306 mV with the wires 10 mm apart: -0.2 dB at 60 rpm, 20 dB at 612 to 613 rpm."""
    assert pytest.approx(0.306) == SPACED_V
    assert float(margin_db(reluctor_v(0.5, 60.0), SPACED_V)) == pytest.approx(-0.2, abs=0.05)
    assert float(reluctor_rpm(0.5, SPACED_V, 10.0)) == pytest.approx(613.0, abs=1.5)


def test_hall_with_2_5_v_to_its_threshold() -> None:
    """32 and 18 dB, at every speed."""
    assert margin_db(2.5, np.array([PARALLEL_V, SPACED_V])).tolist() == pytest.approx([32.0, 18.0], abs=0.3)


def test_a_filter_cuts_a_breakdown_20_to_200_times() -> None:
    assert 1.0 / float(pulse_share(50e-9, 1e-6)) == pytest.approx(20.5, abs=0.1)
    assert 1.0 / float(pulse_share(50e-9, 10e-6)) == pytest.approx(200.5, abs=0.1)


def test_teeth() -> None:
    assert tooth_hz(36.0, [0.0, 250.0, 7000.0]).tolist() == [0.0, 150.0, 4200.0]
    assert float(tooth_hz(4.0, 6000.0, 0.5)) == 200.0
    assert reluctor_v(0.5, 0.0) == 0.0


# Facts of the trade


def test_a_reluctors_margin_grows_with_speed() -> None:
    margins = margin_db(reluctor_v(0.5, RPM), PARALLEL_V)
    assert np.all(np.diff(margins) > 0.0)


def test_a_fixed_level_keeps_its_margin_and_loses_it_to_offset_and_noise() -> None:
    rising_noise = np.array([0.02, 0.03, 0.04, 0.06, 0.08])
    margins = margin_db(2.5 - np.abs(np.array([0.0, 0.1, 0.2, 0.4, 0.6])), rising_noise)
    assert np.all(np.diff(margins) < 0.0)


# Filters


def test_low_pass_at_its_corner() -> None:
    tau_s = 1e-5
    assert float(low_pass_share(1.0 / (2.0 * math.pi * tau_s), tau_s)) == pytest.approx(1.0 / math.sqrt(2.0), rel=1e-12)
    assert low_pass_share([0.0, 1e9], 0.0).tolist() == [1.0, 1.0]


def test_shares_are_those_of_the_filter_stepped_through_time() -> None:
    """A capacitor charged through a resistor, by small steps: a pulse, and a sine once it has settled."""
    tau_s, duration_s, steps = 2e-6, 1e-6, 20_000
    volts = 0.0
    for _ in range(steps):
        volts += (1.0 - volts) * duration_s / steps / tau_s
    assert float(pulse_share(duration_s, tau_s)) == pytest.approx(volts, rel=1e-4)
    f_hz, step_s, volts, peak = 100e3, 1e-9, 0.0, 0.0
    for step in range(60_000):
        volts += (math.sin(2.0 * math.pi * f_hz * step * step_s) - volts) * step_s / tau_s
        if step > 40_000:
            peak = max(peak, volts)
    assert float(low_pass_share(f_hz, tau_s)) == pytest.approx(peak, rel=2e-3)


@given(f_hz=st.floats(1.0, 1e5), tau_s=st.floats(1e-7, 1e-3))
def test_a_square_wave_keeps_more_than_the_share_taken_for_it(f_hz: float, tau_s: float) -> None:
    assert float(low_pass_share(f_hz, tau_s)) <= math.tanh(1.0 / (4.0 * f_hz * tau_s)) + 1e-12


def test_a_pulse_without_filter_passes_whole() -> None:
    assert pulse_share([1e-9, 0.0], 0.0).tolist() == [1.0, 0.0]
    assert float(pulse_share(1e-6, 1e-320)) == 1.0


def test_the_strongest_pulse_behind_the_filter_counts() -> None:
    """A short strong pulse before the filter, a long weak one behind it."""
    pulses = [Pulse(1.0, 50e-9), Pulse(0.05, 10e-6)]
    assert float(remaining_noise_v(pulses, 0.0)) == 1.0
    assert float(remaining_noise_v(pulses, 10e-6)) == pytest.approx(0.05 * (1.0 - math.exp(-1.0)))
    assert float(remaining_noise_v([], 1e-6)) == 0.0
    by_speed = remaining_noise_v([Pulse([0.1, 0.2, 0.3], 1e-6), Pulse(0.25, 1e-6)], 0.0)
    assert by_speed.tolist() == [0.25, 0.25, 0.3]


# Margins and windows


def test_margins_at_the_ends() -> None:
    assert margin_db([0.0, -1.0, 1.0], 0.1).tolist() == pytest.approx([-math.inf, -math.inf, 20.0])
    assert float(margin_db(1.0, 0.0)) == math.inf
    assert float(margin_db(0.0, 0.0)) == -math.inf
    assert margin_db(np.ones(3), np.array([1.0, 0.1, 0.01])).tolist() == pytest.approx([0.0, 20.0, 40.0])


def test_the_bare_window_of_a_reluctor() -> None:
    window = threshold_window(0.0, reluctor_v(0.5, RPM), PARALLEL_V)
    assert window.lowest_v.tolist() == pytest.approx([PARALLEL_V] * 5)
    assert window.highest_v.tolist() == pytest.approx((RPM * 0.005 - PARALLEL_V).tolist())
    assert window.open.tolist() == [True] * 5
    assert threshold_window(0.0, reluctor_v(0.5, RPM), SPACED_V).open.tolist() == [False] + [True] * 4


def test_the_window_of_fixed_levels_loses_offset_and_noise_on_both_sides() -> None:
    window = threshold_window(0.4, 5.0, 0.1, np.array([0.0, 0.5, -0.5]), 3.0)
    assert window.lowest_v.tolist() == pytest.approx([0.7, 1.2, 1.2])
    assert window.highest_v.tolist() == pytest.approx([4.7, 4.2, 4.2])
    assert not threshold_window(0.4, 5.0, 0.1, 2.3).open


@given(
    low=st.floats(-1.0, 1.0), high=st.floats(2.0, 12.0), noise=st.floats(0.0, 2.0), offset=st.floats(-1.0, 1.0),
    ratio=st.floats(1.0, 10.0), part=st.floats(0.01, 0.99),
)  # fmt: skip
def test_a_threshold_of_the_window_keeps_the_ratio_on_both_sides(
    low: float, high: float, noise: float, offset: float, ratio: float, part: float
) -> None:
    window = threshold_window(low, high, noise, offset, ratio)
    if not window.open:
        return
    threshold = float(window.lowest_v) * (1.0 - part) + float(window.highest_v) * part
    for moved in (offset, -offset, 0.0):
        assert threshold - (low + moved) >= ratio * noise - 1e-9
        assert (high + moved) - threshold >= ratio * noise - 1e-9


# Settings


def test_no_filter_where_none_is_needed() -> None:
    found = reluctor_settings(reluctor_v(0.5, RPM), tooth_hz(36.0, RPM), [Pulse(0.02, 50e-9)], 3.0)
    assert found.filter_s == 0.0 and found.everywhere
    assert found.lowest_v == pytest.approx([0.06] * 5)
    assert found.highest_v == pytest.approx((RPM * 0.005 - 0.06).tolist())
    assert found.common == pytest.approx((0.06, 0.24))


def test_the_shortest_filter_that_leaves_a_window_at_every_speed() -> None:
    """306 mV in 50 ns against 0.3 V at 60 rpm, three times the noise: 1 µs leaves 15 mV."""
    found = reluctor_settings(reluctor_v(0.5, RPM), tooth_hz(36.0, RPM), [Pulse(SPACED_V, 50e-9)], 3.0)
    assert found.filter_s == 1e-6 and found.everywhere
    left_v = 3.0 * SPACED_V * (1.0 - math.exp(-0.05))
    assert found.lowest_v == pytest.approx([left_v] * 5)
    share = 1.0 / math.hypot(1.0, 2.0 * math.pi * 4200.0 * 1e-6)
    assert found.highest_v[-1] == pytest.approx(35.0 * share - left_v)
    # none shorter does
    alone = reluctor_settings(reluctor_v(0.5, RPM), tooth_hz(36.0, RPM), [Pulse(SPACED_V, 50e-9)], 3.0, [0.0])
    assert not alone.everywhere and alone.filter_s == 0.0 and alone.common is None
    assert alone.lowest_v[0] is None and alone.highest_v[0] is None and alone.lowest_v[2] is not None


def test_where_none_does_the_one_for_most_speeds_and_the_shortest_of_those() -> None:
    """A noise of milliseconds passes every filter: nothing helps at cranking, and so there is no filter."""
    found = reluctor_settings(reluctor_v(0.5, RPM), tooth_hz(36.0, RPM), [Pulse(0.5, 10e-3)], 3.0)
    assert found.filter_s == 0.0
    assert [each is None for each in found.lowest_v] == [True, True, False, False, False]
    assert [each is None for each in found.highest_v] == [True, True, False, False, False]


@given(
    noise_v=st.floats(0.0, 5.0), duration_s=st.sampled_from([5e-8, 1e-6, 1e-5, 1e-4]), ratio=st.floats(1.0, 10.0),
    hall=st.booleans(), offset_v=st.floats(-0.5, 0.5),
)  # fmt: skip
def test_the_choice_is_the_best_of_all_tried_one_by_one(
    noise_v: float, duration_s: float, ratio: float, hall: bool, offset_v: float
) -> None:
    pulses, f_hz = [Pulse(np.full(5, noise_v), duration_s)], tooth_hz(60.0, RPM)

    def of(filters_s: tuple[float, ...]) -> tuple[float, int]:
        if hall:
            found = fixed_level_settings(0.4, 5.0, f_hz, pulses, ratio, offset_v, filters_s)
        else:
            found = reluctor_settings(reluctor_v(0.5, RPM), f_hz, pulses, ratio, filters_s)
        for lowest, highest in zip(found.lowest_v, found.highest_v, strict=True):
            assert (lowest is None) == (highest is None)
            assert lowest is None or highest is None or lowest < highest
        return found.filter_s, sum(each is not None for each in found.lowest_v)

    filter_s, speeds = of(FILTERS_S)
    one_by_one = [of((each,)) for each in FILTERS_S]
    most = max(number for _, number in one_by_one)
    assert speeds == most
    assert filter_s == min(each for each, number in one_by_one if number == most)
    assert of(FILTERS_S[::-1]) == (filter_s, speeds)


def test_fixed_levels_are_drawn_to_their_middle() -> None:
    """At the corner of the filter the swing of 4.6 V is 0.7071 of itself, about 2.7 V."""
    tau_s = 1e-5
    found = fixed_level_settings(0.4, 5.0, [1.0 / (2.0 * math.pi * tau_s)], [], 1.0, 0.25, [tau_s])
    assert found.lowest_v == pytest.approx([2.7 - 2.3 / math.sqrt(2.0) + 0.25])
    assert found.highest_v == pytest.approx([2.7 + 2.3 / math.sqrt(2.0) - 0.25])


def test_a_threshold_for_each_speed_and_none_for_all() -> None:
    """An amplitude that rises and a noise that rises with it."""
    found = reluctor_settings([1.0, 20.0], [100.0, 100.0], [Pulse([0.1, 4.0], 1.0)], 2.0, [0.0])
    assert found.everywhere and found.common is None
    assert found.lowest_v == pytest.approx([0.2, 8.0]) and found.highest_v == pytest.approx([0.8, 12.0])


@pytest.mark.parametrize(
    "call",
    [
        lambda: reluctor_v(0.0, 100.0),
        lambda: reluctor_v(0.5, -1.0),
        lambda: reluctor_v(0.5, [100.0, math.nan]),
        lambda: reluctor_rpm(0.5, -0.1, 10.0),
        lambda: reluctor_rpm(0.5, 0.1, 0.0),
        lambda: tooth_hz(0.0, 100.0),
        lambda: tooth_hz(36.0, -100.0),
        lambda: tooth_hz(36.0, 100.0, 0.0),
        lambda: low_pass_share(-1.0, 1e-6),
        lambda: low_pass_share(1.0, -1e-6),
        lambda: low_pass_share(1.0, math.inf),
        lambda: pulse_share(-1e-9, 1e-6),
        lambda: pulse_share(1e-9, math.nan),
        lambda: margin_db(1.0, -0.1),
        lambda: margin_db(math.nan, 0.1),
        lambda: threshold_window(0.0, 1.0, 0.1, ratio=0.9),
        lambda: threshold_window(0.0, math.inf, 0.1),
        lambda: threshold_window(0.0, 1.0, -0.1),
        lambda: threshold_window(0.0, 1.0, 0.1, math.nan),
        lambda: remaining_noise_v([Pulse(0.1, 0.0)], 0.0),
        lambda: remaining_noise_v([Pulse(-0.1, 1e-6)], 0.0),
        lambda: remaining_noise_v([], -1.0),
        lambda: reluctor_settings([1.0], [1.0], [], 1.0, []),
        lambda: reluctor_settings([1.0], [1.0], [], 1.0, [-1e-6]),
        lambda: reluctor_settings([-1.0], [1.0], [], 1.0),
        lambda: reluctor_settings([1.0, 2.0], [1.0, 2.0, 3.0], [], 1.0),
        lambda: fixed_level_settings(5.0, 0.4, [1.0], [], 1.0),
        lambda: fixed_level_settings(0.4, math.nan, [1.0], [], 1.0),
    ],
)
def test_numbers_that_are_none_are_refused(call: object) -> None:
    with pytest.raises(ValueError, match=r"\w"):
        call()  # type: ignore[operator]
