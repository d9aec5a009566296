"""Wire sizes, fuses and bundles as plain numbers and names, for the renderers."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design import Design
from harnessdrc.design.conductors import conductor_mm2, wire_ohm
from harnessdrc.design.sizing.bundles import ambient_of
from harnessdrc.design.sizing.needed import NEEDED_GOVERNS, NeededSizes, needed_sizes
from harnessdrc.design.sizing.packs import bundle_lines
from harnessdrc.design.sizing.protection import fuse_lines
from harnessdrc.findings import Mark
from harnessdrc.harness.elements import Wire
from harnessdrc.physics.bundles import conductor_kg_per_m
from harnessdrc.results import BundleLine, FuseLine, SizeLine, SizingOutcome
from harnessdrc.units import Size

__all__ = ["sizing_outcome"]

_MANY_WIRES = 2_000
"""In longer lists not every wire is told."""
_WORTH_TELLING_A = 0.5
_MOST_LINES = 2_000

_NOT_COUNTED = (
    "Not in these figures: sun, hot parts in sight of a wire, moving air, and what a new size changes in its bundle "
    "and in ground offsets. Usual values stand for a branch, zone, insulation or size that is not given."
)


def sizing_outcome(design: Design, drop_mv: float = 500.0, load_percent: float = 100.0) -> SizingOutcome:
    """Sizes, fuses and bundles of a design.

    Parameters
    ----------
    design : Design
        The design.
    drop_mv : float
        Drop allowed on the feed or on the return of a load, mV, as the rules have it.
    load_percent : float
        Part of the allowed current that a wire may carry, as the rules have it.
    """
    sizing = design.sizing
    if np.isnan(sizing.current_a).all():
        wires: tuple[SizeLine, ...] = ()
        copper_g = needed_g = 0.0
        said = ["No wire has a known current: nothing is solved and none is listed."] if design.harness.wires else []
    else:
        both = needed_sizes(design, drop_mv / 1000)
        told, said = _told(design, load_percent / 100)
        wires = tuple(_line(design, both, number) for number in told.tolist())
        copper_g, needed_g = _copper_g(design, both)
        said.append(_NOT_COUNTED)
    fuses = tuple(FuseLine(**facts._asdict()) for facts in fuse_lines(design))
    return SizingOutcome(wires, fuses, _bundles(design), copper_g, needed_g, tuple(said))


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


def _line(design: Design, both: tuple[NeededSizes, NeededSizes], number: int) -> SizeLine:
    sizing = design.sizing
    wire, load = design.harness.wires[number], sizing.at(number)
    awg, mm2 = both
    own = awg if wire.size is not None and wire.size.awg is not None else mm2
    lacking = load.lacking if wire.length_m is not None else (*load.lacking, f"length of wire {wire.name}")
    known = load.allowed_low_a == load.allowed_high_a and load.current_a == load.current_high_a
    allowed_a = load.allowed_a if known else load.allowed_low_a
    margin = None
    if wire.size is not None and allowed_a is not None and load.current_a:
        margin = allowed_a / load.current_a - 1.0
    return SizeLine(
        wire.name,
        "" if wire.size is None else str(wire.size),
        load.current_a,
        load.peak_a,
        load.state,
        None if wire.size is None else allowed_a,
        load.ambient_degc,
        load.rated_degc,
        load.bundle_wires,
        load.bundle_loading,
        None if wire.size is None else load.conductor_degc,
        _drop_mv(wire, load.average_a, load.conductor_degc),
        _named(awg, number),
        _named(mm2, number),
        NEEDED_GOVERNS[own.governs[number]],
        margin,
        _grams(wire.size, wire.length_m),
        _grams(_size(own, number), wire.length_m),
        lacking,
        Mark(wire.place.of("size", "wire"), f"wire {wire.name}"),
    )


def _drop_mv(wire: Wire, current_a: float | None, t_degc: float | None) -> float | None:
    if current_a is None or t_degc is None:
        return None
    ohm = wire_ohm(wire.size, wire.length_m, t_degc)
    return None if ohm is None else current_a * ohm * 1000


def _made(system: str, value: float) -> Size:
    return Size("", "awg", awg=int(value)) if system == "awg" else Size("", "mm2", csa_mm2=round(value, 3))


def _size(needed: NeededSizes, number: int) -> Size | None:
    value = float(needed.size[number])
    return None if np.isnan(value) else _made(needed.system, value)


def _named(needed: NeededSizes, number: int) -> str:
    size = _size(needed, number)
    return "" if size is None else str(size)


def _grams(size: Size | None, length_m: float | None) -> float | None:
    """Copper of a wire, g."""
    area_mm2 = conductor_mm2(size)
    return conductor_kg_per_m(area_mm2) * length_m * 1000 if area_mm2 and length_m is not None else None


def _copper_g(design: Design, both: tuple[NeededSizes, NeededSizes]) -> tuple[float, float]:
    """Copper of all wires of which size, length and needed size are known, as listed and as needed, g."""
    sizing = design.sizing
    listed_g = needed_g = 0.0
    for needed, own in zip(both, (sizing.awg, sizing.csa_mm2), strict=True):
        known = ~np.isnan(own + needed.size + sizing.length_m)
        length_m = sizing.length_m[known].astype(np.float64)
        listed_g += float(_grams_per_m(needed.system, own[known]) @ length_m)
        needed_g += float(_grams_per_m(needed.system, needed.size[known]) @ length_m)
    return listed_g, needed_g


def _grams_per_m(system: str, sizes: NDArray[np.float32]) -> NDArray[np.float64]:
    distinct, which = np.unique(sizes, return_inverse=True)
    grams = [_grams(_made(system, value), 1.0) or 0.0 for value in distinct.tolist()]
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
            )
        )  # fmt: skip
    return tuple(lines)
