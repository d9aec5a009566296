"""Usual electrical figures of each kind of component, and what it draws in an operating state.

The figures stand in ``components.toml``; that file says what each of them means. Two currents are worked out
for every state: the average, on which heating and the battery depend, and that of the worst instant, on which
readings and thresholds depend.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from types import MappingProxyType
from typing import Any

from harnessdrc.datafiles import rulesets_folder
from harnessdrc.errors import FileUnreadableError
from harnessdrc.physics.operation import STANDARD_STATES, OperatingState, coil_duty, injector_duty, most_at_once

__all__ = [
    "MODELS",
    "KindFigures",
    "average_a",
    "duty",
    "figures_for",
    "instant_on_a",
    "overlap",
    "read_figures",
    "usual_figures",
]

MODELS = ("steady", "pulsed", "ramp", "electronics", "resistance", "source")
"""Ways a component draws current; ``components.toml`` says what each means."""

_LISTED_MODELS = MappingProxyType({"heater": "resistance"})
"""Model of a kind without usual figures once its current is listed; all others are steady."""
_NUMBERS = ("current_a", "low_a", "high_a", "peak_a", "min_v", "sparks_per_cycle")
_KEYS = frozenset({"model", "share", "peak_share", "source", *_NUMBERS})
_NONE: Mapping[str, float] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class KindFigures:
    """Usual figures of one kind of component.

    Parameters
    ----------
    kind : str
        As the lists name it: ``fuel pump``.
    model : str
        One of `MODELS`.
    current_a : float
        Steady or average current at full load (of a starter while cranking), A.
    low_a, high_a : float
        Range that `current_a` is found in, A.
    peak_a : float or None
        Current while on (``pulsed``) or at the end of dwell (``ramp``), A; None for other models.
    share, peak_share : mapping of str to float
        State to its average current, and to the current of its worst instant, over `current_a`.
    min_v : float
        Lowest voltage at which electronics still draw their current, V; 0 for other models.
    sparks_per_cycle : float
        Sparks of one unit in a four-stroke cycle; 0 for other models than ``ramp``.
    source : str
        Whose word these figures are.

    Raises
    ------
    ValueError
        When the figures contradict each other or their model.
    """

    kind: str
    model: str
    current_a: float
    low_a: float
    high_a: float
    peak_a: float | None = None
    share: Mapping[str, float] = field(default_factory=lambda: _NONE, hash=False)
    peak_share: Mapping[str, float] = field(default_factory=lambda: _NONE, hash=False)
    min_v: float = 0.0
    sparks_per_cycle: float = 0.0
    source: str = ""

    def __post_init__(self) -> None:
        def demand(sound: bool, sentence: str) -> None:
            if not sound:
                raise ValueError(f"{self.kind}: {sentence}")

        pulsing = self.model in ("pulsed", "ramp")
        demand(self.model in MODELS, f"'{self.model}' is no model; known are {', '.join(MODELS)}")
        in_range = 0.0 < self.low_a <= self.current_a <= self.high_a < math.inf
        demand(in_range, "expected 0 < low_a <= current_a <= high_a")
        if self.peak_a is None:
            demand(not pulsing, f"peak_a is missing, which the model '{self.model}' needs")
        else:
            demand(pulsing, f"the model '{self.model}' takes no peak_a")
            demand(self.current_a < self.peak_a < math.inf, "expected current_a below peak_a")
        demand((self.sparks_per_cycle > 0.0) == (self.model == "ramp"), "sparks_per_cycle belongs to the model 'ramp'")
        demand((self.min_v > 0.0) == (self.model == "electronics"), "min_v belongs to the model 'electronics'")
        demand(not pulsing or not (self.share or self.peak_share), "its rhythm gives its share; leave the shares out")
        known = ", ".join(STANDARD_STATES)
        for shares in (self.share, self.peak_share):
            for state, share in shares.items():
                demand(state in STANDARD_STATES, f"'{state}' is no operating state; known are {known}")
                demand(math.isfinite(share) and share >= 0.0, f"{share:g} is no share of '{state}'")
        object.__setattr__(self, "share", MappingProxyType(dict(self.share)))
        object.__setattr__(self, "peak_share", MappingProxyType(dict(self.peak_share)))


def usual_figures() -> Mapping[str, KindFigures]:
    """Usual figures per kind of component, from the shipped ``components.toml``.

    Raises
    ------
    FileUnreadableError
        When the file is missing or damaged.
    """
    return _shipped_figures()


@lru_cache(maxsize=1)
def _shipped_figures() -> Mapping[str, KindFigures]:
    path = rulesets_folder() / "components.toml"
    try:
        with path.open("rb") as file:
            return read_figures(tomllib.load(file))
    except (OSError, ValueError) as error:
        raise FileUnreadableError(
            f"the shipped figures of components cannot be used ({error}).",
            file=str(path),
            remedy="Install harnessdrc again.",
        ) from error


def read_figures(content: Mapping[str, Any]) -> Mapping[str, KindFigures]:
    """Figures per kind from a table of tables, as ``components.toml`` has them.

    Raises
    ------
    ValueError
        For a key that is not known, a value of the wrong type, and figures that contradict each other.
    """
    return MappingProxyType({kind: _figures(kind, table) for kind, table in content.items()})


def _figures(kind: str, table: Any) -> KindFigures:
    if not isinstance(table, Mapping):
        raise ValueError(f"{kind}: expected a table")
    unknown = sorted(set(table) - _KEYS)
    if unknown:
        raise ValueError(f"{kind}: '{unknown[0]}' is not known; known are {', '.join(sorted(_KEYS))}")
    missing = sorted({"model", "current_a", "low_a", "high_a", "source"} - set(table))
    if missing:
        raise ValueError(f"{kind}: '{missing[0]}' is missing")
    for key in ("model", "source"):
        if not isinstance(table[key], str) or not table[key].strip():
            raise ValueError(f"{kind}: expected text for {key}")
    values: dict[str, Any] = {key: _number(kind, key, table[key]) for key in _NUMBERS if key in table}
    for key in ("share", "peak_share"):
        shares = table.get(key, {})
        if not isinstance(shares, Mapping):
            raise ValueError(f"{kind}: expected a table of states for {key}")
        values[key] = {state: _number(kind, f"{key} of '{state}'", share) for state, share in shares.items()}
    return KindFigures(kind, table["model"], source=table["source"], **values)


def _number(kind: str, key: str, value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise ValueError(f"{kind}: expected a number for {key}")
    return float(value)


def figures_for(kind: str, listed_a: float | None = None) -> KindFigures | None:
    """Figures of a component: the usual ones of its kind, or what its listed current says.

    Parameters
    ----------
    kind : str
        Kind of the component.
    listed_a : float, optional
        Current that the list gives it, A.

    Returns
    -------
    KindFigures or None
        None when the kind has no usual figures and no current is listed: what it draws cannot be told. With a
        listed current such a component draws it in every state, since nobody says when it is switched off.
    """
    usual = usual_figures().get(kind)
    if usual is not None or listed_a is None:
        return usual
    return _listed_only(kind, listed_a)


@lru_cache(maxsize=4096)
def _listed_only(kind: str, listed_a: float) -> KindFigures:
    model = _LISTED_MODELS.get(kind, "steady")
    if listed_a <= 0.0:  # listed as drawing nothing, which is an answer too
        return KindFigures(kind, model, 1.0, 1.0, 1.0, source="listed as 0 A")
    always = dict.fromkeys(STANDARD_STATES, 1.0)
    return KindFigures(kind, model, listed_a, listed_a, listed_a, share=always, source="listed; in every state")


def duty(figures: KindFigures, state: OperatingState) -> float:
    """Part of the time one unit is on in a state, 0 to 1.

    For ``pulsed`` ``pulse × rpm / 120,000``, for ``ramp`` ``dwell × sparks per second``; for a state that gives the
    kind a current of its own, that current over the one while on. The other models are on all the time or never.
    """
    own_a = state.current_a.get(figures.kind)
    if figures.peak_a is not None and own_a is not None:
        return min(1.0, own_a / (figures.peak_a if figures.model == "pulsed" else figures.peak_a / 2.0))
    if figures.model == "pulsed":
        return injector_duty(state.pulse_ms, state.rpm)
    if figures.model == "ramp":
        return coil_duty(state.dwell_ms, state.rpm, figures.sparks_per_cycle)
    return 1.0 if max(_shares(figures, state)) > 0.0 else 0.0


def average_a(figures: KindFigures, state: OperatingState, listed_a: float | None = None) -> float:
    """Average current of one unit in a state, A.

    Parameters
    ----------
    figures : KindFigures
        Of its kind.
    state : OperatingState
        A current that it gives the kind replaces the usual one.
    listed_a : float, optional
        Current that the list gives this component: its steady or average current at full load (a starter's
        while cranking). For ``pulsed`` and ``ramp``, one that lies nearer, in ratio, to `peak_a` than to
        `current_a` is the current while on, or the peak.

    Returns
    -------
    float
        ``current_a × share``, ``peak_a × duty`` or ``peak_a / 2 × duty``, times the listed current over the usual
        one; what a ``source`` can give at the most.
    """
    own_a = state.current_a.get(figures.kind)
    if own_a is not None:
        usual_a = own_a
    elif figures.peak_a is None:
        usual_a = figures.current_a * _shares(figures, state)[0]
    else:
        usual_a = duty(figures, state) * (figures.peak_a if figures.model == "pulsed" else figures.peak_a / 2.0)
    return usual_a * _scale(figures, listed_a)


def instant_on_a(figures: KindFigures, state: OperatingState, listed_a: float | None = None) -> float:
    """Current of one unit at its worst instant in a state, A: while it is on, at the peak of its ramp, or at inrush.

    Parameters as `average_a`. The peak of a ramp is limited by the igniter: a listed average stands for a longer
    dwell or more sparks and leaves it as it is. How many units are on together says `overlap`.
    """
    if figures.peak_a is None:
        return figures.current_a * _shares(figures, state)[1] * _scale(figures, listed_a)
    if duty(figures, state) == 0.0 or listed_a == 0.0:
        return 0.0
    if figures.model == "ramp":
        peak_a = listed_a if listed_a is not None and _is_peak(figures, listed_a) else figures.peak_a
        return max(peak_a, average_a(figures, state, listed_a))
    on_a = max(figures.peak_a, state.current_a.get(figures.kind, 0.0))
    return on_a * _scale(figures, listed_a)


def overlap(figures: KindFigures, state: OperatingState, units: int) -> int:
    """How many of `units` are on at one instant at the most, in a state.

    Units of a pulsing kind take turns, evenly over the cycle: ``units × duty`` rounded up. Injectors that all
    open together (batch fire) are more. Units of the other kinds are all on, or none is.

    Raises
    ------
    ValueError
        For a negative number of units.
    """
    return most_at_once(units, duty(figures, state))


def _shares(figures: KindFigures, state: OperatingState) -> tuple[float, float]:
    """Shares of a kind that is no pulsing one: on average and at the worst instant."""
    share = _share(state, figures.share)
    peak_share = _share(state, figures.peak_share, figures.share)
    own_a = state.current_a.get(figures.kind)
    if own_a is None:
        return share or 0.0, max(share or 0.0, peak_share or 0.0)
    own_share = own_a / figures.current_a
    inrush = peak_share / share if share and peak_share else 1.0
    return own_share, own_share * max(1.0, inrush)


def _share(state: OperatingState, *tables: Mapping[str, float]) -> float | None:
    """Share of the nearest state that one of the tables names, the first table first."""
    for name in state.names:
        for table in tables:
            if name in table:
                return table[name]
    return None


def _scale(figures: KindFigures, listed_a: float | None) -> float:
    """A listed current over the usual one that it stands for."""
    if listed_a is None:
        return 1.0
    return listed_a / (figures.peak_a if figures.peak_a and _is_peak(figures, listed_a) else figures.current_a)


def _is_peak(figures: KindFigures, listed_a: float) -> bool:
    """Whether a listed current lies nearer, in ratio, to the current while on than to the average at full load."""
    return figures.peak_a is not None and listed_a**2 > figures.current_a * figures.peak_a
