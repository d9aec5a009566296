"""Lists of other trades: boats, aircraft, cabinets, robots, caravans, and awkward workbooks."""

from __future__ import annotations

from pathlib import Path

import openpyxl
from styles_helpers import Sheet, write_csv, write_xlsx


def marine(folder: Path) -> Path:
    """A work boat: wire numbers 101.0, bus bars, inches and feet in the cells."""
    return write_xlsx(folder / "work_boat.xlsx", {"Wire list": """
|||||||||
| Harbour work boat - DC wiring ||||||||
| all wire tinned copper, Type 3 ||||||||
| Wire No | From | Pin | To | Pin | AWG | Length | Color | Circuit
| 101.0 | Battery | Pos | Battery switch | 1 | 4/0 | 6' | Red | House main
| 102.0 | Battery switch | Common | Positive bus | | 2/0 | 3' | Red | House main
| 103.0 | Battery | Neg | DC negative bus | | 4/0 | 5' 6" | Black | Return
| 104.0 | Positive bus | | Breaker panel | 1 | 8 | 48" | Red | Panel feed
| 105.0 | Breaker panel | 3 | Bilge pump | 1 | 14 | 12' | Brown | Bilge
| 106.0 | Bilge pump | 2 | DC negative bus | | 14 | 12' | Yellow | Bilge return
| 107.0 | Breaker panel | 4 | Nav light | 1 | 16 | 22' | Dk Gray | Nav
| 108.0 | Nav light | 2 | DC negative bus | | 16 | 22' | Yellow | Nav return
| 109.0 | DC negative bus | | Engine block | | 4 | 4' | Black | Engine ground
| 110.0 | Breaker panel | 5 | spare | | | | |
"""})  # fmt: skip


def aircraft(folder: Path) -> Path:
    """An experimental aircraft, tab separated, with shielded pairs and a local ground tab."""
    return write_csv(folder / "aircraft.tsv", """
WIRE NO|FROM|PIN|TO|PIN|AWG|LENGTH (IN)|COLOR|SHIELD|REMARKS
1P001A20|P1|1|CB1|2|20|34|WHT||
1P002A20N|P1|2|GND BLOCK G1|7|20|28|WHT||RTN
1E003A22|P1|14|J5|3|22|61|WHT/BLU|SH1|
1E004A22|P1|15|J5|4|22|61|WHT/ORN|SH1|
1E005A22|P1|16|J5|SHELL|22|61|Bare|SH1|drain
1L006A20|CB2|2|S3|1|20|12.5|WHT||
1L007A20|S3|2|L1|A|20|88|WHT||
1L008A20N|L1|B|GND BLOCK G1|8|20|74|WHT||
""", separator="\t", encoding="utf-16")  # fmt: skip


def cnc_cabinet(folder: Path) -> Path:
    """A cabinet's terminal strip: what is inside and what is outside each terminal."""
    return write_xlsx(folder / "cnc_cabinet.xlsx", {"X1": """
Klemmenplan X1 ||||||
Klemme | Ziel intern | Pin | Ziel extern | Pin | Farbe | Querschnitt
1 | F1 | 2 | M1 | U1 | sw | 1,5 mm²
2 | F1 | 4 | M1 | V1 | br | 1,5 mm²
3 | F1 | 6 | M1 | W1 | gr | 1,5 mm²
PE | PE-Schiene | | M1 | PE | gn/ge | 1,5 mm²
4 | K1 | A1 | S1 | 11 | bl | 0,75
5 | K1 | A2 | S1 | 12 | bl | 0,75
6 | Reserve | | | | |
"""})  # fmt: skip


def robot_no_headings(folder: Path) -> Path:
    """A robot's list that somebody typed without headings."""
    return write_csv(folder / "robot.csv", """
R1|Battery:+|Main breaker:1|Red|6 AWG|8 in
R2|Main breaker:2|PD board:+|Red|6 AWG|11 in
R3|Battery:-|PD board:-|Black|6 AWG|14 in
R4|PD board:1|Left motor controller:V+|Red|12 AWG|2 ft
R5|PD board:2|Left motor controller:V-|Black|12 AWG|2 ft
R6|PD board:3|Right motor controller:V+|Red|12 AWG|3 ft
R7|PD board:4|Right motor controller:V-|Black|12 AWG|3 ft
R8|Radio:1|PD board:20|Yellow|18 AWG|30 in
""")  # fmt: skip


def caravan(folder: Path) -> Path:
    """A caravan: stacked tables per circuit with titles, sizes and lengths of every kind."""
    return write_xlsx(folder / "caravan.xlsx", {"12V": """
LIGHTING CIRCUIT (fuse 3, 10A) ||||||
Cable | From | To | Core colour | Size | Run | Notes
L1 | Fuse 3 | Light switch | Red | 1.5 mm² | 2.4m |
L2 | Light switch | Ceiling light | Red/White | 1.0 | 180cm | clip every 300
L3 | Ceiling light | Negative bus bar | Black | 1.0 | 3.1m |
||||||
WATER PUMP (fuse 5, 15A) ||||||
Cable | From | To | Core colour | Size | Run | Notes
P1 | Fuse 5 | Tap microswitch | Blue | 2,5 mm² | 4 m |
P2 | Tap microswitch | Water pump | Blue/Black | 2,5 mm² | 1500 mm |
P3 | Water pump | Negative bus bar | Black | 2,5 mm² | 2m |
||||||
Remember: fit grommets where cables pass steel! ||||||
""", "Volt drop calc": """
Volt drop calculator ||
Current (A) | 10 |
Length (m) | 2.4 |
Area (mm2) | 1.5 |
Drop (V) | =2*B2*B3*0.0172/B4 |
""", "Sheet3": Sheet([])})  # fmt: skip


def device_matrix(folder: Path) -> Path:
    """A row per signal and a column per device, pins in the cells."""
    return write_xlsx(folder / "device_matrix.xlsx", {"Signals": """
Signal | ECU | Dash | Logger | OBD | Wire colour
CAN H | 12 | 3 | 7 | 6 | Yellow
CAN L | 13 | 4 | 8 | 14 | Green
+12V switched | 1 | 1 | 1 | 16 | Red
GND | 2 | 2 | 2 | 4 | Black
Tacho | 20 | 9 | | | White
Shift light | | 10 | 11 | | -
"""})  # fmt: skip


def net_groups(folder: Path) -> Path:
    """Nets with their pins below, the net named once."""
    return write_xlsx(folder / "nets.xlsx", {"Nets": Sheet("""
Net | Connector | Pin | Remark
SENSOR_GND | ECU | 14 |
 | TPS | 3 |
 | MAP | 1 |
 | CLT | 2 |
VREF_5V | ECU | 15 |
 | TPS | 1 |
 | MAP | 3 |
TPS_SIG | ECU | 16 |
 | TPS | 2 |
MAP_SIG | ECU | 17 |
 | MAP | 2 |
""", merged=("A2:A5", "A6:A8", "A9:A10", "A11:A12"))})  # fmt: skip


def awkward_workbook(folder: Path) -> Path:
    """Old revision, copy, legend, calculation, hidden and empty sheets around one list."""
    wires = """
Wire | From | Pin | To | Pin | Colour | mm2
1 | ECU | 1 | Fan relay | 85 | brown | 0.5
2 | ECU | 2 | Chassis | | black | 2.5
3 | Fan relay | 87 | Fan | 1 | red | 4
4 | Fan | 2 | Chassis | | black | 4
5 | Fuse 4 | 2 | Fan relay | 30 | red | 4
6 | Fuse 4 | 2 | Fan relay | 86 | red | 0.5
"""
    old = wires.replace("| brown |", "| grey |").replace(
        "4 | Fan | 2 | Chassis | | black | 4", "4 | Fan | 2 | Engine | | black | 4"
    )
    return write_xlsx(folder / "awkward.xlsx", {
        "Notes": "Crimp with the ratchet tool only |\nHeat-shrink every splice |",
        "Loom": wires,
        "Loom (2)": wires,
        "Loom rev A OLD": old,
        "Colours": "Code | Meaning\nBK | Black\nRD | Red\nBN | Brown",
        "Calc": "Load | Current A | Hours\nFan | 12 | 0.5\nECU | 3 | 1",
        "Empty": Sheet([]),
        "Scratch": Sheet("try | this\n1 | 2", hidden=True),
    })  # fmt: skip


def heading_pins(folder: Path) -> Path:
    """The two ends named in the headings of two pin columns."""
    return write_xlsx(folder / "adapter.xlsx", {"Adapter": """
Adapter harness, old ECU plug to new ECU |||
Old ECU pin | New ECU pin | Signal | Wire colour
1 | A3 | Injector 1 | blu
2 | A4 | Injector 2 | blu/wht
3 | B1 | Crank + | red
4 | B2 | Crank - | blk
5 | B7 | Sensor ground | blk/wht
6 | N/C | Lambda heater |
7 | A12 | Ignition feed | org
8 | -- | EGR |
"""})  # fmt: skip


def far_corner(folder: Path) -> Path:
    """Headings in row 12 from column E, with a drawing head above and a face drawn in numbers."""
    return write_xlsx(folder / "far_corner.xlsx", {"Sheet1": Sheet("""
Wiring schedule |||||||
Vehicle: | Rescue boat |||||||
Engine: | V8 5.7 |||||||
Drawn: | 3 March | Checked: | ||||
|||||||
Face of C1, wire side |||||||
1 | 2 | 3 | 4 ||||
5 | 6 | 7 | 8 ||||
|||||||
|||||||
|||||||
ID | Source | Src pin | Destination | Dest pin | Wire colour | Size (AWG) | Cut length (")
1 | C1 | 1 | Starter relay | 86 | Yel/Red | #16 | 40
2 | C1 | 2 | Ignition module | 2 | Org | #18 | 36
3 | C1 | 3 | Ignition module | 3 | Wht | #18 | 36.5
4 | C1 | 4 | Engine ground stud | | Blk | #10 | 22
5 | C1 | 5 | Tach | S | Gry | 18 ga | 60
6 | C1 | 6 | Temp sender | | Tan | 18 ga | 54
7 | C1 | 7 | Oil sender | | Lt Blue | 18 ga | 50
8 | C1 | 8 | Fuel sender | | Pnk | 18 ga | 120
""", at="E1")})  # fmt: skip


def formulas(folder: Path) -> Path:
    """Wire numbers and lengths as formulas, saved by a program that keeps no values."""
    path = folder / "formulas.xlsx"
    book = openpyxl.Workbook()
    page = book.active
    assert page is not None
    page.append(["Wire", "From", "Pin", "To", "Pin", "Colour", "Size mm²", "Length mm"])
    page.append([1, "ECU", 1, "Coil", 1, "red", 1.0, 500])
    for k in range(2, 8):
        page.append([f"=A{k}+1", "ECU", k, "Coil", k, "red", 1.0, f"=H{k}+25"])
    book.save(path)
    return path


def contact_sizes(folder: Path) -> Path:
    """A pin list whose Size is that of the contacts, beside the wires' own gauge."""
    return write_xlsx(folder / "circular.xlsx", {"J1": """
J1 bulkhead receptacle |||||
Contact | Contact size | Wire gauge | Colour | Signal | To
A | Size 16 | 18 | RD | Batt + | Fuse F1
B | Size 16 | 18 | BK | GND | Chassis stud
C | Size 20 | 22 | WH | Tx | Logger:2
D | Size 20 | 22 | GN | Rx | Logger:3
a | Size 20 | 22 | BU | Oil temp | Oil temp sensor:1
b | Size 20 | 22 | BN | Oil temp rtn | Oil temp sensor:2
c | Size 20 | | | spare |
""", "Contacts": """
Part | Description | Size | Wire range | Qty
M-16 | Pin contact | Size 16 | 16-20 AWG | 12
M-20 | Pin contact | Size 20 | 20-24 AWG | 30
"""})  # fmt: skip


def mixed_sizes(folder: Path) -> Path:
    """Sizes and lengths of every kind in one column each."""
    return write_xlsx(folder / "mixed.xlsx", {"List": """
Wire # | From | To | Wire size | Length | Colour
1 | Battery:+ | Starter:B | 4/0 | 1.2m | Red
2 | Battery:- | Engine stud | 50 mm² | 900mm | Black
3 | Starter:S | Key switch:3 | #14 | 6' | Yel/Blk
4 | Alternator:B+ | Starter:B | 16mm2 | 18” | Red
5 | Key switch:1 | Fuse 2 | 12 ga | 4 ft | Org
6 | Alternator:D+ | Charge lamp | 1,5 mm² | 2,25 m | Brn/Yel
7 | Coil:+ | Fuse 2 | 14AWG | 30 in | Wht
8 | Coil:- | Points | 16 gauge | 1'6" | Wht/Blk
9 | Horn | Horn relay:87 | 14/0.30 | 80 cm | Purple
"""})  # fmt: skip


def bus_and_splice(folder: Path) -> Path:
    """Splices, posts and bus bars known by their names only."""
    return write_csv(folder / "splices.csv", """
From|To|Colour|AWG|Function
ECU – 15|TPS – splice|OG|22|5V
TPS – splice|TPS – 1|OG|22|5V
TPS – splice|MAP – 3|OG|22|5V
ECU – 14|S101|BK|22|Sensor ground
S101|TPS – 3|BK|22|Sensor ground
S101|MAP – 1|BK|22|Sensor ground
Battery – neg|Ground bus bar|BK|4|Ground
Ground bus bar|Fan – 2|BK|14|Ground
Ground bus bar|Pump – 2|BK|14|Ground
Power post|Fan relay – 30|RD|12|B+
Battery – pos|Power post|RD|4|B+
""")  # fmt: skip


def arrow_ends(folder: Path) -> Path:
    """From and to in one cell with an arrow."""
    return write_xlsx(folder / "arrows.xlsx", {"Wires": """
No | Wire run | Colour | Size
1 | ECU 12 -> TPS 3 | green | 0.5
2 | ECU 13 -> TPS 2 | white | 0.5
3 | ECU 14 → TPS 1 | black | 0.5
4 | Fuse 2 -> Main relay 30 | red | 2.5
5 | Main relay 87 -> ECU 1 | red | 1.5
"""})  # fmt: skip


def matrix_pairs(folder: Path) -> Path:
    """A data cable: pairs by number, colours by core, foil and drain."""
    return write_xlsx(folder / "can_cable.xlsx", {"CAN": """
Cable assembly: telemetry to logger, 2 pair + drain |||||||
End A ||| Core ||| End B ||
Conn | Pin | Signal | Pair | Colour | Screen | Conn | Pin
P1 | 1 | CAN_H | 1 | Blue | S1 | P2 | 7
P1 | 2 | CAN_L | 1 | White/Blue | S1 | P2 | 2
P1 | 3 | TX | 2 | Orange | S1 | P2 | 3
P1 | 4 | RX | 2 | White/Orange | S1 | P2 | 5
P1 | 5 | Drain | | Bare | S1 | N/C |
P1 | 6 | -- | | | | |
"""})  # fmt: skip


def fuse_box(folder: Path) -> Path:
    """A fuse box table over the wire list on one sheet, with a relay table beside it."""
    return write_xlsx(folder / "fuse_box.xlsx", {"Fuses": """
Fuse | Rating | Protects || Relay | Function | Terminal 86 | Terminal 85
F1 | 10A | ECU || R1 | Main relay | F1 | ECU 12
F2 | 15A | Fuel pump || R2 | Fan relay | F3 | ECU 13
F3 | 30A | Fan |||||
|||||||
Wire | From | To | Colour | mm² | Amps ||
1 | Battery + | F1 | Red | 2.5 | 8 ||
2 | Battery + | F2 | Red | 2.5 | 9 ||
3 | F1 | ECU | Red/Grn | 1 | 6 ||
4 | F2 | Fuel pump | Red/Blu | 1.5 | 9 ||
"""})  # fmt: skip


ALL = (
    marine, aircraft, cnc_cabinet, robot_no_headings, caravan, device_matrix, net_groups, awkward_workbook, heading_pins,
    far_corner, formulas, contact_sizes, mixed_sizes, bus_and_splice, arrow_ends, matrix_pairs, fuse_box,
)  # fmt: skip
