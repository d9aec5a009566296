"""Sheet of the recommended workbook that holds the words of its drop-downs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from openpyxl import Workbook
from openpyxl.styles import Alignment, Font, PatternFill

from harnessdrc.render.template_look import FADED, FONT, GRID, INK, MIST, RULE, SLATE, set_up_print
from harnessdrc.tables.words import (
    BODIES,
    KINDS,
    LEAD_TYPES,
    PART_KINDS,
    PLACES,
    PLUG_TYPES,
    ROLES,
    SEXES,
    SHIELD_MATERIALS,
)

__all__ = ["LISTS", "LISTS_SHEET", "WordList", "add_lists_sheet"]

_COLOURS: tuple[tuple[str, str], ...] = (
    ("BK", "black"), ("BN", "brown"), ("RD", "red"), ("OG", "orange"), ("YE", "yellow"), ("GN", "green"),
    ("BU", "blue"), ("VT", "violet"), ("GY", "grey"), ("WH", "white"), ("PK", "pink"), ("GD", "gold"),
    ("TQ", "turquoise"), ("SR", "silver, bare drain"), ("GNYE", "green-yellow"),
    ("BK/WH", "black, white tracer"),
    ("RD/BK", "red, black tracer"), ("RD/WH", "red, white tracer"), ("RD/YE", "red, yellow tracer"),
    ("BU/WH", "blue, white tracer"), ("BU/RD", "blue, red tracer"), ("GN/WH", "green, white tracer"),
    ("GN/BK", "green, black tracer"), ("YE/BK", "yellow, black tracer"), ("YE/GN", "yellow, green tracer"),
    ("BN/GN", "brown, green tracer"), ("BN/WH", "brown, white tracer"), ("OG/BK", "orange, black tracer"),
    ("VT/WH", "violet, white tracer"), ("GY/BK", "grey, black tracer"), ("WH/BU", "white, blue tracer"),
    ("WH/RD", "white, red tracer"),
)  # fmt: skip
_SIZES: tuple[float | str, ...] = (
    0.35, 0.5, 0.75, 1, 1.5, 2.5, 4, 6, 10, 16, 25, 35, 50, "24 AWG", "22 AWG", "20 AWG", "18 AWG", "16 AWG",
    "14 AWG", "12 AWG", "10 AWG", "8 AWG", "6 AWG", "4 AWG", "2 AWG", "1/0 AWG", "2/0 AWG",
)  # fmt: skip
_RATINGS: tuple[float, ...] = (1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40, 50, 60, 70, 80, 100, 125, 150)
_FAMILIES = ("mini blade", "blade", "maxi blade", "bolt-down", "cartridge", "glass", "circuit breaker")
_ZONES = (
    ("head", "on the engine, hottest"),
    ("bay", "engine bay"),
    ("chassis", "outside, along the frame"),
    ("cabin", "cabin or cockpit"),
)


@dataclass(frozen=True, slots=True)
class WordList:
    """One list of the sheet Lists: its words with their meaning, and the row of its title."""

    title: str
    subtitle: str
    words: tuple[tuple[float | str, str], ...]
    head_row: int

    @property
    def cells(self) -> str:
        """Absolute range of the words."""
        return f"{LISTS_SHEET}!$A${self.head_row + 1}:$A${self.head_row + len(self.words)}"


LISTS_SHEET = "Lists"


def _laid_out() -> dict[str, WordList]:
    """Stand the lists one below the other, a word and its meaning side by side.

    Two columns, and no more: side by side the lists would look like a table of wires without headings.
    """
    given: tuple[tuple[str, str, Iterable[tuple[float | str, str]]], ...] = (
        ("Colours", "letters of IEC 60757", _COLOURS),
        ("Sizes", "of wire", ((size, "" if isinstance(size, str) else "mm²") for size in _SIZES)),
        ("Roles", "what a pin or wire does", ROLES),
        ("Kinds", "what a device is", KINDS),
        ("Places", "where a device sits", PLACES),
        ("Bodies", "metal that carries current", BODIES),
        ("Zones", "how hot a branch gets", _ZONES),
        ("Ratings", "of fuse", ((rating, "A") for rating in _RATINGS)),
        ("Families", "shape of fuse", ((family, "") for family in _FAMILIES)),
        ("Lead types", "of plug leads", LEAD_TYPES),
        ("Plug types", "of spark plugs", PLUG_TYPES),
        ("Shield materials", "of a shield round wires", SHIELD_MATERIALS),
        ("Part kinds", "of the parts table", PART_KINDS),
        ("Sexes", "of a terminal, and of a housing by what it takes", SEXES),
        ("Yes or no", "", (("yes", ""), ("no", ""))),
    )
    lists, row = {}, 3
    for title, subtitle, words in given:
        lists[title] = WordList(title, subtitle, tuple(words), row)
        row += len(lists[title].words) + 2
    return lists


LISTS = _laid_out()
"""Every list by its title."""


def add_lists_sheet(book: Workbook) -> None:
    """Add the sheet ``Lists`` with the words of every drop-down."""
    sheet = book.create_sheet(LISTS_SHEET)
    sheet["A1"] = "Words of the drop-downs"
    sheet["A1"].font = Font(name=FONT, bold=True, size=14, color=SLATE)
    for words in LISTS.values():
        rows = [(words.title, words.subtitle), *words.words]
        for row, values in enumerate(rows, start=words.head_row):
            is_head = row == words.head_row
            for column, value in enumerate(values, start=1):
                cell = sheet.cell(row, column, value or None)
                cell.font = Font(
                    name=FONT, bold=is_head and column == 1, color=INK if is_head or column == 1 else FADED
                )
                cell.alignment = Alignment(horizontal="left", indent=1)
                cell.border = GRID
                if is_head:
                    cell.fill = PatternFill("solid", fgColor=MIST)
    sheet.column_dimensions["A"].width = 28
    sheet.column_dimensions["B"].width = 76
    sheet.freeze_panes = "A2"
    sheet.print_title_rows = "1:1"
    sheet.sheet_view.showGridLines = False
    sheet.sheet_properties.tabColor = RULE
    set_up_print(sheet, "Words of the drop-downs", portrait=True)
