"""Rulesets: what loads, what is merged, and that every fault is told at once with the nearest name."""

from __future__ import annotations

import copy
import math
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from harnessdrc import rulesets
from harnessdrc.errors import CommandError, RulesetError
from harnessdrc.rulesets import Given, Rule, Ruleset, Scope, given_overrides, load_ruleset
from harnessdrc.rulesets import files as rulesets_files


@dataclass(frozen=True, slots=True)
class DropLimits:
    """Limits of every kind that a check may declare."""

    drop_v: float = field(default=0.5, metadata={"unit": "V", "meaning": "drop over feed and return"})
    wires: int = field(default=3, metadata={"unit": "", "meaning": "wires looked at"})
    strict: bool = field(default=False, metadata={"unit": "", "meaning": "count ring terminals"})
    place: str = field(default="head", metadata={"unit": "", "meaning": "where"})
    roles: tuple[str, ...] = field(default=("power ground",), metadata={"unit": "", "meaning": "roles"})
    spans: tuple[float, ...] = field(default=(), metadata={"unit": "mm", "meaning": "spans"})
    most_a: float | None = field(default=None, metadata={"unit": "A", "meaning": "ceiling"})
    side: Literal["feed", "return"] = field(default="feed", metadata={"unit": "", "meaning": "side"})


@dataclass(frozen=True, slots=True)
class BandLimits:
    """A limit without a default, and two that must stand in order."""

    low_v: float = field(metadata={"unit": "V", "meaning": "lower end of the band"})
    high_v: float = field(default=5.0, metadata={"unit": "V", "meaning": "upper end"})

    def __post_init__(self) -> None:
        if self.high_v <= self.low_v:
            raise ValueError(f"expected low_v below high_v, found {self.low_v:g} V and {self.high_v:g} V")


@dataclass(frozen=True)
class Info:
    name: str
    limits: type | None


CHECKS: dict[str, Info] = {
    info.name: info
    for info in (
        Info("wire.voltage_drop", DropLimits),
        Info("ground.one_point", None),
        Info("ground.two_paths", None),
        Info("sensor.band", BandLimits),
    )
}
KNOWN_GIVEN = {"ambient_degc": "degC", "cranking_a": "A", "joint_mohm": "mohm", "coils": "", "engine": "text"}
KINDS = ("wire", "component", "net", "connector")

WORKSHOP = """
name = "workshop"
issue = "2"
title = "House rules of the loom shop"

[given.ambient_degc]
value = 85
unit = "degC"
reason = "engine bay, hot soak"
source = "common practice"

[given.engine]
value = "straight four"
reason = "hill-climb single-seater"
source = "customer's order"

[rule.one-earth-point]
check = "ground.one_point"
grade = "hold"
reason = "two earth points close a loop with the straps"
source = "MIL-HDBK-419A"

[rule.drop]
check = "wire.voltage_drop"
grade = "query"
reason = "coils lose energy below 12 V"
source = "AC 43.13-1B table 11-6"
[rule.drop.limits]
drop_v = 1
roles = ["coil input", "injector"]
[rule.drop.scope]
only = ["component:coil*", "component:INJ*"]
except = ["component:coil 4"]
"""


@pytest.fixture(autouse=True)
def shipped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of shipped rulesets of our own, so that the tests do not hang on the real ones."""
    folder = tmp_path / "shipped"
    folder.mkdir()
    (folder / "workshop.toml").write_text(WORKSHOP, encoding="utf-8")
    (folder / "components.toml").write_text("[component.coil]\nohm = 0.5\n", encoding="utf-8")
    (folder / "broken.toml").write_text("name = \n", encoding="utf-8")
    monkeypatch.setattr(rulesets_files, "rulesets_folder", lambda: folder)
    return folder


def load(name_or_path: str | Path, **options: Any) -> Ruleset:
    options = {"checks": CHECKS, "known_given": KNOWN_GIVEN, "known_kinds": KINDS, **options}
    return load_ruleset(str(name_or_path), **options)


Write = Callable[..., Path]


@pytest.fixture
def write(tmp_path: Path) -> Write:
    def to_file(text: str, name: str = "own.toml") -> Path:
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True, parents=True)
        path.write_text(text, encoding="utf-8")
        return path

    return to_file


HEAD = 'name = "own"\nissue = "1"\n'
RULE = """
[rule.one]
check = "ground.one_point"
grade = "hold"
reason = "r"
source = "s"
"""


def faults(path: str | Path, **options: Any) -> tuple[str, ...]:
    with pytest.raises(RulesetError) as caught:
        load(path, **options)
    assert caught.value.faults
    assert str(path) in str(caught.value).splitlines()[0]
    return caught.value.faults


# What loads


def test_a_whole_ruleset(shipped: Path) -> None:
    found = load("workshop")
    assert (found.name, found.issue, found.title) == ("workshop", "2", "House rules of the loom shop")
    assert found.file == shipped / "workshop.toml"
    assert found.given == {
        "ambient_degc": Given(85.0, "degC", "engine bay, hot soak", "common practice"),
        "engine": Given("straight four", "", "hill-climb single-seater", "customer's order"),
    }
    assert isinstance(found.given["ambient_degc"].value, float)
    assert found.rules == (
        Rule(
            "one-earth-point",
            "ground.one_point",
            "hold",
            None,
            Scope(),
            "two earth points close a loop with the straps",
            "MIL-HDBK-419A",
        ),
        Rule(
            "drop",
            "wire.voltage_drop",
            "query",
            DropLimits(drop_v=1.0, roles=("coil input", "injector")),
            Scope(("component:coil*", "component:INJ*"), ("component:coil 4",)),
            "coils lose energy below 12 V",
            "AC 43.13-1B table 11-6",
        ),
    )
    assert isinstance(found.rules[1].limits.drop_v, float)
    assert found.rules_off == () and found.packages == () and found.based_on == ()


def test_scope() -> None:
    scope = Scope(("component:coil*", "net:*"), ("component:coil 4", "net:12V ?"))
    assert scope.takes(("component", "Coil 1"))
    assert not scope.takes(("component", "coil 4"))
    assert not scope.takes(("component", "ECU"))
    assert not scope.takes(("wire", "coil 1"))
    assert scope.takes(("net", "5V sensor"))
    assert not scope.takes(("net", "12v a"))
    assert scope.takes(("net", "12V ab"))
    assert Scope().takes(("wire", "anything"))
    assert not Scope(except_=("wire:*",)).takes(("wire", "W1"))
    assert Scope(("*:coil*",)).takes(("connector", "COIL 3"))
    assert not Scope(("wire:W1",)).takes(("wire", "W12"))


def test_every_kind_of_limit(write: Write) -> None:
    path = write(
        HEAD
        + RULE.replace("ground.one_point", "wire.voltage_drop")
        + "[rule.one.limits]\ndrop_v = 0.25\nwires = 7\nstrict = true\nplace = 'block'\nroles = []\n"
        "spans = [1, 2.5]\nmost_a = 20\nside = 'return'\n"
    )
    expected = DropLimits(0.25, 7, True, "block", (), (1.0, 2.5), 20.0, "return")
    assert load(path).rules[0].limits == expected


def test_a_byte_order_mark_and_windows_lines_are_no_trouble(tmp_path: Path) -> None:
    path = tmp_path / "windows.toml"
    path.write_bytes(b"\xef\xbb\xbf" + (HEAD + RULE).replace("\n", "\r\n").encode())
    assert load(path).rules[0].name == "one"


def test_without_known_names_any_given_value_passes(write: Write) -> None:
    path = write(given_table("whatever", "value = 3\nunit = 'furlong'"))
    assert load(path, known_given=None).given["whatever"] == Given(3.0, "furlong", "r", "s")


def test_units_may_be_written_with_signs(write: Write) -> None:
    text = "[given.ambient_degc]\nvalue = 3\nunit = '°C'\nreason = 'r'\nsource = 's'\n"
    text += "[given.joint_mohm]\nvalue = 5\nunit = 'mΩ'\nreason = 'r'\nsource = 's'\n"
    found = load(write(HEAD + text))
    assert found.given["ambient_degc"].unit == "degC"
    assert found.given["joint_mohm"].unit == "mohm"


# Based on another


def test_keys_of_a_rule_are_merged_one_by_one(write: Write, shipped: Path) -> None:
    path = write(
        'name = "customer"\nissue = "A"\nbased_on = "workshop"\n'
        "[given.ambient_degc]\nvalue = 105.5\nreason = 'next to the turbocharger'\n"
        "[rule.drop]\ngrade = 'hold'\n[rule.drop.limits]\nwires = 9\n[rule.drop.scope]\nexcept = []\n"
        "[rule.paths]\ncheck = 'ground.two_paths'\ngrade = 'note'\nreason = 'r'\nsource = 's'\n"
    )
    found = load(path)
    assert [rule.name for rule in found.rules] == ["one-earth-point", "drop", "paths"]
    drop = found.rules[1]
    assert drop.grade == "hold"
    assert drop.limits == DropLimits(drop_v=1.0, wires=9, roles=("coil input", "injector"))
    assert drop.scope == Scope(("component:coil*", "component:INJ*"), ())
    assert drop.reason == "coils lose energy below 12 V"
    # The base's source is not cited for what the base does not say.
    assert drop.source == f"grade and limits and scope set in {path.name}; its base: AC 43.13-1B table 11-6"
    reason = "next to the turbocharger"
    assert found.given["ambient_degc"] == Given(
        105.5, "degC", reason, f"value set in {path.name}; its base: common practice"
    )
    assert found.given["engine"].value == "straight four"
    assert found.based_on == ("workshop",)
    assert (found.title, found.file) == ("", path)
    assert load("workshop").rules[1].grade == "query"


def test_switching_off_and_on_again(write: Write) -> None:
    write(
        HEAD + "based_on = 'workshop'\n[rule.drop]\noff = true\nreason = 'the customer measures it'\n",
        "folder/middle.toml",
    )
    last = write(HEAD + "based_on = 'folder/middle.toml'\n", "last.toml")
    found = load(last)
    assert [rule.name for rule in found.rules] == ["one-earth-point"]
    assert found.rules_off == (("drop", "the customer measures it"),)
    assert found.based_on[1] == "workshop" and found.based_on[0].endswith("middle.toml")
    again = write(HEAD + "based_on = 'folder/middle.toml'\n[rule.drop]\noff = false\n", "again.toml")
    assert load(again).rules == load("workshop").rules and load(again).rules_off == ()
    forgotten = write(
        HEAD + "based_on = 'folder/middle.toml'\n[rule.drop]\ngrade = 'hold'\n", "forgotten.toml"
    )
    assert faults(forgotten) == (
        "rule.drop: is switched off in the ruleset this one is based on; add off = false to switch it on",
    )


def test_a_fault_of_the_base_names_the_base(write: Write) -> None:
    base = write(HEAD + RULE.replace("grade", "graed"), "base.toml")
    top = write(HEAD + "based_on = 'base.toml'\n[rule.one]\nreasn = 'x'\n", "top.toml")
    assert faults(top) == (
        f"{base}: rule.one: 'graed' is not known here; did you mean 'grade'?",
        "rule.one: 'reasn' is not known here; did you mean 'reason'?",
    )


def test_loops_are_told_with_their_way(write: Write) -> None:
    for one, other in (("a", "b"), ("b", "c"), ("c", "a")):
        write(HEAD + f"based_on = '{other}.toml'\n", f"{one}.toml")
    path = write(HEAD + "based_on = 'a.toml'\n", "a0.toml")
    (told,) = faults(path)
    way = told.partition("goes round in a loop: ")[2].split(" → ")
    assert [Path(step).name for step in way] == ["a0.toml", "a.toml", "b.toml", "c.toml", "a.toml"]
    alone = write(HEAD + "based_on = './alone.toml'\n", "alone.toml")
    assert "goes round in a loop" in faults(alone)[0]


@pytest.mark.parametrize(
    ("based_on", "words"),
    [
        ("'workshp'", ("based_on 'workshp'", "did you mean 'workshop'?", "Shipped rulesets are workshop.")),
        ("'none.toml'", ("there is no file of this name in", "Shipped rulesets are workshop.")),
        ("'broken'", ("based_on 'broken'", "line 1", "this is not TOML")),
        ("7", ("based_on: expected the name of a shipped ruleset", "found the number 7")),
        ("''", ("based_on: expected", "empty text")),
    ],
)
def test_bases_that_cannot_be_had(based_on: str, words: tuple[str, ...], write: Write) -> None:
    told = faults(write(HEAD + f"based_on = {based_on}\nextra = 1\n"))
    assert all(word in told[0] for word in words), told
    assert told[-1].startswith("'extra' is not known here")  # the other faults are told as well


# Faults


def test_all_faults_at_once(write: Write) -> None:
    path = write(
        """
nam = "own"
issue = 1
colour = "red"
[given.ambient_dgc]
value = 85
unit = "degC"
reason = "r"
source = "s"
[given.cranking_a]
value = true
unit = "mA"
reason = ""
[rule.one-earth-point]
check = "ground.one_pont"
graed = "hold"
reason = "r"
[rule.drop]
check = "wire.voltage_drop"
grade = "holt"
reason = "r"
source = "s"
[rule.drop.limits]
drop_w = 1
wires = 1.5
strict = 1
roles = ["a", 2]
[rule.drop.scope]
onyl = ["component:*"]
only = ["coil*", "componet:coil*"]
[rule.nothing]
off = true
"""
    )
    told = faults(path)
    assert set(told) == {
        "'nam' is not known here; did you mean 'name'?",
        "issue: expected text, found the number 1",
        "'colour' is not known here; known are based_on, given, issue, name, packages, rule, state, title.",
        "given: 'ambient_dgc' is not known as a given value; did you mean 'ambient_degc'?",
        "given.cranking_a.unit: expected 'A', found text 'mA'",
        "given.cranking_a.value: expected a number in A, found true",
        "given.cranking_a.reason: expected text, found empty text",
        "given.cranking_a: 'source' is missing; write source = ...",
        "rule.one-earth-point: 'graed' is not known here; did you mean 'grade'?",
        "rule.one-earth-point.check: 'ground.one_pont' is not known as a check; "
        "did you mean 'ground.one_point'?",
        "rule.one-earth-point: 'source' is missing; write source = ...",
        "rule.drop.grade: expected 'hold', 'query' or 'note', found text 'holt'; did you mean 'hold'?",
        "rule.drop.limits: 'drop_w' is not known here; did you mean 'drop_v'?",
        "rule.drop.limits.wires: expected a whole number, found the number 1.5",
        "rule.drop.limits.strict: expected true or false, found the number 1",
        "rule.drop.limits.roles: entry 2 of the list: expected text, found the number 2",
        "rule.drop.scope: 'onyl' is not known here; did you mean 'only'?",
        "rule.drop.scope.only: expected 'kind:name' such as 'component:coil*', found text 'coil*'",
        "rule.drop.scope.only: 'componet' is not known as a kind of subject; did you mean 'component'?",
        "rule.nothing: 'reason' is missing: switching a rule off takes the reason",
        "rule.nothing: nothing can be switched off here: 'nothing' is not known among the rules this "
        "ruleset is based on; there is no name that would be.",
    }
    assert len(told) == len(set(told))


def given_table(name: str, line: str) -> str:
    return f"{HEAD}[given.{name}]\n{line}\nreason = 'r'\nsource = 's'\n"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", "'name' is missing; write name"),
        (HEAD + "rule = 3\n", "rule: expected tables such as [rule.name], found the number 3"),
        (HEAD + "given = []\n", "given: expected tables such as [given.name], found an empty list"),
        (HEAD + "[rule]\none = 3\n", "rule.one: expected a table [rule.one], found the number 3"),
        (HEAD + "[[rule.one]]\n", "rule.one: expected a table [rule.one], found a list"),
        (HEAD + '[rule.""]\n', 'rule."": expected a name that can be read on one line'),
        (HEAD + "packages = 1\n", "packages: expected a table with the key 'checks', found the number 1"),
        (HEAD + "[packages]\ncheck = []\n", "packages: 'check' is not known here; did you mean 'checks'?"),
        (HEAD + "[packages]\nchecks = 'a'\n", "packages.checks: expected a list of text, found text 'a'"),
        (HEAD + RULE + "off = 'yes'\n", "rule.one.off: expected true or false, found text 'yes'"),
        (HEAD + RULE + "limits = 3\n", "rule.one.limits: expected a table of limits, found the number 3"),
        (HEAD + RULE + "[rule.one.limits]\nx = 3\n", "the check 'ground.one_point' takes no limits"),
        (
            HEAD + RULE + "scope = 1979-05-27\n",
            "rule.one.scope: expected a table with 'only' or 'except', found a date",
        ),
        (
            HEAD + RULE + "scope.only = ['a:b', 'a:b']\n",
            "rule.one.scope.only: 'a:b' stands twice in the list",
        ),
        (HEAD + RULE + "scope.only = [':b']\n", "expected 'kind:name'"),
        (
            HEAD + RULE + "scope = {only = ['wire:b'], except = ['wire:b']}\n",
            "under 'only' and under 'except'",
        ),
        (HEAD + RULE + RULE.replace("[rule.one]", "[rule.two]"), "rule.two: means the same as rule.one"),
        (
            HEAD + RULE.replace("'r'", "''").replace('"r"', '" "'),
            "rule.one.reason: expected text, found text ' '",
        ),
        (
            HEAD + RULE.replace("ground.one_point", "sensor.band"),
            "'low_v' in V is missing (lower end of the band)",
        ),
        (
            HEAD + RULE.replace("ground.one_point", "sensor.band") + "limits.low_v = 7\n",
            "rule.one.limits: expected low_v below high_v, found 7 V and 5 V",
        ),
        (given_table("coils", "value = inf"), "a number that is finite, found the number inf"),
        (given_table("coils", "value = -nan"), "that is finite"),
        (given_table("coils", f"value = {'9' * 400}"), "a number of many figures"),
        (given_table("coils", f"value = {'9' * 5000}"), "a value cannot be read"),
        (given_table("coils", ""), "given.coils: 'value' is missing"),
        (given_table("coils", "value = 4\nunit = 'A'"), "expected an empty unit, found text 'A'"),
        (given_table("cranking_a", "value = 4"), "'unit' is missing; write unit = \"A\""),
        (given_table("engine", "value = 4"), "given.engine.value: expected text, found the number 4"),
        (given_table("coils", "value = 'x'"), "expected a number, found text 'x'"),
        (given_table("coils", "value = 1\nunit = 4"), "given.coils.unit: expected text"),
        ("name = 'a'\nissue = '1'\n\nrule. = 3\n", "line 4, column 7: this is not TOML"),
        ("name = 'a'\nname = 'b'\n", "line 2, column 11: this is not TOML: cannot overwrite a value"),
        ("name = 'a'\nissue = ", "line 2, column 9: this is not TOML: invalid value"),
        ("a = " + "[" * 20_000, "the brackets are nested too deep"),
    ],
)
def test_single_faults(text: str, expected: str, write: Write) -> None:
    told = faults(write(text))
    assert any(expected in sentence for sentence in told), told


def test_a_flood_of_unknown_keys_is_counted(write: Write) -> None:
    told = faults(write(HEAD + "".join(f"k{number} = 1\n" for number in range(60))))
    assert len(told) == 51 and told[-1] == "10 further keys are not known here"


def test_switching_off_takes_a_reason_alone(write: Write) -> None:
    path = write(
        HEAD
        + "based_on = 'workshop'\n[rule.drop]\noff = true\ngrade = 'note'\n"
        + "[rule.one-erth-point]\noff = true\nreason = 'r'\n"
    )
    assert set(faults(path)) == {
        "rule.drop: a rule that is switched off takes a reason alone; leave out 'grade'",
        "rule.drop: 'reason' is missing: switching a rule off takes the reason",
        "rule.one-erth-point: nothing can be switched off here: 'one-erth-point' is not known among the "
        "rules this ruleset is based on; did you mean 'one-earth-point'?",
    }


def test_an_inherited_rule_keeps_its_check(write: Write) -> None:
    path = write(HEAD + "based_on = 'workshop'\n[rule.drop]\ncheck = 'ground.one_point'\n")
    assert "an inherited rule keeps its check 'wire.voltage_drop'" in faults(path)[0]


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        (
            "workshp",
            "there is no shipped ruleset and no file of this name; did you mean 'workshop'? "
            "Shipped rulesets are workshop.",
        ),
        ("qqq", "there is no shipped ruleset and no file of this name. Shipped rulesets are workshop."),
        ("no/such/workshop.toml", "there is no file of this name; did you mean 'workshop'?"),
        ("", "there is no shipped ruleset"),
        ("a\0b", "there is no shipped ruleset"),
        ("x" * 5000, "there is no shipped ruleset"),
    ],
)
def test_missing_files_list_what_is_shipped(name: str, expected: str) -> None:
    with pytest.raises(RulesetError) as caught:
        load(name)
    assert caught.value.faults[0].startswith(expected)


def test_files_that_are_no_text(tmp_path: Path) -> None:
    assert "this is a folder" in faults(tmp_path)[0]
    latin = tmp_path / "latin.toml"
    latin.write_bytes(b"name = 'a'\ntitle = 'f\xfcr'\n")
    assert faults(latin) == ("line 2: expected text in UTF-8; save the file as UTF-8",)
    large = tmp_path / "large.toml"
    large.write_bytes(b"#" * 4_000_001)
    assert "larger than 4 MB" in faults(large)[0]
    dangling = tmp_path / "dangling.toml"
    dangling.symlink_to(tmp_path / "nowhere")
    assert "this is not a file" in faults(dangling)[0]


def test_a_file_that_may_not_be_read(write: Write, monkeypatch: pytest.MonkeyPatch) -> None:
    path = write(HEAD)

    def refused(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refused)
    assert faults(path) == ("the file cannot be read (Permission denied)",)


def test_a_check_with_a_defect_is_a_sentence(write: Write) -> None:
    @dataclass(frozen=True)
    class Odd:
        when: complex = 0j

    @dataclass(frozen=True)
    class Refuses:
        value: float = 1.0

        def __post_init__(self) -> None:
            raise KeyError("spare")

    class Plain:
        pass

    path = write(HEAD + RULE + "limits.when = 1\n")
    assert "has a defect" in faults(path, checks={"ground.one_point": Info("ground.one_point", Odd)})[0]
    assert "are no dataclass" in faults(path, checks={"ground.one_point": Info("ground.one_point", Plain)})[0]
    path = write(HEAD + RULE)
    told = faults(path, checks={"ground.one_point": Info("ground.one_point", Refuses)})
    assert told == ("rule.one.limits: the check 'ground.one_point' has a defect: KeyError: 'spare'",)


# Packages with checks


@pytest.fixture
def packages(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "installed"
    folder.mkdir()
    monkeypatch.syspath_prepend(str(folder))
    known = set(sys.modules)
    yield folder  # type: ignore[misc]
    for name in set(sys.modules) - known:
        if name.startswith("ourshop"):
            del sys.modules[name]


def test_a_package_is_imported_only_when_allowed(packages: Path, write: Write) -> None:
    (packages / "ourshop_checks.py").write_text("raise SystemExit('must not run')\n", encoding="utf-8")
    path = write(
        HEAD + RULE.replace("ground.one_point", "ourshop.seal") + '[packages]\nchecks = ["ourshop_checks"]\n'
    )
    for allowed in ((), ("ourshop_check",), ("ourshop",)):
        told = faults(path, allowed_packages=allowed)
        assert "--allow-checks ourshop_checks" in told[0]
        assert "a ruleset cannot run code on its own word" in told[0]
        assert "It may belong to ourshop_checks, which is not loaded." in told[1]
        assert "ourshop_checks" not in sys.modules
    base = write(path.read_text(encoding="utf-8"), "base.toml")
    top = write(HEAD + f"based_on = '{base.name}'\n", "top.toml")
    assert "--allow-checks" in faults(top)[0]
    assert "ourshop_checks" not in sys.modules


def test_a_package_brings_its_checks(packages: Path, write: Write) -> None:
    live: dict[str, Info] = dict(CHECKS)
    (packages / "ourshop_checks.py").write_text("REGISTRY['ourshop.seal'] = SEAL\n", encoding="utf-8")
    import builtins

    path = write(
        HEAD + RULE.replace("ground.one_point", "ourshop.seal") + '[packages]\nchecks = ["ourshop_checks"]\n'
    )
    builtins.REGISTRY, builtins.SEAL = live, Info("ourshop.seal", None)  # type: ignore[attr-defined]
    try:
        found = load(path, checks=live, allowed_packages=["ourshop_checks"])
    finally:
        del builtins.REGISTRY, builtins.SEAL  # type: ignore[attr-defined]
    assert found.packages == ("ourshop_checks",)
    assert found.rules[0].check == "ourshop.seal"


@pytest.mark.parametrize(
    ("source", "expected"),
    [
        (
            None,
            "the package 'ourshop_faulty' cannot be imported (No module named 'ourshop_faulty'); install it",
        ),
        ("import ourshop_absent\n", "cannot be imported (No module named 'ourshop_absent')"),
        ("1/0\n", "fails while it is imported (ZeroDivisionError: division by zero)"),
        ("raise SystemExit('no')\n", "fails while it is imported (SystemExit: no)"),
        ("def\n", "fails while it is imported (SyntaxError:"),
    ],
)
def test_packages_that_fail_are_a_sentence(
    source: str | None, expected: str, packages: Path, write: Write
) -> None:
    if source is not None:
        (packages / "ourshop_faulty.py").write_text(source, encoding="utf-8")
    path = write(HEAD + '[packages]\nchecks = ["ourshop_faulty", "../evil"]\n')
    told = faults(path, allowed_packages=["ourshop_faulty", "../evil"])
    assert expected in told[0] and "\n" not in told[0]
    assert told[1] == "packages.checks: '../evil' is no name of a Python package"


# Given on the command line


@pytest.mark.parametrize(
    ("text", "name", "value", "unit"),
    [
        ("ambient_degc=95", "ambient_degc", 95.0, "degC"),
        ("ambient_degc = -40.5 degC", "ambient_degc", -40.5, "degC"),
        ("ambient_degc=95°C", "ambient_degc", 95.0, "degC"),
        ("cranking_a=1.5e2A", "cranking_a", 150.0, "A"),
        ("joint_mohm=.5 mΩ", "joint_mohm", 0.5, "mohm"),
        ("coils=+4", "coils", 4.0, ""),
        ("engine=V8 = big", "engine", "V8 = big", ""),
    ],
)
def test_values_from_the_command_line(text: str, name: str, value: float | str, unit: str) -> None:
    before = load("workshop")
    after = given_overrides([text], before, known_given=KNOWN_GIVEN)
    assert after.given[name] == Given(value, unit, "given on the command line", "--given")
    assert after.rules == before.rules
    assert before.given["ambient_degc"].value == 85.0
    assert given_overrides([], before) is before


def test_own_values_need_no_further_names() -> None:
    assert given_overrides(["ambient_degc=1", "engine=x"], load("workshop")).given["engine"].value == "x"
    with pytest.raises(CommandError, match="not known as a given value"):
        given_overrides(["cranking_a=1"], load("workshop"))


def test_faults_of_the_command_line_are_told_all_at_once() -> None:
    texts = [
        "ambient_dgc=5",
        "ambient_degc",
        "=5",
        "ambient_degc=",
        "ambient_degc=5",
        "coils=4 A",
        "cranking_a=inf",
        "joint_mohm=0,5",
        "engine=",
        "ambient_degc=6",
    ]
    with pytest.raises(CommandError) as caught:
        given_overrides(texts, load("workshop"), known_given=KNOWN_GIVEN)
    assert str(caught.value).splitlines() == [
        "--given 'ambient_dgc=5': 'ambient_dgc' is not known as a given value; did you mean 'ambient_degc'?",
        "--given 'ambient_degc': expected key=value, for example ambient_degc=85.",
        "--given '=5': expected key=value, for example ambient_degc=85.",
        "--given 'ambient_degc=': expected a number in degC, found ''.",
        "--given 'ambient_degc=5': 'ambient_degc' is given twice; give it once.",
        "--given 'coils=4 A': the unit 'A' does not fit; expected a bare number.",
        "--given 'cranking_a=inf': expected a number in A, found 'inf'.",
        "--given 'joint_mohm=0,5': expected a number in mohm, found '0,5'; write the decimal point as '0.5'.",
        "--given 'engine=': expected a text after the equals sign.",
        "--given 'ambient_degc=6': 'ambient_degc' is given twice; give it once.",
    ]


@given(st.text(max_size=40), st.sampled_from(sorted(KNOWN_GIVEN)))
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_text_gives_a_finite_value_or_a_sentence(text: str, name: str) -> None:
    ruleset = Ruleset("a", "1", "", Path("a.toml"), {}, ())
    try:
        found = given_overrides([f"{name}={text}"], ruleset, known_given=KNOWN_GIVEN)
    except CommandError as error:
        assert "\n" not in str(error)
    else:
        value = found.given[name].value
        assert isinstance(value, str) if name == "engine" else math.isfinite(value)  # type: ignore[arg-type]


# Anything at all

SCALARS = st.one_of(
    st.booleans(),
    st.integers(-(2**70), 2**70),
    st.floats(),
    st.text(max_size=12),
    st.sampled_from(["hold", "ground.one_point", "component:coil*", "workshop", "degC", "V", ""]),
    st.dates(),
    st.lists(st.one_of(st.integers(), st.text(max_size=5), st.booleans()), max_size=3),
)
KEYS = [
    "name",
    "issue",
    "title",
    "based_on",
    "given",
    "rule",
    "packages",
    "check",
    "checks",
    "grade",
    "reason",
    "source",
    "limits",
    "scope",
    "only",
    "except",
    "off",
    "value",
    "unit",
    "drop_v",
    "wires",
    "one",
    "drop",
    "ambient_degc",
    "engine",
]
NAMES = st.one_of(
    st.text(st.characters(exclude_categories=["Cs"]), max_size=8),
    st.sampled_from(KEYS),
)


def as_toml(value: Any) -> str:
    """Write a nest of plain values as TOML, every table inline, so that any mutation can be written."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float):
        return (
            "nan"
            if math.isnan(value)
            else ("inf" if value > 0 else "-inf")
            if math.isinf(value)
            else repr(value)
        )
    if isinstance(value, str):
        return '"' + "".join(f"\\U{ord(c):08X}" if not c.isalnum() else c for c in value) + '"'
    if isinstance(value, list):
        return "[" + ", ".join(map(as_toml, value)) + "]"
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{as_toml(str(key))} = {as_toml(each)}" for key, each in value.items()) + "}"
    return str(value)


def tables_within(tree: dict[str, Any]) -> list[dict[str, Any]]:
    found = [tree]
    for each in tree.values():
        if isinstance(each, dict):
            found += tables_within(each)
    return found


@given(data=st.data())
@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_ruleset_loads_or_is_refused_in_sentences(data: st.DataObject, tmp_path: Path) -> None:
    import tomllib

    tree = copy.deepcopy(tomllib.loads(WORKSHOP))
    for _ in range(data.draw(st.integers(1, 4))):
        table = data.draw(st.sampled_from(tables_within(tree)))
        how = data.draw(st.sampled_from(["add", "change", "drop", "rename"]))
        if how == "add":
            value = data.draw(st.one_of(SCALARS, st.dictionaries(NAMES, SCALARS, max_size=3)))
            table[data.draw(NAMES)] = value
        elif table:
            key = data.draw(st.sampled_from(sorted(table)))
            if how == "change":
                table[key] = data.draw(SCALARS)
            else:
                value = table.pop(key)
                if how == "rename":
                    table[data.draw(NAMES)] = value
    path = tmp_path / "mutated.toml"
    path.write_text("\n".join(f"{as_toml(k)} = {as_toml(v)}" for k, v in tree.items()), encoding="utf-8")
    try:
        found = load(path)
    except RulesetError as error:
        assert error.faults
        assert all(sentence and sentence.isprintable() for sentence in error.faults), error.faults
    else:
        for rule in found.rules:
            assert rule.grade in ("hold", "query", "note") and rule.reason and rule.source
            assert rule.check in CHECKS
        for value in found.given.values():
            assert isinstance(value.value, str) or math.isfinite(value.value)


@given(st.binary(max_size=200))
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_bytes_are_refused_in_sentences(tmp_path: Path, raw: bytes) -> None:
    path = tmp_path / "junk.toml"
    path.write_bytes(raw)
    with pytest.raises(RulesetError) as caught:  # no such short junk names a ruleset and its issue
        load(path)
    assert caught.value.faults


def test_every_single_mistyped_key_is_told_with_the_right_one(write: Write) -> None:
    for key in ("check", "grade", "reason", "source", "limits", "scope"):
        wrong = key[1] + key[0] + key[2:]
        rule = dict.fromkeys(("check", "grade", "reason", "source"), "x") | {key: "x"}
        rule["check"], rule["grade"] = "ground.one_point", "hold"
        rule[wrong] = rule.pop(key)
        body = "".join(f"{name} = '{value}'\n" for name, value in rule.items())
        told = faults(write(HEAD + "[rule.one]\n" + body))
        assert f"rule.one: '{wrong}' is not known here; did you mean '{key}'?" in told


def test_loading_imports_nothing_heavy() -> None:
    import subprocess

    code = (
        "import sys, harnessdrc.rulesets, harnessdrc.rulesets.building; "
        "sys.exit(any(m in sys.modules for m in ('pandas', 'networkx', 'numpy', 'openpyxl', 'difflib')))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_public_names_are_there() -> None:
    assert all(hasattr(rulesets, name) for name in rulesets.__all__)
    assert rulesets.shipped_rulesets() == ("workshop",)
