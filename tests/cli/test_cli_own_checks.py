"""A user's own checks: loaded only when the command line allows their package by name; a crash is an outcome."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from pathlib import Path

import jsonschema
import pytest
from cli_helpers import CLEAN, FAULTY, assert_refused, contents, csv_list, process, ran

from harnessdrc.checks.registry import CHECKS, load_checks
from harnessdrc.render.findings_json import schema

PACKAGE = '''
from dataclasses import dataclass
from pathlib import Path

from harnessdrc import Finding, Mark, check, limit

Path(__file__).with_name("loaded.txt").write_text("loaded")


@dataclass(frozen=True, slots=True)
class YellowLimits:
    """Limits."""

    most: float = limit(0.0, "A", "current that a yellow wire may have")


def wires(design, limits):
    return [("wire", wire.name) for wire in design.harness.wires]


@check(
    "workshop.yellow", counts="wires", subjects=wires, reads=("colour",), limits=YellowLimits,
    says={"": "{subject} is {colour}, and it measures {measured}."},
    remedy={"": "Draw {subject} again."},
)
def yellow(design, limits):
    """A wire is yellow."""
    for wire in design.harness.wires:
        if wire.name == "W4":
            yield Finding(
                ("wire", wire.name), (Mark(wire.place.of("colour"), "colour"),),
                {"colour": "[bold]yellow[/]", "odd": float("nan")}, measured=3.5, limit=limits.most, unit="A",
            )


@check(
    "workshop.falls", counts="wires", subjects=wires, reads=(),
    says={"": "{subject}."}, remedy={"": "Nothing."},
)
def falls(design, limits):
    """It falls over at the second wire."""
    for number, wire in enumerate(design.harness.wires):
        if number:
            raise RuntimeError("the jig has no such pin")
        yield Finding(("wire", wire.name), (Mark(wire.place.of("wire"), "wire"),))
'''
RULES = """
name = "workshop"
issue = "3"
title = "Workshop"
based_on = "engine-loom"

[packages]
checks = ["{package}"]

[rule.no-yellow]
check = "workshop.yellow"
grade = "{grade}"
reason = "Yellow is kept for the airbag."
source = "common practice, no source"
"""
FALLS = """
[rule.falls]
check = "workshop.falls"
grade = "note"
reason = "It falls."
source = "common practice, no source"
"""
_number = iter(range(1000))


@pytest.fixture
def package(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """Name of a fresh package on the path; what it registers is forgotten afterwards."""
    name = f"workshop_checks_{next(_number)}"
    folder = tmp_path / "site" / name
    folder.mkdir(parents=True)
    (folder / "__init__.py").write_text(PACKAGE, encoding="utf-8")
    monkeypatch.syspath_prepend(tmp_path / "site")
    before = dict(load_checks())
    yield name
    CHECKS.clear()
    CHECKS.update(before)
    sys.modules.pop(name, None)


def rules(folder: Path, package: str, grade: str = "query", more: str = "") -> Path:
    path = folder / "workshop.toml"
    path.write_text(RULES.format(package=package, grade=grade) + more, encoding="utf-8")
    return path


def test_without_leave_the_package_is_not_imported(
    package: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source = csv_list(tmp_path / "loom.csv")
    ruleset = rules(tmp_path, package)
    before = contents(tmp_path)
    result = ran(capsys, "check", source, "--ruleset", ruleset)
    assert result.code == 2
    assert result.out == ""
    assert f"--allow-checks {package}" in result.err
    assert "cannot run code on its own word" in result.err
    assert package not in sys.modules
    assert not (tmp_path / "site" / package / "loaded.txt").exists()
    assert contents(tmp_path) == before


@pytest.mark.parametrize("allowed", ["workshop", "workshop_checks", "harnessdrc", ""])
def test_leave_for_another_package_is_none(
    allowed: str, package: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source = csv_list(tmp_path / "loom.csv")
    result = ran(capsys, "check", source, "--ruleset", rules(tmp_path, package), "--allow-checks", allowed)
    assert result.code == 2
    assert package not in sys.modules


def test_leave_alone_loads_nothing(package: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The option allows; only a ruleset that names the package loads it."""
    source = csv_list(tmp_path / "loom.csv")
    assert ran(capsys, "check", source, "--allow-checks", package).code == 0
    assert package not in sys.modules


@pytest.mark.parametrize(("grade", "code"), [("query", 0), ("hold", 1)])
def test_own_checks_run_and_are_worded(
    grade: str, code: int, package: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source = csv_list(tmp_path / "loom.csv", [*CLEAN, ("W4", "ECU", "4", "Dash plug", "4", "YE", "0.5")])
    ruleset = rules(tmp_path, package, grade)
    result = ran(
        capsys, "check", source, "--ruleset", ruleset, "--allow-checks", package, "--json", tmp_path / "o.json"
    )
    assert result.code == code
    assert "  F5  Wire W4 is [bold]yellow[/], and it measures 3.5 A (limit 0 A)." in result.out.splitlines()
    assert "      → Draw wire W4 again." in result.out.splitlines()
    outcome = json.loads((tmp_path / "o.json").read_text("utf-8"))
    jsonschema.Draft202012Validator(schema()).validate(outcome)
    own = next(finding for finding in outcome["findings"] if finding["check"] == "workshop.yellow")
    assert own["grade"] == grade
    assert own["evidence"] == {"colour": "[bold]yellow[/]", "odd": "nan"}
    assert next(rule for rule in outcome["rules"] if rule["rule"] == "no-yellow")["looked_at"] == 4


def test_a_check_that_falls_gives_3_and_the_others_run_on(
    package: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source = csv_list(tmp_path / "loom.csv", FAULTY)
    ruleset = rules(tmp_path, package, more=FALLS)
    result = ran(
        capsys, "check", source, "--ruleset", ruleset, "--allow-checks", package, "--json", tmp_path / "o.json"
    )
    assert result.code == 3
    assert "Traceback" not in result.out + result.err
    assert "Rule falls failed to run: RuntimeError: the jig has no such pin" in result.out
    assert "ON HOLD: 1" in result.out
    assert result.out.splitlines()[-1].endswith("1 rule failed to run")
    assert (tmp_path / "loom.redline.xlsx").is_file()
    outcome = json.loads((tmp_path / "o.json").read_text("utf-8"))
    jsonschema.Draft202012Validator(schema()).validate(outcome)
    crashed = {rule["rule"]: rule["crashed"] for rule in outcome["rules"]}
    assert "the jig has no such pin" in crashed.pop("falls")
    assert set(crashed.values()) == {None}


def test_explain_shows_an_own_check(package: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    ruleset = rules(tmp_path, package)
    result = ran(capsys, "explain", "workshop.yellow", "--ruleset", ruleset, "--allow-checks", package)
    assert result.code == 0, result
    assert "A wire is yellow." in result.out
    assert "most = 0.0 A: current that a yellow wire may have" in result.out
    assert "no-yellow (query): Yellow is kept for the airbag." in result.out


def test_a_package_that_fails_or_is_missing(package: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source = csv_list(tmp_path / "loom.csv")
    (tmp_path / "site" / package / "__init__.py").write_text("import no_such_thing\n", encoding="utf-8")
    result = ran(capsys, "check", source, "--ruleset", rules(tmp_path, package), "--allow-checks", package)
    assert result.code == 2
    assert "Traceback" not in result.err
    assert "no_such_thing" in result.err
    missing = ran(capsys, "check", source, "--ruleset", rules(tmp_path, "not_there"), "--allow-checks", "not_there")
    assert missing.code == 2
    assert "not_there" in missing.err


def test_as_a_process_of_its_own(package: str, tmp_path: Path) -> None:
    source = csv_list(tmp_path / "loom.csv")
    ruleset = rules(tmp_path, package, more=FALLS)
    env = {"PYTHONPATH": str(tmp_path / "site")}
    assert process("check", source, "--ruleset", ruleset, env=env).returncode == 2
    assert not (tmp_path / "site" / package / "loaded.txt").exists()
    assert process("check", source, "--ruleset", ruleset, "--allow-checks", package, env=env).returncode == 3
    assert (tmp_path / "site" / package / "loaded.txt").exists()


def test_an_input_error_needs_no_ruleset(package: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert_refused(ran(capsys, "check", tmp_path / "no.csv"), "no.csv")
