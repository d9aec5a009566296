"""Ground offsets per state with the currents that make them, as an SVG picture, for black and white first."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from harnessdrc.render.offsets import mv_text, worst_shares
from harnessdrc.render.plots.picture import GRID, INK, drawn_svg, plain
from harnessdrc.results import NetworkOutcome, OffsetLine

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["MOST_GROUNDS", "has_offsets", "offsets_svg"]

MOST_GROUNDS = 6
"""Grounds that a picture shows: those nearest to their limit or furthest over it."""
_SOURCES = 5
_LOOKS = (
    ("#33475b", ""), ("#ffffff", "////"), ("#a9b7c4", ""), ("#ffffff", "...."), ("#6d8296", "\\\\\\\\"),
    ("#ffffff", "xxxx"),
)  # fmt: skip
_WIDTH_IN, _HEAD_IN, _FOOT_IN, _ROW_IN, _BETWEEN_IN = 9.0, 0.75, 0.45, 0.2, 0.8
_REST = "others"


def has_offsets(network: NetworkOutcome) -> bool:
    """Whether any ground has an offset with its parts."""
    return any(map(_drawable, network.offsets))


def _drawable(line: OffsetLine) -> bool:
    return any(line.shares) and all(map(math.isfinite, line.peak_mv))


def offsets_svg(network: NetworkOutcome, title: str) -> str:
    """Draw the offsets of the grounds nearest to their limits, a bar per state, parted by source.

    Parameters
    ----------
    network : NetworkOutcome
        With offsets at the worst instant, joints new, mV.
    title : str
        Stands above.

    Returns
    -------
    str
        An SVG document; the same for the same input and version of the plotting library.

    Raises
    ------
    ValueError
        If there is nothing to draw.
    """
    known = [line for line in network.offsets if _drawable(line)]
    if not known:
        raise ValueError("none of the grounds has an offset with its parts")
    shares = worst_shares(known)
    order = sorted(range(len(known)), key=lambda at: (-(0.0 if math.isnan(shares[at]) else float(shares[at])), at))
    shown = [known[at] for at in order[:MOST_GROUNDS]]
    states = [state.name for state in network.states]
    panel_in = _ROW_IN * max(len(states), 3)
    rows = math.ceil(len(shown) / 2)
    height_in = _HEAD_IN + _FOOT_IN + rows * panel_in + rows * _BETWEEN_IN

    def draw(figure: Figure) -> None:
        figure.text(0.015, 1 - 0.12 / height_in, plain(title, 100), va="top", size=13, weight="bold", color=INK)
        told = "Ground offset at the worst instant of each state, joints new, parted by the current that makes it."
        if len(shown) < len(network.offsets):
            told += f" {len(shown)} of {len(network.offsets):,} grounds, those nearest to their limit."
        figure.text(0.015, 1 - 0.42 / height_in, told, va="top", color=INK)
        grid = figure.add_gridspec(
            rows, 2, left=0.095, right=0.985, top=1 - (_HEAD_IN + 0.35) / height_in, bottom=_FOOT_IN / height_in,
            hspace=_BETWEEN_IN / panel_in * 1.05, wspace=0.25,
        )  # fmt: skip
        for at, line in enumerate(shown):
            _panel(figure.add_subplot(grid[at // 2, at % 2]), line, states)

    return drawn_svg(_WIDTH_IN, height_in, title, "offsets", draw)


def _panel(axes: Axes, line: OffsetLine, states: Sequence[str]) -> None:
    sources = _sources(line)
    low = high = 0.0
    for row, parts in enumerate(line.shares):
        up = down = 0.0
        values = dict.fromkeys((*sources, _REST), 0.0)
        for part in parts:
            values[part.source if part.source in values else _REST] += part.mv
        for number, source in enumerate((*sources, _REST)):
            mv = values[source]
            if not math.isfinite(mv) or abs(mv) < 1e-6:
                continue
            colour, hatch = _LOOKS[number]
            start = up if mv >= 0 else down
            axes.barh(row, mv, left=start, height=0.66, facecolor=colour, hatch=hatch, edgecolor=INK, linewidth=0.6)
            up, down = (up + mv, down) if mv >= 0 else (up, down + mv)
        low, high = min(low, down), max(high, up)
        axes.plot([line.peak_mv[row]], [row], marker="D", markersize=4, color="white", markeredgecolor=INK)
    span = max(high - low, 1e-3)
    beyond = []
    for limit in (line.low_limit_mv, line.high_limit_mv):
        if limit is None:
            continue
        if low - 0.6 * span <= limit <= high + 0.6 * span:
            axes.axvline(limit, color=INK, linewidth=1.3, linestyle=(0, (5, 3)))
            low, high = min(low, limit), max(high, limit)
        else:
            beyond.append(mv_text(limit))
    room = 0.06 * max(high - low, 1e-3)
    axes.set_xlim(low - room, high + room)
    axes.set_ylim(len(states) - 0.5, -0.5)
    axes.set_yticks(range(len(states)), [plain(state, 14) for state in states], size=7.5)
    axes.axvline(0, color=INK, linewidth=0.8)
    axes.grid(True, axis="x", color=GRID, linewidth=0.6)
    axes.set_axisbelow(True)
    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)
    axes.set_xlabel("mV" + (f"   (limit {' and '.join(beyond)} mV lies beyond)" if beyond else ""), color=INK, size=7.5)
    axes.set_title(plain(f"{line.victim[1]}, {line.what}", 60), loc="left", size=9, weight="bold", color=INK, pad=16)
    _key(axes, sources)


def _key(axes: Axes, sources: Sequence[str]) -> None:
    from matplotlib.patches import Patch

    handles = [
        Patch(facecolor=colour, hatch=hatch, edgecolor=INK, linewidth=0.6, label=plain(source, 14))
        for source, (colour, hatch) in zip((*sources, _REST), _LOOKS, strict=False)
    ]
    axes.legend(
        handles=handles, loc="lower left", bbox_to_anchor=(-0.01, 0.99), ncols=len(handles), frameon=False,
        borderaxespad=0, handlelength=1.3, columnspacing=0.8, handletextpad=0.4, fontsize=6.5,
    )  # fmt: skip


def _sources(line: OffsetLine) -> list[str]:
    """The sources that make most of it over all states, the greatest first."""
    total: dict[str, float] = {}
    for parts in line.shares:
        for part in parts:
            if part.source != "everything else" and math.isfinite(part.mv):
                total[part.source] = max(total.get(part.source, 0.0), abs(part.mv))
    return sorted(total, key=lambda source: (-total[source], source))[:_SOURCES]
