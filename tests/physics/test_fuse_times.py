"""How long fuses take to open, against the limits of their standards."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from fuse_rows import TIMED, needs_shared, reference_rows
from hypothesis import given
from hypothesis import strategies as st

from harnessdrc.errors import FileUnreadableError
from harnessdrc.physics import fuse_times, fuses, shipped_tables

multiples = st.floats(0.5, 20.0)


@needs_shared
def test_every_limit_of_the_reference_stands_at_its_point() -> None:
    seen = 0
    for family, row in reference_rows("fuse_time_current.csv"):
        percent = float(row["percent_of_rating"])
        shortest, longest = fuse_times.clearing_time_s(family, 100.0, percent)
        assert shortest == pytest.approx(float(row["t_min_s"])), (family, percent)
        assert longest == (pytest.approx(float(row["t_max_s"])) if row["t_max_s"] else None), (family, percent)
        seen += 1
    assert seen == sum(len(fuse_times.fuse_limits(family)) for family in TIMED) == 27


def test_limits_of_blades_that_were_read() -> None:
    """110 %: 100 h; 135 %: 0.75 to 600 s."""
    assert fuse_times.clearing_time_s("regular blade", 10.0, 11.0) == (360000.0, None)
    assert fuse_times.clearing_time_s("regular blade", 10.0, 13.5) == (0.75, 600.0)


def test_between_two_points_straight_over_the_logarithms() -> None:
    """Worked by hand at the middle of 200 and 350 %: the geometric means of the times."""
    shortest, longest = fuse_times.clearing_time_s("regular blade", 10.0, 10.0 * math.sqrt(2.0 * 3.5))
    assert shortest == pytest.approx(math.sqrt(0.15 * 0.04))
    assert longest == pytest.approx(math.sqrt(5.0 * 0.5))


def test_where_a_fuse_may_never_open() -> None:
    assert fuse_times.clearing_time_s("mini blade", 15.0, 15.0) == (None, None)
    assert fuse_times.clearing_time_s("mini blade", 15.0, 0.0) == (None, None)
    shortest, longest = fuse_times.clearing_time_s("mini blade", 15.0, 18.0)
    assert longest is None and shortest is not None and 0.75 < shortest < 360000.0
    assert fuse_times.let_through_a2s("mini blade", 15.0, 18.0) is None


def test_above_the_last_point_the_time_stays_and_so_does_the_energy() -> None:
    assert fuse_times.clearing_time_s("regular blade", 10.0, 60.0) == fuse_times.clearing_time_s("regular blade", 10.0, 900.0)
    assert fuse_times.let_through_a2s("regular blade", 10.0, 60.0) == pytest.approx(60.0**2 * 0.1)
    assert fuse_times.let_through_a2s("regular blade", 10.0, 900.0) == pytest.approx(60.0**2 * 0.1)
    assert fuse_times.let_through_a2s("regular blade", 10.0, 35.0) == pytest.approx(35.0**2 * 0.5)


@pytest.mark.parametrize(
    ("family", "opens", "holds"),
    [("regular blade", 1.35, 1.1), ("mini blade", 1.35, 1.1), ("maxi blade", 1.35, 1.1), ("bolt-down 30 mm", 1.5, 1.0),
     ("bolt-down 51 mm", 1.35, 1.0)],
)  # fmt: skip
def test_sure_to_open_and_sure_to_hold(family: str, opens: float, holds: float) -> None:
    assert fuse_times.sure_to_open_a(family, 60.0) == pytest.approx(opens * 60.0)
    assert fuse_times.sure_to_hold_a(family, 60.0) == pytest.approx(holds * 60.0)


@given(family=st.sampled_from(TIMED), rating=st.floats(1.0, 300.0), first=multiples, second=multiples)
def test_more_current_never_takes_longer(family: str, rating: float, first: float, second: float) -> None:
    low, high = (fuse_times.clearing_time_s(family, rating, rating * each) for each in sorted((first, second)))
    for slow, fast in zip(low, high, strict=True):
        if slow is not None:
            assert fast is not None and fast <= slow * (1 + 1e-12)
    for shortest, longest in (low, high):
        assert longest is None or (shortest is not None and shortest <= longest)


@given(family=st.sampled_from(TIMED), current=st.floats(10.0, 2000.0), first=st.floats(1.0, 300.0), second=st.floats(1.0, 300.0))
def test_a_larger_fuse_never_opens_sooner(family: str, current: float, first: float, second: float) -> None:
    small, large = (fuse_times.clearing_time_s(family, each, current) for each in sorted((first, second)))
    for fast, slow in zip(small, large, strict=True):
        assert slow is None or (fast is not None and fast <= slow * (1 + 1e-12))
    opens = [fuse_times.sure_to_open_a(family, each) for each in sorted((first, second))]
    assert opens[0] is not None and opens[1] is not None and opens[0] <= opens[1]


@pytest.mark.parametrize(
    "text", [None, "", "family,percent_of_rating,shortest_s,longest_s,doubt,source\nmini blade,135,5,1,,x\n", "a,b\n1,2\n",
             "family,percent_of_rating,shortest_s,longest_s,doubt,source\nmini blade,135,1,5,,\n"]
)  # fmt: skip
def test_a_damaged_table_is_told_with_its_file(
    text: str | None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fuses.fuse_families()
    monkeypatch.setattr(shipped_tables, "rulesets_folder", lambda: tmp_path)
    (tmp_path / "tables").mkdir()
    if text is not None:
        (tmp_path / "tables" / "fuse_times.csv").write_text(text, encoding="utf-8")
    fuse_times._limits.cache_clear()
    try:
        with pytest.raises(FileUnreadableError, match=r"fuse_times\.csv.*Install harnessdrc again\."):
            fuse_times.fuse_limits("mini blade")
    finally:
        fuse_times._limits.cache_clear()


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: fuse_times.clearing_time_s("bottle cap", 10.0, 20.0), "no family"),
        (lambda: fuse_times.clearing_time_s("mini blade", 0.0, 20.0), "rating"),
        (lambda: fuse_times.clearing_time_s("mini blade", 10.0, -1.0), "current"),
        (lambda: fuse_times.clearing_time_s("mini blade", 10.0, math.nan), "current"),
        (lambda: fuse_times.sure_to_open_a("mini blade", math.nan), "rating"),
    ],
)
def test_what_is_no_fuse_is_refused(call: object, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        call()  # type: ignore[operator]
