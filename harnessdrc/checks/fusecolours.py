"""What a list says of the colour of a fuse, against the colours that its rating has."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import NamedTuple

from harnessdrc.physics.fuses import fuse_colour, fuse_families, read_family, standard_ratings
from harnessdrc.tables.colours import colour_name, parse_colour

__all__ = ["FuseColours", "listed_colours", "meant_colours"]

_BREAKS = re.compile(r"[^\w]+|_")


class FuseColours(NamedTuple):
    """Colour of a rating: its usual name, all names it goes by, and the families that have it."""

    usual: str
    names: frozenset[str]
    families: tuple[str, ...]


def _plain(text: str) -> str:
    return _BREAKS.sub(" ", text.casefold()).strip()


@lru_cache(maxsize=256)
def meant_colours(text: str, rating_a: float) -> tuple[FuseColours, ...]:
    """Colours that a fuse of a rating may have, by the text of its family; empty where none are published."""
    reading = read_family(text) if text else None
    names: tuple[str, ...] = ()
    if reading is not None:
        names = (reading.family,) if reading.family else reading.candidates
    if not names:
        names = tuple(name for name in fuse_families() if rating_a in standard_ratings(name))
    found: dict[frozenset[str], FuseColours] = {}
    for name in names:
        known = fuse_colour(name, rating_a)
        if known is not None:
            also = frozenset(map(_plain, (known.colour, *known.also)))
            before = found.get(also)
            families = (*before.families, name) if before else (name,)
            found[also] = FuseColours(known.colour, also, families)
    return tuple(found.values())


@lru_cache(maxsize=1)
def _known() -> frozenset[str]:
    ratings = {(name, rating_a) for name in fuse_families() for rating_a in standard_ratings(name)}
    colours = [known for name, rating_a in ratings if (known := fuse_colour(name, rating_a)) is not None]
    return frozenset(_plain(word) for each in colours for word in (each.colour, *each.also))


@lru_cache(maxsize=256)
def listed_colours(text: str) -> frozenset[str]:
    """Names of fuse colours that a cell holds: a word, or letters of IEC 60757; empty where it holds none."""
    plain = _plain(text)
    if plain in _known():
        return frozenset((plain,))
    codes = parse_colour(text).codes
    names = {_plain(colour_name(code)) for code in codes} if len(codes) == 1 else set()
    return frozenset(names & _known())
