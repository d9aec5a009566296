"""Items of the lists: what they name outright, and what is inferred from names met in wires and pins.

Components, earth points, fuses and splices first; what no list has is made when a wire or a pin names it. The kind of
a component, which device a connector belongs to, and the body of an earth point come from words, once, and each
inference is listed as an assumption with the first cell it applies to.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import replace

from harnessdrc.harness.ahead import Ahead
from harnessdrc.harness.assumed import Assumed
from harnessdrc.harness.elements import COMMON_KINDS, Contact, Details, Item
from harnessdrc.harness.fired import add_fired, fired_names
from harnessdrc.harness.mates import halves_of
from harnessdrc.harness.names import fold, fold_cavity
from harnessdrc.harness.rows import columns_there, rows_of
from harnessdrc.harness.terminals import signed_stem
from harnessdrc.harness.vocabulary import guess_body, guess_kind
from harnessdrc.places import Place, RowPlace
from harnessdrc.tables.columns import SELDOM
from harnessdrc.tables.model import Reading, Table
from harnessdrc.tables.words import BODIES, KINDS, PLACES

__all__ = ["ItemBook"]

_KINDS = {fold(name): name for name, _ in KINDS}
_BODIES = {fold(name): name for name, _ in (*BODIES, *PLACES)}
_UNIT_TAIL = re.compile(
    r"^(?P<stem>[^,;:]*?[A-Za-z])[ _\-./](?P<unit>[A-Za-z]|\d{1,2}|(?:plug|conn|connector|socket)[ _\-]?\w{0,3})$"
)

_NO_SIGNS = frozenset({*COMMON_KINDS, "fuse", "connector"})
"""Kinds whose name may end in a sign without its being one of two terminals of a device: ``Busbar +``."""

_SEPARATOR = re.compile(r"[ _\-./:]")
_OF_ITEMS = tuple(column for column in SELDOM["components"] if column != "fires")


def _fired_in(table: Table) -> frozenset[str]:
    """Folded names that a component list says are fired."""
    texts = (text for text in table.frame["fires"].tolist() if text)
    return frozenset(fold(name) for text in texts for output in fired_names(text) for name in output)


def _some_plug(name: str) -> bool:
    """Whether a name says only that it is some kind of plug: ``PLUG 1``."""
    guess = guess_kind(name)
    return guess is not None and guess.value == "connector"


class ItemBook:
    """Every item of a harness by its key, and every inference made of names.

    Parameters
    ----------
    reading : Reading
        Normalized tables of all files.
    """

    def __init__(self, reading: Reading) -> None:
        self.reading = reading
        self.items: dict[str, Item] = {}
        self.assumed = Assumed()
        self.cavity_names: dict[Contact, str] = {}
        """Cavities as people write them."""
        self.pin_owner: dict[str, tuple[str, Place]] = {}
        """Component that a pin list names for a connector that is in no list, with the cell, by the connector's key."""
        self.ahead = Ahead()
        """What the wire lists tell of names before their rows are read."""

    def list_items(self) -> None:
        """Items the lists name outright: components, earth points, fuses, splices."""
        fires: list[tuple[str, str, Place]] = []
        kinds_given: set[str] = set()
        for table in self.reading.of("components"):
            seldom, fired = columns_there(table, _OF_ITEMS), "fires" in table.frame
            targets = _fired_in(table) if fired else frozenset()
            for row in rows_of(table):
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
                body = self.body_word(row.get("place"))
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
        self._connectors_of_devices()
        for table in self.reading.of("earth_points"):
            for row in rows_of(table):
                place = RowPlace(table.file, table.sheet, row["row"], table.cells)
                key = fold(row["earth_point"])
                body = self.body_word(row.get("body"))
                self.items[key] = replace(
                    self._listed(key, row["earth_point"], place.of("earth_point")),
                    kind="earth point", body=body, resistance_ohm=row.get("resistance_ohm"),
                )  # fmt: skip
        for form, column, kind in (("fuses", "fuse", "fuse"), ("splices", "splice", "splice")):
            for table in self.reading.of(form):
                for row in rows_of(table):
                    place = RowPlace(table.file, table.sheet, row["row"], table.cells)
                    key = fold(row[column])
                    listed = self._listed(key, row[column], place.of(column))
                    self.items[key] = replace(listed, kind=kind, rating_a=row.get("rating_a"))
                    if kind == "fuse":
                        family, colour = row.get("family"), row.get("colour")
                        details = replace(listed.details, family=family, colour=colour, row=place)
                        self.items[key] = replace(self.items[key], details=details)
                        continue
                    branch, distance_m, part = row.get("branch"), row.get("distance_m"), row.get("part")
                    if branch is not None or distance_m is not None or part is not None:
                        of = place if part is not None else listed.details.row
                        details = replace(listed.details, branch=branch, distance_m=distance_m, part=part, row=of)
                        self.items[key] = replace(self.items[key], details=details)
        if fires:
            kinds_given |= {key for key, item in self.items.items() if item.kind in ("earth point", "fuse", "splice")}
            add_fired(self.items, fires, kinds_given, self.assumed)

    def _connectors_of_devices(self) -> None:
        """Connectors with a line of their own that are the device's whose name theirs begins with: ECU-A of ECU.

        Inline connectors have a mate, or their other half is listed too.
        """
        mated = {item.mate for item in self.items.values() if item.mate}
        known = self.items.keys()
        loose = {
            key: item
            for key, item in self.items.items()
            if item.kind == "connector" and not item.mate and key not in mated and not halves_of(key) & known
        }
        for key, item in loose.items():
            device = self._device_in(key, beside=loose)
            if device is not None and device.kind != "connector":
                self.assumed.add("owner", item.name, device.name, f"its name begins with '{device.name}'", item.place)
                body = item.body or device.body
                self.items[key] = replace(item, kind=device.kind, owner=device.key, body=body)

    def give_connector(self, key: str, component: str, place: Place) -> None:
        """A connector with a line of its own is the device's that the pin list names, unless it is an inline one."""
        item = self.items[key]
        if item.kind != "connector" or item.owner != key or item.mate or fold(component) == key:
            return
        device = self.component(component, place)
        if device.kind != "connector":
            self.items[key] = replace(item, kind=device.kind, owner=device.key, body=item.body or device.body)

    def _device_in(self, key: str, beside: Collection[str] = ()) -> Item | None:
        """Listed component whose name another begins with, those `beside` left out; the longest of several."""
        for end in sorted((m.start() for m in _SEPARATOR.finditer(key)), reverse=True):
            device = self.items.get(key[:end])
            if device is None or not device.listed or key[:end] in beside:
                continue
            if device.kind not in (*COMMON_KINDS, "fuse"):
                return device
        return None

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

    def body_word(self, text: str | None) -> str | None:
        """Body that a cell names; its own words where they mean none that is known."""
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
            component = self.component(owner[0], owner[1])
            return Item(key, name, component.kind, component.key, component.body, place, False)
        device = self._device_in(key)
        if device is not None:
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
                component = self.component(stem, place)
                self.assumed.add("owner", name, component.name, "its name ends in the sign of a terminal", place)
                return Item(key, name, guess.value, component.key, component.body, place, False)
        if guess.value == "earth point" and body:
            self.assumed.add("body", name, body.value, f"the words '{body.words}'", place)
        return Item(
            key, name, guess.value, key, body.value if body and guess.value == "earth point" else None,
            place, False,
        )  # fmt: skip

    def component(self, name: str, place: Place) -> Item:
        """Component by name, made when no list has it."""
        key = fold(name)
        if key not in self.items:
            guess = guess_kind(name)
            if guess:
                self.assumed.add("kind", name, guess.value, f"the words '{guess.words}'", place)
            self.items[key] = Item(key, name, guess.value if guess else None, key, None, place, False)
        return self.items[key]

    def contact(self, item: Item, cavity: str | None, unnamed: str = "") -> Contact:
        """Contact of an item at a cavity; all cavities of what is one piece of metal are one contact."""
        # The numbered terminals of a terminal block are apart, those of a bus bar are one piece.
        apart = item.kind == "post" and cavity is not None and "terminal" in item.key
        if item.kind in COMMON_KINDS and not apart:
            return Contact(item.key, "")
        if cavity is None:
            return Contact(item.key, unnamed)
        contact = Contact(item.key, fold_cavity(cavity))
        self.cavity_names.setdefault(contact, cavity)
        return contact
