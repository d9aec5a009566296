"""The wires of a list as plain data: what the wire table shows, and what joins what."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from harnessdrc.findings import Mark

__all__ = ["WireLine", "Wiring"]


class WireLine(NamedTuple):
    """A wire as listed.

    Parameters
    ----------
    name : str
        Its number as shown, unique.
    from_item, from_cavity, to_item, to_cavity : str
        Its ends as written; empty for one that is not given.
    colour, size, signal, branch : str
        As understood; empty where the list says nothing.
    length_m : float or None
        Cut length, m.
    nets : tuple of int
        Copper in one piece that its ends lie in, by their place in `Wiring.nets`; an earth point is the border of a net
        and in none.
    mark : Mark
        Its cell.
    """

    name: str
    from_item: str
    from_cavity: str
    to_item: str
    to_cavity: str
    colour: str
    size: str
    signal: str
    branch: str
    length_m: float | None
    nets: tuple[int, ...]
    mark: Mark


@dataclass(frozen=True, slots=True)
class Wiring:
    """Wires, and the copper that they make.

    Parameters
    ----------
    wires : tuple of WireLine
        In the order of the list.
    nets : tuple of str
        Each piece of copper, named by a signal of it, else by its first contact; unique.
    """

    wires: tuple[WireLine, ...] = ()
    nets: tuple[str, ...] = ()
