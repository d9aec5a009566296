"""Paper of voltages: ground offsets and drops to measure while the engine cranks or runs."""

from __future__ import annotations

from harnessdrc.design import Design
from harnessdrc.papers import VoltageLine
from harnessdrc.results import Result

__all__ = ["voltage_lines"]


def _millivolt(volts: float | None) -> float | None:
    return None if volts is None else volts * 1000.0


def voltage_lines(design: Design, result: Result | None = None) -> tuple[VoltageLine, ...]:
    """A line for every voltage to measure; none where the network could not be solved.

    Parameters
    ----------
    design : Design
        The loom; `Design.allowed` says what passes, which a run of the rules puts there.
    result : Result, optional
        Outcome of the rules; the lines hang on the design alone.
    """
    readings = {reading.test.test: reading for reading in design.testing.read_voltages}
    lines = []
    for test in design.testing.voltages:
        reading = readings.get(test.test)
        lines.append(
            VoltageLine(
                test.test, test.what, test.state, test.red, test.black, round(test.expected_v * 1000.0, 6),
                _millivolt(test.low_v), _millivolt(test.high_v), test.limit_from,
                None if reading is None else reading.value * 1000.0,
                reading.word if reading is not None else "", test.mark,
            )
        )  # fmt: skip
    return tuple(lines)
