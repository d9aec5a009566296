"""A concession: permission to build with a named non-conformity, as far as it was accepted and as long as it holds."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field

from harnessdrc.places import Place
from harnessdrc.results import SourceFile

__all__ = ["FIELDS", "NEEDED", "Concession", "ConcessionList", "folded", "known_unit", "same_unit"]

FIELDS = ("rule", "subject", "kind", "reason", "by", "until", "accepted", "unit")
"""What a concession may say, in the order of a sheet."""
NEEDED = ("rule", "subject", "reason", "by", "until")


@dataclass(frozen=True, slots=True)
class Concession:
    """One concession, sound in itself.

    Parameters
    ----------
    rule, subject : str
        Rule of the ruleset, and name of the object; ``W12`` or, as the redline has it, ``wire W12``.
    kind : str
        Kind of the object; empty where the name alone will do.
    reason, by : str
        Why it is accepted, and by whom.
    until : datetime.date
        Last day on which it holds.
    accepted : float or None
        Measured value that is accepted, in `unit`; None for a finding that is not measured.
    unit : str
        As the project writes it: ``mV``, ``mohm``; empty for a count.
    place : Place
        Its row, or its line.
    cells : mapping of str to Place
        Field → its cell, where there is one.
    """

    rule: str
    subject: str
    kind: str
    reason: str
    by: str
    until: datetime.date
    accepted: float | None
    unit: str
    place: Place
    cells: Mapping[str, Place] = field(default_factory=dict)

    @property
    def name(self) -> str:
        """How findings call it: rule and subject, with the unit where several stand for one subject."""
        return f"{self.rule}: {f'{self.kind} ' if self.kind else ''}{self.subject}"

    def at(self, *fields: str) -> Place:
        """Cell of the first of `fields` that has one, else its row."""
        return next((self.cells[name] for name in fields if name in self.cells), self.place)

    def takes(self, rule: str, subject: tuple[str, str]) -> bool:
        """Whether it speaks of a subject of a rule."""
        if folded(self.rule) != folded(rule):
            return False
        kind, name = folded(subject[0]), folded(subject[1])
        if self.kind and folded(self.kind) != kind:
            return False
        return folded(self.subject) in (name, f"{kind} {name}", f"{kind}:{name}")


@dataclass(frozen=True, slots=True)
class ConcessionList:
    """Concessions of a file, or of the list itself.

    Parameters
    ----------
    concessions : tuple of Concession
        In the order of the file.
    files : tuple of SourceFile
        Where they stand, with the SHA-256 of the bytes.
    in_list : bool
        Whether some of them stand in the list itself.
    """

    concessions: tuple[Concession, ...] = ()
    files: tuple[SourceFile, ...] = ()
    in_list: bool = False

    def joined(self, other: ConcessionList) -> ConcessionList:
        """Both together."""
        return ConcessionList(
            self.concessions + other.concessions, self.files + other.files, self.in_list or other.in_list
        )


def folded(text: str) -> str:
    """A name as it is compared: capitals and the width of gaps do not count."""
    return " ".join(text.casefold().split())


_PREFIXES = {"u": 1e-6, "m": 1e-3, "": 1.0, "k": 1e3, "M": 1e6, "G": 1e9}
_BASES = ("ohm", "V", "A", "W", "m", "s", "g", "Hz")
_WHOLE = {"degC": "degC", "K": "K", "percent": "percent", "dB": "dB", "times": "times", "mm2": "mm2", "cm2": "cm2",
          "rpm": "rpm", "cm": "m"}  # fmt: skip
_SIGNS = (
    ("\u2126", "ohm"), ("Ω", "ohm"), ("µ", "u"), ("μ", "u"), ("²", "2"), ("℃", "degC"), ("°", "deg"),
)  # fmt: skip
_WORDS = {"%": "percent", "per cent": "percent", "x": "times", "×": "times", "volt": "V", "volts": "V", "db": "dB",
          "deg c": "degC", "millivolt": "mV", "millivolts": "mV", "1/min": "rpm", "times": "times"}  # fmt: skip


def known_unit(text: str) -> str | None:
    """A unit as the project writes it: ``mohm`` for ``mΩ``, ``percent`` for ``%``; None for one that is not known."""
    unit = text.strip()
    unit = _WORDS.get(unit.casefold(), unit)
    for sign, word in _SIGNS:
        unit = unit.replace(sign, word)
    unit = unit.replace("Ohm", "ohm").strip()
    return unit if not unit or _scale(unit) is not None else None


def _scale(unit: str) -> tuple[str, float] | None:
    """Base of a unit and the factor to it."""
    if unit in _WHOLE:
        return (_WHOLE[unit], 0.01) if unit == "cm" else (_WHOLE[unit], 1.0)
    for base in _BASES:
        prefix = unit.removesuffix(base)
        if prefix != unit and prefix in _PREFIXES:
            return base, _PREFIXES[prefix]
    return None


def same_unit(value: float, unit: str, wanted: str) -> float | None:
    """A value in another unit of the same quantity.

    Parameters
    ----------
    value : float
        In `unit`.
    unit, wanted : str
        As written, in signs or in words: ``V``, ``mΩ``.

    Returns
    -------
    float or None
        In `wanted`; None where the two measure different things.
    """
    one, other = known_unit(unit), known_unit(wanted)
    if one is None or other is None or one == other:
        return value if one == other and (one is not None or folded(unit) == folded(wanted)) else None
    own, needed = _scale(one), _scale(other)
    return value * own[1] / needed[1] if own and needed and own[0] == needed[0] else None
