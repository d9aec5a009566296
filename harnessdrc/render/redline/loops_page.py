"""The Loops and triggers sheet: loops with their areas, what they induce, and the margin of every trigger sensor."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from harnessdrc.render.induction import (
    FIRM,
    LOOK_FOR,
    has_margin,
    lacking_text,
    leaves_margin,
    pickup_text,
    settings_text,
    standing_of,
    way_text,
    worst_of,
)
from harnessdrc.results import InductionOutcome, LoopLine, TriggerLine

from .links import Links
from .looks import MARK_FILLS, TAB_COLOURS, Look
from .loops_rows import LoopRows, margin_rows, pickup_rows, setting_rows
from .page import Page, PageCell
from .pagelooks import (
    BODY,
    BOLD,
    CAUTION,
    FIGURE_AREA,
    FIGURE_AREA_BOUND,
    FIGURE_DB,
    FIGURE_LENGTH,
    FIGURE_WHOLE,
    TITLE,
    VERDICT,
    add_headings,
    add_section,
    linked,
    value_cell,
)

__all__ = ["LOOPS_AND_TRIGGERS", "loops_page"]

LOOPS_AND_TRIGGERS = "Loops and triggers"
"""Name of the sheet."""

_COLUMNS = (
    ("Belongs to", 18), ("Loop", 19), ("Round it\nm", 9), ("Area\ncm²", 11), ("Best layout\ncm²", 10.5),
    ("Times the\nbest", 9.5), ("The way round it", 10), ("", 10), ("", 10), ("", 10), ("", 10), ("", 10),
    ("Lacking", 24), ("To be said of it", 27), ("Place", 15),
)  # fmt: skip
_WAY_FROM, _WAY_TO = 6, 11
_PAIR_FROM, _PAIR_TO = 9, 11
_LAST = len(_COLUMNS) - 1
_HEADINGS_PT = 29
_ROW_PT, _MOST_ROW_PT = 15.0, 400.0
_IN_FULL = 40
"""Loops told first, with wrapped texts; of many more the others stand one line each below all tables."""
_PAPER_PT = 700.0
"""Height of rows that a printed page surely takes, at the scale that fits all columns on it."""
_BELOW = Look(across="right", wrap=False, border="medium", bold=True, number_format="0.0", fill=MARK_FILLS["hold"])
_WITHIN = replace(_BELOW, fill=MARK_FILLS["query"])
_INSET = replace(BODY, indent=1)
_WITHOUT_END = {math.inf: "no noise", -math.inf: "none left"}
_STRONG = replace(FIGURE_DB, bold=True)


def loops_page(induction: InductionOutcome, links: Links, name: str, title: str) -> Page:
    """Make the sheet.

    Parameters
    ----------
    induction : InductionOutcome
        What was worked out.
    links : Links
        Where places are in the workbook.
    name, title : str
        Of the sheet; of the list that is marked.
    """
    widths = [float(width) for _, width in _COLUMNS]
    page = Page(name, widths, TAB_COLOURS[LOOPS_AND_TRIGGERS], f"{LOOPS_AND_TRIGGERS}: {title}", frozen_columns=1)
    page.blank = BODY
    page.across("What the ignition induces in the triggers", TITLE, 24)
    page.across(_verdict(induction), VERDICT)
    page.across(
        f"{FIRM}. Look {LOOK_FOR}. Area with ≤: no coordinates are given, so it is the greatest that a loop of this "
        "length can have, and so is the ratio. Times the best: area over that of the best feasible layout of the same "
        "parts. Solid fill: margin below its limit; hatched: below it at the end of the range only.",
        CAUTION,
    )
    headings = [heading for heading, _ in _COLUMNS]
    page.heading_row = _headings(page, headings, [(_WAY_FROM, _WAY_TO)])
    loops, triggers = induction.loops, induction.triggers
    told = loops if len(loops) <= _IN_FULL * 1.2 else loops[:_IN_FULL]
    rest = loops[len(told) :]
    if rest:
        add_section(page, f"LOOPS, the first {len(told):,} of {len(loops):,}; the others at the end of this sheet")
    else:
        add_section(page, f"LOOPS ({len(loops):,})")
    paper = _Paper(page, 130.0)
    for loop in told:
        paper.use(_add_merged(page, _loop(loop, links), _WAY_FROM, _WAY_TO))
    if not loops:
        page.add([PageCell("None that could be followed.", BODY)])
    page.filtered_to = page.next_row - 1
    if triggers:
        _sensors(page, paper, triggers, links)
        _bulks(page, paper, triggers)
    if induction.not_worked_out:
        add_section(page, f"WHAT IS NOT IN THESE FIGURES ({len(induction.not_worked_out):,})")
        for sentence in induction.not_worked_out:
            page.across(sentence, BODY)
    page.repeated_row = 0  # these headings would be wrong above the tables of the triggers
    if rest:
        page.break_before(add_section(page, f"FURTHER LOOPS ({len(rest):,})"))
        page.repeated_row = _headings(page, headings, [(_WAY_FROM, _WAY_TO)])
        page.add_block(LoopRows(rest, links, len(_COLUMNS)))
    return page


class _Paper:
    """Keeps a table with its headings on one printed page, as far as it fits on one."""

    def __init__(self, page: Page, used_pt: float) -> None:
        self._page = page
        self._used_pt = used_pt

    def use(self, height_pt: float) -> None:
        """Count what was added since the last break."""
        self._used_pt += height_pt

    def table(self, height_pt: float) -> None:
        """Start a table of this height, with its headings, on a new page where it may not fit on this one."""
        height_pt += 19 + _HEADINGS_PT
        if self._used_pt + height_pt > _PAPER_PT:
            self._page.break_before(self._page.next_row)
            self._used_pt = 0.0
        self.use(height_pt)


def _verdict(induction: InductionOutcome) -> str:
    loops, triggers = len(induction.loops), len(induction.triggers)
    looked = f"{loops:,} loop{'' if loops == 1 else 's'} and {triggers:,} trigger sensor{'' if triggers == 1 else 's'}"
    known = [line for line in induction.triggers if has_margin(line)]
    if not known:
        return f"{looked} looked at; no margin could be worked out."
    below = sum(1 for line in known if standing_of(line) == "below")
    within = sum(1 for line in known if standing_of(line) == "within")
    parts = [f"{below:,} margin{'' if below == 1 else 's'} below the limit" if below else "no margin below its limit"]
    if within:
        parts.append(f"{within:,} {'more ' if below else ''}may be below it, at the end of the range")
    if len(known) < triggers:
        parts.append(f"{triggers - len(known):,} not known")
    return f"{looked} looked at: {', '.join(parts)}."


# --- loops --------------------------------------------------------------------------------------------


def _figure(value: float | None, look: Look, decimals: int) -> PageCell | None:
    """Cell with a figure; a text where it is no number, nothing where there is none."""
    if value is None:
        return None
    if not math.isfinite(value):
        return value_cell(value)
    return PageCell(round(float(value), decimals) + 0.0, look)


def _estimate(mv: float | None) -> PageCell | None:
    """Cell with an estimate, in three digits."""
    return value_cell(mv if mv is None else float(f"{mv:.3g}"))


def _add_merged(page: Page, cells: list[PageCell | None], first: int, last: int) -> float:
    """Add a row with one cell that reaches over several columns, high enough for all its texts; gives its height."""
    height_pt = _height_pt(page, cells, first, last)
    page.merge(page.add(cells, height_pt), first, last)
    return height_pt


def _height_pt(page: Page, cells: list[PageCell | None], first: int, last: int) -> float:
    height_pt = _ROW_PT
    for column, cell in enumerate(cells):
        if cell is not None and isinstance(cell.value, str) and cell.look.wrap:
            width = sum(page.widths[first : last + 1]) if column == first else page.widths[column]
            height_pt = max(height_pt, cell.look.lines(cell.value, width) * cell.look.line_pt + 4)
    return round(min(height_pt, _MOST_ROW_PT), 1)


def _loop(loop: LoopLine, links: Links) -> list[PageCell | None]:
    place = loop.mark.place if loop.mark is not None else None
    area_look = FIGURE_AREA_BOUND if loop.bound else FIGURE_AREA
    row: list[PageCell | None] = [
        PageCell(loop.subject[1], BOLD),
        PageCell(loop.what, BODY),
        _figure(loop.length_m, FIGURE_LENGTH, 3),
        _figure(loop.area_cm2, area_look, 2),
        _figure(loop.best_area_cm2, FIGURE_AREA, 2),
        _figure(loop.area_ratio, area_look, 2),
        PageCell(way_text(loop.way), _INSET),
    ]
    row += [PageCell(None, _INSET)] * (_WAY_TO - _WAY_FROM)
    row += [
        PageCell(lacking_text(loop.lacking), BODY),
        PageCell("; ".join(note.rstrip(".") for note in loop.notes), BODY),
        linked(links.text(place), links.link(place)) if place is not None else None,
    ]
    return row


# --- triggers -----------------------------------------------------------------------------------------


def _headings(page: Page, headings: Sequence[str], merged: Sequence[tuple[int, int]] = ()) -> int:
    """Add headings, some of them over several columns; gives their row."""
    row = add_headings(page, [*headings, *[""] * (_LAST + 1 - len(headings))], _HEADINGS_PT)
    for first, last in merged:
        page.merge(row, first, last)
    return row


def _sensors(page: Page, paper: _Paper, triggers: Sequence[TriggerLine], links: Links) -> None:
    rows = [_sensor(line, links) for line in triggers]
    paper.table(sum(_height_pt(page, row, _PAIR_FROM, _PAIR_TO) for row in rows))
    add_section(page, f"TRIGGER SENSORS ({len(triggers):,}), the least margin first, each at its worst speed")
    _headings(
        page,
        ["Sensor", "Kind", "Worst at\n1/min", "Margin\ndB", "from dB", "to dB", "Limit\ndB", "Noise mV\n(estimate)",
         "at most\nmV", "How its wires run", "", "", "What induces most", "Threshold and filter; lacking",
         "Place"],
        [(_PAIR_FROM, _PAIR_TO)],
    )  # fmt: skip
    for row in rows:
        _add_merged(page, row, _PAIR_FROM, _PAIR_TO)


def _sensor(line: TriggerLine, links: Links) -> list[PageCell | None]:
    at = worst_of(line)
    place = line.mark.place if line.mark is not None else None
    margin: list[PageCell | None] = [None] * 4
    noise: list[PageCell | None] = [None] * 2
    if at is not None:
        look = {"below": _BELOW, "within": _WITHIN, "": _STRONG}[standing_of(line)]
        least = line.margin_db[at]
        margin = [
            _figure(line.rpm[at], FIGURE_WHOLE, 1),
            PageCell(_WITHOUT_END[least], look) if math.isinf(least) else _figure(least, look, 1),
            _figure(line.low_db[at], FIGURE_DB, 1),
            _figure(line.high_db[at], FIGURE_DB, 1),
        ]
        noise = [_estimate(line.noise_mv[at]), _estimate(line.noise_high_mv[at])]
    say = [settings_text(line), f"lacking: {lacking_text(line.lacking)}" if line.lacking else ""]
    return [
        PageCell(line.subject[1], BOLD),
        PageCell(line.sensor, BODY),
        *margin,
        _figure(line.limit_db, FIGURE_DB, 1),
        *noise,
        PageCell(line.pair, BODY),
        PageCell(None, BODY),
        PageCell(None, BODY),
        PageCell(pickup_text(line.pickups[0]) if line.pickups else "", BODY),
        PageCell("\n".join(text for text in say if text), BODY),
        linked(links.text(place), links.link(place)) if place is not None else None,
    ]


def _bulks(page: Page, paper: _Paper, triggers: Sequence[TriggerLine]) -> None:
    """The figures of all sensors, one line each."""
    margins = margin_rows(triggers)
    if margins.count:
        paper.table(margins.count * _ROW_PT)
        add_section(page, "MARGIN OVER ENGINE SPEED: what is left of the signal over the noise")
        _headings(
            page,
            ["Sensor", "Kind", "Engine\n1/min", "Signal\nmV", "Ground\noffset mV", "Noise mV\n(estimate)", "from\nmV",
             "to\nmV", "Margin\ndB", "from\ndB", "to\ndB", "Limit\ndB", "Against it"],
            [(12, 13)],
        )  # fmt: skip
        page.add_block(margins)
    settings = setting_rows(triggers)
    if settings.count:
        paper.table(settings.count * _ROW_PT)
        add_section(page, "SETTINGS OF THE CONTROLLER'S TRIGGER INPUT that leave margin")
        _headings(
            page,
            ["Sensor", "Kind", "Engine\n1/min", "Filter\nµs", "Threshold\nfrom V", "Threshold\nto V",
             "" if all(leaves_margin(one) for line in triggers for one in line.settings) else "Remark"],
            [(6, 11)],
        )  # fmt: skip
        page.add_block(settings)
    pickups = pickup_rows(triggers)
    if pickups.count:
        paper.table(pickups.count * _ROW_PT)
        add_section(page, "WHAT EACH LOOP INDUCES, the strongest first: usual figures and range, before the filter")
        _headings(
            page, ["Sensor", "Induced by", "Distance\nm", "Mutual\nnH", "Best layout\nnH", "Times the\nbest",
                   "Induced mV\n(estimate)", "from\nmV", "to\nmV", "Its loop", "", "", "Change of current"],
            [(_PAIR_FROM, _PAIR_TO)],
        )  # fmt: skip
        page.add_block(pickups)


