"""Ends written in one cell, item and pin together: ``ECU:12``, ``X1-01``, ``C3.9``, ``ECU – 15``."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable

__all__ = ["split_ends"]

_PIN = r"(?:[A-Za-z]{0,2}\d{1,3}[A-Za-z]?|[A-Z]{1,2}|[+\-])"
_COLON = re.compile(rf"^(?P<item>[^:,;]+?)\s?:(?P<pin>\s?{_PIN}|[^\s:,;]{{1,8}})(?: ?\((?P<remark>[^()]*)\))?$")
_OTHER = re.compile(rf"^(?P<item>[^,;]*?[^\s,;./-])(?P<mark>[-./])(?P<pin>{_PIN})$")
_SPACED = re.compile(rf"^(?P<item>[^,;]*?[^\s,;–—-])\s+[-–—]\s+(?P<pin>{_PIN}|pos|neg|gnd)$", re.I)
_PIN_WORDS = r"pin|cavity|cav\.?|terminal|term\.?|position|pos\.?|way|kammer|klemme|broche"
_IN_WORDS = re.compile(
    rf"^(?P<item>\S.*?)[\s,;-]+(?:{_PIN_WORDS})(?:\s+#?|\s*#)\s?(?P<pin>[A-Za-z]{{0,2}}\d{{1,3}}[A-Za-z]?|[A-Za-z]|[+\-])$",
    re.I,
)
_BRACKETED = re.compile(rf"^(?P<item>\S.*?)\s?\[\s?(?P<pin>{_PIN})\s?\]$")
_DESIGNATOR = re.compile(r"^[A-Za-z]{1,4}\d{1,4}[A-Za-z]?$")


def split_ends(texts: Iterable[str], *, all_have_pins: bool = False) -> dict[str, tuple[str, str]]:
    """Item and cavity of those texts that say both.

    A colon, square brackets and words (``ECU pin 12``) always separate the two. A dash, a point or a
    slash does so only where the part before it comes several times with pin-like parts behind it, and is a
    designator (``X1``, ``C101``) or has pins of a kind that no numbering of devices has (``A12``, more
    than a dozen of them): ``INJ-1`` to ``INJ-8`` stay names. Where nearly all ends are written with one such
    mark and some item's numbers leave gaps, as pins do and numbered devices do not, all of them are pins.

    Parameters
    ----------
    texts : iterable of str
        All distinct ends of a table.
    all_have_pins : bool
        The heading says that there are pins in the cells: ``From (Conn-Pin)``.

    Returns
    -------
    dict
        Text → (item, cavity), for the texts that are split.
    """
    out: dict[str, tuple[str, str]] = {}
    groups: dict[tuple[str, str], dict[str, str]] = defaultdict(dict)
    total = 0
    for text in texts:
        total += 1
        if match := _COLON.match(text):
            item, pin = match["item"].strip(), match["pin"].strip()
            if item and not (item.isdecimal() and pin.isdecimal()):
                out[text] = (item, pin)
        elif match := _IN_WORDS.match(text) or _BRACKETED.match(text):
            out[text] = (match["item"].strip(), match["pin"])
        elif match := _SPACED.match(text):
            groups[match["item"], " - "][text] = match["pin"]
        elif match := _OTHER.match(text):
            groups[match["item"], match["mark"]][text] = match["pin"]
    for mark in _marks_of_pins(groups, total, all_have_pins):
        for (item, other), pins in groups.items():
            if other == mark:
                out.update({text: (item, pin) for text, pin in pins.items()})
    for (item, _mark), pins in groups.items():
        distinct = set(pins.values())
        if len(distinct) < 2:
            continue
        lettered = sum(1 for pin in distinct if re.match(r"^[A-Za-z]\d{1,3}$", pin))
        if _DESIGNATOR.match(item) or lettered * 2 > len(distinct) or len(distinct) > 12:
            out.update({text: (item, pin) for text, pin in pins.items()})
    return out


def _marks_of_pins(groups: dict[tuple[str, str], dict[str, str]], total: int, said: bool) -> list[str]:
    """Marks that part item and pin in the whole table."""
    out: list[str] = []
    for mark in sorted({mark for _, mark in groups}):
        alike = [pins for (_, other), pins in groups.items() if other == mark]
        share = sum(map(len, alike)) / total
        gaps = any(_has_gaps(pins.values()) for pins in alike)
        if (said and share >= 0.5) or (gaps and (mark == " - " or share >= 0.8)):
            out.append(mark)
    return out


def _has_gaps(pins: Iterable[str]) -> bool:
    """Whether two or more numbers run well past their count: 14, 15 and 26, and not 1, 2 and 4."""
    numbers = {int(pin) for pin in pins if pin.isdecimal()}
    return len(numbers) >= 2 and max(numbers) > 2 * len(numbers) + 1
