"""What the words of a heading mean, from the vocabulary in ``tables/headings.toml``.

A heading is brought to a key (lower case, accents and punctuation off, ``#`` → ``no``, the unit in
brackets taken off) and looked up. A key can stand for several concepts (``Type``, ``Section``); which one
it is depends on its neighbours and on the values below, and is decided in `layout`.
"""

from __future__ import annotations

import difflib
import re
import tomllib
import unicodedata
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path

import harnessdrc.tables.columns as _columns

__all__ = [
    "Heading", "Words", "heading_key", "heading_unit", "key_of", "match_heading", "nearest_heading", "vocabulary",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Heading:
    """What one heading may mean.

    Parameters
    ----------
    written : str
        As it stands in the cell.
    key : str
        Normalized words without the unit.
    concepts : tuple of str
        Concepts it may stand for, the likelier first; empty for an unknown heading. ``none`` is a heading
        that is known and holds nothing that is read.
    side : {"", "from", "to"}
        The end of the wire it speaks of.
    unit : str
        ``mm2``, ``awg``, ``mm``, ``m``, ``in`` ... where the heading names one; else empty.
    qualifier : str
        Words before a known one: ``ECU`` of "ECU pin".
    soft : bool
        The heading hints at its unit without naming it (``Gauge``).
    """

    written: str
    key: str
    concepts: tuple[str, ...]
    side: str = ""
    unit: str = ""
    qualifier: str = ""
    soft: bool = False

    def may_be(self, concept: str) -> bool:
        """Whether `concept` is among those it may stand for."""
        return concept in self.concepts


@dataclass(frozen=True, slots=True)
class Words:
    """The vocabulary, as looked up."""

    concepts: dict[str, tuple[str, ...]]
    sides: dict[str, str]
    short_sides: dict[str, str]
    values: dict[str, frozenset[str]]
    longest_side: int
    units: dict[str, str]
    key_units: dict[str, tuple[str, bool]]
    within: dict[str, dict[str, str]]
    """Form → key of a heading known only beside others of this form → column."""
    within_keys: frozenset[str]
    units_within: dict[str, str]


@cache
def vocabulary() -> Words:
    """Vocabulary of ``tables/headings.toml``, with the headings of the recommended form added."""
    path = Path(_columns.__file__).parent / "headings.toml"
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    concepts: dict[str, list[str]] = {}
    for concept, keys in data["concepts"].items():
        for key in keys:
            where = concepts.setdefault(key_of(key), [])
            if concept not in where:
                where.append(concept)
    sides = {key_of(word): side for side in ("from", "to") for word in data["sides"][side]}
    short = {key_of(word): side for side in ("from", "to") for word in data["sides"][f"{side}_short"]}
    values = {name: frozenset(word.casefold() for word in words) for name, words in data["values"].items()}
    units = {word: unit for unit, spellings in data["units"].items() for word in spellings}
    key_units = {
        key: (unit, hinted)
        for table, hinted in (("unit_by_heading", False), ("unit_hinted", True))
        for unit, keys in data[table].items()
        for key in keys
    }
    points = data["within_points"]
    spelt = {
        "wires": data["within_wires"],
        "components": data["within_components"],
        "branches": data["within_branches"],
        "splices": data["within_splices"],
        "parts": data["within_parts"],
        "points": {"point": points["point"]}
        | {f"{axis}_m": [key.replace("*", axis) for key in points["axis"]] for axis in "xyz"},
    }
    within = {
        form: {key_of(key): column for column, keys in columns.items() for key in keys}
        for form, columns in spelt.items()
    }
    return Words(
        {key: tuple(value) for key, value in concepts.items()},
        sides, short, values, max(len(word.split()) for word in sides), units, key_units,
        within, frozenset(key for keys in within.values() for key in keys),
        {word: unit for unit, spellings in data["units_within"].items() for word in spellings},
    )  # fmt: skip


# --- the key ----------------------------------------------------------------------------------------

_BRACKETS = re.compile(r"\s*[(\[{]\s*([^()\[\]{}]*?)\s*[)\]}]")
_TRAILING_UNIT = re.compile(r"^(?P<words>.*[^\s,/_-])(?:\s+in\s+|\s*[,/_-]\s*|\s+)(?P<unit>[^\s,/_-]+)$", re.I)
_NUMBER_WORDS = frozenset(("no", "nr", "nos", "num", "number", "numbers", "numero", "nummer", "n°", "№", "nbr"))
_NOT_WORDS = re.compile(r"[^0-9a-z]+")


def _fold(text: str) -> str:
    """Lower case without accents, one spelling per letter."""
    text = text.casefold().replace("ß", "ss").replace("ø", "o").replace("æ", "ae").replace("ł", "l")
    if text.isascii():
        return text
    return "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))


@lru_cache(maxsize=8192)
def key_of(text: str) -> str:
    """Words of a text in lower case, without accents and punctuation, parted by single blanks."""
    folded = _fold(text.replace("n°", " no ").replace("N°", " no ").replace("№", " no ").replace("#", " no "))
    tokens = _NOT_WORDS.sub(" ", folded).split()
    return " ".join("no" if token in _NUMBER_WORDS else token for token in tokens)


def heading_key(text: str) -> tuple[str, str]:
    """Key and unit of a heading: ``"Length (mm)"`` → ``("length", "mm")``."""
    unit = ""
    bare = text
    for inside in _BRACKETS.findall(text):
        found = vocabulary().units.get(inside.strip().lower().removeprefix("in ").strip())
        if found:
            unit = found
            bare = _BRACKETS.sub("", text)
    key = key_of(bare)
    if not unit and (within := _within_unit(text)):
        return within
    if not unit and key not in vocabulary_keys():
        match = _TRAILING_UNIT.match(text.strip())
        if match:
            found = vocabulary().units.get(match["unit"].lower().strip("."))
            words = key_of(match["words"]).removesuffix(" in")
            if found and len(found) == 1 and text.strip()[match.end("words")] in " -_" and " in " not in text:
                # a lone letter is more often an end ("Pin A") than a unit
                concept = {"m": "length", "A": "current"}.get(found)
                found = found if concept in _concepts(words) else None
            if found and (words in vocabulary_keys() or _sided(words)):
                unit, key = found, words
    return key, unit


_UNIT_AT_END = re.compile(
    r"^(?P<words>.*?[^\s,/_(\[-])(?:\s+in\s+|[\s,/_-]*[(\[]\s*(?:in\s+)?|\s*[,/_-]\s*|\s+)(?P<unit>[^\s,_()\[\]-]+?)\.?\s*[)\]]?$",
    re.I,
)


_WITHIN_UNITS = ("mm", "cm", "m", "in", "ft", "V", "mm2", "awg")


def _within_unit(text: str) -> tuple[str, str] | None:
    """Key and unit of a heading that is known only beside others: ``Filter (µs)``, ``X mm``, ``Gap m``; else None."""
    words = vocabulary()
    bare = text.rstrip(" )].")  # a look at the end first: nearly every text stops here
    name = bare[max(map(bare.rfind, " ,_([/-")) + 1 :].lower()
    if name not in words.units_within and name not in words.units:
        return None
    match = _UNIT_AT_END.match(text.strip())
    key = key_of(match["words"]) if match else ""
    if key not in words.within_keys or words.within["points"].get(key) == "point":
        return None
    unit = words.units_within.get(name)
    if unit is None and words.units.get(name) in _WITHIN_UNITS:
        unit = words.units[name]
    return None if unit is None else (key, unit)


@cache
def vocabulary_keys() -> frozenset[str]:
    """Every key of the vocabulary."""
    return frozenset(vocabulary().concepts)


# --- looking up -------------------------------------------------------------------------------------

_ENDINGS = ("cavity", "terminal", "seal", "connector", "item", "body", "size")


def _plural(key: str) -> str:
    return " ".join(t[:-1] if len(t) > 3 and t.endswith("s") and not t.endswith("ss") else t for t in key.split())


def _concepts(key: str) -> tuple[str, ...]:
    known = vocabulary().concepts
    found = known.get(key)
    if found or "s" not in key:
        return found or ()
    return known.get(_plural(key)) or ()


@lru_cache(maxsize=4096)
def _sided(key: str) -> tuple[str, tuple[str, ...]] | None:
    """Side and concepts of a key that names an end of the wire, else None."""
    words = vocabulary()
    if key in words.sides:
        return words.sides[key], ("item",)
    tokens = key.split()
    for length in range(min(words.longest_side, len(tokens) - 1), 0, -1):
        for start in range(len(tokens) - length + 1):
            side = words.sides.get(" ".join(tokens[start : start + length]))
            if side is None:
                continue
            rest = tokens[:start] + tokens[start + length :]
            concepts = _end_concepts(" ".join(rest))
            if concepts:
                return side, concepts
    for i in range(len(tokens) - 1, 0, -1):
        side = words.short_sides.get(tokens[i])
        if side is not None:
            concepts = _end_concepts(" ".join(tokens[:i] + tokens[i + 1 :]))
            if concepts:
                return side, concepts
    if len(tokens) > 1 and tokens[-1][-1:] in "12" and len(tokens[-1]) > 1:
        return _sided(" ".join([*tokens[:-1], tokens[-1][:-1], tokens[-1][-1]]))
    if len(tokens) == 1 and len(key) > 3 and key[-1] in "12":  # "conn1", "pin2"
        return _sided(f"{key[:-1]} {key[-1]}")
    return None


def _end_concepts(key: str) -> tuple[str, ...]:
    return tuple(c for c in _concepts(key) if c in _ENDINGS)


@lru_cache(maxsize=65536)
def match_heading(text: str) -> Heading:
    """Meaning of a heading as written; `Heading.concepts` is empty for one that is not known."""
    written = " ".join(text.split())
    if not written or len(written) > 60:
        return Heading(written, "", ())
    key, unit = heading_key(written)
    concepts = _concepts(key)
    side = ""
    qualifier = ""
    soft = False
    sided = _sided(key)
    if sided is not None and (not concepts or concepts[0] not in ("number", "none")):
        side, concepts = sided
    if not concepts:
        concepts, qualifier = _qualified(key, written)
    if not unit and not concepts:
        whole, unit_in = key_of(written), ""
        concepts = _concepts(whole)
        unit = unit_in
    if not unit:
        unit, soft = vocabulary().key_units.get(key, ("", False))
    return Heading(written, key, concepts, side, unit, qualifier, soft)


_QUALIFIABLE = frozenset(("cavity", "colour", "connector", "size", "length", "signal", "terminal"))


def _qualified(key: str, written: str) -> tuple[tuple[str, ...], str]:
    """Concepts of a heading that ends, or begins, in a known word: "ECU pin", "Cat5e Color", "Pin ECU"."""
    tokens = key.split()
    for start in range(1, len(tokens)):
        found = tuple(c for c in _concepts(" ".join(tokens[start:])) if c in _QUALIFIABLE)
        if found:
            return found, " ".join(written.split()[:start]) if len(written.split()) > start else tokens[0]
    if len(tokens) in (2, 3) and tokens[0] in ("pin", "pins"):
        return ("cavity",), " ".join(written.split()[1:])
    return (), ""


@cache
def _all_keys() -> tuple[str, ...]:
    return tuple(key for key in vocabulary().concepts if len(key) >= 4) + tuple(vocabulary().sides)


@lru_cache(maxsize=4096)
def nearest_heading(text: str) -> Heading | None:
    """Meaning of a misspelt heading, where one known spelling is clearly the nearest; else None."""
    key, unit = heading_key(" ".join(text.split()))
    if len(key) < 4 or len(key) > 40 or any(c.isdecimal() for c in key):
        return None
    close = difflib.get_close_matches(key, _all_keys(), n=3, cutoff=0.8)
    if not close:
        return None
    best = match_heading(close[0])
    ratio = difflib.SequenceMatcher(None, key, close[0]).ratio()
    for other in close[1:]:
        meaning = match_heading(other)
        same = (meaning.concepts[:1], meaning.side) == (best.concepts[:1], best.side)
        if not same and ratio - difflib.SequenceMatcher(None, key, other).ratio() < 0.05:
            return None
    return Heading(" ".join(text.split()), close[0], best.concepts, best.side, unit or best.unit, "", best.soft)


def heading_unit(text: str) -> str:
    """Unit that a text is, with or without brackets: ``[mm²]`` → ``mm2``; empty if it is none."""
    return vocabulary().units.get(text.strip().strip("()[]{}").strip().lower(), "")
