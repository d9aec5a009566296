"""Terminals, seals, plugs, connectors and cables of the rescue boat, in gauges and inches."""

from __future__ import annotations

from build_model import Build, rows_from
from parts_model import Housing, Rules, fit_parts

_COLUMNS = (
    "part kind family sex size_min size_max insulation_min_m insulation_max_m bore_min_m bore_max_m strip_m pack note"
)

TABLE = """
# part, kind, series, gender, gauges, insulation, bore, strip length, pack; inches
CT-20    | terminal      | S280  | female | 20  | 18  | 0.085 | 0.11  |      |      | 0.18 | 250
CT-14    | terminal      | S280  | female | 16  | 14  | 0.11  | 0.145 |      |      | 0.2  | 100
CT-10    | terminal      | S280  | female | 12  | 10  | 0.15  | 0.195 |      |      | 0.22 | 50
CM-20    | terminal      | S280  | male   | 20  | 18  | 0.085 | 0.11  |      |      | 0.18 | 50
CM-14    | terminal      | S280  | male   | 16  | 14  | 0.11  | 0.145 |      |      | 0.2  | 50
BL-20    | terminal      | BL250 | female | 20  | 18  | 0.085 | 0.11  |      |      | 0.25 | 100
BL-14    | terminal      | BL250 | female | 16  | 14  | 0.11  | 0.145 |      |      | 0.25 | 100
BL-10    | terminal      | BL250 | female | 12  | 10  | 0.15  | 0.195 |      |      | 0.28 | 100
BL-8     | terminal      | BL250 | female | 8   | 8   | 0.2   | 0.25  |      |      | 0.3  | 25
RG-20    | ring terminal |       |        | 20  | 18  |       |       |      |      | 0.25 | 50
RG-14    | ring terminal |       |        | 16  | 14  |       |       |      |      | 0.25 | 50
RG-10    | ring terminal |       |        | 12  | 10  |       |       |      |      | 0.3  | 50
RG-8     | ring terminal |       |        | 8   | 8   |       |       |      |      | 0.35 | 25
LG-4     | ring terminal |       |        | 6   | 4   |       |       |      |      | 0.5  | 10 | lug
LG-2/0   | ring terminal |       |        | 1/0 | 2/0 |       |       |      |      | 0.75 | 10 | lug
SE-20    | seal          | S280  |        |     |     | 0.085 | 0.11  | 0.24 | 0.26 |      | 250
SE-14    | seal          | S280  |        |     |     | 0.11  | 0.145 | 0.24 | 0.26 |      | 100
SE-10    | seal          | S280  |        |     |     | 0.15  | 0.195 | 0.24 | 0.26 |      | 50
PL-25    | cavity plug   | S280  |        |     |     |       |       | 0.24 | 0.26 |      | 100
GXL 20   | cable         | GXL   |        | 20  | 20  | 0.09  | 0.095 |      |      |      | 152
GXL 18   | cable         | GXL   |        | 18  | 18  | 0.1   | 0.105 |      |      |      | 152
GXL 16   | cable         | GXL   |        | 16  | 16  | 0.114 | 0.12  |      |      |      | 152
GXL 14   | cable         | GXL   |        | 14  | 14  | 0.132 | 0.14  |      |      |      | 30.5
GXL 12   | cable         | GXL   |        | 12  | 12  | 0.156 | 0.163 |      |      |      | 30.5
GXL 10   | cable         | GXL   |        | 10  | 10  | 0.183 | 0.191 |      |      |      | 30.5
GXL 8    | cable         | GXL   |        | 8   | 8   | 0.226 | 0.234 |      |      |      | 7.6
SGX 4    | cable         | SGX   |        | 4   | 4   | 0.36  | 0.4   |      |      |      | 7.6
SGX 2/0  | cable         | SGX   |        | 2/0 | 2/0 | 0.6   | 0.66  |      |      |      | 7.6
"""

_STUDS = ("BATT", "BSW", "BUSBAR", "POST1")
_WAYS = {
    2: ["CAP1", "CAP2", "CAM", "ECT", "IAT", "KNOCKP", "KNOCKS", "COIL1", "COIL2", "COIL3", "COIL4"]
    + [f"INJ{number}" for number in range(1, 9)],
    3: ["CRANK", "MAP", "TPS", "OILP", "FUELP"],
    4: ["IAC", "DISPLAY"],
}


def _sealed(part: str, sex: str, relief: str, component: str = "") -> Housing:
    return Housing(part, "S280", sex, True, 0.25, relief, component)


HOUSINGS = {
    **{name: _sealed(f"SH-{count}", "female", "boot") for count, names in _WAYS.items() for name in names},
    "J1": _sealed("SH-40", "female", "backshell", "ECM"),
    "J2": _sealed("SH-40", "female", "backshell", "ECM"),
    "X20P": _sealed("SP-8", "male", "clamp"),
    "X20S": _sealed("SS-8", "female", "clamp"),
}


def _gauge(size: str) -> int | None:
    """Gauge number, 2/0 as -1; None where none is given."""
    text = size.split()[0] if size.split() else ""
    if text.endswith("/0"):
        return 1 - int(text[:-2])
    return int(text) if text.isdecimal() else None


def _step(gauge: int) -> str:
    return "20" if gauge >= 18 else "14" if gauge >= 14 else "10" if gauge >= 10 else "8"


def terminal(item: str, cavity: str, size: str) -> str:
    """Terminal for an end; none at splices, at an open end and where the gauge is not known or none fits."""
    gauge = _gauge(size)
    if not item or item == "open" or gauge is None or gauge > 20 or (item[0] == "S" and item[1:].isdigit()):
        return ""
    if gauge <= 4:
        return "LG-4" if gauge > 0 else "LG-2/0"
    step = _step(gauge)
    if (
        item.startswith(_STUDS)
        or (item[0] == "G" and item[1:].isdigit())
        or (item, cavity) in (("STARTER", "B"), ("ALT", "B"))
    ):
        return f"RG-{step}"
    if item in HOUSINGS:
        return f"{'CM' if HOUSINGS[item].sex == 'male' else 'CT'}-{step}"
    return f"BL-{step}"


def fit(build: Build) -> None:
    """Fit the parts, anew after changes."""
    table = rows_from(_COLUMNS, TABLE)
    for row in table:
        row["pack"] = float(str(row["pack"])) if "." in str(row["pack"]) else int(str(row["pack"]))
        row.update({name: row[name] and str(row[name]) for name in ("size_min", "size_max")})
    fit_parts(
        build, Rules(HOUSINGS, terminal, lambda _, size: f"SE-{_step(_gauge(size) or 20)}", lambda _: "PL-25", table)
    )
