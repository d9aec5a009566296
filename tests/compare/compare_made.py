"""Two issues of a list made from rows, and what comparing them tells, in few words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from text_lists import read_rows, shipped_given, shipped_ruleset, shipped_states

from harnessdrc.checks.registry import load_checks
from harnessdrc.compare import Issue, compare_issues
from harnessdrc.comparison import Comparison, ObjectChange
from harnessdrc.design import design_of
from harnessdrc.engine import run
from harnessdrc.intake.grid import Cell
from harnessdrc.results import ReadSummary, Result

Rows = Sequence[Sequence[Cell]]
Tables = Mapping[str, Rows]

HEAD = ("Wire", "From", "From cavity", "To", "To cavity", "Colour", "Size (mm²)", "Length (mm)", "Signal", "Note")


def unchecked(tables: Tables) -> Issue:
    """An issue as read, that no rule was asked about."""
    design = design_of(read_rows(tables), shipped_given(), shipped_states())
    account = ReadSummary(0, 0, (), len(design.harness.wires), 0, 0)
    return Issue(design, Result("0", (), "none", "0", (), account, (), (), (), ()))


def checked(tables: Tables) -> Issue:
    """An issue with what the shipped rules say of it."""
    reading = read_rows(tables)
    design = design_of(reading, shipped_given(), shipped_states())
    return Issue(design, run(design, shipped_ruleset(), load_checks(), reading))


def wires(*rows: Sequence[Cell], head: Sequence[str] = HEAD) -> dict[str, Rows]:
    """A list of nothing but wires; short rows are filled up with nothing."""
    return {"Wires": [head, *([*row, *[None] * (len(head) - len(row))] for row in rows)]}


def compared(old: Tables, new: Tables) -> Comparison:
    """Two issues, by what is read from them alone."""
    return compare_issues(unchecked(old), unchecked(new))


def in_words(change: ObjectChange) -> tuple[object, ...]:
    """A change without its cells."""
    if change.edit == "changed":
        fields = frozenset((field.edit, field.column, field.before, field.after) for field in change.fields)
        return change.kind, change.edit, change.old_name, change.new_name, fields
    return change.kind, change.edit, change.old_name, change.new_name


def told(comparison: Comparison) -> set[tuple[object, ...]]:
    """Everything that changed, without its cells."""
    said = [in_words(change) for change in comparison.objects]
    assert len(said) == len(set(said)), "something is told twice"
    return set(said)


def turned(said: set[tuple[object, ...]]) -> set[tuple[object, ...]]:
    """The same with old and new exchanged."""
    other = {"added": "removed", "removed": "added"}
    result = set()
    for kind, edit, old, new, *fields in said:
        turned_fields = [
            frozenset((each, column, after, before) for each, column, before, after in group)  # type: ignore[attr-defined]
            for group in fields
        ]
        result.add((kind, other.get(str(edit), edit), new, old, *turned_fields))
    return result
