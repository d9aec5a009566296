"""What the verbs share of the terminal: consoles, and a bar for what takes long."""

from __future__ import annotations

import sys
import time
from collections.abc import Mapping
from functools import partial
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, BinaryIO, TextIO

from rich.console import Console

if TYPE_CHECKING:
    from rich.progress import Progress, TaskID

__all__ = ["Steps", "console", "write_files"]

_PATIENCE_S = 1.0


def console(stream: TextIO | None = None) -> Console:
    """Console for a stream: colour and width on a terminal, plain text of any length in a pipe."""
    stream = stream or sys.stdout
    terminal = stream.isatty()
    return Console(
        file=stream, highlight=False, markup=False, emoji=False, soft_wrap=not terminal,
        width=None if terminal else 120,
    )  # fmt: skip


def write_files(contents: Mapping[Path, bytes]) -> list[Path]:
    """Write files so that each stands complete or not at all.

    Raises
    ------
    OutputError
        If one cannot be written.
    """
    from harnessdrc.render.outfile import StagedFiles

    with StagedFiles() as staged:
        for path, content in contents.items():
            staged.stage(path, partial(_write, content))
        return staged.commit()


def _write(content: bytes, out: BinaryIO) -> None:
    out.write(content)


class Steps:
    """A progress bar that appears when the work has taken more than a second, on a terminal only."""

    def __init__(self) -> None:
        self._started = time.monotonic()
        self._bar: Progress | None = None
        self._task: TaskID | None = None

    def __enter__(self) -> Steps:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._bar is not None:
            self._bar.stop()

    def __call__(self, text: str, done: int, total: int) -> None:
        """Say what is being done, and how far it is."""
        if not sys.stderr.isatty() or time.monotonic() - self._started < _PATIENCE_S:
            return
        if self._bar is None:
            from rich.progress import Progress

            self._bar = Progress(console=Console(file=sys.stderr), transient=True)
            self._bar.start()
            self._task = self._bar.add_task(text, total=total)
        assert self._task is not None
        self._bar.update(self._task, description=text, completed=done, total=total)
