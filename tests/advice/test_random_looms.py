"""Whatever a loom builder puts where it does not belong: what is proposed holds, in any order of the rows."""

from __future__ import annotations

import random

from advice_lists import HILL_CLIMB, changes_of, checked, holds, loom, unlike
from hypothesis import given, settings
from hypothesis import strategies as st

_ENDS = ("Head stud", "Second stud", "Chassis stud", "SPLICE 2", "SPLICE 3", "ECU,A9", "ECU,B9")
_SIZES = ("0.5", "1", "2.5")
_GROUNDS = ("W4", "W7", "W8", "W11", "W12", "W14", "W16", "W19")
_LINES = {line.split(",", 1)[0]: line.split(",") for line in HILL_CLIMB.strip().splitlines()}


def _misplaced(name: str, end: str, size: str) -> str:
    """A line of the loom with another destination and size."""
    cells = list(_LINES[name])
    item, _, cavity = end.partition(",")
    cells[3:5] = [item, cavity]
    cells[6] = size
    return ",".join(cells)


_FAULTS = st.dictionaries(
    st.sampled_from(_GROUNDS), st.tuples(st.sampled_from(_ENDS), st.sampled_from(_SIZES)), min_size=1, max_size=4
)


@settings(max_examples=10, deadline=None)
@given(_FAULTS, st.integers(0, 2**16))
def test_every_proposal_clears_its_finding_and_makes_no_other(
    faults: dict[str, tuple[str, str]], seed: int
) -> None:
    wires = loom(*(_misplaced(name, *where) for name, where in faults.items()))
    design, result = checked(wires)
    found = changes_of(design, result)
    for key, proved in found.items():
        holds(design, key, proved)
    heading, *rows = wires.splitlines()
    random.Random(seed).shuffle(rows)
    shuffled, again = checked("\n".join([heading, *rows]))
    assert {k: p.change.sentence(design) for k, p in found.items()} == {
        k: p.change.sentence(shuffled) for k, p in changes_of(shuffled, again).items()
    }


@settings(max_examples=10, deadline=None)
@given(_FAULTS)
def test_no_wire_is_told_to_go_to_two_places(faults: dict[str, tuple[str, str]]) -> None:
    design, result = checked(loom(*(_misplaced(name, *where) for name, where in faults.items())))
    changes = unlike(changes_of(design, result))
    ends: dict[object, set[object]] = {}
    for change in changes:
        for edit in change.edits:
            if hasattr(edit, "start") and hasattr(edit, "wire"):
                ends.setdefault((edit.wire, edit.start), set()).add(edit.end)
    assert {end: goals for end, goals in ends.items() if len(goals) > 1} == {}
