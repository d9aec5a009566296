"""What coils and distributors fire, from the names in the column Fires."""

from __future__ import annotations

import re
from collections.abc import Collection, MutableMapping, Sequence
from dataclasses import replace

from harnessdrc.harness.assumed import Assumed
from harnessdrc.harness.elements import Item
from harnessdrc.harness.names import fold
from harnessdrc.harness.vocabulary import guess_kind
from harnessdrc.places import Place

__all__ = ["add_fired", "fired_names"]

_OUTPUTS = re.compile(r"\s*[,;]\s*")
_SPARKS = re.compile(r"\s*[+&]\s*")


def fired_names(text: str) -> tuple[tuple[str, ...], ...]:
    """Names of what each output fires, as written.

    >>> fired_names("PLUG1 + PLUG4, PLUG2 & PLUG3")
    (('PLUG1', 'PLUG4'), ('PLUG2', 'PLUG3'))
    """
    outputs = (
        tuple(dict.fromkeys(name.strip() for name in _SPARKS.split(output) if name.strip()))
        for output in _OUTPUTS.split(text)
    )
    return tuple(output for output in outputs if output)


def add_fired(
    items: MutableMapping[str, Item],
    written: Sequence[tuple[str, str, Place]],
    kinds_given: Collection[str],
    assumed: Assumed,
) -> None:
    """Put what is fired into the items, and into the items what fires it.

    A name that no list has is a spark plug, or a distributor where it says so; so is a listed one whose kind is not
    given and not told by its name but as some kind of plug. Each is listed.

    Parameters
    ----------
    items : mutable mapping of str to Item
        Items by folded name; those of `written` are among them.
    written : sequence of (str, str, Place)
        Folded name of what fires, its cell and where that stands.
    kinds_given : collection of str
        Folded names whose kind a list says outright.
    assumed : Assumed
        Where to list what is inferred.
    """
    for key, text, place in written:
        outputs = fired_names(text)
        folded = tuple(tuple(dict.fromkeys(map(fold, output))) for output in outputs)
        items[key] = replace(items[key], details=replace(items[key].details, fires=folded))
        for name in (name for output in outputs for name in output):
            _add(items, name, place, kinds_given, assumed)


def _add(
    items: MutableMapping[str, Item], name: str, place: Place, kinds_given: Collection[str], assumed: Assumed
) -> None:
    key = fold(name)
    listed = items.get(key)
    if listed is not None and (key in kinds_given or listed.kind not in (None, "connector")):
        return
    guess = guess_kind(name)
    kind = "distributor" if guess is not None and guess.value == "distributor" else "spark plug"
    assumed.add("kind", name, kind, "the list says what fires it", place)
    items[key] = Item(key, name, kind, key, None, place, False) if listed is None else replace(listed, kind=kind)
