"""``harnessdrc compare``: two issues of a list, what changed in it and in what the rules say of it."""

from __future__ import annotations

import argparse
import contextlib
import sys
from collections.abc import Sequence
from pathlib import Path

from harnessdrc.api import day_of, issue_of, load_rules
from harnessdrc.cli.output import Steps, console, output_folder, quiet_pipe, refuse_empty, refuse_target, write_files
from harnessdrc.compare import compare_issues
from harnessdrc.comparison import Comparison
from harnessdrc.errors import CommandError
from harnessdrc.intake.folders import files_of_list
from harnessdrc.render.compare_json import comparison_json
from harnessdrc.render.compare_workbook import comparison_workbook
from harnessdrc.render.console_compare import print_comparison

__all__ = ["run"]

_STANDARD_OUTPUT = "-"
_ENDING = ".comparison.xlsx"


def run(options: argparse.Namespace) -> int:
    """Carry out the verb; returns the exit code."""
    refuse_empty(options, "out", "mapping", "old_mapping", "ruleset", "concessions", "on")
    old, new = (files_of_list(Path(name)) for name in (options.old, options.new))
    json_file: Path | None = None
    if options.json is not None and options.json != _STANDARD_OUTPUT:
        read_only = [*old, *new, *filter(None, (options.mapping, options.old_mapping, options.concessions))]
        json_file = refuse_target("--json", options.json, read_only)
    with Steps() as steps:
        comparison, name = _compare(options, old, new, steps)
        steps("Writing the comparison")
        # In a folder that is an issue the comparison would be taken for a part of it, or so it would look.
        beside = Path(options.new).parent if Path(options.new).is_dir() else new[0].parent
        json = comparison_json(comparison).encode("utf-8") if options.json is not None else b""
        with output_folder(options.out, beside) as folder:
            workbook = folder / f"{name}{_ENDING}"
            _keep_lists(workbook, (*old, *new))
            contents = {workbook: comparison_workbook(comparison)}
            if json_file is not None:
                contents[json_file] = json
            written = write_files(contents)
    if options.json == _STANDARD_OUTPUT:
        _to_standard_output(json)
    try:
        out = sys.stderr if options.json == _STANDARD_OUTPUT else sys.stdout
        print_comparison(comparison, console(out), [str(path) for path in written])
        out.flush()
    except BrokenPipeError:  # whoever read the summary has seen enough; everything is written, the verdict stands
        quiet_pipe()
    return 3 if comparison.crashed else 1 if comparison.differs else 0


def _compare(
    options: argparse.Namespace, old: Sequence[Path], new: Sequence[Path], steps: Steps
) -> tuple[Comparison, str]:
    """The comparison, and the name of the new issue."""
    checks, ruleset = load_rules(options.ruleset, options.given, options.allow_checks)
    day = day_of("--on", options.on)
    issues = []
    name = ""
    for which, paths, mapping in (("old", old, options.old_mapping or options.mapping), ("new", new, options.mapping)):
        steps(f"Reading the {which} issue")
        issue, name = issue_of(paths, ruleset, checks, mapping, steps, concessions=options.concessions, on=day)
        issues.append(issue)
    steps("Comparing")
    return compare_issues(*issues), name


def _keep_lists(target: Path, lists: Sequence[Path]) -> None:
    """Refuse to write over a list.

    Raises
    ------
    CommandError
        For a target that is one of them.
    """
    for path in lists:
        with contextlib.suppress(OSError, ValueError):
            if target.samefile(path):
                raise CommandError(
                    f"{target}: the comparison would be written over one of the lists, and lists are never written to; "
                    "choose another folder with --out."
                )


def _to_standard_output(json: bytes) -> None:
    """JSON is UTF-8 whatever the terminal's encoding is."""
    binary = getattr(sys.stdout, "buffer", None)
    if binary is None:
        sys.stdout.write(json.decode("utf-8"))
        return
    sys.stdout.flush()
    binary.write(json)
    binary.flush()
