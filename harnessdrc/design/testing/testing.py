"""All tests of a finished loom with their readings, each worked out on first use."""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

from harnessdrc.design.testing.continuity import Continuity, ContinuityTest
from harnessdrc.design.testing.isolation import Isolation, IsolationTest
from harnessdrc.design.testing.readings import (
    Reading,
    Unfit,
    measured_ohms,
    read_continuity,
    read_isolation,
    read_voltages,
)
from harnessdrc.design.testing.voltages import VoltageTest, voltage_tests, voltages_again

if TYPE_CHECKING:
    from harnessdrc.design import Design

__all__ = ["Testing"]


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
        return Continuity(design.harness, design.net, design.roles, design.given)

    @property
    def continuity(self) -> tuple[ContinuityTest, ...]:
        """Continuity of every wire and listed strap."""
        return self._continuity.tests

    @cached_property
    def _isolation(self) -> Isolation:
        design = self._design
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
        if not self.measured_ohms:
            return voltage_tests(design.analysis, design.harness, design.devices, design.loads, design.allowed)
        as_printed = type(design)(replace(design.harness, measurements=()), design.given, design.states)
        as_printed.allowed = design.allowed
        return voltages_again(
            as_printed.testing.voltages, design.analysis, design.harness, design.devices, design.loads, design.allowed
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
        return measured_ohms(self.resistances) if self._design.harness.measurements else {}
