"""Which findings name a wire, a strap or a box: by their subjects and by the rows that they mark."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from harnessdrc.design import Design
from harnessdrc.design.circuit import Part
from harnessdrc.design.diagram.boxes import Box
from harnessdrc.places import Place
from harnessdrc.results import ReportedFinding

__all__ = ["Named"]

_ROW = re.compile(r"(\d+)$")

_Row = tuple[str, str, int]


@dataclass
class Named:
    """Thumbprints of findings by what they name.

    Parameters
    ----------
    design : Design
        What was checked.
    findings : tuple of ReportedFinding
        What was found.
    """

    design: Design
    findings: tuple[ReportedFinding, ...]

    @cached_property
    def _by_row(self) -> dict[_Row, list[str]]:
        found: dict[_Row, list[str]] = {}
        for finding in self.findings:
            for mark in finding.marks:
                row = _row_of(mark.place)
                if row is not None:
                    found.setdefault(row, []).append(finding.thumbprint)
        return found

    @cached_property
    def _by_subject(self) -> dict[tuple[str, str], list[str]]:
        found: dict[tuple[str, str], list[str]] = {}
        for finding in self.findings:
            found.setdefault(finding.subject, []).append(finding.thumbprint)
        return found

    def of_part(self, part: Part) -> tuple[str, ...]:
        """Findings that name a part of the circuit: a wire, or what has a cell of its own."""
        wire = part.wire
        if wire is None:
            return self._at((part.place,)) if part.place else ()
        rows = [row for row in (wire.place, *wire.also, wire.b_place) if row is not None]
        found = [t for row in rows for t in self._by_row.get((row.file, row.sheet, row.row), ())]
        return tuple(dict.fromkeys((*self._by_subject.get(("wire", wire.name), ()), *found)))

    def of_box(self, box: Box) -> tuple[str, ...]:
        """Findings that name a box or mark its row in the component list."""
        kind = box.kind if box.kind in ("fuse", "earth point", "splice") else "component"
        found = list(self._by_subject.get((kind, box.label), ()))
        item = self.design.harness.items.get(box.contact.item) if box.contact else None
        item = box.device.item if box.device is not None else item
        if item is not None and item.listed:
            row = item.details.row
            places = [Place(row.file, row.sheet, str(row.row))] if row else [item.place] if item.place else []
            found += self._at(places)
        return tuple(dict.fromkeys(found))

    def _at(self, places: Iterable[Place]) -> tuple[str, ...]:
        rows = [row for place in places if (row := _row_of(place)) is not None]
        return tuple(dict.fromkeys(t for row in rows for t in self._by_row.get(row, ())))


def _row_of(place: Place) -> _Row | None:
    found = _ROW.search(place.cell)
    return (place.file, place.sheet, int(found[1])) if found else None
