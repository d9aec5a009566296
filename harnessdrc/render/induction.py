"""Loops and trigger margins in words: for every renderer."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Sequence

from harnessdrc.render.names import names_text
from harnessdrc.results import InductionOutcome, LoopLine, PickupLine, SettingLine, TriggerLine

__all__ = [
    "FIRM",
    "HIGH_VOLTAGE",
    "LOOK_FOR",
    "NO_THRESHOLD",
    "area_text",
    "db_text",
    "drawable",
    "figure_text",
    "folded",
    "has_induction",
    "has_margin",
    "lacking_text",
    "leaves_margin",
    "margin_text",
    "needs_text",
    "order_of_margin",
    "pickup_ratio",
    "pickup_text",
    "setting_at_worst",
    "settings_text",
    "standing_of",
    "times_text",
    "way_text",
    "window_text",
    "worst_of",
]

HIGH_VOLTAGE = "high-voltage return"
"""The loop of a coil that its spark current closes."""

FIRM = (
    "The ratio against the best layout is firm; millivolts and decibels are an estimate with its range; "
    "the oscilloscope on the bench decides"
)
LOOK_FOR = (
    "at the controller's pins, cranking first, for a spike of more than the threshold at the moment of each spark, "
    "and for teeth missing or added"
)
NO_THRESHOLD = "no threshold leaves margin"
_LACKING = 8
_NUMBERS = re.compile("[0-9]+")
_AS_GOOD = 1.05
"""A ratio up to here is as good as the best layout."""
_WAY_ENDS = (6, 4)


def has_induction(outcome: InductionOutcome) -> bool:
    """Whether there is anything to show."""
    return bool(outcome.loops or outcome.triggers or outcome.not_worked_out)


# --- numbers ------------------------------------------------------------------------------------------


def figure_text(value: float, digits: int = 2) -> str:
    """An estimate in at most so many digits, thousands grouped: ``0.54``, ``9``, ``61``, ``1,500``."""
    if math.isnan(value):
        return "not known"
    if math.isinf(value):
        return "no end" if value > 0 else "-no end"
    if value == 0:
        return "0"
    magnitude = math.floor(math.log10(abs(value)))
    rounded = round(value, digits - 1 - magnitude)
    if rounded == 0:  # too small for the rounding of floats
        return "0"
    magnitude = math.floor(math.log10(abs(rounded)))
    if not -6 <= magnitude < 15:
        return f"{value:.{digits - 1}e}"
    return _bare(f"{rounded:,.{max(0, digits - 1 - magnitude)}f}")


def _bare(text: str) -> str:
    """A number without noughts that say nothing behind its point."""
    return text.rstrip("0").rstrip(".") if "." in text else text


def db_text(db: float) -> str:
    """A margin without its unit: ``24``, ``9.5``, ``-12``."""
    if math.isnan(db):
        return "not known"
    if math.isinf(db):
        return "no end" if db > 0 else "-no end"
    decimals = 0 if abs(db) >= 10 else 1
    text = f"{db:,.{decimals}f}" if abs(db) < 1e6 else f"{db:.1e}"
    return text.removesuffix(".0") if text.strip("-0.") else "0"


def times_text(ratio: float | None, bound: bool = False) -> str:
    """A ratio against the best layout in words, ``up to`` where it is one of a bound; empty where there is none."""
    if ratio is None or math.isnan(ratio):
        return ""
    if math.isinf(ratio):
        return "the best layout closes next to none"
    if ratio <= _AS_GOOD:
        return "as good as the best layout"
    return f"{'up to ' if bound else ''}{figure_text(ratio)} times the best layout"


# --- loops --------------------------------------------------------------------------------------------


def area_text(line: LoopLine) -> str:
    """Area with its unit, ``at most`` where it is a bound; empty where it is not known."""
    if line.area_cm2 is None or not math.isfinite(line.area_cm2):
        return ""
    return f"{'at most ' if line.bound else ''}{figure_text(line.area_cm2, 3)} cm²"


def way_text(way: Sequence[str], shortened: bool = False) -> str:
    """A way spelled out; `shortened` leaves out the middle of a long one and says how much."""
    first, last = _WAY_ENDS
    if shortened and len(way) > first + last + 1:
        left_out = f"… {len(way) - first - last} more …"
        return " → ".join((*way[:first], left_out, *way[-last:]))
    return " → ".join(way)


def folded(lacking: Iterable[str]) -> list[str]:
    """What is lacking with the same data of several things told once: ``x, y, z of BAT, ISO and ECU``."""
    alike: dict[str, list[str]] = {}
    for text in dict.fromkeys(lacking):
        head, of, name = text.partition(" of ")
        alike.setdefault(f"{head} of " if of else _NUMBERS.sub("#", text), []).append(name if of else text)
    return [
        f"{key}{names_text(names)}"
        if key.endswith(" of ")
        else names[0] if len(names) == 1 else f"{names[0]} and {len(names) - 1:,} alike"
        for key, names in alike.items()
    ]  # fmt: skip


def needs_text(lacking: Iterable[str], most: int = 3) -> str:
    """What is lacking, in one text: ``needs length of wire W3; lay of CKP``; empty for nothing."""
    texts = folded(lacking)
    if not texts:
        return ""
    more = f"; and {len(texts) - most:,} more" if len(texts) > most else ""
    return f"needs {'; '.join(texts[:most])}{more}"


def lacking_text(lacking: Sequence[str]) -> str:
    """What is lacking for a cell: in full where it is little, else folded."""
    if len(lacking) <= _LACKING:
        return "; ".join(lacking)
    texts = folded(lacking)
    more = len(texts) - _LACKING
    return "; ".join((*texts[:_LACKING], f"and {more:,} more") if more > 0 else texts)


# --- triggers -----------------------------------------------------------------------------------------


def has_margin(line: TriggerLine) -> bool:
    """Whether a margin was worked out at any speed."""
    return any(not math.isnan(db) for db in line.margin_db)


def worst_of(line: TriggerLine) -> int | None:
    """Index of the least margin; None where there is no margin."""
    if not has_margin(line):
        return None
    if 0 <= line.worst < len(line.margin_db) and not math.isnan(line.margin_db[line.worst]):
        return line.worst
    known = [at for at, db in enumerate(line.margin_db) if not math.isnan(db)]
    return min(known, key=lambda at: line.margin_db[at])


def order_of_margin(triggers: Iterable[TriggerLine]) -> list[TriggerLine]:
    """Those with a margin, the least first; equal ones keep their order."""
    found = []
    for line in triggers:
        at = worst_of(line)
        if at is not None:
            found.append((line.margin_db[at], line))
    return [line for _, line in sorted(found, key=lambda one: one[0])]


def drawable(line: TriggerLine) -> bool:
    """Whether a curve of its margin can be drawn: a finite margin at a finite speed."""
    return any(
        math.isfinite(rpm) and math.isfinite(db) for rpm, db in zip(line.rpm, line.margin_db, strict=False)
    )


def standing_of(line: TriggerLine) -> str:
    """How the least margin stands to its limit.

    ``below`` it, ``within`` it by usual figures but not at the end of the range, or empty for above it over the
    whole range, without a limit, and without a margin.
    """
    at = worst_of(line)
    if at is None or line.limit_db is None:
        return ""
    if line.margin_db[at] < line.limit_db:
        return "below"
    return "within" if any(db < line.limit_db for db in line.low_db) else ""


def margin_text(line: TriggerLine) -> str:
    """Least margin with its range: ``18 dB (9 to 27)``; empty where there is none."""
    at = worst_of(line)
    if at is None:
        return ""
    if line.margin_db[at] == math.inf:
        return "nothing induced"
    if line.margin_db[at] == -math.inf:
        return "nothing left of the signal"
    low, high = line.low_db[at], line.high_db[at]
    between = "" if math.isnan(low) or math.isnan(high) else f" ({db_text(low)} to {db_text(high)})"
    return f"{db_text(line.margin_db[at])} dB{between}"


def pickup_ratio(pickup: PickupLine) -> float | None:
    """Mutual inductance over that of the best layout; None where that is not known."""
    best = pickup.best_mutual_nh
    if best is None or math.isnan(best) or math.isnan(pickup.mutual_nh):
        return None
    if best == 0 or math.isinf(pickup.mutual_nh):
        return math.inf if pickup.mutual_nh else 1.0
    return pickup.mutual_nh / best


def pickup_text(pickup: PickupLine) -> str:
    """What one loop induces: ``COIL3's high-voltage return at breakdown (54 mV, 9 to 310), 18 times ...``."""
    ratio = times_text(pickup_ratio(pickup))
    return (
        f"{pickup.loop[1]}'s {pickup.what} at {pickup.edge} ({figure_text(pickup.mv)} mV, "
        f"{figure_text(pickup.low_mv)} to {figure_text(pickup.high_mv)})" + (f", {ratio}" if ratio else "")
    )


# --- settings -----------------------------------------------------------------------------------------


def window_text(lowest_v: float | None, highest_v: float | None) -> str:
    """Thresholds that leave margin, rounded into the window: ``0.13 to 0.44 V``; empty for none."""
    if lowest_v is None or highest_v is None or not lowest_v <= highest_v or lowest_v == math.inf:
        return ""
    if math.isinf(lowest_v):
        return "any" if highest_v == math.inf else f"up to {_volts(highest_v, math.floor)} V"
    if math.isinf(highest_v):
        return f"from {_volts(lowest_v, math.ceil)} V"
    for digits in (2, 3, 4):
        low, high = _volts(lowest_v, math.ceil, digits), _volts(highest_v, math.floor, digits)
        if float(low) <= float(high):
            return f"{low} V" if low == high else f"{low} to {high} V"
    return f"{lowest_v:.6g} V"


def _volts(volts: float, rounding: Callable[[float], int], digits: int = 2) -> str:
    """A voltage in so many digits, rounded up or down; never finer than a tenth of a millivolt."""
    if not volts or abs(volts) >= 1e6:
        return f"{volts:g}"
    decimals = min(max(0, digits - 1 - math.floor(math.log10(abs(volts)))), 4)
    # a window's end as computed may stand a breath beside a round figure
    return _bare(f"{rounding(round(volts * 10**decimals, 6)) / 10**decimals:.{decimals}f}")


def leaves_margin(setting: SettingLine) -> bool:
    """Whether any threshold leaves margin with one setting."""
    return bool(window_text(setting.lowest_v, setting.highest_v))


def setting_at_worst(line: TriggerLine) -> SettingLine | None:
    """Setting at the speed of the least margin: that with the weakest filter of those that leave margin.

    None where no setting is given there. Where none leaves margin, the one with the strongest filter.
    """
    at = worst_of(line)
    if at is None:
        return None
    there = sorted((one for one in line.settings if one.rpm == line.rpm[at]), key=lambda one: one.filter_us)
    return next((one for one in there if leaves_margin(one)), there[-1] if there else None)


def settings_text(line: TriggerLine) -> str:
    """Threshold and filter that leave margin at the worst speed, and whether they do at every speed; or empty."""
    setting = setting_at_worst(line)
    if setting is None:
        return ""
    speed = f"{setting.rpm:,.0f} 1/min"
    window = window_text(setting.lowest_v, setting.highest_v)
    filtered = f"a filter of {figure_text(setting.filter_us)} µs" if setting.filter_us > 0 else "no filter"
    if not window:
        return f"{NO_THRESHOLD} at {speed} with {filtered}"
    text = f"a threshold of {window} with {filtered} leaves margin at {speed}"
    speeds = {one.rpm for one in line.settings}
    with_it = [one for one in line.settings if one.filter_us == setting.filter_us]
    if len(speeds) < 2 or {one.rpm for one in with_it} != speeds:
        return text
    lowest = [one.lowest_v for one in with_it if one.lowest_v is not None]
    highest = [one.highest_v for one in with_it if one.highest_v is not None]
    everywhere = ""
    if len(lowest) == len(highest) == len(with_it) and max(lowest) <= min(highest):
        everywhere = window_text(max(lowest), min(highest))
    if not everywhere:
        return f"{text}; no single one does at every speed"
    return f"{text} and every other speed" if everywhere == window else f"{text}, {everywhere} at every speed"
