"""Which wire is which in two issues of a list, and what is told of it.

That wires are known by number and ends, then ends, then number is common practice, no source.
"""

from __future__ import annotations

import random

import pytest
from compare_made import HEAD, Tables, compared, told, turned, wires

W1 = ("W1", "ECU", "1", "INJ1", "1", "BU", 0.5, 850, "Injector 1", None)
W2 = ("W2", "ECU", "2", "INJ2", "1", "GN", 0.5, 900, "Injector 2", None)
W3 = ("W3", "ECU", "3", "STUD1", None, "BK", 1.5, 400, "Ground", None)
W4 = ("W4", "ECU", "4", "STUD1", None, "BK", 1.5, 400, "Ground", None)
ISSUE = wires(W1, W2, W3, W4)


def altered(row: tuple[object, ...], **values: object) -> tuple[object, ...]:
    """A row with other values: ``altered(W1, To="INJ3")``; blanks in headings are underscores."""
    heads = [head.split(" (")[0].replace(" ", "_") for head in HEAD]
    made = list(row)
    for name, value in values.items():
        made[heads.index(name)] = value
    return tuple(made)


@pytest.mark.parametrize(
    ("new", "expected"),
    [
        pytest.param(altered(W1, Size=0.75), ("resized", "Size", "0.5 mm²", "0.75 mm²"), id="resized"),
        pytest.param(altered(W1, Size="20 AWG"), ("resized", "Size", "0.5 mm²", "20 AWG"), id="another system"),
        pytest.param(altered(W1, Colour="RD"), ("recoloured", "Colour", "BU", "RD"), id="recoloured"),
        pytest.param(altered(W1, Length=860), ("length", "Length", "850 mm", "860 mm"), id="length"),
        pytest.param(altered(W1, Length=None), ("length", "Length", "850 mm", None), id="length taken out"),
        pytest.param(altered(W1, Signal="Injector A"), ("signal", "Signal", "Injector 1", "Injector A"), id="signal"),
        pytest.param(altered(W1, Note="sleeve"), ("changed", "Note", None, "sleeve"), id="note"),
        pytest.param(altered(W1, Wire="W91"), ("renamed", "Wire", "W1", "W91"), id="renamed"),
        pytest.param(altered(W1, To="INJ9"), ("moved", "To", "INJ1 1", "INJ9 1"), id="moved to another connector"),
        pytest.param(altered(W1, From_cavity="11"), ("moved", "From", "ECU 1", "ECU 11"), id="moved within a connector"),
        pytest.param(altered(W1, To=None, To_cavity=None), ("moved", "To", "INJ1 1", None), id="end taken out"),
    ],
)  # fmt: skip
def test_one_change_of_one_wire(new: tuple[object, ...], expected: tuple[object, ...]) -> None:
    after = wires(W4, new, W3, W2)
    change = ("wire", "changed", "W1", new[0], frozenset({expected}))
    assert told(compared(ISSUE, after)) == {change}
    assert told(compared(after, ISSUE)) == turned({change})


@pytest.mark.parametrize(
    "same",
    [
        pytest.param(altered(W1, Wire="w1"), id="case of the number"),
        pytest.param(altered(W1, From="ecu"), id="case of a connector"),
        pytest.param(altered(W1, From_cavity="01"), id="leading zero of a cavity"),
        pytest.param(altered(W1, Length="0.85 m"), id="another unit"),
        pytest.param(altered(W1, Signal=" injector  1"), id="blanks"),
        pytest.param(altered(W1, Colour="blue"), id="colour as a word"),
        pytest.param(("W1", "INJ1", "1", "ECU", "1", "BU", 0.5, 850, "Injector 1", None), id="written from its other end"),
    ],
)
def test_the_same_wire_written_otherwise_is_no_difference(same: tuple[object, ...]) -> None:
    comparison = compared(ISSUE, wires(W2, W3, same, W4))
    assert told(comparison) == set() and not comparison.differs


def test_a_change_has_its_cells_in_both_issues() -> None:
    (change,) = compared(ISSUE, wires(W2, altered(W1, Size=0.75, To="INJ9"))).objects[:1]
    cells = {field.column: (field.old_place.cell, field.new_place.cell) for field in change.fields}  # type: ignore[union-attr]
    assert cells == {"To": ("E2", "E3"), "Size": ("G2", "G3")}
    assert (change.old_place.cell, change.new_place.cell) == ("A2", "A3")  # type: ignore[union-attr]


def test_added_and_removed_wires_tell_all_that_the_list_says_of_them() -> None:
    comparison = compared(wires(W1, W2), wires(W2, W3))
    removed, added = comparison.objects
    assert (removed.edit, removed.name, added.edit, added.name) == ("removed", "W1", "added", "W3")
    assert {field.column: field.before for field in removed.fields} == {
        "Wire": "W1", "From": "ECU 1", "To": "INJ1 1", "Size": "0.5 mm²", "Colour": "BU", "Length": "850 mm",
        "Signal": "Injector 1",
    }  # fmt: skip
    assert {field.after for field in added.fields} >= {"W3", "ECU 3", "STUD1", "1.5 mm²"}
    assert all(field.new_place is None for field in removed.fields)


def test_numbers_exchanged_between_two_wires_are_two_renamed_ones() -> None:
    after = wires(altered(W1, Wire="W2"), altered(W2, Wire="W1"), W3, W4)
    assert {(c.old_name, c.new_name, c.edits) for c in compared(ISSUE, after).objects} == {
        ("W1", "W2", ("renamed",)), ("W2", "W1", ("renamed",)),
    }  # fmt: skip


def test_cavities_exchanged_between_two_wires_are_two_moved_ones() -> None:
    after = wires(altered(W1, From_cavity="2"), altered(W2, From_cavity="1"), W3, W4)
    assert {(c.old_name, c.new_name, c.edits) for c in compared(ISSUE, after).objects} == {
        ("W1", "W1", ("moved",)), ("W2", "W2", ("moved",)),
    }  # fmt: skip


def test_a_list_numbered_anew_is_renamed_and_nothing_else() -> None:
    """Grounds on one stud share an end, size and colour: their numbers may not make moves of them."""
    grounds = [(f"W{n}", "ECU", str(n), "STUD1", None, "BK", 1.0, 300 + n, "Ground") for n in range(1, 21)]
    later = [(f"W{int(str(row[0])[1:]) + 1}", *row[1:]) for row in grounds]
    changes = compared(wires(*grounds), wires(*reversed(later))).objects
    assert len(changes) == 20 and {change.edits for change in changes} == {("renamed",)}
    assert all(int(str(c.new_name)[1:]) == int(str(c.old_name)[1:]) + 1 for c in changes)


def test_a_wire_that_moved_is_not_taken_for_the_new_one_in_its_old_place() -> None:
    after = wires(altered(W3, To="STUD2"), ("W9", "ECU", "3", "STUD1", None, "YE", 0.35, 90, "Spare"), W1, W2, W4)
    assert {(c.old_name, c.new_name, c.edits) for c in compared(ISSUE, after).objects} == {
        ("W3", "W3", ("moved",)), (None, "W9", ("added",)),
    }  # fmt: skip


def test_alike_wires_in_parallel_are_told_apart_by_what_else_they_say() -> None:
    before = wires(*((f"P{n}", "BUS 1", None, "BUS 2", None, colour, 6, 500, f"Link {n}") for n, colour in enumerate(("RD", "BU", "GN"), 1)))
    renamed = [("Q3", "BUS 1", None, "BUS 2", None, "GN", 6, 500, "Link 3"), ("Q2", "BUS 1", None, "BUS 2", None, "BU", 6, 500, "Link 2"),
               ("Q1", "BUS 1", None, "BUS 2", None, "RD", 10, 500, "Link 1")]  # fmt: skip
    assert {(c.old_name, c.new_name, c.edits) for c in compared(before, wires(*renamed)).objects} == {
        ("P1", "Q1", ("renamed", "resized")), ("P2", "Q2", ("renamed",)), ("P3", "Q3", ("renamed",)),
    }  # fmt: skip


def test_without_cavities_other_wires_between_the_same_devices_are_not_the_same_wire() -> None:
    head = ("Wire", "From", "To", "Colour", "Size (mm²)", "Signal")
    before = wires(("W1", "ECU", "PANEL", "RD", 0.5, "Lamp"), ("W2", "ECU", "PANEL", "BU", 0.5, "Pump"), head=head)
    after = wires(("W2", "ECU", "PANEL", "BU", 0.5, "Pump"), ("W8", "ECU", "PANEL", "YE", 2.5, "Fan"), head=head)
    assert [(c.edit, c.name) for c in compared(before, after).objects] == [("removed", "W1"), ("added", "W8")]
    renamed = wires(("W7", "ECU", "PANEL", "RD", 0.5, "Lamp"), ("W2", "ECU", "PANEL", "BU", 0.5, "Pump"), head=head)
    assert [(c.edits, c.name) for c in compared(before, renamed).objects] == [(("renamed",), "W7")]


def test_wires_without_numbers_are_known_by_their_ends_and_followed_where_one_moves() -> None:
    head = HEAD[1:]
    before, after = [row[1:] for row in (W1, W2, W3)], [W2[1:], altered(W3, To="STUD2")[1:], altered(W1, Size=1)[1:]]
    changes = compared(wires(*before, head=head), wires(*after, head=head)).objects
    assert sorted(change.edits for change in changes) == [("moved",), ("resized",)]


def test_a_number_on_two_wires_does_not_mix_them_up() -> None:
    before = wires(W1, altered(W2, Wire="W1"), W3)
    after = wires(W3, altered(W2, Wire="W1"), altered(W1, Size=0.75))
    (change,) = compared(before, after).objects
    assert [(field.column, field.before, field.after) for field in change.fields] == [("Size", "0.5 mm²", "0.75 mm²")]
    assert change.old_place.cell == "A2" and change.new_place.cell == "A4"  # type: ignore[union-attr]


def test_a_renamed_connector_is_told_once_and_moves_no_wire() -> None:
    after = wires(*(altered(row, From="ECM") for row in (W1, W2, W3, W4)))
    assert told(compared(ISSUE, after)) == {
        ("component", "changed", "ECU", "ECM", frozenset({("renamed", "Name", "ECU", "ECM")}))
    }
    assert told(compared(after, ISSUE)) == turned(told(compared(ISSUE, after)))


def test_one_wire_that_goes_to_another_connector_has_moved() -> None:
    assert {(c.kind, c.edits) for c in compared(wires(W1), wires(altered(W1, To="INJ7"))).objects} == {("wire", ("moved",))}


def test_a_column_that_only_one_issue_has_is_told_once() -> None:
    bare = {"Wires": [[cell for at, cell in enumerate(row) if at != 7] for row in ISSUE["Wires"]]}
    comparison = compared(bare, ISSUE)
    assert [(c.edit, c.column, c.filled, c.place.cell) for c in comparison.columns] == [("added", "Length", 4, "H1")]  # type: ignore[union-attr]
    assert comparison.objects == () and comparison.differs
    assert [(c.edit, c.column) for c in compared(ISSUE, bare).columns] == [("removed", "Length")]


def test_terminals_follow_their_end_when_a_wire_is_written_the_other_way_round() -> None:
    head = ("Wire", "From", "From cavity", "To", "To cavity", "From terminal", "To terminal")
    before = wires(("W1", "ECU", "1", "STUD1", None, "T-1", "R6-1"), ("W2", "ECU", "2", "STUD1", None, "T-1", "R6-1"), head=head)
    after = wires(("W1", "STUD1", None, "ECU", "1", "R6-1", "T-1"), ("W2", "STUD1", None, "ECU", "2", "R6-2", "T-1"), head=head)
    (change,) = compared(before, after).objects
    assert [(f.column, f.before, f.after) for f in change.fields] == [("From terminal", "R6-1", "R6-2")]


def test_totals_and_sizes() -> None:
    comparison = compared(ISSUE, wires(W1, W2, altered(W3, Length=None)))
    length = next(total for total in comparison.totals if total.what == "length")
    # by hand: 0.85 + 0.9 + 0.4 + 0.4 m, then without W4 and W3's length
    assert (round(length.before, 9), round(length.after, 9), length.unknown_before, length.unknown_after) == (2.55, 1.75, 0, 1)
    assert [(s.size, s.wires_before, s.wires_after, s.before_m, s.after_m) for s in comparison.sizes] == [("1.5 mm²", 2, 1, 0.8, 0.0)]


def test_many_alike_wires_are_paired_fast_and_without_a_difference() -> None:
    head = ("From", "To", "Colour")
    rows: list[tuple[object, ...]] = [("PANEL", "ENGINE LOOM", ("RD", "BU", "GN")[n % 3]) for n in range(600)]
    shuffled = rows.copy()
    random.Random(7).shuffle(shuffled)
    before: Tables = wires(*rows, head=head)
    assert told(compared(before, wires(*shuffled, head=head))) == set()
    shuffled[0] = ("PANEL", "ENGINE LOOM", "YE")
    assert len(told(compared(before, wires(*shuffled, head=head)))) <= 2
