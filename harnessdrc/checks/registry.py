"""What a check declares about itself, and the list of all checks.

A check is a generator ``(design, limits)`` that yields a `Finding` or an `Undecided` for one subject each.
It knows no grade and no customer. `check` registers it::

    @check(
        "ground.two_paths",
        counts="devices with a ground",
        subjects=grounded_devices,
        reads=("from_item", "to_item"),
        limits=TwoPathsLimits,
        says={"": "{subject} is earthed twice: {loop}."},
        remedy={"": "Take one of the two away: ..."},
    )
    def two_paths(design, limits): ...

The sentences are filled in from the finding's evidence by `harnessdrc.wording`.
"""

from __future__ import annotations

import importlib
import inspect
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from harnessdrc.design import Design
from harnessdrc.findings import Finding, Subject, Undecided

__all__ = ["CHECKS", "HEADINGS", "Check", "Outcome", "check", "limit", "load_checks", "page"]

Outcome = Finding | Undecided
Run = Callable[[Design, Any], Iterator[Outcome]]
Subjects = Callable[[Design, Any], Sequence[Subject]]

HEADINGS = ("Why it matters", "Reads", "Decides", "Stays silent when", "Source")
"""Headings every check's page has, in this order, after its one-line fault."""

_MODULES = (
    "ground", "sensor", "ignition", "trigger", "feed", "fuse", "contact", "bundle",
    "wire", "branch", "cavity", "listing", "measured",
    "splice", "twist", "shield", "bus",
    "part", "terminal", "seal", "connector",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Check:
    """A registered check.

    Parameters
    ----------
    name : str
        ``module.function`` in trade words.
    run : callable
        The generator.
    counts : str
        What it looks at, in the plural, for the coverage.
    subjects : callable
        ``(design, limits)`` → every subject it looks at.
    reads : tuple of str
        Columns it needs.
    limits : type or None
        Frozen dataclass of its limits.
    says, remedy : mapping of str to str
        Sentences by variant of the finding; ``""`` is the only or the usual one.
    """

    name: str
    run: Run
    counts: str
    subjects: Subjects
    reads: tuple[str, ...]
    limits: type[Any] | None
    says: Mapping[str, str]
    remedy: Mapping[str, str]

    @property
    def fault(self) -> str:
        """The fault in one line."""
        return (inspect.getdoc(self.run) or "").split("\n", 1)[0]


CHECKS: dict[str, Check] = {}
"""Every check that has been loaded, by name."""


def check(
    name: str,
    *,
    counts: str,
    subjects: Subjects,
    reads: tuple[str, ...],
    says: Mapping[str, str],
    remedy: Mapping[str, str],
    limits: type[Any] | None = None,
) -> Callable[[Run], Run]:
    """Register a check under `name`; see the module's text.

    Raises
    ------
    ValueError
        For a name that is taken, or sentences whose variants differ.
    """

    def register(run: Run) -> Run:
        if name in CHECKS and CHECKS[name].run is not run:
            raise ValueError(f"a check named {name} is registered already")
        if set(says) != set(remedy):
            raise ValueError(f"{name}: says and remedy must have the same variants")
        CHECKS[name] = Check(name, run, counts, subjects, reads, limits, dict(says), dict(remedy))
        return run

    return register


def limit(default: Any, unit: str, meaning: str) -> Any:
    """Field of a limits dataclass, with its unit and meaning."""
    return field(default=default, metadata={"unit": unit, "meaning": meaning})


def load_checks() -> Mapping[str, Check]:
    """Load the shipped checks; more may have been registered by packages the user allowed."""
    for module in _MODULES:
        importlib.import_module(f"harnessdrc.checks.{module}")
    return CHECKS


def page(check: Check) -> dict[str, str]:
    """The check's page: heading → text, the one-line fault under ``""``."""
    text = inspect.getdoc(check.run) or ""
    sections = {"": check.fault}
    pattern = re.compile(rf"^({'|'.join(map(re.escape, HEADINGS))}):[ \n]", re.MULTILINE)
    parts = pattern.split(text)
    for heading, body in zip(parts[1::2], parts[2::2], strict=True):
        sections[heading] = re.sub(r"\s*\n\s*", " ", body.strip())
    return sections
