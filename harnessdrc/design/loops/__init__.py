"""Loops that the currents of ignition, injectors and triggers close: their ways, lengths, areas and coupling."""

from harnessdrc.design.loops.coils import CoilSet, Spark
from harnessdrc.design.loops.coupling import Coupling, Pickup
from harnessdrc.design.loops.loop import Loop, Step
from harnessdrc.design.loops.loops import HighVoltage, Loops, SharedReturn
from harnessdrc.design.loops.margins import Margin, Margins
from harnessdrc.design.loops.pairs import PairRun

__all__ = [
    "CoilSet",
    "Coupling",
    "HighVoltage",
    "Loop",
    "Loops",
    "Margin",
    "Margins",
    "PairRun",
    "Pickup",
    "SharedReturn",
    "Spark",
    "Step",
]
