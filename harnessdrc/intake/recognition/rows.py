"""Rows under the headings that are not data: legends, notes, totals, drawings, banners."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Mapping, Sequence
from operator import itemgetter
from typing import Any

from harnessdrc.intake.recognition.headings import vocabulary
from harnessdrc.intake.recognition.regions import Layout, Rows, is_pin_like, text_of
from harnessdrc.tables.colours import parse_colour
from harnessdrc.tables.columns import FORMS
from harnessdrc.units import is_placeholder

__all__ = ["blocks_of", "codes_from", "fill_forward", "names_both_ends", "rows_to_leave_out", "stray_reason"]

_KEYS = {name: next(c.name for c in form.columns if c.needed) for name, form in FORMS.items()}


def blocks_of(rows: Rows, first: int, last: int, left: int, right: int) -> list[list[int]]:
    """Runs of rows that hold something between two columns, one-based, separated by empty ones."""
    width = right - left + 1
    blocks: list[list[int]] = []
    current: list[int] = []
    for r in range(first, last + 1):
        if rows[r - 1][left : right + 1].count(None) == width:
            if current:
                blocks.append(current)
                current = []
        else:
            current.append(r)
    if current:
        blocks.append(current)
    return blocks


def rows_to_leave_out(
    layout: Layout, rows: Rows, blocks: Sequence[Sequence[int]], left: int, right: int, fill: Collection[str]
) -> tuple[dict[int, str], dict[str, str]]:
    """Rows that are not data with the reason, and the location codes that a legend explains.

    Parameters
    ----------
    layout : Layout
        Columns of the table.
    rows : Rows
        The sheet.
    blocks : sequence of sequence of int
        From `blocks_of`.
    left, right : int
        First and last sheet column of the table.
    fill : collection of str
        Roles whose empty cells take the value above.
    """
    reasons: dict[int, str] = {}
    codes = _legends(layout, rows, blocks, left, right, reasons)
    values = vocabulary().values
    quick = _sure_columns(layout)
    for number, block in enumerate(blocks):
        filled = [r for r in block if r not in reasons]
        if not filled:
            continue
        title = _lone_text(rows[filled[0] - 1], left, right)
        if title and title.casefold().rstrip(":") in values["legend_titles"]:
            reasons.update(dict.fromkeys(filled, f"{title.rstrip(':').lower()} beside the {_title(layout)}"))
            continue
        if number and _is_drawing(layout, rows, filled, left, right):
            reasons.update(dict.fromkeys(filled, "numbers in a grid: a drawing of a connector's face"))
            continue
        for r in filled:
            if quick is not None and None not in quick(rows[r - 1]):
                continue
            reason = _row_reason(layout, rows[r - 1], left, right, fill)
            if reason:
                reasons[r] = reason
        if number:
            _stray_block(layout, rows, [r for r in filled if r not in reasons], left, right, reasons)
    return reasons, codes


def _sure_columns(layout: Layout) -> Callable[[Sequence[Any]], tuple[Any, ...]] | None:
    """Cells that, all filled in, make a row one of the table beyond doubt; None where there are too few."""
    roles = {
        "wires": ("from_item", "to_item", "colour" if "colour" in layout.columns else "size"),
        "pins": ("cavity", "signal"),
    }.get(layout.form, ())
    columns = [layout.columns[role] for role in roles if role in layout.columns]
    return itemgetter(*columns) if roles and len(columns) == len(roles) else None


def _title(layout: Layout) -> str:
    return FORMS[layout.form].title.lower()


def _lone_text(row: Sequence[Any], left: int, right: int) -> str:
    """Text of a row that holds nothing else, else empty."""
    cells = [v for v in row[left : right + 1] if v is not None]
    return (text_of(cells[0]) or "") if len(cells) == 1 and isinstance(cells[0], str) else ""


def _has(layout: Layout, row: Sequence[Any], role: str, fill: Collection[str] = ()) -> bool:
    column = layout.columns.get(role)
    return (column is not None and row[column] is not None) or role in layout.names or role in fill


_NAMED_ALONE = ("branches", "points")
"""Forms in which a row with a name and little else is a row that lacks something, no text beside the table."""


def _row_reason(layout: Layout, row: Sequence[Any], left: int, right: int, fill: Collection[str]) -> str:
    """Why a row is not data, empty when it is."""
    cells = row[left : right + 1]
    count = len(cells) - cells.count(None)
    if layout.layout == "device columns":
        return "" if any(row[c] is not None for c in layout.devices.values()) else "no pin under any device"
    columns = layout.columns
    if layout.form == "wires":
        both = all(row[columns[s]] is not None for s in ("from_item", "to_item") if s in columns)
        if both and count >= 2 and count - ("wire" in columns and row[columns["wire"]] is not None) >= 2:
            return ""
    elif layout.form == "pins" and "cavity" in columns and row[columns["cavity"]] is not None and count >= 2:
        return ""
    used = sum(1 for c in {*columns.values()} if row[c] is not None)
    if not used:
        return "nothing in the columns that are read"
    first = next((text_of(v) or "" for v in cells if v is not None), "")
    if first.casefold().rstrip(":") in vocabulary().values["totals"]:
        return "a total"
    if layout.form == "wires":
        return _wire_reason(layout, row, count, len(columns), fill)
    if layout.form == "pins":
        return _pin_reason(layout, row, count, len(columns), fill)
    key = _KEYS[layout.form]
    named = row[columns.get(key, left)]
    if layout.form in _NAMED_ALONE and isinstance(named, str) and len(named.split()) == 1:
        return ""
    if count == 1 and len(columns) > 2 and not isinstance(named, (int, float)):
        return "a line of text, not a row of the table"
    return "" if _has(layout, row, key, fill) else f"no {FORMS[layout.form].one} named"


def _wire_reason(layout: Layout, row: Sequence[Any], count: int, width: int, fill: Collection[str]) -> str:
    ends = sum(_has(layout, row, f"{side}_item") or _has(layout, row, f"{side}_cavity") for side in ("from", "to"))
    if count == 1 and width > 2:
        return "a line of text, not a row of the table"
    ends = max(ends, sum(_has(layout, row, f"{side}_item", fill) for side in ("from", "to")))
    if ends == 0 and not (_has(layout, row, "wire") and count >= 3):
        return "neither end of a wire is given"
    return ""


def _pin_reason(layout: Layout, row: Sequence[Any], count: int, width: int, fill: Collection[str]) -> str:
    columns = layout.columns
    cavity = columns.get("cavity")
    if cavity is not None and row[cavity] is not None:
        text = text_of(row[cavity]) or ""
        if count == 1 and width > 1 and not is_pin_like(text) and " " in text:
            return "a line of text, not a row of the table"
        return ""
    if count == 1 and width > 1:
        return "a line of text, not a row of the table"
    if layout.layout == "pins and destinations" and _has(layout, row, "to_item") and count >= 2:
        return ""
    if cavity is None and _has(layout, row, "connector", fill):
        return ""
    return "no pin is given"


def _stray_block(
    layout: Layout, rows: Rows, block: Sequence[int], left: int, right: int, reasons: dict[int, str]
) -> None:
    """Set a later block aside in which no row reads as one of the table: notes in two columns."""
    if layout.form != "wires" or not block:
        return
    for r in block:
        row = rows[r - 1]
        cells = row[left : right + 1]
        both = _has(layout, row, "from_item") and _has(layout, row, "to_item")
        if both or len(cells) - cells.count(None) > 2:
            return
    reasons.update(dict.fromkeys(block, "below the wire list: text in two columns, no row with both ends"))


def _is_drawing(layout: Layout, rows: Rows, block: Sequence[int], left: int, right: int) -> bool:
    """Whether a block is nothing but numbers side by side, where the table has text."""
    if len(block) < 2 or len(layout.columns) < 2 or layout.form == "points":
        return False
    widest = 0
    for r in block:
        cells = [v for v in rows[r - 1][left : right + 1] if v is not None]
        if not all(isinstance(v, (int, float)) or (isinstance(v, str) and v.strip().isdecimal()) for v in cells):
            return False
        widest = max(widest, len(cells))
    return widest >= 3


# --- legends ----------------------------------------------------------------------------------------


def _legends(
    layout: Layout, rows: Rows, blocks: Sequence[Sequence[int]], left: int, right: int, reasons: dict[int, str]
) -> dict[str, str]:
    """Set legends aside; returns location codes with their meaning."""
    codes: dict[str, str] = {}
    flat = [r for block in blocks for r in block]
    for run in (_pair_run(rows, reversed(flat), left, right), _pair_run(rows, iter(flat), left, right)):
        if len(run) < 3 or run[0][0] in reasons:
            continue
        found = _code_legend(layout, run)
        if found:
            codes.update(found)
            reasons.update(dict.fromkeys((r for r, *_ in run), "a legend of location codes"))
    width = right - left + 1
    pairs: list[int] = []
    for block in blocks:
        for r in block:
            cells = rows[r - 1][left : right + 1]
            if width - cells.count(None) == 2:
                a, b = (text_of(v) or "" for v in cells if v is not None)
                codes_a, codes_b = parse_colour(a).codes, parse_colour(b).codes
                if codes_a and codes_a == codes_b and a.casefold() != b.casefold():
                    pairs.append(r)
    if len(pairs) >= 2:
        reasons.update(dict.fromkeys(pairs, "a key of colours"))
    return codes


def _pair_run(rows: Rows, order: Any, left: int, right: int) -> list[tuple[int, int, int, str, str]]:
    """Rows from one end of the table that hold two cells in the same two columns."""
    run: list[tuple[int, int, int, str, str]] = []
    for r in order:
        cells = rows[r - 1][left : right + 1]
        if len(cells) - cells.count(None) != 2:
            break
        a, b = (j for j, v in enumerate(cells) if v is not None)
        if run and (run[0][1], run[0][2]) != (left + a, left + b):
            break
        run.append((r, left + a, left + b, text_of(cells[a]) or "", text_of(cells[b]) or ""))
    return run


def _code_legend(layout: Layout, run: Sequence[tuple[int, int, int, str, str]]) -> dict[str, str]:
    """Codes of a run of pairs, or nothing where the pairs are data."""
    columns = layout.columns
    pair = {run[0][1], run[0][2]}
    if columns.get("cavity") in pair or layout.form in _NAMED_ALONE:
        return {}
    if {columns.get("from_item"), columns.get("to_item")} == pair:
        return {}
    first, second = [r[3] for r in run], [r[4] for r in run]
    for keys, words in ((first, second), (second, first)):
        distinct = len(set(keys)) == len(keys) and len(set(words)) == len(words)
        if distinct and all(k.isdecimal() for k in keys) and all(any(c.isalpha() for c in w) for w in words):
            return dict(zip(keys, words, strict=True))
    return {}


# --- filling forward --------------------------------------------------------------------------------


def fill_forward(layout: Layout, rows: Rows, data: Sequence[int]) -> frozenset[str]:
    """Roles whose empty cells stand for the value above: connectors, nets, grouped ends.

    Parameters
    ----------
    layout : Layout
        Columns of the table.
    rows : Rows
        The sheet.
    data : sequence of int
        One-based rows of the table that hold something.
    """
    fill: set[str] = set()
    columns = layout.columns
    if layout.form == "pins":
        candidates: tuple[tuple[str, tuple[str, ...]], ...] = (
            ("connector", ("cavity",)),
        )  # fmt: skip
        if layout.layout == "nets":
            candidates += (("signal", ("cavity",)),)
        elif layout.layout == "pins" and _names_wires_twice(layout, rows, data):
            layout.layout = "nets"
        elif _is_net_column(layout, rows, data):
            candidates += ((_lead_role(layout), ("cavity",)),)
            layout.layout = "nets"
    elif layout.form == "wires":
        candidates = (("from_item", ("to_item", "from_cavity")),)
        if "to_cavity" in columns:
            candidates += (("to_item", ("from_item", "to_cavity")),)
    else:
        return frozenset()
    loose = layout.form == "pins"
    for role, beside in candidates:
        others = [columns[b] for b in beside if b in columns]
        if role in columns and _mostly_blank(columns[role], others, rows, data, loose=loose):
            fill.add(role)
    if {"from_item", "to_item"} <= fill:
        fill.discard("to_item")
    if "connector" in fill and "component" in columns:
        connector, component = columns["connector"], columns["component"]
        if all((rows[r - 1][connector] is None) == (rows[r - 1][component] is None) for r in data):
            fill.add("component")
    return frozenset(fill)


def _mostly_blank(column: int, beside: Sequence[int], rows: Rows, data: Sequence[int], *, loose: bool) -> bool:
    """Whether a column is left empty in groups: filled in the first row, empty in a quarter or more.

    With `loose`, single gaps between two equal values are groups too; at the end of a wire such a gap is
    more likely a fault, which must stay one.
    """
    if len(data) < 2 or rows[data[0] - 1][column] is None or not beside:
        return False
    if not any(rows[r - 1][column] is None for r in data):
        return False
    blank = gaps_within = 0
    rest = 0
    for r in data:
        row = rows[r - 1]
        if any(row[b] is None for b in beside):
            continue
        rest += 1
        if row[column] is None:
            blank += 1
    if not blank:
        return False
    before: Any = None
    for k, r in enumerate(data):
        value = rows[r - 1][column]
        if value is not None:
            before = value
        else:
            after = next((rows[q - 1][column] for q in data[k + 1 : k + 400] if rows[q - 1][column] is not None), None)
            gaps_within += after is not None and after == before
            if k > 2000:
                break
    return (blank * 4 >= rest and (loose or blank > 1)) or (loose and gaps_within >= blank)


def _lead_role(layout: Layout) -> str:
    return min(("signal", "wire"), key=lambda role: layout.columns.get(role, 10**6))


def names_both_ends(wires: Sequence[str | None]) -> bool:
    """Whether a list names most of its wires twice: once at each end."""
    counts = Counter(wire for wire in wires if wire is not None and not is_placeholder(wire))
    return sum(1 for n in counts.values() if n == 2) * 10 >= len(counts) * 6 and bool(counts)


def _names_wires_twice(layout: Layout, rows: Rows, data: Sequence[int]) -> bool:
    """Whether the list has each wire twice, at the pin of either end."""
    column = layout.columns.get("wire")
    if column is None or ("connector" not in layout.columns and "connector" not in layout.names):
        return False
    return names_both_ends([text_of(rows[r - 1][column]) for r in data])


def _is_net_column(layout: Layout, rows: Rows, data: Sequence[int]) -> bool:
    """Whether the signal leads groups of pins of different connectors: a net with its pins below it."""
    columns = layout.columns
    role = _lead_role(layout)
    if role not in columns or "connector" not in columns or "cavity" not in columns:
        return False
    lead, connector, cavity = columns[role], columns["connector"], columns["cavity"]
    if lead > min(connector, cavity) or not data or rows[data[0] - 1][lead] is None:
        return False
    blank = changed = 0
    above: Any = None
    for r in data:
        row = rows[r - 1]
        if row[lead] is None and row[connector] is not None and row[cavity] is not None:
            blank += 1
            changed += row[connector] != above
        above = row[connector]
    return blank >= 2 and blank * 3 >= len(data) and changed * 2 >= blank


# --- rows outside of every table --------------------------------------------------------------------


def stray_reason(row: Sequence[Any], near: str) -> str:
    """Why a row outside of every table is set aside.

    Parameters
    ----------
    row : sequence
        The row.
    near : str
        Where it stands: ``above the wire list``; empty when the sheet has no table.
    """
    cells = [v for v in row if v is not None]
    where = f" {near}" if near else ""
    if len(cells) == 1 and isinstance(cells[0], str):
        return f"a line of text{where}"
    numbers = sum(1 for v in cells if isinstance(v, (int, float)) or (isinstance(v, str) and v.strip().isdecimal()))
    if len(cells) >= 2 and numbers == len(cells):
        return f"numbers without headings{where}: a drawing of a connector's face, or a calculation"
    if near.startswith("above"):
        return f"text{where}"
    return f"no headings over it{where}" if near else "no table was recognized on this sheet"


def codes_from(mapping: Mapping[str, str], text: str) -> str:
    """Meaning of a location code, or of several (``3,6``, ``7 or 8``), by a legend; other texts as they are."""
    parts = [p for p in text.replace(" or ", ",").replace("/", ",").replace(" ", "").split(",") if p]
    between = " or " if " or " in text else ", "
    return between.join(mapping[p] for p in parts) if parts and all(p in mapping for p in parts) else text
