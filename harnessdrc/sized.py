"""Wire sizes, fuses and bundles as plain numbers and names, for the renderers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design import Design
from harnessdrc.design.conductors import conductor_mm2, wire_ohm
from harnessdrc.design.sizing.bundles import ambient_of
from harnessdrc.design.sizing.fed_fuses import unrated_fuses
from harnessdrc.design.sizing.fuse_lines import fuse_lines
from harnessdrc.design.sizing.heating import Sizing
from harnessdrc.design.sizing.needed import NEEDED_GOVERNS, NeededSizes, needed_sizes
from harnessdrc.design.sizing.packs import bundle_lines
from harnessdrc.design.sizing.wire_faults import WireFault, wire_faults
from harnessdrc.findings import Mark
from harnessdrc.harness.elements import Wire
from harnessdrc.physics.bundles import conductor_kg_per_m
from harnessdrc.physics.conductor import COPPER_PER_K
from harnessdrc.results import BundleLine, FuseLine, SizeLine, SizingLimits, SizingOutcome
from harnessdrc.units import Size

__all__ = ["size_lines", "sizing_outcome"]

_MANY_WIRES = 2_000
"""In longer lists not every wire is told."""
_WORTH_TELLING_A = 0.5
_MOST_LINES = 2_000

_NOT_COUNTED = (
    "Not in these figures: sun, hot parts in sight of a wire, moving air, and what a new size changes in its bundle "
    "and in ground offsets. Usual values stand for a branch, zone, insulation or size that is not given."
)


def sizing_outcome(
    design: Design,
    drop_mv: float = 500.0,
    load_percent: float = 100.0,
    fuse_load_percent: float = 80.0,
    clear_s: float = 5.0,
    fill_percent: float = 90.0,
) -> SizingOutcome:
    """Sizes, fuses and bundles of a design.

    Parameters
    ----------
    design : Design
        The design.
    drop_mv : float
        Drop allowed on the feed or on the return of a load, mV, as the rules have it.
    load_percent : float
        Part of the allowed current that a wire may carry, as the rules have it.
    fuse_load_percent : float
        Part of its rating that a fuse may carry for hours, as the rules have it.
    clear_s : float
        Longest time that a fuse may take to clear a short circuit, s, as the rules have it.
    fill_percent : float
        Diameter of a bundle over the inner diameter of its sleeve, at most, as the rules have it.
    """
    sizing = design.sizing
    if np.isnan(sizing.current_a).all():
        wires: tuple[SizeLine, ...] = ()
        copper_g = needed_g = 0.0
        said = ["No wire has a known current: nothing is solved and none is listed."] if design.harness.wires else []
    else:
        both = needed_sizes(design, drop_mv / 1000, clear_s)
        told, said = _told(design, load_percent / 100)
        wires = tuple(size_lines(design, both, told, clear_s))
        copper_g, needed_g = _copper_g(design, both)
        said.append(_NOT_COUNTED)
    fuses = tuple(FuseLine(**facts._asdict()) for facts in fuse_lines(design, clear_s))
    limits = SizingLimits(fuse_load_percent, clear_s, fill_percent)
    return SizingOutcome(wires, fuses, _bundles(design), copper_g, needed_g, tuple(said), limits)


def _told(design: Design, share: float) -> tuple[NDArray[np.intp], list[str]]:
    """Numbers of the wires that are told, and what is said of the others."""
    sizing = design.sizing
    single = np.array([wire.cores == 1 for wire in design.harness.wires], dtype=np.bool_)
    if len(single) <= _MANY_WIRES:
        return np.flatnonzero(single), []
    with np.errstate(divide="ignore", invalid="ignore"):
        load = np.nan_to_num(sizing.current_high_a / (sizing.allowed_low_a * share), posinf=np.inf)
    worth = np.flatnonzero(single & ((np.nan_to_num(sizing.current_a) >= _WORTH_TELLING_A) | (load > 1.0)))
    said = [
        f"In lists of more than {_MANY_WIRES:,} wires those below {_WORTH_TELLING_A:g} A are not told one by one, and "
        f"of the others the {_MOST_LINES:,} that are nearest to what they may carry."
    ]
    order = worth[np.argsort(-load[worth], kind="stable")][:_MOST_LINES]
    return np.sort(order), said


_T = TypeVar("_T")


def size_lines(
    design: Design, both: tuple[NeededSizes, NeededSizes], told: NDArray[np.intp], clear_s: float
) -> Iterator[SizeLine]:
    """Lines of some wires, made of whole columns.

    Parameters
    ----------
    design : Design
        The design.
    both : tuple of NeededSizes
        Gauges and cross-sections that the wires of the list need.
    told : ndarray of int
        Numbers of the wires, none of them a cable.
    clear_s : float
        Time within which a fuse should clear a short circuit, s.
    """
    sizing = design.sizing
    wires = [design.harness.wires[number] for number in told.tolist()]
    sized, code = _coded([wire.size for wire in wires])
    listed = np.array([size is not None for size in sized], dtype=np.bool_)[code]
    length_m = sizing.length_m[told].astype(np.float64)

    current, high = sizing.current_a[told], sizing.current_high_a[told]
    low, usual, most = sizing.allowed_low_a[told], sizing.allowed_a[told], sizing.allowed_high_a[told]
    known = (low == most) & (current == high)
    allowed = np.where(listed, np.where(known, usual, low).astype(np.float64), np.nan)
    with np.errstate(divide="ignore", invalid="ignore"):
        margin = np.where(current != 0.0, allowed / current.astype(np.float64) - 1.0, np.nan)
    hot = sizing.conductor_degc[told].astype(np.float64)
    ohm_per_m = np.array([_number(wire_ohm(size, 1.0, 20.0)) for size in sized])[code]
    drop_mv = sizing.average_a[told] * ohm_per_m * length_m * (1.0 + COPPER_PER_K * (hot - 20.0)) * 1000.0

    awg, mm2 = both
    gauged = np.array([size is not None and size.awg is not None for size in sized], dtype=np.bool_)[code]
    governs = np.where(gauged, awg.governs[told], mm2.governs[told])
    grams = np.array([_grams_of(size) for size in sized])[code] * length_m
    needed_g = np.where(gauged, *(_grams_per_m(each.system, each.size[told]) for each in both)) * length_m
    faults = wire_faults(design, told, np.where(_own_gauge(sizing), awg.fuse_fails, mm2.fuse_fails), clear_s)

    surely = current > most * np.float32(1.0 + 1e-5)
    states = [sizing.state_name(number) for number in told.tolist()]
    texts = ["" if size is None else str(size) for size in sized]
    lacking = _lacking(design, wires, current, high, [NEEDED_GOVERNS[each] for each in governs.tolist()], faults)
    if not wires:
        return
    yield from map(
        SizeLine,
        [wire.name for wire in wires], [texts[each] for each in code.tolist()],
        _values(current), _values(sizing.peak_a[told]), states, _values(allowed),
        _values(sizing.ambient_degc[told]), _values(sizing.rated_degc[told]),
        sizing.bundle_wires[told].tolist(), _values(sizing.bundle_loading[told]),
        _values(np.where(listed, hot, np.nan)), _values(drop_mv), _names(awg, told), _names(mm2, told),
        [NEEDED_GOVERNS[each] for each in governs.tolist()], _values(margin), _values(grams), _values(needed_g),
        lacking, [Mark(wire.place.of("size", "wire"), f"wire {wire.name}") for wire in wires],
        *zip(*faults, strict=True), surely.tolist(),
    )  # fmt: skip


def _coded(values: Sequence[_T]) -> tuple[list[_T], NDArray[np.intp]]:
    """Distinct objects, and the number of each in them: equal sizes of a list are one object."""
    numbers: dict[int, int] = {}
    distinct: list[_T] = []
    code = []
    for value in values:
        number = numbers.setdefault(id(value), len(distinct))
        if number == len(distinct):
            distinct.append(value)
        code.append(number)
    return distinct, np.array(code, dtype=np.intp)


def _values(values: NDArray[np.floating]) -> list[float | None]:
    """Numbers with None for NaN."""
    return [None if value != value else value for value in values.tolist()]


def _number(value: float | None) -> float:
    return np.nan if value is None else value


def _own_gauge(sizing: Sizing) -> NDArray[np.bool_]:
    return ~np.isnan(sizing.awg)


def _lacking(
    design: Design,
    wires: Sequence[Wire],
    current: NDArray[np.float32],
    high: NDArray[np.float32],
    governs: Sequence[str],
    faults: Sequence[WireFault],
) -> Iterator[tuple[str, ...]]:
    """Data that the figures of each wire lack; those of its short circuit where that decides on its size."""
    sizing, unrated = design.sizing, unrated_fuses(design)
    unknown = np.isnan(current)
    open_ended = (high > current) & ~unknown
    for wire, lost, more, why, fault in zip(
        wires, unknown.tolist(), open_ended.tolist(), governs, faults, strict=True
    ):
        found = sizing.lacks_where_it_lies(wire)
        if lost:
            found = (f"current of wire {wire.name}", *found)
        elif more:
            found = (f"current of loads on wire {wire.name}", *found)
        if wire.name in unrated:
            found = (*found, *(f"rating of {name}" for name in unrated[wire.name]))
        if wire.length_m is None:
            found = (*found, f"length of wire {wire.name}")
        if why == "short circuit" and fault.lacking:
            found = tuple(dict.fromkeys((*found, *fault.lacking)))
        yield found


def _names(needed: NeededSizes, told: NDArray[np.intp]) -> list[str]:
    distinct, which = np.unique(needed.size[told], return_inverse=True)
    names = ["" if value != value else str(_made(needed.system, value)) for value in distinct.tolist()]
    return [names[each] for each in which.reshape(-1).tolist()]


def _made(system: str, value: float) -> Size:
    return Size("", "awg", awg=int(value)) if system == "awg" else Size("", "mm2", csa_mm2=round(value, 3))


def _grams_of(size: Size | None) -> float:
    """Copper of a wire, g/m; NaN where its size is not known."""
    area_mm2 = conductor_mm2(size)
    return conductor_kg_per_m(area_mm2) * 1000 if area_mm2 else np.nan


def _copper_g(design: Design, both: tuple[NeededSizes, NeededSizes]) -> tuple[float, float]:
    """Copper of all wires of which size, length and needed size are known, as listed and as needed, g."""
    sizing = design.sizing
    listed_g = needed_g = 0.0
    for needed, own in zip(both, (sizing.awg, sizing.csa_mm2), strict=True):
        known = ~np.isnan(own + needed.size + sizing.length_m)
        length_m = sizing.length_m[known].astype(np.float64)
        listed_g += float(np.nan_to_num(_grams_per_m(needed.system, own[known])) @ length_m)
        needed_g += float(np.nan_to_num(_grams_per_m(needed.system, needed.size[known])) @ length_m)
    return listed_g, needed_g


def _grams_per_m(system: str, sizes: NDArray[np.float32]) -> NDArray[np.float64]:
    distinct, which = np.unique(sizes, return_inverse=True)
    grams = [np.nan if value != value else _grams_of(_made(system, value)) for value in distinct.tolist()]
    return np.array(grams, dtype=np.float64)[which.reshape(-1)]


def _bundles(design: Design) -> tuple[BundleLine, ...]:
    lines = []
    for pack in bundle_lines(design):
        ambient = ambient_of(pack.zone, design.given)
        degc = ambient.usual_degc if ambient.known else None
        lines.append(
            BundleLine(
                pack.branch, pack.wires, pack.diameter_mm, pack.bend_mm, pack.sleeve_mm, pack.copper_g, degc,
                pack.lacking if ambient.known else (*pack.lacking, f"zone of branch {pack.branch}"), pack.mark,
                pack.sleeve_shrunk_mm,
            )
        )  # fmt: skip
    return tuple(lines)
