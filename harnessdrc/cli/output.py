"""What the verbs share of the terminal and of files: consoles, a bar for what takes long, safe targets."""

from __future__ import annotations

import argparse
import contextlib
import os
import stat
import sys
import threading
from collections.abc import Iterator, Mapping, Sequence
from functools import partial
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, BinaryIO, TextIO

from rich.console import Console

from harnessdrc.errors import CommandError, OutputError

if TYPE_CHECKING:
    from rich.progress import Progress, TaskID

__all__ = ["Steps", "console", "output_folder", "quiet_pipe", "refuse_empty", "refuse_target", "write_files"]

_PATIENCE_S = 1.0


class _Console(Console):
    def on_broken_pipe(self) -> None:
        """Let the command line decide: the default leaves with 1, which would say that something is on hold."""
        raise


def quiet_pipe() -> None:
    """Leave quietly when the reader of a pipe has gone."""
    devnull = os.open(os.devnull, os.O_WRONLY)
    os.dup2(devnull, sys.stdout.fileno())


def console(stream: TextIO | None = None) -> Console:
    """Console for a stream: colour and width on a terminal, plain text of any length in a pipe.

    A terminal with NO_COLOR set gets its width and no escape sequence at all.
    """
    stream = stream or sys.stdout
    terminal = stream.isatty()
    return _Console(
        file=stream, highlight=False, markup=False, emoji=False, soft_wrap=not terminal,
        force_terminal=terminal, color_system="auto" if _colours(stream) else None,
        width=None if terminal else 120,
    )  # fmt: skip


def _colours(stream: TextIO) -> bool:
    return stream.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM", "") not in ("", "dumb")


def refuse_empty(options: argparse.Namespace, *names: str) -> None:
    """Refuse options whose value is empty, as a script's unset variable makes them.

    Raises
    ------
    CommandError
        Names the first of them.
    """
    for name in names:
        value = getattr(options, name)
        if value is not None and not value.strip():
            raise CommandError(f"--{name}: expected a name after it, found nothing; give one or leave the option out.")


def refuse_target(option: str, target: str, lists: Sequence[str | Path]) -> Path:
    """Path of a file to write, refused where writing would destroy something.

    Parameters
    ----------
    option : str
        Option that names it, for the error.
    target : str
        As given on the command line.
    lists : sequence of str or pathlib.Path
        Files read, never to be written to.

    Raises
    ------
    CommandError
        For an empty name, one of the lists, a folder or a device.
    """
    if not target.strip():
        raise CommandError(f"{option}: expected the name of a file to write, found nothing.")
    path = Path(target)
    if path.name.casefold().endswith((".redline.xlsx", ".redline.xlsm")):
        raise CommandError(f"{option} {target}: this is the name of a redline; give another one.")
    if path.name.casefold().endswith((".margin.svg", ".sizes.svg")):
        raise CommandError(f"{option} {target}: this is the name of a plot; give another one.")
    if path.name.casefold().endswith((".papers.xlsx", ".papers.html")):
        raise CommandError(f"{option} {target}: this is the name of build papers; give another one.")
    if path.name.casefold().endswith(".report.html"):
        raise CommandError(f"{option} {target}: this is the name of a report; give another one.")
    if path.name.casefold().endswith(".comparison.xlsx"):
        raise CommandError(f"{option} {target}: this is the name of a comparison; give another one.")
    if path.name.casefold().endswith(".approval.json"):
        raise CommandError(f"{option} {target}: this is the name of an approval; give another one.")
    for source in lists:
        with contextlib.suppress(OSError, ValueError):
            if path.samefile(source):
                raise CommandError(f"{option} {target}: this is one of the lists, and lists are never written to.")
    with contextlib.suppress(OSError, ValueError):
        mode = path.stat().st_mode
        if stat.S_ISDIR(mode):
            raise CommandError(f"{option} {target}: this is a folder; give the name of a file in it.")
        if not stat.S_ISREG(mode):
            raise CommandError(f"{option} {target}: this is a device or a pipe; give the name of a file to write.")
    return path


@contextlib.contextmanager
def output_folder(out: str | None, beside: Path) -> Iterator[Path]:
    """Folder for the outputs, made if need be and taken away again when nothing came of the run.

    Raises
    ------
    OutputError
        If it cannot be made.
    """
    if out is None:
        yield beside
        return
    folder = Path(out)
    made: list[Path] = []
    try:
        for parent in [*reversed(folder.parents), folder]:
            if not parent.exists():
                parent.mkdir()
                made.append(parent)
        if not folder.is_dir():
            raise FileExistsError(0, "a file has this name")
        yield folder
    except BaseException as error:
        for parent in reversed(made):
            with contextlib.suppress(OSError):
                parent.rmdir()
        if isinstance(error, OSError):
            reason = error.strerror or str(error)
            raise OutputError(
                f"{out}: this folder cannot be made for the outputs ({reason[:1].lower()}{reason[1:]}); "
                "choose another with --out."
            ) from error
        raise


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
    """A progress bar that appears when the work has taken more than a second, on a terminal only.

    A clock of its own brings it up, so that one long step shows it too. On a terminal without escape
    sequences (NO_COLOR, or a dumb one) each step is a plain line instead.
    """

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._clock: threading.Timer | None = None
        self._plain = not _colours(sys.stderr)
        self._bar: Progress | None = None
        self._task: TaskID | None = None
        self._step: tuple[str, int, int] = ("", 0, 0)
        self._late = self._over = False
        self._said = ""

    def __enter__(self) -> Steps:
        if sys.stderr.isatty():
            self._clock = threading.Timer(_PATIENCE_S, self._appear)
            self._clock.daemon = True
            self._clock.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._clock is not None:
            self._clock.cancel()
        with self._lock:
            self._over = True
            if self._bar is not None:
                self._bar.stop()

    def __call__(self, text: str, done: int = 0, total: int = 0) -> None:
        """Say what is being done, and how far it is; `total` 0 where that cannot be told."""
        with self._lock:
            self._step = text, done, total
            if self._late:
                self._show()

    def _appear(self) -> None:
        with self._lock:
            if not self._over:
                self._late = True
                self._show()

    def _show(self) -> None:
        text, done, total = self._step
        if self._plain:
            phase = "Checking" if total else text
            if phase and phase != self._said:
                self._said = phase
                print(f"{phase} …", file=sys.stderr, flush=True)
            return
        if self._bar is None:
            self._bar, self._task = _bar(text)
            self._bar.start()
        assert self._task is not None
        self._bar.update(self._task, description=text, completed=done, total=total or None)


def _bar(text: str) -> tuple[Progress, TaskID]:
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    # The words are the project's own and rules' names: markup off, or a rule named [x] would vanish.
    bar = Progress(
        TextColumn("{task.description}", markup=False), BarColumn(), TimeElapsedColumn(),
        console=console(sys.stderr), transient=True,
    )  # fmt: skip
    return bar, bar.add_task(text, total=None)
