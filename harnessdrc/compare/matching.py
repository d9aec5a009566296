"""Which object of the old issue is which of the new one: by what it is, never by its row.

Objects are paired in passes, the surest first. Within a pass those with a key in common are candidates, and of several
the pair that agrees in most is taken first; ties are decided by what the objects say, so that neither the order of
rows nor which issue is called the old one makes a difference.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Sequence
from typing import Generic, TypeVar

__all__ = ["Pairing", "agreement"]

T = TypeVar("T")
Traits = tuple[Hashable, ...]
"""What an object says, in a fixed order; None for what it does not say."""

_MOST_CANDIDATES = 40_000
"""Candidates with one key that are all held against each other; of more, alike objects are paired in their order."""


def agreement(one: Traits, other: Traits) -> int:
    """In how many traits two objects say the same, what neither says left out."""
    return sum(1 for a, b in zip(one, other, strict=True) if a is not None and a == b)


class Pairing(Generic[T]):
    """Objects of two issues, and those paired so far.

    Parameters
    ----------
    old, new : sequence
        Objects of each issue.
    traits : callable
        What an object of the old (``False``) or the new issue (``True``) says, comparable between the two.
    """

    def __init__(self, old: Sequence[T], new: Sequence[T], traits: Callable[[T, bool], Traits]) -> None:
        self.old, self.new = old, new
        self.old_traits = [traits(each, False) for each in old]
        self.new_traits = [traits(each, True) for each in new]
        self.left_old: dict[int, None] = dict.fromkeys(range(len(old)))
        self.left_new: dict[int, None] = dict.fromkeys(range(len(new)))
        self.pairs: list[tuple[int, int]] = []

    def by(
        self,
        keys: Callable[[T, bool], Iterable[Hashable]],
        allowed: Callable[[int, int], bool] | None = None,
    ) -> None:
        """One pass.

        Parameters
        ----------
        keys : callable
            Keys of an object of the old (``False``) or the new issue (``True``); none for one that sits out.
        allowed : callable, optional
            Whether two candidates, by their numbers, may be one object.
        """
        if not self.left_old or not self.left_new:
            return
        groups: dict[Hashable, tuple[list[int], list[int]]] = defaultdict(lambda: ([], []))
        for number in self.left_old:
            for key in keys(self.old[number], False):
                groups[key][0].append(number)
        for number in self.left_new:
            for key in keys(self.new[number], True):
                groups[key][1].append(number)
        shared = [(olds, news) for olds, news in groups.values() if olds and news]
        for olds, news in shared:
            self._take_the_same(olds, news, allowed)
        self._take_the_most_alike(shared, allowed)

    def _take(self, old: int, new: int) -> None:
        del self.left_old[old], self.left_new[new]
        self.pairs.append((old, new))

    def _take_the_same(
        self, olds: list[int], news: list[int], allowed: Callable[[int, int], bool] | None
    ) -> None:
        """Pair those that say the same in everything."""
        waiting: dict[Traits, list[int]] = defaultdict(list)
        for new in reversed(news):
            if new in self.left_new:
                waiting[self.new_traits[new]].append(new)
        for old in olds:
            same = waiting.get(self.old_traits[old])
            if old in self.left_old and same and (allowed is None or allowed(old, same[-1])):
                self._take(old, same.pop())

    def _take_the_most_alike(
        self, shared: list[tuple[list[int], list[int]]], allowed: Callable[[int, int], bool] | None
    ) -> None:
        candidates: set[tuple[int, int]] = set()
        for olds, news in shared:
            olds = [old for old in olds if old in self.left_old]
            news = [new for new in news if new in self.left_new]
            if len(olds) * len(news) <= _MOST_CANDIDATES:
                candidates.update((old, new) for old in olds for new in news)
            else:
                olds.sort(key=lambda at: _order(self.old_traits[at]))
                news.sort(key=lambda at: _order(self.new_traits[at]))
                candidates.update(zip(olds, news, strict=False))
        ranked = sorted(
            candidates,
            key=lambda pair: (
                -agreement(self.old_traits[pair[0]], self.new_traits[pair[1]]),
                *sorted((_order(self.old_traits[pair[0]]), _order(self.new_traits[pair[1]]))),
            ),
        )
        for old, new in ranked:
            if old in self.left_old and new in self.left_new and (allowed is None or allowed(old, new)):
                self._take(old, new)


def _order(traits: Traits) -> tuple[str, ...]:
    return tuple(map(repr, traits))
