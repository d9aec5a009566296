"""Lists of other trades and awkward workbooks: what is read, what is found and what is not."""

from __future__ import annotations

from pathlib import Path

import lists_others as lists
import pytest
from styles_helpers import tried


def test_a_work_boat(tmp_path: Path) -> None:
    seen = tried(lists.marine(tmp_path))
    assert [w.number for w in seen.wires] == [str(n) for n in range(101, 110)]
    assert [str(w.size) for w in seen.wires][:4] == ["4/0 AWG", "2/0 AWG", "4/0 AWG", "8 AWG"]
    assert [w.length_m for w in seen.wires][:4] == pytest.approx([6 * 0.3048, 3 * 0.3048, 5.5 * 0.3048, 48 * 0.0254])
    assert seen.wires[6].colour == "darkgrey"
    assert seen.wires[0].signal == "House main"
    assert seen.kind("Positive bus") == "post"
    assert seen.kind("DC negative bus") == "post"
    assert seen.kind("Breaker panel") == "power distribution"
    assert "reserved" in seen.aside()[14]
    assert not seen.reading.unreadable
    # The bus stands on the battery and on the engine: with the strap that is taken as given this is a loop.
    assert {f.split(":")[0] for f in seen.found()} <= {"no-earth-loop"}


def test_an_aircraft(tmp_path: Path) -> None:
    seen = tried(lists.aircraft(tmp_path))
    assert len(seen.wires) == 8
    assert seen.ends()[5:7] == ["CB2 2 > S3 1", "S3 2 > L1 A"], "S3 has two pins and is a switch, no splice"
    assert seen.wires[4].colour == "bare"
    assert seen.wires[5].length_m == pytest.approx(12.5 * 0.0254)
    assert seen.kind("GND BLOCK G1") == "earth point"
    assert seen.found() == []


def test_a_terminal_strip_with_what_is_inside_and_outside(tmp_path: Path) -> None:
    seen = tried(lists.cnc_cabinet(tmp_path))
    ends = seen.ends()
    assert "F1 2 > M1 U1" in ends or {"X1 1 > F1 2", "X1 1 > M1 U1"} <= set(ends)
    assert "K1 A1 > S1 11" in ends or {"X1 4 > K1 A1", "X1 4 > S1 11"} <= set(ends)
    assert seen.wires[0].colour == "BK"
    assert 9 in seen.aside() or "X1 6" in seen.unused_pins()
    assert seen.found("two-ends") == []


def test_a_robot_without_headings(tmp_path: Path) -> None:
    seen = tried(lists.robot_no_headings(tmp_path))
    assert seen.ends()[3] == "PD board 1 > Left motor controller V+"
    assert len(seen.wires) == 8
    assert [str(w.size) for w in seen.wires][2:4] == ["6 AWG", "12 AWG"]
    assert seen.wires[3].length_m == pytest.approx(0.6096)
    assert seen.found() == []


def test_a_caravan_with_a_table_for_each_circuit(tmp_path: Path) -> None:
    seen = tried(lists.caravan(tmp_path))
    assert [w.number for w in seen.wires] == ["L1", "L2", "L3", "P1", "P2", "P3"]
    assert [w.length_m for w in seen.wires] == pytest.approx([2.4, 1.8, 3.1, 4, 1.5, 2])
    assert [str(w.size) for w in seen.wires] == ["1.5 mm²", "1 mm²", "1 mm²", "2.5 mm²", "2.5 mm²", "2.5 mm²"]
    assert len(seen.aside("Volt drop calc")) == 5
    assert seen.found() == []


def test_a_column_for_each_device(tmp_path: Path) -> None:
    seen = tried(lists.device_matrix(tmp_path))
    assert "ECU 12 > OBD 6" in seen.ends()
    assert "Dash 10 > Logger 11" in seen.ends()
    assert len(seen.wires) == 14
    assert seen.listing_faults() == []


def test_nets_with_their_pins_below(tmp_path: Path) -> None:
    seen = tried(lists.net_groups(tmp_path))
    assert seen.ends() == [
        "ECU 14 > TPS 3", "ECU 14 > MAP 1", "ECU 14 > CLT 2", "ECU 15 > TPS 1", "ECU 15 > MAP 3", "ECU 16 > TPS 2",
        "ECU 17 > MAP 2",
    ]  # fmt: skip
    assert seen.listing_faults() == []


def test_old_issues_copies_legends_and_calculations_beside_one_list(tmp_path: Path) -> None:
    seen = tried(lists.awkward_workbook(tmp_path))
    assert len(seen.wires) == 6
    assert all("copy" in why for why in seen.aside("Loom (2)").values())
    assert len(seen.aside("Loom rev A OLD")) == 7
    assert all("older" in why for why in seen.aside("Loom rev A OLD").values())
    assert seen.found() == ["one-wire-per-cavity: Cavity Fuse 4 2 holds 2 wires: 5, 6."]


def test_ends_named_in_the_headings_of_their_pins(tmp_path: Path) -> None:
    seen = tried(lists.heading_pins(tmp_path))
    assert seen.ends() == [
        "Old ECU 1 > New ECU A3", "Old ECU 2 > New ECU A4", "Old ECU 3 > New ECU B1", "Old ECU 4 > New ECU B2",
        "Old ECU 5 > New ECU B7", "Old ECU 7 > New ECU A12",
    ]  # fmt: skip
    assert {8, 10} <= set(seen.aside()), "not connected on the new side: no wire"
    assert seen.listing_faults() == []


def test_headings_in_row_twelve_from_column_e(tmp_path: Path) -> None:
    seen = tried(lists.far_corner(tmp_path))
    assert len(seen.wires) == 8
    assert seen.wires[0].colour == "YERD"
    assert seen.wires[6].colour == "lightblue"
    assert seen.wires[2].length_m == pytest.approx(36.5 * 0.0254)
    assert [str(w.size) for w in seen.wires][3:5] == ["10 AWG", "18 AWG"]
    assert seen.found() == []


def test_formulas_without_their_values(tmp_path: Path) -> None:
    seen = tried(lists.formulas(tmp_path))
    assert seen.ends()[5] == "ECU 6 > Coil 6"
    assert len(seen.reading.unreadable) == 12
    assert [f.split(":")[0] for f in seen.found()] == ["cells-understood", "cells-understood"]


def test_sizes_of_contacts_are_no_sizes_of_wires(tmp_path: Path) -> None:
    seen = tried(lists.contact_sizes(tmp_path))
    assert [str(w.size) for w in seen.wires] == ["18 AWG", "18 AWG", "22 AWG", "22 AWG", "22 AWG", "22 AWG"]
    assert seen.ends()[0].startswith("J1")
    assert seen.ends()[4].endswith("a > Oil temp sensor 1")
    assert seen.ends()[5].endswith("b > Oil temp sensor 2")
    assert len(seen.unused_pins()) == 1
    assert len(seen.aside("Contacts")) == 3
    assert seen.found() == []


def test_sizes_and_lengths_of_every_kind(tmp_path: Path) -> None:
    seen = tried(lists.mixed_sizes(tmp_path))
    assert [str(w.size) for w in seen.wires][:8] == [
        "4/0 AWG", "50 mm²", "14 AWG", "16 mm²", "12 AWG", "1.5 mm²", "14 AWG", "16 AWG",
    ]  # fmt: skip
    size = seen.wires[8].size
    assert size is not None, "14/0.30 is 14 strands of 0.30 mm"
    assert size.csa_mm2 == pytest.approx(0.99, abs=0.02)
    assert [w.length_m for w in seen.wires] == pytest.approx(
        [1.2, 0.9, 1.8288, 0.4572, 1.2192, 2.25, 0.762, 0.4572, 0.8]
    )
    assert seen.found() == []


def test_splices_posts_and_bars_by_name_only(tmp_path: Path) -> None:
    seen = tried(lists.bus_and_splice(tmp_path))
    assert seen.ends()[:4] == ["ECU 15 > TPS – splice", "TPS – splice > TPS 1", "TPS – splice > MAP 3", "ECU 14 > S101"]
    assert seen.ends()[6] == "Battery neg > Ground bus bar"
    assert seen.ends()[9:] == ["Power post > Fan relay 30", "Battery pos > Power post"]
    assert seen.kind("TPS – splice") == "splice"
    assert seen.kind("S101") == "splice"
    assert seen.kind("Power post") == "post"
    assert seen.found() == []


def test_both_ends_in_one_cell_with_an_arrow(tmp_path: Path) -> None:
    seen = tried(lists.arrow_ends(tmp_path))
    assert seen.ends() == [
        "ECU 12 > TPS 3", "ECU 13 > TPS 2", "ECU 14 > TPS 1", "Fuse 2 > Main relay 30", "Main relay 87 > ECU 1",
    ]  # fmt: skip
    assert [w.number for w in seen.wires] == ["1", "2", "3", "4", "5"]
    assert seen.found() == []


def test_a_cable_with_pairs_and_a_drain(tmp_path: Path) -> None:
    seen = tried(lists.matrix_pairs(tmp_path))
    assert seen.ends() == ["P1 1 > P2 7", "P1 2 > P2 2", "P1 3 > P2 3", "P1 4 > P2 5", "P1 5 > -"]
    assert [w.twist for w in seen.wires][:4] == ["1", "1", "2", "2"]
    assert seen.wires[4].b_open
    assert seen.listing_faults() == [], "what P1 belongs to is not said, so the drain cannot be judged"


def test_a_fuse_box_over_its_wires(tmp_path: Path) -> None:
    seen = tried(lists.fuse_box(tmp_path))
    assert seen.ends() == ["Battery + > F1", "Battery + > F2", "F1 > ECU", "F2 > Fuel pump"]
    fuses = {i.name: i.rating_a for i in seen.design.harness.items.values() if i.kind == "fuse"}
    assert fuses == {"F1": 10, "F2": 15, "F3": 30}
    assert seen.wires[0].current_a == 8
    assert [f for f in seen.found() if not f.startswith("one-wire-per-cavity")] == []
