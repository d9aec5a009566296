"""Sheet of the recommended workbook that holds the words of its drop-downs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from openpyxl import Workbook
from openpyxl.styles import Alignment, Font, PatternFill

from harnessdrc.places import column_letters
from harnessdrc.render.template_look import FADED, FONT, GRID, INK, MIST, RULE, SLATE, set_up_print
from harnessdrc.tables.words import BODIES, KINDS, PLACES, ROLES

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
    """One list of the sheet Lists: its words with their meaning, and the cell it starts below."""

    title: str
    subtitle: str
    words: tuple[tuple[float | str, str], ...]
    column: int
    head_row: int

    @property
    def cells(self) -> str:
        """Absolute range of the words."""
        letter, first = column_letters(self.column), self.head_row + 1
        return f"{LISTS_SHEET}!${letter}${first}:${letter}${first + len(self.words) - 1}"


LISTS_SHEET = "Lists"


def _laid_out() -> dict[str, WordList]:
    """Stand the lists one below the other in four blocks, each of a word and its meaning."""
    blocks: tuple[tuple[tuple[str, str, Iterable[tuple[float | str, str]]], ...], ...] = (
        (
            ("Roles", "what a pin or wire does", ROLES),
            ("Bodies", "metal that carries current", BODIES),
            ("Places", "where a device sits", PLACES),
            ("Zones", "how hot a branch gets", _ZONES),
        ),
        (
            ("Kinds", "what a device is", KINDS),
            ("Families", "shape of fuse", ((family, "") for family in _FAMILIES)),
            ("Yes or no", "", (("yes", ""), ("no", ""))),
        ),
        (("Colours", "IEC 60757 letters", _COLOURS),),
        (
            ("Sizes", "of wire", ((size, "" if isinstance(size, str) else "mm²") for size in _SIZES)),
            ("Ratings", "of fuse", ((rating, "A") for rating in _RATINGS)),
        ),
    )
    lists = {}
    for index, block in enumerate(blocks):
        row = 3
        for title, subtitle, words in block:
            lists[title] = WordList(title, subtitle, tuple(words), 3 * index, row)
            row += len(lists[title].words) + 2
    return lists


LISTS = _laid_out()
"""Every list by its title."""


def add_lists_sheet(book: Workbook) -> None:
    """Add the sheet ``Lists`` with the words of every drop-down."""
    sheet = book.create_sheet(LISTS_SHEET)
    sheet["A1"] = "Words of the drop-downs"
    sheet["A1"].font = Font(name=FONT, bold=True, size=14, color=SLATE)
    widest: dict[int, int] = {}
    for words in LISTS.values():
        rows = [(words.title, words.subtitle), *words.words]
        for row, values in enumerate(rows, start=words.head_row):
            for offset, value in enumerate(values):
                cell = sheet.cell(row, words.column + 1 + offset, value)
                is_head = row == words.head_row
                cell.font = Font(
                    name=FONT, bold=is_head and offset == 0, color=INK if is_head or offset == 0 else FADED
                )
                cell.alignment = Alignment(horizontal="left")
                cell.border = GRID
                if is_head:
                    cell.fill = PatternFill("solid", fgColor=MIST)
                at = words.column + offset
                widest[at] = max(widest.get(at, 0), len(str(value)))
    for at, characters in widest.items():
        sheet.column_dimensions[column_letters(at)].width = characters + 3
    for at in {words.column + 2 for words in LISTS.values()}:
        sheet.column_dimensions[column_letters(at)].width = 2
    sheet.sheet_view.showGridLines = False
    sheet.sheet_properties.tabColor = RULE
    set_up_print(sheet, "Words of the drop-downs", one_page=True)
