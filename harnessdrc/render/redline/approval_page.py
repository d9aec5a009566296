"""The Approval sheet: who approved which issue of the list, by what, and with what accepted."""

from __future__ import annotations

from harnessdrc.approval import Approval
from harnessdrc.findings import GRADES, unit_sign
from harnessdrc.results import SourceFile

from .links import Links
from .looks import TAB_COLOURS
from .other_pages import concession_in_words
from .page import Page, PageCell
from .pagelooks import (
    BODY,
    BOLD,
    CAUTION,
    HASH,
    NUMBER,
    TITLE,
    VERDICT,
    add_headings,
    add_section,
    grade_cell,
    linked,
    value_cell,
)

__all__ = ["APPROVAL", "approval_page"]

APPROVAL = "Approval"
"""Name of the sheet."""

_RULED_ROWS = (("Signed by hand", 30.0), ("Day", 20.0))


def approval_page(approval: Approval, links: Links, name: str, title: str) -> Page:
    """Make the sheet.

    Parameters
    ----------
    approval : Approval
        What was approved; the same as its file holds.
    links : Links
        Where places are in the workbook.
    name, title : str
        Of the sheet; of the list.
    """
    page = Page(name, [24.0, 30.0, 48.0, 12.0, 10.0, 18.0], TAB_COLOURS["Coverage"], f"Approval: {title}")
    page.blank = BODY
    page.across(f"Approval of {title}", TITLE, 24)
    page.across(f"Approved by {approval.by} on {approval.on}: issue of the list {approval.issue_mark}.", VERDICT)
    if approval.note:
        page.across(approval.note, CAUTION)
    page.across(
        "An approval says that nothing on hold was open and everything on hold could be decided. It is no proof of the "
        "loom itself: measure on the bench.",
        CAUTION,
    )
    page.heading_row = add_headings(page, ["What", "Name", "Content", "Value", "Unit", "Place"])
    _facts(page, approval)
    _files(page, approval)
    _concessions(page, approval, links)
    _open(page, approval, links)
    _assumptions(page, approval, links)
    return page


def _row(page: Page, what: str, name: str, content: str = "") -> None:
    page.add([PageCell(what, BOLD), PageCell(name, BODY), PageCell(content, BODY) if content else None])


def _facts(page: Page, approval: Approval) -> None:
    _row(page, "Approved by", approval.by, f"on {approval.on}")
    for text, height in _RULED_ROWS:
        page.add([PageCell(text, BOLD)], height)
    counts = approval.counts
    _row(page, "Program", f"harnessdrc {approval.version}")
    _row(page, "Read", f"{counts['wires']} wires, {counts['components']} components",
         f"{counts['rows_used']} of {counts['rows_seen']} rows used, {counts['rows_set_aside']} set aside")  # fmt: skip
    told = ", ".join(f"{counts[grade]} {grade}" for grade in GRADES)
    _row(page, "Open", told, f"{counts['undecided']} undecided, {counts['accepted']} accepted under a concession")
    looked_at = sum(1 for rule in approval.looked_at if rule[2])
    _row(page, "Rules", f"{approval.ruleset.name}, issue {approval.ruleset.issue}",
         f"{len(approval.looked_at)} rules ran, {looked_at} of them looked at something (see Coverage)")  # fmt: skip


def _files(page: Page, approval: Approval) -> None:
    add_section(page, "APPROVED BY CONTENT (SHA-256)")
    for source in approval.inputs:
        _hash(page, "List", source)
    page.add(
        [PageCell("Ruleset", BOLD), PageCell(approval.ruleset.asked_for, BODY), PageCell(approval.ruleset.sha256, HASH)]
    )
    if approval.mapping is not None:
        _hash(page, "Mapping", approval.mapping)
    if approval.measured is not None:
        _hash(page, "Test sheets", approval.measured)
    for source in approval.concession_files:
        _hash(page, "Concessions", source)
    page.add([PageCell("Digest", BOLD), PageCell("of the approval", BODY), PageCell(approval.digest, HASH)])
    signed = f"with the key {approval.key}" if approval.key else "not signed"
    page.add(
        [PageCell("Signature", BOLD), PageCell("Ed25519" if approval.key else "none", BODY), PageCell(signed, HASH)]
    )


def _hash(page: Page, what: str, source: SourceFile) -> None:
    page.add([PageCell(what, BOLD), PageCell(source.file, BODY), PageCell(source.sha256, HASH)])


def _concessions(page: Page, approval: Approval, links: Links) -> None:
    if not approval.concessions:
        return
    add_section(page, f"CONCESSIONS on {approval.concessions_on} ({len(approval.concessions)})")
    for line in approval.concessions:
        text = f"{concession_in_words(line)} {line.by}, until {line.until}: {line.reason}"
        page.add(
            [
                PageCell(line.rule, BOLD), PageCell(f"{line.kind} {line.subject}".strip(), BODY), PageCell(text, BODY),
                value_cell(line.accepted), PageCell(unit_sign(line.unit), BODY) if line.unit else None,
                linked(links.text(line.mark.place), links.link(line.mark.place)),
            ]
        )  # fmt: skip


def _open(page: Page, approval: Approval, links: Links) -> None:
    if approval.open:
        add_section(page, f"LEFT OPEN ({len(approval.open)}): queries and notes known when it was approved")
    for finding in approval.open:
        place = finding.marks[0].place if finding.marks else None
        page.add(
            [
                grade_cell(finding.grade), PageCell(" ".join(finding.subject), BODY), PageCell(finding.message, BODY),
                value_cell(finding.measured), PageCell(unit_sign(finding.unit), BODY) if finding.unit else None,
                linked(links.text(place), links.link(place)) if place else None,
            ]
        )  # fmt: skip
    if approval.undecided:
        add_section(page, f"NOT DECIDED ({len(approval.undecided)}): known when it was approved")
    for undecided in approval.undecided:
        place = undecided.marks[0].place if undecided.marks else None
        page.add(
            [
                PageCell(undecided.rule, BOLD), PageCell(" ".join(undecided.subject), BODY),
                PageCell(f"Needs {'; '.join(undecided.missing)}", BODY), None, None,
                linked(links.text(place), links.link(place)) if place else None,
            ]
        )  # fmt: skip


def _assumptions(page: Page, approval: Approval, links: Links) -> None:
    add_section(page, f"ASSUMPTIONS ACCEPTED ({len(approval.assumptions)})")
    for line in approval.assumptions:
        place = line.mark.place if line.mark else None
        page.add(
            [
                PageCell(line.what, BOLD), PageCell(line.subject, BODY),
                PageCell(f"{line.value} (because: {line.because})", BODY), PageCell(line.count, NUMBER),
                PageCell("cells" if line.count != 1 else "cell", BODY),
                linked(links.text(place), links.link(place)) if place else None,
            ]
        )  # fmt: skip
    if not approval.assumptions:
        page.add([PageCell("Nothing had to be assumed.", BODY)])
    if approval.given:
        add_section(page, f"VALUES TAKEN AS GIVEN ({len(approval.given)})")
    for given in approval.given:
        page.add(
            [
                PageCell(given.name, BOLD), None, PageCell(given.origin, BODY),
                PageCell(given.value, BODY), PageCell(given.unit, BODY),
            ]
        )  # fmt: skip
