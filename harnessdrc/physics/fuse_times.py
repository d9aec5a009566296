"""How long a fuse takes to open, and what it lets through meanwhile.

A standard gives two times at a few multiples of the rating: a fuse opens not before the shorter and not after the
longer. For the safety of a wire the longer counts, for a fuse that blows without need the shorter. Between the points
the standard promises no more than the nearer points do; as usual both times are drawn straight over the logarithms of
time and current. A real curve bends below that line, so the longer time is on the cautious side, the shorter is not.

Source: ``rulesets/tables/fuse_times.csv``; of ISO 8820-3 the limits at 110 % and 135 % of regular blades were read, the
other limits are from memory, those of maxi and bolt-down fuses with medium confidence: each row says so. Times hold at
about 23 °C; a fuse in a hot bay opens earlier. Families without limits are known by name only: nothing is made up for
them.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from harnessdrc.physics.fuses import check_rating, fuse_family, on_logarithms, rows_by_family
from harnessdrc.physics.shipped_tables import number_or_none, positive_number

__all__ = ["FuseLimit", "clearing_time_s", "fuse_limits", "let_through_a2s", "sure_to_hold_a", "sure_to_open_a"]


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
    shortest_s = on_logarithms(lower.shortest_s, upper.shortest_s, part)
    return shortest_s, on_logarithms(lower.longest_s, upper.longest_s, part)


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


@lru_cache(maxsize=1)
def _limits() -> dict[str, tuple[FuseLimit, ...]]:
    table = rows_by_family("fuse_times.csv", "limits of fuses", _read_limit)
    return {name: tuple(sorted(rows, key=_multiple)) for name, rows in table.items()}


def _read_limit(row: Mapping[str, str]) -> FuseLimit:
    longest_s = number_or_none(row["longest_s"])
    shortest_s = positive_number(row["shortest_s"])
    if longest_s is not None and longest_s < shortest_s:
        raise ValueError(f"{row['family']} at {row['percent_of_rating']} %: longest below shortest time")
    multiple = positive_number(row["percent_of_rating"]) / 100.0
    return FuseLimit(multiple, shortest_s, longest_s, row["doubt"], row["source"])


def _checked(family: str, rating_a: float) -> tuple[FuseLimit, ...]:
    check_rating(rating_a)
    return fuse_limits(family)


def _multiple(limit: FuseLimit) -> float:
    return limit.multiple
