"""Finding a ruleset's file, reading its TOML, and following ``based_on`` to the first one."""

from __future__ import annotations

import os
import re
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from harnessdrc.datafiles import rulesets_folder
from harnessdrc.errors import RulesetError
from harnessdrc.rulesets.faults import Faults, found, nearest, quoted

__all__ = ["RulesetFile", "read_chain", "ruleset_path", "shipped_rulesets", "syntax_fault"]

_LARGEST_BYTES = 4_000_000
_POSITION = re.compile(r"\s*\(at (?:line (\d+), column (\d+)|(end of document))\)$")


@dataclass(frozen=True, slots=True)
class RulesetFile:
    """One ruleset as it stands in its file."""

    path: Path
    shown: str
    """Name for messages: as the user wrote it, or the path."""
    content: dict[str, Any]


def shipped_rulesets() -> tuple[str, ...]:
    """Names of the rulesets that are shipped; other TOML files beside them are data and left out."""
    names = []
    for path in sorted(rulesets_folder().glob("*.toml")):
        try:
            content = tomllib.loads(path.read_text(encoding="utf-8"))
        except (OSError, ValueError, RecursionError):
            continue
        if "name" in content and ("rule" in content or "based_on" in content):
            names.append(path.stem)
    return tuple(names)


def ruleset_path(name_or_path: str, *, beside: Path | None = None) -> Path:
    """File of a ruleset named on the command line, or in ``based_on`` of one in the folder `beside`.

    A plain name means a shipped ruleset; a name with a folder or with ``.toml`` means a file, and so does a
    plain name where no shipped ruleset has it.

    Raises
    ------
    RulesetError
        When there is neither; it lists the shipped rulesets and the nearest name.
    """
    plain = not name_or_path.endswith(".toml") and not re.search(r"[/\\]", name_or_path)
    sound = bool(name_or_path.strip()) and "\0" not in name_or_path
    if sound:
        if plain and os.path.lexists(shipped := rulesets_folder() / f"{name_or_path}.toml"):
            return shipped
        path = Path(name_or_path) if beside is None else beside / name_or_path
        if os.path.lexists(path):
            return path
    names = shipped_rulesets()
    kind = "shipped ruleset and no file" if plain else "file"
    sentence = f"there is no {kind} of this name"
    if beside is not None and not plain:
        sentence += f" in {beside}"
    close = nearest(Path(name_or_path).stem if sound else "", names)
    if close is not None:
        sentence += f"; did you mean {quoted(close)}?"
    if names:
        sentence += f"{'' if close else '.'} Shipped rulesets are {', '.join(names)}."
    else:
        sentence += ", and no ruleset is shipped here."
    raise RulesetError(name_or_path or "''", [sentence])


def read_chain(name_or_path: str, faults: Faults) -> list[RulesetFile]:
    """The named ruleset and all that it is based on, the first base first.

    Parameters
    ----------
    name_or_path : str
        As on the command line.
    faults : Faults
        Gets a sentence for each base that cannot be had.

    Raises
    ------
    RulesetError
        When the named ruleset itself cannot be read; nothing else can be said then.
    """
    path = ruleset_path(name_or_path)
    chain = [RulesetFile(path, faults.main, _read(path, faults.main))]
    seen = {_real(path): faults.main}
    while True:
        above = chain[-1]
        based_on = above.content.get("based_on")
        if based_on is None:
            break
        if not isinstance(based_on, str) or not based_on.strip():
            expected = "the name of a shipped ruleset or the path of a file"
            faults.add(above.shown, "based_on", f"expected {expected}, found {found(based_on)}")
            break
        try:
            path = ruleset_path(based_on, beside=above.path.parent)
            shown = path.stem if path.parent == rulesets_folder() else str(path)
            if _real(path) in seen:
                way = [*(each.shown for each in chain), shown]
                faults.add(above.shown, "based_on", f"goes round in a loop: {' → '.join(way)}")
                break
            content = _read(path, shown)
        except RulesetError as error:
            for sentence in error.faults:
                faults.add(above.shown, f"based_on {quoted(based_on)}", sentence)
            break
        seen[_real(path)] = shown
        chain.append(RulesetFile(path, shown, content))
    return chain[::-1]


def _real(path: Path) -> str:
    return os.path.normcase(os.path.realpath(path))


def _read(path: Path, shown: str) -> dict[str, Any]:
    """TOML of one file; every way that this can fail is a sentence."""
    try:
        if not path.is_file():
            what = "a folder" if path.is_dir() else "not a file"
            raise RulesetError(shown, [f"this is {what}; give the path of a TOML file"])
        with path.open("rb") as file:
            raw = file.read(_LARGEST_BYTES + 1)
    except OSError as error:
        raise RulesetError(shown, [f"the file cannot be read ({error.strerror or error})"]) from error
    if len(raw) > _LARGEST_BYTES:
        size = f"{_LARGEST_BYTES // 1_000_000} MB"
        raise RulesetError(shown, [f"the file is larger than {size}; it is no ruleset"])
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise RulesetError(shown, [f"line {line}: expected text in UTF-8; save the file as UTF-8"]) from error
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise RulesetError(shown, [syntax_fault(str(error), text)]) from error
    except RecursionError as error:
        raise RulesetError(shown, ["the brackets are nested too deep to be read"]) from error
    except ValueError as error:  # a number of thousands of figures
        raise RulesetError(shown, [f"a value cannot be read ({error})"]) from error


def syntax_fault(message: str, text: str) -> str:
    """What ``tomllib`` says of a text that is not TOML, with line and column in front."""
    position = _POSITION.search(message)
    if position is None:
        return f"this is not TOML: {message}"
    told = message[: position.start()]
    if position.group(3):
        lines = text.splitlines() or [""]
        line, column = len(lines), len(lines[-1]) + 1
    else:
        line, column = int(position.group(1)), int(position.group(2))
    return f"line {line}, column {column}: this is not TOML: {told[:1].lower()}{told[1:]}"
