"""Columns of a region turned into values, each distinct text once.

`Columns` hands out the columns of one region as texts, sizes, lengths and so on, and collects what had to
be assumed and which cells could not be understood.
"""

from __future__ import annotations

import datetime
import re
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Sequence
from typing import Any, TypeVar

from harnessdrc.intake.recognition.headings import vocabulary
from harnessdrc.intake.recognition.regions import Region, Rows, text_of
from harnessdrc.places import Place, cell_name
from harnessdrc.tables.model import Assumption, Unreadable
from harnessdrc.units import (
    LENGTH_UNITS,
    NotUnderstoodError,
    Size,
    UnitMissingError,
    is_placeholder,
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
Texts = list[str | None]
_DATES = (datetime.date, datetime.time, datetime.timedelta)
_ERRORS = frozenset(("nan", "inf", "-inf", "#n/a", "#ref!", "#value!", "#div/0!", "#name?", "#num!", "#null!", "nat"))
_FIGURES: dict[str, Callable[[str, str | None], float]] = {
    "current": parse_current, "resistance": parse_resistance, "capacitance": parse_capacitance,
    "voltage": parse_voltage, "pressure": parse_pressure, "time": parse_time,
}  # fmt: skip


_MAY_BE_ZERO = ("distance_m", "untwisted_m")
"""A splice may lie at the very start of its branch, a pair may be twisted up to its terminals."""

_USUAL_M: dict[str, tuple[float, float]] = {
    "lay_m": (0.005, 0.3), "untwisted_m": (0.003, 0.5), "lead_m": (0.1, 3.0), "gap_m": (0.0002, 0.005),
    "sleeve_m": (0.002, 0.1), "bend_m": (0.005, 0.6),
}  # fmt: skip
"""From what to what such lengths are met, which tells the unit of a column of plain numbers."""

_THOUSANDS = re.compile(r"^\d{1,2}[.,' ]\d{3}$")
_MINUS = frozenset(("-", "\u2212", "–"))


class Columns:
    """The data rows of one region, column by column.

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
        self.region = region
        self.data = list(data)
        self._rows = [rows[r - 1] for r in self.data]
        self.assumptions: list[Assumption] = []
        self.unreadable: list[Unreadable] = []
        self._texts: dict[tuple[str, bool, bool], Texts] = {}
        self._noted: set[tuple[str, str]] = set()
        self._gauges = False

    def __len__(self) -> int:
        return len(self.data)

    # --- places and notes -----------------------------------------------------------------------

    def place(self, role: str, index: int = 0) -> Place:
        """Cell of a role in the data row of this index; the row where no column gives the role."""
        column = self.region.columns.get(role)
        row = self.data[index] if self.data else self.region.first_row
        cell = str(row) if column is None else cell_name(row, column)
        return Place(self.region.file, self.region.sheet, cell)

    def heading(self, role: str) -> str:
        """Heading over a role, or the role's own name where there is none."""
        return self.region.headings.get(role) or role

    def assume(self, what: str, subject: str, value: str, because: str, place: Place | None, count: int = 1) -> None:
        """List something read into the list."""
        self.assumptions.append(Assumption(what, subject, value, because, place, count))

    # --- raw and text ---------------------------------------------------------------------------

    def raw(self, role: str) -> list[Any]:
        """Cells of a role as read; empty where no column gives it."""
        column = self.region.columns.get(role)
        if column is None:
            return [None] * len(self._rows)
        return [row[column] for row in self._rows]

    def cells(self, column: int) -> list[Any]:
        """Cells of a sheet column as read."""
        return [row[column] for row in self._rows]

    def _once(self, what: str, role: str) -> bool:
        """Whether this is the first time that something is listed for a role."""
        new = (what, role) not in self._noted
        self._noted.add((what, role))
        return new

    def texts(self, role: str, *, names: bool = False, placeholders: bool = False) -> Texts:
        """Texts of a role, with ditto marks resolved and grouped cells filled in.

        Parameters
        ----------
        role : str
            Which column.
        names : bool
            The cells are names or pins: a date or a spreadsheet error is then no value.
        placeholders : bool
            ``?``, ``tbd``, ``N/A`` are taken as not given.

        Returns
        -------
        list of str or None
            One per data row; kept for the next time, so not to be changed.
        """
        key = (role, names, placeholders)
        if key not in self._texts:
            self._texts[key] = self._read_texts(role, names, placeholders)
        return self._texts[key]

    def _read_texts(self, role: str, names: bool, placeholders: bool) -> Texts:
        if role not in self.region.columns:
            name = self.region.names.get(role)
            return [name] * len(self._rows)
        raw = self.raw(role)
        known: dict[Any, str | None] = {}
        bad: set[Any] = set()
        blanked: set[Any] = set()
        dittos = vocabulary().values["ditto"]
        marks: set[Any] = set()
        for value in set(raw):
            text = text_of(value)
            if names and isinstance(value, str) and text and text.endswith(".0") and text[:-2].isdecimal():
                text = text[:-2]
            if text is not None:
                if names and (isinstance(value, _DATES) or text.casefold() in _ERRORS):
                    bad.add(value)
                    text = None
                elif text.casefold() in dittos:
                    marks.add(value)
                elif placeholders and is_placeholder(text) and not (text in _MINUS and self._has_poles(role)):
                    blanked.add(value)
                    text = None
            known[value] = text
        out: Texts = [known[value] for value in raw]
        if bad and self._once("unreadable", role):
            for i, value in enumerate(raw):
                if value in bad:
                    what = "a date" if isinstance(value, _DATES) else "a spreadsheet error"
                    expected = f"a name or a number; this is {what}: format the column as text and write it again"
                    self.unreadable.append(Unreadable(self.place(role, i), role, str(text_of(value)), expected))
        if blanked:
            self._note_placeholders(role, raw, blanked)
        if marks:
            self._resolve_dittos(role, raw, marks, out)
        if role in self.region.fill:
            self._fill(role, out)
        return out

    def _has_poles(self, role: str) -> bool:
        """Whether a dash in a column of cavities is a negative terminal: some ``+`` stands there too."""
        if not role.endswith("cavity"):
            return False
        return any(
            "+" in {text_of(value) for value in self.raw(name)}
            for name in ("cavity", "from_cavity", "to_cavity")
            if name in self.region.columns
        )

    def _note_placeholders(self, role: str, raw: Sequence[Any], blanked: set[Any]) -> None:
        if not self._once("placeholder", role):
            return
        where = [i for i, value in enumerate(raw) if value in blanked]
        shown = ", ".join(sorted({str(text_of(v)) for v in blanked})[:3])
        self.assume("placeholder", shown, "not given", "it stands for a value that is not known",
                    self.place(role, where[0]), len(where))  # fmt: skip

    def _resolve_dittos(self, role: str, raw: Sequence[Any], marks: set[Any], out: Texts) -> None:
        above: str | None = None
        count, first = 0, 0
        for i, value in enumerate(raw):
            if value in marks:
                out[i] = above
                first = first if count else i
                count += 1
            elif value is not None:
                above = out[i]
        if self._once("ditto", role):
            self.assume("ditto", self.heading(role), "the value above", "a mark that says the same again",
                        self.place(role, first), count)  # fmt: skip

    def _fill(self, role: str, out: Texts) -> None:
        above: str | None = None
        count, first = 0, 0
        for i, text in enumerate(out):
            if text is None and above is not None:
                out[i] = above
                first = first if count else i
                count += 1
            else:
                above = text if text is not None else above
        if count and self._once("fill", role):
            self.assume("filled forward", self.heading(role), "the value above",
                        "the column is filled in once per group of rows", self.place(role, first), count)  # fmt: skip

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
        return self.parsed(role, lambda text: parse(text, unit))

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
        sizes = self.parsed(role, lambda text: parse_size(text, system), texts)
        self._gauges = any(size is not None for size in sizes) and all(s is None or s.system == "awg" for s in sizes)
        return sizes

    def _without_dates(self, role: str) -> Texts:
        """Texts of a column of quantities; a date there is reported as such."""
        texts = list(self.texts(role, placeholders=True))
        for i, value in enumerate(self.raw(role)):
            if isinstance(value, _DATES):
                self.unreadable.append(
                    Unreadable(self.place(role, i), role, str(texts[i]),
                               "a number; the spreadsheet made a date of what was typed: format the column as text")
                )  # fmt: skip
                texts[i] = None
        return texts

    def _size_system(self, role: str, texts: Texts) -> str | None:
        bare, labelled = self._bare(texts, parse_size)
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
        if len(units) == 1:
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
        likely = ("mm", "m", "in") if self._gauges or role == "gap_m" else ("mm", "m")
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


def _unit_of(text: str) -> str:
    """Unit a length is written with, one spelling per unit."""
    scale = {0.001: "mm", 0.01: "cm", 1.0: "m", 0.0254: "in", 0.3048: "ft"}
    tail = text.strip().lstrip("0123456789.,+- ").strip().lower().replace("”", '"').replace("″", '"').replace("“", '"')
    tail = tail.replace("’", "'").replace("′", "'")
    return scale.get(LENGTH_UNITS.get(tail, 0.0), "")
