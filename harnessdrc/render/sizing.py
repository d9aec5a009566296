"""Wire sizes, fuses and bundles in words: for every renderer."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Literal

from harnessdrc.render.induction import figure_text, lacking_text
from harnessdrc.results import BundleLine, FuseLine, SizeLine, SizingLimits, SizingOutcome

__all__ = [
    "CAUTION_TEXT",
    "STANDING_WORDS",
    "Standing",
    "ampere_text",
    "area_mm2",
    "bundle_standing",
    "comparable",
    "copper_text",
    "decides_text",
    "fuse_known",
    "fuse_load",
    "fuse_text",
    "has_sizing",
    "lacking_of",
    "needed_of",
    "needs_size_text",
    "never_clears",
    "order_of_need",
    "percent_text",
    "standing_of_size",
    "standings",
    "surely_tight",
    "tight_by",
]

CAUTION_TEXT = (
    "Estimates: the current that heats a wire is read off figures, for free air and for bundles by curves of the "
    "aircraft trade; measure on the bench"
)

Standing = Literal["small", "perhaps", "spare", "fits", "unknown"]
STANDING_WORDS: dict[Standing, str] = {
    "small": "too small",
    "perhaps": "may be too small",
    "spare": "could be smaller",
    "fits": "as needed",
    "unknown": "not known",
}
"""How a wire stands to the size it needs, in words."""

_SAME = 1e-6
_LIMITS = SizingLimits()
_DECIDES = {
    "heating": "heating",
    "drop": "drop",
    "fuse": "its fuse",
    "short circuit": "a short circuit",
    "no fuse": "no fuse ahead of it",
    "smallest": "the smallest used",
}
_MM2 = re.compile(r"(?:\d+\s*[x×]\s*)?(\d*[.,]?\d+)\s*(?:mm\s*(?:²|2|\^2)?|sq\.?\s*mm|qmm)?", re.IGNORECASE)
_AWG = re.compile(
    r"(?:awg\s*#?\s*(?P<a>\d+/0|\d+)|#\s*(?P<b>\d+/0|\d+)|(?P<c>\d+/0|\d+)\s*(?:awg|ga\.?|gauge))", re.IGNORECASE
)


def has_sizing(outcome: SizingOutcome) -> bool:
    """Whether there is anything to show."""
    return bool(outcome.wires or outcome.fuses or outcome.bundles or outcome.not_worked_out)


# --- sizes --------------------------------------------------------------------------------------------


@lru_cache(maxsize=4096)
def area_mm2(text: str) -> tuple[Literal["mm2", "awg"], float] | None:
    """System and conductor area of a size as text; None where it is none.

    The area of an AWG number is that of ASTM B258, by its definition: ``d = 0.127 mm × 92^((36 - n) / 39)``. It is
    for comparing and drawing sizes of one system; no trade label is made of it.
    """
    tidy = text.strip()
    if match := _AWG.fullmatch(tidy):
        number = match["a"] or match["b"] or match["c"]
        gauge = 1 - int(number[:-2]) if number.endswith("/0") else int(number)
        if len(number) > 1 and not number.strip("0"):  # 00, 000, 0000
            gauge = 1 - len(number)
        if not -5 <= gauge <= 50:
            return None
        return "awg", math.pi / 4 * (0.127 * 92 ** ((36 - gauge) / 39)) ** 2
    if match := _MM2.fullmatch(tidy):
        area = float(match[1].replace(",", "."))
        return ("mm2", area) if 0 < area < math.inf else None
    return None


def needed_of(line: SizeLine) -> str:
    """The size it needs, of the system of the size as listed; of both where none is listed; empty for none."""
    listed = area_mm2(line.size)
    if listed is None:
        return " or ".join(text for text in (line.needed_mm2, line.needed_awg) if text)
    return line.needed_mm2 if listed[0] == "mm2" else line.needed_awg


def comparable(line: SizeLine) -> tuple[float, float] | None:
    """Conductor areas as listed and as needed, of one system, mm²; None where they are not both known."""
    listed = area_mm2(line.size)
    if listed is None:
        return None
    needed = area_mm2(line.needed_mm2 if listed[0] == "mm2" else line.needed_awg)
    return None if needed is None else (listed[1], needed[1])


def standing_of_size(line: SizeLine) -> Standing:
    """How a wire stands to the size it needs.

    ``small`` for certain, ``perhaps`` while data is lacking, ``spare`` where a smaller standard size would do,
    ``fits``, or ``unknown`` where neither margin nor needed size could be worked out.
    """
    areas = comparable(line)
    over = line.margin is not None and line.margin < 0
    if areas is None:
        # with nothing lacking and no size needed, no standard size satisfies all limits
        if not over and (line.lacking or line.current_a is None or area_mm2(line.size) is None):
            return "unknown"
        return "perhaps" if line.lacking and not line.surely_small else "small"
    listed, needed = areas
    if needed > listed * (1 + _SAME) or over:
        return "perhaps" if line.lacking and not line.surely_small else "small"
    return "spare" if needed < listed * (1 - _SAME) else "fits"


def standings(wires: Iterable[SizeLine]) -> list[Standing]:
    """Standing of each wire."""
    return [standing_of_size(line) for line in wires]


_RANKS: dict[Standing, int] = {"small": 0, "perhaps": 1, "fits": 2, "spare": 2, "unknown": 3}


def order_of_need(wires: Sequence[SizeLine], found: Sequence[Standing] | None = None) -> list[int]:
    """Indices: those too small first, then those that may be, then the others by margin, those not known last.

    Parameters
    ----------
    wires : sequence of SizeLine
        The wires.
    found : sequence of Standing, optional
        Their standings, where they have been worked out already.
    """
    keys = []
    for at, (line, standing) in enumerate(zip(wires, standings(wires) if found is None else found, strict=True)):
        margin = line.margin
        known = margin is not None and not math.isnan(margin)
        keys.append((_RANKS[standing], margin if known and margin is not None else math.inf, at))
    return [key[2] for key in sorted(keys)]


def decides_text(line: SizeLine) -> str:
    """What decides on the needed size, for a cell: ``drop``, ``its fuse``."""
    return _DECIDES.get(line.governs, line.governs)


def needs_size_text(line: SizeLine) -> str:
    """The size it needs and why: ``needs 0.75 mm² by drop``; what else there is to say; empty where not known."""
    needed = needed_of(line)
    if not needed:
        return "" if line.lacking or line.current_a is None else "no standard size does"
    areas = comparable(line)
    if areas is not None and areas[1] <= areas[0] * (1 + _SAME):
        return "over what it may carry" if line.margin is not None and line.margin < 0 else f"{needed} would do"
    return f"needs {needed}" + (f" by {decides_text(line)}" if line.governs not in ("", "smallest") else "")


def lacking_of(name: str, lacking: Sequence[str]) -> str:
    """What is lacking, for a row that names its object already: without ``of wire W12`` where that is the one."""
    if not lacking:
        return ""
    tails = (f" of wire {name}", f" of fuse {name}", f" of branch {name}", f" of {name}")
    bare = []
    for text in lacking:
        for tail in tails:
            if text.endswith(tail):
                text = text[: -len(tail)]
                break
        bare.append(text)
    return lacking_text(bare)


# --- numbers ------------------------------------------------------------------------------------------


def ampere_text(amps: float | None) -> str:
    """A current with its unit: ``9.1 A``, ``120 A``; ``not known``."""
    if amps is None or math.isnan(amps):
        return "not known"
    return f"{figure_text(amps, 3 if abs(amps) >= 10 else 2)} A"


def percent_text(share: float | None) -> str:
    """A share in per cent: ``63 %``; what is beyond all measure is told so."""
    if share is None or math.isnan(share):
        return "not known"
    if math.isinf(share) or abs(share) >= 100:
        return "many times" if share > 0 else "next to none"
    return f"{share * 100:,.0f} %"


def copper_text(grams: float) -> str:
    """A mass: ``2.1 kg``, ``640 g``."""
    if not math.isfinite(grams):
        return "not known"
    return f"{figure_text(grams / 1000)} kg" if abs(grams) >= 995 else f"{figure_text(grams)} g"


# --- fuses --------------------------------------------------------------------------------------------


def fuse_load(line: FuseLine) -> float | None:
    """Load over rating; None where either is not known."""
    if line.load_a is None or not line.rating_a or math.isnan(line.load_a) or math.isnan(line.rating_a):
        return None
    return line.load_a / line.rating_a


def never_clears(line: FuseLine | SizeLine) -> bool:
    """Whether the fuse, or that ahead of the wire, may stay closed on a fault at the far end."""
    return line.clears_s is not None and math.isinf(line.clears_s)


def tight_by(line: FuseLine, limits: SizingLimits = _LIMITS) -> tuple[str, ...]:
    """What is tight about a fuse, of ``load``, ``wire`` and ``fault``.

    Its load is over the share of its rating that the limits allow; its thinnest wire may carry less than its rating; it
    may stay closed on a fault at the far end of a wire, opens after the wire is at its limit, or later than the limits
    allow. While data is lacking (`FuseLine.lacking`), wire and fault are so at worst or as usual, and not for certain.
    """
    found = []
    load = fuse_load(line)
    if load is not None and load > limits.load_percent / 100 * (1 + _SAME):
        found.append("load")
    allowed = line.thinnest_allowed_a
    rating = line.rating_a if line.thinnest_held_a is None else line.thinnest_held_a
    if allowed is not None and rating is not None and allowed < rating * (1 - _SAME):
        found.append("wire")
    clears, withstands = line.clears_s, line.withstands_s
    in_s = limits.clear_s * (1 + _SAME) if withstands is None else min(limits.clear_s * (1 + _SAME), withstands)
    late = clears is not None and clears > in_s
    if late or never_clears(line):
        found.append("fault")
    return tuple(found)


def surely_tight(line: FuseLine, limits: SizingLimits = _LIMITS) -> bool:
    """Whether a fuse is tight for certain: by its load, by wire or fault with nothing lacking or whatever is."""
    tight = tight_by(line, limits)
    return bool(tight) and ("load" in tight or not line.lacking or bool(line.certain))


def fuse_known(line: FuseLine, limits: SizingLimits = _LIMITS) -> bool:
    """Whether load, wire and fault could all be held against it, for certain where they are against it."""
    if line.lacking and set(tight_by(line, limits)) & {"wire", "fault"} - set(line.certain):
        return False
    fault = line.fault_a is not None and (line.clears_s is not None or never_clears(line))
    return fuse_load(line) is not None and line.thinnest_allowed_a is not None and fault


def fuse_text(line: SizeLine) -> str:
    """The fuse ahead of a wire, for a cell: ``none`` straight on the battery, empty where no copper leads to one."""
    return "" if line.fuse is None else line.fuse or "none"


# --- bundles ------------------------------------------------------------------------------------------


def bundle_standing(line: BundleLine, limits: SizingLimits = _LIMITS) -> str:
    """How a bundle stands to its sleeve: ``does not fit``, ``tight``, or empty."""
    if line.diameter_mm is None or not line.sleeve_mm or math.isnan(line.diameter_mm):
        return ""
    if line.diameter_mm > line.sleeve_mm * (1 + _SAME):
        return "does not fit"
    return "tight" if line.diameter_mm > limits.fill_percent / 100 * line.sleeve_mm * (1 + _SAME) else ""
