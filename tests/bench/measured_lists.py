"""A small loom with its test sheets, for the tests of what is measured."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from text_lists import read_rows, shipped_given, shipped_states

from harnessdrc.design import Design, design_of
from harnessdrc.tables.model import Reading

GENERATOR: Mapping[str, str] = {
    "wires": """Wire,From,From cavity,To,To cavity,Size (mm2),Length (m),Signal,Current (A)
W1,BATTERY,+,FUSE 1,in,6,0.3,Battery feed,
W2,FUSE 1,out,MAIN RELAY,30,6,0.6,Fused feed,
W3,MAIN RELAY,87,SPLICE 1,,4,0.4,Switched feed,
W4,SPLICE 1,,ECU,1,1,0.5,Switched feed,
W5,SPLICE 1,,COIL 1,1,1.5,0.8,Coil feed,
W6,SPLICE 1,,FAN,1,4,1.1,Fan feed,
W7,FAN,2,Chassis stud,,2.5,0.7,Fan ground,
W8,ECU,2,Head stud,,2.5,0.6,Power ground,
W9,ECU,3,Head stud,,1.5,0.6,Power ground,
W10,COIL 1,3,Head stud,,1.5,0.5,Coil 1 ground,
W11,ECU,4,COIL 1,2,0.5,0.7,Coil 1 drive,
W12,ECU,5,CLT SENSOR,1,0.5,0.9,CLT signal,
W13,ECU,6,SPLICE 2,,0.5,0.5,Sensor ground,
W14,SPLICE 2,,CLT SENSOR,2,0.5,0.4,CLT sensor ground,
W15,SPLICE 2,,MAP SENSOR,2,0.5,0.6,MAP sensor ground,
W16,ECU,7,MAP SENSOR,3,0.5,0.9,MAP signal,
W17,ECU,8,MAP SENSOR,1,0.5,0.9,Sensor supply 5V,
W18,ECU,9,DASH,3,0.5,2.2,CAN H,
W19,ECU,10,DASH,4,0.5,2.2,CAN L,
W20,SPLICE 1,,DASH,1,0.75,2.3,Dash feed,
W21,DASH,2,Chassis stud,,0.75,1.2,Dash ground,
W22,STARTER,B,BATTERY,+,35,1.2,Starter feed,
W23,IGNITION SWITCH,2,MAIN RELAY,86,0.5,1.0,Ignition on,
W24,MAIN RELAY,85,Chassis stud,,0.5,0.4,Relay ground,
W25,FUSE 1,out,IGNITION SWITCH,1,0.75,1.1,Fused feed,
""",
    "components": """Component,Kind,Place,Current (A)
ECU,controller,bay,1.5
COIL 1,coil,head,3
FAN,fan,chassis,11
DASH,display,cabin,0.6
CLT SENSOR,temperature sensor,head,
MAP SENSOR,pressure sensor,bay,
STARTER,starter,block,
""",
    "fuses": "Fuse,Rating (A)\nFUSE 1,20\n",
    "straps": """Strap,From body,To body,Size (mm2),Length (m)
G1,engine,battery negative,35,0.5
G2,chassis,battery negative,25,0.4
""",
}
"""A generator set's engine with controller, one coil, a fan and a dash: every kind of test has something to measure."""

HEAD = ["Test", "Wire", "Between", "And", "State", "Measured (mΩ)", "Measured (MΩ)", "Measured (mV)"]
Row = Sequence[Any]


def rows_of(tables: Mapping[str, str]) -> dict[str, list[list[Any]]]:
    """Tables of CSV text as rows."""
    return {sheet: [list(row) for row in csv.reader(io.StringIO(text))] for sheet, text in tables.items()}


def designed(
    tables: Mapping[str, str] = GENERATOR, given: Mapping[str, float] | None = None, tests: Iterable[Row] = (),
    joints: Mapping[str, float] | None = None,
) -> Design:  # fmt: skip
    """Design of a list, with rows of a test sheet and with joints of so many milliohm."""
    rows = rows_of(tables)
    tests = list(tests)
    if tests:
        rows["Bench"] = [HEAD, *map(list, tests)]
    if joints:
        rows["Joints"] = [["Joint", "Resistance (mOhm)"], *([name, str(mohm)] for name, mohm in joints.items())]
    return design_of(read_rows(rows), {**shipped_given(), **(given or {})}, shipped_states())


def continuity_rows(design: Design, changed: Mapping[str, Any] | None = None, digits: int = 3) -> list[list[Any]]:
    """A filled-in row for every wire whose resistance is expected, with the expected value unless it is changed."""
    rows = []
    for test in design.testing.continuity:
        if test.expected_ohm is not None:
            value = (changed or {}).get(test.name, round(test.expected_ohm * 1000, digits))
            rows.append([test.test, test.name, test.a, test.b, None, value, None, None])
    return rows


def isolation_rows(design: Design, changed: Mapping[str, Any] | None = None) -> list[list[Any]]:
    """A filled-in row for every pair, an overload unless it is changed."""
    return [
        [test.test, None, test.a, test.b, None, None, (changed or {}).get(test.test, "OL"), None]
        for test in design.testing.isolation
    ]


def voltage_rows(design: Design, changed: Mapping[str, Any] | None = None) -> list[list[Any]]:
    """A filled-in row for every voltage, with the expected value unless it is changed."""
    return [
        [test.test, None, test.red, test.black, test.state, None, None,
         (changed or {}).get(test.test, round(test.expected_v * 1000, 3))]
        for test in design.testing.voltages
    ]  # fmt: skip


def with_tests(reading: Reading, tests: Reading) -> Reading:
    """A reading with the test sheets of another."""
    return replace(
        reading, tables=(*reading.tables, *tests.of("measurements")), unreadable=(*reading.unreadable, *tests.unreadable)
    )


def sheet_of(tests: Iterable[Row], *above: Row) -> Reading:
    """Reading of a test sheet alone, with rows above its headings."""
    return read_rows({"Bench": [*map(list, above), HEAD, *map(list, tests)]})
