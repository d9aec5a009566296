"""From files to a result in one call, for programs that use the package."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from pathlib import Path

from harnessdrc.checks.registry import load_checks
from harnessdrc.design import GIVEN, design_of
from harnessdrc.engine import given_numbers, run
from harnessdrc.intake.files import open_files
from harnessdrc.intake.mapping import load_mapping
from harnessdrc.intake.reading import read_lists
from harnessdrc.results import Result
from harnessdrc.rulesets import given_overrides, load_ruleset

__all__ = ["check_lists"]


def check_lists(
    paths: Sequence[Path],
    *,
    ruleset: str = "engine-loom",
    given: Sequence[str] = (),
    mapping: Path | None = None,
    allowed_packages: Collection[str] = (),
) -> Result:
    """Read the lists of one loom and run a ruleset over them.

    Parameters
    ----------
    paths : sequence of pathlib.Path
        One workbook, or the files that make up one list.
    ruleset : str
        Name of a shipped ruleset or path of a file.
    given : sequence of str
        ``key=value``, values in place of the ruleset's given ones.
    mapping : pathlib.Path, optional
        How to understand the lists.
    allowed_packages : collection of str
        Python packages that the ruleset may have loaded for their checks.

    Returns
    -------
    Result

    Raises
    ------
    InputError
        For a list or mapping that cannot be used.
    RulesetError
        For a ruleset that cannot be used.
    """
    checks = load_checks()
    known = {name: form.unit for name, form in GIVEN.items()}
    rules = load_ruleset(ruleset, checks=checks, allowed_packages=allowed_packages, known_given=known)
    if given:
        rules = given_overrides(given, rules, known_given=known)
    reading = read_lists(open_files(paths), load_mapping(mapping) if mapping else None)
    return run(design_of(reading, given_numbers(rules)), rules, checks, reading)
