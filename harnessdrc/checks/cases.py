"""The cases a check owes: small lists as a loom builder would write them, and what the check says of each.

One TOML file per check in ``cases/``, shipped so that ``harnessdrc explain`` can show an example that is
found and one that is not; the tests run all of them.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib.resources import files
from typing import Any

__all__ = ["Case", "cases_of"]


@dataclass(frozen=True, slots=True)
class Case:
    """One list and its verdict.

    Parameters
    ----------
    name : str
        ``finds``, ``near_miss``, ``undecided``, ``just_under_…``, ``just_over_…`` or a free one.
    about : str
        What the list shows, in a sentence.
    expect : {"finding", "silent", "undecided"}
        What the check says of `subject`.
    subject : tuple of (str, str)
        Kind and name.
    tables : mapping of str to str
        Form of table → CSV text with the recommended headings.
    variant : str
        Sentence of the finding.
    cells : tuple of str
        Sheet and cell of the main place.
    limits : mapping of str to object
        Limits that differ from the check's own.
    """

    name: str
    about: str
    expect: str
    subject: tuple[str, str]
    tables: Mapping[str, str]
    variant: str = ""
    cells: tuple[str, ...] = ()
    limits: Mapping[str, Any] = field(default_factory=dict)


def cases_of(check: str) -> tuple[Case, ...]:
    """Cases of a check, in the order of its file; empty for a check that has none."""
    source = files("harnessdrc.checks").joinpath("cases", f"{check}.toml")
    if not source.is_file():
        return ()
    return tuple(
        Case(
            entry["name"], entry["about"], entry["expect"], tuple(entry["subject"].split(":", 1)),
            entry["tables"], entry.get("variant", ""), tuple(entry.get("cells", ())), entry.get("limits", {}),
        )
        for entry in tomllib.loads(source.read_text("utf-8"))["case"]
    )  # fmt: skip
