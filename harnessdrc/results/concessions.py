"""Concessions as the renderers receive them: what was accepted by whom, and what became of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from harnessdrc.findings import Mark
from harnessdrc.results.reading import SourceFile

__all__ = ["ConcessionLine", "ConcessionOutcome"]


class ConcessionLine(NamedTuple):
    """A concession, and what became of it.

    Parameters
    ----------
    rule, kind, subject : str
        What it accepts; `kind` empty where it names none.
    reason, by, until : str
        Why, by whom, and the last day on which it holds, as ``2027-03-31``.
    accepted : float or None
        Measured value that is accepted, in `unit`; None for a finding that is not measured.
    unit : str
    state : str
        ``in force``; ``worsened``, ``expired`` or ``unused``, each of which is a finding; ``not known`` where its rule
        failed to run.
    covers : tuple of str
        Thumbprints of the findings that it accepts.
    mark : Mark
        Where it stands.
    """

    rule: str
    kind: str
    subject: str
    reason: str
    by: str
    until: str
    accepted: float | None
    unit: str
    state: str
    covers: tuple[str, ...]
    mark: Mark


@dataclass(frozen=True, slots=True)
class ConcessionOutcome:
    """Concessions and the day they were looked at; empty where none were given.

    Parameters
    ----------
    lines : tuple of ConcessionLine
        In the order of their files.
    files : tuple of SourceFile
        Files of their own that they stand in.
    in_list : bool
        Whether those within the list count.
    on : str
        The day, as ``2026-11-25``; empty where none were given.
    """

    lines: tuple[ConcessionLine, ...] = ()
    files: tuple[SourceFile, ...] = ()
    in_list: bool = False
    on: str = ""
