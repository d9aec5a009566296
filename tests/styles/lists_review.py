"""A whole engine loom the way a customer sends it, right and with faults, for a reviewer to look through."""

from __future__ import annotations

from pathlib import Path

from styles_helpers import Sheet, write_xlsx

_WIRES = """
No. | From | Pin | To | Pin | Colour | mm² | Length (mm) | Function | Twist
1 | Battery | + | Main fuse | 1 | red | 16 | 400 | battery positive |
2 | Main fuse | 2 | Main relay | 30 | red | 6 | 300 | perm 12V |
3 | Main relay | 87 | Fuse 1 | 1 | red/white | 2.5 | 300 | relay 12V |
4 | Main relay | 87a | N/C | | | | | |
5 | Fuse 1 | 2 | ECU | A1 | red/white | 1.5 | 900 | ECU 12V |
6 | Main relay | 86 | Ignition switch | 2 | white | 0.75 | 1500 | key on |
7 | Main relay | 85 | ECU | A2 | brown | 0.75 | 950 | main relay |
8 | ECU | A3 | Block stud | | black | 2.5 | 700 | power ground |
9 | ECU | A4 | Block stud | | black | 2.5 | 700 | power ground |
10 | ECU | B1 | Crank sensor | 1 | yellow | 0.5 | 800 | crank + | TW1
11 | ECU | B2 | Crank sensor | 2 | blue | 0.5 | 800 | crank - | TW1
12 | ECU | B3 | TPS | 2 | green | 0.5 | 900 | TPS signal |
13 | ECU | B4 | Splice S1 | | orange | 0.5 | 600 | 5V |
14 | Splice S1 | | TPS | 1 | orange | 0.5 | 300 | 5V |
15 | Splice S1 | | MAP | 3 | orange | 0.5 | 300 | 5V |
16 | ECU | B5 | Splice S2 | | black/white | 0.5 | 600 | sensor ground |
17 | Splice S2 | | TPS | 3 | black/white | 0.5 | 300 | sensor ground |
18 | Splice S2 | | MAP | 1 | black/white | 0.5 | 300 | sensor ground |
19 | Splice S2 | | CLT | 2 | black/white | 0.5 | 300 | sensor ground |
20 | ECU | B6 | MAP | 2 | green/yellow | 0.5 | 900 | MAP signal |
21 | ECU | B7 | CLT | 1 | grey | 0.5 | 900 | CLT |
22 | ECU | C1 | Coil 1 | 3 | white/red | 0.75 | 700 | coil 1 trigger |
23 | ECU | C2 | Coil 2 | 3 | white/blue | 0.75 | 750 | coil 2 trigger |
24 | Fuse 2 | 2 | Splice S3 | | red/blue | 2.5 | 500 | coil feed |
25 | Splice S3 | | Coil 1 | 1 | red/blue | 1.5 | 200 | coil feed |
26 | Splice S3 | | Coil 2 | 1 | red/blue | 1.5 | 250 | coil feed |
27 | Coil 1 | 2 | Head stud | | black | 1.5 | 150 | coil 1 ground |
28 | Coil 2 | 2 | Head stud | | black | 1.5 | 180 | coil 2 ground |
29 | ECU | C5 | Injector 1 | 2 | blue/red | 0.75 | 600 | inj 1 |
30 | ECU | C6 | Injector 2 | 2 | blue/green | 0.75 | 650 | inj 2 |
31 | Fuse 2 | 2 | Splice S4 | | red/green | 1.5 | 500 | injector feed |
32 | Splice S4 | | Injector 1 | 1 | red/green | 0.75 | 150 | injector feed |
33 | Splice S4 | | Injector 2 | 1 | red/green | 0.75 | 150 | injector feed |
34 | Block stud | | Battery | - | black | 16 | 600 | engine earth |
"""

_FAULTY = (
    _WIRES.replace(
        "19 | Splice S2 | | CLT | 2 | black/white | 0.5 | 300 | sensor ground |",
        "19 | CLT | 2 | Chassis | | black/white | 0.5 | 300 | sensor ground |",
    )
    .replace(
        "9 | ECU | A4 | Block stud | | black | 2.5 | 700 | power ground |",
        "9 | ECU | A4 | Chassis | | black | 2.5 | 700 | power ground |",
    )
    .replace(
        "crank - | TW1",
        "crank - |",
    )
    .replace("12 | ECU | B3 | TPS", "12 | ECU | B1 | TPS")
)


def engine_loom(folder: Path, *, faulty: bool = False) -> Path:
    """Thirty-four wires of a two-cylinder engine under a title block."""
    title = "Twin-cylinder sprint car - engine loom ||||||||| \nCustomer's list, first issue |||||||||"
    rows = (_FAULTY if faulty else _WIRES).strip()
    return write_xlsx(folder / "sprint_car.xlsx", {"Loom": Sheet(f"{title}\n{rows}", merged=("A1:J1",))})
