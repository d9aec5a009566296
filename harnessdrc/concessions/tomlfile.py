"""Concessions of a TOML file, each with its line.

``tomllib`` says what stands in a file, not where. A line is that of a concession's heading, or of a key, when the text
before it is whole TOML by itself: so nothing within a text of several lines is taken for one.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from typing import Any

from harnessdrc.concessions.model import FIELDS
from harnessdrc.concessions.records import Record, Records
from harnessdrc.errors import ConcessionError
from harnessdrc.places import Place
from harnessdrc.rulesets.faults import did_you_mean, found
from harnessdrc.rulesets.files import syntax_fault

__all__ = ["take_toml"]

_TABLES = "concession"
_HEADING = re.compile(r"^\s*\[\[\s*(?:concession|\"concession\"|'concession')\s*\]\]")
_KEY = re.compile(r"^\s*[\"']?([A-Za-z_-]+)[\"']?\s*=")
_ALL_LINES = 5_000
"""In a file of more lines the places of keys are not proved one by one."""


def take_toml(records: Records, data: bytes, file: str) -> None:
    """Add the concessions of a TOML file to the records.

    Parameters
    ----------
    records : Records
        Takes concessions and faults.
    data : bytes
        Content of the file.
    file : str
        Its name as shown to the user.

    Raises
    ------
    ConcessionError
        For a file that is no TOML in UTF-8.
    """
    text, content = _parsed(data, file)
    for key in content:
        if key != _TABLES:
            meant = did_you_mean(key, (_TABLES,))
            records.fault(_line(file, _line_of_key(text, key)), f"{meant.rstrip('?.')}? Write [[concession]]")
    entries = content.get(_TABLES, [])
    if not isinstance(entries, list) or not all(isinstance(entry, Mapping) for entry in entries):
        shown = entries if not isinstance(entries, list) else next(e for e in entries if not isinstance(e, Mapping))
        records.fault(
            _line(file, _line_of_key(text, _TABLES)),
            f"expected tables [[concession]], found {found(shown)}; write two brackets on either side",
        )
        return
    if not entries and not content:
        records.fault(_line(file, 1), "there is no concession in this file: expected tables [[concession]]")
    starts = _starts(text, len(entries))
    lines = text.splitlines()
    for index, entry in enumerate(entries):
        first = starts[index] if starts else 1
        last = starts[index + 1] - 1 if starts and index + 1 < len(starts) else len(lines)
        keys = _keys(lines, first, last) if starts else {}
        _take(records, entry, file, first, keys)


def _take(records: Records, entry: Mapping[str, Any], file: str, first: int, keys: Mapping[str, int]) -> None:
    place = _line(file, first)
    meant: set[str] = set()
    for key in entry:
        if key not in FIELDS:
            sentence = did_you_mean(key, FIELDS)
            records.fault(_line(file, keys.get(key, first)), sentence.rstrip("."))
            meant |= {name for name in FIELDS if f"'{name}'?" in sentence}
    cells = {name: _line(file, keys[name]) for name in FIELDS if name in keys}
    values = {name: entry[name] for name in FIELDS if name in entry}
    records.take(Record(values, place, cells, {name: name for name in FIELDS}), frozenset(meant))


def _parsed(data: bytes, file: str) -> tuple[str, dict[str, Any]]:
    try:
        text = data.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise ConcessionError(file, [f"line {line}: expected text in UTF-8; save the file as UTF-8."]) from error
    try:
        return text, tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ConcessionError(file, [f"{syntax_fault(str(error), text)}."]) from error
    except RecursionError as error:
        raise ConcessionError(file, ["the brackets are nested too deep to be read."]) from error
    except ValueError as error:
        raise ConcessionError(file, [f"a value cannot be read ({error})."]) from error


def _line(file: str, line: int) -> Place:
    return Place(file, "", str(line))


def _whole(lines: Sequence[str], before: int) -> bool:
    """Whether the lines before a one-based line are TOML by themselves."""
    try:
        tomllib.loads("\n".join(lines[: before - 1]) + "\n")
    except (ValueError, RecursionError):
        return False
    return True


def _starts(text: str, count: int) -> list[int]:
    """One-based line of each concession's heading; empty where they are written otherwise."""
    lines = text.splitlines()
    found_at = [number for number, line in enumerate(lines, 1) if _HEADING.match(line)]
    if len(found_at) != count:
        found_at = [number for number in found_at if _whole(lines, number)]
    return found_at if len(found_at) == count else []


def _keys(lines: Sequence[str], first: int, last: int) -> dict[str, int]:
    """One-based line of each key of the concession between two lines."""
    block = ["", *lines[first:last]]
    keys: dict[str, int] = {}
    for at, line in enumerate(block[1:], 2):
        match = _KEY.match(line)
        if match and match[1] not in keys and (len(lines) > _ALL_LINES or _whole(block, at)):
            keys[match[1]] = first + at - 1
    return keys


def _line_of_key(text: str, key: str) -> int:
    lines = text.splitlines()
    pattern = re.compile(rf"^\s*(?:\[+\s*)?[\"']?{re.escape(key)}[\"']?\s*(?:[\].=]|$)")
    return next((number for number, line in enumerate(lines, 1) if pattern.match(line) and _whole(lines, number)), 1)
