"""Every fuse as plain data: its load, the thinnest wire it protects, the short circuit it is least sure to clear."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from harnessdrc.design.sizing.faults import WorstFault
from harnessdrc.design.sizing.fuse_currents import FuseCurrents
from harnessdrc.design.sizing.fuse_items import colour_of
from harnessdrc.design.sizing.protection import protection_of
from harnessdrc.findings import Mark

if TYPE_CHECKING:
    from harnessdrc.design import Design

__all__ = ["FuseFacts", "fuse_lines"]


class FuseFacts(NamedTuple):
    """One fuse as plain data; as `harnessdrc.results.FuseLine`."""

    fuse: str
    family: str
    colour: str
    rating_a: float | None
    load_a: float | None
    state: str
    thinnest: str
    thinnest_allowed_a: float | None
    fault_a: float | None
    fault_wire: str
    clears_s: float | None
    withstands_s: float | None
    lacking: tuple[str, ...]
    mark: Mark | None
    thinnest_held_a: float | None = None
    certain: tuple[str, ...] = ()


def _clears_s(fault: WorstFault | None) -> float | None:
    """Longest time a fuse takes, s: inf where it may never open, None where that is not known."""
    if fault is None:
        return None
    return math.inf if fault.verdict == "may not open" and fault.clears_s is None else fault.clears_s


def fuse_lines(design: Design, clear_s: float = 5.0) -> tuple[FuseFacts, ...]:
    """Every fuse of a design as plain data, by name.

    Parameters
    ----------
    design : Design
        The design.
    clear_s : float
        Time within which a fuse should clear a fault, s, as the rule has it.
    """
    protection = protection_of(design)
    currents = FuseCurrents(design)
    lines = []
    for fuse in protection.fuses:
        load = currents.of(fuse)
        lacking = [f"current of {name}" for name in load.unknown]
        lacking += [f"cores of cable {name}" for name in protection.cables_behind.get(fuse.item.key, ())]
        if fuse.rating_a is None:
            lacking.append(f"rating of {fuse.item.name}")
        if not fuse.family and not fuse.output:
            lacking.append(f"family of {fuse.item.name}")
        thinnest = protection.thinnest(fuse)
        thin = thinnest[1] if thinnest else None
        if thin is not None and thin.high_a > thin.low_a:
            lacking += design.sizing.lacking(thin.wire.name)
        fault = protection.worst_fault(fuse, clear_s)
        if fault is not None:
            lacking += fault.lacking
        certain = ["wire"] if thinnest is not None and thinnest[0].held_a > thinnest[0].high_a else []
        if fault is not None and fault.verdict not in ("clears", "not known"):
            certain.append("fault")
        mark = fuse.mark()
        size = thin.wire.size if thin is not None else None
        lines.append(
            FuseFacts(
                fuse.item.name,
                fuse.family,
                colour_of(fuse),
                fuse.rating_a,
                load.current_a,
                load.state,
                " ".join(filter(None, (thin.wire.name, f"({size})" if size else ""))) if thin is not None else "",
                thin.low_a if thin is not None else None,
                fault.current_a if fault is not None else None,
                fault.wire.name if fault is not None else "",
                _clears_s(fault),
                fault.withstands_s if fault is not None else None,
                tuple(dict.fromkeys(lacking)),
                mark[0] if mark else None,
                thin.held_a if thin is not None else None,
                tuple(certain),
            )
        )
    return tuple(lines)
