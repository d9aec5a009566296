"""The circuit that a design makes: parts with resistances, ports where currents enter and leave it."""

from __future__ import annotations

from harnessdrc.design.circuit.circuit import Circuit, LeftOut
from harnessdrc.design.circuit.parts import Node, Part
from harnessdrc.design.circuit.ports import Port
from harnessdrc.design.circuit.stamps import BATTERY_NEGATIVE

__all__ = ["BATTERY_NEGATIVE", "Circuit", "LeftOut", "Node", "Part", "Port"]
