"""Tables of allowed currents: how figures run between and beyond their rows, and what a damaged table is told as."""

from __future__ import annotations

import csv
import math
import shutil
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from harnessdrc.datafiles import rulesets_folder
from harnessdrc.errors import FileUnreadableError
from harnessdrc.physics import derating, free_air, shipped_tables
from harnessdrc.physics.ampacity import allowed_a
from harnessdrc.physics.conductor import metric_sizes_mm2
from harnessdrc.physics.derating import altitude_factor, bundle_factor
from harnessdrc.physics.free_air import free_air_a, free_air_source

TABLES = rulesets_folder() / "tables"


# --- how the figures run between and beyond the rows ----------------------------------------------


def test_every_row_of_the_bundle_table_is_met() -> None:
    with (TABLES / "bundle_derating.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [int(row["wires"]) for row in rows] == [*range(1, 20), 35]
    for row in rows:
        for percent in (20, 40, 60, 80, 100):
            if row[f"loading_{percent}"]:
                expected = float(row[f"loading_{percent}"])
                assert bundle_factor(int(row["wires"]), percent / 100) == pytest.approx(expected, rel=1e-12)


def test_between_loadings_and_below_20_percent() -> None:
    # half way between 20 and 40 % on a logarithmic scale, 8 wires
    assert bundle_factor(8, math.sqrt(0.2 * 0.4)) == pytest.approx(math.sqrt(0.795 * 0.6675), rel=1e-12)
    assert bundle_factor(8, [0.0, 0.05, 0.2]) == pytest.approx([0.795] * 3, rel=1e-12)


def test_beyond_19_wires_the_curves_go_on_with_their_slope() -> None:
    slope = math.log(0.52 / 0.625) / math.log(35 / 19)
    assert bundle_factor(26, 0.2) == pytest.approx(0.625 * (26 / 19) ** slope, rel=1e-12)
    # quiet wires beside loaded ones never allow more than the loaded ones alone
    assert bundle_factor(200, 0.2) == pytest.approx(min(bundle_factor(40 / part, part) for part in (0.4, 0.6, 0.8, 1.0)))
    assert bundle_factor(200, 0.2) < 0.52 * (200 / 35) ** slope
    for loading, last in ((0.4, 0.495), (0.6, 0.4225), (0.8, 0.38), (1.0, 0.3425)):
        slopes = np.diff(np.log(bundle_factor([19, 27, 35], loading))) / np.diff(np.log([19, 27, 35]))
        assert slopes == pytest.approx([slopes[0]] * 2, rel=1e-9)
        assert -0.5 <= slopes[0] < slope, loading
        tail = np.arange(12, 19)
        fitted = (
            np.log(tail / 19) @ np.log(bundle_factor(tail, loading) / last) / (np.log(tail / 19) @ np.log(tail / 19))
        )
        assert slopes[0] == pytest.approx(float(fitted), rel=1e-9)
        assert bundle_factor(19.0001, loading) == pytest.approx(last, rel=1e-4)


def test_the_altitude_between_the_rows_and_below_the_sea() -> None:
    assert altitude_factor([-400.0, 0.0, 1524.0, 6096.0, 30_480.0]) == pytest.approx([1.0, 1.0, 0.975, 0.91, 0.75])


def test_a_metric_size_with_the_copper_of_a_gauged_wire_carries_the_same() -> None:
    with (TABLES / "free_air_current.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            gauge, area = int(row["number"]), float(row["conductor_mm2"])
            by_law = float(row["coefficient_b"]) * 90.0 ** float(row["exponent_m"])
            assert free_air_a(90.0, awg=gauge) == pytest.approx(by_law, rel=1e-12)
            assert free_air_a(90.0, csa_mm2=area) == pytest.approx(by_law, rel=1e-12)
            for point in row["points_k_a"].split():
                rise_k, amps = map(float, point.split(":"))
                assert free_air_a(rise_k, awg=gauge) == pytest.approx(amps, rel=0.031)


def test_a_metric_size_lies_between_its_neighbours_on_a_logarithmic_scale() -> None:
    """2.5 mm², 65 K, by hand: 14 (1.9412 mm², 31.35 A) and 12 (2.9764 mm², 41.84 A), 59.2 % of the way."""
    assert free_air_a(65.0, csa_mm2=2.5) == pytest.approx(31.35 * (41.84 / 31.35) ** 0.592, rel=1e-3)


def test_gauges_between_and_beyond_the_rows() -> None:
    eleven = free_air_a(60.0, awg=[12, 11, 10])
    assert eleven[1] == pytest.approx(math.sqrt(eleven[0] * eleven[2]), rel=1e-12)
    fine = np.log(free_air_a(60.0, awg=[24, 26, 28, 40]))
    assert fine[1] - fine[2] == pytest.approx(fine[0] - fine[1], rel=1e-9)
    assert fine[1] - fine[3] == pytest.approx(7 * (fine[0] - fine[1]), rel=1e-9)


def test_metric_sizes_beyond_the_rows_go_on_with_the_last_slope() -> None:
    thick = np.log(free_air_a(60.0, csa_mm2=[84.3668, 106.8646, 120.0, 240.0]))
    steps = np.diff(thick) / np.diff(np.log([84.3668, 106.8646, 120.0, 240.0]))
    assert steps == pytest.approx([steps[0]] * 3, rel=1e-9)
    assert 0.5 < steps[0] < 0.85
    thin = np.log(free_air_a(60.0, csa_mm2=[0.05, 0.13, 0.154, 0.2407]))
    steps = np.diff(thin) / np.diff(np.log([0.05, 0.13, 0.154, 0.2407]))
    assert steps == pytest.approx([steps[2]] * 3, rel=1e-9)


def test_a_gauge_is_not_turned_into_a_cross_section() -> None:
    """Size 16 sold as 1.5 mm²: the label would allow a seventh more."""
    assert float(free_air_a(65.0, csa_mm2=1.5) / free_air_a(65.0, awg=16)) > 1.13


def test_where_a_curve_comes_from() -> None:
    assert free_air_source(awg=14).origin == "read"
    assert free_air_source(awg=14).doubt == ""
    assert free_air_source(awg=-3).origin == free_air_source(awg=8).origin == "fitted"
    assert free_air_source(awg=9).origin == free_air_source(awg=11).origin == "interpolated"
    assert free_air_source(awg=27).origin == free_air_source(awg=40).origin == "extrapolated"
    assert free_air_source(csa_mm2=0.13).origin == free_air_source(csa_mm2=120.0).origin == "extrapolated"
    assert {free_air_source(csa_mm2=size).origin for size in metric_sizes_mm2()[1:-1]} == {"interpolated"}
    # between 10, read, and 8, fitted: both are named
    assert all(part in free_air_source(csa_mm2=6.0).source for part in ("figure 3", "table 11-9"))
    for words in ({"awg": 8}, {"awg": 9}, {"awg": 30}, {"csa_mm2": 0.5}, {"csa_mm2": 120.0}):
        assert free_air_source(**words).doubt
        assert "memory" in free_air_source(**words).source or "read" in free_air_source(**words).source


# --- damaged tables -------------------------------------------------------------------------------


@pytest.fixture
def tables(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A copy of the shipped tables that may be damaged."""
    shutil.copytree(TABLES, tmp_path / "tables")
    monkeypatch.setattr(shipped_tables, "rulesets_folder", lambda: tmp_path)
    readers = (free_air._curves, derating._bundles, derating._altitudes)
    for each in readers:
        each.cache_clear()
    yield tmp_path / "tables"
    for each in readers:
        each.cache_clear()


@pytest.mark.parametrize(
    ("name", "old", "new"),
    [
        ("free_air_current.csv", "2.21,0.461", "9.21,0.461"),
        ("free_air_current.csv", "2.21,0.461", "many,0.461"),
        ("free_air_current.csv", "conductor_mm2", "area"),
        ("bundle_derating.csv", "0.795,", "0.995,"),
        ("bundle_derating.csv", "0.795,", ","),
        ("bundle_derating.csv", "1,1,1,1,1,1", "2,1,1,1,1,1"),
        ("altitude_derating.csv", "3048,0.95", "3048,1.95"),
        ("altitude_derating.csv", "0,0,1,", "0,0,0.99,"),
        ("altitude_derating.csv", '"AC 43.13-1B altitude curve, read p. 11-27"', ""),
    ],
)
def test_a_damaged_table_is_named(tables: Path, name: str, old: str, new: str) -> None:
    text = (tables / name).read_text(encoding="utf-8")
    assert old in text
    allowed_a(85.0, 105.0, 12, 0.4, csa_mm2=1.0)
    (tables / name).write_text(text.replace(old, new), encoding="utf-8")
    for each in (free_air._curves, derating._bundles, derating._altitudes):
        each.cache_clear()
    with pytest.raises(FileUnreadableError, match=name):
        allowed_a(85.0, 105.0, 12, 0.4, csa_mm2=1.0)


def test_a_missing_table_is_named(tables: Path) -> None:
    (tables / "bundle_derating.csv").unlink()
    with pytest.raises(FileUnreadableError, match=r"bundle_derating\.csv"):
        bundle_factor(2, 1.0)


@pytest.mark.parametrize("name", ["free_air_current.csv", "bundle_derating.csv", "altitude_derating.csv"])
def test_every_row_says_whether_it_was_read(name: str) -> None:
    with (TABLES / name).open(encoding="utf-8", newline="") as file:
        for each in csv.DictReader(file):
            assert "read" in each["source"] or "from memory" in each["source"]
