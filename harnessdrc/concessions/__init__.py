"""Concessions (permission to build with a named non-conformity, ISO 9000): read, and laid to what the rules find.

A concession names a rule and a subject, says why, by whom and until when, and for what is measured the value that was
accepted. It stands in a TOML file or on a sheet, kept by who may give it. A sheet of them within a list counts only
when that is asked for: a supplier's list cannot accept its own faults.
"""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Sequence
from pathlib import Path

from harnessdrc.concessions.applying import apply_concessions
from harnessdrc.concessions.model import Concession, ConcessionList
from harnessdrc.concessions.records import Records, date_of
from harnessdrc.concessions.sheets import take_sheets
from harnessdrc.concessions.tomlfile import take_toml
from harnessdrc.errors import ConcessionError
from harnessdrc.intake.grid import Grid, OpenedFile
from harnessdrc.results import SourceFile

__all__ = [
    "Concession",
    "ConcessionList",
    "apply_concessions",
    "concessions_in",
    "concessions_within",
    "date_of",
    "read_concessions",
]

_LARGEST_BYTES = 4_000_000


def read_concessions(path: Path, taken: Collection[str] = ()) -> ConcessionList:
    """Concessions of a file of their own.

    Parameters
    ----------
    path : pathlib.Path
        A ``.toml`` file, or a workbook or text with headings such as Rule, Subject, Reason, By, Until.
    taken : collection of str
        Names that files of the list are shown under; one of the same name gets its folder before it.

    Raises
    ------
    ConcessionError
        With every fault at once.
    FileUnreadableError
        For a workbook that cannot be opened.
    """
    name = path.name
    if name in taken:
        name = f"{path.absolute().parent.name}/{name}"
    if path.suffix.casefold() == ".toml":
        data = _bytes_of(path, name)
        records = Records()
        take_toml(records, data, name)
        _raise(records, name)
        return ConcessionList(tuple(records.concessions), (SourceFile(name, hashlib.sha256(data).hexdigest()),))
    from harnessdrc.intake.files import open_file

    return concessions_in(open_file(path, file=name))


def concessions_in(opened: OpenedFile) -> ConcessionList:
    """Concessions of a workbook or text that was opened as a file of concessions.

    Raises
    ------
    ConcessionError
        With every fault at once; also for a file without a sheet of them.
    """
    records = Records()
    if not take_sheets(records, opened.grids, surely=False):
        records.faults.append(
            "there is no sheet of concessions: expected the headings Rule, Subject, Reason, By, Until, and "
            "Accepted value "
            "and Unit for what is measured."
        )
    _raise(records, opened.file)
    return ConcessionList(tuple(records.concessions), (SourceFile(opened.file, opened.sha256),))


def concessions_within(opened: Sequence[OpenedFile]) -> ConcessionList:
    """Concessions that stand in the list itself.

    Raises
    ------
    ConcessionError
        With every fault of the first file that has any.
    """
    concessions: list[Concession] = []
    for file in opened:
        records = Records()
        grids: Sequence[Grid] = file.grids
        take_sheets(records, grids, surely=True)
        _raise(records, file.file)
        concessions += records.concessions
    return ConcessionList(tuple(concessions), (), in_list=True)


def _raise(records: Records, file: str) -> None:
    if records.faults:
        raise ConcessionError(file, list(dict.fromkeys(records.faults)))


def _bytes_of(path: Path, shown: str) -> bytes:
    try:
        if not path.is_file():
            if path.is_dir():
                what = "this is a folder"
            else:
                what = "this is not a file" if path.exists() else "there is no such file"
            raise ConcessionError(shown, [f"{what}; give the path of a TOML file or a workbook with concessions."])
        with path.open("rb") as file:
            data = file.read(_LARGEST_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = (error.strerror if isinstance(error, OSError) else None) or str(error)
        raise ConcessionError(
            shown, [f"the file cannot be read ({reason}); check its name and your rights."]
        ) from error
    if len(data) > _LARGEST_BYTES:
        raise ConcessionError(
            shown, [f"the file is larger than {_LARGEST_BYTES // 1_000_000} MB, which no file of concessions is."]
        )
    return data
