"""Wires that belong together: twist groups, and shields with their drains."""

from __future__ import annotations

from dataclasses import dataclass

from harnessdrc.harness.elements import Harness, Wire
from harnessdrc.harness.names import fold
from harnessdrc.harness.roles import Roles
from harnessdrc.harness.vocabulary import guess_role

__all__ = ["Shield", "shields", "twist_groups"]


@dataclass(frozen=True, slots=True)
class Shield:
    """A shield: the wires that lie in it, and those that connect it.

    `name` is the word of the shield column, or the drain's own signal where there is no such word.
    """

    name: str
    inside: tuple[Wire, ...]
    drains: tuple[Wire, ...]


def twist_groups(harness: Harness) -> dict[str, tuple[Wire, ...]]:
    """Wires by the folded word of their twist group."""
    groups: dict[str, list[Wire]] = {}
    for wire in harness.wires:
        if wire.twist:
            groups.setdefault(fold(wire.twist), []).append(wire)
    return {key: tuple(wires) for key, wires in groups.items()}


def _is_drain(wire: Wire, roles: Roles) -> bool:
    if wire.colour == "bare" or any(roles.of.get(c) == "shield drain" for c in (wire.a, wire.b) if c is not None):
        return True
    guess = guess_role(wire.signal, None) if wire.signal else None
    return guess is not None and guess.value == "shield drain"


def shields(harness: Harness, roles: Roles) -> tuple[Shield, ...]:
    """Every shield of the list, in its order; a drain without a shield's word makes one of its own."""
    names: dict[str, str] = {}
    inside: dict[str, list[Wire]] = {}
    drains: dict[str, list[Wire]] = {}
    for wire in harness.wires:
        drain = _is_drain(wire, roles)
        if not wire.shield and not drain:
            continue
        name = wire.shield or wire.signal or f"of wire {wire.name}"
        names.setdefault(fold(name), name)
        (drains if drain else inside).setdefault(fold(name), []).append(wire)
    return tuple(
        Shield(name, tuple(inside.get(key, ())), tuple(drains.get(key, ()))) for key, name in names.items()
    )
