"""``harnessdrc check``: read, check, mark up, summarize."""

from __future__ import annotations

import argparse
import contextlib
import gc
import shutil
import sys
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import IO, TYPE_CHECKING, BinaryIO, TypeAlias, cast

from harnessdrc.api import (
    accept,
    day_of,
    diagram_of_design,
    judge,
    load_rules,
    open_and_read,
    read_accepted,
    require_wires,
    wiring_of_design,
    with_measured,
    with_own_concessions,
)
from harnessdrc.checks.registry import Check
from harnessdrc.cli.output import Steps, console, output_folder, quiet_pipe, refuse_empty, refuse_target
from harnessdrc.design import design_of
from harnessdrc.engine import given_numbers
from harnessdrc.errors import CommandError, OutputError
from harnessdrc.findings import Grade
from harnessdrc.render.console import print_result
from harnessdrc.render.findings_json import write_json
from harnessdrc.render.induction import drawable
from harnessdrc.render.outfile import StagedFiles
from harnessdrc.render.plots.sizes import has_sizes, sizes_svg
from harnessdrc.render.redline import RedlineSource, SheetRows, stage_redline
from harnessdrc.results import Result
from harnessdrc.rulesets import Ruleset

if TYPE_CHECKING:
    from harnessdrc.diagram import Diagram
    from harnessdrc.wiring import Wiring

__all__ = ["judged", "run"]

_Drawn: TypeAlias = "tuple[Diagram, Wiring]"

_WORKBOOKS = ("xlsx", "xlsm")
_STANDARD_OUTPUT = "-"
_MANY_WIRES = 10_000
_KEPT_IN_MEMORY_BYTES = 16 << 20


def run(options: argparse.Namespace) -> int:
    """Carry out the verb; returns the exit code."""
    json_file: Path | None = None
    refuse_empty(options, "out", "mapping", "ruleset", "measured", "concessions", "on")
    if options.on is not None and options.concessions is None and not options.concessions_in_list:
        raise CommandError("--on: this is the day for which concessions are looked at; give --concessions with it.")
    if options.json is not None and options.json != _STANDARD_OUTPUT:
        read_only = [*options.lists, *filter(None, (options.mapping, options.measured, options.concessions))]
        json_file = refuse_target("--json", options.json, read_only)
    with contextlib.ExitStack() as kept:
        with Steps() as steps:
            checks, ruleset = load_rules(options.ruleset, options.given, options.allow_checks)
            drawings: list[_Drawn] = []
            result, sources = judged(options, steps, checks, ruleset, drawings if options.report else None)
            steps("Writing the redline")
            json = kept.enter_context(_aside(result)) if options.json == _STANDARD_OUTPUT else None
            written, remarks = _write(result, sources, options, json_file, drawings)
        if json is not None:
            _to_standard_output(json)
    try:
        out = sys.stderr if options.json == _STANDARD_OUTPUT else sys.stdout
        print_result(result, console(out), [str(path) for path in written], remarks)
        out.flush()
    except BrokenPipeError:  # whoever read the summary has seen enough; everything is written, the verdict stands
        quiet_pipe()
    return _exit_code(result)


def judged(
    options: argparse.Namespace,
    steps: Steps,
    checks: Mapping[str, Check],
    ruleset: Ruleset,
    drawings: list[_Drawn] | None = None,
) -> tuple[Result, list[RedlineSource]]:
    """Outcome of the rules, and what the redline is made from; the lists and the harness are let go on return.

    Where there is a list for `drawings`, the ground diagram and the wires are put into it, for the report.
    """
    on = day_of("--on", options.on)
    steps("Reading the list")
    paths = [Path(name) for name in options.lists]
    opened, reading = open_and_read(paths, options.mapping)
    require_wires(reading)
    if options.measured is not None:
        reading = with_measured(reading, Path(options.measured), paths)
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
    accepted = read_accepted(opened, options.concessions, options.concessions_in_list)
    if options.concessions_in_list:
        reading = with_own_concessions(reading)
    del opened
    design = design_of(reading, given_numbers(ruleset), ruleset.states)
    account = replace(reading, tables=())
    del reading
    result = accept(judge(design, ruleset, checks, account, steps), accepted, on)
    if drawings is not None:
        steps("Drawing the ground diagram")
        drawings.append((diagram_of_design(design, result), wiring_of_design(design)))
    if result.read.wires > _MANY_WIRES:
        del design
        gc.collect()  # the parts of a design know each other, and nobody else looks for them before the end
    return result, sources


def _write(
    result: Result,
    sources: list[RedlineSource],
    options: argparse.Namespace,
    json_file: Path | None,
    drawings: list[_Drawn],
) -> tuple[list[Path], list[str]]:
    """Redlines, report, plots and JSON: all of them, or none; and what is to be said of one that was not written."""
    remarks: list[str] = []
    with output_folder(options.out, Path(options.lists[0]).parent) as folder, StagedFiles() as staged:
        stage_redline(staged, result, sources, folder)
        for drawn in drawings:
            _stage_report(staged, result, sources, folder, drawn)
        if options.plots:
            remarks = _stage_plots(staged, result, sources, folder)
        if json_file is not None:
            staged.stage(json_file, partial(write_json, result))
        return staged.commit(), remarks


def _stage_report(
    staged: StagedFiles, result: Result, sources: list[RedlineSource], folder: Path, drawn: _Drawn
) -> None:
    """The report as one page, named as the first redline."""
    from harnessdrc.render.report.html import report_html  # templates and the plotting library take their time

    stem, macros = sources[0].path.stem, sources[0].path.suffix.lower() == ".xlsm"
    names = " + ".join(dict.fromkeys(source.path.name for source in sources))
    page = report_html(result, *drawn, names, redline=f"{stem}.redline.{'xlsm' if macros else 'xlsx'}")
    staged.stage(folder / f"{stem}.report.html", partial(_write_bytes, page.encode("utf-8")))


def _stage_plots(staged: StagedFiles, result: Result, sources: list[RedlineSource], folder: Path) -> list[str]:
    """Trigger margins and wire sizes as pictures, named as the first redline; a sentence for one without content."""
    stem = sources[0].path.stem
    names = " + ".join(dict.fromkeys(source.path.name for source in sources))
    remarks = []
    margins, sizes = folder / f"{stem}.margin.svg", folder / f"{stem}.sizes.svg"
    if any(map(drawable, result.induction.triggers)):
        from harnessdrc.render.plots.margin import margin_svg  # the plotting library takes longer than a check

        staged.stage(margins, partial(_write_bytes, margin_svg(result.induction.triggers, names).encode("utf-8")))
    else:
        remarks.append(_not_drawn(margins, "there is no margin of a trigger sensor to draw"))
    if has_sizes(result.sizing.wires):
        staged.stage(sizes, partial(_write_bytes, sizes_svg(result.sizing.wires, names).encode("utf-8")))
    else:
        remarks.append(_not_drawn(sizes, "there is no wire with its size and the one it needs known to draw"))
    return remarks


def _not_drawn(target: Path, why: str) -> str:
    remark = f"Not written: {target.name}, as {why}"
    return f"{remark}; the file of this name is of an earlier run." if target.exists() else f"{remark}."


def _write_bytes(content: bytes, out: BinaryIO) -> None:
    out.write(content)


@contextlib.contextmanager
def _aside(result: Result) -> Iterator[IO[bytes]]:
    """The JSON of a run, written before any output is and kept aside: small in memory, large in a nameless file.

    Raises
    ------
    OutputError
        If there is no room for it.
    """
    with tempfile.SpooledTemporaryFile(max_size=_KEPT_IN_MEMORY_BYTES) as aside:
        try:
            write_json(result, cast(BinaryIO, aside))
            aside.seek(0)
        except OSError as error:
            reason = error.strerror or str(error)
            raise OutputError(
                f"--json -: the folder for temporary files cannot take the JSON ({reason[:1].lower()}{reason[1:]}); "
                "give a file with --json instead."
            ) from error
        yield aside


def _to_standard_output(json: IO[bytes]) -> None:
    """JSON is UTF-8 whatever the terminal's encoding is."""
    binary = getattr(sys.stdout, "buffer", None)
    if binary is None:
        sys.stdout.write(json.read().decode("utf-8"))
        return
    sys.stdout.flush()
    shutil.copyfileobj(json, binary, 1 << 20)
    binary.flush()


def _exit_code(result: Result) -> int:
    if any(rule.crashed for rule in result.rules):
        return 3
    hold: Grade = "hold"
    return 1 if result.count(hold) else 0
