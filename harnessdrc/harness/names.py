"""When two spellings name the same thing.

Item names are folded: case, runs of white space and the kinds of dash do not matter (``PD BOARD 30AMP``
is ``PD board 30amp``). Cavity names keep their case, since round connectors use ``A`` and ``a`` for two
different cavities, but lose leading zeros (``X1-01`` is ``X1-1``).
"""

from __future__ import annotations

import re
from functools import lru_cache

__all__ = ["fold", "fold_cavity", "natural_key"]

_DASHES = re.compile("[\u2010-\u2015\u2212\u00ad]")
_SPACES = re.compile(r"\s+")
_ZEROS = re.compile(r"(?<![0-9])0+(?=[0-9])")


@lru_cache(maxsize=200_000)
def fold(name: str) -> str:
    """Key under which an item is known."""
    return _SPACES.sub(" ", _DASHES.sub("-", name)).strip().casefold()


@lru_cache(maxsize=50_000)
def fold_cavity(name: str) -> str:
    """Key of a cavity within its item."""
    return _ZEROS.sub("", _SPACES.sub(" ", _DASHES.sub("-", name)).strip())


@lru_cache(maxsize=100_000)
def natural_key(text: str) -> tuple[tuple[int, int, str], ...]:
    """Key that sorts W2 before W10."""
    return tuple(
        (1, int(part), "") if part.isascii() and part.isdecimal() else (0, 0, part.casefold())
        for part in re.split(r"([0-9]+)", text)
        if part
    )
