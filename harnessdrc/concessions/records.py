"""From what stands in a file to concessions, with every fault at its place."""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from harnessdrc.concessions.model import NEEDED, Concession, folded, known_unit
from harnessdrc.places import Place
from harnessdrc.rulesets.faults import found, quoted
from harnessdrc.units import NotUnderstoodError, parse_number

__all__ = ["Record", "Records"]

_EXAMPLES = {
    "rule": "the name of a rule, such as coil-feed-drop",
    "subject": "the name of the object, such as W12",
    "kind": "the kind of the object, such as wire",
    "reason": "why it is accepted",
    "by": "the name of who accepts it",
    "until": "the last day it holds, such as 2027-03-31",
    "accepted": "the measured value that is accepted, such as 120",
    "unit": "the unit of the accepted value, such as mV",
}  # fmt: skip
_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ]00:00(?::00)?)?")
_DOTTED = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4})")
_QUANTITY = re.compile(r"(?P<number>[+\-−]?[\d.,]+(?:[eE][+-]?\d+)?)\s*(?P<unit>[^\d\s.,+-].*)?")
_LONGEST = 500
_OWN_RULES = "concession."


@dataclass(frozen=True, slots=True)
class Record:
    """A concession as it stands in its file.

    Parameters
    ----------
    values : mapping
        Field → what stands there; a field that is empty is not in it.
    place : Place
        Row or line of it.
    cells : mapping of str to Place
        Field → its cell or line.
    headings : mapping of str to str
        Field → what the file calls it.
    unit : str
        Unit that the heading over the accepted value names.
    """

    values: Mapping[str, Any]
    place: Place
    cells: Mapping[str, Place]
    headings: Mapping[str, str]
    unit: str = ""


class Records:
    """Takes records one by one; `concessions` are the sound ones, `faults` the sentences on the others."""

    def __init__(self) -> None:
        self.concessions: list[Concession] = []
        self.faults: list[str] = []
        self._first: dict[tuple[str, str, str, str], Place] = {}

    def fault(self, place: Place, sentence: str) -> None:
        """Keep a fault with its place."""
        end = "" if sentence.endswith("?") else "."
        self.faults.append(f"{where(place)}: {sentence}{end}")

    def take(self, record: Record, excused: frozenset[str] = frozenset()) -> None:
        """Add the concession of a record, or its faults.

        Parameters
        ----------
        record : Record
            As it stands.
        excused : frozenset of str
            Fields whose want was told already.
        """
        before = len(self.faults)
        texts = {name: self._text(record, name) for name in ("rule", "subject", "kind", "reason", "by", "unit")}
        for name in NEEDED:
            if name not in record.values and name not in excused:
                at = record.cells.get(name, record.place)
                self.fault(at, f"'{record.headings[name]}' is missing: expected {_EXAMPLES[name]}")
        rule = texts["rule"] or ""
        if folded(rule).startswith(_OWN_RULES):
            self.fault(
                record.cells.get("rule", record.place),
                f"{quoted(rule)} tells of concessions, which no concession can accept; take it out and mend "
                f"what it tells of",
            )
        until = self._date(record)
        accepted, unit = self._accepted(record, texts["unit"] or "")
        if len(self.faults) > before or excused or until is None:
            return
        made = Concession(
            rule=rule, subject=texts["subject"] or "", kind=texts["kind"] or "", reason=texts["reason"] or "",
            by=texts["by"] or "", until=until, accepted=accepted, unit=unit, place=record.place,
            cells={name: cell for name, cell in record.cells.items() if name in record.values},
        )  # fmt: skip
        key = (folded(made.rule), folded(made.kind), folded(made.subject), unit if accepted is not None else "none")
        first = self._first.setdefault(key, made.place)
        if first is not made.place:
            self.fault(
                made.at("subject"), f"the same rule and subject stand at {first} already; leave one of the two out"
            )
            return
        self.concessions.append(made)

    def _text(self, record: Record, name: str) -> str | None:
        value = record.values.get(name)
        if value is None:
            return None
        at = record.cells.get(name, record.place)
        if isinstance(value, int | float) and not isinstance(value, bool) and name in ("subject", "by", "rule"):
            value = str(int(value)) if float(value).is_integer() else f"{value:g}"  # wire 12, as a cell has it
        if not isinstance(value, str) or (name != "unit" and not value.strip()):
            self.fault(at, f"'{record.headings[name]}': expected {_EXAMPLES[name]}, found {found(value)}")
            return None
        text = " ".join(value.split())
        if len(text) > _LONGEST:
            self.fault(
                at, f"'{record.headings[name]}': expected at most {_LONGEST} characters, found {len(text)}; shorten it"
            )
            return None
        return text

    def _date(self, record: Record) -> datetime.date | None:
        value = record.values.get("until")
        if value is None:
            return None
        if isinstance(value, datetime.datetime):
            return value.date()
        if isinstance(value, datetime.date):
            return value
        if isinstance(value, str):
            day = date_of(value)
            if day is not None:
                return day
        at = record.cells.get("until", record.place)
        self.fault(at, f"'{record.headings['until']}': expected {_EXAMPLES['until']}, found {found(value)}")
        return None

    def _accepted(self, record: Record, unit: str) -> tuple[float | None, str]:
        """Accepted value and its unit as the project writes it."""
        value = record.values.get("accepted")
        at = record.cells.get("accepted", record.place)
        own = ""
        if isinstance(value, str):
            match = _QUANTITY.fullmatch(value.strip())
            try:
                value = parse_number(match["number"], grouped=False) if match else value
                own = (match["unit"] or "").strip() if match else ""
            except NotUnderstoodError:
                pass
        if value is None:
            if unit:
                self.fault(
                    record.cells.get("unit", record.place),
                    f"'{record.headings['unit']}': there is a unit but no accepted value; give the value or "
                    f"leave the unit out",
                )
            return None, ""
        if not isinstance(value, int | float) or isinstance(value, bool) or not math.isfinite(value):
            self.fault(at, f"'{record.headings['accepted']}': expected {_EXAMPLES['accepted']}, found {found(value)}")
            return None, ""
        named = {_plain(each) for each in (own, unit, record.unit) if each}
        if len(named) > 1:
            listed = " and ".join(sorted(quoted(each) for each in named))
            self.fault(
                at, f"'{record.headings['accepted']}': the units {listed} contradict each other; keep one of them"
            )
            return None, ""
        return float(value), named.pop() if named else ""


def date_of(text: str) -> datetime.date | None:
    """A date as people write it without doubt: ``2027-03-31``, ``31.3.2027``; None for any other text."""
    text = text.strip()
    iso, dotted = _ISO.fullmatch(text), _DOTTED.fullmatch(text)
    try:
        if iso:
            return datetime.date(int(iso[1]), int(iso[2]), int(iso[3]))
        if dotted:
            return datetime.date(int(dotted[3]), int(dotted[2]), int(dotted[1]))
    except ValueError:  # the 31st of a month that has none
        return None
    return None


def where(place: Place) -> str:
    """Place in words: ``line 12`` of a text without sheets, ``sheet 'Concessions', cell C4``."""
    cell = f"row {place.cell}" if place.cell.isdecimal() else f"cell {place.cell}"
    if not place.sheet:
        return cell.replace("row", "line")
    if place.list_name == place.file:  # delimited text, whose sheet has its name
        return cell
    return f"sheet '{place.sheet}', {cell}"


def _plain(unit: str) -> str:
    known = known_unit(unit)
    return unit.strip() if known is None else known
