"""Words of the guidance page of the recommended workbook."""

from __future__ import annotations

__all__ = ["CAUTIONS", "INTRODUCTION", "SHEETS", "STEPS", "WRITING"]

INTRODUCTION = (
    "Fill in the wire list and as many of the other sheets as you can, then have the list checked before "
    "the first crimp. The rows in the sheets are a small example, a single-cylinder generator set: look at "
    "how they are written, delete them, and write your own."
)

STEPS: tuple[str, ...] = (
    (
        "Only the wire list is needed. Every further sheet lets more be decided; what could not be decided "
        "is reported together with the column that would decide it."
    ),
    (
        "Columns with a dark heading are needed, those with a light heading are optional. Columns may be "
        "left out, moved or left empty, and you may add your own. Rest the pointer on a heading to read "
        "what it means."
    ),
    (
        "Keep one name for one thing: a connector, splice, fuse or earth point is spelled the same on all "
        "sheets."
    ),
    (
        "Drop-downs stand in the columns for colour, size, role, kind, place, body, fuse, and the types of "
        "leads, plugs and shields. They are "
        "offers, their words are on the sheet Lists; colours and sizes that are not in the list may be "
        "typed."
    ),
)
"""How to use the workbook, one sentence or two for each step."""

SHEETS: tuple[tuple[str, str, bool], ...] = (
    ("wires", "One row per wire, from end to end. Everything starts from this sheet.", True),
    ("pins", "What every cavity is, used or not. Finds wires in the wrong cavity and pins left open.", False),
    ("components", "What each device is, what it is bolted to and what it draws.", False),
    ("earth_points", "Every stud or ring position that wires go to, and the body it is on.", False),
    (
        "fuses",
        "Every fuse with its rating. Write the fuse in the wire list with the cavities in and out.",
        False,
    ),
    (
        "splices",
        "Where each splice lies. A splice that is only named in the wire list is known all the same.",
        False,
    ),
    ("branches", "The branches of the loom, their length and the zone that decides how hot they get.", False),
    (
        "points",
        "Where the ends of the branches, the connectors and the devices are. With them the areas of the "
        "ignition's loops are computed, without them only bounded.",
        False,
    ),
    ("joints", "Joints whose resistance you know or have measured; the others take usual values.", False),
    (
        "straps",
        "Battery, engine and chassis straps. Without them usual ones are assumed, and it is said so.",
        False,
    ),
    (
        "parts",
        "What each terminal, seal, plug and connector takes. With it crimps, seals and mates are held "
        "against the wires.",
        False,
    ),
    (
        "measurements",
        "What was measured on the finished loom; the network is solved with it. The test sheets of the papers are read "
        "in the same way.",
        False,
    ),
)
"""Form, what its sheet is for, and whether it is needed."""

WRITING: tuple[tuple[str, str], ...] = (
    (
        "Ends",
        "From and To hold the name of a connector, component, splice, fuse or earth point: ECU, F1, SP1, "
        "STUD1. Which end is From does not matter. An end that is cut off on purpose is written open.",
    ),
    (
        "Cavities",
        "As marked on the housing: 1, A3, 87. The battery has + and -, a fuse in and out, a relay 30, 85, "
        "86 and 87. Splices and earth points have none. One wire to a cavity: use a splice for more.",
    ),
    (
        "Inline connectors",
        "Give each half a name of its own (X10P, X10S) and say in the component list which half it mates "
        "with. Both halves have the same cavities.",
    ),
    ("Splices", "A splice is an end like any other. Three wires that meet are three rows that end on SP1."),
    (
        "Sizes",
        "mm² as a plain number: 0.5, 1, 2.5. For a gauge write 18 AWG in the cell, or change the heading to"
        " Size (AWG) and write 18. The one is never converted to the other.",
    ),
    (
        "Lengths",
        "Cut length in the unit of the heading. Another unit may stand in the cell: 1.2 m, 4 ft, 18 in.",
    ),
    (
        "Colours",
        "Letters of IEC 60757, base colour first and the tracer after a stroke: RD, BK, WH/BU. Words are "
        "read too: red, white/blue.",
    ),
    (
        "Twist groups",
        "Wires with the same word in this column are twisted together: T1 for a trigger wire and its own "
        "return.",
    ),
    (
        "Shields",
        "Wires with the same word lie in one shield. Its drain is a row of its own with the same word: one "
        "end at the controller, the other end open.",
    ),
    (
        "Lay",
        "The length of one full turn of a twisted pair, and beside it the length that is left untwisted at a "
        "connector.",
    ),
    (
        "Points",
        "Measure from any one zero along three axes at right angles; numbers may be negative. A point is an "
        "end of a branch, a connector or a device, spelled as there. Leave Z out for a flat drawing.",
    ),
    (
        "Sparks",
        "Say in Fires which plugs a coil fires: PLUG1 + PLUG4 for one spark over two plugs, PLUG1, PLUG2 for two "
        "outputs of their own; or its distributor, which fires the plugs in turn. Lead, plug and gap stand on the row "
        "of the plug, or of the coil for all its plugs.",
    ),
    (
        "Unused pins",
        "Write N/C as the signal of a cavity that stays empty. A blank signal means that nobody has said "
        "yet.",
    ),
    (
        "Roles",
        "A role says what a pin does: power ground, sensor ground, coil input, trigger signal + ... It is "
        "inferred from the signal's name and every inference is listed; a word in the column Role overrides"
        " it.",
    ),
    (
        "Currents",
        "The steady current of each device in the component list: the average for coils and injectors. A "
        "current in the wire list counts for that wire alone.",
    ),
    (
        "Earthed by its case",
        "Say yes for a device whose body is its return: starter, alternator, one-wire senders. Say in Place"
        " what it is bolted to.",
    ),
)
"""How to write each thing: a word for the margin, and the explanation."""

CAUTIONS: tuple[tuple[str, str], ...] = (
    ("Disconnect", "Disconnect the battery, negative post first, before you work on a loom or probe it."),
    (
        "Airbags",
        "Keep off airbag and belt-tensioner circuits. Do not cut, probe, splice or route beside them.",
    ),
    (
        "High voltage",
        "Coils and their leads carry tens of kilovolts and can stop a heart. Key off and connectors out "
        "before you touch them; never crank with a lead in the hand.",
    ),
    (
        "Gas and vapour",
        "Batteries give off hydrogen, and fuel vapour gathers in bays and bilges. Ventilate before you "
        "switch on, crimp with heat or solder.",
    ),
    (
        "Fuse at the source",
        "Every feed has its fuse close to the battery, sized to protect the thinnest wire behind it.",
    ),
    (
        "Limits of a check",
        "A clear result is not proof that a loom is safe. It says that the rules named in the report found "
        "nothing in the data given; it does not see the crimps, the routing or what is missing from the "
        "list.",
    ),
    (
        "Codes and licence",
        "Local codes and standards come first, and work that asks for a licensed person is done by one. "
        "Have the list and the finished loom reviewed by somebody who did not make them.",
    ),
)
"""What to take care of: a word for the margin, and the sentence."""
