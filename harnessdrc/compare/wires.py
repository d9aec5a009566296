"""Wires of two issues: which is which, and what is different.

A wire is known by its number and both its ends; then by its ends alone (it has another number), by its number and one
end (the other has moved), by its number. Of alike wires in parallel those that agree in most are the same.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator
from typing import Any, NamedTuple

from harnessdrc.compare.matching import Pairing, Traits, agreement
from harnessdrc.compare.renamed import Renamed, end_key, is_specific
from harnessdrc.compare.values import comparable, told
from harnessdrc.comparison import ColumnChange, Edit, Edits, FieldChange, ObjectChange
from harnessdrc.harness.elements import Contact, Harness, Wire
from harnessdrc.harness.names import fold, natural_key
from harnessdrc.places import Place
from harnessdrc.tables.columns import FORMS

__all__ = ["Side", "WirePairs", "wire_changes", "wire_pairs"]

_EDITS: dict[str, Edit] = {
    "size": "resized", "colour": "recoloured", "length_m": "length", "signal": "signal", "twist": "changed",
    "lay_m": "changed", "untwisted_m": "changed", "shield": "changed", "shield_material": "changed",
    "current_a": "changed", "branch": "changed", "insulation": "changed", "option": "changed", "note": "changed",
}  # fmt: skip
"""Columns of a wire that are fields of it under the same name → what a change of them is."""

_FITTED = ("terminal", "seal")
_HEADINGS = {column.name: column.heading for column in FORMS["wires"].columns}


class Side(NamedTuple):
    """One issue while it is compared."""

    harness: Harness
    is_new: bool
    renamed: Renamed

    def ends(self, wire: Wire) -> tuple[tuple[str, str], tuple[str, str]]:
        """Keys of both ends of a wire, as the new issue calls its items."""
        return self.end(wire.a, wire.a_open), self.end(wire.b, wire.b_open)

    def end(self, contact: Contact | None, is_open: bool) -> tuple[str, str]:
        """Key of one end."""
        return end_key(None if contact is None else self.renamed.contact(contact, self.is_new), is_open)

    def value(self, wire: Wire, column: str) -> Hashable:
        """What a wire says in a column, such that it can be compared."""
        if column == "colour":
            return wire.colour or comparable(wire.colour_written)
        if column == "branch" and wire.branch:
            return self.renamed.branch(fold(wire.branch), self.is_new)
        return comparable(getattr(wire, column))


class WirePairs(NamedTuple):
    """Wires of both issues that are the same, and those that only one has."""

    same: tuple[tuple[Wire, Wire], ...]
    removed: tuple[Wire, ...]
    added: tuple[Wire, ...]

    @property
    def names(self) -> dict[str, str]:
        """Name of a wire in the old issue → in the new one."""
        return {old.name: new.name for old, new in self.same}


def _number(wire: Wire) -> tuple[str, Hashable] | None:
    return None if wire.number is None else (fold(wire.number), comparable(wire.core))


def wire_pairs(old: Side, new: Side) -> WirePairs:
    """Pair the wires of two issues.

    Parameters
    ----------
    old, new : Side
        The two issues.
    """
    sides = (old, new)

    def traits(wire: Wire, is_new: bool) -> Traits:
        side = sides[is_new]
        own = tuple(side.value(wire, column) for column in _EDITS)
        return (*own, _number(wire), *sorted(side.ends(wire)), wire.cores, *_fitted_traits(wire, side))

    pairing = Pairing(old.harness.wires, new.harness.wires, traits)

    def ends(wire: Wire, is_new: bool) -> tuple[tuple[str, str], ...]:
        return tuple(sorted(sides[is_new].ends(wire)))

    def number_and_ends(wire: Wire, is_new: bool) -> Iterable[Hashable]:
        number = _number(wire)
        return () if number is None else ((number, ends(wire, is_new)),)

    def ends_alone(wire: Wire, is_new: bool) -> Iterable[Hashable]:
        return (ends(wire, is_new),)

    def number_and_an_end(wire: Wire, is_new: bool) -> Iterable[Hashable]:
        number = _number(wire)
        return () if number is None else {(number, end) for end in ends(wire, is_new) if end[0]}

    def number_alone(wire: Wire, is_new: bool) -> Iterable[Hashable]:
        number = _number(wire)
        return () if number is None else (number,)

    def an_end(wire: Wire, is_new: bool) -> Iterable[Hashable]:
        return {end for end in ends(wire, is_new) if end[0]}

    pairing.by(number_and_ends)
    pairing.by(ends_alone, _Rivals(pairing, number_and_an_end).may_be_renamed)
    pairing.by(number_and_an_end)
    pairing.by(number_alone)
    pairing.by(an_end, lambda one, other: _moved_without_number(pairing, one, other))
    return WirePairs(
        tuple((old.harness.wires[one], new.harness.wires[other]) for one, other in sorted(pairing.pairs)),
        tuple(old.harness.wires[one] for one in pairing.left_old),
        tuple(new.harness.wires[other] for other in pairing.left_new),
    )


def _fitted_traits(wire: Wire, side: Side) -> tuple[Hashable, ...]:
    """Terminals and seals, in the order of the ends, so that a wire written the other way round is the same."""
    fitted = [(end, wire.fitted[2 * at : 2 * at + 2]) for at, end in enumerate(side.ends(wire))]
    return tuple(comparable(text) for _, texts in sorted(fitted, key=lambda each: each[0]) for text in texts)


_OWN = slice(0, len(_EDITS))
"""Traits of a wire besides its number and its ends."""


class _Rivals:
    """Wires that have a candidate's number on the other side and an end in common: it may have moved there instead."""

    def __init__(self, pairing: Pairing[Wire], keys: Any) -> None:
        self._pairing = pairing
        self._old: dict[Hashable, list[int]] = {}
        self._new: dict[Hashable, list[int]] = {}
        self._keys = keys
        for at, left, wires, is_new in (
            (self._old, pairing.left_old, pairing.old, False),
            (self._new, pairing.left_new, pairing.new, True),
        ):
            for number in left:
                for key in keys(wires[number], is_new):
                    at.setdefault(key, []).append(number)

    def may_be_renamed(self, old: int, new: int) -> bool:
        """Whether two wires with the same ends are one: nothing else speaks more clearly for one of them."""
        pairing = self._pairing
        one, other = pairing.old[old], pairing.new[new]
        old_traits, new_traits = pairing.old_traits[old], pairing.new_traits[new]
        own = agreement(old_traits[_OWN], new_traits[_OWN])
        ends = (end_key(one.a, one.a_open), end_key(one.b, one.b_open))
        if not any(map(is_specific, ends)) and not _says_the_same(one, old_traits, new_traits):
            return False
        there = (n for key in self._keys(one, False) for n in self._new.get(key, ()) if n in pairing.left_new)
        if any(agreement(old_traits[_OWN], pairing.new_traits[n][_OWN]) > own for n in there):
            return False
        here = (n for key in self._keys(other, True) for n in self._old.get(key, ()) if n in pairing.left_old)
        return not any(agreement(pairing.old_traits[n][_OWN], new_traits[_OWN]) > own for n in here)


_COLUMNS = tuple(_EDITS)
_SIGNAL, _SIZE, _COLOUR = (_COLUMNS.index(name) for name in ("signal", "size", "colour"))


def _says_the_same(wire: Wire, old_traits: Traits, new_traits: Traits) -> bool:
    """Whether signal, or size and colour where there is none, tell two wires without cavities as one."""
    if old_traits[_SIGNAL] is not None or new_traits[_SIGNAL] is not None:
        return old_traits[_SIGNAL] == new_traits[_SIGNAL]
    return (old_traits[_SIZE], old_traits[_COLOUR]) == (new_traits[_SIZE], new_traits[_COLOUR])


def _moved_without_number(pairing: Pairing[Wire], old: int, new: int) -> bool:
    """Whether two wires, one of them without a number, are one that has moved: an end in common, all else alike."""
    one, other = pairing.old[old], pairing.new[new]
    if one.number is not None and other.number is not None:
        return False
    old_traits, new_traits = pairing.old_traits[old], pairing.new_traits[new]
    if any(old_traits[at] != new_traits[at] for at in (_SIGNAL, _SIZE, _COLOUR)):
        return False
    first, second = len(_EDITS) + 1, len(_EDITS) + 2
    common = {old_traits[first], old_traits[second]} & {new_traits[first], new_traits[second]}
    specific = any(isinstance(end, tuple) and is_specific((end[0], end[1])) for end in common)
    return specific or old_traits[_SIGNAL] is not None


# ---------------------------------------------------------------------- what is different
class _Column(NamedTuple):
    """What a wire says in one column: for comparing, for the eye, and its cell."""

    value: Hashable
    text: str | None
    place: Place | None


def wire_changes(old: Side, new: Side, pairs: WirePairs) -> tuple[list[ColumnChange], list[ObjectChange]]:
    """What is different in the wires of two issues.

    Parameters
    ----------
    old, new : Side
        The two issues.
    pairs : WirePairs
        Their wires.

    Returns
    -------
    columns : list of ColumnChange
        Columns that only one issue has at all.
    changes : list of ObjectChange
        In the natural order of names; a column that only one issue has is left out of these.
    """
    columns, alone = _lone_columns(old, new, pairs)
    changes: list[ObjectChange] = []
    for one, other in pairs.same:
        fields = [field for field in _differences(old, one, new, other) if field.column not in alone]
        if fields:
            changes.append(
                ObjectChange(
                    "wire", "changed", one.name, other.name, _name_place(one), _name_place(other), tuple(fields)
                )
            )
    for wire in pairs.removed:
        fields = [
            FieldChange("removed", heading, column.text, None, column.place, None)
            for heading, column in _said(old, wire).items()
            if column.text is not None
        ]
        changes.append(ObjectChange("wire", "removed", wire.name, None, _name_place(wire), None, tuple(fields)))
    for wire in pairs.added:
        fields = [
            FieldChange("added", heading, None, column.text, None, column.place)
            for heading, column in _said(new, wire).items()
            if column.text is not None
        ]
        changes.append(ObjectChange("wire", "added", None, wire.name, None, _name_place(wire), tuple(fields)))
    changes.sort(key=lambda change: (natural_key(change.name), change.edit))
    return columns, changes


def _name_place(wire: Wire) -> Place:
    return wire.place.of("wire", "from_item")


def _lone_columns(old: Side, new: Side, pairs: WirePairs) -> tuple[list[ColumnChange], set[str]]:
    """Columns that one issue has and the other does not know at all."""
    there = [
        frozenset().union(*(columns for _, columns, _ in side.harness.wire_tables)) for side in (old, new)
    ]
    changes: list[ColumnChange] = []
    if not all(side.harness.wire_tables for side in (old, new)):
        return changes, set()
    # An end, or that a wire has a number at all, is no column to leave out.
    telling = [*_EDITS, *(f"{side}_{what}" for side in ("from", "to") for what in _FITTED)]
    ways: tuple[tuple[Side, frozenset[str], frozenset[str], Edits], ...] = (
        (old, there[0], there[1], "removed"), (new, there[1], there[0], "added"),
    )  # fmt: skip
    for side, here, other, edit in ways:
        for column in telling:
            if column not in here or column in other:
                continue
            heading = _HEADINGS[column]
            wires = side.harness.wires
            filled = sum(1 for wire in wires if _given(wire, column))
            if filled:
                changes.append(ColumnChange(edit, heading, filled, side.harness.columns.get(column)))
    return changes, {change.column for change in changes}


def _given(wire: Wire, column: str) -> bool:
    """Whether a wire says anything in a column."""
    if column in _EDITS:
        return getattr(wire, column) is not None or (column == "colour" and wire.colour_written is not None)
    side, what = column.split("_")
    return wire.fitted[_FITTED.index(what) + (2 if side == "to" else 0)] is not None


def _said(side: Side, wire: Wire, flipped: bool = False) -> dict[str, _Column]:
    """Everything a wire says, by heading; `flipped` tells it with its ends the other way round."""
    said = {_HEADINGS["wire"]: _Column(_number(wire), wire.name if wire.number else None, wire.place.of("wire"))}
    ends = [(wire.a, wire.a_open, "from"), (wire.b, wire.b_open, "to")]
    for heading, (contact, is_open, listed) in zip(("From", "To"), reversed(ends) if flipped else ends, strict=True):
        key = side.end(contact, is_open)
        if contact is None:
            said[heading] = _Column(key, "open" if is_open else None, wire.place.of(f"{listed}_item"))
        else:
            said[heading] = _Column(key, side.harness.label(contact), wire.end_place(contact))
    for column in _EDITS:
        text = wire.colour or wire.colour_written if column == "colour" else told(column, getattr(wire, column))
        said[_HEADINGS[column]] = _Column(side.value(wire, column), text, wire.place.of(column))
    for at, what in enumerate(_FITTED):
        listed_at = ("to", "from") if flipped else ("from", "to")
        for shown, listed in zip(("from", "to"), listed_at, strict=True):
            text = wire.fitted[at if listed == "from" else at + 2]
            said[_HEADINGS[f"{shown}_{what}"]] = _Column(comparable(text), text, wire.place.of(f"{listed}_{what}"))
    if wire.cores > 1:
        said["Cores"] = _Column(wire.cores, str(wire.cores), wire.place.of("size"))
    return said


def _flipped(old: Side, one: Wire, new: Side, other: Wire) -> bool:
    """Whether the new issue writes a wire from its other end."""
    (a, b), (c, d) = old.ends(one), new.ends(other)

    def alike(ends: tuple[tuple[str, str], ...], others: tuple[tuple[str, str], ...]) -> tuple[int, int]:
        pairs = list(zip(ends, others, strict=True))
        return sum(x == y for x, y in pairs), sum(x[0] == y[0] for x, y in pairs)

    return alike((a, b), (d, c)) > alike((a, b), (c, d))


def _differences(old: Side, one: Wire, new: Side, other: Wire) -> Iterator[FieldChange]:
    before = _said(old, one, _flipped(old, one, new, other))
    after = _said(new, other)
    nothing = _Column(None, None, None)
    for heading in dict.fromkeys((*after, *before)):
        was, now = before.get(heading, nothing), after.get(heading, nothing)
        if was.value != now.value:
            yield FieldChange(_edit_of(heading), heading, was.text, now.text, was.place, now.place)


_EDIT_OF: dict[str, Edit] = {
    _HEADINGS["wire"]: "renamed", "From": "moved", "To": "moved", **{_HEADINGS[c]: edit for c, edit in _EDITS.items()},
}  # fmt: skip


def _edit_of(heading: str) -> Edit:
    return _EDIT_OF.get(heading, "changed")
