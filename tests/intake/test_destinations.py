"""Several ends in one cell, and marks that part item and pin in a whole table."""

from __future__ import annotations

import pytest

from harnessdrc.intake.normalizing.destinations import lead_from, several_ends
from harnessdrc.intake.normalizing.ends import split_ends
from harnessdrc.intake.recognition.regions import ARROW


@pytest.mark.parametrize(
    ("text", "ends"),
    [
        ("C3:1,C6:1", ("C3:1", "C6:1")),
        ("Motor controller,C3:A3,C6:A3", ("Motor controller", "C3:A3", "C6:A3")),
        ("C3:2; C6:2; C7:2", ("C3:2", "C6:2", "C7:2")),
        ("C3:2 and C6:2", ("C3:2", "C6:2")),
        ("Horn, Lamp", ("Horn", "Lamp")),
    ],
)
def test_several_ends(text: str, ends: tuple[str, ...]) -> None:
    assert several_ends([text], {"Horn", "Lamp"}) == {text: ends}


@pytest.mark.parametrize("text", ["Sensor, oil temp", "Relay: 1B, 2B", "Horn & Panel lamp", "C3:1", "A, B"])
def test_one_end(text: str) -> None:
    assert several_ends([text], {"Horn", "Lamp"}) == {}


def test_pins_and_ends_of_a_row() -> None:
    assert lead_from(("1", "2"), ("a", "b")) == [("a", ()), ("b", ())]
    assert lead_from(("1",), ("a", "b")) == [("a", ("b",))]
    assert lead_from(("1", "2"), ("a",)) == [("a", ()), ("a", ())]


def test_a_mark_is_for_pins_where_numbers_leave_gaps() -> None:
    split = split_ends(["ECU-1", "ECU-26", "RLY1-30", "RLY1-87", "TPS-2", "TPS-3"])
    assert split["ECU-26"] == ("ECU", "26")
    assert split["TPS-2"] == ("TPS", "2")
    assert split_ends(["INJ-1", "INJ-2", "INJ-3", "COIL-1", "COIL-2"]) == {}
    assert split_ends(["ECU – 15", "ECU – 14", "TPS – splice", "Fan – 2"]) == {
        "ECU – 15": ("ECU", "15"), "ECU – 14": ("ECU", "14"), "Fan – 2": ("Fan", "2"),
    }  # fmt: skip


def test_a_heading_that_says_pins_is_believed() -> None:
    assert split_ends(["INJ-1", "INJ-2"], all_have_pins=True) == {"INJ-1": ("INJ", "1"), "INJ-2": ("INJ", "2")}


@pytest.mark.parametrize("text", ["ECU 12 -> TPS 3", "ECU 12 → TPS 3", "ECU 12 --> TPS 3", "ECU 12 <-> TPS 3"])
def test_an_arrow_between_two_ends(text: str) -> None:
    match = ARROW.match(text)
    assert match is not None
    assert (match["one"], match["other"]) == ("ECU 12", "TPS 3")


@pytest.mark.parametrize("text", ["CKP - signal", "X1-01", "Battery –", "-> nothing"])
def test_no_arrow(text: str) -> None:
    assert ARROW.match(text) is None
