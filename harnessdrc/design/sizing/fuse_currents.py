"""What a fuse carries by the currents listed for wires behind it, where the solved circuit has none for them."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from harnessdrc.design.sizing.loads import AS_LISTED
from harnessdrc.design.sizing.protection import Fuse, FuseLoad, protection_of
from harnessdrc.harness.elements import Contact, Wire
from harnessdrc.harness.names import natural_key

if TYPE_CHECKING:
    from harnessdrc.design import Design

__all__ = ["FuseCurrent", "FuseCurrents"]

_DEAD = 1 << 30


class FuseCurrent(NamedTuple):
    """What a fuse carries for hours.

    Parameters
    ----------
    current_a : float or None
        Solved and listed currents together, A; None where there is neither.
    state : str
        State of the solved part; empty where there is none.
    listed_a : float
        Part of it that is listed, A.
    listed_for : tuple of str
        Wires that list it, by name.
    unknown : tuple of str
        Loads behind the fuse whose current neither gives.
    """

    current_a: float | None
    state: str
    listed_a: float
    listed_for: tuple[str, ...]
    unknown: tuple[str, ...]


class FuseCurrents:
    """Currents of the fuses of a design, solved and listed.

    Outward from the fuse, over splices, mated connectors, closed contacts and further fuses, the first wire on each way
    that lists a current of which the solved circuit knows nothing adds it; what lies beyond is in it.

    Parameters
    ----------
    design : Design
        The design; its circuit has to be solved.
    """

    def __init__(self, design: Design) -> None:
        self._design = design
        self._protection = protection_of(design)

    @cached_property
    def _listed(self) -> dict[str, float]:
        """Currents that are listed for wires and stand in for ones that are not solved, A, by the wire's name."""
        wires = self._design.harness.wires
        if all(wire.current_a is None for wire in wires):
            return {}
        taken = (self._design.sizing.state == AS_LISTED).nonzero()[0].tolist()
        return {wires[number].name: abs(wires[number].current_a or 0.0) for number in taken}

    def of(self, fuse: Fuse) -> FuseCurrent:
        """What one fuse carries for hours."""
        solved = self._protection.load(fuse)
        wires, passed = self._walked(fuse) if self._listed else ([], set())
        listed_a = sum(self._listed[wire.name] for wire in wires)
        unknown = self._left(solved, passed) if wires else solved.unknown
        whole_a, ahead = self._at_outlet(fuse) if unknown else (0.0, [])
        if whole_a > (solved.current_a or 0.0) + listed_a:
            # Every wire at the outlet says what flows in it, so that what the loads draw need not be known.
            return FuseCurrent(whole_a, "", whole_a, _names(ahead), ())
        if solved.current_a is None and not wires:
            return FuseCurrent(None, "", 0.0, (), unknown)
        state = solved.state if solved.current_a else ""
        return FuseCurrent((solved.current_a or 0.0) + listed_a, state, listed_a, _names(wires), unknown)

    def _at_outlet(self, fuse: Fuse) -> tuple[float, list[Wire]]:
        """Sum of the listed currents of the wires on a fuse's outlet, A; 0 unless each lists one."""
        wires = self._design.net.wires_at[fuse.outlet]
        listed = [wire.current_a for wire in wires if wire.current_a is not None]
        return (sum(map(abs, listed)), wires) if wires and len(listed) == len(wires) else (0.0, [])

    def _left(self, solved: FuseLoad, passed: set[Contact]) -> tuple[str, ...]:
        """Loads of unknown current that lie behind no wire that lists one."""
        open_ = {load.device.name for load in self._design.loads.all if not passed.isdisjoint(load.feeds)}
        return tuple(name for name in solved.unknown if name in open_)

    def _walked(self, fuse: Fuse) -> tuple[list[Wire], set[Contact]]:
        """First wires with a listed current behind a fuse, and the contacts on the way to them and elsewhere."""
        net, level = self._design.net, self._design.feeds.level
        found: dict[str, Wire] = {}
        seen, front = {fuse.outlet}, [fuse.outlet]
        while front:
            contact = front.pop()
            here = level.get(net.net_of.get(contact, -1), _DEAD)
            for near, kind, via in net.neighbours(contact):
                if kind == "wire" and via.name in self._listed:
                    found[via.name] = via
                elif near in seen or near not in net.net_of:
                    continue
                elif kind in ("wire", "mate") or (
                    kind == "element" and via.kind not in ("diode", "resistor")
                    and here < level.get(net.net_of[near], -1)
                ):  # fmt: skip
                    seen.add(near)
                    front.append(near)
        return [found[name] for name in sorted(found, key=natural_key)], seen


def _names(wires: list[Wire]) -> tuple[str, ...]:
    return tuple(sorted((wire.name for wire in wires), key=natural_key))
