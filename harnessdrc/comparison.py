"""What two issues of a list differ in, as plain data for every renderer.

Nothing here computes; `harnessdrc.compare` fills these in. An issue is ``old`` or ``new``; a value that an issue does
not give is None.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, NamedTuple

from harnessdrc.places import Place
from harnessdrc.results import OffsetLine, ReportedFinding, ReportedUndecided, SourceFile

__all__ = [
    "CHANGES",
    "ColumnChange",
    "Comparison",
    "Edit",
    "Edits",
    "FieldChange",
    "FindingChange",
    "IssueAccount",
    "ObjectChange",
    "OffsetChange",
    "SizeTotal",
    "Total",
    "Trend",
    "UndecidedChange",
]

Edit = Literal["added", "removed", "renamed", "moved", "resized", "recoloured", "length", "signal", "changed"]
"""What happened: ``length`` and ``signal`` are changes of these; ``changed`` is a change of any other column."""

CHANGES: tuple[Edit, ...] = (
    "added", "removed", "renamed", "moved", "resized", "recoloured", "length", "signal", "changed",
)  # fmt: skip

Edits = Literal["added", "removed", "changed"]
"""What happened to an object as a whole."""

Trend = Literal["new", "gone", "worse", "better", "same"]
"""How a finding went on: ``worse`` and ``better`` by more than half a per cent of its limit, ``same`` otherwise and
where nothing is measured."""


class FieldChange(NamedTuple):
    """One column of one object in both issues.

    Parameters
    ----------
    edit : str
        One of `CHANGES`; of an object that was added or removed as a whole the same as that.
    column : str
        Heading of the column.
    before, after : str or None
        What it says in each issue, with its unit; None where it says nothing.
    old_place, new_place : Place or None
        Its cell in each issue.
    """

    edit: Edit
    column: str
    before: str | None
    after: str | None
    old_place: Place | None
    new_place: Place | None


class ObjectChange(NamedTuple):
    """One object that differs.

    Parameters
    ----------
    kind : str
        ``wire``, ``component``, ``connector``, ``fuse``, ``splice``, ``earth point``, ``cavity``, ``strap``, ``part``,
        ``branch``, ``point`` or ``joint``.
    edit : str
        ``added``, ``removed`` or ``changed``.
    old_name, new_name : str or None
        Its name in each issue; None in one that does not have it.
    old_place, new_place : Place or None
        Its cell in each issue.
    fields : tuple of FieldChange
        What changed; of an added or removed object all that the list says of it.
    """

    kind: str
    edit: Edits
    old_name: str | None
    new_name: str | None
    old_place: Place | None
    new_place: Place | None
    fields: tuple[FieldChange, ...]

    @property
    def name(self) -> str:
        """Its name in the new issue, in the old one if it is gone."""
        return self.new_name or self.old_name or ""

    @property
    def edits(self) -> tuple[Edit, ...]:
        """Everything that happened to it, each once, in the order of `CHANGES`."""
        if self.edit != "changed":
            return (self.edit,)
        done = {field.edit for field in self.fields}
        return tuple(edit for edit in CHANGES if edit in done)


class ColumnChange(NamedTuple):
    """A column of the wire list that only one issue has; its cells are not told one by one.

    Parameters
    ----------
    edit : str
        ``added`` or ``removed``.
    column : str
        Its heading.
    filled : int
        Wires of which it says something.
    place : Place or None
        Its heading's cell, in the issue that has it.
    """

    edit: Edits
    column: str
    filled: int
    place: Place | None


class FindingChange(NamedTuple):
    """A finding in both issues, or in one; `before` and `after` are the finding itself."""

    trend: Trend
    before: ReportedFinding | None
    after: ReportedFinding | None

    @property
    def finding(self) -> ReportedFinding:
        """That of the new issue, or of the old one if it is gone."""
        found = self.after or self.before
        assert found is not None
        return found


class UndecidedChange(NamedTuple):
    """A subject that a rule cannot decide in only one of the issues: ``new`` or ``gone``."""

    trend: Trend
    undecided: ReportedUndecided


class OffsetChange(NamedTuple):
    """Ground offset of one victim in each issue; None in one that has no such victim.

    `share_before` and `share_after` are the worst offset over its limit: above 1 it is crossed; None without a limit.
    """

    before: OffsetLine | None
    after: OffsetLine | None
    share_before: float | None
    share_after: float | None

    @property
    def line(self) -> OffsetLine:
        """That of the new issue, or of the old one if it has gone."""
        line = self.after or self.before
        assert line is not None
        return line


class Total(NamedTuple):
    """A sum over the wires of each issue, in `unit`, and how many wires are not in it for want of data."""

    what: str
    unit: str
    before: float
    after: float
    unknown_before: int
    unknown_after: int


class SizeTotal(NamedTuple):
    """Wires of one size in each issue, and their length as far as it is known, m."""

    size: str
    wires_before: int
    wires_after: int
    before_m: float
    after_m: float


class IssueAccount(NamedTuple):
    """One of the two issues.

    Parameters
    ----------
    sources : tuple of SourceFile
        Its files.
    issue_mark : str
        Mark that tells it from every other issue.
    wires, pins, components : int
        Objects read.
    hold, query, note, accepted, undecided : int
        Open findings by grade, findings under a concession, and subjects not decided.
    crashed : tuple of str
        Rules that failed to run, each with the reason.
    """

    sources: tuple[SourceFile, ...]
    issue_mark: str
    wires: int
    pins: int
    components: int
    hold: int
    query: int
    note: int
    accepted: int
    undecided: int
    crashed: tuple[str, ...]

    @property
    def files(self) -> str:
        """Names of its files."""
        return ", ".join(source.file for source in self.sources)


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two issues of one list held against each other under the same rules.

    Parameters
    ----------
    version : str
        Of the program.
    ruleset_name, ruleset_issue : str
        Rules that both were checked against.
    old, new : IssueAccount
    columns : tuple of ColumnChange
        Columns of the wire list that only one issue has.
    objects : tuple of ObjectChange
        Everything that differs, wires first, each kind in the natural order of names.
    findings : tuple of FindingChange
        New ones first, then worse, gone, better and same; within these as the rules order them.
    undecided : tuple of UndecidedChange
        Subjects not decided in only one of them.
    states : tuple of str
        Operating states, one for each value of an offset.
    offsets : tuple of OffsetChange
        Every victim, the greatest change in parts of its limit first.
    totals : tuple of Total
        Wires, length and copper.
    sizes : tuple of SizeTotal
        The same by size, of the sizes whose wires or length differ.
    remarks : tuple of str
        What else is to be said, one sentence each: files that are the same, what could not be compared.
    """

    version: str
    ruleset_name: str
    ruleset_issue: str
    old: IssueAccount
    new: IssueAccount
    columns: tuple[ColumnChange, ...] = ()
    objects: tuple[ObjectChange, ...] = ()
    findings: tuple[FindingChange, ...] = ()
    undecided: tuple[UndecidedChange, ...] = ()
    states: tuple[str, ...] = ()
    offsets: tuple[OffsetChange, ...] = ()
    totals: tuple[Total, ...] = ()
    sizes: tuple[SizeTotal, ...] = ()
    remarks: tuple[str, ...] = ()

    @property
    def differs(self) -> bool:
        """Whether the lists differ in anything that is read from them, or in what the rules say of them."""
        return bool(
            self.columns
            or self.objects
            or self.undecided
            or any(change.trend != "same" for change in self.findings)
        )

    @property
    def crashed(self) -> bool:
        """Whether a rule failed to run on either issue."""
        return bool(self.old.crashed or self.new.crashed)

    def count(self, edit: Edit, kind: str = "wire") -> int:
        """Objects of a kind to which this happened; one may count under several."""
        return sum(1 for change in self.objects if change.kind == kind and edit in change.edits)

    def trends(self, trend: Trend) -> int:
        """Findings that went on so."""
        return sum(1 for change in self.findings if change.trend == trend)
