"""All sheets of all files turned into one `Reading`: nothing lost, nothing guessed in silence."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from harnessdrc.errors import NothingToReadError
from harnessdrc.intake.grid import Grid, OpenedFile
from harnessdrc.intake.mapping import Mapping, regions_of
from harnessdrc.intake.normalizing.normalize import Normalized, normalize
from harnessdrc.intake.recognition.headings import match_heading
from harnessdrc.intake.recognition.regions import Recognized, Rows, padded_rows
from harnessdrc.intake.recognition.tables import recognize
from harnessdrc.places import Place, column_letters
from harnessdrc.tables.columns import FORMS
from harnessdrc.tables.model import Assumption, Reading, SetAside, SourceName, Table, Unreadable

__all__ = ["read_lists", "recognize_all"]


@dataclass(frozen=True, slots=True)
class _Sheet:
    """One sheet on its way."""

    grid: Grid
    filled: tuple[int, ...]
    found: Recognized | None
    copy_of: str = ""
    mapped: bool = False


def recognize_all(opened: Sequence[OpenedFile], mapping: Mapping | None = None) -> list[Recognized]:
    """How every sheet is understood, copies of other sheets left out; what a mapping file is written from."""
    return [sheet.found for sheet in _sheets(opened, mapping) if sheet.found is not None]


def read_lists(opened: Sequence[OpenedFile], mapping: Mapping | None = None) -> Reading:
    """Normalized tables of all files, with an account of every row.

    Parameters
    ----------
    opened : sequence of OpenedFile
        The files.
    mapping : Mapping, optional
        How sheets are to be understood, as edited by a person; obeyed for the sheets it names.

    Raises
    ------
    NothingToReadError
        No table is recognized on any sheet, or headings have no rows below them.
    MappingError
        The mapping names a sheet or a column that is not there.
    """
    sheets = _sheets(opened, mapping)
    tables: list[Table] = []
    aside: list[SetAside] = []
    assumptions: list[Assumption] = [note for file in opened for note in file.notes]
    unreadable: list[Unreadable] = []
    notes: list[str] = []
    seen = used_count = 0
    done: list[tuple[_Sheet, list[Normalized]]] = []
    for sheet in sheets:
        regions = sheet.found.regions if sheet.found else ()
        rows = sheet.found.rows if sheet.found else ()
        done.append((sheet, [normalize(region, rows) for region in regions]))
    has_wires = any(table.form == "wires" for _, results in done for n in results for table in n.tables)
    for sheet, results in done:
        grid = sheet.grid
        used: set[int] = set()
        reasons: dict[int, str] = {}
        if sheet.found is not None:
            reasons.update(sheet.found.reasons)
            assumptions += sheet.found.assumptions
            notes += _unused_columns(sheet.found)
        for result in results:
            used |= result.used
            for r, why in result.set_aside.items():
                reasons[r] = why if r not in reasons or reasons[r].startswith("no ") else reasons[r]
            tables += result.tables
            assumptions += result.assumptions
            unreadable += result.unreadable
            if result.one_ended is not None and not has_wires:
                tables.append(result.one_ended)
                assumptions += result.one_ended_assumptions
                used |= set(result.one_ended.frame["row"])
        unreadable += _missing_results(sheet, tables)
        if grid.hidden and sheet.filled:
            notes.append(f"{_where(grid)}: this sheet is hidden; it is read like the others")
        if grid.drawings:
            notes.append(f"{_where(grid)}: drawings and text boxes on this sheet are not read")
        seen += len(sheet.filled)
        for r in sheet.filled:
            if sheet.copy_of:
                aside.append(SetAside(grid.file, grid.sheet, r, f"exact copy of {sheet.copy_of}"))
            elif r in used:
                used_count += 1
            else:
                aside.append(SetAside(grid.file, grid.sheet, r, reasons.get(r, "nothing in the columns that are read")))
    if not tables:
        raise _nothing_to_read(sheets)
    return Reading(
        tuple(SourceName(file.file, file.sha256) for file in opened), tuple(tables), tuple(aside), tuple(assumptions),
        tuple(unreadable), seen, used_count, tuple(notes),
    )  # fmt: skip


# --- sheets -----------------------------------------------------------------------------------------


def _filled_rows(rows: Rows) -> tuple[int, ...]:
    """One-based rows that hold anything but white space."""
    return tuple(i + 1 for i, row in enumerate(rows) if row.count(None) != len(row))


def _sheets(opened: Sequence[OpenedFile], mapping: Mapping | None) -> list[_Sheet]:
    named = mapping.sheets_of(opened) if mapping is not None else {}
    out: list[_Sheet] = []
    bodies: dict[tuple[object, ...], str] = {}
    several = len(opened) > 1
    alone = sum(len(file.grids) for file in opened) == 1
    for file in opened:
        for grid in file.grids:
            rows = padded_rows(grid)
            filled = _filled_rows(rows)
            if (grid.file, grid.sheet) in named and mapping is not None:
                found = regions_of(mapping, grid, rows)
                out.append(_Sheet(grid, filled, found, mapped=True))
                continue
            if mapping is not None and mapping.only:
                reasons = dict.fromkeys(filled, "a sheet that the mapping doesn't name")
                out.append(_Sheet(grid, filled, Recognized(grid, rows, (), reasons)))
                continue
            body = () if alone else _body(grid, filled)
            copy_of = bodies.get(body, "") if len(filled) > 1 else ""
            if not copy_of and body:
                bodies[body] = f"sheet '{grid.sheet}'" + (f" of {grid.file}" if several else "")
            out.append(_Sheet(grid, filled, None if copy_of else recognize(grid, rows), copy_of))
    if match_heading.cache_info().currsize > _HEADINGS_KEPT:
        match_heading.cache_clear()  # in a long list it holds every name that begins like a heading
    return _without_older_issues(out)


_HEADINGS_KEPT = 4096

_OLDER = re.compile(
    r"\b(?:old|older|obsolete|superseded|supersed|previous|prev|archive|archived|backup|bak|deprecated|veraltet|ancien|vecchio)\b",
    re.I,
)
_ISSUE = re.compile(
    r"^(?P<base>.*?)[\s_(-]*\b(?:(?:rev(?:ision)?|issue|iss|ver(?:sion)?)[\s._-]*(?P<mark>\d+(?:\.\d+)*|[A-Z])"
    r"|v(?P<dotted>\d+(?:\.\d+)+))\)?$",
    re.I,
)
"""A name that ends in its issue; a V with a plain number is more often an engine than a version."""


def _without_older_issues(sheets: list[_Sheet]) -> list[_Sheet]:
    """Sheets whose names say that another sheet of the same form replaces them, set aside whole."""
    forms = [frozenset(r.form for r in sheet.found.regions) if sheet.found else frozenset() for sheet in sheets]
    out: list[_Sheet] = []
    for k, sheet in enumerate(sheets):
        newer = ""
        for other, rival in enumerate(sheets if forms[k] and not sheet.mapped else ()):
            if other != k and forms[k] & forms[other] and _replaces(rival.grid, sheet.grid):
                newer = f"sheet '{rival.grid.sheet}'"
                break
        if newer and sheet.found is not None:
            why = f"an older issue by the sheet's name, beside {newer}"
            found = replace(sheet.found, regions=(), reasons=dict.fromkeys(sheet.filled, why), assumptions=())
            sheet = replace(sheet, found=found)
        out.append(sheet)
    return out


def _replaces(newer: Grid, older: Grid) -> bool:
    """Whether one sheet of a file replaces another by their names: ``Loom`` and ``Loom old``, issues A and B."""
    if newer.file != older.file or newer.sheet == older.sheet:
        return False
    if _OLDER.search(older.sheet) and not _OLDER.search(newer.sheet):
        rest = _OLDER.sub("", older.sheet).strip(" _-()")
        alone = _bare_name(older.sheet) in ("old", "older", "obsolete", "superseded", "archive", "deprecated")
        if not _bare_name(rest):
            return alone
        issue, other = _ISSUE.match(rest), _ISSUE.match(newer.sheet.strip())
        name = _bare_name(other["base"] if other else newer.sheet)
        return name in (_bare_name(rest), _bare_name(issue["base"]) if issue else "")
    a, b = _ISSUE.match(older.sheet.strip()), _ISSUE.match(newer.sheet.strip())
    if a is None or b is None or _bare_name(a["base"]) != _bare_name(b["base"]):
        return False
    return _issue_order(a["mark"] or a["dotted"]) < _issue_order(b["mark"] or b["dotted"])


def _bare_name(text: str) -> str:
    return re.sub(r"[^a-z0-9]+", "", text.casefold())


def _issue_order(mark: str) -> tuple[int, ...]:
    if mark[0].isdecimal():
        return tuple(int(part) for part in mark.split("."))
    return (ord(mark.upper()),)


def _body(grid: Grid, filled: Sequence[int]) -> tuple[object, ...]:
    """Content of a sheet that an exact copy shares: its filled rows without trailing blanks."""
    return (hash(tuple(tuple(grid.rows[r - 1]) for r in filled)), len(filled), filled[:1])


def _where(grid: Grid) -> str:
    return f"{grid.file}, sheet '{grid.sheet}'" if grid.sheet else grid.file


def _unused_columns(found: Recognized) -> list[str]:
    out: list[str] = []
    for region in found.regions:
        for column, heading in sorted(region.not_used.items()):
            name = f"'{heading}'" if heading else "without a heading"
            out.append(f"{_where(found.grid)}: column {column_letters(column)} {name} not used")
    return out


def _missing_results(sheet: _Sheet, tables: Sequence[Table]) -> list[Unreadable]:
    """Formulas of used columns whose result was never saved."""
    grid = sheet.grid
    if not grid.formulas_without_value or sheet.found is None:
        return []
    out: list[Unreadable] = []
    spans = [
        (region.first_row, region.last_row, {column: role for role, column in region.columns.items()})
        for region in sheet.found.regions
    ]
    for cell in grid.formulas_without_value:
        letters = cell.rstrip("0123456789")
        row = int(cell[len(letters) :] or 0)
        for first, last, roles in spans:
            role = next((r for c, r in roles.items() if column_letters(c) == letters), None)
            if role is not None and first <= row <= last:
                out.append(
                    Unreadable(Place(grid.file, grid.sheet, cell), role, "a formula without a stored result",
                               "a value: open the file in a spreadsheet program, recalculate and save it")
                )  # fmt: skip
                break
    return out


# --- when there is nothing --------------------------------------------------------------------------


def _nothing_to_read(sheets: Sequence[_Sheet]) -> NothingToReadError:
    """The error for files that open and hold no table, saying what was seen."""
    file = sheets[0].grid.file if sheets else ""
    files = {sheet.grid.file for sheet in sheets}
    shown = file if len(files) == 1 else ", ".join(sorted(files))
    expected = "headings such as From, To, Colour, Size for a wire list, or Connector, Pin, Signal for a pin list"
    remedy = "'harnessdrc template FILE' writes a workbook with the recommended headings."
    if not any(sheet.filled for sheet in sheets):
        drawings = any(sheet.grid.drawings for sheet in sheets)
        what = "there are only drawings and no cells to read." if drawings else "every sheet is empty."
        return NothingToReadError(what, file=shown, expected=expected, remedy=remedy)
    headed = [s for s in sheets if s.found is not None and s.found.regions]
    if headed:
        grid = headed[0].grid
        region = headed[0].found.regions[0] if headed[0].found else None
        title = FORMS[region.form].title.lower() if region else "table"
        row = region.heading_rows[-1] if region and region.heading_rows else 1
        if grid.formulas_without_value:
            return NothingToReadError(
                f"the headings of a {title} have only formulas below them whose results were never saved.",
                file=grid.file, sheet=grid.sheet, cell=grid.formulas_without_value[0],
                remedy="Open it in a spreadsheet program, which calculates them, and save it.",
            )  # fmt: skip
        return NothingToReadError(
            f"the headings of a {title} have no rows below them.", file=grid.file, sheet=grid.sheet, cell=f"A{row}",
            expected="one row per wire or pin below the headings", remedy=remedy,
        )  # fmt: skip
    seen: list[str] = []
    for sheet in sheets[:6]:
        if not sheet.filled:
            continue
        found = sheet.found
        unknown = ", ".join(f"'{text[:40]}'" for text in (found.unknown if found else ())[:8])
        first = sheet.filled[0]
        texts = [str(v)[:40] for v in sheet.grid.rows[first - 1] if v is not None][:6]
        line = f"sheet '{sheet.grid.sheet}' begins in row {first} with {', '.join(repr(t) for t in texts)}"
        seen.append(line + (f" (no headings of a list: {unknown})" if unknown else ""))
    what = "no wire list or pin list was recognized; " + "; ".join(seen)
    if any(sheet.grid.formulas_without_value for sheet in sheets):
        what += "; some cells hold formulas whose results were never saved"
    return NothingToReadError(f"{what}.", file=shown, expected=expected, remedy=remedy)
