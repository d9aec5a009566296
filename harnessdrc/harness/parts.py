"""The parts table, and the terminal and seal that stand at each end of a wire.

What a wire's own row names counts first; where it is silent, the pin list's line for the contact does.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

from harnessdrc.harness.elements import Contact, Fitted, Harness, Part, Pin, Wire
from harnessdrc.harness.names import fold
from harnessdrc.harness.roles import pins_by_contact
from harnessdrc.places import Place, RowPlace
from harnessdrc.tables.model import Reading, Table

__all__ = ["FITTED_COLUMNS", "FittedAt", "fitted_at", "fitted_in", "no_part", "parts_in", "seal_cell"]

FITTED_COLUMNS = ("from_terminal", "from_seal", "to_terminal", "to_seal")
"""Columns of a wire list that name what is fitted, in the order of `Fitted`."""

_NO_PART = frozenset(
    ("none", "no", "nil", "bare", "bare end", "stripped", "tinned", "cut", "cut end", "open", "solder", "soldered",
     "pigtail", "flying lead", "n/c", "nc", "not fitted", "without", "not used", "unused", "x")
)  # fmt: skip
"""Words in place of a part that say there is none, folded."""


class FittedAt(NamedTuple):
    """What is fitted where a wire ends.

    Parameters
    ----------
    terminal, seal : str or None
        As written; None where none is named.
    place : Place
        Cell of the terminal; of the seal where no terminal is named; else the wire's end.
    """

    terminal: str | None
    seal: str | None
    place: Place


def no_part(text: str | None) -> bool:
    """Whether a text names no part: not given, or a word such as ``none``, ``bare``, ``soldered``."""
    return text is None or fold(text) in _NO_PART


def fitted_in(row: dict[str, Any]) -> Fitted | None:
    """Terminals and seals that a row of a wire list names; None where it names none."""
    found = [row.get(column) for column in FITTED_COLUMNS]
    return Fitted(*found) if any(text is not None for text in found) else None


def fitted_at(harness: Harness, wire: Wire, contact: Contact) -> FittedAt:
    """Terminal and seal at the end of a wire that stands on a contact.

    Parameters
    ----------
    harness : Harness
        The list.
    wire : Wire
        One of its wires.
    contact : Contact
        `wire.a` or `wire.b`; of a wire with both ends there, the first.

    Returns
    -------
    FittedAt
        From the wire's row; where that names none, from the pin list's line for the contact. A word that says there
        is none (``bare``, ``none``) counts as none and leaves the pin list out.
    """
    first = contact == wire.a
    terminal, seal = (wire.fitted[0], wire.fitted[1]) if first else (wire.fitted[2], wire.fitted[3])
    pins = _pins_at(harness).get(contact, ()) if terminal is None or seal is None else ()
    of_terminal = _cell(wire, first, "terminal") if terminal is not None else None
    if terminal is None:
        terminal, of_terminal = _of_pins(pins, "terminal")
    of_seal = _cell(wire, first, "seal") if seal is not None else None
    if seal is None:
        seal, of_seal = _of_pins(pins, "seal")
    terminal, of_terminal = (None, None) if no_part(terminal) else (terminal, of_terminal)
    seal, of_seal = (None, None) if no_part(seal) else (seal, of_seal)
    return FittedAt(terminal, seal, of_terminal or of_seal or wire.end_place(contact))


def seal_cell(harness: Harness, wire: Wire, contact: Contact) -> Place:
    """Cell that names the seal at an end of a wire; where none does, the one that would."""
    first = contact == wire.a
    if (wire.fitted[1] if first else wire.fitted[3]) is None:
        pins = _pins_at(harness).get(contact, ())
        named = _of_pins(pins, "seal")[1]
        if named is not None:
            return named
        if not _has(wire, first, "seal"):
            listed = next((pin.place for pin in pins if "seal" in pin.place.cells), None)
            return listed.of("seal") if listed is not None else wire.end_place(contact)
    return _cell(wire, first, "seal")


def _of_pins(pins: list[Pin] | tuple[()], column: str) -> tuple[str | None, Place | None]:
    for pin in pins:
        text: str | None = getattr(pin, column)
        if text is not None:
            return text, pin.place.of(column)
    return None, None


def _rows(wire: Wire, first: bool) -> Iterator[tuple[RowPlace, str]]:
    """Rows that may name what is fitted at an end, with the side that the end has there."""
    if not first and wire.b_place is not None:
        yield wire.b_place, "from"
    yield wire.place, "from" if first else "to"


def _has(wire: Wire, first: bool, what: str) -> bool:
    return any(f"{side}_{what}" in row.cells for row, side in _rows(wire, first))


def _cell(wire: Wire, first: bool, what: str) -> Place:
    for row, side in _rows(wire, first):
        if f"{side}_{what}" in row.cells:
            return row.of(f"{side}_{what}")
    for row in wire.also:
        for side in ("from", "to"):
            if f"{side}_{what}" in row.cells:
                return row.of(f"{side}_{what}")
    return wire.place.of("from_item" if first else "to_item")


_last: list[tuple[tuple[Pin, ...], dict[Contact, list[Pin]]]] = []


def _pins_at(harness: Harness) -> dict[Contact, list[Pin]]:
    """Lines of the pin lists by contact; kept for the harness asked for last, since all its wires ask."""
    if not harness.pins:
        return {}
    if not _last or _last[0][0] is not harness.pins:
        _last[:] = [(harness.pins, pins_by_contact(harness))]
    return _last[0][1]


# --- the parts table --------------------------------------------------------------------------------


def _table_rows(table: Table) -> Iterator[tuple[dict[str, Any], RowPlace]]:
    for row in table.frame.to_dict("records"):
        yield row, RowPlace(table.file, table.sheet, row["row"], table.cells)


def parts_in(reading: Reading) -> tuple[dict[str, Part], tuple[tuple[Part, Part], ...]]:
    """Parts by their folded name, of a name that stands twice its first row; and rows that differ with it."""
    parts: dict[str, Part] = {}
    repeated: list[tuple[Part, Part]] = []
    for table in reading.of("parts"):
        for row, place in _table_rows(table):
            key = fold(row["part"])
            cavities = row["cavities"]
            part = Part(
                key, row["part"], row["kind"], row["family"], row["sex"], row["size_min"], row["size_max"],
                row["insulation_min_m"], row["insulation_max_m"], row["bore_m"], row["bore_min_m"], row["bore_max_m"],
                row["strip_m"], None if cavities is None else int(cavities), row["sealed"], row["pack"], place,
            )  # fmt: skip
            first = parts.setdefault(key, part)
            if _said(first) != _said(part):
                repeated.append((first, part))
    return parts, tuple(repeated)


def _said(part: Part) -> tuple[object, ...]:
    """What a row says of a part."""
    family = fold(part.family) if part.family else None
    sizes = tuple(None if s is None else (s.system, s.csa_mm2, s.awg) for s in (part.size_min, part.size_max))
    return (
        part.kind, family, part.sex, sizes, part.insulation_min_m, part.insulation_max_m, part.bore_m,
        part.bore_min_m, part.bore_max_m, part.strip_m, part.cavities, part.sealed, part.pack,
    )  # fmt: skip
