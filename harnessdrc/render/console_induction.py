"""Ignition loops and trigger margins on the terminal, in about a dozen lines."""

from __future__ import annotations

import math
from collections.abc import Sequence

from rich.console import Console
from rich.text import Text

from harnessdrc.render.induction import (
    FIRM,
    HIGH_VOLTAGE,
    LOOK_FOR,
    area_text,
    db_text,
    figure_text,
    has_margin,
    margin_text,
    needs_text,
    pickup_text,
    settings_text,
    standing_of,
    times_text,
    way_text,
    worst_of,
)
from harnessdrc.render.lines import counted, say
from harnessdrc.render.names import names_text
from harnessdrc.results import InductionOutcome, LoopLine, TriggerLine

__all__ = ["print_induction"]

_SHEET = "sheet Loops and triggers"
_GROUPS = 4
_SENSORS = 4
_SENTENCES = 2
_NEARLY = 0.05
"""Two loops are alike within this part of the greater one."""
_COUNTED = {
    "primary": ("primary loop", ""),
    "injector": ("injector loop", ""),
    "trigger pair": ("trigger pair", ""),
}


def print_induction(console: Console, induction: InductionOutcome) -> None:
    """Print loops and margins; nothing for an empty outcome.

    Parameters
    ----------
    console : rich.console.Console
        Where to.
    induction : InductionOutcome
        What was worked out.
    """
    if induction.loops or (induction.not_worked_out and not induction.triggers):
        _print_loops(console, induction.loops)
    if induction.triggers:
        if induction.loops:
            say(console)
        _print_triggers(console, induction.triggers)
    sentences = induction.not_worked_out
    for sentence in sentences[:_SENTENCES]:
        say(console, Text(sentence, style="dim"), 1)
    if len(sentences) > _SENTENCES:
        say(console, Text(f"… and {len(sentences) - _SENTENCES:,} more ({_SHEET})", style="dim"), 1)
    if induction.loops or induction.triggers:
        say(console, Text(f"{FIRM}{f'; look {LOOK_FOR}' if induction.triggers else ''}.", style="dim"), 1)
    if induction.loops or induction.triggers or sentences:
        say(console)


# --- loops --------------------------------------------------------------------------------------------


def _print_loops(console: Console, loops: Sequence[LoopLine]) -> None:
    returns = [line for line in loops if line.what == HIGH_VOLTAGE]
    title = Text("IGNITION LOOPS", style="bold blue")
    if returns:
        title.append(f": {counted(len(returns), HIGH_VOLTAGE)}")
        title.append("  (length round the loop, its area, and that against the best layout)", style="dim")
    say(console, title)
    groups = _grouped(returns)
    for at, group in enumerate(groups):
        _print_returns(console, group)
        if not at:
            _print_way(console, group[0])
    shown = {id(line) for group in groups for line in group}
    rest = [line for line in returns if id(line) not in shown]
    if rest:
        say(console, Text(f"{len(rest):,} more: {_summary(rest)} ({_SHEET})", style="dim"), 1)
    by_kind: dict[str, list[LoopLine]] = {}
    for line in loops:
        if line.what != HIGH_VOLTAGE:
            by_kind.setdefault(line.what, []).append(line)
    for what, lines in by_kind.items():
        number = counted(len(lines), *_COUNTED.get(what, (f"loop: {what}", f"loops: {what}")))
        say(console, Text(f"{number}: {_summary(lines)}", style="dim"), 1)
    bounds = [line for line in loops if line.bound and line.area_cm2 is not None]
    if bounds:
        needs = needs_text((name for line in bounds for name in line.lacking), 2)
        text = f"At most: no loop of its length has more{f'; the area itself {needs}' if needs else ''}."
        say(console, Text(text, style="dim"), 1)


def _grouped(returns: Sequence[LoopLine]) -> list[list[LoopLine]]:
    """The first groups of coils that differ in nothing worth a line of their own, in the order given."""
    groups: list[list[LoopLine]] = []
    for line in returns:
        group = next((one for one in groups if _alike(one[0], line)), None)
        if group is not None:
            group.append(line)
        elif len(groups) < _GROUPS:
            groups.append([line])
    return groups


def _alike(first: LoopLine, line: LoopLine) -> bool:
    if first.bound != line.bound:
        return False
    figures = ((first.length_m, line.length_m), (first.area_cm2, line.area_cm2), (first.area_ratio, line.area_ratio))
    for one, other in figures:
        if (one is None) != (other is None):
            return False
        if one is not None and other is not None and not (one == other or abs(one - other) <= _NEARLY * abs(one)):
            return False
    return True


def _figures(line: LoopLine) -> list[str]:
    """Length and area in words; what is lacking where they are not known."""
    parts = []
    if line.length_m is not None and math.isfinite(line.length_m):
        parts.append(f"{line.length_m:.2f} m")
    area = area_text(line)
    if area:
        parts.append(area)
    return parts or ["length not known"]


def _print_returns(console: Console, group: Sequence[LoopLine]) -> None:
    line = group[0]
    text = Text()
    text.append(names_text([one.subject[1] for one in group]), style="bold")
    differ = len({f"{one.length_m:.2f}" for one in group if one.length_m is not None}) > 1
    text.append(f": {'up to ' if differ else ''}{', '.join(_figures(line))}")
    times = times_text(line.area_ratio, line.bound)
    if times:
        text.append(", ")
        text.append(times)
    needs = needs_text(name for one in group if one.length_m is None for name in one.lacking)
    if needs:
        text.append(f"; {needs}")
    say(console, text, 1)


def _print_way(console: Console, line: LoopLine) -> None:
    if line.way:
        notes = "".join(f"; {note.rstrip('.')}" for note in line.notes[:2])
        say(console, f"way of {line.subject[1]}: {way_text(line.way, shortened=True)}{notes}", 4)


def _summary(lines: Sequence[LoopLine]) -> str:
    """Many loops of a kind in a few words."""
    lengths = [one.length_m for one in lines if one.length_m is not None and math.isfinite(one.length_m)]
    parts = []
    if lengths:
        least, most = f"{min(lengths):.2f}", f"{max(lengths):.2f}"
        parts.append(f"{most} m" if least == most else f"{least} to {most} m")
    areas = [one for one in lines if one.area_cm2 is not None and math.isfinite(one.area_cm2)]
    if areas:
        largest = max(areas, key=lambda one: one.area_cm2 or 0.0)
        text = area_text(largest)
        alike = len({area_text(one) for one in areas}) == 1
        parts.append(text if alike or text.startswith("at most") else f"up to {text}")
    ratios = [one for one in lines if one.area_ratio is not None and not math.isnan(one.area_ratio)]
    if ratios:
        worst = max(ratios, key=lambda one: one.area_ratio or 0.0)
        where = f" ({worst.subject[1]})" if len(lines) > 1 and (worst.area_ratio or 0) > 1.05 else ""
        parts.append(f"{times_text(worst.area_ratio, worst.bound or bool(where))}{where}")
    text = ", ".join(parts)
    without = [one for one in lines if one.length_m is None]
    needs = needs_text((name for one in without for name in one.lacking), 2)
    if needs:
        text += ("; " if text else "") + (f"{len(without):,} of them {needs}" if len(without) < len(lines) else needs)
    return text or "length not known"


# --- triggers -----------------------------------------------------------------------------------------


def _print_triggers(console: Console, triggers: Sequence[TriggerLine]) -> None:
    known = [line for line in triggers if has_margin(line)]
    title = Text("TRIGGER MARGIN", style="bold blue")
    say(console, title + Text("  (signal over what is induced, at the worst speed; range in brackets)", style="dim"))
    for line in known[:_SENSORS]:
        _print_trigger(console, line)
    rest = known[_SENSORS:]
    if rest:
        below = sum(1 for line in rest if standing_of(line) == "below")
        text = f"{counted(len(rest), 'more sensor')}, {below:,} of them below the limit ({_SHEET})"
        say(console, Text(text, style="dim"), 1)
    unknown = [line for line in triggers if not has_margin(line)]
    if unknown:
        needs = needs_text(name for line in unknown for name in line.lacking)
        names = names_text([line.subject[1] for line in unknown])
        say(console, Text(f"{names}: no margin worked out{f'; {needs}' if needs else ''}", style="magenta"), 1)


_STANDING = {
    "below": ("below it", "bold red"),
    "within": ("below it at the end of the range", "bold yellow"),
    "": ("above it", ""),
}


def _print_trigger(console: Console, line: TriggerLine) -> None:
    at = worst_of(line)
    if at is None:
        return
    word, style = _STANDING[standing_of(line)]
    text = Text()
    text.append(line.subject[1], style="bold")
    text.append(f", {line.sensor}: ")
    text.append(margin_text(line), style=style)
    text.append(f" at {line.rpm[at]:,.0f} 1/min")
    if line.limit_db is not None:
        text.append(f", limit {db_text(line.limit_db)} dB: ")
        text.append(word, style=style)
    text.append(f"; noise {figure_text(line.noise_mv[at])} mV (estimate)")
    if line.pickups:
        text.append(f", mostly {pickup_text(line.pickups[0])}")
    say(console, text, 1)
    settings = settings_text(line)
    if settings:
        say(console, settings, 4)
