"""Operating states of an engine, and what rhythm its injectors and coils keep in them.

A state says how fast the engine turns, what the battery gives, whether starter and alternator work, and how
long an injector opens and a coil charges. Which current a kind of component draws then is worked out from its
usual figures; see `harnessdrc.design.figures`. All formulas are for four-stroke engines: one working cycle is
two turns, so there are ``rpm / 120`` cycles per second.

Sources: definitions of mean, effective value and duty; no publication needed. The figures of the shipped states
stand in the ruleset, with their source.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import NamedTuple

__all__ = [
    "STANDARD_STATES",
    "STATE_VALUES",
    "OperatingState",
    "StateValue",
    "coil_duty",
    "coil_mean_a",
    "coil_rms_a",
    "coils_charging",
    "injector_duty",
    "most_at_once",
]

STANDARD_STATES = ("key on", "cranking", "idle", "cruise", "full load", "fan cut-in")
"""Names that usual figures of components may speak of; every other state is like one of these."""

_CYCLE_MS_RPM = 120_000.0
"""Length of a four-stroke cycle in ms times engine speed in 1/min."""
_ROUNDING = 1e-9


class StateValue(NamedTuple):
    """Unit and bounds of one number of an operating state."""

    unit: str
    meaning: str
    low: float
    high: float


STATE_VALUES: Mapping[str, StateValue] = MappingProxyType(
    {
        "rpm": StateValue("1/min", "engine speed", 0.0, 30_000.0),
        "battery_v": StateValue("V", "voltage of the battery behind its inner resistance", 0.0, 16.0),
        "charge_a": StateValue("A", "current into the battery", 0.0, math.inf),
        "pulse_ms": StateValue("ms", "time an injector is open per cycle", 0.0, math.inf),
        "dwell_ms": StateValue("ms", "time a coil charges per spark", 0.0, math.inf),
        "manifold_bar": StateValue("bar", "absolute pressure in the inlet without boost", 0.1, 1.1),
    }
)
"""Numbers of an operating state by name."""


@dataclass(frozen=True, slots=True)
class OperatingState:
    """One way the engine is run, on which the currents of the whole loom depend.

    Parameters
    ----------
    name : str
        As people say it: ``full load``.
    meaning : str
        What the engine does then.
    like : tuple of str
        States this one is like, the nearest first: a kind of component whose usual figures do not name this
        state behaves as in the first of these that they do name.
    rpm : float
        Engine speed, 1/min.
    battery_v : float
        Voltage of the battery without load, V; while it charges, the voltage behind its inner resistance, so
        that its terminals are at ``battery_v + charge_a × inner resistance``.
    charge_a : float
        Current that the alternator drives into the battery, A.
    starter, alternator : bool
        Whether the starter turns the engine; whether the alternator feeds loads and battery.
    pulse_ms, dwell_ms : float
        Time an injector is open per cycle, and time a coil charges per spark, ms.
    manifold_bar : float
        Absolute pressure in the inlet without boost, bar.
    current_a : mapping of str to float
        Kind of component to its average current in this state, A, in place of the usual one.
    source : str
        Whose word these figures are.

    Raises
    ------
    ValueError
        For a number outside the bounds of `STATE_VALUES`, for a current that is negative or no number, and for
        a battery that is charged without the alternator.
    """

    name: str
    meaning: str
    like: tuple[str, ...]
    rpm: float
    battery_v: float
    charge_a: float
    starter: bool
    alternator: bool
    pulse_ms: float
    dwell_ms: float
    manifold_bar: float
    current_a: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}), hash=False)
    source: str = ""

    def __post_init__(self) -> None:
        for name, form in STATE_VALUES.items():
            value = getattr(self, name)
            if not (math.isfinite(value) and form.low <= value <= form.high):
                raise ValueError(f"{value:g} {form.unit} is no {name} of an operating state")
        for kind, amps in self.current_a.items():
            if not (math.isfinite(amps) and amps >= 0.0):
                raise ValueError(f"{amps:g} A is no current of a {kind}: give zero or a positive number")
        if self.charge_a > 0.0 and not self.alternator:
            raise ValueError("only the alternator charges the battery: set charge_a = 0 or alternator = true")
        object.__setattr__(self, "current_a", MappingProxyType(dict(self.current_a)))

    @property
    def names(self) -> tuple[str, ...]:
        """Its own name and those of the states it is like, the nearest first."""
        return (self.name, *self.like)


def injector_duty(pulse_ms: float, rpm: float) -> float:
    """Part of the time an injector is open: ``pulse × rpm / 120,000``, at most 1.

    Parameters
    ----------
    pulse_ms : float
        Time open per four-stroke cycle, ms.
    rpm : float
        Engine speed, 1/min.

    Raises
    ------
    ValueError
        For a number that is negative or not finite.
    """
    return _duty(pulse_ms, "pulse width", rpm, 1.0)


def coil_duty(dwell_ms: float, rpm: float, sparks_per_cycle: float = 1.0) -> float:
    """Part of the time a coil charges: ``dwell × sparks per second``, at most 1.

    Parameters
    ----------
    dwell_ms : float
        Time of charging before each spark, ms.
    rpm : float
        Engine speed, 1/min.
    sparks_per_cycle : float
        Sparks of this coil in one four-stroke cycle: 1 for a coil on its plug, 2 for a wasted-spark coil, the
        number of cylinders for the one coil of a distributor.

    Raises
    ------
    ValueError
        For a number that is negative or not finite.
    """
    return _duty(dwell_ms, "dwell", rpm, sparks_per_cycle)


def coil_mean_a(peak_a: float, dwell_ms: float, rpm: float, sparks_per_cycle: float = 1.0) -> float:
    """Mean current of one coil, A: a ramp to the peak during dwell, ``peak / 2 × dwell × sparks per second``.

    Parameters and errors as `coil_duty`; `peak_a` is the current at the end of dwell, A.
    """
    return _current(peak_a) / 2.0 * coil_duty(dwell_ms, rpm, sparks_per_cycle)


def coil_rms_a(peak_a: float, dwell_ms: float, rpm: float, sparks_per_cycle: float = 1.0) -> float:
    """Effective current of one coil, A, which heats its wires: ``peak × √(dwell × sparks per second / 3)``.

    Parameters and errors as `coil_mean_a`.
    """
    return _current(peak_a) * math.sqrt(coil_duty(dwell_ms, rpm, sparks_per_cycle) / 3.0)


def coils_charging(coils: int, dwell_ms: float, rpm: float, sparks_per_cycle: float = 1.0) -> float:
    """Mean number of coils that charge at one instant: ``coils × dwell × sparks per second``.

    Rounded up (`most_at_once`) it is the greatest number, as long as the sparks are evenly spaced.
    Parameters and errors as `coil_duty`.
    """
    if coils < 0:
        raise ValueError(f"{coils} is no number of coils")
    return coils * coil_duty(dwell_ms, rpm, sparks_per_cycle)


def most_at_once(units: int, duty: float) -> int:
    """How many of `units` are on together at the most, when they take turns evenly: ``units × duty`` rounded up.

    Parameters
    ----------
    units : int
        Number of units that follow each other evenly over the cycle.
    duty : float
        Part of the time each of them is on, 0 to 1.

    Raises
    ------
    ValueError
        For a negative number of units or a duty outside 0 to 1.
    """
    if units < 0 or not 0.0 <= duty <= 1.0:
        raise ValueError(f"expected units from 0 and a duty from 0 to 1, found {units} and {duty:g}")
    if duty == 0.0 or units == 0:
        return 0
    return max(1, math.ceil(units * duty - _ROUNDING))


def _duty(ms: float, what: str, rpm: float, per_cycle: float) -> float:
    for value, name, unit in ((ms, what, " ms"), (rpm, "engine speed", " 1/min"), (per_cycle, "number of sparks", "")):
        if not math.isfinite(value) or value < 0.0:
            raise ValueError(f"{value:g}{unit} is no {name}: give zero or a positive number")
    return min(1.0, ms * rpm * per_cycle / _CYCLE_MS_RPM)


def _current(amps: float) -> float:
    if not math.isfinite(amps) or amps < 0.0:
        raise ValueError(f"{amps:g} A is no peak current: give zero or a positive number")
    return amps
