"""``harnessdrc read``: show how a list is understood, and write that down to be edited."""

from __future__ import annotations

import argparse
from collections import defaultdict
from pathlib import Path

from rich.console import Console
from rich.text import Text

from harnessdrc.api import open_and_read
from harnessdrc.cli.output import Steps, console, refuse_empty, refuse_target, write_files
from harnessdrc.design import Design
from harnessdrc.harness.build import build_harness
from harnessdrc.intake.grid import OpenedFile
from harnessdrc.places import Place, column_letters
from harnessdrc.render.console_cells import cells_text, sheet_text
from harnessdrc.render.lines import counted, say, visible
from harnessdrc.tables.columns import FORMS
from harnessdrc.tables.model import Assumption, Reading

__all__ = ["run"]

_SHOWN = 12


def run(options: argparse.Namespace) -> int:
    """Carry out the verb; returns the exit code."""
    refuse_empty(options, "mapping")
    mapping_file: Path | None = None
    if options.write_mapping is not None:
        mapping_file = refuse_target("--write-mapping", options.write_mapping, options.lists)
    with Steps() as steps:
        steps("Reading the list")
        opened, reading = open_and_read([Path(name) for name in options.lists], options.mapping)
        design = Design(build_harness(reading), {})
        assumed = (*reading.assumptions, *design.harness.assumptions, *design.roles.assumptions)
        if mapping_file is not None:
            _write_mapping(mapping_file, opened, reading, options.mapping)
    out = console()
    one_file = len(opened) == 1
    for file in opened:
        say(out, Text(file.file, style="bold") + Text(f"  {file.kind}{_sheets_of(file)}"))
    _print_tables(out, reading, one_file)
    _print_set_aside(out, reading, options.all, one_file)
    _print_assumptions(out, assumed, options.all, one_file)
    _print_unreadable(out, reading, options.all, one_file)
    _print_notes(out, reading, options.all, one_file)
    say(out)
    if options.write_mapping:
        say(out, f"Written: {options.write_mapping}")
    harness = design.harness
    pins = len({pin.contact for pin in harness.pins})
    say(
        out,
        Text(
            f"{counted(reading.rows_seen, 'row')}: {reading.rows_used:,} used, {len(reading.set_aside):,} set aside; "
            f"{counted(len(harness.wires), 'wire')}, {counted(pins, 'pin')}, "
            f"{counted(len(design.devices.all), 'component')}, {counted(len(assumed), 'assumption')}, "
            f"{counted(len(reading.unreadable), 'cell')} not understood",
            style="bold",
        ),
    )
    return 0


def _sheets_of(file: OpenedFile) -> str:
    """Sheets of a workbook by name; a delimited text has one that needs none."""
    if file.kind in ("csv", "tsv"):
        return ""
    names = ", ".join(f"{grid.sheet}{' (hidden)' if grid.hidden else ''}" for grid in file.grids)
    return f"; {'sheets' if len(file.grids) > 1 else 'sheet'}: {names}"


def _write_mapping(path: Path, opened: list[OpenedFile], reading: Reading, mapping: str | None) -> None:
    from harnessdrc.intake.mapping import read_mapping
    from harnessdrc.intake.mapping_write import mapping_text
    from harnessdrc.intake.reading import recognize_all

    found = recognize_all(opened, read_mapping(Path(mapping)) if mapping else None)
    text = mapping_text(found, reading).encode("utf-8")
    write_files({path: text})


def _print_tables(out: Console, reading: Reading, one_file: bool) -> None:
    for table in reading.tables:
        form = FORMS[table.form]
        known = {column.name: column.heading for column in form.columns}
        heading = f"headings in row {table.heading_row}" if table.heading_row else "no headings"
        rows = table.frame["row"].nunique()
        where = sheet_text(table.file, table.sheet, one_file)
        where = "" if where == form.title else where  # a sheet that is called as what it holds
        gave = f"{counted(rows, 'row')}, {counted(len(table.frame), form.one, form.plural)}"
        say(out)
        say(out, Text(form.title, style="bold") + Text("  " + ", ".join(filter(None, (where, heading, gave)))))
        columns = [
            (index, table.headings.get(name) or "(no heading)", known[name])
            for name, index in sorted(table.cells.items(), key=lambda cell: cell[1])
            if name in known  # what the reader keeps for itself beside a column is none
        ]
        width = min(max((len(written) for _, written, _ in columns), default=0), 40)
        for index, written, meant in columns:
            say(out, Text(f"{column_letters(index):>3}  {visible(written):{width}} → {meant}"), 2)


def _print_set_aside(out: Console, reading: Reading, everything: bool, one_file: bool) -> None:
    if not reading.set_aside:
        return
    say(out)
    say(out, Text(f"Set aside: {counted(len(reading.set_aside), 'row')}", style="bold"))
    reasons: dict[tuple[str, str, str], list[Place]] = defaultdict(list)
    for row in reading.set_aside:
        place = Place(row.file, row.sheet, str(row.row))
        reasons[(row.file, row.sheet, row.reason)].append(place)
    lines = list(reasons.items())
    for (_, _, reason), places in lines if everything else lines[: 3 * _SHOWN]:
        rows = cells_text(sorted(places, key=lambda p: int(p.cell)), one_file)
        say(out, Text(f"{rows}: {reason}"), 2)
    if not everything and len(lines) > 3 * _SHOWN:
        say(out, Text(f"… and {len(lines) - 3 * _SHOWN:,} more reasons (--all shows them)"), 2)


def _print_assumptions(out: Console, assumed: tuple[Assumption, ...], everything: bool, one_file: bool) -> None:
    if not assumed:
        return
    say(out)
    say(out, Text(f"Assumptions: {len(assumed):,}", style="bold"))
    by_kind: dict[str, list[Assumption]] = defaultdict(list)
    for line in assumed:
        by_kind[line.what].append(line)
    for what, lines in by_kind.items():
        say(out, Text(what, style="underline"), 2)
        for line in lines if everything else lines[:_SHOWN]:
            text = Text(f"{line.subject} → {line.value} ({line.because})")
            if line.place:
                count = f", {line.count:,} cells" if line.count > 1 else ""
                text.append(f"  [{cells_text((line.place,), one_file)}{count}]", style="dim")
            say(out, text, 4)
        if not everything and len(lines) > _SHOWN:
            say(out, Text(f"… and {len(lines) - _SHOWN:,} more (--all shows them)"), 4)


def _print_unreadable(out: Console, reading: Reading, everything: bool, one_file: bool) -> None:
    if not reading.unreadable:
        return
    say(out)
    say(out, Text(f"Not understood: {counted(len(reading.unreadable), 'cell')}", style="bold"))
    for cell in reading.unreadable if everything else reading.unreadable[:_SHOWN]:
        where = cells_text((cell.place,), one_file)
        say(out, Text(f"{where}: '{cell.text}' in {cell.column}; expected {cell.expected}"), 2)
    if not everything and len(reading.unreadable) > _SHOWN:
        say(out, Text(f"… and {len(reading.unreadable) - _SHOWN:,} more (--all shows them)"), 2)


def _print_notes(out: Console, reading: Reading, everything: bool, one_file: bool) -> None:
    if not reading.notes:
        return
    say(out)
    say(out, Text("Left out", style="bold"))
    for note in reading.notes if everything else reading.notes[:_SHOWN]:
        text = note.removeprefix(f"{reading.sources[0].file}, ") if one_file else note
        say(out, Text(text), 2)
    if not everything and len(reading.notes) > _SHOWN:
        say(out, Text(f"… and {len(reading.notes) - _SHOWN:,} more (--all shows them)"), 2)
