"""Checks on the branches of the loom: their ends, where these are, and how long they say they are."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from harnessdrc.checks.registry import Outcome, check, limit
from harnessdrc.design import Design
from harnessdrc.design.branches import branch_names
from harnessdrc.findings import Finding, Mark, Subject, Undecided, beyond
from harnessdrc.harness.elements import Branch, Harness, Point, Wire
from harnessdrc.harness.names import fold

__all__ = ["LengthLimits", "coordinates", "ends", "length"]

_ENDS = (("from_point", "From point"), ("to_point", "To point"))
_AXES = (("x_m", "x"), ("y_m", "y"), ("z_m", "z"))
_SAME_M = 0.0005


def _and(words: Sequence[str]) -> str:
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1]))) if words else ""


def _mm(value_m: float) -> str:
    return f"{value_m:.4g} m" if abs(value_m) >= 20 else f"{round(value_m * 1000, 1) + 0.0:.6g} mm"


# --- ends -------------------------------------------------------------------------------------------


def _not_listed(harness: Harness) -> list[tuple[str, list[Wire]]]:
    """Branches that wires name and the list of branches does not have: their name as written, and the wires."""
    spelt: dict[str, set[str]] = {}
    wires: dict[str, list[Wire]] = {}
    strange: dict[str, tuple[tuple[str, str], ...]] = {}
    for wire in harness.wires if harness.branches else ():
        if not wire.branch:
            continue
        if wire.branch not in strange:
            strange[wire.branch] = _strange(wire, harness)
        for key, name in strange[wire.branch]:
            spelt.setdefault(key, set()).add(name)
            wires.setdefault(key, []).append(wire)
    return [(min(spelt[key]), found) for key, found in wires.items()]


def _strange(wire: Wire, harness: Harness) -> tuple[tuple[str, str], ...]:
    """Folded and written names of the branches in a wire's cell that are not listed."""
    names = branch_names(wire, harness)
    unknown = [name for name in names if name not in harness.branches]
    if unknown and len(unknown) == len(names):
        unknown = [fold(wire.branch or "")]  # nothing in it is known, so neither is where its parts end
    written = " ".join((wire.branch or "").split())
    out = []
    for key in unknown:
        start = written.casefold().find(key)
        out.append((key, written[start : start + len(key)] if start >= 0 else key))
    return tuple(out)


def _branches(design: Design, limits: None) -> list[Subject]:
    listed: list[Subject] = [("branch", branch.name) for branch in design.harness.branches.values()]
    return [*listed, *(("branch", name) for name, _ in _not_listed(design.harness))]


def _row_text(branch: Branch) -> str:
    """A row of the branch list in words: ``BAT to ECU, 750 mm``."""
    ends = f"{branch.from_point or 'nothing'} to {branch.to_point or 'nothing'}"
    parts = [ends, "" if branch.length_m is None else _mm(branch.length_m), branch.zone or ""]
    return ", ".join(filter(None, parts))


@check(
    "branch.ends",
    counts="branches of the list, and those that wires name",
    subjects=_branches,
    reads=("branch", "from_point", "to_point"),
    says={
        "": "{subject} has no point in {columns}, so nobody knows where it {lies}.",
        "loop": "{subject} begins and ends at {point}.",
        "twice": "{subject} stands on {count} rows that say different things: {rows}.",
        "not listed": "{count} named {name}, which the list of branches does not have; {near}.",
    },
    remedy={
        "": "Fill in the point at which it begins or ends: a connector, a component, or a name of its own.",
        "loop": "Correct one of its two points.",
        "twice": "Take out the row that is wrong, or give each of the branches a name of its own.",
        "not listed": "Correct the name on the wires, or give the branch a row in the list of branches.",
    },
)
def ends(design: Design, limits: None) -> Iterator[Outcome]:
    """A branch lacks an end, or is not in the list of branches.

    Why it matters: Wires in it cannot be laid out, and no loop that runs through it has a place or a length.
    Reads: Branch, From point and To point of the branch list; Branch of the wire list.
    Decides: A branch must have two points, and they must differ. Rows with one name must say the same. Where there is
    a branch list it has every branch that a wire names.
    Stays silent when: there is no branch list, for then names of branches only group the wires.
    Source: common practice, no source.
    """
    harness = design.harness
    repeated: dict[str, list[Branch]] = {}
    for first, other in harness.repeated_branches:
        repeated.setdefault(first.key, [first]).append(other)
    for branch in harness.branches.values():
        subject = ("branch", branch.name)
        rows = repeated.get(branch.key)
        lacking = [(name, title) for name, title in _ENDS if getattr(branch, name) is None]
        if rows:
            marks = tuple(Mark(row.place.of("branch"), _row_text(row)) for row in _in_order(rows))
            texts = sorted({_row_text(row) for row in rows})
            yield Finding(subject, marks, {"count": len(rows), "rows": "; ".join(texts)}, variant="twice")
        elif lacking:
            marks = tuple(Mark(branch.place.of(name, "branch"), "no point") for name, _ in lacking)
            lies = "lies" if len(lacking) == 2 else "begins" if lacking[0][0] == "from_point" else "ends"
            yield Finding(subject, marks, {"columns": " and ".join(title for _, title in lacking), "lies": lies})
        elif fold(branch.from_point or "") == fold(branch.to_point or ""):
            marks = (Mark(branch.place.of("to_point"), "same as the other end"),)
            yield Finding(subject, marks, {"point": branch.from_point}, variant="loop")
    known = sorted(branch.name for branch in harness.branches.values())
    for name, wires in _not_listed(harness):
        near = _nearest(name, known)
        wires = sorted(wires, key=lambda w: (w.place.file, w.place.sheet, w.place.row))
        yield Finding(
            ("branch", name),
            tuple(Mark(wire.place.of("branch"), "not in the list of branches") for wire in wires),
            {
                "name": name,
                "count": f"Wire {wires[0].name} lies in a branch" if len(wires) == 1
                else f"{len(wires)} wires lie in a branch",
                "near": f"{near} is the nearest name" if near else "no name of it is near",
            },
            variant="not listed",
        )  # fmt: skip


def _in_order(rows: Sequence[Branch]) -> list[Branch]:
    return sorted(rows, key=lambda row: (row.place.file, row.place.sheet, row.place.row))


def _nearest(name: str, known: Sequence[str]) -> str:
    """Known name that one may be a slip of; empty where none is near."""
    by_key = {fold(other): other for other in known}
    close = difflib.get_close_matches(fold(name), sorted(by_key), n=1, cutoff=0.6)
    return by_key[close[0]] if close else ""


# --- coordinates ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Ends:
    """Ends of the listed branches by their folded name: as written, and the branches with the column of the end."""

    names: Mapping[str, str]
    branches: Mapping[str, tuple[tuple[Branch, str], ...]]


def _branch_ends(harness: Harness) -> _Ends:
    names: dict[str, str] = {}
    branches: dict[str, list[tuple[Branch, str]]] = {}
    for branch in harness.branches.values():
        for column, _ in _ENDS:
            name = getattr(branch, column)
            if name is not None:
                key = fold(name)
                point, item = harness.points.get(key), harness.items.get(key)
                known = point.name if point is not None else item.name if item is not None else None
                names[key] = known or min(names.get(key, name), name)
                branches.setdefault(key, []).append((branch, column))
    return _Ends(names, {key: tuple(found) for key, found in branches.items()})


def _points(design: Design, limits: None) -> list[Subject]:
    harness = design.harness
    out: list[Subject] = [("point", point.name) for point in harness.points.values()]
    if any(point.xyz_m is not None for point in harness.points.values()):
        names = _branch_ends(harness).names
        out += [("point", name) for key, name in names.items() if key not in harness.points]
    return out


def _known_names(harness: Harness, ends: _Ends) -> dict[str, str]:
    """Everything a point can be called after: ends of branches, components, connectors, earth points, bodies."""
    bodies = {item.body for item in harness.items.values()} | {end for s in harness.straps for end in (s.a, s.b)}
    items = {key: item.name for key, item in harness.items.items()}
    return {**{fold(body): body for body in bodies if body}, **items, **ends.names}


@check(
    "branch.coordinates",
    counts="points, and ends of branches",
    subjects=_points,
    reads=("point", "x_m", "y_m", "z_m", "from_point", "to_point"),
    says={
        "": "{subject} has {given} and no {lacking}.",
        "none": "{subject} has no coordinates, while {count} have; {used}.",
        "twice": "{subject} stands on {count} rows with different places: {places}.",
        "not known": "No branch, connector or component is called {name}, which has coordinates; {near}.",
    },
    remedy={
        "": "Fill in the coordinate that is lacking, 0 where the point lies on that axis.",
        "none": "Give it x, y and z in the list of points.",
        "twice": "Take out the row that is wrong, or give each of the points a name of its own.",
        "not known": "Spell the point as in the other lists, or take it out.",
    },
)
def coordinates(design: Design, limits: None) -> Iterator[Outcome]:
    """Coordinates are there for some points only, or for a point that nothing is at.

    Why it matters: A loop has an area only where every point of it has a place; one that lacks makes a bound out of
    a figure, and one that is misspelt is left out without a word.
    Reads: Point, X, Y and Z of the list of points; From point and To point of the branch list.
    Decides: A point has all three coordinates or none. Where any point has all three, every point listed and every
    end of a branch has them, itself or by the connector, component or splice it is. A point has one place. It is the
    end of a branch, a connector, a component, an earth point, a body or a splice.
    Stays silent when: no point has coordinates, for then lengths are used alone; when the list of points has no
    column Z, which makes a flat drawing.
    Source: common practice, no source.
    """
    harness = design.harness
    placed = sum(1 for point in harness.points.values() if point.xyz_m is not None)
    ends = _branch_ends(harness)
    known = _known_names(harness, ends)
    repeated: dict[str, list[Point]] = {}
    for first, other in harness.repeated_points:
        repeated.setdefault(first.key, [first]).append(other)
    for point in harness.points.values():
        subject = ("point", point.name)
        given = [axis for name, axis in _AXES if getattr(point, name) is not None]
        lacking = [(name, axis) for name, axis in _AXES if getattr(point, name) is None]
        rows = repeated.get(point.key)
        if rows:
            rows = sorted(rows, key=lambda row: (row.place.file, row.place.sheet, row.place.row))
            marks = tuple(Mark(row.place.of("x_m", "point"), _place_text(row)) for row in rows)
            places = sorted({_place_text(row) for row in rows})
            yield Finding(subject, marks, {"count": len(rows), "places": "; ".join(places)}, variant="twice")
        elif given and lacking:
            marks = tuple(Mark(point.place.of(name, "point"), f"no {axis}") for name, axis in lacking)
            yield Finding(subject, marks, {"given": _and(given), "lacking": _and([axis for _, axis in lacking])})
        elif lacking and placed and design.routes.at(point.key) is None:
            yield _without(subject, (Mark(point.place.of("x_m", "point"), "no coordinates"),), ends, point.key, placed)
        elif point.key not in known:
            near = _nearest(point.name, sorted(known.values()))
            yield Finding(
                subject,
                (Mark(point.place.of("point"), "not known from any other list"),),
                {"name": point.name, "near": f"{near} is the nearest name" if near else "no name is near"},
                variant="not known",
            )
    if not placed:
        return
    for key, name in ends.names.items():
        if key not in harness.points and design.routes.at(key) is None:
            marks = tuple(Mark(branch.place.of(column), "no coordinates") for branch, column in ends.branches[key])
            yield _without(("point", name), marks, ends, key, placed)


def _without(subject: Subject, marks: tuple[Mark, ...], ends: _Ends, key: str, placed: int) -> Finding:
    names = sorted({branch.name for branch, _ in ends.branches.get(key, ())})
    said = f"{'branch' if len(names) == 1 else 'branches'} {_and(names)}"
    evidence = {
        "count": "another one" if placed == 1 else f"{placed} others",
        "used": f"it is an end of {said}" if names else "it stands in the list of points",
    }
    return Finding(subject, marks, evidence, variant="none")


def _place_text(point: Point) -> str:
    """Coordinates in words: ``x 120 mm, y 0 mm, z not given``."""
    values = ((axis, getattr(point, name)) for name, axis in _AXES)
    return ", ".join(f"{axis} {'not given' if value is None else _mm(value)}" for axis, value in values)


# --- length -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class LengthLimits:
    """How far a branch's listed length may differ from the distance between its ends."""

    shorter_percent: float = limit(2.0, "percent", "By how much the straight distance may exceed the length")
    detour_times: float = limit(10.0, "times", "How many times the straight distance a length may be")


_FACTORS = (
    (10.0, "mm and the other in cm"),
    (12.0, "inches and the other in feet"),
    (25.4, "mm and the other in inches"),
    (304.8, "mm and the other in feet"),
    (1000.0, "mm and the other in m"),
)
"""What a length is too small by if it was read in one unit and meant in another."""

_DETOUR = 1.6
"""A branch is up to so many times longer than the distance of its ends without anyone wondering."""


def _other_unit(factor: float, times_lengthened: bool) -> str:
    """The two units, where a factor is that of one over the other; empty for any other factor."""
    fitting = []
    for exact, units in _FACTORS:
        low, high = (exact * 0.95, exact * _DETOUR) if times_lengthened else (exact / _DETOUR, exact * 1.05)
        if low <= factor <= high:
            fitting.append(units)
    return ", or one in ".join(fitting)


def _measurable(design: Design, limits: LengthLimits) -> list[Branch]:
    if not any(point.xyz_m is not None for point in design.harness.points.values()):
        return []
    return [
        branch
        for branch in design.harness.branches.values()
        if branch.length_m is not None and branch.from_point is not None and branch.to_point is not None
    ]


_TOO_SHORT = (
    "{subject} is listed with {length}, but its ends {ends} lie {straight} apart in a straight line, {measured} more "
    "(limit {limit})"
)
_TOO_LONG = "{subject} is listed with {length}, {measured} the {straight} between its ends {ends} (limit {limit})"


@check(
    "branch.length",
    counts="branches with a length, where points have coordinates",
    subjects=lambda design, limits: [("branch", branch.name) for branch in _measurable(design, limits)],
    reads=("branch", "from_point", "to_point", "length_m", "x_m", "y_m", "z_m"),
    limits=LengthLimits,
    says={
        "": f"{_TOO_SHORT}.",
        "unit": f"{_TOO_SHORT}, as if one were in {{unit}}.",
        "detour": f"{_TOO_LONG}.",
        "detour unit": f"{_TOO_LONG}, as if one were in {{unit}}.",
        "same place": "{subject} is listed with {length}, but its ends {ends} lie at one place.",
    },
    remedy={
        "": "Correct the length or the coordinates.",
        "unit": "Write both in the unit of their heading, or correct the heading.",
        "detour": "Correct the length or the coordinates.",
        "detour unit": "Write both in the unit of their heading, or correct the heading.",
        "same place": "Correct the coordinates of one of its ends.",
    },
)
def length(design: Design, limits: LengthLimits) -> Iterator[Outcome]:
    """A branch's length cannot go with the coordinates of its ends.

    Why it matters: One of them is wrong, most often by its unit, and areas of loops come out wrong by its square.
    Reads: Length, From point and To point of the branch list; X, Y and Z of the list of points.
    Decides: The straight distance d of its ends may exceed the listed length l by no more than the first limit,
    100 (d / l - 1) per cent; l may be no more than so many times d as the second. Where the factor is that of two
    units, the sentence says so.
    Stays silent when: the branch has no length or lacks an end (branch.ends), or no point has coordinates.
    Source: geometry; the limits are common practice, no source.
    """
    for branch in _measurable(design, limits):
        subject = ("branch", branch.name)
        places = []
        lacking = []
        marks = [Mark(branch.place.of("length_m"), "length as listed")]
        for column, title in _ENDS:
            name = getattr(branch, column)
            place = None if name is None else design.routes.at(fold(name))
            if place is None:
                lacking.append(f"{title} of branch {branch.name}" if name is None else f"x, y, z of {name}")
                marks.append(Mark(branch.place.of(column), "no coordinates"))
                continue
            places.append(place)
            point = design.harness.points.get(fold(name))
            if point is not None:
                marks.append(Mark(point.place.of("x_m"), f"where {point.name} is"))
        if lacking or branch.length_m is None:
            yield Undecided(subject, tuple(dict.fromkeys(lacking)), tuple(marks))
            continue
        straight_m = float(np.linalg.norm(places[1] - places[0]))
        evidence = {
            "length": _mm(branch.length_m), "straight": _mm(straight_m),
            "ends": " and ".join(sorted((branch.from_point or "", branch.to_point or ""))),
        }  # fmt: skip
        if straight_m < _SAME_M:
            if fold(branch.from_point or "") != fold(branch.to_point or ""):
                yield Finding(subject, tuple(marks), evidence, variant="same place")
            continue
        shorter = 100 * (straight_m / branch.length_m - 1)
        detour = branch.length_m / straight_m
        if beyond(shorter, limits.shorter_percent):
            unit = _other_unit(straight_m / branch.length_m, False)
            variant = "unit" if unit else ""
            evidence |= {"unit": unit} if unit else {}
            yield Finding(subject, tuple(marks), evidence, shorter, limits.shorter_percent, "percent", variant)
        elif beyond(detour, limits.detour_times):
            unit = _other_unit(detour, True)
            variant = "detour unit" if unit else "detour"
            evidence |= {"unit": unit} if unit else {}
            yield Finding(subject, tuple(marks), evidence, detour, limits.detour_times, "times", variant)
