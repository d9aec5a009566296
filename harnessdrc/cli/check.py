"""``harnessdrc check``: read, check, mark up, summarize."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from pathlib import Path
from typing import BinaryIO

from harnessdrc.checks.registry import load_checks
from harnessdrc.cli.output import Steps, console
from harnessdrc.cli.reading import open_and_read
from harnessdrc.design import GIVEN, design_of
from harnessdrc.engine import given_numbers, run as run_rules
from harnessdrc.errors import OutputError
from harnessdrc.findings import Grade
from harnessdrc.render.console import print_result
from harnessdrc.render.findings_json import to_json
from harnessdrc.render.redline import RedlineSource, SheetRows, write_redline
from harnessdrc.render.redline.outfile import StagedFiles
from harnessdrc.results import Result
from harnessdrc.rulesets import given_overrides, load_ruleset

__all__ = ["run"]

_WORKBOOKS = ("xlsx", "xlsm")


def run(options: argparse.Namespace) -> int:
    """Carry out the verb; returns the exit code."""
    with Steps() as steps:
        checks = load_checks()
        known = {name: form.unit for name, form in GIVEN.items()}
        ruleset = load_ruleset(
            options.ruleset, checks=checks, allowed_packages=options.allow_checks, known_given=known
        )
        if options.given:
            ruleset = given_overrides(options.given, ruleset, known_given=known)
        folder = _folder(options.out, Path(options.lists[0]))
        steps("Reading the list", 0, 1)
        opened, reading = open_and_read(options.lists, options.mapping)
        design = design_of(reading, given_numbers(ruleset))
        result = run_rules(design, ruleset, checks, reading, steps)
        steps("Writing the redline", 1, 1)
        sources = [
            RedlineSource(
                file.file,
                file.path,
                None
                if file.kind in _WORKBOOKS
                else [SheetRows(grid.sheet, grid.rows) for grid in file.grids],
            )
            for file in opened
        ]
        with StagedFiles() as staged:
            if options.json and options.json != "-":
                text = to_json(result).encode("utf-8")
                staged.stage(Path(options.json), _writer(text))
            written = write_redline(result, sources, folder)
            written += staged.commit()
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
            f"{folder}: this folder for the outputs cannot be made ({error.strerror}); name another with --out."
        ) from error
    return folder


def _exit_code(result: Result) -> int:
    if any(rule.crashed for rule in result.rules):
        return 3
    hold: Grade = "hold"
    return 1 if result.count(hold) else 0


def _writer(text: bytes) -> Callable[[BinaryIO], None]:
    def write(out: BinaryIO) -> None:
        out.write(text)

    return write
