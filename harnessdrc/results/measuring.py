"""What filled-in test sheets say."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from harnessdrc.findings import Mark

__all__ = ["MeasuredLine", "MeasuredOutcome", "MeasuredSheetLine"]


class MeasuredSheetLine(NamedTuple):
    """A filled-in test sheet.

    Parameters
    ----------
    file, sheet : str
        Where it stands.
    issue_mark : str or None
        Issue of the list that it was printed for; None where it names none.
    fits : bool or None
        Whether that is this issue; None where it names none.
    rows, filled, refused : int
        Tests on it, those filled in, and cells with something that is no reading.
    """

    file: str
    sheet: str
    issue_mark: str | None
    fits: bool | None
    rows: int
    filled: int
    refused: int


class MeasuredLine(NamedTuple):
    """A reading with what was expected.

    Parameters
    ----------
    test : str
        Number of the test, as on the sheet.
    kind : str
        ``continuity``, ``isolation`` or ``voltage``.
    subject, state : str
        What was measured; operating state, empty where it is measured in none.
    expected, low, high : float or None
        What was expected and what passes, in `unit`; None for what there is not.
    measured : float or None
        The reading, in `unit`; None for an overload.
    above : bool
        Whether the reading is only a bound.
    unit : str
        ``mΩ``, ``MΩ`` or ``mV``.
    verdict : str
        ``pass``, ``fail``, ``unit`` (a slip of the unit) or ``undecided``.
    mark : Mark
        Its cell.
    """

    test: str
    kind: str
    subject: str
    state: str
    expected: float | None
    low: float | None
    high: float | None
    measured: float | None
    above: bool
    unit: str
    verdict: str
    mark: Mark


@dataclass(frozen=True, slots=True)
class MeasuredOutcome:
    """What the filled-in test sheets say; empty without any.

    Parameters
    ----------
    sheets : tuple of MeasuredSheetLine
        In the order read.
    lines : tuple of MeasuredLine
        Readings that belong to a test.
    unfit : int
        Filled-in rows that belong to none.
    used : int
        Resistances that the network is solved with in place of the expected ones.
    not_compared : tuple of str
        Why readings could not be held against anything.
    """

    sheets: tuple[MeasuredSheetLine, ...] = ()
    lines: tuple[MeasuredLine, ...] = ()
    unfit: int = 0
    used: int = 0
    not_compared: tuple[str, ...] = ()

    def count(self, verdict: str) -> int:
        """Readings with a verdict."""
        return sum(1 for line in self.lines if line.verdict == verdict)
