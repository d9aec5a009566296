"""What sizes, fuses and feeds read from cells that are written oddly, and sums that meet their limit."""

from __future__ import annotations

import itertools

import pytest
from sized_lists import HEAD, found, loom, result_of, size_of

FUSED = (
    "W1,BATTERY,+,F1,in,{first},{ahead_m},Battery feed,TXL,BAY,\nW2,F1,out,LOAD,1,{size},{length_m},Load feed,TXL,{branch},\n"
    "W3,LOAD,2,STUD,,4,1,Ground,TXL,BAY,\n"
)
USUAL = {"first": "10", "ahead_m": "0.2", "size": "1.5", "length_m": "2", "branch": "BAY"}


def rows(**change: str) -> str:
    """A load behind a fuse."""
    return FUSED.format(**{**USUAL, **change})


def test_lengths_that_add_up_to_the_limit_are_within_it() -> None:
    """0.1 m and 0.2 m of wire are 0.3 m."""
    result = loom(
        "W1,BATTERY,+,SPL 1,,10,0.1,Feed,TXL,BAY,\nW2,SPL 1,,F1,in,10,0.2,Feed,TXL,BAY,\n"
        "W3,F1,out,LOAD,1,1.5,1,Load feed,TXL,BAY,\nW4,LOAD,2,STUD,,1.5,1,Ground,TXL,BAY,\n",
        "LOAD,lamp,4\n",
        "F1,10,regular blade\n",
    )
    assert not found(result, "feed.unfused_length")


@pytest.mark.parametrize("size", ["3x1.5", "3 x 1.5 mm²"])
def test_the_cores_of_a_cable_count_or_are_asked_for(size: str) -> None:
    result = loom(rows(size=size), "LOAD,lamp,4\n", "F1,10,regular blade\n")
    cells = {mark.place.cell for each in result.findings for mark in each.marks}
    cells |= {mark.place.cell for each in result.undecided for mark in each.marks}
    assert "F3" in cells or size_of(result, "W1").bundle_wires == 5


def test_a_fuse_whose_two_ends_are_not_known_is_not_decided() -> None:
    result = loom(
        "W1,BATTERY,+,F1,A,10,0.2,Feed,TXL,BAY,\nW2,F1,B,LOAD,1,0.5,1,Load feed,TXL,BAY,\n"
        "W3,F1,C,LAMP,1,0.5,1,Lamp feed,TXL,BAY,\nW4,LOAD,2,STUD,,1,1,Ground,TXL,BAY,\n"
        "W5,LAMP,2,STUD,,1,1,Ground,TXL,BAY,\n",
        "LOAD,fan,3\nLAMP,lamp,2\n",
        "F1,30,regular blade\n",
    )
    assert ("fuse", "F1") in {f.subject for f in result.findings} | {u.subject for u in result.undecided}


def test_a_sentence_does_not_hang_on_the_order_of_the_rows() -> None:
    """3.325 A: told as 3.32 or 3.33 A."""
    lines = rows(size="0.5", length_m="1").splitlines(keepends=True)
    told = {
        tuple(f.message for f in found(loom("".join(order), "LOAD,lamp,3.325\n", "F1,3,regular blade\n"), "fuse.load"))
        for order in itertools.permutations(lines)
    }
    assert len(told) == 1


@pytest.mark.parametrize("rating", ["0", "-5"])
def test_a_contact_rating_of_nothing_is_not_understood(rating: str) -> None:
    result = result_of(
        wires=HEAD + "W1,BATTERY,+,F1,in,10,0.2,Feed,TXL,BAY,\nW2,F1,out,K1,30,4,1,Feed,TXL,BAY,\n"
        "W3,K1,87,FAN,1,4,1,Fan feed,TXL,BAY,\nW4,FAN,2,STUD,,4,1,Ground,TXL,BAY,\n",
        components=f"Component,Kind,Current (A),Contact rating (A)\nFAN,fan,15,\nK1,relay,,{rating}\n",
        fuses="Fuse,Rating (A),Family\nF1,30,regular blade\n",
        earth_points="Earth point,Body\nSTUD,chassis\n",
    )
    assert not found(result, "contact.rating")
    assert "D3" in {m.place.cell for f in found(result, "listing.not_understood") for m in f.marks}


# two batteries: common practice, no source
_LOAD = "W3,{plus},+,F1,in,10,0.2,Feed,TXL,BAY,\nW4,F1,out,LOAD,1,1.5,1,Load feed,TXL,BAY,\nW5,LOAD,2,B1,-,1.5,1,Ground,TXL,BAY,\n"
_BATTERIES = "LOAD,lamp,4\nB1,battery,\nB2,battery,\n"


def _shorts(wires: str) -> int:
    return len(found(loom(wires, _BATTERIES, "F1,10,regular blade\n"), "feed.shorted_to_ground"))


@pytest.mark.parametrize("link", ["W1,B1,+,B2,-,25,0.3,Link,TXL,BAY,\n", "W1,B2,-,B1,+,25,0.3,Link,TXL,BAY,\n"])
def test_two_batteries_in_series_are_no_short_circuit(link: str) -> None:
    assert _shorts(link + _LOAD.format(plus="B2")) == 0


def test_batteries_whose_negatives_meet_are_in_parallel_and_a_link_is_a_short() -> None:
    both = "W1,B1,+,B2,-,25,0.3,Link,TXL,BAY,\nW2,B1,-,B2,-,25,0.3,Ground,TXL,BAY,\n"
    assert _shorts(both + _LOAD.format(plus="B2")) > 0


def test_batteries_that_close_a_ring_are_a_short() -> None:
    ring = "W1,B1,+,B2,-,25,0.3,Link,TXL,BAY,\nW2,B2,+,B1,-,25,0.3,Link,TXL,BAY,\n"
    assert _shorts(ring + _LOAD.format(plus="B2")) > 0


def test_a_negative_current_is_asked_for() -> None:
    result = loom(rows(), "LOAD,lamp,-6\n", "F1,10,regular blade\n")
    assert "C2" in {mark.place.cell for f in found(result, "listing.not_understood") for mark in f.marks}
