"""Usual figures per kind of component, and the currents they give in an operating state."""

from __future__ import annotations

import copy
import math
import tomllib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdrc.checks.registry import load_checks
from harnessdrc.datafiles import rulesets_folder
from harnessdrc.design import figures as figures_module
from harnessdrc.design.figures import (
    MODELS,
    KindFigures,
    average_a,
    duty,
    figures_for,
    instant_on_a,
    overlap,
    read_figures,
    usual_figures,
)
from harnessdrc.errors import FileUnreadableError
from harnessdrc.physics.operation import STANDARD_STATES, OperatingState
from harnessdrc.rulesets import load_ruleset
from harnessdrc.tables.words import KINDS

STATES = {state.name: state for state in load_ruleset("engine-loom", checks=load_checks()).states}
USUAL = usual_figures()
FULL, IDLE, CRANKING, KEY_ON = (STATES[name] for name in ("full load", "idle", "cranking", "key on"))
PULSING = [kind for kind, each in USUAL.items() if each.model in ("pulsed", "ramp")]
STEADY = [kind for kind, each in USUAL.items() if each.model not in ("pulsed", "ramp")]


def state(**changes: Any) -> OperatingState:
    """The shipped idle with something else in it."""
    return replace(IDLE, **changes)


# The shipped figures


def test_every_kind_with_figures_is_a_kind_and_has_its_source() -> None:
    assert set(USUAL) <= {kind for kind, _ in KINDS}
    assert len(USUAL) >= 12
    for kind, each in USUAL.items():
        assert each.kind == kind
        assert each.source.strip()
        assert each.low_a <= each.current_a <= each.high_a


def test_every_model_is_in_use() -> None:
    assert {each.model for each in USUAL.values()} == set(MODELS)


def test_kinds_that_vary_too_much_have_none() -> None:
    for kind in ("load", "lamp", "heater", "spark plug", "battery"):
        assert kind not in USUAL
        assert figures_for(kind) is None


@pytest.mark.parametrize("kind", [kind for kind in USUAL if kind not in ("starter", "fan")])
def test_the_usual_current_is_that_of_full_load(kind: str) -> None:
    assert average_a(USUAL[kind], FULL) == pytest.approx(USUAL[kind].current_a, rel=1e-3)


@pytest.mark.parametrize("kind", USUAL)
@pytest.mark.parametrize("name", STANDARD_STATES)
def test_the_worst_instant_is_not_less_than_the_average(kind: str, name: str) -> None:
    average, instant = average_a(USUAL[kind], STATES[name]), instant_on_a(USUAL[kind], STATES[name])
    assert math.isfinite(average) and 0.0 <= average <= instant
    if instant > 0.0:  # who draws at one instant draws on average too
        assert average > 0.0 and overlap(USUAL[kind], STATES[name], 1) == 1


@pytest.mark.parametrize(
    ("kind", "amps"),
    [  # key on, cranking, idle, cruise, full load: the averages people reckon with, and how near these come
        ("controller", (0.5, 0.6, 0.6, 0.8, 0.8)),
        ("injector", (0.0, 0.05, 0.025, 0.15, 0.8)),
        ("coil", (0.0, None, 0.07, 0.25, 0.6)),
        ("fuel pump", (6.0, 7.0, 7.0, 8.0, 10.0)),
        ("oxygen sensor", (1.0, 0.5, 1.2, 1.0, 1.0)),
        ("solenoid", (0.2, 0.1, 0.4, 0.6, 0.8)),
        ("starter", (0.0, 200.0, 0.0, 0.0, 0.0)),
        ("fan", (0.0, 0.0, 0.0, 0.0, 25.0)),
    ],
)
def test_averages_are_those_people_reckon_with(kind: str, amps: tuple[float | None, ...]) -> None:
    for name, expected in zip(STANDARD_STATES, amps, strict=False):
        if expected is not None:
            assert average_a(USUAL[kind], STATES[name]) == pytest.approx(expected, rel=0.10), name


def test_injectors_at_full_load_are_open_85_percent_of_the_time() -> None:
    assert duty(USUAL["injector"], FULL) == pytest.approx(0.85, abs=5e-4)
    assert overlap(USUAL["injector"], FULL, 4) == 4
    assert overlap(USUAL["injector"], FULL, 8) == 7
    assert overlap(USUAL["injector"], IDLE, 8) == 1
    assert overlap(USUAL["injector"], KEY_ON, 8) == 0
    assert instant_on_a(USUAL["injector"], KEY_ON) == 0.0


def test_coils_take_turns() -> None:
    assert overlap(USUAL["coil"], FULL, 4) == 1
    assert overlap(USUAL["coil"], FULL, 8) == 2
    assert instant_on_a(USUAL["coil"], IDLE) == 8.0
    assert instant_on_a(USUAL["coil"], KEY_ON) == 0.0


def test_fans_start_in_the_state_that_is_named_after_it() -> None:
    cut_in = STATES["fan cut-in"]
    assert average_a(USUAL["fan"], cut_in) == 25.0
    assert instant_on_a(USUAL["fan"], cut_in) == pytest.approx(60.0)
    assert overlap(USUAL["fan"], cut_in, 2) == 2
    assert overlap(USUAL["fan"], IDLE, 2) == 0
    # What the fan's state does not name is as at idle.
    for kind in set(USUAL) - {"fan"}:
        assert average_a(USUAL[kind], cut_in) == average_a(USUAL[kind], IDLE)
        assert instant_on_a(USUAL[kind], cut_in) == instant_on_a(USUAL[kind], IDLE)


def test_the_starter_turns_in_one_state_only() -> None:
    drawing = [name for name in STANDARD_STATES if average_a(USUAL["starter"], STATES[name]) > 0.0]
    assert drawing == [name for name in STANDARD_STATES if STATES[name].starter] == ["cranking"]


def test_the_alternator_covers_what_an_ordinary_engine_draws() -> None:
    """Four cylinders, one fan, pump and the rest, and the battery: within the rating in every state that charges."""
    build = {"controller": 1, "coil": 4, "injector": 4, "fuel pump": 1, "fan": 1, "oxygen sensor": 1, "display": 1}
    for each in STATES.values():
        drawn = sum(units * average_a(USUAL[kind], each) for kind, units in build.items()) + each.charge_a
        if each.alternator and each.name != "fan cut-in":
            assert drawn <= average_a(USUAL["alternator"], each), each.name
        if not each.alternator:
            assert average_a(USUAL["alternator"], each) == 0.0


# States that figures do not name


def test_a_state_of_ones_own_takes_the_share_of_the_one_it_is_like() -> None:
    fast_idle = state(name="fast idle", like=("idle",))
    hot = state(name="hot soak", like=("fast idle", "fan cut-in", "idle"))
    assert average_a(USUAL["fuel pump"], fast_idle) == average_a(USUAL["fuel pump"], IDLE)
    assert instant_on_a(USUAL["oxygen sensor"], fast_idle) == 3.0
    assert average_a(USUAL["fan"], fast_idle) == 0.0
    assert average_a(USUAL["fan"], hot) == 25.0
    assert average_a(USUAL["fuel pump"], hot) == average_a(USUAL["fuel pump"], IDLE)


def test_a_state_that_is_like_none_draws_nothing() -> None:
    alone = state(name="parked", like=(), rpm=0.0)
    assert all(average_a(each, alone) == instant_on_a(each, alone) == 0.0 for each in USUAL.values())


def test_the_nearest_state_counts_before_the_worst_instant() -> None:
    """A running share of the state itself goes before an inrush of the state it is like."""
    pump = KindFigures("fuel pump", "steady", 10.0, 5.0, 20.0, None, {"idle": 1.0, "fan cut-in": 0.5}, {"idle": 2.0})
    assert instant_on_a(pump, IDLE) == 20.0
    assert instant_on_a(pump, STATES["fan cut-in"]) == 5.0


# Currents of the state


def test_a_current_of_the_state_replaces_the_usual_one() -> None:
    fans = state(current_a={"fan": 12.5})
    assert average_a(USUAL["fan"], fans) == 12.5
    assert instant_on_a(USUAL["fan"], fans) == 12.5
    cut_in = replace(STATES["fan cut-in"], current_a={"fan": 12.5})
    assert instant_on_a(USUAL["fan"], cut_in) == pytest.approx(12.5 * 2.4)
    off = replace(STATES["fan cut-in"], current_a={"fan": 0.0})
    assert average_a(USUAL["fan"], off) == instant_on_a(USUAL["fan"], off) == 0.0
    assert overlap(USUAL["fan"], off, 2) == 0
    assert average_a(USUAL["fan"], fans, listed_a=50.0) == 25.0


def test_a_current_of_the_state_sets_the_duty_of_a_pulsing_kind() -> None:
    wet = state(current_a={"injector": 0.941 / 4, "coil": 1.0})
    assert duty(USUAL["injector"], wet) == pytest.approx(0.25)
    assert average_a(USUAL["injector"], wet) == pytest.approx(0.941 / 4)
    assert instant_on_a(USUAL["injector"], wet) == 0.941
    assert overlap(USUAL["injector"], wet, 8) == 2
    assert duty(USUAL["coil"], wet) == pytest.approx(0.25)
    assert average_a(USUAL["coil"], wet) == 1.0
    assert instant_on_a(USUAL["coil"], wet) == 8.0
    flooded = state(current_a={"injector": 2.0, "coil": 10.0})
    for kind, amps in flooded.current_a.items():
        assert duty(USUAL[kind], flooded) == 1.0
        assert average_a(USUAL[kind], flooded) == amps
        assert instant_on_a(USUAL[kind], flooded) >= amps
    dry = state(current_a={"injector": 0.0, "coil": 0.0})
    assert all(average_a(USUAL[kind], dry) == instant_on_a(USUAL[kind], dry) == 0.0 for kind in dry.current_a)


# Listed currents


@pytest.mark.parametrize("kind", STEADY)
@given(listed_a=st.floats(0.0, 1000.0))
def test_a_listed_current_scales_what_is_steady(kind: str, listed_a: float) -> None:
    figures = USUAL[kind]
    for each in STATES.values():
        for amps in (average_a, instant_on_a):
            expected = amps(figures, each) * listed_a / figures.current_a
            assert amps(figures, each, listed_a) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("kind", PULSING)
def test_a_listed_current_near_the_average_is_the_average_at_full_load(kind: str) -> None:
    figures = USUAL[kind]
    for listed_a in (figures.current_a, 0.9 * figures.current_a, math.sqrt(figures.current_a * figures.peak_a) * 0.999):  # type: ignore[operator]
        assert average_a(figures, FULL, listed_a) == pytest.approx(listed_a, rel=1e-3)


@pytest.mark.parametrize("kind", PULSING)
def test_a_listed_current_near_the_peak_is_the_current_while_on(kind: str) -> None:
    figures = USUAL[kind]
    assert figures.peak_a is not None
    for listed_a in (figures.peak_a, 1.5 * figures.peak_a, math.sqrt(figures.current_a * figures.peak_a) * 1.001):
        assert instant_on_a(figures, FULL, listed_a) == pytest.approx(listed_a, rel=1e-12)
        part = 1.0 if figures.model == "pulsed" else 0.5
        assert average_a(figures, IDLE, listed_a) == pytest.approx(listed_a * part * duty(figures, IDLE), rel=1e-12)


def test_a_wasted_spark_coil_listed_with_its_average_keeps_its_peak() -> None:
    assert average_a(USUAL["coil"], FULL, 1.2) == pytest.approx(1.2, rel=1e-3)
    assert instant_on_a(USUAL["coil"], FULL, 1.2) == 8.0


def test_an_injector_of_less_resistance_draws_more_while_open() -> None:
    assert instant_on_a(USUAL["injector"], IDLE, 1.2) == pytest.approx(1.2)
    assert instant_on_a(USUAL["injector"], IDLE, 0.4) == pytest.approx(0.4 * 0.941 / 0.8)


@given(kind=st.sampled_from(sorted(USUAL)), name=st.sampled_from(STANDARD_STATES), listed_a=st.floats(0.0, 1e4))
def test_any_listed_current_gives_finite_currents(kind: str, name: str, listed_a: float) -> None:
    average = average_a(USUAL[kind], STATES[name], listed_a)
    instant = instant_on_a(USUAL[kind], STATES[name], listed_a)
    assert math.isfinite(average) and math.isfinite(instant)
    assert 0.0 <= average <= instant * (1 + 1e-9)
    if listed_a == 0.0:
        assert average == instant == 0.0


def test_a_kind_without_figures_draws_what_is_listed_in_every_state() -> None:
    lamp = figures_for("lamp", 1.75)
    assert lamp is not None and lamp.model == "steady"
    own = state(name="fast idle", like=("idle",))
    assert {average_a(lamp, each, 1.75) for each in (*STATES.values(), own)} == {1.75}
    assert overlap(lamp, IDLE, 3) == 3
    heater = figures_for("heater", 15.0)
    assert heater is not None and heater.model == "resistance"
    assert instant_on_a(heater, IDLE, 15.0) == 15.0
    nothing = figures_for("lamp", 0.0)
    assert nothing is not None and {average_a(nothing, each, 0.0) for each in STATES.values()} == {0.0}
    assert overlap(nothing, FULL, 3) == 0
    assert figures_for("fan", 9.0) is USUAL["fan"]


def test_no_number_of_units_is_negative() -> None:
    with pytest.raises(ValueError, match="units"):
        overlap(USUAL["coil"], IDLE, -1)


# The file


def content() -> dict[str, Any]:
    """The shipped file, to be spoilt."""
    return copy.deepcopy(tomllib.loads((rulesets_folder() / "components.toml").read_text(encoding="utf-8")))


SPOILT: dict[str, tuple[Callable[[dict[str, Any]], object], str]] = {
    "key": (lambda c: c["fan"].update(currant_a=1.0), "fan: 'currant_a' is not known"),
    "missing": (lambda c: c["fan"].pop("low_a"), "fan: 'low_a' is missing"),
    "no source": (lambda c: c["fan"].pop("source"), "fan: 'source' is missing"),
    "empty source": (lambda c: c["fan"].update(source=" "), "fan: expected text for source"),
    "no table": (lambda c: c.update(fan=25.0), "fan: expected a table"),
    "text": (lambda c: c["fan"].update(current_a="25 A"), "fan: expected a number for current_a"),
    "true": (lambda c: c["fan"].update(current_a=True), "fan: expected a number for current_a"),
    "model": (lambda c: c["fan"].update(model="stedy"), "fan: 'stedy' is no model"),
    "range": (lambda c: c["fan"].update(low_a=26.0), "fan: expected 0 < low_a <= current_a <= high_a"),
    "endless": (lambda c: c["fan"].update(high_a=math.inf), "fan: expected 0 < low_a <= current_a <= high_a"),
    "share": (lambda c: c["fan"].update(share=1.0), "fan: expected a table of states for share"),
    "share of": (lambda c: c["fan"]["share"].update(idel=1.0), "fan: 'idel' is no operating state"),
    "negative": (lambda c: c["fan"]["share"].update(idle=-1.0), "fan: -1 is no share of 'idle'"),
    "share text": (lambda c: c["fan"]["share"].update(idle="1"), "fan: expected a number for share of 'idle'"),
    "no peak": (lambda c: c["coil"].pop("peak_a"), "coil: peak_a is missing"),
    "peak too much": (lambda c: c["fan"].update(peak_a=60.0), "fan: the model 'steady' takes no peak_a"),
    "peak too low": (lambda c: c["coil"].update(peak_a=0.5), "coil: expected current_a below peak_a"),
    "no sparks": (lambda c: c["coil"].pop("sparks_per_cycle"), "coil: sparks_per_cycle belongs"),
    "sparks": (lambda c: c["injector"].update(sparks_per_cycle=1.0), "injector: sparks_per_cycle belongs"),
    "no min_v": (lambda c: c["logger"].pop("min_v"), "logger: min_v belongs"),
    "min_v": (lambda c: c["fan"].update(min_v=6.0), "fan: min_v belongs"),
    "pulsed share": (lambda c: c["injector"].update(share={"idle": 1.0}), "injector: its rhythm gives its share"),
}


@pytest.mark.parametrize("spoil", SPOILT)
def test_a_spoilt_file_is_told(spoil: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    change, words = SPOILT[spoil]
    spoilt = content()
    change(spoilt)
    with pytest.raises(ValueError, match=r"\w") as caught:
        read_figures(spoilt)
    assert str(caught.value).startswith(words)


@pytest.mark.parametrize("text", [None, "[fan", "[fan]\nmodel = 'steady'\n"])
def test_a_file_that_cannot_be_used_is_told_with_its_path(
    text: str | None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if text is not None:
        (tmp_path / "components.toml").write_text(text, encoding="utf-8")
    monkeypatch.setattr(figures_module, "rulesets_folder", lambda: tmp_path)
    figures_module._shipped_figures.cache_clear()
    try:
        with pytest.raises(FileUnreadableError) as caught:
            usual_figures()
    finally:
        figures_module._shipped_figures.cache_clear()
    assert "components.toml" in str(caught.value) and "Install harnessdrc again." in str(caught.value)


def test_figures_are_read_once_and_cannot_be_changed() -> None:
    assert usual_figures() is usual_figures()
    with pytest.raises(TypeError):
        usual_figures()["fan"] = USUAL["fan"]  # type: ignore[index]
    with pytest.raises(TypeError):
        USUAL["fan"].share["idle"] = 1.0  # type: ignore[index]
    assert hash(USUAL["fan"]) == hash(replace(USUAL["fan"]))
