"""Fuses against the limits of their standards, their colours, and the words of lists."""

from __future__ import annotations

import csv
import math

import pytest
from fuse_rows import TIMED, needs_shared, reference_rows

from harnessdrc.datafiles import rulesets_folder
from harnessdrc.physics import fuse_times, fuses


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


def test_families_without_limits_say_so_everywhere() -> None:
    for family in set(fuses.fuse_families()) - set(TIMED):
        assert fuse_times.fuse_limits(family) == fuses.standard_ratings(family) == ()
        assert fuse_times.clearing_time_s(family, 10.0, 100.0) == (None, None)
        assert fuse_times.let_through_a2s(family, 10.0, 100.0) is None
        assert fuse_times.sure_to_open_a(family, 10.0) is fuse_times.sure_to_hold_a(family, 10.0) is None
        assert fuses.colour(family, 10.0) is fuses.cold_ohm(family, 10.0) is None


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
