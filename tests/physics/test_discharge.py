"""Edges of ignition and injection, and what makes the breakdown stronger."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdrc.checks.registry import load_checks
from harnessdrc.design.given import GIVEN
from harnessdrc.physics.discharge import (
    GIVEN_NAMES,
    DischargeEdges,
    Edge,
    breakdown_factor,
    discharge_edges,
    stronger,
)
from harnessdrc.rulesets import load_ruleset

FIGURES = {
    "breakdown_a_per_us": 20.0,
    "breakdown_low_a_per_us": 1.0,
    "breakdown_high_a_per_us": 200.0,
    "arc_a_per_us": 0.01,
    "primary_off_us": 10.0,
    "injector_off_us": 50.0,
    "edge_low_share": 0.3,
    "edge_high_share": 3.0,
}


def edges(peak_a: float = 8.0, injector_a: float = 1.0, manifold_bar: float = 1.0, **other: float) -> DischargeEdges:
    return discharge_edges({**FIGURES, **other}, peak_a, injector_a, manifold_bar)


def test_the_shipped_ruleset_gives_these_figures() -> None:
    shipped = load_ruleset("engine-loom", checks=load_checks()).given
    assert {name: shipped[name].value for name in GIVEN_NAMES} == FIGURES
    assert {GIVEN[name].unit for name in GIVEN_NAMES} == {"A/us", "us", ""}


def test_millivolts_per_nanohenry() -> None:
    """Worked figures: breakdown 20, arc 0.01, primary 8 A in 10 µs 0.8, injector 1 A in 50 µs 0.02."""
    found = edges()
    assert [edge.name for edge in found] == ["breakdown", "arc", "primary switch-off", "injector switch-off"]
    assert [edge.a_per_s * 1e-9 * 1e3 for edge in found] == pytest.approx([20.0, 0.01, 0.8, 0.02], rel=1e-12)


def test_ranges_and_durations() -> None:
    found = edges()
    assert (found.breakdown.low_a_per_s, found.breakdown.high_a_per_s) == (1e6, 200e6)
    for edge in found[1:]:
        assert edge.low_a_per_s == pytest.approx(0.3 * edge.a_per_s) and edge.high_a_per_s == pytest.approx(
            3.0 * edge.a_per_s
        )
    assert [edge.rise_s for edge in found] == pytest.approx([50e-9, 10e-6, 10e-6, 50e-6], rel=1e-12)
    # 1 A in 50 ns and 0.1 A in 10 µs
    assert found.breakdown.a_per_s * found.breakdown.rise_s == pytest.approx(1.0)
    assert found.arc.a_per_s * found.arc.rise_s == pytest.approx(0.1)
    assert found.breakdown.corner_hz == pytest.approx(6.37e6, rel=1e-3)


@given(bar=st.floats(0.1, 4.0))
def test_pressure_scales_the_breakdown_and_nothing_else(bar: float) -> None:
    base, found = edges(), edges(manifold_bar=bar)
    assert found[1:] == base[1:]
    assert found.breakdown == base.breakdown.times(bar)
    assert found.breakdown.a_per_s == pytest.approx(20e6 * bar) and found.breakdown.high_a_per_s == pytest.approx(
        200e6 * bar
    )
    assert found.breakdown.rise_s == base.breakdown.rise_s


def test_switching_goes_with_the_current() -> None:
    base, found = edges(), edges(peak_a=4.0, injector_a=3.0)
    assert found.primary_off.a_per_s == pytest.approx(base.primary_off.a_per_s / 2.0)
    assert found.injector_off.a_per_s == pytest.approx(3.0 * base.injector_off.a_per_s)
    assert found[:2] == base[:2]
    assert edges(peak_a=0.0).primary_off.high_a_per_s == 0.0
    quick = edges(primary_off_us=5.0).primary_off
    rates = [quick.low_a_per_s, quick.a_per_s, quick.high_a_per_s]
    assert (quick.rise_s, rates) == (5e-6, pytest.approx([0.48e6, 1.6e6, 4.8e6]))


def test_a_breakdown_outside_its_range_widens_the_range() -> None:
    for usual in (300.0, 0.5):
        edge = edges(breakdown_a_per_us=usual).breakdown
        assert edge.a_per_s == usual * 1e6
        assert edge.low_a_per_s == min(1.0, usual) * 1e6 and edge.high_a_per_s == max(200.0, usual) * 1e6


# Influences


def test_nothing_unusual() -> None:
    assert stronger() == stronger(gap_m=0.8e-3, boost_bar=0.0) == ()
    assert breakdown_factor(()) == 1.0


@pytest.mark.parametrize(
    ("plain_plug", "solid_lead", "factor"),
    [(True, False, 3.2), (False, True, 10.0), (True, True, 30.0), (False, False, 1.0)],
)
def test_resistance_of_plug_and_lead(plain_plug: bool, solid_lead: bool, factor: float) -> None:
    """Without any resistance 10 to 100 times; 30 is their middle."""
    found = stronger(plain_plug, solid_lead)
    assert breakdown_factor(found) == pytest.approx(factor, rel=1e-12)
    assert [each.what for each in found] == ["solid lead"] * solid_lead + ["plain plug"] * plain_plug
    assert all(each.adverse and each.found_si is None and each.usual_si is None for each in found)


def test_the_gap_as_its_ratio() -> None:
    (wide,) = stronger(gap_m=1.1e-3)
    assert (wide.what, wide.found_si, wide.usual_si) == ("gap", 1.1e-3, 0.8e-3)
    assert wide.factor == pytest.approx(1.375) and wide.adverse
    (narrow,) = stronger(gap_m=0.6e-3)
    assert narrow.factor == pytest.approx(0.75) and not narrow.adverse
    (own,) = stronger(gap_m=0.8e-3, usual_gap_m=1.0e-3)
    assert own.factor == pytest.approx(0.8)


def test_boost_as_absolute_pressure() -> None:
    (found,) = stronger(boost_bar=0.6)
    assert (found.what, found.factor, found.found_si, found.usual_si) == ("boost", 1.6, 0.6, 0.0)
    assert "Paschen" in found.source


def test_all_of_them_multiply() -> None:
    found = stronger(True, True, 1.2e-3, 1.0)
    assert [each.what for each in found] == ["solid lead", "plain plug", "gap", "boost"]
    assert breakdown_factor(found) == pytest.approx(30.0 * 1.5 * 2.0)
    assert all(each.effect and each.usual and each.source for each in found)
    base = edges().breakdown
    assert base.times(breakdown_factor(found)).a_per_s == pytest.approx(90.0 * base.a_per_s)


@pytest.mark.parametrize(
    "call",
    [
        lambda: edges(peak_a=-1.0),
        lambda: edges(injector_a=math.nan),
        lambda: edges(manifold_bar=0.0),
        lambda: edges(primary_off_us=0.0),
        lambda: edges(injector_off_us=-1.0),
        lambda: edges(edge_low_share=1.1),
        lambda: edges(edge_high_share=0.9),
        lambda: edges(edge_high_share=math.inf),
        lambda: edges(breakdown_a_per_us=-1.0),
        lambda: edges(breakdown_a_per_us=math.nan),
        lambda: edges(arc_a_per_us=math.inf),
        lambda: Edge("arc", 1.0, 2.0, 3.0, 1e-6),
        lambda: Edge("arc", 1.0, 0.5, 0.9, 1e-6),
        lambda: Edge("arc", 1.0, 0.5, 2.0, 0.0),
        lambda: edges().arc.times(-1.0),
        lambda: edges().arc.times(math.inf),
        lambda: stronger(gap_m=0.0),
        lambda: stronger(gap_m=1e-3, usual_gap_m=0.0),
        lambda: stronger(boost_bar=-0.1),
        lambda: stronger(boost_bar=math.nan),
    ],
)
def test_numbers_that_are_none_are_refused(call: object) -> None:
    with pytest.raises(ValueError, match=r"\w"):
        call()  # type: ignore[operator]


def test_a_given_value_that_lacks_is_named() -> None:
    lacking = {name: value for name, value in FIGURES.items() if name not in ("arc_a_per_us", "primary_off_us")}
    with pytest.raises(ValueError, match="arc_a_per_us, primary_off_us"):
        discharge_edges(lacking, 8.0, 1.0)
