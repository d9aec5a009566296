"""Kinds, roles and bodies inferred from the words people use, with the words that decided.

The words are data (``vocabulary.toml``, and ``vocabulary_languages.toml`` for languages other than
English); this file only matches them: whole words, longest phrase first.
"""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from typing import Any, NamedTuple

__all__ = ["Guess", "guess_body", "guess_kind", "guess_role", "is_sensor", "known_words", "terminals_of"]


class Guess(NamedTuple):
    """What was taken, and the words that decided it."""

    value: str
    words: str


_VOLTS = frozenset({"v", "volt", "volts"})
_FIRED = frozenset({"controller", "coil", "igniter"})
"""Kinds on which a numbered ignition signal is a coil's, not a feed."""

_HEATED = frozenset({"lambda", "wideband", "o2"})
"""Sensors whose feed and ground also carry the current of a heater."""

_SPEEDS = frozenset({"vss", "wss", "wheel speed", "speed sensor"})
"""Speed sensors: their + and - are the two sides of the signal, their ground and feed are no signal."""

_SWITCHES = frozenset({"switch", "sw"})

_NOISE = frozenset({"sensor", "sender", "position", "pos"})
"""Words that stand between others without changing what is meant: ``crank sensor +``."""

_JOINING_DASH = re.compile(r"(?<=\w)-(?=\w)")
_SIGN = re.compile(r"(?<=[a-z0-9)])([+-])(?=[\s,;)/]|$)")
_SPLIT = re.compile(r"[^a-z0-9+.\-]+")
_NUMBER_TAIL = re.compile(r"^([a-z]+)(\d+[a-z]?)$")


@lru_cache(maxsize=100_000)
def _tokens(text: str) -> tuple[str, ...]:
    """Words of a name in lower case, numbers split from letters, a sign as a word of its own.

    >>> _tokens("CKP+"), _tokens("Coil-3 ground"), _tokens("CAN_H")
    (('ckp', '+'), ('coil', '3', 'ground'), ('can', 'h'))
    """
    text = _plain(text.casefold()).replace("_", " ")
    if "-" in text or "+" in text:
        # A dash between two words joins them ("Coil-3"); at the end of a word it is a sign ("Crank -").
        text = _SIGN.sub(r" \1 ", _JOINING_DASH.sub(" ", text))
    words: list[str] = []
    for word in _SPLIT.split(text):
        if not word:
            continue
        if word in "+-":
            words.append(word)
            continue
        if len(word) > 1 and word[0] in "+-" and word[1].isdecimal():
            word = word[1:]
        word = word.strip(".-")
        if not word:
            continue
        tail = _NUMBER_TAIL.match(word)
        if tail and not _is_word(word):
            words.extend((*_apart(tail[1]), tail[2]))
        else:
            words.extend(_apart(word))
    return tuple(words)


_LETTERS = str.maketrans({"\u2212": "-", "ø": "o", "æ": "ae", "ł": "l", "đ": "d"})


def _plain(text: str) -> str:
    """Text without accents: ``Öldruckgeber`` → ``oldruckgeber`` (lower case is expected)."""
    if text.isascii():
        return text
    folded = unicodedata.normalize("NFKD", text.translate(_LETTERS))
    return "".join(c for c in folded if not unicodedata.combining(c))


@cache
def _parts() -> tuple[frozenset[str], int]:
    parts = frozenset(_data()["compound"]["parts"])
    return parts, max(map(len, parts))


@lru_cache(maxsize=20_000)
def _apart(word: str) -> tuple[str, ...]:
    """Parts of a word written together, the longest first; the word itself where it is not made of them.

    >>> _apart("temperaturgeber"), _apart("injector")
    (('temperatur', 'geber'), ('injector',))
    """
    if len(word) < 7 or not word.isalpha():
        return (word,)
    parts, longest = _parts()

    def rest(start: int) -> tuple[str, ...] | None:
        if start == len(word):
            return ()
        for end in range(min(len(word), start + longest), start + 1, -1):
            if word[start:end] in parts:
                after = rest(end)
                if after is not None:
                    return (word[start:end], *after)
        return None

    return rest(0) or (word,)


@dataclass(frozen=True, slots=True)
class _Phrases:
    """Phrases of one vocabulary section: first word → (words, value), the longest first."""

    by_first: dict[str, tuple[tuple[tuple[str, ...], str], ...]]

    def find(self, words: tuple[str, ...], *, last: bool = False) -> tuple[str, str] | None:
        """Value and text of the longest phrase in `words`, of equal ones the last in the text.

        With `last` the phrase that ends last wins, as the noun does in ``fuel pump relay``.
        """
        best: tuple[int, int, str, str] | None = None
        for start, word in enumerate(words):
            for phrase, value in self.by_first.get(word, ()):
                size = len(phrase)
                if words[start : start + size] == phrase:
                    letters = sum(map(len, phrase)) + size
                    weight = (start + size, letters) if last else (letters, start)
                    if best is None or weight > best[:2]:
                        best = (*weight, value, " ".join(phrase))
                    break
        return (best[2], best[3]) if best else None


def _phrases(pairs: Iterable[tuple[str, str]]) -> _Phrases:
    by_first: dict[str, list[tuple[tuple[str, ...], str]]] = {}
    seen: set[tuple[str, ...]] = set()
    for phrase, value in pairs:
        words = _tokens(phrase)
        if words and words not in seen:
            seen.add(words)
            by_first.setdefault(words[0], []).append((words, value))
    return _Phrases({k: tuple(sorted(v, key=lambda p: -len(p[0]))) for k, v in by_first.items()})


@cache
def _data() -> dict[str, Any]:
    here = Path(__file__).parent
    words: dict[str, Any] = tomllib.loads((here / "vocabulary.toml").read_text(encoding="utf-8"))
    others: dict[str, Any] = tomllib.loads((here / "vocabulary_languages.toml").read_text(encoding="utf-8"))
    for section in ("kind", "body", "role"):
        words[section] += others[section]
    for name, concept in others["concept"].items():
        words["concept"][name]["phrases"] += concept["phrases"]
    words["compound"] = others["compound"]
    return words


@cache
def _whole_words() -> frozenset[str]:
    """Words with digits that must not be split: ``5v``, ``12v``, ``o2``."""
    words = {"b+"}
    for section in ("kind", "body", "role"):
        for entry in _data()[section]:
            for phrase in entry["phrases"]:
                words.update(phrase.casefold().split())
    for concept in _data()["concept"].values():
        for phrase in concept["phrases"]:
            words.update(phrase.casefold().split())
    return frozenset(word for word in words if any(c.isdecimal() for c in word))


def _is_word(word: str) -> bool:
    return word in _whole_words()


@cache
def _section(name: str) -> _Phrases:
    return _phrases((phrase, str(entry["name"])) for entry in _data()[name] for phrase in entry["phrases"])


@cache
def _numbered_roles() -> dict[str, str]:
    """First words that make a role when a number follows: ``ign 3`` → coil input."""
    return {word: str(entry["name"]) for entry in _data()["role"] for word in entry.get("numbered_phrases", ())}


@cache
def _concepts() -> tuple[_Phrases, dict[str, dict[str, str]]]:
    concepts: dict[str, Any] = _data()["concept"]
    phrases = _phrases((phrase, name) for name, body in concepts.items() for phrase in body["phrases"])
    return phrases, {name: dict(body["roles"]) for name, body in concepts.items()}


def is_sensor(kind: str | None) -> bool:
    """Whether a kind of component is a sensor."""
    return kind is not None and kind.endswith(" sensor")


@lru_cache(maxsize=100_000)
def guess_kind(name: str) -> Guess | None:
    """Kind of component that a name suggests, or None."""
    words = _tokens(name)
    found = _section("kind").find(words, last=True)
    if found:
        if found[0] == "connector" and len(found[1].split()) == 1:
            # "TPS connector" and "ECU plug A" are part of what they name, an "injector loom plug" is not.
            before = words[: len(words) - 1 - words[::-1].index(found[1])]
            while before and (before[-1].isdecimal() or len(before[-1]) == 1):
                before = before[:-1]
            device = _section("kind").find(before, last=True)
            if device and device[0] != "connector" and before[-len(device[1].split()) :] == tuple(device[1].split()):
                return Guess(*device)
        return Guess(*found)
    short = re.match(r"^(fuse|f(?!\d{5})|spl|sp|s(?!\d{4})|cop|inj)[ -]?\d{1,5}[a-z]?$", name.strip().casefold())
    if short:
        kind = {"f": "fuse", "fuse": "fuse", "cop": "coil", "inj": "injector"}.get(short[1], "splice")
        return Guess(kind, f"{short[1].upper()} and a number")
    ground = re.match(r"^(gnd|ground|grd|grnd)[ _-]?\d{0,3}$", name.strip().casefold())
    return Guess("earth point", ground[1]) if ground else None


@lru_cache(maxsize=50_000)
def guess_body(name: str) -> Guess | None:
    """Body that a name suggests: ``Head stud`` → head."""
    words = _tokens(name)
    if "battery" in words or "batt" in words:
        found = _section("body").find(words)
        return Guess(*found) if found and found[0] == "battery negative" else None
    found = _section("body").find(words)
    return Guess(*found) if found and found[0] else None


def _of_kind(roles: dict[str, str], kind: str | None) -> str:
    if kind in roles:
        return roles[kind]
    if is_sensor(kind) and "sensor" in roles:
        return roles["sensor"]
    return roles["default"]


@lru_cache(maxsize=200_000)
def guess_role(signal: str, kind: str | None, *, own_pin: bool = False) -> Guess | None:
    """Role of a pin from the name of its signal and the kind of component it is on.

    Parameters
    ----------
    signal : str
        Name of the signal or of the terminal.
    kind : str or None
        Kind of the component.
    own_pin : bool
        True for a name out of the component's own pin list, where ``GND`` is its own ground; on a wire
        the name may be about the other end.

    Returns
    -------
    Guess or None
        The role, and the words that decided it.
    """
    terminals = _data().get("terminals", {})
    key = signal.strip().casefold()
    own = terminals.get(kind or "", {})
    if own_pin and key in own:
        return Guess(str(own[key]), f"terminal {signal.strip()} of a {kind}")
    words = _tokens(signal)
    # "Coil 3 ground" is "coil ground" with a number in between.
    bare = tuple(word for word in words if not word.isdecimal()) if len(words) > 2 else words
    said = _section("role")
    found = said.find(words)
    if bare != words:
        other = said.find(bare)
        if other and (found is None or len(other[1]) > len(found[1])):
            found = other
    if found is None and not _NOISE.isdisjoint(words):
        found = said.find(tuple(word for word in words if word not in _NOISE))
    concept_words, concepts = _concepts()
    numbered = None
    for first, second, third in zip(words, words[1:], (*words[2:], ""), strict=False):
        if second.isdecimal() and first in _numbered_roles() and third not in _VOLTS:
            numbered = Guess(_numbered_roles()[first], f"{first} {second}")
    concept = concept_words.find(words)
    if found:
        # "Injector feed" says more than "injector", "coil 2 earth" more than "coil 2".
        sign_only = concept is not None and concept[1] in "+-"
        measured = found[0] in ("analogue signal", "temperature signal") or (found[1] in _SPEEDS and not sign_only)
        weak = found[1] in _numbered_roles() or measured or found[1] in _SWITCHES
        if not (weak and concept and concept[0] in ("ground", "feed")):
            return Guess(*found)
        if found[0] == "temperature signal" and concept[1] == "+":
            return Guess(*found)  # the live side of a thermistor is its signal
        if measured and not _HEATED.intersection(words):
            # "Oil temp rtn" is a sensor's return on whatever pin it stands, the controller's too.
            role = "sensor ground" if concept[0] == "ground" else "sensor supply"
            return Guess(role, f"{found[1]} {concept[1]}")
    if numbered and concept and kind in _FIRED and numbered.words.split()[0] == concept[1]:
        return numbered  # "ign" alone is the ignition feed, "ign 3" on these the third output
    if concept and concept[0] in ("ground", "feed"):
        return Guess(_of_kind(concepts[concept[0]], kind), concept[1])
    if found:
        return Guess(*found)
    if numbered:
        return numbered
    if concept:
        return Guess(_of_kind(concepts[concept[0]], kind), concept[1])
    return None


@cache
def terminals_of(kind: str) -> frozenset[str]:
    """Markings of the terminals of a kind of component, in lower case: 30, 85 ... of a relay."""
    return frozenset(str(mark).casefold() for mark in _data().get("terminals", {}).get(kind, {}))


@cache
def known_words() -> frozenset[str]:
    """All roles that can be inferred, for tests and typo messages."""
    return frozenset(str(entry["name"]) for entry in _data()["role"])
