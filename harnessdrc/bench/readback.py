"""Papers with what was measured: a filled-in test sheet read back into the lines it was printed from."""

from __future__ import annotations

from dataclasses import replace

from harnessdrc.bench.continuity import continuity_lines
from harnessdrc.bench.isolation import isolation_lines
from harnessdrc.bench.voltages import voltage_lines
from harnessdrc.design import Design
from harnessdrc.papers import Papers

__all__ = ["read_back"]


def read_back(papers: Papers, design: Design) -> Papers:
    """The papers with measured values and verdicts.

    Parameters
    ----------
    papers : Papers
        As printed.
    design : Design
        The same loom, with the measurements of its test sheets.

    Returns
    -------
    Papers
        With the expectations of the test as it was printed: continuity from the tables. Voltages are those that the
        network with the measured joints lets expect.
    """
    return replace(
        papers,
        continuity=continuity_lines(design),
        isolation=isolation_lines(design),
        voltages=voltage_lines(design),
    )
