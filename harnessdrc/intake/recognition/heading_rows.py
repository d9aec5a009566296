"""Heading rows of a sheet, one or two rows deep, and the tables side by side below them."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from functools import cache
from typing import Any

from harnessdrc.intake.recognition.context import in_context, points_under_a_title
from harnessdrc.intake.recognition.head_cells import HeadCell, HeadRow
from harnessdrc.intake.recognition.headings import (
    Heading,
    heading_key,
    heading_unit,
    match_heading,
    nearest_heading,
    vocabulary,
)
from harnessdrc.intake.recognition.regions import Rows, text_of

__all__ = ["HeadCell", "HeadRow", "find_heading_rows", "head_row_at", "split_side_by_side"]


_WORD = re.compile(r"[^\W\d_]+")


@cache
def _tokens() -> frozenset[str]:
    words = vocabulary()
    return frozenset(t for key in (*words.concepts, *words.sides, *_point_names()) for t in key.split())


@cache
def _point_names() -> frozenset[str]:
    """Keys of the headings that name points in a list of coordinates."""
    return frozenset(key for key, column in vocabulary().within["points"].items() if column == "point")


def _worth_a_look(text: str) -> bool:
    """Whether any word of a text is in the vocabulary; keeps names of wires out cheaply."""
    if len(text) > 60 or text.isdecimal():
        return False
    lowered = text.lower()
    tokens = _tokens()
    if not tokens.isdisjoint(lowered.split()):
        return True
    if lowered.isascii() and lowered.isalnum():
        return lowered.rstrip("12") in tokens
    return not tokens.isdisjoint(_WORD.findall(lowered)) or (
        not lowered.isascii() and not tokens.isdisjoint(heading_key(text)[0].split())
    )


def _heading_texts(rows: Rows) -> dict[str, Heading]:
    """Distinct texts of a sheet that are known headings."""
    known: dict[str, Heading] = {}
    for value in set().union(*rows) if rows else ():
        if isinstance(value, str) and _worth_a_look(value):
            heading = match_heading(value)
            if heading.concepts or heading.key in _point_names():
                known[value] = heading
    return known


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


_WORDS_IN_PAIRS = (
    (("da", "de", "desde"), ("a", "à")),  # Italian, French and Spanish for from and to
    (("start", "begin", "beginning"), ("end", "finish", "stop")),
)
"""Words that mean the other end of the wire only beside those that mean the first."""


def _cells_of(rows: Rows, index: int) -> list[HeadCell]:
    cells = [
        HeadCell(j, index + 1, match_heading(text_of(value) or ""))
        for j, value in enumerate(rows[index])
        if value is not None
    ]
    for leads, follows in _WORDS_IN_PAIRS:
        if any(c.heading.key in leads for c in cells):
            cells = [
                replace(c, heading=replace(c.heading, concepts=("item",), side="to", unit=""))
                if c.heading.written.casefold().strip(" :") in follows
                else c
                for c in cells
            ]
    return in_context(cells)


def head_row_at(rows: Rows, index: int) -> HeadRow:
    """Headings of one row (zero-based) taken as a heading row, whatever it holds."""
    return HeadRow((index + 1,), tuple(_cells_of(rows, index)))


def _plausible(cells: Sequence[HeadCell], row: Sequence[Any]) -> bool:
    """Whether a row reads as headings: enough known words, few numbers."""
    filled = [v for v in row if v is not None]
    if not filled:
        return False
    known = sum(1 for c in cells if c.heading.concepts and not c.heading.qualifier)
    loose = sum(1 for c in cells if c.heading.concepts)
    numbers = sum(1 for v in filled if _is_number(v))
    if numbers * 2 > len(filled):
        return False
    if loose >= 2 and known >= 1 and loose * 2 >= len(filled):
        return True
    return known >= 3 and known * 10 >= len(filled) * 3


def find_heading_rows(
    rows: Rows, merged: Iterable[tuple[int, int, int, int]], fits: Callable[[Sequence[HeadCell]], bool]
) -> list[HeadRow]:
    """Heading rows from the top down.

    Parameters
    ----------
    rows : Rows
        The sheet.
    merged : iterable of (top, left, bottom, right)
        Merged cells, rows one-based.
    fits : callable
        Whether some headings can head a table at all.
    """
    known = frozenset(_heading_texts(rows))
    across = {(top, left): right for top, left, _bottom, right in merged if right > left}
    found: list[HeadRow] = []
    skip_to = 0
    for i, row in enumerate(rows):
        if i < skip_to or known.isdisjoint(row):
            continue
        single = _cells_of(rows, i)
        head: HeadRow | None = None
        if _plausible(single, row):
            head = HeadRow((i + 1,), tuple(single))
            if not fits(single):
                head = None
        if i + 1 < len(rows):
            pair = points_under_a_title(rows, i) or _joined(rows, i, across)
            if pair is not None and fits(pair.cells) and (head is None or pair.known > head.known):
                head = pair
        if head is None:
            continue
        if found and _inside(found[-1], head) and not _may_follow(rows, found[-1], head):
            continue
        if len(head.rows) == 1 and _is_title_of_next(rows, i, head, fits):
            continue
        head = _with_units_row(rows, head)
        head = replace(head, cells=_without_typos(head.cells))
        if not head.titles:
            titles, title_row = _titles_above(rows, head)
            head = replace(head, titles=titles, title_row=title_row)
        found.append(head)
        skip_to = head.rows[-1]
    return found


def _inside(above: HeadRow, head: HeadRow) -> bool:
    """Whether a row lies under the headings of another, so that it might be a data row."""
    columns = {c.column for c in above.cells}
    return all(c.column in columns for c in head.cells)


def _may_follow(rows: Rows, above: HeadRow, head: HeadRow) -> bool:
    """Whether a row under the headings of a table heads another one, and is no row of it."""
    if any(c.heading.concepts[:1] == ("part",) for c in above.cells):
        # the rows of a parts table are full of words that head other tables: terminal, seal, socket
        empty = all(v is None for v in rows[head.rows[0] - 2])
        return _repeats(above, head) or (empty and head.known >= 3)
    if head.known >= 3 or _repeats(above, head):
        return True
    if not all(c.heading.concepts and not c.heading.qualifier for c in head.cells):
        return False
    before = rows[head.rows[0] - 2]
    apart = len(before) - before.count(None) <= 1
    return apart or above.known < len(above.cells)


def _repeats(above: HeadRow, head: HeadRow) -> bool:
    """Whether a row says what the headings above it say, column by column."""
    keys = {c.column: c.heading.key for c in above.cells}
    return all(keys.get(c.column) == c.heading.key for c in head.cells)


def _is_title_of_next(rows: Rows, i: int, head: HeadRow, fits: Callable[[Sequence[HeadCell]], bool]) -> bool:
    """Whether the row below is the fuller heading row, so that this one only names its groups."""
    if i + 1 >= len(rows):
        return False
    below = _cells_of(rows, i + 1)
    known = sum(1 for c in below if c.heading.concepts)
    return known > head.known and _plausible(below, rows[i + 1]) and fits(below)


def _joined(rows: Rows, i: int, across: dict[tuple[int, int], int]) -> HeadRow | None:
    """Headings of two rows joined: "From" over "Connector" and "Pin"."""
    upper, lower = rows[i], rows[i + 1]
    # "[mm]" under "Length" is the unit of that heading, no heading
    units = {
        j: unit
        for j, value in enumerate(lower)
        if isinstance(value, str) and upper[j] is not None and (unit := heading_unit(value))
    }
    lower_cells = [c for c in _cells_of(rows, i + 1) if c.column not in units]
    if not lower_cells or any(_is_number(c) for c in lower):
        return None
    if sum(1 for c in lower_cells if c.heading.concepts) < max(1, 0.7 * len(lower_cells)):
        return None
    group: dict[int, str] = {}
    current, until = "", -1
    for j in range(len(upper)):
        if upper[j] is not None and not _is_number(upper[j]):
            current = text_of(upper[j]) or ""
            until = across.get((i + 1, j), len(upper))
        if current and j <= until:
            group[j] = current
    if not group:
        return None
    below = {c.column: c for c in lower_cells}
    cells: list[HeadCell] = []
    titles: dict[int, str] = {}
    sided = 0
    for j in range(len(upper)):
        if j in below:
            cell = below[j]
            over = group.get(j, "")
            if over and upper[j] == lower[j]:  # merged down both rows
                cells.append(cell)
                continue
            both = match_heading(f"{over} {cell.heading.written}") if over else cell.heading
            if over and both.side and not cell.heading.side:
                cells.append(HeadCell(j, i + 2, replace(both, written=f"{over} {cell.heading.written}")))
                sided += 1
            else:
                cells.append(cell)
                if over and not match_heading(over).concepts and (j == 0 or group.get(j - 1) != over):
                    titles[j] = over
        elif upper[j] is not None:
            heading = match_heading(text_of(upper[j]) or "")
            if j in units:
                heading = replace(heading, unit=units[j], soft=False)
            cells.append(HeadCell(j, i + 1, heading))
    # "From" and "To" stand beside headings of the wire itself, two pin lists do not
    both_ends = {c.heading.side for c in cells} >= {"from", "to"} and any(c.row == i + 1 for c in cells)
    attributes = [c.heading.concepts[0] for c in lower_cells if c.heading.concepts and not c.heading.side]
    if not both_ends and any(attributes.count(a) > 1 for a in ("signal", "colour", "wire", "note")):
        return None  # each group has its own signals: pin lists side by side, not the two ends of wires
    if not sided and not any(c.row == i + 1 for c in cells):
        return None  # the upper row adds nothing: it is a title, found on its own
    if not sided and not all(c.heading.concepts for c in cells if c.row == i + 1):
        return None
    return HeadRow((i + 1, i + 2), tuple(cells), titles)


def _with_units_row(rows: Rows, head: HeadRow) -> HeadRow:
    """Headings with the units of a row of nothing but units below them."""
    below = head.rows[-1]
    if below >= len(rows):
        return head
    units = {j: heading_unit(str(v)) for j, v in enumerate(rows[below]) if v is not None}
    if not units or not all(units.values()):
        return head
    cells = tuple(
        replace(c, heading=replace(c.heading, unit=units[c.column], soft=False)) if units.get(c.column) else c
        for c in head.cells
    )
    return replace(head, rows=(*head.rows, below + 1), cells=cells)


def _without_typos(cells: Sequence[HeadCell]) -> tuple[HeadCell, ...]:
    """Unknown headings taken for the known spelling they are clearly nearest to."""
    taken = {(c.heading.concepts[0], c.heading.side) for c in cells if c.heading.concepts}
    out: list[HeadCell] = []
    for cell in cells:
        if not cell.heading.concepts:
            near = nearest_heading(cell.heading.written)
            if near is not None and near.concepts and (near.concepts[0], near.side) not in taken:
                cell = replace(cell, heading=near, typo_of=near.key)
        out.append(cell)
    return tuple(out)


def _titles_above(rows: Rows, head: HeadRow) -> tuple[dict[int, str], int]:
    """Lone texts in the row above the headings, the names of the connectors below them, and that row."""
    top = head.rows[0] - 1
    for i in range(top - 1, max(top - 3, -1), -1):
        filled = {j: v for j, v in enumerate(rows[i]) if v is not None}
        if not filled:
            continue
        texts = {j: text_of(v) or "" for j, v in filled.items() if isinstance(v, str)}
        if i < top - 1 and i > 0 and any(v is not None for v in rows[i - 1]):
            return {}, 0  # the last row of what stands above, parted from these headings by an empty row
        if len(texts) < len(filled) or len(filled) > max(1, len(head.cells) // 2):
            return {}, 0
        if any(len(text) > 40 or text.isdecimal() for text in texts.values()):
            return {}, 0
        return texts, i + 1
    return {}, 0


# --- side by side -----------------------------------------------------------------------------------


def split_side_by_side(
    cells: Sequence[HeadCell],
    valid: Callable[[Sequence[HeadCell]], bool],
    complete: Callable[[Sequence[HeadCell]], bool] = lambda cells: False,
) -> list[list[HeadCell]]:
    """Headings cut into the tables that stand side by side.

    A cut is made at an empty column where both parts can head a table, and where the first heading comes
    again and both parts can ("Pin, Signal, Pin, Signal"). A short list that is `complete` is cut off at the
    empty column whatever stands beside it.
    """
    out: list[list[HeadCell]] = []
    start = 0
    for p in range(1, len(cells)):
        gap = cells[p].column - cells[p - 1].column > 1
        if not gap and not _same(cells[p], cells[start]):
            continue
        if not gap and _only_other_end(cells, start, p):
            continue
        left, right = list(cells[start:p]), cells[p : p + _WIDEST]
        another = gap and complete(left) and sum(1 for c in right if c.heading.concepts) > 1
        if another or (valid(left) and valid(right)):
            out.append(left)
            start = p
    out.append(list(cells[start:]))
    return out


def _only_other_end(cells: Sequence[HeadCell], start: int, p: int) -> bool:
    """Whether headings that come again right beside the first only give the other end of the same rows.

    "Connector, Pin, Function, Colour, Connector, Pin, Colour": the other half has no signal of its own.
    """
    said = [c.heading.concepts[0] for c in cells[start:p] if c.heading.concepts]
    again = [c.heading.concepts[0] for c in cells[p:] if c.heading.concepts]
    return "connector" in said and "signal" in said and "connector" in again and "signal" not in again


_WIDEST = 60  # headings looked at to the right of a cut; no table has more


def _same(a: HeadCell, b: HeadCell) -> bool:
    one, other = a.heading, b.heading
    return bool(one.concepts) and (one.key, one.side, one.qualifier) == (other.key, other.side, other.qualifier)
