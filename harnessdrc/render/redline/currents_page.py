"""The Currents sheet: what flows in every wire in every operating state, and the voltage it loses."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from harnessdrc.results import NetworkOutcome

from .bulkplaces import BulkPlaces
from .bulkrows import BulkColumn, bulk_rows
from .celltext import xml_text
from .links import Links
from .looks import TAB_COLOURS
from .page import Page
from .pagelooks import (
    CAUTION,
    FIGURE_A,
    FIGURE_MV_BESIDE,
    PLAIN_BOLD,
    PLAIN_INSET,
    PLAIN_LINKED,
    TITLE,
    VERDICT,
    add_headings,
    headings_height_pt,
)
from .stylesheet import Stylesheet

__all__ = ["ESTIMATES", "currents_page"]

ESTIMATES = (
    "Computed from the list, from the usual figures of its components and from the values taken as given (see "
    "Coverage): estimates, to be measured on the bench."
)
_LEADING = (("Wire", 16), ("Cell", 18), ("greatest A", 10), ("drop then, mV", 10), ("in state", 13))
_WIDTH = 9.5
_DECIMALS_A, _DECIMALS_MV = 2, 1


def currents_page(network: NetworkOutcome, links: Links, name: str, title: str) -> Page:
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
    states = network.states
    widths = [float(width) for _, width in _LEADING] + [_WIDTH] * (2 * len(states))
    page = Page(name, widths, TAB_COLOURS["Currents"], f"Currents: {title}", frozen_columns=1)
    page.across("What flows in every wire", TITLE, 24)
    number = len(network.wires)
    page.across(
        f"{number:,} wire{'' if number == 1 else 's'} in {len(states)} operating "
        f"state{'' if len(states) == 1 else 's'}, at {network.conductor_degc:g} °C, joints as new.",
        VERDICT,
    )
    page.across(
        f"{ESTIMATES} Average current from the wire's first end to its second: below zero it flows the other way. "
        "The greatest current is that of the worst instant, as an amount; drops are those of wire and joints. "
        "A dash is less than 5 mA or 0.05 mV.",
        CAUTION,
    )
    headings = [heading for heading, _ in _LEADING]
    headings += [f"{state.name}\naverage A" for state in states]
    headings += [f"{state.name}\ndrop mV" for state in states]
    page.heading_row = add_headings(page, headings, headings_height_pt(page, headings))
    rows = _WireRows(network, links)
    page.filtered_to = page.add_block(rows) + rows.count - 1
    return page


class _WireRows:
    """The rows of the wires."""

    def __init__(self, network: NetworkOutcome, links: Links) -> None:
        self._network = network
        self._places = BulkPlaces(links, network.wire_marks[: self.count])

    @property
    def count(self) -> int:
        """Number of wires."""
        return len(self._network.wires) if self._network.states else 0

    def rows(self, first: int, styles: Stylesheet) -> Iterator[bytes]:
        """The rows as elements, in pieces."""
        if not self.count:
            return iter(())
        network = self._network
        names = [xml_text(state.name) for state in network.states]
        worst, greatest_a, drop_mv = _greatest(network)
        columns = [
            BulkColumn(PLAIN_BOLD, [xml_text(wire) for wire in network.wires]),
            BulkColumn(PLAIN_LINKED, self._places.texts()),
            BulkColumn(FIGURE_A, greatest_a, _DECIMALS_A),
            BulkColumn(FIGURE_MV_BESIDE, drop_mv, _DECIMALS_MV),
            BulkColumn(PLAIN_INSET, [names[at] if at >= 0 else "" for at in worst.tolist()]),
        ]
        columns += [BulkColumn(FIGURE_A, np.asarray(row, dtype=np.float64), _DECIMALS_A) for row in network.average_a]
        columns += [
            BulkColumn(FIGURE_MV_BESIDE, np.asarray(row, dtype=np.float64), _DECIMALS_MV)
            for row in network.average_drop_mv
        ]
        return bulk_rows(columns, self.count, first, styles)

    def links(self, first: int, most: int) -> Iterator[bytes]:
        """Hyperlink elements of the cells that name a place."""
        return self._places.links("B", first, most)


def _greatest(network: NetworkOutcome) -> tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.float64]]:
    """State in which each wire carries most, that current and the drop then; -1 where none is worth telling."""
    amps = np.abs(np.asarray(network.peak_a, dtype=np.float64))
    worst = np.where(np.isnan(amps), -1.0, amps).argmax(axis=0)
    at = np.arange(amps.shape[1])
    greatest = amps[worst, at]
    drop = np.abs(np.asarray(network.peak_drop_mv, dtype=np.float64)[worst, at])
    return np.where(np.round(greatest, _DECIMALS_A) > 0, worst, -1), greatest, drop
