"""Resistances of joints: rings on studs, crimped contacts, splices, fuse holders, relay contacts, isolators, straps.

Each has a value as new and one as aged. What the list's joints sheet says goes before the given values. A joint
there is named by where it is: a contact (``ECU-A 12``), an earth point, a splice, a fuse, a strap, or a wire at
one of its ends (``ring of W12 on STUD1``).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cached_property

from harnessdrc.design.circuit.parts import Part, PartKind
from harnessdrc.harness.elements import COMMON_KINDS, Contact, Harness, ListedJoint, Strap, Wire
from harnessdrc.harness.names import fold
from harnessdrc.places import Place

__all__ = ["JointBook"]

Values = tuple[float, float]
"""As new and as aged, Ω."""

_FILLERS = re.compile(r"\b(?:ring|crimp|joint|contact|terminal|holder|lug|bolt|of|on|at|in|the)\b")
_KINDS = re.compile(r"\b(?:wire|strap|fuse|relay|splice|stud)\b")
_BREAKS = re.compile(r"[\s,;:/()\[\]–—]+")


def _plain(text: str) -> str:
    return _BREAKS.sub(" ", fold(text)).strip()


def _without_fillers(text: str) -> str:
    return _plain(_FILLERS.sub(" ", fold(text)))


def _bare(text: str) -> str:
    """Name of a joint without the words that only say what it is."""
    return _plain(_KINDS.sub(" ", _FILLERS.sub(" ", fold(text)))) or _plain(text)


class JointBook:
    """Resistances of the joints of a harness, Ω.

    Parameters
    ----------
    harness : Harness
        With its listed joints.
    given : mapping of str to float
        Values for the joints that are not listed.
    """

    def __init__(self, harness: Harness, given: Mapping[str, float]) -> None:
        self.harness = harness
        self.used: set[ListedJoint] = set()
        self._contact = given["contact_mohm"] / 1000, given["contact_aged_mohm"] / 1000
        self._stud = given["stud_mohm"] / 1000, given["stud_aged_mohm"] / 1000
        self._splice = given["splice_mohm"] / 1000, given["splice_aged_mohm"] / 1000
        self._relay = given["relay_mohm"] / 1000, given["relay_aged_mohm"] / 1000
        self._isolator = given["isolator_mohm"] / 1000, given["isolator_aged_mohm"] / 1000
        self._fuse_aged_ohm = given["fuse_holder_aged_mohm"] / 1000
        self._fuse_ohm = given["fuse_mohm"] / 1000
        self._fuse_drop_v = given["fuse_drop_mv"] / 1000

    @cached_property
    def _listed(self) -> tuple[dict[str, ListedJoint], dict[str, ListedJoint]]:
        """Joints by the name of a thing in these lists, the others by their bare names.

        ``Fuse 1`` is that fuse and not ``Splice 1``, though both are called 1 without the word.
        """
        harness = self.harness
        known = {_plain(item.name) for item in harness.items.values()} | {_plain(s.name) for s in harness.straps}
        for wire in harness.wires:
            known |= {_plain(harness.label(end)) for end in (wire.a, wire.b) if end is not None}
        named: dict[str, ListedJoint] = {}
        others: dict[str, ListedJoint] = {}
        for joint in harness.joints:
            meant = [name for name in (_plain(joint.name), _without_fillers(joint.name)) if name in known]
            (named if meant else others).setdefault(meant[0] if meant else _bare(joint.name), joint)
        return named, others

    def _said(self, usual: Values, *names: str) -> Values:
        """What the list says of the first of these names that it has, else the usual values."""
        named, others = self._listed
        for name in names:
            joint = named.get(_plain(name)) or others.get(_bare(name))
            if joint is None:
                continue
            self.used.add(joint)
            new_ohm = usual[0] if joint.resistance_ohm is None else joint.resistance_ohm
            return new_ohm, max(usual[1], new_ohm) if joint.aged_ohm is None else joint.aged_ohm
        return usual

    @property
    def unused(self) -> list[ListedJoint]:
        """Listed joints that name nothing in the circuit, once all parts are made."""
        return [joint for joint in self.harness.joints if joint not in self.used]

    def wire_end(self, wire: Wire, contact: Contact, bolted: bool) -> Values:
        """Joint of a wire's end."""
        kind = self.harness.items[contact.item].kind
        if kind == "earth point" or bolted:
            usual = self._stud
        elif kind in COMMON_KINDS:
            usual = self._splice
        else:
            usual = self._contact
        if not self.harness.joints:
            return usual
        label = self.harness.label(contact)
        names = [f"{wire.name} {label}", f"{label} {wire.name}"]
        # An earth point alone names its joint with the body, not the rings on it.
        return self._said(usual, *names, *([] if kind == "earth point" else [label]))

    def contact(self, a: Contact, b: Contact) -> Values:
        """Contact between two mated halves."""
        if not self.harness.joints:
            return self._contact
        return self._said(self._contact, self.harness.label(a), self.harness.label(b))

    def element(self, kind: PartKind, item: str) -> tuple[float, float, float]:
        """Inside of a fuse or a closed contact, Ω, and its joints as new and aged."""
        listed = self.harness.items[item]
        name, rating_a = listed.name, listed.rating_a
        if kind != "fuse":
            return (0.0, *self._said(self._isolator if listed.kind == "isolator" else self._relay, name))
        inner_ohm = self._fuse_drop_v / rating_a if rating_a and rating_a > 0.0 else self._fuse_ohm
        return (inner_ohm, *self._said((0.0, self._fuse_aged_ohm), name))

    def earth_point(self, earth: Contact, *, at_post: bool) -> Values:
        """Joint of an earth point with its body; the rings on it are joints of their wires."""
        measured_ohm = self.harness.items[earth.item].resistance_ohm
        if at_post and measured_ohm is None:
            return 0.0, 0.0
        ohm = measured_ohm or 0.0
        usual = ohm, max(ohm, self._stud[1] - self._stud[0])
        return self._said(usual, self.harness.label(earth)) if self.harness.joints else usual

    def strap_aged(self, strap: Strap | None) -> Values:
        """Both rings of a strap: as new they are part of its resistance."""
        usual = 0.0, max(0.0, 2 * (self._stud[1] - self._stud[0]))
        return self._said(usual, strap.name) if strap is not None else usual

    # ------------------------------------------------------------------ names
    def names_of(self, part: Part) -> list[tuple[str, Place | None]]:
        """Joints that lie in series with a part, as people call them, each with its cell."""
        items, label = self.harness.items, self.harness.label
        if part.wire is not None:
            wire = part.wire
            return [(self._end_name(wire, end), wire.end_place(end)) for end in (wire.a, wire.b) if end is not None]
        if part.kind == "strap":
            return [(f"ring of strap {part.name} on {node[1]}", part.place) for node in (part.a, part.b)]
        if part.kind == "earth":
            item = items[part.name]
            return [(f"{item.name} on the {part.b[1]}", item.place)]
        if part.kind == "bodies":
            return [(f"joint of {part.name}", None)]
        if part.kind == "mate":
            return [(f"contact {label(Contact(*part.a))}", None)]
        if part.kind in ("fuse", "relay", "switch"):
            item = items[part.name]
            what = "holder of fuse" if part.kind == "fuse" else "contact of"
            return [(f"{what} {item.name}", item.place)]
        return []

    def _end_name(self, wire: Wire, end: Contact) -> str:
        kind = self.harness.items[end.item].kind
        what = "ring" if kind in ("earth point", "battery") else "splice" if kind in COMMON_KINDS else "contact"
        return f"{what} of wire {wire.name} {'on' if what == 'ring' else 'in' if what == 'splice' else 'at'} " + (
            self.harness.label(end)
        )
