"""Values the analysis takes as given when the list is silent: names, units and meanings.

A ruleset sets them under ``[given]``, the command line with ``--given``; both are held against this
table, and every value used is shown with where it came from.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["GIVEN", "GivenForm"]


@dataclass(frozen=True, slots=True)
class GivenForm:
    """Unit and meaning of a given value."""

    unit: str
    meaning: str


GIVEN: dict[str, GivenForm] = {
    "conductor_degc": GivenForm("degC", "temperature of the conductors in the voltage-drop computation"),
    "strap_engine_mohm": GivenForm("mohm", "strap engine to battery negative, when the list has none"),
    "strap_chassis_mohm": GivenForm("mohm", "strap chassis to battery negative, when the list has none"),
    "head_block_mohm": GivenForm("mohm", "head to block through the bolted joint"),
    "contact_mohm": GivenForm("mohm", "one crimped and mated contact"),
    "stud_mohm": GivenForm("mohm", "one ring terminal on a clean stud"),
    "fuse_mohm": GivenForm("mohm", "one fuse in its holder, when its rating is not known"),
    "fuse_drop_mv": GivenForm("mV", "drop of a fuse at its rated current"),
    "bolted_from_mm2": GivenForm("mm2", "conductors of this size and more end in bolted rings"),
    "relay_mohm": GivenForm("mohm", "one closed relay or switch contact"),
    "device_inner_mohm": GivenForm("mohm", "one pin of a device to its inside"),
}
"""Every given value by name."""
