"""Where things are in the hill-climb single-seater, what its coils fire and how its pairs are made; mm.

Axes: X forward, Y to the left, Z up, from the floor at the middle of the bulkhead behind the seat. The engine stands
across the car behind that bulkhead, cylinder 1 on the left; controller and panel are on its right, so that the loom of
the coils comes to the cam cover from there. Triggers go round the front of the block, low, and up on the left.
"""

from __future__ import annotations

POINTS = """
P0     | -220 | -400 | 500 | top of the fuse and relay panel
P1     | -220 | -400 | 380 | fuse and relay panel, right-hand side of the engine bay
X10P   | 0    | -60  | 420 | bulkhead, engine bay half
X10S   | 20   | -60  | 420 | bulkhead, cockpit half
P2     | -60  | -330 | 250 | where the loom of the controller parts
P3     | -300 | -190 | 640 | right end of the cam cover
P4     | -300 | 160  | 640 | left end of the cam cover, in front of coil 1
P5     | -150 | 0    | 200 | front of the block, low
P6     | -330 | 250  | 260 | left side of the block
P7     | -200 | 150  | 560 | left end of the injector rail
POST1  | -220 | -400 | 380 | insulated bus stud on the panel
BAT    | 300  | -400 | 150 | beside the seat, right
ECU-A  | -50  | 20   | 180 |
ECU-B  | -50  | 20   | 230 |
STR    | -480 | -180 | 220 |
ALT    | -420 | -240 | 300 |
COIL1  | -330 | 128  | 620 | at its connector
COIL2  | -330 | 43   | 620 |
COIL3  | -330 | -43  | 620 |
COIL4  | -330 | -128 | 620 |
PLUG1  | -330 | 128  | 480 | at its seat
PLUG2  | -330 | 43   | 480 |
PLUG3  | -330 | -43  | 480 |
PLUG4  | -330 | -128 | 480 |
STUD1  | -280 | -230 | 580 | right end of the head
STUD2  | -280 | 0    | 560 | front of the head, between plugs 2 and 3
STUD3  | 250  | -380 | 120 | by the battery tray
INJ1   | -230 | 128  | 540 |
INJ2   | -230 | 43   | 540 |
INJ3   | -230 | -43  | 540 |
INJ4   | -230 | -128 | 540 |
CRK    | -340 | 240  | 250 | 36-1 wheel on the left end of the crankshaft
CAM    | -420 | 230  | 520 | left end of the inlet camshaft
CLT    | -310 | -220 | 540 |
IAT    | -120 | -40  | 620 | airbox
MAP    | -180 | -150 | 600 |
TPS    | -160 | -170 | 560 |
FPS    | -210 | -170 | 560 |
OPS    | -170 | -80  | 180 |
KNK    | -190 | 20   | 260 |
GPS    | -520 | 60   | 200 | on the gearbox, round the left of the block
WB     | -120 | -300 | 320 |
DASH   | 840  | 0    | 560 |
PUMP   | 500  | 430  | 150 | side tank, left
FAN    | 350  | 620  | 300 | sidepod, left
"""

BRANCHES = """
PWR  | BAT   | P1    | 1050 | chassis | battery cable, apart from the loom
STC  | P1    | STR   | 800  | bay     | starter and charge cables, apart from the loom
BUS  | P1    | P0      | 150  | bay     | bus stud, fuses and relays, on the panel itself
PNL  | P1    | P2    | 250  | bay     | panel to where the loom of the controller parts
ECU  | ECU-A | P2    | 375  | bay     | no coil feed or coil ground in here
BUL  | P2    | X10P  | 350  | bay     | to the bulkhead
ENG  | P2    | P3    | 550  | bay     | up to the right end of the cam cover
COV  | P3    | P4    | 360  | head    | along the cam cover: coils only
RAIL | P3    | P7    | 400  | head    | along the injector rail
BLK  | P2    | P5    | 375  | bay     | low along the front of the block, away from the coils
TRG1 | P5    | P6    | 350  | bay     | triggers, round to the left side of the block
TRG2 | P6    | CAM   | 290  | bay     | cam sensor, up behind the left end of the head
CKP  | X10S  | DASH  | 900  | cabin   |
TANK | P2    | PUMP  | 1900 | chassis | round the cockpit
RAD  | P2    | FAN   | 1500 | chassis | round the cockpit
"""

SPLICES = """
SP2  | PNL | 150 | switched feed
SP3  | PNL | 240 | ignition on, engine bay
SP4  | PNL | 220 | controller feed
SP5  | ECU | 360 | sensor ground
SP6  | ECU | 345 | sensor supply
SP8  | COV | 200 | coil grounds
SP10 | ECU | 330 | CAN high
SP11 | COV | 160 | coil feed
SP12 | ECU | 330 | CAN low
SP13 | RAIL | 220 | injector feed
SP14 | PNL | 200 | permanent feed
SP15 | CKP | 600 | ignition on, cockpit
SP16 | CKP | 780 | CAN high
SP17 | CKP | 780 | CAN low
"""

SPARKS = """
# component, fires, plug type, gap, teeth, output
COIL1 | PLUG1
COIL2 | PLUG2
COIL3 | PLUG3
COIL4 | PLUG4
PLUG1 |  | resistor | 0.7
PLUG2 |  | resistor | 0.7
PLUG3 |  | resistor | 0.7
PLUG4 |  | resistor | 0.7
CRK   |  |          |     | 36-1 | 1.2
CAM   |  |          |     | 1    | 5
"""

PAIRS = """
# twist group, lay, untwisted end
T1 | 25 | 30
T2 | 25 | 30
T3 | 25 | 30
"""

SHIELDS = """
SH1 | copper braid
SH2 | copper braid
"""
