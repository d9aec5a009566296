"""Example rows of the recommended workbook: a single-cylinder generator set with battery ignition."""

from __future__ import annotations

__all__ = ["EXAMPLE", "ExampleCell", "ExampleTable"]

ExampleCell = str | float | int | None
ExampleTable = tuple[tuple[str, ...], tuple[tuple[ExampleCell, ...], ...]]

EXAMPLE: dict[str, ExampleTable] = {
    "wires": (
        ("wire", "from_item", "from_cavity", "to_item", "to_cavity", "colour", "size", "length_m", "signal",
         "twist", "lay_m", "untwisted_m", "shield", "shield_material", "current_a", "branch", "insulation",
         "from_terminal", "to_terminal", "note"),
        (
            ("W1", "BAT", "+", "F1", "in", "RD", 2.5, 150, "Battery feed", None, None, None, None, None, 4.3, "B1",
             "FLR2X 125 °C", "ring M8", "blade 6.3", "as short as it can be"),
            ("W2", "F1", "out", "S1", "1", "RD", 1.5, 900, "Fused battery feed", None, None, None, None, None, 4.3,
             "B1", "FLR2X 125 °C", "blade 6.3", "blade 6.3", None),
            ("W3", "S1", "2", "SP1", None, "RD/BK", 1.5, 700, "Switched feed", None, None, None, None, None, 4.3,
             "B1", "FLR2X 125 °C", "blade 6.3", None, None),
            ("W4", "SP1", None, "ECU", "1", "RD/BK", 1, 250, "Switched feed", None, None, None, None, None, 0.8,
             "B1", "FLR2X 125 °C", None, "1.5 socket", None),
            ("W5", "SP1", None, "COIL", "1", "RD/BK", 1.5, 450, "Coil feed", None, None, None, None, None, 2.5,
             "B2", "FLR2X 125 °C", None, "2.8 socket", None),
            ("W6", "SP1", None, "SOL", "1", "RD/BK", 1, 500, "Fuel solenoid feed", None, None, None, None, None, 1,
             "B2", "FLR2X 125 °C", None, "2.8 socket", None),
            ("W7", "SOL", "2", "ECU", "3", "BU/WH", 0.75, 550, "Fuel solenoid control", None, None, None, None,
             None, 1, "B2", "FLR2X 125 °C", "2.8 socket", "1.5 socket", None),
            ("W8", "ECU", "2", "STUD1", None, "BK", 1.5, 500, "Power ground", None, None, None, None, None, 1.8,
             "B2", "FLR2X 125 °C", "1.5 socket", "ring M6", "to the star stud, no splice on the way"),
            ("W9", "COIL", "2", "STUD1", None, "BK", 1.5, 300, "Coil ground", None, None, None, None, None, 2.5,
             "B2", "FLR2X 125 °C", "2.8 socket", "ring M6", None),
            ("W10", "COIL", "4", "STUD2", None, "BK/WH", 1.5, 200, "Coil high-voltage return", None, None, None,
             None, None, None, "B2", "FLR2X 125 °C", "2.8 socket", "ring M6", "beside the spark plug"),
            ("W11", "ECU", "4", "COIL", "3", "GN", 0.5, 500, "Ignition trigger to coil", None, None, None, None,
             None, None, "B2", "FLR2X 125 °C", "1.5 socket", "2.8 socket", None),
            ("W12", "ECU", "5", "CRK", "1", "WH", 0.5, 650, "Crank signal +", "T1", 30, 40, "SH1", "steel braid",
             None, "B3", "FLR2X shielded", "1.5 socket", "1.5 socket", None),
            ("W13", "ECU", "6", "CRK", "2", "BN", 0.5, 650, "Crank signal -", "T1", 30, 40, "SH1", "steel braid",
             None, "B3", "FLR2X shielded", "1.5 socket", "1.5 socket", None),
            ("W14", "ECU", "7", "open", None, "SR", 0.5, 620, "Crank shield drain", None, None, None, "SH1",
             "steel braid", None, "B3", "FLR2X shielded", "1.5 socket", None, "cut off and sleeved at the sensor"),
            ("W15", "ECU", "8", "CHT", "1", "YE", 0.5, 550, "Head temperature", None, None, None, None, None, None,
             "B2", "FLR2X 125 °C", "1.5 socket", "1.5 socket", None),
            ("W16", "ECU", "9", "CHT", "2", "BN/GN", 0.5, 550, "Sensor ground", None, None, None, None, None, None,
             "B2", "FLR2X 125 °C", "1.5 socket", "1.5 socket", "returns to the controller only"),
        ),
    ),
    "pins": (
        ("connector", "cavity", "signal", "role", "wire", "terminal", "seal", "note"),
        (
            ("ECU", "1", "Switched feed", "switched feed", "W4", "1.5 socket", "green", None),
            ("ECU", "2", "Power ground", "power ground", "W8", "1.5 socket", "blue", None),
            ("ECU", "3", "Fuel solenoid control", "low-side output", "W7", "1.5 socket", "green", None),
            ("ECU", "4", "Ignition trigger", "coil input", "W11", "1.5 socket", "green", None),
            ("ECU", "5", "Crank signal +", "trigger signal +", "W12", "1.5 socket", "green", None),
            ("ECU", "6", "Crank signal -", "trigger signal -", "W13", "1.5 socket", "green", None),
            ("ECU", "7", "Crank shield", "shield drain", "W14", "1.5 socket", "green", None),
            ("ECU", "8", "Head temperature", "temperature signal", "W15", "1.5 socket", "green", None),
            ("ECU", "9", "Sensor ground", "sensor ground", "W16", "1.5 socket", "green", None),
            ("ECU", "10", "N/C", "spare", None, None, "plug", None),
            ("COIL", "1", "Coil feed", "load feed", "W5", "2.8 socket", "yellow", None),
            ("COIL", "2", "Coil ground", "coil ground", "W9", "2.8 socket", "yellow", None),
            ("COIL", "3", "Coil input", "coil input", "W11", "2.8 socket", "yellow", None),
            ("COIL", "4", "High-voltage return", "coil high-voltage return", "W10", "2.8 socket", "yellow",
             None),
            ("SOL", "1", "Feed", "load feed", "W6", "2.8 socket", "yellow", None),
            ("SOL", "2", "Return", "load return", "W7", "2.8 socket", "yellow", None),
            ("CRK", "1", "Signal +", "trigger signal +", "W12", "1.5 socket", "green", None),
            ("CRK", "2", "Signal -", "trigger signal -", "W13", "1.5 socket", "green", None),
            ("CHT", "1", "Signal", "temperature signal", "W15", "1.5 socket", "green", None),
            ("CHT", "2", "Ground", "sensor ground", "W16", "1.5 socket", "green", None),
            ("S1", "1", "Feed", "battery feed", "W2", "blade 6.3", None, None),
            ("S1", "2", "Switched", "ignition switch", "W3", "blade 6.3", None, None),
        ),
    ),
    "components": (
        ("component", "kind", "place", "current_a", "resistance_ohm", "case_earthed", "fires", "lead_m", "lead_type",
         "plug_type", "gap_m", "teeth", "output_v", "threshold_v", "filter_s", "note"),
        (
            ("BAT", "battery", "chassis", None, None, "no", None, None, None, None, None, None, None, None, None,
             "12 V, 20 Ah"),
            ("ECU", "controller", "chassis", 0.8, None, "no", None, None, None, None, None, None, None, 0.2, 20,
             "on rubber mounts, case insulated"),
            ("COIL", "coil", "head", 2.5, None, "no", "PLUG1", None, None, None, None, None, None, None, None,
             "igniter inside, four terminals; average current"),
            ("PLUG1", "spark plug", "head", None, None, None, None, 350, "suppressed", "resistor", 0.7, None, None,
             None, None, None),
            ("SOL", "solenoid", "engine", 1, 12.5, "no", None, None, None, None, None, None, None, None, None,
             "fuel shut-off"),
            ("CRK", "reluctor sensor", "block", None, 860, "no", None, None, None, None, None, "36-1", 0.5, None,
             None, None),
            ("CHT", "temperature sensor", "head", None, 2500, "no", None, None, None, None, None, None, None, None,
             None, "at 20 °C"),
            ("S1", "switch", "chassis", None, None, "no", None, None, None, None, None, None, None, None, None,
             "run / stop"),
        ),
    ),
    "earth_points": (
        ("earth_point", "body", "resistance_ohm", "note"),
        (
            ("STUD1", "head", 0.1,
             "star point for controller and coil grounds, M6, bare metal, serrated washer"),
            ("STUD2", "head", 0.1, "beside the spark plug, spark current only"),
        ),
    ),
    "fuses": (
        ("fuse", "rating_a", "family", "colour", "protects", "note"),
        (("F1", 7.5, "blade", "brown", "Whole loom", "within 150 mm of the battery"),),
    ),
    "splices": (
        ("splice", "branch", "distance_m", "note"),
        (("SP1", "B1", 600, "switched feed to controller, coil and solenoid"),),
    ),
    "branches": (
        ("branch", "from_point", "to_point", "length_m", "zone", "sleeve_m", "bend_m", "note"),
        (
            ("B1", "BAT", "ECU", 750, "bay", 8, 40, "along the frame"),
            ("B2", "ECU", "STUD1", 450, "head", 12, 40, "away from the exhaust"),
            ("B3", "ECU", "CRK", 450, "bay", None, None, "the crank sensor's own, away from the coil"),
        ),
    ),
    "points": (
        ("point", "x_m", "y_m", "z_m", "note"),
        (
            ("ECU", 0, 0, 0, "zero of all axes: X to the drive end, Y to the exhaust, Z up"),
            ("BAT", -600, -350, -150, None),
            ("COIL", 350, 200, 250, None),
            ("PLUG1", 430, 180, 120, "seat of the spark plug"),
            ("STUD1", 400, 150, 100, None),
            ("STUD2", 440, 170, 110, None),
            ("CRK", 420, -40, -60, None),
        ),
    ),
    "joints": (
        ("joint", "resistance_ohm", "aged_ohm", "note"),
        (
            ("STUD1", 0.1, 5, "ring on stud"),
            ("SP1", 0.5, 2, "crimped splice, sealed"),
        ),
    ),
    "straps": (
        ("strap", "from_body", "to_body", "size", "length_m", "resistance_ohm", "note"),
        (
            ("G1", "head", "battery negative", 16, 450, None, "engine strap"),
            ("G2", "chassis", "battery negative", 16, 300, None, "frame strap"),
        ),
    ),
}  # fmt: skip
"""Form → column names and rows; lengths in mm, joint resistances in mΩ, as the headings say."""
