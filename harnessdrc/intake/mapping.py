"""How a list was understood, as a TOML file that a person edits and gives back.

`mapping_write` writes it; `read_mapping` reads it back, with every fault at once and the nearest name for
each typo. A sheet that the file names is read exactly as the file says; other sheets as usual, unless the
file says ``only = true``.
"""

from __future__ import annotations

import difflib
import re
import tomllib
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from harnessdrc.errors import MappingError
from harnessdrc.intake.grid import Grid, OpenedFile
from harnessdrc.intake.recognition.regions import LAYOUTS, Recognized, Region, Rows, text_of
from harnessdrc.places import column_letters
from harnessdrc.tables.columns import FORMS
from harnessdrc.units import LENGTH_UNITS

__all__ = ["NOT_USED", "Mapping", "cell_heading", "parse_mapping", "read_mapping", "regions_of"]

NOT_USED = "not used"
"""What a mapping file calls a column that is not read."""
_EXTRA_ROLES = {
    "wires": ("from_connector", "to_connector", "tracer"),
    "pins": (
        "to_item", "to_cavity", "to_connector", "to_terminal", "colour", "tracer", "size", "length_m", "twist",
        "shield", "current_a", "branch", "insulation", "option", "from_code", "to_code",
    ),
    "measurements": ("mark_cell",),
}  # fmt: skip
_UNITS = (
    "mm2", "awg", *filter(str.isalpha, LENGTH_UNITS), "A", "mA", "ohm", "mohm", "kohm", "F", "uF", "nF", "V", "mV",
    "bar", "mbar", "kPa", "psi", "us", "ms", "s",
)  # fmt: skip
_KEYS = (
    "file", "sheet", "form", "layout", "heading_rows", "first_row", "last_row", "fill_forward", "columns",
    "headings", "units", "names", "devices", "codes", "leave_out",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Mapping:
    """A mapping as given back.

    Parameters
    ----------
    file : str
        Name of the mapping file, for errors.
    regions : tuple of Region
        The tables it names; one of form ``none`` leaves its sheet out.
    only : bool
        Sheets that it doesn't name are left out.
    """

    file: str
    regions: tuple[Region, ...]
    only: bool = False

    def sheets_of(self, opened: Sequence[OpenedFile]) -> dict[tuple[str, str], tuple[Region, ...]]:
        """Sheets that the mapping names, by file and sheet.

        Raises
        ------
        MappingError
            A file or a sheet that is not among those given, with the nearest that is.
        """
        there = {(grid.file, grid.sheet) for file in opened for grid in file.grids}
        faults: list[str] = []
        found: dict[tuple[str, str], list[Region]] = defaultdict(list)
        for region in self.regions:
            key = (region.file, region.sheet)
            if key not in there and not region.file:
                match = [k for k in sorted(there) if k[1] == region.sheet]
                key = match[0] if len(match) == 1 else key
            if key not in there:
                sheets = [sheet for file, sheet in there if file == region.file or not region.file]
                if sheets:
                    where = region.file or "the files"
                    faults.append(f"there is no sheet '{region.sheet}' in {where}{_nearest(region.sheet, sheets)}")
                else:
                    faults.append(
                        f"file '{region.file}' is not among those read{_nearest(region.file, {f for f, _ in there})}"
                    )
                continue
            found[key].append(region)
        _raise(self.file, list(dict.fromkeys(faults)))
        return {key: tuple(regions) for key, regions in found.items()}


def _nearest(word: str, known: Iterable[str]) -> str:
    close = difflib.get_close_matches(word, sorted(known), n=1, cutoff=0.5)
    return f"; the nearest name is '{close[0]}'" if close else ""


def _raise(file: str, faults: Sequence[str]) -> None:
    if not faults:
        return
    if len(faults) == 1:
        raise MappingError(f"{faults[0]}.", file=file)
    lines = "\n".join(f"  - {fault}" for fault in faults)
    raise MappingError(f"this mapping cannot be used ({len(faults)} to mend)\n{lines}", file=file)


# --- obeying ----------------------------------------------------------------------------------------


def regions_of(mapping: Mapping, grid: Grid, rows: Rows) -> Recognized:
    """Tables of a sheet as the mapping says, with a reason for every other row.

    Raises
    ------
    MappingError
        A row or a column that the sheet doesn't have.
    """
    faults: list[str] = []
    width = len(rows[0]) if rows else 0
    regions: list[Region] = []
    reasons: dict[int, str] = {}
    for region in mapping.regions:
        if region.sheet != grid.sheet or region.file not in ("", grid.file):
            continue
        if region.form == "none":
            reasons.update(dict.fromkeys(range(1, len(rows) + 1), "the mapping leaves this sheet out"))
            continue
        for column in (*region.columns.values(), *region.devices.values(), *region.not_used):
            if column >= width:
                faults.append(f"sheet '{grid.sheet}' has no column {column_letters(column)}; its last is "
                              f"{column_letters(max(width - 1, 0))}")  # fmt: skip
        if region.first_row > len(rows) + 1 or any(r > len(rows) for r in region.heading_rows):
            faults.append(f"sheet '{grid.sheet}' has only {len(rows)} rows")
        if faults:
            continue
        for r in region.heading_rows:
            reasons[r] = f"headings of the {FORMS[region.form].title.lower()}"
        regions.append(_with_headings(replace(region, file=grid.file), rows))
    _raise(mapping.file, list(dict.fromkeys(faults)))
    for i, row in enumerate(rows):
        if row.count(None) != len(row):
            reasons.setdefault(i + 1, "outside of the tables that the mapping names")
    for region in regions:
        reasons.update(region.leave_out)
    return Recognized(grid, rows, tuple(regions), reasons)


def _with_headings(region: Region, rows: Rows) -> Region:
    """Region with its headings as they stand on the sheet, where the mapping doesn't repeat them."""
    headings = {role: cell_heading(region, rows, column) for role, column in region.columns.items()}
    headings.update(region.headings)
    not_used = {column: text or cell_heading(region, rows, column) for column, text in region.not_used.items()}
    return replace(region, headings=headings, not_used=not_used, last_row=min(region.last_row, len(rows)) or len(rows))


def cell_heading(region: Region, rows: Rows, column: int) -> str:
    """Heading over a column as it stands in the lowest heading row that has one."""
    for r in reversed(region.heading_rows):
        text = text_of(rows[r - 1][column])
        if text is not None:
            return text
    return ""


# --- reading ----------------------------------------------------------------------------------------


def read_mapping(path: Path) -> Mapping:
    """Mapping from its file.

    Raises
    ------
    MappingError
        The file cannot be read, is no TOML, or has faults; all of them at once.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as fault:
        reason = getattr(fault, "strerror", None) or "it is not UTF-8 text"
        raise MappingError(f"the mapping cannot be read: {reason}.", file=str(path)) from fault
    return parse_mapping(text, path.name)


def parse_mapping(text: str, file: str) -> Mapping:
    """Mapping from its text; see `read_mapping`."""
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise MappingError(f"the mapping is not valid TOML: {fault}.", file=file) from fault
    faults: list[str] = []
    for key in data:
        if key not in ("only", "table"):
            faults.append(f"'{key}' is not known{_nearest(key, ('only', 'table'))}")
    only = data.get("only", False)
    if not isinstance(only, bool):
        faults.append("only is true or false")
    tables = data.get("table", [])
    if not isinstance(tables, list):
        faults.append("each table begins with [[table]]")
        tables = []
    regions = [_Reader(number + 1, table, faults).region() for number, table in enumerate(tables)]
    _raise(file, faults)
    return Mapping(file, tuple(region for region in regions if region is not None), bool(only))


class _Reader:
    """One table of a mapping file, its faults added to a common list."""

    def __init__(self, number: int, table: Any, faults: list[str]) -> None:
        self.table: dict[str, Any] = table if isinstance(table, dict) else {}
        self.faults = faults
        sheet = self.table.get("sheet", "")
        self.where = f"table {number}" + (f" (sheet '{sheet}')" if sheet else "")
        if not isinstance(table, dict):
            self.fault("is not a table")

    def fault(self, text: str) -> None:
        self.faults.append(f"{self.where}: {text}")

    def _text(self, key: str, default: str) -> str:
        value = self.table.get(key, default)
        if not isinstance(value, str):
            self.fault(f"{key} is a text in quotes")
            return default
        return value

    def _row(self, key: str, default: int) -> int:
        value = self.table.get(key, default)
        if not isinstance(value, int) or isinstance(value, bool) or value < 0:
            self.fault(f"{key} is a row number")
            return default
        return value

    def _texts(self, key: str) -> dict[str, str]:
        value = self.table.get(key, {})
        if not isinstance(value, dict) or not all(isinstance(v, str) for v in value.values()):
            self.fault(f"[table.{key}] holds texts in quotes")
            return {}
        return value

    def region(self) -> Region | None:
        """Region of the table; None only where it is no table at all."""
        for key in self.table:
            if key not in _KEYS:
                self.fault(f"'{key}' is not known{_nearest(key, _KEYS)}")
        form = self._text("form", "")
        if form not in FORMS and form != "none":
            self.fault(f"form '{form}' is not known{_nearest(form, [*FORMS, 'none'])}" if form else "form is missing")
        layout = self._text("layout", "pins" if form == "pins" else "rows")
        if layout not in LAYOUTS:
            self.fault(f"layout '{layout}' is not known{_nearest(layout, LAYOUTS)}")
        roles = self._roles(form)
        columns, not_used = self._columns(roles)
        heading_rows = self.table.get("heading_rows", [])
        if not isinstance(heading_rows, list) or not all(isinstance(r, int) and r > 0 for r in heading_rows):
            self.fault("heading_rows is a list of row numbers")
            heading_rows = []
        first = self._row("first_row", max(heading_rows, default=0) + 1)
        fill = self.table.get("fill_forward", [])
        if not isinstance(fill, list):
            self.fault("fill_forward is a list of columns")
            fill = []
        self._known("fill_forward", fill, columns)
        units, names = self._texts("units"), self._texts("names")
        self._known("units", units, columns)
        for unit in units.values():
            if unit not in _UNITS:
                self.fault(f"unit '{unit}' is not known{_nearest(unit, _UNITS)}")
        self._known("names", names, roles)
        self._known("headings", self._texts("headings"), columns)
        devices = {name: self._letters(letters) for name, letters in self._texts("devices").items()}
        return Region(
            self._text("file", ""), self._text("sheet", ""), form, layout, tuple(heading_rows), first,
            self._row("last_row", 10**7), columns, self._texts("headings"), units, {}, names, devices,
            frozenset(str(f) for f in fill), self._leave_out(), not_used, self._texts("codes"),
        )  # fmt: skip

    def _roles(self, form: str) -> set[str]:
        if form not in FORMS:
            return {c.name for known in FORMS.values() for c in known.columns}
        return {c.name for c in FORMS[form].columns} | set(_EXTRA_ROLES.get(form, ()))

    def _known(self, key: str, given: Iterable[Any], known: Iterable[str]) -> None:
        names = list(known)
        for name in given:
            if name not in names:
                self.fault(f"{key}: '{name}' is no column of this table{_nearest(str(name), names)}")

    def _letters(self, letters: str) -> int:
        if not re.fullmatch(r"[A-Za-z]{1,3}", letters):
            self.fault(f"'{letters}' is no column; columns are named by letters, A to XFD")
            return 0
        index = 0
        for letter in letters.upper():
            index = index * 26 + ord(letter) - 64
        return index - 1

    def _columns(self, roles: set[str]) -> tuple[dict[str, int], dict[int, str]]:
        columns: dict[str, int] = {}
        not_used: dict[int, str] = {}
        for letters, role in self._texts("columns").items():
            index = self._letters(letters)
            if role == NOT_USED:
                not_used[index] = ""
            elif role not in roles:
                self.fault(f"column {letters}: '{role}' is not known{_nearest(role, [*roles, NOT_USED])}")
            elif role in columns:
                self.fault(f"column {letters}: '{role}' is given to column {column_letters(columns[role])} already")
            else:
                columns[role] = index
        return columns, not_used

    def _leave_out(self) -> dict[int, str]:
        given = self.table.get("leave_out", {})
        if isinstance(given, list):
            given = {str(r): "the mapping leaves this row out" for r in given}
        out: dict[int, str] = {}
        for rows, reason in given.items() if isinstance(given, dict) else ():
            match = re.fullmatch(r"(\d{1,7})(?:\s*-\s*(\d{1,7}))?", str(rows))
            if match is None or not isinstance(reason, str):
                self.fault(f"leave_out: '{rows}' is no row or range of rows with a reason in quotes")
                continue
            first, last = int(match[1]), int(match[2] or match[1])
            out.update(dict.fromkeys(range(first, min(last, first + 10**6) + 1), reason))
        return out
