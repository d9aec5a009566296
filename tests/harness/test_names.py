"""Folding: which spellings are one name, and which are not."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdrc.harness.names import fold, fold_cavity


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("PD BOARD 30AMP", "PD board 30amp"), ("Head  stud", " head stud "),
        ("Compressor – splice", "compressor - splice"),
        ("ECU\u2011A", "ecu-A"), ("Coil\t3", "COIL 3"), ("Straße 1", "STRASSE 1"),
    ],
)  # fmt: skip
def test_one_item(one: str, other: str) -> None:
    assert fold(one) == fold(other)


@pytest.mark.parametrize(
    ("one", "other"), [("ECU-A", "ECU-B"), ("ECU A", "ECUA"), ("X1", "X01"), ("Coil 1", "Coil 11")]
)
def test_two_items(one: str, other: str) -> None:
    assert fold(one) != fold(other)


@pytest.mark.parametrize(
    ("one", "other"), [("01", "1"), ("X1-01", "X1-1"), ("A07", "A7"), (" 12 ", "12"), ("B–3", "B-3"), ("0012", "12")]
)
def test_one_cavity(one: str, other: str) -> None:
    assert fold_cavity(one) == fold_cavity(other)


@pytest.mark.parametrize(
    ("one", "other"), [("A", "a"), ("10", "1"), ("100", "10"), ("1.10", "1.1"), ("0", ""), ("20", "2")]
)
def test_two_cavities(one: str, other: str) -> None:
    assert fold_cavity(one) != fold_cavity(other)


@given(st.text(max_size=20))
def test_folding_twice_is_folding_once(text: str) -> None:
    assert fold(fold(text)) == fold(text)
    assert fold_cavity(fold_cavity(text)) == fold_cavity(text)
