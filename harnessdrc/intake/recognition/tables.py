"""One sheet turned into regions: headings found, tables cut out, rows that are no data named."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import replace
from pathlib import PurePath

from harnessdrc.intake.grid import Grid
from harnessdrc.intake.recognition.concession_sheets import rows_of_concessions
from harnessdrc.intake.recognition.heading_rows import (
    HeadCell,
    HeadRow,
    find_heading_rows,
    head_row_at,
    split_side_by_side,
)
from harnessdrc.intake.recognition.headings import vocabulary
from harnessdrc.intake.recognition.headless import headless_layout
from harnessdrc.intake.recognition.layout import form_of, is_plain_list, resolve, stands_alone, take_unlabelled
from harnessdrc.intake.recognition.regions import Layout, Recognized, Region, Rows, Sample, padded_rows, text_of
from harnessdrc.intake.recognition.rows import blocks_of, fill_forward, rows_to_leave_out, stray_reason
from harnessdrc.intake.recognition.test_sheets import regions_of_tests
from harnessdrc.places import Place, cell_name
from harnessdrc.tables.columns import FORMS
from harnessdrc.tables.model import Assumption

__all__ = ["recognize"]

_SAMPLE_ROWS = 300
_BY_DEFAULT = ("the sheet is called so", "nothing else names it")


def recognize(grid: Grid, rows: Rows | None = None) -> Recognized:
    """Tables of one sheet.

    Parameters
    ----------
    grid : Grid
        The sheet as it stands in its file.
    rows : Rows, optional
        Its rows from `padded_rows`, where they are at hand.

    Returns
    -------
    Recognized
        Regions in the order found, and a reason for every other row that holds something.
    """
    rows = padded_rows(grid) if rows is None else rows
    tests = regions_of_tests(grid, rows)
    if tests:
        return Recognized(grid, rows, tests, _reasons(rows, tests, {}))
    accepting = rows_of_concessions(rows)
    if accepting:
        return Recognized(grid, rows, (), accepting)
    heads = find_heading_rows(rows, grid.merged, _fits)
    if not heads:
        heads = _sparse_heads(rows)
    regions: list[Region] = []
    assumptions: list[Assumption] = []
    unknown: list[str] = []
    refused: dict[int, str] = {}
    fallback: set[str] = set()
    beside: list[Sequence[HeadCell]] = []
    for index, head in enumerate(heads):
        for segment in split_side_by_side(head.cells, stands_alone, is_plain_list):
            before = len(assumptions)
            region = _region(grid, rows, heads, index, segment, assumptions)
            fallback.update(a.value for a in assumptions[before:] if a.because in _BY_DEFAULT)
            if region is None:
                unknown += [c.heading.written for c in segment if not c.heading.concepts]
                if len(segment) < len(head.cells):
                    beside.append(segment)
                continue
            regions.append(region)
            if not _data_rows(region, rows):
                refused.update(
                    dict.fromkeys(head.rows, f"headings of a {FORMS[region.form].title.lower()} with no rows")
                )
    regions = _tell_apart(regions, rows, fallback)
    if regions:
        for cut in beside:
            place = Place(grid.file, grid.sheet, cell_name(cut[0].row, cut[0].column))
            shown = ", ".join(c.heading.written for c in cut[:6])
            because = "no table is known by these headings"
            assumptions.append(Assumption("heading", shown, "columns that are not read", because, place))
    if not regions:
        regions = _headless(grid, rows, assumptions)
    if not regions:
        unknown += _first_texts(rows)
    return Recognized(
        grid, rows, tuple(regions), _reasons(rows, regions, refused), tuple(assumptions), tuple(dict.fromkeys(unknown))
    )


def _tell_apart(regions: list[Region], rows: Rows, fallback: set[str]) -> list[Region]:
    """Pin lists of one sheet that nothing names, numbered where their pins come again.

    Lists that only go on in the next columns or on the next page have other pins and keep one name.
    """
    seen: dict[str, set[str]] = {}
    count: dict[str, int] = {}
    out: list[Region] = []
    for region in regions:
        name = region.names.get("connector", "")
        column = region.columns.get("cavity")
        if region.form != "pins" or name not in fallback or column is None:
            out.append(region)
            continue
        here = range(region.first_row, region.last_row + 1)
        pins = {text_of(rows[r - 1][column]) or "" for r in here if r not in region.leave_out} - {""}
        if name in seen and seen[name] & pins:
            count[name] = count.get(name, 1) + 1
            region = replace(region, names={**region.names, "connector": f"{name} ({count[name]})"})
        seen.setdefault(name, set()).update(pins)
        out.append(region)
    return out


def _headless(grid: Grid, rows: Rows, out: list[Assumption]) -> list[Region]:
    """The one table of a sheet without headings, by what its columns hold."""
    found = headless_layout(rows)
    if found is None:
        return []
    layout, first, last, span = found
    for subject, role, because, column in layout.decided:
        place = Place(grid.file, grid.sheet, cell_name(first, column))
        out.append(Assumption("heading", subject, role, because, place))
    if layout.form == "pins":
        sheet = " ".join(grid.sheet.split())
        layout.names["connector"] = sheet or PurePath(grid.file).stem
        place = Place(grid.file, grid.sheet, cell_name(first, layout.columns["cavity"]))
        out.append(Assumption("connector", "no heading", layout.names["connector"], "the sheet is called so", place))
    return [build_region(grid, rows, layout, (), first, last, span)]


def _fits(cells: Sequence[HeadCell]) -> bool:
    form = form_of(cells)
    if form is not None and form != "device columns":
        return True
    return len(split_side_by_side(cells, stands_alone, is_plain_list)) > 1


def _sparse_heads(rows: Rows) -> list[HeadRow]:
    """A heading row with one known heading: a column per device, or pins under a connector's name."""
    tried = 0
    for i, row in enumerate(rows):
        filled = [v for v in row if v is not None]
        if not filled:
            continue
        tried += 1
        if tried > 20:
            break
        if len(filled) < 2 or not all(isinstance(v, str) for v in filled):
            continue
        head = head_row_at(rows, i)
        if head.known and resolve(head.cells, _sampler(rows, i + 1, len(rows))) is not None:
            return [head]
    return []


def _sampler(rows: Rows, first: int, last: int) -> Sample:
    """Texts of a column in the rows after `first` (zero-based) and before `last`, cached."""
    cache: dict[int, list[str]] = {}

    def sample(column: int) -> list[str]:
        if column not in cache:
            texts = [text_of(rows[i][column]) for i in range(first, min(last, first + _SAMPLE_ROWS))]
            cache[column] = [t for t in texts if t]
        return cache[column]

    return sample


def _span(cells: Sequence[HeadCell]) -> tuple[int, int]:
    return cells[0].column, cells[-1].column


def _region(
    grid: Grid, rows: Rows, heads: Sequence[HeadRow], index: int, segment: Sequence[HeadCell], out: list[Assumption]
) -> Region | None:
    """One table: its columns, its rows and what is left out of it."""
    head = heads[index]
    first = head.rows[-1] + 1
    left, right = _span(segment)
    last = len(rows)
    for later in (heads[k] for k in range(index + 1, len(heads))):
        low, high = _span(later.cells)
        if low <= right and high >= left:
            last = (later.title_row or later.rows[0]) - 1
            break
    sample = _sampler(rows, first - 1, last)
    layout = resolve(segment, sample)
    if layout is None:
        return None
    beside = take_unlabelled(layout, (left, right), {c.column for c in head.cells}, len(rows[0]), sample)
    left, right = min(left, *beside, right), max(right, *beside, left)
    for cell in segment:
        if cell.typo_of:
            place = Place(grid.file, grid.sheet, cell_name(cell.row, cell.column))
            out.append(Assumption("heading", cell.heading.written, cell.typo_of, "the nearest known heading", place))
    lowest = head.rows[0]
    for subject, value, because, column in layout.decided:
        place = Place(grid.file, grid.sheet, cell_name(head.rows[-1] if len(head.rows) < 3 else lowest, column))
        out.append(Assumption("heading", subject, value, because, place))
    _name_connector(grid, heads, head, segment, layout, out)
    return build_region(grid, rows, layout, head.rows, first, last, (left, right))


def build_region(
    grid: Grid,
    rows: Rows,
    layout: Layout,
    heading_rows: tuple[int, ...],
    first: int,
    last: int,
    span: tuple[int, int],
) -> Region:
    """Region of a layout, with its rows classified."""
    left, right = span
    blocks = blocks_of(rows, first, last, left, right)
    # legends first, so that they don't count as empty cells of a grouped column
    reasons, codes = rows_to_leave_out(layout, rows, blocks, left, right, ())
    data = [r for block in blocks for r in block if r not in reasons]
    fill = fill_forward(layout, rows, data)
    if fill:
        reasons, codes = rows_to_leave_out(layout, rows, blocks, left, right, fill)
    if not {"from_code", "to_code"} & set(layout.columns) and not _codes_in_ends(layout, codes, rows, data):
        codes = {}
    end = blocks[-1][-1] if blocks else first - 1

    def kept(values: dict[str, str]) -> dict[str, str]:
        """Values of the roles that a column was settled on."""
        return {role: value for role, value in values.items() if role in layout.columns}

    return Region(
        grid.file, grid.sheet, layout.form, layout.layout, heading_rows, first, end,
        dict(layout.columns), kept(layout.headings), kept(layout.units), kept(layout.soft_units), dict(layout.names),
        dict(layout.devices), fill, reasons, dict(layout.not_used), codes,
    )  # fmt: skip


def _codes_in_ends(layout: Layout, codes: dict[str, str], rows: Rows, data: Sequence[int]) -> bool:
    """Whether the ends of a wire list are written as the codes of its legend."""
    if not codes or layout.form != "wires":
        return False
    ends = [layout.columns[s] for s in ("from_item", "to_item") if s in layout.columns]
    texts = [text_of(rows[r - 1][c]) for r in data for c in ends if rows[r - 1][c] is not None]
    return bool(texts) and sum(1 for t in texts if t in codes) >= 0.8 * len(texts)


def _data_rows(region: Region, rows: Rows) -> bool:
    for r in range(region.first_row, region.last_row + 1):
        if r not in region.leave_out and any(v is not None for v in rows[r - 1]):
            return True
    return False


# --- the connector of a pin list that has no column for it ------------------------------------------

_LEADING = re.compile(
    r"^(?:connector|conn\.?|plug|stecker|connecteur|pinout(?: of)?|pin list(?: of)?)\b\s*[:\-–]?\s*", re.I
)
_TRAILING = re.compile(r"\s*[:\-–]?\s*\b(?:pinout|pin list|pin-out|pins)$", re.I)
_DESIGNATOR = re.compile(r"\b(?:connector|conn|plug|socket|stecker|ecu|[A-Z]{1,3}\d{1,3}[A-Z]?)\b", re.I)


def _name_connector(
    grid: Grid,
    heads: Sequence[HeadRow],
    head: HeadRow,
    segment: Sequence[HeadCell],
    layout: Layout,
    out: list[Assumption],
) -> None:
    """Find the connector's name in the heading, the title above, the sheet's name or the file's."""
    if layout.form != "pins" or "connector" in layout.columns or layout.layout == "device columns":
        return
    cavity = next((c for c in segment if c.column == layout.columns.get("cavity")), segment[0])
    name, because = layout.names.get("connector", ""), "the heading of the pin column names it"
    if not name:
        name, because = _title_name(heads, head, segment), "the title above names it"
    sheet = " ".join(grid.sheet.split())
    stem = PurePath(grid.file).stem
    generic = re.sub(r"[\d\s()_-]+$", "", sheet.casefold()) in vocabulary().values["generic_sheets"]
    if not name and sheet and not generic and sheet != stem:
        name, because = _tidy_name(sheet), _BY_DEFAULT[0]
    if not name:
        words = [
            w
            for w in cavity.heading.written.split()
            if w.casefold().strip("#.") not in ("pin", "pins", "no", "number", "")
        ]
        candidate = " ".join(words)
        if candidate and candidate.casefold() in vocabulary().values["generic_connector"]:
            name, because = candidate, "the heading of the pin column says so"
    if not name:
        name, because = _tidy_name(stem if sheet in ("", stem) else sheet) or sheet, _BY_DEFAULT[1]
    place = Place(grid.file, grid.sheet, cell_name(cavity.row, cavity.column))
    both = _WITH_DEVICE.match(name)
    if both and "component" not in layout.columns:  # "X1 - ECU plug, 12 way"
        name = both["name"]
        layout.names["component"] = both["device"]
        out.append(Assumption("connector", name, both["device"], f"{because}, and what it belongs to", place))
    layout.names["connector"] = name
    out.append(Assumption("connector", cavity.heading.written, name, because, place))


_WITH_DEVICE = re.compile(
    r"^(?P<name>[A-Z]{1,4}[-_ ]?\d{1,4}[A-Za-z]?)(?:\s+[-–—]\s+|\s*:\s+)"
    r"(?P<device>[^,;]*[^\W\d_]{2}[^,;]*?)(?:[,;].*)?$"
)


def _tidy_name(text: str) -> str:
    """Name without the words that only say that it is one; ``Plug A`` stays, as both are said of it."""
    text = re.sub(r"(?<=\S)\s*\([^()]*\)$", "", text)  # "C1 Engine plug (grey, 6 way)"
    short = _TRAILING.sub("", _LEADING.sub("", text)).strip()
    return _TRAILING.sub("", text).strip() if len(short) == 1 and _PLUG.match(text) else short or text


_PLUG = re.compile(r"^(?:plug|stecker)\b", re.I)


def _title_name(heads: Sequence[HeadRow], head: HeadRow, segment: Sequence[HeadCell]) -> str:
    left, right = _span(segment)
    alone = (head.cells[0].column, head.cells[-1].column) == (left, right)
    inside = [text for column, text in sorted(head.titles.items()) if alone or left <= column <= right]
    if not inside:
        return ""
    text = " ".join(inside)
    if len(inside) == 2 and inside[0].casefold().rstrip(":") in ("connector", "conn", "plug", "ecu", "name", "stecker"):
        text = inside[1]
    several = not alone or len(heads) > 1
    if len(text) > 40 or text.endswith(".") or not any(c.isalnum() for c in text):
        return ""
    if text.casefold() in vocabulary().values["generic_sheets"]:
        return ""
    return _tidy_name(text) if several or _DESIGNATOR.search(text) else ""


# --- everything else --------------------------------------------------------------------------------


def _first_texts(rows: Rows) -> list[str]:
    """Texts of the first row that holds several."""
    for row in rows[:200]:
        texts = [text_of(v) or "" for v in row if isinstance(v, str)]
        if len(texts) >= 2:
            return texts[:12]
    return []


def _reasons(rows: Rows, regions: Sequence[Region], refused: dict[int, str]) -> dict[int, str]:
    """A reason for every row that holds something and is no data row of a region."""
    reasons: dict[int, str] = {}
    covered = bytearray(len(rows) + 1)
    for region in regions:
        title = FORMS[region.form].title.lower()
        for r in region.heading_rows:
            reasons.setdefault(r, refused.get(r, f"headings of the {title}"))
        first, last = region.first_row, min(region.last_row, len(rows))
        if last >= first:
            covered[first : last + 1] = b"\1" * (last - first + 1)
    for region in regions:
        for r, why in region.leave_out.items():
            reasons.setdefault(r, why)
    headings = sorted((region.first_row, FORMS[region.form].title.lower()) for region in regions)
    for i, row in enumerate(rows):
        r = i + 1
        if not covered[r] and r not in reasons and row.count(None) != len(row):
            reasons[r] = stray_reason(row, _near(r, headings))
    return reasons


def _near(row: int, headings: Sequence[tuple[int, str]]) -> str:
    if not headings:
        return ""
    at = bisect_right(headings, row, key=lambda heading: heading[0])
    return f"above the {headings[at][1]}" if at < len(headings) else f"below the {headings[-1][1]}"
