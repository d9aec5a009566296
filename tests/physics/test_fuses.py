"""Fuses against the limits of their standards, their colours, and the words of lists."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdrc.datafiles import rulesets_folder
from harnessdrc.errors import FileUnreadableError
from harnessdrc.physics import fuses, shipped_tables

SHARED = Path(__file__).parent.parent.parent / ".." / "shared" / "reference"
needs_shared = pytest.mark.skipif(
    not SHARED.exists(), reason="the folder with the reference figures is not beside the checkout"
)
TIMED = ("regular blade", "mini blade", "maxi blade", "bolt-down 30 mm", "bolt-down 51 mm")
OF_REFERENCE = {"C/F": TIMED[:2], "E high": TIMED[2:3], "bolt-down strip 30": TIMED[3:4], "bolt-down strip 51": TIMED[4:]}


def reference_rows(name: str) -> Iterator[tuple[str, dict[str, str]]]:
    with (SHARED / name).open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            first = row.get("type") or row["family"]
            for start, families in {**OF_REFERENCE, "blade regular": TIMED[:2], "blade maxi": TIMED[2:3]}.items():
                if first.startswith(start):
                    yield from ((family, row) for family in families)


@needs_shared
def test_every_limit_of_the_reference_stands_at_its_point() -> None:
    seen = 0
    for family, row in reference_rows("fuse_time_current.csv"):
        percent = float(row["percent_of_rating"])
        shortest, longest = fuses.clearing_time_s(family, 100.0, percent)
        assert shortest == pytest.approx(float(row["t_min_s"])), (family, percent)
        assert longest == (pytest.approx(float(row["t_max_s"])) if row["t_max_s"] else None), (family, percent)
        seen += 1
    assert seen == sum(len(fuses.fuse_limits(family)) for family in TIMED) == 27


@needs_shared
def test_every_colour_of_the_reference() -> None:
    seen = 0
    for family, row in reference_rows("fuse_colours.csv"):
        found = fuses.fuse_colour(family, float(row["A"]))
        assert found is not None
        assert all(
            each in (found.colour, *found.also) or each in " ".join((found.colour, *found.also))
            for each in row["colour"].replace("(", "").replace(")", "").replace("/", " ").replace("-", " ").split()
        ), (family, row)
        assert fuses.colour(family, float(row["A"])) == found.colour
        seen += 1
    assert seen == 34


def test_limits_of_blades_that_were_read() -> None:
    """110 %: 100 h; 135 %: 0.75 to 600 s."""
    assert fuses.clearing_time_s("regular blade", 10.0, 11.0) == (360000.0, None)
    assert fuses.clearing_time_s("regular blade", 10.0, 13.5) == (0.75, 600.0)


def test_between_two_points_straight_over_the_logarithms() -> None:
    """Worked by hand at the middle of 200 and 350 %: the geometric means of the times."""
    shortest, longest = fuses.clearing_time_s("regular blade", 10.0, 10.0 * math.sqrt(2.0 * 3.5))
    assert shortest == pytest.approx(math.sqrt(0.15 * 0.04))
    assert longest == pytest.approx(math.sqrt(5.0 * 0.5))


def test_where_a_fuse_may_never_open() -> None:
    assert fuses.clearing_time_s("mini blade", 15.0, 15.0) == (None, None)
    assert fuses.clearing_time_s("mini blade", 15.0, 0.0) == (None, None)
    shortest, longest = fuses.clearing_time_s("mini blade", 15.0, 18.0)
    assert longest is None and shortest is not None and 0.75 < shortest < 360000.0
    assert fuses.let_through_a2s("mini blade", 15.0, 18.0) is None


def test_above_the_last_point_the_time_stays_and_so_does_the_energy() -> None:
    assert fuses.clearing_time_s("regular blade", 10.0, 60.0) == fuses.clearing_time_s("regular blade", 10.0, 900.0)
    assert fuses.let_through_a2s("regular blade", 10.0, 60.0) == pytest.approx(60.0**2 * 0.1)
    assert fuses.let_through_a2s("regular blade", 10.0, 900.0) == pytest.approx(60.0**2 * 0.1)
    assert fuses.let_through_a2s("regular blade", 10.0, 35.0) == pytest.approx(35.0**2 * 0.5)


@pytest.mark.parametrize(
    ("family", "opens", "holds"),
    [("regular blade", 1.35, 1.1), ("mini blade", 1.35, 1.1), ("maxi blade", 1.35, 1.1), ("bolt-down 30 mm", 1.5, 1.0),
     ("bolt-down 51 mm", 1.35, 1.0)],
)  # fmt: skip
def test_sure_to_open_and_sure_to_hold(family: str, opens: float, holds: float) -> None:
    assert fuses.sure_to_open_a(family, 60.0) == pytest.approx(opens * 60.0)
    assert fuses.sure_to_hold_a(family, 60.0) == pytest.approx(holds * 60.0)


def test_families_without_limits_say_so_everywhere() -> None:
    for family in set(fuses.fuse_families()) - set(TIMED):
        assert fuses.fuse_limits(family) == fuses.standard_ratings(family) == ()
        assert fuses.clearing_time_s(family, 10.0, 100.0) == (None, None)
        assert fuses.let_through_a2s(family, 10.0, 100.0) is None
        assert fuses.sure_to_open_a(family, 10.0) is fuses.sure_to_hold_a(family, 10.0) is None
        assert fuses.colour(family, 10.0) is fuses.cold_ohm(family, 10.0) is None


multiples = st.floats(0.5, 20.0)


@given(family=st.sampled_from(TIMED), rating=st.floats(1.0, 300.0), first=multiples, second=multiples)
def test_more_current_never_takes_longer(family: str, rating: float, first: float, second: float) -> None:
    low, high = (fuses.clearing_time_s(family, rating, rating * each) for each in sorted((first, second)))
    for slow, fast in zip(low, high, strict=True):
        if slow is not None:
            assert fast is not None and fast <= slow * (1 + 1e-12)
    for shortest, longest in (low, high):
        assert longest is None or (shortest is not None and shortest <= longest)


@given(family=st.sampled_from(TIMED), current=st.floats(10.0, 2000.0), first=st.floats(1.0, 300.0), second=st.floats(1.0, 300.0))
def test_a_larger_fuse_never_opens_sooner(family: str, current: float, first: float, second: float) -> None:
    small, large = (fuses.clearing_time_s(family, each, current) for each in sorted((first, second)))
    for fast, slow in zip(small, large, strict=True):
        assert slow is None or (fast is not None and fast <= slow * (1 + 1e-12))
    opens = [fuses.sure_to_open_a(family, each) for each in sorted((first, second))]
    assert opens[0] is not None and opens[1] is not None and opens[0] <= opens[1]


def test_current_from_a_drop_across_a_cold_fuse() -> None:
    """F1: 2.4 mV across a 10 A regular blade fuse of 7.70 mΩ is 312 mA."""
    cold = fuses.cold_ohm("regular blade", 10.0)
    assert cold == pytest.approx(7.70e-3)
    assert 2.4e-3 / cold == pytest.approx(0.312, rel=2e-3)


def test_hot_resistance() -> None:
    """F2: 109 mV at 10 A is 10.9 mΩ, 1.42 times the cold figure."""
    hot, cold = fuses.hot_ohm("regular blade", 10.0), fuses.cold_ohm("regular blade", 10.0)
    assert hot == pytest.approx(10.9e-3, rel=1e-2)
    assert cold is not None and hot is not None and hot / cold == pytest.approx(1.42, rel=1e-2)


def test_resistance_between_and_beyond_the_ratings_of_the_table() -> None:
    middle = fuses.cold_ohm("regular blade", math.sqrt(4.0 * 10.0))
    assert middle == pytest.approx(math.sqrt(22.8e-3 * 7.7e-3))
    assert fuses.cold_ohm("regular blade", 15.0) is None
    assert fuses.cold_ohm("regular blade", 0.5) is None
    assert fuses.cold_ohm("mini blade", 10.0) is None


def test_colours_go_by_rating_and_maxi_has_its_own() -> None:
    assert fuses.colour("regular blade", 15.0) == fuses.colour("mini blade", 15.0) == "blue"
    assert fuses.colour("mini blade", 30.0) == "green" and fuses.colour("maxi blade", 40.0) == "orange"
    amber = fuses.fuse_colour("maxi blade", 40.0)
    assert amber is not None and "amber" in amber.also and amber.doubt
    assert fuses.colour("regular blade", 12.0) is None


@pytest.mark.parametrize(
    ("text", "family"),
    [
        ("ATO", "regular blade"), ("Blade", "regular blade"), ("blade, regular", "regular blade"), ("Standard Blade", "regular blade"),
        ("MINI", "mini blade"), ("mini-blade fuse", "mini blade"), ("ATM 15A", "mini blade"), ("low-profile mini", "mini blade"),
        ("Maxi blade", "maxi blade"), ("MAXI", "maxi blade"), ("bolt-down 30mm", "bolt-down 30 mm"), ("SF30", "bolt-down 30 mm"),
        ("MEGA bolt-down", "bolt-down 51 mm"), ("glass 5x20", "glass tube"), ("fusible link", "fusible link"),
        ("J-case", "cartridge"), ("Circuit breaker", "circuit breaker"), ("micro2", "micro blade"),
    ],
)  # fmt: skip
def test_words_of_lists(text: str, family: str) -> None:
    assert fuses.read_family(text) == fuses.FuseReading(family)


@pytest.mark.parametrize(
    ("text", "candidates"),
    [
        ("bolt-down", ("bolt-down 30 mm", "bolt-down 51 mm")),
        ("ATO or maxi", ("regular blade", "maxi blade")),
        ("", ()), ("the blue one", ()), ("15", ()), ("minimum", ()),
    ],
)  # fmt: skip
def test_words_that_do_not_decide(text: str, candidates: tuple[str, ...]) -> None:
    assert fuses.read_family(text) == fuses.FuseReading(None, candidates)


def test_every_family_is_known_by_its_own_name() -> None:
    for name in fuses.fuse_families():
        if name != "marine high current":
            assert fuses.read_family(name).family == name


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: fuses.clearing_time_s("bottle cap", 10.0, 20.0), "no family"),
        (lambda: fuses.clearing_time_s("mini blade", 0.0, 20.0), "rating"),
        (lambda: fuses.clearing_time_s("mini blade", 10.0, -1.0), "current"),
        (lambda: fuses.clearing_time_s("mini blade", 10.0, math.nan), "current"),
        (lambda: fuses.sure_to_open_a("mini blade", math.nan), "rating"),
        (lambda: fuses.cold_ohm("regular blade", -1.0), "rating"),
        (lambda: fuses.colour("none", 10.0), "no family"),
        (lambda: fuses.standard_ratings("none"), "no family"),
    ],
)
def test_what_is_no_fuse_is_refused(call: object, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        call()  # type: ignore[operator]


@pytest.mark.parametrize("name", ["fuse_times.csv", "fuse_colours.csv", "fuse_resistance.csv", "fuse_families.csv"])
def test_each_row_says_read_or_from_memory(name: str) -> None:
    with (rulesets_folder() / "tables" / name).open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert rows and all("read" in row["source"] or "from memory" in row["source"] for row in rows)


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
    fuses._limits.cache_clear()
    try:
        with pytest.raises(FileUnreadableError, match=r"fuse_times\.csv.*Install harnessdrc again\."):
            fuses.fuse_limits("mini blade")
    finally:
        fuses._limits.cache_clear()
