"""Checks on the lists as lists: cells that hold something nobody can build from."""

from __future__ import annotations

from collections.abc import Iterator

from harnessdrc.checks.registry import Outcome, check
from harnessdrc.design import Design
from harnessdrc.findings import Finding, Mark, Subject
from harnessdrc.tables.model import Unreadable

__all__ = ["not_understood"]


def _column(heading: str, name: str) -> Subject:
    return ("column", f"{heading} of {name}")


def _columns(design: Design, limits: None) -> list[Subject]:
    cells = ((cell.column, cell.place.list_name) for cell in design.harness.unreadable)
    return [_column(*column) for column in dict.fromkeys((*design.harness.columns_read, *cells))]


@check(
    "listing.not_understood",
    counts="columns of the lists",
    subjects=_columns,
    reads=("size", "length_m", "current_a", "colour"),
    says={
        "": "{subject}: {cells} that cannot be understood, with {texts}, taken as not given. Expected: {expected}.",
    },
    remedy={"": "Write the value as expected, or empty the cell."},
)
def not_understood(design: Design, limits: None) -> Iterator[Outcome]:
    """A cell holds a value that cannot be understood.

    Why it matters: What it says is left out of every computation, and whoever builds from the list has to
    guess it.
    Reads: Every column with a known kind of value: sizes, lengths, currents, colours, cavities.
    Decides: A value that fits none of the ways such a value is written is a finding, one for each column with
    all its cells; so is one that could be read in two ways, as a size that may be mm² or AWG.
    Stays silent when: the cell is empty, is a placeholder such as "?" or "tbd", or is understood.
    Source: common practice, no source; colour letters by IEC 60757.
    """
    columns: dict[Subject, list[Unreadable]] = {}
    for cell in design.harness.unreadable:
        columns.setdefault(_column(cell.column, cell.place.list_name), []).append(cell)
    for subject, cells in columns.items():
        texts = sorted({f"'{cell.text}'" for cell in cells})
        yield Finding(
            subject,
            tuple(Mark(cell.place, "not understood") for cell in cells),
            {
                "texts": ", ".join(texts[:5]) + (" and others" if len(texts) > 5 else ""),
                "expected": "; or ".join(sorted({cell.expected for cell in cells})),
                "cells": "1 cell" if len(cells) == 1 else f"{len(cells)} cells",
            },
        )
