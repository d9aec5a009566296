"""Words for leads of several conductors, from ``tables/cables.toml``."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path

import harnessdrc.tables.columns as _columns

__all__ = ["cable_cores", "is_paired_cable"]


@cache
def _data() -> tuple[dict[str, tuple[int, str]], frozenset[str]]:
    data = tomllib.loads((Path(_columns.__file__).parent / "cables.toml").read_text(encoding="utf-8"))
    words = {word: (cable["cores"], cable["because"]) for cable in data["cable"] for word in cable["words"]}
    return words, frozenset(data["paired"]["headings"])


def cable_cores(text: str) -> tuple[int, str] | None:
    """Number of conductors of a lead named so, with the reason, or None: ``PWM`` → 3."""
    return _data()[0].get(" ".join(text.casefold().split()))


def is_paired_cable(heading: str) -> bool:
    """Whether a heading names a cable whose pairs belong together by colour: ``Cat5e Color``."""
    words = heading.casefold().split()
    return any(word in _data()[1] for word in words)
