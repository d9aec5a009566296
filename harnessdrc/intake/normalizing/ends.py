"""Ends written in one cell, item and pin together: ``ECU:12``, ``X1-01``, ``C3.9``."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable

__all__ = ["split_ends"]

_PIN = r"(?:[A-Za-z]{0,2}\d{1,3}[A-Za-z]?|[A-Z]{1,2}|[+\-])"
_COLON = re.compile(rf"^(?P<item>[^:,;]+?)\s?:(?P<pin>\s?{_PIN}|[^\s:,;]{{1,8}})(?: ?\((?P<remark>[^()]*)\))?$")
_OTHER = re.compile(rf"^(?P<item>[^,;]*?[^\s,;./-])(?P<mark>[-./])(?P<pin>{_PIN})$")
_PIN_WORDS = r"pin|cavity|cav\.?|terminal|term\.?|position|pos\.?|way|kammer|broche"
_IN_WORDS = re.compile(
    rf"^(?P<item>\S.*?)[\s,;-]+(?:{_PIN_WORDS})(?:\s+#?|\s*#)\s?(?P<pin>[A-Za-z]{{0,2}}\d{{1,3}}[A-Za-z]?|[A-Za-z])$",
    re.I,
)
_BRACKETED = re.compile(rf"^(?P<item>\S.*?)\s?\[\s?(?P<pin>{_PIN})\s?\]$")
_DESIGNATOR = re.compile(r"^[A-Za-z]{1,4}\d{1,4}[A-Za-z]?$")


def split_ends(texts: Iterable[str]) -> dict[str, tuple[str, str]]:
    """Item and cavity of those texts that say both.

    A colon, square brackets and words (``ECU pin 12``) always separate the two. A dash, a point or a
    slash does so only where the part before it comes several times with pin-like parts behind it, and is a
    designator (``X1``, ``C101``) or has pins of a kind that no numbering of devices has (``A12``, or more
    than a dozen of them): ``INJ-1`` to ``INJ-8`` stay names.

    Parameters
    ----------
    texts : iterable of str
        All distinct ends of a table.

    Returns
    -------
    dict
        Text → (item, cavity), for the texts that are split.
    """
    out: dict[str, tuple[str, str]] = {}
    groups: dict[tuple[str, str], dict[str, str]] = defaultdict(dict)
    for text in texts:
        if match := _COLON.match(text):
            item, pin = match["item"].strip(), match["pin"].strip()
            if item and not (item.isdigit() and pin.isdigit()):
                out[text] = (item, pin)
        elif match := _IN_WORDS.match(text) or _BRACKETED.match(text):
            out[text] = (match["item"].strip(), match["pin"])
        elif match := _OTHER.match(text):
            groups[match["item"], match["mark"]][text] = match["pin"]
    for (item, _mark), pins in groups.items():
        distinct = set(pins.values())
        if len(distinct) < 2:
            continue
        lettered = sum(1 for pin in distinct if re.match(r"^[A-Za-z]\d{1,3}$", pin))
        if _DESIGNATOR.match(item) or lettered * 2 > len(distinct) or len(distinct) > 12:
            out.update({text: (item, pin) for text, pin in pins.items()})
    return out
