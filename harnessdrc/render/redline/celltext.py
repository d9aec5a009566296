"""Text as it may stand in a cell: never a formula, nothing XML forbids, never longer than a cell holds."""

from __future__ import annotations

import re

__all__ = ["CELL_CHARACTERS", "cell_text", "cut", "xml_text"]

CELL_CHARACTERS = 32_767
"""Characters (UTF-16 units) a spreadsheet cell holds."""

CUT_MARK = " … [cut: longer than a cell holds]"

_FORBIDDEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")
_LOOKS_ESCAPED = re.compile("_(?=x[0-9A-Fa-f]{4}_)")
_UNUSUAL = re.compile("[&<>\r\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff\ud800-\udfff]|_x")
_LONE = re.compile("[\ud800-\udfff]")


def cut(text: str, most: int = CELL_CHARACTERS, mark: str = CUT_MARK) -> str:
    """Text cut to what a cell holds, with a mark that says so; counts as spreadsheets do, in UTF-16 units."""
    if len(text) * 2 <= most or _units(text) <= most:
        return text
    room = most - _units(mark)
    kept = text[:room]
    while _units(kept) > room:
        kept = kept[: len(kept) - max(1, (_units(kept) - room) // 2)]
    return kept + mark


def _units(text: str) -> int:
    return len(text.encode("utf-16-le", "surrogatepass")) // 2


def cell_text(text: str) -> str:
    """Characters made fit for a cell, before XML escaping.

    Line ends become line feeds. What XML 1.0 forbids is written ``_xHHHH_``, as the file format has it,
    and a text that already looks like such an escape is protected, so that it reads back unchanged.
    """
    if _UNUSUAL.search(text) is None:
        return text
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    text = _LOOKS_ESCAPED.sub("_x005F_", text)
    text = _FORBIDDEN.sub(lambda found: f"_x{ord(found.group()):04X}_", text)
    return _LONE.sub("\ufffd", text)


def xml_text(text: str) -> str:
    """Text for an element of a cell or note: cut, made fit and escaped."""
    if len(text) > CELL_CHARACTERS // 2:
        text = cut(text)
    if _UNUSUAL.search(text) is None:
        return text
    return cell_text(text).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
