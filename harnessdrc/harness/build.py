"""Normalized tables → the objects of a harness.

What the list does not say outright (the kind of a component, which device a connector belongs to, the
body of an earth point) is inferred from names here, once, and each inference is listed as an assumption
with the words that decided it and the first cell it applies to.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Any

from harnessdrc.harness.ahead import Ahead, look_ahead
from harnessdrc.harness.assumed import Assumed
from harnessdrc.harness.elements import COMMON_KINDS, Contact, Details, Harness, Item, ListedJoint, Pin, Strap, Wire
from harnessdrc.harness.fired import add_fired, fired_names
from harnessdrc.harness.mates import find_mates
from harnessdrc.harness.names import fold, fold_cavity
from harnessdrc.harness.space import branches_in, points_in
from harnessdrc.harness.terminals import signed_stem
from harnessdrc.harness.twins import merged, one_row_per_end, same_ends, seen_from_the_other_end
from harnessdrc.harness.vocabulary import guess_body, guess_kind, guess_role
from harnessdrc.places import Place, RowPlace
from harnessdrc.tables.columns import FORMS, SELDOM
from harnessdrc.tables.model import Reading, Table
from harnessdrc.tables.words import BODIES, KINDS, PLACES, ROLES

__all__ = ["build_harness"]

_KINDS = {fold(name): name for name, _ in KINDS}
_ROLES = {fold(name): name for name, _ in ROLES}
_BODIES = {fold(name): name for name, _ in (*BODIES, *PLACES)}
_UNIT_TAIL = re.compile(
    r"^(?P<stem>[^,;:]*?[A-Za-z])[ _\-./](?P<unit>[A-Za-z]|\d{1,2}|(?:plug|conn|connector|socket)[ _\-]?\w{0,3})$"
)

_NO_SIGNS = frozenset({*COMMON_KINDS, "fuse", "connector"})
"""Kinds whose name may end in a sign without its being one of two terminals of a device: ``Busbar +``."""


_OF_ITEMS = tuple(column for column in SELDOM["components"] if column != "fires")


def _given(table: Table, columns: Iterable[str]) -> tuple[str, ...]:
    """Those columns that the table has; few lists have any."""
    return tuple(column for column in columns if column in table.frame)


def _fired_in(table: Table) -> frozenset[str]:
    """Folded names that a component list says are fired."""
    texts = (text for text in table.frame["fires"].tolist() if text)
    return frozenset(fold(name) for text in texts for output in fired_names(text) for name in output)


def _some_plug(name: str) -> bool:
    """Whether a name says only that it is some kind of plug: ``PLUG 1``."""
    guess = guess_kind(name)
    return guess is not None and guess.value == "connector"


_SEPARATOR = re.compile(r"[ _\-./:]")


def _rows(table: Table) -> Iterator[dict[str, Any]]:
    """Rows of a table as dictionaries, without pandas' per-row cost."""
    names = list(table.frame.columns)
    for values in zip(*(table.frame[name].tolist() for name in names), strict=True):
        yield dict(zip(names, values, strict=True))


class _Builder:
    def __init__(self, reading: Reading) -> None:
        self.reading = reading
        self.items: dict[str, Item] = {}
        self.assumed = Assumed()
        self.cavity_names: dict[Contact, str] = {}
        self.pin_owner: dict[str, tuple[str, Place]] = {}
        self.ahead = Ahead()
        # Sheets whose rows are pins with their destination.
        self.pin_wires = frozenset(
            (table.file, table.sheet)
            for table in reading.of("pins")
            for other in reading.of("wires")
            if (other.file, other.sheet) == (table.file, table.sheet)
            and set(other.frame["row"]) & set(table.frame["row"])
        )

    # ------------------------------------------------------------------ items
    def list_items(self) -> None:
        """Items the lists name outright: components, earth points, fuses, splices."""
        fires: list[tuple[str, str, Place]] = []
        kinds_given: set[str] = set()
        for table in self.reading.of("components"):
            seldom, fired = _given(table, _OF_ITEMS), "fires" in table.frame
            targets = _fired_in(table) if fired else frozenset()
            for row in _rows(table):
                place = RowPlace(table.file, table.sheet, row["row"], table.cells)
                key = fold(row["component"])
                if key in self.items:
                    self.assumed.add(
                        "component", row["component"], "as on its first line", "it is listed twice",
                        place.of("component"),
                    )  # fmt: skip
                    continue
                plain = key in targets and not row.get("kind") and _some_plug(row["component"])
                kind = None if plain else self._kind_word(row.get("kind"), row["component"], place)
                body = self._body_word(row.get("place"))
                self.items[key] = Item(
                    key, row["component"], kind, key, body, place.of("component"), True,
                    current_a=row.get("current_a"), resistance_ohm=row.get("resistance_ohm"),
                    capacitance_f=row.get("capacitance_f"), voltage_v=row.get("voltage_v"),
                    case_earthed=row.get("case_earthed"),
                    mate=fold(row["mate"]) if row.get("mate") else None,
                    details=Details(row=place, **{column: row[column] for column in seldom}),
                )  # fmt: skip
                if fired and row["fires"]:
                    fires.append((key, row["fires"], place.of("fires")))
                if row.get("kind"):
                    kinds_given.add(key)
        for table in self.reading.of("earth_points"):
            for row in _rows(table):
                place = RowPlace(table.file, table.sheet, row["row"], table.cells)
                key = fold(row["earth_point"])
                body = self._body_word(row.get("body"))
                self.items[key] = replace(
                    self._listed(key, row["earth_point"], place.of("earth_point")),
                    kind="earth point", body=body, resistance_ohm=row.get("resistance_ohm"),
                )  # fmt: skip
        for form, column, kind in (("fuses", "fuse", "fuse"), ("splices", "splice", "splice")):
            for table in self.reading.of(form):
                for row in _rows(table):
                    place = RowPlace(table.file, table.sheet, row["row"], table.cells)
                    key = fold(row[column])
                    listed = self._listed(key, row[column], place.of(column))
                    self.items[key] = replace(listed, kind=kind, rating_a=row.get("rating_a"))
                    if kind == "fuse":
                        family, colour = row.get("family"), row.get("colour")
                        details = replace(listed.details, family=family, colour=colour, row=place)
                        self.items[key] = replace(self.items[key], details=details)
                        continue
                    branch, distance_m = row.get("branch"), row.get("distance_m")
                    if branch is not None or distance_m is not None:
                        details = replace(listed.details, branch=branch, distance_m=distance_m)
                        self.items[key] = replace(self.items[key], details=details)
        if fires:
            kinds_given |= {key for key, item in self.items.items() if item.kind in ("earth point", "fuse", "splice")}
            add_fired(self.items, fires, kinds_given, self.assumed)

    def _listed(self, key: str, name: str, place: Place) -> Item:
        """Item of a line, which may stand in the component list already."""
        return self.items.get(key) or Item(key, name, None, key, None, place, True)

    def _kind_word(self, text: str | None, name: str, place: RowPlace) -> str | None:
        if text:
            known = _KINDS.get(fold(text))
            if known:
                return known
            guess = guess_kind(text)
            if guess:
                self.assumed.add("kind", text, guess.value, f"the words '{guess.words}'", place.of("kind"))
                return guess.value
            self.assumed.add("kind", text, "load", "no kind is known by this word", place.of("kind"))
            return "load"
        guess = guess_kind(name)
        if guess:
            self.assumed.add("kind", name, guess.value, f"the words '{guess.words}'", place.of("component"))
        return guess.value if guess else None

    def _body_word(self, text: str | None) -> str | None:
        if not text:
            return None
        known = _BODIES.get(fold(text))
        if known:
            return known
        guess = guess_body(text)
        return guess.value if guess else fold(text)

    def item(self, name: str, place: Place) -> Item:
        """Item of a name met in a wire or pin list; made and inferred when not listed."""
        key = fold(name)
        found = self.items.get(key)
        if found:
            return found
        made = self._infer(key, name, place)
        self.items[key] = made
        return made

    def _infer(self, key: str, name: str, place: Place) -> Item:
        owner = self.pin_owner.get(key)
        if owner:
            component = self._component(owner[0], owner[1])
            return Item(key, name, component.kind, component.key, component.body, place, False)
        for end in sorted((m.start() for m in _SEPARATOR.finditer(key)), reverse=True):
            device = self.items.get(key[:end])
            if device is None or not device.listed or device.kind in (*COMMON_KINDS, "fuse"):
                continue
            self.assumed.add("owner", name, device.name, f"its name begins with '{device.name}'", place)
            return Item(key, name, device.kind, device.key, device.body, place, False)
        body = guess_body(name)
        if body and len(body.words) >= len(key.strip(" .")) and body.value != "battery negative":
            self.assumed.add("kind", name, "earth point", f"it names a body, '{body.words}'", place)
            return Item(key, name, "earth point", key, body.value, place, False)
        guess = guess_kind(name)
        if guess is not None and guess == ("splice", "S and a number") and key in self.ahead.pinned:
            guess = None  # a joint has no numbered pins: S3 is a switch, or a socket
        if guess is None and key in self.ahead.grounded:
            self.assumed.add("kind", name, "earth point", "a letter and a number, and only grounds lead to it", place)
            return Item(key, name, "earth point", key, None, place, False)
        if guess is None:
            return Item(key, name, None, key, None, place, False)
        self.assumed.add("kind", name, guess.value, f"the words '{guess.words}'", place)
        if guess.value == "controller":
            tail = _UNIT_TAIL.match(name.strip())
            unit = guess_kind(tail["stem"]) if tail else None
            if tail and unit and unit.value == "controller":
                stem_key = fold(tail["stem"])
                if stem_key not in self.items:
                    self.items[stem_key] = Item(stem_key, tail["stem"], "controller", stem_key, None, place, False)
                self.assumed.add("owner", name, tail["stem"], "one controller with several connectors", place)
                return Item(key, name, "controller", stem_key, None, place, False)
        stem = signed_stem(name)
        if stem is not None and guess.value not in _NO_SIGNS:
            without = guess_kind(stem)
            if without is not None and without.value == guess.value:
                component = self._component(stem, place)
                self.assumed.add("owner", name, component.name, "its name ends in the sign of a terminal", place)
                return Item(key, name, guess.value, component.key, component.body, place, False)
        if guess.value == "earth point" and body:
            self.assumed.add("body", name, body.value, f"the words '{body.words}'", place)
        return Item(
            key, name, guess.value, key, body.value if body and guess.value == "earth point" else None,
            place, False,
        )  # fmt: skip

    def _component(self, name: str, place: Place) -> Item:
        key = fold(name)
        if key not in self.items:
            guess = guess_kind(name)
            if guess:
                self.assumed.add("kind", name, guess.value, f"the words '{guess.words}'", place)
            self.items[key] = Item(key, name, guess.value if guess else None, key, None, place, False)
        return self.items[key]

    # ------------------------------------------------------------------ pins
    def pins(self) -> list[Pin]:
        pins: list[Pin] = []
        tables = self.reading.of("pins")
        for table in tables:
            for row in _rows(table):
                if row.get("component"):
                    place = RowPlace(table.file, table.sheet, row["row"], table.cells)
                    key = fold(row["connector"])
                    if key not in self.items:
                        self.pin_owner.setdefault(key, (row["component"], place.of("component")))
        for table in tables:
            for row in _rows(table):
                place = RowPlace(table.file, table.sheet, row["row"], table.cells)
                item = self.item(row["connector"], place.of("connector"))
                contact = self._contact(item, row["cavity"])
                role = row.get("role")
                if role:
                    known = _ROLES.get(fold(role))
                    if known is None:
                        guess = guess_role(role, item.kind)
                        known = guess.value if guess else None
                        self.assumed.add(
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

    def _contact(self, item: Item, cavity: str | None, unnamed: str = "") -> Contact:
        # The numbered terminals of a terminal block are apart, those of a bus bar are one piece.
        apart = item.kind == "post" and cavity is not None and "terminal" in item.key
        if item.kind in COMMON_KINDS and not apart:
            return Contact(item.key, "")
        if cavity is None:
            return Contact(item.key, unnamed)
        contact = Contact(item.key, fold_cavity(cavity))
        self.cavity_names.setdefault(contact, cavity)
        return contact

    # ------------------------------------------------------------------ wires
    def wires(self) -> tuple[list[Wire], list[tuple[Wire, Wire]]]:
        wires: list[Wire] = []
        by_number: dict[tuple[str, str | None], list[int]] = {}
        repeated: list[tuple[Wire, Wire]] = []
        names: dict[str, int] = {}
        by_ends: dict[tuple[Contact, Contact, str | None], int] = {}
        for table in self.reading.of("wires"):
            has_cavities = "from_cavity" in table.cells or "to_cavity" in table.cells
            seldom = _given(table, SELDOM["wires"])
            for row in (one for listed in _rows(table) for one in one_row_per_end(listed)):
                wire = self._wire(table, row, has_cavities, names)
                if seldom:
                    wire = replace(wire, **{column: row[column] for column in seldom})
                if wire.number is not None:
                    key = (fold(wire.number), wire.core)
                    earlier = by_number.setdefault(key, [])
                    twin = next((i for i in earlier if same_ends(wires[i], wire)), None)
                    half = next((i for i in earlier if _is_half(wires[i]) and _is_half(wire)), None)
                    if half is not None and wires[half].a != wire.a:
                        # Each connector's sheet lists its own end; the number joins them.
                        wires[half] = replace(merged(wires[half], wire), b=wire.a, b_place=wire.place)
                        self.assumed.add(
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
            if cavity is None and text in self.ahead.with_terminal:
                text, cavity, because = self.ahead.with_terminal[text]
                self.assumed.add("end", row[f"{side}_item"], f"{text}, terminal {cavity}", because,
                                 place.of(f"{side}_item"))  # fmt: skip
            item = self.item(text, place.of(f"{side}_item"))
            unnamed = ""
            if item.kind not in COMMON_KINDS and (
                has_cavities or core or cores > 1 or not self._one_terminal(text, item)
            ):
                unnamed = f"?{name}"
            contacts.append(self._contact(item, cavity, unnamed))
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
                self.assumed.add(
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

    def straps(self) -> list[Strap]:
        straps: list[Strap] = []
        for table in self.reading.of("straps"):
            for row in _rows(table):
                place = RowPlace(table.file, table.sheet, row["row"], table.cells)
                a, b = self._strap_end(row["from_body"]), self._strap_end(row["to_body"])
                straps.append(
                    Strap(
                        row["strap"] or f"of row {row['row']}",
                        a or "",
                        b or "",
                        row.get("size"),
                        row.get("length_m"),
                        row.get("resistance_ohm"),
                        place.of("strap"),
                    )
                )
        return straps

    def joints(self) -> Iterator[ListedJoint]:
        for table in self.reading.of("joints"):
            for row in _rows(table):
                if row["joint"]:
                    place = RowPlace(table.file, table.sheet, row["row"], table.cells)
                    ohm, aged_ohm = row.get("resistance_ohm"), row.get("aged_ohm")
                    yield ListedJoint(row["joint"], ohm, aged_ohm, place.of("joint"))

    def _strap_end(self, text: str | None) -> str | None:
        """Body at the end of a strap, which may be written as the earth point it is bolted to."""
        if not text:
            return None
        item = self.items.get(fold(text))
        if item and item.kind == "earth point" and item.body:
            return item.body
        return self._body_word(text)


def _is_half(wire: Wire) -> bool:
    """Whether only one end of a wire is given, and the other not said to be open."""
    return wire.a is not None and wire.b is None and not wire.b_open


_HEADINGS = {column.name: column.heading.lower() for form in FORMS.values() for column in form.columns}


def _heading(column: str) -> str:
    """Column as people call it."""
    return _HEADINGS.get(column, column.replace("_", " "))


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
    builder = _Builder(reading)
    builder.list_items()
    builder.ahead = look_ahead(reading, lambda name: fold(name) in builder.items)
    pins = builder.pins()
    wires, repeated = builder.wires()
    wires.extend(builder.wires_from_pins(pins, wires))
    find_mates(builder.items, wires, builder.assumed)
    branches, repeated_branches = branches_in(reading)
    points, repeated_points = points_in(reading, builder.assumed)
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
        items=builder.items,
        straps=tuple(builder.straps()),
        joints=tuple(builder.joints()),
        columns=columns,
        wire_tables=tuple(tables),
        pin_connectors=frozenset(
            pin.contact.item for pin in pins if (pin.place.file, pin.place.sheet) not in builder.pin_wires
        ),
        pin_wires=builder.pin_wires,
        branches=branches,
        repeated_branches=repeated_branches,
        points=points,
        repeated_points=repeated_points,
        assumptions=builder.assumed.listed(),
        cavity_names=builder.cavity_names,
        columns_read=tuple(
            dict.fromkeys(
                (_heading(column), Place(table.file, table.sheet, "").list_name)
                for table in reading.tables
                for column in table.cells
            )
        ),
        unreadable=tuple(replace(c, column=_heading(c.column)) for c in reading.unreadable),
    )
