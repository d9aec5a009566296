"""Wire sizes as listed against the sizes needed, as an SVG picture.

A row for each wire: a filled dot at the size as listed, an open diamond at the one needed, a bar between them that
is solid where the wire is too small, dashed where it may be, and dotted where it could be smaller. Colour says nothing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Literal
from unicodedata import east_asian_width

from harnessdrc.render.sizing import (
    STANDING_WORDS,
    Standing,
    area_mm2,
    comparable,
    needed_of,
    needs_size_text,
    order_of_need,
    percent_text,
    standing_of_size,
)
from harnessdrc.results import SizeLine

from .picture import GRID, INK, drawn_svg, plain

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["MOST_WIRES", "has_sizes", "sizes_svg"]

MOST_WIRES = 60
"""Wires that a picture shows: those with the least margin."""

_WIDTH_IN, _ROW_IN, _HEAD_IN, _FOOT_IN = 9.0, 0.165, 0.7, 1.0
_LEAST_ROWS = 4
_NAME_LETTERS, _SIZE_LETTERS, _SAID_LETTERS = 22, 11, 42
_LEAST_MM2, _MOST_MM2 = 1e-3, 1e4
"""Areas beyond are no wires and are drawn at the edge."""
_TICKS_MM2 = (0.05, 0.1, 0.2, 0.35, 0.5, 0.75, 1, 1.5, 2.5, 4, 6, 10, 16, 25, 50, 95, 150, 300, 1000)
_LINES: dict[Standing, tuple[float, Literal["-", "--", ":"]]] = {
    "small": (3.2, "-"),
    "perhaps": (2.4, "--"),
    "spare": (1.0, ":"),
}


def has_sizes(lines: Sequence[SizeLine]) -> bool:
    """Whether there is a wire to draw: one with its size as listed known, and the one needed or that none does."""
    return any(map(_drawable, lines))


def _drawable(line: SizeLine) -> bool:
    if comparable(line) is not None:
        return True
    return area_mm2(line.size) is not None and standing_of_size(line) in ("small", "perhaps")


def sizes_svg(lines: Sequence[SizeLine], title: str) -> str:
    """Draw the size as listed of each wire against the smallest one that does.

    Parameters
    ----------
    lines : sequence of SizeLine
        Wires; those of which a size is not known are left out, and of more than `MOST_WIRES` those too small and then
        those with the least margin are drawn, which the picture says.
    title : str
        Stands above.

    Returns
    -------
    str
        An SVG document with its text as text: the same for the same input and version of the plotting library.

    Raises
    ------
    ValueError
        If there is nothing to draw.
    """
    known = [line for line in lines if _drawable(line)]
    if not known:
        raise ValueError("there is no wire of which the size as listed and the one needed are known")
    shown = [known[at] for at in order_of_need(known)[:MOST_WIRES]]
    height_in = _HEAD_IN + max(len(shown), _LEAST_ROWS) * _ROW_IN + _FOOT_IN

    def draw(figure: Figure) -> None:
        _head_and_foot(figure, title, len(shown), len(known), len(lines), height_in)
        axes = figure.add_axes((0.265, _FOOT_IN / height_in, 0.44, 1 - (_HEAD_IN + _FOOT_IN) / height_in))
        _rows(axes, shown)

    return drawn_svg(_WIDTH_IN, height_in, title, "sizes", draw)


# --- round the rows -----------------------------------------------------------------------------------


def _head_and_foot(figure: Figure, title: str, shown: int, drawable: int, of_all: int, height_in: float) -> None:
    from matplotlib.lines import Line2D

    figure.text(0.015, 1 - 0.12 / height_in, plain(title, 100), va="top", size=13, weight="bold", color=INK)
    told = "Wire sizes as listed against the smallest that satisfies all limits: an estimate."
    if shown < drawable:
        told += f" {shown} of {drawable:,} wires: those too small, then those with the least margin."
    elif drawable < of_all:
        told += f" {drawable:,} of {of_all:,} wires, those with sizes known."
    figure.text(0.015, 1 - 0.42 / height_in, told, va="top", color=INK)
    handles = [
        Line2D([], [], color=INK, linestyle="", marker="o", markersize=5.5, label="as listed"),
        Line2D(
            [], [], color=INK, linestyle="", marker="D", markersize=6, markerfacecolor="white", label="needed"
        ),
        *(
            Line2D([], [], color=INK, linewidth=width, linestyle=style, label=STANDING_WORDS[standing])
            for standing, (width, style) in _LINES.items()
        ),
    ]  # fmt: skip
    figure.legend(
        handles=handles, loc="lower left", bbox_to_anchor=(0.01, 0.24 / height_in), ncols=5, frameon=False,
        borderaxespad=0, handlelength=2.6,
    )  # fmt: skip
    figure.text(
        0.015, 0.07 / height_in, "AWG sizes are drawn at their area by ASTM B258. Measure on the bench.", va="bottom",
        style="italic", color=INK,
    )  # fmt: skip


# --- the rows -----------------------------------------------------------------------------------------


def _held(area: float) -> float:
    return min(max(area, _LEAST_MM2), _MOST_MM2)


def _rows(axes: Axes, lines: Sequence[SizeLine]) -> None:
    from matplotlib.ticker import FixedLocator, FuncFormatter, NullLocator

    spans = []
    for line in lines:
        areas, listed = comparable(line), area_mm2(line.size)
        if areas is not None:
            spans.append((_held(areas[0]), _held(areas[1])))
        elif listed is not None:
            spans.append((_held(listed[1]), math.inf))
    finite = [area for span in spans for area in span if math.isfinite(area)]
    left, right = min(finite) / 1.25, max(finite) * 1.25
    axes.set_xscale("log")
    axes.set_xlim(left, right)
    axes.set_ylim(len(lines) - 0.5, -0.7)
    ticks = [tick for tick in _TICKS_MM2 if left <= tick <= right]
    axes.xaxis.set_major_locator(FixedLocator(_apart(ticks, left, right)))
    axes.xaxis.set_minor_locator(NullLocator())
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    axes.set_xlabel("conductor area, mm²", color=INK)
    axes.yaxis.set_major_locator(NullLocator())
    axes.grid(True, axis="x", color=GRID, linewidth=0.6)
    axes.set_axisbelow(True)
    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)
    for at, (line, (listed_mm2, needed_mm2)) in enumerate(zip(lines, spans, strict=True)):
        _row(axes, at, line, listed_mm2, needed_mm2, right)


def _apart(ticks: Sequence[float], left: float, right: float) -> list[float]:
    """Ticks that leave room for each other's figures."""
    room = math.log(right / left) / 14
    kept: list[float] = []
    for tick in ticks:
        if not kept or math.log(tick / kept[-1]) >= room:
            kept.append(tick)
    return kept


def _row(axes: Axes, at: int, line: SizeLine, listed_mm2: float, needed_mm2: float, right: float) -> None:
    standing = standing_of_size(line)
    bold = "bold" if standing == "small" else "normal"
    none_does = math.isinf(needed_mm2)
    if standing in _LINES:
        width, style = _LINES[standing]
        end = right if none_does else needed_mm2
        axes.plot([listed_mm2, end], [at, at], color=INK, linewidth=width, linestyle=style, solid_capstyle="butt")
    if not none_does:
        axes.plot([needed_mm2], [at], color=INK, linestyle="", marker="D", markersize=6, markerfacecolor="white")
    axes.plot([listed_mm2], [at], color=INK, linestyle="", marker="o", markersize=4.5 if standing == "fits" else 5.5)
    for offset_pt, text, side in (
        (-162, _fitted(line.wire, _NAME_LETTERS), "left"), (-8, _fitted(line.size, _SIZE_LETTERS), "right"),
    ):  # fmt: skip
        axes.annotate(
            text, (0, at), xytext=(offset_pt, 0), xycoords=("axes fraction", "data"), textcoords="offset points",
            ha=side, va="center", size=7.5, weight=bold, color=INK, annotation_clip=False,
        )  # fmt: skip
    axes.annotate(
        _said(line, standing), (1, at), xytext=(6, 0), xycoords=("axes fraction", "data"), textcoords="offset points",
        ha="left", va="center", size=7.5, weight=bold, color=INK, annotation_clip=False,
    )  # fmt: skip


def _said(line: SizeLine, standing: Standing) -> str:
    """What stands right of a row: the size it needs and why, or what it has to spare."""
    spare = f"{percent_text(line.margin)} to spare" if line.margin is not None and line.margin >= 0 else ""
    if standing in ("small", "perhaps"):
        return plain(f"{needs_size_text(line)}{', at worst' if standing == 'perhaps' else ''}", _SAID_LETTERS)
    needed = needed_of(line)
    return plain(f"{needed} would do; {spare}" if standing == "spare" and spare else spare or needed, _SAID_LETTERS)


def _fitted(text: str, most: int) -> str:
    """Text cut to the room of so many usual letters: wide ones take more of it."""
    text = plain(text)
    room = most - 1.0
    for at, letter in enumerate(text):
        room -= 1.7 if letter in "WMQ@%" or east_asian_width(letter) in "WF" else 1.25 if letter.isupper() else 1.0
        if room < 0 and at + 1 < len(text):
            return text[:at].rstrip() + "…"
    return text
