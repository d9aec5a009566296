"""Coordinates of points, and the columns of twist, shield, sparks and triggers."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest
from make_grids import grid, only, read

from harnessdrc.intake.files import open_files
from harnessdrc.intake.normalizing.fixed_words import FIXED_WORDS
from harnessdrc.intake.reading import read_lists
from harnessdrc.tables.model import Reading


def coordinates(reading: Reading) -> dict[str, tuple[float | None, ...]]:
    """Point → its coordinates as read; those of absent columns are left out."""
    frame = only(reading, "points").frame
    return {row["point"]: (row["x_m"], row["y_m"], row["z_m"]) for row in frame.to_dict("records")}


def units(reading: Reading) -> list[tuple[str, str]]:
    """Units that were assumed, each with what it is of."""
    return [(a.subject, a.value) for a in reading.assumptions if a.what == "unit"]


# --- points -----------------------------------------------------------------------------------------


def test_signed_coordinates_with_commas_and_units_in_the_cells() -> None:
    reading = read("Point|X (mm)|Y (mm)|Z (mm)\nP1|-120|0|35,5\nP2|1,200|\u221240|-0.4 m\nP3|+7|1e2|−2 in")
    assert coordinates(reading) == {
        "P1": (-0.12, 0.0, 0.0355),
        "P2": (1.2, -0.04, -0.4),
        "P3": (0.007, 0.1, pytest.approx(-0.0508)),
    }
    assert not units(reading)
    assert not reading.unreadable


def test_a_unit_row_under_the_headings() -> None:
    reading = read("Point|X|Y|Z\n|mm|mm|cm\nP1|-120|0|4")
    assert coordinates(reading) == {"P1": (-0.12, 0.0, 0.04)}


def test_axes_under_one_heading() -> None:
    reading = read("Point|Coordinates (mm)|||Note\n|X|Y|Z|\nP1|-120|0|4|by the head\nP2|10|5|6|")
    assert coordinates(reading) == {"P1": (-0.12, 0.0, 0.004), "P2": (0.01, 0.005, 0.006)}
    assert only(reading, "points").frame["note"].tolist() == ["by the head", None]
    assert not units(reading)
    plain = read("Point|Position||\n|X (mm)|Y (mm)|Z (m)\nP1|-120|0|0.4")
    assert coordinates(plain) == {"P1": (-0.12, 0.0, 0.4)}


def test_axes_without_a_unit_have_that_of_the_other_headings() -> None:
    reading = read("Point|X (mm)|Y|Z\nP1|-120|3|4\nP2|0|0|0.5")
    assert coordinates(reading) == {"P1": (-0.12, 0.003, 0.004), "P2": (0.0, 0.0, 0.0005)}
    assert units(reading) == [("Y, Z", "mm")]


def test_all_axes_have_one_unit_where_none_names_any() -> None:
    """Heights of a few millimetres would be metres by themselves."""
    reading = read("Point|X|Y|Z\nP1|-850|0|4\nP2|0|320|12")
    assert coordinates(reading) == {"P1": (-0.85, 0.0, 0.004), "P2": (0.0, 0.32, 0.012)}
    assert units(reading) == [("X, Y, Z", "mm")]
    metres = read("Point|X|Y|Z\nP1|-0.85|0|0.004\nP2|0|2.5|0.012")
    assert coordinates(metres) == {"P1": (-0.85, 0.0, 0.004), "P2": (0.0, 2.5, 0.012)}
    assert units(metres) == [("X, Y, Z", "m")]


def test_headings_of_different_units_are_obeyed_and_listed() -> None:
    reading = read("Point|X (mm)|Y (m)|Z (mm)\nP1|-120|0.2|4")
    assert coordinates(reading) == {"P1": (-0.12, 0.2, 0.004)}
    assert units(reading) == [("coordinates", "X (mm) in mm, Y (m) in m, Z (mm) in mm")]


def test_a_flat_drawing_has_no_z() -> None:
    table = only(read("Node|X (mm)|Y (mm)\nP1|1|2\nP2|3|4"), "points")
    assert "z_m" not in table.cells
    assert table.frame["z_m"].tolist() == [None, None]


def test_coordinates_that_cannot_be_understood_are_listed_with_their_cells() -> None:
    reading = read("Point|X (mm)|Y (mm)|Z (mm)\nP1|left|0|5 A\nP2|?|tbd|-")
    assert [(c.place.cell, c.text) for c in reading.unreadable] == [("B2", "left"), ("D2", "5 A")]
    assert all("-120 mm" in c.expected for c in reading.unreadable)
    assert coordinates(reading) == {"P1": (None, 0.0, None), "P2": (None, None, None)}


def test_points_named_by_numbers_after_an_empty_row_are_no_drawing() -> None:
    reading = read("Point|X (mm)|Y (mm)|Z (mm)\n1|0|0|0\n2|100|0|0\n|||\n3|100|50|0\n4|100|50|20")
    assert list(coordinates(reading)) == ["1", "2", "3", "4"]


def test_rows_that_lack_most_stay_in_the_table() -> None:
    reading = read("Point|X (mm)|Y (mm)|Z (mm)\nP1|0|0|0\nP2|100||\nP3|||\nP4|200||\nP5|300||\n|7|7|7")
    assert list(coordinates(reading)) == ["P1", "P2", "P3", "P4", "P5"]
    assert [(a.row, a.reason) for a in reading.set_aside if a.row > 1] == [(7, "no point named")]


def test_points_beside_a_wire_list_and_below_one() -> None:
    beside = read(
        "Wire|From|To|Colour||Point|X (mm)|Y (mm)|Z (mm)\n1|ECU|CRK|RD||ECU|0|0|0\n2|ECU|COIL|BK||CRK|-40|5|6"
    )
    assert len(only(beside, "wires").frame) == 2
    assert coordinates(beside) == {"ECU": (0.0, 0.0, 0.0), "CRK": (-0.04, 0.005, 0.006)}
    below = read(
        "Wire|From|To|Colour\n1|ECU|CRK|RD\n2|ECU|COIL|BK\n|||\nPoint|X (mm)|Y (mm)|Z (mm)\nECU|0|0|0\nCRK|1|2|3"
    )
    assert len(only(below, "wires").frame) == 2
    assert len(coordinates(below)) == 2


def test_a_list_of_pins_with_ticks_in_columns_called_x_and_y_is_none_of_points() -> None:
    reading = read("Pin|Signal|X|Y\n1|INJ 1|x|\n2|INJ 2||x")
    assert [table.form for table in reading.tables] == ["pins"]


def test_branches_without_an_end_stay_and_those_without_a_name_do_not() -> None:
    reading = read("Branch|From point|To point|Length (mm)\nB1|P1|P2|300\nB2||P2|200\nB3|||100\nB4|||\n|P1|P3|50")
    frame = only(reading, "branches").frame
    assert frame["branch"].tolist() == ["B1", "B2", "B3", "B4"]
    assert frame["from_point"].tolist() == ["P1", None, None, None]
    assert [(a.row, a.reason) for a in reading.set_aside if a.row > 1] == [(6, "no branch named")]


def test_a_set_of_delimited_files(tmp_path: Path) -> None:
    (tmp_path / "loom.csv").write_text("Wire;From;To;Lay (mm);Branch\n1;ECU;CRK;30,5;B1\n2;ECU;CRK;30,5;B1\n", "utf-8")
    (tmp_path / "branches.csv").write_text("Branch;From point;To point;Length (mm)\nB1;ECU;CRK;650\n", "utf-8")
    (tmp_path / "points.csv").write_text("Point;X (mm);Y (mm);Z (mm)\nECU;0;0;0\nCRK;-420,5;40;-60\n", "utf-8")
    reading = read_lists(open_files(sorted(tmp_path.glob("*.csv"))))
    assert coordinates(reading) == {"ECU": (0.0, 0.0, 0.0), "CRK": (-0.4205, 0.04, -0.06)}
    assert only(reading, "wires").frame["lay_m"].tolist() == [0.0305, 0.0305]
    assert only(reading, "branches").frame["length_m"].tolist() == [0.65]


# --- twist and shield -------------------------------------------------------------------------------


def test_lay_untwisted_end_and_shield_material() -> None:
    frame = only(
        read(
            "Wire|From|To|Twist|Lay (mm)|Untwisted end (mm)|Shield|Shield material\n"
            "1|ECU|CRK|T1|30|40|S1|Tinned copper braid\n2|ECU|CRK|T1|30|0|S1|alu foil\n3|ECU|CRK|||1.5 in|S1|"
        ),
        "wires",
    ).frame
    assert frame["lay_m"].tolist() == [0.03, 0.03, None]
    assert frame["untwisted_m"].tolist() == [0.04, 0.0, 0.0381]
    assert frame["shield_material"].tolist() == ["copper braid", "aluminium foil", None]
    assert frame["shield"].tolist() == ["S1", "S1", "S1"]


def test_a_list_without_these_columns_has_none_of_them_in_its_frame() -> None:
    frame = only(read("Wire|From|To|Colour\n1|ECU|CRK|RD\n2|ECU|COIL|BK"), "wires").frame
    assert not {"lay_m", "untwisted_m", "shield_material"} & set(frame.columns)
    assert "fires" not in only(read("Component|Kind\nECU|controller\nCOIL|coil"), "components").frame


@pytest.mark.parametrize(
    ("heading", "values", "metres", "unit"),
    [
        ("Lay", ("30", "25"), [0.03, 0.025], "mm"), ("Lay", ("0.03", "0.03"), [0.03, 0.03], "m"), ("Lay", ("12", "12"), [0.012, 0.012], "mm"),
        ("Untwisted end", ("40", "0"), [0.04, 0.0], "mm"),
    ],
)  # fmt: skip
def test_a_lay_without_a_unit_is_what_is_usual(
    heading: str, values: tuple[str, str], metres: list[float], unit: str
) -> None:
    reading = read(f"Wire|From|To|{heading}\n1|ECU|CRK|{values[0]}\n2|ECU|CRK|{values[1]}")
    column = "lay_m" if heading == "Lay" else "untwisted_m"
    assert only(reading, "wires").frame[column].tolist() == metres
    assert units(reading) == [(heading, unit)]


# --- sparks and triggers ----------------------------------------------------------------------------

COMPONENTS = "Component|Kind|{}\nCOIL1|coil|{}\nCOIL2|coil|{}"


def component(heading: str, *cells: str) -> Reading:
    """Reading of two coils with one more column."""
    return read(COMPONENTS.format(heading, *cells))


def test_all_columns_at_once() -> None:
    reading = read(
        "Component|Kind|Fires|Plug lead (mm)|Lead type|Plug type|Gap (mm)|Boost (bar)|Teeth|Output (V)|Threshold (V)|Filter (µs)\n"
        "COIL1|coil|PLUG1 + PLUG4|600|carbon core|R|0,7|0.8||||\nCRK|reluctor sensor|||||||36-1|0.4||\nECU|controller||||||||0|0.3|20"
    )
    rows = only(reading, "components").frame.to_dict("records")
    first = {k: v for k, v in rows[0].items() if v is not None and k not in ("row", "component", "kind")}
    assert first == {
        "fires": "PLUG1 + PLUG4", "lead_m": 0.6, "lead_type": "suppressed", "plug_type": "resistor", "gap_m": 0.0007,
        "boost_bar": 0.8,
    }  # fmt: skip
    assert (rows[1]["teeth"], rows[1]["output_v"]) == (36, 0.4)
    assert (rows[2]["output_v"], rows[2]["threshold_v"], rows[2]["filter_s"]) == (0, 0.3, pytest.approx(20e-6))
    assert not reading.unreadable


@pytest.mark.parametrize("heads", ["Component|Fires", "Component|Plug type|Gap (mm)", "Item|Lead type"])
def test_a_list_of_components_with_nothing_but_sparks(heads: str) -> None:
    cells = {"Fires": "PLUG1", "Plug type": "plain", "Gap (mm)": "0.7", "Lead type": "solid"}
    row = "|".join(cells.get(head, "COIL1") for head in heads.split("|"))
    assert only(read(f"{heads}\n{row}\n{row.replace('1', '2')}"), "components").frame["component"].tolist() == [
        "COIL1",
        "COIL2",
    ]


@pytest.mark.parametrize(
    ("cell", "fires"),
    [
        ("PLUG1", "PLUG1"), ("PLUG1 + PLUG4", "PLUG1 + PLUG4"), ("PLUG1, PLUG2", "PLUG1, PLUG2"), ("P1 & P4; P2 & P3", "P1 & P4; P2 & P3"),
        ("PLUG1\nPLUG2\n", "PLUG1; PLUG2"), ("P1 + P4\n P2 + P3", "P1 + P4; P2 + P3"), ("-", None), ("?", None),
    ],
)  # fmt: skip
def test_what_a_coil_fires(cell: str, fires: str | None) -> None:
    reading = read(grid([["Component", "Kind", "Fires"], ["COIL1", "coil", cell], ["COIL2", "coil", "PLUG9"]]))
    assert only(reading, "components").frame["fires"].tolist() == [fires, "PLUG9"]
    assert not reading.unreadable


@pytest.mark.parametrize("cell", ["PLUG1/PLUG4", "PLUG1 and PLUG4", "Kerze 1 und Kerze 4", "+", "P1, P2/P3"])
def test_what_may_be_one_spark_or_two_is_not_understood(cell: str) -> None:
    reading = component("Fires", cell, "PLUG2")
    assert [(c.place.cell, c.column, c.text) for c in reading.unreadable] == [("C2", "fires", cell)]
    assert "joined by +" in reading.unreadable[0].expected
    assert only(reading, "components").frame["fires"].tolist() == [None, "PLUG2"]


def test_a_slash_within_a_listed_name_is_part_of_it() -> None:
    reading = read("Component|Kind|Fires\nCOIL1|coil|Plug 1/L + Plug 1/R\nPlug 1/L|spark plug|\nPLUG 1/R|spark plug|")
    assert only(reading, "components").frame["fires"].tolist()[0] == "Plug 1/L + Plug 1/R"
    assert not reading.unreadable


@pytest.mark.parametrize(
    ("heading", "column", "cell", "word"),
    [
        ("Lead type", "lead_type", "Carbon", "suppressed"), ("Lead type", "lead_type", "spiral-wound lead", "suppressed"),
        ("Lead type", "lead_type", "RESISTIVE", "suppressed"), ("Lead type", "lead_type", "wire-wound", "suppressed"),
        ("Lead type", "lead_type", "Solid copper core", "solid"), ("Lead type", "lead_type", "wire core", "solid"),
        ("Lead type", "lead_type", "unsuppressed", "solid"), ("Lead type", "lead_type", "entstört", "suppressed"),
        ("Lead type", "lead_type", "coil on plug", None), ("Plug type", "plug_type", "R", "resistor"),
        ("Plug type", "plug_type", "Non-resistor", "plain"), ("Plug type", "plug_type", "suppressed plug", "resistor"),
        ("Plug type", "plug_type", "solid", "plain"), ("Plug type", "plug_type", "5 kΩ resistor", "resistor"),
        ("Plug type", "plug_type", "ohne Widerstand", "plain"), ("Plug type", "plug_type", "antiparasité", "resistor"),
    ],
)  # fmt: skip
def test_words_of_leads_and_plugs(heading: str, column: str, cell: str, word: str | None) -> None:
    reading = component(heading, cell, "")
    assert only(reading, "components").frame[column].tolist() == [word, None]
    assert not reading.unreadable


@pytest.mark.parametrize(
    ("cell", "word"),
    [
        ("Copper", "copper braid"), ("TCB", "copper braid"), ("foil", "aluminium foil"), ("Aluminum foil shield", "aluminium foil"),
        ("stainless overbraid", "steel braid"), ("Edelstahlgeflecht", "steel braid"), ("steel tube", "steel conduit"),
        ("tresse cuivre étamé", "copper braid"), ("none", None),
    ],
)  # fmt: skip
def test_words_of_shields(cell: str, word: str | None) -> None:
    reading = read(f"Wire|From|To|Shield|Shield material\n1|ECU|CRK|S1|{cell}\n2|ECU|CRK|S1|steel braid")
    assert only(reading, "wires").frame["shield_material"].tolist() == [word, "steel braid"]
    assert not reading.unreadable


@pytest.mark.parametrize(
    ("heading", "cell", "expected"),
    [
        ("Lead type", "blue", "suppressed or solid"), ("Plug type", "long reach", "resistor or plain"),
        ("Gap (mm)", "0 mm wide", "length"), ("Boost", "0.8", "unit"), ("Filter", "20", "unit"), ("Teeth", "24+1", "teeth"),
        ("Boost (bar)", "-0.2", "not negative"), ("Output (V)", "3 turns", "voltage"), ("Threshold (V)", "2 of 3", "voltage"),
    ],
)  # fmt: skip
def test_what_is_not_understood_stands_with_its_cell(heading: str, cell: str, expected: str) -> None:
    reading = component(heading, "", cell)
    assert [(c.place.cell, c.text) for c in reading.unreadable] == [("C3", cell)]
    assert expected in reading.unreadable[0].expected


@pytest.mark.parametrize("kind", FIXED_WORDS)
def test_words_that_say_too_little_are_never_guessed(kind: str) -> None:
    heading = {"lead_type": "Lead type", "plug_type": "Plug type", "shield_material": "Shield material"}.get(kind, "")
    for cell in ("braid", "good one", "8 mm", "type 2", "yes"):
        if kind in ("part_kind", "sex"):
            kinds = (cell, "socket") if kind == "part_kind" else ("terminal", cell)
            reading = read("Part|Kind|Sex|Largest wire (mm2)\n" + f"T1|{kinds[0]}|{kinds[1]}|0.5\nT2|terminal|socket|1")
        elif kind == "shield_material":
            reading = read(f"Wire|From|To|{heading}\n1|ECU|CRK|{cell}\n2|ECU|CRK|steel braid")
        else:
            reading = component(heading, cell, "")
        assert [c.text for c in reading.unreadable] == [cell]


def test_a_wheel_of_which_the_spreadsheet_made_a_date() -> None:
    rows = [
        ["Component", "Kind", "Teeth"],
        ["CRK", "reluctor sensor", datetime.date(2026, 1, 12)],
        ["CAM", "Hall sensor", 4],
    ]
    reading = read(grid(rows))
    assert [(c.place.cell, "made a date" in c.expected) for c in reading.unreadable] == [("C2", True)]
    assert only(reading, "components").frame["teeth"].tolist() == [None, 4]


@pytest.mark.parametrize(("values", "metres"), [(("0.7", "1.1"), 0.0007), (("0.028", "0.035"), 0.0007112)])
def test_a_gap_without_a_unit_is_in_the_only_one_that_makes_it_usual(values: tuple[str, str], metres: float) -> None:
    reading = component("Gap", *values)
    assert only(reading, "components").frame["gap_m"].tolist()[0] == pytest.approx(metres)
    assert units(reading) == [("Gap", "mm" if metres == 0.0007 else "in")]


def test_a_short_word_over_text_is_not_the_column() -> None:
    """``Output`` may well say what a relay switches."""
    reading = component("Output", "main feed", "pump feed")
    assert "output_v" not in only(reading, "components").cells
    assert any("'Output' not used" in note for note in reading.notes)
    assert not reading.unreadable
