"""Checks on connectors: halves that go together, and what holds the wires at their back."""

from __future__ import annotations

from collections.abc import Iterator

from harnessdrc.checks.registry import Outcome, check
from harnessdrc.design import Design
from harnessdrc.design.fitting import Connector
from harnessdrc.findings import Finding, Mark, Undecided
from harnessdrc.harness.elements import Item
from harnessdrc.harness.names import fold, natural_key

__all__ = ["mate", "strain_relief"]


def _mated(design: Design) -> list[tuple[Connector, Connector]]:
    """Mated halves whose parts are both in the parts table as connectors, each pair once."""
    connectors = design.fitting.connectors
    pairs: dict[tuple[str, str], tuple[Connector, Connector]] = {}
    for key, one in connectors.items():
        other = connectors.get(one.item.mate or "")
        if other is None or key == other.item.key:
            continue
        if any(each.part is None or each.part.kind != "connector" for each in (one, other)):
            continue
        first, second = sorted((one, other), key=lambda each: natural_key(each.item.key))
        pairs[first.item.key, second.item.key] = (first, second)
    return [pairs[key] for key in sorted(pairs, key=lambda key: natural_key(key[0]))]


def _pair_name(one: Connector, other: Connector) -> str:
    return f"{one.item.name} with {other.item.name}"


@check(
    "connector.mate",
    counts="pairs of mated halves in the parts table",
    subjects=lambda design, limits: [("connector", _pair_name(*pair)) for pair in _mated(design)],
    reads=("mate", "part", "family", "sex", "cavities"),
    says={
        "": "{subject}: {one} is of the family {own}, {other} of {wanted}.",
        "sex": "{subject}: {one} and {other} both take {own} terminals.",
        "cavities": "{subject}: {one} has {own} cavities, {other} has {wanted}.",
    },
    remedy={
        "": "Take both halves of one family.",
        "sex": "Take the other half of one of the two.",
        "cavities": "Take the half with as many cavities, or correct which halves mate.",
    },
)
def mate(design: Design, limits: None) -> Iterator[Outcome]:
    """Two mated halves do not go together.

    Why it matters: The loom does not plug in where it should, which shows on the vehicle.
    Reads: Mates with and Part of the component list; Family, Sex and Cavities of the parts table.
    Decides: Both halves are of one family, of unlike sex, and have as many cavities.
    Stays silent when: one half's part is not named or not in the parts table.
    Source: common practice, no source.
    """
    for one, other in _mated(design):
        first, second = one.part, other.part
        if first is None or second is None:
            continue
        subject = ("connector", _pair_name(one, other))
        places = [(each, each.cell()) for each in (one, other)]
        marks = tuple(Mark(place, each.item.name) for each, place in places if place is not None)
        evidence: dict[str, object] = {"one": first.name, "other": second.name}
        if first.family and second.family and fold(first.family) != fold(second.family):
            yield Finding(subject, marks, {**evidence, "own": first.family, "wanted": second.family})
        elif first.sex and first.sex == second.sex:
            yield Finding(subject, marks, {**evidence, "own": first.sex}, variant="sex")
        elif first.cavities and second.cavities and first.cavities != second.cavities:
            evidence |= {"own": first.cavities, "wanted": second.cavities}
            yield Finding(subject, marks, evidence, variant="cavities")
        else:
            lacking = [f"family of connector {part.name}" for part in (first, second) if part.family is None]
            lacking += [f"sex of connector {part.name}" for part in (first, second) if part.sex is None]
            if lacking:
                rows = tuple(Mark(part.place.of("sex", "part"), part.name) for part in (first, second))
                yield Undecided(subject, tuple(dict.fromkeys(lacking)), rows)


def _backs(design: Design) -> list[Item]:
    """Connectors of component lists that have the column, with a wire at them."""
    found: list[Item] = []
    connectors = design.fitting.connectors
    wired: set[str] | None = None
    for key, item in design.harness.items.items():
        row = item.details.row
        if row is None or "strain_relief" not in row.cells:
            continue
        each = connectors.get(key)
        is_one = each.part is None or each.part.kind == "connector" if each is not None else item.kind == "connector"
        if not is_one:
            continue
        if wired is None:
            wired = {contact.item for contact in design.net.wires_at}
        if key in wired:
            found.append(item)
    return found


@check(
    "connector.strain_relief",
    counts="connectors in component lists with strain relief",
    subjects=lambda design, limits: [("connector", item.name) for item in _backs(design)],
    reads=("strain_relief", "part"),
    says={"": "{subject} has no strain relief named."},
    remedy={"": "Say what holds the wires at its back: clamp, boot, tape, backshell; or none, if it is so on purpose."},
)
def strain_relief(design: Design, limits: None) -> Iterator[Outcome]:
    """A connector has no strain relief named, in a list that names it for others.

    Why it matters: Where nothing holds the bundle, vibration and pull come on to the crimps.
    Reads: Strain relief and Part of the component list.
    Decides: The cell is filled in for every connector with a wire; the word none is an answer.
    Stays silent when: the list has no such column.
    Source: common practice, no source.
    """
    for item in _backs(design):
        if item.details.strain_relief is None:
            place = item.cell("strain_relief")
            if place is not None:
                yield Finding(("connector", item.name), (Mark(place, item.name),))
