"""Finding words of the trade in the text of a cell: whole words only, and the longest words decide.

Text and words are cut into runs of letters and runs of digits, without regard to case, signs and spaces: "SF30" and
"sf-30" are the same words, and "22759/1" is never found in "22759/16".
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Generic, TypeVar

__all__ = ["Found", "WordBook", "pieces"]

_PIECE = re.compile(r"\d+(?:\.\d+)?|[^\W\d_]+")
_MOST_PIECES = 200
"""A cell of the list that holds more is a note, not a name; what stands behind is not looked at."""

_Meaning = TypeVar("_Meaning")


def pieces(text: str) -> tuple[str, ...]:
    """Runs of letters and of digits in a text, in lower case; a decimal point stays inside a number."""
    return tuple(_PIECE.findall(text.casefold()))


@dataclass(frozen=True, slots=True)
class Found(Generic[_Meaning]):
    """Words found in a text.

    Parameters
    ----------
    meaning : object
        What they stand for.
    start, length : int
        First piece of the text they cover, and how many.
    """

    meaning: _Meaning
    start: int
    length: int


class WordBook(Generic[_Meaning]):
    """Words and what they stand for.

    Parameters
    ----------
    entries : mapping of object to iterable of str
        The words of each meaning.

    Raises
    ------
    ValueError
        When words are empty, or stand for two meanings.
    """

    def __init__(self, entries: Mapping[_Meaning, Iterable[str]]) -> None:
        self._meanings: dict[tuple[str, ...], _Meaning] = {}
        for meaning, words in entries.items():
            for each in words:
                key = pieces(each)
                if not key or self._meanings.setdefault(key, meaning) != meaning:
                    raise ValueError(f"the words '{each}' are empty or stand for two things")
        self._longest = max(map(len, self._meanings), default=0)

    def find(self, text: str) -> tuple[Found[_Meaning], ...]:
        """Words in a text from left to right, at each place the longest; none covers a piece twice."""
        cut = pieces(text)[:_MOST_PIECES]
        found: list[Found[_Meaning]] = []
        start = 0
        while start < len(cut):
            for length in range(min(self._longest, len(cut) - start), 0, -1):
                meaning = self._meanings.get(cut[start : start + length])
                if meaning is not None:
                    found.append(Found(meaning, start, length))
                    start += length
                    break
            else:
                start += 1
        return tuple(found)
