"""Errors a user can meet, each one a full sentence that names the place and what to do.

The whole tree::

    HarnessdrcError                 every error raised on purpose
    ├── InputError                  a list or a mapping that cannot be used
    │   ├── FileUnreadableError     missing, no permission, damaged, locked, too large, of another kind
    │   ├── NothingToReadError      no cell, headings only, drawings only, no table that can be recognized
    │   └── MappingError            a mapping file that does not fit its list
    ├── RulesetError                faults of a ruleset, all of them at once
    ├── ConcessionError             faults of concessions, all of them at once
    ├── OutputError                 an output that cannot be written: no permission, disk full, file in use
    └── CommandError                a command line that cannot be carried out

The command line prints ``str(error)`` and leaves with exit code 2; a traceback is a defect.
"""

from __future__ import annotations

from collections.abc import Sequence

__all__ = [
    "CommandError",
    "ConcessionError",
    "FileUnreadableError",
    "HarnessdrcError",
    "InputError",
    "MappingError",
    "NothingToReadError",
    "OutputError",
    "RulesetError",
]


class HarnessdrcError(Exception):
    """Base of every error this package raises on purpose; its text is written for the user."""


class InputError(HarnessdrcError):
    """A list that cannot be used.

    Parameters
    ----------
    what : str
        The fault, as a sentence without its place.
    file, sheet, cell : str, optional
        Where it is; only what is known.
    expected, remedy : str, optional
        What was expected there, and what to do about it.
    """

    def __init__(
        self,
        what: str,
        *,
        file: str = "",
        sheet: str = "",
        cell: str = "",
        expected: str = "",
        remedy: str = "",
    ) -> None:
        self.what, self.file, self.sheet, self.cell = what, file, sheet, cell
        self.expected, self.remedy = expected, remedy
        where = ", ".join(
            part for part in (file, sheet and f"sheet '{sheet}'", cell and f"cell {cell}") if part
        )
        text = f"{where}: {what}" if where else what
        if expected:
            text += f" Expected: {expected}."
        if remedy:
            text += f" {remedy}"
        super().__init__(text)


class FileUnreadableError(InputError):
    """A file that is missing, damaged, protected, too large, or not what its name says."""


class NothingToReadError(InputError):
    """A file that opens but holds no table that can be used."""


class MappingError(InputError):
    """A mapping file that does not fit the list it is meant for."""


class RulesetError(HarnessdrcError):
    """Faults of a ruleset, reported all at once.

    Parameters
    ----------
    file : str
        The ruleset's file.
    faults : sequence of str
        One sentence each.
    """

    def __init__(self, file: str, faults: Sequence[str]) -> None:
        self.file, self.faults = file, tuple(faults)
        head = f"{file}: this ruleset cannot be used ({len(self.faults)} to mend)"
        super().__init__("\n".join([head, *(f"  - {fault}" for fault in self.faults)]))


class ConcessionError(HarnessdrcError):
    """Faults of concessions, reported all at once.

    Parameters
    ----------
    file : str
        Where they stand.
    faults : sequence of str
        One sentence each, with its place.
    """

    def __init__(self, file: str, faults: Sequence[str]) -> None:
        self.file, self.faults = file, tuple(faults)
        head = f"{file}: these concessions cannot be used ({len(self.faults)} to mend)"
        super().__init__("\n".join([head, *(f"  - {fault}" for fault in self.faults)]))


class OutputError(HarnessdrcError):
    """An output that cannot be written; nothing was left half written."""


class CommandError(HarnessdrcError):
    """A command line that cannot be carried out."""
