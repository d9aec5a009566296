"""``harnessdrc check``: read, check, mark up, summarize."""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import BinaryIO

from harnessdrc.api import load_rules, open_and_read, require_wires
from harnessdrc.cli.output import Steps, console, output_folder, quiet_pipe, refuse_empty, refuse_target
from harnessdrc.design import design_of
from harnessdrc.engine import given_numbers
from harnessdrc.engine import run as run_rules
from harnessdrc.findings import Grade
from harnessdrc.render.console import print_result
from harnessdrc.render.findings_json import to_json
from harnessdrc.render.outfile import StagedFiles
from harnessdrc.render.redline import RedlineSource, SheetRows, stage_redline
from harnessdrc.results import Result

__all__ = ["run"]

_WORKBOOKS = ("xlsx", "xlsm")
_STANDARD_OUTPUT = "-"


def run(options: argparse.Namespace) -> int:
    """Carry out the verb; returns the exit code."""
    json_file: Path | None = None
    refuse_empty(options, "out", "mapping", "ruleset")
    if options.json is not None and options.json != _STANDARD_OUTPUT:
        read_only = [*options.lists, *([options.mapping] if options.mapping else [])]
        json_file = refuse_target("--json", options.json, read_only)
    with Steps() as steps:
        result, sources = _judge(options, steps)
        steps("Writing the redline")
        json = to_json(result).encode("utf-8") if options.json else b""
        written = _write(result, sources, options, json, json_file)
    if options.json == _STANDARD_OUTPUT:
        _to_standard_output(json)
    try:
        out = sys.stderr if options.json == _STANDARD_OUTPUT else sys.stdout
        print_result(result, console(out), [str(path) for path in written])
        out.flush()
    except BrokenPipeError:  # whoever read the summary has seen enough; everything is written, the verdict stands
        quiet_pipe()
    return _exit_code(result)


def _judge(options: argparse.Namespace, steps: Steps) -> tuple[Result, list[RedlineSource]]:
    """Outcome of the rules, and what the redline is made from; the lists and the harness are let go on return."""
    checks, ruleset = load_rules(options.ruleset, options.given, options.allow_checks)
    steps("Reading the list")
    opened, reading = open_and_read([Path(name) for name in options.lists], options.mapping)
    require_wires(reading)
    # A set of texts is named after its first: one with wires.
    with_wires = {table.file for table in reading.of("wires")}
    sources = [
        RedlineSource(
            file.file,
            file.path,
            None if file.kind in _WORKBOOKS else [SheetRows(grid.sheet, grid.rows) for grid in file.grids],
        )
        for file in sorted(opened, key=lambda file: file.file not in with_wires)
    ]
    del opened
    design = design_of(reading, given_numbers(ruleset))
    account = replace(reading, tables=())
    del reading
    return run_rules(design, ruleset, checks, account, steps), sources


def _write(
    result: Result, sources: list[RedlineSource], options: argparse.Namespace, json: bytes, json_file: Path | None
) -> list[Path]:
    """Redlines and JSON: all of them, or none."""
    with output_folder(options.out, Path(options.lists[0]).parent) as folder, StagedFiles() as staged:
        stage_redline(staged, result, sources, folder)
        if json_file is not None:
            staged.stage(json_file, partial(_put, json))
        return staged.commit()


def _put(content: bytes, out: BinaryIO) -> None:
    out.write(content)


def _to_standard_output(json: bytes) -> None:
    """JSON is UTF-8 whatever the terminal's encoding is."""
    binary = getattr(sys.stdout, "buffer", None)
    if binary is None:
        sys.stdout.write(json.decode("utf-8"))
        return
    sys.stdout.flush()
    binary.write(json)
    binary.flush()


def _exit_code(result: Result) -> int:
    if any(rule.crashed for rule in result.rules):
        return 3
    hold: Grade = "hold"
    return 1 if result.count(hold) else 0
