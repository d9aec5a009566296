"""Columns whose cells are words of a short list, and the plugs that a coil fires."""

from __future__ import annotations

import re
import tomllib
from functools import cache
from pathlib import Path

import harnessdrc.tables.words as _words
from harnessdrc.intake.normalizing.values import Columns, Texts
from harnessdrc.intake.recognition.headings import key_of
from harnessdrc.intake.recognition.regions import text_of
from harnessdrc.tables.model import Unreadable
from harnessdrc.tables.words import LEAD_TYPES, PART_KINDS, PLUG_TYPES, SEXES, SHIELD_MATERIALS
from harnessdrc.units import NotUnderstoodError

__all__ = ["FIXED_WORDS", "read_fires", "read_words"]

FIXED_WORDS: dict[str, tuple[tuple[str, str], ...]] = {
    "lead_type": LEAD_TYPES, "plug_type": PLUG_TYPES, "shield_material": SHIELD_MATERIALS,
    "part_kind": PART_KINDS, "sex": SEXES,
}  # fmt: skip
"""Words of a column by the kind of its values."""

_FILLERS = frozenset(
    ("lead", "leads", "plug", "plugs", "spark", "type", "cable", "cables", "ht", "ignition", "shield", "shielding",
     "screen", "screening")
)  # fmt: skip


@cache
def _spellings(kind: str) -> dict[str, str | None]:
    """Key of a spelling → the word, ``None`` for those that say there is none."""
    path = Path(_words.__file__).parent / "word_spellings.toml"
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    out: dict[str, str | None] = {key_of(text): None for text in data["nothing"].get(kind, ())}
    for word, _ in FIXED_WORDS[kind]:
        for text in (word, *data[kind].get(word, ())):
            out[key_of(text)] = word
    return out


def read_words(columns: Columns, role: str, kind: str) -> Texts:
    """Words of a column in their one spelling; a text that is none of them is listed as not understood.

    Parameters
    ----------
    columns : Columns
        The region.
    role : str
        Which column.
    kind : str
        A key of `FIXED_WORDS`.
    """
    known = _spellings(kind)
    wanted = [word for word, _ in FIXED_WORDS[kind]]
    expected = f"{', '.join(wanted[:-1])} or {wanted[-1]}"

    def parse(text: str) -> str | None:
        key = key_of(text)
        if key in known:
            return known[key]
        short = " ".join(word for word in key.split() if word not in _FILLERS)
        if short in known:
            return known[short]
        raise NotUnderstoodError(expected)

    return columns.parsed(role, parse)


_UNCLEAR = re.compile(r"/|\b(?:and|und|et)\b", re.I)
_PARTS = re.compile(r"\s*[,;+&]\s*")
_FIRES_EXPECTED = "the plugs of one spark joined by +, those of separate outputs parted by a comma"


def read_fires(columns: Columns, role: str = "fires") -> Texts:
    """Names of what is fired, as written: ``+`` within a spark, ``,`` between outputs.

    A line of its own is an output of its own. A slash or an "and" may mean either and is not understood, unless it
    is part of a listed name.
    """
    texts = list(columns.texts(role, names=True, placeholders=True))
    for i, value in enumerate(columns.raw(role)):
        if isinstance(value, str) and texts[i] is not None and "\n" in value.strip():
            texts[i] = text_of("; ".join(line.strip(" ,;") for line in value.splitlines() if line.strip(" ,;")))
    listed = {name.casefold() for name in columns.texts("component", names=True) if name}
    for i, text in enumerate(texts):
        if text is None:
            continue
        unclear = any(_UNCLEAR.search(part) and part.casefold() not in listed for part in _PARTS.split(text))
        if unclear or not any(c.isalnum() for c in text):
            columns.unreadable.append(Unreadable(columns.place(role, i), role, text, _FIRES_EXPECTED))
            texts[i] = None
    return texts
