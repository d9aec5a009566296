"""The short circuit at the far end of single wires as plain data: for the results."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design.sizing.clearing import clearing
from harnessdrc.design.sizing.faults import faults_of
from harnessdrc.design.sizing.protection import Protection, protection_of
from harnessdrc.harness.elements import Wire

if TYPE_CHECKING:
    from harnessdrc.design import Design

__all__ = ["OnFault", "WireFault", "wire_faults"]

OnFault = Literal["", "no fuse", "cleared", "wire too thin", "fuse too large"]


class WireFault(NamedTuple):
    """A fault at the far end of one wire.

    Parameters
    ----------
    fuse : str or None
        The fuse or protected output ahead of the wire; empty where there is none, None where no copper leads from the
        wire to a battery.
    fault_a : float or None
        Its current, A, as usual where data of the way is lacking; None where that of the wire itself is.
    clears_s : float or None
        Longest time of the fuse at that current, s, inf where it may never open; beyond the last point of its limits
        the time in which that current heats as much.
    withstands_s : float or None
        Time until the wire is at its short-time limit, s.
    on_fault : str
        What comes of it: ``no fuse``; ``cleared`` before the wire is harmed, in the time a fuse may take; ``wire too
        thin``; ``fuse too large`` (or too slow): no standard size of the wire would do; empty where not known.
    lacking : tuple of str
        Data without which these figures are not known, or not for certain.
    """

    fuse: str | None = None
    fault_a: float | None = None
    clears_s: float | None = None
    withstands_s: float | None = None
    on_fault: OnFault = ""
    lacking: tuple[str, ...] = ()


_NONE = WireFault()


def wire_faults(
    design: Design, numbers: NDArray[np.intp], fuse_fails: NDArray[np.bool_], clear_s: float
) -> list[WireFault]:
    """Faults at the far ends of some wires.

    Parameters
    ----------
    design : Design
        The design.
    numbers : ndarray of int
        The wires, by their numbers in the list.
    fuse_fails : ndarray of bool, shape (wires of the list,)
        Whether no standard size of a wire would help.
    clear_s : float
        Time within which a fuse should clear a fault, s.
    """
    protection, faults = protection_of(design), faults_of(design)
    wires, items, by_key = design.harness.wires, design.harness.items, protection.by_key
    found = [_NONE] * len(numbers)
    behind: dict[tuple[tuple[str, ...], float], list[int]] = {}
    if not protection.ahead:
        return found
    current = faults.current_a[numbers]
    ranged = faults.loops.ohm[numbers, 1] != faults.loops.ohm[numbers, 2]
    for at, (number, amps, uncertain) in enumerate(
        zip(numbers.tolist(), current.tolist(), ranged.tolist(), strict=True)
    ):
        wire = wires[number]
        live, key = _ahead(protection, wire)
        if not live:
            continue
        lacking = faults.own_data(wire)
        fault_a = withstands_s = None
        on_fault: OnFault = "no fuse" if key is None else ""
        if amps != amps:
            lacking = (*lacking, f"way of the feed to wire {wire.name}")
        elif not lacking:
            fault_a = amps
            stands = faults.stands(wire)
            withstands_s, lacking = stands.usual / amps**2, stands.lacking
            if uncertain:
                lacking = (*faults.loops.lacking(number), *lacking)
        if key is not None:
            fuse = by_key.get(key)
            if fuse is None or fuse.rating_a is None:
                lacking = (*lacking, f"rating of {items[key].name}")
            elif not protection.families(fuse):
                joined = [items[each].name for each in protection.joined.get(fuse.behind, (key,))
                          if not protection.by_key[each].families]  # fmt: skip
                lacking = (*lacking, *(f"family of {name}" for name in joined))
            elif fault_a is not None:
                behind.setdefault((protection.families(fuse), protection.joined_a(fuse)), []).append(at)
        name = "" if key is None else items[key].name
        found[at] = WireFault(name, fault_a, None, withstands_s, on_fault, lacking)
    for (families, rating_a), places in behind.items():
        amps_of = current[places]
        stood = amps_of**2 * [found[at].withstands_s or 0.0 for at in places]
        judged = clearing(families, rating_a, amps_of, stood, clear_s)
        times_s = (judged.let_a2s / amps_of**2).tolist()
        for at, time_s, verdict in zip(places, times_s, judged.verdict.tolist(), strict=True):
            said: OnFault = "cleared" if not verdict else "wire too thin"
            if verdict and fuse_fails[numbers[at]]:
                said = "fuse too large"
            found[at] = found[at]._replace(clears_s=time_s, on_fault=said)
    return found


def _ahead(protection: Protection, wire: Wire) -> tuple[bool, str | None]:
    """Whether a wire is live copper that shorts nothing, and the key of the fuse ahead of it."""
    net_of = protection.design.net.net_of
    for end in (wire.a, wire.b):
        net = net_of.get(end) if end is not None else None
        if net is not None:
            live = net in protection.ahead and net not in protection.design.feeds.shorted
            return live, protection.ahead[net] if live else None
    return False, None
