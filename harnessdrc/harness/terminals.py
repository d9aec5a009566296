"""Ends whose name holds their terminal: ``Main relay 87``, ``Battery +``, ``ECU 14``.

Lists without columns for cavities write the terminal behind the device. What the device's terminals are
called is data of the vocabulary (relay 30, 85 ...); the pins of a controller are known by there being many
of them, each met once, where two controllers would each be met often; those of a fuse box by its standing in
the list by itself too.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Callable, Mapping

from harnessdrc.harness.vocabulary import guess_kind, terminals_of

__all__ = ["signed_stem", "terminals_in_names"]

_TAIL = re.compile(
    r"^(?P<stem>\S.*?)(?:\s+[-–—]\s+|\s+)(?P<tail>[A-Za-z]{0,2}\d{1,3}[A-Za-z]?|[A-Za-z]{1,8}[+\-]?|[+\-]|\([+\-]\))$"
)
_SIGNED = re.compile(r"^(?P<stem>\S.*?)(?:\s+[-–—])?\s+(?:\([+\-−]\)|[+\-−]|\+ve|-ve|pos|neg|positive|negative)$", re.I)
_PIN = re.compile(r"^(?:[A-Za-z]{0,2}\d{1,3})$")
_FEWEST_PINS = 4


def terminals_in_names(counts: Mapping[str, int], is_listed: Callable[[str], bool]) -> dict[str, tuple[str, str, str]]:
    """Device and terminal of the names that say both.

    Parameters
    ----------
    counts : mapping of str to int
        Every end that is named without a cavity → how many wires it is met on.
    is_listed : callable
        Whether a name stands in a list of components, fuses or splices; those are names as they are.

    Returns
    -------
    dict
        Name → (device, terminal, what decided it).
    """
    out: dict[str, tuple[str, str, str]] = {}
    stems: dict[str, dict[str, str]] = defaultdict(dict)
    for text in counts:
        match = _TAIL.match(text)
        if match and not is_listed(text) and not is_listed(match["stem"]):
            stems[match["stem"]][text] = match["tail"].strip("()")
    for stem, texts in stems.items():
        guess = guess_kind(stem)
        if guess is None:
            continue
        marks = terminals_of(guess.value)
        marked = {text: tail for text, tail in texts.items() if tail.casefold() in marks}
        numbered = {text: tail for text, tail in texts.items() if tail[0].isdecimal()}
        if marked and not numbered.keys() - marked.keys():
            because = f"terminals of a {guess.value} are called so"
            out.update({text: (stem, tail, because) for text, tail in marked.items()})
        elif guess.value == "power distribution" and stem in counts and numbered:
            because = f"'{stem}' stands in the list without a number too"
            out.update({text: (stem, tail, because) for text, tail in numbered.items()})
        elif guess.value in ("controller", "igniter"):
            pins = {text: tail for text, tail in texts.items() if _PIN.match(tail)}
            met = Counter(counts[text] for text in pins)
            if len(pins) >= _FEWEST_PINS and met[1] * 5 >= len(pins) * 4:
                because = f"{len(pins)} such names, nearly all on one wire each: pins of one {guess.value}"
                out.update({text: (stem, tail, because) for text, tail in pins.items()})
    return out


def signed_stem(name: str) -> str | None:
    """Device of a name that ends in the sign of a terminal: ``Coil +`` → ``Coil``; else None."""
    match = _SIGNED.match(name.strip())
    return match["stem"] if match else None
