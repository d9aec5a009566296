"""What the two voltage-drop checks share: a load's drop held against a limit, and the size that would do."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any, Literal

from harnessdrc.checks.offsets import lacking_words
from harnessdrc.design import Design, Load, LoadDrop, WireDrop, conductor_source, wire_ohm
from harnessdrc.findings import Finding, Mark, Subject, Undecided, beyond, figures
from harnessdrc.physics.conductor import metric_sizes_mm2
from harnessdrc.units import Size

__all__ = ["larger_sizes", "load_drops", "load_subjects", "size_within"]

_CERTAIN_V = 1e-3
"""A range narrower than this is none."""

_AWG_SIZES = (*tuple(range(26, 3, -2)), 2, 1, 0, -1, -2, -3)


def load_subjects(design: Design, limits: Any) -> list[Subject]:
    """Every load of the design that has a return."""
    loads = design.loads
    return [load.device.subject for load in loads.all if load.device.key not in loads.unreturned]


def larger_sizes(size: Size) -> list[Size]:
    """Standard sizes of the same system above this one, the smallest first."""
    if size.awg is not None:
        return [Size(str(n), "awg", awg=n) for n in _AWG_SIZES if n < size.awg]
    return [Size(str(s), "mm2", csa_mm2=s) for s in metric_sizes_mm2() if s > (size.csa_mm2 or 0)]


def size_within(design: Design, drop: WireDrop, excess_v: float) -> Size | None:
    """The smallest standard size of the same system that takes `excess_v` off the drop of a wire, if one does."""
    wire = drop.wire
    if wire.size is None or wire.length_m is None or not drop.current_a:
        return None
    t_degc = design.given["conductor_degc"]
    target = (wire_ohm(wire.size, wire.length_m, t_degc) or 0.0) - excess_v / drop.current_a
    for size in larger_sizes(wire.size):
        ohm = wire_ohm(size, wire.length_m, t_degc)
        if ohm is not None and ohm <= target:
            return size
    return None


def _larger(design: Design, worst: WireDrop, excess_v: float) -> str:
    """Advice: the smallest standard size of the same system that takes `excess_v` away."""
    wire = worst.wire
    if wire.size is None or wire.length_m is None or not worst.current_a:
        return ""
    size = size_within(design, worst, excess_v)
    if size is not None:
        return f"Make wire {wire.name} {size} instead of {wire.size}; that brings it within the limit."
    return f"No larger size of wire {wire.name} alone is enough: shorten the way or lay a second wire."


def _finding(design: Design, load: Load, drop: LoadDrop, limit_mv: float) -> Finding:
    worst = drop.wires[0] if drop.wires else None
    marks: tuple[Mark, ...] = ()
    if worst:
        marks = (Mark(worst.wire.place.of("size", "wire"), "most of the drop"),)
        marks += tuple(
            Mark(w.wire.place.of("size", "wire"), f"{w.drop_v * 1000:.0f} mV of the drop")
            for w in drop.wires[1:3]
            if w.drop_v > 0.1 * drop.drop_v
        )
    marks += design.devices.mark_device(load.device)
    advice = _larger(design, worst, drop.drop_v - limit_mv / 1000) if worst else ""
    ranged = drop.high_v - drop.low_v > _CERTAIN_V
    return Finding(
        load.device.subject,
        marks,
        {
            "low_mv": round(drop.low_v * 1000),
            "high_mv": round(drop.high_v * 1000),
            "current": _short(load.current_a or 0.0),
            "wire": worst.wire.name if worst else "",
            "worst_mv": round(worst.drop_v * 1000) if worst else 0,
            "size": str(worst.wire.size) if worst and worst.wire.size else "size not given",
            "length_m": _short(worst.wire.length_m or 0.0) if worst else "",
            "wire_a": _short(worst.current_a) if worst else "",
            "advice": advice or "Use larger wires on the way, or shorten it.",
            "resistance_from": conductor_source(worst.wire.size) if worst else "",
            "way": [
                {"wire": w.wire.name, "amps": round(w.current_a, 4), "mv": round(w.drop_v * 1000, 3)}
                for w in drop.wires
            ],
        },
        measured=round(drop.drop_v * 1000, 3),
        limit=limit_mv,
        unit="mV",
        variant="range" if ranged else "",
    )


def _short(value: float) -> str:
    return figures(value)


def load_drops(design: Design, limit_mv: float, side: Literal["feed", "return"]) -> Iterator[Finding | Undecided]:
    """Findings and undecided ones of every load for one side."""
    drops, loads = design.drops, design.loads
    battery = design.circuit.fault is not None and design.circuit.fault.reason in ("another voltage", "in series")
    over: list[tuple[Load, LoadDrop]] = []
    for load in loads.all:
        if load.device.key in loads.unreturned:
            continue  # ground.no_return looks at it
        drop = drops.feed(load) if side == "feed" else drops.back(load)
        if drop is None:
            end = "the battery's positive terminal" if side == "feed" else "the battery's negative terminal"
            contact = (load.feeds if side == "feed" else load.returns or load.feeds)[0]
            yield Undecided(
                load.device.subject,
                lacking_words(design) if battery else (f"a way from {design.label(contact)} to {end}",),
                design.devices.mark(contact),
            )
            continue
        # Without a way home nothing flows in its feed.
        if not drops.returns(load):
            yield Undecided(
                load.device.subject,
                (f"a closed way for the current of {load.device.name}",),
                design.devices.mark_device(load.device),
            )
            continue
        if beyond(drop.low_v * 1000, limit_mv):
            over.append((load, drop))
        elif beyond(drop.high_v * 1000, limit_mv) or drop.unknown:
            yield Undecided(
                load.device.subject,
                drop.lacking or (f"what else flows on the way of {load.device.name}",),
                tuple(
                    Mark(w.place.of("length_m" if w.length_m is None else "size", "wire"), f"wire {w.name}")
                    for w in drop.lacking_wires
                )
                or design.devices.mark_device(load.device),
                low=round(drop.low_v * 1000, 3),
                high=round(drop.high_v * 1000, 3),
                limit=limit_mv,
                unit="mV",
            )
    # Loads whose drop stands mostly in one wire are one matter: the greatest of them is the cause.
    causes: dict[str, tuple[str, Subject]] = {}
    # Rounded, since the order of the rows moves the last figure of drops that are the same.
    for load, drop in sorted(over, key=lambda o: (-round(o[1].drop_v, 9), o[0].device.name)):
        finding = _finding(design, load, drop, limit_mv)
        worst = drop.wires[0].wire.name if drop.wires else ""
        yield replace(finding, follows_from=causes.get(worst))
        causes.setdefault(worst, (f"{'feed' if side == 'feed' else 'ground'}.voltage_drop", finding.subject))
