"""Connectors, components, earth points and branches that have another name in the new issue.

A renamed connector would otherwise look like a move of every wire in it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterator, Mapping
from typing import NamedTuple

from harnessdrc.harness.elements import Contact, Harness, Wire
from harnessdrc.harness.names import fold

__all__ = ["Renamed", "end_key", "is_specific", "renamed_between"]

_FEWEST_WIRES = 2
"""So many wires must say that an item is another one's successor: a single wire has moved to it."""


class Renamed(NamedTuple):
    """Names of the old issue that are others in the new one.

    Parameters
    ----------
    items : mapping of str to str
        Key of an item in the old issue → its key in the new one.
    branches : mapping of str to str
        The same of branches.
    """

    items: Mapping[str, str]
    branches: Mapping[str, str]

    def contact(self, contact: Contact, is_new: bool) -> Contact:
        """A contact as the new issue calls it."""
        return contact if is_new or contact.item not in self.items else contact._replace(item=self.items[contact.item])

    def item(self, key: str, is_new: bool) -> str:
        """An item as the new issue calls it."""
        return key if is_new else self.items.get(key, key)

    def branch(self, key: str, is_new: bool) -> str:
        """A branch as the new issue calls it."""
        return key if is_new else self.branches.get(key, key)


def end_key(contact: Contact | None, is_open: bool) -> tuple[str, str]:
    """What tells the end of a wire from others; a cavity that is not named is known by its item alone."""
    if contact is None:
        return ("", "open" if is_open else "not given")
    return (contact.item, "?" if contact.cavity.startswith("?") else contact.cavity)


def is_specific(end: tuple[str, str]) -> bool:
    """Whether an end is a cavity of its own, and not a stud or splice, or an item whose cavity is not named."""
    return bool(end[0]) and end[1] not in ("", "?")


def renamed_between(old: Harness, new: Harness) -> Renamed:
    """Find what has another name.

    Parameters
    ----------
    old, new : Harness
        The two issues.

    Returns
    -------
    Renamed
        Items and branches that only one issue has, where most of their wires, or both points of a branch, say that
        they are the same.
    """
    items = _items(old, new)
    return Renamed(items, _branches(old, new))


def _items(old: Harness, new: Harness) -> dict[str, str]:
    gone, come = old.items.keys() - new.items.keys(), new.items.keys() - old.items.keys()
    if not gone or not come:
        return {}
    before, after = dict(_once(old)), dict(_once(new))
    votes: Counter[tuple[str, str]] = Counter()
    for key in before.keys() & after.keys():
        ends, others = _ends(before[key]), _ends(after[key])
        votes.update(_votes(ends, others, gone, come) or _votes(ends, others[::-1], gone, come))
    at_old, at_new = _wires_at(old), _wires_at(new)
    return {
        one: other
        for (one, other), count in votes.items()
        if count >= _FEWEST_WIRES and 2 * count > max(at_old[one], at_new[other])
    }


def _once(harness: Harness) -> Iterator[tuple[Hashable, Wire]]:
    """Wires by a key that only one has: their number, or their ends where they have none."""
    numbered: dict[Hashable, Wire | None] = {}
    for wire in harness.wires:
        if wire.number is not None:
            key = (fold(wire.number), wire.core)
            numbered[key] = None if key in numbered else wire
            continue
        for contact, other in ((wire.a, wire.b), (wire.b, wire.a)):
            if contact is not None and other is not None and is_specific(end_key(contact, False)):
                own = ("at", contact)
                numbered[own] = None if own in numbered else wire
    return ((key, wire) for key, wire in numbered.items() if wire is not None)


def _ends(wire: Wire) -> tuple[tuple[str, str], tuple[str, str]]:
    return end_key(wire.a, wire.a_open), end_key(wire.b, wire.b_open)


def _votes(
    before: tuple[tuple[str, str], ...], after: tuple[tuple[str, str], ...], gone: set[str], come: set[str]
) -> list[tuple[str, str]]:
    """Items that take each other's place between two wires of one number; none where the wire has moved besides."""
    said: list[tuple[str, str]] = []
    for (item, cavity), (other, there) in zip(before, after, strict=True):
        if item == other and cavity == there:
            continue
        if item not in gone or other not in come or cavity != there:
            return []
        said.append((item, other))
    return said


def _wires_at(harness: Harness) -> Counter[str]:
    counts: Counter[str] = Counter()
    for wire in harness.wires:
        counts.update({contact.item for contact in (wire.a, wire.b) if contact is not None})
    return counts


def _branches(old: Harness, new: Harness) -> dict[str, str]:
    """Branches with the same two points, where each issue has one only under a name that the other does not know."""

    def loose(harness: Harness, beside: Harness) -> dict[frozenset[str], str | None]:
        found: dict[frozenset[str], str | None] = {}
        for key, branch in harness.branches.items():
            if key not in beside.branches and branch.from_point and branch.to_point:
                ends = frozenset((fold(branch.from_point), fold(branch.to_point)))
                found[ends] = None if ends in found else key
        return found

    before, after = loose(old, new), loose(new, old)
    both = {ends: (before[ends], after[ends]) for ends in before.keys() & after.keys()}
    return {one: other for one, other in both.values() if one is not None and other is not None}
