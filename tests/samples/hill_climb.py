"""Hill-climb single-seater: four cylinders, four coils on plugs, two controller connectors; mm² and mm."""

from __future__ import annotations

from build_model import Build, pins_from, rows_from, wires_from
from hill_climb_assembly import assemble
from hill_climb_layout import BRANCHES, PAIRS, POINTS, SHIELDS, SPARKS, SPLICES
from hill_climb_parts import fit
from hill_climb_protection import BOOTS, CABLE, CABLES, CONTACTS, CURRENTS, FUSES, SLEEVES

WIRES = """
# battery, starting, charging
W101 | BAT:+    | ISO:1    | RD    | 35   | 600  | Battery feed             | | | PWR | ring both ends, boot
W102 | ISO:2    | POST1    | RD    | 35   | 500  | Battery feed             | | | PWR | POST1 is the insulated bus stud on the panel
W103 | POST1    | STR:B    | RD    | 35   | 800  | Starter feed             | | | STC | boot, clear of the exhaust
W104 | POST1    | F9:in    | RD    | 25   | 150  | Alternator output        | | | BUS
W105 | F9:out   | ALT:B    | RD    | 25   | 1100 | Alternator output        | | | STC
W106 | POST1    | F10:in   | RD    | 2.5  | 150  | Start relay feed         | | | BUS
W107 | F10:out  | K4:30    | RD    | 2.5  | 200  | Start relay feed         | | | BUS
W108 | K4:87    | STR:S    | RD/YE | 2.5  | 900  | Starter solenoid         | | | STC
W109 | K4:85    | STUD3    | BK    | 0.75 | 350  | Start relay coil ground  | | | PNL
# main relay and what it feeds
W111 | POST1    | F1:in    | RD    | 6    | 150  | Main relay feed          | | | BUS
W112 | F1:out   | K1:30    | RD    | 6    | 200  | Main relay feed          | | | BUS
W113 | K1:87    | SP2      | RD/WH | 6    | 150  | Switched feed            | | | BUS
W114 | SP2      | F2:in    | RD/WH | 1.5  | 150  | Switched feed ECU        | | | BUS
W115 | SP2      | F3:in    | RD/WH | 4    | 150  | Switched feed coils      | | | BUS
W116 | SP2      | F4:in    | RD/WH | 4   | 150  | Switched feed injectors  | | | BUS
W117 | SP2      | F5:in    | RD/WH | 1.5  | 150  | Switched feed wideband   | | | BUS
W118 | SP2      | F11:in   | RD/WH | 1    | 150  | Switched feed dash       | | | BUS
W119 | F2:out   | SP4      | RD/BK | 1.5  | 250  | ECU feed                 | | | PNL
W120 | SP4      | ECU-A:1  | RD/BK | 1.5  | 500  | ECU feed                 | | | PNL, ECU
W121 | SP4      | K2:86    | RD/BK | 0.75 | 250  | Pump relay coil feed     | | | PNL
W122 | SP4      | K3:86    | RD/BK | 0.75 | 250  | Fan relay coil feed      | | | PNL
W123 | F5:out   | WB:1     | RD/GN | 1.5  | 1200 | Wideband feed            | | | PNL, ENG
W124 | F11:out  | X10P:4   | RD/BU | 0.75 | 700  | Dash feed                | | | PNL, BUL
W125 | X10S:4   | DASH:1   | RD/BU | 0.75 | 900  | Dash feed                | | | CKP
# pump and fan
W131 | POST1    | F6:in    | RD    | 4    | 150  | Fuel pump relay feed     | | | BUS
W132 | F6:out   | K2:30    | RD    | 4    | 200  | Fuel pump relay feed     | | | BUS
W133 | K2:87    | PUMP:1   | OG    | 4    | 2200 | Fuel pump feed           | | | PNL, TANK
W134 | PUMP:2   | STUD3    | BK    | 4    | 1300 | Fuel pump return         | | | TANK
W135 | POST1    | F7:in    | RD    | 6    | 150  | Fan relay feed           | | | BUS
W136 | F7:out   | K3:30    | RD    | 6    | 200  | Fan relay feed           | | | BUS
W137 | K3:87    | FAN:1    | OG/BK | 6    | 1800 | Fan feed                 | | | PNL, RAD
W138 | FAN:2    | STUD3    | BK    | 6    | 1500 | Fan return               | | | RAD
W139 | ECU-A:7  | K1:85    | BU/BK | 0.75 | 600  | Main relay control       | | | PNL, ECU
W140 | ECU-A:8  | K2:85    | BU/OG | 0.75 | 600  | Fuel pump relay control  | | | PNL, ECU
W141 | ECU-A:9  | K3:85    | BU/RD | 0.75 | 600  | Fan relay control        | | | PNL, ECU
# ignition switch and start button, in the cockpit
W151 | POST1    | F8:in    | RD    | 1    | 150  | Permanent feed           | | | BUS
W152 | F8:out   | SP14     | RD/GY | 1    | 200  | Permanent feed fused     | | | PNL
W153 | SP14     | ECU-A:2  | RD/GY | 0.75 | 600  | ECU memory feed          | | | PNL, ECU
W154 | SP14     | X10P:1   | RD/GY | 1    | 600  | Ignition switch feed     | | | PNL, BUL
W155 | X10S:1   | S1:1     | RD/GY | 1    | 700  | Ignition switch feed     | | | CKP
W156 | S1:2     | SP15     | PK    | 1    | 200  | Ignition on              | | | CKP
W157 | SP15     | X10S:2   | PK    | 1    | 600  | Ignition on              | | | CKP
W158 | SP15     | S2:1     | PK    | 0.75 | 200  | Start button feed        | | | CKP
W159 | S2:2     | X10S:3   | PK/WH | 0.75 | 700  | Start request            | | | CKP
W160 | X10P:3   | K4:86    | PK/WH | 0.75 | 600  | Start request            | | | PNL, BUL
W161 | X10P:2   | SP3      | PK    | 1    | 500  | Ignition on              | | | PNL, BUL
W162 | SP3      | ECU-A:3  | PK    | 0.75 | 500  | Ignition on              | | | PNL, ECU
W163 | SP3      | K1:86    | PK    | 0.75 | 250  | Main relay coil feed     | | | PNL
W164 | SP3      | ALT:IG   | PK/BK | 0.75 | 1200 | Alternator switch-on     | | | STC
# ignition
W201 | F3:out   | SP11     | RD/VT | 4    | 1100 | Coil feed                | | | PNL, ENG, COV
W202 | SP11     | COIL1:1  | RD/VT | 1.5  | 450  | Coil 1 feed              | | | COV
W203 | SP11     | COIL2:1  | RD/VT | 1.5  | 350  | Coil 2 feed              | | | COV
W204 | SP11     | COIL3:1  | RD/VT | 1.5  | 350  | Coil 3 feed              | | | COV
W205 | SP11     | COIL4:1  | RD/VT | 1.5  | 450  | Coil 4 feed              | | | COV
W206 | ECU-A:14 | COIL1:2  | GN/BN | 0.5  | 1500 | Coil 1 input             | | | ECU, ENG, COV
W207 | ECU-A:15 | COIL2:2  | GN/RD | 0.5  | 1400 | Coil 2 input             | | | ECU, ENG, COV
W208 | ECU-A:16 | COIL3:2  | GN/OG | 0.5  | 1300 | Coil 3 input             | | | ECU, ENG, COV
W209 | ECU-A:17 | COIL4:2  | GN/YE | 0.5  | 1200 | Coil 4 input             | | | ECU, ENG, COV
W210 | COIL1:3  | SP8      | BK/GN | 1.5  | 450  | Coil 1 ground            | | | COV
W211 | COIL2:3  | SP8      | BK/GN | 1.5  | 350  | Coil 2 ground            | | | COV
W212 | COIL3:3  | SP8      | BK/GN | 1.5  | 350  | Coil 3 ground            | | | COV
W213 | COIL4:3  | SP8      | BK/GN | 1.5  | 450  | Coil 4 ground            | | | COV
W214 | SP8      | STUD1    | BK/GN | 4    | 300  | Coil grounds             | | | COV | to the star stud
W215 | COIL1:4  | STUD2    | BK/WH | 1.5  | 300  | Coil 1 high-voltage return | | | COV | as short as it can be
W216 | COIL2:4  | STUD2    | BK/WH | 1.5  | 200  | Coil 2 high-voltage return | | | COV
W217 | COIL3:4  | STUD2    | BK/WH | 1.5  | 200  | Coil 3 high-voltage return | | | COV
W218 | COIL4:4  | STUD2    | BK/WH | 1.5  | 300  | Coil 4 high-voltage return | | | COV
# injection
W221 | F4:out   | SP13     | RD/YE | 4   | 1200 | Injector feed            | | | PNL, ENG, RAIL
W222 | SP13     | INJ1:1   | RD/YE | 1    | 450  | Injector 1 feed          | | | RAIL
W223 | SP13     | INJ2:1   | RD/YE | 1    | 350  | Injector 2 feed          | | | RAIL
W224 | SP13     | INJ3:1   | RD/YE | 1    | 350  | Injector 3 feed          | | | RAIL
W225 | SP13     | INJ4:1   | RD/YE | 1    | 450  | Injector 4 feed          | | | RAIL
W226 | ECU-A:10 | INJ1:2   | VT/BN | 1    | 1500 | Injector 1 drive         | | | ECU, ENG, RAIL
W227 | ECU-A:11 | INJ2:2   | VT/RD | 1    | 1400 | Injector 2 drive         | | | ECU, ENG, RAIL
W228 | ECU-A:12 | INJ3:2   | VT/OG | 1    | 1300 | Injector 3 drive         | | | ECU, ENG, RAIL
W229 | ECU-A:13 | INJ4:2   | VT/YE | 1    | 1200 | Injector 4 drive         | | | ECU, ENG, RAIL
# power grounds
W301 | ECU-A:4  | STUD1    | BK    | 2.5  | 900  | ECU power ground 1       | | | ECU, ENG | ring of its own on the star stud
W302 | ECU-A:5  | STUD1    | BK    | 2.5  | 900  | ECU power ground 2       | | | ECU, ENG
W303 | WB:2     | STUD1    | BK    | 1.5  | 600  | Wideband power ground    | | | ENG
W304 | DASH:2   | X10S:5   | BK    | 1    | 900  | Dash ground              | | | CKP
W305 | X10P:5   | STUD1    | BK    | 1    | 1400 | Dash ground              | | | BUL, ENG
# triggers
W401 | ECU-B:1  | CRK:1    | WH    | 0.5  | 1300 | Crank signal +           | T1 | SH1 | ECU, BLK, TRG1
W402 | ECU-B:2  | CRK:2    | BN    | 0.5  | 1300 | Crank signal -           | T1 | SH1 | ECU, BLK, TRG1
W403 | ECU-B:3  | open     | SR    | 0.5  | 1250 | Crank shield drain       |    | SH1 | ECU, BLK, TRG1 | cut back and sleeved at the sensor
W404 | ECU-B:6  | CAM:1    | RD/PK | 0.5  | 1400 | Cam sensor supply        |    |     | ECU, BLK, TRG1, TRG2
W405 | ECU-B:4  | CAM:2    | WH/GN | 0.5  | 1400 | Cam signal               | T2 |     | ECU, BLK, TRG1, TRG2
W406 | ECU-B:8  | CAM:3    | BN/GN | 0.5  | 1400 | Cam sensor ground        | T2 |     | ECU, BLK, TRG1, TRG2
# sensors
W411 | ECU-B:9  | CLT:1    | YE    | 0.5  | 1200 | Coolant temperature      | | | ECU, ENG
W412 | CLT:2    | SP5      | BN    | 0.5  | 700  | Sensor ground            | | | ECU, ENG
W413 | ECU-B:10 | IAT:1    | YE/BU | 0.5  | 1100 | Air temperature          | | | ECU, ENG, RAIL
W414 | IAT:2    | SP5      | BN    | 0.5  | 600  | Sensor ground            | | | ECU, ENG, RAIL
W415 | SP6      | MAP:1    | RD/PK | 0.5  | 600  | Sensor supply 5 V        | | | ECU, ENG, RAIL
W416 | MAP:2    | SP5      | BN    | 0.5  | 600  | Sensor ground            | | | ECU, ENG, RAIL
W417 | ECU-B:11 | MAP:3    | GY    | 0.5  | 1100 | Manifold pressure signal | | | ECU, ENG, RAIL
W418 | SP6      | TPS:1    | RD/PK | 0.5  | 500  | Sensor supply 5 V        | | | ECU, ENG, RAIL
W419 | TPS:2    | SP5      | BN    | 0.5  | 500  | Sensor ground            | | | ECU, ENG, RAIL
W420 | ECU-B:12 | TPS:3    | GY/RD | 0.5  | 1000 | Throttle position signal | | | ECU, ENG, RAIL
W421 | SP6      | OPS:1    | RD/PK | 0.5  | 900  | Sensor supply 5 V        | | | ECU, BLK
W422 | OPS:2    | SP5      | BN    | 0.5  | 900  | Sensor ground            | | | ECU, BLK
W423 | ECU-B:13 | OPS:3    | GY/BN | 0.5  | 1400 | Oil pressure signal      | | | ECU, BLK
W424 | SP6      | FPS:1    | RD/PK | 0.5  | 700  | Sensor supply 5 V        | | | ECU, ENG, RAIL
W425 | FPS:2    | SP5      | BN    | 0.5  | 700  | Sensor ground            | | | ECU, ENG, RAIL
W426 | ECU-B:14 | FPS:3    | GY/GN | 0.5  | 1200 | Fuel pressure signal     | | | ECU, ENG, RAIL
W427 | SP6      | GPS:1    | RD/PK | 0.5  | 1300 | Sensor supply 5 V        | | | ECU, BLK
W428 | GPS:2    | SP5      | BN    | 0.5  | 1300 | Sensor ground            | | | ECU, BLK
W429 | ECU-B:15 | GPS:3    | GY/YE | 0.5  | 1800 | Gear position signal     | | | ECU, BLK
W430 | SP6      | ECU-B:5  | RD/PK | 0.5  | 500  | Sensor supply 5 V        | | | ECU
W431 | SP5      | ECU-B:7  | BN    | 0.75 | 500  | Sensor ground            | | | ECU | to the controller and nowhere else
W432 | ECU-B:17 | KNK:1    | WH/GY | 0.5  | 1300 | Knock signal             | T3 | SH2 | ECU, BLK
W433 | ECU-B:18 | KNK:2    | BN/GY | 0.5  | 1300 | Knock sensor ground      | T3 | SH2 | ECU, BLK
W434 | ECU-B:19 | open     | SR    | 0.5  | 1250 | Knock shield drain       |    | SH2 | ECU, BLK | cut back and sleeved at the sensor
W435 | ECU-B:16 | X10P:8   | WH/BK | 0.5  | 800  | Shift switch signal      | | | ECU, BUL
W436 | X10P:9   | SP5      | BN    | 0.5  | 700  | Sensor ground            | | | ECU, BUL
W437 | X10S:8   | S3:1     | WH/BK | 0.5  | 900  | Shift switch signal      | | | CKP
W438 | S3:2     | X10S:9   | BN    | 0.5  | 900  | Sensor ground            | | | CKP
# CAN
W501 | ECU-A:19 | SP10     | YE/WH | 0.5  | 400  | CAN high                 | T4 | | ECU
W502 | ECU-A:20 | SP12     | GN/WH | 0.5  | 400  | CAN low                  | T4 | | ECU
W503 | SP10     | TERM1:1  | YE/WH | 0.5  | 150  | CAN high                 | T5 | | ECU
W504 | SP12     | TERM1:2  | GN/WH | 0.5  | 150  | CAN low                  | T5 | | ECU
W505 | SP10     | WB:3     | YE/WH | 0.5  | 250  | CAN high                 | T6 | | ECU, ENG
W506 | SP12     | WB:4     | GN/WH | 0.5  | 250  | CAN low                  | T6 | | ECU, ENG
W507 | SP10     | X10P:6   | YE/WH | 0.5  | 800  | CAN high                 | T7 | | ECU, BUL
W508 | SP12     | X10P:7   | GN/WH | 0.5  | 800  | CAN low                  | T7 | | ECU, BUL
W509 | X10S:6   | SP16     | YE/WH | 0.5  | 800  | CAN high                 | T8 | | CKP
W510 | X10S:7   | SP17     | GN/WH | 0.5  | 800  | CAN low                  | T8 | | CKP
W511 | SP16     | DASH:3   | YE/WH | 0.5  | 120  | CAN high                 | T9 | | CKP
W512 | SP17     | DASH:4   | GN/WH | 0.5  | 120  | CAN low                  | T9 | | CKP
W513 | SP16     | TERM2:1  | YE/WH | 0.5  | 120  | CAN high                 | T10 | | CKP
W514 | SP17     | TERM2:2  | GN/WH | 0.5  | 120  | CAN low                  | T10 | | CKP
"""

_COIL = "1 | Feed | load feed\n2 | Input | coil input\n3 | Ground | coil ground\n4 | High-voltage return | coil high-voltage return\n"
_INJECTOR = "1 | Feed | load feed\n2 | Drive | injector drive\n"
_THREE_WIRE = "1 | Supply 5 V | sensor supply\n2 | Ground | sensor ground\n3 | Signal | analogue signal\n"
_RELAY = "30 | Contact, feed | relay contact\n85 | Coil | relay coil\n86 | Coil | relay coil\n87 | Contact, load | relay contact\n"
_BULKHEAD = """
1 | Ignition switch feed | fused feed
2 | Ignition on | ignition switch
3 | Start request | digital signal
4 | Dash feed | switched feed
5 | Dash ground | power ground
6 | CAN high | CAN high
7 | CAN low | CAN low
8 | Shift switch signal | digital signal
9 | Sensor ground | sensor ground
10 | N/C | spare
11 | N/C | spare
12 | N/C | spare
"""

PINS = f"""
= ECU-A | ECU
1 | Main feed | switched feed
2 | Memory feed | battery feed
3 | Ignition on | ignition switch
4 | Power ground 1 | power ground
5 | Power ground 2 | power ground
6 | N/C | spare
7 | Main relay control | low-side output
8 | Fuel pump relay control | low-side output
9 | Fan relay control | low-side output
10 | Injector 1 | injector drive
11 | Injector 2 | injector drive
12 | Injector 3 | injector drive
13 | Injector 4 | injector drive
14 | Coil 1 | coil input
15 | Coil 2 | coil input
16 | Coil 3 | coil input
17 | Coil 4 | coil input
18 | N/C | spare
19 | CAN high | CAN high
20 | CAN low | CAN low
21 | N/C | spare
22 | N/C | spare
23 | N/C | spare
24 | N/C | spare
25 | N/C | spare
26 | N/C | spare
= ECU-B | ECU
1 | Crank + | trigger signal +
2 | Crank - | trigger signal -
3 | Crank shield | shield drain
4 | Cam signal | trigger signal +
5 | Sensor supply 5 V | sensor supply
6 | Cam sensor supply | sensor supply
7 | Sensor ground | sensor ground
8 | Cam sensor ground | sensor ground
9 | Coolant temperature | temperature signal
10 | Air temperature | temperature signal
11 | Manifold pressure | analogue signal
12 | Throttle position | analogue signal
13 | Oil pressure | analogue signal
14 | Fuel pressure | analogue signal
15 | Gear position | analogue signal
16 | Shift switch | digital signal
17 | Knock | analogue signal
18 | Knock sensor ground | sensor ground
19 | Knock shield | shield drain
20 | N/C | spare
21 | N/C | spare
22 | N/C | spare
23 | N/C | spare
24 | N/C | spare
25 | N/C | spare
26 | N/C | spare
= COIL1
{_COIL}= COIL2
{_COIL}= COIL3
{_COIL}= COIL4
{_COIL}= INJ1
{_INJECTOR}= INJ2
{_INJECTOR}= INJ3
{_INJECTOR}= INJ4
{_INJECTOR}= CRK
1 | Signal + | trigger signal +
2 | Signal - | trigger signal -
= CAM
1 | Supply | sensor supply
2 | Signal | trigger signal +
3 | Ground | sensor ground
= CLT
1 | Signal | temperature signal
2 | Ground | sensor ground
= IAT
1 | Signal | temperature signal
2 | Ground | sensor ground
= MAP
{_THREE_WIRE}= TPS
{_THREE_WIRE}= OPS
{_THREE_WIRE}= FPS
{_THREE_WIRE}= GPS
{_THREE_WIRE}= KNK
1 | Signal | analogue signal
2 | Ground | sensor ground
= WB
1 | Feed | switched feed
2 | Power ground | power ground
3 | CAN high | CAN high
4 | CAN low | CAN low
= DASH
1 | Feed | switched feed
2 | Power ground | power ground
3 | CAN high | CAN high
4 | CAN low | CAN low
= TERM1
1 | CAN high | CAN high
2 | CAN low | CAN low
= TERM2
1 | CAN high | CAN high
2 | CAN low | CAN low
= PUMP
1 | Feed | load feed
2 | Return | load return
= FAN
1 | Feed | load feed
2 | Return | load return
= K1
{_RELAY}= K2
{_RELAY}= K3
{_RELAY}= K4
{_RELAY}= S1
1 | Feed | fused feed
2 | Ignition on | ignition switch
= S2
1 | Feed | ignition switch
2 | Start request | digital signal
= S3
1 | Signal | digital signal
2 | Ground | sensor ground
= ISO
1 | Battery side | battery feed
2 | Loom side | battery feed
= BAT
+ | Positive | battery feed
= STR
B | Battery | battery feed
S | Solenoid | load feed
= ALT
B | Output | battery feed
IG | Switch-on | switched feed
= X10P
{_BULKHEAD}= X10S
{_BULKHEAD}"""

COMPONENTS = """
BAT   | battery            | chassis |     |      | no  |      | 12 V, beside the seat; negative post to the straps
ISO   | isolator           | chassis |     |      | no  |      | battery isolator, poles for alternator run-down not used
STR   | starter            | block   | 180 |      | yes |      | current while cranking
ALT   | alternator         | block   |     |      | yes |      | 14 V, 70 A
ECU   | controller         | chassis | 0.8 |      | no  |      | on rubber mounts, case insulated; connectors ECU-A and ECU-B
COIL1 | coil               | head    | 1   |      | no  |      | igniter inside; average at full speed
COIL2 | coil               | head    | 1   |      | no  |
COIL3 | coil               | head    | 1   |      | no  |
COIL4 | coil               | head    | 1   |      | no  |
PLUG1 | spark plug         | head    |     |      |     |      | cylinder 1, on the left
PLUG2 | spark plug         | head    |     |      |     |      |
PLUG3 | spark plug         | head    |     |      |     |      |
PLUG4 | spark plug         | head    |     |      |     |      |
INJ1  | injector           | head    | 0.8 | 12   | no  |      | average at full speed
INJ2  | injector           | head    | 0.8 | 12   | no  |
INJ3  | injector           | head    | 0.8 | 12   | no  |
INJ4  | injector           | head    | 0.8 | 12   | no  |
PUMP  | fuel pump          | chassis | 6   |      | no  |      | in the tank
FAN   | fan                | chassis | 8   |      | no  |
WB    | controller         | chassis | 1.2 |      | no  |      | wideband controller with heater, case insulated
DASH  | display            | cabin   | 0.5 |      | no  |
CRK   | reluctor sensor    | block   |     | 850  | no  |
CAM   | Hall sensor        | head    | 0.02 |     | no  |
CLT   | temperature sensor | head    |     | 2500 | no  |      | at 20 °C, two wires
IAT   | temperature sensor | bay     |     | 2500 | no  |      | in the airbox
MAP   | pressure sensor    | bay     | 0.01 |     | no  |
TPS   | position sensor    | bay     |     | 5000 | no  |
OPS   | pressure sensor    | block   | 0.01 |     | no  |      | three wires, case not used
FPS   | pressure sensor    | bay     | 0.01 |     | no  |
GPS   | position sensor    | block   |     | 5000 | no  |      | on the gearbox
KNK   | knock sensor       | block   |     |      | no  |      | both poles insulated from the case
TERM1 | terminator         | bay     |     | 120  | no  |
TERM2 | terminator         | cabin   |     | 120  | no  |
K1    | relay              | bay     |     | 90   | no  |      | main relay
K2    | relay              | bay     |     | 90   | no  |      | fuel pump
K3    | relay              | bay     |     | 90   | no  |      | fan
K4    | relay              | bay     |     | 90   | no  |      | starter solenoid
S1    | switch             | cabin   |     |      | no  |      | ignition
S2    | switch             | cabin   |     |      | no  |      | start button
S3    | switch             | cabin   |     |      | no  |      | shift paddle
X10P  | connector          | chassis |     |      | no  | X10S | bulkhead, engine bay half
X10S  | connector          | cabin   |     |      | no  | X10P | bulkhead, cockpit half
"""

EARTH_POINTS = """
STUD1 | head    | 0.1 | star point: controller, coils, wideband, dash
STUD2 | head    | 0.1 | beside the plugs, spark current only
STUD3 | chassis | 0.2 | by the battery tray: pump, fan, start relay coil
"""

STRAPS = """
G1 | head    | battery negative | 35 | 600 | engine strap
G2 | chassis | battery negative | 25 | 350 | chassis strap
"""


def clean() -> Build:
    """The build as it should be."""
    build = Build(
        name="hill_climb_single_seater",
        title="Hill-climb single-seater, engine and chassis loom",
        wires=wires_from(WIRES),
        pins=pins_from(PINS),
        components=rows_from(
            "component kind place current_a resistance_ohm case_earthed mate note", COMPONENTS
        ),
        earth_points=rows_from("earth_point body resistance_ohm note", EARTH_POINTS),
        fuses=rows_from("fuse rating_a family colour protects", FUSES),
        straps=rows_from("strap from_body to_body size length_m note", STRAPS),
        splices=rows_from("splice branch distance_m note", SPLICES),
        branches=rows_from("branch from_point to_point length_m zone note", BRANCHES),
        points=rows_from("point x_m y_m z_m note", POINTS),
    )
    build.describe_components("component fires plug_type gap_m teeth output_v", SPARKS)
    build.describe_components("component contact_a", CONTACTS)
    build.describe_components("component boot_m boot_shrunk_m", BOOTS)
    build.describe_branches("branch sleeve_m bend_m", SLEEVES)
    build.make_pairs(PAIRS, SHIELDS)
    build.insulate(CABLE, CABLES)
    for row in rows_from("wire current_a", CURRENTS):
        build.change(str(row["wire"]), current_a=row["current_a"])
    assemble(build)
    build.fill_in_wires_of_pins()
    fit(build)
    return build
