"""Make a wire list of any size: blocks of one loom each, in the recommended form.

Every block of 100 wires is a small engine loom of its own (controller, four coils, four injectors,
sensors, fuses, earth points), so that the work grows with the list as it would in a workshop. One wire in
fifty lacks its colour, one block in five has a coil earthed in the wrong place. The wires of a block lie in four
branches.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

HEADINGS = (
    "Wire", "From", "From cavity", "To", "To cavity", "Colour", "Size (mm²)", "Length (mm)", "Signal",
    "Twist group", "Shield", "Current (A)", "Branch", "Insulation", "Option", "Note",
)  # fmt: skip


def block(number: int) -> Iterator[tuple[object, ...]]:
    """Wires of one block, without their numbers."""
    n = f"{number:04d}"
    ecu, head, chassis = f"ECU{n}", f"Head stud {n}", f"Chassis stud {n}"
    yield (f"Battery {n}", "+", f"F{n}", "in", "RD", 4, 400, "Battery feed")
    yield (f"Battery {n}", "-", head, "", "BK", 25, 600, "Strap")
    yield (f"F{n}", "out", f"SP{n}1", "", "RD", 4, 500, "Fused feed")
    yield (f"SP{n}1", "", ecu, "1", "RD", 1, 900, "Fused feed")
    for pin in (2, 3):
        yield (ecu, str(pin), head, "", "BK", 1.5, 700, "Power ground")
    for cylinder in range(1, 5):
        coil, injector = f"Coil {n}-{cylinder}", f"Injector {n}-{cylinder}"
        earth = chassis if number % 5 == 0 and cylinder == 2 else head
        yield (f"SP{n}1", "", coil, "1", "RD", 1, 800, "Coil feed")
        yield (ecu, f"{10 + cylinder}", coil, "2", "GN", 0.5, 900, f"Coil {cylinder} input")
        yield (coil, "3", earth, "", "BK", 1, 500, "Coil ground")
        yield (coil, "4", head, "", "BN", 1, 400, "HV return")
        yield (f"SP{n}1", "", injector, "1", "RD", 0.75, 800, "Injector feed")
        yield (ecu, f"{20 + cylinder}", injector, "2", "BU", 0.75, 900, f"Injector {cylinder}")
    yield (ecu, "30", f"SP{n}2", "", "BN", 0.5, 500, "Sensor ground")
    for index in range(1, 14):
        sensor = f"Oil temp sensor {n}-{index}"
        yield (ecu, f"{40 + index}", sensor, "1", "VT", 0.5, 1200, "Oil temp signal")
        yield (f"SP{n}2", "", sensor, "2", "BN", 0.5, 700, "Sensor ground")
    for index in range(1, 23):
        plug = f"Loom plug {n}-{index}"
        yield (ecu, f"{60 + index}", plug, "1", "GY", 0.5, 1500, f"Digital signal {index}")
    yield (ecu, "90", f"Crank VR sensor {n}", "1", "WH", 0.5, 1000, "Crank VR +", f"T{n}")
    yield (ecu, "91", f"Crank VR sensor {n}", "2", "BN", 0.5, 1000, "Crank VR -", f"T{n}")
    for index in range(1, 10):
        yield (f"SP{n}1", "", f"Lamp {n}-{index}", "1", "RD", 1, 1000, "Lamp feed", "", "", 0.4)
        yield (f"Lamp {n}-{index}", "2", chassis, "", "BK", 1, 900, "Lamp return")
    yield (chassis, "", f"Battery {n}", "-", "BK", 16, 500, "Strap")


def write(path: Path, wires: int) -> None:
    """Write a list with exactly this many wires."""
    import xlsxwriter

    book = xlsxwriter.Workbook(str(path), {"constant_memory": True})
    sheet = book.add_worksheet("Wire list")
    sheet.write_row(0, 0, HEADINGS)
    row, number = 1, 0
    while row <= wires:
        number += 1
        for line in block(number):
            if row > wires:
                break
            values = list(line)
            if row % 50 == 0:
                values[4] = ""
            values += [""] * (len(HEADINGS) - 1 - len(values))
            values[11], values[12], values[13] = f"B{number}-{row % 4}", "thin wall, class B", ""
            sheet.write_row(row, 0, [f"W{row}", *values])
            row += 1
    book.close()


if __name__ == "__main__":
    write(Path(sys.argv[1]), int(sys.argv[2]))
