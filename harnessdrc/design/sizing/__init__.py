"""How hot wires get where they lie, and which size each of them needs."""

from harnessdrc.design.sizing.heating import Sizing, WireLoad, sizing_of

__all__ = ["Sizing", "WireLoad", "sizing_of"]
