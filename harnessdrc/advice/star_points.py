"""Earth points compared: everything solved again with the star at each of them.

For one earth point of each body all power grounds of controllers, coils and igniters are moved there, lengths
kept, and every victim is held against its limit in every state. Beside it stands the longest way that a coil's spark
current has home to the head. That is an analysis of this list, not a rule.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from harnessdrc.advice.edits import Edit, MoveEnd
from harnessdrc.advice.proving import edited
from harnessdrc.design import Contact, Design, Device, Reached
from harnessdrc.design.analysis.limits import OffsetLimits
from harnessdrc.harness.names import natural_key
from harnessdrc.results import StarLine

__all__ = ["star_points"]

_USERS = ("controller", "coil", "igniter")
_POWER = ("power ground", "coil ground", "load return")
_MOST_WIRES = 2_000
"""In longer lists it would take longer than all the rest."""


def star_points(design: Design, limits: OffsetLimits) -> tuple[StarLine, ...]:
    """Candidates for the star point, the best first.

    Parameters
    ----------
    design : Design
        The list as it is.
    limits : OffsetLimits
        What is allowed.

    Returns
    -------
    tuple of StarLine
        Ordered by the worst offset against its limit, then by the way of the spark current. Empty where there are
        not two bodies to choose from, nothing is solved, no ground to be held against its limit, or the list is
        longer than 2,000 wires.
    """
    if not design.analysis.solved or not design.analysis.victims or len(design.harness.wires) > _MOST_WIRES:
        return ()
    users = list(_users(design))
    candidates = _candidates(design)
    if not users or len(candidates) < 2:
        return ()
    today = {r.earth for r in design.grounds.star}
    bodies = {design.devices.rigid(earth) for earth in today}
    lines = []
    for earth in candidates:
        edits: list[Edit] = [MoveEnd(r.wire.name, r.earth, earth) for r in users if r.earth != earth]
        moved = design if not edits else edited(design, edits)
        if moved.analysis.solved and moved.analysis.victims:
            lines.append(_line(moved, earth, earth in today and len(bodies) == 1, limits))
    lines.sort(key=lambda line: (line.worst_share_of_limit, line.high_voltage_return_m or 0.0, line.earth_point))
    return tuple(lines)


def _users(design: Design) -> Iterator[Reached]:
    """Wires that take the power grounds of controllers, coils and igniters to earth points, each once."""
    seen: set[tuple[str, Contact]] = set()
    for device in design.devices.of_kind(*_USERS):
        for reached in design.grounds.reached(design.devices.with_role(device, *_POWER)):
            key = reached.wire.name, reached.earth
            if key not in seen:
                seen.add(key)
                yield reached


def _candidates(design: Design) -> list[Contact]:
    """One earth point of each body: the star of today where it has one, else the first by name."""
    today = {r.earth for r in design.grounds.star}
    listed = {Contact(key, "") for key, item in design.harness.items.items() if item.kind == "earth point"}
    of_body: dict[str, list[Contact]] = {}
    for earth in design.net.earths | listed:
        body = design.devices.rigid(earth)
        if body is not None:
            of_body.setdefault(body, []).append(earth)
    order = partial(_rank, design, today)
    return [min(earths, key=order) for _, earths in sorted(of_body.items())]


def _rank(design: Design, today: set[Contact], earth: Contact) -> tuple[bool, tuple[tuple[int, int, str], ...]]:
    return earth not in today, natural_key(design.label(earth))


def _line(design: Design, earth: Contact, today: bool, limits: OffsetLimits) -> StarLine:
    analysis = design.analysis
    worst = max(
        (analysis.worst(number, limits) for number in range(len(analysis.victims))),
        key=lambda each: (each.share_of_limit, -each.victim),
    )
    victim = analysis.victims[worst.victim]
    length_m, lacking = _spark_return(design)
    return StarLine(
        f"{design.label(earth)} ({design.devices.body(earth)})",
        today,
        worst.offset_v * 1000,
        f"{victim.device.name}, {victim.kind}",
        analysis.states[worst.state].name,
        worst.share_of_limit,
        length_m,
        lacking,
    )


def _spark_return(design: Design) -> tuple[float | None, tuple[str, ...]]:
    """Longest way of a coil's spark current to the engine, m; None with what is lacking."""
    longest, lacking = 0.0, dict[str, None]()
    found = False
    for coil in design.devices.of_kind("coil"):
        way = _way_to_head(design, coil)
        if way is None:
            continue
        length_m, missing = way
        found = True
        lacking.update(dict.fromkeys(missing))
        longest = max(longest, length_m)
    return (longest if found and not lacking else None), tuple(lacking)


def _way_to_head(design: Design, coil: Device) -> tuple[float, tuple[str, ...]] | None:
    """Length of the copper from a coil's high-voltage return, else its ground, to the engine, and what is lacking."""
    for role in ("coil high-voltage return", "coil ground"):
        reached = design.grounds.reached(design.devices.with_role(coil, role))
        if reached:
            break
    else:
        return None
    best = min(reached, key=lambda r: (design.devices.rigid(r.earth) != "engine", r.earth))
    wires = design.net.wires_along(design.net.path(best.start, best.earth))
    length_m = sum(wire.length_m or 0.0 for wire in wires)
    missing = [f"length of wire {wire.name}" for wire in wires if wire.length_m is None]
    body = design.devices.rigid(best.earth)
    if body is not None and body != "engine":
        strap_m, more = _straps(design, body)
        length_m += strap_m
        missing += more
    return length_m, tuple(missing)


def _straps(design: Design, body: str) -> tuple[float, list[str]]:
    """Length of the straps between a body and the engine, m, and what is lacking."""
    edges = design.grounds.strap_edges(body, "engine")
    if edges is None:
        return 0.0, [f"straps from {body} to the engine"]
    missing = [f"length of {name}" for name, length_m, _ in edges if length_m is None]
    return sum(length_m or 0.0 for _, length_m, _ in edges), missing
