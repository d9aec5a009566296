"""Twisting against the published reductions, and how the figures run between and beyond them."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdrc.datafiles import rulesets_folder
from harnessdrc.errors import FileUnreadableError
from harnessdrc.physics import shipped_tables
from harnessdrc.physics.twisting import LOW_MOST_DB, USUAL_MOST_DB, TwistTable, twist_reduction, twist_table

INCH_M = 0.0254
PUBLISHED = [(1.0, 43.0, 141.0), (2.0, 41.0, 112.0), (3.0, 37.0, 71.0), (4.0, 23.0, 14.0)]
"""Lay in inches, reduction in dB and as a ratio: Klipec 1967, repeated by Ott, from memory."""


@pytest.mark.parametrize(("lay_in", "db", "ratio"), PUBLISHED)
def test_the_published_figures(lay_in: float, db: float, ratio: float) -> None:
    found = twist_reduction(lay_in * INCH_M)
    assert found.high_db == pytest.approx(db, abs=1e-9)
    assert found.db == pytest.approx(min(db, 40.0), abs=1e-9)
    assert found.low_db == pytest.approx(min(db, 30.0), abs=1e-9)
    # published as whole dB and as whole ratios: they agree to half a dB
    assert 10.0 ** (found.high_db / 20.0) == pytest.approx(ratio, rel=0.03)


def test_between_two_lays_the_figure_runs_straight_over_the_logarithm() -> None:
    middle = twist_reduction(math.sqrt(3.0 * 4.0) * INCH_M)
    assert middle.high_db == pytest.approx((37.0 + 23.0) / 2.0, abs=1e-9)
    third = twist_reduction(2.0 * (3.0 / 2.0) ** (1.0 / 3.0) * INCH_M)
    assert third.high_db == pytest.approx(41.0 - 4.0 / 3.0, abs=1e-9)


def test_a_lay_of_40_mm_as_looms_have_it() -> None:
    """40 mm lies between 1 in and 2 in, worked by hand: 43 - 2 log(40 / 25.4) / log 2 = 41.69 dB."""
    found = twist_reduction(0.040)
    assert (found.db, found.low_db) == (40.0, 30.0)
    assert found.high_db == pytest.approx(41.690, abs=5e-4)


def test_beyond_4_inches_the_residue_goes_with_the_lay() -> None:
    assert twist_reduction(8.0 * INCH_M).db == pytest.approx(23.0 - 20.0 * math.log10(2.0), abs=1e-9)
    assert twist_reduction(0.5).db == pytest.approx(9.158, abs=1e-3)
    whole_m = twist_table().longest_m
    assert whole_m == pytest.approx(1.435, abs=1e-3)
    assert twist_reduction(whole_m).db == pytest.approx(0.0, abs=1e-9)
    assert twist_reduction(whole_m * 0.99).db > 0.0
    for lay_m in (whole_m * 1.01, 100.0, math.inf):
        found = twist_reduction(lay_m)
        assert found.db == found.low_db == found.high_db == 0.0


def test_nothing_better_than_the_shortest_lay_measured() -> None:
    assert twist_reduction(1e-4).high_db == twist_reduction(INCH_M).high_db == 43.0


@given(first=st.floats(1e-3, 5.0), second=st.floats(1e-3, 5.0))
def test_a_shorter_lay_is_never_worse(first: float, second: float) -> None:
    short, long = twist_reduction(min(first, second)), twist_reduction(max(first, second))
    assert (short.low_db, short.db, short.high_db) >= (long.low_db, long.db, long.high_db)
    assert short.low_db >= long.low_db and short.high_db >= long.high_db
    for each in (short, long):
        assert 0.0 <= each.low_db <= each.db <= each.high_db
        assert each.db <= USUAL_MOST_DB and each.low_db <= LOW_MOST_DB


@pytest.mark.parametrize("lay_in", [1.0, 2.0, 3.0, 4.0])
def test_no_step_at_a_row(lay_in: float) -> None:
    below, above = (twist_reduction(lay_in * INCH_M * (1.0 + side * 1e-9)).high_db for side in (-1.0, 1.0))
    assert below == pytest.approx(above, abs=1e-6)


@pytest.mark.parametrize("wrong", [0.0, -0.04, math.nan, -math.inf])
def test_a_lay_that_is_none(wrong: float) -> None:
    with pytest.raises(ValueError, match="lay"):
        twist_reduction(wrong)


def test_each_row_of_the_table_cites_its_source_and_agrees_with_itself() -> None:
    with (rulesets_folder() / "tables" / "twist_reduction.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == len(PUBLISHED)
    for row in rows:
        assert "Klipec 1967" in row["source"] and "from memory" in row["source"]
        assert float(row["lay_mm"]) == pytest.approx(float(row["lay_in"]) * 25.4, rel=1e-12)
        assert 20.0 * math.log10(float(row["ratio"])) == pytest.approx(float(row["reduction_db"]), abs=0.5)


@pytest.mark.parametrize(
    ("lay_m", "db"),
    [((0.1,), (20.0,)), ((0.1, 0.05), (30.0, 20.0)), ((0.05, 0.1), (20.0, 30.0)), ((0.05, 0.1), (20.0, 0.0)),
     ((0.0, 0.1), (20.0, 10.0)), ((0.05, 0.1), (20.0,)), ((0.05, math.nan), (20.0, 10.0))],
)  # fmt: skip
def test_a_table_that_is_out_of_order(lay_m: tuple[float, ...], db: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match="rising lay"):
        TwistTable(lay_m, db)


@pytest.mark.parametrize(
    "text", [None, "", "lay_mm,reduction_db\n10,40\n", "lay_mm,reduction_db\n10,x\n20,3\n", "a,b\n1,2\n3,4\n"]
)
def test_a_damaged_table_is_told_with_its_file(
    text: str | None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shipped_tables, "rulesets_folder", lambda: tmp_path)
    (tmp_path / "tables").mkdir()
    if text is not None:
        (tmp_path / "tables" / "twist_reduction.csv").write_text(text, encoding="utf-8")
    twist_table.cache_clear()
    try:
        with pytest.raises(FileUnreadableError, match=r"twist_reduction\.csv.*Install harnessdrc again\."):
            twist_table()
    finally:
        twist_table.cache_clear()
