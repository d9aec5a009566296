"""Changes made and judged, one by one, beside each other, or all at once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from harnessdrc.advice.edits import Change, Edit, NotApplicableError
from harnessdrc.advice.proving import Baseline, Key, Trouble, edited, said_again
from harnessdrc.design import Design
from harnessdrc.findings import Subject

__all__ = ["Proved", "Trials", "contradicts"]

_MOST_TRIALS = 80
"""Changes tried alone at the most; what has no proposal by then goes without."""

_BESIDE_TURNS = 4
"""How often further changes are added to one that needs them."""


@dataclass(frozen=True, slots=True)
class Proved:
    """A change that holds.

    Parameters
    ----------
    change : Change
        Its edits.
    gone : frozenset of (rule, check, subject)
        Findings it takes away.
    design : Design
        The design it was proved on.
    others : tuple of Change
        Other changes made in that design.
    """

    change: Change
    gone: frozenset[Key]
    design: Design
    others: tuple[Change, ...] = ()


@dataclass
class Trials:
    """Changes tried so far; of those refused, the subjects that spoke against them."""

    design: Design
    base: Baseline
    proved: list[Proved] = field(default_factory=list)
    refused: dict[Change, frozenset[Subject]] = field(default_factory=dict)
    left: int = _MOST_TRIALS

    def found(self, change: Change, key: Key) -> Proved | None:
        """A change that costs no more and is known to hold for a finding, or this one if it does."""
        shared = [one for one in self.proved if key in one.gone and one.change.cost <= change.cost]
        return min(shared, key=lambda one: one.change.cost, default=None) or self.alone(change, key)

    def alone(self, change: Change, key: Key) -> Proved | None:
        """Try one change by itself for one finding."""
        if change in self.refused:
            return None
        for one in self.proved:
            if one.change == change:
                return one if key in one.gone else None
        found = self._made(change.edits, key)
        if isinstance(found, frozenset):
            self.refused[change] = found
            return None
        if found is None:
            return None
        one = Proved(change, *found)
        self.proved.append(one)
        return one

    def beside(
        self, change: Change, key: Key, taken: Mapping[Key, Proved], ways: Mapping[Key, Sequence[Change]]
    ) -> Proved | None:
        """Try a change that was refused together with the changes for the findings that spoke against it.

        Of a finding that has no change yet its first one is made: two faults may each hide behind the other.
        """
        subjects = self.refused.get(change) or frozenset()
        others: tuple[Change, ...] = ()
        for _ in range(_BESIDE_TURNS):
            further: dict[Change, None] = {}
            for k, changes in ways.items():
                if k == key or k[2] not in subjects:
                    continue
                one = taken.get(k)
                further |= dict.fromkeys((*one.others, one.change) if one is not None else changes[:1])
            further.pop(change, None)
            wider = tuple(dict.fromkeys((*others, *further)))
            every = (*wider, change)
            if len(wider) == len(others) or any(contradicts(one, every) for one in every):
                return None
            others = wider
            found = self._made(tuple(dict.fromkeys(edit for one in every for edit in one.edits)), key)
            if found is None:
                return None
            if not isinstance(found, frozenset):
                gone, design = found
                known = [*self.proved, *taken.values()]
                theirs = {k for one in known if one.change in others for k in one.gone}
                return Proved(change, gone - theirs | {key}, design, others)
            subjects = found
        return None

    def beside_all(self, change: Change, key: Key, taken: Mapping[Key, Proved]) -> Proved | None:
        """Try a change in the list as it is when all other findings are seen to."""
        others = tuple(dict.fromkeys(one.change for one in taken.values()))
        every = (*others, change)
        if not others or any(contradicts(one, every) for one in every):
            return None
        found = self._made(tuple(dict.fromkeys(edit for one in every for edit in one.edits)), key)
        if found is None or isinstance(found, frozenset):
            return None
        return Proved(change, frozenset((key,)), found[1], others)

    def _made(self, edits: Sequence[Edit], key: Key) -> tuple[frozenset[Key], Design] | frozenset[Subject] | None:
        """What is gone, and the changed design; the subjects that are worse off; None where `key` is still found."""
        if not self.left:
            return frozenset()
        self.left -= 1
        try:
            design = edited(self.design, edits)
        except NotApplicableError:
            return frozenset()
        gone: set[Key] = set()
        for said in said_again(self.base, design, (key[0],)):
            if troubles := _counting(said.troubles, [key]):
                return frozenset(trouble.key[2] for trouble in troubles)
            gone |= said.gone
            if said.rule.name == key[0] and key not in gone:
                return None
        return frozenset(gone), design

    def together(
        self, changes: Sequence[Change], wanted: Iterable[Key]
    ) -> tuple[Proved | None, frozenset[Key], list[Trouble]]:
        """Make several changes at once; all that is gone and all that speaks against them."""
        edits: tuple[Edit, ...] = tuple(edit for change in changes for edit in change.edits)
        design = edited(self.design, edits)
        gone: set[Key] = set()
        troubles: list[Trouble] = []
        for said in said_again(self.base, design):
            gone |= said.gone
            troubles += said.troubles
        found, troubles = frozenset(gone), _counting(troubles, wanted)
        return (None if troubles else Proved(Change(edits), found, design)), found, troubles


def _counting(troubles: Iterable[Trouble], wanted: Iterable[Key]) -> list[Trouble]:
    """Troubles that count: a load that gets its way home draws its current at last, which others feel."""
    brought_home = any(key[1] == "ground.no_return" for key in wanted)
    return [trouble for trouble in troubles if trouble.what != "worse" or not brought_home]


def contradicts(change: Change, others: Iterable[Change]) -> bool:
    """Whether another change does something else with a wire of this one."""
    own = set(change.edits)
    for other in others:
        both = change.names & other.names
        theirs = set(other.edits)
        if any(edit.wire in both for edit in own ^ theirs):
            return True
    return False
