"""Colours of wires: IEC 60757 letters from whatever was written.

The canonical code of a wire is its base colour followed by its tracers, without a mark between them:
``RD``, ``WHGN``, ``RDBU``. The letters are those of IEC 60757, as read in GOST 28763-90; colours the
standard has no letters for get a word of our own in lower case: ``tan``, ``lightblue``, ``lightgreen``,
``darkblue``, ``darkgreen``, ``transparent``, and ``bare`` for a drain or a braid. The vocabulary is data,
in ``colours.toml`` beside this file.

A single letter means one colour in one country and another elsewhere, and so do a few pairs (``BR``,
``GR``, ``BL``): which habit a list follows is decided once per column with `habit_of`.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path

__all__ = ["Colour", "colour_name", "colour_rgb", "habit_of", "parse_colour", "split_code"]


@dataclass(frozen=True, slots=True)
class Colour:
    """What a colour text says.

    Parameters
    ----------
    codes : tuple of str
        One canonical code per core, base then tracer; a plain wire has one. Empty when nothing in the
        text is a colour.
    cable : str
        Number or name of the cable that the core belongs to, as in ``4-Green``; else empty.
    count : int
        How many equal wires the text speaks of, as in ``2 red thin``.
    because : str
        What was read into the text, empty when it says its colour outright.
    remark : str
        Words that say something else about the wire: ``thin``.
    """

    codes: tuple[str, ...]
    cable: str = ""
    count: int = 1
    because: str = ""
    remark: str = ""

    @property
    def code(self) -> str | None:
        """Code of a single core, else None."""
        return self.codes[0] if len(self.codes) == 1 else None


@dataclass(frozen=True, slots=True)
class _Vocabulary:
    names: dict[str, str]
    rgb: dict[str, str]
    words: dict[str, str]
    iec: dict[str, str]
    din: dict[str, str]
    trade: dict[str, str]
    habits: dict[str, dict[str, str]]
    tells: dict[str, frozenset[str]]
    remarks: frozenset[str]
    tracers: frozenset[str]


@cache
def _vocabulary() -> _Vocabulary:
    data = tomllib.loads((Path(__file__).parent / "colours.toml").read_text(encoding="utf-8"))
    names, rgb, words, iec, din, trade = {}, {}, {}, {}, {}, {}
    for colour in data["colour"]:
        code = colour["code"]
        names[code], rgb[code] = colour["name"], colour["rgb"]
        for word in colour["words"]:
            words[_plain(word)] = code
        for letters in colour.get("din", ()):
            din[letters] = code
        for letters in colour.get("trade", ()):
            trade[letters] = code
        if code.isupper():
            iec[code.lower()] = code
        words[code.lower()] = words.get(code.lower(), code) if not code.isupper() else code
    for code in iec:  # the standard's letters are looked up in their own turn, not as words
        if words.get(code) == iec[code]:
            del words[code]
    return _Vocabulary(
        names, rgb, words, iec, din, trade,
        {name: dict(habit["letters"]) for name, habit in data["habit"].items()},
        {name: frozenset(habit["tell"]) for name, habit in data["habit"].items()},
        frozenset(_plain(w) for w in data["remarks"]["words"]),
        frozenset(data["remarks"]["tracer"]),
    )  # fmt: skip


def _plain(word: str) -> str:
    return re.sub(r"\s+", " ", word.strip().casefold().replace("ß", "ss").replace(".", ""))


# --- names and swatches -----------------------------------------------------------------------------


@lru_cache(maxsize=4096)
def split_code(code: str) -> tuple[str, ...]:
    """Base and tracers of a canonical code: ``WHGN`` → ``("WH", "GN")``.

    Raises
    ------
    KeyError
        For anything that is not a canonical code.
    """
    names = _vocabulary().names
    parts: list[str] = []
    rest = code
    while rest:
        for known in sorted(names, key=len, reverse=True):
            if rest.startswith(known):
                parts.append(known)
                rest = rest[len(known) :]
                break
        else:
            raise KeyError(code)
    return tuple(parts)


def colour_name(code: str) -> str:
    """Words for a canonical code: ``WHGN`` → ``white with green``, ``lightblue`` → ``light blue``."""
    names = [_vocabulary().names[part] for part in split_code(code)]
    return names[0] if len(names) == 1 else f"{names[0]} with {' and '.join(names[1:])}"


def colour_rgb(code: str) -> tuple[str, ...]:
    """Swatch colours of a canonical code, base first: ``("#f7f7f4", "#1f8f3a")``."""
    return tuple(_vocabulary().rgb[part] for part in split_code(code))


# --- reading ----------------------------------------------------------------------------------------

_CABLE_CORE = re.compile(r"^(?P<cable>[A-Za-z]{0,2}\d{1,3})\s*[-–:]\s*(?P<core>[^\d\s].*)$")
_COUNT = re.compile(r"^(?P<n>\d{1,2})\s*(?:x\s+|x(?=[A-Z])|\s)\s*(?P<rest>[^\d\s].*)$", re.I)
_CORES_OF = re.compile(r"^\d{1,2}[\s-]*cores?\b", re.I)
_MARKS = re.compile(r"[/\\|,;:_&.\-–—()]+|\s+")
_LONGEST = 24  # no colour word is longer
_SHARED = frozenset(("br", "bl", "gr", "or"))  # letters that other habits use for other colours
_HABITS_FIRST = ("british", "eastern", "plain")


@lru_cache(maxsize=65536)
def parse_colour(text: str, habit: str = "") -> Colour:
    """Colour of one cell.

    Parameters
    ----------
    text : str
        ``WHGN``, ``wh/gn``, ``White-green``, ``Light Blue/ Orange``, ``R+B``, ``4-Green``, ``2 red thin``.
    habit : {"", "din", "british", "eastern", "plain"}
        How the column writes its letters, from `habit_of`; empty takes IEC 60757 letters, then the
        trade's three letters, then the old DIN letters, then the single letters every habit shares.

    Returns
    -------
    Colour
        With empty `codes` if any part of the text is not a colour.
    """
    t = text.strip()
    if len(t) > 80:
        return Colour((), remark=text)
    cable, count, because = "", 1, ""
    if match := _CABLE_CORE.match(t):
        cable, t = match["cable"], match["core"]
        because = f"core of cable {cable}"
    elif (match := _COUNT.match(t)) and not _CORES_OF.match(t):
        count, t = int(match["n"]), match["rest"]
        because = f"{count} wires of this colour"
        if count == 0:
            return Colour(())
    elif match := _CORES_OF.match(t):
        # "2 core brown": the brown core of a two-core cable
        t = t[match.end() :]
    cores = t.split("+")
    codes: list[str] = []
    remarks: list[str] = []
    letters = ""
    for core in cores:
        found = _one_core(core, habit)
        if found is None:
            return Colour((), remark=text)
        code, words, by_letter = found
        codes.append(code)
        remarks += words
        letters = letters or by_letter
    if letters and not because:
        because = letters
    return Colour(tuple(codes), cable, count, because, " ".join(remarks))


def _one_core(text: str, habit: str) -> tuple[str, list[str], str] | None:
    """Code of one core, the words left over, and the habit of letters that decided, if one did."""
    vocabulary = _vocabulary()
    plain = _plain(text)
    if not plain:
        return None
    whole = vocabulary.words.get(plain)
    if whole:
        return whole, [], ""
    plain = plain.replace("w/o ", "without ")
    if re.match(r"^.+\bw/", plain):
        plain = plain.replace("w/", " with ")
    tokens = [token for token in _MARKS.split(plain) if token]
    parts: list[str] = []
    remarks: list[str] = []
    by_letter = ""
    i = 0
    while i < len(tokens):
        two = f"{tokens[i]} {tokens[i + 1]}" if i + 1 < len(tokens) else ""
        if two in vocabulary.words or two in vocabulary.trade:
            parts.append(vocabulary.words.get(two) or vocabulary.trade[two])
            i += 2
            continue
        token = tokens[i]
        i += 1
        found = _letters(token, habit)
        if found is not None:
            parts += found[0]
            by_letter = by_letter or found[1]
        elif token in vocabulary.tracers:
            continue
        elif token in vocabulary.remarks or (token.isdecimal() and not parts):
            remarks.append(token)
        else:
            return None
    if not parts or len(parts) > 4:
        return None
    return "".join(parts), remarks, by_letter


def _letters(token: str, habit: str) -> tuple[list[str], str] | None:
    """Colours of one token without a mark in it: a word, letters, or letters run together."""
    if len(token) > _LONGEST:
        return None
    vocabulary = _vocabulary()
    if token in vocabulary.words:
        return [vocabulary.words[token]], ""
    if len(token) > 2 and token in vocabulary.trade:
        return [vocabulary.trade[token]], ""
    if habit in vocabulary.habits:
        habit_letters = vocabulary.habits[habit]
        run = _run(token, habit_letters) if len(token) <= 4 else None
        if run is not None:
            return run, "single letters"
    orders = [vocabulary.iec, vocabulary.trade, vocabulary.din]
    if habit == "din":
        orders = [vocabulary.din, vocabulary.iec, vocabulary.trade]
    for table in orders:
        if token in table:
            doubtful = not habit and token in _SHARED and table is vocabulary.din
            return [table[token]], "read as the old DIN letters" if doubtful else ""
    for table in orders:
        run = _run(token, table)
        if run is not None:
            return run, ""
    if not habit:
        run = _run(token, vocabulary.habits["plain"]) if len(token) <= 3 else None
        if run is not None:
            return run, "single letters"
    return None


def _run(token: str, table: dict[str, str]) -> list[str] | None:
    """Colours of letters run together (``whgn``, ``blkred``), the longest piece first."""
    if not token:
        return []
    for length in range(min(5, len(token)), 0, -1):
        code = table.get(token[:length])
        if code is not None:
            rest = _run(token[length:], table)
            if rest is not None:
                return [code, *rest]
    return None


# --- the habit of a column --------------------------------------------------------------------------


def habit_of(texts: Iterable[str]) -> tuple[str, str]:
    """How a column writes its letters, and what decided it.

    Parameters
    ----------
    texts : iterable of str
        The distinct texts of the column.

    Returns
    -------
    habit : str
        For `parse_colour`.
    because : str
        Empty when the letters are those of IEC 60757 or words, which need no decision.
    """
    vocabulary = _vocabulary()
    tokens: set[str] = set()
    for text in texts:
        for core in text.split("+"):
            tokens.update(t for t in _MARKS.split(_plain(core)) if t.isalpha() and t not in vocabulary.words)
    singles = {t for t in tokens if len(t) == 1}
    pairs = {t for t in tokens if len(t) in (2, 4)}
    iec_only = {t for t in pairs if len(t) == 2 and t in vocabulary.iec and t not in vocabulary.din}
    if singles and not iec_only:
        return _letter_habit(tokens, singles)
    clear = {t for t in tokens if t in vocabulary.din and t not in vocabulary.iec and t not in _SHARED}
    if clear and not iec_only:
        shown = ", ".join(sorted(clear)[:4])
        return "din", f"the column uses the old DIN letters ({shown})"
    return "", ""


def _letter_habit(tokens: set[str], singles: set[str]) -> tuple[str, str]:
    vocabulary = _vocabulary()
    every = [vocabulary.habits[name] for name in _HABITS_FIRST]
    tokens = {t for t in tokens if len(t) <= 4 and any(_run(t, letters) is not None for letters in every)}
    fits: list[tuple[int, str]] = []
    for name in _HABITS_FIRST:
        letters = vocabulary.habits[name]
        if all(_run(t, letters) is not None for t in tokens):
            told = {t for t in tokens if t in vocabulary.tells[name]}
            fits.append((len(told), name))
    told_by = [(count, name) for count, name in fits if count]
    shown = ", ".join(sorted(tokens)[:6]).upper()
    if told_by:
        name = max(told_by)[1]
        marks = ", ".join(sorted(t for t in tokens if t in vocabulary.tells[name])).upper()
        habit = {"british": "U blue, N brown", "eastern": "L blue, BR brown"}[name]
        return name, f"single letters ({shown}); {marks} shows the habit with {habit}"
    if any(name == "plain" for _, name in fits):
        return "plain", f"single letters ({shown}): B black, G green"
    if fits:
        return fits[0][1], f"single letters ({shown})"
    return "", ""
