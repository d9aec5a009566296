"""Nothing lost: rows add up for any sheet, and neither row order nor column order changes the objects."""

from __future__ import annotations

import random
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from make_grids import check_account, grid, only, opened, read

from harnessdrc.errors import InputError, NothingToReadError
from harnessdrc.intake.reading import read_lists

HEADINGS = ["Wire", "From", "From pin", "To", "To pin", "Colour", "Size", "Length (mm)", "Signal", "Pin", "Connector"]
WORDS = [
    "ECU",
    "X1",
    "12",
    "A",
    "RD",
    "wh/gn",
    "0.75",
    "GND",
    "N/C",
    "reserved",
    "?",
    '"',
    "R+B",
    "Total",
    "legend",
    "X1:3",
    "18 AWG",
]

texts = st.one_of(
    st.none(),
    st.sampled_from(HEADINGS + WORDS),
    st.text(max_size=12),
    st.integers(-5, 40),
    st.floats(allow_nan=True, allow_infinity=True),
    st.booleans(),
    st.dates(),
)
sheets = st.lists(st.lists(texts, max_size=7), max_size=14)


@settings(max_examples=400, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(sheets, st.booleans())
def test_rows_add_up_for_any_sheet(rows: list[list[Any]], headed: bool) -> None:
    if headed:
        rows = [["Wire", "From", "To", "Colour", "Size", "Length"], *rows]
    sheet = grid(rows)
    try:
        reading = read_lists(opened(sheet))
    except InputError as fault:
        assert str(fault)
        return
    check_account(reading, [sheet])


@settings(max_examples=150, deadline=None)
@given(st.lists(sheets, min_size=2, max_size=3))
def test_rows_add_up_for_any_workbook(books: list[list[list[Any]]]) -> None:
    grids = [grid([["Connector", "Pin", "Signal"], *rows], sheet=f"S{i}") for i, rows in enumerate(books)]
    try:
        reading = read_lists(opened(*grids))
    except InputError:
        return
    check_account(reading, grids)


ROWS = [
    [f"W{i}", item, pin, other, opin, colour, size, length]
    for i, (item, pin, other, opin, colour, size, length) in enumerate(
        [
            ("ECU", 1, "Injector 1", 1, "GN", 0.75, 900), ("ECU", 2, "Injector 2", 1, "GNWH", 0.75, 950),
            ("ECU", 3, "CLT", 2, "R+B", 0.5, 700), ("Fuse F1", 2, "Injector 1", 2, "RD", 1.5, 400),
            ("ECU", 4, "open", None, "bare", 0.5, 100), ("ECU", 5, "N/C", None, None, None, None),
            ("ECU", 6, "Block stud", None, "BK", 2.5, 1200), ("ECU", None, None, None, "YE", 0.5, 300),
        ]
    )
]  # fmt: skip
HEAD = ["Wire", "From", "From pin", "To", "To pin", "Colour", "Size", "Length"]


def _objects(rows: list[list[Any]], head: list[str]) -> list[tuple[Any, ...]]:
    frame = only(read(grid([head, *rows])), "wires").frame.drop(columns="row")
    frame = frame[sorted(frame.columns)]
    return sorted(tuple(map(str, r)) for r in frame.itertuples(index=False, name=None))


@given(st.permutations(range(len(ROWS))))
@settings(max_examples=40, deadline=None)
def test_row_order_does_not_matter(order: list[int]) -> None:
    assert _objects([ROWS[i] for i in order], HEAD) == _objects(ROWS, HEAD)


def test_column_order_does_not_matter() -> None:
    expected = _objects(ROWS, HEAD)
    named = ["Wire", "From", "From pin", "To", "To pin", "Colour", "Size", "Length"]
    shuffler = random.Random(4)
    for _ in range(40):
        order = list(range(len(HEAD)))
        shuffler.shuffle(order)
        assert _objects([[r[i] for i in order] for r in ROWS], [named[i] for i in order]) == expected


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ([], "every sheet is empty"),
        ([[" ", None], [None]], "every sheet is empty"),
        ([["Wire", "From", "To", "Colour"]], "the headings of a wire list have no rows below them"),
        ([["Shopping", "How many"], ["Bread", 2], ["Milk", 1]], "begins in row 1 with 'Shopping', 'How many'"),
        ([["Just a note"]], "no wire list or pin list was recognized"),
    ],
)
def test_nothing_to_read(rows: list[list[Any]], words: str) -> None:
    with pytest.raises(NothingToReadError) as caught:
        read(grid(rows))
    assert words in str(caught.value)
    assert "harnessdrc template" in str(caught.value)


def test_only_drawings() -> None:
    with pytest.raises(NothingToReadError, match="only drawings"):
        read(grid([], drawings=True))
