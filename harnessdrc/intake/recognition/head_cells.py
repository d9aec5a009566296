"""A heading over a column, and the headings of one or more tables side by side."""

from __future__ import annotations

from dataclasses import dataclass, field

from harnessdrc.intake.recognition.headings import Heading

__all__ = ["HeadCell", "HeadRow"]


@dataclass(frozen=True, slots=True)
class HeadCell:
    """One heading over one column.

    Parameters
    ----------
    column : int
        Zero-based sheet column.
    row : int
        One-based row the heading stands in (the lower one of two).
    heading : Heading
        What it may mean.
    typo_of : str
        The spelling it was taken for, where it is misspelt.
    """

    column: int
    row: int
    heading: Heading
    typo_of: str = ""


@dataclass(frozen=True, slots=True)
class HeadRow:
    """The headings of one or more tables side by side.

    Parameters
    ----------
    rows : tuple of int
        One-based rows they stand in.
    cells : tuple of HeadCell
        From left to right.
    titles : mapping of int to str
        Column → text over a group of headings, where it is no part of them: a connector's name.
    title_row : int
        One-based row of the titles, 0 where they stand in the heading rows or there are none.
    """

    rows: tuple[int, ...]
    cells: tuple[HeadCell, ...]
    titles: dict[int, str] = field(default_factory=dict)
    title_row: int = 0

    @property
    def known(self) -> int:
        """How many headings are known."""
        return sum(1 for cell in self.cells if cell.heading.concepts)
