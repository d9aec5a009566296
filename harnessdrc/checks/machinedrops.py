"""Drops between the battery and its machines: to the starter while it cranks, from the alternator while it charges."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.checks.offsets import lacking_words
from harnessdrc.design import Design
from harnessdrc.design.analysis.settled import Settled, settle
from harnessdrc.design.circuit.parts import Part
from harnessdrc.design.conductors import conductor_mm2, conductor_source
from harnessdrc.design.devices import Device
from harnessdrc.findings import Finding, Mark, Subject, Undecided, beyond, figures
from harnessdrc.harness.elements import Contact
from harnessdrc.harness.names import fold
from harnessdrc.physics.network import Unsolvable

__all__ = ["machine_drops", "machine_subjects"]

Floats = NDArray[np.float64]

_ON_THE_WAY = 0.2
"""A part that carries this much of the machine's current is told as part of its way."""
_UNCERTAIN = 0.02
"""An uncertain part that carries less of it moves the drop by less than a thousandth of the part's own."""
_CERTAIN_MV = 1.0
_TOLD = 3
_CARRYING = ("wire", "strap", "earth", "bodies", "mate", "fuse", "relay", "switch")


class _Drop(NamedTuple):
    """Drop of one machine in the state where it is greatest, mV and A; `ways` are its greatest parts, in mV."""

    state: str
    current_a: float
    drop_mv: float
    low_mv: float
    high_mv: float
    feed_mv: float
    back_mv: float
    ways: tuple[tuple[Part, float], ...]
    lacking: tuple[str, ...]
    lacking_parts: tuple[Part, ...]


def _machines(design: Design) -> list[Device]:
    """Starters and alternators whose main terminal is wired, as far as the operating states have them work.

    Which terminal that is the circuit knows; where it has none for a machine, the role of its contacts tells.
    """
    kinds: list[str] = []
    if any(state.starter for state in design.states):
        kinds.append("starter")
    if any(state.alternator for state in design.states):
        kinds.append("alternator")
    machines = design.devices.of_kind(*kinds)
    if not machines:
        return []
    ports = () if design.circuit.fault is not None else design.circuit.ports
    fed = {port.device.key for port in ports if port.device is not None and isinstance(port.feed, Contact)}
    return [device for device in machines if device.key in fed or _main(design, device) is not None]


def _main(design: Design, device: Device) -> Contact | None:
    """Contact of a machine that is a battery feed by its name."""
    return next((contact for contact in device.contacts if design.role(contact) == "battery feed"), None)


def machine_subjects(design: Design) -> list[Subject]:
    """Every starter and alternator that is looked at."""
    return [device.subject for device in _machines(design)]


def machine_drops(design: Design, drop_mv: float, charge_mv: float) -> Iterator[Finding | Undecided]:
    """Findings and undecided ones of every starter and alternator.

    Parameters
    ----------
    design : Design
        The design.
    drop_mv : float
        Most that may be dropped to a starter, feed and return together, mV.
    charge_mv : float
        Most that may be dropped between an alternator's output and the battery's positive terminal, mV.
    """
    machines = _machines(design)
    if not machines:
        return
    words = lacking_words(design)
    if words:
        for device in machines:
            yield Undecided(device.subject, words, design.devices.mark_device(device))
        return
    drops = _Drops(design)
    for device in machines:
        starter = device.kind == "starter"
        drop = drops.of(device)
        if drop is None:
            contact = _main(design, device)
            where = design.label(contact) if contact else device.name
            marks = design.devices.mark(contact) if contact else design.devices.mark_device(device)
            yield Undecided(device.subject, (f"a closed way between {where} and the battery",), marks)
            continue
        limit_mv = drop_mv if starter else charge_mv
        if beyond(drop.low_mv, limit_mv):
            yield _finding(design, device, drop, limit_mv)
        elif beyond(drop.high_mv, limit_mv):
            yield Undecided(
                device.subject, drop.lacking, _lacking_marks(design, device, drop.lacking_parts),
                low=round(drop.low_mv, 3), high=round(drop.high_mv, 3), limit=limit_mv, unit="mV",
            )  # fmt: skip


@dataclass
class _Drops:
    """The solved circuit, looked at from the battery and a machine."""

    design: Design

    def __post_init__(self) -> None:
        circuit = self.design.circuit
        self.settled = self.design.analysis.new.settled
        battery = next(number for number, part in enumerate(circuit.parts) if part.kind == "battery")
        self.negative, self.positive = circuit.ends[battery].tolist()
        self.listed = {fold(joint.name) for joint in self.design.harness.joints}
        self.carrying = np.array([part.kind in _CARRYING for part in circuit.parts], dtype=np.bool_)
        self.port_of = {
            port.device.key: number
            for number, port in enumerate(circuit.ports)
            if port.kind in ("starter", "alternator") and port.device is not None
        }

    def of(self, device: Device) -> _Drop | None:
        """Greatest drop of a machine over the states it works in; None where it has no way to the battery."""
        number = self.port_of.get(device.key)
        if number is None or not isinstance(self.design.circuit.ports[number].feed, Contact):
            return None
        starter = device.kind == "starter"
        states = enumerate(self.design.analysis.states)
        working = [at for at, state in states if (state.starter if starter else state.alternator)]
        # Of states that are alike the first stands, whatever the last digits say.
        worst = max(working, key=lambda at: round(sum(self._sides(self.settled, number, at, starter)), 6))
        return self._in_state(number, worst, starter)

    def _in_state(self, number: int, at: int, starter: bool) -> _Drop:
        circuit, settled = self.design.circuit, self.settled
        volts, amps = settled.volts[:, at], np.nan_to_num(settled.amps[:, at])
        current_a = abs(float(settled.average_a[number, at]))
        feed_mv, back_mv = self._sides(settled, number, at, starter)
        drop_mv = feed_mv + back_mv
        if current_a <= 0.0:
            return _Drop("", 0.0, 0.0, 0.0, 0.0, feed_mv, back_mv, (), (), ())
        share = np.abs(amps) / current_a
        on_side = self.carrying.copy()
        if not starter:
            on_side &= (volts[circuit.ends] > volts[self.positive] / 2.0).all(axis=1)
        part_mv = np.abs(amps * settled.ohm) * 1000.0
        on_way = np.flatnonzero(on_side & (share >= _ON_THE_WAY))
        told = [(circuit.parts[n], float(part_mv[n])) for n in on_way.tolist()]
        ways = tuple(sorted(told, key=lambda way: (-round(way[1], 6), circuit.part_name(way[0])))[:_TOLD])
        uncertain = [n for n in circuit.uncertain_parts.tolist() if on_side[n] and share[n] >= _UNCERTAIN]
        heavy = [n for n in on_way.tolist() if self._heavy(circuit.parts[n])]
        low_mv = high_mv = drop_mv
        unlisted = starter and circuit.ports[number].listed_a is None
        if uncertain or heavy or unlisted:
            low_mv, high_mv = self._between(number, at, starter, [*uncertain, *heavy])
        parts = tuple(circuit.parts[n] for n in (*uncertain, *heavy))
        lacking = list(dict.fromkeys(what for n in uncertain for what in circuit.parts[n].lacking))
        lacking += [f"resistance of the contact of {self._name(circuit.parts[n])} (list of joints)" for n in heavy]
        if unlisted:
            lacking.append(f"current of {circuit.ports[number].name} while cranking")
        state = self.design.analysis.states[at].name
        return _Drop(state, current_a, drop_mv, low_mv, high_mv, feed_mv, back_mv, ways, tuple(lacking), parts)

    def _sides(self, settled: Settled, number: int, at: int, starter: bool) -> tuple[float, float]:
        """Drop of a machine's feed and, of a starter, of its return, in a solved state, mV."""
        volts = settled.volts[:, at]
        feed, back = self.design.circuit.port_nodes[number].tolist()
        feed_v = float(volts[self.positive] - volts[feed]) * (1.0 if starter else -1.0)
        back_v = float(volts[back] - volts[self.negative]) if starter else 0.0
        return feed_v * 1000.0, back_v * 1000.0

    def _name(self, part: Part) -> str:
        item = self.design.harness.items.get(part.name)
        return item.name if item else part.name

    def _heavy(self, part: Part) -> bool:
        """Whether a part is an isolator or contactor between bolted cables whose contact no list gives.

        The given contact is that of a plug-in relay, so that it bounds such a one from above only.
        """
        if part.kind not in ("relay", "switch") or part.joint_ohm != self.design.given["relay_mohm"] / 1000:
            return False
        if fold(self._name(part)) in self.listed:
            return False
        bolted_mm2 = self.design.given["bolted_from_mm2"]
        sides = [self.design.net.wires_at.get(end, ()) for end in (part.a, part.b) if isinstance(end, Contact)]
        return len(sides) == 2 and all(any(conductor_mm2(w.size) >= bolted_mm2 for w in wires) for wires in sides)

    def _ends_ohm(self, part: Part) -> tuple[float, float]:
        """What an uncertain part may have less and more than is taken, Ω."""
        if part.uncertain:
            return part.low_ohm - part.ohm, part.high_ohm - part.ohm
        least_ohm = min(self.design.given["stud_mohm"] / 1000.0, part.joint_ohm)
        return least_ohm - part.joint_ohm, 0.0

    def _between(self, number: int, at: int, starter: bool, uncertain: Sequence[int]) -> tuple[float, float]:
        """Least and greatest drop of a machine in a state over what is uncertain, mV: the circuit solved at both ends.

        The drop rises with every resistance on the way and with the current that a starter draws.
        """
        analysis, circuit = self.design.analysis, self.design.circuit
        ends = []
        for high in (False, True):
            ohm = self.settled.ohm.copy()
            for n in uncertain:
                ohm[n] += self._ends_ohm(circuit.parts[n])[high]
            currents = analysis.currents.of_state(at)
            if starter:
                average = currents.average.copy()
                average[number] *= (currents.high if high else currents.low)[number]
                currents = currents._replace(average=average)
            solved = settle(circuit, ohm, currents, [analysis.states[at]], self.design.given)
            if isinstance(solved, Unsolvable):
                raise ArithmeticError("; ".join(solved.reasons))
            ends.append(sum(self._sides(solved, number, 0, starter)))
        return ends[0], ends[1]


def _finding(design: Design, device: Device, drop: _Drop, limit_mv: float) -> Finding:
    ranged = drop.high_mv - drop.low_mv > _CERTAIN_MV
    variant = "" if device.kind == "starter" else "charge"
    marks: tuple[Mark, ...] = ()
    for part, part_mv in drop.ways:
        label = "most of the drop" if not marks else f"{part_mv:.0f} mV of the drop"
        marks += _mark(part, label)
    worst, worst_mv = drop.ways[0] if drop.ways else (None, 0.0)
    return Finding(
        device.subject,
        marks + design.devices.mark_device(device),
        {
            "current_a": figures(drop.current_a), "state": drop.state, "feed_mv": round(drop.feed_mv),
            "back_mv": round(drop.back_mv), "low_mv": round(drop.low_mv), "high_mv": round(drop.high_mv),
            "worst": design.circuit.part_name(worst) if worst else "its way", "worst_mv": round(worst_mv),
            "resistance_from": conductor_source(worst.wire.size) if worst and worst.wire else "",
            "way": [{"part": design.circuit.part_name(part), "mv": round(mv, 3)} for part, mv in drop.ways],
            "lacking": list(drop.lacking),
        },
        measured=round(drop.drop_mv, 3), limit=limit_mv, unit="mV",
        variant="_".join(filter(None, (variant, "range" if ranged else ""))),
    )  # fmt: skip


def _mark(part: Part, label: str) -> tuple[Mark, ...]:
    if part.wire is not None:
        return (Mark(part.wire.place.of("size", "wire"), label),)
    return (Mark(part.place, label),) if part.place else ()


def _lacking_marks(design: Design, device: Device, parts: Sequence[Part]) -> tuple[Mark, ...]:
    marks: list[Mark] = []
    for part in parts:
        if part.wire is not None:
            column = "length_m" if part.wire.length_m is None else "size"
            marks.append(Mark(part.wire.place.of(column, "wire"), f"wire {part.wire.name}"))
        elif part.place:
            marks.append(Mark(part.place, f"strap {part.name}"))
        elif (item := design.harness.items.get(part.name)) is not None and item.place:
            marks.append(Mark(item.place, f"contact of {item.name}"))
    return tuple(marks) or design.devices.mark_device(device)
