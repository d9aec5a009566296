"""The Wire sizes sheet: what each wire carries, may carry and needs; fuses; bundles."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from harnessdrc.render.sizing import (
    CAUTION_TEXT,
    bundle_standing,
    copper_text,
    order_of_need,
    standings,
    tight_by,
)
from harnessdrc.results import BundleLine, FuseLine, SizingLimits, SizingOutcome

from .links import Links
from .looks import TAB_COLOURS
from .page import Page, PageCell
from .pagelooks import BODY, CAUTION, TITLE, VERDICT, add_headings, add_section
from .sizes_rows import BundleRows, FuseRows, WireRows, fuse_group

__all__ = ["WIRE_SIZES", "sizes_page"]

WIRE_SIZES = "Wire sizes"
"""Name of the sheet."""

_COLUMNS = (
    ("Wire", 13), ("As\nlisted", 10), ("Current\nA", 8), ("Peak\nA", 8), ("in state", 10.5), ("Allowed\nA", 8),
    ("To\nspare", 8), ("Against\nwhat it needs", 15), ("Needed\nmm²", 9.5), ("Needed\nAWG", 8.5),
    ("What decides", 13.5), ("Conduc-\ntor °C", 8), ("Insula-\ntion °C", 11), ("Ambient\n°C", 8.5),
    ("Wires in\nbundle", 8), ("Bundle\nloading", 8), ("Drop\nmV", 8), ("Copper\ng", 8), ("needed\ng", 8),
    ("Fuse ahead", 11), ("Fault at\nits end A", 8.5), ("Fuse\nclears s", 8), ("Wire\nbears s", 8), ("On a fault", 13.5),
    ("Place", 15), ("Lacking", 26),
)  # fmt: skip
_PLACE = 24
_HEADINGS_PT = 29
_ROW_PT = 15.0
_PAPER_PT = 760.0
"""Height of rows that a printed page surely takes, at the scale that fits all columns on it."""
_HEAD_PT = 120.0
_FUSES = (
    "Fuse", "Rating\nA", "Load\nA", "Load of\nrating", "in state", "Thinnest\nmay carry", "Least\nfault A",
    "Tight by", "Fault at\nend of", "Cleared\nin s", "Thinnest wire", "Wire\nbears s", "On a fault", "Family", "", "",
    "Colour of its rating", *[""] * 7, "Place", "Lacking",
)  # fmt: skip
_FUSES_MERGED = ((13, 15), (16, 23))
_BUNDLES = (
    "Branch", "Wires", "Across\nmm", "Sleeve\nmm", "Of the\nsleeve", "Least\nbend mm", "Ambient\n°C", "In its sleeve",
    "Copper\ng", "Shrunk\nmm", *[""] * 14, "Place", "Lacking",
)  # fmt: skip
_BUNDLES_MERGED = ((10, 23),)


def sizes_page(sizing: SizingOutcome, links: Links, name: str, title: str) -> Page:
    """Make the sheet.

    Parameters
    ----------
    sizing : SizingOutcome
        What was worked out.
    links : Links
        Where places are in the workbook.
    name, title : str
        Of the sheet; of the list that is marked.
    """
    widths = [float(width) for _, width in _COLUMNS]
    page = Page(name, widths, TAB_COLOURS[WIRE_SIZES], f"{WIRE_SIZES}: {title}", frozen_columns=1)
    page.blank = BODY
    found = standings(sizing.wires)
    order = order_of_need(sizing.wires, found)
    # too small, then perhaps so, each with the least margin first; the others as they are listed
    bad = [at for at in order if found[at] in ("small", "perhaps")]
    told = set(bad)
    order = bad + [at for at in range(len(found)) if at not in told]
    page.across("What each wire carries, may carry and needs", TITLE, 24)
    page.across(_verdict(sizing, Counter(found)), VERDICT)
    page.across(
        f"{CAUTION_TEXT}. Current: the greatest effective one over the states; allowed: what heats the wire where it "
        "lies to what its insulation bears, the least that may be so while data is lacking. Needed: the smallest "
        "standard size that satisfies all limits, in each system by itself; one is never converted into the other. "
        "To spare: allowed over current, left empty where the current is next to nothing. Solid fill: too small; "
        "hatched: may be. Fault: a short circuit to metal at the far end; the longest time the fuse ahead takes for "
        "it, empty where it may never open, against the time until the wire is at its short-time limit; fuse ahead "
        "none where the wire lies straight on the battery. Fuse too large: no standard size of the wire would do.",
        CAUTION,
    )
    page.heading_row = add_headings(page, [heading for heading, _ in _COLUMNS], _HEADINGS_PT)
    wires = WireRows([sizing.wires[at] for at in order], [found[at] for at in order], links, _PLACE)
    if wires.count:
        page.filtered_to = page.add_block(wires) + wires.count - 1
    else:
        page.add([PageCell("None that could be worked out.", BODY)])
    paper = _Paper(page, _HEAD_PT + wires.count * _ROW_PT)
    if sizing.fuses:
        _fuses(page, paper, sizing.fuses, sizing.limits, links)
    if sizing.bundles:
        _bundles(page, paper, sizing.bundles, sizing.limits, links)
    if sizing.not_worked_out:
        add_section(page, f"WHAT IS NOT IN THESE FIGURES ({len(sizing.not_worked_out):,})")
        for sentence in sizing.not_worked_out:
            page.across(sentence, BODY)
    if paper.one_page:
        page.repeated_row = 0  # nothing of the wires on further pages
    return page


class _Paper:
    """Keeps a table with its headings on one printed page, as far as it fits on one."""

    def __init__(self, page: Page, used_pt: float) -> None:
        self._page = page
        self._used_pt = used_pt
        self.one_page = used_pt <= _PAPER_PT
        """Whether the wires end on the first page."""

    def table(self, rows: int) -> None:
        """Start a table of so many rows on a new page where it does not fit on what is left of this one."""
        height_pt = rows * _ROW_PT + 19 + _HEADINGS_PT
        used_pt = self._used_pt % _PAPER_PT
        if used_pt + height_pt > _PAPER_PT:
            self._page.break_before(self._page.next_row)
            used_pt = 0.0
        self._used_pt = used_pt + height_pt


def _verdict(sizing: SizingOutcome, counts: Counter[str]) -> str:
    number = len(sizing.wires)
    parts = [f"{counts['small']:,} too small"]
    if counts["perhaps"]:
        parts.append(f"{counts['perhaps']:,} may be too small")
    parts += [f"{counts['spare']:,} could be smaller", f"{counts['unknown']:,} not known"]
    text = f"{number:,} wire{'' if number == 1 else 's'}: {', '.join(parts)}."
    if sizing.copper_g > 0:
        listed, needed = copper_text(sizing.copper_g), copper_text(sizing.needed_g)
        text += f" {listed} of copper; {'no less' if listed == needed else needed} with the smallest sizes that do."
    return text


def _headings(page: Page, headings: Sequence[str], merged: Sequence[tuple[int, int]]) -> None:
    row = add_headings(page, list(headings), _HEADINGS_PT)
    for first, last in merged:
        page.merge(row, first, last)


def _fuses(page: Page, paper: _Paper, fuses: Sequence[FuseLine], limits: SizingLimits, links: Links) -> None:
    paper.table(len(fuses))
    rank = {"bad": 0, "maybe": 1, "": 2}
    ordered = sorted(fuses, key=lambda line: rank[fuse_group(line, limits)])
    tight = sum(1 for line in fuses if tight_by(line, limits))
    add_section(
        page,
        f"FUSES ({len(fuses):,}, {tight:,} of them tight): load over {limits.load_percent:g} % of the rating; a wire "
        "that may carry less than the rating; a fault at the far end of a wire cleared after the wire is at its "
        f"limit, after {limits.clear_s:g} s, or perhaps never; hatched: load only, or not certain",
    )
    _headings(page, _FUSES, _FUSES_MERGED)
    page.add_block(FuseRows(ordered, limits, links, _PLACE))


def _bundles(page: Page, paper: _Paper, bundles: Sequence[BundleLine], limits: SizingLimits, links: Links) -> None:
    paper.table(len(bundles))
    rank = {"does not fit": 0, "tight": 1, "": 2}
    ordered = sorted(bundles, key=lambda line: rank[bundle_standing(line, limits)])
    add_section(
        page,
        f"BUNDLES ({len(bundles):,}): diameter outside all wires, without shield and tape; tight: more than "
        f"{limits.fill_percent:g} % of its sleeve's inner diameter",
    )
    _headings(page, _BUNDLES, _BUNDLES_MERGED)
    page.add_block(BundleRows(ordered, limits, links, _PLACE))
