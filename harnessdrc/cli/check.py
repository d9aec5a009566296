"""``harnessdrc check``: read, check, mark up, summarize."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from harnessdrc.api import load_rules, open_and_read
from harnessdrc.cli.output import Steps, console
from harnessdrc.design import design_of
from harnessdrc.engine import given_numbers
from harnessdrc.engine import run as run_rules
from harnessdrc.errors import OutputError
from harnessdrc.findings import Grade
from harnessdrc.render.console import print_result
from harnessdrc.render.findings_json import write_json
from harnessdrc.render.outfile import StagedFiles
from harnessdrc.render.redline import RedlineSource, SheetRows, stage_redline
from harnessdrc.results import Result

__all__ = ["run"]

_WORKBOOKS = ("xlsx", "xlsm")


def run(options: argparse.Namespace) -> int:
    """Carry out the verb; returns the exit code."""
    with Steps() as steps:
        folder = _folder(options.out, Path(options.lists[0]))
        result, sources = _judge(options, steps)
        steps("Writing the redline", 1, 1)
        with StagedFiles() as staged:
            stage_redline(staged, result, sources, folder)
            if options.json and options.json != "-":
                staged.stage(Path(options.json), lambda out: write_json(result, out))
            written = staged.commit()
    if options.json == "-":
        sys.stdout.flush()
        write_json(result, sys.stdout.buffer)
    print_result(
        result,
        console(sys.stderr if options.json == "-" else sys.stdout),
        [str(path) for path in written],
    )
    return _exit_code(result)


def _judge(options: argparse.Namespace, steps: Steps) -> tuple[Result, list[RedlineSource]]:
    """Outcome of the rules, and what the redline is made from; the harness is let go on return."""
    checks, ruleset = load_rules(options.ruleset, options.given, options.allow_checks)
    steps("Reading the list", 0, 1)
    opened, reading = open_and_read([Path(name) for name in options.lists], options.mapping)
    design = design_of(reading, given_numbers(ruleset))
    result = run_rules(design, ruleset, checks, reading, steps)
    sources = []
    for file in opened:
        sheets = None
        if file.kind not in _WORKBOOKS:
            sheets = [SheetRows(grid.sheet, grid.rows) for grid in file.grids]
        sources.append(RedlineSource(file.file, file.path, sheets))
    return result, sources


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
