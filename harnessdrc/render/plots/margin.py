"""The margin of trigger sensors over engine speed, as an SVG picture.

Drawn for black and white first: curves are told apart by line style, hatch and marker, and colour adds nothing
that is not said otherwise.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from harnessdrc.render.induction import db_text, drawable, margin_text, order_of_margin, worst_of
from harnessdrc.render.plots.picture import GRID, INK, drawn_svg, plain
from harnessdrc.results import TriggerLine

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["MOST_SENSORS", "margin_svg"]

MOST_SENSORS = 8
"""Sensors that a picture shows: those with the least margin."""

_LINE, _BAND = "#174e7c", "#d3dbe0"
_WIDTH_IN, _PANEL_IN, _BETWEEN_IN, _HEAD_IN, _FOOT_IN = 9.0, 2.2, 0.85, 1.1, 1.0
_IN_TWO_COLUMNS = 4
"""From so many sensors on there are two panels side by side."""
_MOST_DB = 300.0
"""Figures beyond are drawn at the edge; they are no margins that could be measured."""
_SPAN_FOR_LOG = 8.0
"""Speeds that span more than this ratio are drawn on a logarithmic axis."""
_NAME_LETTERS, _PAIR_LETTERS = {1: 90, 2: 40}, {1: 150, 2: 76}
"""Letters that a panel has room for, by the number of panels side by side."""


def margin_svg(triggers: Sequence[TriggerLine], title: str) -> str:
    """Draw the margin of each sensor over engine speed.

    Parameters
    ----------
    triggers : sequence of TriggerLine
        Sensors, with margins in dB over speeds in 1/min; those without a finite margin are left out, and of more
        than `MOST_SENSORS` those with the least margin are drawn, which the picture says.
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
    lines = [line for line in order_of_margin(triggers) if drawable(line)]
    if not lines:
        raise ValueError("none of the trigger sensors has a margin that can be drawn")
    shown = lines[:MOST_SENSORS]
    columns = 2 if len(shown) >= _IN_TWO_COLUMNS else 1
    rows = math.ceil(len(shown) / columns)
    height_in = _HEAD_IN + rows * _PANEL_IN + (rows - 1) * _BETWEEN_IN + _FOOT_IN

    def draw(figure: Figure) -> None:
        _head_and_foot(figure, title, len(shown), len(lines), height_in)
        grid = figure.add_gridspec(
            rows, columns, left=0.075, right=0.985, top=1 - _HEAD_IN / height_in,
            bottom=_FOOT_IN / height_in, hspace=_BETWEEN_IN / _PANEL_IN, wspace=0.16,
        )  # fmt: skip
        for at, line in enumerate(shown):
            axes = figure.add_subplot(grid[at // columns, at % columns])
            _panel(axes, line, columns)
            if at + columns >= len(shown):
                axes.set_xlabel("engine speed, 1/min", color=INK)
            if at % columns == 0:
                axes.set_ylabel("margin, dB", color=INK)

    return drawn_svg(_WIDTH_IN, height_in, title, "margin", draw)


# --- round the panels ---------------------------------------------------------------------------------


def _head_and_foot(figure: Figure, title: str, shown: int, of_all: int, height_in: float) -> None:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    figure.text(0.015, 1 - 0.12 / height_in, plain(title, 100), va="top", size=13, weight="bold", color=INK)
    told = "Margin of trigger signals over induced noise, against engine speed: an estimate with its range."
    if shown < of_all:
        told += f" {shown} of {of_all:,} sensors, those with the least margin."
    figure.text(0.015, 1 - 0.42 / height_in, told, va="top", color=INK)
    handles = [
        Line2D([], [], color=_LINE, linewidth=1.6, marker=".", label="usual figures"),
        Patch(facecolor=_BAND, edgecolor=INK, linestyle=":", linewidth=0.8, label="range of what is found"),
        Line2D([], [], color=INK, linewidth=1.2, linestyle="--", label="limit"),
        Line2D([], [], color=INK, linestyle="", marker="o", markersize=8, fillstyle="none", label="worst"),
    ]
    figure.legend(
        handles=handles, loc="lower left", bbox_to_anchor=(0.01, 0.24 / height_in), ncols=4, frameon=False,
        borderaxespad=0, handlelength=2.6,
    )  # fmt: skip
    figure.text(
        0.015, 0.07 / height_in, "The oscilloscope at the controller's pins decides, cranking first.", va="bottom",
        style="italic", color=INK,
    )  # fmt: skip


# --- one sensor ---------------------------------------------------------------------------------------


class _Curve:
    """What is drawn of one sensor: finite speeds in rising order, margins within what can be drawn."""

    def __init__(self, line: TriggerLine) -> None:
        rows = sorted(
            (rpm, margin, low, high)
            for rpm, margin, low, high in zip(line.rpm, line.margin_db, line.low_db, line.high_db, strict=False)
            if math.isfinite(rpm)
        )
        self.rpm = [row[0] for row in rows]
        self.margin = [_drawn(row[1]) for row in rows]
        finite = [value for row in rows for value in row[1:] if math.isfinite(value)]
        finite += [line.limit_db] if line.limit_db is not None and math.isfinite(line.limit_db) else []
        low, high = _drawn(min(finite)), _drawn(max(finite))
        room = max(3.0, 0.12 * (high - low))
        self.bottom, self.top = low - room, high + 2.2 * room  # room above for a line of text
        self.low = [self._edge(row[2]) for row in rows]
        self.high = [self._edge(row[3]) for row in rows]

    def _edge(self, db: float) -> float:
        """An end of the range; one without end goes on to the edge of the panel."""
        return db if math.isnan(db) else min(max(db, self.bottom), self.top)


def _drawn(db: float) -> float:
    return min(max(db, -_MOST_DB), _MOST_DB) if math.isfinite(db) else math.nan


def _panel(axes: Axes, line: TriggerLine, columns: int) -> None:
    curve = _Curve(line)
    name = plain(line.subject[1], _NAME_LETTERS[columns])
    axes.set_title(name, loc="left", size=10, weight="bold", color=INK, pad=17)
    run = ", ".join(text for text in (line.sensor, line.pair) if text)
    axes.annotate(
        plain(run, _PAIR_LETTERS[columns]), (0, 1), xytext=(0, 5),
        xycoords="axes fraction", textcoords="offset points", size=7, color=INK,
    )  # fmt: skip
    axes.set_ylim(curve.bottom, curve.top)
    _speeds(axes, curve.rpm)
    axes.grid(True, color=GRID, linewidth=0.6)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    axes.fill_between(curve.rpm, curve.low, curve.high, facecolor=_BAND, edgecolor="none", linewidth=0)
    if len(curve.rpm) == 1:  # a band of no width
        axes.vlines(curve.rpm, curve.low, curve.high, color=_BAND, linewidth=9)
    for edge in (curve.low, curve.high):
        axes.plot(curve.rpm, edge, color=INK, linewidth=0.8, linestyle=":", marker="_" if len(curve.rpm) == 1 else "")
    axes.plot(curve.rpm, curve.margin, color=_LINE, linewidth=1.6, marker=".", markersize=5)
    if curve.bottom < 0 < curve.top:
        axes.axhline(0, color=INK, linewidth=0.6)
    if line.limit_db is not None and math.isfinite(line.limit_db):
        axes.axhline(line.limit_db, color=INK, linewidth=1.2, linestyle=(0, (6, 3)))
        at = worst_of(line)
        left = at is not None and line.rpm[at] > math.sqrt(max(curve.rpm[0], 0.0) * max(curve.rpm[-1], 0.0))
        axes.annotate(  # on the side away from the ring
            f"limit {db_text(line.limit_db)} dB", (0 if left else 1, line.limit_db), xytext=(3 if left else -3, 3),
            size=8, xycoords=("axes fraction", "data"), textcoords="offset points", color=INK,
            ha="left" if left else "right",
        )  # fmt: skip
    _mark_worst(axes, line, curve)


def _mark_worst(axes: Axes, line: TriggerLine, curve: _Curve) -> None:
    at = worst_of(line)
    if at is None or not math.isfinite(line.rpm[at]):
        return
    rpm, margin = line.rpm[at], _drawn(line.margin_db[at])
    if math.isnan(margin):  # nothing left of the signal, or nothing induced: no height to draw it at
        margin = curve.bottom if line.margin_db[at] < 0 else curve.top
    axes.plot([rpm], [margin], color=INK, linestyle="", marker="o", markersize=9, fillstyle="none", clip_on=False)
    axes.annotate(
        plain(f"worst: {margin_text(line)} at {rpm:,.0f} 1/min"), (0, 1), xytext=(5, -4), xycoords="axes fraction",
        textcoords="offset points", va="top", size=8, weight="bold", color=INK,
        bbox={"boxstyle": "square,pad=0.1", "facecolor": "white", "edgecolor": "none"},
    )  # fmt: skip


def _speeds(axes: Axes, rpm: Sequence[float]) -> None:
    """The axis of engine speed: logarithmic where it goes from cranking to full speed."""
    from matplotlib.ticker import FixedLocator, FuncFormatter, LogLocator, MaxNLocator, NullLocator

    low, high = min(rpm), max(rpm)
    if low == high:
        axes.xaxis.set_major_locator(FixedLocator([low]))
        axes.set_xlim(low - 1, high + 1)
    elif low > 0 and high / low > _SPAN_FOR_LOG:
        axes.set_xscale("log")
        wide = high / low > 1e4
        axes.xaxis.set_major_locator(LogLocator(subs=(1.0,) if wide else (1.0, 2.0, 5.0), numticks=20))
        axes.xaxis.set_minor_locator(NullLocator())
        axes.set_xlim(low / 1.15, high * 1.15)
    else:
        room = 0.05 * (high - low)
        axes.xaxis.set_major_locator(MaxNLocator(7))
        axes.set_xlim(low - room, high + room)
    axes.xaxis.set_major_formatter(FuncFormatter(_speed_text))


def _speed_text(rpm: float, at: int | None = None) -> str:
    del at
    return f"{rpm:,.0f}" if abs(rpm) < 1e6 else f"{rpm:.0e}"
