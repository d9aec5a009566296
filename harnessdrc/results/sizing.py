"""Sizes of wires, fuses and bundles."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from harnessdrc.findings import Mark

__all__ = ["BundleLine", "FuseLine", "SizeLine", "SizingLimits", "SizingOutcome"]


class SizeLine(NamedTuple):
    """One wire: what it carries, what it may carry, and the size it needs.

    Parameters
    ----------
    wire : str
        Its name.
    size : str
        As listed; empty where it is not.
    current_a, peak_a : float or None
        Greatest effective current over the states, and the greatest at an instant, A.
    state : str
        State of `current_a`.
    allowed_a : float or None
        Current that heats it to `rated_degc` where it lies, A; the least of the range while data is lacking.
    ambient_degc, rated_degc : float or None
        Ambient where it lies and what its insulation bears, °C.
    bundle_wires : int or None
        Wires in its fullest bundle.
    bundle_loading : float or None
        How loaded that is, 0 to 1.
    conductor_degc : float or None
        Its own temperature with `current_a`, °C.
    drop_mv : float or None
        Drop along it at that temperature, mV.
    needed_awg, needed_mm2 : str
        Smallest standard size of each system that satisfies all limits: ``18 AWG``, ``0.75 mm²``; empty where none
        does or data is lacking.
    governs : str
        ``heating``, ``drop``, ``fuse``, ``short circuit``, ``no fuse`` (none holds it: its own size), ``smallest`` or
        empty.
    margin : float or None
        Allowed over carried current less 1; 0.2 is 20 % to spare.
    copper_g, needed_g : float or None
        Copper of the wire as listed and with the needed size of its own system, g.
    lacking : tuple of str
        Data without which a figure is not known.
    mark : Mark or None
        Where it stands in the list.
    fuse : str or None
        The fuse or protected output ahead of it; empty where it lies straight on the battery, None where no copper
        leads from it to a battery.
    fault_a : float or None
        Current of a short circuit to metal at its far end, A, as usual where data of the way is lacking; None where
        data of the wire itself is.
    clears_s, withstands_s : float or None
        Longest time the fuse takes at that current, inf where it may never open, and time until the wire is at its
        short-time limit, s.
    on_fault : str
        ``no fuse``, ``cleared``, ``wire too thin``, ``fuse too large`` (or too slow, so that no standard size of the
        wire would do), or empty where not known.
    fault_lacking : tuple of str
        Data without which the figures of the short circuit are not known, or not for certain.
    surely_small : bool
        Whether it carries more than it may, whatever the data is that is lacking.
    """

    wire: str
    size: str
    current_a: float | None
    peak_a: float | None
    state: str
    allowed_a: float | None
    ambient_degc: float | None
    rated_degc: float | None
    bundle_wires: int | None
    bundle_loading: float | None
    conductor_degc: float | None
    drop_mv: float | None
    needed_awg: str
    needed_mm2: str
    governs: str
    margin: float | None
    copper_g: float | None
    needed_g: float | None
    lacking: tuple[str, ...]
    mark: Mark | None
    fuse: str | None = None
    fault_a: float | None = None
    clears_s: float | None = None
    withstands_s: float | None = None
    on_fault: str = ""
    fault_lacking: tuple[str, ...] = ()
    surely_small: bool = False


class FuseLine(NamedTuple):
    """One fuse against its load, its wires and a fault at the far end of each.

    Parameters
    ----------
    fuse : str
        Its name.
    family, colour : str
        As understood; empty where not. Colour of its rating by the standard.
    rating_a, load_a : float or None
        A.
    state : str
        State of the load.
    thinnest : str
        The thinnest wire it protects, with its size.
    thinnest_allowed_a : float or None
        What that may carry, A.
    fault_a : float or None
        Least fault current at the far end of any wire it protects, A, and
    fault_wire : str
        the wire.
    clears_s, withstands_s : float or None
        Longest time the fuse takes at that current, inf where it may never open, and time until that wire is at its
        short-time limit, s.
    lacking : tuple of str
    mark : Mark or None
    thinnest_held_a : float or None
        Rating that holds the current of the thinnest wire, A: of a further fuse that it alone leads to, or of several
        that join; the fuse's own where None.
    certain : tuple of str
        What of ``wire`` and ``fault`` is against it whatever the data is that is lacking.
    """

    fuse: str
    family: str
    colour: str
    rating_a: float | None
    load_a: float | None
    state: str
    thinnest: str
    thinnest_allowed_a: float | None
    fault_a: float | None
    fault_wire: str
    clears_s: float | None
    withstands_s: float | None
    lacking: tuple[str, ...]
    mark: Mark | None
    thinnest_held_a: float | None = None
    certain: tuple[str, ...] = ()


class BundleLine(NamedTuple):
    """One branch as a bundle.

    Parameters
    ----------
    branch : str
        Its name.
    wires : int
        Wires in it.
    diameter_mm : float or None
        Outside all wires, mm.
    bend_mm : float or None
        Least bend radius, mm.
    sleeve_mm : float or None
        Inner diameter of its sleeve as listed, mm.
    copper_g : float or None
        Copper in it, g, where its length is known.
    ambient_degc : float or None
    lacking : tuple of str
    mark : Mark or None
    sleeve_shrunk_mm : float or None
        Inner diameter of its sleeve once it is shrunk, as listed, mm.
    """

    branch: str
    wires: int
    diameter_mm: float | None
    bend_mm: float | None
    sleeve_mm: float | None
    copper_g: float | None
    ambient_degc: float | None
    lacking: tuple[str, ...]
    mark: Mark | None
    sleeve_shrunk_mm: float | None = None


class SizingLimits(NamedTuple):
    """Limits that fuses and bundles are held against, as the rules have them; those of the checks where no rule does.

    Parameters
    ----------
    load_percent : float
        Part of its rating that a fuse may carry for hours.
    clear_s : float
        Longest time that a fuse may take to clear a short circuit, s.
    fill_percent : float
        Diameter of a bundle over the inner diameter of its sleeve.
    """

    load_percent: float = 80.0
    clear_s: float = 5.0
    fill_percent: float = 90.0


_USUAL_LIMITS = SizingLimits()


@dataclass(frozen=True, slots=True)
class SizingOutcome:
    """Sizes, fuses and bundles of a loom.

    Parameters
    ----------
    wires : tuple of SizeLine
        In the order of the list.
    fuses : tuple of FuseLine
    bundles : tuple of BundleLine
    copper_g, needed_g : float
        Copper of all wires of which size, length and needed size are known, as listed and as needed, g.
    not_worked_out : tuple of str
        What was left out, one sentence each.
    limits : SizingLimits
        What fuses and bundles are held against.
    """

    wires: tuple[SizeLine, ...] = ()
    fuses: tuple[FuseLine, ...] = ()
    bundles: tuple[BundleLine, ...] = ()
    copper_g: float = 0.0
    needed_g: float = 0.0
    not_worked_out: tuple[str, ...] = ()
    limits: SizingLimits = _USUAL_LIMITS
