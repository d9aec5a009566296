"""Bundles against exact packings, published weights and the tables they come from."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdrc.datafiles import rulesets_folder
from harnessdrc.errors import FileUnreadableError
from harnessdrc.physics import bundles, shipped_tables
from harnessdrc.physics.conductor import awg_area_mm2

SHARED = Path(__file__).parent.parent.parent / ".." / "shared" / "reference"
LB_PER_1000_FT = 0.45359237 / 304.8


@pytest.mark.parametrize(("wires", "ratio"), [(1, 1.0), (2, 2.0), (3, 2.155), (4, 2.414), (5, 2.701), (6, 3.0), (7, 3.0), (8, 3.304), (19, 4.863)])
def test_exact_packs(wires: int, ratio: float) -> None:
    assert bundles.equal_pack_ratio(wires) == pytest.approx(ratio, abs=1e-3)
    assert bundles.closest_pack_mm([1.7] * wires) == pytest.approx(1.7 * ratio, abs=2e-3)


def test_seven_fill_a_hexagon_and_none_beats_the_densest() -> None:
    assert bundles.equal_pack_ratio(7) == 3.0  # one in the middle, six round it
    for wires in range(2, 500):
        ratio = bundles.equal_pack_ratio(wires)
        assert ratio >= math.sqrt(wires / 0.9069) - 1e-3
        assert ratio >= bundles.equal_pack_ratio(wires - 1)
    rings = 6  # a hexagon of wires can be laid: the bound may not lie above what is possible
    assert bundles.equal_pack_ratio(1 + 3 * rings * (rings + 1)) <= 2 * rings + 1


@pytest.mark.parametrize(("wires", "rule", "floored"), [(2, 1.697, 2.0), (3, 2.078, 2.155), (4, 2.400, 2.414), (5, 2.683, 2.701), (6, 2.939, 3.0), (7, 3.175, 3.175), (8, 3.394, 3.394), (9, 3.600, 3.613), (10, 3.795, 3.813), (11, 3.980, 3.980), (19, 5.231, 5.231)])
def test_the_rule_of_the_trade_has_a_floor(wires: int, rule: float, floored: float) -> None:
    assert pytest.approx(rule, abs=1e-3) == bundles.LOOSE_PACK * math.sqrt(wires)
    assert bundles.bundle_diameter_mm([1.0] * wires) == pytest.approx(floored, abs=1e-3)


def test_twenty_four_wires_of_2_mm() -> None:
    assert bundles.bundle_diameter_mm([2.0] * 24) == pytest.approx(11.76, abs=5e-3)


def test_wires_of_several_diameters() -> None:
    assert bundles.bundle_diameter_mm([2.4]) == 2.4
    assert bundles.bundle_diameter_mm([6.0, 1.4]) == pytest.approx(7.4)
    # two of 2 mm leave room for a third of 4/3 mm beside them: Descartes by hand
    assert bundles.closest_pack_mm([2.0, 2.0, 4.0 / 3.0]) == pytest.approx(4.0)
    assert bundles.closest_pack_mm([2.0, 2.0, 1.4]) > 4.0
    assert bundles.closest_pack_mm([1.0, 1.0, 1.0]) == pytest.approx(1.0 + 2.0 / math.sqrt(3.0))
    # curvatures 2, 2, 3 go into the circle of curvature 1, the classic one of Descartes' theorem
    assert bundles.closest_pack_mm([1.0, 1.0, 2.0 / 3.0]) == pytest.approx(2.0)
    # 3, 4 and 5 mm touching: 1 / (2 √(1/12 + 1/20 + 1/15) - 47/60) = 1 / (2 √0.2 - 0.78333)
    assert bundles.closest_pack_mm([4.0, 3.0, 5.0]) == pytest.approx(1.0 / (2.0 * math.sqrt(0.2) - 47.0 / 60.0))


diameters = st.lists(st.floats(0.5, 20.0), min_size=1, max_size=60)


@given(wires=diameters, one=st.floats(0.5, 20.0))
def test_one_wire_more_never_makes_a_bundle_thinner(wires: list[float], one: float) -> None:
    assert bundles.bundle_diameter_mm([*wires, one]) >= bundles.bundle_diameter_mm(wires) * (1 - 1e-12)
    assert bundles.closest_pack_mm([*wires, one]) >= bundles.closest_pack_mm(wires) * (1 - 1e-12)


@given(wires=diameters, more=st.floats(1.0, 3.0), seed=st.randoms())
def test_thicker_wires_and_another_order(wires: list[float], more: float, seed: object) -> None:
    whole = bundles.bundle_diameter_mm(wires)
    assert bundles.bundle_diameter_mm([wires[0] * more, *wires[1:]]) >= whole * (1 - 1e-12)
    assert bundles.bundle_diameter_mm(wires[::-1]) == pytest.approx(whole, rel=1e-12)
    assert bundles.bundle_diameter_mm([each * more for each in wires]) == pytest.approx(whole * more, rel=1e-9)
    assert bundles.closest_pack_mm(wires) <= sum(wires) * (1 + 1e-12)  # all in one row is always possible


def test_bend_radii() -> None:
    assert bundles.least_bend_radius_mm(2.4) == pytest.approx(24.0)
    assert bundles.least_bend_radius_mm(2.4, bundles.BEND_BUNDLE_AT_TERMINAL) == pytest.approx(7.2)
    assert bundles.least_bend_radius_mm(6.0, bundles.BEND_CABLE) == pytest.approx(36.0)
    assert bundles.least_bend_radius_mm(6.0, bundles.BEND_CABLE_LONG_SERVICE) == pytest.approx(60.0)


@pytest.mark.parametrize(("awg", "lb"), [(10, 31.43), (12, 19.77), (14, 12.43), (16, 7.818), (18, 4.917), (20, 3.092), (22, 1.945)])
def test_published_weights_of_solid_gauges(awg: int, lb: float) -> None:
    """lb per 1,000 ft, read in conductor tables."""
    assert bundles.conductor_kg_per_m(awg_area_mm2(awg), 1.0) / LB_PER_1000_FT == pytest.approx(lb, rel=1e-3)
    assert bundles.conductor_kg_per_m(awg_area_mm2(awg)) / LB_PER_1000_FT == pytest.approx(1.02 * lb, rel=1e-3)


def test_outer_diameters_of_the_table() -> None:
    half = bundles.metric_outer_diameter(0.5)
    assert half is not None and (half.mm, half.kind) == (1.7, "maximum") and "1.6 mm" in half.doubt and "read" in half.source
    tiny = bundles.metric_outer_diameter(0.35)
    assert tiny is not None and tiny.mm == 1.4 and "from memory" in tiny.source
    gauge = bundles.awg_outer_diameter(16)
    assert gauge is not None and (gauge.mm, gauge.kind) == (3.0, "nominal") and "GXL" in gauge.source


@pytest.mark.skipif(not SHARED.exists(), reason="the folder with the reference figures is not beside the checkout")
def test_outer_diameters_are_those_of_the_reference() -> None:
    def rows(name: str) -> list[dict[str, str]]:
        with (SHARED / name).open(encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file))

    read = {float(row["mm2"]): float(row["max_OD_mm"]) for row in rows("thinwall_cable_read.csv")}
    memory = {float(row["mm2"]): float(row["thin_wall_OD_max_mm"]) for row in rows("iso6722_copper.csv")}
    assert len(read) == 12
    for size, mm in {**memory, **read}.items():
        found = bundles.metric_outer_diameter(size)
        assert found is not None and found.mm == mm and ("from memory" in found.source) is (size not in read)
    for row in rows("sae_j1128.csv"):
        if row["OD_GXL_nom_mm"]:
            gauge = bundles.awg_outer_diameter(int(row["sae_awg"]))
            assert gauge is not None and gauge.mm == float(row["OD_GXL_nom_mm"])


def test_sizes_that_the_table_does_not_have() -> None:
    between = bundles.metric_outer_diameter((math.sqrt(0.5) + math.sqrt(0.75)) ** 2 / 4.0)
    assert between is not None and between.mm == pytest.approx((1.7 + 1.9) / 2.0)
    assert between.kind == "between sizes" and "0.5 and 0.75 mm²" in between.doubt
    gauge = bundles.awg_outer_diameter(22)  # 0.326 mm², between 0.22 (1.2 mm) and 0.35 (1.4 mm)
    assert gauge is not None and 1.3 < gauge.mm < 1.4 and gauge.doubt
    assert bundles.awg_outer_diameter(26) is not None and bundles.awg_outer_diameter(28) is None
    assert bundles.awg_outer_diameter(-3) is not None
    assert bundles.metric_outer_diameter(0.05) is None and bundles.metric_outer_diameter(240.0) is None


@given(first=st.floats(0.125, 125.0), second=st.floats(0.125, 125.0))
def test_more_copper_is_never_thinner(first: float, second: float) -> None:
    thin, thick = (bundles.metric_outer_diameter(each) for each in sorted((first, second)))
    assert thin is not None and thick is not None and thin.mm <= thick.mm + 2e-3


@pytest.mark.parametrize(
    "call",
    [
        lambda: bundles.bundle_diameter_mm([]),
        lambda: bundles.bundle_diameter_mm([2.0, 0.0]),
        lambda: bundles.bundle_diameter_mm([2.0, math.nan]),
        lambda: bundles.bundle_diameter_mm([math.nan, 2.0]),
        lambda: bundles.closest_pack_mm([math.inf]),
        lambda: bundles.equal_pack_ratio(0),
        lambda: bundles.least_bend_radius_mm(-1.0),
        lambda: bundles.least_bend_radius_mm(1.0, 0.0),
        lambda: bundles.conductor_kg_per_m(0.0),
        lambda: bundles.conductor_kg_per_m(1.0, 0.9),
        lambda: bundles.metric_outer_diameter(0.0),
        lambda: bundles.awg_outer_diameter(50),
    ],
)
def test_what_is_no_bundle_is_refused(call: object) -> None:
    with pytest.raises(ValueError, match=r"give|above zero|at least"):
        call()  # type: ignore[operator]


def test_each_row_says_read_or_from_memory() -> None:
    with (rulesets_folder() / "tables" / "outer_diameters.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert rows and all("read" in row["source"] for row in rows)


@pytest.mark.parametrize("text", [None, "", "system,size,metal_mm2,outer_diameter_mm,kind,doubt,source\ncubits,1,1,1,x,,x\n"])
def test_a_damaged_table_is_told_with_its_file(text: str | None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shipped_tables, "rulesets_folder", lambda: tmp_path)
    (tmp_path / "tables").mkdir()
    if text is not None:
        (tmp_path / "tables" / "outer_diameters.csv").write_text(text, encoding="utf-8")
    bundles._table.cache_clear()
    bundles.metric_outer_diameter.cache_clear()
    try:
        with pytest.raises(FileUnreadableError, match=r"outer_diameters\.csv.*Install harnessdrc again\."):
            bundles.metric_outer_diameter(1.0)
    finally:
        bundles._table.cache_clear()
