"""Ground offsets against their limits, and their shares as whole figures that add up: for every renderer."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from harnessdrc.results import OffsetLine, ShareLine

__all__ = [
    "OTHERS",
    "Part",
    "error_text",
    "limit_on_the_side_of",
    "limits_text",
    "mohm_text",
    "mv_decimals",
    "mv_text",
    "range_text",
    "share_of_limit",
    "shares_of_limit",
    "shares_text",
    "worst_shares",
]

OTHERS = "others"
_FINE_BELOW_MV = 20.0
"""Offsets below this are told with a decimal."""
_LEAST_ERROR = 0.05
"""Errors of a reading, K or % of span, that would be told as nothing."""


class Part(NamedTuple):
    """A share as it is told: a whole number of steps of the last decimal shown."""

    source: str
    mv: float


def limit_on_the_side_of(line: OffsetLine, mv: float) -> float | None:
    """The limit on the side of an offset: the high one for zero and above; None where there is none."""
    return line.low_limit_mv if mv < 0 else line.high_limit_mv


def share_of_limit(line: OffsetLine, mv: float) -> float | None:
    """An offset over the limit on its side: above 1 it is crossed; 0 on a side where it does no harm.

    None for a victim without any limit, or an offset that is no number.
    """
    if math.isnan(mv) or (line.low_limit_mv is None and line.high_limit_mv is None):
        return None
    limit = limit_on_the_side_of(line, mv)
    if limit is None or mv == 0:
        return 0.0
    return mv / limit if limit else math.inf


def shares_of_limit(lines: Sequence[OffsetLine], mv: NDArray[np.float64]) -> NDArray[np.float64]:
    """The same of many victims in every state.

    Parameters
    ----------
    lines : sequence of OffsetLine
        The victims, for their limits.
    mv : ndarray, shape (victims, states)
        Their offsets, mV.

    Returns
    -------
    ndarray, shape (victims, states)
        ``nan`` where there is no limit, or the offset is no number.
    """
    nan = math.nan
    high = np.array([nan if one.high_limit_mv is None else one.high_limit_mv for one in lines])[:, None]
    low = np.array([nan if one.low_limit_mv is None else one.low_limit_mv for one in lines])[:, None]
    limits = np.where(mv < 0, low, high)
    with np.errstate(divide="ignore", invalid="ignore"):
        shares: NDArray[np.float64] = np.where(limits == 0, np.inf, mv / limits)
    harmless = ((mv == 0) | np.isnan(limits)) & ~np.isnan(mv)
    shares = np.where(harmless, 0.0, shares)
    return np.where((np.isnan(high) & np.isnan(low)) | np.isnan(mv), nan, shares)


def worst_shares(lines: Sequence[OffsetLine]) -> NDArray[np.float64]:
    """Greatest share of limit of each victim, over all states, joints as new and aged.

    Returns
    -------
    ndarray, shape (victims,)
        ``nan`` where a victim has no limit, or no offset that is a number.
    """
    greatest = np.full(len(lines), np.nan)
    if lines:
        for take in (_peak, _aged_peak, _average, _aged_average):
            values = np.array([take(one) for one in lines], dtype=np.float64).reshape(len(lines), -1)
            greatest = np.fmax(greatest, np.fmax.reduce(shares_of_limit(lines, values), axis=1, initial=np.nan))
    return greatest


def _peak(line: OffsetLine) -> tuple[float, ...]:
    return line.peak_mv


def _aged_peak(line: OffsetLine) -> tuple[float, ...]:
    return line.aged_peak_mv


def _average(line: OffsetLine) -> tuple[float, ...]:
    return line.average_mv


def _aged_average(line: OffsetLine) -> tuple[float, ...]:
    return line.aged_average_mv


def mv_decimals(mv: float) -> int:
    """Decimals that an offset is told with."""
    return 1 if abs(mv) < _FINE_BELOW_MV else 0


def mv_text(mv: float, decimals: int | None = None) -> str:
    """An offset without its unit: ``476``, ``-7.5``; thousands grouped."""
    if math.isnan(mv):
        return "not known"
    if math.isinf(mv):
        return "no end" if mv > 0 else "-no end"
    text = f"{mv:,.{mv_decimals(mv) if decimals is None else decimals}f}"
    return text.removeprefix("-") if not text.strip("-0.,") else text


def mohm_text(mohm: float) -> str:
    """A resistance without its unit, in two digits or three: ``0.53``, ``4.8``, ``12.3``, ``250``."""
    return f"{mohm:,.{0 if mohm >= 100 else 1 if mohm >= 1 else 2}f}"


def limits_text(line: OffsetLine) -> str:
    """Both limits in words: ``limits -400 and 700 mV``, ``limit ±53 mV``."""
    low = None if line.low_limit_mv is None else mv_text(line.low_limit_mv)
    high = None if line.high_limit_mv is None else mv_text(line.high_limit_mv)
    if low is not None and high is not None:
        return f"limit ±{high} mV" if low == f"-{high}" else f"limits {low} and {high} mV"
    only = low if high is None else high
    return "no limit given" if only is None else f"limit {only} mV"


def range_text(low: float | None, high: float | None, unit: str) -> str:
    """A range in words: ``between 120 and 810 mV``; empty where there is none."""
    unit = f" {unit}" if unit else ""
    if low is not None and high is not None:
        return f"between {low:.4g} and {high:.4g}{unit}"
    if low is not None:
        return f"at least {low:.4g}{unit}"
    return f"at most {high:.4g}{unit}" if high is not None else ""


def error_text(line: OffsetLine) -> str:
    """What the offset makes of a reading: ``+2.1 K``, ``sensor fault``; empty for next to nothing or not known."""
    if line.error is None or math.isnan(line.error) or abs(line.error) < _LEAST_ERROR:
        return ""
    if math.isinf(line.error):
        return "sensor fault"
    return f"{line.error:+.{1 if abs(line.error) < 10 else 0}f} {line.error_unit}".rstrip()


def _parts(shares: Sequence[ShareLine], most: int, decimals: int) -> tuple[list[Part], float]:
    """Shares in whole steps that add to the whole, and the whole; what is not told by name is one part."""
    step = 10.0**-decimals
    told: list[tuple[str, float]] = []
    rest = 0.0
    for share in shares:
        if share.source != "everything else" and len(told) < most and abs(share.mv) >= step / 2:
            told.append((share.source, share.mv / step))
        else:
            rest += share.mv / step
    if abs(rest) >= 0.5:
        told.append((OTHERS, rest))
    total = round(math.fsum(share.mv for share in shares) / step)
    # largest remainders: each figure is rounded down first, and those that lose most are given it back
    steps = [math.floor(value) for _, value in told]
    losing = sorted(range(len(told)), key=lambda at: steps[at] - told[at][1])
    for at in losing[: max(0, total - sum(steps))]:
        steps[at] += 1
    return [Part(name, value * step) for (name, _), value in zip(told, steps, strict=True) if value], total * step


def shares_text(shares: Sequence[ShareLine], most: int = 5) -> str:
    """Shares in words that add up: ``charge 359 mV, FAN 60, PUMP 42, own 12 = 473 mV``; empty for none.

    Parameters
    ----------
    shares : sequence of ShareLine
        Of one offset, the greatest first.
    most : int
        Told by name at the most; the others as one.
    """
    finite = [share for share in shares if math.isfinite(share.mv)]
    if not finite or len(finite) < len(shares):
        return ""
    decimals = mv_decimals(math.fsum(share.mv for share in finite))
    parts, total = _parts(finite, most, decimals)
    if not parts:
        return ""
    texts = [f"{part.source} {mv_text(part.mv, decimals)}{'' if at else ' mV'}" for at, part in enumerate(parts)]
    return f"{', '.join(texts)} = {mv_text(total, decimals)} mV"
