"""The Ground offsets sheet: every ground against its limits, the star point, the states, what was not solved."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from harnessdrc.render.offsets import (
    error_text,
    mohm_text,
    mv_text,
    share_of_limit,
    shares_of_limit,
    shares_text,
    worst_shares,
)
from harnessdrc.results import NetworkOutcome, OffsetLine, StarLine

from .bulkrows import BulkColumn, bulk_rows
from .celltext import xml_text
from .currents_page import ESTIMATES
from .links import Links
from .looks import MARK_FILLS, TAB_COLOURS, Look
from .page import Page, PageCell
from .pagelooks import (
    BODY,
    BOLD,
    CAUTION,
    FIGURE_LENGTH,
    FIGURE_MV,
    FIGURE_MV_BESIDE,
    FIGURE_MV_STRONG,
    FIGURE_SHARE,
    PLAIN,
    PLAIN_BOLD,
    PLAIN_INSET,
    TITLE,
    UNIT,
    VERDICT,
    add_headings,
    add_section,
    linked,
    value_cell,
)
from .stylesheet import Stylesheet

__all__ = ["offsets_page"]

_COLUMNS = (
    ("Victim", 16), ("What", 14), ("Held against", 15), ("Limits\nmV", 11), ("State", 12.5),
    ("Worst instant\nnew mV", 10.5), ("Worst instant\naged mV", 10.5), ("Of limit", 8), ("Average\nnew mV", 8.5),
    ("Average\naged mV", 8.5), ("While data is\nlacking mV", 12), ("Reading off by", 12.5),
    ("Shares of the worst instant, new", 42), ("Weakest joints: rise to the limit", 40), ("Place", 14),
)  # fmt: skip
_LAST = len(_COLUMNS) - 1
_JOINTS = 3
_SHARES = 6
_HEADINGS_PT = 29
_NEW_OVER = Look(across="right", wrap=False, border="medium", bold=True, number_format="0 %", fill=MARK_FILLS["hold"])
_AGED_OVER = replace(_NEW_OVER, fill=MARK_FILLS["query"])


def offsets_page(network: NetworkOutcome, links: Links, name: str, title: str) -> Page:
    """Make the sheet.

    Parameters
    ----------
    network : NetworkOutcome
        What was solved.
    links : Links
        Where places are in the workbook.
    name, title : str
        Of the sheet; of the list that is marked.
    """
    widths = [float(width) for _, width in _COLUMNS]
    page = Page(name, widths, TAB_COLOURS["Ground offsets"], f"Ground offsets: {title}", frozen_columns=1)
    page.blank = BODY
    page.across("How far each ground stands off", TITLE, 24)
    page.across(_verdict(network), VERDICT)
    page.across(
        f"{ESTIMATES} An offset is the ground of the victim against that of the controller; worst instant: all that "
        "can be on together is on. The shares add up to it. A joint's rise is what it may corrode by, all others "
        "as new, until the limit is crossed. Of limit: the worse of new and aged; solid fill: crossed as new, hatched: "
        "crossed when aged. A dash is less than 0.05 mV.",
        CAUTION,
    )
    page.heading_row = add_headings(page, [heading for heading, _ in _COLUMNS], _HEADINGS_PT)
    if network.offsets:
        add_section(page, f"EVERY GROUND IN ITS WORST STATE ({len(network.offsets):,}), the nearest to its limit first")
    for line in network.offsets:
        page.add(_victim(line, network, links))
    if not network.offsets:
        page.add([PageCell("None in this list.", BODY)])
    page.filtered_to = page.next_row - 1
    if network.stars:
        _stars(page, network)
    if network.states:
        _states(page, network)
    if network.not_solved:
        add_section(page, f"NOT SOLVED, left out of the network ({len(network.not_solved)})")
        for sentence in network.not_solved:
            page.across(sentence, BODY)
    if network.offsets and len(network.states) > 1:
        # under the headings that stay in view, so its columns are those of the victims above
        add_section(page, f"EVERY GROUND IN EVERY STATE ({len(network.offsets):,} x {len(network.states)})")
        page.add_block(_EveryState(network))
    return page


def _verdict(network: NetworkOutcome) -> str:
    number = len(network.offsets)
    if not number:
        return "No ground of a coil input, sensor, controller or bus node could be held against the controller's."
    shares = worst_shares(network.offsets)
    over = int((shares >= 1).sum())
    return (
        f"{number:,} ground{'' if number == 1 else 's'} looked at in {len(network.states)} operating states: "
        f"{f'{over:,} over' if over else 'none over'} the limit, joints new or aged."
    )


def _limits(line: OffsetLine) -> str:
    """Both limits, as short as their column."""
    low = None if line.low_limit_mv is None else mv_text(line.low_limit_mv)
    high = None if line.high_limit_mv is None else mv_text(line.high_limit_mv)
    if low is not None and high is not None:
        return f"±{high}" if low == f"-{high}" else f"{low} to {high}"
    if high is not None:
        return f"up to {high}"
    return f"from {low}" if low is not None else "none"


def _mv(value: float, look: Look) -> PageCell:
    """Cell with an offset; a text where it is no number."""
    if not np.isfinite(value):
        return value_cell(value) or PageCell(None, look)
    return PageCell(round(float(value), 1) + 0.0, look)


def _share(new: float | None, aged: float | None = None) -> PageCell | None:
    """Cell with the greater share of limit, filled where it is crossed."""
    known = [share for share in (new, aged) if share is not None and not np.isnan(share)]
    if not known:
        return None
    share = max(known)
    look = FIGURE_SHARE if share < 1 else _NEW_OVER if new is not None and new >= 1 else _AGED_OVER
    return PageCell("no room", look) if np.isinf(share) else PageCell(round(float(share), 3), look)


def _victim(line: OffsetLine, network: NetworkOutcome, links: Links) -> list[PageCell | None]:
    state = network.states[line.worst].name
    new, aged = line.peak_mv[line.worst], line.aged_peak_mv[line.worst]
    between = ""
    if line.low_mv is not None and line.high_mv is not None:
        low, high = sorted((line.low_mv, line.high_mv))
        between = f"{low:.1f} to {high:.1f}"
    joints = "; ".join(
        f"{one.joint}: {f'{mohm_text(one.mohm)} mΩ' if one.mohm > 0 else 'no rise left'}"
        f"{'' if one.state == state else f' in {one.state}'}"
        for one in line.reserves[:_JOINTS]
        if np.isfinite(one.mohm)
    )
    error = error_text(line)
    shares = shares_text(line.shares[line.worst], _SHARES) if line.worst < len(line.shares) else ""
    across = shares_text(line.across, _SHARES)
    if across:
        shares = f"{shares}\nfalls across {across}".strip()
    place = line.mark.place if line.mark is not None else None
    return [
        PageCell(line.victim[1], BOLD),
        PageCell(line.what, BODY),
        PageCell(line.reference, BODY),
        PageCell(_limits(line), UNIT),
        PageCell(state, BODY),
        _mv(new, FIGURE_MV_STRONG),
        _mv(aged, FIGURE_MV_STRONG),
        _share(share_of_limit(line, new), share_of_limit(line, aged)),
        _mv(line.average_mv[line.worst], FIGURE_MV),
        _mv(line.aged_average_mv[line.worst], FIGURE_MV),
        PageCell(between, UNIT) if between else None,
        PageCell(error, BODY) if error else None,
        PageCell(shares, BODY) if shares else None,
        PageCell(joints, BODY) if joints else None,
        linked(links.text(place), links.link(place)) if place is not None else None,
    ]


def _stars(page: Page, network: NetworkOutcome) -> None:
    add_section(page, "STAR POINT: an analysis, not a rule; every candidate solved again, the best first")
    headings = [
        "Candidate", "Today", "Worst victim", "Spark's way\nhome m", "In state", "Worst instant\nnew mV", "Of limit",
        "What that length needs",
    ]  # fmt: skip
    page.merge(
        add_headings(page, headings + [""] * (_LAST + 1 - len(headings)), _HEADINGS_PT), len(headings) - 1, _LAST
    )
    for star in network.stars:
        row = page.add(_star(star))
        page.merge(row, len(headings) - 1, _LAST)


def _star(star: StarLine) -> list[PageCell | None]:
    length_m = star.high_voltage_return_m
    return [
        PageCell(star.earth_point, BOLD),
        PageCell("as listed" if star.today else "", BODY),
        PageCell(star.worst_victim, BODY),
        PageCell(round(float(length_m), 3), FIGURE_LENGTH) if length_m is not None and np.isfinite(length_m) else None,
        PageCell(star.worst_state, PLAIN_INSET),
        _mv(star.worst_mv, FIGURE_MV_STRONG),
        _share(star.worst_share_of_limit),
        PageCell("; ".join(star.lacking), PLAIN_INSET),
    ]


def _states(page: Page, network: NetworkOutcome) -> None:
    add_section(page, f"OPERATING STATES ({len(network.states)})")
    headings = [
        "State", "Engine\n1/min", "Starter\nA", "Into the\nbattery A", "All other\nloads A", "Battery\nV", "Meaning",
    ]  # fmt: skip
    page.merge(
        add_headings(page, headings + [""] * (_LAST + 1 - len(headings)), _HEADINGS_PT), len(headings) - 1, _LAST
    )
    for state in network.states:
        figures = (state.rpm, state.starter_a, state.charge_a, state.loads_a, state.battery_v)
        row = page.add(
            [
                PageCell(state.name, BOLD),
                *(value_cell(float(figure)) for figure in figures),
                PageCell(state.meaning, PLAIN_INSET),
            ]
        )
        page.merge(row, len(headings) - 1, _LAST)


class _EveryState:
    """A row for each victim in each state, for who wants the figures themselves."""

    def __init__(self, network: NetworkOutcome) -> None:
        self._network = network

    @property
    def count(self) -> int:
        """Number of rows."""
        return len(self._network.offsets) * len(self._network.states)

    def rows(self, first: int, styles: Stylesheet) -> Iterator[bytes]:
        """The rows as elements, in pieces."""
        lines, states = self._network.offsets, self._network.states
        each = len(states)

        def repeated(texts: list[str]) -> list[str]:
            return [text for text in texts for _ in range(each)]

        def figures(values: list[tuple[float, ...]]) -> NDArray[np.float64]:
            return np.array(values, dtype=np.float64)

        new = figures([line.peak_mv for line in lines])
        aged = figures([line.aged_peak_mv for line in lines])
        shares = np.fmax(shares_of_limit(lines, new), shares_of_limit(lines, aged))
        columns = [
            BulkColumn(PLAIN_BOLD, repeated([xml_text(line.victim[1]) for line in lines])),
            BulkColumn(PLAIN, repeated([xml_text(line.what) for line in lines])),
            BulkColumn(PLAIN, repeated([xml_text(line.reference) for line in lines])),
            BulkColumn(UNIT, repeated([_limits(line) for line in lines])),
            BulkColumn(PLAIN, [xml_text(state.name) for state in states] * len(lines)),
            BulkColumn(FIGURE_MV_BESIDE, new.ravel(), 1),
            BulkColumn(FIGURE_MV_BESIDE, aged.ravel(), 1),
            BulkColumn(FIGURE_SHARE, shares.ravel()),
            BulkColumn(FIGURE_MV, figures([line.average_mv for line in lines]).ravel(), 1),
            BulkColumn(FIGURE_MV, figures([line.aged_average_mv for line in lines]).ravel(), 1),
        ]
        return bulk_rows(columns, self.count, first, styles)

    def links(self, first: int, most: int) -> Iterator[bytes]:
        """None: the place of a victim stands in its row above."""
        del first, most
        return iter(())
