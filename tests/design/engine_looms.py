"""Made-up engine looms for the tests of the solved circuit, and the shipped samples."""

from __future__ import annotations

import random
from collections.abc import Mapping
from functools import cache
from pathlib import Path

from text_lists import design_from, shipped_given, shipped_states

from harnessdrc.api import open_and_read
from harnessdrc.design import Design, design_of

WIRES = "Wire,From,From cavity,To,To cavity,Size (mm2),Length (m),Signal,Current (A)"
COMPONENTS = "Component,Kind,Place,Current (A),Earthed by its case"
EARTHS = "Earth point,Body,Resistance (mohm)"
STRAPS = "Strap,From body,To body,Size (mm2),Length (m),Resistance (mohm)"
FUSES = "Fuse,Rating (A)"
JOINTS = "Joint,Resistance (mohm),Aged resistance (mohm)"
HEADS = {
    "wires": WIRES, "components": COMPONENTS, "earth_points": EARTHS, "straps": STRAPS, "fuses": FUSES,
    "joints": JOINTS,
}  # fmt: skip

SAMPLES = Path(__file__).parents[2] / "sample_wirelists"
SAMPLE_FILES = sorted(SAMPLES.glob("*/*.xlsx"))

Row = tuple[object, ...]
End = tuple[str, str]


@cache
def sample(path: Path) -> Design:
    """Design of a shipped sample, in the shipped states."""
    _, reading = open_and_read([path])
    return design_of(reading, shipped_given(), shipped_states())


def text(name: str, rows: list[Row]) -> str:
    """A table as CSV text under its headings."""
    return "\n".join([HEADS[name], *(",".join(map(str, row)) for row in rows)]) + "\n"


class EngineLoom:
    """One engine: battery, fuse, relay, controller, coils, injectors, sensors, fan, pump, heater, a second controller.

    Parameters
    ----------
    seed : int
        Of the random choice of sizes, lengths, layout and listed data.
    loops : bool
        Whether grounds are led to several bodies and cross wires close loops.
    lacking : float
        Part of the wires that lack their size or their length.
    """

    def __init__(self, seed: int, *, loops: bool = True, lacking: float = 0.0) -> None:
        self.rng = random.Random(seed)
        self.loops, self.lacking = loops, lacking
        self.tables: dict[str, list[Row]] = {name: [] for name in HEADS}
        self.grounds: list[End] = [("Engine stud", ""), ("Head stud", ""), ("Chassis stud", "")]
        for stud, body in (("Engine stud", "engine"), ("Head stud", "head"), ("Chassis stud", "chassis")):
            ohm = self.rng.choice(["", "", "1.5"])
            self.tables["earth_points"].append((stud, body, ohm))
        self._straps()
        self._supply()
        self._grounds()
        self._loads()
        self._sensors()
        self._cross_wires()

    # ------------------------------------------------------------------ rows
    def wire(self, a: End, b: End, signal: str, sizes: tuple[float, ...] = (0.5, 0.75, 1.0, 1.5, 2.5)) -> None:
        size: object = self.rng.choice(sizes)
        length: object = round(self.rng.uniform(0.1, 3.0), 3)
        if self.rng.random() < self.lacking:
            size, length = self.rng.choice([("", length), (size, ""), ("", "")])
        self.tables["wires"].append((f"W{len(self.tables['wires']) + 1}", *a, *b, size, length, signal, ""))

    def component(self, name: str, kind: str, place: str = "", amps: object = "", case: str = "") -> None:
        self.tables["components"].append((name, kind, place, amps, case))

    def ground(self) -> End:
        """Where a ground wire goes: one point, or anywhere if loops are wished."""
        return self.rng.choice(self.grounds) if self.loops else self.grounds[0]

    def _straps(self) -> None:
        choice = self.rng.randrange(4)
        if choice == 0:
            return
        rows: list[Row] = [("S1", "engine", "battery negative", 25, 0.8, "")]
        if choice >= 2:
            rows.append(("S2", "chassis", "battery negative", 16, 0.5, "") if choice == 2 else
                        ("S2", "engine", "chassis", "", "", round(self.rng.uniform(0.2, 5.0), 2)))  # fmt: skip
        if self.loops and self.rng.random() < 0.5:
            rows.append(("S3", "engine", "chassis", 10, 0.6, ""))
        self.tables["straps"] = rows

    def _supply(self) -> None:
        self.wire(("Battery", "+"), ("Fuse 1", "in"), "Battery feed", (4.0, 6.0))
        self.wire(("Fuse 1", "out"), ("Main relay", "30"), "Fused feed", (4.0, 6.0))
        self.wire(("Main relay", "87"), ("Splice 1", ""), "Switched feed", (2.5, 4.0))
        self.wire(("Splice 1", ""), ("Splice 2", ""), "Switched feed", (2.5, 4.0))
        if self.rng.random() < 0.7:
            self.tables["fuses"].append(("Fuse 1", 40))
        self.feeds: list[End] = [("Splice 1", ""), ("Splice 2", "")]

    def _grounds(self) -> None:
        for number in range(11, 11 + self.rng.randint(1, 4)):
            self.wire((f"Splice {number}", ""), self.ground(), "Power ground", (1.5, 2.5, 4.0))
            self.grounds.append((f"Splice {number}", ""))
        self.component("ECU", "controller")
        self.wire(self.rng.choice(self.feeds), ("ECU", "A1"), "Switched feed")
        self.wire(("ECU", "A2"), self.grounds[0], "Power ground", (1.5, 2.5))
        for pin in range(3, 3 + self.rng.randint(0, 2)):
            self.wire(("ECU", f"A{pin}"), self.ground(), "Power ground", (1.0, 1.5))

    def _loads(self) -> None:
        coils = self.rng.randint(1, 4)
        for n in range(1, coils + 1):
            self.component(f"Coil {n}", "coil", "head", self.rng.choice(["", "", 0.7, 9]))
            self.wire(self.rng.choice(self.feeds), (f"Coil {n}", "1"), "Coil feed")
            self.wire(("ECU", f"B{n}"), (f"Coil {n}", "2"), f"Coil {n} input")
            self.wire((f"Coil {n}", "3"), self.ground(), "Coil ground")
        for n in range(1, self.rng.randint(1, 4) + 1):
            self.component(f"Injector {n}", "injector")
            self.wire(self.rng.choice(self.feeds), (f"Injector {n}", "1"), "Injector feed")
            self.wire((f"Injector {n}", "2"), ("ECU", f"C{n}"), f"Injector {n}")
        for name, kind, size in (
            ("Fuel pump", "fuel pump", 2.5), ("Fan", "fan", 4.0), ("Heater", "heater", 1.5), ("Display", "display", 0.5)
        ):  # fmt: skip
            if self.rng.random() < 0.7:
                amps: object = "" if kind != "heater" and self.rng.random() < 0.5 else round(self.rng.uniform(1, 12), 1)
                self.component(name, kind, "", amps)
                self.wire(self.rng.choice(self.feeds), (name, "1"), f"{name} feed", (size,))
                self.wire((name, "2"), self.ground(), f"{name} ground", (size,))
        if self.rng.random() < 0.6:
            self.component("Logger", "controller", "", round(self.rng.uniform(0.2, 2), 2))
            self.wire(self.rng.choice(self.feeds), ("Logger", "1"), "Switched feed", (0.5,))
            self.wire(("Logger", "2"), self.ground(), "Power ground", (0.5,))
            self.wire(("ECU", "E1"), ("Logger", "3"), "CAN high", (0.5,))
            self.wire(("ECU", "E2"), ("Logger", "4"), "CAN low", (0.5,))
        for kind, body in (("starter", "engine"), ("alternator", "engine")):
            if self.rng.random() < 0.5:
                name = kind.capitalize()
                self.component(name, kind, body, self.rng.choice(["", 60, 150]), "yes")
                self.wire(("Battery", "+"), (name, "30" if kind == "starter" else "B+"), "Battery feed", (16.0, 25.0))

    def _sensors(self) -> None:
        self.wire(("ECU", "D9"), ("Splice 30", ""), "Sensor ground", (0.5,))
        for n in range(1, self.rng.randint(1, 3) + 1):
            name = f"Coolant temp sensor {n}"
            self.component(name, "temperature sensor", "head")
            self.wire(("ECU", f"D{n}"), (name, "1"), "Coolant temp signal", (0.5,))
            if self.loops and self.rng.random() < 0.4:
                self.wire((name, "2"), self.ground(), "Sensor ground", (0.5,))
            else:
                self.wire((name, "2"), ("Splice 30", ""), "Sensor ground", (0.5,))
        self.component("MAP sensor", "pressure sensor")
        self.wire(("ECU", "D5"), ("MAP sensor", "1"), "MAP signal", (0.5,))
        self.wire(("ECU", "D6"), ("MAP sensor", "3"), "5V sensor supply", (0.5,))
        self.wire(("MAP sensor", "2"), ("Splice 30", ""), "Sensor ground", (0.5,))

    def _cross_wires(self) -> None:
        if not self.loops:
            return
        for points, signal in ((self.grounds[3:], "Power ground"), (self.feeds, "Switched feed")):
            if len(points) > 1:
                for _ in range(self.rng.randint(0, 2)):
                    one, other = self.rng.sample(points, 2)
                    self.wire(one, other, signal, (1.5, 2.5))

    # ------------------------------------------------------------------ designs
    def texts(self) -> dict[str, str]:
        """Tables that have rows, as CSV texts."""
        return {name: text(name, rows) for name, rows in self.tables.items() if rows}

    def design(self, given: Mapping[str, float] | None = None) -> Design:
        """Its design in the shipped states."""
        return design_from(given, **self.texts())
