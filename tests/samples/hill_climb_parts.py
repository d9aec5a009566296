"""Terminals, seals, plugs, connectors and cables of the hill-climb single-seater, under names of its builder's own."""

from __future__ import annotations

from build_model import Build, rows_from
from parts_model import Housing, Rules, fit_parts

_COLUMNS = (
    "part kind family sex size_min size_max insulation_min_m insulation_max_m bore_min_m bore_max_m strip_m pack note"
)

TABLE = """
# part, kind, family, sex, conductor, insulation, bore, strip length, pack
T-0.5    | terminal      | P2.5 sealed | socket | 0.35 | 0.5 | 1.1 | 1.7 |     |     | 4   | 200
T-1      | terminal      | P2.5 sealed | socket | 0.75 | 1   | 1.6 | 2.2 |     |     | 4.5 | 100
T-2.5    | terminal      | P2.5 sealed | socket | 1.5  | 2.5 | 2.1 | 3.1 |     |     | 5   | 100
T-6      | terminal      | P2.5 sealed | socket | 4    | 6   | 3.2 | 4.5 |     |     | 6   | 50  | wide tongue
TP-0.5   | terminal      | P2.5 sealed | pin    | 0.35 | 0.5 | 1.1 | 1.7 |     |     | 4   | 50
TP-1     | terminal      | P2.5 sealed | pin    | 0.75 | 1   | 1.6 | 2.2 |     |     | 4.5 | 50
B-1      | terminal      | P6.3        | socket | 0.5  | 1   | 1.1 | 2.2 |     |     | 6   | 100
B-2.5    | terminal      | P6.3        | socket | 1.5  | 2.5 | 2.1 | 3.1 |     |     | 6   | 100
B-6      | terminal      | P6.3        | socket | 4    | 6   | 3.2 | 4.5 |     |     | 7   | 50
R6-1     | ring terminal |             |        | 0.5  | 1   |     |     |     |     | 6   | 50
R6-2.5   | ring terminal |             |        | 1.5  | 2.5 |     |     |     |     | 7   | 50
R6-6     | ring terminal |             |        | 4    | 6   |     |     |     |     | 8   | 25
R8-35    | ring terminal |             |        | 16   | 35  |     |     |     |     | 16  | 10
SL-1     | seal          | P2.5 sealed |        |      |     | 1.2 | 1.7 | 4.8 | 5.2 |     | 200
SL-2     | seal          | P2.5 sealed |        |      |     | 1.6 | 2.1 | 4.8 | 5.2 |     | 100
SL-3     | seal          | P2.5 sealed |        |      |     | 2.1 | 3   | 4.8 | 5.2 |     | 100
SL-4     | seal          | P2.5 sealed |        |      |     | 3.3 | 4.4 | 4.8 | 5.2 |     | 50
SPL-2.5  | splice        |             |        | 1    | 2.5 |     |     |     |     | 8   | 100 | all wires together, sealed sleeve
SPL-6    | splice        |             |        | 2.5  | 6   |     |     |     |     | 8   | 50
SPL-10   | splice        |             |        | 6    | 10  |     |     |     |     | 10  | 25
SPL-25   | splice        |             |        | 10   | 25  |     |     |     |     | 12  | 10
PLG-5    | cavity plug   | P2.5 sealed |        |      |     |     |     | 4.8 | 5.2 |     | 50
FLR2X-B 0.5  | cable     | FLR2X-B     |        | 0.5  | 0.5 | 1.4 | 1.6 |     |     |     | 100
FLR2X-B 0.75 | cable     | FLR2X-B     |        | 0.75 | 0.75 | 1.7 | 1.9 |    |     |     | 100
FLR2X-B 1    | cable     | FLR2X-B     |        | 1    | 1   | 1.9 | 2.1 |     |     |     | 100
FLR2X-B 1.5  | cable     | FLR2X-B     |        | 1.5  | 1.5 | 2.2 | 2.4 |     |     |     | 100
FLR2X-B 2.5  | cable     | FLR2X-B     |        | 2.5  | 2.5 | 2.7 | 3   |     |     |     | 50
FLR2X-B 4    | cable     | FLR2X-B     |        | 4    | 4   | 3.4 | 3.7 |     |     |     | 50
FLR2X-B 6    | cable     | FLR2X-B     |        | 6    | 6   | 4   | 4.3 |     |     |     | 25
FL2X 25      | cable     | FL2X        |        | 25   | 25  | 8   | 8.7 |     |     |     | 5
FL2X 35      | cable     | FL2X        |        | 35   | 35  | 9.6 | 10.4 |    |     |     | 5
"""

_CLASSES = (("0.5", "1"), ("1", "2"), ("2.5", "3"), ("6", "4"))
_SEALED = [
    "COIL1",
    "COIL2",
    "COIL3",
    "COIL4",
    "INJ1",
    "INJ2",
    "INJ3",
    "INJ4",
    "CRK",
    "CAM",
    "CLT",
    "IAT",
    "MAP",
    "TPS",
    "OPS",
    "FPS",
    "GPS",
    "KNK",
    "WB",
    "DASH",
    "TERM1",
    "TERM2",
    "PUMP",
    "FAN",
]
_STUDS = ("BAT", "ISO", "STUD", "POST")


def _housings() -> dict[str, Housing]:
    ways = {
        2: ["INJ1", "INJ2", "INJ3", "INJ4", "CRK", "CLT", "IAT", "KNK", "TERM1", "TERM2", "PUMP", "FAN"],
        3: ["CAM", "MAP", "TPS", "OPS", "FPS", "GPS"],
        4: ["COIL1", "COIL2", "COIL3", "COIL4", "WB", "DASH"],
    }
    number = {name: count for count, names in ways.items() for name in names}
    found = {name: _sealed(f"H-{number[name]}", "boot") for name in _SEALED}
    found["ECU-A"] = _sealed("HE-A", "backshell", "ECU")
    found["ECU-B"] = _sealed("HE-B", "backshell", "ECU")
    found["X10P"] = Housing("HX-P", "P2.5 sealed", "pin", True, 5, "clamp")
    found["X10S"] = Housing("HX-S", "P2.5 sealed", "socket", True, 5, "clamp")
    found |= {name: Housing("RB-5", "P6.3", "socket", False, None, "tape") for name in ("K1", "K2", "K3", "K4")}
    return found


def _sealed(part: str, relief: str, component: str = "") -> Housing:
    return Housing(part, "P2.5 sealed", "socket", True, 5, relief, component)


HOUSINGS = _housings()


def _area(size: str) -> float:
    try:
        return float(size.split()[0].replace(",", "."))
    except (ValueError, IndexError):
        return 0.0


def _class_of(size: str) -> tuple[str, str]:
    """Class of terminal and of seal for a size: the smallest that takes it."""
    area = _area(size)
    at = 0 if area <= 0.5 else 1 if area <= 1.0 else 2 if area <= 2.5 else 3
    return _CLASSES[at]


def terminal(item: str, cavity: str, size: str) -> str:
    """Terminal for an end; none at splices, at an open end and where the size is not known."""
    if not item or item == "open" or not _area(size) or (item.startswith("SP") and item[2:].isdigit()):
        return ""
    step, _ = _class_of(size)
    if _area(size) >= 10:
        return "R8-35"
    if item.startswith(_STUDS) or (item in ("STR", "ALT") and cavity == "B"):
        return f"R6-{'1' if step == '0.5' else step}"
    if item in HOUSINGS and HOUSINGS[item].sealed:
        return f"{'TP' if HOUSINGS[item].sex == 'pin' else 'T'}-{step}"
    return f"B-{'1' if step == '0.5' else step}"


def fit(build: Build) -> None:
    """Fit the parts, anew after changes."""
    table = rows_from(_COLUMNS, TABLE)
    for row in table:
        row.update({name: _number(row[name]) for name in ("size_min", "size_max", "pack")})
    rules = Rules(HOUSINGS, terminal, lambda _, size: f"SL-{_class_of(size)[1]}", lambda _: "PLG-5", table)
    fit_parts(build, rules)


def _number(value: object) -> object:
    try:
        number = float(str(value))
    except ValueError:
        return value
    return int(number) if number.is_integer() else number
