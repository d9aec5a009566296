"""Every column a list may have, once: its name, unit and meaning.

The names here are the normalized ones; how people spell them as headings is data, in
``headings.toml`` beside this file.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["FORMS", "SELDOM", "Column", "Form", "ValueKind"]

ValueKind = Literal[
    "text", "name", "cavity", "size", "length", "current", "resistance", "capacitance", "voltage",
    "temperature", "colour", "number", "role", "kind", "body", "flag", "coordinate", "pressure", "time", "teeth",
    "fires", "lead_type", "plug_type", "shield_material", "bit_rate", "part_kind", "sex", "count", "pack",
    "resistance_reading", "isolation_reading", "voltage_reading",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a form.

    Parameters
    ----------
    name : str
        Normalized name; carries the unit where there is one (``length_m``).
    heading : str
        The heading the recommended workbook uses.
    value : str
        Kind of value, which decides how a cell is read.
    meaning : str
        One line for the guidance page.
    needed : bool
        Whether a table can be taken for this form without it.
    seldom : bool
        Few lists have it: where none does, nothing is kept for it.
    """

    name: str
    heading: str
    value: ValueKind
    meaning: str
    needed: bool = False
    seldom: bool = False


@dataclass(frozen=True, slots=True)
class Form:
    """A kind of table, with the columns it may have in the recommended order."""

    name: str
    title: str
    one: str
    columns: tuple[Column, ...]

    @property
    def plural(self) -> str:
        """More than one of its objects: ``branches``."""
        return self.one + ("es" if self.one.endswith(("ch", "s")) else "s")

    def column(self, name: str) -> Column:
        """Column by its normalized name; KeyError if the form has none."""
        for column in self.columns:
            if column.name == name:
                return column
        raise KeyError(name)


_C = Column

_WIRES = Form(
    "wires",
    "Wire list",
    "wire",
    (
        _C("wire", "Wire", "name", "Number or name of the wire; one row per wire"),
        _C("from_item", "From", "name", "Connector, component, splice, fuse or earth point at one end", True),
        _C("from_cavity", "From cavity", "cavity", "Cavity or terminal there"),
        _C("to_item", "To", "name", "Connector, component, splice, fuse or earth point at the other end", True),
        _C("to_cavity", "To cavity", "cavity", "Cavity or terminal there"),
        _C("colour", "Colour", "colour", "IEC 60757 letters or words, base colour first, then the tracer"),
        _C("size", "Size", "size", "Conductor size in mm² or AWG; say which in the heading or in the cell"),
        _C("length_m", "Length", "length", "Cut length; the unit in the heading or in the cell"),
        _C("signal", "Signal", "text", "What the wire carries"),
        _C("twist", "Twist group", "name", "Wires with the same word here are twisted together"),
        _C("lay_m", "Lay", "length", "Length of one full turn of a twisted pair", seldom=True),
        _C("untwisted_m", "Untwisted end", "length", "Length left untwisted at a connector", seldom=True),
        _C("shield", "Shield", "name", "Wires with the same word here lie in one shield; its drain too"),
        _C(
            "shield_material",
            "Shield material",
            "shield_material",
            "copper braid, aluminium foil, steel braid or steel conduit",
            seldom=True,
        ),
        _C("current_a", "Current", "current", "Steady current, where known"),
        _C("branch", "Branch", "name", "Branch of the loom the wire runs in"),
        _C("insulation", "Insulation", "text", "Cable type or temperature class"),
        _C("from_terminal", "From terminal", "text", "Terminal at the first end"),
        _C("from_seal", "From seal", "text", "Seal on the wire at the first end", seldom=True),
        _C("to_terminal", "To terminal", "text", "Terminal at the other end"),
        _C("to_seal", "To seal", "text", "Seal on the wire at the other end", seldom=True),
        _C("option", "Option", "text", "Option the wire is fitted with"),
        _C("note", "Note", "text", "Anything else"),
    ),
)

_PINS = Form(
    "pins",
    "Pin list",
    "pin",
    (
        _C("connector", "Connector", "name", "Connector or housing, as named in the wire list", True),
        _C("cavity", "Cavity", "cavity", "Cavity or pin", True),
        _C("component", "Component", "name", "Device the connector belongs to, if named otherwise"),
        _C("signal", "Signal", "text", "What the pin is; write N/C for one that is not used"),
        _C("role", "Role", "role", "Overrides what is inferred from the signal's name"),
        _C("wire", "Wire", "name", "Wire in the cavity"),
        _C("terminal", "Terminal", "text", "Terminal fitted"),
        _C("seal", "Seal", "text", "Seal or cavity plug fitted"),
        _C("note", "Note", "text", "Anything else"),
    ),
)

_COMPONENTS = Form(
    "components",
    "Component list",
    "component",
    (
        _C("component", "Component", "name", "Name as used in the wire list", True),
        _C("kind", "Kind", "kind", "Controller, coil, injector, sensor ...; overrides what its name suggests"),
        _C("place", "Place", "body", "head, block, chassis, bay, cabin: what it is bolted to or where it sits"),
        _C("current_a", "Current", "current", "Steady current it draws"),
        _C("resistance_ohm", "Resistance", "resistance", "Resistance between its feed and return"),
        _C("voltage_v", "Voltage", "voltage", "Nominal voltage of a battery"),
        _C("capacitance_f", "Capacitance", "capacitance", "For a suppression capacitor"),
        _C("case_earthed", "Earthed by its case", "flag", "yes if its body is its return (no return wire)"),
        _C("mate", "Mates with", "name", "Other half of an inline connector"),
        _C(
            "fires",
            "Fires",
            "fires",
            "Plugs a coil fires, or its distributor: + joins two of one spark, a comma parts two outputs",
            seldom=True,
        ),
        _C("lead_m", "Plug lead", "length", "Length of the lead to the spark plug", seldom=True),
        _C("lead_type", "Lead type", "lead_type", "suppressed or solid", seldom=True),
        _C("plug_type", "Plug type", "plug_type", "resistor or plain", seldom=True),
        _C("gap_m", "Gap", "length", "Spark gap of the plug", seldom=True),
        _C("boost_bar", "Boost", "pressure", "Pressure in the inlet above that outside, at full load", seldom=True),
        _C("teeth", "Teeth", "teeth", "Teeth of the wheel a trigger sensor reads: 36-1, 60-2, 12", seldom=True),
        _C(
            "output_v",
            "Output",
            "voltage",
            "Reluctor sensor: peak voltage at 100 rpm of its wheel; Hall sensor: its high level",
            seldom=True,
        ),
        _C("threshold_v", "Threshold", "voltage", "Of the controller's input for the trigger sensor", seldom=True),
        _C("filter_s", "Filter", "time", "Time constant of the controller's input for the trigger sensor", seldom=True),
        _C("contact_a", "Contact rating", "current", "Rating of a relay's or switch's contact, resistive", seldom=True),
        _C("boot_m", "Boot", "length", "Inner diameter of its boot at the wires, as supplied", seldom=True),
        _C("boot_shrunk_m", "Boot shrunk", "length", "The same once shrunk freely; none for rubber", seldom=True),
        _C("terminator_ohm", "Terminator", "resistance", "Inside it, between the two wires of a bus", seldom=True),
        _C("bit_rate_kbit_s", "Bit rate", "bit_rate", "Of a device on a CAN bus: 250, 500, 1000", seldom=True),
        _C("part", "Part", "text", "Its connector or other part, as named in the parts table", seldom=True),
        _C(
            "strain_relief",
            "Strain relief",
            "text",
            "What holds the wires at the back of a connector: clamp, boot, tape, backshell, none",
            seldom=True,
        ),
        _C("option", "Option", "text", "Option it is fitted with"),
        _C("note", "Note", "text", "Anything else"),
    ),
)

_EARTH_POINTS = Form(
    "earth_points",
    "Earth points",
    "earth point",
    (
        _C("earth_point", "Earth point", "name", "Stud or ring position, as named in the wire list", True),
        _C("body", "Body", "body", "head, block, engine, chassis or battery negative", True),
        _C("resistance_ohm", "Resistance", "resistance", "Resistance of the joint, where measured"),
        _C("note", "Note", "text", "Anything else"),
    ),
)

_FUSES = Form(
    "fuses",
    "Fuses",
    "fuse",
    (
        _C("fuse", "Fuse", "name", "Fuse, as named in the wire list", True),
        _C("rating_a", "Rating", "current", "Rated current", True),
        _C("family", "Family", "text", "Blade, mini, maxi, bolt-down ..."),
        _C("colour", "Colour", "text", "Colour of the fuse's body: red, blue, clear ..."),
        _C("protects", "Protects", "text", "What it feeds"),
        _C("note", "Note", "text", "Anything else"),
    ),
)

_SPLICES = Form(
    "splices",
    "Splices",
    "splice",
    (
        _C("splice", "Splice", "name", "Splice, as named in the wire list", True),
        _C("branch", "Branch", "name", "Branch it lies in"),
        _C("distance_m", "Distance", "length", "Distance from the start of the branch"),
        _C("part", "Part", "text", "Splice crimp, as named in the parts table", seldom=True),
        _C("note", "Note", "text", "Anything else"),
    ),
)

_BRANCHES = Form(
    "branches",
    "Branches",
    "branch",
    (
        _C("branch", "Branch", "name", "Branch, as named in the wire list", True),
        _C("from_point", "From point", "name", "Point it starts at", True),
        _C("to_point", "To point", "name", "Point it ends at", True),
        _C("length_m", "Length", "length", "Length along the branch"),
        _C("zone", "Zone", "text", "head, bay, chassis, cabin: decides the ambient temperature"),
        _C("sleeve_m", "Sleeve", "length", "Inner diameter of its sleeve, conduit or boot", seldom=True),
        _C("sleeve_shrunk_m", "Sleeve shrunk", "length", "The same of a sleeve that has shrunk freely", seldom=True),
        _C("bend_m", "Bend radius", "length", "Radius of its tightest bend, at the inside", seldom=True),
        _C("note", "Note", "text", "Anything else"),
    ),
)

_POINTS = Form(
    "points",
    "Points",
    "point",
    (
        _C("point", "Point", "name", "Point where branches begin or end, or a component or connector", True),
        _C("x_m", "X", "coordinate", "Place in space: along any axis from any zero, the same for all", True),
        _C("y_m", "Y", "coordinate", "Place along the second axis", True),
        _C("z_m", "Z", "coordinate", "Place along the third axis; without this column the drawing is flat"),
        _C("note", "Note", "text", "Anything else"),
    ),
)

_JOINTS = Form(
    "joints",
    "Joints",
    "joint",
    (
        _C("joint", "Joint", "name", "Crimp, ring, splice or contact, named by its place", True),
        _C("resistance_ohm", "Resistance", "resistance", "As new or as measured", True),
        _C("aged_ohm", "Aged resistance", "resistance", "Expected at the end of its life"),
        _C("note", "Note", "text", "Anything else"),
    ),
)

_STRAPS = Form(
    "straps",
    "Straps",
    "strap",
    (
        _C("strap", "Strap", "name", "Name of the strap", True),
        _C("from_body", "From body", "body", "Body or battery negative at one end", True),
        _C("to_body", "To body", "body", "Body or battery negative at the other end", True),
        _C("size", "Size", "size", "Conductor size"),
        _C("length_m", "Length", "length", "Length"),
        _C("resistance_ohm", "Resistance", "resistance", "Measured, instead of size and length"),
        _C("note", "Note", "text", "Anything else"),
    ),
)

_PARTS = Form(
    "parts",
    "Parts table",
    "part",
    (
        _C("part", "Part", "name", "Part, as named in the other lists", True),
        _C("kind", "Kind", "part_kind", "terminal, ring terminal, seal, cavity plug, connector, cable ...", True),
        _C("family", "Family", "text", "Connector family that terminals, seals and connectors share"),
        _C("sex", "Sex", "sex", "pin or socket; of a connector that of the terminals it takes"),
        _C("size_min", "Smallest wire", "size", "Smallest conductor that the crimp takes"),
        _C("size_max", "Largest wire", "size", "Largest conductor that the crimp takes"),
        _C("insulation_min_m", "Smallest insulation", "length", "Smallest wire over its insulation: wings or seal"),
        _C("insulation_max_m", "Largest insulation", "length", "Largest wire over its insulation: wings or seal"),
        _C("bore_m", "Bore", "length", "Of a connector: bore of its cavities at the back"),
        _C("bore_min_m", "Smallest bore", "length", "Smallest bore that a seal or cavity plug closes"),
        _C("bore_max_m", "Largest bore", "length", "Largest bore that a seal or cavity plug closes"),
        _C("strip_m", "Strip length", "length", "Insulation to take off for this crimp"),
        _C("cavities", "Cavities", "count", "Cavities of a connector"),
        _C("sealed", "Sealed", "flag", "yes if each cavity of the connector wants a seal or a plug"),
        _C("pack", "Pack", "pack", "Pieces in a pack; metres on a reel of cable"),
        _C("note", "Note", "text", "Anything else"),
    ),
)

_MEASUREMENTS = Form(
    "measurements",
    "Measurements",
    "measurement",
    (
        _C("test", "Test", "name", "Number of the test on the test sheet", True),
        _C("wire", "Wire", "name", "Wire measured from end to end"),
        _C("between_a", "Between", "text", "Where the first probe, or the red lead, goes: ECU-A 12"),
        _C("between_b", "And", "text", "Where the second probe, or the black lead, goes"),
        _C("state", "State", "text", "Operating state of a voltage: key on, cranking, idle"),
        _C("resistance_ohm", "Measured (mΩ)", "resistance_reading", "Continuity of the wire, as the meter shows it"),
        _C("isolation_ohm", "Measured (MΩ)", "isolation_reading", "Isolation between the two; OL or > 500 will do"),
        _C("voltage_v", "Measured (mV)", "voltage_reading", "Voltage of the red lead against the black one"),
        _C("issue_mark", "Issue of the list", "text", "Mark of the list that the tests were printed for"),
        _C("note", "Note", "text", "Anything else"),
    ),
)

FORMS: dict[str, Form] = {
    form.name: form
    for form in (
        _WIRES, _PINS, _COMPONENTS, _EARTH_POINTS, _FUSES, _SPLICES, _BRANCHES, _POINTS, _JOINTS, _STRAPS, _PARTS,
        _MEASUREMENTS,
    )
}  # fmt: skip
"""Every form of table, by name."""

SELDOM: dict[str, tuple[str, ...]] = {
    form.name: tuple(column.name for column in form.columns if column.seldom) for form in FORMS.values()
}
"""Columns that few lists have, by form; the frame of a list without one has no such column."""
