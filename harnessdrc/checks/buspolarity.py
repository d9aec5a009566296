"""Which wire of a CAN bus is which: where its lines change places, and what names and colours say of its wires."""

from __future__ import annotations

from collections.abc import Sequence

from harnessdrc.design import Contact, Design
from harnessdrc.design.buses import HIGH, LOW, Bus, BusLine
from harnessdrc.findings import Finding, Mark
from harnessdrc.harness.elements import Wire
from harnessdrc.harness.vocabulary import guess_role
from harnessdrc.tables.colours import split_code

__all__ = ["crossings", "other_colours", "other_signals", "same_colours"]


def _shown(code: str | None) -> str:
    """Colour as people write it: ``YE/WH``."""
    return "/".join(split_code(code or ""))


def _sides(bus: Bus) -> list[tuple[BusLine, str, str]]:
    """Lines of a bus, each with its own role and the other one."""
    found = [(bus.high, HIGH, LOW), (bus.low, LOW, HIGH)]
    return [(line, own, other) for line, own, other in found if line is not None]


def crossings(design: Design, bus: Bus) -> Finding | None:
    """The place where the two lines of a bus change places or meet; None where each keeps to its own contacts."""
    for line, own, other in _sides(bus):
        wrong = sorted(contact for contact in line.contacts if design.role(contact) == other)
        if not wrong:
            continue
        by_device = {key: {design.role(contact) for contact in contacts} for key, contacts in line.at.items()}
        joined = any({HIGH, LOW} <= roles for roles in by_device.values())
        one, far, wire = _seam(design, line, own, other)
        if wire is not None:
            mark = Mark(wire.end_place(far), f"{design.label(far)}, {other}")
            where = f"wire {wire.name} leads from {design.label(one)} to {design.label(far)}, which is {other}"
        else:
            marks = design.devices.mark(far, f"{design.label(far)}, {other}") or design.devices.mark(one)
            mark = marks[0]
            where = f"{design.label(one)} goes to {design.label(far)}, which is {other}"
        others = [m for contact in wrong if contact != far for m in design.devices.mark(contact)][:8]
        return Finding(bus.subject, (mark, *others), {"where": where}, variant="joined" if joined else "crossed")
    return None


def _seam(design: Design, line: BusLine, own: str, other: str) -> tuple[Contact, Contact, Wire | None]:
    """Two neighbours of a line on unlike sides, and the wire between them.

    Contacts without a role of their own belong to the side that is nearer, the line's own where both are as near.
    """
    side: dict[Contact, str] = {}
    front = sorted(contact for contact in line.contacts if design.role(contact) == own)
    rest = sorted(contact for contact in line.contacts if design.role(contact) == other)
    side.update(dict.fromkeys(front, own) | dict.fromkeys(rest, other))
    front += rest
    while front:
        following: list[Contact] = []
        for contact in front:
            for near, _ in sorted(line.links.get(contact, ()), key=lambda link: link[0]):
                if near not in side:
                    side[near] = side[contact]
                    following.append(near)
        front = following
    seams = [
        (wire is None, here, near, wire)
        for here in sorted(line.contacts)
        for near, wire in line.links.get(here, ())
        if side.get(here) == own and side.get(near) == other
    ]
    if not seams:
        wrong = rest[0]
        return wrong, wrong, None
    _, here, near, wire = min(seams, key=lambda seam: (seam[0], seam[1], seam[2], seam[3].name if seam[3] else ""))
    return here, near, wire


def other_signals(bus: Bus) -> Finding | None:
    """A wire whose own signal is that of the other line."""
    for line, own, other in _sides(bus):
        for wire in line.wires:
            guess = guess_role(wire.signal, None) if wire.signal else None
            if guess is not None and guess.value == other:
                mark = Mark(wire.place.of("signal", "wire"), f"wire {wire.name}")
                return Finding(bus.subject, (mark,), {"wire": wire.name, "said": other, "side": own}, variant="signal")
    return None


def other_colours(bus: Bus, high: Sequence[str], low: Sequence[str]) -> Finding | None:
    """A wire in the base colour of the other line."""
    means = dict.fromkeys(high, HIGH) | dict.fromkeys(low, LOW)
    for line, own, other in _sides(bus):
        wrong = [w for w in line.wires if w.colour and means.get(split_code(w.colour)[0]) == other]
        if wrong:
            return Finding(
                bus.subject,
                tuple(Mark(w.place.of("colour", "wire"), f"wire {w.name}, {own}") for w in wrong),
                {"wire": wrong[0].name, "side": own, "other": other, "colour": _shown(wrong[0].colour)},
                variant="colour",
            )
    return None


def same_colours(bus: Bus) -> Finding | None:
    """A colour that is on both lines of a bus which has more than this one."""
    if bus.high is None or bus.low is None:
        return None
    highs = {wire.colour: wire for wire in reversed(bus.high.wires) if wire.colour}
    lows = {wire.colour: wire for wire in reversed(bus.low.wires) if wire.colour}
    both = sorted(colour for colour in highs if colour is not None and colour in lows)
    if not both or len(highs.keys() | lows.keys()) < 2:
        return None
    one, other = highs[both[0]], lows[both[0]]
    marks = tuple(Mark(w.place.of("colour", "wire"), f"wire {w.name}") for w in (one, other))
    return Finding(
        bus.subject,
        marks,
        {"colour": _shown(both[0]), "high": f"wire {one.name}", "low": f"wire {other.name}"},
        variant="same colour",
    )
