"""Checks on CAN buses: terminators, length, stubs, twist, and which wire is which."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from harnessdrc.checks.buslengths import stubs, too_long_buses, too_long_stubs, with_length_or_rates
from harnessdrc.checks.buspolarity import crossings, other_colours, other_signals, same_colours
from harnessdrc.checks.busterminators import judged_terminators
from harnessdrc.checks.buswords import bus_marks, wires_named
from harnessdrc.checks.registry import Outcome, check, limit
from harnessdrc.design import Design
from harnessdrc.findings import Finding, Mark, Subject, Undecided, beyond
from harnessdrc.harness.elements import Wire
from harnessdrc.harness.names import fold

__all__ = ["length", "polarity", "stub", "terminators", "twisted"]


def _buses(design: Design, limits: object) -> list[Subject]:
    return [bus.subject for bus in design.buses]


# --- terminators ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class TerminatorLimits:
    """What terminates a bus."""

    least_ohm: float = limit(108.0, "ohm", "least resistance of a terminator")
    most_ohm: float = limit(132.0, "ohm", "greatest resistance of a terminator")
    beyond_m: float = limit(1.0, "m", "how far a device may hang on beyond the terminator of that end")


@check(
    "bus.terminators",
    counts="CAN buses",
    subjects=_buses,
    reads=("kind", "resistance_ohm", "terminator_ohm", "signal", "role", "length_m"),
    limits=TerminatorLimits,
    says={
        "none": "{subject} ({devices}) has no terminator: its edges come back from both ends.",
        "": "{subject} ({devices}) has {count}, {which}: {seen} between its wires instead of 60 Ω.",
        "one": "{subject} ({devices}) has one terminator of {seen}, in {which}: the other end has none.",
        "value": "{which} on {subject} has {measured} (limit {limit}): {seen} between its wires instead of 60 Ω.",
        "inside": "{device} hangs on {subject} by {measured} beyond {which}, which is not at the end (limit {limit}).",
    },
    remedy={
        "none": "Fit 120 Ω between CAN high and CAN low at each of the two far ends, and nowhere else.",
        "": "Fit 120 Ω between CAN high and CAN low at each of the two far ends, and nowhere else.",
        "one": "Fit 120 Ω between CAN high and CAN low at each of the two far ends, and nowhere else.",
        "value": "Fit 120 Ω there.",
        "inside": "Put the terminator at {device}, or lead the bus past {device} to where the terminator is.",
    },
)  # fmt: skip
def terminators(design: Design, limits: TerminatorLimits) -> Iterator[Outcome]:
    """A CAN bus is not terminated by two resistors at its two ends.

    Why it matters: An edge that meets an open end comes back and falls into the next bits; with one terminator too many
    the drivers cannot make the voltage. A bus on the bench works all the same, and fails hot, long or at full load.
    Reads: Kind, Resistance and Terminator of the component list; Signal, Role and Length.
    Decides: Counts terminators, components of this kind and those listed with a terminator inside: two, each of
    least_ohm to most_ohm. With lengths, no device may hang on further than beyond_m past a terminator, that is where
    its own way off the bus is longer than the terminator's. A component with nothing under Terminator has none, if the
    list tells of any on this bus.
    Stays silent when: there are two, of the right value and at the ends.
    Source: 120 ohm at each far end, 60 ohm seen, 108 to 132 ohm (read, citing ISO 11898-2); ISO 11898-2:2003 has 100 to
    130 ohm and J1939-11 110 to 130 ohm (from memory); 1 m beyond is the longest stub of J1939-11 (read).
    """
    yield from judged_terminators(design, limits.least_ohm, limits.most_ohm, limits.beyond_m)


# --- length -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class LengthLimits:
    """How long a bus may be from end to end, by its bit rate in kbit/s."""

    bus_125k_m: float = limit(500.0, "m", "greatest length at up to 125 kbit/s")
    bus_250k_m: float = limit(250.0, "m", "greatest length at up to 250 kbit/s")
    bus_500k_m: float = limit(100.0, "m", "greatest length at up to 500 kbit/s")
    bus_1000k_m: float = limit(40.0, "m", "greatest length at up to 1000 kbit/s")


@check(
    "bus.length",
    counts="CAN buses with lengths, or with more than one bit rate",
    subjects=lambda design, limits: [bus.subject for bus in with_length_or_rates(design)],
    reads=("length_m", "bit_rate_kbit_s", "signal", "role"),
    limits=LengthLimits,
    says={
        "": "{subject} is {measured} long from {ends} (limit {limit} at {rate} kbit/s).",
        "rates": "The devices on {subject} are listed with different bit rates: {rates}.",
    },
    remedy={
        "": "Lead it a shorter way, or set all devices on it to a lower bit rate.",
        "rates": "Set all devices on the bus to one bit rate, or correct the list.",
    },
)
def length(design: Design, limits: LengthLimits) -> Iterator[Outcome]:
    """A CAN bus is too long for its bit rate, or has more than one.

    Why it matters: A bit must get to the far end and the answer back before it is sampled; beyond that two devices talk
    over each other and neither knows. Devices at unlike rates do not talk at all, and stop the rest.
    Reads: Length of the wire list; Bit rate of the component list; Signal and Role.
    Decides: The length in m along the wires between its two terminators, else between the two devices furthest apart,
    against the limit for its bit rate: the fastest that is listed, else bus_kbit_s. A rate between two has the limit of
    the faster one.
    Stays silent when: it is within the limit, and no two devices are listed with unlike rates. A bus none of whose
    wires has a length isn't looked at.
    Source: 40 m at 1 Mbit/s, 100 m at 500, 250 m at 250, 500 m at 125 kbit/s, as two controller manuals print them
    (read). Others have less: 25 m at 1 Mbit/s, 80 m at 500, 200 m at 250 kbit/s (read); J1939-11 has 40 m at 250 kbit/s
    (read).
    """
    yield from too_long_buses(design, limits)


# --- stubs ------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class StubLimits:
    """How long the way off a bus to a device may be, by its bit rate in kbit/s."""

    stub_125k_m: float = limit(1.0, "m", "greatest stub at up to 125 kbit/s")
    stub_250k_m: float = limit(1.0, "m", "greatest stub at up to 250 kbit/s")
    stub_500k_m: float = limit(0.3, "m", "greatest stub at up to 500 kbit/s")
    stub_1000k_m: float = limit(0.3, "m", "greatest stub at up to 1000 kbit/s")


@check(
    "bus.stub",
    counts="devices on CAN buses with lengths, the two at the ends aside",
    subjects=lambda design, limits: [subject for subject, _, _ in stubs(design)],
    reads=("length_m", "bit_rate_kbit_s", "signal", "role"),
    limits=StubLimits,
    says={
        "": "{device} hangs on bus {bus} by a stub of {measured} (limit {limit} at {rate} kbit/s): what comes back "
        "from its end falls into the edges of all others.",
    },
    remedy={"": "Lead the bus itself to {device} and on from there, or shorten its stub to {limit}."},
)
def stub(design: Design, limits: StubLimits) -> Iterator[Outcome]:
    """A device hangs on a CAN bus by too long a stub.

    Why it matters: A stub is an open end without a terminator. The longer it is against the edges of the signal, the
    later and the larger its echo.
    Reads: Length of the wire list; Bit rate of the component list; Signal and Role.
    Decides: In m, the way from the device to the nearest place of the bus between its two terminators, or between the
    two devices furthest apart where there are not two of them, against the limit for the bit rate: the fastest that is
    listed, else bus_kbit_s. A rate between two has the limit of the faster one. The longer of its two wires counts.
    Stays silent when: the stub is within the limit. A bus none of whose wires has a length isn't looked at.
    Source: 0.3 m at 1 Mbit/s, an engine-controller manual that credits ISO 11898 (read); 0.3 m at 500 kbit/s, SAE
    J2284-3 with 20 devices (read); 1 m at 250 kbit/s, SAE J1939-11 (read), and kept for slower ones. Others allow more:
    1.5 m at 1 Mbit/s, by CiA 5.5 m at 500, 11 m at 250 and 22 m at 125 kbit/s (read); 3 m by J1939-15 (from memory).
    """
    yield from too_long_stubs(design, limits)


# --- twist ------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class TwistLimits:
    """How closely the two wires of a bus are twisted."""

    lay_mm: float = limit(40.0, "mm", "greatest length of one full turn of the pair")
    untwisted_mm: float = limit(50.0, "mm", "greatest length left untwisted, at a connector or as a whole wire")


@check(
    "bus.twisted",
    counts="CAN buses",
    subjects=_buses,
    reads=("twist", "lay_m", "untwisted_m", "length_m", "signal", "role"),
    limits=TwistLimits,
    says={
        "": "{subject} is not twisted over its whole way: {wires} {lie} with no wire of the other side.",
        "lay": "In {subject} {wires} {has} a lay of {measured} (limit {limit}).",
        "untwisted": "In {subject} {wires} {is_} left untwisted for {measured} at one end (limit {limit}).",
    },
    remedy={
        "": "Twist CAN high with CAN low over the whole way, stubs and terminators too; give each pair a twist group.",
        "lay": "Twist with a lay of {limit} or less.",
        "untwisted": "Carry the twist up to the terminals; leave {limit} at most.",
    },
)
def twisted(design: Design, limits: TwistLimits) -> Iterator[Outcome]:
    """The two wires of a CAN bus are not twisted with each other, or too loosely.

    Why it matters: Its receivers take the difference of the two wires. What the ignition induces is the same in both
    only where they lie in the same place, turn by turn; side by side the pair is a loop that also radiates.
    Reads: Twist group, Lay, Untwisted end and Length of the wire list; Signal and Role.
    Decides: Every wire of CAN high shares its twist group with a wire of CAN low of the same bus, and the other way
    round; a wire no longer than untwisted_mm need not. The lay of these groups, where it is given, is at most lay_mm,
    and an untwisted end at most untwisted_mm.
    Stays silent when: all are twisted and within; a lay or untwisted end that is not given is taken as right.
    Source: one twist per 40 mm, an engine-controller manual (read); 33 to 50 turns per metre by SAE J2284 and ISO
    11783-2, and at most 50 mm untwisted at a connector (from memory).
    """
    groups = design.twist_groups
    listed = "twist" in design.harness.columns or bool(groups)
    for bus in design.buses:
        sides = [{wire.name for wire in line.wires} for line in bus.lines]
        every = {wire.name: wire for line in bus.lines for wire in line.wires}
        if not listed and every:
            marks = tuple(Mark(w.place.of("wire", "from_item"), f"wire {w.name}") for w in every.values())
            yield Undecided(bus.subject, ("the twist group of its wires (the list has no such column)",), marks)
            continue
        loose: list[Wire] = []
        for own, line in zip(sides, bus.lines, strict=True):
            for wire in line.wires:
                short = wire.length_m is not None and wire.length_m * 1000.0 <= limits.untwisted_mm
                group = groups.get(fold(wire.twist), ()) if wire.twist else ()
                partner = any(other.name in every and other.name not in own for other in group)
                if not partner and not short:
                    loose.append(wire)
        if loose:
            marks = tuple(Mark(w.place.of("twist", "wire", "from_item"), f"wire {w.name}") for w in loose)
            lie = "lies" if len(loose) == 1 else "lie"
            yield Finding(bus.subject, marks, {"wires": wires_named(loose), "lie": lie})
            continue
        for column, allowed_mm, variant in (
            ("lay_m", limits.lay_mm, "lay"), ("untwisted_m", limits.untwisted_mm, "untwisted"),
        ):  # fmt: skip
            over = [w for w in every.values() if beyond((getattr(w, column) or 0.0) * 1000.0, allowed_mm)]
            if over:
                worst_mm = max(getattr(wire, column) for wire in over) * 1000.0
                yield Finding(
                    bus.subject, tuple(Mark(w.place.of(column), f"wire {w.name}") for w in over),
                    {"wires": wires_named(over), "has": "has" if len(over) == 1 else "have",
                     "is_": "is" if len(over) == 1 else "are"},
                    round(worst_mm, 6), allowed_mm, "mm", variant=variant,
                )  # fmt: skip
                break


# --- polarity ---------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class PolarityLimits:
    """Base colours of the two wires, IEC 60757 letters."""

    high_colours: tuple[str, ...] = limit(("YE",), "", "base colours that mean CAN high")
    low_colours: tuple[str, ...] = limit(("GN",), "", "base colours that mean CAN low")


@check(
    "bus.polarity",
    counts="CAN buses",
    subjects=_buses,
    reads=("signal", "role", "colour", "from_cavity", "to_cavity"),
    limits=PolarityLimits,
    says={
        "crossed": "CAN high and CAN low of {subject} change places: {where}.",
        "joined": "CAN high and CAN low of {subject} are one piece of copper: {where}.",
        "signal": "Wire {wire} of {subject} is called {said}, and what it joins is {side}.",
        "colour": "Wire {wire} of {subject} is {side}, and its colour {colour} means {other}.",
        "same colour": "{colour} is on both wires of {subject}: {high} on CAN high, {low} on CAN low.",
    },
    remedy={
        "crossed": "Put the two wires into each other's cavities there, or correct the lists.",
        "joined": "Take the wire away that joins them.",
        "signal": "Correct its signal, or put it into the cavity of {said}.",
        "colour": "Check its cavities at both ends; if they are right, take the colour of {side}.",
        "same colour": "Keep one colour for CAN high and another for CAN low over the whole bus.",
    },
)  # fmt: skip
def polarity(design: Design, limits: PolarityLimits) -> Iterator[Outcome]:
    """CAN high and CAN low change places, or their colours and names say so.

    Why it matters: A device with its two wires the wrong way round hears nothing and disturbs all others; on the bench
    it looks like a dead bus, and the fault is in the last place looked at.
    Reads: Signal and Role of the pin list, Signal, Colour and cavities of the wire list.
    Decides: All contacts that the copper of one wire joins must be CAN high, those of the other CAN low, as their role
    or signal says. A wire's own signal must be that of what it joins. A wire whose base colour is one of the other
    side's contradicts it, and so does one full colour that is on both wires.
    Stays silent when: names and colours agree, or all wires of the bus have one colour. Colours other than these tell
    nothing here: there is no one code that all follow.
    Source: SAE J1939-11, CAN high yellow, CAN low green (read); other makers' codes differ, set them as limits.
    """
    for bus in design.buses:
        if bus.high is None or bus.low is None:
            there, lacks = ("CAN low", "CAN high") if bus.high is None else ("CAN high", "CAN low")
            joined = crossings(design, bus)
            if joined is not None:
                yield joined
                continue
            yield Undecided(bus.subject, (f"{lacks} that goes with {there} of {bus.name}",), bus_marks(design, bus))
            continue
        yield from (
            found
            for found in [
                crossings(design, bus)
                or other_signals(bus)
                or other_colours(bus, limits.high_colours, limits.low_colours)
                or same_colours(bus)
            ]
            if found is not None
        )
