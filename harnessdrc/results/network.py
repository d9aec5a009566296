"""The solved circuit: states, offsets with their parts, candidates for the star point."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

from harnessdrc.findings import Mark, Subject

__all__ = ["NetworkOutcome", "OffsetLine", "ReserveLine", "ShareLine", "StarLine", "StateLine"]


class StateLine(NamedTuple):
    """An operating state as solved.

    Parameters
    ----------
    name, meaning : str
        As the ruleset has them.
    rpm : float
        Engine speed, 1/min.
    starter_a, charge_a, loads_a : float
        Current of the starter, into the battery, and of all other loads on average, A.
    battery_v : float
        Voltage between the battery's terminals, V.
    """

    name: str
    meaning: str
    rpm: float
    starter_a: float
    charge_a: float
    loads_a: float
    battery_v: float


class ShareLine(NamedTuple):
    """Part of an offset that one source makes, or that falls across one part of the circuit, mV, signed as the offset.

    `across` tells of a source where its part falls, the greatest first; empty where that was not worked out.
    """

    source: str
    mv: float
    across: tuple[tuple[str, float], ...] = ()


class ReserveLine(NamedTuple):
    """By how many milliohm one joint may rise until the limit of its victim is crossed."""

    joint: str
    wire: str | None
    mohm: float
    state: str
    mark: Mark | None


@dataclass(frozen=True, slots=True)
class OffsetLine:
    """Ground of one victim against the controller's, in every state.

    Parameters
    ----------
    victim : tuple of (str, str)
        Its subject.
    what : str
        ``coil input``, ``sensor reading``, ``controller ground``, ``bus node``.
    reference : str
        Ground it is held against, as people write it.
    low_limit_mv, high_limit_mv : float or None
        Offsets between these do no harm, mV.
    average_mv, peak_mv, aged_average_mv, aged_peak_mv : tuple of float
        One value per state: on average and at the worst instant, with joints as new and aged, mV.
    shares : tuple of tuple of ShareLine
        Per state, the parts that add to ``peak_mv``, the greatest first; the last may be ``everything else``.
        Empty where the offset is far below its limit.
    reserves : tuple of ReserveLine
        The weakest joints, the least reserve first.
    worst : int
        The state whose worst instant stands nearest to a limit or furthest over it.
    low_mv, high_mv : float or None
        Range of the worst instant in that state over the data that is uncertain; None where nothing is.
    error, error_unit
        What the offset makes of a reading in the worst state: ``K`` or ``% of span``; ``inf`` for a sensor fault.
    mark : Mark or None
        Where the victim stands in the list.
    across : tuple of ShareLine
        The whole of the worst state, told by the parts of the circuit that it falls across.
    """

    victim: Subject
    what: str
    reference: str
    low_limit_mv: float | None
    high_limit_mv: float | None
    average_mv: tuple[float, ...]
    peak_mv: tuple[float, ...]
    aged_average_mv: tuple[float, ...]
    aged_peak_mv: tuple[float, ...]
    shares: tuple[tuple[ShareLine, ...], ...]
    reserves: tuple[ReserveLine, ...]
    worst: int
    low_mv: float | None = None
    high_mv: float | None = None
    error: float | None = None
    error_unit: str = ""
    mark: Mark | None = None
    across: tuple[ShareLine, ...] = ()


class StarLine(NamedTuple):
    """One candidate for the star point, with everything solved again.

    Parameters
    ----------
    earth_point : str
        As people write it, with its body.
    today : bool
        Whether the list has its star point there.
    worst_mv, worst_victim, worst_state
        The offset that stands nearest to its limit or furthest over it.
    worst_share_of_limit : float
        That offset over its limit: above 1 it is crossed.
    high_voltage_return_m : float or None
        Longest way of a coil's spark current home, m; None where lengths are lacking.
    lacking : tuple of str
        What the length would need.
    """

    earth_point: str
    today: bool
    worst_mv: float
    worst_victim: str
    worst_state: str
    worst_share_of_limit: float
    high_voltage_return_m: float | None
    lacking: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class NetworkOutcome:
    """What the solved network says, as plain numbers.

    Parameters
    ----------
    states : tuple of StateLine
        In the order of the ruleset; every array below has one row per state.
    nodes : tuple of str
        Contacts, earth points, bodies and insides of devices, as people write them.
    node_v : ndarray, shape (states, nodes)
        Potential against the battery's negative post on average, joints as new, V.
    wires : tuple of str
        Wires that are part of the network, in the order of the list.
    wire_marks : tuple of Mark or None
        Their cells.
    average_a, peak_a : ndarray, shape (states, wires)
        Current from the wire's first end to its second, on average; and its greatest amount at the worst instant, A.
    average_drop_mv, peak_drop_mv : ndarray, shape (states, wires)
        The same of the voltage along wire and joints, mV.
    conductor_degc : float
        Temperature the wires are taken at.
    offsets : tuple of OffsetLine
        Every victim, the one nearest to its limit or furthest over it first.
    stars : tuple of StarLine
        Candidates for the star point, the best first; empty where there is nothing to compare.
    not_solved : tuple of str
        What floats, has no return or is shorted, and was left out; one sentence each.
    """

    states: tuple[StateLine, ...] = ()
    nodes: tuple[str, ...] = ()
    node_v: Any = ()
    wires: tuple[str, ...] = ()
    wire_marks: tuple[Mark | None, ...] = ()
    average_a: Any = ()
    peak_a: Any = ()
    average_drop_mv: Any = ()
    peak_drop_mv: Any = ()
    conductor_degc: float = 20.0
    offsets: tuple[OffsetLine, ...] = ()
    stars: tuple[StarLine, ...] = ()
    not_solved: tuple[str, ...] = ()
