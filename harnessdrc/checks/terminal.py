"""Checks on terminals: conductor, insulation, two wires in one crimp, and the connector that they go into."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from harnessdrc.checks.insulationfits import fits
from harnessdrc.checks.registry import Outcome, check
from harnessdrc.design import Design
from harnessdrc.design.crimpfits import in_range, joined, shown_range, upside_down
from harnessdrc.design.fitting import Crimp
from harnessdrc.findings import Finding, Mark, Subject, Undecided
from harnessdrc.harness.elements import Part
from harnessdrc.harness.names import fold, natural_key

__all__ = ["family", "insulation", "two_wires", "wire_size"]


def _listed(design: Design, several: bool) -> list[tuple[Crimp, Part]]:
    """Crimps of one wire, or of several, whose terminal is in the parts table."""
    return [
        (crimp, crimp.part)
        for crimp in design.fitting.crimps
        if crimp.part is not None and (len(crimp.ends) > 1) == several
    ]


def _ranged(part: Part) -> bool:
    """Whether a range of conductors is given that something can lie in."""
    if part.size_min is None and part.size_max is None:
        return False
    wrong = upside_down(part)
    return wrong is None or wrong[0] != "size"


def _without_range(design: Design) -> list[Part]:
    """Terminals in use whose range of conductors is not given or upside down, once each."""
    parts = {part.key: part for several in (False, True) for _, part in _listed(design, several) if not _ranged(part)}
    return [parts[key] for key in sorted(parts, key=natural_key)]


def _crimp_subjects(design: Design, several: bool) -> list[Subject]:
    return [("crimp", crimp.name) for crimp, part in _listed(design, several) if _ranged(part)]


@check(
    "terminal.wire_size",
    counts="crimps of one wire, and terminals in use without a range",
    subjects=lambda design, limits: [
        *_crimp_subjects(design, False), *(("terminal", part.name) for part in _without_range(design)),
    ],
    reads=("size", "from_terminal", "to_terminal", "terminal", "part", "size_min", "size_max"),
    says={
        "": "{subject}: {size} is too thick for {terminal}, which takes {range}.",
        "thin": "{subject}: {size} is too thin for {terminal}, which takes {range}.",
    },
    remedy={
        "": "Take the terminal of this family for the size, or splice a thinner tail that its fuse protects.",
        "thin": "Take the terminal of this family for the size; never fold the strands over to fill the crimp.",
    },
)  # fmt: skip
def wire_size(design: Design, limits: None) -> Iterator[Outcome]:
    """A conductor is outside the range that its terminal is crimped on.

    Why it matters: Strands of too thick a wire are cut or stay outside; too thin a wire is not gripped, pulls out and
    gets hot.
    Reads: Size of the wire list, the terminal at its end (wire list, else pin list), Smallest and Largest wire of the
    parts table.
    Decides: smallest <= size <= largest in mm² or AWG. Of two systems the copper is compared, and only where all that
    the two labels may stand for (0.87 to 1.05 of a metric area, 0.98 to 1.02 of a gauge's) lies on one side.
    Stays silent when: no terminal is named, or it is not in the parts table, which part.not_listed tells.
    Source: common practice, no source; ranges are those of the parts table.
    """
    for crimp, part in _listed(design, False):
        if not _ranged(part):
            continue
        wire, subject = crimp.ends[0].wire, ("crimp", crimp.name)
        if wire.size is None:
            yield Undecided(subject, (f"size of wire {wire.name}",), (Mark(wire.place.of("size", "wire"), wire.name),))
            continue
        verdict = in_range(wire.size, part)
        if verdict == "unclear":
            if wire.size.also is not None:
                missing = f"which of the two sizes wire {wire.name} is"
            else:
                missing = f"range of terminal {part.name} in {'mm²' if wire.size.system == 'mm2' else 'AWG'}"
            yield Undecided(subject, (missing,), crimp.marks)
        elif verdict != "in":
            yield _outside(crimp, part, str(wire.size), "thin" if verdict == "below" else "")
    for part in _without_range(design):
        yield Undecided(
            ("terminal", part.name), (f"smallest and largest wire of terminal {part.name}",),
            (Mark(part.place.of("size_min", "part"), part.name),),
        )  # fmt: skip


def _outside(
    crimp: Crimp, part: Part, size: str, variant: str, cause: tuple[str, Subject] | None = None, **more: Any
) -> Finding:
    evidence = {"size": size, "terminal": part.name, "range": shown_range(part.size_min, part.size_max), **more}
    wire = crimp.ends[0].wire
    marks = (
        *crimp.marks,
        Mark(wire.place.of("size", "wire"), f"size of wire {wire.name}"),
        Mark(part.place.of("size_max", "part"), "in the parts table"),
    )
    return Finding(("crimp", crimp.name), marks, evidence, variant=variant, follows_from=cause)


@check(
    "terminal.two_wires",
    counts="crimps of several wires",
    subjects=lambda design, limits: _crimp_subjects(design, True),
    reads=("size", "from_terminal", "to_terminal", "terminal", "part", "size_min", "size_max"),
    says={
        "": "{subject}: {sizes} together make {size}, too thick for {terminal}, which takes {range}.",
        "thin": "{subject}: {sizes} together make {size}, too thin for {terminal}, which takes {range}.",
    },
    remedy={
        "": "Join the wires in a splice and take one wire to the terminal, or take a terminal for the sum.",
        "thin": "Take the terminal of this family for the sum of the wires.",
    },
)
def two_wires(design: Design, limits: None) -> Iterator[Outcome]:
    """Wires that share a crimp are together outside the range of its terminal.

    Why it matters: A crimp that is too full cuts strands or leaves them outside; the thinner wire works loose first.
    Reads: Size of the wire list, terminal and cavity at the ends, Smallest and Largest wire of the parts table.
    Decides: The areas are added and the next standard size up has to lie in the range; in mm² or AWG, of both systems
    in that of the terminal. Two wires in one named cavity with one terminal share its crimp; rings and studs do not.
    Stays silent when: no two wires share a crimp, or its terminal is not in the parts table.
    Source: NASA-STD-8739.4: add circular mil areas, use the next larger size (read).
    """
    for crimp, part in _listed(design, True):
        if not _ranged(part):
            continue
        subject = ("crimp", crimp.name)
        unsized = [end.wire for end in crimp.ends if end.wire.size is None]
        if unsized:
            yield Undecided(subject, tuple(f"size of wire {wire.name}" for wire in unsized), crimp.marks)
            continue
        sizes = [end.wire.size for end in crimp.ends if end.wire.size is not None]
        together = joined(sizes, part)
        cause = ("cavity.used_twice", ("cavity", design.label(crimp.ends[0].contact)))
        shown = " and ".join(str(size) for size in sizes)
        if together is None:
            yield _outside(crimp, part, "more than any standard size", "", cause, sizes=shown)
            continue
        verdict = in_range(together, part)
        if verdict == "unclear" or any(size.also is not None for size in sizes):
            unit = "mm²" if together.system == "mm2" else "AWG"
            lacking = f"range of terminal {part.name} in {unit}, and one label for each wire"
            yield Undecided(subject, (lacking,), crimp.marks)
        elif verdict != "in":
            yield _outside(crimp, part, str(together), "thin" if verdict == "below" else "", cause, sizes=shown)


@check(
    "terminal.insulation",
    counts="crimps of one wire with a range for its insulation",
    subjects=lambda design, limits: [("crimp", crimp.name) for crimp, _ in _winged(design)],
    reads=("size", "insulation", "from_terminal", "to_terminal", "part", "insulation_min_m", "insulation_max_m"),
    says={
        "": "{subject}: the wire is {diameter} over its insulation, {terminal} takes {range} (limit {limit}).",
        "thin": "{subject}: the wire is {diameter} over its insulation, {terminal} takes {range} (limit {limit}).",
    },
    remedy={
        "": "Take the terminal with the larger wings, or cable with a thinner wall.",
        "thin": "Take the terminal with the smaller wings; loose wings let the wire break where the strands begin.",
    },
)
def insulation(design: Design, limits: None) -> Iterator[Outcome]:
    """A wire over its insulation is outside the range of the terminal's wings.

    Why it matters: Wings that do not close pierce the insulation or stand open; loose ones leave the strands alone with
    the vibration, and they break at the crimp.
    Reads: Size and Insulation of the wire list, the terminal, Smallest and Largest insulation of the parts table, for
    the terminal and for the cable.
    Decides: The diameter in mm, of the cable where the parts table has it; else what cable of this size may have: thin
    wall by ISO 6722 down to 0.80 of its most, gauges 0.75 to 1.25 of medium wall. Found only where all of that lies
    outside.
    Stays silent when: the terminal has no such range: an uninsulated ring, a terminal whose seal takes the wire.
    Source: outer diameters ISO 6722 and SAE J1128 (read in sellers' sheets); how far below: common practice, no source.
    """
    for crimp, part in _winged(design):
        yield from fits(design, ("crimp", crimp.name), crimp.ends[0].wire, part, "terminal", crimp.marks[0])


def _winged(design: Design) -> list[tuple[Crimp, Part]]:
    return [
        (crimp, part)
        for crimp, part in _listed(design, False)
        if part.insulation_min_m is not None or part.insulation_max_m is not None
    ]


def _housed(design: Design) -> list[tuple[Crimp, Part, Part]]:
    """Crimps in connectors, terminal and connector from the parts table, where something of both can be compared."""
    fitting = design.fitting
    found: list[tuple[Crimp, Part, Part]] = []
    for crimp in fitting.crimps if fitting.connectors else ():
        housing = fitting.housing(crimp.ends[0].contact)
        part = crimp.part
        if housing is None or part is None:
            continue
        if (part.family and housing.family) or (part.sex and housing.sex):
            found.append((crimp, part, housing))
    return found


@check(
    "terminal.family",
    counts="crimps in connectors of the parts table",
    subjects=lambda design, limits: [("crimp", crimp.name) for crimp, _, _ in _housed(design)],
    reads=("from_terminal", "to_terminal", "terminal", "part", "family", "sex"),
    says={
        "": "{subject}: {terminal} is of the family {own}, connector {connector} takes {wanted}.",
        "sex": "{subject}: {terminal} is a {own}, connector {connector} takes a {wanted}.",
    },
    remedy={
        "": "Take the terminal of the connector's own family.",
        "sex": "Take the other sex of this terminal, or the other half of the connector.",
    },
)
def family(design: Design, limits: None) -> Iterator[Outcome]:
    """A terminal is of another family or sex than its connector takes.

    Why it matters: It does not lock, or falls through; a loose terminal backs out when the halves are mated.
    Reads: The terminal at the wire's end, Part of the component list, Family and Sex of the parts table.
    Decides: Family and sex of the terminal are those of the connector; spelling of capitals and spaces aside.
    Stays silent when: one of the two does not say, or the connector's part is not named.
    Source: common practice, no source.
    """
    for crimp, part, housing in _housed(design):
        evidence = {"terminal": part.name, "connector": housing.name}
        rows = (("terminal", part), ("connector", housing))
        marks = (*crimp.marks, *(Mark(row.place.of("family", "part"), what) for what, row in rows))
        if part.family and housing.family and fold(part.family) != fold(housing.family):
            yield Finding(("crimp", crimp.name), marks, {**evidence, "own": part.family, "wanted": housing.family})
        elif part.sex and housing.sex and part.sex != housing.sex:
            evidence |= {"own": part.sex, "wanted": housing.sex}
            yield Finding(("crimp", crimp.name), marks, evidence, variant="sex")
