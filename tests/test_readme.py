"""The README names what there is: every column, rule and verb, and the cautions."""

from __future__ import annotations

from pathlib import Path

import pytest

from harnessdrc.api import load_rules
from harnessdrc.cli import parser
from harnessdrc.render.template import heading_of
from harnessdrc.tables.columns import FORMS

README = (Path(__file__).parents[1] / "README.md").read_text(encoding="utf-8")


def test_every_column_of_the_recommended_form_is_named() -> None:
    for form in FORMS.values():
        line = next(line for line in README.splitlines() if line.startswith(f"| {form.title} |"))
        for column in form.columns:
            heading = heading_of(form, column)
            assert (f"**{heading}**" if column.needed else heading) in line


def test_every_rule_is_named_with_its_grade_and_check() -> None:
    _, ruleset = load_rules("engine-loom")
    for rule in ruleset.rules:
        assert f"| {rule.name} | {rule.grade} | {rule.reason} | `{rule.check}` |" in README


def test_every_verb_and_option_is_named() -> None:
    for group in parser()._subparsers._group_actions:  # type: ignore[union-attr]
        for verb, sub in group.choices.items():  # type: ignore[union-attr]
            assert f"harnessdrc {verb}" in README
            for action in sub._actions:
                for option in action.option_strings:
                    if option.startswith("--") and option not in ("--help", "--all"):
                        assert option in README, f"{verb} {option}"


@pytest.mark.parametrize(
    "caution",
    [
        "A clear result is not proof that a loom is safe",
        "Disconnect the battery",
        "airbag",
        "ventilate",
        "fuse at the source",
        "measure them on the bench",
        "Local codes",
    ],
)
def test_the_cautions_stand_there(caution: str) -> None:
    assert caution in README


def test_pictures_are_there() -> None:
    folder = Path(__file__).parents[1]
    for line in README.splitlines():
        if line.startswith("!["):
            assert (folder / line.split("(")[1].rstrip(")")).is_file()
