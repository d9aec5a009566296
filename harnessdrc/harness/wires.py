"""Rows of the wire lists, or of pin lists alone, → wires.

One wire may stand in several rows: on the sheets of both its connectors, seen from either end, or one end on each.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import replace
from typing import Any

from harnessdrc.harness.elements import COMMON_KINDS, Contact, Item, Pin, Wire
from harnessdrc.harness.items import ItemBook
from harnessdrc.harness.names import fold
from harnessdrc.harness.parts import FITTED_COLUMNS, fitted_in
from harnessdrc.harness.rows import columns_there, rows_of
from harnessdrc.harness.twins import merged, one_row_per_end, same_ends, seen_from_the_other_end
from harnessdrc.harness.vocabulary import guess_role
from harnessdrc.places import RowPlace
from harnessdrc.tables.columns import SELDOM
from harnessdrc.tables.model import Reading, Table

__all__ = ["WireLines"]

_OF_WIRES = tuple(column for column in SELDOM["wires"] if column not in FITTED_COLUMNS)


class WireLines:
    """The wires of a reading.

    Parameters
    ----------
    reading : Reading
        Normalized tables of all files.
    book : ItemBook
        Their items; what a wire ends on is looked up and made there.
    pin_wires : collection of (str, str)
        File and sheet of lists whose rows are pins with their destination.
    """

    def __init__(self, reading: Reading, book: ItemBook, pin_wires: Collection[tuple[str, str]]) -> None:
        self.reading = reading
        self.book = book
        self.pin_wires = pin_wires

    def wires(self) -> tuple[list[Wire], list[tuple[Wire, Wire]]]:
        """Wires of the wire lists, and pairs of different ones with one number."""
        wires: list[Wire] = []
        by_number: dict[tuple[str, str | None], list[int]] = {}
        repeated: list[tuple[Wire, Wire]] = []
        names: dict[str, int] = {}
        by_ends: dict[tuple[Contact, Contact, str | None], int] = {}
        for table in self.reading.of("wires"):
            has_cavities = "from_cavity" in table.cells or "to_cavity" in table.cells
            seldom = columns_there(table, _OF_WIRES)
            fits = any(column in table.cells for column in FITTED_COLUMNS)
            for row in (one for listed in rows_of(table) for one in one_row_per_end(listed)):
                wire = self._wire(table, row, has_cavities, names)
                if seldom:
                    wire = replace(wire, **{column: row[column] for column in seldom})
                fitted = fitted_in(row) if fits else None
                if fitted is not None:
                    wire = replace(wire, fitted=fitted)
                if wire.number is not None:
                    key = (fold(wire.number), wire.core)
                    earlier = by_number.setdefault(key, [])
                    twin = next((i for i in earlier if same_ends(wires[i], wire)), None)
                    half = next((i for i in earlier if _is_half(wires[i]) and _is_half(wire)), None)
                    if half is not None and wires[half].a != wire.a:
                        # Each connector's sheet lists its own end; the number joins them.
                        wires[half] = replace(merged(wires[half], wire), b=wire.a, b_place=wire.place)
                        self.book.assumed.add(
                            "end", "wires listed at each connector", "one wire for each number that stands at two",
                            "no line gives both ends", wire.place.of("wire"),
                        )  # fmt: skip
                        continue
                    if twin is not None and wires[twin].place != wire.place:
                        wires[twin] = merged(wires[twin], wire)
                        names[wire.name] = names.get(wire.name, 1)
                        continue
                    if earlier:
                        wire = replace(wire, name=f"{wire.name} ({len(earlier) + 1})")
                        if wires[earlier[-1]].place != wire.place:  # else one row that leads to several ends
                            repeated.append((wires[earlier[0]], wire))
                    earlier.append(len(wires))
                elif wire.a is not None and wire.b is not None:
                    other_end = by_ends.get((wire.b, wire.a, wire.core))
                    if other_end is not None and seen_from_the_other_end(wires[other_end], wire):
                        wires[other_end] = merged(wires[other_end], wire)
                        names[wire.name] = names.get(wire.name, 1)
                        continue
                    by_ends.setdefault((wire.a, wire.b, wire.core), len(wires))
                wires.append(wire)
        # The first of a repeated pair may have been merged with a further row since.
        current = {wire.name: wire for wire in wires}
        return wires, [(current[a.name], current[b.name]) for a, b in repeated]

    def _wire(self, table: Table, row: dict[str, Any], has_cavities: bool, names: dict[str, int]) -> Wire:
        place = RowPlace(table.file, table.sheet, row["row"], table.cells)
        number, core, cores = row.get("wire"), row.get("core"), row.get("cores") or 1
        if number is not None:
            name = f"{number} {core}" if core else number
        else:
            ends = [
                " ".join(filter(None, (row.get(f"{side}_item"), row.get(f"{side}_cavity")))) for side in ("from", "to")
            ]
            name = " – ".join(end or "?" for end in ends) + (f" {core}" if core else "")
            names[name] = names.get(name, 0) + 1
            if names[name] > 1:
                name = f"{name} ({names[name]})"
        contacts: list[Contact | None] = []
        for side in ("from", "to"):
            text = row.get(f"{side}_item")
            if text is None:
                contacts.append(None)
                continue
            cavity = row.get(f"{side}_cavity")
            if cavity is None and text in self.book.ahead.with_terminal:
                text, cavity, because = self.book.ahead.with_terminal[text]
                self.book.assumed.add("end", row[f"{side}_item"], f"{text}, terminal {cavity}", because,
                                 place.of(f"{side}_item"))  # fmt: skip
            item = self.book.item(text, place.of(f"{side}_item"))
            unnamed = ""
            if item.kind not in COMMON_KINDS and (
                has_cavities or core or cores > 1 or not self._one_terminal(text, item)
            ):
                unnamed = f"?{name}"
            contacts.append(self.book.contact(item, cavity, unnamed))
        return Wire(
            name, number, contacts[0], contacts[1], bool(row.get("from_open")), bool(row.get("to_open")),
            row.get("colour"), row.get("colour_written"), row.get("size"), row.get("length_m"),
            row.get("signal"), row.get("twist"), row.get("shield"), row.get("current_a"),
            row.get("branch"), row.get("insulation"), row.get("option"), row.get("note"), core, cores,
            place,
        )  # fmt: skip

    def _one_terminal(self, text: str, item: Item) -> bool:
        """Whether a name without a cavity is itself a terminal: ``Brake servo ground``, ``Battery +``."""
        role = guess_role(text, item.kind)
        return role is not None and role.value in (
            "load return", "power ground", "battery negative", "sensor ground", "coil ground",
            "battery feed", "load feed", "switched feed", "sensor supply", "fused feed",
        )  # fmt: skip

    def wires_from_pins(self, pins: list[Pin], wires: list[Wire]) -> Iterable[Wire]:
        """Wires that stand only in the pin lists of both their ends, under one number."""
        if any(wire.number and (wire.place.file, wire.place.sheet) not in self.pin_wires for wire in wires):
            return  # a wire list with numbers says what there is; what differs is for the rules
        known = {fold(wire.number) for wire in wires if wire.number}
        ends: dict[str, list[Pin]] = {}
        for pin in pins:
            if pin.wire and fold(pin.wire) not in known:
                ends.setdefault(fold(pin.wire), []).append(pin)
        for group in ends.values():
            contacts = list(dict.fromkeys(pin.contact for pin in group))
            first = group[0]
            if len(contacts) == 2:
                self.book.assumed.add(
                    "end", "wires of the pin lists", "one wire for each number that stands at two pins",
                    "there is no wire list with these numbers", first.place.of("wire"),
                )  # fmt: skip
            for number, contact in enumerate(contacts[1:], 1):
                name = first.wire or ""
                yield Wire(
                    name if number == 1 else f"{name} ({number})", name, contacts[0], contact, False, False,
                    None, None, None, None, first.signal, None, None, None, None, None, None, None, None,
                    1, first.place, tuple(pin.place for pin in group[1:]),
                )  # fmt: skip


def _is_half(wire: Wire) -> bool:
    """Whether only one end of a wire is given, and the other not said to be open."""
    return wire.a is not None and wire.b is None and not wire.b_open
