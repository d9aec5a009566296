"""The solved circuit as plain numbers and names, for the renderers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from harnessdrc.design import Design
from harnessdrc.design.analysis import Analysis
from harnessdrc.design.analysis.analysis import Worst
from harnessdrc.design.analysis.limits import OffsetLimits, reading_error
from harnessdrc.design.analysis.reserves import Reserve
from harnessdrc.design.analysis.shares import Sources
from harnessdrc.design.circuit import LeftOut
from harnessdrc.findings import Mark
from harnessdrc.results import NetworkOutcome, OffsetLine, ReserveLine, ShareLine, StateLine

__all__ = ["left_out_sentence", "network_outcome"]

_LEAST_SHARE_OF_LIMIT = 0.01
_TELLING_SHARE_OF_LIMIT = 0.2
_TOLD_WITH_PARTS = 24
"""So many victims, those nearest to their limit, are told with the parts of every offset that is a hundredth of its
limit or more; of the others those that are a fifth of it or more."""
_RESERVES = 3
_MOST_RESERVE_OHM = 1.0
"""A joint that may rise by more than this is no weak one."""
_RANGED_SHARE_OF_LIMIT = 0.2
"""Only an offset above this part of its limit is told with its range."""

_LEFT_OUT: Mapping[str, str] = {
    "no battery negative": "Nothing leads to the negative post of a battery: no earth point has a known body, and "
    "there is no strap. Nothing was solved.",
    "in series": "{name} is joined to {detail}: two batteries in series. The figures used are of 12 V systems. Nothing "
    "was solved.",
    "another voltage": "{name} is a battery of {detail} V. The figures used are of 12 V systems. Nothing was solved.",
    "battery shorted": "{name} is joined to {detail} by copper: a short circuit ahead of every fuse. Nothing was "
    "solved.",
    "net shorted": "The net fed by {name} is joined to {detail}: it was left out, with all that it feeds.",
    "no way home": "{name} has no way back to the battery's negative post: its current was left out.",
    "cut off": "{name} is fed through what is open by the meter: its current was left out.",
    "no feed": "{name} is fed through a net that is shorted: its current was left out.",
    "no current": "What {name} draws is not known: it was taken as nothing.",
    "joint not known": "The joint list names {name}, which is no contact, earth point, splice, fuse, strap or wire of "
    "these lists: its resistance was not used.",
}


def left_out_sentence(item: LeftOut) -> str:
    """What was left out of the circuit, and why, as one sentence."""
    return _LEFT_OUT[item.reason].format(name=item.name, detail=item.detail)


def network_outcome(design: Design, limits: OffsetLimits) -> NetworkOutcome:
    """Everything the solved circuit says.

    Parameters
    ----------
    design : Design
        The design.
    limits : OffsetLimits
        What is allowed, as the rules have it.

    Returns
    -------
    NetworkOutcome
        With ``not_solved`` alone where nothing could be solved.
    """
    analysis = design.analysis
    not_solved = tuple(left_out_sentence(item) for item in analysis.left_out) if analysis.states else ()
    if not analysis.solved:
        return NetworkOutcome(not_solved=not_solved)
    circuit, settled = design.circuit, analysis.new.settled
    wire_parts = circuit.wire_parts
    wires = [circuit.parts[number].wire for number in wire_parts.tolist()]
    average_a = analysis.part_currents.average[wire_parts].T
    peak_a = analysis.part_currents.peak[wire_parts].T
    ohm_mv = settled.ohm[wire_parts] * 1000
    first, second = circuit.ends[wire_parts].T
    drop_mv = (settled.volts[first] - settled.volts[second]).T * 1000
    return NetworkOutcome(
        states=tuple(_states(design)),
        nodes=tuple(circuit.node_name(node) for node in circuit.nodes),
        node_v=settled.volts.T,
        wires=tuple(wire.name for wire in wires if wire is not None),
        wire_marks=tuple(Mark(wire.place.of("wire", "from_item"), "wire") for wire in wires if wire is not None),
        average_a=average_a,
        peak_a=peak_a,
        average_drop_mv=np.where(np.isnan(average_a), drop_mv, average_a * ohm_mv),
        peak_drop_mv=peak_a * ohm_mv,
        conductor_degc=float(design.given["conductor_degc"]),
        offsets=_offsets(design, limits),
        not_solved=not_solved,
    )


def _states(design: Design) -> list[StateLine]:
    circuit, settled = design.circuit, design.analysis.new.settled
    kinds = np.array([port.kind for port in circuit.ports])
    posts = [n for n, part in enumerate(circuit.parts) if part.kind == "battery"]
    lines = []
    for number, state in enumerate(design.analysis.states):
        amps = settled.average_a[:, number]
        into_battery_a = -float(settled.amps[posts, number].sum())
        terminal = circuit.ends[posts[0]]
        lines.append(
            StateLine(
                state.name, state.meaning, state.rpm,
                starter_a=float(amps[kinds == "starter"].sum()),
                charge_a=into_battery_a,
                loads_a=float(amps[(kinds == "load") | (kinds == "sensor")].sum()),
                battery_v=float(settled.volts[terminal[1], number] - settled.volts[terminal[0], number]),
            )
        )  # fmt: skip
    return lines


def _offsets(design: Design, limits: OffsetLimits) -> tuple[OffsetLine, ...]:
    analysis = design.analysis
    worst = [analysis.worst(number, limits) for number in range(len(analysis.victims))]
    reserves = analysis.reserves(limits, _RESERVES)
    order = sorted(range(len(worst)), key=lambda n: (-worst[n].share_of_limit, analysis.victims[n].subject, n))
    sources = Sources(analysis.new)
    first = set(order[:_TOLD_WITH_PARTS])
    shares = _shares(analysis, limits, sources, worst, first)
    across = {number: found.pop(-1) for number, found in shares.items() if -1 in found}
    return tuple(
        _line(design, limits, worst[n], reserves.get(n, []), shares.get(n, {}), across.get(n, ())) for n in order
    )


def _sides(
    analysis: Analysis, limits: OffsetLimits, victim: int, *, aged: bool = False
) -> list[tuple[float, bool, float]]:
    """For each state the worst instant of a victim, its side, and its share of the limit there."""
    low_v, high_v = limits.of(analysis.victims[victim].kind, analysis.given)
    offsets = analysis.aged if aged else analysis.new
    sides = []
    for low, high in zip(offsets.low_v[victim].tolist(), offsets.high_v[victim].tolist(), strict=True):
        found = []
        if low_v is not None:
            found.append((low / low_v, False, low))
        if high_v is not None:
            found.append((high / high_v, True, high))
        share, upward, value = max(found)
        sides.append((value, upward, share))
    return sides


def _shares(
    analysis: Analysis, limits: OffsetLimits, sources: Sources, worst: Sequence[Worst], first: set[int]
) -> dict[int, dict[int, tuple[ShareLine, ...]]]:
    """Parts of the offsets that are worth telling, by victim and state; under -1 the worst one by where it falls."""
    wanted = [
        (victim, state, upward)
        for victim in range(len(analysis.victims))
        for state, (_, upward, share) in enumerate(_sides(analysis, limits, victim))
        if abs(share) >= (_LEAST_SHARE_OF_LIMIT if victim in first else _TELLING_SHARE_OF_LIMIT)
    ]
    found: dict[int, dict[int, tuple[ShareLine, ...]]] = {}
    for (victim, state, upward), parts in zip(wanted, analysis.new.parts_of(wanted), strict=True):
        where: Mapping[str, tuple[tuple[str, float], ...]] = {}
        if state == worst[victim].state and upward == worst[victim].upward:
            where, whole = sources.across(victim, state, upward, parts)
            found.setdefault(victim, {})[-1] = tuple(ShareLine(part, volts * 1000) for part, volts in whole)
        found.setdefault(victim, {})[state] = tuple(
            ShareLine(
                source, volts * 1000, tuple((part, part_v * 1000) for part, part_v in where.get(source, ()))
            )
            for source, volts in sources.shares(parts)
        )
    return found


def _line(
    design: Design,
    limits: OffsetLimits,
    worst: Worst,
    reserves: list[Reserve],
    shares: Mapping[int, tuple[ShareLine, ...]],
    across: tuple[ShareLine, ...],
) -> OffsetLine:
    analysis, number = design.analysis, worst.victim
    victim = analysis.victims[number]
    low_v, high_v = limits.of(victim.kind, design.given)
    low_mv = high_mv = None
    if worst.share_of_limit >= _RANGED_SHARE_OF_LIMIT:
        ranged = analysis.range_of(worst)
        if not ranged.certain:
            low_mv, high_mv = ranged.low_v * 1000, ranged.high_v * 1000
    error, unit = reading_error(victim.kind, worst.offset_v, design.given)
    return OffsetLine(
        victim=victim.subject,
        what=victim.kind,
        reference=design.circuit.node_name(victim.reference),
        low_limit_mv=None if low_v is None else low_v * 1000,
        high_limit_mv=None if high_v is None else high_v * 1000,
        average_mv=tuple((analysis.new.average_v[number] * 1000).tolist()),
        peak_mv=tuple(value * 1000 for value, _, _ in _sides(analysis, limits, number)),
        aged_average_mv=tuple((analysis.aged.average_v[number] * 1000).tolist()),
        aged_peak_mv=tuple(value * 1000 for value, _, _ in _sides(analysis, limits, number, aged=True)),
        shares=tuple(shares.get(state, ()) for state in range(len(analysis.states))),
        reserves=tuple(_reserve(design, reserve) for reserve in reserves if reserve.rise_ohm <= _MOST_RESERVE_OHM),
        worst=worst.state,
        across=across,
        low_mv=low_mv,
        high_mv=high_mv,
        error=error,
        error_unit=unit,
        mark=victim.mark[0] if victim.mark else None,
    )


def _reserve(design: Design, reserve: Reserve) -> ReserveLine:
    part = design.circuit.parts[reserve.part]
    names = design.circuit.joints.names_of(part)
    # Of two joints on one wire the ring is the likelier one to corrode; both may rise by as much.
    name, place = next((each for each in names if each[0].startswith("ring")), names[0])
    return ReserveLine(
        name,
        part.wire.name if part.wire is not None else None,
        reserve.rise_ohm * 1000,
        design.analysis.states[reserve.state].name,
        Mark(place, name) if place is not None else None,
    )
