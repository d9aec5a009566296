"""The words of a Branch cell: one branch, several, and names that have a sign in them."""

from __future__ import annotations

import pytest
from text_lists import design_from

from harnessdrc.design.branches import branch_names, branches_of

BRANCHES = """Branch,From point,To point,Length (m)
B1,ECU,P1,0.4
B2,P1,P2,0.5
ENG/TOP,P2,HEAD,0.6
ECU->HEAD,ECU,HEAD,0.9
MAIN + AUX,ECU,P2,0.7
"""


def names(cell: str, branches: str = BRANCHES) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """All names in a cell, and those that have a line of their own."""
    design = design_from(wires=f'Wire,From,To,Branch\nW1,ECU,COIL 1,"{cell}"\nW2,ECU,COIL 2,B1', branches=branches)
    wire = next(w for w in design.harness.wires if w.name == "W1")
    return branch_names(wire, design.harness), branches_of(wire, design.harness)


@pytest.mark.parametrize(
    "cell",
    ["B1, B2", "B1;B2", "b1 / B2", "B1+B2", "B1 -> B2", "B1->B2", "B1 → B2", "B1 –> B2", "B1 => B2", "B1 > B2",
     "B1 <-> B2", "B1, b2, B1", " B1 , ,B2 ,"],
)  # fmt: skip
def test_several_branches_are_told_apart_in_their_order(cell: str) -> None:
    assert names(cell) == (("b1", "b2"), ("b1", "b2"))


@pytest.mark.parametrize(
    ("cell", "expected"),
    [
        ("ENG/TOP", ("eng/top",)), ("ECU->HEAD", ("ecu->head",)), ("main + aux", ("main + aux",)),
        ("B1, ENG/TOP", ("b1", "eng/top")), ("B1; ECU->HEAD; B2", ("b1", "ecu->head", "b2")),
        ("B1 -> Eng/Top -> B2", ("b1", "eng/top", "b2")),
    ],
)  # fmt: skip
def test_a_listed_name_with_a_sign_in_it_stays_whole(cell: str, expected: tuple[str, ...]) -> None:
    assert names(cell) == (expected, expected)


def test_a_branch_without_a_line_of_its_own_is_named_but_not_listed() -> None:
    assert names("B1, B9") == (("b1", "b9"), ("b1",))
    assert names("B-9") == (("b-9",), ())
    assert names("") == ((), ())


def test_a_column_of_nothing_but_arrows_stays_the_branch() -> None:
    """Beside From and To of their own it is no column of both ends."""
    design = design_from(wires="Wire,From,To,Branch\nW1,ECU,COIL 1,B1->B2\nW2,ECU,COIL 2,B2->B1", branches=BRANCHES)
    ends = [[end.item for end in (wire.a, wire.b) if end is not None] for wire in design.harness.wires]
    assert ends == [["ecu", "coil 1"], ["ecu", "coil 2"]]
    assert [branch_names(wire, design.harness) for wire in design.harness.wires] == [("b1", "b2"), ("b2", "b1")]
