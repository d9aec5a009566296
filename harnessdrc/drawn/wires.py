"""The wires of a design as plain names, for the wire table and the connectivity of one net or connector."""

from __future__ import annotations

from collections import Counter

from harnessdrc.design import Design
from harnessdrc.findings import Mark
from harnessdrc.harness.connectivity import Connectivity
from harnessdrc.harness.elements import Contact, Wire
from harnessdrc.wiring import WireLine, Wiring

__all__ = ["wiring_of"]


def wiring_of(design: Design) -> Wiring:
    """Every wire of the list with its ends as written and the nets that it lies in.

    Parameters
    ----------
    design : Design
        What was checked.

    Returns
    -------
    Wiring
    """
    net = design.net
    used: dict[int, int] = {}
    for wire in design.harness.wires:
        for contact in (wire.a, wire.b):
            if contact is not None and contact in net.net_of:
                used.setdefault(net.net_of[contact], len(used))
    lines = tuple(_line(design, net, used, wire) for wire in design.harness.wires)
    return Wiring(lines, _net_names(design, used, lines))


def _line(design: Design, net: Connectivity, used: dict[int, int], wire: Wire) -> WireLine:
    ends = [_end(design, contact) for contact in (wire.a, wire.b)]
    numbers = [used[net.net_of[c]] for c in (wire.a, wire.b) if c is not None and c in net.net_of]
    return WireLine(
        wire.name, *ends[0], *ends[1], wire.colour_written or wire.colour or "", str(wire.size) if wire.size else "",
        wire.signal or "", wire.branch or "", wire.length_m, tuple(dict.fromkeys(numbers)),
        Mark(wire.place.of("wire", "from_item"), f"wire {wire.name}"),
    )  # fmt: skip


def _end(design: Design, contact: Contact | None) -> tuple[str, str]:
    if contact is None:
        return "", ""
    harness = design.harness
    item = harness.items.get(contact.item)
    cavity = harness.cavity_names.get(contact, contact.cavity)
    return item.name if item else contact.item, "" if cavity.startswith("?") else cavity


def _net_names(design: Design, used: dict[int, int], lines: tuple[WireLine, ...]) -> tuple[str, ...]:
    """The signal that most wires of a net are given, with the first contact where several nets would share it."""
    signals: list[Counter[str]] = [Counter() for _ in used]
    for line in lines:
        for number in line.nets:
            if line.signal:
                signals[number][line.signal] += 1
    first = [design.harness.label(design.net.nets[number].contacts[0]) for number in used]
    named = [
        min(counts.items(), key=lambda one: (-one[1], one[0]))[0] if counts else first[number]
        for number, counts in enumerate(signals)
    ]
    times = Counter(named)
    places = zip(named, first, strict=True)
    whole = [f"{name} ({at})" if times[name] > 1 and name != at else name for name, at in places]
    seen: Counter[str] = Counter()
    for number, name in enumerate(whole):
        seen[name] += 1
        if seen[name] > 1:
            whole[number] = f"{name}, {seen[name]}"
    return tuple(whole)
