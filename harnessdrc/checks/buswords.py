"""A CAN bus in sentences: names in a row, its wires, its cells."""

from __future__ import annotations

from collections.abc import Sequence

from harnessdrc.design import Design
from harnessdrc.design.buses import Bus
from harnessdrc.findings import Mark
from harnessdrc.harness.elements import Wire

__all__ = ["TOLD", "bus_marks", "named", "wires_named"]

TOLD = 4
"""So many names stand in a sentence, the others are counted."""


def named(names: Sequence[str]) -> str:
    """Names in a sentence, the first of them where there are many."""
    if len(names) > TOLD + 1:
        names = [*names[:TOLD], f"{len(names) - TOLD} more"]
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def wires_named(wires: Sequence[Wire]) -> str:
    """Wires in a sentence: ``wires W1 and W2``."""
    return ("wire " if len(wires) == 1 else "wires ") + named([wire.name for wire in wires])


def bus_marks(design: Design, bus: Bus) -> tuple[Mark, ...]:
    """Cells of the contact that gives a bus its name."""
    return design.devices.mark(bus.contact, f"bus {bus.name}")
