"""Copper resistance against published tables and worked examples.

The example VD6 of AC 43.13-1B table 11-8 is misprinted (0.366 V where the arithmetic gives 0.491 V) and is
left out of the data on purpose.
"""

from __future__ import annotations

import csv
import math
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdrc.datafiles import rulesets_folder
from harnessdrc.errors import FileUnreadableError
from harnessdrc.physics import conductor
from harnessdrc.physics.conductor import (
    awg_area_mm2,
    awg_conductor,
    awg_diameter_mm,
    awg_ohm_per_m,
    copper_ohm_per_m,
    metric_cable_ohm_per_m,
    metric_conductor,
    metric_sizes_mm2,
    temperature_factor,
    voltage_drop_v,
)

FOOT_M = 0.3048
INCH_MM = 25.4
DATA = Path(__file__).parent / "data"


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        found = list(csv.DictReader(file))
    assert found, name
    return found


def shipped(name: str) -> list[dict[str, str]]:
    with (rulesets_folder() / "tables" / name).open(encoding="utf-8", newline="") as file:
        found = list(csv.DictReader(file))
    assert found, name
    return found


@pytest.mark.parametrize("row", rows("nbs_copper_tables.csv"), ids=lambda row: row["gauge"])
def test_gauges_agree_with_the_copper_wire_tables(row: dict[str, str]) -> None:
    """NBS Handbook 100 and Circular 31, whose last figures differ by the rounding of the diameter."""
    tolerance = float(row["tolerance"])
    number = int(row["number"])
    ohm_per_1000ft = awg_ohm_per_m(number, stranded=False) * 1000 * FOOT_M
    assert ohm_per_1000ft == pytest.approx(float(row["c31_ohm_per_1000ft"]), rel=tolerance)
    # Handbook 100 computes from diameters rounded to 0.1 mil, as B258 prints them
    rounded_mm = round(awg_diameter_mm(number) / INCH_MM * 1000, 1) / 1000 * INCH_MM
    from_rounded = copper_ohm_per_m(math.pi / 4 * rounded_mm**2) * 1000 * FOOT_M
    assert from_rounded == pytest.approx(float(row["h100_ohm_per_1000ft"]), rel=tolerance)
    assert rounded_mm / INCH_MM * 1000 == pytest.approx(float(row["b258_diameter_mil"]), abs=0.06)


@pytest.mark.parametrize("row", rows("b258_tables.csv"), ids=lambda row: row["gauge"])
def test_gauges_agree_with_diameters_and_masses_that_were_read(row: dict[str, str]) -> None:
    number = int(row["number"])
    if row["diameter_in"]:
        assert awg_diameter_mm(number) / INCH_MM == pytest.approx(float(row["diameter_in"]), abs=0.5e-4)
    if row["solid_lb_per_1000ft"]:
        # 8.89 g/cm3: NBS Handbook 100
        kg_per_1000ft = awg_area_mm2(number) * 1e-6 * 8890 * 1000 * FOOT_M
        assert kg_per_1000ft / 0.45359237 == pytest.approx(float(row["solid_lb_per_1000ft"]), rel=1.5e-3)


def test_defining_gauges_of_b258() -> None:
    assert awg_diameter_mm(36) == pytest.approx(0.005 * INCH_MM, rel=1e-12)
    assert awg_diameter_mm(-3) == pytest.approx(0.46 * INCH_MM, rel=1e-12)


def test_stranding_adds_two_per_cent() -> None:
    for number in range(-3, 41):
        assert awg_ohm_per_m(number) / awg_ohm_per_m(number, stranded=False) == pytest.approx(1.02)
        assert awg_area_mm2(number) == pytest.approx(math.pi / 4 * awg_diameter_mm(number) ** 2)
    assert "lay factor 1.02" in awg_conductor(20).source.basis
    assert "solid" in awg_conductor(20, stranded=False).source.basis


@pytest.mark.parametrize("row", rows("iso6722_maxima.csv"), ids=lambda row: row["csa_mm2"])
def test_metric_cable_by_iso_6722(row: dict[str, str]) -> None:
    size_mm2 = float(row["csa_mm2"])
    maximum = float(row["max_plain_mohm_per_m"]) * 1e-3
    assert metric_cable_ohm_per_m(size_mm2) == pytest.approx(maximum, rel=1e-12)
    assert metric_conductor(size_mm2).source.method == "iso6722"


@pytest.mark.parametrize("row", rows("iec60228_class5.csv"), ids=lambda row: row["csa_mm2"])
def test_road_vehicle_cable_stands_between_copper_and_building_wire(row: dict[str, str]) -> None:
    """IEC 60228 class 5 is the wider limit; no conductor beats solid copper of its nominal area by much.

    Nominal areas are labels: 0.97 covers the widest rounding in either table.
    """
    size_mm2 = float(row["csa_mm2"])
    ohm_per_km = metric_cable_ohm_per_m(size_mm2) * 1000
    assert ohm_per_km <= float(row["max_plain_ohm_per_km"])
    assert ohm_per_km >= 0.97 * 17.241 / size_mm2


def test_doubtful_sizes_say_so() -> None:
    doubtful = {size for size in metric_sizes_mm2() if metric_conductor(size).source.doubt}
    assert doubtful == {0.13, 0.35, 5.0, 20.0, 30.0}
    assert metric_cable_ohm_per_m(0.35) == pytest.approx(54.4e-3)
    assert "52.0" in metric_conductor(0.35).source.doubt
    assert "from memory, not read" in metric_conductor(0.75).source.source


def test_a_size_that_is_not_tabulated_is_copper_of_its_area() -> None:
    found = metric_conductor(0.6)
    assert found.source.method == "resistivity"
    assert "0.6 mm²" in found.source.basis and "1.08" in found.source.basis
    assert found.ohm_per_m() == pytest.approx(17.241e-3 * 1.08 / 0.6)
    # near a nominal, but another size
    assert metric_conductor(0.752).source.method == "resistivity"
    assert metric_conductor(0.7500001) is not metric_conductor(0.6)
    assert metric_conductor(0.7500001).source.method == "iso6722"
    assert metric_conductor(400.0).source.method == "resistivity"


@pytest.mark.parametrize("row", rows("ac4313_voltage_drop.csv"), ids=lambda row: row["id"])
def test_voltage_drop_examples_of_ac_43_13(row: dict[str, str]) -> None:
    drop_v = voltage_drop_v(
        float(row["ohm_per_ft"]) / FOOT_M, float(row["length_ft"]) * FOOT_M, float(row["current_a"])
    )
    assert drop_v == pytest.approx(float(row["published_v"]), rel=float(row["relative_tolerance"]))


def example(name: str) -> dict[str, str]:
    return next(row for row in rows("worked_examples.csv") if row["id"] == name)


def test_gauge_chosen_as_in_ac_43_13() -> None:
    """1 V over 50 ft at 20 A: the thinnest even gauge that holds it."""
    thinnest = next(
        awg for awg in range(24, -1, -2) if voltage_drop_v(awg_ohm_per_m(awg), 50 * FOOT_M, 20.0) <= 1.0
    )
    assert thinnest == int(example("VD9")["published"])


def test_lay_factor_example_of_iec_60228() -> None:
    row = example("R1")
    assert copper_ohm_per_m(2.5, 1.03) * 1000 == pytest.approx(
        float(row["published"]), rel=float(row["relative_tolerance"])
    )


@given(st.floats(-60, 260))
def test_temperature_factor_agrees_with_ac_43_13(t_degc: float) -> None:
    """AC 43.13-1B 11-66d(4): L2 = 254.5 L1 / (234.5 + T2); 234.5 against 234.45 is 2 in 10,000."""
    assert temperature_factor(t_degc) == pytest.approx((234.5 + t_degc) / 254.5, rel=4e-4)


def test_temperature_reaches_every_function() -> None:
    assert temperature_factor(20.0) == 1.0
    assert temperature_factor(120.0) == pytest.approx(1.393)
    for hot, cold in (
        (metric_cable_ohm_per_m(0.75, 120.0), metric_cable_ohm_per_m(0.75)),
        (awg_ohm_per_m(18, 120.0), awg_ohm_per_m(18)),
        (copper_ohm_per_m(1.0, 1.0, 120.0), copper_ohm_per_m(1.0)),
    ):
        assert hot / cold == pytest.approx(1.393)


@pytest.mark.parametrize("size", [0.0, -1.0, math.nan, math.inf])
def test_sizes_that_are_none(size: float) -> None:
    with pytest.raises(ValueError, match="mm² is no cross-section: give a number above zero"):
        metric_cable_ohm_per_m(size)
    with pytest.raises(ValueError, match="mm² is no cross-section"):
        copper_ohm_per_m(size)


@pytest.mark.parametrize("awg", [-4, 41, 500, 20.5, math.nan])
def test_gauges_that_are_none(awg: float) -> None:
    for function in (awg_diameter_mm, awg_area_mm2, awg_ohm_per_m):
        with pytest.raises(ValueError, match="between 4/0 and 40"):
            function(awg)  # type: ignore[arg-type, operator]


@pytest.mark.parametrize(
    ("call", "text"),
    [
        (lambda: temperature_factor(-240.0), "above -234 °C"),
        (lambda: temperature_factor(math.nan), "no temperature"),
        (lambda: copper_ohm_per_m(1.0, 0.9), "no lay factor"),
        (lambda: voltage_drop_v(-1.0, 1.0, 1.0), "no resistance per metre"),
        (lambda: voltage_drop_v(1.0, -1.0, 1.0), "no length"),
        (lambda: voltage_drop_v(1.0, math.nan, 1.0), "no length"),
        (lambda: voltage_drop_v(1.0, 1.0, math.inf), "no current"),
    ],
)
def test_arguments_out_of_range_are_told_in_words(call, text: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ValueError, match=text):
        call()


def test_a_return_current_keeps_its_sign() -> None:
    assert voltage_drop_v(0.02, 2.0, -5.0) == pytest.approx(-0.2)


@given(st.floats(0.01, 500), st.floats(1.002, 10))
def test_more_copper_off_the_table_never_resists_more(size_mm2: float, ratio: float) -> None:
    thin, thick = copper_ohm_per_m(size_mm2), copper_ohm_per_m(size_mm2 * ratio)
    assert thick < thin


def test_tabulated_sizes_fall_with_area() -> None:
    sizes = metric_sizes_mm2()
    assert sizes == tuple(sorted(sizes)) and len(sizes) == 28
    resistances = [metric_cable_ohm_per_m(size) for size in sizes]
    assert all(b < a for a, b in pairwise(resistances))


def test_every_shipped_row_names_its_source() -> None:
    folder = rulesets_folder() / "tables"
    for path in sorted(folder.glob("*.csv")):
        for number, row in enumerate(shipped(path.name), start=2):
            assert (row.get("source") or "").strip(), f"{path.name} line {number}"
            assert None not in row, f"{path.name} line {number} has more cells than headings"


def test_shipped_gauge_table_is_the_formula() -> None:
    for row in shipped("awg_copper.csv"):
        number = int(row["number"])
        assert float(row["diameter_mm"]) == pytest.approx(awg_diameter_mm(number), rel=2e-5)
        assert float(row["area_mm2"]) == pytest.approx(awg_area_mm2(number), rel=1e-4)
        solid = awg_ohm_per_m(number, stranded=False)
        assert float(row["solid_ohm_per_km_20degc"]) == pytest.approx(solid * 1000, rel=1e-4)


@pytest.mark.parametrize(
    "text", [None, "", "csa_mm2,other\n1,2\n", "csa_mm2,max_plain_mohm_per_m,doubt,source\nx,1,,\n"]
)
def test_a_damaged_table_is_one_sentence(
    text: str | None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "tables").mkdir()
    if text is not None:
        (tmp_path / "tables" / "iso6722_copper.csv").write_text(text, encoding="utf-8")
    monkeypatch.setattr(conductor, "rulesets_folder", lambda: tmp_path)
    conductor._iso6722.cache_clear()
    try:
        with pytest.raises(FileUnreadableError, match=r"iso6722_copper\.csv: the shipped table .* again"):
            conductor.metric_sizes_mm2()
    finally:
        conductor._iso6722.cache_clear()
