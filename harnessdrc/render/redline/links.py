"""From places named in a result to cells of the workbook that is marked."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from harnessdrc.places import Place

from .cellrefs import cell_name, parse_cell
from .package import RedlinePackage
from .page import sheet_reference

__all__ = ["Links"]

Cell = tuple[int, int, int]
"""Sheet index, one-based row, zero-based column."""


class Links:
    """Cells and links for places.

    Parameters
    ----------
    package : RedlinePackage
        The workbook that is marked.
    files : mapping
        Name of each file whose sheets are in it → sheet name as places have it → sheet index.
    """

    def __init__(self, package: RedlinePackage, files: Mapping[str, Mapping[str, int]]) -> None:
        self._package = package
        self._files = files
        self._cells: dict[Place, Cell] = {}

    def _sheet(self, place: Place) -> int | None:
        sheets = self._files.get(place.file)
        if sheets is None:
            return None
        index = sheets.get(place.sheet)
        if index is None and len(sheets) == 1:
            index = next(iter(sheets.values()))
        return index

    def here(self, place: Place) -> bool:
        """Whether a place lies in this workbook."""
        return self._sheet(place) is not None

    def find(self, places: Iterable[Place]) -> None:
        """Find the cells to mark for places."""
        wanted: dict[int, dict[tuple[int, int | None], list[Place]]] = {}
        for place in dict.fromkeys(places):
            index = self._sheet(place)
            if index is None or not self._package.sheets[index].has_cells:
                continue
            if place.cell.isdecimal():
                wanted.setdefault(index, {}).setdefault((int(place.cell), None), []).append(place)
            else:
                cell = parse_cell(place.cell)
                if cell is not None:
                    wanted.setdefault(index, {}).setdefault(cell, []).append(place)
        for index, cells in wanted.items():
            for key, (row, column) in self._package.resolve(index, cells).items():
                for place in cells[key]:
                    self._cells[place] = (index, row, column)

    def cell(self, place: Place) -> Cell | None:
        """Cell to mark for a place; None if it lies elsewhere or is no cell."""
        return self._cells.get(place)

    def link(self, place: Place) -> str:
        """Where a click on the place leads; empty if it is not in this workbook or cannot be shown."""
        index = self._sheet(place)
        if index is None:
            return ""
        info = self._package.sheets[index]
        if info.hidden or not info.has_cells:
            return ""
        found = self._cells.get(place)
        if found is not None:
            return sheet_reference(info.name, cell_name(found[1], found[2]))
        if place.cell.isdecimal():
            return sheet_reference(info.name, f"A{place.cell}") if int(place.cell) else ""
        cell = parse_cell(place.cell or "A1")
        return sheet_reference(info.name, cell_name(*cell)) if cell else ""

    def prefixes(self, file: str, sheet: str) -> tuple[str, str]:
        """What the text and the link of a place on a sheet start with, before the name of the cell.

        For tables that name thousands of cells of a few sheets. The second is empty where nothing can be linked.
        """
        corner = Place(file, sheet, "A1")
        return self.text(corner).removesuffix("A1"), self.link(corner).removesuffix("A1")

    def text(self, place: Place) -> str:
        """Place in words: sheet and cell, with the file only where that is not this workbook."""
        index = self._sheet(place)
        if index is None:
            return ", ".join(part for part in (place.file, _inside(place.sheet, place.cell)) if part)
        return _inside(self._package.sheets[index].name, place.cell)


def _inside(sheet: str, cell: str) -> str:
    if cell.isdecimal():
        cell = f"row {cell}"
    return " ".join(part for part in (sheet, cell) if part)
