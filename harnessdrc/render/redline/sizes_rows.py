"""Rows of the Wire sizes sheet, written in bulk: there may be fifty thousand wires."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

import numpy as np

from harnessdrc.render.sizing import (
    STANDING_WORDS,
    Standing,
    bundle_standing,
    decides_text,
    fuse_load,
    fuse_text,
    lacking_of,
    never_clears,
    tight_by,
)
from harnessdrc.results import BundleLine, FuseLine, SizeLine, SizingLimits

from .bulkplaces import BulkPlaces
from .bulkrows import BulkColumn, bulk_rows
from .cellrefs import column_letters
from .celltext import xml_text
from .links import Links
from .looks import MARK_FILLS, Look
from .pagelooks import (
    FIGURE_AREA,
    FIGURE_SHARE,
    FIGURE_WHOLE,
    PLAIN,
    PLAIN_BOLD,
    PLAIN_INSET,
    PLAIN_LINKED,
)
from .stylesheet import Stylesheet

__all__ = ["BundleRows", "FuseRows", "WireRows", "fuse_group"]

_FIGURE_AMPS = Look(across="right", wrap=False, border="thin", number_format="[>=100]#,##0;#,##0.00")
_FIGURE_SPARE = Look(across="right", wrap=False, border="thin", number_format="+#,##0 %;-#,##0 %;0 %")
_MOST_SPARE = 99.995
"""Beyond, the current is next to nothing and what is left over says nothing: the cell stays empty."""
_FIGURE_SECONDS = Look(across="right", wrap=False, border="thin", number_format="[>=100]#,##0;0.00")
_FIGURE_SOON = Look(across="right", wrap=False, border="thin", number_format="[>=100]#,##0;[>=1]0.0;0.000")
_BAD = Look(wrap=False, bold=True, border="medium", fill=MARK_FILLS["hold"], indent=1)
_MAYBE = replace(_BAD, fill=MARK_FILLS["query"])
_NEEDED = Look(wrap=False, bold=True, border="thin", indent=1)
_OPEN = Look(wrap=False, indent=1)
"""Of a text that may run on over the empty cell beside it."""
_PLACE = replace(PLAIN_LINKED, indent=1)
_VERDICTS: dict[Standing, Look] = {
    "small": _BAD, "perhaps": _MAYBE, "spare": PLAIN_INSET, "fits": PLAIN_INSET, "unknown": PLAIN_INSET,
}  # fmt: skip


def _numbers(look: Look, values: Iterable[float | None], decimals: int) -> BulkColumn:
    """A column of figures; none is an empty cell."""
    filled = [math.nan if value is None else value for value in values]
    return BulkColumn(look, np.array(filled, dtype=np.float64), decimals)


def _texts(look: Look, texts: Iterable[str]) -> BulkColumn:
    return BulkColumn(look, list(map(xml_text, texts)))


def _common(look: Look, texts: Iterable[str]) -> BulkColumn:
    """A column with few different texts, each made fit once."""
    values = list(texts)
    fit = {text: xml_text(text) for text in set(values)}
    return BulkColumn(look, list(map(fit.__getitem__, values)))


class _Rows:
    """Rows in runs, each with looks of its own, with a column of places."""

    def __init__(self, runs: Sequence[tuple[int, list[BulkColumn]]], places: BulkPlaces, place_column: int) -> None:
        self._runs = runs
        self._places = places
        self._letters = column_letters(place_column)

    @property
    def count(self) -> int:
        """Number of rows."""
        return sum(count for count, _ in self._runs)

    def rows(self, first: int, styles: Stylesheet) -> Iterator[bytes]:
        """The rows as elements, in pieces."""
        for count, columns in self._runs:
            yield from bulk_rows(columns, count, first, styles)
            first += count

    def links(self, first: int, most: int) -> Iterator[bytes]:
        """Hyperlink elements of the cells that name a place."""
        return self._places.links(self._letters, first, most)


def _runs(standings: Sequence[str]) -> Iterator[tuple[int, int]]:
    """First index and end of each run of equal words."""
    start = 0
    for at in range(1, len(standings) + 1):
        if at == len(standings) or standings[at] != standings[start]:
            yield start, at
            start = at


class WireRows(_Rows):
    """A row for each wire.

    Parameters
    ----------
    wires : sequence of SizeLine
        In the order of the sheet: those of a look together, or the rows are written in as many bulks.
    standings : sequence of Standing
        Of each of them.
    links : Links
        Where places are in the workbook.
    place_column : int
        Zero-based column of the place.
    """

    def __init__(
        self, wires: Sequence[SizeLine], standings: Sequence[Standing], links: Links, place_column: int
    ) -> None:
        places = BulkPlaces(links, [line.mark for line in wires])
        told = places.texts()
        groups = ["rest" if _VERDICTS[one] is PLAIN_INSET else one for one in standings]
        runs = []
        for start, end in _runs(groups):
            columns = _wire_columns(wires[start:end], standings[start:end], told[start:end])
            runs.append((end - start, columns))
        super().__init__(runs, places, place_column)


def _wire_columns(
    wires: Sequence[SizeLine], standings: Sequence[Standing], places: Sequence[str]
) -> list[BulkColumn]:
    """Columns of wires whose verdict has one look."""
    lacking = [_lacking(line) if line.lacking or line.fault_lacking else "" for line in wires]
    return [
        _texts(PLAIN_BOLD, (line.wire for line in wires)),
        _common(PLAIN, (line.size for line in wires)),
        _numbers(_FIGURE_AMPS, (line.current_a for line in wires), 2),
        _numbers(_FIGURE_AMPS, (line.peak_a for line in wires), 2),
        _common(PLAIN_INSET, (line.state for line in wires)),
        _numbers(_FIGURE_AMPS, (line.allowed_a for line in wires), 2),
        _numbers(_FIGURE_SPARE, (_spare(line.margin) for line in wires), 3),
        _common(_VERDICTS[standings[0]], (STANDING_WORDS[one] for one in standings)),
        _common(_NEEDED, (line.needed_mm2 for line in wires)),
        _common(_NEEDED, (line.needed_awg for line in wires)),
        _common(PLAIN, (decides_text(line) for line in wires)),
        _numbers(FIGURE_WHOLE, (line.conductor_degc for line in wires), 0),
        _numbers(FIGURE_WHOLE, (line.rated_degc for line in wires), 0),
        _numbers(FIGURE_WHOLE, (line.ambient_degc for line in wires), 0),
        _numbers(FIGURE_WHOLE, (line.bundle_wires for line in wires), 0),
        _numbers(FIGURE_SHARE, (line.bundle_loading for line in wires), 3),
        _numbers(FIGURE_AREA, (line.drop_mv for line in wires), 1),
        _numbers(FIGURE_AREA, (line.copper_g for line in wires), 1),
        _numbers(FIGURE_AREA, (line.needed_g for line in wires), 1),
        _common(PLAIN_INSET, (fuse_text(line) for line in wires)),
        _numbers(_FIGURE_AMPS, (line.fault_a for line in wires), 2),
        _numbers(_FIGURE_SOON, (line.clears_s for line in wires), 4),
        _numbers(_FIGURE_SOON, (line.withstands_s for line in wires), 4),
        _common(PLAIN_INSET, (_on_a_wire_fault(line) for line in wires)),
        BulkColumn(_PLACE, places),
        _common(PLAIN, lacking),
    ]


def _lacking(line: SizeLine) -> str:
    """What is lacking for its size, then what its short circuit lacks besides."""
    own = lacking_of(line.wire, line.lacking)
    besides = [text for text in line.fault_lacking if text not in line.lacking]
    if not besides:
        return own
    return "; ".join(filter(None, (own, f"for a fault: {lacking_of(line.wire, besides)}")))


def _on_a_wire_fault(line: SizeLine) -> str:
    if line.on_fault and line.fault_lacking and line.on_fault != "no fuse":
        return f"perhaps {line.on_fault}"
    return line.on_fault


def _spare(margin: float | None) -> float | None:
    return None if margin is None or margin > _MOST_SPARE else margin


class FuseRows(_Rows):
    """A row for each fuse; those of one `fuse_group` should stand together."""

    def __init__(self, fuses: Sequence[FuseLine], limits: SizingLimits, links: Links, place_column: int) -> None:
        places = BulkPlaces(links, [line.mark for line in fuses])
        told = places.texts()
        tight = [tight_by(line, limits) for line in fuses]
        groups = [fuse_group(line, limits) for line in fuses]
        runs = []
        for start, end in _runs(groups):
            columns = _fuse_columns(fuses[start:end], tight[start:end], groups[start], told[start:end])
            runs.append((end - start, columns))
        super().__init__(runs, places, place_column)


def fuse_group(line: FuseLine, limits: SizingLimits) -> str:
    """Whether a fuse leaves a wire uncovered for certain, may do so or is loaded near its rating, or neither."""
    tight = tight_by(line, limits)
    if set(tight) & {"wire", "fault"} and not line.lacking:
        return "bad"
    return "maybe" if tight else ""


_FUSE_LOOKS = {"bad": _BAD, "maybe": _MAYBE, "": PLAIN_INSET}


def _clears(line: FuseLine) -> float | None:
    return None if line.clears_s is None or never_clears(line) else line.clears_s


def _on_a_fault(line: FuseLine, tight: Sequence[str]) -> str:
    if never_clears(line):
        return "may not open"
    return "slow" if "fault" in tight else ""


def _fuse_columns(
    fuses: Sequence[FuseLine], tight: Sequence[Sequence[str]], group: str, places: Sequence[str]
) -> list[BulkColumn]:
    nothing = [""] * len(fuses)
    return [
        _texts(PLAIN_BOLD, (line.fuse for line in fuses)),
        _numbers(_FIGURE_AMPS, (line.rating_a for line in fuses), 2),
        _numbers(_FIGURE_AMPS, (line.load_a for line in fuses), 2),
        _numbers(FIGURE_SHARE, (fuse_load(line) for line in fuses), 3),
        _texts(PLAIN_INSET, (line.state for line in fuses)),
        _numbers(_FIGURE_AMPS, (line.thinnest_allowed_a for line in fuses), 2),
        _numbers(_FIGURE_AMPS, (line.fault_a for line in fuses), 2),
        _texts(_FUSE_LOOKS[group], map(", ".join, tight)),
        _texts(PLAIN_INSET, (line.fault_wire for line in fuses)),
        _numbers(_FIGURE_SECONDS, (_clears(line) for line in fuses), 2),
        _texts(PLAIN_INSET, (line.thinnest for line in fuses)),
        _numbers(_FIGURE_SECONDS, (line.withstands_s for line in fuses), 2),
        _texts(PLAIN_INSET, map(_on_a_fault, fuses, tight)),
        _texts(_OPEN, (line.family for line in fuses)),
        *[BulkColumn(_OPEN, nothing)] * 2,
        _texts(_OPEN, (line.colour for line in fuses)),
        *[BulkColumn(_OPEN, nothing)] * 7,
        BulkColumn(_PLACE, places),
        _texts(PLAIN, (lacking_of(line.fuse, line.lacking) for line in fuses)),
    ]


class BundleRows(_Rows):
    """A row for each bundle; those of one `bundle_standing` should stand together."""

    def __init__(self, bundles: Sequence[BundleLine], limits: SizingLimits, links: Links, place_column: int) -> None:
        places = BulkPlaces(links, [line.mark for line in bundles])
        told = places.texts()
        words = [bundle_standing(line, limits) for line in bundles]
        runs = []
        for start, end in _runs(words):
            columns = _bundle_columns(bundles[start:end], words[start], told[start:end])
            runs.append((end - start, columns))
        super().__init__(runs, places, place_column)


_BUNDLE_LOOKS = {"does not fit": _BAD, "tight": _MAYBE, "": PLAIN_INSET}


def _fill(line: BundleLine) -> float | None:
    if line.diameter_mm is None or not line.sleeve_mm:
        return None
    return line.diameter_mm / line.sleeve_mm


def _bundle_columns(bundles: Sequence[BundleLine], word: str, places: Sequence[str]) -> list[BulkColumn]:
    nothing = [""] * len(bundles)
    return [
        _texts(PLAIN_BOLD, (line.branch for line in bundles)),
        _numbers(FIGURE_WHOLE, (line.wires for line in bundles), 0),
        _numbers(FIGURE_AREA, (line.diameter_mm for line in bundles), 1),
        _numbers(FIGURE_AREA, (line.sleeve_mm for line in bundles), 1),
        _numbers(FIGURE_SHARE, (_fill(line) for line in bundles), 3),
        _numbers(FIGURE_WHOLE, (line.bend_mm for line in bundles), 0),
        _numbers(FIGURE_WHOLE, (line.ambient_degc for line in bundles), 0),
        _texts(_BUNDLE_LOOKS[word], [word] * len(bundles)),
        _numbers(FIGURE_AREA, (line.copper_g for line in bundles), 1),
        _numbers(FIGURE_AREA, (line.sleeve_shrunk_mm for line in bundles), 1),
        *[BulkColumn(_OPEN, nothing)] * 14,
        BulkColumn(_PLACE, places),
        _texts(PLAIN, (lacking_of(line.branch, line.lacking) for line in bundles)),
    ]
