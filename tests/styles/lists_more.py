"""Further lists: Spanish, Dutch, printed cards, pin lists of both sides, lists with habits of their own."""

from __future__ import annotations

from pathlib import Path

from styles_helpers import Sheet, write_csv, write_xls, write_xlsx


def spanish_excavator(folder: Path) -> Path:
    """An excavator in Spanish with origin and destination."""
    return write_csv(folder / "excavadora.csv", """
Hilo;Origen;Pin origen;Destino;Pin destino;Color;Sección mm2;Longitud (mm);Función
1;Centralita;1;Batería;+;rojo;2,5;1200;Positivo permanente
2;Centralita;2;Masa motor;;negro;2,5;600;Masa
3;Centralita;3;Bomba de combustible;1;azul/blanco;1,5;2200;Bomba
4;Bomba de combustible;2;Masa chasis;;negro;1,5;400;Masa
5;Centralita;4;libre;;;;;
""".replace("|", " ").replace(";", "|"), separator=";", encoding="cp1252")  # fmt: skip


def dutch_pump(folder: Path) -> Path:
    """A pump set in Dutch, pipes between the cells."""
    return write_csv(folder / "pompset.txt".replace(".txt", ".csv"), """
Draad,Van,Klem,Naar,Klem,Kleur,Doorsnede mm2,Lengte m
1,Accu,+,Zekering 1,1,rood,4,"0.5
2,Zekering 1,2,Regeleenheid,30,rood,2.5,1.1
3,Regeleenheid,31,Massapunt,,zwart,2.5,0.7
4,Regeleenheid,12,Druksensor,1,groen/geel,0.75,1.4
5,Regeleenheid,13,vrij,,,,
""".replace(",", "|").replace('"', ""), separator="|")  # fmt: skip


def drag_bike_sections(folder: Path) -> Path:
    """Section titles inside the table, no blank rows, lengths in the heading, notes under the rows."""
    return write_xlsx(folder / "drag_bike.xlsx", {"Loom": Sheet("""
Drag bike main loom v2 ||||||
# | From (Conn-Pin) | To (Conn-Pin) | Col. | Gauge | Len (cm) | Description
POWER ||||||
1 | BAT-1 | MF-1 | RED | 8AWG | 30 | main feed
2 | MF-2 | RLY1-30 | RED | 12AWG | 25 | relay feed
3 | RLY1-87 | ECU-26 | RED/YEL | 18AWG | 60 | ECU 12V
IGNITION ||||||
4 | ECU-1 | COIL1-1 | WHT/BLU | 18AWG | 80 | coil 1 neg
5 | ECU-2 | COIL2-1 | WHT/GRN | 18AWG | 85 | coil 2 neg
SENSORS ||||||
6 | ECU-10 | CRANK-1 | RED | 20AWG | 90 | crank +
7 | ECU-11 | CRANK-2 | BLK | 20AWG | 90 | crank -
8 | ECU-12 | TPS-2 | GRN | 20AWG | 70 | TPS signal
9 | ECU-24 | TPS-3 | BLK/WHT | 20AWG | 70 | sensor ground
10 | ECU-25 | TPS-1 | ORG | 20AWG | 70 | 5V
GROUNDS ||||||
11 | ECU-20 | G1 | BLK | 16AWG | 40 | power ground
12 | ECU-21 | G1 | BLK | 16AWG | 40 | power ground
G1 = engine ground ring M8 ||||||
""", merged=("A1:G1", "A3:G3", "A7:G7"))})  # fmt: skip


def pin_card(folder: Path) -> Path:
    """A supplier's pin card in an old workbook: pin numbers as text and numbers, letters that skip I and O."""
    rows = "\n".join(
        f"{pin} | {name} | {colour} | {size}"
        for pin, name, colour, size in (
            ("A", "Battery positive", "RD", "2.0"), ("B", "Ignition switch", "RD/BK", "0.85"), ("C", "Ground", "BK", "2.0"),
            ("D", "Ground", "BK", "2.0"), ("E", "Injector 1", "BU/RD", "0.85"), ("F", "Injector 2", "BU/GN", "0.85"),
            ("G", "Not used", "", ""), ("H", "Coolant temp", "YE", "0.5"), ("J", "Sensor return", "BN", "0.5"),
            ("K", "Crank sensor +", "WH", "0.5"), ("L", "Crank sensor -", "GN", "0.5"), ("M", "N/C", "", ""),
            ("N", "CAN High", "YE/RD", "0.5"), ("P", "CAN Low", "YE/BK", "0.5"), ("R", "Fuel pump relay", "GY", "0.5"),
        )
    )  # fmt: skip
    return write_xls(
        folder / "pin_card.xls",
        {
            "J1 ECU": f"Pin card for engine controller, connector J1 | | |\n | | |\nCavity | Circuit description | Wire colour | mm²\n{rows}"
        },
    )


def both_sides(folder: Path) -> Path:
    """Both ends with their own pin, function and colour; signal named differently at each end."""
    return write_xlsx(folder / "swap.xlsx", {"Engine swap": """
Engine swap patch loom |||||||
Engine harness |||| Body harness ||| Notes
Connector | Pin | Function | Colour | Connector | Pin | Colour |
C101 | 1 | Oil press sw | Yel/Blk | B12 | 4 | Y/B |
C101 | 2 | Temp gauge | Yel/Grn | B12 | 5 | Y/G |
C101 | 3 | Tacho | Blk/Wht | B12 | 9 | B/W | add pull-up
C101 | 4 | Alternator L | Wht/Blu | B13 | 2 | W/L |
C102 | 1 | Starter S | Blk/Yel | B13 | 7 | B/Y |
C102 | 2 | not used ||| |
"""})  # fmt: skip


def minimal_note(folder: Path) -> Path:
    """Four columns and nothing else: what a friend types into a mail."""
    return write_csv(folder / "note.csv", """
from|to|colour|what
battery +|kill switch|red|main
kill switch|fuse box|red|main
fuse box 3|ecu 1|red/blue|ecu power
ecu 2|engine block|black|ecu ground
ecu 15|coolant temp|green|clt
coolant temp|ecu 16|black/white|sensor ground
ecu 17|coil|white|spark
fuse box 4|coil|red|coil power
""", encoding="utf-8")  # fmt: skip


def tow_vehicle(folder: Path) -> Path:
    """Wire list with pair and shield columns that only tick off, spliced shield, options, colours in two columns."""
    return write_xlsx(folder / "tow_vehicle.xlsx", {"Wires": """
Wire No | Base colour | Stripe | CSA | Conn A | Way | Conn B | Way | Circuit name | TP | Scr | Option | Rev
W001 | White | | 0.5 | ECU1 | 21 | WSS_FL | 1 | WSS FL + | Y | Y | ABS | A
W002 | White | Black | 0.5 | ECU1 | 22 | WSS_FL | 2 | WSS FL - | Y | Y | ABS | A
W003 | Red | Yellow | 2.5 | FB1 | 7 | ECU1 | 1 | Perm 12V | | | All | A
W004 | Black | | 2.5 | ECU1 | 2 | GND3 | | ECU GND | | | All | B
W005 | Green | Red | 0.75 | ECU1 | 31 | BRK_SW | 2 | Brake light switch | | | All | B
W006 | Red | Green | 0.75 | FB1 | 8 | BRK_SW | 1 | Fused ign | | | All | B
""", "Change log": "Rev | Date | Change\nA | 2 May | first issue\nB | 9 May | brake switch added"})  # fmt: skip


def wide_excel_export(folder: Path) -> Path:
    """A program's export: thirty columns, most of them not about the wire, empty columns between."""
    head = ["UID", "Harness PN", "Rev", "Wire Name", "Wire PN", "", "Net", "From RefDes", "From Pin", "From Term PN", "From Seal PN",
            "", "To RefDes", "To Pin", "To Term PN", "To Seal PN", "Color", "Gauge", "Gauge Unit", "Length", "Length Unit", "Twist ID",
            "Shield ID", "Bundle", "Effectivity", "Created", "Modified", "Comment"]  # fmt: skip
    rows: list[list[str | int | float | None]] = [[h or None for h in head]]
    ends = [
        ("J1", 1, "P4", 3),
        ("J1", 2, "P4", 4),
        ("J1", 3, "SP1", None),
        ("SP1", None, "P5", 1),
        ("SP1", None, "P6", 1),
    ]
    for k, (a, pa, b, pb) in enumerate(ends):
        rows.append([9000 + k, "HX-100", "C", f"W-{k + 1}", "GXL", None, f"N{k}", a, pa, "T-20", "S-1", None, b, pb, "T-20", "S-1",
                     ("RED", "BLK", "GRN", "GRN", "GRN")[k], 18, "AWG", 24 + k, "in", "TW1" if k < 2 else None, None, "B1", "ALL",
                     "2024-01-05", "2024-02-01", None])  # fmt: skip
    return write_xlsx(folder / "export.xlsx", {"Export": Sheet(rows)})


def stacked_connectors(folder: Path) -> Path:
    """Blocks of pins under merged titles on one sheet, some pins blank, colours with spaces and slashes."""
    return write_xlsx(folder / "stacked.xlsx", {"Pinouts": Sheet("""
C1 Engine plug (grey, 6 way) ||||
Pin | Use | Wire Colour | Size | To
1 | Coil 1 feed | Red / White | 1.5 | Main relay:87
2 | Coil 1 trigger | White / Blue | 0.75 | ECU:A3
3 | Sensor 5V | Orange | 0.75 | ECU:B2
4 | ||| 
5 | Not Used |||
6 | Sensor ground | Black / White | 0.75 | ECU:B7
||||
C2 Gearbox plug (black, 4 way) ||||
Pin | Use | Wire Colour | Size | To
1 | Reverse light switch | Green / Brown | 1.0 | Fuse 7
2 | Reverse light | Green | 1.0 | Tail loom:3
3 | Speed sensor + | Yellow | 0.75 | ECU:C1
4 | Speed sensor - | Blue | 0.75 | ECU:C2
""", merged=("A1:E1", "A10:E10"))})  # fmt: skip


def words_for_ends(folder: Path) -> Path:
    """Ends in words: "ECU pin 12", "Earth (chassis)", several spellings of one name, notes in brackets."""
    return write_csv(folder / "words.csv", """
Wire;Start;Finish;Colour;Thickness;Approx length
A;ECU pin 12;TPS pin B;green;0,5 mm²;1,2 m
B;ECU pin 13;TPS pin A;white;0,5 mm²;1,2 m
C;ecu pin 14;tps pin C;black;0,5 mm²;1,2 m
D;ECU pin 1;Engine earth stud;black;2,5 mm²;0,6 m
E;ECU  pin 2;Main relay pin 87;red;1,5 mm²;0,9 m
F;Main relay pin 30;Fuse 1 pin 2;red;4 mm²;40 cm
G;Fuse 1 pin 1;Battery pin +;red;4 mm²;35 cm
H;Main relay pin 86;Fuse 1 pin 2;red;0,75 mm²;40 cm
I;Main relay pin 85;ECU pin 3;brown;0,75 mm²;95 cm
""".replace(";", "|"), separator=";", encoding="utf-8-sig")  # fmt: skip


def legend_at_the_head(folder: Path) -> Path:
    """A key of colour codes above the list and notes beside it, headings with trailing blanks, an empty first column."""
    return write_xlsx(folder / "quad.xlsx", {"Sheet1": Sheet("""
Quad bike loom ||||||||
Key ||||||||
B | Black |||||||
R | Red |||||||
L | Blue |||||||
||||||||
Wire No  | From  | To  | Colour  | Gauge  | Note  || To do |
1 | Stator 1 | Regulator 1 | Y | 14 | || buy heat shrink |
2 | Stator 2 | Regulator 2 | Y | 14 | || |
3 | Regulator + | Battery + | R | 12 | fused? || |
4 | Regulator - | Battery - | B | 12 | || |
5 | CDI 1 | Coil + | B/Y | 18 | || |
6 | CDI 2 | Pickup 1 | W/L | 18 | || |
7 | CDI 3 | Pickup 2 | W/R | 18 | || |
8 | CDI 4 | Frame | B | 18 | || |
""", at="B2")})  # fmt: skip


def header_only_and_numbers(folder: Path) -> Path:
    """A sheet with headings and no rows, one with drawings made of numbers, and the list itself on the third."""
    return write_xlsx(folder / "forklift.xlsx", {
        "Template": "Wire | From | To | Colour | Size",
        "Faces": "1 | 2 | 3\n4 | 5 | 6\n7 | 8 | 9",
        "Wires": """
Wire | From | To | Colour | Size
F1-1 | Battery:+ | Fuse F1:1 | RD | 16mm²
F1-2 | Fuse F1:2 | Contactor K1:1 | RD | 16mm²
K1-2 | Contactor K1:2 | Pump motor:+ | RD | 16mm²
PM- | Pump motor:- | Battery:- | BK | 16mm²
""",
    })  # fmt: skip


def wires_from_the_far_end(folder: Path) -> Path:
    """Destination before source, circuits by words, signs of the battery in brackets, an end nobody knows."""
    return write_xlsx(folder / "pick_up.xlsx", {"Sheet1": """
Colour | Gauge | Goes to | Comes from | Circuit
Red | 10ga | Starter solenoid | Battery (+) | Main
Blk | 10ga | Frame ground | Battery (-) | Ground
Pur/Wht | 16ga | Starter relay | Ignition key | Start
Gry | 18ga | Fuel sender | Fuel gauge | Fuel
Pnk | 18ga | ??? | Dash connector pin 9 | unknown
"""})  # fmt: skip


def sensor_and_sensor_pin(folder: Path) -> Path:
    """A connector's pins with the sensor and its pin under headings named after it."""
    return write_xlsx(folder / "sensors.xlsx", {"P7": """
Sensor loom ||||
Pin | Wire | Function | Sensor | Sensor pin
A1 | 101 | 0V | Oil pressure sensor | 1
A2 | 102 | 5V | Oil pressure sensor | 2
A3 | 103 | Signal | Oil pressure sensor | 3
A4 | 104 | RTN | Coolant temp sensor | A
A5 | 105 | Signal | Coolant temp sensor | B
A6 | spare |||
"""})  # fmt: skip


def ends_under_terminal(folder: Path) -> Path:
    """Both ends under "Terminal A" and "Terminal B", item and terminal in one cell."""
    return write_xlsx(folder / "panel.xlsx", {"Wires": """
Wire no | Terminal A | Terminal B | mm² | colour
1 | BB1:1 | K1:30 | 6 | red
2 | BB1:2 | K2:30 | 6 | red
3 | BB1:3 | F1:1 | 2.5 | red
4 | GB:1 | K1:85 | 0.75 | black
5 | GB:2 | K2:85 | 0.75 | black
"""})  # fmt: skip


def merged_sources(folder: Path) -> Path:
    """The source merged down over its rows, single-letter colours of no habit."""
    return write_xlsx(folder / "quarter_midget.xlsx", {"Wires": Sheet("""
From | Pin | To | Pin | Colour | Size
ECU | 1 | Coil 1 | 2 | R | 0.5
| 2 | Coil 2 | 2 | R/B | 0.5
| 3 | Coil 3 | 2 | R/G | 0.5
Fuse box | 7 | Coil 1 | 1 | B | 1.0
| 8 | Coil 2 | 1 | B | 1.0
""", merged=("A2:A4", "A5:A6"))})  # fmt: skip


ALL = (
    spanish_excavator, dutch_pump, drag_bike_sections, pin_card, both_sides, minimal_note, tow_vehicle, wide_excel_export,
    stacked_connectors, words_for_ends, legend_at_the_head, header_only_and_numbers, wires_from_the_far_end, sensor_and_sensor_pin,
    ends_under_terminal, merged_sources,
)  # fmt: skip
