"""The circuit solved in every operating state, and what follows from it for inputs, readings and wires."""

from __future__ import annotations

from harnessdrc.design.analysis.analysis import Analysis
from harnessdrc.design.analysis.victims import Victim

__all__ = ["Analysis", "Victim"]
