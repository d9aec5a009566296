"""Parts of an offset under the names that people give their sources, and where in the circuit they fall."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design.analysis.offsets import BATTERY, CHARGE, Offsets, Parts
from harnessdrc.design.circuit import Port

__all__ = ["EVERYTHING_ELSE", "Sources", "named_shares"]

EVERYTHING_ELSE = "everything else"

_LEAST_SHARE = 0.01
_MOST = 8
_ROUNDING_V = 1e-9

Share = tuple[str, float]
"""A name and its part of an offset, V."""


class Sources:
    """Names of the sources of a circuit: units that pulse in turn are told together, so are sensors.

    Parameters
    ----------
    offsets : Offsets
        Offsets whose parts are told.
    """

    def __init__(self, offsets: Offsets) -> None:
        self.offsets = offsets
        self.ports = offsets.settled.circuit.ports
        keys: dict[str, int] = {}
        self.source = np.array([keys.setdefault(_key(port), len(keys)) for port in self.ports], dtype=np.intp)
        self.count = len(keys)

    def _name(self, source: int, telling: NDArray[np.bool_]) -> str:
        """Name of a source, of whose ports those `telling` have a part: ``4 coils``, ``FAN``."""
        ports = [self.ports[number] for number in np.flatnonzero((self.source == source) & telling)]
        first = ports[0]
        if len(ports) == 1:
            return first.name
        kind = "sensor" if first.kind == "sensor" or first.figures is None else first.figures.kind
        return f"{len(ports)} {kind}s"

    def _ranked(self, parts: Parts) -> list[tuple[int, float]]:
        """Sources and their parts that may be worth telling, the greatest first; -1 is the charge, -2 the battery."""
        volts = np.bincount(self.source, parts.port_v, self.count)
        amount = np.abs(volts)
        telling = np.flatnonzero((amount > 0.0) & (amount >= _LEAST_SHARE * amount.max(initial=0.0)))
        found = list(zip(telling.tolist(), volts[telling].tolist(), strict=True))
        found += [(number, part_v) for number, part_v in ((-1, parts.charge_v), (-2, parts.battery_v)) if part_v]
        return sorted(found, key=lambda one: (-abs(one[1]), one[0]))

    def shares(self, parts: Parts) -> tuple[Share, ...]:
        """Source and its part, V; the parts add up to the offset.

        What is less than a hundredth of the greatest part, or comes after the eighth, stands together at the end as
        ``everything else``.
        """
        return tuple((name, part_v) for name, part_v, _ in self._told(parts))

    def _told(self, parts: Parts) -> list[tuple[str, float, int]]:
        ranked = self._ranked(parts)
        telling = parts.port_v != 0.0
        named = []
        for source, part_v in _worth_telling(ranked):
            name = CHARGE if source == -1 else BATTERY if source == -2 else self._name(source, telling)
            named.append((name, part_v, source))
        rest_v = parts.total_v - sum(part_v for _, part_v, _ in named)
        if abs(rest_v) > _ROUNDING_V:
            named.append((EVERYTHING_ELSE, rest_v, -3))
        return named

    def across(
        self, victim: int, state: int, upward: bool, parts: Parts
    ) -> tuple[dict[str, tuple[Share, ...]], tuple[Share, ...]]:
        """Where the parts of one worst instant fall.

        Returns
        -------
        tuple
            For each source that `shares` names what falls across which part of the circuit, and the whole offset by the
            parts of the circuit; both empty for a victim whose ways spread over many meshes.
        """
        ways = self.offsets.parts_by_way(victim, state, upward)
        if ways is None:
            return {}, ()
        source = np.where(ways.port >= 0, self.source[ways.port], -1)
        of_source = {}
        for name, part_v, number in self._told(parts):
            if number >= -1:
                mine = source == number
                of_source[name] = self._by_part(ways.part[mine], ways.volts[mine], part_v)
        rest_v = parts.total_v - float(ways.volts.sum())
        whole = self._by_part(ways.part, ways.volts, parts.total_v - rest_v)
        if abs(rest_v) > _ROUNDING_V:
            whole = (*whole, (BATTERY, rest_v))
        return of_source, whole

    def _by_part(self, part: NDArray[np.intp], volts: NDArray[np.float64], total_v: float) -> tuple[Share, ...]:
        circuit = self.offsets.settled.circuit
        numbers, place = np.unique(part, return_inverse=True)
        sums = np.bincount(place, volts, len(numbers)).tolist()
        ranked = sorted(zip(numbers.tolist(), sums, strict=True), key=lambda one: (-abs(one[1]), one[0]))
        told = [(circuit.part_name(circuit.parts[number]), part_v) for number, part_v in _worth_telling(ranked)]
        rest_v = total_v - sum(part_v for _, part_v in told)
        if abs(rest_v) > _ROUNDING_V:
            told.append((EVERYTHING_ELSE, rest_v))
        return tuple(told)


def named_shares(offsets: Offsets, parts: Parts) -> tuple[Share, ...]:
    """Shares of one offset; for many of them make one `Sources` and ask that."""
    return Sources(offsets).shares(parts)


def _worth_telling(ranked: Sequence[tuple[int, float]]) -> Iterable[tuple[int, float]]:
    least_v = _LEAST_SHARE * abs(ranked[0][1]) if ranked else 0.0
    return [one for one in ranked[:_MOST] if abs(one[1]) >= least_v and one[1]]


def _key(port: Port) -> str:
    if port.group:
        return f"group {port.group}"
    return "sensors" if port.kind == "sensor" else f"port {port.name}"
