"""Lists of engines and cars as their builders write them: what is read, what is found and what is not."""

from __future__ import annotations

from pathlib import Path

import lists_engines as lists
import pytest
from styles_helpers import tried


def test_a_controllers_pinout_with_destinations(tmp_path: Path) -> None:
    seen = tried(lists.ecu_pinout(tmp_path))
    assert len(seen.wires) == 15
    assert seen.unused_pins() == ["ECU 3", "ECU 11"]
    assert seen.ends()[0] == "ECU 1 > Coil 1 3"
    assert seen.ends()[4] == "ECU 6 > Crank sensor"
    colours = [w.colour for w in seen.wires]
    assert colours[:8] == ["WHOG", "WHYE", "RD", "BK", "bare", "BKWH", "lightblueOG", "GN"]
    assert (colours[8], colours[12], colours[13]) == ("VT", "GY", "GY")
    assert sorted(seen.aside()) == [2, 3, 5, 24, 25, 26, 27]
    assert seen.found() == []


def test_a_sheet_for_each_connector_with_each_wire_at_both_its_ends(tmp_path: Path) -> None:
    seen = tried(lists.race_car_sheets(tmp_path))
    assert seen.ends() == [
        "X1 1 > X2 1", "X1 2 > X2 2", "X1 3 > X3 2", "X1 4 > X3 3", "X1 5 > X3 1", "X1 7 > X4 A", "X1 8 > X4 B",
    ]  # fmt: skip
    assert all(len(w.also) == 1 for w in seen.wires), "each wire stands on the sheets of both its ends"
    assert [seen.kind(f"X{n}") for n in range(1, 5)] == ["controller", "trigger sensor", "position sensor", "display"]
    assert seen.unused_pins() == ["X1 6", "X4 C"]
    assert seen.found() == []


def test_a_generator_set_in_german(tmp_path: Path) -> None:
    seen = tried(lists.genset_german(tmp_path))
    assert len(seen.wires) == 11
    assert seen.ends()[:3] == [
        "Batterie + > Anlasser 30", "Batterie - > Massepunkt Block", "Anlasser 30 > Sicherung F1 1",
    ]  # fmt: skip
    assert [w.length_m for w in seen.wires][:6] == [1.2, 0.8, 0.45, 0.95, 0.6, 1.35]
    assert [str(w.size) for w in seen.wires][2:6] == ["2.5 mm²", "1.5 mm²", "2.5 mm²", "0.75 mm²"]
    assert [w.colour for w in seen.wires][3:6] == ["RDYE", "BN", "BUWH"]
    kinds = {i.name: i.kind for i in seen.design.harness.items.values()}
    assert kinds["Steuergerät"] == "controller"
    assert kinds["Drehzahlgeber"] == "trigger sensor"
    assert kinds["Öldruckschalter"] == "switch"
    assert kinds["Massepunkt Block"] == "earth point"
    assert "reserved" in seen.aside()[13]
    assert seen.listing_faults() == ["one-wire-per-cavity: Cavity Anlasser 30 holds 2 wires: 1, 3."] or not seen.found()


def test_a_tractor_in_french_with_its_sensor_on_the_engine(tmp_path: Path) -> None:
    seen = tried(lists.tractor_french(tmp_path))
    assert [w.number for w in seen.wires] == [str(n) for n in range(101, 109)]
    assert [w.colour for w in seen.wires] == ["RDBK", "BK", "WH", "GY", "RD", "RDYE", "lightgreen", "BK"]
    assert seen.wires[0].length_m == 1.2
    assert seen.kind("Masse moteur") == "earth point"
    assert seen.kind("Capteur PMH") == "trigger sensor"
    asked = [u for u in seen.result.undecided if u.rule == "sensor-return-home"]
    assert [u.subject for u in asked] == [("component", "Sonde température")], "it is earthed on the engine"
    assert seen.role_at("108") == "sensor ground"
    assert seen.role_at("102") == "power ground"
    assert seen.found() == []


def test_a_boat_in_swedish(tmp_path: Path) -> None:
    seen = tried(lists.boat_swedish(tmp_path))
    assert len(seen.wires) == 6
    assert seen.ends()[1] == "Styrenhet A2 > Jordpunkt motor"
    assert [w.colour for w in seen.wires] == ["BN", "BK", "YEGN", "GY", "RD", "RD"]
    kinds = {i.name: i.kind for i in seen.design.harness.items.values()}
    assert kinds["Startrelä"] == "relay"
    assert kinds["Temperaturgivare"] == "temperature sensor"
    assert kinds["Jordpunkt motor"] == "earth point"
    assert "reserved" in seen.aside("Ledningar")[8]
    assert seen.found() == []


def test_a_motorcycle_in_italian(tmp_path: Path) -> None:
    seen = tried(lists.motorcycle_italian(tmp_path))
    assert len(seen.wires) == 7
    assert seen.ends()[1:3] == ["Centralina 2 > Massa telaio", "Centralina 3 > Pick-up 1"]
    assert [w.length_m for w in seen.wires][:3] == [0.45, 0.6, 0.7]
    assert [str(w.size) for w in seen.wires][:2] == ["1 mm²", "1.5 mm²"]
    assert seen.kind("Chiave") == "switch"
    assert seen.kind("Fusibile 15A") == "fuse"
    assert seen.found() == []


def test_marks_that_say_the_same_again(tmp_path: Path) -> None:
    seen = tried(lists.dittos(tmp_path))
    assert len(seen.wires) == 9
    assert seen.ends()[:4] == [f"Main relay 87 > Coil {n}" for n in range(1, 5)]
    assert seen.ends()[4] == "ECU 4 > Coil 1"
    assert [w.colour for w in seen.wires][:4] == ["RD"] * 4
    assert [w.signal for w in seen.wires][:5] == ["coil feed"] * 4 + ["Ign 1"]
    assert [w.length_m for w in seen.wires][7:] == [1.05, pytest.approx(0.4572)]
    assert "total" in seen.aside()[12]
    assert [d.name for d in seen.design.devices.of_kind("controller")] == ["ECU"]
    assert seen.found("one-wire-per-cavity") == ["one-wire-per-cavity: Cavity Main relay 87 holds 4 wires: 1, 2, 3, 4."]
    assert {f.split(":")[0] for f in seen.found()} <= {"one-wire-per-cavity", "coil-capacitor"}


def test_two_plugs_side_by_side_under_merged_titles(tmp_path: Path) -> None:
    seen = tried(lists.twin_ecu_plugs(tmp_path))
    assert seen.ends()[0] == "Plug A A1 > -"
    assert seen.ends()[-1] == "Plug B B8 > -"
    assert len(seen.wires) == 14
    assert seen.unused_pins() == ["Plug A A6", "Plug B B6"]
    assert seen.found() == []


def test_wires_that_go_on_behind_a_bulkhead(tmp_path: Path) -> None:
    seen = tried(lists.bulkhead_both_sides(tmp_path))
    assert len(seen.wires) == 6
    assert seen.design.harness.items["bh1 plug"].mate == "bh1 socket"
    assert seen.found() == []


def test_several_destinations_in_one_cell(tmp_path: Path) -> None:
    seen = tried(lists.several_destinations(tmp_path))
    ends = seen.ends()
    assert ends[:4] == ["Mega A0 > Motor controller", "Mega A0 > C3 A3", "Mega A0 > C6 A3", "Mega A1 > C3 7"]
    assert [e for e in ends if e.startswith("Mega 5V")] == ["Mega 5V > C3 1", "Mega 5V > C6 1", "Mega 5V > C7 1"]
    assert [e for e in ends if e.startswith("Mega GND")] == ["Mega GND > C3 2", "Mega GND > C6 2", "Mega GND > C7 2"]
    assert [e for e in ends if e.startswith("Mega D")][:4] == [f"Mega D{n} > Panel" for n in range(2, 6)]
    assert seen.unused_pins() == ["Mega D6", "Mega D7", "Mega D9"]
    assert not [f for f in seen.found() if "," in f.split("wires")[0] and "C3:" in f]


def test_from_and_to_over_connector_pin_and_function_with_a_row_of_units(tmp_path: Path) -> None:
    seen = tried(lists.headings_over_ends(tmp_path))
    assert [w.number for w in seen.wires] == [f"{n:03}" for n in range(1, 8)]
    assert seen.ends()[0] == "ECU-A 1 > INJ1 2"
    assert seen.ends()[4] == "ECU-B 1 > TPS 3"
    assert [w.length_m for w in seen.wires][:2] == [0.85, 0.87]
    assert str(seen.wires[0].size) == "0.75 mm²"
    assert [w.colour for w in seen.wires][:2] == ["BU", "BURD"]
    assert seen.wires[0].signal == "Inj 1"
    assert sorted(seen.aside()) == [1, 3, 4]
    assert seen.found() == []


def test_names_of_circuits_are_no_wire_numbers(tmp_path: Path) -> None:
    seen = tried(lists.british_letters(tmp_path))
    assert len(seen.wires) == 11
    assert [w.colour for w in seen.wires][:3] == ["BN", "BNWH", "WH"]
    assert seen.wires[6].colour == "GNBU"
    assert {w.number for w in seen.wires} == {None}
    assert seen.wires[0].signal == "Live feed"
    assert seen.found("numbers-once") == []


def test_headings_again_on_each_page(tmp_path: Path) -> None:
    seen = tried(lists.page_headings(tmp_path))
    assert len(seen.wires) == 24
    assert len(seen.aside()) == 9
    assert seen.wires[23].length_m == pytest.approx(44 * 0.0254)
    assert seen.found() == []
