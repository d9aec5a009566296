"""Which form a set of headings makes, and which column each heading is, with the values to decide."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from dataclasses import replace

from harnessdrc.intake.recognition.form import form_of
from harnessdrc.intake.recognition.heading_rows import HeadCell
from harnessdrc.intake.recognition.pin_columns import device_columns, pin_columns
from harnessdrc.intake.recognition.regions import ARROW, ONE_TERMINAL, Layout, Sample, is_pin_like
from harnessdrc.intake.recognition.wire_columns import share, wire_columns
from harnessdrc.tables.columns import FORMS, Column

__all__ = ["form_of", "is_plain_list", "resolve", "stands_alone", "take_unlabelled"]

# --- which form -------------------------------------------------------------------------------------


def is_plain_list(cells: Sequence[HeadCell]) -> bool:
    """Whether headings make a short list beside the wires: fuses, splices, earth points, points, straps, parts ..."""
    return form_of(cells) in ("fuses", "splices", "earth_points", "points", "straps", "joints", "parts")


def stands_alone(cells: Sequence[HeadCell]) -> bool:
    """Whether headings make a table worth its name without those beside them."""
    form = form_of(cells)
    if form in (None, "device columns"):
        return False
    if form == "pins":
        content = {"signal", "wire", "colour", "component", "terminal", "note", "role", "net", "size"}
        return any(c.heading.concepts and (c.heading.side == "to" or c.heading.concepts[0] in content) for c in cells)
    return True


# --- which column -----------------------------------------------------------------------------------


def resolve(cells: Sequence[HeadCell], sample: Sample) -> Layout | None:
    """Columns of the table that these headings make, or None when they make none."""
    cells, decided = _pins_under_a_name(cells, sample)
    cells = _pins_of_a_heading(cells)
    both = _both_ends(cells, sample)
    if both is not None:
        return _with_arrow(cells, both, sample)
    form = form_of(cells)
    codes = form == "wires" and _sides_are_codes(cells, sample)
    if form == "device columns":
        return device_columns(cells, sample)
    if form is None:
        return None
    if form == "wires" and codes and any(c.heading.concepts[:1] == ("cavity",) for c in cells):
        layout = pin_columns(cells, sample, codes=True)
    elif form == "wires":
        layout = wire_columns(cells, sample)
    elif form == "pins":
        layout = pin_columns(cells, sample, codes=False)
    else:
        layout = _plain(form, cells, sample)
    if layout is not None:
        layout.decided = [*decided, *layout.decided]
    return layout


def _pins_of_a_heading(cells: Sequence[HeadCell]) -> list[HeadCell]:
    """Headings with "Sensor" and "Sensor pin" beside a plain "Pin" taken as the other end of its wire."""
    devices = ((), ("component",), ("item",))
    names = {c.heading.written.casefold(): c for c in cells if c.typo_of or c.heading.concepts[:1] in devices}
    plain = any(c.heading.concepts[:1] == ("cavity",) and not c.heading.qualifier for c in cells)
    if not plain or any(c.heading.side for c in cells):
        return list(cells)
    out = list(cells)
    for k, cell in enumerate(cells):
        named = names.get(cell.heading.qualifier.casefold()) if cell.heading.concepts[:1] == ("cavity",) else None
        if named is None:
            continue
        out[k] = replace(cell, heading=replace(cell.heading, side="to", qualifier=""))
        out[out.index(named)] = replace(named, heading=replace(named.heading, concepts=("item",), side="to"))
        break
    return out


def _both_ends(cells: Sequence[HeadCell], sample: Sample) -> HeadCell | None:
    """Column that holds both ends of each wire: ``ECU 12 -> TPS 3``."""
    sided = {cell.heading.side for cell in cells} >= {"from", "to"}
    for cell in cells:
        if sided and cell.heading.concepts[:1] == ("branch",):
            continue  # beside ends of their own, arrows in it part branches one after the other
        texts = sample(cell.column)
        if len(texts) >= 2 and share(texts, lambda text: bool(ARROW.match(text))) >= 0.8:
            return cell
    return None


def _with_arrow(cells: Sequence[HeadCell], both: HeadCell, sample: Sample) -> Layout:
    """Columns of a wire list with both ends in one column."""
    layout = wire_columns([c for c in cells if c != both and not c.heading.side], sample)
    for role in ("from_item", "to_item", "from_cavity", "to_cavity"):
        layout.columns.pop(role, None)
        layout.headings.pop(role, None)
    for role in ("from_item", "to_item"):
        layout.take(role, both.column, both.heading)
    layout.decided.append((both.heading.written, "both ends of the wire", "there are arrows in its cells", both.column))
    return layout


def _pins_under_a_name(
    cells: Sequence[HeadCell], sample: Sample
) -> tuple[list[HeadCell], list[tuple[str, str, str, int]]]:
    """Headings with an unknown one over pin-like values taken as the pins of a connector of that name."""
    out = list(cells)
    if any(c.heading.may_be("cavity") for c in cells) or not any(
        c.heading.concepts[:1] in (("signal",), ("net",)) for c in cells
    ):
        return out, []
    likely: list[int] = []
    for k, cell in enumerate(out):
        if cell.heading.concepts or ONE_TERMINAL.match(cell.heading.written):
            continue
        texts = sample(cell.column)
        if len(texts) >= 2 and sum(map(is_pin_like, texts)) >= 0.5 * len(texts):
            likely.append(k)
    sided = sum(1 for c in cells if c.heading.side)
    if len(likely) != 1 or (sided >= 2 and not _sides_are_codes(cells, sample)):
        return out, []
    cell = out[likely[0]]
    name = cell.heading.written
    out[likely[0]] = replace(cell, heading=replace(cell.heading, concepts=("cavity",), qualifier=name))
    return out, [(name, "pins of a connector", "the column below holds pins", cell.column)]


def _sides_are_codes(cells: Sequence[HeadCell], sample: Sample) -> bool:
    """Whether both end columns hold location codes: a few small whole numbers."""
    ends = [c for c in cells if c.heading.side and c.heading.concepts[:1] == ("item",)]
    if len(ends) < 2:
        return False
    for cell in ends:
        texts = sample(cell.column)
        numbers = [t for t in texts if t.isdecimal() and len(t) <= 2]
        if len(texts) < 4 or len(numbers) < 0.8 * len(texts) or len(set(numbers)) > 20:
            return False
    return True


_WIRE_NAME = re.compile(r"^[A-Za-z]{0,4}[-_ ]?\d{1,5}[A-Za-z]?$")


def take_unlabelled(
    layout: Layout, span: tuple[int, int], headed: Collection[int], width: int, sample: Sample
) -> list[int]:
    """Columns without a heading, inside a table or right beside it.

    Pins beside an end whose heading stands over both columns, and wire names in front of the table, are
    taken; others are listed as not used.

    Parameters
    ----------
    layout : Layout
        Columns of the table; filled in.
    span : tuple of (int, int)
        Its first and last headed column.
    headed : collection of int
        Columns of the sheet that have a heading in the same rows.
    width : int
        Columns of the sheet.
    sample : callable
        Values of a column.

    Returns
    -------
    list of int
        The columns that belong to the table without a heading.
    """
    left, right = span
    out: list[int] = []
    filled = max((len(sample(c)) for c in layout.columns.values()), default=0)
    at = {column: role for role, column in layout.columns.items()}
    for column in range(max(left - 1, 0), min(right + 2, width)):
        texts = sample(column)
        if column in headed or len(texts) * 3 < filled or not texts:
            continue
        role = {"from_item": "from_cavity", "to_item": "to_cavity", "connector": "cavity"}.get(at.get(column - 1, ""))
        pins = share(texts, is_pin_like) >= 0.8
        if role is not None and role not in layout.columns and pins:
            layout.decided.append(("no heading", role.replace("_", " "), "pins beside the end", column))
        elif column < left and layout.form == "wires" and "wire" not in layout.columns and _are_names(texts):
            role = "wire"
            layout.decided.append(("no heading", role, "every row has its own", column))
        else:
            if left <= column <= right:
                layout.not_used[column] = ""
                out.append(column)
            continue
        layout.columns[role] = column
        layout.headings[role] = ""
        out.append(column)
    return out


def _are_names(texts: Sequence[str]) -> bool:
    return len(set(texts)) == len(texts) and all(map(_WIRE_NAME.match, texts))


# --- the other forms --------------------------------------------------------------------------------

_ROLE_CONCEPTS: dict[str, tuple[str, ...]] = {
    "current_a": ("current",), "resistance_ohm": ("resistance",), "capacitance_f": ("capacitance",),
    "voltage_v": ("voltage",),
    "length_m": ("length",), "rating_a": ("rating",), "distance_m": ("distance", "length"), "aged_ohm": ("aged",),
    "body": ("body", "place"),
}  # fmt: skip


_NUMBERS = ("length", "pressure", "teeth", "voltage", "time", "bit_rate")


def _plain(form: str, cells: Sequence[HeadCell], sample: Sample) -> Layout:
    """Columns of a form where each heading has one meaning."""
    out = Layout(form)
    left = list(cells)
    for exact in (True, False):
        for column in FORMS[form].columns:
            if column.name in out.columns:
                continue
            for cell in left:
                if _is_column(column.name, cell, exact) and _holds(column, sample(cell.column)):
                    out.take(column.name, cell.column, cell.heading)
                    left.remove(cell)
                    break
    for cell in left:
        out.not_used[cell.column] = cell.heading.written
    return out


def _holds(column: Column, texts: Sequence[str]) -> bool:
    """Whether a short word over a column may be this one: there is a number where it takes numbers, or nothing."""
    if not column.seldom or column.value not in _NUMBERS:
        return True
    return not texts or any(any(c.isdecimal() for c in text) for text in texts)


def _is_column(name: str, cell: HeadCell, exact: bool) -> bool:
    heading = cell.heading
    if name in ("from_point", "to_point", "from_body", "to_body"):
        return heading.side == name.split("_")[0]
    if heading.side:
        return False
    wanted = _ROLE_CONCEPTS.get(name, (name,))
    if exact:
        return any(concept in wanted for concept in heading.concepts[:1])
    return any(heading.may_be(concept) for concept in wanted)
