"""A table without headings, recognized by what its columns hold."""

from __future__ import annotations

import re
from collections.abc import Sequence

from harnessdrc.intake.recognition.regions import Layout, Rows, is_pin_like, text_of
from harnessdrc.tables.colours import parse_colour
from harnessdrc.units import NotUnderstoodError, UnitMissingError, parse_length, parse_size, size_sets

__all__ = ["headless_layout"]

_WIRE_NAME = re.compile(r"^[A-Za-z]{0,4}[-_ ]?\d{1,5}[A-Za-z]?$")
_WITH_PIN = re.compile(r"^\S.*[:]\s?[A-Za-z]{0,2}\d{0,3}[A-Za-z]?$")


def headless_layout(rows: Rows) -> tuple[Layout, int, int, tuple[int, int]] | None:
    """Columns of a sheet that has no headings, or None where they do not speak for themselves.

    A wire list needs two columns of ends and a column of colours or sizes, or pins written with the ends
    (``ECU:12``); a pin list needs a column of pins, each once, a column of text and one of colours.

    Returns
    -------
    tuple of (Layout, int, int, (int, int))
        The columns, the first and last one-based row, and the first and last sheet column.
    """
    body = [i for i, row in enumerate(rows) if len(row) - row.count(None) >= 3]
    for skip in (0, 1):  # the first row may hold headings that say nothing: column numbers
        found = _layout_of(rows, body[skip:])
        if found is not None:
            return found
    return None


def _layout_of(rows: Rows, body: Sequence[int]) -> tuple[Layout, int, int, tuple[int, int]] | None:
    if len(body) < 3:
        return None
    picked = body[:400]
    width = len(rows[body[0]])
    columns: dict[int, list[str]] = {}
    for j in range(width):
        texts = [t for t in (text_of(rows[i][j]) for i in picked) if t]
        if len(texts) * 2 >= len(picked):
            columns[j] = texts
    layout = _as_wires(columns, len(picked)) or _as_pins(columns, len(picked))
    if layout is None:
        return None
    span = (min(columns), max(columns))
    layout.headings = dict.fromkeys(layout.columns, "")
    for role, column in layout.columns.items():
        layout.decided.append(("no heading", role, "what the cells of the column hold", column))
    return layout, body[0] + 1, len(rows), span


def _share(texts: Sequence[str], yes: int) -> float:
    return yes / len(texts) if texts else 0.0


def _colours(texts: Sequence[str]) -> bool:
    words = [t for t in texts if any(c.isalpha() for c in t)]
    if len({t.casefold() for t in words}) < 2 and all(len(t) < 2 for t in words):
        return False  # one letter over and over is no colour
    return len(words) * 2 >= len(texts) and _share(texts, sum(1 for t in texts if parse_colour(t).codes)) >= 0.8


def _sizes(texts: Sequence[str]) -> bool:
    values: set[float] = set()
    good = 0
    for text in texts:
        try:
            parse_size(text, cores=True)
            good += 1
        except UnitMissingError as missing:
            values.add(missing.value)
        except NotUnderstoodError:
            pass
    if good >= 0.8 * len(texts):
        return True
    likely = all(v <= 120 for v in values) and size_sets(values)[0] is not None
    return bool(values) and likely and len(values) <= 12 and good + sum(_is_figure(t) for t in texts) >= len(texts)


def _is_figure(text: str) -> bool:
    return bool(re.match(r"^[\d.,]+$", text))


def _lengths(texts: Sequence[str]) -> bool:
    good = 0
    for text in texts:
        try:
            parse_length(text)
            good += 1
        except UnitMissingError:
            good += 1
        except NotUnderstoodError:
            pass
    return good >= 0.9 * len(texts)


def _has_letters(texts: Sequence[str]) -> bool:
    return _share(texts, sum(1 for t in texts if any(c.isalpha() for c in t))) >= 0.8


def _as_wires(columns: dict[int, list[str]], rows: int) -> Layout | None:
    """Columns of a wire list, from left to right."""
    out = Layout("wires")
    ends = _end_columns(columns)
    with_pins = len(ends) == 2 and any(_share(columns[e], sum(map(_has_pin, columns[e]))) >= 0.5 for e in ends)
    for j, texts in columns.items():
        distinct = len(set(texts))
        if j in ends:
            continue
        if "colour" not in out.columns and _colours(texts):
            out.columns["colour"] = j
        elif j - 1 in ends and _are_pins(texts):
            out.columns["from_cavity" if j - 1 == ends[0] else "to_cavity"] = j
        elif (
            "wire" not in out.columns
            and distinct == len(texts) >= rows * 0.9
            and all(_WIRE_NAME.match(t) for t in texts)
            and (not ends or j < ends[0])
        ):
            out.columns["wire"] = j
        elif "size" not in out.columns and _sizes(texts):
            out.columns["size"] = j
        elif "length_m" not in out.columns and "size" in out.columns and _lengths(texts):
            out.columns["length_m"] = j
        elif "signal" not in out.columns and _has_letters(texts):
            out.columns["signal"] = j
        elif "note" not in out.columns and _has_letters(texts):
            out.columns["note"] = j
        else:
            out.not_used[j] = ""
    if len(ends) < 2 or not ({"colour", "size"} & set(out.columns) or with_pins):
        return None
    out.columns["from_item"], out.columns["to_item"] = ends
    return out


def _end_columns(columns: dict[int, list[str]]) -> list[int]:
    """The two columns of ends: those with a column of pins behind them, else the first two of names."""
    names = [
        j
        for j, texts in columns.items()
        if _has_letters(texts) and not _colours(texts) and not _sizes(texts) and not _lengths(texts)
    ]
    lead = columns[names[0]] if len(names) > 2 else []
    if lead and len(set(lead)) == len(lead) and all(_WIRE_NAME.match(t) for t in lead):
        names = names[1:]  # names of the wires
    before_pins = [j for j in names if j + 1 in columns and _are_pins(columns[j + 1]) and j + 1 not in names[:1]]
    before_pins = [j for j in before_pins if not (j - 1 in before_pins and _are_pins(columns[j]))]
    return before_pins[:2] if len(before_pins) >= 2 else names[:2]


def _has_pin(text: str) -> bool:
    return bool(_WITH_PIN.match(text))


def _are_pins(texts: Sequence[str]) -> bool:
    """Whether a column behind an end holds its pins, and no sizes and no other ends."""
    if _is_end(texts) or any("." in t or "," in t for t in texts):
        return False
    return sum(map(is_pin_like, texts)) >= 0.8 * len(texts)


def _is_end(texts: Sequence[str]) -> bool:
    """Whether short texts are names of ends (X1, X2, often) and not pins."""
    lettered = sum(1 for t in texts if t[:1].isalpha() and len(t) > 1 and any(c.isdecimal() for c in t))
    return lettered >= 0.8 * len(texts) and len(set(texts)) <= 0.5 * len(texts)


def _as_pins(columns: dict[int, list[str]], rows: int) -> Layout | None:
    out = Layout("pins", "pins")
    for j, texts in columns.items():
        distinct = len(set(texts))
        if "cavity" not in out.columns and distinct == len(texts) >= rows * 0.9 and all(map(is_pin_like, texts)):
            out.columns["cavity"] = j
        elif "colour" not in out.columns and _colours(texts):
            out.columns["colour"] = j
        elif "signal" not in out.columns and _has_letters(texts):
            out.columns["signal"] = j
        elif "size" not in out.columns and _sizes(texts):
            out.columns["size"] = j
        else:
            out.not_used[j] = ""
    return out if {"cavity", "colour", "signal"} <= set(out.columns) else None
