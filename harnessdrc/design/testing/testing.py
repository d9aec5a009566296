"""All tests of a finished loom with their readings, each worked out on first use."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from harnessdrc.design.testing.continuity import Continuity, ContinuityTest
from harnessdrc.design.testing.isolation import Isolation, IsolationTest
from harnessdrc.design.testing.readings import (
    Reading,
    Unfit,
    measured_ohms,
    read_continuity,
    read_isolation,
    read_voltages,
    reading_key,
)
from harnessdrc.design.testing.voltages import VoltageTest, voltage_tests, voltages_again

if TYPE_CHECKING:
    from harnessdrc.design import Design

__all__ = ["Break", "Testing"]

_LEAST_BREAK_OHM = 0.01
"""Nothing in a car drops the whole supply across less: the list's own circuit need not be asked."""

_MACHINE_TIMES = 10.0
"""A starter is a resistance and draws less through a bad joint; with this many times its own in the way it gets less
than a tenth of the supply."""


class Break(NamedTuple):
    """A reading that counts as open; with the current and the supply that show it, None for an overload."""

    reading: Reading
    amps: float | None
    supply_v: float | None


class Testing:
    """Tests of a design.

    Parameters
    ----------
    design : Design
        What is tested; its circuit takes the measured resistances from here, so nothing of the circuit may be asked
        for by the tests of continuity.
    """

    __test__ = False  # its name is a word of the trade, it is no test itself

    def __init__(self, design: Design) -> None:
        self._design = design

    @cached_property
    def _continuity(self) -> Continuity:
        design = self._design
        return Continuity(design.harness, design.listed_net, design.roles, design.given)

    @property
    def continuity(self) -> tuple[ContinuityTest, ...]:
        """Continuity of every wire and listed strap."""
        return self._continuity.tests

    @cached_property
    def _isolation(self) -> Isolation:
        # nets that must not touch are those of the list, also where a wire is open by the meter
        design = self.as_listed if self.broken else self._design
        return Isolation(
            design.harness, design.net, design.roles, design.devices, design.grounds, design.shields,
            tuple(design.trigger_pairs), design.given,
        )  # fmt: skip

    @property
    def isolation(self) -> tuple[IsolationTest, ...]:
        """Pairs of nets that must not touch."""
        return self._isolation.tests

    @cached_property
    def voltages(self) -> tuple[VoltageTest, ...]:
        """Offsets and drops to measure in the car: those of the sheets as printed, before anything was measured."""
        design = self._design
        if not self.circuit_ohms:
            return voltage_tests(design.analysis, design.harness, design.devices, design.loads, design.allowed)
        return voltages_again(
            self.as_listed.testing.voltages, design.analysis, design.harness, design.devices, design.loads,
            design.allowed,
        )

    # ------------------------------------------------------------------ what was measured
    @cached_property
    def _read_continuity(self) -> tuple[tuple[Reading, ...], tuple[Unfit, ...]]:
        harness = self._design.harness
        if all(row.resistance_ohm is None for row in harness.measurements):
            return (), ()
        return read_continuity(harness, self._continuity.by_name)

    @cached_property
    def _read_isolation(self) -> tuple[tuple[Reading, ...], tuple[Unfit, ...]]:
        harness = self._design.harness
        if all(row.isolation_ohm is None for row in harness.measurements):
            return (), ()
        return read_isolation(harness, self.isolation, self._isolation.net_at)

    @cached_property
    def _read_voltages(self) -> tuple[tuple[Reading, ...], tuple[Unfit, ...]]:
        harness = self._design.harness
        if not self._design.analysis.solved or all(row.voltage_v is None for row in harness.measurements):
            return (), ()
        return read_voltages(harness, self.voltages)

    @property
    def resistances(self) -> tuple[Reading, ...]:
        """Readings of continuity."""
        return self._read_continuity[0]

    @property
    def isolations(self) -> tuple[Reading, ...]:
        """Readings of isolation."""
        return self._read_isolation[0]

    @property
    def read_voltages(self) -> tuple[Reading, ...]:
        """Readings of voltages."""
        return self._read_voltages[0]

    @property
    def readings(self) -> tuple[Reading, ...]:
        """All of them."""
        return (*self.resistances, *self.isolations, *self.read_voltages)

    @property
    def unfit(self) -> tuple[Unfit, ...]:
        """Filled-in rows that belong to no test."""
        return (*self._read_continuity[1], *self._read_isolation[1], *self._read_voltages[1])

    @cached_property
    def measured_ohms(self) -> dict[tuple[str, str], float]:
        """Resistances that the circuit takes in place of its own, Ω; empty without a measurement."""
        if not self._design.harness.measurements:
            return {}
        return {key: ohm for key, ohm in measured_ohms(self.resistances).items() if key not in self.broken}

    @cached_property
    def broken(self) -> dict[tuple[str, str], Break]:
        """Wires and straps that are open by the meter, by ``("wire", name)`` or ``("strap", name)``.

        A reading counts as open where what the wire carries in the list's own circuit would drop across it all that
        the battery has: the load at its end gets nothing.
        """
        found: dict[tuple[str, str], Break] = {}
        for reading in self.resistances:
            test = reading.test
            if reading.verdict != "fail" or not isinstance(test, ContinuityTest):
                continue
            key = reading_key(reading)
            if math.isinf(reading.value):
                found[key] = Break(reading, None, None)
            elif test.high_ohm is not None and reading.value > max(test.high_ohm, _LEAST_BREAK_OHM):
                steady_a, machine_a = self._listed_currents.get(key, (0.0, 0.0))
                supply_v = self.as_listed.circuit.battery_v
                if max(steady_a, machine_a / _MACHINE_TIMES) * reading.value >= supply_v:
                    found[key] = Break(reading, max(steady_a, machine_a), supply_v)
        return found

    @cached_property
    def _listed_currents(self) -> dict[tuple[str, str], tuple[float, float]]:
        """Currents of every wire and strap, A, in the circuit of the list without any measurement.

        With all loads on, and the greatest average of any state: a starter draws in one alone.
        """
        listed = self.as_listed
        if listed.circuit.fault is not None:
            return {}
        steady_a = listed.drops.part_currents_a
        most_a = steady_a
        if listed.analysis.solved:
            most_a = np.nan_to_num(np.abs(listed.analysis.new.settled.amps)).max(axis=1, initial=0.0)
        amps = zip(steady_a.tolist(), most_a.tolist(), strict=True)
        return {(part.kind, part.name): both for part, both in zip(listed.circuit.parts, amps, strict=True)}

    @property
    def circuit_ohms(self) -> dict[tuple[str, str], float]:
        """What the circuit takes in place of its own, Ω: what was measured, and infinity for breaks."""
        return self.measured_ohms | dict.fromkeys(self.broken, math.inf)

    @property
    def failed(self) -> tuple[Reading, ...]:
        """Readings of resistance that fail and that the circuit is solved with."""
        known = self.circuit_ohms
        return tuple(r for r in self.resistances if r.verdict == "fail" and reading_key(r) in known)

    @cached_property
    def as_listed(self) -> Design:
        """The design of the list itself, as its test sheets were printed, before anything was measured."""
        return self.with_only(())

    def with_only(self, readings: Iterable[Reading]) -> Design:
        """The design with no readings but these."""
        design = self._design
        rows = tuple(reading.measurement for reading in readings)
        one = type(design)(replace(design.harness, measurements=rows), design.given, design.states)
        one.allowed = design.allowed
        return one
