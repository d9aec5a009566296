"""One wire that joins two feeds is told once, whatever lies between them."""

from __future__ import annotations

import itertools

import pytest
from text_lists import design_from

from harnessdrc.checks.feed import two_supplies
from harnessdrc.findings import Finding

HEAD = "Wire,From,From cavity,To,To cavity,Signal\n"
FUSES = "Fuse,Rating (A)\nFUSE 1,10\nFUSE 2,15\nFUSE 3,5\n"
FEEDS = ["W1,BATTERY,+,FUSE 1,1,Battery feed", "W2,BATTERY,+,FUSE 2,1,Battery feed"]
LOOM = [*FEEDS, "W3,FUSE 1,2,SPLICE A,,Fused feed", "W4,SPLICE A,,HORN,1,Horn feed"]
SWITCHED = [*LOOM, "W5,FUSE 2,2,DASH SWITCH,1,Fused feed", "W6,DASH SWITCH,2,SPLICE B,,Switched feed",
            "W7,SPLICE B,,LAMP,1,Lamp feed"]  # fmt: skip
RELAYED = [*LOOM, "W5,FUSE 2,2,FAN RELAY,30,Fused feed", "W6,FAN RELAY,87,SPLICE B,,Fan feed", "W7,SPLICE B,,FAN,1,Fan feed"]
WRONG = "W99,SPLICE A,,SPLICE B,,Feed"


def told(rows: list[str]) -> list[Finding]:
    design = design_from(wires=HEAD + "\n".join(rows) + "\n", fuses=FUSES)
    found = [outcome for outcome in two_supplies(design, None) if isinstance(outcome, Finding)]
    return sorted(found, key=lambda each: (each.follows_from or ("", ("", "")), each.subject))


@pytest.mark.parametrize("rows", [SWITCHED, RELAYED], ids=["switch", "relay"])
def test_the_net_behind_the_other_fuse_follows_from_the_one_with_the_wrong_wire(rows: list[str]) -> None:
    assert told(rows) == []
    cause, consequence = told([*rows, WRONG])
    assert cause.follows_from is None
    assert "wire W99" in str(cause.evidence["way"])
    assert consequence.follows_from == ("feed.two_supplies", cause.subject)
    assert "FUSE 2" in str(consequence.evidence["supplies"])


def test_the_order_of_the_rows_does_not_matter() -> None:
    said = {
        tuple((each.subject, each.follows_from) for each in told([*rows]))
        for rows in itertools.islice(itertools.permutations([*SWITCHED, WRONG]), 0, 40320, 997)
    }
    assert len(said) == 1


def test_two_wrong_wires_are_two_faults() -> None:
    """A third fuse on the net behind the switch's fuse joins that one too: it would be fed twice without the first."""
    third = ["W8,BATTERY,+,FUSE 3,1,Battery feed", "W9,FUSE 3,2,SPLICE C,,Fused feed", "W10,SPLICE C,,DASH SWITCH,1,Feed"]
    found = told([*SWITCHED, *third, WRONG])
    assert len(found) == 2
    assert [each.follows_from for each in found] == [None, None]


def test_nets_apart_from_each_other_are_told_one_by_one() -> None:
    """Two pairs of fuses, each pair on a splice of its own."""
    rows = [*FEEDS, "W3,FUSE 1,2,SPLICE A,,Feed", "W4,FUSE 2,2,SPLICE A,,Feed", "W5,BATTERY,+,FUSE 3,1,Battery feed",
            "W6,BATTERY,+,FUSE 4,1,Battery feed", "W7,FUSE 3,2,SPLICE B,,Feed", "W8,FUSE 4,2,SPLICE B,,Feed"]  # fmt: skip
    found = told(rows)
    assert len(found) == 2
    assert [each.follows_from for each in found] == [None, None]
