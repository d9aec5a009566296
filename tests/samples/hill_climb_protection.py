"""Fuses, cables, contacts, boots and sleeves of the hill-climb single-seater."""

from __future__ import annotations

FUSES = """
# fuse, rating, family, colour, what it feeds
F1  | 20  | regular blade   | yellow | Main relay
F2  | 5   | mini blade      | tan    | Controller, relay coils
F3  | 7.5 | regular blade   | brown  | Coils
F4  | 5   | mini blade      | tan    | Injectors
F5  | 5   | mini blade      | tan    | Wideband
F6  | 10  | regular blade   | red    | Fuel pump
F7  | 15  | regular blade   | blue   | Fan
F8  | 5   | mini blade      | tan    | Permanent feed: memory, ignition switch
F9  | 80  | bolt-down 30 mm |        | Alternator
F10 | 15  | regular blade   | blue   | Starter solenoid
F11 | 3   | mini blade      | violet | Dash
"""

CABLE = "FLR2X-B"
CABLES = """
# sizes that are of another cable
16 | FL2X
25 | FL2X
35 | FL2X
"""

CONTACTS = """
# relay or switch, rating of its contact
K1  | 40
K2  | 40
K3  | 40
K4  | 40
S1  | 10
S2  | 5
"""

BOOTS = """
# connector, inner diameter of its boot at the wires as supplied, and shrunk
X10P | 20 | 5.5
X10S | 20 | 5.5
"""

SLEEVES = """
# branch, inner diameter of its sleeve, radius of its tightest bend
ENG  | 22 | 60
COV  | 18 | 50
TRG1 | 10 | 25
CKP  | 16 | 40
"""

CURRENTS = """
# wire, current; of the starter's solenoid as it pulls in, which no component of the list has
W106 | 12
W107 | 12
W108 | 12
"""
