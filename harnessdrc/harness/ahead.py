"""What all rows together say about names, found before the first of them is read.

A single row cannot tell whether ``ECU 14`` is a pin or a second controller, ``S3`` a splice or a switch,
``G1`` an earth point; the others beside it can.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from harnessdrc.harness.names import fold
from harnessdrc.harness.roles import GROUND_ROLES
from harnessdrc.harness.terminals import terminals_in_names
from harnessdrc.harness.vocabulary import guess_role
from harnessdrc.tables.model import Reading

__all__ = ["Ahead", "look_ahead"]

_WIRE_ENDS = (("from_item", "from_cavity"), ("to_item", "to_cavity"))
_PIN_ENDS = (("connector", "cavity"),)
_GROUND_NAME = re.compile(r"^(?:G|E|M|GP|EP|MP)[ -]?\d{1,3}$", re.I)


@dataclass(frozen=True, slots=True)
class Ahead:
    """What the rows say together.

    Parameters
    ----------
    with_terminal : mapping of str to (str, str, str)
        Name that holds a terminal → device, terminal, what decided it.
    pinned : frozenset of str
        Folded names that have two or more numbered cavities.
    grounded : frozenset of str
        Folded names of a letter and a number to which nothing leads but grounds.
    """

    with_terminal: Mapping[str, tuple[str, str, str]] = field(default_factory=dict)
    pinned: frozenset[str] = frozenset()
    grounded: frozenset[str] = frozenset()


def look_ahead(reading: Reading, is_listed: Callable[[str], bool]) -> Ahead:
    """Look through all rows of a reading.

    Parameters
    ----------
    reading : Reading
        Normalized tables.
    is_listed : callable
        Whether a name stands in a list of components, earth points, fuses or splices.
    """
    counts: Counter[str] = Counter()
    cavities: dict[str, set[str]] = {}
    for table in reading.tables:
        pairs = {"wires": _WIRE_ENDS, "pins": _PIN_ENDS}.get(table.form, ())
        for item_column, cavity_column in pairs:
            if item_column not in table.frame:
                continue
            items = table.frame[item_column].tolist()
            beside = table.frame[cavity_column].tolist() if cavity_column in table.frame else [None] * len(items)
            if table.form == "wires":
                counts.update(i for i, c in zip(items, beside, strict=True) if c is None and i is not None)
            for item, cavity in set(zip(items, beside, strict=True)):
                if cavity is not None and item is not None and cavity[:1].isdecimal():
                    cavities.setdefault(fold(item), set()).add(cavity)
    return Ahead(
        terminals_in_names(counts, is_listed),
        frozenset(key for key, found in cavities.items() if len(found) > 1),
        _grounded(reading),
    )


def _grounded(reading: Reading) -> frozenset[str]:
    """Names such as G1 or E3 to which nothing leads but grounds."""
    signals: dict[str, set[str | None]] = {}
    for table in reading.of("wires"):
        if "signal" not in table.frame:
            continue
        said = table.frame["signal"].tolist()
        for item_column, cavity_column in _WIRE_ENDS:
            items, cavities = table.frame[item_column].tolist(), table.frame[cavity_column].tolist()
            short = {i: i is not None and bool(_GROUND_NAME.match(i)) for i in set(items)}
            for item, cavity, signal in zip(items, cavities, said, strict=True):
                if short[item]:
                    signals.setdefault(fold(item), set()).add(signal if cavity is None else None)
    return frozenset(
        key
        for key, texts in signals.items()
        if all(text and (role := guess_role(text, "controller")) and role.value in GROUND_ROLES for text in texts)
    )
