"""Page of guidance at the front of the recommended workbook."""

from __future__ import annotations

from openpyxl.styles import Alignment, Border, Font, PatternFill
from openpyxl.worksheet.hyperlink import Hyperlink
from openpyxl.worksheet.worksheet import Worksheet

from harnessdrc.render.template_guide import CAUTIONS, INTRODUCTION, SHEETS, STEPS, WRITING
from harnessdrc.render.template_look import BLUSH, FONT, HAIR, INK, RUST, SLATE, set_up_print
from harnessdrc.tables.columns import FORMS

__all__ = ["GUIDE_SHEET", "fill_guide"]

GUIDE_SHEET = "Read me"
_TEXT_WIDTH, _LABEL_WIDTH, _NEED_WIDTH = 88, 20, 11
_LINE_PT = 14.5


def _lines(text: str, width: float) -> int:
    """Lines that `text` takes in a column of `width`, wrapped at words as a spreadsheet does."""
    lines, room = 1, 0.0
    for word in text.split():
        needs = len(word) + 1
        if room + needs > width * 1.16 and room:
            lines, room = lines + 1, 0.0
        room += needs
    return lines


class _GuidePage:
    """Writes the page of guidance from the top down."""

    def __init__(self, sheet: Worksheet) -> None:
        self.sheet, self.row = sheet, 1
        for letter, width in (("A", 2), ("B", _LABEL_WIDTH), ("C", _TEXT_WIDTH), ("D", _NEED_WIDTH)):
            sheet.column_dimensions[letter].width = width

    def wide(self, text: str, font: Font, *, fill: str = "", points: float = 0, wrap: bool = False) -> None:
        """One cell across the page."""
        cell = self.sheet.cell(self.row, 2, text)
        self.sheet.merge_cells(start_row=self.row, end_row=self.row, start_column=2, end_column=4)
        cell.font = font
        cell.alignment = Alignment(wrap_text=wrap, vertical="center", indent=1 if fill else 0)
        if fill:
            for column in (2, 3, 4):
                self.sheet.cell(self.row, column).fill = PatternFill("solid", fgColor=fill)
        width = _LABEL_WIDTH + _TEXT_WIDTH + _NEED_WIDTH
        self.sheet.row_dimensions[self.row].height = points or _LINE_PT * _lines(text, width) + 4
        self.row += 1

    def section(self, title: str, *, colour: str = SLATE) -> None:
        """Heading of a section, after a little air."""
        self.sheet.row_dimensions[self.row].height = 7
        self.row += 1
        self.wide(title, Font(name=FONT, bold=True, size=12, color="FFFFFF"), fill=colour, points=20)

    def line(
        self, label: str, text: str, need: str = "", *, link: str = "", fill: str = "", ink: str = SLATE
    ) -> None:
        """A word in the margin, its explanation, and what stands at the right."""
        for column, value in ((2, label), (3, text), (4, need)):
            cell = self.sheet.cell(self.row, column, value or None)
            cell.font = Font(
                name=FONT,
                bold=column == 2 or value == "needed",
                color=ink if column == 2 else INK,
                underline="single" if link and column == 2 else None,
            )
            cell.alignment = Alignment(wrap_text=True, vertical="top", indent=1 if column == 2 else 0)
            cell.border = Border(bottom=HAIR)
            if fill:
                cell.fill = PatternFill("solid", fgColor=fill)
        if not need:
            self.sheet.merge_cells(start_row=self.row, end_row=self.row, start_column=3, end_column=4)
        if link:
            at = self.sheet.cell(self.row, 2)
            at.hyperlink = Hyperlink(ref=at.coordinate, location=f"'{link}'!A1", display=label)
        width = _TEXT_WIDTH + (0 if need else _NEED_WIDTH)
        self.sheet.row_dimensions[self.row].height = _LINE_PT * _lines(text, width) + 3
        self.row += 1


def fill_guide(sheet: Worksheet) -> None:
    """Write the page of guidance on an empty sheet."""
    page = _GuidePage(sheet)
    page.wide("Wire list of an engine loom", Font(name=FONT, bold=True, size=20, color=SLATE), points=32)
    page.wide(INTRODUCTION, Font(name=FONT, color=INK), wrap=True)
    page.section("Cautions", colour=RUST)
    for label, text in CAUTIONS:
        page.line(label, text, fill=BLUSH, ink=RUST)
    page.section("How to use it")
    for number, text in enumerate(STEPS, start=1):
        page.line(f"Step {number}", text)
    page.section("The sheets")
    for name, purpose, needed in SHEETS:
        title = FORMS[name].title
        page.line(title, purpose, "needed" if needed else "optional", link=title)
    page.section("How to write things")
    for label, text in WRITING:
        page.line(label, text)
    sheet.sheet_view.showGridLines = False
    sheet.sheet_properties.tabColor = RUST
    sheet.print_area = f"A1:D{page.row - 1}"
    set_up_print(sheet, "Read me first", portrait=True, one_page=True)
