"""The ground diagram as plain names and numbers, for the report."""

from harnessdrc.drawn.making import diagram_of

__all__ = ["diagram_of"]
