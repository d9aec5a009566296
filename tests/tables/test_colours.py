"""Colours from letters and words, against the letters of IEC 60757."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdrc.tables.colours import colour_name, colour_rgb, habit_of, parse_colour, split_code

# IEC 60757, letters as read in GOST 28763-90
IEC_60757 = {
    "black": "BK",
    "brown": "BN",
    "red": "RD",
    "orange": "OG",
    "yellow": "YE",
    "green": "GN",
    "blue": "BU",
    "violet": "VT",
    "grey": "GY",
    "white": "WH",
    "pink": "PK",
    "gold": "GD",
    "turquoise": "TQ",
    "silver": "SR",
    "green-yellow": "GNYE",
}
REFERENCE = Path(__file__).parent.parent.parent.parent / "shared" / "reference" / "colour_codes_iec60757.csv"


@pytest.mark.parametrize(("word", "code"), IEC_60757.items())
def test_letters_of_the_standard(word: str, code: str) -> None:
    for text in (word, word.upper(), word.title(), code, code.lower(), f" {code} "):
        assert parse_colour(text).codes == (code,), text


@pytest.mark.skipif(not REFERENCE.is_file(), reason="the reference tables are not beside this checkout")
def test_letters_against_the_reference_table() -> None:
    with REFERENCE.open(encoding="utf-8", newline="") as stream:
        assert {row["colour"]: row["code"] for row in csv.DictReader(stream)} == IEC_60757


def test_examples_of_the_standard() -> None:
    """IEC 60757: cores of a cable joined by +, two colours of one conductor without a mark (GOST 28763-90)."""
    assert parse_colour("BK+BK+BN+BU+GNYE").codes == ("BK", "BK", "BN", "BU", "GNYE")
    assert parse_colour("RDBU").codes == ("RDBU",)
    assert split_code("RDBU") == ("RD", "BU")


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("White-green", "WHGN"),
        ("Green-white", "GNWH"),
        ("wh/gn", "WHGN"),
        ("WH GN", "WHGN"),
        ("WhGn", "WHGN"),
        ("ws/rt", "WHRD"),
        ("wsrt", "WHRD"),
        ("sw", "BK"),
        ("br", "BN"),
        ("rt", "RD"),
        ("or", "OG"),
        ("ge", "YE"),
        ("gn", "GN"),
        ("bl", "BU"),
        ("vi", "VT"),
        ("gr", "GY"),
        ("ws", "WH"),
        ("rs", "PK"),
        ("tk", "TQ"),
        ("BLK", "BK"),
        ("BRN", "BN"),
        ("RED", "RD"),
        ("ORG", "OG"),
        ("YEL", "YE"),
        ("GRN", "GN"),
        ("BLU", "BU"),
        ("VIO", "VT"),
        ("PUR", "VT"),
        ("GRY", "GY"),
        ("GRA", "GY"),
        ("WHT", "WH"),
        ("PNK", "PK"),
        ("TAN", "tan"),
        ("LBL", "lightblue"),
        ("BLK/RED", "BKRD"),
        ("BLKRED", "BKRD"),
        ("Vilot", "VT"),
        ("Gray", "GY"),
        ("blu", "BU"),
        ("purple", "VT"),
        ("Light Blue/ Orange", "lightblueOG"),
        ("Lt. Blue", "lightblue"),
        ("light green", "lightgreen"),
        ("w/org", "WHOG"),
        ("blu w/org", "BUOG"),
        ("red with blue stripe", "RDBU"),
        ("Tan-black", "tanBK"),
        ("clear", "transparent"),
        ("Bare", "bare"),
        ("braid", "bare"),
        ("drain", "bare"),
        ("Black thin", "BK"),
        ("Red thick", "RD"),
        ("Black  ", "BK"),
        ("2 core brown", "BN"),
        ("schwarz", "BK"),
        ("weiß", "WH"),
        ("grün/gelb", "GNYE"),
        ("rouge", "RD"),
        ("vert", "GN"),
        ("nero", "BK"),
        ("azul", "BU"),
        ("röd", "RD"),
        ("hellblau", "lightblue"),
        ("R", "RD"),
        ("B", "BK"),
        ("G", "GN"),
    ],
)
def test_as_people_write(text: str, code: str) -> None:
    assert parse_colour(text).code == code


def test_cable_and_core() -> None:
    colour = parse_colour("4-Green")
    assert (colour.codes, colour.cable, colour.because) == (("GN",), "4", "core of cable 4")


def test_count_and_remark() -> None:
    colour = parse_colour("2 red thin")
    assert (colour.codes, colour.count, colour.remark) == (("RD",), 2, "thin")


@pytest.mark.parametrize("text", ["", "???", "12", "PWM", "Ring", "see note", "0 red", "red hot", "+", "R+Q", "a+b+"])
def test_no_colours(text: str) -> None:
    assert parse_colour(text).codes == ()


@pytest.mark.parametrize(
    ("texts", "habit"),
    [
        (["B", "U", "N", "GW"], "british"),
        (["B", "L", "Br", "GW"], "eastern"),
        (["R+B", "R", "B", "PWM"], "plain"),
        (["sw", "rt", "br"], "din"),
        (["BK", "RD", "WHGN"], ""),
        (["red", "black"], ""),
        (["BLK", "RED"], ""),
        ([], ""),
    ],
)
def test_habit_of_a_column(texts: list[str], habit: str) -> None:
    found, because = habit_of(texts)
    assert found == habit
    assert bool(because) == bool(habit)


@pytest.mark.parametrize(
    ("text", "habit", "code"),
    [
        ("N", "british", "BN"),
        ("U", "british", "BU"),
        ("S", "british", "GY"),
        ("P", "british", "VT"),
        ("GW", "british", "GNWH"),
        ("L", "eastern", "BU"),
        ("Br", "eastern", "BN"),
        ("P", "eastern", "PK"),
        ("Gr", "eastern", "GY"),
        ("BrW", "eastern", "BNWH"),
        ("P", "plain", "VT"),
        ("gr", "din", "GY"),
    ],
)
def test_letters_by_habit(text: str, habit: str, code: str) -> None:
    assert parse_colour(text, habit).code == code


def test_names_and_swatches() -> None:
    assert colour_name("RD") == "red"
    assert colour_name("WHGN") == "white with green"
    assert colour_name("lightblueOG") == "light blue with orange"
    assert len(colour_rgb("GNYE")) == 2
    assert all(rgb.startswith("#") and len(rgb) == 7 for code in IEC_60757.values() for rgb in colour_rgb(code))
    with pytest.raises(KeyError):
        colour_name("XX")


codes = st.lists(st.sampled_from([c for c in IEC_60757.values() if len(c) == 2]), min_size=1, max_size=3)


@given(codes)
def test_codes_read_back(parts: list[str]) -> None:
    code = "".join(parts)
    assert parse_colour(code).code == code
    assert split_code(code) == tuple(parts)


@given(st.text(max_size=24))
def test_any_text_gives_codes_that_have_a_name(text: str) -> None:
    for code in parse_colour(text).codes:
        assert colour_name(code)
        assert colour_rgb(code)


def test_letters_that_mean_something_else_elsewhere_say_so() -> None:
    assert parse_colour("BR").because == "read as the old DIN letters"
    assert parse_colour("BN").because == ""
    assert parse_colour("B").because == "single letters"


def test_long_texts_are_refused_quickly() -> None:
    assert parse_colour("ge" * 50_000).codes == ()
    assert parse_colour("red " * 50_000).codes == ()
