"""``harnessdrc explain``: the page of a check, with an example that is found and one that is not."""

from __future__ import annotations

import argparse
import csv
import difflib
import io
from dataclasses import fields
from itertools import zip_longest

from rich.console import Console
from rich.text import Text

from harnessdrc.api import load_rules
from harnessdrc.checks.cases import Case, cases_of
from harnessdrc.checks.registry import HEADINGS, Check, page
from harnessdrc.cli.output import console
from harnessdrc.errors import CommandError
from harnessdrc.render.lines import say, say_beside
from harnessdrc.rulesets import Ruleset
from harnessdrc.tables.columns import FORMS

__all__ = ["run"]


def run(options: argparse.Namespace) -> int:
    """Carry out the verb; returns the exit code."""
    checks, ruleset = load_rules(options.ruleset, (), options.allow_checks)
    out = console()
    if options.check is None:
        width = max(map(len, checks))
        for name, check in sorted(checks.items()):
            say_beside(out, name, check.fault, width)
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
    say(out, Text(check.name, style="bold"))
    say(out, sections[""])
    for heading in HEADINGS:
        say(out)
        say(out, Text(heading, style="bold"))
        say(out, Text(sections.get(heading, "")), 2)
    rules = [rule for rule in ruleset.rules if rule.check == check.name]
    if check.limits is not None:
        say(out)
        say(out, Text("Limits", style="bold"))
        for item in fields(check.limits):
            values = [getattr(rule.limits, item.name) for rule in rules] or [item.default]
            shown = " / ".join(", ".join(v) if isinstance(v, tuple) else f"{v}" for v in values)
            unit = item.metadata["unit"]
            text = f"{item.name} = {shown}{' ' + unit if unit else ''}: {item.metadata['meaning']}"
            say(out, Text(text), 2)
    say(out)
    say(out, Text(f"In the ruleset {ruleset.name}", style="bold"))
    for rule in rules:
        say(out, Text(f"{rule.name} ({rule.grade}): {rule.reason} [{rule.source}]"), 2)
    if not rules:
        say(out, Text("no rule uses this check"), 2)
    cases = cases_of(check.name)
    for title, expect in (("An example that is found", "finding"), ("One that is not", "silent")):
        example = next((case for case in cases if case.expect == expect), None)
        if example:
            _print_case(title, example, out)


def _print_case(title: str, case: Case, out: Console) -> None:
    say(out)
    say(out, Text(title, style="bold") + Text(f": {case.about}"))
    for name, text in case.tables.items():
        title = FORMS[name].title if name in FORMS else name.replace("_", " ")
        say(out, Text(title, style="underline"), 2)
        rows = list(csv.reader(io.StringIO(text.strip("\n"))))
        widths = [max(map(len, column)) for column in zip_longest(*rows, fillvalue="")]
        for number, row in enumerate(rows):
            line = "  ".join(f"{cell:{width}}" for cell, width in zip(row, widths, strict=False))
            say(out, Text(line.rstrip(), style="dim" if number == 0 else ""), 4)
