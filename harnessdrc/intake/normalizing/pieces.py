"""Counts of the parts table: cavities of a connector, pieces in a pack, metres on a reel."""

from __future__ import annotations

import re

from harnessdrc.units import LENGTH_UNITS, NotUnderstoodError, parse_number

__all__ = ["parse_count", "parse_pack"]

_COUNT = re.compile(
    r"^(?P<n>\d{1,3})(?:\.0)?[ -]?(?:way|ways|w|cavity|cavities|pin|pins|pole|poles|position|positions|pos)?\.?$", re.I
)
_PACK = re.compile(r"^(?:(?:bag|pack|packet|reel|box) of )?(?P<n>\d[\d.,\' ]*?) ?(?P<u>[a-z]+)?\.?(?: reel)?$", re.I)
_PIECES = frozenset(("pc", "pcs", "pce", "pieces", "piece", "off", "each", "ea", "stk", "stck", "st"))


def parse_count(text: str) -> float:
    """Number of cavities: ``26``, ``26-way``.

    Raises
    ------
    NotUnderstoodError
        Anything but a whole number from 1 to 999.
    """
    match = _COUNT.match(text.strip())
    if match is None or int(match["n"]) == 0:
        raise NotUnderstoodError("a whole number of cavities such as 26")
    return float(match["n"])


def parse_pack(text: str) -> float:
    """Pieces in a pack, or metres on a reel: ``100``, ``100 pcs``, ``bag of 50``, ``100 m``, ``500 ft``.

    Raises
    ------
    NotUnderstoodError
        No number above zero, or an unknown unit.
    """
    expected = "pieces in a pack such as 100, or metres on a reel such as 100 m"
    match = _PACK.match(text.strip())
    if match is None:
        raise NotUnderstoodError(expected)
    unit = (match["u"] or "").lower()
    scale = 1.0 if not unit or unit in _PIECES else LENGTH_UNITS.get(unit, 0.0)
    value = parse_number(match["n"]) * scale
    if value <= 0:
        raise NotUnderstoodError(expected)
    return value
