"""Changes that might clear a finding, the smallest first; proof is another module's work.

Each check that says something of grounds, or of the spark's loop and what it induces, has a source of changes that
reads the design, not the sentence of the finding, so that the order of rows does not matter.
"""

from __future__ import annotations

from collections.abc import Mapping

from harnessdrc.advice.asked import Asked, Source
from harnessdrc.advice.computed import computed
from harnessdrc.advice.edits import Change
from harnessdrc.advice.grounds import high_voltage_return, no_return, one_point, two_paths
from harnessdrc.advice.homes import Homes
from harnessdrc.advice.pickup import loop_area, margin, shared_return, twisted_pair
from harnessdrc.advice.sensors import body_grounded, return_home, second_path, shield
from harnessdrc.advice.sizes import voltage_drop
from harnessdrc.results import ReportedFinding

__all__ = ["MOST", "candidates", "is_about_grounds"]

MOST = 8
"""Changes tried for one finding at the most."""

_SOURCES: Mapping[str, Source] = {
    "ground.one_point": one_point,
    "ground.two_paths": two_paths,
    "ground.no_return": no_return,
    "ground.voltage_drop": voltage_drop,
    "feed.voltage_drop": voltage_drop,
    "sensor.return_elsewhere": return_home,
    "sensor.return_second_path": second_path,
    "sensor.body_grounded": body_grounded,
    "ignition.high_voltage_return": high_voltage_return,
    "trigger.shield": shield,
    "ignition.input_offset": computed,
    "sensor.reading_error": computed,
    "sensor.shared_return": computed,
    "ground.cranking_current": computed,
    "ground.offset": computed,
    "ground.joint_reserve": computed,
    "ignition.loop_area": loop_area,
    "ignition.shared_return": shared_return,
    "trigger.twisted_pair": twisted_pair,
    "trigger.margin": margin,
}


def is_about_grounds(check: str) -> bool:
    """Whether changes can be proposed for the findings of a check."""
    return check in _SOURCES


def candidates(homes: Homes, finding: ReportedFinding) -> list[Change]:
    """Changes that might clear a finding.

    Parameters
    ----------
    homes : Homes
        The design, and where ends may go.
    finding : ReportedFinding
        Of a check for which `is_about_grounds` holds; of any other there are none.

    Returns
    -------
    list of Change
        The cheapest first, of equal ones as the trade would have it; `MOST` at the most.
    """
    source = _SOURCES.get(finding.check)
    if source is None:
        return []
    changes = dict.fromkeys(change for change in source(Asked(homes, finding)) if change.edits)
    return sorted(changes, key=lambda change: change.cost)[:MOST]
