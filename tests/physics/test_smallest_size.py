"""The smallest size of a wire, judged anew size by size, and which limit asks for it."""

from __future__ import annotations

import math
import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdrc.physics.ampacity import allowed_a, wire_degc
from harnessdrc.physics.conductor import awg_ohm_per_m, metric_cable_ohm_per_m, metric_sizes_mm2
from harnessdrc.physics.smallest_size import STANDARD_AWG, SmallestSizes, smallest_size

FOOT_M = 0.3048


def test_vd9_twenty_amperes_over_50_ft() -> None:
    """VD9, AC 43.13-1B 11-68c example 1, read: 1 V, 20 A, 50 ft, 20 °C falls between 8 and 10, choose 8."""
    found = smallest_size("awg", 20.0, 20.0, 105.0, 1, 1.0, 50 * FOOT_M, 1.0)
    assert found.size == 8.0
    assert found.governs == "drop"
    assert found.heating_size > 8.0


def drop_v(system: str, size: float, amps: float, length_m: float, t_degc: float) -> float:
    """Drop by the resistance of the conductor module."""
    if system == "awg":
        return abs(amps) * length_m * awg_ohm_per_m(int(size), t_degc)
    return abs(amps) * length_m * metric_cable_ohm_per_m(size, t_degc)


@settings(max_examples=300, deadline=None)
@given(
    st.sampled_from(["awg", "mm2"]), st.floats(0.01, 250.0), st.floats(-20.0, 130.0), st.floats(85.0, 200.0),
    st.integers(1, 60), st.floats(0.0, 1.0), st.floats(0.0, 10.0), st.floats(0.02, 2.0), st.floats(0.0, 3000.0),
)  # fmt: skip
def test_the_size_is_enough_and_the_next_smaller_is_not(
    system: str, amps: float, ambient: float, rated: float, wires: int, loading: float, length_m: float,
    limit_v: float, height_m: float,
) -> None:  # fmt: skip
    """Judged anew by the other functions, one size after the other."""
    assert system in ("awg", "mm2")
    found = smallest_size(system, amps, ambient, rated, wires, loading, length_m, limit_v, height_m=height_m)  # type: ignore[arg-type]
    sizes = [float(size) for size in (STANDARD_AWG if system == "awg" else metric_sizes_mm2())]

    def judged(size: float) -> tuple[bool, bool]:
        of = {"awg" if system == "awg" else "csa_mm2": size}
        hot = float(wire_degc(amps, ambient, wires, loading, height_m=height_m, **of))
        most = float(allowed_a(ambient, rated, wires, loading, height_m=height_m, **of))
        return amps <= most * (1 + 1e-8), drop_v(system, size, amps, length_m, min(hot, 1e6)) <= limit_v * (1 + 1e-8)

    enough = [judged(size) for size in sizes]
    for of_limit, answer in ((0, found.heating_size), (1, found.drop_size)):
        first = next((size for size, each in zip(sizes, enough, strict=True) if each[of_limit]), math.nan)
        assert float(answer) == pytest.approx(first, nan_ok=True)
    first = next((size for size, each in zip(sizes, enough, strict=True) if all(each)), math.nan)
    assert float(found.size) == pytest.approx(first, nan_ok=True)
    if not math.isnan(first):
        of = {"awg" if system == "awg" else "csa_mm2": first}
        t_degc = float(wire_degc(amps, ambient, wires, loading, height_m=height_m, **of))
        assert found.conductor_degc == pytest.approx(t_degc) and t_degc <= rated + 1e-6
        assert found.drop_v == pytest.approx(drop_v(system, first, amps, length_m, t_degc), rel=1e-9)
        assert found.allowed_a == pytest.approx(
            float(allowed_a(ambient, rated, wires, loading, height_m=height_m, **of))
        )
    before = sizes[: sizes.index(first)] if first in sizes else sizes
    expected = "smallest" if not before else "drop" if judged(before[-1])[0] else "heating"
    assert str(found.governs) == expected


def row(system: str, **changes: object) -> SmallestSizes:
    """A sensor wire of 2 m in a bundle of 12 in the bay, with changes."""
    words: dict[str, object] = {
        "current_a": 1.0, "ambient_degc": 85.0, "rated_degc": 125.0, "wires": 12, "loading": 0.4, "length_m": 2.0,
        "allowed_drop_v": 0.5,
    }  # fmt: skip
    return smallest_size(system, **(words | changes))  # type: ignore[arg-type]


def test_which_limit_governs() -> None:
    amps = [0.1, 1.0, 12.0, 12.0, 12.0]
    found = row("mm2", current_a=amps, length_m=[1, 6, 1, 8, 1], allowed_drop_v=[1, 0.3, 2, 0.3, 2], floor=[math.nan, 0.13, math.nan, 0.5, 4.0])  # fmt: skip
    assert found.governs.tolist() == ["smallest", "drop", "heating", "drop", "floor"]
    # 12 A / 0.585 = 20.5 A alone: 1.25 mm² allows 18.7 A for 40 K, 1.5 mm² 21.0 A
    assert found.size.tolist() == [0.13, 0.5, 1.5, 8.0, 4.0]
    assert found.heating_size.tolist() == [0.13, 0.13, 1.5, 1.5, 1.5]
    gauges = row("awg", current_a=amps, length_m=[1, 6, 1, 8, 1], allowed_drop_v=[1, 0.3, 2, 0.3, 2], floor=[math.nan, 26, math.nan, 20, 11])  # fmt: skip
    assert gauges.governs.tolist() == ["smallest", "drop", "heating", "drop", "floor"]
    # a least size that is not standard is rounded up to the next thicker
    assert gauges.size[-1] == 10.0


def test_a_floor_is_met_to_a_thousandth_and_may_be_beyond_all_sizes() -> None:
    assert row("mm2", floor=[0.5, 0.5004, 0.51]).size.tolist() == [0.5, 0.5, 0.75]
    beyond = row("mm2", floor=150.0)
    assert math.isnan(float(beyond.size)) and beyond.governs == "floor"
    assert row("awg", floor=0).size == 0.0


def test_where_no_size_is_enough() -> None:
    found = row("awg", current_a=[2000.0, 100.0, 0.0], length_m=[0.1, 50.0, 1.0], ambient_degc=[85.0, 85.0, 130.0])
    assert np.isnan(found.size).all() and np.isnan(found.allowed_a).all() and np.isnan(found.drop_v).all()
    # without any current the wire is still hotter than its insulation may be
    assert found.governs.tolist() == ["heating", "drop", "heating"]
    assert found.drop_size[2] == 26.0 and not np.isnan(found.heating_size[1])


def test_a_drop_may_be_judged_at_another_current() -> None:
    steady, peak = row("mm2", current_a=[3.0, 3.0], drop_current_a=[3.0, -30.0]).size
    assert peak > steady
    assert row("mm2", current_a=3.0, drop_current_a=-30.0).heating_size == row("mm2", current_a=3.0).heating_size
    assert row("mm2", current_a=3.0, length_m=500.0, allowed_drop_v=math.inf).governs != "drop"


def test_only_the_sizes_in_stock_in_any_order() -> None:
    assert row("mm2", current_a=12.0, allowed_drop_v=5.0, sizes=[4, 0.5, 1.5, 1.5, 2.5]).size == 1.5
    assert row("awg", current_a=12.0, allowed_drop_v=5.0, sizes=[10, 20, 13]).size == 13.0


def test_a_missing_figure_makes_one_wire_unknown_and_no_other() -> None:
    names = ("current_a", "ambient_degc", "rated_degc", "wires", "loading", "length_m", "allowed_drop_v")
    whole = row("mm2")
    for name in names:
        good = {"current_a": 1.0, "ambient_degc": 85.0, "rated_degc": 125.0, "wires": 12.0, "loading": 0.4}
        value = (good | {"length_m": 2.0, "allowed_drop_v": 0.5})[name]
        found = row("mm2", **{name: [value, math.nan]})
        assert found.governs.tolist() == [str(whole.governs), "unknown"], name
        assert found.size[0] == whole.size
        for each in (
            found.size,
            found.heating_size,
            found.drop_size,
            found.allowed_a,
            found.conductor_degc,
            found.drop_v,
        ):
            assert math.isnan(each[1]), name


@pytest.mark.parametrize("system", ["awg", "mm2"])
def test_many_wires_at_once_as_one_by_one(system: str) -> None:
    chance = np.random.default_rng(3)
    count = 400
    wires = [
        10 ** chance.uniform(-2, 2.5, count), chance.uniform(20, 130, count), chance.uniform(85, 200, count),
        chance.integers(1, 60, count), chance.uniform(0, 1, count), chance.uniform(0, 9, count),
        chance.uniform(0.05, 1, count),
    ]  # fmt: skip
    at_once = smallest_size(system, *wires, floor=20 if system == "awg" else 0.5)  # type: ignore[arg-type]
    assert set(at_once.governs) == {"floor", "heating", "drop"}
    for number in range(count):
        one = smallest_size(system, *(each[number] for each in wires), floor=20 if system == "awg" else 0.5)  # type: ignore[arg-type]
        for name in ("size", "heating_size", "drop_size", "allowed_a", "conductor_degc", "drop_v"):
            assert float(getattr(one, name)) == pytest.approx(float(getattr(at_once, name)[number]), nan_ok=True)
        assert one.governs == at_once.governs[number]


def test_arrays_keep_their_shape_and_may_be_empty() -> None:
    assert row("mm2", current_a=[[1.0], [2.0]], length_m=[1.0, 2.0, 3.0]).size.shape == (2, 3)
    assert row("awg", current_a=[]).governs.shape == (0,)


def test_nothing_warns() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        row("mm2", current_a=[0.0, 1e6, math.nan], length_m=[0.0, 1e3, 1.0], ambient_degc=[125.0, 130.0, 20.0])


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: row("mm2", length_m=-1.0), "-1 is no length"),
        (lambda: row("mm2", allowed_drop_v=-0.1), "-0.1 is no allowed drop"),
        (lambda: row("swg"), "'swg' is no system"),
        (lambda: row("mm2", sizes=[]), "no sizes to choose from"),
        (lambda: row("mm2", sizes=[1.0, math.nan]), "no sizes to choose from"),
        (lambda: row("mm2", sizes=[0.0]), "0 mm² is no cross-section"),
        (lambda: row("awg", sizes=[50]), "50 is no gauge"),
    ],
)
def test_what_cannot_be_is_refused(call: object, words: str) -> None:
    assert callable(call)
    with pytest.raises(ValueError, match=words):
        call()
