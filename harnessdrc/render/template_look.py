"""Look of the recommended workbook: type, inks and print set-up."""

from __future__ import annotations

from openpyxl.styles import Border, Side
from openpyxl.worksheet.worksheet import Worksheet

__all__ = [
    "BLUSH", "FADED", "FONT", "GRID", "HAIR", "INK", "MIST", "RULE", "RUST", "SLATE", "STRAW", "set_up_print",
]  # fmt: skip

FONT = "Calibri"
INK, SLATE, MIST, RULE, FADED = "1F2A33", "2F4858", "DCE5EA", "B8C4CC", "5B6770"
RUST, BLUSH, STRAW = "9C3D1E", "FBEDE7", "FFF3C4"
HAIR = Side(style="thin", color=RULE)
GRID = Border(left=HAIR, right=HAIR, top=HAIR, bottom=HAIR)


def set_up_print(sheet: Worksheet, title: str, *, portrait: bool = False, one_page: bool = False) -> None:
    """Set A4, fit to width, margins, page head and foot of one sheet."""
    sheet.page_setup.paperSize = sheet.PAPERSIZE_A4
    sheet.page_setup.orientation = "portrait" if portrait else "landscape"
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.page_setup.fitToWidth = 1
    sheet.page_setup.fitToHeight = 1 if one_page else 0
    margins = sheet.page_margins
    margins.left = margins.right = 0.4
    margins.top, margins.bottom = 0.65, 0.6
    margins.header = margins.footer = 0.3
    sheet.oddHeader.left.text = title
    sheet.oddHeader.right.text = "&F"
    sheet.oddFooter.left.text = "Issue:            Date:            Checked by:"
    sheet.oddFooter.right.text = "Page &P of &N"
    for part in (sheet.oddHeader.left, sheet.oddHeader.right, sheet.oddFooter.left, sheet.oddFooter.right):
        part.size, part.font = 9, FONT
