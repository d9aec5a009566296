"""Operating states and the rhythm of injectors and coils."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdrc.physics.operation import (
    STANDARD_STATES,
    STATE_VALUES,
    OperatingState,
    coil_duty,
    coil_mean_a,
    coil_rms_a,
    coils_charging,
    injector_duty,
    most_at_once,
)

IDLE = OperatingState("idle", "engine idling", (), 800.0, 13.6, 45.0, False, True, 4.0, 2.5, 0.35, {"fan": 12.0}, "test")


def test_injector_duty() -> None:
    """Pulse width over the length of a four-stroke cycle: 20 ms at 6000 rpm."""
    assert injector_duty(17.0, 6000.0) == pytest.approx(0.85, rel=1e-12)
    assert injector_duty(10.0, 0.0) == 0.0
    assert injector_duty(20.0, 6000.0) == 1.0
    assert injector_duty(30.0, 6000.0) == 1.0


@pytest.mark.parametrize(("rpm", "mean_a"), [(800.0, 0.400), (7000.0, 3.50)])
def test_six_coils_of_8_a_and_2_5_ms(rpm: float, mean_a: float) -> None:
    """T4: worked by hand."""
    assert 6 * coil_mean_a(8.0, 2.5, rpm) == pytest.approx(mean_a, rel=1e-12)


def test_coils_charging_together() -> None:
    """T4: six coils, 2.5 ms, 7000 rpm; eight of them overlap at times."""
    assert coils_charging(6, 2.5, 7000.0) == pytest.approx(0.875, rel=1e-12)
    assert most_at_once(6, coil_duty(2.5, 7000.0)) == 1
    assert coils_charging(8, 2.5, 7000.0) == pytest.approx(7 / 6, rel=1e-12)
    assert most_at_once(8, coil_duty(2.5, 7000.0)) == 2


def test_one_coil_for_all_sparks_never_charges_more_than_all_the_time() -> None:
    assert coil_duty(2.5, 3000.0, 8.0) == pytest.approx(0.5)
    assert coil_duty(2.5, 7200.0, 8.0) == 1.0
    assert coil_mean_a(7.0, 2.5, 7200.0, 8.0) == 3.5


@given(
    peak_a=st.floats(0.1, 30.0), dwell_ms=st.floats(0.5, 8.0), rpm=st.floats(100.0, 9000.0), sparks=st.sampled_from([1, 2, 8])
)
def test_mean_and_effective_current_are_those_of_the_ramp(peak_a: float, dwell_ms: float, rpm: float, sparks: int) -> None:
    """Against the ramp itself, summed in steps over the time between two sparks."""
    duty = coil_duty(dwell_ms, rpm, sparks)
    steps = 2000
    ramp = [peak_a * (step + 0.5) / steps for step in range(steps)]
    assert coil_mean_a(peak_a, dwell_ms, rpm, sparks) == pytest.approx(sum(ramp) / steps * duty, rel=1e-9)
    rms = math.sqrt(sum(a * a for a in ramp) / steps * duty)
    assert coil_rms_a(peak_a, dwell_ms, rpm, sparks) == pytest.approx(rms, rel=1e-6)


@given(units=st.integers(1, 16), duty=st.floats(0.0, 1.0))
def test_most_at_once_is_the_count_over_one_cycle(units: int, duty: float) -> None:
    """Units that start evenly over the cycle, counted just before each one goes off and as each one comes on."""
    starts = [unit / units for unit in range(units)]
    instants = {(start + duty - 1e-7) % 1.0 for start in starts} | {(start + 1e-7) % 1.0 for start in starts}
    counted = max(sum((at - start) % 1.0 < duty for start in starts) for at in instants)
    near_a_whole_number = abs(units * duty - round(units * duty)) < 1e-5
    if near_a_whole_number:
        assert abs(most_at_once(units, duty) - counted) <= 1
    else:
        assert most_at_once(units, duty) == counted


def test_a_whole_number_of_units_is_not_rounded_up() -> None:
    assert most_at_once(3, 1 / 3) == 1
    assert most_at_once(10, 0.1 + 0.1 + 0.1) == 3
    assert most_at_once(8, 0.0) == 0
    assert most_at_once(0, 0.5) == 0
    assert most_at_once(8, 1.0) == 8
    assert most_at_once(4, 1e-12) == 1


@pytest.mark.parametrize(
    "call",
    [
        lambda: injector_duty(-1.0, 800.0),
        lambda: injector_duty(1.0, math.nan),
        lambda: coil_duty(math.inf, 800.0),
        lambda: coil_duty(2.5, 800.0, -1.0),
        lambda: coil_mean_a(-8.0, 2.5, 800.0),
        lambda: coil_rms_a(math.nan, 2.5, 800.0),
        lambda: coils_charging(-1, 2.5, 800.0),
        lambda: most_at_once(-1, 0.5),
        lambda: most_at_once(1, 1.5),
        lambda: most_at_once(1, math.nan),
    ],
)
def test_numbers_that_are_none_are_refused(call: object) -> None:
    with pytest.raises(ValueError, match=r"\w"):
        call()  # type: ignore[operator]


@pytest.mark.parametrize("name", STATE_VALUES)
def test_a_state_holds_its_numbers_to_their_bounds(name: str) -> None:
    form = STATE_VALUES[name]

    def given_as(value: float) -> float:
        changes: dict[str, Any] = {name: value}
        found: float = getattr(replace(IDLE, **changes), name)
        return found

    assert given_as(form.low) == form.low
    for wrong in (form.low - 0.001, math.nan, math.inf, form.high * 1.001):
        with pytest.raises(ValueError, match=name):
            given_as(wrong)
    if math.isfinite(form.high):
        assert given_as(form.high) == form.high


def test_a_battery_is_not_charged_without_the_alternator() -> None:
    with pytest.raises(ValueError, match="alternator"):
        replace(IDLE, alternator=False)
    assert not replace(IDLE, alternator=False, charge_a=0.0).alternator


def test_currents_of_a_state_are_its_own_and_cannot_be_changed() -> None:
    currents = {"fan": 12.0}
    state = replace(IDLE, current_a=currents)
    currents["fan"] = 99.0
    assert state.current_a["fan"] == 12.0
    with pytest.raises(TypeError):
        state.current_a["fan"] = 99.0  # type: ignore[index]
    with pytest.raises(ValueError, match="fan"):
        replace(IDLE, current_a={"fan": -1.0})
    assert hash(state) == hash(IDLE) and state == IDLE
    assert state != replace(IDLE, current_a={})


def test_names() -> None:
    assert replace(IDLE, name="fast idle", like=("idle",)).names == ("fast idle", "idle")
    assert len(set(STANDARD_STATES)) == 6
