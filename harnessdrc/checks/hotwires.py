"""Wires that carry more than the temperature of their insulation allows where they lie."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design import Design
from harnessdrc.design.sizing.needed import System, heat_sizes
from harnessdrc.findings import Finding, Mark, Subject, Undecided, figures
from harnessdrc.harness.elements import Wire
from harnessdrc.units import Size

__all__ = ["hot_wires", "loaded_wires"]

_ROUNDING = 1.0 + 1e-5
"""The arrays have seven figures."""
_DIGITS = 3


def loaded_wires(design: Design) -> list[Subject]:
    """Every wire whose current is known."""
    known = ~np.isnan(design.sizing.current_a)
    return [("wire", design.harness.wires[number].name) for number in np.flatnonzero(known).tolist()]


def hot_wires(design: Design, load_percent: float) -> Iterator[Finding | Undecided]:
    """A finding for each wire that carries too much whatever is lacking; undecided where what is lacking decides."""
    sizing, share = design.sizing, load_percent / 100
    current_a = sizing.current_a
    hopeless = (sizing.allowed_high_a == 0.0) & ~np.isnan(current_a)
    over = hopeless | (current_a > sizing.allowed_high_a * share * _ROUNDING)
    perhaps = sizing.current_high_a > sizing.allowed_low_a * share * _ROUNDING
    needed = _needed(design, np.flatnonzero(over & ~hopeless), load_percent)
    for number in np.flatnonzero(over | perhaps).tolist():
        if hopeless[number]:
            yield _too_hot_a_place(design, number)
        elif over[number]:
            yield _finding(design, number, load_percent, needed.get(number))
        else:
            yield _undecided(design, number, load_percent)


def _needed(design: Design, numbers: NDArray[np.intp], load_percent: float) -> dict[int, Size]:
    """Smallest size, of its own system, that carries the current of each wire; without those that none does."""
    found: dict[int, Size] = {}
    if not load_percent:
        return found
    gauged = ~np.isnan(design.sizing.awg[numbers])
    systems: tuple[System, System] = ("awg", "mm2")
    for system in systems:
        chosen = numbers[gauged if system == "awg" else ~gauged]
        current_a = design.sizing.current_a[chosen].astype(np.float64) * 100 / load_percent
        sizes = heat_sizes(design, system, chosen, current_a) if chosen.size else current_a
        for number, size in zip(chosen.tolist(), sizes.tolist(), strict=True):
            if not np.isnan(size):
                found[number] = Size("", "awg", awg=int(size)) if system == "awg" else Size("", "mm2", csa_mm2=size)
    return found


def _mark(wire: Wire, column: str) -> tuple[Mark, ...]:
    return (Mark(wire.place.of(column, "wire"), f"wire {wire.name}"),)


def _too_hot_a_place(design: Design, number: int) -> Finding:
    load, wire = design.sizing.at(number), design.harness.wires[number]
    evidence = {"insulation": wire.insulation or "not given", "branch": wire.branch or "not given"}
    column = "insulation" if wire.insulation else "branch"
    return Finding(
        ("wire", wire.name), _mark(wire, column), evidence, load.ambient_degc, load.rated_degc, "degC", "ambient"
    )


def _finding(design: Design, number: int, load_percent: float, needed: Size | None) -> Finding:
    load, wire = design.sizing.at(number), design.harness.wires[number]
    assert load.current_a is not None and load.allowed_high_a is not None and load.conductor_degc is not None
    bundle = f"in a bundle of {load.bundle_wires} wires" if load.bundle_wires > 1 else "alone"
    evidence = {
        "size": "size not given" if wire.size is None else str(wire.size),
        "current": f"{figures(load.current_a)} A",
        "current_a": load.current_a,
        "allowed": f"{figures(load.allowed_high_a)} A",
        "allowed_a": load.allowed_high_a,
        "when": f"at {load.state}" if load.state and load.state != "as listed" else "as listed",
        "bundle": bundle,
        "conductor": f"{load.conductor_degc:.0f} °C",
        "conductor_degc": load.conductor_degc,
        "ambient": f"{load.ambient_degc:.0f} °C",
        "rated": f"{load.rated_degc:.0f} °C",
        "needed": "" if needed is None else str(needed),
        "advice": _advice(needed),
        "lacking": list(load.lacking),
    }
    percent = round(100.0 * load.current_a / load.allowed_high_a, _DIGITS)
    return Finding(("wire", wire.name), _mark(wire, "size"), evidence, percent, load_percent, "percent")


def _advice(needed: Size | None) -> str:
    other = "an insulation that bears more, or lead it apart from the loaded wires or through a cooler place"
    return f"No size does here: take {other}." if needed is None else f"Make it {needed} or larger, or take {other}."


def _undecided(design: Design, number: int, load_percent: float) -> Undecided:
    load, wire = design.sizing.at(number), design.harness.wires[number]
    assert load.current_a is not None and load.current_high_a is not None
    assert load.allowed_low_a is not None and load.allowed_high_a is not None
    low = 100.0 * load.current_a / load.allowed_high_a if load.allowed_high_a else None
    high = 100.0 * load.current_high_a / load.allowed_low_a if load.allowed_low_a else None
    column = "size" if wire.size is None else "branch" if not wire.branch else "insulation"
    return Undecided(("wire", wire.name), load.lacking, _mark(wire, column), low, high, load_percent, "percent")
