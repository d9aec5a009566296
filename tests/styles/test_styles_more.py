"""Further lists: other languages, section titles, pin cards, both sides of a patch loom, a program's export."""

from __future__ import annotations

from pathlib import Path

import lists_more as lists
import pytest
from styles_helpers import tried


def test_an_excavator_in_spanish(tmp_path: Path) -> None:
    seen = tried(lists.spanish_excavator(tmp_path))
    assert seen.ends() == [
        "Centralita 1 > Batería +", "Centralita 2 > Masa motor", "Centralita 3 > Bomba de combustible 1",
        "Bomba de combustible 2 > Masa chasis",
    ]  # fmt: skip
    assert seen.kind("Masa motor") == "earth point"
    assert [w.length_m for w in seen.wires] == [1.2, 0.6, 2.2, 0.4]
    assert seen.found() == []


def test_a_pump_set_in_dutch(tmp_path: Path) -> None:
    seen = tried(lists.dutch_pump(tmp_path))
    assert seen.ends()[:3] == ["Accu + > Zekering 1 1", "Zekering 1 2 > Regeleenheid 30", "Regeleenheid 31 > Massapunt"]
    assert seen.kind("Druksensor") == "pressure sensor"
    assert "reserved" in seen.aside()[6]
    assert seen.found() == []


def test_titles_of_sections_inside_the_table_and_pins_behind_a_dash(tmp_path: Path) -> None:
    seen = tried(lists.drag_bike_sections(tmp_path))
    assert len(seen.wires) == 12
    assert seen.ends()[2:4] == ["RLY1 87 > ECU 26", "ECU 1 > COIL1 1"]
    assert [d.name for d in seen.design.devices.of_kind("controller")] == ["ECU"]
    assert seen.kind("G1") == "earth point", "only power grounds lead to it"
    assert sorted(seen.aside()) == [1, 2, 3, 7, 10, 16, 19]
    assert [w.length_m for w in seen.wires][:2] == pytest.approx([0.3, 0.25])
    assert seen.found() == []


def test_a_pin_card(tmp_path: Path) -> None:
    seen = tried(lists.pin_card(tmp_path))
    assert len(seen.wires) == 13
    assert seen.unused_pins() == ["J1 ECU G", "J1 ECU M"]
    roles = {p.signal: seen.design.roles.of.get(p.contact) for p in seen.design.harness.pins}
    assert roles["Crank sensor +"] == "trigger signal +"
    assert roles["Crank sensor -"] == "trigger signal -"
    assert roles["Sensor return"] == "sensor ground"
    assert roles["Ground"] == "power ground"
    assert seen.found() == []


def test_both_sides_of_a_patch_loom(tmp_path: Path) -> None:
    seen = tried(lists.both_sides(tmp_path))
    assert seen.ends() == ["C101 1 > B12 4", "C101 2 > B12 5", "C101 3 > B12 9", "C101 4 > B13 2", "C102 1 > B13 7"]
    assert seen.wires[0].signal == "Oil press sw"
    assert "reserved" in seen.aside()[9]
    assert seen.listing_faults() == []


def test_what_a_friend_types_into_a_mail(tmp_path: Path) -> None:
    seen = tried(lists.minimal_note(tmp_path))
    assert len(seen.wires) == 8
    assert seen.ends()[2:5] == ["fuse box 3 > ecu 1", "ecu 2 > engine block", "ecu 15 > coolant temp"]
    assert sorted(d.name for d in seen.design.devices.all) == [
        "battery", "coil", "coolant temp", "ecu", "fuse box", "kill switch",
    ]  # fmt: skip
    assert seen.found("one-wire-per-cavity") == []


def test_colours_in_two_columns_and_columns_that_tick_off(tmp_path: Path) -> None:
    seen = tried(lists.tow_vehicle(tmp_path))
    assert [w.colour for w in seen.wires] == ["WH", "WHBK", "RDYE", "BK", "GNRD", "RDGN"]
    assert seen.wires[0].twist == seen.wires[1].twist is not None
    assert seen.wires[0].shield == seen.wires[1].shield is not None
    assert seen.kind("GND3") == "earth point"
    assert seen.kind("BRK_SW") == "switch"
    pair = [seen.design.roles.of[c] for w in seen.wires[:2] for c in (w.a,) if c is not None]
    assert pair == ["digital signal", "digital signal"], "+ and - of a speed sensor are no feed and ground"
    assert len(seen.aside("Change log")) == 3
    assert seen.found() == [
        "shield-drained: Shield Scr 1, round wires W001, W002, has no drain wire: nothing connects it."
    ]


def test_a_programs_export(tmp_path: Path) -> None:
    seen = tried(lists.wide_excel_export(tmp_path))
    assert seen.ends() == ["J1 1 > P4 3", "J1 2 > P4 4", "J1 3 > SP1", "SP1 > P5 1", "SP1 > P6 1"]
    assert [w.length_m for w in seen.wires] == pytest.approx([n * 0.0254 for n in range(24, 29)])
    assert {str(w.size) for w in seen.wires} == {"18 AWG"}
    assert seen.found() == []


def test_blocks_of_pins_under_merged_titles(tmp_path: Path) -> None:
    seen = tried(lists.stacked_connectors(tmp_path))
    assert len(seen.wires) == 8
    assert seen.ends()[0] == "C1 Engine plug 1 > Main relay 87"
    assert seen.ends()[6] == "C2 Gearbox plug 3 > ECU C1"
    assert [w.colour for w in seen.wires][:2] == ["RDWH", "WHBU"]
    assert seen.unused_pins() == ["C1 Engine plug 5"], "a blank pin is not the same as one that is not used"
    assert len(seen.design.harness.pins) == 10
    assert seen.found() == []


def test_ends_in_words(tmp_path: Path) -> None:
    seen = tried(lists.words_for_ends(tmp_path))
    assert seen.ends() == [
        "ECU 12 > TPS B", "ECU 13 > TPS A", "ECU 14 > TPS C", "ECU 1 > Engine earth stud", "ECU 2 > Main relay 87",
        "Main relay 30 > Fuse 1 2", "Fuse 1 1 > Battery +", "Main relay 86 > Fuse 1 2", "Main relay 85 > ECU 3",
    ]  # fmt: skip
    assert [w.length_m for w in seen.wires][3:6] == pytest.approx([0.6, 0.9, 0.4])
    assert seen.found() == ["one-wire-per-cavity: Cavity Fuse 1 2 holds 2 wires: F, H."]


def test_a_key_of_colours_above_the_list(tmp_path: Path) -> None:
    seen = tried(lists.legend_at_the_head(tmp_path))
    assert [w.colour for w in seen.wires] == ["YE", "YE", "RD", "BK", "BKYE", "WHBU", "WHRD", "BK"]
    assert [d.name for d in seen.design.devices.of_kind("igniter")] == ["CDI"]
    assert seen.kind("Frame") == "earth point"
    assert len(seen.aside()) == 6
    assert seen.found() == []


def test_headings_without_rows_and_faces_in_numbers(tmp_path: Path) -> None:
    seen = tried(lists.header_only_and_numbers(tmp_path))
    assert [w.number for w in seen.wires] == ["F1-1", "F1-2", "K1-2", "PM-"]
    assert "no rows" in seen.aside("Template")[1]
    assert len(seen.aside("Faces")) == 3
    assert seen.found() == []


def test_the_destination_before_the_source(tmp_path: Path) -> None:
    seen = tried(lists.wires_from_the_far_end(tmp_path))
    assert seen.ends() == [
        "Battery + > Starter solenoid", "Battery - > Frame ground", "Ignition key > Starter relay",
        "Fuel gauge > Fuel sender", "Dash connector 9 > -",
    ]  # fmt: skip
    assert [w.signal for w in seen.wires] == ["Main", "Ground", "Start", "Fuel", "unknown"]
    assert [f.split(":")[0] for f in seen.found()] == ["two-ends"], "nobody knows where the pink wire goes"


def test_a_sensor_and_its_pin_beside_the_pins_of_a_connector(tmp_path: Path) -> None:
    seen = tried(lists.sensor_and_sensor_pin(tmp_path))
    assert seen.ends()[0] == "P7 A1 > Oil pressure sensor 1"
    assert seen.ends()[4] == "P7 A5 > Coolant temp sensor B"
    assert [w.number for w in seen.wires] == ["101", "102", "103", "104", "105"]
    assert seen.unused_pins() == ["P7 A6"]
    assert seen.listing_faults() == []


def test_ends_under_headings_that_say_terminal(tmp_path: Path) -> None:
    seen = tried(lists.ends_under_terminal(tmp_path))
    assert seen.ends() == ["BB1 1 > K1 30", "BB1 2 > K2 30", "BB1 3 > F1 1", "GB 1 > K1 85", "GB 2 > K2 85"]
    assert seen.found() == []


def test_a_source_merged_down_over_its_rows(tmp_path: Path) -> None:
    seen = tried(lists.merged_sources(tmp_path))
    assert seen.ends() == [
        "ECU 1 > Coil 1 2", "ECU 2 > Coil 2 2", "ECU 3 > Coil 3 2", "Fuse box 7 > Coil 1 1", "Fuse box 8 > Coil 2 1",
    ]  # fmt: skip
    assert [w.colour for w in seen.wires] == ["RD", "RDBK", "RDGN", "BK", "BK"]
    assert seen.found() == []
