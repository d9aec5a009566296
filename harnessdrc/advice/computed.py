"""Changes for what is computed from the whole ground network: offsets, readings, cranking currents, reserves."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice

from harnessdrc.advice.asked import Asked, moved, star_moved
from harnessdrc.advice.edits import Change, MoveEnd
from harnessdrc.advice.grounds import two_paths
from harnessdrc.advice.sensors import return_home
from harnessdrc.advice.sizes import thicker
from harnessdrc.harness.elements import Wire
from harnessdrc.harness.names import natural_key

__all__ = ["computed"]


def computed(asked: Asked) -> Iterator[Change]:
    """For what is computed from the whole ground network: misplaced ends, shared returns, thin grounds, the star."""
    design, device = asked.design, asked.device
    named = _named_wires(asked)
    if device is not None:
        points = {r.earth for r in design.grounds.star}
        ends = asked.homes.ground_ends(device)
        away = [end for end in ends if end.earth not in points]
        for home in asked.homes.homes[:2]:
            yield moved(away, home)
        if device in design.devices.sensors:
            yield from islice(return_home(asked), 3)
        bodies = {design.devices.rigid(end.earth) for end in ends}
        if len(bodies) > 1:
            yield from islice(two_paths(asked), 3)
    for wire in named:
        for contact in (wire.a, wire.b):
            if contact is not None and contact in design.net.earths:
                yield from (
                    Change((MoveEnd(wire.name, contact, home),)) for home in asked.homes.homes[:2] if home != contact
                )
    for wire in named:
        yield from thicker([wire])
    if device is not None:
        grounds = {end.wire for end in asked.homes.ground_ends(device)}
        yield from thicker([w for name in sorted(grounds, key=natural_key) if (w := asked.homes.wire(name))])
    yield from thicker([w for e in asked.homes.star_ends[0] if (w := asked.homes.wire(e.wire))])
    yield from star_moved(asked)


def _named_wires(asked: Asked) -> list[Wire]:
    """Wires that the finding's subject or evidence names."""
    names: list[str] = []
    kind, name = asked.finding.subject
    if kind == "wire":
        names.append(name)
    for key in ("wire", "wires", "joint_wire"):
        value = asked.finding.evidence.get(key)
        if isinstance(value, str):
            names.append(value)
        elif isinstance(value, list):
            names += [v for v in value if isinstance(v, str)]
    return [wire for n in dict.fromkeys(names) if (wire := asked.homes.wire(n))][:3]
