"""How figures are written on the papers: to the digit that a bench can read."""

from __future__ import annotations

import math

__all__ = ["grams", "metres", "millimetres", "milliohms", "millivolts", "ohms", "square_millimetres"]


def _rounded(value: float, digits: int) -> str:
    text = f"{value:.{digits}f}"
    return text[1:] if text.startswith("-") and not text.strip("-0.") else text


def _three_digits(value: float) -> str:
    """Three figures that count, no exponent."""
    if value == 0:
        return "0"
    return _rounded(value, max(0, 2 - math.floor(math.log10(abs(value)))))


def millimetres(value: float | None) -> str:
    """Length in mm."""
    return "" if value is None else _rounded(value, 0)


def metres(value: float | None) -> str:
    """Length in m, to the centimetre."""
    return "" if value is None else _rounded(value, 2)


def milliohms(value: float | None) -> str:
    """Resistance in mΩ: to a hundredth below 10, a tenth below 100."""
    if value is None:
        return ""
    return _rounded(value, 2 if abs(value) < 9.995 else 1 if abs(value) < 99.95 else 0)


def millivolts(value: float | None) -> str:
    """Voltage in mV: to a tenth below 10."""
    return "" if value is None else _rounded(value, 1 if abs(value) < 9.95 else 0)


def ohms(value: float | None) -> str:
    """Resistance with its unit: ``500 kΩ``, ``1 MΩ``."""
    if value is None:
        return ""
    for factor, unit in ((1e9, "GΩ"), (1e6, "MΩ"), (1e3, "kΩ"), (1.0, "Ω")):
        if abs(value) >= factor:
            return f"{value / factor:.3g} {unit}"
    return f"{_three_digits(value * 1e3)} mΩ"


def grams(value: float | None) -> str:
    """Mass in g; to a tenth below 10."""
    return "" if value is None else _rounded(value, 1 if value < 9.95 else 0)


def square_millimetres(value: float | None) -> str:
    """Area in mm²."""
    return "" if value is None else _three_digits(value)
