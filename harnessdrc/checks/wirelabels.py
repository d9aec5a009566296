"""What cells say of a wire's insulation and size, where that decides nothing or two things at once."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from harnessdrc.design import Design
from harnessdrc.design.conductors import conductor_mm2
from harnessdrc.findings import Finding, Mark, Subject, figures
from harnessdrc.harness.elements import Wire
from harnessdrc.harness.names import natural_key
from harnessdrc.physics.insulation import read_insulation
from harnessdrc.places import Place
from harnessdrc.units import Size

__all__ = ["insulation_subjects", "insulations", "size_subjects", "two_sizes"]

_MARKED = 200
"""So many cells of one text are marked; the sentence counts all."""
_TOLD_CANDIDATES = 6
_RISE_K = 40.0
"""Rise that the currents of two labels are compared at: from 85 to 125 °C, one wire in free air."""


# ---------------------------------------------------------------------- insulation
def _by_text(design: Design) -> dict[str, list[Wire]]:
    """Wires by the words of their insulation, blanks aside; each text as first written."""
    spelt: dict[str, str] = {}
    found: dict[str, list[Wire]] = {}
    for wire in design.harness.wires:
        text = wire.insulation
        if text:
            key = spelt.get(text)
            if key is None:
                key = spelt[text] = " ".join(text.split())
            if key:
                found.setdefault(key, []).append(wire)
    return found


def _subject(text: str) -> Subject:
    return ("insulation", text)


def insulation_subjects(design: Design) -> list[Subject]:
    """Every distinct text of an insulation."""
    return [_subject(text) for text in _by_text(design)]


def insulations(design: Design) -> Iterator[Finding]:
    """A finding for each text that no published class follows from."""
    for text, wires in _by_text(design).items():
        reading = read_insulation(text)
        if reading.insulation is not None:
            continue
        ordered = sorted(wires, key=lambda wire: (wire.place.file, wire.place.sheet, wire.place.row))
        names = sorted((wire.name for wire in wires), key=natural_key)
        candidates = reading.candidates
        may_be = ", ".join(candidates[:_TOLD_CANDIDATES])
        if len(candidates) > _TOLD_CANDIDATES:
            may_be += f" or {len(candidates) - _TOLD_CANDIDATES} more"
        yield Finding(
            _subject(text),
            tuple(Mark(wire.place.of("insulation", "wire"), "temperature not known") for wire in ordered[:_MARKED]),
            {
                "text": text, "wires": "1 wire" if len(wires) == 1 else f"{len(wires)} wires", "wire": names[0],
                "may_be": may_be, "candidates": list(candidates),
            },
            variant="ambiguous" if candidates else "",
        )  # fmt: skip


# ---------------------------------------------------------------------- two sizes in one cell
class _TwoSizes(NamedTuple):
    """A wire or strap with a size of each system in one cell."""

    subject: Subject
    size: Size
    place: Place | None


def _sized(design: Design) -> Iterator[_TwoSizes]:
    for wire in design.harness.wires:
        if wire.size is not None:
            yield _TwoSizes(("wire", wire.name), wire.size, wire.place.of("size", "wire") if wire.size.also else None)
    for strap in design.harness.straps:
        if strap.size is not None:
            yield _TwoSizes(("strap", strap.name), strap.size, strap.place)


def size_subjects(design: Design) -> list[Subject]:
    """Every wire and strap with a size."""
    return [each.subject for each in _sized(design)]


def two_sizes(design: Design) -> Iterator[Finding]:
    """A finding for each cell that gives two sizes which are not the same wire."""
    for subject, size, place in _sized(design):
        other = size.also
        if other is None:
            continue
        small_mm2, large_mm2 = conductor_mm2(size), conductor_mm2(other)
        if not small_mm2 or not large_mm2:
            continue  # one that no wire has: another check tells of it
        yield Finding(
            subject,
            (Mark(place, "two sizes in one cell"),) if place else (),
            {
                "text": size.written, "size": str(size), "other": str(other),
                "size_mm2": _three(small_mm2), "other_mm2": _three(large_mm2),
                "size_a": _carries(size), "other_a": _carries(other),
                "more": f"{(large_mm2 / small_mm2 - 1.0) * 100.0:.0f}",
            },
        )  # fmt: skip


def _carries(size: Size) -> str:
    """Current that heats one wire of a size by `_RISE_K` in free air, A."""
    from harnessdrc.physics.free_air import free_air_a

    amps = free_air_a(_RISE_K, awg=size.awg) if size.awg is not None else free_air_a(_RISE_K, csa_mm2=size.csa_mm2)
    return _three(float(amps))


def _three(value: float) -> str:
    return figures(value)
