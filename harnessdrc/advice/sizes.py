"""Changes of conductor size, by the same tables of standard sizes as the advice of the drop checks."""

from __future__ import annotations

from collections.abc import Iterator

from harnessdrc.advice.asked import Asked
from harnessdrc.advice.edits import Change, Edit, Resize
from harnessdrc.checks.drops import larger_sizes, size_within
from harnessdrc.harness.elements import Wire

__all__ = ["thicker", "voltage_drop"]


def voltage_drop(asked: Asked) -> Iterator[Change]:
    """Larger wires on the way: the one that drops most, then the two that do, then the next one alone."""
    design, finding, device = asked.design, asked.finding, asked.device
    load = next((x for x in design.loads.all if device is not None and x.device.key == device.key), None)
    if load is None or finding.measured is None or finding.limit is None:
        return
    drops = design.drops
    drop = drops.feed(load) if finding.check == "feed.voltage_drop" else drops.back(load)
    if drop is None:
        return
    excess_v = (finding.measured - finding.limit) / 1000.0
    on_way = [w for w in drop.wires if w.current_a and w.wire.size is not None and w.wire.length_m is not None]
    for worst in on_way[:2]:
        first = size_within(design, worst, excess_v)
        if first is not None:
            further = larger_sizes(first)[:1]
            yield from (Change((Resize(worst.wire.name, size),)) for size in (first, *further))
    for count in (2, 3, 4):
        if len(on_way) < count:
            return
        taking = on_way[:count]
        share = sum(w.drop_v for w in taking)
        if share <= excess_v:
            continue
        sizes = [(w.wire.name, size_within(design, w, excess_v * w.drop_v / share)) for w in taking]
        if all(size is not None for _, size in sizes):
            yield Change(tuple(Resize(name, size) for name, size in sizes if size is not None))


def thicker(wires: list[Wire]) -> Iterator[Change]:
    """All of some wires by one standard size, and by two."""
    for step in (1, 2):
        sizes = [(w.name, larger_sizes(w.size)[:step]) for w in wires if w.size is not None]
        edits: list[Edit] = [Resize(name, larger[-1]) for name, larger in sizes if len(larger) == step]
        if edits:
            yield Change(tuple(edits))
