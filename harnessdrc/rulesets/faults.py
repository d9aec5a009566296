"""How a fault of a ruleset is worded: the dotted key, what was expected, what stands there."""

from __future__ import annotations

import datetime
import json
import re
from collections.abc import Collection, Iterable, Mapping
from typing import Any

__all__ = ["Faults", "did_you_mean", "dotted", "found", "nearest", "quoted"]

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_LONGEST = 60
_MOST_NAMES = 20


class Faults:
    """Gathers the sentences, so that a ruleset's faults are told all at once.

    Parameters
    ----------
    main : str
        The ruleset that is being loaded; faults of the rulesets it is based on carry their own file.
    """

    def __init__(self, main: str) -> None:
        self.main = main
        self._sentences: dict[str, None] = {}

    def add(self, file: str, where: str, sentence: str) -> None:
        """Add one fault at the dotted key `where` (empty for the whole file) of `file`."""
        parts = [file if file != self.main else "", where, sentence]
        text = ": ".join(part for part in parts if part)
        self._sentences[text] = None

    @property
    def sentences(self) -> tuple[str, ...]:
        """Every fault once, in the order found."""
        return tuple(self._sentences)


def quoted(text: str) -> str:
    """`text` between quotes on one line, shortened where it is long."""
    shown = text if len(text) <= _LONGEST else text[: _LONGEST - 1] + "…"
    return "'" + "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in shown) + "'"


def dotted(*keys: str) -> str:
    """Keys as TOML writes them one below the other: ``rule."front loom".limits``."""
    return ".".join(
        key if _BARE_KEY.fullmatch(key) else json.dumps(key[:_LONGEST], ensure_ascii=not key.isprintable())
        for key in keys
    )


def nearest(name: str, known: Iterable[str]) -> str | None:
    """The known name that `name` most likely means, or None."""
    from difflib import get_close_matches

    by_folded = {candidate.casefold(): candidate for candidate in sorted(known)}
    close = get_close_matches(name[:200].casefold(), by_folded, n=1, cutoff=0.6)
    return by_folded[close[0]] if close else None


def did_you_mean(name: str, known: Collection[str], *, what: str = "here") -> str:
    """``'graed' is not known here; did you mean 'grade'?``, or the names that are known."""
    close = nearest(name, known)
    if close is not None:
        return f"{quoted(name)} is not known {what}; did you mean {quoted(close)}?"
    names = sorted(known)
    if not names:
        return f"{quoted(name)} is not known {what}; there is no name that would be."
    listed = ", ".join(names[:_MOST_NAMES]) + (", …" if len(names) > _MOST_NAMES else "")
    return f"{quoted(name)} is not known {what}; known are {listed}."


def found(value: Any) -> str:
    """What stands there, in words: ``text '0.5'``, ``the number 3``, ``a list``."""
    if isinstance(value, bool):
        return f"{str(value).lower()}"
    if isinstance(value, str):
        return f"text {quoted(value)}" if value else "empty text"
    if isinstance(value, int):
        return f"the number {value}" if abs(value) < 10**18 else "a number of many figures"
    if isinstance(value, float):
        return f"the number {value:g}"
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, list):
        return "a list" if value else "an empty list"
    if isinstance(value, (datetime.date, datetime.time)):
        return "a date or time"
    return "something else"
