"""Opening the files of a list: whatever was named on the command line, to grids or to one clear sentence.

Nothing is ever written, no link to another file is followed, and only regular files are opened, so that
a pipe or a device cannot hold the program up.
"""

from __future__ import annotations

import dataclasses
import difflib
import hashlib
import os
import stat
from collections.abc import Sequence
from pathlib import Path

from harnessdrc.errors import FileUnreadableError, NothingToReadError
from harnessdrc.intake.formats import limits
from harnessdrc.intake.formats.filekinds import kind_of
from harnessdrc.intake.formats.package import printable, too_large
from harnessdrc.intake.grid import FileKind, Grid, OpenedFile
from harnessdrc.tables.model import Assumption

__all__ = ["READABLE_SUFFIXES", "open_file", "open_files"]

READABLE_SUFFIXES = (".xlsx", ".xlsm", ".xls", ".ods", ".csv", ".tsv")
"""Endings of the files that can be read."""

_TEXT_SUFFIXES = frozenset({".csv", ".tsv", ".tab", ".txt", ".asc", ".dat", ".prn", ""})
_WORKBOOK_SUFFIXES = {".xlsx": "xlsx", ".xltx": "xlsx", ".xlsm": "xlsm", ".xltm": "xlsm", ".xls": "xls"} | {
    ".xlt": "xls",
    ".ods": "ods",
    ".ots": "ods",
}
_KIND_WORDS = {
    "xlsx": "an .xlsx workbook",
    "xlsm": "an .xlsm workbook",
    "xls": "an .xls workbook",
    "ods": "an .ods workbook",
    "csv": "delimited text",
    "tsv": "delimited text",
}
_MOST_NAMES_LOOKED_AT = 5_000


def open_files(paths: Sequence[Path]) -> list[OpenedFile]:
    """Open several files, each one once.

    Parameters
    ----------
    paths : sequence of Path
        As given by the user; the same file given twice is read once, with a note.

    Returns
    -------
    list of OpenedFile
        In the order given. Files of the same base name show as much of their folders as tells them apart.

    Raises
    ------
    FileUnreadableError
        If one is missing, not a regular file, locked, damaged, too large or of no readable kind.
    NothingToReadError
        If one opens but has no cell that holds anything.
    """
    once: dict[Path, int] = {}
    first_given: list[Path] = []
    for path in map(Path, paths):
        real = _real(path)
        if real in once:
            once[real] += 1
        else:
            once[real] = 1
            first_given.append(path)
    names = _names([_real(path) for path in first_given])
    opened: list[OpenedFile] = []
    for path in first_given:
        real = _real(path)
        file = open_file(path, file=names[real])
        if once[real] > 1:
            note = Assumption(
                what="file",
                subject=file.file,
                value="read once",
                because=f"it was given {once[real]} times",
                place=None,
                count=once[real],
            )
            file = dataclasses.replace(file, notes=(*file.notes, note))
        opened.append(file)
    return opened


def open_file(path: Path, *, file: str | None = None) -> OpenedFile:
    """Open one file.

    Parameters
    ----------
    path : Path
        Of the file.
    file : str, optional
        Name to show to the user; the base name if not given.

    Raises
    ------
    FileUnreadableError, NothingToReadError
        As `open_files`.
    """
    path = Path(path)
    name = printable(file or path.name or str(path))
    try:
        return _open(path, name)
    except MemoryError as fault:
        raise too_large(name, "it does not fit into memory") from fault


def _open(path: Path, name: str) -> OpenedFile:
    data = _read_bytes(path, name)
    content, container = kind_of(data, name)
    kind: FileKind
    notes: tuple[Assumption, ...]
    if content == "text" or container is None:
        from harnessdrc.intake.formats.delimited import read_delimited

        grid, kind, notes = read_delimited(data, name, path.stem, tabs_expected=path.suffix.lower() in (".tsv", ".tab"))
        grids = [grid]
    else:
        from harnessdrc.intake.formats.spreadsheets import read_workbook

        kind, grids = read_workbook(data, container, content == "ods", name)
        notes = ()
    _refuse_nothing(grids, kind, name)
    return OpenedFile(
        path=path,
        file=name,
        kind=kind,
        sha256=hashlib.sha256(data).hexdigest(),
        grids=tuple(grids),
        notes=(*_name_note(path, name, kind), *notes),
    )


def _real(path: Path) -> Path:
    try:
        return Path(os.path.realpath(path))
    except (OSError, ValueError):
        return path


def _names(paths: Sequence[Path]) -> dict[Path, str]:
    """Base names, with as many folders before them as tell namesakes apart."""
    depth = dict.fromkeys(paths, 1)
    while True:
        shown = {path: "/".join(path.parts[-depth[path] :]) for path in paths}
        taken: dict[str, list[Path]] = {}
        for path, name in shown.items():
            taken.setdefault(name.casefold(), []).append(path)
        deepen = [path for same in taken.values() if len(same) > 1 for path in same if depth[path] < len(path.parts)]
        if not deepen:
            return shown
        for path in deepen:
            depth[path] += 1


def _read_bytes(path: Path, name: str) -> bytes:
    """All bytes of a regular file that stays the same meanwhile."""
    try:
        before = path.stat()
        _require_regular(before, path)
        flags = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
        descriptor = os.open(path, flags)
        try:
            at_open = os.fstat(descriptor)
            _require_regular(at_open, path)
            _require_size(at_open.st_size, name)
            with open(descriptor, "rb", closefd=False) as handle:
                data = handle.read(at_open.st_size + 1)
            after = os.fstat(descriptor)
        finally:
            os.close(descriptor)
    except (FileNotFoundError, NotADirectoryError) as fault:
        raise _missing(path) from fault
    except PermissionError as fault:
        raise FileUnreadableError(
            "you have no permission to read this file, or another program holds it locked.",
            file=str(path),
            remedy="Close it elsewhere, or ask its owner for the right to read it.",
        ) from fault
    except (OSError, ValueError) as fault:
        reason = (fault.strerror if isinstance(fault, OSError) else None) or str(fault)
        raise FileUnreadableError(
            f"the file cannot be read: {reason}.",
            file=printable(str(path)),
            remedy="Check its name and the drive it is on, then run the command again.",
        ) from fault
    if len(data) != at_open.st_size or (after.st_size, after.st_mtime_ns) != (
        at_open.st_size,
        at_open.st_mtime_ns,
    ):
        raise FileUnreadableError(
            "the file changed while it was being read.",
            file=name,
            remedy="Wait until the program that writes it has saved, then run the command again.",
        )
    return data


def _require_regular(status: os.stat_result, path: Path) -> None:
    mode = status.st_mode
    if stat.S_ISREG(mode):
        return
    if stat.S_ISDIR(mode):
        raise FileUnreadableError("this is a folder, not a file.", file=str(path), remedy=_lists_in(path))
    what = "a pipe" if stat.S_ISFIFO(mode) else "a socket" if stat.S_ISSOCK(mode) else "a device"
    raise FileUnreadableError(
        f"this is {what}, not a file.", file=str(path), remedy="Save the list as a file and give that."
    )


def _require_size(size_bytes: int, name: str) -> None:
    if size_bytes > limits.MAX_FILE_BYTES:
        raise FileUnreadableError(
            f"the file has {size_bytes / 1024**2:,.0f} MiB; up to {limits.MAX_FILE_BYTES // 1024**2} MiB can be read.",
            file=name,
            remedy="Give a file that holds only the wire list.",
        )


def _lists_in(folder: Path) -> str:
    lists = [name for name in _names_in(folder) if Path(name).suffix.lower() in READABLE_SUFFIXES]
    if not lists:
        return "Give the file itself; this folder holds no file that can be read."
    more = f" and {len(lists) - 5} more" if len(lists) > 5 else ""
    return f"Give the file itself; in this folder: {', '.join(lists[:5])}{more}."


def _names_in(folder: Path) -> list[str]:
    names: list[str] = []
    try:
        with os.scandir(folder) as entries:
            for entry in entries:
                if not entry.name.startswith((".", "~$")):
                    names.append(printable(entry.name))
                if len(names) >= _MOST_NAMES_LOOKED_AT:
                    break
    except OSError:
        return []
    return sorted(names)


def _missing(path: Path) -> FileUnreadableError:
    folder = path.parent
    shown = printable(str(path))
    if path.is_symlink():
        return FileUnreadableError(
            "this link points to a file that does not exist.", file=shown, remedy="Give the file itself."
        )
    if not folder.is_dir():
        return FileUnreadableError(
            f"there is no folder '{printable(str(folder))}'.", file=shown, remedy="Check the path."
        )
    names = _names_in(folder)
    folded = {name.casefold(): name for name in names}
    wanted = path.name.casefold()
    near = [folded[name] for name in difflib.get_close_matches(wanted, folded, n=3, cutoff=0.6)]
    near += [name for name in names if Path(name).stem.casefold() == path.stem.casefold() and name not in near]
    if near:
        remedy = f"Nearest names in that folder: {', '.join(near[:4])}."
    else:
        lists = [name for name in names if Path(name).suffix.lower() in READABLE_SUFFIXES]
        remedy = f"Lists in that folder: {', '.join(lists[:4])}." if lists else "Check the path."
    return FileUnreadableError("there is no such file.", file=shown, remedy=remedy)


def _refuse_nothing(grids: Sequence[Grid], kind: FileKind, name: str) -> None:
    """Refuse a file without any filled cell; drawings alone are named, sheet by sheet."""
    if any(grid.rows for grid in grids):
        return
    never = [grid for grid in grids if grid.formulas_without_value]
    if never:
        raise NothingToReadError(
            "every cell is a formula whose result was never saved.",
            file=name,
            sheet=printable(never[0].sheet),
            cell=never[0].formulas_without_value[0],
            remedy="Open it in a spreadsheet program, which calculates them, and save it.",
        )
    drawn = [grid.sheet for grid in grids if grid.drawings]
    if drawn:
        which = ", ".join(f"'{printable(sheet)}'" for sheet in drawn[:5])
        plural = "s" if len(drawn) > 1 else ""
        verb = "hold" if plural else "holds"
        raise NothingToReadError(
            f"the sheet{plural} {which} {verb} only drawings, and no cell of the workbook is filled.",
            file=name,
            remedy="A drawing cannot be checked: give the wire list as rows and columns.",
        )
    what = "the text has nothing but blank lines" if kind in ("csv", "tsv") else "no sheet has a filled cell"
    raise NothingToReadError(
        f"there is nothing to read: {what}.",
        file=name,
        remedy="Check that this is the right file and that it was saved.",
    )


def _name_note(path: Path, name: str, kind: FileKind) -> list[Assumption]:
    """A note where the file's ending and its content disagree."""
    suffix = path.suffix.lower()
    if kind in ("csv", "tsv"):
        agrees = suffix in _TEXT_SUFFIXES
    else:
        # Whether a workbook of the newer format carries macros is no matter for reading it.
        agrees = _WORKBOOK_SUFFIXES.get(suffix, "").replace("xlsm", "xlsx") == kind.replace("xlsm", "xlsx")
    if agrees:
        return []
    return [
        Assumption(
            what="file kind",
            subject=name,
            value=_KIND_WORDS[kind],
            because=f"its content is that, although its name ends in '{suffix}'"
            if suffix
            else "its content is that; its name has no ending",
            place=None,
        )
    ]
