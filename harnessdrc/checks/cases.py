"""The cases every check owes: small lists that it finds something in, and small lists on which it stays silent.

One TOML file per check in the folder ``cases`` beside this module, named as the check. Each case holds its
tables as CSV text, the way a loom builder would write them; `harnessdrc explain` shows them and the tests run
them. This module only reads the files; it knows nothing of how lists are read or checked.
"""

from __future__ import annotations

import csv
import io
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any, Literal

__all__ = ["EXPECTED", "Case", "Cases", "cases_folder", "cases_of", "load_cases"]

Expect = Literal["finding", "silent", "undecided", "not_looked_at"]
EXPECTED: tuple[Expect, ...] = ("finding", "silent", "undecided", "not_looked_at")

_FILE_KEYS = frozenset({"check", "never_undecided", "case"})
_CASE_KEYS = frozenset(
    {"name", "about", "expect", "subject", "variant", "cells", "missing", "measured", "limits", "given",
     "of_limit", "tables", "tables_of"}
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Case:
    """One small list and what the check says of one subject in it.

    Parameters
    ----------
    check, name : str
        Name of the check and of the case.
    about : str
        The situation in one line, with the arithmetic where there is a number to reach.
    expect : {"finding", "silent", "undecided", "not_looked_at"}
        ``silent`` is a subject that was looked at and is clear; ``not_looked_at`` one that the limits
        leave out.
    subject : tuple of (str, str)
        Kind and name of the subject it is about.
    variant : str
        Which of the check's sentences applies.
    cells : tuple of str
        ``sheet cell`` of the places pointed at, the main one first: ``wires D3``.
    missing : tuple of str
        Words that stand in what an undecided subject lacks.
    measured : float or None
        What the check measures, worked out by hand, in the unit of its limit.
    limits : mapping
        Limits that differ from the check's own.
    given : mapping of str to float
        Given values that differ from the shipped ruleset's.
    of_limit : str
        Limit that this case shows the working of.
    tables : mapping of str to str
        CSV text by the name of the form.
    """

    check: str
    name: str
    about: str
    expect: Expect
    subject: tuple[str, str]
    variant: str = ""
    cells: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    measured: float | None = None
    limits: Mapping[str, Any] = field(default_factory=dict)
    given: Mapping[str, float] = field(default_factory=dict)
    of_limit: str = ""
    tables: Mapping[str, str] = field(default_factory=dict)

    def rows(self) -> dict[str, list[list[str]]]:
        """Cells of every table, the headings first."""
        return {form: list(csv.reader(io.StringIO(text))) for form, text in self.tables.items()}


@dataclass(frozen=True, slots=True)
class Cases:
    """All cases of one check.

    Parameters
    ----------
    check : str
        Its name.
    cases : tuple of Case
        In the order of the file.
    never_undecided : str
        Why the check can always decide; empty for one that may be undecided.
    """

    check: str
    cases: tuple[Case, ...]
    never_undecided: str = ""

    def named(self, name: str) -> Case | None:
        """Case of this name, or None."""
        return next((case for case in self.cases if case.name == name), None)


def cases_folder() -> Path:
    """Folder with the TOML files of the shipped checks."""
    return Path(__file__).parent / "cases"


@cache
def load_cases(check: str, folder: Path | None = None) -> Cases | None:
    """Cases of a check.

    Parameters
    ----------
    check : str
        Its name, ``module.function``.
    folder : Path, optional
        Where to look; the shipped cases by default. A package with checks of its own has its own folder.

    Returns
    -------
    Cases or None
        None when there is no file for this check.

    Raises
    ------
    ValueError
        For a file that is no TOML, or with keys or words that are not known; the sentence names the file,
        the case and what is expected.
    """
    path = (folder or cases_folder()) / f"{check}.toml"
    if not path.is_file():
        return None
    try:
        content = tomllib.loads(path.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise ValueError(f"{path.name}: expected a TOML file in UTF-8 ({error}).") from error
    _known(path.name, content, _FILE_KEYS)
    if content.get("check") != check:
        raise ValueError(f'{path.name}: expected check = "{check}", found {content.get("check")!r}.')
    cases: dict[str, Case] = {}
    for number, entry in enumerate(content.get("case", ()), 1):
        where = f"{path.name}, case {entry.get('name', number)}"
        case = _case(check, entry, cases, where)
        if case.name in cases:
            raise ValueError(f"{where}: this name stands twice; give each case its own.")
        cases[case.name] = case
    return Cases(check, tuple(cases.values()), str(content.get("never_undecided", "")))


def cases_of(check: str) -> tuple[Case, ...]:
    """Cases of a shipped check in the order of its file; empty for a check that has none."""
    found = load_cases(check)
    return found.cases if found else ()


def _known(where: str, table: Mapping[str, Any], known: frozenset[str]) -> None:
    strange = sorted(set(table) - known)
    if strange:
        raise ValueError(f"{where}: {', '.join(strange)} not known; expected {', '.join(sorted(known))}.")


def _case(check: str, entry: Mapping[str, Any], earlier: Mapping[str, Case], where: str) -> Case:
    _known(where, entry, _CASE_KEYS)
    for key in ("name", "about", "expect", "subject"):
        if not entry.get(key):
            raise ValueError(f"{where}: '{key}' is missing.")
    if entry["expect"] not in EXPECTED:
        raise ValueError(f"{where}: expect is {entry['expect']!r}; expected one of {', '.join(EXPECTED)}.")
    kind, colon, name = str(entry["subject"]).partition(":")
    if not colon:
        raise ValueError(f"{where}: subject is {entry['subject']!r}; expected kind:name.")
    if ("tables" in entry) == ("tables_of" in entry):
        raise ValueError(f"{where}: expected either its own tables or tables_of, the name of an earlier case.")
    if "tables_of" in entry:
        other = earlier.get(entry["tables_of"])
        if other is None:
            raise ValueError(f"{where}: tables_of names {entry['tables_of']!r}, which is no earlier case.")
        tables = dict(other.tables)
    else:
        tables = dict(entry["tables"])
    return Case(
        check=check,
        name=entry["name"],
        about=entry["about"],
        expect=entry["expect"],
        subject=(kind, name),
        variant=entry.get("variant", ""),
        cells=tuple(entry.get("cells", ())),
        missing=tuple(entry.get("missing", ())),
        measured=entry.get("measured"),
        limits={k: tuple(v) if isinstance(v, list) else v for k, v in entry.get("limits", {}).items()},
        given=dict(entry.get("given", {})),
        of_limit=entry.get("of_limit", ""),
        tables=tables,
    )
