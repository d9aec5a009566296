"""Checks on fuses: their load, the wires behind them, a short circuit at the far end, colour and family."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from harnessdrc.checks.fusecolours import listed_colours, meant_colours
from harnessdrc.checks.registry import Outcome, check, limit
from harnessdrc.design import Contact, Design
from harnessdrc.design.sizing.faults import WorstFault
from harnessdrc.design.sizing.protection import Fuse, ThinnestWire, possible_families, protection_of
from harnessdrc.findings import Finding, Mark, Subject, Undecided
from harnessdrc.harness.elements import Item, Wire
from harnessdrc.harness.names import natural_key
from harnessdrc.physics.fuses import read_family, standard_ratings

__all__ = ["blows", "colour", "family", "in_ground", "load", "protects_wire"]


_USUAL = ("regular blade",)
"""Family whose standard ratings are proposed where the list names none."""
_MOST_MARKS = 20
"""So many further wires are marked beside the one that bears least."""


def _amps(current_a: float) -> str:
    return f"{current_a:.0f} A" if current_a >= 100 else f"{current_a:.3g} A"


def _rating_lacks(fuse: Fuse) -> Undecided:
    return Undecided(fuse.subject, (f"rating of {fuse.item.name}",), fuse.mark("rating_a", "no rating"))


# ---------------------------------------------------------------------- load
@dataclass(frozen=True, slots=True)
class FuseLoadLimits:
    """How much a fuse may carry for hours."""

    load_percent: float = limit(80.0, "percent", "part of its rating that a fuse may carry for hours")


def _loaded(design: Design, limits: FuseLoadLimits) -> list[Fuse]:
    return [f for f in protection_of(design).fuses if not f.output] if design.analysis.solved else []


@check(
    "fuse.load",
    counts="fuses fed by the battery",
    subjects=lambda design, limits: [fuse.subject for fuse in _loaded(design, limits)],
    reads=("rating_a", "current_a"),
    limits=FuseLoadLimits,
    says={"": "{subject} carries {load} for hours ({state}), {measured} of its {rating} (limit {limit})."},
    remedy={"": "{advice}"},
)
def load(design: Design, limits: FuseLoadLimits) -> Iterator[Outcome]:
    """A fuse carries more for hours than it should.

    Why it matters: A fuse that is worked near its rating gets hot, ages and opens one day without a fault; in a hot
    engine bay sooner.
    Reads: Rating of the fuses, Current of wires and components.
    Decides: Solves the circuit of all feeds and returns in every operating state; the greatest average current in A
    through the fuse, over its rating, in per cent. States in which the starter turns last for seconds and do not count.
    Stays silent when: the load is at or below the limit and the current of every load behind the fuse is known, as
    listed or as usual for its kind. A fuse that no battery of the list feeds is not looked at.
    Source: common practice of fuse makers, 75 to 80 % of the rating at room temperature; no source.
    """
    protection = protection_of(design)
    for fuse in _loaded(design, limits):
        carried = protection.load(fuse)
        if fuse.rating_a is None:
            yield _rating_lacks(fuse)
            continue
        if carried.current_a is None:
            continue
        percent = 100.0 * carried.current_a / fuse.rating_a
        if percent > limits.load_percent:
            families = fuse.families or _USUAL
            needed_a = 100.0 * carried.current_a / max(limits.load_percent, 1e-9)
            larger = sorted(r for name in families for r in standard_ratings(name) if r >= needed_a)
            thin = protection.thinnest(fuse)
            advice = "Part its loads over two fuses."
            if larger and thin is not None and larger[0] <= thin[1].low_a:
                advice = f"A fuse of {larger[0]:g} A carries it, and the wires behind it bear that."
            elif larger:
                advice = (
                    f"Part its loads over two fuses; one of {larger[0]:g} A would carry them, but needs thicker wires "
                    "behind it."
                )
            yield Finding(
                fuse.subject,
                fuse.mark("rating_a", "loaded too much") or _at(design, fuse),
                {
                    "load": _amps(carried.current_a), "state": carried.state,
                    "rating": f"{fuse.rating_a:g} A", "advice": advice,
                },
                measured=percent, limit=limits.load_percent, unit="percent",
            )  # fmt: skip
        elif carried.unknown:
            most_a = carried.current_a + len(carried.unknown) * design.given["unknown_current_high_a"]
            yield Undecided(
                fuse.subject, tuple(f"current of {name}" for name in carried.unknown), fuse.mark("rating_a"),
                percent, 100.0 * most_a / fuse.rating_a, limits.load_percent, "percent",
            )  # fmt: skip


def _at(design: Design, fuse: Fuse) -> tuple[Mark, ...]:
    return design.devices.mark(fuse.inlet, fuse.item.name)


# ---------------------------------------------------------------------- wires
def _guarding(design: Design, limits: object) -> list[Fuse]:
    """Fuses that protect a wire, or that may once their rating is known."""
    protection = protection_of(design)
    return [f for f in protection.fuses if f.rating_a is None or f.item.key in protection.wires_behind]


@check(
    "fuse.protects_wire",
    counts="fuses and protected outputs with wires behind them",
    subjects=lambda design, limits: [fuse.subject for fuse in _guarding(design, limits)],
    reads=("rating_a", "size", "insulation", "branch", "zone"),
    says={
        "": "{subject} lets {measured} flow in {wires}, first of all wire {wire} ({size}) (limit {limit}; {where}).",
    },
    remedy={"": "{advice}"},
)
def protects_wire(design: Design, limits: None) -> Iterator[Outcome]:
    """A fuse is rated above what the thinnest wire behind it may carry.

    Why it matters: A wire overloaded below the rating of its fuse burns first, and takes the wires beside it along.
    Reads: Rating of the fuses, Size, Insulation and Branch of the wire list, Zone of the branches.
    Decides: For every wire from the fuse to the next one or to a device: the steady current in A that heats it to the
    temperature its insulation is rated for, with its bundle and its ambient; the least of them must not be below the
    rating of the fuse. A name that ends in a current, as PD board 30AMP, makes an output protected by that rating.
    What is lacking is carried as a range.
    Stays silent when: the rating is at or below what every wire bears over the whole range of what is lacking. A wire
    that leads to a further fuse alone is held by the smaller of the two. Wires behind a load are not held to it: the
    load holds the current of a fault there.
    Source: heating by the curves of MIL-W-5088 and AC 43.13-1B (digitised). For comparison AC 43.13-1B table 11-3
    (read), which is for 57 °C and 15 or more wires of which a fifth is loaded, has as largest fuse 5 A for 22 and
    20 AWG, 10 A for 18 and 16, 15 A for 14, 20 A for 12, 30 A for 10, 50 A for 8, 70 A for 6 and 4, 100 A for 2.
    """
    protection = protection_of(design)
    for fuse in _guarding(design, limits):
        if fuse.rating_a is None:
            yield _rating_lacks(fuse)
            continue
        both = protection.thinnest(fuse)
        if both is None:
            continue
        certain, doubtful = both
        if certain.held_a > certain.high_a:
            yield _too_large(design, fuse, certain)
        elif doubtful.held_a > doubtful.low_a:
            wires = design.harness.wires
            sizing, numbers = design.sizing, protection.wires_behind[fuse.item.key]
            thin = [
                wires[n].name for n in numbers
                if sizing.allowed_low_a[n] < protection.held_a(wires[n], fuse.rating_a)
            ]  # fmt: skip
            missing = dict.fromkeys(what for name in sorted(thin, key=natural_key) for what in sizing.lacking(name))
            mark = Mark(doubtful.wire.place.of("size", "wire"), "bears least while data is lacking")
            yield Undecided(
                fuse.subject, tuple(missing) or (f"data of wire {doubtful.wire.name}",), (mark, *fuse.mark()),
                doubtful.low_a, doubtful.high_a, doubtful.held_a, "A",
            )  # fmt: skip


def _joined(design: Design, wire: Wire) -> tuple[str, Subject] | None:
    """The finding that explains a wire behind a fuse it was not meant for: its net has a second supply."""
    for end in (wire.a, wire.b):
        net = design.net.net(end) if end is not None else None
        supplies = design.feeds.supplies(net.number) if net is not None else []
        if len(supplies) > 1:
            return ("feed.two_supplies", ("net", f"fed by {supplies[0][0]}"))
    return None


def _bearing_less(design: Design, fuse: Fuse, but: Wire) -> list[Wire]:
    """Wires behind a fuse that bear less than flows in them for certain, by name, but for one."""
    protection, wires = protection_of(design), design.harness.wires
    found = [
        wires[n] for n in protection.wires_behind[fuse.item.key]
        if design.sizing.allowed_high_a[n] < protection.held_a(wires[n], fuse.rating_a or 0.0) and wires[n] is not but
    ]  # fmt: skip
    return sorted(found, key=lambda wire: natural_key(wire.name))


def _too_large(design: Design, fuse: Fuse, thin: ThinnestWire) -> Finding:
    wire = thin.wire
    heated = design.sizing.of(wire.name)
    fits = [r for name in fuse.families or _USUAL for r in standard_ratings(name) if r <= thin.high_a]
    thin_wires = _bearing_less(design, fuse, thin.wire)
    where = (
        f"{heated.ambient_degc:.0f} °C around it, {heated.rated_degc:.0f} °C in its insulation, "
        f"{heated.bundle_wires} in its bundle"
    )
    if thin.high_a > thin.low_a * 1.001:
        where = "at best, whatever the data is that is lacking"
    thicker = f"a thicker wire in place of {wire.name}, or insulation that bears more"
    return Finding(
        fuse.subject,
        (
            Mark(wire.place.of("size", "wire"), f"bears {_amps(thin.high_a)}"),
            *fuse.mark(),
            *(Mark(other.place.of("size", "wire"), "bears too little too") for other in thin_wires[:_MOST_MARKS]),
        ),
        {
            "wires": f"{len(thin_wires) + 1} wires that bear less" if thin_wires else "a wire that bears less",
            "wire": wire.name,
            "size": str(wire.size) if wire.size is not None else "size not given",
            "where": where,
            "advice": f"Fit a fuse of {max(fits):g} A, or {thicker}." if fits else f"Fit {thicker}.",
        },
        measured=thin.held_a,
        limit=thin.high_a,
        unit="A",
        follows_from=_joined(design, wire),
    )


# ---------------------------------------------------------------------- short circuit
@dataclass(frozen=True, slots=True)
class BlowsLimits:
    """How soon a fuse must clear a short circuit."""

    clear_s: float = limit(5.0, "s", "longest time that a fuse may take to clear a short circuit")


def _blowing(design: Design, limits: BlowsLimits) -> list[Fuse]:
    return [fuse for fuse in _guarding(design, limits) if not fuse.output]


@check(
    "fuse.blows",
    counts="fuses with wires behind them",
    subjects=lambda design, limits: [fuse.subject for fuse in _blowing(design, limits)],
    reads=("rating_a", "family", "size", "length_m", "insulation"),
    limits=BlowsLimits,
    says={
        "": "{subject} ({family}, {rating}) may take {measured} to clear a short circuit at the far end of wire {wire} "
        "({size}), where no more than {fault} flow (limit {limit}).",
        "never": "A short circuit at the far end of wire {wire} ({size}) draws {measured}; {subject} ({family}, "
        "{rating}) is sure to open no sooner than at its limit of {limit}.",
        "burns": "A short circuit of {fault} at the far end of wire {wire} ({size}) has the wire at its limit after "
        "{limit}; {subject} ({family}, {rating}) may take {measured} to clear it.",
    },
    remedy={
        "": "Fit a smaller fuse, or make the way to wire {wire} thicker or shorter.",
        "never": "Fit a smaller fuse, or make the way to wire {wire} thicker or shorter.",
        "burns": "Fit a smaller fuse, or make wire {wire} thicker.",
    },
)
def blows(design: Design, limits: BlowsLimits) -> Iterator[Outcome]:
    """A short circuit at the far end of a wire does not open its fuse in time.

    Why it matters: A long thin wire holds down the current of its own short circuit; a fuse that waits too long, or for
    ever, leaves the wire to burn.
    Reads: Rating and Family of the fuses, Size, Length and Insulation of the wire list, the straps.
    Decides: I = U / R with the given voltage of the battery, its inner resistance, the feed of least resistance to the
    wire's far end, and the way home from the body with the most resistance. The longest time in s of the fuse's family
    at that current must be within the limit, and what it lets through, I² t in A²s, at or below what the
    wire stands: k² S², k = 226 √(ln((234.5 + tf) / (234.5 + ti))), from its rated to its short-time temperature. What
    is lacking is carried as a range.
    Stays silent when: the fuse clears in time at the far end of every wire it protects, over the whole range of what is
    lacking. Wires behind a load are not held to it.
    Source: ISO 8820-3 limits of fuses (110 % and 135 % of blades read, the others from memory), IEC 60949 for the wire
    (read on a page that quotes it); 5 s is how long that formula holds.
    """
    protection = protection_of(design)
    for fuse in _blowing(design, limits):
        if fuse.rating_a is None:
            yield _rating_lacks(fuse)
            continue
        fault = protection.worst_fault(fuse, limits.clear_s)
        if fault is None or fault.verdict == "clears":
            continue
        if fault.verdict == "not known":
            missing = fault.lacking
            if not fuse.families:
                missing = (f"family of {fuse.item.name}{_no_limits(fuse)}", *missing)
            yield Undecided(fuse.subject, missing or (f"data of wire {fault.wire.name}",), fuse.mark("family"))
            continue
        yield _not_cleared(design, fuse, fault, limits.clear_s)


def _no_limits(fuse: Fuse) -> str:
    return f" by a standard (no limits at hand for {fuse.family})" if fuse.family else ""


def _not_cleared(design: Design, fuse: Fuse, fault: WorstFault, clear_s: float) -> Finding:
    wire = fault.wire
    variant = {"too slow": "", "may not open": "never", "wire first": "burns"}[fault.verdict]
    if variant == "never" or fault.clears_s is None:
        variant, measured, bound, unit = "never", fault.current_a, fault.opens_a, "A"
    elif variant == "burns":
        measured, bound, unit = fault.clears_s, fault.withstands_s, "s"
    else:
        measured, bound, unit = fault.clears_s, clear_s, "s"
    return Finding(
        fuse.subject,
        (Mark(wire.place.of("size", "wire"), "short circuit at its far end"), *fuse.mark()),
        {
            "wire": wire.name,
            "size": str(wire.size) if wire.size is not None else "size not given",
            "family": " or ".join(fuse.families),
            "rating": f"{fuse.rating_a:g} A",
            "fault": _amps(fault.current_a),
        },
        measured=measured,
        limit=bound,
        unit=unit,
        variant=variant,
        follows_from=_joined(design, wire),
    )


# ---------------------------------------------------------------------- what the list says of a fuse
def _listed(design: Design, column: str) -> list[Item]:
    """Fuses whose cell in a column of the list is filled in, by name."""
    found = [i for i in design.harness.items.values() if i.kind == "fuse" and getattr(i.details, column)]
    return sorted(found, key=lambda item: natural_key(item.name))


def _cell(item: Item, column: str) -> tuple[Mark, ...]:
    row = item.details.row
    place = row.of(column, "fuse", "component") if row else item.place
    return (Mark(place, item.name),) if place else ()


@check(
    "fuse.colour",
    counts="fuses with a colour",
    subjects=lambda design, limits: [("fuse", item.name) for item in _listed(design, "colour")],
    reads=("colour", "rating_a", "family"),
    says={"": "{subject} is listed as {listed}; at {rating} a {family} fuse is {right}."},
    remedy={"": "Correct the rating or the colour: the colour is what is looked at when a fuse is replaced."},
)
def colour(design: Design, limits: None) -> Iterator[Outcome]:
    """The colour of a fuse is not that of its rating.

    Why it matters: Fuses are picked and replaced by their colour; one of the wrong rating protects nothing or blows.
    Reads: Colour, Rating and Family of the fuses.
    Decides: The listed colour must be among the names that the standard's colour of the rating goes by, in the family;
    where the family is not known, in one of those that are made in this rating.
    Stays silent when: the colour is right, or no colours of the family or rating are published.
    Source: ISO 8820-3, DIN 72581-3, SAE J1284 and J1888: black, grey, pink, red and blue read in a data sheet, the
    others from memory.
    """
    for item in _listed(design, "colour"):
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


@check(
    "fuse.family",
    counts="fuses with a family",
    subjects=lambda design, limits: [("fuse", item.name) for item in _listed(design, "family")],
    reads=("family", "rating_a"),
    says={
        "": "{subject} is of the family '{text}', which is not known.",
        "several": "{subject} is of the family '{text}', which may be {candidates}.",
    },
    remedy={
        "": "Write regular blade, mini blade, maxi blade, bolt-down 30 mm or bolt-down 51 mm, or another family that "
        "the guide of the template names.",
        "several": "Write which of them it is: they open at different times.",
    },
)
def family(design: Design, limits: None) -> Iterator[Outcome]:
    """The family of a fuse is not understood, or may be several.

    Why it matters: How soon a fuse opens depends on its build; without it nothing is known of a short circuit.
    Reads: Family and Rating of the fuses.
    Decides: The longest words of a family that stand in the cell; where they may mean several families, those that are
    made in the listed rating.
    Stays silent when: one family is meant, or the cell is empty: then the computations that need it ask for it.
    Source: ISO 8820-3 and 8820-5, SAE J1284, J2077 and J1888, DIN 72581; words of the trade, from memory.
    """
    for item in _listed(design, "family"):
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


# ---------------------------------------------------------------------- fuses in grounds
def _ground_beside(design: Design, contacts: list[Contact]) -> Contact | None:
    """Ground on a side of a fuse that no battery feeds."""
    nets = [net for contact in contacts if (net := design.net.net(contact)) is not None]
    if any(net.number in design.feeds.level for net in nets):
        return None
    for net in nets:
        joined = design.feeds.ground_on(net)
        if joined is not None:
            return joined[0]
    return None


@check(
    "fuse.in_ground",
    counts="fuses with a wire",
    subjects=lambda design, limits: [("fuse", name) for name in protection_of(design).wired],
    reads=("from_item", "to_item", "signal"),
    says={"": "{subject} lies in a ground: no battery feeds it, and {ground} is on it."},
    remedy={"": "Put the fuse into the feed, close to the battery, and lead the ground through."},
)
def in_ground(design: Design, limits: None) -> Iterator[Outcome]:
    """A fuse lies in a ground instead of a feed.

    Why it matters: A feed that chafes through on metal goes past such a fuse; and when it does open, the device looks
    for another way home, through signals and shields.
    Reads: From, To and Signal of the wire list, the earth points, the roles of pins.
    Decides: Copper from no battery's positive terminal, over fuses, relay contacts and switches, reaches either side,
    and an earth point, a battery's negative or a ground of a device is on one of them.
    Stays silent when: the battery feeds the fuse, or no ground is on it.
    Source: common practice, no source.
    """
    for name, contacts in protection_of(design).wired.items():
        ground = _ground_beside(design, contacts)
        if ground is not None:
            yield Finding(("fuse", name), design.devices.mark(contacts[0], name), {"ground": design.label(ground)})
