"""Assumptions gathered while a harness is built: one line per statement, with its first cell and a count."""

from __future__ import annotations

from harnessdrc.places import Place
from harnessdrc.tables.model import Assumption

__all__ = ["Assumed"]


class Assumed:
    """Statements in the order they were first made."""

    def __init__(self) -> None:
        self._seen: dict[tuple[str, str, str, str], tuple[Place | None, int]] = {}

    def add(self, what: str, subject: str, value: str, because: str, place: Place | None) -> None:
        """State something; stated again, it is counted."""
        key = (what, subject, value, because)
        first, count = self._seen.get(key, (place, 0))
        self._seen[key] = (first, count + 1)

    def listed(self) -> tuple[Assumption, ...]:
        """All statements."""
        return tuple(Assumption(*key, place=place, count=count) for key, (place, count) in self._seen.items())
