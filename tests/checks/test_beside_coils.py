"""Lengths that a pair runs beside coil wires: sums, the shorter wire, and what is not given."""

from __future__ import annotations

import math

import pytest
from text_lists import design_from

from harnessdrc.checks.besidecoils import Beside, CoilBranches
from harnessdrc.checks.registry import load_checks
from harnessdrc.findings import Finding
from harnessdrc.wording import message

PAIR = "W1,CRANK SENSOR,1,ECU,C1,Crank +,{0},{1}\nW2,CRANK SENSOR,2,ECU,C2,Crank -,{0},{1}\n"
BRANCHES = "Branch,From point,To point,Length (m)\nB1,ECU,P1,0.4\nB2,P1,P2,0.5\nB3,P2,P3,\n"


def lists(pair_m: str, branch: str, *coil_wires: tuple[str, str]) -> dict[str, str]:
    """A pair and one coil ground for each (length, branch)."""
    rows = "".join(
        f"C{n},COIL {n},3,Head stud,,Coil ground,{length},{where}\n" for n, (length, where) in enumerate(coil_wires, 1)
    )
    head = "Wire,From,From cavity,To,To cavity,Signal,Length (m),Branch\n"
    return {"wires": head + PAIR.format(pair_m, branch) + rows, "branches": BRANCHES}


def beside(*args: object) -> Beside:
    """How far the pair of such a list runs beside its coil wires."""
    design = design_from(**lists(*args))  # type: ignore[arg-type]
    return CoilBranches(design).beside(design.trigger_pairs[0])


@pytest.mark.parametrize(
    ("pair_m", "branch", "coils", "least_m"),
    [
        ("2", "B1", [("2", "B1")], 0.4),
        ("2", "B1;B2", [("2", "B1;B2")], 0.9),  # branches add up
        ("2", "B1;B2", [("2", "B1"), ("2", "B2")], 0.9),  # of different coils too
        ("2", "B1", [("2", "B1"), ("2", "B1")], 0.4),  # two wires in one branch count once
        ("2", "B1;B2", [("0.1", "B1"), ("0.2", "B2")], 0.3),  # no longer than the coils' wires
        ("0.6", "B1;B2", [("2", "B1;B2")], 0.6),  # nor than the pair
        ("", "B1", [("", "B1")], 0.4),  # without lengths of wires that of the branch counts
        ("2", "B1", [("2", "B2")], 0.0),
    ],
)
def test_what_is_given_is_added_up(pair_m: str, branch: str, coils: list[tuple[str, str]], least_m: float) -> None:
    side = beside(pair_m, branch, *coils)
    assert side.least_m == pytest.approx(least_m, abs=1e-12)
    assert side.most_m == pytest.approx(least_m, abs=1e-12)
    assert not side.missing


@pytest.mark.parametrize(
    ("pair_m", "branch", "coils", "bounds", "missing"),
    [
        ("2", "B1;B3", [("0.7", "B1;B3")], (0.4, 1.1), {"length of branch B3"}),
        ("2", "B9", [("", "B9")], (0.0, 2.0), {"length of branch B9"}),
        ("", "B9", [("", "B9")], (0.0, math.inf), {"length of branch B9"}),
        ("2", "", [("0.7", "B1")], (0.0, 0.7), {"branch of wire W1"}),
        ("2", "B1", [("0.7", "")], (0.0, 0.4), {"branch of wire C1 of the coils"}),
        ("2", "B1", [("2", "B1"), ("0.7", "")], (0.4, 0.4), set()),  # it could add nothing
        ("2", "B1", [("2", "")] * 5, (0.0, 0.4), {"branch of wire C1, C2, C3 and 2 more of the coils"}),
    ],
)  # fmt: skip
def test_what_is_not_given_makes_a_range_and_is_named(
    pair_m: str, branch: str, coils: list[tuple[str, str]], bounds: tuple[float, float], missing: set[str]
) -> None:
    side = beside(pair_m, branch, *coils)
    assert (side.least_m, side.most_m) == pytest.approx(bounds, abs=1e-12)
    assert set(side.missing) == missing


def test_a_list_without_coils_leaves_nothing_open() -> None:
    design = design_from(wires="Wire,From,From cavity,To,To cavity,Signal\nW1,CRANK SENSOR,1,ECU,C1,Crank +\n"
                               "W2,CRANK SENSOR,2,ECU,C2,Crank -")  # fmt: skip
    check = load_checks()["trigger.beside_coils"]
    assert check.subjects(design, check.limits()) == [("component", "CRANK SENSOR")]  # type: ignore[misc]
    assert not list(check.run(design, check.limits()))  # type: ignore[misc]


def test_a_finding_names_three_of_many_coil_wires() -> None:
    design = design_from(**lists("2", "B1", *[(f"{n / 10:g}", "B1") for n in range(1, 41)]))
    check = load_checks()["trigger.beside_coils"]
    (found,) = check.run(design, check.limits())  # type: ignore[misc]
    assert isinstance(found, Finding)
    assert "wires C40, C39 and C38" in message(check, found)
    assert len(found.marks) == 4
