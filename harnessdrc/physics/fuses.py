"""What a fuse is: its family by the words of a list, the ratings it is made in, its colour and its resistance.

Sources: ``rulesets/tables/fuse_families.csv``, ``fuse_colours.csv``, ``fuse_resistance.csv``; some colours of
ISO 8820-3 were read, the others are from memory: each row says so. How long a fuse takes to open:
`harnessdrc.physics.fuse_times`.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType
from typing import TypeVar

from harnessdrc.physics.shipped_tables import number_or_none, positive_number, read_table, word_list
from harnessdrc.physics.trade_words import WordBook

__all__ = [
    "FuseColour",
    "FuseFamily",
    "FuseReading",
    "check_rating",
    "cold_ohm",
    "colour",
    "fuse_colour",
    "fuse_families",
    "fuse_family",
    "hot_ohm",
    "on_logarithms",
    "read_family",
    "rows_by_family",
    "standard_ratings",
]

_Row = TypeVar("_Row")


@dataclass(frozen=True, slots=True)
class FuseFamily:
    """Fuses of one build, which share limits and ratings.

    Parameters
    ----------
    name : str
        As the tables name it, for example "mini blade".
    ratings_a : tuple of float
        Ratings it is made in, rising, A; empty where the table has none.
    breaking_capacity_a : float or None
        Largest current it is sure to interrupt, A; None where no figure is at hand.
    source : str
        Publication, and what of it was read or is from memory.
    words, loose_words : tuple of str
        Words of a list that mean this family; loose ones only where no others stand, and other families may share
        them.
    """

    name: str
    ratings_a: tuple[float, ...]
    breaking_capacity_a: float | None
    source: str
    words: tuple[str, ...]
    loose_words: tuple[str, ...]

    def __post_init__(self) -> None:
        if any(a >= b for a, b in zip(self.ratings_a, self.ratings_a[1:], strict=False)):
            raise ValueError(f"expected rising ratings of {self.name}")


@dataclass(frozen=True, slots=True)
class FuseReading:
    """What a text says of the family of a fuse.

    Parameters
    ----------
    family : str or None
        Name of the family; None where no words are known, or words mean several families.
    candidates : tuple of str
        Those several; empty otherwise.
    """

    family: str | None
    candidates: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FuseColour:
    """Colour of a fuse's body.

    Parameters
    ----------
    colour : str
        Usual name.
    also : tuple of str
        Other names that lists have for it.
    doubt : str
        Why another colour may be right as well; empty when there is no reason.
    source : str
        Publication, and whether it was read or is from memory.
    """

    colour: str
    also: tuple[str, ...]
    doubt: str
    source: str


@lru_cache(maxsize=4096)
def read_family(text: str) -> FuseReading:
    """Family of a fuse from the words of a list.

    The longest words decide; when words of equal length mean several families, or loose words as "bolt-down" do, those
    are the candidates.

    Parameters
    ----------
    text : str
        Cell with the type or style of a fuse.

    Raises
    ------
    FileUnreadableError
        When the shipped table is missing or damaged.
    """
    firm, loose = _books()
    found = firm.find(text)
    if not found:
        meant = {name for each in loose.find(text) for name in each.meaning}
    else:
        longest = max(each.length for each in found)
        meant = {each.meaning for each in found if each.length == longest}
    names = tuple(name for name in fuse_families() if name in meant)
    return FuseReading(names[0]) if len(names) == 1 else FuseReading(None, names)


def standard_ratings(family: str) -> tuple[float, ...]:
    """Ratings that a family is made in, rising, A; empty where the table has none. Errors as `fuse_family`."""
    return fuse_family(family).ratings_a


def colour(family: str, rating_a: float) -> str | None:
    """Usual colour of a fuse's body; None where the table has none. Errors as `fuse_family`."""
    found = fuse_colour(family, rating_a)
    return found.colour if found else None


def fuse_colour(family: str, rating_a: float) -> FuseColour | None:
    """Colour of a fuse's body with its other names and its source; as `colour`."""
    fuse_family(family)
    return _colours().get((family, rating_a))


def cold_ohm(family: str, rating_a: float) -> float | None:
    """Resistance of a fuse that carries next to nothing, Ω.

    The table's for its ratings, straight over the logarithms between two of them (3, 5 and 7.5 A of regular blades);
    None outside: it is not carried on. With it a drop measured across a fuse tells its current. A ValueError for
    an unknown family or a rating that is not above zero.
    """
    return _resistance(family, rating_a, 1)


def hot_ohm(family: str, rating_a: float) -> float | None:
    """Resistance of a fuse that carries its rated current, Ω: its drop there over the rating; as `cold_ohm`."""
    return _resistance(family, rating_a, 2)


def fuse_family(name: str) -> FuseFamily:
    """A family by name.

    Raises
    ------
    ValueError
        For a name that the table does not have.
    FileUnreadableError
        When the shipped table is missing or damaged.
    """
    found = fuse_families().get(name)
    if found is None:
        raise ValueError(f"'{name}' is no family of fuses; known are {', '.join(fuse_families())}")
    return found


@lru_cache(maxsize=1)
def fuse_families() -> Mapping[str, FuseFamily]:
    """Every family by name, in the order of the table.

    Raises
    ------
    FileUnreadableError
        When the shipped table is missing or damaged.
    """
    rows = read_table("fuse_families.csv", "fuse families", _read_family)
    return MappingProxyType({row.name: row for row in rows})


def _read_family(row: Mapping[str, str]) -> FuseFamily:
    return FuseFamily(
        row["family"],
        tuple(positive_number(each) for each in word_list(row["standard_ratings_a"])),
        number_or_none(row["breaking_capacity_a"]),
        row["source"],
        word_list(row["words"]),
        word_list(row["loose_words"]),
    )


@lru_cache(maxsize=1)
def _books() -> tuple[WordBook[str], WordBook[tuple[str, ...]]]:
    """Words of one family each, and loose words with all the families they may mean."""
    families = fuse_families().values()
    meant: dict[str, tuple[str, ...]] = {}
    for family in families:
        for word in family.loose_words:
            meant[word] = (*meant.get(word, ()), family.name)
    loose: dict[tuple[str, ...], list[str]] = {}
    for word, names in meant.items():
        loose.setdefault(names, []).append(word)
    return WordBook({family.name: family.words for family in families}), WordBook(loose)


@lru_cache(maxsize=1)
def _colours() -> dict[tuple[str, float], FuseColour]:
    table = rows_by_family(
        "fuse_colours.csv",
        "fuse colours",
        lambda row: (
            positive_number(row["rating_a"]),
            FuseColour(row["colour"], word_list(row["also"]), row["doubt"], row["source"]),
        ),
    )
    return {(family, rating_a): found for family, rows in table.items() for rating_a, found in rows}


@lru_cache(maxsize=1)
def _resistances() -> dict[str, tuple[tuple[float, float, float], ...]]:
    """By family: rating in A, cold and hot resistance in Ω, rising by rating."""
    table = rows_by_family("fuse_resistance.csv", "fuse resistances", _read_resistance)
    return {name: tuple(sorted(rows)) for name, rows in table.items()}


def _read_resistance(row: Mapping[str, str]) -> tuple[float, float, float]:
    rating_a = positive_number(row["rating_a"])
    hot = positive_number(row["drop_at_rating_mv"]) * 1e-3 / rating_a
    return rating_a, positive_number(row["cold_mohm"]) * 1e-3, hot


def _resistance(family: str, rating_a: float, column: int) -> float | None:
    check_rating(rating_a)
    fuse_family(family)
    rows = _resistances().get(family, ())
    above = bisect_right(rows, rating_a, key=lambda row: row[0])
    if above == 0:
        return None
    lower = rows[above - 1]
    if rating_a == lower[0]:
        return lower[column]
    if above == len(rows):
        return None
    upper = rows[above]
    return on_logarithms(lower[column], upper[column], math.log(rating_a / lower[0]) / math.log(upper[0] / lower[0]))


def rows_by_family(name: str, what: str, read_row: Callable[[Mapping[str, str]], _Row]) -> dict[str, list[_Row]]:
    """Rows of a table by the family they belong to, which must be one of `fuse_families`."""
    table: dict[str, list[_Row]] = {}
    for family, row in read_table(name, what, lambda cells: (fuse_family(cells["family"]).name, read_row(cells))):
        table.setdefault(family, []).append(row)
    return table


def check_rating(rating_a: float) -> None:
    """A ValueError for a rating that is not above zero, A."""
    if not (math.isfinite(rating_a) and rating_a > 0.0):
        raise ValueError(f"{rating_a:g} A is no rating of a fuse: give a number above zero")


def on_logarithms(lower: float | None, upper: float | None, part: float) -> float | None:
    """Straight over the logarithms; None where either end is open."""
    return None if lower is None or upper is None else math.exp(math.log(lower) * (1.0 - part) + math.log(upper) * part)
