"""The Findings sheet: the verdict, what was found and what to do, and what could not be decided."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from harnessdrc.findings import GRADES, Grade, Mark, figures, unit_sign
from harnessdrc.render.offsets import range_text
from harnessdrc.render.proposals import effect_text
from harnessdrc.results import ReportedFinding, ReportedUndecided, Result

from .links import Links
from .looks import GRADE_WORDS, TAB_COLOURS
from .ordering import NumberedFinding
from .page import Page, PageCell
from .pagelooks import (
    ACCEPTED,
    BODY,
    BOLD,
    CAUTION,
    GRADE_LOOKS,
    LEGEND,
    NUMBER,
    SMALL,
    TICK,
    TITLE,
    UNDECIDED,
    UNIT,
    VERDICT,
    add_headings,
    add_section,
    grade_cell,
    indented,
    linked,
    value_cell,
)

__all__ = ["CAUTIONS", "PROOF", "FindingsPage", "findings_page", "verdict"]

PROOF = "A clear result is not proof that a loom is safe; estimates must be measured on the bench."
CAUTIONS = (
    "On the bench: disconnect the battery first; keep off airbag circuits; coils and their leads carry high "
    "voltage; ventilate; fuse every feed at its source."
)
_COLUMNS = (
    ("No.", 6), ("Grade", 11.5), ("Subject", 14), ("What was found", 40), ("Measured", 10), ("Limit", 8.5),
    ("Unit", 7.5), ("What to do", 36), ("Place", 17), ("Also see", 17), ("Rule", 15), ("Done", 6.5),
)  # fmt: skip
_FOUND, _MEASURED, _PLACE, _ALSO, _DONE = 3, 4, 8, 9, 11
_FURTHER_ROWS = 20
_OPEN_BOX = "☐"
_ARTICLES: dict[Grade, str] = {"hold": "on hold", "query": "a query", "note": "a note"}
_SECTIONS: dict[Grade, str] = {
    "hold": "ON HOLD: do not build before these are closed",
    "query": "QUERIES: for the engineer to answer",
    "note": "NOTES",
}


@dataclass(slots=True)
class FindingsPage:
    """The sheet, and the row of each finding on it (in the order of the numbered findings)."""

    page: Page
    rows: list[int] = field(default_factory=list)


def verdict(result: Result) -> str:
    """The outcome in one line of counts, and what it means for the build."""
    counts = [f"{result.count(grade)} {grade}" for grade in GRADES]
    counts.append(f"{len(result.undecided)} undecided")
    accepted = sum(1 for one in result.findings if one.concession is not None)
    if accepted:
        counts.append(f"{accepted} accepted under a concession")
    line = " · ".join(counts)
    crashed = sum(1 for rule in result.rules if rule.crashed)
    if result.count("hold"):
        line += ". Do not build before what is on hold is closed."
    elif crashed or result.undecided:
        line += ". Nothing on hold was found, but not everything could be decided."
    else:
        line += ". Nothing on hold was found in what was looked at (see Coverage)."
    if crashed:
        line += f" {crashed} check{'s' if crashed > 1 else ''} failed to run: see Coverage."
    return line


def findings_page(
    result: Result,
    findings: Sequence[NumberedFinding],
    links: Links,
    name: str,
    title: str,
    remarks: Sequence[str],
) -> FindingsPage:
    """Make the sheet.

    Parameters
    ----------
    result : Result
        Outcome of the run.
    findings : sequence of NumberedFinding
        Its findings in order.
    links : Links
        Where places are in the workbook.
    name, title : str
        Of the sheet; of the list that is marked.
    remarks : sequence of str
        What else the reader must know about this copy.
    """
    page = Page(name, [width for _, width in _COLUMNS], TAB_COLOURS["Findings"], f"Findings: {title}")
    page.blank = BODY
    made = FindingsPage(page)
    page.across(f"Redline of {title}", TITLE, 24)
    page.across(verdict(result), VERDICT)
    page.across(f"{PROOF} {CAUTIONS}", CAUTION)
    issue = f", issue {result.ruleset_issue}" if result.ruleset_issue else ""
    page.across(f"Rules: {result.ruleset_name}{issue}. harnessdrc {result.version}.", CAUTION)
    for remark in remarks:
        page.across(remark, CAUTION)
    _legend(page)
    page.heading_row = add_headings(page, [heading for heading, _ in _COLUMNS])
    page.done_column = _DONE
    section = ""
    for one in findings:
        wanted = _section(one, section)
        if wanted != section:
            section = wanted
            add_section(page, f"{section} ({_count(findings, section)})")
        made.rows.append(_finding(page, one, links))
    if not findings:
        add_section(page, "No findings: see Coverage for what was looked at")
    if result.undecided:
        add_section(
            page,
            f"UNDECIDED: the list does not say enough; the data named would decide ({len(result.undecided)})",
        )
        for number, undecided in enumerate(result.undecided, 1):
            _undecided(page, number, undecided, links)
    page.filtered_to = page.next_row - 1
    return made


def _legend(page: Page) -> None:
    cells: list[PageCell | None] = [None] * len(page.widths)
    cells[0] = PageCell(
        "A click on a marked text leads to its row here, a click on a place to its cell.   Fills:", LEGEND
    )
    for at, grade in zip((_MEASURED, _MEASURED + 1, _MEASURED + 2), GRADES, strict=True):
        cells[at] = PageCell(GRADE_WORDS[grade], GRADE_LOOKS[grade])
    cells[_MEASURED + 3] = PageCell("  Tick off in the last column what is done.", LEGEND)
    page.add(cells, 19)


def _section(one: NumberedFinding, current: str) -> str:
    if one.finding.concession is not None:
        return "ACCEPTED under a concession"
    # a consequence stays in the section of its cause
    return current if one.depth else _SECTIONS[one.finding.grade]


def _count(findings: Sequence[NumberedFinding], section: str) -> str:
    current, own, following = "", 0, 0
    for one in findings:
        current = _section(one, current)
        if current == section:
            if one.depth:
                following += 1
            else:
                own += 1
    return f"{own}, with {following} that follow from them" if following else str(own)


def _finding(page: Page, one: NumberedFinding, links: Links) -> int:
    finding = one.finding
    message = ("↳ " if one.depth else "") + finding.message
    if finding.concession is not None:
        message += f"\nAccepted ({GRADE_WORDS[finding.grade]} otherwise) {finding.concession}"
    todo = _what_to_do(finding)
    cells: list[PageCell | None] = [
        PageCell(int(one.number) if one.number.isdecimal() else one.number, BOLD),
        grade_cell(finding.grade) if finding.concession is None else PageCell("ACCEPTED", ACCEPTED),
        PageCell(" ".join(finding.subject), BODY),
        PageCell(message, indented(one.depth)),
        value_cell(finding.measured),
        value_cell(finding.limit),
        PageCell(unit_sign(finding.unit), UNIT) if finding.unit else None,
        PageCell(todo, BODY) if todo else None,
        None,
        None,
        PageCell(finding.rule, SMALL),
        PageCell(_OPEN_BOX, TICK),
    ]
    row = page.next_row
    _add_with_places(page, cells, finding.marks, links)
    page.done_rows.append(row)
    return row


def _what_to_do(finding: ReportedFinding) -> str:
    """The remedy, and below it the change that was proved to clear the finding."""
    if finding.proposal is None:
        return finding.remedy
    effect = effect_text(finding.proposal)
    proposed = f"Proposed: {finding.proposal.change}\n{effect[:1].upper()}{effect[1:]}."
    return f"{finding.remedy}\n{proposed}" if finding.remedy else proposed


def _undecided(page: Page, number: int, undecided: ReportedUndecided, links: Links) -> None:
    missing = "; ".join(undecided.missing)
    known = range_text(undecided.low, undecided.high, unit_sign(undecided.unit))
    known = f": {known} by what is known" if known else ""
    cells: list[PageCell | None] = [
        PageCell(f"U{number}", BOLD),
        PageCell("UNDECIDED", UNDECIDED),
        PageCell(" ".join(undecided.subject), BODY),
        PageCell(f"Not decided{known} (a finding would be {_ARTICLES[undecided.grade]}).", BODY),
        PageCell(_ends(undecided), NUMBER) if known else None,
        value_cell(undecided.limit),
        PageCell(unit_sign(undecided.unit), UNIT) if known and undecided.unit else None,
        PageCell(f"Give: {missing}" if missing else "", BODY),
        None,
        None,
        PageCell(undecided.rule, SMALL),
        PageCell(_OPEN_BOX, TICK),
    ]
    page.done_rows.append(page.next_row)
    _add_with_places(page, cells, undecided.marks, links)


def _ends(undecided: ReportedUndecided) -> str:
    """Both ends of what the data at hand allows, as short as its column."""
    low = figures(undecided.low) if undecided.low is not None else ""
    high = figures(undecided.high) if undecided.high is not None else ""
    return f"{low} … {high}".strip()


def _add_with_places(page: Page, cells: list[PageCell | None], marks: Sequence[Mark], links: Links) -> None:
    """Add a row with its main place; further places get a row each below it, with what they are."""
    further = list(marks[1:])
    if marks:
        cells[_PLACE] = _linked(marks[0], links)
    if len(further) == 1 and not further[0].label:
        cells[_ALSO] = _linked(further.pop(), links)
    page.add(cells)
    for mark in further[:_FURTHER_ROWS]:
        row: list[PageCell | None] = [None] * len(page.widths)
        if mark.label:
            row[_FOUND] = PageCell(f"– {mark.label}", indented(1))
        row[_ALSO] = _linked(mark, links)
        page.add(row)
    rest = len(further) - _FURTHER_ROWS
    if rest > 0:
        row = [None] * len(page.widths)
        row[_FOUND] = PageCell(
            f"– and {rest} more place{'s' if rest > 1 else ''}, each marked in its sheet", indented(1)
        )
        page.add(row)


def _linked(mark: Mark, links: Links) -> PageCell:
    return linked(links.text(mark.place), links.link(mark.place))
