"""Quantities as people write them, turned into SI once.

Every function takes the text of a cell and, where the heading gives one, the unit to use when the cell
names none. A text that cannot be understood raises `NotUnderstoodError`, which says what was expected;
a number without a unit, where none is known, raises `UnitMissingError`, so that a caller may decide from
the other cells of the column.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from typing import Literal

__all__ = [
    "LENGTH_UNITS",
    "ONE_CONDUCTOR",
    "NotUnderstoodError",
    "Size",
    "UnitMissingError",
    "cores_in",
    "is_placeholder",
    "parse_bit_rate",
    "parse_capacitance",
    "parse_coordinate",
    "parse_current",
    "parse_length",
    "parse_number",
    "parse_pressure",
    "parse_resistance",
    "parse_size",
    "parse_teeth",
    "parse_temperature",
    "parse_time",
    "parse_voltage",
    "size_sets",
]


class NotUnderstoodError(ValueError):
    """A text that is not the quantity it should be.

    Parameters
    ----------
    expected : str
        What was expected, for the reader of the list.
    """

    def __init__(self, expected: str) -> None:
        self.expected = expected
        super().__init__(expected)


class UnitMissingError(NotUnderstoodError):
    """A plain number where only a unit would tell what it means.

    Parameters
    ----------
    value : float
        The number.
    expected : str
        What was expected.
    """

    def __init__(self, value: float, expected: str) -> None:
        self.value = value
        super().__init__(expected)


@dataclass(frozen=True, slots=True)
class Size:
    """A conductor size as labelled. A label is never converted from one system into the other.

    Parameters
    ----------
    written : str
        As it stands in the cell.
    system : {"mm2", "awg"}
        The system of the label.
    csa_mm2 : float or None
        Nominal cross-section in mm², for a metric label.
    awg : int or None
        Gauge number, for an AWG label; 0 is 1/0, -1 is 2/0, -2 is 3/0, -3 is 4/0.
    also : Size or None
        A second label in the cell that is another wire, ``16 AWG (1.5 mm²)``. This one has the less copper of the two.
    """

    written: str
    system: Literal["mm2", "awg"]
    csa_mm2: float | None = None
    awg: int | None = None
    also: Size | None = None

    def __str__(self) -> str:
        if self.awg is not None:
            return f"{self.awg} AWG" if self.awg > 0 else f"{1 - self.awg}/0 AWG"
        return f"{self.csa_mm2:g} mm²"


_PLACEHOLDERS = frozenset(
    (
        "n/a", "na", "n.a.", "n.a", "?", "??", "???", "????", "tbd", "tba", "tbc", "t.b.d.", "unknown", "unk",
        "to be confirmed", "to be decided", "not known", "not given", "not applicable",
        "-", "--", "---", "–", "—", "...", "…",
    )
)  # fmt: skip


def is_placeholder(text: str) -> bool:
    """Whether a text stands for "not given": ``N/A``, ``?``, ``tbd``, a dash."""
    return text.strip().casefold() in _PLACEHOLDERS


_SPACES = re.compile(r"\s+")
_NUMBER = r"[+-]?(?:\d[\d  ',.]*\d|\d|[.,]\d+)(?:[eE][+-]?\d{1,2})?"
_GROUPED_COMMA = re.compile(r"[+-]?\d{1,3}(?:,\d{3})+(?:\.\d+)?$")
_GROUPED_POINT = re.compile(r"[+-]?\d{1,3}(?:\.\d{3}){2,}(?:,\d+)?$|[+-]?\d{1,3}(?:\.\d{3})+,\d+$")
_PLAIN = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,2})?$")


def parse_number(text: str, *, grouped: bool = True) -> float:
    """Number of a text with a decimal point or a decimal comma.

    ``1,200`` is one thousand two hundred when `grouped`, else 1.2; ``1,2`` and ``0,75`` are always
    decimal. Several groups, or a comma and a point together, are told apart by their order.

    Raises
    ------
    NotUnderstoodError
        For anything that is not a finite number.
    """
    t = text.strip().replace(" ", "").replace(" ", "").replace(" ", "").replace("'", "")
    t = t.replace("−", "-").replace("–", "-")
    if _GROUPED_POINT.match(t):
        t = t.replace(".", "").replace(",", ".")
    elif _GROUPED_COMMA.match(t) and (grouped or t.count(",") > 1 or "." in t) and not t.startswith("0"):
        t = t.replace(",", "")
    elif t.count(",") == 1 and "." not in t:
        t = t.replace(",", ".")
    if not _PLAIN.match(t):
        raise NotUnderstoodError("a number")
    value = float(t)
    if not math.isfinite(value):
        raise NotUnderstoodError("a finite number")
    return value


def _tidy(text: str) -> str:
    """Text with single spaces and one spelling of the marks that mean the same."""
    t = _SPACES.sub(" ", text.replace(" ", " ")).strip()
    return (
        t.replace("“", '"').replace("”", '"').replace("″", '"').replace("''", '"').replace("’", "'")
        .replace("‘", "'").replace("′", "'").replace("´", "'").replace("²", "2").replace("μ", "µ")
        .replace("Ω", "Ω").replace("×", "x")
    )  # fmt: skip


# --- conductor sizes ------------------------------------------------------------------------------

_SIZE_EXPECTED = "a conductor size such as 0.75 mm² or 18 AWG"
_SIZE_UNIT_EXPECTED = "mm² or AWG in the heading or the cell"
_MM2 = re.compile(
    rf"^(?:(?P<n>\d+) ?x ?)?(?P<v>{_NUMBER}) ?(?:mm ?\^? ?2|mm?q|qmm|sq\.? ?mm|mm sq\.?|sqmm|mm\b)\.?$", re.I
)
_GAUGE = r"\d{1,2}|\d/0|0{1,4}"
_AWG_AFTER = re.compile(rf"^(?:(?P<n>\d+) ?x ?)?#? ?(?P<v>{_GAUGE}) ?-? ?(?:awg|ga\.?|gauge|gage)\.?$", re.I)
_AWG_BEFORE = re.compile(rf"^(?:awg|gauge|ga\.?|gage) ?#? ?-?(?P<v>{_GAUGE})$|^# ?(?P<w>\d{{1,2}}|\d/0)$", re.I)
_AWG_NOUGHTS = re.compile(r"^(?:\d/0|00|000|0000)$")
_BARE = re.compile(rf"^(?:(?P<n>\d+) ?x ?)?(?P<v>{_NUMBER})$", re.I)
_CONTACT_SIZE = re.compile(
    r"^(?:(?:contact|pin|terminal|socket|cavity) ?(?:size|sz)?|size|sz|s)\.? ?#? ?"
    r"(?:00|0|4|8|10|12|16|20|22|23)[a-z]?$",
    re.I,
)
_CONTACT_EXPECTED = "the wire's own size in mm² or AWG, not the size of the contact, which takes several sizes of wire"
ONE_CONDUCTOR = (
    "the size of one conductor such as 1.5 mm², and a row for each core of a cable or all its colours joined by +"
)
"""What is expected where a cell names several conductors at once."""
_CORES = re.compile(r"^(?P<n>\d{1,2}) ?x ?(?=[\d.,#])", re.I)
_STRANDS_BELOW_MM = 0.5
"""Strands are thinner; from here on ``12x0.5`` are cores."""
_SAME_COPPER = 0.02
"""An area that is this near to that of a gauge, as a part of it, tells what the gauge has: 18 AWG (0.82 mm²)."""
_TWO_LABELS = re.compile(r"^(?P<a>[^()\[\]/=|]+?) ?[(\[/=|] ?(?P<b>[^()\[\]]+?) ?[)\]]?$")


def _awg_number(text: str) -> int:
    """Gauge number of ``18``, ``2/0``, ``000``: noughts count down from zero."""
    if text.endswith("/0"):
        noughts = int(text[:-2])
        if not 1 <= noughts <= 4:
            raise NotUnderstoodError("a gauge from 4/0 to 40 AWG")
        return 1 - noughts
    if set(text) == {"0"}:
        return 1 - len(text)
    number = int(text)
    if not 0 < number <= 40:
        raise NotUnderstoodError("a gauge from 4/0 to 40 AWG")
    return number


_STRANDS = re.compile(r"^(?P<n>\d{1,4}) ?[/x×] ?(?P<d>0[.,]\d{1,3}) ?(?:mm)?$")


def _is_cores(strands: re.Match[str]) -> bool:
    """Whether what looks like strands are cores: ``12x0.5``."""
    parted = strands.string[strands.end("n") : strands.start("d")].strip()
    return parted != "/" and parse_number(strands["d"], grouped=False) >= _STRANDS_BELOW_MM


def cores_in(text: str) -> int:
    """Number of conductors in front of a size: 3 of ``3x1.5`` and ``3 × 18 AWG``, 1 where none is said."""
    t = _tidy(text)
    strands = _STRANDS.match(t)
    if strands is not None and int(strands["n"]) >= 7 and not _is_cores(strands):
        return 1
    match = _CORES.match(t)
    return max(1, int(match["n"])) if match else 1


def _labelled_size(text: str, written: str) -> Size | None:
    """Size of a text that names its own system, else None."""
    if (match := _STRANDS.match(text)) and not _is_cores(match):
        # "14/0.30": strands and their diameter in mm, the way British cable is sold
        area = int(match["n"]) * math.pi / 4 * parse_number(match["d"], grouped=False) ** 2
        if area > 0 and int(match["n"]) >= 7:
            return Size(written, "mm2", csa_mm2=round(area, 3))
    if match := _MM2.match(text):
        value = parse_number(match["v"], grouped=False)
        if value <= 0:
            raise NotUnderstoodError("a size above zero")
        return Size(written, "mm2", csa_mm2=value)
    match = _AWG_AFTER.match(text) or _AWG_BEFORE.match(text)
    if match:
        groups = match.groupdict()
        return Size(written, "awg", awg=_awg_number(groups["v"] or groups["w"] or ""))
    if _AWG_NOUGHTS.match(text):
        return Size(written, "awg", awg=_awg_number(text))
    return None


def parse_size(text: str, system: str | None = None, *, cores: bool = False) -> Size:
    """Conductor size as labelled.

    A label is never converted. A cell that gives one of each system, ``16 AWG (1.5 mm²)``, names two wires, as sold:
    that with the less copper is given, the other is its `Size.also`. Where the area is that of the gauge,
    ``18 AWG (0.82 mm²)``, it says the same twice, and the gauge is given alone.

    Parameters
    ----------
    text : str
        ``0.75``, ``0,75 mm²``, ``1x0.75``, ``18 AWG``, ``#18``, ``12 ga.``, ``4/0`` ...
    system : {"mm2", "awg"}, optional
        What a plain number means, from the heading or the column.
    cores : bool
        Whether the size of each core is taken from ``3x1.5``, their number (`cores_in`) being looked at elsewhere.

    Raises
    ------
    NotUnderstoodError
        Not a size, the size of a contact, of several conductors, zero or negative.
    UnitMissingError
        A plain number and no `system`.
    """
    written = _SPACES.sub(" ", text).strip()
    t = _tidy(text)
    if not cores and cores_in(t) > 1:
        raise NotUnderstoodError(ONE_CONDUCTOR)
    size = _labelled_size(t, written)
    if size is not None:
        return size
    if match := _BARE.match(t):
        value = parse_number(match["v"], grouped=False)
        if value <= 0 and not (system == "awg" and t == "0"):
            raise NotUnderstoodError("a size above zero")
        if system == "mm2":
            return Size(written, "mm2", csa_mm2=value)
        if system == "awg":
            if value != int(value):
                raise NotUnderstoodError("a whole AWG number, or mm² written out in the cell")
            return Size(written, "awg", awg=_awg_number(str(int(value))))
        raise UnitMissingError(value, _SIZE_UNIT_EXPECTED)
    if match := _TWO_LABELS.match(t):
        first, second = _one_label(match["a"]), _one_label(match["b"])
        if first is not None and second is not None and first.system != second.system:
            return _of_two(first, second, written)
    raise NotUnderstoodError(_CONTACT_EXPECTED if _CONTACT_SIZE.match(t) else _SIZE_EXPECTED)


def _of_two(first: Size, second: Size, written: str) -> Size:
    """Size of a cell with a label of each system."""
    gauge, metric = (first, second) if first.awg is not None else (second, first)
    # ASTM B258: d = 0.127 mm x 92^((36 - n) / 39); the area only decides which of the two labels is taken.
    gauge_mm2 = math.pi / 4 * (0.127 * 92.0 ** ((36 - (gauge.awg or 0)) / 39)) ** 2
    metric_mm2 = metric.csa_mm2 or 0.0
    if abs(metric_mm2 - gauge_mm2) <= _SAME_COPPER * gauge_mm2:
        return replace(gauge, written=written)
    smaller, other = (gauge, metric) if gauge_mm2 <= metric_mm2 else (metric, gauge)
    return replace(smaller, written=written, also=replace(other, written=str(other)))


def _one_label(text: str) -> Size | None:
    try:
        return _labelled_size(text.strip(), text)
    except NotUnderstoodError:
        return None


def size_sets(values: set[float]) -> tuple[Literal["mm2", "awg"] | None, str]:
    """System that a column's plain numbers belong to, with the reason, or None when both fit.

    A number with a fraction, or above 40, is no gauge. Even whole numbers that include at least one
    which is no metric size (8, 12, 14, 18, 20, 22 ...) are gauges. 1, 2, 4, 6, 10, 16 fit both.
    """
    if not values:
        return None, ""
    fractional = sorted(v for v in values if v != int(v) or v > 40)
    if fractional:
        whole = {v for v in values if v == int(v) and v in (8, 12, 14, 18, 20, 22, 24, 26, 28)}
        if whole:
            return None, "the column mixes numbers of both systems"
        return "mm2", f"{fractional[0]:g} in the column is a metric size and no gauge"
    gauges = sorted(v for v in values if v in (8, 12, 14, 18, 20, 22, 24, 26, 28, 30))
    if gauges and all(v % 2 == 0 for v in values):
        return "awg", f"all numbers of the column are even and {gauges[0]:g} is a gauge and no metric size"
    return None, "the numbers of the column fit both systems"


# --- lengths --------------------------------------------------------------------------------------

LENGTH_UNITS: dict[str, float] = {
    "mm": 0.001, "millimetre": 0.001, "millimeter": 0.001, "cm": 0.01, "centimetre": 0.01, "dm": 0.1,
    "m": 1.0, "mtr": 1.0, "mtrs": 1.0, "metre": 1.0, "meter": 1.0, "metres": 1.0, "meters": 1.0,
    "millimetres": 0.001, "millimeters": 0.001, "mms": 0.001,
    "in": 0.0254, "in.": 0.0254, "inch": 0.0254, "inches": 0.0254, "ins": 0.0254, '"': 0.0254, "zoll": 0.0254,
    "ft": 0.3048, "ft.": 0.3048, "foot": 0.3048, "feet": 0.3048, "'": 0.3048, "yd": 0.9144,
}  # fmt: skip
"""Metres per unit of length; the inch is 25.4 mm exactly."""

_LENGTH_EXPECTED = "a length such as 850 mm, 1.2 m, 18 in or 6 ft"
_LENGTH = re.compile(rf"^(?P<v>{_NUMBER}) ?(?P<u>[a-z]+\.?|\"|')?$", re.I)
_FEET_INCHES = re.compile(
    r"^(?P<f>\d+(?:[.,]\d+)?) ?(?:'|ft\.?|feet|foot) ?-?(?P<i>\d+(?:[.,]\d+)?)"
    r"(?: (?P<n>\d+)/(?P<d>\d+))? ?(?:\"|in\.?|inch|inches)?$",
    re.I,
)
_FRACTION_INCHES = re.compile(r"^(?:(?P<w>\d+)[ -])?(?P<n>\d+)/(?P<d>[1-9]\d*) ?(?:\"|in\.?|inch|inches)$", re.I)


def parse_length(text: str, unit: str | None = None, *, zero: bool = False) -> float:
    """Length in metres.

    Parameters
    ----------
    text : str
        ``850 mm``, ``1,2 m``, ``18”``, ``6'``, ``5'6"``, ``1,200 mm`` ...
    unit : str, optional
        A key of `LENGTH_UNITS`, used when the cell names none.
    zero : bool
        Whether zero is a length: the distance of something at the very start.

    Raises
    ------
    NotUnderstoodError
        Not a length, negative, or zero where it is none.
    UnitMissingError
        A plain number and no `unit`.
    """
    t = _tidy(text)
    if match := _FEET_INCHES.match(t):
        inches = parse_number(match["i"])
        if match["n"]:
            inches += int(match["n"]) / max(int(match["d"]), 1)
        return _positive(parse_number(match["f"]) * 0.3048 + inches * 0.0254, zero)
    if match := _FRACTION_INCHES.match(t):
        return _positive((int(match["w"] or 0) + int(match["n"]) / int(match["d"])) * 0.0254, zero)
    match = _LENGTH.match(t)
    if match is None:
        raise NotUnderstoodError(_LENGTH_EXPECTED)
    written_unit = (match["u"] or "").lower()
    if written_unit:
        scale = LENGTH_UNITS.get(written_unit)
        if scale is None:
            raise NotUnderstoodError(_LENGTH_EXPECTED)
        return _positive(parse_number(match["v"], grouped=scale < 0.05) * scale, zero)
    if unit is None:
        if zero and parse_number(match["v"]) == 0:
            return 0.0
        raise UnitMissingError(parse_number(match["v"]), "a unit of length in the heading or the cell")
    scale = LENGTH_UNITS[unit.lower()]
    return _positive(parse_number(match["v"], grouped=scale < 0.05) * scale, zero)


def _positive(value: float, zero: bool) -> float:
    if not math.isfinite(value) or value < 0 or (value == 0 and not zero):
        raise NotUnderstoodError("a length that is not negative" if zero else "a length above zero")
    return round(value, 9)


_SIGNED = re.compile(r"^(?P<sign>[+\-\u2212\u2013]?) ?(?P<rest>[^+\-\u2212\u2013].*)$")


def parse_coordinate(text: str, unit: str | None = None) -> float:
    """Coordinate in metres: a length with its sign, or zero.

    Parameters
    ----------
    text : str
        ``-120 mm``, ``0``, ``+0,35 m``, ``−4.5"`` ...
    unit : str, optional
        A key of `LENGTH_UNITS`, used when the cell names none.

    Raises
    ------
    NotUnderstoodError
        Not a coordinate.
    UnitMissingError
        A plain number other than zero and no `unit`.
    """
    expected = "a coordinate such as -120 mm or 0.35 m"
    match = _SIGNED.match(_tidy(text))
    if match is None:
        raise NotUnderstoodError(expected)
    sign = 1.0 if match["sign"] in ("", "+") else -1.0
    try:
        return sign * parse_length(match["rest"], unit, zero=True) + 0.0
    except UnitMissingError as missing:
        raise UnitMissingError(sign * missing.value, missing.expected) from None
    except NotUnderstoodError:
        raise NotUnderstoodError(expected) from None


# --- electrical figures ---------------------------------------------------------------------------

_PREFIX = {"p": 1e-12, "n": 1e-9, "u": 1e-6, "µ": 1e-6, "m": 1e-3, "": 1.0, "k": 1e3, "M": 1e6}
_FIGURE = re.compile(rf"^[~≈<>]? ?(?P<v>{_NUMBER}) ?(?P<u>[^\d\s].*)?$")


def _figure(text: str, units: dict[str, float], unit: str | None, expected: str) -> float:
    match = _FIGURE.match(_tidy(text))
    if match is None:
        raise NotUnderstoodError(expected)
    name = (match["u"] or unit or "").strip().rstrip(".")
    scale = units.get(name)
    if scale is None:
        scale = units.get(name.lower())
    if scale is None:
        raise NotUnderstoodError(expected)
    return parse_number(match["v"], grouped=False) * scale


def _scales(symbols: dict[str, tuple[str, ...]]) -> dict[str, float]:
    """Unit spellings with their factor, for a symbol with its prefixes."""
    out: dict[str, float] = {}
    for prefix, spellings in symbols.items():
        for spelling in spellings:
            out[spelling] = _PREFIX[prefix]
    return out


_AMPS = _scales(
    {
        "": ("", "A", "a", "amp", "amps", "Amp", "Amps", "ampere", "amperes"),
        "m": ("mA", "ma", "milliamp", "milliamps"),
        "u": ("uA", "µA"),
        "k": ("kA",),
    }
)
_OHMS = _scales(
    {
        "": ("", "ohm", "ohms", "Ohm", "Ω", "R", "r"),
        "m": ("mΩ", "mohm", "mohms", "mOhm", "milliohm", "milliohms", "m ohm", "mR"),
        "u": ("µΩ", "uΩ", "uohm", "microohm"),
        "k": ("kΩ", "kohm", "kOhm", "k", "K", "KΩ", "kiloohm"),
        "M": ("MΩ", "Mohm", "MOhm", "M", "megohm", "megohms"),
    }
)
_FARADS = _scales(
    {
        "": ("", "F", "farad"),
        "m": ("mF",),
        "u": ("uF", "µF", "uf", "µf", "UF", "mfd", "MFD", "microfarad"),
        "n": ("nF", "nf", "NF"),
        "p": ("pF", "pf", "PF"),
    }
)
_VOLTS = _scales({"": ("", "V", "v", "volt", "volts"), "m": ("mV", "mv"), "k": ("kV", "kv")})


def parse_current(text: str, unit: str | None = None) -> float:
    """Current in amperes: ``5A``, ``500 mA``, ``2,5 A``; a plain number is amperes unless `unit` says."""
    return _figure(text, _AMPS, unit, "a current such as 5 A or 500 mA")


def parse_resistance(text: str, unit: str | None = None) -> float:
    """Resistance in ohms: ``0.5 ohm``, ``12 mΩ``, ``2.2k``; a plain number is ohms unless `unit` says.

    Raises
    ------
    NotUnderstoodError
        Not a resistance, or a negative one.
    """
    value = _figure(text, _OHMS, unit, "a resistance such as 0.6 ohm, 5 mΩ or 2.2 kΩ")
    if value < 0:
        raise NotUnderstoodError("a resistance that is not negative")
    return value


def parse_capacitance(text: str, unit: str | None = None) -> float:
    """Capacitance in farads: ``2.2 uF``, ``0,47 µF``; a plain number is farads unless `unit` says.

    Raises
    ------
    NotUnderstoodError
        Not a capacitance, or not above zero.
    """
    value = _figure(text, _FARADS, unit, "a capacitance such as 2.2 µF")
    if not value > 0:
        raise NotUnderstoodError("a capacitance above zero")
    return value


def parse_voltage(text: str, unit: str | None = None) -> float:
    """Voltage in volts: ``12 V``, ``500 mV``."""
    return _figure(text, _VOLTS, unit, "a voltage such as 12 V")


_BARS = {
    "bar": 1.0, "bars": 1.0, "mbar": 1e-3, "hpa": 1e-3, "kpa": 0.01, "mpa": 10.0, "pa": 1e-5,
    "psi": 0.0689475729, "psig": 0.0689475729, "lbf/in2": 0.0689475729, "lb/in2": 0.0689475729,
}  # fmt: skip
_SECONDS = {
    "s": 1.0, "sec": 1.0, "secs": 1.0, "second": 1.0, "seconds": 1.0,
    "ms": 1e-3, "msec": 1e-3, "millisecond": 1e-3, "milliseconds": 1e-3,
    "us": 1e-6, "usec": 1e-6, "µs": 1e-6, "µsec": 1e-6, "microsecond": 1e-6, "microseconds": 1e-6, "ns": 1e-9,
}  # fmt: skip


def _with_unit(text: str, units: dict[str, float], unit: str | None, expected: str, units_expected: str) -> float:
    """Figure that is not negative, of a text or heading that names its unit; zero needs none."""
    match = _FIGURE.match(_tidy(text))
    if match is None:
        raise NotUnderstoodError(expected)
    value = parse_number(match["v"], grouped=False)
    if value < 0:
        raise NotUnderstoodError(f"{expected}, not negative")
    name = (match["u"] or unit or "").strip().rstrip(".").lower()
    if not name:
        if value == 0:
            return 0.0
        raise UnitMissingError(value, units_expected)
    if name not in units:
        raise NotUnderstoodError(expected)
    return round(value * units[name], 12)


def parse_pressure(text: str, unit: str | None = None) -> float:
    """Pressure in bar: ``0.8 bar``, ``80 kPa``, ``12 psi``, ``800 mbar``.

    Raises
    ------
    NotUnderstoodError
        Not a pressure, or a negative one.
    UnitMissingError
        A plain number other than zero and no `unit`.
    """
    wanted = "a pressure such as 0.8 bar, 80 kPa or 12 psi"
    return _with_unit(text, _BARS, unit, wanted, f"{wanted}, with its unit in the heading or the cell")


def parse_time(text: str, unit: str | None = None) -> float:
    """Time in seconds: ``20 µs``, ``0,1 ms``; a plain number has the `unit` of the heading.

    Raises
    ------
    NotUnderstoodError
        Not a time, or a negative one.
    UnitMissingError
        A plain number other than zero and no `unit`.
    """
    wanted = "a time such as 20 µs or 0.1 ms"
    return _with_unit(text, _SECONDS, unit, wanted, f"{wanted}, with its unit in the heading or the cell")


_TEETH = re.compile(r"^(?P<all>\d{1,3})(?P<gaps>(?: ?[-−–] ?\d{1,2}){0,4}) ?(?:t|teeth|tooth)?$", re.I)


def parse_teeth(text: str) -> float:
    """Teeth of a wheel with the missing ones counted: ``36-1`` is 36, as is ``36`` and ``36-2-2-2``.

    Raises
    ------
    NotUnderstoodError
        Not a count of teeth: none left, or as many missing as there are.
    """
    match = _TEETH.match(_tidy(text))
    if match is None:
        raise NotUnderstoodError("a count of teeth such as 36-1, 60-2 or 12")
    count = int(match["all"])
    if count - sum(map(int, re.findall(r"\d+", match["gaps"]))) < 1:
        raise NotUnderstoodError("a wheel with more teeth than are missing, such as 36-1, 60-2 or 12")
    return float(count)


_BIT_RATE = re.compile(
    rf"^(?P<v>{_NUMBER}) ?(?P<u>[km](?:b|bits?|bd|baud|bps|b/s|bits?/s)?|bits?/s|bps|bd|baud)?$",
    re.I,
)
_LEAST_KBIT_S = 5.0
_MOST_KBIT_S = 20_000.0


def parse_bit_rate(text: str) -> float:
    """Bit rate of a bus in kbit/s: ``250``, ``500k``, ``1 Mbit/s``, ``250000``.

    A plain number is kbit/s; one that would be beyond any bus so is taken for bit/s.

    Raises
    ------
    NotUnderstoodError
        Not a bit rate, or one that no bus has.
    """
    expected = "a bit rate such as 250, 500 kbit/s or 1 Mbit/s"
    match = _BIT_RATE.match(_tidy(text))
    if match is None:
        raise NotUnderstoodError(expected)
    value = parse_number(match["v"])
    unit = (match["u"] or "").lower()
    if unit[:1] == "m":
        value *= 1000.0
    elif unit[:1] == "b" or (not unit and value > _MOST_KBIT_S):
        value /= 1000.0
    if not _LEAST_KBIT_S <= value <= _MOST_KBIT_S:
        raise NotUnderstoodError(expected)
    return value


_CELSIUS = re.compile(rf"^(?P<v>{_NUMBER}) ?(?:°|º|deg\.? ?)? ?(?P<u>[cfk])?$", re.I)


def parse_temperature(text: str, unit: str | None = None) -> float:
    """Temperature in degrees Celsius: ``105 °C``, ``221 F``; a plain number is Celsius unless `unit` says."""
    match = _CELSIUS.match(_tidy(text))
    if match is None:
        raise NotUnderstoodError("a temperature such as 105 °C")
    value = parse_number(match["v"])
    letter = (match["u"] or unit or "c").strip("°º ").lower()[:1]
    if letter == "f":
        return (value - 32) / 1.8
    return value - 273.15 if letter == "k" else value
