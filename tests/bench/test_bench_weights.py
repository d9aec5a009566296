"""Masses of wire against published tables."""

from __future__ import annotations

import pytest

from harnessdrc.bench.weights import outer_mm, weight
from harnessdrc.units import Size

LB_PER_1000_FT_TO_G_PER_M = 453.59237 / 304.8  # exact by definition of pound and foot


def metric(csa_mm2: float) -> Size:
    return Size("", "mm2", csa_mm2=csa_mm2)


def gauge(awg: int) -> Size:
    return Size("", "awg", awg=awg)


# lb per 1000 ft, solid bare copper: read on a page of conductor tables (reference page of values, section 1).
SOLID_LB = {10: 31.43, 12: 19.77, 14: 12.43, 16: 7.818, 18: 4.917, 20: 3.092, 22: 1.945}


@pytest.mark.parametrize(("awg", "lb"), SOLID_LB.items())
def test_copper_of_a_gauge_weighs_what_the_tables_say(awg: int, lb: float) -> None:
    found = weight(gauge(awg), 1.35)
    assert found is not None
    # Stranded wire is 2 % heavier than solid wire (ASTM B8, from memory, in the same table of values).
    assert found.copper_g_per_m == pytest.approx(lb * LB_PER_1000_FT_TO_G_PER_M * 1.02, rel=2e-3)


# g/m of thin-wall single-core PVC cable to ISO 6722, symmetric and asymmetric strands: makers' sheets, from memory.
THIN_WALL_G_PER_M = {0.35: 4.5, 0.5: 6.6, 0.75: 9.0, 1.0: 11.0, 1.5: 16.0, 2.5: 26.0, 4.0: 42.0, 6.0: 61.0}


@pytest.mark.parametrize(("csa_mm2", "g_per_m"), THIN_WALL_G_PER_M.items())
def test_thin_wall_cable_weighs_what_data_sheets_say(csa_mm2: float, g_per_m: float) -> None:
    found = weight(metric(csa_mm2), 1.35)
    assert found is not None
    assert found.cable_g_per_m == pytest.approx(g_per_m, rel=0.08)


@pytest.mark.parametrize("size", [*map(metric, (0.13, 0.35, 0.5, 6, 50, 120, 150)), *map(gauge, (-3, 0, 8, 18, 26, 30))])
def test_cable_weighs_more_than_its_copper_and_more_with_denser_insulation(size: Size) -> None:
    light, heavy = weight(size, 0.95), weight(size, 2.2)
    assert light is not None and heavy is not None
    assert 0 < light.copper_g_per_m < light.cable_g_per_m < heavy.cable_g_per_m
    assert light.copper_g_per_m == heavy.copper_g_per_m


def test_insulation_fills_the_ring_round_the_conductor() -> None:
    # 1 mm²: 2.1 mm over the insulation (read, thinwall_cable_read.csv), strands fill 0.65 of their circle.
    light, heavy = weight(metric(1.0), 1.0), weight(metric(1.0), 2.0)
    assert light is not None and heavy is not None
    assert heavy.cable_g_per_m - light.cable_g_per_m == pytest.approx(3.14159265 / 4 * 2.1**2 - 1.0 / 0.65)


def test_a_size_that_is_none_weighs_nothing() -> None:
    assert weight(gauge(60), 1.35) is None
    assert outer_mm(gauge(60)) is None
