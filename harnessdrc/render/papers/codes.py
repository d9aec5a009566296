"""Codes that a telephone or a hand scanner reads, as a drawing for a page."""

from __future__ import annotations

from functools import cache

import segno

from harnessdrc.render.lines import visible

__all__ = ["QUIET", "code_path", "code_png"]

QUIET = 4
"""White modules around a code, ISO/IEC 18004."""

_DOTS = 3
"""Dots of a picture to each side of a module."""

_INK = [255] + [0] * 255
"""Light and dark modules as grey levels."""

_MASK = 3
"""One mask for all: any mask may be read, and trying all eight takes six times as long."""


_MOST = 500
"""Characters, of which a code that still scans from a small label holds fewer anyway."""


@cache
def _symbol(text: str) -> segno.QRCode:
    """Symbol of level M (a seventh may be dirty), ISO/IEC 18004."""
    return segno.make(visible(text)[:_MOST], micro=False, error="m", boost_error=False, mask=_MASK)


@cache
def code_path(text: str) -> tuple[int, str]:
    """Drawing of a code.

    Parameters
    ----------
    text : str
        What it says when scanned.

    Returns
    -------
    modules : int
        Modules on each side, without the quiet zone; four modules must stay white around it.
    path : str
        Outline of the dark modules as data of an SVG path, one unit a module.
    """
    symbol = _symbol(text)
    runs: list[str] = []
    for y, row in enumerate(symbol.matrix):
        x = 0
        while (start := row.find(1, x)) >= 0:
            end = row.find(0, start)
            x = len(row) if end < 0 else end
            runs.append(f"M{start} {y}h{x - start}v1H{start}z")
    return len(symbol.matrix), "".join(runs)


@cache
def code_png(text: str) -> bytes:
    """The same as a picture with its quiet zone, for a workbook."""
    from io import BytesIO

    from PIL import Image

    matrix = _symbol(text).matrix
    side = len(matrix)
    dark = Image.frombytes("L", (side, side), b"".join(bytes(row) for row in matrix)).point(_INK, "1")
    picture = Image.new("1", (side + 2 * QUIET, side + 2 * QUIET), 1)
    picture.paste(dark, (QUIET, QUIET))
    out = BytesIO()
    picture.resize((picture.width * _DOTS, picture.height * _DOTS), Image.Resampling.NEAREST).save(out, "PNG")
    return out.getvalue()
