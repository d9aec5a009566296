"""Checks on the parts table: that it has what the lists name, once, as what it is, with ranges that can be."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Sequence

from harnessdrc.checks.registry import Outcome, check
from harnessdrc.design import Design
from harnessdrc.design.crimpfits import mixed, upside_down
from harnessdrc.design.fitting import Named
from harnessdrc.findings import Finding, Mark, Subject, Undecided
from harnessdrc.harness.elements import Part
from harnessdrc.harness.names import fold, natural_key

__all__ = ["kind", "listed_twice", "not_listed", "range_given"]

_KINDS_OF = {
    "terminal": frozenset({"terminal", "ring terminal", "splice"}),
    "seal": frozenset({"seal", "cavity plug"}),
    "splice": frozenset({"splice"}),
    "part": frozenset({"connector", "ring terminal", "splice", "cable", "sleeve", "boot", "other"}),
}
"""Kinds of part that may stand where a list names one."""
_COLUMNS = {"size": "size_min", "insulation": "insulation_min_m", "bore": "bore_min_m"}
_RANGES = {"size": "conductor", "insulation": "insulation", "bore": "bore"}


@check(
    "part.not_listed",
    counts="terminals, seals and other parts that the lists name",
    subjects=lambda design, limits: [("part", each.name) for each in design.fitting.named],
    reads=("from_terminal", "from_seal", "to_terminal", "to_seal", "terminal", "seal", "part"),
    says={
        "": "{subject} is not in the parts table.",
        "near": "{subject} is not in the parts table; the nearest there is {nearest}.",
    },
    remedy={
        "": "Add it to the parts table with what it takes, or correct its name.",
        "near": "Spell it as in the parts table, or add it there with what it takes.",
    },
)
def not_listed(design: Design, limits: None) -> Iterator[Outcome]:
    """A terminal, seal or other part that the lists name is not in the parts table.

    Why it matters: What is not in the table cannot be bought, and its crimp cannot be held against the wire.
    Reads: From terminal, From seal, To terminal and To seal of the wire list, Terminal and Seal of the pin list, Part
    of components and splices, and Part of the parts table.
    Decides: Every name must be in the parts table; capitals, spaces and dashes do not matter.
    Stays silent when: the word says that there is none: bare, soldered, none, cut, not fitted.
    Source: common practice, no source.
    """
    fitting = design.fitting
    for each in fitting.named:
        subject = ("part", each.name)
        marks = (Mark(each.place, each.name),)
        if not fitting.parts:
            yield Undecided(subject, ("a parts table",), marks)
        elif fold(each.name) not in fitting.parts:
            close = difflib.get_close_matches(fold(each.name), sorted(fitting.parts), n=1, cutoff=0.7)
            if close:
                yield Finding(subject, marks, {"nearest": fitting.parts[close[0]].name}, variant="near")
            else:
                yield Finding(subject, marks)


def _repeated(design: Design) -> dict[str, list[Part]]:
    """Parts that several rows describe, each differently from the first: folded name → those rows."""
    found: dict[str, list[Part]] = {}
    for first, again in design.harness.repeated_parts:
        rows = found.setdefault(first.key, [first])
        rows.append(again)
    return {key: sorted(rows, key=_row_order) for key, rows in found.items()}


def _row_order(part: Part) -> tuple[str, str, int]:
    return part.place.file, part.place.sheet, part.place.row


def _every_part(design: Design) -> list[Subject]:
    return [("part", part.name) for part in _sorted(design)]


def _sorted(design: Design) -> Sequence[Part]:
    return sorted(design.harness.parts.values(), key=lambda part: natural_key(part.key))


@check(
    "part.listed_twice",
    counts="parts of the parts table",
    subjects=lambda design, limits: _every_part(design),
    reads=("part",),
    says={"": "{subject} has {count} rows in the parts table that do not say the same."},
    remedy={"": "Keep the row that agrees with the data sheet, and take the others out or rename them."},
)
def listed_twice(design: Design, limits: None) -> Iterator[Outcome]:
    """A part has two rows in the parts table that differ.

    Why it matters: One of the two ranges is wrong, and the crimps are held against the first of them.
    Reads: All columns of the parts table.
    Decides: Rows with one name must say the same; notes aside.
    Stays silent when: the rows agree.
    Source: common practice, no source.
    """
    repeated = _repeated(design)
    for part in _sorted(design):
        rows = repeated.get(part.key)
        if rows:
            again = (Mark(row.place.of("part"), "again") for row in rows[1:])
            marks = (Mark(rows[0].place.of("part"), part.name), *again)
            yield Finding(("part", part.name), marks, {"count": len(rows)}, measured=float(len(rows)), limit=1.0)


def _used(design: Design) -> dict[str, tuple[Part, list[Named]]]:
    """Parts that are named and in the table, by name, with all that each stands as."""
    fitting = design.fitting
    found: dict[str, tuple[Part, list[Named]]] = {}
    for each in fitting.named_as if fitting.parts else ():
        part = fitting.part(each.name)
        if part is not None:
            found.setdefault(part.key, (part, []))[1].append(each)
    return found


@check(
    "part.kind",
    counts="parts that the lists name and the parts table has",
    subjects=lambda design, limits: [("part", part.name) for part, _ in _used(design).values()],
    reads=("part", "kind", "from_terminal", "from_seal", "to_terminal", "to_seal", "terminal", "seal"),
    says={"": "{subject} stands as a {stands_as} in the list and as a {kind} in the parts table."},
    remedy={"": "Correct the name in the list, or the kind in the parts table."},
)
def kind(design: Design, limits: None) -> Iterator[Outcome]:
    """A part stands in a list as something that it is not.

    Why it matters: A seal under Terminal, or a connector under Seal, is a cell in the wrong column: what belongs there
    is missing from the cut list.
    Reads: Kind of the parts table, and the column that names the part first.
    Decides: Under Terminal stands a terminal, ring terminal or splice; under Seal a seal or a cavity plug; under Part
    of a splice a splice, of a component a connector or another part that is not a loose terminal or seal.
    Stays silent when: the kinds agree.
    Source: common practice, no source.
    """
    for part, uses in _used(design).values():
        subject = ("part", part.name)
        row = Mark(part.place.of("kind", "part"), "in the parts table")
        if part.kind is None:
            yield Undecided(subject, (f"kind of part {part.name}",), (row,))
            continue
        wrong = [each for each in uses if part.kind not in _KINDS_OF[each.stands_as]]
        if wrong:
            stands_as = "connector or the like" if wrong[0].stands_as == "part" else wrong[0].stands_as
            marks = (*(Mark(each.place, each.name) for each in wrong), row)
            yield Finding(subject, marks, {"stands_as": stands_as, "kind": part.kind})


@check(
    "part.range_given",
    counts="parts of the parts table",
    subjects=lambda design, limits: _every_part(design),
    reads=("size_min", "size_max", "insulation_min_m", "insulation_max_m", "bore_min_m", "bore_max_m"),
    says={
        "": "The {what} range of {subject} begins at {low} and ends at {high}.",
        "systems": "The conductor range of {subject} is of two systems, {low} to {high}.",
    },
    remedy={
        "": "Change the two round, or correct the slip.",
        "systems": "Give both ends as the data sheet has them, in mm² or in AWG; neither is converted to the other.",
    },
)
def range_given(design: Design, limits: None) -> Iterator[Outcome]:
    """A range of the parts table is upside down, or of two systems of sizes.

    Why it matters: Nothing lies in a range that begins above its end; and no gauge is a metric size.
    Reads: Smallest and Largest wire, insulation and bore of the parts table.
    Decides: Smallest is no more than largest, and both sizes are of one system.
    Stays silent when: one end of the range is not given.
    Source: common practice, no source.
    """
    for part in _sorted(design):
        found = upside_down(part)
        if found is not None:
            what, low, high = found
            marks = (Mark(part.place.of(_COLUMNS[what]), part.name),)
            yield Finding(("part", part.name), marks, {"what": _RANGES[what], "low": low, "high": high})
        elif mixed(part):
            marks = (Mark(part.place.of("size_max"), part.name),)
            evidence = {"low": str(part.size_min), "high": str(part.size_max)}
            yield Finding(("part", part.name), marks, evidence, variant="systems")
