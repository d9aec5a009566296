"""Normalized tables → the objects of a harness.

Items with what is inferred of their names: `harnessdrc.harness.items`; wires: `harnessdrc.harness.wires`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from harnessdrc.harness.ahead import look_ahead
from harnessdrc.harness.elements import Harness, ListedJoint, Pin, Strap
from harnessdrc.harness.items import ItemBook
from harnessdrc.harness.mates import find_mates
from harnessdrc.harness.measured import measurements_in
from harnessdrc.harness.names import fold
from harnessdrc.harness.parts import parts_in
from harnessdrc.harness.rows import rows_of
from harnessdrc.harness.space import branches_in, points_in
from harnessdrc.harness.vocabulary import guess_role
from harnessdrc.harness.wires import WireLines
from harnessdrc.places import Place, RowPlace
from harnessdrc.tables.columns import FORMS
from harnessdrc.tables.issues import issue_mark
from harnessdrc.tables.model import Reading
from harnessdrc.tables.words import ROLES

__all__ = ["build_harness"]

_ROLES = {fold(name): name for name, _ in ROLES}
_HEADINGS = {column.name: column.heading.lower() for form in FORMS.values() for column in form.columns}


def _heading(column: str) -> str:
    """Column as people call it."""
    return _HEADINGS.get(column, column.replace("_", " "))


def _pin_wires(reading: Reading) -> frozenset[tuple[str, str]]:
    """File and sheet of lists whose rows are pins with their destination."""
    return frozenset(
        (table.file, table.sheet)
        for table in reading.of("pins")
        for other in reading.of("wires")
        if (other.file, other.sheet) == (table.file, table.sheet) and set(other.frame["row"]) & set(table.frame["row"])
    )


def _pins(reading: Reading, book: ItemBook) -> list[Pin]:
    pins: list[Pin] = []
    tables = reading.of("pins")
    for table in tables:
        for row in rows_of(table):
            if row.get("component"):
                place = RowPlace(table.file, table.sheet, row["row"], table.cells)
                key = fold(row["connector"])
                if key not in book.items:
                    book.pin_owner.setdefault(key, (row["component"], place.of("component")))
                else:
                    book.give_connector(key, row["component"], place.of("component"))
    for table in tables:
        for row in rows_of(table):
            place = RowPlace(table.file, table.sheet, row["row"], table.cells)
            item = book.item(row["connector"], place.of("connector"))
            contact = book.contact(item, row["cavity"])
            role = row.get("role")
            if role:
                known = _ROLES.get(fold(role))
                if known is None:
                    guess = guess_role(role, item.kind)
                    known = guess.value if guess else None
                    book.assumed.add(
                        "role", role, known or "not understood", "the word in the role column",
                        place.of("role"),
                    )  # fmt: skip
                role = known
            pins.append(
                Pin(
                    contact,
                    row["connector"],
                    row["cavity"],
                    row.get("signal"),
                    role,
                    row.get("wire"),
                    row.get("terminal"),
                    row.get("seal"),
                    bool(row.get("unused")),
                    place,
                )
            )
    return pins


def _straps(reading: Reading, book: ItemBook) -> Iterator[Strap]:
    for table in reading.of("straps"):
        for row in rows_of(table):
            place = RowPlace(table.file, table.sheet, row["row"], table.cells)
            a, b = _strap_end(book, row["from_body"]), _strap_end(book, row["to_body"])
            yield Strap(
                row["strap"] or f"of row {row['row']}",
                a or "",
                b or "",
                row.get("size"),
                row.get("length_m"),
                row.get("resistance_ohm"),
                place.of("strap"),
            )


def _joints(reading: Reading) -> Iterator[ListedJoint]:
    for table in reading.of("joints"):
        for row in rows_of(table):
            if row["joint"]:
                place = RowPlace(table.file, table.sheet, row["row"], table.cells)
                ohm, aged_ohm = row.get("resistance_ohm"), row.get("aged_ohm")
                yield ListedJoint(row["joint"], ohm, aged_ohm, place.of("joint"))


def _strap_end(book: ItemBook, text: str | None) -> str | None:
    """Body at the end of a strap, which may be written as the earth point it is bolted to."""
    if not text:
        return None
    item = book.items.get(fold(text))
    if item and item.kind == "earth point" and item.body:
        return item.body
    return book.body_word(text)


def build_harness(reading: Reading) -> Harness:
    """Build the harness of a reading.

    Parameters
    ----------
    reading : Reading
        Normalized tables of all files.

    Returns
    -------
    Harness
        Its objects, with every inference listed in ``assumptions``.
    """
    book = ItemBook(reading)
    book.list_items()
    book.ahead = look_ahead(reading, lambda name: fold(name) in book.items)
    pins = _pins(reading, book)
    pin_wires = _pin_wires(reading)
    lines = WireLines(reading, book, pin_wires)
    wires, repeated = lines.wires()
    wires.extend(lines.wires_from_pins(pins, wires))
    find_mates(book.items, wires, book.assumed)
    branches, repeated_branches = branches_in(reading)
    points, repeated_points = points_in(reading, book.assumed)
    measurements, measured_sheets = measurements_in(reading)
    measured_on = {(sheet.file, sheet.sheet) for sheet in measured_sheets}
    parts, repeated_parts = parts_in(reading)
    columns: dict[str, Place] = {}
    tables: list[tuple[Place, frozenset[str], int]] = []
    for table in reading.of("wires"):
        heading = table.heading_row or int(table.frame["row"].min())
        place = RowPlace(table.file, table.sheet, heading, table.cells)
        for column in table.cells:
            columns.setdefault(column, place.of(column))
        filled = (c for c in table.frame.columns if any(v is not None for v in table.frame[c].tolist()))
        tables.append((place.of("wire", "from_item"), frozenset(table.cells).union(filled), len(table.frame)))
    return Harness(
        wires=tuple(wires),
        repeated=tuple(repeated),
        pins=tuple(pins),
        items=book.items,
        straps=tuple(_straps(reading, book)),
        joints=tuple(_joints(reading)),
        columns=columns,
        wire_tables=tuple(tables),
        pin_connectors=frozenset(
            pin.contact.item for pin in pins if (pin.place.file, pin.place.sheet) not in pin_wires
        ),
        pin_wires=pin_wires,
        branches=branches,
        repeated_branches=repeated_branches,
        points=points,
        repeated_points=repeated_points,
        parts=parts,
        repeated_parts=repeated_parts,
        assumptions=book.assumed.listed(),
        cavity_names=book.cavity_names,
        columns_read=tuple(
            dict.fromkeys(
                (_heading(column), Place(table.file, table.sheet, "").list_name)
                for table in reading.tables
                for column in table.cells
            )
        ),
        unreadable=tuple(
            replace(c, column=_heading(c.column))
            for c in reading.unreadable
            if (c.place.file, c.place.sheet) not in measured_on
        ),
        measurements=measurements,
        measured_sheets=measured_sheets,
        issue_mark=issue_mark(source.sha256 for source in reading.sources),
    )
