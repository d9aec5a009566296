"""Filled-in test sheets of a file of their own: nothing else on its sheets is read."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from pathlib import Path

from harnessdrc.errors import NothingToReadError
from harnessdrc.intake.files import open_files
from harnessdrc.intake.grid import Grid
from harnessdrc.intake.reading import read_lists
from harnessdrc.intake.recognition.regions import padded_rows
from harnessdrc.intake.recognition.test_sheets import regions_of_tests
from harnessdrc.tables.model import Reading

__all__ = ["read_test_sheets"]


def read_test_sheets(path: Path, taken: Collection[str] = ()) -> Reading:
    """Test sheets of a workbook or text.

    Parameters
    ----------
    path : pathlib.Path
        The file.
    taken : collection of str
        Names that files of the list are shown under; one of the same name gets its folder before it.

    Raises
    ------
    InputError
        For a file that cannot be opened.
    NothingToReadError
        For one without a test sheet, or with its headings alone.
    """
    [opened] = open_files([path])
    name = opened.file
    if name in taken:
        name = f"{path.absolute().parent.name}/{name}"
    grids = tuple(replace(grid, file=name) for grid in opened.grids if _has_tests(grid))
    if not grids:
        raise NothingToReadError(
            "there is no test sheet in this file.",
            file=name,
            expected="headings such as Test, Wire, Between, And, Measured (mΩ)",
            remedy="'harnessdrc shop LIST' writes NAME.papers.xlsx with the test sheets to fill in.",
        )
    reading = read_lists([replace(opened, file=name, grids=grids)])
    return replace(reading, tables=tuple(reading.of("measurements")))


def _has_tests(grid: Grid) -> bool:
    return bool(regions_of_tests(grid, padded_rows(grid)))
