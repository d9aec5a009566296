"""Changes of a list: each makes a new harness from an old one and can be said in one sentence.

A harness is never changed in place. What an edit does not touch keeps its cell, and so does what it does
touch: a wire that goes elsewhere still stands on its row.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from harnessdrc.design import Design
from harnessdrc.harness.elements import Contact, Harness, Item, Pin, Wire
from harnessdrc.harness.names import fold, natural_key
from harnessdrc.places import RowPlace
from harnessdrc.units import Size

__all__ = [
    "AddWire",
    "Change",
    "CutBack",
    "Edit",
    "MoveEnd",
    "NotApplicableError",
    "Resize",
    "SpliceIn",
    "TakeAway",
    "Twist",
    "applied",
    "contact_text",
]

_BLACK = "BK"
"""Colour of an added ground wire, IEC 60757."""


class NotApplicableError(ValueError):
    """An edit names a wire, or an end of one, that the harness does not have."""


@dataclass(frozen=True, slots=True)
class MoveEnd:
    """Take one end of a wire to another contact."""

    wire: str
    start: Contact
    end: Contact
    cost = 1.0


@dataclass(frozen=True, slots=True)
class TakeAway:
    """Leave a wire out."""

    wire: str
    cost = 1.0


@dataclass(frozen=True, slots=True)
class CutBack:
    """Cut one end of a wire back and insulate it."""

    wire: str
    contact: Contact
    cost = 1.0


@dataclass(frozen=True, slots=True)
class Resize:
    """Make a wire of another size."""

    wire: str
    size: Size
    cost = 1.5


@dataclass(frozen=True, slots=True)
class AddWire:
    """Add a ground wire.

    Parameters
    ----------
    wire : str
        The name it goes by; no wire of the harness has it.
    start, end : Contact
        Its ends.
    size : Size or None
        Of its conductor; None in a list without sizes.
    length_m : float or None
        Length it is reckoned with, m; None in a list without lengths.
    like : str
        Name of the wire whose row it is noted on.
    signal : str
        What it carries.
    """

    wire: str
    start: Contact
    end: Contact
    size: Size | None
    length_m: float | None
    like: str
    signal: str
    cost = 3.0


@dataclass(frozen=True, slots=True)
class SpliceIn:
    """Put a splice into a wire, half way; what is beyond it is a wire of its own.

    Parameters
    ----------
    wire : str
        The wire that is cut.
    splice : Contact
        The new splice; nothing of the harness has its name.
    """

    wire: str
    splice: Contact
    cost = 2.0


@dataclass(frozen=True, slots=True)
class Twist:
    """Twist a wire with others, over its whole length.

    Parameters
    ----------
    wire : str
        The wire.
    group : str
        Word of the group that it shares with the others.
    lay_m : float
        Length of one full turn, m.
    """

    wire: str
    group: str
    lay_m: float
    cost = 0.5


Edit = MoveEnd | TakeAway | CutBack | Resize | AddWire | SpliceIn | Twist


@dataclass(frozen=True, slots=True)
class Change:
    """Edits that belong together."""

    edits: tuple[Edit, ...]

    @property
    def cost(self) -> float:
        """Cost of all its edits."""
        return sum(edit.cost for edit in self.edits)

    @property
    def names(self) -> frozenset[str]:
        """Names of all wires it touches or adds."""
        return frozenset(edit.wire for edit in self.edits)

    @property
    def wires(self) -> tuple[str, ...]:
        """Wires of the list that it touches, W2 before W10."""
        return tuple(sorted({e.wire for e in self.edits if not isinstance(e, AddWire)}, key=natural_key))

    def sentence(self, design: Design) -> str:
        """What to do at the bench, with the ends as they are in `design`, the design without the change."""
        return " ".join(_sentences(design, self.edits))


# ---------------------------------------------------------------------- carrying out
def _changed(wire: Wire, edit: Edit) -> Wire | None:
    """The wire after one edit; None when it is left out."""
    match edit:
        case TakeAway():
            return None
        case Resize():
            return replace(wire, size=edit.size)
        case Twist():
            return replace(wire, twist=edit.group, lay_m=edit.lay_m)
        case MoveEnd():
            if wire.a == edit.start:
                return replace(wire, a=edit.end)
            if wire.b == edit.start:
                return replace(wire, b=edit.end)
        case CutBack():
            if wire.a == edit.contact:
                return replace(wire, a=None, a_open=True)
            if wire.b == edit.contact:
                return replace(wire, b=None, b_open=True)
        case SpliceIn():
            return replace(wire, b=edit.splice, length_m=_half(wire), b_place=None)
        case AddWire():
            pass
    raise NotApplicableError(f"wire {wire.name} has no end there")


def _half(wire: Wire) -> float | None:
    return None if wire.length_m is None else wire.length_m / 2


def _beyond(wire: Wire, edit: SpliceIn) -> Wire:
    """The part of a wire beyond a splice that was put into it."""
    if wire.b is None:
        raise NotApplicableError(f"wire {wire.name} has no second end")
    return replace(wire, name=f"{wire.name} beyond", number=None, a=edit.splice, length_m=_half(wire))


def _new_wire(edit: AddWire, place: RowPlace) -> Wire:
    return Wire(
        edit.wire, None, edit.start, edit.end, False, False, _BLACK, None, edit.size, edit.length_m, edit.signal,
        None, None, None, None, None, None, None, None, 1, place,
    )  # fmt: skip


def _new_splice(edit: SpliceIn, items: Mapping[str, Item]) -> Item:
    key = edit.splice.item
    if key in items:
        raise NotApplicableError(f"there is an item {key} already")
    return Item(key, key, "splice", key, None, None, False)


def _pins(harness: Harness, moved: Sequence[tuple[Wire, Contact, Contact | None]]) -> tuple[Pin, ...]:
    """The pin list after wires have left their contacts: who moves the wire corrects both lists."""
    pins = harness.pins
    for wire, left, reached in moved:
        numbers = {fold(text) for text in (wire.number, wire.name) if text}
        if not any(pin.contact in (left, reached) for pin in pins):
            continue
        pins = tuple(
            replace(pin, wire=None)
            if pin.contact == left and pin.wire and fold(pin.wire) in numbers
            else replace(pin, wire=wire.number)
            if reached is not None and pin.contact == reached and pin.wire is None and wire.number
            else pin
            for pin in pins
        )
    return pins


def applied(harness: Harness, edits: Sequence[Edit]) -> Harness:
    """Carry out edits one after the other.

    Parameters
    ----------
    harness : Harness
        Left as it is.
    edits : sequence of Edit
        In order.

    Returns
    -------
    Harness
        A new one; wires keep their order and their places, added wires stand last.

    Raises
    ------
    NotApplicableError
        For a wire or an end that is not there, or a name for a new wire that is taken.
    """
    by_wire: dict[str, list[Edit]] = {}
    added: list[AddWire] = []
    beyond: list[Wire] = []
    items = harness.items
    for edit in edits:
        if isinstance(edit, AddWire):
            added.append(edit)
        else:
            by_wire.setdefault(edit.wire, []).append(edit)
    wires: list[Wire] = []
    now: dict[str, Wire | None] = {}
    left: list[tuple[Wire, Contact, Contact | None]] = []
    places: dict[str, RowPlace] = {}
    names_taken = {edit.wire for edit in added}
    wanted = {edit.like for edit in added}
    for wire in harness.wires:
        if wire.name in wanted:
            places[wire.name] = wire.place
        if wire.name in names_taken:
            raise NotApplicableError(f"there is a wire {wire.name} already")
        own = by_wire.get(wire.name)
        if own is None:
            wires.append(wire)
            continue
        made: Wire | None = wire
        for edit in own:
            if made is None:
                raise NotApplicableError(f"wire {wire.name} is taken away already")
            if isinstance(edit, MoveEnd):
                left.append((wire, edit.start, edit.end))
            elif isinstance(edit, CutBack):
                left.append((wire, edit.contact, None))
            elif isinstance(edit, SpliceIn):
                beyond.append(_beyond(made, edit))
                items = {**items, edit.splice.item: _new_splice(edit, items)}
            elif isinstance(edit, TakeAway):
                left += [(wire, contact, None) for contact in (made.a, made.b) if contact is not None]
            made = _changed(made, edit)
        now[wire.name] = made
        if made is not None:
            wires.append(made)
    if missing := by_wire.keys() - now.keys():
        raise NotApplicableError(f"there is no wire {min(missing)}")
    for edit in added:
        if edit.like not in places:
            raise NotApplicableError(f"there is no wire {edit.like}")
        wires.append(_new_wire(edit, places[edit.like]))
    repeated = tuple(
        (one, other)
        for one, other in ((now.get(a.name, a), now.get(b.name, b)) for a, b in harness.repeated)
        if one is not None and other is not None
    )
    return replace(
        harness,
        wires=(*wires, *beyond),
        repeated=repeated,
        pins=_pins(harness, left) if left else harness.pins,
        items=items,
    )


# ---------------------------------------------------------------------- saying
def contact_text(design: Design, contact: Contact) -> str:
    """A contact in a sentence: ``STUD3 (chassis)``, ``splice SP5``, ``ECU-B 7``."""
    item = design.harness.items.get(contact.item)
    label = design.label(contact)
    if item is not None and (item.kind == "earth point" or contact in design.net.earths):
        body = design.devices.body(contact)
        return f"{label} ({body})" if body and body not in fold(label) else label
    if item is not None and item.kind == "splice" and "splice" not in fold(label):
        return f"splice {label}"
    return label


def _listed(names: Sequence[str]) -> str:
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else list(names))


def _wires_text(names: Sequence[str]) -> str:
    return f"wire{'s' if len(names) > 1 else ''} {_listed(names)}"


def _sentences(design: Design, edits: Sequence[Edit]) -> list[str]:
    """One sentence for each kind of work; ends that go to the same contact are one."""
    said: list[str] = []
    wires = {wire.name: wire for wire in design.harness.wires if wire.name in {edit.wire for edit in edits}}
    moves: dict[Contact, list[MoveEnd]] = {}
    spliced = {edit.splice for edit in edits if isinstance(edit, SpliceIn)}
    sizes: dict[str, list[str]] = {}
    twisted: dict[tuple[str, float], list[str]] = {}
    taken: list[str] = []
    for edit in edits:
        match edit:
            case MoveEnd():
                moves.setdefault(edit.end, []).append(edit)
            case Resize():
                old = wires[edit.wire].size if edit.wire in wires else None
                what = f"{edit.size} instead of {old}" if old else str(edit.size)
                sizes.setdefault(what, []).append(edit.wire)
            case TakeAway():
                taken.append(edit.wire)
            case Twist():
                twisted.setdefault((edit.group, edit.lay_m), []).append(edit.wire)
            case SpliceIn():
                said.append(f"Put a splice into wire {edit.wire}.")
            case CutBack() | AddWire():
                pass
    for end, group in moves.items():
        names = sorted({edit.wire for edit in group}, key=natural_key)
        starts = _listed(list(dict.fromkeys(contact_text(design, edit.start) for edit in group)))
        ends = "the end" if len(group) == 1 else "the ends"
        goal = "that splice" if end in spliced else contact_text(design, end)
        said.append(f"Move {ends} of {_wires_text(names)} at {starts} to {goal}.")
    if taken:
        said.append(f"Take {_wires_text(sorted(taken, key=natural_key))} away.")
    for edit in edits:
        if isinstance(edit, CutBack):
            said.append(f"Cut wire {edit.wire} back at {contact_text(design, edit.contact)} and insulate its end.")
    for what, names in sizes.items():
        said.append(f"Make {_wires_text(sorted(names, key=natural_key))} {what}.")
    for (_, lay_m), names in twisted.items():
        text = _wires_text(sorted(names, key=natural_key))
        said.append(f"Twist {text} together over their whole length, one turn in {lay_m * 1000:g} mm or less.")
    for edit in edits:
        if isinstance(edit, AddWire):
            unnamed = edit.start.cavity.startswith("?")
            start = f"the ground pin of {design.label(edit.start)}" if unnamed else contact_text(design, edit.start)
            what = f"a wire of {edit.size}" if edit.size else "a wire"
            length = f"; it is reckoned with a length of {edit.length_m:.3g} m" if edit.length_m else ""
            said.append(f"Add {what} from {start} to {contact_text(design, edit.end)}{length}.")
    return said
