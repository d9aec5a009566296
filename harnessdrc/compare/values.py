"""Values of a list for comparing them, and for the eye.

Spelling is no difference: case, blanks, the kind of dash, leading zeros of a cavity, 850 mm for 0.85 m. A size is what
its label says, since labels of two systems are never the same wire.
"""

from __future__ import annotations

from collections.abc import Hashable
from typing import Any

from harnessdrc.findings import figures
from harnessdrc.harness.names import fold
from harnessdrc.units import Size

__all__ = ["comparable", "told"]

_DIGITS = 9
"""Figures that count: what comes of another unit differs in the sixteenth."""

_UNITS: tuple[tuple[str, float, str], ...] = (
    ("_kbit_s", 1.0, "kbit/s"), ("_ohm", 1e3, "mΩ"), ("_bar", 1.0, "bar"), ("_mm2", 1.0, "mm²"), ("_m", 1e3, "mm"),
    ("_a", 1.0, "A"), ("_v", 1.0, "V"), ("_f", 1e6, "µF"), ("_s", 1e3, "ms"),
)  # fmt: skip
"""End of a column's name → factor and unit for the eye."""


def comparable(value: Any) -> Hashable:
    """A value such that two that mean the same are equal.

    Parameters
    ----------
    value : object
        Text, number, size, flag, tuple of these or None.
    """
    if isinstance(value, str):
        return fold(value) or None
    if isinstance(value, bool) or value is None:
        return value
    if isinstance(value, int | float):
        return float(f"{value:.{_DIGITS}g}")
    if isinstance(value, Size):
        return (value.system, comparable(value.csa_mm2), value.awg, comparable(value.also))
    if isinstance(value, tuple):
        return tuple(comparable(each) for each in value) or None
    return str(value)


def told(column: str, value: Any) -> str | None:
    """A value for the eye, with its unit; None for none.

    Parameters
    ----------
    column : str
        Normalized name of its column, which carries the unit: ``length_m``.
    value : object
        As `comparable` takes it.
    """
    if value is None or value in ("", ()):
        return None
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return _number(column, float(value))
    if isinstance(value, Size):
        return str(value) if value.also is None else f"{value} ({value.also})"
    if isinstance(value, tuple):
        outputs = (" + ".join(each) if isinstance(each, tuple) else str(each) for each in value)
        return ", ".join(outputs)
    return str(value)


def _number(column: str, value: float) -> str:
    if column.endswith("_ohm") and abs(value) >= 1.0:
        return f"{figures(value, 6)} Ω"
    for end, factor, unit in _UNITS:
        if column.endswith(end):
            return f"{figures(value * factor, 6)} {unit}"
    return figures(value, 6)
