"""How long CAN buses and their stubs are, against what their bit rate allows."""

from __future__ import annotations

from collections.abc import Iterator

from harnessdrc.checks.buswords import bus_marks
from harnessdrc.design import Design, Device
from harnessdrc.design.buses import Bus
from harnessdrc.findings import Finding, Mark, Subject, Undecided, beyond

__all__ = ["lengths_lacking", "stubs", "too_long_buses", "too_long_stubs", "with_length_or_rates", "with_lengths"]

_RATES_KBIT_S = (125, 250, 500, 1000)
"""Bit rates that limits are given for; a bus at another rate has those of the next one above."""


def with_lengths(design: Design) -> list[Bus]:
    """Buses of which any wire has a length."""
    return [bus for bus in design.buses if any(wire.length_m is not None for line in bus.lines for wire in line.wires)]


def _rate(design: Design, bus: Bus) -> float:
    """Bit rate of a bus, kbit/s: the fastest that is listed, else as given."""
    return max(bus.rates_kbit_s.values(), default=design.given["bus_kbit_s"])


def _at_rate(limits: object, name: str, rate_kbit_s: float) -> float | None:
    """Limit in m for a bit rate; None for one faster than any that there is a limit for."""
    for rate in _RATES_KBIT_S:
        if rate_kbit_s <= rate:
            return float(getattr(limits, f"{name}_{rate}k_m"))
    return None


def lengths_lacking(design: Design, bus: Bus, subject: Subject | None = None) -> Undecided:
    """What lacks before the lengths of a bus are known."""
    lacking = [f"length of wire {wire.name}" for wire in bus.without_length]
    marks = [Mark(wire.place.of("length_m", "wire", "from_item"), f"wire {wire.name}") for wire in bus.without_length]
    return Undecided(
        subject or bus.subject,
        tuple(lacking) or (f"a second device on bus {bus.name}, and how the wires get there",),
        tuple(marks) or bus_marks(design, bus),
    )


def with_length_or_rates(design: Design) -> list[Bus]:
    """Buses of which any wire has a length, or that are listed with unlike bit rates."""
    measured = {bus.name for bus in with_lengths(design)}
    return [bus for bus in design.buses if bus.name in measured or len(set(bus.rates_kbit_s.values())) > 1]


def _too_fast(design: Design, subject: Subject, bus: Bus) -> Undecided:
    missing = f"limits for a bus faster than {_RATES_KBIT_S[-1]} kbit/s, which its devices' makers give"
    return Undecided(subject, (missing,), bus_marks(design, bus))


def too_long_buses(design: Design, limits: object) -> Iterator[Finding | Undecided]:
    """Buses that are longer than ``bus_125k_m`` and so on of the limits, or listed with unlike bit rates."""
    for bus in with_length_or_rates(design):
        rates = bus.rates_kbit_s
        if len(set(rates.values())) > 1:
            said = [f"{name} {rate:g} kbit/s" for name, rate in rates.items()]
            places = [(d, d.item.cell("bit_rate_kbit_s")) for d in bus.devices if d.name in rates]
            marks = tuple(Mark(place, f"bit rate of {device.name}") for device, place in places if place)
            yield Finding(bus.subject, marks, {"rates": ", ".join(said)}, variant="rates")
            continue
        rate = _rate(design, bus)
        allowed_m = _at_rate(limits, "bus", rate)
        trunk = bus.trunk()
        if allowed_m is None:
            yield _too_fast(design, bus.subject, bus)
        elif trunk is None:
            yield lengths_lacking(design, bus)
        elif beyond(trunk.length_m, allowed_m):
            ends = " to ".join(device.name for device in trunk.ends)
            yield Finding(
                bus.subject, bus_marks(design, bus), {"ends": ends, "rate": f"{rate:g}"},
                round(trunk.length_m, 6), allowed_m, "m",
            )  # fmt: skip


def _stub_subject(bus: Bus, device: str) -> Subject:
    return ("stub", f"{device} on bus {bus.name}")


def stubs(design: Design) -> list[tuple[Subject, Bus, Device]]:
    """Devices on buses with lengths, the two at the ends of each aside."""
    found: list[tuple[Subject, Bus, Device]] = []
    for bus in with_lengths(design):
        trunk = bus.trunk()
        ends = {device.key for device in trunk.ends} if trunk else set()
        found += [(_stub_subject(bus, each.name), bus, each) for each in bus.devices if each.key not in ends]
    return found


def too_long_stubs(design: Design, limits: object) -> Iterator[Finding | Undecided]:
    """Devices that hang on their bus by more than ``stub_125k_m`` and so on of the limits."""
    for bus in with_lengths(design):
        trunk = bus.trunk()
        rate = _rate(design, bus)
        allowed_m = _at_rate(limits, "stub", rate)
        for device in bus.devices:
            subject = _stub_subject(bus, device.name)
            if trunk is None:
                yield lengths_lacking(design, bus, subject)
                continue
            if device in trunk.ends or device.key not in trunk.stubs_m:
                continue
            stub_m = round(trunk.stubs_m[device.key], 6)
            if allowed_m is None:
                yield _too_fast(design, subject, bus)
            elif stub_m > allowed_m:
                line = next(line for line in bus.lines if device.key in line.at)
                yield Finding(
                    subject,
                    design.devices.mark(line.at[device.key][0], f"{device.name} on bus {bus.name}"),
                    {"device": device.name, "bus": bus.name, "rate": f"{rate:g}"},
                    stub_m, allowed_m, "m",
                    follows_from=("bus.terminators", bus.subject) if device.key in trunk.beyond else None,
                )  # fmt: skip
