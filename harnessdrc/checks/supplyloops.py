"""Nets with two supplies that are one fault: a loop over a fuse, contact or switch has a net on either side of it."""

from __future__ import annotations

from collections.abc import Sequence

from harnessdrc.design import Contact, Design
from harnessdrc.findings import Subject

__all__ = ["consequences"]

Supplied = tuple[Subject, int, Sequence[tuple[str, Contact]]]
"""A net with its subject, its number, and what feeds it: name and contact."""


def consequences(design: Design, twice: Sequence[Supplied]) -> dict[int, Subject]:
    """Nets with two supplies that have them only through the short cut of another one.

    Two feeds that one wire joins wrongly also meet at whatever lies between them: behind fuse 2 a switch now brings
    current backwards, and its other net has two supplies as well. Both nets see the same element, each as a supply, and
    with that alone taken away neither has two. The net where the copper was joined is told, the other one follows:
    a relay is meant to bring current from its 30 to its 87, so the net of its 87 is told; else the one with more wires
    between its supplies, since the wrong one is among them.

    Parameters
    ----------
    design : Design
        The design.
    twice : sequence of Supplied
        Nets with more than one supply.

    Returns
    -------
    dict of int to (str, str)
        Number of a net → subject of the one that it follows from.
    """
    by_number = {number: (subject, supplies) for subject, number, supplies in twice}
    net_of, level = design.net.net_of, design.feeds.level
    found: dict[int, Subject] = {}
    told: set[int] = set()
    for subject, number, supplies in sorted(twice):
        if len(supplies) != 2 or number in found or number in told:
            continue
        for element, inside in sorted(design.feeds.feeders(number), key=lambda each: (each[0].item, each[1])):
            other = net_of[element.b if inside == element.a else element.a]
            if other not in by_number or other in found or other in told or level.get(other) != level.get(number):
                continue
            other_subject, other_supplies = by_number[other]
            if len(other_supplies) != 2:
                continue
            if element.kind == "relay":
                behind = net_of[element.b]
            else:
                ways = {n: _wires_between(design, by_number[n][1]) for n in (number, other)}
                behind = min((number, other), key=lambda n: (-ways[n], by_number[n][0]))
            first, then = (number, other) if behind == number else (other, number)
            found[then] = subject if first == number else other_subject
            told.add(first)
            break
    return found


def _wires_between(design: Design, supplies: Sequence[tuple[str, Contact]]) -> int:
    return len(design.net.wires_along(design.net.path(supplies[0][1], supplies[1][1])))
