"""The mapping file of a reading: how a list was understood, written for a person to edit."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

import tomlkit

from harnessdrc.intake.mapping import NOT_USED, cell_heading
from harnessdrc.intake.recognition.regions import LAYOUTS, Recognized, Region, Rows
from harnessdrc.places import column_letters
from harnessdrc.tables.columns import FORMS
from harnessdrc.tables.model import Reading

__all__ = ["mapping_text"]


def mapping_text(found: Sequence[Recognized], reading: Reading) -> str:
    """Text of the mapping file of a reading.

    Parameters
    ----------
    found : sequence of Recognized
        From `reading.recognize_all`.
    reading : Reading
        From `reading.read_lists`, whose units by inference are written out.
    """
    doc = tomlkit.document()
    for line in (
        "How this list was understood. Edit it and give it back with --mapping.",
        "Sheets named here are read exactly so; others as usual, or not at all with only = true.",
        "A column is named by its letter; 'not used' leaves it out. Rows are counted as in the sheet.",
        f"Forms: {', '.join(FORMS)}; none leaves the sheet out.",
    ):
        doc.add(tomlkit.comment(line))
    doc.add(tomlkit.nl())
    doc.add("only", tomlkit.item(False))
    tables = tomlkit.aot()
    inferred = _inferred_units(reading)
    for sheet in found:
        for region in sheet.regions:
            tables.append(_region_table(region, sheet.rows, inferred))
        if not sheet.regions and any(row.count(None) != len(row) for row in sheet.rows):
            table = tomlkit.table()
            table.add("file", sheet.grid.file)
            table.add("sheet", sheet.grid.sheet)
            table.add("form", tomlkit.item("none").comment("nothing is read from this sheet"))
            tables.append(table)
    doc.add("table", tables)
    return tomlkit.dumps(doc)


def _inferred_units(reading: Reading) -> dict[tuple[str, str, str], str]:
    """Units that were inferred, by file, sheet and column letters with the first row."""
    spelt = {"mm²": "mm2", "AWG": "awg"}
    return {
        (a.place.file, a.place.sheet, a.place.cell): spelt.get(a.value, a.value)
        for a in reading.assumptions
        if a.what == "unit" and a.place is not None
    }


def _region_table(region: Region, rows: Rows, inferred: Mapping[tuple[str, str, str], str]) -> Any:
    table = tomlkit.table()
    table.add("file", region.file)
    table.add("sheet", region.sheet)
    table.add("form", region.form)
    if region.layout != "rows":
        table.add("layout", tomlkit.item(region.layout).comment(" | ".join(LAYOUTS[1:])))
    table.add("heading_rows", list(region.heading_rows))
    table.add("first_row", region.first_row)
    table.add("last_row", region.last_row)
    table.add(
        "fill_forward", tomlkit.item(sorted(region.fill)).comment("columns whose empty cells take the value above")
    )
    columns = tomlkit.table()
    uses = {**{c: role for role, c in region.columns.items()}, **dict.fromkeys(region.not_used, NOT_USED)}
    for column in sorted(uses):
        heading = region.headings.get(uses[column]) or region.not_used.get(column) or ""
        item = tomlkit.item(uses[column])
        columns.add(column_letters(column), item.comment(_comment(heading)) if heading else item)
    table.add("columns", columns)
    headings = {
        role: text
        for role, text in region.headings.items()
        if role in region.columns and text != cell_heading(region, rows, region.columns[role])
    }
    units = dict(region.units)
    for role, column in region.columns.items():
        for (file, sheet, cell), unit in inferred.items():
            row = int(re.sub(r"\D", "", cell) or 0)
            here = (file, sheet) == (region.file, region.sheet) and region.first_row <= row <= region.last_row
            if here and re.sub(r"\d", "", cell) == column_letters(column):
                units.setdefault(role, unit)
    _add(table, "headings", headings)
    _add(table, "units", units)
    _add(table, "names", dict(region.names))
    _add(table, "devices", {name: column_letters(c) for name, c in region.devices.items()})
    _add(table, "codes", dict(region.codes))
    _add(table, "leave_out", _row_ranges(region.leave_out))
    return table


def _comment(text: str) -> str:
    return "".join(c if c.isprintable() else " " for c in text)


def _add(table: Any, key: str, values: Mapping[str, str]) -> None:
    if values:
        inner = tomlkit.table()
        for name, value in values.items():
            inner.add(name, value)
        table.add(key, inner)


def _row_ranges(reasons: Mapping[int, str]) -> dict[str, str]:
    """Rows with one reason as ranges: ``"83-95"``."""
    out: dict[str, str] = {}
    start = previous = 0
    for r in sorted(reasons):
        if previous and r == previous + 1 and reasons[r] == reasons[previous]:
            previous = r
            continue
        if previous:
            out[f"{start}-{previous}" if start != previous else str(start)] = reasons[previous]
        start = previous = r
    if previous:
        out[f"{start}-{previous}" if start != previous else str(start)] = reasons[previous]
    return out
