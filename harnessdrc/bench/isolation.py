"""Paper of isolation: pairs of nets that must not touch."""

from __future__ import annotations

from harnessdrc.design import Design
from harnessdrc.papers import IsolationLine
from harnessdrc.results import Result

__all__ = ["isolation_lines"]


def isolation_lines(design: Design, result: Result | None = None) -> tuple[IsolationLine, ...]:
    """A line for every pair that is measured, with what was measured where a test sheet was read back.

    Parameters
    ----------
    design : Design
        The loom; its measurements are those of the test sheets given with it.
    result : Result, optional
        Outcome of the rules; the lines hang on the design alone.
    """
    readings = {reading.test.test: reading for reading in design.testing.isolations}
    lines = []
    for test in design.testing.isolation:
        reading = readings.get(test.test)
        lines.append(
            IsolationLine(
                test.test, test.a, test.b, test.a_net, test.b_net, test.why, test.least_ohm,
                None if reading is None else reading.value, reading is not None and reading.measurement.above,
                reading.word if reading is not None else "", test.mark,
            )
        )  # fmt: skip
    return tuple(lines)
