"""Cut lengths and the CAN bus of the rescue boat as they are laid; feet and inches."""

from __future__ import annotations

from build_model import Build, rows_from
from hill_climb_assembly import lay_pairs

LENGTHS = """
# wire, cut length: out to the bracket and back
40 | 0.75
41 | 1.25
44 | 0.75
45 | 1.25
"""

PAIRS = """
# pair of the bus, lay, untwisted end
CAN-A | 1.25 | 1.5
CAN-B | 1.25 | 1.5
CAN-C | 1.25 | 1.5
CAN-D | 1.25 | 1.5
CAN-E | 1.25 | 1.5
CAN-F | 1.25 | 1.5
"""

NODES = """
# device on the bus, its terminator in ohm, kbit/s
ECM     | 0   | 250
DISPLAY | 0   | 250
TRM1    | 120 |
TRM2    | 120 |
"""


def assemble(build: Build) -> None:
    """Cut the capacitors' wires to their ways, twist the bus, and say what terminates it."""
    for row in rows_from("wire length_m", LENGTHS):
        build.change(str(row["wire"]), length=float(str(row["length_m"])))
    lay_pairs(build, PAIRS)
    for row in rows_from("component terminator_ohm rate_m", NODES):
        build.component(str(row["component"])).update(
            terminator_ohm=row["terminator_ohm"], bit_rate_kbit_s=row["rate_m"]
        )
