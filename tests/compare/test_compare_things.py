"""What else of a list changed: components, fuses, pins, earth points, straps, parts, branches, points, joints."""

from __future__ import annotations

import pytest
from compare_made import Rows, Tables, compared, told, turned

LIST: dict[str, Rows] = {
    "Wires": [
        ("Wire", "From", "From cavity", "To", "To cavity", "Size (mm²)", "Branch"),
        ("W1", "ECU-A", "1", "INJ1", "1", 0.5, "MAIN"), ("W2", "ECU-A", "2", "STUD1", None, 1.5, "MAIN"),
        ("W3", "F1", "out", "INJ1", "2", 1, "MAIN"),
    ],
    "Components": [
        ("Component", "Kind", "Place", "Current (A)", "Resistance (Ω)", "Mates with"),
        ("ECU", "controller", "bay", 0.5, None, None), ("INJ1", "injector", "head", None, 12, None),
        ("X1P", "connector", None, None, None, "X1S"), ("X1S", "connector", None, None, None, None),
    ],
    "Earth points": [("Earth point", "Body"), ("STUD1", "block"), ("STUD2", "chassis")],
    "Fuses": [("Fuse", "Rating (A)", "Family"), ("F1", 10, "mini"), ("F2", 15, "mini")],
    "Splices": [("Splice", "Branch", "Distance (mm)"), ("SP1", "MAIN", 200)],
    "Branches": [("Branch", "From point", "To point", "Length (mm)", "Zone"), ("MAIN", "P1", "P2", 900, "bay"), ("AUX", "P2", "P3", 300, "cabin")],
    "Points": [("Point", "X (mm)", "Y (mm)", "Z (mm)"), ("P1", 0, 0, 0), ("P2", 900, 0, 0)],
    "Joints": [("Joint", "Resistance (mΩ)", "Aged resistance (mΩ)"), ("ring of W2 on STUD1", 0.2, 5)],
    "Straps": [("Strap", "From body", "To body", "Size (mm²)", "Length (mm)"), ("G1", "block", "chassis", 25, 300), ("G2", "chassis", "battery negative", 35, 500)],
    "Parts": [("Part", "Kind", "Family", "Smallest wire (mm²)", "Largest wire (mm²)"), ("T-1", "terminal", "P1.5", 0.5, 1)],
    "Pins": [("Connector", "Cavity", "Signal", "Role", "Wire", "Terminal", "Seal"), ("ECU-A", "1", "Injector 1", None, "W1", "T-1", "S-1"),
             ("ECU-A", "2", "Power ground", None, "W2", "T-1", "S-1"), ("ECU-A", "3", "N/C", None, None, None, "PLG")],
}  # fmt: skip


def edited(sheet: str, row: int, column: int, value: object) -> Tables:
    """The list with one cell of one sheet (rows and columns from 0) changed."""
    rows = [list(each) for each in LIST[sheet]]
    rows[row][column] = value  # type: ignore[call-overload]
    return {**LIST, sheet: [rows[0], *reversed(rows[1:])]}


@pytest.mark.parametrize(
    ("sheet", "row", "column", "value", "kind", "name", "change"),
    [
        ("Components", 1, 2, "cabin", "component", "ECU", ("Place", "bay", "cabin")),
        ("Components", 1, 3, 0.8, "component", "ECU", ("Current", "0.5 A", "0.8 A")),
        ("Components", 2, 4, 14, "component", "INJ1", ("Resistance", "12 Ω", "14 Ω")),
        ("Components", 2, 1, "heater", "component", "INJ1", ("Kind", "injector", "heater")),
        ("Components", 3, 5, None, "connector", "X1P", ("Mates with", "X1S", None)),
        ("Earth points", 1, 1, "chassis", "earth point", "STUD1", ("Body", "block", "chassis")),
        ("Fuses", 1, 1, 20, "fuse", "F1", ("Rating", "10 A", "20 A")),
        ("Fuses", 1, 2, "maxi", "fuse", "F1", ("Family", "mini", "maxi")),
        ("Splices", 1, 2, 350, "splice", "SP1", ("Distance", "200 mm", "350 mm")),
        ("Branches", 1, 3, 950, "branch", "MAIN", ("Length", "900 mm", "950 mm")),
        ("Branches", 2, 1, "P1", "branch", "AUX", ("Points", "P2 – P3", "P1 – P3")),
        ("Points", 2, 1, 880, "point", "P2", ("X", "900 mm", "880 mm")),
        ("Joints", 1, 2, 8, "joint", "ring of W2 on STUD1", ("Aged resistance", "5 mΩ", "8 mΩ")),
        ("Straps", 1, 3, 16, "strap", "G1", ("Size", "25 mm²", "16 mm²")),
        ("Straps", 2, 4, 700, "strap", "G2", ("Length", "500 mm", "700 mm")),
        ("Parts", 1, 4, 1.5, "part", "T-1", ("Largest wire", "1 mm²", "1.5 mm²")),
        ("Pins", 1, 2, "Injector A", "cavity", "ECU-A 1", ("Signal", "Injector 1", "Injector A")),
        ("Pins", 1, 5, "T-2", "cavity", "ECU-A 1", ("Terminal", "T-1", "T-2")),
        ("Pins", 3, 6, "PLG-2", "cavity", "ECU-A 3", ("Seal", "PLG", "PLG-2")),
        ("Pins", 1, 4, "W9", "cavity", "ECU-A 1", ("Wire", "W1", "W9")),
    ],
)  # fmt: skip
def test_one_cell_changed_is_one_change(
    sheet: str, row: int, column: int, value: object, kind: str, name: str, change: tuple[str, str | None, str | None]
) -> None:
    after = edited(sheet, row, column, value)
    expected = {(kind, "changed", name, name, frozenset({("changed", *change)}))}
    assert told(compared(LIST, after)) == expected
    assert told(compared(after, LIST)) == turned(expected)


@pytest.mark.parametrize(
    ("sheet", "row", "kind", "name"),
    [
        ("Earth points", 2, "earth point", "STUD2"), ("Fuses", 2, "fuse", "F2"), ("Splices", 1, "splice", "SP1"),
        ("Branches", 2, "branch", "AUX"), ("Points", 2, "point", "P2"), ("Joints", 1, "joint", "ring of W2 on STUD1"),
        ("Straps", 1, "strap", "G1"), ("Straps", 2, "strap", "G2"), ("Parts", 1, "part", "T-1"),
        ("Pins", 3, "cavity", "ECU-A 3"),
    ],
)  # fmt: skip
def test_a_row_taken_out_or_put_in_is_one_change(sheet: str, row: int, kind: str, name: str) -> None:
    rows = [each for at, each in enumerate(LIST[sheet]) if at != row]
    after = {**LIST, sheet: rows} if len(rows) > 1 else {key: each for key, each in LIST.items() if key != sheet}
    assert told(compared(LIST, after)) == {(kind, "removed", name, None)}
    assert told(compared(after, LIST)) == {(kind, "added", None, name)}


def test_the_other_order_of_rows_and_columns_is_no_difference() -> None:
    columns_too = ("Components", "Fuses", "Pins", "Parts")
    turned_round = {
        sheet: [row[::-1] if sheet in columns_too else row for row in (rows[0], *reversed(rows[1:]))]
        for sheet, rows in LIST.items()
    }
    assert told(compared(LIST, turned_round)) == set()


def test_a_renamed_wire_is_the_same_in_the_pin_list() -> None:
    wires = [[("W77" if cell == "W1" else cell) for cell in row] for row in LIST["Wires"]]
    pins = [[("W77" if cell == "W1" else cell) for cell in row] for row in LIST["Pins"]]
    change = ("wire", "changed", "W1", "W77", frozenset({("renamed", "Wire", "W1", "W77")}))
    assert told(compared(LIST, {**LIST, "Wires": wires, "Pins": pins})) == {change}
    # a pin list left behind says the same as before: the rules tell that the lists differ
    assert told(compared(LIST, {**LIST, "Wires": wires})) == {change}


def test_a_renamed_connector_takes_its_pins_and_mates_along() -> None:
    after = {s: [[("ECU-B" if cell == "ECU-A" else cell) for cell in row] for row in rows] for s, rows in LIST.items()}
    said = told(compared(LIST, after))
    assert {(kind, edit, old, new) for kind, edit, old, new, *_ in said} == {("component", "changed", "ECU-A", "ECU-B")}


def test_a_renamed_branch_is_told_once() -> None:
    after = {s: [[("TRUNK" if cell == "MAIN" else cell) for cell in row] for row in rows] for s, rows in LIST.items()}
    assert told(compared(LIST, after)) == {("branch", "changed", "MAIN", "TRUNK", frozenset({("renamed", "Name", "MAIN", "TRUNK")}))}


def test_two_rows_of_one_cavity_or_part_in_another_order_are_no_difference() -> None:
    pins = [*LIST["Pins"], ("ECU-A", "1", "Injector 1 second line", None, "W1", "T-9", None)]
    parts = [*LIST["Parts"], ("T-1", "terminal", "P2.8", 1, 2.5), ("T-1", "terminal", "P1.5", 0.5, 1)]
    before = {**LIST, "Pins": pins, "Parts": parts}
    after = {**LIST, "Pins": [pins[0], *reversed(pins[1:])], "Parts": [parts[0], *reversed(parts[1:])]}
    assert told(compared(before, after)) == set()
