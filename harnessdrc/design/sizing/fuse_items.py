"""What a fuse is: its rating, its family, its colour, where it stands."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from harnessdrc.findings import Mark
from harnessdrc.harness.elements import Contact, Item
from harnessdrc.physics.fuse_times import fuse_limits
from harnessdrc.physics.fuses import FuseReading, fuse_colour, fuse_families, read_family, standard_ratings
from harnessdrc.places import Place

__all__ = ["Fuse", "colour_of", "family_text", "possible_families"]


@dataclass(frozen=True, slots=True)
class Fuse:
    """A fuse, or an output protected by its rating, with the battery ahead of it.

    Parameters
    ----------
    item : Item
        As listed.
    rating_a : float or None
        A; None where it is not listed.
    reading : FuseReading
        Family as its text is understood.
    ahead, behind : int or None
        Net that feeds it; net that it feeds. None ahead of an output, whose box is not gone into.
    inlet, outlet : Contact
        Its contacts there.
    output : bool
        Whether it is a protected output and not a fuse of the list.
    """

    item: Item
    rating_a: float | None
    reading: FuseReading
    ahead: int | None
    behind: int
    inlet: Contact
    outlet: Contact
    output: bool = False

    @property
    def subject(self) -> tuple[str, str]:
        """Subject of findings about it."""
        return ("component" if self.output else "fuse", self.item.name)

    @property
    def families(self) -> tuple[str, ...]:
        """Families with limits that it may be; empty where its text does not say or a family has none."""
        made = possible_families(self.reading, self.rating_a)
        return made if self.rating_a is not None and all(fuse_limits(name) for name in made) else ()

    @property
    def family(self) -> str:
        """Its family; empty where that is not known."""
        made = possible_families(self.reading, self.rating_a)
        return made[0] if len(made) == 1 else ""

    def cell(self, column: str) -> Place | None:
        """Cell of one of its columns in the list of fuses; its name's place where it is not listed there."""
        row = self.item.details.row
        return row.of(column, "fuse", "component") if row else self.item.place

    def mark(self, column: str = "rating_a", label: str = "") -> tuple[Mark, ...]:
        """Mark on that cell."""
        place = self.cell(column)
        return (Mark(place, label or self.item.name),) if place else ()


def family_text(item: Item) -> FuseReading:
    """Family of a fuse as the text of its cell is understood; nothing where that is empty."""
    return read_family(item.details.family) if item.details.family else FuseReading(None)


@lru_cache(maxsize=4096)
def possible_families(reading: FuseReading, rating_a: float | None) -> tuple[str, ...]:
    """Families that a fuse may be: of several that its text may mean those that are made in its rating."""
    if reading.family:
        return (reading.family,)
    return tuple(n for n in reading.candidates if rating_a in standard_ratings(n)) or reading.candidates


def colour_of(fuse: Fuse) -> str:
    """Colour that a fuse of its rating has by the standard, where all families that it may be agree."""
    return "" if fuse.rating_a is None else _colour(fuse.reading, fuse.rating_a)


@lru_cache(maxsize=4096)
def _colour(reading: FuseReading, rating_a: float) -> str:
    names = possible_families(reading, rating_a) or tuple(fuse_families())
    found = {known.colour for name in names if (known := fuse_colour(name, rating_a)) is not None}
    return found.pop() if len(found) == 1 else ""
