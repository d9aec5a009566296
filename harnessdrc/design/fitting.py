"""What is crimped where: terminals and seals at the ends of wires, with their rows in the parts table.

A list that names no parts has nothing here. Everything is looked up once per list: `Design.fitting`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import NamedTuple

from harnessdrc.design.crimpfits import Outer, outer_of
from harnessdrc.findings import Mark
from harnessdrc.harness.elements import COMMON_KINDS, Contact, Fitted, Harness, Item, Part, Pin, Wire
from harnessdrc.harness.names import fold, natural_key
from harnessdrc.harness.parts import fitted_at, no_part, seal_cell
from harnessdrc.harness.roles import pins_by_contact
from harnessdrc.places import Place
from harnessdrc.units import Size

__all__ = ["Connector", "Crimp", "FittedEnd", "Fitting", "Named"]

_STUDS = frozenset({"battery", "starter", "alternator", "power distribution"})
"""Kinds whose terminals are studs: several rings lie on each other there, one wire in each."""
_CRIMPS = frozenset({"terminal", "ring terminal", None})
"""Kinds of part that are crimped on the end of a wire; None while the table does not say."""


class FittedEnd(NamedTuple):
    """An end of a wire with what is fitted there, by name; `place` is the cell of its terminal."""

    wire: Wire
    contact: Contact
    terminal: str | None
    seal: str | None
    place: Place
    seal_place: Place


class Crimp(NamedTuple):
    """A terminal with the wires that are crimped into it.

    Parameters
    ----------
    name : str
        As in findings: ``W12 at ECU-A 5``, ``W12 + W13 at ECU-A 5``.
    terminal : str
        Its name, as written.
    part : Part or None
        Its row in the parts table.
    ends : tuple of FittedEnd
        The ends in it, by the names of their wires.
    """

    name: str
    terminal: str
    part: Part | None
    ends: tuple[FittedEnd, ...]

    @property
    def marks(self) -> tuple[Mark, ...]:
        """Cells of the terminal, one for each wire."""
        return tuple(Mark(end.place, f"wire {end.wire.name}") for end in self.ends)


class Named(NamedTuple):
    """A part that the list names somewhere: its name, what it stands as, and the first cell that names it."""

    name: str
    stands_as: str
    place: Place


class Connector(NamedTuple):
    """A connector whose part the component list names, with that part's row where the table has it."""

    item: Item
    name: str
    part: Part | None

    def cell(self, column: str = "part") -> Place | None:
        """Cell of one of its columns in the component list."""
        return self.item.cell(column)


class Fitting:
    """Everything fitted in a list.

    Parameters
    ----------
    harness : Harness
        The objects of the lists.
    """

    def __init__(self, harness: Harness) -> None:
        self.harness = harness
        self.parts: Mapping[str, Part] = harness.parts
        self._outers: dict[tuple[str | None, Size | None, int], Outer | None] = {}

    def part(self, name: str | None) -> Part | None:
        """Row of a part in the parts table."""
        return None if name is None or not self.parts else self.parts.get(fold(name))

    # ------------------------------------------------------------------ ends and crimps

    @cached_property
    def pins(self) -> Mapping[Contact, list[Pin]]:
        """Lines of the pin lists by contact."""
        return pins_by_contact(self.harness)

    @cached_property
    def _named_by_pins(self) -> frozenset[Contact]:
        return frozenset(pin.contact for pin in self.harness.pins if pin.terminal or pin.seal)

    @cached_property
    def ends(self) -> tuple[FittedEnd, ...]:
        """Ends of wires at which a terminal or a seal is named, in the natural order of the wires."""
        found: list[FittedEnd] = []
        by_pins = self._named_by_pins
        nothing = Fitted()
        wires = self.harness.wires if by_pins else [w for w in self.harness.wires if w.fitted != nothing]
        for wire in wires:
            for first, contact in ((True, wire.a), (False, wire.b)):
                if contact is None:
                    continue
                own = wire.fitted[:2] if first else wire.fitted[2:]
                if own == (None, None) and contact not in by_pins:
                    continue
                if not first and contact == wire.a:
                    continue
                at = fitted_at(self.harness, wire, contact)
                if at.terminal is None and at.seal is None:
                    continue
                found.append(
                    FittedEnd(
                        wire, contact, at.terminal, at.seal, at.place,
                        at.place if at.terminal is None else seal_cell(self.harness, wire, contact),
                    )
                )  # fmt: skip
        return tuple(sorted(found, key=lambda end: (natural_key(end.wire.name), end.contact)))

    def label(self, end: FittedEnd) -> str:
        """An end as findings name it: ``W12 at ECU-A 5``."""
        return f"{end.wire.name} at {self.harness.label(end.contact)}"

    @cached_property
    def crimps(self) -> tuple[Crimp, ...]:
        """Every terminal that the list names, with the wires in it.

        Two wires in one named cavity with the same terminal share it; on studs and with rings each wire has its own.
        """
        groups: dict[tuple[object, ...], list[FittedEnd]] = {}
        for number, end in enumerate(self.ends):
            if end.terminal is None:
                continue
            part = self.part(end.terminal)
            if part is not None and part.kind not in _CRIMPS:
                continue
            shared = self._holds_several(end.contact) and (part is None or part.kind != "ring terminal")
            key = (end.contact, fold(end.terminal)) if shared else (number,)
            groups.setdefault(key, []).append(end)
        return tuple(self._crimp(ends) for ends in groups.values())

    def _holds_several(self, contact: Contact) -> bool:
        if not contact.cavity or contact.cavity.startswith("?"):
            return False
        item = self.harness.items[contact.item]
        return item.kind not in COMMON_KINDS and item.kind not in _STUDS

    def _crimp(self, ends: list[FittedEnd]) -> Crimp:
        first = ends[0]
        wires = " + ".join(end.wire.name for end in ends)
        terminal = first.terminal or ""
        return Crimp(f"{wires} at {self.harness.label(first.contact)}", terminal, self.part(terminal), tuple(ends))

    def outer(self, wire: Wire) -> Outer | None:
        """Outer diameter of a wire, as `outer_of`."""
        key = (wire.insulation, wire.size, wire.cores)
        if key not in self._outers:
            self._outers[key] = outer_of(wire, self.parts)
        return self._outers[key]

    # ------------------------------------------------------------------ connectors

    @cached_property
    def connectors(self) -> Mapping[str, Connector]:
        """Connectors whose part is named, by the key of their item."""
        return {
            key: Connector(item, item.details.part or "", self.part(item.details.part))
            for key, item in self.harness.items.items()
            if item.details.part and item.kind != "splice" and not no_part(item.details.part)
        }

    def housing(self, contact: Contact) -> Part | None:
        """Row of the connector that a contact is in; None where the list or the table does not have it."""
        connector = self.connectors.get(contact.item) if self.connectors else None
        part = connector.part if connector else None
        return part if part is not None and part.kind == "connector" else None

    # ------------------------------------------------------------------ every name

    @cached_property
    def named(self) -> tuple[Named, ...]:
        """Every part that the list names, once, in the natural order of the names."""
        found: dict[str, Named] = {}
        for each in self.named_as:
            key = fold(each.name)
            if key not in found or _order(each.place) < _order(found[key].place):
                found[key] = each
        return tuple(found.values())

    @cached_property
    def named_as(self) -> tuple[Named, ...]:
        """As `named`, but once for each thing that a part stands as."""
        found: dict[tuple[str, str], Named] = {}
        for each in self._every_name():
            key = fold(each.name), each.stands_as
            if key not in found or _order(each.place) < _order(found[key].place):
                found[key] = each
        return tuple(found[key] for key in sorted(found, key=lambda key: (natural_key(key[0]), key[1])))

    def _every_name(self) -> Iterator[Named]:
        for end in self.ends:
            if end.terminal is not None:
                yield Named(end.terminal, "terminal", end.place)
            if end.seal is not None:
                yield Named(end.seal, "seal", end.seal_place)
        for pin in self.harness.pins:
            if pin.terminal and not no_part(pin.terminal):
                yield Named(pin.terminal, "terminal", pin.place.of("terminal"))
            if pin.seal and not no_part(pin.seal):
                yield Named(pin.seal, "seal", pin.place.of("seal"))
        for item in self.harness.items.values():
            part = item.details.part
            if part and not no_part(part):
                place = item.cell("part")
                if place is not None:
                    yield Named(part, "splice" if item.kind == "splice" else "part", place)


def _order(place: Place) -> tuple[str, str, tuple[tuple[int, int, str], ...]]:
    return place.file, place.sheet, natural_key(place.cell)
