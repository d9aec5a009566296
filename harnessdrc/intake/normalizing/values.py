"""Columns of a region turned into values, each distinct text once.

`Columns` hands out the columns of one region as sizes, lengths and so on, beside what `TextColumns` does.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Sequence
from typing import Any, TypeVar

from harnessdrc.intake.normalizing.texts import DATES, TextColumns, Texts
from harnessdrc.intake.recognition.headings import vocabulary
from harnessdrc.intake.recognition.regions import Region, Rows
from harnessdrc.tables.model import Unreadable
from harnessdrc.units import (
    LENGTH_UNITS,
    NotUnderstoodError,
    Size,
    UnitMissingError,
    parse_capacitance,
    parse_current,
    parse_length,
    parse_pressure,
    parse_resistance,
    parse_size,
    parse_time,
    parse_voltage,
    size_sets,
)

__all__ = ["Columns", "Texts"]

_T = TypeVar("_T")
_FIGURES: dict[str, Callable[[str, str | None], float]] = {
    "current": parse_current, "resistance": parse_resistance, "capacitance": parse_capacitance,
    "voltage": parse_voltage, "pressure": parse_pressure, "time": parse_time,
}  # fmt: skip


_MAY_BE_ZERO = ("distance_m", "untwisted_m")
"""A splice may lie at the very start of its branch, a pair may be twisted up to its terminals."""

_USUAL_M: dict[str, tuple[float, float]] = {
    "lay_m": (0.005, 0.3), "untwisted_m": (0.003, 0.5), "lead_m": (0.1, 3.0), "gap_m": (0.0002, 0.005),
    "sleeve_m": (0.002, 0.1), "bend_m": (0.005, 0.6),
    "sleeve_shrunk_m": (0.0008, 0.06), "boot_m": (0.004, 0.12), "boot_shrunk_m": (0.002, 0.06),
    "insulation_min_m": (0.0005, 0.03), "insulation_max_m": (0.0005, 0.03), "strip_m": (0.0015, 0.04),
    "bore_m": (0.0008, 0.03), "bore_min_m": (0.0008, 0.03), "bore_max_m": (0.0008, 0.03),
}  # fmt: skip
"""From what to what such lengths are met, which tells the unit of a column of plain numbers."""

_MAY_BE_INCHES = ("gap_m", "insulation_min_m", "insulation_max_m", "bore_m", "bore_min_m", "bore_max_m", "strip_m")
"""Lengths that are met in inches also where the sizes are not gauges."""

_WIRE_M = (0.01, 60.0)
"""From what to what wires, branches and straps are met: a unit that one cell has is not that of others beyond it."""

_LEAST: dict[str, tuple[float, bool, str]] = {
    "rating_a": (0.0, True, "a rating above zero, such as 15 A"),
    "contact_a": (0.0, True, "a rating above zero, such as 30 A"),
    "current_a": (0.0, False, "the size of a current, which is not negative; which way it flows follows from the ends"),
    "voltage_v": (0.0, True, "a voltage above zero, such as 12 V"),
    "output_v": (0.0, False, "a voltage that is not negative, such as 2 V"),
}
"""What a figure is at least, whether that itself is none, and what is expected. Of a current or a rating below zero
nobody can say what was meant; of nothing, no fuse and no contact is made."""

_THOUSANDS = re.compile(r"^\d{1,2}[.,' ]\d{3}$")


class Columns(TextColumns):
    """The data rows of one region, column by column, as values.

    Parameters
    ----------
    region : Region
        How the table is understood.
    rows : Rows
        The sheet.
    data : sequence of int
        One-based rows that are data.
    """

    def __init__(self, region: Region, rows: Rows, data: Sequence[int]) -> None:
        super().__init__(region, rows, data)
        self._gauges = False

    # --- quantities -----------------------------------------------------------------------------

    def parsed(self, role: str, parse: Callable[[str], _T], texts: Texts | None = None) -> list[_T | None]:
        """Values of a role; what cannot be understood is listed and taken as not given."""
        texts = self.texts(role, placeholders=True) if texts is None else texts
        values: dict[str | None, _T | None] = {None: None}
        bad: dict[str, str] = {}
        for text in set(texts):
            if text is None:
                continue
            try:
                values[text] = parse(text)
            except NotUnderstoodError as fault:
                values[text] = None
                bad[text] = fault.expected
        if bad:
            for i, text in enumerate(texts):
                if text is not None and text in bad:
                    self.unreadable.append(Unreadable(self.place(role, i), role, text, bad[text]))
        return [values[text] for text in texts]

    def figures(self, role: str, kind: str) -> list[float | None]:
        """Currents, resistances, capacitances or voltages in SI."""
        if role not in self.region.columns:
            return [None] * len(self)
        unit = self.region.units.get(role) or self.region.soft_units.get(role)
        parse = _FIGURES[kind]
        if role not in _LEAST or self.region.form == "measurements":
            return self.parsed(role, lambda text: parse(text, unit))
        least, above, expected = _LEAST[role]

        def bounded(text: str) -> float:
            value = parse(text, unit)
            if value < least or (above and value == least):
                raise NotUnderstoodError(expected)
            return value

        return self.parsed(role, bounded)

    def counts(self, role: str, parse: Callable[[str], float]) -> list[float | None]:
        """Counts that a spreadsheet may have turned into dates, as it does with 12-1."""
        return self.parsed(role, parse, self._without_dates(role))

    def _bare(self, texts: Iterable[str | None], parse: Callable[[str], object]) -> tuple[dict[str, float], list[Any]]:
        """Plain numbers of a column, and what the cells with a unit of their own say."""
        bare: dict[str, float] = {}
        labelled: list[Any] = []
        for text in set(texts):
            if text is None:
                continue
            try:
                labelled.append(parse(text))
            except UnitMissingError as missing:
                bare[text] = missing.value
            except NotUnderstoodError:
                pass
        return bare, labelled

    def sizes(self, role: str = "size") -> list[Size | None]:
        """Conductor sizes as labelled; the system from the cell, the heading, or the set of values."""
        if role not in self.region.columns:
            return [None] * len(self)
        texts = self._without_dates(role)
        system = self.region.units.get(role)
        if system not in ("mm2", "awg"):
            system = self._size_system(role, texts)
        # how many cores a cable has is settled with its colours and ends
        cores = role == "size" and self.region.form in ("wires", "pins")
        sizes = self.parsed(role, lambda text: parse_size(text, system, cores=cores), texts)
        self._gauges = any(size is not None for size in sizes) and all(s is None or s.system == "awg" for s in sizes)
        return sizes

    def figures_as_written(self, role: str) -> Texts:
        """Texts of a column of figures, dates in it reported."""
        return self._without_dates(role)

    def _without_dates(self, role: str) -> Texts:
        """Texts of a column of quantities; a date there is reported as such."""
        texts = list(self.texts(role, placeholders=True))
        for i, value in enumerate(self.raw(role)):
            if isinstance(value, DATES):
                self.unreadable.append(
                    Unreadable(self.place(role, i), role, str(texts[i]),
                               "a number; the spreadsheet made a date of what was typed: format the column as text")
                )  # fmt: skip
                texts[i] = None
        return texts

    def _size_system(self, role: str, texts: Texts) -> str | None:
        bare, labelled = self._bare(texts, lambda text: parse_size(text, cores=True))
        if not bare:
            return None
        system: str | None
        system, because = size_sets(set(bare.values()))
        soft = self.region.soft_units.get(role)
        systems = {size.system for size in labelled if size.also is None}  # two labels name both
        if soft == "mm2" or (soft == "awg" and system is None and "both systems" not in because[:30]):
            whole = all(v == int(v) and 0 <= v <= 40 for v in bare.values())
            if soft == "mm2" or whole:
                system, because = soft, f"the heading says {self.heading(role)}"
        if system is None and len(systems) == 1:
            system, because = systems.pop(), "the other cells of the column say so"
        if system is not None:
            where = [i for i, text in enumerate(texts) if text in bare]
            shown = "mm²" if system == "mm2" else "AWG"
            self.assume("unit", self.heading(role), shown, because, self.place(role, where[0]), len(where))
        return system

    def lengths(self, role: str = "length_m") -> list[float | None]:
        """Lengths in metres; the unit from the cell, the heading, or the magnitude of the column.

        A list whose sizes, read before, are all gauges is taken to be in inches where the numbers allow.
        """
        if role not in self.region.columns:
            return [None] * len(self)
        texts = self._without_dates(role)
        unit = self.region.units.get(role)
        if unit in (None, "mm"):
            texts = self._without_thousands(role, texts)
        if unit not in LENGTH_UNITS:
            unit = self._length_unit(role, texts)
        zero = role in _MAY_BE_ZERO
        return self.parsed(role, lambda text: parse_length(text, unit, zero=zero), texts)

    def _without_thousands(self, role: str, texts: Texts) -> Texts:
        """Millimetres without the mark between thousands: ``1.200`` beside ``800`` is 1200."""
        grouped = {t for t in set(texts) if t is not None and _THOUSANDS.match(t)}
        plain = [float(t) for t in set(texts) if t is not None and t.isdecimal()]
        if not grouped or not plain or max(plain) < 100:
            return texts
        where = [i for i, text in enumerate(texts) if text in grouped]
        shown = texts[where[0]] or ""
        self.assume("unit", shown, re.sub(r"[.,' ]", "", shown), "other lengths of the column are whole millimetres",
                    self.place(role, where[0]), len(where))  # fmt: skip
        return [re.sub(r"[.,' ]", "", t) if t is not None and t in grouped else t for t in texts]

    def _length_unit(self, role: str, texts: Texts) -> str | None:
        bare, _labelled = self._bare(texts, parse_length)
        if not bare:
            return None
        counted = Counter(text for text in texts if text in bare)
        values = sorted(v for text, n in counted.items() for v in [bare[text or ""]] * n)
        units = {_unit_of(text) for text in set(texts) if text is not None and text not in bare} - {""}
        middle = values[len(values) // 2]
        if len(units) == 1 and _may_be(role, middle, *units):
            unit, because = units.pop(), "the other cells of the column say so"
        elif role in _USUAL_M:
            return self._usual_unit(role, texts, bare, middle)
        elif self._gauges and 3 < middle < 150:
            unit, because = "in", f"the sizes are gauges and the middle value is {middle:g}"
        elif middle > 20:
            unit, because = "mm", f"the middle value, {middle:g}, is too large for metres"
        else:
            unit, because = "m", f"the middle value, {middle:g}, is too small for millimetres"
        where = [i for i, text in enumerate(texts) if text in bare]
        self.assume("unit", self.heading(role), unit, because, self.place(role, where[0]), len(where))
        return unit

    def _usual_unit(self, role: str, texts: Texts, bare: Collection[str], middle: float) -> str | None:
        """Unit with which the middle value of a column is a length as usual; None where several or none are."""
        low_m, high_m = _USUAL_M[role]
        likely = ("mm", "m", "in") if self._gauges or role in _MAY_BE_INCHES else ("mm", "m")
        units: list[str] = [unit for unit in likely if low_m <= middle * LENGTH_UNITS[unit] <= high_m]
        if len(units) != 1:
            return None
        where = [i for i, text in enumerate(texts) if text in bare]
        because = f"the middle value, {middle:g}, is not usual in any other unit"
        self.assume("unit", self.heading(role), units[0], because, self.place(role, where[0]), len(where))
        return units[0]

    # --- words ----------------------------------------------------------------------------------

    def flags(self, role: str) -> list[bool | None]:
        """Yes or no."""
        words = vocabulary().values

        def parse(text: str) -> bool:
            folded = text.casefold()
            if folded in words["yes"]:
                return True
            if folded in words["no"]:
                return False
            raise NotUnderstoodError("yes or no")

        return self.parsed(role, parse, self.texts(role))

    def lowered(self, role: str) -> Texts:
        """Texts in lower case, for places and bodies."""
        return [None if text is None else text.lower() for text in self.texts(role, placeholders=True)]


def _may_be(role: str, number: float, unit: str) -> bool:
    """Whether a plain number of a column may be of a unit that other cells have: no wire is 600 m long."""
    if role not in _USUAL_M and role != "length_m":
        return True
    low_m, high_m = _USUAL_M.get(role, _WIRE_M)
    return low_m <= number * LENGTH_UNITS[unit] <= high_m


def _unit_of(text: str) -> str:
    """Unit a length is written with, one spelling per unit."""
    scale = {0.001: "mm", 0.01: "cm", 1.0: "m", 0.0254: "in", 0.3048: "ft"}
    tail = text.strip().lstrip("0123456789.,+- ").strip().lower().replace("”", '"').replace("″", '"').replace("“", '"')
    tail = tail.replace("’", "'").replace("′", "'")
    return scale.get(LENGTH_UNITS.get(tail, 0.0), "")
