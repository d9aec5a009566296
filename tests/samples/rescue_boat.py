"""Rescue boat with a V8: four two-terminal wasted-spark coils, igniters in the controller; AWG and feet."""

from __future__ import annotations

from build_model import Build, pins_from, rows_from, wires_from
from rescue_boat_assembly import assemble
from rescue_boat_layout import BRANCHES, BUNDLES, PAIRS, POINTS, SHIELDS, SPARKS
from rescue_boat_parts import fit
from rescue_boat_protection import BOOTS, CABLE, CABLES, CONTACTS, CURRENTS, FUSES, JOINTS, SLEEVES

WIRES = """
# battery, starting, charging
1  | BATT:+   | POST1    | Red    | 2/0 | 1   | Battery cable            | | | | POST1 = stud at the battery box
2  | POST1     | BSW:1   | Red    | 2/0 | 2   | Battery cable            | | | | to main battery switch
3  | BSW:2    | BUSBAR    | Red    | 2/0 | 2   | Battery cable            | | | | BUSBAR = feed bus bar
4  | BUSBAR     | STARTER:B | Red  | 2/0 | 5   | Starter cable            | | | | boot on post
5  | BUSBAR     | FU10:in | Red    | 4   | 0.5 | Alternator charge        | | |
6  | FU10:out | ALT:B   | Red    | 4   | 6   | Alternator charge        | | |
7  | BUSBAR     | FU11:in | Red    | 12  | 0.5 | Start relay feed         | | |
8  | FU11:out | RY4:30  | Red    | 12  | 1   | Start relay feed         | | |
9  | RY4:87   | STARTER:S | Red/Yellow | 12 | 6 | Starter solenoid       | | |
10 | RY4:85   | G4      | Black  | 18  | 3   | Start relay coil ground  | | |
# key, lanyard, neutral
11 | BUSBAR     | FU9:in  | Red    | 14  | 0.5 | Key feed                 | | |
12 | FU9:out  | X20P:1  | Red/White | 16 | 3 | Key feed                 | | |
13 | X20S:1   | KEY:B   | Red/White | 16 | 4 | Key feed                 | | |
14 | KEY:I    | LANYARD:1 | Pink | 16  | 1   | Ignition on              | | | | closed with the lanyard clipped on
15 | LANYARD:2 | X20S:2 | Pink   | 16  | 4   | Ignition on              | | |
16 | X20P:2   | S11     | Pink   | 16  | 2   | Ignition on              | | |
17 | S11      | RY1:86  | Pink   | 18  | 1   | Main relay coil feed     | | |
18 | S11      | J1:3    | Pink   | 18  | 3   | Ignition on              | | |
19 | S11      | ALT:IG  | Pink/Black | 18 | 6 | Alternator switch-on    | | |
20 | KEY:S    | X20S:3  | Yellow | 18  | 4   | Start request            | | |
21 | X20P:3   | NEUTRAL:1 | Yellow | 18 | 6  | Start request            | | |
22 | NEUTRAL:2 | RY4:86 | Yellow/Black | 18 | 5 | Start request, in neutral | | |
# main relay
23 | BUSBAR     | FU1:in  | Red    | 8   | 0.5 | Main relay feed          | | |
24 | FU1:out  | RY1:30  | Red    | 8   | 1   | Main relay feed          | | |
25 | RY1:87   | S1      | Red/Blue | 8 | 0.5 | Switched feed            | | |
26 | S1       | FU2:in  | Red/Blue | 14 | 0.5 | Switched feed controller | | |
27 | S1       | FU3:in  | Red/Blue | 12 | 0.5 | Switched feed injectors | | |
28 | S1       | FU4:in  | Red/Blue | 12 | 0.5 | Switched feed coils port | | |
29 | S1       | FU5:in  | Red/Blue | 14 | 0.5 | Switched feed display   | | |
30 | J1:7     | RY1:85  | Blue/Black | 18 | 3 | Main relay control      | | |
31 | FU2:out  | S2      | Red/Black | 14 | 1 | Controller feed          | | |
32 | S2       | J1:1    | Red/Black | 14 | 3 | Controller feed          | | |
33 | S2       | RY2:86  | Red/Black | 18 | 1 | Fuel pump relay coil feed | | |
34 | J1:8     | RY2:85  | Blue/Orange | 18 | 3 | Fuel pump relay control | | |
# ignition
35 | S1       | FU12:in | Red/Blue | 12 | 0.5 | Switched feed coils stbd | | |
36 | FU4:out  | S6      | Red/Violet | 12 | 5 | Coil feed port bank     | | |
37 | FU12:out | S7      | Red/Violet | 12 | 6 | Coil feed stbd bank     | | |
38 | S6       | COIL1:+ | Red/Violet | 14 | 1 | Coil 1 feed             | | |
39 | S6       | COIL2:+ | Red/Violet | 14 | 1 | Coil 2 feed             | | |
40 | S6       | CAP1:1  | Red/Violet | 14 | 0.5 | Suppression capacitor port | | |
41 | CAP1:2   | G2      | Black  | 14  | 0.5 | Suppression capacitor port | | | | to the head, at the coil bracket
42 | S7       | COIL3:+ | Red/Violet | 14 | 1 | Coil 3 feed             | | |
43 | S7       | COIL4:+ | Red/Violet | 14 | 1 | Coil 4 feed             | | |
44 | S7       | CAP2:1  | Red/Violet | 14 | 0.5 | Suppression capacitor stbd | | |
45 | CAP2:2   | G5      | Black  | 14  | 0.5 | Suppression capacitor stbd | | | | to the head, at the coil bracket
46 | COIL1:-  | J1:31   | Green/Brown | 14 | 6 | Coil 1 primary - (cyl 1+6) | | |
47 | COIL2:-  | J1:32   | Green/Red | 14 | 6 | Coil 2 primary - (cyl 8+5) | | |
48 | COIL3:-  | J1:33   | Green/Orange | 14 | 7 | Coil 3 primary - (cyl 4+7) | | |
49 | COIL4:-  | J1:34   | Green/Yellow | 14 | 7 | Coil 4 primary - (cyl 3+2) | | |
# injection
50 | FU3:out  | S4      | Red/Green | 12 | 4 | Injector feed            | | |
51 | S4       | INJ1:1  | Red/Green | 18 | 2 | Injector 1 feed          | | |
52 | S4       | INJ2:1  | Red/Green | 18 | 3 | Injector 2 feed          | | |
53 | S4       | INJ3:1  | Red/Green | 18 | 2 | Injector 3 feed          | | |
54 | S4       | INJ4:1  | Red/Green | 18 | 3 | Injector 4 feed          | | |
55 | S4       | INJ5:1  | Red/Green | 18 | 2 | Injector 5 feed          | | |
56 | S4       | INJ6:1  | Red/Green | 18 | 3 | Injector 6 feed          | | |
57 | S4       | INJ7:1  | Red/Green | 18 | 2 | Injector 7 feed          | | |
58 | S4       | INJ8:1  | Red/Green | 18 | 3 | Injector 8 feed          | | |
59 | INJ1:2   | J1:21   | Violet/Brown | 18 | 6 | Injector 1 drive      | | |
60 | INJ2:2   | J1:22   | Violet/Red | 18 | 7 | Injector 2 drive        | | |
61 | INJ3:2   | J1:23   | Violet/Orange | 18 | 6 | Injector 3 drive     | | |
62 | INJ4:2   | J1:24   | Violet/Yellow | 18 | 7 | Injector 4 drive     | | |
63 | INJ5:2   | J1:25   | Violet/Green | 18 | 6 | Injector 5 drive      | | |
64 | INJ6:2   | J1:26   | Violet/Blue | 18 | 7 | Injector 6 drive       | | |
65 | INJ7:2   | J1:27   | Violet/White | 18 | 6 | Injector 7 drive      | | |
66 | INJ8:2   | J1:28   | Violet/Grey | 18 | 7 | Injector 8 drive       | | |
# controller grounds
67 | J1:4     | G1      | Black  | 12  | 5   | ECM power ground 1       | | | | G1 is the star point
68 | J1:5     | G1      | Black  | 12  | 5   | ECM power ground 2       | | |
69 | J1:6     | G1      | Black  | 12  | 5   | ECM power ground 3       | | |
# fuel pump, bilge pump, blower
70 | BUSBAR     | FU6:in  | Red    | 10  | 0.5 | Fuel pump relay feed     | | |
71 | FU6:out  | RY2:30  | Red    | 10  | 1   | Fuel pump relay feed     | | |
72 | RY2:87   | FPUMP:+ | Orange | 10  | 13  | Fuel pump feed           | | |
73 | FPUMP:-  | G4      | Black  | 10  | 12  | Fuel pump return         | | |
74 | POST1     | FU7:in  | Red    | 12  | 0.5 | Bilge pump feed          | | | | ahead of the battery switch, always live
75 | FU7:out  | S9      | Brown/Red | 12 | 1 | Bilge pump feed          | | |
76 | S9       | FLOAT:1 | Brown/Red | 12 | 6 | Bilge float switch feed  | | |
77 | S9       | SWB:1   | Brown/Red | 12 | 5 | Bilge panel switch feed  | | |
78 | FLOAT:2  | S8      | Brown  | 12  | 1   | Bilge pump feed          | | |
79 | SWB:2    | S8      | Brown  | 12  | 6   | Bilge pump feed          | | |
80 | S8       | BILGE:+ | Brown  | 12  | 1   | Bilge pump feed          | | |
81 | BILGE:-  | G4      | Black  | 12  | 7   | Bilge pump return        | | |
82 | BUSBAR     | FU8:in  | Red    | 12  | 0.5 | Blower feed              | | |
83 | FU8:out  | SWF:1   | Orange/Black | 12 | 6 | Blower switch feed    | | | | run four minutes before starting
84 | SWF:2    | BLOWER:+ | Orange/White | 12 | 7 | Blower feed          | | |
85 | BLOWER:- | G4      | Black  | 12  | 9   | Blower return            | | |
# display and CAN
86 | FU5:out  | X20P:4  | Red/Grey | 16 | 3  | Display feed             | | |
87 | X20S:4   | DISPLAY:1 | Red/Grey | 16 | 4 | Display feed            | | |
88 | DISPLAY:2 | X20S:5 | Black  | 16  | 4   | Display power ground     | | |
89 | X20P:5   | G1      | Black  | 16  | 7   | Display power ground     | | |
90 | J1:11    | S12     | Yellow/White | 20 | 2 | CAN high              | CAN-A | |
91 | J1:12    | S13     | Green/White | 20 | 2 | CAN low                | CAN-A | |
92 | S12      | TRM1:1  | Yellow/White | 20 | 0.5 | CAN high            | CAN-B | |
93 | S13      | TRM1:2  | Green/White | 20 | 0.5 | CAN low              | CAN-B | |
94 | S12      | X20P:6  | Yellow/White | 20 | 4 | CAN high              | CAN-C | |
95 | S13      | X20P:7  | Green/White | 20 | 4 | CAN low                | CAN-C | |
96 | X20S:6   | S14     | Yellow/White | 20 | 4 | CAN high              | CAN-D | |
97 | X20S:7   | S15     | Green/White | 20 | 4 | CAN low                | CAN-D | |
98 | S14      | DISPLAY:3 | Yellow/White | 20 | 0.5 | CAN high          | CAN-E | |
99 | S15      | DISPLAY:4 | Green/White | 20 | 0.5 | CAN low            | CAN-E | |
100 | S14     | TRM2:1  | Yellow/White | 20 | 0.5 | CAN high            | CAN-F | |
101 | S15     | TRM2:2  | Green/White | 20 | 0.5 | CAN low              | CAN-F | |
# triggers
102 | J2:1    | CRANK:1 | Pink/White | 20 | 6 | Crank sensor supply 5V  |  |
103 | J2:2    | CRANK:2 | White/Green | 20 | 6 | Crank signal           | TP1 |
104 | J2:3    | CRANK:3 | Brown/Green | 20 | 6 | Crank sensor ground    | TP1 |
105 | J2:4    | CAM:1   | White  | 20  | 5   | Cam signal +             | TP2 | SCR1
106 | J2:5    | CAM:2   | Black/White | 20 | 5 | Cam signal -           | TP2 | SCR1
107 | J2:6    | open    | Bare   | 20  | 4.8 | Cam shield drain         |     | SCR1 | | cut off at the sensor, heat shrink over
# sensors
108 | J2:9    | ECT:1   | Yellow | 20  | 5   | Coolant temperature      | | |
109 | ECT:2   | S16     | Brown  | 20  | 3   | Sensor ground            | | |
110 | J2:10   | IAT:1   | Yellow/Blue | 20 | 5 | Air temperature        | | |
111 | IAT:2   | S16     | Brown  | 20  | 3   | Sensor ground            | | |
112 | S17     | MAP:1   | Pink   | 20  | 2   | Sensor supply 5V         | | |
113 | MAP:2   | S16     | Brown  | 20  | 2   | Sensor ground            | | |
114 | J2:11   | MAP:3   | Grey   | 20  | 4   | Manifold pressure signal | | |
115 | S17     | TPS:1   | Pink   | 20  | 2   | Sensor supply 5V         | | |
116 | TPS:2   | S16     | Brown  | 20  | 2   | Sensor ground            | | |
117 | J2:12   | TPS:3   | Grey/Red | 20 | 4  | Throttle position signal | | |
118 | S17     | OILP:1  | Pink   | 20  | 4   | Sensor supply 5V         | | |
119 | OILP:2  | S16     | Brown  | 20  | 4   | Sensor ground            | | |
120 | J2:13   | OILP:3  | Grey/Brown | 20 | 6 | Oil pressure signal     | | |
121 | S17     | FUELP:1 | Pink   | 20  | 3   | Sensor supply 5V         | | |
122 | FUELP:2 | S16     | Brown  | 20  | 3   | Sensor ground            | | |
123 | J2:14   | FUELP:3 | Grey/Green | 20 | 5 | Fuel pressure signal    | | |
124 | S16     | J2:8    | Brown  | 18  | 3   | Sensor ground            | | | | all sensor grounds end here
125 | S17     | J2:7    | Pink   | 20  | 3   | Sensor supply 5V         | | |
126 | J2:15   | KNOCKP:1 | White/Grey | 20 | 6 | Knock signal port      | TP3 | SCR2
127 | J2:16   | KNOCKP:2 | Brown/Grey | 20 | 6 | Knock sensor ground port | TP3 | SCR2
128 | J2:17   | open    | Bare   | 20  | 5.8 | Knock shield drain port  |     | SCR2
129 | J2:18   | KNOCKS:1 | White/Black | 20 | 7 | Knock signal stbd     | TP4 | SCR3
130 | J2:19   | KNOCKS:2 | Brown/Black | 20 | 7 | Knock sensor ground stbd | TP4 | SCR3
131 | J2:20   | open    | Bare   | 20  | 6.8 | Knock shield drain stbd  |     | SCR3
# idle air
132 | J1:35   | IAC:A   | Blue/White | 18 | 5 | Idle stepper A          | | |
133 | J1:36   | IAC:B   | Blue/Yellow | 18 | 5 | Idle stepper B         | | |
134 | J1:37   | IAC:C   | Blue/Red | 18 | 5  | Idle stepper C           | | |
135 | J1:38   | IAC:D   | Blue/Green | 18 | 5 | Idle stepper D          | | |
"""

_INJECTOR = "1 | Injector feed | load feed\n2 | Injector drive | injector drive\n"
_COIL = "+ | Coil feed | load feed\n- | Coil primary - | coil primary -\n"
_THREE_WIRE = (
    "1 | Sensor supply 5V | sensor supply\n2 | Sensor ground | sensor ground\n3 | Signal | analogue signal\n"
)
_RELAY = "30 | Relay contact feed | relay contact\n85 | Relay coil | relay coil\n86 | Relay coil | relay coil\n87 | Relay contact load | relay contact\n"
_HELM = """
1 | Key feed | fused feed
2 | Ignition on | ignition switch
3 | Start request | digital signal
4 | Display feed | switched feed
5 | Display power ground | power ground
6 | CAN high | CAN high
7 | CAN low | CAN low
8 | N/C | spare
"""


def _unused(first: int, last: int) -> str:
    return "".join(f"{cavity} | N/C | spare\n" for cavity in range(first, last + 1))


PINS = (
    f"""
= J1 | ECM
1 | Controller feed | switched feed
2 | N/C | spare
3 | Ignition on | ignition switch
4 | Power ground 1 | power ground
5 | Power ground 2 | power ground
6 | Power ground 3 | power ground
7 | Main relay control | low-side output
8 | Fuel pump relay control | low-side output
9 | N/C | spare
10 | N/C | spare
11 | CAN high | CAN high
12 | CAN low | CAN low
{_unused(13, 20)}21 | Injector 1 drive | injector drive
22 | Injector 2 drive | injector drive
23 | Injector 3 drive | injector drive
24 | Injector 4 drive | injector drive
25 | Injector 5 drive | injector drive
26 | Injector 6 drive | injector drive
27 | Injector 7 drive | injector drive
28 | Injector 8 drive | injector drive
29 | N/C | spare
30 | N/C | spare
31 | Coil 1 primary - | coil primary -
32 | Coil 2 primary - | coil primary -
33 | Coil 3 primary - | coil primary -
34 | Coil 4 primary - | coil primary -
35 | Idle stepper A | low-side output
36 | Idle stepper B | low-side output
37 | Idle stepper C | low-side output
38 | Idle stepper D | low-side output
39 | N/C | spare
40 | N/C | spare
= J2 | ECM
1 | Crank sensor supply 5V | sensor supply
2 | Crank signal | trigger signal +
3 | Crank sensor ground | sensor ground
4 | Cam signal + | trigger signal +
5 | Cam signal - | trigger signal -
6 | Cam shield drain | shield drain
7 | Sensor supply 5V | sensor supply
8 | Sensor ground | sensor ground
9 | Coolant temperature | temperature signal
10 | Air temperature | temperature signal
11 | Manifold pressure signal | analogue signal
12 | Throttle position signal | analogue signal
13 | Oil pressure signal | analogue signal
14 | Fuel pressure signal | analogue signal
15 | Knock signal port | analogue signal
16 | Knock sensor ground port | sensor ground
17 | Knock shield drain port | shield drain
18 | Knock signal stbd | analogue signal
19 | Knock sensor ground stbd | sensor ground
20 | Knock shield drain stbd | shield drain
{_unused(21, 40)}= COIL1
{_COIL}= COIL2
{_COIL}= COIL3
{_COIL}= COIL4
{_COIL}= CAP1
1 | Coil feed | load feed
2 | Engine | load return
= CAP2
1 | Coil feed | load feed
2 | Engine | load return
"""
    + "".join(f"= INJ{number}\n{_INJECTOR}" for number in range(1, 9))
    + f"""
= CRANK
1 | Sensor supply 5V | sensor supply
2 | Crank signal | trigger signal +
3 | Sensor ground | sensor ground
= CAM
1 | Cam signal + | trigger signal +
2 | Cam signal - | trigger signal -
= ECT
1 | Coolant temperature | temperature signal
2 | Sensor ground | sensor ground
= IAT
1 | Air temperature | temperature signal
2 | Sensor ground | sensor ground
= MAP
{_THREE_WIRE}= TPS
{_THREE_WIRE}= OILP
{_THREE_WIRE}= FUELP
{_THREE_WIRE}= KNOCKP
1 | Knock signal | analogue signal
2 | Sensor ground | sensor ground
= KNOCKS
1 | Knock signal | analogue signal
2 | Sensor ground | sensor ground
= IAC
A | Idle stepper A | load feed
B | Idle stepper B | load feed
C | Idle stepper C | load feed
D | Idle stepper D | load feed
= DISPLAY
1 | Display feed | switched feed
2 | Display power ground | power ground
3 | CAN high | CAN high
4 | CAN low | CAN low
= RY1
{_RELAY}= RY2
{_RELAY}= RY4
{_RELAY}= X20P
{_HELM}= X20S
{_HELM}"""
)

COMPONENTS = """
BATT     | Battery            | hull    |      |      | no  |       | start battery, negative post bonded, see Bonding
BSW      | Isolator           | hull    |      |      | no  |       | main battery switch
STARTER  | Starter            | block   | 220  |      | yes |       | amps while cranking
ALT      | Alternator         | block   |      |      | yes |       | 70 A, case grounded
ECM      | Controller         | hull    | 1    |      | no  |       | plugs J1 and J2; igniters inside; on rubber mounts, case insulated
COIL1    | Coil               | head    | 1    |      | no  |       | two terminals, wasted spark; average at full speed
COIL2    | Coil               | head    | 1    |      | no  |       |
COIL3    | Coil               | head    | 1    |      | no  |       |
COIL4    | Coil               | head    | 1    |      | no  |       |
CAP1     | Capacitor          | head    |      | 0.47 | no  |       | port coil bank
CAP2     | Capacitor          | head    |      | 0.47 | no  |       | stbd coil bank
PLUG1    | Spark plug         | head    |      |      |     |       | cylinder 1, front of the port bank
PLUG2    | Spark plug         | head    |      |      |     |       |
PLUG3    | Spark plug         | head    |      |      |     |       |
PLUG4    | Spark plug         | head    |      |      |     |       |
PLUG5    | Spark plug         | head    |      |      |     |       |
PLUG6    | Spark plug         | head    |      |      |     |       |
PLUG7    | Spark plug         | head    |      |      |     |       |
PLUG8    | Spark plug         | head    |      |      |     |       |
INJ1     | Injector           | engine  | 0.4  |      | no  |       | average at full speed
INJ2     | Injector           | engine  | 0.4  |      | no  |       |
INJ3     | Injector           | engine  | 0.4  |      | no  |       |
INJ4     | Injector           | engine  | 0.4  |      | no  |       |
INJ5     | Injector           | engine  | 0.4  |      | no  |       |
INJ6     | Injector           | engine  | 0.4  |      | no  |       |
INJ7     | Injector           | engine  | 0.4  |      | no  |       |
INJ8     | Injector           | engine  | 0.4  |      | no  |       |
FPUMP    | Fuel pump          | hull    | 7    |      | no  |       |
BILGE    | Water pump         | hull    | 5    |      | no  |       | bilge pump
BLOWER   | Fan                | hull    | 4    |      | no  |       | engine bay blower
CRANK    | Hall sensor        | block   | 0.02 |      | no  |       |
CAM      | Reluctor sensor    | head    |      |      | no  |       | 820 ohm
ECT      | Temperature sensor | head    |      |      | no  |       | two wires
IAT      | Temperature sensor | bay     |      |      | no  |       |
MAP      | Pressure sensor    | bay     | 0.01 |      | no  |       |
TPS      | Position sensor    | engine  | 0.01 |      | no  |       |
OILP     | Pressure sensor    | block   | 0.01 |      | no  |       | three wires, case not used
FUELP    | Pressure sensor    | engine  | 0.01 |      | no  |       |
KNOCKP   | Knock sensor       | block   |      |      | no  |       | insulated poles
KNOCKS   | Knock sensor       | block   |      |      | no  |       | insulated poles
IAC      | Stepper            | engine  |      |      | no  |       | idle air
DISPLAY  | Display            | cabin   | 1    |      | no  |       | at the helm
TRM1     | Terminator         | bay     |      |      | no  |       | 120 ohm
TRM2     | Terminator         | cabin   |      |      | no  |       | 120 ohm
RY1      | Relay              | bay     |      |      | no  |       | main relay
RY2      | Relay              | bay     |      |      | no  |       | fuel pump
RY4      | Relay              | bay     |      |      | no  |       | starter solenoid
KEY      | Switch             | cabin   |      |      | no  |       | ignition key
LANYARD  | Switch             | cabin   |      |      | no  |       | kill switch
NEUTRAL  | Switch             | hull    |      |      | no  |       | on the gearbox, insulated
FLOAT    | Switch             | hull    |      |      | no  |       | bilge float
SWB      | Switch             | cabin   |      |      | no  |       | bilge, by hand
SWF      | Switch             | cabin   |      |      | no  |       | blower
X20P     | Connector          | hull    |      |      | no  | X20S  | helm connector, engine bay half
X20S     | Connector          | cabin   |      |      | no  | X20P  | helm connector, helm half
"""

EARTH_POINTS = """
G1 | head             | star point, rear of port head
G2 | head             | port coil bracket
G3 | hull             | bonding stud on the engine bed, nothing on it in this loom
G4 | battery negative | negative bus bar at the battery box
G5 | head             | stbd coil bracket
"""

STRAPS = """
engine | head | battery negative | 2/0 | 3 |
hull   | hull | battery negative | 6   | 4 | bonding conductor
"""


def clean() -> Build:
    """The build as it should be."""
    build = Build(
        name="rescue_boat_v8",
        title="RESCUE BOAT, V8 PETROL - ENGINE HARNESS WIRE LIST",
        wires=wires_from(WIRES),
        pins=pins_from(PINS),
        components=rows_from(
            "component kind place current_a capacitance_f case_earthed mate note", COMPONENTS
        ),
        earth_points=rows_from("earth_point body note", EARTH_POINTS),
        fuses=rows_from("fuse rating_a family colour protects", FUSES),
        straps=rows_from("strap from_body to_body size length_m note", STRAPS),
        branches=rows_from("branch from_point to_point length_m zone note", BRANCHES),
        points=rows_from("point x_m y_m z_m note", POINTS),
        joints=rows_from("joint resistance_ohm aged_ohm note", JOINTS),
    )
    for row in rows_from("bundle wires", BUNDLES):
        for wire in str(row["wires"]).split():
            build.change(wire, branch=row["bundle"])
    build.describe_components(
        "component fires lead_m lead_type plug_type gap_m teeth output_v", SPARKS
    )
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
