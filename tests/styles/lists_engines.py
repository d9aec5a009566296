"""Lists of engines and cars: controllers' pinouts, race looms, generator sets, motorcycles."""

from __future__ import annotations

from pathlib import Path

from styles_helpers import Sheet, write_csv, write_ods, write_xls, write_xlsx


def ecu_pinout(folder: Path) -> Path:
    """One row per pin with where it goes; headings in row 5 from column B, legend at the foot."""
    return write_xlsx(folder / "ecu_pinout.xlsx", {"ECU": Sheet("""
Autograss special - ECU pinout |||||
Rev C, drawn over the winter |||||
|||||
Pin | Function | Wire colour | Gauge | Goes to | Notes
1 | Ign 1 | w/org | 20 | Coil 1:3 |
2 | Ign 2 | w/yel | 20 | Coil 2:3 |
3 | N/C ||||
4 | Crank + | red | 22 | Crank sensor:1 | shielded
5 | Crank - | blk | 22 | Crank sensor:2 | shielded
6 | Shield Crank/Cam GND | Bare | 22 | Crank sensor | do not ground at sensor
7 | Sensor Ground | BLK/WHT | 20 | Splice S1 |
8 | 5V Ref | Light Blue/ Orange | 20 | Splice S2 |
9 | TPS | grn | 22 | TPS:2 |
10 | CLT | Vilot | 22 | CLT:1 |
11 | spare ||||
12 | Main relay | brn | 20 | Main relay:86 |
13 | P Ground | blk | 16 | Chassis | short as possible
14 | P Ground | blk | 16 | Chassis |
15 | Inj 1 | Grey | 18 | Injector 1:2 |
16 | Inj 2 | Gray | 18 | Injector 2:2 |
17 | 12V switched | red | 16 | Main relay:87 |
||||||
Legend |||||
w/org | white with orange tracer ||||
blu | blue ||||
grn | green ||||
""", merged=("B2:G2",), at="B2")})  # fmt: skip


def race_car_sheets(folder: Path) -> Path:
    """A sheet per connector; each wire on the sheets of both its ends."""
    head = "Pin | Signal | Colour | Gauge | Mates to"
    return write_xlsx(folder / "race_car.xlsx", {
        "Cover": Sheet("Hill-climb single-seater | |\nLoom issue 3 | |\nSee one sheet per connector | |"),
        "X1": Sheet(f"""
X1 - ECU plug, 12 way||||
{head}
1 | Crank + | RD | 22 | X2-1
2 | Crank - | BK | 22 | X2-2
3 | TPS signal | GN | 22 | X3-2
4 | Sensor 0V | BU | 22 | X3-3
5 | Sensor 5V | OG | 22 | X3-1
6 | Not Used |||
7 | CAN H | YE | 22 | X4-A
8 | CAN L | GN | 22 | X4-B
""", merged=("A1:E1",)),
        "X2": f"""
X2 - Crank sensor||||
{head}
1 | Crank + | RD | 22 | X1-01
2 | Crank - | BK | 22 | X1-02
""",
        "X3": f"""
X3 - TPS||||
{head}
1 | Sensor 5V | OG | 22 | X1-05
2 | TPS signal | GN | 22 | X1-03
3 | Sensor 0V | BU | 22 | X1-04
""",
        "X4": f"""
X4 - Dash||||
{head}
A | CAN H | YE | 22 | X1-07
B | CAN L | GN | 22 | X1-08
C | spare |||
""",
    })  # fmt: skip


def genset_german(folder: Path) -> Path:
    """A generator set in German, semicolons, decimal commas, Windows letters, "dto."."""
    return write_csv(folder / "stromaggregat.csv", """
Verdrahtungsliste Stromaggregat 12 kVA|||||||||
Stand: 14.03.|||||||||
|||||||||
Leitung|Von|Klemme|Nach|Klemme|Farbe|Querschnitt [mm²]|Länge [mm]|Funktion|Bemerkung
1|Batterie|+|Anlasser|30|rt|25|1.200|Dauerplus|
2|Batterie|-|Massepunkt Block|1|sw|25|800|Masse|
3|Anlasser|30|Sicherung F1|1|rt|2,5|450|Dauerplus|
4|Sicherung F1|2|Steuergerät|12|rt/ge|1,5|950|Klemme 30|
5|Steuergerät|1|Massepunkt Block|2|br|2,5|600|Masse|
6|Steuergerät|4|Öldruckschalter|1|bl/ws|0,75|1.350|Öldruck|
7|Steuergerät|5|Drehzahlgeber|1|ws|0,5|1.100|Drehzahl +|verdrillt
8|Steuergerät|6|Drehzahlgeber|2|br|0,5|1.100|Drehzahl -|dto.
9|Steuergerät|7|nicht belegt||||||
10|Steuergerät|8|Hubmagnet|1|sw/rt|1,5|700|Kraftstoffventil|
11|Hubmagnet|2|Massepunkt Block|3|br|1,5|650|Masse|
12|Steuergerät|9|Temperaturgeber|1|gn/ge|0,75|1.250|Kühlmitteltemperatur|
""", separator=";", encoding="cp1252")  # fmt: skip


def tractor_french(folder: Path) -> Path:
    """A tractor in French, in an old binary workbook with numbers such as 101.0."""
    return write_xls(folder / "tracteur.xls", {"Faisceau": """
Faisceau moteur tracteur||||||||
||||||||
Repère | De | Broche | Vers | Broche | Couleur | Section (mm²) | Longueur (m) | Remarques
101.0 | Calculateur | 1 | Bobine | 15 | rouge/noir | 1.5 | 1.20 |
102.0 | Calculateur | 2 | Masse moteur | | noir | 2.5 | 0.60 |
103.0 | Calculateur | 3 | Capteur PMH | 1 | blanc | 0.6 | 0.90 | torsadé
104.0 | Calculateur | 4 | Capteur PMH | 2 | gris | 0.6 | 0.90 | torsadé
105.0 | Batterie | + | Fusible F2 | 1 | rouge | 4 | 0.75 |
106.0 | Fusible F2 | 2 | Calculateur | 5 | rouge/jaune | 2.5 | 1.10 |
107.0 | Calculateur | 6 | Sonde température | 1 | vert clair | 0.6 | 1.30 |
108.0 | Sonde température | 2 | Masse moteur | | noir | 0.6 | 0.40 |
109.0 | Calculateur | 7 | libre | | | | |
""", "Couleurs": """
Code | Couleur
NO | noir
RG | rouge
BL | blanc
"""})  # fmt: skip


def boat_swedish(folder: Path) -> Path:
    """A boat's engine in Swedish, OpenDocument, fifty thousand empty rows declared."""
    return write_ods(folder / "motorbat.ods", {"Ledningar": """
Ledning | Från | Stift | Till | Stift | Färg | Area mm2 | Längd m | Funktion
W1 | Styrenhet | A1 | Startrelä | 86 | brun | 0.75 | 1.5 | Startsignal
W2 | Styrenhet | A2 | Jordpunkt motor | | svart | 2.5 | 0.8 | Jord
W3 | Styrenhet | A3 | Temperaturgivare | 1 | gul/grön | 0.75 | 1.1 | Kylvattentemperatur
W4 | Styrenhet | A4 | Temperaturgivare | 2 | grå | 0.75 | 1.1 | Givarjord
W5 | Batteri | + | Säkring F1 | 1 | röd | 6 | 0.5 | Matning
W6 | Säkring F1 | 2 | Styrenhet | A5 | röd | 2.5 | 1.9 | Matning
W7 | Styrenhet | A6 | ledig | | | | |
""", "Anteckningar": "Kolla längderna före kapning |\nRing Lasse om A6 |"})  # fmt: skip


def motorcycle_italian(folder: Path) -> Path:
    """A motorcycle in Italian, semicolons, byte order mark, "Da" and "A"."""
    return write_csv(folder / "moto.csv", """
Filo|Da|Pin|A|Pin|Colore|Sezione mmq|Lunghezza cm|Note
1|Centralina|1|Bobina|1|nero/rosso|1,0|45|
2|Centralina|2|Massa telaio||nero|1,5|60|
3|Centralina|3|Pick-up|1|bianco|0,5|70|twistato
4|Centralina|4|Pick-up|2|giallo|0,5|70|twistato
5|Batteria|+|Fusibile 15A|1|rosso|2,5|30|
6|Fusibile 15A|2|Chiave|1|rosso/bianco|2,5|55|
7|Chiave|2|Centralina|5|arancione|1,0|80|
""", separator=";", encoding="utf-8-sig")  # fmt: skip


def dittos(folder: Path) -> Path:
    """Ditto marks of five kinds, a total at the foot and a signature."""
    return write_xlsx(folder / "kit_car.xlsx", {"Sheet1": """
Kit car engine loom |||||||
No | From | To | Colour | Size | Length | What for |
1 | Main relay 87 | Coil 1 | Red | 2.0mm² | 1.2m | coil feed |
2 | " | Coil 2 | " | " | 1.3m | " |
3 | do | Coil 3 | do | do | 1.4m | do |
4 | ditto | Coil 4 | ditto | as above | 1.5m | ditto |
5 | ECU 4 | Coil 1 | w/org | 0.75 | 90cm | Ign 1 |
6 | ECU 5 | Coil 2 | w/blu | 0.75 | 95cm | Ign 2 |
7 | ECU 6 | Coil 3 | w/grn | 0.75 | 100cm | Ign 3 |
8 | ECU 7 | Coil 4 | w/red | 0.75 | 105cm | Ign 4 |
9 | ECU 20 | Engine block stud | Black | 2.0mm² | 18” | ECU ground |
Total ||||| 9.0m ||
Checked by: the builder, twice |||||||
"""})  # fmt: skip


def twin_ecu_plugs(folder: Path) -> Path:
    """Two plugs of a controller side by side under merged titles, without destinations."""
    return write_xlsx(folder / "ecu_plugs.xlsx", {"Pinout": Sheet("""
Plug A |||||| Plug B |||
Pin | Function | Colour | AWG ||| Pin | Function | Colour | AWG
A1 | Power Ground | BLK | 16 ||| B1 | Crank Hall | YEL | 22
A2 | Power Ground | BLK | 16 ||| B2 | SENSE_GND | BLK/WHT | 22
A3 | +12V | RED | 16 ||| B3 | 5V | ORG | 22
A4 | Injector 1 | GRY/RED | 18 ||| B4 | TPS | GRN | 22
A5 | Injector 2 | GRY/BLU | 18 ||| B5 | MAP | GRN/YEL | 22
A6 | -- ||||| B6 | Reserved ||
A7 | Fuel pump relay | BRN | 20 ||| B7 | CAN_H | YEL/BLK | 22
A8 | Tacho | WHT | 20 ||| B8 | CAN_L | GRN/BLK | 22
""", merged=("A1:D1", "G1:J1"))})  # fmt: skip


def bulkhead_both_sides(folder: Path) -> Path:
    """Wire numbers that run on through a bulkhead connector, engine side and cabin side stacked."""
    return write_xlsx(folder / "bulkhead.xlsx", {"Engine bay": """
ENGINE SIDE |||||||
Wire No. | From | Pin | To | Pin | Colour | Size mm² | Length mm
1 | BH1 plug | 1 | Oil pressure switch | 1 | WH/RD | 0.75 | 900
2 | BH1 plug | 2 | Coolant temp sender | 1 | GN | 0.75 | 1100
3 | BH1 plug | 3 | Alternator | D+ | BN | 1.0 | 1300
|||||||
CABIN SIDE |||||||
Wire No. | From | Pin | To | Pin | Colour | Size mm² | Length mm
1 | BH1 socket | 1 | Warning lamp | 1 | WH/RD | 0.75 | 700
2 | BH1 socket | 2 | Temp gauge | S | GN | 0.75 | 800
3 | BH1 socket | 3 | Charge lamp | 1 | BN | 1.0 | 650
"""})  # fmt: skip


def several_destinations(folder: Path) -> Path:
    """Several destinations in one cell, several pins in one cell, and pin ranges."""
    return write_xlsx(folder / "go_kart.xlsx", {"Mega": """
Electric kart controller board ||||
Pin | Signal | Colour | Destination | Comment
A0 | Throttle | Green | Motor controller,C3:A3,C6:A3 |
A1 | Brake pot | White | C3:7 |
D2-D5 | LED out | | Panel | four leds
D6, D7 | reserved | | |
5V | 5V | Red | C3:1,C6:1,C7:1 |
GND | Ground | Black | C3:2; C6:2; C7:2 |
D8 | Horn | Brown | Horn & Panel lamp |
D9 | N/C | | - |
"""})  # fmt: skip


def headings_over_ends(folder: Path) -> Path:
    """FROM and TO merged over Connector and Pin, with a row of units."""
    return write_xlsx(folder / "rally_loom.xlsx", {"Wires": Sheet("""
RALLY CAR ENGINE LOOM |||||||||
|||||||||
Wire | FROM ||| TO ||| Size | Length | Colour
| Connector | Pin | Function | Connector | Pin | Function | [mm²] | [mm] |
001 | ECU-A | 1 | Inj 1 | INJ1 | 2 | Drive | 0.75 | 850 | BU
002 | ECU-A | 2 | Inj 2 | INJ2 | 2 | Drive | 0.75 | 870 | BU/RD
003 | ECU-A | 3 | Inj 3 | INJ3 | 2 | Drive | 0.75 | 890 | BU/GN
004 | ECU-A | 4 | Inj 4 | INJ4 | 2 | Drive | 0.75 | 910 | BU/YE
005 | ECU-B | 1 | Sens 0V | TPS | 3 | Ground | 0.5 | 1200 | BK
006 | ECU-B | 2 | TPS | TPS | 2 | Signal | 0.5 | 1200 | GN
007 | ECU-B | 3 | 5V | TPS | 1 | Supply | 0.5 | 1200 | RD
""", merged=("A1:J1", "B3:D3", "E3:G3"))})  # fmt: skip


def british_letters(folder: Path) -> Path:
    """Single-letter colours of the British habit and numbers of wires shared by splices."""
    return write_csv(folder / "roadster.csv", """
Circuit|Colour|From|To|Remarks
Live feed|N|Battery +|Ammeter|heavy
Live feed|N/W|Ammeter|Ignition switch 1|
Ignition|W|Ignition switch 2|Coil +|
Ignition|W|Ignition switch 2|Fuse 3|splice behind dash
Fused ign|G|Fuse 3|Temp gauge|
Fused ign|G|Fuse 3|Fuel gauge|
Temp|G/U|Temp gauge|Temp sender|
Fuel|G/B|Fuel gauge|Tank unit|
Oil light|W/N|Oil pressure switch|Oil lamp|
Earth|B|Fuel gauge|Earth|
Earth|B|Tank unit|Earth|rear
""", encoding="cp1252", separator="\t")  # fmt: skip


def page_headings(folder: Path) -> Path:
    """A printed list: headings come again on each page, with page titles between."""
    head = "Wire ID | From Device | From Pin | To Device | To Pin | Gauge (AWG) | Color | Length (in)"
    pages = []
    for page in range(3):
        pages.append("ENGINE HARNESS - WIRE LIST |||||||\n" + head)
        for k in range(1, 9):
            n = page * 8 + k
            pages.append(
                f"W{n} | ECU | {n} | Device {n} | {1 + n % 3} | {18 + 2 * (n % 3)} | {'BLK' if n % 2 else 'WHT/RED'} | {20 + n}"
            )
        pages.append(f"Page {page + 1} of 3 |||||||")
        pages.append("|||||||")
    return write_xlsx(folder / "printed.xlsx", {"Wires": "\n".join(pages)})


ALL = (
    ecu_pinout, race_car_sheets, genset_german, tractor_french, boat_swedish, motorcycle_italian, dittos, twin_ecu_plugs,
    bulkhead_both_sides, several_destinations, headings_over_ends, british_letters, page_headings,
)  # fmt: skip
