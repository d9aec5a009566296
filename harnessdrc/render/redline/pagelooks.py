"""Looks of the added sheets, and the rows they share."""

from __future__ import annotations

from harnessdrc.findings import Grade

from .looks import GRADE_WORDS, INK, LINK, MARK_FILLS, Fill, Look
from .page import Page, PageCell

__all__ = [
    "ACCEPTED", "BODY", "BOLD", "CAUTION", "FIGURE_A", "FIGURE_AREA", "FIGURE_AREA_BOUND", "FIGURE_DB", "FIGURE_FINE",
    "FIGURE_LENGTH", "FIGURE_MV", "FIGURE_MV_BESIDE", "FIGURE_MV_STRONG", "FIGURE_SHARE", "FIGURE_WHOLE",
    "GRADE_LOOKS", "HASH", "LEGEND", "LINKED", "NUMBER", "PLAIN", "PLAIN_BOLD", "PLAIN_INSET", "PLAIN_LINKED",
    "SMALL", "TICK", "TITLE", "UNDECIDED", "UNIT", "VERDICT", "add_headings", "add_section", "grade_cell",
    "headings_height_pt", "indented", "linked", "value_cell",
]  # fmt: skip

_BAND = Fill("solid", "E9EDEF", "E9EDEF")
_HEAD = Fill("solid", "2F4450", "2F4450")
_BESIDE = Fill("solid", "F3F5F6", "F3F5F6")
_MV = '#,##0.0;-#,##0.0;"–"'

TITLE = Look(size_pt=15, bold=True, up="center")
VERDICT = Look(size_pt=12, bold=True, up="center")
CAUTION = Look(size_pt=9, italic=True, up="center")
LEGEND = Look(size_pt=8, colour="55626B", wrap=False, up="center")
BODY = Look(border="thin")
BOLD = Look(bold=True, border="thin")
NUMBER = Look(across="right", wrap=False, border="thin")
UNIT = Look(across="center", wrap=False, border="thin")
SMALL = Look(size_pt=8, colour="55626B", border="thin")
LINKED = Look(colour=LINK, underline=True, border="thin")
FIGURE_A = Look(across="right", wrap=False, border="thin", number_format='#,##0.00;-#,##0.00;"–"')
FIGURE_MV = Look(across="right", wrap=False, border="thin", number_format=_MV)
FIGURE_MV_BESIDE = Look(across="right", wrap=False, border="thin", number_format=_MV, fill=_BESIDE)
FIGURE_MV_STRONG = Look(across="right", wrap=False, border="thin", bold=True, number_format="#,##0.0")
FIGURE_SHARE = Look(across="right", wrap=False, border="thin", number_format="0 %")
FIGURE_LENGTH = Look(across="right", wrap=False, border="thin", number_format="0.00")
FIGURE_AREA = Look(across="right", wrap=False, border="thin", number_format="[>=100]#,##0;#,##0.0")
FIGURE_AREA_BOUND = Look(across="right", wrap=False, border="thin", number_format='[>=100]"≤ "#,##0;"≤ "#,##0.0')
FIGURE_DB = Look(across="right", wrap=False, border="thin", number_format="#,##0.0;-#,##0.0;0.0")
FIGURE_FINE = Look(across="right", wrap=False, border="thin", number_format="#,##0.000")
FIGURE_WHOLE = Look(across="right", wrap=False, border="thin", number_format="#,##0")
PLAIN = Look(wrap=False, border="thin")
PLAIN_BOLD = Look(wrap=False, bold=True, border="thin")
PLAIN_INSET = Look(wrap=False, border="thin", indent=1)
PLAIN_LINKED = Look(colour=LINK, underline=True, wrap=False, border="thin")
HASH = Look(size_pt=8, colour="55626B", wrap=False)
TICK = Look(size_pt=12, across="center", wrap=False, border="thin")
_HEADING = Look(bold=True, colour="FFFFFF", fill=_HEAD, border="thin", up="center")
_SECTION = Look(size_pt=11, bold=True, fill=_BAND, wrap=False, up="center")
ACCEPTED = Look(size_pt=8, italic=True, border="thin", across="center", wrap=False)
UNDECIDED = Look(size_pt=8, bold=True, border="thin", across="center", wrap=False)

GRADE_LOOKS: dict[Grade, Look] = {
    "hold": Look(bold=True, fill=MARK_FILLS["hold"], border="thick", across="center", wrap=False),
    "query": Look(bold=True, fill=MARK_FILLS["query"], border="medium", across="center", wrap=False),
    "note": Look(bold=True, fill=MARK_FILLS["note"], border="thin", across="center", wrap=False, colour=INK),
}


def add_headings(page: Page, headings: list[str], height_pt: float = 24) -> int:
    """Add a row of column headings; gives its number."""
    return page.add([PageCell(text, _HEADING) for text in headings], height_pt)


def headings_height_pt(page: Page, headings: list[str]) -> float:
    """Height that the longest of the headings needs."""
    lines = max((_HEADING.lines(text, width) for text, width in zip(headings, page.widths, strict=False)), default=1)
    return round(max(24.0, lines * _HEADING.line_pt + 6), 1)


def add_section(page: Page, text: str) -> int:
    """Add a band with a heading for the rows below it. Its text runs on over empty cells, unmerged."""
    cells: list[PageCell | None] = [PageCell(text, _SECTION)]
    return page.add(cells + [PageCell(None, _SECTION)] * (len(page.widths) - 1), 19)


def grade_cell(grade: Grade) -> PageCell:
    """Cell with a grade, told by word, fill and weight of border."""
    return PageCell(GRADE_WORDS[grade], GRADE_LOOKS[grade])


def indented(depth: int) -> Look:
    """Look of a text that stands `depth` steps in."""
    return Look(indent=min(depth, 6), border="thin") if depth else BODY


def linked(text: str, link: str) -> PageCell:
    """Cell with a place: a link where it can be followed, plain text where not."""
    return PageCell(text, LINKED, link, f"Show {text}"[:255]) if link else PageCell(text, BODY)


def value_cell(value: float | None) -> PageCell | None:
    """Cell with a measured or limiting value, rounded to what can be meant."""
    if value is None:
        return None
    if value != value:
        return PageCell("not known", NUMBER)
    if value in (float("inf"), float("-inf")):
        return PageCell("no end" if value > 0 else "-no end", NUMBER)
    if value == int(value) and abs(value) < 1e15:
        return PageCell(int(value), NUMBER)
    rounded = float(f"{value:.4g}")
    return PageCell(round(value) if abs(rounded) >= 10_000 else rounded, NUMBER)
