"""What was read: files, given values, rows set aside, what was inferred."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from harnessdrc.findings import Mark

__all__ = ["AssumptionLine", "GivenValue", "ReadSummary", "SetAsideLine", "SourceFile"]


class SourceFile(NamedTuple):
    """An input file: the name shown to the user and the SHA-256 of its bytes."""

    file: str
    sha256: str


class GivenValue(NamedTuple):
    """A value the analysis takes as given, its unit and where it came from."""

    name: str
    value: float | str
    unit: str
    origin: str


@dataclass(frozen=True, slots=True)
class SetAsideLine:
    """A row of the input that was not used, and why."""

    file: str
    sheet: str
    row: int
    reason: str


@dataclass(frozen=True, slots=True)
class AssumptionLine:
    """Something inferred: what, about which text, the value taken, the words that decided it."""

    what: str
    subject: str
    value: str
    because: str
    mark: Mark | None
    count: int


@dataclass(frozen=True, slots=True)
class ReadSummary:
    """Account of the rows, and how many objects they gave."""

    rows_seen: int
    rows_used: int
    set_aside: tuple[SetAsideLine, ...]
    wires: int
    pins: int
    components: int
