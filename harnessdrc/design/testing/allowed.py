"""What the rules allow the voltages of a finished loom to be."""

from __future__ import annotations

from dataclasses import dataclass, field

from harnessdrc.design.analysis.limits import OffsetLimits

__all__ = ["Allowed"]


@dataclass(frozen=True, slots=True)
class Allowed:
    """Limits that measured voltages are held against: those of the rules where a ruleset has them.

    Parameters
    ----------
    offsets : OffsetLimits
        Of grounds.
    feed_mv, return_mv : float
        Drop from the battery to a load and from the load back to it, mV.
    cranking_mv : float
        Drop to the starter, feed and return together, mV.
    """

    offsets: OffsetLimits = field(default_factory=OffsetLimits)
    feed_mv: float = 500.0
    return_mv: float = 500.0
    cranking_mv: float = 1000.0
