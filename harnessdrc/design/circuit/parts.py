"""Parts of the circuit: everything with a resistance between two nodes."""

from __future__ import annotations

from typing import Literal, NamedTuple

from harnessdrc.harness.elements import Wire
from harnessdrc.places import Place

__all__ = ["Node", "Part", "PartKind", "inner_node"]

Node = tuple[str, ...]
"""A contact, or one of `inner_node`: ``("body", name, "")``, ``("feed of", device, "")``, ``("post +", battery, "")``.

The third word keeps them apart from contacts, which are pairs of an item and a cavity.
"""


def inner_node(kind: str, name: str) -> Node:
    """A node that no wire ends on: a body, a battery's post, the inside of a device."""
    return (kind, name, "")


PartKind = Literal["wire", "strap", "earth", "bodies", "mate", "fuse", "relay", "switch", "inside", "battery"]


class Part(NamedTuple):
    """A resistance between two nodes, with the joints that lie in series with it.

    Parameters
    ----------
    kind : str
        What it is.
    name : str
        Name within its kind: of the wire, the strap, the fuse, the device.
    a, b : tuple of str
        Its nodes.
    ohm : float
        Copper or inner resistance, Ω.
    joint_ohm, aged_joint_ohm : float
        All its joints together, as new and aged, Ω.
    low_ohm, high_ohm : float
        Between these `ohm` lies for certain, Ω; both equal to it where nothing is uncertain.
    wire : Wire or None
        The wire it is.
    lacking : tuple of str
        Data that would make it certain, in trade words.
    place : Place or None
        Its cell, where it has one.
    """

    kind: PartKind
    name: str
    a: Node
    b: Node
    ohm: float
    joint_ohm: float
    aged_joint_ohm: float
    low_ohm: float
    high_ohm: float
    wire: Wire | None = None
    lacking: tuple[str, ...] = ()
    place: Place | None = None

    @property
    def uncertain(self) -> bool:
        """Whether data that it needs is lacking or only usual."""
        return self.low_ohm != self.high_ohm
