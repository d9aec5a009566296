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
    "head_block_aged_mohm": GivenForm("mohm", "the same, aged"),
    "strap_low_share": GivenForm("", "a given strap may have as little as this share of its resistance"),
    "strap_high_share": GivenForm("", "a given strap may have as much as this many times its resistance"),
    "contact_mohm": GivenForm("mohm", "one crimped and mated contact"),
    "contact_aged_mohm": GivenForm("mohm", "the same, aged"),
    "stud_mohm": GivenForm("mohm", "one ring terminal on a clean stud"),
    "stud_aged_mohm": GivenForm("mohm", "the same, aged"),
    "splice_mohm": GivenForm("mohm", "one wire in a splice"),
    "splice_aged_mohm": GivenForm("mohm", "the same, aged"),
    "fuse_mohm": GivenForm("mohm", "one fuse in its holder, when its rating is not known"),
    "fuse_drop_mv": GivenForm("mV", "drop of a fuse at its rated current"),
    "fuse_holder_aged_mohm": GivenForm("mohm", "what an aged holder adds to its fuse"),
    "bolted_from_mm2": GivenForm("mm2", "conductors of this size and more end in bolted rings"),
    "relay_mohm": GivenForm("mohm", "one closed relay or switch contact"),
    "relay_aged_mohm": GivenForm("mohm", "the same, aged"),
    "device_inner_mohm": GivenForm("mohm", "one pin of a device to its inside"),
    "controller_grounds_mohm": GivenForm("mohm", "power ground to sensor ground inside a controller"),
    "battery_inner_mohm": GivenForm("mohm", "inner resistance of a battery"),
    "alternator_inner_mohm": GivenForm("mohm", "inner resistance of an alternator at its regulated voltage"),
    "alternator_v": GivenForm("V", "voltage that an alternator does not exceed"),
    "starter_v": GivenForm("V", "voltage at which a starter draws its current"),
    "heater_v": GivenForm("V", "voltage at which a heater draws its current"),
    "sensor_ma": GivenForm("mA", "current of a sensor out of the controller and back through its return"),
    "missing_length_usual_m": GivenForm("m", "length of a wire whose length is not given"),
    "missing_length_low_m": GivenForm("m", "shortest it can be"),
    "missing_length_high_m": GivenForm("m", "longest it can be"),
    "missing_size_usual_mm2": GivenForm("mm2", "size of a wire whose size is not given"),
    "missing_size_low_mm2": GivenForm("mm2", "smallest it can be"),
    "missing_size_high_mm2": GivenForm("mm2", "largest it can be"),
    "unknown_current_high_a": GivenForm("A", "most that a load can draw whose current is not known"),
    "output_low_mv": GivenForm("mV", "coil output of a controller while it is off, against its ground"),
    "output_high_mv": GivenForm("mV", "coil output of a controller while it is on, against its ground"),
    "ntc_degc": GivenForm("degC", "temperature at which the error of a temperature sensor is told"),
    "ntc_pullup_ohm": GivenForm("ohm", "pull-up of a temperature input"),
    "ratiometric_fraction": GivenForm("", "reading over supply at which the error of a ratiometric sensor is told"),
}
"""Every given value by name."""
