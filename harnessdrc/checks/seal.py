"""Checks on seals and cavity plugs: the wire, the bore, and sealed connectors with a cavity left open."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

from harnessdrc.checks.insulationfits import fits, shown_mm
from harnessdrc.checks.registry import Outcome, check
from harnessdrc.design import Contact, Design
from harnessdrc.design.crimpfits import shown_range, upside_down
from harnessdrc.design.fitting import Connector, FittedEnd, Fitting
from harnessdrc.findings import Finding, Mark, Undecided
from harnessdrc.harness.elements import Part, Wire
from harnessdrc.harness.names import fold, natural_key
from harnessdrc.harness.parts import fitted_at, no_part, seal_cell
from harnessdrc.places import Place

__all__ = ["bore", "family", "insulation", "missing", "no_plug"]


def _seals(design: Design) -> list[tuple[FittedEnd, Part]]:
    """Ends with a seal that the parts table has as a seal."""
    fitting = design.fitting
    found = ((end, fitting.part(end.seal)) for end in fitting.ends) if fitting.parts else ()
    return [(end, part) for end, part in found if part is not None and part.kind == "seal"]


def _ranged(design: Design) -> list[tuple[FittedEnd, Part]]:
    return [(end, part) for end, part in _seals(design) if _takes(part)]


def _takes(part: Part) -> bool:
    return part.insulation_min_m is not None or part.insulation_max_m is not None


def _rangeless(design: Design) -> list[Part]:
    """Seals in use without a range of insulation, once each."""
    parts = {part.key: part for _, part in _seals(design) if not _takes(part)}
    return [parts[key] for key in sorted(parts, key=natural_key)]


@check(
    "seal.insulation",
    counts="wires with a seal of the parts table, and seals in use without a range",
    subjects=lambda design, limits: [
        *(("seal", design.fitting.label(end)) for end, _ in _ranged(design)),
        *(("part", part.name) for part in _rangeless(design)),
    ],
    reads=("size", "insulation", "from_seal", "to_seal", "seal", "part", "insulation_min_m", "insulation_max_m"),
    says={
        "": "{subject}: the wire is {diameter} over its insulation, seal {seal} takes {range} (limit {limit}).",
        "thin": "{subject}: the wire is {diameter} over its insulation, seal {seal} takes {range} (limit {limit}).",
    },
    remedy={
        "": "Take the seal for thicker wire: forced over it, a seal splits or leaves its bore.",
        "thin": "Take the seal for thinner wire: water creeps in along a wire that its seal does not grip.",
    },
)
def insulation(design: Design, limits: None) -> Iterator[Outcome]:
    """A wire over its insulation is outside the range of its seal.

    Why it matters: A seal that does not grip lets water in; one that is forced splits or is pushed out of its bore.
    Reads: Size and Insulation of the wire list, the seal at its end (wire list, else pin list), Smallest and Largest
    insulation of the parts table, for the seal and for the cable.
    Decides: The diameter in mm, of the cable where the parts table has it; else what cable of this size may have: thin
    wall by ISO 6722 down to 0.80 of its most, gauges 0.75 to 1.25 of medium wall. Found only where all of that lies
    outside.
    Stays silent when: no seal is named; one that the parts table lacks is told by part.not_listed.
    Source: outer diameters ISO 6722 and SAE J1128 (read in sellers' sheets); how far below: common practice, no source.
    """
    fitting = design.fitting
    for end, part in _ranged(design):
        mark = Mark(end.seal_place, f"seal of wire {end.wire.name}")
        yield from fits(design, ("seal", fitting.label(end)), end.wire, part, "seal", mark)
    for part in _rangeless(design):
        mark = Mark(part.place.of("insulation_min_m", "part"), part.name)
        yield Undecided(("part", part.name), (f"smallest and largest insulation of seal {part.name}",), (mark,))


class _Closed(NamedTuple):
    """A seal or plug that is meant to close bores of a connector."""

    connector: str
    part: Part
    housing: Part
    mark: Mark


def _closed(design: Design) -> list[_Closed]:
    """Those of which the bores that they close are given."""
    bored = ("bore_min_m", "bore_max_m")
    return [each for each in _in_housings(design) if any(getattr(each.part, name) is not None for name in bored)]


def _in_housings(design: Design) -> list[_Closed]:
    """Seals and plugs with their connector's part, each pair once."""
    fitting = design.fitting
    found: dict[tuple[str, str], _Closed] = {}
    if not fitting.connectors:
        return []
    named: list[tuple[Contact, str | None, Place]]
    named = [(end.contact, end.seal, end.seal_place) for end in fitting.ends if end.seal is not None]
    named += [(pin.contact, pin.seal, pin.place.of("seal")) for pin in design.harness.pins if not no_part(pin.seal)]
    for contact, name, place in named:
        part, housing = fitting.part(name), fitting.housing(contact)
        if part is None or housing is None or part.kind not in ("seal", "cavity plug"):
            continue
        item = design.harness.items[contact.item]
        each = _Closed(item.name, part, housing, Mark(place, design.label(contact)))
        first = found.setdefault((part.key, contact.item), each)
        if natural_key(each.mark.label) < natural_key(first.mark.label):
            found[part.key, contact.item] = each
    return [found[key] for key in sorted(found, key=lambda key: (natural_key(key[1]), natural_key(key[0])))]


@check(
    "seal.bore",
    counts="kinds of seal and plug in each connector",
    subjects=lambda design, limits: [("seal", f"{each.part.name} in {each.connector}") for each in _closed(design)],
    reads=("seal", "from_seal", "to_seal", "part", "bore_m", "bore_min_m", "bore_max_m"),
    says={
        "": "{subject}: the bore of {housing} is {bore}, the {kind} closes {range} (limit {limit}).",
        "small": "{subject}: the bore of {housing} is {bore}, the {kind} closes {range} (limit {limit}).",
    },
    remedy={
        "": "Take the {kind} for the larger bore: this one lies loose in it.",
        "small": "Take the {kind} for the smaller bore: this one does not go in, or is cut.",
    },
)
def bore(design: Design, limits: None) -> Iterator[Outcome]:
    """A seal or plug does not close the bore of the connector's cavities.

    Why it matters: A seal closes between wire and bore; one made for another family only looks as if it did.
    Reads: Seal at wires and pins, Part of the component list, Bore, Smallest and Largest bore of the parts table.
    Decides: smallest <= bore <= largest, in mm.
    Stays silent when: the seal has no range of bores, or the connector's part is not named.
    Source: common practice, no source; bores are those of the parts table.
    """
    for each in _closed(design):
        part, housing = each.part, each.housing
        subject = ("seal", f"{part.name} in {each.connector}")
        wrong = upside_down(part)
        if housing.bore_m is None:
            marks = (Mark(housing.place.of("bore_m", "part"), housing.name), each.mark)
            yield Undecided(subject, (f"bore of connector {housing.name}",), marks)
            continue
        if wrong is not None and wrong[0] == "bore":
            row = Mark(part.place.of("bore_min_m", "part"), part.name)
            yield Undecided(subject, (f"range of bores of {part.name}",), (row,))
            continue
        large = part.bore_max_m is not None and housing.bore_m > part.bore_max_m * (1.0 + 1e-9)
        small = part.bore_min_m is not None and housing.bore_m < part.bore_min_m * (1.0 - 1e-9)
        if large or small:
            limit_m = part.bore_max_m if large else part.bore_min_m
            yield Finding(
                subject,
                (
                    each.mark,
                    Mark(part.place.of("bore_max_m", "part"), part.name),
                    Mark(housing.place.of("bore_m", "part"), housing.name),
                ),
                {
                    "housing": housing.name, "kind": "plug" if part.kind == "cavity plug" else "seal",
                    "bore": f"{shown_mm(housing.bore_m)} mm",
                    "range": shown_range(shown_mm(part.bore_min_m), shown_mm(part.bore_max_m), " mm"),
                },
                measured=housing.bore_m * 1e3,
                limit=None if limit_m is None else limit_m * 1e3,
                unit="mm",
                variant="" if large else "small",
            )  # fmt: skip


def _of_families(design: Design) -> list[_Closed]:
    """Seals and plugs with their connector's part, each pair once, where both have a family."""
    return [each for each in _in_housings(design) if each.part.family and each.housing.family]


@check(
    "seal.family",
    counts="kinds of seal and plug in each connector that both have a family",
    subjects=lambda design, limits: [
        ("seal", f"{each.part.name} in {each.connector}") for each in _of_families(design)
    ],
    reads=("seal", "from_seal", "to_seal", "part", "family"),
    says={"": "{subject}: the {kind} is of the family {own}, connector {housing} takes {wanted}."},
    remedy={"": "Take the {kind} of the connector's own family, or say in the parts table that this one fits both."},
)
def family(design: Design, limits: None) -> Iterator[Outcome]:
    """A seal or plug is of another connector family than its connector.

    Why it matters: It sits loose or does not go in past the retainer, and the connector lets water in.
    Reads: Seal at wires and pins, Part of the component list, Family of the parts table.
    Decides: The family of the seal or plug is that of the connector; spelling of capitals and spaces aside.
    Stays silent when: one of the two has no family, as a seal that several families share, or the connector's part is
    not named.
    Source: common practice, no source.
    """
    for each in _of_families(design):
        part, housing = each.part, each.housing
        if fold(part.family or "") == fold(housing.family or ""):
            continue
        rows = ((part, part.name), (housing, housing.name))
        yield Finding(
            ("seal", f"{part.name} in {each.connector}"),
            (each.mark, *(Mark(row.place.of("family", "part"), name) for row, name in rows)),
            {
                "kind": "plug" if part.kind == "cavity plug" else "seal", "housing": housing.name,
                "own": part.family, "wanted": housing.family,
            },
        )  # fmt: skip


# --- sealed connectors ------------------------------------------------------------------------------


def _sealed(fitting: Fitting) -> Mapping[str, Connector]:
    """Connectors whose part is sealed, by the key of their item."""
    return {
        key: each
        for key, each in fitting.connectors.items()
        if each.part is not None and each.part.kind == "connector" and each.part.sealed
    }


def _ends_in_sealed(design: Design) -> list[tuple[Wire, Contact]]:
    """Ends of wires in sealed connectors."""
    sealed = _sealed(design.fitting)
    if not sealed:
        return []
    found = [(wire, end) for wire in design.harness.wires for end in _two(wire) if end.item in sealed]
    return sorted(found, key=lambda pair: (natural_key(pair[0].name), pair[1]))


def _two(wire: Wire) -> tuple[Contact, ...]:
    return tuple(dict.fromkeys(end for end in (wire.a, wire.b) if end is not None))


def _name(design: Design, wire: Wire, end: Contact) -> str:
    return f"{wire.name} at {design.label(end)}"


@check(
    "seal.missing",
    counts="wires in sealed connectors",
    subjects=lambda design, limits: [("seal", _name(design, *pair)) for pair in _ends_in_sealed(design)],
    reads=("from_seal", "to_seal", "seal", "part", "sealed"),
    says={
        "": "{subject}: {connector} is sealed ({housing}), and the wire has no seal.",
        "plug": "{subject}: {connector} is sealed ({housing}), and the wire has {named}, a cavity plug, for a seal.",
    },
    remedy={
        "": "Name the seal for the wire's diameter; it goes on before the terminal.",
        "plug": "Name the seal for the wire's diameter; a plug closes a cavity without a wire.",
    },
)
def missing(design: Design, limits: None) -> Iterator[Outcome]:
    """A wire goes into a sealed connector without a seal.

    Why it matters: One open cavity lets water to all contacts; the terminal has to be cut off to put a seal on.
    Reads: From seal and To seal of the wire list, Seal of the pin list, Part of the component list, Sealed of the
    parts table.
    Decides: Every wire in a connector whose part is sealed has a seal named, in its row or in the pin list's.
    Stays silent when: the connector's part is not named, or its row does not say sealed.
    Source: common practice, no source.
    """
    fitting = design.fitting
    sealed = _sealed(fitting)

    def in_pin_list(end: Contact) -> bool:
        return end in fitting.pins or end.item not in design.harness.pin_connectors

    for wire, end in _ends_in_sealed(design):
        named = fitted_at(design.harness, wire, end).seal
        part = fitting.part(named)
        if named is not None and (part is None or part.kind != "cavity plug"):
            continue
        each = sealed[end.item]
        marks = [Mark(seal_cell(design.harness, wire, end), f"wire {wire.name}")]
        if each.part is not None:
            marks.append(Mark(each.part.place.of("sealed", "part"), each.part.name))
        yield Finding(
            ("seal", _name(design, wire, end)), tuple(marks),
            {"connector": each.item.name, "housing": each.name, "named": named or ""},
            variant="" if named is None else "plug",
            follows_from=None if in_pin_list(end) else ("cavity.not_in_pin_list", ("cavity", design.label(end))),
        )  # fmt: skip


def _cavities_of(contacts: Iterable[Contact], items: Mapping[str, Connector]) -> dict[str, set[str]]:
    """Named cavities of these connectors that stand among contacts."""
    found: dict[str, set[str]] = {key: set() for key in items}
    for contact in contacts:
        if contact.item in found and contact.cavity and not contact.cavity.startswith("?"):
            found[contact.item].add(contact.cavity)
    return found


@check(
    "seal.no_plug",
    counts="sealed connectors",
    subjects=lambda design, limits: [("connector", each.item.name) for each in _sealed(design.fitting).values()],
    reads=("seal", "cavity", "part", "cavities", "sealed"),
    says={"": "{subject} is sealed ({housing}), and of its unused cavities {count} have no plug: {open}."},
    remedy={"": "Name a cavity plug for each of them under Seal in the pin list, and fit it."},
)
def no_plug(design: Design, limits: None) -> Iterator[Outcome]:
    """An unused cavity of a sealed connector has no plug.

    Why it matters: An open cavity lets water to all contacts of the connector.
    Reads: Cavity and Seal of the pin list, Cavities and Sealed of the parts table, the wire list.
    Decides: Every cavity without a wire has a plug named in the pin list. All cavities are known where the pin list
    has as many of the connector as the parts table says, or where they are the numbers from 1 to that count.
    Stays silent when: the connector's part is not named, or its row does not say sealed.
    Source: common practice, no source.
    """
    fitting = design.fitting
    sealed = _sealed(fitting)
    all_listed = _cavities_of(fitting.pins if sealed else (), sealed)
    all_wired = _cavities_of(design.net.wires_at if sealed else (), sealed)
    for key, each in sealed.items():
        part = each.part
        if part is None:
            continue
        subject = ("connector", each.item.name)
        listed, wired = all_listed[key], all_wired[key]
        known = _all_cavities(listed | wired, part.cavities, key in design.harness.pin_connectors)
        place = each.cell() or part.place.of("part")
        if known is None:
            lacking = f"cavities of {each.name} in the parts table, or a pin list of all cavities of {each.item.name}"
            yield Undecided(subject, (lacking,), (Mark(place, each.item.name),))
            continue
        unused = sorted(known - wired, key=natural_key)
        plugged = {
            cavity for cavity in unused
            if any(_is_plug(fitting, pin.seal) for pin in fitting.pins.get(Contact(key, cavity), ()))
        }  # fmt: skip
        bare = [cavity for cavity in unused if cavity not in plugged]
        if not bare:
            continue
        cells = [
            Mark(pins[0].place.of("seal", "cavity"), design.label(Contact(key, cavity)))
            for cavity in bare
            if (pins := fitting.pins.get(Contact(key, cavity)))
        ]
        names = [design.harness.cavity_names.get(Contact(key, cavity), cavity) for cavity in bare]
        yield Finding(
            subject, (*cells, Mark(place, each.item.name)),
            {"housing": each.name, "count": len(bare), "open": ", ".join(names)},
            measured=float(len(bare)), limit=0.0,
        )  # fmt: skip


def _is_plug(fitting: Fitting, name: str | None) -> bool:
    """Whether what a pin names closes its cavity: a cavity plug, or a part that the table does not have."""
    if no_part(name):
        return False
    part = fitting.part(name)
    return part is None or part.kind in ("cavity plug", None)


def _all_cavities(named: set[str], count: int | None, by_pin_list: bool) -> frozenset[str] | None:
    """All cavities of a connector; None where they are not all known."""
    if count is None:
        return frozenset(named) if by_pin_list else None
    if len(named) >= count:
        return frozenset(named)
    numbered = {str(number) for number in range(1, count + 1)}
    return frozenset(numbered) if named <= numbered else None
