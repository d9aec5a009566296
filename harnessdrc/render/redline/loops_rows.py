"""Rows of the Loops and triggers sheet that are written in bulk: there may be thousands of each."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

import numpy as np

from harnessdrc.render.induction import NO_THRESHOLD, lacking_text, leaves_margin, pickup_ratio, way_text, worst_of
from harnessdrc.results import LoopLine, TriggerLine

from .bulkplaces import BulkPlaces
from .bulkrows import BulkColumn, bulk_rows
from .cellrefs import column_letters
from .celltext import xml_text
from .links import Links
from .looks import Look
from .page import RowBlock
from .pagelooks import (
    FIGURE_AREA,
    FIGURE_AREA_BOUND,
    FIGURE_DB,
    FIGURE_FINE,
    FIGURE_LENGTH,
    FIGURE_WHOLE,
    NUMBER,
    PLAIN,
    PLAIN_BOLD,
    PLAIN_LINKED,
)
from .stylesheet import Stylesheet

__all__ = ["LoopRows", "margin_rows", "pickup_rows", "setting_rows"]

_OPEN = Look(wrap=False, indent=1)
"""Of the cells that a long text runs on over."""
_WAY_COLUMNS = 6


def _numbers(look: Look, values: Iterable[float | None], decimals: int) -> BulkColumn:
    """A column of figures; none is an empty cell."""
    filled = [math.nan if value is None else value for value in values]
    return BulkColumn(look, np.array(filled, dtype=np.float64), decimals)


def _texts(look: Look, texts: Iterable[str]) -> BulkColumn:
    return BulkColumn(look, list(map(xml_text, texts)))


class LoopRows:
    """A row for each loop.

    Parameters
    ----------
    loops : sequence of LoopLine
        The loops.
    links : Links
        Where places are in the workbook.
    width : int
        Columns of the page; the place stands in the last one.
    """

    def __init__(self, loops: Sequence[LoopLine], links: Links, width: int) -> None:
        self._loops = loops
        self._places = BulkPlaces(links, [loop.mark for loop in loops])
        self._width = width

    @property
    def count(self) -> int:
        """Number of loops."""
        return len(self._loops)

    def rows(self, first: int, styles: Stylesheet) -> Iterator[bytes]:
        """The rows as elements, in pieces."""
        places = iter(self._places.texts())
        for bound, group in groupby(self._loops, key=lambda loop: loop.bound):  # a bound is told by its look
            loops = list(group)
            area_look = FIGURE_AREA_BOUND if bound else FIGURE_AREA
            nothing = [""] * len(loops)
            columns = [
                _texts(PLAIN_BOLD, (loop.subject[1] for loop in loops)),
                _texts(PLAIN, (loop.what for loop in loops)),
                _numbers(FIGURE_LENGTH, (loop.length_m for loop in loops), 3),
                _numbers(area_look, (loop.area_cm2 for loop in loops), 2),
                _numbers(FIGURE_AREA, (loop.best_area_cm2 for loop in loops), 2),
                _numbers(area_look, (loop.area_ratio for loop in loops), 2),
                _texts(_OPEN, (way_text(loop.way) for loop in loops)),
                *[BulkColumn(_OPEN, nothing)] * (_WAY_COLUMNS - 1),
                _texts(PLAIN, (lacking_text(loop.lacking) for loop in loops)),
                _texts(PLAIN, ("; ".join(note.rstrip(".") for note in loop.notes) for loop in loops)),
                BulkColumn(PLAIN_LINKED, [next(places) for _ in loops]),
            ]
            yield from bulk_rows(columns, len(loops), first, styles)
            first += len(loops)

    def links(self, first: int, most: int) -> Iterator[bytes]:
        """Hyperlink elements of the cells that name a place."""
        return self._places.links(column_letters(self._width - 1), first, most)


class _Figures:
    """Rows of a table that lead nowhere."""

    def __init__(self, columns: list[BulkColumn], count: int) -> None:
        self._columns = columns
        self.count = count

    def rows(self, first: int, styles: Stylesheet) -> Iterator[bytes]:
        """The rows as elements, in pieces."""
        return bulk_rows(self._columns, self.count, first, styles)

    def links(self, first: int, most: int) -> Iterator[bytes]:
        """None: the place of a sensor stands in its row above."""
        del first, most
        return iter(())


def _names(triggers: Sequence[TriggerLine], counts: Sequence[int]) -> tuple[BulkColumn, BulkColumn]:
    """The sensor's name and kind in each of its rows, made fit once."""
    names: list[str] = []
    kinds: list[str] = []
    for line, count in zip(triggers, counts, strict=True):
        names += [xml_text(line.subject[1])] * count
        kinds += [xml_text(line.sensor)] * count
    return BulkColumn(PLAIN_BOLD, names), BulkColumn(PLAIN, kinds)


def margin_rows(triggers: Sequence[TriggerLine]) -> RowBlock:
    """A row for each sensor and speed."""
    counts = [len(line.rpm) for line in triggers]
    nothing = [""] * sum(counts)
    against = []
    for line in triggers:
        worst = worst_of(line)
        for at, db in enumerate(line.margin_db):
            below = line.limit_db is not None and db < line.limit_db
            words = ("the worst",) if at == worst else ()
            against.append(", ".join((*words, "below the limit") if below else words))
    columns = [
        *_names(triggers, counts),
        _numbers(FIGURE_WHOLE, (one for line in triggers for one in line.rpm), 1),
        _numbers(FIGURE_AREA, (one for line in triggers for one in line.signal_mv), 2),
        _numbers(FIGURE_AREA, (one for line in triggers for one in line.offset_mv), 2),
        _numbers(FIGURE_AREA, (one for line in triggers for one in line.noise_mv), 2),
        _numbers(FIGURE_AREA, (one for line in triggers for one in line.noise_low_mv), 2),
        _numbers(FIGURE_AREA, (one for line in triggers for one in line.noise_high_mv), 2),
        _numbers(FIGURE_DB, (one for line in triggers for one in line.margin_db), 1),
        _numbers(FIGURE_DB, (one for line in triggers for one in line.low_db), 1),
        _numbers(FIGURE_DB, (one for line in triggers for one in line.high_db), 1),
        _numbers(FIGURE_DB, (line.limit_db for line in triggers for _ in line.rpm), 1),
        BulkColumn(_OPEN, against),
        BulkColumn(_OPEN, nothing),
    ]
    return _Figures(columns, len(nothing))


def setting_rows(triggers: Sequence[TriggerLine]) -> RowBlock:
    """A row for each setting of each sensor."""
    counts = [len(line.settings) for line in triggers]
    settings = [one for line in triggers for one in line.settings]
    nothing = [""] * len(settings)
    columns = [
        *_names(triggers, counts),
        _numbers(FIGURE_WHOLE, (one.rpm for one in settings), 1),
        _numbers(FIGURE_AREA, (one.filter_us for one in settings), 2),
        _numbers(FIGURE_FINE, (one.lowest_v for one in settings), 4),
        _numbers(FIGURE_FINE, (one.highest_v for one in settings), 4),
        _texts(_OPEN, ("" if leaves_margin(one) else NO_THRESHOLD for one in settings)),
        *[BulkColumn(_OPEN, nothing)] * (_WAY_COLUMNS - 1),
    ]
    return _Figures(columns, len(nothing))


def pickup_rows(triggers: Sequence[TriggerLine]) -> RowBlock:
    """A row for each loop that induces something in a sensor."""
    counts = [len(line.pickups) for line in triggers]
    pickups = [one for line in triggers for one in line.pickups]
    nothing = [""] * len(pickups)
    columns = [
        _names(triggers, counts)[0],
        _texts(PLAIN, (one.loop[1] for one in pickups)),
        _numbers(FIGURE_LENGTH, (one.distance_m for one in pickups), 3),
        _numbers(FIGURE_FINE, (one.mutual_nh for one in pickups), 4),
        _numbers(FIGURE_FINE, (one.best_mutual_nh for one in pickups), 4),
        _numbers(FIGURE_AREA, (pickup_ratio(one) for one in pickups), 2),
        _numbers(NUMBER, (_significant(one.mv) for one in pickups), 6),
        _numbers(NUMBER, (_significant(one.low_mv) for one in pickups), 6),
        _numbers(NUMBER, (_significant(one.high_mv) for one in pickups), 6),
        _texts(_OPEN, (one.what for one in pickups)),
        *[BulkColumn(_OPEN, nothing)] * 2,
        _texts(PLAIN, (one.edge for one in pickups)),
    ]
    return _Figures(columns, len(nothing))


def _significant(value: float) -> float:
    """An estimate in three digits."""
    if not value or not math.isfinite(value):
        return value
    return round(value, min(300, 2 - math.floor(math.log10(abs(value)))))
