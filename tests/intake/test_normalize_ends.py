"""Ends with the pin in the same cell."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdrc.intake.normalizing.ends import split_ends


@pytest.mark.parametrize(
    ("text", "item", "pin"),
    [
        ("ECU:12", "ECU", "12"),
        ("C3:9", "C3", "9"),
        ("Relay: 4B", "Relay", "4B"),
        ("J3:7 (Ground)", "J3", "7"),
        ("ECU pin 12", "ECU", "12"),
        ("Coil 1 pin A", "Coil 1", "A"),
        ("X1, cavity 3", "X1", "3"),
        ("ECU Pin #4", "ECU", "4"),
        ("X1[A4]", "X1", "A4"),
        ("Coil 1:+", "Coil 1", "+"),
    ],
)
def test_always_split(text: str, item: str, pin: str) -> None:
    assert split_ends([text]) == {text: (item, pin)}


@pytest.mark.parametrize(
    "text",
    [
        "Compressor – splice", "INJ-1", "Fuse ground post", "Panel: Post 12 V", "C3:A4,C6:A4", "ECU", "X1-01", "12:30",
        "Battery -", "Block stud", "Coil 1", "A/C relay", "Panel: power switch", "12 V", "Earth: left rear of block",
    ],
)  # fmt: skip
def test_not_split_alone(text: str) -> None:
    assert split_ends([text]) == {}


def test_a_dash_where_several_rows_share_a_designator() -> None:
    assert split_ends(["X1-01", "X1-02", "X1.A4"]) == {"X1-01": ("X1", "01"), "X1-02": ("X1", "02")}
    assert split_ends(["X1.A4", "X1.B1"]) == {"X1.A4": ("X1", "A4"), "X1.B1": ("X1", "B1")}
    assert split_ends(["X1/12", "X1/13"])["X1/12"] == ("X1", "12")


def test_numbered_devices_keep_their_names() -> None:
    assert split_ends([f"INJ-{n}" for n in range(1, 9)]) == {}
    assert split_ends([f"ECU-A{n}" for n in range(1, 9)])["ECU-A3"] == ("ECU", "A3")


@given(st.lists(st.text(max_size=12), max_size=6))
def test_any_texts(texts: list[str]) -> None:
    for text, (item, pin) in split_ends(texts).items():
        assert item
        assert pin
        assert item in text
        assert pin in text
