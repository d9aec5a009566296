"""Whether a list can be approved, and the approval of it."""

from __future__ import annotations

import dataclasses
import hashlib
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from harnessdrc.approval.document import canonical, content_of, digest_of
from harnessdrc.approval.model import Approval, ApprovedRuleset
from harnessdrc.approval.signing import Signer
from harnessdrc.findings import GRADES, Mark
from harnessdrc.results import ReportedFinding, Result, SourceFile
from harnessdrc.rulesets import Ruleset
from harnessdrc.tables.issues import issue_mark

__all__ = ["Refusal", "file_of", "make_approval", "refusals", "ruleset_sha256"]


@dataclasses.dataclass(frozen=True, slots=True)
class Refusal:
    """Something for which a list is not approved.

    Parameters
    ----------
    why : str
        ``hold``, ``undecided`` or ``crashed``.
    rule : str
    text : str
        What it is, as one sentence.
    marks : tuple of Mark
        Where.
    """

    why: str
    rule: str
    text: str
    marks: tuple[Mark, ...] = ()


def refusals(result: Result) -> tuple[Refusal, ...]:
    """Everything for which a list is not approved: open findings on hold, undecided ones, checks that failed to run.

    Parameters
    ----------
    result : Result
        With concessions laid to it.
    """
    found = [
        Refusal("hold", each.rule, each.message, each.marks)
        for each in result.findings
        if each.grade == "hold" and each.concession is None
    ]
    found += [
        Refusal("undecided", each.rule, f"{' '.join(each.subject)} needs {'; '.join(each.missing)}.", each.marks)
        for each in result.undecided
        if each.grade == "hold"
    ]
    found += [
        Refusal("crashed", each.rule, f"It failed to run: {each.crashed}; what it would find is not known.")
        for each in result.rules
        if each.crashed
    ]
    return tuple(found)


def make_approval(
    result: Result,
    ruleset: Ruleset,
    *,
    by: str,
    on: str,
    note: str = "",
    asked_for: str,
    mapping: SourceFile | None = None,
    measured: SourceFile | None = None,
    signer: Signer | None = None,
) -> Approval:
    """The approval of a list that nothing speaks against.

    Parameters
    ----------
    result : Result
        Outcome of the rules, for which `refusals` gives nothing.
    ruleset : Ruleset
        The rules.
    by, on, note : str
        Who approves, the day as ``2026-11-25``, what else there is to say.
    asked_for : str
        Ruleset as given on the command line.
    mapping, measured : SourceFile, optional
        Where they were given.
    signer : Signer, optional
        Signs it.

    Raises
    ------
    ValueError
        For a list that is not to be approved.
    """
    if refusals(result):
        raise ValueError("this list is not to be approved")
    outcome, read = result.concessions, result.read
    counts: dict[str, int] = {
        "rows_seen": read.rows_seen, "rows_used": read.rows_used, "rows_set_aside": len(read.set_aside),
        "wires": read.wires, "pins": read.pins, "components": read.components,
    }  # fmt: skip
    counts |= {grade: result.count(grade) for grade in GRADES}
    counts["undecided"] = len(result.undecided)
    counts["accepted"] = sum(1 for each in result.findings if each.concession is not None)
    approval = Approval(
        by=by, on=on, note=note, key=signer.fingerprint if signer else "", version=result.version,
        issue_mark=issue_mark(source.sha256 for source in result.sources), inputs=result.sources,
        mapping=mapping, measured=measured,
        ruleset=ApprovedRuleset(result.ruleset_name, result.ruleset_issue, asked_for, ruleset_sha256(ruleset)),
        given=result.given, concessions_on=outcome.on, concessions_in_list=outcome.in_list,
        concession_files=outcome.files, concessions=outcome.lines, counts=counts,
        looked_at=tuple((r.rule, r.grade, r.looked_at, r.findings, r.undecided) for r in result.rules),
        open=tuple(each for each in result.findings if _is_open(each)), undecided=result.undecided,
        assumptions=result.assumptions,
    )  # fmt: skip
    approval = replace(approval, digest=digest_of(content_of(approval)))
    return replace(approval, signature=signer.sign(approval.digest)) if signer else approval


def _is_open(finding: ReportedFinding) -> bool:
    return finding.concession is None


def ruleset_sha256(ruleset: Ruleset) -> str:
    """SHA-256 of a ruleset as it works: two files that say the same have the same, whatever their comments.

    Given values are not in it, since the command line may set them; an approval tells each of them.
    """
    content = {
        "name": ruleset.name, "issue": ruleset.issue, "rules": ruleset.rules, "rules_off": ruleset.rules_off,
        "states": ruleset.states, "states_off": ruleset.states_off, "packages": ruleset.packages,
    }  # fmt: skip
    return hashlib.sha256(canonical(_plain(content))).hexdigest()


def _plain(value: Any) -> Any:
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: _plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {str(key): _plain(item) for key, item in value.items()}
    if isinstance(value, set | frozenset):
        return sorted(map(str, value))
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    if isinstance(value, bool | int | float | str) or value is None:
        return value if not isinstance(value, float) or value - value == 0.0 else str(value)
    return str(value)


def file_of(path: Path) -> SourceFile:
    """Name and SHA-256 of a file."""
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while block := file.read(1 << 20):
            digest.update(block)
    return SourceFile(path.name, digest.hexdigest())
