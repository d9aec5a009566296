"""Edits of a list: a new harness, the old one untouched, places kept, impossible ones refused."""

from __future__ import annotations

import pytest
from advice_lists import EARTH_POINTS, HEADINGS, checked, loom
from hypothesis import given, settings
from hypothesis import strategies as st
from text_lists import design_from

from harnessdrc.advice.edits import (
    AddWire,
    Change,
    CutBack,
    Edit,
    MoveEnd,
    NotApplicableError,
    Resize,
    SpliceIn,
    TakeAway,
    applied,
)
from harnessdrc.design import Contact, Design
from harnessdrc.harness.elements import Harness, Wire
from harnessdrc.units import Size

HEAD, CHASSIS, SECOND = Contact("head stud", ""), Contact("chassis stud", ""), Contact("second stud", "")


@pytest.fixture(scope="module")
def design() -> Design:
    return design_from(wires=loom(), earth_points=EARTH_POINTS)


def wire(harness: Harness, name: str) -> Wire:
    return next(w for w in harness.wires if w.name == name)


def test_an_end_goes_to_another_contact_and_keeps_its_cell(design: Design) -> None:
    made = applied(design.harness, [MoveEnd("W7", HEAD, SECOND)])
    before, after = wire(design.harness, "W7"), wire(made, "W7")
    assert (before.b, after.b) == (HEAD, SECOND)
    assert after.a == before.a
    assert after.place == before.place
    assert after.end_place(SECOND) == before.end_place(HEAD)
    assert [w.name for w in made.wires] == [w.name for w in design.harness.wires]


def test_the_first_end_can_go_too(design: Design) -> None:
    made = applied(design.harness, [MoveEnd("W21", HEAD, SECOND)])
    assert wire(made, "W21").a == SECOND


def test_a_wire_is_left_out(design: Design) -> None:
    made = applied(design.harness, [TakeAway("W8")])
    assert {w.name for w in design.harness.wires} - {w.name for w in made.wires} == {"W8"}


def test_an_end_is_cut_back_and_known_to_be_open(design: Design) -> None:
    made = wire(applied(design.harness, [CutBack("W8", HEAD)]), "W8")
    assert (made.b, made.b_open, made.a_open) == (None, True, False)


def test_a_wire_gets_another_size(design: Design) -> None:
    assert str(wire(applied(design.harness, [Resize("W8", Size("2.5", "mm2", csa_mm2=2.5))]), "W8").size) == "2.5 mm²"


def test_a_wire_is_added_on_the_row_of_the_one_it_is_like(design: Design) -> None:
    size = Size("1", "mm2", csa_mm2=1.0)
    made = applied(design.harness, [AddWire("X", Contact("coil 1", "5"), HEAD, size, 0.4, "W5", "Power ground")])
    added = made.wires[-1]
    assert (added.name, added.number, added.a, added.b) == ("X", None, Contact("coil 1", "5"), HEAD)
    assert added.place == wire(design.harness, "W5").place
    assert len(made.wires) == len(design.harness.wires) + 1


def test_a_splice_parts_a_wire_and_keeps_its_copper(design: Design) -> None:
    splice = Contact("new splice", "")
    made = applied(design.harness, [SpliceIn("W17", splice), MoveEnd("W19", CHASSIS, splice)])
    first, beyond = wire(made, "W17"), made.wires[-1]
    old = wire(design.harness, "W17")
    assert (first.a, first.b, beyond.a, beyond.b) == (old.a, splice, splice, old.b)
    assert (first.length_m or 0) + (beyond.length_m or 0) == pytest.approx(old.length_m)
    assert made.items["new splice"].kind == "splice"
    assert "new splice" not in design.harness.items
    net = Design(made, design.given).net
    assert net.net_of[Contact("fuel pump", "2")] == net.net_of[Contact("ecu", "B9")]


def test_the_pin_list_follows_a_wire_that_is_moved_or_taken_away() -> None:
    pins = "Connector,Cavity,Signal,Wire\nECU,A2,Power ground,W4\nECU,A9,Power ground,\n"
    design, result = checked(loom(), pins=pins)
    assert "cavity.lists_disagree" not in {f.check for f in result.findings}
    a2, a9 = Contact("ecu", "A2"), Contact("ecu", "A9")
    moved = applied(design.harness, [MoveEnd("W4", a2, a9)])
    assert {p.contact: p.wire for p in moved.pins} == {a2: None, a9: "W4"}
    taken = applied(design.harness, [TakeAway("W4")])
    assert {p.contact: p.wire for p in taken.pins} == {a2: None, a9: None}
    assert {p.contact: p.wire for p in design.harness.pins} == {a2: "W4", a9: None}


def test_a_number_that_stands_twice_is_followed_through_an_edit() -> None:
    text = HEADINGS + "W1,A,1,Head stud,,BK,1,1,x\nW1,B,1,Head stud,,BK,1,1,y\nW2,C,1,Head stud,,BK,1,1,z\n"
    design = design_from(wires=text, earth_points=EARTH_POINTS)
    assert len(design.harness.repeated) == 1
    moved = applied(design.harness, [MoveEnd("W1 (2)", HEAD, SECOND)])
    assert moved.repeated[0][1].b == SECOND
    assert applied(design.harness, [TakeAway("W1 (2)")]).repeated == ()


@pytest.mark.parametrize(
    "edits",
    [
        [MoveEnd("W7", CHASSIS, HEAD)],
        [MoveEnd("nothing", HEAD, CHASSIS)],
        [TakeAway("nothing")],
        [TakeAway("W7"), MoveEnd("W7", HEAD, CHASSIS)],
        [CutBack("W7", CHASSIS)],
        [AddWire("W7", HEAD, CHASSIS, None, None, "W5", "")],
        [AddWire("X", HEAD, CHASSIS, None, None, "nothing", "")],
        [SpliceIn("W17", Contact("splice 1", ""))],
    ],
    ids=lambda edits: edits[-1].__class__.__name__,
)
def test_what_the_list_does_not_have_cannot_be_changed(design: Design, edits: list[Edit]) -> None:
    with pytest.raises(NotApplicableError):
        applied(design.harness, edits)


_MOVES = st.sampled_from([("W4", HEAD), ("W7", HEAD), ("W8", HEAD), ("W11", HEAD), ("W19", CHASSIS), ("W20", CHASSIS)])


@settings(max_examples=60, deadline=None)
@given(st.lists(_MOVES, unique=True, min_size=1), st.sampled_from([SECOND, Contact("splice 2", "")]), st.randoms())
def test_moves_of_several_wires_hold_in_any_order_and_can_be_taken_back(
    design: Design, moves: list[tuple[str, Contact]], home: Contact, chance: object
) -> None:
    there: list[Edit] = [MoveEnd(name, start, home) for name, start in moves]
    made = applied(design.harness, there)
    shuffled = list(there)
    chance.shuffle(shuffled)  # type: ignore[attr-defined]
    assert applied(design.harness, shuffled) == made
    assert applied(made, [MoveEnd(name, home, start) for name, start in moves]) == design.harness


def test_several_edits_cost_their_sum() -> None:
    change = Change((MoveEnd("W1", HEAD, SECOND), TakeAway("W2"), Resize("W3", Size("1", "mm2", csa_mm2=1.0))))
    assert change.cost == 3.5
    assert change.wires == ("W1", "W2", "W3")
    assert AddWire.cost > SpliceIn.cost > Resize.cost > MoveEnd.cost


def test_each_edit_is_said_in_one_sentence(design: Design) -> None:
    size = Size("2.5", "mm2", csa_mm2=2.5)
    splice = Contact("new splice", "")
    for edits, said in (
        ((MoveEnd("W7", HEAD, CHASSIS),), "Move the end of wire W7 at Head stud to Chassis stud."),
        ((TakeAway("W7"), TakeAway("W12")), "Take wires W7 and W12 away."),
        ((CutBack("W7", HEAD),), "Cut wire W7 back at Head stud and insulate its end."),
        ((Resize("W8", size), Resize("W12", size)), "Make wires W8 and W12 2.5 mm² instead of 1 mm²."),
        (
            (AddWire("X", Contact("coil 1", "5"), HEAD, size, 0.4, "W5", ""),),
            "Add a wire of 2.5 mm² from COIL 1 5 to Head stud; it is reckoned with a length of 0.4 m.",
        ),
        (
            (AddWire("X", Contact("coil 1", "?ground"), HEAD, None, None, "W5", ""),),
            "Add a wire from the ground pin of COIL 1 to Head stud.",
        ),
        (
            (SpliceIn("W17", splice), MoveEnd("W19", CHASSIS, splice)),
            "Put a splice into wire W17. Move the end of wire W19 at Chassis stud to that splice.",
        ),
        (
            (MoveEnd("W12", HEAD, SECOND), MoveEnd("W4", HEAD, SECOND), MoveEnd("W19", CHASSIS, SECOND)),
            "Move the ends of wires W4, W12 and W19 at Head stud and Chassis stud to Second stud (head).",
        ),
    ):
        assert Change(edits).sentence(design) == said
