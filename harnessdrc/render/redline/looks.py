"""How the redline looks: the fills that mark cells, and the looks of the added sheets.

The grades must be told apart on a black and white print as well: their fills differ in lightness (about
64, 80 and 94 per cent) and in pattern (solid, hatched, dotted), on the added sheets also in the weight of
the border, and the grade always stands there as a word.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from harnessdrc.findings import Grade

__all__ = ["GRADE_WORDS", "INK", "MARK_FILLS", "TAB_COLOURS", "Fill", "Look"]

INK = "1F2A33"
LINK = "174E7C"
LINE = "B9C3CA"

BorderWeight = Literal["", "thin", "medium", "thick"]


@dataclass(frozen=True, slots=True)
class Fill:
    """A cell's ground: a pattern in `ink` on `ground`, both as RRGGBB."""

    pattern: str
    ink: str
    ground: str

    def xml(self) -> bytes:
        """The fill as an element; ``@`` stands for the prefix of the part."""
        if self.pattern == "solid":
            inner = f'<@fgColor rgb="FF{self.ground}"/><@bgColor indexed="64"/>'
        else:
            inner = f'<@fgColor rgb="FF{self.ink}"/><@bgColor rgb="FF{self.ground}"/>'
        return f'<@fill><@patternFill patternType="{self.pattern}">{inner}</@patternFill></@fill>'.encode()


MARK_FILLS: dict[Grade, Fill] = {
    "hold": Fill("solid", "F0917B", "F0917B"),
    "query": Fill("lightUp", "D2A03A", "F8D27A"),
    "note": Fill("gray0625", "8FB0C9", "EAF3F9"),
}
"""Fill of a marked cell for each grade."""

GRADE_WORDS: dict[Grade, str] = {"hold": "HOLD", "query": "QUERY", "note": "NOTE"}

TAB_COLOURS = {
    "Findings": "D9563A",
    "Currents": "3F7D6B",
    "Ground offsets": "6C5B8C",
    "Loops and triggers": "8A4F2D",
    "Wire sizes": "4A6B2A",
    "Assumptions": "C9A227",
    "Coverage": "5B7F95",
}


@dataclass(frozen=True, slots=True)
class Look:
    """Look of a cell of an added sheet."""

    size_pt: float = 9
    bold: bool = False
    italic: bool = False
    underline: bool = False
    colour: str = INK
    fill: Fill | None = None
    border: BorderWeight = ""
    across: Literal["left", "center", "right"] = "left"
    up: Literal["top", "center", "bottom"] = "top"
    wrap: bool = True
    indent: int = 0
    number_format: str = ""

    def room(self, width: float) -> float:
        """Characters that fit on a line of a column `width` characters wide; see `lines`."""
        letter_px = self.size_pt * 4 / 3 * (0.52 if self.bold else 0.48)
        return max(4.0, (width - 2 * self.indent) * 7 / letter_px - 1)

    def lines(self, text: str, width: float) -> int:
        """Lines that a wrapped text takes in a column `width` characters wide, estimated on the high side.

        A width counts digits of 7 pixels; a letter of the face used here takes about 0.48 of its size,
        bold 0.52, and a line ends on average two letters before its end.
        """
        room = self.room(width)
        usable = max(4.0, room - 2)
        return sum(1 if len(line) <= room else math.ceil(len(line) / usable) for line in text.split("\n"))

    @property
    def line_pt(self) -> float:
        """Height of a line."""
        return self.size_pt * 1.3

    def font_xml(self) -> bytes:
        """The font as an element."""
        style = "<@b/>" * self.bold + "<@i/>" * self.italic + "<@u/>" * self.underline
        return (
            f'<@font>{style}<@sz val="{self.size_pt:g}"/><@color rgb="FF{self.colour}"/>'
            '<@name val="Arial"/><@family val="2"/></@font>'
        ).encode()

    def border_xml(self) -> bytes:
        """The border as an element: `border` names its weight on all four sides."""
        if not self.border:
            return b"<@border><@left/><@right/><@top/><@bottom/><@diagonal/></@border>"
        colour = LINE if self.border == "thin" else INK
        sides = "".join(
            f'<@{side} style="{self.border}"><@color rgb="FF{colour}"/></@{side}>'
            for side in ("left", "right", "top", "bottom")
        )
        return f"<@border>{sides}<@diagonal/></@border>".encode()

    def alignment_xml(self) -> bytes:
        """The alignment as an element."""
        wrap = ' wrapText="1"' if self.wrap else ""
        indent = f' indent="{self.indent}"' if self.indent else ""
        return f'<@alignment horizontal="{self.across}" vertical="{self.up}"{wrap}{indent}/>'.encode()
