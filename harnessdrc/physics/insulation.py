"""The temperature an insulation is rated for, from the words that a list has for it.

Only a class that a standard publishes decides: a temperature class of ISO 6722, a type of a standard, or a material
together with its temperature. A material alone, a wall alone and a family of specifications alone stand for several
classes and decide nothing; what they may mean is given as candidates. Words that contradict each other decide nothing
either. Whole words count, and the longest: in "FLRY-B" the B is a stranding, in "class B stranded" too.

The temperature for the few seconds of a short circuit goes with the material. Where only an ISO 6722 class is named it
is the overload test of that class, which is on the cautious side. Sources: ``rulesets/tables/insulation_classes.csv``,
each row with what was read and what is from memory; the types of SAE J1128 and the materials of IEC 60949 were read.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from harnessdrc.physics.shipped_tables import number_or_none, positive_number, read_table, word_list
from harnessdrc.physics.trade_words import WordBook

__all__ = ["Insulation", "InsulationReading", "insulation_names", "read_insulation"]

_STATED = re.compile(r"(?<!\d)(?<!\d\.)(\d{2,3})\s*(?:[°º]\s*c?|deg(?:ree)?s?\.?\s*c?|c)(?![^\W\d_])")
_LEAST_STATED_DEGC = 60.0
"""A lower figure in such a cell is the cold end of a range or a test, no rated temperature."""
_KINDS = ("class", "type", "material", "none")


@dataclass(frozen=True, slots=True)
class Insulation:
    """An insulation whose words decide.

    Parameters
    ----------
    name : str
        Class or type; several that agree are joined by " / ".
    rated_degc : float
        Conductor temperature it stands for its whole life, °C.
    short_time_degc : float or None
        Conductor temperature it stands in a short circuit of up to 5 s, °C; None where no figure is at hand.
    doubt : str
        Why the cable's data sheet should confirm it; empty when there is no reason.
    source : str
        Publication, and what of it was read or is from memory.
    """

    name: str
    rated_degc: float
    short_time_degc: float | None
    doubt: str
    source: str


@dataclass(frozen=True, slots=True)
class InsulationReading:
    """What a text says of an insulation.

    Parameters
    ----------
    insulation : Insulation or None
        None where no words are known, where they stand for several classes, and where they contradict each other.
    candidates : tuple of str
        In the latter two cases, what they may stand for.
    """

    insulation: Insulation | None
    candidates: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Row:
    name: str
    kind: str
    words: tuple[str, ...]
    groups: frozenset[str]
    rated_degc: float | None
    highest_degc: float | None
    short_time_degc: float | None
    by_material: bool
    doubt: str
    source: str

    @property
    def decides(self) -> bool:
        return self.kind in ("class", "type")


def insulation_names() -> tuple[str, ...]:
    """Every class and type that words can decide on, in the order of the table.

    Raises
    ------
    FileUnreadableError
        When the shipped table is missing or damaged.
    """
    return tuple(row.name for row in _rows() if row.decides)


@lru_cache(maxsize=4096)
def read_insulation(text: str) -> InsulationReading:
    """Class of an insulation from the text of its cell.

    A temperature with its unit ("XLPE 125 °C") counts where a published class has it; where a type is published with
    a range (FLRY: 100 or 105 °C by issue) it picks within. Without one, the lower end of such a range counts.

    Parameters
    ----------
    text : str
        For example "thin wall, class B", "TXL", "FLRY-B", "PVC 105", "M22759/16".

    Raises
    ------
    FileUnreadableError
        When the shipped table is missing or damaged.
    """
    by_name = {row.name: row for row in _rows()}
    found = [by_name[name] for name in dict.fromkeys(each.meaning for each in _book().find(text))]
    firm, loose = [row for row in found if row.decides], [row for row in found if row.kind == "material"]
    stated = [t for each in _STATED.findall(text.casefold()) if (t := float(each)) >= _LEAST_STATED_DEGC]
    stated_degc = max(stated, default=None)
    if firm:
        return _agreed(firm, loose, stated_degc)
    if loose:
        return _of_groups(loose, stated_degc)
    if stated_degc is not None and any(row.rated_degc == stated_degc for row in _rows()):
        doubt = "only a temperature is listed: the material, and what it stands in a short circuit, is unknown"
        return InsulationReading(Insulation(f"{stated_degc:g} °C", stated_degc, None, doubt, "as the list gives it"))
    return InsulationReading(None)


def _agreed(firm: Sequence[_Row], loose: Sequence[_Row], stated_degc: float | None) -> InsulationReading:
    """Where every word allows a common temperature, the lowest such, or the stated one."""
    low = max(_lowest(row) for row in firm)
    high = min(_highest(row) for row in firm)
    if stated_degc is not None:
        low, high = max(low, stated_degc), min(high, stated_degc)
    limits = [row.highest_degc for row in loose if row.highest_degc is not None]
    if low > min([high, *limits]):
        said = [row.name for row in (*firm, *loose)]
        return InsulationReading(None, tuple(said if stated_degc is None else [*said, f"{stated_degc:g} °C"]))
    doubts = [row.doubt for row in firm if row.doubt and not (stated_degc is not None and row.highest_degc is not None)]
    return InsulationReading(
        Insulation(
            " / ".join(row.name for row in firm),
            low,
            _short_time(firm, loose, low),
            "; ".join(dict.fromkeys(doubts)),
            "; ".join(dict.fromkeys(row.source for row in firm)),
        )
    )


def _of_groups(loose: Sequence[_Row], stated_degc: float | None) -> InsulationReading:
    """Words that stand for several classes: a stated temperature that one of these has decides, else nothing does."""
    meant = [row for row in _rows() if row.decides and all(each.name in row.groups for each in loose)]
    if stated_degc is not None:
        exact = [row for row in meant if row.rated_degc == stated_degc]
        classes = [row for row in exact if row.kind == "class"] or exact
        if classes:
            return _agreed(classes[:1], loose, stated_degc)
    return InsulationReading(None, tuple(row.name for row in meant or loose))


def _short_time(firm: Sequence[_Row], loose: Sequence[_Row], rated_degc: float) -> float | None:
    """Lowest of the materials named; without one, of the overload tests of the classes; None where one is unknown."""
    materials = [row for row in (*firm, *loose) if row.by_material]
    known = [row.short_time_degc for row in materials or firm]
    if any(each is None for each in known) or any(row.kind == "type" and row.short_time_degc is None for row in firm):
        return None
    lowest = min(each for each in known if each is not None)
    return lowest if lowest > rated_degc else None


def _lowest(row: _Row) -> float:
    return row.rated_degc if row.rated_degc is not None else 0.0


def _highest(row: _Row) -> float:
    return row.highest_degc if row.highest_degc is not None else _lowest(row)


@lru_cache(maxsize=1)
def _rows() -> tuple[_Row, ...]:
    return read_table("insulation_classes.csv", "insulation classes", _read)


@lru_cache(maxsize=1)
def _book() -> WordBook[str]:
    return WordBook({row.name: row.words for row in _rows()})


def _read(cells: Mapping[str, str]) -> _Row:
    kind = cells["kind"]
    if kind not in _KINDS:
        raise ValueError(f"{cells['name']}: expected one of {', '.join(_KINDS)} instead of '{kind}'")
    row = _Row(
        cells["name"],
        kind,
        word_list(cells["words"]),
        frozenset(word_list(cells["groups"])),
        positive_number(cells["rated_degc"]) if kind in ("class", "type") else None,
        number_or_none(cells["highest_degc"]),
        number_or_none(cells["short_time_degc"]),
        cells["short_time_basis"] == "material",
        cells["doubt"],
        cells["source"],
    )
    if row.decides and _highest(row) < _lowest(row):
        raise ValueError(f"{row.name}: highest below rated temperature")
    return row
