"""Small lists and ways to run the command line, for its tests."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import openpyxl
import pytest

from harnessdrc.cli import main

HEADINGS = ("Wire", "From", "From cavity", "To", "To cavity", "Colour", "Size (mm²)")
CLEAN = (
    ("W1", "ECU", "1", "Dash plug", "1", "BU", "0.5"),
    ("W2", "ECU", "2", "Dash plug", "2", "GN", "0.5"),
    ("W3", "ECU", "3", "Dash plug", "3", "WH", "0.5"),
)
FAULTY = (*CLEAN, ("W4", "ECU", "3", "Dash plug", "4", "YE", "0.5"))
"""Cavity 3 of the ECU holds two wires: on hold."""

REPOSITORY = Path(__file__).parents[2]
SAMPLES = REPOSITORY / "sample_wirelists"
REAL = REPOSITORY.parent / "shared" / "real_wirelists"


@dataclass(frozen=True)
class Ran:
    """What a run gave."""

    code: int
    out: str
    err: str


def ran(capsys: pytest.CaptureFixture[str], *arguments: str | Path) -> Ran:
    """Run in this process."""
    capsys.readouterr()
    try:
        code = main([str(argument) for argument in arguments])
    except SystemExit as stop:  # argparse leaves this way
        code = int(stop.code or 0)
    captured = capsys.readouterr()
    return Ran(code, captured.out, captured.err)


def process(
    *arguments: str | Path, env: Mapping[str, str] | None = None, cwd: Path | None = None
) -> subprocess.CompletedProcess[bytes]:
    """Run as a process of its own, its output into pipes."""
    return subprocess.run(
        [sys.executable, "-m", "harnessdrc", *map(str, arguments)],
        capture_output=True,
        timeout=120,
        cwd=cwd,
        env={**os.environ, **(env or {})},
        check=False,
    )


def csv_list(path: Path, rows: Sequence[Sequence[str]] = CLEAN, headings: Sequence[str] = HEADINGS) -> Path:
    """A wire list as delimited text."""
    path.write_text("".join(",".join(row) + "\n" for row in (headings, *rows)), encoding="utf-8")
    return path


def workbook(path: Path, rows: Sequence[Sequence[object]] = CLEAN, sheet: str = "Wire list") -> Path:
    """A wire list as a workbook."""
    book = openpyxl.Workbook()
    page = book.worksheets[0]
    page.title = sheet
    for row in (HEADINGS, *rows):
        page.append(list(row))
    book.save(path)
    return path


def contents(folder: Path) -> dict[str, str]:
    """Every regular file below a folder with the hash of its bytes; every folder and other thing by name."""
    found: dict[str, str] = {}
    for path in sorted(folder.rglob("*")):
        kind = hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else "no file"
        found[str(path.relative_to(folder))] = kind
    return found


def assert_refused(result: Ran, *words: str) -> None:
    """Exit 2 with one clear sentence on standard error that has these words, and nothing else."""
    assert result.code == 2, result
    assert result.out == ""
    assert "Traceback" not in result.err
    assert result.err.endswith(".\n") or result.err.endswith("?\n"), result.err
    assert result.err.count("\n") == 1, result.err
    assert result.err.startswith("harnessdrc: ")
    for word in words:
        assert word in result.err, (word, result.err)
