"""Fuses as the list describes them: a colour that is not that of the rating, a family that is not clear."""

from __future__ import annotations

from collections.abc import Iterator

from harnessdrc.checks.fusecolours import listed_colours, meant_colours
from harnessdrc.design import Design
from harnessdrc.design.sizing.protection import possible_families
from harnessdrc.findings import Finding, Mark, Undecided
from harnessdrc.harness.elements import Item
from harnessdrc.harness.names import natural_key
from harnessdrc.physics.fuses import read_family

__all__ = ["fuses_with", "unclear_families", "wrong_colours"]


def fuses_with(design: Design, column: str) -> list[Item]:
    """Fuses whose cell in a column of the list is filled in, by name."""
    found = [i for i in design.harness.items.values() if i.kind == "fuse" and getattr(i.details, column)]
    return sorted(found, key=lambda item: natural_key(item.name))


def _cell(item: Item, column: str) -> tuple[Mark, ...]:
    row = item.details.row
    place = row.of(column, "fuse", "component") if row else item.place
    return (Mark(place, item.name),) if place else ()


def wrong_colours(design: Design) -> Iterator[Finding | Undecided]:
    """Fuses whose colour is not that of their rating."""
    for item in fuses_with(design, "colour"):
        subject, marks = ("fuse", item.name), _cell(item, "colour")
        if item.rating_a is None:
            yield Undecided(subject, (f"rating of {item.name}",), _cell(item, "rating_a"))
            continue
        meant = meant_colours(item.details.family or "", item.rating_a)
        if not meant:
            continue
        listed = listed_colours(item.details.colour or "")
        if not listed:
            yield Undecided(subject, (f"colour of {item.name} in words as red, blue or clear",), marks)
        elif not any(listed & each.names for each in meant):
            yield Finding(
                subject, marks,
                {
                    "listed": item.details.colour, "rating": f"{item.rating_a:g} A",
                    "family": " or ".join(dict.fromkeys(f for each in meant for f in each.families)),
                    "right": " or ".join(dict.fromkeys(each.usual for each in meant)),
                },
            )  # fmt: skip
        elif not all(listed & each.names for each in meant):
            yield Undecided(subject, (f"family of {item.name}",), _cell(item, "family"))


def unclear_families(design: Design) -> Iterator[Finding]:
    """Fuses whose family is not known, or may be several."""
    for item in fuses_with(design, "family"):
        text = item.details.family or ""
        candidates = possible_families(read_family(text), item.rating_a)
        if len(candidates) == 1:
            continue
        marks = _cell(item, "family")
        if candidates:
            evidence = {"text": text, "candidates": ", ".join(candidates[:-1]) + f" or {candidates[-1]}"}
            yield Finding(("fuse", item.name), marks, evidence, variant="several")
        else:
            yield Finding(("fuse", item.name), marks, {"text": text})
