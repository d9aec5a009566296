"""Checks on splices: how many wires, their balance, the crimp, where they lie, how many there are in one run."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from harnessdrc.checks.registry import Outcome, check, limit
from harnessdrc.checks.spliceplaces import inline_runs, nearest_joint, positions, terminations
from harnessdrc.design import Design
from harnessdrc.design.conductors import conductor_mm2
from harnessdrc.findings import Finding, Mark, Subject, Undecided, beyond, figures
from harnessdrc.harness.elements import Part, Wire
from harnessdrc.harness.names import fold, natural_key

__all__ = ["balance", "crimp", "near_end", "per_wire", "stagger", "wire_count"]

_TOLD = 6
_TOLD_ENDS = 3
_ROUNDING = 1.01
"""By how much a sum of areas may be over a limit that it was meant to reach: labels are rounded."""


def _and(names: Sequence[str]) -> str:
    if len(names) > _TOLD + 1:
        names = [*names[:_TOLD], f"{len(names) - _TOLD} more"]
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def _listed(wires: Sequence[Wire]) -> str:
    return ("wire " if len(wires) == 1 else "wires ") + _and([wire.name for wire in wires])


def _subject(design: Design, key: str) -> Subject:
    return ("splice", design.harness.items[key].name)


def _mark(design: Design, key: str, label: str = "") -> tuple[Mark, ...]:
    """Mark on a splice: its row in the list of splices, else where a wire names it."""
    item = design.harness.items[key]
    return (Mark(item.place, label or f"splice {item.name}"),) if item.place else ()


def _ends(design: Design, key: str, wires: Sequence[Wire]) -> tuple[Mark, ...]:
    """Marks on the cells of wires that name a splice."""
    found = []
    for wire in {each.name: each for each in wires}.values():
        contact = wire.a if wire.a is not None and wire.a.item == key else wire.b
        if contact is not None:
            found.append(Mark(wire.end_place(contact), f"wire {wire.name}"))
    return tuple(found)


# --- how many, how thick ----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class WireCountLimits:
    """How many wires a splice may join."""

    wires: int = limit(10, "", "greatest number of wires in one splice")


@check(
    "splice.wire_count",
    counts="splices",
    subjects=lambda design, limits: [_subject(design, key) for key in design.splices],
    reads=("from_item", "to_item", "kind"),
    limits=WireCountLimits,
    says={"": "{subject} joins {count} wires (limit {most}): {wires}."},
    remedy={"": "Part it into two splices with a link of the feeding wire's size, or take a bus bar."},
)
def wire_count(design: Design, limits: WireCountLimits) -> Iterator[Outcome]:
    """A splice joins too many wires.

    Why it matters: In the middle of a thick bunch strands lie where neither crimp nor weld gets hold of them, and water
    finds its way between wires that no sleeve closes round.
    Reads: From and To of the wire list; the list of splices.
    Decides: Counts the ends of wires on the splice against wires, of the limits.
    Stays silent when: there are no more than that. A stud or bus bar isn't a splice and is not looked at.
    Source: common practice, no source.
    """
    for key, wires in design.splices.items():
        if len(wires) > limits.wires:
            evidence = {"count": len(wires), "most": limits.wires, "wires": _and([wire.name for wire in wires])}
            over = wires[limits.wires :][:_TOLD_ENDS]
            yield Finding(_subject(design, key), (*_mark(design, key), *_ends(design, key, over)), evidence)


@dataclass(frozen=True, slots=True)
class BalanceLimits:
    """How unlike the two sides of a splice may be."""

    area_times: float = limit(8.0, "times", "copper of one side over that of the other")


def _sized(design: Design) -> list[str]:
    """Splices of two wires and more, of which any has a size."""
    return [key for key, wires in design.splices.items() if len(wires) > 1 and any(wire.size for wire in wires)]


def _sides(design: Design, key: str, wires: Sequence[Wire]) -> tuple[list[Wire], list[Wire]] | None:
    """Wires of a splice by the end of its branch that they leave to; None where that is not known of all."""
    lengths = design.wire_lengths
    if lengths.on_branch(key) is None:
        return None
    sides: dict[str, list[Wire]] = {}
    for wire in wires:
        node = lengths.toward(wire, key)
        if node is None:
            return None
        sides.setdefault(node, []).append(wire)
    if len(sides) != 2:
        return None
    one, other = (sides[node] for node in sorted(sides))
    return one, other


@check(
    "splice.balance",
    counts="splices of wires with sizes",
    subjects=lambda design, limits: [_subject(design, key) for key in _sized(design)],
    reads=("from_item", "to_item", "size", "branch", "distance_m", "from_point", "to_point"),
    limits=BalanceLimits,
    says={
        "": "{subject} has {thick_mm2} mm² of copper on one side, {thick}, and {thin_mm2} mm² on the other, {thin}: "
        "{measured} as much (limit {limit}).",
        "largest": "{subject} joins wire {wire} of {thick_mm2} mm² with {thin_mm2} mm² of others, {thin}: {measured} "
        "as much (limit {limit}).",
    },
    remedy={
        "": "Fill up the thin side, or branch the thin wire off where less copper meets.",
        "largest": "Fill up the thin wires, or branch them off where less copper meets.",
    },
)
def balance(design: Design, limits: BalanceLimits) -> Iterator[Outcome]:
    """The two sides of a splice have very unlike amounts of copper.

    Why it matters: A crimp that holds the thick side does not press the thin one, and a weld that heats the thick side
    burns the thin one; the thin wire pulls out.
    Reads: From, To, Size and Branch of the wire list; Branch and Distance of the splices; points of the branches.
    Decides: Wires leave a splice that is listed in a branch to the one or the other end of it, by their way to where
    they go. The sum of the copper, mm², of the thicker side over that of the other is at most area_times. Where the
    sides are not known, or all leave to one side, the largest wire over the sum of all others.
    Stays silent when: it is within. A size that is missing is undecided; in a list without sizes it isn't looked at.
    Source: common practice, no source.
    """
    for key in _sized(design):
        wires = design.splices[key]
        areas = {wire.name: conductor_mm2(wire.size) * wire.cores for wire in wires}
        unsized = [wire for wire in wires if not areas[wire.name]]
        if unsized:
            marks = tuple(Mark(w.place.of("size", "wire", "from_item"), f"wire {w.name}") for w in unsized)
            yield Undecided(_subject(design, key), tuple(f"size of wire {wire.name}" for wire in unsized), marks)
            continue
        sides = _sides(design, key, wires)
        if sides is not None:
            thin, thick = sorted(sides, key=lambda side: sum(areas[wire.name] for wire in side))
        else:
            largest = max(wires, key=lambda wire: areas[wire.name])
            thin, thick = [wire for wire in wires if wire is not largest], [largest]
        thin_mm2, thick_mm2 = (sum(areas[wire.name] for wire in side) for side in (thin, thick))
        if not thin or not beyond(thick_mm2, limits.area_times * thin_mm2):
            continue
        yield Finding(
            _subject(design, key),
            (*_ends(design, key, thin), *_mark(design, key)),
            {"thick": _listed(thick), "thin": _listed(thin), "wire": thick[0].name,
             "thick_mm2": figures(thick_mm2), "thin_mm2": figures(thin_mm2)},
            round(thick_mm2 / thin_mm2, 6), limits.area_times, "times", variant="" if sides is not None else "largest",
        )  # fmt: skip


def _with_part(design: Design) -> list[tuple[str, Part]]:
    """Splices with a part that the parts table has."""
    harness = design.harness
    if not harness.parts:
        return []
    named = [(key, harness.items[key].details.part) for key in design.splices]
    found = [(key, harness.parts.get(fold(name))) for key, name in named if name]
    return [(key, part) for key, part in found if part is not None]


@check(
    "splice.crimp",
    counts="splices with a part that the parts table has",
    subjects=lambda design, limits: [_subject(design, key) for key, _ in _with_part(design)],
    reads=("from_item", "to_item", "size", "part", "size_min", "size_max"),
    says={
        "": "The wires in {subject} have {measured} of copper together, {wires}; {part} takes {most} ({limit}) at "
        "most.",
        "small": "The wires in {subject} have only {measured} of copper together, {wires}; {part} takes {least} "
        "({limit}) and more.",
    },
    remedy={
        "": "Take a splice for {measured}, or part it into two.",
        "small": "Take a splice for {measured}.",
    },
)
def crimp(design: Design, limits: None) -> Iterator[Outcome]:
    """The wires in a splice are together outside the range of its crimp.

    Why it matters: A crimp that is too full cracks or does not close, one that is too empty lets its wires go; neither
    is seen once the sleeve is on.
    Reads: Size of the wire list, Part of the splices, Smallest and Largest wire of the parts table.
    Decides: The sum of the wires' copper, mm², lies between that of the smallest and that of the largest wire of the
    part, with 1 % for the rounding of labels.
    Stays silent when: it does. A size that is missing, of a wire or of the part, is undecided. A part that the parts
    table doesn't have is told by part.not_listed.
    Source: areas by ASTM B258 and ISO 6722; areas are added for several wires in one contact: NASA-STD-8739.4 (read).
    """
    for key, part in _with_part(design):
        subject, wires = _subject(design, key), design.splices[key]
        lacking = [f"size of wire {wire.name}" for wire in wires if not conductor_mm2(wire.size)]
        if part.size_min is None and part.size_max is None:
            lacking.append(f"smallest and largest wire of {part.name}")
        if lacking:
            yield Undecided(subject, tuple(lacking), (Mark(part.place.of("part"), part.name), *_mark(design, key)))
            continue
        whole_mm2 = sum(conductor_mm2(wire.size) * wire.cores for wire in wires)
        least_mm2, most_mm2 = conductor_mm2(part.size_min), conductor_mm2(part.size_max)
        evidence = {"wires": _listed(wires), "part": part.name, "least": str(part.size_min), "most": str(part.size_max)}
        cell = design.harness.items[key].cell("part")
        marks = (*((Mark(cell, f"part of {subject[1]}"),) if cell else ()), Mark(part.place.of("part"), part.name))
        if part.size_max is not None and whole_mm2 > most_mm2 * _ROUNDING:
            yield Finding(subject, marks, evidence, round(whole_mm2, 6), most_mm2, "mm2")
        elif part.size_min is not None and whole_mm2 * _ROUNDING < least_mm2:
            yield Finding(subject, marks, evidence, round(whole_mm2, 6), least_mm2, "mm2", variant="small")


# --- where ------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class NearEndLimits:
    """How near to a termination a splice may lie."""

    inline_mm: float = limit(300.0, "mm", "least distance of a splice of two wires from a termination")
    joining_mm: float = limit(100.0, "mm", "least distance of a splice of three wires and more from a termination")


@check(
    "splice.near_end",
    counts="splices with a distance in their branch, or with wires of known length",
    subjects=lambda design, limits: [
        _subject(design, key) for key in design.splices if next(terminations(design, key), None) is not None
    ],
    reads=("length_m", "branch", "distance_m", "from_point", "to_point", "bend_m"),
    limits=NearEndLimits,
    says={
        "": "{subject} lies {measured} from {end} (limit {limit}), where wires are bent, clamped and pulled.",
        "inline": "{subject}, which only mends or lengthens a wire, lies {measured} from {end} (limit {limit}).",
        "bend": "{subject} lies {measured} from {end}, where branch {branch} bends with a radius of {limit}.",
    },
    remedy={
        "": "Move it at least {limit} away from there.",
        "inline": "Take one wire without a splice, or move it at least {limit} away from there.",
        "bend": "Move it out of the bend.",
    },
)
def near_end(design: Design, limits: NearEndLimits) -> Iterator[Outcome]:
    """A splice lies too near to a termination, or in a bend.

    Why it matters: Wires are bent, clamped and pulled at connectors and where branches part. A splice there is stiff
    where the bundle has to give way, and works until strands break beside it; in a boot it presses the seals aside.
    Reads: Length of the wire list; Branch and Distance of the splices; points, Length and Bend radius of the branches.
    Decides: In mm, the least of the lengths of its wires that end on something other than a splice, and of its
    distances from those ends of its branch where a connector or component is. At least inline_mm for a splice of two
    wires, joining_mm for one that joins three and more. Where its branch meets others, it lies no nearer than the
    branch's bend radius.
    Stays silent when: it is further away. A splice without any such figure isn't looked at.
    Source: AC 43.13-1B: not within 12 in of a termination, save where several wires are joined to one (from memory);
    100 mm for those and the bend are common practice, no source.
    """
    for key, wires in design.splices.items():
        nearest = min(terminations(design, key), key=lambda each: (round(each.away_m, 9), each.contact), default=None)
        if nearest is None:
            continue
        inline = len(wires) == 2
        allowed_mm = limits.inline_mm if inline else limits.joining_mm
        away_mm = round(nearest.away_m * 1000.0, 6)
        if away_mm < allowed_mm:
            end, place = nearest.name(design), nearest.place(design, key)
            marks = (*_mark(design, key), *((Mark(place, end),) if place is not None else ()))
            variant = "inline" if inline else ""
            yield Finding(_subject(design, key), marks, {"end": end}, away_mm, allowed_mm, "mm", variant)
            continue
        joint = nearest_joint(design, key)
        if joint is not None:
            yield Finding(
                _subject(design, key),
                (*_mark(design, key), Mark(joint.place, f"bend of branch {joint.branch}")),
                {"end": joint.name, "branch": joint.branch},
                round(joint.away_m * 1000.0, 6), round(joint.bend_m * 1000.0, 6), "mm", variant="bend",
            )  # fmt: skip


@dataclass(frozen=True, slots=True)
class StaggerLimits:
    """How near to each other two splices may lie."""

    apart_mm: float = limit(25.0, "mm", "least distance of two splices in one branch")


@check(
    "splice.stagger",
    counts="splices with a distance in their branch",
    subjects=lambda design, limits: [
        _subject(design, key) for placed in positions(design).values() for _, key in placed
    ],
    reads=("branch", "distance_m", "length_m"),
    limits=StaggerLimits,
    says={
        "": "{subject} lies {measured} from {other} in branch {branch} (limit {limit}).",
        "same": "{subject} lies at the same place as {other} in branch {branch} (limit {limit} apart).",
    },
    remedy={
        "": "Move one of the two, so that there are at least {limit} between them.",
        "same": "Move one of the two, so that there are at least {limit} between them.",
    },
)
def stagger(design: Design, limits: StaggerLimits) -> Iterator[Outcome]:
    """Two splices lie side by side in one branch.

    Why it matters: Side by side they make a lump that no sleeve passes, chafe on each other, and where one sleeve is
    cut the other is at hand to short to.
    Reads: Branch and Distance of the splices, Length of the branches.
    Decides: In mm, neighbouring splices of one branch are at least apart_mm from each other; of several at one place
    all but the first by name are told.
    Stays silent when: they are. A splice without a place in a branch isn't looked at.
    Source: splices in a bundle are staggered, AC 43.13-1B (from memory); 25 mm, the length of a sleeve, is common
    practice, no source.
    """
    for branch_key, placed in positions(design).items():
        for (before_m, before), (here_m, key) in pairwise(placed):
            apart_mm = round((here_m - before_m) * 1000.0, 6)
            if apart_mm < limits.apart_mm:
                other = design.harness.items[before].name
                yield Finding(
                    _subject(design, key), (*_mark(design, key), *_mark(design, before)),
                    {"other": other, "branch": design.harness.branches[branch_key].name},
                    apart_mm, limits.apart_mm, "mm", variant="" if apart_mm else "same",
                )  # fmt: skip


# --- how many in a run ------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class PerWireLimits:
    """How often a wire may be spliced between two connectors."""

    splices: int = limit(1, "", "greatest number of splices of two wires in one run")


@check(
    "splice.per_wire",
    counts="runs of wire with splices of two wires",
    subjects=lambda design, limits: [run.subject for run in inline_runs(design)],
    reads=("from_item", "to_item", "kind"),
    limits=PerWireLimits,
    says={"": "{subject} is put together with {count} splices, {splices} (limit {most})."},
    remedy={"": "Take one wire from {start} to {end}, or one splice at the most."},
)
def per_wire(design: Design, limits: PerWireLimits) -> Iterator[Outcome]:
    """A wire is mended or lengthened more than once between two connectors.

    Why it matters: Each splice adds resistance, a stiff place and a way in for water, and none is needed where a wire
    goes from one connector to another.
    Reads: From and To of the wire list; the list of splices.
    Decides: Counts the splices that join exactly two wires, along each run of wires up to the next connector, component
    or splice of more wires; at most splices, of the limits.
    Stays silent when: there is no more than that.
    Source: AC 43.13-1B: not more than one splice in a wire segment between two connectors (from memory).
    """
    for run in inline_runs(design):
        if len(run.splices) > limits.splices:
            names = sorted((design.harness.items[key].name for key in run.splices), key=natural_key)
            marks = tuple(mark for key in sorted(run.splices, key=natural_key) for mark in _mark(design, key))
            start, end = run.ends
            yield Finding(
                run.subject,
                marks,
                {"count": len(names), "splices": _and(names), "most": limits.splices, "start": start, "end": end},
            )
