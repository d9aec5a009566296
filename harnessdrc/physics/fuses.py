"""How long a fuse takes to open, what it lets through meanwhile, and its colour.

A standard gives two times at a few multiples of the rating: a fuse opens not before the shorter and not after the
longer. For the safety of a wire the longer counts, for a fuse that blows without need the shorter. Between the points
the standard promises no more than the nearer points do; as usual both times are drawn straight over the logarithms of
time and current. A real curve bends below that line, so the longer time is on the cautious side, the shorter is not.

Sources: ``rulesets/tables/fuse_times.csv``, ``fuse_families.csv``, ``fuse_colours.csv``, ``fuse_resistance.csv``; of
ISO 8820-3 the limits at 110 % and 135 % of regular blades and some colours were read, the other limits are from
memory, those of maxi and bolt-down fuses with medium confidence: each row says so. Times hold at about 23 °C; a fuse
in a hot bay opens earlier. Families without limits are known by name only: nothing is made up for them.
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
    "FuseLimit",
    "FuseReading",
    "clearing_time_s",
    "cold_ohm",
    "colour",
    "fuse_colour",
    "fuse_families",
    "fuse_family",
    "fuse_limits",
    "hot_ohm",
    "let_through_a2s",
    "read_family",
    "standard_ratings",
    "sure_to_hold_a",
    "sure_to_open_a",
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
class FuseLimit:
    """One point of the limits of a family.

    Parameters
    ----------
    multiple : float
        Current over rating.
    shortest_s : float
        It does not open before, s.
    longest_s : float or None
        It has opened after, s; None where it need not open at all.
    doubt : str
        Why the data sheet should confirm it; empty when there is no reason.
    source : str
        Publication, and whether it was read or is from memory.
    """

    multiple: float
    shortest_s: float
    longest_s: float | None
    doubt: str
    source: str


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


def clearing_time_s(family: str, rating_a: float, current_a: float) -> tuple[float | None, float | None]:
    """Shortest and longest time in which a fuse opens at a steady current, s.

    Parameters
    ----------
    family : str
        Name as in `fuse_families`.
    rating_a : float
        A, above zero.
    current_a : float
        A, from 0.

    Returns
    -------
    tuple of float or None
        Shortest: None where the table has none, that is below the first point, which the fuse holds for hours, and for
        a family without limits. Longest: None in these cases too, and wherever the fuse need not open at all. Between
        two points straight over the logarithms; above the last point both as there: the longest remains true, the
        shortest may be less.

    Raises
    ------
    ValueError
        For an unknown family, a rating that is not above zero, or a current that is negative or not a number.
    FileUnreadableError
        When the shipped table is missing or damaged.
    """
    limits = _checked(family, rating_a)
    if not (math.isfinite(current_a) and current_a >= 0.0):
        raise ValueError(f"{current_a:g} A is no current through a fuse: give zero or a positive number")
    multiple = current_a / rating_a
    above = bisect_right(limits, multiple, key=_multiple)
    if above == 0:
        return None, None
    lower = limits[above - 1]
    if above == len(limits) or multiple == lower.multiple:
        return lower.shortest_s, lower.longest_s
    upper = limits[above]
    part = math.log(multiple / lower.multiple) / math.log(upper.multiple / lower.multiple)
    return _between(lower.shortest_s, upper.shortest_s, part), _between(lower.longest_s, upper.longest_s, part)


def let_through_a2s(family: str, rating_a: float, current_a: float) -> float | None:
    """Most that a fuse lets through until it has opened, A²s: current squared times the longest time.

    Beyond the last point of the table it stays as there: the energy that melts the element does not rise with the
    current, since less and less heat leaves it meanwhile; what the arc adds at the voltage of a vehicle is left out.
    Above the family's breaking capacity the figure does not hold.

    Returns
    -------
    float or None
        None wherever the fuse need not open, and for a family without limits.

    Parameters and errors as `clearing_time_s`.
    """
    longest_s = clearing_time_s(family, rating_a, current_a)[1]
    if longest_s is None:
        return None
    return min(current_a, fuse_limits(family)[-1].multiple * rating_a) ** 2 * longest_s


def sure_to_open_a(family: str, rating_a: float) -> float | None:
    """Smallest current at which a fuse opens for sure, A; None for a family without limits.

    The first point with a longest time: 1.35 times the rating of blades. Errors as `clearing_time_s`.
    """
    return next((each.multiple * rating_a for each in _checked(family, rating_a) if each.longest_s is not None), None)


def sure_to_hold_a(family: str, rating_a: float) -> float | None:
    """Current that a new fuse carries for hours at room temperature, A; None for a family without limits.

    The first point: 1.10 times the rating of blades, for 100 h. This is no continuous load to plan with: that is 75 to
    80 % of the rating, less in heat. Errors as `clearing_time_s`.
    """
    limits = _checked(family, rating_a)
    return limits[0].multiple * rating_a if limits else None


def fuse_limits(family: str) -> tuple[FuseLimit, ...]:
    """Points of a family by rising current; empty where the table has none.

    Raises
    ------
    ValueError
        For an unknown family.
    FileUnreadableError
        When the shipped table is missing or damaged.
    """
    fuse_family(family)
    return _limits().get(family, ())


def standard_ratings(family: str) -> tuple[float, ...]:
    """Ratings that a family is made in, rising, A; empty where the table has none. Errors as `fuse_limits`."""
    return fuse_family(family).ratings_a


def colour(family: str, rating_a: float) -> str | None:
    """Usual colour of a fuse's body; None where the table has none. Errors as `fuse_limits`."""
    found = fuse_colour(family, rating_a)
    return found.colour if found else None


def fuse_colour(family: str, rating_a: float) -> FuseColour | None:
    """Colour of a fuse's body with its other names and its source; as `colour`."""
    fuse_family(family)
    return _colours().get((family, rating_a))


def cold_ohm(family: str, rating_a: float) -> float | None:
    """Resistance of a fuse that carries next to nothing, Ω.

    The table's for its ratings, straight over the logarithms between two of them (3, 5 and 7.5 A of regular blades);
    None outside: it is not carried on. With it a drop measured across a fuse tells its current. Errors as
    `clearing_time_s`.
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
def _limits() -> dict[str, tuple[FuseLimit, ...]]:
    table = _by_family("fuse_times.csv", "limits of fuses", _read_limit)
    return {name: tuple(sorted(rows, key=_multiple)) for name, rows in table.items()}


def _read_limit(row: Mapping[str, str]) -> FuseLimit:
    longest_s = number_or_none(row["longest_s"])
    shortest_s = positive_number(row["shortest_s"])
    if longest_s is not None and longest_s < shortest_s:
        raise ValueError(f"{row['family']} at {row['percent_of_rating']} %: longest below shortest time")
    multiple = positive_number(row["percent_of_rating"]) / 100.0
    return FuseLimit(multiple, shortest_s, longest_s, row["doubt"], row["source"])


@lru_cache(maxsize=1)
def _colours() -> dict[tuple[str, float], FuseColour]:
    table = _by_family(
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
    table = _by_family("fuse_resistance.csv", "fuse resistances", _read_resistance)
    return {name: tuple(sorted(rows)) for name, rows in table.items()}


def _read_resistance(row: Mapping[str, str]) -> tuple[float, float, float]:
    rating_a = positive_number(row["rating_a"])
    hot = positive_number(row["drop_at_rating_mv"]) * 1e-3 / rating_a
    return rating_a, positive_number(row["cold_mohm"]) * 1e-3, hot


def _resistance(family: str, rating_a: float, column: int) -> float | None:
    _checked(family, rating_a)
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
    return _between(lower[column], upper[column], math.log(rating_a / lower[0]) / math.log(upper[0] / lower[0]))


def _by_family(name: str, what: str, read_row: Callable[[Mapping[str, str]], _Row]) -> dict[str, list[_Row]]:
    """Rows of a table by the family they belong to, which must be one of `fuse_families`."""
    table: dict[str, list[_Row]] = {}
    for family, row in read_table(name, what, lambda cells: (fuse_family(cells["family"]).name, read_row(cells))):
        table.setdefault(family, []).append(row)
    return table


def _checked(family: str, rating_a: float) -> tuple[FuseLimit, ...]:
    if not (math.isfinite(rating_a) and rating_a > 0.0):
        raise ValueError(f"{rating_a:g} A is no rating of a fuse: give a number above zero")
    return fuse_limits(family)


def _multiple(limit: FuseLimit) -> float:
    return limit.multiple


def _between(lower: float | None, upper: float | None, part: float) -> float | None:
    """Straight over the logarithms; None where either end is open."""
    return None if lower is None or upper is None else math.exp(math.log(lower) * (1.0 - part) + math.log(upper) * part)
