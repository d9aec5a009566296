"""Fuses, cables, contacts, boots and sleeves of the rescue boat."""

from __future__ import annotations

FUSES = """
# fuse, rating, family, colour, what it feeds
FU1  | 30 | maxi blade      | green  | main relay
FU2  | 5  | blade           | tan    | controller
FU3  | 5  | blade           | tan    | injectors
FU4  | 7.5 | blade          | brown  | coils port
FU5  | 5  | blade           | tan    | display
FU6  | 15 | blade           | blue   | fuel pump
FU7  | 10 | blade           | red    | bilge pump
FU8  | 10 | blade           | red    | blower
FU9  | 5  | blade           | tan    | key
FU10 | 80 | bolt-down 30 mm |        | alternator
FU11 | 20 | blade           | yellow | starter solenoid
FU12 | 7.5 | blade          | brown  | coils starboard
"""

CABLE = "GXL"
CABLES = """
# gauges that are of another cable
2/0 | SGX
4   | SGX
"""

CONTACTS = """
# relay or switch, rating of its contact
RY1   | 40
RY2   | 40
RY4   | 40
SWB   | 15
SWF   | 15
"""

JOINTS = """
# joint, resistance as new, at the end of its life; mΩ
BSW | 0.2 | 0.4 | main battery switch, by its data sheet
"""

BOOTS = """
# connector, inner diameter of its boot at the wires as supplied, and shrunk; inches
X20P | 1 | 0.3
X20S | 1 | 0.3
"""

SLEEVES = """
# bundle, inner diameter of its sleeve, radius of its tightest bend; inches
MAIN    | 1.25 | 2
STERN   | 0.6  | 2
START   | 1.5  | 7
CONSOLE | 0.75 | 1.75
FRONT   | 0.5  | 1
"""

CURRENTS = """
# wire, current; of the starter's solenoid as it pulls in, which no component of the list has
7 | 12
8 | 12
9 | 12
"""
