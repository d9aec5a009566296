"""What a check says about one subject: a finding, or that it could not decide.

Checks yield these as plain data. They carry no wording: the check's page holds the sentence and
`harnessdrc.wording` fills it in, once, for every renderer.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from harnessdrc.places import Place

__all__ = ["GRADES", "Finding", "Grade", "Mark", "Subject", "Undecided", "beyond", "figures", "thumbprint", "unit_sign"]

Grade = Literal["hold", "query", "note"]
GRADES: tuple[Grade, ...] = ("hold", "query", "note")

Subject = tuple[str, str]
"""Kind and name of the object looked at: ``("wire", "W12")``."""


def thumbprint(rule: str, check: str, subject: Subject) -> str:
    """Identity of a finding across issues of a list: no row, no wording in it."""
    text = "\x1f".join((rule, check, *subject))
    return hashlib.sha256(text.encode()).hexdigest()[:16]


@dataclass(frozen=True, slots=True)
class Mark:
    """A place and what it has to do with the finding: ``earth point of the controller``."""

    place: Place
    label: str


@dataclass(frozen=True, slots=True)
class Finding:
    """A non-conformity of one subject.

    Parameters
    ----------
    subject : tuple of (str, str)
        Kind and name.
    marks : tuple of Mark
        The main place first, then the others that belong to it.
    evidence : mapping
        Values the check's sentence is filled in from; JSON types only.
    measured, limit : float, optional
        In `unit`.
    unit : str
        ``mV``, ``A``, ``degC``, or empty for a count.
    variant : str
        Which of the check's sentences applies, where it has several.
    follows_from : tuple of (str, Subject), optional
        Check and subject of the cause, where another finding explains this one.
    """

    subject: Subject
    marks: tuple[Mark, ...]
    evidence: Mapping[str, Any] = field(default_factory=dict)
    measured: float | None = None
    limit: float | None = None
    unit: str = ""
    variant: str = ""
    follows_from: tuple[str, Subject] | None = None


@dataclass(frozen=True, slots=True)
class Undecided:
    """A subject that could not be decided, with the data that would decide it.

    Parameters
    ----------
    subject : tuple of (str, str)
        Kind and name.
    missing : tuple of str
        Columns or data that are lacking, in trade words: ``length of wire W12``.
    marks : tuple of Mark
        Where the data would stand.
    low, high, limit : float, optional
        Range of the value while the data is lacking, and the limit that lies within it, in `unit`.
    unit : str
        As in `Finding`.
    """

    subject: Subject
    missing: tuple[str, ...]
    marks: tuple[Mark, ...] = ()
    low: float | None = None
    high: float | None = None
    limit: float | None = None
    unit: str = ""


_UNIT_SIGNS = {"degc": "°C", "ohm": "Ω", "mohm": "mΩ", "mm2": "mm²", "percent": "%"}


def unit_sign(unit: str) -> str:
    """Unit of a finding for the eye: ``mΩ`` for ``mohm``; what has no sign of its own stays as it is."""
    return _UNIT_SIGNS.get(unit.casefold(), unit)


_NEARER = 1e-9
"""Part of a value by which its last digits may differ with the order of what it is summed from."""


def beyond(value: float, limit: float) -> bool:
    """Whether a value is above a limit by more than the rounding of its sum: 0.1 m and 0.2 m are 0.3 m."""
    return value - limit > _NEARER * max(abs(value), abs(limit))


def figures(value: float, digits: int = 3) -> str:
    """A value to so many figures, to a whole number where that takes as many: ``0.0123``, ``3.33``, ``812``.

    It is rounded to nine figures first: what lies half way, as 3.325, is not told by the last bits of a sum, which hang
    on the order of the rows.
    """
    value = float(f"{value:.9g}")
    return f"{value:.0f}" if abs(value) >= 10.0 ** (digits - 1) else f"{value:.{digits}g}"
