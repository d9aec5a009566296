"""Ground wires of controllers: what they carry while the starter turns, the straps as built or one of them loose."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design import Design, Device
from harnessdrc.design.analysis import Analysis
from harnessdrc.design.analysis.settled import settle
from harnessdrc.harness.elements import Wire, rigid_body
from harnessdrc.harness.names import natural_key
from harnessdrc.physics.network import Unsolvable

__all__ = ["Carried", "carried", "controllers", "engine_straps", "ground_wires"]

Floats = NDArray[np.float64]

_STRAPS_AT_ONCE = 32
_ALONE = 1e-9
"""Share of a unit current around a strap below which nothing lies beside it."""


@dataclass(frozen=True, slots=True)
class Carried:
    """What the ground wires of one controller carry in the worst state with the starter on.

    Parameters
    ----------
    device : Device
        The controller.
    wires : tuple of Wire
        Its ground wires.
    state : str
        Operating state.
    built_a, loose_a : tuple of float
        Amount in each wire as built, and with `strap` loose, A; the same where no strap is loose.
    strap : str
        Strap that is loose; empty where none is.
    low_a, high_a : float
        The most that any of them carries as built lies between these while data is lacking, A.
    lacking : tuple of str
        That data.
    """

    device: Device
    wires: tuple[Wire, ...]
    state: str
    built_a: tuple[float, ...]
    loose_a: tuple[float, ...]
    strap: str = ""
    low_a: float = 0.0
    high_a: float = 0.0
    lacking: tuple[str, ...] = ()

    @property
    def worst(self) -> int:
        """Number of the wire that carries most; of equal ones the first by name."""
        most = max(self.loose_a)
        return min(
            (n for n, amps in enumerate(self.loose_a) if amps >= most - 1e-9),
            key=lambda n: natural_key(self.wires[n].name),
        )

    @property
    def most_a(self) -> float:
        """What that wire carries, A."""
        return self.loose_a[self.worst]


def controllers(design: Design) -> list[Device]:
    """Controllers with a wire on a power ground."""
    return [device for device in design.devices.of_kind("controller") if ground_wires(design, device)]


def ground_wires(design: Design, device: Device) -> tuple[Wire, ...]:
    """Wires on the power-ground contacts of a controller, by name."""
    wires = {
        id(wire): wire
        for contact in design.devices.with_role(device, "power ground")
        for wire in design.net.wires_at[contact]
        if wire.a is not None and wire.b is not None
    }
    return tuple(sorted(wires.values(), key=lambda wire: natural_key(wire.name)))


def carried(design: Design, *, loose: bool, above_a: float) -> Iterator[Carried]:
    """Every controller whose ground wires are part of the solved circuit.

    Parameters
    ----------
    design : Design
        The design.
    loose : bool
        Whether every strap of the engine is taken as loose in turn; the worst one is told.
    above_a : float
        A strap is only solved as loose where its current, the loads held, would bring a ground wire above this.
    """
    analysis = design.analysis
    starting = [number for number, state in enumerate(analysis.states) if state.starter]
    if not analysis.solved or not starting:
        return
    part_of = {id(part.wire): number for number, part in enumerate(analysis.circuit.parts) if part.wire is not None}
    amps = np.abs(np.nan_to_num(analysis.new.settled.amps))
    kept: dict[str, tuple[Device, tuple[Wire, ...], list[int]]] = {}
    for device in controllers(design):
        wires = tuple(wire for wire in ground_wires(design, device) if id(wire) in part_of)
        if wires:
            kept[device.key] = device, wires, [part_of[id(wire)] for wire in wires]
    suspects = _suspects(design, starting, {k: parts for k, (_, _, parts) in kept.items()}, above_a) if loose else {}
    opened: dict[int, Floats | None] = {}
    if not loose:
        corners = _Corners(design, starting, [number for _, _, parts in kept.values() for number in parts])
        for device, wires, parts in kept.values():
            best = _most(device, wires, analysis, amps[parts], amps[parts], starting, "")
            low_a, high_a = corners.between(parts, best.most_a)
            yield replace(best, low_a=low_a, high_a=high_a, lacking=corners.lacking(parts))
        return
    for key, (device, wires, parts) in kept.items():
        best = _most(device, wires, analysis, amps[parts], amps[parts], starting, "")
        for strap in suspects.get(key, ()):
            if strap not in opened:
                settled = analysis.with_open(analysis.circuit.parts[strap])
                opened[strap] = None if settled is None else np.abs(np.nan_to_num(settled.amps))
            without = opened[strap]
            if without is None:
                continue
            name = analysis.circuit.part_name(analysis.circuit.parts[strap])
            one = _most(device, wires, analysis, amps[parts], without[parts], starting, name)
            if one.most_a > best.most_a + 1e-9:
                best = one
        yield best


def _most(
    device: Device,
    wires: tuple[Wire, ...],
    analysis: Analysis,
    built: Floats,
    now: Floats,
    starting: list[int],
    strap: str,
) -> Carried:
    """What the wires carry in the state with the starter on that is worst for them."""
    state = max(starting, key=lambda number: float(now[:, number].max()))
    return Carried(
        device,
        wires,
        analysis.states[state].name,
        tuple(built[:, state].tolist()),
        tuple(now[:, state].tolist()),
        strap,
    )


class _Corners:
    """Ground wires and straps at the ends of what lacking data leaves open.

    The ground wires of controllers carry most where they are short and thick, the straps beside them long and thin
    and the starter strong, and least the other way round.
    """

    def __init__(self, design: Design, starting: list[int], wires: list[int]) -> None:
        self.analysis, self.starting, self.wires = design.analysis, starting, set(wires)
        self.straps = engine_straps(design)
        currents, ports = self.analysis.currents, self.analysis.circuit.ports
        self.starters = [
            n for n, port in enumerate(ports) if port.kind == "starter" and currents.low[n] != currents.high[n]
        ]

    @property
    def _open(self) -> bool:
        parts = self.analysis.circuit.parts
        return bool(self.starters) or any(parts[number].uncertain for number in (*self.wires, *self.straps))

    def between(self, parts: list[int], as_built_a: float) -> tuple[float, float]:
        """Least and most that any of some ground wires carries, A."""
        if not self._open or not self._starters_own.intersection(parts):
            return as_built_a, as_built_a
        low, high = (max(0.0, *(float(amps[number]) for number in parts)) for amps in self._solved)
        return min(low, as_built_a), max(high, as_built_a)

    @cached_property
    def _starters_own(self) -> set[int]:
        """Parts that the current of a starter flows through, however little of it."""
        circuit = self.analysis.circuit
        starters = [number for number, port in enumerate(circuit.ports) if port.kind == "starter"]
        feed, back = circuit.port_nodes[starters].T
        return set(self.analysis.new.settled.network.unit_currents(back, feed).branch.tolist())

    def lacking(self, parts: list[int]) -> tuple[str, ...]:
        """Data that would close the range, that of the wires first."""
        circuit = self.analysis.circuit
        named = [name for number in (*parts, *self.straps) for name in circuit.parts[number].lacking]
        named += [f"current of {circuit.ports[number].name}" for number in self.starters]
        return tuple(dict.fromkeys(named))

    @cached_property
    def _solved(self) -> tuple[Floats, Floats]:
        """Greatest amount in each part over the states with the starter on, at the least and the most of the wires."""
        analysis = self.analysis
        circuit, currents = analysis.circuit, analysis.currents
        found = []
        for most in (False, True):
            ohm = circuit.ohm()
            for number in circuit.uncertain_parts.tolist():
                part = circuit.parts[number]
                ohm[number] += (part.low_ohm if (number in self.wires) == most else part.high_ohm) - part.ohm
            average = currents.average.copy()
            share = currents.high if most else currents.low
            average[self.starters] *= share[self.starters, None]
            amps = np.zeros(len(circuit.parts))
            for state in self.starting:
                changed = currents._replace(average=average).of_state(state)
                settled = settle(circuit, ohm, changed, [analysis.states[state]], analysis.given)
                if isinstance(settled, Unsolvable):
                    raise ArithmeticError("; ".join(settled.reasons))
                amps = np.maximum(amps, np.abs(np.nan_to_num(settled.amps[:, 0])))
            found.append(amps)
        return found[0], found[1]


def engine_straps(design: Design) -> list[int]:
    """Parts of the circuit that join the engine to another body."""
    straps = {id(wire) for wire in design.net.straps}
    circuit = design.analysis.circuit
    found = []
    for number, part in enumerate(circuit.parts):
        bodies: set[str | None] = set()
        if part.kind == "strap":
            bodies = {rigid_body(part.a[1]), rigid_body(part.b[1])}
        elif part.wire is not None and id(part.wire) in straps:
            bodies = {design.devices.rigid(end) for end in (part.wire.a, part.wire.b) if end is not None}
        if "engine" in bodies and len(bodies) == 2:
            found.append(number)
    return sorted(found, key=lambda number: natural_key(circuit.part_name(circuit.parts[number])))


def _suspects(design: Design, starting: list[int], parts: dict[str, list[int]], above_a: float) -> dict[str, list[int]]:
    """Straps whose current, the loads held, would bring a ground wire of a controller above a limit.

    What a strap carries finds its way around it, shared as a unit current between its ends is shared by the rest.
    Held loads are more than what the starter draws then, so that no strap is missed.
    """
    straps = engine_straps(design)
    if not straps:
        return {}
    settled = design.analysis.new.settled
    owner = {number: key for key, numbers in parts.items() for number in numbers}
    ends = design.analysis.circuit.ends[straps]
    amps_a = np.nan_to_num(settled.amps)
    found: dict[str, dict[int, None]] = {}
    for start in range(0, len(straps), _STRAPS_AT_ONCE):
        some = straps[start : start + _STRAPS_AT_ONCE]
        units = settled.network.unit_currents(*ends[start : start + _STRAPS_AT_ONCE].T)
        itself = np.flatnonzero(units.branch == np.array(some)[units.pair])
        own = dict(zip(units.pair[itself].tolist(), units.amps[itself].tolist(), strict=True))
        # Of very many straps each makes a little current in every other: only ground wires are looked at one by one.
        grounds = np.flatnonzero(np.isin(units.branch, list(owner)))
        columns = (column[grounds].tolist() for column in (units.pair, units.branch, units.amps))
        for pair, branch, share in zip(*columns, strict=True):
            around = 1.0 - own.get(pair, 1.0)
            if around < _ALONE:
                continue
            with_open = np.abs(amps_a[branch, starting] + amps_a[some[pair], starting] * share / around)
            if float(with_open.max()) > above_a:
                found.setdefault(owner[branch], {}).setdefault(some[pair])
    return {key: list(numbers) for key, numbers in found.items()}
