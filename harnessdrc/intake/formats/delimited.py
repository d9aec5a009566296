"""Delimited text (csv, tsv and their kin) to a grid of text, as a spreadsheet would lay it out.

A record is a row, also where a quoted field runs over several lines, so row numbers are those a
spreadsheet shows; a first line ``sep=;`` is, as there, no row. Fields lose the white space around them
and nothing else; numbers stay text.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from typing import Literal

from harnessdrc.errors import FileUnreadableError
from harnessdrc.intake.formats import limits
from harnessdrc.intake.formats.encodings import Decoded, decode
from harnessdrc.intake.formats.package import printable, too_large
from harnessdrc.intake.formats.separators import SEPARATORS, Separator, find_separator
from harnessdrc.intake.grid import Cell, Grid
from harnessdrc.places import Place, cell_name
from harnessdrc.tables.model import Assumption

__all__ = ["read_delimited"]

_LINE = re.compile(r"[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+")
_END = "\ue000\ufdd0end of text\ufdd1\ue000"
"""A line put after the last one: it comes back as a record of its own unless a quote was left open."""


def read_delimited(
    data: bytes, file: str, sheet: str, *, tabs_expected: bool = False
) -> tuple[Grid, Literal["csv", "tsv"], tuple[Assumption, ...]]:
    """Grid of a text file, whether commas or tabs part it, and what was assumed.

    Parameters
    ----------
    data : bytes
        The whole file.
    file, sheet : str
        Names shown to the user.
    tabs_expected : bool
        The file's name says tabs: decides only where nothing in the text does.

    Raises
    ------
    FileUnreadableError
        If a quote is left open, a field or the file is too long, or the bytes are not the encoding stated.
    """
    if len(data) > limits.MAX_TEXT_BYTES:
        raise too_large(
            file,
            f"it has {len(data) / 1024**2:,.0f} MiB of text, {limits.MAX_TEXT_BYTES // 1024**2} MiB are read",
        )
    decoded = decode(data, file)
    text = decoded.text.rstrip("\x1a") if decoded.text.endswith("\x1a") else decoded.text
    separator = find_separator(text, "\t" if tabs_expected else ",")
    rows = _rows(text[separator.skip :] if separator.skip else text, separator.character, file, sheet)
    while rows and not rows[-1]:
        rows.pop()
    grid = Grid(file=file, sheet=sheet, rows=rows)
    notes = [
        Assumption(
            what="separator",
            subject=file,
            value=_separator_name(separator),
            because=separator.because,
            place=None,
        )
    ]
    if decoded.because:
        notes.append(_encoding_note(decoded, grid))
    return grid, "tsv" if separator.character == "\t" else "csv", tuple(notes)


def _separator_name(separator: Separator) -> str:
    if not separator.found:
        return "none"
    return SEPARATORS.get(separator.character, repr(separator.character))


def _rows(text: str, separator: str, file: str, sheet: str) -> list[list[Cell]]:
    rows: list[list[Cell]] = []
    known: dict[str, str | None] = {}
    cells = 0
    recent: list[str] = []

    def lines() -> Iterator[str]:
        for match in _LINE.finditer(text):  # StringIO would copy the text at four bytes a character
            line = match.group()
            recent.append(line)
            yield line
        yield _END

    source = lines()
    reader = csv.reader(source, delimiter=separator, skipinitialspace=separator != " ")
    started = last_started = 1
    last: list[str] = []
    try:
        for record in reader:
            last, last_started = record, started
            if len(recent) > 1:
                _check_quotes(recent, separator, started, file, sheet, len(rows) + 1)
            recent.clear()
            started = reader.line_num + 1
            row: list[Cell] = []
            for field in record:
                try:
                    row.append(known[field])
                except KeyError:
                    value = known[field] = field.strip() or None
                    row.append(value)
            while row and row[-1] is None:
                row.pop()
            rows.append(row)
            cells += len(row)
            if len(rows) > limits.MAX_ROWS + 1 or cells > limits.MAX_CELLS:
                raise too_large(file, f"it has more than {limits.MAX_ROWS:,} rows or {limits.MAX_CELLS:,} fields")
    except csv.Error as fault:
        if len(recent) > 1:
            raise _open_quote(file, sheet, started, len(rows) + 1) from fault
        raise FileUnreadableError(
            f"line {started} has a field of more than {limits.MAX_FIELD_CHARACTERS:,} characters, which is no"
            " wire list.",
            file=file,
            remedy="Check the separator and the quotes in that line.",
        ) from fault
    if last != [_END]:
        raise _open_quote(file, sheet, last_started, len(rows))
    rows.pop()
    return rows


def _check_quotes(lines: list[str], separator: str, started: int, file: str, sheet: str, row: int) -> None:
    """A record over several lines must be quoted by the book, or a stray quote has swallowed rows."""
    if lines[-1:] == [_END]:
        return
    try:
        for _ in csv.reader(lines, delimiter=separator, skipinitialspace=separator != " ", strict=True):
            pass
    except csv.Error as fault:
        raise _open_quote(file, sheet, started, row) from fault


def _open_quote(file: str, sheet: str, line: int, row: int) -> FileUnreadableError:
    return FileUnreadableError(
        f'line {line} (row {row}) opens a quote (") that is not closed where it should be.',
        file=file,
        sheet="" if file.startswith(sheet) else printable(sheet),
        remedy='Close it, or write the inch mark of a field that begins with it as two ("").',
    )


def _encoding_note(decoded: Decoded, grid: Grid) -> Assumption:
    place, count = None, 0
    for index, row in enumerate(grid.rows):
        for column, value in enumerate(row):
            if isinstance(value, str) and not value.isascii():
                count += 1
                if place is None:
                    place = Place(grid.file, grid.sheet, cell_name(index + 1, column))
    return Assumption("encoding", grid.file, decoded.encoding, decoded.because, place, max(count, 1))
