"""Columns of a region as texts: names, ditto marks, groups filled in once, words for what is not known.

`TextColumns` hands out the columns of one region as texts, and collects what had to be assumed and which cells could
not be understood.
"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from typing import Any

from harnessdrc.intake.recognition.headings import vocabulary
from harnessdrc.intake.recognition.regions import Region, Rows, text_of
from harnessdrc.places import Place, cell_name
from harnessdrc.tables.model import Assumption, Unreadable
from harnessdrc.units import is_placeholder

__all__ = ["DATES", "TextColumns", "Texts"]

Texts = list[str | None]
DATES = (datetime.date, datetime.time, datetime.timedelta)
"""What a spreadsheet makes of a text like 12-1."""

_ERRORS = frozenset(("nan", "inf", "-inf", "#n/a", "#ref!", "#value!", "#div/0!", "#name?", "#num!", "#null!", "nat"))
_MINUS = frozenset(("-", "\u2212", "–"))


class TextColumns:
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
                if names and (isinstance(value, DATES) or text.casefold() in _ERRORS):
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
                    what = "a date" if isinstance(value, DATES) else "a spreadsheet error"
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
