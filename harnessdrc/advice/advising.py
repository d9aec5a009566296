"""What to do about a result: earth points compared, and changes that clear findings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from harnessdrc.advice.proposing import propose
from harnessdrc.advice.star_points import star_points
from harnessdrc.advice.worth import ADVISED_CHECKS, offsets_tell
from harnessdrc.checks.registry import Check
from harnessdrc.design import Design
from harnessdrc.engine import offset_limits
from harnessdrc.results import Result
from harnessdrc.rulesets import Ruleset

__all__ = ["advise"]

_ON_GROUNDS = ADVISED_CHECKS - {"feed.voltage_drop", "ground.voltage_drop", "trigger.shield"}
"""Checks whose findings another earth point might clear."""


def advise(design: Design, ruleset: Ruleset, checks: Mapping[str, Check], result: Result) -> Result:
    """The result with earth points compared and proposals for its findings.

    Parameters
    ----------
    design : Design
        What was checked.
    ruleset : Ruleset
        Its rules.
    checks : mapping of str to Check
        Loaded checks by name.
    result : Result
        Outcome of these rules.
    """
    if offsets_tell(result) or any(finding.check in _ON_GROUNDS for finding in result.findings):
        stars = star_points(design, offset_limits(ruleset.rules))
        result = replace(result, network=replace(result.network, stars=stars))
    return propose(design, ruleset, checks, result)

