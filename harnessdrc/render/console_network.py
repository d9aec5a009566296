"""The solved network on the terminal: ground offsets, the star point, and what was not solved."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from rich.console import Console
from rich.text import Text

from harnessdrc.render.lines import counted, say, visible
from harnessdrc.render.names import names_text
from harnessdrc.render.offsets import (
    error_text,
    limits_text,
    mohm_text,
    mv_decimals,
    mv_text,
    share_of_limit,
    shares_text,
    worst_shares,
)
from harnessdrc.results import NetworkOutcome, OffsetLine, StarLine

__all__ = ["print_network"]

_TOLD = 6
"""Victims, or groups of alike ones, told each."""
_WORTH_TELLING = 0.5
"""Share of its limit from which on a victim is told; the first one is told in any case."""
_NEARLY = 0.05
"""Two offsets are alike within this part of the greater one."""
_NEARLY_MV = 2.0
_SENTENCES = 5
_ACROSS = 4
_STARS = 5
_STAR_WIDTHS = (60, 10, 9, 16, 14, 9)
"""Most characters of each column; the first one shrinks to the room there is."""
_MOHM_WORTH_TELLING = 250.0
"""A joint that may rise by more is no weak one: corrosion seldom makes a tenth of an ohm."""


class _Alike(NamedTuple):
    """Victims told as one: the same ground, state and limits, nearly the same offset. The worst stands first."""

    lines: tuple[OffsetLine, ...]

    @property
    def first(self) -> OffsetLine:
        return self.lines[0]


def print_network(console: Console, network: NetworkOutcome) -> None:
    """Print what the solved network says; nothing for an empty one.

    Parameters
    ----------
    console : rich.console.Console
        Where to.
    network : NetworkOutcome
        What was solved.
    """
    if network.offsets:
        _print_offsets(console, network)
        say(console)
    if network.stars:
        _print_stars(console, network.stars)
        say(console)
    if network.not_solved:
        _print_not_solved(console, network.not_solved)
        say(console)


# --- offsets ------------------------------------------------------------------------------------------


def _print_offsets(console: Console, network: NetworkOutcome) -> None:
    lines = network.offsets
    shares = worst_shares(lines)
    worth = [line for at, line in enumerate(lines) if not at or shares[at] >= _WORTH_TELLING]
    groups = _grouped(worth)
    title = f"GROUND OFFSETS: {counted(len(lines), 'ground')} in {counted(len(network.states), 'state')}"
    say(console, Text(title, style="bold blue") + Text("  (worst instant, joints new → aged)", style="dim"))
    for group in groups:
        _print_group(console, group, network)
    shown = sum(len(group.lines) for group in groups)
    if shown < len(lines):
        say(console, Text(_rest_text(lines, shares, groups), style="dim"), 1)


def _grouped(lines: Sequence[OffsetLine]) -> list[_Alike]:
    """The first groups of victims that differ in nothing worth a line of their own, in the order given."""
    groups: list[list[OffsetLine]] = []
    by_key: dict[tuple[object, ...], list[list[OffsetLine]]] = {}
    for line in lines:
        key = (line.what, line.reference, line.worst, line.low_limit_mv, line.high_limit_mv)
        beside = by_key.setdefault(key, [])
        group = next((group for group in beside if _alike(group[0], line)), None)
        if group is not None:
            group.append(line)
        elif len(groups) < _TOLD:
            beside.append([line])
            groups.append(beside[-1])
    return [_Alike(tuple(group)) for group in groups]


def _alike(first: OffsetLine, line: OffsetLine) -> bool:
    return all(
        abs(a - b) <= max(_NEARLY_MV, _NEARLY * abs(a))
        for a, b in (
            (first.peak_mv[first.worst], line.peak_mv[line.worst]),
            (first.aged_peak_mv[first.worst], line.aged_peak_mv[line.worst]),
        )
    )


def _print_group(console: Console, group: _Alike, network: NetworkOutcome) -> None:
    line = group.first
    state = network.states[line.worst].name
    new, aged = line.peak_mv[line.worst], line.aged_peak_mv[line.worst]
    word, style = _standing(line)
    decimals = min(mv_decimals(new), mv_decimals(aged))
    head = Text()
    head.append(names_text([one.victim[1] for one in group.lines]), style="bold")
    head.append(f", {line.what}{f', against {line.reference}' if line.reference else ''}")
    say(console, head, 1)
    figures = Text(f"{state}: {'up to ' if len(group.lines) > 1 else ''}")
    figures.append(f"{mv_text(new, decimals)} → {mv_text(aged, decimals)} mV", style=style)
    figures.append(f"{_range(line)}, {limits_text(line)}")
    if word:
        figures.append(f": {word}", style=style)
    error = error_text(line)
    if error:
        figures.append("; reads as a sensor fault" if error == "sensor fault" else f"; reading off by {error}")
    say(console, figures, 4)
    shares = shares_text(line.shares[line.worst]) if line.worst < len(line.shares) else ""
    if shares:
        say(console, Text(f"at {line.victim[1]}: {shares}" if len(group.lines) > 1 else shares), 4)
    across = shares_text(line.across, _ACROSS)
    if across:
        say(console, Text(f"falls across {across}"), 4)
    joint = _weakest(line, state)
    if joint:
        say(console, Text(joint), 4)


def _standing(line: OffsetLine) -> tuple[str, str]:
    """How the worst instant stands to its limit, and the style of that."""
    new = share_of_limit(line, line.peak_mv[line.worst])
    aged = share_of_limit(line, line.aged_peak_mv[line.worst])
    if new is not None and new >= 1:
        return "over", "bold red"
    if aged is not None and aged >= 1:
        return "over when aged", "bold yellow"
    share = max((one for one in (new, aged) if one is not None), default=None)
    return ("" if share is None else f"{_per_cent(share)} of it"), ""


def _per_cent(share: float) -> str:
    if math.isinf(share):
        return "any"
    return f"{share * 100:,.0f} %" if share >= 0.1 else f"{share * 100:.2g} %"


def _range(line: OffsetLine) -> str:
    if line.low_mv is None or line.high_mv is None:
        return ""
    low, high = sorted((line.low_mv, line.high_mv), key=abs)
    return f" ({mv_text(low)} to {mv_text(high)} while data is lacking)"


def _weakest(line: OffsetLine, state: str) -> str:
    """The joint that carries the offset over its limit first."""
    if not line.reserves:
        return ""
    joint = line.reserves[0]
    if not 0 < joint.mohm <= _MOHM_WORTH_TELLING:
        return ""
    where = "" if joint.state == state else f" in {joint.state}"
    return f"crosses the limit{where} when {joint.joint} rises by {mohm_text(joint.mohm)} mΩ"


def _rest_text(lines: Sequence[OffsetLine], shares: NDArray[np.float64], groups: Sequence[_Alike]) -> str:
    """What the grounds not told one by one come to."""
    told = {id(line) for group in groups for line in group.lines}
    rest = np.array([share for line, share in zip(lines, shares.tolist(), strict=True) if id(line) not in told])
    with_limit = rest[~np.isnan(rest)]
    parts = []
    over = int((with_limit >= 1).sum())
    below = with_limit[with_limit < 1]
    if over:
        parts.append(f"{over:,} more {'is' if over == 1 else 'are'} over the limit, new or aged")
    if len(below):
        others = "the other one stays" if len(below) == 1 else f"the other {len(below):,} stay"
        most = math.ceil(float(below.max()) * 100) or 1
        parts.append(f"{others} below {most} % of the limit, aged, in every state")
    if len(rest) > len(with_limit):
        lacking = len(rest) - len(with_limit)
        parts.append(f"{lacking:,} {'has' if lacking == 1 else 'have'} no limit")
    text = "; ".join(parts)
    return f"{text[:1].upper()}{text[1:]} (sheet Ground offsets)."


# --- star point ---------------------------------------------------------------------------------------


def _print_stars(console: Console, stars: Sequence[StarLine]) -> None:
    say(
        console,
        Text("STAR POINT", style="bold blue")
        + Text("  (an analysis, not a rule: every candidate solved again)", style="dim"),
    )
    shown = list(stars[:_STARS])
    today = next((star for star in stars if star.today), None)
    if today is not None and today not in shown:
        shown[-1] = today
    rows = [("candidate", "worst", "of limit", "at", "in state", "HV return")]
    rows += [
        (
            ("today: " if star.today else "") + visible(star.earth_point),
            f"{mv_text(star.worst_mv)} mV",
            _per_cent(star.worst_share_of_limit) if not math.isnan(star.worst_share_of_limit) else "-",
            visible(star.worst_victim),
            visible(star.worst_state),
            _length(star),
        )
        for star in shown
    ]
    widths = [min(most, max(len(row[at]) for row in rows)) for at, most in enumerate(_STAR_WIDTHS)]
    room = max(console.width, 70) - 2 - sum(widths[1:]) - 2 * (len(widths) - 1)
    widths[0] = min(widths[0], room)
    for number, row in enumerate(rows):
        cells = [
            _fitted(text, width).rjust(width) if at in (1, 2, 5) else _fitted(text, width).ljust(width)
            for at, (text, width) in enumerate(zip(row, widths, strict=True))
        ]
        style = "dim" if not number else "bold" if shown[number - 1].today else ""
        say(console, Text("  ".join(cells).rstrip(), style=style), 1)
    if len(stars) > len(shown):
        say(console, Text(f"… and {len(stars) - len(shown):,} more (sheet Ground offsets)", style="dim"), 1)
    lacking = list(dict.fromkeys(what for star in shown for what in star.lacking))
    if lacking:
        more = f" and {len(lacking) - 3:,} more" if len(lacking) > 3 else ""
        say(console, Text(f"HV return needs: {', '.join(lacking[:3])}{more}", style="dim"), 1)


def _length(star: StarLine) -> str:
    length_m = star.high_voltage_return_m
    return f"{length_m:.2f} m" if length_m is not None and math.isfinite(length_m) else "-"


def _fitted(text: str, width: int) -> str:
    return text if len(text) <= width else text[: width - 1] + "…"


# --- not solved ---------------------------------------------------------------------------------------


def _print_not_solved(console: Console, sentences: Sequence[str]) -> None:
    title = Text(f"NOT SOLVED: {len(sentences):,}", style="bold magenta")
    say(console, title + Text("  (left out of the network)", style="dim"))
    for sentence in sentences[:_SENTENCES]:
        say(console, sentence, 1)
    if len(sentences) > _SENTENCES:
        text = f"… and {len(sentences) - _SENTENCES:,} more (sheet Ground offsets)"
        say(console, Text(text, style="dim"), 1)
