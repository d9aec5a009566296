"""What a source of changes works on, and the changes that several of them need."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import islice

from harnessdrc.advice.edits import Change, MoveEnd, TakeAway
from harnessdrc.advice.homes import EarthEnd, Homes
from harnessdrc.design import Contact, Design, Device
from harnessdrc.results import ReportedFinding

__all__ = ["MOST_ENDS", "Asked", "Source", "moved", "star_moved", "taken_away"]

MOST_ENDS = 24
"""A star point with more ends than this is not moved by a proposal: that is a new layout, not a repair."""


@dataclass
class Asked:
    """What a source of changes works on: the design, the finding, and where ends may go."""

    homes: Homes
    finding: ReportedFinding

    @property
    def design(self) -> Design:
        """The design as listed."""
        return self.homes.design

    @property
    def device(self) -> Device | None:
        """The component the finding is about."""
        kind, name = self.finding.subject
        return self.homes.by_name.get(name) if kind == "component" else None


Source = Callable[[Asked], Iterator[Change]]
"""Changes that might clear a finding; a change without edits may be among them and is passed over."""


def moved(ends: Iterable[EarthEnd], home: Contact) -> Change:
    return Change(tuple(MoveEnd(end.wire, end.earth, home) for end in ends if end.earth != home))


def taken_away(ends: Iterable[EarthEnd]) -> Change:
    return Change(tuple(TakeAway(name) for name in dict.fromkeys(end.wire for end in ends)))


def star_moved(asked: Asked, bodies: tuple[str | None, ...] | None = None) -> Iterator[Change]:
    """The star point to another earth point, for the controller alone, then for all that share it."""
    homes = asked.homes
    here = {end.earth for end in homes.star_ends[0]}
    if len(homes.star_ends[0]) > MOST_ENDS:
        return
    places = homes.on_engine if bodies is None else [c for b in bodies if b for c in homes.on_body(b)]
    for target in islice((c for c in places if here != {c}), 2):
        for ends in homes.star_ends:
            if len(ends) <= MOST_ENDS:
                yield moved(ends, target)
