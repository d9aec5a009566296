"""Everything of a list but its wires: components, fuses, splices, earth points, pins, straps, parts, branches, points,
joints. Each is known by its name, a strap without one by its ends."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import fields as fields_of
from functools import partial
from typing import Any, NamedTuple

from harnessdrc.compare.matching import Pairing, Traits
from harnessdrc.compare.values import comparable, told
from harnessdrc.compare.wires import Side
from harnessdrc.comparison import FieldChange, ObjectChange
from harnessdrc.harness.elements import Contact, Details, Item, Pin, Strap
from harnessdrc.harness.names import fold, natural_key
from harnessdrc.places import Place, RowPlace
from harnessdrc.tables.columns import FORMS

__all__ = ["thing_changes"]

KINDS = (
    "component", "connector", "fuse", "splice", "earth point", "cavity", "strap", "part", "branch", "point", "joint",
)  # fmt: skip
"""Kinds of object besides wires, in the order they are told."""

_LISTED_KINDS = frozenset({"fuse", "splice", "earth point"})
"""Kinds with a list of their own, in which no column says so."""

_OWN_KINDS = _LISTED_KINDS | {"connector"}


class _Said(NamedTuple):
    """A value: for comparing, for the eye, and its cell."""

    value: Hashable
    text: str | None
    place: Place | None


class _Thing(NamedTuple):
    """One object of an issue.

    `keys` are what it may be known by, the surest first; None for one it does not have. `cells` gives the cell of a
    column that says nothing, by its heading.
    """

    kind: str
    name: str
    keys: tuple[Hashable, ...]
    place: Place | None
    said: Mapping[str, _Said]
    listed: bool = True
    cells: Callable[[str], Place | None] | None = None

    def cell(self, heading: str) -> Place | None:
        """Cell of one of its columns; of its name where it has none of its own."""
        said = self.said.get(heading)
        place = said.place if said is not None else self.cells(heading) if self.cells is not None else None
        return place or self.place


def thing_changes(old: Side, new: Side, wire_names: Mapping[str, str]) -> list[ObjectChange]:
    """What is different in everything but the wires.

    Parameters
    ----------
    old, new : Side
        The two issues.
    wire_names : mapping of str to str
        Name of a wire in the old issue → in the new one, for what names wires.

    Returns
    -------
    list of ObjectChange
        In the order of `KINDS`, each in the natural order of names.
    """
    changes: list[ObjectChange] = []
    for things in (_items, _straps, _parts, _branches, _points, _joints):
        changes += _compared(_each_once(things(old)), _each_once(things(new)))
    changes += _compared(list(_pins(old, new, wire_names)), list(_pins(new, old, {})))
    changes.sort(key=lambda change: (KINDS.index(change.kind), natural_key(change.name), change.edit))
    return changes


def _each_once(things: Iterable[_Thing]) -> list[_Thing]:
    """Rows that say the same of one name, once."""
    once: dict[Hashable, _Thing] = {}
    for thing in things:
        said = tuple((column, said.value) for column, said in thing.said.items())
        once.setdefault((thing.keys, said) if thing.kind != "strap" else id(thing), thing)
    return list(once.values())


def _compared(old: Sequence[_Thing], new: Sequence[_Thing]) -> Iterator[ObjectChange]:
    columns = sorted({column for thing in (*old, *new) for column in thing.said})

    def traits(thing: _Thing, _: bool) -> Traits:
        return tuple(thing.said[column].value if column in thing.said else None for column in columns)

    pairing = Pairing(old, new, traits)
    for at in range(max((len(thing.keys) for thing in (*old, *new)), default=0)):
        pairing.by(_key_at(at))
    for one, other in sorted(pairing.pairs):
        changed = _changed(old[one], new[other])
        if changed is not None:
            yield changed
    for one in pairing.left_old:
        if old[one].listed:
            yield _whole(old[one], gone=True)
    for other in pairing.left_new:
        if new[other].listed:
            yield _whole(new[other], gone=False)


def _key_at(at: int) -> Callable[[_Thing, bool], Iterable[Hashable]]:
    def keys(thing: _Thing, _: bool) -> Iterable[Hashable]:
        key = thing.keys[at] if at < len(thing.keys) else None
        return () if key is None else (key,)

    return keys


_NOTHING = _Said(None, None, None)


def _changed(old: _Thing, new: _Thing) -> ObjectChange | None:
    if old.listed != new.listed and not _renamed(old, new):
        return _whole(old, gone=True) if old.listed else _whole(new, gone=False)
    fields = []
    if _renamed(old, new):
        fields.append(FieldChange("renamed", "Name", old.name, new.name, old.place, new.place))
    for column in dict.fromkeys((*new.said, *old.said)):
        was, now = old.said.get(column, _NOTHING), new.said.get(column, _NOTHING)
        if was.value != now.value:
            fields.append(FieldChange("changed", column, was.text, now.text, old.cell(column), new.cell(column)))
    if not fields:
        return None
    return ObjectChange(new.kind, "changed", old.name, new.name, old.place, new.place, tuple(fields))


def _renamed(old: _Thing, new: _Thing) -> bool:
    return fold(old.name) != fold(new.name) and old.kind not in ("cavity", "strap")


def _whole(thing: _Thing, *, gone: bool) -> ObjectChange:
    given = [(column, said) for column, said in thing.said.items() if said.text is not None]
    if gone:
        fields = tuple(FieldChange("removed", column, said.text, None, said.place, None) for column, said in given)
        return ObjectChange(thing.kind, "removed", thing.name, None, thing.place, None, fields)
    fields = tuple(FieldChange("added", column, None, said.text, None, said.place) for column, said in given)
    return ObjectChange(thing.kind, "added", None, thing.name, None, thing.place, fields)


def _row(form: str, columns: Iterable[str], thing: Any, place: RowPlace, **other: Hashable) -> dict[str, _Said]:
    """What an object says in columns that are fields of it; `other` gives what they are compared by instead."""
    return {
        FORMS[form].column(column).heading: _Said(
            other[column] if column in other else comparable(getattr(thing, column)),
            told(column, getattr(thing, column)),
            place.of(column),
        )
        for column in columns
    }


# ---------------------------------------------------------------------- items
_ITEM_COLUMNS = (
    "kind", "current_a", "resistance_ohm", "capacitance_f", "voltage_v", "case_earthed", "rating_a",
)  # fmt: skip
_DETAIL_COLUMNS = tuple(field.name for field in fields_of(Details) if field.name not in ("row", "fires"))
_ITEM_HEADINGS = {
    column.name: column.heading
    for form in ("branches", "splices", "fuses", "earth_points", "components")
    for column in FORMS[form].columns
}

_ITEM_COLUMN_OF = {heading: column for column, heading in _ITEM_HEADINGS.items()}


def _items(side: Side) -> Iterator[_Thing]:
    """Items with a row of their own, and those that only wires name: these are told where they have another name."""
    names = {side.renamed.item(key, side.is_new): item.name for key, item in side.harness.items.items()}
    for key, item in side.harness.items.items():
        known = side.renamed.item(key, side.is_new)
        if not item.listed and known == key and known not in side.renamed.items.values():
            continue
        kind = item.kind if item.kind in _OWN_KINDS and item.kind is not None else "component"
        said = _of_item(side, item, names) if item.listed else {}
        yield _Thing(kind, item.name, (known,), item.place, said, item.listed, partial(_item_cell, item))


def _item_cell(item: Item, heading: str) -> Place | None:
    """Cell of a column of an item, by its heading."""
    return item.cell(_ITEM_COLUMN_OF[heading])


def _of_item(side: Side, item: Item, names: Mapping[str, str]) -> dict[str, _Said]:
    said: dict[str, _Said] = {}

    def add(column: str, value: Hashable, text: str | None) -> None:
        said[_ITEM_HEADINGS[column]] = _Said(value, text, item.cell(column))

    # A connector takes kind and place of its device, with which they are told.
    owner = side.harness.items.get(item.owner) if item.owner != item.key else None
    for column in _ITEM_COLUMNS:
        value = getattr(item, column)
        if column == "kind" and (owner is not None or value in _LISTED_KINDS):
            continue
        if value is not None:
            add(column, comparable(value), told(column, value))
    if item.body is not None and (owner is None or item.body != owner.body):
        add("body" if item.kind == "earth point" else "place", fold(item.body), item.body)
    row = item.details.row
    if item.mate is not None and row is not None and "mate" in row.cells:  # else known by the names of its halves
        mate = side.renamed.item(item.mate, side.is_new)
        add("mate", mate, names.get(mate, item.mate))
    if item.details.fires:
        fired = tuple(tuple(side.renamed.item(key, side.is_new) for key in output) for output in item.details.fires)
        shown = tuple(tuple(names.get(key, key) for key in output) for output in fired)
        add("fires", frozenset(frozenset(output) for output in fired), told("fires", shown))
    for column in _DETAIL_COLUMNS:
        value = getattr(item.details, column)
        if value is None:
            continue
        if column == "branch":
            add(column, side.renamed.branch(fold(value), side.is_new), value)
        else:
            add(column, comparable(value), told(column, value))
    return said


# ---------------------------------------------------------------------- pins
def _pins(side: Side, beside: Side, wire_names: Mapping[str, str]) -> Iterator[_Thing]:
    """Cavities of the pin lists; `beside` is the other issue.

    Where the rows of one sheet are pins with their destination, what they say of a wire is told with the wire.
    """
    lines: dict[Contact, list[Pin]] = {}
    for pin in side.harness.pins:
        lines.setdefault(side.renamed.contact(pin.contact, side.is_new), []).append(pin)
    wired = _contacts(side) | _contacts(beside)
    there: dict[Contact, set[str]] = {}
    for pin in beside.harness.pins:
        if pin.wire is not None:
            there.setdefault(beside.renamed.contact(pin.contact, beside.is_new), set()).add(fold(pin.wire))
    for contact, pins in lines.items():
        on_wires_row = all((pin.place.file, pin.place.sheet) in side.harness.pin_wires for pin in pins)
        told_with_wire = on_wires_row and contact in wired
        said: dict[str, _Said] = {}
        for column in ("signal", "role", "wire", "terminal", "seal"):
            if told_with_wire and column in ("signal", "wire"):
                continue
            given = sorted(
                ((comparable(_of_pin(pin, column, wire_names, there.get(contact, ()))), getattr(pin, column), pin)
                 for pin in pins if getattr(pin, column) is not None),
                key=lambda each: str(each[0]),
            )  # fmt: skip
            if given:
                # Two rows for one cavity say what both say, in whatever order they stand.
                values = tuple(dict.fromkeys(value for value, _, _ in given))
                text = ", ".join(dict.fromkeys(text for _, text, _ in given))
                said[FORMS["pins"].column(column).heading] = _Said(values, text, given[0][2].place.of(column))
        if not told_with_wire and "Signal" not in said and all(pin.unused for pin in pins):
            said["Not used"] = _Said(True, "yes", pins[0].place.of("signal", "cavity"))
        first = min(pins, key=lambda pin: (pin.place.file, pin.place.sheet, pin.place.row))
        name = side.harness.label(pins[0].contact)
        place = first.place.of("cavity", "connector")
        cells = partial(_row_cell, "pins", first.place)
        yield _Thing("cavity", name, (contact,), place, said, not told_with_wire, cells)


def _row_cell(form: str, row: RowPlace, heading: str) -> Place | None:
    """Cell of a column of a row, by its heading."""
    return next((row.of(column.name) for column in FORMS[form].columns if column.heading == heading), None)


def _of_pin(pin: Pin, column: str, wire_names: Mapping[str, str], there: Collection[str]) -> str | None:
    """What a line says in a column; a wire with another number is the same unless both issues name it alike."""
    value: str | None = getattr(pin, column)
    if column == "wire" and value is not None and fold(value) not in there:
        return wire_names.get(fold(value), value)
    return value


def _contacts(side: Side) -> set[Contact]:
    contacts = (contact for wire in side.harness.wires for contact in (wire.a, wire.b) if contact is not None)
    return {side.renamed.contact(contact, side.is_new) for contact in contacts}


# ---------------------------------------------------------------------- the other tables
_NAMELESS = re.compile(r"of row \d+")


def _straps(side: Side) -> Iterator[_Thing]:
    for strap in side.harness.straps:
        ends = tuple(sorted((fold(strap.a), fold(strap.b))))
        name = None if _NAMELESS.fullmatch(strap.name) else fold(strap.name)
        shown = strap.name if name is not None else f"{strap.a} – {strap.b}"
        keys = (None if name is None else (name, ends), None if name is None else (name,), ends)
        yield _Thing("strap", shown, keys, strap.place, _of_strap(strap, name))


def _of_strap(strap: Strap, name: str | None) -> dict[str, _Said]:
    ends = sorted((strap.a, strap.b), key=fold)
    said = {
        "Strap": _Said(name, strap.name if name is not None else None, strap.place),
        "Ends": _Said(tuple(map(fold, ends)), " – ".join(end or "?" for end in ends), strap.place),
    }
    for column in ("size", "length_m", "resistance_ohm"):
        value = getattr(strap, column)
        heading = FORMS["straps"].column(column).heading
        said[heading] = _Said(comparable(value), told(column, value), strap.place)
    return said


_PART_COLUMNS = tuple(column.name for column in FORMS["parts"].columns if column.name not in ("part", "note"))


def _parts(side: Side) -> Iterator[_Thing]:
    repeated = [other for _, other in side.harness.repeated_parts]
    for part in (*side.harness.parts.values(), *repeated):
        said = _row("parts", _PART_COLUMNS, part, part.place)
        yield _Thing("part", part.name, (part.key,), part.place.of("part"), said)


def _branches(side: Side) -> Iterator[_Thing]:
    repeated = [other for _, other in side.harness.repeated_branches]
    for branch in (*side.harness.branches.values(), *repeated):
        ends = sorted(filter(None, (branch.from_point, branch.to_point)), key=fold)
        said = {"Points": _Said(tuple(map(fold, ends)), " – ".join(ends) or None, branch.place.of("from_point"))}
        columns = ("length_m", "zone", "sleeve_m", "sleeve_shrunk_m", "bend_m")
        said |= _row("branches", columns, branch, branch.place)
        known = side.renamed.branch(branch.key, side.is_new)
        yield _Thing("branch", branch.name, (known,), branch.place.of("branch"), said)


def _points(side: Side) -> Iterator[_Thing]:
    repeated = [other for _, other in side.harness.repeated_points]
    for point in (*side.harness.points.values(), *repeated):
        said = _row("points", ("x_m", "y_m", "z_m"), point, point.place)
        yield _Thing("point", point.name, (point.key,), point.place.of("point"), said)


def _joints(side: Side) -> Iterator[_Thing]:
    for joint in side.harness.joints:
        said = {
            FORMS["joints"].column(column).heading: _Said(
                comparable(getattr(joint, column)), told(column, getattr(joint, column)), joint.place
            )
            for column in ("resistance_ohm", "aged_ohm")
        }
        yield _Thing("joint", joint.name, (fold(joint.name),), joint.place, said)
