"""The solved network as JSON text: one node, wire or victim per line, written in bulk.

Six states of fifty thousand wires are a million lines, for which the pretty printer of the standard library
takes a quarter of a minute. Here the numbers of a state are rounded and turned into text as whole arrays,
and names are put in quotes once for all states.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from harnessdrc.render.json_text import DECIMALS, json_lines, json_number, json_quoted
from harnessdrc.render.offsets import limit_on_the_side_of
from harnessdrc.results import NetworkOutcome, OffsetLine, ReserveLine, ShareLine, StarLine, StateLine

__all__ = ["DECIMALS", "network_pieces"]

_BLOCK = 4096
_OHM_PER_MOHM = 0.001


def network_pieces(network: NetworkOutcome, indent: int = 1) -> Iterator[str]:
    """The ``network`` object of the JSON, in pieces.

    Parameters
    ----------
    network : NetworkOutcome
        What was solved; an empty one gives empty lists.
    indent : int
        Blanks before the closing bracket; what is inside stands further in.

    Yields
    ------
    str
        Text that makes one JSON object when joined: the same for the same outcome. A number that is not finite is
        written as ``null``. A wire in which nothing flows in a state, neither on average nor at the worst instant,
        is left out of that state.
    """
    outer, inner = " " * indent, " " * (indent + 1)
    yield f'{{\n{inner}"states": ['
    writer = _StateWriter(network, " " * (indent + 2))
    for number in range(len(network.states)):
        yield ("," if number else "") + "\n"
        yield from writer.state(number)
    yield f"\n{inner}]" if network.states else "]"
    for name, lines in (
        ("star_points", map(_star, network.stars)),
        ("not_solved", map(json_quoted, network.not_solved)),
    ):
        yield f',\n{inner}"{name}": '
        yield from json_lines(lines, inner)
    yield f"\n{outer}}}"


def _numbers(row: NDArray[np.float64]) -> list[str]:
    """The same of many at once."""
    with np.errstate(over="ignore", invalid="ignore"):
        rounded = np.round(row, DECIMALS) + 0.0
    texts = list(map(repr, rounded.tolist()))
    for at in np.flatnonzero(~np.isfinite(rounded)).tolist():
        texts[at] = json_number(float(row[at]))
    return texts


class _StateWriter:
    """Writes the states of one network; what they share is made once."""

    def __init__(self, network: NetworkOutcome, indent: str) -> None:
        self._network = network
        self._indent = indent
        self._nodes = [f'{{"node": {json_quoted(node)}, "volts": ' for node in network.nodes]
        self._wires = [f'{{"wire": {json_quoted(wire)}, "amps": ' for wire in network.wires]
        self._victims = [_victim(line) for line in network.offsets]
        self._sources: dict[str, str] = {}
        names = {state.name for state in network.states}
        self._joints = [_joints_by_state(line, network.states, names) for line in network.offsets]

    def state(self, number: int) -> Iterator[str]:
        """One state."""
        inner = self._indent + " "
        yield f"{self._indent}{{\n{inner}" + f",\n{inner}".join(_conditions(self._network.states[number]))
        for name, lines in (
            ("nodes", self._node_lines(number)),
            ("wires", self._wire_lines(number)),
            ("offsets", self._offset_lines(number)),
        ):
            yield f',\n{inner}"{name}": '
            yield from json_lines(lines, inner)
        yield f"\n{self._indent}}}"

    def _node_lines(self, number: int) -> Iterator[str]:
        if not self._nodes:
            return iter(())
        volts = _row(self._network.node_v, number)
        return chain.from_iterable(
            map("%s%s}".__mod__, zip(self._nodes[at : at + _BLOCK], _numbers(volts[at : at + _BLOCK]), strict=True))
            for at in range(0, len(volts), _BLOCK)
        )

    def _wire_lines(self, number: int) -> Iterator[str]:
        if not self._wires:
            return
        network = self._network
        amps, peak_a = _row(network.average_a, number), _row(network.peak_a, number)
        drop_mv, peak_drop_mv = _row(network.average_drop_mv, number), _row(network.peak_drop_mv, number)
        nothing = (np.round(amps, DECIMALS) == 0) & (np.round(peak_a, DECIMALS) == 0)
        carrying = np.flatnonzero(~nothing)
        degc = json_number(network.conductor_degc)
        line = f'%s%s, "drop_mv": %s, "degc": {degc}, "peak_amps": %s, "peak_drop_mv": %s}}'
        for start in range(0, len(carrying), _BLOCK):
            block = carrying[start : start + _BLOCK]
            yield from map(
                line.__mod__,
                zip(
                    map(self._wires.__getitem__, block.tolist()),
                    *(_numbers(values[block]) for values in (amps, drop_mv, peak_a, peak_drop_mv)),
                    strict=True,
                ),
            )

    def _offset_lines(self, number: int) -> Iterator[str]:
        lines = self._network.offsets
        figures = zip(
            *(
                _numbers(np.array([values[number] for values in column], dtype=np.float64))
                for column in (
                    [line.average_mv for line in lines],
                    [line.peak_mv for line in lines],
                    [line.aged_average_mv for line in lines],
                    [line.aged_peak_mv for line in lines],
                )
            ),
            strict=True,
        )
        for line, victim, joints, shares, told in zip(
            lines, self._victims, self._joints, self._shares(number), figures, strict=True
        ):
            limit_mv = limit_on_the_side_of(line, line.peak_mv[number])
            yield (
                f'{victim}{told[0]}, "peak_mv": {told[1]}, "aged_mv": {told[2]}, "aged_peak_mv": {told[3]}, '
                f'"limit_mv": {json_number(limit_mv)}, {_worst_alone(line, number)}, "shares": [{shares}], '
                f'"critical_joints": [{", ".join(map(_joint, joints.get(number, ())))}]}}'
            )

    def _shares(self, number: int) -> Iterator[str]:
        """Shares of every victim in one state; sources have few names, which are put in quotes once."""
        of_all = [line.shares[number] if number < len(line.shares) else () for line in self._network.offsets]
        texts = iter(_numbers(np.array([one.mv for shares in of_all for one in shares], dtype=np.float64)))
        known = self._sources
        for shares in of_all:
            parts = []
            for one in shares:
                head = known.get(one.source)
                if head is None:
                    head = known[one.source] = f'{{"source": {json_quoted(one.source)}, "mv": '
                parts.append(f"{head}{next(texts)}{_across(one)}}}")
            yield ", ".join(parts)


def _row(values: NDArray[np.float64], number: int) -> NDArray[np.float64]:
    row: NDArray[np.float64] = np.asarray(values[number], dtype=np.float64)
    return row


def _conditions(state: StateLine) -> list[str]:
    figures = ("rpm", "starter_a", "charge_a", "loads_a", "battery_v")
    return [
        f'"name": {json_quoted(state.name)}',
        f'"meaning": {json_quoted(state.meaning)}',
        *(f'"{name}": {json_number(getattr(state, name))}' for name in figures),
    ]


def _across(share: ShareLine) -> str:
    """Where a share falls, in the state in which that was worked out."""
    if not share.across:
        return ""
    parts = ", ".join(f'{{"part": {json_quoted(part)}, "mv": {json_number(mv)}}}' for part, mv in share.across)
    return f', "across": [{parts}]'


def _victim(line: OffsetLine) -> str:
    return (
        f'{{"victim": {json_quoted(line.victim[1])}, "what": {json_quoted(line.what)}, '
        f'"reference": {json_quoted(line.reference)}, "mv": '
    )


def _joints_by_state(
    line: OffsetLine, states: Sequence[StateLine], names: set[str]
) -> dict[int, tuple[ReserveLine, ...]]:
    """Reserves of a victim by the state they are worked out in."""
    if not line.reserves:
        return {}
    found: dict[int, tuple[ReserveLine, ...]] = {}
    for number, state in enumerate(states):
        here = tuple(
            one for one in line.reserves if one.state == state.name or (number == line.worst and one.state not in names)
        )
        if here:
            found[number] = here
    return found


_ELSEWHERE = '"low_mv": null, "high_mv": null, "error": null, "error_unit": "", "sensor_fault": false'


def _worst_alone(line: OffsetLine, number: int) -> str:
    """What is known of a victim in its worst state only."""
    if number != line.worst:
        return _ELSEWHERE
    fault = line.error is not None and math.isinf(line.error)
    return (
        f'"low_mv": {json_number(line.low_mv)}, "high_mv": {json_number(line.high_mv)}, '
        f'"error": {json_number(line.error)}, "error_unit": {json_quoted(line.error_unit)}, '
        f'"sensor_fault": {"true" if fault else "false"}'
    )


def _joint(joint: ReserveLine) -> str:
    return f'{{"joint": {json_quoted(joint.joint)}, "ohms": {json_number(joint.mohm * _OHM_PER_MOHM)}}}'


def _star(line: StarLine) -> str:
    return (
        f'{{"earth_point": {json_quoted(line.earth_point)}, "today": {"true" if line.today else "false"}, '
        f'"worst_mv": {json_number(line.worst_mv)}, "worst_victim": {json_quoted(line.worst_victim)}, '
        f'"worst_state": {json_quoted(line.worst_state)}, '
        f'"worst_share_of_limit": {json_number(line.worst_share_of_limit)}, '
        f'"high_voltage_return_m": {json_number(line.high_voltage_return_m)}, "lacking": ['
        + ", ".join(map(json_quoted, line.lacking))
        + "]}"
    )
