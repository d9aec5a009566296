"""Values the analysis takes as given when the list is silent: names, units and meanings.

A ruleset sets them under ``[given]``, the command line with ``--given``; both are held against this
table, and every value used is shown with where it came from.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

__all__ = ["GIVEN", "GivenForm"]


@dataclass(frozen=True, slots=True)
class GivenForm:
    """Unit, meaning and bounds of a given value.

    Parameters
    ----------
    unit, meaning : str
        As people are told.
    low, high : float
        Least and greatest value that makes sense, in `unit`; nothing below `low` is taken.
    above : bool
        Whether `low` itself is not taken either.
    """

    unit: str
    meaning: str
    low: float = -math.inf
    high: float = math.inf
    above: bool = False

    def takes(self, value: float) -> bool:
        """Whether a number lies within the bounds."""
        return (value > self.low if self.above else value >= self.low) and value <= self.high

    @property
    def expected(self) -> str:
        """The bounds in words: ``a number in mm above 0``."""
        words = [f"a number{f' in {self.unit}' if self.unit else ''}"]
        if math.isfinite(self.low) and math.isfinite(self.high):
            low = f"above {self.low:g} up" if self.above else f"from {self.low:g}"
            words.append(f"{low} to {self.high:g}")
        elif math.isfinite(self.low):
            words.append(f"above {self.low:g}" if self.above else f"from {self.low:g} on")
        elif math.isfinite(self.high):
            words.append(f"up to {self.high:g}")
        return " ".join(words)


GIVEN: dict[str, GivenForm] = {
    "conductor_degc": GivenForm("degC", "temperature of the conductors in the voltage-drop computation", -60.0, 300.0),
    "strap_engine_mohm": GivenForm("mohm", "strap engine to battery negative, when the list has none", 0.0, 10_000.0),
    "strap_chassis_mohm": GivenForm("mohm", "strap chassis to battery negative, when the list has none", 0.0, 10_000.0),
    "head_block_mohm": GivenForm("mohm", "head to block through the bolted joint", 0.0, 10_000.0),
    "head_block_aged_mohm": GivenForm("mohm", "the same, aged", 0.0, 10_000.0),
    "strap_low_share": GivenForm(
        "", "a given strap may have as little as this share of its resistance", 0.0, 1.0, above=True
    ),
    "strap_high_share": GivenForm("", "a given strap may have as much as this many times its resistance", 1.0, 1000.0),
    "contact_mohm": GivenForm("mohm", "one crimped and mated contact", 0.0, 10_000.0),
    "contact_aged_mohm": GivenForm("mohm", "the same, aged", 0.0, 10_000.0),
    "stud_mohm": GivenForm("mohm", "one ring terminal on a clean stud", 0.0, 10_000.0),
    "stud_aged_mohm": GivenForm("mohm", "the same, aged", 0.0, 10_000.0),
    "splice_mohm": GivenForm("mohm", "one wire in a splice", 0.0, 10_000.0),
    "splice_aged_mohm": GivenForm("mohm", "the same, aged", 0.0, 10_000.0),
    "fuse_mohm": GivenForm("mohm", "one fuse in its holder, when its rating is not known", 0.0, 10_000.0),
    "fuse_drop_mv": GivenForm("mV", "drop of a fuse at its rated current", 0.0, 1000.0, above=True),
    "fuse_holder_aged_mohm": GivenForm("mohm", "what an aged holder adds to its fuse", 0.0, 10_000.0),
    "bolted_from_mm2": GivenForm("mm2", "conductors of this size and more end in bolted rings", 0.0, above=True),
    "relay_mohm": GivenForm("mohm", "one closed relay or switch contact", 0.0, 10_000.0),
    "relay_aged_mohm": GivenForm("mohm", "the same, aged", 0.0, 10_000.0),
    "isolator_mohm": GivenForm("mohm", "one closed battery isolator", 0.0, 10_000.0),
    "isolator_aged_mohm": GivenForm("mohm", "the same, aged", 0.0, 10_000.0),
    "device_inner_mohm": GivenForm("mohm", "one pin of a device to its inside", 0.0, 10_000.0),
    "controller_grounds_mohm": GivenForm("mohm", "power ground to sensor ground inside a controller", 0.0, 10_000.0),
    "fault_v": GivenForm("V", "voltage of the battery that a short circuit is worked out with", 0.0, 100.0, above=True),
    "battery_inner_mohm": GivenForm("mohm", "inner resistance of a battery", 0.0, 10_000.0, above=True),
    "alternator_inner_mohm": GivenForm(
        "mohm", "inner resistance of an alternator at its regulated voltage", 0.0, 10_000.0
    ),
    "alternator_v": GivenForm("V", "voltage that an alternator does not exceed", 6.0, 60.0),
    "starter_v": GivenForm("V", "voltage at which a starter draws its current", 0.0, 60.0, above=True),
    "heater_v": GivenForm("V", "voltage at which a heater draws its current", 0.0, 60.0, above=True),
    "sensor_ma": GivenForm("mA", "current of a sensor out of the controller and back through its return", 0.0, 1000.0),
    "missing_length_usual_m": GivenForm("m", "length of a wire whose length is not given", 0.0, 1000.0, above=True),
    "missing_length_low_m": GivenForm("m", "shortest it can be", 0.0, 1000.0, above=True),
    "missing_length_high_m": GivenForm("m", "longest it can be", 0.0, 1000.0, above=True),
    "missing_size_usual_mm2": GivenForm("mm2", "size of a wire whose size is not given", 0.05, 500.0),
    "missing_size_low_mm2": GivenForm("mm2", "smallest it can be", 0.05, 500.0),
    "missing_size_high_mm2": GivenForm("mm2", "largest it can be", 0.05, 500.0),
    "unknown_current_high_a": GivenForm("A", "most that a load can draw whose current is not known", 0.0, 10_000.0),
    "output_low_mv": GivenForm(
        "mV", "coil output of a controller while it is off, against its ground", -1000.0, 60_000.0
    ),
    "output_high_mv": GivenForm("mV", "coil output of a controller while it is on, against its ground", 0.0, 60_000.0),
    "ntc_degc": GivenForm("degC", "temperature at which the error of a temperature sensor is told", -60.0, 300.0),
    "ntc_pullup_ohm": GivenForm("ohm", "pull-up of a temperature input", 0.0, above=True),
    "ratiometric_fraction": GivenForm(
        "", "reading over supply at which the error of a ratiometric sensor is told", 0.0, 1.0, above=True
    ),
    "breakdown_a_per_us": GivenForm(
        "A/us", "rate of the current at breakdown, suppressed lead, 1 bar in the inlet", 0.0
    ),
    "breakdown_low_a_per_us": GivenForm("A/us", "lowest it can be", 0.0),
    "breakdown_high_a_per_us": GivenForm("A/us", "highest it can be", 0.0),
    "arc_a_per_us": GivenForm("A/us", "rate of the current as the arc takes over", 0.0),
    "primary_off_us": GivenForm("us", "time in which a coil's primary current is switched off", 0.0, above=True),
    "injector_off_us": GivenForm("us", "time in which an injector's current is switched off", 0.0, above=True),
    "edge_low_share": GivenForm("", "rates of arc and switching may be as little as this share of the usual", 0.0, 1.0),
    "edge_high_share": GivenForm("", "rates of arc and switching may be as much as this many times the usual", 1.0),
    "pair_spacing_mm": GivenForm(
        "mm", "middle to middle of two wires that are twisted or in one cable", 0.0, above=True
    ),
    "loose_spacing_mm": GivenForm(
        "mm", "middle to middle of two wires in a bundle, or at an untwisted end", 0.0, above=True
    ),
    "untwisted_end_mm": GivenForm("mm", "length left untwisted at a connector, when the list does not say", 0.0),
    "return_beside_lead_mm": GivenForm(
        "mm", "best layout: distance of the return from the plug lead it is led along", 0.0, above=True
    ),
    "coil_on_plug_mm": GivenForm("mm", "from a coil on its plug to the plug's seat", 0.0),
    "plug_gap_mm": GivenForm("mm", "spark gap that the usual breakdown goes with", 0.0, above=True),
    "reluctor_v": GivenForm("V", "peak voltage of a reluctor at 100 rpm of its wheel", 0.0, above=True),
    "reluctor_low_v": GivenForm("V", "lowest it can be", 0.0, above=True),
    "reluctor_high_v": GivenForm("V", "highest it can be", 0.0, above=True),
    "hall_high_v": GivenForm("V", "high level of a Hall sensor", 0.0, above=True),
    "hall_low_v": GivenForm("V", "low level of a Hall sensor", 0.0),
    "hall_threshold_v": GivenForm("V", "threshold of an input for fixed levels", 0.0),
    "engine_across_m": GivenForm("m", "way through engine metal between two points without coordinates", 0.0),
    "chassis_across_m": GivenForm("m", "way through a chassis between two points without coordinates", 0.0),
    "lay_mm": GivenForm("mm", "lay of a twisted pair that is not listed", 0.0, above=True),
    "branch_spacing_mm": GivenForm(
        "mm", "distance of two wires in one branch whose places in it are not known", 0.0, above=True
    ),
    "ambient_head_degc": GivenForm("degC", "ambient of a branch on the engine", -60.0, 300.0),
    "ambient_bay_degc": GivenForm("degC", "ambient of a branch in the engine bay", -60.0, 300.0),
    "ambient_chassis_degc": GivenForm("degC", "ambient of a branch along the chassis or hull", -60.0, 300.0),
    "ambient_cabin_degc": GivenForm("degC", "ambient of a branch in the cabin", -60.0, 300.0),
    "height_m": GivenForm("m", "height above sea level: thinner air cools less", 0.0, 15_000.0),
    "bundle_usual_wires": GivenForm("", "wires in the bundle of a wire without a branch", 1.0, 1000.0),
    "bundle_most_wires": GivenForm("", "most that it can be", 1.0, 1000.0),
    "bundle_usual_loading": GivenForm("", "current in such a bundle over what it may carry", 0.2, 1.0),
    "insulation_low_degc": GivenForm("degC", "least that an insulation bears which is not given", 40.0, 400.0),
    "insulation_usual_degc": GivenForm("degC", "what it usually bears", 40.0, 400.0),
    "insulation_high_degc": GivenForm("degC", "most that it can bear", 40.0, 400.0),
    "least_rise_k": GivenForm(
        "K", "least by which an insulation or ambient that is not given leaves the wire room to warm", 0.0, above=True
    ),
    "cranking_s": GivenForm("s", "longest time that the starter turns at one go", 0.0, above=True),
    "test_degc": GivenForm("degC", "temperature of the bench that the expected resistances hold at", -20.0, 50.0),
    "test_spread_k": GivenForm("K", "the bench may be so much colder or warmer", 0.0, 40.0),
    "test_length_percent": GivenForm("%", "a wire may be cut so much shorter or longer than listed", 0.0, 50.0),
    "test_gauge_percent": GivenForm("%", "cable of a gauge may have so much less copper than by ASTM B258", 0.0, 50.0),
    "test_joint_times": GivenForm("", "a new joint passes with up to so many times its usual resistance", 1.0, 100.0),
    "meter_percent": GivenForm("%", "error of the meter's reading", 0.0, 50.0),
    "meter_mohm": GivenForm("mohm", "error of a four-wire meter beside that", 0.0, 10_000.0),
    "leads_mohm": GivenForm("mohm", "left in the reading of a two-wire meter once its leads are taken off", 0.0),
    "four_wire_mohm": GivenForm("mohm", "wires below this are measured with four leads", 0.0, 10_000.0),
    "isolation_least_ohm": GivenForm("ohm", "least resistance between nets that must not touch", 0.0, above=True),
    "test_rpm": GivenForm("1/min", "up to this speed voltages can be measured in the workshop", 0.0),
    "bus_kbit_s": GivenForm("kbit/s", "bit rate of a CAN bus of which no device is listed with one", 5.0, 1000.0),
    "least_mm2": GivenForm("mm2", "smallest metric wire that handling allows", 0.0, above=True),
    "least_awg": GivenForm("", "smallest gauge that handling allows", -3.0, 40.0),
    "cut_allowance_mm": GivenForm("mm", "added to a wire at each end for trimming, on the cut list", 0.0, 1000.0),
    "reel_m": GivenForm("m", "cable on one reel, where the parts table does not say", 0.0, above=True),
    "insulation_g_cm3": GivenForm("g/cm3", "density of the insulation, in the weight of the wire", 0.0, 5.0),
}
"""Every given value by name."""
