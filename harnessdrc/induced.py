"""Loops and noise margins as plain numbers and names, for the renderers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from harnessdrc.design import Design
from harnessdrc.design.loops import Loop, Margin, PairRun, Pickup
from harnessdrc.results import InductionOutcome, LoopLine, PickupLine, SettingLine, TriggerLine

__all__ = ["induction_outcome"]

_MOST_WIRES = 2_000
"""In longer lists the loops of primary currents and injectors are not told one by one."""
_PICKUPS = 6
"""So many loops, those that induce most, are told for each sensor."""

_BRANCHES_ONLY = (
    "Loops without coordinates are counted in the margins only where they share a branch with the trigger pair."
)


def induction_outcome(design: Design, limit_db: float | None) -> InductionOutcome:
    """Loops and margins of a design.

    Parameters
    ----------
    design : Design
        The design.
    limit_db : float or None
        Least margin of a trigger signal, as the rules have it.
    """
    loops = design.loops
    lines = [_loop_line(each.loop) for each in loops.worst_high_voltage]
    lines.sort(key=lambda line: (line.lacking != () and line.area_cm2 is None, -(line.area_ratio or 0.0), line.subject))
    not_worked_out: list[str] = []
    few = len(design.harness.wires) <= _MOST_WIRES
    if few:
        for others in (loops.primary, loops.injectors):
            told = [_loop_line(loop) for loop in others]
            lines += sorted(told, key=lambda line: (-(line.length_m or 0.0), line.subject))
    elif loops.coils or design.devices.of_kind("injector"):
        not_worked_out.append(
            f"Loops of primary currents and injectors are told for lists of up to {_MOST_WIRES:,} wires; in longer "
            "ones they are counted in the margins only where the list has points."
        )
    lines += [_loop_line(loop) for loop in loops.pair_loops]
    margins = sorted(
        design.margins.all,
        key=lambda m: (not m.known, float(m.db[m.worst]) if m.known else 0.0, m.run.pair.device.name),
    )
    triggers = tuple(_trigger_line(design, margin, limit_db) for margin in margins)
    if any(p.distance_m is None for margin in margins for p in margin.pickups):
        not_worked_out.append(_BRANCHES_ONLY)
    if lines or triggers:
        not_worked_out.append(
            "Not in these figures: what the electric field of plug leads couples in, which may be more on inputs of "
            "high resistance, what the input's own filter takes off unless it is listed, and starter currents."
        )
    return InductionOutcome(tuple(lines), triggers, tuple(not_worked_out))


def _loop_line(loop: Loop) -> LoopLine:
    shape = loop.shape
    return LoopLine(
        loop.subject,
        loop.what,
        loop.way,
        shape.length_m,
        None if shape.area_m2 is None else shape.area_m2 * 1e4,
        shape.bound,
        None if loop.best_area_m2 is None else loop.best_area_m2 * 1e4,
        loop.area_ratio,
        shape.lacking,
        (*loop.notes, *shape.notes),
        loop.mark[0] if loop.mark else None,
    )


def _pair_text(design: Design, run: PairRun) -> str:
    """How the wires of a sensor run, in words."""
    given = design.given
    if run.twisted:
        lay = f"lay {run.lay_m * 1000:g} mm" if run.lay_m else f"lay taken as {given['lay_mm']:g} mm"
        end_mm = run.untwisted_m * 1000 if run.untwisted_m is not None else given["untwisted_end_mm"]
        text = f"twisted, {lay}, {end_mm:g} mm untwisted at each end"
    elif run.together:
        text = f"side by side, not twisted, {run.spacing_m(given) * 1000:g} mm apart"
    else:
        text = "signal and return apart"
    if run.shield is not None:
        text += f"; in shield {run.shield}" + (f" of {run.material}" if run.material else ", material not given")
    return text


def _trigger_line(design: Design, margin: Margin, limit_db: float | None) -> TriggerLine:
    run = margin.run
    device = run.pair.device
    mark = design.devices.mark(run.pair.contact) or design.devices.mark_device(device)
    line = TriggerLine(
        device.subject, device.kind or "", _pair_text(design, run), limit_db=limit_db, lacking=margin.lacking,
        mark=mark[0] if mark else None,
    )  # fmt: skip
    if not margin.known:
        return line
    settings = design.margins.settings(margin, limit_db if limit_db is not None else 0.0)
    told: tuple[SettingLine, ...] = ()
    if settings is not None:
        rows = zip(margin.rpm.tolist(), settings.lowest_v, settings.highest_v, strict=True)
        told = tuple(SettingLine(rpm, settings.filter_s * 1e6, low, high) for rpm, low, high in rows)
    return replace(
        line,
        rpm=tuple(margin.rpm.tolist()),
        signal_mv=_millivolts(margin.signal_v),
        offset_mv=_millivolts(margin.offset_v),
        noise_mv=_millivolts(margin.noise_v),
        noise_low_mv=_millivolts(margin.noise_low_v),
        noise_high_mv=_millivolts(margin.noise_high_v),
        margin_db=tuple(margin.db.tolist()),
        low_db=tuple(margin.low_db.tolist()),
        high_db=tuple(margin.high_db.tolist()),
        worst=margin.worst,
        settings=told,
        pickups=tuple(_pickup_line(pickup, run) for pickup in margin.pickups[:_PICKUPS]),
    )


def _millivolts(volts: NDArray[np.float64]) -> tuple[float, ...]:
    return tuple((volts * 1000).tolist())


def _pickup_line(pickup: Pickup, run: PairRun) -> PickupLine:
    edge, usual_v, low_v, high_v = pickup.volts(run.material)
    return PickupLine(
        pickup.loop.subject,
        pickup.loop.what,
        edge.name,
        pickup.mutual_h * 1e9,
        None if pickup.best_h is None else pickup.best_h * 1e9,
        usual_v * 1000,
        low_v * 1000,
        high_v * 1000,
        pickup.distance_m,
    )
