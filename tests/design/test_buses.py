"""CAN buses as they are found in lists: which wires belong together, what stands on them, where they end."""

from __future__ import annotations

import pytest
from text_lists import design_from, read_text

from harnessdrc.design import Design

HEAD = "Wire,From,From cavity,To,To cavity,Length (m),Signal\n"


def pair(number: int, one: str, pins: str, other: str, other_pins: str, length_m: object, name: str = "CAN") -> str:
    """Rows of the two wires of one stretch; pins as ``1/2``, empty at a splice."""
    rows = ""
    for side, at in (("H", 0), ("L", 1)):
        ends = [
            f"{item}{side}," if item.startswith("SP") else f"{item},{text.split('/')[at]}"
            for item, text in ((one, pins), (other, other_pins))
        ]
        rows += f"W{number}{side},{ends[0]},{ends[1]},{length_m},{name} {side}\n"
    return rows


def shape(design: Design) -> list[tuple[str, list[str]]]:
    """Names of the buses and of what is on them."""
    return [(bus.name, [device.name for device in bus.devices]) for bus in design.buses]


def test_two_buses_of_one_controller_stay_apart() -> None:
    wires = HEAD + pair(1, "ECU", "1/2", "DASH", "1/2", 2, "CAN1") + pair(2, "ECU", "3/4", "LOGGER", "1/2", 1, "CAN2")
    design = design_from(wires=wires)
    assert shape(design) == [("ECU 1", ["DASH", "ECU"]), ("ECU 3", ["ECU", "LOGGER"])]


def test_a_bus_led_in_and_out_of_a_device_is_one() -> None:
    wires = HEAD + pair(1, "ECU", "1/2", "DASH", "1/2", 2) + pair(2, "DASH", "3/4", "LOGGER", "1/2", 1)
    design = design_from(wires=wires)
    assert shape(design) == [("ECU 1", ["DASH", "ECU", "LOGGER"])]
    [bus] = design.buses
    way = bus.trunk()
    assert way is not None
    assert way.length_m == pytest.approx(3.0)
    assert way.stubs_m == {"dash": 0.0}


def test_a_bus_goes_on_through_a_bulkhead() -> None:
    design = design_from(
        wires=HEAD + pair(1, "ECU", "1/2", "X1P", "6/7", 2) + pair(2, "X1S", "6/7", "DASH", "3/4", 1),
        components="Component,Kind,Mates with\nX1P,connector,X1S\nX1S,connector,\n",
    )
    [bus] = design.buses
    way = bus.trunk()
    assert way is not None
    assert way.length_m == pytest.approx(3.0)
    assert [device.name for device in way.ends] == ["DASH", "ECU"]


def test_a_line_with_all_its_lengths_is_enough() -> None:
    rows = HEAD + pair(1, "ECU", "1/2", "SP1", "", 2) + pair(2, "SP1", "", "DASH", "3/4", 1)
    [bus] = design_from(wires=rows.replace("W1L,ECU,2,SP1L,,2,", "W1L,ECU,2,SP1L,,,")).buses
    way = bus.trunk()
    assert way is not None
    assert way.length_m == pytest.approx(3.0)
    assert bus.without_length == ()
    none = rows.replace("W1L,ECU,2,SP1L,,2,", "W1L,ECU,2,SP1L,,,").replace("W2H,SP1H,,DASH,3,1,", "W2H,SP1H,,DASH,3,,")
    [bus] = design_from(wires=none).buses
    assert bus.trunk() is None
    assert len(bus.without_length) == 1


def test_terminators_inside_devices_and_of_their_own() -> None:
    wires = HEAD + pair(1, "ECU", "1/2", "SP1", "", 2) + pair(2, "SP1", "", "DASH", "3/4", 1)
    wires += pair(3, "SP1", "", "TERM 1", "1/2", 0.1)
    told = design_from(
        wires=wires, components="Component,Kind,Terminator (Ω)\nECU,controller,120\nDASH,display,0\nTERM 1,terminator,\n"
    )
    [bus] = told.buses
    assert [(each.device.name, each.ohm) for each in bus.terminators] == [("ECU", 120.0), ("TERM 1", None)]
    [bus] = design_from(wires=wires.replace("TERM 1", "LAMP 1")).buses
    assert bus.terminators == ()
    assert not bus.terminators_told


def test_a_bit_rate_that_cannot_be_understood_is_told_with_its_cell() -> None:
    reading = read_text(
        {"wires": HEAD + pair(1, "ECU", "1/2", "DASH", "1/2", 2),
         "components": "Component,Kind,Bit rate (kbit/s),Terminator (Ω)\nECU,controller,fast,120\nDASH,display,250,yes\n"}
    )  # fmt: skip
    assert {(u.place.cell, u.text) for u in reading.unreadable} == {("C2", "fast"), ("D3", "yes")}


def test_a_list_without_a_bus_has_none() -> None:
    assert design_from(wires=HEAD + "W1,ECU,1,CLT,1,1,CLT signal\n").buses == ()


def test_what_hangs_beyond_a_terminator_hangs_beyond_the_near_one() -> None:
    """DASH and LOGGER end the bus; GPS hangs on behind DASH by more than the whole trunk is long."""
    wires = HEAD + pair(1, "DASH", "1/2", "LOGGER", "1/2", 4) + pair(2, "DASH", "3/4", "GPS", "1/2", 30)
    wires += pair(3, "LOGGER", "3/4", "AUX", "1/2", 2)
    components = "Component,Kind,Terminator (ohm)\nDASH,display,120\nLOGGER,logger,120\nGPS,gps,0\nAUX,display,0\n"
    [bus] = design_from(wires=wires, components=components).buses
    way = bus.trunk()
    assert way is not None
    assert {key: device.name for key, device in way.beyond.items()} == {"gps": "DASH", "aux": "LOGGER"}
