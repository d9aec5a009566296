"""``harnessdrc shop``: from a list to the papers for the bench."""

from __future__ import annotations

import argparse
import contextlib
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import BinaryIO

from rich.console import Console
from rich.text import Text

from harnessdrc.api import load_rules, name_of_lists, open_and_read, papers_of, require_wires
from harnessdrc.cli.output import Steps, console, output_folder, quiet_pipe, refuse_empty
from harnessdrc.design import design_of
from harnessdrc.engine import given_numbers
from harnessdrc.engine import run as run_rules
from harnessdrc.errors import OutputError
from harnessdrc.papers import Papers
from harnessdrc.render.lines import counted, say
from harnessdrc.render.outfile import StagedFiles
from harnessdrc.render.papers.html import papers_html
from harnessdrc.render.papers.workbook import papers_workbook
from harnessdrc.results import Result

__all__ = ["run"]

_READINGS = "Measured ("
"""Beginning of the headings of the form `measurements` that readings are written under."""


def run(options: argparse.Namespace) -> int:
    """Carry out the verb; returns the exit code."""
    refuse_empty(options, "out", "mapping", "ruleset")
    with Steps() as steps:
        papers, result = _make(options, steps)
        with output_folder(options.out, Path(options.lists[0]).parent) as folder:
            workbook, pages = (folder / f"{papers.name}.papers.{ending}" for ending in ("xlsx", "html"))
            _keep_lists(options.lists, workbook, pages)
            _keep_readings(workbook)
            steps("Writing the papers")
            with StagedFiles() as staged:
                staged.stage(workbook, partial(_write, papers_workbook(papers)))
                staged.stage(pages, partial(_write, papers_html(papers).encode("utf-8")))
                written = staged.commit()
    try:
        _print(console(), papers, result, written)
    except BrokenPipeError:  # whoever read the summary has seen enough; everything is written, the verdict stands
        quiet_pipe()
    return _exit_code(papers, result)


def _make(options: argparse.Namespace, steps: Steps) -> tuple[Papers, Result]:
    """Papers and the outcome of the rules."""
    checks, ruleset = load_rules(options.ruleset, options.given, options.allow_checks)
    steps("Reading the list")
    opened, reading = open_and_read([Path(name) for name in options.lists], options.mapping)
    require_wires(reading)
    name = name_of_lists(opened, reading)
    del opened
    design = design_of(reading, given_numbers(ruleset), ruleset.states)
    result = run_rules(design, ruleset, checks, reading, steps)
    steps("Making the papers")
    return papers_of(design, result, name=name), result


def _keep_lists(lists: list[str], *targets: Path) -> None:
    """Refuse to write over a list.

    Raises
    ------
    OutputError
        For a target that is one of them.
    """
    for target in targets:
        for name in lists:
            with contextlib.suppress(OSError, ValueError):
                if target.samefile(name):
                    raise OutputError(
                        f"{target}: the papers would be written over one of the lists, and lists are never written "
                        "to; choose another folder with --out."
                    )


def _keep_readings(workbook: Path) -> None:
    """Refuse to write over papers with test sheets that somebody has filled in.

    Raises
    ------
    OutputError
        Names the workbook.
    """
    if not workbook.is_file():
        return
    filled = _readings(workbook)
    if filled:
        raise OutputError(
            f"{workbook}: {counted(filled, 'reading')} stand{'s' if filled == 1 else ''} in the test sheets of these "
            "papers, which would be lost; rename the file or choose another folder with --out."
        )


def _readings(workbook: Path) -> int:
    """Cells with something in them below the headings that readings are written under; 0 for any other file."""
    import python_calamine

    try:
        with python_calamine.CalamineWorkbook.from_path(str(workbook)) as book:
            sheets = [book.get_sheet_by_name(name).to_python() for name in book.sheet_names]
    except Exception:  # whatever it is, nothing that we have made: replaced like any earlier output
        return 0
    return sum(_filled(rows) for rows in sheets)


def _filled(rows: Sequence[Sequence[object]]) -> int:
    columns: set[int] = set()
    filled = 0
    for row in rows:
        heads = {at for at, cell in enumerate(row) if isinstance(cell, str) and cell.startswith(_READINGS)}
        filled += sum(at < len(row) and bool(str(row[at]).strip()) for at in columns - heads) if not heads else 0
        columns |= heads
    return filled


def _write(content: bytes, out: BinaryIO) -> None:
    out.write(content)


def _print(out: Console, papers: Papers, result: Result, written: list[Path]) -> None:
    """What was made, what is missing in it, and where it is."""
    names = ", ".join(source.file for source in papers.sources)
    say(out, Text(f"{names}  papers for the bench, issue of the list {papers.issue_mark}", style="bold"))
    totals = papers.totals
    told = (
        ("Cut list", f"{counted(totals.wires, 'wire')}, {totals.length_m:,.1f} m to cut of "
                     f"{counted(len(papers.cables), 'cable')}, copper {totals.copper_kg:.2f} kg, wire with "
                     f"insulation about {totals.cable_kg:.2f} kg" + _unknown(totals.unknown)),
        ("Connectors", f"{counted(totals.connectors, 'connector')}, "
                       f"{counted(sum(len(sheet.cavities) for sheet in papers.connectors), 'cavity', 'cavities')} "
                       "and earth points"),
        ("Splices", counted(totals.splices, "splice")),
        ("Labels", counted(len(papers.labels), "label")),
        ("Parts", f"{counted(len(papers.parts), 'kind')}, "
                  f"{counted(sum(line.pieces for line in papers.parts), 'piece')}"),
        ("Tests", f"{counted(len(papers.continuity), 'continuity test')}, "
                  f"{counted(len(papers.isolation), 'isolation test')}, {counted(len(papers.voltages), 'voltage')}, "
                  f"first power-on in {counted(len(papers.power_on), 'step')}"),
    )  # fmt: skip
    for what, text in told:
        say(out, Text(f"{what + ':':12}", style="bold") + Text(text), 1)
    options = sorted({line.option for line in papers.cut if line.option})
    if options:
        say(out, Text(f"Wires of options are all in: {', '.join(options)}."), 1)
    say(out)
    if papers.incomplete:
        say(out, Text(f"INCOMPLETE: {len(papers.incomplete)}", style="bold yellow")
            + Text("  (stands on their first page too)", style="dim"))  # fmt: skip
        for sentence in papers.incomplete:
            say(out, sentence, 2)
        say(out)
    if papers.on_hold:
        text = f"ON HOLD: {papers.on_hold:,}"
        tail = "  (do not build until these are settled; 'harnessdrc check' tells them)"
        say(out, Text(text, style="bold red") + Text(tail, style="dim"))
        say(out)
    for rule in result.rules:
        if rule.crashed:
            text = f"Rule {rule.rule} failed to run: {rule.crashed}. What it would find is not known."
            say(out, Text(text, style="bold red"))
    for path in written:
        say(out, Text(f"Written: {path}", style="dim"))
    complete = "complete" if not papers.incomplete else "incomplete"
    say(out, Text(f"Papers {complete}: {papers.on_hold:,} on hold, {papers.queries:,} to query, "
                  f"{papers.undecided:,} not decided", style="bold"))  # fmt: skip


def _unknown(count: int) -> str:
    return f"; {counted(count, 'wire')} without length or size {'is' if count == 1 else 'are'} in none of these" * (
        count > 0
    )


def _exit_code(papers: Papers, result: Result) -> int:
    if any(rule.crashed for rule in result.rules):
        return 3
    return 1 if papers.on_hold or papers.incomplete else 0
