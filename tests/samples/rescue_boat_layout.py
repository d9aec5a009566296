"""Where things are in the rescue boat, what its coils fire and which bundle each wire runs in; inches and feet.

Axes: X forward, Y to port, Z up, from the crankshaft at the rear face of the block. Cylinders 1, 3, 5 and 7 are in the
port bank. The controller has two plugs, and a loom of its own from each: J1 with feeds, coils and injectors into the
valley, J2 with triggers and sensors low along the port side of the block.
"""

from __future__ import annotations

POINTS = """
PANEL   | 28   | 36   | 22  | engine room panel: bus bar, fuses, relays
FUSES   | 28   | 36   | 28  | engine room panel: fuse row
J1      | 14   | 40   | 12  | port stringer
J2      | 18   | 40   | 12  | port stringer
T1      | 12   | 22   | 18  | power loom parts, above the port exhaust
T2      | 10   | 0    | 20  | middle of the valley
T3      | 18   | 5    | 18  | front of the port head
T4      | 18   | -5   | 18  | front of the stbd head
K1      | 20   | 20   | 10  | sensor loom parts, beside the block
K2      | 23   | 8    | 13  | front of the port head, outside
K3      | -1   | 11   | 4   | bell housing, port side
KNOCKS  | 8    | -11  | 2   |
KNOCKP  | 9    | 11   | 2   |
K4      | 14   | 2    | 19  | throttle body
COIL1   | 12   | 6    | 17  | port coil bracket, at the towers
COIL2   | 8    | 6    | 17  |
COIL3   | 8    | -6   | 17  | stbd coil bracket, at the towers
COIL4   | 12   | -6   | 17  |
PLUG1   | 19   | 9.5  | 10  | at the seat
PLUG2   | 18   | -9.5 | 10  |
PLUG3   | 14.6 | 9.5  | 10  |
PLUG4   | 13.6 | -9.5 | 10  |
PLUG5   | 10.2 | 9.5  | 10  |
PLUG6   | 9.2  | -9.5 | 10  |
PLUG7   | 5.8  | 9.5  | 10  |
PLUG8   | 4.8  | -9.5 | 10  |
CAP1    | 10   | 6    | 17  |
CAP2    | 10   | -6   | 17  |
S4      | 10.5 | 4    | 19  |
S6      | 11   | 1.5  | 19.5 |
S7      | 11   | -1.5 | 19.5 |
G1      | 1    | 6    | 15  | rear of port head
G2      | 10   | 7    | 16  | port coil bracket
G5      | 10   | -7   | 16  | stbd coil bracket
INJ1    | 19   | 4    | 17  |
INJ2    | 18   | -4   | 17  |
INJ3    | 14.6 | 4    | 17  |
INJ4    | 13.6 | -4   | 17  |
INJ5    | 10.2 | 4    | 17  |
INJ6    | 9.2  | -4   | 17  |
INJ7    | 5.8  | 4    | 17  |
INJ8    | 4.8  | -4   | 17  |
CRANK   | -1   | 8    | 4   | at the ring gear
CAM     | 22   | 5    | 12  | front cover
STARTER | 2    | -8   | -2  |
BATT    | 40   | 50   | 2   |
X20P    | 50   | 30   | 30  |
X20S    | 51   | 30   | 30  |
DISPLAY | 85   | 20   | 45  | helm
FPUMP   | -100 | 20   | 0   |
BILGE   | 0    | 5    | -12 |
"""

BRANCHES = """
CABLES  | BATT  | PANEL   | 5    | bay  |
START   | PANEL | STARTER | 5    | bay  |
BUS     | PANEL | FUSES   | 0.5  | bay  | on the panel itself: bus bar, fuses, relays
FEED    | PANEL | T1      | 2.25 | bay  |
ECM     | J1    | T1      | 2    | bay  | plug J1
MAIN    | T1    | T2      | 2    | head |
PORT    | T2    | T3      | 1    | head | port head
STBD    | T2    | T4      | 1    | head | starboard head
REAR    | T1    | G1      | 2    | head | to the star point
SENSOR  | J2    | K1      | 2    | bay  | plug J2, no coil wires in here
FRONT   | K1    | K2      | 1.5  | bay  |
LOW     | K1    | K3      | 2.5  | bay  | low along the block
LOW2    | K3    | KNOCKS  | 2.5  | bay  | under the bell housing to starboard
INTAKE  | K1    | K4      | 2    | bay  |
HELM    | PANEL | X20P    | 2.5  | bay  |
CONSOLE | X20S  | DISPLAY | 3.75 | helm |
STERN   | PANEL | FPUMP   | 11.5 | hull |
BILGE   | PANEL | BILGE   | 5    | bilge |
"""

BUNDLES = """
# cell, numbers of the wires
CABLES              | 1 2 3 10 74 75
BUS                 | 7 8 11 17 23 24 25 26 27 28 29 31 33 35 70 71 82
START               | 4 5 6 9 19 22
HELM                | 12 16 86
HELM/START          | 21
HELM/CONSOLE        | 77 83
CONSOLE/HELM/STERN  | 84
CONSOLE/HELM/BILGE  | 79
HELM/FEED/REAR      | 89
CONSOLE             | 13 14 15 20 87 88 96 97 98 99 100 101
FEED/ECM            | 18 30 32 34 90 91
FEED                | 92 93
FEED/HELM          | 94 95
FEED/MAIN/PORT      | 36
FEED/MAIN/STBD      | 37
FEED/MAIN           | 50
PORT                | 38 39 40 41
STBD                | 42 43 44 45
ECM/MAIN/PORT       | 46 47 59 61 63 65
ECM/MAIN/STBD       | 48 49 60 62 64 66
MAIN/PORT           | 51 53 55 57
MAIN/STBD           | 52 54 56 58
ECM/REAR            | 67 68 69
ECM/MAIN            | 132 133 134 135
STERN               | 72 73 85
BILGE               | 76 78 80 81
SENSOR/LOW          | 102 103 104 118 119 120 126 127 128
SENSOR/LOW/LOW2     | 129 130 131
SENSOR/FRONT        | 105 106 107 108 109
SENSOR/INTAKE       | 110 111 112 113 114 115 116 117 121 122 123
SENSOR              | 124 125
"""

SPARKS = """
# component, fires, plug lead, lead type, plug type, gap, teeth, output
COIL1 | PLUG1 + PLUG6
COIL2 | PLUG8 + PLUG5
COIL3 | PLUG4 + PLUG7
COIL4 | PLUG3 + PLUG2
PLUG1 |  | 14 | suppressed | resistor | 0.035
PLUG2 |  | 14 | suppressed | resistor | 0.035
PLUG3 |  | 22 | suppressed | resistor | 0.035
PLUG4 |  | 14 | suppressed | resistor | 0.035
PLUG5 |  | 14 | suppressed | resistor | 0.035
PLUG6 |  | 22 | suppressed | resistor | 0.035
PLUG7 |  | 22 | suppressed | resistor | 0.035
PLUG8 |  | 22 | suppressed | resistor | 0.035
CRANK |  |    |            |          |       | 60-2 | 5
CAM   |  |    |            |          |       | 1    | 1.5
"""

PAIRS = """
# twist group, lay, untwisted end
TP1 | 1 | 1.5
TP2 | 1 | 1.5
TP3 | 1 | 1.5
TP4 | 1 | 1.5
"""

SHIELDS = """
SCR1 | aluminium foil
SCR2 | aluminium foil
SCR3 | aluminium foil
"""
