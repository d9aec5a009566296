"""``harnessdrc check``: read, check, mark up, summarize."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from harnessdrc.api import load_rules, open_and_read
from harnessdrc.cli.output import Steps, console, write_files
from harnessdrc.design import design_of
from harnessdrc.engine import given_numbers
from harnessdrc.engine import run as run_rules
from harnessdrc.errors import OutputError
from harnessdrc.findings import Grade
from harnessdrc.render.console import print_result
from harnessdrc.render.findings_json import to_json
from harnessdrc.render.redline import RedlineSource, SheetRows, write_redline
from harnessdrc.results import Result

__all__ = ["run"]

_WORKBOOKS = ("xlsx", "xlsm")


def run(options: argparse.Namespace) -> int:
    """Carry out the verb; returns the exit code."""
    with Steps() as steps:
        checks, ruleset = load_rules(options.ruleset, options.given, options.allow_checks)
        folder = _folder(options.out, Path(options.lists[0]))
        steps("Reading the list", 0, 1)
        opened, reading = open_and_read([Path(name) for name in options.lists], options.mapping)
        design = design_of(reading, given_numbers(ruleset))
        result = run_rules(design, ruleset, checks, reading, steps)
        steps("Writing the redline", 1, 1)
        sources = [
            RedlineSource(
                file.file,
                file.path,
                None if file.kind in _WORKBOOKS else [SheetRows(grid.sheet, grid.rows) for grid in file.grids],
            )
            for file in opened
        ]
        written = write_redline(result, sources, folder)
        if options.json and options.json != "-":
            written += write_files({Path(options.json): to_json(result).encode("utf-8")})
    if options.json == "-":
        sys.stdout.write(to_json(result))
    print_result(
        result,
        console(sys.stderr if options.json == "-" else sys.stdout),
        [str(path) for path in written],
    )
    return _exit_code(result)


def _folder(out: str | None, first: Path) -> Path:
    if out is None:
        return first.parent
    folder = Path(out)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(
            f"{folder}: this folder cannot be made for the outputs ({error.strerror}); choose another."
        ) from error
    return folder


def _exit_code(result: Result) -> int:
    if any(rule.crashed for rule in result.rules):
        return 3
    hold: Grade = "hold"
    return 1 if result.count(hold) else 0
