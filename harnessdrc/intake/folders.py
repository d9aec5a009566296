"""A folder whose files belong together, as one list."""

from __future__ import annotations

from pathlib import Path

from harnessdrc.errors import NothingToReadError
from harnessdrc.intake.files import READABLE_SUFFIXES
from harnessdrc.intake.formats.package import printable

__all__ = ["OUTPUTS", "files_of_list"]

OUTPUTS = (".redline.xlsx", ".redline.xlsm", ".papers.xlsx", ".comparison.xlsx")
"""Endings of what this program writes itself."""


def files_of_list(path: Path) -> list[Path]:
    """Files of a list that was named as one file or as a folder.

    Parameters
    ----------
    path : pathlib.Path
        A file, which is the list, or a folder.

    Returns
    -------
    list of pathlib.Path
        Of a folder all files of a kind that can be read, by name; what this program wrote, hidden files and the lock
        files of office programs are left out, and so are folders in it.

    Raises
    ------
    NothingToReadError
        For a folder without such a file.
    """
    if not path.is_dir():
        return [path]
    found = [file for file in sorted(path.iterdir()) if _is_list(file)]
    if not found:
        raise NothingToReadError(
            f"this folder holds no list; expected files that end in {', '.join(READABLE_SUFFIXES)}.",
            file=printable(str(path)),
            remedy="Name the list itself, or the folder that its files stand in.",
        )
    return found


def _is_list(file: Path) -> bool:
    name = file.name.casefold()
    if name.startswith((".", "~$")) or name.endswith(OUTPUTS):
        return False
    return name.endswith(READABLE_SUFFIXES) and file.is_file()
