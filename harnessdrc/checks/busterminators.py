"""Terminators of CAN buses: how many, of what resistance, and whether they stand at the ends."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from harnessdrc.checks.buslengths import lengths_lacking
from harnessdrc.checks.buswords import TOLD, bus_marks, named
from harnessdrc.design import Design
from harnessdrc.design.buses import Bus, Terminator
from harnessdrc.findings import Finding, Mark, Undecided, beyond

__all__ = ["judged_terminators"]


def _seen(found: Sequence[Terminator]) -> str:
    """Resistance between the wires of a bus, in words; a terminator of unknown value is taken as 120 Ω."""
    whole = sum(1.0 / (each.ohm or 120.0) for each in found)
    about = "about " if any(each.ohm is None for each in found) else ""
    return f"{about}{1.0 / whole:.0f} Ω" if whole else "no resistance"


def _terminator_marks(design: Design, bus: Bus, found: Sequence[Terminator]) -> tuple[Mark, ...]:
    marks = []
    for each in found:
        place = each.device.item.cell("terminator_ohm" if each.device.item.details.terminator_ohm else "resistance_ohm")
        marks += [Mark(place, f"terminator in {each.device.name}")] if place else []
    return tuple(marks) or bus_marks(design, bus)


def judged_terminators(
    design: Design, least_ohm: float, most_ohm: float, beyond_m: float
) -> Iterator[Finding | Undecided]:
    """Buses without two terminators of least_ohm to most_ohm, or with a device more than beyond_m past one."""
    for bus in design.buses:
        found = bus.terminators
        others = [device.name for device in bus.devices if device.kind != "terminator"]
        evidence = {
            "devices": named(others) or "nothing else on it", "count": f"{len(found)} terminators",
            "which": named([each.device.name for each in found]), "seen": _seen(found),
        }  # fmt: skip
        if len(others) < 2 and len(found) < 2:
            yield Undecided(bus.subject, (f"what bus {bus.name} leads to",), bus_marks(design, bus))
        elif not found and not bus.terminators_told:
            missing = tuple(f"whether {name} holds a terminator (column Terminator)" for name in others[:TOLD])
            yield Undecided(bus.subject, missing, bus_marks(design, bus))
        elif not found:
            yield Finding(bus.subject, bus_marks(design, bus), evidence, variant="none")
        elif len(found) == 1:
            yield Finding(bus.subject, _terminator_marks(design, bus, found), evidence, variant="one")
        elif len(found) != 2:
            yield Finding(bus.subject, _terminator_marks(design, bus, found), evidence)
        else:
            yield from _two_terminators(design, bus, evidence, least_ohm, most_ohm, beyond_m)


def _two_terminators(
    design: Design, bus: Bus, evidence: Mapping[str, str], least_ohm: float, most_ohm: float, beyond_m: float
) -> Iterator[Finding | Undecided]:
    wrong = [(each.ohm, each) for each in bus.terminators if each.ohm is not None]
    wrong = [(ohm, each) for ohm, each in wrong if not least_ohm <= ohm <= most_ohm]
    if wrong:
        ohm, each = wrong[0]
        marks = _terminator_marks(design, bus, [each for _, each in wrong])
        allowed = least_ohm if ohm < least_ohm else most_ohm
        yield Finding(bus.subject, marks, {**evidence, "which": each.device.name}, ohm, allowed, "ohm", variant="value")
        return
    unsaid = [each for each in bus.terminators if each.ohm is None]
    lengths = any(wire.length_m is not None for line in bus.lines for wire in line.wires)
    trunk = bus.trunk() if lengths else None
    if trunk is not None and trunk.beyond:
        device = max(trunk.beyond, key=lambda key: (trunk.stubs_m[key], key))
        stub_m = trunk.stubs_m[device]
        if beyond(stub_m, beyond_m):
            there = design.devices.by_key[device]
            line = next(line for line in bus.lines if device in line.at)
            yield Finding(
                bus.subject,
                (
                    *_terminator_marks(design, bus, [t for t in bus.terminators if t.device is trunk.beyond[device]]),
                    *design.devices.mark(line.at[device][0], f"{there.name}, further out"),
                ),
                {**evidence, "device": there.name, "which": trunk.beyond[device].name},
                round(stub_m, 6), beyond_m, "m", variant="inside",
            )  # fmt: skip
            return
    if unsaid:
        yield Undecided(
            bus.subject,
            tuple(f"resistance of {each.device.name}" for each in unsaid),
            _terminator_marks(design, bus, unsaid),
        )
    elif lengths and trunk is None:
        yield lengths_lacking(design, bus)
