"""Whether there is anything to advise on; kept apart, since all the rest is loaded only where there is."""

from __future__ import annotations

from harnessdrc.results import OffsetLine, Result

__all__ = ["ADVISED_CHECKS", "MOST_WIRES", "TOO_LONG", "offsets_tell", "worth_advising"]

ADVISED_CHECKS = frozenset(
    {
        "feed.voltage_drop", "ground.cranking_current", "ground.joint_reserve", "ground.no_return", "ground.offset",
        "ground.one_point", "ground.two_paths", "ground.voltage_drop", "ignition.high_voltage_return",
        "ignition.input_offset", "ignition.loop_area", "ignition.shared_return", "sensor.body_grounded",
        "sensor.reading_error", "sensor.return_elsewhere", "sensor.return_second_path", "sensor.shared_return",
        "trigger.margin", "trigger.shield", "trigger.twisted_pair",
    }
)  # fmt: skip
"""Checks for whose findings changes can be proposed."""

MOST_WIRES = 2_000
TOO_LONG = f"No changes were tried and no earth points compared: the list has more than {MOST_WIRES:,} wires."

_TELLING_SHARE = 0.2
"""Where every offset stays below this part of its limit there is no earth point to choose for its sake."""


def worth_advising(result: Result) -> bool:
    """Whether a finding on grounds, or an offset, asks for advice."""
    return offsets_tell(result) or any(finding.check in ADVISED_CHECKS for finding in result.findings)


def offsets_tell(result: Result) -> bool:
    """Whether an offset comes near enough to its limit for earth points to be compared."""
    return any(_share_of_limit(line) >= _TELLING_SHARE for line in result.network.offsets[:1])


def _share_of_limit(line: OffsetLine) -> float:
    value = line.peak_mv[line.worst]
    limits = (line.low_limit_mv, line.high_limit_mv)
    return max((value / limit for limit in limits if limit), default=0.0)
