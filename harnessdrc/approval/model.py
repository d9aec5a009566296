"""An approval: who approved which issue of a list, by which rules, with what accepted and what left open."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

from harnessdrc.results import (
    AssumptionLine,
    ConcessionLine,
    GivenValue,
    ReportedFinding,
    ReportedUndecided,
    SourceFile,
)

__all__ = ["Approval", "ApprovedRuleset", "Signature"]


class ApprovedRuleset(NamedTuple):
    """Rules that were run.

    Parameters
    ----------
    name, issue : str
        As stated in the ruleset.
    asked_for : str
        Name or file as given on the command line.
    sha256 : str
        Of its content as it works: rules with limits, scopes and grades, states, what is switched off. Given values
        stand apart.
    """

    name: str
    issue: str
    asked_for: str
    sha256: str


class Signature(NamedTuple):
    """Ed25519 signature (RFC 8032) over the digest of an approval, both in base64.

    Parameters
    ----------
    public_key : str
        32 bytes.
    value : str
        64 bytes.
    """

    public_key: str
    value: str


@dataclass(frozen=True, slots=True)
class Approval:
    """Everything that an approval says.

    Parameters
    ----------
    by, on, note : str
        Who approved; the day, as ``2026-11-25``; what else they had to say.
    key : str
        Fingerprint of the key that it is signed with; empty for an approval without signature.
    version : str
        Of the program.
    issue_mark : str
        Tells this issue of the list from every other, as on the papers.
    inputs : tuple of SourceFile
        The list.
    mapping, measured : SourceFile or None
        Mapping and filled-in test sheets, where they were given.
    ruleset : ApprovedRuleset
    given : tuple of GivenValue
    concessions_on : str
        Day for which concessions were looked at; empty where none were given.
    concessions_in_list : bool
    concession_files : tuple of SourceFile
    concessions : tuple of ConcessionLine
        Each with what became of it.
    counts : mapping of str to int
        Wires, pins, components, rows; open findings by grade; undecided; accepted.
    looked_at : tuple of (str, str, int, int, int)
        Rule, grade, subjects looked at, findings, undecided.
    open : tuple of ReportedFinding
        Queries and notes that are open.
    undecided : tuple of ReportedUndecided
        Of rules that are not on hold.
    assumptions : tuple of AssumptionLine
        What was read into the list, which the approval accepts.
    digest : str
        SHA-256 of all this in its canonical form.
    signature : Signature or None
    """

    by: str
    on: str
    note: str
    key: str
    version: str
    issue_mark: str
    inputs: tuple[SourceFile, ...]
    mapping: SourceFile | None
    measured: SourceFile | None
    ruleset: ApprovedRuleset
    given: tuple[GivenValue, ...]
    concessions_on: str
    concessions_in_list: bool
    concession_files: tuple[SourceFile, ...]
    concessions: tuple[ConcessionLine, ...]
    counts: Mapping[str, int]
    looked_at: tuple[tuple[str, str, int, int, int], ...]
    open: tuple[ReportedFinding, ...]
    undecided: tuple[ReportedUndecided, ...]
    assumptions: tuple[AssumptionLine, ...]
    digest: str = ""
    signature: Signature | None = None
