"""Opening and reading the lists named on the command line."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from harnessdrc.intake.files import open_files
from harnessdrc.intake.grid import OpenedFile
from harnessdrc.intake.mapping import load_mapping
from harnessdrc.intake.reading import read_lists
from harnessdrc.tables.model import Reading

__all__ = ["open_and_read"]


def open_and_read(names: Sequence[str], mapping: str | None) -> tuple[list[OpenedFile], Reading]:
    """Open the files and read their tables.

    Raises
    ------
    InputError
        For a file that cannot be used.
    """
    opened = open_files([Path(name) for name in names])
    return opened, read_lists(opened, load_mapping(Path(mapping)) if mapping else None)
