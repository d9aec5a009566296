"""The Assumptions and Coverage sheets: how the list was understood, and what the rules looked at."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from harnessdrc.findings import unit_sign
from harnessdrc.places import Place
from harnessdrc.results import ConcessionLine, Result, RuleOutcome, SetAsideLine

from .links import Links
from .looks import TAB_COLOURS
from .page import Page, PageCell
from .pagelooks import (
    BODY,
    BOLD,
    CAUTION,
    HASH,
    NUMBER,
    SMALL,
    TITLE,
    UNIT,
    VERDICT,
    add_headings,
    add_section,
    grade_cell,
    linked,
    value_cell,
)

__all__ = ["assumptions_page", "concession_in_words", "coverage_page", "outcome_in_words"]


def assumptions_page(result: Result, links: Links, name: str, title: str) -> Page:
    """What was read into the list that it does not say outright, and the rows that were not used."""
    page = Page(name, [16, 32, 26, 52, 20, 8], TAB_COLOURS["Assumptions"], f"Assumptions: {title}")
    page.blank = BODY
    read = result.read
    page.across("How the list was understood", TITLE, 24)
    page.across(
        f"{read.rows_seen} rows with content: {read.rows_used} used, {len(read.set_aside)} set aside. "
        f"They gave {read.wires} wires, {read.pins} pins and {read.components} components.",
        VERDICT,
    )
    page.across(
        "Each line below was inferred. Where one is wrong, say it in the list itself (a column for the role, "
        "kind, size or unit overrides what a name suggests) and check again.",
        CAUTION,
    )
    page.heading_row = add_headings(page, ["What", "Text", "Taken as", "Because", "First cell", "Cells"])
    for line in result.assumptions:
        place: PageCell | None = None
        if line.mark is not None:
            place = linked(links.text(line.mark.place), links.link(line.mark.place))
        page.add(
            [
                PageCell(line.what, BODY),
                PageCell(line.subject, BOLD),
                PageCell(line.value, BODY),
                PageCell(line.because, BODY),
                place,
                PageCell(line.count, NUMBER),
            ]
        )
    if not result.assumptions:
        page.add([PageCell("Nothing had to be assumed.", BODY)])
    add_section(page, f"ROWS NOT USED ({len(read.set_aside)})")
    for run in _runs(read.set_aside):
        first, last = run[0], run[-1]
        at = Place(first.file, first.sheet, str(first.row))
        where = links.text(at) if len(run) == 1 else f"{first.sheet} rows {first.row} to {last.row}"
        page.add(
            [
                PageCell("row set aside" if len(run) == 1 else "rows set aside", BODY),
                PageCell(first.file, BODY),
                PageCell(first.sheet, BODY),
                PageCell(first.reason, BODY),
                linked(where, links.link(at)),
                PageCell(len(run), NUMBER),
            ]
        )
    if not read.set_aside:
        page.add([PageCell("Every row with content was used.", BODY)])
    return page


def _runs(rows: Sequence[SetAsideLine]) -> list[list[SetAsideLine]]:
    """Rows set aside for one reason, in runs without a gap."""
    runs: list[list[SetAsideLine]] = []
    for row in rows:
        before = runs[-1][-1] if runs else None
        if before and replace(before, row=before.row + 1) == row:
            runs[-1].append(row)
        else:
            runs.append([row])
    return runs


def outcome_in_words(rule: RuleOutcome) -> str:
    """What a rule's silence or findings are worth."""
    what = rule.counts_what or "subjects"
    if rule.crashed:
        return f"The check failed to run, so nothing can be said: {rule.crashed}"
    if rule.looked_at == 0:
        return f"Looked at nothing: the list gave it no {what}. Its silence says nothing."
    parts = []
    if rule.findings:
        parts.append(f"{rule.findings} finding{'s' if rule.findings != 1 else ''}")
    if rule.undecided:
        parts.append(f"{rule.undecided} undecided")
    return ", ".join(parts) if parts else f"Nothing found in {rule.looked_at} {what}."


def concession_in_words(line: ConcessionLine) -> str:
    """What became of a concession."""
    if line.state == "in force":
        return f"In force: accepts {len(line.covers)} finding{'s' if len(line.covers) != 1 else ''}."
    if line.state == "not known":
        return "Not known: its rule failed to run."
    return f"{line.state.capitalize()}: see Findings."


def coverage_page(result: Result, name: str, title: str) -> Page:
    """Every rule with what it looked at, the rules switched off, and the values taken as given."""
    widths = [24, 24, 10, 10, 14, 10, 11, 34, 36, 30]
    page = Page(name, [float(width) for width in widths], TAB_COLOURS["Coverage"], f"Coverage: {title}")
    page.blank = BODY
    page.across("What the rules looked at", TITLE, 24)
    idle = sum(1 for rule in result.rules if not rule.looked_at and not rule.crashed)
    crashed = sum(1 for rule in result.rules if rule.crashed)
    line = f"{len(result.rules)} rules ran"
    if idle:
        line += f"; {idle} of them looked at nothing"
    if crashed:
        line += f"; {crashed} failed"
    page.across(f"{line}. Silence counts only where something was looked at.", VERDICT)
    page.heading_row = add_headings(
        page,
        ["Rule", "Check", "Grade", "Looked at", "Of", "Findings", "Undecided", "Outcome", "Reason", "Source"],
    )
    for rule in result.rules:
        in_doubt = rule.crashed or not rule.looked_at
        page.add(
            [
                PageCell(rule.rule, BOLD),
                PageCell(rule.check, BODY),
                grade_cell(rule.grade),
                PageCell(rule.looked_at, UNIT),
                PageCell(rule.counts_what, BODY),
                PageCell(rule.findings, UNIT),
                PageCell(rule.undecided, UNIT),
                PageCell(outcome_in_words(rule), BOLD if in_doubt else BODY),
                PageCell(rule.reason, BODY),
                PageCell(rule.source, SMALL),
            ]
        )
    if result.rules_off:
        add_section(page, f"RULES SWITCHED OFF ({len(result.rules_off)})")
        for off, reason in result.rules_off:
            cells: list[PageCell | None] = [PageCell(off, BOLD), *[None] * 7, PageCell(reason, BODY)]
            cells[7] = PageCell("Switched off by the ruleset.", BODY)
            page.add(cells)
    if result.concessions.lines:
        add_section(page, f"CONCESSIONS on {result.concessions.on} ({len(result.concessions.lines)})")
        for each in result.concessions.lines:
            page.add(
                [
                    PageCell(each.rule, BOLD),
                    PageCell(f"{each.kind} {each.subject}".strip(), BODY),
                    *[None] * 2,
                    value_cell(each.accepted),
                    PageCell(unit_sign(each.unit), UNIT) if each.unit else None,
                    None,
                    PageCell(concession_in_words(each), BODY if each.state == "in force" else BOLD),
                    PageCell(each.reason, BODY),
                    PageCell(f"{each.by}, until {each.until}", BODY),
                ]
            )
    if result.given:
        add_section(page, "VALUES TAKEN AS GIVEN (name, value, unit, where from)")
        for given in result.given:
            page.add(
                [
                    PageCell(given.name, BOLD),
                    PageCell(given.value, BODY),
                    PageCell(given.unit, BODY),
                    *[None] * 4,
                    PageCell(given.origin, BODY),
                ]
            )
    add_section(page, "LISTS READ (name, SHA-256)")
    for source in (*result.sources, *result.concessions.files):
        # the hash runs on over the empty cells beside it
        row: list[PageCell | None] = [PageCell(source.file, BOLD), PageCell(source.sha256, HASH)]
        page.add(row + [PageCell(None, HASH)] * 8)
    return page
