"""How far the ground of a victim may stand from the controller's before it is harmed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from harnessdrc.design.analysis.victims import VictimKind
from harnessdrc.physics.sensors import (
    ntc_error_k,
    ntc_limits_v,
    ntc_table,
    ratiometric_error_percent,
    ratiometric_limit_v,
)

__all__ = ["OffsetLimits", "reading_error"]


@dataclass(frozen=True, slots=True)
class OffsetLimits:
    """What is allowed.

    Parameters
    ----------
    coil_on_mv : float
        Voltage at a coil's input at which it may switch on, mV.
    coil_surely_on_mv : float
        Voltage at a coil's input at which it is sure to switch on, mV.
    temperature_k, ratiometric_percent : float
        Error of a reading, K and per cent of span.
    trigger_mv, ground_mv, bus_mv : float
        Offset of a digital trigger sensor, of another controller and of a bus node, to either side, mV.
    """

    coil_on_mv: float = 700.0
    coil_surely_on_mv: float = 2500.0
    temperature_k: float = 2.0
    ratiometric_percent: float = 1.0
    trigger_mv: float = 500.0
    ground_mv: float = 1000.0
    bus_mv: float = 2000.0

    def of(self, kind: VictimKind, given: Mapping[str, float]) -> tuple[float | None, float | None]:
        """Lowest and highest harmless offset of a victim's ground, V; None where a side does no harm."""
        if kind == "coil input, off":
            # The input sees the output's low level less the offset of the coil's ground.
            return (given["output_low_mv"] - self.coil_on_mv) / 1000, None
        if kind == "coil input, on":
            return None, (given["output_high_mv"] - self.coil_surely_on_mv) / 1000
        if kind == "temperature reading":
            return _ntc_limits(self.temperature_k, given["ntc_degc"], given["ntc_pullup_ohm"])
        if kind == "ratiometric reading":
            volts = ratiometric_limit_v(self.ratiometric_percent, given["ratiometric_fraction"])
            return -volts, volts
        most_mv = {"trigger level": self.trigger_mv, "controller ground": self.ground_mv, "bus node": self.bus_mv}[kind]
        return -most_mv / 1000, most_mv / 1000


@lru_cache(maxsize=64)
def _ntc_limits(limit_k: float, t_degc: float, pullup_ohm: float) -> tuple[float, float]:
    low_v, high_v = sorted(ntc_limits_v(limit_k, t_degc, ntc_table("ntc_2k5"), pullup_ohm=pullup_ohm))
    return low_v, high_v


def reading_error(kind: VictimKind, offset_v: float, given: Mapping[str, float]) -> tuple[float | None, str]:
    """What an offset makes of a reading, with its unit: K or ``% of span``; None for what is no reading.

    Infinite where the input runs off its range: a sensor fault.
    """
    if kind == "temperature reading":
        table = ntc_table("ntc_2k5")
        return ntc_error_k(offset_v, given["ntc_degc"], table, pullup_ohm=given["ntc_pullup_ohm"]), "K"
    if kind == "ratiometric reading":
        return ratiometric_error_percent(offset_v, given["ratiometric_fraction"]), "% of span"
    return None, ""
