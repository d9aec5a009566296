"""Wires that a fuse does not hold: too thin for its rating, or burnt before it clears a short circuit, as findings."""

from __future__ import annotations

from harnessdrc.design import Design
from harnessdrc.design.sizing.faults import WorstFault
from harnessdrc.design.sizing.protection import Fuse, ThinnestWire, protection_of
from harnessdrc.findings import Finding, Mark, Subject, figures
from harnessdrc.harness.elements import Wire
from harnessdrc.harness.names import natural_key
from harnessdrc.physics.fuses import standard_ratings

__all__ = ["USUAL_FAMILIES", "amps", "guarding", "no_limits", "not_cleared", "too_large"]

USUAL_FAMILIES = ("regular blade",)
"""Family whose standard ratings are proposed where the list names none."""
_MOST_LOADED = 0.8
"""Part of its rating that a fuse carries for hours at the most (common practice of fuse makers, no source)."""
_MOST_MARKS = 20
"""So many further wires are marked beside the one that bears least."""


def amps(current_a: float) -> str:
    """A current in words: to a whole ampere from 100 A on, else to three figures."""
    return f"{figures(current_a)} A"


def guarding(design: Design, limits: object) -> list[Fuse]:
    """Fuses that protect a wire, or that may once their rating is known."""
    protection = protection_of(design)
    behind = protection.wires_behind.keys() | protection.cables_behind.keys()
    return [f for f in protection.fuses if f.rating_a is None or f.item.key in behind]


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
        if design.sizing.allowed_high_a[n] < protection.held_a(wires[n], fuse) and wires[n] is not but
    ]  # fmt: skip
    return sorted(found, key=lambda wire: natural_key(wire.name))


def too_large(design: Design, fuse: Fuse, thin: ThinnestWire) -> Finding:
    """A fuse rated above what its thinnest wire bears."""
    wire = thin.wire
    heated = design.sizing.of(wire.name)
    load = protection_of(design).load(fuse)
    least_a = (load.current_a or 0.0) / _MOST_LOADED
    fits = [
        rating for name in fuse.families or USUAL_FAMILIES for rating in standard_ratings(name)
        if least_a <= rating <= thin.high_a
    ]  # fmt: skip
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
            Mark(wire.place.of("size", "wire"), f"bears {amps(thin.high_a)}"),
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


def no_limits(fuse: Fuse) -> str:
    """Why the family of a fuse that is listed does not do; empty where none is listed."""
    return f" by a standard (no limits at hand for {fuse.family})" if fuse.family else ""


def not_cleared(design: Design, fuse: Fuse, fault: WorstFault, clear_s: float) -> Finding:
    """A short circuit that a fuse does not clear in time, or not before the wire is at its limit."""
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
            "fault": amps(fault.current_a),
        },
        measured=measured,
        limit=bound,
        unit=unit,
        variant=variant,
        follows_from=_joined(design, wire),
    )
