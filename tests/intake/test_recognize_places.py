"""Tables are found wherever they stand: low, to the right, side by side, stacked, under two-row headings."""

from __future__ import annotations

import pytest
from make_grids import ends, grid, only, pins, read, reasons

from harnessdrc.errors import NothingToReadError

WIRES = [
    ["Wire", "From", "From cavity", "To", "To cavity", "Colour", "Size (mm²)", "Length (mm)"],
    ["W1", "ECU", 12, "Coil 1", "A", "RD", 0.75, 850],
    ["W2", "ECU", 13, "Coil 2", "A", "BKWH", 0.5, 910],
    ["W3", "ECU", 14, "Block stud", None, "BK", 1.5, 300],
]
EXPECTED = [("ECU", "12", "Coil 1", "A"), ("ECU", "13", "Coil 2", "A"), ("ECU", "14", "Block stud", None)]


@pytest.mark.parametrize("down", [0, 1, 2, 4, 11])
@pytest.mark.parametrize("right", [0, 1, 3, 4])
def test_found_at_any_row_and_column(down: int, right: int) -> None:
    rows = [[None] for _ in range(down)] + [[None] * right + row for row in WIRES]
    table = only(read(grid(rows)), "wires")
    assert ends(table) == EXPECTED
    assert table.heading_row == down + 1
    assert table.cells["wire"] == right
    assert [s.csa_mm2 for s in table.frame["size"]] == [0.75, 0.5, 1.5]
    assert list(table.frame["length_m"]) == [0.85, 0.91, 0.3]


def test_banner_and_notes_are_set_aside() -> None:
    rows = [
        ["Hill-climb single-seater, engine loom"],
        ["Issue 3, all wires thin-wall"],
        [None],
        *WIRES,
        [None],
        ["All lengths include 50 mm."],
    ]
    reading = read(grid(rows))
    assert ends(only(reading, "wires")) == EXPECTED
    assert reasons(reading)[1] == "a line of text above the wire list"
    assert reasons(reading)[4] == "headings of the wire list"
    assert reasons(reading)[9] == "a line of text, not a row of the table"


def test_two_forms_side_by_side_with_an_empty_column() -> None:
    reading = read(
        """
Wire|From|To|Colour||Component|Kind|Place
W1|ECU|Coil 1|RD||ECU|controller|bay
W2|ECU|Coil 2|BK||Coil 1|coil|head
W3|ECU|Coil 3|GN||Coil 2|coil|head
W4|ECU|Coil 4|YE|||
"""
    )
    assert len(only(reading, "wires").frame) == 4
    assert list(only(reading, "components").frame["component"]) == ["ECU", "Coil 1", "Coil 2"]
    assert only(reading, "components").cells["kind"] == 6


def test_two_pin_lists_side_by_side_by_a_repeated_heading() -> None:
    reading = read(
        """
Connector A||Connector B|
Pin|Signal|Pin|Signal
1|INJ 1|1|CLT
2|INJ 2|2|IAT
3|INJ 3||
"""
    )
    first, second = reading.of("pins")
    assert pins(first) == [("A", "1", "INJ 1"), ("A", "2", "INJ 2"), ("A", "3", "INJ 3")]
    assert pins(second) == [("B", "1", "CLT"), ("B", "2", "IAT")]


def test_pin_lists_stacked_with_repeated_headings_and_titles() -> None:
    reading = read(
        """
X1|
Pin|Signal
1|INJ 1
2|INJ 2
|
X2|
Pin|Signal
1|CLT
2|IAT
"""
    )
    first, second = reading.of("pins")
    assert pins(first) == [("X1", "1", "INJ 1"), ("X1", "2", "INJ 2")]
    assert pins(second) == [("X2", "1", "CLT"), ("X2", "2", "IAT")]
    assert [a.because for a in reading.assumptions if a.what == "connector"] == ["the title above names it"] * 2


def test_headings_repeated_on_every_page() -> None:
    reading = read(grid([*WIRES, *WIRES]))
    assert [len(t.frame) for t in reading.of("wires")] == [3, 3]
    assert reasons(reading) == {1: "headings of the wire list", 5: "headings of the wire list"}


def test_group_headings_over_connector_and_pin() -> None:
    rows = [
        ["Wire", "From", None, "To", None, "Colour"],
        [None, "Connector", "Pin", "Connector", "Pin", None],
        ["W1", "X1", 1, "C101", "A", "RD"],
        ["W2", "X1", 2, "C101", "B", "BK"],
    ]
    merged = ((1, 1, 1, 2), (1, 3, 1, 4), (1, 0, 2, 0), (1, 5, 2, 5))
    for more in ({}, {"merged": merged}):
        table = only(read(grid(rows, **more)), "wires")
        assert ends(table) == [("X1", "1", "C101", "A"), ("X1", "2", "C101", "B")]
        assert table.headings["from_item"] == "From Connector"
        assert list(table.frame["wire"]) == ["W1", "W2"]
        assert list(table.frame["colour"]) == ["RD", "BK"]


def test_units_in_a_row_of_their_own() -> None:
    table = only(
        read(
            """
Wire|From|To|Size|Length
|||mm²|mm
1|ECU|Coil|0.5|800
2|ECU|Pump|2.5|1200
"""
        ),
        "wires",
    )
    assert [s.csa_mm2 for s in table.frame["size"]] == [0.5, 2.5]
    assert list(table.frame["length_m"]) == [0.8, 1.2]


def test_no_headings_when_the_columns_speak_for_themselves() -> None:
    reading = read(
        """
W1|ECU|12|Coil 1|A|RD|0.75
W2|ECU|13|Coil 2|A|BK/WH|0.5
W3|ECU|14|Pump|1|GN|1.5
W4|Fuse F1|1|Pump|2|RD|2.5
"""
    )
    table = only(reading, "wires")
    assert ends(table)[0] == ("ECU", "12", "Coil 1", "A")
    assert list(table.frame["colour"]) == ["RD", "BKWH", "GN", "RD"]
    assert [s.csa_mm2 for s in table.frame["size"]] == [0.75, 0.5, 1.5, 2.5]
    assert table.heading_row is None
    assert {a.subject for a in reading.assumptions if a.what == "heading"} == {"no heading"}


@pytest.mark.parametrize(
    ("rows", "first"),
    [
        ("ECU|Injector 1|RD|0.75\nECU|Injector 2|GN|0.75\nECU|Stud|BK|1.5", ("ECU", None, "Injector 1", None)),
        ("W1|ECU|Inj 1|red|18 AWG\nW2|ECU|Inj 2|green|18 AWG\nW3|ECU|Pump|blue|16 AWG", ("ECU", None, "Inj 1", None)),
        ("ECU:1|INJ1:1|0.5|GN\nECU:2|INJ2:1|0.5|RD\nECU:3|INJ3:1|0.5|RD", ("ECU", "1", "INJ1", "1")),
        (
            "W1|INJ 1 drive|ECU|A1|INJ1|1|GN|0.5\nW2|INJ 2 drive|ECU|A2|INJ2|1|GN|0.5\n"
            "W3|CLT sense|ECU|A3|CLT|1|BU|0.35",
            ("ECU", "A1", "INJ1", "1"),
        ),
        ("1|ECU|12|INJ1|1|RD\n2|ECU|13|INJ2|1|RD\n3|ECU|14|INJ3|1|RD", ("ECU", "12", "INJ1", "1")),
        ("1|2|3\nECU|Coil 1|RD\nECU|Coil 2|BK\nECU|Coil 3|GN", ("ECU", None, "Coil 1", None)),
    ],
)
def test_no_headings_in_several_orders(rows: str, first: tuple[str | None, ...]) -> None:
    assert ends(only(read(rows), "wires"))[0] == first


def test_prose_and_parts_are_no_lists() -> None:
    for rows in ("Step|Do this|When\n1|Strip|Mon\n2|Crimp|Tue\n3|Test|Wed", "Part|Qty|Description\nSeal|50|Green seal"):
        with pytest.raises(NothingToReadError):
            read(rows)


def test_unnamed_pin_lists_of_one_sheet_are_told_apart() -> None:
    reading = read("Pin|Signal||Pin|Signal||Pin|Signal\n1|A||1|D||3|X\n2|B||2|E||4|Y")
    assert [{c for c, _, _ in pins(t)} for t in reading.of("pins")] == [{"Sheet1"}, {"Sheet1 (2)"}, {"Sheet1"}]


def test_no_headings_with_pins_written_at_the_ends() -> None:
    table = only(read("X1:1|C1:A|red\nX1:2|C1:B|black\nX1:3|C2:A|white-blue"), "wires")
    assert ends(table) == [("X1", "1", "C1", "A"), ("X1", "2", "C1", "B"), ("X1", "3", "C2", "A")]


def test_face_drawing_and_calculation_are_not_data() -> None:
    reading = read(
        """
Connector|Pin|Signal
X1|1|INJ 1
X1|2|INJ 2
X1|3|INJ 3
||
1|2|3
4|5|6
||
Calculations||
12|5|7
"""
    )
    assert len(only(reading, "pins").frame) == 3
    assert reasons(reading)[6] == "numbers in a grid: a drawing of a connector's face"
    assert reasons(reading)[10] == "calculations beside the pin list"


def test_colour_key_and_totals_are_not_data() -> None:
    reading = read(
        """
From|To|Colour|Length (mm)
ECU|Coil 1|RD|500
ECU|Coil 2|BK|600
Total|||1100
|||
RD|red||
BK|black||
"""
    )
    assert len(only(reading, "wires").frame) == 2
    assert reasons(reading)[4] == "a total"
    assert reasons(reading)[6] == reasons(reading)[7] == "a key of colours"


def test_exact_copy_of_a_sheet_in_the_same_file_and_in_another() -> None:
    copies = [
        grid(WIRES, sheet="Loom"),
        grid(WIRES, sheet="Loom (2)"),
        grid(WIRES, sheet="Loom", file="again.xlsx"),
    ]
    reading = read(*copies)
    assert len(reading.of("wires")) == 1
    assert [s.reason for s in reading.set_aside if s.sheet == "Loom (2)"] == [
        "exact copy of sheet 'Loom' of loom.xlsx"
    ] * 4
    assert sum(s.file == "again.xlsx" for s in reading.set_aside) == 4


def test_older_issue_on_another_sheet() -> None:
    changed = [*WIRES[:-1], ["W3", "ECU", 15, "Block stud", None, "BK", 1.5, 300]]
    reading = read(grid(WIRES, sheet="Loom"), grid(changed, sheet="Loom OLD"))
    assert len(reading.of("wires")) == 1
    assert {s.reason for s in reading.set_aside if s.sheet == "Loom OLD"} == {
        "an older issue by the sheet's name, beside sheet 'Loom'"
    }


def test_every_form_of_the_recommended_workbook() -> None:
    from harnessdrc.tables.columns import FORMS

    values = {
        "size": "0.75 mm²", "length": "1.2 m", "current": "5 A", "resistance": "2 mΩ", "capacitance": "2.2 µF", "voltage": "12 V",
        "flag": "yes", "body": "Head", "colour": "RD", "kind": "coil", "role": "sensor ground", "coordinate": "-120 mm",
        "pressure": "0.8 bar", "time": "20 µs", "teeth": "36-1", "bit_rate": "500k", "fires": "PLUG1", "lead_type": "solid",
        "plug_type": "plain", "shield_material": "steel braid", "resistance_reading": 12.5, "isolation_reading": "> 500",
        "voltage_reading": -3, "part_kind": "ring terminal", "sex": "socket", "count": "26", "pack": "500 m",
    }  # fmt: skip
    for form in FORMS.values():
        rows = [[c.heading for c in form.columns]]
        for n in (1, 2):
            rows.append(
                [values.get(c.value, f"{c.heading} {n}") if c.value != "cavity" else str(n) for c in form.columns]
            )
        reading = read(grid(rows, sheet="Bench"))
        table = only(reading, form.name)
        assert set(table.cells) >= {c.name for c in form.columns}, form.name
        assert len(table.frame) == 2
        assert not reading.unreadable
        for column in form.columns:
            assert all(v is not None for v in table.frame[column.name]), (form.name, column.name)


def test_another_form_below_a_wire_list() -> None:
    reading = read(
        """
Wire|From|To|Colour
1|ECU|Coil|RD
2|ECU|Pump|BK
|||
Fuse|Rating||
F1|15 A||
F2|20||
"""
    )
    assert len(only(reading, "wires").frame) == 2
    assert list(only(reading, "fuses").frame["rating_a"]) == [15, 20]


def test_a_title_block_above_the_headings() -> None:
    reading = read(
        """
Component|ECU|Location|Bay
Drawn|A. N. Other|Date|1 May
|||
Pin|Signal||
1|INJ 1||
2|INJ 2||
"""
    )
    assert pins(only(reading, "pins")) == [("Sheet1", "1", "INJ 1"), ("Sheet1", "2", "INJ 2")]


def test_rows_that_look_like_headings_stay_data() -> None:
    reading = read("Wire|From|To|Colour\n1|Splice|Connector|BK\n2|Ground|Shield|bare\n3|Fuse|Pin|RD")
    assert len(only(reading, "wires").frame) == 3


def test_hidden_sheets_are_read_and_named() -> None:
    reading = read(grid(WIRES, hidden=True))
    assert ends(only(reading, "wires")) == EXPECTED
    assert any("hidden" in note for note in reading.notes)


@pytest.mark.parametrize(
    ("older", "newer"),
    [("Loom rev A", "Loom rev B"), ("Loom v1.2", "Loom v1.10"), ("Loom (issue 2)", "Loom (issue 3)"), ("old", "Loom")],
)
def test_names_of_older_issues(older: str, newer: str) -> None:
    changed = [*WIRES[:-1], ["W3", "ECU", 15, "Block stud", None, "BK", 1.5, 300]]
    for first, second in ((older, newer), (newer, older)):
        reading = read(grid(WIRES, sheet=first), grid(changed, sheet=second))
        assert [t.sheet for t in reading.tables] == [newer]


@pytest.mark.parametrize(
    ("one", "other"), [("Boat V6", "Boat V8"), ("Loom A", "Loom B"), ("Engine", "Cabin old radio")]
)
def test_names_that_are_no_issues(one: str, other: str) -> None:
    changed = [*WIRES[:-1], ["W3", "ECU", 15, "Block stud", None, "BK", 1.5, 300]]
    assert len(read(grid(WIRES, sheet=one), grid(changed, sheet=other)).of("wires")) == 2
