"""Operating states of rulesets: what loads, what is merged, and that every fault is told at once."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from harnessdrc.checks.registry import load_checks
from harnessdrc.errors import RulesetError
from harnessdrc.physics.operation import STANDARD_STATES, OperatingState
from harnessdrc.rulesets import Ruleset, load_ruleset
from harnessdrc.rulesets import files as rulesets_files
from harnessdrc.tables.words import KINDS

COMPONENTS = tuple(kind for kind, _ in KINDS)
VALUES = ("rpm", "battery_v", "charge_a", "starter", "alternator", "pulse_ms", "dwell_ms", "manifold_bar")
SHIPPED = load_ruleset("engine-loom", checks=load_checks(), known_components=COMPONENTS)

BASE = """
name = "workshop"
issue = "2"

[state.idle]
meaning = "engine idling"
rpm = 800
battery_v = 13.6
charge_a = 45
starter = false
alternator = true
pulse_ms = 4
dwell_ms = 2.5
manifold_bar = 0.35
source = "measured on the bench"
[state.idle.current_a]
fan = 12
"fuel pump" = 6.5

[state.cranking]
meaning = "starter turning the engine"
rpm = 250
battery_v = 12.6
charge_a = 0
starter = true
alternator = false
pulse_ms = 25
dwell_ms = 4
manifold_bar = 0.95
source = "common practice"
"""
HEAD = 'name = "own"\nissue = "1"\nbased_on = "workshop"\n'


@pytest.fixture(autouse=True)
def shipped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of shipped rulesets of our own, so that the tests do not hang on the real ones."""
    folder = tmp_path / "shipped"
    folder.mkdir()
    (folder / "workshop.toml").write_text(BASE, encoding="utf-8")
    monkeypatch.setattr(rulesets_files, "rulesets_folder", lambda: folder)
    return folder


Write = Callable[..., Path]


@pytest.fixture
def write(tmp_path: Path) -> Write:
    def to_file(text: str, name: str = "own.toml") -> Path:
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return to_file


def load(name_or_path: str | Path, **options: Any) -> Ruleset:
    return load_ruleset(str(name_or_path), **{"checks": {}, "known_components": COMPONENTS, **options})


def by_name(ruleset: Ruleset) -> dict[str, OperatingState]:
    return {state.name: state for state in ruleset.states}


def faults(path: str | Path, **options: Any) -> tuple[str, ...]:
    with pytest.raises(RulesetError) as caught:
        load(path, **options)
    return caught.value.faults


# What is shipped


def test_the_shipped_states_in_their_order() -> None:
    assert tuple(state.name for state in SHIPPED.states) == STANDARD_STATES
    assert SHIPPED.states_off == ()
    for state in SHIPPED.states:
        assert state.meaning.strip() and state.source.strip()
        assert not state.starter or not state.alternator


def test_the_shipped_states_agree_with_how_engines_run() -> None:
    states = by_name(SHIPPED)
    assert [name for name, state in states.items() if state.starter] == ["cranking"]
    assert [name for name, state in states.items() if not state.alternator] == ["key on", "cranking"]
    assert states["key on"].rpm == 0 and states["key on"].battery_v == states["cranking"].battery_v == 12.6
    assert states["idle"].charge_a == 45 and states["cruise"].charge_a == 5 and states["full load"].charge_a == 10
    bar = {name: state.manifold_bar for name, state in states.items()}
    assert bar == {"key on": 1.0, "cranking": 0.95, "idle": 0.35, "cruise": 0.6, "full load": 1.0, "fan cut-in": 0.35}
    full = states["full load"]
    assert full.pulse_ms * full.rpm / 120_000 == pytest.approx(0.85, abs=5e-4)
    # With 10 mohm in the battery its terminals are at 13.8 to 14.8 V wherever it is charged.
    for state in SHIPPED.states:
        if state.alternator:
            assert 13.8 <= state.battery_v + state.charge_a * 0.010 <= 14.8
    cut_in = states["fan cut-in"]
    assert cut_in.like == ("idle",)
    assert all(getattr(cut_in, key) == getattr(states["idle"], key) for key in VALUES)


# What loads


def test_a_whole_state() -> None:
    idle = by_name(load("workshop"))["idle"]
    assert idle == OperatingState(
        "idle", "engine idling", (), 800.0, 13.6, 45.0, False, True, 4.0, 2.5, 0.35,
        {"fan": 12.0, "fuel pump": 6.5}, "measured on the bench",
    )  # fmt: skip
    assert isinstance(idle.rpm, float) and isinstance(idle.current_a["fan"], float)


def test_a_state_of_ones_own_gives_what_differs(write: Write) -> None:
    path = write(HEAD + '[state."fast idle"]\nlike = "idle"\nrpm = 1500\ncurrent_a = { fan = 20, coil = 0.3 }\n')
    found = load(path)
    assert [state.name for state in found.states] == ["idle", "cranking", "fast idle"]
    own = by_name(found)["fast idle"]
    assert own.like == ("idle",) and own.names == ("fast idle", "idle")
    assert (own.rpm, own.battery_v, own.charge_a, own.alternator) == (1500.0, 13.6, 45.0, True)
    assert own.current_a == {"fan": 20.0, "fuel pump": 6.5, "coil": 0.3}
    assert own.meaning == "as idle, but for rpm and current_a"
    assert own.source == "rpm and current_a set in own.toml; as idle: measured on the bench"
    assert by_name(found)["idle"] == by_name(load("workshop"))["idle"]


def test_a_state_with_its_own_words(write: Write) -> None:
    path = write(HEAD + "[state.parked]\nlike = 'idle'\nmeaning = 'waiting'\nsource = 'the customer'\nrpm = 700\n")
    own = by_name(load(path))["parked"]
    assert (own.meaning, own.source) == ("waiting", "the customer")
    same = by_name(load(write(HEAD + "[state.parked]\nlike = 'idle'\n")))["parked"]
    assert (same.meaning, same.source) == ("as idle", "as idle: measured on the bench")


def test_a_state_may_be_like_one_that_follows_it_and_that_is_like_another(write: Write) -> None:
    path = write(
        HEAD + "[state.hot]\nlike = 'fast'\ncharge_a = 20\n[state.fast]\nlike = 'idle'\nrpm = 1500\ncharge_a = 30\n"
    )
    found = load(path)
    assert [state.name for state in found.states][-2:] == ["hot", "fast"]
    hot = by_name(found)["hot"]
    assert hot.like == ("fast", "idle")
    assert (hot.rpm, hot.charge_a, hot.battery_v) == (1500.0, 20.0, 13.6)


def test_an_own_figure_in_an_inherited_state(write: Write) -> None:
    path = write(HEAD + "[state.idle]\nrpm = 950\n[state.idle.current_a]\nfan = 0\n[state.fast]\nlike = 'idle'\n")
    states = by_name(load(path))
    idle = states["idle"]
    assert (idle.rpm, idle.charge_a, idle.meaning) == (950.0, 45.0, "engine idling")
    assert idle.current_a == {"fan": 0.0, "fuel pump": 6.5}
    # The base's source is not cited for what the base does not say.
    assert idle.source == "rpm and current_a set in own.toml; its base: measured on the bench"
    assert states["fast"].rpm == 950.0
    assert by_name(load("workshop"))["idle"].rpm == 800.0


def test_switching_off_and_on_again(write: Write) -> None:
    off = "[state.idle]\noff = true\nreason = 'a generator set never idles'\n"
    middle = write(HEAD + off + "[state.fast]\nlike = 'idle'\nrpm = 1500\n", "middle.toml")
    found = load(middle)
    assert [state.name for state in found.states] == ["cranking", "fast"]
    assert found.states_off == (("idle", "a generator set never idles"),)
    assert by_name(found)["fast"].battery_v == 13.6  # a state can be like one that is switched off
    again = write('name = "a"\nissue = "1"\nbased_on = "middle.toml"\n[state.idle]\noff = false\n', "again.toml")
    assert [state.name for state in load(again).states] == ["idle", "cranking", "fast"]
    assert load(again).states_off == ()
    forgotten = write('name = "a"\nissue = "1"\nbased_on = "middle.toml"\n[state.idle]\nrpm = 900\n', "forgotten.toml")
    assert faults(forgotten) == (
        "state.idle: is switched off in the ruleset this one is based on; add off = false to switch it on",
    )


def test_a_ruleset_without_states_has_none(write: Write) -> None:
    assert load(write('name = "a"\nissue = "1"\n')).states == ()


def test_without_known_kinds_any_kind_passes(write: Write) -> None:
    path = write(HEAD + "[state.idle]\ncurrent_a = { winch = 80 }\n")
    assert by_name(load(path, known_components=()))["idle"].current_a["winch"] == 80.0


# Faults


def test_all_faults_at_once(write: Write) -> None:
    path = write(
        """
name = "own"
issue = "1"
based_on = "workshop"
[state.idle]
rpm = 30001
battery_mv = 12600
charge_a = "45 A"
starter = 1
pulse_ms = -1
dwell_ms = nan
manifold_bar = 1.2
meaning = ""
reason = "r"
[state.idle.current_a]
fann = 20
coil = "0.6 A"
"fuel pump" = -5
alternator = 50
[state.cranking]
battery_v = 24
current_a = 200
[state.parked]
rpm = 0
[state."ful load"]
rpm = 6000
[state.fast]
like = "idel"
[state.round]
like = "trip"
[state.trip]
like = "round"
[state.self]
like = "self"
[state.cruise]
rpm = 3000
source = "s"
[state.nothing]
off = true
[state.soft]
off = "yes"
reason = "r"
"""
    )
    own = "is missing: a state of your own says which one of"
    told = faults(path)
    expected = {
        "state.idle.rpm: expected a number in 1/min from 0 to 30000, found the number 30001",
        "state.idle: 'battery_mv' is not known here; did you mean 'battery_v'?",
        "state.idle.charge_a: expected a number in A not below 0, found text '45 A'",
        "state.idle.starter: expected true or false, found the number 1",
        "state.idle.pulse_ms: expected a number in ms not below 0, found the number -1",
        "state.idle.dwell_ms: expected a number in ms not below 0 that is finite, found the number nan",
        "state.idle.manifold_bar: expected a number in bar from 0.1 to 1.1, found the number 1.2",
        "state.idle.meaning: expected text, found empty text",
        "state.idle: 'reason' is for a state that is switched off; say under 'meaning' what the state is",
        "state.idle.current_a: 'fann' is not known as a kind of component; did you mean 'fan'?",
        "state.idle.current_a.coil: expected a number in A not below 0, found text '0.6 A'",
        'state.idle.current_a."fuel pump": expected a number in A not below 0, found the number -5',
        "state.idle.current_a: 'alternator' is no load; give the current into the battery as charge_a",
        "state.cranking.battery_v: expected a number in V from 0 to 16, found the number 24",
        "state.cranking.current_a: expected a table of currents such as { fan = 20 }, found the number 200",
        "state.fast.like: 'idel' is not known as a state of this ruleset; did you mean 'idle'?",
        "state.self.like: goes round in a loop: self → self",
        "state.cruise: 'meaning' is missing; write meaning = ...",
        "state.cruise: 'battery_v' is missing; give a number in V",
        "state.cruise: 'charge_a' is missing; give a number in A",
        "state.cruise: 'starter' is missing; give true or false",
        "state.cruise: 'alternator' is missing; give true or false",
        "state.cruise: 'pulse_ms' is missing; give a number in ms",
        "state.cruise: 'dwell_ms' is missing; give a number in ms",
        "state.cruise: 'manifold_bar' is missing; give a number in bar",
        "state.nothing: 'reason' is missing: switching a state off takes the reason",
        "state.soft.off: expected true or false, found text 'yes'",
    }
    assert expected <= set(told), expected - set(told)
    rest = set(told) - expected
    assert any(each.startswith("state.parked: 'like' " + own) for each in rest), rest
    assert any(each.startswith('state."ful load": \'like\' ' + own) and each.endswith('did you mean state."full load"?') for each in rest), rest
    assert any("goes round in a loop: round → trip → round" in each for each in rest), rest
    assert any(each.startswith("state.nothing: nothing can be switched off here: ") for each in rest), rest
    assert any(each.startswith("state.soft: nothing can be switched off here: ") for each in rest), rest
    assert len(rest) == 5


def test_a_loop_is_told_once(write: Write) -> None:
    text = "".join(f"[state.{one}]\nlike = '{other}'\n" for one, other in (("a", "b"), ("b", "c"), ("c", "a"), ("d", "a")))
    (told,) = faults(write(HEAD + text))
    assert told == "state.c.like: goes round in a loop: a → b → c → a"


def test_charging_needs_the_alternator(write: Write) -> None:
    told = faults(write(HEAD + "[state.failed]\nlike = 'idle'\nalternator = false\n"))
    assert told == ("state.failed: only the alternator charges the battery; set charge_a = 0 or alternator = true",)
    mended = write(HEAD + "[state.failed]\nlike = 'idle'\nalternator = false\ncharge_a = 0\n")
    assert by_name(load(mended))["failed"].charge_a == 0.0


def test_a_fault_of_the_base_names_the_base(write: Write) -> None:
    base = write(BASE.replace("rpm = 800", "rpn = 800"), "base.toml")
    top = write('name = "a"\nissue = "1"\nbased_on = "base.toml"\n[state.idle]\ndwel_ms = 3\n', "top.toml")
    assert set(faults(top)) == {
        f"{base}: state.idle: 'rpn' is not known here; did you mean 'rpm'?",
        "state.idle: 'dwel_ms' is not known here; did you mean 'dwell_ms'?",
    }


@pytest.mark.parametrize("text", ["state = 3\n", "[state]\nidle = 3\n", "[state.' ']\nrpm = 3\n"])
def test_tables_of_another_shape(write: Write, text: str) -> None:
    path = write('name = "own"\nissue = "1"\n' + text)
    assert len(faults(path)) == 1


@pytest.mark.parametrize("key", ["like", "meaning", *VALUES, "current_a", "source"])
def test_a_mistyped_key_is_told_with_the_right_one(write: Write, key: str) -> None:
    wrong = key[1] + key[0] + key[2:]
    told = faults(write(HEAD + f"[state.fast]\nlike = 'idle'\n{wrong} = 1\n"))
    assert told == (f"state.fast: '{wrong}' is not known here; did you mean '{key}'?",)


@pytest.mark.parametrize("key", ["meaning", *VALUES, "source"])
def test_a_standard_state_of_ones_own_without_base_gives_everything(write: Write, key: str) -> None:
    content = tomllib.loads(BASE)["state"]["cranking"]
    lines = [f"{name} = {value!r}".replace("True", "true").replace("False", "false") for name, value in content.items()]
    whole = 'name = "own"\nissue = "1"\n[state.cranking]\n'
    assert len(load(write(whole + "\n".join(lines))).states) == 1
    told = faults(write(whole + "\n".join(line for line in lines if not line.startswith(key))))
    assert len(told) == 1 and told[0].startswith(f"state.cranking: '{key}' is missing")


SCALARS = st.one_of(
    st.booleans(), st.integers(-10, 40_000), st.floats(), st.sampled_from(["idle", "cranking", "fast", "nonsense", ""])
)
TABLE = st.dictionaries(
    st.sampled_from(["like", "meaning", *VALUES, "source", "off", "reason", "rpn"]),
    SCALARS,
    max_size=6,
)


def as_toml(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, float):
        return "nan" if math.isnan(value) else ("inf" if value > 0 else "-inf") if math.isinf(value) else repr(value)
    return str(value)


@given(st.dictionaries(st.sampled_from(["idle", "cranking", "fast", "cruise"]), TABLE, max_size=3))
@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_states_load_or_are_refused_in_sentences(tmp_path: Path, tables: dict[str, dict[str, object]]) -> None:
    path = tmp_path / "mutated.toml"
    body = "".join(
        f"[state.{name}]\n" + "".join(f"{key} = {as_toml(value)}\n" for key, value in table.items())
        for name, table in tables.items()
    )
    path.write_text(HEAD + body, encoding="utf-8")
    try:
        found = load(path)
    except RulesetError as error:
        assert error.faults
        assert all(sentence and sentence.isprintable() for sentence in error.faults), error.faults
    else:
        for state in found.states:
            assert state.meaning and state.source and math.isfinite(state.rpm)
            assert state.name in STANDARD_STATES or state.names[-1] in STANDARD_STATES
