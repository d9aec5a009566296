"""What a meter showed, as people write it into a test sheet: numbers, units, ``OL`` and ``> 500``.

The unit of the column holds for a plain number. A unit in the cell goes before it where it is one of the same
quantity; a reading of another quantity is refused, as it stands in the wrong column. Capitals count: mΩ is a
thousandth of an ohm, MΩ a million.
"""

from __future__ import annotations

import math
import re
from typing import Literal, NamedTuple

from harnessdrc.units import NotUnderstoodError, parse_number

__all__ = ["Quantity", "Shown", "meter_unit", "read_meter"]

Quantity = Literal["resistance", "voltage"]


class Shown(NamedTuple):
    """A reading in Ω or V; `above` where it is only a bound. An overload without a figure is infinite."""

    value: float
    above: bool


_SCALES: dict[str, float] = {"u": 1e-6, "m": 1e-3, "": 1.0, "k": 1e3, "M": 1e6, "G": 1e9}
_OHMS: dict[str, tuple[str, ...]] = {
    "u": ("µΩ", "uΩ", "µohm", "uohm", "microohm", "microohms", "µR"),
    "m": ("mΩ", "mohm", "mohms", "mOhm", "mOhms", "milliohm", "milliohms", "Milliohm", "mR"),
    "": ("Ω", "ohm", "ohms", "Ohm", "Ohms", "OHM", "OHMS", "R", "r"),
    "k": ("kΩ", "KΩ", "kohm", "kohms", "kOhm", "kOhms", "KOHM", "k", "K", "kiloohm", "kilohm", "kR"),
    "M": ("MΩ", "Mohm", "Mohms", "MOhm", "MOhms", "MOHM", "megohm", "Megohm", "megohms", "Megohms", "meg", "Meg",
          "M", "MR"),
    "G": ("GΩ", "Gohm", "GOhm", "GOHM", "gigohm", "gigaohm", "G", "GR"),
}  # fmt: skip
_VOLTS: dict[str, tuple[str, ...]] = {
    "u": ("µV", "uV"), "m": ("mV", "mv", "MV", "millivolt", "millivolts"),
    "": ("V", "v", "volt", "volts", "Volt", "Volts"),
}  # fmt: skip
_UNITS: dict[str, tuple[Quantity, float]] = {
    **{spelling: ("resistance", _SCALES[prefix]) for prefix, all_of in _OHMS.items() for spelling in all_of},
    **{spelling: ("voltage", _SCALES[prefix]) for prefix, all_of in _VOLTS.items() for spelling in all_of},
}

_ONE_SPELLING = str.maketrans(
    {"\u2126": "Ω", "\u03bc": "µ", "\u00a0": " ", "\u202f": " ", "\u2009": " ", "\u2212": "-"}
)
_NUMBER_UNIT = re.compile(r"^(?P<sign>[+-]?) ?(?P<number>\d[\d.,]*(?:[eE][+-]?\d+)?|[.,]\d+) ?(?P<unit>[^\d\s].*)?$")
_OVERLOAD = re.compile(r"^(?:[0o.]*\.?[0o]\.?l\.?|over ?load|over|overrange|open|∞|inf|infinite|infinity)$", re.I)
_BOUND = re.compile(r"^(?:>=?|≥|over|above|more than) *(?=[\d.,])", re.I)
_BELOW = re.compile(r"^(?:<=?|≤|under|below|less than) *(?=[\d.,])", re.I)
_OTHER: dict[Quantity, str] = {"resistance": "a voltage", "voltage": "a resistance"}


def meter_unit(text: str) -> tuple[Quantity, float] | None:
    """Quantity and factor to Ω or V of a unit as written; None for what is none."""
    return _UNITS.get(text.translate(_ONE_SPELLING).strip().rstrip("."))


def read_meter(text: str, quantity: Quantity, unit: str) -> Shown:
    """A reading as written in a cell.

    Parameters
    ----------
    text : str
        The cell.
    quantity : {"resistance", "voltage"}
        What its column is for.
    unit : str
        Unit of the column: ``mΩ``, ``MΩ``, ``mV``.

    Raises
    ------
    NotUnderstoodError
        Words, a reading of the other quantity, a negative resistance, or a bound where only a reading will do.
    """
    expected = f"{'a voltage' if quantity == 'voltage' else 'a resistance'} as the meter shows it, in {unit}"
    plain = " ".join(text.translate(_ONE_SPELLING).split())
    if quantity == "resistance" and _OVERLOAD.match(plain):
        return Shown(math.inf, True)
    bound = _BOUND.match(plain)
    below = _BELOW.match(plain)
    if bound and quantity == "voltage":
        raise NotUnderstoodError(f"{expected}; a bound is no reading, choose a larger range of the meter")
    if below:
        # Less than the smallest that is shown: told as that, the most it can be.
        plain = plain[below.end() :]
    elif bound:
        plain = plain[bound.end() :]
    match = _NUMBER_UNIT.match(plain)
    if match is None:
        raise NotUnderstoodError(f"{expected}: a number such as 12.5")
    own = match["unit"]
    named = meter_unit(own) if own else meter_unit(unit)
    if named is None:
        raise NotUnderstoodError(f"{expected}; the unit '{own}' is not known")
    if named[0] != quantity:
        raise NotUnderstoodError(f"{expected}; '{text}' is {_OTHER[quantity]} and belongs in another column")
    value = parse_number(match["number"], grouped=False) * named[1]
    if match["sign"] == "-":
        if quantity == "resistance" and value:
            raise NotUnderstoodError(f"{expected}, not negative")
        value = -value
    if not math.isfinite(value):
        raise NotUnderstoodError(f"{expected}: a number such as 12.5")
    return Shown(value + 0.0, bound is not None)
