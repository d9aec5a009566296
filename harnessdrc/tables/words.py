"""The fixed words of the lists: roles of wires and pins, kinds of component, bodies and places.

A cell of the columns *Role*, *Kind*, *Body* or *Place* overrides what is inferred from names, so its words
have to be known. How people otherwise spell them is data of the vocabulary, not of this file.
"""

from __future__ import annotations

__all__ = ["BODIES", "KINDS", "LEAD_TYPES", "PART_KINDS", "PLACES", "PLUG_TYPES", "ROLES", "SEXES", "SHIELD_MATERIALS"]

ROLES: tuple[tuple[str, str], ...] = (
    ("battery feed", "live at all times, straight from the battery or behind a fuse only"),
    ("switched feed", "live with the ignition switch or the main relay"),
    ("fused feed", "feed behind a fuse of its own"),
    ("power ground", "ground that carries the current of a controller's outputs and supply"),
    ("sensor supply", "regulated supply to sensors, usually 5 V"),
    ("sensor ground", "ground of sensors only; goes back to the controller and nowhere else"),
    ("analogue signal", "voltage of a pressure, position or oxygen sensor"),
    ("temperature signal", "signal of a temperature sensor with a pull-up in the controller"),
    ("trigger signal +", "crank or cam trigger, positive or signal side"),
    ("trigger signal -", "crank or cam trigger, negative side or its own return"),
    ("coil input", "logic signal that makes a coil or an igniter charge"),
    ("coil primary -", "switched side of a coil that has no igniter inside"),
    ("coil ground", "ground of the igniter inside a coil"),
    ("coil high-voltage return", "return of the spark current to the cylinder head"),
    ("injector drive", "switched side of an injector"),
    ("low-side output", "output that switches a load to ground"),
    ("high-side output", "output that switches a load to its feed"),
    ("relay coil", "either end of a relay's coil"),
    ("relay contact", "either end of a relay's contact"),
    ("ignition switch", "output of the ignition or stop switch"),
    ("CAN high", "bus wire, high side"),
    ("CAN low", "bus wire, low side"),
    ("shield drain", "drain of a shield, connected at one end only"),
    ("load feed", "feed of a pump, fan, solenoid, lamp or heater"),
    ("load return", "return of a pump, fan, solenoid, lamp or heater"),
    ("digital signal", "speed, frequency or on/off signal"),
    ("spare", "not used; write N/C as the signal too"),
)
"""Name and meaning of every role of a wire or a pin."""

KINDS: tuple[tuple[str, str], ...] = (
    ("controller", "engine controller or any other control unit"),
    ("battery", "battery; its terminals are + and -"),
    ("alternator", "alternator or other charging machine"),
    ("starter", "starter motor with its solenoid"),
    ("coil", "ignition coil, with or without an igniter inside"),
    ("distributor", "ignition distributor: one coil to the plug whose turn it is"),
    ("igniter", "switch of a coil's primary current, apart from the coil"),
    ("injector", "fuel injector"),
    ("fuel pump", "electric fuel pump, lift or high pressure"),
    ("fan", "cooling or ventilating fan"),
    ("water pump", "electric coolant, raw-water or bilge pump"),
    ("solenoid", "valve or shut-off worked by a coil"),
    ("stepper", "stepper motor, for example of an idle valve"),
    ("heater", "heating element, glow plug"),
    ("lamp", "lamp or warning light"),
    ("temperature sensor", "coolant, air, oil or head temperature"),
    ("pressure sensor", "manifold, oil, fuel or boost pressure"),
    ("position sensor", "angle of a throttle, pedal or shaft"),
    ("reluctor sensor", "two-wire magnetic pick-up that makes its own voltage"),
    ("Hall sensor", "three-wire digital trigger sensor"),
    ("knock sensor", "piezo knock sensor"),
    ("oxygen sensor", "narrow-band or wideband oxygen sensor"),
    ("speed sensor", "wheel, shaft or gearbox speed"),
    ("switch", "switch, push button"),
    ("isolator", "battery switch, battery isolator, master switch: parts battery cables"),
    ("relay", "relay; its terminals are 30, 85, 86, 87 (87a)"),
    ("fuse", "fuse; its terminals are in and out"),
    ("capacitor", "suppression capacitor; give its capacitance"),
    ("resistor", "resistor; give its resistance"),
    ("diode", "diode, suppressor"),
    ("terminator", "terminating resistor of a bus"),
    ("connector", "half of an inline or bulkhead connector; give what it mates with"),
    ("splice", "permanent joint of three or more wires"),
    ("earth point", "stud or ring position on a body"),
    ("display", "dash, gauge or screen"),
    ("logger", "data logger"),
    ("spark plug", "spark plug"),
    ("power distribution", "fuse and relay box, bus bar, power module"),
    ("load", "any other consumer of current"),
)
"""Name and meaning of every kind of component."""

BODIES: tuple[tuple[str, str], ...] = (
    ("head", "cylinder head"),
    ("block", "engine block"),
    ("engine", "engine, where head and block are not told apart"),
    ("chassis", "chassis or body shell"),
    ("hull", "bonded metal hull of a boat, treated like a chassis"),
    ("battery negative", "negative post of the battery"),
)
"""Name and meaning of every body that can carry a return current."""

PLACES: tuple[tuple[str, str], ...] = (
    *BODIES[:5],
    ("bay", "engine bay, not bolted to metal that carries current"),
    ("cabin", "cabin or cockpit, not bolted to metal that carries current"),
)
"""Name and meaning of every place a component can sit."""

LEAD_TYPES: tuple[tuple[str, str], ...] = (
    ("suppressed", "with resistance: carbon core or wire wound in a spiral"),
    ("solid", "plain copper or steel core, without resistance"),
)
"""Name and meaning of every type of plug lead."""

PLUG_TYPES: tuple[tuple[str, str], ...] = (
    ("resistor", "with a resistor inside, some 5 kΩ"),
    ("plain", "without a resistor"),
)
"""Name and meaning of every type of spark plug."""

SHIELD_MATERIALS: tuple[tuple[str, str], ...] = (
    ("copper braid", "braid of copper wires, bare or tinned"),
    ("aluminium foil", "foil with a drain wire"),
    ("steel braid", "braid of steel wires, also stainless"),
    ("steel conduit", "steel tube or conduit"),
)
"""Name and meaning of every material of a shield."""

PART_KINDS: tuple[tuple[str, str], ...] = (
    ("terminal", "crimped on a wire, goes into a housing and locks there"),
    ("ring terminal", "ring, fork or lug for a stud or screw"),
    ("seal", "seal on a single wire"),
    ("cavity plug", "closes a cavity that has no wire"),
    ("connector", "housing that terminals go into"),
    ("splice", "crimp that joins wires for good"),
    ("cable", "wire or cable on a reel"),
    ("sleeve", "sleeve, conduit or tube round a bundle"),
    ("boot", "moulded or shrunk over the wires where they leave a housing, to keep water out"),
    ("other", "anything else that is bought"),
)
"""Name and meaning of every kind of part in the parts table."""

SEXES: tuple[tuple[str, str], ...] = (
    ("pin", "the half that goes into the other: male"),
    ("socket", "the half that takes the other: female"),
)
"""Name and meaning of the sex of a terminal, and of a connector by the terminals it takes."""
