"""``harnessdrc read``: show how a list is understood, and write that down to be edited."""

from __future__ import annotations

import argparse
from collections import defaultdict
from pathlib import Path

from rich.console import Console
from rich.text import Text

from harnessdrc.api import open_and_read
from harnessdrc.cli.output import console, write_files
from harnessdrc.design import Design
from harnessdrc.harness.build import build_harness
from harnessdrc.intake.grid import OpenedFile
from harnessdrc.places import column_letters
from harnessdrc.render.lines import say
from harnessdrc.tables.columns import FORMS
from harnessdrc.tables.model import Assumption, Reading

__all__ = ["run"]

_SHOWN = 12


def run(options: argparse.Namespace) -> int:
    """Carry out the verb; returns the exit code."""
    opened, reading = open_and_read([Path(name) for name in options.lists], options.mapping)
    if options.write_mapping:
        _write_mapping(Path(options.write_mapping), opened, reading, options.mapping)
    out = console()
    for file in opened:
        sheets = ", ".join(f"{g.sheet}{' (hidden)' if g.hidden else ''}" for g in file.grids)
        say(out, Text(file.file, style="bold") + Text(f"  {file.kind}; sheets: {sheets}"))
    _print_tables(out, reading)
    _print_set_aside(out, reading, options.all)
    design = Design(build_harness(reading), {})
    assumed = (*reading.assumptions, *design.harness.assumptions, *design.roles.assumptions)
    _print_assumptions(out, assumed, options.all)
    _print_unreadable(out, reading, options.all)
    for note in reading.notes if options.all else reading.notes[:_SHOWN]:
        say(out, Text(note, style="dim"), 2)
    if options.write_mapping:
        say(out, f"Written: {options.write_mapping}")
    harness = design.harness
    pins = len({pin.contact for pin in harness.pins})
    say(
        out,
        Text(
            f"{reading.rows_seen} rows: {reading.rows_used} used, {len(reading.set_aside)} set aside; "
            f"{len(harness.wires)} wires, {pins} pins, {len(design.devices.all)} components, "
            f"{len(assumed)} assumptions, {len(reading.unreadable)} cells not understood",
            style="bold",
        ),
    )
    return 0


def _write_mapping(path: Path, opened: list[OpenedFile], reading: Reading, mapping: str | None) -> None:
    from harnessdrc.intake.mapping import mapping_text, read_mapping
    from harnessdrc.intake.reading import recognize_all

    found = recognize_all(opened, read_mapping(Path(mapping)) if mapping else None)
    text = mapping_text(found, reading).encode("utf-8")
    write_files({path: text})


def _print_tables(out: Console, reading: Reading) -> None:
    for table in reading.tables:
        form = FORMS[table.form]
        heading = f"headings in row {table.heading_row}" if table.heading_row else "no headings"
        rows = table.frame["row"].nunique()
        say(out)
        say(
            out,
            Text(form.title, style="bold")
            + Text(f"  {table.file} {table.sheet}, {heading}, {rows} rows, {len(table.frame)} {form.plural}"),
        )
        for name, index in sorted(table.cells.items(), key=lambda c: c[1]):
            column = next((c.heading for c in form.columns if c.name == name), name)
            written = table.headings.get(name, "")
            text = f"{column_letters(index):>3}  {written or '(no heading)':30} → {column}"
            say(out, Text(text), 2)


def _print_set_aside(out: Console, reading: Reading, everything: bool) -> None:
    if not reading.set_aside:
        return
    say(out)
    say(out, Text(f"Set aside: {len(reading.set_aside)} rows", style="bold"))
    reasons: dict[tuple[str, str, str], list[int]] = defaultdict(list)
    for row in reading.set_aside:
        reasons[(row.file, row.sheet, row.reason)].append(row.row)
    lines = list(reasons.items())
    for (file, sheet, reason), rows in lines if everything else lines[: 3 * _SHOWN]:
        say(out, Text(f"{file} {sheet} {_ranges(rows)}: {reason}"), 2)
    if not everything and len(lines) > 3 * _SHOWN:
        say(out, Text(f"… and {len(lines) - 3 * _SHOWN} more reasons (--all shows them)"), 2)


def _ranges(rows: list[int]) -> str:
    """``rows 3-7, 9``."""
    spans: list[list[int]] = []
    for row in sorted(rows):
        if spans and row == spans[-1][1] + 1:
            spans[-1][1] = row
        else:
            spans.append([row, row])
    text = ", ".join(str(a) if a == b else f"{a}-{b}" for a, b in spans)
    return f"row{'s' if len(rows) > 1 else ''} {text}"


def _print_assumptions(out: Console, assumed: tuple[Assumption, ...], everything: bool) -> None:
    if not assumed:
        return
    say(out)
    say(out, Text(f"Assumptions: {len(assumed)}", style="bold"))
    by_kind: dict[str, list[Assumption]] = defaultdict(list)
    for line in assumed:
        by_kind[line.what].append(line)
    for what, lines in by_kind.items():
        say(out, Text(what, style="underline"), 2)
        for line in lines if everything else lines[:_SHOWN]:
            where = f"  [{line.place}{f', {line.count} cells' if line.count > 1 else ''}]" if line.place else ""
            text = Text(f"{line.subject} → {line.value}, by {line.because}") + Text(where, style="dim")
            say(out, text, 4)
        if not everything and len(lines) > _SHOWN:
            say(out, Text(f"… and {len(lines) - _SHOWN} more (--all shows them)"), 4)


def _print_unreadable(out: Console, reading: Reading, everything: bool) -> None:
    if not reading.unreadable:
        return
    say(out)
    say(out, Text(f"Not understood: {len(reading.unreadable)} cells", style="bold"))
    for cell in reading.unreadable if everything else reading.unreadable[:_SHOWN]:
        text = f"{cell.place}: '{cell.text}' in {cell.column}; expected {cell.expected}"
        say(out, Text(text), 2)
    if not everything and len(reading.unreadable) > _SHOWN:
        say(out, Text(f"… and {len(reading.unreadable) - _SHOWN} more (--all shows them)"), 2)
