"""How each column of the recommended workbook looks: its drop-down, the hint of its heading, its width."""

from __future__ import annotations

from collections.abc import Mapping

from harnessdrc.tables.columns import Column, Form

__all__ = ["CENTRED", "HOW_TO_WRITE", "drop_down_of", "width_of"]

_BY_VALUE = {
    "colour": ("Colours", "free"),
    "size": ("Sizes", "free"),
    "role": ("Roles", "ask"),
    "kind": ("Kinds", "ask"),
    "body": ("Bodies", "ask"),
    "flag": ("Yes or no", "stop"),
    "lead_type": ("Lead types", "ask"),
    "plug_type": ("Plug types", "ask"),
    "shield_material": ("Shield materials", "ask"),
    "part_kind": ("Part kinds", "ask"),
    "sex": ("Sexes", "ask"),
}
_BY_COLUMN = {
    "place": ("Places", "ask"),
    "zone": ("Zones", "ask"),
    "rating_a": ("Ratings", "free"),
    "family": ("Families", "free"),
}

HOW_TO_WRITE = {
    "name": "Spell it the same on every sheet.",
    "cavity": "As marked on the housing; empty for a splice or an earth point.",
    "size": "0.5, 1, 2.5 for mm²; 18 AWG for a gauge.",
    "length": "A number in mm; another unit may stand in the cell: 1.2 m, 4 ft.",
    "current": "A number in ampere.",
    "resistance": "A number in the unit of the heading.",
    "capacitance": "A number in µF.",
    "voltage": "A number in V.",
    "colour": "RD, BK, WH/BU: base colour, stroke, tracer.",
    "role": "Choose from the drop-down.",
    "kind": "Choose from the drop-down.",
    "body": "Choose from the drop-down.",
    "flag": "yes or no.",
    "coordinate": "A number in mm, also a negative one; another unit may stand in the cell: -0.35 m.",
    "pressure": "A number in bar; another unit may stand in the cell: 80 kPa, 12 psi.",
    "time": "A number in µs; another unit may stand in the cell: 0.1 ms.",
    "teeth": "36-1 is a wheel of 36 with one missing. Write it as text, or the program makes a date of 12-1.",
    "bit_rate": "A number in kbit/s; another unit may stand in the cell: 1 Mbit/s.",
    "fires": "PLUG1; PLUG1 + PLUG4 for one spark over two plugs; PLUG1, PLUG2 for two outputs of a twin coil.",
    "lead_type": "Choose from the drop-down.",
    "plug_type": "Choose from the drop-down.",
    "shield_material": "Choose from the drop-down.",
    "resistance_reading": "A number in mΩ; another unit may stand in the cell: 0.4 Ω.",
    "isolation_reading": "A number in MΩ; OL or > 500 for more than the meter shows.",
    "voltage_reading": "A number in mV, also a negative one; another unit may stand in the cell: 1.2 V.",
    "part_kind": "Choose from the drop-down.",
    "sex": "Choose from the drop-down; leave it empty where there is none.",
    "count": "A whole number.",
    "pack": "A number; 100 m for a reel of cable.",
}

CENTRED = {
    "length",
    "current",
    "resistance",
    "capacitance",
    "voltage",
    "size",
    "cavity",
    "flag",
    "coordinate",
    "pressure",
    "time",
    "teeth",
    "bit_rate",
    "count",
    "pack",
    "sex",
}

_WIDTHS: Mapping[str, Mapping[str, float]] = {
    "wires": {
        "wire": 8,
        "from_item": 11,
        "from_cavity": 9,
        "to_item": 11,
        "to_cavity": 9,
        "colour": 9.5,
        "size": 8.5,
        "length_m": 9,
        "signal": 25,
        "twist": 8,
        "lay_m": 8,
        "untwisted_m": 11,
        "shield": 8,
        "shield_material": 13,
        "current_a": 9,
        "branch": 9,
        "insulation": 13.5,
        "from_terminal": 12,
        "from_seal": 9,
        "to_terminal": 12,
        "to_seal": 9,
        "option": 9,
        "note": 35,
    },
    "pins": {
        "connector": 14,
        "cavity": 9,
        "component": 14,
        "signal": 28,
        "role": 24,
        "wire": 9,
        "terminal": 16,
        "seal": 12,
        "note": 36,
    },
    "components": {
        "component": 14,
        "kind": 22,
        "place": 12,
        "current_a": 11,
        "resistance_ohm": 12,
        "voltage_v": 11,
        "capacitance_f": 13,
        "case_earthed": 14,
        "mate": 12,
        "fires": 16,
        "lead_m": 9,
        "lead_type": 12,
        "plug_type": 10,
        "gap_m": 8,
        "boost_bar": 8,
        "teeth": 8,
        "output_v": 9,
        "threshold_v": 11,
        "filter_s": 8,
        "contact_a": 11,
        "boot_m": 8,
        "boot_shrunk_m": 9,
        "terminator_ohm": 12,
        "bit_rate_kbit_s": 10,
        "part": 11,
        "strain_relief": 12,
        "option": 10,
        "note": 46,
    },
    "branches": {"sleeve_m": 10, "sleeve_shrunk_m": 10, "bend_m": 11},
    "splices": {"part": 11},
    "parts": {
        "part": 14,
        "kind": 16,
        "family": 15,
        "sex": 9,
        "size_min": 10,
        "size_max": 10,
        "insulation_min_m": 11,
        "insulation_max_m": 11,
        "bore_m": 8,
        "bore_min_m": 10,
        "bore_max_m": 10,
        "strip_m": 9,
        "cavities": 9,
        "sealed": 8,
        "pack": 8,
        "note": 40,
    },
    "points": {"x_m": 10, "y_m": 10, "z_m": 10},
}
_USUAL: Mapping[str, float] = {"name": 16, "text": 22, "body": 18, "size": 10, "note": 60}


def drop_down_of(column: Column) -> tuple[str, str] | None:
    """List that a column draws on, and other words: "free" takes them, "ask" asks first, "stop" refuses them."""
    return _BY_COLUMN.get(column.name) or _BY_VALUE.get(column.value)


def width_of(form: Form, column: Column) -> float:
    """Width of a column on the sheet of its form, in characters."""
    usual = _USUAL.get("note" if column.name == "note" else column.value, 13)
    return _WIDTHS.get(form.name, {}).get(column.name, usual)
