"""Wires that belong together: twist groups, and shields with their drains."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from harnessdrc.harness.elements import Contact, Harness, Wire
from harnessdrc.harness.names import fold, natural_key
from harnessdrc.harness.roles import Roles
from harnessdrc.harness.vocabulary import guess_role

__all__ = ["Shield", "shields", "twist_groups"]


@dataclass(frozen=True, slots=True)
class Shield:
    """A shield: the wires that lie in it, and those that connect it.

    `name` is the word of the shield column, or the drain's own signal where there is no such word. The wires
    stand in the order of their names, W2 before W10.
    """

    name: str
    inside: tuple[Wire, ...]
    drains: tuple[Wire, ...]


def twist_groups(harness: Harness) -> dict[str, tuple[Wire, ...]]:
    """Wires by the folded word of their twist group, W2 before W10."""
    groups: dict[str, list[Wire]] = {}
    for wire in _by_name([w for w in harness.wires if w.twist]):
        if wire.twist:
            groups.setdefault(fold(wire.twist), []).append(wire)
    return {key: tuple(wires) for key, wires in groups.items()}


def _by_name(wires: Sequence[Wire]) -> list[Wire]:
    return sorted(wires, key=lambda wire: natural_key(wire.name))


def _is_drain(wire: Wire, roles: Roles) -> bool:
    if wire.colour == "bare" or any(roles.of.get(c) == "shield drain" for c in (wire.a, wire.b) if c is not None):
        return True
    guess = guess_role(wire.signal, None) if wire.signal else None
    return guess is not None and guess.value == "shield drain"


def _joined(drains: list[Wire]) -> list[list[Wire]]:
    """Drains in sets that meet at their ends: two drains of one signal may belong to two shields."""
    at: dict[Contact, list[int]] = {}
    for number, drain in enumerate(drains):
        for contact in (drain.a, drain.b):
            if contact is not None:
                at.setdefault(contact, []).append(number)
    sets: list[list[Wire]] = []
    seen: set[int] = set()
    for start in range(len(drains)):
        if start in seen:
            continue
        seen.add(start)
        together = [start]
        for number in together:  # grows while it is walked
            for contact in (drains[number].a, drains[number].b):
                near = [n for n in at.pop(contact, []) if n not in seen] if contact is not None else []
                seen.update(near)
                together += near
        sets.append(_by_name([drains[number] for number in together]))
    return sets


def shields(harness: Harness, roles: Roles) -> tuple[Shield, ...]:
    """Every shield of the list; drains without a shield's word make one of their own where they meet."""
    names: dict[str, str] = {}
    inside: dict[str, list[Wire]] = {}
    drains: dict[str, list[Wire]] = {}
    loose: list[Wire] = []
    for wire in _by_name([w for w in harness.wires if w.shield or _is_drain(w, roles)]):
        drain = _is_drain(wire, roles)
        if wire.shield:
            names.setdefault(fold(wire.shield), wire.shield)
            (drains if drain else inside).setdefault(fold(wire.shield), []).append(wire)
        else:
            loose.append(wire)
    found = [Shield(name, tuple(inside.get(key, ())), tuple(drains.get(key, ()))) for key, name in names.items()]
    own = [(wires[0].signal or f"of wire {wires[0].name}", wires) for wires in _joined(loose)]
    counts = Counter(fold(name) for name, _ in own)
    counts.update(names.keys())
    found += [
        Shield(name if counts[fold(name)] == 1 else f"{name} (wire {wires[0].name})", (), tuple(wires))
        for name, wires in own
    ]
    return tuple(found)
