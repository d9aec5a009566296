"""The ways of saying from and to, and where a connector's name stands."""

from __future__ import annotations

import pytest
from make_grids import ends, grid, only, pins, read, reasons


@pytest.mark.parametrize(
    "headings",
    [
        "From|From pin|To|To pin|Colour",
        "From Conn|From Pin #|To Conn|To Pin #|Wire Color",
        "Source|Source pin|Destination|Destination pin|COLOR",
        "Connector A|Pin A|Connector B|Pin B|Col",
        "Connector 1|Pin 1|Connector 2|Pin 2|Colour",
        "End 1|Pin|End 2|Pin|Colour",
        "From|Pin|To|Pin|Colour",
        "Connector|Pin|Connector|Pin|Colour",
        "von|Kammer von|nach|Kammer nach|Farbe",
        "Von Stecker|Von Kammer|Nach Stecker|Nach Kammer|Aderfarbe",
        "FROM :|FROM CAVITY|TO :|TO CAVITY|COLOURS",
        "Start|Start pin|End|End pin|Colour",
        "ECU connector|ECU pin|Loom connector|Loom pin|Colour",
        "A End|A Pin|B End|B Pin|Core Colour",
        "Src|Src Pin|Dst|Dst Pin|Wire colour",
        "Side A Connector|Side A Pin|Side B Connector|Side B Pin|Wire colour",
        "From\nconnector|From\ncavity|To\nconnector|To\ncavity|Colour ",
    ],
)
def test_a_row_per_wire_under_many_headings(headings: str) -> None:
    rows = [
        headings.split("|"),
        ["X1", 1, "C101", "A", "RD"],
        ["X1", 2, "C102", "B", "BK"],
        ["X2", 1, "C101", "C", "GN"],
    ]
    table = only(read(grid(rows)), "wires")
    assert ends(table) == [("X1", "1", "C101", "A"), ("X1", "2", "C102", "B"), ("X2", "1", "C101", "C")]
    assert list(table.frame["colour"]) == ["RD", "BK", "GN"]


def test_columns_in_another_order_and_language() -> None:
    table = only(
        read(
            """
Querschnitt [mm²]|Länge (mm)|Farbe|Nach|Von|Leitung
0,75|800|rt|Zündspule 1|Steuergerät|L1
1,5|950|sw/ws|Massepunkt|Steuergerät|L2
"""
        ),
        "wires",
    )
    assert ends(table) == [("Steuergerät", None, "Zündspule 1", None), ("Steuergerät", None, "Massepunkt", None)]
    assert list(table.frame["colour"]) == ["RD", "BKWH"]
    assert [s.csa_mm2 for s in table.frame["size"]] == [0.75, 1.5]
    assert list(table.frame["wire"]) == ["L1", "L2"]


def test_french_headings() -> None:
    table = only(
        read(
            """
Repère|Départ|Arrivée|Couleur|Section|Longueur (m)
F1|Calculateur|Bobine 1|rouge|0,6|0,8
F2|Calculateur|Masse moteur|noir|2|1,1
"""
        ),
        "wires",
    )
    assert list(table.frame["colour"]) == ["RD", "BK"]
    assert list(table.frame["length_m"]) == [0.8, 1.1]
    assert list(table.frame["wire"]) == ["F1", "F2"]


def test_a_row_per_pin_with_its_destination_gives_pins_and_wires() -> None:
    reading = read(
        """
Connector|Pin|Signal|Destination|Colour
X1|1|INJ 1|Injector 1|GN
X1|2|INJ 2|Injector 2|YE
X1|3|N/C||
X1|4|CLT|CLT sensor:1|BU
X1|5|||
"""
    )
    table = only(reading, "pins")
    assert pins(table)[3] == ("X1", "4", "CLT")
    assert list(table.frame["unused"]) == [False, False, True, False, False]
    assert ends(only(reading, "wires")) == [
        ("X1", "1", "Injector 1", None),
        ("X1", "2", "Injector 2", None),
        ("X1", "4", "CLT sensor", "1"),
    ]
    assert list(only(reading, "wires").frame["wire"]) == [None] * 3


def test_net_groups_filled_forward() -> None:
    reading = read(
        """
Net|Connector|Pin
Sensor ground|ECU|22
|CLT|2
|IAT|2
CLT signal|ECU|23
|CLT|1
"""
    )
    table = only(reading, "pins")
    assert list(table.frame["signal"]) == ["Sensor ground"] * 3 + ["CLT signal"] * 2
    assert ends(only(reading, "wires")) == [
        ("ECU", "22", "CLT", "2"),
        ("ECU", "22", "IAT", "2"),
        ("ECU", "23", "CLT", "1"),
    ]
    fill = [a for a in reading.assumptions if a.what == "filled forward"]
    assert [(a.subject, a.count) for a in fill] == [("Net", 3)]


def test_net_groups_under_signal_and_merged_cells() -> None:
    rows = [
        ["Signal", "Connector", "Pin"], ["12V", "Relay", 87], [None, "Coil 1", 1], [None, "Coil 2", 1],
        ["GND", "Block", 1], [None, "Coil 1", 2],
    ]  # fmt: skip
    plain = read(grid(rows))
    merged = read(grid(rows, merged=((2, 0, 4, 0), (5, 0, 6, 0))))
    assert pins(only(plain, "pins")) == pins(only(merged, "pins"))
    assert ends(only(plain, "wires")) == [
        ("Relay", "87", "Coil 1", "1"),
        ("Relay", "87", "Coil 2", "1"),
        ("Block", "1", "Coil 1", "2"),
    ]


def test_a_blank_signal_of_a_pin_list_is_not_filled() -> None:
    reading = read(
        """
Signal|Connector|Pin
INJ 1|X1|1
|X1|2
INJ 2|X1|3
|X1|4
"""
    )
    assert list(only(reading, "pins").frame["signal"]) == ["INJ 1", None, "INJ 2", None]
    assert list(only(reading, "pins").frame["unused"]) == [False] * 4


def test_a_column_per_device() -> None:
    reading = read(
        """
Signal|ECU|Coil 1|CLT
Coil 1 drive|12|A|
CLT signal|20||1
Sensor ground|21||2
"""
    )
    assert ends(only(reading, "wires")) == [
        ("ECU", "12", "Coil 1", "A"),
        ("ECU", "20", "CLT", "1"),
        ("ECU", "21", "CLT", "2"),
    ]
    assert len(only(reading, "pins").frame) == 6


def test_connector_filled_forward() -> None:
    reading = read("Connector|Pin|Signal\nX1|1|A\n|2|B\n|3|C\nX2|1|D\n|2|E")
    assert [c for c, _, _ in pins(only(reading, "pins"))] == ["X1", "X1", "X1", "X2", "X2"]
    assert [a.count for a in reading.assumptions if a.what == "filled forward"] == [3]


def test_one_blank_end_is_a_fault_and_not_filled() -> None:
    rows = [["Wire", "From", "To", "Colour"]] + [[f"W{i}", f"D{i}", "ECU", "RD"] for i in range(1, 9)]
    rows[4][1] = None
    table = only(read(grid(rows)), "wires")
    assert list(table.frame["from_item"])[3] is None


@pytest.mark.parametrize(
    ("sheet", "rows", "name"),
    [
        ("Sheet1", "ECU pin|Signal\n1|INJ 1\n2|INJ 2", "ECU"),
        ("X3", "Pin|Signal\n1|INJ 1\n2|INJ 2", "X3"),
        ("ECU-A", "Pin #|Function|Wire colour\n1|INJ 1|RD\n2|INJ 2|BK", "ECU-A"),
        ("Sheet1", "Connector X7|\nPin|Signal\n1|INJ 1\n2|INJ 2", "X7"),
        ("Sheet1", "Mega|Function\nA0|CLT\nA1|IAT\nD3|INJ", "Mega"),
    ],
)
def test_where_the_connector_is_named(sheet: str, rows: str, name: str) -> None:
    reading = read(grid(rows, sheet=sheet))
    assert {c for c, _, _ in pins(only(reading, "pins"))} == {name}
    assert name in {a.value for a in reading.assumptions if a.what == "connector"}


def test_pins_only_lists_give_wires_with_one_end() -> None:
    reading = read(grid("Pin|Signal|Colour\n1|INJ 1|RD\n2|INJ 2|BK\n3||", sheet="X3"))
    assert ends(only(reading, "wires")) == [("X3", "1", None, None), ("X3", "2", None, None)]


def test_pins_with_colours_give_no_wires_beside_a_wire_list() -> None:
    reading = read(
        grid("Pin|Signal|Colour\n1|INJ 1|RD\n2|INJ 2|BK", sheet="X3"),
        grid("From|To|Colour\nX3:1|Injector 1|RD\nX3:2|Injector 2|BK", sheet="Loom"),
    )
    assert len(only(reading, "wires").frame) == 2


def test_direction_column_leaves_the_ends_as_they_are() -> None:
    reading = read("Src|Dir|Dest|Signal\nECU|>|Injector 1|INJ 1\nECU|<|CLT sensor|CLT\nECU|<|IAT sensor|IAT")
    assert ends(only(reading, "wires"))[1] == ("ECU", None, "CLT sensor", None)


def test_ditto_marks() -> None:
    reading = read(
        'From|To|Colour|Note\nECU|Coil 1|RD|heat sleeve\n"|Coil 2|do.|”\nditto|Coil 3|BK|\nas above|Coil 4|-"-|same'
    )
    table = only(reading, "wires")
    assert list(table.frame["from_item"]) == ["ECU"] * 4
    assert list(table.frame["colour"]) == ["RD", "RD", "BK", "BK"]
    assert list(table.frame["note"]) == ["heat sleeve", "heat sleeve", None, "heat sleeve"]
    assert {a.subject: a.count for a in reading.assumptions if a.what == "ditto"} == {"From": 3, "Colour": 2, "Note": 2}


def test_open_ends_are_kept_and_reserved_rows_set_aside() -> None:
    reading = read(
        """
Wire|From|To|Colour|Signal
1|ECU:3|open|bare|shield drain
2|ECU:4|cut back|GN|
3|ECU:5|reserved||
4|ECU:6|spare||
|ECU:7|N/C||
6|ECU:8|CLT:1|BU|CLT
7|ECU:9|spare|GN|
"""
    )
    table = only(reading, "wires")
    assert list(table.frame["wire"]) == ["1", "2", "6", "7"]
    assert list(table.frame["to_open"]) == [True, True, False, True]
    assert list(table.frame["to_item"]) == [None, None, "CLT", None]
    assert [reasons(reading)[r] for r in (4, 5, 6)] == ["reserved, no wire"] * 3


def test_pin_ranges_and_lists() -> None:
    reading = read(grid("Pin|Signal\n1|A\n2-4|N/C\n5,6,7|12V\nD8-D10|spare\n11|\n12|B\n13|C\n14|D", sheet="X3"))
    table = only(reading, "pins")
    assert list(table.frame["cavity"])[:10] == ["1", "2", "3", "4", "5", "6", "7", "D8", "D9", "D10"]
    assert list(table.frame["unused"])[:10] == [False, True, True, True, False, False, False, True, True, True]
    assert list(table.frame["unused"])[10] is False  # blank is not the same as unused


def test_pins_named_with_a_dash_are_no_ranges() -> None:
    table = only(read(grid("Pin|Signal\n1-1|A\n1-2|B\n2-1|C\n2-2|D", sheet="X3")), "pins")
    assert list(table.frame["cavity"]) == ["1-1", "1-2", "2-1", "2-2"]


def test_misspelt_headings_are_taken_with_an_assumption() -> None:
    reading = read("Wire|From|To|Colur|Lenght (mm)|Formerly\n1|ECU|Coil|RD|500|x9\n2|ECU|Pump|BK|600|x8")
    table = only(reading, "wires")
    assert list(table.frame["colour"]) == ["RD", "BK"]
    assert list(table.frame["length_m"]) == [0.5, 0.6]
    assert {a.subject for a in reading.assumptions if a.what == "heading"} == {"Colur", "Lenght (mm)"}
    assert any("column F 'Formerly' not used" in note for note in reading.notes)


def test_item_names_keep_their_dashes() -> None:
    table = only(read("From|To|Colour\nCompressor – splice|INJ-1|RD\nINJ-2|Compressor – splice|RD"), "wires")
    assert ends(table)[0] == ("Compressor – splice", None, "INJ-1", None)


def test_device_and_connector_columns_at_both_ends() -> None:
    rows = (
        "From device|From connector|From pin|To device|To connector|To pin|Colour\n"
        "ECU|A|1|Coil 1|C1|1|RD\nECU|B|1|Coil 2|C2|1|BK\nECU|B|2|Coil 2|C2|2|GN"
    )
    assert ends(only(read(rows), "wires")) == [
        ("ECU A", "1", "Coil 1", "1"),
        ("ECU B", "1", "Coil 2", "1"),
        ("ECU B", "2", "Coil 2", "2"),
    ]


def test_a_wire_named_at_both_of_its_ends() -> None:
    reading = read("Wire|Connector|Pin|Colour\nW1|X1|1|RD\nW1|X2|4|RD\nW2|X1|2|BK\nW2|X3|1|BK\nW9|X3|7|GN")
    table = only(reading, "wires")
    assert ends(table) == [("X1", "1", "X2", "4"), ("X1", "2", "X3", "1"), ("X3", "7", None, None)]
    assert list(table.frame["wire"]) == ["W1", "W2", "W9"]


def test_a_net_list_with_the_net_on_every_row() -> None:
    reading = read("Net Name|Component|Pin\nGND|ECU|1\nGND|CLT|2\n5V|ECU|4\n5V|TPS|1\n5V|MAP|3")
    assert ends(only(reading, "wires")) == [
        ("ECU", "1", "CLT", "2"),
        ("ECU", "4", "TPS", "1"),
        ("ECU", "4", "MAP", "3"),
    ]


def test_pins_of_two_named_connectors_in_one_row() -> None:
    reading = read("ECU pin|Harness pin|Colour\n1|A|RD\n2|B|BK")
    assert ends(only(reading, "wires")) == [("ECU", "1", "Harness", "A"), ("ECU", "2", "Harness", "B")]


def test_pins_of_three_named_connectors_in_one_row() -> None:
    reading = read("Harness Pin|ECU Pin|Sensor Pin|Signal\n1|12|A|CLT\n2|13|B|GND")
    assert ends(only(reading, "wires"))[:2] == [("Harness", "1", "ECU", "12"), ("Harness", "1", "Sensor", "A")]


def test_destination_with_its_pin() -> None:
    reading = read(
        "Pin|Wire Color|Function|Connected to|Pin\n1|Red|12V|Main relay|87\n2|Black|GND|Block|\n3|Blue|CLT|CLT|1"
    )
    assert [e[2:] for e in ends(only(reading, "wires"))] == [("Main relay", "87"), ("Block", None), ("CLT", "1")]


def test_a_heading_over_item_and_pin() -> None:
    reading = read("Wire|From||To||Colour\nW1|X1|1|C1|A|RD\nW2|X1|2|C1|B|BK")
    assert ends(only(reading, "wires")) == [("X1", "1", "C1", "A"), ("X1", "2", "C1", "B")]


def test_wire_names_under_no_heading() -> None:
    reading = read("|From|To|Colour\nW1|ECU|Coil|RD\nW2|ECU|Pump|BK")
    assert list(only(reading, "wires").frame["wire"]) == ["W1", "W2"]
    assert ("no heading", "wire") in {(a.subject, a.value) for a in reading.assumptions}


@pytest.mark.parametrize(
    "rows",
    [
        "Filo|Da|A|Colore|Sezione|Lunghezza (mm)\n1|ECU|Bobina|rosso|0,75|500\n2|ECU|Massa|nero|1,5|700",
        "Cable|Desde|Hasta|Color|Sección|Longitud (mm)\n1|ECU|Bobina|rojo|0,75|500\n2|ECU|Massa|negro|1,5|700",
        "Ledning|Från|Till|Färg|Area|Längd (mm)\n1|ECU|Bobina|röd|0,75|500\n2|ECU|Massa|svart|1,5|700",
        "Draad|Van|Naar|Kleur|Doorsnede|Lengte (mm)\n1|ECU|Bobina|rood|0,75|500\n2|ECU|Massa|zwart|1,5|700",
        "Nr.|von|nach|Farbe|mm²|Länge (mm)\n1|ECU|Bobina|rt|0,75|500\n2|ECU|Massa|sw|1,5|700",
        "N°|De|Vers|Couleur|Section (mm²)|Longueur (mm)\n1|ECU|Bobina|rouge|0,75|500\n2|ECU|Massa|noir|1,5|700",
    ],
)
def test_other_languages(rows: str) -> None:
    frame = only(read(rows), "wires").frame
    assert list(frame["wire"]) == ["1", "2"]
    assert list(frame["to_item"]) == ["Bobina", "Massa"]
    assert list(frame["colour"]) == ["RD", "BK"]
    assert [str(s) for s in frame["size"]] == ["0.75 mm²", "1.5 mm²"]
    assert list(frame["length_m"]) == [0.5, 0.7]


def test_kinds_of_terminal_beside_the_ends() -> None:
    reading = read(
        "From|To|Terminal From|Terminal To|Size\n"
        "Battery +|Starter|M8 ring|M8 ring|50 mm²\nBattery -|Block|M8 ring|M10 ring|50 mm²"
    )
    frame = only(reading, "wires").frame
    assert list(frame["from_terminal"]) == ["M8 ring", "M8 ring"]
    assert list(frame["to_cavity"]) == [None, None]


def test_lengths_of_a_gauge_list_are_inches() -> None:
    reading = read("Circuit|Gauge|Color|From|To|Length\n101|18|RED|Battery|Fuse block|36\n102|20|BLK|ECU|Block|24")
    assert list(only(reading, "wires").frame["length_m"]) == pytest.approx([0.9144, 0.6096])
    assert "in" in {a.value for a in reading.assumptions if a.what == "unit"}


def test_titles_inside_a_table() -> None:
    reading = read("Wire|From|To|Colour\nENGINE|||\n1|ECU|Coil 1|RD\nCABIN|||\n3|ECU|Dash|BK")
    assert list(only(reading, "wires").frame["wire"]) == ["1", "3"]
    assert reasons(reading)[2] == reasons(reading)[4] == "a line of text, not a row of the table"


def test_a_gap_between_equal_ends_is_a_fault_and_not_filled() -> None:
    rows = [["Wire", "From", "To", "Colour"]] + [[f"W{i}", "ECU", f"D{i}", "RD"] for i in range(1, 9)]
    rows[4][1] = None
    assert list(only(read(grid(rows)), "wires").frame["from_item"])[3] is None


def test_ends_grouped_by_the_first_device() -> None:
    reading = read("Wire|From|From pin|To|Colour\n1|ECU|1|A|RD\n2||2|B|RD\n3||3|C|RD\n4|Relay|87|D|RD\n5||30|E|RD")
    assert [e[0] for e in ends(only(reading, "wires"))] == ["ECU", "ECU", "ECU", "Relay", "Relay"]


def test_a_component_is_filled_only_together_with_its_connector() -> None:
    given = read("Connector|Component|Pin|Signal\nX1|ECU|1|A\nX1||2|B\nX2||1|C\nX2||2|D")
    assert list(only(given, "pins").frame["component"]) == ["ECU", None, None, None]
    grouped = read("Connector|Component|Pin|Signal\nX1|ECU|1|A\n||2|B\nX2|Coil|1|C\n||2|D")
    assert list(only(grouped, "pins").frame["component"]) == ["ECU", "ECU", "Coil", "Coil"]


def test_a_splice_at_the_start_of_its_branch() -> None:
    frame = only(read("Splice|Branch|Distance (mm)\nS1|Main|0\nS2|Main|450"), "splices").frame
    assert list(frame["distance_m"]) == [0.0, 0.45]


def test_words_and_dashes_for_unused_pins() -> None:
    reading = read(
        """
Connector|Pin|Signal|Wire|Colour
X1|1|INJ 1|W1|GN
X1|2|--||
X1|3|spare|W3|BK
X1|4|-|W4|RD
X1|5|INJ 5|-|
X1|6|||
X1|7|N/C|--|--
"""
    )
    assert list(only(reading, "pins").frame["unused"]) == [False, True, True, False, False, False, True]
    assert {(a.subject, a.count) for a in reading.assumptions if a.what == "unused"} == {
        ("--", 1),
        ("spare", 1),
        ("N/C", 1),
    }
