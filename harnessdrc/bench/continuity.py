"""Paper of continuity: every wire from end to end, in milliohm at room temperature."""

from __future__ import annotations

from harnessdrc.design import Design
from harnessdrc.design.testing.continuity import ContinuityTest
from harnessdrc.design.testing.readings import Reading
from harnessdrc.papers import ContinuityLine
from harnessdrc.results import Result

__all__ = ["continuity_lines"]


def continuity_lines(design: Design, result: Result | None = None) -> tuple[ContinuityLine, ...]:
    """A line for every wire and every listed strap, with what was measured where a test sheet was read back.

    Parameters
    ----------
    design : Design
        The loom; its measurements are those of the test sheets given with it.
    result : Result, optional
        Outcome of the rules; the lines hang on the design alone.
    """
    readings = {reading.test.test: reading for reading in design.testing.resistances}
    return tuple(_line(test, readings.get(test.test)) for test in design.testing.continuity)


def _milliohm(ohm: float | None) -> float | None:
    return None if ohm is None else ohm * 1000.0


def _line(test: ContinuityTest, reading: Reading | None) -> ContinuityLine:
    return ContinuityLine(
        test=test.test,
        wire=test.name,
        a=test.a,
        b=test.b,
        size=str(test.size) if test.size is not None else "",
        length_mm=_milliohm(test.length_m),
        expected_mohm=_milliohm(test.expected_ohm),
        low_mohm=_milliohm(test.low_ohm),
        high_mohm=_milliohm(test.high_ohm),
        four_wire=test.four_wire,
        lacking=test.lacking,
        measured_mohm=None if reading is None else _milliohm(reading.value),
        verdict=reading.word if reading is not None else "",
        mark=test.mark,
    )
