"""Frames of wires: ends, colours, sizes, and one row per conductor."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from harnessdrc.intake.normalizing.colours import Colours, read_colours
from harnessdrc.intake.normalizing.cores import settle_cores
from harnessdrc.intake.normalizing.destinations import SEPARATED, several_ends
from harnessdrc.intake.normalizing.ends import split_ends
from harnessdrc.intake.normalizing.fixed_words import read_words
from harnessdrc.intake.normalizing.frames import FRAME_COLUMNS, frame_of, table_of
from harnessdrc.intake.normalizing.groups import read_groups
from harnessdrc.intake.normalizing.values import Columns, Texts
from harnessdrc.intake.recognition.headings import vocabulary
from harnessdrc.intake.recognition.regions import ARROW
from harnessdrc.intake.recognition.rows import codes_from
from harnessdrc.tables.model import Table
from harnessdrc.units import is_placeholder

__all__ = ["End", "Ends", "ends_as_text", "read_end", "unused_word", "wire_attributes", "wires_table"]

_NAMES = frozenset(FRAME_COLUMNS["wires"])
_SAYS_PINS = re.compile(r"\b(?:pin|cav|cavity|terminal|klemme|broche)\b", re.I)
_RESERVED = re.compile(r"\breserved\b", re.I)


End = tuple[str | None, str | None]
"""Item and cavity."""


@dataclass(slots=True)
class Ends:
    """One end of every data row: item, cavity, and whether the wire is left open there.

    Rows that name several ends stand in `several` with all of them, the first of which is that of the row.
    """

    items: Texts
    cavities: Texts
    open: list[bool]
    several: dict[int, tuple[End, ...]] = field(default_factory=dict)

    def all(self, index: int) -> tuple[End, ...]:
        """All ends of one row."""
        return self.several.get(index) or ((self.items[index], self.cavities[index]),)


def unused_word(text: str | None) -> bool:
    """Whether a text says that nothing is connected: ``N/C``, ``spare``, ``reserved``, ``--``."""
    return text is not None and (text.casefold() in vocabulary().values["unused"] or bool(_RESERVED.search(text)))


def read_end(columns: Columns, side: str, *, item_role: str = "", split: bool = True) -> Ends:
    """Items and cavities of one end.

    Parameters
    ----------
    columns : Columns
        The region.
    side : {"from", "to"}
        Which end.
    item_role : str, optional
        Role of the item where it isn't ``from_item`` or ``to_item``.
    split : bool
        Whether item and cavity in one cell are taken apart.
    """
    role = item_role or f"{side}_item"
    items = _side_of_arrow(columns, side) or columns.texts(role, names=True)
    cavities = columns.texts(f"{side}_cavity", names=True, placeholders=True)
    connectors = columns.texts(f"{side}_connector", names=True, placeholders=True)
    if any(connectors):
        items = _with_connectors(columns, side, items, connectors)
    if columns.region.codes and role in columns.region.columns and f"{side}_code" not in columns.region.columns:
        items = [None if t is None else codes_from(columns.region.codes, t) for t in items]
    open_words = vocabulary().values["open_end"]
    leads_nowhere = {t for t in set(items) if t is not None and (t.casefold() in open_words or unused_word(t))}
    leads_nowhere = {t for t in leads_nowhere if not is_placeholder(t) and not _RESERVED.search(t)}
    # what has a cavity is something, whatever its name: a float switch called FLOAT
    is_open = [t in leads_nowhere and cavity is None for t, cavity in zip(items, cavities, strict=True)]
    placeholders = {t for t in set(items) if t is not None and is_placeholder(t)}
    if placeholders:
        items = [None if t in placeholders else t for t in items]
    items = [None if flag else t for t, flag in zip(items, is_open, strict=True)]
    several: dict[int, tuple[End, ...]] = {}
    if split:
        named = _several_ends(columns, role, items, cavities)
        several = {i: named[t] for i, t in enumerate(items) if t in named and cavities[i] is None} if named else {}
        if several:
            items = [several[i][0][0] if i in several else t for i, t in enumerate(items)]
            cavities = [several[i][0][1] if i in several else t for i, t in enumerate(cavities)]
        items, cavities = _split(columns, role, f"{side}_cavity", items, cavities)
    return Ends(items, cavities, is_open, several)


def _side_of_arrow(columns: Columns, side: str) -> Texts | None:
    """Items of one side where both ends stand in one column: ``ECU 12 -> TPS 3``; else None."""
    both = columns.region.columns
    if side not in ("from", "to") or both.get("from_item", -1) != both.get("to_item", -2):
        return None
    out: Texts = []
    for text in columns.texts("from_item", names=True):
        match = ARROW.match(text) if text is not None else None
        if match is None:
            out.append(text if side == "from" else None)
        else:
            out.append(match["one"] if side == "from" else match["other"])
    return out


def _several_ends(columns: Columns, role: str, items: Texts, cavities: Texts) -> dict[str, tuple[End, ...]]:
    """Texts that name several ends, with item and cavity of each."""
    likely = {t for t, c in zip(items, cavities, strict=True) if t is not None and c is None and SEPARATED.search(t)}
    if not likely:
        return {}
    known = {t for name in ("from_item", "to_item", "connector") for t in columns.texts(name, names=True) if t}
    known |= {item for item, _ in split_ends(known).values()} | set(columns.region.codes.values())
    named = several_ends(likely, known)
    if named:
        where = [i for i, t in enumerate(items) if t in named]
        shown = items[where[0]] or ""
        columns.assume("end", shown, " and ".join(named[shown]), "several ends in one cell",
                       columns.place(role, where[0]), len(where))  # fmt: skip
    parts = split_ends({end for ends in named.values() for end in ends})
    return {text: tuple(parts.get(end, (end, None)) for end in ends) for text, ends in named.items()}


def _with_connectors(columns: Columns, side: str, items: Texts, connectors: Texts) -> Texts:
    """Items named by device and connector, where a device has several connectors."""
    several: dict[str, set[str]] = {}
    for item, connector in zip(items, connectors, strict=True):
        if item is not None and connector is not None:
            several.setdefault(item, set()).add(connector)
    out: Texts = []
    joined = 0
    for item, connector in zip(items, connectors, strict=True):
        if item is None or connector is None:
            out.append(connector if item is None else item)
        elif len(several[item]) > 1 and not connector.startswith(item):
            out.append(f"{item} {connector}")
            joined += 1
        else:
            out.append(connector if connector.startswith(item) else item)
    if joined:
        columns.assume("end", columns.heading(f"{side}_connector"), "device and connector together",
                       "a device has several connectors", columns.place(f"{side}_connector"), joined)  # fmt: skip
    return out


def _split(columns: Columns, item_role: str, cavity_role: str, items: Texts, cavities: Texts) -> tuple[Texts, Texts]:
    """Ends such as ``ECU:12`` taken apart where no cavity is given beside them."""
    lone = {t for t, c in zip(items, cavities, strict=True) if t is not None and c is None}
    other = {"from_item": "to_item", "to_item": "from_item"}.get(item_role, "")
    given = columns.texts(other, names=True) if other in columns.region.columns else []
    beside = {t for t in given if t is not None}
    parts = split_ends({*lone, *beside}, all_have_pins=bool(_SAYS_PINS.search(columns.heading(item_role))))
    parts = {text: pair for text, pair in parts.items() if text in lone}
    if cavity_role in columns.region.columns:  # a column of its own: only the colon still speaks
        parts = {text: pair for text, pair in parts.items() if ":" in text}
    if not parts:
        return items, cavities
    items, cavities = list(items), list(cavities)
    count, first = 0, 0
    for i, text in enumerate(items):
        if text is not None and cavities[i] is None and text in parts:
            items[i], cavities[i] = parts[text]
            first = first if count else i
            count += 1
    if count:
        text = next(iter(sorted(parts)))
        columns.assume("end", text, f"{parts[text][0]}, cavity {parts[text][1]}", "item and pin in one cell",
                       columns.place(item_role, first), count)  # fmt: skip
    return items, cavities


_TEXT_ROLES = ("signal", "branch", "insulation", "from_terminal", "to_terminal", "option")


def wire_attributes(columns: Columns) -> tuple[dict[str, list[Any]], Colours]:
    """Everything of a wire but its ends, one value per data row."""
    colours = read_colours(columns)
    values: dict[str, list[Any]] = {
        "wire": columns.texts("wire", names=True, placeholders=True),
        "size": columns.sizes(),
        "length_m": columns.lengths(),
        "current_a": columns.figures("current_a", "current"),
        "note": columns.texts("note"),
        "colour_written": colours.written,
    }
    for role in ("twist", "shield"):
        values[role] = read_groups(columns, role, values["wire"])
    for role in ("lay_m", "untwisted_m"):
        if role in columns.region.columns:
            values[role] = columns.lengths(role)
    if "shield_material" in columns.region.columns:
        values["shield_material"] = read_words(columns, "shield_material", "shield_material")
    for role in ("from_seal", "to_seal"):
        if role in columns.region.columns:
            values[role] = columns.texts(role, placeholders=True)
    for role in _TEXT_ROLES:
        values[role] = columns.texts(role, placeholders=role != "signal")
    if any(colours.twist) and "twist" not in columns.region.columns:
        values["twist"] = colours.twist
    return values, colours


def reserved_rows(columns: Columns, ends: Sequence[Texts], values: dict[str, list[Any]]) -> dict[int, str]:
    """Data rows (by index) that stand for no wire: reserved, spare, not used.

    A wire that is there but leads nowhere stays: its other end and its colour or number are given.
    """
    out: dict[int, str] = {}
    seen = [bool(colour or size) for colour, size in zip(values["colour_written"], values["size"], strict=True)]
    described = sum(seen) * 2 > len(seen)
    open_words = vocabulary().values["open_end"]
    suspects = {t for column in (*ends, values["signal"]) for t in set(column) if unused_word(t)}
    if not suspects:
        return out
    for i in range(len(columns)):
        for column in ends:
            text = column[i]
            if text is None or text not in suspects:
                continue
            numbered = text.casefold() in open_words and values["wire"][i] is not None
            # A number alone makes no wire where the other rows have colours or sizes.
            kept = seen[i] or (numbered and not described)
            if _RESERVED.search(text) or not kept:
                out[i] = "reserved, no wire"
        if values["signal"][i] in suspects and not (seen[i] or values["wire"][i]):
            out[i] = "reserved, no wire"
    return out


def _pins_of_named_ends(columns: Columns) -> list[str]:
    """Columns of pins whose heading names the item, so that it is the pin that says ``N/C``."""
    region = columns.region
    return [
        f"{side}_cavity"
        for side in ("from", "to")
        if f"{side}_item" in region.names and f"{side}_item" not in region.columns
    ]


def wires_table(columns: Columns) -> tuple[Table, dict[int, str]]:
    """Table of a wire list, and the rows that are no wires with the reason."""
    values, colours = wire_attributes(columns)
    roles_of_ends = ("from_item", "to_item", *_pins_of_named_ends(columns))
    reserved = reserved_rows(columns, [columns.texts(role, names=True) for role in roles_of_ends], values)
    start, stop = read_end(columns, "from"), read_end(columns, "to")
    values |= {
        "row": columns.data,
        "from_item": start.items, "from_cavity": start.cavities, "from_open": start.open,
        "to_item": stop.items, "to_cavity": stop.cavities, "to_open": stop.open,
    }  # fmt: skip
    keep = [i for i in range(len(columns)) if i not in reserved]
    values |= {"from_more": further_ends(start, len(columns)), "to_more": further_ends(stop, len(columns))}
    colours = settle_cores(columns, values, colours, (start.cavities, stop.cavities))
    frame = frame_of("wires", expand_cores(values, colours, keep))
    roles = {
        f"{side}_item": f"{side}_connector" for side in ("from", "to") if f"{side}_item" not in columns.region.columns
    }
    aside = {columns.data[i]: reason for i, reason in reserved.items()}
    return table_of(columns, "wires", frame, roles), aside


def ends_as_text(ends: Sequence[End]) -> str | None:
    """Further ends of a wire as the frame holds them; None where there are none."""
    return "\n".join(f"{item or ''}\t{cavity or ''}" for item, cavity in ends) or None


def further_ends(ends: Ends, count: int) -> Texts:
    """Ends beyond the first of every data row."""
    out: Texts = [None] * count
    for i, several in ends.several.items():
        out[i] = ends_as_text(several[1:])
    return out


def expand_cores(
    values: Mapping[str, Sequence[Any]],
    colours: Colours,
    keep: Sequence[int],
    beside: Mapping[str, Sequence[Any]] | None = None,
) -> Mapping[str, Sequence[Any]]:
    """Columns with one entry per conductor: a row "R+B" gives two, with the core of each.

    Parameters
    ----------
    values : mapping of str to sequence
        Column → one value per data row.
    colours : Colours
        Colours of the data rows.
    keep : sequence of int
        Indices of the data rows that give a wire, repeated where a row gives several.
    beside : mapping of str to sequence, optional
        Column → one value per entry of `keep`, in place of that of its row.
    """
    if beside is None and len(keep) == len(colours.codes) and all(len(code) <= 1 for code in colours.codes):
        plain: dict[str, Sequence[Any]] = {name: column for name, column in values.items() if name in _NAMES}
        plain["colour"] = [code[0] if code else None for code in colours.codes]
        plain["core"], plain["cores"] = [None] * len(keep), colours.cores
        return plain
    counts = [max(1, len(colours.codes[i])) for i in keep]
    index = [i for i, count in zip(keep, counts, strict=True) for _ in range(count)]
    out = {name: [column[i] for i in index] for name, column in values.items() if name in _NAMES}
    for name, column in (beside or {}).items():
        out[name] = [value for value, count in zip(column, counts, strict=True) for _ in range(count)]
    codes: list[str | None] = []
    cores: list[str | None] = []
    for i in keep:
        row = colours.codes[i]
        codes += row or (None,)
        cores += row if len(row) > 1 else (None,) * max(1, len(row))
    out["colour"], out["core"] = codes, cores
    out["cores"] = [colours.cores[i] for i in index]
    return out
