"""Splices, cut lengths and the CAN bus of the hill-climb single-seater as they are laid."""

from __future__ import annotations

from build_model import Build, rows_from

SPLICES = """
# splice, distance from the start of its branch; one after another, none within 100 mm of a connector
SP2  | 150
SP14 | 180
SP4  | 210
SP3  | 240
SP12 | 275
SP10 | 305
SP6  | 335
SP5  | 365
SP17 | 750
"""

LENGTHS = """
# wire, cut length along its branches
W134 | 2000 | pump return, round the cockpit as its feed
W138 | 1800 | fan return, round the cockpit as its feed
W404 | 1450
W405 | 1450
W406 | 1450
W413 | 1350
W414 | 1000
W416 | 650
W418 | 600
W419 | 600
W511 | 180
W512 | 180
"""

PARTS = """
# splice, its crimp, by the copper of all wires in it
SP2  | SPL-25  | 18 mm²
SP3  | SPL-6   | 3.25 mm²
SP4  | SPL-6   | 4.5 mm²
SP5  | SPL-6   | 4.75 mm²
SP6  | SPL-6   | 3.5 mm²
SP8  | SPL-10  | 10 mm²
SP10 | SPL-2.5 | 2 mm²
SP11 | SPL-10  | 10 mm²
SP12 | SPL-2.5 | 2 mm²
SP13 | SPL-10  | 8 mm²
SP14 | SPL-6   | 2.75 mm²
SP15 | SPL-6   | 2.75 mm²
SP16 | SPL-2.5 | 1.5 mm²
SP17 | SPL-2.5 | 1.5 mm²
"""

PAIRS = """
# twist group of the bus, lay, untwisted end
T4  | 30 | 30
T5  | 30 | 30
T6  | 30 | 30
T7  | 30 | 30
T8  | 30 | 30
T9  | 30 | 30
T10 | 30 | 30
"""

NODES = """
# device on the bus, kbit/s
ECU  | 250
WB   | 250
DASH | 250
"""


def assemble(build: Build) -> None:
    """Put splices one after another, cut wires to their ways, twist the bus and set its bit rate."""
    places = {row["splice"]: row["distance_m"] for row in rows_from("splice distance_m", SPLICES)}
    for splice in build.splices:
        splice["distance_m"] = places.get(splice["splice"], splice["distance_m"])
    crimps = {row["splice"]: row["part"] for row in rows_from("splice part copper", PARTS)}
    for splice in build.splices:
        splice["part"] = crimps.get(splice["splice"])
    for row in rows_from("wire length_m note", LENGTHS):
        build.change(str(row["wire"]), length=float(str(row["length_m"])))
    lay_pairs(build, PAIRS)
    # the 5 V supply of the cam sensor is beside that of the other sensors, on another pin
    build.change("W404", colour="RD/OG")
    for row in rows_from("component bit_rate_m", NODES):
        build.component(str(row["component"]))["bit_rate_kbit_s"] = row["bit_rate_m"]


def lay_pairs(build: Build, pairs: str) -> None:
    """Give wires of further twist groups their lay and untwisted end."""
    laid = {str(row["twist"]): row for row in rows_from("twist lay_m untwisted_m", pairs)}
    for wire in [row for row in build.wires if row.twist in laid]:
        row = laid[wire.twist]
        build.change(wire.wire, lay=row["lay_m"], untwisted=row["untwisted_m"])
