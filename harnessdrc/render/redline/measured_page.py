"""The Measured sheet: every reading of the test sheets against what was expected, those that failed first."""

from __future__ import annotations

from harnessdrc.results import MeasuredLine, MeasuredOutcome

from .links import Links
from .looks import TAB_COLOURS
from .page import Page, PageCell
from .pagelooks import BODY, BOLD, CAUTION, NUMBER, TITLE, VERDICT, add_headings, linked

__all__ = ["MEASURED", "measured_page"]

MEASURED = "Measured"
"""Name of the sheet."""

_ORDER = ("fail", "unit", "undecided", "pass")
_WORDS = {"fail": "FAILED", "unit": "slip of the unit", "undecided": "not decided", "pass": "passed"}
_DIGITS = 4


def measured_page(measured: MeasuredOutcome, links: Links, name: str, title: str) -> Page:
    """Readings with their tests, by verdict; the sheets that they stand on are told at the head."""
    widths = [9.0, 42.0, 14.0, 12.0, 12.0, 12.0, 12.0, 8.0, 17.0, 30.0]
    page = Page(name, widths, TAB_COLOURS["Coverage"], f"Measured: {title}")
    page.blank = BODY
    page.across("What was measured", TITLE, 24)
    page.across(
        f"{len(measured.lines)} readings: {measured.count('pass')} passed, {measured.count('fail')} failed; "
        f"{measured.unfit} filled-in rows fit no test of this list.",
        VERDICT,
    )
    for sheet in measured.sheets:
        mark = "no issue named" if sheet.issue_mark is None else f"issue {sheet.issue_mark}"
        other = ", which is not this issue of the list" if sheet.fits is False else ""
        page.across(f"{sheet.file}, {sheet.sheet}: {sheet.filled} of {sheet.rows} filled in; {mark}{other}.", BODY)
    page.across(
        f"The network is solved with {measured.used} measured resistances in place of the expected ones. "
        "A passed test says what was measured, not that a loom is proved.",
        CAUTION,
    )
    page.heading_row = add_headings(
        page,
        ["Test", "Of", "State", "Measured", "Expected", "Passes from", "Passes to", "Unit", "Verdict", "Cell"],
    )
    for line in sorted(measured.lines, key=lambda line: _ORDER.index(line.verdict)):
        failed = line.verdict == "fail"
        page.add(
            [
                PageCell(line.test, BODY), PageCell(line.subject, BOLD), PageCell(line.state, BODY),
                _reading(line), _number(line.expected), _number(line.low), _number(line.high),
                PageCell(line.unit, BODY), PageCell(_WORDS[line.verdict], BOLD if failed else BODY),
                linked(links.text(line.mark.place), links.link(line.mark.place)),
            ]
        )  # fmt: skip
    return page


def _reading(line: MeasuredLine) -> PageCell:
    if line.measured is None:
        return PageCell("overload", BODY)
    return PageCell(f"> {line.measured:g}", BODY) if line.above else _number(line.measured)


def _number(value: float | None) -> PageCell:
    return PageCell(None if value is None else round(value, _DIGITS), NUMBER)
