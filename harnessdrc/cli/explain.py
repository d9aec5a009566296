"""``harnessdrc explain``: the page of a check, with an example that is found and one that is not."""

from __future__ import annotations

import argparse
import difflib
from dataclasses import fields

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from harnessdrc.checks.cases import Case, cases_of
from harnessdrc.checks.registry import HEADINGS, Check, load_checks, page
from harnessdrc.cli.output import console
from harnessdrc.design import GIVEN
from harnessdrc.errors import CommandError
from harnessdrc.rulesets import Ruleset, load_ruleset

__all__ = ["run"]


def run(options: argparse.Namespace) -> int:
    """Carry out the verb; returns the exit code."""
    checks = load_checks()
    ruleset = load_ruleset(
        options.ruleset, checks=checks, allowed_packages=options.allow_checks,
        known_given={name: form.unit for name, form in GIVEN.items()},
    )  # fmt: skip
    out = console()
    if options.check is None:
        for name, check in sorted(checks.items()):
            out.print(Text(f"{name:28}", style="bold") + Text(check.fault))
        return 0
    if options.check not in checks:
        close = difflib.get_close_matches(options.check, checks, n=3, cutoff=0.4)
        hint = f" Did you mean {' or '.join(close)}?" if close else ""
        raise CommandError(
            f"no check is named '{options.check}'.{hint} 'harnessdrc explain' without a name lists them all."
        )
    _print_page(checks[options.check], ruleset, out)
    return 0


def _print_page(check: Check, ruleset: Ruleset, out: Console) -> None:
    sections = page(check)
    out.print(Text(check.name, style="bold"))
    out.print(sections[""])
    for heading in HEADINGS:
        out.print()
        out.print(Text(heading, style="bold"))
        out.print(Padding(Text(sections.get(heading, "")), (0, 0, 0, 2)))
    rules = [rule for rule in ruleset.rules if rule.check == check.name]
    if check.limits is not None:
        out.print()
        out.print(Text("Limits", style="bold"))
        for item in fields(check.limits):
            values = [getattr(rule.limits, item.name) for rule in rules] or [item.default]
            shown = " / ".join(", ".join(v) if isinstance(v, tuple) else f"{v}" for v in values)
            unit = item.metadata["unit"]
            text = f"{item.name} = {shown}{' ' + unit if unit else ''}: {item.metadata['meaning']}"
            out.print(Padding(Text(text), (0, 0, 0, 2)))
    out.print()
    out.print(Text(f"In the ruleset {ruleset.name}", style="bold"))
    for rule in rules:
        out.print(Padding(Text(f"{rule.name} ({rule.grade}): {rule.reason} [{rule.source}]"), (0, 0, 0, 2)))
    if not rules:
        out.print(Padding(Text("no rule uses this check"), (0, 0, 0, 2)))
    cases = cases_of(check.name)
    for title, expect in (("An example that is found", "finding"), ("One that is not", "silent")):
        example = next((case for case in cases if case.expect == expect), None)
        if example:
            _print_case(title, example, out)


def _print_case(title: str, case: Case, out: Console) -> None:
    out.print()
    out.print(Text(title, style="bold") + Text(f": {case.about}"))
    for name, text in case.tables.items():
        out.print(Padding(Text(name.replace("_", " "), style="underline"), (0, 0, 0, 2)))
        out.print(Padding(Text(text.strip("\n")), (0, 0, 0, 4)))
