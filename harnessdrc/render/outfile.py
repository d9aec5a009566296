"""Writing outputs so that either all of them stand complete, or nothing was changed."""

from __future__ import annotations

import contextlib
import errno
import os
import secrets
from collections.abc import Callable
from pathlib import Path
from types import TracebackType
from typing import BinaryIO

from harnessdrc.errors import OutputError

__all__ = ["StagedFiles"]


class StagedFiles:
    """Outputs written to temporary files beside their targets, then moved into place together.

    Use as a context manager: `stage` each file, then `commit`. Leaving without `commit` removes them.
    """

    def __init__(self) -> None:
        self._staged: list[tuple[Path, Path]] = []

    def __enter__(self) -> StagedFiles:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        for temporary, _ in self._staged:
            _remove(temporary)
        self._staged.clear()

    def stage(self, target: Path, write: Callable[[BinaryIO], None]) -> None:
        """Write one output to a temporary file in the folder of `target`.

        Raises
        ------
        OutputError
            If it cannot be written.
        """
        if target.is_dir():
            raise OutputError(
                f"{target}: this file could not be written because a folder has this name; "
                "rename the folder or choose another one to write to."
            )
        temporary = target.with_name(f".{secrets.token_hex(6)}.part")
        try:
            handle = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666)
            self._staged.append((temporary, target))
            with os.fdopen(handle, "wb", buffering=1 << 20) as out:
                write(out)
                out.flush()
                os.fsync(out.fileno())
        except OSError as error:
            raise _explained(target, error) from error

    def commit(self) -> list[Path]:
        """Move all outputs into place; gives their paths.

        Raises
        ------
        OutputError
            If one cannot be moved; those already moved stay, each complete, the others are removed.
        """
        done: list[Path] = []
        while self._staged:
            temporary, target = self._staged[0]
            try:
                os.replace(temporary, target)  # noqa: PTH105 - a test makes this call fail
            except OSError as error:
                raise _explained(target, error) from error
            self._staged.pop(0)
            done.append(target)
        return done


def _remove(path: Path) -> None:
    with contextlib.suppress(OSError):
        path.unlink()


def _explained(target: Path, error: OSError) -> OutputError:
    if error.errno in (errno.ENOSPC, errno.EFBIG, getattr(errno, "EDQUOT", errno.ENOSPC)):
        why, remedy = "the disk is full", "Free some space or choose another folder"
    elif error.errno in (errno.ENOENT, errno.ENOTDIR):
        why, remedy = "its folder does not exist", "Make the folder or choose another one"
    elif error.errno == errno.ENAMETOOLONG:
        why, remedy = "its name is too long for the disk", "Give the list a shorter name"
    elif error.errno == errno.EROFS:
        why, remedy = "the disk can only be read", "Choose another folder"
    elif error.errno in (errno.EACCES, errno.EPERM, errno.EBUSY, getattr(errno, "ETXTBSY", errno.EBUSY)):
        why = "writing there is not permitted, or the file is open in another program"
        remedy = "Close it there, or choose another folder"
    else:
        why, remedy = error.strerror or str(error), "Choose another folder"
    return OutputError(
        f"{target}: this file could not be written because {why}. {remedy}, and run again; "
        "nothing was left half written."
    )
